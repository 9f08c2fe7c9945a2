//! Colour as numbers: lightness and luminance, the ten-step value scale,
//! linear and 8-bit RGB, contrast, the false-colour scale and the greys that
//! stand for bands on paper. Knows no mesh.

mod contrast;
mod false_colour;
mod lightness;
mod munsell;
mod polar;
mod printed;
mod rgb;

pub use contrast::wcag_contrast;
pub use false_colour::FalseColour;
pub use lightness::{lightness_from_luminance, luminance_from_lightness};
pub use munsell::{luminance_from_munsell, munsell_value};
pub use polar::colour_of;
pub use printed::{ink_on, printed_grey, printed_lightness};
pub use rgb::{LinearRgb, linear_from_srgb, srgb_from_linear};
