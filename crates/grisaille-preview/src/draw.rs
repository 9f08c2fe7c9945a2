//! Drawing the figure with three-d on the window's own OpenGL context.
//!
//! The surface is uploaded once; a new picture fills one number for each
//! sample anew, and the colours follow from it on the graphics side, exactly at
//! every pixel. A pane is drawn off screen and only when something changed;
//! otherwise its picture is copied.

mod programs;

use self::programs::{BLUR, COPY, FRAGMENT, VERTEX, WHOLE};
use crate::camera::Camera;
use crate::look::{Field, StepRow, Style};
use crate::worker::Faces;
use grisaille_colour::FalseColour;
use grisaille_plan::Ground;
use std::sync::Arc;
use std::time::{Duration, Instant};
use three_d::core::{
    ClearState, Context, CoreError, CpuTexture, Cull, DepthTest, ElementBuffer, Interpolation, Program,
    RenderStates, RenderTarget, RenderTargetMultisample, ScissorBox, Texture2D, TextureData, VertexBuffer,
    Viewport, Wrapping, WriteMask,
};
use three_d::{Vec2, Vec3, Vec4, vec2, vec3, vec4};

/// The panes that can stand side by side.
pub(crate) const PANES: usize = 2;

/// Samples for each pixel: every OpenGL 3 and OpenGL ES 3 offers four
/// (the least MAX_SAMPLES of both specifications).
const SAMPLES: u32 = 4;
/// A figure that takes longer to draw than this is drawn with fewer faces while
/// it moves: a frame on a screen of 60 Hz lasts a sixtieth of a second.
const SLOW: Duration = Duration::from_micros(16_667);
/// How often drawing all faces is timed.
const TIMES: u32 = 3;

/// What one pane shows.
#[derive(Clone, Debug, PartialEq)]
pub struct PaneView {
    /// From where.
    pub camera: Camera,
    /// The pane in points.
    pub size: [f64; 2],
    /// The pane in pixels.
    pub pixels: [u32; 2],
    /// The ground behind the figure, 8-bit sRGB.
    pub ground: [u8; 3],
    /// The acuity blur's standard deviation in pixels; 0 for none.
    pub blur: f32,
    /// Pixels between the marks of a pattern.
    pub pitch: f32,
    /// How thick the line round what is chosen is, in pixels.
    pub line: f32,
    /// The figure is turning or a lamp is in the hand: draw fewer faces if all
    /// of them take too long.
    pub moving: bool,
}

/// All that lives on the graphics side.
pub struct Canvas {
    context: Context,
    figure: Program,
    copy: Program,
    blur: Program,
    scale: Texture2D,
    whole: VertexBuffer<Vec2>,
    surface: Option<Surface>,
    panes: [Pane; PANES],
}

struct Surface {
    positions: VertexBuffer<Vec3>,
    normals: VertexBuffer<Vec3>,
    /// Stands in for numbers until there are some.
    blank: VertexBuffer<f32>,
    /// What is chosen, if anything is.
    marks: Option<VertexBuffer<f32>>,
    fine: ElementBuffer<u32>,
    coarse: ElementBuffer<u32>,
    count: usize,
    version: u64,
    /// How long all faces took to draw: the least of a few times, as the first
    /// has the driver's preparations in it.
    took: Option<Duration>,
    timed: u32,
}

#[derive(Default)]
struct Pane {
    values: Option<VertexBuffer<f32>>,
    style: Option<Style>,
    /// Ramps of [`Style::Steps`].
    ramps: Option<Texture2D>,
    version: u64,
    target: Option<Target>,
    drawn: Option<(PaneView, u64, u64)>,
}

struct Target {
    many: RenderTargetMultisample<[u8; 4], f32>,
    picture: Texture2D,
    half: Texture2D,
}

