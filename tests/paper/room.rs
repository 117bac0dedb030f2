//! An invented animal room, built entry by entry as a book would hold it, so that cards can be
//! made of it. No such medicine, vet, animal or regimen exists.

#![allow(dead_code, reason = "each test builds the rooms that it needs")]

use chrono::{DateTime, Days, NaiveDate, NaiveTime, Utc};
use scruple::animal::{Animal, Tag};
use scruple::bottle::Bottle;
use scruple::entry::{
    About, DoseRecord, Entered, Happening, MarkThen, Observation, Outcome, Row, Signed, Stamp,
    Subject, Weighed,
};
use scruple::ledger::Ledger;
use scruple::notation::Notation;
use scruple::quantity::{BodyWeight, Strength, Volume};
use scruple::rack::{Needle, PrintedScale, Syringe, Use};
use scruple::round::{Round, of_day};
use scruple::schedule::Zone;
use scruple::settings::{PaperSize, Settings};

pub fn zone() -> Zone {
    "Europe/Warsaw".parse().unwrap()
}

/// A moment as the clock in the room shows it: "2001-03-08 09:00".
pub fn at(local: &str) -> DateTime<Utc> {
    let local = chrono::NaiveDateTime::parse_from_str(local, "%Y-%m-%d %H:%M").unwrap();
    local.and_local_timezone(zone()).unwrap().to_utc()
}

/// The moment at which the card is made: a Thursday, in winter time.
pub const NOW: &str = "2001-03-08 09:00";

/// The entries of a book, in order.
pub struct Room {
    rows: Vec<Row>,
    settings: Settings,
}

/// What a prescription file says, field by field, as it is typed there.
pub struct Script {
    pub reference: &'static str,
    pub vet: &'static str,
    pub animals: &'static str,
    pub medicine: &'static str,
    pub dose: &'static str,
    pub route: &'static str,
    pub schedule: &'static str,
    /// Whatever else, each with its comma.
    pub more: &'static str,
}

/// By mouth, daily for four days, with one sign at which to call.
pub const SCRIPT: Script = Script {
    reference: "",
    vet: r#"name: "Dr A. Example", practice: "Example Practice (invented)", phone: "555 0134 (not a number)", out_of_hours: "555 0199""#,
    animals: "",
    medicine: "",
    dose: "",
    route: "ByMouth",
    schedule: r#"Every(interval: "24 hours", doses: 4)"#,
    more: r#"stop_and_call_if: ["Demonstration sign A"], if_missed: "Demonstration instruction: ring the practice.","#,
};

const UNDER_THE_SKIN: &str = r#"Injection("under the skin")"#;

impl Room {
    pub fn new(paper: PaperSize, demonstration: bool) -> Room {
        let zone = zone().name().to_owned();
        let settings = Settings::new(zone, paper, "0.1 g", demonstration).unwrap();
        let mut room = Room {
            rows: Vec::new(),
            settings: settings.clone(),
        };
        let began = "2001-02-01 08:00";
        room.keep(
            Subject::Settings,
            None,
            began,
            Happening::Settings(Signed::new(settings, None)),
        );
        room
    }

    fn keep(&mut self, subject: Subject, course: Option<&str>, when: &str, what: Happening) {
        let happened = at(when);
        let stamp = Stamp {
            at: happened,
            clock_given: false,
            zone: zone().name().to_owned(),
        };
        let row = what.to_row(&subject, course, happened, &stamp).unwrap();
        let seq = u64::try_from(self.rows.len()).unwrap() + 1;
        self.rows.push(Row {
            seq,
            n: seq,
            link: String::new(),
            subject: row.subject,
            course: row.course,
            kind: row.kind,
            happened_at: row.happened_at,
            recorded_at: row.recorded_at,
            clock_given: row.clock_given,
            zone: row.zone,
            body: row.body,
        });
    }

