//! From bytes to a clean mesh: the whole phase in one screen.

use crate::dissolve::{Dissolved, dissolve};
use crate::edge::Edges;
use crate::layers::{Layers, Printed};
use crate::mesh::{Bounds, Known, Mesh, has_no_area, is_flat};
use crate::mtl::Beside;
use crate::near::{Near, near};
use crate::orient::{loose_faces, measure, survey, turn_outward, wind_alike};
use crate::place::{ReadSettings, Unit, UpAxis, scene_from_file};
use crate::soup::{Mark, Point, Soup};
use crate::weld::{Welded, drop_unused, in_order, lowest_first, weld};
use crate::what::parse;
use grisaille_base::{Code, Finding, PieceId, Place, Span, Stop, Watch};
use nalgebra::Point3;
use rayon::prelude::*;

/// Why a file gave no model.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ReadError {
    /// The file has no bytes.
    #[error("the file is empty (0 bytes): export or download it again")]
    Empty,
    /// The bytes are of no kind of model that is read.
    #[error("this is not a model that can be read (STL, OBJ, 3MF or PLY){}", match looks_like {
        Some(kind) => format!(": it looks like {kind}"),
        None => String::new(),
    })]
    NotAModel {
        /// What the file looks like, where its first bytes tell.
        looks_like: Option<&'static str>,
    },
    /// A binary STL file whose bytes were changed as if they were text.
    #[error(
        "this binary STL file was damaged on its way, by being handled as text ({how}): copy or download it again as it is"
    )]
    TextMode {
        /// What was done to it.
        how: &'static str,
    },
    /// A file of a known kind that is damaged beyond reading.
    #[error("this {kind} file cannot be read: {why}")]
    Broken {
        /// What kind of file it is.
        kind: &'static str,
        /// What is wrong with it.
        why: String,
    },
    /// An archive that expands to far more than a model does.
    #[error(
        "the file would expand to {megabytes} MB, far more than a model of its size: it was made to do harm, or is damaged"
    )]
    ExpandsTooMuch {
        /// What it would expand to.
        megabytes: u64,
    },
    /// A file without a usable triangle.
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

/// Reads a model file (STL, OBJ, 3MF or PLY) into a clean mesh. The kind is told
/// by the contents, since names and endings are often wrong.
///
/// # Errors
/// [`ReadError`] for what cannot be read at all; everything that was mended
/// or left out is in the findings.
pub fn read(bytes: &[u8], settings: &ReadSettings, watch: &Watch) -> Result<(Mesh, Vec<Finding>), ReadError> {
    // A copy may be asked for the time it takes, too.
    let mut own = Vec::with_capacity(bytes.len());
    for part in bytes.chunks(1 << 20) {
        watch.check()?;
        own.extend_from_slice(part);
    }
    read_owned(own, settings, watch)
}

/// As [`read`], of bytes that nobody else needs: they are released before the
/// mesh is built, which saves the memory of a copy.
///
/// # Errors
/// As [`read`].
pub fn read_owned(
    bytes: Vec<u8>,
    settings: &ReadSettings,
    watch: &Watch,
) -> Result<(Mesh, Vec<Finding>), ReadError> {
    read_beside(bytes, Vec::new(), settings, watch)
}

/// As [`read_owned`], of a file that names others ([`crate::material_files`]): `beside` is what
/// was found of them. Without it nothing is said of files that are not there.
///
/// # Errors
/// As [`read`].
pub fn read_beside(
    bytes: Vec<u8>,
    beside: Vec<Beside>,
    settings: &ReadSettings,
    watch: &Watch,
) -> Result<(Mesh, Vec<Finding>), ReadError> {
    if let Some(height) = settings.height
        && !(height.is_finite() && height > 0.0)
    {
        return Err(ReadError::Setting(format!("the height must be a length above 0 mm, not {height}")));
    }
    if settings.at.iter().chain(&settings.down).chain([&settings.turn]).any(|x| !x.is_finite()) {
        return Err(ReadError::Setting("a model's place and turn must be numbers".into()));
    }
    if let Some(printed) = settings.printed
        && !(printed.layer > 0.0 && printed.layer <= Printed::THICKEST)
    {
        let why = format!(
            "a layer of a print is between 0 and {} mm thick, not {}",
            Printed::THICKEST,
            printed.layer
        );
        return Err(ReadError::Setting(why));
    }
    let settings = *settings;
    // Sorting and mending ask seldom whether to stop, so the caller leaves them.
    watch.leave(move |watch| {
        let size = bytes.len() as u64;
        let span = watch.span("read", size);
        let (soup, findings) = watch.run(|| parse(&bytes, &beside))?;
        drop((bytes, beside));
        span.advance(size / 4);
        watch.check()?;
        build(soup, findings, &settings, &span, size - size / 4, watch)
    })?
}

