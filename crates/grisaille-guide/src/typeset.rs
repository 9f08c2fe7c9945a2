//! From plain data to the bytes of a PDF.

use grisaille_base::{Finding, Span, Stop, Watch};
use typst::diag::SourceDiagnostic;
use typst::foundations::{Bytes, Smart};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards};

use crate::page::{Manuscript, manuscript};
use crate::print::{Printable, spoken};
use crate::sheets::Sheets;
use crate::world::{Desk, faces};

const TEMPLATE: &str = include_str!("guide.typ");

/// Why there is no guide.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum GuideError {
    /// The work was cancelled.
    #[error(transparent)]
    Stop(#[from] Stop),
    /// The data cannot be printed: a picture is broken, too large, of another
    /// shape than stated, or lacks its description.
    #[error("the guide cannot be typeset: {message}")]
    Typeset {
        /// Which part, and what is wrong with it.
        message: String,
    },
}

/// Typesets the guide: PDF/UA-1 and PDF/A-2a, the same bytes for the same
/// sheets on every run.
///
/// The findings say which characters could not be printed.
///
/// # Errors
/// [`GuideError::Stop`] when cancelled; [`GuideError::Typeset`] when a picture
/// is not a whole PNG, has no description, is larger than its room or would
/// be stretched.
pub fn typeset(sheets: &Sheets, watch: &Watch) -> Result<(Vec<u8>, Vec<Finding>), GuideError> {
    // The typesetter has no way to be stopped but the want of a file, and asks
    // for files early: the caller leaves it to itself.
    let sheets = sheets.clone();
    watch.leave(move |watch| {
        let span = watch.span("guide", 3);
        let pdf = watch.run(|| {
            let (document, findings) = lay_out(&sheets, watch, &span)?;
            watch.check()?;
            let pdf = typst_pdf::pdf(&document, &options(&sheets)?).map_err(|e| refused(&e))?;
            Ok((pdf, findings))
        });
        // The typesetter remembers every picture it has seen until told not to.
        typst::comemo::evict(0);
        watch.check()?;
        span.advance(1);
        pdf
    })?
}

/// The laid-out pages, and what could not be printed on them.
fn lay_out(
    sheets: &Sheets,
    watch: &Watch,
    span: &Span<'_>,
) -> Result<(PagedDocument, Vec<Finding>), GuideError> {
    watch.check()?;
    let faces = faces()?;
    let Manuscript { page, pictures: mut files, findings } = manuscript(sheets, Printable::new(&faces))?;
    let json = serde_json::to_vec(&page).map_err(|e| GuideError::Typeset { message: e.to_string() })?;
    span.count("pictures", files.len() as u64);
    files.push(("guide.json".into(), Bytes::new(json)));
    let desk = Desk::new(TEMPLATE, files, faces, watch)?;
    span.advance(1);
    watch.check()?;
    let document = typst::compile::<PagedDocument>(&desk).output.map_err(|e| refused(&e))?;
    span.advance(1);
    Ok((document, findings))
}

fn options(sheets: &Sheets) -> Result<PdfOptions, GuideError> {
    let standards = PdfStandards::new(&[PdfStandard::Ua_1, PdfStandard::A_2a])
        .map_err(|e| GuideError::Typeset { message: e.message().to_string() })?;
    Ok(PdfOptions {
        creator: Smart::Custom(Some(spoken(&sheets.made_with))),
        timestamp: None,
        standards,
        tagged: true,
        ..PdfOptions::default()
    })
}

/// The typesetter's own words on what it refused, in one line.
fn refused(errors: &[SourceDiagnostic]) -> GuideError {
    let mut lines: Vec<String> = errors
        .iter()
        .map(|e| {
            let hints = e.hints.iter().map(|h| format!(" ({})", h.v));
            format!("{}{}", e.message, hints.collect::<String>())
        })
        .collect();
    lines.dedup();
    GuideError::Typeset { message: lines.join("; ") }
}

#[cfg(test)]
#[path = "../tests/sample/mod.rs"]
mod sample;

#[cfg(test)]
mod tests {
    use super::*;
    use grisaille_scheme::PaperSize;
    use typst::layout::{Frame, FrameItem, Point, Size};
    use typst::visualize::Geometry;

    /// What stands on the pages: pictures and rectangles with their size in
    /// mm, text with its size in points, and how far anything reaches.
    #[derive(Default)]
    struct Seen {
        pictures: Vec<(f64, f64)>,
        rectangles: Vec<(f64, f64)>,
        smallest_text: f64,
        /// All text, run after run.
        text: String,
        right: f64,
        bottom: f64,
        lowest_picture: f64,
    }

