//! The scheme file: a document as TOML text, and back.
//!
//! The file's own structures stand here and nowhere else; what they hold is
//! converted by hand, so that a change to a type of the program is a
//! compile error here and not a silent change of the format.

use crate::bounce::BounceChoice;
use crate::colours::{ColourChoice, MoodChoice, PaintChoice, PaletteEntry, RegionPaint, Route, Skipped};
use crate::document::{Document, ModelEntry, ModelSource, UnitChoice, UpChoice};
use crate::emphasis::{Emphasis, FocalPoint, Spread};
use crate::lights::{FalloffChoice, LightChoice, LightEntry, SkyChoice};
use crate::merge::merge;
use crate::part_choice::PartChoice;
use crate::primer::{PrimerChoice, PrimerTones};
use crate::regions::RegionChoice;
use crate::scheme::{BandChoice, BrushChoice, Fineness, KeptSpot, Scheme, SurfaceChoice, ValueChoice};
use grisaille_base::{LightId, Lightness, Millimetres};
use serde::{Deserialize, Serialize};
use toml_edit::{DocumentMut, TomlError};

/// The version of the format that is written.
pub const SCHEME_VERSION: u32 = 1;

/// Why a scheme file could not be read.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum DocumentError {
    /// A later version wrote it.
    #[error(
        "this scheme is of version {found}, and this grisaille reads up to version {SCHEME_VERSION}: \
         use a newer grisaille; the file is left as it is"
    )]
    Newer {
        /// The version that the file names.
        found: i64,
    },
    /// It is not what a scheme file looks like.
    #[error("line {line}: {why}")]
    Form {
        /// The line, from 1.
        line: usize,
        /// What is wrong there.
        why: String,
    },
    /// Its numbers or names make no sense.
    #[error(transparent)]
    Sense(#[from] crate::SchemeError),
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct DocumentFile {
    version: u32,
    #[serde(default)]
    title: String,
    #[serde(default)]
    surface: SurfaceFile,
    #[serde(default)]
    fineness: FinenessFile,
    #[serde(default)]
    bounce: BounceFile,
    #[serde(default)]
    values: ValuesFile,
    #[serde(default)]
    bands: BandsFile,
    #[serde(default)]
    brush: BrushFile,
    #[serde(default)]
    primer: PrimerFile,
    #[serde(default)]
    emphasis: EmphasisFile,
    #[serde(default, skip_serializing_if = "PartChoice::is_empty")]
    hidden: PartChoice,
    #[serde(default, skip_serializing_if = "PartChoice::is_empty")]
    left_out: PartChoice,
    #[serde(default, skip_serializing_if = "RegionChoice::is_usual")]
    regions: RegionChoice,
    #[serde(default, skip_serializing_if = "is_default")]
    route: Route,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    mood: Option<MoodChoice>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    paints: Option<PaintChoice>,
    #[serde(default, skip_serializing_if = "is_default")]
    stages: StagesFile,
    model: Vec<ModelFile>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    palette: Vec<PaletteEntry>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    region: Vec<RegionPaint>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    light: Option<Vec<LightFile>>,
}

fn is_default<T: Default + PartialEq>(x: &T) -> bool {
    *x == T::default()
}

#[derive(Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct StagesFile {
    #[serde(skip_serializing_if = "Vec::is_empty")]
    skip: Vec<Skipped>,
}

#[derive(Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct PrimerFile {
    tones: TonesFile,
}

#[derive(Clone, Copy, Default, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum TonesFile {
    #[default]
    Grey,
    Warm,
    Cold,
    ColouredShadow,
    None,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct ModelFile {
    #[serde(skip_serializing_if = "Option::is_none")]
    file: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    built_in: Option<BuiltIn>,
    #[serde(default)]
    up: UpFile,
    #[serde(default)]
    unit: UnitFile,
    #[serde(skip_serializing_if = "Option::is_none")]
    height: Option<f64>,
}

#[derive(Clone, Copy, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
enum BuiltIn {
    Diver,
}

#[derive(Clone, Copy, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
enum UpFile {
    #[default]
    Z,
    Y,
}

