//! The sentences of one language.

use crate::catalogue::{TranslationError, checked, parsed};
use crate::said::Said;
use fluent_bundle::concurrent::FluentBundle;
use fluent_bundle::{FluentArgs, FluentResource, FluentValue};
use std::sync::LazyLock;
use unic_langid::LanguageIdentifier;

/// The English sentences as a file, to begin a translation from.
pub const ENGLISH: &str = include_str!("../en.ftl");

/// The key of the language's own tag, as BCP 47 writes it.
const LANGUAGE: &str = "language";

type Bundle = FluentBundle<FluentResource>;

/// The sentences of the sheets, in English or in a translation of it.
pub struct Words {
    /// Nothing for English.
    own: Option<Bundle>,
}

static ENGLISH_BUNDLE: LazyLock<Bundle> = LazyLock::new(|| match parsed(ENGLISH) {
    Ok(resource) => bundle(resource, "en"),
    // A test reads the file; without it every sentence is its key.
    Err(_) => FluentBundle::new_concurrent(Vec::new()),
});

static IN_ENGLISH: Words = Words { own: None };

fn bundle(resource: FluentResource, language: &str) -> Bundle {
    let tag: LanguageIdentifier = language.parse().unwrap_or_default();
    let mut bundle = FluentBundle::new_concurrent(vec![tag]);
    // Marks of direction would be printed as missing letters.
    bundle.set_use_isolating(false);
    bundle.add_resource_overriding(resource);
    bundle
}

fn said(bundle: &Bundle, key: &str, with: &[(&str, Said<'_>)]) -> Option<String> {
    let pattern = bundle.get_message(key)?.value()?;
    let mut args = FluentArgs::with_capacity(with.len());
    for (name, value) in with {
        let value = match value {
            Said::Text(text) => FluentValue::from(text.as_ref()),
            Said::Count(n) => FluentValue::from(*n),
        };
        args.set(*name, value);
    }
    let mut errors = Vec::new();
    Some(bundle.format_pattern(pattern, Some(&args), &mut errors).into_owned())
}

impl Words {
    /// English.
    #[must_use]
    pub fn english() -> &'static Self {
        &IN_ENGLISH
    }

    /// A translation: a file like [`ENGLISH`] in another language, and what is to be told about it. What it leaves out
    /// stays English.
    ///
    /// # Errors
    /// Where the text is no Fluent, has a key that no sentence has, or puts in what its sentence is not given.
    pub fn translated(source: &str) -> Result<(Self, Vec<String>), TranslationError> {
        let (resource, notes) = checked(source)?;
        let unnamed = bundle(resource, "en");
        // Plurals go by the language that it says it is.
        let tag = said(&unnamed, LANGUAGE, &[]).unwrap_or_else(|| "en".into());
        if tag.parse::<LanguageIdentifier>().is_err() {
            return Err(TranslationError::Language { tag });
        }
        let own = bundle(parsed(source)?, &tag);
        Ok((Self { own: Some(own) }, notes))
    }

    /// The tag of the language, such as `en` or `pt-BR`.
    #[must_use]
    pub fn language(&self) -> String {
        self.say(LANGUAGE, &[])
    }

    /// A sentence by its key; usually through [`say!`](crate::say). A key that no sentence has is printed itself.
    #[must_use]
    pub fn say(&self, key: &str, with: &[(&str, Said<'_>)]) -> String {
        self.found(key, with).unwrap_or_else(|| key.to_owned())
    }

    /// A sentence of this language, else the English one.
    fn found(&self, key: &str, with: &[(&str, Said<'_>)]) -> Option<String> {
        let own = self.own.as_ref().and_then(|own| said(own, key, with));
        own.or_else(|| said(&ENGLISH_BUNDLE, key, with))
    }

    /// One of a fixed set of words, by its kind and its English: "From the front" of the kind `view` has the key
    /// `view-from-the-front`. What has no key is printed as it is.
    #[must_use]
    pub fn term(&self, kind: &str, english: &str) -> String {
        self.found(&key_of(kind, english), &[]).unwrap_or_else(|| english.to_owned())
    }

    /// Whether there is a sentence of this key, in this language or in English.
    #[must_use]
    pub fn has(&self, key: &str) -> bool {
        let own = self.own.as_ref().is_some_and(|own| own.has_message(key));
        own || ENGLISH_BUNDLE.has_message(key)
    }

    /// Names as one lists them: "a, b and c".
    #[must_use]
    pub fn list(&self, names: &[String]) -> String {
        match names {
            [] => String::new(),
            [one] => one.clone(),
            [rest @ .., last] => {
                let rest = self.row(rest);
                self.say("list-last", &[("list", rest.into()), ("last", last.into())])
            }
        }
    }

    /// Names one after the other: "a, b, c".
    #[must_use]
    pub fn row(&self, names: &[String]) -> String {
        let mut each = names.iter();
        let first = each.next().cloned().unwrap_or_default();
        each.fold(first, |list, next| self.say("list-more", &[("list", list.into()), ("next", next.into())]))
    }
}

/// The key of a word of a kind.
#[must_use]
pub(crate) fn key_of(kind: &str, english: &str) -> String {
    let mut key = kind.to_owned();
    for word in english.split(|c: char| !c.is_ascii_alphanumeric()).filter(|w| !w.is_empty()) {
        key.push('-');
        key.push_str(&word.to_ascii_lowercase());
    }
    key
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::say;

    #[test]
    fn a_translation_speaks_first_and_english_for_what_it_leaves_out() {
        let source = "language = pl\ntouches = { $n ->\n    [one] { $n } dotyk\n    [few] { $n } dotyki\n   *[many] { $n } dotyków\n }\n";
        let (words, notes) = Words::translated(source).unwrap();
        assert_eq!(words.language(), "pl");
        // Plural rules of Polish (Unicode CLDR): one, few for 2 to 4, many for 5 and 12.
        let told = [1_usize, 3, 5, 12].map(|n| say!(words, "touches", n = n));
        assert_eq!(told, ["1 dotyk", "3 dotyki", "5 dotyków", "12 dotyków"]);
        assert_eq!(say!(words, "card-mistake"), say!(Words::english(), "card-mistake"));
        assert!(notes.len() == 1 && notes[0].contains("stay English"), "{notes:?}");
    }

    #[test]
    fn lists_are_joined_as_the_language_does() {
        let names = |n: usize| ["a", "b", "c"][..n].iter().map(|s| (*s).to_owned()).collect::<Vec<_>>();
        let english = [0, 1, 2, 3].map(|n| Words::english().list(&names(n)));
        assert_eq!(english, ["", "a", "a and b", "a, b and c"]);
        let (words, _) = Words::translated("language = de\nlist-last = { $list } und { $last }").unwrap();
        assert_eq!(words.list(&names(3)), "a, b und c");
    }

    #[test]
    fn words_of_a_kind_have_keys() {
        assert_eq!(key_of("view", "Three-quarter view"), "view-three-quarter-view");
        assert_eq!(Words::english().term("no-such-kind", "As it is"), "As it is");
    }
}
