//! The painter's own light: what it changes, what it never does, and that
//! without it nothing is changed.

use grisaille_base::{Code, Lightness, Listener, Millimetres, Progress, Watch};
use grisaille_bodies::{Triangle, cuboid, icosphere, moved, scaled, stl};
use grisaille_mesh::{Part, ReadSettings, read};
use grisaille_plan::{Plan, Products, legs, light_in_rounds, plan};
use grisaille_scheme::{BandChoice, Emphasis, FocalPoint, KeptSpot, LightChoice, Scheme, Spread};
use std::f64::consts::FRAC_PI_4;
use std::sync::{Arc, Mutex};

fn products(soup: &[Triangle]) -> Products {
    let (mesh, _) = read(&stl(soup), &ReadSettings::default(), &Watch::quiet()).expect("a sound model");
    Products::new(Arc::new(mesh))
}

fn planned(scheme: &Scheme, products: &mut Products) -> Plan {
    assert_eq!(scheme.check(), Ok(()));
    plan(scheme, products, &Watch::quiet()).expect("nobody cancels")
}

fn scheme(spacing: f64) -> Scheme {
    let mut scheme = Scheme::default();
    scheme.surface.spacing = Some(Millimetres(spacing));
    scheme.fineness.ambient_directions = 32;
    scheme
}

/// A ball of radius 6 that stands 1 mm deep in a base of 20 × 20 × 3.
fn ball_on_base() -> Vec<Triangle> {
    let mut soup = moved(scaled(icosphere(3), 6.0), [0.0, 0.0, 8.0]);
    soup.extend(cuboid([-10.0, -10.0, 0.0], [10.0, 10.0, 3.0]));
    soup
}

fn face(strength: f64, radius: f64) -> FocalPoint {
    FocalPoint { at: [0.0, -6.0, 8.0], radius: Millimetres(radius), strength, spread: Spread::Space }
}

/// A plate of 16 × 16 mm with a bar over its middle, `width` mm wide and 4 mm
/// above it: under sharp light from straight above it casts a shadow as wide.
fn barred(width: f64) -> Vec<Triangle> {
    let mut soup = cuboid([-8.0, -8.0, 0.0], [8.0, 8.0, 1.0]);
    soup.extend(cuboid([-0.5 * width, -7.0, 5.0], [0.5 * width, 7.0, 5.4]));
    soup
}

/// The area in mm² of the plate's top in each band.
fn top_bands(plan: &Plan) -> Vec<f64> {
    let s = &plan.surface.samples;
    let mut areas = vec![0.0; plan.bands.rows.len()];
    for (f, face) in plan.surface.faces.iter().enumerate() {
        if face
            .iter()
            .all(|i| (s.position[*i as usize].z - 1.0).abs() < 1e-3 && s.normal[*i as usize].z > 0.9)
        {
            areas[usize::from(plan.band_at(f, [1.0 / 3.0; 3]))] += plan.surface.face_area(f);
        }
    }
    areas
}

#[test]
fn a_ropes_shadow_is_painted_only_if_it_is_wider_than_the_brush_tip() {
    // The tip is 1 mm wide. A shadow of 0.6 mm, 14 mm long, is dropped; one of
    // 1.6 mm stays with its own area to a tip's width at its ends, or the
    // brush would round them. With 0 for the thinnest shadow both stay.
    for (width, thinnest, stays) in
        [(0.6, None, false), (1.6, None, true), (0.6, Some(0.0), true), (1.6, Some(2.2), false)]
    {
        let mut scheme = scheme(0.25);
        // Sharp light alone has no second, softer shadow of the bar.
        scheme.lights.truncate(1);
        scheme.brush.radius = Some(Millimetres(0.5));
        scheme.brush.smallest_mm2 = Some(0.0);
        scheme.brush.thinnest_shadow = thinnest.map(Millimetres);
        scheme.bands = BandChoice::Levels(vec![40.0, 70.0]);
        let plan = planned(&scheme, &mut products(&barred(width)));
        let bands = top_bands(&plan);
        if stays {
            // The thin one is blurred by the tip, which takes up to half of it.
            assert!((bands[0] - 14.0 * width).abs() < 0.5 * 14.0 * width, "{width}: {bands:?}");
        } else {
            // The plate is a base, which never takes the top band.
            assert!(bands[0] == 0.0 && (bands[1] - 256.0).abs() < 1e-6, "{width}: {bands:?}");
        }
        // The value itself stays the light as it falls.
        let dark = plan.values.lightness.iter().zip(&plan.surface.samples.position);
        assert!(dark.filter(|(l, p)| **l < 16.0 && (p.z - 1.0).abs() < 1e-3 && p.x.abs() < 0.2).count() > 20);
    }
}

