//! Findings: what was noticed or mended on the way, as data with a count, a
//! place and a hint. What cannot be done at all is an error instead.

use serde::Serialize;

/// What kind of finding this is. The text form, `kebab-case`, is stable and
/// part of the JSON output.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Code {
    /// The file ends before its announced end; whole facets were kept.
    TruncatedFile,
    /// Bytes after the announced end were not read.
    TrailingBytes,
    /// The count field disagrees with the length of the file.
    WrongCount,
    /// A text file ends without its last word.
    MissingEnd,
    /// Numbers were written with a decimal comma.
    DecimalCommas,
    /// Coordinates too small to be told from 0 were taken as 0.
    TinyCoordinates,
    /// Facets with a coordinate that is not a finite number were left out.
    NonFiniteFacets,
    /// A text facet did not have exactly three corners, or could not be read.
    MalformedFacets,
    /// Objects that the file names are not in it.
    MissingObjects,
    /// The file with a model's materials is not beside it.
    MissingMaterials,
    /// Large faces with dents were cut into triangles without a close look.
    PolygonsGuessed,
    /// The model seems to lie on its back: its file's up axis may be +Y.
    PerhapsYUp,
    /// The model is tilted, as for printing, or was and now stands upright.
    Tilted,
    /// The model is printed in layers, whose grain is not taken for form.
    PrintLayers,
    /// Zero-area faces were dissolved into their neighbours.
    ZeroAreaFaces,
    /// Zero-area faces that could not be dissolved were kept.
    ZeroAreaFacesKept,
    /// The same triangle stands in the file more than once.
    DuplicateFaces,
    /// Faces were turned so that their piece is wound one way.
    TurnedFaces,
    /// A whole closed piece was inside out and was turned.
    InsideOutPieces,
    /// Points at open edges that were nearly equal were made one.
    NearPoints,
    /// Edges that belong to one face only: the piece is open there.
    OpenEdges,
    /// Small holes count as closed for questions about inside and outside.
    SmallHoles,
    /// Edges shared by more than two faces.
    NonManifoldEdges,
    /// Several files were exported at the origin and stand in each other.
    AtOrigin,
    /// The model is very small or very large for a miniature.
    ImplausibleSize,
    /// The cap on samples was reached: the surface is coarser than asked.
    SampleCap,
    /// Parts of the surface lie inside other closed pieces; they are not painted.
    BuriedSamples,
    /// The print is hollow: its inner wall is not painted.
    HollowPrint,
    /// No flat base was recognised.
    NoBase,
    /// A light lies inside the model's solid.
    LightInsideModel,
    /// A light reaches almost nothing.
    LightReachesNothing,
    /// A focal point touches no part of the model.
    FocusReachesNothing,
    /// A spot to keep its finest light and dark touches no part of the model.
    KeepReachesNothing,
    /// Print supports were recognised.
    PrintSupports,
    /// More pieces than a region map can number.
    TooManyRegions,
    /// Parts of the model are left out, as the scheme says.
    LeftOut,
    /// A part that the scheme leaves out or hides was not found.
    PartNotFound,
    /// A line of a list of paints could not be used.
    PaintLeftOut,
    /// Something in a line of a list of paints was guessed or passed over.
    PaintMended,
    /// A paint of the scheme is meant for a region that is not there.
    PaintWithoutRegion,
    /// A marked face lies on no skin.
    FaceWithoutSkin,
    /// A fine mesh was thinned for sheets of paper.
    Thinned,
    /// An eye was marked where its face cannot have one.
    EyeOffFace,
    /// Regions have no colour.
    RegionWithoutPaint,
    /// From the darkest to the lightest planned colour is too little to read.
    ValueSpanNarrow,
    /// Regions side by side are too near in value.
    NeighboursAlike,
    /// A lit spot is planned brighter than its lamp.
    OutshinesLamp,
    /// A palette colour covers much more or much less of the figure than it should.
    OutOfProportion,
    /// Two steps of a ramp are too far apart to blend.
    StepTooLarge,
    /// The paints at hand do not reach a planned colour.
    MixFarOff,
    /// A region that bends and twists is planned in one tone.
    FlatSpot,
    /// A region's colour lies outside the palette.
    ColourOutsidePalette,
    /// Text holds characters that the sheet's fonts lack; printed as [U+XXXX].
    MissingGlyphs,
}

