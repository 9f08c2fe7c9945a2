//! The template's input: the sheets with every text printable, every number
//! spelled, every picture checked and named. The template only lays it out.

use grisaille_base::{Finding, Millimetres};
use grisaille_colour::{LinearRgb, printed_in_grey};
use grisaille_picture::Pattern;
use grisaille_scheme::{Ink, Lengths};
use grisaille_words::Words;
use serde::Serialize;
use std::collections::BTreeMap;
use typst::foundations::Bytes;

use crate::compose::printed_words;
use crate::lengths::told_in;
use crate::paper::Paper;
use crate::picture::{Kind, Room, check, pixels};
use crate::primer_sheet::{PrimerColumn, PrimerSheet, Sketch};
use crate::print::{Printable, area, lightness_range, munsell, percent, spoken};
use crate::sheets::{
    BandRow, Fact, LightSheet, MixRow, Picture, Sheets, Srgb, StageCard, Summary, Swatch, ValueSheet,
    ViewPicture, ZoneRow,
};
use crate::typeset::GuideError;
use crate::view_sheet::{NamedView, Tag, ViewSheet};

/// Warnings up to this many stand on the cover's foot.
const FOOT_WARNINGS: usize = 2;

/// And only if they have no more characters than this between them.
const FOOT_CHARACTERS: usize = 180;

/// The JSON that the template reads.
#[derive(Serialize)]
pub(crate) struct Page {
    paper: Sheet,
    /// The language, two or three letters.
    language: String,
    words: BTreeMap<String, String>,
    spoken_title: String,
    title: String,
    model_file: String,
    made_with: String,
    facts: Vec<(String, String)>,
    cover: PlacedPicture,
    summary: Option<Whole>,
    values: Vec<Values>,
    lights: Vec<Light>,
    bands: Vec<Band>,
    bands_are_legend: bool,
    value_scale: Vec<Tone>,
    /// Whether all is printed in black alone.
    in_grey: bool,
    band_pictures: Vec<View>,
    zones: Vec<Zone>,
    zone_pictures: Vec<View>,
    zones_note: String,
    maps: Vec<ViewPage>,
    primer: Vec<Primer>,
    stages: Vec<Stage>,
    extras: Vec<ViewPage>,
    handout: Vec<Stage>,
    warnings: Vec<(String, String)>,
    warnings_on_cover: bool,
}

/// The sheet of paper, mm.
#[derive(Serialize)]
struct Sheet {
    size: [f64; 2],
    margins: [f64; 3],
    small: bool,
    inch: bool,
    names: f64,
}

impl Sheet {
    fn of(paper: Paper, lengths: Lengths) -> Self {
        Self {
            size: paper.size(),
            margins: paper.margins(),
            small: paper.is_small(),
            inch: lengths == Lengths::Inch,
            names: paper.name_column(),
        }
    }
}

#[derive(Serialize)]
struct Whole {
    picture: View,
    facts: Vec<(String, String)>,
    palette: Vec<Share>,
    lights: Vec<(String, String)>,
    bottles: Vec<Bottle>,
    beside: String,
}

#[derive(Serialize)]
struct Bottle {
    colour: Fill,
    name: String,
    stages: String,
}

#[derive(Serialize)]
struct Share {
    colours: Vec<Fill>,
    name: String,
    wanted: String,
    seen: String,
    part: f64,
}

#[derive(Serialize)]
struct PlacedPicture {
    file: String,
    format: &'static str,
    width: f64,
    height: f64,
    scale: String,
    alt: String,
    lines: Vec<String>,
    labels: Vec<PlacedLabel>,
}

#[derive(Serialize)]
struct PlacedLabel {
    x: f64,
    y: f64,
    text: String,
    names: Option<[f64; 2]>,
}

#[derive(Serialize)]
struct View {
    name: String,
    caption: String,
    picture: PlacedPicture,
}

#[derive(Serialize)]
struct Values {
    title: String,
    pictures: Vec<View>,
    columns: u32,
}

#[derive(Serialize)]
struct Light {
    title: String,
    lead: String,
    share: String,
    legend: String,
    steps: Vec<Step>,
    pictures: Vec<View>,
    columns: u32,
    sketches: Vec<Arrowed>,
    notes: Vec<String>,
}

