//! What a stage of work marks on the figure: areas, lines and spots, each for one of its recipes.

use crate::card_pictures::pattern_of;
use grisaille_base::{LightId, RegionId};
use grisaille_colour::{Lab, LinearRgb};
use grisaille_form::{Line, parted};
use grisaille_picture::{Hit, Pattern};
use grisaille_plan::{
    Coloured, Colouring, EyePart, LINES_TOLD, LitRamp, MixPlace, Plan, Recipe, RegionColours, Stage,
    StageKind, step_at,
};
use grisaille_scheme::Ink;
use nalgebra::Point3;
use std::collections::{BTreeMap, BTreeSet};

/// Labels from here on show the steps round what is marked; they carry no letter.
pub(crate) const BESIDE: u16 = 4096;
/// So many steps at most does a row have, for labels of its steps; the last stands for what a lamp's card paints.
const STEPS: u16 = 8;
const LATER: u16 = STEPS - 1;
/// Where less than this share of what it faces is open, a wash gathers: the bottom of a groove of 90°
/// sees half (J. R. Howell, catalogue of configuration factors, groove).
const POOLS: f64 = 0.5;
/// Ink for what is marked without a paint of its own, such as varnish.
const CLEAR: [u8; 3] = [120, 160, 190];

/// What is marked. Labels of areas, lines and spots are the places of recipes in the stage.
pub(crate) struct Marking<'a> {
    plan: &'a Plan,
    colouring: &'a Colouring,
    recipes: BTreeMap<Area, u16>,
    /// Whether it is eyes that are marked.
    eyes: bool,
    /// Whether what a lamp lights has its own stage or recipes; it is left white then.
    lamps_later: bool,
    /// Rows of which the steps that are not marked are shown too.
    beside: Vec<usize>,
    /// Lines, the weightiest first.
    pub(crate) lines: Vec<MarkedLine<'a>>,
    /// Spots, each with its label.
    pub(crate) spots: Vec<(Point3<f32>, u16)>,
    colours: Vec<LinearRgb>,
    patterns: Vec<Pattern>,
}

/// A line to draw.
pub(crate) struct MarkedLine<'a> {
    pub(crate) line: &'a Line,
    pub(crate) label: u16,
    /// Its number on the sheet of lines.
    pub(crate) number: usize,
}

/// An area of the figure that a recipe is for: the row of the colouring, and what of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Area {
    All(usize),
    Step(usize, usize),
    Lit(usize, LightId, usize),
    Pools(usize),
    Eye(usize, EyePart),
}

/// For each recipe the first of those that are one area with it: neighbouring steps of one mix, which no border parts.
pub(crate) fn joined(recipes: &[Recipe]) -> Vec<usize> {
    let step_of = |r: &Recipe| match r.place {
        MixPlace::Step(entry, step) => Some((entry, None, step)),
        MixPlace::LitTone(entry, light, tone) => Some((entry, Some(light), tone)),
        _ => None,
    };
    let one = |a: &Recipe, b: &Recipe| match (step_of(a), step_of(b)) {
        (Some((entry, light, step)), Some((other, lamp, next))) => {
            let mixed = a.pot.is_none() && a.mix.is_some() && a.mix == b.mix;
            mixed && (entry, light) == (other, lamp) && step.abs_diff(next) == 1
        }
        _ => false,
    };
    let mut first: Vec<usize> = Vec::with_capacity(recipes.len());
    for (i, recipe) in recipes.iter().enumerate() {
        first.push(if i > 0 && one(&recipes[i - 1], recipe) { first[i - 1] } else { i });
    }
    first
}

