//! Reads text as a careful person does, and finds what could be misread.
//!
//! The rules are those of the Joint Commission's Do Not Use list, ISMP's list of error-prone
//! abbreviations, symbols and dose designations, the NHS common user interface guidance and NIST
//! SP 811; each rule names its own. Text in quotation marks is somebody's own words (a vet's, or
//! what was typed) and is left alone. No code of the program is used.

/// The faults of a text, each as `line 3: '0.50' has a trailing zero`.
pub fn notation_faults(text: &str) -> Vec<String> {
    let unquoted = without_quotations(text);
    let words = words(&unquoted);
    let mut faults = Vec::new();
    for (at, word) in words.iter().enumerate() {
        let beside = |at: Option<usize>| {
            let word_there = at.and_then(|at| words.get(at)).copied();
            word_there
                .filter(|there| there.line == word.line)
                .unwrap_or_default()
        };
        let place = Place {
            before: beside(at.checked_sub(1)),
            word: *word,
            after: beside(at.checked_add(1)),
        };
        for (rule, what) in RULES {
            if rule(&place) {
                faults.push(format!("line {}: '{}' {what}", word.line, word.whole));
            }
        }
    }
    faults
}

/// A run of text without spaces.
#[derive(Clone, Copy, Debug, Default)]
struct Word<'a> {
    line: usize,
    whole: &'a str,
    /// Without brackets and punctuation around it.
    core: &'a str,
    /// The punctuation after it.
    tail: &'a str,
    /// Whether it is to be typed: in a command line such as `scruple give ...`, or after a flag.
    typed: bool,
}

/// A word and its neighbours on the line; at an end of it they are empty.
struct Place<'a> {
    before: Word<'a>,
    word: Word<'a>,
    after: Word<'a>,
}

type Rule = (fn(&Place) -> bool, &'static str);

const RULES: [Rule; 17] = [
    (naked_point, "has no zero before the point"), // Joint Commission; ISMP
    (trailing_zero, "has a trailing zero"),        // Joint Commission; NHS MEDi-015
    (point_before_unit, "has a point before its unit"), // ISMP
    (stray_comma, "has a comma where no thousands part"), // ISMP; NHS MEDi-017
    (no_thousands, "has no comma between its thousands"), // ISMP; NHS MEDi-017
    (no_space, "has no space before the unit"),    // ISMP; NIST SP 811 7.2; NHS MEDi-041
    (unsafe_unit, "is a unit that can be misread"), // ISMP; Joint Commission
    (lone_letter, "is a letter that can be misread as a figure"), // Joint Commission; ISMP
    (unit_with_stop, "is a unit with a full stop"), // ISMP
    (greek_micro, "has a Greek letter"),           // ISMP
    (abbreviation, "is an abbreviation that can be misread"), // Joint Commission; ISMP
    (every_so_often, "abbreviates how often"),     // ISMP
    (slash, "has a slash that is no unit"),        // ISMP
    (symbol, "has a symbol for a word"),           // ISMP
    (plus, "has a plus for a word"),               // ISMP
    (degree, "has a degree sign that is no temperature"), // ISMP; NIST SP 811 7.2
    (power, "has a power of ten"),                 // ISMP
];

const UNITS: [&str; 13] = [
    "mg", "mcg", "g", "kg", "lb", "oz", "mL", "L", "unit", "units", "tablet", "tablets", "percent",
];

/// What may stand right after a figure only by mistake, besides the units themselves.
const ATTACHED: [&str; 13] = [
    "%", "ml", "l", "cc", "ug", "U", "u", "IU", "iu", "h", "hr", "hours", "days",
];

const UNSAFE_UNITS: [&str; 29] = [
    "cc", "ccm", "cm3", "CC", "IU", "iu", "I.U", "i.u", "UI", "ug", "mic", "mcgs", "ml", "mls",
    "ML", "Ml", "mLs", "mgs", "kgs", "lbs", "gms", "gm", "gr", "Kg", "KG", "Mg", "MG", "Gm", "gtt",
];

const ABBREVIATIONS: [&str; 30] = [
    "QD", "Qd", "qd", "q.d", "Q.D", "QOD", "qod", "q.o.d", "OD", "BID", "bid", "b.i.d", "TID",
    "tid", "t.i.d", "QID", "qid", "q.i.d", "SID", "sid", "EOD", "eod", "qhs", "qn", "SC", "SQ",
    "subq", "SSI", "ss", "PRN",
];

/// Abbreviations that are also words, where a whole heading is in capitals.
const CAPITALS: [&str; 7] = ["AD", "AS", "AU", "OS", "OU", "HS", "BT"];

/// What may stand before a long number that counts nothing.
const NAMES_A_NUMBER: [&str; 9] = [
    "code",
    "book",
    "lot",
    "Lot",
    "reference",
    "phone",
    "RFC",
    "ISO",
    "UTC",
];

const ZONES: [&str; 11] = [
    "Africa",
    "America",
    "Antarctica",
    "Arctic",
    "Asia",
    "Atlantic",
    "Australia",
    "Etc",
    "Europe",
    "Indian",
    "Pacific",
];

/// A figure inside a word: where it starts, and its text without points or commas at the end.
struct Figure<'a> {
    start: usize,
    text: &'a str,
}

