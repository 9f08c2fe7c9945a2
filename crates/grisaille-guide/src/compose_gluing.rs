//! The sheet before gluing: what of each file closes up, and what is kept bare for glue.

use crate::arrange::largest;
use crate::card_pictures::in_ink;
use crate::compose::{BACK, Composer, FINENESS, FRONT, alt_of_side, named};
use crate::view_sheet::{NamedRow, NamedView, ViewSheet};
use crate::words::area;
use grisaille_base::Stop;
use grisaille_colour::LinearRgb;
use grisaille_picture::{BorderPen, Hit, Mark, Pattern, View};

/// What closes up: an orange that stays apart from pale grey for every kind of colour vision.
const CLOSES: [u8; 3] = [230, 159, 0];

impl Composer<'_> {
    /// The sheet; none for one file, or where files stand apart.
    pub(crate) fn gluing_sheets(&mut self) -> Result<Vec<ViewSheet>, Stop> {
        let Some(assembly) = self.plan.assembly.clone().filter(|a| a.is_glued()) else {
            return Ok(Vec::new());
        };
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
            let alt = format!(
                "{}, put together. Hatched is what no brush reaches once it is glued.",
                alt_of_side(View::all()[view].words())
            );
            let lines = scene.lines_over(shaded.areas.as_ref(), pen, self.watch)?;
            let file = shaded.image.png(FINENESS, self.watch)?;
            let picture = self.printed((&frame, FINENESS, scale), file, alt, lines);
            views.push(NamedView { view: named(view, "", picture), tags: Vec::new() });
        }
        let rows = assembly.files.iter().enumerate().map(|(i, file)| NamedRow {
            number: (i + 1).to_string(),
            look: None,
            cells: vec![
                file.name.clone(),
                if file.closes_up() { area(file.assembled.closes_mm2) } else { "nothing".into() },
                if file.is_glued() { area(file.assembled.joint_mm2) } else { "none: it stands apart".into() },
                area(file.assembled.never_mm2),
            ],
        });
        let first = assembly.closing().first().map_or_else(
            || "Nothing closes up: glue first and paint the whole.".to_owned(),
            |file| format!("Begin with {}: most of it closes up.", file.name),
        );
        Ok(vec![ViewSheet {
            part: "Gluing".into(),
            title: "What do I do before gluing?".into(),
            lead: format!("Hatched is what no brush reaches once the files are together: paint it first. {first}"),
            views,
            columns: ["File", "Paint before gluing", "Keep bare for glue", "No brush reaches at all"]
                .map(Into::into)
                .into(),
            rows: rows.collect(),
            steps: vec![
                "Put the files together without glue: every joint closes.".into(),
                "Mask the joints, or scrape paint off them before gluing: glue holds on bare print.".into(),
            ],
            notes: vec!["The step cards say when each file is painted and when it is glued.".into()],
            cautions: vec![
                "Glue with moving air; superglue bonds skin at once and its vapour stings. Cut and scrape away from \
                 you, with your other hand behind the blade. Follow the glue's own safety data sheet."
                    .into(),
            ],
        }])
    }
}
