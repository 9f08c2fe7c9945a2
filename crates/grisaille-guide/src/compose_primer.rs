//! From a primer plan to its sheets.

use crate::arrange::{Field, MARGIN, on_field};
use crate::compose::{BACK, Composer, FINENESS, FRONT, LEVELS, THREE_QUARTER, extent, srgb};
use crate::paper::GAP;
use crate::primer_sheet::{PrimerColumn, PrimerSheet, Sketch, ToneSet};
use crate::sheets::{Picture, Swatch};
use grisaille_base::{Millimetres, Stop};
use grisaille_colour::LinearRgb;
use grisaille_picture::{Look, Scene, View};
use grisaille_plan::{
    DryBrushPass, Load, Primer, Remaining, SPRAY_CAUTION, SprayPass, Stroke, Tone, set_words, spray_in_words,
    tone_colour, tone_words,
};
use grisaille_scheme::{Ink, PrimerTones};

/// Half the length of an arrow round a sketch, mm.
const ARM: f64 = 10.0;
/// How far its head stays from the middle of the figure.
const NEAR: f64 = 3.0;

impl Composer<'_> {
    /// The sheets about primer; none without a primer plan.
    pub(crate) fn primer_sheets(&mut self) -> Result<Vec<PrimerSheet>, Stop> {
        let Some(primer) = self.plan.primer.as_ref() else { return Ok(Vec::new()) };
        let sheets = vec![self.spray_sheet(primer)?, self.once_sheet(primer)?, self.dry_brush_sheet(primer)?];
        self.scenes.clear();
        let most = self.paper.primer_columns();
        Ok(sheets.into_iter().flat_map(|sheet| parted(sheet, most)).collect())
    }

    fn spray_sheet(&mut self, primer: &Primer) -> Result<PrimerSheet, Stop> {
        let passes = &primer.advised().passes;
        let scale = self.column_scale(passes.len() + 1, &[THREE_QUARTER, BACK]);
        let mut columns = Vec::new();
        for (i, pass) in passes.iter().enumerate() {
            columns.push(PrimerColumn {
                number: (i + 1).to_string(),
                title: in_full(tone_words(primer.set, pass.tone)),
                swatch: Some(value(primer, pass.tone)),
                sketches: self.spray_sketches(pass)?,
                words: vec![
                    format!("{}.", in_full(&spray_in_words(pass.axis))),
                    format!("{}.", in_full(pass.strength.words())),
                    degrees(pass),
                ],
                pictures: self.both_sides(scale, Look::Sprayed(i + 1))?,
            });
        }
        columns.push(self.compared_with("Planned", "The values to come, to compare.", scale, Look::Tones)?);
        let usual = primer.all_round.as_ref();
        let closer = usual.is_some_and(|r| r.rms < primer.advised().remaining.rms);
        let mut notes = left_over(&primer.advised().remaining);
        let mut others = Vec::new();
        if primer.three_advised {
            others.push(format!("the best two passes {:.0} L*", primer.two.remaining.rms));
        }
        if let Some(usual) = usual {
            others.push(format!("the coats of the stage cards {:.0} L*", usual.rms));
        }
        if !others.is_empty() {
            notes.push(format!(
                "To compare, what other ways leave: {}.{}",
                others.join(", "),
                if closer { " Here the stage cards come closer: follow them." } else { "" }
            ));
        }
        let count = if passes.len() > 2 { "three" } else { "two" };
        Ok(PrimerSheet {
            title: "Where do I spray from?".into(),
            lead: format!(
                "First {} all over, as on the stage cards. Then these {count} passes, which come closest to the \
                 planned values, in place of the cards' mid and light coats. What a pass covers is meant where it \
                 falls straight. Each picture is taken after its pass.",
                tone_words(primer.set, Tone::Dark)
            ),
            columns,
            notes,
            sets: Vec::new(),
            cautions: vec![SPRAY_CAUTION.into()],
        })
    }

    fn once_sheet(&mut self, primer: &Primer) -> Result<PrimerSheet, Stop> {
        let pass = primer.once_pass();
        // Each in its own half, so that neither takes room from the other.
        let field = Field { width: self.paper.primer().width.0, height: self.paper.primer_row() };
        let alone = |view| on_field(&self.extents, &[view], 1, field).scale;
        let scale = alone(FRONT).min(alone(THREE_QUARTER));
        let columns = vec![
            PrimerColumn {
                title: format!(
                    "{} over {}",
                    in_full(tone_words(primer.set, pass.tone)),
                    tone_words(primer.set, Tone::Dark)
                ),
                sketches: self.spray_sketches(&pass)?,
                words: vec![
                    format!("{}.", in_full(&spray_in_words(pass.axis))),
                    format!("{}.", in_full(pass.strength.words())),
                    degrees(&pass),
                ],
                pictures: vec![self.picture(FRONT, scale, Look::SprayedOnce)?],
                ..PrimerColumn::default()
            },
            PrimerColumn {
                title: "Which tones?".into(),
                words: vec![format!(
                    "One set for all coats: L* {:.0}, {:.0} and {:.0}, whatever the colour. Warm suits skin and \
                     leather, cold steel and water; a coloured shadow shines through thin paint.",
                    primer.tones.dark.0, primer.tones.mid.0, primer.tones.light.0
                )],
                pictures: vec![self.picture(THREE_QUARTER, scale, Look::SprayedOnce)?],
                ..PrimerColumn::default()
            },
        ];
        // As many even tones would have the same entropy.
        let tones = |bits: f64| bits.exp2();
        let sets = PrimerTones::ALL.map(|set| ToneSet {
            name: in_full(set_words(set)),
            tones: [Tone::Dark, Tone::Mid, Tone::Light]
                .map(|tone| Swatch { words: tone_words(set, tone).into(), ..swatch(primer, set, tone) })
                .into(),
        });
        Ok(PrimerSheet {
            title: "If I spray only once, from where?".into(),
            lead: format!(
                "{}: seen from the front this reveals the most form. It spreads the figure over about {:.0} tones; \
                 straight down gives {:.0}.",
                in_full(&spray_in_words(pass.axis)),
                tones(primer.once.bits),
                tones(primer.once.straight_down_bits)
            ),
            columns,
            notes: Vec::new(),
            sets: sets.into(),
            cautions: vec![SPRAY_CAUTION.into()],
        })
    }

    fn dry_brush_sheet(&mut self, primer: &Primer) -> Result<PrimerSheet, Stop> {
        let passes = &primer.dry_brush.passes;
        let scale = self.column_scale(passes.len() + 1, &[THREE_QUARTER, BACK]);
        let mut columns = Vec::new();
        for (i, pass) in passes.iter().enumerate() {
            columns.push(PrimerColumn {
                number: (i + 1).to_string(),
                title: in_full(tone_words(primer.set, pass.tone)),
                swatch: Some(value(primer, pass.tone)),
                sketches: vec![self.stroke_sketch(pass)?],
                words: vec![strokes(pass.stroke), format!("{}.", in_full(pass.load.words()))],
                pictures: self.both_sides(scale, Look::DryBrushed(i + 1))?,
            });
        }
        columns.push(self.compared_with(
            "Sprayed instead",
            "What the spray passes give, to compare.",
            scale,
            Look::Sprayed(usize::MAX),
        )?);
        let mut notes = left_over(&primer.dry_brush.remaining);
        notes.push(format!(
            "A dry brush catches on edges that meet the stroke and skips what lies behind them; recesses narrower \
             than a tuft stay dark. A flat plate takes little: {:.0} % of it nearly dry, {:.0} % as an overbrush.",
            100.0 * Load::Light.on_a_plate(),
            100.0 * Load::Heavy.on_a_plate()
        ));
        Ok(PrimerSheet {
            title: "No spray: where does a dry brush catch?".into(),
            lead: format!(
                "Paint {} all over with a brush. When it is dry, draw a soft, nearly dry brush over the figure in \
                 these rounds, which come closest to the planned values.",
                tone_words(primer.set, Tone::Dark)
            ),
            columns,
            notes,
            ..PrimerSheet::default()
        })
    }

    /// A column in which nothing is to be done.
    fn compared_with(
        &mut self,
        title: &str,
        words: &str,
        scale: f64,
        look: Look,
    ) -> Result<PrimerColumn, Stop> {
        Ok(PrimerColumn {
            title: title.into(),
            words: vec![words.into()],
            pictures: self.both_sides(scale, look)?,
            ..PrimerColumn::default()
        })
    }

    /// The two views of each column.
    fn both_sides(&mut self, scale: f64, look: Look) -> Result<Vec<Picture>, Stop> {
        [THREE_QUARTER, BACK].into_iter().map(|view| self.picture(view, scale, look)).collect()
    }

    /// The enlargement at which these views stand below each other in each of
    /// so many columns.
    fn column_scale(&self, columns: usize, views: &[usize]) -> f64 {
        let columns = columns.min(self.paper.primer_columns());
        let width = (self.paper.wide() - GAP * (columns - 1) as f64) / columns as f64;
        on_field(&self.extents, views, 1, Field { width, height: self.paper.primer_rows() }).scale
    }

    /// The direction of a pass, from above and from the side.
    fn spray_sketches(&self, pass: &SprayPass) -> Result<Vec<Sketch>, Stop> {
        self.direction_sketches(pass.axis.tilt, pass.axis.azimuth)
    }

    /// Where something comes from, from above and from the side: so many degrees from straight down, and round from
    /// the front toward the viewer's right.
    pub(crate) fn direction_sketches(&self, tilt: f64, azimuth: f64) -> Result<Vec<Sketch>, Stop> {
        let (ts, tc) = tilt.to_radians().sin_cos();
        let (s, c) = azimuth.to_radians().sin_cos();
        // Seen from above the front is at the foot: azimuth 0 comes from below.
        let across = if ts > 0.04 { [s, c] } else { [0.0, 0.0] };
        let above = self.sketch(&View::above(), across, "from above, front below")?;
        // Seen across it, so that it comes in at the right.
        let side = View::from_angles(azimuth - 90.0, 0.0);
        Ok(vec![above, self.sketch(&side, [ts, -tc], "from the side")?])
    }

    fn stroke_sketch(&self, pass: &DryBrushPass) -> Result<Sketch, Stop> {
        // The arrow begins where the stroke does.
        let from = match pass.stroke {
            Stroke::Down | Stroke::OverTops => [0.0, -1.0],
            Stroke::Up => [0.0, 1.0],
            Stroke::Rightward => [-1.0, 0.0],
            Stroke::Leftward => [1.0, 0.0],
        };
        let (view, words) = match pass.stroke {
            Stroke::OverTops => (View::above(), "from above, to and fro"),
            _ => (View::front(), "the stroke"),
        };
        let mut sketch = self.sketch(&view, from, words)?;
        // It runs across the figure.
        sketch.to = sketch.from.map(|x| Millimetres(-x.0));
        Ok(sketch)
    }

    /// A small picture with an arrow that comes in from a direction, right and
    /// down on paper, of length 1 or 0.
    fn sketch(&self, view: &View, from: [f64; 2], caption: &str) -> Result<Sketch, Stop> {
        let [width, height] = extent(self.plan, view);
        let room =
            [self.paper.sketch().width.0, self.paper.sketch().height.0].map(|mm| mm - 2.0 * MARGIN - 0.2);
        let scale = (room[0] / width).min(room[1] / height);
        let frame = self.frame(view, scale, FINENESS);
        let scene = Scene::new(self.plan, &frame, FINENESS, self.watch)?;
        let mut image = scene.shade(Look::Tones, self.watch)?.image;
        // Pale, so that the arrow speaks.
        for y in 0..i64::from(image.height()) {
            for x in 0..i64::from(image.width()) {
                image.mix_stored(x, y, LinearRgb::WHITE, 0.5);
            }
        }
        if self.ink() == Ink::Grey {
            image.to_grey();
        }
        image.to_levels(LEVELS);
        self.span.advance(1);
        let millimetres = |pixels: u32| Millimetres(f64::from(pixels) / FINENESS);
        let at = |reach: f64| from.map(|x| Millimetres(x * reach));
        Ok(Sketch {
            picture: Picture {
                width: millimetres(image.width()),
                height: millimetres(image.height()),
                file: image.png(FINENESS, self.watch)?,
                scale: 0,
                alt: format!("A small picture of the figure, {caption}. An arrow shows the direction."),
                lines: Vec::new(),
                labels: Vec::new(),
            },
            from: at(ARM),
            to: at(NEAR),
            caption: caption.into(),
        })
    }
}