/// The figures of a word. Digits inside a name or a code, as in DEMO-0001 or v1.0, are none.
fn figures(core: &str) -> Vec<Figure<'_>> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(offset) = core[at..].find(|c: char| c.is_ascii_digit()) {
        let start = at + offset;
        let rest = &core[start..];
        let run = rest.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',')));
        let run = &rest[..run.unwrap_or(rest.len())];
        at = start + run.len();
        let before: String = core[..start].chars().rev().take(2).collect();
        let mut before = before.chars();
        let (in_a_name, start) = match (before.next(), before.next()) {
            (Some('-'), Some(c)) => (c.is_alphanumeric(), start),
            (Some('.'), c) => (c.is_some_and(char::is_alphanumeric), start - 1),
            (Some(c), _) => (c.is_alphabetic(), start),
            (None, _) => (false, start),
        };
        if !in_a_name {
            let text = core[start..at].trim_end_matches(['.', ',']);
            found.push(Figure { start, text });
        }
    }
    found
}

fn is_figure(word: Word) -> bool {
    let digits = word.core.trim_start_matches(['-', '+', '~']);
    digits.starts_with(|c: char| c.is_ascii_digit())
        && digits
            .chars()
            .all(|c| c.is_ascii_digit() || matches!(c, '.' | ','))
}

fn naked_point(place: &Place) -> bool {
    let core: Vec<char> = place.word.core.chars().collect();
    core.windows(2).enumerate().any(|(at, pair)| {
        let alone = at == 0 || core.get(at - 1).is_some_and(|c| !c.is_alphanumeric());
        alone && pair[0] == '.' && pair[1].is_ascii_digit()
    })
}

/// A version (1.0.2) has two points and is no figure.
fn trailing_zero(place: &Place) -> bool {
    figures(place.word.core)
        .iter()
        .any(|figure| match figure.text.split_once('.') {
            Some((_, decimals)) => !decimals.contains('.') && decimals.ends_with('0'),
            None => false,
        })
}

/// "5. mL"; a figure may end a sentence.
fn point_before_unit(place: &Place) -> bool {
    is_figure(place.before) && place.before.tail == "." && UNITS.contains(&place.word.core)
}

fn stray_comma(place: &Place) -> bool {
    figures(place.word.core).iter().any(|figure| {
        let whole = figure.text.split('.').next().unwrap_or_default();
        let mut groups = whole.split(',');
        let first = groups.next().unwrap_or_default();
        let mut rest = groups.peekable();
        rest.peek().is_some()
            && (first.starts_with('0') || first.len() > 3 || rest.any(|group| group.len() != 3))
    })
}

fn no_thousands(place: &Place) -> bool {
    let Place {
        before,
        word,
        after,
    } = place;
    let counts = UNITS.contains(&after.core);
    let named = NAMES_A_NUMBER.contains(&before.core);
    // Groups of digits beside each other are a telephone number.
    let beside = |word: &Word| {
        let digits = word.core.trim_start_matches('+');
        !digits.is_empty() && digits.chars().all(|c| c.is_ascii_digit() || c == '-')
    };
    let grouped = beside(word) && (beside(before) || (beside(after) && !counts));
    if named || grouped || word.typed {
        return false;
    }
    figures(word.core).iter().any(|figure| {
        let whole = figure.text.split('.').next().unwrap_or_default();
        let long = whole.len() >= 4 && !whole.contains(',');
        let year = !counts && whole.len() == 4 && matches!(&whole[..2], "19" | "20" | "21");
        let date = word.core[figure.start + figure.text.len()..].starts_with('-');
        long && !year && !date && !whole.starts_with('0')
    })
}

