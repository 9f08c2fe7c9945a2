//! Where to spray from: the two or three directions whose coats come closest
//! to the planned values, and the one that reveals the most form.

use crate::coat::{Strength, Tone, coverage};
use crate::form_direction::{revealed, seen};
use crate::layer_fit::{Aim, Choice, Cover};
use crate::remaining::{Remaining, remaining};
use crate::spots::Spots;
use grisaille_base::{Stop, Watch};
use grisaille_light::{SprayAxis, SprayCache, spray_exposure};
use grisaille_sight::Sight;
use grisaille_words::{Words, say};
use rayon::prelude::*;

/// The half angle in degrees of the cone in which a hand moves the can during
/// one pass, as seen from the figure: at 150 mm that is 40 mm to each side.
/// Common practice, no published source.
pub const SPRAY_RADIUS: f64 = 15.0;
/// Directions in that cone.
pub(crate) const SPRAY_DIRECTIONS: usize = 8;
/// The grid that is tried first: straight down, then these tilts by eight sides.
const TILTS: [f64; 6] = [15.0, 30.0, 45.0, 60.0, 75.0, 90.0];
const SIDES: usize = 8;
/// Round the best of the grid directions half a step away are tried too.
const HALF: [f64; 2] = [7.5, 22.5];
/// Passes are then sought a quarter of a step round the best of those.
const QUARTER: [f64; 2] = [0.5 * HALF[0], 0.5 * HALF[1]];

/// One pass of spray.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SprayPass {
    /// From where: tilt from straight down, azimuth from the front, degrees.
    pub axis: SprayAxis,
    /// In which tone.
    pub tone: Tone,
    /// How much of it.
    pub strength: Strength,
}

/// Passes in their order, and what they leave to the brush.
#[derive(Clone, Debug, PartialEq)]
pub struct SprayPlan {
    /// Over a ground of the dark tone all over, mid before light.
    pub passes: Vec<SprayPass>,
    /// What is left between their look and the planned values.
    pub remaining: Remaining,
}

/// The one direction that reveals the most form.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FormDirection {
    /// From where.
    pub axis: SprayAxis,
    /// How evenly one light coat spreads the tones, in bits.
    pub bits: f64,
    /// The same of spray from straight above, to compare with.
    pub straight_down_bits: f64,
}

/// What was found.
pub(crate) struct Found {
    pub(crate) two: SprayPlan,
    pub(crate) three: SprayPlan,
    pub(crate) once: FormDirection,
}

/// The exposure of the spots to directions, grown as directions are asked for.
struct Tried<'a> {
    spots: &'a Spots,
    sight: &'a dyn Sight,
    kept: &'a mut SprayCache,
    axes: Vec<SprayAxis>,
    exposure: Vec<std::sync::Arc<Vec<f32>>>,
    /// Strengths of the first axis, then of the second, and so on.
    options: Vec<Cover>,
}

impl Tried<'_> {
    fn add(&mut self, axes: &[SprayAxis], watch: &Watch) -> Result<(), Stop> {
        let mut new: Vec<SprayAxis> = Vec::new();
        for axis in axes {
            if !self.axes.contains(axis) && !new.contains(axis) {
                new.push(*axis);
            }
        }
        let cone = (SPRAY_RADIUS, SPRAY_DIRECTIONS);
        let made = spray_exposure(&self.spots.surface, self.sight, &new, cone, self.kept, watch)?;
        for exposure in &made {
            for strength in Strength::ALL {
                let passes = strength.passes();
                let cover = exposure.par_iter().map(|e| coverage(passes, f64::from(*e)) as f32);
                self.options.push(watch.run(|| cover.collect()));
            }
        }
        self.exposure.extend(made);
        self.axes.extend(new);
        Ok(())
    }

    fn pass(&self, tone: Tone, option: usize) -> SprayPass {
        let each = Strength::ALL.len();
        SprayPass { axis: self.axes[option / each], tone, strength: Strength::ALL[option % each] }
    }

    fn plan(&self, choice: &Choice, aim: &Aim<'_>) -> SprayPlan {
        let off = aim.left(&choice.coats, &self.options);
        SprayPlan {
            passes: choice.coats.iter().map(|c| self.pass(c.tone, c.option)).collect(),
            remaining: remaining(aim, &off, &self.spots.surface.samples),
        }
    }
}

