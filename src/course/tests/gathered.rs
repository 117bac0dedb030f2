//! From the entries of a book to a judged course.

use super::{DateTime, NaiveTime, Utc, date};
use crate::course::{Course, MarkGate, State, Verdict, judge_in};
use crate::entry::{
    DoseRecord, End, Ending, Entered, Happening, Instruction, Order, Outcome, Row, Signed, Stamp,
    Subject,
};
use crate::ledger::Ledger;
use crate::schedule::Zone;

/// Every 12 hours from 1 May 2026 at 08:00, four times.
const SCRIPT: &str = r#"Prescription(
    demonstration: true,
    reference: "REFERENCE",
    written: "2026-05-01",
    vet: Vet(name: "Dr A. Example", practice: "Example Practice (invented)", phone: "555 0134 (not a number)"),
    animals: ["Thimblo"],
    medicine: Medicine(name: "Madeup MEDICINE", form: "solution for injection", strength: "8 mg/mL"),
    dose: PerBodyWeight("13 mg/kg"),
    route: Injection("under the skin"),
    schedule: Every(interval: "12 hours", doses: 4),
    after_late: Call,
    weigh_every: "7 days",
    label_check: LabelCheck(weight: "32 g", volume: "0.052 mL"),
)
"#;

/// Thimblo with two prescriptions, the other of the medicine named.
struct Book(Vec<Row>);

impl Book {
    fn new(other: &str) -> Book {
        let mut book = Book(Vec::new());
        let animal = crate::animal::Animal {
            name: "Thimblo".to_owned(),
            species: "invented tree frog".to_owned(),
            identification: "tub 1".to_owned(),
            quarantine: false,
        };
        let animal = Happening::Animal(Signed::new(animal, None));
        book.add("DEMO-0001", "2026-05-01T00:00:00Z", &animal);
        for (reference, medicine) in [("DEMO-0001", "Amber"), ("DEMO-0002", other)] {
            let source = SCRIPT.replace("REFERENCE", reference);
            let entered = Entered {
                source: source.replace("MEDICINE", medicine),
                file: "script.ron".to_owned(),
                start: date("2026-05-01"),
                start_time: NaiveTime::from_hms_opt(8, 0, 0),
                unasked: false,
                by: None,
            };
            let when = "2026-05-01T00:00:00Z";
            book.add(reference, when, &Happening::Prescription(entered));
        }
        book
    }

