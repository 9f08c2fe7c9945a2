//! Writes the sound files that the mutation tests begin with into a folder for
//! each reader: `seeds FOLDER`.
#![expect(dead_code, reason = "archives are packed by the fuzz target")]

mod judge;
#[path = "../../crates/grisaille-mesh/tests/mutation/seeds.rs"]
mod sound;

use sound::Seed;
use std::fs::{create_dir_all, write};
use std::path::PathBuf;

fn main() -> std::io::Result<()> {
    let to = PathBuf::from(std::env::args_os().nth(1).expect("seeds FOLDER"));
    for (kind, seeds) in sound::seeds() {
        let folder = to.join(match kind {
            "OBJ" => "obj",
            "OBJ with materials" => "mtl",
            "PLY" => "ply",
            "3MF" => "threemf",
            _ => "stl",
        });
        create_dir_all(&folder)?;
        for (n, seed) in seeds.iter().enumerate() {
            let name = format!("{}-{n}", kind.to_lowercase().replace(' ', "-"));
            write(folder.join(&name), seed.bytes())?;
            match seed {
                Seed::Plain(_) => {}
                Seed::Archive { text, .. } => write(folder.join(name + ".xml"), text)?,
                Seed::Beside { model, materials } => {
                    write(folder.join(&name), [model.as_slice(), &[judge::MARK], materials].concat())?;
                    write(folder.join(name + ".mtl"), materials)?;
                }
            }
        }
    }
    Ok(())
}
