//! What a record of a dose comes to, judged as it was at the moment it happened: which dose, the
//! mark then, and why it should not have been.
//!
//! Promises: the same ledger gives the same record, so it can be judged again inside the book's
//! transaction; a volume is shown only where the calendar allows a mark.

use crate::caution::{Caution, Level, NoMark};
use crate::cli::animal::clean;
use crate::cli::end::had_left;
use crate::cli::failure::Failure;
use crate::cli::give::site::site;
use crate::cli::give::{About, How, taken};
use crate::cli::when;
use crate::course::{Course, Standing as Slot, State, judge_in};
use crate::dose::{InHand, leap, limits};
use crate::entry::{DoseRecord, MarkThen, Outcome};
use crate::ledger::Ledger;
use crate::notation::{Written, print};
use crate::quantity::{Amount, Exact, Measure};
use crate::rack::Syringe;
use crate::round::{DayDose, Pick, Standing, dose_then, say, typed_name};
use crate::schedule::Zone;
use crate::settings::Settings;
use chrono::{DateTime, Utc};

/// A record with everything to show about it.
pub(super) struct Judged {
    pub record: DoseRecord,
    pub animal: String,
    pub reference: String,
    pub head: String,
    /// What to see before it is recorded, that is no reason against it.
    pub notes: Vec<String>,
    /// Why it should not have happened; the vet is to be called.
    pub loud: Vec<String>,
    /// What was drawn is far from the dose; how far, as the words between the two.
    pub slip: Option<(Written<Amount>, String)>,
    pub phone: String,
}

/// Where the command looks from.
pub(super) struct From<'a> {
    pub settings: &'a Settings,
    pub zone: Zone,
    /// When it happened.
    pub at: DateTime<Utc>,
    /// The moment of recording.
    pub now: DateTime<Utc>,
    /// Whether that is past, so that it is recorded afterwards.
    pub afterwards: bool,
    /// The clock's reason against it, if it has one.
    pub clock: Option<NoMark>,
}

