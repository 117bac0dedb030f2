//! `scruple weigh --from`: a table of weighings, every row checked before any is kept.
//!
//! Promises: all of it is kept or none; every row is answered for; a likely slip is never kept
//! from a table, not even with `--yes`; a row that is in the book already is left as it is, so
//! that a table can grow and be read again.

use crate::animal::{Tag, Weighing, Weights};
use crate::cli::Done;
use crate::cli::desk::{Desk, New, Open};
use crate::cli::end::had_left;
use crate::cli::failure::Failure;
use crate::cli::weigh::table::{self, Cells};
use crate::cli::weigh::{Weigh, against, calls, slip};
use crate::cli::when;
use crate::entry::{Happening, Subject, Weighed};
use crate::ledger::{Ledger, Patient};
use crate::notation::fold::{fold, near, same};
use crate::notation::{Notation, Written};
use crate::quantity::BodyWeight;
use crate::round::typed_name;
use crate::schedule::{Zone, local_date, moment};
use chrono::{DateTime, NaiveTime, Utc};
use std::collections::BTreeMap;
use std::io::Read;
use std::path::Path;

/// What is to become of one row.
#[derive(Clone, Debug, PartialEq, Eq)]
enum Answer {
    /// It is to be kept.
    Keep(String, DateTime<Utc>, Weighed),
    /// It is in the book already, as this entry.
    Already(u64),
    /// It looks like a slip: what it was held against, and the command that records it all the
    /// same.
    Slip(String, String),
    /// It cannot be read.
    Fault(String),
}

/// A row with its answer.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Row {
    line: usize,
    shown: String,
    answer: Answer,
}

pub(super) fn run(weigh: &Weigh, path: &Path, desk: &mut Desk) -> Result<Done, Failure> {
    let bytes = bytes_of(path)?;
    let cells = table::read(&bytes).map_err(|fault| {
        Failure::not_accepted(format!("{}: {fault}. Nothing was kept", path.display()))
    })?;
    let mut open = desk.open()?;
    desk.banner(open.settings.demonstration)?;
    let read = Reader {
        readability: weigh.readability(&open)?,
        by: weigh.initials()?,
        zone: open.zone,
        now: open.now,
    };
    let rows = read.rows(&open.ledger, &cells);
    report(desk, &open, &rows)?;
    let count = |is: fn(&Answer) -> bool| rows.iter().filter(|row| is(&row.answer)).count();
    let keep = count(|answer| matches!(answer, Answer::Keep(..)));
    let slips = count(|answer| matches!(answer, Answer::Slip(..)));
    let faults = count(|answer| matches!(answer, Answer::Fault(..)));
    if slips > 0 {
        desk.say("A weight that looks like a slip is not kept from a table. Weigh again and mend the row; or, if the scale really shows it, type these and run the table again:")?;
        for row in &rows {
            if let Answer::Slip(_, command) = &row.answer {
                desk.say(format!("  {command}{}", desk.common()))?;
            }
        }
    }
    if slips + faults > 0 {
        return Err(Failure::not_accepted(format!(
            "nothing was kept. Rows: {}; not accepted: {faults}; like a slip: {slips}. Mend the table, then run it again",
            rows.len()
        )));
    }
    if keep == 0 {
        desk.say("All of it is in the book already.")?;
        return Ok(Done::Well);
    }
    let weighings = match keep {
        1 => "1 weighing".to_owned(),
        many => format!("{many} weighings"),
    };
    desk.confirm(&format!("Keep {weighings}?"))?;
    let kept = open.record(|ledger| {
        if read.rows(ledger, &cells) != rows {
            return Err(Failure::not_accepted(
                "the book has changed since this was shown, so nothing was kept: run it again",
            ));
        }
        Ok(rows.iter().filter_map(new).collect())
    })?;
    desk.say(format!("Kept {weighings}."))?;
    let written = kept.first().map_or(0, |row| row.seq);
    let mut names: Vec<&String> = Vec::new();
    for row in &rows {
        if let Answer::Keep(name, ..) = &row.answer
            && !names.contains(&name)
        {
            names.push(name);
        }
    }
    for name in names {
        calls(desk, &open, name, written)?;
    }
    Ok(Done::Well)
}

