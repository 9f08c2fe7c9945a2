//! The engine for whole batches: samples and faces swept together in the
//! light's own axes.
//!
//! Seen from the light, what shades a sample lies in the same place of the
//! view, and nearer. So nothing is traced: the view is cut into tiles of a
//! few thousand samples, each tile's samples are dealt into a grid of small
//! cells, and every face that may shade any of them is laid over the cells
//! that it covers and tested against the few samples in them, eight at a
//! time. Blocks of faces and of samples are left out as a whole where they
//! turn the wrong way, where they share no tile, and where all faces lie lower
//! than all samples.
//!
//! What was tried and lost: see `docs/exposure.md`.

mod axes;
mod block;
mod coarse;
mod leaf;
mod width;

use self::axes::{Axes, Extent, facing};
use self::block::Hull;
use self::block::{FaceBlock, face_blocks};
pub(crate) use self::block::{Patch, patches};
use self::coarse::Coarse;
use self::leaf::{Question, Scratch, leaf, measure};
pub use self::width::Width;
use crate::bits::Bits;
use crate::engine::{Sight, Source};
use crate::occluder::{FaceMask, Occluders};
use crate::surface::Samples;
use grisaille_base::{Stop, Watch};
use rayon::prelude::*;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// Patches in a tile, at most, unless it cannot be cut any further.
const TILE: usize = 256;
/// How often a view is cut in two, at most.
const DEPTH: u32 = 24;

/// Answers a whole batch for one source by sweeping, not by tracing.
pub struct SweepSight {
    occluders: Arc<Occluders>,
    blocks: Vec<FaceBlock>,
    hulls: Vec<Hull>,
    arch: pulp::Arch,
}

impl SweepSight {
    /// Sorts the faces into blocks; time is part of the phase `structure`.
    #[must_use]
    pub fn new(occluders: Arc<Occluders>, watch: &Watch) -> Self {
        let _span = watch.span("structure", 0);
        let (blocks, hulls) = watch.run(|| face_blocks(&occluders));
        Self { occluders, blocks, hulls, arch: pulp::Arch::new() }
    }

    /// The same with this width of vectors instead of the machine's widest;
    /// `None` where the machine lacks it. The answers are the same bits.
    #[doc(hidden)]
    #[must_use]
    pub fn with_width(self, width: Width) -> Option<Self> {
        Some(Self { arch: width.arch()?, ..self })
    }
}

/// A block or a patch with its extent in the light's axes.
#[derive(Clone, Copy)]
struct Item {
    index: u32,
    /// Of a patch: the samples that are asked about.
    word: u64,
    extent: Extent,
}

/// A tile: a part of the view, the patches that reach into it, and the blocks
/// that may shade them.
struct Tile {
    part: Extent,
    patches: Vec<Item>,
    blocks: Vec<Item>,
}

impl Sight for SweepSight {
    fn visible(
        &self,
        samples: &Samples,
        source: Source,
        mask: &FaceMask,
        out: &mut Bits,
        watch: &Watch,
    ) -> Result<(), Stop> {
        debug_assert_eq!(out.len(), samples.len());
        let words: Vec<AtomicU64> = out.words().iter().map(|_| AtomicU64::new(0)).collect();
        watch.run(|| {
            Axes::of(source)
                .into_par_iter()
                .try_for_each(|axes| self.view(samples, source, axes, mask, &words, watch))
        })?;
        for (word, seen) in out.words_mut().iter_mut().zip(words) {
            *word = seen.into_inner();
        }
        Ok(())
    }
}

impl SweepSight {
    fn view(
        &self,
        samples: &Samples,
        source: Source,
        axes: Axes,
        mask: &FaceMask,
        words: &[AtomicU64],
        watch: &Watch,
    ) -> Result<(), Stop> {
        let clear = if let Source::Point { clear, .. } = source { clear } else { 0.0 };
        let question =
            Question { axes, source, samples, occluders: &self.occluders, blocks: &self.blocks, mask, clear };
        let arch = self.arch;
        let mut patches: Vec<Item> = samples
            .patches()
            .par_iter()
            .with_min_len(512)
            .enumerate()
            .filter(|(i, patch)| {
                samples.buried.words()[*i] != u64::MAX && facing(&patch.hull, source).1 > 0.0
            })
            .filter_map(|(i, _)| {
                let (word, extent) = arch.dispatch(Measure { question: &question, index: i })?;
                Some(Item { index: i as u32, word, extent })
            })
            .collect();
        watch.check()?;
        let blocks: Vec<Item> = self
            .hulls
            .par_iter()
            .with_min_len(512)
            .enumerate()
            // Normals are rounded to `f32`: what turns to the light by less
            // than this may turn away.
            .filter(|(i, hull)| {
                self.blocks[*i].open || facing(hull, source).0 < 1e-5 * longest_way(hull, source)
            })
            .filter_map(|(i, hull)| Some(Item { index: i as u32, word: 0, extent: axes.extent(hull)? }))
            .collect();
        watch.check()?;
        let mut low = Coarse::over(patches.iter().map(|p| &p.extent), patches.len() + 1, f64::INFINITY);
        for patch in &patches {
            low.mark(&patch.extent, |depth| depth.min(patch.extent.low[2]));
        }
        let blocks: Vec<Item> = blocks
            .into_par_iter()
            .with_min_len(512)
            .filter(|b| low.any(&b.extent, |depth| depth <= b.extent.high[2]))
            .collect();
        let mut high = low.again(f64::NEG_INFINITY);
        for block in &blocks {
            high.mark(&block.extent, |depth| depth.max(block.extent.high[2]));
        }
        patches.retain(|p| {
            let shaded = high.any(&p.extent, |depth| depth >= p.extent.low[2]);
            if !shaded {
                words[p.index as usize].fetch_or(p.word, Ordering::Relaxed);
            }
            shaded
        });
        let everything = f64::INFINITY;
        let part = Extent { low: [-everything; 3], high: [everything; 3] };
        let tiles = Tile { part, patches, blocks }.cut(DEPTH);
        tiles.par_iter().try_for_each_init(Scratch::default, |scratch, tile| {
            watch.check()?;
            let middle = tile.middle();
            arch.dispatch(Work { question: &question, tile, middle, scratch });
            for (patch, seen) in scratch.patch.iter().zip(&scratch.seen) {
                if *seen != 0 {
                    words[*patch as usize].fetch_or(*seen, Ordering::Relaxed);
                }
            }
            Ok(())
        })
    }
}

