//! The guide as the painter gets it: whole, the same every time, and never a
//! panic on odd data.

mod sample;

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};

use grisaille_base::{Code, Listener, Millimetres, Stop, Watch};
use grisaille_guide::{GuideError, Picture, Sheets, Warning, typeset};

fn small() -> Sheets {
    let mut pixels = Vec::new();
    for i in 0..60 * 40 {
        pixels.extend([(i / 60 * 6) as u8; 3]);
    }
    let cover = Picture {
        file: sample::png(60, 40, &pixels),
        width: Millimetres(60.0),
        height: Millimetres(40.0),
        scale: 2,
        alt: "A grey ramp.".into(),
        lines: Vec::new(),
        labels: Vec::new(),
    };
    Sheets { title: "Diver".into(), model_file: "diver.stl".into(), cover, ..Sheets::default() }
}

fn contains(pdf: &[u8], needle: &str) -> bool {
    pdf.windows(needle.len()).any(|w| w == needle.as_bytes())
}

fn refusal(sheets: &Sheets) -> String {
    match typeset(sheets, &Watch::quiet()) {
        Err(GuideError::Typeset { message }) => message,
        other => panic!("expected a refusal, got {:?}", other.map(|(pdf, f)| (pdf.len(), f))),
    }
}

#[test]
fn the_same_sheets_give_the_same_bytes_on_any_number_of_threads() {
    let sheets = sample::diver();
    let (first, findings) = typeset(&sheets, &Watch::with_threads(1).unwrap()).unwrap();
    let (second, _) = typeset(&sheets, &Watch::with_threads(4).unwrap()).unwrap();
    assert!(first == second);
    assert_eq!(findings, []);
}

#[test]
fn the_file_states_both_standards_and_one_date_for_all() {
    // The typesetter itself checks them and refuses what breaks them.
    let (pdf, _) = typeset(&sample::diver(), &Watch::quiet()).unwrap();
    assert!(pdf.starts_with(b"%PDF-1.7"));
    for needle in [
        "<pdfuaid:part>1<",
        "<pdfaid:part>2<",
        "<pdfaid:conformance>A<",
        "/MarkInfo",
        "/Outlines",
        "grisaille 0.1.0",
    ] {
        assert!(contains(&pdf, needle), "{needle}");
    }
    assert!(contains(&pdf, "<xmp:CreateDate>2000-01-01"));
}

#[test]
fn a_name_of_sixty_foreign_characters_is_a_finding() {
    let name = "潜".repeat(60);
    let mut sheets = sample::diver();
    sheets.title.clone_from(&name);
    sheets.model_file = format!("{name}.stl");
    sheets.lights[0].title.clone_from(&name);
    sheets.bands[0].name.clone_from(&name);
    sheets.zones[0].light.clone_from(&name);
    sheets.stages[0].title.clone_from(&name);
    sheets.facts[0].value = "w".repeat(60);
    let (_, findings) = typeset(&sheets, &Watch::quiet()).unwrap();
    assert_eq!(findings.len(), 1);
    assert_eq!((findings[0].code, findings[0].count), (Code::MissingGlyphs, 360));
    assert!(findings[0].hint.contains("U+6F5C"), "{}", findings[0].hint);
}

#[test]
fn text_is_never_markup() {
    let mut sheets = small();
    sheets.title = "#panic(\"x\") *bold* $x^2$ <label> @ref = \\ `raw` // /*".into();
    sheets.warnings = (0..5)
        .map(|_| Warning {
            text: "#read(\"guide.json\")".into(),
            place: "] } \" \\u{0} \u{0} \u{202E}".into(),
        })
        .collect();
    let (_, findings) = typeset(&sheets, &Watch::quiet()).unwrap();
    assert_eq!(findings[0].count, 5);
}

