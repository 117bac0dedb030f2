//! An entry of the book in words.
//!
//! Promises: every kind of entry can be said, with when it happened; what a person wrote stands in
//! quotation marks. It judges nothing: an entry that is struck out reads as it was written.

use crate::entry::{DoseRecord, Entry, Happening, Subject};
use crate::round::{said, say};
use crate::schedule::Zone;

/// What an entry says: "Thimblo, DEMO-0001: given Thu 8 March 19:30, 0.075 mL, by AK".
pub fn words(entry: &Entry, zone: Zone) -> String {
    let at = entry.happened_at.with_timezone(&zone);
    let at = at.format("%a %-d %B %Y %H:%M").to_string();
    let whose = match &entry.subject {
        Subject::Animal(name) => name.clone(),
        Subject::Prescription(reference) => format!("prescription {reference}"),
        Subject::Bottle(number) => format!("bottle {number}"),
        Subject::Settings => "the settings".to_owned(),
    };
    let course = entry.course.as_ref().map(|course| format!(", {course}"));
    let course = course.unwrap_or_default();
    match &entry.what {
        Happening::Settings(settings) => {
            format!(
                "settings of {at}: zone {}, scale {}",
                settings.what.zone, settings.what.readability
            )
        }
        Happening::Syringe(syringe) => {
            format!("a syringe came to hand {at}: {}", syringe.what.words())
        }
        Happening::Animal(animal) => format!(
            "{} came in {at}: {}; {}",
            animal.what.name, animal.what.species, animal.what.identification
        ),
        Happening::Weighing(weighed) => {
            let tag = weighed.tag.map(|tag| format!(" ({tag})"));
            let tag = tag.unwrap_or_default();
            format!(
                "{whose}: weighed {}{tag} {at}{}",
                weighed.weight,
                by(&weighed.by)
            )
        }
        Happening::Prescription(entered) => {
            format!(
                "{whose} was kept {at}, to start on {}",
                entered.start.format("%-d %B %Y")
            )
        }
        Happening::Bottle(bottle) => format!(
            "bottle {} was written into the book {at}: {}, reads {}",
            bottle.what.number,
            bottle.what.medicine,
            bottle
                .what
                .strength
                .as_ref()
                .map_or("no strength", |strength| strength.text())
        ),
        Happening::BottleEnd(end) => {
            let how = if end.ran_dry { "empty" } else { "discarded" };
            format!("bottle {} was {how} {at}", end.bottle)
        }
        Happening::Dose(record) => format!("{whose}{course}: {}", dose(record, &at)),
        Happening::Correction(correction) => format!(
            "entry {} was struck out {at}: \"{}\"{}",
            correction.entry,
            correction.because,
            by(&correction.by)
        ),
        Happening::Instruction(instruction) => {
            let words = instruction.words.as_ref();
            let words = words.map(|words| format!(" \"{words}\""));
            format!(
                "{whose}{course}: {} to {}, {at}: {}{}",
                instruction.said_by,
                instruction.taken_by,
                said::order(&instruction.order),
                words.unwrap_or_default()
            )
        }
        Happening::End(end) => {
            format!(
                "{whose}: {} {at}{}{}",
                end.how,
                quoted(&end.note),
                by(&end.by)
            )
        }
        Happening::FollowUp(done) => format!(
            "{whose}{course}: \"{}\" was done {at}{}{}",
            done.what,
            quoted(&done.note),
            by(&done.by)
        ),
        Happening::Confirmation(confirmed) => {
            let what = match (confirmed.read_back, confirmed.paper_came) {
                (true, true) => "was read back and its paper came",
                (true, false) => "was read back",
                (false, _) => "has its paper",
            };
            format!(
                "{whose}{course}: entry {} {what}, {at}{}",
                confirmed.entry,
                by(&confirmed.by)
            )
        }
        Happening::Observation(seen) => format!(
            "{whose}: noted {at}, {}: \"{}\"{}",
            seen.about,
            seen.words,
            by(&seen.by)
        ),
        Happening::Thaw(thaw) => format!(
            "an aliquot of bottle {} was thawed on {}{}",
            thaw.bottle,
            thaw.on.format("%-d %B %Y"),
            by(&thaw.by)
        ),
        Happening::Left(seen) => format!(
            "bottle {} held {} {at}{}",
            seen.bottle,
            seen.left,
            by(&seen.by)
        ),
    }
}

/// The correction that struck an entry out, among the entries of its subject; the latest
/// where one was corrected itself.
pub fn taken_out_by(history: &[Entry], entry: u64) -> Option<u64> {
    let corrections = history.iter().rev().filter(|other| {
        matches!(&other.what, Happening::Correction(correction) if correction.entry == entry)
    });
    corrections.map(|correction| correction.seq).next()
}

/// What was wrong with a dose when it was recorded, in words, by the code kept with it.
fn flag(code: &str) -> &str {
    match code {
        "wrong_strength" => "the bottle read another strength",
        "bottle_expired" => "the bottle had expired",
        "bottle_past_discard" => "the bottle was past its discard date",
        "bottle_gone" => "the bottle was empty or discarded",
        "no_weight" => "there was no weight",
        "weight_too_old" => "the weight was too old",
        "too_small" | "beyond_tolerance" | "too_large" => "no line at hand measured it",
        "no_syringe" => "no syringe for this use",
        "only_insulin_barrels" => "an insulin barrel, for a medicine measured in units",
        "too_soon" => "too soon",
        "held" => "the dose was held, or answered for already",
        "earlier_unanswered" => "an earlier dose was not answered for",
        "late_call" => "late, without a call",
        "past_validity" => "the prescription had run out",
        "past_review" => "the review date had passed",
        "clock_behind" => "the clock was behind the book",
        "not_recorded" => "so late that it counted as not recorded",
        "unsettled" => "before your vet had spoken about an earlier dose",
        "drawn_far_off" => "another volume than the dose",
        other => other,
    }
}

/// What was wrong with a dose when it was recorded; nothing where nothing was.
pub fn flags(record: &DoseRecord) -> Option<String> {
    let mut words: Vec<&str> = record.flags.iter().map(|code| flag(code)).collect();
    words.dedup();
    (!words.is_empty()).then(|| words.join("; "))
}

fn dose(record: &DoseRecord, at: &str) -> String {
    let number = record.slot.map(|slot| format!("dose {slot} "));
    let volume = match (&record.drawn, &record.mark) {
        (Some(drawn), Some(mark)) if !record.at_mark => {
            format!(", {drawn} (the mark was {})", mark.total)
        }
        (Some(drawn), _) => format!(", {drawn}"),
        (None, Some(mark)) => format!(", {}", mark.total),
        (None, None) => String::new(),
    };
    let site = record
        .site
        .as_ref()
        .map(|site| format!(", {}", say::site(site)));
    let bottle = record.bottle.map(|bottle| format!(", bottle {bottle}"));
    let flags = flags(record).map(|flags| format!("; FLAGGED: {flags}"));
    format!(
        "{}{} {at}{volume}{}{}{}{}{}",
        number.unwrap_or_default(),
        record.outcome,
        site.unwrap_or_default(),
        bottle.unwrap_or_default(),
        quoted(&record.note),
        by(&record.by),
        flags.unwrap_or_default()
    )
}

fn by(initials: &Option<String>) -> String {
    let initials = initials.as_ref();
    initials.map(|by| format!(", by {by}")).unwrap_or_default()
}

fn quoted(note: &Option<String>) -> String {
    let note = note.as_ref();
    note.map(|note| format!(", \"{note}\"")).unwrap_or_default()
}
