//! CSV (RFC 4180): a row for each region, for a spreadsheet; and the schema of its columns.

use crate::columns::Columns;
use grisaille_colour::hex_of;
use grisaille_form::Regions;
use grisaille_plan::Plan;
use serde_json::{Value, json};
use std::io::{self, Write};

/// What a column holds.
#[derive(Clone, Copy)]
enum Kind {
    /// A number of a region.
    Id,
    /// A name that no other row has.
    Name,
    Text,
    /// `#rrggbb`.
    Colour,
    /// 0 to 1.
    Share,
    /// 0 to 100.
    Lightness,
    /// 0 or more.
    Area,
    /// A coordinate in mm.
    Place,
}

/// The columns in their order: name, what it holds, whether each row has it, what it tells.
const FIELDS: [(&str, Kind, bool, &str); 19] = [
    ("region", Kind::Id, true, "the region's number, from 1, the largest first"),
    ("name", Kind::Name, true, "its name"),
    ("area_mm2", Kind::Area, true, "what of it is painted, mm²"),
    ("share", Kind::Share, true, "its share of all that is painted"),
    ("mean_value", Kind::Lightness, false, "its mean planned value, L*"),
    ("band_1_share", Kind::Share, false, "the share of it in the darkest band"),
    ("band_2_share", Kind::Share, false, "in the next lighter band"),
    ("band_3_share", Kind::Share, false, "in the next lighter band"),
    ("band_4_share", Kind::Share, false, "in the next lighter band, if there is one"),
    ("band_5_share", Kind::Share, false, "in the next lighter band, if there is one"),
    ("band_6_share", Kind::Share, false, "in the next lighter band, if there is one"),
    ("main_light", Kind::Text, false, "the light that is the strongest on most of it"),
    ("main_light_share", Kind::Share, false, "the share of it where that light is the strongest"),
    ("unlit_share", Kind::Share, false, "the share of it that no light reaches"),
    ("swatch", Kind::Colour, true, "its colour on pictures"),
    ("colour", Kind::Colour, false, "its base colour, of a scheme with colours"),
    ("x_mm", Kind::Place, true, "a point about its middle: to the right"),
    ("y_mm", Kind::Place, true, "the same: to the back"),
    ("z_mm", Kind::Place, true, "the same: up"),
];
/// The columns of bands.
const BANDS: usize = 6;

/// The Table Schema (Frictionless Standards, Table Schema 1.0) of the CSV.
#[must_use]
pub fn table_schema() -> Value {
    let field = |(name, kind, always, tells): &(&str, Kind, bool, &str)| {
        let (kind, mut constraints) = match kind {
            Kind::Id => ("integer", json!({ "minimum": 1, "unique": true })),
            Kind::Name => ("string", json!({ "unique": true })),
            Kind::Text => ("string", json!({})),
            Kind::Colour => ("string", json!({ "pattern": "#[0-9a-f]{6}" })),
            Kind::Share => ("number", json!({ "minimum": 0, "maximum": 1 })),
            Kind::Lightness => ("number", json!({ "minimum": 0, "maximum": 100 })),
            Kind::Area => ("number", json!({ "minimum": 0 })),
            Kind::Place => ("number", json!({})),
        };
        if *always {
            constraints["required"] = true.into();
        }
        json!({ "name": name, "type": kind, "description": tells, "constraints": constraints })
    };
    json!({
        "title": "Regions of a grisaille region map",
        "fields": FIELDS.iter().map(field).collect::<Vec<Value>>(),
        "missingValues": [""],
        "primaryKey": ["region"],
    })
}

/// What is painted of a region.
#[derive(Clone, Default)]
struct Sums {
    area: f64,
    value: f64,
    bands: [f64; BANDS],
    /// By zone: where no light reaches, then each light.
    zones: Vec<f64>,
}

