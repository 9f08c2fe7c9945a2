//! `preview`: the window, and what it asks of the program round it.

use crate::args::Preview;
use crate::colours;
use crate::command::{guide, map, regions, view};
use crate::failure::Failure;
use crate::files::{Output, read_file};
use crate::job::{MOST_THREADS, Planned, Read, plan_read, read_scene};
use crate::progress;
use crate::scene::Scene;
use crate::view_args::Fineness;
use grisaille_base::{Millimetres, Watch};
use grisaille_colour::LinearRgb;
use grisaille_picture::{Coat, Image, Look, View};
use grisaille_plan::{Loaded, look_round, regions_of};
use grisaille_preview::{
    Bench, Hands, Look as Seen, PreviewError, PreviewOptions, Product, ReadAlready, Script, Trouble, folder,
};
use grisaille_scheme::{Document, ModelEntry, ModelSource};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

pub(crate) fn preview(args: &Preview) -> Result<(), Failure> {
    begin_lean();
    if args.threads > MOST_THREADS {
        return Err(Failure::Usage(format!("--threads {}: use 0 to {MOST_THREADS}", args.threads)));
    }
    // What cannot be opened is told here, where the painter is looking.
    for path in &args.models {
        read_file(path)?;
    }
    let bench = Arc::new(Program { threads: args.threads });
    let options = PreviewOptions { paths: args.models.clone(), folder: folder() };
    let failed = Arc::new(Mutex::new(None));
    let hands = match &args.play {
        Some(path) => {
            let text = String::from_utf8_lossy(&read_file(path)?).into_owned();
            Some(Box::new(Script::new(&text, Arc::clone(&failed))) as Box<dyn Hands>)
        }
        None => None,
    };
    grisaille_preview::preview(bench, options, hands).map_err(|e| match e {
        PreviewError::NoWindow(_) => Failure::NoWindow(e.to_string()),
        PreviewError::Broke(_) => Failure::Other(e.to_string()),
    })?;
    let why = failed.lock().unwrap_or_else(PoisonError::into_inner).take();
    why.map_or(Ok(()), |why| Err(Failure::Other(format!("the script ended early: {why}"))))
}

/// Begins the program once more, told to give large blocks of memory back.
///
/// A window stays open for hours. The GNU allocator keeps what reading and
/// planning leave behind, a third of a gigabyte at 1.6 million triangles, unless
/// it is told otherwise, and it listens only before a program begins. Where this
/// fails nothing but memory is lost.
#[cfg(all(target_os = "linux", target_env = "gnu"))]
fn begin_lean() {
    use std::env::{args_os, current_exe, var_os};
    use std::os::unix::process::CommandExt;
    /// mallopt(3): M_MMAP_THRESHOLD.
    const TOLD: &str = "MALLOC_MMAP_THRESHOLD_";
    /// One light on a million samples stays where it can be used again.
    const BLOCK: &str = "4194304";
    let mut args = args_os();
    let (Ok(program), Some(name)) = (current_exe(), args.next()) else { return };
    // Begun in a roundabout way, the program's file is not what it was begun by.
    let same = program.file_name() == Path::new(&name).file_name();
    if same && var_os(TOLD).is_none() {
        // Comes back only if it failed.
        let _ = std::process::Command::new(program).arg0(name).args(args).env(TOLD, BLOCK).exec();
    }
}

#[cfg(not(all(target_os = "linux", target_env = "gnu")))]
fn begin_lean() {}

