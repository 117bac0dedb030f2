//! The drawing: the whole barrel with its seal, and a close-up level with the figure.
//!
//! Promises: the seal's top edge stands exactly at line `mark` of `lines`, every line exactly at
//! its share of the scale, and nothing leaves the room that [`above_mark`], [`below_mark`] and
//! [`DRAWING_RIGHT`] name.
//! Does not: draw what is not on the syringe.

use crate::sheet::SheetError;
use crate::sheet::barrel::{End, Scale};
use crate::sheet::block::{Align, Block};
use crate::sheet::face::{Faces, Style};
use crate::sheet::page::{Ink, Item, Rect};
use crate::sheet::text::Span;

/// The drawing column, in millimetres from the block's left edge.
const CLOSE_LEFT: f32 = 90.0;
const CLOSE_RIGHT: f32 = 107.0;
const BARREL_LEFT: f32 = 116.5;
const BARREL_RIGHT: f32 = 124.0;
/// The right edge of all that is drawn.
pub const DRAWING_RIGHT: f32 = 131.8;

/// How far the drawing reaches above the level of the mark at most, in millimetres.
#[must_use]
pub fn above_mark(scale: &Scale) -> f32 {
    let close = close_above_mark();
    let barrel = scale
        .length()
        .map(|length| zero_above(length) + above_zero(scale.end));
    barrel.map_or(close, |barrel| barrel.max(close))
}

/// How far above the level of the mark what stands left of the barrel reaches: the close-up, or
/// the bend of the arrow.
#[must_use]
pub fn close_above_mark() -> f32 {
    CLOSE_ABOVE * CLOSE_PITCH + WALL
}

/// How far below the level of the mark what stands left of the barrel reaches, with the words
/// below it.
#[must_use]
pub fn close_below_mark(scale: &Scale) -> f32 {
    let words = |lines: f32| HINT_FIRST + HINT_LEADING * (lines - 1.0) + 0.24 * HINT.em();
    match scale.readable() {
        true => HINT_LEVEL - HINT_FIRST + words(3.0),
        false => Window::of(scale).bottom() + words(2.0),
    }
}

/// How far the drawing reaches below the level of the mark at most, in millimetres.
#[must_use]
pub fn below_mark(scale: &Scale) -> f32 {
    // A short barrel may stand lower than it need, to bring its seal nearer to the level.
    match scale.length() {
        Some(_) => LONGEST + BELOW_LAST_LINE - zero_above(LONGEST),
        None => close_below_mark(scale),
    }
}

/// How far above the level of the mark the barrel's 0 line stands.
fn zero_above(length: f32) -> f32 {
    if length < LONGEST { 31.6 } else { 34.4 }
}

/// From the 0 line to the needle's point or the end of the tip.
fn above_zero(end: End) -> f32 {
    match end {
        End::Needle => 8.9,
        End::Tip => 6.8,
    }
}

/// Lines shown above and below the mark in the close-up, and their distance.
const CLOSE_ABOVE: f32 = 10.8;
const CLOSE_BELOW: f32 = 6.4;
const CLOSE_PITCH: f32 = 2.4;
/// From this distance of its lines on, the barrel needs no close-up.
const READABLE_PITCH: f32 = 2.0;

/// The height of the seal, and what the barrel has below its last line.
const SEAL: f32 = 5.3;
const TAIL: f32 = 3.4;
/// The longest scale that is drawn.
const LONGEST: f32 = 60.0;
/// From the last line to the end of the plunger.
const BELOW_LAST_LINE: f32 = TAIL + 5.5;
/// The wall that the close-up shows beyond the barrel's true ends.
const WALL: f32 = 2.2;
/// From the close-up's lower end to the first of the words below it, and from line to line.
const HINT_FIRST: f32 = 2.9;
const HINT_LEADING: f32 = 2.9;
/// The first of the words where there is no close-up, below the level of the mark.
const HINT_LEVEL: f32 = 20.0;

const NUMBER: Style = Style::bold(7.5);
const CLOSE_NUMBER: Style = Style::bold(12.0);
const HINT: Style = Style::regular(7.5);

