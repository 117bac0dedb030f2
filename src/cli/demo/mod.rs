//! `scruple demo`: an invented animal room, laid around the present moment.
//!
//! Promises: every state in it is reached through the ordinary commands, from their parsed
//! arguments on; everything says DEMONSTRATION; run again, it says where the room stands.

mod scripts;

use crate::cli::desk::{Desk, read_zone};
use crate::cli::failure::Failure;
use crate::cli::today::Today;
use crate::cli::{Arguments, Done, Everywhere, World, dispatch};
use crate::schedule::Zone;
use chrono::{DateTime, TimeDelta, Timelike, Utc};
use clap::Parser;
use std::path::{Path, PathBuf};

/// Builds an invented animal room to try things out in
///
/// Examples:
///   scruple demo
///   scruple demo my-room --now "2001-03-08 19:30"
#[derive(Debug, clap::Args)]
#[command(verbatim_doc_comment)]
pub(crate) struct Demo {
    /// The folder to build it in
    #[arg(default_value = "demo-room")]
    folder: PathBuf,
}

impl Demo {
    pub fn run(&self, desk: &mut Desk) -> Result<Done, Failure> {
        let book = self.folder.join("room.scruple");
        if book.exists() {
            return self.stands_already(desk, &book);
        }
        let zone_name = desk
            .world
            .local_zone
            .clone()
            .unwrap_or_else(|| "UTC".to_owned());
        let zone = read_zone(&zone_name)?;
        let (now, given) = desk.now(zone)?;
        let now = now
            .with_second(0)
            .and_then(|now| now.with_nanosecond(0))
            .unwrap_or(now);
        std::fs::create_dir_all(&self.folder).map_err(|error| {
            Failure::failed(format!(
                "the folder {} could not be made ({error}): name another, as in 'scruple demo my-room'",
                self.folder.display()
            ))
        })?;
        let mut room = Room {
            desk,
            folder: &self.folder,
            book: &book,
            now,
            zone,
            story: Vec::new(),
        };
        room.build(&zone_name)?;
        let pdf = self.folder.join("today.pdf");
        self.show(desk, &book, &pdf, now, zone, given)
    }

    /// The card of the room just built, and what to try next.
    fn show(
        &self,
        desk: &mut Desk,
        book: &Path,
        pdf: &Path,
        now: DateTime<Utc>,
        zone: Zone,
        given: bool,
    ) -> Result<Done, Failure> {
        let everywhere = Everywhere {
            book: Some(book.to_owned()),
            now: given.then(|| typed(now, zone)),
            replace: true,
            ..Everywhere::default()
        };
        let today = Today {
            html: None,
            date: None,
            ics: None,
            pdf: Some(pdf.to_owned()),
        };
        today.run(&mut Desk::new(&everywhere, desk.world))?;
        let at = if given {
            format!(" --now \"{}\"", typed(now, zone))
        } else {
            String::new()
        };
        let common = format!("--book {}{at}", quoted(book));
        desk.say(format!(
            "\nThe room is {}. Try next:",
            self.folder.display()
        ))?;
        let folder = quoted(&self.folder.join("script.ron"));
        for line in [
            format!("give Thimblo DEMO-0001 {common}"),
            format!("check {common}"),
            format!("weigh Brackle \"82.5 g\" {common}"),
            format!("enter {folder} {common}"),
            format!("work {folder} --weight \"46 g\" {common}"),
            format!("stock {common}"),
            format!("today {common}"),
        ] {
            desk.say(format!("  scruple {line}"))?;
        }
        desk.say("Before 'cargo install --path .', write 'cargo run --release --' for 'scruple'.")?;
        Ok(Done::Well)
    }

    fn stands_already(&self, desk: &mut Desk, book: &Path) -> Result<Done, Failure> {
        desk.say(format!(
            "The room in {} stands already and is left as it is. To build a fresh one, name another folder: scruple demo my-room",
            self.folder.display()
        ))?;
        let everywhere = Everywhere {
            book: Some(book.to_owned()),
            now: desk.everywhere.now.clone(),
            ..Everywhere::default()
        };
        let today = Today {
            html: None,
            date: None,
            ics: None,
            pdf: None,
        };
        today.run(&mut Desk::new(&everywhere, desk.world))
    }
}

