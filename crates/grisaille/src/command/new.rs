//! `new`: a scheme to begin with.

use super::new_text::{Found, scheme_text};
use crate::args::{ModelArgs, New};
use crate::command::demo::diver_scheme;
use crate::command::scheme::{named_from, open};
use crate::failure::Failure;
use crate::files::print;
use crate::job::{Run, divided};
use crate::scene::{DIVER_FILE, SCHEME_ENDING, Scene, is_scheme, stem};
use grisaille_plan::regions_of;
use grisaille_scheme::{Document, ModelEntry, ModelSource, PaintChoice, RegionSource, read_document};
use std::path::{Path, PathBuf};

pub(crate) fn new(args: &New) -> Result<(), Failure> {
    let mut scene = match &args.model {
        Some(model) if is_scheme(model) => {
            return Err(Failure::Usage(format!(
                "'{}' is a scheme already: name its model, or change it with a text editor",
                model.display()
            )));
        }
        Some(model) => {
            let (up, unit, height) = (args.up, args.unit, args.height);
            Scene::of(&ModelArgs {
                model: model.clone(),
                up,
                unit,
                height,
                upright: false,
                printed: None,
                layer_height: None,
            })?
        }
        None => {
            let models = vec![ModelEntry::new(ModelSource::Diver)];
            Scene::new(Document { models, scheme: diver_scheme() }, PathBuf::new())
        }
    };
    let name = stem(args.model.as_deref().unwrap_or(Path::new(DIVER_FILE)));
    let path = args.output.clone().unwrap_or_else(|| PathBuf::from(format!("{name}.{SCHEME_ENDING}")));
    if !args.replace && path.exists() {
        return Err(Failure::Output {
            path,
            why: "there is such a file already: give another name with -o, or say --replace".into(),
        });
    }
    let paints = args.paints.clone().or_else(|| {
        let beside = path.with_file_name("paints.csv");
        beside.is_file().then_some(beside)
    });
    if let Some(paints) = &paints {
        // Read here, so that a list that cannot be read is known at once.
        let bytes = crate::files::read_file(paints)?;
        grisaille_colour::read_paints(&bytes)
            .map_err(|e| Failure::Input { path: paints.clone(), why: e.to_string() })?;
        let file = std::path::absolute(paints).unwrap_or_else(|_| paints.clone());
        let choice = PaintChoice { file, most: 3, parts: 4, unmixed: false };
        scene.document.scheme.colours.paints = Some(choice);
    }
    let inputs = scene.inputs();
    let run = Run::start(&args.run, &inputs, std::slice::from_ref(&path))?;
    let output = open(&path, &inputs)?;
    let mesh = scene.load(&run.watch)?.mesh;
    if mesh.marks().len() > 1 {
        // Whoever made the file has told its parts apart already.
        scene.document.scheme.regions.by = RegionSource::File;
    }
    let scheme = &scene.document.scheme;
    let (surface, _) = divided(scheme, &mesh, &run.watch)?;
    let (_, regions) = regions_of(&scheme.regions, &surface, &mesh, &run.watch)?;
    let document = scene.document.clone().with_files(|file| named_from(&path, file));
    let found = Found { regions: &regions.regions, bounds: mesh.bounds() };
    let text = scheme_text(&document, &found);
    // What is written is read back first: a note that broke it would be ours to mend.
    read_document(&text).map_err(|e| Failure::Other(format!("{e}\n{}", e.excerpt(&text))))?;
    output.keep(|out| out.write_all(text.as_bytes()))?;
    let count = regions.regions.len();
    let path = path.display();
    print(&format!(
        "{path} is written, with {count} {} to colour: change it with any text editor, then\n  grisaille plan {path}\n",
        if count == 1 { "region" } else { "regions" }
    ))?;
    run.finish()
}