/// What is on screen from three sides, one look below the other; and the pixels on a millimetre of the figure.
fn picture(planned: &mut Planned, looks: &[Seen], watch: &Watch) -> Result<(Image, f64), Failure> {
    let mut below: Option<(Image, f64)> = None;
    for seen in looks {
        let look = match seen {
            Seen::Primed => Look::Primed(Coat::Light),
            Seen::Greys => Look::Tones,
            Seen::Bands => Look::Values,
            Seen::Light(id) => Look::Exposure(*id),
            Seen::Zones => Look::Zones,
            Seen::Openness(tenths) => {
                let reach = Millimetres(f64::from(*tenths) / 10.0);
                planned.plan.openness = Some(look_round(&planned.plan, reach, watch)?);
                Look::Openness
            }
            Seen::Colours | Seen::Steps => {
                // Paths of the window's documents are absolute.
                colours::paint(planned, Path::new(""), watch)?;
                if *seen == Seen::Steps { Look::Steps } else { Look::Colours }
            }
            Seen::Regions => {
                let (plan, scheme) = (&planned.plan, &planned.scheme);
                let (_, found) = regions_of(&scheme.regions, &plan.surface, &plan.mesh, watch)?;
                let sheet = regions::draw(&scheme.title, &plan.mesh, &plan.surface, &found, HEIGHT, watch)?;
                below = Some(stacked(below, sheet));
                continue;
            }
        };
        let views = [View::front(), View::three_quarter(), View::back()];
        let fineness = Fineness::in_pixels(&planned.plan.mesh, HEIGHT);
        let sheet = view::draw(planned, look, &views, fineness, watch)?;
        below = Some(stacked(below, (sheet, fineness.printed)));
    }
    Ok(below.unwrap_or_else(|| (Image::new(1, 1, LinearRgb::WHITE), 1.0)))
}

/// How tall the figure is in the window's pictures, in pixels.
const HEIGHT: f64 = 900.0;

/// A picture below another of the same fineness.
fn stacked(above: Option<(Image, f64)>, (below, fineness): (Image, f64)) -> (Image, f64) {
    let Some((above, _)) = above else { return (below, fineness) };
    let wide = above.width().max(below.width());
    let mut both = Image::new(wide, above.height() + below.height(), LinearRgb::WHITE);
    both.paste(&above, 0, 0);
    both.paste(&below, 0, i64::from(above.height()));
    (both, fineness)
}

/// This program, as the window sees it.
pub(crate) struct Program {
    /// Threads for each piece of work; 0 for one on each core.
    pub(crate) threads: usize,
}

impl From<Failure> for Trouble {
    fn from(failure: Failure) -> Self {
        match failure {
            Failure::Stopped => Self::Stopped,
            other => Self::Said(other.to_string()),
        }
    }
}

impl Bench for Program {
    fn load(&self, document: &Document, watch: &Watch) -> Result<Loaded, Trouble> {
        Ok(Scene::new(document.clone(), PathBuf::new()).load(watch)?)
    }

    fn make(
        &self,
        product: Product,
        document: &Document,
        looks: &[Seen],
        read: Option<&ReadAlready>,
        to: &Path,
        watch: &Watch,
    ) -> Result<Vec<String>, Trouble> {
        let mut scene = Scene::new(document.clone(), PathBuf::new());
        scene.document.scheme.primer.wanted = match product {
            Product::Guide => true,
            Product::Map => map::tells_of_primer(&[to.to_owned()]),
            Product::Picture => false,
        };
        let inputs = scene.inputs();
        // What the window has read is the models together; each for itself is read where it is asked for.
        let models = |scene: &Scene| match read {
            Some(read) => Ok(Read {
                products: read.products.fork(),
                findings: read.findings.clone(),
                apart: (Vec::new(), Vec::new()),
            }),
            None => read_scene(scene, watch),
        };
        // Opened first, so that a full or locked folder is known at once.
        match product {
            Product::Guide => {
                let output = guide::open(to, &inputs)?;
                let mut models = models(&scene)?;
                if read.is_some() {
                    models.apart = scene.apart(watch)?;
                }
                let models = guide::for_paper(models, &scene, watch)?;
                let mut planned = plan_read(scene, models, watch)?;
                // Paths of the window's documents are absolute.
                Ok(guide::write(&mut planned, Path::new(""), output, watch)?)
            }
            Product::Map => {
                let outputs = map::open(&[to.to_owned()], &inputs)?;
                let mut models = models(&scene)?;
                if read.is_some() && map::tells_of_models(&outputs) && scene.document.models.len() > 1 {
                    models.apart = (scene.each_name(), scene.load_apart(watch)?.0);
                }
                let mut planned = plan_read(scene, models, watch)?;
                // Paths of the window's documents are absolute.
                let wanted = map::wanted(&outputs, Path::new(""));
                let told = map::completed(&mut planned, wanted, watch)?;
                Ok(map::write(&planned, &told, outputs, watch)?)
            }
            Product::Picture => {
                let output = view::open(to, &inputs)?;
                let models = models(&scene)?;
                let (sheet, fineness) = picture(&mut plan_read(scene, models, watch)?, looks, watch)?;
                output.keep(|mut out| sheet.write_png(&mut out, fineness))?;
                Ok(Vec::new())
            }
        }
    }

