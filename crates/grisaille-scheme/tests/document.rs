//! Scheme files from outside: what is written is read back to the bit, what a
//! painter wrote by hand stays, and what cannot be read is told with its line.

use grisaille_base::Millimetres;
use grisaille_scheme::{
    BandChoice, Document, DocumentError, FalloffChoice, FocalPoint, KeptSpot, LightChoice, ModelEntry,
    ModelSource, RegionDeed, RegionSpot, RegionStep, Scheme, SkyChoice, Spread, UnitChoice, UpChoice,
    read_document, write_document,
};
use proptest::prelude::*;

fn diver() -> Document {
    Document {
        models: vec![ModelEntry::new(ModelSource::Diver)],
        scheme: Scheme { title: "Hard-hat diver".into(), ..Scheme::default() },
    }
}

fn rich() -> Document {
    let mut document = diver();
    document.models.push(ModelEntry {
        source: ModelSource::File("reef/rock \"two\" é.stl".into()),
        up: UpChoice::Y,
        unit: UnitChoice::Inch,
        height: Some(Millimetres(40.125)),
    });
    let scheme = &mut document.scheme;
    scheme
        .add_lamp("hand-lamp", [-10.8, -14.4, 34.9], Some(Millimetres(20.0)), Millimetres(0.6))
        .expect("a lamp");
    let lamp = scheme.lights.last_mut().expect("the lamp");
    lamp.colour = [255, 180, 80];
    lamp.through = vec![[1.0, 2.5, 3.0], [0.1, 0.2, 0.3]];
    if let LightChoice::Lamp { clear, falloff, .. } = &mut lamp.choice {
        *clear = Millimetres(5.6);
        *falloff = FalloffChoice { exponent: 1.5, reach: Some(Millimetres(25.0)), softness: 0.3 };
    }
    scheme.lights[2].choice = LightChoice::Ambient { sky: SkyChoice::Overcast };
    scheme.bands = BandChoice::Levels(vec![20.0, 40.5, 70.0]);
    scheme.brush.radius = Some(Millimetres(0.25));
    scheme.brush.keep.push(KeptSpot { at: [4.0, -3.0, 20.0], radius: Millimetres(2.5) });
    scheme.emphasis.focus.push(FocalPoint {
        at: [1.0, -2.0, 45.0],
        radius: Millimetres(6.0),
        strength: 0.4,
        spread: Spread::Surface,
    });
    scheme.emphasis.base = -0.25;
    scheme.bounce.albedo = 0.3;
    scheme.hidden.base = true;
    scheme.hidden.parts.push([0.5, -1.25, 12.0]);
    scheme.left_out.base = true;
    scheme.left_out.parts.push([-0.5, 2.25, 7.0]);
    let point = RegionSpot::Point([0.5, -4.0, 47.25]);
    let facing = RegionSpot::Facing([1.0, 2.0, 3.0, 0.0, -1.0, 0.0]);
    let step = |deed, at: &[RegionSpot]| RegionStep { deed, at: at.to_vec(), name: None, colour: None };
    scheme.regions.count = Some(24);
    scheme.regions.steps = vec![
        RegionStep { name: Some("helmet".into()), ..step(RegionDeed::Grow, &[point, facing]) },
        step(RegionDeed::Merge, &[point, facing]),
        step(RegionDeed::Split, &[facing, point]),
        RegionStep { name: Some("canvas suit".into()), ..step(RegionDeed::Rename, &[facing]) },
        step(RegionDeed::Rename, &[point]),
        RegionStep { colour: Some([184, 115, 51]), ..step(RegionDeed::Recolour, &[point]) },
        step(RegionDeed::Lock, &[point]),
        step(RegionDeed::Unlock, &[point]),
    ];
    document
}

#[test]
fn what_is_written_is_read_back() {
    for document in [diver(), rich()] {
        let text = write_document(&document, None);
        assert_eq!(read_document(&text), Ok(document.clone()), "{text}");
        // Written over itself nothing moves.
        assert_eq!(write_document(&document, Some(&text)), text);
    }
}

#[test]
fn a_short_file_by_hand_means_the_defaults() {
    let text = "version = 1\n[[model]]\nbuilt_in = \"diver\"\n";
    let document = read_document(text).unwrap();
    assert_eq!(document.scheme, Scheme::default());
    // A byte order mark, as some editors leave one, is no obstacle.
    assert_eq!(read_document(&format!("\u{feff}{text}")), Ok(document));
}

