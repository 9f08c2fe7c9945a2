//! The command line as typed.

use crate::view_args::View;
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Plans light and value for a 3D-printed miniature from the model itself:
/// where each light falls, which parts become shadow, midtone and highlight,
/// and in which order to work.
#[derive(Debug, Parser)]
#[command(name = "grisaille", version, arg_required_else_help = true, subcommand_required = true)]
#[command(
    after_help = "Example:\n  grisaille guide diver.stl -o diver.pdf\n\nExit codes: 0 done, 1 unexpected, \
    2 wrong options, 3 a model, scheme or other file cannot be read, 4 a result cannot be written, \
    5 no window can be shown, 130 stopped."
)]
pub(crate) struct Line {
    /// What to do.
    #[command(subcommand)]
    pub(crate) command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub(crate) enum Command {
    /// Say what is in a model file: size, pieces, base, and what was mended;
    /// with `--lit` also what its light does.
    #[command(after_help = "Examples:\n  grisaille inspect diver.stl --json\n  \
        grisaille inspect diver.stl --picture sides.png\n  \
        grisaille inspect diver.stl --lit --light lamp:9,-13,30")]
    Inspect(Inspect),
    /// Say what a pointed brush cannot reach, and, of several files that are
    /// glued together, what to paint before that.
    #[command(
        after_help = "Examples:\n  grisaille reach diver.stl\n  grisaille reach parts.grisaille --json"
    )]
    Reach(Reach),
    /// Write the region map: the surface with exposure, value, band and zone.
    #[command(
        after_help = "Examples:\n  grisaille map diver.stl -o diver.glb -o diver.ply --light lamp:9,-13,30,8\n  \
        grisaille map diver.grisaille -o diver.3mf"
    )]
    Map(Map),
    /// Draw a picture of the plan.
    #[command(after_help = "Examples:\n  grisaille view diver.stl -o values.png\n  \
        grisaille view diver.stl -o lamp.png --look exposure --of lamp --light lamp:9,-13,30 --view front\n  \
        grisaille view diver.stl -o primer.png --look sprayed --primer warm\n  \
        grisaille view diver.stl -o recesses.png --look openness --within 2\n  \
        grisaille view diver.stl -o bands.svg --view front --scale 3")]
    View(View),
    /// Divide the figure into regions, each painted as one material: a list, and
    /// a picture with their numbers.
    #[command(after_help = "Examples:\n  grisaille regions diver.stl --picture regions.png\n  \
        grisaille regions diver.stl --by auto --count 20 --json\n  \
        grisaille regions figure.stl --seed helmet,0,-4,47 --seed suit,0,-6,25 \\\n    --picture regions.png -o figure.grisaille")]
    Regions(Regions),
    /// Find recesses to line, edges to catch, spots to touch and deep areas for a
    /// wash: lists in order of importance, and a picture.
    #[command(after_help = "Examples:\n  grisaille lines diver.stl --picture lines.png\n  \
        grisaille lines diver.stl --width 0.5 --json")]
    Lines(Lines),
    /// How hatching and dry brush run over each region, and how fine strokes must
    /// be to blend.
    #[command(after_help = "Examples:\n  grisaille strokes diver.stl --picture strokes.png\n  \
        grisaille strokes diver.stl --distance 300 --json")]
    Strokes(Strokes),
    /// Plan the work in colour, from a scheme with regions and their colours: every
    /// stage in bench order, with mixes, thinning, brush, drying and cautions.
    #[command(after_help = "Examples:\n  grisaille plan diver.grisaille\n  \
        grisaille plan diver.grisaille --paints paints.csv --json")]
    Plan(PlanWork),
    /// Check a scheme before a pot is opened: what will not read, blend or match, and
    /// whether the palette's proportions are kept. Exit code 6 if something is found.
    #[command(after_help = "Examples:\n  grisaille check diver.grisaille\n  \
        grisaille check diver.grisaille --json")]
    Check(PlanWork),
    /// Make the printable guide: sheets to work from at the bench.
    #[command(
        after_help = "Examples:\n  grisaille guide diver.stl -o diver.pdf --title \"Hard-hat diver\"\n  \
        grisaille guide diver.grisaille -o cards.pdf --sheets summary,stages --paper a5\n  \
        grisaille guide diver.grisaille -o diver.pdf --paper letter --lengths inch --ink grey\n  \
        grisaille guide diver.grisaille -o diver.pdf"
    )]
    Guide(Guide),
    /// Open a window: turn the model, place and drag the lights.
    #[command(
        after_help = "Examples:\n  grisaille preview diver.stl\n  grisaille preview diver.grisaille\n  \
        grisaille preview"
    )]
    Preview(Preview),
    /// Write the options as a scheme file, to be changed by hand and given in
    /// place of a model.
    #[command(
        after_help = "Example:\n  grisaille scheme diver.stl -o diver.grisaille --light lamp:9,-13,30\n  \
        grisaille guide diver.grisaille -o diver.pdf"
    )]
    Scheme(MakeScheme),
    /// Write a scheme to begin with, full of notes: the model's regions, the lights, the
    /// moods, and all that a painter may set.
    #[command(after_help = "Examples:\n  grisaille new figure.stl\n  \
        grisaille new figure.stl --paints paints.csv -o figure.grisaille\n  grisaille new\n\n\
        Change it with any text editor, then: grisaille plan figure.grisaille")]
    New(New),
    /// Find the colours of a picture of your own, or those that go with one colour, with
    /// their shares and the part each plays: a line for each.
    #[command(after_help = "Examples:\n  grisaille palette reef.jpg\n  \
        grisaille palette reef.jpg --mood gloomy:0.5 --json\n  \
        grisaille palette --from b06f45 --harmony beside-opposite")]
    Palette(Palette),
    /// Find what to mix from the paints on the desk to get a colour, or the steps of a
    /// ramp round it.
    #[command(after_help = "Examples:\n  grisaille mix b06f45 --paints paints.csv\n  \
        grisaille mix '#1f3a6b' --paints paints.csv --ramp 5 --light ffc98a --mood cold\n\n\
        A shell takes an unquoted # for a comment: quote the colour, or leave the # out. \
        docs/colour.md tells what a list of paints looks like and how mixes are predicted; \
        models-demo/paints.csv is one.")]
    Mix(Mix),
    /// Write the wording of the sheets as a file, to translate it for `guide --words`.
    #[command(after_help = "Examples:\n  grisaille words -o deutsch.ftl\n  \
        grisaille guide diver.grisaille -o taucher.pdf --words deutsch.ftl")]
    Words(WordsFile),
    /// Do all of it on the built-in diver: guide, maps and pictures in a folder.
    #[command(after_help = "Example:\n  grisaille demo diver-sheets")]
    Demo(Demo),
}

