//! Which question comes next: the order of a vet's label, and what each answer leads to.
//!
//! Promises: the same answers always lead to the same next question; what does not apply is not
//! asked. It holds no words; those are in `question`.

use crate::cli::ask::answers::Answers;
use crate::notation::{Notation, Written};
use crate::quantity::{Amount, Strength};

/// One question. Where there can be several of a kind, they are numbered from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Key {
    /// For whom.
    Animals,
    /// The medicine's name.
    Medicine,
    /// Its name once more, where the book knows one much like it.
    MedicineAgain,
    /// What it comes as.
    Form,
    /// The strength on its label.
    Strength,
    /// How far a tablet may be cut.
    Tablets,
    /// How long after the part before it this part of the course begins.
    Gap(u8),
    /// In which form the dose is written.
    DoseForm(u8),
    /// The dose.
    Dose(u8),
    /// How it goes in.
    Route,
    /// Where and how, in words, or which of a pair.
    RouteWords,
    /// One injection site.
    Site(u8),
    /// How doses follow each other.
    Rhythm(u8),
    /// From one dose to the next, or to the second of two.
    Interval(u8),
    /// Times by the clock.
    Times(u8),
    /// Days of the week.
    Weekdays(u8),
    /// The hour on those days.
    Hour(u8),
    /// Days counted from the first dose.
    Days(u8),
    /// What ends it.
    End(u8),
    /// How many doses or days.
    Count(u8),
    /// When the vet looks again.
    Review(u8),
    /// Whether another part follows.
    Later(u8),
    /// What the vet wants after a late dose.
    AfterLate,
    /// What to do about a missed dose.
    IfMissed,
    /// What to do about a dose brought up.
    IfBroughtUp,
    /// One sign at which to stop and call.
    Sign(u8),
    /// One more thing the vet wrote.
    Note(u8),
    /// How long a weight holds good.
    WeighEvery,
    /// The label's own volume.
    LabelVolume,
    /// The weight that volume is for.
    LabelWeight,
    /// The vet's name.
    Vet,
    /// The practice.
    Practice,
    /// The number to call.
    Phone,
    /// The number at night.
    OutOfHours,
    /// The day it was written.
    Written,
    /// The last day on which it is valid.
    ValidUntil,
    /// What it is called by.
    Reference,
    /// Whether the vet wrote something rarer as well.
    More(u8),
    /// The answer to that; the number tells apart animals, names and follow-ups.
    Rare(Rare, u8),
    /// The weight in the book once more, where it disagrees with the prescription's.
    WeightAgain(u8),
    /// When the first dose is due.
    Start,
}

/// What a vet may have written and most do not.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Rare {
    /// The most one dose may come to.
    MaxDose,
    /// The most one site may take.
    MaxPerSite,
    /// Which way the mark is rounded.
    Round,
    /// How far the mark may be from the dose.
    Tolerance,
    /// How far from its time a dose may be given.
    Window,
    /// Whether a dose that is not given is added at the end.
    Count,
    /// Which weight the dose goes by.
    WeightBasis,
    /// That weight.
    FixedWeight,
    /// Whether to weigh before each dose.
    Weigh,
    /// The weight the vet wrote for an animal.
    Weighed,
    /// Another name of the medicine.
    SameAs,
    /// Of two ingredients, the one that is counted.
    Ingredient,
    /// The most of a day.
    MaxPerDay,
    /// Time between this and anything else in the same place.
    Apart,
    /// A step of the recipe.
    Recipe,
    /// From start to stop.
    Lasts,
    /// A powder in its vial: what it holds.
    VialHolds,
    /// How much is added.
    VialAdd,
    /// What is added.
    VialWith,
    /// A dilution: the strength it is made from.
    MadeFrom,
    /// How much of it.
    MadeTake,
    /// How much is added.
    MadeAdd,
    /// What is added.
    MadeWith,
    /// What is to happen beside the doses.
    FollowUp,
    /// From when it is counted.
    FollowUpFrom,
    /// When.
    FollowUpWhen,
}

