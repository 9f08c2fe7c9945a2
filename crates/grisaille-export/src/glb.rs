//! GLB: glTF 2.0 (ISO/IEC 12113:2022) in one file. Metres, +Y up.

use crate::columns::Columns;
use crate::glb_file::{Attributes, File};
use crate::rows::region_rows;
use gltf_json as json;
use grisaille_base::Lightness;
use grisaille_colour::{hex_of, luminance_from_lightness};
use grisaille_form::{Line, Regions};
use grisaille_plan::{Lining, Plan};
use json::validation::Checked::Valid;
use nalgebra::Point3;
use serde_json::json;
use std::io::{self, Write};

/// L* of lines in recesses, and of those on edges: as dark and as light as paint gets.
const SHADES: [f64; 2] = [15.0, 95.0];

/// A primitive for each region, with its name; colours are linear (`COLOR_0`); the columns are scalar
/// attributes named as in PLY with a leading underscore. Recesses and edges of the lining follow as line
/// primitives, in order of rank.
///
/// # Errors
/// What the writer gives, and `InvalidInput` when the data outgrow the 4 GiB
/// that the format can say.
pub fn write_glb(
    out: &mut impl Write,
    plan: &Plan,
    columns: &Columns,
    regions: &Regions,
    lining: Option<&Lining>,
) -> io::Result<()> {
    let mut file = File::default();
    let primitives = regions_of(&mut file, plan, columns, regions);
    let mut nodes = vec![file.node(("model", "region map"), primitives)];
    if let Some(lining) = lining {
        let both = [("lines: recesses", &lining.recesses), ("lines: edges", &lining.edges)];
        for ((name, lines), shade) in both.into_iter().zip(SHADES) {
            if !lines.is_empty() {
                let primitive = lines_of(&mut file, (name, shade), lines);
                nodes.push(file.node((name, name), vec![primitive]));
            }
        }
    }
    file.write(nodes, out)
}

fn gltf_from_scene(p: [f32; 3]) -> [f32; 3] {
    [p[0], p[2], -p[1]]
}

fn metres(p: &Point3<f32>) -> [f32; 3] {
    gltf_from_scene((*p).into()).map(|x| x / 1000.0)
}

fn regions_of(
    file: &mut File,
    plan: &Plan,
    columns: &Columns,
    regions: &Regions,
) -> Vec<json::mesh::Primitive> {
    let samples = &plan.surface.samples;
    let rows = region_rows(plan, columns, &regions.of_face);
    let each = || rows.iter().flat_map(|r| &r.samples).map(|s| *s as usize);
    let places: Vec<[f32; 3]> = each().map(|s| metres(&samples.position[s])).collect();
    let position = file.floats(3, places.iter().flatten().copied());
    let normal = file.floats(
        3,
        each().flat_map(|s| {
            // The format's checkers want unit length closer than f32 storage
            // of a rotated vector gives by itself.
            let n = samples.normal[s].cast::<f64>().normalize();
            gltf_from_scene([n.x as f32, n.y as f32, n.z as f32])
        }),
    );
    let share = |x: f32| (x.clamp(0.0, 1.0) * 65535.0).round() as u16;
    let colour = file.colours(rows.iter().flat_map(|r| &r.colours).map(|c| [c.r, c.g, c.b].map(share)));
    let mut scalars = Vec::new();
    for (name, values) in &columns.exposures {
        scalars.push((name.as_str(), file.floats(1, each().map(|s| values[s]))));
    }
    scalars.push(("value", file.floats(1, each().map(|s| plan.values.lightness[s]))));
    let bytes = [("band", &columns.band), ("zone", &columns.zone), ("buried", &columns.buried)];
    for (name, values) in bytes {
        scalars.push((name, file.floats(1, each().map(|s| f32::from(values[s])))));
    }
    let number = |r: &crate::rows::RegionRows| f32::from(r.region.0.saturating_add(1));
    let numbers = rows.iter().flat_map(|r| std::iter::repeat_n(number(r), r.samples.len()));
    scalars.push(("region", file.floats(1, numbers)));

    let mut first = 0;
    rows.iter()
        .map(|r| {
            let count = r.samples.len();
            let mut attributes = Attributes::new();
            let own = &places[first..first + count];
            attributes.insert(Valid(json::mesh::Semantic::Positions), file.places(&position, first, own));
            attributes.insert(Valid(json::mesh::Semantic::Normals), file.rows(&normal, first, count));
            attributes.insert(Valid(json::mesh::Semantic::Colors(0)), file.rows(&colour, first, count));
            for (name, column) in &scalars {
                let own = file.rows(column, first, count);
                attributes.insert(Valid(json::mesh::Semantic::Extras((*name).to_owned())), own);
            }
            first += count;
            let indices = file.indices(r.faces.as_flattened());
            primitive(file, attributes, indices, &material_of(plan, regions, r.region.index()))
        })
        .collect()
}

