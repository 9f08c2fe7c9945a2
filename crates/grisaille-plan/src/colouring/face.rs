//! A marked face: its planes, where blood and beard show, and its eyes.
//!
//! Proportions are those that figures are drawn by (common practice, as taught since the
//! Renaissance): from hairline to chin the brow stands a third below the hairline, the base of the
//! nose a third above the chin, the mouth a third of the way from nose to chin; an eye is a fifth of
//! the head's width, and one eye's width parts both.

use crate::plan::Plan;
use grisaille_colour::{Lab, Mix};
use grisaille_scheme::{FaceChoice, Gaze};
use nalgebra::{Point3, Vector3};

/// A face is so much of the figure's height, hairline to chin, if nothing is said: heads of small
/// figures are large (common practice).
const OF_HEIGHT: f64 = 1.0 / 8.0;
/// Planes are lifted and sockets dropped by so much, L*.
const RELIEF: f64 = 14.0;
/// A dot that a good tip sets, in radii of the brush tip.
const DOT: f64 = 0.6;

/// An oval on the face: its middle and half axes, in heights of the face from the tip of the nose.
struct Oval {
    u: f64,
    v: f64,
    wide: f64,
    high: f64,
}

const fn oval(u: f64, v: f64, wide: f64, high: f64) -> Oval {
    Oval { u, v, wide, high }
}

impl Oval {
    /// How far inside a spot lies: 1 in the middle, falling smoothly to 0 at twice the axes.
    fn at(&self, u: f64, v: f64) -> f64 {
        let r = ((u - self.u) / self.wide).hypot((v - self.v) / self.high) / 2.0;
        if r < 1.0 { (1.0 - r * r).powi(2) } else { 0.0 }
    }

    fn holds(&self, u: f64, v: f64) -> bool {
        ((u - self.u) / self.wide).hypot((v - self.v) / self.high) <= 1.0
    }
}

/// Brow, bridge of the nose, cheekbones, lower lip, chin.
const PLANES: [Oval; 6] = [
    oval(0.0, 0.36, 0.20, 0.06),
    oval(0.0, 0.12, 0.035, 0.12),
    oval(-0.24, 0.09, 0.08, 0.05),
    oval(0.24, 0.09, 0.08, 0.05),
    oval(0.0, -0.18, 0.08, 0.025),
    oval(0.0, -0.31, 0.07, 0.04),
];
/// Eye sockets, below the nose, below the lip.
const HOLLOWS: [Oval; 4] = [
    oval(-0.17, 0.21, 0.09, 0.05),
    oval(0.17, 0.21, 0.09, 0.05),
    oval(0.0, -0.08, 0.07, 0.02),
    oval(0.0, -0.235, 0.07, 0.02),
];
/// Tip of the nose, cheeks, ears.
static RED: [Oval; 5] = [
    oval(0.0, 0.0, 0.07, 0.06),
    oval(-0.25, 0.0, 0.10, 0.07),
    oval(0.25, 0.0, 0.10, 0.07),
    oval(-0.44, 0.10, 0.06, 0.12),
    oval(0.44, 0.10, 0.06, 0.12),
];
/// The lower lip, which carries the mouth's colour.
static LIPS: Oval = oval(0.0, -0.155, 0.09, 0.02);
/// Where beard darkens the jaw.
static JAW: Oval = oval(0.0, -0.34, 0.26, 0.12);
/// Half an eye's width and height, and how far from the middle both lie.
const EYE: Oval = oval(0.17, 0.205, 0.075, 0.03);
/// The hairline: what lies above it does not move with the eyes.
const HAIRLINE: f64 = 0.64;
/// Where the middle of an eye may lie on a face, across and up: outside it is no eye of this face.
const EYE_WITHIN: [[f64; 2]; 2] = [[0.06, 0.36], [0.03, 0.5]];

/// What a spot of a face gets on top of the ramp, 0 to 1 each.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Features {
    /// Red of nose, cheeks and ears.
    pub red: f64,
    /// Red of the lips.
    pub lips: f64,
    /// The jaw's cool shade.
    pub cool: f64,
}

