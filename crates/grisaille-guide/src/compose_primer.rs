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
    DryBrushPass, Load, Primer, Remaining, SprayPass, Stroke, Tone, set_words, spray_caution, spray_in_words,
    tone_colour, tone_words,
};
use grisaille_scheme::{Ink, PrimerTones, Route};
use grisaille_words::{Words, say};

/// Half the length of an arrow round a sketch, mm.
const ARM: f64 = 10.0;
/// How far its head stays from the middle of the figure.
const NEAR: f64 = 3.0;

impl Composer<'_> {
    /// The sheets about primer; none without a primer plan.
    pub(crate) fn primer_sheets(&mut self) -> Result<Vec<PrimerSheet>, Stop> {
        let Some(primer) = self.plan.primer.as_ref() else { return Ok(Vec::new()) };
        let mut sheets = Vec::new();
        if !self.by_brush_alone() {
            sheets.extend([self.spray_sheet(primer)?, self.once_sheet(primer)?]);
        }
        sheets.push(self.dry_brush_sheet(primer)?);
        self.scenes.clear();
        let most = self.paper.primer_columns();
        Ok(sheets.into_iter().flat_map(|sheet| parted(sheet, most, self.words)).collect())
    }

    /// Whether the stages go without spray: then nothing about it is printed.
    fn by_brush_alone(&self) -> bool {
        self.coloured.is_some() && self.scheme.colours.route == Route::BrushOnly
    }

    fn spray_sheet(&mut self, primer: &Primer) -> Result<PrimerSheet, Stop> {
        let words = self.words;
        let passes = &primer.advised().passes;
        let scale = self.column_scale(passes.len() + 1, &[THREE_QUARTER, BACK]);
        let mut columns = Vec::new();
        for (i, pass) in passes.iter().enumerate() {
            columns.push(PrimerColumn {
                number: (i + 1).to_string(),
                title: in_full(&tone(primer, pass.tone, words)),
                swatch: Some(value(primer, pass.tone)),
                sketches: self.spray_sketches(pass)?,
                words: vec![
                    format!("{}.", in_full(&spray_in_words(pass.axis, words))),
                    format!("{}.", in_full(&words.term("strength", pass.strength.words()))),
                ],
                pictures: self.both_sides(scale, Look::Sprayed(i + 1))?,
            });
        }
        columns.push(self.compared_with("primer-planned", scale, Look::Tones)?);
        let usual = primer.all_round.as_ref();
        let closer = usual.is_some_and(|r| r.rms < primer.advised().remaining.rms);
        let mut notes = left_over(&primer.advised().remaining, words);
        let mut others = Vec::new();
        if primer.three_advised {
            others.push(say!(words, "primer-best-two", rms = whole(primer.two.remaining.rms)));
        }
        if let Some(usual) = usual {
            others.push(say!(words, "primer-usual", rms = whole(usual.rms)));
        }
        if !others.is_empty() {
            let key = if closer { "primer-others-closer" } else { "primer-others" };
            notes.push(say!(words, key, others = words.row(&others)));
        }
        let lead = if passes.len() > 2 { "primer-lead-three" } else { "primer-lead-two" };
        Ok(PrimerSheet {
            title: say!(words, "primer-title"),
            lead: say!(words, lead, dark = tone(primer, Tone::Dark, words)),
            columns,
            notes,
            sets: Vec::new(),
            cautions: vec![spray_caution(words)],
        })
    }

    fn once_sheet(&mut self, primer: &Primer) -> Result<PrimerSheet, Stop> {
        let words = self.words;
        let pass = primer.once_pass();
        // Each in its own half, so that neither takes room from the other.
        let field = Field { width: self.paper.primer().width.0, height: self.paper.primer_row() };
        let alone = |view| on_field(&self.extents, &[view], 1, field).scale;
        let scale = alone(FRONT).min(alone(THREE_QUARTER));
        let columns = vec![
            PrimerColumn {
                title: say!(
                    words,
                    "primer-over",
                    light = in_full(&tone(primer, pass.tone, words)),
                    dark = tone(primer, Tone::Dark, words),
                ),
                sketches: self.spray_sketches(&pass)?,
                words: vec![
                    format!("{}.", in_full(&spray_in_words(pass.axis, words))),
                    format!("{}.", in_full(&words.term("strength", pass.strength.words()))),
                ],
                pictures: vec![self.picture(FRONT, scale, Look::SprayedOnce)?],
                ..PrimerColumn::default()
            },
            PrimerColumn {
                title: say!(words, "primer-tones"),
                words: vec![say!(
                    words,
                    "primer-tones-text",
                    dark = whole(primer.tones.dark.0),
                    mid = whole(primer.tones.mid.0),
                    light = whole(primer.tones.light.0),
                )],
                pictures: vec![self.picture(THREE_QUARTER, scale, Look::SprayedOnce)?],
                ..PrimerColumn::default()
            },
        ];
        // As many even tones would have the same entropy.
        let tones = |bits: f64| bits.exp2();
        let sets = PrimerTones::ALL.map(|set| ToneSet {
            name: in_full(&words.term("primer-set", set_words(set))),
            tones: [Tone::Dark, Tone::Mid, Tone::Light]
                .map(|tone| Swatch {
                    words: words.term("primer-tone", tone_words(set, tone)),
                    ..swatch(primer, set, tone)
                })
                .into(),
        });
        Ok(PrimerSheet {
            title: say!(words, "primer-once-title"),
            lead: say!(
                words,
                "primer-once-lead",
                direction = in_full(&spray_in_words(pass.axis, words)),
                tones = whole(tones(primer.once.bits)),
                straight = whole(tones(primer.once.straight_down_bits)),
            ),
            columns,
            notes: Vec::new(),
            sets: sets.into(),
            cautions: vec![spray_caution(words)],
        })
    }

    fn dry_brush_sheet(&mut self, primer: &Primer) -> Result<PrimerSheet, Stop> {
        let words = self.words;
        let passes = &primer.dry_brush.passes;
        let scale = self.column_scale(passes.len() + 1, &[THREE_QUARTER, BACK]);
        let mut columns = Vec::new();
        for (i, pass) in passes.iter().enumerate() {
            columns.push(PrimerColumn {
                number: (i + 1).to_string(),
                title: in_full(&tone(primer, pass.tone, words)),
                swatch: Some(value(primer, pass.tone)),
                sketches: vec![self.stroke_sketch(pass)?],
                words: vec![
                    strokes(pass.stroke, words),
                    format!("{}.", in_full(&words.term("load", pass.load.words()))),
                ],
                pictures: self.both_sides(scale, Look::DryBrushed(i + 1))?,
            });
        }
        let alone = self.by_brush_alone();
        columns.push(match alone {
            true => self.compared_with("primer-planned", scale, Look::Tones)?,
            false => self.compared_with("primer-sprayed", scale, Look::Sprayed(usize::MAX))?,
        });
        let mut notes = left_over(&primer.dry_brush.remaining, words);
        notes.push(say!(
            words,
            "dry-brush-note",
            light = whole(100.0 * Load::Light.on_a_plate()),
            heavy = whole(100.0 * Load::Heavy.on_a_plate()),
        ));
        Ok(PrimerSheet {
            title: say!(words, if alone { "dry-brush-only-title" } else { "dry-brush-sheet-title" }),
            lead: say!(
                words,
                if alone { "dry-brush-only-lead" } else { "dry-brush-sheet-lead" },
                dark = tone(primer, Tone::Dark, words),
            ),
            columns,
            notes,
            ..PrimerSheet::default()
        })
    }

    /// A column in which nothing is to be done.
    fn compared_with(&mut self, which: &str, scale: f64, look: Look) -> Result<PrimerColumn, Stop> {
        Ok(PrimerColumn {
            title: say!(self.words, which),
            words: vec![say!(self.words, &format!("{which}-text"))],
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
        let above = self.sketch(&View::above(), across, "sketch-above")?;
        // Seen across it, so that it comes in at the right.
        let side = View::from_angles(azimuth - 90.0, 0.0);
        Ok(vec![above, self.sketch(&side, [ts, -tc], "sketch-side")?])
    }

    fn stroke_sketch(&self, pass: &DryBrushPass) -> Result<Sketch, Stop> {
        // The arrow begins where the stroke does.
        let from = match pass.stroke {
            Stroke::Down | Stroke::OverTops => [0.0, -1.0],
            Stroke::Up => [0.0, 1.0],
            Stroke::Rightward => [-1.0, 0.0],
            Stroke::Leftward => [1.0, 0.0],
        };
        let (view, caption) = match pass.stroke {
            Stroke::OverTops => (View::above(), "sketch-to-and-fro"),
            _ => (View::front(), "sketch-stroke"),
        };
        let mut sketch = self.sketch(&view, from, caption)?;
        // It runs across the figure.
        sketch.to = sketch.from.map(|x| Millimetres(-x.0));
        Ok(sketch)
    }

    /// A small picture with an arrow that comes in from a direction, right and
    /// down on paper, of length 1 or 0.
    fn sketch(&self, view: &View, from: [f64; 2], caption: &str) -> Result<Sketch, Stop> {
        let caption = say!(self.words, caption);
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
                alt: say!(self.words, "alt-sketch", caption = &caption),
                lines: Vec::new(),
                labels: Vec::new(),
            },
            from: at(ARM),
            to: at(NEAR),
            caption,
        })
    }
}