#[derive(Clone, Copy, Default, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
enum UnitFile {
    #[default]
    Mm,
    Inch,
    M,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct SurfaceFile {
    refine: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    spacing: Option<f64>,
    cap: usize,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct FinenessFile {
    ambient_directions: usize,
    ring_directions: usize,
    soft_directions: usize,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct BounceFile {
    albedo: f64,
    directions: usize,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct ValuesFile {
    darkest: f64,
    lightest: f64,
    lamp_shoulder: bool,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct BandsFile {
    #[serde(skip_serializing_if = "Option::is_none")]
    shares: Option<Vec<f64>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    levels: Option<Vec<f64>>,
}

#[derive(Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct BrushFile {
    #[serde(skip_serializing_if = "Option::is_none")]
    radius: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    smallest_mm2: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    thinnest_shadow: Option<f64>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    keep: Vec<KeepFile>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct KeepFile {
    at: [f64; 3],
    radius: f64,
}

#[derive(Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
struct EmphasisFile {
    figure: f64,
    base: f64,
    plate_gradient: f64,
    gap: f64,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    focus: Vec<FocusFile>,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct FocusFile {
    at: [f64; 3],
    radius: f64,
    strength: f64,
    #[serde(default)]
    spread: Spread,
}

#[derive(Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
enum KindFile {
    Zenithal,
    Ring,
    Ambient,
    Lamp,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct LightFile {
    id: u32,
    name: String,
    kind: KindFile,
    weight: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    colour: Option<[u8; 3]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    tilt: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    azimuth: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    sky: Option<SkyChoice>,
    #[serde(skip_serializing_if = "Option::is_none")]
    at: Option<[f64; 3]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    reference: Option<f64>,
    /// Degrees for the zenithal light, mm for a lamp.
    #[serde(skip_serializing_if = "Option::is_none")]
    radius: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    clear: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    falloff: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    reach: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    softness: Option<f64>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    through: Vec<[f64; 3]>,
}

impl Default for SurfaceFile {
    fn default() -> Self {
        surface_file(&Scheme::default().surface)
    }
}

impl Default for FinenessFile {
    fn default() -> Self {
        fineness_file(Scheme::default().fineness)
    }
}

impl Default for BounceFile {
    fn default() -> Self {
        bounce_file(BounceChoice::default())
    }
}

impl Default for ValuesFile {
    fn default() -> Self {
        values_file(&Scheme::default().value)
    }
}

impl Default for BandsFile {
    fn default() -> Self {
        bands_file(&Scheme::default().bands)
    }
}

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

/// A document as the text of a scheme file. Where `before`, the file's text
/// until now, is given and readable, its comments and the order of its lines
/// stay, and only what differs is written anew.
#[must_use]
pub fn write_document(document: &Document, before: Option<&str>) -> String {
    // The structures above always serialise: they hold no map with keys that
    // TOML lacks and no number beyond its range.
    let Ok(fresh) = toml_edit::ser::to_document(&file_of(document)) else {
        return String::new();
    };
    let mut fresh = fresh;
    tables(&mut fresh);
    match before.and_then(|text| text.parse::<DocumentMut>().ok()) {
        Some(mut kept) => {
            merge(kept.as_table_mut(), fresh.as_table());
            kept.to_string()
        }
        None => format!("# A grisaille scheme. Lengths are in mm, angles in degrees, values in L*.\n{fresh}"),
    }
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

fn form(text: &str, span: Option<std::ops::Range<usize>>, why: &str) -> DocumentError {
    let at = span.map_or(0, |s| s.start).min(text.len());
    let line = 1 + text.as_bytes()[..at].iter().filter(|b| **b == b'\n').count();
    let words: Vec<&str> = why.split_whitespace().collect();
    DocumentError::Form { line, why: words.join(" ") }
}

fn surface_file(surface: &SurfaceChoice) -> SurfaceFile {
    let SurfaceChoice { refine, spacing, cap } = *surface;
    SurfaceFile { refine, spacing: spacing.map(|s| s.0), cap }
}

fn fineness_file(fineness: Fineness) -> FinenessFile {
    let Fineness { ambient_directions, ring_directions, soft_directions } = fineness;
    FinenessFile { ambient_directions, ring_directions, soft_directions }
}

fn bounce_file(bounce: BounceChoice) -> BounceFile {
    let BounceChoice { albedo, directions } = bounce;
    BounceFile { albedo, directions }
}

fn values_file(value: &ValueChoice) -> ValuesFile {
    let ValueChoice { darkest, lightest, lamp_shoulder } = *value;
    ValuesFile { darkest: darkest.0, lightest: lightest.0, lamp_shoulder }
}

fn bands_file(bands: &BandChoice) -> BandsFile {
    match bands {
        BandChoice::Shares(shares) => BandsFile { shares: Some(shares.clone()), levels: None },
        BandChoice::Levels(levels) => BandsFile { shares: None, levels: Some(levels.clone()) },
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
        mood: colours.mood.clone(),
        palette: colours.palette.clone(),
        paints: colours.paints.clone(),
        region: colours.regions.clone(),
        stages: StagesFile { skip: colours.skip.clone() },
        model: models.iter().map(model_file).collect(),
        light: Some(lights.iter().map(light_file).collect()),
    }
}

fn model_file(model: &ModelEntry) -> ModelFile {
    let ModelEntry { source, up, unit, height } = model;
    let (file, built_in) = match source {
        // A scheme is carried between systems: all of them read '/'.
        ModelSource::File(path) => (Some(path.to_string_lossy().replace('\\', "/")), None),
        ModelSource::Diver => (None, Some(BuiltIn::Diver)),
    };
    ModelFile {
        file,
        built_in,
        up: match up {
            UpChoice::Z => UpFile::Z,
            UpChoice::Y => UpFile::Y,
        },
        unit: match unit {
            UnitChoice::Mm => UnitFile::Mm,
            UnitChoice::Inch => UnitFile::Inch,
            UnitChoice::M => UnitFile::M,
        },
        height: height.map(|h| h.0),
    }
}

fn light_file(light: &LightEntry) -> LightFile {
    let LightEntry { id, name, weight, colour, through, choice } = light;
    let mut file = LightFile {
        id: id.0,
        name: name.clone(),
        kind: KindFile::Ring,
        weight: *weight,
        colour: (*colour != LightEntry::WHITE).then_some(*colour),
        tilt: None,
        azimuth: None,
        sky: None,
        at: None,
        reference: None,
        radius: None,
        clear: None,
        falloff: None,
        reach: None,
        softness: None,
        through: through.clone(),
    };
    match *choice {
        LightChoice::Zenithal { tilt, azimuth, radius } => {
            file.kind = KindFile::Zenithal;
            (file.tilt, file.azimuth, file.radius) = (Some(tilt), Some(azimuth), Some(radius));
        }
        LightChoice::Ring => {}
        LightChoice::Ambient { sky } => {
            file.kind = KindFile::Ambient;
            file.sky = Some(sky);
        }
        LightChoice::Lamp { at, reference, radius, clear, falloff } => {
            let FalloffChoice { exponent, reach, softness } = falloff;
            file.kind = KindFile::Lamp;
            file.at = Some(at);
            file.reference = reference.map(|r| r.0);
            (file.radius, file.clear) = (Some(radius.0), Some(clear.0));
            (file.falloff, file.reach, file.softness) = (Some(exponent), reach.map(|r| r.0), Some(softness));
        }
    }
    file
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
                mood: file.mood,
                palette: file.palette,
                paints: file.paints,
                regions: file.region,
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

fn sense(why: String) -> DocumentError {
    DocumentError::Sense(crate::SchemeError(why))
}

fn model_of(file: ModelFile) -> Result<ModelEntry, DocumentError> {
    let source = match (file.file, file.built_in) {
        (Some(path), None) => ModelSource::File(path.into()),
        (None, Some(BuiltIn::Diver)) => ModelSource::Diver,
        _ => {
            let why = "each [[model]] needs either file = \"figure.stl\" or built_in = \"diver\"";
            return Err(sense(why.into()));
        }
    };
    Ok(ModelEntry {
        source,
        up: match file.up {
            UpFile::Z => UpChoice::Z,
            UpFile::Y => UpChoice::Y,
        },
        unit: match file.unit {
            UnitFile::Mm => UnitChoice::Mm,
            UnitFile::Inch => UnitChoice::Inch,
            UnitFile::M => UnitChoice::M,
        },
        height: file.height.map(Millimetres),
    })
}

fn light_of(file: LightFile) -> Result<LightEntry, DocumentError> {
    let stray = |given: &[(&str, bool)]| match given.iter().find(|(_, is_given)| *is_given) {
        Some((key, _)) => Err(sense(format!("light '{}': '{key}' does not belong to its kind", file.name))),
        None => Ok(()),
    };
    let lamp_only = [
        ("at", file.at.is_some()),
        ("reference", file.reference.is_some()),
        ("clear", file.clear.is_some()),
        ("falloff", file.falloff.is_some()),
        ("reach", file.reach.is_some()),
        ("softness", file.softness.is_some()),
    ];
    let zenithal_only = [("tilt", file.tilt.is_some()), ("azimuth", file.azimuth.is_some())];
    if file.kind != KindFile::Lamp {
        stray(&lamp_only)?;
    }
    if file.kind != KindFile::Zenithal {
        stray(&zenithal_only)?;
    }
    if file.kind != KindFile::Ambient {
        stray(&[("sky", file.sky.is_some())])?;
    }
    let choice = match file.kind {
        KindFile::Zenithal => LightChoice::Zenithal {
            tilt: file.tilt.unwrap_or(0.0),
            azimuth: file.azimuth.unwrap_or(0.0),
            radius: file.radius.unwrap_or(0.0),
        },
        KindFile::Ring => {
            stray(&[("radius", file.radius.is_some())])?;
            LightChoice::Ring
        }
        KindFile::Ambient => {
            stray(&[("radius", file.radius.is_some())])?;
            LightChoice::Ambient { sky: file.sky.unwrap_or_default() }
        }
        KindFile::Lamp => {
            let usual = FalloffChoice::default();
            LightChoice::Lamp {
                at: file
                    .at
                    .ok_or_else(|| sense(format!("lamp '{}' has no place: add at = [x, y, z]", file.name)))?,
                reference: file.reference.map(Millimetres),
                radius: Millimetres(file.radius.unwrap_or(0.0)),
                clear: Millimetres(file.clear.unwrap_or(0.0)),
                falloff: FalloffChoice {
                    exponent: file.falloff.unwrap_or(usual.exponent),
                    reach: file.reach.map(Millimetres),
                    softness: file.softness.unwrap_or(usual.softness),
                },
            }
        }
    };
    Ok(LightEntry {
        id: LightId(file.id),
        name: file.name,
        weight: file.weight,
        colour: file.colour.unwrap_or(LightEntry::WHITE),
        through: file.through,
        choice,
    })
}
