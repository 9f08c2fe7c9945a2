//! Which entry of the scheme paints which region.

use crate::division::anchor;
use grisaille_base::{Code, Finding, Place, RegionId};
use grisaille_form::{Ground, Regions};
use grisaille_scheme::RegionPaint;

/// The entry that paints each region, by its id; the later of two counts.
pub(crate) fn entries_of_regions(
    entries: &[RegionPaint],
    ground: &Ground,
    regions: &Regions,
) -> (Vec<Option<usize>>, Vec<Finding>) {
    let mut of: Vec<Option<usize>> = vec![None; regions.regions.len()];
    let mut findings = Vec::new();
    for (k, entry) in entries.iter().enumerate().filter(|(_, e)| !e.rest) {
        let mut found = Vec::new();
        for spot in &entry.at {
            let region = ground.face_at(&anchor(spot)).and_then(|f| regions.of_face.get(f));
            found.extend(region.copied());
        }
        if entry.at.is_empty() {
            let called = |name: &str| name.trim().eq_ignore_ascii_case(entry.name.trim());
            let ids = (0..=u16::MAX).zip(&regions.regions).filter(|(_, r)| called(&r.name));
            found.extend(ids.map(|(id, _)| RegionId(id)));
        }
        if found.is_empty() {
            findings.push(Finding::new(
                Code::PaintWithoutRegion,
                1,
                format!(
                    "no region is called '{}': give its paint a spot on the region, at = [[x, y, z]], or name \
                     the region so",
                    entry.name
                ),
            ));
        }
        for region in found {
            of[region.index()] = Some(k);
        }
    }
    if let Some(rest) = entries.iter().position(|e| e.rest) {
        for of in of.iter_mut().filter(|of| of.is_none()) {
            *of = Some(rest);
        }
    }
    let bare: Vec<usize> =
        (0..of.len()).filter(|r| of[*r].is_none() && regions.regions[*r].area_mm2 > 0.0).collect();
    if let Some(first) = bare.first() {
        let region = &regions.regions[*first];
        findings.push(
            Finding::new(
                Code::RegionWithoutPaint,
                bare.len() as u64,
                format!(
                    "regions without a colour, the largest is '{}' ({:.0} mm²): add a [[region]] for it, or one \
                     with rest = true",
                    region.name, region.area_mm2
                ),
            )
            .at(Place::Point(region.place)),
        );
    }
    (of, findings)
}
