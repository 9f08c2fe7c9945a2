//! Scripted hands: a text of steps played on the real window, for the tests
//! and for the pictures in docs/. One step on each line; `#` begins a comment.
//!
//! ```text
//! size W H            the window in points
//! settle              wait until everything shown is as it will be printed
//! wait SECONDS
//! drag X Y X Y [BUTTON]   over the figure, in shares of its pane; left or right
//! click X Y           on the figure, in shares of its pane
//! lamp NAME DX DY     drag a lamp by so many points
//! hover X Y
//! key NAME            such as F1, Escape, L, Ctrl+Z, Ctrl+Shift+S
//! tool hide|leave-out|focus|keep|join|grow      what the next click does
//! look primed|greys|bands|zones|regions|colours|steps|openness|LIGHT      beside the same|none
//! room dark|light     scale 1.5     squint on|off     arm METRES
//! side front|three-quarter|left|right|back|above
//! open PATH...        save PATH     make guide|map|picture PATH
//! choose LIGHT        weigh LIGHT W
//! paint NAME          choose the colour that is called so
//! recolour WORD       give it another
//! shot PATH           a picture of the window (PNG)
//! turning X Y PATH    turn by so many points and take a picture of that very frame
//! figures             print how long frames and answers took since the last time
//! edit-on             change the lamp for ever, ten times a second
//! ```

use crate::bench::Product;
use crate::look::Look;
use crate::run::Hands;
use crate::side::Side;
use crate::step::Tool;
use crate::taste::{Room, Taste};
use crate::window::Window;
use eframe::egui::{
    self, ColorImage, Context, Event, Key, Modifiers, PointerButton, Pos2, RawInput, ViewportCommand, pos2,
    vec2,
};
use nalgebra::Point3;
use std::collections::VecDeque;
use std::io::BufWriter;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// After which a step that waits gives up; a busy machine may take its time.
const PATIENCE: Duration = Duration::from_secs(900);

/// A script under way.
pub struct Script {
    steps: VecDeque<(usize, Vec<String>)>,
    events: VecDeque<Vec<Event>>,
    waiting: Option<(Wait, Instant)>,
    failed: Arc<Mutex<Option<String>>>,
    answers: Vec<Duration>,
    edits: u64,
}

enum Wait {
    Settled,
    Clerk,
    Until(Instant),
    Shot(Arc<Mutex<Option<Arc<ColorImage>>>>, PathBuf),
    Forever(Instant),
}

impl Script {
    /// A script from its text; `failed` is where it tells why it ended early.
    #[must_use]
    pub fn new(text: &str, failed: Arc<Mutex<Option<String>>>) -> Self {
        let steps = text
            .lines()
            .enumerate()
            .map(|(n, line)| {
                (n + 1, line.split('#').next().unwrap_or("").split_whitespace().map(str::to_owned).collect())
            })
            .filter(|(_, words): &(usize, Vec<String>)| !words.is_empty())
            .collect();
        Self { steps, events: VecDeque::new(), waiting: None, failed, answers: Vec::new(), edits: 0 }
    }

    fn fail(&mut self, why: String) -> Option<Duration> {
        *self.failed.lock().unwrap_or_else(PoisonError::into_inner) = Some(why);
        self.steps.clear();
        None
    }
}

impl Hands for Script {
    fn play(&mut self, window: &mut Window, ctx: &Context, input: &mut RawInput) -> Option<Duration> {
        /// Waiting hands leave the processor to the work: software OpenGL
        /// takes a good part of it for each frame.
        const WAITING: Duration = Duration::from_millis(100);
        if let Some(took) = window.answered.take() {
            self.answers.push(took);
        }
        if let Some(events) = self.events.pop_front() {
            input.events.extend(events);
            return Some(Duration::ZERO);
        }
        if let Some((wait, since)) = self.waiting.take() {
            match self.wait(wait, since, window, input) {
                Ok(None) => {}
                Ok(Some(wait)) => {
                    self.waiting = Some((wait, since));
                    return Some(WAITING);
                }
                Err(why) => return self.fail(why),
            }
        }
        let (line, words) = self.steps.pop_front()?;
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        match self.step(&words, window, ctx) {
            Ok(()) => Some(Duration::ZERO),
            Err(why) => self.fail(format!("line {line}, '{}': {why}", words.join(" "))),
        }
    }
}

