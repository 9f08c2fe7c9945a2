//! The window as a screen reader and a keyboard see it: the AccessKit tree, no
//! graphics card. The model is a ball on a base, so that plans take a moment.

use eframe::egui::{Key, Modifiers, Role, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use grisaille_base::{Millimetres, Watch};
use grisaille_bodies::{cuboid, icosphere, moved, scaled, stl};
use grisaille_colour::read_paints;
use grisaille_mesh::{ReadSettings, read};
use grisaille_plan::{Loaded, Products, Shelf, coloured, leave_out, plan};
use grisaille_preview::{
    Bench, Chosen, Look, Product, Question, ReadAlready, Step, Trouble, Window, Wish, dress,
};
use grisaille_scheme::{
    Document, LightChoice, ModelEntry, ModelSource, PrimerTones, Scheme, SurfaceChoice, read_document,
};
use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// Any model file is read as it is; the built-in one is a ball on a base.
struct Ball;

impl Bench for Ball {
    fn load(&self, document: &Document, watch: &Watch) -> Result<Loaded, Trouble> {
        let bytes = match document.models.first().map(|m| &m.source) {
            Some(ModelSource::File(path)) => self.read(path)?,
            _ => ball(),
        };
        let said = |e: &dyn Error| Trouble::Said(e.to_string());
        let (mesh, findings) = read(&bytes, &ReadSettings::default(), watch).map_err(|e| said(&e))?;
        leave_out(mesh, findings, &document.scheme.left_out, watch).map_err(|e| said(&e))
    }

    fn make(
        &self,
        _: Product,
        _: &Document,
        _: &[Look],
        _: Option<&ReadAlready>,
        to: &Path,
        _: &Watch,
    ) -> Result<Vec<String>, Trouble> {
        self.write(to, b"sheets", &[])?;
        Ok(vec!["a hint".into()])
    }

    fn read(&self, path: &Path) -> Result<Vec<u8>, Trouble> {
        fs::read(path).map_err(|e| Trouble::Said(format!("cannot read '{}': {e}", path.display())))
    }

    fn write(&self, path: &Path, bytes: &[u8], _: &[PathBuf]) -> Result<(), Trouble> {
        fs::write(path, bytes).map_err(|e| Trouble::Said(format!("cannot write '{}': {e}", path.display())))
    }

    fn watch(&self) -> Watch {
        Watch::quiet()
    }

    fn phase(&self, phase: &'static str) -> &'static str {
        phase
    }

    fn diver(&self) -> Document {
        let usual = Scheme::default();
        let surface = SurfaceChoice { spacing: Some(Millimetres(1.0)), ..usual.surface };
        let mut scheme = Scheme { title: "Ball".into(), surface, ..usual };
        scheme.add_lamp("hand-lamp", [0.0, -12.0, 14.0], None, Millimetres(0.5)).expect("a lamp");
        Document { models: vec![ModelEntry::new(ModelSource::Diver)], scheme }
    }
}

fn ball() -> Vec<u8> {
    let mut soup = moved(scaled(icosphere(3), 6.0), [0.0, 0.0, 8.0]);
    soup.extend(cuboid([-10.0, -10.0, 0.0], [10.0, 10.0, 3.0]));
    stl(&soup)
}

/// The window is made on the harness's own context, in its first frame.
type Painter = Harness<'static, Option<Window>>;

fn open(paths: &[PathBuf], folder: Option<&Path>, pixels: f32) -> Painter {
    open_sized(paths, folder, pixels, [1240.0, 820.0])
}

fn open_sized(paths: &[PathBuf], folder: Option<&Path>, pixels: f32, size: [f32; 2]) -> Painter {
    let (paths, folder) = (paths.to_vec(), folder.map(Path::to_owned));
    let mut harness = Harness::builder()
        .with_size(vec2(size[0], size[1]))
        .with_pixels_per_point(pixels)
        .with_context_setup(dress)
        .build_ui_state(
            move |ui, state: &mut Option<Window>| {
                let window = state.get_or_insert_with(|| {
                    let made = Window::new(ui.ctx(), Arc::new(Ball), &paths, folder.clone(), None);
                    made.expect("a window")
                });
                window.ui(ui);
            },
            None,
        );
    settle(&mut harness);
    harness
}

fn window(painter: &mut Painter) -> &mut Window {
    painter.state_mut().as_mut().expect("the window")
}

/// Frames until the picture is as it will be printed.
fn settle(painter: &mut Painter) {
    // Waits are counted, not timed: a machine may be busy or the process paused.
    let mut waits = 0;
    loop {
        painter.run_steps(2);
        if window(painter).settled() {
            break;
        }
        waits += 1;
        assert!(waits < 60_000, "the plan never came: {:?}", said(painter));
        std::thread::sleep(Duration::from_millis(5));
    }
    // Views that glide come to rest.
    painter.run_steps(40);
}

fn said(painter: &mut Painter) -> String {
    window(painter).words().unwrap_or_default()
}

/// Labels of all controls, and the roles of those without one.
fn controls(painter: &Painter) -> (Vec<String>, Vec<Role>) {
    const CONTROLS: [Role; 9] = [
        Role::Button,
        Role::CheckBox,
        Role::ComboBox,
        Role::ColorWell,
        Role::Slider,
        Role::SpinButton,
        Role::TextInput,
        Role::MultilineTextInput,
        Role::RadioButton,
    ];
    let (mut named, mut nameless) = (Vec::new(), Vec::new());
    let mut stack = vec![painter.root()];
    while let Some(node) = stack.pop() {
        let about = node.accesskit_node();
        if CONTROLS.contains(&about.role()) {
            match about.label().filter(|l| !l.trim().is_empty()) {
                Some(label) => named.push(label),
                None => nameless.push(about.role()),
            }
        }
        stack.extend(node.children());
    }
    (named, nameless)
}

#[test]
fn every_control_of_every_step_has_a_name_at_every_size() {
    for pixels in [1.0, 2.0, 3.0] {
        let mut painter = open(&[], None, pixels);
        let keys = [Key::F1, Key::F2, Key::F3, Key::F4, Key::F5, Key::F6];
        for (key, step) in keys.into_iter().zip(Step::ALL) {
            painter.key_press(key);
            painter.run_steps(3);
            let (named, nameless) = controls(&painter);
            assert!(nameless.is_empty(), "{step:?}: {nameless:?} beside {named:?}");
            assert!(named.len() > 12, "{step:?}: {named:?}");
        }
    }
}

#[test]
fn on_a_small_window_two_views_keep_their_figures_free() {
    let mut painter = open_sized(&[], None, 1.0, [640.0, 420.0]);
    painter.key_press(Key::F6);
    painter.run_steps(3);
    settle(&mut painter);
    let (named, nameless) = controls(&painter);
    assert!(nameless.is_empty(), "{nameless:?} beside {named:?}");
    let has = |named: &[String], name: &str| named.iter().any(|n| n == name);
    assert!(has(&named, "How the second figure is seen") && !has(&named, "Squint"), "{named:?}");
    // One button on each figure, in its upper corner; all else waits in its menu.
    let button = painter.get_by_role_and_label(Role::Button, "How the figure is seen");
    assert!(button.rect().height() < 40.0 && button.rect().width() < 150.0, "{:?}", button.rect());
    button.click();
    painter.run_steps(4);
    let (named, nameless) = controls(&painter);
    assert!(nameless.is_empty(), "{nameless:?} beside {named:?}");
    assert!(has(&named, "Squint") && has(&named, "by recesses") && has(&named, "Back"), "{named:?}");
    painter.get_by_role_and_label(Role::Button, "by recesses").click();
    painter.run_steps(3);
    settle(&mut painter);
    assert!(matches!(window(&mut painter).seen().0, Look::Openness(_)));
}

#[test]
fn a_hidden_part_is_a_step_to_undo_and_stays_hidden_in_the_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("hidden.grisaille");
    let mut painter = open(&[], None, 1.0);
    let parts = |painter: &mut Painter| window(painter).document().scheme.hidden.parts.len();
    painter.key_press(Key::F1);
    painter.run_steps(3);
    painter.get_by_role_and_label(Role::Button, "Hide a part").click();
    painter.run_steps(2);
    painter.key_press(Key::Enter);
    painter.run_steps(3);
    assert_eq!(parts(&mut painter), 1, "{}", said(&mut painter));
    settle(&mut painter);
    // It is gone from under the pointer too: behind the ball lies its plate, and
    // behind that nothing.
    for (count, beside) in [(2, false), (2, true)] {
        painter.key_press(Key::Enter);
        painter.run_steps(3);
        assert_eq!((parts(&mut painter), said(&mut painter).contains("beside")), (count, beside));
    }
    assert!(window(&mut painter).save_to(&file));
    let text = fs::read_to_string(&file).expect("the file");
    let kept = read_document(&text).expect("a scheme").scheme.hidden;
    assert_eq!(kept, window(&mut painter).document().scheme.hidden);
    painter.key_press(Key::Escape);
    painter.run_steps(2);
    // It may lie further down on the card than the window is high.
    painter.get_by_role_and_label(Role::Button, "Show all parts").click_accesskit();
    painter.run_steps(3);
    assert_eq!(parts(&mut painter), 0);
    for count in [2, 1, 0] {
        window(&mut painter).undo();
        assert_eq!(parts(&mut painter), count);
    }
}

#[test]
fn a_part_left_out_is_gone_from_the_plan_until_it_is_taken_back() {
    let mut painter = open(&[], None, 1.0);
    let chosen = |painter: &mut Painter| {
        settle(painter);
        let scheme = &window(painter).document().scheme;
        (scheme.hidden.parts.len(), scheme.left_out.parts.len(), scheme.left_out.base)
    };
    let tells = |painter: &mut Painter, words: &str| {
        let found = painter.query_by_label_contains(words).is_some();
        assert!(found, "not told: {words}");
    };
    painter.key_press(Key::F1);
    painter.run_steps(3);
    tells(&mut painter, "14.0 mm tall with its base");
    // Hidden first: a part that is left out is no longer a hidden one.
    for name in ["Hide a part", "Leave out a part"] {
        painter.get_by_role_and_label(Role::Button, name).click_accesskit();
        painter.run_steps(2);
        painter.key_press(Key::Enter);
        painter.run_steps(3);
        painter.key_press(Key::Escape);
        painter.run_steps(2);
        if name == "Hide a part" {
            assert_eq!(chosen(&mut painter), (1, 0, false));
            painter.get_by_role_and_label(Role::Button, "Show all parts").click_accesskit();
            painter.run_steps(3);
        }
    }
    assert_eq!(chosen(&mut painter), (0, 1, false), "{}", said(&mut painter));
    tells(&mut painter, "3.0 mm tall without");
    window(&mut painter).undo();
    assert_eq!(chosen(&mut painter), (0, 0, false));
    painter.get_by_role_and_label(Role::Button, "Leave out the base").click_accesskit();
    painter.run_steps(3);
    assert_eq!(chosen(&mut painter), (0, 0, true));
    tells(&mut painter, "12.0 mm tall without");
    painter.get_by_role_and_label(Role::Button, "Leave out the base").click_accesskit();
    painter.run_steps(3);
    assert_eq!(chosen(&mut painter), (0, 0, false));
    tells(&mut painter, "14.0 mm tall with its base");
}

#[test]
fn the_desktops_dialog_opens_and_saves_and_its_absence_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let (print, scheme) = (folder.path().join("print.stl"), folder.path().join("print.grisaille"));
    fs::write(&print, ball()).expect("a model");
    let mut painter = open(&[], None, 1.0);
    let ask = |painter: &mut Painter, key: Key, answer: Vec<PathBuf>| {
        let wishes = Arc::new(Mutex::new(Vec::new()));
        let heard = Arc::clone(&wishes);
        let desktop = move |wish: &Wish| -> Chosen {
            heard.lock().expect("no panic before").push(wish.clone());
            let answer = answer.clone();
            Box::pin(async move { answer })
        };
        window(painter).set_desktop(Arc::new(desktop));
        painter.key_press_modifiers(Modifiers::COMMAND, key);
        painter.run_steps(3);
        painter.get_by_role_and_label(Role::Button, "The desktop's own dialog…").click_accesskit();
        let until = Instant::now() + Duration::from_secs(20);
        let done = |painter: &Painter| {
            painter.query_by_role_and_label(Role::Button, "The desktop's own dialog…").is_none()
        };
        while !done(painter) && Instant::now() < until {
            painter.run_steps(2);
            std::thread::sleep(Duration::from_millis(5));
        }
        assert!(done(painter));
        let wishes = wishes.lock().expect("no panic before");
        wishes.clone()
    };
    let wishes = ask(&mut painter, Key::O, vec![print.clone()]);
    assert!(matches!(wishes.as_slice(), [Wish::Open(_)]), "{wishes:?}");
    settle(&mut painter);
    let models = &window(&mut painter).document().models;
    assert!(matches!(&models[0].source, ModelSource::File(path) if *path == print), "{models:?}");
    // The ending is added where the desktop does not.
    let wishes = ask(&mut painter, Key::S, vec![scheme.with_extension("")]);
    assert!(matches!(wishes.as_slice(), [Wish::Save(path)] if *path == scheme), "{wishes:?}");
    assert!(read_document(&fs::read_to_string(&scheme).expect("it was saved")).is_ok());
    ask(&mut painter, Key::O, Vec::new());
    assert!(painter.query_by_label_contains("shows no dialog of its own").is_some());
}

