//! Faces and samples gathered by region, so that each region can be written by itself.

use crate::columns::{Columns, corner_colour};
use grisaille_base::RegionId;
use grisaille_colour::LinearRgb;
use grisaille_plan::Plan;

/// The samples and faces of one region.
pub(crate) struct RegionRows {
    /// Which region.
    pub(crate) region: RegionId,
    /// Its samples, in their order. One on a border stands in the rows of every region that it borders.
    pub(crate) samples: Vec<u32>,
    /// Its faces as indices into `samples`.
    pub(crate) faces: Vec<[u32; 3]>,
    /// The colour of each of its samples in this region, linear.
    pub(crate) colours: Vec<LinearRgb>,
}

/// The rows of each region that has a face, in the order of the regions.
pub(crate) fn region_rows(plan: &Plan, columns: &Columns, region_of_face: &[RegionId]) -> Vec<RegionRows> {
    let surface = &plan.surface;
    let count = region_of_face.iter().map(|r| r.index() + 1).max().unwrap_or(0);
    let mut faces_of: Vec<Vec<u32>> = vec![Vec::new(); count];
    for (f, region) in region_of_face.iter().enumerate() {
        faces_of[region.index()].push(f as u32);
    }
    let border = on_borders(&surface.faces, region_of_face, surface.samples.len());
    // Written anew for each region, whose corners are all among its samples: what another one left is never read.
    let mut place = vec![0_u32; surface.samples.len()];
    let mut rows = Vec::new();
    for (region, faces) in faces_of.iter().enumerate().filter(|(_, faces)| !faces.is_empty()) {
        let mut samples: Vec<u32> = faces.iter().flat_map(|f| surface.faces[*f as usize]).collect();
        samples.sort_unstable();
        samples.dedup();
        for (s, i) in samples.iter().zip(0..) {
            place[*s as usize] = i;
        }
        let own: Vec<[u32; 3]> =
            faces.iter().map(|f| surface.faces[*f as usize].map(|s| place[s as usize])).collect();
        let mut colours: Vec<LinearRgb> = samples.iter().map(|s| columns.shown(*s as usize)).collect();
        if let Some(colouring) = &plan.colouring {
            // A border's sample was coloured by the first of its faces, which may be another region's.
            for (f, face) in faces.iter().zip(&own) {
                for (corner, s) in face.iter().map(|s| *s as usize).enumerate() {
                    if border[samples[s] as usize]
                        && let Some(colour) = corner_colour(plan, colouring, *f as usize, corner)
                    {
                        colours[s] = colour;
                    }
                }
            }
        }
        rows.push(RegionRows { region: RegionId(region as u16), samples, faces: own, colours });
    }
    rows
}

/// Which samples have faces of more than one region.
fn on_borders(faces: &[[u32; 3]], region_of_face: &[RegionId], samples: usize) -> Vec<bool> {
    let mut first = vec![None; samples];
    let mut border = vec![false; samples];
    for (face, region) in faces.iter().zip(region_of_face) {
        for s in face.map(|s| s as usize) {
            border[s] |= *first[s].get_or_insert(*region) != *region;
        }
    }
    border
}
