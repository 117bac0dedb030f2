//! The syringe beside the mark, drawn as SVG: the whole barrel and a close-up, as it is held,
//! needle or tip up and 0 at the top.
//!
//! Promises: lines, numbers and their count are the rack's own; the lines of a drawing stand a
//! whole number of steps apart, so that every line and the seal's edge are exactly where they
//! belong. Does not: choose a mark or count past one.

use crate::phone::markup::{Markup, attribute};
use crate::rack::{Needle, Syringe};
use std::fmt::Write;

/// A drawing's steps to one pixel of the page, unless the screen is narrower than the drawing.
const STEPS: u32 = 10;
/// How wide the drawing is.
const WIDTH: u32 = 270 * STEPS;

/// The close-up: its walls, the distance of its lines, how many lines it shows beyond the mark.
const CLOSE: (u32, u32) = (44 * STEPS, 136 * STEPS);
const CLOSE_PITCH: u32 = 18 * STEPS;
const CLOSE_ABOVE: u32 = 11;
const CLOSE_BELOW: u32 = 6;

/// The whole barrel: its walls, and the length that its scale comes near to.
const WHOLE: (u32, u32) = (196 * STEPS, 222 * STEPS);
const WHOLE_LENGTH: u32 = 280 * STEPS;
/// With more lines than this they cannot be told apart on the whole barrel: it is left out.
const MOST_LINES: u32 = 100;
/// With so few lines the whole barrel is as easily read as a close-up.
const FEW_LINES: u32 = 14;

/// Above the whole barrel's 0: the needle or tip and a little wall. Below its last line: the end.
const HEAD: u32 = 46 * STEPS;
const TAIL: u32 = 46 * STEPS;
/// The height of the seal, and the wall that a close-up shows beyond a true end of the barrel.
const SEAL: u32 = 22 * STEPS;
const WALL: u32 = 14 * STEPS;

/// A scale drawn from `first` to `last`, its line `first` at height `top`.
struct Scale<'s> {
    syringe: &'s Syringe,
    mark: u32,
    first: u32,
    last: u32,
    top: u32,
    pitch: u32,
}

impl Scale<'_> {
    /// The height of a line.
    fn at(&self, line: u32) -> u32 {
        self.top + line.saturating_sub(self.first) * self.pitch
    }

    fn is_numbered(&self, line: u32) -> bool {
        line.is_multiple_of(self.syringe.numbered_every())
    }

    /// The lines from the left wall on, long ones where a number stands; `hidden` picks those
    /// that lie over the seal, which are drawn in the colour of the page.
    fn lines(&self, left: u32, (short, long): (u32, u32), hidden: impl Fn(u32) -> bool) -> String {
        let mut path = String::new();
        for line in (self.first..=self.last).filter(|line| hidden(*line)) {
            let reach = if self.is_numbered(line) { long } else { short };
            // Writing to a String cannot fail.
            let _ = write!(path, "M{left} {}h{reach}", self.at(line));
        }
        path
    }
}

/// Draws `syringe` with its plunger at line `mark`, which is one of its lines.
pub(super) fn draw(syringe: &Syringe, mark: u32, markup: &mut Markup) {
    let lines = syringe.lines();
    if mark == 0 || mark > lines {
        return;
    }
    let whole = (lines <= MOST_LINES).then(|| Scale {
        syringe,
        mark,
        first: 0,
        last: lines,
        top: HEAD,
        pitch: (WHOLE_LENGTH / lines.max(1)).min(4 * CLOSE_PITCH),
    });
    let close = (lines > FEW_LINES).then(|| close_up(syringe, mark));
    let bottom = |scale: &Scale| scale.at(scale.last) + TAIL;
    let height = [&whole, &close].into_iter().flatten().map(bottom).max();
    let box_of = format!("0 0 {WIDTH} {}", height.unwrap_or(WIDTH));
    let end = match syringe.needle() {
        Needle::Tip => "tip up",
        Needle::Fixed | Needle::Hub => "needle up",
    };
    let label = attribute(
        "aria-label",
        &format!("The barrel, {end}: {}", syringe.count(mark)),
    );
    let role = format!("role=\"img\" viewBox=\"{box_of}\" {label}");
    markup.element("figure", "", |m| {
        m.element("svg", &role, |m| {
            if let Some(whole) = &whole {
                draw_whole(whole, close.is_none(), m);
            }
            if let Some(close) = &close {
                draw_close(close, whole.as_ref(), m);
            }
        });
        m.words(
            "figcaption",
            "",
            &format!("{end}; read the seal's top edge"),
        );
    });
}

