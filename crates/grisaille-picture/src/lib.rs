//! Views of a triangle surface drawn on the CPU, no graphics card needed, and
//! the sheets that carry them.
//!
//! ```text
//! View + points -> Frame -> ItemBuffer -> shade -> Image -> Canvas -> PNG
//!                              |            ^
//!                              +-> Areas ---+  borders, patterns, letters
//! ```

mod area;
mod contour;
mod course;
mod drawing;
mod frame;
mod image;
mod item;
mod jpeg;
mod legend;
mod line;
mod look;
mod mark;
mod outline;
mod pattern;
mod place;
mod png;
mod regions;
mod screen;
mod shade;
mod sheet;
mod stroke;
mod svg;
mod text;
mod trace;
mod view;
mod view_lines;

pub use area::Areas;
pub use contour::LineKind;
pub use course::CourseStyle;
pub use drawing::{DrawingSettings, SeenEdge, Stroke, drawing, seen_edges};
pub use frame::Frame;
pub use image::Image;
pub use item::{Hit, ItemBuffer};
pub use legend::{Legend, Swatch, Tick};
pub use line::LineStyle;
pub use look::{
    Coat, EXPOSURE_TICKS, InLines, Look, Scene, Shaded, ZoneStyle, band_grey, colour_of_hit, legend,
    light_style, sprayed, zone_style,
};
pub use mark::Mark;
pub use pattern::Pattern;
pub use place::{Placed, places};
pub use regions::{region_legends, region_number, region_view};
pub use screen::Screen;
pub use sheet::{Canvas, SheetStyle};
pub use svg::{BorderPen, Contours, LinePen, SvgAreas, SvgView, line_svg, marked_svg, svg};
pub use text::{TextStyle, Weight, missing_glyphs};
pub use trace::{Border, Traced};
pub use view::View;
pub use view_lines::ViewLines;
