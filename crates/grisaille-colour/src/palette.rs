//! A palette: a few colours with the shares they have of a picture, and what part
//! each plays.

use crate::bins::bins;
use crate::clusters::clusters;
use crate::{Lab, Oklch, Picture};
use grisaille_base::{Stop, Watch};

/// The part that a colour plays in a palette.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// The largest share.
    Main,
    /// Neither the largest nor an accent.
    Support,
    /// A tenth or less, and plainly more vivid than the rest: seen first.
    Accent,
    /// A grey, black or white that is not the largest.
    Neutral,
}

impl Role {
    /// The word for it.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Main => "main",
            Self::Support => "support",
            Self::Accent => "accent",
            Self::Neutral => "neutral",
        }
    }
}

/// One colour of a palette.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PaletteColour {
    /// The colour.
    pub colour: Lab,
    /// Its share of the area, 0 to 1; all sum to 1.
    pub share: f64,
    /// The part it plays.
    pub role: Role,
    /// Whether it could be skin (or leather, wood, sand: colour alone cannot tell).
    pub skin_like: bool,
}

/// Chroma C*ab below which a colour counts as a grey.
const GREY: f64 = 8.0;
/// The largest share of an accent.
const ACCENT_SHARE: f64 = 0.1;
/// An accent is vivid by itself (C*ab), and this much more so than the mean of all.
const ACCENT_CHROMA: (f64, f64) = (20.0, 1.4);

/// The palette of a picture: five to nine colours, fewer where it has fewer, the largest
/// share first. Shades of one surface in light and shadow are one colour, at their
/// mean; small vivid accents are kept; bars at the edges do not count.
///
/// # Errors
/// [`Stop`] on request.
pub fn palette_of(picture: &Picture, watch: &Watch) -> Result<Vec<PaletteColour>, Stop> {
    let span = watch.span("palette", 0);
    let bins = bins(picture, watch)?;
    span.count("bins", bins.len() as u64);
    let found = watch.leave(move |_| clusters(&bins))?;
    let colours: Vec<(Lab, f64)> = found
        .iter()
        .map(|c| {
            let [l, a, b] = c.at.map(|x| x / 100.0);
            let ok = Oklch { l, chroma: a.hypot(b), hue: b.atan2(a).to_degrees() };
            (Lab::from(ok).within_srgb(), c.share)
        })
        .collect();
    Ok(with_roles(&colours))
}

/// Colours and their shares, the largest first, with the part that each plays.
#[must_use]
pub fn with_roles(colours: &[(Lab, f64)]) -> Vec<PaletteColour> {
    let all: f64 = colours.iter().map(|(_, share)| share).sum();
    let mean = colours.iter().map(|(c, share)| c.chroma() * share).sum::<f64>() / all.max(f64::MIN_POSITIVE);
    let mut sorted: Vec<(Lab, f64)> = colours.to_vec();
    sorted.sort_by(|a, b| b.1.total_cmp(&a.1));
    let each = sorted.iter().enumerate().map(|(i, &(colour, share))| {
        let share = share / all.max(f64::MIN_POSITIVE);
        let vivid = colour.chroma() >= ACCENT_CHROMA.0 && colour.chroma() >= ACCENT_CHROMA.1 * mean;
        let role = match i {
            0 => Role::Main,
            _ if share <= ACCENT_SHARE && vivid => Role::Accent,
            _ if colour.chroma() < GREY => Role::Neutral,
            _ => Role::Support,
        };
        PaletteColour { colour, share, role, skin_like: skin_like(colour) }
    });
    each.collect()
}

/// Whether a colour lies where human skin does, dark to fair: hue angle 30 to 80°,
/// C*ab 8 to 40, L* 20 to 90. (Measured skin lies within about 40 to 75°, 12 to 32
/// and 25 to 75 by published surveys, from memory; lit skin reaches farther.)
#[must_use]
pub fn skin_like(colour: Lab) -> bool {
    (30.0..80.0).contains(&colour.hue())
        && (8.0..40.0).contains(&colour.chroma())
        && (20.0..90.0).contains(&colour.l)
}
