//! What happens between two frames: reports are heard, orders given, copies kept.

use super::{Shown, Window};
use crate::bench::Trouble;
use crate::camera::Camera;
use crate::card_palette;
use crate::clerk::Clerk;
use crate::draw::PANES;
use crate::keep::EVERY;
use crate::picture_palette::{Looking, entries};
use crate::said::{After, Question};
use crate::side::Side;
use crate::skin::Hidden;
use crate::step::Step;
use crate::worker::{Order, Report, Stage};
use eframe::egui::{self, Context};
use grisaille_plan::division;
use grisaille_sight::FaceMask;
use std::path::PathBuf;
use std::sync::PoisonError;
use std::time::Duration;

impl Window {
    /// All that happens between two frames: reports are heard, orders given,
    /// copies kept.
    pub fn logic(&mut self, ctx: &Context) {
        let now = ctx.input(|i| i.time);
        self.hear();
        self.hear_clerk();
        self.hear_picture();
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
        let looks = self.looks();
        let order = Order {
            document: self.desk.document().clone(),
            moving: self.moving,
            looks,
            listed: matches!(self.step, Step::Regions | Step::Colours),
            coloured: self.step == Step::Colours,
            marked: self.marked(),
            division: division(&self.desk.scheme().regions),
            hidden: self.hidden.clone(),
            reading: self.reading,
            paints_reading: self.paints_reading,
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
                Report::Ready { picker, findings, whole_height, reading } => {
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
                    self.whole_height = whole_height;
                    self.mask = FaceMask::All;
                    self.masked = None;
                    self.fields.clear();
                    self.shown = None;
                    self.regions = None;
                    self.painted = None;
                    (self.region_face, self.region_name) = (None, None);
                    self.stroke.clear();
                    self.hover = None;
                }
                Report::Regions { division, regions } => self.regions = Some((division, regions)),
                Report::Painted(painted) => self.painted = Some(painted),
                Report::Marks(marks) => {
                    if let Some(canvas) = &self.canvas {
                        canvas.lock().unwrap_or_else(PoisonError::into_inner).set_marks(marks.as_deref());
                    }
                }
                Report::Faces(faces) => {
                    if let Some(canvas) = &self.canvas {
                        canvas.lock().unwrap_or_else(PoisonError::into_inner).set_faces(&faces);
                    }
                }
                Report::Shown { stage, document, draft, plan, fields, read, took } => {
                    if stage == Stage::Instant && self.moving.is_some() {
                        self.answered = Some(took);
                    }
                    self.fields = fields;
                    // An older picture of the same models still knows them.
                    let read = read.or_else(|| self.shown.take().and_then(|s| s.read));
                    self.shown = Some(Shown { stage, document: *document, draft, plan, read, took });
                    self.upload();
                }
                Report::Trouble(why) => self.warn(why),
            }
        }
        self.hide();
    }

    /// Finds out anew what is hidden, if the scheme or the surface has changed.
    fn hide(&mut self) {
        let Some(picker) = self.picker.clone() else { return };
        let choice = &self.desk.scheme().hidden;
        if self.masked.as_ref() != Some(choice) {
            self.hidden = Hidden::of(choice, &picker.ground().mesh);
            self.masked = Some(choice.clone());
            self.mask = self.hidden.mask(picker.ground());
        }
    }

    fn upload(&mut self) {
        let Some(canvas) = &self.canvas else { return };
        let mut canvas = canvas.lock().unwrap_or_else(PoisonError::into_inner);
        let looks = self.looks();
        for (pane, look) in looks.iter().enumerate().take(PANES) {
            match self.fields.iter().find(|(l, _)| l == look) {
                Some((_, field)) => canvas.set_field(pane, field),
                None => canvas.clear_field(pane),
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

    fn hear_picture(&mut self) {
        let Some(answer) = self.looking.as_ref().and_then(Looking::answer) else { return };
        self.looking = None;
        match answer {
            Ok(found) => {
                card_palette::replace(self, entries(&found));
                self.say(format!("{} colours of the picture are the palette now.", found.len()));
            }
            Err(Trouble::Stopped) => {}
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
            let mut changed = self.outside.changed();
            if let Some(paints) = self.desk.paints().filter(|p| changed.contains(p)) {
                // A list of paints is only read: nothing of the work is lost by taking it.
                changed.retain(|p| *p != paints);
                self.paints_reading += 1;
                self.say("The list of paints has changed, and was read again.");
            }
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
}

fn is_focus(event: &egui::Event) -> bool {
    matches!(event, egui::Event::WindowFocused(true))
}
