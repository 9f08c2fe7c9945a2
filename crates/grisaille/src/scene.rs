//! The scene that a command works on: its document, from a scheme file or from
//! options, and the models that it names, read and joined.

use crate::args::{FileUnit, ModelArgs, PrintedArg, Up};
use crate::beside::beside;
use crate::failure::Failure;
use crate::files::read_file;
use crate::origin::at_origin;
use grisaille_base::{Code, Finding, Millimetres, Watch};
use grisaille_diver::{DiverSettings, diver};
use grisaille_mesh::{
    Bounds, Mesh, Printed, ReadError, ReadSettings, Unit, UpAxis, Upright, join, read, read_beside,
    read_owned, supports, upright,
};
use grisaille_plan::{LeaveError, Loaded, leave_out};
use grisaille_scheme::{
    Document, ModelEntry, ModelSource, PrintedBy, Scheme, UnitChoice, UpChoice, read_document,
};
use std::path::{Path, PathBuf};

/// The ending of scheme files.
pub(crate) const SCHEME_ENDING: &str = "grisaille";
/// What the built-in diver is called as a file.
pub(crate) const DIVER_FILE: &str = "diver.stl";

/// A document and where it stands.
#[derive(Clone, Debug)]
pub(crate) struct Scene {
    pub(crate) document: Document,
    /// Where relative paths of models begin.
    pub(crate) folder: PathBuf,
    /// The scheme file, if there is one.
    file: Option<PathBuf>,
}

impl Scene {
    /// The scene of a document that stands, or will stand, in a folder.
    pub(crate) fn new(document: Document, folder: PathBuf) -> Self {
        Self { document, folder, file: None }
    }

    /// The scene that the arguments name: a scheme file's, or a model with the
    /// default scheme.
    pub(crate) fn of(args: &ModelArgs) -> Result<Self, Failure> {
        let path = &args.model;
        if is_scheme(path) {
            let told = [args.up.is_some(), args.unit.is_some(), args.height.is_some(), args.upright];
            if told.contains(&true) || args.printed.is_some() || args.layer_height.is_some() {
                return Err(Failure::Usage(
                    "--up, --unit, --height, --upright, --printed and --layer-height stand in the scheme file \
                     already: change them there"
                        .into(),
                ));
            }
            return Self::read(path);
        }
        let entry = ModelEntry {
            up: match args.up {
                Some(Up::Y) => UpChoice::Y,
                Some(Up::Z) | None => UpChoice::Z,
            },
            unit: match args.unit {
                Some(FileUnit::Inch) => UnitChoice::Inch,
                Some(FileUnit::M) => UnitChoice::M,
                Some(FileUnit::Mm) | None => UnitChoice::Mm,
            },
            height: args.height.map(Millimetres),
            upright: args.upright,
            printed: args.printed.map(|printed| match printed {
                PrintedArg::Resin => PrintedBy::Resin,
                PrintedArg::Filament => PrintedBy::Filament,
            }),
            layer_height: args.layer_height.map(Millimetres),
            ..ModelEntry::new(ModelSource::File(path.clone()))
        };
        if let Some(mm) = args.layer_height
            && !(0.005..=2.0).contains(&mm)
        {
            return Err(Failure::Usage(format!("--layer-height {mm}: a layer is 0.005 to 2 mm thick")));
        }
        let document =
            Document { models: vec![entry], scheme: Scheme { title: stem(path), ..Scheme::default() } };
        Ok(Self::new(document, PathBuf::new()))
    }

    /// The scene of a scheme file.
    pub(crate) fn read(path: &Path) -> Result<Self, Failure> {
        let input = |why: String| Failure::Input { path: path.to_owned(), why };
        let text = String::from_utf8(read_file(path)?)
            .map_err(|_| input("this is not a scheme: it holds bytes that are no text".into()))?;
        let document = read_document(&text).map_err(|e| input(format!("{e}\n{}", e.excerpt(&text))))?;
        let folder = path.parent().map(Path::to_owned).unwrap_or_default();
        Ok(Self { document, folder, file: Some(path.to_owned()) })
    }

    /// Every file that the scene is read from: none of them is ever replaced
    /// by a result.
    pub(crate) fn inputs(&self) -> Vec<PathBuf> {
        let named = self.document.files().into_iter().map(|file| self.folder.join(file));
        named.chain(self.file.clone()).collect()
    }

    /// The models' file names for the reader, without their folders.
    pub(crate) fn model_names(&self) -> String {
        self.each_name().join(", ")
    }

    /// Each model's file name, without its folder.
    pub(crate) fn each_name(&self) -> Vec<String> {
        self.document.models.iter().map(|m| source_name(&m.source)).collect()
    }

    /// Reads all models, joins them and leaves out what the scheme leaves out.
    pub(crate) fn load(&self, watch: &Watch) -> Result<Loaded, Failure> {
        let (mut models, findings) = self.load_apart(watch)?;
        self.assemble(&mut models, findings, watch)
    }

    /// What [`Scene::load`] gives, of models that were read with `findings`. A
    /// single one is taken; several stay, to be looked at each for itself.
    pub(crate) fn assemble(
        &self,
        models: &mut Vec<Mesh>,
        findings: Vec<Finding>,
        watch: &Watch,
    ) -> Result<Loaded, Failure> {
        let boxes: Vec<(Bounds, String, bool)> = models
            .iter()
            .zip(&self.document.models)
            .map(|(mesh, m)| (mesh.bounds(), source_name(&m.source), m.at != [0.0; 3] || m.turn != 0.0))
            .collect();
        let (whole, mut findings) = joined(models, findings, watch)?;
        findings.extend(at_origin(&boxes));
        leave_out(whole, findings, &self.document.scheme.left_out, watch).map_err(|e| match e {
            LeaveError::Stop(_) => Failure::Stopped,
            e => Failure::Usage(e.to_string()),
        })
    }

