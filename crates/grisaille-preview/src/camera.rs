//! The camera: from where the figure is looked at. Straight on and without
//! perspective, as on the guide's sheets, so that lengths can be measured.
//!
//! Screen places are in points (an egui point is a pixel at 100 %), from the
//! upper left corner of the pane; sizes are the pane's.

use crate::side::Side;
use grisaille_mesh::Bounds;
use grisaille_picture::View;
use nalgebra::{Point3, Vector3};

/// Degrees that the figure turns for one point of dragging.
const TURN: f64 = 0.4;
/// The share of a pane that a fitted figure leaves free round it.
const MARGIN: f64 = 0.12;
/// Points above and below it together, where what the pane is set by lies.
const BARS: f64 = 112.0;

/// From where, how near, and what stands in the middle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Camera {
    azimuth: f64,
    elevation: f64,
    centre: Point3<f64>,
    mm_per_point: f64,
    /// The figure's size: bounds zoom and pan.
    diagonal: f64,
    middle: Point3<f64>,
    /// All of the figure is shown, and it is to stay so when the pane changes.
    fits: bool,
}

/// A line of sight through the scene.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// In front of everything, scene millimetres.
    pub origin: Point3<f64>,
    /// Away from the viewer, unit length.
    pub direction: Vector3<f64>,
}

impl Camera {
    /// A camera that shows all of a box from a side.
    #[must_use]
    pub fn fit(bounds: &Bounds, side: Side, size: [f64; 2]) -> Self {
        let diagonal = bounds.diagonal().max(1e-6);
        let (azimuth, elevation) = side.angles();
        let middle = Point3::from(bounds.centre());
        let mm_per_point = diagonal / 100.0;
        let mut camera =
            Self { azimuth, elevation, centre: middle, mm_per_point, diagonal, middle, fits: true };
        camera.fill(bounds, size);
        camera
    }

    /// Moves and zooms so that a box just fits, from the side that is looked from now.
    pub fn fill(&mut self, bounds: &Bounds, size: [f64; 2]) {
        let view = self.view();
        let [width, depth, height] = bounds.extents();
        let across =
            |axis: Vector3<f64>| (axis.x * width).abs() + (axis.y * depth).abs() + (axis.z * height).abs();
        let wide = (size[0] * (1.0 - MARGIN)).max(1.0);
        let high = (size[1] - (size[1] * MARGIN).max(BARS)).max(size[1] * 0.5).max(1.0);
        let needed = (across(view.right()) / wide).max(across(view.up()) / high);
        self.centre = Point3::from(bounds.centre());
        self.mm_per_point = self.bounded(needed.max(1e-9));
        self.fits = true;
    }

    /// Whether all of the figure was shown last, and neither moved nor come
    /// nearer to since.
    #[must_use]
    pub fn fits(&self) -> bool {
        self.fits
    }

    fn bounded(&self, mm_per_point: f64) -> f64 {
        let (least, most) = (self.diagonal * 1e-5, self.diagonal * 0.1);
        if mm_per_point.is_finite() { mm_per_point.clamp(least, most) } else { most }
    }

    /// The direction of looking.
    #[must_use]
    pub fn view(&self) -> View {
        View::from_angles(self.azimuth, self.elevation)
    }

    /// Degrees round from the front toward the viewer's right, and above level.
    #[must_use]
    pub fn angles(&self) -> [f64; 2] {
        [self.azimuth, self.elevation]
    }

    /// Scene millimetres for one point of the screen.
    #[must_use]
    pub fn mm_per_point(&self) -> f64 {
        self.mm_per_point
    }

    /// The scene point in the middle of the pane.
    #[must_use]
    pub fn centre(&self) -> Point3<f64> {
        self.centre
    }

    /// Turns the figure as if the hand on the screen held its near side.
    pub fn orbit(&mut self, by: [f64; 2]) {
        if by.iter().all(|d| d.is_finite()) {
            self.azimuth = wrapped(self.azimuth - by[0] * TURN);
            self.elevation = (self.elevation + by[1] * TURN).clamp(-90.0, 90.0);
        }
    }

    /// Moves the figure with the hand.
    pub fn pan(&mut self, by: [f64; 2]) {
        if by.iter().all(|d| d.is_finite()) {
            let view = self.view();
            let step = view.right() * -by[0] + view.up() * by[1];
            self.centre += step * self.mm_per_point;
            self.fits = false;
            // The figure never leaves for good.
            let off = self.centre - self.middle;
            if off.norm() > self.diagonal {
                self.centre = self.middle + off * (self.diagonal / off.norm());
            }
        }
    }

