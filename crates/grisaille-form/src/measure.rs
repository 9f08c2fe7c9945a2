//! A run measured by cuts across it, thinned out, and laid where a brush would draw it.

use crate::crest::Side;
use crate::join::Run;
use crate::line::{Cutter, Line, LineSettings, PEAK, lengths, tangent};
use crate::section::{Bridge, Floor, Outline, Spot, section};
use nalgebra::{Point3, Vector3};
use std::f64::consts::{FRAC_PI_2, TAU};

/// How many brushes wide a bottom must be to take two lines: a little more than one, since a wall's
/// foot is found within a tenth.
const WIDER: f64 = 1.1;

/// How many places, each half a deviation on, are looked at on both sides.
const ABOUT: usize = 3;

/// A place of a run that is kept, and the cut there, unless it was drawn out to a meeting point.
struct Kept {
    n: usize,
    cut: Option<(Outline, Bridge)>,
}

impl Kept {
    /// The bottom, where rims were found.
    fn floor(&self) -> Option<&Floor> {
        self.cut.as_ref().filter(|(_, bridge)| bridge.rests)?.1.floor.as_ref()
    }
}

/// Where a line is laid between the ends of a recess's bottom.
#[derive(Clone, Copy, PartialEq)]
enum Lay {
    /// Where curvature has it, or in the middle of a narrow bottom.
    Middle,
    /// Along the foot of the wall on its left or right.
    Left,
    Right,
}

/// Measures a run: one line, or two where its bottom is wider than the brush between steep walls and
/// curvature, spread as wide as the brush, took the feet of both for one.
pub(crate) fn measured(cutter: &Cutter, run: &Run, settings: &LineSettings) -> Vec<Line> {
    let deviation = cutter.deviation;
    let mut kept: Vec<Kept> = Vec::new();
    let (mut turns, mut peaks) = (Vec::new(), Vec::new());
    let mut next = 0.0;
    for (n, &far) in lengths(&run.places).iter().enumerate() {
        let last = n + 1 == run.places.len();
        if far < next && (!last || run.closed) {
            continue;
        }
        next = far + 0.5 * deviation;
        let cut = (!run.drawn[n]).then(|| across(cutter, run, n, settings.reach.0));
        if let Some((outline, _)) = &cut {
            turns.push(turn(outline, deviation));
            peaks.push(cutter.bend_at(run.nodes[n]));
        }
        kept.push(Kept { n, cut });
    }
    let lays = match cutter.side {
        Side::Edge => vec![Lay::Middle],
        Side::Recess => lays(&kept, settings.brush.0),
    };
    let cuts = || kept.iter().filter_map(|k| k.cut.as_ref().map(|c| c.1));
    let (turn, peak) = (middle(turns), middle(peaks));
    // Two feet that look like one bend have no roundness of their own.
    let radius = if lays.len() > 1 { 0.0 } else { roundness(turn, peak, deviation) };
    let whole = Line {
        points: Vec::new(),
        faces: Vec::new(),
        beside: Vec::new(),
        closed: run.closed,
        length: 0.0,
        width: middle(cuts().map(|c| c.width).collect()),
        depth: middle(cuts().map(|c| c.depth).collect()),
        bounded: 2 * cuts().filter(|c| c.rests).count() > cuts().count(),
        turn: turn.max(0.0).to_degrees(),
        radius,
        importance: 0.0,
    };
    lays.into_iter().filter_map(|lay| laid(cutter, run, &kept, (lay, settings.brush.0), &whole)).collect()
}

/// A cut across a run at one of its places and the straight edge over it.
fn across(cutter: &Cutter, run: &Run, n: usize, reach: f64) -> (Outline, Bridge) {
    let along = tangent(&run.places, run.closed, n, cutter.deviation);
    let node = run.nodes[n];
    section(cutter.shape, node, (&along, &cutter.normal(node)), reach, -cutter.side.sign())
        .bridged((cutter.deviation, reach))
}

