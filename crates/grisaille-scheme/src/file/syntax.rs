//! What is no TOML, in plain words and with a way out.

/// What to do about an error of the TOML reader, by the words it begins with. The
/// first that fits counts.
const WORDS: [(&[&str], &str); 17] = [
    (&["key with no value"], "this has no value: write key = value, or # before it for a comment"),
    (&["missing value"], "there is no value after the '=': write one, such as weight = 0.5"),
    (
        &["duplicate key", "cannot extend"],
        "this stands there already: keep one of the two; of what there may be several, the name stands in two \
         brackets, such as [[light]]",
    ),
    (&["extra `=`", "unexpected `=`", "extra assignment"], "there is a '=' too many: remove it"),
    (
        &["unclosed table", "unclosed array table", "missing table open"],
        "the brackets of a table are not closed: write [name], or [[name]], on a line of its own",
    ),
    (&["unclosed array"], "this list is not closed: put a ']' at its end"),
    (
        &[
            "unclosed inline table",
            "missing inline table",
            "missing assignment",
            "missing key",
            "invalid inline",
        ],
        "a table in one line is { key = value, key = value }: mend it, or write it as [name] with its keys below",
    ),
    (&["missing comma"], "a comma is missing here: put one between two entries"),
    (&["extra comma"], "there is a comma too many: remove it"),
    (&["missing array opening"], "there is a ']' too many: remove it"),
    (
        &["unexpected key or value", "unexpected content"],
        "there is something more after a value: a number has a point, such as 0.5, and each key has a line of \
         its own",
    ),
    (
        &[
            "`_` may only",
            "floating-point",
            "integer",
            "radix",
            "redundant",
            "unexpected leading zero",
            "unexpected sign",
            "invalid integer",
            "invalid float",
            "invalid decimal",
            "invalid octal",
            "invalid hex",
            "invalid binary",
            "invalid mantissa",
            "invalid fraction",
            "invalid exponent",
        ],
        "this number cannot be read: write it such as 12 or 0.5",
    ),
    (
        &["invalid string", "invalid basic", "invalid literal", "invalid multi-line"],
        "this text does not end: close its quotation marks on the same line, and use no odd signs within",
    ),
    (&["carriage return"], "a line ends in an odd way: save the file with plain line ends"),
    (
        &["missing escaped", "too few unicode", "invalid escape", "invalid unicode"],
        "in quotation marks a backslash begins a special sign: write / in the path of a file, or two backslashes",
    ),
    (
        &["cannot recurse", "recursion limit"],
        "brackets stand too deep in each other here: no scheme needs that",
    ),
    (
        &[
            "string values must be quoted",
            "missing opening quote",
            "invalid value",
            "invalid boolean",
            "invalid date",
        ],
        "this value cannot be read: a text stands in quotation marks and a number has a point, such as name = \
         \"lamp\" and weight = 0.5",
    ),
];

/// What an error of the TOML reader means, and the way out. `found` is what it
/// stumbled over.
pub(super) fn in_plain_words(message: &str, found: &str) -> &'static str {
    // It takes nothing at all, and two numbers side by side, for a text without its
    // quotation marks.
    let message = match message {
        _ if !message.starts_with("string values") => message,
        _ if found.is_empty() => "missing value",
        _ if found.contains(' ') && found.chars().all(|c| c.is_ascii_digit() || "+-. ".contains(c)) => {
            "missing comma"
        }
        _ => message,
    };
    let fits = |begins: &&&str| message.starts_with(**begins);
    let found = WORDS.iter().find(|(begins, _)| begins.iter().any(|b| fits(&b)));
    found.map_or(
        "this cannot be read: a line is key = value with a plain word for the key, [table], [[table]], or # and a \
         comment",
        |(_, words)| words,
    )
}
