//! `view`: one picture with its legend.

use crate::colours;
use crate::failure::Failure;
use crate::files::Output;
use crate::job::{Planned, plan_model};
use crate::view_args::{Fineness, Look as LookArg, Side, View as Args};
use grisaille_base::{LightId, Millimetres, Stop, Watch};
use grisaille_colour::LinearRgb;
use grisaille_form::{BrushShape, FLOWS_IN, reach};
use grisaille_picture::{
    Canvas, Coat, Frame, Image, InLines, Legend, Look, Pattern, Scene, SheetStyle, SvgView, Swatch, Tick,
    View, band_grey, legend, places, svg, zone_style,
};
use grisaille_plan::{Plan, Tone, look_round, spray_in_words, tone_words, usual_reach};
use grisaille_words::Words;
use std::path::{Path, PathBuf};

/// The height of letters on paper and the distance between the marks of patterns, mm.
const BODY: f64 = 2.2;
const PITCH: f64 = 1.1;
/// White round a view, in pixels.
const EDGE_PX: f64 = 10.0;
/// Half the room that a letter of an SVG needs, mm of paper.
const LETTER_ROOM: f64 = 1.4;

pub(crate) fn view(args: &Args) -> Result<(), Failure> {
    let primer = matches!(args.look, LookArg::Sprayed | LookArg::SprayedOnce | LookArg::DryBrushed);
    if let Some(within) = args.within
        && !(within > 0.0 && within.is_finite())
    {
        return Err(Failure::Usage(format!("--within {within}: give a distance of more than 0 mm")));
    }
    args.size.check()?;
    let (run, mut planned, output) = plan_model(
        &args.model,
        (&args.plan, primer),
        &args.run,
        std::slice::from_ref(&args.output),
        |scheme, inputs| {
            if args.look == LookArg::Exposure && !scheme.lights.iter().any(|l| l.name == args.of) {
                let names: Vec<&str> = scheme.lights.iter().map(|l| l.name.as_str()).collect();
                return Err(Failure::Usage(format!("--of {}: the lights are {}", args.of, names.join(", "))));
            }
            if primer && scheme.primer.tones.is_none() {
                let why = "this look shows the primer plan: choose its tones with --primer";
                return Err(Failure::Usage(why.into()));
            }
            if matches!(args.look, LookArg::Colours | LookArg::Steps) && scheme.colours.regions.is_empty() {
                return Err(Failure::Usage(colours::NONE.into()));
            }
            open_either(&args.output, inputs)
        },
    )?;
    let size = args.size.of(&planned.plan.mesh)?;
    if args.look == LookArg::Openness {
        let reach = args.within.map_or_else(|| usual_reach(&planned.plan.mesh), Millimetres);
        planned.plan.openness = Some(look_round(&planned.plan, reach, &run.watch)?);
    }
    if args.look == LookArg::Reach {
        let plan = &mut planned.plan;
        plan.reach = Some(reach(&plan.mesh, &plan.surface, &BrushShape::detail(), FLOWS_IN, &run.watch)?);
    }
    if matches!(args.look, LookArg::Colours | LookArg::Steps | LookArg::ColourValues) {
        let folder = args.model.model.parent().unwrap_or(Path::new(""));
        colours::paint(&mut planned, folder, &run.watch)?;
    }
    let light = planned.plan.lights.iter().find(|l| l.name == args.of).map_or(LightId(0), |l| l.id);
    let look = match args.look {
        LookArg::Values => Look::Values,
        LookArg::Greys => Look::Tones,
        LookArg::ColourValues => Look::ColourValues,
        LookArg::Exposure => Look::Exposure(light),
        LookArg::Zones => Look::Zones,
        LookArg::Openness => Look::Openness,
        LookArg::Reach => Look::Reach,
        LookArg::Colours => Look::Colours,
        LookArg::Steps => Look::Steps,
        LookArg::Primed => Look::Primed(Coat::Light),
        LookArg::Sprayed => Look::Sprayed(usize::MAX),
        LookArg::SprayedOnce => Look::SprayedOnce,
        LookArg::DryBrushed => Look::DryBrushed(usize::MAX),
    };
    let views: Vec<View> = args.view.iter().map(|side| side_view(*side)).collect();
    if is_svg(&args.output) {
        let text = in_lines(&planned, look, &views, size, &run.watch)?;
        output.keep(|out| out.write_all(text.as_bytes()))?;
    } else {
        let sheet = draw(&planned, look, &views, size, &run.watch)?;
        output.keep(|mut out| sheet.write_png(&mut out, size.printed))?;
    }
    run.finish()
}

