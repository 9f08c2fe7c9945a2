//! The layout: the painter's order of work along the top, the figure in the
//! middle, one card for the step at hand beside it, and a line of words below.

use crate::said::{After, Message, Question};
use crate::step::{Step, Tool};
use crate::theme::{bold, palette};
use crate::window::{HINTS, Window};
use crate::{card_colours, card_figure, card_light, card_regions, card_sheets, card_values, figure, shelf};
use eframe::egui::{
    self, Align, Button, Context, CornerRadius, Frame, Id, Key, Layout, Margin, Modal, Panel, ProgressBar,
    RichText, ScrollArea, Sense, Stroke, Ui, vec2,
};
use std::path::Path;

/// Width of the card in points.
const CARD: f32 = 316.0;

pub(crate) fn show(window: &mut Window, ui: &mut Ui) {
    let colours = palette(ui.ctx());
    let bar = Frame::new().fill(colours.table).inner_margin(Margin::symmetric(12, 8));
    Panel::top("work").frame(bar).show(ui, |ui| way(window, ui));
    Panel::bottom("words").frame(bar.inner_margin(Margin::symmetric(12, 6))).show(ui, |ui| words(window, ui));
    let side = Frame::new().fill(colours.table).inner_margin(Margin::symmetric(12, 4));
    // At 300 % on a small screen the figure keeps at least half of the width.
    let width = CARD.min(ui.available_width() * 0.5);
    Panel::right("card").frame(side).resizable(false).exact_size(width).show(ui, |ui| {
        ScrollArea::vertical().auto_shrink([false, false]).show(ui, |ui| {
            ui.set_width(ui.available_width() - 6.0);
            // Beside a slider stands its number.
            ui.spacing_mut().slider_width = (ui.available_width() - 100.0).clamp(50.0, 200.0);
            hints(window, ui);
            match window.step {
                Step::Figure => card_figure::show(window, ui),
                Step::Regions => card_regions::show(window, ui),
                Step::Light => card_light::show(window, ui),
                Step::Values => card_values::show(window, ui),
                Step::Colours => card_colours::show(window, ui),
                Step::Sheets => card_sheets::show(window, ui),
            }
            ui.add_space(12.0);
        });
    });
    figure::show(window, ui);
    shelf::show(window, ui.ctx());
    questions(window, ui.ctx());
}

/// The order of work, and what belongs to the whole document: one row, or two
/// where the window is narrow.
fn way(window: &mut Window, ui: &mut Ui) {
    /// Points that both take side by side.
    const BOTH: f32 = 960.0;
    if ui.available_width() < BOTH {
        ui.horizontal_wrapped(|ui| steps(window, ui));
        ui.with_layout(Layout::right_to_left(Align::Min), |ui| whole(window, ui));
    } else {
        ui.horizontal(|ui| {
            steps(window, ui);
            ui.with_layout(Layout::right_to_left(Align::Center), |ui| whole(window, ui));
        });
    }
}

fn steps(window: &mut Window, ui: &mut Ui) {
    let colours = palette(ui.ctx());
    for (n, step) in Step::ALL.into_iter().enumerate() {
        if n > 0 {
            // A stretch of thread between two beads.
            let (rect, _) = ui.allocate_exact_size(vec2(14.0, 30.0), Sense::hover());
            let line = Stroke::new(2.0, colours.quiet.gamma_multiply(0.6));
            ui.painter().line_segment([rect.left_center(), rect.right_center()], line);
        }
        let chosen = window.step == step;
        let text = RichText::new(format!("{}  {}", n + 1, step.name()));
        let text = if chosen { text.family(bold()) } else { text };
        let bead =
            Button::selectable(chosen, text).frame_when_inactive(true).corner_radius(CornerRadius::same(15));
        if ui.add(bead).on_hover_text(format!("{} (F{})", step.words(), n + 1)).clicked() {
            window.go_to(step);
        }
    }
}

/// From right to left.
fn whole(window: &mut Window, ui: &mut Ui) {
    if ui.button("Open…").on_hover_text("Open a print or a scheme (Ctrl+O), or drop files here").clicked() {
        window.shelf = Some(shelf::Shelf::opening(window));
    }
    let kept = !window.desk.unsaved() && window.desk.file().is_some();
    let save = Button::new(if kept { "Saved" } else { "Save" });
    if ui
        .add_enabled(!kept, save)
        .on_hover_text("Keep the scheme in its file (Ctrl+S; Ctrl+Shift+S under another name)")
        .clicked()
    {
        window.save();
    }
    let redo = window.desk.history().redoes().map(|w| format!("Do again: {w} (Ctrl+Shift+Z)"));
    let button = ui.add_enabled(redo.is_some(), Button::new("Redo"));
    if button.on_hover_text(redo.unwrap_or_default()).clicked() {
        window.redo();
    }
    let undo = window.desk.history().undoes().map(|w| format!("Undo: {w} (Ctrl+Z)"));
    let button = ui.add_enabled(undo.is_some(), Button::new("Undo"));
    if button.on_hover_text(undo.unwrap_or_default()).clicked() {
        window.undo();
    }
}

