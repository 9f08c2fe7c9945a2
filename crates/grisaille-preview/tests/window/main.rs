//! The window as a screen reader and a keyboard see it: the AccessKit tree, no
//! graphics card. The model is a ball on a base, so that plans take a moment.

mod colours;
mod files;
mod hands;
mod painting;
mod parts;
mod seen;

use eframe::egui::{Role, vec2};
use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use grisaille_base::{Millimetres, Watch};
use grisaille_bodies::{cuboid, icosphere, moved, scaled, stl};
use grisaille_mesh::{ReadSettings, read};
use grisaille_plan::{Loaded, leave_out};
use grisaille_preview::{Bench, Look, Product, ReadAlready, Trouble, Window, dress};
use grisaille_scheme::{Document, ModelEntry, ModelSource, Scheme, SurfaceChoice};
use std::error::Error;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

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
        product: Product,
        _: &Document,
        looks: &[Look],
        _: Option<&ReadAlready>,
        to: &Path,
        _: &Watch,
    ) -> Result<Vec<String>, Trouble> {
        match product {
            Product::Picture => self.write(to, format!("{looks:?}").as_bytes(), &[])?,
            _ => self.write(to, b"sheets", &[])?,
        }
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

fn shows(painter: &Painter, words: &str) -> bool {
    painter.query_all_by_label_contains(words).next().is_some()
}

fn press(painter: &mut Painter, name: &str) {
    painter.get_by_role_and_label(Role::Button, name).click_accesskit();
    painter.run_steps(3);
    settle(painter);
}