    pub fn syringe(&mut self, syringe: Syringe) {
        self.keep(
            Subject::Settings,
            None,
            "2001-02-01 08:10",
            Happening::Syringe(Signed::new(syringe, None)),
        );
    }

    pub fn animal(&mut self, name: &str, identification: &str, quarantine: bool) {
        let animal = Animal {
            name: name.to_owned(),
            species: "invented".to_owned(),
            identification: identification.to_owned(),
            quarantine,
        };
        let subject = Subject::Animal(name.to_owned());
        self.keep(
            subject,
            None,
            "2001-02-01 08:20",
            Happening::Animal(Signed::new(animal, None)),
        );
    }

    pub fn weigh(&mut self, name: &str, when: &str, weight: &str, tag: Option<Tag>) {
        let weighed = Weighed {
            weight: BodyWeight::read(weight).unwrap(),
            readability: self.settings.readability.clone(),
            tag,
            confirmed: false,
            by: None,
        };
        let subject = Subject::Animal(name.to_owned());
        self.keep(subject, None, when, Happening::Weighing(weighed));
    }

    /// Enters a prescription whose course starts at a local moment: "2001-03-08 09:00".
    pub fn enter(&mut self, script: &Script, start: &str) {
        let source = script.source();
        let (date, time) = start.split_once(' ').unwrap();
        let entered = Entered {
            source,
            file: "script.ron".to_owned(),
            start: date.parse().unwrap(),
            start_time: Some(NaiveTime::parse_from_str(time, "%H:%M").unwrap()),
            unasked: false,
            by: None,
        };
        let subject = Subject::Prescription(script.reference.to_owned());
        let what = Happening::Prescription(entered);
        self.keep(subject, None, "2001-03-05 10:00", what);
    }

    pub fn open(&mut self, number: u32, medicine: &str, strength: Option<&str>) {
        let opened = NaiveDate::from_ymd_opt(2001, 3, 5).unwrap();
        let bottle = Bottle {
            number,
            medicine: medicine.to_owned(),
            strength: strength.map(|strength| Strength::read(strength).unwrap()),
            lot: Some("lot A1".to_owned()),
            expiry: opened.checked_add_days(Days::new(400)).unwrap(),
            opened,
            days_after_opening: (number % 2 == 1).then_some(28),
            holds: None,
            batch: None,
        };
        let subject = Subject::Bottle(number);
        self.keep(
            subject,
            None,
            "2001-03-05 11:00",
            Happening::Bottle(Signed::new(bottle, None)),
        );
    }

    /// Records a dose as given, at its mark: so much, by such a weight.
    pub fn give(
        &mut self,
        name: &str,
        course: &str,
        when: &str,
        mark: (&str, &str),
        site: Option<&str>,
    ) {
        let record = DoseRecord {
            outcome: Outcome::Given,
            slot: None,
            by: Some("AB".to_owned()),
            site: site.map(str::to_owned),
            bottle: None,
            syringe: None,
            drawn: None,
            mark: Some(MarkThen {
                lines: 1,
                draws: 1,
                total: mark.0.to_owned(),
                held: "as drawn".to_owned(),
                weight: Some(BodyWeight::read(mark.1).unwrap()),
                strength: None,
            }),
            at_mark: true,
            flags: Vec::new(),
            note: None,
        };
        let subject = Subject::Animal(name.to_owned());
        self.keep(subject, Some(course), when, Happening::Dose(record));
    }

    /// Notes what somebody saw.
    pub fn note(&mut self, name: &str, when: &str, words: &str) {
        let seen = Observation {
            about: About::Appetite,
            words: words.to_owned(),
            by: Some("AB".to_owned()),
        };
        let subject = Subject::Animal(name.to_owned());
        self.keep(subject, None, when, Happening::Observation(seen));
    }

    /// The entries as they stand.
    pub fn rows(&self) -> &[Row] {
        &self.rows
    }

    /// Makes the newest entry one that cannot be understood.
    pub fn spoil_the_last(&mut self) {
        self.rows.last_mut().unwrap().body = "{".to_owned();
    }