/// Writes a row for each region below the names of the columns.
///
/// # Errors
/// What the writer gives.
pub fn write_csv(out: &mut impl Write, plan: &Plan, columns: &Columns, regions: &Regions) -> io::Result<()> {
    let all: f64 = regions.regions.iter().map(|r| r.area_mm2).sum();
    let names: Vec<&str> = FIELDS.iter().map(|f| f.0).collect();
    write!(out, "{}\r\n", names.join(","))?;
    for (i, (region, sums)) in regions.regions.iter().zip(sums(plan, columns, regions)).enumerate() {
        let share = |part: f64| match sums.area > 0.0 {
            true => format!("{:.4}", (part / sums.area).min(1.0)),
            false => String::new(),
        };
        let main = (1..sums.zones.len()).rev().max_by(|a, b| sums.zones[*a].total_cmp(&sums.zones[*b]));
        let main = main.filter(|z| sums.zones[*z] > 0.0);
        let [r, g, b] = region.swatch;
        let row = plan.colouring.as_ref().and_then(|c| Some(&c.rows[(*c.row_of_region.get(i)?)?]));
        let mut cells = vec![
            (i + 1).to_string(),
            quoted(&region.name),
            format!("{:.2}", region.area_mm2),
            format!("{:.4}", (region.area_mm2 / all.max(f64::MIN_POSITIVE)).min(1.0)),
            if sums.area > 0.0 { format!("{:.1}", sums.value / sums.area) } else { String::new() },
        ];
        let bands = plan.bands.rows.len();
        cells.extend(
            sums.bands.iter().enumerate().map(|(k, a)| if k < bands { share(*a) } else { String::new() }),
        );
        cells.push(main.map_or_else(String::new, |z| quoted(&plan.lights[z - 1].name)));
        cells.push(main.map_or_else(String::new, |z| share(sums.zones[z])));
        cells.push(share(sums.zones[0]));
        cells.push(format!("#{r:02x}{g:02x}{b:02x}"));
        cells.push(row.map_or_else(String::new, |row| hex_of(row.base)));
        // Plus zero: no −0.
        cells.extend(region.place.map(|x| format!("{:.1}", (10.0 * x).round() / 10.0 + 0.0)));
        write!(out, "{}\r\n", cells.join(","))?;
    }
    Ok(())
}

/// Sums over what is painted: open corners of all but the underside, each with a third of its face.
fn sums(plan: &Plan, columns: &Columns, regions: &Regions) -> Vec<Sums> {
    let surface = &plan.surface;
    let empty = Sums { zones: vec![0.0; plan.lights.len() + 1], ..Sums::default() };
    let mut out = vec![empty; regions.regions.len()];
    for (f, region) in regions.of_face.iter().enumerate() {
        let part = plan.part_of_face[f];
        let Some(sums) = out.get_mut(region.index()).filter(|_| part.is_painted()) else { continue };
        let third = surface.face_area(f) / 3.0;
        for s in surface.faces[f].map(|s| s as usize) {
            if columns.buried[s] == 1 {
                continue;
            }
            sums.area += third;
            sums.value += third * f64::from(plan.values.lightness[s]);
            if let Some(band) = sums.bands.get_mut(usize::from(plan.band_of_sample(s, part))) {
                *band += third;
            }
            if let Some(zone) = sums.zones.get_mut(usize::from(columns.zone[s])) {
                *zone += third;
            }
        }
    }
    out
}

/// A text as a cell. What a spreadsheet would run as a formula begins with an apostrophe instead.
fn quoted(text: &str) -> String {
    let guard = if text.starts_with(['=', '+', '-', '@', '\t', '\r']) { "'" } else { "" };
    match text.contains(['"', ',', '\n', '\r']) {
        true => format!("\"{guard}{}\"", text.replace('"', "\"\"")),
        false => format!("{guard}{text}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_are_quoted_as_the_standard_says_and_run_nothing() {
        for (text, cell) in
            [("helmet", "helmet"), ("a, \"b\"", "\"a, \"\"b\"\"\""), ("=1+1", "'=1+1"), ("頭", "頭")]
        {
            assert_eq!(quoted(text), cell);
        }
    }
}
