//! From a planned figure to colours, mixes, checks and the order of work.

use grisaille_base::{Code, LightId, Millimetres, Watch};
use grisaille_bodies::{Triangle, cuboid, cup, icosphere, moved, scaled, stl};
use grisaille_colour::{
    Curve, Finish, Lab, Paint, Pigment, colour_from_text, colour_of_curve, curve_of, difference,
};
use grisaille_mesh::{ReadSettings, read};
use grisaille_plan::{
    Coloured, ColouringError, ColouringGround, EyePart, KeptRows, MixPlace, Plan, Products, Shelf, Stage,
    StageKind, StepColour, assemble, coloured, colouring, colouring_at_once, colouring_keeping, look_round,
    plan, regions_of, seen, step_at, thin_layer, usual_reach, wash_thickness,
};
use grisaille_scheme::{
    ColourChoice, FaceChoice, FalloffChoice, Gaze, LightChoice, LightEntry, Material, MoodChoice,
    PaintChoice, PaletteEntry, RegionPaint, RegionSource, RegionSpot, Route, Scheme, Skipped,
};
use grisaille_words::Words;
use std::f64::consts::PI;
use std::sync::Arc;

/// A figure of six pieces on a base: body, head, two arms, a shield and a hat.
fn figure() -> Vec<Triangle> {
    let mut soup = cuboid([-10.0, -10.0, 0.0], [10.0, 10.0, 3.0]);
    soup.extend(moved(scaled(icosphere(3), 6.0), [0.0, 0.0, 8.0]));
    soup.extend(moved(scaled(icosphere(3), 3.0), [0.0, 0.0, 16.0]));
    soup.extend(cuboid([5.0, -1.5, 7.0], [9.5, 1.5, 10.0]));
    soup.extend(cuboid([-9.5, -1.5, 7.0], [-5.0, 1.5, 10.0]));
    soup.extend(cuboid([-5.0, -9.0, 4.0], [3.0, -8.0, 12.0]));
    soup.extend(moved(scaled(icosphere(2), 2.5), [0.0, 0.0, 19.5]));
    soup
}

fn entry(name: &str, at: [f64; 3], colour: &str, material: Material) -> RegionPaint {
    let at = vec![RegionSpot::Point(at)];
    RegionPaint { name: name.into(), at, colour: colour.into(), material, ..RegionPaint::default() }
}

fn paints() -> Vec<Paint> {
    let listed = |(name, hex, finish): (&str, &str, Finish)| Paint {
        finish,
        ..Paint::of_colour(name, colour_from_text(hex).expect("sound"))
    };
    [
        ("Shell white", "#f1ece0", Finish::Opaque),
        ("Reef black", "#1b1c20", Finish::Opaque),
        ("Sailcloth", "#c9b892", Finish::Opaque),
        ("Boot leather", "#6b4429", Finish::Opaque),
        ("Wreck rust", "#9a4a22", Finish::Opaque),
        ("Sponge yellow", "#e6bd34", Finish::Opaque),
        ("Kelp green", "#4d6130", Finish::Opaque),
        ("Trench blue", "#1f3a6b", Finish::Opaque),
        ("Diver's skin", "#d3a07c", Finish::Opaque),
        ("Silt brown stain", "#7a5230", Finish::Transparent),
        ("Weed green stain", "#5f7f2c", Finish::Transparent),
        ("Helmet copper", "#b06f45", Finish::Metallic),
    ]
    .map(listed)
    .into()
}

fn shelf() -> Shelf {
    let choice = PaintChoice { file: "paints.csv".into(), most: 3, parts: 4, unmixed: false };
    Shelf::of(paints(), &choice, &Watch::quiet()).expect("sound")
}

fn scheme() -> Scheme {
    let mut scheme = Scheme::default();
    scheme.surface.spacing = Some(Millimetres(0.5));
    scheme.fineness.ambient_directions = 32;
    scheme.regions.by = RegionSource::Pieces;
    let palette =
        |name: &str, colour: &str, share| PaletteEntry { name: name.into(), colour: colour.into(), share };
    scheme.colours = ColourChoice {
        palette: vec![palette("canvas", "#c9b892", Some(60.0)), palette("rust", "#9a4a22", Some(40.0))],
        regions: vec![
            entry("suit", [0.0, 6.0, 8.0], "canvas", Material::Cloth),
            entry("face", [0.0, -3.0, 16.0], "Diver's skin", Material::Skin),
            entry("glove", [9.5, 0.0, 8.5], "rust", Material::Satin),
            entry("hook", [-9.5, 0.0, 8.5], "Helmet copper", Material::Tmm),
            entry("shield", [-1.0, -9.0, 8.0], "#4d6130", Material::Matte),
            entry("helmet", [0.0, 0.0, 22.0], "rust", Material::Nmm),
            RegionPaint {
                name: "reef".into(),
                rest: true,
                colour: "#5a6b5c".into(),
                ..RegionPaint::default()
            },
        ],
        ..ColourChoice::default()
    };
    let choice = LightChoice::Lamp {
        at: [14.0, -6.0, 12.0],
        reference: Some(Millimetres(8.0)),
        radius: Millimetres(0.0),
        clear: Millimetres(0.0),
        falloff: FalloffChoice::default(),
    };
    let lamp = LightEntry::new(LightId(3), "lamp", 1.2, choice);
    scheme.lights.push(LightEntry { colour: [255, 190, 110], ..lamp });
    scheme
}

fn planned(scheme: &Scheme, watch: &Watch) -> Plan {
    assert_eq!(scheme.check(), Ok(()));
    let (mesh, _) = read(&stl(&figure()), &ReadSettings::default(), watch).expect("sound");
    plan(scheme, &mut Products::new(Arc::new(mesh)), watch).expect("sound")
}

fn made(scheme: &Scheme) -> (Plan, Coloured) {
    let watch = Watch::quiet();
    let mut plan = planned(scheme, &watch);
    let coloured = coloured(scheme, &mut plan, &shelf(), Words::english(), &watch).expect("sound");
    (plan, coloured)
}

