//! What lies ahead, for paper that is made before it is needed: a course as dates, the days by
//! which to weigh, the animals to weigh.
//!
//! Promises: a mark beyond today is the one formula's at today's weight, and is called provisional
//! by whoever prints it; a slot that nothing can measure says why. It moves no dose and shows no
//! mark of today that the calendar holds back.

use crate::caution::{NoMark, Whose};
use crate::entry::short_code;
use crate::ledger::{Ledger, Patient, Script};
use crate::prescription::Dose;
use crate::quantity::Span;
use crate::round::dose::dose_now;
use crate::round::stock::{Supply, stock};
use crate::round::{
    DayDose, FollowUp, Need, Pick, Standing, courses, day_dose, follow_ups, left, order, say,
};
use crate::schedule::{ScheduleError, Zone, local_date};
use crate::settings::Settings;
use chrono::{DateTime, Days, NaiveDate, Utc};

/// A course as it lies ahead.
#[derive(Debug)]
pub struct Ahead<'l> {
    /// The course and its verdict.
    pub standing: Standing<'l>,
    /// Its slots, in order.
    pub slots: Vec<SlotAhead>,
    /// By these days the animal wants weighing, if every weighing happens on the last of them.
    pub weigh_by: Vec<NaiveDate>,
    /// Every how many days a weight is renewed, and who says so; none where no dose goes by it.
    pub weigh_every: Option<(u32, Whose)>,
    /// What the slots that wait still take.
    pub left: Option<Need>,
    /// What the medicine's courses need together against what is in hand; none where this one
    /// needs nothing more.
    pub supply: Option<Supply<'l>>,
    /// What the vet wants beside the doses.
    pub follow_ups: Vec<FollowUp<'l>>,
    /// Made from what the dates and marks depend on: another code, an old sheet.
    pub code: String,
}

/// One slot with its mark.
#[derive(Debug)]
pub struct SlotAhead {
    /// The slot as it stands.
    pub slot: crate::course::Standing,
    /// The dose as the vet wrote it, or has since said.
    pub dose: Dose,
    /// The mark or why there is none; nothing where nobody waits for it, or it is not measured.
    pub mark: Option<MarkAhead>,
}

/// A mark on paper that is made before it is needed.
#[derive(Debug)]
pub struct MarkAhead {
    /// The line, or why there is none: "0.075 mL", "2 draws of 1.8 mL", "no mark: ...".
    pub words: String,
    /// Whether there is one.
    pub is_mark: bool,
    /// It is for a day after today, by today's weight and bottle.
    pub provisional: bool,
    /// The mark holds only after a call.
    pub call_first: bool,
    /// The weight that the mark is made from, with its date, and its age on the day it is for.
    pub weight: Option<String>,
    /// Something stands against it, so that nothing is to be drawn or applied.
    held: bool,
}

impl MarkAhead {
    /// Whether something stands against the dose, measured or not.
    pub const fn is_held(&self) -> bool {
        self.held
    }
}

/// The mark of a dose as paper says it that is made on `today` for another day, or for that one.
/// What the calendar holds back today may well be given on its day; whatever time alone does not
/// lift leaves no mark on paper either.
pub fn mark_ahead(dose: &DayDose, due: NaiveDate, today: NaiveDate) -> MarkAhead {
    let provisional = due > today;
    let why = dose.why_not(provisional);
    let held = why.is_some();
    let worked = dose.worked.as_ref().filter(|_| why.is_none());
    let drawn = worked.and_then(|worked| worked.mark.as_ref().ok());
    let words = match (drawn, why) {
        (_, Some(NoMark::Unsettled { entry, .. })) => {
            format!("no mark: Your vet has not spoken about entry {entry}")
        }
        (_, Some(why)) => format!("no mark: {}", why.headline()),
        (Some(drawn), None) => {
            let chosen = &drawn.chosen;
            let spoken = chosen.instrument.spoken(chosen.mark.lines);
            match chosen.mark.draws {
                1 => spoken.to_string(),
                draws => format!("{draws} draws, each: {spoken}"),
            }
        }
        (None, None) => "in your vet's words".to_owned(),
    };
    MarkAhead {
        words,
        is_mark: drawn.is_some(),
        provisional,
        call_first: drawn.is_some() && dose.call_first(),
        weight: worked
            .and_then(|worked| worked.weight.as_ref())
            .map(say::weight),
        held,
    }
}

