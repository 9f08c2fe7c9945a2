//! Mixes and coats of paints, and the search for them.

mod tables;

use grisaille_base::Watch;
use grisaille_colour::{
    Curve, Finish, Lab, Mix, MixError, MixSettings, Mixes, Nearness, Paint, Part, Pigment, SAMPLES,
    colour_between, colour_from_text, colour_of_curve, difference, oklab_of, pick_paints, read_paints,
    share_paints, sway, usual_strength,
};
use tables::{close, number, table};

fn demo_paints() -> Vec<Paint> {
    read_paints(include_bytes!("../../../models-demo/paints.csv")).expect("paints").0
}

fn colour(hex: &str) -> Lab {
    colour_from_text(hex).expect("a colour")
}

/// Numbers from 0 up to 1 that look random and are the same each time.
fn draws() -> impl FnMut() -> f64 {
    let mut state = 0x9e37_79b9_7f4a_7c15_u64;
    move || {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1_u64 << 53) as f64
    }
}

fn some_colours(count: usize) -> Vec<Lab> {
    let mut draw = draws();
    (0..count).map(|_| Lab::from_linear([draw().powi(2), draw().powi(2), draw().powi(2)])).collect()
}

fn in_oklab(one: Lab, other: Lab) -> f64 {
    let (one, other) = (oklab_of(one), oklab_of(other));
    (0..3).map(|k| (one[k] - other[k]).powi(2)).sum::<f64>().sqrt()
}

/// Every mix of exactly so many of the paints in up to so many parts, by plain loops over
/// the functions for one mix.
fn each_mix(paints: &[Paint], count: usize, most: u8) -> Vec<(Vec<Part>, Lab)> {
    let mut out = Vec::new();
    let n = paints.len().pow(count as u32) * usize::from(most).pow(count as u32);
    for mut code in 0..n {
        let mut parts = Vec::new();
        for _ in 0..count {
            let paint = code % paints.len();
            code /= paints.len();
            parts.push(Part { paint, parts: (code % usize::from(most)) as u8 + 1 });
            code /= usize::from(most);
        }
        let rising = parts.windows(2).all(|p| p[0].paint < p[1].paint);
        let sum: u32 = parts.iter().map(|p| u32::from(p.parts)).sum();
        let common = (2..=most).any(|d| parts.iter().all(|p| p.parts.is_multiple_of(d)));
        let covers = parts.iter().filter(|p| paints[p.paint].finish == Finish::Opaque);
        let opaque = 2 * covers.map(|p| u32::from(p.parts)).sum::<u32>() >= sum;
        if rising && !common && opaque && (sum <= u32::from(most) || count == 1) {
            let pigments: Vec<(f64, Pigment)> =
                parts.iter().map(|p| (f64::from(p.parts), Pigment::of(&paints[p.paint]))).collect();
            let whole: Vec<(f64, &Pigment)> = pigments.iter().map(|(s, p)| (*s, p)).collect();
            out.push((parts, colour_of_curve(&Pigment::mixed(&whole).expect("a mix").thick())));
        }
    }
    out
}

fn sorted(mut parts: Vec<Part>) -> Vec<(usize, u8)> {
    parts.sort_by_key(|p| p.paint);
    parts.iter().map(|p| (p.paint, p.parts)).collect()
}

