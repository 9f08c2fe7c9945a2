//! Kubelka and Munk: worked values, published pigments, and what must hold for any.

mod tables;

use grisaille_colour::{Curve, Layer, SAMPLES, absorption_ratio, mixed, thick_reflectance};
use tables::{close, number, table};

#[test]
fn reflectance_and_ratio_agree_with_worked_values() {
    let mut rows = 0;
    for row in table(include_str!("data/kubelka_munk.csv")) {
        let (value, want) = (number(row[1]), number(row[2]));
        let (got, back) = match row[0] {
            "reflectance" => (absorption_ratio(value), thick_reflectance(want)),
            _ => (thick_reflectance(value), absorption_ratio(want)),
        };
        close(got, want, 1e-6, "worked");
        close(back, value, 1e-6, "and back");
        rows += 1;
    }
    assert_eq!(rows, 25);
    close(thick_reflectance(absorption_ratio(1e-9)), 1e-9, 1e-18, "no digits are lost in the dark");
}

#[test]
fn single_constant_mixes_agree_with_worked_values() {
    let mut rows = 0;
    for row in table(include_str!("data/single_constant.csv")) {
        let cell: Vec<f64> = row.iter().map(|c| number(c)).collect();
        let [one, other] = [cell[0], cell[1]].map(|r| Curve::new([r; SAMPLES]));
        let mix = mixed(&[(cell[2], &one), (cell[3], &other)]).expect("a mix");
        for r in mix.samples() {
            close(*r, cell[5], 1e-6, "mixed");
            close(absorption_ratio(*r), cell[4], 1e-6, "its ratio");
        }
        rows += 1;
    }
    assert_eq!(rows, 4);
    let white = Curve::WHITE;
    for parts in [[0.0, 0.0], [1.0, -1.0], [-1.0, 3.0], [f64::NAN, 1.0], [f64::INFINITY, 1.0]] {
        assert_eq!(mixed(&[(parts[0], &white), (parts[1], &white)]), None);
    }
    assert_eq!(mixed(&[]), None);
}

/// S. A. Burns, "Subtractive Color Mixture Computation", arXiv:1710.06364, mixes
/// by the geometric mean; adding K/S is never lighter, light itself never darker.
/// (K/S of e^-u is cosh(u) − 1, and cosh is convex: Jensen's inequality.)
#[test]
fn adding_ratios_is_darkest_and_adding_light_lightest() {
    for i in 1..=40 {
        for j in 1..=40 {
            for part in [0.1, 0.25, 0.5, 0.8] {
                let (a, b) = (f64::from(i) / 40.0, f64::from(j) / 40.0);
                let (one, other) = (Curve::new([a; SAMPLES]), Curve::new([b; SAMPLES]));
                let km = mixed(&[(part, &one), (1.0 - part, &other)]).expect("a mix").samples()[0];
                let geometric = a.powf(part) * b.powf(1.0 - part);
                let arithmetic = part * a + (1.0 - part) * b;
                assert!(km <= geometric + 1e-12 && geometric <= arithmetic + 1e-12, "{a} {b} {part}");
            }
        }
    }
}

#[test]
fn finite_layers_agree_with_worked_values() {
    let mut rows = 0;
    for row in table(include_str!("data/finite_layers.csv")) {
        let (k, s, x) = (number(row[0]), number(row[1]), number(row[2]));
        let layer = Layer::new(k * x, s * x);
        if !row[3].is_empty() {
            close(layer.reflectance, number(row[3]), 1e-6, "R0");
            close(layer.transmittance, number(row[4]), 1e-6, "T");
        }
        close(layer.over(number(row[5])), number(row[6]), 1e-6, "over its ground");
        rows += 1;
    }
    assert_eq!(rows, 7);
}

/// Curtis et al., SIGGRAPH 97.
#[test]
fn published_pigments_over_white_and_black() {
    let mut rows = 0;
    for row in table(include_str!("data/curtis_pigments.csv")) {
        for c in 0..3 {
            let (k, s) = (number(row[1 + c]), number(row[4 + c]));
            let at = |column: usize| number(row[7 + 3 * column + c]);
            close(Layer::new(0.2 * k, 0.2 * s).over(0.8), at(0), 1e-6, row[0]);
            close(Layer::new(k, s).over(0.8), at(1), 1e-6, row[0]);
            close(Layer::new(k, s).over(0.05), at(2), 1e-6, row[0]);
            close(thick_reflectance(k / s), at(3), 1e-6, row[0]);
            close(Layer::new(1e5 * k, 1e5 * s).over(0.5), at(3), 1e-6, row[0]);
        }
        rows += 1;
    }
    assert_eq!(rows, 11);
}

#[test]
fn two_layers_of_one_paint_are_one_of_the_sum() {
    for k in [0.0, 1e-6, 0.01, 0.3, 2.0, 40.0] {
        for s in [0.0, 1e-6, 0.02, 0.5, 3.0, 50.0] {
            for (x, y) in [(0.1, 0.3), (1.0, 2.0), (0.001, 5.0)] {
                let (thin, thick) = (Layer::new(k * x, s * x), Layer::new(k * y, s * y));
                let one = Layer::new(k * (x + y), s * (x + y));
                close(thin.upon(thick).reflectance, one.reflectance, 1e-9, "thrown back");
                close(thin.upon(thick).transmittance, one.transmittance, 1e-9, "let through");
                close(thin.over(thick.over(0.4)), one.over(0.4), 1e-9, "over a ground");
                let lost = one.reflectance + one.transmittance;
                assert!((0.0..=1.0 + 1e-12).contains(&lost), "no light is made: {k} {s}");
            }
        }
    }
    // Closed forms: nothing there, only absorption (Beer and Lambert), only scattering.
    assert_eq!(Layer::new(0.0, 0.0), Layer { reflectance: 0.0, transmittance: 1.0 });
    close(Layer::new(0.7, 0.0).transmittance, (-0.7_f64).exp(), 1e-15, "Beer and Lambert");
    close(Layer::new(0.0, 3.0).reflectance, 0.75, 1e-15, "Sx/(1 + Sx)");
    for odd in [f64::NAN, f64::INFINITY, -1.0, 1e300] {
        let layer = Layer::new(odd, odd);
        assert!(layer.reflectance.is_finite() && layer.transmittance.is_finite());
        assert!(layer.over(1.0).is_finite());
    }
}