    /// Brings the figure nearer by a factor (above 1), keeping the scene point
    /// under a place of the screen where it is.
    pub fn zoom(&mut self, factor: f64, at: [f64; 2], size: [f64; 2]) {
        if !(factor.is_finite() && factor > 0.0) {
            return;
        }
        self.fits = false;
        let before = self.mm_per_point;
        self.mm_per_point = self.bounded(before / factor);
        let change = before - self.mm_per_point;
        let view = self.view();
        let off = [at[0] - size[0] * 0.5, size[1] * 0.5 - at[1]];
        self.centre += (view.right() * off[0] + view.up() * off[1]) * change;
    }

    /// Looks from a side of the guide; zoom and middle stay.
    pub fn snap(&mut self, side: Side) {
        (self.azimuth, self.elevation) = side.angles();
    }

    /// Looks at a point of the surface from where its normal points, but never from below nor from
    /// straight above; zoom stays.
    pub fn face(&mut self, point: Point3<f64>, normal: Vector3<f64>) {
        /// Degrees above level, at most.
        const STEEP: f64 = 60.0;
        if point.coords.iter().chain(normal.iter()).all(|x| x.is_finite()) {
            if normal.xy().norm() > 1e-6 {
                self.azimuth = wrapped(normal.x.atan2(-normal.y).to_degrees());
            }
            let rise = normal.z.atan2(normal.xy().norm()).to_degrees();
            self.elevation = rise.clamp(0.0, STEEP);
            self.centre = point;
            self.fits = false;
        }
    }

    /// The same point from all round, nearest ways first: by eighths of a turn, level to steep.
    pub(crate) fn round_about(&self) -> impl Iterator<Item = Self> + '_ {
        let ways = [0.0, 45.0, -45.0, 90.0, -90.0, 135.0, -135.0, 180.0];
        let each = move |way| [0.0, 20.0, 40.0, 60.0].map(|rise| (way, rise));
        ways.into_iter().flat_map(each).map(|(way, elevation)| Self {
            azimuth: wrapped(self.azimuth + way),
            elevation,
            ..*self
        })
    }

    /// The camera a share `t` (0 to 1) of the way to another, the shorter way round.
    #[must_use]
    pub fn toward(&self, other: &Self, t: f64) -> Self {
        let t = t.clamp(0.0, 1.0);
        let mix = |a: f64, b: f64| a + (b - a) * t;
        Self {
            azimuth: wrapped(self.azimuth + wrapped(other.azimuth - self.azimuth) * t),
            elevation: mix(self.elevation, other.elevation),
            centre: self.centre + (other.centre - self.centre) * t,
            mm_per_point: self.mm_per_point.powf(1.0 - t) * other.mm_per_point.powf(t),
            ..*other
        }
    }

    /// The line of sight through a place of the screen.
    #[must_use]
    pub fn line(&self, at: [f64; 2], size: [f64; 2]) -> Line {
        let view = self.view();
        let off = [at[0] - size[0] * 0.5, size[1] * 0.5 - at[1]];
        let on_plane = self.centre + (view.right() * off[0] + view.up() * off[1]) * self.mm_per_point;
        Line { origin: on_plane + view.toward() * (4.0 * self.diagonal), direction: -view.toward() }
    }

    /// Where a scene point is on the screen, and how many millimetres it lies
    /// in front of the middle (more is nearer).
    #[must_use]
    pub fn project(&self, point: Point3<f64>, size: [f64; 2]) -> [f64; 3] {
        let view = self.view();
        let off = point - self.centre;
        [
            size[0] * 0.5 + off.dot(&view.right()) / self.mm_per_point,
            size[1] * 0.5 - off.dot(&view.up()) / self.mm_per_point,
            off.dot(&view.toward()),
        ]
    }

    /// From scene millimetres to the cube from −1 to 1 that is drawn: three
    /// rows of four numbers (x right, y up, z away from the viewer).
    #[must_use]
    pub fn clip_from_scene(&self, size: [f64; 2]) -> [[f64; 4]; 3] {
        let view = self.view();
        let row = |axis: Vector3<f64>, scale: f64| {
            [axis.x * scale, axis.y * scale, axis.z * scale, -axis.dot(&self.centre.coords) * scale]
        };
        let depth = 1.0 / (4.0 * self.diagonal);
        [
            row(view.right(), 2.0 / (self.mm_per_point * size[0].max(1.0))),
            row(view.up(), 2.0 / (self.mm_per_point * size[1].max(1.0))),
            row(-view.toward(), depth),
        ]
    }
}

