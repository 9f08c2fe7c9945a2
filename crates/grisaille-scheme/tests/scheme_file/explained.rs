//! What is wrong with a scheme file is told with its line and column and with a
//! way out, in a painter's words.

use grisaille_scheme::{DocumentError, read_document};

/// Words of the programs beneath, which a painter must never meet.
const JARGON: [&str; 22] = [
    "expected",
    "serde",
    "toml",
    "f64",
    "u8",
    "u32",
    "unknown field",
    "missing field",
    "unknown variant",
    "variant",
    "invalid type",
    "invalid value",
    "invalid length",
    "integer",
    "boolean",
    "string",
    "literal",
    "float",
    "untagged",
    "deserial",
    "parse",
    "schema",
];

/// What every error must hold.
pub(crate) fn reads_well(error: &DocumentError, text: &str) {
    let said = error.to_string();
    let why = error.why();
    let plain = why.to_lowercase();
    for word in JARGON {
        assert!(!plain.contains(word), "'{word}' in: {said}");
    }
    assert_eq!(said.lines().count(), 1, "{said}");
    assert!(said.starts_with(&format!("line {}, column {}: ", error.line(), error.column())), "{said}");
    // A shape that no check explains would be told only in this general way.
    assert!(!why.contains("has no place in a scheme"), "{said}");
    // What to do stands after a colon or in a question.
    assert!(why.contains(": ") || why.contains('?'), "no way out: {said}");
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let line = text.split('\n').nth(error.line() - 1).unwrap_or_else(|| panic!("no such line: {said}"));
    assert!(error.column() <= 1 + line.chars().count(), "{said}");
    let excerpt = error.excerpt(text);
    assert!(excerpt.contains(&format!("{} |", error.line())) && excerpt.contains('^'), "{excerpt}");
}

/// Says that a text is refused at a line and column, with these words.
#[track_caller]
fn refused(text: &str, line: usize, column: usize, words: &str) {
    let error = read_document(text).expect_err(text);
    reads_well(&error, text);
    assert_eq!((error.line(), error.column()), (line, column), "{error}\n{text}");
    assert!(error.why().contains(words), "{error}\ndoes not hold: {words}");
}

const HEAD: &str = "version = 1\n[[model]]\nbuilt_in = \"diver\"\n";

/// The head, and below it from line 4 on.
#[track_caller]
fn refused_below(text: &str, line: usize, column: usize, words: &str) {
    refused(&format!("{HEAD}{text}"), line, column, words);
}

#[test]
fn what_is_no_scheme() {
    for (text, column) in [("", 1), ("solid diver\n", 1), ("title = \"x\"\n", 1), ("version = 0\n", 11)] {
        refused(text, 1, column, "not a scheme");
    }
    refused("version = \"one\"\n", 1, 11, "not a scheme");
    refused("version = 2\nsomething_new = true\n", 1, 11, "newer grisaille");
    refused("version = 1\n", 1, 1, "add one, with its keys below");
    refused("version = 1\nmodel = []\n", 2, 9, "names no model");
    refused("version = 1\n[model]\nbuilt_in = \"diver\"\n", 2, 1, "two brackets, [[model]]");
}

#[test]
fn what_is_no_toml() {
    for (text, line, column, words) in [
        ("[surface\n", 4, 9, "brackets"),
        ("[values]\ndarkest = 12,5\n", 5, 13, "a number has a point"),
        ("[values]\ndarkest 12\n", 5, 9, "write key = value"),
        ("[values]\ndarkest =\n", 5, 10, "no value after the '='"),
        ("[values]\ndarkest = 1\ndarkest = 2\n", 6, 1, "already"),
        ("[paints]\nfile = paints.csv\n", 5, 8, "quotation marks"),
        ("[paints]\nfile = \"C:\\models\\paints.csv\"\n", 5, 12, "write / in the path"),
        ("[bands]\nlevels = [20, 40\n", 5, 17, "']'"),
        ("[bands]\nlevels = [20 40]\n", 5, 11, "comma"),
        ("[values]\ndarkest = 1__2\n", 5, 12, "12 or 0.5"),
        ("mood = { name = \"calm\" \n", 4, 23, "{ key = value, key = value }"),
    ] {
        refused_below(text, line, column, words);
    }
}

