//! Changing one setting at a time, by the name a person types.
//!
//! Promises: a value out of its bounds is not accepted, with the bounds in the sentence; a limit
//! that a person sets is theirs from then on, and `program` gives it back. The bounds are the
//! program's own choice (no source): they keep an alarm from being switched off by a large number.
//! Whether the animals of an order of work are in the book is judged where the book is known.

use crate::caution::Whose;
use crate::notation::fold::is_unseen;
use crate::notation::fold::{nearest, same};
use crate::notation::{Notation, NotationError, Written};
use crate::quantity::{BodyWeight, Exact};
use crate::schedule::Zone;
use crate::settings::{LOSS, LOSS_SINCE_START, ROUNDING_CAUTION, ROUNDING_MOST, WEIGHT_AGE};
use crate::settings::{Limit, PaperSize, Settings};

/// One setting.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Setting {
    /// The zone the animals live in.
    Zone,
    /// The paper.
    Paper,
    /// The smallest step of the scale.
    Scale,
    /// The age of a weight.
    WeightAge,
    /// From how far off a mark is pointed out.
    RoundingCaution,
    /// From how far off there is no mark.
    RoundingMost,
    /// Loss of weight against the high of 28 days.
    Loss,
    /// Loss of weight against the start of the course.
    LossSinceStart,
    /// The keeper's order of work.
    Order,
}

/// Why a setting was not changed.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SettingError {
    /// No setting of that name.
    #[error("there is no setting named '{typed}'{}", offer(.nearest))]
    Unknown {
        /// What was typed, without what cannot be seen.
        typed: String,
        /// The nearest name.
        nearest: Option<&'static str>,
    },
    /// Not a zone.
    #[error("'{0}' is not a time zone: write one like Europe/Warsaw or America/New_York")]
    Zone(String),
    /// Not a paper.
    #[error("'{0}' is not a paper this prints on: write a4 or letter")]
    Paper(String),
    /// Not a weight.
    #[error(transparent)]
    Scale(#[from] NotationError),
    /// A scale that shows no step a dose could be worked from.
    #[error("a scale is set between 0.001 g and 100 g: read its smallest step off the scale")]
    ScaleBounds,
    /// Not a whole number with its unit.
    #[error(
        "'{typed}' is not a number of {unit}: write a whole number, as in \"{example} {unit}\""
    )]
    Figure {
        /// What was typed.
        typed: String,
        /// Days, or percent.
        unit: &'static str,
        /// One that is accepted: the program's own.
        example: u32,
    },
    /// Outside the bounds.
    #[error("{name} is set between {least} and {most} {unit}: {value} is outside")]
    Bounds {
        /// The setting.
        name: &'static str,
        /// The least.
        least: u32,
        /// The most.
        most: u32,
        /// Days, or percent.
        unit: &'static str,
        /// What was typed.
        value: u32,
    },
    /// The two rounding limits would cross.
    #[error(
        "rounding-caution would be {caution} percent and rounding-most {most} percent, and the first cannot be the larger: change the other one first"
    )]
    Crossed {
        /// From where it would be pointed out.
        caution: u32,
        /// From where there would be no mark.
        most: u32,
    },
    /// A name twice in the order of work.
    #[error("{0} is named twice in the order of work: name each animal once")]
    Twice(String),
}

fn offer(nearest: &Option<&'static str>) -> String {
    match nearest {
        Some(name) => format!(": did you mean {name}?"),
        None => format!(
            ": it is one of {}",
            Setting::ALL.map(Setting::name).join(", ")
        ),
    }
}

impl Setting {
    /// All of them, in the order they are shown.
    pub const ALL: [Setting; 9] = [
        Setting::Zone,
        Setting::Paper,
        Setting::Scale,
        Setting::WeightAge,
        Setting::RoundingCaution,
        Setting::RoundingMost,
        Setting::Loss,
        Setting::LossSinceStart,
        Setting::Order,
    ];

