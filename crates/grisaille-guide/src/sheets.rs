//! The guide as plain data: what stands on every sheet, before any layout.

use crate::paper::Paper;
use crate::primer_sheet::{PrimerSheet, Sketch};
use crate::view_sheet::ViewSheet;
use grisaille_base::{Lightness, Millimetres};
use grisaille_picture::Pattern;
use grisaille_scheme::{Ink, Lengths};

/// Everything that the guide says. An empty list leaves its sheet out.
///
/// All text is plain text: nothing in it is read as markup, runs of white
/// space count as one space, and long names are wrapped.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sheets {
    /// What it is printed on; pictures have their sizes from it.
    pub paper: Paper,
    /// What the printer has: without colours the nearest greys of a fixed ladder stand for them.
    pub ink: Ink,
    /// The unit in which lengths and areas are told; all texts here are in mm.
    pub lengths: Lengths,
    /// The name of the guide, large on the cover; a word for it where blank.
    pub title: String,
    /// The file name of the model, without its folder.
    pub model_file: String,
    /// The program and its version, as in `grisaille 0.1.0`.
    pub made_with: String,
    /// The height of the printed figure.
    pub height: Millimetres,
    /// What else the cover states: size, triangles, pieces, lights.
    pub facts: Vec<Fact>,
    /// The large picture on the cover; at most [`Paper::cover`].
    pub cover: Picture,
    /// The whole plan on one page, where there are colours.
    pub summary: Option<Summary>,
    /// The views of the figure in its planned values, sheet by sheet.
    pub values: Vec<ValueSheet>,
    /// One sheet for each light.
    pub lights: Vec<LightSheet>,
    /// The value bands, lightest or darkest first, as they are to be listed.
    pub bands: Vec<BandRow>,
    /// Whether the bands are but a legend, without a sheet of their own.
    pub bands_are_legend: bool,
    /// The value scale from black to white, to hold paint beside: letters are values, words their L*.
    pub value_scale: Vec<Swatch>,
    /// Views with the letters of the bands on them.
    pub band_pictures: Vec<ViewPicture>,
    /// The light zones.
    pub zones: Vec<ZoneRow>,
    /// Views with the letters of the zones on them.
    pub zone_pictures: Vec<ViewPicture>,
    /// How zones meet and what is left out of them, or empty.
    pub zones_note: String,
    /// Regions, lines, gluing: views with names beside them.
    pub maps: Vec<ViewSheet>,
    /// How to prime, sheet by sheet.
    pub primer: Vec<PrimerSheet>,
    /// The stages, in working order.
    pub stages: Vec<StageCard>,
    /// Faces, outlines, how to take pictures.
    pub extras: Vec<ViewSheet>,
    /// Step cards without their answers, for a class.
    pub handout: Vec<StageCard>,
    /// The tag of the language (BCP 47); English where empty.
    pub language: String,
    /// What the template says by itself, by keys; see [`crate::printed_words`]. English where empty.
    pub words: Vec<(String, String)>,
    /// What was noticed on the model. A few short ones stand on the foot of
    /// the cover, more get a sheet of their own at the end.
    pub warnings: Vec<Warning>,
}

/// One line of the cover's list of facts.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Fact {
    /// What is stated, as in `Pieces`.
    pub label: String,
    /// The value with its unit, ready to print.
    pub value: String,
}

/// The whole plan on one page; the stages are listed from their cards.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Summary {
    /// The finished figure; at most [`Paper::summary`].
    pub picture: ViewPicture,
    /// Route, mood and the like.
    pub facts: Vec<Fact>,
    /// The colours of the figure, in the painter's order.
    pub palette: Vec<PaletteRow>,
    /// Each light and where it comes from.
    pub lights: Vec<Fact>,
    /// The paints to put out, in the order in which they are first used.
    pub bottles: Vec<BottleRow>,
    /// What else is to be at hand, in a sentence, or empty.
    pub beside: String,
}

/// A paint to put out.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BottleRow {
    /// Its colour as printed.
    pub colour: Srgb,
    /// Its name.
    pub name: String,
    /// The numbers of the stages that take it, as printed.
    pub stages: String,
}

