//! From bytes to a clean mesh: the whole phase in one screen.

use crate::dissolve::dissolve;
use crate::edge::edges;
use crate::mesh::{Bounds, Counts, Mesh, is_flat};
use crate::orient::{measure, orient};
use crate::place::{ReadSettings, scene_from_file};
use crate::stl::{self, Triangle};
use crate::weld::{Welded, drop_unused, lowest_first, weld};
use grisaille_base::{Code, Finding, PieceId, Place, Stop, Watch};

/// Why a file gave no model.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ReadError {
    /// The file has no bytes.
    #[error("the file is empty (0 bytes): export or download it again")]
    Empty,
    /// The bytes are not an STL model.
    #[error("this is not an STL model{}", match looks_like {
        Some(kind) => format!(": it looks like {kind}"),
        None => ": neither text beginning with 'solid' nor whole binary records".to_owned(),
    })]
    NotAModel {
        /// What the file looks like, where its first bytes tell.
        looks_like: Option<&'static str>,
    },
    /// An STL file without a usable triangle.
    #[error("the file holds no triangle with an area: export it again as a mesh, not as an empty solid")]
    NoTriangles,
    /// More triangles than can be numbered.
    #[error("the file holds {triangles} triangles; at most {} can be read", u32::MAX / 6)]
    TooMany {
        /// Triangles found.
        triangles: u64,
    },
    /// A read setting makes no sense.
    #[error("{0}")]
    Setting(String),
    /// Cancelled.
    #[error(transparent)]
    Stop(#[from] Stop),
}

/// Reads a model file (STL, binary or text) into a clean mesh.
///
/// # Errors
/// [`ReadError`] for what cannot be read at all; everything that was mended
/// or left out is in the findings.
pub fn read(bytes: &[u8], settings: &ReadSettings, watch: &Watch) -> Result<(Mesh, Vec<Finding>), ReadError> {
    if let Some(height) = settings.height
        && !(height.is_finite() && height > 0.0)
    {
        return Err(ReadError::Setting(format!("the height must be a length above 0 mm, not {height}")));
    }
    if settings.at.iter().chain([&settings.turn]).any(|x| !x.is_finite()) {
        return Err(ReadError::Setting("a model's place and turn must be numbers".into()));
    }
    // Sorting and mending ask seldom whether to stop, so the caller leaves them.
    let mut own = Vec::with_capacity(bytes.len());
    for part in bytes.chunks(1 << 20) {
        watch.check()?;
        own.extend_from_slice(part);
    }
    let settings = *settings;
    watch.leave(move |watch| read_all(own, &settings, watch))?
}

fn read_all(
    bytes: Vec<u8>,
    settings: &ReadSettings,
    watch: &Watch,
) -> Result<(Mesh, Vec<Finding>), ReadError> {
    let (size, half) = (bytes.len() as u64, bytes.len() as u64 / 2);
    let span = watch.span("read", size);
    let (mut soup, mut findings) = stl::parse(&bytes)?;
    drop(bytes);
    span.advance(half / 2);
    watch.check()?;
    let triangles = soup.len() as u64;
    drop_non_finite(&mut soup, &mut findings);
    scene_from_file(&mut soup, settings);
    watch.check()?;
    drop_non_finite(&mut soup, &mut findings);
    if soup.is_empty() {
        return Err(ReadError::NoTriangles);
    }
    if soup.len() > (u32::MAX / 6) as usize {
        return Err(ReadError::TooMany { triangles });
    }
    let welded = watch.run(|| weld(&soup));
    drop(soup);
    span.advance(half / 2);
    watch.check()?;
    let mesh = watch.run(|| mend(welded, triangles, &mut findings, watch))?;
    if mesh.faces.is_empty() {
        return Err(ReadError::NoTriangles);
    }
    findings.extend(implausible_size(mesh.bounds().extents()));
    span.advance(size - 2 * (half / 2));
    span.count("triangles", triangles);
    Ok((mesh, findings))
}

/// A figure's largest measure in mm is taken to lie between these: below is a
/// file in metres or inches, above one in micrometres or of a house.
const PLAUSIBLE_MM: [f64; 2] = [5.0, 1000.0];

fn implausible_size(extents: [f64; 3]) -> Option<Finding> {
    let largest = extents.into_iter().fold(0.0, f64::max);
    let [least, most] = PLAUSIBLE_MM;
    let (what, perhaps) = match largest {
        x if x < least => ("very small", "the file may be in metres or inches"),
        x if x > most => ("very large", "the file may be in another unit"),
        _ => return None,
    };
    Some(Finding::new(
        Code::ImplausibleSize,
        1,
        format!(
            "the model's largest measure, {largest:.2} mm, is {what} for a miniature: {perhaps}; \
             give its unit, or the height of your print"
        ),
    ))
}

