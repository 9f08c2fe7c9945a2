//! The whole plan on one page: the finished figure, route and mood, palette with its shares, lights.

use crate::arrange::{Field, on_field};
use crate::compose::{Composer, THREE_QUARTER, named, source, srgb};
use crate::sheets::{Fact, PaletteRow, Summary};
use grisaille_base::Stop;
use grisaille_colour::{Lab, colour_from_text};
use grisaille_picture::Look;
use grisaille_plan::{Coloured, Proportion};
use grisaille_scheme::{ColourChoice, Route};

impl Composer<'_> {
    /// The summary; none without colours.
    pub(crate) fn summary(&mut self) -> Result<Option<Summary>, Stop> {
        let Some(coloured) = self.coloured else { return Ok(None) };
        let room = self.paper.summary();
        let field = Field { width: room.width.0, height: room.height.0 + 10.0 };
        let scale = on_field(&self.extents, &[THREE_QUARTER], 1, field).scale;
        let picture = self.picture(THREE_QUARTER, scale, Look::Colours)?;
        let choice = &self.scheme.colours;
        let fact = |label: &str, value: String| Fact { label: label.into(), value };
        let mut facts = vec![fact("Route", route(choice.route).into())];
        if let Some(mood) = &choice.mood {
            facts.push(fact("Mood", format!("{}, {:.0} %", mood.name, 100.0 * mood.strength)));
        }
        facts.push(fact("Stages", coloured.stages.len().to_string()));
        let lights = self.plan.lights.iter().map(|l| fact(&l.name, source(l, self.plan)));
        Ok(Some(Summary {
            picture: named(THREE_QUARTER, "the finished figure", picture),
            facts,
            lights: lights.collect(),
            palette: palette(choice, coloured),
        }))
    }
}

/// The palette with its shares; without one the colours of the regions.
fn palette(choice: &ColourChoice, coloured: &Coloured) -> Vec<PaletteRow> {
    if coloured.proportions.is_empty() {
        let rows = coloured.colouring.rows.iter();
        return rows
            .map(|r| PaletteRow {
                colour: srgb(r.base.shown()),
                name: r.name.clone(),
                wanted: None,
                seen: r.seen_share,
            })
            .collect();
    }
    let colour = |p: &Proportion| {
        let entry = choice.palette.iter().find(|e| e.name == p.name)?;
        colour_from_text(&entry.colour).ok()
    };
    let rows = coloured.proportions.iter().map(|p| PaletteRow {
        colour: srgb(colour(p).unwrap_or(Lab::new(50.0, 0.0, 0.0)).shown()),
        name: p.name.clone(),
        wanted: p.wanted,
        seen: p.seen,
    });
    rows.collect()
}

fn route(route: Route) -> &'static str {
    match route {
        Route::Sketch => "sketch: three-tone primer as a reference, then opaque paint",
        Route::Transparent => "transparent: thin paint over the primer's tones",
        Route::BrushOnly => "brush only: dry brush instead of spray, then opaque paint",
    }
}