/// A sheet over as many as its columns need, with so many at most on each; what is left comes on the last one,
/// cautions stand on each.
fn parted(sheet: PrimerSheet, most: usize, words: &Words) -> Vec<PrimerSheet> {
    let count = sheet.columns.len().div_ceil(most).max(1);
    let columns = sheet.columns.chunks(most).map(<[_]>::to_vec);
    let sheets = columns.enumerate().map(|(k, columns)| PrimerSheet {
        lead: if k == 0 { sheet.lead.clone() } else { say!(words, "primer-continued") },
        columns,
        notes: if k + 1 == count { sheet.notes.clone() } else { Vec::new() },
        sets: if k + 1 == count { sheet.sets.clone() } else { Vec::new() },
        ..sheet.clone()
    });
    if sheet.columns.is_empty() { vec![sheet] } else { sheets.collect() }
}

fn strokes(stroke: Stroke, words: &Words) -> String {
    let how = words.term("stroke", stroke.words());
    match stroke {
        Stroke::OverTops => say!(words, "strokes", how = how),
        _ => say!(words, "strokes-round", how = how),
    }
}

/// A tone of the chosen set in words.
fn tone(primer: &Primer, tone: Tone, words: &Words) -> String {
    words.term("primer-tone", tone_words(primer.set, tone))
}