/// `inspect`.
#[derive(Debug, Args)]
pub(crate) struct Inspect {
    #[command(flatten)]
    pub(crate) model: ModelArgs,
    #[command(flatten)]
    pub(crate) run: RunArgs,
    #[command(flatten)]
    pub(crate) plan: PlanArgs,
    /// Draw the model from six sides into this file (.png), with print supports, open
    /// edges and the places of findings marked.
    #[arg(long, value_name = "FILE")]
    pub(crate) picture: Option<PathBuf>,
    /// The height of the model in the picture, in pixels.
    #[arg(long, default_value_t = 600, value_parser = clap::value_parser!(u32).range(50..=1500), allow_hyphen_values = true)]
    pub(crate) pixels: u32,
    /// Print JSON instead of words.
    #[arg(long)]
    pub(crate) json: bool,
    /// Plan the light too, and say how far each light reaches, where two
    /// compete, and what stays black. Any option for the plan does that as well.
    #[arg(long)]
    pub(crate) lit: bool,
}

/// `reach`.
#[derive(Debug, Args)]
pub(crate) struct Reach {
    #[command(flatten)]
    pub(crate) model: ModelArgs,
    #[command(flatten)]
    pub(crate) run: RunArgs,
    /// Print JSON instead of words.
    #[arg(long)]
    pub(crate) json: bool,
}

