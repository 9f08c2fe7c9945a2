//! Checks: what will not read, blend or match, before a pot is opened.

use crate::colouring::{Colouring, RegionColours, Shelf, StepColour, mean_by_area};
use crate::flat_spot::flat_spots;
use crate::plan::Plan;
use crate::proportion::{is_called, out_of_proportion};
use grisaille_base::{Code, Finding, Place, RegionId};
use grisaille_colour::{
    ColourBlind, Lab, Nearness, colour_from_text, difference, how_it_differs, pull_into_line,
};
use grisaille_form::Regions;
use grisaille_light::Kind;
use grisaille_scheme::{ColourChoice, Material, Scheme};

/// From the darkest to the lightest planned colour at least this much, L*: less reads as one grey at
/// arm's length (common practice; the number is ours).
const LEAST_SPAN: f64 = 45.0;
/// Neighbours nearer than this in L* run together in a grey photograph (common practice; ours).
const ALIKE: f64 = 7.0;
/// Neighbours nearer than this in ΔE00 run together in colour.
const SAME_COLOUR: f64 = 10.0;
/// Borders shorter than this share of the root of the smaller area are a touch, not a border.
const LEAST_BORDER: f64 = 0.15;
/// Steps farther apart than this in ΔE00 do not blend with a wet brush: twice what a ramp is made with.
const TOO_LARGE: f64 = 18.0;

/// The checks on a coloured figure, the weightiest kind first.
#[must_use]
pub fn checks(
    scheme: &Scheme,
    plan: &Plan,
    regions: &Regions,
    colouring: &Colouring,
    shelf: &Shelf,
) -> Vec<Finding> {
    let mut findings = colouring.findings.clone();
    findings.extend(span(colouring));
    findings.extend(neighbours(regions, colouring));
    findings.extend(outshone(plan, colouring));
    findings.extend(out_of_proportion(&scheme.colours, colouring));
    findings.extend(off_palette(&scheme.colours, colouring));
    findings.extend(steps(colouring));
    findings.extend(mixes(colouring, shelf));
    findings.extend(flat(plan, regions));
    findings
}

/// Every step that has some area, plain and lit.
fn used(row: &RegionColours) -> impl Iterator<Item = &StepColour> {
    row.ramp.iter().chain(row.lit.iter().flat_map(|l| &l.steps)).filter(|s| s.area_mm2 > 0.0)
}

fn span(colouring: &Colouring) -> Option<Finding> {
    let tones = || colouring.rows.iter().flat_map(used).map(|s| s.shown().l);
    let (low, high) = tones().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), l| (a.min(l), b.max(l)));
    let hint = format!(
        "from darkest (L* {low:.0}) to lightest (L* {high:.0}) are only {:.0} L*, of {LEAST_SPAN:.0} that read at arm's \
         length: give the main regions more contrast, or one of them a lighter or darker base colour",
        high - low
    );
    (high - low < LEAST_SPAN).then(|| Finding::new(Code::ValueSpanNarrow, 1, hint))
}

/// The colour that a row is seen in at arm's length.
fn mean(row: &RegionColours) -> Lab {
    mean_by_area(used(row))
}

fn neighbours(regions: &Regions, colouring: &Colouring) -> Vec<Finding> {
    let means: Vec<Lab> = colouring.rows.iter().map(mean).collect();
    let mut findings = Vec::new();
    let mut told: Vec<(usize, usize)> = Vec::new();
    for (id, region) in (0..=u16::MAX).zip(&regions.regions) {
        for beside in region.neighbours.iter().filter(|n| n.region.0 > id) {
            let row = |r: RegionId| colouring.row_of_region.get(r.index()).copied().flatten();
            let (Some(one), Some(other)) = (row(RegionId(id)), row(beside.region)) else { continue };
            let pair = (one.min(other), one.max(other));
            let small = region.area_mm2.min(regions.regions[beside.region.index()].area_mm2);
            if one == other || told.contains(&pair) || beside.border_mm < LEAST_BORDER * small.sqrt() {
                continue;
            }
            let (a, b) = (means[one], means[other]);
            let names = format!("'{}' and '{}'", colouring.rows[one].name, colouring.rows[other].name);
            let close = (a.l - b.l).abs() < ALIKE;
            let hint = if close && difference(a, b) < SAME_COLOUR {
                Some(format!(
                    "{names} lie side by side in nearly one colour: change one of them, or line the border dark"
                ))
            } else if close {
                let eyes =
                    ColourBlind::ALL.into_iter().find(|e| difference(e.sees(a), e.sees(b)) < SAME_COLOUR);
                Some(match eyes {
                    Some(eyes) => format!(
                        "{names} are both about L* {:.0} and look alike to eyes {}: set them {ALIKE:.0} L* apart, or \
                         line the border",
                        f64::midpoint(a.l, b.l),
                        eyes.as_str()
                    ),
                    None => format!(
                        "{names} are both about L* {:.0}: in grey they run together. Set them {ALIKE:.0} L* apart, or \
                         line the border",
                        f64::midpoint(a.l, b.l)
                    ),
                })
            } else {
                None
            };
            if let Some(hint) = hint {
                told.push(pair);
                findings.push(Finding::new(Code::NeighboursAlike, 1, hint).at(Place::Point(region.place)));
            }
        }
    }
    findings
}