    /// Its name, as it is typed.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Setting::Zone => "zone",
            Setting::Paper => "paper",
            Setting::Scale => "scale",
            Setting::WeightAge => "weight-age",
            Setting::RoundingCaution => "rounding-caution",
            Setting::RoundingMost => "rounding-most",
            Setting::Loss => "loss",
            Setting::LossSinceStart => "loss-since-start",
            Setting::Order => "order",
        }
    }

    /// What it does, in a few words.
    #[must_use]
    pub const fn about(self) -> &'static str {
        match self {
            Setting::Zone => "the time zone the animals live in",
            Setting::Paper => "the paper that sheets are printed on",
            Setting::Scale => "the smallest step your scale shows",
            Setting::WeightAge => {
                "an older weight has a caution; one more than four times as old, no mark"
            }
            Setting::RoundingCaution => {
                "further than this from the calculated dose, a mark has a caution"
            }
            Setting::RoundingMost => "further than this from the calculated dose, there is no mark",
            Setting::Loss => "this far below the highest weight of 28 days: call",
            Setting::LossSinceStart => "this far below the weight at the start of the course: call",
            Setting::Order => "whom to work with first; the others after, quarantine last",
        }
    }

    /// The setting of that name; spaces stand for hyphens.
    ///
    /// # Errors
    /// [`SettingError::Unknown`] with the nearest name.
    pub fn find(typed: &str) -> Result<Setting, SettingError> {
        let wanted = typed.replace(['-', '_'], " ");
        let named = |setting: &&Setting| same(&setting.name().replace('-', " "), &wanted);
        Setting::ALL.iter().find(named).copied().ok_or_else(|| {
            let names = Setting::ALL.map(Setting::name);
            SettingError::Unknown {
                typed: shown(typed),
                nearest: nearest(&typed.replace(' ', "-"), names)
                    .and_then(|near| names.into_iter().find(|name| *name == near)),
            }
        })
    }

    /// Its limit in these settings, where it is one.
    #[must_use]
    pub const fn limit(self, settings: &Settings) -> Option<Limit> {
        match self {
            Setting::WeightAge => Some(settings.weight_age_days),
            Setting::RoundingCaution => Some(settings.rounding_caution_percent),
            Setting::RoundingMost => Some(settings.rounding_most_percent),
            Setting::Loss => Some(settings.loss_percent),
            Setting::LossSinceStart => Some(settings.loss_since_start_percent),
            Setting::Zone | Setting::Paper | Setting::Scale | Setting::Order => None,
        }
    }

    /// Whose it is, where it is a limit.
    #[must_use]
    pub fn whose(self, settings: &Settings) -> Option<Whose> {
        self.limit(settings).map(Limit::whose)
    }

    /// The unit and the bounds of a limit.
    #[must_use]
    pub const fn bounds(self) -> Option<(&'static str, u32, u32)> {
        match self {
            Setting::WeightAge => Some(("days", 1, 30)),
            Setting::RoundingCaution => Some(("percent", 1, 20)),
            Setting::RoundingMost => Some(("percent", 1, 20)),
            Setting::Loss => Some(("percent", 1, 20)),
            Setting::LossSinceStart => Some(("percent", 1, 40)),
            Setting::Zone | Setting::Paper | Setting::Scale | Setting::Order => None,
        }
    }

    /// What differs between two states of the settings: which, from what, to what. A limit that
    /// changed hands without changing its value says so.
    #[must_use]
    pub fn changes(before: &Settings, after: &Settings) -> Vec<(Setting, String, String)> {
        let said = |setting: Setting, settings: &Settings, other: &Settings| {
            let shown = setting.shown(settings);
            match setting.whose(settings) {
                Some(whose) if shown == setting.shown(other) => {
                    format!("{shown} ({})", whose.words())
                }
                _ => shown,
            }
        };
        let differs = |setting: &Setting| {
            setting.shown(before) != setting.shown(after)
                || setting.whose(before) != setting.whose(after)
        };
        let changed = Setting::ALL.into_iter().filter(differs);
        changed
            .map(|setting| {
                let (from, to) = (said(setting, before, after), said(setting, after, before));
                (setting, from, to)
            })
            .collect()
    }

    /// Its value in these settings, in words.
    #[must_use]
    pub fn shown(self, settings: &Settings) -> String {
        if let (Some(limit), Some((unit, ..))) = (self.limit(settings), self.bounds()) {
            let unit = if unit == "days" && limit.value == 1 {
                "day"
            } else {
                unit
            };
            return format!("{} {unit}", limit.value);
        }
        match self {
            Setting::Zone => settings.zone.clone(),
            Setting::Paper => match settings.paper {
                PaperSize::A4 => "A4".to_owned(),
                PaperSize::Letter => "US Letter".to_owned(),
            },
            Setting::Scale => settings.readability.to_string(),
            _ if settings.order.is_empty() => "as they came in".to_owned(),
            _ => settings.order.join(", "),
        }
    }
}

