//! The step cards of the demo's diver: what each marks is seen, large and with its name.

use grisaille_base::Watch;
use grisaille_colour::{LinearRgb, read_paints};
use grisaille_diver::{DiverSettings, diver};
use grisaille_guide::{Heading, Sheets, StageCard, Subject, compose};
use grisaille_mesh::{ReadSettings, read};
use grisaille_plan::{Products, Shelf, coloured, line_width, lining, plan, regions_of};
use grisaille_scheme::{Ink, SheetKind, read_document};
use grisaille_words::Words;
use std::collections::BTreeSet;
use std::sync::{Arc, LazyLock};

mod apart;

static SHEETS: LazyLock<Sheets> = LazyLock::new(|| {
    use SheetKind::{Lights, Lines, Regions, Stages, Values};
    made(Ink::Grey, vec![Values, Lights, Regions, Lines, Stages])
});

fn made(ink: Ink, sheets: Vec<SheetKind>) -> Sheets {
    let watch = Watch::quiet();
    let document = read_document(include_str!("../../../models-demo/diver-sketch.grisaille")).expect("sound");
    let mut scheme = document.scheme;
    scheme.print.sheets = sheets;
    scheme.print.ink = ink;
    scheme.primer.wanted = false;
    scheme.fineness.ambient_directions = 32;
    let stl = diver(&DiverSettings::default(), &watch).expect("nobody cancels").stl();
    let (mesh, _) = read(&stl, &ReadSettings::default(), &watch).expect("sound");
    let mut plan = plan(&scheme, &mut Products::new(Arc::new(mesh)), &watch).expect("nobody cancels");
    let (paints, _) = read_paints(include_bytes!("../../../models-demo/paints.csv")).expect("sound");
    let shelf = Shelf::of(paints, scheme.colours.paints.as_ref().expect("named"), &watch).expect("sound");
    let words = Words::english();
    let coloured = coloured(&scheme, &mut plan, &shelf, words, &watch).expect("sound");
    let (_, regions) =
        regions_of(&scheme.regions, &plan.surface, &plan.mesh, &watch).expect("nobody cancels");
    let lining = lining(&plan, line_width(&scheme, &plan), &watch).expect("nobody cancels");
    let subject = Subject {
        plan: &plan,
        scheme: &scheme,
        findings: &[],
        coloured: Some(&coloured),
        form: Some((&regions, &lining)),
        words,
    };
    compose(&subject, &Heading::default(), &watch).expect("nobody cancels")
}

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
fn a_card_shows_the_whole_span_of_its_tones() {
    let with_tones: Vec<&StageCard> = SHEETS.stages.iter().filter(|card| !card.tones.is_empty()).collect();
    assert!(with_tones.len() > 10, "{:?}", titles());
    for card in &with_tones {
        let value = |words: &str| words.parse::<f64>().expect("a value");
        let values: Vec<f64> = card.tones.iter().map(|rung| value(&rung.look.words)).collect();
        assert!(values.len() > 1 && values.is_sorted(), "{}: {values:?}", card.title);
        assert_eq!(card.tones.iter().filter(|rung| rung.base).count(), 1, "{}", card.title);
        // What is printed gets lighter with them, and each step is as its mix shows it.
        let greys: Vec<u8> = card.tones.iter().map(|rung| rung.look.colour.0[0]).collect();
        assert!(greys.is_sorted(), "{}: {greys:?}", card.title);
        if card.title.starts_with("Shadows") {
            let steps = card.mixes.iter().flat_map(|mix| &mix.looks);
            for step in steps.filter(|look| look.letter.starts_with(|c: char| c.is_ascii_digit())) {
                let rung = card.tones.iter().find(|rung| rung.look.letter == step.letter);
                let rung = rung.unwrap_or_else(|| panic!("{}: {}", card.title, step.letter));
                assert_eq!(
                    (rung.look.colour, rung.look.pattern),
                    (step.colour, step.pattern),
                    "{}",
                    card.title
                );
                assert!(!rung.base);
            }
        }
    }
    // The same on both cards of a region.
    let tones = |title: &str| &card(title).tones;
    assert_eq!(tones("Base coat: canvas suit"), tones("Shadows and lights: canvas suit"));
    // The suit's darkest and lightest.
    assert!(tones("Base coat: canvas suit").len() > 3);
}

