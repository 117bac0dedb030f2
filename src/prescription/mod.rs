//! What the vet wrote: the form of a prescription file, and its checked meaning.
//!
//! Promises: a prescription that exists has been read whole and agrees with itself: a vet, a date,
//! named animals, one medicine, a dose that its strength can carry, a route, a schedule with an
//! end. Every fault of a file is named at once, with line and column. The text is kept as typed.
//! There is no medicine in here, no default dose, interval or limit; whether it has expired is
//! judged where today is known. The form is written down in docs/prescription-form.md.

mod agree;
mod dose;
mod encoding;
mod fault;
mod fields;
mod label;
mod made_up;
mod meaning;
mod read_back;
mod recipe;
#[cfg(test)]
mod tests;
mod timing;
mod typed;
mod values;

pub use dose::{Dose, Route, Side, Site, Which};
pub use fault::{Fault, Faults};
pub use label::{Agreement, LabelCheck};
pub use made_up::MadeUp;
pub use meaning::FIELDS;
pub use recipe::{Minutes, Vial};

use crate::notation::prone::{Prone, error_prone};
use crate::notation::{Written, fold, print};
use crate::prescription::recipe::share_of_a_day;
use crate::quantity::{Amount, BodyWeight, Exact, Measure, QuantityError, Span, Strength, Volume};
use crate::rack::{Cut, Rounding};
use crate::schedule::{Schedule, Start};
use chrono::NaiveDate;

/// A prescription that has been read and checked; made by [`Prescription::read`] alone.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Prescription {
    source: String,
    /// The folded names of the medicine.
    known_as: Vec<String>,
    /// Invented, to show or try the program.
    pub demonstration: bool,
    /// What it is called by; one word.
    pub reference: String,
    /// The day it was written.
    pub written: NaiveDate,
    /// The last day on which it is valid, where the vet set one.
    pub valid_until: Option<NaiveDate>,
    /// Who wrote it.
    pub vet: Vet,
    /// For whom; at least one, no name twice.
    pub animals: Vec<String>,
    /// The weights the vet wrote down for some of the animals.
    pub weighed: Vec<Weighed>,
    /// What is given.
    pub medicine: Medicine,
    /// What is given each time: one dose, or one for each phase of the schedule, which names its
    /// dose by its place here. At least one.
    pub doses: Vec<Dose>,
    /// The most one dose may come to, over all its draws.
    pub max_dose: Option<Written<Amount>>,
    /// The most one day may come to; every day then has the same number of doses.
    pub max_per_day: Option<Written<Amount>>,
    /// The most one injection site may take.
    pub max_per_site: Option<Written<Volume>>,
    /// Which way to round; to the nearest unless the vet wrote otherwise.
    pub rounding: Rounding,
    /// How far the mark may be from the calculated dose, where the vet wrote it: a share.
    pub tolerance: Option<Written<Exact>>,
    /// Into what a tablet may be cut; not at all unless the vet wrote it.
    pub tablets: Cut,
    /// How it goes in.
    pub route: Route,
    /// Where injections go, in turn; may be empty.
    pub sites: Vec<Site>,
    /// In an eye, an ear or a nostril: the time between this and anything else there.
    pub apart: Option<Minutes>,
    /// Of an application: its steps in order, in the vet's words; may be empty.
    pub recipe: Vec<String>,
    /// Of an application: how long it lasts from start to stop.
    pub lasts: Option<Minutes>,
    /// When the doses are due, with the vet's window, count, and what happens after a late dose.
    pub schedule: Schedule,
    /// When the vet wants it to begin, if that is written.
    pub start: Option<Start>,
    /// After how many days a weight is too old, where the vet wrote it.
    pub weigh_every: Option<Written<Span>>,
    /// Which weight the dose goes by.
    pub weight_basis: WeightBasis,
    /// Whether the animal is weighed on the day of every dose.
    pub weigh_before_each_dose: bool,
    /// What to do about a dose that was not given, in the vet's words.
    pub if_missed: Option<String>,
    /// What to do about a dose that was spat out or brought up, in the vet's words.
    pub if_brought_up: Option<String>,
    /// The signs at which to stop and call, in the vet's words.
    pub stop_and_call_if: Vec<String>,
    /// The vet's notes.
    pub vet_notes: Vec<String>,
    /// The label's own volume at a weight.
    pub label_check: Option<LabelCheck>,
    /// What is to happen beside the doses.
    pub follow_ups: Vec<FollowUp>,
}

/// Who wrote a prescription and how to reach them.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Vet {
    /// The vet's name.
    pub name: String,
    /// The practice.
    pub practice: Option<String>,
    /// The number to call.
    pub phone: String,
    /// The number to call at night and on days off.
    pub out_of_hours: Option<String>,
}

