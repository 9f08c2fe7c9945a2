//! Pictures on their way to paper: checked once, so that the sheets can trust
//! their size, their shape and their words.

use grisaille_base::Millimetres;

use crate::sheets::Picture;
use crate::typeset::GuideError;

/// A size that a picture may have at most.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Room {
    /// The largest width on paper.
    pub width: Millimetres,
    /// The largest height on paper.
    pub height: Millimetres,
}

/// The smallest side that a picture may have, in mm.
const SMALLEST: f64 = 5.0;

/// How far the shape in pixels may be from the shape on paper.
const STRETCH: f64 = 0.02;

/// Refuses a picture that could not be printed at its true size in `room`.
/// `what` names the picture in the message.
pub(crate) fn check(picture: &Picture, room: Room, what: &str) -> Result<(), GuideError> {
    let refuse = |why: String| Err(GuideError::Typeset { message: format!("{what}: {why}") });
    let (width, height) = (picture.width.0, picture.height.0);
    // Written so that a size that is no number fails too.
    if !(width >= SMALLEST && height >= SMALLEST && width <= room.width.0 && height <= room.height.0) {
        return refuse(format!(
            "{width:.1} × {height:.1} mm does not fit; the sheet has room for {:.0} × {:.0} mm",
            room.width.0, room.height.0
        ));
    }
    if picture.alt.trim().is_empty() {
        return refuse("the text that says what the picture shows is missing".into());
    }
    let finite = |mm: &Millimetres| mm.0.is_finite();
    if !picture.labels.iter().all(|l| finite(&l.x) && finite(&l.y) && l.names.iter().flatten().all(finite)) {
        return refuse("a label's place is not a number".into());
    }
    if picture.file.is_empty() && !picture.lines.is_empty() {
        return Ok(());
    }
    let Some((_, across, down)) = pixels(&picture.file) else {
        return refuse("this is not a PNG or JPEG file".into());
    };
    let slack = STRETCH + 1.0 / across.min(down);
    if ((across / down) / (width / height) - 1.0).abs() > slack {
        return refuse(format!("{across} × {down} pixels would be stretched on {width:.1} × {height:.1} mm"));
    }
    Ok(())
}

/// The kinds of picture that are printed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Kind {
    Png,
    Jpeg,
}

impl Kind {
    /// The ending of a file of this kind, which is also the typesetter's name for it.
    pub(crate) fn ending(self) -> &'static str {
        match self {
            Self::Png => "png",
            Self::Jpeg => "jpg",
        }
    }
}

/// What kind of picture a file holds, with its width and height in pixels.
pub(crate) fn pixels(file: &[u8]) -> Option<(Kind, f64, f64)> {
    if let Some(header) = file.strip_prefix(b"\x89PNG\r\n\x1a\n\x00\x00\x00\x0dIHDR") {
        // PNG specification, third edition, 5.2 and 11.2.1.
        let across = u32::from_be_bytes(header.get(0..4)?.try_into().ok()?);
        let down = u32::from_be_bytes(header.get(4..8)?.try_into().ok()?);
        return (across > 0 && down > 0).then_some((Kind::Png, f64::from(across), f64::from(down)));
    }
    // ITU-T T.81, B.1.1.3 and B.2.2: segments with their length, until that of the frame.
    let mut rest = file.strip_prefix(b"\xff\xd8")?;
    loop {
        let [0xff, marker, high, low, ..] = *rest else { return None };
        let side = |at: usize| Some(u16::from_be_bytes(rest.get(at..at + 2)?.try_into().ok()?));
        if matches!(marker, 0xc0..=0xc2) {
            let (down, across) = (side(5)?, side(7)?);
            return (across > 0 && down > 0).then_some((Kind::Jpeg, f64::from(across), f64::from(down)));
        }
        rest = rest.get(2 + usize::from(u16::from_be_bytes([high, low])).max(2)..)?;
    }
}
