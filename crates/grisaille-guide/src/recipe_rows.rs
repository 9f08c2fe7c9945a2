//! Rows of a card: recipes of one mix together, with what they go by on the pictures and their tone in words.

use crate::card_pictures::pattern_of;
use crate::compose::srgb;
use crate::mark::joined;
use crate::sheets::{MixRow, Swatch};
use grisaille_base::Lightness;
use grisaille_colour::{
    Called, Depth, Lab, LinearRgb, Nearness, colour_called, luminance_from_lightness, munsell_value,
    printed_apart,
};
use grisaille_picture::Pattern;
use grisaille_plan::{Bands, MixPlace, Recipe, Stage, StageKind};
use grisaille_scheme::Ink;
use grisaille_words::{Words, say};

/// Values nearer than this are told as one.
const ALIKE: f64 = 0.25;
/// A list of more mixes than this is told briefly.
const MANY: usize = 12;

pub(crate) fn value(lightness: Lightness) -> f64 {
    munsell_value(luminance_from_lightness(lightness))
}

/// The value that a recipe comes to.
pub(crate) fn told_value(recipe: &Recipe) -> String {
    format!("{:.1}", value(Lightness(recipe.colour.l)))
}

/// Recipes of one mix, by their places: those in a row, and of lines, touches and washes, which come in no order, all.
pub(crate) fn grouped(recipes: &[Recipe]) -> Vec<Vec<&Recipe>> {
    let mut groups: Vec<Vec<&Recipe>> = Vec::new();
    for recipe in recipes {
        let same = |group: &Vec<&Recipe>| recipe.mix.is_some() && group[0].mix == recipe.mix;
        let in_order = !matches!(
            recipe.place,
            MixPlace::Lines(_) | MixPlace::Edges(_) | MixPlace::Spots(_) | MixPlace::Pools(_)
        );
        let back = if in_order { 1 } else { groups.len() };
        match groups.iter_mut().rev().take(back).find(|group| same(group)) {
            Some(group) => group.push(recipe),
            None => groups.push(vec![recipe]),
        }
    }
    groups
}

/// What each recipe goes by on the pictures: the number of its step where all are steps of one entry, as the
/// words of the stage have it, else letters in the order of use; nothing for what is not marked or alone, nor for
/// lines, each of which has its number.
pub(crate) fn letters(recipes: &[Recipe]) -> Vec<String> {
    let entry = |r: &Recipe| match r.place {
        MixPlace::Step(entry, _) => Some((entry, None)),
        MixPlace::LitTone(entry, light, _) => Some((entry, Some(light))),
        _ => None,
    };
    let first = recipes.first().and_then(entry);
    // Steps and a lamp's tones of one entry on one card: the steps keep their numbers, the tones have letters.
    let of_one = first.is_some() && recipes.iter().all(|r| entry(r).map(|e| e.0) == first.map(|e| e.0));
    let both = of_one && recipes.iter().any(|r| entry(r) != first);
    let first_of = joined(recipes);
    // What one thin mix makes of each tone below it is seen: there is nothing to choose.
    let one_mix = recipes.iter().all(|r| r.mix.is_some() && r.mix == recipes[0].mix);
    if one_mix && recipes.len() > 1 && recipes.iter().all(|r| r.pot.is_some() && entry(r).is_some()) {
        return vec![String::new(); recipes.len()];
    }
    let marked = |r: &&Recipe| {
        !matches!(r.place, MixPlace::AsTold | MixPlace::Lines(_) | MixPlace::Edges(_) | MixPlace::Face(..))
    };
    if both || first.is_some() && recipes.iter().filter(marked).all(|r| entry(r) == first) {
        let step = |r: &Recipe| match r.place {
            MixPlace::Step(_, step) | MixPlace::LitTone(_, _, step) => Some(step + 1),
            _ => None,
        };
        let numbers = |i: usize| {
            let lettered = |r: &Recipe| match r.place {
                MixPlace::Face(..) => true,
                MixPlace::LitTone(..) => both,
                _ => false,
            };
            if lettered(&recipes[i]) {
                let before = (0..i).filter(|k| first_of[*k] == *k && lettered(&recipes[*k]));
                return if first_of[i] == i { letter(before.count()) } else { String::new() };
            }
            let own = || {
                first_of.iter().zip(recipes).filter(|(first, _)| **first == i).filter_map(|(_, r)| step(r))
            };
            match (own().min(), own().max()) {
                (Some(low), Some(high)) if low < high => format!("{low}–{high}"),
                (Some(one), _) => one.to_string(),
                _ => String::new(),
            }
        };
        return (0..recipes.len()).map(numbers).collect();
    }
    let touches = recipes.iter().all(|r| matches!(r.place, MixPlace::Spots(_)));
    if recipes.iter().filter(marked).count() < 2 || touches && one_mix {
        return vec![String::new(); recipes.len()];
    }
    let mut next = 0;
    let each = recipes.iter().enumerate().map(|(i, r)| {
        if !marked(&r) || first_of[i] != i {
            return String::new();
        }
        next += 1;
        letter(next - 1)
    });
    each.collect()
}

