//! The scheme itself, and the check that it makes sense.

use crate::bounce::BounceChoice;
use crate::colours::ColourChoice;
use crate::emphasis::Emphasis;
use crate::lights::{FalloffChoice, LightChoice, LightEntry, default_rig};
use crate::part_choice::PartChoice;
use crate::primer::PrimerChoice;
use crate::print::PrintChoice;
use crate::regions::RegionChoice;
use crate::scheme_error::{SchemeError, Under, each, in_range};
use grisaille_base::{LightId, Lightness, Millimetres};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// All decisions for one model.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Scheme {
    /// What the sheets are headed with.
    pub title: String,
    /// How finely the surface is divided.
    pub surface: SurfaceChoice,
    /// The rig first, then lamps.
    pub lights: Vec<LightEntry>,
    /// How finely sky and lamps are sampled.
    pub fineness: Fineness,
    /// Light thrown from one part onto another.
    #[serde(default)]
    pub bounce: BounceChoice,
    /// The span of values.
    pub value: ValueChoice,
    /// The painter's own light and dark on top of it.
    #[serde(default)]
    pub emphasis: Emphasis,
    /// Where bands are cut.
    pub bands: BandChoice,
    /// How fine a brush can follow.
    pub brush: BrushChoice,
    /// The primer plan.
    #[serde(default)]
    pub primer: PrimerChoice,
    /// What the window does not show; nothing that is made depends on it.
    #[serde(default)]
    pub hidden: PartChoice,
    /// What is taken away before anything is planned: it is not painted, stops
    /// no light, and stands in no picture.
    #[serde(default)]
    pub left_out: PartChoice,
    /// How the surface is divided into regions.
    #[serde(default)]
    pub regions: RegionChoice,
    /// Mood, palette, paints, the paint on each region, and the way of working.
    #[serde(default)]
    pub colours: ColourChoice,
    /// What the guide prints.
    #[serde(default)]
    pub print: PrintChoice,
}

/// How finely the surface is divided.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct SurfaceChoice {
    /// Divide at all.
    pub refine: bool,
    /// The longest edge; 0.2 mm on a 32 mm figure, in proportion, if not given.
    pub spacing: Option<Millimetres>,
    /// The most points that dividing may reach.
    pub cap: usize,
}

/// How finely sky and lamps are sampled.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Fineness {
    /// Directions over the upper hemisphere.
    pub ambient_directions: usize,
    /// Directions round the ring.
    pub ring_directions: usize,
    /// Directions of a soft zenithal light, points on a lamp with a radius.
    pub soft_directions: usize,
}

/// From light to value.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct ValueChoice {
    /// The L* of the darkest paint: where no light falls.
    pub darkest: Lightness,
    /// The L* of the lightest paint: the brightest planned spot.
    pub lightest: Lightness,
    /// A lamp's light E counts as E/√(1 + E²), so that a spot close to it
    /// comes near to full light and never beyond; `false` is pure physics, and
    /// then the spot nearest to a lamp leaves the rest in the dark.
    pub lamp_shoulder: bool,
}

/// How fine a brush can follow. Bands and zones are evened out to this;
/// exposure and values stay as the light falls.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct BrushChoice {
    /// The radius of the brush tip in mm; 0.3 mm on a 32 mm figure, in
    /// proportion, if not given. 0 evens out nothing.
    pub radius: Option<Millimetres>,
    /// Areas of bands and zones smaller than this many mm² go to their
    /// neighbours; two touches of the tip, 2πr², if not given. 0 keeps all.
    pub smallest_mm2: Option<f64>,
    /// Cast shadows narrower than this are not painted: bands and zones are
    /// cut as if they were lit. The tip's width, twice its radius, if not
    /// given; 0 keeps all.
    #[serde(default)]
    pub thinnest_shadow: Option<Millimetres>,
    /// Where nothing is evened out, whatever the tip.
    #[serde(default)]
    pub keep: Vec<KeptSpot>,
}

/// A spot whose finest light and dark is to be painted: hair, chain, the tooth
/// of the print. Bands and zones follow the light there as it falls, thin
/// shadows and small areas included.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct KeptSpot {
    /// Its middle in scene millimetres.
    pub at: [f64; 3],
    /// Where it ends, straight through space.
    #[schemars(with = "f64")]
    pub radius: Millimetres,
}