#[test]
fn in_a_kept_spot_bands_follow_the_light_as_it_falls() {
    // The rope's shadow of before, too thin for the tip, kept round the middle.
    let mut scheme = scheme(0.25);
    scheme.lights.truncate(1);
    scheme.brush.radius = Some(Millimetres(0.5));
    scheme.bands = BandChoice::Levels(vec![40.0, 70.0]);
    let mut kept = products(&barred(0.6));
    let even = planned(&scheme, &mut kept);
    scheme.brush.keep.push(KeptSpot { at: [0.0, 0.0, 1.0], radius: Millimetres(3.0) });
    let plan = planned(&scheme, &mut kept);
    let s = &plan.surface.samples;
    let mut met = [0, 0];
    for i in (0..s.len()).filter(|i| !s.buried.get(*i)) {
        let far = s.position[i].coords.cast::<f64>() - nalgebra::Vector3::new(0.0, 0.0, 1.0);
        if far.norm() < 3.0 {
            assert_eq!(plan.bands.lightness[i], plan.values.lightness[i], "{}", s.position[i]);
            met[0] += usize::from(plan.values.lightness[i] != even.bands.lightness[i]);
        } else if far.norm() > 6.0 {
            // It fades out within 1 mm, and the tip blurs that by another.
            assert!((plan.bands.lightness[i] - even.bands.lightness[i]).abs() < 1e-3, "{}", s.position[i]);
            met[1] += usize::from(plan.values.lightness[i] < 30.0);
        }
    }
    assert!(met.iter().all(|n| *n > 20), "{met:?}");
    // 6 mm of the shadow 0.6 mm wide are painted, with the half-lit samples at
    // its rim; before none was.
    let dark = [&even, &plan].map(|p| top_bands(p)[0]);
    assert!(dark[0] == 0.0 && (dark[1] - 3.6).abs() < 1.2, "{dark:?}");
}

#[test]
fn a_kept_spot_in_thin_air_is_told() {
    let mut scheme = scheme(1.0);
    for x in [40.0, 0.0] {
        scheme.brush.keep.push(KeptSpot { at: [x, -6.0, 8.0], radius: Millimetres(2.0) });
    }
    let plan = planned(&scheme, &mut products(&ball_on_base()));
    assert_eq!(plan.findings.iter().filter(|f| f.code == Code::KeepReachesNothing).count(), 1);
}

#[test]
fn without_emphasis_the_light_stays_as_it_falls() {
    let mut kept = products(&ball_on_base());
    let plain = planned(&scheme(0.8), &mut kept);
    let neutral = Emphasis { focus: vec![face(0.0, 4.0)], ..Emphasis::default() };
    let same = planned(&Scheme { emphasis: neutral, ..scheme(0.8) }, &mut kept);
    assert_eq!(plain.values.lightness, same.values.lightness);
    assert_eq!((plain.bands, plain.zones), (same.bands, same.zones));
}

#[test]
fn a_focal_point_lifts_by_its_rule_and_only_within_its_radius() {
    let mut kept = products(&ball_on_base());
    let plain = planned(&scheme(0.8), &mut kept);
    for strength in [0.5, -0.5] {
        let emphasis = Emphasis { focus: vec![face(strength, 4.0)], ..Emphasis::default() };
        let plan = planned(&Scheme { emphasis, ..scheme(0.8) }, &mut kept);
        let samples = &plan.surface.samples;
        let mut inside = 0;
        for i in (0..samples.len()).filter(|i| !samples.buried.get(*i)) {
            let p = samples.position[i];
            let t = f64::from(p.x).hypot(f64::from(p.y) + 6.0).hypot(f64::from(p.z) - 8.0) / 4.0;
            // Stated at `Emphasis` and `FocalPoint`.
            let felt = if t < 1.0 { (1.0 - t * t).powi(2) } else { 0.0 };
            let before = f64::from(plain.values.lightness[i]);
            let end = if strength > 0.0 { 95.0 } else { 15.0 };
            let want = before + 0.5 * felt * (end - before);
            assert!((f64::from(plan.values.lightness[i]) - want).abs() < 1e-3, "{p}");
            inside += usize::from(t < 0.9);
        }
        assert!(inside > 20);
    }
}

