//! Where a command works: the book it opens, the clock it goes by, what it says and asks.
//!
//! Promises: nothing is asked inside a transaction; end of input is never taken for a yes; a
//! demonstration says so above and below whatever is printed.

use crate::book::{AppendError, Book, BookError, Draft};
use crate::cli::basis::{Basis, Source, is_behind, needed_of_all, zone_of};
use crate::cli::failure::Failure;
use crate::cli::held::{Held, Wanted, only_name};
use crate::cli::when;
use crate::cli::{Everywhere, Format, World};
use crate::entry::{Happening, NewRow, Row, Stamp, Stretch, Subject};
use crate::ledger::Ledger;
use crate::notation::fold::same;
use crate::round::clock_behind;
use crate::schedule::{Zone, local_date};
use crate::settings::Settings;
use chrono::{DateTime, NaiveDate, Utc};
use std::collections::BTreeMap;
use std::io::{BufRead, Read};
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How long to wait for someone else without a word. One writing takes milliseconds.
const SILENCE: Duration = Duration::from_secs(2);

/// How long to wait after having said so.
const PATIENCE: Duration = Duration::from_secs(10);

/// The longest line that is taken for an answer, in bytes; what is kept of one is far shorter.
const LONGEST_ANSWER: u64 = 16 * 1024;

/// A command's place of work.
pub(crate) struct Desk<'d, 'w> {
    /// What every command takes.
    pub everywhere: &'d Everywhere,
    /// The outside.
    pub world: &'d mut World<'w>,
}

/// An open book with what it says.
pub(crate) struct Open {
    /// The book.
    pub book: Book,
    /// What it says, put together: everything, or what the day's work needs (`ledger.in_part`).
    pub ledger: Ledger,
    /// The settings.
    pub settings: Settings,
    /// The zone its animals live in.
    pub zone: Zone,
    /// The moment to go by.
    pub now: DateTime<Utc>,
    /// Whether a person gave that moment.
    pub clock_given: bool,
    /// What that was put together from, where something may be recorded.
    read: Option<Source>,
}

/// One entry about to be recorded.
pub(crate) struct New {
    /// Whose chain it joins.
    pub subject: Subject,
    /// The course it belongs to.
    pub course: Option<String>,
    /// When it happened.
    pub happened_at: DateTime<Utc>,
    /// What happened.
    pub what: Happening,
}

impl Open {
    /// Today in the book's zone.
    pub fn today(&self) -> NaiveDate {
        self.now.with_timezone(&self.zone).date_naive()
    }

    /// How entries of this command are stamped.
    pub fn stamp(&self) -> Stamp {
        Stamp {
            at: self.now,
            clock_given: self.clock_given,
            zone: self.zone.name().to_owned(),
        }
    }

    /// When something happened: as typed, else now. A time after now is not accepted.
    pub fn happened(&self, typed: Option<&str>) -> Result<DateTime<Utc>, Failure> {
        let Some(typed) = typed else {
            return Ok(self.now);
        };
        let at = when::read_moment(typed, self.now, self.zone)?;
        if at > self.now {
            return Err(Failure::not_accepted(format!(
                "{} is still to come (it is {} now): write when it happened",
                when::say(at, self.zone),
                when::say(self.now, self.zone)
            )));
        }
        Ok(at)
    }

    /// Records what `judge` returns, having seen the book as it is inside the transaction.
    pub fn record(
        &mut self,
        mut judge: impl FnMut(&Ledger) -> Result<Vec<New>, Failure>,
    ) -> Result<Vec<Row>, Failure> {
        let stamp = self.stamp();
        let (now, own_zone) = (self.now, self.zone);
        // Where nothing comes of it, all of the book is in doubt until it is opened again.
        let in_doubt = Ledger::default().with_damage([None]);
        let ledger = std::mem::replace(&mut self.ledger, in_doubt);
        let mut before = self.read.take().map(|read| Basis { ledger, read });
        let mut folded = None;
        let kept = self.book.append(|view| {
            let before = Basis::now(view, before.take(), now)?;
            let new = rows(judge(&before.ledger)?, &stamp)?;
            let (told, after) = before.told(view, new, own_zone, now);
            folded = Some(after);
            Ok::<_, Failure>(told)
        })?;
        if let Some((ledger, held)) = folded {
            (self.ledger, self.read) = (ledger, held.map(Source::Part));
        }
        Ok(kept)
    }
}