/// `map`.
#[derive(Debug, Args)]
pub(crate) struct Map {
    #[command(flatten)]
    pub(crate) model: ModelArgs,
    #[command(flatten)]
    pub(crate) plan: PlanArgs,
    #[command(flatten)]
    pub(crate) run: RunArgs,
    /// Where to write, by the ending: .ply, .glb, .3mf, .csv or .json. May be given several times.
    #[arg(short, long, required = true, value_name = "FILE")]
    pub(crate) output: Vec<PathBuf>,
    /// Also print the summary as JSON.
    #[arg(long)]
    pub(crate) json: bool,
}

/// `regions`.
#[derive(Debug, Args)]
pub(crate) struct Regions {
    #[command(flatten)]
    pub(crate) model: ModelArgs,
    #[command(flatten)]
    pub(crate) run: RunArgs,
    /// Where regions come from: the shape unless set.
    #[arg(long, value_enum)]
    pub(crate) by: Option<By>,
    /// How many regions to divide into; as many as the shape asks for if not given.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..), allow_hyphen_values = true)]
    pub(crate) count: Option<u16>,
    /// A region to grow from a point of the surface (mm): it takes what hangs
    /// together with the point up to creases, or until it meets another. Several
    /// points of one name grow one region.
    #[arg(long, value_name = "NAME,X,Y,Z", allow_hyphen_values = true)]
    pub(crate) seed: Vec<String>,
    /// One more step with the regions at some points (mm): grow=NAME, merge,
    /// split, rename=NAME, recolour=R,G,B, lock or unlock, such as
    /// --step merge:0,-4,47:0,6,40. Steps come after seeds, in order.
    #[arg(long, value_name = "WHAT:X,Y,Z[:X,Y,Z…]", allow_hyphen_values = true)]
    pub(crate) step: Vec<String>,
    /// Keep the model and its regions as a scheme file (.grisaille), to be given
    /// in place of a model and changed.
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
    /// Draw the regions from the front and from behind into this file (.png).
    #[arg(long, value_name = "FILE")]
    pub(crate) picture: Option<PathBuf>,
    /// The height of the model in the picture, in pixels.
    #[arg(long, default_value_t = 900, value_parser = clap::value_parser!(u32).range(50..=8000), allow_hyphen_values = true)]
    pub(crate) pixels: u32,
    /// Print JSON instead of words.
    #[arg(long)]
    pub(crate) json: bool,
}

/// Where regions come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum By {
    /// The shape: creases part regions, hollow ones more than sharp edges.
    Auto,
    /// The model's pieces, one region for each.
    Pieces,
    /// What the file says of its parts: a region for each name or colour.
    File,
}

/// `lines`.
#[derive(Debug, Args)]
pub(crate) struct Lines {
    #[command(flatten)]
    pub(crate) model: ModelArgs,
    #[command(flatten)]
    pub(crate) run: RunArgs,
    /// The width in mm that a brush draws: a recess whose bottom is narrower
    /// than this is one line, a wider one between steep walls two. One and a half
    /// times the spacing of the divided surface if not given: 0.3 mm on a figure
    /// of 32 mm.
    #[arg(long, value_name = "MM", allow_hyphen_values = true)]
    pub(crate) width: Option<f64>,
    /// Draw the lines from three sides into this file (.png).
    #[arg(long, value_name = "FILE")]
    pub(crate) picture: Option<PathBuf>,
    /// The height of the model in the picture, in pixels.
    #[arg(long, default_value_t = 900, value_parser = clap::value_parser!(u32).range(50..=8000), allow_hyphen_values = true)]
    pub(crate) pixels: u32,
    /// Print JSON instead of words.
    #[arg(long)]
    pub(crate) json: bool,
}