/// Lays a course out as it lies ahead.
///
/// # Errors
/// [`ScheduleError`] where its schedule cannot be laid out.
pub fn ahead<'l>(
    ledger: &'l Ledger,
    settings: &'l Settings,
    patient: &'l Patient,
    script: &'l Script,
    zone: Zone,
    now: DateTime<Utc>,
) -> Result<Ahead<'l>, ScheduleError> {
    let course = crate::course::judge_in(ledger, patient, script, zone, now)?;
    let standing = Standing {
        patient,
        script,
        course,
    };
    let today = local_date(now, zone);
    let mut slots = Vec::new();
    for slot in &standing.course.slots {
        let dose = dose_now(patient, script, slot, now);
        let due = slot.due.date(zone);
        let mark = slot.waits().then(|| {
            // By the bottle and the age of the weight on its day, as the day's card will.
            let (day, pick) = (due.max(today), Pick::default());
            let worked = day_dose(ledger, settings, &standing, slot, pick, day, now, zone);
            mark_ahead(&worked, due, today)
        });
        let mark = mark.filter(|mark| dose.is_measured() || mark.is_held());
        slots.push(SlotAhead {
            slot: slot.clone(),
            dose,
            mark,
        });
    }
    let weigh_every = weigh_every(script, settings, &slots);
    let lines: Vec<String> = slots
        .iter()
        .map(|slot| format!("{:?} {} {:?}", slot.slot.due, slot.slot.state, slot.mark))
        .collect();
    let name = &patient.animal.name;
    let code = short_code(format!("course {name} {} {lines:?}", script.entry).as_bytes());
    Ok(Ahead {
        weigh_by: weigh_by(patient, &slots, weigh_every.map(|(n, _)| n), zone, now),
        weigh_every,
        left: left(ledger, settings, &standing, now, zone),
        supply: stock(ledger, settings, zone, now)?
            .into_iter()
            .find(|supply| supply.is_of(patient, script)),
        follow_ups: follow_ups(&standing, zone, now),
        code,
        slots,
        standing,
    })
}

fn weigh_every(script: &Script, settings: &Settings, slots: &[SlotAhead]) -> Option<(u32, Whose)> {
    slots.iter().find(|slot| slot.dose.rate().is_some())?;
    Some(renewed_every(script, settings))
}

/// Every how many days a weight is renewed, and who says so.
fn renewed_every(script: &Script, settings: &Settings) -> (u32, Whose) {
    match &script.prescription.weigh_every {
        Some(every) => match every.value() {
            Span::Days(days) => (days, Whose::Vet),
            Span::Hours(hours) => (hours.div_ceil(24), Whose::Vet),
        },
        None => {
            let setting = settings.weight_age_days;
            (setting.value, setting.whose())
        }
    }
}

/// From the latest weighing on, the last days on which no weight is too old, up to the last dose.
fn weigh_by(
    patient: &Patient,
    slots: &[SlotAhead],
    every: Option<u32>,
    zone: Zone,
    now: DateTime<Utc>,
) -> Vec<NaiveDate> {
    let waiting = slots.iter().filter(|slot| slot.slot.waits());
    let last = waiting.map(|slot| slot.slot.due.date(zone)).max();
    let (Some(every), Some(last)) = (every, last) else {
        return Vec::new();
    };
    weighing_days(patient, &[(every, last)], zone, now)
}