impl Scale {
    /// Whether its lines stand far enough apart on the whole barrel to need no close-up.
    fn readable(&self) -> bool {
        let length = self.length();
        length.is_some_and(|length| length / self.lines as f32 >= READABLE_PITCH)
    }
}

/// Draws the syringe beside the mark: `level` is the height of the arrow, `from` where it starts.
///
/// # Errors
/// [`SheetError::MissingGlyph`] for a label that cannot be printed.
pub fn draw(
    scale: &Scale,
    faces: &Faces,
    block: &mut Block,
    level: f32,
    from: f32,
) -> Result<(), SheetError> {
    let Some(length) = scale.length() else {
        close_up(scale, faces, block, level, None)?;
        arrow(block, from, CLOSE_LEFT - 0.4, level);
        return Ok(());
    };
    if !scale.readable() {
        let zero = level - zero_above(length);
        barrel(scale, faces, block, zero, length)?;
        close_up(scale, faces, block, level, Some((zero, length)))?;
        arrow(block, from, CLOSE_LEFT - 0.4, level);
    } else {
        let seal = scale.offset(scale.mark, length);
        let highest = level - above_mark(scale) + above_zero(scale.end);
        let lowest = level + below_mark(scale) - BELOW_LAST_LINE - length;
        let zero = (level - seal).clamp(highest, lowest.max(highest));
        barrel(scale, faces, block, zero, length)?;
        let bend = zero + seal;
        let turn = BARREL_LEFT - 9.0;
        if (bend - level).abs() < 0.05 {
            arrow(block, from, BARREL_LEFT - 0.5, level);
        } else {
            block.rule((from, level), (turn, level), ARROW);
            let (high, low) = (bend.min(level), bend.max(level));
            block.rule((turn, high - ARROW / 2.0), (turn, low + ARROW / 2.0), ARROW);
            arrow(block, turn, BARREL_LEFT - 0.5, bend);
        }
        hint(
            scale,
            faces,
            block,
            (CLOSE_LEFT, turn - 1.0),
            level + HINT_LEVEL,
        )?;
    }
    Ok(())
}

const ARROW: f32 = 0.7;

fn arrow(block: &mut Block, from: f32, to: f32, level: f32) {
    block.rule((from, level), (to - 2.0, level), ARROW);
    block.items.push(Item::Shape {
        points: vec![
            (to - 2.6, level - 1.4),
            (to, level),
            (to - 2.6, level + 1.4),
        ],
        ink: Ink::Black,
    });
}

/// The whole syringe, its 0 line at height `zero`.
fn barrel(
    scale: &Scale,
    faces: &Faces,
    block: &mut Block,
    zero: f32,
    length: f32,
) -> Result<(), SheetError> {
    let middle = (BARREL_LEFT + BARREL_RIGHT) / 2.0;
    let end = zero + length + TAIL;
    let seal = zero + scale.offset(scale.mark, length);
    let top = zero - 0.9;

    // Needle or tip, collar, walls, finger flange.
    let neck = Rect::edges(middle - 1.1, top - 2.9, middle + 1.1, top);
    match scale.end {
        End::Needle => {
            block.frame(neck, 0.4);
            block.rule((middle, top - 7.9), (middle, neck.top), 0.5);
        }
        End::Tip => block.frame(Rect::edges(middle - 0.9, top - 5.6, middle + 0.9, top), 0.4),
    }
    block.frame(Rect::edges(BARREL_LEFT, top, BARREL_RIGHT, end), 0.5);
    block.fill(Rect::edges(
        BARREL_LEFT - 2.0,
        end,
        BARREL_RIGHT + 2.0,
        end + 1.0,
    ));

    // Rod, then the seal on top of it: its top edge is the mark.
    let rod = Rect::edges(middle - 0.7, seal, middle + 0.7, end + 4.4);
    block.frame(rod, 0.3);
    block.fill(Rect::edges(
        middle - 3.6,
        end + 4.4,
        middle + 3.6,
        end + 5.4,
    ));
    let seal_end = (seal + SEAL).min(end);
    block.fill(Rect::edges(BARREL_LEFT, seal, BARREL_RIGHT, seal_end));

    for line in 0..=scale.lines {
        let at = zero + scale.offset(line, length);
        let reach = if scale.is_numbered(line) { 5.2 } else { 2.7 };
        let over_seal = line > scale.mark && at < seal_end;
        block.items.push(Item::Rule {
            from: (BARREL_LEFT, at),
            to: (BARREL_LEFT + reach, at),
            thick: if over_seal { 0.16 } else { 0.27 },
            ink: if over_seal { Ink::White } else { Ink::Black },
            dashed: false,
        });
    }

    let zero_label = (0, "0".to_owned());
    let mut free = f32::MIN;
    for (line, label) in std::iter::once((&zero_label.0, &zero_label.1)).chain(&scale.labels) {
        let baseline = zero + scale.offset(*line, length) + 0.95;
        // Numbers that would run into each other are left to the close-up.
        if baseline - free < 2.3 || *line > scale.lines {
            continue;
        }
        free = baseline;
        block.line(
            faces,
            &[Span::new(label, NUMBER)],
            (BARREL_RIGHT + 0.9, DRAWING_RIGHT),
            baseline,
            Align::Left,
        )?;
    }
    Ok(())
}