impl Code {
    /// The stable text form, as in the JSON output.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::TruncatedFile => "truncated-file",
            Self::TrailingBytes => "trailing-bytes",
            Self::WrongCount => "wrong-count",
            Self::MissingEnd => "missing-end",
            Self::DecimalCommas => "decimal-commas",
            Self::TinyCoordinates => "tiny-coordinates",
            Self::NonFiniteFacets => "non-finite-facets",
            Self::MalformedFacets => "malformed-facets",
            Self::MissingObjects => "missing-objects",
            Self::MissingMaterials => "missing-materials",
            Self::PolygonsGuessed => "polygons-guessed",
            Self::PerhapsYUp => "perhaps-y-up",
            Self::Tilted => "tilted",
            Self::PrintLayers => "print-layers",
            Self::ZeroAreaFaces => "zero-area-faces",
            Self::ZeroAreaFacesKept => "zero-area-faces-kept",
            Self::DuplicateFaces => "duplicate-faces",
            Self::TurnedFaces => "turned-faces",
            Self::InsideOutPieces => "inside-out-pieces",
            Self::NearPoints => "near-points",
            Self::OpenEdges => "open-edges",
            Self::SmallHoles => "small-holes",
            Self::NonManifoldEdges => "non-manifold-edges",
            Self::AtOrigin => "at-origin",
            Self::ImplausibleSize => "implausible-size",
            Self::SampleCap => "sample-cap",
            Self::BuriedSamples => "buried-samples",
            Self::HollowPrint => "hollow-print",
            Self::NoBase => "no-base",
            Self::LightInsideModel => "light-inside-model",
            Self::LightReachesNothing => "light-reaches-nothing",
            Self::FocusReachesNothing => "focus-reaches-nothing",
            Self::KeepReachesNothing => "keep-reaches-nothing",
            Self::PrintSupports => "print-supports",
            Self::TooManyRegions => "too-many-regions",
            Self::LeftOut => "left-out",
            Self::PartNotFound => "part-not-found",
            Self::PaintLeftOut => "paint-left-out",
            Self::PaintMended => "paint-mended",
            Self::PaintWithoutRegion => "paint-without-region",
            Self::FaceWithoutSkin => "face-without-skin",
            Self::Thinned => "thinned",
            Self::EyeOffFace => "eye-off-face",
            Self::RegionWithoutPaint => "region-without-paint",
            Self::ValueSpanNarrow => "value-span-narrow",
            Self::NeighboursAlike => "neighbours-alike",
            Self::OutshinesLamp => "outshines-lamp",
            Self::OutOfProportion => "out-of-proportion",
            Self::StepTooLarge => "step-too-large",
            Self::MixFarOff => "mix-far-off",
            Self::FlatSpot => "flat-spot",
            Self::ColourOutsidePalette => "colour-outside-palette",
            Self::MissingGlyphs => "missing-glyphs",
        }
    }
}

/// Where a finding was made.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Place {
    /// A point of the scene in millimetres.
    Point([f32; 3]),
    /// A line of a text file, counted from 1.
    Line(u64),
    /// A byte offset into a binary file.
    Byte(u64),
}

/// One finding: how often, where it was met first, and what the user can do.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finding {
    /// What kind of finding.
    pub code: Code,
    /// How many times it was met.
    pub count: u64,
    /// Where it was met first, where that is known.
    pub place: Option<Place>,
    /// One sentence in a painter's words: what it means and what to do.
    pub hint: String,
}

impl Finding {
    /// A finding without a place.
    #[must_use]
    pub fn new(code: Code, count: u64, hint: impl Into<String>) -> Self {
        Self { code, count, place: None, hint: hint.into() }
    }

    /// The same finding with the place where it was met first.
    #[must_use]
    pub fn at(mut self, place: Place) -> Self {
        self.place = Some(place);
        self
    }
}
