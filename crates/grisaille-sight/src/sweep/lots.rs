//! Boxes round each eight of a block's faces, all eight boxes looked at side
//! by side.

use super::axes::Axes;
use super::block::{Hull, LOTS};
use super::lanes::{U, less, more};
use crate::engine::Source;
use nalgebra::{Point3, Vector3};

/// Where each of a block's lots is in the light's axes: boxes, from a stated middle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Extents {
    pub(crate) low: [[f32; LOTS]; 3],
    pub(crate) high: [[f32; LOTS]; 3],
}

impl Extents {
    /// Boxes that hold nothing.
    pub(crate) const NOTHING: Self =
        Self { low: [[f32::INFINITY; LOTS]; 3], high: [[f32::NEG_INFINITY; LOTS]; 3] };
}

/// The hulls of a block's lots, points from the block's middle and rounded
/// outward: a row for each number.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Lots {
    low: [[f32; LOTS]; 3],
    high: [[f32; LOTS]; 3],
    normal_low: [[f32; LOTS]; 3],
    normal_high: [[f32; LOTS]; 3],
}

impl Lots {
    pub(crate) fn of(hulls: &[Hull; LOTS], middle: [f64; 3]) -> Self {
        let row = |pick: fn(&Hull) -> [f32; 3]| [0, 1, 2].map(|k| hulls.each_ref().map(|h| pick(h)[k]));
        let from = |rows: [[f32; LOTS]; 3], out: fn(f32) -> f32| {
            [0, 1, 2].map(|k| rows[k].map(|v| out((f64::from(v) - middle[k]) as f32)))
        };
        Self {
            low: from(row(|h| h.low), f32::next_down),
            high: from(row(|h| h.high), f32::next_up),
            normal_low: row(|h| h.normal_low),
            normal_high: row(|h| h.normal_high),
        }
    }

    /// Which lots may hold a face that turns away from the light: at least 0 there.
    #[inline(always)]
    pub(crate) fn away(&self, source: Source, middle: [f64; 3]) -> [f32; LOTS] {
        let mut least = [0.0_f32; LOTS];
        let mut longest = [0.0_f32; LOTS];
        match source {
            Source::Direction(l) => {
                for k in 0..3 {
                    let l = l[k] as f32;
                    let normal = if l < 0.0 { &self.normal_high[k] } else { &self.normal_low[k] };
                    for lot in 0..LOTS {
                        least[lot] += l * normal[lot];
                    }
                }
                longest = [1.0; LOTS];
            }
            Source::Point { at, .. } => {
                for k in 0..3 {
                    let base = (at[k] - middle[k]) as f32;
                    for lot in 0..LOTS {
                        let (near, far) = (base - self.high[k][lot], base - self.low[k][lot]);
                        let (one, two) = (self.normal_low[k][lot], self.normal_high[k][lot]);
                        least[lot] += less(less(near * one, near * two), less(far * one, far * two));
                        longest[lot] += more(-near, far) + more(near, -far);
                    }
                }
            }
        }
        // Normals are rounded to `f32`, and so is this: what turns to the
        // light by less may turn away.
        let mut away = [0.0; LOTS];
        for lot in 0..LOTS {
            away[lot] = 1e-5 * longest[lot] - least[lot];
        }
        away
    }

    /// Boxes that hold all of each lot that these axes see, from `origin`.
    /// Nothing, where they see none of it.
    #[inline(always)]
    pub(crate) fn extents(&self, axes: &Axes, middle: [f64; 3], origin: [f64; 3]) -> Extents {
        match axes {
            Axes::Parallel { across, toward } => {
                let mut extents = Extents { low: [[0.0; LOTS]; 3], high: [[0.0; LOTS]; 3] };
                for (k, row) in [across[0], across[1], *toward].iter().enumerate() {
                    let base = (row.dot(&Vector3::from(middle)) - origin[k]) as f32;
                    let (mut low, mut high) = ([base; LOTS], [base; LOTS]);
                    let mut size = [base.abs(); LOTS];
                    for axis in 0..3 {
                        let r = row[axis] as f32;
                        let (from, to) = if r < 0.0 {
                            (&self.high[axis], &self.low[axis])
                        } else {
                            (&self.low[axis], &self.high[axis])
                        };
                        for lot in 0..LOTS {
                            low[lot] += r * from[lot];
                            high[lot] += r * to[lot];
                            size[lot] += more(from[lot].abs(), to[lot].abs());
                        }
                    }
                    for lot in 0..LOTS {
                        // The base, a row and three sums are rounded: 6u of what is added up.
                        extents.low[k][lot] = low[lot] - 8.0 * U * size[lot];
                        extents.high[k][lot] = high[lot] + 8.0 * U * size[lot];
                    }
                }
                extents
            }
            Axes::Cube { at, across, away, sign } => {
                self.perspective(*at, *across, *away, *sign, middle, origin)
            }
        }
    }

