//! The sheets of lines: recesses to line and edges to catch, the most important first, numbered, with their list.

use crate::compose::{
    ABOVE, BACK, Composer, FRONT, LEFT, NOTHING, RIGHT, SMOOTH, THREE_QUARTER, named, srgb,
};
use crate::compose_regions::NAME;
use crate::labels::boundary;
use crate::view_sheet::{NamedRow, NamedView, Tag, ViewSheet};
use grisaille_base::{Millimetres, RegionId, Stop};
use grisaille_colour::LinearRgb;
use grisaille_form::{Line, parted};
use grisaille_picture::{BorderPen, Contours, LinePen, Stroke, View, marked_svg};
use grisaille_plan::{LINES_TOLD, MixPlace, StageKind};
use grisaille_scheme::Ink;
use grisaille_words::say;

/// Dark blue and orange are told apart by every kind of colour vision (M. Okabe, K. Ito, 2008).
const RECESS: [u8; 3] = [0, 45, 120];
const EDGE: [u8; 3] = [213, 94, 0];
/// Lines with a number, and the rest of those that are drawn, mm wide on paper.
const HEAVY: f64 = 0.75;
const LIGHT: f64 = 0.35;
/// So many lines are drawn; the rest is left to a wash and a dry brush.
const DRAWN: usize = 80;
/// A line is named where so much of it is seen, mm on paper.
const NAMED: f64 = 2.0;

/// What a sheet of lines is about.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Of {
    Recesses,
    Edges,
}

