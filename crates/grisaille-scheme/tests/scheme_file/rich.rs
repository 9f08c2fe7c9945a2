//! Documents with all that a scheme can hold.

use grisaille_base::Millimetres;
use grisaille_scheme::{
    BandChoice, ColourChoice, Document, FaceChoice, FalloffChoice, FocalPoint, FreehandChoice, Gaze, Ink,
    KeptSpot, Lengths, LightChoice, Material, ModelEntry, ModelSource, MoodChoice, PaintChoice, PaletteEntry,
    PaperSize, PrintChoice, PrintedBy, RegionDeed, RegionPaint, RegionSpot, RegionStep, Route, Scheme,
    SheetKind, Skipped, SkyChoice, Spread, UnitChoice, UpChoice,
};

pub(crate) fn diver() -> Document {
    Document {
        models: vec![ModelEntry::new(ModelSource::Diver)],
        scheme: Scheme { title: "Hard-hat diver".into(), ..Scheme::default() },
    }
}

pub(crate) fn rich() -> Document {
    let mut document = diver();
    document.models.push(ModelEntry {
        source: ModelSource::File("reef/rock \"two\" é.stl".into()),
        up: UpChoice::Y,
        unit: UnitChoice::Inch,
        height: Some(Millimetres(40.125)),
        upright: true,
        turn: -22.5,
        at: [30.0, -5.25, 0.0],
        printed: Some(PrintedBy::Filament),
        layer_height: Some(Millimetres(0.12)),
    });
    let scheme = &mut document.scheme;
    scheme
        .add_lamp("hand-lamp", [-10.8, -14.4, 34.9], Some(Millimetres(20.0)), Millimetres(0.6))
        .expect("a lamp");
    let lamp = scheme.lights.last_mut().expect("the lamp");
    lamp.colour = [255, 180, 80];
    lamp.through = vec![[1.0, 2.5, 3.0], [0.1, 0.2, 0.3]];
    if let LightChoice::Lamp { clear, falloff, .. } = &mut lamp.choice {
        *clear = Millimetres(5.6);
        *falloff = FalloffChoice { exponent: 1.5, reach: Some(Millimetres(25.0)), softness: 0.3 };
    }
    scheme.lights[2].choice = LightChoice::Ambient { sky: SkyChoice::Overcast };
    scheme.bands = BandChoice::Levels(vec![20.0, 40.5, 70.0]);
    scheme.brush.radius = Some(Millimetres(0.25));
    scheme.brush.keep.push(KeptSpot { at: [4.0, -3.0, 20.0], radius: Millimetres(2.5) });
    scheme.emphasis.focus.push(FocalPoint {
        at: [1.0, -2.0, 45.0],
        radius: Millimetres(6.0),
        strength: 0.4,
        spread: Spread::Surface,
    });
    scheme.emphasis.base = -0.25;
    scheme.bounce.albedo = 0.3;
    scheme.hidden.base = true;
    scheme.hidden.parts.push([0.5, -1.25, 12.0]);
    scheme.print = PrintChoice {
        sheets: vec![SheetKind::Values, SheetKind::Stages, SheetKind::Handout],
        paper: PaperSize::A5,
        ink: Ink::Grey,
        lengths: Lengths::Inch,
        words: Some("wording/deutsch.ftl".into()),
        freehand: vec![FreehandChoice {
            name: "anchor".into(),
            at: [1.5, -7.25, 30.0],
            radius: Millimetres(4.5),
        }],
    };
    scheme.left_out.base = true;
    scheme.left_out.parts.push([-0.5, 2.25, 7.0]);
    let point = RegionSpot::Point([0.5, -4.0, 47.25]);
    let facing = RegionSpot::Facing([1.0, 2.0, 3.0, 0.0, -1.0, 0.0]);
    let step = |deed, at: &[RegionSpot]| RegionStep { deed, at: at.to_vec(), name: None, colour: None };
    scheme.regions.count = Some(24);
    scheme.regions.steps = vec![
        RegionStep { name: Some("helmet".into()), ..step(RegionDeed::Grow, &[point, facing]) },
        step(RegionDeed::Merge, &[point, facing]),
        step(RegionDeed::Split, &[facing, point]),
        RegionStep { name: Some("canvas suit".into()), ..step(RegionDeed::Rename, &[facing]) },
        step(RegionDeed::Rename, &[point]),
        RegionStep { colour: Some([184, 115, 51]), ..step(RegionDeed::Recolour, &[point]) },
        step(RegionDeed::Lock, &[point]),
        step(RegionDeed::Unlock, &[point]),
    ];
    scheme.colours = ColourChoice {
        route: Route::Transparent,
        squad: true,
        mood: Some(MoodChoice { name: "gloomy".into(), strength: 0.4 }),
        palette: vec![
            PaletteEntry { name: "deep water".into(), colour: "#1f3a4b".into(), share: Some(60.0) },
            PaletteEntry { name: "copper \"old\"".into(), colour: "lab(50, 20, 30)".into(), share: None },
        ],
        paints: Some(PaintChoice { file: "desk/paints é.csv".into(), most: 2, parts: 3, unmixed: true }),
        regions: vec![
            RegionPaint {
                name: "helmet".into(),
                at: vec![point, facing],
                colour: "copper".into(),
                material: Material::Nmm,
                steps: Some(6),
                contrast: Some(0.75),
                seen_from: Some(-30.5),
                lift: -0.125,
                line: Some("#160f0c".into()),
                ..RegionPaint::default()
            },
            RegionPaint {
                name: "boots".into(),
                ramp: ["#241a14", "#4a3528", "#7d5f49"].map(str::to_owned).to_vec(),
                material: Material::Leather,
                ..RegionPaint::default()
            },
            RegionPaint {
                name: "the rest".into(),
                rest: true,
                colour: "deep water".into(),
                ..RegionPaint::default()
            },
        ],
        faces: vec![FaceChoice {
            at: [-1.8, -7.0, 45.75],
            eye: Some([-0.2, -5.9, 46.75]),
            toward: Some([0.25, -1.0, 0.0]),
            height: Some(Millimetres(6.5)),
            gaze: Gaze::Right,
            eyes: Some("copper".into()),
        }],
        skip: vec![Skipped::Edges, Skipped::Varnish],
    };
    document
}

/// Every table and every key, as a painter writes them, with comments.
pub(crate) const RICH: &str = include_str!("../data/rich.grisaille");