#[test]
fn every_region_has_its_steps_from_dark_to_light_and_all_its_area_in_them() {
    let (plan, coloured) = made(&scheme());
    let rows = &coloured.colouring.rows;
    assert_eq!(rows.len(), 7);
    assert!(coloured.colouring.findings.is_empty(), "{:?}", coloured.colouring.findings);
    for row in rows {
        assert_eq!(row.borders.len() + 1, row.ramp.len());
        assert!(row.borders.is_sorted(), "{:?}", row.borders);
        assert!((3..=6).contains(&row.ramp.len()));
        let steps = row.ramp.iter().chain(row.lit.iter().flat_map(|l| &l.steps));
        let area: f64 = steps.map(|s| s.area_mm2).sum();
        assert!(
            (area - row.area_mm2).abs() < 1e-6 * row.area_mm2,
            "{}: {area} of {}",
            row.name,
            row.area_mm2
        );
        // What covers but a few dots of the brush has the colour of a neighbour.
        let dots = 6.0 * PI * plan.brush.radius_mm.powi(2);
        let is_one = |w: &[StepColour]| w[0].wanted == w[1].wanted && w.iter().any(|s| s.area_mm2 <= dots);
        assert!(row.ramp.windows(2).all(|w| w[0].wanted.l < w[1].wanted.l || is_one(w)), "{}", row.name);
        assert!(row.line.wanted.l < row.ramp[0].wanted.l, "{}", row.name);
        assert!(row.spot.wanted.l > 90.0);
    }
    let seen: f64 = rows.iter().map(|r| r.seen_share).sum();
    assert!((seen - 1.0).abs() < 1e-9);
    // Every open face is found again on the row that it belongs to, in a step that exists.
    for f in (0..plan.surface.faces.len()).filter(|f| plan.surface.open_corners(*f) == 3) {
        let (row, step) = step_at(&coloured.colouring, &plan, f, [1.0 / 3.0; 3]).unwrap();
        assert!(step < rows[row].ramp.len());
        assert!(coloured.colouring.blended_at(&plan, f, [1.0 / 3.0; 3]).unwrap().is_finite());
    }
}

#[test]
fn steps_follow_the_light_and_a_lamp_warms_what_it_rules() {
    let (plan, coloured) = made(&scheme());
    let suit = &coloured.colouring.rows[0];
    // The mean planned value rises from step to step.
    let used: Vec<f64> = suit.ramp.iter().filter(|s| s.area_mm2 > 0.0).map(|s| s.value).collect();
    assert!(used.len() >= 3 && used.windows(2).all(|w| w[0] < w[1]), "{used:?}");
    let lit = suit.lit.iter().find(|l| l.name == "lamp").expect("the lamp rules a side of the body");
    // Few tones, each in the place of the steps that it stands for: the mean of them, by what the lamp lights of each.
    assert!((1..=3).contains(&lit.tones.len()) && lit.steps.len() == suit.ramp.len());
    for tone in &lit.tones {
        let (steps, plain) = (&lit.steps[tone.clone()], &suit.ramp[tone.clone()]);
        let all: f64 = steps.iter().map(|s| s.area_mm2).sum();
        let mean = |of: fn(Lab) -> f64| -> f64 {
            steps.iter().zip(plain).map(|(s, p)| s.area_mm2 / all * of(p.wanted)).sum()
        };
        let lit = &steps[0];
        // Toward orange: more a* and more b*, at the same lightness but for what sRGB does not show.
        assert!(lit.wanted.a > mean(|c| c.a) && lit.wanted.b > mean(|c| c.b), "{plain:?} {lit:?}");
        assert!((lit.wanted.l - mean(|c| c.l)).abs() < 6.0, "{plain:?} {lit:?}");
        assert!(steps.iter().all(|s| s.wanted == lit.wanted && s.mix == lit.mix));
    }
    // Metal shows the light by itself and gets no steps for it.
    let hook = coloured.colouring.rows.iter().find(|r| r.material == Material::Tmm).unwrap();
    assert!(hook.lit.is_empty());
    let copper = paints().iter().position(|p| p.name == "Helmet copper");
    let of_copper = hook.ramp.iter().all(|s| s.mix.as_ref().map(|m| m.parts[0].paint) == copper);
    assert!(of_copper, "{:?}", hook.ramp);
    // A base never takes the figure's highlights: its lightest step is darker than the body's.
    let reef = coloured.colouring.rows.iter().find(|r| r.name == "reef").unwrap();
    assert!(reef.on_base > 0.9);
    assert_eq!(plan.colouring.as_ref().map(|c| c.rows.len()), Some(7));
}

#[test]
fn colours_do_not_depend_on_threads() {
    let of = |threads| {
        let watch = Watch::with_threads(threads).unwrap();
        let scheme = scheme();
        let mut plan = planned(&scheme, &watch);
        coloured(&scheme, &mut plan, &shelf(), Words::english(), &watch).unwrap()
    };
    assert_eq!(of(1), of(3));
}

