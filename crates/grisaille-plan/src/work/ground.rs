//! The first stages: cleaning, and the tones of the ground by the route.

use super::{WorkGround, begun};
use crate::stage::{Stage, StageKind, dark_coat, light_coat, mid_coat, prepare, stays_visible};
use grisaille_base::Lightness;
use grisaille_scheme::Route;
use grisaille_words::say;

pub(super) fn stages(from: &WorkGround<'_>) -> Vec<Stage> {
    let (plan, words) = (from.plan, from.words);
    let mut first = prepare(words);
    if plan.assembly.is_none() {
        first.steps.push(say!(words, "prepare-one-print"));
    }
    let mut list = vec![first];
    if from.scheme.colours.route == Route::BrushOnly {
        list.extend(by_brush(from));
    } else {
        list.push(dark_coat(&plan.values, words));
        list.push(mid_coat(&plan.bands, words));
        list.push(light_coat(&plan.lights, &plan.values, words));
    }
    if let (Route::Sketch | Route::BrushOnly, Some(last)) = (from.scheme.colours.route, list.last_mut()) {
        last.steps.push(say!(words, "ground-picture"));
    }
    list
}

/// Dark by brush, then two rounds of dry brush.
fn by_brush(from: &WorkGround<'_>) -> Vec<Stage> {
    let words = from.words;
    let (rows, fit) = (&from.plan.bands.rows, &from.plan.values.fit);
    let mid = &rows[rows.len() / 2];
    let mut ground = begun(StageKind::Dark, say!(words, "dark-brush-title"));
    // The same three tones as from a can.
    let (dark_tone, light_tone) = (fit.lightness(0.0), fit.lightness(fit.brightest));
    ground.steps = vec![say!(words, "dark-brush-on"), stays_visible(dark_tone, words)];
    ground.tone = Some(dark_tone);
    ground.brush = Some(say!(words, "dark-brush-brush"));
    ground.thinning = Some(say!(words, "thin-from-bottle"));
    ground.done_when = say!(words, "dark-brush-done");
    ground.mistake = say!(words, "dark-brush-mistake");
    ground.repair = say!(words, "dark-brush-repair");
    ground.drying = Some(say!(words, "drying-between-coats"));
    ground.cautions = vec![say!(words, "caution-dust")];
    let dry = |k: u8, title: String, tone: Lightness, how: String| {
        let mut stage = begun(StageKind::DryBrush(k), title);
        stage.steps = vec![
            say!(words, "dry-brush-load"),
            how,
            say!(words, "dry-brush-tone", tone = format!("{:.0}", tone.0)),
        ];
        stage.tone = Some(tone);
        stage.brush = Some(say!(words, "dry-brush-brush"));
        stage.thinning = Some(say!(words, "thin-dry"));
        stage.done_when = say!(words, "dry-brush-done");
        stage.mistake = say!(words, "dry-brush-mistake");
        stage.repair = say!(words, "dry-brush-repair");
        stage.drying = Some(say!(words, "drying-ten-minutes"));
        stage
    };
    vec![
        ground,
        dry(0, say!(words, "dry-brush-mid-title"), mid.tone, say!(words, "dry-brush-mid")),
        dry(1, say!(words, "dry-brush-light-title"), light_tone, say!(words, "dry-brush-light")),
    ]
}