/// The rarer things, by the word that stands for each among the answers.
pub(super) const RARER: [(&str, Rare); 18] = [
    ("max_dose", Rare::MaxDose),
    ("max_per_day", Rare::MaxPerDay),
    ("max_per_site", Rare::MaxPerSite),
    ("round", Rare::Round),
    ("tolerance", Rare::Tolerance),
    ("window", Rare::Window),
    ("count", Rare::Count),
    ("weight_basis", Rare::WeightBasis),
    ("weigh", Rare::Weigh),
    ("weighed", Rare::Weighed),
    ("same_as", Rare::SameAs),
    ("ingredient", Rare::Ingredient),
    ("made_up", Rare::MadeFrom),
    ("vial", Rare::VialHolds),
    ("apart", Rare::Apart),
    ("recipe", Rare::Recipe),
    ("lasts", Rare::Lasts),
    ("follow_ups", Rare::FollowUp),
];

/// The most items of a list that is asked for one by one.
const MOST: u8 = 20;
/// The most parts of a course.
const MOST_PARTS: u8 = 6;

/// What the book adds to the questions.
#[derive(Clone, Debug, Default)]
pub(super) struct FromTheBook {
    /// A medicine that it knows by a name much like this one's.
    pub name_alike: Option<String>,
    /// The animals, by their place on the prescription, of which its weight and the
    /// prescription's disagree.
    pub weights_apart: Vec<u8>,
}

/// Every question up to the first that is still open, and that one; after the last, all of them.
pub(super) fn plan(answers: &Answers, book: &FromTheBook) -> Vec<Key> {
    let mut plan = Plan {
        answers,
        keys: Vec::new(),
    };
    plan.label(book);
    plan.course();
    plan.advice();
    plan.vet();
    plan.rarer();
    for animal in &book.weights_apart {
        plan.add(Key::WeightAgain(*animal));
    }
    plan.add(Key::Start);
    plan.keys
}

/// How many parts the course has so far.
pub(super) fn parts(answers: &Answers) -> u8 {
    let later = |part: &u8| answers.get(Key::Later(*part)) == Some("yes");
    u8::try_from((0..MOST_PARTS - 1).take_while(later).count()).unwrap_or(0) + 1
}

/// Whether the dose, or the label, speaks of tablets.
pub(super) fn in_tablets(answers: &Answers) -> bool {
    let strength = answers
        .get(Key::Strength)
        .and_then(|text| Strength::read(text).ok());
    matches!(
        strength.map(|s| s.value()),
        Some(Strength::MassPerTablet(_))
    ) || (0..parts(answers)).any(|part| {
        let dose = answers.get(Key::Dose(part));
        let amount: Option<Written<Amount>> = dose.and_then(|text| Amount::read(text).ok());
        answers.get(Key::DoseForm(part)) == Some("Fixed")
            && matches!(amount.map(|a| a.value()), Some(Amount::Tablets(_)))
    })
}

struct Plan<'a> {
    answers: &'a Answers,
    keys: Vec<Key>,
}

