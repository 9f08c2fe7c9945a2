//! Checks against published standards and an independent colour library.

use grisaille_base::Lightness;
use grisaille_colour::{
    FalseColour, LinearRgb, ink_on, lightness_from_luminance, linear_from_srgb, luminance_from_lightness,
    luminance_from_munsell, munsell_value, printed_grey, srgb_from_linear, wcag_contrast,
};

fn table(text: &'static str) -> impl Iterator<Item = Vec<&'static str>> {
    text.lines().filter(|l| !l.starts_with('#')).skip(1).map(|l| l.split(',').collect())
}

fn number(cell: &str) -> f64 {
    cell.parse().expect("a number")
}

fn close(a: f64, b: f64, tolerance: f64, what: &str) {
    assert!((a - b).abs() <= tolerance, "{what}: {a} is not {b} within {tolerance}");
}

/// IEC 61966-2-1:1999 (transfer curve), CIE 15:2018 (L*), WCAG 2.1 (luminance).
#[test]
fn twenty_srgb_colours_agree_with_the_table() {
    let mut rows = 0;
    for row in table(include_str!("data/srgb_pairs.csv")) {
        let rgb: [u8; 3] = std::array::from_fn(|k| row[k + 1].parse().unwrap());
        let colour = LinearRgb::from_srgb8(rgb);
        for (k, got) in [colour.r, colour.g, colour.b].into_iter().enumerate() {
            close(f64::from(got), number(row[4 + k]), 1e-7, row[0]);
            close(linear_from_srgb(f64::from(rgb[k]) / 255.0), number(row[4 + k]), 1e-9, row[0]);
        }
        close(colour.luminance(), number(row[8]), 1e-7, row[0]);
        close(colour.lightness().0, number(row[10]), 1e-4, row[0]);
        close(lightness_from_luminance(number(row[8])).0, number(row[10]), 1e-6, row[0]);
        close(luminance_from_lightness(Lightness(number(row[10]))), number(row[8]), 1e-8, row[0]);
        // Contrast with black inverts to the WCAG luminance.
        close(wcag_contrast(colour, LinearRgb::BLACK) * 0.05 - 0.05, number(row[16]), 1e-7, row[0]);
        rows += 1;
    }
    assert_eq!(rows, 20);
}

#[test]
fn every_8_bit_component_survives_the_way_there_and_back() {
    for c in 0..=255_u8 {
        assert_eq!(LinearRgb::from_srgb8([c, 255 - c, c]).to_srgb8(), [c, 255 - c, c]);
        let x = f64::from(c) / 255.0;
        close(srgb_from_linear(linear_from_srgb(x)), x, 1e-7, "transfer curve");
    }
    assert_eq!(LinearRgb::new(f32::NAN, -1.0, f32::INFINITY).to_srgb8(), [0, 0, 255]);
}

/// ASTM D1535-08e1.
#[test]
fn munsell_value_agrees_with_the_table_and_the_published_inverses() {
    let mut rows = 0;
    for row in table(include_str!("data/munsell_value.csv")) {
        let (v, y) = (number(row[0]), number(row[1]));
        close(luminance_from_munsell(v) * 100.0, y, 1e-6, "Y of V");
        close(munsell_value(y / 100.0), v, 1e-6, "V of Y");
        close(lightness_from_luminance(y / 100.0).0, number(row[2]), 1e-5, "L* of Y");
        close(srgb_from_linear(y / 100.0) * 255.0, number(row[3]), 1e-3, "grey of Y");
        rows += 1;
    }
    assert_eq!(rows, 12);
    // The inverse test values printed with colour-science 0.4.7.
    for (y, v) in [(12.23634268, 4.0824437077), (22.89399987, 5.3913268228), (6.29022535, 2.9761930840)] {
        close(munsell_value(y / 100.0), v, 1e-7, "published inverse");
    }
    for (y, v) in [(0.0, 0.0), (-3.0, 0.0), (f64::NAN, 0.0), (1.0, 10.0), (7.0, 10.0)] {
        close(munsell_value(y), v, 1e-6, "ends");
    }
    // CIE 15:2018 and the rule of thumb L* = 10 V, which holds to 1.06.
    for i in 1..=20 {
        let v = f64::from(i) * 0.5;
        close(lightness_from_luminance(luminance_from_munsell(v)).0, 10.0 * v, 1.06, "rule of thumb");
    }
}

/// WCAG 2.1, worked pairs that two other implementations agree on.
#[test]
fn contrast_agrees_with_worked_pairs() {
    let hex = |h: u32| LinearRgb::from_srgb8([(h >> 16) as u8, (h >> 8) as u8, h as u8]);
    for (a, b, ratio) in [
        (0xffffff, 0x000000, 21.0),
        (0x777777, 0xffffff, 4.478089),
        (0x767676, 0xffffff, 4.542225),
        (0x595959, 0xffffff, 7.004729),
        (0x949494, 0xffffff, 3.033470),
        (0xff0000, 0xffffff, 3.998477),
        (0x0000ff, 0xffffff, 8.592471),
        (0x00ff00, 0x000000, 15.304),
        (0xffff00, 0xffffff, 1.073839),
        (0xff0000, 0x00ff00, 2.913938),
        (0x808080, 0x000000, 5.317210),
    ] {
        close(wcag_contrast(hex(a), hex(b)), ratio, 2e-6, "contrast");
        close(wcag_contrast(hex(b), hex(a)), ratio, 2e-6, "contrast, turned round");
    }
}

#[test]
fn lightness_and_luminance_clamp_and_undo_each_other() {
    for i in 0..=1000 {
        let l = f64::from(i) / 10.0;
        close(lightness_from_luminance(luminance_from_lightness(Lightness(l))).0, l, 1e-10, "round trip");
    }
    for (l, y) in [(-5.0, 0.0), (f64::NAN, 0.0), (300.0, 1.0)] {
        close(luminance_from_lightness(Lightness(l)), y, 1e-12, "clamped");
    }
}

#[test]
fn printed_greys_stand_apart_and_carry_letters() {
    for of in 3..=6 {
        let greys: Vec<u8> = (0..of).map(|step| printed_grey(step, of)).collect();
        let lightness = |g: u8| LinearRgb::from_srgb8([g; 3]).lightness().0;
        for pair in greys.windows(2) {
            assert!(lightness(pair[1]) - lightness(pair[0]) > 14.0, "{greys:?}");
        }
        close(lightness(greys[0]), 22.0, 0.3, "darkest");
        close(lightness(greys[of - 1]), 94.0, 0.3, "lightest");
        for &g in &greys {
            let ratio = wcag_contrast(LinearRgb::from_srgb8([g; 3]), LinearRgb::from_srgb8([ink_on(g); 3]));
            assert!(ratio >= 4.5, "grey {g}: {ratio}");
        }
    }
    for g in 0..=255_u8 {
        let ground = LinearRgb::from_srgb8([g; 3]);
        assert!(wcag_contrast(ground, ground.ink()) >= 4.5);
    }
    assert_eq!(printed_grey(99, 5), printed_grey(4, 5));
    assert_eq!(printed_grey(0, 0), printed_grey(0, 1));
}

#[test]
fn the_false_colour_scale_is_even_in_lightness() {
    for i in 0..=1000 {
        let t = f64::from(i) / 1000.0;
        let colour = FalseColour::at(t);
        close(colour.lightness().0, 12.0 + 84.0 * t, 0.1, "L* in f32");
        let shown = LinearRgb::from_srgb8(colour.to_srgb8()).lightness().0;
        close(shown, 12.0 + 84.0 * t, 0.5, "L* in 8 bits");
        for c in [colour.r, colour.g, colour.b] {
            assert!((0.0..=1.0).contains(&c), "{colour:?}");
        }
    }
    assert_eq!(FalseColour::at(f64::NAN), FalseColour::at(-1.0));
    assert_eq!(FalseColour::at(7.0), FalseColour::at(1.0));
    let [deep, sand] = [FalseColour::at(0.0), FalseColour::at(1.0)];
    assert!(deep.b > deep.r && deep.r > deep.g, "violet-blue: {deep:?}");
    assert!(sand.r > sand.g && sand.g > sand.b, "sand: {sand:?}");
}

/// G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A physiologically-based
/// model for simulation of color vision deficiency", IEEE TVCG 15(6), 2009:
/// severity 1.0, for linear RGB. Matrices from memory; each row must sum to 1.
const MISSING_CONE: [(&str, [[f64; 3]; 3]); 3] = [
    (
        "protanopia",
        [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    ),
    (
        "deuteranopia",
        [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    ),
    (
        "tritanopia",
        [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
    ),
];

#[test]
fn the_false_colour_scale_reads_with_a_cone_missing() {
    for (name, matrix) in MISSING_CONE {
        for row in matrix {
            close(row.iter().sum(), 1.0, 2e-6, name);
        }
        let seen = |t: f64| {
            let c = FalseColour::at(t);
            let v = matrix.map(|m| m[0] * f64::from(c.r) + m[1] * f64::from(c.g) + m[2] * f64::from(c.b));
            LinearRgb::new(v[0].max(0.0) as f32, v[1].max(0.0) as f32, v[2].max(0.0) as f32).lightness().0
        };
        for i in 0..100 {
            let t = f64::from(i) / 100.0;
            assert!(seen(t + 0.01) > seen(t), "{name}: lightness falls at {t}");
        }
        // Ten steps stay at least 5 L* apart, which is plainly seen.
        for i in 0..10 {
            let t = f64::from(i) / 10.0;
            let step = seen(t + 0.1) - seen(t);
            assert!(step > 5.0, "{name}: step at {t} is {step}");
        }
    }
}
