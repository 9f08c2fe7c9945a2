//! Patterns that tell zones apart without colour, on the figure and in the
//! legend alike.

use crate::image::mix;
use crate::{Areas, Image};
use grisaille_base::{Lightness, Stop, Watch};
use grisaille_colour::{LinearRgb, luminance_from_lightness};
use rayon::prelude::*;

/// Marks stand so far from their ground, L*.
const MARKS: f64 = 34.0;

/// A pattern laid over a flat colour.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Pattern {
    /// No marks.
    #[default]
    Plain,
    /// Round dots in staggered rows.
    Dots,
    /// Lines that rise to the right.
    Rising,
    /// Lines that fall to the right.
    Falling,
    /// Lines that cross.
    Crossed,
    /// Level lines.
    Level,
    /// Upright lines.
    Upright,
}

impl Pattern {
    /// The patterns in the order in which zones take them. The first, usually
    /// the largest zone, stays plain; neighbours in the list differ most.
    pub const ALL: [Self; 7] =
        [Self::Plain, Self::Rising, Self::Dots, Self::Falling, Self::Level, Self::Crossed, Self::Upright];

    /// The pattern of the zone with this number; after seven they begin again.
    #[must_use]
    pub fn of_zone(zone: usize) -> Self {
        Self::ALL[zone % Self::ALL.len()]
    }

    /// How much of the pixel at `x`, `y` the marks cover, 0 to 1, when marks
    /// stand `pitch_px` apart (held to at least 4).
    #[must_use]
    pub fn cover(self, x: u32, y: u32, pitch_px: f32) -> f32 {
        let pitch = if pitch_px.is_finite() { pitch_px.max(4.0) } else { 8.0 };
        let (x, y) = (x as f32 + 0.5, y as f32 + 0.5);
        // Distance to the nearest of lines `pitch` apart, then ink by distance.
        let line = |along: f32| {
            let d = (along.rem_euclid(pitch) - 0.5 * pitch).abs();
            (0.09 * pitch + 0.5 - d).clamp(0.0, 1.0)
        };
        let slant = std::f32::consts::FRAC_1_SQRT_2;
        match self {
            Self::Plain => 0.0,
            Self::Rising => line((x + y) * slant),
            Self::Falling => line((x - y) * slant),
            Self::Crossed => line((x + y) * slant).max(line((x - y) * slant)),
            Self::Level => line(y),
            Self::Upright => line(x),
            Self::Dots => {
                let row_height = pitch * 0.866;
                let row = (y / row_height).floor();
                let shift = if row.rem_euclid(2.0) < 1.0 { 0.0 } else { 0.5 * pitch };
                let dx = (x + shift).rem_euclid(pitch) - 0.5 * pitch;
                let dy = y.rem_euclid(row_height) - 0.5 * row_height;
                (0.21 * pitch + 0.5 - dx.hypot(dy)).clamp(0.0, 1.0)
            }
        }
    }

    /// The colour of the marks on this ground: toward black on light grounds,
    /// toward white on dark ones, so far in L* that they are seen and no farther, since a dark area
    /// with white marks reads as a light one.
    #[must_use]
    pub fn ink_on(ground: LinearRgb) -> LinearRgb {
        let (ink, own) = (ground.ink(), ground.luminance());
        let apart = if ink == LinearRgb::WHITE { MARKS } else { -MARKS };
        let wanted = luminance_from_lightness(Lightness((ground.lightness().0 + apart).clamp(0.0, 100.0)));
        ground.lerp(ink, ((wanted - own) / (ink.luminance() - own)) as f32)
    }
}

impl Areas {
    /// Lays patterns over a picture: `of` gives the pattern of a label and the
    /// colour of its marks, or `None` to leave that label alone.
    ///
    /// # Errors
    /// [`Stop`] when cancelled.
    pub fn patterns(
        &self,
        image: &mut Image,
        pitch_px: f32,
        of: impl Fn(u16) -> Option<(Pattern, LinearRgb)> + Sync,
        watch: &Watch,
    ) -> Result<(), Stop> {
        if image.width() as usize != self.width() || image.height() as usize != self.height() {
            return Ok(());
        }
        let labels = self.per_pixel(watch)?;
        watch.run(|| {
            image.rgb_mut().par_chunks_mut(self.width() * 3).enumerate().try_for_each(|(y, row)| {
                watch.check()?;
                for (x, pixel) in row.chunks_exact_mut(3).enumerate() {
                    let label = labels[y * self.width() + x];
                    if label == Self::NONE {
                        continue;
                    }
                    if let Some((pattern, ink)) = of(label) {
                        let cover = pattern.cover(x as u32, y as u32, pitch_px);
                        if cover > 0.0 {
                            mix(pixel, ink, cover * self.share(x, y, |l| l == label));
                        }
                    }
                }
                Ok(())
            })
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_stand_out_and_leave_a_dark_area_dark() {
        for l in (22..=94).step_by(8) {
            let ground = LinearRgb::grey(luminance_from_lightness(Lightness(f64::from(l))));
            let marks = Pattern::ink_on(ground);
            let apart = (marks.lightness().0 - ground.lightness().0).abs();
            assert!(apart > 30.0, "{l}: {apart}");
            for pattern in Pattern::ALL {
                let share = (0..64 * 64).map(|i| pattern.cover(i % 64, i / 64, 9.0)).sum::<f32>() / 4096.0;
                let mean = ground.lerp(marks, share).lightness().0;
                assert!((mean - f64::from(l)).abs() < 20.0, "{pattern:?} on {l}: {mean}");
            }
        }
    }

    #[test]
    fn no_two_patterns_look_alike_and_none_hides_its_ground() {
        let drawn = |p: Pattern| -> Vec<f32> { (0..64 * 64).map(|i| p.cover(i % 64, i / 64, 9.0)).collect() };
        for (i, a) in Pattern::ALL.into_iter().enumerate() {
            let one = drawn(a);
            let share = one.iter().sum::<f32>() / one.len() as f32;
            assert!(one.iter().all(|c| (0.0..=1.0).contains(c)));
            assert!(
                if a == Pattern::Plain { share == 0.0 } else { (0.1..0.5).contains(&share) },
                "{a:?} {share}"
            );
            for b in &Pattern::ALL[i + 1..] {
                let far = one.iter().zip(drawn(*b)).map(|(p, q)| (p - q).abs()).sum::<f32>();
                assert!(far / one.len() as f32 > 0.1, "{a:?} {b:?}");
            }
        }
        assert_eq!(Pattern::of_zone(7), Pattern::Plain);
        assert!(Pattern::Dots.cover(u32::MAX, 0, f32::NAN).is_finite());
    }
}
