//! From text to a document.

use super::lights::light_of;
use super::models::model_of;
use super::place::find;
use super::primer::TonesFile;
use super::schema::document_schema;
use super::shape::check_shape;
use super::syntax::in_plain_words;
use super::{DocumentError, DocumentFile, SCHEME_VERSION};
use crate::bounce::BounceChoice;
use crate::colours::ColourChoice;
use crate::document::Document;
use crate::emphasis::{Emphasis, FocalPoint};
use crate::primer::{PrimerChoice, PrimerTones};
use crate::scheme::{BandChoice, BrushChoice, Fineness, KeptSpot, Scheme, SurfaceChoice, ValueChoice};
use crate::scheme_error::{SchemeError, Under};
use grisaille_base::{Lightness, Millimetres};
use serde_json::Value;
use std::ops::Range;
use std::sync::LazyLock;
use toml_edit::Item;

/// Reads a scheme file and checks it.
///
/// # Errors
/// [`DocumentError`] says where and what to do; nothing is guessed.
pub fn read_document(text: &str) -> Result<Document, DocumentError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let wrong = |span: Option<Range<usize>>, why: String| DocumentError::at(text, span.unwrap_or(0..0), why);
    let parsed = toml_edit::Document::parse(text).map_err(|e| match names_a_version(text) {
        true => {
            let found = e.span().and_then(|span| text.get(span)).unwrap_or_default();
            wrong(e.span(), in_plain_words(e.message(), found).into())
        }
        false => wrong(None, NO_SCHEME.into()),
    })?;
    let version = parsed.get("version");
    match version.and_then(Item::as_integer) {
        Some(found) if found > i64::from(SCHEME_VERSION) => {
            let why = format!(
                "this scheme is of version {found}, and this grisaille reads up to version {SCHEME_VERSION}: use \
                 a newer grisaille; the file is left as it is"
            );
            return Err(wrong(version.and_then(Item::span), why));
        }
        Some(1..) => {}
        _ => return Err(wrong(version.and_then(Item::span), NO_SCHEME.into())),
    }
    check_shape(parsed.as_table(), &SCHEMA).map_err(|m| wrong(m.span, m.why))?;
    // What has the shape that was made from the structures is read into them.
    let file: DocumentFile = toml_edit::de::from_str(text)
        .map_err(|e| wrong(e.span(), "this value has no place in a scheme: leave it out".into()))?;
    let senseless = |e: &SchemeError| wrong(find(parsed.as_table(), e.place()), e.to_string());
    let document = document_of(file).map_err(|e| senseless(&e))?;
    document.check().map_err(|e| senseless(&e))?;
    Ok(document)
}

/// The schema, made once: it is the same for every file.
static SCHEMA: LazyLock<Value> = LazyLock::new(document_schema);

const NO_SCHEME: &str = "this is not a scheme: it should begin with version = 1";

/// Whether a text that is no TOML was meant to be a scheme.
fn names_a_version(text: &str) -> bool {
    text.lines().any(|line| line.trim_start().starts_with("version"))
}

fn document_of(file: DocumentFile) -> Result<Document, SchemeError> {
    let usual = Scheme::default();
    let bands = match (file.bands.shares, file.bands.levels) {
        (Some(_), Some(_)) => {
            let why = "[bands] has both shares and levels: keep one of them";
            return Err(SchemeError::new(why)).under("levels").under("bands");
        }
        (Some(shares), None) => BandChoice::Shares(shares),
        (None, Some(levels)) => BandChoice::Levels(levels),
        (None, None) => usual.bands,
    };
    let lights = match file.light {
        Some(lights) => rows(lights, "light", light_of)?,
        None => usual.lights,
    };
    Ok(Document {
        models: rows(file.model, "model", model_of)?,
        scheme: Scheme {
            title: file.title,
            hidden: file.hidden,
            left_out: file.left_out,
            regions: file.regions,
            colours: ColourChoice {
                route: file.route,
                squad: file.squad,
                mood: file.mood,
                palette: file.palette,
                paints: file.paints,
                regions: file.region,
                faces: file.face,
                skip: file.stages.skip,
            },
            surface: SurfaceChoice {
                refine: file.surface.refine,
                spacing: file.surface.spacing.map(Millimetres),
                cap: file.surface.cap,
            },
            lights,
            fineness: Fineness {
                ambient_directions: file.fineness.ambient_directions,
                ring_directions: file.fineness.ring_directions,
                soft_directions: file.fineness.soft_directions,
            },
            bounce: BounceChoice { albedo: file.bounce.albedo, directions: file.bounce.directions },
            value: ValueChoice {
                darkest: Lightness(file.values.darkest),
                lightest: Lightness(file.values.lightest),
                lamp_shoulder: file.values.lamp_shoulder,
            },
            emphasis: Emphasis {
                focus: file
                    .emphasis
                    .focus
                    .into_iter()
                    .map(|f| FocalPoint {
                        at: f.at,
                        radius: Millimetres(f.radius),
                        strength: f.strength,
                        spread: f.spread,
                    })
                    .collect(),
                figure: file.emphasis.figure,
                base: file.emphasis.base,
                plate_gradient: file.emphasis.plate_gradient,
                gap: file.emphasis.gap,
            },
            bands,
            print: file.print,
            brush: BrushChoice {
                radius: file.brush.radius.map(Millimetres),
                smallest_mm2: file.brush.smallest_mm2,
                thinnest_shadow: file.brush.thinnest_shadow.map(Millimetres),
                keep: file
                    .brush
                    .keep
                    .into_iter()
                    .map(|k| KeptSpot { at: k.at, radius: Millimetres(k.radius) })
                    .collect(),
            },
            primer: PrimerChoice {
                wanted: false,
                tones: match file.primer.tones {
                    TonesFile::Grey => Some(PrimerTones::Grey),
                    TonesFile::Warm => Some(PrimerTones::Warm),
                    TonesFile::Cold => Some(PrimerTones::Cold),
                    TonesFile::ColouredShadow => Some(PrimerTones::ColouredShadow),
                    TonesFile::None => None,
                },
            },
        },
    })
}

/// What the rows of a table say.
fn rows<F, T>(
    rows: Vec<F>,
    table: &str,
    of: impl Fn(F) -> Result<T, SchemeError>,
) -> Result<Vec<T>, SchemeError> {
    rows.into_iter().enumerate().map(|(i, row)| of(row).under(i).under(table)).collect()
}
