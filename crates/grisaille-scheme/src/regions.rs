//! How the painter divides the surface into regions: where they come from, and
//! what was done to them since. Regions are named by points of the surface, so
//! that all of it survives a new export of the model.

use crate::scheme_error::{SchemeError, Under, each, in_range};
use schemars::{JsonSchema, Schema};
use serde::{Deserialize, Serialize};
use serde_json::json;

/// A division into regions.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, default)]
#[schemars(rename = "regions")]
pub struct RegionChoice {
    /// Where regions come from.
    pub by: RegionSource,
    /// How many, where they come from the shape; as many as it asks for if not
    /// given.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schemars(range(min = 1, max = 1000))]
    pub count: Option<u16>,
    /// What was done to them since, in order.
    #[serde(rename = "step", skip_serializing_if = "Vec::is_empty")]
    pub steps: Vec<RegionStep>,
}

/// Where regions come from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "region-source")]
pub enum RegionSource {
    /// The shape.
    #[default]
    Shape,
    /// The pieces of the models, a region for each.
    Pieces,
    /// What the files say of their parts: a region for each name or colour.
    File,
}

/// One step.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(rename = "region-step", transform = needs_of_deeds)]
pub struct RegionStep {
    /// What is done.
    #[serde(rename = "do")]
    #[schemars(example = &"grow")]
    pub deed: RegionDeed,
    /// Where: one spot in each region that is meant; along a stroke where one grows.
    #[schemars(length(min = 1), example = [[0.0, -4.0, 47.0]])]
    pub at: Vec<RegionSpot>,
    /// The name that a region grows under or gets.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// The swatch that it gets, 8-bit sRGB.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub colour: Option<[u8; 3]>,
}

/// Says in the schema what each deed needs, and what it has no use for.
fn needs_of_deeds(schema: &mut Schema) {
    let rules = [
        ("grow", json!({ "required": ["name"], "properties": { "colour": false } })),
        ("merge", json!({ "properties": { "at": { "minItems": 2 }, "name": false, "colour": false } })),
        ("split", json!({ "properties": { "at": { "minItems": 2 }, "name": false, "colour": false } })),
        ("rename", json!({ "properties": { "colour": false } })),
        ("recolour", json!({ "required": ["colour"], "properties": { "name": false } })),
        ("lock", json!({ "properties": { "name": false, "colour": false } })),
        ("unlock", json!({ "properties": { "name": false, "colour": false } })),
    ];
    let rules = rules.map(|(deed, then)| {
        json!({ "if": { "properties": { "do": { "const": deed } }, "required": ["do"] }, "then": then })
    });
    schema.insert("allOf".into(), json!(rules));
}

/// What can be done to regions.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
#[schemars(rename = "region-deed")]
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
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(untagged)]
#[schemars(rename = "spot")]
pub enum RegionSpot {
    /// A point.
    Point(#[schemars(inner(range(min = -1e6, max = 1e6)))] [f64; 3]),
    /// A point and the outward normal there.
    Facing(#[schemars(inner(range(min = -1e6, max = 1e6)))] [f64; 6]),
}

impl RegionChoice {
    /// Whether it is the usual one.
    #[must_use]
    pub fn is_usual(&self) -> bool {
        *self == Self::default()
    }

    pub(crate) fn check(&self) -> Result<(), SchemeError> {
        if let Some(count) = self.count {
            in_range("the number of regions", count.into(), 1.0, 1000.0).under("count")?;
            let by = match self.by {
                RegionSource::Shape => return each(&self.steps, RegionStep::check).under("step"),
                RegionSource::Pieces => "pieces",
                RegionSource::File => "file",
            };
            let why = format!("[regions] has a count beside by = \"{by}\": keep one of them");
            return Err(SchemeError::new(why)).under("count");
        }
        each(&self.steps, RegionStep::check).under("step")
    }
}

impl RegionStep {
    fn check(&self) -> Result<(), SchemeError> {
        let wrong = |key: &str, why: &str| Err(SchemeError::new(why)).under(key);
        let spots = match self.deed {
            RegionDeed::Merge | RegionDeed::Split => 2,
            _ => 1,
        };
        if self.at.len() < spots {
            let why = "this step of the regions has too few places in `at`: merge and split need two, \
                       the others one";
            return wrong("at", why);
        }
        each(&self.at, check_spot).under("at")?;
        match (self.deed, &self.name, self.colour) {
            (RegionDeed::Grow, Some(name), None) if !name.trim().is_empty() => Ok(()),
            (RegionDeed::Grow, _, Some(_)) => {
                wrong("colour", "a region that grows has no use for a colour: leave it out")
            }
            (RegionDeed::Grow, ..) => {
                wrong("name", "a region that grows needs a name: write name = \"helmet\"")
            }
            (RegionDeed::Recolour, None, Some(_)) | (RegionDeed::Rename, _, None) => Ok(()),
            (RegionDeed::Recolour, Some(_), _) => {
                wrong("name", "a region that is recoloured has no use for a name: leave it out")
            }
            (RegionDeed::Recolour, ..) => {
                wrong("colour", "a region that is recoloured needs a colour: write colour = [184, 115, 51]")
            }
            (RegionDeed::Rename, ..) => {
                wrong("colour", "a region that is renamed has no use for a colour: leave it out")
            }
            (_, None, None) => Ok(()),
            (_, Some(_), _) => wrong("name", "this step of the regions has no use for a name: leave it out"),
            (..) => wrong("colour", "this step of the regions has no use for a colour: leave it out"),
        }
    }
}

pub(crate) fn check_spot(spot: &RegionSpot) -> Result<(), SchemeError> {
    let numbers: &[f64] = match spot {
        RegionSpot::Facing(numbers) => numbers,
        RegionSpot::Point(numbers) => numbers,
    };
    each(numbers, |x| in_range("a place of the regions in mm", *x, -1e6, 1e6))
}
