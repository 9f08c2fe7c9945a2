//! Opening, saving and making: all that has to do with the painter's files.

use super::Window;
use crate::bench::{Product, ReadAlready, Trouble};
use crate::clerk::Clerk;
use crate::desk::{Desk, SCHEME_ENDING, absolute};
use crate::outside::Outside;
use crate::picture_palette::{Looking, is_picture};
use crate::said::{After, Question};
use crate::shelf::{LIST_ENDING, Shelf};
use crate::skin::Hidden;
use crate::step::{Step, Tool};
use eframe::egui::{self, Context};
use grisaille_scheme::{LightChoice, PaintChoice};
use std::path::{Path, PathBuf};
use std::sync::Arc;

impl Window {
    /// Opens models or one scheme in place of what is on the desk; asks first
    /// if that is not saved.
    pub fn ask_to_open(&mut self, paths: Vec<PathBuf>) {
        if let [path] = paths.as_slice()
            && is_list(path)
        {
            self.take_paints(path);
        } else if let [path] = paths.as_slice()
            && is_picture(path)
        {
            self.take_palette(path);
        } else if self.desk.unsaved() {
            self.question = Some(Question::Unsaved(After::Open(paths)));
        } else {
            self.open(&paths);
        }
    }

    /// Takes a list of paints into the scheme.
    pub(crate) fn take_paints(&mut self, path: &Path) {
        let file = absolute(path);
        self.paints_reading += 1;
        self.edit("Choose the list of paints", |d| {
            let paints = &mut d.scheme.colours.paints;
            match paints {
                Some(paints) => paints.file = file,
                None => *paints = Some(PaintChoice { file, most: 3, parts: 4, unmixed: false }),
            }
        });
        self.look_after_files();
        if self.step != Step::Colours {
            self.go_to(Step::Colours);
        }
    }

    /// Takes the colours of a picture for the palette, once they are found.
    pub(crate) fn take_palette(&mut self, path: &Path) {
        self.looking = Some(Looking::at(&self.bench, absolute(path), Arc::clone(&self.wake)));
        if self.step != Step::Colours {
            self.go_to(Step::Colours);
        }
    }

    /// Opens models or one scheme; the diver if there are none.
    pub(crate) fn open(&mut self, paths: &[PathBuf]) {
        let scheme = paths.iter().find(|p| is_scheme(p));
        let desk = match (scheme, paths) {
            (None, []) => Ok(Desk::new(self.bench.diver())),
            (Some(path), [_]) => Desk::open(path, &*self.bench),
            (Some(path), _) => {
                let why = format!("Open '{}' alone: a scheme names its models itself.", path.display());
                Err(Trouble::Said(why))
            }
            // A model that cannot be read must not take the place of the work.
            (None, paths) => match paths.iter().map(|p| self.bench.read(p)).find_map(Result::err) {
                Some(trouble) => Err(trouble),
                None => Ok(Desk::of_models(paths)),
            },
        };
        match desk {
            Ok(desk) => {
                self.message = None;
                self.put_on(desk);
                for path in paths.iter().rev() {
                    self.recent.add(&absolute(path));
                }
                if let Some(folder) = &self.folder {
                    self.recent.write(folder, &*self.bench);
                }
            }
            Err(trouble) => self.warn(trouble.to_string()),
        }
    }

    /// Puts a desk in the place of the one before.
    pub(crate) fn put_on(&mut self, desk: Desk) {
        self.desk = desk;
        if let Some(keeper) = &self.keeper {
            keeper.drop_copy();
        }
        self.kept = None;
        self.camera = None;
        self.glide = None;
        self.hidden = Hidden::default();
        self.tool = Tool::Turn;
        (self.entry, self.palette_entry, self.typed) = (None, None, None);
        self.looking = None;
        self.reading += 1;
        self.look_after_files();
        let lamp = self.desk.scheme().lights.iter().find(|l| matches!(l.choice, LightChoice::Lamp { .. }));
        self.selected = lamp.or(self.desk.scheme().lights.first()).map(|l| l.id);
        self.mend_selection();
        self.export_path = self.usual_place(self.export_what).display().to_string();
    }