/// The same for several courses: each renews the weight every so many days and ends on a day.
fn weighing_days(
    patient: &Patient,
    courses: &[(u32, NaiveDate)],
    zone: Zone,
    now: DateTime<Utc>,
) -> Vec<NaiveDate> {
    let today = local_date(now, zone);
    let next = |weighed: NaiveDate| {
        let each = courses.iter().filter(|(every, _)| *every > 0);
        let each = each.map(|(every, last)| (weighed + Days::new(u64::from(*every)), *last));
        let each = each.map(|(day, last)| (day.max(today), last));
        each.filter(|(day, last)| day <= last)
            .map(|(day, _)| day)
            .min()
    };
    let latest = patient.weights.latest(now);
    let first = match latest {
        Some(weighing) => next(weighing.day(zone)),
        None => courses
            .iter()
            .any(|(_, last)| *last >= today)
            .then_some(today),
    };
    std::iter::successors(first, |day| next(*day)).collect()
}

/// A day on which an animal is to be weighed for its doses.
#[derive(Clone, Debug)]
pub struct WeighDay<'l> {
    /// The animal.
    pub patient: &'l Patient,
    /// The day.
    pub on: NaiveDate,
    /// Its vet wants a weight of that very day; else any day up to it will do.
    pub that_day: bool,
}

/// The days on which animals are to be weighed for the doses of their courses, through `last`, in
/// order of time and work.
///
/// # Errors
/// [`ScheduleError`], as [`courses`].
pub fn weigh_days<'l>(
    ledger: &'l Ledger,
    settings: &Settings,
    zone: Zone,
    now: DateTime<Utc>,
    last: NaiveDate,
) -> Result<Vec<WeighDay<'l>>, ScheduleError> {
    let today = local_date(now, zone);
    let mut days: Vec<WeighDay> = Vec::new();
    let mut wanted: Vec<(&Patient, Vec<(u32, NaiveDate)>)> = Vec::new();
    for standing in courses(ledger, zone, now)? {
        let (patient, script) = (standing.patient, standing.script);
        let by_weight =
            standing.course.slots.iter().filter(|slot| {
                slot.waits() && dose_now(patient, script, slot, now).rate().is_some()
            });
        let due: Vec<NaiveDate> = by_weight.map(|slot| slot.due.date(zone)).collect();
        if script.prescription.weigh_before_each_dose {
            let within = due.into_iter().filter(|on| *on >= today && *on <= last);
            days.extend(within.map(|on| WeighDay {
                patient,
                on,
                that_day: true,
            }));
        } else if let Some(end) = due.into_iter().max() {
            let (every, _) = renewed_every(script, settings);
            let name = &patient.animal.name;
            match wanted
                .iter_mut()
                .find(|(known, _)| known.animal.name == *name)
            {
                Some((_, courses)) => courses.push((every, end.min(last))),
                None => wanted.push((patient, vec![(every, end.min(last))])),
            }
        }
    }
    for (patient, courses) in wanted {
        let each = weighing_days(patient, &courses, zone, now).into_iter();
        days.extend(each.map(|on| WeighDay {
            patient,
            on,
            that_day: false,
        }));
    }
    // Of one day the stricter one stands.
    let came_in = |name: &str| ledger.animals.iter().position(|p| p.animal.name == name);
    days.sort_by_key(|day| {
        let animal = &day.patient.animal;
        (
            day.on,
            order::place(animal, settings),
            came_in(&animal.name),
            !day.that_day,
        )
    });
    days.dedup_by(|later, kept| {
        later.on == kept.on && later.patient.animal.name == kept.patient.animal.name
    });
    Ok(days)
}

/// The animals that are here, in order of work.
pub fn here<'l>(ledger: &'l Ledger, settings: &Settings, now: DateTime<Utc>) -> Vec<&'l Patient> {
    let gone = |patient: &&Patient| patient.end.as_ref().is_none_or(|(at, _)| *at > now);
    let mut all: Vec<&Patient> = ledger.animals.iter().filter(gone).collect();
    all.sort_by_key(|patient| order::place(&patient.animal, settings));
    all
}

/// The code of a sheet for weighing: made from who is here and what each weighed last.
pub fn weigh_code(patients: &[&Patient], now: DateTime<Utc>) -> String {
    let each = patients.iter().map(|patient| {
        let latest = patient.weights.latest(now).map(|weighing| weighing.entry);
        format!("{} {latest:?}", patient.animal.name)
    });
    short_code(format!("weigh {:?}", each.collect::<Vec<_>>()).as_bytes())
}
