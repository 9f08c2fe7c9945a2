//! Drafts: at once no darker than an open surface allows, at the end the same
//! light as the plan, to the bit; and lamps that shine through a piece.

use grisaille_base::{LightId, Millimetres, Watch};
use grisaille_bodies::{cuboid, icosphere, inside_out, moved, scaled, stl};
use grisaille_mesh::{ReadSettings, read};
use grisaille_plan::{Draft, Effort, Products, draft, draft_in_rounds, plan};
use grisaille_scheme::{Scheme, SurfaceChoice};
use std::sync::Arc;

fn products(soup: &[grisaille_bodies::Triangle]) -> Products {
    let (mesh, _) = read(&stl(soup), &ReadSettings::default(), &Watch::quiet()).expect("a mesh");
    Products::new(Arc::new(mesh))
}

fn scheme() -> Scheme {
    let usual = Scheme::default();
    let surface = SurfaceChoice { spacing: Some(Millimetres(0.8)), ..usual.surface };
    let mut scheme = Scheme { surface, ..usual };
    scheme.add_lamp("lamp", [0.0, -14.0, 10.0], None, Millimetres(0.0)).expect("a lamp");
    scheme
}

fn ball_on_plate() -> Vec<grisaille_bodies::Triangle> {
    let mut soup = moved(scaled(icosphere(3), 6.0), [0.0, 0.0, 8.0]);
    soup.extend(cuboid([-10.0, -10.0, 0.0], [10.0, 10.0, 3.0]));
    soup
}

fn rounds(scheme: &Scheme, products: &mut Products) -> Vec<Draft> {
    let mut heard = Vec::new();
    draft_in_rounds(scheme, products, &Watch::quiet(), &mut |d| heard.push(d)).expect("not stopped");
    heard
}

#[test]
fn the_last_round_is_the_plan_to_the_bit() {
    let (scheme, mut products) = (scheme(), products(&ball_on_plate()));
    let heard = rounds(&scheme, &mut products);
    assert!(heard.len() > 2);
    let last = heard.last().expect("a draft");
    assert!(last.lights.iter().all(|l| l.effort == Effort::Fine));
    let made = plan(&scheme, &mut products, &Watch::quiet()).expect("a plan");
    assert_eq!(last.lightness, made.values.lightness);
    assert_eq!(last.fit, made.values.fit);
    for (draft, exposure) in last.lights.iter().zip(&made.exposure.lights) {
        assert_eq!(draft.exposure, exposure.values);
    }
    // Bands are cut where the plan cuts them, but for its evening and its bins.
    for (a, b) in last.borders.iter().zip(&made.bands.borders) {
        assert!((a - b).abs() < 6.0, "{:?} {:?}", last.borders, made.bands.borders);
    }
    // What is known is not computed again: one round, and it is the last.
    assert_eq!(rounds(&scheme, &mut products).len(), 1);
}

#[test]
fn at_once_direct_light_is_exact_and_the_sky_is_open() {
    let (scheme, mut products) = (scheme(), products(&ball_on_plate()));
    let watch = Watch::quiet();
    let first = draft(&scheme, Some(LightId(3)), &mut products, &watch).expect("a draft");
    assert!(first.lights.iter().all(|l| l.effort == Effort::Instant));
    let heard = rounds(&scheme, &mut products);
    let last = heard.last().expect("a draft");
    for (quick, fine) in first.lights.iter().zip(&last.lights) {
        for (a, b) in quick.exposure.iter().zip(fine.exposure.iter()) {
            match quick.id {
                // A sharp sun and a point lamp need one direction and no more.
                LightId(0 | 3) => assert_eq!(a, b),
                // Whatever stands in the way only takes light away.
                _ => assert!(a + 1e-4 >= *b, "{:?}: {a} {b}", quick.id),
            }
        }
    }
}

#[test]
fn a_moved_lamp_leaves_the_other_lights_alone() {
    let (mut scheme, mut products) = (scheme(), products(&ball_on_plate()));
    let before = rounds(&scheme, &mut products).pop().expect("a draft");
    if let grisaille_scheme::LightChoice::Lamp { at, .. } = &mut scheme.lights[3].choice {
        at[0] += 5.0;
    }
    let moved = draft(&scheme, Some(LightId(3)), &mut products, &Watch::quiet()).expect("a draft");
    for k in 0..3 {
        assert!(Arc::ptr_eq(&before.lights[k].exposure, &moved.lights[k].exposure));
    }
    assert_ne!(before.lights[3].exposure, moved.lights[3].exposure);
}

#[test]
fn a_lamp_shines_through_the_piece_that_is_pointed_at() {
    // A lamp walled in by a hollow shell, a plate below.
    let shell = moved(scaled(icosphere(3), 4.0), [0.0, 0.0, 12.0]);
    let mut soup = shell.clone();
    soup.extend(inside_out(moved(scaled(icosphere(3), 3.5), [0.0, 0.0, 12.0])));
    soup.extend(cuboid([-8.0, -8.0, 0.0], [8.0, 8.0, 2.0]));
    let mut products = products(&soup);
    let mut scheme = scheme();
    if let grisaille_scheme::LightChoice::Lamp { at, .. } = &mut scheme.lights[3].choice {
        *at = [0.0, 0.0, 12.0];
    }
    let on_plate = |d: &Draft, products: &mut Products| {
        let ground = grisaille_plan::ground(&self::scheme(), products, &Watch::quiet()).expect("a ground");
        let lit = |i: &usize| {
            let (p, n) = (ground.surface.samples.position[*i], ground.surface.samples.normal[*i]);
            (p.z - 2.0).abs() < 1e-3 && n.z > 0.9
        };
        (0..d.lightness.len()).filter(lit).map(|i| f64::from(d.lights[3].exposure[i])).sum::<f64>()
    };
    let walled = draft(&scheme, None, &mut products, &Watch::quiet()).expect("a draft");
    assert_eq!(on_plate(&walled, &mut products), 0.0);
    // Both walls of the shell let it through.
    scheme.lights[3].through = vec![[0.0, 0.0, 16.0], [0.0, 0.0, 15.5]];
    let open = draft(&scheme, None, &mut products, &Watch::quiet()).expect("a draft");
    assert!(on_plate(&open, &mut products) > 10.0, "{}", on_plate(&open, &mut products));
}
