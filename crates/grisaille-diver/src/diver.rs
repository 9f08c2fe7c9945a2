//! The whole diver: which pieces there are, how fine each is meshed, and the
//! places that pictures and tests ask for.

use crate::meshing::{Solid, shell};
use crate::pose::{LEFT_ARM, LEFT_LEG, RIGHT_ARM, RIGHT_LEG};
use crate::{belt, boot, corselet, glove, head, helmet, hose, lamp, reef, rope, suit};
use grisaille_base::{Millimetres, Stop, Watch};
use rayon::prelude::*;

/// Height from the underside of the base to the top of the helmet.
pub const HEIGHT: Millimetres = Millimetres(54.0);

/// The middle of the lamp's light in scene mm: in the open cage just under the
/// tip of the glass, outside every piece, open to face, chest, glove and reef.
pub const LAMP: [f32; 3] = [-10.8, -14.4, 34.9];

/// The tip of the diver's nose in scene mm.
pub const FACE: [f32; 3] = [-1.785, -6.954, 45.8];

/// How finely the diver is meshed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DiverSettings {
    /// Grid cell of the suit, 0.2 to 1.5 mm; the face, gloves and other small
    /// pieces use a finer one, the base a coarser one, in proportion. Values
    /// outside are taken as the nearest inside, and what is no number as the
    /// default.
    pub cell: Millimetres,
}

impl Default for DiverSettings {
    fn default() -> Self {
        Self { cell: Millimetres(0.38) }
    }
}

/// The demo model.
#[derive(Clone, Debug, PartialEq)]
pub struct Diver {
    /// Closed shells that overlap without being joined, always in the same
    /// order.
    pub pieces: Vec<DiverPiece>,
}

/// One piece of the sculpt: one closed shell.
#[derive(Clone, Debug, PartialEq)]
pub struct DiverPiece {
    /// What it is, such as `helmet`.
    pub name: &'static str,
    /// Corners in scene mm, counter-clockwise from outside.
    pub triangles: Vec<[[f32; 3]; 3]>,
}

/// Every piece: its name, its solid, and its cell as a share of the suit's.
fn solids() -> Vec<(&'static str, Solid, f32)> {
    vec![
        ("reef base", reef::reef(), 0.98),
        ("canvas suit", suit::suit(), 1.0),
        ("helmet", helmet::helmet(HEIGHT.0 as f32), 0.74),
        ("head", head::head(), 0.36),
        ("breastplate", corselet::corselet(), 0.85),
        ("weight belt", belt::belt(), 0.75),
        ("right glove", glove::glove(&RIGHT_ARM), 0.6),
        ("left glove", glove::glove(&LEFT_ARM), 0.6),
        ("rope", rope::rope(), 0.56),
        ("air hose", hose::hose(), 0.9),
        ("right boot", boot::boot(&RIGHT_LEG, 401), 0.68),
        ("left boot", boot::boot(&LEFT_LEG, 431), 0.68),
        ("hand lamp", lamp::lamp(), 0.6),
    ]
}

/// Sculpts the diver. The same settings give the same bits on any number of
/// threads.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn diver(settings: &DiverSettings, watch: &Watch) -> Result<Diver, Stop> {
    let asked = settings.cell.0;
    let cell = if asked.is_nan() { DiverSettings::default().cell.0 } else { asked.clamp(0.2, 1.5) } as f32;
    watch.check()?;
    let solids = solids();
    let span = watch.span("model", solids.len() as u64);
    let pieces = watch.run(|| {
        solids
            .par_iter()
            .with_max_len(1)
            .map(|(name, solid, share)| {
                let triangles = shell(solid, cell * share, watch)?;
                span.advance(1);
                span.count("triangles", triangles.len() as u64);
                Ok(DiverPiece { name, triangles })
            })
            .collect::<Result<Vec<_>, Stop>>()
    })?;
    Ok(Diver { pieces })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::pose;
    use fast_surface_nets::glam::Vec3;

    #[test]
    fn the_named_places_are_where_the_sculpt_has_them() {
        let nose = pose::head().scene(head::NOSE);
        assert!(nose.distance(Vec3::from(FACE)) < 0.05, "nose tip is at {nose}");
        let light = lamp::frame().scene(Vec3::NEG_Z * lamp::LIGHT_BELOW_GRIP);
        assert!(light.distance(Vec3::from(LAMP)) < 0.05, "light is at {light}");
        let on_skin = head::head().distance(Vec3::from(FACE)).abs();
        assert!(on_skin < 0.1, "{on_skin} mm off the skin");
    }

    #[test]
    fn the_lamp_sees_the_face_and_the_reef() {
        let solids = solids();
        let lamp = Vec3::from(LAMP);
        let clear = |to: Vec3| {
            let steps = (lamp.distance(to) / 0.05) as usize;
            (0..steps).all(|i| {
                let p = lamp.lerp(to, i as f32 / steps as f32);
                p.distance(to) < 0.3 || solids.iter().all(|(_, solid, _)| solid.distance(p) > 0.0)
            })
        };
        assert!(clear(Vec3::from(FACE)), "something stands between lamp and nose");
        let chest = Vec3::new(-3.5, -6.6, 35.0);
        assert!(clear(chest), "something stands between lamp and chest");
        // Most of the sand in front of the right boot.
        let sand: Vec<Vec3> = (0..25)
            .map(|i| Vec3::new(-8.0 + (i % 5) as f32, -12.0 + (i / 5) as f32, 0.0))
            .map(|p| p.with_z(reef::ground(p.x, p.y) + 0.8))
            .collect();
        let lit = sand.iter().filter(|p| clear(**p)).count();
        assert!(lit > 8, "{lit} of 25 places of the reef see the lamp");
        assert!(!clear(Vec3::new(0.0, 12.0, 30.0)), "the lamp cannot shine through the diver");
    }
}