fn no_space(place: &Place) -> bool {
    figures(place.word.core).iter().any(|figure| {
        let rest = &place.word.core[figure.start + figure.text.len()..];
        let unit = rest
            .split(|c: char| !(c.is_alphabetic() || c == '%'))
            .next()
            .unwrap_or_default();
        UNITS.contains(&unit) || ATTACHED.contains(&unit)
    })
}

fn unsafe_unit(place: &Place) -> bool {
    let word = place.word;
    let parts = word.core.split('/');
    let mut parts = parts.map(|part| part.trim_start_matches(|c: char| c.is_ascii_digit()));
    parts.any(|part| UNSAFE_UNITS.contains(&part))
}

/// U or u for units, l for litre: after a figure, for alone they are only letters.
fn lone_letter(place: &Place) -> bool {
    is_figure(place.before) && matches!(place.word.core, "U" | "u" | "l")
}

/// A unit may end a sentence, which the next one's capital shows.
fn unit_with_stop(place: &Place) -> bool {
    let goes_on = place
        .after
        .core
        .starts_with(|c: char| c.is_lowercase() || c.is_ascii_digit());
    let unit = place.word.core.split('/').all(|part| UNITS.contains(&part));
    is_figure(place.before)
        && unit
        && place.word.core != "percent"
        && place.word.tail.starts_with('.')
        && goes_on
}

fn greek_micro(place: &Place) -> bool {
    place.word.whole.contains(['\u{b5}', '\u{3bc}'])
}

fn abbreviation(place: &Place) -> bool {
    let shouted = |word: Word| word.core.len() > 1 && word.core.chars().all(|c| c.is_uppercase());
    let core = place.word.core;
    let per_os = core == "os" && place.before.core == "per";
    let sub_q = core == "q" && place.before.core == "sub";
    let capitals = CAPITALS.contains(&core) && !shouted(place.before) && !shouted(place.after);
    ABBREVIATIONS.contains(&core) || capitals || per_os || sub_q
}

/// q8h, q1d, q6PM, q.12.h: a q and a figure.
fn every_so_often(place: &Place) -> bool {
    let mut letters = place.word.core.chars().filter(|&c| c != '.');
    matches!(letters.next(), Some('q' | 'Q')) && letters.next().is_some_and(|c| c.is_ascii_digit())
}

fn slash(place: &Place) -> bool {
    let Word { core, typed, .. } = place.word;
    if !place.word.whole.contains('/') || typed {
        return false;
    }
    let is_unit = core.split_once('/').is_some_and(|(of, per)| {
        let of = of.trim_start_matches(|c: char| !c.is_alphabetic());
        let of_known = ["mg", "mcg", "g", "units", "unit", "mL"].contains(&of);
        let per_known = ["kg", "g", "lb", "mL", "L", "tablet"].contains(&per);
        // What another rule speaks of is not said twice.
        let spoken_of = |part| UNSAFE_UNITS.contains(&part);
        (of_known || spoken_of(of)) && (per_known || spoken_of(per))
    });
    let volume_share = core == "w/v" && place.before.core == "%";
    let last = core.rsplit('/').next().unwrap_or_default();
    let file = last.rsplit_once('.').is_some_and(|(name, extension)| {
        !name.is_empty() && extension.starts_with(|c: char| c.is_ascii_alphabetic())
    });
    let rooted = ["/", "./", "../", "~/"]
        .iter()
        .any(|root| core.starts_with(root) && core != "/");
    let place_on_disk = file || rooted;
    let zone = core
        .split('/')
        .next()
        .is_some_and(|area| ZONES.contains(&area));
    !(is_unit || volume_share || place_on_disk || zone)
}