#[derive(Serialize)]
struct Step {
    colour: Fill,
    number: String,
    words: String,
}

#[derive(Serialize)]
struct Band {
    letter: String,
    name: String,
    range: String,
    munsell: String,
    grey: Fill,
    area: String,
    share: String,
    part: f64,
}

#[derive(Serialize)]
struct Zone {
    letter: String,
    light: String,
    meaning: String,
    colour: Fill,
    area: String,
    share: String,
    part: f64,
}

#[derive(Serialize)]
struct ViewPage {
    key: &'static str,
    part: String,
    title: String,
    lead: String,
    views: Vec<Named>,
    columns: Vec<String>,
    rows: Vec<NamedCells>,
    steps: Vec<String>,
    notes: Vec<String>,
    cautions: Vec<String>,
}

#[derive(Serialize)]
struct Named {
    view: View,
    tags: Vec<PlacedTag>,
}

#[derive(Serialize)]
struct PlacedTag {
    number: String,
    name: String,
    colour: Option<Fill>,
    spot: [f64; 2],
    end: [f64; 2],
}

#[derive(Serialize)]
struct NamedCells {
    number: String,
    colour: Option<Fill>,
    cells: Vec<String>,
}

#[derive(Serialize)]
struct Primer {
    title: String,
    lead: String,
    columns: Vec<Column>,
    notes: Vec<String>,
    sets: Vec<Set>,
    cautions: Vec<String>,
}

#[derive(Serialize)]
struct Column {
    number: String,
    title: String,
    swatch: Option<Tone>,
    sketches: Vec<Arrowed>,
    words: Vec<String>,
    pictures: Vec<PlacedPicture>,
}

#[derive(Serialize)]
struct Arrowed {
    picture: PlacedPicture,
    from: [f64; 2],
    to: [f64; 2],
    caption: String,
}

#[derive(Serialize)]
struct Set {
    name: String,
    tones: Vec<Tone>,
}

#[derive(Serialize)]
struct Stage {
    number: u32,
    continues: bool,
    /// The number as printed, with the letter of a further part.
    numbered: String,
    blank: bool,
    title: String,
    steps: Vec<String>,
    cautions: Vec<String>,
    pictures: Vec<View>,
    swatches: Vec<Tone>,
    mixes: Vec<Mixed>,
    files: String,
    thinning: String,
    brush: String,
    done_when: String,
    mistake: String,
    repair: String,
    drying: String,
    table_ready: bool,
    /// Another sheet's name and label.
    note: String,
    see: Option<(String, String, bool)>,
    next: String,
    over: String,
    cards: Vec<String>,
    /// Each with whether it is the base coat's.
    tones: Vec<(Tone, bool)>,
}

#[derive(Serialize)]
struct Mixed {
    pot: Option<Fill>,
    looks: Vec<Tone>,
    mix: String,
    purpose: String,
    tone: String,
}

#[derive(Serialize)]
struct Tone {
    letter: String,
    colour: Fill,
    words: String,
}

/// Everything that the typesetter needs for one guide.
pub(crate) struct Manuscript {
    /// The content of the template's JSON.
    pub(crate) page: Page,
    /// The pictures by the file names that `page` gives them.
    pub(crate) pictures: Vec<(String, Bytes)>,
    /// What could not be printed.
    pub(crate) findings: Vec<Finding>,
}

/// Checks the sheets' pictures and makes their text printable.
pub(crate) fn manuscript(sheets: &Sheets, mut words: Printable<'_>) -> Result<Manuscript, GuideError> {
    let mut copyist = Copyist {
        paper: sheets.paper,
        lengths: sheets.lengths,
        ink: sheets.ink,
        words: &mut words,
        files: Vec::new(),
    };
    let page = copyist.page(sheets)?;
    let pictures = copyist.files;
    Ok(Manuscript { page, pictures, findings: words.findings() })
}

struct Copyist<'d, 'f> {
    paper: Paper,
    lengths: Lengths,
    ink: Ink,
    words: &'d mut Printable<'f>,
    files: Vec<(String, Bytes)>,
}