#[test]
fn figure_and_base_are_lifted_each_for_itself() {
    let mut kept = products(&ball_on_base());
    let plain = planned(&scheme(0.8), &mut kept);
    let emphasis = Emphasis { figure: 0.2, base: -0.4, ..Emphasis::default() };
    let plan = planned(&Scheme { emphasis, ..scheme(0.8) }, &mut kept);
    let mut met = [0, 0];
    for (face, part) in plan.surface.faces.iter().zip(&plan.part_of_face) {
        let (end, share) = match part {
            Part::Figure => (95.0, 0.2),
            Part::Base => (15.0, 0.4),
            Part::Underside | Part::Support => continue,
        };
        met[usize::from(*part == Part::Base)] += 1;
        for i in face.map(|i| i as usize).into_iter().filter(|i| !plan.surface.samples.buried.get(*i)) {
            let before = f64::from(plain.values.lightness[i]);
            let want = before + share * (end - before);
            assert!((f64::from(plan.values.lightness[i]) - want).abs() < 1e-3);
        }
    }
    assert!(met.iter().all(|n| *n > 50));
}

#[test]
fn a_focal_point_in_thin_air_is_told() {
    let mut lost = face(0.5, 2.0);
    lost.at = [40.0, 0.0, 0.0];
    let emphasis = Emphasis { focus: vec![lost, face(0.5, 2.0)], ..Emphasis::default() };
    let plan = planned(&Scheme { emphasis, ..scheme(1.0) }, &mut products(&ball_on_base()));
    assert_eq!(plan.findings.iter().filter(|f| f.code == Code::FocusReachesNothing).count(), 1);
}

/// Daylight from the front left, a lamp as far as the sun from the front right:
/// they meet on what faces the front.
#[test]
fn a_gap_parts_two_lights_where_the_form_turns_and_nowhere_else() {
    let mut soup = scaled(icosphere(5), 1.5);
    soup.extend(moved(cuboid([-1.5, -1.5, -1.5], [1.5, 1.5, 1.5]), [8.0, 0.0, 0.0]));
    // The figure is 32 mm tall, so that a brush tip is 0.3 mm.
    soup.extend(moved(cuboid([-1.0, -1.0, -16.0], [1.0, 1.0, 16.0]), [0.0, 60.0, 0.0]));
    let mut kept = products(&soup);
    let with = |gap| {
        let mut scheme = scheme(0.3);
        scheme.lights[0].choice = LightChoice::Zenithal { tilt: 90.0, azimuth: -45.0, radius: 0.0 };
        scheme.lights[0].weight = 1.0;
        let far = 1e4;
        scheme
            .add_lamp("lamp", [far, -far, 0.0], Some(Millimetres(far * 2.0_f64.sqrt())), Millimetres(0.0))
            .expect("a lamp");
        // Both add the same where they fall straight.
        scheme.value.lamp_shoulder = false;
        scheme.lights.last_mut().expect("a lamp").weight = 1.0;
        scheme.emphasis.gap = gap;
        scheme
    };
    assert!(planned(&with(0.0), &mut kept).values.strength.is_none());
    let plan = planned(&with(0.6), &mut kept);
    let samples = &plan.surface.samples;
    let strength = plan.values.strength.as_ref().expect("a gap");
    // Along the ball's middle the weaker adds tan(45° − azimuth) of what the
    // stronger does. The tip evens it out as a disc of 0.3 mm: with the standard
    // deviation of half of that, on a ball of 1.5 mm 0.1 rad.
    let (mut peak, mut all) = (0.0, 0.0);
    for k in -500..=500 {
        let azimuth = f64::from(k) * 1e-3_f64;
        let weight = (-0.5 * (azimuth / 0.1).powi(2)).exp();
        let t = (((FRAC_PI_4 - azimuth.abs()).tan() - 0.5) / 0.5).clamp(0.0, 1.0);
        peak += weight * t * t * (3.0 - 2.0 * t);
        all += weight;
    }
    let peak = peak / all;
    let (mut between, mut aside, mut plate) = (0, 0, 0);
    for (i, strength) in strength.iter().enumerate() {
        let (p, n) = (samples.position[i], samples.normal[i]);
        let on_ball = p.coords.norm() < 1.6;
        let azimuth = n.x.atan2(-n.y).to_degrees();
        if on_ball && n.z.abs() < 0.3 && azimuth.abs() < 1.0 {
            assert!((f64::from(*strength) + 0.6 * peak).abs() < 0.03, "{n}: {strength}, not {peak} of 0.6");
            between += 1;
        } else if on_ball && n.z.abs() < 0.5 && azimuth.abs() > 45.0 {
            // From 18° on the one adds less than half of the other (tan 27°),
            // and the tip spreads that by some 20°.
            assert!(*strength > -0.01, "{n}: {strength}");
            aside += 1;
        } else if (p.x - 8.0).abs() < 1.2 && n.y < -0.99 && p.y < 2.0 {
            // Both fall alike on all of the plate, and nothing turns.
            assert!(strength.abs() < 1e-6, "{p}: {strength}");
            plate += 1;
        }
    }
    assert!(between > 5 && aside > 100 && plate > 20, "{between} {aside} {plate}");
}

