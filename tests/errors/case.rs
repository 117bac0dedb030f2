//! One case: read from its file, run in a fresh room, judged, and told in the list.

use crate::bench::{Bench, shell_words};
use std::fmt::Write;
use std::path::Path;
use std::sync::Mutex;
use std::sync::atomic::{AtomicU32, Ordering};

/// The prescription that cases change.
const SCRIPT: &str = r#"// Invented: no such medicine, vet or animal exists.
Prescription(
    demonstration: true,
    reference: "DEMO-0001",
    written: "2001-02-26",
    valid_until: "2001-06-05",
    vet: Vet(name: "Dr A. Example", phone: "555 0134 (not a number)"),
    animals: ["Thimblo"],
    medicine: Medicine(name: "Madeup Amber", strength: "8 mg/mL"),
    dose: PerBodyWeight("20 mg/kg"),
    route: Injection("under the skin"),
    sites: [Site("A", "left"), Site("B", "right")],
    schedule: Every(interval: "12 hours", doses: 6),
    after_late: KeepCalendar,
)
"#;

/// The parts of the list, by the folder of their cases, in its order.
const PARTS: [(&str, &str); 9] = [
    ("typing", "How figures, dates and names are typed"),
    ("prescription", "In a prescription file"),
    ("enter", "Entering a prescription"),
    ("animals", "Animals and weights"),
    ("bottles", "Bottles and syringes"),
    ("doses", "Recording doses"),
    ("vet", "What your vet said, follow-ups, corrections"),
    ("book", "The book, copies, exports and settings"),
    ("asking", "At the questions and on the round"),
];

pub struct Case {
    /// Its folder and file name.
    pub name: String,
    part: String,
    lines: Vec<(String, String)>,
}

/// What came of it.
pub struct Shown {
    code: u8,
    /// What was said on either stream, with the folder taken out and on as few lines as can be.
    pub said: String,
}

/// Every case in the folder, in the order of the list.
pub fn all(folder: &Path) -> Vec<Case> {
    let mut cases = Vec::new();
    for (part, _) in PARTS {
        let mut own: Vec<_> = std::fs::read_dir(folder.join(part))
            .unwrap_or_else(|error| panic!("{part}: {error}"))
            .map(|entry| entry.unwrap().path())
            .filter(|path| path.extension().is_some_and(|end| end == "case"))
            .collect();
        own.sort();
        cases.extend(own.iter().map(|path| Case::read(part, path)));
    }
    cases
}

impl Case {
    fn read(part: &str, path: &Path) -> Case {
        let text = std::fs::read_to_string(path).unwrap();
        let name = path.file_stem().unwrap().to_string_lossy().into_owned();
        let line = |line: &str| {
            let (key, value) = line
                .split_once(": ")
                .unwrap_or_else(|| panic!("{part}/{name}: {line}"));
            (key.to_owned(), escaped(value))
        };
        Case {
            lines: text.lines().filter(|l| !l.is_empty()).map(line).collect(),
            name: format!("{part}/{name}"),
            part: part.to_owned(),
        }
    }

    fn get(&self, key: &str) -> &str {
        let found = self.lines.iter().find(|(known, _)| known == key);
        found.map_or("", |(_, value)| value)
    }

    /// Whether a text is part of what was put in.
    pub fn holds(&self, text: &str) -> bool {
        let plain = |text: &str| text.replace([' ', ','], "").to_lowercase();
        // The room, and the lines that barrels have.
        let room = "31 g 8 mg/mL 20 mg/kg 0.3 mL 0.005 mL 1 mL 0.01 mL 0.02 mL 0.1 g 0.075 mL";
        let figure = text.split(' ').next().unwrap_or_default();
        let typed = self.lines.iter().filter(|(key, _)| key == "run");
        if typed
            .clone()
            .any(|(_, line)| line.contains(&format!("/{figure} ")))
        {
            return true;
        }
        let mut put_in = self
            .lines
            .iter()
            .map(|(_, value)| value.as_str())
            .chain([SCRIPT, room]);
        put_in.any(|value| plain(value).contains(&plain(text)))
    }

