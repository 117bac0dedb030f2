//! `scruple instruct`: what the vet said afterwards, by phone or in person.
//!
//! Promises: who said it, who took it, when, and whether it was read back stand with it; what
//! changes is shown before it is kept and judged again inside the book's transaction; what was
//! true before stays in the history.

mod check;
mod effect;

use crate::cli::Done;
use crate::cli::animal::{clean, clean_words};
use crate::cli::desk::{Desk, New};
use crate::cli::failure::Failure;
use crate::cli::when;
use crate::course::judge_in;
use crate::entry::{Happening, Instruction, Order, Subject};
use crate::ledger::{Ledger, Said};
use crate::notation::Notation;
use crate::notation::fold::same;
use crate::notation::prone::error_prone;
use crate::quantity::{Amount, BodyWeight, DoseRate, Strength};
use crate::round::{Standing, said};
use crate::schedule::Zone;
use check::{Slip, Wanted};
use chrono::{DateTime, Utc};
use clap::ValueEnum;

/// Records what your vet said about a course, of one animal or several
///
/// Examples:
///   scruple instruct Thi 01 --skip 3 --said-by Vet --taken-by AK --read-back yes
///   scruple instruct Nub 02 --skip 3 --said-by Vet --taken-by AK --read-back no
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Instruct {
    /// The animal, or several, and last the prescription
    #[arg(required = true, num_args = 2.., value_names = ["ANIMAL", "PRESCRIPTION"])]
    names: Vec<String>,
    /// Another dose for its body weight, from a dose on
    #[arg(long, value_name = "RATE")]
    rate: Option<String>,
    /// The same dose for every weight, from a dose on
    #[arg(long, value_name = "AMOUNT", conflicts_with = "rate")]
    fixed: Option<String>,
    /// Your vet's words for what to apply, from a dose on
    #[arg(long, value_name = "WORDS", conflicts_with_all = ["rate", "fixed"])]
    apply: Option<String>,
    /// Another strength to draw from, from a dose on
    #[arg(long, value_name = "STRENGTH")]
    strength: Option<String>,
    /// The first dose that this holds for [default: the next]
    #[arg(long, value_name = "DOSE")]
    from: Option<u32>,
    /// No dose from this one on; 1 for none at all
    #[arg(long, value_name = "DOSE")]
    stop_from: Option<u32>,
    /// After a stop, doses again from this one on
    #[arg(long, value_name = "DOSE")]
    resume_from: Option<u32>,
    /// This dose is left out
    #[arg(long, value_name = "DOSE")]
    skip: Vec<u32>,
    /// A weight to go by for one dose, whatever its age
    #[arg(long, value_name = "WEIGHT")]
    accept_weight: Option<String>,
    /// The dose that this weight is for [default: the next]
    #[arg(long = "for", value_name = "DOSE", requires = "accept_weight")]
    accepted_for: Option<u32>,
    /// This dose may be given now, whatever its window says
    #[arg(long, value_name = "DOSE")]
    dose_now: Option<u32>,
    /// Your vet knows of this entry and said how to go on
    #[arg(long, value_name = "ENTRY")]
    settled: Vec<u64>,
    /// The course goes on, to be looked at again on this day
    #[arg(long, value_name = "DATE")]
    review: Option<String>,
    /// Who said it
    #[arg(long, value_name = "NAME")]
    said_by: String,
    /// Who took it: your initials
    #[arg(long, value_name = "INITIALS")]
    taken_by: String,
    /// When it was said [default: now]
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
    /// Whether it was read back to your vet
    #[arg(long, value_enum, value_name = "ANSWER")]
    read_back: YesNo,
    /// Your vet will send it in writing too
    #[arg(long)]
    paper_awaited: bool,
    /// Your vet's own words
    #[arg(long, value_name = "WORDS")]
    words: Option<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum YesNo {
    Yes,
    No,
}

/// What is to be recorded for one animal, and what to show about it.
struct Judged {
    animal: String,
    reference: String,
    instructions: Vec<Instruction>,
    shown: Vec<String>,
    slips: Vec<Slip>,
}

impl Instruct {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let mut open = desk.open()?;
        let at = open.happened(self.at.as_deref())?;
        let (settings, zone, now) = (open.settings.clone(), open.zone, open.now);
        desk.banner(settings.demonstration)?;
        let judge = |ledger: &Ledger| -> Result<Vec<Judged>, Failure> {
            let animals = self
                .names
                .split_last()
                .map_or(&[][..], |(_, animals)| animals);
            let mut each: Vec<Judged> = Vec::new();
            for animal in animals {
                let look = effect::Look {
                    settings: &settings,
                    zone,
                    now,
                };
                let judged = self.judged(ledger, animal, at, &look)?;
                if each.iter().any(|other| same(&other.animal, &judged.animal)) {
                    return Err(Failure::not_accepted(format!(
                        "{} is named twice: name each animal once",
                        judged.animal
                    )));
                }
                each.push(judged);
            }
            Ok(each)
        };
        let shown = judge(&open.ledger)?;
        self.show(desk, &shown, at, zone)?;
        for slip in shown.iter().flat_map(|judged| &judged.slips) {
            typed_again(desk, slip)?;
        }
        desk.confirm("Is that just what your vet said?")?;
        let rows = open.record(|ledger| {
            let again = judge(ledger)?;
            let same = again.len() == shown.len()
                && again.iter().zip(&shown).all(|(again, shown)| {
                    again.instructions == shown.instructions && again.shown == shown.shown
                });
            if !same {
                return Err(Failure::not_accepted(
                    "the book has changed since this was shown, so nothing was recorded: run it again",
                ));
            }
            let each = again.into_iter().flat_map(|judged| {
                let (animal, reference) = (judged.animal, judged.reference);
                judged.instructions.into_iter().map(move |instruction| New {
                    subject: Subject::Animal(animal.clone()),
                    course: Some(reference.clone()),
                    happened_at: at,
                    what: Happening::Instruction(instruction),
                })
            });
            Ok(each.collect())
        })?;
        let entries: Vec<u64> = rows.iter().map(|row| row.seq).collect();
        self.after(desk, &entries)?;
        Ok(Done::Well)
    }

    fn show(
        &self,
        desk: &mut Desk,
        each: &[Judged],
        at: DateTime<Utc>,
        zone: Zone,
    ) -> Result<(), Failure> {
        let read_back = match self.read_back {
            YesNo::Yes => "read back",
            YesNo::No => "NOT READ BACK",
        };
        let paper = if self.paper_awaited {
            "; paper awaited"
        } else {
            ""
        };
        desk.say(format!(
            "{} to {}, {}, {read_back}{paper}:",
            self.said_by.trim(),
            self.taken_by.trim(),
            when::say(at, zone)
        ))?;
        for judged in each {
            for instruction in &judged.instructions {
                desk.say(format!(
                    "{}, {}: {}.",
                    judged.animal,
                    judged.reference,
                    said::order(&instruction.order)
                ))?;
            }
            for line in &judged.shown {
                desk.say(format!("  {line}"))?;
            }
        }
        if let Some(words) = &self.words {
            desk.say(format!(
                "In your vet's words: \"{}\"",
                when::shown_words(words)
            ))?;
        }
        for words in [&self.words, &self.apply].into_iter().flatten() {
            for prone in error_prone(words) {
                desk.say(format!("Note: in your vet's words, {prone}"))?;
            }
        }
        Ok(())
    }

    fn after(&self, desk: &mut Desk, entries: &[u64]) -> Result<(), Failure> {
        let numbers: Vec<String> = entries.iter().map(ToString::to_string).collect();
        let noun = if entries.len() == 1 {
            "entry"
        } else {
            "entries"
        };
        desk.say(format!(
            "Recorded as {noun} {}. Cards printed before this are void: print today's again.",
            numbers.join(", ")
        ))?;
        let common = desk.common();
        for (wanting, what, flag) in [
            (
                self.read_back == YesNo::No,
                "NOT READ BACK: call again and read it back before the next dose. Then:",
                "--read-back",
            ),
            (self.paper_awaited, "When the paper comes:", "--paper-came"),
        ] {
            if wanting {
                desk.say(what)?;
                for entry in entries {
                    desk.say(format!("  scruple confirm {entry} {flag}{common}"))?;
                }
            }
        }
        Ok(())
    }

    fn judged(
        &self,
        ledger: &Ledger,
        animal: &str,
        at: DateTime<Utc>,
        look: &effect::Look,
    ) -> Result<Judged, Failure> {
        let typed = self.names.last().map_or("", String::as_str);
        let patient = ledger.animal(animal).map_err(Failure::not_accepted)?;
        let script = ledger.script(typed).map_err(Failure::not_accepted)?;
        let prescription = &script.prescription;
        let (name, reference) = (&patient.animal.name, &prescription.reference);
        if !prescription.is_for(name) {
            return Err(Failure::not_accepted(format!(
                "prescription {reference} is not for {name}, but for {}: check which animal is meant",
                prescription.animals.join(", ")
            )));
        }
        let course =
            judge_in(ledger, patient, script, look.zone, look.now).map_err(Failure::failed)?;
        let standing = Standing {
            patient,
            script,
            course,
        };
        let orders = self.orders(&standing)?;
        // Each order is held against the course as the ones before it have left it.
        let mut ledger = ledger.clone();
        let mut judged = Judged {
            animal: name.clone(),
            reference: reference.clone(),
            instructions: Vec::new(),
            shown: Vec::new(),
            slips: Vec::new(),
        };
        for order in orders {
            let wanted = Wanted {
                ledger: &ledger,
                animal: &judged.animal,
                reference: &judged.reference,
                at,
                look,
            };
            let checked = check::check(&wanted, &order)?;
            let instruction = self.instruction(&judged.reference, order)?;
            let before = ledger.clone();
            let said = Said {
                entry: u64::MAX,
                at,
                instruction: instruction.clone(),
            };
            let patients = ledger.animals.iter_mut();
            for patient in patients.filter(|p| p.animal.name == judged.animal) {
                patient.instructions.push(said.clone());
                patient
                    .instructions
                    .sort_by_key(|said| (said.at, said.entry));
            }
            judged.shown.extend(checked.notes);
            judged.shown.extend(effect::effect(
                &before,
                &ledger,
                &judged.animal,
                &judged.reference,
                &instruction.order,
                look,
            )?);
            judged.slips.extend(checked.slip);
            judged.instructions.push(instruction);
        }
        Ok(judged)
    }

    /// The orders as typed, in the order in which they make sense.
    fn orders(&self, standing: &Standing) -> Result<Vec<Order>, Failure> {
        let next = || {
            standing.course.next.ok_or_else(|| {
                Failure::not_accepted(format!(
                    "no dose of {} is left for {}, so there is nothing to change: for more doses, ask your vet for a new prescription",
                    standing.script.prescription.reference, standing.patient.animal.name
                ))
            })
        };
        let doses = [&self.rate, &self.fixed, &self.apply, &self.strength];
        if self.from.is_some() && doses.iter().all(|dose| dose.is_none()) {
            return Err(Failure::not_accepted(
                "--from goes with --rate, --fixed, --apply or --strength: say what changes from that dose on",
            ));
        }
        let mut orders = Vec::new();
        for entry in &self.settled {
            orders.push(Order::Settled { entry: *entry });
        }
        if let Some(strength) = &self.strength {
            let strength = Strength::read(strength).map_err(Failure::not_accepted)?;
            let from = self.from.map_or_else(next, Ok)?;
            orders.push(Order::Strength { from, strength });
        }
        if let Some(rate) = &self.rate {
            let rate = DoseRate::read(rate).map_err(Failure::not_accepted)?;
            let from = self.from.map_or_else(next, Ok)?;
            orders.push(Order::Rate { from, rate });
        }
        if let Some(amount) = &self.fixed {
            let amount = Amount::read(amount).map_err(Failure::not_accepted)?;
            let from = self.from.map_or_else(next, Ok)?;
            orders.push(Order::Fixed { from, amount });
        }
        if let Some(words) = &self.apply {
            let words = clean_words("what is applied", words)?;
            let from = self.from.map_or_else(next, Ok)?;
            orders.push(Order::Application { from, words });
        }
        if let Some(from) = self.resume_from {
            orders.push(Order::Resume { from });
        }
        if let Some(weight) = &self.accept_weight {
            let weight = BodyWeight::read(weight).map_err(Failure::not_accepted)?;
            let slot = self.accepted_for.map_or_else(next, Ok)?;
            orders.push(Order::AcceptWeight { slot, weight });
        }
        for slot in &self.skip {
            orders.push(Order::Skip { slot: *slot });
        }
        if let Some(slot) = self.dose_now {
            orders.push(Order::DoseNow { slot });
        }
        if let Some(from) = self.stop_from {
            orders.push(Order::Stop { from });
        }
        if let Some(date) = &self.review {
            let on = when::read_day(date)?;
            orders.push(Order::Review { on });
        }
        if orders.is_empty() {
            return Err(Failure::not_accepted(
                "say what your vet said with one of --rate, --fixed, --apply, --strength, --stop-from, --resume-from, --skip, --accept-weight, --dose-now, --settled or --review",
            ));
        }
        Ok(orders)
    }

    fn instruction(&self, reference: &str, order: Order) -> Result<Instruction, Failure> {
        let words = self.words.as_deref();
        Ok(Instruction {
            prescription: reference.to_owned(),
            order,
            said_by: clean("the name of who said it", &self.said_by)?,
            taken_by: clean("the initials of who took it", &self.taken_by)?,
            read_back: self.read_back == YesNo::Yes,
            paper_awaited: self.paper_awaited,
            words: words
                .map(|words| clean_words("the words", words))
                .transpose()?,
        })
    }
}

/// A figure far from the one before is typed a second time, whatever `--yes` says.
fn typed_again(desk: &mut Desk, slip: &Slip) -> Result<(), Failure> {
    let again = desk.ask(&format!(
        "{} is {} {}. If your vet said so, type it once more, with its unit:",
        slip.new, slip.far, slip.old
    ))?;
    if again.is_some_and(|again| slip.is_same(&again)) {
        return Ok(());
    }
    Err(Failure::not_accepted(
        "it was not typed the same again, so nothing was kept: read it back to your vet",
    ))
}