fn swatch(primer: &Primer, set: PrimerTones, tone: Tone) -> Swatch {
    Swatch {
        letter: String::new(),
        pattern: grisaille_picture::Pattern::Plain,
        colour: srgb(tone_colour(set, &primer.tones, tone)),
        words: String::new(),
    }
}

/// A tone of the chosen set with its value alone.
fn value(primer: &Primer, tone: Tone) -> Swatch {
    Swatch { words: format!("L* {:.0}", primer.tones.of(tone).0), ..swatch(primer, primer.set, tone) }
}

fn whole(x: f64) -> String {
    format!("{x:.0}")
}

/// By so much more than all of it a place is off, L*, to be told.
const FARTHER: f64 = 1.5;

/// What a look leaves to the brush.
fn left_over(left: &Remaining, words: &Words) -> Vec<String> {
    let (within, rms) = (whole(100.0 * left.within_step), whole(left.rms));
    let mut notes = vec![say!(words, "left-over", within = within, rms = rms)];
    // A place that is off no farther than the whole is nowhere to begin.
    let worst = left.worst.as_ref().filter(|worst| {
        let by = worst.lighter.abs();
        by < 1.0 || by > left.rms + FARTHER
    });
    if let Some(worst) = worst {
        let by = worst.lighter.abs();
        let key = if worst.lighter > 0.0 { "left-over-light" } else { "left-over-dark" };
        notes.push(if by < 1.0 {
            say!(words, "left-over-none")
        } else {
            say!(words, key, place = words.term("place", &worst.place), by = whole(by))
        });
    }
    notes
}

/// Words as the beginning of a sentence.
fn in_full(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