#[test]
fn the_search_is_as_good_as_trying_everything() {
    let paints: Vec<Paint> = demo_paints()
        .into_iter()
        .filter(|p| p.finish != Finish::Metallic && p.at_hand())
        .step_by(2)
        .collect();
    assert_eq!(paints.len(), 10);
    for most in [4, 6] {
        let settings = MixSettings { paints: 3, parts: most };
        let mixes = Mixes::of(&paints, settings, &Watch::quiet()).expect("mixes");
        let every: Vec<_> = (1..=3).map(|count| each_mix(&paints, count, most)).collect();
        assert_eq!(mixes.len(), every.iter().map(Vec::len).sum::<usize>());
        let mut far = 0;
        for wanted in some_colours(150) {
            let found = mixes.nearest_by_count(wanted);
            assert_eq!(found.len(), 3);
            for (found, every) in found.iter().zip(&every) {
                let best = every.iter().map(|(_, c)| difference(wanted, *c)).fold(f64::INFINITY, f64::min);
                if best <= 6.0 {
                    close(found.apart, best, 1e-9, "the nearest");
                } else {
                    far += 1;
                    let best = every.iter().map(|(_, c)| in_oklab(wanted, *c)).fold(f64::INFINITY, f64::min);
                    close(in_oklab(wanted, found.colour), best, 1e-9, "the nearest of those out of reach");
                    assert_eq!(found.nearness(), Nearness::OutOfReach);
                }
                let same =
                    every.iter().find(|(parts, _)| sorted(parts.clone()) == sorted(found.parts.clone()));
                let (_, colour) = same.expect("one of them");
                close(difference(found.colour, *colour), 0.0, 1e-6, "its colour");
                close(difference(found.colour, wanted), found.apart, 1e-12, "its difference");
            }
            // The one to make: fewest paints, no more than 1 farther off than the nearest.
            let reached = found.iter().any(|m| m.apart <= 6.0);
            let off = |m: &Mix| if reached { m.apart } else { 100.0 * in_oklab(m.colour, wanted) };
            let least = found.iter().map(off).fold(f64::INFINITY, f64::min);
            let make = mixes.nearest(wanted).expect("a mix");
            assert_eq!(Some(&make), found.iter().find(|m| off(m) <= least + 1.0));
        }
        assert!(far > 20 && far < 400, "both kinds are tried: {far}");
    }
}

#[test]
fn simple_parts_are_those_that_painters_mix() {
    let paints: Vec<Paint> = demo_paints().into_iter().take(3).collect();
    let mut patterns: Vec<Vec<u8>> = (1..=3)
        .flat_map(|count| each_mix(&paints, count, 4))
        .map(|(parts, _)| {
            let mut each: Vec<u8> = parts.iter().map(|p| p.parts).collect();
            each.sort_unstable_by(|a, b| b.cmp(a));
            each
        })
        .collect();
    patterns.sort();
    patterns.dedup();
    assert_eq!(patterns, [vec![1], vec![1, 1], vec![1, 1, 1], vec![2, 1], vec![2, 1, 1], vec![3, 1]]);
    let mixes = Mixes::of(&paints, MixSettings::default(), &Watch::quiet()).expect("mixes");
    // 3 single; 3 pairs as 1:1, 2:1, 1:2, 3:1, 1:3; one triple as 1:1:1 and three times 2:1:1.
    assert_eq!(mixes.len(), 3 + 3 * 5 + 4);
}

#[test]
fn a_known_mixture_is_found_back() {
    let paints = demo_paints();
    let mixes = Mixes::of(&paints, MixSettings::default(), &Watch::quiet()).expect("mixes");
    let opaque: Vec<usize> = (0..paints.len()).filter(|i| paints[*i].finish == Finish::Opaque).collect();
    let mut draw = draws();
    for shape in [[1, 0, 0], [1, 1, 0], [2, 1, 0], [3, 1, 0], [1, 1, 1], [2, 1, 1]].repeat(20) {
        let mut left = opaque.clone();
        let known: Vec<Part> = shape
            .into_iter()
            .filter(|parts| *parts > 0)
            .map(|parts| Part { paint: left.remove((draw() * left.len() as f64) as usize), parts })
            .collect();
        let wanted = grisaille_colour::pigment_of(&known, &paints).expect("a pigment").thick();
        let found = &mixes.nearest_by_count(colour_of_curve(&wanted))[known.len() - 1];
        close(found.apart, 0.0, 1e-6, "found back");
        assert_eq!(sorted(found.parts.clone()), sorted(known), "its parts");
        assert_eq!(found.nearness(), Nearness::Same);
    }
}