/// A part of an eye.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum EyePart {
    /// The off-white.
    White,
    /// Iris and pupil as one dark dot.
    Iris,
    /// The dark line of the upper lid.
    Liner,
    /// The near-white dot in the iris.
    Catchlight,
}

/// What is glazed on a face, each in one to three places.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum FacePart {
    /// Nose and cheeks, and the ears where they show.
    Red,
    /// The lower lip.
    Lip,
    /// The jaw.
    Jaw,
}

impl FacePart {
    /// Where it lies, what is looked at first first, and how strong it is there.
    fn ovals(self) -> (&'static [Oval], f64) {
        match self {
            Self::Red => (&RED, RED_STRENGTH),
            Self::Lip => (std::slice::from_ref(&LIPS), 1.0),
            Self::Jaw => (std::slice::from_ref(&JAW), JAW_STRENGTH),
        }
    }
}

/// A part of a face that is nowhere stronger than this, of 1, is not seen.
const FAINT: f64 = 0.3;
/// What is as strong as this share of the strongest is the middle of a place.
const MIDDLE: f64 = 0.7;
/// How strong red and beard are where they are strongest.
const RED_STRENGTH: f64 = 0.7;
const JAW_STRENGTH: f64 = 0.6;

/// The colours of a face beside its ramp.
#[derive(Clone, Debug, PartialEq)]
pub struct FaceColours {
    /// Nose, cheeks and ears.
    pub red: (Lab, Option<Mix>),
    /// Lower lip.
    pub lips: (Lab, Option<Mix>),
    /// Jaw.
    pub cool: (Lab, Option<Mix>),
    /// Off-white of the eyes.
    pub white: (Lab, Option<Mix>),
    /// Iris.
    pub iris: (Lab, Option<Mix>),
    /// Lids.
    pub liner: (Lab, Option<Mix>),
}

impl FaceColours {
    /// The colours round a skin's base colour; `mixed` finds the mix of each.
    pub(crate) fn of(base: Lab, iris: Lab, mixed: &dyn Fn(Lab) -> Option<Mix>) -> Self {
        let with = |wanted: Lab| {
            let wanted = wanted.within_srgb();
            (wanted, mixed(wanted))
        };
        // Darker skin shows less of either.
        let shows = (base.l / 60.0).clamp(0.4, 1.0);
        // What goes thinly over the skin is mixed as far again from it as it is to come out.
        let thin = |wanted: Lab| {
            let pot = Lab::new(2.0 * wanted.l - base.l, 2.0 * wanted.a - base.a, 2.0 * wanted.b - base.b);
            (wanted.within_srgb(), mixed(pot.within_srgb()))
        };
        Self {
            red: thin(Lab { l: base.l - 4.0, a: base.a + 12.0 * shows, b: base.b - 1.0 }),
            lips: with(Lab { l: base.l - 10.0, a: base.a + 14.0 * shows, b: base.b - 3.0 }),
            cool: thin(Lab { l: base.l - 7.0, a: base.a - 6.0 * shows, b: base.b - 9.0 * shows }),
            // White beside skin reads as staring: an eye lies in the shade of its lid.
            white: with(Lab { l: (base.l + 14.0).min(86.0), a: 1.0, b: 5.0 }),
            iris: with(iris),
            liner: with(Lab { l: 16.0, a: 6.0, b: 6.0 }),
        }
    }
}

/// A face in its place on the figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Face {
    /// The tip of the nose, scene mm.
    pub nose: Point3<f64>,
    /// Hairline to chin, mm.
    pub height: f64,
    /// Where the eyes look.
    pub gaze: Gaze,
    /// Its colours beside the ramp of its skin.
    pub colours: FaceColours,
    /// Whether an eye was marked where this face cannot have one; its eyes are where they usually are then.
    pub eye_misplaced: bool,
    toward: Vector3<f64>,
    up: Vector3<f64>,
    right: Vector3<f64>,
    tip_mm: f64,
    /// The middle of either eye across and up, in heights of the face.
    eye: [f64; 2],
}

