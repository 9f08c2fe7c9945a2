//! GLB: glTF 2.0 (ISO/IEC 12113:2022) in one file. Metres, +Y up.

use crate::columns::Columns;
use gltf_json as json;
use grisaille_plan::Plan;
use json::validation::{Checked::Valid, USize64};
use std::collections::BTreeMap;
use std::io::{self, Write};

/// One mesh of one primitive: all samples and all faces. Colours are linear
/// (`COLOR_0`); the columns are scalar attributes named as in PLY with a
/// leading underscore.
///
/// # Errors
/// What the writer gives, and `InvalidInput` when the data outgrow the 4 GiB
/// that the format can say.
pub fn write_glb(out: &mut impl Write, plan: &Plan, columns: &Columns) -> io::Result<()> {
    let samples = &plan.surface.samples;
    let mut file = File::default();
    let gltf_from_scene = |p: [f32; 3]| [p[0], p[2], -p[1]];
    let positions: Vec<[f32; 3]> =
        samples.position.iter().map(|p| gltf_from_scene((*p).into()).map(|x| x / 1000.0)).collect();
    let normals: Vec<[f32; 3]> = samples
        .normal
        .iter()
        .map(|n| {
            // The format's checkers want unit length closer than f32 storage
            // of a rotated vector gives by itself.
            let n = n.cast::<f64>().normalize();
            gltf_from_scene([n.x as f32, n.y as f32, n.z as f32])
        })
        .collect();
    let mut attributes = BTreeMap::new();
    attributes.insert(Valid(json::mesh::Semantic::Positions), file.vectors(&positions, true));
    attributes.insert(Valid(json::mesh::Semantic::Normals), file.vectors(&normals, false));
    let colours: Vec<u8> = (0..samples.len())
        .flat_map(|s| {
            let shown = columns.shown(s);
            let [r, g, b] = [shown.r, shown.g, shown.b].map(|x| (x.clamp(0.0, 1.0) * 65535.0).round() as u16);
            [r, g, b, u16::MAX].into_iter().flat_map(u16::to_le_bytes)
        })
        .collect();
    let colours = file.accessor(
        &colours,
        samples.len(),
        json::accessor::ComponentType::U16,
        json::accessor::Type::Vec4,
        true,
    );
    attributes.insert(Valid(json::mesh::Semantic::Colors(0)), colours);
    let mut scalar = |name: &str, values: &mut dyn Iterator<Item = f32>| {
        let bytes: Vec<u8> = values.flat_map(f32::to_le_bytes).collect();
        let accessor = file.accessor(
            &bytes,
            samples.len(),
            json::accessor::ComponentType::F32,
            json::accessor::Type::Scalar,
            false,
        );
        attributes.insert(Valid(json::mesh::Semantic::Extras(name.to_owned())), accessor);
    };
    for (name, values) in &columns.exposures {
        scalar(name, &mut values.iter().copied());
    }
    scalar("value", &mut plan.values.lightness.iter().copied());
    scalar("band", &mut columns.band.iter().map(|b| f32::from(*b)));
    scalar("zone", &mut columns.zone.iter().map(|z| f32::from(*z)));
    scalar("buried", &mut columns.buried.iter().map(|b| f32::from(*b)));
    scalar("region", &mut columns.region.iter().map(|r| f32::from(*r)));
    let indices = file.indices(&plan.surface.faces);
    file.finish(attributes, indices, out)
}

#[derive(Default)]
struct File {
    root: json::Root,
    body: Vec<u8>,
}

impl File {
    fn view(&mut self, bytes: &[u8], target: json::buffer::Target) -> json::Index<json::buffer::View> {
        let offset = self.body.len();
        self.body.extend_from_slice(bytes);
        self.body.resize(self.body.len().next_multiple_of(4), 0);
        self.root.push(json::buffer::View {
            buffer: json::Index::new(0),
            byte_length: USize64::from(bytes.len()),
            byte_offset: Some(USize64::from(offset)),
            byte_stride: None,
            extensions: None,
            extras: None,
            name: None,
            target: Some(Valid(target)),
        })
    }

    fn accessor(
        &mut self,
        bytes: &[u8],
        count: usize,
        component: json::accessor::ComponentType,
        kind: json::accessor::Type,
        normalized: bool,
    ) -> json::Index<json::Accessor> {
        let view = self.view(bytes, json::buffer::Target::ArrayBuffer);
        self.push_accessor(view, count, component, kind, normalized)
    }