impl Canvas {
    /// Makes programs and textures.
    ///
    /// # Errors
    /// What the graphics driver says.
    pub fn new(gl: Arc<eframe::glow::Context>) -> Result<Self, String> {
        let said = |e: CoreError| e.to_string();
        let context = Context::from_gl_context(gl).map_err(said)?;
        let figure = Program::from_source(&context, VERTEX, FRAGMENT).map_err(said)?;
        let copy = Program::from_source(&context, WHOLE, COPY).map_err(said)?;
        let blur = Program::from_source(&context, WHOLE, BLUR).map_err(said)?;
        let colours: Vec<[u8; 4]> = (0..256)
            .map(|i| {
                let [r, g, b] = FalseColour::at(f64::from(i) / 255.0).to_srgb8();
                [r, g, b, 255]
            })
            .collect();
        let scale = Texture2D::new(
            &context,
            &CpuTexture {
                data: TextureData::RgbaU8(colours),
                width: 256,
                height: 1,
                mipmap: None,
                wrap_s: Wrapping::ClampToEdge,
                wrap_t: Wrapping::ClampToEdge,
                ..CpuTexture::default()
            },
        );
        let corners = [vec2(-1.0, -1.0), vec2(3.0, -1.0), vec2(-1.0, 3.0)];
        let whole = VertexBuffer::new_with_data(&context, &corners);
        let panes = <[Pane; PANES]>::default();
        Ok(Self { context, figure, copy, blur, scale, whole, surface: None, panes })
    }

    /// Uploads a surface; nothing is shown on it yet.
    pub fn set_surface(&mut self, ground: &Ground) {
        let samples = &ground.surface.samples;
        let all = |of: &dyn Fn(usize) -> Vec3| (0..samples.len()).map(of).collect::<Vec<_>>();
        let positions = all(&|i| {
            let p = samples.position[i];
            vec3(p.x, p.y, p.z)
        });
        let normals = all(&|i| {
            let n = samples.normal[i];
            vec3(n.x, n.y, n.z)
        });
        self.surface = Some(Surface {
            positions: VertexBuffer::new_with_data(&self.context, &positions),
            normals: VertexBuffer::new_with_data(&self.context, &normals),
            blank: VertexBuffer::new_with_data(&self.context, &vec![0.0_f32; samples.len()]),
            marks: None,
            fine: ElementBuffer::new(&self.context),
            coarse: ElementBuffer::new(&self.context),
            count: samples.len(),
            version: self.surface.as_ref().map_or(1, |s| s.version + 1),
            took: None,
            timed: 0,
        });
        for pane in &mut self.panes {
            (pane.values, pane.style) = (None, None);
            pane.version += 1;
        }
    }

    /// Draws a line round what is chosen; `marks` are as of `paint::marks`.
    pub fn set_marks(&mut self, marks: Option<&[f32]>) {
        let Some(surface) = &mut self.surface else { return };
        surface.version += 1;
        match marks.filter(|m| m.len() == surface.count) {
            Some(marks) => {
                surface.marks.get_or_insert_with(|| VertexBuffer::new(&self.context)).fill(marks);
            }
            None => surface.marks = None,
        }
    }

    /// Uploads which faces are drawn.
    pub fn set_faces(&mut self, faces: &Faces) {
        if let Some(surface) = &mut self.surface {
            surface.fine.fill(&faces.fine);
            surface.coarse.fill(&faces.coarse);
            surface.version += 1;
            (surface.took, surface.timed) = (None, 0);
        }
    }

    /// Shows the bare form in a pane, until there are numbers for it.
    pub fn clear_field(&mut self, pane: usize) {
        if let Some(pane) = self.panes.get_mut(pane) {
            pane.style = None;
            pane.version += 1;
        }
    }

    /// Fills a pane's numbers anew, in place.
    pub fn set_field(&mut self, pane: usize, field: &Field) {
        let Some(surface) = &self.surface else { return };
        let Some(pane) = self.panes.get_mut(pane) else { return };
        // Numbers for a surface that has been replaced since.
        if field.values.len() != surface.count {
            return;
        }
        pane.values.get_or_insert_with(|| VertexBuffer::new(&self.context)).fill(&field.values);
        pane.style = Some(field.style.clone());
        pane.ramps = match &field.style {
            Style::Steps { ramps } => Some(ramps_texture(&self.context, ramps)),
            _ => None,
        };
        pane.version += 1;
    }

