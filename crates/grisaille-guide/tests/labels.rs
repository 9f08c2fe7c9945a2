//! Letters, numbers and names on the sheets: no two overlap and no two leaders cross, on the diver and on real models
//! from the folder that `GRISAILLE_REAL_MODELS` names. A program of its own, so that it can say aloud what was not run.

use grisaille_base::Watch;
use grisaille_diver::{DiverSettings, diver};
use grisaille_guide::{Heading, Sheets, Subject, Tag, compose};
use grisaille_mesh::{Mesh, ReadSettings, UpAxis, read};
use grisaille_plan::{Products, line_width, lining, plan, regions_of};
use grisaille_scheme::{PaperSize, Scheme, SheetKind};
use grisaille_words::Words;
use std::path::Path;
use std::sync::Arc;

mod apart;
use apart::letters_apart;

/// Models of more triangles are left out, for time.
const LARGE: usize = 250_000;
/// So many real models are composed.
const COUNT: usize = 10;
/// The least distance between the middles of two names, mm: names are 4.4 high.
const NAME: f64 = 4.4;

fn main() {
    let stl = diver(&DiverSettings::default(), &Watch::quiet()).expect("nobody cancels").stl();
    let (mesh, _) = read(&stl, &ReadSettings::default(), &Watch::quiet()).expect("sound");
    let mesh = Arc::new(mesh);
    for paper in [PaperSize::A4, PaperSize::Letter, PaperSize::A5] {
        println!("diver, {paper:?}: {}", checked(&sheets(&mesh, paper), "diver"));
    }
    let Some(folder) = std::env::var_os("GRISAILLE_REAL_MODELS") else {
        println!("real models, labels: NOT RUN (GRISAILLE_REAL_MODELS is not set)");
        return;
    };
    let folder = Path::new(&folder).join("models");
    let files = std::fs::read_dir(&folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display()));
    let mut paths: Vec<_> = files.map(|file| file.expect("a folder is read").path()).collect();
    paths.sort();
    let mut count = 0;
    for path in paths {
        let bytes = std::fs::read(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        let settings = ReadSettings { up: UpAxis::Z, height: Some(40.0), ..ReadSettings::default() };
        let Ok((mesh, _)) = read(&bytes, &settings, &Watch::quiet()) else { continue };
        if mesh.faces().len() > LARGE || count == COUNT {
            continue;
        }
        let name = path.display().to_string();
        println!("{name}: {}", checked(&sheets(&Arc::new(mesh), PaperSize::A4), &name));
        count += 1;
    }
    assert!(count == COUNT, "only {count} models were composed");
    println!("real models, labels: all tests passed");
}

fn sheets(mesh: &Arc<Mesh>, paper: PaperSize) -> Sheets {
    let watch = Watch::quiet();
    let mut scheme = Scheme::default();
    scheme.fineness.ambient_directions = 16;
    scheme.primer.wanted = false;
    scheme.print.paper = paper;
    use SheetKind::{Lines, Regions, Stages, Values, Zones};
    scheme.print.sheets = vec![Values, Zones, Regions, Lines, Stages];
    let planned = plan(&scheme, &mut Products::new(Arc::clone(mesh)), &watch).expect("nobody cancels");
    let (_, regions) =
        regions_of(&scheme.regions, &planned.surface, &planned.mesh, &watch).expect("nobody cancels");
    let lining = lining(&planned, line_width(&scheme, &planned), &watch).expect("nobody cancels");
    let subject = Subject {
        plan: &planned,
        scheme: &scheme,
        findings: &[],
        coloured: None,
        form: Some((&regions, &lining)),
        words: Words::english(),
    };
    compose(&subject, &Heading::default(), &watch).expect("nobody cancels")
}

/// Checks all pictures; how many letters and names there were.
fn checked(sheets: &Sheets, name: &str) -> String {
    let views = sheets.values.iter().flat_map(|v| &v.pictures).chain(&sheets.zone_pictures);
    let pictures = views.chain(sheets.stages.iter().flat_map(|s| &s.pictures)).map(|v| &v.picture);
    let letters: usize = pictures.map(|p| letters_apart(p, name)).sum();
    let tags = sheets.maps.iter().flat_map(|m| &m.views).map(|v| names_apart(&v.tags, name)).sum::<usize>();
    assert!(letters > 4 && tags > 1, "{name}: {letters} letters, {tags} names");
    format!("{letters} letters, {tags} names")
}

fn names_apart(tags: &[Tag], name: &str) -> usize {
    let turn =
        |p: [f64; 2], q: [f64; 2], r: [f64; 2]| (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
    let parts = |l: [[f64; 2]; 2], m: [[f64; 2]; 2]| turn(l[0], l[1], m[0]) * turn(l[0], l[1], m[1]) < 0.0;
    let leader = |t: &Tag| [t.spot, t.end].map(|p| p.map(|x| x.0));
    for (i, a) in tags.iter().enumerate() {
        for b in &tags[..i] {
            let (la, lb) = (leader(a), leader(b));
            assert!(!(parts(la, lb) && parts(lb, la)), "{name}: leaders cross: {a:?} {b:?}");
            let one_side = (la[1][0] < 0.0) == (lb[1][0] < 0.0);
            assert!(!one_side || (la[1][1] - lb[1][1]).abs() >= NAME, "{name}: names overlap: {a:?} {b:?}");
        }
    }
    tags.len()
}
