//! The commands, one file each.

mod check;
pub(crate) mod demo;
mod guide;
mod inspect;
mod inspect_picture;
mod lines;
mod lines_picture;
mod map;
mod mix;
mod new;
mod new_text;
mod palette;
mod plan;
mod preview;
mod reach;
mod regions;
mod scheme;
mod strokes;
mod view;
mod words;

use crate::args::{Command, Line};
use crate::failure::Failure;

/// Runs the command of a line.
pub(crate) fn run(line: &Line) -> Result<(), Failure> {
    match &line.command {
        Command::Inspect(args) => inspect::inspect(args),
        Command::Reach(args) => reach::tell(args),
        Command::Map(args) => map::map(args),
        Command::View(args) => view::view(args),
        Command::Regions(args) => regions::regions(args),
        Command::Strokes(args) => strokes::strokes(args),
        Command::Lines(args) => lines::lines(args),
        Command::Plan(args) => plan::plan(args),
        Command::Check(args) => check::check(args),
        Command::Guide(args) => guide::guide(args),
        Command::Preview(args) => preview::preview(args),
        Command::Scheme(args) => scheme::make_scheme(args),
        Command::New(args) => new::new(args),
        Command::Palette(args) => palette::palette(args),
        Command::Mix(args) => mix::mix(args),
        Command::Words(args) => words::words(args),
        Command::Demo(args) => demo::demo(args),
    }
}
