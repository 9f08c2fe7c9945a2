//! Proportions: how much of the figure each palette colour covers, as the main views show it,
//! against the share that the palette gives it.

use crate::colouring::{Colouring, RegionColours};
use grisaille_base::{Code, Finding};
use grisaille_scheme::ColourChoice;

/// A palette colour on the figure.
#[derive(Clone, Debug, PartialEq)]
pub struct Proportion {
    /// Its name in the palette.
    pub name: String,
    /// The share that the palette gives it, 0 to 1; `None` if it gives none.
    pub wanted: Option<f64>,
    /// Its share of what the main views show, 0 to 1.
    pub seen: f64,
    /// Its share of the painted area, 0 to 1.
    pub area: f64,
}

/// A colour with up to this share of the palette is an accent.
const ACCENT: f64 = 0.1;
/// An accent may be so many times its share; more, and it is no accent.
const TOO_MUCH: f64 = 2.0;
/// Any other colour may be off by this share of its own...
const OFF: f64 = 0.35;
/// ...and always by so much of the whole. (Common practice: proportions are judged by eye;
/// the numbers are ours.)
const ALWAYS: f64 = 0.05;

/// The palette's colours on a coloured figure, in the palette's order. Regions whose colour is no
/// palette colour count for none; `seen` and `area` are shares of all that is coloured.
#[must_use]
pub fn proportions(choice: &ColourChoice, colouring: &Colouring) -> Vec<Proportion> {
    let whole: f64 = choice.palette.iter().filter_map(|p| p.share).sum();
    let all: f64 = colouring.rows.iter().map(|r| r.area_mm2).sum();
    let each = choice.palette.iter().map(|entry| {
        let of_it = || colouring.rows.iter().filter(|r| is_called(choice, r, &entry.name));
        Proportion {
            name: entry.name.clone(),
            wanted: entry.share.filter(|_| whole > 0.0).map(|s| s / whole),
            // From 0: an empty sum is −0.
            seen: of_it().fold(0.0, |sum, r| sum + r.seen_share),
            area: of_it().fold(0.0, |sum, r| sum + r.area_mm2) / all.max(f64::MIN_POSITIVE),
        }
    });
    each.collect()
}

/// Whether a row's colour is this palette colour.
pub(crate) fn is_called(choice: &ColourChoice, row: &RegionColours, palette: &str) -> bool {
    let word = choice.regions.get(row.entry).map_or("", |entry| entry.colour.trim());
    word.eq_ignore_ascii_case(palette.trim())
}

/// What is out of proportion, with figures and a suggestion.
pub(crate) fn out_of_proportion(choice: &ColourChoice, colouring: &Colouring) -> Vec<Finding> {
    let list = proportions(choice, colouring);
    let excess = |p: &Proportion| p.wanted.map_or(0.0, |w| p.seen - w);
    let most_wanting =
        list.iter().filter(|p| p.wanted.is_some()).min_by(|a, b| excess(a).total_cmp(&excess(b)));
    let mut findings = Vec::new();
    for p in &list {
        let Some(wanted) = p.wanted else { continue };
        let accent = wanted <= ACCENT;
        let off = excess(p);
        let too_much = if accent { p.seen > TOO_MUCH * wanted } else { off > (OFF * wanted).max(ALWAYS) };
        let too_little = off < -(OFF * wanted).max(if accent { 0.5 * wanted } else { ALWAYS });
        if !too_much && !too_little {
            continue;
        }
        let figures = format!(
            "'{}' is {:.0} % of what is seen, {:.0} % in the palette",
            p.name,
            100.0 * p.seen,
            100.0 * wanted
        );
        let role = if accent { "accent" } else { "colour" };
        let hint = if too_much {
            // The row of it that is nearest in size to the excess.
            let rows = colouring.rows.iter().filter(|r| is_called(choice, r, &p.name));
            let fits = rows.min_by(|a, b| (a.seen_share - off).abs().total_cmp(&(b.seen_share - off).abs()));
            let instead = most_wanting.filter(|q| q.name != p.name);
            // One much larger than the excess would then be missing.
            match (fits.filter(|row| row.seen_share < 2.0 * off), instead) {
                (Some(row), Some(q)) => format!(
                    "{figures}: too much of this {role}. Paint '{}' ({:.0} %) in '{}', which is short by {:.0} %",
                    row.name,
                    100.0 * row.seen_share,
                    q.name,
                    -100.0 * excess(q)
                ),
                _ => format!(
                    "{figures}: too much of this {role}. Give some of it another colour of the palette"
                ),
            }
        } else {
            let fullest =
                list.iter().filter(|q| q.name != p.name).max_by(|a, b| excess(a).total_cmp(&excess(b)));
            let rows = fullest.map(|q| colouring.rows.iter().filter(|r| is_called(choice, r, &q.name)));
            let fits = rows
                .into_iter()
                .flatten()
                .min_by(|a, b| (a.seen_share + off).abs().total_cmp(&(b.seen_share + off).abs()));
            // A region much larger than what is missing would be too much of it.
            match fits.filter(|row| row.seen_share < -2.0 * off) {
                Some(row) => format!(
                    "{figures}: too little of this {role}. '{}' ({:.0} %) could take it",
                    row.name,
                    100.0 * row.seen_share
                ),
                None => format!("{figures}: too little of this {role}. Give it another region"),
            }
        };
        findings.push(Finding::new(Code::OutOfProportion, 1, hint));
    }
    findings
}
