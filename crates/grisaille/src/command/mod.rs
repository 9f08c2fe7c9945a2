//! The commands, one file each.

mod inspect;
mod map;

use crate::args::{Command, Line};
use crate::failure::Failure;

/// Runs the command of a line.
pub(crate) fn run(line: &Line) -> Result<(), Failure> {
    match &line.command {
        Command::Inspect(args) => inspect::inspect(args),
        Command::Map(args) => map::map(args),
        _ => Err(Failure::Other("not yet".into())),
    }
}
