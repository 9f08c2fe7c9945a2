//! From text to a document.

use super::error::{form, sense};
use super::lights::light_of;
use super::models::model_of;
use super::primer::TonesFile;
use super::{DocumentError, DocumentFile, SCHEME_VERSION};
use crate::bounce::BounceChoice;
use crate::colours::ColourChoice;
use crate::document::Document;
use crate::emphasis::{Emphasis, FocalPoint};
use crate::primer::{PrimerChoice, PrimerTones};
use crate::scheme::{BandChoice, BrushChoice, Fineness, KeptSpot, Scheme, SurfaceChoice, ValueChoice};
use grisaille_base::{Lightness, Millimetres};
use toml_edit::{DocumentMut, TomlError};

/// Reads a scheme file and checks it.
///
/// # Errors
/// [`DocumentError`] says where and what to do; nothing is guessed.
pub fn read_document(text: &str) -> Result<Document, DocumentError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let table: DocumentMut = text.parse().map_err(|e: TomlError| form(text, e.span(), e.message()))?;
    match table.get("version").and_then(toml_edit::Item::as_integer) {
        Some(found) if found > i64::from(SCHEME_VERSION) => return Err(DocumentError::Newer { found }),
        Some(found) if found >= 1 => {}
        _ => {
            let why = "this is not a scheme: it should begin with 'version = 1'";
            return Err(DocumentError::Form { line: 1, why: why.into() });
        }
    }
    let file: DocumentFile = toml_edit::de::from_str(text).map_err(|e| form(text, e.span(), e.message()))?;
    let document = document_of(file)?;
    document.check()?;
    Ok(document)
}

fn document_of(file: DocumentFile) -> Result<Document, DocumentError> {
    let usual = Scheme::default();
    let bands = match (file.bands.shares, file.bands.levels) {
        (Some(_), Some(_)) => {
            return Err(sense("[bands] has both shares and levels: keep one of them".into()));
        }
        (Some(shares), None) => BandChoice::Shares(shares),
        (None, Some(levels)) => BandChoice::Levels(levels),
        (None, None) => usual.bands,
    };
    let lights = match file.light {
        Some(lights) => lights.into_iter().map(light_of).collect::<Result<_, _>>()?,
        None => usual.lights,
    };
    Ok(Document {
        models: file.model.into_iter().map(model_of).collect::<Result<_, _>>()?,
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
