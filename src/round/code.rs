//! The book code of a card: made from just what the day's marks depend on.
//!
//! Promises: recording the doses of the day as the card has them does not change it; whatever else
//! changes a mark, a reason for no mark or a caution does: a weighing, a bottle, an instruction, a
//! setting, a syringe, a dose of any course of the same medicine that holds its gate, damage.

use crate::bottle::Batch;
use crate::course::State;
use crate::dose::InHand;
use crate::entry::{Outcome, short_code};
use crate::ledger::{Dose, Ledger, Patient, Script};
use crate::round::behind::doses_behind;
use crate::round::dose::{Asked, When, worked_without};
use crate::round::unsettled::before_the_next_mark;
use crate::round::{
    DayDose, DoneToday, Standing, bottle_for, clock_behind, dose_now, strength_now,
};
use crate::schedule::{Zone, local_date};
use crate::settings::Settings;
use chrono::{DateTime, NaiveDate, Utc};
use std::collections::BTreeSet;
use std::collections::HashMap;
use std::fmt::Write;

/// What a card is made from, and when.
pub(super) struct Card<'a> {
    pub ledger: &'a Ledger,
    pub settings: &'a Settings,
    pub standings: Standings<'a>,
    pub zone: Zone,
    pub day: NaiveDate,
    pub now: DateTime<Utc>,
}

/// The courses by the names of their animals, so that a day of thousands is not looked through
/// once for each of its doses.
pub(super) struct Standings<'a>(HashMap<&'a str, Vec<&'a Standing<'a>>>);

impl<'a> Standings<'a> {
    pub(super) fn new(all: &'a [Standing<'a>]) -> Standings<'a> {
        let mut of_animal: HashMap<&str, Vec<&Standing>> = HashMap::new();
        for standing in all {
            let name = standing.patient.animal.name.as_str();
            of_animal.entry(name).or_default().push(standing);
        }
        Standings(of_animal)
    }

    /// Those of one animal, in the order of all.
    fn of(&self, patient: &Patient) -> impl Iterator<Item = &'a Standing<'a>> {
        let own = self.0.get(patient.animal.name.as_str());
        own.into_iter().flatten().copied()
    }
}

