//! The sheet before gluing: what of each file closes up, and what is kept bare for glue.

use crate::arrange::largest;
use crate::card_pictures::in_ink;
use crate::compose::{BACK, Composer, FINENESS, FRONT, named};
use crate::print::area;
use crate::view_sheet::{NamedRow, NamedView, ViewSheet};
use grisaille_base::Stop;
use grisaille_colour::LinearRgb;
use grisaille_picture::{BorderPen, Contours, Hit, Mark, Pattern, View};
use grisaille_words::say;

/// What closes up: an orange that stays apart from pale grey for every kind of colour vision.
const CLOSES: [u8; 3] = [230, 159, 0];

impl Composer<'_> {
    /// The sheet; none for one file, or where files stand apart.
    pub(crate) fn gluing_sheets(&mut self) -> Result<Vec<ViewSheet>, Stop> {
        let Some(assembly) = self.plan.assembly.clone().filter(|a| a.is_glued()) else {
            return Ok(Vec::new());
        };
        let words = self.words;
        let surface = self.plan.surface.clone();
        let closes = |hit: &Hit| {
            let near = (0..3).max_by(|a, b| hit.barycentric[*a].total_cmp(&hit.barycentric[*b])).unwrap_or(0);
            assembly.closes.get(surface.faces[hit.face.index()][near] as usize).then_some(0)
        };
        let closes_in = in_ink(LinearRgb::from_srgb8(CLOSES), self.ink());
        let mark = |_| Mark { colour: closes_in, pattern: Pattern::Crossed };
        let field = self.field_under(24.0 + 9.0 * assembly.files.len() as f64);
        let scale = largest(&self.extents, &[FRONT, BACK], field).scale;
        let mut views = Vec::new();
        for view in [FRONT, BACK] {
            let frame = self.frame(&View::all()[view], scale, FINENESS);
            let scene = self.scene(&frame, FINENESS)?;
            let shaded = scene.marked(closes, mark, self.watch)?;
            let pen = BorderPen { width: 0.28, strength: 1.0 };
            let alt = say!(words, "alt-gluing", side = self.side(&View::all()[view]));
            let lines = scene.lines_over(shaded.areas.as_ref(), pen, Contours::Plain, self.watch)?;
            let file = shaded.image.png(FINENESS, self.watch)?;
            let picture = self.printed((&frame, FINENESS, scale), file, alt, lines);
            views.push(NamedView { view: named(words, view, "", picture), tags: Vec::new() });
        }
        let rows = assembly.files.iter().enumerate().map(|(i, file)| NamedRow {
            number: (i + 1).to_string(),
            look: None,
            cells: vec![
                file.name.clone(),
                if file.closes_up() {
                    area(file.assembled.closes_mm2)
                } else {
                    say!(words, "gluing-nothing")
                },
                if file.is_glued() { area(file.assembled.joint_mm2) } else { say!(words, "gluing-apart") },
                area(file.assembled.never_mm2),
            ],
        });
        let lead = match assembly.closing().first() {
            None => say!(words, "gluing-lead-nothing"),
            Some(file) => say!(words, "gluing-lead", file = &file.name),
        };
        let columns = ["column-file", "column-before-gluing", "column-bare", "column-never"];
        Ok(vec![ViewSheet {
            key: "gluing",
            part: say!(words, "part-gluing"),
            title: say!(words, "gluing-title"),
            lead,
            views,
            columns: columns.map(|key| say!(words, key)).into(),
            rows: rows.collect(),
            steps: vec![say!(words, "gluing-try"), say!(words, "gluing-mask")],
            notes: vec![say!(words, "gluing-note")],
            cautions: vec![say!(words, "caution-superglue")],
        }])
    }
}
