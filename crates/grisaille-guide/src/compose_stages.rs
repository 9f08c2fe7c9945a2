//! From stages to their cards: pictures of what is marked, mixes with their tone in words.

use crate::arrange::{Field, on_field};
use crate::card_pictures::pattern_of;
use crate::compose::{BACK, Composer, FRONT, SMOOTH, THREE_QUARTER, named, srgb};
use crate::compose_extras::FACE;
use crate::mark::{Marking, joined};
use crate::paper::Paper;
use crate::sheets::{MixRow, Picture, SeeSheet, Srgb, StageCard, Swatch, ViewPicture};
use crate::survey::{CloseUp, RowRoom};
use grisaille_base::{Lightness, Stop};
use grisaille_colour::{
    Called, Depth, Lab, LinearRgb, Nearness, colour_called, luminance_from_lightness, munsell_value,
    printed_apart,
};
use grisaille_picture::{Coat, Frame, Look, Pattern};
use grisaille_plan::{Band, Coloured, Face, MixPlace, Recipe, Stage, StageKind};
use grisaille_scheme::{Ink, SheetKind};
use grisaille_words::{Words, say};

/// How large pictures are on cards, mm.
#[derive(Clone, Copy)]
struct Sizes {
    /// The sides of pictures on cards without mixes: two of them share a sheet of A4.
    plain: f64,
    /// Of pictures on cards with mixes.
    usual: RowRoom<'static>,
    /// The same above all words, for a part with many tones that is too large for the other.
    above: Option<RowRoom<'static>>,
}

impl Sizes {
    fn on(paper: Paper) -> Self {
        match paper.is_small() {
            // Across the whole sheet, above the words.
            true => Self {
                plain: 84.0,
                usual: RowRoom { high: 50.0, widths: &[84.0, 61.0, 39.0, 28.0] },
                above: None,
            },
            false => Self {
                plain: 84.0,
                usual: RowRoom { high: 58.0, widths: &[58.0, 42.0, 27.0, 21.0] },
                above: Some(RowRoom { high: 112.0, widths: &[116.0, 84.0, 55.0] }),
            },
        }
    }

    /// Where pictures of what a stage marks find room.
    fn rooms(self, kind: StageKind) -> Vec<RowRoom<'static>> {
        let above = self.above.filter(|_| matches!(kind, StageKind::ShadowsAndLights | StageKind::Base));
        std::iter::once(self.usual).chain(above).collect()
    }
}

/// What the finished figure is held beside is no higher than this, mm.
const HELD_BESIDE: f64 = 120.0;
/// Values nearer than this are told as one.
const ALIKE: f64 = 0.25;
/// A stage for no more regions than this tells where they are painted on.
const FEW: usize = 2;
/// A list of more mixes than this is told briefly.
const MANY: usize = 12;

