//! The window: what it holds.
//!
//! [`files`] opens and saves, [`gaze`] looks, [`between`] is what happens between
//! two frames.

mod between;
mod files;
mod gaze;

pub(crate) use self::gaze::MOST_TENTHS;

use crate::bench::{Bench, Product, ReadAlready};
use crate::camera::Camera;
use crate::clerk::Clerk;
use crate::desk::Desk;
use crate::dialog::{Asked, Desktop, desktop};
use crate::draw::Canvas;
use crate::keep::{Keeper, left_behind};
use crate::look::{Field, Look};
use crate::outside::Outside;
use crate::pick::{Picker, Reading, Spot};
use crate::picture_palette::Looking;
use crate::recent::Recent;
use crate::said::{Message, Question};
use crate::shelf::Shelf;
use crate::skin::Hidden;
use crate::step::{Step, Tool};
use crate::taste::{Room, Taste};
use crate::theme;
use crate::worker::{Order, Painted, Stage, Worker};
use eframe::egui::{self, Context, Ui};
use grisaille_base::{Finding, LightId};
use grisaille_form::{Division, Regions};
use grisaille_plan::{Draft, Ground, Plan};
use grisaille_scheme::{Document, PartChoice};
use grisaille_sight::FaceMask;
use std::path::PathBuf;
use std::sync::{Arc, Mutex};
use std::time::Duration;

/// What the worker has shown last.
pub struct Shown {
    /// How good it is.
    pub stage: Stage,
    /// The document that it shows.
    pub document: Document,
    /// Light and values.
    pub draft: Arc<Draft>,
    /// The plan for it, once made.
    pub plan: Option<Arc<Plan>>,
    /// The models that it is of, once planned.
    pub read: Option<Arc<ReadAlready>>,
    /// From order to report.
    pub took: Duration,
}

/// What is being typed into a field of the colours.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Typed {
    /// What an entry is called.
    Name(usize),
    /// The base colour of an entry.
    Colour(usize),
    /// The colour of its lines.
    Line(usize),
    /// One step of its own ramp.
    Step(usize, usize),
    /// What a palette colour is called.
    PaletteName(usize),
    /// A palette colour.
    PaletteColour(usize),
    /// The eyes of a face.
    Eyes(usize),
}

/// What lies under the pointer.
#[derive(Clone, Debug)]
pub struct Hover {
    /// Where on the surface.
    pub spot: Spot,
    /// What is known about it.
    pub reading: Option<Reading>,
}

/// The window.
pub struct Window {
    pub(crate) bench: Arc<dyn Bench>,
    worker: Worker,
    pub(crate) wake: Arc<dyn Fn() + Send + Sync>,
    pub(crate) clerk: Option<Clerk>,
    pub(crate) desk: Desk,
    keeper: Option<Keeper>,
    kept: Option<(Document, f64)>,
    folder: Option<PathBuf>,
    pub(crate) recent: Recent,
    pub(crate) taste: Taste,
    outside: Outside,
    looked_outside: f64,
    // The scene.
    pub(crate) picker: Option<Arc<Picker>>,
    pub(crate) mask: FaceMask,
    masked: Option<PartChoice>,
    pub(crate) findings: Vec<Finding>,
    pub(crate) shown: Option<Shown>,
    /// The regions that were made last, and by which division.
    pub(crate) regions: Option<(Division, Arc<Regions>)>,
    /// The colours that were made last.
    pub(crate) painted: Option<Arc<Painted>>,
    fields: Vec<(Look, Arc<Field>)>,
    reading: u64,
    paints_reading: u64,
    ordered: Option<Order>,
    pub(crate) canvas: Option<Arc<Mutex<Canvas>>>,
    // What is looked at.
    pub(crate) camera: Option<Camera>,
    pub(crate) glide: Option<(Camera, Camera, f64)>,
    pub(crate) pane_size: [f64; 2],
    pub(crate) pane_rect: egui::Rect,
    pub(crate) turned_at: f64,
    pub(crate) look: Look,
    pub(crate) beside: Option<Look>,
    pub(crate) step: Step,
    pub(crate) tool: Tool,
    /// Enter was pressed: the tool is used in the middle of the view.
    pub(crate) in_middle: bool,
    /// The keyboard goes to the figure next.
    pub(crate) to_figure: bool,
    pub(crate) selected: Option<LightId>,
    pub(crate) moving: Option<LightId>,
    pub(crate) hidden: Hidden,
    pub(crate) squint: bool,
    /// How far openness looks, once the painter has set it.
    pub(crate) reach: Option<u16>,
    pub(crate) arm: f64,
    pub(crate) hover: Option<Hover>,
    /// The lamp under the pointer, by name.
    pub(crate) pointed: Option<String>,
    pub(crate) message: Option<Message>,
    pub(crate) question: Option<Question>,
    pub(crate) shelf: Option<Shelf>,
    /// Who shows the desktop's own dialog, and one that is open.
    pub(crate) desktop: Desktop,
    pub(crate) asked: Option<Asked>,
    pub(crate) hint: Option<usize>,
    pub(crate) export_path: String,
    pub(crate) export_what: Product,
    pub(crate) eye_height: f64,
    /// A face of the chosen region, and its name while that is typed.
    pub(crate) region_face: Option<usize>,
    pub(crate) region_name: Option<String>,
    /// The chosen entry of the scheme's colours, by its place, and what is being typed about it.
    pub(crate) entry: Option<usize>,
    pub(crate) typed: Option<(Typed, String)>,
    /// The palette colour that is opened, by its place, and a picture that one is taken from.
    pub(crate) palette_entry: Option<usize>,
    pub(crate) looking: Option<Looking>,
    /// The card goes down to what is to be looked at next.
    pub(crate) to_checks: bool,
    /// And to the colour that was chosen on the figure.
    pub(crate) to_entry: bool,
    /// The stroke that is being drawn.
    pub(crate) stroke: Vec<Spot>,
    /// How tall the models are in mm with what is left out, once they are read.
    pub(crate) whole_height: f64,
    /// How long our own code took for each frame, while a script plays.
    pub(crate) frames: Vec<Duration>,
    /// And how much of that it was on a processor, in all.
    pub(crate) busy: Duration,
    /// How long the last draft for a moving lamp took, while a script plays.
    pub(crate) answered: Option<Duration>,
    closing: bool,
    loaded_name: String,
}

