//! JSON: the primer plan.

use grisaille_plan::{Plan, Primer, Remaining, SprayPass, SprayPlan, set_words, spray_in_words, tone_words};
use grisaille_words::Words;
use schemars::JsonSchema;
use serde::Serialize;

/// The block `primer` of the summary.
#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub(crate) struct PrimerBlock {
    set: &'static str,
    tones: Vec<ToneRow>,
    advised_passes: usize,
    two_passes: SprayBlock,
    three_passes: SprayBlock,
    all_round: Option<RemainingBlock>,
    most_form: FormBlock,
    dry_brush: DryBrushBlock,
}

#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
struct ToneRow {
    tone: &'static str,
    words: &'static str,
    lightness: f64,
    srgb: [u8; 3],
}

#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
struct SprayBlock {
    passes: Vec<SprayRow>,
    remaining: RemainingBlock,
}

#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
struct SprayRow {
    tone: &'static str,
    tilt_degrees: f64,
    azimuth_degrees: f64,
    words: String,
    strength: &'static str,
    covers_facing: f64,
}

#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
struct RemainingBlock {
    rms_lightness: f64,
    within_one_step_share: f64,
    worst: Option<WorstBlock>,
}

#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
struct WorstBlock {
    place: String,
    lighter_by: f64,
    share: f64,
    at_mm: [f64; 3],
}

#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
struct FormBlock {
    tilt_degrees: f64,
    azimuth_degrees: f64,
    words: String,
    bits: f64,
    straight_down_bits: f64,
}

#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
struct DryBrushBlock {
    passes: Vec<StrokeRow>,
    remaining: RemainingBlock,
}

#[derive(Serialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
struct StrokeRow {
    tone: &'static str,
    stroke: &'static str,
    load: &'static str,
    covers_flat: f64,
}

pub(crate) fn primer_block(plan: &Plan) -> Option<PrimerBlock> {
    plan.primer.as_ref().map(block)
}

fn block(primer: &Primer) -> PrimerBlock {
    use grisaille_plan::{Tone, tone_colour};
    let tones = [Tone::Dark, Tone::Mid, Tone::Light].map(|tone| ToneRow {
        tone: tone.token(),
        words: tone_words(primer.set, tone),
        lightness: primer.tones.of(tone).0,
        srgb: tone_colour(primer.set, &primer.tones, tone).to_srgb8(),
    });
    let once = &primer.once;
    let strokes = primer.dry_brush.passes.iter().map(|p| StrokeRow {
        tone: p.tone.token(),
        stroke: p.stroke.token(),
        load: p.load.token(),
        covers_flat: p.load.on_a_plate(),
    });
    PrimerBlock {
        set: set_words(primer.set),
        tones: tones.into(),
        advised_passes: primer.advised().passes.len(),
        two_passes: spray(&primer.two),
        three_passes: spray(&primer.three),
        all_round: primer.all_round.as_ref().map(remaining),
        most_form: FormBlock {
            tilt_degrees: once.axis.tilt,
            azimuth_degrees: once.axis.azimuth,
            words: spray_in_words(once.axis, Words::english()),
            bits: once.bits,
            straight_down_bits: once.straight_down_bits,
        },
        dry_brush: DryBrushBlock {
            passes: strokes.collect(),
            remaining: remaining(&primer.dry_brush.remaining),
        },
    }
}

fn spray(plan: &SprayPlan) -> SprayBlock {
    let row = |p: &SprayPass| SprayRow {
        tone: p.tone.token(),
        tilt_degrees: p.axis.tilt,
        azimuth_degrees: p.axis.azimuth,
        words: spray_in_words(p.axis, Words::english()),
        strength: p.strength.token(),
        covers_facing: grisaille_plan::coverage(p.strength.passes(), 1.0),
    };
    SprayBlock { passes: plan.passes.iter().map(row).collect(), remaining: remaining(&plan.remaining) }
}

fn remaining(left: &Remaining) -> RemainingBlock {
    RemainingBlock {
        rms_lightness: left.rms,
        within_one_step_share: left.within_step,
        worst: left.worst.as_ref().map(|w| WorstBlock {
            place: w.place.clone(),
            lighter_by: w.lighter,
            share: w.share,
            at_mm: w.at,
        }),
    }
}
