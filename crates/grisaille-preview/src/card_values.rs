//! The third card: what becomes light and dark, in how many tones.

use crate::card_eye;
use crate::field::{Scale, choice, heading, note, slider};
use crate::window::Window;
use eframe::egui::{CollapsingHeader, Ui};
use grisaille_base::Lightness;
use grisaille_scheme::BandChoice;

pub(crate) fn show(window: &mut Window, ui: &mut Ui) {
    heading(ui, "Light and dark");
    note(ui, "Between the darkest and the lightest paint that you will use.");
    let value = window.desk.scheme().value;
    let scale =
        |label, words| Scale { label, words, range: 0.0..=100.0, unit: " L*", decimals: 0, bent: false };
    let words = "L* runs from 0, black, to 100, white";
    if let Some(to) = slider(window, ui, &scale("Darkest paint", words), value.darkest.0) {
        let to = to.round().min(value.lightest.0 - 10.0);
        window.edit("Set the darkest paint", |d| d.scheme.value.darkest = Lightness(to));
    }
    if let Some(to) = slider(window, ui, &scale("Lightest paint", words), value.lightest.0) {
        let to = to.round().max(value.darkest.0 + 10.0);
        window.edit("Set the lightest paint", |d| d.scheme.value.lightest = Lightness(to));
    }
    bands(window, ui);
    card_eye::show(window, ui);
    squint(window, ui);
    answers(window, ui);
}

/// Usual shares of the figure for each count of bands, darkest first: most in
/// the middle, highlights small (common practice).
fn usual(count: usize) -> Vec<f64> {
    match count {
        3 => vec![30.0, 50.0, 20.0],
        4 => vec![25.0, 30.0, 30.0, 15.0],
        6 => vec![15.0, 20.0, 20.0, 20.0, 15.0, 10.0],
        _ => vec![20.0, 25.0, 25.0, 20.0, 10.0],
    }
}

fn bands(window: &mut Window, ui: &mut Ui) {
    heading(ui, "Tones to mix");
    let now = window.desk.scheme().bands.clone();
    ui.horizontal_wrapped(|ui| {
        for count in 3..=6 {
            let words = format!("{count} tones from deepest shadow to highlight");
            if choice(ui, now.count() == count, &count.to_string()).on_hover_text(words).clicked()
                && now.count() != count
            {
                window.edit("Change the number of tones", |d| {
                    d.scheme.bands = BandChoice::Shares(usual(count));
                });
            }
        }
    });
    let BandChoice::Shares(shares) = now else {
        note(ui, "The borders are set by value in the scheme file.");
        return;
    };
    // Usual shares do for most figures: what is seldom changed is folded away.
    let folded = CollapsingHeader::new("How much each of them covers").id_salt("shares");
    folded.show(ui, |ui| self::shares(window, ui, &shares));
}

fn shares(window: &mut Window, ui: &mut Ui, shares: &[f64]) {
    let all: f64 = shares.iter().sum();
    let names = ["Darkest", "second", "third", "fourth", "fifth", "sixth"];
    for i in (0..shares.len()).rev() {
        let label = match i {
            0 => "Share of the darkest tone".to_owned(),
            i if i + 1 == shares.len() => "Share of the lightest tone".to_owned(),
            i => format!("Share of the {} tone", names.get(i).copied().unwrap_or("next")),
        };
        let scale = Scale {
            label: &label,
            words: "How much of the figure is painted in it",
            range: 2.0..=70.0,
            unit: " %",
            decimals: 0,
            bent: false,
        };
        if let Some(to) = slider(window, ui, &scale, 100.0 * shares[i] / all) {
            let to = to.clamp(2.0, 70.0);
            let rest = all - shares[i];
            // The others keep their proportions.
            let wanted = to / 100.0;
            let mut next: Vec<f64> =
                shares.iter().map(|s| (s / rest * (1.0 - wanted) * 1000.0).round() / 10.0).collect();
            next[i] = (wanted * 1000.0).round() / 10.0;
            window.edit("Change the shares", |d| d.scheme.bands = BandChoice::Shares(next));
        }
    }
}

fn squint(window: &mut Window, ui: &mut Ui) {
    heading(ui, "Squint");
    ui.checkbox(&mut window.squint, "See it from afar")
        .on_hover_text("What an eye cannot part at that distance melts together (Q)");
    let scale = Scale {
        label: "Distance",
        words: "An arm's length is about 0.7 m; a game is seen from 1.5 m",
        range: 0.3..=10.0,
        unit: " m",
        decimals: 1,
        bent: true,
    };
    let arm = window.arm;
    if let Some(to) = slider(window, ui, &scale, arm) {
        window.arm = to;
    }
}

fn answers(window: &Window, ui: &mut Ui) {
    let Some(plan) = window.shown.as_ref().and_then(|s| s.plan.as_ref()) else { return };
    heading(ui, "What comes of it");
    note(ui, &format!("{:.0} % stays as dark as the darkest paint.", 100.0 * plan.answers.black_share));
    let name = |id| plan.lights.iter().find(|l| l.id == id).map_or("", |l| l.name.as_str());
    for contest in plan.answers.contests.iter().filter(|c| c.share > 0.02) {
        note(
            ui,
            &format!(
                "{} and {} are equally strong on {:.0} %: neither leads there.",
                name(contest.lights[0]),
                name(contest.lights[1]),
                100.0 * contest.share
            ),
        );
    }
}