impl Script {
    fn wait(
        &mut self,
        wait: Wait,
        since: Instant,
        window: &mut Window,
        input: &mut RawInput,
    ) -> Result<Option<Wait>, String> {
        let over = match &wait {
            Wait::Settled => window.settled(),
            Wait::Clerk => window.clerk.is_none(),
            Wait::Until(when) => Instant::now() >= *when,
            Wait::Shot(picture, path) => match &*picture.lock().unwrap_or_else(PoisonError::into_inner) {
                Some(picture) => {
                    write_png(picture, path)?;
                    true
                }
                None => false,
            },
            Wait::Forever(next) => {
                if Instant::now() >= *next {
                    self.edits += 1;
                    let key = if self.edits.is_multiple_of(2) { Key::ArrowLeft } else { Key::ArrowRight };
                    input.events.extend(press(key, Modifiers::COMMAND));
                    // Something that only grows, so that what was saved tells how old it is.
                    let edits = self.edits;
                    window.edit("Count", |d| d.scheme.title = format!("edit {edits}"));
                    println!("edit {edits}");
                    return Ok(Some(Wait::Forever(Instant::now() + Duration::from_millis(100))));
                }
                return Ok(Some(wait));
            }
        };
        if over {
            return Ok(None);
        }
        if since.elapsed() > PATIENCE {
            return Err("waited in vain".into());
        }
        Ok(Some(wait))
    }