/// `strokes`.
#[derive(Debug, Args)]
pub(crate) struct Strokes {
    #[command(flatten)]
    pub(crate) model: ModelArgs,
    #[command(flatten)]
    pub(crate) run: RunArgs,
    /// The most arrows for each region.
    #[arg(long, value_name = "N", default_value_t = 16, value_parser = clap::value_parser!(u16).range(1..=100), allow_hyphen_values = true)]
    pub(crate) most: u16,
    /// How far away the eye is for which strokes must blend, in mm.
    #[arg(long, value_name = "MM", default_value_t = 500.0, allow_hyphen_values = true)]
    pub(crate) distance: f64,
    /// Draw the arrows from three sides into this file (.png).
    #[arg(long, value_name = "FILE")]
    pub(crate) picture: Option<PathBuf>,
    /// The height of the model in the picture, in pixels.
    #[arg(long, default_value_t = 900, value_parser = clap::value_parser!(u32).range(50..=8000), allow_hyphen_values = true)]
    pub(crate) pixels: u32,
    /// Print JSON instead of words.
    #[arg(long)]
    pub(crate) json: bool,
}

/// `plan` and `check`.
#[derive(Debug, Args)]
pub(crate) struct PlanWork {
    /// The scheme (.grisaille) with regions and their colours.
    pub(crate) scheme: PathBuf,
    /// The list of paints (CSV), in place of the scheme's own.
    #[arg(long, value_name = "FILE")]
    pub(crate) paints: Option<PathBuf>,
    /// Print JSON instead of words.
    #[arg(long)]
    pub(crate) json: bool,
    #[command(flatten)]
    pub(crate) run: RunArgs,
}

/// `guide`.
#[derive(Debug, Args)]
pub(crate) struct Guide {
    #[command(flatten)]
    pub(crate) model: ModelArgs,
    #[command(flatten)]
    pub(crate) plan: PlanArgs,
    #[command(flatten)]
    pub(crate) run: RunArgs,
    /// Where to write the sheets (.pdf).
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: PathBuf,
    /// Print these sheets beside the cover, instead of all or those that the scheme names.
    #[arg(long, value_enum, value_delimiter = ',')]
    pub(crate) sheets: Vec<Sheet>,
    /// The paper; as the scheme says, else A4.
    #[arg(long, value_enum)]
    pub(crate) paper: Option<PaperArg>,
    /// What the printer has; as the scheme says, else colour.
    #[arg(long, value_enum)]
    pub(crate) ink: Option<InkArg>,
    /// The unit of lengths on the sheets; as the scheme says, else mm.
    #[arg(long, value_enum)]
    pub(crate) lengths: Option<LengthsArg>,
    /// Print in another language: a translation of what `grisaille words` writes. What it leaves
    /// out stays English.
    #[arg(long, value_name = "FILE")]
    pub(crate) words: Option<PathBuf>,
}

/// `words`.
#[derive(Debug, Args)]
pub(crate) struct WordsFile {
    /// Where to write them (.ftl); on standard output unless given.
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
}

/// A paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum PaperArg {
    /// 210 × 297 mm.
    A4,
    /// 8.5 × 11 inches.
    Letter,
    /// 148 × 210 mm: a card for each stage.
    A5,
}

/// What the printer has.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum InkArg {
    /// Colours.
    Colour,
    /// Black alone: greys far apart and patterns stand for colours.
    Grey,
}

/// The unit of lengths on the sheets.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum LengthsArg {
    /// Millimetres.
    Mm,
    /// Inches.
    Inch,
}

/// A kind of sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Sheet {
    /// The plan on one page.
    Summary,
    /// The figure in its values from all sides.
    Values,
    /// Each light by itself.
    Lights,
    /// The bands with their areas.
    Bands,
    /// Which light rules where.
    Zones,
    /// The regions by number, with names and colours.
    Regions,
    /// What to line and which edges to catch.
    Lines,
    /// Of several files what to do before they are glued.
    Gluing,
    /// How to prime.
    Primer,
    /// Step cards.
    Stages,
    /// Marked faces, enlarged.
    Faces,
    /// Marked areas laid flat, to draw designs on.
    Freehand,
    /// Blank outlines to try colours on.
    Outlines,
    /// How to take pictures that can be compared.
    Photo,
    /// Step cards without their answers, for a class; printed only where it is named.
    Handout,
}

