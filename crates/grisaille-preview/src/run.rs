//! Opening the window, or saying in one line why there is none.

use crate::bench::Bench;
use crate::draw::Canvas;
use crate::window::Window;
use eframe::egui::{self, Ui, ViewportBuilder};
use eframe::{App, CreationContext, NativeOptions, Renderer};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// Why there is no window.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PreviewError {
    /// There is no display, or no OpenGL on it.
    #[error("no window can be shown here: {0}")]
    NoWindow(String),
    /// The window was there and ended by itself.
    #[error("the window ended by itself ({0}); what was not saved is offered again the next time")]
    Broke(String),
}

/// How to run.
#[derive(Clone, Debug, Default)]
pub struct PreviewOptions {
    /// Models or one scheme to open; the diver if there are none.
    pub paths: Vec<PathBuf>,
    /// Where copies, tastes and recent files are kept; nowhere if not given.
    pub folder: Option<PathBuf>,
}

/// Something that plays the painter's hands: used by scripted runs.
pub trait Hands {
    /// Called before each frame with what the window holds; adds the events
    /// of that frame. How soon the next frame is wanted at the latest; `None`
    /// ends the run.
    fn play(
        &mut self,
        window: &mut Window,
        ctx: &egui::Context,
        input: &mut egui::RawInput,
    ) -> Option<Duration>;
}

/// Opens the window and returns when it is closed.
///
/// # Errors
/// [`PreviewError`] where no window can be shown.
pub fn preview(
    bench: Arc<dyn Bench>,
    options: PreviewOptions,
    hands: Option<Box<dyn Hands>>,
) -> Result<(), PreviewError> {
    display()?;
    let failed = Arc::new(Mutex::new(None));
    let told = Arc::clone(&failed);
    let open = Arc::new(AtomicBool::new(false));
    let opened = Arc::clone(&open);
    let native = NativeOptions {
        viewport: ViewportBuilder::default()
            .with_title("grisaille")
            .with_app_id("grisaille")
            .with_inner_size([1240.0, 820.0])
            .with_min_inner_size([640.0, 420.0])
            .with_drag_and_drop(true),
        renderer: Renderer::Glow,
        depth_buffer: 24,
        persist_window: false,
        ..NativeOptions::default()
    };
    let create =
        move |cc: &CreationContext<'_>| -> Result<Box<dyn App>, Box<dyn std::error::Error + Send + Sync>> {
            let made = begin(cc, bench, &options, hands);
            if let Err(why) = &made {
                *told.lock().unwrap_or_else(PoisonError::into_inner) = Some(why.clone());
            }
            opened.store(made.is_ok(), Ordering::Relaxed);
            Ok(Box::new(made?))
        };
    // The window system's library panics where a part of it is missing (such
    // as the keyboard's); the painter gets a line instead. Once the window is
    // there, `begin` puts the usual words back.
    std::panic::set_hook(Box::new(|_| ()));
    let ran = catch_unwind(AssertUnwindSafe(|| eframe::run_native("grisaille", native, Box::new(create))));
    drop(std::panic::take_hook());
    let why = failed.lock().unwrap_or_else(PoisonError::into_inner).take();
    match (ran, why) {
        (_, Some(why)) => Err(PreviewError::NoWindow(why)),
        (Ok(Ok(())), None) => Ok(()),
        (Ok(Err(e)), None) => Err(PreviewError::NoWindow(in_words(&e))),
        (Err(panic), None) => {
            let text = panic
                .downcast_ref::<String>()
                .cloned()
                .or_else(|| panic.downcast_ref::<&str>().map(|s| (*s).to_owned()));
            let text = one_line(&text.unwrap_or_else(|| "the window system failed".into()));
            let was_open = open.load(Ordering::Relaxed);
            Err(if was_open { PreviewError::Broke(text) } else { PreviewError::NoWindow(text) })
        }
    }
}

fn begin(
    cc: &CreationContext<'_>,
    bench: Arc<dyn Bench>,
    options: &PreviewOptions,
    hands: Option<Box<dyn Hands>>,
) -> Result<Running, String> {
    let gl =
        cc.gl.clone().ok_or("there is no OpenGL: install a graphics driver (on Debian libgl1-mesa-dri)")?;
    let canvas =
        Canvas::new(gl).map_err(|e| format!("OpenGL 3.3 or OpenGL ES 3.0 is needed: {}", one_line(&e)))?;
    drop(std::panic::take_hook());
    let window = Window::new(&cc.egui_ctx, bench, &options.paths, options.folder.clone(), Some(canvas))?;
    Ok(Running { window, hands, next: Duration::ZERO })
}

/// Whether there is a display at all, so that the word for its absence is ours.
fn display() -> Result<(), PreviewError> {
    let set = |name: &str| std::env::var_os(name).is_some_and(|v| !v.is_empty());
    if cfg!(target_os = "linux") && !set("DISPLAY") && !set("WAYLAND_DISPLAY") && !set("WAYLAND_SOCKET") {
        return Err(PreviewError::NoWindow(
            "there is no display. Use a desktop, or make sheets and pictures without a window: grisaille guide --help"
                .into(),
        ));
    }
    Ok(())
}

fn in_words(e: &eframe::Error) -> String {
    let said = one_line(&e.to_string());
    match e {
        eframe::Error::Glutin(_) | eframe::Error::NoGlutinConfigs(..) | eframe::Error::OpenGL(_) => {
            format!("OpenGL could not be started ({said}): install or update the graphics driver")
        }
        _ => format!("the display could not be opened ({said})"),
    }
}

fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// How long this thread has run on a processor, where the system tells (Linux,
/// to a tick of its clock): what other threads took meanwhile is no cost of ours.
fn processor_time() -> Option<Duration> {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    Some(Duration::from_nanos(text.split_whitespace().next()?.parse().ok()?))
}

struct Running {
    window: Window,
    hands: Option<Box<dyn Hands>>,
    /// How soon the hands want their next frame.
    next: Duration,
}

impl App for Running {
    fn raw_input_hook(&mut self, ctx: &egui::Context, input: &mut egui::RawInput) {
        let Some(hands) = &mut self.hands else { return };
        match hands.play(&mut self.window, ctx, input) {
            Some(next) => self.next = next,
            None => {
                self.hands = None;
                self.window.leave();
                ctx.send_viewport_cmd(egui::ViewportCommand::Close);
            }
        }
    }

    fn ui(&mut self, ui: &mut Ui, _: &mut eframe::Frame) {
        let (begun, busy) = (Instant::now(), self.hands.as_ref().and_then(|_| processor_time()));
        self.window.ui(ui);
        if self.hands.is_some() {
            self.window.frames.push(begun.elapsed());
            let after = processor_time();
            self.window.busy += busy.zip(after).map_or(Duration::ZERO, |(from, to)| to.saturating_sub(from));
            // Asked for here: what is asked before a frame begins is forgotten.
            ui.ctx().request_repaint_after(self.next);
        }
    }

    fn persist_egui_memory(&self) -> bool {
        false
    }
}
