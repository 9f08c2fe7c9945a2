//! The second card: the lights. A list to choose from, and below it what can be
//! set about the chosen one.

use crate::desk::{lamp_place, rounded};
use crate::dome;
use crate::field::{Scale, choice, heading, note, number, slider, tenth};
use crate::handle::Axis;
use crate::look::Look;
use crate::step::Tool;
use crate::theme::palette;
use crate::window::Window;
use eframe::egui::{
    Button, Color32, CornerRadius, Role, Sense, Stroke, StrokeKind, TextEdit, Ui, WidgetInfo, vec2,
};
use grisaille_base::{LightId, Millimetres};
use grisaille_scheme::{LightChoice, LightEntry, SkyChoice};

pub(crate) fn show(window: &mut Window, ui: &mut Ui) {
    heading(ui, "The lights");
    for light in window.desk.scheme().lights.clone() {
        row(window, ui, &light);
    }
    let place = Button::new("Place a lamp");
    if ui.add(place).on_hover_text("Then click on the figure or beside it (L)").clicked() {
        window.take_up(Tool::PlaceLamp);
    }
    let chosen = window.desk.scheme().lights.iter().find(|l| Some(l.id) == window.selected).cloned();
    if let Some(light) = chosen {
        one(window, ui, &light);
    } else {
        note(ui, "Choose a light to see what can be set about it.");
    }
    bounce(window, ui);
}

/// What all lights do together: what one part throws onto another.
fn bounce(window: &mut Window, ui: &mut Ui) {
    heading(ui, "All lights together");
    let scale = Scale {
        label: "Thrown back",
        words: "How much of the light on a spot goes on to what it faces: 0 none, 0.2 from mid grey paint, \
                0.6 from light paint. It comes when the hand rests",
        range: 0.0..=0.95,
        unit: "",
        decimals: 2,
        bent: false,
    };
    let now = window.desk.scheme().bounce.albedo;
    if let Some(to) = slider(window, ui, &scale, now) {
        window.edit("Throw light back", |d| d.scheme.bounce.albedo = (to * 100.0).round() / 100.0);
    }
}

/// All that can be set about one light.
fn one(window: &mut Window, ui: &mut Ui, light: &LightEntry) {
    heading(ui, &title(light));
    match light.choice {
        LightChoice::Zenithal { tilt, azimuth, radius } => {
            daylight(window, ui, light, [tilt, azimuth, radius]);
        }
        LightChoice::Ring => {
            note(
                ui,
                "Spray from all round at 45°: the mid tone of three-tone priming. Its strength is all there is to set.",
            );
        }
        LightChoice::Ambient { sky } => ambient(window, ui, light, sky),
        LightChoice::Lamp { .. } => lamp(window, ui, light),
    }
    strength(window, ui, light);
    show_alone(window, ui, light);
}

fn title(light: &LightEntry) -> String {
    match light.choice {
        LightChoice::Zenithal { .. } => "Daylight from above".into(),
        LightChoice::Ring => "Light from all round".into(),
        LightChoice::Ambient { .. } => "Dim light of the sky".into(),
        LightChoice::Lamp { .. } => format!("Lamp: {}", light.name),
    }
}

/// One light in the list.
fn row(window: &mut Window, ui: &mut Ui, light: &LightEntry) {
    let colours = palette(ui.ctx());
    ui.horizontal_wrapped(|ui| {
        let (rect, _) = ui.allocate_exact_size(vec2(18.0, 18.0), Sense::hover());
        let [r, g, b] = light.colour;
        let edge = Stroke::new(1.5, colours.quiet);
        let colour = Color32::from_rgb(r, g, b);
        match light.choice {
            LightChoice::Lamp { .. } => {
                ui.painter().circle(rect.center(), 7.0, colour, edge);
            }
            LightChoice::Ring => {
                ui.painter().circle_stroke(rect.center(), 6.0, Stroke::new(3.0, colour));
                ui.painter().circle_stroke(rect.center(), 8.0, Stroke::new(1.0, colours.quiet));
            }
            LightChoice::Zenithal { .. } => {
                let at = rect.center();
                ui.painter().arrow(at - vec2(0.0, 8.0), vec2(0.0, 15.0), Stroke::new(2.0, colours.brass));
            }
            LightChoice::Ambient { .. } => {
                ui.painter().rect(rect.shrink(2.0), CornerRadius::same(5), colour, edge, StrokeKind::Inside);
            }
        }
        let chosen = window.selected == Some(light.id);
        let reached = window
            .shown
            .as_ref()
            .and_then(|s| s.plan.as_ref())
            .and_then(|p| p.lights.iter().find(|l| l.id == light.id))
            .map(|l| format!("It reaches {:.0} % of the painted surface.", 100.0 * l.answer.reached_share));
        let button = ui.add(Button::selectable(chosen, &light.name).frame_when_inactive(true));
        if button.on_hover_text(reached.unwrap_or_else(|| title(light))).clicked() {
            window.selected = Some(light.id);
        }
        ui.label(format!("× {:.2}", light.weight));
    });
}