/// `preview`.
#[derive(Debug, Args)]
pub(crate) struct Preview {
    /// Model files (STL, OBJ, 3MF, PLY) that make one scene, or one scheme
    /// (.grisaille); the built-in diver if none is named.
    #[arg(value_name = "MODEL")]
    pub(crate) models: Vec<PathBuf>,
    /// Play the steps of a script instead of waiting for hands; for tests.
    #[arg(long, value_name = "FILE", hide = true)]
    pub(crate) play: Option<PathBuf>,
    /// Threads to work with; 0 for one on each core.
    #[arg(long, value_name = "N", default_value_t = 0, value_parser = count, allow_hyphen_values = true)]
    pub(crate) threads: usize,
}

/// `scheme`.
#[derive(Debug, Args)]
pub(crate) struct MakeScheme {
    #[command(flatten)]
    pub(crate) model: ModelArgs,
    #[command(flatten)]
    pub(crate) plan: PlanArgs,
    /// Where to write the scheme (.grisaille).
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: PathBuf,
}

/// `new`.
#[derive(Debug, Args)]
pub(crate) struct New {
    /// The model file (STL, OBJ, 3MF, PLY); the built-in diver if none is named.
    pub(crate) model: Option<PathBuf>,
    /// The axis of the file that points up; z unless set.
    #[arg(long, value_enum, requires = "model")]
    pub(crate) up: Option<Up>,
    /// The unit of the file's numbers; mm unless set.
    #[arg(long, value_enum, conflicts_with = "height", requires = "model")]
    pub(crate) unit: Option<FileUnit>,
    /// The height of the printed model in mm, base included: scales it.
    #[arg(long, value_name = "MM", allow_hyphen_values = true, requires = "model")]
    pub(crate) height: Option<f64>,
    /// The list of paints (CSV); paints.csv, if there is one beside the scheme.
    #[arg(long, value_name = "FILE")]
    pub(crate) paints: Option<PathBuf>,
    /// Where to write the scheme (.grisaille); the model's name beside you if not given.
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: Option<PathBuf>,
    /// Write it even where there is a file of that name already.
    #[arg(long)]
    pub(crate) replace: bool,
    #[command(flatten)]
    pub(crate) run: RunArgs,
}

/// `palette`.
#[derive(Debug, Args)]
pub(crate) struct Palette {
    /// The picture: PNG, JPEG or WebP.
    #[arg(value_name = "PICTURE", required_unless_present = "from")]
    pub(crate) picture: Option<PathBuf>,
    /// Make the palette from one colour instead: rrggbb, '#rrggbb', 'rgb(R, G, B)' or 'lab(L, a, b)'.
    #[arg(long, value_name = "COLOUR", conflicts_with = "picture")]
    pub(crate) from: Option<String>,
    /// With `--from`: how the other colours are found.
    #[arg(long, value_enum, default_value_t = HarmonyArg::Opposite, requires = "from")]
    pub(crate) harmony: HarmonyArg,
    /// Shift all colours into a mood, at full strength or at a share of it (0 to 1):
    /// calm, cold, gloomy, menacing, sickly, evening, lively, faded or dreamlike.
    #[arg(long, value_name = "MOOD[:STRENGTH]", allow_hyphen_values = true)]
    pub(crate) mood: Option<String>,
    #[command(flatten)]
    pub(crate) run: RunArgs,
    /// Print JSON instead of words.
    #[arg(long)]
    pub(crate) json: bool,
}

/// How the other colours of a palette are found from one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum HarmonyArg {
    /// The same hue, darker, lighter and greyer.
    OneHue,
    /// The hues beside it, 30° either way.
    Neighbours,
    /// The hue across, as an accent.
    Opposite,
    /// The two beside the hue across, 30° either way.
    BesideOpposite,
    /// Three hues, 120° apart.
    Triad,
    /// Four hues, 90° apart.
    Square,
}