#[test]
fn keys_that_there_are_not() {
    let light = "[[light]]\nid = 1\nname = \"sky\"\nkind = \"zenithal\"\nweight = 1\n";
    refused_below(
        &format!("{light}azimut = 20\n"),
        9,
        1,
        "light 'sky' has no key 'azimut': did you mean 'azimuth'?",
    );
    refused_below(&format!("{light}Tilt = 20\n"), 9, 1, "did you mean 'tilt'?");
    refused_below("hight = 3\n", 4, 1, "[[model]] has no key 'hight': did you mean 'height'?");
    refused_below("[surface]\nshine = true\n", 5, 1, "it has refine, spacing and cap");
    refused_below("[colors]\nred = 1\n", 4, 2, "it has version, title");
    refused_below("[regoins]\nby = \"pieces\"\n", 4, 2, "did you mean 'regions'?");
    refused_below("title = \"x\"\n", 4, 1, "above the first table");
    refused_below("[surface]\nvalues = 3\n", 5, 1, "a head of its own");
    refused_below(
        "[[brush.keep]]\nat = [1, 2, 3]\nradius = 1\ndepth = 2\n",
        7,
        1,
        "[[brush.keep]] has no key 'depth'",
    );
}

#[test]
fn keys_that_are_missing() {
    refused_below("[[light]]\nname = \"a\"\n", 4, 1, "light 'a' has no id: add id = ");
    refused_below(
        "[[light]]\nid = 1\nname = \"a\"\nkind = \"ring\"\n",
        4,
        1,
        "has no weight: add weight = 0.8",
    );
    refused_below(
        "[[light]]\nid = 1\nname = \"a\"\nkind = \"lamp\"\nweight = 1\n",
        4,
        1,
        "add at = [x, y, z]",
    );
    refused_below("[[region]]\ncolour = \"#aabbcc\"\n", 4, 1, "has no name: add name = \"helmet\"");
    refused_below("[[region]]\nname = \"a\"\n", 4, 1, "write colour = ");
    refused_below("[mood]\nstrength = 1\n", 4, 1, "[mood] has no name: add name = \"calm\"");
    refused_below("[paints]\nmost = 1\n", 4, 1, "[paints] has no file: add file = \"paints.csv\"");
    refused_below("[[model]]\nup = \"y\"\n", 4, 1, "either file = ");
    refused_below("[[regions.step]]\ndo = \"grow\"\nat = [[1, 2, 3]]\n", 4, 1, "needs a name");
}

#[test]
fn values_of_another_kind() {
    refused_below("[surface]\nrefine = 3\n", 5, 10, "'refine' of [surface] is 3: it must be true or false");
    refused("version = 1\nsurface.refine = 3\n", 2, 18, "true or false");
    refused_below("[values]\ndarkest = \"ink\"\n", 5, 11, "is the text 'ink': it must be a number");
    refused_below("[values]\ndarkest = 1979-05-27\n", 5, 11, "is a date: it must be a number");
    refused_below("values = 3\n", 4, 1, "a head of its own");
    refused("version = 1\nvalues = 3\n", 2, 10, "write [values] on a line of its own");
    refused_below("[fineness]\nring_directions = 3.5\n", 5, 19, "a whole number from 1 to 65536");
    refused_below(
        "[[region]]\nname = \"a\"\nsteps = 9\n",
        6,
        9,
        "'steps' of region 'a' is 9: it must be a whole number from 3 to 6",
    );
    refused_below("[[region]]\nname = 3\n", 5, 8, "a text in quotation marks, such as \"helmet\"");
    refused_below(
        "[[region]]\nname = \"a\"\nat = [[1, 2, 3, 4]]\n",
        6,
        7,
        "lists of 3 numbers or lists of 6 numbers",
    );
    let lamp = "[[light]]\nid = 1\nname = \"a\"\nkind = \"lamp\"\nweight = 1\n";
    refused_below(&format!("{lamp}at = [1, 2]\n"), 9, 6, "is a list of 2: it must be a list of 3 numbers");
    refused_below(&format!("{lamp}at = [1, \"two\", 3]\n"), 9, 10, "holds the text 'two'");
    refused_below(&format!("{lamp}colour = [1, 2, 300]\n"), 9, 17, "3 whole numbers from 0 to 255");
}

