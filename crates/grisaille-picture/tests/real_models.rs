//! Hidden lines of real models against brute force, from the folder that `GRISAILLE_REAL_MODELS` names. A program of
//! its own, so that it can say aloud that it was not run.

mod brute;

use brute::compared;
use grisaille_base::Watch;
use grisaille_mesh::{ReadSettings, UpAxis, read};
use grisaille_picture::{Frame, View};
use std::path::Path;

/// Models of more triangles are left out, for time.
const LARGE: usize = 250_000;

fn main() {
    let Some(folder) = std::env::var_os("GRISAILLE_REAL_MODELS") else {
        println!("real models, hidden lines: NOT RUN (GRISAILLE_REAL_MODELS is not set)");
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
        if mesh.faces().len() > LARGE {
            continue;
        }
        let frame = Frame::fit(mesh.positions(), View::three_quarter(), 20.0, 1.0);
        let sums = compared(&mesh, &frame, 1000);
        println!(
            "{}: {:.2} % wrong of {:.0} mm",
            path.display(),
            100.0 * sums.wrong / sums.length,
            sums.length
        );
        assert!(sums.wrong <= 0.005 * sums.length, "{}: {sums:?}", path.display());
        count += 1;
    }
    assert!(count >= 8, "only {count} models were compared");
    println!("real models, hidden lines: all tests passed");
}
