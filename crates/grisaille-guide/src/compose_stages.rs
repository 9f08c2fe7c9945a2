//! From stages to their cards: pictures of what is marked, beside its mixes and how it is done.

use crate::arrange::{Field, on_field};
use crate::compose::{BACK, Composer, FRONT, SMOOTH, THREE_QUARTER, named, srgb};
use crate::compose_extras::FACE;
use crate::mark::Marking;
use crate::page::LETTERS;
use crate::paper::Paper;
use crate::recipe_rows::{Print, grouped, letters, mix_row, printed_colours, value};
use crate::sheets::{MixRow, Picture, SeeSheet, Srgb, StageCard, Swatch, ViewPicture};
use crate::survey::{CloseUp, RowRoom};
use grisaille_base::Stop;
use grisaille_colour::{LinearRgb, luminance_from_lightness};
use grisaille_picture::{Coat, Frame, Look, Pattern};
use grisaille_plan::{Coloured, Face, MixPlace, Recipe, Stage, StageKind};
use grisaille_scheme::SheetKind;
use grisaille_words::{Words, say};

/// How large pictures are on cards, mm.
#[derive(Clone, Copy)]
struct Sizes {
    /// The sides of pictures on cards without mixes: two of them share a sheet of A4.
    plain: f64,
    /// Of pictures on cards with mixes.
    usual: RowRoom<'static>,
    /// The same above all words, for what has many tones or many places and is too large for the other.
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
                above: Some(RowRoom { high: 112.0, widths: &[116.0, 84.0, 55.0, 40.0] }),
            },
        }
    }

    /// Where pictures of what a stage marks find room.
    fn rooms(self, kind: StageKind) -> Vec<RowRoom<'static>> {
        let spread = matches!(
            kind,
            StageKind::ShadowsAndLights
                | StageKind::LampColour(_)
                | StageKind::Base
                | StageKind::Metal
                | StageKind::Wash
                | StageKind::PinWash
                | StageKind::Lining
                | StageKind::Edges
                | StageKind::Spots
        );
        // Areas want breadth, lines many sides.
        let narrow = matches!(kind, StageKind::Lining | StageKind::Edges | StageKind::Spots);
        let broad =
            |room: RowRoom<'static>| RowRoom { widths: &room.widths[..BROAD.min(room.widths.len())], ..room };
        let above = self.above.filter(|_| spread).map(|room| if narrow { room } else { broad(room) });
        std::iter::once(self.usual).chain(above).collect()
    }
}

/// So many pictures of areas at most stand side by side above the words.
const BROAD: usize = 3;
/// So many mixes of several regions stand on one card; with more each region has its own.
const ON_A_CARD: usize = 8;
/// What the finished figure is held beside is no higher than this, mm.
const HELD_BESIDE: f64 = 120.0;
/// A stage for no more regions than this tells where they are painted on.
const FEW: usize = 2;

