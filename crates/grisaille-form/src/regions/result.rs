//! `Regions`: a region for each face of the surface, and what each one is.

use super::faces::Faces;
use super::swatch::swatches;
use crate::Shape;
use grisaille_base::RegionId;
use nalgebra::{Point3, Vector3};
use std::collections::BTreeMap;

/// The surface divided into regions.
///
/// Guarantees: every face has a region, `of_face[f].index()` is less than the
/// number of regions; regions are numbered from the largest to the smallest,
/// those of one size by their place, and each has a face.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Regions {
    /// The region of each face of the refined surface, in its order.
    pub of_face: Vec<RegionId>,
    /// The regions, by their ids.
    pub regions: Vec<Region>,
}

/// One region.
#[derive(Clone, Debug, PartialEq)]
pub struct Region {
    /// Its name; unique among the regions.
    pub name: String,
    /// Its colour on pictures, 8-bit sRGB.
    pub swatch: [u8; 3],
    /// What of it is painted, in mm²: without what is hidden inside other
    /// pieces and without the underside of the base.
    pub area_mm2: f64,
    /// A point of the surface about its middle, in scene mm.
    pub place: [f32; 3],
    /// The regions beside it, by their ids.
    pub neighbours: Vec<Neighbour>,
    /// Whether later steps leave it as it is.
    pub locked: bool,
    /// Whether somebody gave it its name; else it is called by its number.
    pub named: bool,
    /// Whether somebody chose its swatch.
    pub recoloured: bool,
}

/// A region beside another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Neighbour {
    /// Which.
    pub region: RegionId,
    /// The length of their common border in mm, along the edges of the net.
    pub border_mm: f64,
}

/// A label for each face with what is known of each label, not numbered yet.
pub(crate) struct Labelled {
    /// A label for each face, each less than the number of names.
    pub(crate) of_face: Vec<u32>,
    /// The name of each label; none for those that are called by their number.
    pub(crate) names: Vec<Option<String>>,
    /// Which labels are locked.
    pub(crate) locked: Vec<bool>,
    /// The swatch of each label, where one was chosen.
    pub(crate) swatches: Vec<Option<[u8; 3]>>,
    /// The swatch that each label wore before, if it was there.
    pub(crate) worn: Vec<Option<[u8; 3]>>,
}

impl Labelled {
    /// Labels without names.
    pub(crate) fn new(of_face: Vec<u32>) -> Self {
        let count = of_face.iter().max().map_or(0, |l| *l as usize + 1);
        Self {
            of_face,
            names: vec![None; count],
            locked: vec![false; count],
            swatches: vec![None; count],
            worn: vec![None; count],
        }
    }

    /// The labels of regions, with their names and locks.
    pub(crate) fn of(regions: &Regions) -> Self {
        let each = || regions.regions.iter();
        Self {
            of_face: regions.of_face.iter().map(|r| u32::from(r.0)).collect(),
            names: each().map(|r| r.named.then(|| r.name.clone())).collect(),
            locked: each().map(|r| r.locked).collect(),
            swatches: each().map(|r| r.recoloured.then_some(r.swatch)).collect(),
            worn: each().map(|r| Some(r.swatch)).collect(),
        }
    }

    /// One label more, without a face yet.
    pub(crate) fn add(&mut self, name: Option<String>) -> u32 {
        self.names.push(name);
        self.locked.push(false);
        self.swatches.push(None);
        self.worn.push(None);
        self.names.len() as u32 - 1
    }

    /// Makes the name of a label its own, if another has it: the first of "name
    /// 2", "name 3" and so on that is free.
    pub(crate) fn part_names(&mut self, label: usize) {
        let Some(name) = self.names[label].clone() else { return };
        let taken =
            |n: &str| (0..self.names.len()).any(|l| l != label && self.names[l].as_deref() == Some(n));
        let mut own = name.clone();
        let mut k = 2;
        while taken(&own) {
            own = format!("{name} {k}");
            k += 1;
        }
        self.names[label] = Some(own);
    }

    pub(crate) fn is_locked(&self, face: usize) -> bool {
        self.locked[self.of_face[face] as usize]
    }
}