/// Which lines a recess asks for.
fn lays(kept: &[Kept], brush: f64) -> Vec<Lay> {
    let cuts = kept.iter().filter(|k| k.cut.is_some()).count();
    let wide = |k: &&Kept| k.floor().is_some_and(|f| f.is_flat() && f.width > WIDER * brush);
    let wide: Vec<f64> = kept.iter().filter(wide).filter_map(|k| Some(k.floor()?.share())).collect();
    if 2 * wide.len() <= cuts {
        return vec![Lay::Middle];
    }
    match middle(wide) {
        share if share < 0.25 => vec![Lay::Left],
        share if share > 0.75 => vec![Lay::Right],
        _ => vec![Lay::Left, Lay::Right],
    }
}

/// A kept place of a run, where on its cut the line is, and where it goes in space.
struct Moved<'a> {
    kept: &'a Kept,
    spot: Option<Spot>,
    to: Option<Point3<f64>>,
}

/// The line along a run, or along a wall beside it; `None` where too little of that is left.
fn laid(
    cutter: &Cutter,
    run: &Run,
    kept: &[Kept],
    (lay, brush): (Lay, f64),
    measures: &Line,
) -> Option<Line> {
    let spots: Vec<Option<Spot>> = kept.iter().map(|k| spot(cutter, k, (lay, brush))).collect();
    let aside =
        |(k, spot): (&Kept, &Option<Spot>)| Some(run.places[k.n] + k.cut.as_ref()?.0.in_space((*spot)?));
    let targets: Vec<Option<Point3<f64>>> = kept.iter().zip(&spots).map(aside).collect();
    let to = |k: usize| settled(&targets, k, run.places[kept[k].n], &kept[k].cut.as_ref()?.0);
    let moved: Vec<Moved> = (0..kept.len())
        .map(|k| Moved { kept: &kept[k], spot: spots[k], to: to(k) })
        .filter(|m| lay == Lay::Middle || m.to.is_some())
        .collect();
    if moved.len() < 3 {
        return None;
    }
    let places: Vec<Point3<f64>> = moved.iter().map(|m| m.to.unwrap_or(run.places[m.kept.n])).collect();
    // What was moved is evened out with its neighbours.
    let points: Vec<Point3<f64>> = (0..moved.len())
        .map(|k| {
            let beside = k.saturating_sub(1)..(k + 2).min(moved.len());
            if beside.len() < 3 || moved[beside.clone()].iter().any(|m| m.to.is_none()) {
                return places[k];
            }
            Point3::from(beside.map(|k| places[k].coords).sum::<Vector3<f64>>() / 3.0)
        })
        .collect();
    let length = match lay {
        Lay::Middle => *lengths(&run.places).last()?,
        _ => {
            let back = if run.closed { (points[0] - points[points.len() - 1]).norm() } else { 0.0 };
            lengths(&points).last()? + back
        }
    };
    let faces = |m: &Moved| {
        let own = run.nodes[m.kept.n].half / 3;
        let Some((outline, _)) = &m.kept.cut else { return (own, [own; 2]) };
        let far = m.spot.map_or(0.0, |s| s.far);
        let at = |far: f64| outline.face(far).unwrap_or(own);
        (if far == 0.0 { own } else { at(far) }, [at(far - 0.5 * brush), at(far + 0.5 * brush)])
    };
    let (faces, beside) = moved.iter().map(faces).unzip();
    Some(Line {
        points: points.iter().map(|p| p.cast::<f32>()).collect(),
        faces,
        beside,
        length,
        importance: length * measures.depth,
        ..measures.clone()
    })
}