    /// Draws a pane off screen if anything about it changed, and copies it to
    /// the window: to `viewport`, within `clip`, in pixels from the lower left.
    /// Whether it had to be drawn.
    pub fn paint(
        &mut self,
        pane: usize,
        view: &PaneView,
        screen: [u32; 2],
        viewport: Viewport,
        clip: ScissorBox,
    ) -> bool {
        let surface_version = self.surface.as_ref().map_or(0, |s| s.version);
        let Some(state) = self.panes.get(pane) else { return false };
        let key = (view.clone(), surface_version, state.version);
        let stale = state.drawn.as_ref() != Some(&key);
        if stale {
            self.draw(pane, view);
            if let Some(state) = self.panes.get_mut(pane) {
                state.drawn = Some(key);
            }
        }
        if let Some(target) = self.panes.get(pane).and_then(|p| p.target.as_ref()) {
            let onto = RenderTarget::screen(&self.context, screen[0], screen[1]);
            let done: Result<_, CoreError> = onto.write_partially(clip, || {
                self.copy.use_texture("picture", &target.picture);
                let [width, height] = view.pixels.map(|n| 1.0 / n.clamp(1, 8192) as f32);
                let chosen = self.surface.as_ref().is_some_and(|s| s.marks.is_some()) && view.blur <= 0.3;
                let thick = if chosen { view.line } else { 0.0 };
                self.copy.use_uniform("line", vec4(width, height, thick, 0.0));
                self.copy.use_vertex_attribute("corner", &self.whole);
                self.copy.draw_arrays(flat(), viewport, 3);
                Ok(())
            });
            // The closure never fails.
            let _ = done;
        }
        stale
    }

    fn draw(&mut self, pane: usize, view: &PaneView) {
        let [width, height] = view.pixels.map(|n| n.clamp(1, 8192));
        let Some(state) = self.panes.get_mut(pane) else { return };
        if state.target.as_ref().is_none_or(|t| (t.many.width(), t.many.height()) != (width, height)) {
            let picture = || {
                Texture2D::new_empty::<[u8; 4]>(
                    &self.context,
                    width,
                    height,
                    Interpolation::Linear,
                    Interpolation::Linear,
                    None,
                    Wrapping::ClampToEdge,
                    Wrapping::ClampToEdge,
                )
            };
            state.target = Some(Target {
                many: RenderTargetMultisample::new(&self.context, width, height, SAMPLES),
                picture: picture(),
                half: picture(),
            });
        }
        let Some(state) = self.panes.get(pane) else { return };
        let Some(target) = &state.target else { return };
        let [r, g, b] = view.ground.map(|c| f32::from(c) / 255.0);
        // Where there is a choice of faces, it is made by how long all of them take.
        let times = |s: &Surface| s.timed < TIMES && s.coarse.count() > 0 && s.fine.count() > 0;
        let begun = self.surface.as_ref().filter(|s| times(s) && !s.hurries(view)).map(|_| Instant::now());
        target.many.clear(ClearState::color_and_depth(r, g, b, 1.0, 1.0));
        if let Some(surface) = &self.surface
            && surface.fine.count() > 0
        {
            let done: Result<_, CoreError> = target.many.write(|| {
                self.draw_surface(surface, state, view, [width, height]);
                Ok(())
            });
            let _ = done;
        }
        target.many.resolve_color_to(&target.picture.as_color_target(None));
        let took = begun.map(|begun| {
            // Reading a pixel waits for the driver.
            let corner = ScissorBox { x: 0, y: 0, width: 1, height: 1 };
            let _: Vec<[u8; 4]> = target.picture.as_color_target(None).read_partially(corner);
            begun.elapsed()
        });
        if view.blur > 0.3 {
            let step = [1.0 / width as f32, 1.0 / height as f32];
            let passes = [
                (&target.picture, &target.half, vec4(step[0], 0.0, view.blur, 0.0)),
                (&target.half, &target.picture, vec4(0.0, step[1], view.blur, 0.0)),
            ];
            for (from, to, way) in passes {
                let onto = to.as_color_target(None);
                let done: Result<_, CoreError> = onto.write(|| {
                    self.blur.use_texture("picture", from);
                    self.blur.use_uniform("way", way);
                    self.blur.use_vertex_attribute("corner", &self.whole);
                    self.blur.draw_arrays(flat(), Viewport::new_at_origo(width, height), 3);
                    Ok(())
                });
                let _ = done;
            }
        }
        if let (Some(took), Some(surface)) = (took, &mut self.surface) {
            surface.took = Some(surface.took.map_or(took, |t| t.min(took)));
            surface.timed += 1;
        }
    }

