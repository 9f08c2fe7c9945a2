//! An outside colour pulled into line: the least part of a palette colour that brings
//! it within the palette's range, as a mix.

use crate::{Lab, Oklch, Paint, Pigment, colour_of_curve};

/// A colour mixed into line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pulled {
    /// Which colour of the palette is mixed in, counted from 0; `None` where the
    /// outside colour is in line already.
    pub with: Option<usize>,
    /// Parts of the outside colour and of the palette's.
    pub parts: [u8; 2],
    /// The colour of the mix.
    pub colour: Lab,
}

/// Parts of the outside colour and of the palette's, the least of the palette's first.
const PARTS: [[u8; 2]; 11] =
    [[8, 1], [6, 1], [4, 1], [3, 1], [2, 1], [3, 2], [1, 1], [2, 3], [1, 2], [1, 3], [1, 4]];
/// How far outside, in Oklab's a and b, still counts as inside: hardly seen.
const MARGIN: f64 = 0.01;

/// Mixes into `outside` the least part of one of the palette's colours that brings it
/// within the palette's range: the area in Oklab's a and b that is spanned by its
/// colours and by grey, whatever the lightness. Of equal parts the colour that changes
/// it least. The mix is predicted as of paints of these colours; where up to four parts
/// in five do not suffice, the palette's nearest colour takes its place (`parts` 0:1).
/// `None` without a palette.
#[must_use]
pub fn pull_into_line(outside: Lab, palette: &[Lab]) -> Option<Pulled> {
    let span: Vec<[f64; 2]> = palette.iter().map(|c| plane(*c)).chain([[0.0, 0.0]]).collect();
    let hull = hull(span);
    if palette.is_empty() {
        return None;
    }
    if off(plane(outside), &hull) <= MARGIN {
        return Some(Pulled { with: None, parts: [1, 0], colour: outside });
    }
    let pigment = |colour: Lab| Pigment::of(&Paint::of_colour("", colour));
    let own = pigment(outside);
    let others: Vec<Pigment> = palette.iter().map(|c| pigment(*c)).collect();
    for parts in PARTS {
        let [of_own, of_other] = parts.map(f64::from);
        let mixes = others.iter().enumerate().filter_map(|(k, other)| {
            let mix = Pigment::mixed(&[(of_own, &own), (of_other, other)])?;
            Some(Pulled { with: Some(k), parts, colour: colour_of_curve(&mix.thick()) })
        });
        let inside = mixes.filter(|p| off(plane(p.colour), &hull) <= MARGIN);
        let apart = |p: &Pulled| crate::difference(p.colour, outside);
        if let Some(found) = inside.min_by(|a, b| apart(a).total_cmp(&apart(b))) {
            return Some(found);
        }
    }
    let apart = |k: &usize| crate::difference(palette[*k], outside);
    let nearest = (0..palette.len()).min_by(|a, b| apart(a).total_cmp(&apart(b)))?;
    Some(Pulled { with: Some(nearest), parts: [0, 1], colour: palette[nearest] })
}

fn plane(colour: Lab) -> [f64; 2] {
    let Oklch { chroma, hue, .. } = colour.into();
    let (sin, cos) = hue.to_radians().sin_cos();
    [chroma * cos, chroma * sin]
}

/// Twice the signed area of a triangle, positive when it turns left.
fn turn(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> f64 {
    (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
}

/// The convex hull, turning left (A. M. Andrew, "Another efficient algorithm for convex
/// hulls in two dimensions", Information Processing Letters 9(5), 1979).
fn hull(mut points: Vec<[f64; 2]>) -> Vec<[f64; 2]> {
    points.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])));
    let mut out: Vec<[f64; 2]> = Vec::new();
    for half in 0..2 {
        let floor = out.len();
        for p in &points {
            while out.len() >= floor + 2 && turn(out[out.len() - 2], out[out.len() - 1], *p) <= 0.0 {
                out.pop();
            }
            out.push(*p);
        }
        out.pop();
        if half == 0 {
            points.reverse();
        }
    }
    if out.is_empty() { points } else { out }
}

/// How far a point lies outside a hull; 0 within.
fn off(p: [f64; 2], hull: &[[f64; 2]]) -> f64 {
    let sides = || (0..hull.len()).map(|i| (hull[i], hull[(i + 1) % hull.len()]));
    if hull.len() > 2 && sides().all(|(a, b)| turn(a, b, p) >= 0.0) {
        return 0.0;
    }
    let from_side = |(a, b): ([f64; 2], [f64; 2])| {
        let along = [b[0] - a[0], b[1] - a[1]];
        let length = along[0].powi(2) + along[1].powi(2);
        let t = ((p[0] - a[0]) * along[0] + (p[1] - a[1]) * along[1]) / length.max(f64::MIN_POSITIVE);
        let t = t.clamp(0.0, 1.0);
        (p[0] - a[0] - t * along[0]).hypot(p[1] - a[1] - t * along[1])
    };
    sides().map(from_side).fold(f64::INFINITY, f64::min)
}