/// Two constants, the worked mixes of white (R 0.9, S 1) and black (R 0.04, S 0.05).
#[test]
fn strength_is_the_second_constant() {
    let paint = |r: f64, strength| Paint { strength, ..Paint::of_curve("", Curve::new([r; SAMPLES])) };
    let (white, black) = (Pigment::of(&paint(0.9, Some(1.0))), Pigment::of(&paint(0.04, Some(0.05))));
    for (parts, want) in
        [((1.0, 1.0), 0.36453974), ((9.0, 1.0), 0.69084971), ((1.0, 0.0), 0.9), ((0.0, 2.0), 0.04)]
    {
        let mix = Pigment::mixed(&[(parts.0, &white), (parts.1, &black)]).expect("a mix");
        mix.thick().samples().iter().for_each(|r| close(*r, want, 1e-6, "two constants"));
    }
    // All strengths 1: the single constant, by its worked mixes.
    for row in table(include_str!("data/single_constant.csv")) {
        let [one, other] = [0, 1].map(|k| Pigment::of(&paint(number(row[k]), Some(1.0))));
        let mix = Pigment::mixed(&[(number(row[2]), &one), (number(row[3]), &other)]).expect("a mix");
        mix.thick().samples().iter().for_each(|r| close(*r, number(row[5]), 1e-6, "single constant"));
    }
    assert_eq!(Pigment::mixed(&[(0.0, &white)]), None);
    // Assumed, where nobody says: white and black in equal parts give a dark grey, not
    // the near-black of the single constant.
    let (white, black) = (paint(0.9, None), paint(0.01, None));
    close(usual_strength(&black.curve), 0.1, 1e-9, "the root of the luminance");
    let mix = Pigment::mixed(&[(1.0, &Pigment::of(&white)), (1.0, &Pigment::of(&black))]).expect("a mix");
    let grey = colour_of_curve(&mix.thick()).l;
    assert!((30.0..45.0).contains(&grey), "L* {grey}");
}

#[test]
fn coats_cover_their_ground_step_by_step() {
    let paints = demo_paints();
    let [light, dark] = [0.8, 0.05].map(|r| Curve::new([r; SAMPLES]));
    for paint in &paints {
        let pigment = Pigment::of(paint);
        for ground in [&light, &dark] {
            assert_eq!(pigment.over(ground, 0.0), *ground);
            assert_eq!(pigment.over(ground, f64::NAN), *ground);
            let twice = pigment.over(&pigment.over(ground, 0.3), 0.7);
            for (a, b) in twice.samples().iter().zip(pigment.over(ground, 1.0).samples()) {
                close(*a, *b, 1e-9, "two coats are one of their sum");
            }
        }
        match paint.finish {
            Finish::Transparent => {
                let coat = pigment.over(&Curve::WHITE, 1.0);
                for (a, b) in coat.samples().iter().zip(paint.curve.samples()) {
                    close(*a, *b, 1e-9, "one coat over white is the listed colour");
                }
                assert_eq!(pigment.thick(), coat);
                // A stain darkens whatever it lies on (Beer and Lambert).
                let stained = pigment.over(&dark, 0.5);
                assert!(stained.samples().iter().zip(dark.samples()).all(|(a, b)| a <= b), "{}", paint.name);
            }
            _ => {
                let thick = colour_of_curve(&pigment.thick());
                let apart = |coats| difference(colour_of_curve(&pigment.over(&dark, coats)), thick);
                assert!(difference(thick, paint.colour) < 0.3, "{}: as listed", paint.name);
                assert!(
                    apart(1000.0) < 0.3,
                    "{}: thick paint hides its ground: {}",
                    paint.name,
                    apart(1000.0)
                );
                assert!(apart(2.0) <= apart(0.5) + 1e-9, "{}: more hides more", paint.name);
            }
        }
    }
}

/// spectral.js 3.0.0, another open method by Kubelka and Munk with a strength for each
/// colour: its mixes in equal parts. Only the hue can agree.
#[test]
fn mixes_have_the_hue_of_another_method() {
    for (one, other, theirs) in [("#002185", "#fcd200", "#3d933e"), ("#ff0000", "#ffffff", "#ff424a")] {
        let [one, other] = [one, other].map(|hex| Pigment::of(&Paint::of_colour("", colour(hex))));
        let mix = Pigment::mixed(&[(1.0, &one), (1.0, &other)]).expect("a mix");
        let (ours, theirs) = (colour_of_curve(&mix.thick()), colour(theirs));
        let turned = (ours.hue() - theirs.hue() + 180.0).rem_euclid(360.0) - 180.0;
        assert!(turned.abs() < 30.0, "{} is {turned}° from {}", ours.hue(), theirs.hue());
    }
}

