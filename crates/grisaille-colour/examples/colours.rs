//! Prints what this crate makes of colours, for `tests/oracles/colours.py`.
//!
//! Each line of standard input holds 6 numbers, two 8-bit sRGB colours, or 36, a
//! reflectance curve. Of colours: L*, a*, b* and Oklab of the first, CIEDE2000 and
//! contrast of both, Munsell value of the first, and L*, a*, b* of the first as eyes see it that
//! lack long-wave, middle-wave or short-wave cones. Of a curve: L*, a*, b*.

use grisaille_colour::{
    ColourBlind, Curve, Lab, LinearRgb, SAMPLES, colour_of_curve, difference, linear_from_srgb,
    munsell_value, oklab, wcag_contrast,
};
use std::io::{self, BufRead, Write};

fn main() -> io::Result<()> {
    let mut out = io::stdout().lock();
    for line in io::stdin().lock().lines() {
        let line = line?;
        let numbers: Vec<f64> = line.split(',').filter_map(|n| n.trim().parse().ok()).collect();
        if let Ok(samples) = <[f64; SAMPLES]>::try_from(numbers.as_slice()) {
            let Lab { l, a, b } = colour_of_curve(&Curve::new(samples));
            writeln!(out, "{l},{a},{b}")?;
        } else if let [r, g, b, r2, g2, b2] = numbers[..] {
            let [one, other] =
                [[r, g, b], [r2, g2, b2]].map(|rgb| LinearRgb::from_srgb8(rgb.map(|c| c as u8)));
            let [lab, lab2] = [[r, g, b], [r2, g2, b2]]
                .map(|rgb| Lab::from_linear(rgb.map(|c| linear_from_srgb(c / 255.0))));
            let [ok_l, ok_a, ok_b] = oklab(one);
            let Lab { l, a, b } = lab;
            let apart = difference(lab, lab2);
            let (contrast, value) = (wcag_contrast(one, other), munsell_value(one.luminance()));
            write!(out, "{l},{a},{b},{ok_l},{ok_a},{ok_b},{apart},{contrast},{value}")?;
            for eyes in ColourBlind::ALL {
                let Lab { l, a, b } = eyes.sees(lab);
                write!(out, ",{l},{a},{b}")?;
            }
            writeln!(out)?;
        } else {
            return Err(io::Error::other(format!("6 or 36 numbers, not '{line}'")));
        }
    }
    Ok(())
}