/// The number of a step on its own colour.
fn step_number(plan: &Plan, label: u16) -> (String, LinearRgb) {
    let (row, step) = (usize::from(label / 8), usize::from(label % 8));
    let step_colour = plan.colouring.as_ref().and_then(|c| c.rows.get(row)?.ramp.get(step));
    match step_colour {
        Some(colour) => ((step + 1).to_string(), colour.shown().shown()),
        None => (String::new(), LinearRgb::grey(0.5)),
    }
}

fn is_svg(path: &Path) -> bool {
    path.extension().is_some_and(|e| e.eq_ignore_ascii_case("svg"))
}

/// Opens a picture file; SVG where the picture can be written so.
fn open_either(path: &Path, inputs: &[PathBuf]) -> Result<Output, Failure> {
    if is_svg(path) {
        return Output::open(path, inputs);
    }
    open(path, inputs).map_err(|e| match e {
        Failure::Usage(why) => Failure::Usage(format!("{why} or .svg")),
        e => e,
    })
}

/// Opens a picture file.
pub(crate) fn open(path: &Path, inputs: &[PathBuf]) -> Result<Output, Failure> {
    if path.extension().is_none_or(|e| !e.eq_ignore_ascii_case("png")) {
        return Err(Failure::Usage(format!("'{}': a picture is written as .png", path.display())));
    }
    Output::open(path, inputs)
}

fn side_view(side: Side) -> View {
    match side {
        Side::Front => View::front(),
        Side::Back => View::back(),
        Side::Left => View::left_side(),
        Side::Right => View::right_side(),
        Side::ThreeQuarter => View::three_quarter(),
        Side::Top => View::above(),
    }
}

/// The frame of a view with white round it.
fn framed(plan: &Plan, view: &View, fineness: Fineness) -> Frame {
    Frame::fit(plan.mesh.positions(), view.clone(), fineness.figure, EDGE_PX / fineness.figure)
}

/// Draws views of one look side by side, with title and legend.
pub(crate) fn draw(
    planned: &Planned,
    look: Look,
    views: &[View],
    fineness: Fineness,
    watch: &Watch,
) -> Result<Image, Stop> {
    let plan = &planned.plan;
    let span = watch.span("pictures", views.len() as u64);
    let [body_px, pitch_px] = [BODY, PITCH].map(|mm| (mm * fineness.paper) as f32);
    let style = SheetStyle { width_px: 1 << 14, body_px, pitch_px, ..SheetStyle::default() };
    let mut canvas = Canvas::new(style).title(planned.scheme.title.clone()).note(words(plan, look));
    for view in views {
        let frame = framed(plan, view, fineness);
        let scene = Scene::new(plan, &frame, fineness.paper, watch)?;
        let shaded = scene.shade(look, watch)?;
        let mut image = shaded.image;
        if let (Some(areas), true) = (shaded.areas, look != Look::Reach) {
            let size = style.body_px;
            let found = places(&areas.per_pixel(watch)?, areas.width(), 0.55 * size, 5, watch)?;
            image.letters(&found, size, |label| {
                let (text, ground) = letter(plan, look, label);
                // On a pattern a letter needs a clear edge round it.
                (text, ground.ink(), (look == Look::Zones).then_some(ground))
            });
        }
        canvas = canvas.view(image, &frame);
        span.advance(1);
    }
    if let Some(legend) = legend(plan, look) {
        canvas = canvas.legend(legend);
    }
    Ok(cropped(&canvas.compose()))
}

/// The letter of an area, and the colour that it stands on.
fn letter(plan: &Plan, look: Look, label: u16) -> (String, LinearRgb) {
    match look {
        Look::Zones => (label.to_string(), zone_style(plan, label as u8).colour),
        Look::Steps => step_number(plan, label),
        _ => {
            let band = usize::from(label);
            let letter = plan.bands.rows.get(band).map_or('?', |b| b.letter);
            (letter.to_string(), band_grey(plan, band))
        }
    }
}