    /// Runs it.
    pub fn show(&self) -> Shown {
        static NEXT: AtomicU32 = AtomicU32::new(0);
        let bench = Bench::new(&format!("errors-{}", NEXT.fetch_add(1, Ordering::Relaxed)));
        std::fs::create_dir_all(bench.folder()).unwrap();
        let mut now = "2001-03-01 07:00".to_owned();
        let rooms = ["nothing", "nowhere", "book", "course"];
        let wanted = rooms.iter().find(|room| **room == self.get("room"));
        room(
            &bench,
            wanted.unwrap_or_else(|| panic!("{}: no such room", self.name)),
        );
        let mut script = SCRIPT.to_owned();
        let mut last = None;
        for (key, value) in &self.lines {
            match key.as_str() {
                "change" => {
                    let (old, new) = value.split_once(" => ").unwrap();
                    assert!(script.contains(old), "{}: no '{old}'", self.name);
                    script = script.replacen(old, new, 1);
                    bench.write("script.ron", &script);
                }
                "file" => {
                    let (name, text) = value.split_once(" holds ").unwrap();
                    bench.write(name, text);
                }
                "folder" => std::fs::create_dir(bench.path(value)).unwrap(),
                "at" => now.clone_from(value),
                "first" => {
                    bench.write("script.ron", &script);
                    let done = run(&bench, value, "yes\nyes\n", &now);
                    assert_eq!(done.code, 0, "{}: {value}: {done:?}", self.name);
                }
                "run" => {
                    bench.write("script.ron", &script);
                    last = Some(if self.get("room") == "nowhere" {
                        let words = shell_words(value);
                        let words: Vec<&str> = words.iter().map(String::as_str).collect();
                        bench.bare(&words, self.get("typed"))
                    } else {
                        run(&bench, value, self.get("typed"), &now)
                    });
                }
                "room" | "typed" | "ends" | "says" => {}
                other => panic!("{}: what is {other}?", self.name),
            }
        }
        let done = last.unwrap();
        // What is asked for goes to one stream, what is said about it to the other.
        let said = match done.err.trim() {
            "" => &done.out,
            err => err,
        };
        let said = said.replace(&format!("{}/", bench.folder()), "");
        let said = said.replace(&bench.folder(), "folder");
        Shown {
            code: done.code,
            said: said.trim().to_owned(),
        }
    }

    /// Whether it ended and said as it should.
    pub fn judge(&self, shown: &Shown) -> Result<(), String> {
        let ends: u8 = self.get("ends").parse().unwrap_or(2);
        if shown.code != ends {
            return Err(format!(
                "ended with {}, not {ends}: {:.300}",
                shown.code, shown.said
            ));
        }
        let flat = flat(&shown.said);
        let says = self.get("says");
        // A sentence begins with a capital, wherever its words stand in the source.
        if says.is_empty() || !flat.to_lowercase().contains(&says.to_lowercase()) {
            return Err(format!("'{says}' is not said in: {flat:.300}"));
        }
        Ok(())
    }
}

/// What there is before anything is shown. Each room is built once and copied.
fn room(bench: &Bench, room: &'static str) {
    static BUILT: Mutex<Vec<(&str, Vec<u8>)>> = Mutex::new(Vec::new());
    if matches!(room, "nothing" | "nowhere") {
        return;
    }
    let mut built = BUILT.lock().unwrap();
    if !built.iter().any(|(name, _)| *name == room) {
        let own = Bench::new(&format!("errors-room-{room}"));
        std::fs::create_dir_all(own.folder()).unwrap();
        build(&own, room);
        built.push((room, std::fs::read(own.path("room.scruple")).unwrap()));
    }
    let (_, book) = built.iter().find(|(name, _)| *name == room).unwrap();
    std::fs::write(bench.path("room.scruple"), book).unwrap();
}

fn build(bench: &Bench, room: &str) {
    let yes = |line: &str| {
        let done = run(bench, line, "yes\n", "2001-03-01 07:00");
        assert_eq!(done.code, 0, "{line}: {done:?}");
    };
    yes("begin --zone UTC --scale \"0.1 g\" --demonstration");
    yes("syringe add 0.3/0.005 --for injection --needle fixed");
    yes("syringe add 1/0.01 --for mouth");
    if room == "book" {
        return;
    }
    assert_eq!(room, "course");
    yes("animal add Thimblo --species \"invented gecko\" --id \"tub 1\"");
    yes("weigh Thimblo \"31 g\"");
    yes("bottle open \"Madeup Amber\" --reads \"8 mg/mL\" --expiry 2001-12 --holds \"5 mL\"");
    bench.write("script.ron", SCRIPT);
    yes("enter script.ron --start \"2001-03-01 08:00\"");
}

