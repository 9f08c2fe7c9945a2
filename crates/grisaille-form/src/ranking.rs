//! What others know of lines: the light on them, and the regions beside them.

use crate::Line;
use grisaille_base::RegionId;
use std::collections::BTreeMap;

/// Ranks edges by light: importance is multiplied by the mean light along the line, and the
/// best comes first. `light` is how much arrives at each face, from 0; a face that it lacks is dark.
pub fn rank_by_light(edges: &mut [Line], light: &[f32]) {
    let on = |f: &u32| f64::from(light.get(*f as usize).copied().unwrap_or(0.0).max(0.0));
    for edge in edges.iter_mut() {
        let sum: f64 = edge.faces.iter().map(on).sum();
        edge.importance = edge.length * edge.depth * sum / edge.faces.len().max(1) as f64;
    }
    edges.sort_by(|a, b| b.importance.total_cmp(&a.importance));
}

/// The two regions that a line parts, the lower number first: those that lie on either side of it along more than
/// half of its course. `None` where it runs within one. `region` is that of each face.
#[must_use]
pub fn parted(line: &Line, region: &[RegionId]) -> Option<[RegionId; 2]> {
    let mut pairs: BTreeMap<[RegionId; 2], usize> = BTreeMap::new();
    for sides in &line.beside {
        let [Some(a), Some(b)] = sides.map(|f| region.get(f as usize).copied()) else { continue };
        *pairs.entry([a.min(b), a.max(b)]).or_default() += 1;
    }
    let (pair, count) = pairs.into_iter().filter(|([a, b], _)| a != b).max_by_key(|(_, count)| *count)?;
    (2 * count > line.beside.len()).then_some(pair)
}
