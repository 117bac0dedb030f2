//! `scruple give` and its siblings: what became of a dose.
//!
//! Promises: what already happened can always be recorded; what should not have happened is
//! recorded loudly, flagged, with "call your vet now". The dose is shown before it is recorded
//! and judged again inside the book's transaction.

mod judged;
mod site;

use crate::cli::Done;
use crate::cli::animal::clean;
use crate::cli::desk::{Desk, New, Open};
use crate::cli::failure::Failure;
use crate::course::{Course, Remark, judge_in};
use crate::entry::{Happening, Outcome, Subject};
use crate::ledger::{Ledger, Patient, Script};
use crate::notation::{Notation, Written};
use crate::quantity::{Amount, Measure};
use crate::round::{clock_behind, say, typed_name, waiting};
use judged::{From, Judged, judged};

/// Records that a dose was given, and how
///
/// What was drawn is taken to be the mark unless you say otherwise. A dose recorded afterwards is
/// judged as things stood when it was given; it belongs to the dose of the course that was due
/// nearest to it.
///
/// Examples:
///   scruple give Thimblo DEMO-0001
///   scruple give Thimblo DEMO-0001 --at 20:05 --by AK --drawn "0.07 mL"
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Give {
    #[command(flatten)]
    about: About,
    /// Where it went in, if not at the next site on the card
    #[arg(long, value_name = "SITE")]
    site: Option<String>,
    /// The bottle it came from, if not the one on the card
    #[arg(long, value_name = "NUMBER")]
    bottle: Option<u32>,
    /// The syringe it was drawn in, if not the one on the card
    #[arg(long, value_name = "BARREL")]
    syringe: Option<String>,
    /// What was drawn or given, if not the mark: a volume, tablets, or grams of paste
    #[arg(long, value_name = "AMOUNT")]
    drawn: Option<String>,
}

/// Which dose, when, and by whom.
#[derive(Debug, clap::Args)]
pub(crate) struct About {
    /// The animal's name, or the beginning of it
    animal: String,
    /// The prescription's reference, or the beginning of it or of one of its parts
    prescription: String,
    /// When it happened; of a dose that nobody is sure of, the latest it could have been
    /// given [default: now]
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
    /// Your initials
    #[arg(long, value_name = "INITIALS")]
    by: Option<String>,
    /// Which dose of the course, by its number [default: the nearest; of what was not given, the
    /// one that waits for an answer]
    #[arg(long, value_name = "NUMBER")]
    dose: Option<u32>,
    /// Anything to add, in your own words
    #[arg(long, value_name = "WORDS")]
    note: Option<String>,
}

/// Records that a dose was not given, or what else became of it
#[derive(Debug, clap::Args)]
pub(crate) struct Otherwise {
    #[command(flatten)]
    about: About,
}

impl Give {
    pub fn run(&self, desk: &mut Desk, outcome: Outcome) -> Result<Done, Failure> {
        let drawn = self.drawn.as_deref().map(measured_out).transpose()?;
        let how = How {
            outcome,
            site: self
                .site
                .as_deref()
                .map(|site| clean("the site", site))
                .transpose()?,
            bottle: self.bottle,
            syringe: self.syringe.as_deref(),
            drawn,
        };
        record(desk, &self.about, &how)
    }
}

impl Otherwise {
    pub fn run(&self, desk: &mut Desk, outcome: Outcome) -> Result<Done, Failure> {
        let how = How {
            outcome,
            site: None,
            bottle: None,
            syringe: None,
            drawn: None,
        };
        record(desk, &self.about, &how)
    }
}

/// What became of it, as typed.
struct How<'a> {
    outcome: Outcome,
    site: Option<String>,
    bottle: Option<u32>,
    syringe: Option<&'a str>,
    drawn: Option<Written<Amount>>,
}

/// Reads what was measured out: not how much medicine that holds.
fn measured_out(typed: &str) -> Result<Written<Amount>, Failure> {
    let amount = Amount::read(typed).map_err(Failure::not_accepted)?;
    if amount.value().measure(None).is_err() {
        return Err(Failure::not_accepted(format!(
            "{amount} is {}: write what was measured out, in mL, in tablets, or in g of paste",
            amount.value().kind()
        )));
    }
    Ok(amount)
}

/// "drawn" of a volume; tablets and paste are given.
pub(super) fn taken(amount: &Written<Amount>) -> &'static str {
    match amount.value().measure(None) {
        Ok(Measure::Volume(_)) => "drawn",
        _ => "given",
    }
}

