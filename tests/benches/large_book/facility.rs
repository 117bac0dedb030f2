//! A facility's book: so many animals, so many entries, some courses still open.
//!
//! Every animal comes in, gets one course after another and is weighed twice in each; a course is
//! a prescription of its own with six doses, all given at their marks. Bottles are opened every
//! four weeks and discarded. Only the animals whose course is open have one now: the others
//! finished five weeks ago or longer. Everything is invented.

use std::path::Path;

use chrono::{DateTime, Days, NaiveDate, NaiveTime, TimeDelta, TimeZone, Utc};
use scruple::animal::Animal;
use scruple::book::{Book, BookError, BookId, Folders};
use scruple::bottle::Bottle;
use scruple::entry::{
    BottleEnd, DoseRecord, Entered, Happening, MarkThen, NewRow, Outcome, Signed, Stamp, Subject,
    Weighed,
};
use scruple::notation::{Notation, Written};
use scruple::quantity::{BodyWeight, Strength, Volume};
use scruple::rack::{Needle, PrintedScale, Syringe, Use};
use scruple::settings::{PaperSize, Settings};

/// How large a book is to be.
#[derive(Clone, Copy, Debug)]
pub struct Facility {
    /// How many animals.
    pub animals: u32,
    /// How many entries, about.
    pub entries: u32,
    /// How many animals have a course open, each with a dose due today.
    pub open: u32,
    /// How many courses each of those has had at least, however short the book's history.
    pub recent: u32,
}

/// A course with a dose due today.
#[derive(Clone, Debug)]
pub struct Open {
    /// The animal's name.
    pub animal: String,
    /// The prescription's reference.
    pub prescription: String,
    /// About what the animal weighs.
    pub weight: String,
}

/// The day and hour at which the book is looked at, as `--now` takes it.
pub const NOW: &str = "2027-03-22 08:05";

const DOSES: u32 = 6;
const MEDICINES: u32 = 8;
/// A prescription, its doses and two weighings.
const EACH_COURSE: u32 = DOSES + 3;
const DAYS_BETWEEN: i64 = 14;
const BOTTLE_DAYS: i64 = 28;
/// So many days before today the bottles now open were opened.
const BOTTLE_AGE: i64 = 10;
const STRENGTH: &str = "8 mg/mL";

/// What happens, by what it needs to be written down.
#[derive(Clone, Copy)]
enum Event {
    BottleEnds(u32),
    BottleOpens(u32),
    Arrives,
    Prescribed(Course),
    Weighed,
    Given(Course, u32),
}

#[derive(Clone, Copy)]
struct Course {
    number: u32,
    medicine: u32,
    /// The day of the first dose, counted from today.
    starts: i64,
}

/// Minutes from midnight of today; the animal's number; what.
type Happens = (i64, u32, Event);

impl Facility {
    /// Writes the book; returns how many entries it has.
    pub fn write(self, path: &Path) -> Result<u64, BookError> {
        let made = moment(-self.days_back() * 24 * 60);
        let id = BookId::from_seed("a facility");
        let mut book = Book::create(path, "UTC", id, made, Folders::Make)?;
        let mut written = append(&mut book, first(made))?;
        let mut all = self.everything();
        all.sort_by_key(|(minute, animal, _)| (*minute, *animal));
        for some in all.chunks(50_000) {
            written += append(&mut book, some.iter().map(|one| row(*one)).collect())?;
        }
        Ok(written)
    }

    /// The courses that are open.
    pub fn open_courses(self) -> Vec<Open> {
        let open = (0..self.open).map(|place| self.open_animal(place));
        let last =
            open.filter_map(|animal| Some((animal, self.courses(animal).into_iter().last()?)));
        last.map(|(animal, course)| Open {
            animal: name(animal),
            prescription: reference(animal, course),
            weight: weight(animal, 0).text().to_owned(),
        })
        .collect()
    }

    fn courses_each(self) -> u32 {
        let each = self.entries / self.animals;
        (each.saturating_sub(1) / EACH_COURSE).max(1)
    }

    fn courses_of(self, animal: u32) -> u32 {
        if self.is_open(animal) {
            self.courses_each().max(self.recent)
        } else {
            self.courses_each()
        }
    }

    fn days_back(self) -> i64 {
        i64::from(self.courses_each().max(self.recent)) * DAYS_BETWEEN + 120
    }

    fn open_animal(self, place: u32) -> u32 {
        let step = self.animals / self.open.max(1);
        place * step.max(1)
    }

    fn is_open(self, animal: u32) -> bool {
        let step = (self.animals / self.open.max(1)).max(1);
        self.open > 0 && animal.is_multiple_of(step) && animal / step < self.open
    }

    fn courses(self, animal: u32) -> Vec<Course> {
        let last = if self.is_open(animal) {
            -i64::from(animal % DOSES)
        } else {
            -45 - i64::from(animal % 21)
        };
        let number = self.courses_of(animal);
        let course = |number_back: u32| Course {
            number: number - number_back,
            medicine: (animal + number - number_back) % MEDICINES,
            starts: last - i64::from(number_back) * DAYS_BETWEEN,
        };
        (0..number).rev().map(course).collect()
    }