#[test]
fn regions_are_chosen_named_joined_divided_and_undone() {
    let mut painter = open(&[], None, 1.0);
    settle(&mut painter);
    let steps = |painter: &mut Painter| window(painter).document().scheme.regions.steps.len();
    let listed =
        |painter: &Painter, name: &str| painter.query_by_role_and_label(Role::Button, name).is_some();
    painter.key_press(Key::F2);
    painter.run_steps(3);
    painter.get_by_role_and_label(Role::Button, "By pieces").click_accesskit();
    painter.run_steps(3);
    settle(&mut painter);
    // The base is larger than the ball.
    assert!(listed(&painter, "region 1") && listed(&painter, "region 2") && !listed(&painter, "region 3"));
    painter.get_by_role_and_label(Role::Button, "region 2").click_accesskit();
    painter.run_steps(3);
    let (named, nameless) = controls(&painter);
    assert!(nameless.is_empty() && named.iter().any(|n| n == "Name"), "{nameless:?} {named:?}");
    painter.get_by_role_and_label(Role::TextInput, "Name").focus();
    painter.run_steps(2);
    painter.key_press_modifiers(Modifiers::COMMAND, Key::A);
    painter.get_by_role_and_label(Role::TextInput, "Name").type_text("the ball");
    painter.run_steps(2);
    painter.key_press(Key::Enter);
    painter.run_steps(3);
    settle(&mut painter);
    assert!(listed(&painter, "the ball") && steps(&mut painter) == 1, "{}", said(&mut painter));
    painter.get_by_role_and_label(Role::Button, "Locked").click_accesskit();
    painter.run_steps(3);
    settle(&mut painter);
    // What is locked cannot be divided.
    assert!(painter.get_by_role_and_label(Role::Button, "Divide…").accesskit_node().is_disabled());
    painter.get_by_role_and_label(Role::Button, "Locked").click_accesskit();
    painter.run_steps(3);
    settle(&mut painter);
    assert_eq!(steps(&mut painter), 3);
    // A stroke from the ball down over the base joins the two.
    painter.get_by_role_and_label(Role::Button, "Join by a stroke").click_accesskit();
    painter.run_steps(3);
    let pane = painter.get_by_role(Role::Image).rect();
    let at = |y: f32| pane.min + vec2(0.5 * pane.width(), y * pane.height());
    let line: Vec<_> = (0..=20).map(|k| at(0.4 + 0.45 * k as f32 / 20.0)).collect();
    painter.hover_at(line[0]);
    painter.run_steps(1);
    painter.drag_at(line[0]);
    painter.run_steps(1);
    for place in &line {
        painter.hover_at(*place);
        painter.run_steps(1);
    }
    painter.drop_at(line[20]);
    painter.run_steps(3);
    settle(&mut painter);
    assert_eq!(steps(&mut painter), 4, "{}", said(&mut painter));
    assert!(listed(&painter, "the ball") && !listed(&painter, "region 1"), "{}", said(&mut painter));
    window(&mut painter).undo();
    painter.run_steps(3);
    settle(&mut painter);
    assert!(listed(&painter, "the ball") && listed(&painter, "region 1"));
    // The same by keyboard: the base is chosen in the list, the ball lies in the middle of the view.
    painter.key_press(Key::Escape);
    painter.run_steps(2);
    painter.get_by_role_and_label(Role::Button, "region 1").click_accesskit();
    painter.run_steps(2);
    painter.get_by_role_and_label(Role::Button, "Join by a stroke").click_accesskit();
    painter.run_steps(3);
    painter.key_press(Key::Enter);
    painter.run_steps(3);
    settle(&mut painter);
    assert!(!listed(&painter, "the ball") && listed(&painter, "region 1"), "{}", said(&mut painter));
}