/// Straight down, then every tilt from every side.
fn grid() -> Vec<SprayAxis> {
    let mut axes = vec![SprayAxis { tilt: 0.0, azimuth: 0.0 }];
    for tilt in TILTS {
        axes.extend((0..SIDES).map(|k| SprayAxis { tilt, azimuth: 360.0 / SIDES as f64 * k as f64 }));
    }
    axes
}

/// The directions a step of tilt and of azimuth away from one.
fn round(axis: SprayAxis, [by, aside]: [f64; 2]) -> Vec<SprayAxis> {
    if axis.tilt == 0.0 {
        return (0..SIDES)
            .map(|k| SprayAxis { tilt: by, azimuth: 360.0 / SIDES as f64 * k as f64 })
            .collect();
    }
    let mut axes = Vec::new();
    for tilt in [axis.tilt - by, axis.tilt, axis.tilt + by] {
        for azimuth in [axis.azimuth - aside, axis.azimuth, axis.azimuth + aside] {
            axes.push(SprayAxis { tilt, azimuth: azimuth.rem_euclid(360.0) });
        }
    }
    axes
}

/// Seeks the passes and the one direction. `None` when nothing is painted.
///
/// # Errors
/// [`Stop`] when cancelled.
pub(crate) fn spray(
    aim: &Aim<'_>,
    spots: &Spots,
    sight: &dyn Sight,
    kept: &mut SprayCache,
    watch: &Watch,
) -> Result<Option<Found>, Stop> {
    if spots.len() == 0 {
        return Ok(None);
    }
    let mut tried = Tried { spots, sight, kept, axes: Vec::new(), exposure: Vec::new(), options: Vec::new() };
    tried.add(&grid(), watch)?;
    let once = once(aim, &mut tried, watch)?;
    let mut pairs = watch.run(|| aim.pairs(&tried.options, watch))?;
    // Each step of this lowers the error or changes nothing.
    let closer = |mut best: Choice, tried: &mut Tried<'_>| {
        for step in [HALF, QUARTER] {
            let coats = best.coats.iter();
            let axes: Vec<SprayAxis> =
                coats.flat_map(|c| round(tried.pass(c.tone, c.option).axis, step)).collect();
            tried.add(&axes, watch)?;
            best = watch.run(|| aim.exchanged(best, &tried.options, watch))?;
        }
        Ok(best)
    };
    let Some(best) = pairs.first().cloned() else { return Ok(None) };
    let two = closer(best, &mut tried)?;
    pairs.insert(0, two.clone());
    let three =
        watch.run(|| aim.with_one_more(&pairs, &tried.options, watch))?.unwrap_or_else(|| two.clone());
    let three = closer(three, &mut tried)?;
    Ok(Some(Found { two: tried.plan(&two, aim), three: tried.plan(&three, aim), once }))
}

/// The direction of the greatest entropy: the best of the grid, then the best
/// round it; of equals the first, so straight down before any other.
fn once(aim: &Aim<'_>, tried: &mut Tried<'_>, watch: &Watch) -> Result<FormDirection, Stop> {
    let seen = seen(tried.spots, tried.sight, watch)?;
    let passes = Strength::Coat.passes();
    let bits = |tried: &Tried<'_>, k: usize| revealed(&seen, &tried.exposure[k], &aim.tones, passes);
    let mut best = (0, bits(tried, 0));
    let straight_down_bits = best.1;
    let grid = tried.axes.len();
    for near in [false, true] {
        if near {
            tried.add(&round(tried.axes[best.0], HALF), watch)?;
        }
        let from = if near { grid } else { 1 };
        let all: Vec<f64> =
            watch.run(|| (from..tried.axes.len()).into_par_iter().map(|k| bits(tried, k)).collect());
        for (k, b) in all.into_iter().enumerate() {
            // A hair more, so that rounding never decides.
            if b > best.1 + 1e-6 {
                best = (from + k, b);
            }
        }
    }
    Ok(FormDirection { axis: tried.axes[best.0], bits: best.1, straight_down_bits })
}