impl Composer<'_> {
    /// The cards of all stages: of the coloured plan where there is one.
    pub(crate) fn stage_cards(&mut self) -> Result<Vec<StageCard>, Stop> {
        let words = self.words;
        let stages = self.stages.clone();
        let mut cards = Vec::new();
        match self.coloured {
            Some(coloured) => {
                for (i, stage) in stages.iter().enumerate() {
                    let parts = by_region(stage, words);
                    for (k, part) in parts.iter().enumerate() {
                        let card = self.coloured_card(i as u32 + 1, part, coloured, false)?;
                        let part = (parts.len() > 1).then_some(k as u32);
                        cards.push(StageCard { part, next: next(&stages, i), ..card });
                    }
                }
            }
            None => {
                let tall = Sizes::on(self.paper).plain;
                let paper = Field { width: tall, height: tall + 10.0 };
                let usual = on_field(&self.extents, &[THREE_QUARTER], 1, paper).scale;
                // The last card stands beside one more, or alone on its sheet.
                let paper = if self.paper.is_small() {
                    paper
                } else if stages.len().is_multiple_of(2) {
                    Field { width: tall, height: 134.0 }
                } else {
                    let room = self.paper.stage();
                    Field { width: room.width.0, height: room.height.0 }
                };
                let compare = on_field(&self.extents, &[THREE_QUARTER], 1, paper).scale;
                for (i, stage) in stages.iter().enumerate() {
                    let scale = if stage.kind == StageKind::Compare { compare } else { usual };
                    let pictures = self.whole_figure(stage.kind, scale)?;
                    let see = see(self, stage.kind);
                    cards.push(StageCard { see, ..card(i as u32 + 1, stage, (pictures, Vec::new()), words) });
                }
            }
        }
        self.scenes.clear();
        Ok(cards)
    }

    /// The same cards for a class: what is marked, but not with what; none without colours.
    pub(crate) fn handout_cards(&mut self) -> Result<Vec<StageCard>, Stop> {
        let Some(coloured) = self.coloured else { return Ok(Vec::new()) };
        let words = self.words;
        let mut cards = Vec::new();
        for (i, stage) in coloured.stages.iter().enumerate().filter(|(_, stage)| !stage.recipes.is_empty()) {
            let parts = by_region(stage, words);
            for (k, part) in parts.iter().enumerate().filter(|(_, part)| !part.recipes.is_empty()) {
                let card = self.coloured_card(i as u32 + 1, part, coloured, true)?;
                let part = (parts.len() > 1).then_some(k as u32);
                cards.push(without_answers(StageCard { part, ..card }, words));
            }
        }
        self.scenes.clear();
        Ok(cards)
    }

    fn coloured_card(
        &mut self,
        number: u32,
        stage: &Stage,
        coloured: &Coloured,
        blank: bool,
    ) -> Result<StageCard, Stop> {
        let groups = grouped(&stage.recipes);
        let letters = letters(&stage.recipes);
        let sizes = Sizes::on(self.paper);
        let paper = Field { width: sizes.usual.widths[0], height: sizes.usual.high + 10.0 };
        let scale = on_field(&self.extents, &[THREE_QUARTER], 1, paper).scale;
        // Before its mixes, region by region, all of it at once.
        let about = match stage.kind {
            StageKind::LampColour(id) if stage.recipes.is_empty() => Some(StageKind::Lamp(id)),
            StageKind::Base if !stage.recipes.is_empty() => None,
            kind => Some(kind),
        };
        let mut pictures = match about {
            Some(StageKind::Compare) => self.held_beside()?,
            Some(kind) => self.whole_figure(kind, scale)?,
            None => Vec::new(),
        };
        let shown = printed_colours(stage, self.ink());
        let mut note = String::new();
        if pictures.is_empty()
            && let Some(marking) = Marking::of(stage, &shown, self.plan, coloured)
        {
            let marking = if blank { marking.blank() } else { marking };
            let about = (stage.kind, stage.title.as_str());
            let unseen;
            (pictures, unseen) = match stage.kind {
                StageKind::Eyes => (self.marked_eyes(about, (&marking, &letters), coloured)?, 0),
                _ => self.marked_pictures(about, &marking, &letters, &sizes.rooms(stage.kind))?,
            };
            note = match stage.kind {
                StageKind::ShadowsAndLights => {
                    let row = coloured.colouring.rows.iter().find(|r| stage.regions.contains(&r.name));
                    let glazed = row.is_some_and(|r| r.glaze.is_some());
                    let pale = say!(self.words, if glazed { "caption-pale-glazed" } else { "caption-pale" });
                    match row.is_some_and(|r| !r.lit.is_empty()) {
                        true => say!(self.words, "caption-white-lamp", pale = pale),
                        false => pale,
                    }
                }
                StageKind::LampColour(_) => say!(self.words, "caption-pale-lamp"),
                StageKind::Spots if unseen > 0 => say!(self.words, "caption-touches-unseen", n = unseen),
                _ => unseen_lines(&pictures, &marking, self.words).unwrap_or_default(),
            };
        }
        let print =
            Print { bands: &self.plan.bands.rows, colours: &shown, ink: self.ink(), words: self.words };
        let mut mixes: Vec<MixRow> =
            groups.iter().map(|group| mix_row(stage, group, &letters, print)).collect();
        if !pictures.is_empty() {
            tell_unseen(&mut mixes, &pictures, self.words);
        }
        let see = see(self, stage.kind);
        Ok(StageCard { see, note, ..card(number, stage, (pictures, mixes), self.words) })
    }

    /// What the whole figure looks like after a stage that is about all of it.
    fn whole_figure(&mut self, kind: StageKind, scale: f64) -> Result<Vec<ViewPicture>, Stop> {
        let coat = |coat| Some(Look::Primed(coat));
        let (look, caption) = match kind {
            StageKind::Dark => (coat(Coat::Dark), "caption-after-coat"),
            StageKind::Mid => (coat(Coat::Mid), "caption-after-coat"),
            StageKind::Light => (coat(Coat::Light), "caption-after-coat"),
            StageKind::DryBrush(round) if self.plan.primer.is_some() => {
                let of = self.plan.primer.as_ref().map_or(0, |p| p.dry_brush.passes.len());
                // Two rounds of a stage are as many of the primer plan as it has.
                let rounds = if round == 0 { of.div_ceil(2) } else { of };
                (Some(Look::DryBrushed(rounds)), "caption-after-round")
            }
            StageKind::DryBrush(0) => (coat(Coat::Mid), "caption-about-this-light"),
            StageKind::DryBrush(_) => (coat(Coat::Light), "caption-about-this-light"),
            StageKind::Lamp(id) => (Some(Look::Exposure(id)), "caption-lamp"),
            StageKind::Base if self.coloured.is_some() => (Some(Look::Colours), "caption-finished"),
            StageKind::Compare => (Some(Look::Tones), "caption-compare"),
            // What the others are about is marked.
            _ => (None, ""),
        };
        let picture = look.map(|look| self.picture(THREE_QUARTER, scale, look)).transpose()?;
        Ok(picture.into_iter().map(|p| named(self.words, THREE_QUARTER, caption, p)).collect())
    }

    /// What the finished figure is held beside: front and back, as large as stand side by side. Contrast is judged in
    /// grey: that of the mixes, since only they can be met.
    fn held_beside(&mut self) -> Result<Vec<ViewPicture>, Stop> {
        let room = self.paper.stage();
        let field = Field { width: self.paper.wide(), height: room.height.0.min(HELD_BESIDE) + 10.0 };
        let scale = on_field(&self.extents, &[FRONT, BACK], 2, field).scale;
        let sides = [FRONT, BACK].into_iter().map(|side| {
            let grey = self.colours_in_grey(side, scale)?;
            Ok(named(self.words, side, "caption-squinting", grey))
        });
        sides.collect()
    }

    /// The eyes of the marked faces, close by, what is painted in this stage marked.
    fn marked_eyes(
        &mut self,
        about: (StageKind, &str),
        (marking, letters): (&Marking<'_>, &[String]),
        coloured: &Coloured,
    ) -> Result<Vec<ViewPicture>, Stop> {
        let faces: Vec<&Face> = coloured.colouring.rows.iter().flat_map(|row| &row.faces).collect();
        let RowRoom { high, widths } = Sizes::on(self.paper).usual;
        let mut pictures = Vec::new();
        for face in faces.iter().take(widths.len()) {
            let shown = FACE * face.height.max(1e-3);
            let room = widths[faces.len().min(widths.len()) - 1].min(high);
            let scale = (room / shown).floor().clamp(1.0, 12.0);
            let side = ((shown * scale).min(room) * SMOOTH) as u32;
            let frame = Frame::new(self.face_view(face.nose), 1.0 / (SMOOTH * scale), side, side, face.nose);
            let picture = self.marked(about, marking, letters, &CloseUp { frame, scale })?.picture;
            let gaze = self.words.term("gaze", face.gaze.as_str());
            let alt = say!(self.words, "alt-face-close-by", gaze = gaze);
            let picture = Picture { alt, ..picture };
            let name = say!(self.words, "view-close-by");
            pictures.push(ViewPicture { name, caption: String::new(), picture });
        }
        Ok(pictures)
    }
}

