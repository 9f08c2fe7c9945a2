//! The primer plan: spray passes, the direction that shows the form, and
//! dry-brush strokes.

use crate::coat::{Strength, Tone, Tones, coverage};
use crate::dry_brush_plan::{DryBrushPlan, dry_brush};
use crate::layer_fit::{Aim, Laid};
use crate::remaining::{Remaining, remaining};
use crate::spots::Spots;
use crate::spray::{FormDirection, SPRAY_DIRECTIONS, SPRAY_RADIUS, SprayPass, SprayPlan, spray};
use crate::value::Values;
use grisaille_base::{Lightness, Stop, Watch};
use grisaille_light::{Exposure, Kind, SprayAxis, SprayCache, spray_exposure};
use grisaille_mesh::{Mesh, Part};
use grisaille_scheme::PrimerTones;
use grisaille_sight::{Sight, Surface, default_spacing};
use rayon::prelude::*;

/// A third pass must take off at least this much of the error, L*, to be
/// worth the masking of the day: less than that nobody sees at arm's length.
const WORTH: f64 = 0.5;

/// How to prime, and what that leaves to do.
#[derive(Clone, Debug, PartialEq)]
pub struct Primer {
    /// The colours to show it in.
    pub set: PrimerTones,
    /// The values of the three tones.
    pub tones: Tones,
    /// The best two passes.
    pub two: SprayPlan,
    /// The best three; the same as two where a third helps nothing.
    pub three: SprayPlan,
    /// Whether three are advised: they come closer by half an L* or more.
    pub three_advised: bool,
    /// What mid grey from all round and light as the zenithal light falls
    /// leave, as the stages spray them; `None` if the lights have no such pair.
    pub all_round: Option<Remaining>,
    /// The one direction that reveals the most form.
    pub once: FormDirection,
    /// What each advised pass covers at each sample, 0 to 1.
    pub covers: Vec<Vec<f32>>,
    /// What one light coat from the one direction covers.
    pub once_cover: Vec<f32>,
    /// For who has no spray.
    pub dry_brush: DryBrushPlan,
}

impl Primer {
    /// The advised passes.
    #[must_use]
    pub fn advised(&self) -> &SprayPlan {
        if self.three_advised { &self.three } else { &self.two }
    }

    /// The pass of [`Primer::once_cover`].
    #[must_use]
    pub fn once_pass(&self) -> SprayPass {
        SprayPass { axis: self.once.axis, tone: Tone::Light, strength: Strength::Coat }
    }
}

/// What the primer plan is made from.
pub(crate) struct PrimerGround<'a> {
    pub(crate) mesh: &'a Mesh,
    pub(crate) surface: &'a Surface,
    pub(crate) part_of_face: &'a [Part],
    pub(crate) exposure: &'a Exposure,
    pub(crate) values: &'a Values,
    /// The planned values, evened out over the brush tip: L* of each sample.
    pub(crate) planned: &'a [f32],
    /// The tone in which the stages spray the mid coat.
    pub(crate) stage_mid: Lightness,
    /// For many samples at once, and for few.
    pub(crate) sweep: &'a dyn Sight,
    pub(crate) tree: &'a dyn Sight,
}

/// Plans the primer; `None` when nothing is painted.
///
/// # Errors
/// [`Stop`] when cancelled.
pub(crate) fn primer(
    ground: &PrimerGround<'_>,
    set: PrimerTones,
    kept: &mut SprayCache,
    watch: &Watch,
) -> Result<Option<Primer>, Stop> {
    let _span = watch.span("primer", 0);
    let spots = Spots::of(ground.surface, ground.part_of_face);
    let target = spots.pick(ground.planned);
    let fit = &ground.values.fit;
    // One mid grey serves the stages' coats and these passes.
    let tones = Tones { mid: ground.stage_mid, ..Tones::between(fit.dark, fit.light) };
    let aim = Aim { target: &target, share: &spots.share, tones };
    let Some(found) = spray(&aim, &spots, ground.tree, kept, watch)? else { return Ok(None) };
    let three_advised = found.three.remaining.rms + WORTH <= found.two.remaining.rms;
    let advised = if three_advised { &found.three } else { &found.two };
    let once = SprayPass { axis: found.once.axis, tone: Tone::Light, strength: Strength::Coat };
    let shown: Vec<SprayPass> = advised.passes.iter().copied().chain([once]).collect();
    let axes: Vec<SprayAxis> = shown.iter().map(|p| p.axis).collect();
    let cone = (SPRAY_RADIUS, SPRAY_DIRECTIONS);
    // Not kept: on all samples that is megabytes, and it is soon made again.
    let exposure =
        spray_exposure(ground.surface, ground.sweep, &axes, cone, &mut SprayCache::default(), watch)?;
    let mut covers: Vec<Vec<f32>> = watch.run(|| {
        let each = shown.iter().zip(&exposure);
        each.map(|(pass, e)| {
            let passes = pass.strength.passes();
            e.par_iter().map(|e| coverage(passes, f64::from(*e)) as f32).collect()
        })
        .collect()
    });
    let once_cover = covers.pop().unwrap_or_default();
    let of = (ground.mesh, ground.surface, default_spacing(ground.mesh).0);
    let Some(dry_brush) = dry_brush(&aim, &spots, of, watch)? else { return Ok(None) };
    let all_round = watch.run(|| all_round(ground, &aim, &spots));
    Ok(Some(Primer {
        set,
        tones,
        three_advised,
        all_round,
        once: found.once,
        covers,
        once_cover,
        dry_brush,
        two: found.two,
        three: found.three,
    }))
}

/// What the stages' own priming leaves.
fn all_round(ground: &PrimerGround<'_>, aim: &Aim<'_>, spots: &Spots) -> Option<Remaining> {
    let cover = |is: fn(&Kind) -> bool| {
        let light = ground.exposure.lights.iter().find(|l| is(&l.kind))?;
        let passes = Strength::Full.passes();
        let at = spots.pick(&light.values);
        Some(at.into_iter().map(|e| coverage(passes, f64::from(e)) as f32).collect::<Vec<f32>>())
    };
    let options = [cover(|k| matches!(k, Kind::Ring))?, cover(|k| matches!(k, Kind::Zenithal { .. }))?];
    let coats = [Laid { tone: Tone::Mid, option: 0 }, Laid { tone: Tone::Light, option: 1 }];
    let aim = Aim { tones: Tones { mid: ground.stage_mid, ..aim.tones }, ..*aim };
    Some(remaining(&aim, &aim.left(&coats, &options), &spots.surface.samples))
}