/// A colour of the summary.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PaletteRow {
    /// As printed, where it comes out differently in the order in which its name tells what is painted in it.
    pub colours: Vec<Srgb>,
    /// Its name.
    pub name: String,
    /// The share of the figure that it should have, 0 to 1, if that was said.
    pub wanted: Option<f64>,
    /// Its share of what is seen of the figure, 0 to 1.
    pub seen: f64,
}

/// A picture with its size on paper.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Picture {
    /// A whole PNG or JPEG file. Its shape in pixels must agree with `width` by `height`. Empty where the
    /// picture is `lines` alone.
    pub file: Vec<u8>,
    /// The width on paper; printed exactly so.
    pub width: Millimetres,
    /// The height on paper; printed exactly so.
    pub height: Millimetres,
    /// How many times larger than the figure the picture is, stated under it
    /// as `3 : 1`; 0 where the picture keeps no scale.
    pub scale: u32,
    /// What the picture shows, for those who cannot see it. Not blank.
    pub alt: String,
    /// Lines laid over the picture, each an SVG of its size; `alt` speaks for them too.
    pub lines: Vec<String>,
    /// Text drawn over the picture; `alt` must say what it means.
    pub labels: Vec<Label>,
}

/// A short text over a picture, in a small white box.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Label {
    /// The centre of the text, from the picture's left edge, on paper. A text
    /// that would hang over an edge is moved inside.
    pub x: Millimetres,
    /// The centre of the text, from the picture's top edge, on paper.
    pub y: Millimetres,
    /// The text, best one to three characters.
    pub text: String,
    /// The spot that it names, from the picture's upper left corner, where the
    /// text does not stand on it: a leader is drawn to there.
    pub names: Option<[Millimetres; 2]>,
}

/// A view of the figure with its caption.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ViewPicture {
    /// The name of the view, as in `Front`.
    pub name: String,
    /// What to look for, or empty.
    pub caption: String,
    /// The picture; at most [`Paper::view`].
    pub picture: Picture,
}

/// A sheet of views in planned values. The bands are its legend.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ValueSheet {
    /// The question that it answers, as in `How light is it from the front?`.
    pub title: String,
    /// The views.
    pub pictures: Vec<ViewPicture>,
    /// How many views stand side by side; 0 for as many as fit.
    pub columns: u32,
}

/// A printed colour: sRGB, 8 bits a channel.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Srgb(pub [u8; 3]);

/// The sheet of one light.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LightSheet {
    /// The question that it answers, as in `Where does the ring light fall?`.
    pub title: String,
    /// Which light it is and where it comes from.
    pub lead: String,
    /// How much of the painted surface it reaches, 0 to 1.
    pub share: f64,
    /// What the colours of the pictures mean.
    pub legend: Legend,
    /// Views of the figure in this light alone.
    pub pictures: Vec<ViewPicture>,
    /// How many views stand side by side; 0 for as many as fit.
    pub columns: u32,
    /// How to hold the airbrush or place the lamp: from above and from the side.
    pub sketches: Vec<Sketch>,
    /// Remarks, one sentence or two each.
    pub notes: Vec<String>,
}

/// A scale of false colours, as a row of swatches.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Legend {
    /// What is measured, with its unit.
    pub title: String,
    /// The swatches, from least to most.
    pub steps: Vec<LegendStep>,
}

/// One swatch of a scale.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LegendStep {
    /// The colour as it stands in the pictures.
    pub colour: Srgb,
    /// The number at this place of the scale, ready to print.
    pub number: String,
    /// The same in words, as in `half lit`.
    pub words: String,
}

/// One value band.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct BandRow {
    /// The letter on the pictures, from `A`.
    pub letter: String,
    /// The name, as in `deep shadow`.
    pub name: String,
    /// The darkest value in the band.
    pub from: Lightness,
    /// The lightest value in the band.
    pub to: Lightness,
    /// The step of the Munsell value scale, 0 to 10.
    pub munsell: f64,
    /// The grey that stands for the band on paper.
    pub grey: Srgb,
    /// The area of the band on the printed figure in mm²; 0 or more.
    pub area: f64,
    /// The band's share of the painted surface, 0 to 1.
    pub share: f64,
}

