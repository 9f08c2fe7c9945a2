//! On pictures of zones: a number on each region, so that it is seen which light rules there.

use crate::lettering::{Ground, named_from_beside};
use crate::sheets::Label;
use grisaille_base::{Stop, Watch};
use grisaille_form::Regions;
use grisaille_picture::{Areas, ItemBuffer, places};
use grisaille_plan::NO_ZONE;
use std::collections::BTreeMap;

/// A region of which less than this is seen has no number, mm² on paper.
const SEEN: f64 = 4.0;

/// Numbers the largest zone of each region that has no number on it yet.
///
/// # Errors
/// [`Stop`] when cancelled.
pub(crate) fn number_regions(
    (items, regions): (&ItemBuffer, &Regions),
    ground: &Ground<'_>,
    labels: &mut Vec<Label>,
    watch: &Watch,
) -> Result<(), Stop> {
    let Ground { pixels, size_px, fineness } = *ground;
    let across = size_px[0] as usize;
    let region_at = |i: usize| {
        let hit = items.hit(i % across, i / across)?;
        regions.of_face.get(hit.face.index()).copied()
    };
    let mut seen: BTreeMap<_, BTreeMap<u16, usize>> = BTreeMap::new();
    for (i, zone) in pixels.iter().enumerate().filter(|(_, zone)| **zone != Areas::NONE) {
        if let Some(region) = region_at(i) {
            *seen.entry(region).or_default().entry(*zone).or_default() += 1;
        }
    }
    for label in &*labels {
        let [x, y] = label.names.unwrap_or([label.x, label.y]).map(|mm| (mm.0 * fineness) as usize);
        if let Some(region) = region_at(y * across + x) {
            seen.remove(&region);
        }
    }
    let least = (SEEN * fineness * fineness) as usize;
    let largest = seen.into_iter().filter(|(_, zones)| zones.values().sum::<usize>() >= least);
    let largest = largest.filter_map(|(region, zones)| {
        let most = zones.into_iter().max_by_key(|(_, count)| *count)?;
        (most.0 != u16::from(NO_ZONE)).then_some((region, most.0))
    });
    let largest: BTreeMap<_, u16> = largest.collect();
    let own: Vec<u16> = pixels
        .iter()
        .enumerate()
        .map(|(i, zone)| {
            let region = region_at(i).filter(|region| largest.get(region) == Some(zone));
            region.map_or(Areas::NONE, |region| region.0)
        })
        .collect();
    let middles = places(&own, across, 0.0, 1, watch)?.into_iter().filter_map(|place| {
        let (_, zone) = largest.iter().find(|(region, _)| region.0 == place.label)?;
        Some((zone.to_string(), [place.x_px, place.y_px].map(|px| f64::from(px) / fineness)))
    });
    named_from_beside(ground, middles.collect(), labels);
    Ok(())
}