/// The part of the scale that the close-up shows.
struct Window {
    mark: f32,
    /// From line to line.
    pitch: f32,
    /// The first line shown, perhaps between two, and the last.
    first: f32,
    last: f32,
    /// Whether it shows the true ends of the scale.
    starts: bool,
    ends: bool,
}

impl Window {
    fn of(scale: &Scale) -> Self {
        let (mark, lines) = (scale.mark as f32, scale.lines as f32);
        let past = scale.mark - scale.number_below();
        // The lower number always shows, so that the count can be made in the drawing.
        let above = CLOSE_ABOVE.max(past as f32 + 0.8);
        let pitch = CLOSE_ABOVE * CLOSE_PITCH / above;
        let below = CLOSE_BELOW * CLOSE_PITCH / pitch;
        Self {
            mark,
            pitch,
            first: (mark - above).max(0.0),
            last: (mark + below).min(lines),
            starts: mark - above <= 0.0,
            ends: mark + below >= lines,
        }
    }

    /// How far below the level of the mark it reaches.
    fn bottom(&self) -> f32 {
        (self.last - self.mark) * self.pitch + if self.ends { WALL } else { 0.0 }
    }
}

/// The scale around the mark, larger, level with the figure; `whole` is the height of the whole
/// barrel's 0 line and the length of its scale, if it is drawn.
fn close_up(
    scale: &Scale,
    faces: &Faces,
    block: &mut Block,
    level: f32,
    whole: Option<(f32, f32)>,
) -> Result<(), SheetError> {
    let window = Window::of(scale);
    let Window {
        mark,
        pitch,
        first,
        last,
        starts,
        ends,
    } = window;
    let past = scale.mark - scale.number_below();
    let height = |line: f32| level + (line - mark) * pitch;
    // Beyond its true ends the barrel shows a little wall.
    let top = height(first) - if starts { WALL } else { 0.0 };
    let bottom = level + window.bottom();

    for wall in [CLOSE_LEFT, CLOSE_RIGHT] {
        block.rule((wall, top), (wall, bottom), 0.6);
    }
    for (edge, true_end) in [(top, starts), (bottom, ends)] {
        block.items.push(Item::Rule {
            from: (CLOSE_LEFT - 0.3, edge),
            to: (CLOSE_RIGHT + 0.3, edge),
            thick: if true_end { 0.6 } else { 0.3 },
            ink: Ink::Black,
            dashed: !true_end,
        });
    }
    block.fill(Rect::edges(CLOSE_LEFT, level, CLOSE_RIGHT, bottom));

    for line in 0..=scale.lines {
        let at = line as f32;
        if at < first || at > last {
            continue;
        }
        let at = height(at);
        let (reach, thick) = if scale.is_numbered(line) {
            (7.0, 0.5)
        } else {
            (3.6, 0.4)
        };
        let ink = if line > scale.mark {
            Ink::White
        } else {
            Ink::Black
        };
        // The line of the mark itself is the seal's edge.
        block.items.push(Item::Rule {
            from: (CLOSE_LEFT, at),
            to: (CLOSE_LEFT + reach, at),
            thick,
            ink,
            dashed: false,
        });
        let label = if line == 0 {
            Some("0")
        } else {
            scale.labels.get(&line).map(String::as_str)
        };
        let Some(label) = label else { continue };
        number(faces, block, label, at, (level, bottom))?;
    }

    // A bracket counts the lines past the lower number.
    if past > 0 {
        let (from, to) = (height(mark - past as f32), level);
        let (near, far) = (CLOSE_RIGHT + 0.9, CLOSE_RIGHT + 2.3);
        for at in [from, to] {
            block.rule((near, at), (far, at), 0.35);
        }
        block.rule((far, from - 0.17), (far, to + 0.17), 0.35);
        block.line(
            faces,
            &[Span::new(&past.to_string(), Style::bold(12.0))],
            (far + 0.6, BARREL_LEFT - 0.6),
            (from + to) / 2.0 + 1.5,
            Align::Left,
        )?;
    }

    if let Some((zero, length)) = whole {
        // Thin lines show which part of the barrel is drawn large.
        let per_line = length / scale.lines as f32;
        for (edge, line) in [(top, first), (bottom, last)] {
            let at = zero + line * per_line;
            let bend = if edge <= level {
                CLOSE_RIGHT + 6.2
            } else {
                CLOSE_RIGHT + 5.4
            };
            block.rule((CLOSE_RIGHT + 0.3, edge), (bend, edge), 0.25);
            block.rule((bend, edge), (BARREL_LEFT - 0.3, at), 0.25);
        }
    }
    hint(
        scale,
        faces,
        block,
        (CLOSE_LEFT, BARREL_LEFT - 2.8),
        bottom + HINT_FIRST,
    )
}

