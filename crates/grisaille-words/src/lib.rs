//! All wording of the printed sheets in one place.
//!
//! Every sentence stands in `en.ftl`, under a key, in the Fluent syntax
//! (Project Fluent, 1.0), and nowhere else. Code asks for a sentence by its
//! key and hands in what goes into it:
//!
//! ```
//! use grisaille_words::{Words, say};
//! let words = Words::english();
//! assert_eq!(say!(words, "touches", n = 1_usize), "1 touch");
//! assert_eq!(say!(words, "touches", n = 4_usize), "4 touches");
//! ```
//!
//! A translation is the same file in another language; [`Words::translated`]
//! reads one. What it leaves out stays English.

mod catalogue;
mod said;
mod words;

pub use catalogue::{Message, TranslationError, messages};
pub use said::Said;
pub use words::{ENGLISH, Words};
