//! The tables: weights, doses and notes as a person reads them, and every entry as it stands.
//!
//! Promises: UTF-8 with the sign that tells a spreadsheet so, every cell quoted, lines ended as
//! RFC 4180 has it. A corrected entry is there, with its correction; so is a damaged one, marked.
//! A weight is there as typed and in grams, a volume as typed. Entries that cannot be understood
//! are in the table of entries alone.

use crate::entry::{DoseRecord, Entry, Happening, Observation, Row, Weighed};
use crate::ledger::Ledger;
use crate::notation::print;
use crate::schedule::Zone;
use crate::transfer::Archive;
use crate::transfer::cell;
use chrono::{DateTime, SecondsFormat, Utc};

/// The names of the tables' files, in the order in which [`tables`] gives them.
pub const TABLES: [&str; 4] = ["weights.csv", "doses.csv", "notes.csv", "entries.csv"];

/// What every readable entry begins and ends with.
const BEGINS: [&str; 5] = ["animal", "day", "time", "zone", "by"];
const ENDS: [&str; 4] = ["entry", "recorded", "corrected", "damaged"];
const WEIGHTS: [&str; 5] = ["weight", "grams", "scale step", "tag", "typed twice"];
const DOSES: [&str; 15] = [
    "prescription",
    "medicine",
    "outcome",
    "dose number",
    "drawn",
    "mark",
    "draws",
    "held",
    "weight",
    "strength",
    "at the mark",
    "bottle",
    "syringe",
    "site",
    "remarks",
];
const NOTES: [&str; 2] = ["about", "note"];
const ENTRIES: [&str; 12] = [
    "entry",
    "subject",
    "number in its chain",
    "prescription",
    "kind",
    "happened",
    "recorded",
    "clock given",
    "zone",
    "body",
    "link",
    "damaged",
];

/// What an archive is read with.
struct Reading<'a> {
    archive: &'a Archive,
    ledger: Ledger,
    zone: Zone,
    demonstration: bool,
}

/// The tables, each under its name in [`TABLES`].
#[must_use]
pub fn tables(archive: &Archive) -> [String; 4] {
    let ledger = Ledger::fold(&archive.entries);
    let zone = ledger.settings.as_ref().map(|settings| &settings.zone);
    let zone = zone.or(archive.zone.as_ref());
    let reading = Reading {
        archive,
        zone: zone.and_then(|zone| zone.parse().ok()).unwrap_or(Zone::UTC),
        ledger,
        demonstration: archive.is_demonstration(),
    };
    [
        reading.table(&WEIGHTS, |_, entry| match &entry.what {
            Happening::Weighing(weighed) => Some(weight(weighed)),
            _ => None,
        }),
        reading.table(&DOSES, |reading, entry| match &entry.what {
            Happening::Dose(record) => Some(reading.dose(entry, record)),
            _ => None,
        }),
        reading.table(&NOTES, |_, entry| match &entry.what {
            Happening::Observation(observation) => Some(note(observation)),
            _ => None,
        }),
        reading.entries(),
    ]
}