#[test]
fn comments_and_order_stay_when_numbers_change() {
    let text = "# my diver\nversion = 1\ntitle = \"Diver\" # for the club\n\n[[light]] # the sky\nid = 7\nname = \
                \"sky\"\nkind = \"ambient\"\nweight = 1 # plenty\n\n# the print\n[[model]]\nbuilt_in = \"diver\"\n";
    let mut document = read_document(text).unwrap();
    document.scheme.title = "Diver at dusk".into();
    document.scheme.add_lamp("lamp", [1.0, 2.0, 3.0], None, Millimetres(0.0)).unwrap();
    let out = write_document(&document, Some(text));
    for kept in
        ["# my diver", "title = \"Diver at dusk\" # for the club", "# the sky", "# plenty", "# the print"]
    {
        assert!(out.contains(kept), "{kept} is gone:\n{out}");
    }
    assert_eq!(read_document(&out), Ok(document.clone()), "{out}");
    // Taking the lamp away again leaves no trace of it.
    document.scheme.lights.pop();
    let out = write_document(&document, Some(&out));
    assert!(!out.contains("lamp\""), "{out}");
    assert_eq!(read_document(&out), Ok(document));
}

#[test]
fn a_newer_version_is_told_and_not_guessed_at() {
    let text = "version = 2\nsomething_new = true\n[[model]]\nbuilt_in = \"diver\"\n";
    let error = read_document(text).unwrap_err();
    assert_eq!(error, DocumentError::Newer { found: 2 });
    assert!(error.to_string().contains("newer grisaille"));
}

#[test]
fn what_is_wrong_is_told_with_its_line() {
    let head = "version = 1\n[[model]]\nbuilt_in = \"diver\"\n";
    for (text, line) in [
        (String::new(), 1),
        ("solid diver\n".into(), 1),
        ("version = 0\n".into(), 1),
        ("version = \"one\"\n".into(), 1),
        (format!("{head}[[light]]\nid = 1\nname = \"a\"\nkind = \"sun\"\nweight = 1\n"), 7),
        (format!("{head}[surface]\nfine = true\n"), 5),
        (format!("{head}[surface]\nrefine = 3\n"), 5),
        (format!("{head}[surface\n"), 4),
    ] {
        match read_document(&text) {
            Err(DocumentError::Form { line: at, .. }) => assert_eq!(at, line, "{text}"),
            other => panic!("{text}: {other:?}"),
        }
    }
    let light = |rest: &str| format!("{head}[[light]]\nid = 1\nname = \"a\"\nweight = 1\n{rest}");
    for text in [
        format!("{head}[[model]]\nup = \"y\"\n"),
        "version = 1\nmodel = []\n".into(),
        light("kind = \"lamp\"\n"),
        light("kind = \"ring\"\nat = [1, 2, 3]\n"),
        light("kind = \"zenithal\"\nsky = \"overcast\"\n"),
        light("kind = \"zenithal\"\ntilt = nan\n"),
        light("kind = \"zenithal\"\ntilt = 500\n"),
        format!("{head}[bands]\nshares = [1, 1, 1]\nlevels = [20, 40]\n"),
        format!("{head}[values]\ndarkest = 90\n"),
        format!("{head}[regions]\nby = \"pieces\"\ncount = 4\n"),
        format!("{head}[[regions.step]]\ndo = \"merge\"\nat = [[1, 2, 3]]\n"),
        format!("{head}[[regions.step]]\ndo = \"grow\"\nat = [[1, 2, 3]]\n"),
        format!("{head}[[regions.step]]\ndo = \"lock\"\nname = \"helmet\"\nat = [[1, 2, 3]]\n"),
    ] {
        assert!(
            matches!(read_document(&text), Err(DocumentError::Sense(_))),
            "{text}: {:?}",
            read_document(&text)
        );
    }
}

proptest! {
    /// Every number that a scheme may hold comes back to the bit.
    #[test]
    fn numbers_survive_to_the_bit(
        at in prop::array::uniform3(-1e6..1e6_f64),
        weight in 0.001..1000.0_f64,
        tilt in 0.0..180.0_f64,
        height in 1e-3..1e6_f64,
    ) {
        let mut document = diver();
        document.scheme.add_lamp("l", at, None, Millimetres(0.0)).unwrap();
        document.scheme.lights[3].weight = weight;
        document.scheme.lights[0].choice = LightChoice::Zenithal { tilt, azimuth: -tilt, radius: tilt / 2.0 };
        document.models[0].height = Some(Millimetres(height));
        prop_assert_eq!(read_document(&write_document(&document, None)), Ok(document));
    }

    /// No text makes the reader panic.
    #[test]
    fn any_text_is_read_or_refused(text in "(version = 1\n)?[ -~\n]{0,200}") {
        let _ = read_document(&text);
    }
}
