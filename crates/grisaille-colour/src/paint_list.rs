//! The user's paints from a table (CSV): every habit of spreadsheets is read, or
//! explained with its line and a way out.

use crate::colour_text::{lab_from_numbers, number};
use crate::sheet::{Row, SEPARATORS, quotes_pair, rows, text_of};
use crate::{Curve, Finish, Lab, Paint, colour_from_text};
use grisaille_base::{Code, Finding, Place};

/// Why a list of paints cannot be read at all.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PaintListError {
    /// Nothing in it.
    #[error("it is empty: write a line 'name,hex,type' and below it a line for each paint")]
    Empty,
    /// Not a text file.
    #[error("it is no text: save the table as CSV from the spreadsheet program")]
    NotText,
    /// No column with colours.
    #[error(
        "line {line} names no column with colours: write 'hex' over the column with #rrggbb (or 'L', 'a' and 'b', \
         or wavelengths in nm over a measured curve)"
    )]
    NoColour {
        /// The first line of the table.
        line: u64,
    },
    /// Not one paint that can be used.
    #[error("none of its lines is a paint; the first trouble is in line {line}: {why}")]
    NoPaint {
        /// The first line that is none.
        line: u64,
        /// What is wrong with it.
        why: String,
    },
    /// More paints than anybody has.
    #[error("it has {0} lines; 2,000 are the most: leave out what is not at hand")]
    TooMany(usize),
}

/// The most rows that are read.
const MOST: usize = 2_000;
/// How far down the line with the names of the columns is looked for.
const HEADING_WITHIN: usize = 10;
/// The fewest measured points of a curve.
const FEWEST_POINTS: usize = 8;

/// What stands in a column.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Column {
    Name,
    /// "Colour": the name if there is a column of codes as well, else the code.
    Colour,
    Hex,
    Lab(usize),
    Nanometres(f64),
    Finish,
    Stock,
    Strength,
    Unknown,
}

/// Reads a list of paints. Columns are named in one of the first lines, in any
/// order: a name; a colour as `hex`, as `L`, `a` and `b`, or as a curve, one column
/// for each wavelength in nm; and if wanted `type` (opaque, transparent, metallic),
/// `stock` and `strength`. A curve goes before Lab, and Lab before hex.
///
/// What could not be used or was mended is told in the findings, each with its line.
///
/// # Errors
/// When there is no paint in it that can be used.
pub fn read_paints(bytes: &[u8]) -> Result<(Vec<Paint>, Vec<Finding>), PaintListError> {
    let text = text_of(bytes).ok_or(PaintListError::NotText)?;
    let (rows, heading) = divided(&text).ok_or(PaintListError::Empty)?;
    if rows.len() > MOST {
        return Err(PaintListError::TooMany(rows.len()));
    }
    let (columns, body) = match heading {
        Some((at, columns)) => (columns, &rows[at + 1..]),
        None => {
            let line = rows[0].line;
            (guessed(&rows).ok_or(PaintListError::NoColour { line })?, &rows[..])
        }
    };
    let mut findings = Vec::new();
    if !quotes_pair(&text) {
        let hint = "a quotation mark is opened and never closed; all of them were passed over: take it away";
        findings.push(Finding::new(Code::PaintMended, 1, hint));
    }
    let percent = in_percent(body, &columns);
    let mut paints: Vec<Paint> = Vec::new();
    for row in body {
        let at = |code, hint: String| Finding::new(code, 1, hint).at(Place::Line(row.line));
        let mut mended = Vec::new();
        match paint(row, &columns, percent, &mut mended) {
            Ok(mut new) => {
                let same = paints.iter().filter(|p| p.name.eq_ignore_ascii_case(&new.name)).count();
                if paints.contains(&new) {
                    let hint = format!("'{}' stands in the list already and was passed over", new.name);
                    findings.push(at(Code::PaintLeftOut, hint));
                    continue;
                }
                if same > 0 {
                    let name = unused(&new.name, same + 1, &paints);
                    mended.push(format!("a second '{}' of another colour is called '{name}'", new.name));
                    new.name = name;
                }
                findings.extend(mended.into_iter().map(|hint| at(Code::PaintMended, hint)));
                paints.push(new);
            }
            Err(why) => findings.push(at(Code::PaintLeftOut, why)),
        }
    }
    if paints.is_empty() {
        let first = findings.iter().find_map(|f| match (f.code, f.place) {
            (Code::PaintLeftOut, Some(Place::Line(line))) => Some((line, f.hint.clone())),
            _ => None,
        });
        let (line, why) =
            first.unwrap_or((rows[0].line, "there is no line below the names of the columns".into()));
        return Err(PaintListError::NoPaint { line, why });
    }
    Ok((paints, findings))
}

