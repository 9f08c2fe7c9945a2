//! What goes into a sentence.

use std::borrow::Cow;

/// A name, a number ready to print, or a count, of which a language may make
/// one word or another.
#[derive(Clone, Debug, PartialEq)]
pub enum Said<'a> {
    /// Printed as it is.
    Text(Cow<'a, str>),
    /// How many.
    Count(u64),
}

impl<'a> From<&'a str> for Said<'a> {
    fn from(text: &'a str) -> Self {
        Self::Text(text.into())
    }
}

impl<'a> From<&'a String> for Said<'a> {
    fn from(text: &'a String) -> Self {
        Self::Text(text.as_str().into())
    }
}

impl From<String> for Said<'_> {
    fn from(text: String) -> Self {
        Self::Text(text.into())
    }
}

impl From<char> for Said<'_> {
    fn from(letter: char) -> Self {
        Self::Text(letter.to_string().into())
    }
}

impl From<usize> for Said<'_> {
    fn from(count: usize) -> Self {
        Self::Count(count as u64)
    }
}

impl From<u32> for Said<'_> {
    fn from(count: u32) -> Self {
        Self::Count(count.into())
    }
}

impl From<u8> for Said<'_> {
    fn from(count: u8) -> Self {
        Self::Count(count.into())
    }
}

/// A sentence by its key, with what goes into it by name.
#[macro_export]
macro_rules! say {
    ($words:expr, $key:expr $(, $name:ident = $value:expr)* $(,)?) => {
        $words.say($key, &[$((stringify!($name), $crate::Said::from($value))),*])
    };
}
