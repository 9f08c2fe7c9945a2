//! Writes the diver's guide: `cargo run --release -p grisaille-guide --example sample -- guide.pdf`.

#[path = "../tests/sample/mod.rs"]
mod sample;

use std::time::Instant;

use grisaille_base::Watch;
use grisaille_guide::typeset;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let path = std::env::args().nth(1).ok_or("name the PDF to write")?;
    let sheets = sample::diver();
    let begun = Instant::now();
    let (pdf, findings) = typeset(&sheets, &Watch::quiet())?;
    println!(
        "{} bytes in {:.0} ms, {} findings",
        pdf.len(),
        begun.elapsed().as_secs_f64() * 1e3,
        findings.len()
    );
    std::fs::write(path, pdf)?;
    Ok(())
}