#[test]
fn rows_that_were_kept_are_those_that_would_be_made_anew() {
    let (watch, shelf, mut scheme) = (Watch::quiet(), shelf(), scheme());
    scheme.colours.faces = vec![FaceChoice {
        at: [0.0, -3.0, 16.0],
        eye: None,
        toward: None,
        height: Some(Millimetres(4.0)),
        gaze: Gaze::Right,
        eyes: Some("Trench blue".into()),
    }];
    let plan = planned(&scheme, &watch);
    let (ground, regions) = regions_of(&scheme.regions, &plan.surface, &plan.mesh, &watch).expect("sound");
    let open = look_round(&plan, usual_reach(&plan.mesh), &watch).expect("sound");
    let seen = seen(&plan.surface, &plan.mesh, &watch).expect("sound");
    let from =
        ColouringGround { ground: &ground, regions: &regions, shelf: &shelf, seen: &seen, open: &open };
    let mut known = KeptRows::default();
    type Edit = fn(&mut Scheme);
    let edits: [(&str, Edit); 23] = [
        ("as it is", |_| ()),
        ("again", |_| ()),
        ("a colour", |s| s.colours.regions[0].colour = "#446688".into()),
        ("a colour of the palette", |s| s.colours.palette[1].colour = "#803010".into()),
        ("a material", |s| s.colours.regions[4].material = Material::Chain),
        ("a light of its own", |s| s.colours.regions[4].material = Material::Glow),
        ("seen from", |s| s.colours.regions[5].seen_from = Some(60.0)),
        ("a count", |s| s.colours.regions[0].steps = Some(6)),
        ("a contrast", |s| s.colours.regions[0].contrast = Some(0.9)),
        ("a line", |s| s.colours.regions[0].line = Some("rust".into())),
        ("the line's colour", |s| s.colours.palette[1].colour = "#a05030".into()),
        ("a ramp", |s| {
            s.colours.regions[2].ramp = ["#301008", "rust", "#e0a080"].map(Into::into).into();
        }),
        ("the ramp's colour", |s| s.colours.palette[1].colour = "#b07040".into()),
        ("a mood", |s| s.colours.mood = Some(MoodChoice { name: "cold".into(), strength: 0.7 })),
        ("its strength", |s| s.colours.mood = Some(MoodChoice { name: "cold".into(), strength: 0.2 })),
        ("a light's colour", |s| s.lights[3].colour = [80, 120, 255]),
        ("eyes", |s| s.colours.faces[0].eyes = Some("#2050a0".into())),
        ("gaze", |s| s.colours.faces[0].gaze = Gaze::Left),
        ("no wash", |s| s.colours.skip = vec![Skipped::Wash]),
        ("no face", |s| s.colours.faces.clear()),
        ("a route", |s| s.colours.route = Route::Transparent),
        ("another's region", |s| {
            let at = s.colours.regions.remove(3).at;
            s.colours.regions[0].at.extend(at);
        }),
        ("order and names", |s| {
            s.colours.regions.swap(0, 1);
            s.colours.regions[2].name = "mitten".into();
        }),
    ];
    let mut before = Vec::new();
    for (what, edit) in edits {
        edit(&mut scheme);
        assert_eq!(scheme.check(), Ok(()), "{what}");
        // At once, what is not kept is in the colours that are wanted; and nothing of it stays.
        let at_once = colouring_at_once(&scheme, &plan, from, &mut known, &watch).expect("sound");
        let kept = colouring_keeping(&scheme, &plan, from, &mut known, &watch).expect("sound");
        for (bare, row) in at_once.rows.iter().zip(&kept.rows) {
            assert_eq!(bare.borders, row.borders, "{what}");
            if bare != row {
                assert!(bare.ramp.iter().all(|s| s.mix.is_none()), "{what}");
                let wanted =
                    |r: &grisaille_plan::RegionColours| r.ramp.iter().map(|s| s.wanted).collect::<Vec<_>>();
                // Without paints nobody knows what a glaze would make of the primer's greys.
                assert!(row.glaze.is_some() || wanted(bare) == wanted(row), "{what}");
            }
        }
        let anew = colouring(&scheme, &plan, from, &watch).expect("sound");
        assert_eq!(kept, anew, "{what}");
        // All of it is kept now: at once is no other than mixed.
        let at_once = colouring_at_once(&scheme, &plan, from, &mut known, &watch).expect("sound");
        assert_eq!(at_once, anew, "{what}");
        before.push((scheme.clone(), anew));
    }
    // Taken back one by one.
    for (scheme, want) in before.iter().rev() {
        assert_eq!(colouring_keeping(scheme, &plan, from, &mut known, &watch).as_ref(), Ok(want));
    }
    // A word that means nothing is told every time, and nothing is lost by it.
    scheme.colours.regions[0].line = Some("no such".into());
    for _ in 0..2 {
        let wrong = colouring_keeping(&scheme, &plan, from, &mut known, &watch);
        assert!(matches!(wrong, Err(ColouringError::Word(_))), "{wrong:?}");
    }
}

#[test]
fn the_eye_sees_of_a_ball_what_the_cosine_says() {
    // Closed form: a convex body hides nothing of itself, so a sample shows in each view by the cosine to the eye.
    let ball = scaled(icosphere(4), 5.0);
    let (mesh, _) = read(&stl(&ball), &ReadSettings::default(), &Watch::quiet()).unwrap();
    let mut scheme = Scheme::default();
    scheme.surface.refine = false;
    let mesh = Arc::new(mesh);
    let plan = plan(&scheme, &mut Products::new(Arc::clone(&mesh)), &Watch::quiet()).unwrap();
    let found = seen(&plan.surface, &mesh, &Watch::quiet()).unwrap();
    let views = [(0.0_f64, 1.0), (45.0, 0.7), (-45.0, 0.7), (110.0, 0.3), (-110.0, 0.3), (180.0, 0.3)];
    let (up, out) = (20.0_f64 / 180.0 * PI).sin_cos();
    for (normal, seen) in plan.surface.samples.normal.iter().zip(&found) {
        let mut wanted = 0.0;
        for (azimuth, weight) in views {
            let (sin, cos) = azimuth.to_radians().sin_cos();
            let view = [out * sin, -out * cos, up];
            let facing: f64 = (0..3).map(|k| view[k] * f64::from(normal[k])).sum();
            wanted += weight / 3.3 * facing.max(0.0);
        }
        assert!((f64::from(*seen) - wanted).abs() < 1e-5, "{seen} {wanted}");
    }
}