fn set(window: &mut Window, what: &str, id: LightId, change: impl FnOnce(&mut LightEntry)) {
    if let Err(why) = window.desk.change_light(what, id, change) {
        window.warn(why);
    }
}

fn strength(window: &mut Window, ui: &mut Ui, light: &LightEntry) {
    let scale = Scale {
        label: "Strength",
        words: "How much this light counts beside the others",
        range: 0.0..=3.0,
        unit: "",
        decimals: 2,
        bent: false,
    };
    if let Some(weight) = slider(window, ui, &scale, light.weight) {
        set(window, "Change the strength", light.id, |l| l.weight = (weight * 100.0).round() / 100.0);
    }
}

fn show_alone(window: &mut Window, ui: &mut Ui, light: &LightEntry) {
    let alone = window.look == Look::Light(light.id);
    if choice(ui, alone, "Show this light alone")
        .on_hover_text("In false colour: how much of it arrives where")
        .clicked()
    {
        window.look = if alone { Look::Greys } else { Look::Light(light.id) };
    }
}

fn daylight(window: &mut Window, ui: &mut Ui, light: &LightEntry, [tilt, azimuth, radius]: [f64; 3]) {
    note(ui, "Drag the sun on its dome, seen from above. The front of the figure is at the foot.");
    let id = light.id;
    if let Some([tilt, azimuth]) = dome::show(window, ui, tilt, azimuth) {
        set(window, "Move the daylight", id, |l| {
            if let LightChoice::Zenithal { tilt: t, azimuth: a, .. } = &mut l.choice {
                (*t, *a) = (tilt, azimuth);
            }
        });
    }
    ui.horizontal_wrapped(|ui| {
        if let Some(to) = number(window, ui, "From above", 0.0..=180.0, "°", tilt) {
            set(window, "Tilt the daylight", id, |l| {
                if let LightChoice::Zenithal { tilt, .. } = &mut l.choice {
                    *tilt = to;
                }
            });
        }
        if let Some(to) = number(window, ui, "round", -180.0..=180.0, "°", azimuth) {
            set(window, "Turn the daylight", id, |l| {
                if let LightChoice::Zenithal { azimuth, .. } = &mut l.choice {
                    *azimuth = to;
                }
            });
        }
    });
    let scale = Scale {
        label: "Softness",
        words: "0 for a clear sun with sharp shadows; more for haze, water, or a spray that spreads",
        range: 0.0..=45.0,
        unit: "°",
        decimals: 0,
        bent: false,
    };
    if let Some(to) = slider(window, ui, &scale, radius) {
        set(window, "Soften the daylight", id, |l| {
            if let LightChoice::Zenithal { radius, .. } = &mut l.choice {
                *radius = to;
            }
        });
    }
}

fn ambient(window: &mut Window, ui: &mut Ui, light: &LightEntry, sky: SkyChoice) {
    note(ui, "The little light that comes from everywhere above: it keeps recesses from going black.");
    ui.horizontal_wrapped(|ui| {
        for (wanted, name, words) in [
            (SkyChoice::Uniform, "Even sky", "The same from all sides"),
            (SkyChoice::Overcast, "Overcast sky", "Brightest overhead: undersides and recesses read deeper"),
        ] {
            if choice(ui, sky == wanted, name).on_hover_text(words).clicked() && sky != wanted {
                set(window, "Change the sky", light.id, |l| l.choice = LightChoice::Ambient { sky: wanted });
            }
        }
    });
}

