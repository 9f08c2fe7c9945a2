//! The picture of `inspect`: six sides, true to size, with what was found marked where it is.

use crate::bench::{Bench, OUTPUT, USAGE, ball_on_base, with};
use grisaille_bodies::{Triangle, ball_on_supports, cuboid, moved, stl};
use image::RgbImage;
use std::fs;

/// The box of what hangs together and is not paper.
#[derive(Clone, Copy, Debug)]
struct Blob {
    low: [u32; 2],
    high: [u32; 2],
}

impl Blob {
    /// Width and height in pixels.
    fn size(&self) -> [f64; 2] {
        [0, 1].map(|i| f64::from(self.high[i] - self.low[i] + 1))
    }

    /// Where a pixel lies in it: from the left and from the foot, 0 to 1.
    fn at(&self, [x, y]: [u32; 2]) -> [f64; 2] {
        let [w, h] = self.size();
        [(f64::from(x - self.low[0]) + 0.5) / w, 1.0 - (f64::from(y - self.low[1]) + 0.5) / h]
    }

    fn holds(&self, [x, y]: [u32; 2]) -> bool {
        (self.low[0]..=self.high[0]).contains(&x) && (self.low[1]..=self.high[1]).contains(&y)
    }
}

/// What hangs together over sides and corners of pixels; each a box.
fn blobs(sheet: &RgbImage) -> Vec<Blob> {
    let (width, height) = sheet.dimensions();
    let inked = |x: u32, y: u32| sheet.get_pixel(x, y).0 != [255; 3];
    let mut known = vec![false; (width * height) as usize];
    let mut found = Vec::new();
    for start in 0..width * height {
        let (x, y) = (start % width, start / width);
        if known[start as usize] || !inked(x, y) {
            continue;
        }
        let mut blob = Blob { low: [u32::MAX; 2], high: [0; 2] };
        known[start as usize] = true;
        let mut open = vec![[x, y]];
        while let Some([x, y]) = open.pop() {
            // What the outline, black of 70 %, covers by less than half lies outside.
            if sheet.get_pixel(x, y).0.iter().any(|c| *c < 166) {
                blob.low = [blob.low[0].min(x), blob.low[1].min(y)];
                blob.high = [blob.high[0].max(x), blob.high[1].max(y)];
            }
            for v in y.saturating_sub(1)..(y + 2).min(height) {
                for u in x.saturating_sub(1)..(x + 2).min(width) {
                    let at = (v * width + u) as usize;
                    if !known[at] && inked(u, v) {
                        known[at] = true;
                        open.push([u, v]);
                    }
                }
            }
        }
        if blob.low[0] <= blob.high[0] {
            found.push(blob);
        }
    }
    found
}

/// The sheet of a model, and on it its six sides in their order.
fn sides(bench: &Bench, args: &[&str]) -> (RgbImage, Vec<Blob>) {
    let picture = ["--picture", "sides.png", "--pixels", "300"];
    bench.works(&[&["inspect"], args, &picture].concat());
    let sheet = image::open(bench.path("sides.png")).expect("a picture").to_rgb8();
    let mut found = blobs(&sheet);
    // Letters and swatches are smaller than any side, and the rule is thin.
    found.retain(|b| b.size()[0].min(b.size()[1]) > 60.0);
    assert_eq!(found.len(), 6, "{found:?}");
    // Four stand in the first row.
    found.sort_by_key(|b| b.high[1]);
    found[..4].sort_by_key(|b| b.low[0]);
    found[4..].sort_by_key(|b| b.low[0]);
    (sheet, found)
}

/// Pixels of about a colour, light or shaded.
fn of_hue(sheet: &RgbImage, colour: [u8; 3]) -> Vec<[u32; 2]> {
    let linear = |p: [u8; 3]| p.map(|x| (f64::from(x) / 255.0).powf(2.2));
    let want = linear(colour);
    let main = (0..3).max_by(|a, b| want[*a].total_cmp(&want[*b])).expect("three");
    // A shade is darker: all channels by the same share of linear light.
    let near = |p: [u8; 3]| {
        let p = linear(p);
        let share = p[main] / want[main];
        (0.25..1.1).contains(&share) && (0..3).all(|i| (p[i] - share * want[i]).abs() < 0.04)
    };
    sheet.enumerate_pixels().filter(|p| near(p.2.0)).map(|p| [p.0, p.1]).collect()
}