    fn look(frame: &Frame, origin: Point, seen: &mut Seen) {
        for (at, item) in frame.items() {
            let at = origin + *at;
            let mut reach = |size: Size| {
                seen.right = seen.right.max((at.x + size.x).to_mm());
                seen.bottom = seen.bottom.max((at.y + size.y).to_mm());
            };
            match item {
                FrameItem::Group(group) => {
                    let moved = at + Point::new(group.transform.tx, group.transform.ty);
                    look(&group.frame, moved, seen);
                }
                FrameItem::Text(text) => {
                    seen.text.push_str(&text.text);
                    seen.text.push('\n');
                    seen.smallest_text = seen.smallest_text.min(text.size.to_pt());
                    reach(Size::new(text.width(), typst::layout::Abs::zero()));
                }
                FrameItem::Image(_, size, _) => {
                    reach(*size);
                    seen.lowest_picture = seen.lowest_picture.max((at.y + size.y).to_mm());
                    seen.pictures.push((size.x.to_mm(), size.y.to_mm()));
                }
                FrameItem::Shape(shape, _) => {
                    if let Geometry::Rect(size) = shape.geometry {
                        reach(size);
                        seen.rectangles.push((size.x.to_mm(), size.y.to_mm()));
                    }
                }
                _ => {}
            }
        }
    }

    fn seen(sheets: &Sheets) -> Seen {
        let watch = Watch::quiet();
        let (document, _) = lay_out(sheets, &watch, &watch.span("guide", 3)).unwrap();
        let mut seen = Seen { smallest_text: f64::MAX, ..Seen::default() };
        for page in document.pages() {
            look(&page.frame, Point::zero(), &mut seen);
        }
        seen
    }

    const PAPERS: [PaperSize; 3] = [PaperSize::A4, PaperSize::Letter, PaperSize::A5];

    /// Nothing reaches over the margins, pictures over the foot, the footer over the paper's edge.
    fn stays_inside(found: &Seen, paper: crate::Paper, what: &str) {
        let ([width, height], [side, _, foot]) = (paper.size(), paper.margins());
        assert!(found.right <= width - side + 0.01, "{what}: {}", found.right);
        assert!(found.bottom <= height - 7.0, "{what}: {}", found.bottom);
        assert!(found.lowest_picture <= height - foot + 0.01, "{what}: {}", found.lowest_picture);
    }

    fn near(a: f64, b: f64) -> bool {
        (a - b).abs() < 1e-6
    }

    #[test]
    fn every_picture_has_exactly_its_size() {
        let sheets = sample::diver();
        let views = sheets
            .values
            .iter()
            .flat_map(|v| &v.pictures)
            .chain(sheets.lights.iter().flat_map(|l| &l.pictures));
        let views = views.chain(&sheets.band_pictures).chain(&sheets.zone_pictures).map(|v| &v.picture);
        // Column by column: sketches stand in a row above the pictures of all.
        let primer = sheets.primer.iter().flat_map(|p| {
            let sketches = p.columns.iter().flat_map(|c| c.sketches.iter().map(|s| &s.picture));
            let row = |k: usize| p.columns.iter().filter_map(move |c| c.pictures.get(k));
            sketches.chain((0..2).flat_map(row))
        });
        let wanted: Vec<_> = std::iter::once(&sheets.cover)
            .chain(sheets.summary.as_ref().map(|s| &s.picture.picture))
            .chain(views)
            .chain(primer)
            .chain(sheets.stages.iter().flat_map(|s| s.pictures.iter().map(|v| &v.picture)))
            .map(|p| (p.width.0, p.height.0))
            .collect();
        let found = seen(&sheets).pictures;
        assert_eq!(found.len(), wanted.len());
        assert!(
            found.iter().zip(&wanted).all(|(f, w)| near(f.0, w.0) && near(f.1, w.1)),
            "{found:?} {wanted:?}"
        );
    }

    #[test]
    fn the_largest_pictures_stay_inside_the_margins() {
        let filled = |room: crate::Room| crate::Picture {
            file: sample::png(
                room.width.0 as u32,
                room.height.0 as u32,
                &vec![99; room.width.0 as usize * room.height.0 as usize * 3],
            ),
            width: room.width,
            height: room.height,
            alt: "An even grey.".into(),
            ..Default::default()
        };
        for size in PAPERS {
            let mut sheets = sample::diver_on(size);
            let paper = sheets.paper;
            sheets.cover = filled(paper.cover());
            sheets.values[0].pictures[0].picture = filled(paper.view());
            sheets.lights[0].pictures[0].picture = filled(paper.view());
            sheets.primer[1].columns[1].pictures[0] = filled(paper.primer());
            sheets.stages[0].pictures[0].picture = filled(paper.stage());
            let found = seen(&sheets);
            let whole = paper.view();
            let largest = |p: &&(f64, f64)| near(p.0, whole.width.0) && near(p.1, whole.height.0);
            assert_eq!(found.pictures.iter().filter(largest).count(), 2, "{size:?}");
            stays_inside(&found, paper, &format!("{size:?}"));
        }
    }

    #[test]
    fn the_check_bar_is_fifty_millimetres() {
        for size in PAPERS {
            let bars = seen(&sample::diver_on(size)).rectangles;
            let bar = |(width, height): &&(f64, f64)| near(*width, 50.0) && near(*height, 0.6);
            assert_eq!(bars.iter().filter(bar).count(), 1, "{size:?}");
        }
    }