impl<'a> Marking<'a> {
    /// What a stage marks, each recipe in its colour; `None` where it is about the whole figure or none of it.
    pub(crate) fn of(
        stage: &Stage,
        (colours, ink): (&[LinearRgb], Ink),
        plan: &'a Plan,
        coloured: &'a Coloured,
    ) -> Option<Self> {
        let colouring = coloured.colouring.as_ref();
        let row_of = |entry: usize| colouring.rows.iter().position(|r| r.entry == entry);
        let mut marking = Self {
            plan,
            colouring,
            recipes: BTreeMap::new(),
            eyes: stage.recipes.iter().any(|r| matches!(r.place, MixPlace::Eye(..))),
            lamps_later: matches!(stage.kind, StageKind::ShadowsAndLights | StageKind::Base),
            beside: Vec::new(),
            lines: Vec::new(),
            spots: Vec::new(),
            colours: colours.to_vec(),
            patterns: (0..stage.recipes.len()).map(|i| pattern_of(stage, i, ink)).collect(),
        };
        let first_of = joined(&stage.recipes);
        for (label, recipe) in first_of.into_iter().zip(&stage.recipes) {
            let area = match recipe.place {
                MixPlace::Entry(entry) => row_of(entry).map(Area::All),
                MixPlace::Step(entry, step) => row_of(entry).map(|row| Area::Step(row, step)),
                MixPlace::LitTone(entry, light, tone) => row_of(entry).map(|row| Area::Lit(row, light, tone)),
                MixPlace::Pools(entry) => row_of(entry).map(Area::Pools),
                MixPlace::Eye(entry, part) => row_of(entry).map(|row| Area::Eye(row, part)),
                MixPlace::AsTold
                | MixPlace::Lines(_)
                | MixPlace::Edges(_)
                | MixPlace::Spots(_)
                | MixPlace::Face(..) => None,
            };
            if let Some(area) = area {
                marking.recipes.entry(area).or_insert(label as u16);
            }
        }
        marking.add_lines(stage, coloured);
        marking.add_faces(stage);
        if marking.recipes.is_empty() && marking.lines.is_empty() && marking.spots.is_empty() {
            // No paint of its own: the regions that it names.
            for (row, colours) in colouring.rows.iter().enumerate() {
                if stage.regions.contains(&colours.name) {
                    marking.recipes.insert(Area::All(row), marking.colours.len() as u16);
                }
            }
            marking.colours.push(LinearRgb::from_srgb8(CLEAR));
        }
        if matches!(stage.kind, StageKind::ShadowsAndLights | StageKind::LampColour(_)) {
            let rows = marking.recipes.keys().map(|area| match area {
                Area::All(row)
                | Area::Step(row, _)
                | Area::Lit(row, ..)
                | Area::Pools(row)
                | Area::Eye(row, _) => *row,
            });
            marking.beside = rows.collect();
            marking.beside.dedup();
        }
        let empty = marking.recipes.is_empty() && marking.lines.is_empty() && marking.spots.is_empty();
        (!empty).then_some(marking)
    }

    /// Points at what is glazed on faces.
    fn add_faces(&mut self, stage: &Stage) {
        for (label, recipe) in (0_u16..).zip(&stage.recipes) {
            let MixPlace::Face(entry, part) = recipe.place else { continue };
            let Some(row) = self.colouring.rows.iter().position(|r| r.entry == entry) else { continue };
            let places = self.colouring.face_places(self.plan, row, part).into_iter();
            self.spots.extend(places.map(|point| (point, label)));
        }
    }

    fn add_lines(&mut self, stage: &Stage, coloured: &'a Coloured) {
        let lining = &coloured.lining;
        let entry_of_region = |r: RegionId| -> Option<usize> {
            let row = *self.colouring.row_of_region.get(r.index())?;
            Some(self.colouring.rows[row?].entry)
        };
        let entry_of_face =
            |f: u32| self.colouring.row_of_face(f as usize).map(|row| self.colouring.rows[row].entry);
        let label = |place: MixPlace| {
            let found = stage.recipes.iter().position(|r| r.place == place);
            found.map(|label| label as u16)
        };
        let within = |line: &Line| line.faces.get(line.faces.len() / 2).and_then(|f| entry_of_face(*f));
        match stage.kind {
            StageKind::Lining => {
                for (number, line) in
                    (1..).zip(lining.recesses[..lining.figure_recesses].iter().take(LINES_TOLD))
                {
                    let sides = match parted(line, &coloured.regions.of_face) {
                        Some([a, b]) => entry_of_region(a).zip(entry_of_region(b)),
                        None => within(line).map(|own| (own, own)),
                    };
                    let Some((a, b)) = sides else { continue };
                    if let Some(label) =
                        label(MixPlace::Lines([a, b])).or_else(|| label(MixPlace::Lines([b, a])))
                    {
                        self.lines.push(MarkedLine { line, label, number });
                    }
                }
            }
            StageKind::Edges => {
                let edges = lining.edges[..lining.figure_edges].iter().take(LINES_TOLD);
                for (number, line) in (1..).zip(edges) {
                    if let Some(label) = within(line).and_then(|own| label(MixPlace::Edges(own))) {
                        self.lines.push(MarkedLine { line, label, number });
                    }
                }
            }
            StageKind::Spots => {
                for spot in &lining.spots {
                    if let Some(label) = entry_of_face(spot.face).and_then(|own| label(MixPlace::Spots(own)))
                    {
                        self.spots.push((spot.point, label));
                    }
                }
            }
            _ => {}
        }
    }

