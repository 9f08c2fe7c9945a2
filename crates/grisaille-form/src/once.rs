//! Lines that a brush would draw twice, drawn once.

use crate::line::Line;
use grisaille_base::{Stop, Watch};
use nalgebra::{Point3, Vector3};
use std::collections::HashMap;

/// A gap of so many times `near` is closed.
const WIDEST: f64 = 5.0;

/// Lines without what runs within `near` mm of one before them, which a brush has drawn already. What
/// is left of a line goes on in another that ends there, or stands alone.
///
/// # Errors
/// [`Stop`] when cancelled.
pub(crate) fn once(lines: Vec<Line>, near: f64, watch: &Watch) -> Result<Vec<Line>, Stop> {
    // In each cell the points of the lines that are kept.
    let cell = |p: &Point3<f32>| [p.x, p.y, p.z].map(|x| (f64::from(x) / near).floor() as i64);
    let mut taken: HashMap<[i64; 3], Vec<Point3<f32>>> = HashMap::new();
    let mut out: Vec<Line> = Vec::new();
    for line in lines {
        watch.check()?;
        let fresh: Vec<bool> = line
            .points
            .iter()
            .map(|p| {
                let [x, y, z] = cell(p);
                let around = (0..27).map(|i| [x + i / 9 - 1, y + i / 3 % 3 - 1, z + i % 3 - 1]);
                let mut points = around.filter_map(|c| taken.get(&c)).flatten();
                !points.any(|q| f64::from((p - q).norm()) < near)
            })
            .collect();
        let rest = if fresh.iter().all(|f| *f) { vec![line] } else { rest(&line, &fresh) };
        for part in rest {
            for p in &part.points {
                taken.entry(cell(p)).or_default().push(*p);
            }
            match out.iter_mut().find_map(|kept| fitting(kept, &part, near).map(|fit| (kept, fit))) {
                Some((kept, fit)) => append(kept, part, fit),
                None => out.push(part),
            }
        }
    }
    Ok(out)
}

/// The stretches of a line that are fresh.
fn rest(line: &Line, fresh: &[bool]) -> Vec<Line> {
    let stretches = (0..line.points.len()).collect::<Vec<_>>();
    let stretches = stretches.chunk_by(|a, b| fresh[*a] == fresh[*b]).filter(|s| fresh[s[0]] && s.len() > 1);
    stretches
        .map(|s| {
            let points = line.points[s[0]..=s[s.len() - 1]].to_vec();
            let length = length(&points);
            Line {
                faces: s.iter().map(|i| line.faces[*i]).collect(),
                beside: s.iter().map(|i| line.beside[*i]).collect(),
                closed: false,
                length,
                importance: length * line.depth,
                points,
                ..*line
            }
        })
        .collect()
}

/// At which ends a line goes on in another: whether at the first's last point, and whether at the
/// second's.
fn fitting(one: &Line, two: &Line, near: f64) -> Option<[bool; 2]> {
    if one.closed || two.closed {
        return None;
    }
    let outward = |line: &Line, last: bool| {
        let count = line.points.len();
        let inner = 3.min(count - 1);
        let (end, before) = if last { (count - 1, count - 1 - inner) } else { (0, inner) };
        let way = (line.points[end] - line.points[before]).cast::<f64>();
        (line.points[end].cast::<f64>(), way.try_normalize(0.0).unwrap_or_else(Vector3::zeros))
    };
    let ends = [[true, false], [true, true], [false, false], [false, true]];
    ends.into_iter().find(|[a, b]| {
        let ((p, u), (q, v)) = (outward(one, *a), outward(two, *b));
        let gap = q - p;
        // Near ends need not point at each other exactly.
        let toward = gap.norm() <= near || gap.dot(&u) > 0.9 * gap.norm();
        gap.norm() <= WIDEST * near && u.dot(&v) < -0.8 && toward
    })
}

fn append(one: &mut Line, mut two: Line, [last, other_last]: [bool; 2]) {
    if !last {
        turn_round(one);
    }
    if other_last {
        turn_round(&mut two);
    }
    one.points.extend(two.points);
    one.faces.extend(two.faces);
    one.beside.extend(two.beside);
    one.length = length(&one.points);
    one.importance = one.length * one.depth;
}

fn turn_round(line: &mut Line) {
    line.points.reverse();
    line.faces.reverse();
    line.beside.reverse();
    line.beside.iter_mut().for_each(|b| b.reverse());
}

fn length(points: &[Point3<f32>]) -> f64 {
    points.windows(2).map(|w| f64::from((w[1] - w[0]).norm())).sum()
}
