//! The ground of regions: what is worked out once for a surface, and kept while
//! levels, seeds and edits change.

use super::faces::Faces;
use super::island::no_islands;
use super::link::net;
use super::patch::patches;
use super::result::{Labelled, Regions, numbered};
use super::settle::settle;
use super::told::Told;
use super::touch::touches;
use super::tree::{Link, Merge, Node, merge};
use crate::Shape;
use grisaille_base::{Millimetres, PieceId, Stop, Watch};
use grisaille_mesh::{Layers, Mesh, find, parts, supports, unite};
use grisaille_sight::{Surface, default_spacing};
use std::sync::Arc;

/// Parts that stand out by so much are regions unless another count is asked for.
const SALIENT: f64 = 0.03;
/// And no more of them than this.
const MANY: usize = 24;
/// Nor more than this, if there are so many pieces.
const MOST: usize = 60;

/// How finely a surface is divided before regions are made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GroundSettings {
    /// About how wide patches are: no region is finer, and bends are felt over it.
    pub patch: Millimetres,
}

impl GroundSettings {
    /// 0.45 mm on a 32 mm figure, about one touch of a fine brush, and in
    /// proportion on others.
    #[must_use]
    pub fn for_mesh(mesh: &Mesh) -> Self {
        Self { patch: Millimetres(2.25 * default_spacing(mesh).0) }
    }
}

/// All of a surface that regions need and that depends on neither levels nor
/// seeds nor edits.
#[derive(Clone, Debug)]
pub struct Ground {
    pub(crate) shape: Arc<Shape>,
    pub(crate) faces: Faces,
    /// What of each face is painted, in mm².
    pub(crate) painted: Vec<f32>,
    /// The patch of each face.
    pub(crate) patch: Vec<u32>,
    pub(crate) nodes: Vec<Node>,
    pub(crate) links: Vec<Link>,
    pub(crate) merges: Vec<Merge>,
    pub(crate) size: f64,
    /// What the files say of parts.
    pub(crate) told: Option<Told>,
    /// The farthest that a corner lies from the middle of its face, in mm.
    pub(crate) reach: f64,
}

