//! Smooth curves through given points, for what bends: rope, hose, handles.

use fast_surface_nets::glam::Vec3;

/// A curve as short straight steps, with a frame that does not twist.
pub(crate) struct Curve {
    steps: Vec<Step>,
    groups: Vec<Group>,
    /// Length in mm.
    pub(crate) length: f32,
}

struct Step {
    start: Vec3,
    along: Vec3,
    length: f32,
    /// Arc length at the start.
    from: f32,
    /// Across the curve, carried along without twist.
    side: Vec3,
}

struct Group {
    centre: Vec3,
    radius: f32,
    steps: std::ops::Range<usize>,
}

/// Where a point lies as seen from the nearest place on a curve.
#[derive(Clone, Copy)]
pub(crate) struct Beside {
    /// Arc length of the nearest place, mm.
    pub(crate) at: f32,
    /// How far off the curve, mm.
    pub(crate) off: f32,
    /// Angle round the curve from the carried side, radians.
    pub(crate) angle: f32,
}

const STEPS_IN_GROUP: usize = 8;

impl Curve {
    /// A Catmull–Rom curve through `points`, in steps of
    /// about `step` mm. Fewer than two points give an empty curve.
    pub(crate) fn through(points: &[Vec3], step: f32) -> Self {
        let mut places: Vec<Vec3> = Vec::new();
        for i in 1..points.len() {
            let (b, c) = (points[i - 1], points[i]);
            let a = if i >= 2 { points[i - 2] } else { 2.0 * b - c };
            let d = if i + 1 < points.len() { points[i + 1] } else { 2.0 * c - b };
            let count = ((c - b).length() / step).ceil().max(1.0) as usize;
            for k in 0..count {
                let t = k as f32 / count as f32;
                let cubic = (3.0 * (b - c) + d - a) * t + (2.0 * a - 5.0 * b + 4.0 * c - d);
                places.push(0.5 * ((cubic * t + (c - a)) * t + 2.0 * b));
            }
        }
        places.extend(points.last());
        Self::stepping(&places)
    }

    fn stepping(places: &[Vec3]) -> Self {
        let mut steps: Vec<Step> = Vec::with_capacity(places.len());
        let mut length = 0.0;
        for w in places.windows(2) {
            let full = w[1] - w[0];
            let len = full.length();
            if len < 1e-5 {
                continue;
            }
            let along = full / len;
            let side = match steps.last() {
                Some(s) => (s.side - along * s.side.dot(along)).normalize_or(along.any_orthonormal_vector()),
                None => along.any_orthonormal_vector(),
            };
            steps.push(Step { start: w[0], along, length: len, from: length, side });
            length += len;
        }
        let groups = (0..steps.len())
            .step_by(STEPS_IN_GROUP)
            .map(|from| {
                let range = from..(from + STEPS_IN_GROUP).min(steps.len());
                let ends = || range.clone().flat_map(|i| [steps[i].start, steps[i].end()]);
                let centre = ends().sum::<Vec3>() / (2 * range.len()) as f32;
                let radius = ends().map(|p| p.distance(centre)).fold(0.0, f32::max);
                Group { centre, radius, steps: range }
            })
            .collect();
        Self { steps, groups, length }
    }

    /// The box of the curve widened by `margin` mm.
    pub(crate) fn bounds(&self, margin: f32) -> [Vec3; 2] {
        let (low, high) = self.steps.iter().fold((Vec3::MAX, Vec3::MIN), |(low, high), s| {
            (low.min(s.start).min(s.end()), high.max(s.start).max(s.end()))
        });
        [low - Vec3::splat(margin), high + Vec3::splat(margin)]
    }

    /// Distance to whatever `profile` draws round the curve. `reach` is the
    /// largest radius that the profile draws. Each stretch of the curve is
    /// asked for itself, so that neighbouring turns of a coil both count.
    pub(crate) fn swept(&self, p: Vec3, reach: f32, profile: impl Fn(Beside) -> f32) -> f32 {
        let mut nearest = f32::MAX;
        for group in &self.groups {
            let least = p.distance(group.centre) - group.radius - reach;
            if least >= nearest {
                continue;
            }
            if least > 2.0 {
                // Far off, the group's ball is near enough and never too far.
                nearest = nearest.min(least);
                continue;
            }
            nearest = nearest.min(profile(self.beside(p, group)));
        }
        nearest
    }

    fn beside(&self, p: Vec3, group: &Group) -> Beside {
        let mut best = (f32::MAX, 0, 0.0);
        for i in group.steps.clone() {
            let s = &self.steps[i];
            let t = (p - s.start).dot(s.along).clamp(0.0, s.length);
            let d = (p - s.start - s.along * t).length_squared();
            if d < best.0 {
                best = (d, i, t);
            }
        }
        let s = &self.steps[best.1];
        let out = p - s.start - s.along * best.2;
        let angle = out.dot(s.along.cross(s.side)).atan2(out.dot(s.side));
        Beside { at: s.from + best.2, off: best.0.sqrt(), angle }
    }
}

impl Step {
    fn end(&self) -> Vec3 {
        self.start + self.along * self.length
    }
}
