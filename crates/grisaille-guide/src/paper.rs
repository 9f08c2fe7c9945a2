//! The paper: its margins, and how much room each kind of picture has on it.

use crate::picture::Room;
use grisaille_base::Millimetres;
use grisaille_scheme::PaperSize;

/// What a sheet's heading takes of its height, mm.
const HEADING: f64 = 17.0;
/// Between two columns, mm.
pub(crate) const GAP: f64 = 5.0;

/// The paper of a guide, and the rooms for pictures on it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Paper(pub PaperSize);

const fn room(width: f64, height: f64) -> Room {
    Room { width: Millimetres(width), height: Millimetres(height) }
}

impl Paper {
    /// Width and height of the sheet, mm.
    #[must_use]
    pub fn size(self) -> [f64; 2] {
        match self.0 {
            PaperSize::A4 => [210.0, 297.0],
            PaperSize::Letter => [215.9, 279.4],
            PaperSize::A5 => [148.0, 210.0],
        }
    }

    /// The margins at the sides, at the top and at the foot, mm; printers at
    /// home leave up to 6 mm at the sides and 13 mm at the foot blank (common
    /// practice).
    #[must_use]
    pub fn margins(self) -> [f64; 3] {
        if self.is_small() { [10.0, 10.0, 20.0] } else { [18.0, 16.0, 21.0] }
    }

    /// Whether a sheet has room for one card only, and for few columns.
    #[must_use]
    pub fn is_small(self) -> bool {
        self.0 == PaperSize::A5
    }

    /// The width between the margins, mm.
    #[must_use]
    pub fn wide(self) -> f64 {
        self.size()[0] - 2.0 * self.margins()[0]
    }

    /// The height between the margins, mm.
    #[must_use]
    pub fn high(self) -> f64 {
        let [_, top, foot] = self.margins();
        self.size()[1] - top - foot
    }

    /// The height of the pictures' part of a sheet, under its heading, mm.
    pub(crate) fn tall(self) -> f64 {
        self.high() - HEADING
    }

    /// The room for the picture on the cover.
    #[must_use]
    pub fn cover(self) -> Room {
        // Below it stand the facts, the bar to measure, and on large sheets how to work with them.
        room(self.wide(), self.high() - if self.is_small() { 118.0 } else { 144.0 })
    }

    /// The room for the finished figure on the summary.
    #[must_use]
    pub fn summary(self) -> Room {
        if self.is_small() { room(44.0, 66.0) } else { room(62.0, 96.0) }
    }

    /// The room for a view of the figure. On A4 two of 84 mm or three of 54 mm
    /// in width stand side by side, and two rows of 104 mm in height with
    /// captions of one line stand on a sheet. Beside narrower pictures the
    /// legend stands in a column of its own.
    #[must_use]
    pub fn view(self) -> Room {
        room(self.wide(), self.tall() - 10.0)
    }

    /// The width of the column of names on each side of a view, mm.
    pub(crate) fn name_column(self) -> f64 {
        if self.is_small() { 28.0 } else { 36.0 }
    }

    /// The room for a view between two columns of names: two stand on a large
    /// sheet, one on a small one.
    #[must_use]
    pub fn named(self) -> Room {
        let width = self.wide() - 2.0 * (self.name_column() + 3.0);
        let height = if self.is_small() { self.tall() - 22.0 } else { 0.5 * self.tall() - 10.0 };
        room(width, height)
    }

    /// The room for a picture on a stage's card. On A4, with 84 mm in height
    /// two cards stand on a sheet, with 58 mm mostly three.
    #[must_use]
    pub fn stage(self) -> Room {
        if self.is_small() { room(self.wide(), 104.0) } else { room(104.0, self.high() - 64.0) }
    }

    /// The room for a picture in a column about primer: two in height stand
    /// below each other, and as many columns side by side as there is width.
    #[must_use]
    pub fn primer(self) -> Room {
        room(0.5 * (self.wide() - GAP), self.primer_row() - 10.5)
    }

    /// The height of two rows of pictures about primer with their scale, mm.
    pub(crate) fn primer_rows(self) -> f64 {
        if self.is_small() { 58.0 } else { self.high() - 138.0 }
    }

    /// The height of one row of pictures about primer with its scale, mm.
    pub(crate) fn primer_row(self) -> f64 {
        if self.is_small() { 48.0 } else { self.high() - 131.0 }
    }

    /// So many columns about primer stand side by side at most.
    pub(crate) fn primer_columns(self) -> usize {
        if self.is_small() { 2 } else { 4 }
    }

    /// The height for pictures under a table of `rows` mm, mm.
    pub(crate) fn under(self, rows: f64) -> f64 {
        // Under the heading, what leads in, and the head of the table.
        (self.high() - 45.0 - rows).max(0.4 * self.high())
    }

    /// The room for a sketch of a direction.
    #[must_use]
    pub fn sketch(self) -> Room {
        room(12.0, 17.0)
    }
}