/// a, b … z, aa, ab …
fn letter(n: usize) -> String {
    let last = char::from(b'a' + (n % 26) as u8);
    if n < 26 { last.to_string() } else { format!("{}{last}", letter(n / 26 - 1)) }
}

/// The colours of a stage's recipes as they are printed. Without colours what lies side by side is told apart by
/// greys that stand farther from each other than the tones themselves; which value each has is told in words.
pub(crate) fn printed_colours(stage: &Stage, ink: Ink) -> Vec<LinearRgb> {
    let mut colours: Vec<LinearRgb> = stage.recipes.iter().map(|r| r.colour.shown()).collect();
    let laid = matches!(
        stage.kind,
        StageKind::Glaze | StageKind::ShadowsAndLights | StageKind::LampColour(_) | StageKind::Base
    );
    if ink == Ink::Grey && laid {
        let beside = |r: &Recipe| matches!(r.place, MixPlace::Step(..) | MixPlace::LitTone(..));
        let places: Vec<usize> = (0..colours.len()).filter(|i| beside(&stage.recipes[*i])).collect();
        let own: Vec<LinearRgb> = places.iter().map(|i| colours[*i]).collect();
        for (i, grey) in places.into_iter().zip(printed_apart(&own)) {
            colours[i] = grey;
        }
    }
    colours
}

/// What mixes are told by: the bands of the values sheet, the printer's ink, the language.
#[derive(Clone, Copy)]
pub(crate) struct Print<'a> {
    pub(crate) bands: &'a Bands,
    /// The colour of each recipe as it is printed.
    pub(crate) colours: &'a [LinearRgb],
    pub(crate) ink: Ink,
    pub(crate) words: &'a Words,
}

/// How a mix is told: its tone beside the bands of the values sheet.
pub(crate) fn mix_row(stage: &Stage, group: &[&Recipe], letters: &[String], print: Print<'_>) -> MixRow {
    let Print { ink, words, .. } = print;
    let of = |r: &Recipe| stage.recipes.iter().position(|other| std::ptr::eq(other, r));
    let first = group[0];
    let glaze = stage.kind == StageKind::Glaze;
    let look = |r: &&Recipe| Swatch {
        letter: of(r).and_then(|i| letters.get(i)).cloned().unwrap_or_default(),
        colour: srgb(of(r).and_then(|i| print.colours.get(i)).copied().unwrap_or(r.colour.shown())),
        pattern: of(r).map_or(Pattern::Plain, |i| pattern_of(stage, i, ink)),
        // Beside what a thin mix makes of each ground: which it is, or how light it becomes.
        words: match first.pot {
            Some(_) if glaze => match r.place {
                MixPlace::Step(_, step) => {
                    say!(words, "mix-step-value", step = (step + 1).to_string(), value = told_value(r))
                }
                _ => say!(words, "mix-value", value = told_value(r)),
            },
            Some(_) if letters.iter().all(String::is_empty) => String::new(),
            Some(_) => r.region.clone(),
            None => String::new(),
        },
    };
    let mut looks: Vec<Swatch> = Vec::new();
    let mut last = f64::INFINITY;
    let first_of = joined(&stage.recipes);
    let alone = |r: &&Recipe| of(r).is_none_or(|i| first_of[i] == i);
    let mut shown: Vec<&Recipe> = group.iter().copied().filter(alone).collect();
    if glaze {
        // From dark to light, as all rows of tones stand.
        shown.sort_by(|a, b| a.colour.l.total_cmp(&b.colour.l));
    }
    for recipe in shown {
        let value = value(Lightness(recipe.colour.l));
        // Grounds that look alike under a glaze are one.
        if !glaze || (last - value).abs() >= ALIKE {
            let look = look(&recipe);
            if !looks.contains(&look) {
                looks.push(look);
            }
            last = value;
        }
    }
    let tone = tone_of(stage, group, print);
    let purpose = purpose(stage, group, words);
    let mix = match &first.mix {
        Some(mix) => mix.clone(),
        None if stage.recipes.len() > MANY => String::new(),
        None => say!(words, "mix-to-match"),
    };
    MixRow { pot: first.pot.map(|pot| srgb(pot.shown())), looks, mix, purpose, tone }
}

