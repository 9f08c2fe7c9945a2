//! Coats: how much of what is beneath one pass of paint covers, and what the
//! layers look like together.
//!
//! Paint that lands at random covers like rain on a pavement: what is still
//! bare shrinks by e for each mean thickness of drops (the Poisson law of
//! counting, the chance that no drop has fallen on a spot). Spots too small to
//! see mix as light does, so that layers add up in reflectance, not in L*.

use grisaille_base::Lightness;
use grisaille_colour::{lightness_from_luminance, luminance_from_lightness};

/// The share that paint covers, 0 to 1, where `strength` passes meet the
/// exposure `exposure` (both 0 or more): 1 − exp(−strength · exposure).
#[must_use]
pub fn coverage(strength: f64, exposure: f64) -> f64 {
    let drops = strength * exposure;
    if drops > 0.0 { -(-drops).exp_m1() } else { 0.0 }
}

/// The reflectance after a paint of reflectance `paint` has covered the share
/// `cover` of a ground; all 0 to 1.
#[must_use]
pub fn layered(ground: f64, paint: f64, cover: f64) -> f64 {
    ground + (paint - ground) * cover
}

/// How strong a pass is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Strength {
    /// Covers half where it falls straight and freely.
    Mist,
    /// Covers four fifths there.
    Coat,
    /// Covers 95 of 100 there: as much as a painter ever needs.
    Full,
}

impl Strength {
    /// All of them, the weakest first.
    pub const ALL: [Self; 3] = [Self::Mist, Self::Coat, Self::Full];

    /// The passes that [`coverage`] wants: −ln of what stays bare at exposure 1.
    #[must_use]
    pub fn passes(self) -> f64 {
        let bare: f64 = match self {
            Self::Mist => 0.5,
            Self::Coat => 0.2,
            Self::Full => 0.05,
        };
        -bare.ln()
    }

    /// In a painter's words: what it covers where it falls straight and freely.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Mist => "a mist: covers half",
            Self::Coat => "a light coat: covers four fifths",
            Self::Full => "a full coat: covers all but a trace",
        }
    }

    /// One word, for files.
    #[must_use]
    pub fn token(self) -> &'static str {
        match self {
            Self::Mist => "mist",
            Self::Coat => "light-coat",
            Self::Full => "full-coat",
        }
    }
}

/// Which tone a pass is in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Tone {
    /// The ground.
    Dark,
    /// Halfway between the two others in L*.
    Mid,
    /// The lightest.
    Light,
}

impl Tone {
    /// One word.
    #[must_use]
    pub fn token(self) -> &'static str {
        match self {
            Self::Dark => "dark",
            Self::Mid => "mid",
            Self::Light => "light",
        }
    }
}

/// The values of the three tones.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tones {
    /// The ground, all over.
    pub dark: Lightness,
    /// Between them; halfway in L* where nothing else is chosen.
    pub mid: Lightness,
    /// The lightest.
    pub light: Lightness,
}

impl Tones {
    /// From the reflectances of the darkest and the lightest paint.
    #[must_use]
    pub fn between(dark: f64, light: f64) -> Self {
        let (dark, light) = (lightness_from_luminance(dark), lightness_from_luminance(light));
        Self { dark, mid: Lightness(f64::midpoint(dark.0, light.0)), light }
    }

    /// The value of one of them.
    #[must_use]
    pub fn of(&self, tone: Tone) -> Lightness {
        match tone {
            Tone::Dark => self.dark,
            Tone::Mid => self.mid,
            Tone::Light => self.light,
        }
    }

    /// The reflectance of one of them.
    #[must_use]
    pub fn reflectance(&self, tone: Tone) -> f64 {
        luminance_from_lightness(self.of(tone))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn coverage_and_layers_are_what_pencil_and_paper_give() {
        // ln 2 passes cover half, twice as many three quarters.
        let half = Strength::Mist.passes();
        assert!((half - std::f64::consts::LN_2).abs() < 1e-12);
        assert!((coverage(half, 1.0) - 0.5).abs() < 1e-12 && (coverage(half, 2.0) - 0.75).abs() < 1e-12);
        // A slope that catches half: 1 − 1/√2.
        assert!((coverage(half, 0.5) - 0.292_893_2).abs() < 1e-7);
        assert!((coverage(Strength::Full.passes(), 1.0) - 0.95).abs() < 1e-12);
        assert_eq!((coverage(3.0, 0.0), coverage(3.0, -1.0), coverage(0.0, 1.0)), (0.0, 0.0, 0.0));
        // Reflectance 0.02, half covered with 0.2, four fifths of that with 0.9:
        // 0.11, then 0.11 + 0.79 · 0.8 = 0.742.
        let mid = layered(0.02, 0.2, 0.5);
        assert!((mid - 0.11).abs() < 1e-12 && (layered(mid, 0.9, 0.8) - 0.742).abs() < 1e-12);
    }

    #[test]
    fn the_mid_tone_lies_halfway_in_lightness() {
        let tones = Tones::between(
            luminance_from_lightness(Lightness(15.0)),
            luminance_from_lightness(Lightness(95.0)),
        );
        assert!((tones.mid.0 - 55.0).abs() < 1e-9);
        // Y of L* 55 by CIE 15:2018, ((55 + 16)/116)³.
        assert!((tones.reflectance(Tone::Mid) - 0.229_295).abs() < 1e-5);
    }
}