impl Copyist<'_, '_> {
    fn page(&mut self, sheets: &Sheets) -> Result<Page, GuideError> {
        let english = if sheets.words.is_empty() { printed_words(Words::english()) } else { Vec::new() };
        let words: BTreeMap<String, String> =
            sheets.words.iter().chain(&english).map(|(key, text)| (key.clone(), self.print(text))).collect();
        let own = |key: &str| words.get(key).cloned().unwrap_or_else(|| key.to_owned());
        let untitled = own("untitled");
        let title = if spoken(&sheets.title).is_empty() { &untitled } else { &sheets.title };
        let height = [(own("height"), self.tell(&sheets.height.to_string()))];
        let facts = sheets.facts.iter().map(|f| (self.print(&f.label), self.tell(&f.value)));
        let facts: Vec<_> = facts.collect();
        let warnings = sheets.warnings.iter().map(|w| (self.tell(&w.text), self.tell(&w.place)));
        let warnings: Vec<_> = warnings.collect();
        let characters: usize =
            warnings.iter().map(|(text, place)| text.chars().count() + place.chars().count()).sum();
        Ok(Page {
            paper: Sheet::of(sheets.paper, sheets.lengths),
            language: match sheets.language.split('-').next() {
                Some(own) if !own.is_empty() => own.to_lowercase(),
                _ => "en".into(),
            },
            words,
            spoken_title: spoken(title),
            title: self.print(title),
            model_file: self.print(&sheets.model_file),
            made_with: self.print(&sheets.made_with),
            facts: height.into_iter().chain(facts).collect(),
            cover: self.picture(&sheets.cover, self.paper.cover(), "the picture on the cover")?,
            summary: sheets.summary.as_ref().map(|s| self.summary(s)).transpose()?,
            values: sheets.values.iter().map(|v| self.values(v)).collect::<Result<_, _>>()?,
            lights: sheets.lights.iter().map(|l| self.light(l)).collect::<Result<_, _>>()?,
            bands: sheets.bands.iter().map(|b| self.band(b)).collect(),
            bands_are_legend: sheets.bands_are_legend,
            value_scale: sheets.value_scale.iter().map(|s| self.tone(s)).collect(),
            in_grey: sheets.ink == Ink::Grey,
            band_pictures: self.views(&sheets.band_pictures, "the bands")?,
            zones: sheets.zones.iter().map(|z| self.zone(z)).collect(),
            zone_pictures: self.views(&sheets.zone_pictures, "the zones")?,
            zones_note: self.tell(&sheets.zones_note),
            primer: sheets.primer.iter().map(|p| self.primer(p)).collect::<Result<_, _>>()?,
            maps: sheets.maps.iter().map(|s| self.view_sheet(s)).collect::<Result<_, _>>()?,
            stages: sheets.stages.iter().map(|s| self.stage(s)).collect::<Result<_, _>>()?,
            handout: sheets
                .handout
                .iter()
                .map(|s| Ok(Stage { blank: true, ..self.stage(s)? }))
                .collect::<Result<_, GuideError>>()?,
            extras: sheets.extras.iter().map(|s| self.view_sheet(s)).collect::<Result<_, _>>()?,
            warnings_on_cover: warnings.len() <= FOOT_WARNINGS && characters <= FOOT_CHARACTERS,
            warnings,
        })
    }

    fn plain(&self, colour: Srgb) -> Fill {
        Fill::of(colour, Pattern::Plain, self.ink)
    }

    fn print(&mut self, text: &str) -> String {
        self.words.print(text)
    }

    /// The same for what may tell lengths.
    fn tell(&mut self, text: &str) -> String {
        self.words.print(&told_in(text, self.lengths))
    }

    fn all(&mut self, texts: &[String]) -> Vec<String> {
        texts.iter().map(|t| self.tell(t)).collect()
    }

