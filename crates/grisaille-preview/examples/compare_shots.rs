//! Compares a picture of the window with the grey means of its cells and with
//! how fine its detail is, loosely: `compare_shots SHOT.png EXPECTED.cells`. With
//! `UPDATE_GOLDEN=1` it writes them.

use std::fs;
use std::io::BufReader;
use std::process::ExitCode;

/// Cells across and down.
const GRID: [usize; 2] = [40, 26];
/// The mean difference of all cells that passes, of 255.
const MEAN: f64 = 4.0;
/// The share of cells that may differ by more than 24 of 255.
const FAR: f64 = 0.03;
/// How much finer or coarser its detail may be: a squint takes away 14 %.
const FINE: f64 = 0.06;

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [shot, expected] = args.as_slice() else {
        eprintln!("usage: compare_shots SHOT.png EXPECTED.cells");
        return ExitCode::from(2);
    };
    match compare(shot, expected) {
        Ok(words) => {
            println!("{words}");
            ExitCode::SUCCESS
        }
        Err(why) => {
            eprintln!("{shot}: {why}");
            ExitCode::FAILURE
        }
    }
}

fn compare(shot: &str, expected: &str) -> Result<String, String> {
    let (cells, fine) = cells(shot)?;
    if std::env::var_os("UPDATE_GOLDEN").is_some() {
        let rows: Vec<String> = cells
            .chunks(GRID[0])
            .map(|row| row.iter().map(|c| format!("{c:.0}")).collect::<Vec<_>>().join(" "))
            .collect();
        let text = format!("{}\n{fine:.3}\n", rows.join("\n"));
        fs::write(expected, text).map_err(|e| e.to_string())?;
    }
    let text = fs::read_to_string(expected).map_err(|e| format!("{expected}: {e}"))?;
    let mut wanted: Vec<f64> = text.split_whitespace().filter_map(|n| n.parse().ok()).collect();
    if wanted.len() != cells.len() + 1 {
        return Err(format!("{expected} holds {} numbers, not {}", wanted.len(), cells.len() + 1));
    }
    let finer = fine / wanted.pop().unwrap_or(fine).max(1e-9) - 1.0;
    let off: Vec<f64> = cells.iter().zip(&wanted).map(|(a, b)| (a - b).abs()).collect();
    let mean = off.iter().sum::<f64>() / off.len() as f64;
    let far = off.iter().filter(|d| **d > 24.0).count() as f64 / off.len() as f64;
    let words = format!(
        "mean difference {mean:.2} of 255, {:.1} % of cells far off, detail {:+.1} %",
        100.0 * far,
        100.0 * finer
    );
    if mean <= MEAN && far <= FAR && finer.abs() <= FINE {
        Ok(format!("{shot}: {words}"))
    } else {
        Err(words)
    }
}

/// The mean grey of each cell, and by how much neighbours in a row differ.
fn cells(path: &str) -> Result<(Vec<f64>, f64), String> {
    let file = fs::File::open(path).map_err(|e| e.to_string())?;
    let mut reader = png::Decoder::new(BufReader::new(file)).read_info().map_err(|e| e.to_string())?;
    let size = reader.output_buffer_size().ok_or("the picture is too large")?;
    let mut bytes = vec![0; size];
    let info = reader.next_frame(&mut bytes).map_err(|e| e.to_string())?;
    let (width, height) = (info.width as usize, info.height as usize);
    let [across, down] = GRID;
    let grey = |at: usize| bytes[at..at + 3].iter().map(|b| f64::from(*b)).sum::<f64>() / 3.0;
    let mut sums = vec![(0.0, 0_u32); across * down];
    let mut steps = 0.0;
    for y in 0..height {
        for x in 0..width {
            let cell = &mut sums[y * down / height * across + x * across / width];
            let at = 3 * (y * width + x);
            cell.0 += grey(at);
            cell.1 += 1;
            steps += if x > 0 { (grey(at) - grey(at - 3)).abs() } else { 0.0 };
        }
    }
    let means = sums.into_iter().map(|(sum, n)| sum / f64::from(n.max(1))).collect();
    Ok((means, steps / (width * height).max(1) as f64))
}
