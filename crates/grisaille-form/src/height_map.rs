//! A figure as a brush meets it from one side: how far each place stands out
//! toward the brush.

use grisaille_base::{Stop, Watch};
use grisaille_mesh::Mesh;
use nalgebra::{Point3, Vector3};

/// The height where nothing stands.
pub const NOTHING: f32 = f32::NEG_INFINITY;
/// The most cells along a side: more only costs time.
const MOST: f64 = 1400.0;

/// Heights over a plane across the direction from which the brush comes. Cells
/// lie in rows along `right`; rows run along `up`.
pub struct HeightMap {
    /// Toward the brush, and the two directions of the plane: right and up for
    /// a painter who looks at this side. Unit vectors.
    pub toward: Vector3<f64>,
    /// To the painter's right.
    pub right: Vector3<f64>,
    /// Up, across the side.
    pub up: Vector3<f64>,
    /// The side of a cell in mm.
    pub cell: f64,
    /// Cells in a row.
    pub columns: usize,
    /// Rows.
    pub rows: usize,
    /// Right and up of the middle of cell 0, mm.
    corner: [f64; 2],
    /// The highest point over the middle of each cell, mm along `toward`;
    /// [`NOTHING`] where there is none.
    pub height: Vec<f32>,
}

impl HeightMap {
    /// The map of a mesh from a side: `tilt` and `azimuth` in degrees as those
    /// of light. A rim of `rim_mm` all round stays empty.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn of(
        mesh: &Mesh,
        [tilt, azimuth]: [f64; 2],
        cell: f64,
        rim_mm: f64,
        watch: &Watch,
    ) -> Result<Self, Stop> {
        let (s, c) = azimuth.to_radians().sin_cos();
        let right = Vector3::new(c, s, 0.0);
        Self::across(mesh, grisaille_light::toward(tilt, azimuth).into_inner(), right, [cell, rim_mm], watch)
    }

    /// The map across a direction; `right` is a unit vector at right angles to it.
    /// Cells of `cell` mm, a rim of `rim_mm` all round stays empty.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn across(
        mesh: &Mesh,
        toward: Vector3<f64>,
        right: Vector3<f64>,
        [cell, rim_mm]: [f64; 2],
        watch: &Watch,
    ) -> Result<Self, Stop> {
        let up = toward.cross(&right);
        let flat = |p: &Point3<f32>| {
            let p = p.coords.cast::<f64>();
            [p.dot(&right), p.dot(&up), p.dot(&toward)]
        };
        let (mut low, mut high) = ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
        for p in mesh.positions() {
            let p = flat(p);
            for k in 0..2 {
                low[k] = low[k].min(p[k]);
                high[k] = high[k].max(p[k]);
            }
        }
        let widest = (high[0] - low[0]).max(high[1] - low[1]).max(0.0) + 2.0 * rim_mm;
        let cell = cell.max(widest / MOST).max(f64::MIN_POSITIVE);
        let cells =
            |k: usize| ((high[k] - low[k] + 2.0 * rim_mm) / cell).ceil().clamp(1.0, MOST) as usize + 1;
        let (columns, rows) = (cells(0), cells(1));
        let corner = [low[0] - rim_mm, low[1] - rim_mm];
        let mut height = vec![NOTHING; columns * rows];
        for (f, face) in mesh.faces().iter().enumerate() {
            if f % 65536 == 0 {
                watch.check()?;
            }
            let [a, b, c] = face.map(|v| {
                let [x, y, z] = flat(&mesh.positions()[v as usize]);
                [(x - corner[0]) / cell, (y - corner[1]) / cell, z]
            });
            let twice = (b[0] - a[0]) * (c[1] - a[1]) - (c[0] - a[0]) * (b[1] - a[1]);
            if twice == 0.0 {
                continue;
            }
            let span = |k: usize, most: usize| {
                let from = a[k].min(b[k]).min(c[k]).ceil().max(0.0) as usize;
                let to = (a[k].max(b[k]).max(c[k]).floor().max(-1.0) + 1.0) as usize;
                from..to.min(most)
            };
            for y in span(1, rows) {
                for x in span(0, columns) {
                    let (px, py) = (x as f64, y as f64);
                    let side = |p: [f64; 3], q: [f64; 3]| {
                        ((q[0] - p[0]) * (py - p[1]) - (px - p[0]) * (q[1] - p[1])) / twice
                    };
                    let [wa, wb, wc] = [side(b, c), side(c, a), side(a, b)];
                    // On a shared edge both faces count, so that no hole is left.
                    if wa >= -1e-9 && wb >= -1e-9 && wc >= -1e-9 {
                        let z = (wa * a[2] + wb * b[2] + wc * c[2]) as f32;
                        let at = &mut height[y * columns + x];
                        *at = at.max(z);
                    }
                }
            }
        }
        Ok(Self { toward, right, up, cell, columns, rows, corner, height })
    }

    /// Where a point lies over the map, in cells right and up, and its height.
    #[must_use]
    pub fn place(&self, p: Point3<f32>) -> [f64; 3] {
        let p = p.coords.cast::<f64>();
        [
            (p.dot(&self.right) - self.corner[0]) / self.cell,
            (p.dot(&self.up) - self.corner[1]) / self.cell,
            p.dot(&self.toward),
        ]
    }
}

