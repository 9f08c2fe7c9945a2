//! The map of regions: views with every region's number, name and colour beside it, and the list of them.

use crate::arrange::{Field, on_field};
use crate::card_pictures::in_ink;
use crate::compose::{BACK, Composer, FINENESS, FRONT, srgb};
use crate::compose_summary::in_runs;
use crate::labels::boundary;
use crate::print::{area, percent};
use crate::recipe_rows::called;
use crate::survey::Survey;
use crate::view_sheet::{NamedRow, NamedView, Tag, ViewSheet};
use grisaille_base::{Lightness, Millimetres, RegionId, Stop};
use grisaille_colour::{Lab, LinearRgb, luminance_from_lightness, munsell_value};
use grisaille_form::Regions;
use grisaille_picture::{BorderPen, Contours, Mark, Pattern, Scene, View, places, region_number};
use grisaille_plan::RegionColours;
use grisaille_scheme::Material;
use grisaille_words::say;

/// The height of a name beside a picture, mm.
pub(crate) const NAME: f64 = 5.0;
/// A region of fewer pixels of the survey is not named on that side.
const SEEN: usize = 8;
/// A spot for a leader has so much room round it on paper, mm.
const SPOT: f64 = 0.2;
/// What lies so many widths of the figure from its middle has a side.
const ASIDE: f64 = 0.05;
/// No more sides than this are shown.
const MOST_SIDES: usize = 5;
/// Borders of regions on paper.
const BORDER: BorderPen = BorderPen { width: 0.22, strength: 1.0 };

