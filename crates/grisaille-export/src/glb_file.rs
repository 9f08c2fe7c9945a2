//! The container of a GLB file: a JSON root that grows beside one body of bytes.

use gltf_json as json;
use json::validation::{Checked::Valid, USize64};
use std::io::{self, Write};

/// The attributes of a primitive.
pub(crate) type Attributes =
    std::collections::BTreeMap<json::validation::Checked<json::mesh::Semantic>, json::Index<json::Accessor>>;

/// A file in the making.
#[derive(Default)]
pub(crate) struct File {
    pub(crate) root: json::Root,
    body: Vec<u8>,
}

/// A column of numbers in the body, of which each primitive takes some rows.
pub(crate) struct Column {
    view: json::Index<json::buffer::View>,
    stride: usize,
    component: json::accessor::ComponentType,
    kind: json::accessor::Type,
}

impl File {
    /// A column of rows of so many `f32`.
    pub(crate) fn floats(&mut self, width: usize, values: impl Iterator<Item = f32>) -> Column {
        let kind = if width == 3 { json::accessor::Type::Vec3 } else { json::accessor::Type::Scalar };
        let begin = self.body.len();
        self.body.extend(values.flat_map(f32::to_le_bytes));
        self.column(begin, 4 * width, json::accessor::ComponentType::F32, kind)
    }

    /// A column of colours with full opacity, as shares of 65535.
    pub(crate) fn colours(&mut self, values: impl Iterator<Item = [u16; 3]>) -> Column {
        let begin = self.body.len();
        self.body.extend(values.flat_map(|[r, g, b]| [r, g, b, u16::MAX]).flat_map(u16::to_le_bytes));
        self.column(begin, 8, json::accessor::ComponentType::U16, json::accessor::Type::Vec4)
    }

    fn column(
        &mut self,
        begin: usize,
        stride: usize,
        component: json::accessor::ComponentType,
        kind: json::accessor::Type,
    ) -> Column {
        // The format wants to be told how far rows are apart where several take from one view.
        let view = self.view(begin, Some(stride), json::buffer::Target::ArrayBuffer);
        Column { view, stride, component, kind }
    }

    /// Makes a view of what was added to the body since `begin`.
    fn view(
        &mut self,
        begin: usize,
        stride: Option<usize>,
        target: json::buffer::Target,
    ) -> json::Index<json::buffer::View> {
        let length = self.body.len() - begin;
        self.body.resize(self.body.len().next_multiple_of(4), 0);
        self.root.push(json::buffer::View {
            buffer: json::Index::new(0),
            byte_length: USize64::from(length),
            byte_offset: Some(USize64::from(begin)),
            byte_stride: stride.map(json::buffer::Stride),
            extensions: None,
            extras: None,
            name: None,
            target: Some(Valid(target)),
        })
    }

    /// Some rows of a column.
    pub(crate) fn rows(
        &mut self,
        column: &Column,
        first: usize,
        count: usize,
    ) -> json::Index<json::Accessor> {
        self.accessor(column.view, first * column.stride, count, column.component, column.kind)
    }

    /// Some rows of a column of places, with the box round them that the format wants.
    pub(crate) fn places(
        &mut self,
        column: &Column,
        first: usize,
        places: &[[f32; 3]],
    ) -> json::Index<json::Accessor> {
        let index = self.rows(column, first, places.len());
        let fold = |pick: fn(f32, f32) -> f32| {
            let start = places.first().copied().unwrap_or_default();
            let all = places.iter().fold(start, |a, v| [0, 1, 2].map(|i| pick(a[i], v[i])));
            Some(json::Value::from(all.to_vec()))
        };
        let accessor = &mut self.root.accessors[index.value()];
        accessor.min = fold(f32::min);
        accessor.max = fold(f32::max);
        index
    }

    /// Indices of a primitive.
    pub(crate) fn indices(&mut self, indices: &[u32]) -> json::Index<json::Accessor> {
        let begin = self.body.len();
        self.body.extend(indices.iter().flat_map(|i| i.to_le_bytes()));
        let view = self.view(begin, None, json::buffer::Target::ElementArrayBuffer);
        self.accessor(
            view,
            0,
            indices.len(),
            json::accessor::ComponentType::U32,
            json::accessor::Type::Scalar,
        )
    }

    fn accessor(
        &mut self,
        view: json::Index<json::buffer::View>,
        offset: usize,
        count: usize,
        component: json::accessor::ComponentType,
        kind: json::accessor::Type,
    ) -> json::Index<json::Accessor> {
        self.root.push(json::Accessor {
            buffer_view: Some(view),
            byte_offset: Some(USize64::from(offset)),
            count: USize64::from(count),
            component_type: Valid(json::accessor::GenericComponentType(component)),
            extensions: None,
            extras: None,
            type_: Valid(kind),
            min: None,
            max: None,
            name: None,
            normalized: matches!(component, json::accessor::ComponentType::U16),
            sparse: None,
        })
    }

    /// A node that shows a mesh of some primitives; both go by the name.
    pub(crate) fn node(
        &mut self,
        names: (&str, &str),
        primitives: Vec<json::mesh::Primitive>,
    ) -> json::Index<json::Node> {
        let (node, mesh) = names;
        let mesh = self.root.push(json::Mesh {
            extensions: None,
            extras: None,
            name: Some(mesh.into()),
            primitives,
            weights: None,
        });
        self.root.push(json::Node { mesh: Some(mesh), name: Some(node.into()), ..Default::default() })
    }

    /// Writes the file with a scene of the nodes.
    ///
    /// # Errors
    /// What the writer gives, and `InvalidInput` when the data outgrow 4 GiB.
    pub(crate) fn write(
        mut self,
        nodes: Vec<json::Index<json::Node>>,
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
        let scene = self.root.push(json::Scene { extensions: None, extras: None, name: None, nodes });
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