    pub fn ledger(&self) -> Ledger {
        let ledger = Ledger::fold(&self.rows);
        assert_eq!(ledger.faults, []);
        ledger
    }
}

impl Script {
    fn source(&self) -> String {
        let Script {
            reference,
            vet,
            animals,
            medicine,
            dose,
            route,
            schedule,
            more,
        } = self;
        format!(
            r#"Prescription(
    demonstration: true, // invented: no such medicine, vet or animal exists
    reference: "{reference}", written: "2001-03-05", valid_until: "2001-06-05",
    vet: Vet({vet}),
    animals: [{animals}],
    medicine: Medicine({medicine}),
    dose: {dose},
    route: {route},
    schedule: {schedule},
    after_late: KeepCalendar,
    {more}
)"#
        )
    }
}

/// The day's round of a ledger, looked at [`NOW`].
pub fn round(ledger: &Ledger) -> Round<'_> {
    let now = at(NOW);
    let day = now.with_timezone(&zone()).date_naive();
    let settings = ledger.settings.as_ref().unwrap();
    of_day(ledger, settings, zone(), day, now).unwrap()
}

pub fn barrel(capacity: &str, line: &str, needle: Needle, scale: PrintedScale) -> Syringe {
    let read = |text| Volume::read(text).unwrap();
    let used_for = match needle {
        Needle::Tip => Use::Mouth,
        Needle::Fixed | Needle::Hub => Use::Injection,
    };
    let hub_loss = (needle == Needle::Hub).then(|| read("0.07 mL"));
    let (capacity, line) = (read(capacity), read(line));
    Syringe::new(capacity, line, used_for, needle, scale, hub_loss, None).unwrap()
}

/// One dose open now, one late, one behind a call, one whose bottle reads otherwise, one with an
/// old weight, one too small, one on an insulin barrel, a tablet, paste to weigh for first, fluid
/// in four sites, an application in words, one not yet to be given, one answered for.
pub fn busy(paper: PaperSize) -> Ledger {
    let mut room = Room::new(paper, true);
    syringes(&mut room);
    animals(&mut room);
    injections(&mut room);
    by_mouth(&mut room);
    for (number, medicine, strength) in [
        (1, "Madeup Amber", "8 mg/mL"),
        (2, "Madeup Cobalt", "25 mg/mL"),
        (3, "Madeup Dill", "4 mg/mL"),
        (4, "Madeup Dusk", "10 mg/mL"),
        (5, "Madeup Elder", "25 mg/mL"),
        (6, "Madeup Fern", "50 mg per tablet"),
        (7, "Madeup Gel", "20 mg/g"),
        (8, "Madeup Drops", "3 mg/mL"),
        (9, "Madeup Ivy", "60 mg/mL"),
    ] {
        room.open(number, medicine, Some(strength));
    }
    room.ledger()
}

/// An insulin barrel, two for injection that lose in their hubs, one for the mouth.
pub fn syringes(room: &mut Room) {
    let millilitres = PrintedScale::Millilitres;
    let insulin = PrintedScale::InsulinU100;
    room.syringe(barrel("0.3 mL", "0.005 mL", Needle::Fixed, insulin));
    room.syringe(barrel("1 mL", "0.01 mL", Needle::Hub, millilitres));
    room.syringe(barrel("10 mL", "0.2 mL", Needle::Hub, millilitres));
    room.syringe(barrel("1 mL", "0.01 mL", Needle::Tip, millilitres));
}

