//! Colour as numbers: lightness and luminance, the ten-step value scale,
//! linear and 8-bit RGB, CIELAB and differences, contrast, the false-colour
//! scale and the greys that stand for bands on paper. Paint: reflectance curves,
//! the user's list, mixes and thin layers by Kubelka and Munk, and the nearest
//! mix to a colour. Schemes of colour: ramps, moods, harmonies, and palettes
//! from pictures. Knows no mesh.

mod bars;
mod bins;
mod called;
mod clusters;
mod colour_blind;
mod colour_text;
mod contrast;
mod curve;
mod difference;
mod false_colour;
mod harmony;
mod kubelka_munk;
mod lab;
mod layer;
mod lightness;
mod lining_colour;
mod mix;
mod mix_search;
mod mood;
mod munsell;
mod nearness;
mod observer;
mod oklch;
mod paint;
mod paint_list;
mod palette;
mod picture;
mod pigment;
mod polar;
mod printed;
mod pull;
mod ramp;
mod reconstruct;
mod rgb;
mod shared_mixes;
mod sheet;

pub use called::{Called, Depth, colour_called, colour_words};
pub use colour_blind::ColourBlind;
pub use colour_text::{colour_from_text, hex_of};
pub use contrast::wcag_contrast;
pub use curve::{Curve, SAMPLES, wavelength};
pub use difference::difference;
pub use false_colour::FalseColour;
pub use harmony::{Harmony, HarmonyColour};
pub use kubelka_munk::{absorption_ratio, mixed, thick_reflectance};
pub use lab::Lab;
pub use layer::Layer;
pub use lightness::{lightness_from_luminance, luminance_from_lightness};
pub use lining_colour::{line_colour, spot_colour};
pub use mix::{Mix, Part, colour_between, pigment_of};
pub use mix_search::{MixError, MixSettings, Mixes, sway};
pub use mood::{MOODS, Mood};
pub use munsell::{luminance_from_munsell, munsell_value};
pub use nearness::{Nearness, how_it_differs};
pub use observer::{colour_of_curve, tristimulus, tristimulus_under};
pub use oklch::{Oklch, oklab, oklab_of};
pub use paint::{Finish, Paint};
pub use paint_list::{PaintListError, read_paints};
pub use palette::{PaletteColour, Role, palette_of, skin_like, with_roles};
pub use picture::{Picture, PictureError, read_picture};
pub use pigment::{Pigment, usual_strength};
pub use polar::colour_of;
pub use printed::{ink_on, printed_apart, printed_grey, printed_in_grey, printed_lightness, printed_tones};
pub use pull::{Pulled, pull_into_line};
pub use ramp::{RampSettings, ramp, tinted};
pub use reconstruct::{curve_from_linear, curve_of};
pub use rgb::{LinearRgb, linear_from_srgb, srgb_from_linear};
pub use shared_mixes::{SharedMixes, pick_paints, share_paints};
