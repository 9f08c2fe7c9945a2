//! A division: where regions come from and what was done to them since, as plain
//! data. To undo is to take the last edit away; regions are worked out anew.

use super::anchor::{Anchor, Seed};
use super::ground::Ground;
use super::result::{Labelled, Regions};
use grisaille_base::{RegionId, Stop, Watch};

/// How the surface is divided into regions. Regions are named by points of the
/// surface and not by numbers, so that a division survives a reload of the model.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Division {
    /// Where regions come from.
    pub source: Source,
    /// What was done to them since, in order.
    pub edits: Vec<Edit>,
}

/// Where regions come from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Source {
    /// The shape, in as many regions as it asks for.
    #[default]
    Shape,
    /// The shape, in so many regions.
    Level(usize),
    /// The pieces of the models, a region for each.
    Pieces,
    /// What the files say of their parts, a region for each name or colour; the shape where they
    /// say nothing.
    File,
}

/// One step. Points that lie on no face, since there is none, do nothing.
#[derive(Clone, Debug, PartialEq)]
pub enum Edit {
    /// A region of this name grows from these points. Regions of several such
    /// steps in a row grow together, until they meet, over all that hangs
    /// together with one of them.
    Grow(String, Vec<Anchor>),
    /// The regions at these points become one, which keeps the name of the first.
    Merge(Vec<Anchor>),
    /// The region at the first point is divided between these points. The first
    /// keeps the name.
    Split(Vec<Anchor>),
    /// The region at the point gets a name; an empty one takes its name away.
    Rename(Anchor, String),
    /// The region at the point gets a swatch, 8-bit sRGB.
    Recolour(Anchor, [u8; 3]),
    /// No later step but another lock changes the faces of the region at the point.
    Lock(Anchor),
    /// Later steps may change it again.
    Unlock(Anchor),
}

impl Edit {
    /// The points that it names.
    #[must_use]
    pub fn anchors(&self) -> &[Anchor] {
        match self {
            Self::Grow(_, anchors) | Self::Merge(anchors) | Self::Split(anchors) => anchors,
            Self::Rename(anchor, _)
            | Self::Recolour(anchor, _)
            | Self::Lock(anchor)
            | Self::Unlock(anchor) => std::slice::from_ref(anchor),
        }
    }
}

impl Ground {
    /// The regions of a division.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn divide(&self, division: &Division, watch: &Watch) -> Result<Regions, Stop> {
        let mut regions = match division.source {
            Source::Shape => self.level(self.natural_count(), watch)?,
            Source::Level(count) => self.level(count, watch)?,
            Source::Pieces => self.by_piece(),
            Source::File => match self.by_file() {
                Some(regions) => regions,
                None => self.level(self.natural_count(), watch)?,
            },
        };
        let mut edits = division.edits.as_slice();
        while let Some(edit) = edits.first() {
            watch.check()?;
            let grown = edits.iter().take_while(|e| matches!(e, Edit::Grow(..))).count();
            if grown > 0 {
                regions = self.grown(&regions, &edits[..grown], watch)?;
            } else {
                regions = self.edited(regions, edit, watch)?;
            }
            edits = &edits[grown.max(1)..];
        }
        Ok(regions)
    }

    /// Regions grown by steps in a row.
    fn grown(&self, regions: &Regions, edits: &[Edit], watch: &Watch) -> Result<Regions, Stop> {
        let mut names: Vec<String> = Vec::new();
        let mut seeds = Vec::new();
        for edit in edits {
            let Edit::Grow(name, anchors) = edit else { continue };
            let known = names.iter().position(|n| n == name);
            let k = known.unwrap_or_else(|| {
                names.push(name.clone());
                names.len() - 1
            });
            let region = RegionId(k.min(usize::from(u16::MAX)) as u16);
            seeds.extend(anchors.iter().map(|anchor| Seed { region, anchor: *anchor }));
        }
        self.grow(&seeds, &names, Some(regions), watch)
    }

    /// The regions after one more edit.
    fn edited(&self, regions: Regions, edit: &Edit, watch: &Watch) -> Result<Regions, Stop> {
        let at =
            |anchor: &Anchor| self.face_at(anchor).and_then(|f| regions.of_face.get(f)).map(|r| r.index());
        let mut labelled = Labelled::of(&regions);
        match edit {
            Edit::Grow(..) => return self.grown(&regions, std::slice::from_ref(edit), watch),
            Edit::Split(anchors) => return self.split(&regions, anchors, watch),
            Edit::Merge(anchors) => {
                let found: Vec<usize> = anchors.iter().filter_map(at).collect();
                let Some((&first, others)) = found.split_first() else { return Ok(regions) };
                let joins = |r: usize| others.contains(&r) && !regions.regions[r].locked;
                if !regions.regions[first].locked {
                    for label in labelled.of_face.iter_mut().filter(|l| joins(**l as usize)) {
                        *label = first as u32;
                    }
                }
            }
            Edit::Rename(anchor, name) => {
                if let Some(r) = at(anchor) {
                    let name = name.trim();
                    labelled.names[r] = (!name.is_empty()).then(|| name.to_owned());
                    labelled.part_names(r);
                }
            }
            Edit::Recolour(anchor, rgb) => {
                if let Some(r) = at(anchor) {
                    labelled.swatches[r] = Some(*rgb);
                }
            }
            Edit::Lock(anchor) | Edit::Unlock(anchor) => {
                if let Some(r) = at(anchor) {
                    labelled.locked[r] = matches!(edit, Edit::Lock(_));
                }
            }
        }
        Ok(self.numbered(labelled))
    }

    /// The region at the first point divided between all points: the others are
    /// shut while it is grown over.
    fn split(&self, regions: &Regions, anchors: &[Anchor], watch: &Watch) -> Result<Regions, Stop> {
        let Some(face) = anchors.first().and_then(|a| self.face_at(a)) else { return Ok(regions.clone()) };
        let Some(&whole) = regions.of_face.get(face) else { return Ok(regions.clone()) };
        if regions.regions[whole.index()].locked {
            return Ok(regions.clone());
        }
        let mut shut = regions.clone();
        for (i, region) in shut.regions.iter_mut().enumerate() {
            region.locked = i != whole.index();
        }
        let seeds: Vec<Seed> = anchors
            .iter()
            .enumerate()
            .map(|(k, anchor)| Seed {
                region: RegionId(k.min(usize::from(u16::MAX)) as u16),
                anchor: *anchor,
            })
            .collect();
        let grown = self.grow(&seeds, &[], Some(&shut), watch)?;
        // Numbers have changed: names, swatches and locks are those of before.
        let mut labelled = Labelled::of(&grown);
        let first = grown.of_face[face].index();
        for (r, region) in grown.regions.iter().enumerate() {
            labelled.locked[r] = false;
            if !region.locked {
                labelled.names[r] = None;
                labelled.swatches[r] = None;
                labelled.worn[r] = None;
            }
        }
        for (f, r) in grown.of_face.iter().enumerate() {
            let (now, old) = (r.index(), &regions.regions[regions.of_face[f].index()]);
            labelled.locked[now] |= old.locked;
            if now == first && regions.of_face[f] == whole {
                labelled.names[now] = old.named.then(|| old.name.clone());
                labelled.swatches[now] = old.recoloured.then_some(old.swatch);
                labelled.worn[now] = Some(old.swatch);
            }
        }
        Ok(self.numbered(labelled))
    }
}