#[test]
fn flat_plates_get_a_gradient_toward_the_light_and_round_forms_none() {
    let body = || {
        let mut soup = cuboid([-6.0, -6.0, 0.0], [6.0, 6.0, 12.0]);
        soup.extend(moved(scaled(icosphere(5), 6.0), [30.0, 0.0, 6.0]));
        soup.extend(cuboid([-30.0, -1.0, 0.0], [-28.0, 1.0, 12.0]));
        soup
    };
    let mut kept = products(&body());
    // Open above: ring and ambient light are even over each of its plates.
    let with = |gradient, azimuth| {
        let mut scheme = scheme(0.5);
        scheme.lights[0].choice = LightChoice::Zenithal { tilt: 40.0, azimuth, radius: 0.0 };
        scheme.emphasis.plate_gradient = gradient;
        scheme
    };
    // Light from the right: the top is lighter to the right, the sides above.
    let plain = planned(&with(0.0, 90.0), &mut kept);
    let plan = planned(&with(0.4, 90.0), &mut kept);
    let samples = &plan.surface.samples;
    let (mut top, mut side) = (0, 0);
    for i in 0..samples.len() {
        let (p, n) = (samples.position[i], samples.normal[i]);
        let strength = f64::from(plan.values.strength.as_ref().expect("a gradient")[i]);
        if p.x.abs() < 7.0 && n.z > 0.9 {
            // A brush tip (0.11 mm here) softens the very ends.
            assert!((strength - 0.4 * f64::from(p.x) / 6.0).abs() < 0.03, "{p}: {strength}");
            assert_eq!(plan.values.lightness[i] > plain.values.lightness[i], p.x > 0.0 || strength > 0.0);
            top += 1;
        } else if p.x.abs() < 7.0 && n.y < -0.9 && p.z > 0.0 {
            // The light's way along the front: up and to the right.
            side += usize::from(strength > 0.2 && p.z > 6.0 && p.x > -3.0);
            assert!(strength <= 0.0 || p.z > 3.0 || p.x > 0.0, "{p}: {strength}");
        } else if p.x > 20.0 || p.x < -20.0 {
            // The ball is round; the post of 2 mm is too narrow for a plate.
            assert_eq!(strength, 0.0, "{p}");
        }
    }
    assert!(top > 200 && side > 50, "{top} {side}");
    // Straight from above a level plate has no end toward the light: the
    // front is the lighter.
    let mut scheme = with(0.4, 0.0);
    scheme.lights[0].choice = LightChoice::Zenithal { tilt: 0.0, azimuth: 0.0, radius: 0.0 };
    let plan = planned(&scheme, &mut kept);
    let strength = plan.values.strength.as_ref().expect("a gradient");
    for (i, strength) in strength.iter().enumerate() {
        let (p, n) = (samples.position[i], samples.normal[i]);
        if p.x.abs() < 7.0 && n.z > 0.9 {
            assert!((f64::from(*strength) + 0.4 * f64::from(p.y) / 6.0).abs() < 0.03, "{p}");
        }
    }
}