    #[inline(always)]
    fn perspective(
        &self,
        at: Point3<f64>,
        across: [usize; 2],
        away: usize,
        sign: f64,
        middle: [f64; 3],
        origin: [f64; 3],
    ) -> Extents {
        let mut extents = Extents::NOTHING;
        let base = [0, 1, 2].map(|k| middle[k] - at[k]);
        let mut inverse = [[0.0_f64; LOTS]; 2];
        let mut seen = [0.0_f64; LOTS];
        for lot in 0..LOTS {
            let a = (base[away] + f64::from(self.low[away][lot])) * sign;
            let b = (base[away] + f64::from(self.high[away][lot])) * sign;
            let (near, far) = (a.min(b), a.max(b));
            seen[lot] = far;
            inverse[0][lot] = 1.0 / far;
            inverse[1][lot] = if near > 0.0 { 1.0 / near } else { f64::INFINITY };
        }
        let mut sides = [[[0.0_f64; LOTS]; 2]; 2];
        for (k, axis) in across.iter().enumerate() {
            for lot in 0..LOTS {
                let a = base[*axis] + f64::from(self.low[*axis][lot]);
                let b = base[*axis] + f64::from(self.high[*axis][lot]);
                // A side of the box below 0 is farthest out where the box is nearest.
                let low = a * if a < 0.0 { inverse[1][lot] } else { inverse[0][lot] };
                let high = b * if b > 0.0 { inverse[1][lot] } else { inverse[0][lot] };
                sides[k][0][lot] = low;
                sides[k][1][lot] = high;
            }
        }
        for lot in 0..LOTS {
            let out = |k: usize| sides[k][0][lot] > 1.0 || sides[k][1][lot] < -1.0;
            if seen[lot] <= 0.0 || out(0) || out(1) {
                continue;
            }
            for k in 0..2 {
                let (low, high) = (sides[k][0][lot].max(-1.0), sides[k][1][lot].min(1.0));
                extents.low[k][lot] = ((low - 1e-12 - origin[k]) as f32).next_down();
                extents.high[k][lot] = ((high + 1e-12 - origin[k]) as f32).next_up();
            }
            let wide = 1.0 + 1e-12;
            extents.low[2][lot] = ((inverse[0][lot] / wide - origin[2]) as f32).next_down();
            extents.high[2][lot] = ((inverse[1][lot] * wide - origin[2]) as f32).next_up();
        }
        extents
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::{Point3, Unit};
    use proptest::prelude::*;

    proptest! {
        /// What a lot holds lies in its box, in a distant light's axes and in
        /// every view of a lamp that sees it, far from the origin too.
        #[test]
        fn boxes_hold_their_points(
            points in prop::collection::vec(prop::array::uniform3(-1.0_f32..1.0), 8 * LOTS),
            shift in prop::array::uniform3(-300.0_f32..300.0),
            light in prop::array::uniform3(-3.0_f64..3.0),
        ) {
            let points: Vec<Point3<f32>> =
                points.iter().map(|p| Point3::from([0, 1, 2].map(|k| p[k] + shift[k]))).collect();
            let mut hulls = [Hull::NOTHING; LOTS];
            for (i, p) in points.iter().enumerate() {
                hulls[i / 8].point(*p);
            }
            let middle = shift.map(f64::from);
            let lots = Lots::of(&hulls, middle);
            let light = Vector3::from(light);
            prop_assume!(light.norm() > 0.1);
            let at = Point3::from(Vector3::from(middle) + light);
            let sources = [Source::Direction(Unit::new_normalize(light)), Source::point(at)];
            for axes in sources.into_iter().flat_map(Axes::of) {
                let origin = match axes {
                    Axes::Parallel { .. } => axes.place(Point3::from(middle)).unwrap(),
                    Axes::Cube { .. } => [0.0; 3],
                };
                let extents = lots.extents(&axes, middle, origin);
                for (i, p) in points.iter().enumerate() {
                    let Some(place) = axes.place(p.cast()) else { continue };
                    for k in 0..3 {
                        let v = place[k] - origin[k];
                        prop_assert!(v >= f64::from(extents.low[k][i / 8]), "{axes:?} {place:?} {extents:?}");
                        prop_assert!(v <= f64::from(extents.high[k][i / 8]), "{axes:?} {place:?} {extents:?}");
                    }
                }
            }
        }
    }
}