fn bytes_of(path: &Path) -> Result<Vec<u8>, Failure> {
    let unreadable = |error: std::io::Error| {
        Failure::not_accepted(format!(
            "the file {} could not be read ({error}): check its name and place",
            path.display()
        ))
    };
    let mut bytes = Vec::new();
    let most = u64::try_from(table::LONGEST_FILE + 1).unwrap_or(u64::MAX);
    std::fs::File::open(path)
        .and_then(|file| file.take(most).read_to_end(&mut bytes))
        .map_err(unreadable)?;
    Ok(bytes)
}

fn new(row: &Row) -> Option<New> {
    match &row.answer {
        Answer::Keep(name, at, weighed) => Some(New {
            subject: Subject::Animal(name.clone()),
            course: None,
            happened_at: *at,
            what: Happening::Weighing(weighed.clone()),
        }),
        _ => None,
    }
}

fn report(desk: &mut Desk, open: &Open, rows: &[Row]) -> Result<(), Failure> {
    let zone = open.zone;
    for Row {
        line,
        shown,
        answer,
    } in rows
    {
        let said = match answer {
            Answer::Keep(name, at, weighed) => {
                let tag = weighed.tag.map(|tag| format!(" ({tag})"));
                let patient = open.ledger.animal(name).map_err(Failure::failed)?;
                let left = had_left(patient, *at, zone).map(|left| format!(". {left}"));
                format!(
                    "{name}, {}{}, {}{}",
                    weighed.weight,
                    tag.unwrap_or_default(),
                    when::say(*at, zone),
                    left.unwrap_or_default()
                )
            }
            Answer::Already(entry) => format!("{shown}: in the book already, as entry {entry}"),
            Answer::Slip(why, _) => format!("{shown}: LIKE A SLIP. {why}"),
            Answer::Fault(why) => format!("{shown}: NOT ACCEPTED. {why}"),
        };
        desk.say(format!("line {line}: {said}"))?;
    }
    Ok(())
}

/// What the rows are read with.
struct Reader {
    readability: Written<BodyWeight>,
    by: Option<String>,
    zone: Zone,
    now: DateTime<Utc>,
}

/// A row that can be read, before it is held against the book.
struct Readable<'l> {
    place: usize,
    patient: &'l Patient,
    at: DateTime<Utc>,
    has_hour: bool,
    weight: Written<BodyWeight>,
    tag: Option<Tag>,
}

impl Reader {
    fn rows(&self, ledger: &Ledger, cells: &[Cells]) -> Vec<Row> {
        let shown = |cells: &Cells| {
            let cells = [&cells.name, &cells.weight, &cells.date].map(|cell| when::shown(cell));
            format!("'{}'", cells.join(", "))
        };
        let mut answers: BTreeMap<usize, Answer> = BTreeMap::new();
        let mut readable = Vec::new();
        for (place, cells) in cells.iter().enumerate() {
            match self.readable(ledger, place, cells) {
                Ok(row) => readable.push(row),
                Err(why) => drop(answers.insert(place, Answer::Fault(why))),
            }
        }
        // In the order in which they happened, so that each is held against the one before it.
        readable.sort_by_key(|row| (row.at, row.place));
        let mut weights: BTreeMap<&str, Weights> = BTreeMap::new();
        for row in readable {
            let so_far = weights
                .entry(row.patient.animal.name.as_str())
                .or_insert_with(|| row.patient.weights.clone());
            let answer = self.judged(ledger, so_far, &row);
            answers.insert(row.place, answer);
        }
        cells
            .iter()
            .zip(answers.into_values())
            .map(|(cells, answer)| Row {
                line: cells.line,
                shown: shown(cells),
                answer,
            })
            .collect()
    }