#[test]
fn what_is_mixed_is_marked_or_said_to_be_unseen() {
    // A glaze of a face beside its steps; what the lamp lights of it is the lamp's, and its jaw lies under a beard.
    let face = card("Shadows and lights: face");
    let letters = shown(face);
    assert!(letters.contains("a"), "{letters:?}");
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
fn what_is_called_alike_is_one_row_with_all_its_numbers() {
    let sheet = SHEETS.maps.iter().find(|sheet| sheet.key == "regions").expect("a map of regions");
    let names: Vec<&str> = sheet.rows.iter().map(|row| row.cells[0].as_str()).collect();
    let once: BTreeSet<&str> = names.iter().copied().collect();
    assert!(once.len() == names.len() && names.len() > 10, "{names:?}");
    let numbers_of = |row: &str| -> BTreeSet<u32> {
        let number = |n: &str| n.parse::<u32>().expect("a number");
        let runs = row.split(", ").map(|run| run.split_once('–').unwrap_or((run, run)));
        runs.flat_map(|(low, high)| number(low)..=number(high)).collect()
    };
    let listed: Vec<BTreeSet<u32>> = sheet.rows.iter().map(|row| numbers_of(&row.number)).collect();
    let all: usize = listed.iter().map(BTreeSet::len).sum();
    assert_eq!(listed.iter().flatten().collect::<BTreeSet<_>>().len(), all, "{listed:?}");
    let boots = names.iter().position(|name| *name == "boots").expect("boots");
    assert_eq!(listed[boots].len(), 2);
    // A number beside a picture stands in the row of its name.
    for tag in sheet.views.iter().flat_map(|view| &view.tags) {
        let row = names.iter().position(|name| *name == tag.name).unwrap_or_else(|| panic!("{}", tag.name));
        assert!(numbers_of(&tag.number).is_subset(&listed[row]), "{tag:?} {:?}", listed[row]);
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

#[test]
fn cards_and_values_sheets_name_the_same_bands() {
    let values = SHEETS.values.iter().flat_map(|sheet| &sheet.pictures);
    let labels = values.flat_map(|view| &view.picture.labels).map(|label| label.text.as_str());
    let lettered: BTreeSet<&str> = labels.collect();
    let card = card("Shadows and lights: canvas suit");
    for mix in &card.mixes {
        let (_, after) = mix.tone.split_once("(band ").expect("a band");
        assert!(lettered.contains(&after[..1]), "{}: {lettered:?}", mix.tone);
    }
    let covered: f64 = SHEETS.bands.iter().map(|band| band.share).sum();
    assert!((covered - 1.0).abs() < 1e-9, "{covered}");
}

#[test]
fn a_light_is_drawn_in_the_steps_of_its_legend() {
    let in_colour = made(Ink::Colour, vec![SheetKind::Lights]);
    for (ink, sheets) in [("grey", &*SHEETS), ("colour", &in_colour)] {
        assert_eq!(sheets.lights.len(), 4);
        for sheet in &sheets.lights {
            let steps: Vec<[u8; 3]> = sheet.legend.steps.iter().map(|step| step.colour.0).collect();
            let light = |[r, g, b]: [u8; 3]| LinearRgb::from_srgb8([r, g, b]).luminance();
            assert!(steps.windows(2).all(|w| light(w[0]) > light(w[1])), "{ink}: {steps:?}");
            let mut seen: BTreeSet<[u8; 3]> = BTreeSet::new();
            for view in &sheet.pictures {
                let (wide, all) = pixels(&view.picture.file);
                // Where two steps meet, or the figure ends, pixels are mixed: what a pixel has in common with all that
                // touch it is no such.
                let inner = (wide + 1..all.len().saturating_sub(wide + 1)).filter(|i| {
                    let near = [
                        i - wide - 1,
                        i - wide,
                        i - wide + 1,
                        i - 1,
                        i + 1,
                        i + wide - 1,
                        i + wide,
                        i + wide + 1,
                    ];
                    near.iter().all(|j| all[*j] == all[*i])
                });
                seen.extend(inner.map(|i| all[i]));
            }
            seen.remove(&[255; 3]);
            assert_eq!(seen, steps.iter().copied().collect(), "{ink}, {}", sheet.title);
        }
    }
    // A warm lamp is shown warm: red above blue in each step between the ends.
    let lamp = &in_colour.lights[3].legend.steps;
    assert!(lamp[1..4].iter().all(|step| step.colour.0[0] > step.colour.0[2]), "{lamp:?}");
}

/// How wide a PNG is, and its pixels.
fn pixels(file: &[u8]) -> (usize, Vec<[u8; 3]>) {
    let mut reader = png::Decoder::new(std::io::Cursor::new(file)).read_info().expect("a PNG");
    let mut bytes = vec![0; reader.output_buffer_size().expect("small")];
    reader.next_frame(&mut bytes).expect("whole");
    let all = match reader.info().color_type {
        png::ColorType::Grayscale => bytes.iter().map(|level| [*level; 3]).collect(),
        _ => bytes.chunks_exact(3).map(|p| [p[0], p[1], p[2]]).collect(),
    };
    (reader.info().width as usize, all)
}

/// All whole numbers in a text.
fn numbers(text: &str) -> BTreeSet<String> {
    text.split(|c: char| !c.is_ascii_digit()).filter(|n| !n.is_empty()).map(str::to_owned).collect()
}
