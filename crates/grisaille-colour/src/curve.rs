//! Reflectance curves: how much light a paint throws back at each wavelength.

/// Samples of a curve: 380 to 730 nm, every 10 nm.
pub const SAMPLES: usize = 36;

/// The wavelength in nm of a sample of a curve.
#[must_use]
pub fn wavelength(sample: usize) -> f64 {
    380.0 + 10.0 * sample as f64
}

/// The share of light thrown back, from 380 to 730 nm every 10 nm; each sample
/// lies between [`Curve::DARKEST`] and 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Curve([f64; SAMPLES]);

impl Curve {
    /// The least share of light that any sample throws back: no paint is darker,
    /// and Kubelka and Munk's ratio has no value at 0.
    pub const DARKEST: f64 = 0.001;

    /// A perfect white: 1 at every wavelength.
    pub const WHITE: Self = Self([1.0; SAMPLES]);

    /// A curve from its samples, each held between [`Curve::DARKEST`] and 1;
    /// what is not a number counts as the darkest.
    #[must_use]
    pub fn new(samples: [f64; SAMPLES]) -> Self {
        Self(samples.map(|r| if r.is_nan() { Self::DARKEST } else { r.clamp(Self::DARKEST, 1.0) }))
    }

    /// A curve through measured points (nm, share of light 0 to 1), straight
    /// between them and level beyond the first and the last. `None` without
    /// points, or when their wavelengths do not rise or are not numbers.
    #[must_use]
    pub fn through(points: &[(f64, f64)]) -> Option<Self> {
        let (first, last) = (points.first()?, points.last()?);
        let rising = points.windows(2).all(|p| p[0].0 < p[1].0);
        if !rising || points.iter().any(|(nm, r)| !nm.is_finite() || !r.is_finite()) {
            return None;
        }
        Some(Self::new(std::array::from_fn(|i| {
            let nm = wavelength(i);
            let between = points.windows(2).find(|p| p[0].0 <= nm && nm <= p[1].0);
            match between {
                Some(p) => p[0].1 + (p[1].1 - p[0].1) * (nm - p[0].0) / (p[1].0 - p[0].0),
                None if nm < first.0 => first.1,
                None => last.1,
            }
        })))
    }

    /// The samples.
    #[must_use]
    pub fn samples(&self) -> &[f64; SAMPLES] {
        &self.0
    }
}