fn drop_non_finite(soup: &mut Vec<Triangle>, findings: &mut Vec<Finding>) {
    // Half the largest float: differences of two coordinates stay finite too.
    let usable = |t: &Triangle| t.iter().flatten().all(|x| x.abs() < f32::MAX / 4.0);
    let first = soup.iter().position(|t| !usable(t));
    let Some(first) = first else { return };
    let before = soup.len();
    soup.retain(usable);
    findings.push(Finding::new(
        Code::NonFiniteFacets,
        (before - soup.len()) as u64,
        format!(
            "triangles with a coordinate that is not a usable number were left out (first: triangle {first})"
        ),
    ));
}

fn mend(welded: Welded, triangles: u64, findings: &mut Vec<Finding>, watch: &Watch) -> Result<Mesh, Stop> {
    let Welded { mut positions, mut faces, collapsed } = welded;
    let mut counts = count(&faces);
    counts.triangles = triangles;
    counts.vertices = positions.len() as u64;
    let flat = faces.iter().filter(|f| is_flat(&positions, **f)).count() as u64;
    counts.zero_area_faces = collapsed + flat;
    let duplicates = faces.windows(2).filter(|w| w[0] == w[1]).count() as u64;
    watch.check()?;

    let oriented = orient(&positions, &mut faces);
    let mut piece_of_face = oriented.piece_of_face;
    watch.check()?;
    let dissolved = dissolve(&positions, &mut faces, &mut piece_of_face);
    let (faces, piece_of_face) = canonical(&mut positions, faces, &piece_of_face);
    watch.check()?;
    let pieces_count = piece_of_face.iter().map(|p| p.index() + 1).max().unwrap_or(0);
    let pieces = measure(&positions, &faces, &piece_of_face, pieces_count);

    let mut say = |code, n: u64, place: Option<[f32; 3]>, hint: &str| {
        if n > 0 {
            let finding = Finding::new(code, n, hint);
            findings.push(match place {
                Some(p) => finding.at(Place::Point(p)),
                None => finding,
            });
        }
    };
    say(
        Code::ZeroAreaFaces,
        collapsed + dissolved.dissolved,
        dissolved.place,
        "triangles without area were dissolved into their neighbours; the shape is unchanged",
    );
    say(
        Code::ZeroAreaFacesKept,
        dissolved.kept,
        dissolved.place,
        "triangles without area could not be dissolved and were kept; they catch no light",
    );
    say(Code::DuplicateFaces, duplicates, None, "the same triangle stands in the file more than once");
    say(
        Code::TurnedFaces,
        oriented.turned_faces,
        oriented.place,
        "triangles faced the other way than their neighbours and were turned",
    );
    say(
        Code::InsideOutPieces,
        oriented.inside_out,
        None,
        "closed pieces were inside out and were turned outward",
    );
    say(
        Code::OpenEdges,
        counts.boundary_edges,
        None,
        "the surface has open edges: light is computed, but inside and outside are not known there",
    );
    say(
        Code::NonManifoldEdges,
        counts.non_manifold_edges,
        None,
        "edges where more than two triangles meet; usual where parts touch along a line",
    );
    let bounds = Bounds::of(&positions);
    Ok(Mesh { positions, faces, piece_of_face, pieces, counts, bounds })
}

fn count(faces: &[[u32; 3]]) -> Counts {
    let mut counts = Counts::default();
    for mut group in edges(faces).groups() {
        match (group.len(), group.next(), group.next()) {
            (1, ..) => counts.boundary_edges += 1,
            (2, Some(a), Some(b)) => counts.inconsistent_edges += u64::from(a.forward == b.forward),
            _ => counts.non_manifold_edges += 1,
        }
    }
    counts
}

/// Faces in canonical order again after turning and flipping.
fn canonical(
    positions: &mut Vec<nalgebra::Point3<f32>>,
    faces: Vec<[u32; 3]>,
    piece_of_face: &[PieceId],
) -> (Vec<[u32; 3]>, Vec<PieceId>) {
    let mut both: Vec<([u32; 3], PieceId)> =
        faces.into_iter().map(lowest_first).zip(piece_of_face.iter().copied()).collect();
    both.sort_unstable();
    let (mut faces, piece_of_face): (Vec<_>, Vec<_>) = both.into_iter().unzip();
    drop_unused(positions, &mut faces);
    // A piece may have lost all its faces; the others keep their order.
    let mut used: Vec<PieceId> = piece_of_face.clone();
    used.sort_unstable();
    used.dedup();
    let piece_of_face =
        piece_of_face.into_iter().map(|p| PieceId(used.binary_search(&p).map_or(0, |n| n as u32))).collect();
    (faces, piece_of_face)
}