impl Plan<'_> {
    fn add(&mut self, key: Key) {
        self.keys.push(key);
    }

    fn said(&self, key: Key) -> &str {
        self.answers.get(key).unwrap_or_default()
    }

    /// A list asked for one by one, until an answer is empty.
    fn list(&mut self, key: impl Fn(u8) -> Key) {
        for at in 0..MOST {
            self.add(key(at));
            if self.said(key(at)).is_empty() {
                return;
            }
        }
    }

    fn label(&mut self, book: &FromTheBook) {
        self.add(Key::Animals);
        self.add(Key::Medicine);
        if book.name_alike.is_some() {
            self.add(Key::MedicineAgain);
        }
        self.add(Key::Form);
        self.add(Key::Strength);
    }

    fn course(&mut self) {
        let parts = parts(self.answers);
        for part in 0..parts {
            if part > 0 {
                self.add(Key::Gap(part));
            }
            self.add(Key::DoseForm(part));
            self.add(Key::Dose(part));
            if part == 0 {
                self.route();
            }
            self.rhythm(part);
            let open_end = self.said(Key::End(part)) == "UntilStopped";
            if part + 1 < MOST_PARTS && !open_end {
                self.add(Key::Later(part));
            }
        }
        if in_tablets(self.answers) {
            self.add(Key::Tablets);
        }
    }

    fn route(&mut self) {
        self.add(Key::Route);
        let route = self.said(Key::Route).to_owned();
        if !matches!(route.as_str(), "" | "ByMouth") {
            self.add(Key::RouteWords);
        }
        if route == "Injection" {
            self.list(Key::Site);
        }
    }

    fn rhythm(&mut self, part: u8) {
        self.add(Key::Rhythm(part));
        match self.said(Key::Rhythm(part)) {
            "Every" => {
                self.add(Key::Interval(part));
                self.end(part);
            }
            "AtTimes" => {
                self.add(Key::Times(part));
                self.end(part);
            }
            "Weekly" => {
                self.add(Key::Weekdays(part));
                self.add(Key::Hour(part));
                self.end(part);
            }
            "OnDays" => self.add(Key::Days(part)),
            "OnceThenAgain" => self.add(Key::Interval(part)),
            _ => {}
        }
    }

    fn end(&mut self, part: u8) {
        self.add(Key::End(part));
        match self.said(Key::End(part)) {
            "doses" | "days" => self.add(Key::Count(part)),
            "UntilStopped" => self.add(Key::Review(part)),
            _ => {}
        }
    }

    fn advice(&mut self) {
        self.add(Key::AfterLate);
        self.add(Key::IfMissed);
        if matches!(self.said(Key::Route), "ByMouth" | "Other") {
            self.add(Key::IfBroughtUp);
        }
        self.list(Key::Sign);
        self.list(Key::Note);
        let measured = self.said(Key::DoseForm(0)) != "Application";
        if measured {
            self.add(Key::WeighEvery);
        }
        if measured && !in_tablets(self.answers) && !self.is_paste() {
            self.add(Key::LabelVolume);
            if !self.said(Key::LabelVolume).is_empty() {
                self.add(Key::LabelWeight);
            }
        }
    }

    fn is_paste(&self) -> bool {
        let strength = Strength::read(self.said(Key::Strength)).map(|strength| strength.value());
        let amount = Amount::read(self.said(Key::Dose(0))).map(|amount| amount.value());
        matches!(strength, Ok(Strength::MassPerProduct(_)))
            || matches!(amount, Ok(Amount::Product(_)))
    }

    fn vet(&mut self) {
        for key in [
            Key::Vet,
            Key::Practice,
            Key::Phone,
            Key::OutOfHours,
            Key::Written,
            Key::ValidUntil,
            Key::Reference,
        ] {
            self.add(key);
        }
    }

    fn rarer(&mut self) {
        for at in 0..MOST {
            self.add(Key::More(at));
            let word = self.said(Key::More(at)).to_owned();
            let Some((_, rare)) = RARER.iter().find(|(known, _)| *known == word) else {
                return;
            };
            self.rare(*rare, at);
        }
    }

    fn rare(&mut self, rare: Rare, at: u8) {
        match rare {
            Rare::WeightBasis => {
                self.add(Key::Rare(rare, 0));
                if self.said(Key::Rare(rare, 0)) == "Fixed" {
                    self.add(Key::Rare(Rare::FixedWeight, 0));
                }
            }
            Rare::Weighed => {
                for animal in 0..self.answers.animals().len() {
                    let animal = u8::try_from(animal).unwrap_or(u8::MAX);
                    self.add(Key::Rare(rare, animal));
                }
            }
            Rare::MadeFrom => {
                for rare in [
                    Rare::MadeFrom,
                    Rare::MadeTake,
                    Rare::MadeAdd,
                    Rare::MadeWith,
                ] {
                    self.add(Key::Rare(rare, 0));
                }
            }
            Rare::VialHolds => {
                for rare in [Rare::VialHolds, Rare::VialAdd, Rare::VialWith] {
                    self.add(Key::Rare(rare, 0));
                }
            }
            Rare::Recipe => self.list(|at| Key::Rare(Rare::Recipe, at)),
            Rare::FollowUp => {
                for rare in [Rare::FollowUp, Rare::FollowUpFrom, Rare::FollowUpWhen] {
                    self.add(Key::Rare(rare, at));
                }
            }
            Rare::SameAs => self.list(|at| Key::Rare(Rare::SameAs, at)),
            // It has no figure: to choose it is to answer it.
            Rare::Weigh | Rare::Count => {}
            other => self.add(Key::Rare(other, 0)),
        }
    }
}