    fn add(&mut self, course: &str, when: &str, what: &Happening) {
        let at: DateTime<Utc> = when.parse().unwrap();
        let stamp = Stamp {
            at,
            clock_given: false,
            zone: "UTC".to_owned(),
        };
        let subject = Subject::Animal("Thimblo".to_owned());
        let row = what.to_row(&subject, Some(course), at, &stamp).unwrap();
        let seq = self.0.len() as u64 + 1;
        self.0.push(Row {
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

    fn given(mut self, course: &str, when: &str) -> Book {
        let record = DoseRecord {
            outcome: Outcome::Given,
            slot: None,
            by: None,
            site: None,
            bottle: None,
            syringe: None,
            drawn: None,
            mark: None,
            at_mark: true,
            flags: Vec::new(),
            note: None,
        };
        self.add(course, when, &Happening::Dose(record));
        self
    }

    fn told(mut self, course: &str, when: &str, order: Order) -> Book {
        let said = Instruction {
            prescription: course.to_owned(),
            order,
            said_by: "Dr A. Example".to_owned(),
            taken_by: "KL".to_owned(),
            read_back: true,
            paper_awaited: false,
            words: None,
        };
        self.add(course, when, &Happening::Instruction(said));
        self
    }

    /// The first of the two courses.
    fn judged(&self, now: &str) -> Course {
        let ledger = Ledger::fold(&self.0);
        assert!(ledger.faults.is_empty(), "{:?}", ledger.faults);
        let (patient, script) = (&ledger.animals[0], &ledger.scripts[0]);
        judge_in(&ledger, patient, script, Zone::UTC, now.parse().unwrap()).unwrap()
    }
}

/// The first slot is given at 08:00. What was given of the other prescription at 10:00 holds the
/// second slot, due at 20:00, where it is the same medicine: 10:00 and 12 hours, less 1.5, is
/// 20:30.
#[test]
fn a_dose_of_the_same_medicine_in_another_course_counts_and_of_another_does_not() {
    for (other, opens) in [
        ("Amber", "2026-05-01T20:30:00Z"),
        ("Umbra", "2026-05-01T18:30:00Z"),
    ] {
        let book = Book::new(other)
            .given("DEMO-0001", "2026-05-01T08:00:00Z")
            .given("DEMO-0002", "2026-05-01T10:00:00Z");
        let course = book.judged("2026-05-01T12:00:00Z");
        let states: Vec<State> = course.slots.iter().map(|slot| slot.state).collect();
        assert_eq!(states[0], State::Given, "{other}");
        assert_ne!(states[1], State::Given, "{other}");
        let second = course.slot(2).unwrap();
        assert_eq!(second.opens, Some(opens.parse().unwrap()), "{other}");
        // The dose of the other course is none of this one.
        assert!(course.extras.is_empty(), "{other}");
        assert_eq!(course.slot(1).unwrap().filled_by.unwrap().id, 4);
    }
}

#[test]
fn only_instructions_for_this_course_change_it() {
    for (course, second) in [
        ("DEMO-0001", State::Withheld),
        ("DEMO-0002", State::Planned),
    ] {
        let book = Book::new("Amber")
            .given("DEMO-0001", "2026-05-01T08:00:00Z")
            .told(course, "2026-05-01T09:00:00Z", Order::Skip { slot: 2 });
        let judged = book.judged("2026-05-01T12:00:00Z");
        assert_eq!(judged.slot(2).unwrap().state, second, "{course}");
    }
}

/// Stop, resume, dose now, settled: each arrives. What changes the dose and not the day does not.
#[test]
fn every_instruction_about_when_arrives() {
    let told = |order: Order| {
        let book = Book::new("Umbra").given("DEMO-0001", "2026-05-01T08:00:00Z");
        book.told("DEMO-0001", "2026-05-01T09:00:00Z", order)
    };
    let stopped = told(Order::Stop { from: 3 });
    let now = "2026-05-01T12:00:00Z";
    assert_eq!(stopped.judged(now).slot(3).unwrap().state, State::Gone);
    let resumed = stopped.told(
        "DEMO-0001",
        "2026-05-01T10:00:00Z",
        Order::Resume { from: 3 },
    );
    assert_eq!(resumed.judged(now).slot(3).unwrap().state, State::Planned);
    let dosed = told(Order::DoseNow { slot: 3 }).judged(now);
    assert_eq!(dosed.slot(3).unwrap().gate, MarkGate::Allowed);
    let late = Book::new("Umbra").given("DEMO-0001", "2026-05-01T05:00:00Z");
    assert_eq!(attention(&late), 1);
    let settled = Order::Settled { entry: 4 };
    let settled = late.told("DEMO-0001", "2026-05-01T05:30:00Z", settled);
    assert_eq!(attention(&settled), 0);
    let words = Order::Application {
        from: 3,
        words: "a thin layer".to_owned(),
    };
    assert_eq!(told(words).judged(now), told_nothing().judged(now));
}

fn told_nothing() -> Book {
    Book::new("Umbra").given("DEMO-0001", "2026-05-01T08:00:00Z")
}

/// How many remarks need attention at 06:00.
fn attention(book: &Book) -> usize {
    let course = book.judged("2026-05-01T06:00:00Z");
    let remarks = course.remarks.iter();
    remarks.filter(|remark| remark.needs_attention).count()
}

/// The stay ended at 10:00: at noon nothing waits.
#[test]
fn the_end_of_a_stay_and_a_new_review_date_arrive() {
    let mut book = told_nothing();
    let end = End {
        how: Ending::Rehomed,
        note: None,
        by: None,
    };
    book.add("DEMO-0001", "2026-05-01T10:00:00Z", &Happening::End(end));
    let course = book.judged("2026-05-01T12:00:00Z");
    assert_eq!(course.slot(2).unwrap().gate, MarkGate::Ended);
    assert_eq!(course.verdict, Verdict::EndedEarly(Ending::Rehomed));
    // Four slots are all it has, whatever the day of a review.
    let reviewed = Order::Review {
        on: date("2026-06-01"),
    };
    let reviewed = told_nothing().told("DEMO-0001", "2026-05-01T09:00:00Z", reviewed);
    assert_eq!(reviewed.judged("2026-05-01T12:00:00Z").slots.len(), 4);
}
