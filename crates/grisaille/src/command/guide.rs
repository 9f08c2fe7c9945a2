//! `guide`: the printable sheets.

use crate::args::{Guide, InkArg, LengthsArg, PaperArg, Sheet};
use crate::colours::colour;
use crate::failure::Failure;
use crate::files::{Output, read_file};
use crate::job::{Planned, Read, begin, plan_read, read_scene};
use crate::scene::Scene;
use grisaille_base::Watch;
use grisaille_form::Regions;
use grisaille_guide::{GuideError, Heading, Subject, compose, typeset};
use grisaille_mesh::thinned;
use grisaille_plan::{Lining, Products, line_width, lining, regions_of};
use grisaille_scheme::{Ink, Lengths, PaperSize, PrintChoice, SheetKind};
use grisaille_words::Words;
use std::path::{Path, PathBuf};
use std::sync::Arc;

pub(crate) fn guide(args: &Guide) -> Result<(), Failure> {
    let (run, scene, output) = begin(
        &args.model,
        (&args.plan, true),
        &args.run,
        std::slice::from_ref(&args.output),
        |_, inputs| open(&args.output, inputs),
    )?;
    let read = for_paper(read_scene(&scene, &run.watch)?, &scene, &run.watch)?;
    let mut planned = plan_read(scene, read, &run.watch)?;
    choose(args, &mut planned.scheme.print)?;
    let folder = args.model.model.parent().unwrap_or(Path::new(""));
    say(&write(&mut planned, folder, output, &run.watch)?);
    run.finish()
}

/// A translation of the sheets, with what is to be told of it.
fn translated(path: &Path) -> Result<(Words, Vec<String>), Failure> {
    let cannot = |why: String| Failure::Input { path: path.to_owned(), why };
    let text = String::from_utf8(read_file(path)?).map_err(|_| cannot("it is not UTF-8 text".into()))?;
    Words::translated(&text).map_err(|e| cannot(e.to_string()))
}

/// More triangles than this are thinned for sheets of paper, to no fewer than a quarter of them.
const FINE: usize = 600_000;
/// So far from the file's a thinned surface may lie, mm: less than a thin layer of resin (0.05 mm; common practice).
const WITHIN: f64 = 0.03;

/// What a guide is made from: of a single fine model a thinned one, so that its sheets do not take minutes. Files
/// that are glued stay as they are, since each is looked at by itself too.
pub(crate) fn for_paper(read: Read, scene: &Scene, watch: &Watch) -> Result<Read, Failure> {
    let mesh = read.products.mesh();
    if scene.document.models.len() > 1 || mesh.faces().len() <= FINE {
        return Ok(read);
    }
    let Some((mesh, told)) = thinned(mesh, WITHIN, FINE / 4, watch)? else { return Ok(read) };
    let findings = read.findings.into_iter().chain([told]).collect();
    Ok(Read { products: Products::new(Arc::new(mesh)), findings, ..read })
}

/// What the options say of the print goes before what the scheme says.
fn choose(args: &Guide, print: &mut PrintChoice) -> Result<(), Failure> {
    if let Some(words) = &args.words {
        // Where the scheme lies says nothing of it.
        let whole = std::path::absolute(words);
        print.words = Some(whole.map_err(|e| Failure::Input { path: words.clone(), why: e.to_string() })?);
    }
    if !args.sheets.is_empty() {
        print.sheets = args.sheets.iter().copied().map(kind).collect();
    }
    match args.paper {
        Some(PaperArg::A4) => print.paper = PaperSize::A4,
        Some(PaperArg::Letter) => print.paper = PaperSize::Letter,
        Some(PaperArg::A5) => print.paper = PaperSize::A5,
        None => {}
    }
    match args.ink {
        Some(InkArg::Colour) => print.ink = Ink::Colour,
        Some(InkArg::Grey) => print.ink = Ink::Grey,
        None => {}
    }
    match args.lengths {
        Some(LengthsArg::Mm) => print.lengths = Lengths::Mm,
        Some(LengthsArg::Inch) => print.lengths = Lengths::Inch,
        None => {}
    }
    Ok(())
}

