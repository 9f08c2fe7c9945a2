//! Bodies that touch along an edge, parted there.

use grisaille_mesh::{NO_TWIN, twins};
use nalgebra::{Point3, Vector3};
use std::collections::BTreeMap;

/// A net where an edge that more than two triangles share becomes several, one for each pair that has matter between
/// them: points are doubled, none moves and no triangle is lost. Open edges, and those where triangles disagree in
/// winding, stay as they are; so does a net that has no such edge.
pub(crate) fn parted(points: Vec<[f32; 3]>, net: Vec<[u32; 3]>) -> (Vec<[f32; 3]>, Vec<[u32; 3]>) {
    let mut twin = twins(&net);
    if !twin.contains(&NO_TWIN) {
        return (points, net);
    }
    let mut shared: BTreeMap<[u32; 2], Vec<usize>> = BTreeMap::new();
    for half in (0..twin.len()).filter(|h| twin[*h] == NO_TWIN) {
        let [a, b] = ends(&net, half);
        shared.entry([a.min(b), a.max(b)]).or_default().push(half);
    }
    for (edge, halves) in shared {
        for [one, other] in pairs(&points, &net, edge, &halves) {
            twin[one] = other as u32;
            twin[other] = one as u32;
        }
    }
    // Corners that hang together over edges are one point.
    let mut above: Vec<u32> = (0..3 * net.len() as u32).collect();
    for half in (0..twin.len()).filter(|h| twin[*h] != NO_TWIN) {
        let other = twin[half] as usize;
        join(&mut above, half, next(other));
        join(&mut above, next(half), other);
    }
    let mut number = vec![u32::MAX; above.len()];
    let mut out = Vec::with_capacity(points.len());
    let mut own = net.clone();
    for corner in 0..above.len() {
        let top = top(&mut above, corner);
        let place = points[net[corner / 3][corner % 3] as usize];
        if number[top] == u32::MAX {
            number[top] = out.len() as u32;
            out.push(place);
        }
        own[corner / 3][corner % 3] = number[top];
    }
    (out, own)
}

/// The corner after one, in its face.
fn next(corner: usize) -> usize {
    corner / 3 * 3 + (corner + 1) % 3
}

/// The points that a half-edge runs from and to.
fn ends(net: &[[u32; 3]], half: usize) -> [u32; 2] {
    [half, next(half)].map(|c| net[c / 3][c % 3])
}

/// Which half-edges of a shared edge belong together, where as many run forth as back.
fn pairs(points: &[[f32; 3]], net: &[[u32; 3]], edge: [u32; 2], halves: &[usize]) -> Vec<[usize; 2]> {
    let point = |v: u32| Point3::from(points[v as usize]).cast::<f64>();
    let [a, b] = edge.map(point);
    let Some(along) = (b - a).try_normalize(0.0) else { return Vec::new() };
    let across = if along.x.abs() < 0.6 { Vector3::x() } else { Vector3::y() };
    let first = along.cross(&across).normalize();
    let second = along.cross(&first);
    let mut turned: Vec<(f64, bool, usize)> = halves
        .iter()
        .map(|half| {
            let corner = next(next(*half));
            let way = point(net[corner / 3][corner % 3]) - a;
            (way.dot(&second).atan2(way.dot(&first)), ends(net, *half)[0] == edge[0], *half)
        })
        .collect();
    // Two that lie back to back have nothing but each other between them.
    turned.sort_by(|l, r| l.0.total_cmp(&r.0).then(l.1.cmp(&r.1)).then(l.2.cmp(&r.2)));
    let forth = turned.iter().filter(|t| t.1).count();
    if 2 * forth != turned.len() {
        return Vec::new();
    }
    // Seen along the edge, matter begins at a triangle that runs back and ends at the next that runs forth.
    let mut begun = Vec::new();
    let mut out = Vec::new();
    for (_, forth, half) in turned.iter().chain(&turned) {
        if out.iter().flatten().any(|h| h == half) {
            continue;
        }
        match (forth, begun.pop()) {
            (true, Some(other)) => out.push([*half, other]),
            (true, None) => {}
            (false, other) => {
                begun.extend(other);
                if !begun.contains(half) {
                    begun.push(*half);
                }
            }
        }
    }
    out
}

fn top(above: &mut [u32], corner: usize) -> usize {
    let mut at = corner;
    while above[at] as usize != at {
        above[at] = above[above[at] as usize];
        at = above[at] as usize;
    }
    at
}

fn join(above: &mut [u32], one: usize, other: usize) {
    let (one, other) = (top(above, one), top(above, other));
    let (low, high) = (one.min(other), one.max(other));
    above[high] = low as u32;
}

#[cfg(test)]
mod tests {
    use super::*;
    use grisaille_bodies::cuboid;

    fn net(soup: &[grisaille_bodies::Triangle]) -> (Vec<[f32; 3]>, Vec<[u32; 3]>) {
        let mut points: Vec<[f32; 3]> = Vec::new();
        let mut place = |p: [f64; 3]| {
            let p = p.map(|x| x as f32);
            points.iter().position(|q| *q == p).unwrap_or_else(|| {
                points.push(p);
                points.len() - 1
            }) as u32
        };
        let net = soup.iter().map(|t| t.map(&mut place)).collect::<Vec<_>>();
        (points, net)
    }

    #[test]
    fn two_cubes_that_touch_along_an_edge_become_two_closed_bodies() {
        let mut soup = cuboid([0.0; 3], [1.0; 3]);
        soup.extend(cuboid([1.0, 1.0, 0.0], [2.0, 2.0, 1.0]));
        let (points, faces) = net(&soup);
        assert_eq!((points.len(), twins(&faces).iter().filter(|t| **t == NO_TWIN).count()), (14, 4));
        let (more, own) = parted(points.clone(), faces.clone());
        assert_eq!((more.len(), twins(&own).contains(&NO_TWIN)), (16, false));
        // Each triangle stays where it was, and no point is shared by both cubes.
        for (a, b) in own.iter().zip(&faces) {
            assert_eq!(a.map(|v| more[v as usize]), b.map(|v| points[v as usize]));
        }
        let of =
            |faces: &[[u32; 3]]| faces.iter().flatten().copied().collect::<std::collections::BTreeSet<_>>();
        assert!(of(&own[..12]).is_disjoint(&of(&own[12..])));
    }

    #[test]
    fn two_triangles_back_to_back_leave_the_body_that_they_hang_on() {
        let (mut points, mut faces) = net(&cuboid([0.0; 3], [1.0; 3]));
        points.push([-1.0, -1.0, 0.5]);
        let [a, b, _] = faces[0];
        faces.extend([[a, b, 8], [b, a, 8]]);
        let (more, own) = parted(points, faces);
        assert_eq!((more.len(), twins(&own).contains(&NO_TWIN)), (11, false));
    }

    #[test]
    fn what_is_open_stays_open() {
        let (points, mut faces) = net(&cuboid([0.0; 3], [1.0; 3]));
        assert_eq!(parted(points.clone(), faces.clone()), (points.clone(), faces.clone()));
        faces.pop();
        let (more, own) = parted(points, faces.clone());
        assert_eq!((more.len(), own.len()), (8, 11));
        assert_eq!(twins(&own).iter().filter(|t| **t == NO_TWIN).count(), 3);
    }
}