/// Where bands are cut.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum BandChoice {
    /// Shares of the figure's painted surface, darkest first; 3 to 6 positive
    /// numbers, taken relative to their sum.
    Shares(Vec<f64>),
    /// The L* at each border, rising: 2 to 5 numbers between 0 and 100.
    Levels(Vec<f64>),
}

impl Default for Scheme {
    fn default() -> Self {
        Self {
            title: String::new(),
            surface: SurfaceChoice { refine: true, spacing: None, cap: 4_000_000 },
            lights: default_rig(),
            fineness: Fineness { ambient_directions: 256, ring_directions: 48, soft_directions: 64 },
            bounce: BounceChoice::default(),
            value: ValueChoice { darkest: Lightness(15.0), lightest: Lightness(95.0), lamp_shoulder: true },
            emphasis: Emphasis::default(),
            // Common practice: most of a figure in the middle, highlights small.
            bands: BandChoice::Shares(vec![20.0, 25.0, 25.0, 20.0, 10.0]),
            brush: BrushChoice::default(),
            hidden: PartChoice::default(),
            left_out: PartChoice::default(),
            regions: RegionChoice::default(),
            colours: ColourChoice::default(),
            primer: PrimerChoice::default(),
            print: PrintChoice::default(),
        }
    }
}

impl Scheme {
    /// Adds a lamp with the next free id, the weight 0.8 and no clear radius.
    ///
    /// # Errors
    /// [`SchemeError`] when the name is taken or is no token.
    pub fn add_lamp(
        &mut self,
        name: &str,
        at: [f64; 3],
        reference: Option<Millimetres>,
        radius: Millimetres,
    ) -> Result<LightId, SchemeError> {
        let id = LightId(self.lights.iter().map(|l| l.id.0 + 1).max().unwrap_or(0));
        let choice = LightChoice::Lamp {
            at,
            reference,
            radius,
            clear: Millimetres(0.0),
            falloff: FalloffChoice::default(),
        };
        let mut with = self.clone();
        with.lights.push(LightEntry::new(id, name, 0.8, choice));
        with.check()?;
        *self = with;
        Ok(id)
    }

    /// Whether all numbers lie in their ranges and names are unique tokens.
    ///
    /// # Errors
    /// [`SchemeError`] names the first thing that is wrong and its range.
    pub fn check(&self) -> Result<(), SchemeError> {
        self.check_lights().under("light")?;
        self.value.check().under("values")?;
        self.surface.check().under("surface")?;
        self.brush.check().under("brush")?;
        self.bounce.check().under("bounce")?;
        self.emphasis.check().under("emphasis")?;
        self.hidden.check("out of sight").under("hidden")?;
        self.left_out.check("left out").under("left_out")?;
        self.regions.check().under("regions")?;
        self.colours.check()?;
        self.fineness.check().under("fineness")?;
        self.print.check().under("print")?;
        self.bands.check().under("bands")
    }

    fn check_lights(&self) -> Result<(), SchemeError> {
        for (i, light) in self.lights.iter().enumerate() {
            light.check(&self.lights[..i]).under(i)?;
        }
        if self.lights.iter().all(|l| l.weight == 0.0) {
            return Err(SchemeError::new("no light counts: give at least one a weight above 0"));
        }
        Ok(())
    }
}

impl ValueChoice {
    fn check(&self) -> Result<(), SchemeError> {
        let Self { darkest, lightest, .. } = *self;
        in_range("the darkest value", darkest.0, 0.0, 100.0).under("darkest")?;
        in_range("the lightest value", lightest.0, 0.0, 100.0).under("lightest")?;
        if darkest.0 + 10.0 > lightest.0 {
            let usual = Scheme::default().value;
            let key = if darkest == usual.darkest { "lightest" } else { "darkest" };
            return Err(SchemeError::new(format!(
                "from darkest {darkest} to lightest {lightest} is less than 10 L*, too little to paint with: \
                 move them apart"
            )))
            .under(key);
        }
        Ok(())
    }
}

