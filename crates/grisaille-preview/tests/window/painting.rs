//! What colours are made of, set in the window: the palette, steps by hand, lines, faces; each an edit that
//! is undone and saved with the painter's comments.

use crate::colours::{PAINTS, coloured_scheme};
use crate::{Painter, ball, controls, open, press, said, settle, shows, window};
use eframe::egui::{Key, Modifiers, Role};
use egui_kittest::kittest::Queryable;
use grisaille_base::{Place, Watch};
use grisaille_colour::read_paints;
use grisaille_mesh::{ReadSettings, read};
use grisaille_plan::{Products, Shelf, coloured, plan};
use grisaille_preview::{Look, Product};
use grisaille_scheme::{Gaze, Material, PaletteEntry, read_document};
use nalgebra::Point3;
use std::fs;
use std::path::Path;
use std::sync::Arc;

/// The window on the ball in canvas, at the step Colours, seen from the front.
fn begun(folder: &Path, more: &str) -> Painter {
    fs::write(folder.join("paints.csv"), PAINTS).expect("paints");
    let file = coloured_scheme(folder, more);
    let mut painter = open(std::slice::from_ref(&file), None, 1.0);
    painter.key_press(Key::F5);
    painter.key_press(Key::Num1);
    painter.run_steps(3);
    settle(&mut painter);
    painter
}

/// Types over what stands in a field and leaves it.
fn fill(painter: &mut Painter, field: &str, words: &str) {
    painter.get_by_role_and_label(Role::TextInput, field).focus();
    painter.run_steps(2);
    painter.key_press_modifiers(Modifiers::COMMAND, Key::A);
    painter.get_by_role_and_label(Role::TextInput, field).type_text(words);
    painter.run_steps(2);
    painter.key_press(Key::Enter);
    painter.run_steps(3);
    settle(painter);
}

fn palette(painter: &mut Painter) -> Vec<PaletteEntry> {
    window(painter).document().scheme.colours.palette.clone()
}

/// Whether what the window shows is what the plan would make of its scheme from the beginning.
pub(crate) fn assert_as_planned(painter: &mut Painter) {
    let window = window(painter);
    let (painted, scheme) = (window.painted().expect("colours"), &window.document().scheme);
    let watch = Watch::quiet();
    let (mesh, _) = read(&ball(), &ReadSettings::default(), &watch).expect("a mesh");
    let mut plan = plan(scheme, &mut Products::new(Arc::new(mesh)), &watch).expect("a plan");
    let (paints, _) = read_paints(PAINTS.as_bytes()).expect("paints");
    let choice = scheme.colours.paints.as_ref().expect("a list");
    let shelf = Shelf::of(paints, choice, &watch).expect("mixes");
    let whole =
        coloured(scheme, &mut plan, &shelf, grisaille_words::Words::english(), &watch).expect("colours");
    assert_eq!(painted.colouring, *whole.colouring);
    assert_eq!(painted.proportions, whole.proportions);
    assert_eq!(painted.checks, whole.checks);
}

