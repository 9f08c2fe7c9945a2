//! The sheet of what is done before gluing, on a cup with its lid: what closes up is known in closed form.

use grisaille_base::{Millimetres, Watch};
use grisaille_bodies::{cuboid, cup, stl};
use grisaille_guide::{Heading, Sheets, Subject, ViewSheet, compose, typeset};
use grisaille_mesh::{Mesh, ReadSettings, read};
use grisaille_plan::{Products, Shelf, StageKind, assemble, coloured, plan};
use grisaille_scheme::{RegionPaint, Scheme, SheetKind};
use grisaille_words::Words;
use std::sync::Arc;

/// A cup, 12 × 12 × 8 mm with a hollow of 8 × 8 × 6, and a lid so far above it.
fn sheets(gap: f64) -> (Sheets, Vec<StageKind>) {
    let watch = Watch::quiet();
    let lid = cuboid([-6.0, -6.0, 8.0 + gap], [6.0, 6.0, 10.0 + gap]);
    let alone = |soup: &[_]| -> Mesh { read(&stl(soup), &ReadSettings::default(), &watch).expect("sound").0 };
    let models = [alone(&cup()), alone(&lid)];
    let mesh = alone(&[cup(), lid].concat());
    let mut scheme = Scheme::default();
    scheme.surface.spacing = Some(Millimetres(0.4));
    scheme.fineness.ambient_directions = 16;
    scheme.primer.wanted = false;
    scheme.print.sheets = vec![SheetKind::Gluing];
    scheme.colours.regions = vec![RegionPaint {
        name: "pottery".into(),
        rest: true,
        colour: "#b06f45".into(),
        ..RegionPaint::default()
    }];
    let mut plan = plan(&scheme, &mut Products::new(Arc::new(mesh)), &watch).expect("nobody cancels");
    let names = ["cup.stl".to_owned(), "lid.stl".to_owned()];
    assemble(&mut plan, &names, &models, &watch).expect("nobody cancels");
    let words = Words::english();
    let coloured = coloured(&scheme, &mut plan, &Shelf::empty(), words, &watch).expect("sound");
    let subject =
        Subject { plan: &plan, scheme: &scheme, findings: &[], coloured: Some(&coloured), form: None, words };
    let sheets = compose(&subject, &Heading::default(), &watch).expect("nobody cancels");
    (sheets, coloured.stages.iter().map(|s| s.kind).collect())
}

/// The number before "mm²".
fn area(cell: &str) -> f64 {
    cell.strip_suffix(" mm²").and_then(|n| n.parse().ok()).unwrap_or_else(|| panic!("{cell}"))
}

#[test]
fn what_to_paint_and_what_to_keep_bare_is_told_for_each_file() {
    let (sheets, stages) = sheets(0.05);
    let [sheet]: &[ViewSheet] = &sheets.maps else { panic!("{} sheets", sheets.maps.len()) };
    assert_eq!((sheet.key, sheet.columns.len()), ("gluing", 4));
    let cells = |file: &str| {
        let row = sheet.rows.iter().find(|row| row.cells[0] == file);
        row.unwrap_or_else(|| panic!("{file}")).cells.clone()
    };
    let (cup, lid) = (cells("cup.stl"), cells("lid.stl"));
    // Floor and walls of the hollow, 8 × 8 + 4 × 8 × 6; of the lid what lies over it, 8 × 8.
    assert!((area(&cup[1]) - 256.0).abs() < 8.0, "{cup:?}");
    assert!((area(&lid[1]) - 64.0).abs() < 4.0, "{lid:?}");
    // The rim, 12 × 12 − 8 × 8, on both.
    for file in [&cup, &lid] {
        assert!((area(&file[2]) - 80.0).abs() < 4.0, "{file:?}");
    }
    // The one with more to paint is to be begun with; and a blade and glue are warned of.
    assert!(sheet.lead.contains("Begin with cup.stl"), "{}", sheet.lead);
    assert!(sheet.cautions.iter().any(|c| c.contains("blade") && c.contains("safety data sheet")));
    // Seen from front and behind, each picture with words for who cannot see it.
    assert_eq!(sheet.views.len(), 2);
    assert!(sheet.views.iter().all(|v| v.view.picture.alt.contains("glued") && v.view.picture.scale >= 1));
    assert!(stages.contains(&StageKind::BeforeGluing) && stages.contains(&StageKind::Glue));
    typeset(&sheets, &Watch::quiet()).expect("a guide");
}

#[test]
fn parts_that_stand_apart_have_no_such_sheet() {
    let (sheets, stages) = sheets(3.0);
    assert!(sheets.maps.is_empty() && !stages.contains(&StageKind::Glue));
}