/// The numbers of the stages in which a region of a stage is painted on; empty for what is about many.
fn next(stages: &[Stage], at: usize) -> String {
    let regions = &stages[at].regions;
    if regions.len() > FEW {
        return String::new();
    }
    let again = |s: &Stage| s.regions.iter().any(|region| regions.contains(region));
    let later = stages.iter().enumerate().skip(at + 1).filter(|(_, s)| again(s));
    let numbers: Vec<usize> = later.map(|(i, _)| i + 1).collect();
    crate::compose_summary::in_runs(&numbers)
}

/// The sheet that shows more of what a stage is about.
fn see(composer: &Composer<'_>, kind: StageKind) -> Option<SeeSheet> {
    let prints = |kind| composer.scheme.print.prints(kind);
    let at = |part: &str, key: String| Some(SeeSheet { sheet: say!(composer.words, part), key });
    match kind {
        StageKind::Compare if composer.coloured.is_none() && prints(SheetKind::Values) => {
            at("print-part-values", "values".into())
        }
        StageKind::Compare if composer.coloured.is_some() && prints(SheetKind::Summary) => {
            at("print-part-summary", "summary".into())
        }
        StageKind::Mid | StageKind::Light | StageKind::DryBrush(_)
            if composer.plan.primer.is_some() && prints(SheetKind::Primer) =>
        {
            at("print-part-primer", "primer".into())
        }
        StageKind::Lining if prints(SheetKind::Lines) => at("part-lines", "lines".into()),
        StageKind::Edges if prints(SheetKind::Lines) => {
            // Recesses have the first sheet of that part, if there are any.
            let first = composer.lining.is_none_or(|l| l.recesses.is_empty());
            at("part-lines", if first { "lines".into() } else { "lines-1".into() })
        }
        StageKind::Eyes if prints(SheetKind::Faces) && composer.has_faces() => {
            at("part-faces", "faces".into())
        }
        StageKind::Lamp(id) | StageKind::LampColour(id) if prints(SheetKind::Lights) => {
            let place = composer.plan.lights.iter().position(|l| l.id == id)?;
            at("print-part-lights", if place == 0 { "lights".into() } else { format!("light-{place}") })
        }
        _ => None,
    }
}