/// The rows of entries about to be recorded.
pub(crate) fn rows(new: Vec<New>, stamp: &Stamp) -> Result<Vec<NewRow>, Failure> {
    new.into_iter()
        .map(
            |New {
                 subject,
                 course,
                 happened_at,
                 what,
             }| {
                what.to_row(&subject, course.as_deref(), happened_at, stamp)
                    .map_err(Failure::failed)
            },
        )
        .collect()
}

impl<'d, 'w> Desk<'d, 'w> {
    /// A place of work.
    pub fn new(everywhere: &'d Everywhere, world: &'d mut World<'w>) -> Desk<'d, 'w> {
        Desk { everywhere, world }
    }

    /// Which book: the one named, else SCRUPLE_BOOK, else the usual place.
    pub fn book_path(&self) -> Result<PathBuf, Failure> {
        let usual = || {
            self.world
                .data_directory
                .as_ref()
                .map(|data| data.join("scruple/book.scruple"))
        };
        self.everywhere
            .book
            .clone()
            .or_else(|| self.world.book_from_environment.clone())
            .or_else(usual)
            .ok_or_else(|| {
                Failure::not_accepted("this machine names no folder for your data, so no place for a book is known: name one with --book FILE, or set SCRUPLE_BOOK")
            })
    }

    /// Opens the book to read and to write.
    pub fn open(&mut self) -> Result<Open, Failure> {
        let path = self.book_path()?;
        let book = self.open_book(&path)?;
        self.read_whole(book)
    }

    /// Opens a book's file to read and to write. Someone else who holds it is noticed here, so
    /// that nobody is asked a question whose answer could not be kept.
    pub fn open_book(&mut self, path: &Path) -> Result<Book, BookError> {
        self.open_book_with(path, Book::open_within)
    }

    fn open_book_with(
        &mut self,
        path: &Path,
        open: impl Fn(&Path, Duration) -> Result<Book, BookError>,
    ) -> Result<Book, BookError> {
        self.patiently(|patience| {
            let mut book = open(path, patience)?;
            let nothing = book.append(|_| Ok::<_, BookError>(Draft::default()));
            nothing.map_err(|error| match error {
                AppendError::Judged(error) | AppendError::Book(error) => error,
            })?;
            book.set_patience(PATIENCE)?;
            Ok(book)
        })
    }

    /// Opens the book to read; works where nothing may be written.
    pub fn open_to_read(&mut self) -> Result<Open, Failure> {
        let path = self.book_path()?;
        let book = self.patiently(|patience| Book::open_read_only_within(&path, patience))?;
        self.read_whole(book)
    }

    /// Opens the book to read what the day's work needs; all of it, where that is not known.
    pub fn open_for_today(&mut self) -> Result<Open, Failure> {
        let path = self.book_path()?;
        let book =
            self.patiently(|patience| Book::open_lightly_read_only_within(&path, patience))?;
        self.read_part(book, Wanted::default())
    }

    /// Opens the book to write about one animal, and one prescription where one is named: with
    /// what the day's work needs, where that holds all that is meant; else with everything.
    pub fn open_about(
        &mut self,
        animal: &str,
        prescription: Option<&str>,
    ) -> Result<Open, Failure> {
        let path = self.book_path()?;
        let book = self.open_book_with(&path, Book::open_lightly_within)?;
        let Some(name) = book.view(|view| only_name(view, "animal:", animal))? else {
            return self.read_whole(book);
        };
        let wanted = |alone| Wanted {
            animal: Some(name.clone()),
            alone,
        };
        let mut open = self.read_part(book, wanted(true))?;
        // The first record of a day looks at all that is open, so that what has come to rest since
        // is no longer noted as open.
        let newest = open.ledger.newest.map(|at| local_date(at, open.zone));
        if open.ledger.in_part && newest != Some(open.today()) {
            open = self.read_part(open.book, wanted(false))?;
        }
        let ledger = &open.ledger;
        let is_the_one = |typed: &str| match ledger.script(typed) {
            Ok(found) if same(&found.prescription.reference, typed) => Ok(true),
            Ok(found) => open.book.view(|view| {
                let only = only_name(view, "prescription:", typed)?;
                Ok(only.as_ref() == Some(&found.prescription.reference))
            }),
            Err(_) => Ok::<_, BookError>(false),
        };
        let is_here = ledger
            .animal(animal)
            .is_ok_and(|found| found.animal.name == name)
            && prescription.map_or(Ok(true), is_the_one)?;
        if ledger.in_part && !is_here {
            return self.read_whole(open.book);
        }
        Ok(open)
    }

