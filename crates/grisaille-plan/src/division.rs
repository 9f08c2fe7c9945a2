//! The scheme's regions in the words of the form.

use grisaille_base::{Stop, Watch};
use grisaille_form::{Anchor, Division, Edit, Ground, GroundSettings, Regions, Source};
use grisaille_mesh::Mesh;
use grisaille_scheme::{RegionChoice, RegionDeed, RegionSource, RegionSpot, RegionStep};
use grisaille_sight::Surface;
use nalgebra::{Point3, Vector3};

/// The division that a scheme asks for.
#[must_use]
pub fn division(choice: &RegionChoice) -> Division {
    let source = match (choice.by, choice.count) {
        (RegionSource::Pieces, _) => Source::Pieces,
        (RegionSource::File, _) => Source::File,
        (RegionSource::Shape, Some(count)) => Source::Level(count.into()),
        (RegionSource::Shape, None) => Source::Shape,
    };
    Division { source, edits: choice.steps.iter().filter_map(edit).collect() }
}

/// `None` of a step without a place, which checking a scheme does not let pass.
fn edit(step: &RegionStep) -> Option<Edit> {
    let at: Vec<Anchor> = step.at.iter().map(anchor).collect();
    let first = *at.first()?;
    let name = || step.name.clone().unwrap_or_default();
    Some(match step.deed {
        RegionDeed::Grow => Edit::Grow(name(), at),
        RegionDeed::Merge => Edit::Merge(at),
        RegionDeed::Split => Edit::Split(at),
        RegionDeed::Rename => Edit::Rename(first, name()),
        RegionDeed::Recolour => Edit::Recolour(first, step.colour?),
        RegionDeed::Lock => Edit::Lock(first),
        RegionDeed::Unlock => Edit::Unlock(first),
    })
}

/// The regions that a scheme divides a surface into, and the ground that they stand on.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn regions_of(
    choice: &RegionChoice,
    surface: &Surface,
    mesh: &Mesh,
    watch: &Watch,
) -> Result<(Ground, Regions), Stop> {
    let ground = Ground::of(surface, mesh, &GroundSettings::for_mesh(mesh), watch)?;
    let regions = ground.divide(&division(choice), watch)?;
    Ok((ground, regions))
}

pub(crate) fn anchor(spot: &RegionSpot) -> Anchor {
    match *spot {
        RegionSpot::Point(p) => Anchor { point: Point3::from(p).cast(), normal: None },
        RegionSpot::Facing([x, y, z, a, b, c]) => Anchor {
            point: Point3::new(x, y, z).cast(),
            normal: Vector3::new(a, b, c).try_normalize(1e-6).map(nalgebra::Matrix::cast),
        },
    }
}
