//! From a document to text; what stood there stays where it says the same.

use super::brush::{BrushFile, KeepFile};
use super::emphasis::{EmphasisFile, FocusFile};
use super::lights::light_file;
use super::models::model_file;
use super::primer::{PrimerFile, TonesFile};
use super::reading::read_document;
use super::stages::StagesFile;
use super::surface::{bounce_file, fineness_file, surface_file};
use super::values::{bands_file, values_file};
use super::{DocumentFile, SCHEME_VERSION};
use crate::document::Document;
use crate::emphasis::Emphasis;
use crate::merge::merge;
use crate::primer::PrimerTones;
use crate::scheme::{BrushChoice, Scheme};
use toml_edit::DocumentMut;

/// A document as the text of a scheme file. Where `before`, the file's text
/// until now, is given and readable, its comments and the order of its lines
/// stay, and only what differs from what it says is written anew.
#[must_use]
pub fn write_document(document: &Document, before: Option<&str>) -> String {
    let Some(fresh) = in_full(document) else { return String::new() };
    match before.and_then(|text| text.parse::<DocumentMut>().ok().zip(Some(text))) {
        Some((mut kept, text)) => {
            let said = read_document(text).ok().and_then(|said| in_full(&said));
            merge(kept.as_table_mut(), said.as_deref(), fresh.as_table());
            kept.to_string()
        }
        None => format!("# A grisaille scheme. Lengths are in mm, angles in degrees, values in L*.\n{fresh}"),
    }
}

/// All that a document says, defaults included.
fn in_full(document: &Document) -> Option<DocumentMut> {
    // The structures always serialise: they hold no map with keys that TOML
    // lacks and no number beyond its range.
    let mut fresh = toml_edit::ser::to_document(&file_of(document)).ok()?;
    tables(&mut fresh);
    Some(fresh)
}

/// Inline tables become headed ones: [surface], [[light]].
fn tables(document: &mut DocumentMut) {
    use toml_edit::{ArrayOfTables, Item, Table, Value};
    fn headed(item: Item) -> Item {
        match item {
            Item::Value(Value::InlineTable(table)) => {
                let mut table: Table = table.into_table();
                for (_, inner) in table.iter_mut() {
                    *inner = headed(std::mem::take(inner));
                }
                Item::Table(table)
            }
            Item::Table(mut table) => {
                for (_, inner) in table.iter_mut() {
                    *inner = headed(std::mem::take(inner));
                }
                Item::Table(table)
            }
            Item::Value(Value::Array(array))
                if array.iter().all(Value::is_inline_table) && !array.is_empty() =>
            {
                let mut rows = ArrayOfTables::new();
                for value in array {
                    if let Value::InlineTable(table) = value {
                        rows.push(table.into_table());
                    }
                }
                Item::ArrayOfTables(rows)
            }
            other => other,
        }
    }
    for (_, item) in document.as_table_mut().iter_mut() {
        *item = headed(std::mem::take(item));
    }
}

fn file_of(document: &Document) -> DocumentFile {
    let Document { models, scheme } = document;
    let Scheme {
        title,
        surface,
        lights,
        fineness,
        bounce,
        value,
        emphasis,
        bands,
        brush,
        primer,
        hidden,
        left_out,
        regions,
        colours,
        print,
    } = scheme;
    let Emphasis { focus, figure, base, plate_gradient, gap } = emphasis;
    let BrushChoice { radius, smallest_mm2, thinnest_shadow, keep } = brush;
    DocumentFile {
        version: SCHEME_VERSION,
        title: title.clone(),
        hidden: hidden.clone(),
        left_out: left_out.clone(),
        regions: regions.clone(),
        surface: surface_file(surface),
        fineness: fineness_file(*fineness),
        bounce: bounce_file(*bounce),
        values: values_file(value),
        bands: bands_file(bands),
        brush: BrushFile {
            radius: radius.map(|r| r.0),
            smallest_mm2: *smallest_mm2,
            thinnest_shadow: thinnest_shadow.map(|w| w.0),
            keep: keep.iter().map(|k| KeepFile { at: k.at, radius: k.radius.0 }).collect(),
        },
        primer: PrimerFile {
            tones: match primer.tones {
                Some(PrimerTones::Grey) => TonesFile::Grey,
                Some(PrimerTones::Warm) => TonesFile::Warm,
                Some(PrimerTones::Cold) => TonesFile::Cold,
                Some(PrimerTones::ColouredShadow) => TonesFile::ColouredShadow,
                None => TonesFile::None,
            },
        },
        emphasis: EmphasisFile {
            figure: *figure,
            base: *base,
            plate_gradient: *plate_gradient,
            gap: *gap,
            focus: focus
                .iter()
                .map(|f| FocusFile { at: f.at, radius: f.radius.0, strength: f.strength, spread: f.spread })
                .collect(),
        },
        route: colours.route,
        squad: colours.squad,
        mood: colours.mood.clone(),
        palette: colours.palette.clone(),
        paints: colours.paints.clone(),
        region: colours.regions.clone(),
        face: colours.faces.clone(),
        stages: StagesFile { skip: colours.skip.clone() },
        print: print.clone(),
        model: models.iter().map(model_file).collect(),
        light: Some(lights.iter().map(light_file).collect()),
    }
}
