//! The window: what it holds, and what happens between two frames.

use crate::bench::{Bench, Product, Trouble};
use crate::camera::Camera;
use crate::clerk::Clerk;
use crate::desk::{Desk, SCHEME_ENDING, absolute};
use crate::draw::{Canvas, PANES};
use crate::keep::{EVERY, Keeper, Left, left_behind};
use crate::look::{Field, Look};
use crate::outside::Outside;
use crate::pick::{Picker, Reading, Spot};
use crate::recent::Recent;
use crate::shelf::Shelf;
use crate::side::Side;
use crate::skin::Hidden;
use crate::taste::{Room, Taste};
use crate::theme;
use crate::worker::{Order, Report, Stage, Worker};
use eframe::egui::{self, Context, Ui};
use grisaille_base::{Finding, LightId};
use grisaille_plan::{Draft, Ground, Plan};
use grisaille_scheme::{Document, LightChoice};
use grisaille_sight::FaceMask;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

/// The painter's order of work.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// What it is, how large, which way up.
    Figure,
    /// Where the light comes from.
    Light,
    /// What becomes light and dark.
    Values,
    /// What goes to the bench.
    Sheets,
}

impl Step {
    /// All of them, in order.
    pub const ALL: [Self; 4] = [Self::Figure, Self::Light, Self::Values, Self::Sheets];

    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Figure => "Figure",
            Self::Light => "Light",
            Self::Values => "Values",
            Self::Sheets => "Sheets",
        }
    }

    /// What it is for, as a tooltip.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Figure => "Open your print, set its size and which way is up",
            Self::Light => "Place the daylight and the lamps",
            Self::Values => "See what becomes light and dark, and how many tones to mix",
            Self::Sheets => "Print the sheets and take them to the bench",
        }
    }
}

/// What a click on the figure does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Tool {
    /// Turns it.
    Turn,
    /// Places a lamp.
    PlaceLamp,
    /// Names a piece that lets a light through, or takes it back.
    Through(LightId),
    /// Points at the sole, then at the eye.
    Sole,
    /// Points at the eye; the sole's height is known.
    Eye(f64),
    /// Hides a piece.
    Hide,
}

/// A line for the painter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Message {
    /// What it says.
    pub text: String,
    /// It tells of trouble.
    pub trouble: bool,
}

/// Something that must be answered first.
#[derive(Clone, Debug, PartialEq)]
pub enum Question {
    /// Work is not saved, and this is about to happen.
    Unsaved(After),
    /// A scheme or model was changed outside.
    Changed(PathBuf),
    /// Work was left behind by a window that ended without goodbye.
    Rescue(Box<Left>),
}

