//! The window of grisaille: the painter turns the figure, moves the light, and
//! takes the sheets to the bench.
//!
//! ```text
//! side, camera, handle, pick       geometry of looking and pointing
//! history, desk                    the document, its past, its file
//! keep, recent, outside, taste     what survives a session or a crash
//! bench, dialog                    what program and desktop round the window do
//! skin, look, paint                the surface as it is drawn and coloured
//! worker, clerk                    threads: light and plan; sheets
//! draw                             three-d, on the window's OpenGL context
//! window, frame, figure, card_*    egui: what the painter sees
//! run                              opens it, or says why not
//! ```
//!
//! All above `draw` is plain data and functions with tests of their own; egui,
//! eframe and three-d appear in no other crate.

mod bench;
mod camera;
mod card_checks;
mod card_colours;
mod card_eye;
mod card_face;
mod card_figure;
mod card_light;
mod card_paint;
mod card_palette;
mod card_ramp;
mod card_regions;
mod card_sheets;
mod card_values;
mod clerk;
mod desk;
mod dialog;
mod dome;
mod draw;
mod ear;
mod field;
mod figure;
mod frame;
mod handle;
mod history;
mod keep;
mod keys;
mod legend;
mod look;
mod outside;
mod paint;
mod pick;
mod picture_palette;
mod play;
mod recent;
mod run;
mod said;
mod shelf;
mod side;
mod skin;
mod step;
mod taste;
#[cfg(test)]
mod test_scene;
mod theme;
mod window;
mod worker;

pub use bench::{Bench, Product, ReadAlready, Trouble};
pub use camera::{Camera, Line, size_bar};
pub use desk::{Desk, SCHEME_ENDING};
pub use dialog::{Chosen, Desktop, Wish, desktop};
pub use ear::Progress;
pub use handle::{Axis, above, across, along, from_dome, on_dome, placing_height};
pub use history::History;
pub use keep::{Keeper, Left, folder, left_behind};
pub use look::{Field, Look, StepRow, Style, ZoneRow};
pub use outside::Outside;
pub use pick::{Picker, Reading, Spot, reading};
pub use play::Script;
pub use recent::Recent;
pub use run::{Hands, PreviewError, PreviewOptions, preview};
pub use said::{After, Message, Question};
pub use side::Side;
pub use skin::Hidden;
pub use step::{Step, Tool};
pub use taste::{Room, Taste};
pub use theme::dress;
pub use window::{Hover, Shown, Window};
pub use worker::{Faces, Order, Painted, Report, Stage, Worker};
