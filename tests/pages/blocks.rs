//! Takes a page apart: the blocks marked `sh`, line by line, and the commands named in sentences.

/// One line of a block.
pub enum Step {
    /// `export NAME=VALUE`
    Set { name: String, value: String },
    /// `mkdir NAME`
    Folder(String),
    /// `cp FROM TO`
    Copy { from: String, to: String },
    /// Something for cargo that is no command of the program, and the test it names.
    Cargo { test: Option<String> },
    /// `scruple ...`, or the same through `cargo run`.
    Scruple {
        words: Vec<String>,
        typed: String,
        ends: i32,
        line: String,
    },
}

/// A command named within a sentence.
pub struct Named {
    /// Its first words, as far as they name a command.
    pub command: Vec<String>,
    /// The flags shown with it.
    pub flags: Vec<String>,
}

/// Everything a page asks its reader to type, in order.
pub fn steps(page: &str) -> Result<Vec<Step>, String> {
    let mut steps = Vec::new();
    let mut inside = None;
    let (mut typed, mut ends) = (None, 0);
    for line in page.lines() {
        if let Some(language) = line.trim_start().strip_prefix("```") {
            if inside.take().is_none() {
                inside = Some(language.to_owned());
            } else {
                (typed, ends) = (None, 0);
            }
            continue;
        }
        match inside.as_deref() {
            None => {
                let remark = |what: &str| {
                    let line = line.strip_prefix("<!-- ")?.strip_suffix(" -->")?;
                    line.strip_prefix(what).map(str::to_owned)
                };
                if let Some(text) = remark("typed: ") {
                    typed = Some(text.replace("\\n", "\n") + "\n");
                }
                if let Some(code) = remark("ends: ") {
                    ends = code.parse().map_err(|_| format!("'{code}' is no code"))?;
                }
            }
            Some("sh") => {
                let yes = "yes\nyes\n".to_owned();
                let typed = typed.clone().unwrap_or(yes);
                steps.extend(step(line.trim(), typed, ends)?);
            }
            Some(_) => {}
        }
    }
    Ok(steps)
}

fn step(line: &str, typed: String, ends: i32) -> Result<Option<Step>, String> {
    let shown = line.split("  #").next().unwrap_or_default().trim();
    if shown.is_empty() || shown.starts_with('#') {
        return Ok(None);
    }
    let words = words(shown);
    let first: Vec<&str> = words.iter().map(String::as_str).collect();
    Ok(Some(match first.as_slice() {
        ["mkdir", name] => Step::Folder((*name).to_owned()),
        ["cp", from, to] => Step::Copy {
            from: (*from).to_owned(),
            to: (*to).to_owned(),
        },
        ["export", set] => {
            let (name, value) = set.split_once('=').ok_or(line)?;
            Step::Set {
                name: name.to_owned(),
                value: value.to_owned(),
            }
        }
        ["scruple", rest @ ..] | ["cargo", "run", "--release", "--", rest @ ..] => Step::Scruple {
            words: rest.iter().map(|word| (*word).to_owned()).collect(),
            typed,
            ends,
            line: line.to_owned(),
        },
        ["cargo", _] => Step::Cargo { test: None },
        _ if first.contains(&"cargo") => {
            let mut after = first.iter().skip_while(|word| **word != "--test").skip(1);
            Step::Cargo {
                test: after.next().map(|name| (*name).to_owned()),
            }
        }
        // Tools that a page names for its readers, and that are not ours.
        ["rustup" | "file" | "ls", ..] => return Ok(None),
        _ => return Err(format!("nobody knows how to try '{line}'")),
    }))
}

/// What stands between single backquotes and begins with the program's name.
pub fn named_in_sentences(page: &str) -> Vec<Named> {
    let mut named = Vec::new();
    let mut fenced = false;
    for line in page.lines() {
        if line.trim_start().starts_with("```") {
            fenced = !fenced;
            continue;
        }
        if fenced {
            continue;
        }
        for span in line.split('`').skip(1).step_by(2) {
            let Some(rest) = span.strip_prefix("scruple ") else {
                continue;
            };
            // What a hash begins with is no command.
            if rest.ends_with(" 1") {
                continue;
            }
            let words = words(rest);
            let is_command = |word: &&String| {
                let plain = word.chars().all(|c| c.is_ascii_lowercase() || c == '-');
                plain && !word.starts_with("--")
            };
            let most = match words.first().map(String::as_str) {
                Some("animal" | "bottle" | "syringe" | "sheet") => 2,
                _ => 1,
            };
            named.push(Named {
                command: words
                    .iter()
                    .take_while(is_command)
                    .take(most)
                    .cloned()
                    .collect(),
                flags: words
                    .iter()
                    .filter(|word| word.starts_with("--"))
                    .cloned()
                    .collect(),
            });
        }
    }
    named
}

/// A line as a shell takes it apart: double quotes hold words together.
fn words(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            c => words.last_mut().unwrap().push(c),
        }
    }
    words.retain(|word| !word.is_empty());
    words
}
