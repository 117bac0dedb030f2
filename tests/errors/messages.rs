//! Every message in the source that ends a command or marks a fault, as fixed words with gaps.

use std::path::Path;

/// A message as it stands in the source.
pub struct Message {
    /// The file it stands in.
    pub place: String,
    /// Its fixed words; whatever stands between them is filled in.
    pieces: Vec<String>,
}

/// What a message begins with in the source.
const MARKERS: [&str; 5] = [
    "#[error(",
    "Failure::not_accepted(",
    "Failure::failed(",
    "found.add(",
    "found.add_missing(",
];

impl Message {
    /// Whether a text holds it. A sentence may begin with a capital.
    pub fn is_in(&self, said: &str) -> bool {
        let said = said
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ")
            .to_lowercase();
        let mut rest = said.as_str();
        for piece in &self.pieces {
            let Some((_, after)) = rest.split_once(&piece.to_lowercase()) else {
                return false;
            };
            rest = after;
        }
        true
    }

    /// Whether its words begin so.
    pub fn begins(&self, words: &str) -> bool {
        self.words().starts_with(words)
    }

    pub fn words(&self) -> String {
        self.pieces.join("{}")
    }
}

/// "WORDS | WHERE" on each line: how a message begins, and where it is proved.
pub fn elsewhere(text: &str) -> Vec<(&str, &str)> {
    let lines = text
        .lines()
        .filter(|line| !line.is_empty() && !line.starts_with('#'));
    lines
        .map(|line| {
            let (words, place) = line.split_once(" | ").unwrap_or((line, ""));
            (words.trim(), place.trim())
        })
        .collect()
}

/// All messages under a folder of sources.
pub fn all(folder: &Path) -> Vec<Message> {
    let mut messages: Vec<Message> = Vec::new();
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_string_lossy().into_owned();
        if path.is_dir() {
            if name != "tests" {
                messages.extend(all(&path));
            }
        } else if name.ends_with(".rs") && name != "tests.rs" && name != "sample.rs" {
            let text = std::fs::read_to_string(&path).unwrap();
            let text = text.split("#[cfg(test)]").next().unwrap();
            let place = path.display().to_string();
            let place = place.rsplit("/src/").next().unwrap().to_owned();
            messages.extend(of_file(&place, text));
        }
    }
    messages
}

fn of_file(place: &str, text: &str) -> Vec<Message> {
    let mut messages = Vec::new();
    for marker in MARKERS {
        for after in text.split(marker).skip(1) {
            let mut after = after.trim_start();
            if marker.starts_with("found") {
                // The place of the fault comes first.
                let Some((first, rest)) = after.split_once(',') else {
                    continue;
                };
                if first.contains('"') || first.contains('(') && !first.contains(')') {
                    continue;
                }
                after = rest.trim_start();
            }
            after = after.trim_start_matches('&');
            if let Some(inside) = after.strip_prefix("format!(") {
                after = inside.trim_start();
            }
            let Some(literal) = after.strip_prefix('"') else {
                continue;
            };
            let Some(words) = literal_of(literal) else {
                continue;
            };
            let pieces = pieces(&words);
            if pieces.iter().map(String::len).sum::<usize>() > 6 {
                messages.push(Message {
                    place: place.to_owned(),
                    pieces,
                });
            }
        }
    }
    messages
}

/// A string literal up to its end, with its escapes read.
fn literal_of(text: &str) -> Option<String> {
    let mut out = String::new();
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '"' => return Some(out),
            '\\' => match chars.next()? {
                'n' => out.push(' '),
                '\n' => {
                    while chars.peek().is_some_and(|c| c.is_whitespace()) {
                        chars.next();
                    }
                }
                other => out.push(other),
            },
            c => out.push(c),
        }
    }
    None
}

/// The fixed words between what is filled in.
fn pieces(words: &str) -> Vec<String> {
    let mut pieces = vec![String::new()];
    let mut inside = false;
    for c in words.chars() {
        match c {
            '{' => {
                inside = true;
                pieces.push(String::new());
            }
            '}' => inside = false,
            c if !inside => pieces.last_mut().unwrap().push(c),
            _ => {}
        }
    }
    pieces
        .into_iter()
        .map(|piece| piece.trim().to_owned())
        .filter(|piece| !piece.is_empty())
        .collect()
}
