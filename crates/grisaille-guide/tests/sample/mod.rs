//! A whole guide for the diver, with pictures of a figure made of a few
//! ellipsoids. Shared by the tests and the example.

use grisaille_base::{Lightness, Millimetres};
use grisaille_guide::{
    BandRow, BottleRow, Fact, Label, Legend, LegendStep, LightSheet, MixRow, PaletteRow, Paper, Picture,
    PrimerColumn, PrimerSheet, Room, Sheets, Sketch, Srgb, StageCard, Summary, Swatch, ToneSet, ValueSheet,
    ViewPicture, Warning, ZoneRow,
};
use grisaille_picture::Pattern;
use grisaille_scheme::{Ink, Lengths, PaperSize};

/// Pixels for each millimetre of paper.
const FINE: f64 = 6.0;

/// Centre and half axes in mm, +Z up, front −Y: base, boots, legs, trunk,
/// arms, collar, helmet, lamp.
const PARTS: [([f64; 3], [f64; 3]); 11] = [
    ([0.0, 0.0, 0.6], [8.4, 8.0, 1.6]),
    ([-2.3, -1.0, 2.8], [1.8, 2.8, 1.4]),
    ([2.3, -0.4, 2.8], [1.8, 2.8, 1.4]),
    ([-2.2, 0.0, 8.0], [2.1, 2.2, 6.0]),
    ([2.2, 0.2, 8.0], [2.1, 2.2, 6.0]),
    ([0.0, 0.0, 16.5], [4.6, 3.2, 6.2]),
    ([-5.0, 0.0, 15.6], [1.5, 1.6, 5.4]),
    ([4.8, -2.4, 18.0], [1.5, 4.4, 1.6]),
    ([0.0, 0.0, 22.0], [5.0, 3.8, 1.4]),
    ([0.0, 0.0, 26.6], [4.5, 4.6, 4.8]),
    ([4.8, -6.6, 18.0], [1.3, 1.3, 1.5]),
];

/// A view of the stand-in figure: 18 × 33 mm of the scene, enlarged `scale`
/// times; `turn` in degrees round Z, seen from above where `top`. `tone` gives
/// the colour from the normal and the point.
pub(crate) fn figure(
    scale: u32,
    turn: f64,
    top: bool,
    alt: &str,
    labels: &[(f64, f64, &str)],
    tone: impl Fn([f64; 3], [f64; 3]) -> [u8; 3],
) -> Picture {
    let (across, down) = if top { (18.0, 18.0) } else { (18.0, 33.0) };
    let zoom = f64::from(scale);
    let (width, height) = ((across * zoom * FINE) as u32, (down * zoom * FINE) as u32);
    let (sin, cos) = turn.to_radians().sin_cos();
    let mut pixels = Vec::new();
    for row in 0..height {
        for column in 0..width {
            let right = (f64::from(column) + 0.5) / (zoom * FINE) - across / 2.0;
            let below = (f64::from(row) + 0.5) / (zoom * FINE);
            // From the picture's axes (right, up, away) to the scene's.
            let (origin, away) = if top {
                ([right, across / 2.0 - below, 40.0], [0.0, 0.0, -1.0])
            } else {
                let z = 32.5 - below;
                ([right * cos + 40.0 * sin, right * sin - 40.0 * cos, z], [-sin, cos, 0.0])
            };
            pixels.extend(hit(origin, away).map_or([255; 3], |(point, normal)| tone(normal, point)));
        }
    }
    Picture {
        file: png(width, height, &pixels),
        width: Millimetres(across * zoom),
        height: Millimetres(down * zoom),
        scale,
        alt: alt.into(),
        lines: Vec::new(),
        labels: labels
            .iter()
            .map(|&(x, y, text)| Label {
                x: Millimetres(x * across * zoom),
                y: Millimetres(y * down * zoom),
                text: text.into(),
                names: None,
            })
            .collect(),
    }
}