    fn readable<'l>(
        &self,
        ledger: &'l Ledger,
        place: usize,
        cells: &Cells,
    ) -> Result<Readable<'l>, String> {
        if let Some(fault) = &cells.fault {
            return Err(fault.clone());
        }
        let patient = named(ledger, &cells.name)?;
        let weight = BodyWeight::read(&cells.weight).map_err(|error| error.to_string())?;
        let day = when::read_day(&cells.date).map_err(|error| error.to_string())?;
        let hour = match &cells.time {
            None => None,
            Some(time) => Some(when::read_clock(time).ok_or_else(|| {
                format!(
                    "'{}' is not a time: write it on the 24-hour clock, as in 14:00",
                    when::shown(time)
                )
            })?),
        };
        let tag = match &cells.tag {
            None => None,
            Some(tag) => Some(read_tag(tag)?),
        };
        let today = local_date(self.now, self.zone);
        let at = match hour {
            Some(hour) => moment(day.and_time(hour), self.zone).0,
            // No hour was written: noon, or now if today's noon is still to come.
            None => {
                let noon = NaiveTime::from_hms_opt(12, 0, 0).unwrap_or_default();
                let noon = moment(day.and_time(noon), self.zone).0;
                if day == today {
                    noon.min(self.now)
                } else {
                    noon
                }
            }
        };
        if at > self.now {
            return Err("it is still to come: write when the animal was weighed".to_owned());
        }
        Ok(Readable {
            place,
            patient,
            at,
            has_hour: hour.is_some(),
            weight,
            tag,
        })
    }

    fn judged(&self, ledger: &Ledger, so_far: &mut Weights, row: &Readable) -> Answer {
        let same_time = |weighing: &&Weighing| {
            let same_day = local_date(weighing.at, self.zone) == local_date(row.at, self.zone);
            weighing.weight.value() == row.weight.value()
                && if row.has_hour {
                    weighing.at == row.at
                } else {
                    same_day
                }
        };
        if let Some(already) = so_far.all().iter().find(same_time) {
            return match already.entry {
                u64::MAX => Answer::Fault("it is in this table twice".to_owned()),
                entry => Answer::Already(entry),
            };
        }
        let new = Weighing {
            entry: u64::MAX,
            at: row.at,
            weight: row.weight.clone(),
            readability: self.readability.clone(),
            tag: row.tag,
        };
        let name = &row.patient.animal.name;
        if let Some((slip, beside)) = slip(ledger, row.patient, so_far, &new, self.zone) {
            let at = row.at.with_timezone(&self.zone).format("%Y-%m-%d %H:%M");
            let tag = row
                .tag
                .map(|tag| format!(" --tag {}", tag.words().replace(' ', "-")));
            let command = format!(
                "scruple weigh {} \"{}\" --at \"{at}\"{}",
                typed_name(name),
                row.weight,
                tag.unwrap_or_default()
            );
            let why = format!("{} is {}, beside {beside}", row.weight, against(slip));
            return Answer::Slip(why, command);
        }
        let mut all = so_far.all().to_vec();
        all.push(new);
        *so_far = Weights::new(all);
        Answer::Keep(
            name.clone(),
            row.at,
            Weighed {
                weight: row.weight.clone(),
                readability: self.readability.clone(),
                tag: row.tag,
                confirmed: false,
                by: self.by.clone(),
            },
        )
    }
}

/// A table names its animals in full: a beginning is not enough here.
fn named<'l>(ledger: &'l Ledger, name: &str) -> Result<&'l Patient, String> {
    let found = ledger
        .animals
        .iter()
        .find(|patient| same(&patient.animal.name, name));
    found.ok_or_else(|| {
        let names = ledger.animals.iter().map(|p| p.animal.name.as_str());
        match near(name, names).first() {
            Some(near) => format!("no animal of that name is in the book: did you mean {near}?"),
            None => "no animal of that name is in the book: write the name in full, or take the animal in".to_owned(),
        }
    })
}

fn read_tag(text: &str) -> Result<Tag, String> {
    [Tag::JustFed, Tag::Gravid, Tag::Wet]
        .into_iter()
        .find(|tag| fold(tag.words()) == fold(&text.replace('-', " ")))
        .ok_or_else(|| {
            format!(
                "'{}' is not a tag: write just fed, gravid or wet, or leave it empty",
                when::shown(text)
            )
        })
}
