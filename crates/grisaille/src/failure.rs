//! Why a command failed, and the exit code that says so.

use std::path::PathBuf;
use std::process::ExitCode;

/// Every way for a command to fail. Each is told in one line; below it stands the
/// line of a scheme that is meant.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Failure {
    /// Options that make no sense together or in themselves.
    #[error("{0}")]
    Usage(String),
    /// A model, scheme or other file cannot be read.
    #[error("cannot read '{}': {why}", path.display())]
    Input {
        /// Which file.
        path: PathBuf,
        /// What is wrong and what to do.
        why: String,
    },
    /// A result cannot be written.
    #[error("cannot write '{}': {why}", path.display())]
    Output {
        /// Which file.
        path: PathBuf,
        /// What is wrong and what to do.
        why: String,
    },
    /// No display, or no OpenGL on it.
    #[error("{0}")]
    NoWindow(String),
    /// A check found so much to warn of.
    #[error("{0} to look at before painting")]
    Found(usize),
    /// Ctrl-C, or asked to end by the system.
    #[error("stopped on request; nothing was left half-written")]
    Stopped,
    /// Something that should not happen.
    #[error("{0}")]
    Other(String),
}

impl From<grisaille_base::Stop> for Failure {
    fn from(_: grisaille_base::Stop) -> Self {
        Self::Stopped
    }
}

impl Failure {
    /// The exit codes of the program; `docs/command-line.md` lists them.
    pub(crate) fn exit_code(&self) -> ExitCode {
        ExitCode::from(match self {
            Self::Other(_) => 1,
            // The same as clap's own for a command line it cannot parse.
            Self::Usage(_) => 2,
            Self::Input { .. } => 3,
            Self::Output { .. } => 4,
            Self::NoWindow(_) => 5,
            Self::Found(_) => 6,
            // 128 + SIGINT, as shells expect.
            Self::Stopped => 130,
        })
    }
}
