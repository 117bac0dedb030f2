//! What an order changes, shown before it is kept: the old mark and the new, the doses that go
//! away, until when a dose may be given.
//!
//! Promises: both marks come from the one formula, from the same weight, bottle and rack; the
//! calendar is left aside, because this is read back to the vet and not drawn to.

use crate::cli::failure::Failure;
use crate::cli::when;
use crate::course::judge_in;
use crate::dose::InHand;
use crate::entry::Order;
use crate::ledger::Ledger;
use crate::round::unsettled::flagged;
use crate::round::{DayDose, Pick, Standing, day_dose, say, waiting};
use crate::schedule::{Zone, local_date};
use crate::settings::Settings;
use chrono::{DateTime, TimeDelta, Utc};

/// Where the command looks from.
pub(super) struct Look<'a> {
    pub settings: &'a Settings,
    pub zone: Zone,
    pub now: DateTime<Utc>,
}

fn standing<'l>(
    ledger: &'l Ledger,
    animal: &str,
    reference: &str,
    look: &Look,
) -> Result<Standing<'l>, Failure> {
    let patient = ledger.animal(animal).map_err(Failure::failed)?;
    let script = ledger.script(reference).map_err(Failure::failed)?;
    let course = judge_in(ledger, patient, script, look.zone, look.now).map_err(Failure::failed)?;
    Ok(Standing {
        patient,
        script,
        course,
    })
}

/// What one order changes, line by line.
pub(super) fn effect(
    before: &Ledger,
    after: &Ledger,
    animal: &str,
    reference: &str,
    order: &Order,
    look: &Look,
) -> Result<Vec<String>, Failure> {
    let was = standing(before, animal, reference, look)?;
    let is = standing(after, animal, reference, look)?;
    Ok(match order {
        Order::Rate { from, .. }
        | Order::Fixed { from, .. }
        | Order::Application { from, .. }
        | Order::Strength { from, .. } => marks(before, &was, after, &is, *from, look),
        Order::AcceptWeight { slot, .. } => marks(before, &was, after, &is, *slot, look),
        Order::Stop { .. } | Order::Resume { .. } | Order::Skip { .. } | Order::Review { .. } => {
            doses(&was, &is, look)
        }
        Order::DoseNow { slot } => {
            let mut lines = marks(before, &was, after, &is, *slot, look);
            lines.extend(lapses(&is, *slot, look));
            lines
        }
        Order::Settled { entry } => went_wrong(&was, *entry, look),
    })
}

/// What was wrong with a dose, against the calendar and in how it was measured.
fn went_wrong(was: &Standing, entry: u64, look: &Look) -> Vec<String> {
    let remarks = was.course.remarks.iter();
    let remarks = remarks.filter(|remark| remark.record == Some(entry));
    let remarks = remarks.map(|remark| {
        let dose = remark.slot.map(|slot| format!("dose {slot}: "));
        format!("{}{}", dose.unwrap_or_default(), remark.what.fact())
    });
    let flagged = flagged(was, look.settings, look.now).into_iter();
    let flagged = flagged.filter(|flagged| flagged.dose.entry == entry);
    remarks
        .chain(flagged.map(|flagged| flagged.words))
        .collect()
}

/// The old mark and the new of the first dose that an order holds for.
fn marks(
    before: &Ledger,
    was: &Standing,
    after: &Ledger,
    is: &Standing,
    from: u32,
    look: &Look,
) -> Vec<String> {
    let first = |standing: &Standing| {
        let slots = standing.course.slots.iter();
        let mut waiting = slots.filter(|slot| slot.slot.number >= from && slot.waits());
        waiting.next().map(|slot| slot.slot.number)
    };
    let Some(number) = first(was).or(first(is)) else {
        return vec!["No dose that waits is changed by it.".to_owned()];
    };
    let said = |ledger: &Ledger, standing: &Standing| {
        let slot = standing.course.slot(number)?;
        let day = local_date(look.now, look.zone);
        let pick = Pick::default();
        let dose = day_dose(
            ledger,
            look.settings,
            standing,
            slot,
            pick,
            day,
            look.now,
            look.zone,
        );
        Some(in_words(&dose))
    };
    let (old, new) = (said(before, was), said(after, is));
    let line = |lead: &str, words: Option<String>| {
        words.map(|words| format!("{lead} dose {number}: {words}"))
    };
    if old == new {
        return line("As before,", old).into_iter().collect();
    }
    let lines = [line("Before,", old), line("From now,", new)];
    lines.into_iter().flatten().collect()
}

