//! What the window says and asks.

use crate::keep::Left;
use std::path::PathBuf;

/// A line for the painter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Message {
    /// What it says.
    pub text: String,
    /// It tells of trouble.
    pub trouble: bool,
}

/// Something that must be answered first.
#[derive(Clone, Debug, PartialEq)]
pub enum Question {
    /// Work is not saved, and this is about to happen.
    Unsaved(After),
    /// A scheme or model was changed outside.
    Changed(PathBuf),
    /// Work was left behind by a window that ended without goodbye.
    Rescue(Box<Left>),
}

/// What happens once unsaved work is seen to.
#[derive(Clone, Debug, PartialEq)]
pub enum After {
    /// The window closes.
    Close,
    /// These files are opened; the diver if there are none.
    Open(Vec<PathBuf>),
}
