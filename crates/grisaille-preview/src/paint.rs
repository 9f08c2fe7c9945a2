//! Planned colours on the surface: the numbers that the coloured looks are drawn
//! from, and what is chosen.

use crate::look::{Field, StepRow, Style, grey, packed};
use grisaille_base::RegionId;
use grisaille_plan::{Colouring, Plan, RegionColours, StepColour};
use grisaille_sight::Surface;
use rayon::prelude::*;

/// The planned colours, steps and lights blended; where nothing is painted, the planned value. Where a row is as it was
/// `before` on the same plan and regions, its numbers are those of then.
#[must_use]
pub(crate) fn blended(
    plan: &Plan,
    colouring: &Colouring,
    rims: &[(u32, u32)],
    before: Option<(&Colouring, &Field)>,
) -> Field {
    let places = places(&plan.surface, colouring);
    let painted = |c: &Colouring| c.row_of_region.iter().map(Option::is_some).collect::<Vec<_>>();
    // Where something else is painted, samples on borders belong to other faces.
    let before = before
        .filter(|(old, field)| painted(old) == painted(colouring) && field.values.len() == places.len());
    let as_before: Vec<Option<usize>> = colouring
        .rows
        .iter()
        .map(|row| before.and_then(|(old, _)| old.rows.iter().position(|o| looks_alike(o, row))))
        .collect();
    let colour = |(s, place): (usize, &Option<(u32, u8)>)| {
        let Some((face, corner)) = *place else {
            return packed([grey(f64::from(plan.values.lightness[s])); 3]);
        };
        let row = colouring.row_of_face(face as usize);
        if let (Some((old, field)), Some(was)) = (before, row.and_then(|k| as_before[k]))
            && old.row_of_face(face as usize) == Some(was)
        {
            return field.values[s];
        }
        let mut weights = [0.0; 3];
        weights[usize::from(corner)] = 1.0;
        packed(match colouring.blended_at(plan, face as usize, weights) {
            Some(colour) => colour.shown().to_srgb8(),
            None => [grey(f64::from(plan.values.lightness[s])); 3],
        })
    };
    let mut values: Vec<f32> = places.par_iter().enumerate().map(colour).collect();
    beside(&mut values, rims);
    Field { values, style: Style::Blended }
}

/// Whether two rows look the same wherever they lie.
fn looks_alike(one: &RegionColours, other: &RegionColours) -> bool {
    one.ramp == other.ramp
        && one.borders == other.borders
        && one.lit == other.lit
        && one.material == other.material
        && one.base == other.base
        && one.spot == other.spot
        && one.wash == other.wash
        && one.faces == other.faces
        && one.lights_itself_as(other)
}

/// The planned colours step by step; where nothing is painted, the bands of the planned values.
#[must_use]
pub(crate) fn stepped(plan: &Plan, colouring: &Colouring, rims: &[(u32, u32)]) -> Field {
    let tones = plan.bands.rows.iter().map(|b| [grey(b.tone.0); 3]).collect();
    let mut ramps = vec![step_row(tones, &plan.bands.borders)];
    // Where the ramps of each row begin: daylight's first, then one for each lamp.
    let mut first = Vec::new();
    for row in &colouring.rows {
        first.push(ramps.len());
        let each = std::iter::once(&row.ramp).chain(row.lit.iter().map(|l| &l.steps));
        ramps.extend(each.map(|steps| step_row(shown(steps), &row.borders)));
    }
    let ramp_of = |k: usize, row: &RegionColours, zone: u8| {
        let light = plan.lamp_of_zone(zone).and_then(|lamp| plan.lights.get(lamp));
        let lit = light.and_then(|light| row.lit.iter().position(|l| l.light == light.id));
        first[k] + lit.map_or(0, |l| l + 1)
    };
    let places = places(&plan.surface, colouring);
    let value = |(s, place): (usize, &Option<(u32, u8)>)| {
        let row = place.and_then(|(face, _)| colouring.row_of_face(face as usize));
        let (ramp, lightness) = match row.and_then(|k| Some((k, colouring.rows.get(k)?))) {
            Some((k, row)) => (ramp_of(k, row, plan.zones.of_sample[s]), row.cut_from(plan)[s]),
            None => (0, plan.bands.lightness[s]),
        };
        128.0 * ramp as f32 + lightness.clamp(0.0, 127.0)
    };
    let mut values: Vec<f32> = places.par_iter().enumerate().map(value).collect();
    beside(&mut values, rims);
    Field { values, style: Style::Steps { ramps } }
}

fn shown(steps: &[StepColour]) -> Vec<[u8; 3]> {
    steps.iter().map(|s| s.shown().shown().to_srgb8()).collect()
}