/// A fixed sequence that looks random (xorshift; G. Marsaglia, J. Stat. Softw. 8(14), 2003).
struct Dice(u64);

impl Dice {
    fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        low + (high - low) * (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }
}

#[test]
fn whatever_is_asked_no_spot_outshines_a_lamp_or_leaves_the_paints() {
    let mut kept = products(&ball_on_base());
    let mut dice = Dice(0x9e37_79b9_7f4a_7c15);
    let mut spread: f64 = 0.0;
    for round in 0..40 {
        let mut scheme = scheme(1.5);
        scheme.fineness.ambient_directions = 16;
        scheme.fineness.soft_directions = 8;
        for light in &mut scheme.lights {
            light.weight = dice.between(-0.3, 1.5).max(0.0);
        }
        for name in ["one", "two"] {
            // Now far away, now almost on the skin of the ball, now within it.
            let at = [0, 1, 2].map(|k| dice.between(-11.0, 11.0) + if k == 2 { 8.0 } else { 0.0 });
            let radius = Millimetres(dice.between(-1.0, 1.0).max(0.0));
            scheme.add_lamp(name, at, Some(Millimetres(dice.between(0.5, 30.0))), radius).expect("a lamp");
            let lamp = scheme.lights.last_mut().expect("a lamp");
            lamp.weight = dice.between(0.1, 5.0);
            if let LightChoice::Lamp { falloff, .. } = &mut lamp.choice {
                falloff.exponent = dice.between(0.0, 6.0);
                falloff.softness = dice.between(0.05, 1.0);
                falloff.reach =
                    (dice.between(0.0, 1.0) < 0.5).then_some(Millimetres(dice.between(2.0, 40.0)));
            }
        }
        scheme.value.lamp_shoulder = dice.between(0.0, 1.0) < 0.5;
        scheme.value.darkest = Lightness(dice.between(0.0, 30.0));
        scheme.value.lightest = Lightness(dice.between(60.0, 100.0));
        scheme.emphasis = Emphasis {
            focus: (0..3).map(|_| face(dice.between(-1.0, 1.0), dice.between(0.5, 12.0))).collect(),
            figure: dice.between(-1.0, 1.0),
            base: dice.between(-1.0, 1.0),
            plate_gradient: dice.between(0.0, 1.0),
            gap: dice.between(0.0, 1.0),
        };
        let plan = planned(&scheme, &mut kept);
        let (low, high) = (scheme.value.darkest.0, scheme.value.lightest.0);
        let lamp = plan.values.fit.lamp().0;
        assert!(lamp >= high && lamp <= 100.0, "{round}: {lamp}");
        for l in plan.values.lightness.iter().chain(&plan.bands.lightness).map(|l| f64::from(*l)) {
            assert!(l >= low - 1e-3 && l <= high + 1e-3, "{round}: L* {l} of {low} to {high}");
            assert!(l <= lamp + 1e-3, "{round}");
            spread = spread.max(l - low);
        }
        for band in &plan.bands.rows {
            assert!(band.tone.0 <= lamp + 1e-9 && band.tone.0.is_finite(), "{round}: {band:?}");
        }
        for light in &plan.lights {
            assert!(light.answer.greatest.is_finite() && light.answer.outshone_share.unwrap_or(0.0) == 0.0);
        }
        let answers = &plan.answers;
        for share in [answers.black_share, answers.held_share, plan.zones.unlit_share] {
            assert!((0.0..=1.0 + 1e-9).contains(&share), "{round}: {answers:?}");
        }
    }
    assert!(spread > 60.0, "the paints were hardly used: {spread}");
}

#[test]
fn of_two_spots_equally_lifted_the_lighter_stays_the_lighter() {
    let plan = planned(&scheme(1.5), &mut products(&ball_on_base()));
    let fit = plan.values.fit;
    for strength in [-1.5, -0.9, -0.2, 0.0, 0.4, 0.9, 1.5] {
        let mut last = 0.0;
        for l in 15..=95 {
            let lifted = fit.lifted(Lightness(f64::from(l)), strength).0;
            assert!(lifted >= last - 1e-9 && (15.0 - 1e-9..=95.0 + 1e-9).contains(&lifted));
            assert!(strength != 0.0 || (lifted - f64::from(l)).abs() < 1e-12);
            last = lifted;
        }
    }
}

