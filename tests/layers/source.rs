//! Reads Rust source as words and marks, and picks out the paths it names.
//!
//! Promises: what stands in a comment, a string or a character never counts as code. It does not
//! parse; the rules of the house need no more than this.

/// One word or mark of code. A string is `""`, a character `''`, whatever they hold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Token<'a> {
    pub line: usize,
    pub text: &'a str,
}

/// A path such as `crate::dose::Mark`; a `use` tree gives one for each leaf.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Path<'a> {
    pub line: usize,
    pub parts: Vec<&'a str>,
    /// Whether a `!` follows, as in `println!`.
    pub is_macro: bool,
}

/// Splits source into tokens.
pub fn tokens(source: &str) -> Vec<Token<'_>> {
    let mut found: Vec<Token> = Vec::new();
    let (mut rest, mut line) = (source, 1);
    while let Some(first) = rest.chars().next() {
        let after_point = found.last().is_some_and(|last| last.text == ".");
        let (length, text) = if rest.starts_with("//") {
            (rest.find('\n').unwrap_or(rest.len()), None)
        } else if rest.starts_with("/*") {
            (block_comment(rest), None)
        } else if let Some(length) = string(rest) {
            (length, Some("\"\""))
        } else if let Some(length) = character(rest) {
            (length, Some("''"))
        } else if first.is_whitespace() {
            (first.len_utf8(), None)
        } else {
            let length = if first.is_ascii_digit() {
                number(rest, after_point)
            } else if is_word(first) {
                run(rest, is_word)
            } else if rest.starts_with("::") {
                2
            } else {
                first.len_utf8()
            };
            (length, Some(&rest[..length]))
        };
        if let Some(text) = text {
            found.push(Token { line, text });
        }
        line += rest[..length].matches('\n').count();
        rest = &rest[length..];
    }
    found
}

fn is_word(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

fn run(text: &str, wanted: fn(char) -> bool) -> usize {
    text.find(|c| !wanted(c)).unwrap_or(text.len())
}

fn block_comment(rest: &str) -> usize {
    let (mut depth, mut at) = (0, 0);
    loop {
        let tail = &rest[at..];
        match tail.chars().next() {
            None => return at,
            Some(_) if tail.starts_with("/*") => (depth, at) = (depth + 1, at + 2),
            Some(_) if tail.starts_with("*/") => (depth, at) = (depth - 1, at + 2),
            Some(c) => at += c.len_utf8(),
        }
        if depth == 0 {
            return at;
        }
    }
}

/// The length of the string literal at the front, with its prefix.
fn string(rest: &str) -> Option<usize> {
    let prefix = ["br", "cr", "r", "b", "c", ""].into_iter().find(|prefix| {
        rest.strip_prefix(prefix).is_some_and(|after| {
            after.starts_with('"') || (prefix.ends_with('r') && after.starts_with('#'))
        })
    })?;
    let body = &rest[prefix.len()..];
    if prefix.ends_with('r') {
        let hashes = run(body, |c| c == '#');
        let open = body[hashes..].strip_prefix('"')?;
        let close = format!("\"{}", "#".repeat(hashes));
        let inside = open
            .find(&close)
            .unwrap_or(open.len().saturating_sub(close.len()));
        return Some(prefix.len() + hashes + 1 + inside + close.len());
    }
    let mut escaped = false;
    for (at, c) in body.char_indices().skip(1) {
        match c {
            '"' if !escaped => return Some(prefix.len() + at + 1),
            '\\' => escaped = !escaped,
            _ => escaped = false,
        }
    }
    Some(rest.len())
}

/// The length of the character literal at the front; a lifetime is none.
fn character(rest: &str) -> Option<usize> {
    let body = rest.strip_prefix('b').unwrap_or(rest);
    let inside = body.strip_prefix('\'')?;
    let first = inside.chars().next()?;
    let from = if first == '\\' { 2 } else { first.len_utf8() };
    let close = inside.get(from..)?.find('\'')?;
    let is_character = first == '\\' || close == 0;
    is_character.then_some(rest.len() - body.len() + 1 + from + close + 1)
}

/// The length of the figure at the front; `after_point` tells `pair.0.1` from `0.1`.
fn number(rest: &str, after_point: bool) -> usize {
    let whole = run(rest, is_word);
    match rest[whole..].strip_prefix('.') {
        Some(decimals) if !after_point && decimals.starts_with(|c: char| c.is_ascii_digit()) => {
            whole + 1 + run(decimals, is_word)
        }
        _ => whole,
    }
}

/// The tokens outside items that are compiled for tests only.
pub fn outside_tests<'a>(tokens: &[Token<'a>]) -> Vec<Token<'a>> {
    let mut kept = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        let opens = ["#", "[", "cfg", "(", "test", ")", "]"];
        if texts(&tokens[at..]).take(opens.len()).eq(opens) {
            at += opens.len();
            at += item(&tokens[at..]);
        } else {
            kept.push(tokens[at]);
            at += 1;
        }
    }
    kept
}

/// How many tokens the item at the front has: up to a semicolon, or to the end of its braces.
fn item(tokens: &[Token]) -> usize {
    let mut depth = 0;
    for (at, text) in texts(tokens).enumerate() {
        match text {
            "{" => depth += 1,
            "}" => depth -= 1,
            ";" => {}
            _ => continue,
        }
        if depth == 0 {
            return at + 1;
        }
    }
    tokens.len()
}

fn texts<'a>(tokens: &[Token<'a>]) -> impl Iterator<Item = &'a str> {
    tokens.iter().map(|token| token.text)
}

/// Every path that the tokens name, single words included; a field or method after a point is none.
pub fn paths<'a>(tokens: &[Token<'a>]) -> Vec<Path<'a>> {
    let mut found = Vec::new();
    let mut at = 0;
    while at < tokens.len() {
        let before = at.checked_sub(1).map_or("", |before| tokens[before].text);
        if tokens[at].text.starts_with(is_word) && before != "." && before != "::" {
            at = path(tokens, at, &[], &mut found);
        } else {
            at += 1;
        }
    }
    found
}

/// Reads the path or the leaf of a `use` tree at `at`; gives where it ends.
fn path<'a>(
    tokens: &[Token<'a>],
    mut at: usize,
    stem: &[&'a str],
    found: &mut Vec<Path<'a>>,
) -> usize {
    let mut parts = stem.to_vec();
    let line = tokens[at].line;
    let text = |at: usize| tokens.get(at).map_or("", |token| token.text);
    loop {
        match text(at) {
            "{" if !parts.is_empty() => {
                at += 1;
                while !matches!(text(at), "}" | "") {
                    at = match text(at) {
                        "as" => at + 2,
                        _ => path(tokens, at, &parts, found).max(at + 1),
                    };
                }
                return at + 1;
            }
            word if word == "*" || word.starts_with(is_word) => parts.push(word),
            _ => return at,
        }
        at += 1;
        let goes_on = text(at) == "::"
            && (matches!(text(at + 1), "{" | "*") || text(at + 1).starts_with(is_word));
        if !goes_on {
            found.push(Path {
                line,
                parts,
                is_macro: text(at) == "!" && text(at + 1) != "=",
            });
            return at;
        }
        at += 1;
    }
}
