//! What the worker does about colour: reads the list of paints, mixes, and colours
//! the surface. What colours stand on is kept, so that a new one takes only its own mixing.

use crate::bench::{Bench, Trouble};
use crate::look::{Field, Look};
use crate::paint::{blended, stepped};
use grisaille_base::{Finding, Watch};
use grisaille_colour::{MixError, read_paints};
use grisaille_form::{Ground as Parts, Regions};
use grisaille_plan::{
    Colouring, ColouringError, ColouringGround, KeptRows, Openness, Plan, Proportion, Shelf, checks,
    colouring_at_once, colouring_keeping, line_width, look_round_in_cells, proportions, seen, usual_reach,
};
use grisaille_scheme::{Document, PaintChoice, PartChoice, PrimerChoice, Route, Scheme, Skipped};
use std::sync::Arc;

/// Words that name no colour, told with the place of their entry.
type Wrong = Vec<(usize, String)>;

/// Stands in for a colour whose word means nothing.
const STAND_IN: &str = "#808080";

/// A coloured figure, and what was noticed on the way.
#[derive(Debug)]
pub struct Painted {
    /// For which document.
    pub document: Document,
    /// The paints and their mixes.
    pub shelf: Arc<Shelf>,
    /// Why there are no paints though the scheme names a list.
    pub no_paints: Option<String>,
    /// What was noticed in the list.
    pub about_paints: Vec<Finding>,
    /// The regions.
    pub regions: Arc<Regions>,
    /// What they are painted with.
    pub colouring: Colouring,
    /// The palette's colours on the figure.
    pub proportions: Vec<Proportion>,
    /// What will not read, blend or match.
    pub checks: Vec<Finding>,
    /// Words that name no colour, by the place of their entry; grey stands in for each.
    pub words: Vec<(usize, String)>,
}

impl Painted {
    /// Whether a document comes to the same colours.
    #[must_use]
    pub fn holds_for(&self, document: &Document) -> bool {
        self.document == *document || as_coloured(&self.document) == as_coloured(document)
    }

    /// For each entry of the scheme its row, if it paints anything.
    #[must_use]
    pub fn rows_of_entries(&self) -> Vec<Option<usize>> {
        let mut rows = vec![None; self.document.scheme.colours.regions.len()];
        for (k, row) in self.colouring.rows.iter().enumerate() {
            if let Some(of) = rows.get_mut(row.entry) {
                *of = Some(k);
            }
        }
        rows
    }

    /// The entry of the scheme that paints a face of the surface.
    #[must_use]
    pub fn entry_of_face(&self, face: usize) -> Option<usize> {
        let row = self.colouring.row_of_face(face)?;
        Some(self.colouring.rows[row].entry)
    }
}

/// What colours stand on, and the last of them.
#[derive(Default)]
pub(super) struct Colours {
    paints: Option<List>,
    seen: Option<Vec<f32>>,
    open: Option<Openness>,
    known: Option<Known>,
    made: Option<Made>,
    /// What is seen until colours are mixed.
    at_once: Option<(Look, Arc<Field>)>,
}

/// Rows of colours that need not be made anew, and what they are for.
struct Known {
    plan: Arc<Plan>,
    regions: Arc<Regions>,
    shelf: Arc<Shelf>,
    rows: KeptRows,
}

/// A list of paints as it was read.
struct List {
    choice: Option<PaintChoice>,
    reading: u64,
    shelf: Arc<Shelf>,
    trouble: Option<String>,
    findings: Vec<Finding>,
}

/// Colours with the plan that they are for.
struct Made {
    of: Document,
    paints_reading: u64,
    plan: Arc<Plan>,
    painted: Arc<Painted>,
    blended: Option<Arc<Field>>,
    /// The colours made before on the same plan, and what they looked like.
    before: Option<(Arc<Painted>, Arc<Field>)>,
    stepped: Option<Arc<Field>>,
}

/// What is coloured.
#[derive(Clone, Copy)]
pub(super) struct Figure<'a> {
    pub(super) document: &'a Document,
    pub(super) paints_reading: u64,
    pub(super) plan: &'a Arc<Plan>,
    pub(super) parts: &'a Parts,
    pub(super) regions: &'a Arc<Regions>,
}

impl Known {
    fn is_for(&self, figure: Figure<'_>, shelf: &Arc<Shelf>) -> bool {
        Arc::ptr_eq(&self.plan, figure.plan)
            && Arc::ptr_eq(&self.regions, figure.regions)
            && Arc::ptr_eq(&self.shelf, shelf)
    }
}