    /// The same without its colours: what is marked is told by its letters alone.
    pub(crate) fn blank(mut self) -> Self {
        self.colours.fill(LinearRgb::WHITE);
        self.beside.clear();
        self
    }

    /// How many areas are marked, each for a recipe of its own.
    pub(crate) fn areas(&self) -> usize {
        self.recipes.values().collect::<BTreeSet<_>>().len()
    }

    /// The label of a spot; from [`BESIDE`] on it is shown and not marked.
    pub(crate) fn label(&self, hit: &Hit) -> Option<u16> {
        let row = self.colouring.row_of_face(hit.face.index())?;
        if let Some(label) = self.recipes.get(&Area::All(row)) {
            return Some(*label);
        }
        if let Some(label) = self.recipes.get(&Area::Pools(row)) {
            return self.is_deep(row, hit).then_some(*label);
        }
        if self.eyes {
            let part = self.colouring.rows[row].eye_at(self.plan, hit.face.index(), hit.barycentric)?;
            // The catchlight comes with the last touches; until then it is iris.
            let part = if part == EyePart::Catchlight { EyePart::Iris } else { part };
            return self.recipes.get(&Area::Eye(row, part)).copied();
        }
        let (_, step) = step_at(self.colouring, self.plan, hit.face.index(), hit.barycentric)?;
        let zone = self.plan.zone_at(hit.face.index(), hit.barycentric);
        let lamp = self.plan.lamp_of_zone(zone).map(|lamp| self.plan.lights[lamp].id);
        let lamp = lamp.and_then(|id| self.colouring.rows[row].lit.iter().find(|ramp| ramp.light == id));
        let lit = |ramp: &LitRamp| self.recipes.get(&Area::Lit(row, ramp.light, ramp.tone_of(step)));
        let label = match lamp {
            // White paper: the pale figure round it is shaded.
            Some(ramp) if self.lamps_later => {
                let later = self.beside.contains(&row).then(|| BESIDE + row as u16 * STEPS + LATER);
                return lit(ramp).copied().or(later);
            }
            Some(ramp) => lit(ramp).or_else(|| self.recipes.get(&Area::Step(row, step))),
            None => self.recipes.get(&Area::Step(row, step)),
        };
        if let Some(label) = label {
            return Some(*label);
        }
        self.beside.contains(&row).then(|| BESIDE + row as u16 * STEPS + step as u16)
    }

    /// The pattern of a label; what is shown and not marked has none.
    pub(crate) fn pattern(&self, label: u16) -> Pattern {
        self.patterns.get(usize::from(label)).copied().unwrap_or_default()
    }

    /// Whether anything marked has a pattern.
    pub(crate) fn is_patterned(&self) -> bool {
        self.recipes.values().any(|label| self.pattern(*label) != Pattern::Plain)
    }

    /// The colour of a label.
    pub(crate) fn colour(&self, label: u16) -> LinearRgb {
        if let Some(colour) = self.colours.get(usize::from(label)) {
            return *colour;
        }
        let beside = label.saturating_sub(BESIDE);
        let (row, step) = (usize::from(beside / STEPS), usize::from(beside % STEPS));
        let own = |r: &RegionColours| r.ramp.get(step).map(grisaille_plan::StepColour::shown).map(Lab::shown);
        let colour = self.colouring.rows.get(row).and_then(own).unwrap_or(LinearRgb::WHITE);
        // Paler than it will be, so that what is marked stands out.
        colour.lerp(LinearRgb::WHITE, 0.55)
    }