/// "10 mg/kg by 46 g on Mon 5 March, 3 days old, from bottle 1 (8 mg/mL): 0.055 mL".
fn in_words(dose: &DayDose) -> String {
    let weight = dose
        .worked
        .as_ref()
        .and_then(|worked| worked.weight.as_ref());
    let by = weight.map(|used| format!(" by {}", say::weight(used)));
    let strength = dose
        .must_read
        .as_ref()
        .map(|strength| format!(" ({strength})"));
    let strength = strength.unwrap_or_default();
    let from = match dose.in_hand {
        InHand::Bottle(bottle) if bottle.reads(dose.must_read.as_ref()) => {
            format!(", from bottle {}{strength}", bottle.number)
        }
        InHand::Bottle(bottle) => {
            let wanted = strength.replacen('(', "(must read ", 1);
            format!(", from bottle {}{wanted}", bottle.number)
        }
        InHand::Gone(_) | InHand::Unopened | InHand::Reads(_) | InHand::OnPaper => {
            format!(", no bottle open{strength}")
        }
    };
    let mark = match dose.worked.as_ref().map(|worked| &worked.mark) {
        Some(Ok(drawn)) => {
            let spoken = drawn.chosen.instrument.spoken(drawn.chosen.mark.lines);
            match drawn.chosen.mark.draws {
                1 => spoken.to_string(),
                draws => format!("{spoken}, {draws} times"),
            }
        }
        Some(Err(reasons)) => match reasons.first() {
            Some(reason) => format!("no mark: {reason}"),
            None => "no mark".to_owned(),
        },
        None => "as your vet wrote it".to_owned(),
    };
    format!(
        "{}{}{from}: {mark}",
        dose.dose.text(),
        by.unwrap_or_default()
    )
}

/// Which doses go away, and which come.
fn doses(was: &Standing, is: &Standing, look: &Look) -> Vec<String> {
    let pending = |standing: &Standing| -> Vec<u32> {
        let slots = standing.course.slots.iter();
        let slots = slots.filter(|slot| slot.waits());
        slots.map(|slot| slot.slot.number).collect()
    };
    let (before, after) = (pending(was), pending(is));
    let gone: Vec<u32> = before
        .iter()
        .copied()
        .filter(|number| !after.contains(number))
        .collect();
    let come: Vec<u32> = after
        .iter()
        .copied()
        .filter(|number| !before.contains(number))
        .collect();
    let mut lines = Vec::new();
    if !gone.is_empty() {
        lines.push(format!("Not to be given: {}.", numbers(&gone)));
    }
    if !come.is_empty() {
        lines.push(format!("To be given as well: {}.", numbers(&come)));
    }
    if gone.is_empty() && come.is_empty() {
        lines.push("No dose that waits is changed by it.".to_owned());
    }
    let next = is.course.next.and_then(|number| is.course.slot(number));
    lines.push(match next {
        Some(next) => format!("Then next: {}.", waiting(next, look.zone, look.now)),
        None => "Then no dose of this course is left.".to_owned(),
    });
    lines
}

/// "dose 4", "doses 4 to 7", "doses 2 and 5".
fn numbers(all: &[u32]) -> String {
    let (Some(first), Some(last)) = (all.first(), all.last()) else {
        return String::new();
    };
    let in_a_row = usize::try_from(last - first).is_ok_and(|apart| apart + 1 == all.len());
    match all {
        [one] => format!("dose {one}"),
        [one, two] => format!("doses {one} and {two}"),
        _ if in_a_row => format!("doses {first} to {last}"),
        [most @ .., last] => {
            let most: Vec<String> = most.iter().map(ToString::to_string).collect();
            format!("doses {} and {last}", most.join(", "))
        }
        [] => String::new(),
    }
}

/// Until when a dose may be given on the vet's word.
fn lapses(is: &Standing, number: u32, look: &Look) -> Option<String> {
    let slot = is.course.slot(number)?;
    let gap = slot.slot.gap_after.or(slot.slot.gap_before);
    let reach = gap.map_or(TimeDelta::hours(12), |gap| gap / 2);
    let at = is
        .patient
        .instructions
        .iter()
        .filter(|said| said.instruction.order == Order::DoseNow { slot: number })
        .map(|said| said.at)
        .max()?;
    let lapsed = at + reach < look.now;
    let until = when::say(at + reach, look.zone);
    Some(if lapsed {
        format!("It lapsed {until} (half the time to the dose beside it): call again.")
    } else if slot.gate.is_open() {
        format!("It may be given until {until}, and that lapses with the next dose that is given.")
    } else {
        "It still may not be given: look at 'scruple today' for what comes first.".to_owned()
    })
}
