//! What a command judges from: the part of a book that the day's work needs, or all of it.
//!
//! Promises: inside the transaction that writes, it is the book as it stands there; what was read
//! before is used again only if nobody has written since. Of a long history no more than one
//! ledger stands in memory at a time.

use crate::book::{BookError, Reading, View, WithNeeds};
use crate::cli::held::{Held, as_appended};
use crate::entry::{NewRow, Row, Stretch};
use crate::ledger::Ledger;
use crate::round::needed;
use crate::schedule::Zone;
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;

/// What was read of a book, as the ledger was folded from it.
pub(super) enum Source {
    /// What the day's work needs.
    Part(Held),
    /// Everything.
    Whole {
        rows: Vec<Row>,
        /// Whether nothing of it is damaged.
        sound: bool,
    },
}

/// What is judged inside the transaction: the part that is needed, or the whole book.
pub(super) struct Basis {
    pub ledger: Ledger,
    pub read: Source,
}

impl Basis {
    /// The book as it stands: what was read before, if nobody has written since; else the same
    /// part read again, or the whole, where there is none.
    pub(super) fn now(
        view: &View,
        before: Option<Basis>,
        now: DateTime<Utc>,
    ) -> Result<Basis, BookError> {
        let wanted = match before {
            Some(before) if view.is_as_before() => return Ok(before),
            // It goes before anything is read again.
            Some(before) => match before.read {
                Source::Part(held) => Some(held.wanted),
                Source::Whole { .. } => None,
            },
            None => None,
        };
        let held = match wanted {
            Some(wanted) => Held::read(view, wanted)?,
            None => None,
        };
        if let Some(held) = held
            && let Some(ledger) = held.ledger(view)
            && !is_behind(&ledger, now)
        {
            let read = Source::Part(held);
            return Ok(Basis { ledger, read });
        }
        Ok(Basis::whole(view.read_sound()?))
    }

    /// Everything that was read.
    pub(super) fn whole(reading: Reading) -> Basis {
        let ledger = fold(&reading);
        let read = Source::Whole {
            sound: reading.damage.is_empty(),
            rows: reading.rows,
        };
        Basis { ledger, read }
    }

    /// What is appended, with what the day's work needs after it; and what the book says then.
    pub(super) fn told(
        self,
        view: &View,
        new: Vec<NewRow>,
        own_zone: Zone,
        now: DateTime<Utc>,
    ) -> (WithNeeds, (Ledger, Option<Held>)) {
        // The rest goes here: of a long history two at once would fill the memory.
        let (in_part, entries, newest, damaged, scripts) = {
            let before = self.ledger;
            let (entries, newest) = (before.entries, before.newest);
            (
                before.in_part,
                entries,
                newest,
                before.damaged,
                before.scripts,
            )
        };
        let (mut rows, held, sound) = match self.read {
            Source::Part(mut held) => (std::mem::take(&mut held.rows), Some(held), true),
            Source::Whole { rows, sound } => (rows, None, sound),
        };
        rows.extend(as_appended(&rows, &new, view.entries()));
        let mut after = Ledger::fold_again(&rows, scripts).with_damage([]);
        after.in_part = in_part;
        after.entries = after.entries.max(entries);
        after.newest = after.newest.max(newest);
        after.damaged.extend(damaged);
        // The command may have been about the zone itself.
        let zone = zone_of(&after).unwrap_or(own_zone);
        let opened = match &held {
            Some(held) => held.needed(&after, &rows, zone, now),
            None if sound => needed_of_all(&after, &rows, zone, now),
            // Of what is damaged it cannot be said what it needs.
            None => None,
        };
        let held = held.and_then(|held| held.with(rows, opened.clone()));
        let told = WithNeeds {
            draft: new.into(),
            opened,
        };
        (told, (after, held))
    }
}

/// The zone that the settings name.
pub(super) fn zone_of(ledger: &Ledger) -> Option<Zone> {
    ledger.settings.as_ref()?.zone.parse().ok()
}

/// What the day's work needs of a sound book, all of which was folded.
pub(super) fn needed_of_all(
    ledger: &Ledger,
    rows: &[Row],
    zone: Zone,
    now: DateTime<Utc>,
) -> Option<BTreeMap<String, Vec<Stretch>>> {
    needed(ledger, rows, ledger.settings.as_ref()?, zone, now).ok()
}

/// Whether the clock stands before the newest entry: then what is needed was judged at a later
/// moment than this, and everything has to be looked at.
pub(super) fn is_behind(ledger: &Ledger, now: DateTime<Utc>) -> bool {
    ledger.newest.is_some_and(|newest| newest > now)
}

/// What the book says, with what is damaged in it set apart.
fn fold(reading: &Reading) -> Ledger {
    let damaged = reading.damage.iter();
    let damaged = damaged.map(|damage| damage.subject.clone());
    Ledger::fold(&reading.rows).with_damage(damaged)
}