/// Whether an eye can lie so far across and up.
fn is_within(eye: [f64; 2]) -> bool {
    (0..2).all(|i| (EYE_WITHIN[i][0]..=EYE_WITHIN[i][1]).contains(&eye[i]))
}

impl Face {
    /// A face of the scheme on a planned figure.
    pub(crate) fn of(choice: &FaceChoice, plan: &Plan, colours: FaceColours) -> Self {
        let usual = OF_HEIGHT * plan.mesh.bounds().extents()[2];
        let front = Vector3::new(0.0, -1.0, 0.0);
        let toward = choice.toward.and_then(|t| Vector3::from(t).try_normalize(1e-9)).unwrap_or(front);
        // A face that looks straight up or down has its brow at the back.
        let z = if toward.z.abs() > 0.95 { Vector3::y() } else { Vector3::z() };
        let up = (z - toward * z.dot(&toward)).normalize();
        // As seen by who looks at the face.
        let right = up.cross(&toward);
        let (nose, height) = (Point3::from(choice.at), choice.height.map_or(usual, |h| h.0));
        let marked = choice.eye.map(|eye| {
            let d = (Point3::from(eye) - nose) / height;
            [d.dot(&right).abs(), d.dot(&up)]
        });
        Self {
            nose,
            height,
            gaze: choice.gaze,
            colours,
            toward,
            up,
            right,
            tip_mm: plan.brush.radius_mm,
            eye: marked.filter(|eye| is_within(*eye)).unwrap_or([EYE.u, EYE.v]),
            eye_misplaced: marked.is_some_and(|eye| !is_within(eye)),
        }
    }

    /// A spot of this face where faces of usual proportions have it, so that brow, sockets and cheeks go with the eyes.
    fn usual(&self, (u, v): (f64, f64)) -> (f64, f64) {
        let [across, up] = self.eye;
        let v = match v {
            v if v <= 0.0 || v >= HAIRLINE => v,
            v if v < up => v * EYE.v / up,
            v => EYE.v + (v - up) * (HAIRLINE - EYE.v) / (HAIRLINE - up),
        };
        (u * EYE.u / across, v)
    }

    /// How much larger the eyes are than usual: as much as they lie farther apart.
    fn eye_size(&self) -> f64 {
        self.eye[0] / EYE.u
    }

    /// A spot in heights of the face from the tip of the nose, right and up as seen; `None` behind the face.
    fn local(&self, at: Point3<f64>, normal: Option<Vector3<f64>>) -> Option<(f64, f64)> {
        let d = (at - self.nose) / self.height;
        let deep = -d.dot(&self.toward);
        let away = normal.is_some_and(|n| n.dot(&self.toward) < -0.2);
        let (u, v) = (d.dot(&self.right), d.dot(&self.up));
        (!away && (-0.3..0.8).contains(&deep) && u.abs() < 0.7 && v.abs() < 0.8).then_some((u, v))
    }

    /// How much lighter (or darker) than as lit a spot is planned, L*.
    pub(crate) fn relief(&self, at: Point3<f64>, normal: Vector3<f64>) -> f64 {
        let Some(spot) = self.local(at, Some(normal)) else { return 0.0 };
        let (u, v) = self.usual(spot);
        let most = |ovals: &[Oval]| ovals.iter().map(|o| o.at(u, v)).fold(0.0, f64::max);
        RELIEF * (most(&PLANES) - most(&HOLLOWS))
    }

    /// What a spot gets on top of the ramp.
    pub(crate) fn features(&self, at: Point3<f64>) -> Features {
        let Some(spot) = self.local(at, None) else { return Features::default() };
        let (u, v) = self.usual(spot);
        let red = RED.iter().map(|o| o.at(u, v)).fold(0.0, f64::max);
        Features { red: RED_STRENGTH * red, lips: LIPS.at(u, v), cool: JAW_STRENGTH * JAW.at(u, v) }
    }