/// An angle in degrees as −180 to 180.
fn wrapped(degrees: f64) -> f64 {
    let d = (degrees + 180.0).rem_euclid(360.0) - 180.0;
    if d.is_finite() { d } else { 0.0 }
}

/// The longest round length (1, 2 or 5 times a power of ten, in mm) whose bar
/// is at most `most` points long, and how long its bar is.
#[must_use]
pub fn size_bar(mm_per_point: f64, most: f64) -> (f64, f64) {
    let longest = mm_per_point * most;
    if !(longest.is_finite() && longest > 0.0) {
        return (1.0, 0.0);
    }
    let power = 10.0_f64.powf(longest.log10().floor());
    let mm = [5.0, 2.0, 1.0].map(|m| m * power).into_iter().find(|mm| *mm <= longest).unwrap_or(power);
    (mm, mm / mm_per_point)
}

#[cfg(test)]
mod tests {
    use super::*;

    const SIZE: [f64; 2] = [800.0, 600.0];

    fn bounds() -> Bounds {
        Bounds { low: [-10.0, -8.0, 0.0], high: [10.0, 8.0, 54.0] }
    }

    fn cameras() -> Vec<Camera> {
        let mut all: Vec<Camera> = Side::ALL.iter().map(|s| Camera::fit(&bounds(), *s, SIZE)).collect();
        let mut odd = all[0];
        odd.orbit([123.0, -45.0]);
        odd.pan([30.0, 12.0]);
        odd.zoom(2.5, [100.0, 500.0], SIZE);
        all.push(odd);
        all
    }

    #[test]
    fn a_figure_that_fits_is_to_stay_so_until_it_is_moved_or_come_nearer_to() {
        let bounds = Bounds { low: [-1.0, -1.0, 0.0], high: [1.0, 1.0, 4.0] };
        let fresh = Camera::fit(&bounds, Side::Front, [800.0, 600.0]);
        let mut turned = fresh;
        turned.orbit([40.0, 10.0]);
        assert!(fresh.fits() && turned.fits());
        let (mut moved, mut nearer) = (fresh, fresh);
        moved.pan([3.0, 0.0]);
        nearer.zoom(1.1, [400.0, 300.0], [800.0, 600.0]);
        assert!(!moved.fits() && !nearer.fits());
        nearer.fill(&bounds, [800.0, 600.0]);
        assert!(nearer.fits());
    }

    #[test]
    fn a_fitted_box_lies_within_the_pane_and_fills_it() {
        for side in Side::ALL {
            let camera = Camera::fit(&bounds(), side, SIZE);
            let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
            for i in 0..8 {
                let b = bounds();
                let pick = |k: usize| f64::from(if i >> k & 1 == 0 { b.low[k] } else { b.high[k] });
                let [x, y, _] = camera.project(Point3::new(pick(0), pick(1), pick(2)), SIZE);
                (low, high) = ([low[0].min(x), low[1].min(y)], [high[0].max(x), high[1].max(y)]);
            }
            assert!(low[0] >= 0.0 && low[1] >= 0.0 && high[0] <= SIZE[0] && high[1] <= SIZE[1], "{side:?}");
            // It takes all the room there is across, or all between the bars.
            let used = [
                (high[0] - low[0]) / (SIZE[0] * (1.0 - MARGIN)),
                (high[1] - low[1]) / (SIZE[1] - BARS.max(SIZE[1] * MARGIN)),
            ];
            assert!((used[0].max(used[1]) - 1.0).abs() < 1e-9, "{side:?}: {used:?}");
        }
    }

    #[test]
    fn a_line_of_sight_passes_the_point_that_is_seen_there() {
        for camera in cameras() {
            for at in [[400.0, 300.0], [10.0, 590.0], [777.0, 3.0]] {
                let line = camera.line(at, SIZE);
                for way in [1.0, 40.0, 300.0] {
                    let [x, y, _] = camera.project(line.origin + line.direction * way, SIZE);
                    assert!((x - at[0]).abs() < 1e-6 && (y - at[1]).abs() < 1e-6);
                }
            }
        }
    }

