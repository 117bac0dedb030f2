//! `scruple give` and its siblings: what became of a dose.
//!
//! Promises: what already happened can always be recorded; what should not have happened is
//! recorded loudly, flagged, with "call your vet now". The dose is shown before it is recorded
//! and judged again inside the book's transaction.

use crate::caution::NoMark;
use crate::cli::Done;
use crate::cli::animal::clean;
use crate::cli::desk::{Desk, New, Open};
use crate::cli::failure::Failure;
use crate::cli::when;
use crate::course::{Course, State, judge_in};
use crate::dose::InHand;
use crate::entry::{DoseRecord, Happening, MarkThen, Outcome, Subject};
use crate::ledger::Ledger;
use crate::notation::{Notation, Written, print};
use crate::quantity::{Measure, Volume};
use crate::round::{DayDose, Pick, Standing, day_dose};
use crate::schedule::Zone;
use crate::settings::Settings;
use chrono::{DateTime, Utc};

/// Records that a dose was given, and how
///
/// What was drawn is taken to be the mark unless you say otherwise.
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
    /// What was drawn, if not the mark
    #[arg(long, value_name = "VOLUME")]
    drawn: Option<String>,
}

/// Which dose, when, and by whom.
#[derive(Debug, clap::Args)]
pub(crate) struct About {
    /// The animal's name, or the beginning of it
    animal: String,
    /// The prescription's reference, or an end of it
    prescription: String,
    /// When it happened [default: now]
    #[arg(long, value_name = "TIME")]
    at: Option<String>,
    /// Your initials
    #[arg(long)]
    by: Option<String>,
    /// Which dose of the course, by its number [default: the one it must be]
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
        let drawn = self.drawn.as_deref().map(Volume::read).transpose();
        let how = How {
            outcome,
            site: self
                .site
                .as_deref()
                .map(|site| clean("the site", site))
                .transpose()?,
            bottle: self.bottle,
            syringe: self.syringe.as_deref(),
            drawn: drawn.map_err(Failure::not_accepted)?,
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
    drawn: Option<Written<Volume>>,
}

/// A record with everything to show about it.
struct Judged {
    record: DoseRecord,
    animal: String,
    reference: String,
    head: String,
    /// Why it should not have happened; the vet is to be called.
    loud: Vec<String>,
    phone: String,
}

fn record(desk: &mut Desk, about: &About, how: &How) -> Result<Done, Failure> {
    let mut open = desk.open()?;
    let at = open.happened(about.at.as_deref())?;
    desk.banner(open.settings.demonstration)?;
    let (settings, zone) = (open.settings.clone(), open.zone);
    let judge = |ledger: &Ledger| judged(ledger, &settings, zone, about, how, at);
    let shown = judge(&open.ledger)?;
    desk.say(&shown.head)?;
    for loud in &shown.loud {
        desk.say(format!("STOP. {loud}"))?;
    }
    if shown.loud.is_empty() {
        desk.confirm("Record this?")?;
    } else {
        desk.confirm("If it has not happened yet, do not give it: type no and call. If it has already happened, type yes to record it.")?;
    }
    let rows = open.record(|ledger| {
        let again = judge(ledger)?;
        if again.record != shown.record {
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
    after(desk, &open, &shown)
}

/// What is next, in one line, and what a dose that did not all stay in means.
fn after(desk: &mut Desk, open: &Open, shown: &Judged) -> Result<Done, Failure> {
    let patient = open.ledger.animal(&shown.animal).map_err(Failure::failed)?;
    let script = open
        .ledger
        .script(&shown.reference)
        .map_err(Failure::failed)?;
    let course =
        judge_in(&open.ledger, patient, script, open.zone, open.now).map_err(Failure::failed)?;
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
        (Outcome::Missed | Outcome::Refused, _) => {
            if let Some(words) = &script.prescription.if_missed {
                desk.say(format!("Your vet wrote: \"{words}\""))?;
            }
        }
        _ => {}
    }
    match course.next.and_then(|number| course.slot(number)) {
        Some(next) => desk.say(format!(
            "Next: dose {}, due {} ({}).",
            next.slot.number,
            crate::round::say::due(next.due, open.zone),
            next.state
        ))?,
        None => desk.say(format!(
            "No dose of this course is left. Next: scruple check {}",
            shown.animal
        ))?,
    }
    Ok(Done::Well)
}

fn judged(
    ledger: &Ledger,
    settings: &Settings,
    zone: Zone,
    about: &About,
    how: &How,
    at: DateTime<Utc>,
) -> Result<Judged, Failure> {
    let patient = ledger
        .animal(&about.animal)
        .map_err(Failure::not_accepted)?;
    let script = ledger
        .script(&about.prescription)
        .map_err(Failure::not_accepted)?;
    let prescription = &script.prescription;
    let (animal, reference) = (&patient.animal.name, &prescription.reference);
    if !prescription.is_for(animal) {
        return Err(Failure::not_accepted(format!(
            "prescription {reference} is not for {animal}, but for {}: check the animal in your hand",
            prescription.animals.join(", ")
        )));
    }
    let course = judge_in(ledger, patient, script, zone, at).map_err(Failure::failed)?;
    let standing = Standing {
        patient,
        script,
        course,
    };
    let number = slot_meant(&standing.course, about.dose)?;
    let slot = standing
        .course
        .slot(number)
        .ok_or_else(|| no_such_dose(&standing.course))?;
    let used_for = prescription.route.used_for();
    let syringe = how
        .syringe
        .map(|typed| ledger.syringe(typed, Some(used_for)))
        .transpose();
    let pick = Pick {
        bottle: how.bottle,
        syringe: syringe.map_err(Failure::not_accepted)?,
    };
    if let Some(bottle) = how.bottle {
        let bottle = &ledger.bottle(bottle).map_err(Failure::not_accepted)?.bottle;
        if !prescription.same_medicine(&bottle.medicine) {
            return Err(Failure::not_accepted(format!(
                "bottle {} holds {}, not {}: read the label again",
                bottle.number, bottle.medicine, prescription.medicine.name
            )));
        }
    }
    let day = at.with_timezone(&zone).date_naive();
    let dose = day_dose(ledger, settings, &standing, slot, pick, day, at, zone);
    let record = as_record(&dose, about, how, number)?;
    let loud = loud(&dose, how, slot.state, zone);
    let what = match (&record.drawn, &record.mark) {
        (Some(drawn), _) => format!(", {drawn}"),
        (None, Some(mark)) => format!(", {}", mark.total),
        _ => String::new(),
    };
    let site = record
        .site
        .as_ref()
        .map(|site| format!(", {}", crate::round::say::site(site)))
        .unwrap_or_default();
    let head = format!(
        "{animal}, {} ({reference}, {}): {} {}{what}{site}.",
        prescription.medicine.name,
        crate::round::say::dose_of(&dose),
        how.outcome,
        when::say(at, zone),
    );
    Ok(Judged {
        record,
        animal: animal.clone(),
        reference: reference.clone(),
        head,
        loud,
        phone: prescription.vet.phone.clone(),
    })
}

/// The dose a record is for: the one named, else the one open, else the first that waits, else
/// the last of the course.
fn slot_meant(course: &Course, named: Option<u32>) -> Result<u32, Failure> {
    if let Some(number) = named {
        return course
            .slot(number)
            .map(|_| number)
            .ok_or_else(|| no_such_dose(course));
    }
    let last = course.slots.last().map(|slot| slot.slot.number);
    course
        .actionable
        .or(course.next)
        .or(last)
        .ok_or_else(|| no_such_dose(course))
}

fn no_such_dose(course: &Course) -> Failure {
    Failure::not_accepted(format!(
        "this course has doses 1 to {}: write one of those numbers",
        course.slots.len()
    ))
}

fn as_record(dose: &DayDose, about: &About, how: &How, number: u32) -> Result<DoseRecord, Failure> {
    let goes_in = how.outcome.closes_the_gate() && how.outcome != Outcome::Unsure;
    let drawn = dose.drawn().filter(|_| goes_in);
    let mark = drawn.map(|drawn| MarkThen {
        lines: drawn.chosen.mark.lines,
        draws: drawn.chosen.mark.draws,
        total: print::measure(drawn.chosen.mark.total).text,
        held: print::amount(drawn.held).to_string(),
        weight: dose
            .worked
            .as_ref()
            .and_then(|w| w.weight.as_ref())
            .map(|w| w.weight.clone()),
        strength: dose.must_read.clone(),
    });
    let total = drawn.map(|drawn| drawn.chosen.mark.total);
    let at_mark = match (&how.drawn, total) {
        (Some(typed), Some(total)) => Measure::Volume(typed.value()) == total,
        (None, Some(_)) => true,
        (_, None) => dose.worked.is_none(),
    };
    let site = how
        .site
        .clone()
        .or_else(|| dose.site.filter(|_| goes_in).map(|site| site.words()));
    let bottle = match dose.in_hand {
        InHand::Bottle(bottle) | InHand::Gone(bottle) if goes_in => Some(bottle.number),
        _ => None,
    };
    // A record that names no dose is tied to the slot it happened nearest to; what was not given,
    // and what nobody knows, has no time of its own to go by.
    let slot = about
        .dose
        .or_else(|| (how.outcome != Outcome::Given).then_some(number));
    Ok(DoseRecord {
        outcome: how.outcome,
        slot,
        by: about
            .by
            .as_deref()
            .map(|by| clean("the initials", by))
            .transpose()?,
        site,
        bottle,
        syringe: drawn.and_then(|drawn| drawn.chosen.instrument.syringe().cloned()),
        drawn: how.drawn.clone(),
        mark,
        at_mark: at_mark && goes_in,
        flags: dose
            .no_mark
            .iter()
            .filter(|_| goes_in)
            .map(|r| r.code().to_owned())
            .collect(),
        note: about
            .note
            .as_deref()
            .map(|note| clean("the note", note))
            .transpose()?,
    })
}

/// Why this dose should not go in, or should not have.
fn loud(dose: &DayDose, how: &How, state: State, zone: Zone) -> Vec<String> {
    if !matches!(
        how.outcome,
        Outcome::Given | Outcome::PartlyGiven | Outcome::BroughtUp
    ) {
        return Vec::new();
    }
    let mut loud: Vec<String> = dose.no_mark.iter().map(NoMark::to_string).collect();
    if state.is_answered() {
        loud.insert(
            0,
            format!(
                "Dose {} has been answered for already: {state}.",
                dose.slot.slot.number
            ),
        );
    }
    if let Some(opens) = dose.not_before() {
        loud.insert(
            0,
            format!("It is too soon: the dose opens {}.", when::say(opens, zone)),
        );
    }
    loud
}
