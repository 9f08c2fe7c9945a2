//! The whole plan on one page: the finished figure, route and mood, palette with its shares, lights.

use crate::arrange::{Field, on_field};
use crate::compose::{Composer, THREE_QUARTER, named, srgb};
use crate::sheets::{BottleRow, Fact, PaletteRow, Summary};
use grisaille_base::Stop;
use grisaille_colour::{Lab, colour_from_text, difference};
use grisaille_picture::Look;
use grisaille_plan::{Bottle, Coloured, Proportion, Stage, StageKind};
use grisaille_scheme::{ColourChoice, Route};
use grisaille_words::{Words, say};

/// Colours nearer than this, CIEDE2000, are one on the summary (ours).
const ALIKE: f64 = 3.0;

impl Composer<'_> {
    /// The summary; without colours that of light and priming alone.
    pub(crate) fn summary(&mut self) -> Result<Summary, Stop> {
        let room = self.paper.summary();
        let field = Field { width: room.width.0, height: room.height.0 + 10.0 };
        let scale = on_field(&self.extents, &[THREE_QUARTER], 1, field).scale;
        let (look, caption) = match self.coloured {
            Some(_) => (Look::Colours, "caption-finished"),
            None => (Look::Tones, "caption-planned-values"),
        };
        let picture = self.picture(THREE_QUARTER, scale, look)?;
        let choice = &self.scheme.colours;
        let words = self.words;
        let fact = |key: &str, value: String| Fact { label: say!(words, key), value };
        let mut facts = Vec::new();
        if let Some(coloured) = self.coloured {
            facts.push(fact("fact-route", route(choice.route, coloured, words)));
            if let Some(mood) = &choice.mood {
                let (name, strength) =
                    (words.term("mood", &mood.name), format!("{:.0}", 100.0 * mood.strength));
                facts.push(fact("fact-mood", say!(words, "mood-strength", name = name, strength = strength)));
            }
        }
        facts.push(fact("fact-stages", self.stages.len().to_string()));
        let lights = self.plan.lights.iter().map(|l| Fact { label: l.name.clone(), value: self.source(l) });
        Ok(Summary {
            picture: named(words, THREE_QUARTER, caption, picture),
            facts,
            lights: lights.collect(),
            palette: self.coloured.map(|c| palette(choice, c, words)).unwrap_or_default(),
            bottles: bottles(&self.stages, words),
            beside: beside(&self.stages, words),
        })
    }
}

/// The palette with its shares and what is painted in each; without one the colours of the regions.
fn palette(choice: &ColourChoice, coloured: &Coloured, words: &Words) -> Vec<PaletteRow> {
    if coloured.proportions.is_empty() {
        let rows = coloured.colouring.rows.iter();
        return rows
            .map(|r| PaletteRow {
                colours: vec![srgb(r.base.shown())],
                name: r.name.clone(),
                wanted: None,
                seen: r.seen_share,
            })
            .collect();
    }
    // What it comes to in mood and light is what the painter meets, not the colour that was named.
    let met = |p: &Proportion| -> Vec<Lab> {
        let painted = choice.regions.iter().enumerate().filter(|(_, region)| region.colour == p.name);
        let row = |entry: usize| coloured.colouring.rows.iter().find(|row| row.entry == entry);
        painted.filter_map(|(entry, _)| Some(row(entry)?.middle())).collect()
    };
    let colours = |p: &Proportion| {
        let entry = choice.palette.iter().find(|e| e.name == p.name);
        let named = || entry.and_then(|e| colour_from_text(&e.colour).ok()).into_iter().collect();
        let met = met(p);
        let mut all: Vec<Lab> = if met.is_empty() { named() } else { met };
        all.dedup_by(|b, a| difference(*a, *b) < ALIKE);
        all.into_iter().map(|colour| srgb(colour.shown())).collect()
    };
    let named = |p: &Proportion| {
        let painted = choice.regions.iter().filter(|r| r.colour == p.name);
        let painted: Vec<String> = painted.map(|r| r.name.clone()).collect();
        match painted.as_slice() {
            [] => p.name.clone(),
            regions => say!(words, "palette-for", name = &p.name, regions = words.row(regions)),
        }
    };
    let rows = coloured.proportions.iter().map(|p| PaletteRow {
        colours: colours(p),
        name: named(p),
        wanted: p.wanted,
        seen: p.seen,
    });
    rows.collect()
}