impl Composer<'_> {
    /// The sheets of recesses and of edges, as far as there are any.
    pub(crate) fn line_sheets(&mut self) -> Result<Vec<ViewSheet>, Stop> {
        let Some(lining) = self.lining else { return Ok(Vec::new()) };
        let mut sheets = Vec::new();
        // Front and back always, other sides as far as they show what has no number yet; what can only be shown
        // smaller comes last.
        let mut sides = [FRONT, BACK, THREE_QUARTER, LEFT, RIGHT, ABOVE];
        sides[2..].sort_by(|a, b| self.named_scale(*b).total_cmp(&self.named_scale(*a)));
        for (of, lines) in [
            (Of::Recesses, &lining.recesses[..lining.figure_recesses]),
            (Of::Edges, &lining.edges[..lining.figure_edges]),
        ] {
            if lines.is_empty() {
                continue;
            }
            let mut views = Vec::new();
            let mut numbered = vec![false; lines.len().min(LINES_TOLD)];
            for view in sides {
                let usual = view == FRONT || view == BACK;
                if !usual && numbered.iter().all(|n| *n) {
                    break;
                }
                let known = if usual { vec![false; numbered.len()] } else { numbered.clone() };
                let shown = self.line_view(view, of, (lines, lining.width), &known)?;
                let ranks: Vec<usize> = shown.tags.iter().filter_map(|t| t.number.parse().ok()).collect();
                if usual || !ranks.is_empty() {
                    for rank in ranks {
                        if let Some(n) = numbered.get_mut(rank.wrapping_sub(1)) {
                            *n = true;
                        }
                    }
                    views.push(shown);
                }
            }
            let rest = lines.len().saturating_sub(LINES_TOLD);
            let (key, part, title, lead) = match of {
                Of::Recesses => ("recesses", "part-recesses", "recesses-title", "recesses-lead"),
                Of::Edges => ("edges", "part-edges", "edges-sheet-title", "edges-sheet-lead"),
            };
            let words = self.words;
            let deep = if of == Of::Recesses { "column-depth" } else { "column-height" };
            let mut notes = Vec::new();
            if rest > 0 {
                let thin = rest.min(DRAWN - LINES_TOLD).to_string();
                let (few, many) = match of {
                    Of::Recesses => ("lines-thin", "lines-thin-and-more"),
                    Of::Edges => ("edges-thin", "edges-thin-and-more"),
                };
                notes.push(match rest.saturating_sub(DRAWN - LINES_TOLD) {
                    0 => say!(words, few, thin = thin),
                    n => say!(words, many, thin = thin, n = n.to_string()),
                });
            }
            let unseen = numbered.iter().enumerate().filter(|(_, n)| !**n);
            let unseen: Vec<String> = unseen.map(|(rank, _)| (rank + 1).to_string()).collect();
            if !unseen.is_empty() {
                notes.push(say!(words, "lines-unseen", n = unseen.len(), numbers = words.list(&unseen)));
            }
            sheets.push(ViewSheet {
                key,
                part: say!(words, part),
                title: say!(words, title),
                lead: say!(words, lead),
                views,
                columns: ["column-where", "column-length", deep]
                    .into_iter()
                    .chain(self.coloured.map(|_| "column-mix"))
                    .map(|key| say!(words, key))
                    .collect(),
                rows: self.line_rows(of, lines),
                notes,
                ..ViewSheet::default()
            });
        }
        Ok(sheets)
    }

    /// A view with lines; those that are `known` get no number.
    fn line_view(
        &mut self,
        view: usize,
        of: Of,
        (lines, width): (&[Line], f64),
        known_ranks: &[bool],
    ) -> Result<NamedView, Stop> {
        let scale = self.named_scale(view);
        let frame = self.frame(&View::all()[view], scale, SMOOTH);
        let scene = self.scene(&frame, SMOOTH)?;
        let pale = scene.marked(|_| None, |_| NOTHING, self.watch)?;
        let mut svgs = scene.lines_over(None, BorderPen::FINE, Contours::Faint, self.watch)?;
        let Some(known) = self.lines.iter().find(|known| known.view() == frame.view()) else {
            return Ok(NamedView::default());
        };
        let behind = width + 2.0 * frame.mm_per_pixel();
        let mut seen: Vec<Vec<Stroke>> = Vec::new();
        for line in lines.iter().take(DRAWN) {
            self.watch.check()?;
            seen.push(known.course((&line.points, line.closed), behind, &frame));
        }
        let ink = match (self.scheme.print.ink, of) {
            (Ink::Grey, _) => LinearRgb::BLACK,
            (Ink::Colour, Of::Recesses) => LinearRgb::from_srgb8(RECESS),
            (Ink::Colour, Of::Edges) => LinearRgb::from_srgb8(EDGE),
        };
        // Edges are dashed, so that they are told from recesses in black alone too.
        let pen = |width| LinePen { width, ink, dashed: of == Of::Edges };
        let split = seen.len().min(LINES_TOLD);
        let light: Vec<Stroke> = seen[split..].iter().flatten().cloned().collect();
        let heavy: Vec<Stroke> = seen[..split].iter().flatten().cloned().collect();
        let size_px = [frame.width(), frame.height()];
        svgs.push(marked_svg(size_px, &[(&light, pen(LIGHT)), (&heavy, pen(HEAVY))], SMOOTH));
        let size = size_px.map(|px| f64::from(px) / SMOOTH);
        // The middle of the longest part that is seen.
        let spots: Vec<(usize, [f64; 2])> = seen[..split]
            .iter()
            .enumerate()
            .filter(|(rank, _)| !known_ranks.get(*rank).is_some_and(|k| *k))
            .filter_map(|(rank, strokes)| {
                let longest = strokes.iter().max_by(|a, b| a.length().total_cmp(&b.length()))?;
                if longest.length() / SMOOTH < NAMED {
                    return None;
                }
                let middle = longest.points.get(longest.points.len() / 2)?;
                let spot = middle.map(|px| px / SMOOTH);
                (0..2).all(|k| (0.0..=size[k]).contains(&spot[k])).then_some((rank, spot))
            })
            .collect();
        let ends = boundary(&spots.iter().map(|s| s.1).collect::<Vec<_>>(), size, NAME);
        let tags: Vec<Tag> = spots
            .iter()
            .zip(ends)
            .filter_map(|((rank, spot), end)| {
                Some(Tag {
                    number: (rank + 1).to_string(),
                    name: self.line_name(&lines[*rank]),
                    look: None,
                    spot: spot.map(Millimetres),
                    end: end?.map(Millimetres),
                })
            })
            .collect();
        let words = self.words;
        let what = if of == Of::Recesses { "alt-recesses" } else { "alt-edges" };
        let told: Vec<String> = tags.iter().map(|t| format!("{} {}", t.number, t.name)).collect();
        let alt = say!(words, what, side = self.side(frame.view()), lines = words.row(&told));
        let file = pale.image.jpeg(SMOOTH, self.watch)?;
        let picture = self.printed((&frame, SMOOTH, scale), file, alt, svgs);
        Ok(NamedView { view: named(words, view, "", picture), tags })
    }

    /// Between which regions a line runs, or on which.
    fn line_name(&self, line: &Line) -> String {
        let Some(regions) = self.regions else { return String::new() };
        let name = |r: RegionId| self.region_name(r.index());
        match parted(line, &regions.of_face) {
            Some([a, b]) if name(a) != name(b) => format!("{} | {}", name(a), name(b)),
            Some([a, _]) => name(a),
            None => {
                let face = line.faces.get(line.faces.len() / 2);
                let own = face.and_then(|f| regions.of_face.get(*f as usize));
                own.map_or_else(String::new, |r| name(*r))
            }
        }
    }

    fn line_rows(&self, of: Of, lines: &[Line]) -> Vec<NamedRow> {
        let rows = lines.iter().take(LINES_TOLD).enumerate().map(|(rank, line)| {
            let mut cells =
                vec![self.line_name(line), format!("{:.0} mm", line.length), format!("{:.1} mm", line.depth)];
            let mut look = None;
            if self.coloured.is_some() {
                let recipe = self.line_recipe(of, line);
                look = recipe.map(|(colour, _)| srgb(colour));
                let mix = recipe.and_then(|(_, mix)| mix.map(str::to_owned));
                let metal = || self.is_metal(line).then(|| say!(self.words, "line-of-metal"));
                cells.push(mix.or_else(metal).unwrap_or_else(|| "–".into()));
            }
            NamedRow { number: (rank + 1).to_string(), look, cells }
        });
        rows.collect()
    }

    /// Whether a line lies on true metal, which nothing is drawn on.
    fn is_metal(&self, line: &Line) -> bool {
        let own = self.coloured.zip(line.faces.get(line.faces.len() / 2));
        own.is_some_and(|(coloured, face)| coloured.colouring.is_true_metal(*face as usize))
    }

    /// The colour and the mix of a line, from the stage that draws it.
    fn line_recipe(&self, of: Of, line: &Line) -> Option<(LinearRgb, Option<&str>)> {
        let (coloured, regions) = (self.coloured?, self.regions?);
        let colouring = &coloured.colouring;
        let entry = |r: RegionId| {
            let row = (*colouring.row_of_region.get(r.index())?)?;
            colouring.rows.get(row).map(|row| row.entry)
        };
        let own = || {
            let face = line.faces.get(line.faces.len() / 2)?;
            entry(*regions.of_face.get(*face as usize)?)
        };
        let (kind, places) = match of {
            Of::Recesses => {
                let [a, b] = match parted(line, &regions.of_face) {
                    Some([a, b]) => [entry(a)?, entry(b)?],
                    None => [own()?; 2],
                };
                (StageKind::Lining, vec![MixPlace::Lines([a, b]), MixPlace::Lines([b, a])])
            }
            Of::Edges => (StageKind::Edges, vec![MixPlace::Edges(own()?)]),
        };
        let stage = coloured.stages.iter().find(|s| s.kind == kind)?;
        let recipe = stage.recipes.iter().find(|r| places.contains(&r.place))?;
        Some((recipe.colour.shown(), recipe.mix.as_deref()))
    }
}