impl SurfaceChoice {
    fn check(&self) -> Result<(), SchemeError> {
        match self.spacing {
            Some(spacing) => in_range("the spacing in mm", spacing.0, 0.001, 1000.0).under("spacing"),
            None => Ok(()),
        }
    }
}

impl Fineness {
    fn check(&self) -> Result<(), SchemeError> {
        for (name, key, n) in [
            ("ambient directions", "ambient_directions", self.ambient_directions),
            ("ring directions", "ring_directions", self.ring_directions),
            ("soft directions", "soft_directions", self.soft_directions),
        ] {
            in_range(&format!("the number of {name}"), n as f64, 1.0, 65536.0).under(key)?;
        }
        Ok(())
    }
}

impl BrushChoice {
    fn check(&self) -> Result<(), SchemeError> {
        if let Some(radius) = self.radius {
            in_range("the radius of the brush tip in mm", radius.0, 0.0, 1000.0).under("radius")?;
        }
        if let Some(area) = self.smallest_mm2 {
            in_range("the smallest area in mm²", area, 0.0, 1e6).under("smallest_mm2")?;
        }
        if let Some(width) = self.thinnest_shadow {
            in_range("the thinnest shadow in mm", width.0, 0.0, 1000.0).under("thinnest_shadow")?;
        }
        each(&self.keep, KeptSpot::check).under("keep")
    }
}

impl KeptSpot {
    fn check(&self) -> Result<(), SchemeError> {
        each(&self.at, |x| in_range("the place of a kept spot in mm", *x, -1e6, 1e6)).under("at")?;
        in_range("the radius of a kept spot in mm", self.radius.0, 1e-3, 1e6).under("radius")
    }
}

impl BandChoice {
    /// How many bands this makes.
    #[must_use]
    pub fn count(&self) -> usize {
        match self {
            Self::Shares(shares) => shares.len(),
            Self::Levels(levels) => levels.len() + 1,
        }
    }

