//! What every phase shares: ids, units, findings, and the watch that carries
//! progress, cancelling and threads. Nothing else lives here.

mod finding;
mod id;
mod progress;
mod unit;
mod watch;

pub use finding::{Code, Finding, Place};
pub use id::{FaceId, LightId, PieceId, RegionId, SampleId, VertexId};
pub use progress::{Leg, Progress};
pub use unit::{Lightness, Millimetres};
pub use watch::{Listener, PhaseRecord, Span, Stop, Watch};