    fn everything(self) -> Vec<Happens> {
        let mut all = Vec::with_capacity(self.entries as usize + 1_000);
        let mut opened = -BOTTLE_AGE;
        while opened > -self.days_back() - BOTTLE_DAYS {
            for medicine in 0..MEDICINES {
                let bottle = bottle_on(opened, medicine);
                all.push((opened * 24 * 60, 0, Event::BottleOpens(bottle)));
                if opened + BOTTLE_DAYS <= 0 {
                    let ends = (opened + BOTTLE_DAYS) * 24 * 60;
                    all.push((ends, 0, Event::BottleEnds(bottle)));
                }
            }
            opened -= BOTTLE_DAYS;
        }
        for animal in 0..self.animals {
            for (place, course) in self.courses(animal).into_iter().enumerate() {
                let at = |day: i64, hour: i64| (course.starts + day) * 24 * 60 + hour * 60;
                if place == 0 {
                    all.push((at(-1, 16), animal, Event::Arrives));
                }
                all.push((at(-1, 17), animal, Event::Weighed));
                all.push((at(-1, 18), animal, Event::Prescribed(course)));
                for dose in 0..DOSES {
                    all.push((
                        at(i64::from(dose), 8),
                        animal,
                        Event::Given(course, dose + 1),
                    ));
                }
                all.push((at(3, 9), animal, Event::Weighed));
            }
        }
        all.retain(|(minute, ..)| *minute < 0);
        all
    }
}

/// The bottle of a medicine that is open on a day: one in four weeks, numbered back from today.
fn bottle_on(day: i64, medicine: u32) -> u32 {
    let back = u32::try_from((-BOTTLE_AGE - day + BOTTLE_DAYS - 1).div_euclid(BOTTLE_DAYS));
    1 + back.unwrap_or(0) * MEDICINES + medicine
}

fn append(book: &mut Book, rows: Vec<NewRow>) -> Result<u64, BookError> {
    use scruple::book::AppendError;
    let kept = book.append(|_| Ok::<_, BookError>(rows));
    let kept = kept.map_err(|error| match error {
        AppendError::Judged(error) | AppendError::Book(error) => error,
    })?;
    Ok(kept.len() as u64)
}

fn today() -> NaiveDate {
    NaiveDate::from_ymd_opt(2027, 3, 22).unwrap()
}

fn date(day: i64) -> NaiveDate {
    today() + TimeDelta::days(day)
}

fn moment(minute: i64) -> DateTime<Utc> {
    Utc.from_utc_datetime(&today().and_time(NaiveTime::MIN)) + TimeDelta::minutes(minute)
}

/// Five syllables, the last one a check of the others, so that no name is a slip for another.
pub fn name(animal: u32) -> String {
    const SYLLABLES: [&str; 10] = [
        "bam", "cel", "dif", "gon", "hup", "jav", "kez", "lir", "mot", "nuq",
    ];
    let digits = [1_000, 100, 10, 1].map(|place| animal / place % 10);
    let check = digits.iter().sum::<u32>() % 10;
    let all = digits.into_iter().chain([check]);
    let small: String = all.map(|digit| SYLLABLES[digit as usize]).collect();
    small[..1].to_uppercase() + &small[1..]
}

fn reference(animal: u32, course: Course) -> String {
    format!("DEMO-{animal:05}-{}", course.number)
}

fn medicine(number: u32) -> String {
    const NAMES: [&str; MEDICINES as usize] = [
        "Amber", "Birch", "Cobalt", "Dusk", "Ember", "Flint", "Garnet", "Heath",
    ];
    format!("Madeup {}", NAMES[number as usize])
}

fn typed<T: Notation>(text: &str) -> Written<T> {
    T::read(text).unwrap()
}

/// Tenths of a gram: 40 to 300 g, a little more or less from week to week.
fn tenths(animal: u32, minute: i64) -> u32 {
    let base = 400 + animal * 7_919 % 2_600;
    let day = u32::try_from(minute.div_euclid(24 * 60).rem_euclid(5)).unwrap_or(0);
    base + base / 100 * day / 2
}

fn weight(animal: u32, minute: i64) -> Written<BodyWeight> {
    let tenths = tenths(animal, minute);
    let text = match tenths % 10 {
        0 => format!("{} g", tenths / 10),
        rest => format!("{}.{rest} g", tenths / 10),
    };
    typed(&text)
}

fn syringe() -> Syringe {
    let (capacity, graduation) = (typed::<Volume>("1 mL"), typed::<Volume>("0.01 mL"));
    let scale = PrintedScale::Millilitres;
    Syringe::new(
        capacity,
        graduation,
        Use::Mouth,
        Needle::Tip,
        scale,
        None,
        None,
    )
    .unwrap()
}