/// Heights with every recess filled that a square of `2 · reach + 1` cells
/// cannot enter: a dilation, then an erosion by it (the closing of
/// mathematical morphology, J. Serra, "Image Analysis and Mathematical
/// Morphology", 1982).
#[must_use]
pub fn closed(map: &HeightMap, reach: usize) -> Vec<f32> {
    let widest =
        |field: &[f32]| along(&along(field, map, reach, true, f32::max), map, reach, false, f32::max);
    let narrowest =
        |field: &[f32]| along(&along(field, map, reach, true, f32::min), map, reach, false, f32::min);
    narrowest(&widest(&map.height))
}

/// The greatest or least of each window of `2 · reach + 1` cells along a row
/// or a column; cells beyond the map do not count.
fn along(field: &[f32], map: &HeightMap, reach: usize, in_rows: bool, of: fn(f32, f32) -> f32) -> Vec<f32> {
    let (columns, rows) = (map.columns, map.rows);
    let (lines, length, step) = if in_rows { (rows, columns, 1) } else { (columns, rows, columns) };
    let start = |line: usize| if in_rows { line * columns } else { line };
    let mut out = vec![0.0_f32; field.len()];
    // Running extremes from both ends of stretches as long as the window (M.
    // van Herk, "A fast algorithm for local minimum and maximum filters",
    // Pattern Recognition Letters 13, 1992): three steps a cell at any reach.
    let window = 2 * reach + 1;
    let mut ahead = vec![0.0_f32; length];
    let mut back = vec![0.0_f32; length];
    for line in 0..lines {
        let value = |i: usize| field[start(line) + i * step];
        for i in 0..length {
            ahead[i] = if i % window == 0 { value(i) } else { of(ahead[i - 1], value(i)) };
        }
        for i in (0..length).rev() {
            back[i] =
                if i + 1 == length || (i + 1) % window == 0 { value(i) } else { of(back[i + 1], value(i)) };
        }
        for i in 0..length {
            let (low, high) = (i.saturating_sub(reach), (i + reach).min(length - 1));
            out[start(line) + i * step] = if low / window == high / window && i < reach {
                // The window hangs over the beginning: the stretch starts with it.
                ahead[high]
            } else if low / window == high / window {
                if low % window == 0 { ahead[high] } else { back[low] }
            } else {
                of(back[low], ahead[high])
            };
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use grisaille_bodies::{cuboid, stl};
    use grisaille_mesh::{ReadSettings, read};

    fn map(soup: &[grisaille_bodies::Triangle], side: [f64; 2], cell: f64) -> HeightMap {
        let watch = Watch::quiet();
        let (mesh, _) = read(&stl(soup), &ReadSettings::default(), &watch).unwrap();
        HeightMap::of(&mesh, side, cell, 1.0, &watch).unwrap()
    }

    #[test]
    fn a_box_is_as_high_as_it_is_and_as_wide() {
        let m = map(&cuboid([-2.0, -3.0, 0.0], [2.0, 3.0, 5.0]), [0.0, 0.0], 0.25);
        let some: Vec<f32> = m.height.iter().copied().filter(|h| *h > NOTHING).collect();
        assert!(some.iter().all(|h| (*h - 5.0).abs() < 1e-6));
        // Cells whose middles lie on or in 4 × 6 mm, a quarter of a mm apart.
        assert_eq!(some.len(), 17 * 25);
        let front = map(&cuboid([-2.0, -3.0, 0.0], [2.0, 3.0, 5.0]), [90.0, 0.0], 0.25);
        assert!(front.height.iter().all(|h| *h == NOTHING || (*h - 3.0).abs() < 1e-6));
        assert!((front.up - Vector3::z()).norm() < 1e-12 && (front.right - Vector3::x()).norm() < 1e-12);
    }

    #[test]
    fn windows_give_what_counting_gives() {
        let mut m = map(&cuboid([0.0; 3], [5.0, 3.0, 1.0]), [0.0, 0.0], 0.2);
        for (i, h) in m.height.iter_mut().enumerate() {
            *h = (i * 7919 % 1013) as f32;
        }
        for reach in [0, 1, 2, 5, 40] {
            for in_rows in [true, false] {
                let (most, least) = (
                    along(&m.height, &m, reach, in_rows, f32::max),
                    along(&m.height, &m, reach, in_rows, f32::min),
                );
                for y in 0..m.rows {
                    for x in 0..m.columns {
                        let (at, length) = if in_rows { (x, m.columns) } else { (y, m.rows) };
                        let window = at.saturating_sub(reach)..=(at + reach).min(length - 1);
                        let value =
                            |i: usize| m.height[if in_rows { y * m.columns + i } else { i * m.columns + x }];
                        let all = || window.clone().map(value);
                        assert_eq!(
                            most[y * m.columns + x],
                            all().fold(f32::MIN, f32::max),
                            "{x} {y} {reach}"
                        );
                        assert_eq!(least[y * m.columns + x], all().fold(f32::MAX, f32::min));
                    }
                }
            }
        }
    }
}