/// Numbers labels from the largest to the smallest and gathers what is said of
/// regions. Labels without a face are left out.
pub(crate) fn numbered(shape: &Shape, faces: &Faces, painted: &[f32], labelled: Labelled) -> Regions {
    let Labelled { of_face, names, locked, swatches: chosen, worn } = labelled;
    let count = names.len();
    let mut area = vec![0.0_f64; count];
    let mut whole = vec![0.0_f64; count];
    let mut middle = vec![Vector3::<f64>::zeros(); count];
    let mut first = vec![usize::MAX; count];
    for (f, l) in of_face.iter().enumerate() {
        let (l, own) = (*l as usize, f64::from(shape.areas()[f]));
        area[l] += f64::from(painted[f]);
        whole[l] += own;
        middle[l] += faces.middles[f].coords.cast::<f64>() * own;
        first[l] = first[l].min(f);
    }
    let mut order: Vec<usize> = (0..count).filter(|l| first[*l] != usize::MAX).collect();
    // By area to a hundredth of a mm², so that roundings change no number, then by place.
    let size = |l: usize| (100.0 * area[l]).round();
    let at = |l: usize| middle[l] / whole[l].max(f64::MIN_POSITIVE);
    order.sort_by(|a, b| {
        let (p, q) = (at(*a), at(*b));
        let place = q.z.total_cmp(&p.z).then(p.x.total_cmp(&q.x)).then(p.y.total_cmp(&q.y));
        size(*b).total_cmp(&size(*a)).then(place).then(first[*a].cmp(&first[*b]))
    });
    let mut id = vec![0_u16; count];
    for (to, l) in order.iter().enumerate() {
        // What is beyond the last number shares it; callers make no more than that.
        id[*l] = to.min(usize::from(u16::MAX)) as u16;
    }
    let of_face: Vec<RegionId> = of_face.into_iter().map(|l| RegionId(id[l as usize])).collect();
    let borders = borders(shape, faces, &of_face, order.len());
    let beside: Vec<Vec<usize>> = borders.iter().map(|b| b.keys().map(|k| k.index()).collect()).collect();
    let before: Vec<Option<[u8; 3]>> = order.iter().map(|l| chosen[*l].or(worn[*l])).collect();
    let swatches = swatches(&beside, &before);
    // The face nearest to the middle stands for a region's place.
    let mut place = vec![(f64::INFINITY, Point3::origin()); order.len()];
    for (f, r) in of_face.iter().enumerate() {
        let off = (faces.middles[f].coords.cast::<f64>() - at(order[r.index()])).norm_squared();
        let counts = painted[f] > 0.0 || area[order[r.index()]] <= 0.0;
        if counts && off < place[r.index()].0 {
            place[r.index()] = (off, faces.middles[f]);
        }
    }
    let regions = order
        .iter()
        .enumerate()
        .map(|(i, &l)| Region {
            name: names[l].clone().unwrap_or_else(|| by_number(i, &names)),
            swatch: chosen[l].unwrap_or(swatches[i]),
            area_mm2: area[l],
            place: place[i].1.into(),
            neighbours: borders[i].iter().map(|(r, mm)| Neighbour { region: *r, border_mm: *mm }).collect(),
            locked: locked[l],
            named: names[l].is_some(),
            recoloured: chosen[l].is_some(),
        })
        .collect();
    Regions { of_face, regions }
}

/// What a region is called that nobody has named.
fn by_number(i: usize, names: &[Option<String>]) -> String {
    let name = format!("region {}", i + 1);
    if names.iter().flatten().any(|n| *n == name) { format!("{name}, unnamed") } else { name }
}

/// The length of the border of each region with each other.
fn borders(shape: &Shape, faces: &Faces, of_face: &[RegionId], count: usize) -> Vec<BTreeMap<RegionId, f64>> {
    let mut borders = vec![BTreeMap::new(); count];
    for half in 0..3 * of_face.len() {
        let Some(g) = faces.across(half) else { continue };
        let (a, b) = (of_face[half / 3], of_face[g]);
        if a != b && half / 3 < g {
            let [p, q] = shape.ends(half as u32).map(|v| shape.positions()[v as usize].cast::<f64>());
            *borders[a.index()].entry(b).or_insert(0.0) += (q - p).norm();
            *borders[b.index()].entry(a).or_insert(0.0) += (q - p).norm();
        }
    }
    borders
}