/// `mix`.
#[derive(Debug, Args)]
pub(crate) struct Mix {
    /// The colour that is wanted: rrggbb, '#rrggbb', 'rgb(R, G, B)' or 'lab(L, a, b)'.
    #[arg(value_name = "COLOUR")]
    pub(crate) colour: String,
    /// The list of paints (CSV): a line for each with name, hex and type.
    #[arg(long, value_name = "FILE")]
    pub(crate) paints: PathBuf,
    /// Up to how many paints go into a mix.
    #[arg(long, value_name = "N", default_value_t = 3, value_parser = clap::value_parser!(u8).range(1..=3), allow_hyphen_values = true)]
    pub(crate) up_to: u8,
    /// Up to how many parts go into a mix: 4 gives 1:1, 2:1, 3:1, 1:1:1 and 2:1:1.
    #[arg(long, value_name = "N", default_value_t = 4, value_parser = clap::value_parser!(u8).range(1..=16), allow_hyphen_values = true)]
    pub(crate) parts: u8,
    /// Mix a ramp round the colour from shared paints, in so many steps (3 to 6), or in
    /// as many as it asks for.
    #[arg(long, value_name = "STEPS", num_args = 0..=1, default_missing_value = "0", value_parser = steps)]
    pub(crate) ramp: Option<usize>,
    /// With `--ramp`: the light's colour, which the light steps bend toward.
    #[arg(long, value_name = "COLOUR", requires = "ramp")]
    pub(crate) light: Option<String>,
    /// With `--ramp`: the mood that the dark steps bend toward, and its strength.
    #[arg(long, value_name = "MOOD[:STRENGTH]", requires = "ramp", allow_hyphen_values = true)]
    pub(crate) mood: Option<String>,
    /// With `--ramp`: it is skin; dark skin is highlighted warm.
    #[arg(long, requires = "ramp")]
    pub(crate) skin: bool,
    #[command(flatten)]
    pub(crate) run: RunArgs,
    /// Print JSON instead of words.
    #[arg(long)]
    pub(crate) json: bool,
}

/// `demo`.
#[derive(Debug, Args)]
pub(crate) struct Demo {
    /// The folder to write into; made if it is not there.
    #[arg(default_value = "grisaille-demo")]
    pub(crate) folder: PathBuf,
    #[command(flatten)]
    pub(crate) plan: PlanArgs,
    #[command(flatten)]
    pub(crate) run: RunArgs,
}

/// The model and how to read it.
#[derive(Debug, Args)]
pub(crate) struct ModelArgs {
    /// The model file (STL, OBJ, 3MF or PLY, told by what is in it), or a scheme
    /// (.grisaille) that names its models.
    pub(crate) model: PathBuf,
    /// The axis of the file that points up; z unless set.
    #[arg(long, value_enum)]
    pub(crate) up: Option<Up>,
    /// The unit of the file's numbers; mm unless set. A 3MF file tells its own.
    #[arg(long, value_enum, conflicts_with = "height")]
    pub(crate) unit: Option<FileUnit>,
    /// The height of the printed model in mm, base included: scales it.
    #[arg(long, value_name = "MM", allow_hyphen_values = true)]
    pub(crate) height: Option<f64>,
    /// Stand a model that was tilted for printing on the flat underside of its base,
    /// before it is scaled.
    #[arg(long)]
    pub(crate) upright: bool,
    /// How the model was printed: level steps of its layers and scars of its supports are then
    /// not taken for form: neither lined nor caught, and no borders of regions.
    #[arg(long, value_enum)]
    pub(crate) printed: Option<PrintedArg>,
    /// How thick the layers of the print are; 0.05 of resin and 0.2 of filament if not given.
    #[arg(long, value_name = "MM", allow_hyphen_values = true)]
    pub(crate) layer_height: Option<f64>,
}