    fn step(&mut self, words: &[&str], window: &mut Window, ctx: &Context) -> Result<(), String> {
        let now = ctx.input(|i| i.time);
        let await_now = |s: &mut Self, wait| s.waiting = Some((wait, Instant::now()));
        match words {
            ["size", w, h] => {
                ctx.send_viewport_cmd(ViewportCommand::InnerSize(vec2(number(w)? as f32, number(h)? as f32)));
                await_now(self, Wait::Until(Instant::now() + Duration::from_millis(500)));
            }
            ["settle"] => await_now(self, Wait::Settled),
            ["wait", seconds] => {
                await_now(
                    self,
                    Wait::Until(Instant::now() + Duration::from_secs_f64(number(seconds)?.max(0.0))),
                );
            }
            ["drag", x, y, to_x, to_y, rest @ ..] => {
                let button = match rest {
                    [] | ["left"] => PointerButton::Primary,
                    ["right"] => PointerButton::Secondary,
                    _ => return Err("left or right".into()),
                };
                self.drag(place(window, x, y)?, place(window, to_x, to_y)?, button);
            }
            ["click", x, y] => {
                let at = place(window, x, y)?;
                self.drag(at, at, PointerButton::Primary);
            }
            ["hover", x, y] => self.events.push_back(vec![Event::PointerMoved(place(window, x, y)?)]),
            ["lamp", name, dx, dy] => {
                let from = lamp(window, name)?;
                let by = vec2(number(dx)? as f32, number(dy)? as f32);
                self.drag(from, from + by, PointerButton::Primary);
            }
            ["key", name] => {
                let (key, modifiers) = key(name)?;
                self.events.push_back(press(key, modifiers));
                self.events.push_back(Vec::new());
            }
            ["look", name] => window.look = look(window, name)?,
            ["beside", "none"] => window.beside = None,
            ["beside", name] => window.beside = Some(look(window, name)?),
            ["room", room] => {
                let room = if *room == "light" { Room::Light } else { Room::Dark };
                window.set_taste(ctx, Taste { room, ..window.taste });
            }
            ["scale", scale] => {
                let scale = (number(scale)? as f32).clamp(1.0, 3.0);
                window.set_taste(ctx, Taste { scale, ..window.taste });
                await_now(self, Wait::Until(Instant::now() + Duration::from_millis(300)));
            }
            ["tool", name] => {
                window.take_up(match *name {
                    "hide" => Tool::Hide,
                    "leave-out" => Tool::LeaveOut,
                    "focus" => Tool::Focus,
                    "keep" => Tool::Keep,
                    "face" => Tool::Face,
                    "join" => Tool::Join,
                    "grow" => Tool::Grow,
                    _ => return Err("no such tool".into()),
                });
            }
            ["squint", on] => window.squint = *on == "on",
            ["arm", metres] => window.arm = number(metres)?,
            ["side", name] => {
                let wanted = name.replace('-', " ");
                let side =
                    Side::ALL.into_iter().find(|s| s.name().to_lowercase().replace('-', " ") == wanted);
                window.look_from(side.ok_or("no such side")?, now);
                await_now(self, Wait::Until(Instant::now() + Duration::from_millis(700)));
            }
            ["open", paths @ ..] => window.ask_to_open(paths.iter().map(PathBuf::from).collect()),
            ["save", path] => {
                if !window.save_to(Path::new(path)) {
                    return Err(window.message.clone().map(|m| m.text).unwrap_or_default());
                }
            }
            ["make", what, path] => {
                let what = match *what {
                    "guide" => Product::Guide,
                    "map" => Product::Map,
                    "picture" => Product::Picture,
                    _ => return Err("guide, map or picture".into()),
                };
                window.make(what, Path::new(path));
                await_now(self, Wait::Clerk);
            }
            ["choose", name] => window.selected = Some(light(window, name)?),
            ["paint", name @ ..] => {
                let (name, entries) = (name.join(" "), &window.desk.scheme().colours.regions);
                let at = entries.iter().position(|e| e.name == name);
                window.entry = Some(at.ok_or_else(|| format!("no colour is called '{name}'"))?);
                window.to_entry = true;
            }
            ["recolour", word @ ..] => {
                let (at, word) = (window.entry.ok_or("no colour is chosen")?, word.join(" "));
                window.edit("Choose a colour", |d| {
                    if let Some(entry) = d.scheme.colours.regions.get_mut(at) {
                        entry.colour = word;
                    }
                });
            }
            ["weigh", name, weight] => {
                let (id, weight) = (light(window, name)?, number(weight)?);
                window.desk.change_light("Change the strength", id, |l| l.weight = weight)?;
            }
            ["shot", path] => await_now(self, shot(ctx, path)),
            ["turning", x, y, path] => {
                let by = [number(x)?, number(y)?];
                window.camera.as_mut().ok_or("nothing is shown")?.orbit(by);
                window.turned_at = now;
                await_now(self, shot(ctx, path));
            }
            ["figures"] => self.figures(window),
            ["edit-on"] => await_now(self, Wait::Forever(Instant::now())),
            _ => return Err("no such step".into()),
        }
        Ok(())
    }

    /// Presses, moves in several frames, releases.
    fn drag(&mut self, from: Pos2, to: Pos2, button: PointerButton) {
        let frames = 12;
        let pressed =
            |pos, pressed| Event::PointerButton { pos, button, pressed, modifiers: Modifiers::NONE };
        self.events.push_back(vec![Event::PointerMoved(from)]);
        self.events.push_back(Vec::new());
        self.events.push_back(vec![pressed(from, true)]);
        if from != to {
            for k in 1..=frames {
                let at = from + (to - from) * (k as f32 / frames as f32);
                self.events.push_back(vec![Event::PointerMoved(at)]);
            }
        }
        self.events.push_back(vec![pressed(to, false)]);
        self.events.push_back(Vec::new());
    }

    fn figures(&mut self, window: &mut Window) {
        let words = |times: &mut Vec<Duration>| {
            times.sort_unstable();
            let ms = |d: Option<&Duration>| d.map_or(0.0, |d| d.as_secs_f64() * 1000.0);
            let text = format!(
                "{} times, median {:.2} ms, worst {:.2} ms",
                times.len(),
                ms(times.get(times.len() / 2)),
                ms(times.last())
            );
            times.clear();
            text
        };
        let count = window.frames.len().max(1) as f64;
        let busy = std::mem::take(&mut window.busy).as_secs_f64() * 1000.0 / count;
        println!("frames: {}, mean on the processor {busy:.2} ms", words(&mut window.frames));
        println!("lamp answers: {}", words(&mut self.answers));
        if let Some(ground) = window.ground() {
            println!(
                "surface: {} triangles in the file, {} faces, {} samples",
                ground.mesh.counts().triangles,
                ground.surface.faces.len(),
                ground.surface.samples.len()
            );
        }
    }
}