/// The rows by the separator that gives the most known columns, or without any
/// the most cells, and which of them names the columns. `None` without rows.
#[expect(clippy::type_complexity, reason = "used once, taken apart at once")]
fn divided(text: &str) -> Option<(Vec<Row>, Option<(usize, Vec<Column>)>)> {
    let mut best: Option<(usize, usize, Vec<Row>, Option<(usize, Vec<Column>)>)> = None;
    for separator in SEPARATORS {
        let rows = rows(text, separator);
        let heading = rows.iter().take(HEADING_WITHIN).enumerate().find_map(|(at, row)| {
            let columns = named(row);
            has_colour(&columns).then_some((at, columns))
        });
        let known = heading.as_ref().map_or(0, |(_, c)| c.iter().filter(|c| **c != Column::Unknown).count());
        let cells = rows.iter().map(|r| r.cells.len()).max()?;
        if best.as_ref().is_none_or(|(k, c, ..)| (known, cells) > (*k, *c)) {
            best = Some((known, cells, rows, heading));
        }
    }
    best.map(|(_, _, rows, heading)| (rows, heading))
}

fn has_colour(columns: &[Column]) -> bool {
    let all = |k: usize| columns.contains(&Column::Lab(k));
    let nanometres = columns.iter().filter(|c| matches!(c, Column::Nanometres(_))).count();
    columns.contains(&Column::Hex) || (all(0) && all(1) && all(2)) || nanometres >= FEWEST_POINTS
}

/// What the cells of a row name.
fn named(row: &Row) -> Vec<Column> {
    let mut columns: Vec<Column> = row.cells.iter().map(|cell| column(cell)).collect();
    // A heading stands once; a second column of that name is not read.
    for k in 1..columns.len() {
        if columns[..k].contains(&columns[k]) {
            columns[k] = Column::Unknown;
        }
    }
    let named = columns.contains(&Column::Name);
    let coded = columns.contains(&Column::Hex);
    for c in columns.iter_mut().filter(|c| **c == Column::Colour) {
        *c = match (coded, named) {
            (false, _) => Column::Hex,
            (true, false) => Column::Name,
            (true, true) => Column::Unknown,
        };
    }
    columns
}

fn column(cell: &str) -> Column {
    let word = cell.to_lowercase();
    let word = word.trim_matches(|c: char| c == '*' || c == ':' || c.is_whitespace());
    match word {
        "name" | "paint" | "paints" | "paint name" | "colour name" | "color name" => Column::Name,
        "colour" | "color" => Column::Colour,
        "hex" | "srgb" | "rgb" | "hex code" | "srgb hex" | "code" => Column::Hex,
        "l" | "lightness" | "lab l" => Column::Lab(0),
        "a" | "lab a" => Column::Lab(1),
        "b" | "lab b" => Column::Lab(2),
        "type" | "finish" | "kind" | "cover" | "covers" => Column::Finish,
        "stock" | "in stock" | "have" | "owned" | "amount" | "quantity" => Column::Stock,
        "strength" | "tinting strength" => Column::Strength,
        _ => match number(word.trim_end_matches("nm")) {
            Some(nm) if (300.0..=830.0).contains(&nm) => Column::Nanometres(nm),
            _ => Column::Unknown,
        },
    }
}

/// Columns by what stands in them, where none is named: colour codes, a name, a
/// finish.
fn guessed(rows: &[Row]) -> Option<Vec<Column>> {
    let row = rows.iter().find(|r| r.cells.iter().any(|c| colour_from_text(c).is_ok()))?;
    let mut columns = vec![Column::Unknown; row.cells.len()];
    let hex = row.cells.iter().position(|c| colour_from_text(c).is_ok())?;
    columns[hex] = Column::Hex;
    for (k, cell) in row.cells.iter().enumerate().filter(|(k, c)| *k != hex && !c.is_empty()) {
        let kind = match finish(cell) {
            Some(_) => Column::Finish,
            None if number(cell).is_none() => Column::Name,
            None => Column::Unknown,
        };
        if !columns.contains(&kind) {
            columns[k] = kind;
        }
    }
    Some(columns)
}

/// Whether curves are written in percent: any of their numbers is above 1.5.
fn in_percent(rows: &[Row], columns: &[Column]) -> bool {
    rows.iter().any(|row| {
        let cells = columns.iter().zip(&row.cells);
        cells
            .filter(|(c, _)| matches!(c, Column::Nanometres(_)))
            .any(|(_, t)| number(t).is_some_and(|n| n > 1.5))
    })
}