    fn push_accessor(
        &mut self,
        view: json::Index<json::buffer::View>,
        count: usize,
        component: json::accessor::ComponentType,
        kind: json::accessor::Type,
        normalized: bool,
    ) -> json::Index<json::Accessor> {
        self.root.push(json::Accessor {
            buffer_view: Some(view),
            byte_offset: Some(USize64(0)),
            count: USize64::from(count),
            component_type: Valid(json::accessor::GenericComponentType(component)),
            extensions: None,
            extras: None,
            type_: Valid(kind),
            min: None,
            max: None,
            name: None,
            normalized,
            sparse: None,
        })
    }

    fn vectors(&mut self, vectors: &[[f32; 3]], bounds: bool) -> json::Index<json::Accessor> {
        let bytes: Vec<u8> = vectors.iter().flatten().flat_map(|x| x.to_le_bytes()).collect();
        let index = self.accessor(
            &bytes,
            vectors.len(),
            json::accessor::ComponentType::F32,
            json::accessor::Type::Vec3,
            false,
        );
        if bounds {
            let fold = |pick: fn(f32, f32) -> f32| {
                let start = vectors.first().copied().unwrap_or_default();
                let all = vectors.iter().fold(start, |a, v| [0, 1, 2].map(|i| pick(a[i], v[i])));
                Some(json::Value::from(all.to_vec()))
            };
            let accessor = &mut self.root.accessors[index.value()];
            accessor.min = fold(f32::min);
            accessor.max = fold(f32::max);
        }
        index
    }

    fn indices(&mut self, faces: &[[u32; 3]]) -> json::Index<json::Accessor> {
        let bytes: Vec<u8> = faces.iter().flatten().flat_map(|s| s.to_le_bytes()).collect();
        let view = self.view(&bytes, json::buffer::Target::ElementArrayBuffer);
        self.push_accessor(
            view,
            faces.len() * 3,
            json::accessor::ComponentType::U32,
            json::accessor::Type::Scalar,
            false,
        )
    }

    fn finish(
        mut self,
        attributes: BTreeMap<json::validation::Checked<json::mesh::Semantic>, json::Index<json::Accessor>>,
        indices: json::Index<json::Accessor>,
        out: &mut impl Write,
    ) -> io::Result<()> {
        self.root.asset.generator = Some(concat!("grisaille ", env!("CARGO_PKG_VERSION")).to_owned());
        self.root.push(json::Buffer {
            byte_length: USize64::from(self.body.len()),
            extensions: None,
            extras: None,
            name: None,
            uri: None,
        });
        // Colours and normals are all the look there is; a dull material keeps
        // a viewer from adding gloss.
        let material = self.root.push(json::Material {
            pbr_metallic_roughness: json::material::PbrMetallicRoughness {
                metallic_factor: json::material::StrengthFactor(0.0),
                ..Default::default()
            },
            ..Default::default()
        });
        let mesh = self.root.push(json::Mesh {
            extensions: None,
            extras: None,
            name: Some("region map".into()),
            primitives: vec![json::mesh::Primitive {
                attributes,
                extensions: None,
                extras: None,
                indices: Some(indices),
                material: Some(material),
                mode: Valid(json::mesh::Mode::Triangles),
                targets: None,
            }],
            weights: None,
        });
        let node =
            self.root.push(json::Node { mesh: Some(mesh), name: Some("model".into()), ..Default::default() });
        let scene =
            self.root.push(json::Scene { extensions: None, extras: None, name: None, nodes: vec![node] });
        self.root.scene = Some(scene);
        let mut text = self.root.to_string().map_err(io::Error::other)?.into_bytes();
        text.resize(text.len().next_multiple_of(4), b' ');
        let total = 12 + 8 + text.len() + 8 + self.body.len();
        let size = |n: usize| {
            u32::try_from(n).map_err(|_| {
                io::Error::new(
                    io::ErrorKind::InvalidInput,
                    "the map is larger than the 4 GiB that GLB can hold: write PLY instead",
                )
            })
        };
        out.write_all(b"glTF")?;
        out.write_all(&2_u32.to_le_bytes())?;
        out.write_all(&size(total)?.to_le_bytes())?;
        out.write_all(&size(text.len())?.to_le_bytes())?;
        out.write_all(b"JSON")?;
        out.write_all(&text)?;
        out.write_all(&size(self.body.len())?.to_le_bytes())?;
        out.write_all(b"BIN\0")?;
        out.write_all(&self.body)
    }
}