fn run(bench: &Bench, line: &str, typed: &str, now: &str) -> crate::bench::Answer {
    let words: Vec<String> = shell_words(line)
        .into_iter()
        .filter(|word| !word.is_empty())
        .map(|word| match word.strip_prefix("EMPTY") {
            Some("") => String::new(),
            _ if word.contains('.') && in_the_folder(&word) => bench.path(&word),
            _ if word.starts_with("folder") => bench.path(&word),
            _ => word,
        })
        .collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    if words.contains(&"--book") {
        let mut words = words;
        words.extend(["--now", now]);
        return bench.bare(&words, typed);
    }
    bench.run_at(&words, typed, now)
}

/// Whether a word names a file of the room.
fn in_the_folder(word: &str) -> bool {
    let ends = [".ron", ".csv", ".scruple", ".pdf", ".ics", ".txt"];
    ends.iter().any(|end| word.ends_with(end)) && !word.contains(' ')
}

/// `\n`, and characters by their number, as in `\u{200b}`.
fn escaped(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('\\') {
        out.push_str(before);
        if let Some(after) = after.strip_prefix('n') {
            out.push('\n');
            rest = after;
        } else if let Some((code, after)) = after.strip_prefix("u{").and_then(|a| a.split_once('}'))
        {
            out.push(char::from_u32(u32::from_str_radix(code, 16).unwrap()).unwrap());
            rest = after;
        } else {
            out.push('\\');
            rest = after;
        }
    }
    out + rest
}

pub fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Every figure with a unit of dose in a text.
pub fn dose_figures(text: &str) -> Vec<String> {
    const UNITS: [&str; 12] = [
        "mg", "mcg", "units", "mL", "tablet", "tablets", "mg/kg", "mcg/kg", "units/kg", "mL/kg",
        "mg/mL", "drops",
    ];
    let words: Vec<&str> = text.split_whitespace().collect();
    let mut found = Vec::new();
    for pair in words.windows(2) {
        let figure = pair[0].trim_matches(|c: char| !c.is_ascii_digit());
        let unit = pair[1].trim_matches(|c: char| !c.is_alphanumeric());
        if !figure.is_empty()
            && figure.starts_with(|c: char| c.is_ascii_digit())
            && UNITS.contains(&unit)
        {
            found.push(format!("{figure} {unit}"));
        }
    }
    found
}

/// docs/errors.md.
pub fn list(shown: &[(Case, Shown)]) -> String {
    let mut list = String::from(
        "# What the program says when something is not accepted\n\n\
         Made from the cases in `tests/errors/`, each of which is run by `cargo test`: what was \
         typed, what was said, and the exit code. 2: not accepted, nothing was written. 3: failed, \
         nothing was acknowledged. To make this page again: `SCRUPLE_WRITE=1 cargo test --test errors`.\n\n\
         Every message says what is wrong, where, and what to do next. None offers a dose.\n",
    );
    for (part, heading) in PARTS {
        write!(list, "\n## {heading}\n").unwrap();
        for (case, shown) in shown.iter().filter(|(case, _)| case.part == part) {
            let title = case.name.rsplit('/').next().unwrap().replace('-', " ");
            write!(list, "\n**{title}** ({})\n\n```text\n", shown.code).unwrap();
            for (key, value) in &case.lines {
                let value = value
                    .escape_debug()
                    .to_string()
                    .replace("\\\"", "\"")
                    .replace("\\'", "'");
                match key.as_str() {
                    "change" => {
                        let (_, new) = value.split_once(" => ").unwrap();
                        writeln!(
                            list,
                            "in script.ron: {}",
                            if new.is_empty() { "(taken out)" } else { new }
                        )
                        .unwrap();
                    }
                    "file" => writeln!(list, "{}", value.replacen(" holds ", ": ", 1)).unwrap(),
                    "first" | "run" => {
                        writeln!(list, "$ scruple {}", value.replace("EMPTY", "\"\"")).unwrap()
                    }
                    "typed" => writeln!(list, "(typed: {value})").unwrap(),
                    _ => {}
                }
            }
            let said = shown
                .said
                .lines()
                .map(str::trim_end)
                .collect::<Vec<_>>()
                .join("\n");
            write!(list, "{said}\n```\n").unwrap();
        }
    }
    list
}