#[test]
fn answers_say_where_lights_compete_what_is_black_and_what_is_held() {
    // Two equal lamps, far off to the left and the right of a ball, no rig.
    let lamps = |second: f64| {
        let mut scheme = scheme(0.4);
        scheme
            .add_lamp("left", [-400.0, -400.0, 0.0], Some(Millimetres(500.0)), Millimetres(0.0))
            .expect("a lamp");
        scheme
            .add_lamp("right", [400.0, -400.0, 0.0], Some(Millimetres(500.0)), Millimetres(0.0))
            .expect("a lamp");
        scheme.value.lamp_shoulder = false;
        scheme.lights.drain(..3);
        scheme.lights[1].weight *= second;
        scheme
    };
    let mut kept = products(&scaled(icosphere(5), 5.0));
    let plan = planned(&lamps(1.0), &mut kept);
    // From so far the lamps are distant lights 90° apart, ±45° off the front.
    // With cos(φ + 45°)/cos(φ − 45°) = 0.9 at tan φ = 0.1/1.9 they compete on a
    // lune of 2φ about the front: φ/π of the ball. Black is what neither
    // reaches: a quarter, and what lies within 1 L* of it beside.
    let lune = (0.1_f64 / 1.9).atan() / std::f64::consts::PI;
    assert_eq!(plan.answers.contests.len(), 1);
    let contest = &plan.answers.contests[0];
    assert_eq!(contest.lights, [plan.lights[0].id, plan.lights[1].id]);
    assert!((contest.share - lune).abs() < 0.25 * lune, "{} of {lune}", contest.share);
    // The lune's middle is the ball's front.
    assert!((contest.at - nalgebra::Point3::new(0.0, -5.0, 0.0)).norm() < 0.4, "{}", contest.at);
    let black = plan.answers.black_share;
    assert!(black > 0.25 && black < 0.27, "{black}");
    // On a ball without a base nothing is brighter than the figure's brightest.
    assert_eq!(plan.answers.held_share, 0.0);
    // A lamp of half the weight competes elsewhere, not at the front.
    let half = planned(&lamps(0.5), &mut kept);
    assert!(half.answers.contests[0].share > 0.0);
    // A lamp close over a base makes spots that the figure does not have.
    let mut scheme = scheme(0.5);
    scheme.add_lamp("low", [8.0, -8.0, 4.0], Some(Millimetres(6.0)), Millimetres(0.0)).expect("a lamp");
    scheme.value.lamp_shoulder = false;
    let plan = planned(&scheme, &mut products(&ball_on_base()));
    assert!(plan.answers.held_share > 0.001, "{:?}", plan.answers);
}

/// Two cubes side by side with a narrow gap between them, on a base.
fn two_posts() -> Vec<Triangle> {
    let mut soup = cuboid([-6.0, -6.0, 0.0], [6.0, 6.0, 1.0]);
    soup.extend(cuboid([-3.0, -2.0, 1.5], [-0.5, 2.0, 12.0]));
    soup.extend(cuboid([0.5, -2.0, 1.5], [3.0, 2.0, 12.0]));
    soup
}

#[test]
fn bounced_light_is_off_unless_asked_for_and_lights_what_light_passes_by() {
    let mut kept = products(&two_posts());
    let plain = planned(&scheme(0.5), &mut kept);
    assert_eq!((&plain.values.bounced, plain.answers.bounced_share), (&None, None));
    let with = |albedo| {
        let mut scheme = scheme(0.5);
        scheme.bounce.albedo = albedo;
        scheme
    };
    assert_eq!(planned(&with(0.0), &mut kept).values, plain.values);
    let mut last = 0.0;
    for albedo in [0.2, 0.4, 0.8] {
        let plan = planned(&with(albedo), &mut kept);
        let bounced = plan.values.bounced.as_ref().expect("light that bounces");
        let (mut gained, mut more) = (0, 0);
        for i in 0..plan.surface.samples.len() {
            for (l, thrown) in bounced.iter().enumerate() {
                // On top of what falls directly, nothing else.
                assert!((plan.values.shares[l][i] - plain.values.shares[l][i] - thrown[i]).abs() < 1e-6);
                assert!(thrown[i] >= 0.0);
                gained += usize::from(thrown[i] > 0.0);
            }
            more += usize::from(plan.values.sum(i) > plain.values.sum(i) + 0.01);
        }
        assert!(gained > 500 && more > 200, "{albedo}: {gained} {more}");
        let share = plan.answers.bounced_share.expect("a share");
        assert!(share > last && share < albedo, "{albedo}: {share}");
        // What was thrown is kept, and found again.
        assert_eq!(planned(&with(albedo), &mut kept).values, plan.values);
        last = share;
    }
}