/// A region's material. Colours and normals are all the look there is: it is dull, which keeps a viewer
/// from adding gloss, and white, since `COLOR_0` is laid over it; the region's own colours stand beside its name.
fn material_of(plan: &Plan, regions: &Regions, region: usize) -> (json::Material, json::mesh::Mode) {
    let mut told = json!({ "region": region + 1 });
    let mut name = format!("region {}", region + 1);
    if let Some(r) = regions.regions.get(region) {
        name.clone_from(&r.name);
        let [red, green, blue] = r.swatch;
        told["name"] = r.name.as_str().into();
        told["swatch"] = format!("#{red:02x}{green:02x}{blue:02x}").into();
        told["area_mm2"] = r.area_mm2.into();
    }
    let row = plan.colouring.as_ref().and_then(|c| Some(&c.rows[(*c.row_of_region.get(region)?)?]));
    if let Some(row) = row {
        told["colour"] = hex_of(row.base).into();
    }
    let material = json::Material {
        name: Some(name),
        extras: serde_json::value::to_raw_value(&told).ok(),
        pbr_metallic_roughness: json::material::PbrMetallicRoughness {
            metallic_factor: json::material::StrengthFactor(0.0),
            ..Default::default()
        },
        ..Default::default()
    };
    (material, json::mesh::Mode::Triangles)
}

/// Lines one after another, the first in rank first, as segments.
fn lines_of(file: &mut File, (name, shade): (&str, f64), lines: &[Line]) -> json::mesh::Primitive {
    let places: Vec<[f32; 3]> = lines.iter().flat_map(|l| &l.points).map(metres).collect();
    let mut indices = Vec::new();
    let mut first = 0_u32;
    for line in lines {
        let count = line.points.len() as u32;
        indices.extend((first + 1..first + count).flat_map(|i| [i - 1, i]));
        if line.closed {
            indices.extend([first + count - 1, first]);
        }
        first += count;
    }
    let position = file.floats(3, places.iter().flatten().copied());
    let mut attributes = Attributes::new();
    attributes.insert(Valid(json::mesh::Semantic::Positions), file.places(&position, 0, &places));
    let mut column = |name: &str, of: &dyn Fn(usize, &Line) -> f32| {
        let each = lines.iter().enumerate().flat_map(|(i, l)| std::iter::repeat_n(of(i, l), l.points.len()));
        let column = file.floats(1, each);
        let rows = file.rows(&column, 0, places.len());
        attributes.insert(Valid(json::mesh::Semantic::Extras(name.to_owned())), rows);
    };
    column("rank", &|i, _| (i + 1) as f32);
    column("width", &|_, l| l.width as f32);
    column("depth", &|_, l| l.depth as f32);
    let indices = file.indices(&indices);
    let light = luminance_from_lightness(Lightness(shade)) as f32;
    let material = json::Material {
        name: Some(name.into()),
        // Lines have no side that light could fall on.
        extensions: Some(json::extensions::material::Material {
            unlit: Some(json::extensions::material::Unlit {}),
        }),
        pbr_metallic_roughness: json::material::PbrMetallicRoughness {
            base_color_factor: json::material::PbrBaseColorFactor([light, light, light, 1.0]),
            metallic_factor: json::material::StrengthFactor(0.0),
            ..Default::default()
        },
        ..Default::default()
    };
    if file.root.extensions_used.is_empty() {
        file.root.extensions_used.push("KHR_materials_unlit".into());
    }
    primitive(file, attributes, indices, &(material, json::mesh::Mode::Lines))
}

fn primitive(
    file: &mut File,
    attributes: Attributes,
    indices: json::Index<json::Accessor>,
    (material, mode): &(json::Material, json::mesh::Mode),
) -> json::mesh::Primitive {
    json::mesh::Primitive {
        attributes,
        extensions: None,
        extras: material.extras.clone(),
        indices: Some(indices),
        material: Some(file.root.push(material.clone())),
        mode: Valid(*mode),
        targets: None,
    }
}