/// The paint of a row, or why it is none.
fn paint(row: &Row, columns: &[Column], percent: bool, mended: &mut Vec<String>) -> Result<Paint, String> {
    let cell = |wanted: Column| {
        let at = columns.iter().position(|c| *c == wanted)?;
        row.cells.get(at).map(String::as_str).filter(|c| !c.is_empty())
    };
    let name = match cell(Column::Name) {
        Some(name) => name.chars().filter(|c| !c.is_control()).take(200).collect(),
        None => {
            let name = format!("paint of line {}", row.line);
            mended.push(format!("a paint without a name is called '{name}'"));
            name
        }
    };
    let mut paint = match (curve(row, columns, percent)?, lab(&cell)?, cell(Column::Hex)) {
        (Some(curve), ..) => Paint::of_curve(name, curve),
        (None, Some(colour), _) => Paint::of_colour(name, colour),
        (None, None, Some(code)) => Paint::of_colour(name, colour_from_text(code)?),
        (None, None, None) => return Err(format!("'{name}' has no colour: write it as #rrggbb")),
    };
    if let Some(word) = cell(Column::Finish) {
        match finish(word) {
            Some(finish) => paint.finish = finish,
            None => mended.push(format!("'{word}' counts as opaque: write opaque, transparent or metallic")),
        }
    }
    if let Some(word) = cell(Column::Stock) {
        paint.stock = stock(word);
        if paint.stock.is_none() {
            mended.push(format!("the stock '{word}' does not count: write a number, yes or no"));
        }
    }
    if let Some(word) = cell(Column::Strength) {
        match number(word).filter(|s| (0.01..=100.0).contains(s)) {
            Some(strength) => paint.strength = Some(strength),
            None => mended.push(format!("the strength '{word}' does not count: write 0.01 to 100")),
        }
    }
    Ok(paint)
}

/// The curve of a row; `None` if none is written in it.
fn curve(row: &Row, columns: &[Column], percent: bool) -> Result<Option<Curve>, String> {
    let mut points = Vec::new();
    for (column, cell) in columns.iter().zip(&row.cells).filter(|(_, cell)| !cell.is_empty()) {
        if let Column::Nanometres(nm) = column {
            let share = number(cell).map(|n| if percent { n / 100.0 } else { n });
            match share.filter(|s| (0.0..=1.2).contains(s)) {
                Some(share) => points.push((*nm, share)),
                None => {
                    return Err(format!(
                        "'{cell}' at {nm} nm is no reflectance: write 0 to 1, or 0 to 100 throughout"
                    ));
                }
            }
        }
    }
    points.sort_by(|a, b| a.0.total_cmp(&b.0));
    if points.is_empty() {
        return Ok(None);
    }
    let ends = points.first().zip(points.last());
    let enough = points.len() >= FEWEST_POINTS && ends.is_some_and(|(a, b)| a.0 <= 430.0 && b.0 >= 650.0);
    match Curve::through(&points) {
        Some(curve) if enough => Ok(Some(curve)),
        _ => Err(format!(
            "a curve of {} points says too little: give at least {FEWEST_POINTS}, from 430 nm or below to 650 nm or above",
            points.len()
        )),
    }
}

/// L*, a* and b* of a row; `None` if none of them is written in it.
fn lab<'a>(cell: &impl Fn(Column) -> Option<&'a str>) -> Result<Option<Lab>, String> {
    let written = [0, 1, 2].map(|k| cell(Column::Lab(k)));
    if written.iter().all(Option::is_none) {
        return Ok(None);
    }
    let [l, a, b] = written.map(|text| text.and_then(number));
    let numbers = l.zip(a).zip(b).map(|((l, a), b)| [l, a, b]);
    match numbers.and_then(lab_from_numbers) {
        Some(lab) => Ok(Some(lab)),
        None => {
            let said: Vec<&str> = written.map(|t| t.unwrap_or("nothing")).to_vec();
            Err(format!("L, a and b are '{}': write three numbers, L from 0 to 100", said.join("', '")))
        }
    }
}

fn finish(word: &str) -> Option<Finish> {
    match word.to_lowercase().as_str() {
        "opaque" | "o" | "solid" | "covering" => Some(Finish::Opaque),
        "transparent" | "t" | "translucent" | "clear" | "glaze" | "wash" | "ink" => Some(Finish::Transparent),
        "metallic" | "m" | "metal" => Some(Finish::Metallic),
        _ => None,
    }
}

fn stock(word: &str) -> Option<f64> {
    let word = word.to_lowercase();
    match word.as_str() {
        "yes" | "y" | "x" | "true" | "full" | "have" | "low" => Some(1.0),
        "no" | "n" | "none" | "false" | "empty" | "-" => Some(0.0),
        _ => number(word.trim_end_matches(|c: char| c.is_alphabetic() || c == '%')).filter(|n| *n >= 0.0),
    }
}

/// A name that no paint has yet: this one and a number.
fn unused(name: &str, first: usize, paints: &[Paint]) -> String {
    let taken = |name: &str| paints.iter().any(|p| p.name.eq_ignore_ascii_case(name));
    (first..).map(|n| format!("{name} ({n})")).find(|name| !taken(name)).unwrap_or_default()
}