    fn read(&self, path: &Path) -> Result<Vec<u8>, Trouble> {
        Ok(read_file(path)?)
    }

    fn write(&self, path: &Path, bytes: &[u8], inputs: &[PathBuf]) -> Result<(), Trouble> {
        Ok(Output::open(path, inputs)?.keep(|out| out.write_all(bytes))?)
    }

    fn watch(&self) -> Watch {
        // A system that grants no threads of our own still has rayon's.
        Watch::with_threads(self.threads).unwrap_or_else(|_| Watch::quiet())
    }

    fn phase(&self, phase: &'static str) -> &'static str {
        progress::in_words(phase)
    }

    fn diver(&self) -> Document {
        Document {
            models: vec![ModelEntry::new(ModelSource::Diver)],
            scheme: crate::command::demo::diver_scheme(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use grisaille_bodies::{cuboid, cup, stl};
    use grisaille_plan::Products;
    use grisaille_scheme::read_document;

    /// The guide of a figure in two files, from what the window has read and from the files.
    #[test]
    fn a_guide_of_several_files_is_the_same_from_the_window() {
        let folder = std::env::temp_dir().join(format!("grisaille-window-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        let lid = cuboid([-6.0, -6.0, 8.05], [6.0, 6.0, 10.0]);
        for (name, soup) in [("cup.stl", cup()), ("lid.stl", lid)] {
            std::fs::write(folder.join(name), stl(&soup)).unwrap();
        }
        let file = |name: &str| folder.join(name).display().to_string().replace('\\', "/");
        let text = format!(
            "version = 1\n[surface]\nspacing = 1.0\n[fineness]\nambient_directions = 16\n[print]\nsheets = [\"summary\"]\n\
             [primer]\ntones = \"none\"\n\
             [[model]]\nfile = \"{}\"\n[[model]]\nfile = \"{}\"\n[regions]\nby = \"pieces\"\n\
             [[region]]\nname = \"all\"\nrest = true\ncolour = \"#9a4a22\"\n",
            file("cup.stl"),
            file("lid.stl")
        );
        let document = read_document(&text).unwrap();
        let (program, watch) = (Program { threads: 0 }, Watch::quiet());
        let Loaded { mesh, findings, .. } = program.load(&document, &watch).unwrap();
        let read = ReadAlready { products: Products::new(Arc::new(mesh)), findings, reading: 0 };
        let made = |name: &str, read: Option<&ReadAlready>| {
            let to = folder.join(name);
            program.make(Product::Guide, &document, &[], read, &to, &watch).unwrap();
            std::fs::read(to).unwrap()
        };
        let (window, files) = (made("window.pdf", Some(&read)), made("files.pdf", None));
        // Figures of a squad are not glued, which the summary's stages show.
        let squad = read_document(&text.replace("version = 1", "version = 1\nsquad = true")).unwrap();
        let to = folder.join("squad.pdf");
        program.make(Product::Guide, &squad, &[], None, &to, &watch).unwrap();
        let squad = std::fs::read(to).unwrap();
        std::fs::remove_dir_all(&folder).unwrap();
        assert!(window == files && squad != files);
    }
}