/// The first half of [`read_owned`] alone, for comparing its speed with readers that
/// do no more: how many points and faces there are after bit-equal welding.
///
/// # Errors
/// As [`read`].
pub fn welded(bytes: Vec<u8>) -> Result<(usize, usize), ReadError> {
    let (mut soup, mut findings) = parse(&bytes, &[])?;
    drop(bytes);
    clean_numbers(&mut soup, &mut findings);
    let Welded { positions, faces, .. } = weld(soup);
    Ok((positions.len(), faces.len()))
}

/// A clean mesh of triangles that were read; `left` is what of the span's work is left.
pub(crate) fn build(
    mut soup: Soup,
    mut findings: Vec<Finding>,
    settings: &ReadSettings,
    span: &Span,
    left: u64,
    watch: &Watch,
) -> Result<(Mesh, Vec<Finding>), ReadError> {
    let triangles = soup.len() as u64;
    clean_numbers(&mut soup, &mut findings);
    let often_y_up = soup.often_y_up && settings.up == UpAxis::Z;
    // What the file tells of its unit is believed.
    let unit = if soup.millimetres { Unit::Mm } else { settings.unit };
    if scene_from_file(&mut soup.points, &ReadSettings { unit, ..*settings }) {
        watch.check()?;
        clean_numbers(&mut soup, &mut findings);
    }
    watch.check()?;
    if soup.len() == 0 {
        return Err(ReadError::NoTriangles);
    }
    if soup.len() > (u32::MAX / 6) as usize {
        return Err(ReadError::TooMany { triangles });
    }
    soup.settle_marks();
    let marks = std::mem::take(&mut soup.marks);
    let welded = watch.run(|| weld(soup));
    span.advance(left / 2);
    watch.check()?;
    let mut mesh = watch.run(|| mend(welded, marks, (triangles, settings.exact), &mut findings, watch))?;
    if mesh.faces.is_empty() {
        return Err(ReadError::NoTriangles);
    }
    findings.extend(implausible_size(mesh.bounds().extents()));
    findings.extend(perhaps_y_up(mesh.bounds().extents()).filter(|_| often_y_up));
    mesh.layers.extend(Layers::of(settings, mesh.bounds()));
    findings.extend(mesh.layers.iter().map(Layers::finding));
    span.advance(left - left / 2);
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

/// A figure that measures more from front to back than upward may lie on its back.
fn perhaps_y_up([_, depth, height]: [f64; 3]) -> Option<Finding> {
    let hint = "the model is higher along the file's Y axis than along its Z axis, and files of this kind often \
                have Y up: if it lies on its back, say that Y is up";
    (depth > 1.1 * height).then(|| Finding::new(Code::PerhapsYUp, 1, hint))
}

/// Leaves out triangles with coordinates that are no usable numbers, and takes
/// numbers too small for the full digits of an `f32` as 0: they are what is left
/// of a zero after some reckoning, and would not weld with it.
fn clean_numbers(soup: &mut Soup, findings: &mut Vec<Finding>) {
    // A quarter of the largest float: differences of two coordinates stay finite too.
    let usable = |p: &Point| p.iter().all(|x| x.abs() < f32::MAX / 4.0);
    let tiny = |x: &f32| *x != 0.0 && x.abs() < f32::MIN_POSITIVE;
    let (bad, small) = soup
        .points
        .par_iter()
        .with_min_len(1 << 14)
        .map(|p| (u64::from(!usable(p)), p.iter().filter(|x| tiny(x)).count() as u64))
        .reduce(|| (0, 0), |a, b| (a.0 + b.0, a.1 + b.1));
    if small > 0 {
        for x in soup.points.iter_mut().flatten().filter(|x| tiny(x)) {
            *x = 0.0;
        }
        let hint = "coordinates too small to be told from 0 were taken as 0";
        findings.push(Finding::new(Code::TinyCoordinates, small, hint));
    }
    if bad > 0 {
        let sound = |t: &[Point; 3]| t.iter().all(usable);
        let first = (0..soup.len()).find(|&f| !sound(&soup.face(f).map(|v| soup.points[v as usize])));
        let before = soup.len();
        soup.retain(sound);
        if let Some(first) = first {
            let hint = format!(
                "triangles with a coordinate that is not a usable number were left out (first: triangle {})",
                first + 1
            );
            findings.push(Finding::new(Code::NonFiniteFacets, (before - soup.len()) as u64, hint));
        }
    }
    soup.drop_unused_points();
}

fn mend(
    welded: Welded,
    marks: Vec<Mark>,
    (triangles, exact): (u64, bool),
    findings: &mut Vec<Finding>,
    watch: &Watch,
) -> Result<Mesh, Stop> {
    let Welded { mut positions, mut faces, mut mark_of_face, collapsed } = welded;
    let mut edges = crate::edge::edges(&faces);
    watch.check()?;
    // Edges are looked at on one core, areas on another.
    let looked = |positions: &[Point3<f32>], faces: &[[u32; 3]], edges: &Edges| {
        rayon::join(|| survey(positions, faces, edges), || areas(positions, faces))
    };
    let (mut survey, mut without_area) = looked(&positions, &faces, &edges);
    let mut counts = survey.counts;
    counts.triangles = triangles;
    counts.vertices = positions.len() as u64;
    counts.pieces = crate::orient::count_of(&survey.piece_of_face) as u64;
    if counts.boundary_edges > 0
        && !exact
        && let Some(near) = near(&positions, &faces, &edges, Bounds::of(&positions).diagonal())
    {
        watch.check()?;
        let put = |f: [u32; 3]| lowest_first(f.map(|v| near.stands_for[v as usize]));
        if mark_of_face.is_empty() {
            faces.iter_mut().for_each(|f| *f = put(*f));
            faces.par_sort_unstable();
        } else {
            let both = faces.iter().map(|f| put(*f)).zip(mark_of_face);
            (faces, mark_of_face) = in_order(both, positions.len());
        }
        drop_unused(&mut positions, &mut faces);
        edges = crate::edge::edges(&faces);
        (survey, without_area) = looked(&positions, &faces, &edges);
        findings.push(near_points(&near, counts.boundary_edges - survey.counts.boundary_edges));
    }
    watch.check()?;
    let Flat { none, flat, duplicates } = without_area;
    counts.zero_area_faces = collapsed + none;

    let (turned, turned_at) = wind_alike(&positions, &mut faces, &edges, &survey);
    if turned > 0 {
        // Turned faces meet their edges the other way.
        edges = crate::edge::edges(&faces);
        survey.loose = loose_faces(&faces, &edges);
    }
    let mut piece_of_face = survey.piece_of_face;
    let (mut pieces, mut holes) = measure(&positions, &faces, &piece_of_face, (&edges, &survey.loose));
    watch.check()?;
    let (inside_out, inside_out_at) =
        turn_outward(&positions, &mut faces, &piece_of_face, (&mut pieces, &mut holes));
    if inside_out > 0 {
        edges = crate::edge::edges(&faces);
    }
    let mut dissolved = Dissolved { dissolved: 0, kept: 0, place: None, gone: Vec::new() };
    if flat > 0 {
        dissolved = dissolve(&positions, &mut faces, &mut mark_of_face, &edges);
    }
    drop(edges);
    watch.check()?;
    if turned + inside_out + dissolved.dissolved > 0 {
        let mut gone = dissolved.gone.iter();
        let mut there: Vec<bool> = faces.iter().map(|_| !gone.next().copied().unwrap_or(false)).collect();
        keep(&mut faces, &there);
        keep(&mut piece_of_face, &there);
        keep(&mut mark_of_face, &there);
        there.clear();
        (faces, piece_of_face, mark_of_face) = canonical(&mut positions, faces, piece_of_face, &mark_of_face);
        if dissolved.dissolved > 0 {
            // Faces have gone or changed, so pieces are measured as they are now.
            let edges = crate::edge::edges(&faces);
            let loose = loose_faces(&faces, &edges);
            (pieces, holes) = measure(&positions, &faces, &piece_of_face, (&edges, &loose));
        }
    }

    let mut say = |code, count, place: Option<[f32; 3]>, hint: &str| {
        if count > 0 {
            let finding = Finding::new(code, count, hint);
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
    say(
        Code::DuplicateFaces,
        duplicates.0,
        duplicates.1,
        "the same triangle stands in the file more than once",
    );
    say(
        Code::TurnedFaces,
        turned,
        turned_at,
        "triangles faced the other way than their neighbours and were turned",
    );
    say(
        Code::InsideOutPieces,
        inside_out,
        inside_out_at,
        "closed pieces were inside out and were turned outward",
    );
    say(
        Code::OpenEdges,
        survey.counts.boundary_edges,
        survey.open_at,
        if pieces.iter().all(|p| p.shut) {
            "the surface has open edges, all of them round small holes"
        } else {
            "the surface has open edges: light is computed, but inside and outside are not known there"
        },
    );
    say(
        Code::NonManifoldEdges,
        survey.counts.non_manifold_edges,
        survey.crowded_at,
        "edges where more than two triangles meet; usual where parts touch along a line",
    );
    findings.extend(holes.finding());
    let lids = holes.lids;
    let bounds = Bounds::of(&positions);
    let known = Known::default();
    let layers = Vec::new();
    Ok(Mesh {
        positions,
        faces,
        piece_of_face,
        pieces,
        marks,
        mark_of_face,
        lids,
        layers,
        counts,
        bounds,
        known,
    })
}

fn near_points(near: &Near, closed: u64) -> Finding {
    let hint = format!(
        "points at open edges were up to {:.2} µm apart and were made one, which closes {closed} open edges",
        1000.0 * near.farthest
    );
    Finding::new(Code::NearPoints, near.points, hint).at(Place::Point(near.place))
}

/// Faces without area, near enough or exactly, and faces that stand twice.
struct Flat {
    none: u64,
    flat: u64,
    duplicates: (u64, Option<[f32; 3]>),
}

fn areas(positions: &[Point3<f32>], faces: &[[u32; 3]]) -> Flat {
    let (none, flat) = faces
        .par_iter()
        .with_min_len(1 << 14)
        .map(|f| {
            // What has no area at all is flat, too.
            let flat = is_flat(positions, *f);
            (u64::from(flat && has_no_area(positions, *f)), u64::from(flat))
        })
        .reduce(|| (0, 0), |a, b| (a.0 + b.0, a.1 + b.1));
    Flat { none, flat, duplicates: duplicates(positions, faces) }
}

/// Faces that stand twice, and a corner of the first. Equal faces follow each other.
fn duplicates(positions: &[Point3<f32>], faces: &[[u32; 3]]) -> (u64, Option<[f32; 3]>) {
    let mut twice = faces.windows(2).filter(|w| w[0] == w[1]).map(|w| w[0]);
    let first = twice.next();
    (u64::from(first.is_some()) + twice.count() as u64, first.map(|f| positions[f[0] as usize].into()))
}

/// Keeps what `there` says, if it says anything of this list.
fn keep<T>(list: &mut Vec<T>, there: &[bool]) {
    let mut at = there.iter();
    list.retain(|_| at.next().copied().unwrap_or(true));
}

/// Faces in canonical order again after turning and flipping, with their pieces
/// and marks.
fn canonical(
    positions: &mut Vec<Point3<f32>>,
    faces: Vec<[u32; 3]>,
    piece_of_face: Vec<PieceId>,
    mark_of_face: &[u32],
) -> (Vec<[u32; 3]>, Vec<PieceId>, Vec<u32>) {
    let mut marks = mark_of_face.iter();
    let mut rows: Vec<([u32; 3], PieceId, u32)> = faces
        .into_iter()
        .zip(piece_of_face)
        .map(|(f, p)| (lowest_first(f), p, marks.next().copied().unwrap_or(0)))
        .collect();
    rows.par_sort_unstable();
    let mut faces: Vec<[u32; 3]> = rows.iter().map(|r| r.0).collect();
    drop_unused(positions, &mut faces);
    // A piece may have lost all its faces; the others keep their order.
    let mut used: Vec<PieceId> = rows.iter().map(|r| r.1).collect();
    used.par_sort_unstable();
    used.dedup();
    let piece = |p: PieceId| PieceId(used.binary_search(&p).map_or(0, |n| n as u32));
    let piece_of_face = rows.iter().map(|r| piece(r.1)).collect();
    let mark_of_face = if mark_of_face.is_empty() { Vec::new() } else { rows.iter().map(|r| r.2).collect() };
    (faces, piece_of_face, mark_of_face)
}