#[test]
fn what_does_not_mix_is_left_out() {
    let mut paints = demo_paints();
    paints[0].stock = Some(0.0);
    let mixes = Mixes::of(&paints, MixSettings::default(), &Watch::quiet()).expect("mixes");
    for wanted in some_colours(100) {
        for mix in mixes.nearest_by_count(wanted) {
            let of: Vec<&Paint> = mix.parts.iter().map(|p| &paints[p.paint]).collect();
            assert!(of.iter().all(|p| p.at_hand() && p.finish != Finish::Metallic), "{mix:?}");
            let parts = |finish| {
                mix.parts.iter().filter(|p| paints[p.paint].finish == finish).map(|p| p.parts).sum::<u8>()
            };
            assert!(parts(Finish::Opaque) >= parts(Finish::Transparent), "{mix:?}");
            assert!(mix.parts.windows(2).all(|p| p[0].parts >= p[1].parts), "most parts first");
        }
    }
    let none: Vec<Paint> = paints.iter().filter(|p| p.finish != Finish::Opaque).cloned().collect();
    for list in [&none[..], &[]] {
        assert!(matches!(Mixes::of(list, MixSettings::default(), &Watch::quiet()), Err(MixError::NoPaint)));
    }
    let many: Vec<Paint> = some_colours(300).into_iter().map(|c| Paint::of_colour("x", c)).collect();
    let said = Mixes::of(&many, MixSettings::default(), &Watch::quiet()).expect_err("too many").to_string();
    assert!(said.contains("300 paints give 18044950 mixes"), "{said}");
    let fewer = MixSettings { paints: 2, parts: 4 };
    assert_eq!(Mixes::of(&many, fewer, &Watch::quiet()).expect("mixes").len(), 300 + 300 * 299 / 2 * 5);
    let stopped = Mixes::of(&many, fewer, &Watch::quiet().stopping_after(20));
    assert!(matches!(stopped, Err(MixError::Stop(_))));
}

#[test]
fn one_thread_and_many_give_the_same() {
    let paints = demo_paints();
    let of = |threads| {
        let watch = Watch::with_threads(threads).expect("threads");
        let mixes = Mixes::of(&paints, MixSettings::default(), &watch).expect("mixes");
        some_colours(50).into_iter().map(|c| mixes.nearest_by_count(c)).collect::<Vec<_>>()
    };
    assert_eq!(of(1), of(3));
}

#[test]
fn words_for_a_mix() {
    let paints = demo_paints();
    let mix = |parts: &[(usize, u8)]| Mix {
        parts: parts.iter().map(|(paint, parts)| Part { paint: *paint, parts: *parts }).collect(),
        colour: Lab::default(),
        apart: 4.0,
    };
    assert_eq!(mix(&[(0, 1)]).in_words(&paints), "Shell white");
    assert_eq!(mix(&[(11, 2), (1, 1)]).in_words(&paints), "2 parts Kelp green : 1 part Reef black");
    assert_eq!(mix(&[]).nearness(), Nearness::TestFirst);
    let words = [0.0, 1.0, 1.01, 3.0, 3.1, 6.0, 6.1, f64::NAN].map(|d| Nearness::of(d).as_str());
    assert_eq!(
        words,
        ["same", "same", "near", "near", "test it first", "test it first", "out of reach", "out of reach"]
    );
}

#[test]
fn a_step_between_is_equal_amounts_of_both() {
    let paints = demo_paints();
    let part = |paint, parts| Part { paint, parts };
    let made = |parts: &[Part]| {
        let colour = colour_of_curve(&grisaille_colour::pigment_of(parts, &paints).expect("paint").thick());
        Mix { parts: parts.to_vec(), colour, apart: 0.0 }
    };
    // 2:1 and 3:1 of the same paints, in equal amounts: (2/3 + 3/4) : (1/3 + 1/4) = 17:7.
    let (one, other) = (made(&[part(5, 2), part(1, 1)]), made(&[part(5, 3), part(1, 1)]));
    let between = colour_between(&[&one, &other], &paints).expect("a colour");
    close(difference(between, made(&[part(5, 17), part(1, 7)]).colour), 0.0, 1e-9, "between");
    assert!(one.colour.l < between.l && between.l < other.colour.l);
    assert_eq!(colour_between(&[], &paints), None);
    assert_eq!(colour_between(&[&Mix { parts: vec![part(99, 1)], ..one }], &paints), None);
}

