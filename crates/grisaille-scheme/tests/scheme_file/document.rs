//! What is written is read back to the bit.

use crate::rich::{RICH, diver, rich};
use grisaille_base::Millimetres;
use grisaille_scheme::{LightChoice, Scheme, read_document, write_document};
use proptest::prelude::*;

#[test]
fn what_is_written_is_read_back() {
    for document in [diver(), rich(), read_document(RICH).expect("a scheme")] {
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