fn card(
    number: u32,
    stage: &Stage,
    (pictures, mixes): (Vec<ViewPicture>, Vec<MixRow>),
    words: &Words,
) -> StageCard {
    // Where something is mixed its colour is told with the mix.
    let tone = stage.tone.filter(|_| mixes.is_empty());
    let swatches = tone.map(|tone| Swatch {
        letter: String::new(),
        pattern: Pattern::Plain,
        colour: srgb(LinearRgb::grey(luminance_from_lightness(tone))),
        words: say!(
            words,
            "card-tone",
            value = format!("{:.1}", value(tone)),
            tone = format!("{:.0}", tone.0),
        ),
    });
    StageCard {
        number,
        part: None,
        see: None,
        note: String::new(),
        next: String::new(),
        title: stage.title.clone(),
        files: words.row(&stage.files),
        steps: stage.steps.clone(),
        cautions: stage.cautions.clone(),
        pictures,
        swatches: swatches.into_iter().collect(),
        mixes,
        thinning: stage.thinning.clone().unwrap_or_default(),
        brush: stage.brush.clone().unwrap_or_default(),
        done_when: stage.done_when.clone(),
        mistake: stage.mistake.clone(),
        repair: stage.repair.clone(),
        drying: stage.drying.clone().unwrap_or_default(),
        table_ready: stage.table_ready,
    }
}

/// A stage with more mixes than a card holds in parts: what is to be done first, then the mixes of each region. Others
/// stay whole.
fn by_region(stage: &Stage, words: &Words) -> Vec<Stage> {
    let entry_of = |r: &Recipe| match r.place {
        MixPlace::LitTone(entry, ..) | MixPlace::Step(entry, _) | MixPlace::Entry(entry) => Some(entry),
        _ => None,
    };
    if stage.recipes.len() <= MANY || stage.recipes.iter().any(|r| entry_of(r).is_none()) {
        return vec![stage.clone()];
    }
    let first = Stage { recipes: Vec::new(), table_ready: false, ..stage.clone() };
    let mut parts = vec![first];
    for run in stage.recipes.chunk_by(|a, b| entry_of(a) == entry_of(b)) {
        let region = run[0].region.clone();
        parts.push(Stage {
            kind: stage.kind,
            title: say!(words, "card-part-title", stage = &stage.title, region = &region),
            regions: vec![region],
            recipes: run.to_vec(),
            thinning: stage.thinning.clone(),
            brush: stage.brush.clone(),
            drying: stage.drying.clone(),
            done_when: stage.done_when.clone(),
            mistake: stage.mistake.clone(),
            repair: stage.repair.clone(),
            ..Stage::default()
        });
    }
    if let Some(last) = parts.last_mut() {
        last.table_ready = stage.table_ready;
    }
    parts
}

/// A card with lines to write on in place of its answers; cautions and what it is about stay.
fn without_answers(card: StageCard, words: &Words) -> StageCard {
    let line = || "\u{2026}".repeat(12);
    let white = Srgb([255; 3]);
    let mixes = card.mixes.into_iter().map(|row| MixRow {
        pot: row.pot.map(|_| white),
        looks: row
            .looks
            .into_iter()
            .map(|s| Swatch { colour: white, pattern: Pattern::Plain, ..s })
            .collect(),
        mix: say!(words, "handout-mix", line = line()),
        purpose: row.purpose,
        tone: say!(words, "handout-tone", line = "\u{2026}".repeat(4)),
    });
    StageCard {
        mixes: mixes.collect(),
        steps: Vec::new(),
        swatches: Vec::new(),
        thinning: line(),
        brush: line(),
        mistake: String::new(),
        repair: String::new(),
        ..card
    }
}