/// The medicine as the label has it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Medicine {
    /// Its name.
    pub name: String,
    /// What it comes as, in words: solution for injection, paste, tablets.
    pub form: Option<String>,
    /// The strength on the label, or as made up; none where the dose is itself a volume, grams of
    /// product or tablets and the label states none.
    pub strength: Option<Written<Strength>>,
    /// Of a product with two ingredients, the one that strength and dose count.
    pub ingredient: Option<String>,
    /// How it is made up, where the strength is that of a dilution the vet wrote.
    pub made_up: Option<MadeUp>,
    /// How a powder is made up in its vial, where the strength is that of the vial made up.
    pub vial: Option<Vial>,
    /// Other names of the same medicine.
    pub same_as: Vec<String>,
}

/// A weight that the vet wrote down for one animal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Weighed {
    /// The animal, as named in the prescription.
    pub animal: String,
    /// Its weight.
    pub weight: Written<BodyWeight>,
}

/// Which weight a dose goes by.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum WeightBasis {
    /// The latest.
    #[default]
    Latest,
    /// The one behind the first dose given.
    Start,
    /// One that the vet wrote.
    Fixed(Written<BodyWeight>),
}

/// Something that the vet wants beside the doses: a visit, a test, a weighing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FollowUp {
    /// What, in the vet's words.
    pub what: String,
    /// When.
    pub when: FollowUpDate,
}

/// When a follow-up is due.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FollowUpDate {
    /// So long after the first dose given.
    AfterFirstDose(Span),
    /// So long after the last dose given.
    AfterLastDose(Span),
    /// On a date.
    On(NaiveDate),
}

/// A place in the vet's own words that can be misread.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProneWords {
    /// The field it stands in.
    pub field: &'static str,
    /// The vet's words, whole.
    pub words: String,
    /// What in them can be misread, and how to write it.
    pub prone: Prone,
}

impl Prescription {
    /// Reads a prescription file.
    ///
    /// # Errors
    /// [`Faults`]: everything that is wrong with it.
    pub fn read(source: &str, file_name: &str) -> Result<Prescription, Faults> {
        let prescription = Prescription::read_kept(source, file_name)?;
        // The library has the last word on what is RON; ours only names every fault at once.
        let plain = source.trim_start_matches('\u{feff}');
        ron::from_str::<serde::de::IgnoredAny>(plain).map_err(|error| {
            let mut found = fault::Found::default();
            let wrong = format!("this file is not RON ({error})");
            found.add(&(0..0), wrong, "Prescription( ... ) with its fields");
            found.in_file(source, file_name)
        })?;
        Ok(prescription)
    }

    /// Reads a prescription file that was read as one before it was kept: the library need not be
    /// asked again.
    ///
    /// # Errors
    /// [`Faults`]: everything that is wrong with it.
    pub fn read_kept(source: &str, file_name: &str) -> Result<Prescription, Faults> {
        let mut found = fault::Found::default();
        let prescription = typed::read(source, &mut found)
            .and_then(|node| meaning::prescription(&node, source, &mut found));
        match prescription {
            Some(prescription) if found.is_empty() => Ok(prescription),
            _ => Err(found.in_file(source, file_name)),
        }
    }

    /// Reads a prescription file from its bytes, so that a wrong encoding is named as such.
    ///
    /// # Errors
    /// [`Faults`]: everything that is wrong with it.
    pub fn read_bytes(bytes: &[u8], file_name: &str) -> Result<Prescription, Faults> {
        match encoding::decode(bytes) {
            Ok(source) => Prescription::read(source, file_name),
            Err(undecoded) => {
                let mut found = fault::Found::default();
                found.add(&undecoded.at, undecoded.wrong, encoding::PLAIN_TEXT);
                Err(found.in_file(undecoded.before, file_name))
            }
        }
    }

    /// The file as it was typed, every character of it.
    #[must_use]
    pub fn source(&self) -> &str {
        &self.source
    }

    /// The strength that the bottle must read, if one is written.
    #[must_use]
    pub fn strength(&self) -> Option<&Written<Strength>> {
        self.medicine.strength.as_ref()
    }

    /// The dose that a slot of the schedule gives.
    #[must_use]
    pub fn dose(&self, place: usize) -> Option<&Dose> {
        self.doses.get(place)
    }

    /// The calculated dose for one animal of this weight, held to the vet's greatest dose; exact.
    /// Nothing for an application, nor for a dose by body weight when no weight is known.
    ///
    /// # Errors
    /// [`QuantityError`]
    pub fn calculated(
        &self,
        dose: &Dose,
        weight: Option<BodyWeight>,
    ) -> Result<Option<Amount>, QuantityError> {
        let limit = self.greatest_dose();
        let limit = limit.as_ref().map(Written::value);
        dose.calculated(weight)?
            .map(|amount| amount.held_to(limit))
            .transpose()
    }