/// The tone of a mix in words: its colour, its value beside the bands of the values sheet, warm or cool, how near it
/// comes. Of a thin mix that of the mix itself; what it makes of each ground is told with that.
fn tone_of(stage: &Stage, group: &[&Recipe], Print { bands, words, .. }: Print<'_>) -> String {
    let first = group[0];
    let worst = group.iter().filter_map(|r| r.near).max();
    let near = worst.and_then(nearness).map(|key| say!(words, key));
    if let Some(pot) = first.pot {
        return words.row(
            &[called(pot, words), say!(words, warmth(pot))].into_iter().chain(near).collect::<Vec<_>>(),
        );
    }
    let mut values: Vec<String> = group.iter().map(|r| told_value(r)).collect();
    values.dedup();
    let letter_of = |l: f64| Some(bands.rows.get(bands.of_paint(Lightness(l)))?.letter);
    let mut in_bands: Vec<char> = group.iter().filter_map(|r| letter_of(r.colour.l)).collect();
    in_bands.dedup();
    let told = words.row(&values);
    let value = match (values.len(), in_bands.as_slice()) {
        (1, [band]) => say!(words, "mix-value-band", value = told, band = *band),
        (1, _) => say!(words, "mix-value", value = told),
        (_, [band]) => say!(words, "mix-values-band", values = told, band = *band),
        (_, _) => say!(words, "mix-values", values = told),
    };
    let mut tone = vec![called(first.colour, words), value];
    // A long list says of each mix only what tells it from the others.
    if stage.recipes.len() <= MANY {
        tone.push(say!(words, warmth(first.colour)));
        tone.extend(near);
    }
    words.row(&tone)
}

/// What a mix is for; what the card's title says is not said again on each line.
fn purpose(stage: &Stage, group: &[&Recipe], words: &Words) -> String {
    if let (StageKind::Glaze, [MixPlace::Step(_, first), .., MixPlace::Step(_, last)]) =
        (stage.kind, group.iter().map(|r| r.place).collect::<Vec<_>>().as_slice())
    {
        let [first, last] = [first.min(last), first.max(last)].map(|step| (step + 1).to_string());
        return say!(words, "what-over-tones", first = first, last = last);
    }
    // Which regions a thin mix goes on stands beside its swatches: only where it is told apart it is told again.
    if group[0].pot.is_some() {
        let mut told: Vec<(&str, Vec<String>)> = Vec::new();
        for r in group {
            match told.iter_mut().find(|(what, _)| *what == r.what) {
                Some((_, regions)) => regions.push(r.region.clone()),
                None => told.push((&r.what, vec![r.region.clone()])),
            }
        }
        if let [(what, _)] = told.as_slice() {
            return (*what).to_owned();
        }
        let each = told
            .iter()
            .map(|(what, regions)| say!(words, "what-of-region", region = words.list(regions), what = *what));
        return each
            .reduce(|list, next| say!(words, "what-more", list = list, next = next))
            .unwrap_or_default();
    }
    let each = group.iter().map(|r| match stage.regions.as_slice() {
        [one] if *one == r.region => r.what.clone(),
        _ => r.told(words),
    });
    each.reduce(|list, next| say!(words, "what-more", list = list, next = next)).unwrap_or_default()
}

/// What to say of a mix that does not quite come to what was wanted.
fn nearness(near: Nearness) -> Option<&'static str> {
    match near {
        Nearness::Same => None,
        Nearness::Near => Some("mix-comes-near"),
        Nearness::TestFirst => Some("mix-test-first"),
        Nearness::OutOfReach => Some("mix-out-of-reach"),
    }
}

/// A colour in everyday words of the language.
pub(crate) fn called(colour: Lab, words: &Words) -> String {
    let Called { depth, dull, hue } = colour_called(colour);
    let hue = words.term("colour", hue);
    let hue = if dull { say!(words, "colour-greyish-of", colour = hue) } else { hue };
    match depth {
        Depth::Plain => hue,
        Depth::Dark => say!(words, "colour-dark-of", colour = hue),
        Depth::Pale => say!(words, "colour-pale-of", colour = hue),
    }
}