#[test]
fn words_that_there_are_not() {
    let light = |kind: &str| format!("[[light]]\nid = 1\nname = \"a\"\nweight = 1\nkind = \"{kind}\"\n");
    refused_below(&light("sun"), 8, 8, "it must be zenithal, ring, ambient or lamp");
    refused_below(&light("zenital"), 8, 8, "did you mean 'zenithal'?");
    refused_below("[mood]\nname = \"glomy\"\n", 5, 8, "did you mean 'gloomy'?");
    refused_below("[mood]\nname = \"happy\"\n", 5, 8, "it must be calm, cold");
    refused_below("[stages]\nskip = [\"wash\", \"edgs\"]\n", 5, 17, "did you mean 'edges'?");
    refused_below("[print]\nsheets = [\"valus\"]\n", 5, 11, "did you mean 'values'?");
    refused_below("[primer]\ntones = \"gray\"\n", 5, 9, "did you mean 'grey'?");
    refused_below("[primer]\ntones = \"coloured_shadow\"\n", 5, 9, "did you mean 'coloured-shadow'?");
    refused_below("[[region]]\nname = \"a\"\nmaterial = \"wool\"\n", 6, 12, "matte, satin, cloth");
}

#[test]
fn what_makes_no_sense() {
    let light = |rest: &str| format!("[[light]]\nid = 1\nname = \"zenithal\"\nweight = 1\n{rest}");
    let tilt = "the tilt of 'zenithal' in degrees is 500: it must lie between 0 and 180";
    refused_below(&light("kind = \"zenithal\"\ntilt = 500\n"), 9, 8, tilt);
    refused_below(&light("kind = \"zenithal\"\ntilt = nan\n"), 9, 8, "between 0 and 180");
    refused_below(&light("kind = \"zenithal\"\nsky = \"overcast\"\n"), 9, 7, "has no sky");
    refused_below(&light("kind = \"ring\"\nat = [1, 2, 3]\n"), 9, 6, "leave it out");
    refused_below(&light("kind = \"ring\"\nradius = 2\n"), 9, 10, "only kind zenithal and lamp");
    refused_below(&light("kind = \"lamp\"\nat = [1, 2e9, 3]\n"), 9, 10, "between -1000000 and 1000000");
    let two =
        light("kind = \"ring\"\n") + "[[light]]\nid = 2\nname = \"zenithal\"\nkind = \"ring\"\nweight = 1\n";
    refused_below(&two, 11, 8, "two lights are called 'zenithal'");
    let two =
        light("kind = \"ring\"\n") + "[[light]]\nid = 1\nname = \"other\"\nkind = \"ring\"\nweight = 1\n";
    refused_below(&two, 10, 6, "'zenithal' and 'other' have the same id, 1");
    refused_below("[[light]]\nid = 1\nname = \"a\"\nkind = \"ring\"\nweight = 0\n", 4, 1, "no light counts");
    refused_below("[bands]\nshares = [1, 1, 1]\nlevels = [20, 40]\n", 6, 10, "keep one of them");
    refused_below("[bands]\nlevels = [20, 60, 40]\n", 5, 19, "must rise");
    refused_below("[bands]\nshares = [50, 50]\n", 5, 10, "give 3 to 6");
    refused_below("[values]\ndarkest = 90\n", 5, 11, "less than 10 L*");
    refused_below("[values]\nlightest = 20\n", 5, 12, "less than 10 L*");
    refused_below("[regions]\nby = \"pieces\"\ncount = 4\n", 6, 9, "keep one of them");
    refused_below("[[regions.step]]\ndo = \"merge\"\nat = [[1, 2, 3]]\n", 6, 6, "merge and split need two");
    refused_below(
        "[[regions.step]]\ndo = \"lock\"\nname = \"a\"\nat = [[1, 2, 3]]\n",
        6,
        8,
        "no use for a name",
    );
    refused_below(
        "[[palette]]\nname = \"copper\"\ncolour = \"brown\"\n",
        6,
        10,
        "palette colour 'copper': 'brown'",
    );
    refused_below(
        "[[palette]]\nname = \"a\"\ncolour = \"#aabbcc\"\n[[palette]]\nname = \"A\"\ncolour = \"#aabbcc\"\n",
        8,
        8,
        "two palette colours",
    );
    refused_below(
        "[[region]]\nname = \"a\"\ncolour = \"b\"\nsteps = 3\nramp = [\"a\", \"b\", \"c\"]\n",
        7,
        9,
        "keep one of them",
    );
    refused_below("[[region]]\nname = \"a\"\nramp = [\"a\", \"b\"]\n", 6, 8, "3 to 6");
    refused_below("[[region]]\nname = \"a\"\ncolour = \"b\"\nlift = 2\n", 7, 8, "between -1 and 1");
    let rest = "[[region]]\nname = \"a\"\ncolour = \"b\"\nrest = true\n";
    refused_below(&format!("{rest}{rest}"), 11, 8, "only one can paint all the rest");
    refused_below("[mood]\nname = \"calm\"\nstrength = 2\n", 6, 12, "between 0 and 1");
    refused_below("[[emphasis.focus]]\nat = [1, 2, inf]\nradius = 1\nstrength = 1\n", 5, 13, "focal point");
    refused_below("[hidden]\nparts = [[1, 2, 3], [1, 2, 1e9]]\n", 5, 28, "a part that is out of sight");
}