/// Where a line is on a cut across it; `None` where the cut does not tell.
fn spot(cutter: &Cutter, kept: &Kept, (lay, brush): (Lay, f64)) -> Option<Spot> {
    let floor = kept.floor();
    match lay {
        Lay::Left => Some(floor?.ends[0]),
        Lay::Right => Some(floor?.ends[1]),
        Lay::Middle => match floor.filter(|f| cutter.side == Side::Recess && f.width <= WIDER * brush) {
            Some(Floor { ends: [a, b], .. }) => Some(Spot { at: [0.5 * (a.at[0] + b.at[0]), 0.0], far: 0.0 }),
            None => Some(kept.cut.as_ref()?.0.sharpest(0.0, cutter.deviation)),
        },
    }
}

/// Where a place of a line goes: across the line to the middle one of where it and the places about
/// it would go, since one cut may meet a speck or none of its feet; a place with none
/// about it goes with the next one that has.
fn settled(
    targets: &[Option<Point3<f64>>],
    k: usize,
    here: Point3<f64>,
    cut: &Outline,
) -> Option<Point3<f64>> {
    let last = targets.len() - 1;
    let within = |reach: usize| {
        let from = k.saturating_sub(reach);
        targets[from..=(k + reach).min(last)].iter().flatten().copied().collect::<Vec<_>>()
    };
    let near = (ABOUT..=2 * ABOUT).map(within).find(|near| !near.is_empty())?;
    let from = near[0];
    let sides = near.iter().map(|p| cut.beside_and_above(&(p - from)));
    let [beside, above] = [0, 1].map(|axis| middle(sides.clone().map(|s| s[axis]).collect()));
    // Along the line it stays level with itself.
    let own = targets[k].unwrap_or(here);
    let off = cut.beside_and_above(&(own - from));
    Some(own + cut.in_space(Spot { at: [beside - off[0], above - off[1]], far: 0.0 }))
}

/// The middle one of some values; 0 of none.
pub(crate) fn middle(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(0.0)
}

/// By how much an outline turns from one side to the other, in radians: between its
/// directions from one to three deviations away.
fn turn(cut: &Outline, deviation: f64) -> f64 {
    let [a, b, c, d] = [-3.0, -1.0, 1.0, 3.0].map(|f| cut.at(f * deviation));
    let (u, v) = ([b[0] - a[0], b[1] - a[1]], [d[0] - c[0], d[1] - c[1]]);
    let turn = (u[0] * v[1] - u[1] * v[0]).atan2(u[0] * v[0] + u[1] * v[1]);
    // A line bends to one side: what seems to turn far to the other is the rim of a thin sheet, which
    // turns by more than a half turn.
    if turn < -FRAC_PI_2 { turn + TAU } else { turn }
}

/// The radius of an arc that turns by so much and has that peak of curvature after
/// spreading: an even stretch of length L = turn × radius convolved with
/// a bell curve peaks at turn/L · erf(L/√8 deviations).
fn roundness(turn: f64, peak: f64, deviation: f64) -> f64 {
    if turn <= 0.0 || peak <= 0.0 {
        return 0.0;
    }
    // An arc shorter than the spread is not told from a corner.
    let corner = deviation;
    // The bell curve with the true peak.
    let deviation = deviation * 0.3989 / PEAK;
    let over = |length: f64| turn / length * erf(length / (8.0_f64.sqrt() * deviation));
    let (mut low, mut high) = (1e-6 * deviation, 1e3 * deviation);
    if peak >= over(low) {
        return 0.0;
    }
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if over(middle) > peak { low = middle } else { high = middle }
    }
    if low < corner { 0.0 } else { low / turn }
}

/// The error function to 1.2e-7 is more than is asked: Abramowitz and Stegun,
/// Handbook of Mathematical Functions, 7.1.26 (1.5e-7).
fn erf(x: f64) -> f64 {
    let t = 1.0 / (1.0 + 0.327_591_1 * x);
    let sum = ((((1.061_405_429 * t - 1.453_152_027) * t + 1.421_413_741) * t - 0.284_496_736) * t
        + 0.254_829_592)
        * t;
    1.0 - sum * (-x * x).exp()
}