/// A printed number in the close-up, right of its line at height `at`; the seal's edge stands at
/// `level` and the drawing ends at `bottom`. One that would touch either is left out: its line,
/// the bracket and the words still say it.
fn number(
    faces: &Faces,
    block: &mut Block,
    label: &str,
    at: f32,
    (level, bottom): (f32, f32),
) -> Result<(), SheetError> {
    let half = 0.36 * CLOSE_NUMBER.em();
    let area = (CLOSE_LEFT + 7.4, CLOSE_RIGHT - 0.3);
    let spans = [Span::new(label, CLOSE_NUMBER)];
    if (at - level).abs() < 0.01 {
        // At the mark the number stands just above the seal's edge.
        block.line(faces, &spans, area, level - 0.5, Align::Left)?;
    } else if at + half < level {
        block.line(faces, &spans, area, at + half, Align::Left)?;
    } else if at - half > level && at + half < bottom {
        block.white(faces, &spans, area, at + half, Align::Left)?;
    }
    Ok(())
}

fn hint(
    scale: &Scale,
    faces: &Faces,
    block: &mut Block,
    area: (f32, f32),
    baseline: f32,
) -> Result<(), SheetError> {
    let held = match scale.end {
        End::Needle => "needle up; read the seal’s top edge",
        End::Tip => "tip up; read the seal’s top edge",
    };
    block.paragraph(
        faces,
        &[Span::new(held, HINT)],
        area,
        baseline,
        HINT_LEADING,
    )?;
    Ok(())
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use crate::rack::Needle;
    use crate::sheet::barrel::tests::{large, scale, small};
    use crate::sheet::page::{Fault, Page, Paper};

    fn drawn(scale: &Scale) -> Page {
        let faces = Faces::load().unwrap();
        let mut block = Block::new();
        draw(scale, &faces, &mut block, 60.0, 80.0).unwrap();
        let mut page = Page::new(Paper::A4, "test");
        block.place(&mut page, (0.0, 0.0));
        page
    }

    /// The black areas across the whole width of the barrel: the seal.
    fn seal_of(page: &Page) -> Rect {
        let seals: Vec<Rect> = page
            .items
            .iter()
            .filter_map(|item| match item {
                Item::Fill { rect, .. } if rect.left == BARREL_LEFT => Some(*rect),
                _ => None,
            })
            .collect();
        let [seal] = seals.as_slice() else {
            unreachable!("one seal: {seals:?}")
        };
        *seal
    }

    /// The heights of the barrel's lines.
    fn lines_of(page: &Page) -> Vec<f32> {
        page.items
            .iter()
            .filter_map(|item| match item {
                Item::Rule {
                    from, to, thick, ..
                } if from.0 == BARREL_LEFT && from.1 == to.1 && *thick < 0.3 => Some(from.1),
                _ => None,
            })
            .collect()
    }

    #[test]
    fn the_seals_top_edge_is_the_marks_line_at_every_line() {
        for (scale_at, lines) in [(small as fn(u32) -> Scale, 60), (large, 100)] {
            for mark in 1..=lines {
                let page = drawn(&scale_at(mark));
                let drawn_lines = lines_of(&page);
                assert_eq!(drawn_lines.len(), lines as usize + 1);
                let seal = seal_of(&page).top;
                let zero = *drawn_lines.first().unwrap();
                let last = *drawn_lines.last().unwrap();
                let at = *drawn_lines.get(mark as usize).unwrap();
                assert!((seal - at).abs() < 0.001, "line {mark}: {seal} {at}");
                let share = zero + (last - zero) * mark as f32 / lines as f32;
                assert!((seal - share).abs() < 0.001, "line {mark}: {seal} {share}");
            }
        }
    }

    #[test]
    fn the_seal_is_exact_where_the_arrow_meets_the_barrel_too() {
        for mark in 1..=20 {
            let scale = scale("20 mL", "1 mL", Needle::Tip, mark);
            let page = drawn(&scale);
            let lines = lines_of(&page);
            let at = *lines.get(mark as usize).unwrap();
            assert!((seal_of(&page).top - at).abs() < 0.001);
            // The arrow's point, the rightmost corner of a polygon, stands at that height.
            let point = page.items.iter().find_map(|item| match item {
                Item::Shape { points, .. } => points.get(1).copied(),
                _ => None,
            });
            assert!((point.unwrap().1 - at).abs() < 0.001);
        }
    }

    #[test]
    fn above_100_lines_only_the_close_up_is_drawn() {
        let scale = scale("1 mL", "0.005 mL", Needle::Tip, 37);
        let page = drawn(&scale);
        assert_eq!(lines_of(&page), Vec::<f32>::new());
        assert!(page.words().contains("0.15"), "{}", page.words());
    }

    #[test]
    fn nothing_drawn_overlaps_or_leaves_its_room_at_any_mark() {
        for (scale_at, lines) in [(small as fn(u32) -> Scale, 60), (large, 100)] {
            for mark in 1..=lines {
                let page = drawn(&scale_at(mark));
                assert_eq!(page.faults(), Vec::<Fault>::new(), "at line {mark}");
                let scale = scale_at(mark);
                let (above, below) = (60.0 - above_mark(&scale), 60.0 + below_mark(&scale));
                for item in &page.items {
                    let (top, bottom) = extent(item);
                    assert!(top >= above && bottom <= below, "{mark}: {item:?}");
                }
            }
        }
    }

    fn extent(item: &Item) -> (f32, f32) {
        match item {
            Item::Run(run) => (run.inked().top, run.inked().bottom()),
            Item::Rule { from, to, .. } => (from.1.min(to.1), from.1.max(to.1)),
            Item::Frame { rect, .. } | Item::Fill { rect, .. } => (rect.top, rect.bottom()),
            Item::Shape { points, .. } => points
                .iter()
                .fold((f32::MAX, f32::MIN), |(t, b), p| (t.min(p.1), b.max(p.1))),
        }
    }

    #[test]
    fn the_number_below_the_mark_always_shows_in_the_close_up() {
        for mark in 11..=60 {
            let page = drawn(&small(mark));
            let scale = small(mark);
            let label = scale.labels.get(&scale.number_below()).unwrap();
            let shown = page
                .runs()
                .any(|run| run.style == CLOSE_NUMBER && run.text == *label);
            assert!(shown, "{label} at line {mark}");
        }
    }
}