#[test]
fn a_lifted_region_is_planned_lighter() {
    let mean = |lift: f64| {
        let mut scheme = scheme();
        scheme.colours.regions[0].lift = lift;
        let plan = planned(&scheme, &Watch::quiet());
        let (mut sum, mut all) = (0.0, 0.0);
        for (p, l) in plan.surface.samples.position.iter().zip(&plan.values.lightness) {
            // The back of the body, away from all other pieces.
            if p.y > 3.0 && p.z > 5.0 && p.z < 11.0 && (p.coords.xy().norm() - 6.0).abs() < 1.5 {
                sum += f64::from(*l);
                all += 1.0;
            }
        }
        sum / all
    };
    let (dark, plain, light) = (mean(-0.4), mean(0.0), mean(0.4));
    assert!(dark < plain - 5.0 && light > plain + 5.0, "{dark} {plain} {light}");
}

#[test]
fn words_that_name_no_colour_and_entries_without_a_region_are_told() {
    let mut scheme = scheme();
    scheme.colours.regions[1].colour = "salmon".into();
    let mut plan = planned(&scheme, &Watch::quiet());
    let failed = coloured(&scheme, &mut plan, &shelf(), Words::english(), &Watch::quiet());
    let Err(ColouringError::Word(e)) = failed else { panic!("{failed:?}") };
    assert!(
        e.to_string().contains("'face'")
            && e.to_string().contains("'salmon'")
            && e.to_string().contains("canvas, rust")
    );
    scheme.colours.regions[1] =
        RegionPaint { name: "anchor".into(), colour: "rust".into(), ..RegionPaint::default() };
    scheme.colours.regions.pop();
    let (_, coloured) = made(&scheme);
    let codes: Vec<Code> = coloured.colouring.findings.iter().map(|f| f.code).collect();
    assert_eq!(codes, [Code::PaintWithoutRegion, Code::RegionWithoutPaint]);
    // Head and base.
    assert_eq!(coloured.colouring.findings[1].count, 2);
}

fn kinds(stages: &[Stage]) -> Vec<StageKind> {
    stages.iter().map(|s| s.kind).collect()
}

#[test]
fn the_order_of_work_keeps_what_the_bench_asks_for() {
    for route in [Route::Sketch, Route::Transparent, Route::BrushOnly] {
        let mut scheme = scheme();
        scheme.colours.route = route;
        let (_, coloured) = made(&scheme);
        let stages = &coloured.stages;
        let kinds = kinds(stages);
        let first =
            |kind| kinds.iter().position(|k| *k == kind).unwrap_or_else(|| panic!("{route:?}: no {kind:?}"));
        let last = |kind| kinds.iter().rposition(|k| *k == kind).unwrap();
        use StageKind as K;
        assert_eq!((kinds[0], *kinds.last().unwrap()), (K::Prepare, K::Compare));
        // The base last, but for looking.
        assert_eq!(kinds[kinds.len() - 2], K::Base);
        // What is finished last is lined last: no line lies within the base alone.
        let rows = &coloured.colouring.rows;
        let is_base = |entry: usize| rows.iter().any(|r| r.entry == entry && r.on_base > 0.5);
        let lines = stages.iter().flat_map(|s| &s.recipes).filter_map(|r| match r.place {
            MixPlace::Lines(sides) => Some(sides),
            _ => None,
        });
        assert!(lines.clone().count() > 0 && lines.clone().all(|sides| !sides.into_iter().all(is_base)));
        // Gloss, pin wash, matt, metal.
        assert!(first(K::Gloss) < first(K::PinWash) && first(K::PinWash) < first(K::Matt));
        assert!(last(K::Matt) < first(K::Metal) && last(K::Metal) < first(K::Base));
        // Eyes before the skin is finished.
        let skin = |s: &&Stage| s.kind == K::ShadowsAndLights && s.regions.iter().any(|r| r == "face");
        if let Some(skin) = stages.iter().position(|s| skin(&s)) {
            assert!(first(K::Eyes) < skin);
        }
        assert_eq!(stages.iter().filter(|s| s.table_ready).count(), 1);
        let ready = stages.iter().position(|s| s.table_ready).unwrap();
        // Every region of the figure, but for metal and base, carries paint by then.
        for name in ["suit", "face", "glove", "shield", "helmet"] {
            let painted =
                |s: &Stage| matches!(s.kind, K::BaseCoat | K::Glaze) && s.regions.iter().any(|r| r == name);
            assert!(stages[..=ready].iter().any(painted), "{route:?}: {name}");
        }
        // Spray is never named without its caution, and nothing is sprayed by brush only.
        for stage in stages {
            let text = format!("{} {}", stage.title, stage.steps.join(" "));
            if text.contains("Spray ") || text.contains("airbrush") {
                assert!(stage.cautions.iter().any(|c| c.contains("Spray fumes")), "{text}");
                assert_ne!(route, Route::BrushOnly, "{text}");
            }
            assert!(!stage.done_when.is_empty() && !stage.steps.is_empty(), "{}", stage.title);
            if !stage.recipes.is_empty() {
                assert!(stage.thinning.is_some() && stage.brush.is_some(), "{}", stage.title);
            }
        }
        assert_eq!(kinds.contains(&K::Glaze), route == Route::Transparent);
        assert_eq!(kinds.contains(&K::DryBrush(1)), route == Route::BrushOnly);
        // What is left out is left out, and the rest stays.
        scheme.colours.skip =
            vec![Skipped::Wash, Skipped::Lining, Skipped::Edges, Skipped::Spots, Skipped::Varnish];
        let (_, less) = made(&scheme);
        for kind in [K::Wash, K::PinWash, K::Gloss, K::Matt, K::Lining, K::Edges, K::Spots] {
            assert!(!less.stages.iter().any(|s| s.kind == kind), "{kind:?}");
        }
        assert!(less.stages.iter().filter(|s| s.table_ready).count() == 1);
    }
}

fn found(scheme: &Scheme, code: Code) -> Vec<String> {
    let (_, coloured) = made(scheme);
    coloured.checks.iter().filter(|f| f.code == code).map(|f| f.hint.clone()).collect()
}