/// A list of invented paints.
const PAINTS: &str = "name,hex,type,stock
Shell white,#f1ece0,opaque,1
Reef black,#1b1c20,opaque,1
Wreck rust,#9a4a22,opaque,1
Sailcloth,#c9b892,opaque,1
Trench blue,#1f3a6b,opaque,1
";

/// A scheme on a file of its own: the ball in canvas, its plate unpainted.
fn coloured_scheme(folder: &Path, more: &str) -> PathBuf {
    let file = folder.join("ball.grisaille");
    let text = format!(
        "version = 1
title = \"Ball\"
route = \"sketch\"
{more}

[paints]
file = \"paints.csv\"

[[model]]
built_in = \"diver\"

[surface]
spacing = 1.0

[regions]
by = \"pieces\"

[[palette]]
name = \"canvas\"
colour = \"#c4b590\"
share = 80

[[region]]
name = \"ball\"
at = [[0.0, 0.0, 14.0]]
colour = \"canvas\"
material = \"cloth\"
"
    );
    fs::write(&file, text).expect("a scheme");
    file
}

fn shows(painter: &Painter, words: &str) -> bool {
    painter.query_all_by_label_contains(words).next().is_some()
}

fn press(painter: &mut Painter, name: &str) {
    painter.get_by_role_and_label(Role::Button, name).click_accesskit();
    painter.run_steps(3);
    settle(painter);
}

