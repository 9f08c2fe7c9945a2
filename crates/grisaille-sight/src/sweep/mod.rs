//! The engine for whole batches: samples and faces swept together in the
//! light's own axes.
//!
//! Seen from the light, what shades a sample lies in the same place of the
//! view, and nearer. So nothing is traced. A coarse look at lots of eight faces
//! and eight samples leaves out the lots of faces that turn to the light or have
//! no sample below them, and takes for lit the lots of samples above which no
//! lot of faces is left (`coarse`). What remains is cut into tiles of a few
//! thousand samples; each tile's samples are dealt into a grid of small cells
//! (`grid`), and every face that may shade any of them is brought into the
//! light's axes (`ready`), laid over the cells that it covers and tested against
//! the few samples in them, eight at a time (`leaf`).
//!
//! What was tried and lost: see `docs/exposure.md`.

mod axes;
mod block;
mod broad;
mod coarse;
mod cut;
mod grid;
mod lanes;
mod leaf;
mod lots;
mod place;
mod ready;
mod width;

use self::axes::{Axes, Extent, facing};
use self::block::Hull;
use self::block::{FaceBlock, LOT, LOTS, face_blocks};
pub(crate) use self::block::{Patch, patches};
use self::broad::{BROAD, mark_broad, reach};
use self::coarse::{Coarse, LotCells};
use self::lanes::{bits, less, more};
use self::leaf::{Question, Scratch, leaf};
use self::lots::Extents;
use self::place::measure;
pub use self::width::Width;
use crate::bits::Bits;
use crate::engine::{Sight, Source};
use crate::occluder::{FaceMask, Occluders};
use crate::surface::Samples;
use grisaille_base::{Stop, Watch};
use nalgebra::Vector3;
use rayon::prelude::*;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// Patches in a tile, at most, unless it cannot be cut any further.
const TILE: usize = 256;
/// Cells of the coarse look for each lot of samples.
const FINE: usize = 2;
/// Steps of height in which blocks are taken, the nearest to the light first.
const STEPS: f64 = 6.0;
/// How often a view is cut in two, at most.
const DEPTH: u32 = 24;

/// Answers a whole batch for one source by sweeping, not by tracing.
pub struct SweepSight {
    occluders: Arc<Occluders>,
    blocks: Vec<FaceBlock>,
    hulls: Vec<Hull>,
    middle: Vector3<f64>,
    arch: pulp::Arch,
}