pub(super) fn judged(
    ledger: &Ledger,
    from: &From,
    about: &About,
    how: &How,
) -> Result<Judged, Failure> {
    let (zone, at) = (from.zone, from.at);
    let patient = ledger
        .animal(&about.animal)
        .map_err(Failure::not_accepted)?;
    let script = ledger
        .script(&about.prescription)
        .map_err(Failure::not_accepted)?;
    let prescription = &script.prescription;
    let (animal, reference) = (&patient.animal.name, &prescription.reference);
    if !prescription.is_for(animal) {
        let own = ledger.scripts_of(patient).map(|own| &own.prescription);
        let own = own.filter(|own| own.shares_medicine(prescription)).last();
        // As a dose of its own course it holds the next one.
        let record = match own {
            Some(own) => format!(
                "scruple give {} {} --drawn AMOUNT",
                typed_name(animal),
                typed_name(&own.reference)
            ),
            None => format!("scruple note {} WORDS", typed_name(animal)),
        };
        return Err(Failure::not_accepted(format!(
            "prescription {reference} is not for {animal}, but for {}: check the animal in your hand. If {animal} was given it all the same, call {} now, and write it down with '{record}'",
            prescription.animals.join(", "),
            prescription.vet.phone,
        )));
    }
    let course = judge_in(ledger, patient, script, zone, at).map_err(Failure::failed)?;
    let standing = Standing {
        patient,
        script,
        course,
    };
    let slot = slot_meant(&standing.course, how.outcome, about.dose, at, zone)?;
    // What became of a dose that is still to come nobody can say, unless it is named.
    let not_yet = matches!(slot.state, State::Planned | State::TooSoon);
    let unnamed = !how.outcome.has_its_own_time() && about.dose.is_none();
    if not_yet && unnamed && how.outcome != Outcome::Missed {
        return Err(Failure::not_accepted(format!(
            "dose {} is only due {}: if it is the one you mean, add --dose {}; if another was meant, name that",
            slot.slot.number,
            say::due(slot.due, zone),
            slot.slot.number
        )));
    }
    if how.outcome == Outcome::Missed && not_yet {
        return Err(Failure::not_accepted(format!(
            "dose {} is due {} and is not missed yet: if your vet wants it left out, write 'scruple instruct'; if another was meant, name it with --dose",
            slot.slot.number,
            say::due(slot.due, zone)
        )));
    }
    let left_out = matches!(how.outcome, Outcome::Missed | Outcome::Withheld);
    let went_in = slot.filled_by.filter(|record| record.outcome.went_in());
    if let Some(record) = went_in.filter(|_| left_out) {
        return Err(Failure::not_accepted(format!(
            "dose {} is recorded as {} on {} (entry {}): if that is wrong, strike it out first, with 'scruple correct {} --because WORDS'",
            slot.slot.number,
            record.outcome,
            say::moment_from(record.happened, from.now, zone),
            record.id,
            record.id
        )));
    }
    let site_typed = how.site.as_deref().map(|typed| site(prescription, typed));
    let (site_typed, about_site) = site_typed.transpose()?.unzip();
    let syringe = syringe_named(ledger, how, prescription.route.used_for())?;
    if let Some(number) = how.bottle {
        let bottle = &ledger.bottle(number).map_err(Failure::not_accepted)?.bottle;
        if !prescription.same_medicine(&bottle.medicine) {
            return Err(Failure::not_accepted(format!(
                "bottle {number} holds {}, not {}: read the label again. If that is what went in, call {} now, and record this dose as missed with a --note",
                bottle.medicine, prescription.medicine.name, prescription.vet.phone
            )));
        }
    }
    let pick = Pick {
        bottle: how.bottle,
        syringe,
    };
    let day = at.with_timezone(&zone).date_naive();
    let clock = from.clock.clone();
    let mut dose = dose_then(
        ledger,
        from.settings,
        &standing,
        slot,
        pick,
        day,
        at,
        zone,
        clock,
    );
    // A dose brought up after it was given is about that dose, and no dose of its own.
    let after_given = how.outcome == Outcome::BroughtUp && slot.state == State::Given;
    if after_given {
        dose.no_mark.clear();
    }
    if let Some(opens) = dose
        .not_before()
        .filter(|_| !after_given && goes_in(how.outcome))
    {
        dose.no_mark.push(too_soon(&dose, opens, zone));
    }
    let unanswered = if from.afterwards {
        leave_to_be_answered(&mut dose, zone)
    } else {
        None
    };
    as_it_is_measured(&dose, how)?;
    let off = off_the_dose(&dose, how, from.settings);
    let record = as_record(&dose, about, how, syringe, after_given, &off, site_typed)?;
    let what = match (&record.drawn, &record.mark) {
        (Some(drawn), _) => format!(", {drawn}"),
        (None, Some(mark)) => format!(", {}", mark.total),
        _ => String::new(),
    };
    let site = record
        .site
        .as_ref()
        .map(|site| format!(", {}", crate::round::say::site(site)));
    let late = if slot.state == State::Late && goes_in(how.outcome) {
        ", LATE"
    } else {
        ""
    };
    let when = when::say(at, zone);
    let became = match how.outcome {
        Outcome::Unsure => format!("unsure; if it was given, then by {when}"),
        Outcome::Missed | Outcome::Withheld => format!("{}, said {when}", how.outcome),
        outcome => format!("{outcome} {when}"),
    };
    let head = format!(
        "{animal}, {} ({reference}, {}): {became}{late}{what}{}.",
        prescription.medicine.name,
        say::dose_of(&dose),
        site.unwrap_or_default(),
    );
    let mut loud = if after_given {
        Vec::new()
    } else {
        loud(&dose, how, &off, zone)
    };
    loud.extend(given_since(ledger, from, &standing, how.outcome, slot)?);
    let mut notes = notes(&dose, how, &record, &off);
    if let Some(left) = had_left(patient, at, zone) {
        match goes_in(how.outcome) {
            true => loud.insert(0, left),
            false => notes.push(left),
        }
    }
    notes.extend(about_site.flatten());
    notes.extend(when::long_ago(at, from.now, zone));
    notes.extend(unanswered.map(|number| {
        format!("Dose {number} has not been answered for yet: record what became of it next.")
    }));
    Ok(Judged {
        notes,
        record,
        animal: animal.clone(),
        reference: reference.clone(),
        head,
        loud,
        slip: how.drawn.clone().zip(off.leap),
        phone: prescription.vet.phone.clone(),
    })
}

