//! Which band planned colours come out in: by each spot, and by what each step covers.

use grisaille_base::{Lightness, Millimetres, Watch};
use grisaille_bodies::{icosphere, moved, scaled, stl};
use grisaille_mesh::{ReadSettings, read};
use grisaille_plan::{Products, Shelf, coloured, plan};
use grisaille_scheme::{RegionPaint, RegionSource, RegionSpot, Scheme};
use grisaille_words::Words;
use std::sync::Arc;

/// Two balls of one size beside each other; the second is painted, the first only where `both`.
fn scheme(both: bool) -> Scheme {
    let mut scheme = Scheme::default();
    scheme.surface.spacing = Some(Millimetres(0.5));
    scheme.fineness.ambient_directions = 16;
    scheme.primer.wanted = false;
    scheme.regions.by = RegionSource::Pieces;
    let entry = |name: &str, colour: &str, x: f64| RegionPaint {
        name: name.into(),
        colour: colour.into(),
        at: vec![RegionSpot::Point([x, -6.0, 6.0])],
        ..RegionPaint::default()
    };
    scheme.colours.regions = vec![entry("dark", "#3a2a20", 20.0)];
    if both {
        scheme.colours.regions.push(entry("light", "#d8cfb4", 0.0));
    }
    scheme
}

#[test]
fn what_steps_cover_is_what_stands_on_the_figure() {
    let watch = Watch::quiet();
    let mut soup = moved(scaled(icosphere(4), 6.0), [0.0, 0.0, 6.0]);
    soup.extend(moved(scaled(icosphere(4), 6.0), [20.0, 0.0, 6.0]));
    let (mesh, _) = read(&stl(&soup), &ReadSettings::default(), &watch).unwrap();
    let mesh = Arc::new(mesh);
    for both in [true, false] {
        let scheme = scheme(both);
        let mut plan = plan(&scheme, &mut Products::new(Arc::clone(&mesh)), &watch).unwrap();
        let coloured = coloured(&scheme, &mut plan, &Shelf::empty(), Words::english(), &watch).unwrap();
        let colouring = &coloured.colouring;
        let shares: Vec<f64> = colouring.band_covers(&plan).iter().map(|band| band.share).collect();
        assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-9, "{shares:?}");
        // The same by the middle of each face.
        let mut areas = vec![0.0; shares.len()];
        for f in (0..plan.surface.faces.len()).filter(|f| plan.part_of_face[*f].is_painted()) {
            areas[colouring.band_at(&plan, f, [1.0 / 3.0; 3])] += plan.surface.face_area(f);
        }
        let all: f64 = areas.iter().sum();
        for (share, area) in shares.iter().zip(&areas) {
            assert!((share - area / all).abs() < 0.03, "{shares:?} {areas:?}");
        }
        // The dark ball holds half of the surface: no band beyond its lightest step needs to be there for that.
        let dark = &colouring.rows[0];
        let lightest = dark.ramp.iter().map(|step| step.shown().l).fold(0.0, f64::max);
        let low: f64 = shares[..=plan.bands.of_paint(Lightness(lightest))].iter().sum();
        assert!(low > 0.49, "{low}");
        let faces = (0..plan.surface.faces.len()).filter(|f| colouring.row_of_face(*f) == Some(0));
        let darkest = plan.bands.of_paint(Lightness(lightest));
        assert!(faces.into_iter().all(|f| colouring.band_at(&plan, f, [1.0 / 3.0; 3]) <= darkest));
    }
}

#[test]
fn a_tone_beyond_all_bands_is_in_the_one_at_that_end() {
    let watch = Watch::quiet();
    let (mesh, _) = read(&stl(&scaled(icosphere(2), 5.0)), &ReadSettings::default(), &watch).unwrap();
    let plan = plan(&scheme(false), &mut Products::new(Arc::new(mesh)), &watch).unwrap();
    let bands = &plan.bands;
    assert_eq!(bands.of_paint(Lightness(-5.0)), 0);
    assert_eq!(bands.of_paint(Lightness(120.0)), bands.rows.len() - 1);
    for (i, band) in bands.rows.iter().enumerate() {
        assert_eq!(bands.of_paint(band.low), i, "{band:?}");
    }
}
