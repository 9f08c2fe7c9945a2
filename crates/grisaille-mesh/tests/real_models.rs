//! Real models, from the folder that `GRISAILLE_REAL_MODELS` names: none of them has print
//! supports. A program of its own, so that it can say aloud that it was not run.

use grisaille_base::Watch;
use grisaille_mesh::{ReadSettings, read, supports};
use std::path::Path;

fn main() {
    let Some(folder) = std::env::var_os("GRISAILLE_REAL_MODELS") else {
        println!("real models, mesh: NOT RUN (GRISAILLE_REAL_MODELS is not set)");
        return;
    };
    let (mut clear, mut refused) = (0, 0);
    for part in ["models", "odd", "3mf"] {
        let part = Path::new(&folder).join(part);
        for entry in std::fs::read_dir(&part).unwrap_or_else(|e| panic!("{}: {e}", part.display())) {
            let path = entry.expect("an entry").path();
            let bytes = std::fs::read(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
            let Ok((mesh, _)) = read(&bytes, &ReadSettings::default(), &Watch::quiet()) else {
                refused += 1;
                continue;
            };
            let found = supports(&mesh, &Watch::quiet()).expect("nobody cancels");
            assert!(found.is_none(), "{}: {:?}", path.display(), found.map(|f| f.finding()));
            clear += 1;
        }
    }
    assert!(clear >= 100, "{clear} read");
    println!("real models, mesh: {clear} have no supports, {refused} are refused");
}
