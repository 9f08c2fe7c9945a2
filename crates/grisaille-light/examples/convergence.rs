//! How far ambient light is from the closed forms, by the number of
//! directions and by the set of directions: the tables of docs/exposure.md.
//!
//! ```text
//! cargo run --release -p grisaille-light --example convergence
//! ```

use grisaille_base::{LightId, Stop, Watch};
use grisaille_bodies::{Form, forms, stl};
use grisaille_light::{Cache, ExposureSettings, Kind, Light, Sky, ambient_open, exposure, upper_hemisphere};
use grisaille_mesh::{ReadError, ReadSettings, read};
use grisaille_sight::{Bits, FaceMask, Occluders, Samples, Sight, Source, Surface, SweepSight};
use nalgebra::{Point3, Unit, Vector3};
use std::collections::BTreeMap;
use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, TAU};
use std::sync::Arc;

/// Directions, and for each the solid angle that it stands for, relative to others.
type Set = Vec<(Unit<Vector3<f64>>, f64)>;

/// What a set is called, and how it is made for a count.
type Named = (&'static str, fn(usize) -> Set);

/// The golden section, (√5 − 1)/2.
const GOLDEN: f64 = 0.618_033_988_749_894_9;

/// A form made ready: what blocks, and its receivers as samples.
struct Ready {
    form: Form,
    sight: SweepSight,
    surface: Surface,
}

fn main() -> Result<(), ReadError> {
    let watch = Watch::quiet();
    let ready = forms().into_iter().map(|form| make_ready(form, &watch)).collect::<Result<Vec<_>, _>>()?;
    by_count(&ready, &watch)?;
    by_set(&ready, &watch)?;
    Ok(())
}

fn make_ready(form: Form, watch: &Watch) -> Result<Ready, ReadError> {
    let (mesh, _) = read(&stl(&form.soup), &ReadSettings::default(), watch)?;
    let sight = SweepSight::new(Arc::new(Occluders::of(&mesh)), watch);
    let size = form.soup.iter().flatten().flatten().fold(0.0_f64, |m, x| m.max(x.abs()));
    let offset = size * 2.0_f64.powi(-18);
    let place = |r: &grisaille_bodies::Receiver| (Point3::from(r.position), Vector3::from(r.normal));
    let samples = Samples::new(
        form.receivers.iter().map(|r| place(r).0.cast()).collect(),
        form.receivers.iter().map(|r| place(r).1.cast()).collect(),
        form.receivers.iter().map(|r| (place(r).0 + place(r).1 * offset).cast()).collect(),
        offset,
    );
    let surface = Surface {
        faces: Vec::new(),
        source_face: Vec::new(),
        piece: Vec::new(),
        samples,
        longest_edge: 0.0,
        fingerprint: 0,
    };
    Ok(Ready { form, sight, surface })
}

/// Root of the mean square and greatest size of some errors.
fn summed(errors: &[f64]) -> (f64, f64) {
    let square = errors.iter().map(|e| e * e).sum::<f64>() / errors.len().max(1) as f64;
    (square.sqrt(), errors.iter().fold(0.0, |m, e| m.max(e.abs())))
}

/// The program's own answers, form by form.
fn by_count(ready: &[Ready], watch: &Watch) -> Result<(), Stop> {
    let counts = [16, 64, 256, 1024, 4096];
    let mut errors: BTreeMap<&str, Vec<Vec<f64>>> = BTreeMap::new();
    let kind = Kind::Ambient { sky: Sky::Uniform };
    let lights = [Light { id: LightId(0), name: "ambient".into(), kind, mask: FaceMask::All }];
    for Ready { form, sight, surface } in ready {
        let row = errors.entry(form.name).or_insert_with(|| vec![Vec::new(); counts.len()]);
        for (row, count) in row.iter_mut().zip(counts) {
            let settings = ExposureSettings { ambient_directions: count, ..Default::default() };
            let light = exposure(surface, sight, &lights, &settings, &mut Cache::default(), watch)?;
            let values = light.lights.iter().flat_map(|l| l.values.iter());
            row.extend(values.zip(&form.receivers).map(|(e, r)| f64::from(*e) - r.sky));
        }
    }
    println!("Greatest error of ambient light, by the number of directions N.\n");
    println!("| form | {} |", counts.map(|n| n.to_string()).join(" | "));
    println!("| --- |{}", " ---: |".repeat(counts.len()));
    for (name, row) in &errors {
        let cells: Vec<String> = row.iter().map(|e| format!("{:.4}", summed(e).1)).collect();
        println!("| {name} | {} |", cells.join(" | "));
    }
    let all = |k: usize| errors.values().flat_map(|row| row[k].clone()).collect::<Vec<f64>>();
    let rms: Vec<String> = (0..counts.len()).map(|k| format!("{:.4}", summed(&all(k)).0)).collect();
    println!("| *all: root of the mean square* | {} |", rms.join(" | "));
    let bound = counts.map(|n| format!("{:.4}", 2.0 * f64::from(n as u32).powf(-0.75)));
    println!("| *2·N^(−3/4)* | {} |\n", bound.join(" | "));
    Ok(())
}

/// Other sets of directions through the same estimate.
fn by_set(ready: &[Ready], watch: &Watch) -> Result<(), Stop> {
    println!("Root of the mean square, and greatest, error over all forms, by set;");
    println!("at 256 also on level receivers and on the others.\n");
    println!("| set | 64 | 256 | 1024 | 256, level | 256, tilted |\n| --- |{}", " ---: |".repeat(5));
    for (name, set) in SETS {
        let (mut cells, mut parted) = (Vec::new(), Vec::new());
        let shown = |errors: &[f64]| {
            let (rms, worst) = summed(errors);
            format!("{rms:.4}, {worst:.4}")
        };
        for count in [64, 256, 1024] {
            let set = set(count);
            let (mut level, mut tilted) = (Vec::new(), Vec::new());
            for one in ready {
                for (error, r) in errors_of(one, &set, watch)?.into_iter().zip(&one.form.receivers) {
                    if r.normal[2] > 0.999 { &mut level } else { &mut tilted }.push(error);
                }
            }
            cells.push(shown(&[level.as_slice(), tilted.as_slice()].concat()));
            if count == 256 {
                parted = vec![shown(&level), shown(&tilted)];
            }
        }
        println!("| {name} | {} | {} |", cells.join(" | "), parted.join(" | "));
    }
    Ok(())
}

fn errors_of(ready: &Ready, set: &Set, watch: &Watch) -> Result<Vec<f64>, Stop> {
    let samples = &ready.surface.samples;
    let mut bits = Bits::new(samples.len());
    let mut sums = vec![(0.0, 0.0); samples.len()];
    for (direction, angle) in set {
        ready.sight.visible(samples, Source::Direction(*direction), &FaceMask::All, &mut bits, watch)?;
        for (i, (seen, all)) in sums.iter_mut().enumerate() {
            let w = samples.normal[i].cast::<f64>().dot(direction).max(0.0) * angle;
            *all += w;
            if bits.get(i) {
                *seen += w;
            }
        }
    }
    let each = sums.iter().zip(&ready.form.receivers);
    Ok(each.map(|((seen, all), r)| ambient_open(r.normal[2], Sky::Uniform) * seen / all - r.sky).collect())
}

/// The sets that were compared. The first is the program's.
const SETS: [Named; 7] = [
    ("spherical Fibonacci (the program's)", |n| upper_hemisphere(n).into_iter().map(|d| (d, 1.0)).collect()),
    ("the same, ends moved out (0.36)", |n| set(n, |i, n| ((i + 0.36) / (n - 1.0 + 0.72), i * GOLDEN, 1.0))),
    ("the same, cosine-weighted", |n| {
        set(n, |i, n| {
            let z = ((i + 0.5) / n).sqrt();
            (z, i * GOLDEN, 1.0 / z)
        })
    }),
    ("the same, half cosine-weighted", |n| {
        // Density (1 + 2z)/2: the height is where z/2 + z²/2 is the share.
        set(n, |i, n| {
            let z = (0.25 + 2.0 * (i + 0.5) / n).sqrt() - 0.5;
            (z, i * GOLDEN, 1.0 / (0.5 + z))
        })
    }),
    ("Fibonacci lattice over concentric squares", |n| set(n, concentric)),
    ("Hammersley", |n| set(n, |i, n| ((i + 0.5) / n, mirrored(i as u32), 1.0))),
    ("Sobol, fixed digital shift", |n| {
        let shifted = |bits: u32, by: u32| f64::from(bits ^ by) / 2.0_f64.powi(32);
        set(n, |i, _| {
            let i = i as u32;
            (shifted(i.reverse_bits(), 0x9e37_79b9), shifted(sobol(i), 0x7f4a_7c15), 1.0)
        })
    }),
];

/// A set from height, turn (in circles) and solid angle of each of `n` directions.
fn set(n: usize, of: impl Fn(f64, f64) -> (f64, f64, f64)) -> Set {
    (0..n)
        .map(|i| {
            let (z, turn, angle) = of(i as f64, n as f64);
            let across = (1.0 - z * z).max(0.0).sqrt();
            let (s, c) = (TAU * turn).sin_cos();
            (Unit::new_normalize(Vector3::new(across * c, across * s, z)), angle)
        })
        .collect()
}

/// A lattice in the square, brought to the disc (P. Shirley and K. Chiu, A low
/// distortion map between disk and square, 1997) and up to the hemisphere.
fn concentric(i: f64, n: f64) -> (f64, f64, f64) {
    let (a, b) = (2.0 * (i + 0.5) / n - 1.0, 2.0 * (i * GOLDEN + 0.5).fract() - 1.0);
    let (radius, angle) =
        if a.abs() > b.abs() { (a, FRAC_PI_4 * b / a) } else { (b, FRAC_PI_2 - FRAC_PI_4 * a / b) };
    let angle = if radius < 0.0 { angle + TAU / 2.0 } else { angle };
    (1.0 - radius * radius, angle / TAU, 1.0)
}

/// The digits of a number mirrored at the point (van der Corput).
fn mirrored(i: u32) -> f64 {
    f64::from(i.reverse_bits()) / 2.0_f64.powi(32)
}

/// The second dimension of Sobol's sequence.
fn sobol(mut i: u32) -> u32 {
    let (mut v, mut out) = (1_u32 << 31, 0);
    while i != 0 {
        if i & 1 == 1 {
            out ^= v;
        }
        i >>= 1;
        v ^= v >> 1;
    }
    out
}
