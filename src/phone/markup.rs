//! Writing HTML: elements that always close, and text that is never taken for markup.
//!
//! Promises: every element that is opened is closed, in order; whatever a person typed comes out
//! as text, with control characters and those that turn the direction of reading left out.
//! Does not: know what stands on a page.

/// A piece of a page as it grows.
#[derive(Debug, Default)]
pub(super) struct Markup {
    out: String,
}

impl Markup {
    /// Nothing yet.
    pub(super) fn new() -> Self {
        Self::default()
    }

    /// The piece as it stands.
    pub(super) fn finish(self) -> String {
        self.out
    }

    /// An element, with attributes that are safe as they stand or came through [`attribute`], and
    /// what is inside it.
    pub(super) fn element(&mut self, name: &str, attributes: &str, inside: impl FnOnce(&mut Self)) {
        self.open(name, attributes);
        inside(self);
        self.out.push_str("</");
        self.out.push_str(name);
        self.out.push('>');
        if !INSIDE_A_LINE.contains(&name) {
            self.out.push('\n');
        }
    }

    /// An element that holds nothing and has no end, such as `meta`.
    pub(super) fn empty(&mut self, name: &str, attributes: &str) {
        self.open(name, attributes);
        self.out.push('\n');
    }

    /// An element that holds only words.
    pub(super) fn words(&mut self, name: &str, attributes: &str, words: &str) {
        self.element(name, attributes, |m| m.text(words));
    }

    /// Words, as text; a figure is never parted from the word after it, which may be its unit.
    pub(super) fn text(&mut self, words: &str) {
        let mut rest = words;
        while let Some((before, after)) = rest.split_once(' ') {
            escape(before, &mut self.out);
            let figure = before.ends_with(|c: char| c.is_ascii_digit());
            self.out.push_str(if figure { "&nbsp;" } else { " " });
            rest = after;
        }
        escape(rest, &mut self.out);
    }

    /// What is markup already and holds nothing that was typed: the style, a drawing's path.
    pub(super) fn raw(&mut self, markup: &str) {
        self.out.push_str(markup);
    }

    fn open(&mut self, name: &str, attributes: &str) {
        self.out.push('<');
        self.out.push_str(name);
        if !attributes.is_empty() {
            self.out.push(' ');
            self.out.push_str(attributes);
        }
        self.out.push('>');
    }
}

/// After these the line goes on.
const INSIDE_A_LINE: [&str; 5] = ["b", "span", "a", "q", "text"];

/// `name="words"`, whatever the words are.
pub(super) fn attribute(name: &str, words: &str) -> String {
    let mut out = format!("{name}=\"");
    escape(words, &mut out);
    out.push('"');
    out
}

fn escape(words: &str, out: &mut String) {
    for c in words.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\n' | '\t' => out.push(' '),
            c if c.is_control() || turns(c) => {}
            c => out.push(c),
        }
    }
}

/// Whether a character only turns the direction in which those after it are read (Unicode
/// Standard Annex 9, explicit directional formatting characters).
fn turns(c: char) -> bool {
    matches!(c, '\u{200e}' | '\u{200f}' | '\u{061c}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

#[cfg(test)]
mod tests {
    use super::{Markup, attribute};

    #[test]
    fn a_figure_stays_with_its_unit() {
        let mut markup = Markup::new();
        markup.text("draw 0.075 mL at 46 g");
        assert_eq!(markup.finish(), "draw 0.075&nbsp;mL at 46&nbsp;g");
    }

    #[test]
    fn what_is_typed_is_never_markup() {
        let mut markup = Markup::new();
        let typed = "<script>x</script> & \"Tom\" 'n' \u{1b}[2J\u{202e}y";
        markup.element("p", &attribute("title", typed), |m| m.text(typed));
        let safe = "&lt;script&gt;x&lt;/script&gt; &amp; &quot;Tom&quot; &#39;n&#39; [2Jy";
        let expected = format!("<p title=\"{safe}\">{safe}</p>\n");
        assert_eq!(markup.finish(), expected);
    }
}
