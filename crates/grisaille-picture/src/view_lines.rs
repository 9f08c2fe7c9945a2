//! The lines of a view of a mesh, found once for all pictures from that side, at any scale and of any part.

use crate::drawing::{finished, joined, seen_edges};
use crate::{DrawingSettings, Frame, Screen, Stroke, View};
use grisaille_base::{FaceId, Stop, Watch};
use grisaille_mesh::Mesh;
use nalgebra::Point3;

/// Pixels along the longer side of the frame in which lines are found; what hides what is reckoned and does not
/// depend on it.
const ACROSS: f64 = 4096.0;
/// How far beyond a picture's rim its lines are drawn, pixels.
const BEYOND: f64 = 2.0;

/// Visible contours and creases, seen straight on from one side.
pub struct ViewLines {
    /// What hides what, in the frame in which they were found.
    screen: Screen,
    /// Each with whether one of its ends is loose.
    chains: Vec<(Stroke, bool)>,
}

impl ViewLines {
    /// Finds the lines of a mesh from one side; edges that turn by more than `crease` degrees are creases. Faces that
    /// `keep` does not admit hide nothing and have no lines.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn of(
        mesh: &Mesh,
        keep: impl Fn(FaceId) -> bool + Sync + Send,
        view: &View,
        crease: f64,
        watch: &Watch,
    ) -> Result<Self, Stop> {
        let whole = Frame::fit(mesh.positions(), view.clone(), 1.0, 0.0);
        let longest = whole.mm_per_pixel() * f64::from(whole.width().max(whole.height()));
        let frame = Frame::fit(mesh.positions(), view.clone(), ACROSS / longest, 0.0);
        let (screen, parts) = seen_edges(mesh, keep, &frame, crease, watch)?;
        let chains = joined(&screen, &parts, watch)?;
        Ok(Self { screen, chains })
    }

    /// From which side they are seen.
    #[must_use]
    pub fn view(&self) -> &View {
        self.screen.frame().view()
    }

    /// The lines as strokes of a picture from the same side, cut off a little beyond its rim.
    #[must_use]
    pub fn in_frame(&self, frame: &Frame, settings: &DrawingSettings) -> Vec<Stroke> {
        let moved = self.toward(frame);
        let mut strokes = Vec::new();
        for (chain, loose) in &self.chains {
            let points = chain.points.iter().map(&moved).collect();
            let Some(stroke) = finished((Stroke { points, ..*chain }, *loose), settings) else { continue };
            cut(stroke, frame, &mut strokes);
        }
        strokes
    }

    /// A line through points in mm as strokes of such a picture, hidden parts left out; it may lie so many mm behind
    /// what is seen.
    #[must_use]
    pub fn course(
        &self,
        (points, closed): (&[Point3<f32>], bool),
        behind_mm: f64,
        frame: &Frame,
    ) -> Vec<Stroke> {
        let moved = self.toward(frame);
        let mut strokes = Vec::new();
        for stroke in self.screen.course(points, closed, behind_mm) {
            cut(Stroke { points: stroke.points.iter().map(&moved).collect(), ..stroke }, frame, &mut strokes);
        }
        strokes
    }

    /// From pixels of the frame in which lines were found to those of another from the same side.
    fn toward(&self, frame: &Frame) -> impl Fn(&[f64; 2]) -> [f64; 2] + use<> {
        let own = self.screen.frame();
        let off = own.centre() - frame.centre();
        let off = [off.dot(&frame.view().right()), -off.dot(&frame.view().up())];
        let half = |f: &Frame| [f64::from(f.width()) * 0.5, f64::from(f.height()) * 0.5];
        let (from, to) = (half(own), half(frame));
        let (mm, mm_to) = (own.mm_per_pixel(), frame.mm_per_pixel());
        move |p| [0, 1].map(|k| to[k] + ((p[k] - from[k]) * mm + off[k]) / mm_to)
    }
}

/// The parts of a stroke within a picture and a little beyond its rim.
fn cut(stroke: Stroke, frame: &Frame, out: &mut Vec<Stroke>) {
    let high = [frame.width(), frame.height()].map(|px| f64::from(px) + BEYOND);
    cut_to(stroke, [-BEYOND; 2], high, out);
}

fn cut_to(stroke: Stroke, low: [f64; 2], high: [f64; 2], out: &mut Vec<Stroke>) {
    let inside = |p: &[f64; 2]| (0..2).all(|k| p[k] >= low[k] && p[k] <= high[k]);
    if stroke.points.iter().all(inside) {
        out.push(stroke);
        return;
    }
    let first = stroke.closed.then(|| stroke.points.first()).flatten();
    let way: Vec<[f64; 2]> = stroke.points.iter().chain(first).copied().collect();
    let mut part: Vec<[f64; 2]> = Vec::new();
    let mut end = |part: &mut Vec<[f64; 2]>| {
        let points = std::mem::take(part);
        if points.len() > 1 {
            out.push(Stroke { kind: stroke.kind, points, closed: false });
        }
    };
    for w in way.windows(2) {
        let Some([from, to]) = within(w[0], w[1], low, high) else {
            end(&mut part);
            continue;
        };
        let at = |t: f64| [0, 1].map(|k| w[0][k] + t * (w[1][k] - w[0][k]));
        if from > 0.0 {
            end(&mut part);
        }
        if part.is_empty() {
            part.push(at(from));
        }
        part.push(at(to));
        if to < 1.0 {
            end(&mut part);
        }
    }
    end(&mut part);
}

/// From and to which share of its way a straight line lies in a rectangle (Y.-D. Liang, B. A. Barsky, "A New Concept
/// and Method for Line Clipping", 1984).
fn within(a: [f64; 2], b: [f64; 2], low: [f64; 2], high: [f64; 2]) -> Option<[f64; 2]> {
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for k in 0..2 {
        let step = b[k] - a[k];
        for (toward, room) in [(-step, a[k] - low[k]), (step, high[k] - a[k])] {
            if toward == 0.0 {
                if room < 0.0 {
                    return None;
                }
                continue;
            }
            let t = room / toward;
            if toward < 0.0 { from = from.max(t) } else { to = to.min(t) }
        }
    }
    (from < to).then_some([from, to])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::LineKind;

    fn parts(points: &[[f64; 2]], closed: bool) -> Vec<Vec<[f64; 2]>> {
        let mut out = Vec::new();
        let stroke = Stroke { kind: LineKind::Contour, points: points.to_vec(), closed };
        cut_to(stroke, [0.0; 2], [10.0; 2], &mut out);
        out.into_iter().map(|s| s.points).collect()
    }

    #[test]
    fn a_stroke_is_cut_at_the_rim_and_nowhere_else() {
        let square = [[-5.0, 5.0], [5.0, 5.0], [5.0, 15.0], [-5.0, 15.0]];
        assert_eq!(parts(&square, true), [vec![[0.0, 5.0], [5.0, 5.0], [5.0, 10.0]]]);
        assert_eq!(parts(&[[2.0, 2.0], [3.0, 4.0]], false), [vec![[2.0, 2.0], [3.0, 4.0]]]);
        assert_eq!(parts(&[[-1.0, 20.0], [20.0, 20.0]], false), Vec::<Vec<[f64; 2]>>::new());
        let through = [[-5.0, 1.0], [15.0, 1.0], [15.0, 3.0], [-5.0, 3.0]];
        assert_eq!(parts(&through, false), [vec![[0.0, 1.0], [10.0, 1.0]], vec![[10.0, 3.0], [0.0, 3.0]]]);
    }
}