fn lamp(window: &mut Window, ui: &mut Ui, light: &LightEntry) {
    let id = light.id;
    let LightChoice::Lamp { at, reference, radius, clear, falloff } = light.choice else { return };
    name_and_colour(window, ui, light);
    ui.horizontal_wrapped(|ui| {
        for (k, axis) in Axis::ALL.into_iter().enumerate() {
            if let Some(x) = number(window, ui, axis.name(), -10000.0..=10000.0, "", at[k]) {
                set(window, "Move the lamp", id, |l| {
                    if let LightChoice::Lamp { at, .. } = &mut l.choice {
                        at[k] = x;
                        *at = rounded(*at);
                    }
                });
            }
        }
    });
    let height = window.ground().map_or(30.0, |g| g.mesh.bounds().extents()[2]);
    let full = reference.map_or(height / 5.0, |r| r.0);
    let mm = |label, words, range, bent| Scale { label, words, range, unit: " mm", decimals: 1, bent };
    let most = (2.0 * height).max(10.0);
    let scale = mm(
        "Full light at",
        "How far the lamp lights a surface fully: larger is a stronger flame",
        0.5..=most,
        true,
    );
    if let Some(to) = slider(window, ui, &scale, full) {
        set_lamp(window, "Change the lamp's reach", id, |l| {
            if let LightChoice::Lamp { reference, .. } = l {
                *reference = Some(Millimetres(tenth(to)));
            }
        });
    }
    let mut ends = falloff.reach.is_some();
    if ui
        .checkbox(&mut ends, "The light ends")
        .on_hover_text("Beyond this distance nothing is lit by the lamp")
        .clicked()
    {
        let reach = ends.then_some(Millimetres(tenth(1.6 * full)));
        set_lamp(window, "End the lamp's light", id, |l| {
            if let LightChoice::Lamp { falloff, .. } = l {
                falloff.reach = reach;
            }
        });
    }
    if let Some(reach) = falloff.reach {
        let scale = mm("Reach", "Where its light ends: the dashed circle", 1.0..=2.0 * most, true);
        if let Some(to) = slider(window, ui, &scale, reach.0) {
            set_lamp(window, "Change the reach", id, |l| {
                if let LightChoice::Lamp { falloff, .. } = l {
                    falloff.reach = Some(Millimetres(tenth(to)));
                }
            });
        }
        let scale = Scale {
            label: "Softness of its end",
            words: "1 fades all the way; small numbers end it in a narrow rim",
            range: 0.05..=1.0,
            unit: "",
            decimals: 2,
            bent: false,
        };
        if let Some(to) = slider(window, ui, &scale, falloff.softness) {
            set_lamp(window, "Soften the end", id, |l| {
                if let LightChoice::Lamp { falloff, .. } = l {
                    falloff.softness = to;
                }
            });
        }
    }
    let scale = mm("Size of the flame", "0 for sharp shadows; larger is softer", 0.0..=10.0, false);
    if let Some(to) = slider(window, ui, &scale, radius.0) {
        set_lamp(window, "Change the flame", id, |l| {
            if let LightChoice::Lamp { radius, .. } = l {
                *radius = Millimetres(tenth(to));
            }
        });
    }
    let scale = mm(
        "Its lantern's size",
        "Nothing nearer than this blocks the lamp: it shines out of its own lantern",
        0.0..=20.0,
        false,
    );
    if let Some(to) = slider(window, ui, &scale, clear.0) {
        set_lamp(window, "Change the lantern", id, |l| {
            if let LightChoice::Lamp { clear, .. } = l {
                *clear = Millimetres(tenth(to));
            }
        });
    }
    ui.horizontal_wrapped(|ui| {
        if ui
            .button("Shines through…")
            .on_hover_text("Click on glass or cages that do not block this lamp")
            .clicked()
        {
            window.take_up(Tool::Through(id));
        }
        if !light.through.is_empty() {
            note(ui, &format!("{} parts", light.through.len()));
        }
        if ui.button("Take the lamp away").on_hover_text("(Delete)").clicked() {
            take_away(window);
        }
    });
}

fn set_lamp(window: &mut Window, what: &str, id: LightId, change: impl FnOnce(&mut LightChoice)) {
    set(window, what, id, |l| change(&mut l.choice));
}

fn name_and_colour(window: &mut Window, ui: &mut Ui, light: &LightEntry) {
    ui.horizontal_wrapped(|ui| {
        let mut name = light.name.clone();
        let label = ui.label("Name");
        let field = ui.add(TextEdit::singleline(&mut name).desired_width(110.0)).labelled_by(label.id);
        if field.changed() {
            // Names are tokens in files: what cannot stand there becomes a dash.
            let token: String = name
                .chars()
                .map(|c| if c.is_ascii_alphanumeric() || c == '-' || c == '_' { c } else { '-' })
                .take(40)
                .collect();
            if !token.is_empty() {
                set(window, "Name the lamp", light.id, |l| l.name = token);
            }
        }
        ui.label("Colour");
        let mut colour = light.colour;
        let button = ui.color_edit_button_srgb(&mut colour);
        button.widget_info(|| WidgetInfo::labeled(Role::ColorWell, true, "Colour of the lamp"));
        if colour != light.colour {
            set(window, "Change the colour", light.id, |l| l.colour = colour);
        }
    });
}

/// Takes the chosen lamp away; the rig's own lights stay.
pub(crate) fn take_away(window: &mut Window) {
    let Some(id) = window.selected else { return };
    let is_lamp = window.desk.scheme().lights.iter().any(|l| l.id == id && lamp_place(l).is_some());
    if !is_lamp {
        window.say("Daylight, ring and sky stay: set their strength to 0 to be without them.");
        return;
    }
    window.edit("Take the lamp away", |d| d.scheme.lights.retain(|l| l.id != id));
    window.mend_selection();
}
