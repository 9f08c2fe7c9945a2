//! How the painter divides the surface into regions: where they come from, and
//! what was done to them since. Regions are named by points of the surface, so
//! that all of it survives a new export of the model.

use crate::SchemeError;
use crate::scheme::in_range;
use serde::{Deserialize, Serialize};

/// A division into regions.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct RegionChoice {
    /// Where regions come from.
    pub by: RegionSource,
    /// With [`RegionSource::Shape`]: how many; as many as the shape asks for if
    /// not given.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub count: Option<u16>,
    /// What was done to them since, in order.
    #[serde(rename = "step", skip_serializing_if = "Vec::is_empty")]
    pub steps: Vec<RegionStep>,
}

/// Where regions come from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RegionSource {
    /// The shape.
    #[default]
    Shape,
    /// The pieces of the models, a region for each.
    Pieces,
}

/// One step.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RegionStep {
    /// What is done.
    #[serde(rename = "do")]
    pub deed: RegionDeed,
    /// Where: one spot in each region meant; for [`RegionDeed::Grow`] along a stroke.
    pub at: Vec<RegionSpot>,
    /// The name that a region grows under or gets.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// The swatch that it gets, 8-bit sRGB.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub colour: Option<[u8; 3]>,
}

/// What can be done to regions.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RegionDeed {
    /// A region of this name grows from these spots.
    Grow,
    /// The regions at these spots become one.
    Merge,
    /// The region at the first spot is divided between these spots.
    Split,
    /// The region gets a name; without one it loses its own.
    Rename,
    /// The region gets a swatch.
    Recolour,
    /// Later steps leave the region as it is.
    Lock,
    /// Later steps may change it again.
    Unlock,
}

/// A spot on the surface, scene millimetres.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum RegionSpot {
    /// A point and the outward normal there.
    Facing([f64; 6]),
    /// A point.
    Point([f64; 3]),
}

impl RegionChoice {
    /// Whether it is the usual one.
    #[must_use]
    pub fn is_usual(&self) -> bool {
        *self == Self::default()
    }

    pub(crate) fn check(&self) -> Result<(), SchemeError> {
        let wrong = |why: &str| Err(SchemeError(why.to_owned()));
        if let Some(count) = self.count {
            in_range("the number of regions", count.into(), 1.0, 1000.0)?;
            if self.by == RegionSource::Pieces {
                return wrong("[regions] has a count beside by = \"pieces\": keep one of them");
            }
        }
        for step in &self.steps {
            let spots = match step.deed {
                RegionDeed::Merge | RegionDeed::Split => 2,
                _ => 1,
            };
            if step.at.len() < spots {
                return wrong("a step of the regions has too few places in `at`: merge and split need two");
            }
            step.at.iter().try_for_each(check_spot)?;
            match (step.deed, &step.name, step.colour) {
                (RegionDeed::Grow, Some(name), None) if !name.trim().is_empty() => {}
                (RegionDeed::Grow, ..) => return wrong("a region that grows needs a name and no colour"),
                (RegionDeed::Recolour, None, Some(_)) | (RegionDeed::Rename, _, None) => {}
                (RegionDeed::Recolour, ..) => {
                    return wrong("a region that is recoloured needs a colour alone");
                }
                (RegionDeed::Rename, ..) => return wrong("a region that is renamed needs no colour"),
                (_, None, None) => {}
                _ => return wrong("a step of the regions has a name or a colour that it has no use for"),
            }
        }
        Ok(())
    }
}

pub(crate) fn check_spot(spot: &RegionSpot) -> Result<(), SchemeError> {
    let numbers: &[f64] = match spot {
        RegionSpot::Facing(numbers) => numbers,
        RegionSpot::Point(numbers) => numbers,
    };
    numbers.iter().try_for_each(|x| in_range("a place of the regions in mm", *x, -1e6, 1e6))
}
