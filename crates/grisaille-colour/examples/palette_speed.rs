//! How long a palette takes from a picture file: of each file named, its size, and the
//! time to read it and to find its colours, on the threads named first.

use grisaille_base::Watch;
use grisaille_colour::{hex_of, palette_of, read_picture};
use std::error::Error;
use std::time::Instant;

fn main() -> Result<(), Box<dyn Error>> {
    let mut args = std::env::args().skip(1);
    let watch = Watch::with_threads(args.next().and_then(|n| n.parse().ok()).unwrap_or(2))?;
    for file in args {
        let bytes = std::fs::read(&file)?;
        let begun = Instant::now();
        let picture = read_picture(&bytes)?;
        let read = begun.elapsed();
        let palette = palette_of(&picture, &watch)?;
        let all = begun.elapsed();
        let megapixels = (picture.width() * picture.height()) as f64 / 1e6;
        let told: Vec<String> = palette
            .iter()
            .map(|c| {
                let skin = if c.skin_like { " skin-like" } else { "" };
                format!("{} {:.1} % {}{skin}", hex_of(c.colour), 100.0 * c.share, c.role.as_str())
            })
            .collect();
        println!(
            "{file}: {megapixels:.1} megapixels, read in {:.0} ms, in all {:.0} ms: {}",
            read.as_secs_f64() * 1e3,
            all.as_secs_f64() * 1e3,
            told.join(", ")
        );
    }
    Ok(())
}
