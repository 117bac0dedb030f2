//! The forms a dose can be written in, and how it goes in.
//!
//! Promises: a day's total and a single dose are different forms; an application is the vet's
//! words and is never converted. The calculated dose is worked out here and nowhere else, exactly
//! and before any rounding; the mark is found in `dose`.

use crate::notation::{DailyRate, Written};
use crate::prescription::fault::Found;
use crate::prescription::fields::{Variant, variant};
use crate::prescription::typed::Node;
use crate::prescription::values;
use crate::quantity::{Amount, BodyWeight, DoseRate, Measure, OutOfRange, Strength};
use crate::rack::Use;

/// What is given each time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Dose {
    /// So much for each kilogram of the animal, each time.
    PerBodyWeight(Written<DoseRate>),
    /// A day's total by body weight, divided into doses.
    PerDay(Written<DailyRate>),
    /// The same for every weight.
    Fixed(Written<Amount>),
    /// In the vet's words: drops, a thin film, a bath. Never converted.
    Application(String),
}

/// How it goes in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Route {
    /// Through a needle; where, in the vet's words.
    Injection(String),
    /// By mouth.
    ByMouth,
    /// On the skin; where, in the vet's words.
    OnSkin(String),
    /// In the eye.
    InEye(Which),
    /// In the ear.
    InEar(Which),
    /// In the nostril.
    InNose(Which),
    /// In a bath, in the vet's words.
    Bath(String),
    /// Breathed in, in the vet's words.
    Inhaled(String),
    /// Anything else, in the vet's words.
    Other(String),
}

/// Which of a pair.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which {
    /// The left one.
    Left,
    /// The right one.
    Right,
    /// Each of the two.
    Each,
}

/// Where an injection may go, in the vet's words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Site {
    /// The place.
    pub place: String,
    /// Its side, where it has one.
    pub side: Option<Side>,
}

/// The side of a site.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// Left.
    Left,
    /// Right.
    Right,
}

impl Dose {
    /// The rate of one dose, where it goes by body weight.
    #[must_use]
    pub fn rate(&self) -> Option<DoseRate> {
        match self {
            Dose::PerBodyWeight(rate) => Some(rate.value()),
            Dose::PerDay(daily) => Some(daily.value().each),
            Dose::Fixed(_) | Dose::Application(_) => None,
        }
    }

    /// Whether it is measured out at all; an application is not.
    #[must_use]
    pub fn is_measured(&self) -> bool {
        !matches!(self, Dose::Application(_))
    }

    /// The calculated dose for one animal of this weight, exact; nothing for an application, nor
    /// for a dose by body weight when no weight is known. The vet's greatest dose is not applied.
    ///
    /// # Errors
    /// [`OutOfRange`]
    #[inline(always)]
    pub fn calculated(&self, weight: Option<BodyWeight>) -> Result<Option<Amount>, OutOfRange> {
        match (self, self.rate(), weight) {
            (Dose::Fixed(amount), _, _) => Ok(Some(amount.value())),
            (_, Some(rate), Some(weight)) => rate.for_weight(weight).map(Some),
            _ => Ok(None),
        }
    }

    /// The dose as it was written, in safe notation; an application in the vet's own words,
    /// without quotation marks.
    #[must_use]
    pub fn text(&self) -> &str {
        match self {
            Dose::PerBodyWeight(rate) => rate.text(),
            Dose::PerDay(daily) => daily.text(),
            Dose::Fixed(amount) => amount.text(),
            Dose::Application(words) => words,
        }
    }

    /// Whether a product of this strength can carry it.
    #[must_use]
    pub fn goes_with(&self, strength: Strength) -> bool {
        match self {
            Dose::Fixed(amount) => amount.value().goes_with(strength),
            other => other.rate().is_none_or(|rate| rate.goes_with(strength)),
        }
    }

    /// Whether it is counted in medicine, so that a strength is needed to measure it out.
    #[must_use]
    pub fn needs_strength(&self) -> bool {
        match self {
            Dose::Fixed(amount) => {
                matches!(amount.value(), Amount::Mass(_) | Amount::Activity(_))
            }
            other => matches!(
                other.rate(),
                Some(DoseRate::Mass(_) | DoseRate::Activity(_))
            ),
        }
    }

    /// A dose of this kind for some weight: only its kind means anything.
    pub(super) fn sample(&self) -> Option<Amount> {
        let some_weight = BodyWeight::from_grams(crate::quantity::Exact::ONE);
        self.calculated(Some(some_weight)).ok().flatten()
    }

    /// What it is measured out as: only the kind means anything.
    pub(super) fn sample_measure(&self, strength: Option<Strength>) -> Option<Measure> {
        self.sample()?.measure(strength).ok()
    }