    /// For a scheme with colours and several models their names and each for itself; else nothing.
    pub(crate) fn apart(&self, watch: &Watch) -> Result<(Vec<String>, Vec<Mesh>), Failure> {
        if self.document.models.len() < 2 || self.document.scheme.colours.regions.is_empty() {
            return Ok((Vec::new(), Vec::new()));
        }
        Ok((self.each_name(), self.load_apart(watch)?.0))
    }

    /// Reads all models, each for itself.
    pub(crate) fn load_apart(&self, watch: &Watch) -> Result<(Vec<Mesh>, Vec<Finding>), Failure> {
        let mut meshes = Vec::new();
        let mut findings = Vec::new();
        for entry in &self.document.models {
            let (mesh, found) = self.load_one(entry, watch)?;
            meshes.push(mesh);
            findings.extend(found);
        }
        Ok((meshes, findings))
    }

    fn load_one(&self, entry: &ModelEntry, watch: &Watch) -> Result<(Mesh, Vec<Finding>), Failure> {
        let mut settings = ReadSettings {
            up: match entry.up {
                UpChoice::Z => UpAxis::Z,
                UpChoice::Y => UpAxis::Y,
            },
            unit: match entry.unit {
                UnitChoice::Mm => Unit::Mm,
                UnitChoice::Inch => Unit::Inch,
                UnitChoice::M => Unit::M,
            },
            printed: entry
                .layer()
                .map(|layer| Printed { layer: layer.0, scars: entry.printed == Some(PrintedBy::Resin) }),
            ..ReadSettings::default()
        };
        let mut stood = None;
        if entry.upright {
            let tilt = self.tilt(entry, &settings, watch)?;
            settings.down = tilt.map_or(settings.down, |t| t.down);
            stood = Some(upright_said(tilt));
        }
        settings =
            ReadSettings { height: entry.height.map(|h| h.0), turn: entry.turn, at: entry.at, ..settings };
        let (mesh, mut findings) = self.read_model(entry, &settings, watch)?;
        findings.extend(stood);
        Ok((mesh, findings))
    }

    /// How a model is tilted, as it comes in its file.
    fn tilt(
        &self,
        entry: &ModelEntry,
        settings: &ReadSettings,
        watch: &Watch,
    ) -> Result<Option<Upright>, Failure> {
        let (mesh, _) = self.read_model(entry, settings, watch)?;
        let found = supports(&mesh, watch)?;
        Ok(watch.leave(move |_| upright(&mesh, found.as_ref()))?)
    }

    fn read_model(
        &self,
        entry: &ModelEntry,
        settings: &ReadSettings,
        watch: &Watch,
    ) -> Result<(Mesh, Vec<Finding>), Failure> {
        match &entry.source {
            ModelSource::File(path) => {
                let path = self.folder.join(path);
                let bytes = read_file(&path)?;
                let beside = beside(&path, &bytes);
                read_beside(bytes, beside, settings, watch).map_err(|e| failed(&path, e))
            }
            ModelSource::Diver => {
                let stl = diver(&DiverSettings::default(), watch)?.stl();
                read_owned(stl, settings, watch).map_err(|e| failed(Path::new(DIVER_FILE), e))
            }
        }
    }
}

/// What is said of a model that was to be stood upright.
fn upright_said(tilt: Option<Upright>) -> Finding {
    match tilt {
        Some(t) => Finding::new(
            Code::Tilted,
            1,
            format!("the model came tilted by {:.1}° and stands on the underside of its base now", t.degrees),
        ),
        None => Finding::new(
            Code::Tilted,
            1,
            "the model is to be stood upright, but no tilted base was recognised: it is left as it came",
        ),
    }
}

/// One mesh of all models.
fn joined(
    models: &mut Vec<Mesh>,
    mut findings: Vec<Finding>,
    watch: &Watch,
) -> Result<(Mesh, Vec<Finding>), Failure> {
    if let [_] = models.as_slice()
        && let Some(mesh) = models.pop()
    {
        return Ok((mesh, findings));
    }
    let (mesh, found) = join(models, watch).map_err(|e| failed(Path::new(""), e))?;
    findings.extend(found);
    Ok((mesh, findings))
}

fn failed(path: &Path, e: ReadError) -> Failure {
    match e {
        ReadError::Stop(_) => Failure::Stopped,
        ReadError::Setting(why) => Failure::Usage(why),
        e => Failure::Input { path: path.to_owned(), why: e.to_string() },
    }
}

/// The built-in diver from its file's bytes.
pub(crate) fn read_diver(stl: &[u8], watch: &Watch) -> Result<(Mesh, Vec<Finding>), Failure> {
    read(stl, &ReadSettings::default(), watch).map_err(|e| match e {
        ReadError::Stop(_) => Failure::Stopped,
        e => Failure::Other(e.to_string()),
    })
}

/// Whether a path names a scheme by its ending.
pub(crate) fn is_scheme(path: &Path) -> bool {
    path.extension().is_some_and(|e| e.eq_ignore_ascii_case(SCHEME_ENDING))
}

/// The file name without folder and ending, for a title.
pub(crate) fn stem(path: &Path) -> String {
    path.file_stem().map_or_else(|| "model".into(), |s| s.to_string_lossy().into_owned())
}

fn source_name(source: &ModelSource) -> String {
    match source {
        ModelSource::File(path) => {
            path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned())
        }
        ModelSource::Diver => DIVER_FILE.into(),
    }
}