impl Reading<'_> {
    /// A table of one kind of entry.
    fn table(
        &self,
        columns: &[&str],
        cells: impl Fn(&Self, &Entry) -> Option<Vec<String>>,
    ) -> String {
        let mut text = String::from('\u{feff}');
        let head = self.first("DEMONSTRATION").chain(BEGINS);
        cell::row(head.chain(columns.iter().copied()).chain(ENDS), &mut text);
        for (row, damaged) in self.rows() {
            let Ok(entry) = Entry::read(row) else {
                continue;
            };
            let Some(own) = cells(self, &entry) else {
                continue;
            };
            let local = entry.happened_at.with_timezone(&self.zone);
            let animal = row.subject.strip_prefix("animal:").unwrap_or(&row.subject);
            let begins = [
                animal.to_owned(),
                local.format("%Y-%m-%d").to_string(),
                local.format("%H:%M").to_string(),
                self.zone.name().to_owned(),
                entry.what.by().unwrap_or_default().to_owned(),
            ];
            let corrected = self.ledger.corrected.get(&entry.seq);
            let ends = [
                entry.seq.to_string(),
                time(entry.recorded_at),
                corrected.map_or(String::new(), |correction| correction.because.clone()),
                mark(damaged).to_owned(),
            ];
            let all = begins.iter().chain(&own).chain(&ends);
            let cells = self.first("invented").chain(all.map(String::as_str));
            cell::row(cells, &mut text);
        }
        text
    }

    /// Every entry as it stands.
    fn entries(&self) -> String {
        let mut text = String::from('\u{feff}');
        cell::row(self.first("DEMONSTRATION").chain(ENTRIES), &mut text);
        for (row, damaged) in self.rows() {
            let cells = [
                row.seq.to_string(),
                row.subject.clone(),
                row.n.to_string(),
                row.course.clone().unwrap_or_default(),
                row.kind.clone(),
                time(row.happened_at),
                time(row.recorded_at),
                yes(row.clock_given).to_owned(),
                row.zone.clone(),
                row.body.clone(),
                row.link.clone(),
                mark(damaged).to_owned(),
            ];
            let cells = cells.iter().map(String::as_str);
            cell::row(self.first("invented").chain(cells), &mut text);
        }
        text
    }

    /// The cell that stands first where everything is invented.
    fn first<'a>(&self, words: &'a str) -> impl Iterator<Item = &'a str> + use<'a> {
        self.demonstration.then_some(words).into_iter()
    }

    /// Every row with whether it is damaged, in the order they were written.
    fn rows(&self) -> Vec<(&Row, bool)> {
        let sound = self.archive.entries.iter().map(|row| (row, false));
        let damaged = self.archive.damaged.iter().map(|row| (row, true));
        let mut rows: Vec<(&Row, bool)> = sound.chain(damaged).collect();
        rows.sort_by_key(|(row, _)| row.seq);
        rows
    }

    fn dose(&self, entry: &Entry, record: &DoseRecord) -> Vec<String> {
        let course = entry.course.clone().unwrap_or_default();
        let scripts = &self.ledger.scripts;
        let script = scripts
            .iter()
            .find(|script| script.prescription.reference == course);
        let mark = record.mark.as_ref();
        let text = |text: Option<&str>| text.unwrap_or_default().to_owned();
        vec![
            course.clone(),
            text(script.map(|script| script.prescription.medicine.name.as_str())),
            record.outcome.to_string(),
            record.slot.map_or(String::new(), |slot| slot.to_string()),
            text(record.drawn.as_ref().map(|drawn| drawn.text())),
            text(mark.map(|mark| mark.total.as_str())),
            mark.map_or(String::new(), |mark| mark.draws.to_string()),
            text(mark.map(|mark| mark.held.as_str())),
            text(mark.and_then(|mark| mark.weight.as_ref()).map(|w| w.text())),
            text(
                mark.and_then(|mark| mark.strength.as_ref())
                    .map(|s| s.text()),
            ),
            yes(record.at_mark).to_owned(),
            record
                .bottle
                .map_or(String::new(), |bottle| bottle.to_string()),
            record
                .syringe
                .as_ref()
                .map_or(String::new(), |syringe| syringe.words()),
            text(record.site.as_deref()),
            remarks(record),
        ]
    }
}

fn remarks(record: &DoseRecord) -> String {
    let flags = record.flags.iter().map(String::as_str);
    let all: Vec<&str> = flags.chain(record.note.as_deref()).collect();
    all.join("; ")
}

fn weight(weighed: &Weighed) -> Vec<String> {
    // Grams without commas between thousands, for a spreadsheet to count with.
    let grams = print::exact_decimal(weighed.weight.value().grams(), 12);
    vec![
        weighed.weight.text().to_owned(),
        grams.unwrap_or_default().replace(',', ""),
        weighed.readability.text().to_owned(),
        weighed.tag.map_or(String::new(), |tag| tag.to_string()),
        yes(weighed.confirmed).to_owned(),
    ]
}

fn note(observation: &Observation) -> Vec<String> {
    vec![observation.about.to_string(), observation.words.clone()]
}

const fn yes(said: bool) -> &'static str {
    if said { "yes" } else { "" }
}

const fn mark(damaged: bool) -> &'static str {
    if damaged { "DAMAGED" } else { "" }
}

fn time(time: DateTime<Utc>) -> String {
    time.to_rfc3339_opts(SecondsFormat::AutoSi, true)
}
