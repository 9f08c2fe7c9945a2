//! The shelf: opening and saving by recent files, by a list of a folder, or by
//! a path that is typed. It needs nothing of the desktop, so it is there on all.

use crate::desk::SCHEME_ENDING;
use crate::dialog::{Answer, Asked, Wish};
use crate::picture_palette::is_picture;
use crate::theme::{bold, palette};
use crate::window::Window;
use eframe::egui::{Button, Context, Id, Key, Modal, RichText, ScrollArea, TextEdit, Ui};
use grisaille_mesh::MODEL_ENDINGS;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// The ending of lists of paints.
pub(crate) const LIST_ENDING: &str = "csv";

/// The open shelf.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Shelf {
    saving: bool,
    folder: PathBuf,
    path: String,
    rows: Vec<Row>,
    focused: bool,
    /// Where the desktop's own dialog was looked for and not found.
    no_dialog: bool,
}

/// One row of a folder.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Row {
    name: String,
    is_folder: bool,
}

impl Shelf {
    /// To open something, beginning where the last file was.
    #[must_use]
    pub(crate) fn opening(window: &Window) -> Self {
        let near = window.desk.file().map(Path::to_owned).or(window.desk.inputs().into_iter().next());
        let near = near.or(window.recent.paths().first().cloned());
        let folder = near.and_then(|p| p.parent().map(Path::to_owned)).unwrap_or_else(home);
        Self::at(folder, String::new(), false)
    }

    /// To save under a name.
    #[must_use]
    pub(crate) fn saving(path: &Path) -> Self {
        let folder = path.parent().map_or_else(home, Path::to_owned);
        Self::at(folder, path.display().to_string(), true)
    }

    fn at(folder: PathBuf, path: String, saving: bool) -> Self {
        let rows = rows(&folder);
        Self { saving, folder, path, rows, focused: false, no_dialog: false }
    }

    /// Goes to another folder.
    fn go(&mut self, folder: PathBuf) {
        if self.saving {
            let name = Path::new(&self.path).file_name().map(PathBuf::from).unwrap_or_default();
            self.path = folder.join(name).display().to_string();
        }
        self.rows = rows(&folder);
        self.folder = folder;
    }
}

/// Where a painter's files are if nothing else is known.
fn home() -> PathBuf {
    let place = std::env::var_os("HOME").or_else(|| std::env::var_os("USERPROFILE")).map(PathBuf::from);
    place.or_else(|| std::env::current_dir().ok()).unwrap_or_default()
}

/// Folders, models, schemes, lists of paints and pictures of a folder, folders first, by name.
fn rows(folder: &Path) -> Vec<Row> {
    let Ok(entries) = std::fs::read_dir(folder) else { return Vec::new() };
    let mut rows: Vec<Row> = entries
        .flatten()
        .filter_map(|entry| {
            let name = entry.file_name().to_string_lossy().into_owned();
            let is_folder = entry.path().is_dir();
            let shown = is_folder || is_ours(Path::new(&name));
            (shown && !name.starts_with('.')).then_some(Row { name, is_folder })
        })
        .collect();
    rows.sort_by_key(|row| (!row.is_folder, row.name.to_lowercase()));
    rows
}

fn is_ours(path: &Path) -> bool {
    let mut endings = MODEL_ENDINGS.iter().chain(&[SCHEME_ENDING, LIST_ENDING]);
    is_picture(path) || path.extension().is_some_and(|e| endings.any(|ours| e.eq_ignore_ascii_case(ours)))
}

/// What was decided on the shelf.
enum Choice {
    Open(Vec<PathBuf>),
    Save(PathBuf),
    Leave,
}

pub(crate) fn show(window: &mut Window, ctx: &Context) {
    let Some(mut shelf) = window.shelf.take() else { return };
    let mut choice = None;
    let modal = Modal::new(Id::unique("shelf")).show(ctx, |ui| {
        ui.set_width(520.0_f32.min(ctx.content_rect().width() - 60.0));
        ui.heading(if shelf.saving {
            "Save the scheme"
        } else {
            "Open a print, a scheme, a list of paints or a picture"
        });
        path_field(&mut shelf, ui, &mut choice);
        desktop_dialog(window, &mut shelf, ui, &mut choice);
        if !shelf.saving && !window.recent.paths().is_empty() {
            ui.label(RichText::new("Lately").family(bold()));
            for path in window.recent.paths().iter().take(4) {
                if ui.button(name(path)).on_hover_text(path.display().to_string()).clicked() {
                    choice = Some(Choice::Open(vec![path.clone()]));
                }
            }
        }
        list(&mut shelf, ui, &mut choice);
        ui.add_space(6.0);
        ui.horizontal(|ui| {
            if !shelf.saving && ui.button("The diver").on_hover_text("The model that is built in").clicked() {
                choice = Some(Choice::Open(Vec::new()));
            }
            if ui.button("Back to the figure").clicked() {
                choice = Some(Choice::Leave);
            }
        });
    });
    if modal.should_close() || ctx.input(|i| i.key_pressed(Key::Escape)) {
        choice.get_or_insert(Choice::Leave);
    }
    if choice.is_some() {
        // What a dialog that is still open answers is not asked for any more.
        window.asked = None;
    }
    match choice {
        None => window.shelf = Some(shelf),
        Some(Choice::Leave) => {}
        Some(Choice::Open(paths)) => window.ask_to_open(paths),
        Some(Choice::Save(path)) => {
            if !window.save_to(&path) {
                window.shelf = Some(shelf);
            }
        }
    }
}

