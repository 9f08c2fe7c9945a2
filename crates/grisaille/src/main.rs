//! The command line of grisaille.

mod args;
mod beside;
mod choices;
mod colours;
mod command;
mod failure;
mod files;
mod job;
mod origin;
mod progress;
mod region_steps;
mod scene;
mod view_args;

use clap::Parser;
use clap::error::ErrorKind;
use std::process::ExitCode;

fn main() -> ExitCode {
    let line = match args::Line::try_parse() {
        Ok(line) => line,
        Err(e) if e.use_stderr() && e.kind() != ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand => {
            eprintln!("grisaille: {}", in_one_line(&e.to_string()));
            return ExitCode::from(2);
        }
        // Help and version, asked for or in place of nothing.
        Err(e) => e.exit(),
    };
    match command::run(&line) {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            eprintln!("grisaille: {failure}");
            failure.exit_code()
        }
    }
}

/// The first paragraph of the argument parser's text: what is wrong. Its usage
/// line and its hint at `--help` would only bury that.
fn in_one_line(text: &str) -> String {
    let first = text.split("\n\n").next().unwrap_or(text);
    let words: Vec<&str> = first.split_whitespace().collect();
    words.join(" ").trim_start_matches("error: ").to_owned()
}