/// Steps lit by a lamp that are lighter than the lamp itself will be.
fn outshone(plan: &Plan, colouring: &Colouring) -> Vec<Finding> {
    let glow = colouring.rows.iter().filter(|r| r.material == Material::Glow).flat_map(used);
    let planned = plan.values.fit.lamp().0;
    let lamp = glow.map(|s| s.shown().l).fold(f64::NEG_INFINITY, f64::max);
    // A lamp that is painted as one is as light as its paint; else as the values plan it.
    let lamp = if lamp.is_finite() { lamp } else { planned };
    let mut findings = Vec::new();
    for light in plan.lights.iter().filter(|l| matches!(l.kind, Kind::Point { .. })) {
        let brightest = colouring
            .rows
            .iter()
            .filter(|r| r.material != Material::Glow)
            .flat_map(|r| r.lit.iter().filter(|l| l.light == light.id).map(move |l| (r, l)))
            .flat_map(|(r, l)| l.steps.iter().filter(|s| s.area_mm2 > 0.0).map(move |s| (r, s.shown().l)))
            .max_by(|a, b| a.1.total_cmp(&b.1));
        if let Some((row, l)) = brightest.filter(|(_, l)| *l > lamp) {
            let hint = format!(
                "in the light of '{}' the brightest step of '{}' is L* {l:.0}, the lamp itself L* {lamp:.0}: a lit spot must \
                 stay darker than what lights it. Lower the contrast of '{}', or paint the lamp lighter",
                light.name, row.name, row.name
            );
            findings.push(Finding::new(Code::OutshinesLamp, 1, hint));
        }
    }
    findings
}

fn off_palette(choice: &ColourChoice, colouring: &Colouring) -> Vec<Finding> {
    let palette: Vec<Lab> = choice.palette.iter().filter_map(|p| colour_from_text(&p.colour).ok()).collect();
    let mut findings = Vec::new();
    for row in &colouring.rows {
        let named = choice.palette.iter().any(|p| is_called(choice, row, &p.name));
        let pulled = pull_into_line(row.base, &palette);
        let Some(pulled) = pulled.filter(|_| !named) else { continue };
        let Some(with) = pulled.with else { continue };
        let [mine, theirs] = pulled.parts;
        // Metal and light have no place in a palette's range; a trace more or less is not seen.
        if matches!(row.material, Material::Tmm | Material::Glow) || mine > 4 * theirs {
            continue;
        }
        let palette = &choice.palette[with].name;
        let way = match mine {
            0 => format!("take '{palette}' in its place"),
            _ => format!(
                "mix {mine} to {theirs} with '{palette}', which gives {}",
                grisaille_colour::hex_of(pulled.colour)
            ),
        };
        let hint = format!("the colour of '{}' lies outside the palette: {way}", row.name);
        findings.push(Finding::new(Code::ColourOutsidePalette, 1, hint));
    }
    findings
}

fn steps(colouring: &Colouring) -> Vec<Finding> {
    let mut findings = Vec::new();
    for row in colouring.rows.iter().filter(|r| !matches!(r.material, Material::Nmm | Material::Tmm)) {
        // What covers nothing is blended with nothing.
        let painted: Vec<usize> = (0..row.ramp.len()).filter(|i| row.ramp[*i].area_mm2 > 0.0).collect();
        let worst = painted
            .windows(2)
            .map(|p| ([p[0] + 1, p[1] + 1], difference(row.ramp[p[0]].shown(), row.ramp[p[1]].shown())))
            .max_by(|a, b| a.1.total_cmp(&b.1));
        if let Some(([low, high], apart)) = worst.filter(|(_, apart)| *apart > TOO_LARGE) {
            let hint = format!(
                "'{}': from step {low} to {high} is too far to blend (ΔE {apart:.0}, up to {TOO_LARGE:.0} blends): mix one between \
                 them in equal parts, or ask for more steps",
                row.name
            );
            findings.push(Finding::new(Code::StepTooLarge, 1, hint));
        }
    }
    findings
}

fn mixes(colouring: &Colouring, shelf: &Shelf) -> Vec<Finding> {
    let mut findings = Vec::new();
    for row in colouring.rows.iter().filter(|r| r.material != Material::Tmm) {
        let far = |s: &&StepColour| s.mix.as_ref().is_some_and(|m| m.nearness() == Nearness::OutOfReach);
        let off = used(row).filter(far).count();
        let worst = used(row)
            .filter(far)
            .filter_map(|s| s.mix.as_ref().map(|m| (s, m)))
            .max_by(|a, b| a.1.apart.total_cmp(&b.1.apart));
        if let Some((step, mix)) = worst {
            let hint = format!(
                "'{}': your paints do not reach {} (ΔE {:.0}); the nearest, {}, is {}",
                row.name,
                grisaille_colour::hex_of(step.wanted),
                mix.apart,
                mix.in_words(&shelf.paints),
                how_it_differs(mix.colour, step.wanted)
            );
            findings.push(Finding::new(Code::MixFarOff, off as u64, hint));
        }
    }
    findings
}

fn flat(plan: &Plan, regions: &Regions) -> Vec<Finding> {
    let each = flat_spots(plan, &regions.of_face).into_iter().map(|spot| {
        let name = regions.regions.get(spot.region.index()).map_or("?", |r| r.name.as_str());
        let letter = plan.bands.rows.get(usize::from(spot.band)).map_or('?', |b| b.letter);
        let hint = format!(
            "'{name}' turns by {:.0}° and is planned in one tone, band {letter}: it will look flat. Add a light from the \
             side, or a highlight and a shadow of your own",
            spot.turns
        );
        Finding::new(Code::FlatSpot, 1, hint).at(Place::Point(spot.at.into()))
    });
    each.collect()
}