/// What happens once unsaved work is seen to.
#[derive(Clone, Debug, PartialEq)]
pub enum After {
    /// The window closes.
    Close,
    /// These files are opened; the diver if there are none.
    Open(Vec<PathBuf>),
}

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
    /// From order to report.
    pub took: Duration,
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
    wake: Arc<dyn Fn() + Send + Sync>,
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
    masked: Hidden,
    pub(crate) findings: Vec<Finding>,
    pub(crate) shown: Option<Shown>,
    fields: Vec<(Look, Arc<Field>)>,
    reading: u64,
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
    pub(crate) selected: Option<LightId>,
    pub(crate) moving: Option<LightId>,
    pub(crate) hidden: Hidden,
    pub(crate) squint: bool,
    pub(crate) arm: f64,
    pub(crate) hover: Option<Hover>,
    /// The lamp under the pointer, by name.
    pub(crate) pointed: Option<String>,
    pub(crate) message: Option<Message>,
    pub(crate) question: Option<Question>,
    pub(crate) shelf: Option<Shelf>,
    pub(crate) hint: Option<usize>,
    pub(crate) export_path: String,
    pub(crate) export_what: Product,
    pub(crate) eye_height: f64,
    /// How long our own code took for each frame, while a script plays.
    pub(crate) frames: Vec<Duration>,
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
            masked: Hidden::default(),
            findings: Vec::new(),
            shown: None,
            fields: Vec::new(),
            reading: 0,
            ordered: None,
            canvas: canvas.map(|c| Arc::new(Mutex::new(c))),
            camera: None,
            glide: None,
            pane_size: [800.0, 600.0],
            pane_rect: egui::Rect::from_min_size(egui::Pos2::ZERO, egui::vec2(800.0, 600.0)),
            frames: Vec::new(),
            answered: None,
            turned_at: -10.0,
            look: Look::Greys,
            beside: None,
            step: Step::Light,
            tool: Tool::Turn,
            selected: None,
            moving: None,
            hidden: Hidden::default(),
            squint: false,
            arm: 1.0,
            hover: None,
            pointed: None,
            message,
            question: None,
            shelf: None,
            hint,
            export_path: String::new(),
            export_what: Product::Guide,
            eye_height: 28.0,
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

    /// What the worker does.
    pub(crate) fn progress(&self) -> crate::worker::Progress {
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

    /// Opens models or one scheme in place of what is on the desk; asks first
    /// if that is not saved.
    pub fn ask_to_open(&mut self, paths: Vec<PathBuf>) {
        if self.desk.unsaved() {
            self.question = Some(Question::Unsaved(After::Open(paths)));
        } else {
            self.open(&paths);
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
            Product::Picture => format!("{stem}-values.png"),
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

    fn look_after_files(&mut self) {
        let file = self.desk.file().map(Path::to_owned);
        self.outside = Outside::of(self.desk.inputs().into_iter().chain(file));
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
            self.desk.document().clone(),
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

    /// Reads the models of the desk again.
    pub(crate) fn read_again(&mut self) {
        self.reading += 1;
        self.look_after_files();
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

    /// Goes on to a step of the work and shows what it asks about.
    pub fn go_to(&mut self, step: Step) {
        self.step = step;
        self.tool = Tool::Turn;
        self.look = match step {
            Step::Figure => Look::Primed,
            Step::Light => Look::Greys,
            Step::Values => Look::Bands,
            Step::Sheets => Look::Primed,
        };
        self.beside = (step == Step::Sheets).then_some(Look::Bands);
    }

    /// Looks from a side.
    pub fn look_from(&mut self, side: Side, now: f64) {
        if let (Some(camera), Some(bounds)) = (self.camera, self.ground().map(|g| g.mesh.bounds())) {
            let mut goal = camera;
            goal.snap(side);
            goal.fill(&bounds, self.pane_size);
            self.glide_to(goal, now);
        }
    }

    /// Shows all of the figure from where it is looked at.
    pub fn fit(&mut self, now: f64) {
        if let (Some(mut goal), Some(bounds)) = (self.camera, self.ground().map(|g| g.mesh.bounds())) {
            goal.fill(&bounds, self.pane_size);
            self.glide_to(goal, now);
        }
    }

    /// Takes the size of the pane in points; a figure that fits in it goes on fitting.
    pub(crate) fn set_pane(&mut self, size: [f64; 2]) {
        if self.pane_size == size {
            return;
        }
        self.pane_size = size;
        let Some(bounds) = self.ground().map(|g| g.mesh.bounds()) else { return };
        for camera in self.camera.iter_mut().chain(self.glide.as_mut().map(|(_, goal, _)| goal)) {
            if camera.fits() {
                camera.fill(&bounds, size);
            }
        }
    }

    fn glide_to(&mut self, goal: Camera, now: f64) {
        if self.taste.calm {
            self.camera = Some(goal);
        } else if let Some(from) = self.camera {
            self.glide = Some((from, goal, now));
        }
    }

    /// All that happens between two frames: reports are heard, orders given,
    /// copies kept.
    pub fn logic(&mut self, ctx: &Context) {
        let now = ctx.input(|i| i.time);
        self.hear();
        self.hear_clerk();
        self.take_dropped(ctx);
        self.look_outside(ctx, now);
        self.keep_copy(ctx, now);
        self.mind_the_close(ctx);
        self.advance_glide(ctx, now);
        let title = self.title();
        if title != self.loaded_name {
            ctx.send_viewport_cmd(egui::ViewportCommand::Title(title.clone()));
            self.loaded_name = title;
        }
    }

    /// What stands on the window's frame.
    fn title(&self) -> String {
        let mark = if self.desk.unsaved() { " (not saved)" } else { "" };
        format!("{}{mark} - grisaille", self.desk.scheme().title)
    }

    /// Gives the worker the order for what is on screen, if it is a new one.
    pub(crate) fn give_order(&mut self) {
        let looks: Vec<Look> = std::iter::once(self.look).chain(self.beside).collect();
        let order = Order {
            document: self.desk.document().clone(),
            moving: self.moving,
            looks,
            hidden: self.hidden.clone(),
            reading: self.reading,
        };
        if self.ordered.as_ref() != Some(&order) {
            self.ordered = Some(order.clone());
            self.worker.order(order);
        }
    }

    fn hear(&mut self) {
        let reports: Vec<Report> = self.worker.reports().collect();
        for report in reports {
            match report {
                Report::Ready { picker, findings, reading } => {
                    if reading != self.reading {
                        continue;
                    }
                    if let Some(canvas) = &self.canvas {
                        canvas.lock().unwrap_or_else(PoisonError::into_inner).set_surface(picker.ground());
                    }
                    let bounds = picker.ground().mesh.bounds();
                    if self.camera.is_none() {
                        self.camera = Some(Camera::fit(&bounds, Side::ThreeQuarter, self.pane_size));
                    }
                    self.picker = Some(picker);
                    self.findings = findings;
                    self.mask = FaceMask::All;
                    self.masked = Hidden::default();
                    self.fields.clear();
                    self.shown = None;
                    self.hover = None;
                }
                Report::Faces(faces) => {
                    if let Some(canvas) = &self.canvas {
                        canvas.lock().unwrap_or_else(PoisonError::into_inner).set_faces(&faces);
                    }
                }
                Report::Shown { stage, document, draft, plan, fields, took } => {
                    if stage == Stage::Instant && self.moving.is_some() {
                        self.answered = Some(took);
                    }
                    self.fields = fields;
                    self.shown = Some(Shown { stage, document: *document, draft, plan, took });
                    self.upload();
                }
                Report::Trouble(why) => self.warn(why),
            }
        }
        if self.masked != self.hidden {
            self.masked = self.hidden.clone();
            self.mask = self.ground().map_or(FaceMask::All, |g| self.hidden.mask(g));
        }
    }

    fn upload(&mut self) {
        let Some(canvas) = &self.canvas else { return };
        let mut canvas = canvas.lock().unwrap_or_else(PoisonError::into_inner);
        let looks: Vec<Look> = std::iter::once(self.look).chain(self.beside).collect();
        for (pane, look) in looks.iter().enumerate().take(PANES) {
            if let Some((_, field)) = self.fields.iter().find(|(l, _)| l == look) {
                canvas.set_field(pane, field);
            }
        }
    }

    fn hear_clerk(&mut self) {
        let Some(result) = self.clerk.as_ref().and_then(Clerk::result) else { return };
        let Some(clerk) = self.clerk.take() else { return };
        let (_, to) = clerk.work();
        match result {
            Ok(hints) => {
                let mut text = format!("Ready: {}", to.display());
                for hint in hints {
                    text += &format!(". {hint}");
                }
                self.say(text);
            }
            Err(Trouble::Stopped) => self.say("Stopped. Nothing was left half-written."),
            Err(Trouble::Said(why)) => self.warn(why),
        }
    }

    fn take_dropped(&mut self, ctx: &Context) {
        let dropped: Vec<PathBuf> =
            ctx.input(|i| i.raw.dropped_files.iter().map(|f| f.path().to_owned()).collect());
        if !dropped.is_empty() {
            self.ask_to_open(dropped);
        }
    }

    fn look_outside(&mut self, ctx: &Context, now: f64) {
        /// Seconds between two looks at the files, while there is anything to draw.
        const EACH: f64 = 2.0;
        if now - self.looked_outside >= EACH || ctx.input(|i| i.focused && i.events.iter().any(is_focus)) {
            self.looked_outside = now;
            let changed = self.outside.changed();
            if let Some(path) = changed.into_iter().next()
                && self.question.is_none()
            {
                self.question = Some(Question::Changed(path));
            }
        }
    }

    /// Keeps a copy of unsaved work within seconds of its change.
    fn keep_copy(&mut self, ctx: &Context, now: f64) {
        let Some(keeper) = &self.keeper else { return };
        if !self.desk.unsaved() {
            if self.kept.take().is_some() {
                keeper.drop_copy();
            }
            return;
        }
        let document = self.desk.document();
        let (same, last) = match &self.kept {
            Some((kept, at)) => (kept == document, *at),
            None => (false, f64::NEG_INFINITY),
        };
        if same {
            return;
        }
        if now - last < EVERY {
            ctx.request_repaint_after(Duration::from_secs_f64(EVERY - (now - last) + 0.01));
            return;
        }
        let result = keeper.keep(document, self.desk.file(), &*self.bench);
        self.kept = Some((document.clone(), now));
        if let Err(trouble) = result {
            self.warn(format!("No safety copy could be written: {trouble}. Save your work elsewhere."));
        }
    }

    fn mind_the_close(&mut self, ctx: &Context) {
        if !ctx.input(|i| i.viewport().close_requested()) {
            return;
        }
        if self.desk.unsaved() && !self.closing {
            ctx.send_viewport_cmd(egui::ViewportCommand::CancelClose);
            self.question = Some(Question::Unsaved(After::Close));
        } else {
            self.leave();
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

    fn advance_glide(&mut self, ctx: &Context, now: f64) {
        /// Seconds that a view takes to turn.
        const TAKES: f64 = 0.25;
        let Some((from, to, begun)) = self.glide else { return };
        let t = ((now - begun) / TAKES).clamp(0.0, 1.0);
        let eased = t * t * (3.0 - 2.0 * t);
        self.camera = Some(from.toward(&to, eased));
        if t >= 1.0 {
            self.camera = Some(to);
            self.glide = None;
        } else {
            self.turned_at = now;
        }
        ctx.request_repaint();
    }

    /// The whole window.
    pub fn ui(&mut self, ui: &mut Ui) {
        self.logic(ui.ctx());
        crate::keys::keys(self, ui.ctx());
        crate::frame::show(self, ui);
        self.give_order();
    }
}

fn is_focus(event: &egui::Event) -> bool {
    matches!(event, egui::Event::WindowFocused(true))
}

/// Whether a path names a scheme.
#[must_use]
pub(crate) fn is_scheme(path: &Path) -> bool {
    path.extension().is_some_and(|e| e.eq_ignore_ascii_case(SCHEME_ENDING))
}