    /// Waits for someone else who is using the book, and says so when it takes long.
    fn patiently<T>(
        &mut self,
        mut attempt: impl FnMut(Duration) -> Result<T, BookError>,
    ) -> Result<T, BookError> {
        match attempt(SILENCE) {
            Err(BookError::Locked { .. }) => {
                // Where even this cannot be written, waiting is still right.
                let _ = writeln!(
                    self.world.err,
                    "Someone else is using the book; waiting up to {} seconds for them.",
                    PATIENCE.as_secs()
                );
                attempt(PATIENCE)
            }
            done => done,
        }
    }

    /// Reads everything.
    fn read_whole(&mut self, book: Book) -> Result<Open, Failure> {
        let Basis { ledger, read } = Basis::whole(book.read_sound()?);
        let read = (!book.is_read_only()).then_some(read);
        self.opened(book, ledger, read)
    }

    /// Reads what the day's work needs, or everything.
    fn read_part(&mut self, book: Book, wanted: Wanted) -> Result<Open, Failure> {
        let part = book.view(|view| {
            let held = Held::read(view, wanted)?;
            let part = held.and_then(|held| Some((held.ledger(view)?, held)));
            Ok::<_, BookError>(part)
        })?;
        let Some((ledger, held)) = part else {
            return self.read_whole(book);
        };
        let read = (!book.is_read_only()).then_some(Source::Part(held));
        let open = self.opened(book, ledger, read)?;
        if is_behind(&open.ledger, open.now) {
            return self.read_whole(open.book);
        }
        Ok(open)
    }

    fn opened(
        &mut self,
        book: Book,
        ledger: Ledger,
        read: Option<Source>,
    ) -> Result<Open, Failure> {
        let Some(settings) = ledger.settings.clone() else {
            return Err(if ledger.damaged.is_empty() {
                Failure::failed(
                    "the book has no settings: it is not whole; use your last copy of it",
                )
            } else {
                Failure::failed(
                    "the book is damaged where its settings stand, so nothing more is read from it: restore your last backup, or save what can still be read with 'scruple export FOLDER'",
                )
            });
        };
        let zone = read_zone(&settings.zone)?;
        let (now, clock_given) = self.now(zone)?;
        Ok(Open {
            book,
            ledger,
            settings,
            zone,
            now,
            clock_given,
            read,
        })
    }

    /// The moment to go by in a zone, and whether a person gave it.
    pub fn now(&self, zone: Zone) -> Result<(DateTime<Utc>, bool), Failure> {
        match &self.everywhere.now {
            Some(typed) => Ok((when::read_moment(typed, self.world.now, zone)?, true)),
            None => Ok((self.world.now, false)),
        }
    }

    /// What a suggested next command needs so that it works as typed: the book and the time, where
    /// they were named.
    pub fn common(&self) -> String {
        let quoted = |text: String| {
            if text.contains(char::is_whitespace) {
                format!("\"{text}\"")
            } else {
                text
            }
        };
        let book = self
            .everywhere
            .book
            .as_ref()
            .map(|book| book.display().to_string());
        let book = book
            .map(|book| format!(" --book {}", quoted(book)))
            .unwrap_or_default();
        let now = self.everywhere.now.as_ref();
        let now = now
            .map(|now| format!(" --now {}", quoted(now.clone())))
            .unwrap_or_default();
        book + &now
    }

    /// What the day's work needs of a sound book that holds just these rows, so that the next
    /// command need not read them all.
    pub fn needed(&self, rows: &[Row]) -> Option<BTreeMap<String, Vec<Stretch>>> {
        let ledger = Ledger::fold(rows);
        let zone = zone_of(&ledger)?;
        let (now, _) = self.now(zone).ok()?;
        needed_of_all(&ledger, rows, zone, now)
    }

    /// Whether the answer is for programs.
    pub fn json(&self) -> bool {
        self.everywhere.format == Format::Json
    }