/// A paint of more stages than this stays open; which they are is not listed.
const LISTED: usize = 6;

/// The paints of all stages, each with the numbers of its stages.
fn bottles(stages: &[Stage], words: &Words) -> Vec<BottleRow> {
    let mut used: Vec<(&Bottle, Vec<usize>)> = Vec::new();
    for (i, stage) in stages.iter().enumerate() {
        for bottle in stage.recipes.iter().flat_map(|r| &r.paints) {
            match used.iter_mut().find(|(known, _)| known.name == bottle.name) {
                Some((_, numbers)) => numbers.push(i + 1),
                None => used.push((bottle, vec![i + 1])),
            }
        }
    }
    let metal = |bottle: &Bottle, stages: String| match bottle.metallic {
        true => say!(words, "bottle-metallic", stages = stages),
        false => stages,
    };
    let rows = used.into_iter().map(|(bottle, mut numbers)| {
        numbers.dedup();
        BottleRow {
            colour: srgb(bottle.colour.shown()),
            name: bottle.name.clone(),
            stages: metal(
                bottle,
                match numbers.as_slice() {
                    [first, .., last] if numbers.len() > LISTED => say!(
                        words,
                        "bottle-many",
                        n = numbers.len(),
                        first = first.to_string(),
                        last = last.to_string(),
                    ),
                    few => in_runs(few),
                },
            ),
        }
    });
    rows.collect()
}

/// What the stages take that is in no recipe: primer, varnish and the like.
fn beside(stages: &[Stage], words: &Words) -> String {
    let takes = |is: fn(&StageKind) -> bool| stages.iter().any(|s| is(&s.kind));
    let by_brush = takes(|kind| matches!(kind, StageKind::DryBrush(_)));
    let all = [
        ("beside-dry-brush", by_brush),
        ("beside-primer", !by_brush && takes(|kind| *kind == StageKind::Dark)),
        (
            "beside-medium",
            takes(|kind| matches!(kind, StageKind::Wash | StageKind::PinWash | StageKind::Glaze)),
        ),
        ("beside-gloss", takes(|kind| *kind == StageKind::Gloss)),
        ("beside-matt", takes(|kind| *kind == StageKind::Matt)),
        ("beside-putty", takes(|kind| *kind == StageKind::Fit)),
        ("beside-glue", takes(|kind| *kind == StageKind::Glue)),
    ];
    let needed: Vec<String> =
        all.into_iter().filter(|(_, needed)| *needed).map(|(key, _)| say!(words, key)).collect();
    if needed.is_empty() { String::new() } else { say!(words, "beside-lead", list = words.row(&needed)) }
}

/// Rising numbers with runs drawn together: "3, 5–8, 12".
pub(crate) fn in_runs(numbers: &[usize]) -> String {
    let runs = numbers.chunk_by(|a, b| a + 1 == *b).flat_map(|run| match run {
        [first, _, .., last] => vec![format!("{first}–{last}")],
        few => few.iter().map(ToString::to_string).collect(),
    });
    runs.collect::<Vec<_>>().join(", ")
}

fn route(route: Route, coloured: &Coloured, words: &Words) -> String {
    let glazed = coloured.colouring.rows.iter().filter(|row| row.glaze.is_some());
    let glazed: Vec<String> = glazed.map(|row| row.name.clone()).collect();
    // Where thin paint would leave nothing of the primer's tones, opaque paint takes its place.
    if !glazed.is_empty() && glazed.len() < coloured.colouring.rows.len() {
        return say!(words, "route-transparent-on", regions = words.list(&glazed));
    }
    say!(
        words,
        match route {
            Route::Sketch => "route-sketch",
            Route::Transparent => "route-transparent",
            Route::BrushOnly => "route-brush-only",
        }
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_of_stages_are_drawn_together() {
        assert_eq!(in_runs(&[3, 5, 6, 7, 9, 10]), "3, 5–7, 9, 10");
        assert_eq!(in_runs(&[1, 3, 5, 7, 9, 11]), "1, 3, 5, 7, 9, 11");
        assert_eq!(in_runs(&[]), "");
    }
}