/// How many hints there are on the first start.
pub(crate) const HINTS: usize = 3;

impl Window {
    /// A window on some files (models, or one scheme), on the diver if there
    /// are none. `folder` is where copies, tastes and recent files are kept;
    /// without it nothing is kept. `canvas` is where the figure is drawn; without
    /// it all else works, which is how tests see the window.
    ///
    /// # Errors
    /// When the system grants no threads.
    pub fn new(
        ctx: &Context,
        bench: Arc<dyn Bench>,
        paths: &[PathBuf],
        folder: Option<PathBuf>,
        canvas: Option<Canvas>,
    ) -> Result<Self, String> {
        theme::dress(ctx);
        let awake = ctx.clone();
        let wake: Arc<dyn Fn() + Send + Sync> = Arc::new(move || awake.request_repaint());
        let worker = Worker::start(Arc::clone(&bench), Arc::clone(&wake))?;
        let taste = folder.as_deref().map(Taste::read).unwrap_or_default();
        let recent = folder.as_deref().map(Recent::read).unwrap_or_default();
        let mut message = None;
        let keeper = folder.as_deref().and_then(|f| match Keeper::new(f) {
            Ok(keeper) => Some(keeper),
            Err(why) => {
                message = Some(Message {
                    text: format!("No safety copies can be kept: {why}. Save often."),
                    trouble: true,
                });
                None
            }
        });
        let left = folder.as_deref().map(left_behind).unwrap_or_default();
        let hint = (!taste.hinted && paths.is_empty()).then_some(0);
        let desk = Desk::new(bench.diver());
        let mut window = Self {
            bench,
            worker,
            wake,
            clerk: None,
            desk,
            keeper,
            kept: None,
            folder,
            recent,
            taste,
            outside: Outside::default(),
            looked_outside: 0.0,
            picker: None,
            mask: FaceMask::All,
            masked: None,
            findings: Vec::new(),
            shown: None,
            regions: None,
            painted: None,
            fields: Vec::new(),
            reading: 0,
            paints_reading: 0,
            ordered: None,
            canvas: canvas.map(|c| Arc::new(Mutex::new(c))),
            camera: None,
            glide: None,
            pane_size: [800.0, 600.0],
            pane_rect: egui::Rect::from_min_size(egui::Pos2::ZERO, egui::vec2(800.0, 600.0)),
            frames: Vec::new(),
            busy: Duration::ZERO,
            answered: None,
            turned_at: -10.0,
            look: Look::Greys,
            beside: None,
            step: Step::Light,
            tool: Tool::Turn,
            in_middle: false,
            to_figure: false,
            selected: None,
            moving: None,
            hidden: Hidden::default(),
            squint: false,
            reach: None,
            arm: 1.0,
            hover: None,
            pointed: None,
            message,
            question: None,
            shelf: None,
            desktop: desktop(),
            asked: None,
            hint,
            export_path: String::new(),
            export_what: Product::Guide,
            eye_height: 28.0,
            whole_height: 0.0,
            region_face: None,
            region_name: None,
            entry: None,
            typed: None,
            palette_entry: None,
            looking: None,
            to_checks: false,
            to_entry: false,
            stroke: Vec::new(),
            closing: false,
            loaded_name: String::new(),
        };
        window.put_on(window.desk.clone());
        if !paths.is_empty() {
            window.open(paths);
        }
        if let Some(left) = left.into_iter().next() {
            window.question = Some(Question::Rescue(Box::new(left)));
        }
        window.apply_taste(ctx);
        Ok(window)
    }

    /// Lets somebody else show the desktop's dialogs, such as a test.
    pub fn set_desktop(&mut self, desktop: Desktop) {
        self.desktop = desktop;
    }

    /// Says something.
    pub fn say(&mut self, text: impl Into<String>) {
        self.message = Some(Message { text: text.into(), trouble: false });
    }

