//! Words about time that every face says the same way.

use crate::course::Standing;
use crate::ledger::Dose;
use crate::schedule::{Due, Zone};
use chrono::{DateTime, Utc};

/// "Thu 8 March 14:00".
pub(super) fn moment(at: DateTime<Utc>, zone: Zone) -> String {
    at.with_timezone(&zone)
        .format("%a %-d %B %H:%M")
        .to_string()
}

/// "Thu 8 March 14:00", or "Thu 8 March" where no hour was written.
pub(super) fn due(due: Due, zone: Zone) -> String {
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