    /// Where a part of it lies among points of the surface, scene mm: of each of its places the middle, as far as it
    /// faces who looks; nowhere where a beard or a helmet has taken its place.
    #[must_use]
    pub fn places(&self, part: FacePart, points: &[Point3<f32>]) -> Vec<Point3<f32>> {
        let (ovals, strength) = part.ovals();
        let mut found: Vec<Point3<f32>> = Vec::new();
        for oval in ovals {
            let each = points.iter().filter_map(|p| {
                let (u, v) = self.usual(self.local(p.cast(), None)?);
                Some((strength * oval.at(u, v), *p))
            });
            let each: Vec<(f64, Point3<f32>)> = each.filter(|(much, _)| *much > FAINT).collect();
            let most = each.iter().map(|(much, _)| *much).fold(0.0, f64::max);
            let middle = each.into_iter().filter(|(much, _)| *much >= MIDDLE * most);
            // What lies below a lash or a lip is seen from nowhere.
            let nearest = middle.max_by(|(_, a), (_, b)| self.toward_eye(*a).total_cmp(&self.toward_eye(*b)));
            found.extend(nearest.map(|(_, point)| point));
        }
        found
    }

    /// How far a point lies toward who looks at the face.
    fn toward_eye(&self, point: Point3<f32>) -> f64 {
        (point.cast::<f64>() - self.nose).dot(&self.toward)
    }

    /// The width of an eye in mm.
    #[must_use]
    pub fn eye_width(&self) -> f64 {
        2.0 * EYE.wide * self.eye_size() * self.height
    }

    /// Whether the tip of the brush is small enough for a part of an eye: the off-white needs room for the
    /// iris beside it, the iris is one dot, the catchlight a third of that.
    #[must_use]
    pub fn can_paint(&self, part: EyePart) -> bool {
        let dot = 2.0 * DOT * self.tip_mm;
        match part {
            EyePart::Liner => true,
            EyePart::Iris => self.eye_width() >= dot,
            EyePart::White => self.eye_width() >= 2.0 * dot,
            EyePart::Catchlight => self.eye_width() >= 4.0 * dot,
        }
    }