fn value(lightness: Lightness) -> f64 {
    munsell_value(luminance_from_lightness(lightness))
}

/// The value that a recipe comes to.
fn told_value(recipe: &Recipe) -> String {
    format!("{:.1}", value(Lightness(recipe.colour.l)))
}

/// Recipes of one mix, by their places: those in a row, and of lines, touches and washes, which come in no order, all.
fn grouped(recipes: &[Recipe]) -> Vec<Vec<&Recipe>> {
    let mut groups: Vec<Vec<&Recipe>> = Vec::new();
    for recipe in recipes {
        let same = |group: &Vec<&Recipe>| recipe.mix.is_some() && group[0].mix == recipe.mix;
        let in_order = !matches!(
            recipe.place,
            MixPlace::Lines(_) | MixPlace::Edges(_) | MixPlace::Spots(_) | MixPlace::Pools(_)
        );
        let back = if in_order { 1 } else { groups.len() };
        match groups.iter_mut().rev().take(back).find(|group| same(group)) {
            Some(group) => group.push(recipe),
            None => groups.push(vec![recipe]),
        }
    }
    groups
}

/// What each recipe goes by on the pictures: the number of its step where all are steps of one entry, as the
/// words of the stage have it, else letters in the order of use; nothing for what is not marked or alone, nor for
/// lines, each of which has its number.
fn letters(recipes: &[Recipe]) -> Vec<String> {
    let entry = |r: &Recipe| match r.place {
        MixPlace::Step(entry, _) => Some((entry, None)),
        MixPlace::LitTone(entry, light, _) => Some((entry, Some(light))),
        _ => None,
    };
    let first = recipes.first().and_then(entry);
    let first_of = joined(recipes);
    // What one thin mix makes of each tone below it is seen: there is nothing to choose.
    let one_mix = recipes.iter().all(|r| r.mix.is_some() && r.mix == recipes[0].mix);
    if one_mix && recipes.len() > 1 && recipes.iter().all(|r| r.pot.is_some() && entry(r).is_some()) {
        return vec![String::new(); recipes.len()];
    }
    let marked = |r: &&Recipe| {
        !matches!(r.place, MixPlace::AsTold | MixPlace::Lines(_) | MixPlace::Edges(_) | MixPlace::Face(..))
    };
    if first.is_some() && recipes.iter().filter(marked).all(|r| entry(r) == first) {
        let step = |r: &Recipe| match r.place {
            MixPlace::Step(_, step) | MixPlace::LitTone(_, _, step) => Some(step + 1),
            _ => None,
        };
        let numbers = |i: usize| {
            if matches!(recipes[i].place, MixPlace::Face(..)) {
                let before = recipes[..i].iter().filter(|r| matches!(r.place, MixPlace::Face(..)));
                return letter(before.count());
            }
            let own = || {
                first_of.iter().zip(recipes).filter(|(first, _)| **first == i).filter_map(|(_, r)| step(r))
            };
            match (own().min(), own().max()) {
                (Some(low), Some(high)) if low < high => format!("{low}–{high}"),
                (Some(one), _) => one.to_string(),
                _ => String::new(),
            }
        };
        return (0..recipes.len()).map(numbers).collect();
    }
    let touches = recipes.iter().all(|r| matches!(r.place, MixPlace::Spots(_)));
    if recipes.iter().filter(marked).count() < 2 || touches && one_mix {
        return vec![String::new(); recipes.len()];
    }
    let mut next = 0;
    let each = recipes.iter().enumerate().map(|(i, r)| {
        if !marked(&r) || first_of[i] != i {
            return String::new();
        }
        next += 1;
        letter(next - 1)
    });
    each.collect()
}

/// a, b … z, aa, ab …
fn letter(n: usize) -> String {
    let last = char::from(b'a' + (n % 26) as u8);
    if n < 26 { last.to_string() } else { format!("{}{last}", letter(n / 26 - 1)) }
}