    /// Tells of trouble.
    pub fn warn(&mut self, text: impl Into<String>) {
        self.message = Some(Message { text: text.into(), trouble: true });
    }

    /// The document on the desk.
    #[must_use]
    pub fn document(&self) -> &Document {
        self.desk.document()
    }

    /// How good the picture is that is shown, if it is of the document as it
    /// is now and nothing is under way.
    #[must_use]
    pub fn settled(&self) -> bool {
        let Some(shown) = &self.shown else { return false };
        shown.stage == Stage::Planned && shown.document == *self.desk.document() && !self.worker.busy()
    }

    /// What was said last.
    #[must_use]
    pub fn words(&self) -> Option<String> {
        self.message.as_ref().map(|m| m.text.clone())
    }

    /// What must be answered first.
    #[must_use]
    pub fn asked(&self) -> Option<&Question> {
        self.question.as_ref()
    }

    /// How the figure is seen, and what is beside it.
    #[must_use]
    pub fn seen(&self) -> (Look, Option<Look>) {
        (self.look, self.beside)
    }

    /// The colours that were made last.
    #[must_use]
    pub fn painted(&self) -> Option<&Painted> {
        self.painted.as_deref()
    }

    /// From where the figure is looked at, once there is one.
    #[must_use]
    pub fn camera(&self) -> Option<Camera> {
        self.camera
    }

    /// The chosen entry of the scheme's colours, by its place.
    #[must_use]
    pub fn chosen_entry(&self) -> Option<usize> {
        self.entry
    }

    /// What the worker does.
    pub(crate) fn progress(&self) -> crate::ear::Progress {
        self.worker.progress()
    }

    /// Whether the worker does anything.
    pub(crate) fn busy(&self) -> bool {
        self.worker.busy()
    }

    /// Stops what the worker does.
    pub(crate) fn stop_work(&mut self) {
        self.worker.stop();
        self.say("Stopped. The figure stays as it was shown last; any change begins again.");
    }

    /// The scene's ground.
    #[must_use]
    pub fn ground(&self) -> Option<&Ground> {
        self.picker.as_ref().map(|p| p.ground())
    }

    /// Changes the document; says why if that makes no sense.
    pub(crate) fn edit(&mut self, what: &str, change: impl FnOnce(&mut Document)) {
        if let Err(why) = self.desk.change(what, change) {
            self.warn(why);
        }
    }

    /// Takes a tool into the hand; the keyboard follows to the figure.
    pub(crate) fn take_up(&mut self, tool: Tool) {
        self.tool = tool;
        self.to_figure = true;
    }

    /// Undoes a step.
    pub fn undo(&mut self) {
        let what = self.desk.history().undoes().map(str::to_owned);
        if self.desk.history_mut().undo() {
            self.say(format!("Undone: {}", what.unwrap_or_default()));
            self.mend_selection();
        }
    }

    /// Does an undone step again.
    pub fn redo(&mut self) {
        let what = self.desk.history().redoes().map(str::to_owned);
        if self.desk.history_mut().redo() {
            self.say(format!("Done again: {}", what.unwrap_or_default()));
            self.mend_selection();
        }
    }

    pub(crate) fn mend_selection(&mut self) {
        let lights = &self.desk.scheme().lights;
        let there = |id: LightId| lights.iter().any(|l| l.id == id);
        let entries = self.desk.scheme().colours.regions.len();
        self.entry = self.entry.filter(|k| *k < entries);
        let palette = self.desk.scheme().colours.palette.len();
        self.palette_entry = self.palette_entry.filter(|k| *k < palette);
        self.typed = None;
        self.selected = self.selected.filter(|id| there(*id));
        let first = lights.first().map_or(LightId(0), |l| l.id);
        let mend = |look: Look| match look {
            Look::Light(id) if !there(id) => Look::Light(first),
            other => other,
        };
        (self.look, self.beside) = (mend(self.look), self.beside.map(mend));
        if let Tool::Through(id) = self.tool
            && !there(id)
        {
            self.tool = Tool::Turn;
        }
    }

    /// Sets the tastes and keeps them.
    pub(crate) fn set_taste(&mut self, ctx: &Context, taste: Taste) {
        self.taste = taste;
        self.apply_taste(ctx);
        if let Some(folder) = &self.folder {
            taste.write(folder, &*self.bench);
        }
    }

    fn apply_taste(&self, ctx: &Context) {
        ctx.set_theme(match self.taste.room {
            Room::System => egui::ThemePreference::System,
            Room::Dark => egui::ThemePreference::Dark,
            Room::Light => egui::ThemePreference::Light,
        });
        ctx.set_zoom_factor(self.taste.scale);
        let calm = self.taste.calm;
        ctx.all_styles_mut(|style| style.animation_time = if calm { 0.0 } else { 0.1 });
    }

    /// The whole window.
    pub fn ui(&mut self, ui: &mut Ui) {
        self.logic(ui.ctx());
        crate::keys::keys(self, ui.ctx());
        crate::frame::show(self, ui);
        self.give_order();
    }
}