impl Settings {
    /// The same settings with one of them changed to what a person typed. `program` gives a limit
    /// back to the program, `none` clears the order of work, whose names stand between commas.
    ///
    /// # Errors
    /// [`SettingError`]
    pub fn with(&self, setting: Setting, typed: &str) -> Result<Settings, SettingError> {
        let mut new = self.clone();
        let typed = typed.trim();
        match setting {
            Setting::Zone => {
                let zone: Zone = (typed.parse()).map_err(|_| SettingError::Zone(shown(typed)))?;
                new.zone = zone.name().to_owned();
            }
            Setting::Paper => {
                new.paper = match typed.to_lowercase().as_str() {
                    "a4" => PaperSize::A4,
                    "letter" | "us letter" => PaperSize::Letter,
                    _ => return Err(SettingError::Paper(shown(typed))),
                };
            }
            Setting::Scale => {
                new.readability = read_scale(typed)?;
            }
            Setting::WeightAge => new.weight_age_days = read_limit(setting, typed, WEIGHT_AGE)?,
            Setting::RoundingCaution => {
                new.rounding_caution_percent = read_limit(setting, typed, ROUNDING_CAUTION)?;
            }
            Setting::RoundingMost => {
                new.rounding_most_percent = read_limit(setting, typed, ROUNDING_MOST)?;
            }
            Setting::Loss => new.loss_percent = read_limit(setting, typed, LOSS)?,
            Setting::LossSinceStart => {
                new.loss_since_start_percent = read_limit(setting, typed, LOSS_SINCE_START)?;
            }
            Setting::Order => new.order = read_order(typed)?,
        }
        let (caution, most) = (new.rounding_caution_percent, new.rounding_most_percent);
        if caution.value > most.value {
            return Err(SettingError::Crossed {
                caution: caution.value,
                most: most.value,
            });
        }
        Ok(new)
    }
}

/// The smallest step of a scale, as read off it: from 0.001 g to 100 g.
///
/// # Errors
/// What is not a weight, and what no scale shows that a dose could be worked from.
pub fn read_scale(typed: &str) -> Result<Written<BodyWeight>, SettingError> {
    let step = BodyWeight::read(typed)?;
    let grams = step.value().grams();
    let least = Exact::ratio(1, 1_000).unwrap_or(Exact::ONE);
    if grams < least || grams > Exact::whole(100) {
        return Err(SettingError::ScaleBounds);
    }
    Ok(step)
}

fn read_limit(setting: Setting, typed: &str, programs: Limit) -> Result<Limit, SettingError> {
    if typed == "program" {
        return Ok(programs);
    }
    let Some((unit, least, most)) = setting.bounds() else {
        return Ok(programs);
    };
    let bare = match (typed.strip_suffix(unit), unit) {
        (Some(bare), _) => bare,
        (None, "days") => typed.strip_suffix("day").unwrap_or(typed),
        (None, _) => typed,
    };
    let digits = bare.trim_end();
    let plain = !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit());
    let value = digits.parse::<u32>().ok().filter(|_| plain);
    let value = value.ok_or_else(|| SettingError::Figure {
        typed: shown(typed),
        unit,
        example: programs.value,
    })?;
    if !(least..=most).contains(&value) {
        return Err(SettingError::Bounds {
            name: setting.name(),
            least,
            most,
            unit,
            value,
        });
    }
    Ok(Limit::keeper(value))
}

