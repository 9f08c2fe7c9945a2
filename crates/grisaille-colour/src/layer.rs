//! Thin paint by Kubelka and Munk: what a layer throws back, lets through and
//! makes of its ground. Glazes, filters and washes are such layers.

/// The share of light that a layer throws back and the share that it lets
/// through, at one wavelength, without its ground.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Layer {
    /// Thrown back, 0 to 1.
    pub reflectance: f64,
    /// Let through, 0 to 1.
    pub transmittance: f64,
}

impl Layer {
    /// The layer of absorption K·x and scattering S·x (each 0 or more), x being
    /// how thick it is.
    ///
    /// Source: P. Kubelka, "New contributions to the optics of intensely
    /// light-scattering materials", JOSA 38(5), 1948 (cited from memory): R₀ = sinh(bSx)/c,
    /// T = b/c, c = a sinh(bSx) + b cosh(bSx), a = 1 + K/S, b = √(a² − 1). Both
    /// sides are divided by b and multiplied by S x here, so that S = 0 (the law of
    /// Beer and Lambert), K = 0 and x = 0 need no case of their own.
    #[must_use]
    pub fn new(absorbs: f64, scatters: f64) -> Self {
        let (k, s) = (held(absorbs), held(scatters));
        let z = (k * (k + 2.0 * s)).sqrt();
        // sinh(z)/z and cosh(z); past 300 nothing is let through.
        let (sinh, cosh) = if z < 1e-4 { (1.0 + z * z / 6.0, z.cosh()) } else { (z.sinh() / z, z.cosh()) };
        if z > 300.0 {
            return Self { reflectance: s / (k + s + z), transmittance: 0.0 };
        }
        let c = (k + s) * sinh + cosh;
        Self { reflectance: s * sinh / c, transmittance: 1.0 / c }
    }

    /// The reflectance of this layer over a ground of reflectance `ground`:
    /// R = R₀ + T² Rg/(1 − R₀ Rg) (Kubelka 1948).
    #[must_use]
    pub fn over(self, ground: f64) -> f64 {
        self.reflectance + self.transmittance.powi(2) * ground / (1.0 - self.reflectance * ground)
    }

    /// This layer upon another of the same kind, as one layer (P. Kubelka, JOSA
    /// 44(4), 1954, cited from memory).
    #[must_use]
    pub fn upon(self, below: Self) -> Self {
        let back = 1.0 - self.reflectance * below.reflectance;
        Self {
            reflectance: self.reflectance + self.transmittance.powi(2) * below.reflectance / back,
            transmittance: self.transmittance * below.transmittance / back,
        }
    }
}

/// An amount as it can be reckoned with: 0 to a million, 0 for what is no number.
fn held(amount: f64) -> f64 {
    if amount.is_nan() { 0.0 } else { amount.clamp(0.0, 1e6) }
}