#[test]
fn palette_colours_are_added_named_weighed_and_taken_away() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut painter = begun(folder.path(), "# Sun-bleached sails.");
    let before = window(&mut painter).document().clone();
    press(&mut painter, "Add a colour");
    assert_eq!(palette(&mut painter).len(), 2);
    fill(&mut painter, "Name of it", "weed");
    fill(&mut painter, "As", "#4d6130");
    assert_eq!(
        (palette(&mut painter)[1].name.as_str(), palette(&mut painter)[1].colour.as_str()),
        ("weed", "#4d6130")
    );
    // How much of it, by keyboard in the field of a number.
    painter.get_by_role_and_label(Role::SpinButton, "Parts of the whole").focus();
    painter.run_steps(2);
    for _ in 0..20 {
        painter.key_press(Key::ArrowUp);
        painter.run_steps(1);
    }
    assert!(palette(&mut painter)[1].share.is_some_and(|s| s > 0.0), "{:?}", palette(&mut painter));
    // Another name goes along with what is painted by it.
    press(&mut painter, "canvas");
    fill(&mut painter, "Name of it", "sail");
    assert_eq!(window(&mut painter).document().scheme.colours.regions[0].colour, "sail");
    fill(&mut painter, "As", "#a03020");
    let base = window(&mut painter).painted().expect("colours").colouring.rows[0].base;
    assert!(base.a > 30.0, "shown at once: {base:?}");
    assert_as_planned(&mut painter);
    let (named, nameless) = controls(&painter);
    assert!(nameless.is_empty(), "{nameless:?} beside {named:?}");
    // What is painted with it keeps its colour when it goes.
    press(&mut painter, "Take it out of the palette");
    assert_eq!(window(&mut painter).document().scheme.colours.regions[0].colour, "#a03020");
    assert_eq!(window(&mut painter).painted().expect("colours").colouring.rows[0].base, base);
    // Saved with the painter's own words, and undone to the last step.
    let file = folder.path().join("ball.grisaille");
    assert!(window(&mut painter).save_to(&file));
    let text = fs::read_to_string(&file).expect("the scheme");
    assert!(
        text.contains("# Sun-bleached sails.") && text.contains("\"weed\"") && !text.contains("canvas"),
        "{text}"
    );
    for _ in 0..200 {
        window(&mut painter).undo();
    }
    assert_eq!(*window(&mut painter).document(), before);
}

#[test]
fn a_picture_gives_the_palette_and_a_bad_one_is_told() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut painter = begun(folder.path(), "");
    // Three plain stripes of known colours and shares.
    let stripes: [([u8; 3], usize); 3] = [([200, 60, 50], 60), ([40, 80, 160], 30), ([230, 210, 150], 10)];
    let row: Vec<u8> = stripes.iter().flat_map(|(c, n)| c.repeat(*n)).collect();
    let picture = folder.path().join("stripes.png");
    let mut encoder = png::Encoder::new(fs::File::create(&picture).expect("a file"), 100, 100);
    encoder.set_color(png::ColorType::Rgb);
    let mut writer = encoder.write_header().expect("a header");
    writer.write_image_data(&row.repeat(100)).expect("pixels");
    writer.finish().expect("a picture");
    let wait = |painter: &mut Painter, done: &dyn Fn(&mut Painter) -> bool| {
        let mut waits = 0;
        while !done(painter) {
            painter.run_steps(2);
            waits += 1;
            assert!(waits < 60_000, "{}", said(painter));
            std::thread::sleep(std::time::Duration::from_millis(5));
        }
        settle(painter);
    };
    window(&mut painter).ask_to_open(vec![picture]);
    wait(&mut painter, &|p| palette(p).len() == 3);
    for ((want, share), found) in stripes.iter().zip(palette(&mut painter)) {
        let colour = grisaille_colour::colour_from_text(&found.colour).expect("a colour").shown().to_srgb8();
        assert!(want.iter().zip(colour).all(|(a, b)| a.abs_diff(b) <= 3), "{want:?} {colour:?}");
        assert!((found.share.expect("a share") - *share as f64).abs() < 3.0, "{found:?}");
    }
    // The ball had its colour by a name that is gone: it keeps the colour.
    assert_eq!(window(&mut painter).document().scheme.colours.regions[0].colour, "#c4b590");
    let bad = folder.path().join("bad.png");
    fs::write(&bad, b"this is a shopping list").expect("a file");
    window(&mut painter).ask_to_open(vec![bad]);
    wait(&mut painter, &|p| said(p).contains("bad.png"));
    assert_eq!(palette(&mut painter).len(), 3);
    window(&mut painter).undo();
    assert_eq!(palette(&mut painter)[0].name, "canvas");
    assert_eq!(window(&mut painter).document().scheme.colours.regions[0].colour, "canvas");
}

