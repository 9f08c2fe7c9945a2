//! From a scheme and a model to a plan: how light each spot becomes, where
//! bands and zones run, and what to do in which order.
//!
//! [`plan`] is the whole program in one screen. A [`Plan`] holds one value,
//! band and zone for each sample of its surface; buried samples have none of
//! them and are to be left out with [`Plan::corners`].

mod answer;
mod assembly;
mod band;
mod bounce;
mod brush;
mod check;
mod coat;
mod coloured;
mod colouring;
mod cut;
mod division;
mod draft;
mod dry_brush;
mod dry_brush_plan;
mod emphasis;
mod enclosed;
mod field;
mod flat_spot;
mod form_direction;
mod gap;
mod island;
mod kept;
mod layer_fit;
mod left_out;
mod legs;
mod lift;
mod lining;
mod neighbours;
mod openness;
mod plan;
mod plate;
mod primer;
mod products;
mod proportion;
mod remaining;
mod shadow;
mod spots;
mod spray;
mod stage;
mod through;
mod tone_set;
mod value;
mod work;
mod zone;

pub use answer::{Answers, Contest, LightAnswer};
pub use assembly::{AssembledFile, Assembly, assemble, assembly};
pub use band::{Band, Bands};
pub use brush::Brush;
pub use check::checks;
pub use coat::{Strength, Tone, Tones, coverage, layered};
pub use coloured::{Coloured, coloured, line_width, painted};
pub use colouring::{
    BandCover, ColourWordError, Colouring, ColouringError, ColouringGround, EyePart, Face, FaceColours,
    FacePart, Features, KeptRows, LitRamp, MaterialRule, RegionColours, Shelf, StepColour, ThinLayer, Wash,
    colouring, colouring_at_once, colouring_keeping, ground_of, material_rule, seen, step_at, thin_layer,
    wash_thickness,
};
pub use division::{division, regions_of};
pub use draft::{Draft, DraftLight, Effort, Ground, draft, draft_in_rounds, ground};
pub use dry_brush::{Load, Stroke};
pub use dry_brush_plan::{DryBrushPass, DryBrushPlan};
pub use field::{area_below, open_corners};
pub use flat_spot::{FlatSpot, flat_spots};
pub use left_out::{LeaveError, Loaded, leave_out};
pub use legs::legs;
pub use lining::{Lining, lining};
pub use openness::{Openness, look_round, look_round_in_cells, usual_reach};
pub use plan::{Plan, PlannedLight, light_in_rounds, plan, surface_settings};
pub use primer::Primer;
pub use products::Products;
pub use proportion::{Proportion, proportions};
pub use remaining::{Remaining, Worst};
pub use spray::{FormDirection, SPRAY_RADIUS, SprayPass, SprayPlan, spray_in_words};
pub use stage::{
    Bottle, MixPlace, Recipe, Stage, StageKind, falloff_in_words, priming, side_in_words, spray_caution,
};
pub use through::{part_at, piece_at};
pub use tone_set::{set_words, tone_colour, tone_words};
pub use value::{Fit, Values};
pub use work::{LINES_TOLD, WorkGround, work};
pub use zone::{NO_ZONE, Zone, Zones};
