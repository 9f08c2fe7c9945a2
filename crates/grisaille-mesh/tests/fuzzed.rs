//! What fuzzing found, each with what it came from.

use grisaille_base::Watch;
use grisaille_mesh::{ReadError, ReadSettings, read};
use std::io::{Cursor, Write};

/// A 3MF of one part with this text.
fn threemf(text: &str) -> Vec<u8> {
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    archive
        .start_file("3D/3dmodel.model", zip::write::SimpleFileOptions::default())
        .expect("a part is begun");
    archive.write_all(text.as_bytes()).expect("memory takes it");
    archive.finish().expect("memory takes it").into_inner()
}

// Names of tags from the file stood in the error as they were.
#[test]
fn an_error_about_a_broken_3mf_is_one_line_whatever_its_tags_are_called() {
    let long = "x".repeat(5000);
    let mut broken = 0;
    for name in ["mo\nde\u{2028}l", "a\r\nb", "a\u{1}b", &long] {
        for text in [
            format!("<model><resources><{name}></oth\ner></resources></model>"),
            format!("<model unit=\"{name}\"><resources></wrong\n></model>"),
            format!("<{name}></model\n>"),
        ] {
            let Err(e @ ReadError::Broken { .. }) =
                read(&threemf(&text), &ReadSettings::default(), &Watch::quiet())
            else {
                continue;
            };
            broken += 1;
            let said = e.to_string();
            assert!(said.lines().count() == 1 && !said.contains(char::is_control), "{said:?}");
            assert!(said.chars().count() < 300, "{said:?}");
        }
    }
    assert!(broken >= 4, "{broken} of 12 are told as broken");
}