#[test]
fn a_guide_with_next_to_nothing_in_it_is_still_a_guide() {
    let mut sheets = small();
    sheets.title = " \n ".into();
    sheets.model_file.clear();
    let (pdf, _) = typeset(&sheets, &Watch::quiet()).unwrap();
    assert!(contains(&pdf, "Painting guide"));
}

#[test]
fn numbers_that_are_none_do_not_stop_the_guide() {
    let mut sheets = sample::diver();
    sheets.height = Millimetres(f64::NAN);
    sheets.lights[0].share = f64::INFINITY;
    sheets.bands[0].share = f64::NAN;
    sheets.bands[0].area = f64::NEG_INFINITY;
    sheets.zones[0].share = -3.0;
    typeset(&sheets, &Watch::quiet()).unwrap();
}

#[test]
fn a_broken_picture_is_an_error() {
    let mut sheets = small();
    let whole = sheets.cover.file.clone();
    sheets.cover.file = b"GIF89a".to_vec();
    assert!(refusal(&sheets).contains("not a PNG"));
    sheets.cover.file = Vec::new();
    assert!(refusal(&sheets).contains("not a PNG"));
    sheets.cover.file = whole[..whole.len() / 2].to_vec();
    assert!(refusal(&sheets).contains("decode"), "{}", refusal(&sheets));
    for at in 8..whole.len() {
        let mut broken = whole.clone();
        broken[at] ^= 0x55;
        sheets.cover.file = broken;
        // Either is fine, as long as it returns.
        let _ = typeset(&sheets, &Watch::quiet());
    }
}

#[test]
fn a_picture_that_cannot_keep_its_size_is_an_error() {
    let mut sheets = small();
    sheets.cover.width = Millimetres(90.0);
    assert!(refusal(&sheets).contains("stretched"));
    sheets.cover.width = Millimetres(240.0);
    assert!(refusal(&sheets).contains("room for 174 × 116 mm"));
    sheets.cover.width = Millimetres(f64::NAN);
    assert!(refusal(&sheets).contains("does not fit"));
}

#[test]
fn lines_lie_over_their_picture_and_broken_ones_are_an_error() {
    let mut sheets = small();
    let (plain, _) = typeset(&sheets, &Watch::quiet()).unwrap();
    let line = r##"<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40"><path d="M1 1L59 39" stroke="#000000"/></svg>"##;
    sheets.cover.lines = vec![line.into(), line.into()];
    let (lined, findings) = typeset(&sheets, &Watch::quiet()).unwrap();
    assert!(lined != plain && findings.is_empty());
    sheets.cover.lines = vec!["<svg".into()];
    assert!(matches!(typeset(&sheets, &Watch::quiet()), Err(GuideError::Typeset { .. })));
}

#[test]
fn a_picture_without_its_description_is_an_error() {
    let mut sheets = small();
    sheets.cover.alt = " ".into();
    assert!(refusal(&sheets).contains("what the picture shows"));
}

#[test]
fn a_cancel_stops_the_guide() {
    let watch = Watch::quiet();
    watch.cancel_handle().store(true, Ordering::Relaxed);
    assert_eq!(typeset(&small(), &watch), Err(GuideError::Stop(Stop)));
}

/// Cancels once the pages are laid out and the PDF is not yet written.
struct Impatient(OnceLock<Arc<AtomicBool>>);

impl Listener for Impatient {
    fn begin(&self, _: &'static str, _: u64) {}
    fn advance(&self, _: &'static str, done: u64) {
        if let Some(cancel) = self.0.get() {
            cancel.store(done == 2, Ordering::Relaxed);
        }
    }
    fn end(&self, _: &'static str) {}
}

#[test]
fn a_cancel_halfway_stops_the_guide_too() {
    let listener = Arc::new(Impatient(OnceLock::new()));
    let watch = Watch::quiet().heard_by(listener.clone());
    listener.0.set(watch.cancel_handle()).unwrap();
    assert_eq!(typeset(&small(), &watch), Err(GuideError::Stop(Stop)));
}