#[test]
fn progress_of_a_plan_rises_from_nothing_to_all_by_the_work_done() {
    let told = Arc::new(Mutex::new(vec![0.0]));
    let ear = Arc::clone(&told);
    let mut scheme = scheme(0.5);
    scheme.bounce.albedo = 0.3;
    scheme.add_lamp("lamp", [0.0, -8.0, 9.0], None, Millimetres(0.5)).expect("a lamp");
    let progress = Arc::new(Progress::new(legs(&scheme), move |share| ear.lock().expect("told").push(share)));
    let watch = Watch::quiet().heard_by(Arc::clone(&progress) as Arc<dyn Listener>);
    plan(&scheme, &mut products(&two_posts()), &watch).expect("nobody cancels");
    let told = told.lock().expect("told");
    assert!(told.windows(2).all(|w| w[1] > w[0]), "{told:?}");
    let steps: Vec<f64> = told.windows(2).map(|w| w[1] - w[0]).collect();
    let largest = steps.iter().fold(0.0, |m: f64, s| m.max(*s));
    assert!(steps.len() > 200 && largest < 0.1, "{} steps, {largest}", steps.len());
    // Every leg came to its end, without a word from outside.
    assert!((progress.share() - 1.0).abs() < 1e-9, "{}", progress.share());
    drop(told);
    progress.finish();
    assert_eq!(progress.share(), 1.0);
}

#[test]
fn a_plan_cancelled_anywhere_gives_nothing_and_the_next_one_all() {
    let mut scheme = scheme(0.6);
    scheme.bounce.albedo = 0.3;
    scheme.bounce.directions = 8;
    (scheme.fineness.ambient_directions, scheme.fineness.ring_directions) = (16, 8);
    let soup = two_posts();
    let truth = planned(&scheme, &mut products(&soup));
    let counted = Watch::quiet().stopping_after(u64::MAX);
    plan(&scheme, &mut products(&soup), &counted).expect("nobody cancels");
    let asked = u64::MAX - counted.asks_left().expect("a count");
    // Bounded by work: at least once for each sample in the bounce alone.
    assert!(asked > truth.surface.samples.len() as u64, "{asked}");
    let mut kept = products(&soup);
    for k in 0..20 {
        // Early questions are of other phases than late ones: go by squares.
        let asks = asked * k * k / 400;
        let watch = Watch::quiet().stopping_after(asks);
        let got = plan(&scheme, &mut products(&soup), &watch);
        assert!(got.is_err(), "after {asks} of {asked}");
        let watch = Watch::quiet().stopping_after(asks / 4);
        let _ = plan(&scheme, &mut kept, &watch);
    }
    // What those left behind leads to the same plan.
    let plan = planned(&scheme, &mut kept);
    assert_eq!((plan.values, plan.bands, plan.zones), (truth.values, truth.bands, truth.zones));
    assert_eq!((plan.exposure, plan.answers), (truth.exposure, truth.answers));
}

#[test]
fn light_in_rounds_is_what_the_plan_then_takes() {
    let (scheme, mut kept) = (scheme(0.5), products(&two_posts()));
    let mut rounds = Vec::new();
    let watch = Watch::quiet();
    let last = light_in_rounds(&scheme, &mut kept, &watch, &mut |surface, exposure, round| {
        assert!(exposure.lights.iter().all(|l| l.values.len() == surface.samples.len()));
        rounds.push((round.number, round.of));
    });
    assert_eq!(rounds, [(1, 3), (2, 3), (3, 3)]);
    let watch = Watch::quiet();
    let plan = plan(&scheme, &mut kept, &watch).expect("nobody cancels");
    assert_eq!(Ok(plan.exposure), last);
    // Nothing was looked at again.
    assert!(watch.records().iter().all(|(_, record)| !record.counts.contains_key("pairs")));
}