impl Composer<'_> {
    /// The cards of all stages: of the coloured plan where there is one.
    pub(crate) fn stage_cards(&mut self) -> Result<Vec<StageCard>, Stop> {
        let words = self.words;
        let stages = self.stages.clone();
        let mut cards = Vec::new();
        match self.coloured {
            Some(coloured) => {
                for (i, stage) in stages.iter().enumerate() {
                    let parts = by_region((i as u32 + 1, stage), &stages[..i], words);
                    for (k, part) in parts.iter().enumerate() {
                        let card = self.coloured_card(i as u32 + 1, part, coloured, false)?;
                        let (over, tones) = (over(&stages[..i], part, words), self.tones_of(part, &stages));
                        let others = if k == 0 { others(&parts[1..], words) } else { Vec::new() };
                        let part = (parts.len() > 1).then_some(k as u32);
                        cards.push(StageCard {
                            part,
                            over,
                            tones,
                            cards: others,
                            next: next(&stages, i),
                            ..card
                        });
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
            let parts = by_region((i as u32 + 1, stage), &coloured.stages[..i], words);
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
            && let Some(marking) = Marking::of(stage, (&shown, self.ink()), self.plan, coloured)
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
                // Its steps go over its base coat, and what its card does not tell stays.
                StageKind::Base if marking.areas() > 1 => say!(self.words, "caption-pale"),
                StageKind::Spots if unseen > 0 => say!(self.words, "caption-touches-unseen", n = unseen),
                _ => unseen_lines(&pictures, &marking, self.words).unwrap_or_default(),
            };
        }
        let print = Print { bands: &self.plan.bands, colours: &shown, ink: self.ink(), words: self.words };
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
    let at =
        |part: &str, key: String| Some(SeeSheet { sheet: say!(composer.words, part), key, instead: false });
    match kind {
        StageKind::Compare if composer.coloured.is_none() && prints(SheetKind::Values) => {
            at("print-part-values", "values".into())
        }
        StageKind::Compare if composer.coloured.is_some() && prints(SheetKind::Bands) => {
            at("print-part-bands", "bands".into())
        }
        StageKind::Mid | StageKind::Light | StageKind::DryBrush(_)
            if composer.plan.primer.is_some() && prints(SheetKind::Primer) =>
        {
            at("print-part-primer", "primer".into()).map(|see| SeeSheet { instead: true, ..see })
        }
        StageKind::Lining if prints(SheetKind::Lines) => at("part-recesses", "recesses".into()),
        StageKind::Edges if prints(SheetKind::Lines) => at("part-edges", "edges".into()),
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
        over: String::new(),
        cards: Vec::new(),
        tones: Vec::new(),
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

/// With which mix, in which stage, the one region was laid in that a stage paints on; empty for what is about several,
/// or paints on none.
fn over(before: &[Stage], stage: &Stage, words: &Words) -> String {
    let paints_on =
        matches!(stage.kind, StageKind::ShadowsAndLights | StageKind::LampColour(_) | StageKind::Base);
    let ([region], true) = (stage.regions.as_slice(), paints_on) else { return String::new() };
    let laid = (1..).zip(before).find_map(|(number, s)| {
        let coat = matches!(s.kind, StageKind::BaseCoat | StageKind::Glaze);
        let recipe = s.recipes.iter().find(|r| coat && r.region == *region)?;
        Some((number, recipe.mix.as_deref()?))
    });
    laid.map_or_else(String::new, |(n, mix)| say!(words, "card-laid-in", mix = mix, number = n.to_string()))
}

/// What stands on the further cards of a stage, each with its letter.
fn others(parts: &[Stage], words: &Words) -> Vec<String> {
    let each = parts.iter().zip(&LETTERS[1..]).filter_map(|(part, letter)| {
        let region = part.regions.first()?;
        Some(say!(words, "card-of-part", letter = char::from(*letter), region = region))
    });
    each.collect()
}

/// How what a lamp's light on a region came out too light is taken back: with the darkest mix that was laid there.
fn glazed_down(before: &[Stage], region: &str, words: &Words) -> String {
    let laid = before
        .iter()
        .filter(|s| matches!(s.kind, StageKind::BaseCoat | StageKind::Glaze | StageKind::ShadowsAndLights));
    let own = laid.flat_map(|s| &s.recipes).filter(|r| r.region == region && r.mix.is_some());
    let own = own.filter(|r| !matches!(r.place, MixPlace::Face(..)));
    let dark = |r: &Recipe| r.pot.unwrap_or(r.colour).l;
    let darkest = own.min_by(|a, b| dark(a).total_cmp(&dark(b)));
    let mix = darkest.and_then(|r| r.mix.as_deref());
    mix.map_or_else(String::new, |mix| say!(words, "lamp-colour-repair-with", mix = mix))
}

/// A stage with more mixes than a card holds in parts: what is to be done first and what holds for all of it, then the
/// mixes of each region. Others stay whole.
pub(crate) fn by_region((number, stage): (u32, &Stage), before: &[Stage], words: &Words) -> Vec<Stage> {
    let entry_of = |r: &Recipe| match r.place {
        MixPlace::LitTone(entry, ..) | MixPlace::Step(entry, _) | MixPlace::Entry(entry) => Some(entry),
        _ => None,
    };
    if stage.recipes.len() <= ON_A_CARD || stage.recipes.iter().any(|r| entry_of(r).is_none()) {
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
            steps: match stage.kind {
                StageKind::LampColour(_) if run.len() > 1 => vec![say!(words, "lamp-colour-order-short")],
                _ => Vec::new(),
            },
            thinning: stage.thinning.clone(),
            brush: stage.brush.clone(),
            done_when: say!(words, "card-as-first", card = format!("{number}a")),
            repair: match stage.kind {
                StageKind::LampColour(_) => glazed_down(before, &run[0].region, words),
                _ => String::new(),
            },
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
