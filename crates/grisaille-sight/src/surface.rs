//! The surface that light falls on: refined faces and their samples.

use crate::bits::Bits;
use crate::buried::buried;
use crate::engine::TreeSight;
use crate::hollow::{Hollow, hollow};
use crate::occluder::Occluders;
use crate::order::order;
use crate::split::{Refined, split};
use crate::sweep::{Patch, patches};
use grisaille_base::{Code, FaceId, Finding, Millimetres, PieceId, Place, Stop, Watch};
use grisaille_mesh::{Corners, Mesh, corners};
use nalgebra::{Point3, Vector3};
use std::sync::Arc;

/// How the surface is refined and smoothed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SurfaceSettings {
    /// No edge is left longer than this; [`default_spacing`] suits a figure.
    pub spacing: Millimetres,
    /// The most vertices that refining may reach.
    pub cap: usize,
    /// Whether to refine at all.
    pub refine: bool,
    /// Edges sharper than this angle between normals, in degrees, part the shading.
    pub crease_degrees: f64,
}

impl SurfaceSettings {
    /// The settings for a mesh: its default spacing, four million vertices at
    /// most, creases above 40°.
    #[must_use]
    pub fn for_mesh(mesh: &Mesh) -> Self {
        Self { spacing: default_spacing(mesh), cap: 4_000_000, refine: true, crease_degrees: 40.0 }
    }
}

/// 0.2 mm on a 32 mm figure, and in proportion on others: with no edge longer
/// than that, samples lie about 0.15 mm apart, finer than a brush places paint.
#[must_use]
pub fn default_spacing(mesh: &Mesh) -> Millimetres {
    let [width, depth, height] = mesh.bounds().extents();
    // A lying sword or a shield is sized by its length.
    Millimetres(0.2 / 32.0 * height.max(0.5 * width.max(depth)))
}

/// Where exposure lives: one sample for each vertex and smoothing group.
#[derive(Clone, Debug, PartialEq)]
pub struct Samples {
    /// On the surface, scene millimetres.
    pub position: Vec<Point3<f32>>,
    /// Unit normals.
    pub normal: Vec<Vector3<f32>>,
    /// Where rays begin: the position moved along the normal by [`Samples::offset`],
    /// and at a crease a hair into the face, so that it stands clear of the other side.
    pub origin: Vec<Point3<f32>>,
    /// Samples inside a closed piece: no light, not painted, never drawn.
    pub buried: Bits,
    /// How far origins lie off the surface in mm: 2⁻¹⁸ of the largest
    /// coordinate, C. A coordinate of a sample is rounded at most once for
    /// each of its up to 16 splits and once for the offset itself, each time
    /// by at most 2⁻²⁴·C, so a sample lies within 17·√3·2⁻²⁴·C < 2⁻¹⁹·C of the
    /// true surface: an origin is always outside by more than half the offset.
    pub offset: f64,
    /// The samples once more, 64 by 64, as the sweep wants them.
    patches: Vec<Patch>,
}

impl Samples {
    /// Samples of which none is buried.
    #[must_use]
    pub fn new(
        position: Vec<Point3<f32>>,
        normal: Vec<Vector3<f32>>,
        origin: Vec<Point3<f32>>,
        offset: f64,
    ) -> Self {
        let patches = patches(&position, &origin, &normal);
        Self { buried: Bits::new(position.len()), position, normal, origin, offset, patches }
    }

    /// The samples 64 by 64, in their order.
    pub(crate) fn patches(&self) -> &[Patch] {
        &self.patches
    }

    /// The number of samples.
    #[must_use]
    pub fn len(&self) -> usize {
        self.position.len()
    }

    /// Whether there are none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.position.is_empty()
    }
}

/// The refined surface. Its guarantees head this crate's documentation.
#[derive(Clone, Debug, PartialEq)]
pub struct Surface {
    /// Faces as indices of samples, counter-clockwise from outside.
    pub faces: Vec<[u32; 3]>,
    /// The mesh face that each face lies in.
    pub source_face: Vec<FaceId>,
    /// The piece of each face.
    pub piece: Vec<PieceId>,
    /// The samples.
    pub samples: Samples,
    /// The longest edge in mm.
    pub longest_edge: f64,
    /// Names this surface among others, so that kept light is not used for another.
    pub fingerprint: u64,
}