/// One light zone: where one light is the strongest.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ZoneRow {
    /// The letter or number on the pictures.
    pub letter: String,
    /// The name of the light that leads here.
    pub light: String,
    /// What that means for the brush, in a short sentence.
    pub meaning: String,
    /// The colour of the zone on the pictures.
    pub colour: Srgb,
    /// The pattern over it.
    pub pattern: Pattern,
    /// The area of the zone on the printed figure in mm²; 0 or more.
    pub area: f64,
    /// The zone's share of the painted surface, 0 to 1.
    pub share: f64,
}

/// One stage as a card: one thing to do at the bench.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StageCard {
    /// The number, large on the card.
    pub number: u32,
    /// Which part of its stage it is, from 0, where the stage has several cards: they are lettered.
    pub part: Option<u32>,
    /// What the stage is called.
    pub title: String,
    /// Of several files those that it is about, or empty.
    pub files: String,
    /// What to do, one step each, with a tick box.
    pub steps: Vec<String>,
    /// What can hurt in this stage; boxed on the card.
    pub cautions: Vec<String>,
    /// Where to do it, side by side; each no higher than [`Paper::stage`], all no wider together than
    /// [`Paper::wide`].
    pub pictures: Vec<ViewPicture>,
    /// The tones to have ready, where nothing is mixed.
    pub swatches: Vec<Swatch>,
    /// What to mix, in the order in which it is used.
    pub mixes: Vec<MixRow>,
    /// How thin the paint is, or empty.
    pub thinning: String,
    /// Which brush, or empty.
    pub brush: String,
    /// How to see that the stage is finished.
    pub done_when: String,
    /// What usually goes wrong, or empty.
    pub mistake: String,
    /// How to put that right, or empty.
    pub repair: String,
    /// How long to let it dry, as common practice has it, or empty.
    pub drying: String,
    /// Whether the figure can go on the table once this is done: a band below
    /// the card says so.
    pub table_ready: bool,
    /// What to know of the pictures, below them, or empty.
    pub note: String,
    /// The sheet that shows more of it; told with its page where it is printed.
    pub see: Option<SeeSheet>,
    /// The numbers of the stages in which what it is about is painted on, or empty.
    pub next: String,
    /// With what and in which stage what it is about was laid in, or empty.
    pub over: String,
    /// Of the first of several cards of a stage, what is on each of the others; told with their pages.
    pub cards: Vec<String>,
    /// All tones of the one region that it is about, darkest first; empty where it is about several.
    pub tones: Vec<Rung>,
}

/// One tone of a region.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Rung {
    /// As on the pictures; its words are the value, 0 to 10.
    pub look: Swatch,
    /// Whether it is that of the base coat.
    pub base: bool,
}

/// Where more is shown.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SeeSheet {
    /// What the cover calls it.
    pub sheet: String,
    /// Whether it shows another way to do the same, and not more of this one.
    pub instead: bool,
    /// The label of its first page in the template.
    pub key: String,
}

/// One mix, with an empty box to paint the real one into.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct MixRow {
    /// What the mix itself looks like, where it lies thin over what is there
    /// already; `looks` are then what it makes of each ground, with words.
    pub pot: Option<Srgb>,
    /// What it looks like on the figure, with the letters or numbers that it
    /// has on the pictures; several where one mix lies over several tones.
    pub looks: Vec<Swatch>,
    /// Paints and parts, such as `2 parts Sailcloth : 1 part Boot leather`; how
    /// else to come by it where no paints are known.
    pub mix: String,
    /// What it is for, such as `step 3 of 5`.
    pub purpose: String,
    /// Its value, warm or cool, and how near it comes to what is wanted, in words.
    pub tone: String,
}

/// A tone or colour to have ready.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Swatch {
    /// The letter of its band, or empty.
    pub letter: String,
    /// The colour as printed.
    pub colour: Srgb,
    /// The pattern over it, where it has one on the pictures.
    pub pattern: Pattern,
    /// What it is, as in `dark third of the canvas ramp`.
    pub words: String,
}

/// Something noticed on the model that the painter should know.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Warning {
    /// What it is and what to do, in a painter's words.
    pub text: String,
    /// Where on the figure, in words, or empty.
    pub place: String,
}
