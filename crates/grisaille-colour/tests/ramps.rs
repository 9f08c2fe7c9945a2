//! Ramps, moods and harmonies: what must hold of any, by closed forms.

use grisaille_colour::{
    Harmony, Lab, LinearRgb, MOODS, Mood, Oklch, RampSettings, colour_from_text, difference, ramp, tinted,
};

fn close(a: f64, b: f64, tolerance: f64, what: &str) {
    assert!((a - b).abs() <= tolerance, "{what}: {a} is not {b} within {tolerance}");
}

fn colour(hex: &str) -> Lab {
    colour_from_text(hex).expect("a colour")
}

const BASES: [&str; 9] =
    ["#b06f45", "#c9b892", "#1f3a6b", "#b5242c", "#4d6130", "#f1ece0", "#1b1c20", "#808080", "#00ff00"];

/// The angle from one hue to another, 0 to 180.
fn turned(one: f64, other: f64) -> f64 {
    ((one - other + 180.0).rem_euclid(360.0) - 180.0).abs()
}

#[test]
fn steps_are_even_in_lightness_between_stated_ends() {
    for base in BASES.map(colour) {
        for steps in [None, Some(0), Some(3), Some(5), Some(6), Some(40)] {
            for contrast in [0.1, 0.45, 1.0] {
                let made = ramp(base, &RampSettings { steps, contrast, ..RampSettings::default() });
                let count = made.len();
                assert!((3..=6).contains(&count));
                assert!(steps.is_none_or(|s| s.clamp(3, 6) == count));
                // 45 of 100 of the way from the base to L* 5 and to L* 97.
                let (dark, light) =
                    (base.l - contrast * (base.l - 5.0), base.l + contrast * (97.0 - base.l).max(0.0));
                for (i, step) in made.iter().enumerate() {
                    let want = dark + (light - dark) * i as f64 / (count - 1) as f64;
                    close(step.l, want, 0.05, "even in L*");
                    assert!(step.in_srgb(), "{step:?}");
                }
            }
        }
        let made = ramp(base, &RampSettings::default());
        let apart = difference(made[0], made[made.len() - 1]);
        let least = made.windows(2).map(|p| difference(p[0], p[1])).fold(0.0, f64::max);
        assert!(least < 15.0 && apart > 20.0, "{base:?}: {least} {apart}");
    }
    // Farther ends ask for more steps.
    let count =
        |contrast| ramp(colour("#808080"), &RampSettings { contrast, ..RampSettings::default() }).len();
    assert!(
        count(0.2) < count(0.45) && count(0.45) <= count(1.0),
        "{} {} {}",
        count(0.2),
        count(0.45),
        count(1.0)
    );
}

#[test]
fn without_light_or_mood_the_hue_stays() {
    for base in ["#b06f45", "#6f7fa0", "#7a8a5a"].map(colour) {
        let hue = Oklch::from(base).hue;
        for step in ramp(base, &RampSettings::default()) {
            let off = turned(Oklch::from(step).hue, hue);
            assert!(off < 4.0, "{base:?}: a step is {off}° off");
        }
    }
}

#[test]
fn lights_bend_to_the_light_and_darks_to_the_mood() {
    let light = colour("#ffc98a");
    let mood = Mood::named("Cold").expect("a mood");
    for base in ["#808080", "#7a8a5a", "#6f7fa0", "#9a6a78"].map(colour) {
        let made = |bend: f64, strength: f64| {
            let mood = Some((mood, strength));
            let settings = RampSettings { light, mood, bend, steps: Some(5), ..RampSettings::default() };
            ramp(base, &settings).into_iter().map(Oklch::from).collect::<Vec<_>>()
        };
        // Nearer in Oklab's a and b, the more so the farther it bends.
        let near = |step: &Oklch, hue: f64, chroma: f64| {
            let at = |h: f64, c: f64| (c * h.to_radians().cos(), c * h.to_radians().sin());
            let ((a, b), (c, d)) = (at(step.hue, step.chroma), at(hue, chroma));
            (a - c).hypot(b - d)
        };
        let lit = Oklch::from(light);
        let [straight, some, more] = [made(0.0, 1.0), made(0.35, 1.0), made(0.7, 1.0)];
        for pair in [[&straight, &some], [&some, &more]] {
            assert!(
                near(&pair[1][4], lit.hue, lit.chroma) < near(&pair[0][4], lit.hue, lit.chroma),
                "{base:?}"
            );
            assert!(near(&pair[1][0], mood.toward, 0.06) < near(&pair[0][0], mood.toward, 0.06), "{base:?}");
        }
        // No strength, no mood.
        assert_eq!(made(0.35, 0.0)[0], straight[0]);
    }
}