#[test]
fn colours_are_chosen_mixed_changed_and_undone() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("paints.csv"), PAINTS).expect("paints");
    let file = coloured_scheme(folder.path(), "");
    let mut painter = open(std::slice::from_ref(&file), None, 1.0);
    painter.key_press(Key::F5);
    painter.run_steps(3);
    settle(&mut painter);
    assert_eq!(window(&mut painter).seen().0, Look::Colours);
    assert!(shows(&painter, "5 at hand"));
    // The ball alone is painted: its plate is told to have no colour.
    assert!(shows(&painter, "regions without a colour") || shows(&painter, "Regions without a colour"));
    let colouring = &window(&mut painter).painted().expect("colours").colouring;
    assert_eq!(colouring.rows.len(), 1);
    // A click on the ball chooses its colour, and its steps are told with their mixes.
    painter.key_press(Key::Num1);
    settle(&mut painter);
    let pane = painter.get_by_role(Role::Image).rect();
    let middle = pane.center();
    painter.hover_at(middle);
    painter.run_steps(1);
    painter.drag_at(middle);
    painter.run_steps(1);
    painter.drop_at(middle);
    painter.run_steps(3);
    settle(&mut painter);
    assert_eq!(window(&mut painter).chosen_entry(), Some(0), "{}", said(&mut painter));
    let (named, nameless) = controls(&painter);
    assert!(nameless.is_empty(), "{nameless:?} beside {named:?}");
    for label in ["Called", "What it is made of", "Colour", "Pick"] {
        assert!(named.iter().any(|n| n == label), "no '{label}' in {named:?}");
    }
    assert!(shows(&painter, "Sailcloth"), "a mix");
    // Another colour by the name of a paint; typed, and kept when the field is left.
    let base = |painter: &mut Painter| window(painter).painted().expect("colours").colouring.rows[0].base;
    let before = base(&mut painter);
    painter.get_by_role_and_label(Role::TextInput, "Colour").focus();
    painter.run_steps(2);
    painter.key_press_modifiers(Modifiers::COMMAND, Key::A);
    painter.get_by_role_and_label(Role::TextInput, "Colour").type_text("wreck rust");
    painter.run_steps(2);
    painter.key_press(Key::Enter);
    painter.run_steps(3);
    settle(&mut painter);
    let after = base(&mut painter);
    assert!(after.a > before.a + 10.0 && after.l < before.l - 10.0, "{before:?} {after:?}");
    // The paint of all the rest paints the plate too.
    press(&mut painter, "All the rest");
    let painted = window(&mut painter).painted().expect("colours");
    assert_eq!(painted.colouring.rows[0].regions.len(), 2);
    assert!(window(&mut painter).save_to(&file));
    let text = fs::read_to_string(&file).expect("the scheme");
    assert!(text.contains("colour = \"wreck rust\"") && text.contains("rest = true"), "{text}");
    // Beside the scheme its list of paints is named as it was, and never written to.
    assert!(text.contains("file = \"paints.csv\""), "{text}");
    for _ in 0..2 {
        window(&mut painter).undo();
    }
    painter.run_steps(3);
    settle(&mut painter);
    assert_eq!(base(&mut painter), before);
    assert_eq!(window(&mut painter).painted().expect("colours").colouring.rows[0].regions.len(), 1);
}

