//! From a scheme and a model to a plan: how light each spot becomes, where
//! bands and zones run, and what to do in which order.
//!
//! [`plan`] is the whole program in one screen. A [`Plan`] holds one value,
//! band and zone for each sample of its surface; buried samples have none of
//! them and are to be left out with [`Plan::corners`].

mod answer;
mod band;
mod bounce;
mod brush;
mod draft;
mod emphasis;
mod field;
mod island;
mod legs;
mod neighbours;
mod plan;
mod plate;
mod products;
mod shadow;
mod stage;
mod through;
mod value;
mod zone;

pub use answer::{Answers, Contest, LightAnswer};
pub use band::{Band, Bands};
pub use brush::Brush;
pub use draft::{Draft, DraftLight, Effort, Ground, draft, draft_in_rounds, ground};
pub use field::{area_below, open_corners};
pub use legs::legs;
pub use plan::{Plan, PlannedLight, light_in_rounds, plan};
pub use products::Products;
pub use stage::{Stage, StageKind, falloff_in_words, side_in_words};
pub use value::{Fit, Values};
pub use zone::{NO_ZONE, Zone, Zones};