#[test]
fn steps_contrast_and_lines_are_set_by_hand() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut painter = begun(folder.path(), "");
    let entry = |painter: &mut Painter| window(painter).document().scheme.colours.regions[0].clone();
    let row = |painter: &mut Painter| window(painter).painted().expect("colours").colouring.rows[0].clone();
    press(&mut painter, "ball");
    painter.get_by_label("Steps, contrast and lines by hand").click_accesskit();
    painter.run_steps(6);
    let span = |painter: &mut Painter| {
        let ramp = row(painter).ramp;
        ramp[ramp.len() - 1].wanted.l - ramp[0].wanted.l
    };
    let before = span(&mut painter);
    painter.get_by_role_and_label(Role::Slider, "Contrast").focus();
    painter.run_steps(2);
    for _ in 0..25 {
        painter.key_press(Key::ArrowRight);
        painter.run_steps(1);
    }
    settle(&mut painter);
    assert!(entry(&mut painter).contrast.is_some_and(|c| c > 0.45), "{:?}", entry(&mut painter));
    assert!(span(&mut painter) > before + 2.0, "{before} {}", span(&mut painter));
    press(&mut painter, "As the material asks");
    assert_eq!((entry(&mut painter).contrast, span(&mut painter)), (None, before));
    fill(&mut painter, "Line colour", "trench blue");
    assert_eq!(entry(&mut painter).line.as_deref(), Some("trench blue"));
    assert!(row(&mut painter).line.wanted.b < -20.0);
    // Each step by hand begins with the steps as they are made.
    let made = row(&mut painter).ramp.len();
    press(&mut painter, "Set each step by hand");
    assert_eq!(entry(&mut painter).ramp.len(), made);
    // To what 8 bits of each colour tell, the same steps.
    for (hand, plain) in entry(&mut painter).ramp.iter().zip(row(&mut painter).plain_ramp()) {
        assert_eq!(*hand, grisaille_colour::hex_of(*plain));
    }
    fill(&mut painter, "Colour of step 1", "reef black");
    assert_eq!(entry(&mut painter).ramp[0], "reef black");
    assert!(row(&mut painter).ramp[0].wanted.l < 15.0);
    press(&mut painter, if made < 6 { "One step more" } else { "×" });
    assert_ne!(entry(&mut painter).ramp.len(), made);
    fill(&mut painter, "Colour of step 1", "no such");
    assert!(shows(&painter, "Nothing is called 'no such'") && shows(&painter, "no colour"));
    window(&mut painter).undo();
    painter.run_steps(2);
    settle(&mut painter);
    assert_as_planned(&mut painter);
    let (named, nameless) = controls(&painter);
    assert!(nameless.is_empty(), "{nameless:?} beside {named:?}");
    let file = folder.path().join("ball.grisaille");
    assert!(window(&mut painter).save_to(&file));
    let kept =
        read_document(&fs::read_to_string(&file).expect("it")).expect("a scheme").scheme.colours.regions;
    assert_eq!(kept, window(&mut painter).document().scheme.colours.regions);
    press(&mut painter, "Let the steps be made");
    press(&mut painter, "Lines as they are made");
    assert_eq!((entry(&mut painter).ramp.len(), entry(&mut painter).line), (0, None));
    assert_as_planned(&mut painter);
}

#[test]
fn a_face_is_marked_by_keyboard_turned_sized_and_given_eyes() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut painter = begun(folder.path(), "");
    press(&mut painter, "ball");
    painter.get_by_role_and_label(Role::ComboBox, "What it is made of").click_accesskit();
    painter.run_steps(4);
    painter.get_by_label("skin").click_accesskit();
    painter.run_steps(4);
    settle(&mut painter);
    assert_eq!(window(&mut painter).document().scheme.colours.regions[0].material, Material::Skin);
    press(&mut painter, "Mark a face…");
    // The keyboard is at the figure now, and Enter takes its middle: the front of the ball.
    painter.key_press(Key::Enter);
    painter.run_steps(3);
    settle(&mut painter);
    let faces = |painter: &mut Painter| window(painter).document().scheme.colours.faces.clone();
    let [face] = faces(&mut painter).try_into().expect("one face");
    let off = face.at[0].hypot(face.at[1]).hypot(face.at[2] - 8.0);
    assert!(face.at[1] < -3.0 && (off - 6.0).abs() < 0.2, "{face:?}");
    // Turned to who looks at it, from the front: −Y.
    let toward = face.toward.expect("a way");
    assert!(toward[1] < -0.99 && toward[2] == 0.0, "{toward:?}");
    assert_eq!(window(&mut painter).painted().expect("colours").colouring.rows[0].faces.len(), 1);
    press(&mut painter, "to your left");
    fill(&mut painter, "Eye colour", "trench blue");
    let [face] = faces(&mut painter).try_into().expect("one face");
    assert_eq!((face.gaze, face.eyes.as_deref()), (Gaze::Left, Some("trench blue")));
    painter.key_press(Key::Num3);
    painter.run_steps(2);
    painter.get_by_role_and_label(Role::Button, "Mark a face…").focus();
    settle(&mut painter);
    assert_as_planned(&mut painter);
    let (named, nameless) = controls(&painter);
    assert!(nameless.is_empty(), "{nameless:?} beside {named:?}");
    press(&mut painter, "Take this face away");
    assert!(faces(&mut painter).is_empty());
    window(&mut painter).undo();
    assert_eq!(faces(&mut painter), [face]);
}

