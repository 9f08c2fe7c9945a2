//! Curves, colours and differences against published tables.

mod tables;

use grisaille_colour::{
    Curve, Lab, LinearRgb, Oklch, SAMPLES, colour_of_curve, curve_from_linear, curve_of, difference, mixed,
    oklab, tristimulus, tristimulus_under, wavelength,
};
use tables::{close, number, table};

fn lab(cells: &[&str]) -> Lab {
    Lab::new(number(cells[0]), number(cells[1]), number(cells[2]))
}

/// The sRGB of IEC 61966-2-1:1999 and CIELAB of CIE 15:2018, by colour-science.
#[test]
fn lab_agrees_with_the_table_both_ways() {
    let mut rows = 0;
    for row in table(include_str!("data/srgb_pairs.csv")) {
        let linear: [f64; 3] = std::array::from_fn(|k| number(row[4 + k]));
        let (got, want) = (Lab::from_linear(linear), lab(&row[10..13]));
        for (a, b) in [(got.l, want.l), (got.a, want.a), (got.b, want.b)] {
            close(a, b, 2e-7, row[0]);
        }
        for (a, b) in want.to_linear().into_iter().zip(linear) {
            close(a, b, 1e-8, row[0]);
        }
        let rgb: [u8; 3] = std::array::from_fn(|k| row[1 + k].parse().unwrap());
        assert_eq!(Lab::from(LinearRgb::from_srgb8(rgb)).shown().to_srgb8(), rgb);
        for (got, want) in oklab(LinearRgb::from_srgb8(rgb)).into_iter().zip(&row[13..16]) {
            close(got, number(want), 1e-6, row[0]);
        }
        let there = Lab::from(Oklch::from(want));
        for (a, b) in [(there.l, want.l), (there.a, want.a), (there.b, want.b)] {
            close(a, b, 1e-4, "by way of Oklch");
        }
        rows += 1;
    }
    assert_eq!(rows, 20);
}

/// Sharma, Wu and Dalal 2005, table 1.
#[test]
fn differences_agree_with_all_34_published_pairs() {
    let mut rows = 0;
    for row in table(include_str!("data/ciede2000.csv")) {
        let (one, other, want) = (lab(&row[1..4]), lab(&row[4..7]), number(row[7]));
        for got in [difference(one, other), difference(other, one)] {
            // Pair 14 lies on the branch cut of the mean hue.
            let branch = row[0] == "14" && (got - 4.7461).abs() < 1e-4;
            assert!((got - want).abs() < 1e-4 || branch, "pair {}: {got} is not {want}", row[0]);
        }
        rows += 1;
    }
    assert_eq!(rows, 34);
    // Mean hues past 360°, which none of the pairs has; by coloraide 8.13.1.
    let (one, other) =
        (Lab::new(51.36463819, 2.21309077, -11.58455012), Lab::new(73.5189378, 13.25466036, 72.4100485));
    close(difference(one, other), 42.3095215470, 1e-7, "hues that meet past 360°");
}

fn spectra() -> Vec<(&'static str, Curve)> {
    table(include_str!("data/colorchecker_reflectance.csv"))
        .map(|row| (row[0], Curve::new(std::array::from_fn(|i| number(row[i + 1])))))
        .collect()
}

/// ASTM E308 as colour-science carries it out, on the same spectra.
#[test]
fn spectra_of_24_patches_give_the_colours_of_a_second_library() {
    let wanted: Vec<_> = table(include_str!("data/colorchecker_d65.csv")).collect();
    assert_eq!(wanted.len(), 24);
    for ((name, curve), want) in spectra().iter().zip(&wanted) {
        assert_eq!(*name, want[0]);
        let (got, want) = (colour_of_curve(curve), lab(&want[1..4]));
        for (a, b) in [(got.l, want.l), (got.a, want.a), (got.b, want.b)] {
            close(a, b, 0.05, name);
        }
    }
}

