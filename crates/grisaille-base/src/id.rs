//! Ids as distinct types, so that a face is never taken for a vertex.

use serde::{Deserialize, Serialize};

macro_rules! id {
    ($(#[$doc:meta])* $name:ident, $inner:ty) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub $inner);

        impl $name {
            /// The id as an index into the slice that it numbers.
            #[must_use]
            pub fn index(self) -> usize {
                self.0 as usize
            }
        }
    };
}

id!(
    /// A vertex of a loaded mesh.
    VertexId, u32
);
id!(
    /// A triangle: of the loaded mesh, or of the refined surface where that is said.
    FaceId, u32
);
id!(
    /// One connected part of a model's surface.
    PieceId, u32
);
id!(
    /// A sample of the surface: a vertex, once for each smoothing group that meets there.
    SampleId, u32
);
id!(
    /// A light of the rig or of the scene. Survives renaming and reordering.
    LightId, u32
);
id!(
    /// A named area painted as one material. Until regions come there is one for each piece.
    RegionId, u16
);