    fn draw_surface(&self, surface: &Surface, pane: &Pane, view: &PaneView, [width, height]: [u32; 2]) {
        let program = &self.figure;
        let rows = view.camera.clip_from_scene(view.size);
        let row = |k: usize| {
            let r = rows[k].map(|x| x as f32);
            vec4(r[0], r[1], r[2], r[3])
        };
        program.use_uniform("row_x", row(0));
        program.use_uniform("row_y", row(1));
        program.use_uniform("row_z", row(2));
        let toward = view.camera.view().toward();
        program.use_uniform("toward", vec3(toward.x as f32, toward.y as f32, toward.z as f32));
        program.use_uniform("pitch", view.pitch.max(2.0));
        program.use_texture("scale", &self.scale);
        program.use_texture("ramps", pane.ramps.as_ref().unwrap_or(&self.scale));
        let mut borders = [0.0_f32; 8];
        let mut tones = [vec4(0.0, 0.0, 0.0, 0.0); 16];
        let of = |rgb: [u8; 3], a: f32| -> Vec4 {
            let [r, g, b] = rgb.map(|c| f32::from(c) / 255.0);
            vec4(r, g, b, a)
        };
        let (mode, count) = match &pane.style {
            None => (4.0, 0),
            Some(Style::Tone) => (0.0, 0),
            Some(Style::Scale) => (2.0, 0),
            Some(Style::Bands { borders: at, greys }) => {
                for (to, from) in borders.iter_mut().zip(at) {
                    *to = *from;
                }
                for (to, from) in tones.iter_mut().zip(greys) {
                    *to = of([*from; 3], 0.0);
                }
                (1.0, at.len())
            }
            Some(Style::Swatches) => (5.0, 0),
            Some(Style::Blended) => (6.0, 0),
            Some(Style::Steps { .. }) => (7.0, 0),
            Some(Style::Zones { rows }) => {
                for (to, from) in tones.iter_mut().zip(rows) {
                    *to = of(from.colour, f32::from(from.pattern));
                }
                (3.0, rows.len())
            }
        };
        program.use_uniform("mode", mode);
        program.use_uniform("count", count as f32);
        program.use_uniform_array("borders", &borders);
        program.use_uniform_array("tones", &tones);
        program.use_vertex_attribute("position", &surface.positions);
        program.use_vertex_attribute("normal", &surface.normals);
        program.use_vertex_attribute("value", pane.values.as_ref().unwrap_or(&surface.blank));
        program.use_vertex_attribute("mark", surface.marks.as_ref().unwrap_or(&surface.blank));
        let states =
            RenderStates { depth_test: DepthTest::LessOrEqual, cull: Cull::None, ..RenderStates::default() };
        let faces = if surface.hurries(view) { &surface.coarse } else { &surface.fine };
        program.draw_elements(states, Viewport::new_at_origo(width, height), faces);
    }
}

impl Surface {
    /// Whether a view is drawn with fewer faces.
    fn hurries(&self, view: &PaneView) -> bool {
        view.moving && self.coarse.count() > 0 && self.took.is_some_and(|t| t > SLOW)
    }
}

/// A ramp in each row: eight colours, and beside each the L* at which it ends.
fn ramps_texture(context: &Context, ramps: &[StepRow]) -> Texture2D {
    /// Above any L*.
    const NEVER: f32 = 1e9;
    let texel = |ramp: &StepRow, i: usize| {
        let [r, g, b] = ramp.colours.get(i).copied().unwrap_or_default().map(|c| f32::from(c) / 255.0);
        [r, g, b, ramp.borders.get(i).copied().unwrap_or(NEVER)]
    };
    // Rows of a picture are kept from its top down, the driver counts them from below.
    let data = ramps.iter().rev().flat_map(|ramp| (0..8).map(move |i| texel(ramp, i))).collect();
    Texture2D::new(
        context,
        &CpuTexture {
            data: TextureData::RgbaF32(data),
            width: 8,
            height: ramps.len() as u32,
            mipmap: None,
            min_filter: Interpolation::Nearest,
            mag_filter: Interpolation::Nearest,
            wrap_s: Wrapping::ClampToEdge,
            wrap_t: Wrapping::ClampToEdge,
            ..CpuTexture::default()
        },
    )
}

fn flat() -> RenderStates {
    RenderStates { depth_test: DepthTest::Always, write_mask: WriteMask::COLOR, ..RenderStates::default() }
}