    pub(super) fn read(node: &Node, found: &mut Found) -> Option<Dose> {
        const FORMS: [&str; 4] = ["PerBodyWeight", "PerDay", "Fixed", "Application"];
        let form = variant(node, &FORMS, found)?;
        match form.name {
            "PerBodyWeight" => {
                const RATE: &str =
                    "a dose for each body weight in mg/kg, mcg/kg, units/kg or mL/kg";
                let item = form.item(RATE, found)?;
                values::quantity(item, RATE, found).map(Dose::PerBodyWeight)
            }
            "PerDay" => {
                const DAILY: &str =
                    "a day's total such as mg/kg, then 'per day in' so many 'doses'";
                let item = form.item(DAILY, found)?;
                values::quantity(item, DAILY, found).map(Dose::PerDay)
            }
            "Fixed" => {
                const AMOUNT: &str = "an amount in mg, mcg, units, mL, tablets or g of paste";
                let item = form.item(AMOUNT, found)?;
                values::quantity(item, AMOUNT, found).map(Dose::Fixed)
            }
            _ => {
                const WORDS: &str = "your vet's words for what is applied, with a count or a time";
                let item = form.item(WORDS, found)?;
                values::words(item, WORDS, found).map(Dose::Application)
            }
        }
    }
}

impl Route {
    /// The kind of barrel a measured dose is drawn up in: a needle for an injection, a tip
    /// without one for everything else.
    #[must_use]
    pub fn used_for(&self) -> Use {
        match self {
            Route::Injection(_) => Use::Injection,
            _ => Use::Mouth,
        }
    }

    /// "by injection, "under the skin"", with the vet's words in quotation marks.
    #[must_use]
    pub fn words(&self) -> String {
        match self {
            Route::Injection(place) => format!("by injection, \"{place}\""),
            Route::ByMouth => "by mouth".to_owned(),
            Route::OnSkin(place) => format!("on the skin, \"{place}\""),
            Route::InEye(which) => which.of("in", "eye"),
            Route::InEar(which) => which.of("in", "ear"),
            Route::InNose(which) => which.of("in", "nostril"),
            Route::Bath(words) => format!("as a bath, \"{words}\""),
            Route::Inhaled(words) => format!("breathed in, \"{words}\""),
            Route::Other(words) => format!("\"{words}\""),
        }
    }

    /// The vet's own words in it, if any.
    pub(super) fn own_words(&self) -> Option<&str> {
        match self {
            Route::Injection(words)
            | Route::OnSkin(words)
            | Route::Bath(words)
            | Route::Inhaled(words)
            | Route::Other(words) => Some(words),
            Route::ByMouth | Route::InEye(_) | Route::InEar(_) | Route::InNose(_) => None,
        }
    }

    pub(super) fn read(node: &Node, found: &mut Found) -> Option<Route> {
        const ROUTES: [&str; 9] = [
            "Injection",
            "ByMouth",
            "OnSkin",
            "InEye",
            "InEar",
            "InNose",
            "Bath",
            "Inhaled",
            "Other",
        ];
        let route = variant(node, &ROUTES, found)?;
        match route.name {
            "ByMouth" => route.alone(found).map(|()| Route::ByMouth),
            "InEye" => Which::read(&route, found).map(Route::InEye),
            "InEar" => Which::read(&route, found).map(Route::InEar),
            "InNose" => Which::read(&route, found).map(Route::InNose),
            in_words => {
                const WORDS: &str = "where and how, in your vet's words";
                let item = route.item(WORDS, found)?;
                let words = values::words(item, WORDS, found)?;
                Some(match in_words {
                    "Injection" => Route::Injection(words),
                    "OnSkin" => Route::OnSkin(words),
                    "Bath" => Route::Bath(words),
                    "Inhaled" => Route::Inhaled(words),
                    _ => Route::Other(words),
                })
            }
        }
    }
}

impl Which {
    fn of(self, before: &str, noun: &str) -> String {
        let which = match self {
            Which::Left => "the left",
            Which::Right => "the right",
            Which::Each => "each",
        };
        format!("{before} {which} {noun}")
    }

    fn read(route: &Variant, found: &mut Found) -> Option<Which> {
        const SIDES: &str = "\"left\", \"right\" or \"each\"";
        let item = route.item(SIDES, found)?;
        let word = values::words(item, SIDES, found)?;
        match word.as_str() {
            "left" => Some(Which::Left),
            "right" => Some(Which::Right),
            "each" => Some(Which::Each),
            _ => {
                found.add(&item.at, format!("'{word}' does not say which one"), SIDES);
                None
            }
        }
    }
}

impl Site {
    /// "A, left".
    #[must_use]
    pub fn words(&self) -> String {
        match self.side {
            Some(Side::Left) => format!("{}, left", self.place),
            Some(Side::Right) => format!("{}, right", self.place),
            None => self.place.clone(),
        }
    }

    pub(super) fn read(node: &Node, found: &mut Found) -> Option<Site> {
        const SITE: &str = "Site( \"the place\", \"left\" ) or \"right\", or the place alone";
        const PLACE: &str = "the place, in your vet's words";
        const SIDES: &str = "\"left\" or \"right\"";
        let site = variant(node, &["Site"], found)?;
        let items = site.named.map(|named| named.items.as_slice());
        let (place, side) = match items {
            Some([place]) => (place, None),
            Some([place, side]) => (place, Some(side)),
            _ => {
                found.add(&node.at, "a site is a place and its side", SITE);
                return None;
            }
        };
        let place = values::name(place, PLACE, found);
        let side = match side {
            None => None,
            Some(node) => match values::words(node, SIDES, found)?.as_str() {
                "left" => Some(Side::Left),
                "right" => Some(Side::Right),
                other => {
                    found.add(&node.at, format!("'{other}' is not a side"), SIDES);
                    return None;
                }
            },
        };
        Some(Site {
            place: place?,
            side,
        })
    }
}