fn stamped(what: &Happening, subject: &Subject, course: Option<&str>, minute: i64) -> NewRow {
    let stamp = Stamp {
        at: moment(minute),
        clock_given: false,
        zone: "UTC".to_owned(),
    };
    what.to_row(subject, course, moment(minute), &stamp)
        .unwrap()
}

/// The settings and the rack.
fn first(made: DateTime<Utc>) -> Vec<NewRow> {
    let minute = (made - moment(0)).num_minutes();
    let settings = Settings::new("UTC".to_owned(), PaperSize::A4, "0.1 g", true).unwrap();
    let all = [
        Happening::Settings(Signed::new(settings, None)),
        Happening::Syringe(Signed::new(syringe(), None)),
    ];
    let all = all.iter();
    all.map(|what| stamped(what, &Subject::Settings, None, minute))
        .collect()
}

fn row((minute, animal, event): Happens) -> NewRow {
    let day = minute.div_euclid(24 * 60);
    let patient = Subject::Animal(name(animal));
    match event {
        Event::BottleOpens(number) => {
            let bottle = Bottle {
                number,
                medicine: medicine((number - 1) % MEDICINES),
                strength: Some(typed::<Strength>(STRENGTH)),
                lot: Some(format!("LOT-{number}")),
                expiry: date(day) + Days::new(180),
                opened: date(day),
                days_after_opening: Some(28),
                holds: None,
                batch: None,
            };
            let what = Happening::Bottle(Signed::new(bottle, None));
            stamped(&what, &Subject::Bottle(number), None, minute)
        }
        Event::BottleEnds(bottle) => {
            let end = BottleEnd {
                bottle,
                ran_dry: false,
                by: None,
            };
            let what = Happening::BottleEnd(end);
            stamped(&what, &Subject::Bottle(bottle), None, minute)
        }
        Event::Arrives => {
            let animal = Animal {
                name: name(animal),
                species: "gecko".to_owned(),
                identification: format!("tub {animal}"),
                quarantine: false,
            };
            let what = Happening::Animal(Signed::new(animal, None));
            stamped(&what, &patient, None, minute)
        }
        Event::Weighed => {
            let weighed = Weighed {
                weight: weight(animal, minute),
                readability: typed("0.1 g"),
                tag: None,
                confirmed: false,
                by: Some("AK".to_owned()),
            };
            stamped(&Happening::Weighing(weighed), &patient, None, minute)
        }
        Event::Prescribed(course) => prescribed(animal, course, minute),
        Event::Given(course, number) => {
            let reference = reference(animal, course);
            let dose = Happening::Dose(given(animal, course, number, minute));
            stamped(&dose, &patient, Some(&reference), minute)
        }
    }
}

fn prescribed(animal: u32, course: Course, minute: i64) -> NewRow {
    let reference = reference(animal, course);
    let source = format!(
        r#"Prescription(
    demonstration: true, // invented
    reference: "{reference}", written: "{}",
    vet: Vet(name: "Dr A. Example", practice: "Example Practice (invented)", phone: "555 0134 (not a number)"),
    animals: ["{}"],
    medicine: Medicine(name: "{}", form: "suspension", strength: "{STRENGTH}"),
    dose: PerBodyWeight("20 mg/kg"), route: ByMouth,
    schedule: Every(interval: "24 hours", doses: {DOSES}), after_late: CountFromGiven,
    if_missed: "Demonstration instruction: ring the practice.",
    stop_and_call_if: ["Demonstration sign A"],
)
"#,
        date(course.starts - 1),
        name(animal),
        medicine(course.medicine),
    );
    let entered = Entered {
        source,
        file: format!("{reference}.ron"),
        start: date(course.starts),
        start_time: NaiveTime::from_hms_opt(8, 0, 0),
        unasked: false,
        by: None,
    };
    let subject = Subject::Prescription(reference.clone());
    stamped(
        &Happening::Prescription(entered),
        &subject,
        Some(&reference),
        minute,
    )
}

fn given(animal: u32, course: Course, number: u32, minute: i64) -> DoseRecord {
    // 20 mg/kg from 8 mg/mL is 0.0025 mL per gram: a line of 0.01 mL for every 4 g, to the nearest.
    let latest = if number > 4 {
        (course.starts + 3) * 24 * 60
    } else {
        (course.starts - 1) * 24 * 60
    };
    let lines = (tenths(animal, latest) + 19) / 40;
    let two = |hundredths: u32| {
        let text = format!("{}.{:02}", hundredths / 100, hundredths % 100);
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    };
    DoseRecord {
        outcome: Outcome::Given,
        slot: None,
        by: Some("AK".to_owned()),
        site: None,
        bottle: Some(bottle_on(minute.div_euclid(24 * 60), course.medicine)),
        syringe: Some(syringe()),
        drawn: None,
        mark: Some(MarkThen {
            lines,
            draws: 1,
            total: format!("{} mL", two(lines)),
            held: format!("{} mg", two(lines * 8)),
            weight: Some(weight(animal, latest)),
            strength: Some(typed(STRENGTH)),
        }),
        at_mark: true,
        flags: Vec::new(),
        note: None,
    }
}