#[test]
fn the_window_colours_as_the_plan_does() {
    let folder = tempfile::tempdir().expect("a folder");
    fs::write(folder.path().join("paints.csv"), PAINTS).expect("paints");
    let file = coloured_scheme(folder.path(), "[mood]\nname = \"cold\"\nstrength = 0.6");
    let mut painter = open(std::slice::from_ref(&file), None, 1.0);
    painter.key_press(Key::F5);
    painter.run_steps(3);
    settle(&mut painter);
    let window = window(&mut painter);
    let (painted, scheme) = (window.painted().expect("colours"), &window.document().scheme);
    let watch = Watch::quiet();
    let (mesh, _) = read(&ball(), &ReadSettings::default(), &watch).expect("a mesh");
    let mut plan = plan(scheme, &mut Products::new(Arc::new(mesh)), &watch).expect("a plan");
    let (paints, _) = read_paints(PAINTS.as_bytes()).expect("paints");
    let choice = scheme.colours.paints.as_ref().expect("a list");
    let shelf = Shelf::of(paints, choice, &watch).expect("mixes");
    let whole = coloured(scheme, &mut plan, &shelf, &watch).expect("colours");
    assert_eq!(painted.colouring, *whole.colouring);
    assert_eq!(painted.proportions, whole.proportions);
    assert_eq!(painted.checks, whole.checks);
}