    /// Where a product goes unless the painter says otherwise: beside the
    /// scheme or the model.
    #[must_use]
    pub(crate) fn usual_place(&self, what: Product) -> PathBuf {
        let inputs = self.desk.inputs();
        let near = self.desk.file().or(inputs.first().map(PathBuf::as_path));
        let here = std::env::current_dir().unwrap_or_default();
        let folder = near.and_then(Path::parent).map_or(here, Path::to_owned);
        let stem =
            near.and_then(Path::file_stem).map_or("diver".into(), |s| s.to_string_lossy().into_owned());
        let name = match what {
            Product::Guide => format!("{stem}-guide.pdf"),
            Product::Map => format!("{stem}-map.glb"),
            Product::Picture => format!("{stem}-picture.png"),
        };
        folder.join(name)
    }

    /// Where the scheme is saved unless the painter says otherwise.
    #[must_use]
    pub(crate) fn usual_file(&self) -> PathBuf {
        self.desk.file().map_or_else(
            || self.usual_place(Product::Guide).with_file_name(self.scheme_name()),
            Path::to_owned,
        )
    }

    fn scheme_name(&self) -> String {
        let inputs = self.desk.inputs();
        let stem = inputs.first().and_then(|p| p.file_stem()).map(|s| s.to_string_lossy().into_owned());
        format!("{}.{SCHEME_ENDING}", stem.unwrap_or_else(|| "diver".into()))
    }

    pub(super) fn look_after_files(&mut self) {
        let file = self.desk.file().map(Path::to_owned);
        let paints = self.desk.paints();
        self.outside = Outside::of(self.desk.inputs().into_iter().chain(file).chain(paints));
    }

    /// Saves; asks for a place if there is none yet. Whether it is saved.
    pub fn save(&mut self) -> bool {
        match self.desk.file().map(Path::to_owned) {
            Some(path) => self.save_to(&path),
            None => {
                self.shelf = Some(Shelf::saving(&self.usual_file()));
                false
            }
        }
    }

    /// Saves to a file. Whether that went well.
    pub fn save_to(&mut self, path: &Path) -> bool {
        match self.desk.save(path, &*self.bench) {
            Ok(()) => {
                if let Some(keeper) = &self.keeper {
                    keeper.drop_copy();
                }
                self.kept = None;
                self.look_after_files();
                self.recent.add(&absolute(path));
                if let Some(folder) = &self.folder {
                    self.recent.write(folder, &*self.bench);
                }
                self.say(format!("Saved as {}", path.display()));
                true
            }
            Err(trouble) => {
                self.warn(format!("Not saved: {trouble}. Your work is still here."));
                false
            }
        }
    }

    /// Begins to make a product.
    pub fn make(&mut self, what: Product, to: &Path) {
        if self.clerk.is_some() {
            self.warn("One thing at a time: wait for it, or stop it first.");
            return;
        }
        let begun = Clerk::begin(
            &self.bench,
            what,
            (self.desk.document().clone(), self.looks()),
            self.read_already(),
            absolute(to),
            Arc::clone(&self.wake),
        );
        match begun {
            Ok(clerk) => {
                self.message = None;
                self.clerk = Some(clerk);
            }
            Err(why) => self.warn(why),
        }
    }

    /// What was read and made of the models on the desk, if it is of them as they are now.
    fn read_already(&self) -> Option<Arc<ReadAlready>> {
        let shown = self.shown.as_ref()?;
        let (one, other) = (&shown.document, self.desk.document());
        let same = one.models == other.models && one.scheme.left_out == other.scheme.left_out;
        shown.read.clone().filter(|read| same && read.reading == self.reading)
    }

    /// Reads the models of the desk again.
    pub(crate) fn read_again(&mut self) {
        self.reading += 1;
        self.look_after_files();
    }

    /// Goes on after a question about unsaved work.
    pub(crate) fn go_on(&mut self, ctx: &Context, after: After) {
        match after {
            After::Close => {
                self.leave();
                ctx.send_viewport_cmd(egui::ViewportCommand::Close);
            }
            After::Open(paths) => self.open(&paths),
        }
    }

    /// Everything is seen to: the window may close.
    pub(crate) fn leave(&mut self) {
        self.closing = true;
        if let Some(clerk) = &self.clerk {
            clerk.stop();
        }
        if let Some(keeper) = &self.keeper {
            keeper.drop_copy();
        }
    }
}

/// Whether a path names a list of paints.
#[must_use]
fn is_list(path: &Path) -> bool {
    path.extension().is_some_and(|e| e.eq_ignore_ascii_case(LIST_ENDING))
}

/// Whether a path names a scheme.
#[must_use]
fn is_scheme(path: &Path) -> bool {
    path.extension().is_some_and(|e| e.eq_ignore_ascii_case(SCHEME_ENDING))
}