impl Surface {
    /// The area of a face in mm².
    #[must_use]
    pub fn face_area(&self, face: usize) -> f64 {
        let [a, b, c] = self.faces[face].map(|s| self.samples.position[s as usize].cast::<f64>());
        0.5 * (b - a).cross(&(c - a)).norm()
    }

    /// How many of a face's three samples are not buried.
    #[must_use]
    pub fn open_corners(&self, face: usize) -> usize {
        self.faces[face].iter().filter(|s| !self.samples.buried.get(**s as usize)).count()
    }
}

/// Refines a mesh and finds its buried samples.
///
/// # Errors
/// [`Stop`] when cancelled.
pub fn surface(
    mesh: &Mesh,
    settings: &SurfaceSettings,
    sight: &TreeSight,
    watch: &Watch,
) -> Result<(Surface, Vec<Finding>), Stop> {
    let span = watch.span("surface", 3);
    let mut findings = Vec::new();
    let largest =
        mesh.positions().iter().flat_map(|p| p.iter()).fold(0.0_f64, |m, x| m.max(f64::from(x.abs())));
    let spacing = settings.spacing.0.max(f64::MIN_POSITIVE);
    let refined = if settings.refine {
        // Four roundings of a coordinate: what is flat in the sculptor's
        // program is flat to this in the file.
        let flatness = largest * 2.0_f64.powi(-22);
        watch.run(|| {
            split(
                mesh.positions().to_vec(),
                (mesh.faces().to_vec(), mesh.mark_of_face()),
                spacing,
                flatness,
                settings.cap,
                watch,
            )
        })?
    } else {
        Refined {
            positions: mesh.positions().to_vec(),
            faces: mesh.faces().to_vec(),
            source: (0..mesh.faces().len() as u32).collect(),
            longest: 0.0,
            capped: false,
        }
    };
    span.advance(1);
    if refined.capped {
        findings.push(Finding::new(
            Code::SampleCap,
            refined.positions.len() as u64,
            format!(
                "the surface was divided to {:.2} mm instead of {:.2} mm to stay within {} points; \
                 small shadows may be coarse",
                refined.longest, spacing, settings.cap
            ),
        ));
    }
    watch.check()?;
    let Refined { positions, faces, source, longest, .. } = refined;
    let Corners { mut faces, vertex, normal } = corners(&positions, &faces, settings.crease_degrees);
    span.advance(1);
    watch.check()?;
    // Neighbours in space that face alike stand together: batches of samples
    // then share their answers' work (and the exported file compresses well).
    let bounds = mesh.bounds();
    let placed = watch.run(|| {
        order(vertex.len(), bounds.low, bounds.high, |i| (positions[vertex[i] as usize], normal[i], false))
    });
    let mut rank = vec![0; placed.len()];
    for (to, &from) in placed.iter().enumerate() {
        rank[from as usize] = to as u32;
    }
    for corner in faces.iter_mut().flatten() {
        *corner = rank[*corner as usize];
    }
    let vertex: Vec<u32> = placed.iter().map(|&i| vertex[i as usize]).collect();
    let position: Vec<Point3<f32>> = vertex.iter().map(|&v| positions[v as usize]).collect();
    let normal: Vec<Vector3<f32>> = placed.iter().map(|&i| normal[i as usize]).collect();
    let offset = largest * 2.0_f64.powi(-18);
    let origin = origins(&faces, &vertex, &position, &normal, offset);
    let mut samples = Samples::new(position, normal, origin, offset);
    let piece: Vec<PieceId> = source.iter().map(|&f| mesh.piece_of_face()[f as usize]).collect();
    let lidded = Occluders::with_lids(mesh).map(|o| TreeSight::new(Arc::new(o), watch));
    let sight = lidded.as_ref().unwrap_or(sight);
    let (mut inside, free) = watch.run(|| buried(mesh, &samples, &faces, &piece, sight, watch))?;
    let pushed_in = pushed_in(mesh, &faces, &piece, &inside);
    let cavities = mesh.pieces().iter().filter(|p| p.cavity).count() as u64;
    // Without a closed piece nothing is known of insides.
    if free.count() > 0 {
        let found = watch.run(|| hollow(&samples, &faces, &free, (sight, bounds), &mut inside, watch))?;
        findings.extend(found.map(|h| hollow_print(&h)));
    }
    if cavities > 0 {
        let hint = "the print has closed hollows: their walls are neither painted nor lit; printed in resin, what is \
                    trapped there never cures, so they need drain holes";
        findings.push(Finding::new(Code::HollowPrint, cavities, hint));
    }
    samples.buried = inside;
    let hidden = pushed_in.count();
    if hidden > 0 {
        let first = (0..samples.len()).find(|&i| pushed_in.get(i)).unwrap_or(0);
        findings.push(
            Finding::new(
                Code::BuriedSamples,
                hidden as u64,
                "parts that the sculptor pushed into others, such as an arm into its sleeve, are hidden inside the print: no \
                 brush reaches them, so they are neither planned nor counted",
            )
            .at(Place::Point(samples.position[first].into())),
        );
    }
    span.count("samples", samples.len() as u64);
    span.count("faces", faces.len() as u64);
    let fingerprint = fingerprint(&samples, &faces);
    let source_face = source.into_iter().map(FaceId).collect();
    Ok((Surface { faces, source_face, piece, samples, longest_edge: longest, fingerprint }, findings))
}

