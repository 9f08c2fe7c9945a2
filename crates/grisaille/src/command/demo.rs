//! `demo`: everything, on the built-in diver.

use crate::args::Demo;
use crate::choices::scheme;
use crate::command::{guide, map, view};
use crate::failure::Failure;
use crate::files::{Output, print};
use crate::job::{Run, make_plan};
use crate::scene::{DIVER_FILE, read_diver};
use crate::view_args::Fineness;
use grisaille_base::{LightId, Millimetres};
use grisaille_diver::{DiverSettings, FACE, LAMP, diver};
use grisaille_picture::{Coat, Look, View};
use grisaille_plan::Products;
use grisaille_scheme::{FalloffChoice, FocalPoint, LightChoice, LightEntry, Scheme, Spread};
use std::fs;
use std::path::Path;
use std::sync::Arc;

/// The title of the demo's sheets.
const TITLE: &str = "Hard-hat diver on the sea bed";
/// The distance of the hand lamp's full light in mm: a little beyond the face,
/// which is 16 mm away and catches the light aslant.
const LAMP_REACH: f64 = 20.0;
/// How far in mm the lantern lets its own light through: its housing, glass
/// and cage end within this of the flame, the fist begins beyond it.
const LAMP_CLEAR: f64 = 5.6;
/// How much the lamp counts beside the daylight, which is dim down there.
const LAMP_WEIGHT: f64 = 1.2;
/// The colour of its flame, as sRGB.
const LAMP_COLOUR: [u8; 3] = [255, 196, 120];
/// The face from nose to temple in mm, and how far it is lifted: enough that
/// its far side leaves the two darkest bands.
const FACE_RADIUS: f64 = 6.0;
const FACE_LIFT: f64 = 0.4;
/// Where the demo's daylight comes from, if the user says nothing else: a
/// little from the front, as it suits a face, and soft through the water.
const DAYLIGHT: LightChoice = LightChoice::Zenithal { tilt: 15.0, azimuth: 20.0, radius: 12.0 };

pub(crate) fn demo(args: &Demo) -> Result<(), Failure> {
    let plan_args = &args.plan;
    let mut own = diver_scheme();
    if plan_args.light.iter().any(|l| l.starts_with("hand-lamp:")) {
        own.lights.retain(|l| l.name != "hand-lamp");
    }
    let mut scheme = scheme(plan_args, own)?;
    scheme.primer.wanted = true;
    let run = Run::start(&args.run, &[], &[])?;
    let folder = &args.folder;
    fs::create_dir_all(folder)
        .map_err(|e| Failure::Output { path: folder.clone(), why: crate::files::in_words(&e) })?;
    let place = |name: &str| folder.join(name);
    // All are opened before the work begins, so that a full or locked folder is known at once.
    let model = Output::open(&place("diver.stl"), &[])?;
    let guide_file = guide::open(&place("diver-guide.pdf"), &[])?;
    let maps = map::open(&[place("diver-map.glb"), place("diver-map.ply"), place("diver-map.json")], &[])?;
    let pictures = ["primed", "values", "daylight", "hand-lamp", "zones"]
        .map(|look| view::open(&place(&format!("diver-{look}.png")), &[]));

    let watch = &run.watch;
    let stl = diver(&DiverSettings::default(), watch)?.stl();
    let (mesh, findings) = read_diver(&stl, watch)?;
    let mut planned = make_plan(scheme, DIVER_FILE.into(), (Products::new(Arc::new(mesh)), findings), watch)?;
    model.keep(|out| out.write_all(&stl))?;
    drop(stl);
    let light =
        |name: &str| planned.plan.lights.iter().find(|l| l.name == name).map(|l| Look::Exposure(l.id));
    let looks = [
        Some(Look::Primed(Coat::Light)),
        Some(Look::Values),
        light("zenithal"),
        light("hand-lamp"),
        Some(Look::Zones),
    ];
    let views = [View::front(), View::three_quarter(), View::back()];
    let fineness = Fineness::in_pixels(&planned.plan.mesh, 900.0);
    for (look, output) in looks.into_iter().zip(pictures) {
        let output = output?;
        if let Some(look) = look {
            let sheet = view::draw(&planned, look, &views, fineness, watch)?;
            output.keep(|mut out| sheet.write_png(&mut out, fineness.printed))?;
        }
    }
    let wanted = map::wanted(&maps, folder);
    let told = map::completed(&mut planned, wanted, watch)?;
    guide::say(&map::write(&planned, &told, maps, watch)?);
    guide::say(&guide::write(&mut planned, folder, guide_file, watch)?);
    print(&report(folder))?;
    run.finish()
}

/// What is decided for the diver, where the user says nothing else.
pub(crate) fn diver_scheme() -> Scheme {
    let mut scheme = Scheme { title: TITLE.into(), ..Scheme::default() };
    for light in scheme.lights.iter_mut().filter(|l| l.name == "zenithal") {
        light.choice = DAYLIGHT;
    }
    scheme.lights.push(hand_lamp());
    scheme.emphasis.focus.push(face());
    scheme
}

/// The face, which would sink into the dark of the helmet.
fn face() -> FocalPoint {
    FocalPoint {
        at: FACE.map(f64::from),
        radius: Millimetres(FACE_RADIUS),
        strength: FACE_LIFT,
        spread: Spread::Surface,
    }
}

fn hand_lamp() -> LightEntry {
    let choice = LightChoice::Lamp {
        at: LAMP.map(f64::from),
        reference: Some(Millimetres(LAMP_REACH)),
        radius: Millimetres(0.6),
        clear: Millimetres(LAMP_CLEAR),
        falloff: FalloffChoice::default(),
    };
    LightEntry { colour: LAMP_COLOUR, ..LightEntry::new(LightId(3), "hand-lamp", LAMP_WEIGHT, choice) }
}

fn report(folder: &Path) -> String {
    let place = |name: &str| folder.join(name).display().to_string();
    format!(
        "The diver's sheets are in {}:\n  {}  print this and take it to the bench\n  {}  pictures (and four more)\n  \
         {}  the coloured surface\n  {}  the model itself\n",
        folder.display(),
        place("diver-guide.pdf"),
        place("diver-values.png"),
        place("diver-map.glb"),
        place("diver.stl"),
    )
}
