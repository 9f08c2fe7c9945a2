//! Writes the diver as a binary STL: `write_stl <output> [cell in mm] [triangles]`.

use grisaille_base::{Millimetres, Watch};
use grisaille_diver::{DiverSettings, diver};
use std::process::ExitCode;

fn main() -> ExitCode {
    match write() {
        Ok(said) => {
            println!("{said}");
            ExitCode::SUCCESS
        }
        Err(why) => {
            eprintln!("{why}");
            ExitCode::FAILURE
        }
    }
}

fn write() -> Result<String, String> {
    let mut args = std::env::args().skip(1);
    let path = args.next().ok_or("give the path of the STL to write, then a cell in mm if you like")?;
    let mut settings = DiverSettings::default();
    if let Some(cell) = args.next() {
        settings.cell = Millimetres(cell.parse().map_err(|_| format!("{cell} is no number of mm"))?);
    }
    let watch = Watch::with_threads(0)?;
    let mut diver = diver(&settings, &watch).map_err(|e| e.to_string())?;
    if let Some(target) = args.next() {
        let target = target.parse().map_err(|_| format!("{target} is no count of triangles"))?;
        diver = diver.decimated(target, &watch).map_err(|e| e.to_string())?;
    }
    std::fs::write(&path, diver.stl()).map_err(|e| format!("cannot write {path}: {e}"))?;
    let mut said = String::new();
    for piece in &diver.pieces {
        said += &format!("{:>8} triangles  {}\n", piece.triangles.len(), piece.name);
    }
    for (phase, record) in watch.records() {
        said += &format!("{:>8.2} s         {phase}\n", record.seconds);
    }
    Ok(said)
}