fn kind(sheet: Sheet) -> SheetKind {
    match sheet {
        Sheet::Summary => SheetKind::Summary,
        Sheet::Values => SheetKind::Values,
        Sheet::Lights => SheetKind::Lights,
        Sheet::Bands => SheetKind::Bands,
        Sheet::Zones => SheetKind::Zones,
        Sheet::Regions => SheetKind::Regions,
        Sheet::Lines => SheetKind::Lines,
        Sheet::Gluing => SheetKind::Gluing,
        Sheet::Primer => SheetKind::Primer,
        Sheet::Stages => SheetKind::Stages,
        Sheet::Faces => SheetKind::Faces,
        Sheet::Freehand => SheetKind::Freehand,
        Sheet::Outlines => SheetKind::Outlines,
        Sheet::Photo => SheetKind::Photo,
        Sheet::Handout => SheetKind::Handout,
    }
}

/// Opens a guide file.
pub(crate) fn open(path: &Path, inputs: &[PathBuf]) -> Result<Output, Failure> {
    if path.extension().is_none_or(|e| !e.eq_ignore_ascii_case("pdf")) {
        return Err(Failure::Usage(format!("'{}': a guide is written as .pdf", path.display())));
    }
    Output::open(path, inputs)
}

/// Tells hints on standard error.
pub(crate) fn say(hints: &[String]) {
    for hint in hints {
        eprintln!("grisaille: {hint}");
    }
}

/// Writes the guide of a plan, with step cards in colour where its scheme has colours; its list of paints and its
/// wording, if it has one of its own, lie in `folder`. Gives hints.
pub(crate) fn write(
    planned: &mut Planned,
    folder: &Path,
    output: Output,
    watch: &Watch,
) -> Result<Vec<String>, Failure> {
    let own = planned.scheme.print.words.as_ref().map(|file| translated(&folder.join(file))).transpose()?;
    let (words, notes) = match &own {
        Some((words, notes)) => (words, notes.clone()),
        None => (Words::english(), Vec::new()),
    };
    let coloured = !planned.scheme.colours.regions.is_empty();
    let painted = coloured.then(|| colour(planned, folder, words, watch)).transpose()?;
    // A plan without colours has its regions and lines looked for if they are printed.
    let print = &planned.scheme.print;
    let form = (print.prints(SheetKind::Regions) || print.prints(SheetKind::Lines)) && painted.is_none();
    let form = form.then(|| form_of(planned, watch)).transpose()?;
    let heading = Heading {
        title: planned.scheme.title.clone(),
        model_file: planned.settings.model.clone(),
        made_with: concat!("grisaille ", env!("CARGO_PKG_VERSION")).into(),
    };
    let subject = Subject {
        plan: &planned.plan,
        scheme: &planned.scheme,
        findings: &planned.findings,
        coloured: painted.as_ref().map(|p| &p.coloured),
        form: form.as_ref().map(|(regions, lining)| (regions, lining)),
        words,
    };
    let sheets = compose(&subject, &heading, watch)?;
    let (pdf, findings) = typeset(&sheets, watch).map_err(|e| match e {
        GuideError::Stop(_) => Failure::Stopped,
        e => Failure::Other(e.to_string()),
    })?;
    output.keep(|out| out.write_all(&pdf))?;
    Ok(notes.into_iter().chain(findings.into_iter().map(|f| f.hint)).collect())
}

fn form_of(planned: &Planned, watch: &Watch) -> Result<(Regions, Lining), Failure> {
    let (plan, scheme) = (&planned.plan, &planned.scheme);
    let (_, regions) = regions_of(&scheme.regions, &plan.surface, &plan.mesh, watch)?;
    Ok((regions, lining(plan, line_width(scheme, plan), watch)?))
}
