//! Colour as numbers: lightness and luminance, the ten-step value scale,
//! linear and 8-bit RGB, CIELAB and differences, contrast, the false-colour
//! scale and the greys that stand for bands on paper; and paint: reflectance
//! curves, mixes and thin layers by Kubelka and Munk. Knows no mesh.

mod contrast;
mod curve;
mod difference;
mod false_colour;
mod kubelka_munk;
mod lab;
mod layer;
mod lightness;
mod munsell;
mod observer;
mod oklch;
mod polar;
mod printed;
mod reconstruct;
mod rgb;

pub use contrast::wcag_contrast;
pub use curve::{Curve, SAMPLES, wavelength};
pub use difference::difference;
pub use false_colour::FalseColour;
pub use kubelka_munk::{absorption_ratio, mixed, thick_reflectance};
pub use lab::Lab;
pub use layer::Layer;
pub use lightness::{lightness_from_luminance, luminance_from_lightness};
pub use munsell::{luminance_from_munsell, munsell_value};
pub use observer::{colour_of_curve, tristimulus, tristimulus_under};
pub use oklch::{Oklch, oklab};
pub use polar::colour_of;
pub use printed::{ink_on, printed_grey, printed_lightness};
pub use reconstruct::{curve_from_linear, curve_of};
pub use rgb::{LinearRgb, linear_from_srgb, srgb_from_linear};