#[test]
fn dark_skin_is_highlighted_warm_not_ashen() {
    for base in ["#6b4429", "#4a2f22", "#7d5339"].map(colour) {
        let settings = RampSettings { skin: true, steps: Some(5), ..RampSettings::default() };
        let (skin, cloth) = (ramp(base, &settings), ramp(base, &RampSettings { skin: false, ..settings }));
        let (top, plain) = (skin[4], cloth[4]);
        assert!(top.chroma() > plain.chroma() + 5.0, "{top:?} {plain:?}");
        assert!(top.chroma() > 0.9 * base.chroma(), "{top:?}");
        assert!((40.0..80.0).contains(&top.hue()), "warm: {}", top.hue());
        assert_eq!(skin[0], cloth[0], "the darks are the same");
    }
    // Pale skin is highlighted as other colours are.
    let pale = colour("#d3a07c");
    let settings = RampSettings { skin: true, ..RampSettings::default() };
    assert_eq!(ramp(pale, &settings), ramp(pale, &RampSettings::default()));
}

/// Light times reflectance, channel by channel in linear light.
#[test]
fn a_tint_is_a_product_in_linear_light() {
    let light = LinearRgb::new(0.9, 0.6, 0.3);
    let y = light.luminance();
    let grey = Lab::from_linear([0.2; 3]);
    let got = tinted(grey, light, 1.0).to_linear();
    for (got, of_light) in got.into_iter().zip([0.9, 0.6, 0.3]) {
        close(got, 0.2 * of_light / y, 1e-6, "a grey under the light");
    }
    close(tinted(grey, light, 1.0).l, grey.l, 1e-6, "greys keep their lightness");
    let half = tinted(grey, light, 0.5).to_linear();
    close(half[0], 0.2 * (0.5 + 0.5 * 0.9 / y), 1e-6, "half of it");
    for strength in [0.0, -1.0, f64::NAN] {
        assert_eq!(tinted(grey, light, strength), grey);
    }
    assert_eq!(tinted(grey, LinearRgb::BLACK, 1.0), grey);
    assert!(tinted(colour("#00ff00"), light, 1.0).in_srgb());
}

#[test]
fn a_mood_shifts_by_its_numbers() {
    for mood in &MOODS {
        assert_eq!(Mood::named(mood.name), Some(mood));
        assert!(mood.reason.len() > 20 && (0.0..360.0).contains(&mood.toward), "{mood:?}");
        for base in BASES.map(colour) {
            for none in [0.0, -2.0, f64::NAN] {
                assert_eq!(mood.applied(base, none), base);
            }
            assert_eq!(mood.applied(base, 7.0), mood.applied(base, 1.0));
            assert!(mood.applied(base, 1.0).in_srgb());
            let apart = |s: f64| difference(mood.applied(base, s), base);
            assert!(apart(0.05) < 0.35 * apart(1.0) + 0.5, "{}: in proportion", mood.name);
        }
        // Greys keep their order, and get the mood's hue.
        let greys: Vec<Lab> =
            (1..20).map(|i| mood.applied(Lab::new(f64::from(i) * 5.0, 0.0, 0.0), 1.0)).collect();
        assert!(greys.windows(2).all(|p| p[0].l < p[1].l), "{}", mood.name);
        let middle = Oklch::from(greys[9]);
        close(middle.chroma, mood.tint, 2e-3, "the tint of a mid grey");
        assert!(mood.tint < 1e-9 || turned(middle.hue, mood.toward) < 5.0, "{}: {}", mood.name, middle.hue);
        // A muted colour across the circle turns by the full angle.
        let muted = Oklch { l: 0.57, chroma: 0.05, hue: (mood.toward + 90.0) % 360.0 };
        let untinted = Mood { tint: 0.0, ..*mood }.applied(muted.into(), 1.0);
        let got = Oklch::from(untinted);
        close(turned(got.hue, muted.hue), mood.turn, 0.05, "turned");
        close(got.chroma, 0.05 * mood.chroma, 1e-4, "chroma");
        close(got.l, 0.57 + mood.lift, 1e-4, "lightness");
    }
    assert_eq!(Mood::named("sideways"), None);
}

#[test]
fn harmonies_turn_the_hue() {
    let first = colour("#8f6f4f");
    let start = Oklch::from(first).hue;
    for (harmony, turns) in [
        (Harmony::OneHue, vec![0.0, 0.0, 0.0]),
        (Harmony::Neighbours, vec![0.0, 30.0, 330.0]),
        (Harmony::Opposite, vec![0.0, 0.0, 180.0]),
        (Harmony::BesideOpposite, vec![0.0, 0.0, 150.0, 210.0]),
        (Harmony::Triad, vec![0.0, 120.0, 240.0]),
        (Harmony::Square, vec![0.0, 90.0, 180.0, 270.0]),
    ] {
        let made = harmony.from_colour(first);
        assert_eq!(made.len(), turns.len());
        for (colour, turn) in made.iter().zip(turns) {
            let hue = Oklch::from(colour.colour).hue;
            assert!(turned(hue, start + turn) < 1.0, "{}: {hue} from {start} by {turn}", harmony.as_str());
        }
        close(made.iter().map(|c| c.share).sum(), 1.0, 1e-12, "all of the surface");
        assert!(made.windows(2).all(|p| p[0].share >= p[1].share));
        assert_eq!(made[0].colour, first);
        for base in BASES.map(colour) {
            assert!(harmony.from_colour(base).iter().all(|c| c.colour.in_srgb()));
        }
    }
    assert_eq!(Harmony::ALL.len(), 6);
}