/// Of what is recorded afterwards, an earlier dose that nobody has answered for is no reason
/// against it: papers are typed in in any order. What that reason stood before still is one.
fn leave_to_be_answered(dose: &mut DayDose, zone: Zone) -> Option<u32> {
    let place = dose
        .no_mark
        .iter()
        .position(|reason| matches!(reason, NoMark::EarlierUnanswered { .. }))?;
    let NoMark::EarlierUnanswered { number } = dose.no_mark.remove(place) else {
        return None;
    };
    let closed = matches!(dose.slot.state, State::Planned | State::TooSoon);
    if let Some(opens) = dose.slot.opens.filter(|_| closed) {
        dose.no_mark.insert(place, too_soon(dose, opens, zone));
    }
    Some(number)
}

/// Why a dose that opens only later should not have gone in.
fn too_soon(dose: &DayDose, opens: DateTime<Utc>, zone: Zone) -> NoMark {
    let opens = when::say(opens, zone);
    let last = dose.last.map(|last| when::say(last.happened, zone));
    NoMark::TooSoon { opens, last }
}

/// That the same dose is recorded already for a later moment: two people may have given it, or one
/// dose is being written down twice.
fn given_since(
    ledger: &Ledger,
    from: &From,
    then: &Standing,
    outcome: Outcome,
    slot: &Slot,
) -> Result<Option<String>, Failure> {
    if !goes_in(outcome) || outcome == Outcome::BroughtUp {
        return Ok(None);
    }
    let course = judge_in(ledger, then.patient, then.script, from.zone, from.now)
        .map_err(Failure::failed)?;
    let number = slot.slot.number;
    let doses = course
        .slot(number)
        .into_iter()
        .flat_map(|slot| &slot.records);
    let since = doses
        .filter(|record| record.happened > from.at && record.outcome.closes_the_gate())
        .min_by_key(|record| record.happened);
    Ok(since.map(|record| {
        format!(
            "Dose {number} is recorded already as {} {} (entry {}). If this is about that same dose, type no.",
            record.outcome,
            when::say(record.happened, from.zone),
            record.id
        )
    }))
}

/// Whether medicine surely went in.
fn goes_in(outcome: Outcome) -> bool {
    outcome.went_in()
}

/// The dose a record is for: the one named; else, of what happened at a moment of its own, the
/// nearest by due time; else the one open, the first that waits, or the last of the course.
fn slot_meant(
    course: &Course,
    outcome: Outcome,
    named: Option<u32>,
    at: DateTime<Utc>,
    zone: Zone,
) -> Result<&Slot, Failure> {
    let found = match named {
        Some(number) => course.slot(number),
        None if outcome.has_its_own_time() => course.belongs_to(outcome, at, zone),
        None => {
            let last = course.slots.last().map(|slot| slot.slot.number);
            let number = course.actionable.or(course.next).or(last);
            number.and_then(|number| course.slot(number))
        }
    };
    found.ok_or_else(|| {
        Failure::not_accepted(format!(
            "this course has doses 1 to {}: write one of those numbers",
            course.slots.len()
        ))
    })
}

/// The syringe named, of the right use where there is one; one of the wrong use was used if the
/// person says so, and is pointed out.
fn syringe_named<'l>(
    ledger: &'l Ledger,
    how: &How,
    used_for: crate::rack::Use,
) -> Result<Option<&'l Syringe>, Failure> {
    let Some(typed) = how.syringe else {
        return Ok(None);
    };
    ledger
        .syringe(typed, Some(used_for))
        .or_else(|fault| ledger.syringe(typed, None).map_err(|_| fault))
        .map(Some)
        .map_err(|fault| {
            let fault = fault.to_string();
            let end = if fault.ends_with('?') { "" } else { "." };
            Failure::not_accepted(format!(
                "{fault}{end} If you used another, add it first with 'scruple syringe add'"
            ))
        })
}