#[test]
fn a_check_in_the_list_turns_the_figure_to_its_place() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut painter = begun(folder.path(), "");
    // The plate has no colour: that is told with its place.
    let checks = window(&mut painter).painted().expect("colours").checks.clone();
    let placed = |f: &&grisaille_base::Finding| matches!(f.place, Some(Place::Point(_)));
    let check = checks.iter().find(placed).expect("a check with a place");
    let Some(Place::Point(at)) = check.place else { panic!("{check:?}") };
    let at = Point3::from(at.map(f64::from));
    for side in [Key::Num5, Key::Num3, Key::Num6] {
        painter.key_press(side);
        settle(&mut painter);
        let before = window(&mut painter).camera().expect("a view");
        let mut words = check.hint.chars();
        let first: String = words.next().map_or(String::new(), |c| c.to_uppercase().collect());
        let words = first + words.as_str();
        painter.get_by_role_and_label(Role::Button, &words).click_accesskit();
        painter.run_steps(3);
        settle(&mut painter);
        let camera = window(&mut painter).camera().expect("a view");
        assert_ne!(camera, before);
        // In the middle of the view lies the open spot that is nearest to the place: by trying all...
        let ground = window(&mut painter).ground().expect("a figure");
        let samples = &ground.surface.samples;
        let open = (0..samples.len()).filter(|s| !samples.buried.get(*s));
        let nearest =
            open.map(|s| (samples.position[s].cast::<f64>() - at).norm()).fold(f64::INFINITY, f64::min);
        let middle = camera.centre();
        assert!(((middle - at).norm() - nearest).abs() < 1e-9, "{middle} {at} {nearest}");
        // ...and nothing stands before it.
        let picker = grisaille_preview::Picker::new(ground.clone());
        let line = camera.line([400.0, 300.0], [800.0, 600.0]);
        let seen = picker.spot(line, &grisaille_sight::FaceMask::All).expect("the figure");
        assert!((seen.point - middle).norm() < 0.2, "{} {middle} from {:?}", seen.point, camera.view());
    }
}

#[test]
fn a_picture_is_asked_for_in_the_looks_that_are_on() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut painter = begun(folder.path(), "");
    let made = |painter: &mut Painter, name: &str| {
        let to = folder.path().join(name);
        window(painter).make(Product::Picture, &to);
        for _ in 0..2000 {
            painter.run_steps(1);
            if to.exists() && said(painter).contains("Ready") {
                break;
            }
            std::thread::sleep(std::time::Duration::from_millis(5));
        }
        fs::read_to_string(&to).expect("what was made")
    };
    assert_eq!(made(&mut painter, "one.png"), format!("{:?}", [Look::Colours]));
    // Who comes from colours to the sheets sees them there, beside the bands.
    painter.key_press(Key::F6);
    painter.run_steps(3);
    settle(&mut painter);
    assert_eq!(made(&mut painter, "two.png"), format!("{:?}", [Look::Colours, Look::Bands]));
}
