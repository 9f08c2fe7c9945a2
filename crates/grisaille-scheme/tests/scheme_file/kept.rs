//! Comments and the order of lines stay when a scheme is written over its file.

use crate::rich::{RICH, rich};
use grisaille_base::Millimetres;
use grisaille_scheme::{Material, MoodChoice, RegionPaint, Route, read_document, write_document};

/// Every comment of a text.
fn comments(text: &str) -> Vec<&str> {
    text.lines().filter_map(|line| Some(line[line.rfind("# ")?..].trim())).collect()
}

/// The lines from one that holds `from` to the next empty one.
fn part<'t>(text: &'t str, from: &str) -> Vec<&'t str> {
    text.lines().skip_while(|l| !l.contains(from)).take_while(|l| !l.is_empty()).collect()
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

/// What the file says already is left as the painter wrote it, and defaults that
/// it leaves out are not written into it.
#[test]
fn a_file_that_is_only_read_stays_as_it_is() {
    let short = "version = 1\nmodel = [{ built_in = \"diver\" }]\nlight = [{ id = 4, name = \"a\", kind = \"zenithal\", \
                 weight = 1 }]\n";
    for text in [RICH, short] {
        assert_eq!(write_document(&read_document(text).unwrap(), Some(text)), text);
    }
}

#[test]
fn each_new_table_keeps_its_comments_when_its_numbers_change() {
    let mut document = read_document(RICH).unwrap();
    let colours = &mut document.scheme.colours;
    colours.route = Route::BrushOnly;
    colours.mood = Some(MoodChoice { name: "cold".into(), strength: 0.25 });
    colours.palette[0].share = Some(55.0);
    colours.palette[2].colour = "#ffc478".into();
    colours.paints.as_mut().expect("paints").parts = 4;
    colours.skip.pop();
    let out = write_document(&document, Some(RICH));
    assert_eq!(comments(&out), comments(RICH));
    // Nothing else changes.
    assert_eq!(out.lines().filter(|line| !RICH.contains(line)).count(), 7, "{out}");
    for line in [
        "route = \"brush-only\"            # thin paint",
        "name = \"cold\" # deep water",
        "share = 55.0",
        "skip = [\"edges\"] # enough is enough",
    ] {
        assert!(out.lines().any(|l| l == line), "{line}:\n{out}");
    }
    assert_eq!(read_document(&out), Ok(document));
}

#[test]
fn regions_edited_one_by_one_keep_what_stands_beside_them() {
    let original = read_document(RICH).unwrap();
    for i in 0..original.scheme.colours.regions.len() {
        let mut document = original.clone();
        let region = &mut document.scheme.colours.regions[i];
        region.material = Material::Satin;
        region.lift = -0.2;
        let out = write_document(&document, Some(RICH));
        assert_eq!(comments(&out), comments(RICH), "{i}");
        assert_eq!(read_document(&out), Ok(document), "{out}");
    }
}

#[test]
fn a_region_that_goes_takes_its_own_comment_and_no_other() {
    for gone in 0..4 {
        let mut document = read_document(RICH).unwrap();
        document.scheme.colours.regions.remove(gone);
        let out = write_document(&document, Some(RICH));
        for (i, comment) in ["# polished every morning", "# old canvas", "# never black"].iter().enumerate() {
            assert_eq!(out.contains(comment), i != gone, "{gone}:\n{out}");
        }
        assert_eq!(read_document(&out), Ok(document), "{out}");
    }
}

#[test]
fn regions_that_change_places_take_their_comments_along() {
    let mut document = read_document(RICH).unwrap();
    let regions = &mut document.scheme.colours.regions;
    regions.swap(0, 2);
    let gloves = RegionPaint { name: "gloves".into(), colour: "#333333".into(), ..RegionPaint::default() };
    regions.insert(0, gloves);
    document.scheme.colours.palette.reverse();
    let out = write_document(&document, Some(RICH));
    assert_eq!(read_document(&out), Ok(document), "{out}");
    for (head, name) in [
        ("[[region]] # polished every morning", "name = \"helmet\""),
        ("[[region]] # never black", "name = \"boots\""),
        ("[[palette]] # the accent", "name = \"lamp light\""),
    ] {
        assert!(part(&out, head).contains(&name), "{head}:\n{out}");
    }
}

/// A painter may write any table in one line: it stays so while it says the same.
#[test]
fn tables_in_one_line_are_read_and_kept() {
    let text = "version = 1\nmodel = [{ built_in = \"diver\", up = \"z\", unit = \"mm\" }] # one\n\
                mood = { name = \"calm\", strength = 0.5 } # quiet\nvalues.darkest = 20 # ink\n";
    let mut document = read_document(text).unwrap();
    assert_eq!(document.scheme.value.darkest.0, 20.0);
    let out = write_document(&document, Some(text));
    for kept in text.lines() {
        assert!(out.contains(kept), "{kept}:\n{out}");
    }
    document.scheme.colours.mood = None;
    document.models.extend(rich().models);
    let out = write_document(&document, Some(text));
    assert_eq!(read_document(&out), Ok(document), "{out}");
}