fn animals(room: &mut Room) {
    room.animal("Thimblo", "tub 4, white spot on left shoulder", false);
    room.animal("Nubbet", "tub 9, no tail tip", true);
    room.animal("Pipkin", "tub 5, the smallest", false);
    room.animal("Quillo", "cage 2, grey", false);
    room.animal("Oldo", "cage 3, notch in right ear", false);
    room.animal("Shello", "table, paint mark 7", false);
    room.weigh("Thimblo", "2001-03-07 18:00", "31 g", None);
    room.weigh("Nubbet", "2001-03-05 18:00", "50 g", None);
    room.weigh("Nubbet", "2001-03-08 08:00", "44 g", None);
    room.weigh("Pipkin", "2001-03-07 18:05", "6 g", None);
    room.weigh("Quillo", "2001-03-07 18:10", "480 g", Some(Tag::JustFed));
    room.weigh("Oldo", "2001-02-06 18:00", "84 g", None);
    room.weigh("Shello", "2001-02-26 18:00", "1.2 kg", None);
}

fn injections(room: &mut Room) {
    // 31 g at 20 mg/kg of 8 mg/mL: 31/400 mL, a tie, to 0.075 mL, line 7.5 (design scenario 1).
    let amber = Script {
        reference: "DEMO-0001",
        animals: r#""Thimblo""#,
        medicine: r#"name: "Madeup Amber", form: "solution for injection", strength: "8 mg/mL""#,
        dose: r#"PerBodyWeight("20 mg/kg")"#,
        route: UNDER_THE_SKIN,
        more: r#"sites: [Site("A", "left"), Site("B", "right")], vet_notes: ["Demonstration note A"],"#,
        ..SCRIPT
    };
    room.enter(&amber, "2001-03-07 09:00");
    let site = Some("site A, left side");
    room.give(
        "Thimblo",
        "DEMO-0001",
        "2001-03-07 09:10",
        ("0.075 mL", "31 g"),
        site,
    );
    // 480 g at 15 mL/kg: 7.2 mL, four of 1.8 mL at most 2 mL a site (design scenario 9).
    let saline = Script {
        reference: "DEMO-0006",
        animals: r#""Quillo""#,
        medicine: r#"name: "Madeup Saline""#,
        dose: r#"PerBodyWeight("15 mL/kg")"#,
        route: UNDER_THE_SKIN,
        schedule: "Once",
        more: r#"max_per_site: "2 mL", sites: [Site("A", "left"), Site("B", "right")],"#,
        ..SCRIPT
    };
    room.enter(&saline, "2001-03-08 10:00");
    // 6 g at 20 mg/kg of 60 mg/mL: 0.002 mL, less than half of the finest line.
    let ivy = Script {
        reference: "DEMO-0010",
        animals: r#""Pipkin""#,
        medicine: r#"name: "Madeup Ivy", strength: "60 mg/mL""#,
        dose: r#"PerBodyWeight("20 mg/kg")"#,
        route: UNDER_THE_SKIN,
        ..SCRIPT
    };
    room.enter(&ivy, "2001-03-08 09:00");
}