    fn is_deep(&self, row: usize, hit: &Hit) -> bool {
        let Some(open) = &self.plan.openness else { return false };
        let corners = self.plan.corners(hit.face.index(), &open.values).unwrap_or([1.0; 3]);
        let open: f64 = (0..3).map(|c| f64::from(corners[c]) * f64::from(hit.barycentric[c])).sum();
        self.colouring.rows[row].open_for_wash(open) < POOLS
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use grisaille_base::{FaceId, Millimetres, Watch};
    use grisaille_bodies::{icosphere, scaled, stl};
    use grisaille_mesh::{ReadSettings, read};
    use grisaille_plan::{Products, Shelf, coloured, plan};
    use grisaille_scheme::{FalloffChoice, LightChoice, LightEntry, RegionPaint, Scheme};
    use grisaille_words::Words;
    use std::sync::Arc;

    /// A ball of 8 mm with a lamp beside it.
    fn lit_ball() -> Scheme {
        let mut scheme = Scheme::default();
        scheme.surface.spacing = Some(Millimetres(0.5));
        scheme.fineness.ambient_directions = 16;
        scheme.primer.wanted = false;
        scheme.colours.regions = vec![RegionPaint {
            name: "helmet".into(),
            rest: true,
            colour: "#b06f45".into(),
            ..RegionPaint::default()
        }];
        let choice = LightChoice::Lamp {
            at: [14.0, -6.0, 2.0],
            reference: Some(Millimetres(8.0)),
            radius: Millimetres(0.0),
            clear: Millimetres(0.0),
            falloff: FalloffChoice::default(),
        };
        let lamp = LightEntry::new(LightId(3), "lamp", 1.2, choice);
        scheme.lights.push(LightEntry { colour: [255, 190, 110], ..lamp });
        scheme
    }

    #[test]
    fn no_place_is_marked_both_by_day_and_by_the_lamp() {
        let watch = Watch::quiet();
        let scheme = lit_ball();
        let ball = stl(&scaled(icosphere(4), 8.0));
        let (mesh, _) = read(&ball, &ReadSettings::default(), &watch).unwrap();
        let mut plan = plan(&scheme, &mut Products::new(Arc::new(mesh)), &watch).unwrap();
        let coloured = coloured(&scheme, &mut plan, &Shelf::empty(), Words::english(), &watch).unwrap();
        let marking = |kind: fn(&StageKind) -> bool| {
            let stage = coloured.stages.iter().find(|s| kind(&s.kind)).unwrap();
            Marking::of(stage, (&[], Ink::Colour), &plan, &coloured).unwrap()
        };
        let by_day = marking(|kind| *kind == StageKind::ShadowsAndLights);
        let lit = marking(|kind| matches!(kind, StageKind::LampColour(_)));
        let [mut day, mut lamp] = [0, 0];
        for (f, corners) in plan.surface.faces.iter().enumerate() {
            let hit = Hit {
                face: FaceId(f as u32),
                corners: *corners,
                barycentric: [1.0 / 3.0; 3],
                backside: false,
            };
            let marked = [&by_day, &lit].map(|m| m.label(&hit).is_some_and(|label| label < BESIDE));
            assert!(marked != [true, true], "face {f}");
            // What the lamp's card does not mark is shown beside it; what it marks is left white on the other.
            assert!(lit.label(&hit).is_some(), "face {f}");
            let left_white =
                by_day.label(&hit).is_some_and(|label| label >= BESIDE && label % STEPS == LATER);
            assert!(left_white == marked[1], "face {f}");
            day += usize::from(marked[0]);
            lamp += usize::from(marked[1]);
        }
        let all = plan.surface.faces.len();
        assert!(20 * day > all && 20 * lamp > all, "{day} and {lamp} of {all}");
    }
}