/// The room while it is being built.
struct Room<'r, 'd, 'w> {
    desk: &'r mut Desk<'d, 'w>,
    folder: &'r Path,
    book: &'r Path,
    now: DateTime<Utc>,
    zone: Zone,
    /// What happened in it, each so long ago.
    story: Vec<(TimeDelta, Vec<String>)>,
}

impl Room<'_, '_, '_> {
    fn build(&mut self, zone: &str) -> Result<(), Failure> {
        let back = |days: i64, hours: i64| TimeDelta::days(days) + TimeDelta::hours(hours);
        let moved_in = back(20, 0);
        let place = self.book.display().to_string();
        self.at(
            moved_in,
            &[
                "begin",
                &place,
                "--zone",
                zone,
                "--scale",
                "0.1 g",
                "--demonstration",
            ],
        )?;
        for syringe in [
            [
                "syringe",
                "add",
                "0.3/0.005",
                "--for",
                "injection",
                "--needle",
                "fixed",
            ]
            .as_slice(),
            &[
                "syringe",
                "add",
                "1/0.01",
                "--for",
                "injection",
                "--needle",
                "hub",
                "--hub-loss",
                "0.07 mL",
            ],
            &["syringe", "add", "1/0.01", "--for", "mouth"],
        ] {
            self.at(moved_in, syringe)?;
        }
        for [name, species, id, apart] in [
            [
                "Thimblo",
                "invented marsh gecko",
                "tub 4, white spot on left shoulder",
                "",
            ],
            ["Nubbet", "invented leaf frog", "tub 9, no tail tip", ""],
            [
                "Quillo",
                "invented dune rat",
                "cage 2, notch in right ear",
                "",
            ],
            ["Brackle", "invented reed skink", "tub 6, broken stripe", ""],
            ["Ossin", "invented stone lizard", "tank 1, blue chin", ""],
            [
                "Mossop",
                "invented bog tortoise",
                "pen 3, painted number 7",
                "--quarantine",
            ],
        ] {
            let mut add = vec!["animal", "add", name, "--species", species, "--id", id];
            add.extend(Some(apart).filter(|apart| !apart.is_empty()));
            self.at(moved_in, &add)?;
        }
        for (ago, name, weight) in [
            (back(14, 0), "Thimblo", "47 g"),
            (back(12, 0), "Brackle", "84 g"),
            (back(10, 0), "Mossop", "1.35 kg"),
            (back(3, 0), "Thimblo", "46 g"),
            (back(2, 0), "Nubbet", "6 g"),
            (back(2, 0), "Quillo", "238 g"),
            (back(4, 0), "Ossin", "472 g"),
            (back(1, 0), "Mossop", "1.2 kg"),
        ] {
            self.at(ago, &["weigh", name, weight, "--by", "AK"])?;
        }
        self.bottles_and_courses()?;
        self.live()?;
        let script = self.folder.join("script.ron");
        let text = scripts::to_try(self.day(TimeDelta::zero()), self.day(-back(90, 0)));
        self.desk.write_file(&script, text.as_bytes())
    }

    fn bottles_and_courses(&mut self) -> Result<(), Failure> {
        let hours = TimeDelta::hours;
        let expiry = self.day(-TimeDelta::days(300));
        let opened = TimeDelta::days(9);
        for (medicine, reads, holds) in [
            ("Madeup Amber", "8 mg/mL", "5 mL"),
            ("Madeup Cobalt", "26 mg/mL", "1.5 mL"),
            ("Madeup Dusk", "9 mg/mL", "0.4 mL"),
            ("Madeup Elm", "14 mg/mL", "10 mL"),
            ("Madeup Frost", "11 mg/mL", "5 mL"),
            ("Madeup Garnet", "50 mg per tablet", "20 tablets"),
        ] {
            let open = [
                "bottle", "open", medicine, "--reads", reads, "--expiry", &expiry, "--holds", holds,
            ];
            self.at(
                opened,
                &[&open[..], &["--discard-after", "28 days"]].concat(),
            )?;
        }
        // The first dose of each course, so long ago that the next one stands as it should.
        let starts = [
            (scripts::AMBER, hours(61)),
            (scripts::COBALT, hours(44)),
            (scripts::DUSK, hours(51)),
            (scripts::ELM, hours(24 * 9 - 1)),
            (scripts::FROST, hours(-1)),
            (scripts::GARNET, hours(39)),
        ];
        for (script, ago) in starts {
            let entered = ago.max(TimeDelta::zero()) + hours(2);
            let text = scripts::dated(
                &script,
                &self.day(entered + TimeDelta::days(1)),
                &self.day(-TimeDelta::days(90)),
            );
            let path = self.folder.join(format!("{}.ron", script.reference));
            self.desk.write_file(&path, text.as_bytes())?;
            let start = typed(self.now - ago, self.zone);
            let path = path.display().to_string();
            self.at(entered, &["enter", &path, "--start", &start, "--yes"])?;
        }
        let give = |room: &mut Self, ago, name, reference| {
            room.at(ago, &["give", name, reference, "--by", "AK", "--yes"])
        };
        give(self, hours(61), "Thimblo", "DEMO-0001")?;
        give(self, hours(44), "Quillo", "DEMO-0002")?;
        give(self, hours(51), "Ossin", "DEMO-0003")?;
        for ago in [24 * 9 - 1, 24 * 6 - 1, 24 * 3 - 1] {
            give(self, hours(ago), "Brackle", "DEMO-0004")?;
        }
        give(self, hours(39), "Mossop", "DEMO-0006")?;
        // Ossin's bottle ran dry; the new one reads differently.
        self.at(hours(4), &["bottle", "empty", "3"])?;
        self.at(
            hours(3),
            &[
                "bottle",
                "open",
                "Madeup Dusk",
                "--reads",
                "10 mg/mL",
                "--expiry",
                &expiry,
            ],
        )
    }

    /// The local day so long ago.
    fn day(&self, ago: TimeDelta) -> String {
        (self.now - ago)
            .with_timezone(&self.zone)
            .date_naive()
            .to_string()
    }

    /// One ordinary command, so long ago.
    fn at(&mut self, ago: TimeDelta, command: &[&str]) -> Result<(), Failure> {
        let words = command.iter().map(|word| (*word).to_owned()).collect();
        self.story.push((ago, words));
        Ok(())
    }

    /// Runs the story in the order in which it happened, as a room is lived in.
    fn live(&mut self) -> Result<(), Failure> {
        let mut story = std::mem::take(&mut self.story);
        story.sort_by_key(|(ago, _)| -*ago);
        story
            .iter()
            .try_for_each(|(ago, command)| self.run(*ago, command))
    }

    fn run(&mut self, ago: TimeDelta, command: &[String]) -> Result<(), Failure> {
        let book = self.book.display().to_string();
        let now = typed(self.now - ago, self.zone);
        let everywhere = ["--book", &book, "--now", &now];
        let line = std::iter::once("scruple")
            .chain(command.iter().map(String::as_str))
            .chain(everywhere);
        let arguments = Arguments::try_parse_from(line).map_err(|error| {
            Failure::failed(format!("the demonstration could not be built ({error})"))
        })?;
        let outer = &self.desk.world;
        let (mut out, mut err) = (Vec::new(), Vec::new());
        let mut world = World {
            now: outer.now,
            local_zone: outer.local_zone.clone(),
            book_from_environment: None,
            data_directory: None,
            interactive: false,
            colour: false,
            input: &mut std::io::empty(),
            out: &mut out,
            err: &mut err,
        };
        dispatch(
            arguments.command.as_ref(),
            &arguments.everywhere,
            &mut world,
            None,
        )?;
        Ok(())
    }
}

/// A moment as a person types it, in the zone.
fn typed(at: DateTime<Utc>, zone: Zone) -> String {
    at.with_timezone(&zone).format("%Y-%m-%d %H:%M").to_string()
}

/// A path as it can be typed.
fn quoted(path: &Path) -> String {
    let text = path.display().to_string();
    if text.contains(' ') {
        format!("\"{text}\"")
    } else {
        text
    }
}