    #[test]
    fn forty_regions_and_six_lights_with_long_names_all_have_their_place() {
        use crate::{NamedRow, NamedView, Tag, ViewSheet};
        use grisaille_base::Millimetres;
        let long = ["W".repeat(60), "\u{6F5C}".repeat(60), "Wm ".repeat(20)];
        for size in PAPERS {
            let mut sheets = sample::diver_on(size);
            let light = sheets.lights[0].clone();
            sheets.lights = (0..6)
                .map(|i| crate::LightSheet { title: format!("{i} {}", long[i % 3]), ..light.clone() })
                .collect();
            let zone = sheets.zones[0].clone();
            sheets.zones = (0..6)
                .map(|i| crate::ZoneRow { light: format!("{i} {}", long[i % 3]), ..zone.clone() })
                .collect();
            let room = sheets.paper.named();
            let (width, height) = (room.width.0.floor(), room.height.0.floor());
            let picture = crate::Picture {
                file: sample::png(width as u32, height as u32, &vec![200; (width * height) as usize * 3]),
                width: Millimetres(width),
                height: Millimetres(height),
                alt: "An even grey.".into(),
                ..Default::default()
            };
            // Spots all over the picture, names as the composer places them.
            let spots: Vec<[f64; 2]> = (0..40)
                .map(|i| [width * (f64::from(i) * 0.618).fract(), height * (f64::from(i) + 0.5) / 40.0])
                .collect();
            let ends = crate::labels::boundary(&spots, [width, height], crate::compose_regions::NAME);
            let tags = spots.iter().zip(ends).enumerate().map(|(i, (spot, end))| Tag {
                number: format!("{}", 101 + i),
                name: long[i % 3].clone(),
                look: Some(crate::Srgb([90, 120, 40])),
                spot: spot.map(Millimetres),
                end: end.unwrap().map(Millimetres),
            });
            let view = crate::ViewPicture { name: "From the front".into(), picture, ..Default::default() };
            sheets.maps = vec![ViewSheet {
                key: "regions",
                part: "Regions".into(),
                title: "What is what?".into(),
                views: vec![NamedView { view, tags: tags.collect() }],
                columns: ["Region", "L*", "Value", "Area", "Share"].map(Into::into).into(),
                rows: (0..40)
                    .map(|i| NamedRow {
                        number: format!("{}", 101 + i),
                        look: Some(crate::Srgb([90, 120, 40])),
                        cells: [long[i % 3].as_str(), "48", "4.7", "1234 mm²", "12 %"].map(Into::into).into(),
                    })
                    .collect(),
                ..Default::default()
            }];
            let seen = seen(&sheets);
            assert!(seen.smallest_text >= 9.0, "{size:?}: {}", seen.smallest_text);
            stays_inside(&seen, sheets.paper, &format!("{size:?}"));
            for number in 101..141 {
                // On the view and in the list.
                let count = seen.text.lines().filter(|run| *run == number.to_string()).count();
                assert_eq!(count, 2, "{size:?}: {number}");
            }
        }
    }

    #[test]
    fn nothing_is_small_and_nothing_leaves_the_margins() {
        let names = ["W".repeat(60), "\u{6F5C}".repeat(60), "Wm ".repeat(20)];
        for (name, size) in names.iter().flat_map(|name| PAPERS.map(|size| (name, size))) {
            let mut sheets = sample::diver_on(size);
            sheets.title.clone_from(name);
            sheets.model_file.clone_from(name);
            sheets.facts[0].label.clone_from(name);
            sheets.facts[1].value.clone_from(name);
            sheets.values[0].title.clone_from(name);
            sheets.values[0].pictures[0].name.clone_from(name);
            sheets.values[1].pictures[0].picture.labels = vec![crate::Label {
                x: grisaille_base::Millimetres(1e9),
                text: name.clone(),
                ..Default::default()
            }];
            sheets.lights[0].title.clone_from(name);
            sheets.lights[0].legend.steps[0].words.clone_from(name);
            sheets.bands[0].name.clone_from(name);
            sheets.zones[0].light.clone_from(name);
            sheets.primer[0].title.clone_from(name);
            sheets.primer[0].columns[1].title.clone_from(name);
            sheets.primer[0].columns[0].words[0].clone_from(name);
            sheets.primer[1].sets[0].name.clone_from(name);
            sheets.primer[1].sets[0].tones[1].words.clone_from(name);
            sheets.stages[0].title.clone_from(name);
            sheets.stages[0].swatches[0].words.clone_from(name);
            sheets.stages[2].mixes[0].mix.clone_from(name);
            sheets.stages[2].mixes[1].purpose.clone_from(name);
            sheets.stages[2].thinning.clone_from(name);
            sheets.stages[2].pictures = sheets.stages[1].pictures.clone();
            sheets.stages[2].pictures[0].name.clone_from(name);
            if let Some(summary) = &mut sheets.summary {
                summary.facts[0].value.clone_from(name);
                summary.palette[0].name.clone_from(name);
                summary.lights[0].label.clone_from(name);
            }
            sheets.warnings[0].place.clone_from(name);
            let seen = seen(&sheets);
            assert!(seen.smallest_text >= 9.0, "{}", seen.smallest_text);
            stays_inside(&seen, sheets.paper, &format!("{name} {size:?}"));
        }
    }
}