/// One tile's work, to be compiled for each width of vectors and chosen from
/// by what the machine has.
struct Work<'a> {
    question: &'a Question<'a>,
    tile: &'a Tile,
    middle: [f64; 3],
    scratch: &'a mut Scratch,
}

impl pulp::WithSimd for Work<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) {
        let patches = self.tile.patches.iter().map(|p| (p.index, p.word));
        let blocks = self.tile.blocks.iter().map(|b| b.index);
        leaf(self.question, &self.tile.part, patches, blocks, self.middle, self.scratch);
    }
}

/// One patch's bits and extent, likewise.
struct Measure<'a> {
    question: &'a Question<'a>,
    index: usize,
}

impl pulp::WithSimd for Measure<'_> {
    type Output = Option<(u64, Extent)>;

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Self::Output {
        measure(self.question, self.index)
    }
}

/// No less than the longest vector toward the light that [`facing`] used.
fn longest_way(hull: &Hull, source: Source) -> f64 {
    match source {
        Source::Direction(_) => 1.0,
        Source::Point { at, .. } => (0..3)
            .map(|k| (at[k] - f64::from(hull.low[k])).abs().max((at[k] - f64::from(hull.high[k])).abs()))
            .sum(),
    }
}

impl Tile {
    /// Cuts until tiles are small.
    fn cut(mut self, depth: u32) -> Vec<Self> {
        // Faces lower than every sample shade none of them.
        let lowest = self.patches.iter().map(|p| p.extent.low[2]).fold(f64::INFINITY, f64::min);
        self.blocks.retain(|b| b.extent.high[2] >= lowest);
        if self.patches.is_empty() {
            return Vec::new();
        }
        if depth == 0 || self.patches.len() <= TILE {
            return vec![self];
        }
        let bounds = self.bounds();
        let axis = usize::from(bounds.high[1] - bounds.low[1] > bounds.high[0] - bounds.low[0]);
        let at = 0.5 * (bounds.low[axis] + bounds.high[axis]);
        let half = |upper: bool| {
            let mut part = self.part;
            if upper {
                part.low[axis] = at;
            } else {
                part.high[axis] = at;
            }
            let within = |items: &[Item]| -> Vec<Item> {
                items
                    .iter()
                    .filter(|i| if upper { i.extent.high[axis] >= at } else { i.extent.low[axis] < at })
                    .copied()
                    .collect()
            };
            Self { part, patches: within(&self.patches), blocks: within(&self.blocks) }
        };
        let (one, two) = (half(false), half(true));
        // Where most patches reach over the cut, cutting only repeats work.
        if (one.patches.len() + two.patches.len()) * 5 > self.patches.len() * 8 {
            return vec![self];
        }
        let (mut tiles, rest) = rayon::join(|| one.cut(depth - 1), || two.cut(depth - 1));
        tiles.extend(rest);
        tiles
    }

    /// The part of the view that the tile's patches cover.
    fn bounds(&self) -> Extent {
        let mut bounds = Extent { low: [f64::INFINITY; 3], high: [f64::NEG_INFINITY; 3] };
        for patch in &self.patches {
            for k in 0..3 {
                bounds.low[k] = bounds.low[k].min(patch.extent.low[k].max(self.part.low[k]));
                bounds.high[k] = bounds.high[k].max(patch.extent.high[k].min(self.part.high[k]));
            }
        }
        bounds
    }

    /// The point from which the tile's coordinates are taken: any would do,
    /// but the nearer to its samples, the less is rounded away.
    fn middle(&self) -> [f64; 3] {
        let bounds = self.bounds();
        // A patch round a point light reaches to no end toward it.
        let high = self.patches.iter().map(|p| p.extent.high[2]).filter(|z| z.is_finite());
        let high = high.fold(bounds.low[2], f64::max);
        [
            0.5 * (bounds.low[0] + bounds.high[0]),
            0.5 * (bounds.low[1] + bounds.high[1]),
            0.5 * (bounds.low[2] + high),
        ]
    }
}
