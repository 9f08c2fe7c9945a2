//! The first stages: cleaning, and the tones of the ground by the route.

use super::{WorkGround, begun};
use crate::stage::{Stage, StageKind, dark_coat, light_coat, mid_coat, prepare};
use grisaille_scheme::Route;

pub(super) fn stages(from: &WorkGround<'_>) -> Vec<Stage> {
    let plan = from.plan;
    let mut list = vec![prepare()];
    if from.scheme.colours.route == Route::BrushOnly {
        list.extend(by_brush(from));
    } else {
        list.push(dark_coat(&plan.bands, &plan.values));
        list.push(mid_coat(&plan.bands));
        list.push(light_coat(&plan.lights, &plan.bands, &plan.values));
    }
    if let (Route::Sketch | Route::BrushOnly, Some(last)) = (from.scheme.colours.route, list.last_mut()) {
        last.steps
            .push("Take a picture of it in even light: it is the reference for everything after.".into());
    }
    list
}

/// Dark by brush, then two rounds of dry brush.
fn by_brush(from: &WorkGround<'_>) -> Vec<Stage> {
    let rows = &from.plan.bands.rows;
    let (dark, mid, light) = (&rows[0], &rows[rows.len() / 2], &rows[rows.len() - 1]);
    let mut ground = begun(StageKind::Dark, "Dark coat by brush");
    ground.steps = vec![
        "Brush on dark primer in two thin coats; push it into recesses and wipe off what gathers.".into(),
        format!("Tone: L* {:.0}. It stays visible in band {} ({}).", dark.tone.0, dark.letter, dark.name),
    ];
    ground.tone = Some(dark.tone);
    ground.brush = Some("flat, 6 mm".into());
    ground.thinning = Some("as it comes from the bottle, if the label says so".into());
    ground.done_when = "no bare print shows, and every detail is still crisp.".into();
    ground.mistake = "Brush marks dry into ridges.".into();
    ground.repair = "Let it dry, sand wet and lightly, and give it another thin coat.".into();
    ground.drying = Some(
        "an hour between coats, overnight before dry brushing (common practice; the label counts)".into(),
    );
    ground.cautions = vec!["Sanding dust: sand wet, wear a particle mask.".into()];
    let dry = |k: u8, title: &str, tone: grisaille_base::Lightness, how: &str, letter: char| {
        let mut stage = begun(StageKind::DryBrush(k), title);
        stage.steps = vec![
            "Load a dry brush, wipe it on paper until it leaves hardly a trace.".into(),
            how.into(),
            format!("Tone: L* {:.0}, to be seen in band {letter} and up.", tone.0),
        ];
        stage.tone = Some(tone);
        stage.brush = Some("soft round make-up brush or dry brush, 8 mm".into());
        stage.thinning = Some("none: dry paint".into());
        stage.done_when = "raised forms carry the tone, recesses are untouched.".into();
        stage.mistake = "Streaks or dust: too much paint, or paint half dried.".into();
        stage.repair =
            "Wash the brush, brush the dark once lightly over the streaks, begin again with less.".into();
        stage.drying = Some("10 minutes (common practice)".into());
        stage
    };
    vec![
        ground,
        dry(
            0,
            "Dry brush, mid tone",
            mid.tone,
            "Stroke downward over all raised forms, from every side.",
            mid.letter,
        ),
        dry(
            1,
            "Dry brush, light tone",
            light.tone,
            "Stroke only where the main light falls: tops of head, shoulders, arms, boots.",
            light.letter,
        ),
    ]
}
