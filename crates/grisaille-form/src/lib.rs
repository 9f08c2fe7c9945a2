//! What the shape asks for, before any paint: its curvature, the recesses to
//! line and the edges to catch, and its division into regions.
//!
//! All of it works on a [`Shape`]: the refined surface as one net, in which
//! samples of one place are one vertex, so that neighbours meet across creases.

mod before_gluing;
mod coarser;
mod crest;
mod crossing;
mod curvature;
mod fan;
mod grain;
mod heat;
mod height_map;
mod hollow;
mod join;
mod line;
mod measure;
mod once;
mod patches;
mod ranking;
mod reach;
mod reach_by_region;
mod regions;
mod repeats;
mod seam;
mod section;
mod shape;
mod spot;
mod spread;
mod strokes;
mod unroll;

pub use before_gluing::{Assembled, BeforeGluing, before_gluing};
pub use curvature::{Curvature, curvature};
pub use fan::angle_defects;
pub use grain::without_grain;
pub use height_map::{HeightMap, NOTHING, closed};
pub use hollow::{Hollow, hollows};
pub use line::{Line, LineSettings, edges, recesses};
pub use ranking::{parted, rank_by_light};
pub use reach::{BrushShape, FLOWS_IN, Reach, reach};
pub use reach_by_region::{RegionReach, reach_by_region};
pub use regions::{
    Anchor, Division, Edit, Ground, GroundSettings, Neighbour, Region, Regions, SWATCHES, Seed, Source,
    swatches,
};
pub use repeats::repeats;
pub use seam::seams;
pub use shape::Shape;
pub use spot::{Spot, SpotSettings, spots};
pub use strokes::{Stroke, StrokeCount, blends_at, strokes};
pub use unroll::{PatchSettings, Stretch, Unrolled, face_at, unroll};