impl Card<'_> {
    /// The code of a day's card.
    pub(super) fn code(&self, doses: &[DayDose], done: &[DoneToday]) -> String {
        let mut lines: Vec<String> = Vec::new();
        for dose in doses {
            let number = dose.slot.slot.number;
            lines.push(self.line(dose.patient, dose.script, number, self.now));
        }
        for dose in done {
            lines.push(match (dose.state, dose.at) {
                // A dose given is on the card that was printed for it, as it was then.
                (State::Given, Some(at)) => self.line(dose.patient, dose.script, dose.number, at),
                _ => {
                    let name = &dose.patient.animal.name;
                    let reference = &dose.script.prescription.reference;
                    format!("{name} {reference} {} {}", dose.number, dose.state)
                }
            });
        }
        lines.sort();
        let mut text = format!("{}\n", self.day);
        for syringe in &self.ledger.syringes {
            let _ = writeln!(text, "{syringe:?}");
        }
        let settings = self.settings;
        let _ = writeln!(
            text,
            "{} {} {:?} {:?} {:?} {:?} {:?} {}",
            settings.zone,
            settings.readability,
            settings.weight_age_days,
            settings.rounding_caution_percent,
            settings.rounding_most_percent,
            settings.loss_percent,
            settings.loss_since_start_percent,
            clock_behind(self.ledger, self.now, self.zone).is_some()
        );
        short_code((text + &lines.join("\n")).as_bytes())
    }

    /// What the mark of one slot depends on at a moment.
    fn line(&self, patient: &Patient, script: &Script, number: u32, at: DateTime<Utc>) -> String {
        let prescription = &script.prescription;
        let reference = &prescription.reference;
        let instructions = patient
            .instructions
            .iter()
            .filter(|said| said.instruction.prescription == *reference);
        let instructions: Vec<u64> = instructions.map(|said| said.entry).collect();
        let must_read = strength_now(patient, script, number, at);
        let bottle = bottle_for(
            self.ledger,
            prescription,
            must_read.as_ref(),
            None,
            self.day,
            at,
        );
        let no_bottle = matches!(bottle, InHand::Unopened);
        let standing = self.standing(patient, script);
        let unsettled =
            standing.map(|standing| before_the_next_mark(standing, self.settings, self.now));
        format!(
            "{} {reference} {} {number} {:?} {instructions:?} {:?} {} {:?} {unsettled:?}",
            patient.animal.name,
            script.entry,
            self.weighings(patient, script, at),
            self.doses(patient, script),
            in_words(bottle),
            self.ledger.damage_behind(patient, no_bottle),
        )
    }

    /// The weighings that a dose goes by or is held against: the latest, the one before it, the
    /// high of 28 days, and the one at the start of the course, which is the latest until a dose
    /// was given.
    fn weighings(&self, patient: &Patient, script: &Script, at: DateTime<Utc>) -> [u64; 4] {
        let weights = &patient.weights;
        let latest = weights.latest(at);
        let before = weights.all().iter().rev();
        let before = before
            .skip_while(|weighing| latest.is_none_or(|latest| weighing.entry != latest.entry))
            .nth(1);
        let first = self
            .standing(patient, script)
            .and_then(|standing| standing.course.first_dose);
        let start = first.and_then(|first| weights.latest(first)).or(latest);
        let high = weights.high_of_28_days(at, self.zone);
        [latest, before, high, start].map(|weighing| weighing.map_or(0, |found| found.entry))
    }

    /// The doses of this course, and those of its medicine in the animal's other courses that it is
    /// held by, but for those of the day that went as the card has them.
    fn doses(&self, patient: &Patient, script: &Script) -> Vec<u64> {
        let prescription = &script.prescription;
        let behind = doses_behind(self.ledger, patient, script, self.now);
        let behind: BTreeSet<u64> = behind.iter().map(|(dose, _)| dose.entry).collect();
        let of_medicine =
            |dose: &&Dose| dose.course == prescription.reference || behind.contains(&dose.entry);
        let since = |dose: &Dose| match dose.course == prescription.reference {
            // A card for a day to come counts on the doses of its course until then.
            true => self.day.min(local_date(self.now, self.zone)),
            false => self.day,
        };
        let doses = patient.doses.iter().filter(of_medicine);
        doses
            .filter(|dose| {
                let on = local_date(dose.happened, self.zone);
                on < since(dose) || on > self.day || !self.as_planned(patient, dose)
            })
            .map(|dose| dose.entry)
            .collect()
    }

    /// Whether a dose was given as its card had it: at the mark, with nothing wrong, and measured
    /// with what the program would have picked.
    fn as_planned(&self, patient: &Patient, dose: &Dose) -> bool {
        let record = &dose.record;
        if record.outcome != Outcome::Given || !record.at_mark || !record.flags.is_empty() {
            return false;
        }
        let mut own = self.standings.of(patient);
        let of_course =
            |standing: &&Standing| standing.script.prescription.reference == dose.course;
        let Some(standing) = own.find(of_course) else {
            return false;
        };
        let filled = |slot: &&crate::course::Standing| {
            slot.filled_by.is_some_and(|record| record.id == dose.entry)
        };
        let Some(slot) = standing.course.slots.iter().find(filled) else {
            return false;
        };
        let script = standing.script;
        let at = dose.happened;
        let must_read = strength_now(patient, script, slot.slot.number, at);
        let asked = Asked {
            dose: &dose_now(patient, script, slot, at),
            must_read: must_read.as_ref(),
            // A bottle that the person named has its own place in the record.
            in_hand: InHand::OnPaper,
            named: None,
        };
        let when = When {
            day: self.day,
            now: at,
            zone: self.zone,
        };
        let worked = worked_without(
            self.ledger,
            self.settings,
            standing,
            slot,
            &asked,
            when,
            Some(dose.entry),
        );
        let picked = worked.and_then(|worked| worked.mark.ok());
        let picked = picked.as_ref().map(|drawn| &drawn.chosen.instrument);
        picked.and_then(|instrument| instrument.syringe()) == record.syringe.as_ref()
    }

    fn standing(&self, patient: &Patient, script: &Script) -> Option<&Standing<'_>> {
        let mut own = self.standings.of(patient);
        own.find(|standing| standing.script.entry == script.entry)
    }
}

/// What of a bottle a mark and its cautions hang on.
fn in_words(in_hand: InHand) -> String {
    match in_hand {
        InHand::Bottle(bottle) | InHand::Gone(bottle) => format!(
            "{} {} {} {:?}",
            bottle.number,
            matches!(in_hand, InHand::Gone(_)),
            bottle.last_day(),
            bottle.batch.as_ref().and_then(Batch::frozen),
        ),
        InHand::Unopened | InHand::Reads(_) | InHand::OnPaper => "none".to_owned(),
    }
}
