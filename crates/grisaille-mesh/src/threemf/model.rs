//! One XML part of a 3MF file, read as a stream.

use super::{AS_IT_IS, Transform, broken};
use crate::marker::mean;
use crate::number::number;
use crate::read::ReadError;
use crate::soup::Point;
use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::io::{BufRead, BufReader, Read};

/// A part's text on its way out of the archive.
pub(super) type Text<'a> = BufReader<&'a mut dyn Read>;

/// An object placed within another, or in the build.
#[derive(Debug)]
pub(super) struct Component {
    pub(super) id: u32,
    /// The part it is in, if that is another.
    pub(super) part: Option<String>,
    pub(super) transform: Transform,
}

/// What a triangle or object refers to: a group of properties, and one for each corner.
#[derive(Clone, Copy, Debug)]
pub(super) struct Property {
    group: u32,
    members: [u32; 3],
}

#[derive(Debug, Default)]
pub(super) struct Object {
    pub(super) name: Option<String>,
    property: Option<Property>,
    pub(super) points: Vec<Point>,
    pub(super) triangles: Vec<[u32; 3]>,
    /// Of each triangle, once any has its own.
    properties: Vec<Option<Property>>,
    pub(super) components: Vec<Component>,
    pub(super) malformed: u64,
}

impl Object {
    /// What a triangle refers to; the object's own where it says nothing.
    pub(super) fn property_of(&self, triangle: usize) -> Option<Property> {
        self.properties.get(triangle).copied().flatten().or(self.property)
    }
}

/// Names and colours of one group.
#[derive(Debug, Default)]
struct Group {
    names: Vec<Option<String>>,
    colours: Vec<Option<[u8; 3]>>,
}

#[derive(Debug, Default)]
pub(super) struct Part {
    /// Millimetres in one unit.
    pub(super) millimetres: f64,
    pub(super) objects: BTreeMap<u32, Object>,
    groups: BTreeMap<u32, Group>,
    pub(super) build: Vec<Component>,
}

impl Part {
    /// The colour that a property means: the mean of its three corners'.
    pub(super) fn colour_of(&self, property: Option<Property>) -> Option<[u8; 3]> {
        let Property { group, members } = property?;
        let colours = &self.groups.get(&group)?.colours;
        let [a, b, c] = members.map(|m| colours.get(m as usize).copied().flatten());
        Some(mean([a?, b?, c?]))
    }

    /// The name of the material that a property means.
    pub(super) fn material_of(&self, property: Option<Property>) -> Option<&str> {
        let Property { group, members } = property?;
        self.groups.get(&group)?.names.get(members[0] as usize)?.as_deref()
    }
}

/// The part that the archive says to start with.
pub(super) fn start_part(text: Text) -> Result<Option<String>, ReadError> {
    let mut found = None;
    walk(text, |element, _| {
        if let Seen::Begin(element) = element
            && element.local_name().as_ref() == "Relationship"
        {
            let (mut target, mut is_model) = (None, false);
            attributes(element, |name, value| match name {
                "Target" => target = Some(words(value)),
                "Type" => is_model = value.ends_with("/3dmodel"),
                _ => {}
            });
            if is_model && found.is_none() {
                found = target;
            }
        }
    })?;
    Ok(found)
}

enum Seen<'a, 'b> {
    Begin(&'a BytesStart<'b>),
    End,
}

/// Walks through all elements; the name of the one that begins or ends is told.
fn walk(text: impl BufRead, mut each: impl FnMut(Seen, &str)) -> Result<(), ReadError> {
    let mut reader = Reader::from_reader(text);
    let mut buffer = Vec::new();
    loop {
        buffer.clear();
        let event = reader.read_event_into(&mut buffer);
        match event.map_err(|e| broken(format!("its XML is damaged: {e}")))? {
            Event::Start(e) => each(Seen::Begin(&e), e.local_name().as_ref()),
            Event::Empty(e) => {
                each(Seen::Begin(&e), e.local_name().as_ref());
                each(Seen::End, e.local_name().as_ref());
            }
            Event::End(e) => each(Seen::End, e.local_name().as_ref()),
            Event::Eof => return Ok(()),
            _ => {}
        }
    }
}

/// Tells each attribute's name, without its prefix, and its value.
fn attributes(element: &BytesStart, mut each: impl FnMut(&str, &str)) {
    for attribute in element.attributes().with_checks(false).flatten() {
        each(attribute.key.local_name().as_ref(), &attribute.value);
    }
}

/// A value's text, with what XML writes in other words.
fn words(value: &str) -> String {
    quick_xml::escape::unescape(value).map_or_else(|_| value.to_owned(), Cow::into_owned)
}

fn whole(value: &str) -> Option<u32> {
    value.trim().parse().ok()
}

