//! Washes, dark lines, light edges and the last touches.

use super::{WorkGround, begun, lone, mix_words, names, paint, recipe};
use crate::colouring::{RegionColours, Wash, darkest};
use crate::stage::{MixPlace, Recipe, Stage, StageKind};
use grisaille_base::RegionId;
use grisaille_colour::{Lab, line_colour};
use grisaille_form::{Line, parted};
use grisaille_scheme::Material;
use grisaille_words::{Words, say};
use std::collections::BTreeMap;

/// So many recesses and edges, the weightiest, are worked on in stages; the rest are on the lines' sheet.
pub const LINES_TOLD: usize = 12;

/// What a wash makes of a row, as a recipe.
pub(super) fn wash_recipe(row: &RegionColours, wash: &Wash, from: &WorkGround<'_>) -> Recipe {
    let base = row.base_step();
    let what = if wash.pin { "what-in-recesses" } else { "what-pools" };
    Recipe {
        region: row.name.clone(),
        what: say!(from.words, what),
        colour: wash.pooled[base],
        pot: Some(wash.mix.colour),
        mix: mix_words(Some(&wash.mix), from),
        paints: from.shelf.bottles(Some(&wash.mix)),
        near: None,
        place: MixPlace::Pools(row.entry),
    }
}

/// Rows with their washes, those into recesses only or the others.
pub(super) fn washes<'a>(rows: &[&'a RegionColours], pin: bool) -> Vec<(&'a RegionColours, &'a Wash)> {
    let each = rows.iter().filter_map(|row| Some((*row, row.wash.as_ref()?)));
    each.filter(|(_, wash)| wash.pin == pin).collect()
}

pub(super) fn wash(from: &WorkGround<'_>, figure: &[&RegionColours]) -> Option<Stage> {
    let washes = washes(figure, false);
    if washes.is_empty() {
        return None;
    }
    let words = from.words;
    let rows: Vec<&RegionColours> = washes.iter().map(|w| w.0).collect();
    let regions = names(&rows);
    let mut stage = begun(StageKind::Wash, say!(words, "wash-title", regions = words.list(&regions)));
    stage.regions = regions;
    stage.recipes = washes.iter().map(|(row, wash)| wash_recipe(row, wash, from)).collect();
    stage.steps = vec![say!(words, "wash-run"), say!(words, "wash-one-by-one")];
    if let Some(deep) = from.lining.hollows.first() {
        let places = from.lining.hollows.len();
        stage.steps.push(say!(words, "wash-areas", n = places, area = format!("{:.0}", deep.area_mm2)));
    }
    stage.thinning = Some(say!(words, "thin-wash"));
    stage.brush = Some(say!(words, "wash-brush"));
    stage.drying = Some(say!(words, "drying-wash"));
    stage.done_when = say!(words, "wash-done");
    stage.mistake = say!(words, "wash-mistake");
    let glazed: Vec<String> = rows.iter().filter(|r| r.glaze.is_some()).map(|r| r.name.clone()).collect();
    stage.repair = match glazed.len() {
        0 => say!(words, "wash-repair"),
        n if n == rows.len() => say!(words, "wash-repair-glazed"),
        _ => say!(words, "wash-repair-both", glazed = words.list(&glazed)),
    };
    Some(stage)
}

pub(super) fn lining(from: &WorkGround<'_>) -> Option<Stage> {
    let all = &from.lining.recesses[..from.lining.figure_recesses];
    let lines: Vec<&Line> = all.iter().take(LINES_TOLD).collect();
    if lines.is_empty() || from.colouring.rows.is_empty() {
        return None;
    }
    // One line colour for each pair of rows.
    let mut pairs: BTreeMap<(usize, usize), Together> = BTreeMap::new();
    for (number, line) in (1..).zip(&lines) {
        if let Some(pair) = rows_at(from, line) {
            pairs.entry(pair).or_default().add(number, line);
        }
    }
    let words = from.words;
    let mut stage = begun(StageKind::Lining, say!(words, "lining-title"));
    for ((one, other), together) in weightiest_first(pairs) {
        let (a, b) = (&from.colouring.rows[one], &from.colouring.rows[other]);
        let length = format!("{:.0}", together.length);
        let (what, wanted) = if one == other {
            (say!(words, "what-length", length = length), a.line.wanted)
        } else {
            let wanted = line_colour(darkest(&a.ramp), darkest(&b.ramp));
            (say!(words, "what-between", one = &a.name, other = &b.name, length = length), wanted)
        };
        let what = together.told(&what, words);
        let below = darkest(&a.ramp).l.min(darkest(&b.ramp).l);
        let mut recipe = lone(a, what, (wanted, from.shelf.line(wanted, below)), from);
        if one != other {
            recipe.region.clear();
        }
        stage.recipes.push(recipe.at(MixPlace::Lines([a.entry, b.entry])));
    }
    stage.steps = vec![
        say!(words, "lining-which", n = lines.len(), all = all.len()),
        say!(words, "lining-draw", width = format!("{:.1}", from.lining.width)),
    ];
    stage.thinning = Some(say!(words, "thin-lining"));
    stage.brush = Some(say!(words, "lining-brush"));
    stage.drying = Some(say!(words, "drying-ten-minutes"));
    stage.done_when = say!(words, "lining-done");
    stage.mistake = say!(words, "lining-mistake");
    stage.repair = say!(words, "lining-repair");
    Some(stage)
}

