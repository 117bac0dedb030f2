//! Words about time that every face says the same way.

use crate::course::{Standing, Verdict};
use crate::dose::{Basis, Row, WeightUsed};
use crate::ledger::Dose;
use crate::notation::print;
use crate::prescription::Prescription;
use crate::quantity::BodyWeight;
use crate::round::DayDose;
use crate::schedule::{Due, Zone};
use chrono::{DateTime, Utc};

/// "Thu 8 March 14:00".
pub fn moment(at: DateTime<Utc>, zone: Zone) -> String {
    at.with_timezone(&zone)
        .format("%a %-d %B %H:%M")
        .to_string()
}

/// "Thu 8 March 14:00", or "Thu 8 March" where no hour was written.
pub fn due(due: Due, zone: Zone) -> String {
    match due {
        Due::At(at) => moment(at, zone),
        Due::On(day) => day.format("%a %-d %B").to_string(),
    }
}

/// When a dose is due and its window, in three parts to be joined or set apart.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WhenDue {
    /// "20:00", with the day where it is not today: "Wed 7 March 20:00".
    pub due: String,
    /// When it opens, likewise; none where no gap to the last dose is known.
    pub opens: Option<String>,
    /// When it closes, likewise.
    pub closes: String,
    /// It is due on a date, at no particular hour.
    pub all_day: bool,
}

/// Says when a slot is due, seen from a day.
pub fn when_due(slot: &Standing, day: chrono::NaiveDate, zone: Zone) -> WhenDue {
    let short = |at: DateTime<Utc>| {
        let local = at.with_timezone(&zone);
        if local.date_naive() == day {
            local.format("%H:%M").to_string()
        } else {
            local.format("%H:%M %a %-d %B").to_string()
        }
    };
    let date = |at: DateTime<Utc>| at.with_timezone(&zone).format("%a %-d %B").to_string();
    match slot.due {
        Due::At(at) => WhenDue {
            due: short(at),
            opens: slot.opens.map(short),
            closes: short(slot.closes),
            all_day: false,
        },
        Due::On(on) => WhenDue {
            due: on.format("%a %-d %B").to_string(),
            opens: slot.opens.map(date),
            closes: date(slot.closes),
            all_day: true,
        },
    }
}

/// When and where the last dose was, without its volume: one volume in the panel.
pub fn last_dose(dose: Option<&Dose>, zone: Zone) -> String {
    let Some(dose) = dose else {
        return "none recorded".to_owned();
    };
    let site = dose
        .record
        .site
        .as_ref()
        .map(|site| format!(", {site}"))
        .unwrap_or_default();
    format!(
        "{} {}{site}",
        dose.record.outcome,
        moment(dose.happened, zone)
    )
}

/// The deferral that stands on everything that shows a mark.
pub const DEFERRAL: &str = "This repeats your vet's prescription. If anything disagrees with the vet's label, or the animal looks worse: stop and call.";

/// "46 g on Wed 7 March, 1 day old", with a tag and the basis where it is not the latest.
pub fn weight(used: &WeightUsed) -> String {
    let mut text = used.weight.to_string();
    match (used.day, used.age) {
        (Some(_), Some(0)) => text.push_str(" today"),
        (Some(day), Some(age)) => {
            let old = if age == 1 {
                "1 day".to_owned()
            } else {
                format!("{age} days")
            };
            text.push_str(&format!(" on {}, {old} old", day.format("%a %-d %B")));
        }
        (Some(day), None) => text.push_str(&format!(" on {}", day.format("%a %-d %B"))),
        (None, _) => text.push_str(", as your vet wrote"),
    }
    if let Some(tag) = used.tag {
        text.push_str(&format!(" ({tag})"));
    }
    if used.basis == Basis::Start {
        text.push_str(", the weight at the start of the course");
    }
    text
}

/// Route, site and side: "by injection, "under the skin", site "B", left side".
pub fn place(dose: &DayDose) -> String {
    let route = dose.script.prescription.route.words();
    match dose.site {
        Some(site) => format!("{route}, {}", site.words()),
        None => route,
    }
}

/// "dose 2 of 4".
pub fn dose_of(dose: &DayDose) -> String {
    let number = dose.slot.slot.number;
    match dose.of {
        Some(of) => format!("dose {number} of {of}"),
        None => format!("dose {number}, until your vet says stop"),
    }
}

/// A row of the ladder's weights: "43 to 44 g", "42 g".
pub fn rung(row: &Row) -> String {
    let bare = |weight: BodyWeight| print::figure(weight.grams()).text;
    if row.first == row.last {
        format!("{} g", bare(row.first))
    } else {
        format!("{} to {} g", bare(row.first), bare(row.last))
    }
}

/// The vet's own words that belong beside a dose: what leads them, and the words.
pub fn vet_words(prescription: &Prescription) -> Vec<(&'static str, &str)> {
    let mut words: Vec<(&'static str, &str)> = Vec::new();
    words.extend(
        prescription
            .stop_and_call_if
            .iter()
            .map(|w| ("Stop and call if", w.as_str())),
    );
    words.extend(
        prescription
            .if_brought_up
            .iter()
            .map(|w| ("If it is brought up", w.as_str())),
    );
    words.extend(
        prescription
            .if_missed
            .iter()
            .map(|w| ("If a dose is missed", w.as_str())),
    );
    words.extend(prescription.vet_notes.iter().map(|w| ("", w.as_str())));
    words
}

/// A verdict in a few words.
pub fn verdict(verdict: &Verdict) -> String {
    match verdict {
        Verdict::NotStarted => "not started".to_owned(),
        Verdict::OnTrack => "on track".to_owned(),
        Verdict::NeedsAttention(_) => "needs attention".to_owned(),
        Verdict::Complete => "complete".to_owned(),
        Verdict::CompleteWithExceptions(_) => "complete with exceptions".to_owned(),
        Verdict::EndedEarly(how) => format!("ended early: {how}"),
    }
}