    fn check(&self) -> Result<(), SchemeError> {
        let key = match self {
            Self::Shares(_) => "shares",
            Self::Levels(_) => "levels",
        };
        if !(3..=6).contains(&self.count()) {
            let why = match self {
                Self::Shares(shares) => format!("{} shares: give 3 to 6, one for each band", shares.len()),
                Self::Levels(levels) => {
                    format!(
                        "{} borders between bands: give 2 to 5, so that there are 3 to 6 bands",
                        levels.len()
                    )
                }
            };
            return Err(SchemeError::new(why)).under(key);
        }
        match self {
            Self::Shares(shares) => each(shares, |s| in_range("a band's share", *s, 0.001, 1e6)).under(key),
            Self::Levels(levels) => {
                each(levels, |l| in_range("a band's border in L*", *l, 0.0, 100.0)).under(key)?;
                match levels.windows(2).position(|w| w[0] >= w[1]) {
                    Some(i) => {
                        Err(SchemeError::new("the borders of bands in L* must rise: put the lowest first"))
                            .under(i + 1)
                            .under(key)
                    }
                    None => Ok(()),
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::emphasis::{FocalPoint, Spread};

    #[test]
    fn the_default_makes_sense() {
        assert_eq!(Scheme::default().check(), Ok(()));
    }

    #[test]
    fn a_lamp_needs_a_name_of_its_own_and_numbers() {
        let mut scheme = Scheme::default();
        assert_eq!(scheme.add_lamp("lamp", [0.0; 3], None, Millimetres(0.0)), Ok(LightId(3)));
        for (name, x, radius) in [
            ("lamp", 0.0, 0.0),
            ("ring", 0.0, 0.0),
            ("two words", 0.0, 0.0),
            ("", 0.0, 0.0),
            ("b", f64::NAN, 0.0),
            ("b", f64::INFINITY, 0.0),
            ("b", 0.0, -1.0),
        ] {
            let before = scheme.clone();
            assert!(scheme.add_lamp(name, [x, 0.0, 0.0], None, Millimetres(radius)).is_err(), "{name}");
            assert_eq!(scheme, before);
        }
    }

    #[test]
    fn brush_and_clear_radius_must_be_lengths() {
        for mm in [-1.0, f64::NAN, 1e9] {
            let brush = BrushChoice { radius: Some(Millimetres(mm)), ..BrushChoice::default() };
            assert!(Scheme { brush, ..Scheme::default() }.check().is_err(), "{mm}");
            let brush = BrushChoice { smallest_mm2: Some(mm), ..BrushChoice::default() };
            assert!(Scheme { brush, ..Scheme::default() }.check().is_err(), "{mm}");
            let mut scheme = Scheme::default();
            scheme.add_lamp("lamp", [0.0; 3], None, Millimetres(0.0)).unwrap();
            if let LightChoice::Lamp { clear, .. } = &mut scheme.lights[3].choice {
                *clear = Millimetres(mm);
            }
            assert!(scheme.check().is_err(), "{mm}");
        }
    }

    #[test]
    fn what_the_painter_bends_has_its_range() {
        let wrong = |bend: &dyn Fn(&mut Scheme)| {
            let mut scheme = Scheme::default();
            scheme.add_lamp("lamp", [0.0; 3], None, Millimetres(0.0)).unwrap();
            bend(&mut scheme);
            scheme.check().is_err()
        };
        let lamp = |scheme: &mut Scheme, to: FalloffChoice| {
            if let LightChoice::Lamp { falloff, .. } = &mut scheme.lights[3].choice {
                *falloff = to;
            }
        };
        let physical = FalloffChoice::default();
        for exponent in [-0.1, 7.0, f64::NAN, f64::INFINITY] {
            assert!(wrong(&|s| lamp(s, FalloffChoice { exponent, ..physical })), "{exponent}");
        }
        for mm in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert!(wrong(&|s| lamp(s, FalloffChoice { reach: Some(Millimetres(mm)), ..physical })), "{mm}");
            let face = FocalPoint {
                at: [0.0; 3],
                radius: Millimetres(mm),
                strength: 0.5,
                spread: Spread::default(),
            };
            assert!(wrong(&|s| s.emphasis.focus.push(face)), "{mm}");
        }
        for softness in [0.0, 1.1, f64::NAN] {
            assert!(wrong(&|s| lamp(s, FalloffChoice { softness, ..physical })), "{softness}");
        }
        for strength in [-1.1, 1.1, f64::NAN] {
            let face =
                FocalPoint { at: [0.0; 3], radius: Millimetres(3.0), strength, spread: Spread::Surface };
            assert!(wrong(&|s| s.emphasis.focus.push(face)), "{strength}");
            assert!(wrong(&|s| s.emphasis.figure = strength), "{strength}");
            assert!(wrong(&|s| s.emphasis.base = strength), "{strength}");
            assert!(wrong(&|s| s.bounce.albedo = strength), "{strength}");
            assert!(wrong(&|s| s.emphasis.plate_gradient = strength), "{strength}");
            assert!(wrong(&|s| s.emphasis.gap = strength), "{strength}");
        }
        for mm in [-1.0, f64::NAN, 1e9] {
            assert!(wrong(&|s| s.brush.thinnest_shadow = Some(Millimetres(mm))), "{mm}");
            let hair = KeptSpot { at: [0.0; 3], radius: Millimetres(mm) };
            assert!(wrong(&|s| s.brush.keep.push(hair)), "{mm}");
        }
        assert!(!wrong(&|_| ()));
        assert!(!wrong(&|s| lamp(s, FalloffChoice { reach: Some(Millimetres(20.0)), ..physical })));
    }

    #[test]
    fn bands_must_be_three_to_six_and_rise() {
        let with = |bands| Scheme { bands, ..Scheme::default() }.check().is_ok();
        assert!(with(BandChoice::Shares(vec![1.0; 3])) && with(BandChoice::Levels(vec![20.0, 40.0, 60.0])));
        assert!(
            !with(BandChoice::Shares(vec![1.0; 7])) && !with(BandChoice::Shares(vec![1.0, f64::NAN, 1.0]))
        );
        assert!(!with(BandChoice::Levels(vec![40.0, 20.0])) && !with(BandChoice::Levels(vec![40.0, 140.0])));
    }
}