/// Warm or cool, as the key of its word. Where the one ends and the other begins is common practice: reds, oranges and
/// yellows are warm, greens that lean to blue, blues and violets cool (CIELAB hue angles; the borders are ours).
fn warmth(colour: Lab) -> &'static str {
    const NEUTRAL: f64 = 5.0;
    match colour.hue().rem_euclid(360.0) {
        _ if colour.chroma() < NEUTRAL => "tone-neutral",
        h if !(115.0..330.0).contains(&h) => "tone-warm",
        h if (150.0..315.0).contains(&h) => "tone-cool",
        _ => "tone-between",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use grisaille_plan::FacePart;

    fn recipe(what: &str, mix: Option<&str>, place: MixPlace) -> Recipe {
        let colour = Lab::new(50.0, 20.0, 20.0);
        Recipe {
            region: "boots".into(),
            what: what.into(),
            colour,
            pot: None,
            mix: mix.map(Into::into),
            paints: Vec::new(),
            near: Some(Nearness::Near),
            place,
        }
    }

    #[test]
    fn steps_of_one_entry_keep_their_numbers_and_others_get_letters() {
        let step = |entry, step| recipe("x", Some("y"), MixPlace::Step(entry, step));
        let told = recipe("x", None, MixPlace::AsTold);
        assert_eq!(letters(&[step(3, 2), step(3, 0), told.clone()]), ["3", "1", ""]);
        assert_eq!(letters(&[step(3, 2), told.clone(), step(4, 2)]), ["a", "", "b"]);
        assert_eq!(letters(&[recipe("x", None, MixPlace::Entry(0)), told]), ["", ""]);
        // Neighbours of one mix are one area, glazes of one pot are told by their tones, parts of a face by letters.
        let mixed = |mix, at| recipe("x", Some(mix), MixPlace::Step(3, at));
        let steps = [mixed("a", 2), mixed("a", 1), mixed("b", 0), mixed("a", 4)];
        assert_eq!(letters(&steps), ["2–3", "", "1", "5"]);
        let jaw = recipe("x", Some("c"), MixPlace::Face(3, FacePart::Jaw));
        let lip = recipe("x", Some("d"), MixPlace::Face(3, FacePart::Lip));
        assert_eq!(letters(&[mixed("a", 2), mixed("b", 0), lip, jaw]), ["3", "1", "a", "b"]);
        let pot = Some(Lab::new(40.0, 0.0, 0.0));
        let glazed = |at| Recipe { pot, ..mixed("a", at) };
        assert_eq!(letters(&[glazed(2), glazed(1)]), ["", ""]);
        let touch = |entry, mix| recipe("x", Some(mix), MixPlace::Spots(entry));
        assert_eq!(letters(&[touch(1, "a"), touch(2, "a")]), ["", ""]);
        assert_eq!(letters(&[touch(1, "a"), touch(2, "b")]), ["a", "b"]);
        assert_eq!([0, 25, 26, 27, 52, 702].map(letter), ["a", "z", "aa", "ab", "ba", "aaa"]);
    }

    #[test]
    fn one_mix_for_several_places_is_one_row() {
        let of = |what, mix, step| recipe(what, mix, MixPlace::Step(0, step));
        let recipes =
            [of("step 2", Some("a"), 1), of("step 1", Some("a"), 0), of("z", None, 2), of("z", None, 3)];
        let stage = Stage { regions: vec!["boots".into()], recipes: recipes.to_vec(), ..Stage::default() };
        let groups = grouped(&stage.recipes);
        assert_eq!(groups.iter().map(Vec::len).collect::<Vec<_>>(), [2, 1, 1]);
        let bands = Bands { rows: Vec::new(), borders: Vec::new(), lightness: Vec::new() };
        let print = Print { bands: &bands, colours: &[], ink: Ink::Colour, words: Words::english() };
        let row = mix_row(&stage, &groups[0], &letters(&stage.recipes), print);
        assert_eq!((row.purpose.as_str(), row.mix.as_str()), ("step 2; step 1", "a"));
        assert_eq!(row.looks.iter().map(|l| l.letter.as_str()).collect::<Vec<_>>(), ["1–2"]);
        assert!(row.tone.contains("warm") && row.tone.ends_with("comes near"), "{}", row.tone);
    }

    #[test]
    fn warm_and_cool_are_told_as_painters_tell_them() {
        let told = |rgb: [u8; 3]| warmth(Lab::from(LinearRgb::from_srgb8(rgb)));
        for warm in [[200, 40, 30], [230, 140, 40], [220, 200, 60], [107, 68, 41]] {
            assert_eq!(told(warm), "tone-warm", "{warm:?}");
        }
        for cool in [[40, 60, 200], [40, 150, 160], [110, 140, 170]] {
            assert_eq!(told(cool), "tone-cool", "{cool:?}");
        }
        assert_eq!(told([128; 3]), "tone-neutral");
        assert_eq!(told([60, 160, 60]), "tone-between");
    }
}