/// Lines that are drawn with one mix.
#[derive(Default)]
struct Together {
    /// Their numbers on the sheet of lines.
    numbers: Vec<usize>,
    /// All of their length, mm.
    length: f64,
}

impl Together {
    fn add(&mut self, number: usize, line: &Line) {
        self.numbers.push(number);
        self.length += line.length;
    }

    /// Which lines they are, before what is said of them.
    fn told(&self, what: &str, words: &Words) -> String {
        let numbers: Vec<String> = self.numbers.iter().map(usize::to_string).collect();
        say!(words, "what-lines", n = numbers.len(), numbers = words.list(&numbers), what = what)
    }
}

/// Lines by what they lie on, in the order of their numbers on the sheet.
fn weightiest_first<K: Ord>(lines: BTreeMap<K, Together>) -> Vec<(K, Together)> {
    let mut lines: Vec<(K, Together)> = lines.into_iter().collect();
    lines.sort_by_key(|(_, together)| together.numbers.first().copied());
    lines
}

/// The rows on either side of a line, the lower first.
fn rows_at(from: &WorkGround<'_>, line: &Line) -> Option<(usize, usize)> {
    let row = |r: RegionId| from.colouring.row_of_region.get(r.index()).copied().flatten();
    match parted(line, &from.regions.of_face) {
        Some([a, b]) => {
            let (a, b) = (row(a)?, row(b)?);
            Some((a.min(b), a.max(b)))
        }
        None => {
            let face = *line.faces.get(line.faces.len() / 2)?;
            let own = from.colouring.row_of_face(face as usize)?;
            Some((own, own))
        }
    }
}

pub(super) fn edges(from: &WorkGround<'_>, figure: &[&RegionColours]) -> Option<Stage> {
    let edges: Vec<&Line> = from.lining.edges[..from.lining.figure_edges].iter().take(LINES_TOLD).collect();
    let wanted = |k: &usize| figure.iter().any(|r| r.name == from.colouring.rows[*k].name);
    let mut of_row: BTreeMap<usize, Together> = BTreeMap::new();
    let mut count = 0_usize;
    for (number, edge) in (1..).zip(&edges) {
        let face = edge.faces.get(edge.faces.len() / 2)?;
        // Those of metal shine by themselves.
        if let Some(row) = from.colouring.row_of_face(*face as usize).filter(wanted) {
            of_row.entry(row).or_default().add(number, edge);
            count += 1;
        }
    }
    if of_row.is_empty() {
        return None;
    }
    let words = from.words;
    let mut stage = begun(StageKind::Edges, say!(words, "edges-title"));
    for (k, together) in weightiest_first(of_row) {
        let row = &from.colouring.rows[k];
        stage.regions.push(row.name.clone());
        // Half the way from the lightest step to near-white.
        let light = paint::lightest(row).shown();
        let wanted =
            Lab { l: f64::midpoint(light.l, 97.0), a: 0.7 * light.a, b: 0.7 * light.b }.within_srgb();
        let what = say!(words, "what-edge", length = format!("{:.0}", together.length));
        let what = together.told(&what, words);
        let recipe = lone(row, what, (wanted, from.shelf.nearest(wanted)), from);
        stage.recipes.push(recipe.at(MixPlace::Edges(row.entry)));
    }
    stage.steps = vec![say!(words, "edges-which", n = count), say!(words, "edges-drag")];
    stage.thinning = Some(say!(words, "thin-two-to-one"));
    stage.brush = Some(say!(words, "edges-brush"));
    stage.drying = Some(say!(words, "drying-five-minutes"));
    stage.done_when = say!(words, "edges-done");
    stage.mistake = say!(words, "edges-mistake");
    stage.repair = say!(words, "edges-repair");
    Some(stage)
}

pub(super) fn spots(from: &WorkGround<'_>) -> Option<Stage> {
    let spots = &from.lining.spots;
    let mut of_row: BTreeMap<usize, usize> = BTreeMap::new();
    for spot in spots {
        // True metal is painted after it, and shines by itself.
        let row = from.colouring.row_of_face(spot.face as usize);
        if let Some(row) = row.filter(|row| from.colouring.rows[*row].material != Material::Tmm) {
            *of_row.entry(row).or_default() += 1;
        }
    }
    if of_row.is_empty() {
        return None;
    }
    let words = from.words;
    let mut stage = begun(StageKind::Spots, say!(words, "spots-title"));
    for (k, count) in &of_row {
        let row = &from.colouring.rows[*k];
        stage.regions.push(row.name.clone());
        let recipe = recipe(row, say!(words, "touches", n = *count), &row.spot, from);
        stage.recipes.push(recipe.at(MixPlace::Spots(row.entry)));
    }
    let count: usize = of_row.values().sum();
    stage.steps = vec![say!(words, "spots-dots", n = count)];
    stage.thinning = Some(say!(words, "thin-trace"));
    stage.brush = Some(say!(words, "spots-brush"));
    stage.drying = Some(say!(words, "drying-ten-minutes"));
    stage.done_when = say!(words, "spots-done");
    stage.mistake = say!(words, "spots-mistake");
    stage.repair = say!(words, "spots-repair");
    Some(stage)
}