/// A slab of 8 × 20 × 14 mm with a horn to the front right, at the top.
fn slab() -> Vec<Triangle> {
    let mut soup = cuboid([-4.0, -10.0, 0.0], [4.0, 10.0, 12.0]);
    soup.extend(cuboid([2.0, -10.0, 11.0], [4.0, -6.0, 14.0]));
    soup
}

#[test]
fn six_sides_are_as_large_as_the_model() {
    let bench = Bench::empty();
    for (soup, [width, depth, height]) in [(slab(), [8.0, 20.0, 14.0]), (ball_on_base(), [20.0, 20.0, 14.0])]
    {
        fs::write(bench.path("model.stl"), stl(&soup)).expect("a model");
        let (_, found) = sides(&bench, &["model.stl"]);
        let scale = 300.0 / height;
        let side = [[width, height], [depth, height], [width, height], [depth, height]];
        let wants = side.into_iter().chain([[width, depth]; 2]);
        for (n, (blob, want)) in found.iter().zip(wants).enumerate() {
            for i in 0..2 {
                let over = blob.size()[i] - scale * want[i];
                // Half of the outline, 0.6 pixels, stands out at either end; it follows halves of pixels, and whole
                // ones are counted. Either end is within a pixel.
                assert!((over - 1.2).abs() <= 1.5, "side {n}: {:?}, want {want:?} × {scale}", blob.size());
            }
        }
    }
}

#[test]
fn every_side_is_the_one_that_its_words_say() {
    let bench = Bench::empty();
    fs::write(bench.path("model.stl"), stl(&slab())).expect("a model");
    let (sheet, found) = sides(&bench, &["model.stl"]);
    // The horn stands up where the upper tenth is no paper: on the side that faces it.
    let horn = |blob: &Blob| {
        let y = blob.low[1] + 10;
        let ink: Vec<[u32; 2]> = (blob.low[0]..=blob.high[0])
            .map(|x| [x, y])
            .filter(|[x, y]| sheet.get_pixel(*x, *y).0 != [255; 3])
            .collect();
        let at: f64 = ink.iter().map(|p| blob.at(*p)[0]).sum::<f64>() / ink.len() as f64;
        at
    };
    // Front: +X is at the right; from the viewer's left the front is at the right.
    let seen: Vec<f64> = found[..4].iter().map(horn).collect();
    for (seen, want) in seen.iter().zip([0.875, 0.9, 0.125, 0.1]) {
        assert!((seen - want).abs() < 0.03, "{seen:?}, want {want}");
    }
    // From above the front is down, from below up; the horn is seen from above alone, as a step that casts an outline.
    let ink = |blob: &Blob, [x, y]: [f64; 2]| {
        let at = [x, 1.0 - y];
        let [u, v] = [0, 1].map(|i| blob.low[i] + (at[i] * blob.size()[i]) as u32);
        (v - 6..v + 6).flat_map(|v| (u - 6..u + 6).map(move |u| [u, v])).any(|[u, v]| {
            let [r, ..] = sheet.get_pixel(u, v).0;
            r < 150
        })
    };
    let edge = [[0.75, 0.1], [0.25, 0.1], [0.75, 0.9], [0.25, 0.9]];
    assert_eq!(edge.map(|c| ink(&found[4], c)), [true, false, false, false]);
    assert_eq!(edge.map(|c| ink(&found[5], c)), [false; 4]);
}

