//! The part of a book that the day's work needs, read instead of the whole.
//!
//! Promises: what it folds is checked link by link, and gives what the whole book would give; where
//! that is not certain (the book does not know what is needed, something read is damaged or not
//! understood, the clock stands before the newest entry) there is no part, and everything is read.

use crate::book::{BookError, View};
use crate::entry::{NewRow, Row, Stretch, Subject};
use crate::ledger::{Ledger, Names};
use crate::notation::fold::{fold, same};
use crate::round::needed;
use crate::schedule::Zone;
use chrono::{DateTime, Utc};
use std::collections::{BTreeMap, BTreeSet};

/// What a command works with.
#[derive(Clone, Debug, Default)]
pub(super) struct Wanted {
    /// An animal that it names, read whole where nothing of it is open.
    pub animal: Option<String>,
    /// Only what that animal has to do with, not all that is open: nothing is recorded about
    /// anything else then.
    pub alone: bool,
}

/// The part that was read.
#[derive(Debug)]
pub(super) struct Held {
    /// What it was read for.
    pub wanted: Wanted,
    /// Its rows, in the order they were written.
    pub rows: Vec<Row>,
    /// What the book notes of every subject that the day's work needs.
    noted: BTreeMap<String, Vec<Stretch>>,
    /// The animals of which only the first entry is among the rows.
    named_only: BTreeSet<String>,
    /// There is a prescription, at rest or not.
    begun: bool,
}

impl Held {
    /// Reads it, where the book knows what is needed and all of that is sound.
    pub(super) fn read(view: &View, wanted: Wanted) -> Result<Option<Held>, BookError> {
        match Held::try_read(view, wanted) {
            Err(BookError::Damaged(_)) => Ok(None),
            read => read,
        }
    }

    fn try_read(view: &View, wanted: Wanted) -> Result<Option<Held>, BookError> {
        let Some(noted) = view.opened() else {
            return Ok(None);
        };
        let noted: BTreeMap<String, Vec<Stretch>> = noted.collect();
        let mut circle = match &wanted.animal {
            Some(name) if wanted.alone => Some(Circle::around(name, view, &noted)?),
            _ => None,
        };
        let (mut rows, mut open) = (Vec::new(), Names::default());
        for (subject, _) in noted.iter().filter(|(_, wanted)| !wanted.is_empty()) {
            match (&mut circle, Subject::from_key(subject)) {
                (Some(circle), Some(Subject::Prescription(_))) => {
                    rows.extend(circle.prescriptions.remove(subject).unwrap_or_default());
                }
                (Some(circle), Some(Subject::Animal(name))) if !circle.holds(&name) => {}
                (_, kind) => {
                    rows.extend(view.read_opened(subject)?);
                    if let Some(Subject::Animal(name)) = kind {
                        open.add(&name);
                    }
                }
            }
        }
        let own = wanted
            .animal
            .clone()
            .map(|name| Subject::Animal(name).key());
        let own = own.filter(|own| noted.get(own).is_none_or(Vec::is_empty));
        if let (Some(own), Some(name)) = (&own, &wanted.animal) {
            rows.extend(view.read_subject(own)?);
            open.add(name);
        }
        let mut named_only = BTreeSet::new();
        for (subject, wanted) in &noted {
            if let Some(Subject::Animal(name)) = Subject::from_key(subject)
                && own.as_ref() != Some(subject)
                && (wanted.is_empty() || circle.as_ref().is_some_and(|c| !c.holds(&name)))
                && open.any_alike(&name)
            {
                rows.extend(view.read_opened(subject)?);
                named_only.insert(name);
            }
        }
        rows.sort_by_key(|row| row.seq);
        Ok(Some(Held {
            wanted,
            rows,
            noted,
            named_only,
            begun: view.has_untouched("prescription:")?,
        }))
    }

    /// What it says; nothing where it is not certain that the whole book would say the same.
    pub(super) fn ledger(&self, view: &View) -> Option<Ledger> {
        let mut ledger = Ledger::fold(&self.rows);
        ledger.in_part = true;
        ledger.entries = view.entries();
        ledger.newest = view.newest_recorded_at();
        // Of a prescription that is here, everybody's records must be.
        let incomplete = (ledger.scripts.iter())
            .flat_map(|script| &script.prescription.animals)
            .any(|name| self.named_only.iter().any(|only| same(only, name)));
        // A book that is only just begun asks for what it still wants.
        let begun = self.begun || !ledger.scripts.is_empty();
        let certain = ledger.faults.is_empty() && ledger.settings.is_some() && begun && !incomplete;
        certain.then_some(ledger)
    }