    fn picture(&mut self, picture: &Picture, room: Room, what: &str) -> Result<PlacedPicture, GuideError> {
        check(picture, room, what)?;
        let mut lines: Vec<String> = picture.lines.iter().map(|svg| self.lines(svg)).collect();
        let (file, format) = if picture.file.is_empty() && !lines.is_empty() {
            (lines.remove(0), "svg")
        } else {
            let kind = pixels(&picture.file).map_or(Kind::Png, |(kind, ..)| kind);
            let file = format!("picture-{}.{}", self.files.len(), kind.ending());
            self.files.push((file.clone(), Bytes::new(picture.file.clone())));
            (file, kind.ending())
        };
        Ok(PlacedPicture {
            file,
            format,
            width: picture.width.0,
            height: picture.height.0,
            scale: if picture.scale == 0 { String::new() } else { format!("{} : 1", picture.scale) },
            alt: spoken(&told_in(&picture.alt, self.lengths)),
            lines,
            labels: picture
                .labels
                .iter()
                .map(|l| PlacedLabel {
                    x: l.x.0,
                    y: l.y.0,
                    text: self.print(&l.text),
                    names: l.names.map(|at| at.map(|mm| mm.0)),
                })
                .collect(),
        })
    }

    /// The file of some lines; the same lines over several pictures are one file.
    fn lines(&mut self, svg: &str) -> String {
        if let Some((known, _)) = self.files.iter().find(|(_, bytes)| bytes.as_slice() == svg.as_bytes()) {
            return known.clone();
        }
        let file = format!("lines-{}.svg", self.files.len());
        self.files.push((file.clone(), Bytes::new(svg.as_bytes().to_vec())));
        file
    }

    fn views(&mut self, views: &[ViewPicture], of: &str) -> Result<Vec<View>, GuideError> {
        self.views_in(views, self.paper.view(), of)
    }

    fn views_in(&mut self, views: &[ViewPicture], room: Room, of: &str) -> Result<Vec<View>, GuideError> {
        views
            .iter()
            .map(|v| {
                let what = format!("the picture “{}” of {of}", v.name);
                Ok(View {
                    name: self.print(&v.name),
                    caption: self.tell(&v.caption),
                    picture: self.picture(&v.picture, room, &what)?,
                })
            })
            .collect()
    }

    fn summary(&mut self, summary: &Summary) -> Result<Whole, GuideError> {
        let pictures =
            self.views_in(std::slice::from_ref(&summary.picture), self.paper.summary(), "the summary")?;
        let Some(picture) = pictures.into_iter().next() else {
            return Err(GuideError::Typeset { message: "the summary has no picture".into() });
        };
        let mut rows = |facts: &[Fact]| -> Vec<(String, String)> {
            facts.iter().map(|f| (self.print(&f.label), self.tell(&f.value))).collect()
        };
        let (facts, lights) = (rows(&summary.facts), rows(&summary.lights));
        let palette = summary.palette.iter().map(|row| Share {
            colours: row.colours.iter().map(|colour| self.plain(*colour)).collect(),
            name: self.print(&row.name),
            wanted: row.wanted.map_or_else(|| "–".into(), percent),
            seen: percent(row.seen),
            part: part(row.seen),
        });
        let palette = palette.collect();
        let bottles = summary.bottles.iter().map(|row| Bottle {
            colour: self.plain(row.colour),
            name: self.print(&row.name),
            stages: self.print(&row.stages),
        });
        let bottles = bottles.collect();
        let beside = self.print(&summary.beside);
        Ok(Whole { picture, facts, palette, lights, bottles, beside })
    }

    fn values(&mut self, sheet: &ValueSheet) -> Result<Values, GuideError> {
        Ok(Values {
            title: self.print(&sheet.title),
            pictures: self.views(&sheet.pictures, "the values")?,
            columns: sheet.columns,
        })
    }

    fn light(&mut self, light: &LightSheet) -> Result<Light, GuideError> {
        Ok(Light {
            title: self.print(&light.title),
            lead: self.tell(&light.lead),
            share: percent(light.share),
            legend: self.print(&light.legend.title),
            steps: light
                .legend
                .steps
                .iter()
                .map(|s| Step {
                    colour: self.plain(s.colour),
                    number: self.print(&s.number),
                    words: self.tell(&s.words),
                })
                .collect(),
            pictures: self.views(&light.pictures, &format!("the sheet “{}”", light.title))?,
            columns: light.columns,
            sketches: light
                .sketches
                .iter()
                .map(|s| self.sketch(s, "a sketch of a light"))
                .collect::<Result<_, _>>()?,
            notes: self.all(&light.notes),
        })
    }

