//! Bottles that wait: past their day, reading another strength, over, not in the book, or not
//! lasting to the end of a course by their dates.

use crate::bottle::{Bottle, Usable};
use crate::dose::InHand;
use crate::round::morning::courses::open_bottle;
use crate::round::morning::{Kind, Seen, Waiting};
use crate::round::{Checked, Standing, Step, bottle_for, dose_now, say, strength_now};
use chrono::{Days, NaiveDate};

/// So many days ahead the end of a bottle is pointed out; the program's own choice.
const SOON: Days = Days::new(7);

/// Every bottle in hand, then what the courses still need.
pub(super) fn bottles<'l>(
    seen: &Seen<'l>,
    checked: &[Checked<'l>],
    waiting: &mut Vec<Waiting<'l>>,
) {
    let in_hand = seen.ledger.bottles.iter();
    for open in in_hand.filter(|open| open.ended.is_none_or(|ended| ended > seen.now)) {
        waiting.extend(past(seen, &open.bottle));
    }
    let mut said: Vec<String> = Vec::new();
    for course in checked {
        let Some(wait) = wanting(seen, &course.standing) else {
            continue;
        };
        if !said.contains(&wait.words) {
            said.push(wait.words.clone());
            waiting.push(wait);
        }
    }
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
    Some(of_bottle(
        format!("Bottle {number}, {}: {over}", bottle.medicine),
        Step {
            words: "Set it aside, then:".to_owned(),
            commands: vec![format!("scruple bottle discard {number}")],
        },
    ))
}

/// What a course wants of its bottle.
fn wanting<'l>(seen: &Seen<'l>, standing: &Standing<'l>) -> Option<Waiting<'l>> {
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
                "{medicine}: bottle {} is over, and no other is in the book",
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
        InHand::Bottle(bottle) => {
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
                    open("Ask for another in time; once it is in your hand:"),
                )
            })
        }
        InHand::Reads(_) | InHand::OnPaper => None,
    }
}