    /// What the day's work needs once these rows, folded to this ledger, are all there is.
    pub(super) fn needed(
        &self,
        after: &Ledger,
        rows: &[Row],
        zone: Zone,
        now: DateTime<Utc>,
    ) -> Option<BTreeMap<String, Vec<Stretch>>> {
        let found = needed(after, rows, after.settings.as_ref()?, zone, now).ok()?;
        let looked_at: BTreeSet<&str> = rows.iter().map(|row| row.subject.as_str()).collect();
        // Of what was not looked at as a whole, what is noted stays: a record about one animal
        // changes no bottle, and what others need is noted for every day to come.
        let stays = |subject: &str| match Subject::from_key(subject) {
            Some(Subject::Animal(name)) => self.named_only.contains(&name),
            Some(Subject::Bottle(_)) => self.wanted.alone,
            _ => false,
        };
        let is_anew = |subject: &str| looked_at.contains(subject) && !stays(subject);
        let mut all = self.noted.clone();
        all.retain(|subject, wanted| wanted.is_empty() || !is_anew(subject));
        all.extend(found.into_iter().filter(|(subject, _)| !stays(subject)));
        Some(all)
    }

    /// The same, with rows that were appended.
    pub(super) fn with(
        mut self,
        rows: Vec<Row>,
        noted: Option<BTreeMap<String, Vec<Stretch>>>,
    ) -> Option<Held> {
        self.noted = noted?;
        self.rows = rows;
        Some(self)
    }
}

/// What one animal has to do with: the prescriptions that name it, every animal that these name,
/// the prescriptions of those, and so on. What is judged of one of them hangs on no other animal.
struct Circle {
    /// Their folded names.
    animals: BTreeSet<String>,
    /// The rows of the prescriptions, by subject.
    prescriptions: BTreeMap<String, Vec<Row>>,
}

impl Circle {
    fn around(
        name: &str,
        view: &View,
        noted: &BTreeMap<String, Vec<Stretch>>,
    ) -> Result<Circle, BookError> {
        let mut animals = BTreeSet::from([fold(name)]);
        let mut others = Vec::new();
        for (subject, wanted) in noted {
            if !wanted.is_empty() && subject.starts_with("prescription:") {
                let rows = view.read_opened(subject)?;
                let scripts = Ledger::fold(&rows).scripts.into_iter();
                let named = scripts.flat_map(|script| script.prescription.animals);
                let named: BTreeSet<String> = named.map(|name| fold(&name)).collect();
                others.push((subject.clone(), rows, named));
            }
        }
        let mut prescriptions = BTreeMap::new();
        loop {
            let before = animals.len();
            for (subject, rows, named) in std::mem::take(&mut others) {
                if named.is_disjoint(&animals) && !named.is_empty() {
                    others.push((subject, rows, named));
                } else {
                    animals.extend(named);
                    prescriptions.insert(subject, rows);
                }
            }
            if animals.len() == before {
                return Ok(Circle {
                    animals,
                    prescriptions,
                });
            }
        }
    }

    fn holds(&self, name: &str) -> bool {
        self.animals.contains(&fold(name))
    }
}

/// New rows as they will stand after these.
pub(super) fn as_appended(rows: &[Row], new: &[NewRow], entries: u64) -> Vec<Row> {
    let mut last: BTreeMap<&str, u64> = new.iter().map(|new| (new.subject.as_str(), 0)).collect();
    for row in rows {
        if let Some(n) = last.get_mut(row.subject.as_str()) {
            *n = (*n).max(row.n);
        }
    }
    let numbered = new.iter().zip(entries + 1..);
    numbered
        .map(|(new, seq)| {
            let n = last.get_mut(new.subject.as_str()).map_or(1, |n| {
                *n += 1;
                *n
            });
            Row {
                seq,
                n,
                link: String::new(),
                subject: new.subject.clone(),
                course: new.course.clone(),
                kind: new.kind.clone(),
                happened_at: new.happened_at,
                recorded_at: new.recorded_at,
                clock_given: new.clock_given,
                zone: new.zone.clone(),
                body: new.body.clone(),
            }
        })
        .collect()
}

/// The one name that a person can have meant by what they typed, among all of that kind in the
/// book, whether or not what they name counts; none where there is a choice.
pub(super) fn only_name(view: &View, kind: &str, typed: &str) -> Result<Option<String>, BookError> {
    let names = view.names(kind)?;
    let names: Vec<&str> = names
        .iter()
        .filter_map(|name| name.strip_prefix(kind))
        .collect();
    let wanted = fold(typed);
    let folded: Vec<String> = names.iter().map(|name| fold(name)).collect();
    let places = |is: &dyn Fn(&str) -> bool| -> Vec<usize> {
        let each = folded.iter().enumerate();
        each.filter(|(_, name)| is(name))
            .map(|(place, _)| place)
            .collect()
    };
    let mut found = places(&|name| name == wanted);
    if found.is_empty() && !wanted.is_empty() {
        found = places(&|name| name.starts_with(&wanted) || name.ends_with(&wanted));
    }
    Ok(match found.as_slice() {
        [only] => names.get(*only).map(|name| (*name).to_owned()),
        _ => None,
    })
}
