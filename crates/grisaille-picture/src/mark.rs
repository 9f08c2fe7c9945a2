//! Marked areas: the figure pale, and only what a step of work is about in its colour.

use crate::{Areas, Hit, Pattern, Scene, Shaded};
use grisaille_base::{Stop, Watch};
use grisaille_colour::LinearRgb;
use nalgebra::Vector3;

/// How a marked area is filled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mark {
    /// Its colour, flat.
    pub colour: LinearRgb,
    /// A pattern over it, so that it is told apart in monochrome too.
    pub pattern: Pattern,
}

/// The darkest and the lightest L* of the pale figure, in so many flat steps: form shows and no
/// area is mistaken for a marked one.
const PALE: (f64, f64, f64) = (78.0, 97.0, 6.0);

impl Scene<'_> {
    /// The label of what is seen and not marked, in [`Shaded::areas`].
    pub const UNMARKED: u16 = u16::MAX - 1;

    /// Shades the view pale, with some areas marked: `of` gives the label of a spot, below
    /// [`Scene::UNMARKED`], or `None` where it is not marked; `mark` how a label is filled. Borders
    /// and outlines are left to [`Scene::lines_over`].
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn marked(
        &self,
        of: impl Fn(&Hit) -> Option<u16> + Sync,
        mark: impl Fn(u16) -> Mark + Sync,
        watch: &Watch,
    ) -> Result<Shaded, Stop> {
        let items = self.items();
        let label = |hit: &Hit| of(hit).unwrap_or(Self::UNMARKED);
        let areas = Areas::of(items, |hit| Some(label(hit)), watch)?;
        // Light from over the viewer's left shoulder shows the form.
        let view = self.frame().view();
        let light: Vector3<f64> = (view.toward() + 0.6 * view.up() - 0.4 * view.right()).normalize();
        let normals = &self.plan().surface.samples.normal;
        let unmarked = |hit: &Hit| {
            let normal = hit.mix_vectors(normals).cast::<f64>();
            let facing = (normal.dot(&light) / normal.norm().max(f64::MIN_POSITIVE)).abs().min(1.0);
            let (dark, pale, steps) = PALE;
            crate::look::tone(dark + (pale - dark) * (facing * steps).floor() / steps)
        };
        let flat = |label: u16| (label < Self::UNMARKED).then(|| mark(label).colour);
        let mut image = items.shade_areas((LinearRgb::WHITE, &areas), flat, unmarked, watch)?;
        let pitch = self.pixels_per_paper_mm() as f32;
        let over = |label: u16| {
            let mark = (label < Self::UNMARKED).then(|| mark(label))?;
            (mark.pattern != Pattern::Plain).then(|| (mark.pattern, Pattern::ink_on(mark.colour)))
        };
        areas.patterns(&mut image, pitch, over, watch)?;
        Ok(Shaded { image, areas: Some(areas) })
    }
}