/// A sheet over as many as its columns need, with so many at most on each; what is left comes on the last one,
/// cautions stand on each.
fn parted(sheet: PrimerSheet, most: usize) -> Vec<PrimerSheet> {
    let count = sheet.columns.len().div_ceil(most).max(1);
    let columns = sheet.columns.chunks(most).map(<[_]>::to_vec);
    let sheets = columns.enumerate().map(|(k, columns)| PrimerSheet {
        lead: if k == 0 { sheet.lead.clone() } else { "Continued.".into() },
        columns,
        notes: if k + 1 == count { sheet.notes.clone() } else { Vec::new() },
        sets: if k + 1 == count { sheet.sets.clone() } else { Vec::new() },
        ..sheet.clone()
    });
    if sheet.columns.is_empty() { vec![sheet] } else { sheets.collect() }
}

fn strokes(stroke: Stroke) -> String {
    match stroke {
        Stroke::OverTops => format!("Strokes {}.", stroke.words()),
        _ => format!("Strokes {}, round every side.", stroke.words()),
    }
}

fn swatch(primer: &Primer, set: PrimerTones, tone: Tone) -> Swatch {
    Swatch {
        letter: String::new(),
        pattern: grisaille_picture::Pattern::Plain,
        colour: srgb(tone_colour(set, &primer.tones, tone)),
        words: format!("{}, L* {:.0}", tone_words(set, tone), primer.tones.of(tone).0),
    }
}