    fn band(&mut self, band: &BandRow) -> Band {
        Band {
            letter: self.print(&band.letter),
            name: self.print(&band.name),
            range: lightness_range(band.from, band.to),
            munsell: munsell(band.munsell),
            grey: self.plain(band.grey),
            area: self.tell(&area(band.area)),
            share: percent(band.share),
            part: part(band.share),
        }
    }

    fn zone(&mut self, zone: &ZoneRow) -> Zone {
        Zone {
            letter: self.print(&zone.letter),
            light: self.print(&zone.light),
            meaning: self.tell(&zone.meaning),
            colour: Fill::of(zone.colour, zone.pattern, self.ink),
            area: self.tell(&area(zone.area)),
            share: percent(zone.share),
            part: part(zone.share),
        }
    }

    fn primer(&mut self, sheet: &PrimerSheet) -> Result<Primer, GuideError> {
        Ok(Primer {
            title: self.print(&sheet.title),
            lead: self.tell(&sheet.lead),
            columns: sheet.columns.iter().map(|c| self.column(c)).collect::<Result<_, _>>()?,
            notes: self.all(&sheet.notes),
            sets: sheet
                .sets
                .iter()
                .map(|s| Set {
                    name: self.print(&s.name),
                    tones: s.tones.iter().map(|t| self.tone(t)).collect(),
                })
                .collect(),
            cautions: self.all(&sheet.cautions),
        })
    }

    fn column(&mut self, column: &PrimerColumn) -> Result<Column, GuideError> {
        let what = format!("a picture of “{}” on a primer sheet", column.title);
        Ok(Column {
            number: self.print(&column.number),
            title: self.print(&column.title),
            swatch: column.swatch.as_ref().map(|s| self.tone(s)),
            sketches: column.sketches.iter().map(|s| self.sketch(s, &what)).collect::<Result<_, _>>()?,
            words: self.all(&column.words),
            pictures: column
                .pictures
                .iter()
                .map(|p| self.picture(p, self.paper.primer(), &what))
                .collect::<Result<_, _>>()?,
        })
    }

    fn sketch(&mut self, sketch: &Sketch, what: &str) -> Result<Arrowed, GuideError> {
        // An arrow stays near its sketch, whatever the numbers.
        let near = |x: Millimetres| if x.0.is_finite() { x.0.clamp(-12.0, 12.0) } else { 0.0 };
        Ok(Arrowed {
            picture: self.picture(&sketch.picture, self.paper.sketch(), what)?,
            from: sketch.from.map(near),
            to: sketch.to.map(near),
            caption: self.tell(&sketch.caption),
        })
    }