/// Samples that are buried, but not as the wall of a cavity.
fn pushed_in(mesh: &Mesh, faces: &[[u32; 3]], piece: &[PieceId], buried: &Bits) -> Bits {
    let mut out = buried.clone();
    for (face, _) in faces.iter().zip(piece).filter(|(_, p)| mesh.pieces()[p.index()].cavity) {
        face.iter().for_each(|s| out.set(*s as usize, false));
    }
    out
}

fn hollow_print(found: &Hollow) -> Finding {
    let openings = match found.openings {
        1 => "a drain hole".into(),
        n => format!("{n} drain holes"),
    };
    let hint = format!(
        "the print is hollow and open through {openings}: {:.0} mm² of inner wall are neither painted nor lit",
        found.area_mm2
    );
    Finding::new(Code::HollowPrint, found.walls, hint).at(Place::Point(found.at.into()))
}

/// Where rays begin. In a sharp recess a point straight over the crease lies
/// on the facing wall, to the rounding, or behind it: light would leak in
/// through the wall, and the sample would count as buried. So samples of a
/// vertex that a crease parts are first moved toward the middle of one of
/// their faces, by 64 offsets at most: on a 32 mm figure that is 8 µm, and it
/// clears the wall down to a few degrees between the faces. A point of the
/// face itself is as much on the surface as its corner is.
fn origins(
    faces: &[[u32; 3]],
    vertex: &[u32],
    position: &[Point3<f32>],
    normal: &[Vector3<f32>],
    offset: f64,
) -> Vec<Point3<f32>> {
    let mut samples_of_vertex = vec![0_u32; vertex.iter().max().map_or(0, |v| *v as usize + 1)];
    for v in vertex {
        samples_of_vertex[*v as usize] += 1;
    }
    // The way to the middle of the largest face of each sample at a crease:
    // the one whose middle is farthest, the first of equals.
    let mut way = vec![Vector3::<f64>::zeros(); position.len()];
    for face in faces {
        let corners = face.map(|s| position[s as usize].cast::<f64>());
        let middle = Point3::from((corners[0].coords + corners[1].coords + corners[2].coords) / 3.0);
        for (s, corner) in face.iter().map(|s| *s as usize).zip(corners) {
            let to = middle - corner;
            if samples_of_vertex[vertex[s] as usize] > 1 && to.norm_squared() > way[s].norm_squared() {
                way[s] = to;
            }
        }
    }
    (0..position.len())
        .map(|i| {
            let length = way[i].norm();
            let step = if length > 0.0 { (64.0 * offset / length).min(0.25) } else { 0.0 };
            (position[i].cast::<f64>() + way[i] * step + normal[i].cast::<f64>() * offset).cast()
        })
        .collect()
}

/// FNV-1a over words (Fowler, Noll, Vo): not for secrets, only to tell surfaces apart.
fn fingerprint(samples: &Samples, faces: &[[u32; 3]]) -> u64 {
    let coordinates = samples
        .position
        .iter()
        .zip(&samples.normal)
        .flat_map(|(p, n)| [p.x, p.y, p.z, n.x, n.y, n.z].into_iter().map(|x| u64::from(x.to_bits())));
    let corners = faces.iter().flatten().map(|s| u64::from(*s));
    coordinates
        .chain(corners)
        .chain(samples.buried.words().iter().copied())
        .fold(0xcbf2_9ce4_8422_2325, |hash, word| (hash ^ word).wrapping_mul(0x0100_0000_01b3))
}