/// What a ramp of mixes is off by: the sum of squares, and the worst; a step that rises by
/// less than half of what was wanted is off by what lies between the two that were wanted.
fn ramp_is_off(steps: &[(f64, Lab)], wanted: &[Lab]) -> (f64, f64) {
    let (mut sum, mut worst) = (0.0, 0.0_f64);
    for (i, (apart, colour)) in steps.iter().enumerate() {
        let stays = i > 0 && colour.l - steps[i - 1].1.l < 0.5 * (wanted[i].l - wanted[i - 1].l);
        let off = if stays { apart.max(difference(wanted[i], wanted[i - 1])) } else { *apart };
        sum += off * off;
        worst = worst.max(off);
    }
    (sum, worst)
}

/// The least that a ramp of these mixes, each with its sway, is off by, if it is less than `best`: every ramp is tried
/// as far as it can still be better.
fn best_ramp(mixed: &[(Lab, f64)], wanted: &[Lab], mut best: f64) -> f64 {
    let off = |i: usize, (colour, sway): &(Lab, f64)| difference(wanted[i], *colour).hypot(*sway);
    let offs: Vec<Vec<f64>> = (0..wanted.len()).map(|i| mixed.iter().map(|m| off(i, m)).collect()).collect();
    let least = offs.iter().map(|o| o.iter().copied().fold(f64::INFINITY, f64::min).powi(2));
    let least: Vec<f64> = least.collect();
    let mut open = vec![Vec::new()];
    while let Some(ramp) = open.pop() {
        let steps: Vec<(f64, Lab)> =
            ramp.iter().enumerate().map(|(i, m): (usize, &usize)| (offs[i][*m], mixed[*m].0)).collect();
        let sum = ramp_is_off(&steps, wanted).0;
        if sum + least[ramp.len()..].iter().sum::<f64>() >= best {
            continue;
        }
        if ramp.len() == wanted.len() {
            best = sum;
            continue;
        }
        open.extend((0..mixed.len()).map(|m| [ramp.as_slice(), &[m]].concat()));
    }
    best
}

#[test]
fn a_ramp_shares_its_paints() {
    let paints: Vec<Paint> = demo_paints().into_iter().take(9).collect();
    let mixes = Mixes::of(&paints, MixSettings::default(), &Watch::quiet()).expect("mixes");
    let every: Vec<_> = (1..=3).flat_map(|count| each_mix(&paints, count, 4)).collect();
    let sways: Vec<f64> = every.iter().map(|(parts, _)| sway(parts, &paints).expect("paints")).collect();
    let off = |m: &Mix| (m.apart.hypot(sway(&m.parts, &paints).expect("paints")), m.colour);
    let of = |steps: &[Mix]| steps.iter().map(off).collect::<Vec<_>>();
    let mut stood_still = 0;
    for (chroma, hue, low) in [(25.0, 70.0, 25.0), (10.0, 250.0, 20.0), (45.0, 40.0, 12.0), (0.0, 0.0, 4.0)] {
        let wanted: Vec<Lab> =
            (0..5).map(|i| Lab::from_polar(low + 12.0 * f64::from(i), chroma, hue)).collect();
        let shared = share_paints(&mixes, &wanted, 3, &Watch::quiet()).expect("not stopped").expect("mixes");
        let (sum, worst) = ramp_is_off(&of(&shared.steps), &wanted);
        let mut best = sum + 1e-3;
        for (i, j, k) in (0..9).flat_map(|i| (i..9).flat_map(move |j| (j..9).map(move |k| (i, j, k)))) {
            let allowed = |parts: &[Part]| parts.iter().all(|p| [i, j, k].contains(&p.paint));
            let mixed = every.iter().zip(&sways).filter(|((parts, _), _)| allowed(parts));
            let mixed: Vec<(Lab, f64)> = mixed.map(|((_, c), sway)| (*c, *sway)).collect();
            best = best_ramp(&mixed, &wanted, best);
        }
        close(sum, best, 1e-6, "the best three");
        stood_still += usize::from(shared.steps.windows(2).any(|p| p[0].parts == p[1].parts));
        assert!(shared.paints.len() <= 3 && shared.steps.len() == 5);
        for step in &shared.steps {
            assert!(step.parts.iter().all(|p| shared.paints.contains(&p.paint)), "{step:?}");
        }
        // More pots stand open only if that brings the worst step nearer by 1, or the root of the mean square by a half.
        let wider = share_paints(&mixes, &wanted, 5, &Watch::quiet()).expect("not stopped").expect("mixes");
        let more = wider.paints.len() > shared.paints.len();
        let (wider_sum, wider_worst) = ramp_is_off(&of(&wider.steps), &wanted);
        let mean = |sum: f64| (sum / wanted.len() as f64).sqrt();
        let nearer = wider_worst <= worst - 1.0 || mean(wider_sum) <= mean(sum) - 0.5;
        assert!(!more || nearer, "{shared:?} {wider:?}");
    }
    assert!(stood_still < 4, "some ramp rises all the way");
    assert_eq!(share_paints(&mixes, &[], 3, &Watch::quiet()), Ok(None));
    let one = [Lab::new(50.0, 0.0, 0.0)];
    assert!(share_paints(&mixes, &one, 3, &Watch::quiet().stopping_after(0)).is_err());
}