/// The colours of a stage's recipes as they are printed. Without colours what lies side by side is told apart by
/// greys that stand farther from each other than the tones themselves; which value each has is told in words.
fn printed_colours(stage: &Stage, ink: Ink) -> Vec<LinearRgb> {
    let mut colours: Vec<LinearRgb> = stage.recipes.iter().map(|r| r.colour.shown()).collect();
    if ink == Ink::Grey && matches!(stage.kind, StageKind::ShadowsAndLights | StageKind::LampColour(_)) {
        let beside = |r: &Recipe| matches!(r.place, MixPlace::Step(..) | MixPlace::LitTone(..));
        let places: Vec<usize> = (0..colours.len()).filter(|i| beside(&stage.recipes[*i])).collect();
        let own: Vec<LinearRgb> = places.iter().map(|i| colours[*i]).collect();
        for (i, grey) in places.into_iter().zip(printed_apart(&own)) {
            colours[i] = grey;
        }
    }
    colours
}

/// What mixes are told by: the bands of the values sheet, the printer's ink, the language.
#[derive(Clone, Copy)]
struct Print<'a> {
    bands: &'a [Band],
    /// The colour of each recipe as it is printed.
    colours: &'a [LinearRgb],
    ink: Ink,
    words: &'a Words,
}

/// How a mix is told: its tone beside the bands of the values sheet.
fn mix_row(stage: &Stage, group: &[&Recipe], letters: &[String], print: Print<'_>) -> MixRow {
    let Print { ink, words, .. } = print;
    let of = |r: &Recipe| stage.recipes.iter().position(|other| std::ptr::eq(other, r));
    let first = group[0];
    let glaze = stage.kind == StageKind::Glaze;
    let look = |r: &&Recipe| Swatch {
        letter: of(r).and_then(|i| letters.get(i)).cloned().unwrap_or_default(),
        colour: srgb(of(r).and_then(|i| print.colours.get(i)).copied().unwrap_or(r.colour.shown())),
        pattern: of(r).map_or(Pattern::Plain, |i| pattern_of(i as u16, stage.kind, ink)),
        // Beside what a thin mix makes of each ground: which it is, or how light it becomes.
        words: match first.pot {
            Some(_) if glaze => say!(words, "mix-value", value = told_value(r)),
            Some(_) if letters.iter().all(String::is_empty) => String::new(),
            Some(_) => r.region.clone(),
            None => String::new(),
        },
    };
    let mut looks: Vec<Swatch> = Vec::new();
    let mut last = f64::INFINITY;
    let first_of = joined(&stage.recipes);
    let alone = |r: &&Recipe| of(r).is_none_or(|i| first_of[i] == i);
    for recipe in group.iter().copied().filter(alone) {
        let value = value(Lightness(recipe.colour.l));
        // Grounds that look alike under a glaze are one.
        if !glaze || (last - value).abs() >= ALIKE {
            let look = look(&recipe);
            if !looks.contains(&look) {
                looks.push(look);
            }
            last = value;
        }
    }
    let tone = tone_of(stage, group, print);
    let purpose = purpose(stage, group, words);
    let mix = match &first.mix {
        Some(mix) => mix.clone(),
        None if stage.recipes.len() > MANY => String::new(),
        None => say!(words, "mix-to-match"),
    };
    MixRow { pot: first.pot.map(|pot| srgb(pot.shown())), looks, mix, purpose, tone }
}

/// The tone of a mix in words: its colour, its value beside the bands of the values sheet, warm or cool, how near it
/// comes. Of a thin mix that of the mix itself; what it makes of each ground is told with that.
fn tone_of(stage: &Stage, group: &[&Recipe], Print { bands, words, .. }: Print<'_>) -> String {
    let first = group[0];
    let worst = group.iter().filter_map(|r| r.near).max();
    let near = worst.and_then(nearness).map(|key| say!(words, key));
    if let Some(pot) = first.pot {
        return words.row(
            &[called(pot, words), say!(words, warmth(pot))].into_iter().chain(near).collect::<Vec<_>>(),
        );
    }
    let mut values: Vec<String> = group.iter().map(|r| told_value(r)).collect();
    values.dedup();
    let mut in_bands: Vec<char> =
        group.iter().filter_map(|r| Some(band_of(Lightness(r.colour.l), bands)?.letter)).collect();
    in_bands.dedup();
    let told = words.row(&values);
    let value = match (values.len(), in_bands.as_slice()) {
        (1, [band]) => say!(words, "mix-value-band", value = told, band = *band),
        (1, _) => say!(words, "mix-value", value = told),
        (_, [band]) => say!(words, "mix-values-band", values = told, band = *band),
        (_, _) => say!(words, "mix-values", values = told),
    };
    let mut tone = vec![called(first.colour, words), value];
    // A long list says of each mix only what tells it from the others.
    if stage.recipes.len() <= MANY {
        tone.push(say!(words, warmth(first.colour)));
        tone.extend(near);
    }
    words.row(&tone)
}