/// What is being done or was said last.
fn words(window: &mut Window, ui: &mut Ui) {
    let colours = palette(ui.ctx());
    ui.horizontal(|ui| {
        // As high as with a button in it: the figure does not jump when work begins.
        ui.set_min_height(30.0);
        let clerk = window.clerk.as_ref().map(|c| (c.progress(), c.work().1.display().to_string()));
        if let Some((progress, to)) = clerk {
            let share = progress.share.unwrap_or(0.0);
            ui.add(ProgressBar::new(share).desired_width(120.0)).on_hover_text(&to);
            ui.label(format!("{} for {}", progress.words.unwrap_or("Working"), short(&to)));
            if ui.button("Stop making it").clicked()
                && let Some(clerk) = &window.clerk
            {
                clerk.stop();
            }
            ui.separator();
        }
        let progress = window.progress();
        if let Some(words) = progress.words.filter(|_| window.busy()) {
            ui.add(ProgressBar::new(progress.share.unwrap_or(0.0)).desired_width(120.0));
            ui.label(words);
            if ui.button("Stop").on_hover_text("Stop this work; what is shown stays (Esc)").clicked() {
                window.stop_work();
            }
            ui.separator();
        }
        let tool = match window.tool {
            Tool::Turn => None,
            Tool::PlaceLamp => Some("Click on the figure, or beside it, to place the lamp. Esc leaves it."),
            Tool::Through(_) => Some("Click on each part that lets this lamp shine through. Esc when done."),
            Tool::Sole => Some("Click on the sole of the foot, where the figure stands."),
            Tool::Eye(_) => Some("Now click on the eye."),
            Tool::Focus => Some("Click on what should be seen first: the face, a hand. Esc leaves it."),
            Tool::Keep => Some("Click on what is to stay fine: hair, chain, texture. Esc leaves it."),
            Tool::FaceEye(_) => Some("Click on the middle of one eye, either. Esc leaves it."),
            Tool::Face => Some("Turn the face to you, then click on the tip of its nose. Esc leaves it."),
            Tool::Hide => Some("Click on a part to put it out of sight. Esc when done."),
            Tool::Join => Some("Drag over the regions that are to be one, or click on one to join it to the chosen one. Esc when done."),
            Tool::Grow => Some("Draw a stroke on each part: they grow until they meet. Esc when done."),
            Tool::Split(None) => Some("Click on one end of the region to divide."),
            Tool::Split(Some(_)) => Some("Now click on its other end."),
            Tool::LeaveOut => Some("Click on a part to leave it out of the plan. Esc leaves it."),
        };
        if let Some(tool) = tool {
            ui.colored_label(colours.brass, tool);
            return;
        }
        if let Some(name) = &window.pointed {
            let text = format!("{name}: drag it over the figure; with Shift straight across the view.");
            ui.add(egui::Label::new(RichText::new(text).color(colours.ink)).truncate());
            return;
        }
        match window.message.clone() {
            Some(Message { text, trouble }) => {
                let colour = if trouble { colours.rust } else { colours.ink };
                let text = if trouble { format!("Attention: {text}") } else { text };
                ui.add(egui::Label::new(RichText::new(&text).color(colour)).truncate()).on_hover_text(&text);
                if trouble && ui.button("All right").clicked() {
                    window.message = None;
                }
            }
            None => {
                let unsure = window.findings.iter().find(|f| window.step == Step::Figure && !f.hint.is_empty());
                let text = unsure.map_or_else(
                    || "Drag to turn, scroll to come nearer, right-drag to move. Keys 1 to 6 look from a side.".into(),
                    |f| f.hint.clone(),
                );
                ui.add(egui::Label::new(RichText::new(&text).color(colours.quiet)).truncate()).on_hover_text(&text);
            }
        }
    });
}

fn short(path: &str) -> String {
    Path::new(path).file_name().map_or_else(|| path.to_owned(), |n| n.to_string_lossy().into_owned())
}