/// Has a picture taken of the frame that is about to be drawn.
fn shot(ctx: &Context, path: &str) -> Wait {
    let picture = Arc::new(Mutex::new(None));
    let taken = Arc::clone(&picture);
    ctx.request_screenshot(move |image| {
        *taken.lock().unwrap_or_else(PoisonError::into_inner) = Some(image);
    });
    Wait::Shot(picture, PathBuf::from(path))
}

fn number(text: &str) -> Result<f64, String> {
    text.parse().map_err(|_| format!("'{text}' is no number"))
}

/// A place of the pane in shares of its width and height.
fn place(window: &Window, x: &str, y: &str) -> Result<Pos2, String> {
    let rect = window.pane_rect;
    Ok(rect.min + vec2(rect.width() * number(x)? as f32, rect.height() * number(y)? as f32))
}

fn light(window: &Window, name: &str) -> Result<grisaille_base::LightId, String> {
    let light = window.desk.scheme().lights.iter().find(|l| l.name == name);
    light.map(|l| l.id).ok_or_else(|| format!("no light '{name}'"))
}

fn lamp(window: &Window, name: &str) -> Result<Pos2, String> {
    let light = window.desk.scheme().lights.iter().find(|l| l.name == name);
    let at = light.and_then(crate::desk::lamp_place).ok_or_else(|| format!("no lamp '{name}'"))?;
    let camera = window.camera.ok_or("nothing is shown")?;
    let rect = window.pane_rect;
    let [x, y, _] = camera.project(Point3::from(at), [f64::from(rect.width()), f64::from(rect.height())]);
    Ok(pos2(rect.min.x + x as f32, rect.min.y + y as f32))
}

fn look(window: &Window, name: &str) -> Result<Look, String> {
    Ok(match name {
        "primed" => Look::Primed,
        "greys" => Look::Greys,
        "bands" => Look::Bands,
        "zones" => Look::Zones,
        "regions" => Look::Regions,
        "colours" => Look::Colours,
        "steps" => Look::Steps,
        "openness" => Look::Openness(window.reach_tenths()),
        other => Look::Light(light(window, other)?),
    })
}

fn key(name: &str) -> Result<(Key, Modifiers), String> {
    let mut modifiers = Modifiers::NONE;
    let mut last = name;
    for part in name.split('+') {
        match part {
            "Ctrl" => modifiers |= Modifiers::CTRL | Modifiers::COMMAND,
            "Shift" => modifiers |= Modifiers::SHIFT,
            other => last = other,
        }
    }
    Key::from_name(last).map(|key| (key, modifiers)).ok_or_else(|| format!("no key '{last}'"))
}

fn press(key: Key, modifiers: Modifiers) -> Vec<Event> {
    [true, false]
        .map(|pressed| Event::Key { key, physical_key: None, pressed, repeat: false, modifiers })
        .into()
}

fn write_png(picture: &ColorImage, path: &Path) -> Result<(), String> {
    let said = |e: &dyn std::fmt::Display| format!("'{}': {e}", path.display());
    let file = std::fs::File::create(path).map_err(|e| said(&e))?;
    let [width, height] = picture.size;
    let mut encoder = png::Encoder::new(BufWriter::new(file), width as u32, height as u32);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    let bytes: Vec<u8> = picture.pixels.iter().flat_map(|p: &egui::Color32| [p.r(), p.g(), p.b()]).collect();
    let mut writer = encoder.write_header().map_err(|e| said(&e))?;
    writer.write_image_data(&bytes).map_err(|e| said(&e))?;
    writer.finish().map_err(|e| said(&e))
}
