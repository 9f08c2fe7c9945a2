//! `scheme`: the options as a scheme file, to be changed by hand or in the window.

use crate::args::MakeScheme;
use crate::choices::scheme;
use crate::failure::Failure;
use crate::files::Output;
use crate::scene::{SCHEME_ENDING, Scene, is_scheme};
use grisaille_scheme::write_document;
use std::path::{Path, PathBuf};

pub(crate) fn make_scheme(args: &MakeScheme) -> Result<(), Failure> {
    let mut scene = Scene::of(&args.model)?;
    scene.document.scheme = scheme(&args.plan, scene.document.scheme)?;
    let output = open(&args.output, &scene.inputs())?;
    write(&scene, &args.output, output)
}

/// Opens a scheme file.
pub(crate) fn open(path: &Path, inputs: &[PathBuf]) -> Result<Output, Failure> {
    if !is_scheme(path) {
        return Err(Failure::Usage(format!("'{}': a scheme is written as .{SCHEME_ENDING}", path.display())));
    }
    Output::open(path, inputs)
}

/// Writes a scene's document; models in the file's folder or below are named
/// from there, so that both can be moved together.
pub(crate) fn write(scene: &Scene, path: &Path, output: Output) -> Result<(), Failure> {
    let document = scene.document.clone().with_files(|file| named_from(path, &scene.folder.join(file)));
    let text = write_document(&document, None);
    output.keep(|out| out.write_all(text.as_bytes()))
}

/// How a scheme names a file: from the scheme's folder, if it lies there or below.
pub(crate) fn named_from(scheme: &Path, file: &Path) -> PathBuf {
    let whole = |path: &Path| std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    let (place, file) = (whole(scheme), whole(file));
    let folder = place.parent().unwrap_or_else(|| Path::new(""));
    file.strip_prefix(folder).map_or_else(|_| file.clone(), Path::to_owned)
}
