//! The file of sentences: reading it, and what a translation may say.

use crate::words::ENGLISH;
use fluent_bundle::FluentResource;
use fluent_syntax::ast::{Entry, Expression, InlineExpression, Pattern, PatternElement};
use std::collections::{BTreeMap, BTreeSet};

/// Why a file of sentences is of no use.
#[derive(Debug, thiserror::Error, PartialEq, Eq)]
pub enum TranslationError {
    /// It cannot be read.
    #[error(
        "line {line} of the translation is no message as Fluent writes it ({reason}): a message is one line, `key = text`"
    )]
    Syntax {
        /// The line, from 1.
        line: usize,
        /// What the reader says.
        reason: String,
    },
    /// A key that no sentence has.
    #[error(
        "the translation has the key `{key}`, which no sentence of the sheets has: take its keys from `grisaille words`"
    )]
    Key {
        /// The key.
        key: String,
    },
    /// Something is put in that the sentence is not given.
    #[error(
        "the translation of `{key}` puts in `${name}`, which this sentence does not have; it has {known}"
    )]
    Variable {
        /// The key.
        key: String,
        /// What is put in.
        name: String,
        /// What there is.
        known: String,
    },
    /// Its `language` is no language tag.
    #[error("`{tag}` is no language tag: write `language = de`, or what the language is called in BCP 47")]
    Language {
        /// The tag.
        tag: String,
    },
}

/// A sentence of the English file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Message {
    /// Its key.
    pub key: String,
    /// What goes into it, by name.
    pub takes: BTreeSet<String>,
}

/// All sentences of the English file.
#[must_use]
pub fn messages() -> Vec<Message> {
    parsed(ENGLISH).map(|resource| of(&resource)).unwrap_or_default()
}

pub(crate) fn parsed(source: &str) -> Result<FluentResource, TranslationError> {
    FluentResource::try_new(source.to_owned()).map_err(|(_, errors)| {
        let first = errors.first();
        let at = first.map_or(0, |e| e.pos.start).min(source.len());
        TranslationError::Syntax {
            line: source.as_bytes()[..at].iter().filter(|b| **b == b'\n').count() + 1,
            reason: first.map_or_else(String::new, |e| e.kind.to_string()),
        }
    })
}

/// A translation that may be used, and what is to be told about it.
pub(crate) fn checked(source: &str) -> Result<(FluentResource, Vec<String>), TranslationError> {
    let resource = parsed(source)?;
    let english: BTreeMap<String, BTreeSet<String>> =
        messages().into_iter().map(|m| (m.key, m.takes)).collect();
    let mut missing: BTreeSet<&String> = english.keys().collect();
    for message in of(&resource) {
        let takes = match english.get(&message.key) {
            Some(takes) => takes,
            // What was noticed on a model comes with an English hint, which a translation may replace by its own.
            None if message.key.starts_with("finding-") => &BTreeSet::from(["n".to_owned()]),
            None => return Err(TranslationError::Key { key: message.key }),
        };
        if let Some(name) = message.takes.difference(takes).next() {
            let known: Vec<String> = takes.iter().map(|name| format!("`${name}`")).collect();
            let known = if known.is_empty() { "none".into() } else { known.join(", ") };
            return Err(TranslationError::Variable { key: message.key.clone(), name: name.clone(), known });
        }
        missing.remove(&message.key);
    }
    let notes = match missing.len() {
        0 => Vec::new(),
        n => {
            let some: Vec<&str> = missing.iter().take(3).map(|key| key.as_str()).collect();
            vec![format!(
                "{n} of {} sentences are not translated and stay English, such as {}",
                english.len(),
                some.join(", ")
            )]
        }
    };
    Ok((resource, notes))
}

fn of(resource: &FluentResource) -> Vec<Message> {
    let entries = resource.entries().filter_map(|entry| match entry {
        Entry::Message(message) => {
            let mut takes = BTreeSet::new();
            if let Some(value) = &message.value {
                gather(value, &mut takes);
            }
            Some(Message { key: message.id.name.to_owned(), takes })
        }
        _ => None,
    });
    entries.collect()
}

/// The variables of a pattern, those of its variants too.
fn gather(pattern: &Pattern<&str>, takes: &mut BTreeSet<String>) {
    for element in &pattern.elements {
        if let PatternElement::Placeable { expression } = element {
            match expression {
                Expression::Inline(inline) => gather_inline(inline, takes),
                Expression::Select { selector, variants } => {
                    gather_inline(selector, takes);
                    for variant in variants {
                        gather(&variant.value, takes);
                    }
                }
            }
        }
    }
}

fn gather_inline(inline: &InlineExpression<&str>, takes: &mut BTreeSet<String>) {
    match inline {
        InlineExpression::VariableReference { id } => {
            takes.insert(id.name.to_owned());
        }
        InlineExpression::Placeable { expression } => match expression.as_ref() {
            Expression::Inline(inline) => gather_inline(inline, takes),
            Expression::Select { selector, variants } => {
                gather_inline(selector, takes);
                for variant in variants {
                    gather(&variant.value, takes);
                }
            }
        },
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::Words;

    #[test]
    fn the_english_file_is_sound() {
        assert!(parsed(ENGLISH).is_ok(), "{:?}", parsed(ENGLISH).err());
        let all = messages();
        let keys: BTreeSet<&String> = all.iter().map(|m| &m.key).collect();
        assert!(all.len() > 200 && keys.len() == all.len(), "a key stands twice");
        // A translation of everything has nothing to be told.
        let (_, notes) = Words::translated(ENGLISH).unwrap();
        assert!(notes.is_empty(), "{notes:?}");
    }

    #[test]
    fn what_is_wrong_with_a_translation_is_told_with_its_place() {
        let error = |source: &str| Words::translated(source).err().map(|e| e.to_string()).unwrap_or_default();
        assert!(
            error("language = de\n\n= no key").starts_with("line 3"),
            "{}",
            error("language = de\n\n= no key")
        );
        assert!(error("no-such-key = x").contains("`no-such-key`"));
        let wrong = error("touches = { $m } Tupfer");
        assert!(wrong.contains("`touches`") && wrong.contains("`$m`") && wrong.contains("`$n`"), "{wrong}");
        assert!(error("language = ??").contains("no language tag"));
        assert!(Words::translated("finding-truncated = Die Datei ist zu kurz.").is_ok());
    }
}