#[test]
fn mixes_of_like_paints_sway_least() {
    let paints = demo_paints();
    let one = |paint, parts| Part { paint, parts };
    assert_eq!(sway(&[one(4, 1)], &paints), Some(0.0));
    assert_eq!(sway(&[], &paints), None);
    assert_eq!(sway(&[one(99, 1)], &paints), None);
    // By hand: white and black 2 : 1, each in turn a quarter more.
    let mixed = |white: f64, black: f64| {
        let of = [Pigment::of(&paints[0]), Pigment::of(&paints[1])];
        colour_of_curve(&Pigment::mixed(&[(white, &of[0]), (black, &of[1])]).expect("paint").thick())
    };
    let moved = [mixed(2.5, 1.0), mixed(2.0, 1.25)].map(|m| difference(mixed(2.0, 1.0), m));
    let grey = sway(&[one(0, 2), one(1, 1)], &paints).expect("paints");
    close(grey, moved[0].hypot(moved[1]), 1e-9, "white and black");
    // Sailcloth and sandbank are near to each other.
    let sand = sway(&[one(4, 2), one(5, 1)], &paints).expect("paints");
    assert!(sand < 1.0 && grey > 3.0, "{sand} {grey}");
    // A sand between the two could come from white, leather and a green as well: those two are taken.
    let wanted = [colour_of_mix(&paints, &[one(4, 1), one(5, 1)])];
    let mixes = Mixes::of(&paints, MixSettings::default(), &Watch::quiet()).expect("mixes");
    let shared = share_paints(&mixes, &wanted, 5, &Watch::quiet()).expect("not stopped").expect("mixes");
    assert_eq!(shared.paints, [4, 5], "{shared:?}");
}

/// The colour of a mix.
fn colour_of_mix(paints: &[Paint], parts: &[Part]) -> Lab {
    colour_of_curve(&grisaille_colour::pigment_of(parts, paints).expect("paint").thick())
}

#[test]
fn a_ramp_of_single_paints_rises_and_is_the_best() {
    let paints: Vec<Paint> =
        demo_paints().into_iter().filter(|p| p.finish == Finish::Opaque).take(10).collect();
    let wanted: Vec<Lab> = [20.0, 50.0, 80.0].map(|l| Lab::from_polar(l, 20.0, 60.0)).to_vec();
    let picked = pick_paints(&paints, &wanted).expect("a ramp");
    assert!(picked.windows(2).all(|p| p[0].colour.l < p[1].colour.l));
    let sum: f64 = picked.iter().map(|m| m.apart.powi(2)).sum();
    let mut best = f64::INFINITY;
    for (i, j, k) in (0..10).flat_map(|i| (0..10).flat_map(move |j| (0..10).map(move |k| (i, j, k)))) {
        let of = [i, j, k].map(|p: usize| paints[p].colour);
        if of[0].l < of[1].l && of[1].l < of[2].l {
            best = best.min(of.iter().zip(&wanted).map(|(c, w)| difference(*w, *c).powi(2)).sum());
        }
    }
    close(sum, best, 1e-9, "the best");
    assert_eq!(pick_paints(&paints, &[]), None);
    assert_eq!(pick_paints(&paints[..2], &wanted), None);
}