#[test]
fn a_region_without_a_colour_is_given_one() {
    let mut painter = open(&[], None, 1.0);
    painter.key_press(Key::F2);
    painter.run_steps(3);
    press(&mut painter, "By pieces");
    painter.key_press(Key::F5);
    painter.run_steps(3);
    painter.key_press(Key::Num1);
    settle(&mut painter);
    assert!(shows(&painter, "Nothing is coloured yet") && shows(&painter, "no list yet"));
    let pane = painter.get_by_role(Role::Image).rect();
    painter.hover_at(pane.center());
    painter.run_steps(1);
    painter.drag_at(pane.center());
    painter.run_steps(1);
    painter.drop_at(pane.center());
    painter.run_steps(3);
    settle(&mut painter);
    press(&mut painter, "Give it a colour of its own");
    let entries = &window(&mut painter).document().scheme.colours.regions;
    assert!(entries.len() == 1 && entries[0].at.len() == 1, "{entries:?}");
    let painted = window(&mut painter).painted().expect("colours");
    assert_eq!(painted.rows_of_entries(), [Some(0)]);
    assert_eq!(painted.colouring.rows[0].regions.len(), 1);
    // A mood changes it and is undone.
    let lightness =
        |painter: &mut Painter| window(painter).painted().expect("colours").colouring.rows[0].base.l;
    let before = lightness(&mut painter);
    painter.get_by_label("Mood: none").click_accesskit();
    painter.run_steps(4);
    painter.get_by_role_and_label(Role::ComboBox, "Mood of all colours").click_accesskit();
    painter.run_steps(4);
    painter.get_by_label("gloomy").click_accesskit();
    painter.run_steps(4);
    settle(&mut painter);
    assert!(lightness(&mut painter) < before - 2.0, "{before} {}", lightness(&mut painter));
    window(&mut painter).undo();
    painter.run_steps(3);
    settle(&mut painter);
    assert_eq!(lightness(&mut painter), before);
    press(&mut painter, "Take this colour away");
    assert!(window(&mut painter).document().scheme.colours.regions.is_empty());
}

#[test]
fn wrong_words_and_lists_that_cannot_be_read_are_told_and_lose_nothing() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = coloured_scheme(folder.path(), "");
    let text =
        fs::read_to_string(&file).expect("it").replace("\"canvas\"\nmaterial", "\"no such\"\nmaterial");
    fs::write(&file, text).expect("it");
    let mut painter = open(std::slice::from_ref(&file), None, 1.0);
    painter.key_press(Key::F5);
    painter.run_steps(3);
    settle(&mut painter);
    // No list lies there, and the word is neither palette colour nor paint.
    assert!(shows(&painter, "The list cannot be used: cannot read"));
    press(&mut painter, "ball");
    assert!(shows(&painter, "nothing is called 'no such'") && shows(&painter, "Grey stands in"));
    // What is kept is the painter's word, not the grey.
    assert_eq!(window(&mut painter).document().scheme.colours.regions[0].colour, "no such");
    // A list that holds no paints is told too, and a good one is taken as soon as it is there.
    let list = folder.path().join("paints.csv");
    fs::write(&list, "this is a shopping list").expect("a list");
    window(&mut painter).ask_to_open(vec![list.clone()]);
    painter.run_steps(3);
    settle(&mut painter);
    assert!(shows(&painter, "The list cannot be used:") && !shows(&painter, "cannot read"));
    fs::write(&list, PAINTS).expect("a list");
    window(&mut painter).ask_to_open(vec![list]);
    painter.run_steps(3);
    settle(&mut painter);
    assert!(shows(&painter, "5 at hand") && !shows(&painter, "cannot be used"));
}

#[test]
fn bounce_and_primer_tones_are_set_by_hand() {
    let mut painter = open(&[], None, 1.0);
    settle(&mut painter);
    painter.key_press(Key::F3);
    painter.run_steps(3);
    // A slider by keyboard: each press of the arrow is a step.
    let slider = painter.get_by_role_and_label(Role::Slider, "Thrown back");
    slider.focus();
    painter.run_steps(2);
    for _ in 0..20 {
        painter.key_press(Key::ArrowRight);
        painter.run_steps(1);
    }
    assert!(window(&mut painter).document().scheme.bounce.albedo > 0.1);
    settle(&mut painter);
    painter.key_press(Key::F6);
    painter.run_steps(3);
    for (name, tones) in [("warm", Some(PrimerTones::Warm)), ("no primer plan", None)] {
        painter.get_by_role_and_label(Role::Button, name).click_accesskit();
        painter.run_steps(3);
        assert_eq!(window(&mut painter).document().scheme.primer.tones, tones);
    }
    settle(&mut painter);
}