/// What the legend says in colour is on the figure where it belongs, and nowhere else.
#[test]
fn supports_and_open_edges_are_where_they_are() {
    let bench = Bench::empty();
    let (support, open) = ([86, 180, 233], [213, 94, 0]);
    fs::write(bench.path("held.stl"), stl(&ball_on_supports())).expect("a model");
    let (sheet, found) = sides(&bench, &["held.stl"]);
    assert_eq!(of_hue(&sheet, open), Vec::<[u32; 2]>::new());
    for blob in &found[..4] {
        let heights: Vec<f64> =
            of_hue(&sheet, support).into_iter().filter(|p| blob.holds(*p)).map(|p| blob.at(p)[1]).collect();
        // The ball begins at 8 mm of 20; tips reach into it a little above.
        let high = heights.iter().fold(0.0_f64, |m, y| m.max(*y));
        assert!(heights.len() > 1000 && high > 0.35 && high < 0.46, "{} up to {high}", heights.len());
    }
    // Left out, they are in no picture.
    let (sheet, _) = sides(&bench, &["held.stl", "--without-supports", "--spacing", "2"]);
    assert_eq!(of_hue(&sheet, support), Vec::<[u32; 2]>::new());
    // A cube of 10 mm with a square hole of 4 mm in its top, to look into.
    let mut torn = cuboid([-5.0, -5.0, 0.0], [5.0, 5.0, 10.0]);
    torn.retain(|t| t.iter().any(|p| p[2] < 9.0));
    let square =
        |half: f64| [[-half, -half], [half, -half], [half, half], [-half, half]].map(|[x, y]| [x, y, 10.0]);
    let (rim, hole) = (square(5.0), square(2.0));
    for (i, j) in [(0, 1), (1, 2), (2, 3), (3, 0)] {
        torn.extend([[rim[i], rim[j], hole[j]], [rim[i], hole[j], hole[i]]]);
    }
    fs::write(bench.path("torn.stl"), stl(&torn)).expect("a model");
    let (sheet, found) = sides(&bench, &["torn.stl"]);
    let inside =
        |n: usize| of_hue(&sheet, [204, 121, 167]).into_iter().filter(|p| found[n].holds(*p)).count();
    // From above the hole shows the inside, but for its rim's lines; from elsewhere none of it is seen.
    let share = inside(4) as f64 / (found[4].size()[0] * found[4].size()[1]);
    assert!(share > 0.12 && share < 0.16, "{share}");
    assert_eq!([0, 1, 2, 3, 5].map(inside), [0; 5]);
    // The lines lie on that rim, and go all the way round it.
    let lines: Vec<[f64; 2]> = of_hue(&sheet, open)
        .into_iter()
        .filter(|p| found[4].holds(*p))
        .map(|p| found[4].at(p).map(|x| 10.0 * (x - 0.5)))
        .collect();
    let off = lines.iter().map(|[x, y]| (x.abs().max(y.abs()) - 2.0).abs()).fold(0.0, f64::max);
    assert!(off < 0.15, "{off} mm");
    let mut turns: Vec<i64> =
        lines.iter().map(|[x, y]| (y.atan2(*x).to_degrees() / 10.0).round() as i64).collect();
    turns.sort_unstable();
    turns.dedup();
    // A number's disc hides a little.
    assert!(turns.len() >= 34, "{turns:?}");
}

#[test]
fn a_picture_goes_where_pictures_go() {
    let bench = Bench::new();
    bench.fails(USAGE, ".png", &["inspect", "ball.stl", "--picture", "sides.jpg"]);
    bench.fails(USAGE, "two results", &["inspect", "ball.stl", "--picture", "a.png", "--timings", "a.png"]);
    bench.fails(OUTPUT, "", &["inspect", "ball.stl", "--picture", "no/sides.png"]);
    bench.fails(OUTPUT, "", &with(&["inspect", "ball.stl", "--picture", "no/sides.png"], &[]));
    bench.fails(USAGE, "--pixels", &["inspect", "ball.stl", "--picture", "a.png", "--pixels", "5"]);
    fs::write(bench.path("model.png"), stl(&ball_on_base())).expect("a model under another ending");
    bench.fails(OUTPUT, "the model itself", &["inspect", "model.png", "--picture", "model.png"]);
    // Several models are one scene, and words are the same with a picture and without.
    fs::write(bench.path("horn.stl"), stl(&moved(slab(), [30.0, 0.0, 0.0]))).expect("a model");
    let scheme = "version = 1\n[[model]]\nfile = \"ball.stl\"\n[[model]]\nfile = \"horn.stl\"\n";
    fs::write(bench.path("two.grisaille"), scheme).expect("a scheme");
    let plain = bench.works(&["inspect", "two.grisaille"]);
    assert_eq!(bench.works(&["inspect", "two.grisaille", "--picture", "two.png", "--pixels", "50"]), plain);
    let one = fs::read(bench.path("two.png")).expect("a picture");
    bench.works(&["inspect", "two.grisaille", "--picture", "two.png", "--pixels", "50", "--threads", "1"]);
    assert!(one == fs::read(bench.path("two.png")).expect("a picture"), "whatever the threads");
}