#[test]
fn checks_warn_of_what_they_should_and_of_nothing_else() {
    // One colour all over: no span, one colour far too much, steps that blend.
    let mut one = scheme();
    one.colours.regions = vec![RegionPaint {
        name: "all".into(),
        rest: true,
        colour: "canvas".into(),
        contrast: Some(0.1),
        ..RegionPaint::default()
    }];
    assert_eq!(found(&one, Code::ValueSpanNarrow).len(), 1);
    let proportion = found(&one, Code::OutOfProportion);
    assert_eq!(proportion.len(), 2, "{proportion:?}");
    assert!(
        proportion[0].contains("'canvas' is 100 %") && proportion[1].contains("'rust' is 0 %"),
        "{proportion:?}"
    );
    assert!(found(&one, Code::StepTooLarge).is_empty());
    one.colours.regions[0].contrast = Some(1.0);
    assert!(found(&one, Code::ValueSpanNarrow).is_empty());
    // Three steps from black to white do not blend.
    one.colours.regions[0].contrast = None;
    one.colours.regions[0].colour = String::new();
    one.colours.regions[0].ramp = vec!["#101010".into(), "#808080".into(), "#f0f0f0".into()];
    assert_eq!(found(&one, Code::StepTooLarge).len(), 1);
    // A colour that these paints do not make.
    one.colours.regions[0].ramp = vec!["#200040".into(), "#6000c0".into(), "#a040ff".into()];
    let off = found(&one, Code::MixFarOff);
    assert!(off.len() == 1 && off[0].contains("do not reach"), "{off:?}");
    // Outside the palette, and what to mix in.
    let outside = found(&one, Code::ColourOutsidePalette);
    assert!(outside.len() == 1 && outside[0].contains("outside the palette"), "{outside:?}");
}

#[test]
fn a_lamp_must_outshine_what_it_lights() {
    let mut scheme = scheme();
    // A lamp that is painted dark, and a white shield before it.
    scheme.colours.regions[2].material = Material::Glow;
    scheme.colours.regions[2].ramp = vec!["#402010".into(), "#804020".into(), "#905030".into()];
    scheme.colours.regions[0].colour = "#f1ece0".into();
    let told = found(&scheme, Code::OutshinesLamp);
    assert!(told.len() == 1 && told[0].contains("'lamp'"), "{told:?}");
    scheme.colours.regions[2].ramp = vec!["#ffd080".into(), "#ffe8b0".into(), "#fffbe8".into()];
    assert!(found(&scheme, Code::OutshinesLamp).is_empty());
}

#[test]
fn a_mood_grades_every_colour() {
    let plain = made(&scheme()).1;
    let mut scheme = scheme();
    scheme.colours.mood = Some(MoodChoice { name: "cold".into(), strength: 1.0 });
    let cold = made(&scheme).1;
    for (before, after) in plain.colouring.rows.iter().zip(&cold.colouring.rows) {
        assert!(difference(before.base, after.base) > 1.0, "{}", before.name);
        assert!(after.base.b < before.base.b + 0.5, "{}: {:?} {:?}", before.name, before.base, after.base);
    }
}

#[test]
fn a_known_layer_is_found_back() {
    let (shelf, paints) = (shelf(), paints());
    let stain = paints.iter().position(|p| p.name == "Weed green stain").unwrap();
    let grounds: Vec<Curve> = [20.0, 50.0, 80.0].iter().map(|l| curve_of(Lab::new(*l, 0.0, 0.0))).collect();
    let pigment = Pigment::of(&paints[stain]);
    let wanted: Vec<Lab> = grounds.iter().map(|g| colour_of_curve(&pigment.over(g, 0.5))).collect();
    let layer = thin_layer(&shelf, None, &grounds, &wanted, &[1.0, 2.0, 1.0]).unwrap();
    assert_eq!((layer.mix.parts.len(), layer.mix.parts[0].paint, layer.coats), (1, stain, 0.5));
    assert!(layer.mix.apart < 1e-6 && layer.over == wanted);
    // No transparent paint darkens less than none: over white every layer is darker than white.
    assert!(thin_layer(&Shelf::empty(), None, &grounds, &wanted, &[1.0; 3]).is_none());
}

#[test]
fn a_wash_gathers_in_recesses_and_a_pin_wash_stays_there() {
    let mut scheme = scheme();
    scheme.colours.regions[4].material = Material::Satin;
    let (plan, _) = made(&scheme);
    let open = plan.openness.as_ref().unwrap();
    let (wash, pin) = (wash_thickness(&plan.surface, open, false), wash_thickness(&plan.surface, open, true));
    for ((o, wash), pin) in open.values.iter().zip(&wash).zip(&pin) {
        assert!(*wash > 0.0 && *wash <= 0.66 && *pin >= 0.0 && *pin <= 0.6);
        if *o > 0.6 {
            assert!(*pin == 0.0);
        }
        // At an openness of 0.1, upright or hanging over: 0.06 · 0.4 + 0.54 · 0.9² · 0.6 coats, and 0.6 · √(5/6).
        if *o < 0.1 {
            assert!(*wash > 0.286 && *pin > 0.547, "{o} {wash} {pin}");
        }
    }
}