impl SweepSight {
    /// Sorts the faces into blocks; time is part of the phase `structure`.
    #[must_use]
    pub fn new(occluders: Arc<Occluders>, watch: &Watch) -> Self {
        let _span = watch.span("structure", 0);
        let (blocks, hulls) = watch.run(|| face_blocks(&occluders));
        let all = hulls.iter().fold(Hull::NOTHING, Hull::with);
        let middle = if hulls.is_empty() { Vector3::zeros() } else { Vector3::from(all.ball().0) };
        Self { occluders, blocks, hulls, middle, arch: pulp::Arch::new() }
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
    /// Of a patch: the samples that are asked about. Of a block: the lots that
    /// may shade one.
    word: u64,
    extent: Extent,
}

/// A patch, and where each of its lots is, from the view's own origin.
struct Asked {
    item: Item,
    lots: Extents,
}

/// A block that may shade samples, and where in the coarse look its lots are.
struct Shading {
    item: Item,
    cells: LotCells,
    top: [f32; LOTS],
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
    /// A point in the middle of the model as the light sees it, so that less
    /// is rounded away of what is told from there.
    fn origin(&self, axes: Axes) -> [f64; 3] {
        match axes {
            Axes::Parallel { across, toward } => [across[0], across[1], toward].map(|r| r.dot(&self.middle)),
            Axes::Cube { .. } => [0.0; 3],
        }
    }

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
        let question = Question {
            axes,
            source,
            samples,
            occluders: &self.occluders,
            blocks: &self.blocks,
            mask,
            clear,
            // Along the normal and 64 times that along the surface, rounded up.
            off_position: (samples.offset * 66.0) as f32,
        };
        let origin = self.origin(axes);
        let arch = self.arch;
        let patches: Vec<Asked> = samples
            .patches()
            .par_iter()
            .with_min_len(256)
            .enumerate()
            .filter(|(i, patch)| {
                samples.buried.words()[*i] != u64::MAX && facing(&patch.hull, source).1 > 0.0
            })
            .filter_map(|(i, _)| arch.dispatch(Measure { question: &question, index: i, origin }))
            .collect();
        watch.check()?;
        let low = Coarse::around(&patches, f32::INFINITY);
        let low = low.marked(&patches, arch, Asked::mark, less);
        let blocks: Vec<Shading> = self
            .hulls
            .par_iter()
            .with_min_len(256)
            .enumerate()
            // Normals are rounded to `f32`: what turns to the light by less
            // than this may turn away.
            .filter(|(i, hull)| {
                self.blocks[*i].open || facing(hull, source).0 < 1e-5 * longest_way(hull, source)
            })
            .filter_map(|(i, hull)| Some(Item { index: i as u32, word: 0, extent: axes.extent(hull)? }))
            .filter_map(|item| arch.dispatch(Shade { question: &question, item, origin, low: &low }))
            .collect();
        watch.check()?;
        let high = low.again(f32::NEG_INFINITY).marked(
            &blocks,
            arch,
            |b: &Shading, high: &mut Coarse| b.mark(&question, origin, high),
            more,
        );
        let blocks: Vec<Item> = blocks.into_iter().map(|b| b.item).collect();
        let patches: Vec<Item> = patches
            .into_par_iter()
            .with_min_len(256)
            .filter_map(|patch| {
                let lit = arch.dispatch(|| patch.lit(&high));
                if lit != 0 {
                    words[patch.item.index as usize].fetch_or(lit, Ordering::Relaxed);
                }
                let word = patch.item.word & !lit;
                (word != 0).then_some(Item { word, ..patch.item })
            })
            .collect();
        watch.check()?;
        let everything = f64::INFINITY;
        let part = Extent { low: [-everything; 3], high: [everything; 3] };
        let tiles = Tile { part, patches, blocks }.cut(DEPTH);
        tiles.par_iter().try_for_each_init(Scratch::default, |scratch, tile| {
            watch.check()?;
            let middle = tile.middle();
            arch.dispatch(Work { question: &question, tile, middle, scratch });
            for (patch, seen) in scratch.answer() {
                if seen != 0 {
                    words[patch as usize].fetch_or(seen, Ordering::Relaxed);
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
        let blocks = self.tile.blocks.iter().map(|b| (b.index, b.word));
        leaf(self.question, &self.tile.part, patches, blocks, self.middle, self.scratch);
    }
}

/// A patch with what is asked about it, likewise.
struct Measure<'a> {
    question: &'a Question<'a>,
    index: usize,
    origin: [f64; 3],
}

impl pulp::WithSimd for Measure<'_> {
    type Output = Option<Asked>;

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Self::Output {
        let (word, extent, lots) = measure(self.question, self.index, self.origin)?;
        Some(Asked { item: Item { index: self.index as u32, word, extent }, lots })
    }
}

/// The lots of a block that may shade a sample, likewise.
struct Shade<'a> {
    question: &'a Question<'a>,
    item: Item,
    origin: [f64; 3],
    low: &'a Coarse,
}

impl pulp::WithSimd for Shade<'_> {
    type Output = Option<Shading>;

    #[inline(always)]
    fn with_simd<S: pulp::Simd>(self, _: S) -> Self::Output {
        let block = &self.question.blocks[self.item.index as usize];
        let extents = block.lots.extents(&self.question.axes, block.middle, self.origin);
        let away = block.lots.away(self.question.source, block.middle);
        let cells = self.low.cells(&extents);
        let mut word = 0;
        for (lot, (top, away)) in extents.high[2].into_iter().zip(away).enumerate() {
            let turned = block.open || away >= 0.0;
            if turned && self.low.any(&cells, lot, |depth| depth <= top) {
                word |= 1 << lot;
            }
        }
        (word != 0).then_some(Shading { item: Item { word, ..self.item }, cells, top: extents.high[2] })
    }
}