/// The nearest point of the figure on a ray, with its normal.
fn hit(origin: [f64; 3], away: [f64; 3]) -> Option<([f64; 3], [f64; 3])> {
    let mut best: Option<(f64, [f64; 3], [f64; 3])> = None;
    for (centre, axes) in PARTS {
        let o: [f64; 3] = std::array::from_fn(|i| (origin[i] - centre[i]) / axes[i]);
        let d: [f64; 3] = std::array::from_fn(|i| away[i] / axes[i]);
        let (a, b, c) = (dot(d, d), dot(o, d), dot(o, o) - 1.0);
        let inner = b * b - a * c;
        if inner < 0.0 {
            continue;
        }
        let t = (-b - inner.sqrt()) / a;
        if best.is_none_or(|(nearest, ..)| t < nearest) {
            let normal: [f64; 3] = std::array::from_fn(|i| (o[i] + t * d[i]) / axes[i]);
            let length = dot(normal, normal).sqrt();
            best = Some((t, std::array::from_fn(|i| origin[i] + t * away[i]), normal.map(|x| x / length)));
        }
    }
    best.map(|(_, point, normal)| (point, normal))
}

fn dot(a: [f64; 3], b: [f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// The letter of the band under each spot of a view, spots as shares of its
/// width and height.
fn letters(turn: f64, spots: &[(f64, f64)]) -> Vec<(f64, f64, &'static str)> {
    let (sin, cos) = turn.to_radians().sin_cos();
    spots
        .iter()
        .filter_map(|&(x, y)| {
            let right = (x - 0.5) * 18.0;
            let origin = [right * cos + 40.0 * sin, right * sin - 40.0 * cos, 32.5 - y * 33.0];
            let (point, normal) = hit(origin, [-sin, cos, 0.0])?;
            let tone = band(normal, point)[0];
            let place = GREYS.iter().position(|grey| *grey == tone)?;
            Some((x, y, ["A", "B", "C", "D", "E"][place]))
        })
        .collect()
}

/// An RGB picture as a PNG file.
pub(crate) fn png(width: u32, height: u32, pixels: &[u8]) -> Vec<u8> {
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, width, height);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    let mut writer = encoder.write_header().expect("a size that PNG allows");
    writer.write_image_data(pixels).expect("three bytes for each pixel");
    writer.finish().expect("memory takes every byte");
    out
}

const GREYS: [u8; 5] = [40, 88, 132, 180, 228];

fn value(normal: [f64; 3], _: [f64; 3]) -> [u8; 3] {
    [(40.0 + 190.0 * (0.5 + 0.5 * normal[2]).powf(1.2)) as u8; 3]
}

fn band(normal: [f64; 3], point: [f64; 3]) -> [u8; 3] {
    [GREYS[(f64::from(value(normal, point)[0]) / 256.0 * 5.0) as usize]; 3]
}

fn scale(amount: f64) -> [u8; 3] {
    let t = amount.clamp(0.0, 1.0);
    [(30.0 + 225.0 * t) as u8, (40.0 + 190.0 * t * t) as u8, (90.0 + 60.0 * (1.0 - t)) as u8]
}

fn from_above(normal: [f64; 3], _: [f64; 3]) -> [u8; 3] {
    scale(normal[2])
}

fn from_lamp(normal: [f64; 3], point: [f64; 3]) -> [u8; 3] {
    let to = [4.8 - point[0], -8.5 - point[1], 18.0 - point[2]];
    let far = dot(to, to);
    scale(16.0 * dot(normal, to) / (far * far.sqrt()))
}

fn zone(normal: [f64; 3], point: [f64; 3]) -> [u8; 3] {
    if from_lamp(normal, point)[0] > 110 { [232, 190, 96] } else { [120, 160, 140] }
}

fn view(name: &str, caption: &str, picture: Picture) -> ViewPicture {
    ViewPicture { name: name.into(), caption: caption.into(), picture }
}

fn legend(title: &str) -> Legend {
    let words = ["none", "grazed", "a third", "half lit", "two thirds", "near full", "full"];
    Legend {
        title: title.into(),
        steps: words
            .iter()
            .enumerate()
            .map(|(i, words)| LegendStep {
                colour: Srgb(scale(i as f64 / 6.0)),
                number: format!("{:.2}", i as f64 / 6.0),
                words: (*words).into(),
            })
            .collect(),
    }
}

/// The diver's whole guide.
/// The sample on another paper: its pictures no larger than there is room.
#[allow(dead_code, reason = "not every test file prints on other papers")]
pub(crate) fn diver_on(size: PaperSize) -> Sheets {
    let mut sheets = diver();
    sheets.paper = Paper(size);
    let paper = sheets.paper;
    let fit = |picture: &mut Picture, room: Room| {
        let factor = (room.width.0 / picture.width.0).min(room.height.0 / picture.height.0).min(1.0);
        let narrower = picture.width.0 * factor;
        *picture = sized(std::mem::take(picture), narrower);
        for label in &mut picture.labels {
            (label.x, label.y) = (Millimetres(label.x.0 * factor), Millimetres(label.y.0 * factor));
        }
    };
    fit(&mut sheets.cover, paper.cover());
    if let Some(summary) = &mut sheets.summary {
        fit(&mut summary.picture.picture, paper.summary());
    }
    let sheet_views = sheets.values.iter_mut().map(|v| &mut v.pictures);
    let sheet_views = sheet_views.chain(sheets.lights.iter_mut().map(|l| &mut l.pictures));
    for view in sheet_views.flatten().chain(&mut sheets.band_pictures).chain(&mut sheets.zone_pictures) {
        fit(&mut view.picture, paper.view());
    }
    for column in sheets.primer.iter_mut().flat_map(|p| &mut p.columns) {
        for picture in &mut column.pictures {
            let room = paper.primer();
            // As many rows and columns as on the sample's own sheets.
            fit(
                picture,
                Room { width: Millimetres(0.4 * room.width.0), height: Millimetres(0.5 * room.height.0) },
            );
        }
    }
    for view in sheets.stages.iter_mut().flat_map(|s| &mut s.pictures) {
        fit(&mut view.picture, paper.stage());
    }
    sheets
}

pub(crate) fn diver() -> Sheets {
    let names = [("Front", 0.0), ("Back", 180.0), ("Left", -90.0), ("Right", 90.0), ("Three-quarter", 35.0)];
    let alt = |name: &str| {
        format!(
            "The diver from the {}, in planned greys: helmet and shoulders light, legs dark.",
            name.to_lowercase()
        )
    };
    let mut values: Vec<ViewPicture> = names
        .iter()
        .map(|&(name, turn)| view(name, "", figure(3, turn, false, &alt(name), &[], value)))
        .collect();
    values.push(view("Top", "What the daylight sees.", figure(3, 0.0, true, &alt("top"), &[], value)));
    let spots = [
        (0.5, 0.04),
        (0.5, 0.09),
        (0.5, 0.17),
        (0.5, 0.25),
        (0.4, 0.46),
        (0.45, 0.59),
        (0.35, 0.76),
        (0.2, 0.93),
    ];
    let marks = [(0.5, 0.1, "S"), (0.7, 0.43, "L"), (0.4, 0.8, "S")];
    let lamp_alt = "The diver in the light of the hand lamp alone: the right arm, chest and visor catch it.";
    Sheets {
        language: String::new(),
        words: Vec::new(),
        paper: Paper::default(),
        lengths: Lengths::Mm,
        ink: Ink::Colour,
        title: "The diver on the reef".into(),
        model_file: "diver-on-reef.stl".into(),
        made_with: "grisaille 0.1.0".into(),
        height: Millimetres(32.0),
        facts: [
            ("Size", "16.8 × 16.0 × 31.4 mm"),
            ("Triangles", "48 212"),
            ("Pieces", "11"),
            ("Lights", "daylight, ring, hand lamp"),
            ("Pictures", "3 : 1"),
        ]
        .map(|(label, value)| Fact { label: label.into(), value: value.into() })
        .into(),
        cover: figure(3, 35.0, false, &alt("three-quarter front"), &[], value),
        summary: Some(Summary {
            picture: view(
                "Three-quarter",
                "the finished figure",
                figure(2, 35.0, false, &alt("front"), &[], value),
            ),
            facts: vec![Fact { label: "Route".into(), value: "sketch".into() }],
            palette: (0..16)
                .map(|i| PaletteRow {
                    colours: vec![Srgb([10 * i; 3]); 1 + usize::from(i % 3)],
                    name: format!("colour {i}"),
                    wanted: (i > 3).then_some(0.1),
                    seen: 0.06,
                })
                .collect(),
            lights: vec![Fact { label: "Green daylight".into(), value: "from straight above".into() }],
            beside: "Beside them: dark, mid and light primer, clean water, gloss varnish, matt varnish.".into(),
            bottles: (0..14)
                .map(|i| BottleRow {
                    colour: Srgb([15 * i; 3]),
                    name: format!("paint {i} of the sea bed"),
                    stages: "4, 7–12, 15".into(),
                })
                .collect(),
        }),
        values: vec![
            ValueSheet { title: "How light is it from the front?".into(), pictures: values.drain(..1).collect(), columns: 1 },
            ValueSheet { title: "How light is it from all other sides?".into(), pictures: values, columns: 0 },
        ],
        lights: vec![
            LightSheet {
                sketches: Vec::new(),
                title: "Where does the green daylight fall?".into(),
                lead: "Light 1 of 2: straight down through the water: the dim green day above the reef. It stands for a \
                         primer spray from directly overhead."
                    .into(),
                share: 0.31,
                legend: legend("How much of this light arrives, from none to all"),
                pictures: vec![
                    view(
                        "Front",
                        "Helmet and shoulders.",
                        figure(3, 0.0, false, "The diver lit from straight above, front.", &[], from_above),
                    ),
                    view(
                        "Back",
                        "The collar's rim.",
                        figure(3, 180.0, false, "The diver lit from straight above, back.", &[], from_above),
                    ),
                    view(
                        "Top",
                        "All it can see.",
                        figure(
                            3,
                            0.0,
                            true,
                            "The diver lit from straight above, seen from there.",
                            &[],
                            from_above,
                        ),
                    ),
                ],
                columns: 0,
                notes: vec!["Under the arms nothing arrives: leave the dark primer standing.".into()],
            },
            LightSheet {
                sketches: Vec::new(),
                title: "Where does the hand lamp's light fall?".into(),
                lead: "Light 2 of 2: a small warm lamp in the diver's right hand, 8 mm in front of the chest.".into(),
                share: 0.07,
                legend: legend("How much of this light arrives; 1.00 is the light at 4 mm"),
                pictures: vec![
                    view("Front", "Chest and visor.", figure(3, 0.0, false, lamp_alt, &[], from_lamp)),
                    view(
                        "Three-quarter",
                        "The arm is brightest.",
                        figure(3, 35.0, false, lamp_alt, &[], from_lamp),
                    ),
                    view("Right", "", figure(3, 90.0, false, lamp_alt, &[], from_lamp)),
                ],
                columns: 0,
                notes: vec![
                    "Nearer than 4 mm the lamp outshines the daylight.".into(),
                    "The back of the figure gets none of it.".into(),
                ],
            },
        ],
        bands_are_legend: false,
        value_scale: (0..=10)
            .map(|step: u8| Swatch {
                letter: step.to_string(),
                colour: Srgb([step * 25; 3]),
                words: (10 * step).to_string(),
                ..Swatch::default()
            })
            .collect(),
        bands: [
            ("A", "deep shadow", 15.0, 31.0, 410.0, 0.22),
            ("B", "shadow", 31.0, 47.0, 536.0, 0.29),
            ("C", "mid tone", 47.0, 63.0, 478.0, 0.26),
            ("D", "light", 63.0, 79.0, 322.0, 0.17),
            ("E", "highlight", 79.0, 95.0, 110.0, 0.06),
        ]
        .iter()
        .zip(GREYS)
        .map(|(&(letter, name, from, to, area, share), grey)| BandRow {
            letter: letter.into(),
            name: name.into(),
            from: Lightness(from),
            to: Lightness(to),
            munsell: (from + to) / 20.0,
            grey: Srgb([grey; 3]),
            area,
            share,
        })
        .collect(),
        band_pictures: vec![
            view(
                "Front",
                "",
                figure(
                    3,
                    0.0,
                    false,
                    "The diver in five greys with letters: E on the crown and the base, C on trunk and legs.",
                    &letters(0.0, &spots),
                    band,
                ),
            ),
            view(
                "Back",
                "",
                figure(
                    3,
                    180.0,
                    false,
                    "The diver's back in five greys: E on the crown, C on the trunk.",
                    &letters(180.0, &spots),
                    band,
                ),
            ),
            view(
                "Three-quarter",
                "",
                figure(
                    3,
                    35.0,
                    false,
                    "The diver in five greys from the front right.",
                    &letters(35.0, &spots),
                    band,
                ),
            ),
        ],
        zones: vec![
            ZoneRow {
                pattern: Pattern::Rising,
                letter: "S".into(),
                light: "Green daylight".into(),
                meaning: "Mix toward a cool grey-green.".into(),
                colour: Srgb([120, 160, 140]),
                area: 1708.0,
                share: 0.92,
            },
            ZoneRow {
                pattern: Pattern::Rising,
                letter: "L".into(),
                light: "Hand lamp".into(),
                meaning: "Mix toward a warm ochre; the lightest touch goes next to the lamp.".into(),
                colour: Srgb([232, 190, 96]),
                area: 148.0,
                share: 0.08,
            },
        ],
        zones_note: "None of it on helmet and breastplate: metal shows the light by itself.".into(),
        zone_pictures: vec![
            view(
                "Front",
                "",
                figure(
                    3,
                    0.0,
                    false,
                    "The diver in two zones: L on the right arm and chest, S elsewhere.",
                    &marks,
                    zone,
                ),
            ),
            view(
                "Three-quarter",
                "",
                figure(3, 35.0, false, "The diver in two zones from the front right.", &marks, zone),
            ),
        ],
        maps: Vec::new(),
        extras: Vec::new(),
        handout: Vec::new(),
        primer: primer(),
        stages: stages(),
        warnings: vec![Warning {
            text: "The rope is thinner than 0.5 mm and may break when the supports come off.".into(),
            place: "left hip".into(),
        }],
    }
}

fn stages() -> Vec<StageCard> {
    let shown = |alt: &str, letters: &[(f64, f64, &str)], tone: fn([f64; 3], [f64; 3]) -> [u8; 3]| {
        vec![view("Three-quarter", "after this coat", figure(2, 35.0, false, alt, letters, tone))]
    };
    vec![
        StageCard {
            number: 1,
            title: "Dark primer all over".into(),
            steps: vec![
                "Wash the print, let it dry, fix it to a cork by the base.".into(),
                "Spray thin passes of dark grey from every side, 20 cm away, until no bare resin shows.".into(),
            ],
            cautions: vec![
                "Spray outdoors or under an extraction hood and wear a mask against paint mist and solvent vapour.".into(),
                "No flame near it. The can's own safety data sheet and your local rules come first.".into(),
            ],
            pictures: shown("The whole diver, marked A all over.", &[(0.5, 0.5, "A")], |_, _| [70; 3]),
            swatches: vec![Swatch { letter: "A".into(), colour: Srgb([40; 3]), words: "dark grey, L* 15".into(), ..Swatch::default() }],
            done_when: "The whole figure is one even matt dark, and every rivet is still sharp.".into(),
            mistake: "A grainy coat: the spray dried in the air.".into(),
            repair: "Brush it off with a soft dry brush, go nearer and spray again.".into(),
            drying: "30 minutes to the touch, overnight before masking.".into(),
            ..StageCard::default()
        },
        StageCard {
            number: 2,
            title: "Ring of mid grey".into(),
            steps: vec!["Spray or dry brush mid grey from all round at 45°, so that the undersides stay dark.".into()],
            cautions: vec!["Paint mist again: mask on, air moving away from you.".into()],
            pictures: shown("The diver with bands C and B marked on trunk and legs.", &letters(35.0, &[(0.5, 0.46), (0.5, 0.59)]), band),
            swatches: vec![
                Swatch { letter: "B".into(), colour: Srgb([88; 3]), words: "shadow, L* 39".into(), ..Swatch::default() },
                Swatch { letter: "C".into(), colour: Srgb([132; 3]), words: "mid tone, L* 55".into(), ..Swatch::default() },
            ],
            done_when: "Under the arms and the collar it is still stage 1's dark.".into(),
            mistake: "The dark is gone from the recesses.".into(),
            repair: "Put it back with a thin dark wash.".into(),
            drying: "20 minutes.".into(),
            ..StageCard::default()
        },
        StageCard {
            number: 3,
            title: "Lamp glow on the right arm".into(),
            steps: vec![
                "Glaze warm ochre where the zone picture says L, thinner with distance.".into(),
                "Touch the lamp's rim with near white.".into(),
            ],
            mixes: vec![
                MixRow {
                    pot: None,
                    looks: vec![Swatch { letter: "2".into(), colour: Srgb([232, 190, 96]), words: String::new(), ..Swatch::default() }],
                    mix: "2 parts Wreck rust : 1 part Shell white".into(),
                    purpose: "step 2 of 3".into(),
                    tone: "value 7.4, warm, comes near".into(),
                },
                MixRow {
                    pot: Some(Srgb([92, 60, 30])),
                    looks: [200, 160, 120]
                        .map(|g| Swatch { letter: "a".into(), colour: Srgb([g; 3]), words: String::new(), ..Swatch::default() })
                        .into(),
                    mix: "Silt brown stain".into(),
                    ..MixRow::default()
                },
            ],
            thinning: "1 part paint to 4 parts water".into(),
            brush: "round, size 0".into(),
            table_ready: true,
            done_when: "The lamp is the lightest spot of the figure.".into(),
            drying: "10 minutes between glazes.".into(),
            ..StageCard::default()
        },
    ]
}

/// Two sheets about primer: three passes with what to compare, and one pass
/// with the sets of tones.
fn primer() -> Vec<PrimerSheet> {
    let tone = |grey: u8, words: &str| Swatch {
        pattern: Pattern::Plain,
        letter: String::new(),
        colour: Srgb([grey; 3]),
        words: words.into(),
    };
    let small = |alt: &str| Picture { scale: 0, ..sized(figure(1, 0.0, true, alt, &[], value), 11.0) };
    let sketch = |from: [f64; 2], to: [f64; 2], caption: &str| Sketch {
        picture: small("The diver from above; an arrow shows the spray."),
        from: from.map(Millimetres),
        to: to.map(Millimetres),
        caption: caption.into(),
    };
    let after = |pass: &str| figure(1, 35.0, false, &format!("The diver after {pass}."), &[], value);
    let pass = |number: &str, words: &str| PrimerColumn {
        number: number.into(),
        title: "Mid grey".into(),
        swatch: Some(tone(132, "L* 55")),
        sketches: vec![
            sketch([7.0, 7.0], [2.0, 2.0], "from above, front below"),
            sketch([0.0, 0.0], [0.0, 0.0], "from the side"),
        ],
        words: vec![words.into(), "A mist: covers half.".into()],
        pictures: vec![after(words), after(words)],
    };
    let planned = PrimerColumn {
        title: "Planned".into(),
        words: vec!["The values to come.".into()],
        pictures: vec![after("the plan"), after("the plan")],
        ..PrimerColumn::default()
    };
    let sets = ["Grey", "Coloured shadow"].map(|name| ToneSet {
        name: name.into(),
        tones: vec![tone(40, "dark grey"), tone(132, "dusty rose"), tone(240, "near-white")],
    });
    let fumes = "Spray fumes: outdoors or in a booth, mask on, as the can's safety data sheet says.";
    vec![
        PrimerSheet {
            title: "Where do I spray from?".into(),
            lead: "First dark grey all over. Then these three passes.".into(),
            columns: vec![
                pass("1", "From the front left, 30° off straight down."),
                pass("2", "From the back, 45° off straight down."),
                pass("3", "Straight down."),
                planned,
            ],
            notes: vec!["Afterwards 72 % of the figure is within one step of the value scale.".into()],
            cautions: vec![fumes.into()],
            ..PrimerSheet::default()
        },
        PrimerSheet {
            title: "If I spray only once, from where?".into(),
            lead: "From the front, 30° off straight down.".into(),
            columns: vec![
                PrimerColumn {
                    pictures: vec![after("one pass")],
                    ..pass("", "From the front, 30° off straight down.")
                },
                PrimerColumn { title: "Which tones?".into(), ..pass_without_sketch(after("one pass")) },
            ],
            sets: sets.into(),
            cautions: vec![fumes.into()],
            ..PrimerSheet::default()
        },
    ]
}

fn pass_without_sketch(picture: Picture) -> PrimerColumn {
    PrimerColumn {
        words: vec!["One set for all coats.".into()],
        pictures: vec![picture],
        ..PrimerColumn::default()
    }
}

/// The picture at another width on paper.
fn sized(picture: Picture, width: f64) -> Picture {
    let height = picture.height.0 * width / picture.width.0;
    Picture { width: Millimetres(width), height: Millimetres(height), ..picture }
}