#[test]
fn the_picture_shows_what_a_wash_leaves() {
    let mut scheme = scheme();
    scheme.colours.regions[2].material = Material::Satin;
    let (plan, washed) = made(&scheme);
    scheme.colours.skip.push(Skipped::Wash);
    let (_, bare) = made(&scheme);
    let open = plan.openness.as_ref().unwrap();
    let (mut deepened, mut kept) = ([0; 2], 0);
    for (f, corners) in plan.surface.faces.iter().enumerate() {
        let Some(row) = washed.colouring.row_of_face(f) else { continue };
        let row = &washed.colouring.rows[row];
        let at = |c: &Coloured| c.colouring.blended_at(&plan, f, [1.0, 0.0, 0.0]).expect("painted");
        let (one, other) = (at(&washed), at(&bare));
        let s = corners[0] as usize;
        let step = step_at(&washed.colouring, &plan, f, [1.0, 0.0, 0.0]).expect("painted").1;
        match &row.wash {
            // Later lights lie over a wash, and a pin wash comes to no open spot.
            Some(w) if !w.pin && step > row.base_step() + 1 => assert!(difference(one, other) < 1e-6),
            Some(w) if w.pin && open.values[s] > 0.6 => assert!(difference(one, other) < 1e-6),
            Some(w) => {
                assert!(one.l <= other.l + 1e-6, "a wash lightens nothing: {one:?} {other:?}");
                if difference(one, other) > 2.0 {
                    deepened[usize::from(w.pin)] += 1;
                }
            }
            None => {
                kept += 1;
                assert!(difference(one, other) < 1e-6);
            }
        }
    }
    assert!(deepened[0] > 50 && deepened[1] > 10 && kept > 50, "{deepened:?} {kept}");
}

#[test]
fn a_marked_face_gets_planes_and_eyes_at_the_size_of_the_brush() {
    let mut scheme = scheme();
    let nose = [0.0, -3.0, 16.0];
    let mark = |at| FaceChoice {
        at,
        eye: None,
        toward: None,
        height: Some(Millimetres(4.0)),
        gaze: Gaze::Right,
        eyes: Some("Trench blue".into()),
    };
    let plain = made(&scheme).1;
    scheme.brush.radius = Some(Millimetres(0.1));
    scheme.colours.faces = vec![mark(nose)];
    let (plan, coloured) = made(&scheme);
    let skin = coloured.colouring.rows.iter().find(|r| r.name == "face").expect("a row");
    let face = &skin.faces[0];
    // 0.15 of 4 mm wide: with a tip of 0.2 mm room for all of it.
    assert!((face.eye_width() - 0.6).abs() < 1e-9);
    assert!(face.can_paint(EyePart::White) && face.can_paint(EyePart::Catchlight));
    let eyes = coloured.stages.iter().find(|s| s.kind == StageKind::Eyes).expect("a stage");
    assert_eq!(eyes.recipes.len(), 3);
    assert!(
        eyes.steps[0].contains("0.6 mm wide") && eyes.steps[0].contains("to the right"),
        "{:?}",
        eyes.steps
    );
    // The iris is painted in its own colour, and redder on the nose than on the forehead.
    let at = |u: f64, v: f64| {
        let spot = [nose[0] + 4.0 * u, nose[1], nose[2] + 4.0 * v];
        let near =
            |p: &nalgebra::Point3<f32>| (0..3).map(|k| (f64::from(p[k]) - spot[k]).powi(2)).sum::<f64>();
        let faces = (0..plan.surface.faces.len()).filter(|f| coloured.colouring.row_of_face(*f) == Some(1));
        let middle = |f: &usize| near(&plan.surface.samples.position[plan.surface.faces[*f][0] as usize]);
        faces.min_by(|a, b| middle(a).total_cmp(&middle(b))).expect("a face")
    };
    let colour = |u, v| coloured.colouring.blended_at(&plan, at(u, v), [1.0, 0.0, 0.0]).expect("painted");
    assert!(colour(0.0, 0.0).a > colour(0.0, 0.55).a + 2.0, "{:?} {:?}", colour(0.0, 0.0), colour(0.0, 0.55));
    // Without the mark the same stage says how it is done in general.
    let general = plain.stages.iter().find(|s| s.kind == StageKind::Eyes).expect("a stage");
    assert!(general.recipes.is_empty() && general.steps[0].contains("[[face]]"));
    // A mark on the base is told.
    scheme.colours.faces = vec![mark([9.0, 9.0, 3.0])];
    let codes: Vec<Code> = made(&scheme).1.colouring.findings.iter().map(|f| f.code).collect();
    assert_eq!(codes, [Code::FaceWithoutSkin]);
}

#[test]
fn a_squad_is_ordered_by_paint() {
    let mut scheme = scheme();
    // Two materials of one colour, with others between them from the deepest to the outermost.
    scheme.colours.regions[0].colour = "rust".into();
    let base_coats = |scheme: &Scheme| -> Vec<String> {
        let (_, coloured) = made(scheme);
        let coats = coloured.stages.iter().filter(|s| s.kind == StageKind::BaseCoat);
        let mains = coats.flat_map(|s| &s.recipes).map(|recipe| recipe.paints[0].name.clone());
        mains.collect()
    };
    scheme.colours.squad = true;
    let mut paints = base_coats(&scheme);
    let all = paints.len();
    paints.dedup();
    let runs = paints.len();
    paints.sort_unstable();
    paints.dedup();
    // Each main paint is opened once.
    assert_eq!(runs, paints.len());
    assert!(runs < all, "two share one");
}

