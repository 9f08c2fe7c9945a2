//! Sheets of views alone: marked faces enlarged, blank outlines, and how to take pictures that can be compared.

use crate::arrange::{Field, largest, on_field};
use crate::compose::{BACK, Composer, FINENESS, FRONT, LEFT, SMOOTH, THREE_QUARTER, named};
use crate::paper::GAP;
use crate::sheets::{Picture, ViewPicture};
use crate::view_sheet::{NamedView, ViewSheet};
use grisaille_base::Stop;
use grisaille_picture::{BorderPen, Contours, Frame, Look, Scene, View};
use grisaille_scheme::{FaceChoice, Ink};
use grisaille_words::say;
use nalgebra::{Point3, Vector3};

/// How many times larger than the figure a face is shown at most.
const FACE_SCALE: f64 = 8.0;
/// How wide a face is shown, in heights from hairline to chin.
pub(crate) const FACE: f64 = 1.25;
/// And no less than this.
const LEAST_FACE: f64 = 1.1;
/// A camera so many depths of the figure away sees its near and far side within a tenth of one size.
const DEPTHS_AWAY: f64 = 10.0;

impl Composer<'_> {
    /// The marked faces, as they will be painted, in values, and as a drawing to try on.
    pub(crate) fn face_sheets(&mut self) -> Result<Vec<ViewSheet>, Stop> {
        let Some(coloured) = self.coloured else { return Ok(Vec::new()) };
        let words = self.words;
        let mut sheets = Vec::new();
        for face in coloured.colouring.rows.iter().flat_map(|row| &row.faces) {
            let view = self.face_view(face.nose);
            let room = 0.5 * (self.paper.wide() - GAP);
            // A little less than usual round it, if it can be larger by that.
            let height = face.height.max(1e-3);
            let scale = (room / (LEAST_FACE * height)).floor().clamp(1.0, FACE_SCALE);
            let shown = (FACE * height).min(room / scale);
            let side = ((shown * scale).min(room) * FINENESS) as u32;
            let frame = Frame::new(view, 1.0 / (FINENESS * scale), side, side, face.nose);
            let scene = self.scene(&frame, FINENESS)?;
            let mut views = Vec::new();
            let looks = [
                (Some(Look::Steps), "steps"),
                (Some(Look::Colours), "blended"),
                (Some(self.values_look()), "values"),
                (None, "outline"),
            ];
            for (look, which) in looks {
                let name = say!(words, &format!("face-{which}"));
                let caption = say!(words, &format!("face-{which}-caption"));
                let alt = say!(words, "alt-face", name = &name, caption = &caption);
                let picture = self.drawn(&scene, look, scale, alt)?;
                views.push(NamedView { view: ViewPicture { name, caption, picture }, tags: Vec::new() });
            }
            sheets.push(ViewSheet {
                key: "faces",
                part: say!(words, "part-faces"),
                title: say!(words, "faces-title"),
                lead: say!(
                    words,
                    "faces-lead",
                    height = format!("{:.1}", face.height),
                    gaze = words.term("gaze", face.gaze.as_str()),
                ),
                views,
                notes: vec![say!(words, "faces-note")],
                ..ViewSheet::default()
            });
        }
        Ok(sheets)
    }

    /// Whether a face is marked.
    pub(crate) fn has_faces(&self) -> bool {
        self.coloured.is_some_and(|c| c.colouring.rows.iter().any(|row| !row.faces.is_empty()))
    }

    /// From where a face is looked at.
    pub(crate) fn face_view(&self, nose: Point3<f64>) -> View {
        let near = |f: &&FaceChoice| (Point3::from(f.at) - nose).norm() < 1e-6;
        let toward = self.scheme.colours.faces.iter().find(near).and_then(|f| f.toward);
        let toward = toward.map_or_else(|| -Vector3::y(), Vector3::from);
        let [azimuth, elevation] = angles_of(toward);
        View::from_angles(azimuth, elevation)
    }

    /// A scene in one look with its lines over it; without one the lines alone.
    pub(crate) fn drawn(
        &self,
        scene: &Scene<'_>,
        look: Option<Look>,
        scale: f64,
        alt: String,
    ) -> Result<Picture, Stop> {
        let fineness = scene.pixels_per_paper_mm();
        let mut shaded = look.map(|look| scene.shade_bare(look, self.watch)).transpose()?;
        if let Some(shaded) = shaded.as_mut().filter(|_| self.ink() == Ink::Grey) {
            shaded.image.to_grey();
        }
        let areas = shaded.as_ref().and_then(|s| s.areas.as_ref());
        let lines = scene.lines_over(areas, BorderPen::FINE, Contours::Plain, self.watch)?;
        let file = match &shaded {
            Some(shaded) if shaded.areas.is_some() => shaded.image.png(fineness, self.watch)?,
            Some(shaded) => shaded.image.jpeg(fineness, self.watch)?,
            None => Vec::new(),
        };
        Ok(self.printed((scene.frame(), fineness, scale), file, alt, lines))
    }

    /// Outlines from four sides, to try colours on.
    pub(crate) fn outline_sheets(&mut self) -> Result<Vec<ViewSheet>, Stop> {
        let mut sheets = Vec::new();
        let sides: [&[usize]; 3] = [&[FRONT], &[BACK], &[THREE_QUARTER, LEFT]];
        for sides in sides {
            let scale = largest(&self.extents, sides, self.field_under(-18.0)).scale;
            let mut views = Vec::new();
            for view in sides.iter().copied() {
                let frame = self.frame(&View::all()[view], scale, SMOOTH);
                let scene = self.scene(&frame, SMOOTH)?;
                let alt = say!(self.words, "alt-outlines", side = self.side(&View::all()[view]));
                let picture = self.drawn(&scene, None, scale, alt)?;
                views.push(NamedView { view: named(self.words, view, "", picture), tags: Vec::new() });
            }
            sheets.push(ViewSheet {
                key: "outlines",
                part: say!(self.words, "part-outlines"),
                title: say!(self.words, "outlines-title"),
                lead: say!(self.words, "outlines-lead"),
                views,
                ..ViewSheet::default()
            });
        }
        Ok(sheets)
    }

    /// How to take pictures of the figure that can be compared with the plan and with each other.
    pub(crate) fn photo_sheets(&mut self) -> Result<Vec<ViewSheet>, Stop> {
        let words = self.words;
        let [width, depth, height] = self.plan.mesh.bounds().extents();
        let away = (DEPTHS_AWAY * depth.max(width).max(0.5 * height) / 10.0).ceil() * 10.0;
        let views = [FRONT, THREE_QUARTER, BACK];
        let height_of_pictures = if self.paper.is_small() { 46.0 } else { 62.0 };
        let field = Field { width: (self.paper.wide() - 12.0) / 3.0, height: height_of_pictures + 10.0 };
        let mut pictures = Vec::new();
        let scale = views.iter().map(|v| on_field(&self.extents, &[*v], 1, field).scale);
        let scale = scale.fold(f64::INFINITY, f64::min);
        let look = if self.coloured.is_some() { Look::Colours } else { Look::Tones };
        for view in views {
            let picture = self.picture(view, scale, look)?;
            pictures.push(NamedView { view: named(words, view, "", picture), tags: Vec::new() });
        }
        let [turn, up] = angles_of(View::all()[THREE_QUARTER].toward());
        let three = if turn > 0.0 { "photo-three-right" } else { "photo-three-left" };
        let whole = |x: f64| format!("{x:.0}");
        Ok(vec![ViewSheet {
            key: "photo",
            part: say!(words, "part-photo"),
            title: say!(words, "photo-title"),
            lead: say!(words, "photo-lead"),
            views: pictures,
            steps: vec![
                say!(words, "photo-camera", away = whole(away), up = whole(0.5 * height)),
                say!(words, "photo-mark"),
                say!(words, "photo-lamp"),
                say!(words, "photo-grey-card"),
                say!(words, three, turn = whole(turn.abs()), up = whole(up)),
                say!(words, "photo-look"),
            ],
            notes: vec![say!(words, "photo-note")],
            ..ViewSheet::default()
        }])
    }
}

/// Where a direction points, in degrees: round from the front toward the viewer's right, and up.
pub(crate) fn angles_of(toward: Vector3<f64>) -> [f64; 2] {
    let azimuth = toward.x.atan2(-toward.y).to_degrees();
    [azimuth, toward.z.atan2(toward.x.hypot(toward.y)).to_degrees()]
}