fn read_order(typed: &str) -> Result<Vec<String>, SettingError> {
    if typed == "none" {
        return Ok(Vec::new());
    }
    let mut order: Vec<String> = Vec::new();
    for name in typed
        .split(',')
        .map(str::trim)
        .filter(|name| !name.is_empty())
    {
        if order.iter().any(|known| same(known, name)) {
            return Err(SettingError::Twice(shown(name)));
        }
        order.push(name.to_owned());
    }
    Ok(order)
}

/// What was typed, without anything that could steer a terminal.
fn shown(typed: &str) -> String {
    typed.chars().filter(|c| !is_unseen(*c)).take(60).collect()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn settings() -> Settings {
        Settings::new("UTC".to_owned(), PaperSize::A4, "0.1 g", false).unwrap()
    }

    fn refused(setting: Setting, typed: &str) -> String {
        settings().with(setting, typed).unwrap_err().to_string()
    }

    #[test]
    fn a_limit_that_is_set_is_the_keepers_until_it_is_given_back() {
        let set = settings().with(Setting::WeightAge, "10 days").unwrap();
        assert_eq!(set.weight_age_days, Limit::keeper(10));
        assert_eq!(Setting::WeightAge.whose(&set), Some(Whose::Keeper));
        assert_eq!(Setting::WeightAge.shown(&set), "10 days");
        let back = set.with(Setting::WeightAge, "program").unwrap();
        assert_eq!(back, settings());
        for typed in ["1", "1 day", "1 days", "1days"] {
            let set = settings().with(Setting::WeightAge, typed).unwrap();
            assert_eq!(Setting::WeightAge.shown(&set), "1 day");
        }
    }

    #[test]
    fn values_out_of_bounds_are_not_accepted() {
        for (setting, typed, phrase) in [
            (Setting::WeightAge, "0", "between 1 and 30 days: 0"),
            (Setting::WeightAge, "31 days", "between 1 and 30 days: 31"),
            (Setting::WeightAge, "10 hours", "not a number of days"),
            (Setting::WeightAge, "-3", "not a number of days"),
            (Setting::WeightAge, "99999999999", "not a number of days"),
            (Setting::Loss, "21", "between 1 and 20 percent"),
            (Setting::LossSinceStart, "41", "between 1 and 40 percent"),
            (Setting::RoundingMost, "25 percent", "between 1 and 20"),
            (Setting::RoundingMost, "4", "cannot be the larger"),
            (Setting::RoundingCaution, "11", "cannot be the larger"),
            (Setting::Zone, "Narnia", "is not a time zone"),
            (Setting::Paper, "a5", "write a4 or letter"),
            (Setting::Scale, "0.1", "has no unit"),
            (Setting::Scale, "1 kg", "between 0.001 g and 100 g"),
            (Setting::Order, "Thimblo, thimblo", "named twice"),
        ] {
            let message = refused(setting, typed);
            assert!(message.contains(phrase), "{typed}: {message}");
        }
    }

    #[test]
    fn a_name_is_found_or_the_nearest_offered() {
        assert_eq!(Setting::find("Weight age"), Ok(Setting::WeightAge));
        assert_eq!(
            Setting::find("loss_since_start"),
            Ok(Setting::LossSinceStart)
        );
        let unknown = Setting::find("weigth-age").unwrap_err().to_string();
        assert!(unknown.ends_with("did you mean weight-age?"), "{unknown}");
        let unknown = Setting::find("colour").unwrap_err().to_string();
        assert!(unknown.contains("zone, paper, scale"), "{unknown}");
    }
}