impl Shading {
    /// Notes how near to the light its lots reach.
    #[inline(always)]
    fn mark(&self, q: &Question<'_>, origin: [f64; 3], high: &mut Coarse) {
        let block = &q.blocks[self.item.index as usize];
        for lot in bits(self.item.word) {
            if reach(&self.cells, lot) > BROAD && mark_broad(q, block, lot, origin, high) {
                continue;
            }
            let top = self.top[lot];
            high.mark(&self.cells, lot, |depth| more(depth, top));
        }
    }
}

impl Asked {
    /// Notes how far from the light its samples lie.
    #[inline(always)]
    fn mark(&self, low: &mut Coarse) {
        let cells = low.cells(&self.lots);
        for lot in (0..LOTS).filter(|lot| self.item.word >> (lot * LOT) & 0xff != 0) {
            let bottom = self.lots.low[2][lot];
            low.mark(&cells, lot, |depth| less(depth, bottom));
        }
    }

    /// The samples over which there is nothing.
    #[inline(always)]
    fn lit(&self, high: &Coarse) -> u64 {
        let cells = high.cells(&self.lots);
        let mut lit = 0;
        for lot in 0..LOTS {
            let asked = self.item.word & 0xff << (lot * LOT);
            let bottom = self.lots.low[2][lot];
            if asked != 0 && !high.any(&cells, lot, |depth| depth >= bottom) {
                lit |= asked;
            }
        }
        lit
    }
}

impl Coarse {
    /// A grid over patches, a cell or so for each lot.
    fn around(patches: &[Asked], start: f32) -> Self {
        let (mut low, mut high) = ([f32::INFINITY; 2], [f32::NEG_INFINITY; 2]);
        for patch in patches {
            for k in 0..2 {
                low[k] = patch.lots.low[k].iter().fold(low[k], |m, v| less(*v, m));
                high[k] = patch.lots.high[k].iter().fold(high[k], |m, v| more(*v, m));
            }
        }
        Self::over(low, high, patches.len() * LOTS * FINE, start)
    }

    /// The grid after all of `things` have marked it: each thread marks a
    /// grid of its own, and of two depths that meet `pick` keeps one, whichever
    /// came first.
    fn marked<T: Sync>(
        &self,
        things: &[T],
        arch: pulp::Arch,
        mark: impl Fn(&T, &mut Self) + Sync,
        pick: impl Fn(f32, f32) -> f32 + Sync,
    ) -> Self {
        let share = things.len().div_ceil(rayon::current_num_threads()).max(4096);
        let part = |things: &[T]| {
            let mut grid = self.clone();
            arch.dispatch(|| things.iter().for_each(|thing| mark(thing, &mut grid)));
            grid
        };
        let grids = things.par_chunks(share).map(part);
        grids.reduce_with(|one, two| one.merged(&two, &pick)).unwrap_or_else(|| self.clone())
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
    /// The blocks nearest to the light first, as they may shade the most; in a
    /// few steps only, since neighbours in their own order touch the same cells.
    fn nearest_first(mut self) -> Self {
        let tops = self.blocks.iter().map(|b| b.extent.high[2]);
        let low = tops.clone().fold(f64::INFINITY, f64::min);
        let high = tops.filter(|z| z.is_finite()).fold(low, f64::max);
        let per = STEPS / (high - low).max(f64::MIN_POSITIVE);
        self.blocks.sort_by_key(|b| std::cmp::Reverse(((b.extent.high[2] - low) * per) as u32));
        self
    }

    /// Cuts until tiles are small.
    fn cut(mut self, depth: u32) -> Vec<Self> {
        // Faces lower than every sample shade none of them.
        let lowest = self.patches.iter().map(|p| p.extent.low[2]).fold(f64::INFINITY, f64::min);
        self.blocks.retain(|b| b.extent.high[2] >= lowest);
        if self.patches.is_empty() {
            return Vec::new();
        }
        if depth == 0 || self.patches.len() <= TILE {
            return vec![self.nearest_first()];
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
            return vec![self.nearest_first()];
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
