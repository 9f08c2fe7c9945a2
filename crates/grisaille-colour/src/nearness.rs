//! How near a mix comes to what was wanted, in words.

use crate::{Lab, difference};

/// How near two colours are, as a painter would say it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Nearness {
    /// ΔE00 up to 1: hardly seen side by side.
    Same,
    /// Up to 3: seen side by side, not at arm's length.
    Near,
    /// Up to 6: try it on a palette first.
    TestFirst,
    /// Farther: these paints do not get there.
    OutOfReach,
}

impl Nearness {
    /// The word for a difference ΔE00. That 1 is just seen is common practice; so
    /// are the other limits, which are ours.
    #[must_use]
    pub fn of(apart: f64) -> Self {
        match apart {
            d if d <= 1.0 => Self::Same,
            d if d <= 3.0 => Self::Near,
            d if d <= 6.0 => Self::TestFirst,
            _ => Self::OutOfReach,
        }
    }

    /// The words for it.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Same => "same",
            Self::Near => "near",
            Self::TestFirst => "test it first",
            Self::OutOfReach => "out of reach",
        }
    }
}

/// In what one colour differs from the one that was wanted, such as "darker and
/// duller"; nothing for what is hardly seen.
#[must_use]
pub fn how_it_differs(got: Lab, wanted: Lab) -> String {
    let with = |change: fn(&mut Lab, Lab)| {
        let mut changed = wanted;
        change(&mut changed, got);
        difference(changed, wanted)
    };
    let mut words = Vec::new();
    if with(|c, got| c.l = got.l) > 1.0 {
        words.push(if got.l < wanted.l { "darker" } else { "lighter" });
    }
    let vivid = with(|c, got| *c = Lab::from_polar(c.l, got.chroma(), c.hue()));
    if vivid > 1.0 {
        words.push(if got.chroma() < wanted.chroma() { "duller" } else { "more vivid" });
    }
    // A grey has no hue to differ in.
    let hue = with(|c, got| *c = Lab::from_polar(c.l, c.chroma(), got.hue()));
    if hue > 1.0 && got.chroma() > 2.0 && wanted.chroma() > 2.0 {
        words.push(toward(wanted.hue(), got.hue()));
    }
    match words.as_slice() {
        [first, middle, last] => format!("{first}, {middle} and {last}"),
        _ => words.join(" and "),
    }
}

/// The basic hue that lies on the way from one hue angle to another, the shorter
/// way round.
fn toward(from: f64, to: f64) -> &'static str {
    // Hue angles of the unique hues in CIELAB, rounded (common practice).
    const HUES: [(f64, &str); 4] =
        [(25.0, "redder"), (92.0, "yellower"), (163.0, "greener"), (255.0, "bluer")];
    let turn = (to - from).rem_euclid(360.0);
    let way = |hue: f64| {
        let ahead = (hue - from).rem_euclid(360.0);
        if turn <= 180.0 { ahead } else { 360.0 - ahead }
    };
    // One that is passed on the first half of the way is not where it leads.
    let half = 0.5 * if turn <= 180.0 { turn } else { 360.0 - turn };
    let ahead = HUES.iter().filter(|h| way(h.0) >= half && way(h.0) < 360.0);
    ahead.min_by(|a, b| way(a.0).total_cmp(&way(b.0))).map_or("", |(_, word)| word)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn differences_in_words() {
        let wanted = Lab::from_polar(50.0, 40.0, 60.0);
        for (l, chroma, hue, words) in [
            (50.0, 40.0, 60.0, ""),
            (40.0, 40.0, 60.0, "darker"),
            (50.0, 60.0, 60.0, "more vivid"),
            (50.0, 40.0, 75.0, "yellower"),
            (50.0, 40.0, 40.0, "redder"),
            (60.0, 25.0, 40.0, "lighter, duller and redder"),
            (60.0, 0.0, 0.0, "lighter and duller"),
        ] {
            assert_eq!(how_it_differs(Lab::from_polar(l, chroma, hue), wanted), words);
        }
        let blue = Lab::from_polar(40.0, 40.0, 255.0);
        assert_eq!(how_it_differs(Lab::from_polar(40.0, 40.0, 230.0), blue), "greener");
        assert_eq!(how_it_differs(Lab::from_polar(40.0, 40.0, 280.0), blue), "redder");
    }
}
