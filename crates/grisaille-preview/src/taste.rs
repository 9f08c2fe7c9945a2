//! How the painter likes the window: kept between sessions, apart from any scheme.

use crate::bench::Bench;
use std::path::Path;

/// Light or dark.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Room {
    /// As the system says.
    #[default]
    System,
    /// Dark panels.
    Dark,
    /// Light panels.
    Light,
}

/// Tastes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Taste {
    /// Light or dark.
    pub room: Room,
    /// Size of everything, 1 to 3.
    pub scale: f32,
    /// Nothing glides: views change at once.
    pub calm: bool,
    /// The first hints have been seen.
    pub hinted: bool,
}

impl Default for Taste {
    fn default() -> Self {
        Self { room: Room::System, scale: 1.0, calm: false, hinted: false }
    }
}

impl Taste {
    /// From the text of its file: a word and its value on each line; what is
    /// not understood is left at its default.
    #[must_use]
    pub fn of_text(text: &str) -> Self {
        let mut taste = Self::default();
        for (key, value) in text.lines().filter_map(|l| l.split_once(' ')) {
            match (key, value) {
                ("room", "dark") => taste.room = Room::Dark,
                ("room", "light") => taste.room = Room::Light,
                ("scale", value) => {
                    if let Ok(scale) = value.parse::<f32>()
                        && scale.is_finite()
                    {
                        taste.scale = scale.clamp(1.0, 3.0);
                    }
                }
                ("calm", value) => taste.calm = value == "yes",
                ("hinted", value) => taste.hinted = value == "yes",
                _ => {}
            }
        }
        taste
    }

    /// The text of its file.
    #[must_use]
    pub fn to_text(&self) -> String {
        let room = match self.room {
            Room::System => "system",
            Room::Dark => "dark",
            Room::Light => "light",
        };
        let word = |yes: bool| if yes { "yes" } else { "no" };
        format!("room {room}\nscale {}\ncalm {}\nhinted {}\n", self.scale, word(self.calm), word(self.hinted))
    }

    /// Reads the tastes of a folder.
    #[must_use]
    pub fn read(folder: &Path) -> Self {
        std::fs::read_to_string(folder.join("taste")).map(|t| Self::of_text(&t)).unwrap_or_default()
    }

    /// Writes the tastes into a folder; if that fails, the next session asks anew.
    pub fn write(&self, folder: &Path, bench: &dyn Bench) {
        let _ = bench.write(&folder.join("taste"), self.to_text().as_bytes(), &[]);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tastes_are_kept_and_nonsense_is_not() {
        for room in [Room::System, Room::Dark, Room::Light] {
            let taste = Taste { room, scale: 2.5, calm: true, hinted: true };
            assert_eq!(Taste::of_text(&taste.to_text()), taste);
        }
        assert_eq!(Taste::of_text("scale NaN\nroom blue\n\n?"), Taste::default());
        assert_eq!(Taste::of_text("scale 900").scale, 3.0);
    }
}
