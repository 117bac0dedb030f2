//! Bottles that wait: past their day, reading another strength, over, not in the book, running
//! out, or not lasting to the end of a course by their dates.
//!
//! Promises: what a bottle must read, its expiry and what it holds are never filled in; they are
//! typed from the label in hand.

use crate::bottle::{Batch, Bottle, Usable};
use crate::dose::InHand;
use crate::notation::print;
use crate::round::morning::courses::open_bottle;
use crate::round::morning::{Kind, Seen, Waiting};
use crate::round::stock::{InBottle, Lasts, Supply, stock};
use crate::round::{Checked, Standing, Step, bottle_for, dose_now, say, strength_now};
use crate::schedule::ScheduleError;
use chrono::{Days, NaiveDate};

/// So many days ahead the end of a bottle is pointed out; the program's own choice.
const SOON: Days = Days::new(7);
const ASK_IN_TIME: &str = "Ask for another in time; once it is in your hand:";

/// Every bottle in hand, what runs out, then what the courses still want of theirs.
///
/// # Errors
/// [`ScheduleError`], as [`stock`].
pub(super) fn bottles<'l>(
    seen: &Seen<'l>,
    checked: &[Checked<'l>],
    waiting: &mut Vec<Waiting<'l>>,
) -> Result<(), ScheduleError> {
    let in_hand = seen.ledger.bottles.iter();
    for open in in_hand.filter(|open| open.ended.is_none_or(|ended| ended > seen.now)) {
        waiting.extend(past(seen, &open.bottle));
    }
    let supplies = stock(seen.ledger, seen.settings, seen.zone, seen.now)?;
    let known: Vec<&Supply> = supplies.iter().filter(|s| is_counted(s)).collect();
    waiting.extend(known.iter().filter_map(|supply| runs_out(seen, supply)));
    let mut said: Vec<String> = Vec::new();
    for course in checked {
        let medicine = &course.standing.script.prescription.medicine.name;
        let counted = known.iter().any(|supply| supply.medicine == medicine);
        let Some(wait) = wanting(seen, &course.standing, counted) else {
            continue;
        };
        if !said.contains(&wait.words) {
            said.push(wait.words.clone());
            waiting.push(wait);
        }
    }
    Ok(())
}

/// Whether somebody wrote down what the bottles hold that can be drawn from, and there is one.
fn is_counted(supply: &Supply) -> bool {
    supply.bottles.iter().any(InBottle::counts) && supply.lasts != Lasts::NotKnown
}

/// What is in hand of a medicine and does not reach to the end, if it ends soon.
fn runs_out<'l>(seen: &Seen<'l>, supply: &Supply) -> Option<Waiting<'l>> {
    let Lasts::RunsOut { on, doses, .. } = supply.lasts else {
        return None;
    };
    let soon = seen.day.checked_add_days(SOON)?;
    let doses = match doses {
        1 => "1 dose is".to_owned(),
        many => format!("{} doses are", print::count(u64::from(many))),
    };
    (on <= soon).then(|| {
        of_bottle(
            format!(
                "{}: what is in hand runs out before the dose of {}; {doses} not covered",
                supply.medicine,
                say::date(on, seen.day)
            ),
            Step {
                words: ASK_IN_TIME.to_owned(),
                commands: vec![open_bottle(supply.medicine)],
            },
        )
    })
}

fn of_bottle<'l>(words: String, step: Step) -> Waiting<'l> {
    Waiting {
        kind: Kind::Bottle,
        patient: None,
        script: None,
        dose: None,
        words,
        step,
    }
}

/// A bottle that must not be used any more.
fn past<'l>(seen: &Seen<'l>, bottle: &Bottle) -> Option<Waiting<'l>> {
    let date = |day: NaiveDate| say::date(day, seen.day);
    let over = match bottle.usable_on(seen.day) {
        Usable::Expired(on) => format!("it expired after {}", date(on)),
        Usable::PastDiscard(on) => format!("its time after opening ended after {}", date(on)),
        Usable::Through(_) | Usable::NotYetOpen(_) => return None,
    };
    let number = bottle.number;
    let frozen = bottle.batch.as_ref().and_then(Batch::frozen);
    let still_frozen = matches!(bottle.usable_on(seen.day), Usable::PastDiscard(_));
    if still_frozen && frozen.is_some_and(|frozen| frozen > 0) {
        return Some(of_bottle(
            format!("Bottle {number}, {}: {over}", bottle.medicine),
            Step {
                words: "Discard that aliquot. When the next one is thawed:".to_owned(),
                commands: vec![format!("scruple bottle thaw {number}")],
            },
        ));
    }
    Some(of_bottle(
        format!("Bottle {number}, {}: {over}", bottle.medicine),
        Step {
            words: "Set it aside, then:".to_owned(),
            commands: vec![format!("scruple bottle discard {number}")],
        },
    ))
}

/// What a course wants of its bottle. Whether one that can be drawn from lasts is judged by its
/// dates here, unless what it holds has been counted already.
fn wanting<'l>(seen: &Seen<'l>, standing: &Standing<'l>, counted: bool) -> Option<Waiting<'l>> {
    let (patient, script) = (standing.patient, standing.script);
    let prescription = &script.prescription;
    let medicine = &prescription.medicine.name;
    let mut waits = standing.course.slots.iter().filter(|slot| slot.waits());
    let next = waits.next()?;
    if !dose_now(patient, script, next, seen.now).is_measured() {
        return None;
    }
    let must_read = strength_now(patient, script, next.slot.number, seen.now);
    let hand = bottle_for(
        seen.ledger,
        prescription,
        must_read.as_ref(),
        None,
        seen.day,
        seen.now,
    );
    let open = |words: &str| Step {
        words: words.to_owned(),
        commands: vec![open_bottle(medicine)],
    };
    const IN_YOUR_HAND: &str = "With the bottle in your hand, and its label read:";
    match hand {
        InHand::Unopened => Some(of_bottle(
            format!("{medicine}: no bottle of it is in the book"),
            open(IN_YOUR_HAND),
        )),
        InHand::Gone(bottle) => Some(of_bottle(
            format!(
                "{medicine}: bottle {} is empty or discarded, and no other is in the book",
                bottle.number
            ),
            open(IN_YOUR_HAND),
        )),
        InHand::Bottle(bottle) if !bottle.reads(must_read.as_ref()) => {
            let reads = bottle.strength.as_ref().map_or("no strength", |s| s.text());
            let must = must_read.as_ref().map_or("no strength", |s| s.text());
            Some(of_bottle(
                format!(
                    "{medicine}: bottle {} reads {reads}, and it must read {must}",
                    bottle.number
                ),
                Step {
                    words: format!("Draw nothing from it. Call {}.", prescription.vet.phone),
                    commands: Vec::new(),
                },
            ))
        }
        InHand::Bottle(bottle) if !counted => {
            let last_day = bottle.last_day();
            let soon = seen.day.checked_add_days(SOON)?;
            let beyond = std::iter::once(next)
                .chain(waits)
                .find(|slot| slot.due.date(seen.zone) > last_day)?;
            (seen.day <= last_day && last_day <= soon).then(|| {
                of_bottle(
                    format!(
                        "{medicine}: bottle {} may be used through {}, and a dose is due {}",
                        bottle.number,
                        say::date(last_day, seen.day),
                        say::due(beyond.due, seen.zone)
                    ),
                    open(ASK_IN_TIME),
                )
            })
        }
        InHand::Bottle(_) | InHand::Reads(_) | InHand::OnPaper => None,
    }
}