#[test]
fn the_transparent_route_predicts_glazes_over_the_primers_greys() {
    let mut scheme = scheme();
    scheme.colours.route = Route::Transparent;
    let (_, coloured) = made(&scheme);
    let paints = paints();
    // A row of which a glaze reaches something; one that would be painted over everywhere is left out.
    let row = coloured.colouring.rows.iter().find(|r| r.glaze.is_some()).expect("a glaze");
    let glazed = row.ramp.iter().filter(|s| {
        let Some(mix) = &s.mix else { return false };
        let pigment = grisaille_colour::pigment_of(&mix.parts, &paints).expect("paints of the list");
        // In one of the thicknesses a brush lays down it gives the predicted colour over the planned grey.
        let ground = curve_of(Lab::new(s.value, 0.0, 0.0));
        [0.1, 0.2, 0.35, 0.5, 0.75, 1.0, 1.5, 2.0]
            .iter()
            .any(|coats| difference(colour_of_curve(&pigment.over(&ground, *coats)), mix.colour) < 1e-6)
    });
    assert!(glazed.count() >= 2, "{:?}", row.ramp);
    // The stage tells the same glaze that the picture shows.
    let layer = row.glaze.as_ref().expect("a glaze");
    let stage = coloured
        .stages
        .iter()
        .find(|s| s.kind == StageKind::Glaze && s.regions == [row.name.as_str()])
        .expect("a stage");
    let told: Vec<Lab> = stage.recipes.iter().map(|r| r.colour).collect();
    let mut shown: Vec<Lab> =
        layer.over.iter().zip(&row.ramp).filter(|(_, s)| s.area_mm2 > 0.0).map(|(c, _)| *c).collect();
    shown.reverse();
    assert_eq!(told, shown);
    // What is glazed is left to see somewhere, and what is not has a base coat.
    for row in &coloured.colouring.rows {
        let left = row.glaze.as_ref().map(|glaze| {
            let each = glaze.over.iter().zip(&row.ramp);
            let near = each.filter(|(got, step)| difference(**got, step.wanted) <= 6.0);
            near.map(|(_, step)| step.area_mm2).sum::<f64>()
        });
        assert!(left.is_none_or(|area| area > 0.0), "{}: {left:?}", row.name);
        let kind = if left.is_some() { StageKind::Glaze } else { StageKind::BaseCoat };
        assert!(
            coloured.stages.iter().any(|s| s.kind == kind && s.regions.contains(&row.name)),
            "{}",
            row.name
        );
    }
}

#[test]
fn a_lamp_is_painted_over_what_is_there_on_every_route() {
    let lit = |route: Route| {
        let mut scheme = scheme();
        scheme.colours.route = route;
        let (_, coloured) = made(&scheme);
        let steps = coloured.colouring.rows.iter().flat_map(|row| &row.lit).flat_map(|ramp| &ramp.steps);
        steps.map(|step| (step.wanted, step.mix.as_ref().map(|mix| mix.parts.clone()))).collect::<Vec<_>>()
    };
    let sketch = lit(Route::Sketch);
    assert!(sketch.len() > 5, "{}", sketch.len());
    // No primer shines through it: nothing of it is held to the greys below.
    assert_eq!(sketch, lit(Route::Transparent));
}

#[test]
fn words_of_a_stage_fit_what_it_paints() {
    let mut darker = [0, 0];
    for route in [Route::Sketch, Route::Transparent] {
        let mut scheme = scheme();
        scheme.colours.route = route;
        let (_, coloured) = made(&scheme);
        let row = |name: &str| coloured.colouring.rows.iter().find(|row| row.name == name).expect("a row");
        for stage in &coloured.stages {
            for recipe in stage.recipes.iter().filter(|r| matches!(r.place, MixPlace::LitTone(..))) {
                let row = row(&recipe.region);
                let is = row.glaze.is_none() && recipe.colour.l < row.middle().l - 2.0;
                let told = recipe.what.contains("darker than the base coat");
                assert_eq!(told, is, "{}: {}", recipe.region, recipe.what);
                darker[usize::from(is)] += 1;
            }
            if stage.kind == StageKind::ShadowsAndLights {
                let row = row(&stage.regions[0]);
                let says = |words: &str| stage.steps.iter().any(|step| step.contains(words));
                // Between one step and a glaze there is nothing to mix, and what is to be crisp is not to be soft.
                let alone = stage.recipes.len() == 1 && row.glaze.is_some();
                assert!(!(alone && says("equal mix of both")), "{:?}", stage.steps);
                let crisp = row.material == Material::Satin;
                assert_eq!(crisp, says("borders crisp"), "{:?}", stage.steps);
                assert!(!(crisp && stage.done_when.contains("no border is hard")), "{}", stage.done_when);
                for recipe in &stage.recipes {
                    let step = matches!(recipe.place, MixPlace::Step(..));
                    let told = recipe.what.contains("the glaze alone leaves value");
                    assert_eq!(told, step && row.glaze.is_some(), "{}", recipe.what);
                }
            }
        }
    }
    assert!(darker[0] > 3 && darker[1] > 0, "{darker:?}");
}

#[test]
fn a_line_is_darker_than_all_that_stands_beside_it() {
    let mut lines = 0;
    for route in [Route::Sketch, Route::Transparent] {
        let mut scheme = scheme();
        scheme.colours.route = route;
        let (_, coloured) = made(&scheme);
        let lining = coloured.stages.iter().filter(|s| s.kind == StageKind::Lining);
        for recipe in lining.flat_map(|s| &s.recipes) {
            let MixPlace::Lines(entries) = recipe.place else { panic!("{recipe:?}") };
            let rows = coloured.colouring.rows.iter().filter(|row| entries.contains(&row.entry));
            let steps = rows.flat_map(|row| &row.ramp).filter(|step| step.area_mm2 > 0.0);
            let darkest = steps.map(|step| step.shown().l).fold(f64::MAX, f64::min);
            assert!(recipe.colour.l < darkest, "{route:?}: {} beside {darkest}", recipe.colour.l);
            lines += 1;
        }
    }
    assert!(lines > 2, "{lines}");
}

#[test]
fn a_base_coat_is_a_step_that_is_seen() {
    let (_, coloured) = made(&scheme());
    for row in &coloured.colouring.rows {
        let all: f64 = row.ramp.iter().map(|s| s.area_mm2).sum();
        let base = row.base_step();
        let share = |i: usize| row.ramp[i].area_mm2 / all;
        let off = |i: usize| (row.ramp[i].wanted.l - row.base.l).abs();
        let most = (0..row.ramp.len()).map(share).fold(0.0, f64::max);
        // Near the colour that was asked for, unless that would be painted over; then the largest.
        let nearest = (0..row.ramp.len()).all(|i| off(base) <= off(i));
        assert!(share(base) >= 0.05 && (nearest || share(base) == most), "{}: {base}", row.name);
        let told =
            coloured.stages.iter().find(|s| s.kind == StageKind::BaseCoat && s.regions.contains(&row.name));
        let recipe = told.and_then(|s| s.recipes.iter().find(|r| r.region == row.name)).expect("a base coat");
        assert_eq!(recipe.colour, row.ramp[base].shown(), "{}", row.name);
    }
}