/// The same views as SVG, their lines and flat areas as outlines.
fn in_lines(
    planned: &Planned,
    look: Look,
    views: &[View],
    fineness: Fineness,
    watch: &Watch,
) -> Result<String, Stop> {
    let plan = &planned.plan;
    let span = watch.span("pictures", views.len() as u64);
    let mut drawn = Vec::new();
    for view in views {
        let frame = framed(plan, view, fineness);
        let InLines { shading, areas, outlines, strokes } =
            Scene::new(plan, &frame, fineness.paper, watch)?.in_lines(look, watch)?;
        let mut letters = Vec::new();
        if let (Some(areas), true) = (areas, look != Look::Reach) {
            let found = places(
                &areas.per_pixel(watch)?,
                areas.width(),
                (LETTER_ROOM * fineness.paper) as f32,
                5,
                watch,
            )?;
            letters.extend(found.into_iter().map(|place| {
                let (text, ground) = letter(plan, look, place.label);
                (place, text, ground.ink())
            }));
        }
        let size_px = [frame.width(), frame.height()];
        let words = view.words().to_owned();
        drawn.push(SvgView { words, size_px, shading, areas: outlines, strokes, letters });
        span.advance(1);
    }
    let rows = match legend(plan, look) {
        Some(Legend::Swatches { rows, .. }) => rows,
        // The marked places of a scale stand for it.
        Some(Legend::Scale { colour, ticks, .. }) => {
            let row = |tick: Tick| Swatch {
                letter: String::new(),
                pattern: Pattern::Plain,
                colour: colour(tick.at),
                name: tick.number,
                range: tick.words,
            };
            ticks.into_iter().rev().map(row).collect()
        }
        None => Vec::new(),
    };
    svg(&planned.scheme.title, &words(plan, look), &drawn, &rows, fineness.paper, watch)
}

/// The canvas without the empty paper at its right and lower edges.
pub(crate) fn cropped(image: &Image) -> Image {
    let used = |x: u32, y: u32| image.pixel(x, y).is_some_and(|p| p != [255; 3]);
    let right = (0..image.width()).rev().find(|x| (0..image.height()).any(|y| used(*x, y))).unwrap_or(0);
    let low = (0..image.height()).rev().find(|y| (0..image.width()).any(|x| used(x, *y))).unwrap_or(0);
    let edge = 40;
    let mut out = Image::new(
        (right + edge).min(image.width()).max(1),
        (low + edge).min(image.height()).max(1),
        LinearRgb::WHITE,
    );
    out.paste(image, 0, 0);
    out
}

fn words(plan: &Plan, look: Look) -> String {
    match look {
        Look::Values => "Grey values to paint, in bands. Letters name the bands.".into(),
        Look::ColourValues => {
            "Grey values that the planned colours come to, in bands. Letters name the bands.".into()
        }
        Look::Tones => "Planned values as smooth greys.".into(),
        Look::Exposure(id) => match plan.lights.iter().find(|l| l.id == id) {
            Some(l) => format!(
                "How much of the light '{}' arrives. It reaches {:.0} % of the painted surface.",
                l.name,
                100.0 * l.answer.reached_share
            ),
            None => String::new(),
        },
        Look::Reach => format!(
            "Where a pointed brush comes: {:.0} % of the painted surface is out of its reach from every side.",
            100.0 * plan.out_of_reach_share()
        ),
        Look::Openness => plan.openness.as_ref().map_or_else(String::new, |o| {
            format!(
                "How open each spot lies within {:.1} mm. Dark: recesses, for washes and lines.",
                o.reach.0
            )
        }),
        Look::Zones => "Which light is the strongest where.".into(),
        Look::Colours => "The planned colours, steps blended.".into(),
        Look::Steps => "The planned colours step by step; 1 is the darkest step of each region.".into(),
        Look::Primed(_) => {
            "As primed: dark all over, mid grey from all round at 45°, light from above.".into()
        }
        Look::Sprayed(_) | Look::SprayedOnce | Look::DryBrushed(_) => primer_words(plan, look),
    }
}

fn primer_words(plan: &Plan, look: Look) -> String {
    let Some(primer) = &plan.primer else { return "Nothing to prime.".into() };
    let tone = |tone| tone_words(primer.set, tone);
    let passes: Vec<String> = match look {
        Look::SprayedOnce => {
            let pass = primer.once_pass();
            vec![format!("{} {}", tone(pass.tone), spray_in_words(pass.axis, Words::english()))]
        }
        Look::Sprayed(_) => {
            let passes = primer.advised().passes.iter();
            passes.map(|p| format!("{} {}", tone(p.tone), spray_in_words(p.axis, Words::english()))).collect()
        }
        _ => {
            let passes = primer.dry_brush.passes.iter();
            passes.map(|p| format!("{} brushed {}", tone(p.tone), p.stroke.words())).collect()
        }
    };
    format!("{} all over; {}.", in_full(tone(Tone::Dark)), passes.join("; then "))
}

/// Words as the beginning of a sentence.
fn in_full(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