/// The line is shown as it stands, signs wider than a byte before the place
/// included, and a byte order mark shifts nothing.
#[test]
fn the_line_is_shown_with_a_mark_below_it() {
    let text = format!("\u{feff}{HEAD}[[region]]\nname = \"Lé\"; colour = 3\n");
    refused(&text, 5, 12, "a number has a point");
    let text = format!("\u{feff}{HEAD}region = [{{ name = \"Lééé\", lift = true }}]\n")
        .replace("[[model]]\nbuilt_in = \"diver\"", "model = [{ built_in = \"diver\" }]");
    let error = read_document(&text).unwrap_err();
    assert_eq!((error.line(), error.column()), (3, 35));
    assert_eq!(
        error.excerpt(&text),
        "  |\n3 | region = [{ name = \"Lééé\", lift = true }]\n  |                                   ^^^^"
    );

    // Of a long line what is near is shown.
    let stroke = "[1, 2, 3], ".repeat(60);
    let text = format!("{HEAD}[[region]]\nname = \"a\"\nat = [{stroke}[1, 2], {stroke}]\n");
    let error = read_document(&text).unwrap_err();
    let excerpt = error.excerpt(&text);
    let lines: Vec<&str> = excerpt.lines().collect();
    assert!(lines[1].starts_with("6 | …") && lines[1].ends_with('…') && lines[1].chars().count() < 110);
    let column = lines[2].chars().position(|c| c == '^').expect("a mark");
    assert_eq!(lines[1].chars().skip(column).take(6).collect::<String>(), "[1, 2]");
}