/// The chart maker's Lab is for D50 and the 2° observer.
#[test]
fn spectra_of_24_patches_come_near_the_published_colours() {
    let d50: Vec<f64> = table(include_str!("data/d50.csv")).map(|row| number(row[1])).collect();
    let d50: [f64; SAMPLES] = d50.try_into().expect("36 samples");
    let white = tristimulus_under(&d50, &Curve::WHITE);
    let wanted: Vec<_> = table(include_str!("data/colorchecker_lab.csv")).collect();
    assert_eq!(wanted.len(), 24);
    for ((name, curve), want) in spectra().iter().zip(&wanted) {
        assert_eq!(*name, want[0]);
        let xyz = tristimulus_under(&d50, curve);
        let got = Lab::from_ratios(std::array::from_fn(|k| xyz[k] / white[k]));
        assert!(difference(got, lab(&want[1..4])) < 1.6, "{name}: {got:?}");
    }
}

/// Burns, arXiv:1710.05732: a curve has the colour that it was made from.
#[test]
fn a_reconstructed_curve_has_its_colour() {
    for step in 0..=16_u8 {
        let c = |k: u32| (u32::from(step) * 37 * (k + 1) % 256) as u8;
        for rgb in [[c(0), c(1), c(2)], [step * 15; 3], [255, c(1), 0], [c(0), 0, 255], [0, 255, c(2)]] {
            let want = Lab::from(LinearRgb::from_srgb8(rgb));
            let got = colour_of_curve(&curve_of(want));
            // No curve goes below a thousandth, which lifts what is nearly black.
            let allowed = if want.l < 8.0 { 1.0 } else { 0.25 };
            assert!(difference(got, want) < allowed, "{rgb:?}: {got:?} is not {want:?}");
        }
    }
    for level in [0.02, 0.2, 0.7, 1.0] {
        let grey = colour_of_curve(&Curve::new([level; SAMPLES]));
        close(grey.a, 0.0, 1e-9, "a level curve is grey");
        close(grey.b, 0.0, 1e-9, "a level curve is grey");
    }
}

/// Mixes of the component curves, worked with numpy.
#[test]
fn mixes_of_component_curves_agree_with_worked_ones() {
    let rgb_from_xyz = |xyz: [f64; 3]| {
        // The matrix of the sRGB primaries and D65 (0.3127, 0.3290), inverted.
        [
            3.2409699419 * xyz[0] - 1.5373831776 * xyz[1] - 0.4986107603 * xyz[2],
            -0.9692436363 * xyz[0] + 1.8759675015 * xyz[1] + 0.0415550574 * xyz[2],
            0.0556300797 * xyz[0] - 0.2039769589 * xyz[1] + 1.0569715142 * xyz[2],
        ]
    };
    let curve = |name: &str| {
        let digit = |k: usize| f64::from(u32::from(name.as_bytes()[k] == b'1'));
        curve_from_linear([digit(0), digit(1), digit(2)])
    };
    let mut rows = 0;
    for row in table(include_str!("data/burns_mixes.csv")) {
        let (one, other) = (curve(row[0]), curve(row[1]));
        let mix = match row[2] {
            "KM" => mixed(&[(1.0, &one), (1.0, &other)]).expect("a mix"),
            _ => Curve::new(std::array::from_fn(|i| (one.samples()[i] * other.samples()[i]).sqrt())),
        };
        for (k, got) in rgb_from_xyz(tristimulus(&mix)).into_iter().enumerate() {
            close(got, number(row[3 + k]), 1e-6, &row.join(" "));
        }
        rows += 1;
    }
    assert_eq!(rows, 6);
}

#[test]
fn a_curve_is_drawn_through_measured_points() {
    close(wavelength(0), 380.0, 0.0, "first");
    close(wavelength(SAMPLES - 1), 730.0, 0.0, "last");
    let curve = Curve::through(&[(400.0, 0.2), (420.0, 0.4), (700.0, 0.4)]).expect("a curve");
    for (sample, want) in [(0, 0.2), (2, 0.2), (3, 0.3), (4, 0.4), (20, 0.4), (35, 0.4)] {
        close(curve.samples()[sample], want, 1e-12, "a sample");
    }
    assert_eq!(Curve::through(&[]), None);
    assert_eq!(Curve::through(&[(500.0, 0.2), (400.0, 0.3)]), None);
    assert_eq!(Curve::through(&[(500.0, f64::NAN)]), None);
    assert_eq!(Curve::new([f64::NAN; SAMPLES]), Curve::new([-4.0; SAMPLES]));
    assert_eq!(Curve::new([7.0; SAMPLES]), Curve::WHITE);
}