/// What was measured out is of the dose's own kind: nobody draws a tablet or counts a liquid.
fn as_it_is_measured(dose: &DayDose, how: &How) -> Result<(), Failure> {
    let calculated = dose.worked.as_ref().and_then(|worked| worked.calculated);
    let (Some(drawn), Some(calculated)) = (&how.drawn, calculated) else {
        return Ok(());
    };
    match drawn.value().measure(None) {
        Ok(measure) if measure.over(calculated.measure).is_err() => {
            let unit = match calculated.measure {
                Measure::Volume(_) => "mL",
                Measure::Product(_) => "g of paste",
                Measure::Tablets(_) => "tablets",
            };
            Err(Failure::not_accepted(format!(
                "this dose is measured out in {unit}, not as {drawn}: write what was given in {unit}; if it was something else that went in, call {} now",
                dose.script.prescription.vet.phone
            )))
        }
        _ => Ok(()),
    }
}

/// How far what was drawn is from the dose.
struct Off {
    /// The share off, with the limit beyond which no mark would be shown, where it is beyond.
    beyond: Option<(Exact, Exact)>,
    /// How many times as much or as little, where that is many.
    leap: Option<String>,
}

fn off_the_dose(dose: &DayDose, how: &How, settings: &Settings) -> Off {
    let none = Off {
        beyond: None,
        leap: None,
    };
    let calculated = dose.worked.as_ref().and_then(|worked| worked.calculated);
    let drawn = how.drawn.as_ref();
    let drawn = drawn.and_then(|drawn| drawn.value().measure(None).ok());
    let (Some(drawn), Some(calculated)) = (drawn, calculated) else {
        return none;
    };
    let calculated = calculated.measure;
    let Ok(ratio) = drawn.over(calculated) else {
        return none;
    };
    let tolerance = dose.script.prescription.tolerance.as_ref();
    let (limits, _) = limits(tolerance.map(Written::value), settings);
    let share = ratio.minus(Exact::ONE).unwrap_or(Exact::ZERO);
    // Less went in than the dose is just what "partly" says.
    let meant = how.outcome == Outcome::PartlyGiven && share.is_negative();
    Off {
        beyond: (share.abs() > limits.none_above && !meant).then_some((share, limits.none_above)),
        leap: leap(ratio).filter(|_| !meant),
    }
}

fn as_record(
    dose: &DayDose,
    about: &About,
    how: &How,
    named: Option<&Syringe>,
    after_given: bool,
    off: &Off,
    site: Option<String>,
) -> Result<DoseRecord, Failure> {
    let goes_in = goes_in(how.outcome) && !after_given;
    let drawn = dose.drawn().filter(|_| goes_in);
    let weight = dose.worked.as_ref().and_then(|w| w.weight.as_ref());
    let mark = drawn.map(|drawn| MarkThen {
        lines: drawn.chosen.mark.lines,
        draws: drawn.chosen.mark.draws,
        total: print::measure(drawn.chosen.mark.total).text,
        held: print::amount(drawn.held).to_string(),
        weight: weight.map(|used| used.weight.clone()),
        strength: dose.must_read.clone(),
    });
    let total = drawn.map(|drawn| drawn.chosen.mark.total);
    let at_mark = match (&how.drawn, total) {
        (Some(typed), Some(total)) => typed.value().measure(None) == Ok(total),
        (None, Some(_)) => true,
        (_, None) => dose.worked.is_none(),
    };
    let chosen = drawn.and_then(|drawn| drawn.chosen.instrument.syringe());
    let site = site.or_else(|| dose.site.filter(|_| goes_in).map(|site| site.words()));
    let bottle = match dose.in_hand {
        InHand::Bottle(bottle) | InHand::Gone(bottle) if goes_in => Some(bottle.number),
        _ => None,
    };
    let mut flags = Vec::new();
    if goes_in {
        flags.extend(dose.no_mark.iter().map(|reason| reason.code().to_owned()));
        flags.extend(off.beyond.map(|_| "drawn_far_off".to_owned()));
    }
    let clean = |what, text: &Option<String>| {
        let text = text.as_deref();
        text.map(|text| clean(what, text)).transpose()
    };
    // What happened at a moment of its own is tied to the slot nearest to it, so that the order
    // of writing changes nothing; an answer is for the slot it was asked about.
    let answers = !how.outcome.has_its_own_time();
    Ok(DoseRecord {
        outcome: how.outcome,
        slot: about
            .dose
            .or_else(|| answers.then_some(dose.slot.slot.number)),
        by: clean("the initials", &about.by)?,
        site,
        bottle,
        syringe: chosen.or(named).filter(|_| goes_in).cloned(),
        drawn: how.drawn.clone(),
        mark,
        at_mark: at_mark && goes_in,
        flags,
        note: clean("the note", &about.note)?,
    })
}