impl Ground {
    /// The ground of a refined surface and its mesh. Its faces are the
    /// surface's, in their order.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn of(
        surface: &Surface,
        mesh: &Mesh,
        settings: &GroundSettings,
        watch: &Watch,
    ) -> Result<Self, Stop> {
        let span = watch.span("net", 2);
        let shape = watch.run(|| Shape::of(surface));
        span.advance(1);
        watch.check()?;
        let parts = parts(mesh, supports(mesh, watch)?);
        let painted = (0..surface.faces.len())
            .map(|f| match parts.of_face.get(surface.source_face[f].index()) {
                Some(part) if !part.is_painted() => 0.0,
                _ => shape.areas()[f] * (surface.open_corners(f) as f32 / 3.0),
            })
            .collect();
        drop(span);
        let ground =
            Self::new(Arc::new(shape), surface.piece.clone(), painted, mesh.layers(), settings, watch)?;
        Ok(Self { told: Told::of(surface, mesh), ..ground })
    }

    /// The ground of a shape: the piece of each face, and what of it is painted
    /// in mm², 0 to its area; both must be as long as the shape has faces. And how models were printed,
    /// as far as that is known: the stairs of their layers part nothing.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn new(
        shape: Arc<Shape>,
        piece: Vec<PieceId>,
        painted: Vec<f32>,
        layers: &[Layers],
        settings: &GroundSettings,
        watch: &Watch,
    ) -> Result<Self, Stop> {
        let span = watch.span("regions", 3);
        let size = settings.patch.0.max(1e-6);
        let faces = Faces::of(&shape, piece, layers, 0.5 * size, watch)?;
        let (patch, count) = patches(&shape, &faces, size, watch)?;
        span.advance(1);
        let (nodes, links) = net(&shape, &faces, &painted, &patch, count, watch)?;
        span.advance(1);
        let mut merges = merge(&nodes, &links, watch)?;
        touches(&nodes, size, &mut merges);
        span.count("patches", count as u64);
        let off = |f: usize| {
            let corners = shape.faces()[f].map(|v| (shape.positions()[v as usize] - faces.middles[f]).norm());
            corners.into_iter().fold(0.0_f32, f32::max)
        };
        let reach = (0..patch.len()).map(off).fold(0.0_f32, f32::max).into();
        Ok(Self { shape, faces, painted, patch, nodes, links, merges, size, told: None, reach })
    }

    /// The net that regions are made on.
    #[must_use]
    pub fn shape(&self) -> &Shape {
        &self.shape
    }

    /// How many patches there are: the most regions that a level can have.
    #[must_use]
    pub fn patches(&self) -> usize {
        self.nodes.len()
    }

    /// A region for each piece.
    #[must_use]
    pub fn by_piece(&self) -> Regions {
        self.numbered(self.pieces_labelled())
    }

    /// A region for each part that the files name or colour, the border where theirs is; at most
    /// 60, the largest, and one of all others. `None` where they tell no parts apart.
    #[must_use]
    pub fn by_file(&self) -> Option<Regions> {
        self.told.as_ref().map(|told| self.numbered(told.labelled(self.shape.areas(), MOST)))
    }

    /// The piece of each face as its label; what is beyond the last number that
    /// a region can have shares it.
    pub(crate) fn pieces_labelled(&self) -> Labelled {
        Labelled::new(self.faces.piece.iter().map(|p| p.0.min(u32::from(u16::MAX))).collect())
    }

    pub(crate) fn numbered(&self, labelled: Labelled) -> Regions {
        numbered(&self.shape, &self.faces, &self.painted, labelled)
    }

    /// How many regions the shape asks for: as many as are parts of their own
    /// beyond a fixed salience, no more than a painter cares to tell apart, and
    /// no fewer than there are pieces, if those are not too many either.
    #[must_use]
    pub fn natural_count(&self) -> usize {
        let above = |least: f64| 1 + self.merges.iter().filter(|m| m.weight >= least).count();
        above(SALIENT).min(MANY).max(above(f64::INFINITY).min(MOST))
    }

    /// The level of the hierarchy with so many regions, 1 to the number of
    /// patches.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn level(&self, count: usize, watch: &Watch) -> Result<Regions, Stop> {
        let of_patch = self.cut(count.clamp(1, usize::from(u16::MAX)));
        let mut of_face: Vec<u32> = self.patch.iter().map(|p| of_patch[*p as usize]).collect();
        self.smooth(&mut of_face, &|_| false, watch)?;
        Ok(self.numbered(Labelled::new(of_face)))
    }

    /// Settles the borders of labels and takes islands away.
    pub(crate) fn smooth(
        &self,
        labels: &mut [u32],
        fixed: &(dyn Fn(usize) -> bool + Sync),
        watch: &Watch,
    ) -> Result<(), Stop> {
        let span = watch.span("borders", 3);
        // First far enough to find the crease, then what is left of its steps.
        for width in [1.0, 0.5] {
            span.advance(1);
            settle(&self.shape, &self.faces, labels, fixed, [width * self.size, self.size], watch)?;
        }
        no_islands(&self.shape, &self.faces, labels, fixed, self.size * self.size, watch)
    }

    /// The label of each patch at a level, dense from 0.
    fn cut(&self, count: usize) -> Vec<u32> {
        let patches = self.nodes.len();
        let mut parent: Vec<u32> = (0..patches as u32).collect();
        for m in self.merges.iter().take(patches.saturating_sub(count)) {
            unite(&mut parent, m.into, m.from);
        }
        let mut label = vec![u32::MAX; patches];
        let mut next = 0;
        (0..patches as u32)
            .map(|p| {
                let root = find(&mut parent, p) as usize;
                if label[root] == u32::MAX {
                    label[root] = next;
                    next += 1;
                }
                label[root]
            })
            .collect()
    }
}