/// A cup with a lid that lies on it a twentieth of a mm apart, as two prints do; each for itself, too.
fn cup_and_lid(gap: f64) -> (Vec<Triangle>, Vec<grisaille_mesh::Mesh>) {
    let cup = cup();
    let lid = cuboid([-6.0, -6.0, 8.0 + gap], [6.0, 6.0, 10.0 + gap]);
    let alone =
        |soup: &[Triangle]| read(&stl(soup), &ReadSettings::default(), &Watch::quiet()).expect("sound").0;
    let models = vec![alone(&cup), alone(&lid)];
    ([cup, lid].concat(), models)
}

fn stages_of_parts(scheme: &Scheme, gap: f64) -> Vec<Stage> {
    let watch = Watch::quiet();
    let (soup, models) = cup_and_lid(gap);
    let mesh = read(&stl(&soup), &ReadSettings::default(), &watch).expect("sound").0;
    let mut plan = plan(scheme, &mut Products::new(Arc::new(mesh)), &watch).expect("not stopped");
    let names = ["cup.stl".to_owned(), "lid.stl".to_owned()];
    assemble(&mut plan, &names, &models, &watch).expect("not stopped");
    coloured(scheme, &mut plan, &shelf(), Words::english(), &watch).expect("sound").stages
}

#[test]
fn what_closes_up_is_painted_before_the_parts_are_glued() {
    let mut scheme = scheme();
    scheme.surface.spacing = Some(Millimetres(0.4));
    scheme.colours.faces.clear();
    let rest = RegionPaint { rest: true, ..entry("cup", [0.0; 3], "canvas", Material::Matte) };
    let lid = entry("lid", [0.0, 0.0, 10.05], "rust", Material::Matte);
    scheme.colours.regions = vec![lid, RegionPaint { at: Vec::new(), ..rest }];
    let stages = stages_of_parts(&scheme, 0.05);
    let at = |kind| kinds(&stages).iter().position(|k| *k == kind).unwrap_or_else(|| panic!("{kind:?}"));
    let order = [StageKind::Prepare, StageKind::Fit, StageKind::Dark, StageKind::Light];
    let order = order.into_iter().chain([StageKind::BeforeGluing, StageKind::Glue, StageKind::BaseCoat]);
    let order: Vec<usize> = order.map(at).collect();
    assert!(order.windows(2).all(|w| w[0] < w[1]), "{order:?}");
    let before = &stages[at(StageKind::BeforeGluing)];
    // The inside of the cup, 4 walls of 8 mm by 6 and a floor of 8 by 8, is more than the lid over it.
    assert_eq!(before.files, ["cup.stl", "lid.stl"]);
    assert!(
        before.recipes.iter().any(|r| r.region == "cup.stl: cup" && r.what.starts_with("step")),
        "{:?}",
        before.recipes
    );
    assert!(
        before.recipes.iter().any(|r| r.region == "lid.stl: lid" && r.what.starts_with("step")),
        "{:?}",
        before.recipes
    );
    assert!(before.recipes.iter().all(|r| r.mix.is_some()));
    assert!(
        before.steps.iter().any(|s| s.contains("lid.stl 79 mm²") && s.contains("joints bare")),
        "{:?}",
        before.steps
    );
    assert!(stages[at(StageKind::Glue)].cautions[0].contains("safety data sheet"));
    // What is about one region is about its file.
    for stage in stages.iter().filter(|s| s.kind == StageKind::ShadowsAndLights) {
        let file = format!("{}.stl", stage.regions[0]);
        assert_eq!(stage.files, [file], "{stage:?}");
    }
    assert!(stages.iter().filter(|s| s.regions.is_empty()).all(|s| s.files.is_empty()));
    // Figures of a squad only stand side by side; and what does not touch is not glued.
    let parted = stages_of_parts(&scheme, 3.0);
    assert!(
        !kinds(&parted)
            .iter()
            .any(|k| [StageKind::Fit, StageKind::BeforeGluing, StageKind::Glue].contains(k))
    );
    scheme.colours.squad = true;
    let squad = stages_of_parts(&scheme, 0.05);
    assert!(!kinds(&squad).contains(&StageKind::Glue));
    assert!(squad.iter().any(|s| s.files == ["lid.stl"]));
}

#[test]
fn parts_that_close_nothing_up_are_glued_first() {
    let watch = Watch::quiet();
    // One block upon another: all that is hidden is the joint.
    let models = [([0.0; 3], [10.0, 10.0, 6.0]), ([0.0, 0.0, 6.05], [10.0, 10.0, 12.0])];
    let soups = models.map(|(low, high)| cuboid(low, high));
    let alone = soups.iter().map(|s| read(&stl(s), &ReadSettings::default(), &watch).expect("sound").0);
    let alone: Vec<_> = alone.collect();
    let mesh = read(&stl(&soups.concat()), &ReadSettings::default(), &watch).expect("sound").0;
    let mut scheme = scheme();
    scheme.colours.faces.clear();
    let rest = RegionPaint { rest: true, ..entry("block", [0.0; 3], "canvas", Material::Matte) };
    scheme.colours.regions = vec![RegionPaint { at: Vec::new(), ..rest }];
    let mut plan = plan(&scheme, &mut Products::new(Arc::new(mesh)), &watch).expect("not stopped");
    assemble(&mut plan, &["low.stl".to_owned(), "high.stl".to_owned()], &alone, &watch).expect("not stopped");
    let made = coloured(&scheme, &mut plan, &shelf(), Words::english(), &watch).expect("sound");
    assert_eq!(kinds(&made.stages)[..3], [StageKind::Prepare, StageKind::Glue, StageKind::Dark]);
    assert!(made.stages[1].steps.iter().any(|s| s.contains("one piece")));
}