impl Colours {
    /// Whether only what has changed must be coloured anew, so that it takes no longer than a hand waits for.
    pub(super) fn follows(&self, figure: Figure<'_>) -> bool {
        let choice = &figure.document.scheme.colours.paints;
        let list = self.paints.as_ref().filter(|l| l.choice == *choice && l.reading == figure.paints_reading);
        self.known.as_ref().zip(list).is_some_and(|(known, list)| known.is_for(figure, &list.shelf))
    }

    /// The field of a coloured look, of the colours that were made last.
    pub(super) fn field(&self, look: Look) -> Option<Arc<Field>> {
        if let Some((_, field)) = self.at_once.as_ref().filter(|(of, _)| *of == look) {
            return Some(Arc::clone(field));
        }
        let made = self.made.as_ref()?;
        match look {
            Look::Colours => made.blended.clone(),
            Look::Steps => made.stepped.clone(),
            _ => None,
        }
    }

    /// Shows a change of colours before it is mixed, in the colours that are wanted, if that can be done at once;
    /// whether there is something to show.
    pub(super) fn hurry(
        &mut self,
        figure: Figure<'_>,
        looks: &[Look],
        rims: &[(u32, u32)],
        watch: &Watch,
    ) -> Result<bool, Trouble> {
        if !looks.contains(&Look::Colours) || !self.follows(figure) || self.is_made(figure) {
            return Ok(false);
        }
        let (Some(known), Some(paints), Some(open), Some(seen)) =
            (&mut self.known, &self.paints, &figure.plan.openness, &self.seen)
        else {
            return Ok(false);
        };
        let ground = ColouringGround {
            ground: figure.parts,
            regions: figure.regions,
            shelf: &paints.shelf,
            seen,
            open,
        };
        let scheme = &figure.document.scheme;
        let made = match colouring_at_once(scheme, figure.plan, ground, &mut known.rows, watch) {
            Ok(made) => made,
            Err(ColouringError::Stop(stop)) => return Err(stop.into()),
            // It is told with the mixes.
            Err(ColouringError::Word(_)) => return Ok(false),
        };
        let before = self.made.as_ref().filter(|m| Arc::ptr_eq(&m.plan, figure.plan));
        let before = before.and_then(|m| Some((&m.painted.colouring, m.blended.as_deref()?)));
        let field = watch.run(|| blended(figure.plan, &made, rims, before));
        self.at_once = Some((Look::Colours, Arc::new(field)));
        Ok(true)
    }

    fn is_made(&self, figure: Figure<'_>) -> bool {
        let known =
            |m: &Made| m.of == as_coloured(figure.document) && m.paints_reading == figure.paints_reading;
        self.made.as_ref().is_some_and(known)
    }

    /// How open the figure lies, for its plan: looked for once.
    pub(super) fn openness(
        &mut self,
        scheme: &Scheme,
        plan: &Plan,
        watch: &Watch,
    ) -> Result<Openness, Trouble> {
        if let Some(open) = &self.open {
            return Ok(open.clone());
        }
        let open = look_round_in_cells(plan, usual_reach(&plan.mesh), line_width(scheme, plan), watch)?;
        Ok(self.open.insert(open).clone())
    }

    /// Colours a figure whose plan knows how open it lies, unless that is done; what is to be told then.
    pub(super) fn paint(
        &mut self,
        figure: Figure<'_>,
        bench: &dyn Bench,
        watch: &Watch,
    ) -> Result<Option<Arc<Painted>>, Trouble> {
        if self.is_made(figure) {
            return Ok(None);
        }
        let of = as_coloured(figure.document);
        let choice = &figure.document.scheme.colours.paints;
        let read = |l: &&List| l.choice == *choice && l.reading == figure.paints_reading;
        if self.paints.as_ref().filter(read).is_none() {
            self.paints = Some(list(choice.as_ref(), figure.paints_reading, bench, watch)?);
        }
        let (plan, scheme) = (figure.plan, &figure.document.scheme);
        if self.seen.is_none() {
            self.seen = Some(seen(&plan.surface, &plan.mesh, watch)?);
        }
        let (Some(paints), Some(open), Some(seen)) = (&self.paints, &plan.openness, &self.seen) else {
            return Ok(None);
        };
        if !self.known.as_ref().is_some_and(|k| k.is_for(figure, &paints.shelf)) {
            self.known = Some(Known {
                plan: Arc::clone(plan),
                regions: Arc::clone(figure.regions),
                shelf: Arc::clone(&paints.shelf),
                rows: KeptRows::default(),
            });
        }
        let Some(known) = &mut self.known else { return Ok(None) };
        let ground = ColouringGround {
            ground: figure.parts,
            regions: figure.regions,
            shelf: &paints.shelf,
            seen,
            open,
        };
        let (scheme, colouring, words) =
            with_stand_ins(scheme.clone(), plan, ground, &mut known.rows, watch)?;
        let painted = Arc::new(Painted {
            document: figure.document.clone(),
            shelf: Arc::clone(&paints.shelf),
            no_paints: paints.trouble.clone(),
            about_paints: paints.findings.clone(),
            regions: Arc::clone(figure.regions),
            proportions: proportions(&scheme.colours, &colouring),
            checks: checks(&scheme, plan, figure.regions, &colouring, &paints.shelf),
            colouring,
            words,
        });
        let told = Arc::clone(&painted);
        let before = self.made.take().filter(|m| Arc::ptr_eq(&m.plan, plan));
        let before = before.and_then(|m| m.blended.map(|field| (m.painted, field)).or(m.before));
        self.made = Some(Made {
            of,
            paints_reading: figure.paints_reading,
            plan: Arc::clone(plan),
            painted,
            blended: None,
            before,
            stepped: None,
        });
        Ok(Some(told))
    }