/// How a model was printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum PrintedArg {
    /// Cured from liquid resin.
    Resin,
    /// Laid down as molten filament.
    Filament,
}

/// The axis of the file that points up.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Up {
    /// +Z, the print convention.
    Z,
    /// +Y, as sculpting programs often write.
    Y,
}

/// The unit of the file's numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum FileUnit {
    /// Millimetres.
    Mm,
    /// Inches.
    Inch,
    /// Metres.
    M,
}

/// What the plan is made from.
#[derive(Clone, Debug, Default, PartialEq, Args)]
pub(crate) struct PlanArgs {
    /// What the sheets are headed with; the file's name if not given.
    #[arg(long)]
    pub(crate) title: Option<String>,
    /// The zenithal light, in degrees: from straight above, round from the
    /// front toward the viewer's right, and its angular radius.
    #[arg(long, value_name = "TILT[,AZIMUTH[,RADIUS]]", allow_hyphen_values = true)]
    pub(crate) zenithal: Option<String>,
    /// A lamp in the scene, in mm: its place, the distance of full light, the
    /// radius of its glass, and how far its own lantern lets light through.
    #[arg(long, value_name = "NAME:X,Y,Z[,R0[,RADIUS[,CLEAR]]]", allow_hyphen_values = true)]
    pub(crate) light: Vec<String>,
    /// How much a light counts in the sum of light, 0 or more: zenithal 0.5,
    /// ring 0.3, ambient 0.2 and a lamp 0.8 if not given.
    #[arg(long, value_name = "NAME:WEIGHT", allow_hyphen_values = true)]
    pub(crate) weight: Vec<String>,
    /// How fast a lamp's light falls with distance: 2 as in nature, 1 carries
    /// farther, 3 dies sooner; 0 to 6.
    #[arg(long, value_name = "NAME:EXPONENT", allow_hyphen_values = true)]
    pub(crate) falloff: Vec<String>,
    /// Where a lamp's light ends, in mm, and over which share of that way it
    /// fades (1: all of it). It never ends if not given.
    #[arg(long, value_name = "NAME:MM[,SOFTNESS]", allow_hyphen_values = true)]
    pub(crate) reach: Vec<String>,
    /// A spot to lead the eye to, such as the face: place and radius in mm, and
    /// the share of the way to the lightest paint that its middle is lifted
    /// (0.35; less than 0 darkens). With `surface` only along the surface of the
    /// nearest piece, not through space.
    #[arg(long, value_name = "X,Y,Z,RADIUS[,STRENGTH[,surface]]", allow_hyphen_values = true)]
    pub(crate) focus: Vec<String>,
    /// Lift all of the figure or the base that share of the way to the lightest
    /// paint; less than 0 drops it toward the darkest.
    #[arg(long, value_name = "PART:STRENGTH", allow_hyphen_values = true)]
    pub(crate) lift: Vec<String>,
    /// Paint a gradient on large flat plates, lighter toward the light: how far
    /// their ends go, 0 (not at all) to 1.
    #[arg(long, value_name = "STRENGTH", allow_hyphen_values = true)]
    pub(crate) plate_gradient: Option<f64>,
    /// Part two lights by a dark line where the form turns from the one to the
    /// other, so that both read as light: how deep it is, 0 (not at all) to 1,
    /// such as --gap 0.5.
    #[arg(long, value_name = "STRENGTH", allow_hyphen_values = true)]
    pub(crate) gap: Option<f64>,
    /// Let light bounce once from part to part: the share of it that the paint
    /// throws back, 0 (not at all) to 0.95. 0.2 is a mid grey, 0.6 a light
    /// one, such as --bounce 0.3.
    #[arg(long, value_name = "SHARE", allow_hyphen_values = true)]
    pub(crate) bounce: Option<f64>,
    /// Shares of the figure's surface for 3 to 6 bands, darkest first.
    #[arg(long, value_name = "A,B,C…", allow_hyphen_values = true, conflicts_with = "levels")]
    pub(crate) shares: Option<String>,
    /// L* at the borders between bands, rising.
    #[arg(long, value_name = "L,L…", allow_hyphen_values = true)]
    pub(crate) levels: Option<String>,
    /// How bright the sky of the ambient light is where; uniform unless set.
    #[arg(long, value_enum)]
    pub(crate) sky: Option<SkyArg>,
    /// The tones of the primer plan, which seeks spray directions and dry-brush
    /// strokes for guide, demo and JSON; `none` leaves it out; grey unless set.
    #[arg(long, value_enum)]
    pub(crate) primer: Option<PrimerArg>,
    /// Directions over the sky for ambient light; 256 unless set.
    #[arg(long, value_name = "N", value_parser = count, allow_hyphen_values = true)]
    pub(crate) ambient_directions: Option<usize>,
    /// Do not divide the surface: samples at the model's own corners only.
    #[arg(long)]
    pub(crate) no_refine: bool,
    /// The longest edge of the divided surface in mm.
    #[arg(long, value_name = "MM", allow_hyphen_values = true)]
    pub(crate) spacing: Option<f64>,
    /// The radius of the brush tip in mm: bands and zones are evened out to it,
    /// and areas of less than two touches go. 0 leaves them as the light falls;
    /// 0.3 on a 32 mm figure, in proportion, if not given.
    #[arg(long, value_name = "MM", allow_hyphen_values = true)]
    pub(crate) brush: Option<f64>,
    /// Cast shadows narrower than this many mm are not painted; the width of the
    /// brush tip if not given, 0 paints all.
    #[arg(long, value_name = "MM", allow_hyphen_values = true)]
    pub(crate) thinnest_shadow: Option<f64>,
    /// A spot to paint as finely as the light falls, such as hair, chain or the
    /// tooth of the print: place and radius in mm. Nothing there is evened out
    /// or too thin, whatever the brush tip, such as --keep 0,-6,40,4.
    #[arg(long, value_name = "X,Y,Z,RADIUS", allow_hyphen_values = true)]
    pub(crate) keep: Vec<String>,
    /// Leave a part of the model out, as if it were not in the file: `base`, `supports`,
    /// or a point on the part in mm, such as --without base --without 4,-9,31. It is
    /// not painted, stops no light and is in no picture.
    #[arg(long, value_name = "PART", allow_hyphen_values = true)]
    pub(crate) without: Vec<String>,
    /// Leave out print supports and their raft, where they are recognised for sure;
    /// the same as --without supports.
    #[arg(long)]
    pub(crate) without_supports: bool,
}