#[test]
fn each_light_shows_its_own_controls() {
    let mut painter = open(&[], None, 1.0);
    painter.key_press(Key::F3);
    painter.run_steps(3);
    for (light, control) in [
        ("zenithal", "Softness"),
        ("ambient", "Overcast sky"),
        ("hand-lamp", "Full light at"),
        ("ring", "Strength"),
    ] {
        painter.get_by_role_and_label(Role::Button, light).click();
        painter.run_steps(3);
        assert!(painter.query_all_by_label(control).next().is_some(), "{light}: no '{control}'");
        let (named, nameless) = controls(&painter);
        assert!(nameless.is_empty(), "{light}: {nameless:?} beside {named:?}");
    }
}

#[test]
fn the_work_goes_by_keyboard_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("ball.grisaille");
    let mut painter = open(&[], None, 1.0);
    let lamp = |painter: &mut Painter| match window(painter).document().scheme.lights[3].choice {
        LightChoice::Lamp { at, .. } => at,
        _ => panic!("the lamp"),
    };
    let before = lamp(&mut painter);
    painter.key_press(Key::Num1);
    settle(&mut painter);
    painter.key_press_modifiers(Modifiers::COMMAND, Key::ArrowRight);
    settle(&mut painter);
    let after = lamp(&mut painter);
    // Seen from the front, right is +X.
    assert!(after[0] > before[0] && after[1] == before[1] && after[2] == before[2], "{before:?} {after:?}");
    painter.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    settle(&mut painter);
    assert_eq!(lamp(&mut painter), before);
    painter.key_press_modifiers(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z);
    settle(&mut painter);
    assert_eq!(lamp(&mut painter), after);
    // Saving asks for a place; the path is typed.
    painter.key_press_modifiers(Modifiers::COMMAND, Key::S);
    painter.run_steps(3);
    painter.get_by_role_and_label(Role::TextInput, "Name and place").set_text_value_accesskit("");
    painter.run_steps(2);
    painter.get_by_role_and_label(Role::TextInput, "Name and place").type_text(&file.display().to_string());
    painter.run_steps(2);
    painter.key_press(Key::Enter);
    painter.run_steps(4);
    let text = fs::read_to_string(&file).expect("the scheme is there");
    assert_eq!(read_document(&text).as_ref(), Ok(window(&mut painter).document()), "{text}");
    assert!(said(&mut painter).contains("Saved"), "{}", said(&mut painter));
}

#[test]
fn a_spot_draws_the_eye_and_another_stays_fine_by_keyboard() {
    let mut painter = open(&[], None, 1.0);
    painter.key_press(Key::F4);
    painter.key_press(Key::Num1);
    settle(&mut painter);
    let before = window(&mut painter).document().clone();
    for tool in ["Draw the eye to…", "Keep as fine as it is…"] {
        painter.get_by_role_and_label(Role::Button, tool).click_accesskit();
        painter.run_steps(3);
        // The keyboard is at the figure now, and Enter takes its middle.
        painter.key_press(Key::Enter);
        settle(&mut painter);
    }
    let scheme = window(&mut painter).document().scheme.clone();
    let [focus] = scheme.emphasis.focus.as_slice() else { panic!("{:?}", scheme.emphasis) };
    let [keep] = scheme.brush.keep.as_slice() else { panic!("{:?}", scheme.brush) };
    // The middle of the view from the front is the ball's front.
    for at in [focus.at, keep.at] {
        let far = at[0].hypot(at[1]).hypot(at[2] - 8.0);
        assert!(at[1] < -3.0 && (far - 6.0).abs() < 0.2, "{at:?}");
    }
    // Both have their controls, which are named; what was set is undone in two steps.
    let (named, nameless) = controls(&painter);
    assert!(nameless.is_empty(), "{nameless:?}");
    for label in ["How much", "How wide", "How wide it stays fine", "Even this spot out again"] {
        assert!(painter.query_all_by_label(label).next().is_some(), "no '{label}' among {named:?}");
    }
    for _ in 0..2 {
        painter.key_press_modifiers(Modifiers::COMMAND, Key::Z);
        settle(&mut painter);
    }
    assert_eq!(*window(&mut painter).document(), before);
}

#[test]
fn steps_choose_what_is_seen() {
    let mut painter = open(&[], None, 1.0);
    for (key, look) in [
        (Key::F1, Look::Primed),
        (Key::F2, Look::Regions),
        (Key::F3, Look::Greys),
        (Key::F4, Look::Bands),
        (Key::F5, Look::Colours),
    ] {
        painter.key_press(key);
        settle(&mut painter);
        assert_eq!(window(&mut painter).seen().0, look);
    }
}

