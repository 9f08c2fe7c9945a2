//! On pictures of zones: a number on each region, so that it is seen which light rules there.

use crate::compose_zones::METAL;
use crate::lettering::{Ground, named_from_beside};
use crate::sheets::Label;
use grisaille_base::{RegionId, Stop, Watch};
use grisaille_form::Regions;
use grisaille_picture::{Areas, ItemBuffer, places};
use grisaille_plan::NO_ZONE;
use std::collections::BTreeMap;

/// A region of which less than this is seen has no number, mm² on paper.
const SEEN: f64 = 4.0;

/// A zone of less than this share of what is seen of its region, and of less than this many times [`SEEN`], is told by
/// its colour alone.
const WORTH: (f64, f64) = (0.3, 5.0);

/// Numbers on each region the zones that are seen on it and have no number there yet: the largest, and others that
/// make up much of it.
///
/// # Errors
/// [`Stop`] when cancelled.
pub(crate) fn number_regions(
    (items, regions): (&ItemBuffer, &Regions),
    ground: &Ground<'_>,
    labels: &mut Vec<Label>,
    watch: &Watch,
) -> Result<(), Stop> {
    let Ground { pixels, size_px, fineness, .. } = *ground;
    let across = size_px[0] as usize;
    let fine = items.supersample() as usize;
    // One of a pixel's sub-samples stands for it.
    let region_at = |i: usize| {
        let hit = items.hit(i % across * fine, i / across * fine)?;
        regions.of_face.get(hit.face.index()).copied()
    };
    let painted = |zone: u16| zone < METAL;
    let mut seen: BTreeMap<_, BTreeMap<u16, usize>> = BTreeMap::new();
    for (i, zone) in pixels.iter().enumerate().filter(|(_, zone)| painted(**zone)) {
        if let Some(region) = region_at(i) {
            *seen.entry(region).or_default().entry(*zone).or_default() += 1;
        }
    }
    let least = SEEN * fineness * fineness;
    let mut parts: Vec<(RegionId, u16)> = Vec::new();
    for (region, zones) in seen {
        let all: usize = zones.values().sum();
        let largest = zones.iter().max_by_key(|(_, count)| **count).map(|(zone, _)| *zone);
        let wanted = zones.into_iter().filter(|(zone, count)| {
            let much = *count as f64 >= (WORTH.0 * all as f64).max(WORTH.1 * least);
            *zone != u16::from(NO_ZONE) && (much || Some(*zone) == largest && all as f64 >= least)
        });
        parts.extend(wanted.map(|(zone, _)| (region, zone)));
    }
    for label in &*labels {
        let [x, y] = label.names.unwrap_or([label.x, label.y]).map(|mm| (mm.0 * fineness) as usize);
        let at = y * across + x;
        let own = region_at(at).zip(pixels.get(at).copied());
        parts.retain(|part| Some(*part) != own);
    }
    // Places are sought for all parts at once: each goes by its own number in the list.
    let own: Vec<u16> = pixels
        .iter()
        .enumerate()
        .map(|(i, zone)| {
            let part = region_at(i).and_then(|region| parts.iter().position(|p| *p == (region, *zone)));
            part.map_or(Areas::NONE, |part| part as u16)
        })
        .collect();
    let middles = places(&own, across, 0.0, 1, watch)?.into_iter().filter_map(|place| {
        let (_, zone) = parts.get(usize::from(place.label))?;
        Some((zone.to_string(), [place.x_px, place.y_px].map(|px| f64::from(px) / fineness)))
    });
    named_from_beside(ground, middles.collect(), labels);
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use grisaille_base::Millimetres;
    use grisaille_bodies::{icosphere, moved, scaled, stl};
    use grisaille_mesh::{ReadSettings, read};
    use grisaille_picture::{Frame, View};
    use grisaille_plan::{Products, plan, regions_of};
    use grisaille_scheme::{RegionSource, Scheme};
    use std::sync::Arc;

    #[test]
    fn what_has_a_number_gets_no_other_and_what_has_none_gets_one() {
        let watch = Watch::quiet();
        let mut soup = scaled(icosphere(3), 5.0);
        soup.extend(moved(scaled(icosphere(3), 5.0), [14.0, 0.0, 0.0]));
        let (mesh, _) = read(&stl(&soup), &ReadSettings::default(), &watch).unwrap();
        let mut scheme = Scheme::default();
        scheme.regions.by = RegionSource::Pieces;
        scheme.primer.wanted = false;
        scheme.fineness.ambient_directions = 16;
        let plan = plan(&scheme, &mut Products::new(Arc::new(mesh)), &watch).unwrap();
        let (_, regions) = regions_of(&scheme.regions, &plan.surface, &plan.mesh, &watch).unwrap();
        let fineness = 10.0;
        let front = View::all().into_iter().next().unwrap();
        let frame = Frame::fit(plan.mesh.positions(), front, fineness, 8.0);
        let (positions, faces) = (&plan.surface.samples.position, &plan.surface.faces);
        // As scenes are drawn: with two sub-samples along each side of a pixel.
        let items = ItemBuffer::draw(positions, faces, |_| true, &frame, 2, &watch).unwrap();
        let (across, down) = (frame.width() as usize, frame.height() as usize);
        let is_ball = |i: usize| items.hit(2 * (i % across), 2 * (i / across)).is_some();
        let pixels: Vec<u16> = (0..across * down).map(|i| if is_ball(i) { 2 } else { Areas::NONE }).collect();
        let ground =
            Ground { pixels: &pixels, size_px: [frame.width(), frame.height()], fineness, least: 0.4 };
        // A number in the middle of the left ball.
        let [x, y, _] = frame.project(nalgebra::Point3::new(0.0, 0.0, 0.0));
        let [x, y] = [x, y].map(|px| Millimetres(px / fineness));
        let mut labels = vec![Label { x, y, text: "2".into(), names: None }];
        number_regions((&items, &regions), &ground, &mut labels, &watch).unwrap();
        let [_, added] = labels.as_slice() else { panic!("{labels:?}") };
        assert_eq!(added.text, "2");
        let [at, _] = added.names.unwrap();
        assert!(at.0 > f64::from(frame.width()) / fineness / 2.0, "{added:?}");
        let known = labels.clone();
        number_regions((&items, &regions), &ground, &mut labels, &watch).unwrap();
        assert_eq!(labels, known);
    }
}