    /// Prints one line of the answer.
    pub fn say(&mut self, line: impl std::fmt::Display) -> Result<(), Failure> {
        writeln!(self.world.out, "{line}")?;
        Ok(())
    }

    /// Prints the strip of a demonstration, if it is one.
    pub fn banner(&mut self, demonstration: bool) -> Result<(), Failure> {
        if demonstration && !self.json() {
            self.say("DEMONSTRATION: every animal, medicine, vet and figure here is invented.")?;
        }
        Ok(())
    }

    /// Says that the clock is behind the book, if it is: then even "no dose is due" may be wrong.
    pub fn clock(&mut self, open: &Open) -> Result<(), Failure> {
        match clock_behind(&open.ledger, open.now, open.zone) {
            Some(behind) => self.say(format!("STOP. {behind}")),
            None => Ok(()),
        }
    }

    /// Asks; nothing at the end of input.
    pub fn ask(&mut self, question: &str) -> Result<Option<String>, Failure> {
        self.world.out.flush()?;
        write!(self.world.err, "{question} ")?;
        self.world.err.flush()?;
        let mut line = String::new();
        // What never ends must not fill the memory. One byte more shows that it is too long.
        let mut bounded = (&mut *self.world.input).take(LONGEST_ANSWER + 1);
        let read = bounded.read_line(&mut line)?;
        if read == 0 {
            writeln!(self.world.err)?;
            return Ok(None);
        }
        if read as u64 > LONGEST_ANSWER {
            return Err(Failure::not_accepted(
                "the answer is longer than any that is expected: type it in one short line",
            ));
        }
        Ok(Some(line.trim().to_owned()))
    }

    /// The last question before something is kept.
    pub fn confirm(&mut self, question: &str) -> Result<(), Failure> {
        if self.everywhere.yes {
            return Ok(());
        }
        match self.ask(&format!("{question} Type yes or no:"))?.as_deref() {
            Some("yes" | "y" | "Yes" | "YES") => Ok(()),
            _ => Err(Failure::not_accepted("nothing was kept")),
        }
    }

    /// Writes a file that people asked for; never over another without --replace.
    pub fn write_file(&self, path: &Path, bytes: &[u8]) -> Result<(), Failure> {
        use std::fs::OpenOptions;
        use std::io::{ErrorKind, Write};
        if self.everywhere.replace && is_a_book(path) {
            return Err(Failure::not_accepted(format!(
                "{} is a book and is never written over: name another file",
                path.display()
            )));
        }
        let mut options = OpenOptions::new();
        options.write(true);
        if self.everywhere.replace {
            options.create(true).truncate(true);
        } else {
            options.create_new(true);
        }
        let written = options.open(path).and_then(|mut file| {
            file.write_all(bytes)?;
            file.sync_all()
        });
        written.map_err(|error| {
            let name = path.display();
            match error.kind() {
                ErrorKind::AlreadyExists => Failure::not_accepted(format!(
                    "{name} is there already: name another file, or add --replace"
                )),
                ErrorKind::NotFound => Failure::failed(format!(
                    "the folder of {name} does not exist: make it first, or name another"
                )),
                _ => Failure::failed(format!(
                    "{name} could not be written ({error}): name another place"
                )),
            }
        })
    }
}

/// Whether a file begins as an SQLite file does, as every book is one.
fn is_a_book(path: &Path) -> bool {
    let mut first = [0; 15];
    let read = std::fs::File::open(path).and_then(|mut file| file.read_exact(&mut first));
    read.is_ok() && first == *b"SQLite format 3"
}

/// Reads an IANA zone name.
pub(crate) fn read_zone(name: &str) -> Result<Zone, Failure> {
    name.parse().map_err(|_| {
        Failure::not_accepted(format!(
            "'{}' is not a time zone: write one like Europe/Warsaw or America/New_York",
            when::shown(name)
        ))
    })
}

impl From<BookError> for Failure {
    fn from(error: BookError) -> Failure {
        if error.is_failure() {
            Failure::failed(error)
        } else {
            // What was asked for is not there, or is not what it should be.
            Failure::not_accepted(error)
        }
    }
}

impl From<AppendError<Failure>> for Failure {
    fn from(error: AppendError<Failure>) -> Failure {
        match error {
            AppendError::Judged(failure) => failure,
            AppendError::Book(error) => error.into(),
        }
    }
}