    /// What of an eye is painted at a spot.
    pub(crate) fn eye_at(&self, at: Point3<f64>) -> Option<EyePart> {
        let (u, v) = self.local(at, None)?;
        // Both eyes look the same way, so only the lids are mirrored.
        let ([across, up], size) = (self.eye, self.eye_size());
        let (x, y) = ((u.abs() - across) * u.signum() / size, (v - up) / size);
        let inside = Oval { u: 0.0, v: 0.0, ..EYE }.holds(x, y);
        let lid = y > 0.35 * EYE.high
            && Oval { u: 0.0, v: 0.0, wide: 1.15 * EYE.wide, high: 1.6 * EYE.high }.holds(x, y);
        if lid && !inside {
            return Some(EyePart::Liner);
        }
        if !inside {
            return None;
        }
        let look = match self.gaze {
            Gaze::Ahead => 0.0,
            Gaze::Left => -0.4 * EYE.wide,
            Gaze::Right => 0.4 * EYE.wide,
        };
        let iris = 0.42 * EYE.wide;
        // It touches the upper lid: a ring of white all round stares.
        let (dx, dy) = (x - look, y - (EYE.high - iris).max(0.0));
        let part = if dx.hypot(dy) <= iris {
            let caught = (dx + 0.4 * iris).hypot(dy - 0.4 * iris) <= 0.35 * iris;
            if caught && self.can_paint(EyePart::Catchlight) { EyePart::Catchlight } else { EyePart::Iris }
        } else {
            EyePart::White
        };
        match part {
            EyePart::White if !self.can_paint(EyePart::White) => Some(EyePart::Liner),
            part => self.can_paint(part).then_some(part),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn face(height: f64, tip_mm: f64, gaze: Gaze) -> Face {
        let colours = FaceColours::of(Lab::new(65.0, 15.0, 20.0), Lab::new(30.0, 5.0, 10.0), &|_| None);
        let (toward, up, right) = (-Vector3::y(), Vector3::z(), Vector3::x());
        Face {
            nose: Point3::origin(),
            height,
            gaze,
            colours,
            toward,
            up,
            right,
            tip_mm,
            eye: [EYE.u, EYE.v],
            eye_misplaced: false,
        }
    }

    fn spot(u: f64, v: f64) -> Point3<f64> {
        Point3::new(10.0 * u, 1.0, 10.0 * v)
    }

    #[test]
    fn planes_lie_where_faces_have_them() {
        let face = face(10.0, 0.1, Gaze::Ahead);
        let front = -Vector3::y();
        for (u, v) in [(0.0, 0.36), (0.0, 0.12), (0.24, 0.09), (-0.24, 0.09), (0.0, -0.18)] {
            assert!(face.relief(spot(u, v), front) > 5.0, "{u} {v}");
        }
        for (u, v) in [(0.17, 0.21), (-0.17, 0.21), (0.0, -0.235)] {
            assert!(face.relief(spot(u, v), front) < -5.0, "{u} {v}");
        }
        // Nothing at the back of the head or on what faces away.
        assert_eq!(face.relief(Point3::new(0.0, 20.0, 1.2), front), 0.0);
        assert_eq!(face.relief(spot(0.0, 0.36), -front), 0.0);
        assert!(face.features(spot(0.0, 0.0)).red > 0.6 && face.features(spot(0.0, -0.34)).cool > 0.5);
        let far = face.features(spot(0.0, 0.6));
        assert_eq!(far, Features::default());
    }

    #[test]
    fn both_eyes_look_one_way_and_small_ones_are_told_from_large() {
        for (gaze, way) in [(Gaze::Ahead, 0.0), (Gaze::Left, -1.0), (Gaze::Right, 1.0)] {
            let face = face(10.0, 0.05, gaze);
            for eye in [-EYE.u, EYE.u] {
                let iris: Vec<f64> = (-100..=100)
                    .map(|i| eye + f64::from(i) / 1000.0)
                    .filter(|u| {
                        let part = face.eye_at(spot(*u, EYE.v));
                        matches!(part, Some(EyePart::Iris | EyePart::Catchlight))
                    })
                    .collect();
                let middle = iris.iter().sum::<f64>() / iris.len() as f64 - eye;
                assert!((middle - way * 0.4 * EYE.wide).abs() < 0.01, "{gaze:?}: {middle}");
            }
        }
        // 1.5 mm wide: all of it with a fine tip, a slit and a dot with a coarse one.
        let parts = |tip| {
            let face = face(10.0, tip, Gaze::Ahead);
            [EyePart::Liner, EyePart::Iris, EyePart::White, EyePart::Catchlight].map(|p| face.can_paint(p))
        };
        assert_eq!(parts(0.1), [true; 4]);
        assert_eq!(parts(0.5), [true, true, true, false]);
        assert_eq!(parts(1.0), [true, true, false, false]);
        assert_eq!(parts(2.0), [true, false, false, false]);
    }

    #[test]
    fn eyes_are_painted_where_they_are_marked_and_the_face_goes_with_them() {
        let usual = face(10.0, 0.1, Gaze::Ahead);
        let low = Face { eye: [0.13, 0.1], ..usual.clone() };
        let white =
            |face: &Face, u: f64, v: f64| face.eye_at(spot(u, v)).is_some_and(|part| part != EyePart::Liner);
        for side in [-1.0, 1.0] {
            assert!(white(&low, side * 0.13, 0.1) && !white(&low, side * EYE.u, EYE.v));
            assert!(white(&usual, side * EYE.u, EYE.v) && !white(&usual, side * 0.13, 0.1));
            // The socket is where the eye is; nothing moves below the nose.
            assert!(low.relief(spot(side * 0.13, 0.1), -Vector3::y()) < -5.0);
            assert_eq!(low.features(spot(0.0, -0.155)).lips, usual.features(spot(0.0, -0.155)).lips);
        }
        assert!((low.eye_width() / usual.eye_width() - 0.13 / EYE.u).abs() < 1e-12);
        for (u, v) in [(0.0, 0.2), (0.6, 0.2), (0.17, -0.1), (0.17, 0.9)] {
            assert!(!is_within([u, v]), "{u} {v}");
        }
    }
}