    #[test]
    fn the_drawn_cube_agrees_with_the_projection() {
        let point = Point3::new(3.0, -7.0, 41.0);
        for camera in cameras() {
            let rows = camera.clip_from_scene(SIZE);
            let clip = rows.map(|r| r[0] * point.x + r[1] * point.y + r[2] * point.z + r[3]);
            let [x, y, near] = camera.project(point, SIZE);
            assert!((clip[0] - (x / SIZE[0] * 2.0 - 1.0)).abs() < 1e-9);
            assert!((clip[1] - (1.0 - y / SIZE[1] * 2.0)).abs() < 1e-9);
            assert!(clip[2].abs() < 1.0 && (clip[2] * near <= 0.0), "{} {near}", clip[2]);
        }
    }

    #[test]
    fn the_near_side_follows_the_hand() {
        let mut camera = Camera::fit(&bounds(), Side::Front, SIZE);
        // A point on the figure's front.
        let nose = Point3::new(0.0, -8.0, 30.0);
        let before = camera.project(nose, SIZE);
        camera.orbit([25.0, 0.0]);
        assert!(camera.project(nose, SIZE)[0] > before[0], "dragging right turns the front to the right");
        let mut camera = Camera::fit(&bounds(), Side::Front, SIZE);
        camera.orbit([0.0, 25.0]);
        assert!(camera.project(nose, SIZE)[1] > before[1], "dragging down tips the front down");
        let mut camera = Camera::fit(&bounds(), Side::ThreeQuarter, SIZE);
        let before = camera.project(nose, SIZE);
        camera.pan([12.0, -7.0]);
        let after = camera.project(nose, SIZE);
        assert!((after[0] - before[0] - 12.0).abs() < 1e-9 && (after[1] - before[1] + 7.0).abs() < 1e-9);
    }

    #[test]
    fn zooming_keeps_what_is_under_the_pointer() {
        for mut camera in cameras() {
            let at = [200.0, 450.0];
            let line = camera.line(at, SIZE);
            camera.zoom(1.7, at, SIZE);
            let [x, y, _] = camera.project(line.origin, SIZE);
            assert!((x - at[0]).abs() < 1e-6 && (y - at[1]).abs() < 1e-6);
        }
    }

    #[test]
    fn nothing_loses_the_figure_or_makes_numbers_that_are_none() {
        let mut camera = Camera::fit(&bounds(), Side::Front, SIZE);
        for by in [[f64::NAN, 0.0], [f64::INFINITY, 1.0], [1e300, -1e300]] {
            camera.orbit(by);
            camera.pan(by);
        }
        for factor in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e300, 1e-300] {
            camera.zoom(factor, [0.0, 0.0], SIZE);
        }
        for _ in 0..1000 {
            camera.pan([500.0, 500.0]);
        }
        assert!((camera.centre() - camera.middle).norm() <= camera.diagonal * 1.000_001);
        assert!(camera.clip_from_scene(SIZE).iter().flatten().all(|x| x.is_finite()));
        let flat = Bounds { low: [0.0; 3], high: [0.0; 3] };
        let camera = Camera::fit(&flat, Side::Front, [0.0, 0.0]);
        assert!(camera.clip_from_scene([0.0, 0.0]).iter().flatten().all(|x| x.is_finite()));
    }

    #[test]
    fn snapping_shows_the_guides_view_and_turning_goes_the_short_way() {
        for side in Side::ALL {
            let mut camera = cameras()[6];
            camera.snap(side);
            assert!((camera.view().toward() - side.view().toward()).norm() < 1e-12, "{side:?}");
        }
        let (mut a, mut b) = (cameras()[0], cameras()[0]);
        (a.azimuth, b.azimuth) = (170.0, -170.0);
        assert!((a.toward(&b, 0.5).azimuth.abs() - 180.0).abs() < 1e-9);
        assert_eq!(a.toward(&b, 1.0).azimuth, -170.0);
    }

    #[test]
    fn the_size_bar_is_a_round_length_that_fits() {
        for i in 0..200 {
            let scale = 10.0_f64.powf(f64::from(i) / 25.0 - 4.0);
            let (mm, points) = size_bar(scale, 150.0);
            assert!(points <= 150.0 + 1e-9 && points > 150.0 / 2.6, "{scale}: {points}");
            let lead = mm / 10.0_f64.powf(mm.log10().floor() + 1e-12);
            assert!([1.0, 2.0, 5.0, 10.0].iter().any(|m| (lead - m).abs() < 1e-6), "{mm}");
        }
        assert_eq!(size_bar(f64::NAN, 100.0).1, 0.0);
    }
}