fn by_mouth(room: &mut Room) {
    // 480 g at 10 mg/kg of 25 mg/mL: 0.192 mL, to 0.19 mL. Due 04:30, a window of 24 / 8 = 3
    // hours either side, late until half the gap has passed, 16:30.
    let cobalt = Script {
        reference: "DEMO-0002",
        animals: r#""Quillo""#,
        medicine: r#"name: "Madeup Cobalt", strength: "25 mg/mL""#,
        dose: r#"PerBodyWeight("10 mg/kg")"#,
        ..SCRIPT
    };
    room.enter(&cobalt, "2001-03-08 04:30");
    // 44 g at 33 mg/kg of 4 mg/mL: 0.363 mL, to 0.36 mL; 44 g is 12 percent below 50 g.
    let dill = Script {
        reference: "DEMO-0003",
        animals: r#""Nubbet""#,
        medicine: r#"name: "Madeup Dill", strength: "4 mg/mL""#,
        dose: r#"PerBodyWeight("33 mg/kg")"#,
        ..SCRIPT
    };
    room.enter(&dill, "2001-03-08 09:00");
    let dusk = Script {
        reference: "DEMO-0004",
        animals: r#""Thimblo""#,
        medicine: r#"name: "Madeup Dusk", strength: "8 mg/mL""#,
        dose: r#"PerBodyWeight("20 mg/kg")"#,
        ..SCRIPT
    };
    room.enter(&dusk, "2001-03-08 09:00");
    let elder = Script {
        reference: "DEMO-0005",
        animals: r#""Oldo""#,
        medicine: r#"name: "Madeup Elder", strength: "25 mg/mL""#,
        dose: r#"PerBodyWeight("50 mg/kg")"#,
        ..SCRIPT
    };
    room.enter(&elder, "2001-03-07 09:00");
    room.give(
        "Oldo",
        "DEMO-0005",
        "2001-03-07 09:30",
        ("0.17 mL", "84 g"),
        None,
    );
    // 1.2 kg at 21 mg/kg of 50 mg tablets: 0.504, to half. The dose at 20:00 opens 12 / 8 = 1.5
    // hours before, at 18:30.
    let fern = Script {
        reference: "DEMO-0007",
        animals: r#""Shello""#,
        medicine: r#"name: "Madeup Fern", form: "tablets", strength: "50 mg per tablet""#,
        dose: r#"PerBodyWeight("21 mg/kg")"#,
        schedule: r#"AtTimes(times: ["08:00", "20:00"], days: 5)"#,
        more: r#"tablets: Halves, stop_and_call_if: ["Demonstration sign B"],"#,
        ..SCRIPT
    };
    room.enter(&fern, "2001-03-08 08:00");
    room.give(
        "Shello",
        "DEMO-0007",
        "2001-03-08 07:40",
        ("0.5 tablet", "1.2 kg"),
        None,
    );
    // 1.2 kg at 5 mg/kg of 20 mg/g: 0.3 g of product.
    let gel = Script {
        reference: "DEMO-0008",
        animals: r#""Shello""#,
        medicine: r#"name: "Madeup Gel", strength: "20 mg/g""#,
        dose: r#"PerBodyWeight("5 mg/kg")"#,
        more: "weigh: BeforeEachDose,",
        ..SCRIPT
    };
    room.enter(&gel, "2001-03-08 09:00");
    let drops = Script {
        reference: "DEMO-0009",
        animals: r#""Shello", "Oldo""#,
        medicine: r#"name: "Madeup Drops", strength: "3 mg/mL""#,
        dose: r#"Application("2 drops, then hold the eye shut for 1 minute")"#,
        route: r#"InEye("each")"#,
        more: r#"vet_notes: ["Demonstration note C"],"#,
        ..SCRIPT
    };
    room.enter(&drops, "2001-03-08 11:00");
}

/// Three animals with a dose each of one bottle by mouth and nothing to remark.
pub fn quiet(paper: PaperSize) -> Ledger {
    let mut room = Room::new(paper, true);
    syringes(&mut room);
    for (name, weight) in [
        ("Thimblo", "84 g"),
        ("Nubbet", "97.5 g"),
        ("Pipkin", "120 g"),
    ] {
        room.animal(name, "tub 4, white spot on left shoulder", false);
        room.weigh(name, "2001-03-07 18:00", weight, None);
    }
    // 50 mg/kg of 12.5 mg/mL: 0.336, 0.39 and 0.48 mL, to 0.34, 0.39 and 0.48 mL: 1.21 mL in all.
    let cobalt = Script {
        reference: "DEMO-0001",
        animals: r#""Thimblo", "Nubbet", "Pipkin""#,
        medicine: r#"name: "Madeup Cobalt", strength: "12.5 mg/mL""#,
        dose: r#"PerBodyWeight("50 mg/kg")"#,
        more: r#"stop_and_call_if: ["Demonstration sign A"],"#,
        ..SCRIPT
    };
    room.enter(&cobalt, "2001-03-08 09:00");
    room.open(1, "Madeup Cobalt", Some("12.5 mg/mL"));
    room.ledger()
}