    /// Makes the fields of coloured looks that are not there yet; whether there was one to make.
    pub(super) fn make_fields(&mut self, looks: &[Look], rims: &[(u32, u32)], watch: &Watch) -> bool {
        let Some(made) = &mut self.made else { return false };
        let mut new = self.at_once.take().is_some();
        if looks.contains(&Look::Colours) && made.blended.is_none() {
            let before = made.before.take();
            let before = before.as_ref().map(|(painted, field)| (&painted.colouring, field.as_ref()));
            let field = watch.run(|| blended(&made.plan, &made.painted.colouring, rims, before));
            made.blended = Some(Arc::new(field));
            new = true;
        }
        if looks.contains(&Look::Steps) && made.stepped.is_none() {
            made.stepped = Some(Arc::new(watch.run(|| stepped(&made.plan, &made.painted.colouring, rims))));
            new = true;
        }
        new
    }
}

/// Reads the list of paints and works out its mixes. A list that cannot be read is told, and there
/// are no paints then.
fn list(
    choice: Option<&PaintChoice>,
    reading: u64,
    bench: &dyn Bench,
    watch: &Watch,
) -> Result<List, Trouble> {
    let mut list = List {
        choice: choice.cloned(),
        reading,
        shelf: Arc::new(Shelf::empty()),
        trouble: None,
        findings: Vec::new(),
    };
    let Some(choice) = choice else { return Ok(list) };
    let bytes = match bench.read(&choice.file) {
        Ok(bytes) => bytes,
        Err(Trouble::Stopped) => return Err(Trouble::Stopped),
        Err(Trouble::Said(why)) => {
            list.trouble = Some(why);
            return Ok(list);
        }
    };
    match read_paints(&bytes) {
        Ok((paints, findings)) => {
            list.findings = findings;
            match Shelf::of(paints, choice, watch) {
                Ok(shelf) => list.shelf = Arc::new(shelf),
                Err(MixError::Stop(stop)) => return Err(stop.into()),
                Err(why) => list.trouble = Some(why.to_string()),
            }
        }
        Err(why) => list.trouble = Some(why.to_string()),
    }
    Ok(list)
}

/// Colours a figure; where a word names no colour, grey stands in for it and the word is told.
fn with_stand_ins(
    mut scheme: Scheme,
    plan: &Plan,
    ground: ColouringGround<'_>,
    known: &mut KeptRows,
    watch: &Watch,
) -> Result<(Scheme, Colouring, Wrong), Trouble> {
    let mut told = Vec::new();
    loop {
        let wrong = match colouring_keeping(&scheme, plan, ground, known, watch) {
            Ok(colouring) => return Ok((scheme, colouring, told)),
            Err(ColouringError::Stop(stop)) => return Err(stop.into()),
            Err(ColouringError::Word(wrong)) => wrong,
        };
        let before = told.len();
        for (k, entry) in scheme.colours.regions.iter_mut().enumerate() {
            if entry.name != wrong.region {
                continue;
            }
            let words = std::iter::once(&mut entry.colour).chain(&mut entry.ramp).chain(&mut entry.line);
            for word in words.filter(|w| **w == wrong.word) {
                STAND_IN.clone_into(word);
                told.push((k, wrong.to_string()));
            }
        }
        // Nothing to stand in for: told as it is, rather than asked for ever.
        if told.len() == before {
            return Err(Trouble::Said(wrong.to_string()));
        }
    }
}

/// A document without what no colour comes of.
fn as_coloured(document: &Document) -> Document {
    let mut document = document.clone();
    let scheme = &mut document.scheme;
    scheme.title.clear();
    scheme.hidden = PartChoice::default();
    scheme.primer = PrimerChoice::default();
    scheme.colours.route = Route::default();
    // A wash is seen on the figure; other stages are work alone.
    scheme.colours.skip.retain(|s| *s == Skipped::Wash);
    document
}
