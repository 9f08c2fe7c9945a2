//! The breastplate with its bolted rim, and the lead weights hung on it.

use crate::distance::{ball, blend, block, carve, common, drum, ellipsoid, ramp, rod};
use crate::meshing::Solid;
use crate::pose::{Frame, bearing, chest, leaving};
use fast_surface_nets::glam::Vec3;

/// Height of the lower rim in the chest's frame: low in front and behind,
/// raised over the arms.
fn rim_height(p: Vec3) -> f32 {
    35.2 - 4.4 * ramp(0.8, 5.4, p.y.abs()) * (1.0 - 0.35 * ramp(2.0, 7.0, p.x.abs()))
}

fn bell_of_plate(p: Vec3) -> f32 {
    let shoulders = ellipsoid(p, Vec3::new(0.0, 0.2, 34.3), Vec3::new(8.7, 6.2, 5.5));
    let neck = rod(p, Vec3::new(0.0, 0.0, 36.0), Vec3::new(0.0, -0.1, 41.0), 5.4, 4.9);
    blend(shoulders, neck, 1.6)
}

fn plate(p: Vec3) -> f32 {
    let skin = bell_of_plate(p);
    let rim = rim_height(p);
    // The slope of the cut is steep where it climbs over the arms.
    let cut = (rim - p.z) * 0.75;
    let body = common(skin, cut, 0.06);
    let above = ((p.z - rim) * 0.75 - 0.85).abs() - 0.85;
    let band = common(skin - 0.5, above, 0.06);
    common(body.min(band), p.z - 40.6, 0.06)
}

/// The breastplate as one solid.
pub(crate) fn corselet() -> Solid {
    let frame = chest();
    // Bolts sit in the middle of the rim band, at even bearings.
    let bolts: Vec<Frame> = (0..18)
        // Those under the two weights are left out.
        .filter(|i| ![0, 8, 9, 17].contains(i))
        .map(|i| {
            let out = bearing(20.0 * i as f32 + 10.0).extend(0.0);
            let mut height = 34.0;
            let mut at = Vec3::ZERO;
            for _ in 0..6 {
                at = leaving(|q| bell_of_plate(q) - 0.5, Vec3::new(0.0, 0.1, height), out, 12.0);
                height = rim_height(at) + 1.15;
            }
            Frame::aimed(at, out - Vec3::Z * 0.05, Vec3::Z)
        })
        .collect();
    let bounds = frame.bounds(Vec3::new(-9.2, -9.0, 26.0), Vec3::new(9.2, 8.8, 41.2));
    Solid::new(bounds, move |scene| {
        let p = frame.local(scene);
        let mut d = plate(p);
        for b in &bolts {
            let q = b.local(p);
            if q.length_squared() > 9.0 {
                d = d.min(q.length() - 1.0);
                continue;
            }
            let nut = drum(q - Vec3::new(0.0, 0.0, 0.1), 0.62, 0.32, 0.04);
            d = d.min(nut).min(ball(q, Vec3::new(0.0, 0.0, 0.38), 0.36));
        }
        d.min(weight(p, -1.0)).min(weight(p, 1.0))
    })
}

/// A shield-shaped lead weight, in front (`side` −1) or behind (1), on two
/// straps from studs on the plate.
fn weight(p: Vec3, side: f32) -> f32 {
    let q = Vec3::new(p.x, p.y * side, p.z) - Vec3::new(0.0, 6.35, 31.0);
    let q = Vec3::new(q.x, q.y + 0.12 * q.z, q.z);
    // Narrower toward the foot.
    let narrow = 1.0 + 0.22 * ramp(0.5, -3.2, q.z);
    let slab = block(Vec3::new(q.x * narrow, q.y, q.z), Vec3::new(2.7, 0.8, 2.75), 0.5) * 0.85;
    let panel = block(Vec3::new(q.x * narrow, q.y - 0.85, q.z), Vec3::new(1.95, 0.55, 1.95), 0.2) * 0.85;
    let slab = carve(slab, panel, 0.06);
    let boss = ball(q, Vec3::new(0.0, 0.2, 0.0), 0.85);
    let mut d = slab.min(boss);
    for x in [-1.7, 1.7] {
        let top = Vec3::new(x * 1.35, -1.3, 6.0);
        let hook = Vec3::new(x, -0.45, 2.4);
        d = d.min(rod(q, hook, top, 0.5, 0.5)).min(ball(q, top + Vec3::new(0.0, 0.2, 0.0), 0.8));
    }
    d
}
