//! The brush: what is finer than its tip is evened out of bands and zones.

use crate::island::without_islands;
use crate::kept::Kept;
use crate::neighbours::Neighbours;
use grisaille_base::{Stop, Watch};
use grisaille_mesh::Mesh;
use grisaille_scheme::BrushChoice;
use grisaille_sight::{Surface, default_spacing};

/// So many dots of the brush tip are too few to mix a paint for (ours).
const FEW: f64 = 6.0;

/// How fine bands and zones may be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Brush {
    /// The radius in mm of the disc that they are evened out over; 0 for none.
    pub radius_mm: f64,
    /// Areas smaller than this many mm² are given to a neighbour; 0 keeps all.
    pub smallest_mm2: f64,
    /// Cast shadows narrower than this many mm are not painted; 0 keeps all.
    pub thinnest_shadow_mm: f64,
}

impl Brush {
    /// With defaults filled in for a mesh.
    ///
    /// The default radius is 0.3 mm on a 32 mm figure: the smallest line that
    /// a good small round brush draws with ease is about half a millimetre
    /// wide (common practice; no published source). A larger figure is painted
    /// with a larger brush, so it grows with the height, as the surface's
    /// spacing does, and stays one and a half times that.
    #[must_use]
    pub fn of(choice: &BrushChoice, mesh: &Mesh) -> Self {
        let radius_mm = choice.radius.map_or(1.5 * default_spacing(mesh).0, |r| r.0);
        let touch = std::f64::consts::PI * radius_mm * radius_mm;
        Self {
            radius_mm,
            smallest_mm2: choice.smallest_mm2.unwrap_or(2.0 * touch),
            thinnest_shadow_mm: choice.thinnest_shadow.map_or(2.0 * radius_mm, |w| w.0),
        }
    }
}

impl Brush {
    /// An area in mm² that is but a few dots of its tip: no paint is mixed for that or less.
    pub(crate) fn few_dots_mm2(&self) -> f64 {
        FEW * (std::f64::consts::PI * self.radius_mm * self.radius_mm)
    }

    /// Over how many mm, from and to, one light's colour is feathered into another's: one to three widths of its tip
    /// (common practice; no published source). None for a brush without a tip.
    #[must_use]
    pub fn feather_mm(&self) -> Option<[f64; 2]> {
        let tip = 2.0 * self.radius_mm;
        (tip > 0.0).then_some([tip, 3.0 * tip])
    }
}

/// A brush on a surface.
pub(crate) struct Evener {
    brush: Brush,
    neighbours: Neighbours,
    kept: Kept,
}

impl Evener {
    pub(crate) fn new(brush: Brush, kept: Kept, surface: &Surface) -> Self {
        Self { brush, neighbours: Neighbours::of(surface), kept }
    }

    /// The brush.
    pub(crate) fn brush(&self) -> Brush {
        self.brush
    }

    /// Which samples lie side by side.
    pub(crate) fn neighbours(&self) -> &Neighbours {
        &self.neighbours
    }

    /// Where nothing is evened out.
    pub(crate) fn kept(&self) -> &Kept {
        &self.kept
    }

    /// The field evened out along the surface, but for what is kept.
    pub(crate) fn even(&self, field: &[f32], watch: &Watch) -> Result<Vec<f32>, Stop> {
        let evened = self.neighbours.smoothed(field, self.brush.radius_mm, watch)?;
        Ok(self.kept.brought_back(evened, field))
    }

    /// Labels without areas that are too small to paint, but for what is kept.
    pub(crate) fn tidy(&self, labels: &mut [u8], watch: &Watch) -> Result<(), Stop> {
        without_islands(&self.neighbours, labels, self.brush.smallest_mm2, |i| self.kept.holds(i), watch)
    }
}