/// At, and, less than, greater than: in words. A placeholder such as <FILE>, an address and the
/// arrow of a diagnostic are left alone.
fn symbol(place: &Place) -> bool {
    let Word {
        whole, core, typed, ..
    } = place.word;
    let address = core
        .split_once('@')
        .is_some_and(|(name, host)| !name.is_empty() && host.contains('.'));
    let inside = whole
        .split_once('<')
        .and_then(|(_, rest)| rest.split_once('>'))
        .map(|(inside, _)| inside);
    let placeholder = inside.is_some_and(|name| {
        !name.is_empty()
            && name
                .chars()
                .all(|c| c.is_ascii_uppercase() || matches!(c, '_' | '-'))
    });
    let arrow = matches!(whole, "-->" | ":::");
    whole.contains(['@', '&', '<', '>']) && !(address || placeholder || arrow || typed)
}

/// A telephone number and an offset from UTC keep theirs.
fn plus(place: &Place) -> bool {
    let whole = place.word.whole;
    let Some((_, after)) = whole.split_once('+') else {
        return false;
    };
    let digits = after.chars().take_while(char::is_ascii_digit).count();
    let offset = digits == 2 && after[digits..].starts_with(':');
    let telephone = digits > 0 && place.after.core.starts_with(|c: char| c.is_ascii_digit());
    !(offset || telephone)
}

fn degree(place: &Place) -> bool {
    let core = place.word.core;
    match core.split_once('°') {
        Some((before, after)) => {
            let temperature = matches!(after, "C" | "F") && before.is_empty();
            !temperature
        }
        None => false,
    }
}

fn power(place: &Place) -> bool {
    let core = place.word.core;
    let raised = core
        .split_once('^')
        .is_some_and(|(base, _)| base.ends_with(|c: char| c.is_ascii_digit()));
    let scientific = figures(core).iter().any(|figure| {
        let rest = &core[figure.start + figure.text.len()..];
        let mut rest = rest.chars();
        matches!(rest.next(), Some('e' | 'E'))
            && rest
                .next()
                .is_some_and(|c| c.is_ascii_digit() || c == '-' || c == '+')
    });
    raised || scientific
}

fn words(text: &str) -> Vec<Word<'_>> {
    let mut found = Vec::new();
    for (line, content) in (1..).zip(text.lines()) {
        let first = content.split_whitespace().next().unwrap_or_default();
        let command = matches!(first, "scruple" | "cargo" | "$");
        let mut after_flag = false;
        for whole in content.split_whitespace() {
            let typed = command || after_flag;
            after_flag = whole.starts_with("--");
            let opened = whole.trim_start_matches(['(', '[', '{', '|']);
            let core = opened.trim_end_matches([')', ']', '}', '.', ',', ';', ':', '!', '?', '|']);
            found.push(Word {
                line,
                whole,
                core,
                tail: &opened[core.len()..],
                typed,
            });
        }
    }
    found
}

/// The text with each quotation replaced by one mark. A quotation opens before a word and closes
/// after one, so that "the vet's" opens none; it does not run over an empty line.
fn without_quotations(text: &str) -> String {
    let mut kept = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(c) = rest.chars().next() {
        let close = match c {
            '"' => Some('"'),
            '\'' => Some('\''),
            '\u{201c}' => Some('\u{201d}'),
            '\u{2018}' => Some('\u{2019}'),
            '`' => Some('`'),
            _ => None,
        };
        let opens = kept
            .chars()
            .last()
            .is_none_or(|c| c.is_whitespace() || "([:=".contains(c));
        let length = close
            .filter(|_| opens)
            .and_then(|close| quotation(rest, close));
        match length {
            Some(length) => {
                kept.push('\u{fffc}');
                let lines = rest[..length].matches('\n').count();
                kept.push_str(&"\n".repeat(lines));
                rest = &rest[length..];
            }
            None => {
                kept.push(c);
                rest = &rest[c.len_utf8()..];
            }
        }
    }
    kept
}

fn quotation(text: &str, close: char) -> Option<usize> {
    let paragraph = text.find("\n\n").unwrap_or(text.len());
    let paragraph = &text[..paragraph];
    let inside = paragraph.char_indices().skip(1);
    for (at, c) in inside {
        let end = at + c.len_utf8();
        let before = paragraph[..at].chars().last();
        let after = paragraph[end..].chars().next();
        let closes = before.is_some_and(|c| !c.is_whitespace())
            && after.is_none_or(|c| !c.is_alphanumeric());
        if c == close && closes {
            return Some(end);
        }
    }
    None
}