    /// The most one dose may come to, by the vet's limit for one dose and by that for a day, which
    /// its doses share equally; the smaller of the two.
    #[must_use]
    pub fn greatest_dose(&self) -> Option<Written<Amount>> {
        let shared = || {
            let day = self.max_per_day.as_ref()?;
            let doses = self.doses_of_a_day()?;
            let share = share_of_a_day(day.value(), doses).ok()?;
            Some(if doses == 1 {
                day.clone()
            } else {
                print::as_written(share)
            })
        };
        match (&self.max_dose, shared()) {
            (Some(one), Some(share)) => {
                let held = share.value().held_to(Some(one.value()));
                Some(if held == Ok(share.value()) {
                    share
                } else {
                    one.clone()
                })
            }
            (Some(one), None) => Some(one.clone()),
            (None, share) => share,
        }
    }

    /// How many doses every day has; of parts with different numbers, the greatest.
    #[must_use]
    pub fn doses_of_a_day(&self) -> Option<u32> {
        let each = (0..self.doses.len()).map(|place| self.schedule.doses_per_day(place));
        each.collect::<Option<Vec<u32>>>()?.into_iter().max()
    }

    /// How the label's own volume agrees with the first dose; nothing without a label check.
    /// A prescription whose label is far apart is not accepted, so that never comes back here.
    #[must_use]
    pub fn label_agreement(&self) -> Option<Agreement> {
        let label = self.label_check.as_ref()?;
        label.against(self, self.doses.first()?).ok().flatten()
    }

    /// Whether a dose is counted out in tablets.
    #[must_use]
    pub fn comes_in_tablets(&self) -> bool {
        let strength = self.strength().map(Written::value);
        let mut measures = self
            .doses
            .iter()
            .filter_map(|dose| dose.sample_measure(strength));
        measures.any(|measure| matches!(measure, Measure::Tablets(_)))
    }

    /// Whether it is for this animal, without regard to case, spaces and accents.
    #[must_use]
    pub fn is_for(&self, animal: &str) -> bool {
        self.animals.iter().any(|name| fold::same(name, animal))
    }

    /// Whether `name` is this medicine's name or another name of it, without regard to case,
    /// spaces and accents.
    #[must_use]
    pub fn same_medicine(&self, name: &str) -> bool {
        let name = fold::fold(name);
        self.known_as.contains(&name)
    }

    /// The names its medicine may go by, folded, for looking it up.
    #[must_use]
    pub fn medicine_folded(&self) -> &[String] {
        &self.known_as
    }

    /// Whether two prescriptions are for the same medicine: one's names among the other's.
    #[must_use]
    pub fn shares_medicine(&self, other: &Prescription) -> bool {
        let mut names = self.known_as.iter();
        names.any(|name| other.known_as.contains(name))
    }

    /// The weight that the vet wrote down for this animal. The label check's weight is an
    /// animal's own where there is only one.
    #[must_use]
    pub fn weight_written_for(&self, animal: &str) -> Option<&Written<BodyWeight>> {
        let mut weighed = self.weighed.iter();
        match weighed.find(|weighed| fold::same(&weighed.animal, animal)) {
            Some(weighed) => Some(&weighed.weight),
            None if self.animals.len() == 1 && self.is_for(animal) => {
                self.label_check.as_ref().map(|label| &label.weight)
            }
            None => None,
        }
    }

    /// What in the vet's own words can be misread. The words are kept as they are.
    #[must_use]
    pub fn prone_words(&self) -> Vec<ProneWords> {
        let mut own: Vec<(&'static str, &str)> = Vec::new();
        own.extend(self.medicine.form.iter().map(|w| ("medicine", w.as_str())));
        let made_up = self.medicine.made_up.iter();
        own.extend(made_up.map(|made| ("medicine", made.with.as_str())));
        let vial = self.medicine.vial.iter();
        own.extend(vial.map(|vial| ("medicine", vial.with.as_str())));
        own.extend(self.recipe.iter().map(|w| ("recipe", w.as_str())));
        for dose in &self.doses {
            if let Dose::Application(words) = dose {
                own.push(("dose", words));
            }
        }
        own.extend(self.route.own_words().map(|w| ("route", w)));
        own.extend(self.sites.iter().map(|s| ("sites", s.place.as_str())));
        own.extend(self.if_missed.iter().map(|w| ("if_missed", w.as_str())));
        own.extend(
            self.if_brought_up
                .iter()
                .map(|w| ("if_brought_up", w.as_str())),
        );
        let signs = self.stop_and_call_if.iter();
        own.extend(signs.map(|w| ("stop_and_call_if", w.as_str())));
        own.extend(self.vet_notes.iter().map(|w| ("vet_notes", w.as_str())));
        own.extend(
            self.follow_ups
                .iter()
                .map(|f| ("follow_ups", f.what.as_str())),
        );
        own.into_iter()
            .flat_map(|(field, words)| {
                error_prone(words).into_iter().map(move |prone| ProneWords {
                    field,
                    words: words.to_owned(),
                    prone,
                })
            })
            .collect()
    }
}

impl Medicine {
    /// Its name, then its other names.
    pub fn names(&self) -> impl Iterator<Item = &str> {
        std::iter::once(self.name.as_str()).chain(self.same_as.iter().map(String::as_str))
    }
}