/// The three hints of the first start, one after the other, on top of the card:
/// nothing lies over the figure. What a hint asks for, once done, brings the next.
fn hints(window: &mut Window, ui: &mut Ui) {
    const WORDS: [(&str, &str); HINTS] = [
        ("Turn it in your hand", "Drag on the figure. Scroll to come nearer."),
        ("Move the light", "Drag a lamp's glowing dot over the figure. L and a click place a new one."),
        ("Take it to the bench", "Step 6 prints the sheets. Open your own print at the top right."),
    ];
    let Some(at) = window.hint else { return };
    let Some((head, text)) = WORDS.get(at) else { return };
    let colours = palette(ui.ctx());
    let last = at + 1 == HINTS;
    let paper = Frame::new()
        .fill(colours.card)
        .stroke(Stroke::new(2.0, colours.brass))
        .corner_radius(CornerRadius::same(10))
        .inner_margin(Margin::same(12));
    let done = match at {
        0 => window.turned_at > 0.0,
        1 => window.moving.is_none() && window.desk.history().undoes().is_some(),
        _ => window.step == Step::Sheets,
    };
    let after = (!last).then_some(at + 1);
    let mut next = if done { after } else { Some(at) };
    ui.add_space(8.0);
    paper.show(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.label(RichText::new(format!("{} of {HINTS}  {head}", at + 1)).family(bold()).size(16.0));
        ui.label(*text);
        ui.horizontal_wrapped(|ui| {
            if ui.button(if last { "Begin" } else { "Next hint" }).clicked() {
                next = after;
            }
            if !last && ui.button("No hints").clicked() {
                next = None;
            }
        });
    });
    window.hint = next;
    if window.hint.is_none() {
        let taste = crate::taste::Taste { hinted: true, ..window.taste };
        window.set_taste(ui.ctx(), taste);
    }
}

/// What must be answered first.
fn questions(window: &mut Window, ctx: &Context) {
    let Some(question) = window.question.clone() else { return };
    let name = |path: &Path| short(&path.display().to_string());
    let modal = Modal::new(Id::unique("question")).show(ctx, |ui| {
        ui.set_max_width(430.0);
        match &question {
            Question::Unsaved(after) => {
                ui.heading("Your work is not saved");
                ui.label(match after {
                    After::Close => "Save the scheme before the window closes?",
                    After::Open(_) => "Save the scheme before another takes its place?",
                });
                ui.horizontal(|ui| {
                    if ui.button("Save it").clicked() {
                        if window.save() {
                            window.question = None;
                            window.go_on(ui.ctx(), after.clone());
                        } else if window.shelf.is_some() {
                            // The shelf asks where; what follows is begun again by hand.
                            window.question = None;
                        }
                    }
                    if ui.button("Go on without saving").clicked() {
                        window.question = None;
                        window.go_on(ui.ctx(), after.clone());
                    }
                    if ui.button("Stay here").clicked() {
                        window.question = None;
                    }
                });
            }
            Question::Changed(path) => {
                ui.heading("A file has changed");
                let is_model = window.desk.inputs().contains(path);
                ui.label(format!("'{}' was changed by another program.", name(path)));
                if !is_model && window.desk.unsaved() {
                    ui.label("Taking it puts your unsaved changes aside; saving yours replaces it.");
                }
                ui.horizontal(|ui| {
                    if ui.button(if is_model { "Read it again" } else { "Take the changed one" }).clicked() {
                        window.question = None;
                        if is_model {
                            window.read_again();
                        } else {
                            window.open(std::slice::from_ref(path));
                        }
                    }
                    if ui.button(if is_model { "Not now" } else { "Keep mine" }).clicked() {
                        window.question = None;
                    }
                });
            }
            Question::Rescue(left) => {
                ui.heading("Work was left behind");
                ui.label(format!(
                    "The window ended without goodbye while you worked on '{}'. Nothing is lost.",
                    left.document.scheme.title
                ));
                ui.horizontal(|ui| {
                    if ui.button("Take it up again").clicked() {
                        window.question = None;
                        let desk = crate::desk::Desk::rescued(
                            left.document.clone(),
                            left.file.clone(),
                            &*window.bench,
                        );
                        window.put_on(desk);
                        // From here on this window's own copy keeps it.
                        left.forget();
                        window.say("Taken up again. Save it to keep it.");
                    }
                    if ui.button("Throw it away").clicked() {
                        window.question = None;
                        left.forget();
                    }
                    if ui.button("Decide later").clicked() {
                        window.question = None;
                    }
                });
            }
        }
    });
    if modal.should_close() || ctx.input(|i| i.key_pressed(Key::Escape)) {
        window.question = None;
    }
}