/// What a mix is for; what the card's title says is not said again on each line.
fn purpose(stage: &Stage, group: &[&Recipe], words: &Words) -> String {
    if let (StageKind::Glaze, [MixPlace::Step(_, first), .., MixPlace::Step(_, last)]) =
        (stage.kind, group.iter().map(|r| r.place).collect::<Vec<_>>().as_slice())
    {
        let [first, last] = [first, last].map(|step| (step + 1).to_string());
        return say!(words, "what-over-tones", first = first, last = last);
    }
    // Where a thin mix goes stands beside its swatches.
    if let (Some(_), [first, rest @ ..]) = (group[0].pot, group)
        && rest.iter().all(|r| r.what == first.what)
    {
        return first.what.clone();
    }
    let each = group.iter().map(|r| match stage.regions.as_slice() {
        [one] if *one == r.region => r.what.clone(),
        _ => r.told(words),
    });
    each.reduce(|list, next| say!(words, "what-more", list = list, next = next)).unwrap_or_default()
}

/// What to say of a mix that does not quite come to what was wanted.
fn nearness(near: Nearness) -> Option<&'static str> {
    match near {
        Nearness::Same => None,
        Nearness::Near => Some("mix-comes-near"),
        Nearness::TestFirst => Some("mix-test-first"),
        Nearness::OutOfReach => Some("mix-out-of-reach"),
    }
}

/// A colour in everyday words of the language.
pub(crate) fn called(colour: Lab, words: &Words) -> String {
    let Called { depth, dull, hue } = colour_called(colour);
    let hue = words.term("colour", hue);
    let hue = if dull { say!(words, "colour-greyish-of", colour = hue) } else { hue };
    match depth {
        Depth::Plain => hue,
        Depth::Dark => say!(words, "colour-dark-of", colour = hue),
        Depth::Pale => say!(words, "colour-pale-of", colour = hue),
    }
}

/// Says of a mix whose letter found no room on the pictures that it has none there.
fn tell_unseen(mixes: &mut [MixRow], pictures: &[ViewPicture], words: &Words) {
    let labels = || pictures.iter().flat_map(|view| &view.picture.labels);
    for mix in mixes {
        let unseen = mix.looks.iter().map(|look| look.letter.as_str());
        let unseen = unseen.filter(|letter| !letter.is_empty() && labels().all(|l| l.text != *letter));
        let unseen: Vec<String> = unseen.map(str::to_owned).collect();
        if let Some(letters) =
            unseen.into_iter().reduce(|list, next| say!(words, "letters-more", list = list, next = next))
        {
            mix.tone = say!(words, "mix-unseen", tone = &mix.tone, letters = letters);
        }
    }
}

/// Which lines have no number on the pictures, if any.
fn unseen_lines(pictures: &[ViewPicture], marking: &Marking<'_>, words: &Words) -> Option<String> {
    let shown = |number: &String| pictures.iter().flat_map(|v| &v.picture.labels).any(|l| l.text == *number);
    let numbers = marking.lines.iter().map(|marked| marked.number.to_string());
    let unseen: Vec<String> = numbers.filter(|number| !shown(number)).collect();
    let told = || say!(words, "caption-lines-unseen", n = unseen.len(), numbers = words.list(&unseen));
    (!unseen.is_empty()).then(told)
}

/// The band of the values sheet that a tone belongs to: beyond all bands, the one at that end.
fn band_of(tone: Lightness, bands: &[Band]) -> Option<&Band> {
    bands.iter().rev().find(|b| tone.0 >= b.low.0).or(bands.first())
}