/// Reads a part.
pub(super) fn read(text: Text) -> Result<Part, ReadError> {
    let mut part = Part { millimetres: 1.0, ..Part::default() };
    let mut object: Option<(u32, Object)> = None;
    let mut group: Option<(u32, Group)> = None;
    walk(text, |seen, name| match (seen, name) {
        (Seen::Begin(e), "model") => attributes(e, |name, value| {
            if name == "unit" {
                part.millimetres = millimetres(value);
            }
        }),
        (Seen::Begin(e), "object") => object = Some(begin_object(e)),
        (Seen::End, "object") => part.objects.extend(object.take()),
        (Seen::Begin(e), "basematerials" | "colorgroup") => {
            let mut id = None;
            attributes(e, |name, value| {
                if name == "id" {
                    id = whole(value);
                }
            });
            group = id.map(|id| (id, Group::default()));
        }
        (Seen::End, "basematerials" | "colorgroup") => part.groups.extend(group.take()),
        (Seen::Begin(e), "base" | "color") => {
            if let Some((_, group)) = &mut group {
                let (mut label, mut colour) = (None, None);
                attributes(e, |name, value| match name {
                    "name" => label = Some(words(value)),
                    "displaycolor" | "color" => colour = hexadecimal(value),
                    _ => {}
                });
                group.names.push(label);
                group.colours.push(colour);
            }
        }
        (Seen::Begin(e), "vertex") => {
            if let Some((_, object)) = &mut object {
                point(e, object);
            }
        }
        (Seen::Begin(e), "triangle") => {
            if let Some((_, object)) = &mut object {
                triangle(e, object);
            }
        }
        (Seen::Begin(e), "component") => {
            if let Some((_, object)) = &mut object {
                object.components.extend(component(e));
            }
        }
        (Seen::Begin(e), "item") => part.build.extend(component(e)),
        _ => {}
    })?;
    Ok(part)
}

fn begin_object(e: &BytesStart) -> (u32, Object) {
    let (mut id, mut group, mut member) = (0, None, 0);
    let mut object = Object::default();
    attributes(e, |name, value| match name {
        "id" => id = whole(value).unwrap_or(0),
        "name" => object.name = Some(words(value)).filter(|n| !n.trim().is_empty()),
        "pid" => group = whole(value),
        "pindex" => member = whole(value).unwrap_or(0),
        _ => {}
    });
    object.property = group.map(|group| Property { group, members: [member; 3] });
    (id, object)
}

fn point(e: &BytesStart, object: &mut Object) {
    let mut point = [None; 3];
    attributes(e, |name, value| {
        if let [axis @ b'x'..=b'z'] = name.as_bytes() {
            point[usize::from(axis - b'x')] = number(value.trim().as_bytes());
        }
    });
    if let [Some(x), Some(y), Some(z)] = point {
        object.points.push([x, y, z]);
    } else {
        // It keeps its number; triangles on it go with what is no number.
        object.malformed += 1;
        object.points.push([f32::NAN; 3]);
    }
}

fn triangle(e: &BytesStart, object: &mut Object) {
    let mut corners = [None; 3];
    let mut group = None;
    let mut members = [None; 3];
    attributes(e, |name, value| match name.as_bytes() {
        [b'v', n @ b'1'..=b'3'] => corners[usize::from(n - b'1')] = whole(value),
        [b'p', n @ b'1'..=b'3'] => members[usize::from(n - b'1')] = whole(value),
        b"pid" => group = whole(value),
        _ => {}
    });
    let count = object.points.len();
    let [Some(a), Some(b), Some(c)] = corners.map(|v| v.filter(|v| (*v as usize) < count)) else {
        object.malformed += 1;
        return;
    };
    object.triangles.push([a, b, c]);
    let group = group.or(object.property.map(|p| p.group));
    if let (Some(group), Some(first)) = (group, members[0]) {
        let members = members.map(|m| m.unwrap_or(first));
        object.properties.resize(object.triangles.len() - 1, None);
        object.properties.push(Some(Property { group, members }));
    }
}

fn component(e: &BytesStart) -> Option<Component> {
    let (mut id, mut part, mut transform) = (None, None, AS_IT_IS);
    attributes(e, |name, value| match name {
        "objectid" => id = whole(value),
        "path" => part = Some(words(value)),
        "transform" => transform = twelve(value).unwrap_or(AS_IT_IS),
        _ => {}
    });
    Some(Component { id: id?, part, transform })
}

fn twelve(value: &str) -> Option<Transform> {
    let mut numbers = value.split_ascii_whitespace().map(str::parse::<f64>);
    let mut out = AS_IT_IS;
    for x in &mut out {
        *x = numbers.next()?.ok().filter(|x| x.is_finite())?;
    }
    Some(out)
}

/// `#RRGGBB` or `#RRGGBBAA`, sRGB.
fn hexadecimal(value: &str) -> Option<[u8; 3]> {
    let digits = value.trim().strip_prefix('#')?;
    if !matches!(digits.len(), 6 | 8) || !digits.is_ascii() {
        return None;
    }
    let channel = |i: usize| u8::from_str_radix(&digits[2 * i..2 * i + 2], 16).ok();
    Some([channel(0)?, channel(1)?, channel(2)?])
}

fn millimetres(unit: &str) -> f64 {
    match unit {
        "micron" => 0.001,
        "centimeter" => 10.0,
        "inch" => 25.4,
        "foot" => 304.8,
        "meter" => 1000.0,
        _ => 1.0,
    }
}
