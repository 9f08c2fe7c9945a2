//! Faces on what is painted as skin: marked by a click on the tip of the nose, then turned, sized and
//! given eyes.

use crate::card_paint::meaning;
use crate::desk::rounded;
use crate::field::{Scale, choice, heading_small, note, slider, tenth, typed, well};
use crate::pick::Spot;
use crate::step::Tool;
use crate::window::{Typed, Window};
use eframe::egui::{Button, Ui};
use grisaille_base::Millimetres;
use grisaille_scheme::{FaceChoice, Gaze};
use nalgebra::Point3;

/// The eyes' colour, where none is chosen: a dark brown.
const BROWN: &str = "#4a3426";
/// A face is so much of the figure's height, from hairline to chin, as the plan takes it.
const OF_HEIGHT: f64 = 0.125;

pub(crate) fn show(window: &mut Window, ui: &mut Ui) {
    heading_small(ui, "Faces");
    let marking = Button::selectable(window.tool == Tool::Face, "Mark a face…").frame_when_inactive(true);
    let words = "Look at the face from its front first, then click on the tip of its nose";
    if ui.add(marking).on_hover_text(words).clicked() {
        window.take_up(if window.tool == Tool::Face { Tool::Turn } else { Tool::Face });
    }
    let faces = window.desk.scheme().colours.faces.clone();
    if faces.is_empty() {
        note(ui, "A marked face gets its planes, red where blood is near, and eyes.");
    }
    for (k, face) in faces.iter().enumerate() {
        ui.push_id(("face", k), |ui| one(window, ui, k, face));
    }
}

/// Marks a face where the painter clicked, turned to where he looks from.
pub(crate) fn mark(window: &mut Window, spot: &Spot) {
    window.tool = Tool::Turn;
    let face = FaceChoice {
        at: rounded(spot.point.into()),
        eye: None,
        toward: toward(window),
        height: None,
        gaze: Gaze::Ahead,
        eyes: None,
    };
    window.edit("Mark a face", |d| d.scheme.colours.faces.push(face));
    let skin = window.painted.as_ref().is_some_and(|p| {
        let row = p.colouring.row_of_face(spot.face);
        row.and_then(|k| p.colouring.rows.get(k))
            .is_some_and(|r| r.material == grisaille_scheme::Material::Skin)
    });
    window.say(match skin {
        true => "The face is marked. Its size, its eyes and where they look are set beside the figure.",
        false => "The face is marked. It shows once what lies there is made of skin.",
    });
}

/// Sets the eyes of a face by one of them.
pub(crate) fn mark_eye(window: &mut Window, k: usize, spot: &Spot) {
    window.tool = Tool::Turn;
    let eye = rounded(spot.point.into());
    change(window, "Set the eyes of a face", k, |f| f.eye = Some(eye));
    window.say("Both eyes, brow and cheeks lie by this eye now.");
}

/// The way from the face to the eye, level, to a hundredth; none from straight above.
fn toward(window: &Window) -> Option<[f64; 3]> {
    let mut way = window.camera?.view().toward();
    way.z = 0.0;
    let way = way.try_normalize(1e-3)?;
    Some(rounded(way.into()))
}

fn change(window: &mut Window, what: &str, k: usize, change: impl FnOnce(&mut FaceChoice)) {
    window.edit(what, |d| {
        if let Some(face) = d.scheme.colours.faces.get_mut(k) {
            change(face);
        }
    });
}

fn one(window: &mut Window, ui: &mut Ui, k: usize, face: &FaceChoice) {
    let height = window.ground().map_or(30.0, |g| g.mesh.bounds().extents()[2]);
    let scale = Scale {
        label: "From hairline to chin",
        words: "How tall the face is; an eighth of the figure unless set",
        range: 0.5..=40.0,
        unit: " mm",
        decimals: 1,
        bent: true,
    };
    if let Some(to) = slider(window, ui, &scale, face.height.map_or(tenth(OF_HEIGHT * height), |h| h.0)) {
        change(window, "Size a face", k, |f| f.height = Some(Millimetres(tenth(to).max(0.1))));
    }
    ui.horizontal_wrapped(|ui| {
        ui.label("Looks");
        for (gaze, name) in
            [(Gaze::Left, "to your left"), (Gaze::Ahead, "at you"), (Gaze::Right, "to your right")]
        {
            if choice(ui, face.gaze == gaze, name).clicked() && face.gaze != gaze {
                change(window, "Turn the eyes", k, |f| f.gaze = gaze);
            }
        }
    });
    let word = face.eyes.clone().unwrap_or_else(|| BROWN.into());
    ui.horizontal(|ui| {
        if let Some(to) = well(window, ui, "Eyes", "Choose the colour of eyes", meaning(window, &word)) {
            change(window, "Choose the colour of eyes", k, |f| f.eyes = Some(to));
        }
        if let Some(to) = typed(window, ui, "Eye colour", Typed::Eyes(k), &word, 110.0) {
            change(window, "Choose the colour of eyes", k, |f| f.eyes = Some(to));
        }
    });
    window.warn_of_word(ui, face.eyes.as_deref());
    ui.horizontal_wrapped(|ui| {
        if ui.button("Show it").on_hover_text("Turns the figure to this face").clicked() {
            let now = ui.input(|i| i.time);
            window.look_at(Point3::from(face.at), now);
        }
        let setting =
            Button::selectable(window.tool == Tool::FaceEye(k), "Set its eyes…").frame_when_inactive(true);
        let words = "Click on the middle of one eye as the sculpt has it; the other follows";
        if ui.add(setting).on_hover_text(words).clicked() {
            window.take_up(if window.tool == Tool::FaceEye(k) { Tool::Turn } else { Tool::FaceEye(k) });
        }
        let words = "It is turned to where you look from now";
        if ui.button("It faces me").on_hover_text(words).clicked()
            && let Some(way) = toward(window)
        {
            change(window, "Turn a face", k, |f| f.toward = Some(way));
        }
        if ui.button("Take this face away").clicked() {
            window.edit("Take a face away", |d| {
                if k < d.scheme.colours.faces.len() {
                    d.scheme.colours.faces.remove(k);
                }
            });
            window.typed = None;
        }
    });
}