fn record(desk: &mut Desk, about: &About, how: &How) -> Result<Done, Failure> {
    let mut open = match (&about.at, how.bottle) {
        (None, None) => desk.open_about(&about.animal, Some(&about.prescription))?,
        // What happened before, or came from another bottle, may hang on what is at rest.
        _ => desk.open()?,
    };
    let at = open.happened(about.at.as_deref())?;
    desk.banner(open.settings.demonstration)?;
    let (settings, zone, now) = (open.settings.clone(), open.zone, open.now);
    let judge = |ledger: &Ledger| {
        let from = From {
            settings: &settings,
            zone,
            at,
            now,
            afterwards: at < now,
            clock: clock_behind(ledger, now, zone),
        };
        judged(ledger, &from, about, how)
    };
    let mut shown = judge(&open.ledger);
    if shown.is_err() && open.ledger.in_part {
        // What is at rest may be what was meant.
        open = desk.open()?;
        shown = judge(&open.ledger);
    }
    let shown = shown?;
    desk.say(&shown.head)?;
    for note in &shown.notes {
        desk.say(note)?;
    }
    for loud in &shown.loud {
        desk.say(format!("STOP. {loud}"))?;
    }
    if let Some((drawn, far)) = &shown.slip {
        typed_again(desk, drawn, far)?;
    }
    if shown.loud.is_empty() {
        desk.confirm("Record this?")?;
    } else {
        desk.confirm("If it has not happened yet, do not give it: type no and call. If it has already happened, type yes to record it.")?;
    }
    let before = course_of(&open, &shown)?.2.remarks;
    // Two people may type within one tick of their clocks, so the number of records is held too.
    let records = |ledger: &Ledger| ledger.animal(&about.animal).map_or(0, |p| p.doses.len());
    let seen = records(&open.ledger);
    let rows = open.record(|ledger| {
        let again = judge(ledger)?;
        if again.record != shown.record || records(ledger) != seen {
            return Err(Failure::not_accepted(
                "the book has changed since this was shown, so nothing was recorded: look at 'scruple today' again",
            ));
        }
        Ok(vec![New {
            subject: Subject::Animal(again.animal.clone()),
            course: Some(again.reference.clone()),
            happened_at: at,
            what: Happening::Dose(again.record),
        }])
    })?;
    let entry = rows.first().map_or(0, |row| row.seq);
    desk.say(format!("Recorded as entry {entry}."))?;
    if !shown.loud.is_empty() {
        desk.say(format!("CALL YOUR VET NOW: {}", shown.phone))?;
    }
    after(desk, &open, &shown, &before, entry)
}

/// An amount far from the dose is typed a second time.
fn typed_again(desk: &mut Desk, drawn: &Written<Amount>, far: &str) -> Result<(), Failure> {
    let again = desk.ask(&format!(
        "{drawn} is {far} the dose. If that is what was {}, type it once more, with its unit:",
        taken(drawn)
    ))?;
    match again.map(|again| Amount::read(&again)) {
        Some(Ok(again)) if again.value() == drawn.value() => Ok(()),
        _ => Err(Failure::not_accepted(
            "it was not typed the same again, so nothing was recorded: look at what is in your hand",
        )),
    }
}

fn course_of<'o>(
    open: &'o Open,
    shown: &Judged,
) -> Result<(&'o Patient, &'o Script, Course), Failure> {
    let ledger = &open.ledger;
    let patient = ledger.animal(&shown.animal).map_err(Failure::failed)?;
    let script = ledger.script(&shown.reference).map_err(Failure::failed)?;
    let course = judge_in(ledger, patient, script, open.zone, open.now).map_err(Failure::failed)?;
    Ok((patient, script, course))
}

/// What is next, in one line, and what a dose that did not all stay in means.
fn after(
    desk: &mut Desk,
    open: &Open,
    shown: &Judged,
    before: &[Remark],
    entry: u64,
) -> Result<Done, Failure> {
    let (_, script, course) = course_of(open, shown)?;
    // A record typed in afterwards may show an earlier one in another light.
    let others = course.remarks.iter().filter(|remark| {
        remark.needs_attention
            && remark.record.is_some_and(|record| record != entry)
            && !before.contains(remark)
    });
    for remark in others {
        desk.say(format!(
            "Now entry {} stands out: {}",
            remark.record.unwrap_or_default(),
            remark.what
        ))?;
    }
    let brought_up = script.prescription.if_brought_up.as_ref();
    match (shown.record.outcome, brought_up) {
        (Outcome::PartlyGiven | Outcome::BroughtUp, Some(words)) => {
            desk.say(format!("Your vet wrote: \"{words}\""))?;
        }
        (Outcome::PartlyGiven | Outcome::BroughtUp, None) => {
            desk.say(format!("Give no more of it. Ask your vet: {}", shown.phone))?;
        }
        (Outcome::Unsure, _) => {
            desk.say(format!(
                "Do not give it again. Call your vet: {}",
                shown.phone
            ))?;
        }
        (Outcome::Missed | Outcome::Refused, _) => match &script.prescription.if_missed {
            Some(words) => desk.say(format!("Your vet wrote: \"{words}\""))?,
            None => desk.say(format!(
                "Your vet wrote nothing about that. Ask: {}",
                shown.phone
            ))?,
        },
        _ => {}
    }
    match course.next.and_then(|number| course.slot(number)) {
        // Whether its mark is shown then is for the vet to say first.
        Some(next) if !shown.loud.is_empty() => {
            let due = say::due_from(next.due, open.now, open.zone);
            let number = next.slot.number;
            desk.say(format!(
                "Next: dose {number}, due {due}, once your vet has spoken."
            ))?;
        }
        Some(next) => desk.say(format!("Next: {}.", waiting(next, open.zone, open.now)))?,
        None => desk.say(format!(
            "No dose of this course is left. Next: scruple check {}",
            typed_name(&shown.animal)
        ))?,
    }
    Ok(Done::Well)
}