/// How bright the sky of the ambient light is where.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum SkyArg {
    /// The same everywhere.
    Uniform,
    /// Three times as bright overhead as at the horizon: deeper undersides.
    Overcast,
}

/// The tones of the primer plan.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum PrimerArg {
    /// Dark grey, mid grey, near-white.
    Grey,
    /// Dark brown, tan, bone.
    Warm,
    /// Navy, blue-grey, pale ice.
    Cold,
    /// Plum shadows under dusty rose and cream.
    ColouredShadow,
    /// No primer plan.
    None,
}

/// How to run.
#[derive(Debug, Args)]
pub(crate) struct RunArgs {
    /// Threads to work with; 0 for one on each core. Results are the same.
    #[arg(long, value_name = "N", default_value_t = 0, value_parser = count, allow_hyphen_values = true)]
    pub(crate) threads: usize,
    /// Write how long each phase took, as JSON.
    #[arg(long, value_name = "FILE")]
    pub(crate) timings: Option<PathBuf>,
}

/// A count of things, with a reason in plain words if it is none.
fn count(text: &str) -> Result<usize, String> {
    text.parse().map_err(|_| "write a whole number, 0 or more".into())
}

/// A count of steps of a ramp; 0 stands for as many as it asks for.
fn steps(text: &str) -> Result<usize, String> {
    match count(text)? {
        n @ (0 | 3..=6) => Ok(n),
        _ => Err("a ramp has 3 to 6 steps".into()),
    }
}