fn step_row(mut colours: Vec<[u8; 3]>, borders: &[f64]) -> StepRow {
    colours.truncate(8);
    let borders = borders.iter().take(colours.len().saturating_sub(1)).map(|b| *b as f32).collect();
    StepRow { colours, borders }
}

/// A face round each sample and which of its corners the sample is: of a painted one, if one is.
fn places(surface: &Surface, colouring: &Colouring) -> Vec<Option<(u32, u8)>> {
    let mut places: Vec<Option<(u32, u8)>> = vec![None; surface.samples.len()];
    for painted in [true, false] {
        for (f, face) in (0_u32..).zip(&surface.faces) {
            if colouring.row_of_face(f as usize).is_some() != painted {
                continue;
            }
            for (corner, s) in (0_u8..).zip(face) {
                places[*s as usize].get_or_insert((f, corner));
            }
        }
    }
    places
}

/// A colour has no mean with a number of another kind: a rim takes that of its first neighbour.
fn beside(values: &mut [f32], rims: &[(u32, u32)]) {
    for (buried, open) in rims.iter().rev() {
        values[*buried as usize] = values[*open as usize];
    }
}

/// 1 for each sample of some regions, 0 for all others, a half where both meet in one sample.
#[must_use]
pub(crate) fn marks(surface: &Surface, of_face: &[RegionId], chosen: &[RegionId]) -> Vec<f32> {
    let within = |f: usize| of_face.get(f).is_some_and(|r| chosen.contains(r));
    let mut sides = vec![(false, false); surface.samples.len()];
    for (f, face) in surface.faces.iter().enumerate() {
        let inside = within(f);
        for s in face {
            let (own, other) = &mut sides[*s as usize];
            (*own, *other) = (*own || inside, *other || !inside);
        }
    }
    let mark = |(own, other): (bool, bool)| match (own, other) {
        (true, false) => 1.0,
        (true, true) => 0.5,
        (false, _) => 0.0,
    };
    sides.into_iter().map(mark).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::test_scene::{ground_of, products_of, scheme};
    use grisaille_base::Watch;
    use grisaille_bodies::{cuboid, icosphere, moved, scaled};
    use grisaille_form::{Ground, GroundSettings};
    use grisaille_plan::{Shelf, coloured, division, plan};
    use grisaille_scheme::{Material, RegionPaint, RegionSource, RegionSpot};
    use grisaille_words::Words;

    #[test]
    fn samples_have_the_colours_that_the_plan_tells_for_their_spots() {
        let mut soup = moved(scaled(icosphere(3), 6.0), [0.0, 0.0, 8.0]);
        soup.extend(cuboid([-10.0, -10.0, 0.0], [10.0, 10.0, 2.0]));
        let mut scheme = scheme(0.8);
        scheme.regions.by = RegionSource::Pieces;
        scheme.add_lamp("lamp", [0.0, -14.0, 12.0], None, grisaille_base::Millimetres(0.5)).unwrap();
        let paint = |name: &str, colour: &str| RegionPaint {
            name: name.into(),
            colour: colour.into(),
            ..RegionPaint::default()
        };
        scheme.colours.regions = vec![RegionPaint { rest: true, ..paint("copper", "#b06f45") }];
        (scheme.lights[3].colour, scheme.lights[3].weight) = ([255, 160, 90], 4.0);
        let watch = Watch::quiet();
        let mut plan = plan(&scheme, &mut products_of(&soup), &watch).unwrap();
        let made = coloured(&scheme, &mut plan, &Shelf::empty(), Words::english(), &watch).unwrap();
        let (whole, steps) =
            (blended(&plan, &made.colouring, &[], None), stepped(&plan, &made.colouring, &[]));
        let Style::Steps { ramps } = &steps.style else { panic!("{:?}", steps.style) };
        assert!(ramps.len() > 2, "daylight and a lamp");
        let mut seen = 0;
        for (f, face) in plan.surface.faces.iter().enumerate() {
            for (k, s) in
                face.iter().enumerate().filter(|(_, s)| !plan.surface.samples.buried.get(**s as usize))
            {
                let mut weights = [0.0; 3];
                weights[k] = 1.0;
                let want = made.colouring.blended_at(&plan, f, weights).unwrap().shown().to_srgb8();
                assert_eq!(whole.values[*s as usize], packed(want));
                let value = steps.values[*s as usize];
                let row = &ramps[(value / 128.0) as usize];
                let lightness = value % 128.0;
                // To a hundredth of L* from a border either side will do.
                if row.borders.iter().any(|b| (b - lightness).abs() < 0.01) {
                    continue;
                }
                let step = row.borders.iter().filter(|b| lightness >= **b).count();
                let want = made.colouring.flat_at(&plan, f, weights).unwrap().shown().to_srgb8();
                assert_eq!(row.colours[step], want, "face {f}");
                seen += 1;
            }
        }
        assert!(seen > 1000);
    }

    #[test]
    fn numbers_of_before_are_those_that_would_be_made_anew() {
        let mut soup = moved(scaled(icosphere(3), 6.0), [0.0, 0.0, 8.0]);
        soup.extend(cuboid([-10.0, -10.0, 0.0], [10.0, 10.0, 3.0]));
        let mut scheme = scheme(0.8);
        scheme.regions.by = RegionSource::Pieces;
        let paint = |at: Vec<RegionSpot>, colour: &str| RegionPaint {
            name: colour.into(),
            rest: at.is_empty(),
            at,
            colour: colour.into(),
            ..RegionPaint::default()
        };
        let ball = vec![RegionSpot::Point([0.0, 0.0, 14.0])];
        scheme.colours.regions = vec![paint(ball.clone(), "#b06f45"), paint(Vec::new(), "#5a6b5c")];
        let watch = Watch::quiet();
        let mut plan = plan(&scheme, &mut products_of(&soup), &watch).unwrap();
        let rims = crate::skin::rims(&ground_of(&soup, 0.8));
        assert!(!rims.is_empty(), "the ball stands in its plate");
        let mut before: Option<(Colouring, Field)> = None;
        for regions in [
            vec![paint(ball.clone(), "#b06f45"), paint(Vec::new(), "#5a6b5c")],
            vec![paint(ball.clone(), "#335577"), paint(Vec::new(), "#5a6b5c")],
            vec![RegionPaint { material: Material::Nmm, ..paint(ball.clone(), "#335577") }],
            vec![RegionPaint {
                material: Material::Nmm,
                seen_from: Some(90.0),
                ..paint(ball.clone(), "#335577")
            }],
            vec![paint(Vec::new(), "#335577")],
            vec![paint(Vec::new(), "#5a6b5c"), paint(ball, "#335577")],
        ] {
            scheme.colours.regions = regions;
            let made = coloured(&scheme, &mut plan, &Shelf::empty(), Words::english(), &watch).unwrap();
            let anew = blended(&plan, &made.colouring, &rims, None);
            let with = before.as_ref().map(|(colouring, field)| (colouring, field));
            assert_eq!(blended(&plan, &made.colouring, &rims, with), anew, "{:?}", scheme.colours.regions);
            before = Some((Colouring::clone(&made.colouring), anew));
        }
    }

    #[test]
    fn what_is_chosen_is_told_from_the_rest() {
        let mut soup = moved(scaled(icosphere(3), 6.0), [0.0, 0.0, 20.0]);
        soup.extend(cuboid([-10.0, -10.0, 0.0], [10.0, 10.0, 2.0]));
        let ground = ground_of(&soup, 0.8);
        let watch = Watch::quiet();
        let parts =
            Ground::of(&ground.surface, &ground.mesh, &GroundSettings::for_mesh(&ground.mesh), &watch)
                .unwrap();
        let mut choice = scheme(0.8).regions;
        choice.by = RegionSource::Pieces;
        let regions = parts.divide(&division(&choice), &watch).unwrap();
        assert_eq!(regions.regions.len(), 2);
        // The ball touches nothing: all of it is within, and nothing on a border.
        let high = |s: usize| ground.surface.samples.position[s].z > 10.0;
        let ball = regions.of_face[ground.surface.faces.iter().position(|f| high(f[0] as usize)).unwrap()];
        let one = marks(&ground.surface, &regions.of_face, &[ball]);
        assert!((0..one.len()).all(|s| one[s] == if high(s) { 1.0 } else { 0.0 }));
        assert!(marks(&ground.surface, &regions.of_face, &[]).iter().all(|m| *m == 0.0));
        // Half of a plate, across its top.
        let of: Vec<RegionId> = ground
            .surface
            .faces
            .iter()
            .map(|f| {
                let x: f32 = f.iter().map(|s| ground.surface.samples.position[*s as usize].x).sum();
                RegionId(u16::from(x > 0.0))
            })
            .collect();
        let half = marks(&ground.surface, &of, &[RegionId(1)]);
        let counts = [0.0, 0.5, 1.0].map(|want| half.iter().filter(|m| **m == want).count());
        assert!(counts.iter().all(|n| *n > 20), "{counts:?}");
        for (s, mark) in half.iter().enumerate() {
            let x = ground.surface.samples.position[s].x;
            assert!(
                if *mark == 0.5 { x.abs() < 1.6 } else { (x > -1.6) == (*mark == 1.0) || x.abs() < 1.6 },
                "{x} {mark}"
            );
        }
    }
}