/// Why this dose should not go in, or should not have.
fn loud(dose: &DayDose, how: &How, off: &Off, zone: Zone) -> Vec<String> {
    if !goes_in(how.outcome) {
        return Vec::new();
    }
    let mut loud = Vec::new();
    let number = dose.slot.slot.number;
    // The vet may have had it given again.
    let answered = dose.slot.state.is_answered() && !dose.slot.gate.is_open();
    if answered {
        let by = dose.slot.filled_by.or(dose.slot.records.last().copied());
        let when = by.map(|by| format!(" {}", when::say(by.happened, zone)));
        let mend = by.map(|by| {
            format!(
                " If this is that same dose once more, type no: nothing is left to do. If entry {} is not what happened, type no, strike it out (scruple correct {} --because WORDS) and record what did.",
                by.id, by.id
            )
        });
        loud.push(format!(
            "Dose {number} has been answered for already: {}{}.{}",
            dose.slot.state,
            when.unwrap_or_default(),
            mend.unwrap_or_default()
        ));
    }
    // That the dose is answered for has just been said.
    let others = dose
        .no_mark
        .iter()
        .filter(|reason| !(answered && matches!(reason, NoMark::Held { .. })));
    loud.extend(others.map(NoMark::to_string));
    if let Some((share, limit)) = off.beyond {
        loud.push(format!(
            "What was {} is {} {} than the dose; no mark is shown above {}.",
            how.drawn.as_ref().map_or("drawn", taken),
            print::percent(share, Some(limit)),
            if share.is_negative() { "less" } else { "more" },
            print::percent(limit, None)
        ));
    }
    loud
}

/// What to see before this is recorded: a loss that means "call", another volume than the mark.
fn notes(dose: &DayDose, how: &How, record: &DoseRecord, off: &Off) -> Vec<String> {
    let mut notes = Vec::new();
    if !goes_in(how.outcome) {
        return notes;
    }
    let phone = &dose.script.prescription.vet.phone;
    let cautions = dose.worked.iter().flat_map(|worked| &worked.cautions);
    for caution in cautions.filter(|caution| caution.level() == Level::Call) {
        notes.push(format!("CALL {phone} first. {caution}"));
    }
    let weigh_now = dose.worked.iter().flat_map(|worked| &worked.cautions);
    for caution in weigh_now.filter(|caution| matches!(caution, Caution::WeighNow { .. })) {
        notes.push(caution.to_string());
    }
    let other =
        |mark: &&MarkThen| !record.at_mark && off.beyond.is_none() && !mark.total.is_empty();
    if let (Some(drawn), Some(mark)) = (&record.drawn, record.mark.as_ref().filter(other)) {
        notes.push(format!(
            "The mark was {}; {drawn} was {}. Both are recorded.",
            mark.total,
            taken(drawn)
        ));
    }
    if record.drawn.is_none() && record.mark.is_none() && dose.worked.is_some() {
        notes
            .push("Nobody has said how much was drawn: add --drawn AMOUNT if you know.".to_owned());
    }
    notes
}
