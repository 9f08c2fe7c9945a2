//! The command line of grisaille.

mod args;
mod command;
mod failure;
mod files;
mod job;
mod progress;

use clap::Parser;
use std::process::ExitCode;

fn main() -> ExitCode {
    let line = args::Line::parse();
    match command::run(&line) {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            eprintln!("grisaille: {failure}");
            failure.exit_code()
        }
    }
}