    fn view_sheet(&mut self, sheet: &ViewSheet) -> Result<ViewPage, GuideError> {
        let mut views = Vec::new();
        for NamedView { view, tags } in &sheet.views {
            let room = if tags.is_empty() { self.paper.view() } else { self.paper.named() };
            let what = format!("the picture “{}” of “{}”", view.name, sheet.title);
            let near = |x: Millimetres| if x.0.is_finite() { x.0.clamp(-50.0, 400.0) } else { 0.0 };
            let ink = self.ink;
            let tag = |tag: &Tag, words: &mut Printable<'_>| PlacedTag {
                number: words.print(&tag.number),
                name: words.print(&tag.name),
                colour: tag.look.map(|look| Fill::of(look, Pattern::Plain, ink)),
                spot: tag.spot.map(near),
                end: tag.end.map(near),
            };
            views.push(Named {
                view: View {
                    name: self.print(&view.name),
                    caption: self.tell(&view.caption),
                    picture: self.picture(&view.picture, room, &what)?,
                },
                tags: tags.iter().map(|t| tag(t, self.words)).collect(),
            });
        }
        Ok(ViewPage {
            key: sheet.key,
            part: self.print(&sheet.part),
            title: self.print(&sheet.title),
            lead: self.tell(&sheet.lead),
            views,
            columns: sheet.columns.iter().map(|c| self.print(c)).collect(),
            rows: sheet
                .rows
                .iter()
                .map(|row| NamedCells {
                    number: self.print(&row.number),
                    colour: row.look.map(|look| self.plain(look)),
                    cells: self.all(&row.cells),
                })
                .collect(),
            steps: self.all(&sheet.steps),
            notes: self.all(&sheet.notes),
            cautions: self.all(&sheet.cautions),
        })
    }

    fn stage(&mut self, stage: &StageCard) -> Result<Stage, GuideError> {
        let what = format!("stage {}", stage.number);
        Ok(Stage {
            number: stage.number,
            continues: stage.part.is_some_and(|k| k > 0),
            numbered: numbered(stage),
            blank: false,
            title: self.print(&stage.title),
            steps: self.all(&stage.steps),
            cautions: self.all(&stage.cautions),
            pictures: self.views_in(&stage.pictures, self.paper.stage(), &what)?,
            swatches: stage.swatches.iter().map(|s| self.tone(s)).collect(),
            mixes: stage.mixes.iter().map(|m| self.mixed(m)).collect(),
            files: self.print(&stage.files),
            thinning: self.tell(&stage.thinning),
            brush: self.tell(&stage.brush),
            done_when: self.tell(&stage.done_when),
            mistake: self.tell(&stage.mistake),
            repair: self.tell(&stage.repair),
            drying: self.tell(&stage.drying),
            table_ready: stage.table_ready,
            next: self.print(&stage.next),
            over: self.print(&stage.over),
            cards: self.all(&stage.cards),
            tones: stage.tones.iter().map(|rung| (self.tone(&rung.look), rung.base)).collect(),
            note: self.print(&stage.note),
            see: stage.see.as_ref().map(|see| (self.print(&see.sheet), see.key.clone(), see.instead)),
        })
    }

    fn mixed(&mut self, row: &MixRow) -> Mixed {
        Mixed {
            pot: row.pot.map(|pot| self.plain(pot)),
            looks: row.looks.iter().map(|s| self.tone(s)).collect(),
            mix: self.print(&row.mix),
            purpose: self.tell(&row.purpose),
            tone: self.tell(&row.tone),
        }
    }

    fn tone(&mut self, swatch: &Swatch) -> Tone {
        Tone {
            letter: self.print(&swatch.letter),
            colour: Fill::of(swatch.colour, swatch.pattern, self.ink),
            words: self.tell(&swatch.words),
        }
    }
}

/// The letters of a stage's cards, without those that are read as digits.
pub(crate) const LETTERS: &[u8] = b"abcdefghjkmnpqrstuvwxyz";

/// The number of a card: with a letter where it is one of several of its stage.
fn numbered(stage: &StageCard) -> String {
    match stage.part.map(u8::try_from) {
        None => stage.number.to_string(),
        Some(Ok(part)) if usize::from(part) < LETTERS.len() => {
            format!("{}{}", stage.number, char::from(LETTERS[usize::from(part)]))
        }
        Some(_) => format!("{}.{}", stage.number, stage.part.unwrap_or_default() + 1),
    }
}

/// The share as the length of a bar, 0 to 1.
fn part(share: f64) -> f64 {
    if share.is_finite() { share.clamp(0.0, 1.0) } else { 0.0 }
}

fn hex([red, green, blue]: [u8; 3]) -> String {
    format!("#{red:02x}{green:02x}{blue:02x}")
}

/// How an area is filled.
#[derive(Serialize)]
struct Fill {
    rgb: String,
    pattern: &'static str,
    /// The colour of the pattern's marks.
    marks: String,
}

impl Fill {
    fn of(Srgb(rgb): Srgb, pattern: Pattern, ink: Ink) -> Self {
        let colour = LinearRgb::from_srgb8(rgb);
        // Greys are as they stand on the pictures.
        let is_grey = rgb[0] == rgb[1] && rgb[1] == rgb[2];
        let shown = if ink == Ink::Grey && !is_grey { printed_in_grey(colour) } else { colour };
        let pattern_name = match pattern {
            Pattern::Plain => "",
            Pattern::Dots => "dots",
            Pattern::Rising => "rising",
            Pattern::Falling => "falling",
            Pattern::Crossed => "crossed",
            Pattern::Level => "level",
            Pattern::Upright => "upright",
        };
        Self {
            rgb: hex(shown.to_srgb8()),
            pattern: pattern_name,
            marks: hex(Pattern::ink_on(shown).to_srgb8()),
        }
    }
}