/// Which part of the scale is drawn large: the number below the mark always shows.
fn close_up(syringe: &Syringe, mark: u32) -> Scale<'_> {
    let past = mark % syringe.numbered_every();
    let above = CLOSE_ABOVE.max(past + 1);
    let first = mark.saturating_sub(above);
    let last = (mark + CLOSE_BELOW).min(syringe.lines());
    Scale {
        syringe,
        mark,
        first,
        last,
        top: HEAD,
        pitch: CLOSE_ABOVE * CLOSE_PITCH / above,
    }
}

fn path(markup: &mut Markup, class: &str, d: &str) {
    if !d.is_empty() {
        markup.element("path", &format!("class=\"{class}\" d=\"{d}\""), |_| ());
    }
}

fn rect(markup: &mut Markup, class: &str, (left, right): (u32, u32), (top, bottom): (u32, u32)) {
    let (width, height) = (right.saturating_sub(left), bottom.saturating_sub(top));
    let place = format!("x=\"{left}\" y=\"{top}\" width=\"{width}\" height=\"{height}\"");
    markup.element("rect", &format!("class=\"{class}\" {place}"), |_| ());
}

fn number(markup: &mut Markup, class: &str, (x, middle): (u32, u32), half: u32, words: &str) {
    let place = format!("class=\"{class}\" x=\"{x}\" y=\"{}\"", middle + half);
    markup.words("text", &place, words);
}

/// An arrow whose point is at `to`.
fn arrow(markup: &mut Markup, from: u32, to: u32, at: u32) {
    let (back, half) = (12 * STEPS, 7 * STEPS);
    let d = format!(
        "M{from} {at}H{}M{to} {at}l-{back} -{half}v{}z",
        to.saturating_sub(back),
        2 * half
    );
    path(markup, "arrow", &d);
}

/// The whole syringe; where it stands alone the arrow meets it.
fn draw_whole(scale: &Scale, alone: bool, markup: &mut Markup) {
    let (left, right) = WHOLE;
    let middle = left.midpoint(right);
    let seal = scale.at(scale.mark);
    let top = scale.at(0) - 6 * STEPS;
    let end = scale.at(scale.last) + 18 * STEPS;
    // Needle or tip, then the walls, the finger flange, the rod and the seal on top of it.
    let head = match scale.syringe.needle() {
        Needle::Fixed | Needle::Hub => {
            format!(
                "M{middle} {}V{}M{} {}v-120h80v120",
                4 * STEPS,
                top - 120,
                middle - 40,
                top
            )
        }
        Needle::Tip => format!("M{} {top}v-240h60v240", middle - 30),
    };
    path(markup, "wall", &head);
    path(
        markup,
        "rod",
        &format!("M{middle} {seal}V{}", end + 20 * STEPS),
    );
    path(
        markup,
        "wall",
        &format!(
            "M{left} {end}V{top}H{right}V{end}M{} {end}H{}M{} {}h160",
            left - 80,
            right + 80,
            middle - 80,
            end + 22 * STEPS
        ),
    );
    let seal_end = (seal + SEAL).min(end);
    rect(markup, "seal", WHOLE, (seal, seal_end));
    let reach = (90, 150);
    let over = |line: u32| line > scale.mark && scale.at(line) < seal_end;
    path(
        markup,
        "line",
        &scale.lines(left, reach, |line| !over(line)),
    );
    path(markup, "over", &scale.lines(left, reach, over));
    let mut free = 0;
    for line in (0..=scale.last).filter(|line| scale.is_numbered(*line)) {
        let at = scale.at(line);
        // Numbers that would run into each other are left to the close-up.
        if line > 0 && at < free {
            continue;
        }
        free = at + 14 * STEPS;
        let words = printed(scale.syringe, line);
        number(markup, "n", (right + 6 * STEPS, at), 4 * STEPS, &words);
    }
    if alone {
        arrow(markup, 100 * STEPS, left - STEPS, seal);
    }
}