impl Composer<'_> {
    /// The enlargement of a view between two columns of names.
    pub(crate) fn named_scale(&self, view: usize) -> f64 {
        let room = self.paper.named();
        let field = Field { width: room.width.0, height: room.height.0 + 10.5 };
        on_field(&self.extents, &[view], 1, field).scale
    }

    /// The map of regions; none where they are not known or there is but one.
    pub(crate) fn region_sheets(&mut self) -> Result<Vec<ViewSheet>, Stop> {
        let Some(regions) = self.regions.filter(|r| r.regions.len() > 1) else { return Ok(Vec::new()) };
        let seen = self.seen_regions(regions)?;
        let painted = self.painted_regions(regions);
        let order = (0..seen.len()).map(|view| (view, &seen[view]));
        // Front and back, then whatever shows most of what neither does.
        let mut sides = vec![FRONT, BACK];
        let named_on = |sides: &[usize], region: usize| sides.iter().any(|v| seen[*v][region] >= SEEN);
        let order: Vec<(usize, &Vec<usize>)> = order.collect();
        while sides.len() < MOST_SIDES {
            let news = |counts: &Vec<usize>| {
                let new =
                    (0..counts.len()).filter(|r| painted[*r] && counts[*r] >= SEEN && !named_on(&sides, *r));
                new.count()
            };
            let best = order
                .iter()
                .map(|(view, counts)| (news(counts), *view))
                .max_by_key(|(n, view)| (*n, std::cmp::Reverse(*view)));
            match best {
                Some((n, view)) if n > 0 => sides.push(view),
                _ => break,
            }
        }
        let mut views = Vec::new();
        for side in &sides {
            // On further sides only what is not named yet.
            let known: Vec<bool> = (0..painted.len())
                .map(|r| *side != FRONT && *side != BACK && named_on(&sides[..2], r))
                .collect();
            views.push(self.region_view(*side, regions, |r| !known[r])?);
        }
        let rows = self.region_rows(regions, &painted, &seen);
        let coloured = self.coloured.is_some();
        let words = self.words;
        let colour = coloured.then_some("column-colour");
        let more = ["column-lightness", "column-value", "column-light", "column-area", "column-share"];
        let columns = ["column-region"].into_iter().chain(colour).chain(more);
        let map = ViewSheet {
            key: "regions",
            part: say!(words, "part-regions"),
            title: say!(words, "regions-title"),
            lead: say!(
                words,
                match self.coloured {
                    Some(c) if c.colouring.rows.iter().any(|row| row.glaze.is_some()) =>
                        "regions-lead-glazed",
                    Some(_) => "regions-lead-coloured",
                    None => "regions-lead",
                }
            ),
            views,
            columns: columns.map(|key| say!(words, key)).collect(),
            rows,
            ..ViewSheet::default()
        };
        Ok(vec![map])
    }

    /// For each side how many pixels of the survey each region has.
    fn seen_regions(&mut self, regions: &Regions) -> Result<Vec<Vec<usize>>, Stop> {
        let survey = match self.survey.take() {
            Some(survey) => survey,
            None => Survey::of(self.plan, &self.extents, self.watch)?,
        };
        let seen =
            survey.counts(regions.regions.len(), |f| regions.of_face.get(f).map(|r| r.index()), self.watch);
        self.survey = Some(survey);
        seen
    }

    /// Which regions have anything that is painted: neither buried nor the underside or a print support.
    pub(crate) fn painted_regions(&self, regions: &Regions) -> Vec<bool> {
        let mut painted = vec![false; regions.regions.len()];
        for (_, region) in self.painted_faces(regions) {
            painted[region] = true;
        }
        painted
    }

    /// The faces that are painted, each with the place of its region.
    fn painted_faces(&self, regions: &Regions) -> impl Iterator<Item = (usize, usize)> {
        let count = regions.regions.len();
        let each = regions.of_face.iter().enumerate().map(|(f, region)| (f, region.index()));
        each.filter(move |(f, region)| {
            *region < count
                && self.plan.surface.open_corners(*f) > 0
                && self.plan.part_of_face.get(*f).is_some_and(|p| p.is_painted())
        })
    }

    /// The row of the colouring that paints a region.
    fn colours_of(&self, region: usize) -> Option<&RegionColours> {
        let colouring = self.coloured.map(|c| c.colouring.as_ref())?;
        let row = (*colouring.row_of_region.get(region)?)?;
        colouring.rows.get(row)
    }

    /// What a region is called at the bench: by its own name, or if nobody gave it one by what it is painted as.
    pub(crate) fn region_name(&self, region: usize) -> String {
        let own = self.regions.and_then(|r| r.regions.get(region));
        match (own, self.colours_of(region)) {
            (Some(own), Some(row)) if !own.named => row.name.clone(),
            (Some(own), _) => own.name.clone(),
            (None, _) => String::new(),
        }
    }

    /// Its name, with its side where two regions have one name and stand on either side of the figure.
    pub(crate) fn sided_name(&self, region: usize, regions: &Regions, painted: &[bool]) -> String {
        let name = self.region_name(region);
        let same = |i: &usize| *i != region && painted[*i] && self.region_name(*i) == name;
        let others: Vec<usize> = (0..regions.regions.len()).filter(same).collect();
        let [other] = others.as_slice() else { return name };
        // How far to the right of the middle each lies, in widths of the figure.
        let middle = self.plan.mesh.bounds().centre()[0];
        let aside = |r: usize| (f64::from(regions.regions[r].place[0]) - middle) / self.extents[FRONT][0];
        match (aside(region), aside(*other)) {
            (own, other) if own < -ASIDE && other > ASIDE => say!(self.words, "region-left", name = name),
            (own, other) if own > ASIDE && other < -ASIDE => say!(self.words, "region-right", name = name),
            _ => name,
        }
    }

    /// What a region is shown in: its base colour, or the colour that tells it from its neighbours.
    fn look_of(&self, regions: &Regions, region: usize) -> LinearRgb {
        match (self.coloured, self.colours_of(region)) {
            // As it will be mixed, so that it agrees with the cards.
            (Some(_), Some(row)) => row.middle().shown(),
            // A scheme may leave a region without colours.
            (Some(_), None) => LinearRgb::WHITE,
            _ => regions.regions.get(region).map_or(LinearRgb::WHITE, |r| LinearRgb::from_srgb8(r.swatch)),
        }
    }

    fn region_view(
        &mut self,
        view: usize,
        regions: &Regions,
        named: impl Fn(usize) -> bool,
    ) -> Result<NamedView, Stop> {
        let scale = self.named_scale(view);
        let frame = self.frame(&View::all()[view], scale, FINENESS);
        let scene = self.scene(&frame, FINENESS)?;
        let ink = self.ink();
        let looks: Vec<LinearRgb> = (0..regions.regions.len()).map(|r| self.look_of(regions, r)).collect();
        let of = |hit: &grisaille_picture::Hit| regions.of_face.get(hit.face.index()).map(|r| r.0);
        let mark = |label: u16| Mark {
            colour: in_ink(looks.get(usize::from(label)).copied().unwrap_or(LinearRgb::WHITE), ink),
            pattern: Pattern::Plain,
        };
        let shaded = scene.marked(of, mark, self.watch)?;
        let lines = scene.lines_over(shaded.areas.as_ref(), BORDER, Contours::Plain, self.watch)?;
        let (width, height) = (shaded.image.width(), shaded.image.height());
        let mm = |px: u32| f64::from(px) / FINENESS;
        let size = [mm(width), mm(height)];
        let pixels = match &shaded.areas {
            Some(areas) => areas.per_pixel(self.watch)?,
            None => Vec::new(),
        };
        let found = places(&pixels, width as usize, (SPOT * FINENESS) as f32, 1, self.watch)?;
        let found: Vec<_> =
            found.into_iter().filter(|p| p.label < Scene::UNMARKED && named(usize::from(p.label))).collect();
        let spots: Vec<[f64; 2]> =
            found.iter().map(|p| [f64::from(p.x_px) / FINENESS, f64::from(p.y_px) / FINENESS]).collect();
        let ends = boundary(&spots, size, NAME);
        let tags = found.iter().zip(&spots).zip(ends).filter_map(|((place, spot), end)| {
            Some(Tag {
                number: region_number(RegionId(place.label)).to_string(),
                name: self.region_name(usize::from(place.label)),
                look: Some(srgb(mark(place.label).colour)),
                spot: spot.map(Millimetres),
                end: end?.map(Millimetres),
            })
        });
        let tags: Vec<Tag> = tags.collect();
        let names: Vec<String> = tags.iter().map(|t| t.name.clone()).collect();
        let alt =
            say!(self.words, "alt-regions", side = self.side(frame.view()), names = self.words.row(&names));
        let file = shaded.image.png(FINENESS, self.watch)?;
        let picture = self.printed((&frame, FINENESS, scale), file, alt, lines);
        Ok(NamedView { view: crate::compose::named(self.words, view, "", picture), tags })
    }

    /// Painted regions that have one name and one colour, such as two boots: each lot in order, by its first.
    fn called_alike(&self, painted: &[bool]) -> Vec<Vec<usize>> {
        let row = |region: usize| self.coloured.and_then(|c| c.colouring.row_of_region.get(region).copied());
        let mut lots: Vec<Vec<usize>> = Vec::new();
        for region in (0..painted.len()).filter(|r| painted[*r]) {
            let same = |lot: &&mut Vec<usize>| {
                row(lot[0]) == row(region) && self.region_name(lot[0]) == self.region_name(region)
            };
            match lots.iter_mut().find(same) {
                Some(lot) => lot.push(region),
                None => lots.push(vec![region]),
            }
        }
        lots
    }

    fn region_rows(&self, regions: &Regions, painted: &[bool], seen: &[Vec<usize>]) -> Vec<NamedRow> {
        let whole: f64 = regions.regions.iter().map(|r| r.area_mm2).sum();
        let sums = self.lightness_sums(regions);
        let lit = self.lit_areas(regions);
        let mut rows = Vec::new();
        for lot in self.called_alike(painted) {
            let first = lot[0];
            let area_mm2: f64 = lot.iter().map(|r| regions.regions[*r].area_mm2).sum();
            let middle = self.colours_of(first).map(RegionColours::middle);
            let shown = middle.map_or_else(|| mean_of(&sums, &lot), |colour| Some(colour.l));
            let (lightness, value) = match shown {
                Some(l) => (
                    format!("{l:.0}"),
                    format!("{:.1}", munsell_value(luminance_from_lightness(Lightness(l)))),
                ),
                None => ("–".into(), "–".into()),
            };
            let mut cells = vec![self.region_name(first)];
            if self.coloured.is_some() {
                cells.push(middle.map_or_else(|| "–".into(), |colour| self.colour_in_words(first, colour)));
            }
            cells.extend([
                lightness,
                value,
                // True metal is not painted in any light.
                match self.colours_of(first).is_some_and(|row| row.material == Material::Tmm) {
                    true => "–".into(),
                    false => self.strongest_light(&lit, &lot),
                },
                area(area_mm2),
                percent(area_mm2 / whole.max(f64::MIN_POSITIVE)),
            ]);
            if lot.iter().all(|r| seen.iter().all(|counts| counts[*r] < SEEN)) {
                cells[0] = say!(self.words, "region-hidden", name = &cells[0]);
            }
            if self.coloured.is_some() && self.colours_of(first).is_none() {
                cells[0] = say!(self.words, "region-no-colour", name = &cells[0]);
            }
            let numbers: Vec<usize> = lot.iter().map(|r| r + 1).collect();
            rows.push(NamedRow {
                number: in_runs(&numbers),
                look: Some(srgb(self.look_of(regions, first))),
                cells,
            });
        }
        rows
    }

    /// What a region's colour is called: as the palette has it, and as it comes out.
    fn colour_in_words(&self, region: usize, shown: Lab) -> String {
        let seen = called(shown, self.words);
        let entry = self.colours_of(region).and_then(|row| self.scheme.colours.regions.get(row.entry));
        let own = entry.map(|entry| &entry.colour);
        match own.filter(|own| self.scheme.colours.palette.iter().any(|p| p.name == **own)) {
            Some(palette) if *palette != seen => {
                say!(self.words, "region-colour", palette = palette, colour = seen)
            }
            _ => seen,
        }
    }

    /// How much of what is painted of each region each zone has, mm², and last what no light reaches.
    fn lit_areas(&self, regions: &Regions) -> Vec<Vec<f64>> {
        let zones = &self.plan.zones.rows;
        let mut areas = vec![vec![0.0; zones.len() + 1]; regions.regions.len()];
        for (f, region) in self.painted_faces(regions) {
            let number = self.plan.zone_at(f, [1.0 / 3.0; 3]);
            let zone = zones.iter().position(|z| z.number == number).unwrap_or(zones.len());
            areas[region][zone] += self.plan.surface.face_area(f);
        }
        areas
    }

    /// The light that rules most of some regions, with its share of what is painted there.
    fn strongest_light(&self, lit: &[Vec<f64>], lot: &[usize]) -> String {
        let zones = &self.plan.zones.rows;
        let area_of = |zone: usize| lot.iter().map(|r| lit[*r][zone]).sum::<f64>();
        let areas: Vec<f64> = (0..=zones.len()).map(area_of).collect();
        let all: f64 = areas.iter().sum();
        let most = areas.iter().zip(zones).max_by(|a, b| a.0.total_cmp(b.0)).filter(|(a, _)| **a > 0.0);
        most.map_or_else(|| "–".into(), |(a, zone)| format!("{} {}", zone.name, percent(a / all)))
    }

    /// For each region the area that is painted, and the sum of the planned lightness over it.
    fn lightness_sums(&self, regions: &Regions) -> Vec<(f64, f64)> {
        let mut sums = vec![(0.0, 0.0); regions.regions.len()];
        let surface = &self.plan.surface;
        for (f, region) in self.painted_faces(regions) {
            let sum = &mut sums[region];
            let of = |s: &u32| f64::from(self.plan.values.lightness[*s as usize]);
            let area = surface.face_area(f);
            sum.0 += area;
            sum.1 += area * surface.faces[f].iter().map(of).sum::<f64>() / 3.0;
        }
        sums
    }
}

/// The mean lightness of some regions, from areas and sums over them.
fn mean_of(sums: &[(f64, f64)], lot: &[usize]) -> Option<f64> {
    let (area, sum) = lot.iter().map(|r| sums[*r]).fold((0.0, 0.0), |a, b| (a.0 + b.0, a.1 + b.1));
    (area > 0.0).then(|| sum / area)
}
