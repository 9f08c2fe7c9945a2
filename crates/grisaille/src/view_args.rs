//! The command line of `view`: what a picture shows, from where, and how large.

use crate::args::{ModelArgs, PlanArgs, RunArgs};
use crate::failure::Failure;
use clap::{Args, ValueEnum};
use grisaille_mesh::Mesh;
use std::path::PathBuf;

/// `view`.
#[derive(Debug, Args)]
pub(crate) struct View {
    #[command(flatten)]
    pub(crate) model: ModelArgs,
    #[command(flatten)]
    pub(crate) plan: PlanArgs,
    #[command(flatten)]
    pub(crate) run: RunArgs,
    /// Where to write the picture: .png, or .svg with lines and flat areas as outlines.
    #[arg(short, long, value_name = "FILE")]
    pub(crate) output: PathBuf,
    /// What to show.
    #[arg(long, value_enum, default_value_t = Look::Values)]
    pub(crate) look: Look,
    /// With `--look exposure`: the light to show, by name.
    #[arg(long, value_name = "LIGHT", default_value = "zenithal")]
    pub(crate) of: String,
    /// With `--look openness`: how far each spot looks round in mm; a sixteenth
    /// of the height if not given.
    #[arg(long, value_name = "MM", allow_hyphen_values = true)]
    pub(crate) within: Option<f64>,
    /// From which side; several are set side by side.
    #[arg(long, value_enum, value_delimiter = ',', default_values_t = [Side::Front, Side::ThreeQuarter, Side::Back])]
    pub(crate) view: Vec<Side>,
    #[command(flatten)]
    pub(crate) size: PictureSize,
}

/// How large a picture is: in pixels, or on paper.
#[derive(Debug, Args)]
pub(crate) struct PictureSize {
    /// The height of the model in the picture, in pixels.
    #[arg(long, default_value_t = 900, value_parser = clap::value_parser!(u32).range(50..=8000), allow_hyphen_values = true)]
    pub(crate) pixels: u32,
    /// How many times its own size the figure is on paper: 1 is true size, 4 is 4 : 1.
    #[arg(
        long,
        value_name = "TIMES",
        group = "on_paper",
        conflicts_with = "pixels",
        allow_hyphen_values = true
    )]
    pub(crate) scale: Option<f64>,
    /// The height of the model on paper in mm.
    #[arg(
        long,
        value_name = "MM",
        group = "on_paper",
        conflicts_with = "pixels",
        allow_hyphen_values = true
    )]
    pub(crate) paper_height: Option<f64>,
    /// Pixels on an inch of paper; with `--scale` or `--paper-height`.
    #[arg(long, value_name = "N", default_value_t = 254, value_parser = clap::value_parser!(u32).range(50..=1200), requires = "on_paper", allow_hyphen_values = true)]
    pub(crate) dpi: u32,
}

/// Pixels on a millimetre of a figure that is drawn `height_px` high; what lies
/// is not drawn more than four times as wide.
pub(crate) fn pixels_per_mm(mesh: &Mesh, height_px: f64) -> f64 {
    let [width, depth, height] = mesh.bounds().extents();
    height_px / height.max(0.25 * width.hypot(depth)).max(1e-6)
}

/// Pixels on a millimetre.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Fineness {
    /// Of the figure.
    pub(crate) figure: f64,
    /// Of the paper that lines and letters are sized for.
    pub(crate) paper: f64,
    /// Of what it is printed on, as the file says.
    pub(crate) printed: f64,
}

/// Lines and letters as on a sheet of paper printed at 254 dpi.
const USUAL: f64 = 10.0;
/// No side of a figure is drawn longer than this, in pixels.
const LONGEST: f64 = 8000.0;

impl Fineness {
    /// Of a figure that is drawn `height_px` high ([`pixels_per_mm`]), and prints at true size.
    pub(crate) fn in_pixels(mesh: &Mesh, height_px: f64) -> Self {
        let figure = pixels_per_mm(mesh, height_px);
        Self { figure, paper: USUAL, printed: figure }
    }

    fn on_paper(mesh: &Mesh, scale: f64, dpi: f64) -> Result<Self, Failure> {
        let paper = dpi / 25.4;
        let figure = scale * paper;
        let [width, depth, height] = mesh.bounds().extents();
        let longest = figure * height.max(width.hypot(depth));
        if longest > LONGEST {
            return Err(Failure::Usage(format!(
                "the figure would be {longest:.0} pixels long, and no more than {LONGEST} are drawn: \
                 ask for a smaller picture, or for fewer dots an inch with --dpi"
            )));
        }
        Ok(Self { figure, paper, printed: paper })
    }
}

impl PictureSize {
    /// Whether the numbers can be used, before the model is read.
    ///
    /// # Errors
    /// [`Failure::Usage`] where one is not more than 0.
    pub(crate) fn check(&self) -> Result<(), Failure> {
        for (name, given) in [("--scale", self.scale), ("--paper-height", self.paper_height)] {
            if let Some(given) = given.filter(|n| !(*n > 0.0 && n.is_finite())) {
                return Err(Failure::Usage(format!("{name} {given}: give a number above 0")));
            }
        }
        Ok(())
    }

    /// The fineness that a model is drawn with.
    ///
    /// # Errors
    /// [`Failure::Usage`] where the picture would be too large.
    pub(crate) fn of(&self, mesh: &Mesh) -> Result<Fineness, Failure> {
        let height = mesh.bounds().extents()[2].max(1e-6);
        match self.scale.or_else(|| self.paper_height.map(|mm| mm / height)) {
            Some(scale) => Fineness::on_paper(mesh, scale, f64::from(self.dpi)),
            None => Ok(Fineness::in_pixels(mesh, f64::from(self.pixels))),
        }
    }
}

/// What a picture shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Look {
    /// Grey values in bands.
    Values,
    /// Grey values as planned, blended, without bands.
    Greys,
    /// Grey values that the planned colours come to, in bands; needs a scheme with colours.
    ColourValues,
    /// One light's exposure in false colour.
    Exposure,
    /// Which light rules where.
    Zones,
    /// How open each spot lies, whatever the light: dark where washes and lines belong.
    Openness,
    /// Where a pointed brush reaches, whatever side it comes from.
    Reach,
    /// The planned colours, blended; needs a scheme with colours.
    Colours,
    /// The planned colours step by step, with the numbers of the steps.
    Steps,
    /// As after dark, mid and light primer.
    Primed,
    /// As after the spray passes that come closest to the planned values.
    Sprayed,
    /// As after one light coat from the direction that reveals the most form.
    SprayedOnce,
    /// As after the dry-brush strokes that come closest to the planned values.
    DryBrushed,
}

/// A side to look from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Side {
    /// From the front.
    Front,
    /// From the back.
    Back,
    /// The viewer's left side of the figure.
    Left,
    /// The viewer's right side of the figure.
    Right,
    /// Between front and side, from a little above.
    ThreeQuarter,
    /// From straight above.
    Top,
}