/// Warm or cool, as the key of its word. Where the one ends and the other begins is common practice: reds, oranges and
/// yellows are warm, greens that lean to blue, blues and violets cool (CIELAB hue angles; the borders are ours).
fn warmth(colour: Lab) -> &'static str {
    const NEUTRAL: f64 = 5.0;
    match colour.hue().rem_euclid(360.0) {
        _ if colour.chroma() < NEUTRAL => "tone-neutral",
        h if !(115.0..330.0).contains(&h) => "tone-warm",
        h if (150.0..315.0).contains(&h) => "tone-cool",
        _ => "tone-between",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use grisaille_plan::FacePart;

    fn recipe(what: &str, mix: Option<&str>, place: MixPlace) -> Recipe {
        let colour = Lab::new(50.0, 20.0, 20.0);
        Recipe {
            region: "boots".into(),
            what: what.into(),
            colour,
            pot: None,
            mix: mix.map(Into::into),
            paints: Vec::new(),
            near: Some(Nearness::Near),
            place,
        }
    }

    #[test]
    fn steps_of_one_entry_keep_their_numbers_and_others_get_letters() {
        let step = |entry, step| recipe("x", Some("y"), MixPlace::Step(entry, step));
        let told = recipe("x", None, MixPlace::AsTold);
        assert_eq!(letters(&[step(3, 2), step(3, 0), told.clone()]), ["3", "1", ""]);
        assert_eq!(letters(&[step(3, 2), told.clone(), step(4, 2)]), ["a", "", "b"]);
        assert_eq!(letters(&[recipe("x", None, MixPlace::Entry(0)), told]), ["", ""]);
        // Neighbours of one mix are one area, glazes of one pot are told by their tones, parts of a face by letters.
        let mixed = |mix, at| recipe("x", Some(mix), MixPlace::Step(3, at));
        let steps = [mixed("a", 2), mixed("a", 1), mixed("b", 0), mixed("a", 4)];
        assert_eq!(letters(&steps), ["2–3", "", "1", "5"]);
        let jaw = recipe("x", Some("c"), MixPlace::Face(3, FacePart::Jaw));
        let lip = recipe("x", Some("d"), MixPlace::Face(3, FacePart::Lip));
        assert_eq!(letters(&[mixed("a", 2), mixed("b", 0), lip, jaw]), ["3", "1", "a", "b"]);
        let pot = Some(Lab::new(40.0, 0.0, 0.0));
        let glazed = |at| Recipe { pot, ..mixed("a", at) };
        assert_eq!(letters(&[glazed(2), glazed(1)]), ["", ""]);
        let touch = |entry, mix| recipe("x", Some(mix), MixPlace::Spots(entry));
        assert_eq!(letters(&[touch(1, "a"), touch(2, "a")]), ["", ""]);
        assert_eq!(letters(&[touch(1, "a"), touch(2, "b")]), ["a", "b"]);
        assert_eq!([0, 25, 26, 27, 52, 702].map(letter), ["a", "z", "aa", "ab", "ba", "aaa"]);
    }

    #[test]
    fn one_mix_for_several_places_is_one_row() {
        let of = |what, mix, step| recipe(what, mix, MixPlace::Step(0, step));
        let recipes =
            [of("step 2", Some("a"), 1), of("step 1", Some("a"), 0), of("z", None, 2), of("z", None, 3)];
        let stage = Stage { regions: vec!["boots".into()], recipes: recipes.to_vec(), ..Stage::default() };
        let groups = grouped(&stage.recipes);
        assert_eq!(groups.iter().map(Vec::len).collect::<Vec<_>>(), [2, 1, 1]);
        let print = Print { bands: &[], colours: &[], ink: Ink::Colour, words: Words::english() };
        let row = mix_row(&stage, &groups[0], &letters(&stage.recipes), print);
        assert_eq!((row.purpose.as_str(), row.mix.as_str()), ("step 2; step 1", "a"));
        assert_eq!(row.looks.iter().map(|l| l.letter.as_str()).collect::<Vec<_>>(), ["1–2"]);
        assert!(row.tone.contains("warm") && row.tone.ends_with("comes near"), "{}", row.tone);
    }

    #[test]
    fn warm_and_cool_are_told_as_painters_tell_them() {
        let told = |rgb: [u8; 3]| warmth(Lab::from(LinearRgb::from_srgb8(rgb)));
        for warm in [[200, 40, 30], [230, 140, 40], [220, 200, 60], [107, 68, 41]] {
            assert_eq!(told(warm), "tone-warm", "{warm:?}");
        }
        for cool in [[40, 60, 200], [40, 150, 160], [110, 140, 170]] {
            assert_eq!(told(cool), "tone-cool", "{cool:?}");
        }
        assert_eq!(told([128; 3]), "tone-neutral");
        assert_eq!(told([60, 160, 60]), "tone-between");
    }
}