fn name(path: &Path) -> String {
    path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned())
}

fn path_field(shelf: &mut Shelf, ui: &mut Ui, choice: &mut Option<Choice>) {
    let label = ui.label(if shelf.saving { "Name and place" } else { "Path" });
    let hint = if shelf.saving { "" } else { "Type or paste a path, or choose below" };
    let field = TextEdit::singleline(&mut shelf.path).hint_text(hint).desired_width(f32::INFINITY);
    let field = ui.add(field).labelled_by(label.id);
    if !shelf.focused {
        field.request_focus();
        shelf.focused = true;
    }
    let entered = field.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter));
    let button = Button::new(if shelf.saving { "Save here" } else { "Open this" });
    let there = !shelf.path.trim().is_empty();
    if (ui.add_enabled(there, button).clicked() || entered) && there {
        let path = PathBuf::from(shelf.path.trim().trim_matches('"'));
        if shelf.saving {
            *choice = Some(Choice::Save(ending_with_ours(path)));
        } else if path.is_dir() {
            shelf.go(path);
            shelf.path.clear();
        } else {
            *choice = Some(Choice::Open(vec![path]));
        }
    }
}

/// The desktop's own dialog, for who knows its places by heart.
fn desktop_dialog(window: &mut Window, shelf: &mut Shelf, ui: &mut Ui, choice: &mut Option<Choice>) {
    let answer = window.asked.as_ref().map(Asked::answer);
    if let Some(answer) = answer
        && answer != Answer::Waiting
    {
        window.asked = None;
        match answer {
            Answer::Paths(paths) if shelf.saving => {
                *choice = paths.into_iter().next().map(|path| Choice::Save(ending_with_ours(path)));
            }
            Answer::Paths(paths) => *choice = Some(Choice::Open(paths)),
            Answer::NoDialog => shelf.no_dialog = true,
            Answer::Nothing | Answer::Waiting => {}
        }
    }
    if shelf.no_dialog {
        ui.label("This desktop shows no dialog of its own. Type the path, or choose below.");
        return;
    }
    let waiting = window.asked.is_some();
    let button = Button::new("The desktop's own dialog…");
    if ui.add_enabled(!waiting, button).on_disabled_hover_text("It is open").clicked() {
        let wish = if shelf.saving {
            // A zero, pasted by mistake, is in no path, and the desktop would stumble over it.
            Wish::Save(ending_with_ours(PathBuf::from(shelf.path.trim().replace('\0', ""))))
        } else {
            Wish::Open(shelf.folder.clone())
        };
        window.asked = Some(Asked::ask(&window.desktop, &wish, Arc::clone(&window.wake)));
    }
}

/// A path with the ending of a scheme.
fn ending_with_ours(mut path: PathBuf) -> PathBuf {
    if !path.extension().is_some_and(|e| e.eq_ignore_ascii_case(SCHEME_ENDING)) {
        path.as_mut_os_string().push(format!(".{SCHEME_ENDING}"));
    }
    path
}

fn list(shelf: &mut Shelf, ui: &mut Ui, choice: &mut Option<Choice>) {
    let colours = palette(ui.ctx());
    ui.label(RichText::new(shelf.folder.display().to_string()).color(colours.quiet));
    let mut go = None;
    ScrollArea::vertical().max_height(260.0).auto_shrink([false, true]).show(ui, |ui| {
        if let Some(parent) = shelf.folder.parent()
            && ui.button("Up, out of this folder").clicked()
        {
            go = Some(parent.to_owned());
        }
        for row in &shelf.rows {
            let path = shelf.folder.join(&row.name);
            if row.is_folder {
                if ui.button(format!("{}/", row.name)).clicked() {
                    go = Some(path);
                }
            } else if ui.add(Button::new(&row.name).frame_when_inactive(false)).clicked() {
                if shelf.saving {
                    shelf.path = path.display().to_string();
                } else {
                    *choice = Some(Choice::Open(vec![path]));
                }
            }
        }
        if shelf.rows.is_empty() {
            ui.label(
                "No prints (STL, OBJ, 3MF, PLY), schemes, lists of paints (CSV) or pictures in this folder.",
            );
        }
    });
    if let Some(folder) = go {
        shelf.go(folder);
    }
}