/// A direction of spray in a painter's words, to the nearest 5°. Left and
/// right are the painter's, who stands before the figure.
#[must_use]
pub fn spray_in_words(axis: SprayAxis, words: &Words) -> String {
    const SIDES: [&str; 8] = [
        "spray-side-front",
        "spray-side-front-right",
        "spray-side-right",
        "spray-side-back-right",
        "spray-side-back",
        "spray-side-back-left",
        "spray-side-left",
        "spray-side-front-left",
    ];
    let tilt = (axis.tilt / 5.0).round() * 5.0;
    let side = say!(words, SIDES[((axis.azimuth.rem_euclid(360.0) / 45.0).round() as usize) % 8]);
    // Nobody holds a can so closely that 5° were not straight down.
    if tilt < 10.0 {
        say!(words, "spray-down")
    } else if (85.0..=95.0).contains(&tilt) {
        say!(words, "spray-level", side = side)
    } else if tilt > 95.0 {
        say!(words, "spray-from-below", side = side, up = format!("{:.0}", tilt - 90.0))
    } else {
        say!(words, "spray-tilted", side = side, tilt = format!("{tilt:.0}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    use crate::coat::{Tones, layered};
    use grisaille_base::Lightness;
    use grisaille_bodies::{Triangle, cuboid, icosphere, moved, scaled};
    use grisaille_colour::lightness_from_luminance;
    use grisaille_light::toward;
    use grisaille_mesh::{Part, ReadSettings, read};
    use grisaille_sight::{Occluders, SurfaceSettings, TreeSight, surface};
    use std::sync::Arc;

    /// A ball, and a slab beside it that shades it from one side.
    fn lopsided() -> Vec<Triangle> {
        let mut soup = scaled(icosphere(4), 6.0);
        soup.extend(moved(cuboid([-1.0, -7.0, -6.0], [1.0, 6.0, 9.0]), [9.0, 0.0, 0.0]));
        soup
    }

    fn turned(soup: Vec<Triangle>) -> Vec<Triangle> {
        grisaille_bodies::turned(soup, [0.0, 0.0, 1.0], 90.0)
    }

    fn mirrored(mut soup: Vec<Triangle>) -> Vec<Triangle> {
        for p in soup.iter_mut().flatten() {
            p[0] = -p[0];
        }
        grisaille_bodies::inside_out(soup)
    }

    const TONES: Tones = Tones { dark: Lightness(15.0), mid: Lightness(55.0), light: Lightness(95.0) };

    fn spotted(soup: &[Triangle]) -> (Spots, TreeSight) {
        let watch = Watch::quiet();
        let (mesh, _) = read(&grisaille_bodies::stl(soup), &ReadSettings::default(), &watch).unwrap();
        let sight = TreeSight::new(Arc::new(Occluders::of(&mesh)), &watch);
        let settings =
            SurfaceSettings { spacing: grisaille_base::Millimetres(0.6), ..SurfaceSettings::for_mesh(&mesh) };
        let (surface, _) = surface(&mesh, &settings, &sight, &watch).unwrap();
        (Spots::of(&surface, &vec![Part::Figure; surface.faces.len()]), sight)
    }

    /// What each direction of the grid reveals of these spots.
    fn bits_of_grid(spots: &Spots, sight: &TreeSight) -> Vec<f64> {
        let watch = Watch::quiet();
        // Sharp: eight directions in a cone are no mirror image of themselves.
        let (axes, cone) = (grid(), (0.0, 1));
        let exposure =
            spray_exposure(&spots.surface, sight, &axes, cone, &mut SprayCache::default(), &watch).unwrap();
        let seen = seen(spots, sight, &watch).unwrap();
        exposure.iter().map(|e| revealed(&seen, e, &TONES, Strength::Coat.passes())).collect()
    }

    /// The same spots in the mirror: another choice of spots knows the bits to
    /// a few hundredths only.
    fn mirrored_spots(mut spots: Spots) -> Spots {
        let samples = &spots.surface.samples;
        let flip = |p: &nalgebra::Point3<f32>| nalgebra::Point3::new(-p.x, p.y, p.z);
        let mirrored = grisaille_sight::Samples::new(
            samples.position.iter().map(flip).collect(),
            samples.normal.iter().map(|n| nalgebra::Vector3::new(-n.x, n.y, n.z)).collect(),
            samples.origin.iter().map(flip).collect(),
            samples.offset,
        );
        spots.surface.samples = mirrored;
        spots
    }

    /// The direction of most form alone.
    fn form_of(soup: &[Triangle]) -> FormDirection {
        let watch = Watch::quiet();
        let (spots, sight) = spotted(soup);
        let aim = Aim { target: &[], share: &spots.share, tones: TONES };
        let kept = &mut SprayCache::default();
        let (axes, exposure, options) = (Vec::new(), Vec::new(), Vec::new());
        let mut tried = Tried { spots: &spots, sight: &sight, kept, axes, exposure, options };
        tried.add(&grid(), &watch).unwrap();
        once(&aim, &mut tried, &watch).unwrap()
    }

    /// The plan whose values are those of two known passes.
    fn replanned(soup: &[Triangle], known: [SprayPass; 2]) -> Found {
        let watch = Watch::quiet();
        let (spots, sight) = spotted(soup);
        let tones = TONES;
        let axes = known.map(|p| p.axis);
        let cone = (SPRAY_RADIUS, SPRAY_DIRECTIONS);
        let exposure =
            spray_exposure(&spots.surface, &sight, &axes, cone, &mut SprayCache::default(), &watch).unwrap();
        let target: Vec<f32> = (0..spots.len())
            .map(|i| {
                let y = known.iter().zip(&exposure).fold(tones.reflectance(Tone::Dark), |under, (p, e)| {
                    layered(under, tones.reflectance(p.tone), coverage(p.strength.passes(), f64::from(e[i])))
                });
                lightness_from_luminance(y).0 as f32
            })
            .collect();
        let aim = Aim { target: &target, share: &spots.share, tones };
        spray(&aim, &spots, &sight, &mut SprayCache::default(), &watch).unwrap().unwrap()
    }

    fn known(mid: [f64; 2], light: [f64; 2]) -> [SprayPass; 2] {
        let axis = |[tilt, azimuth]: [f64; 2]| SprayAxis { tilt, azimuth };
        [
            SprayPass { axis: axis(mid), tone: Tone::Mid, strength: Strength::Full },
            SprayPass { axis: axis(light), tone: Tone::Light, strength: Strength::Coat },
        ]
    }

    fn apart(a: SprayAxis, b: SprayAxis) -> f64 {
        toward(a.tilt, a.azimuth).dot(&toward(b.tilt, b.azimuth)).clamp(-1.0, 1.0).acos().to_degrees()
    }

    #[test]
    fn two_known_passes_are_found_again() {
        for known in [known([45.0, 90.0], [30.0, 315.0]), known([75.0, 180.0], [0.0, 0.0])] {
            let found = replanned(&lopsided(), known);
            assert_eq!(found.two.passes, known, "{:?}", found.two);
            // The table of L* and f32 leave so much.
            assert!(found.two.remaining.rms < 1e-3 && found.two.remaining.within_step > 0.9999);
            assert!(found.three.remaining.rms <= found.two.remaining.rms);
        }
        // Between the directions that are tried: within half a step of the
        // grid, and far less than a step of the value scale.
        let between = known([50.0, 170.0], [20.0, 300.0]);
        let found = replanned(&lopsided(), between);
        for (found, known) in found.two.passes.iter().zip(between) {
            assert!(found.tone == known.tone && apart(found.axis, known.axis) < 7.5, "{found:?}");
        }
        assert!(found.two.remaining.rms < 2.0, "{:?}", found.two.remaining);
        assert!(found.three.remaining.rms <= found.two.remaining.rms);
    }

    #[test]
    fn the_answer_turns_and_mirrors_with_the_model() {
        let (mid, light) = ([60.0, 45.0], [15.0, 225.0]);
        let turn = |[tilt, azimuth]: [f64; 2], by: f64| [tilt, (azimuth + by).rem_euclid(360.0)];
        // Turning a model about +Z from +X toward +Y raises the azimuth.
        let quarter = known(turn(mid, 90.0), turn(light, 90.0));
        let found = replanned(&turned(lopsided()), quarter);
        assert_eq!(found.two.passes, quarter);
        let flip = |[tilt, azimuth]: [f64; 2]| [tilt, (-azimuth).rem_euclid(360.0)];
        let flipped = known(flip(mid), flip(light));
        let mirror = replanned(&mirrored(lopsided()), flipped);
        assert_eq!(mirror.two.passes, flipped);
        // And so does the form seen from the front, whose views are symmetric:
        // what a direction reveals of an egg, its mirror image reveals of the
        // mirrored egg; the other side of the same egg reveals more or less.
        let egg =
            scaled(icosphere(4), 1.0).into_iter().map(|t| t.map(|[x, y, z]| [3.0 * x, 8.0 * y, 6.0 * z]));
        let egg = grisaille_bodies::turned(egg.collect(), [0.0, 0.0, 1.0], 35.0);
        let (spots, sight) = spotted(&egg);
        let plain = bits_of_grid(&spots, &sight);
        let (_, sight) = spotted(&mirrored(egg));
        let mirror = bits_of_grid(&mirrored_spots(spots), &sight);
        let grid = grid();
        let other = |k: usize| {
            let back = SprayAxis { azimuth: (-grid[k].azimuth).rem_euclid(360.0), ..grid[k] };
            grid.iter().position(|a| *a == back).unwrap()
        };
        let mut most = 0.0_f64;
        for k in 0..grid.len() {
            let (one, two) = (plain[k], mirror[other(k)]);
            // Rounding moves a spot or two of 4096 over a border between tones.
            assert!((one - two).abs() < 0.01, "{:?}: {one} {two}", grid[k]);
            most = most.max((one - plain[other(k)]).abs());
        }
        assert!(most > 0.2, "{most}");
    }

    /// On a ball the lit picture is known: every tone's share of a view is an
    /// integral over the sphere, done here by counting a fine net of it.
    #[test]
    fn the_form_of_a_ball_is_that_of_the_integral() {
        let ball = scaled(icosphere(5), 6.0);
        let found = form_of(&ball);
        let bits = |axis: SprayAxis| {
            let axis = toward(axis.tilt, axis.azimuth);
            let cone = grisaille_light::cap(axis, SPRAY_RADIUS, SPRAY_DIRECTIONS);
            let open: f64 = cone.iter().map(|d| axis.dot(d)).sum();
            let mut sum = 0.0;
            for [tilt, azimuth] in crate::form_direction::VIEWS {
                let view = toward(tilt, azimuth);
                let mut shares = [0.0_f64; 16];
                for n in grisaille_light::sphere_points(40_000) {
                    let weight = n.dot(&view).max(0.0);
                    let e = cone.iter().map(|d| n.dot(d).max(0.0)).sum::<f64>() / open;
                    // L* 15 and 95 as CIE 15:2018 has them: Y 0.01910 and 0.87618.
                    let y = 0.019_104 + (0.876_176 - 0.019_104) * (1.0 - 0.2_f64.powf(e));
                    let place = (116.0 * y.cbrt() - 16.0 - 15.0) / 80.0 * 16.0;
                    shares[place.max(0.0) as usize] += weight;
                }
                let all: f64 = shares.iter().sum();
                sum -= shares.iter().filter(|s| **s > 0.0).map(|s| s / all * (s / all).log2()).sum::<f64>();
            }
            sum / 3.0
        };
        assert!((found.bits - bits(found.axis)).abs() < 0.03, "{found:?} {}", bits(found.axis));
        let down = bits(SprayAxis { tilt: 0.0, azimuth: 0.0 });
        assert!((found.straight_down_bits - down).abs() < 0.03, "{found:?} {down}");
        // No direction of the grid does better than the one found.
        let best = grid().into_iter().map(bits).fold(0.0, f64::max);
        assert!(found.bits > best - 0.03, "{found:?} {best}");
    }

    #[test]
    fn directions_read_as_a_painter_holds_the_can() {
        let of = |tilt, azimuth| spray_in_words(SprayAxis { tilt, azimuth }, Words::english());
        assert_eq!(of(0.0, 90.0), "straight down");
        assert_eq!(of(7.4, 90.0), "straight down");
        assert_eq!(of(7.6, 90.0), "from your right, 10° off straight down");
        assert_eq!(of(30.0, 315.0), "from the front left, 30° off straight down");
        assert_eq!(of(37.5, 180.0), "from the back, 40° off straight down");
        assert_eq!(of(90.0, 0.0), "level, from the front");
    }

    #[test]
    fn the_grid_holds_straight_down_and_the_45_degree_directions() {
        let grid = grid();
        assert_eq!(grid.len(), 49);
        assert!(grid[0].tilt == 0.0);
        assert_eq!(grid.iter().filter(|a| a.tilt == 45.0).count(), 8);
    }
}