fn printed(syringe: &Syringe, line: u32) -> String {
    match line {
        0 => "0".to_owned(),
        line => syringe.printed_at(line),
    }
}

/// The scale around the mark, large, with a bracket that counts the lines past the number below.
fn draw_close(scale: &Scale, whole: Option<&Scale>, markup: &mut Markup) {
    let (left, right) = CLOSE;
    let level = scale.at(scale.mark);
    let (starts, ends) = (scale.first == 0, scale.last == scale.syringe.lines());
    let top = scale.top - if starts { WALL } else { scale.pitch / 2 };
    let bottom = scale.at(scale.last) + if ends { WALL } else { scale.pitch / 2 };
    rect(markup, "seal", CLOSE, (level, bottom));
    path(
        markup,
        "wall",
        &format!("M{left} {top}V{bottom}M{right} {top}V{bottom}"),
    );
    for (edge, true_end) in [(top, starts), (bottom, ends)] {
        let class = if true_end { "wall" } else { "cut" };
        path(markup, class, &format!("M{left} {edge}H{right}"));
    }
    let reach = (240, 380);
    path(
        markup,
        "large",
        &scale.lines(left, reach, |line| line <= scale.mark),
    );
    path(
        markup,
        "large over",
        &scale.lines(left, reach, |line| line > scale.mark),
    );
    for line in (scale.first..=scale.last).filter(|line| scale.is_numbered(*line)) {
        let at = scale.at(line);
        let class = if line > scale.mark { "big over" } else { "big" };
        // At the mark the number stands just above the seal's edge.
        let half = 6 * STEPS;
        let middle = if line == scale.mark {
            at - half - 2 * STEPS
        } else {
            at
        };
        let clear = line == scale.mark || at.abs_diff(level) > half + STEPS;
        if clear && middle + half < bottom {
            let words = printed(scale.syringe, line);
            number(markup, class, (left + 390, middle), half, &words);
        }
    }
    arrow(markup, 4 * STEPS, left - STEPS, level);
    let past = scale.mark % scale.syringe.numbered_every();
    if past > 0 {
        let below = scale.at(scale.mark - past);
        let x = right + 6 * STEPS;
        path(markup, "bracket", &format!("M{x} {below}h80V{level}h-80"));
        let middle = below.midpoint(level);
        let words = past.to_string();
        number(markup, "big", (x + 110, middle), 6 * STEPS, &words);
    }
    if let Some(whole) = whole {
        // Thin lines show which part of the barrel is drawn large.
        let (bend, to) = (WHOLE.0 - 22 * STEPS, WHOLE.0 - STEPS);
        for (edge, line) in [(top, scale.first), (bottom, scale.last)] {
            let at = whole.at(line);
            path(
                markup,
                "cut",
                &format!("M{} {edge}H{bend}L{to} {at}", right + STEPS),
            );
        }
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::notation::Notation;
    use crate::quantity::Volume;
    use crate::rack::{PrintedScale, Use};

    fn barrel(capacity: &str, line: &str, needle: Needle) -> Syringe {
        let used_for = match needle {
            Needle::Tip => Use::Mouth,
            Needle::Fixed | Needle::Hub => Use::Injection,
        };
        let read = |text| Volume::read(text).unwrap();
        let scale = PrintedScale::Millilitres;
        Syringe::new(
            read(capacity),
            read(line),
            used_for,
            needle,
            scale,
            None,
            None,
        )
        .unwrap()
    }

    fn drawn(syringe: &Syringe, mark: u32) -> String {
        let mut markup = Markup::new();
        draw(syringe, mark, &mut markup);
        markup.finish()
    }

    /// The value of an attribute in every tag that has the class.
    fn values<'d>(drawing: &'d str, class: &str, attribute: &str) -> Vec<&'d str> {
        let tags = drawing.split('<');
        let class = format!("class=\"{class}\"");
        let tags = tags.filter(|tag| tag.contains(&class));
        tags.filter_map(|tag| {
            tag.split_once(&format!(" {attribute}=\""))?
                .1
                .split('"')
                .next()
        })
        .collect()
    }

    /// The heights of the lines of a path.
    fn heights(path: &str) -> Vec<u32> {
        let lines = path.split('M').filter(|line| !line.is_empty());
        let at = lines.map(|line| line.split_once(' ').unwrap().1);
        at.map(|at| at.split('h').next().unwrap().parse().unwrap())
            .collect()
    }

    #[test]
    fn the_seals_edge_is_the_marks_line_at_every_line() {
        for (capacity, line, needle) in [
            ("0.3 mL", "0.005 mL", Needle::Fixed),
            ("1 mL", "0.01 mL", Needle::Tip),
            ("3 mL", "0.1 mL", Needle::Hub),
            ("10 mL", "1 mL", Needle::Tip),
        ] {
            let barrel = barrel(capacity, line, needle);
            for mark in 1..=barrel.lines() {
                let drawing = drawn(&barrel, mark);
                let mut lines = heights(values(&drawing, "line", "d").first().unwrap());
                for over in values(&drawing, "over", "d") {
                    lines.extend(heights(over));
                }
                lines.sort_unstable();
                assert_eq!(
                    lines.len(),
                    barrel.lines() as usize + 1,
                    "{capacity} {mark}"
                );
                // Every line at its share of the scale, in whole steps.
                let pitch = lines.get(1).unwrap() - lines.first().unwrap();
                for (n, pair) in lines.windows(2).enumerate() {
                    let [a, b] = pair else { continue };
                    assert_eq!(b - a, pitch, "{capacity}, line {n}");
                }
                let seals = values(&drawing, "seal", "y");
                let at = lines.get(mark as usize).unwrap().to_string();
                assert_eq!(seals.first().unwrap(), &at, "{capacity} at {mark}");
                // In the close-up the last black line is the seal's edge.
                if let Some(large) = values(&drawing, "large", "d").first() {
                    let edge = heights(large).last().unwrap().to_string();
                    assert_eq!(seals.get(1).unwrap(), &edge, "{capacity} at {mark}");
                }
            }
        }
    }

    /// 0.075 mL on a barrel with a line every 0.005 mL, numbered every 0.05 mL: 5 past 0.05.
    #[test]
    fn numbers_and_the_bracket_are_those_of_the_barrel() {
        let drawing = drawn(&barrel("0.3 mL", "0.005 mL", Needle::Fixed), 15);
        for shown in [">0.05<", ">0.1<", ">0.15<", ">0.3<", ">5<"] {
            assert!(drawing.contains(shown), "{shown}\n{drawing}");
        }
        assert!(drawing.contains("needle up"), "{drawing}");
        assert!(drawing.contains("15 small lines from 0: 5 past 0.05"));
    }

    #[test]
    fn above_100_lines_only_the_close_up_is_drawn() {
        let barrel = barrel("1 mL", "0.005 mL", Needle::Tip);
        let drawing = drawn(&barrel, 37);
        assert_eq!(values(&drawing, "seal", "y").len(), 1);
        assert!(drawing.contains(">0.15<"), "{drawing}");
    }

    #[test]
    fn nothing_is_drawn_for_a_mark_that_is_no_line() {
        let barrel = barrel("0.3 mL", "0.005 mL", Needle::Fixed);
        assert_eq!(drawn(&barrel, 0), "");
        assert_eq!(drawn(&barrel, 61), "");
    }
}
