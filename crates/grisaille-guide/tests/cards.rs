//! The step cards of the demo's diver: what each marks is seen, large and with its name.

use grisaille_base::Watch;
use grisaille_colour::read_paints;
use grisaille_diver::{DiverSettings, diver};
use grisaille_guide::{Heading, Sheets, StageCard, Subject, compose};
use grisaille_mesh::{ReadSettings, read};
use grisaille_plan::{Products, Shelf, coloured, plan};
use grisaille_scheme::{Ink, SheetKind, read_document};
use grisaille_words::Words;
use std::collections::BTreeSet;
use std::sync::{Arc, LazyLock};

mod apart;

static SHEETS: LazyLock<Sheets> = LazyLock::new(|| {
    let watch = Watch::quiet();
    let document = read_document(include_str!("../../../models-demo/diver-sketch.grisaille")).expect("sound");
    let mut scheme = document.scheme;
    scheme.print.sheets = vec![SheetKind::Lines, SheetKind::Stages];
    scheme.print.ink = Ink::Grey;
    scheme.primer.wanted = false;
    scheme.fineness.ambient_directions = 32;
    let stl = diver(&DiverSettings::default(), &watch).expect("nobody cancels").stl();
    let (mesh, _) = read(&stl, &ReadSettings::default(), &watch).expect("sound");
    let mut plan = plan(&scheme, &mut Products::new(Arc::new(mesh)), &watch).expect("nobody cancels");
    let (paints, _) = read_paints(include_bytes!("../../../models-demo/paints.csv")).expect("sound");
    let shelf = Shelf::of(paints, scheme.colours.paints.as_ref().expect("named"), &watch).expect("sound");
    let words = Words::english();
    let coloured = coloured(&scheme, &mut plan, &shelf, words, &watch).expect("sound");
    let subject =
        Subject { plan: &plan, scheme: &scheme, findings: &[], coloured: Some(&coloured), form: None, words };
    compose(&subject, &Heading::default(), &watch).expect("nobody cancels")
});

fn card(title: &str) -> &'static StageCard {
    let found = SHEETS.stages.iter().find(|card| card.title == title);
    found.unwrap_or_else(|| panic!("no card '{title}': {:?}", titles()))
}

fn titles() -> Vec<&'static str> {
    SHEETS.stages.iter().map(|card| card.title.as_str()).collect()
}

/// What stands on the pictures of a card.
fn shown(card: &StageCard) -> BTreeSet<&str> {
    let labels = card.pictures.iter().flat_map(|view| &view.picture.labels);
    labels.map(|label| label.text.as_str()).collect()
}

#[test]
fn letters_of_all_cards_stand_apart() {
    let pictures = SHEETS.stages.iter().flat_map(|card| &card.pictures);
    let letters: usize = pictures.map(|view| apart::letters_apart(&view.picture, "diver, in colours")).sum();
    assert!(letters > 100, "{letters}");
}

#[test]
fn parts_far_apart_are_enlarged_and_large_ones_are_shown_whole() {
    // The gloves are at either end of the figure: at true size they are 6 mm each.
    let gloves = card("Shadows and lights: gloves");
    assert!(gloves.pictures.len() > 2 && gloves.pictures.iter().all(|view| view.picture.scale >= 2));
    // Suit and hose are more than half as tall as the figure: a small picture would hold them at true size only.
    for title in ["Shadows and lights: canvas suit", "Shadows and lights: air hose"] {
        let pictures = &card(title).pictures;
        assert!(pictures.iter().all(|view| view.picture.scale >= 2), "{title}");
        assert!(pictures.iter().any(|view| view.picture.height.0 > 62.0), "{title}");
    }
    // Two pictures would leave the back of the helmet out.
    assert!(card("Shadows and lights: helmet").pictures.len() > 2);
    // Pieces on either side are told apart.
    let pieces: Vec<&str> = gloves.pictures.iter().map(|view| view.caption.as_str()).collect();
    assert!(["left", "right"].iter().all(|side| pieces.iter().any(|c| c.contains(side))), "{pieces:?}");
    // A base coat is all over: where it ends is seen at true size.
    assert!(card("Base coat: canvas suit").pictures.iter().all(|view| view.picture.height.0 <= 62.0));
    // A4 between its margins.
    let wide: f64 = 210.0 - 2.0 * 18.0;
    for card in &SHEETS.stages {
        let pictures = card.pictures.iter().map(|view| view.picture.width.0 + 3.0);
        assert!(pictures.sum::<f64>() <= wide + 3.0, "{}", card.title);
    }
}

#[test]
fn what_is_mixed_is_marked_or_said_to_be_unseen() {
    // Nose and cheeks and the lip of a face beside its steps; its jaw lies under a beard.
    let face = card("Shadows and lights: face");
    let letters = shown(face);
    assert!(["a", "b"].iter().all(|letter| letters.contains(letter)), "{letters:?}");
    assert!(
        !letters.contains("c") && !face.steps.iter().any(|step| step.contains("jaw")),
        "{:?}",
        face.steps
    );
    for card in &SHEETS.stages {
        let shown = shown(card);
        for mix in &card.mixes {
            for look in mix.looks.iter().filter(|look| !look.letter.is_empty()) {
                let told = mix.tone.contains("is seen here to mark");
                assert!(told || shown.contains(look.letter.as_str()), "{}: {}", card.title, look.letter);
            }
        }
    }
}

#[test]
fn lines_have_one_number_on_card_and_sheet() {
    for (title, sheet) in [("Line the recesses", 0), ("Catch the edges", 1)] {
        let card = card(title);
        let sheet = SHEETS
            .maps
            .iter()
            .filter(|sheet| ["recesses", "edges"].contains(&sheet.key))
            .nth(sheet)
            .expect("a sheet of lines");
        let listed: BTreeSet<&str> = sheet.rows.iter().map(|row| row.number.as_str()).collect();
        let told = numbers(&card.mixes.iter().map(|mix| mix.purpose.as_str()).collect::<String>());
        let unseen = numbers(&card.note);
        let shown: BTreeSet<String> = shown(card).into_iter().map(str::to_owned).collect();
        assert!(shown.len() > 4, "{title}: {shown:?}");
        assert!(shown.is_disjoint(&unseen), "{title}: {shown:?} {unseen:?}");
        let all: BTreeSet<String> = shown.union(&unseen).cloned().collect();
        assert!(all.iter().all(|number| told.contains(number)), "{title}: {all:?} of {told:?}");
        assert!(all.iter().all(|number| listed.contains(number.as_str())), "{title}: {all:?} of {listed:?}");
    }
}

/// All whole numbers in a text.
fn numbers(text: &str) -> BTreeSet<String> {
    text.split(|c: char| !c.is_ascii_digit()).filter(|n| !n.is_empty()).map(str::to_owned).collect()
}