#[test]
fn files_that_cannot_be_read_leave_the_work_and_say_why() {
    let folder = tempfile::tempdir().expect("a folder");
    let put = |name: &str, bytes: &[u8]| {
        let path = folder.path().join(name);
        fs::write(&path, bytes).expect("a file");
        path
    };
    let mut painter = open(&[], None, 1.0);
    let document = window(&mut painter).document().clone();
    for (path, words) in [
        (folder.path().join("gone.stl"), "cannot read"),
        (put("newer.grisaille", b"version = 7\n"), "newer grisaille"),
        (put("typing.grisaille", b"version = 1\nmodel = 3\n"), "line 2"),
    ] {
        window(&mut painter).ask_to_open(vec![path.clone()]);
        painter.run_steps(3);
        assert!(said(&mut painter).contains(words), "{}: {}", path.display(), said(&mut painter));
        assert_eq!(*window(&mut painter).document(), document);
        assert!(window(&mut painter).settled());
    }
    // A file that is there but no model is told by the worker.
    let broken = put("broken.stl", b"this is a shopping list");
    window(&mut painter).ask_to_open(vec![broken]);
    let begun = Instant::now();
    while !said(&mut painter).contains("not an STL") {
        painter.run_steps(2);
        assert!(begun.elapsed() < Duration::from_secs(20), "{}", said(&mut painter));
    }
    // What was there can be opened again.
    window(&mut painter).ask_to_open(Vec::new());
    settle(&mut painter);
}

#[test]
fn a_disk_that_takes_nothing_loses_nothing() {
    let mut painter = open(&[], None, 1.0);
    window(&mut painter).undo();
    painter.key_press_modifiers(Modifiers::COMMAND, Key::ArrowRight);
    settle(&mut painter);
    let document = window(&mut painter).document().clone();
    assert!(!window(&mut painter).save_to(Path::new("/nowhere/at/all.grisaille")));
    assert!(said(&mut painter).contains("Your work is still here"));
    assert_eq!(*window(&mut painter).document(), document);
}

#[test]
fn work_left_behind_is_offered_and_taken_up() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut painter = open(&[], Some(folder.path()), 1.0);
    painter.key_press_modifiers(Modifiers::COMMAND, Key::ArrowRight);
    settle(&mut painter);
    painter.run_steps(2);
    let document = window(&mut painter).document().clone();
    let copy = fs::read_dir(folder.path())
        .expect("the folder")
        .flatten()
        .map(|e| e.path())
        .find(|p| p.extension().is_some_and(|e| e == "grisaille"))
        .expect("a copy");
    // As a killed window leaves it: the copy is there, its lock is free.
    fs::rename(&copy, folder.path().join("window-0-0.grisaille")).expect("left behind");
    drop(painter);
    let mut painter = open(&[], Some(folder.path()), 1.0);
    assert!(matches!(window(&mut painter).asked(), Some(Question::Rescue(_))));
    painter.get_by_role_and_label(Role::Button, "Take it up again").click();
    painter.run_steps(3);
    settle(&mut painter);
    assert_eq!(*window(&mut painter).document(), document);
    // It is not saved, and this window keeps it from here on.
    painter.run_steps(3);
    let copies = |painter: &mut Painter| {
        painter.run_steps(1);
        let names = fs::read_dir(folder.path()).expect("the folder").flatten().map(|e| e.path());
        names.filter(|p| p.extension().is_some_and(|e| e == "grisaille")).count()
    };
    assert_eq!(copies(&mut painter), 1);
    // Saved, no copy is left.
    assert!(window(&mut painter).save_to(&folder.path().join("shelf.grisaille")));
    painter.run_steps(3);
    assert_eq!(copies(&mut painter), 1, "only the scheme itself");
}

#[test]
fn a_change_outside_is_noticed_and_offered() {
    let folder = tempfile::tempdir().expect("a folder");
    let model = folder.path().join("ball.stl");
    fs::write(&model, ball()).expect("a model");
    let mut painter = open(std::slice::from_ref(&model), None, 1.0);
    let height =
        |painter: &mut Painter| window(painter).ground().map_or(0.0, |g| g.mesh.bounds().extents()[2]);
    assert!((height(&mut painter) - 14.0).abs() < 0.1);
    let taller = stl(&scaled(icosphere(3), 9.0));
    fs::write(&model, taller).expect("another model");
    let begun = Instant::now();
    while window(&mut painter).asked().is_none() {
        painter.run_steps(5);
        assert!(begun.elapsed() < Duration::from_secs(60), "not noticed");
    }
    painter.run_steps(2);
    painter.get_by_role_and_label(Role::Button, "Read it again").click();
    painter.run_steps(4);
    settle(&mut painter);
    assert!((height(&mut painter) - 18.0).abs() < 0.1, "{}", height(&mut painter));
}

#[test]
fn an_idle_window_asks_for_no_frames() {
    let mut painter = open(&[], None, 1.0);
    painter.run_steps(60);
    let output = painter.output();
    let delay = output.viewport_output.values().map(|v| v.repaint_delay).min();
    assert!(delay.is_none_or(|d| d > Duration::from_secs(3)), "{delay:?}");
}
