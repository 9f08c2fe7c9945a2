//! The sheets of zones: which light is the strongest where, how zones meet, and what is left out of them.

use crate::arrange::{Field, largest, on_field};
use crate::compose::{ABOVE, BACK, Composer, FRONT, LEFT, RIGHT, named, srgb};
use crate::sheets::{ViewPicture, ZoneRow};
use grisaille_base::Stop;
use grisaille_colour::{LinearRgb, printed_grey};
use grisaille_light::Kind;
use grisaille_picture::{Hit, Look, Mark, Pattern, zone_style};
use grisaille_plan::{NO_ZONE, Plan};
use grisaille_scheme::{Ink, SheetKind};
use grisaille_words::say;

/// Height that each light takes in the table of zones.
const ZONE_ROW: f64 = 13.0;

/// The label of what is in no light's zone because it is true metal: beyond all zones.
pub(crate) const METAL: u16 = 256;

impl Composer<'_> {
    /// How zones meet, and what no light's colour is painted on.
    pub(crate) fn zones_note(&self) -> String {
        let words = self.words;
        let mut told = Vec::new();
        if let Some(feather) = self.plan.brush.feather_mm() {
            let [low, high] = feather.map(|mm| format!("{mm:.1}"));
            told.push(say!(words, "zones-feather", low = low, high = high));
        }
        if self.scheme.emphasis.gap > 0.0 {
            told.push(say!(words, "zones-gap"));
        }
        let metal = self.coloured.map_or_else(Vec::new, |coloured| coloured.colouring.true_metal());
        if !metal.is_empty() {
            told.push(say!(words, "zones-metal", regions = words.list(&metal)));
        }
        told.join(" ")
    }

    pub(crate) fn zone_pictures(&mut self) -> Result<Vec<ViewPicture>, Stop> {
        let mut pictures = Vec::new();
        if !self.scheme.print.prints(SheetKind::Zones) {
            return Ok(pictures);
        }
        let rows = self.plan.lights.len() as f64 * ZONE_ROW;
        // Between them these two show nearly every spot.
        let paper = largest(&self.extents, &[FRONT, BACK], self.field_under(rows));
        // The next sheet shows what these leave: a hand behind the body, the top of a helmet.
        let others = [LEFT, RIGHT, ABOVE];
        let sheet = Field { width: self.paper.wide(), height: self.paper.tall() };
        let beside = on_field(&self.extents, &others, 2, sheet).scale.min(paper.scale);
        let views = [FRONT, BACK].map(|view| (view, paper.scale)).into_iter();
        for (view, scale) in views.chain(others.map(|view| (view, beside))) {
            let picture = self.picture(view, scale, Look::Zones)?;
            pictures.push(named(self.words, view, "", picture));
            self.scenes.clear();
        }
        Ok(pictures)
    }

    /// The zone that a spot is painted in; [`METAL`] on true metal, which shows the light by itself.
    pub(crate) fn zone_painted(&self, hit: &Hit) -> u16 {
        let face = hit.face.index();
        let metal = self.coloured.is_some_and(|coloured| coloured.colouring.is_true_metal(face));
        if metal { METAL } else { u16::from(self.plan.zone_at(face, hit.barycentric)) }
    }

    /// The table of zones.
    pub(crate) fn zones(&self) -> Vec<ZoneRow> {
        let (plan, ink) = (self.plan, self.ink());
        let row = |z: &grisaille_plan::Zone| ZoneRow {
            letter: z.number.to_string(),
            light: z.name.clone(),
            meaning: plan
                .lights
                .iter()
                .find(|l| l.id == z.light)
                .map_or_else(String::new, |l| self.coloured_source(l)),
            colour: srgb(zone_mark(plan, ink, u16::from(z.number)).colour),
            pattern: zone_mark(plan, ink, u16::from(z.number)).pattern,
            area: z.area_mm2,
            share: z.share,
        };
        let mut rows: Vec<ZoneRow> = plan.zones.rows.iter().map(row).collect();
        // What no light reaches belongs to the whole too.
        let share = 1.0 - rows.iter().map(|z| z.share).sum::<f64>();
        let lit: f64 = rows.iter().map(|z| z.area).sum();
        if (0.005..1.0).contains(&share) {
            let mark = zone_mark(plan, ink, u16::from(NO_ZONE));
            rows.push(ZoneRow {
                letter: String::new(),
                light: say!(self.words, "zone-none"),
                meaning: say!(self.words, "zone-none-meaning"),
                colour: srgb(mark.colour),
                pattern: mark.pattern,
                area: lit / (1.0 - share) * share,
                share,
            });
        }
        rows
    }
}

/// How a zone is filled: in black alone by its place on a ladder of greys, lamps lightest, then the others in their
/// order, and its pattern.
pub(crate) fn zone_mark(plan: &Plan, ink: Ink, number: u16) -> Mark {
    let Ok(number) = u8::try_from(number) else {
        return Mark { colour: LinearRgb::WHITE, pattern: Pattern::Crossed };
    };
    let style = zone_style(plan, number);
    let is_lamp =
        |place: &usize| plan.lights.get(*place).is_some_and(|l| matches!(l.kind, Kind::Point { .. }));
    let (lamps, others): (Vec<usize>, Vec<usize>) = (0..plan.lights.len()).partition(is_lamp);
    let rank = lamps.into_iter().chain(others).position(|place| place + 1 == usize::from(number));
    let colour = match ink {
        Ink::Colour => style.colour,
        Ink::Grey => {
            let count = plan.lights.len() + 1;
            let place = rank.map_or(0, |rank| count.saturating_sub(rank + 1));
            LinearRgb::from_srgb8([printed_grey(place, count); 3])
        }
    };
    let pattern = match ink {
        // Hues and numbers tell them apart.
        Ink::Colour => Pattern::Plain,
        // Neighbours on the ladder differ in their marks at a glance.
        Ink::Grey => rank.map_or(Pattern::Plain, |rank| GREY_PATTERNS[rank % GREY_PATTERNS.len()]),
    };
    Mark { colour, pattern }
}

/// The patterns of zones in black alone, the lightest grey first: marks on a dark grey would make it light again.
/// Crossed marks are true metal's.
const GREY_PATTERNS: [Pattern; 6] =
    [Pattern::Plain, Pattern::Dots, Pattern::Level, Pattern::Plain, Pattern::Upright, Pattern::Rising];
