//! From a scheme's colours to a coloured plan: reads the list of paints, mixes, colours.

use crate::failure::Failure;
use crate::files::read_file;
use crate::job::Planned;
use grisaille_base::{Finding, Place, Watch};
use grisaille_colour::{MixError, read_paints};
use grisaille_form::Regions;
use grisaille_plan::{Coloured, ColouringError, Shelf, assemble, coloured, painted};
use grisaille_scheme::PaintChoice;
use grisaille_words::Words;
use std::path::{Path, PathBuf};

/// What is said to a scheme without colours.
pub(crate) const NONE: &str =
    "there are no colours in this scheme: give each region one under [[region]]; docs/scheme.md shows how";

/// A coloured plan, with the shelf that it is mixed from.
pub(crate) struct Painted {
    pub(crate) coloured: Coloured,
    pub(crate) shelf: Shelf,
}

/// Colours a plan by its scheme, whose list of paints lies in `folder`, and tells all that follows, its stages in
/// `words`; what was noticed in the list joins the plan's findings.
pub(crate) fn colour(
    planned: &mut Planned,
    folder: &Path,
    words: &Words,
    watch: &Watch,
) -> Result<Painted, Failure> {
    let shelf = own_shelf(planned, folder, watch)?;
    let (names, models) = &planned.apart;
    assemble(&mut planned.plan, names, models, watch)?;
    let coloured = coloured(&planned.scheme, &mut planned.plan, &shelf, words, watch).map_err(failed)?;
    Ok(Painted { coloured, shelf })
}

/// The same for who only shows the colours; gives the regions.
pub(crate) fn paint(planned: &mut Planned, folder: &Path, watch: &Watch) -> Result<Regions, Failure> {
    let shelf = own_shelf(planned, folder, watch)?;
    Ok(painted(&planned.scheme, &mut planned.plan, &shelf, watch).map_err(failed)?.0)
}

fn failed(e: ColouringError) -> Failure {
    match e {
        ColouringError::Stop(stop) => stop.into(),
        ColouringError::Word(e) => Failure::Usage(e.to_string()),
    }
}

/// The shelf that a plan's scheme names.
fn own_shelf(planned: &mut Planned, folder: &Path, watch: &Watch) -> Result<Shelf, Failure> {
    let (shelf, findings) = match &planned.scheme.colours.paints {
        Some(choice) => shelf(choice, &folder.join(&choice.file), watch)?,
        None => (Shelf::empty(), Vec::new()),
    };
    planned.findings.extend(findings);
    Ok(shelf)
}

/// The paints of a list and their mixes.
fn shelf(choice: &PaintChoice, path: &Path, watch: &Watch) -> Result<(Shelf, Vec<Finding>), Failure> {
    let cannot = |why: String| Failure::Input { path: path.to_owned(), why };
    let bytes = read_file(path)?;
    let (paints, mut findings) = read_paints(&bytes).map_err(|e| cannot(e.to_string()))?;
    for finding in &mut findings {
        if let Some(Place::Line(n)) = finding.place {
            finding.hint = format!("'{}', line {n}: {}", path.display(), finding.hint);
        }
    }
    let shelf = Shelf::of(paints, choice, watch).map_err(|e| match e {
        MixError::Stop(stop) => stop.into(),
        e => cannot(e.to_string()),
    })?;
    Ok((shelf, findings))
}

/// The file of a scheme's paints, if it names one.
pub(crate) fn paints_file(choice: Option<&PaintChoice>, folder: &Path) -> Option<PathBuf> {
    choice.map(|p| folder.join(&p.file))
}