/// A tone of the chosen set with its value alone.
fn value(primer: &Primer, tone: Tone) -> Swatch {
    Swatch { words: format!("L* {:.0}", primer.tones.of(tone).0), ..swatch(primer, primer.set, tone) }
}

fn degrees(pass: &SprayPass) -> String {
    // Half degrees of a hand are no news.
    let round = pass.axis.azimuth.rem_euclid(360.0).floor();
    let side = match round {
        _ if pass.axis.tilt < 1.0 => return "Tilt 0°.".into(),
        r if r < 1.0 => "azimuth 0°".into(),
        r if r < 180.0 => format!("azimuth {r:.0}° right"),
        r if r < 181.0 => "azimuth 180°".into(),
        r => format!("azimuth {:.0}° left", 360.0 - r),
    };
    format!("Tilt {:.0}°, {side}.", pass.axis.tilt.floor())
}

/// What a look leaves to the brush.
fn left_over(left: &Remaining) -> Vec<String> {
    let mut notes = vec![format!(
        "Afterwards {:.0} % of the figure is within one step of the value scale; tones are off by {:.0} L* (r.m.s.).",
        100.0 * left.within_step,
        left.rms
    )];
    if let Some(worst) = &left.worst {
        let (by, what) = (worst.lighter.abs(), if worst.lighter > 0.0 { "light" } else { "dark" });
        notes.push(if by < 1.0 {
            "No part of it is off as a whole.".into()
        } else {
            format!(
                "It is farthest off {}: {by:.0} L* too {what} on average. Begin there with the brush.",
                worst.place
            )
        });
    }
    notes
}

/// Words as the beginning of a sentence.
fn in_full(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
