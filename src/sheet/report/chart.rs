//! The chart: weights through time with their tags, the line at which to call, each stretch of
//! each course with its doses on the same axis.
//!
//! Promises: drawn as vectors, in black and white; a label is printed only where it lies free, and
//! what it would say stands in the table below. Does not: smooth, or guess between weighings.

use crate::animal::Tag;
use crate::entry::Outcome;
use crate::notation::print;
use crate::quantity::Exact;
use crate::report::{Record, Report, Stretch, say};
use crate::schedule::{Due, Zone};
use crate::sheet::SheetError;
use crate::sheet::block::{Align, Block};
use crate::sheet::card::grid::{FINE, FULL};
use crate::sheet::card::words::{bold, plain};
use crate::sheet::face::Faces;
use crate::sheet::leaf::{Part, words};
use crate::sheet::page::{Ink, Item, Point, Rect};
use crate::sheet::text::{curled, unbroken, wrap};
use chrono::{DateTime, Datelike, Days, NaiveDate, TimeDelta, Utc};

/// The area that weights are drawn in, from the chart's top left corner.
const PLOT: Rect = Rect {
    left: 52.0,
    top: 6.0,
    width: 138.0,
    height: 58.0,
};
const SMALL: f32 = 8.0;

/// The chart in parts: the weights, then a lane for each stretch, then what the signs mean.
pub(super) fn of(faces: &Faces, report: &Report) -> Result<Vec<Part>, SheetError> {
    let time = Time::of(report);
    let mut parts = vec![Part::leading(weights(faces, report, &time)?)];
    for record in &report.courses {
        for stretch in &record.phases {
            parts.push(Part::leading(lane(faces, record, stretch, report, &time)?));
        }
    }
    let signs = format!(
        "Filled square: weighed. Open square: weighed with a tag. Dashed: {}. Long stroke: given. Cross: partly given, brought up, refused, missed, withheld or unsure. Short stroke: still to come.",
        say::loss_line(report)
    );
    parts.push(words(faces, &plain(&curled(&signs), SMALL))?);
    Ok(parts)
}

/// The axis of time.
struct Time {
    from: DateTime<Utc>,
    to: DateTime<Utc>,
    zone: Zone,
}

impl Time {
    fn of(report: &Report) -> Time {
        let zone = report.zone;
        let mut moments: Vec<DateTime<Utc>> =
            report.weights.iter().map(|w| w.weighing.at).collect();
        moments.push(report.now);
        for record in &report.courses {
            let ends = record.phases.iter().flat_map(|s| [s.from, s.to]);
            moments.extend(ends.map(|due| instant(due, zone)));
            let rows = record.rows.iter().filter_map(|row| row.given.as_ref());
            moments.extend(rows.map(|given| given.dose.happened));
        }
        let from = moments.iter().min().copied().unwrap_or(report.now);
        let to = moments.iter().max().copied().unwrap_or(report.now);
        let margin = ((to - from) / 40).max(TimeDelta::hours(12));
        Time {
            from: from - margin,
            to: to + margin,
            zone,
        }
    }

    fn x(&self, at: DateTime<Utc>) -> f32 {
        let share = |time: TimeDelta| time.num_minutes() as f32;
        PLOT.left + PLOT.width * share(at - self.from) / share(self.to - self.from).max(1.0)
    }

    /// Days to name on the axis, at most seven or so.
    fn days(&self) -> Vec<NaiveDate> {
        let first = self.from.with_timezone(&self.zone).date_naive();
        let whole = (self.to - self.from).num_days().max(1);
        let step = [1, 2, 7, 14, 28, 56, 91, 182, 365, 730]
            .into_iter()
            .find(|step| whole / step <= 6)
            .unwrap_or(3_650);
        let mut days = Vec::new();
        let mut day = first + Days::new(1);
        while self.x(noonless(day, self.zone)) < PLOT.right() - 6.0 {
            days.push(day);
            day = day + Days::new(u64::try_from(step).unwrap_or(1));
        }
        days
    }
}

fn noonless(day: NaiveDate, zone: Zone) -> DateTime<Utc> {
    Due::On(day).opens(TimeDelta::zero(), zone)
}

/// Where a dose stands on the axis: of a date, the middle of its day.
fn instant(due: Due, zone: Zone) -> DateTime<Utc> {
    match due {
        Due::At(at) => at,
        Due::On(_) => due.opens(TimeDelta::zero(), zone) + TimeDelta::hours(12),
    }
}

fn figure(value: Exact) -> f32 {
    value.numerator() as f32 / value.denominator() as f32
}

/// The axis of weight: its lowest and highest figure in g, and the figures to name.
fn scale(report: &Report) -> (f32, f32, Vec<Exact>) {
    let own = report
        .weights
        .iter()
        .map(|w| w.weighing.weight.value().grams());
    let call = report.weights.iter().filter_map(|w| w.call_at);
    let all: Vec<f32> = own.chain(call).map(figure).collect();
    let least = all.iter().copied().fold(f32::MAX, f32::min);
    let most = all.iter().copied().fold(0.0, f32::max);
    let margin = ((most - least) * 0.15).max(most * 0.02);
    let (low, high) = ((least - margin).max(0.0), most + margin);
    let steps = (-4..7).flat_map(|power: i32| [1, 2, 5].map(|n| (n, power)));
    let mut exact =
        steps.filter_map(
            |(n, power)| match 10_i128.checked_pow(power.unsigned_abs()) {
                Some(ten) if power < 0 => Exact::ratio(n, ten),
                Some(ten) => Exact::ratio(n * ten, 1),
                None => None,
            },
        );
    let step = exact.find(|step| (high - low) / figure(*step) <= 6.0);
    let step = step.unwrap_or(Exact::ONE);
    let first = (low / figure(step)).ceil() as i64;
    let named = (first..first + 8).filter_map(|n| step.times(Exact::whole(n)).ok());
    let named = named.filter(|value| figure(*value) <= high).collect();
    (low, high, named)
}

fn weights(faces: &Faces, report: &Report, time: &Time) -> Result<Block, SheetError> {
    let mut block = Block::new();
    let (low, high, named) = scale(report);
    let y = |value: f32| PLOT.bottom() - PLOT.height * (value - low) / (high - low).max(0.0001);
    let (left, right, top, bottom) = (PLOT.left, PLOT.right(), PLOT.top, PLOT.bottom());
    block.rule((left, top), (left, bottom), FINE);
    block.rule((left, bottom), (right, bottom), FINE);
    for value in named {
        let at = y(figure(value));
        block.rule((left - 1.4, at), (left, at), FINE);
        let words = format!("{} g", print::figure(value));
        let area = (2.0, left - 2.4);
        block.line(faces, &plain(&words, SMALL), area, at + 1.0, Align::Right)?;
    }
    for day in time.days() {
        let x = time.x(noonless(day, time.zone));
        block.rule((x, bottom), (x, bottom + 1.4), FINE);
        let label = match day.year() == report.now.year() {
            true => day.format("%-d %b").to_string(),
            false => day.format("%-d %b %Y").to_string(),
        };
        let area = (x - 14.0, x + 14.0);
        block.line(
            faces,
            &plain(&label, SMALL),
            area,
            bottom + 4.6,
            Align::Centre,
        )?;
    }
    let now = time.x(report.now);
    dash(&mut block, (now, top), (now, bottom));
    let area = (now - 40.0, (now + 8.0).min(FULL.1));
    let align = match now + 5.0 > FULL.1 {
        true => Align::Right,
        false => Align::Centre,
    };
    let area = match align {
        Align::Centre => (now - 8.0, now + 8.0),
        _ => area,
    };
    block.line(faces, &plain("now", SMALL), area, top - 1.6, align)?;

    let mut taken = vec![Rect::edges(now - 0.5, top, now + 0.5, bottom)];
    let points: Vec<(Point, Option<Tag>, String)> = report
        .weights
        .iter()
        .map(|weight| {
            let w = weight.weighing;
            let at = (time.x(w.at), y(figure(w.weight.value().grams())));
            let tag = w.tag.map(|tag| format!(", {tag}")).unwrap_or_default();
            (at, w.tag, format!("{}{tag}", w.weight))
        })
        .collect();
    call_line(&mut block, report, time, y, &mut taken);
    for ((from, ..), (to, ..)) in points.iter().zip(points.iter().skip(1)) {
        block.rule(*from, *to, 0.4);
        taken.extend(along(*from, *to));
    }
    for ((x, y), tag, _) in &points {
        let square = Rect::edges(x - 0.9, y - 0.9, x + 0.9, y + 0.9);
        block.items.push(Item::Fill {
            rect: square,
            ink: if tag.is_some() {
                Ink::White
            } else {
                Ink::Black
            },
        });
        if tag.is_some() {
            block.frame(square, 0.35);
        }
        taken.push(square);
    }
    for ((x, y), _, label) in points.iter().rev() {
        let line = unbroken(faces, &bold(label, SMALL))?;
        let width = line.width();
        let places = [
            (x - width / 2.0, y - 1.8),
            (x - width / 2.0, y + 4.2),
            (x + 1.8, y + 1.0),
            (x + 1.6, y - 1.6),
            (x - 1.8 - width, y + 1.0),
            (x - width / 2.0, y - 4.8),
            (x - width / 2.0, y + 7.2),
        ];
        let free = places.into_iter().find(|(left, base)| {
            let area = Rect::edges(*left, base - 2.5, left + width, base + 0.8);
            // Clear of the axes too.
            PLOT.holds(&area, -0.6) && !taken.iter().any(|other| other.overlaps(&area, 0.0))
        });
        if let Some((left, base)) = free {
            taken.push(Rect::edges(
                left - 0.5,
                base - 2.8,
                left + width + 0.5,
                base + 1.0,
            ));
            block.set(
                &line,
                (left, left + width + 0.2),
                base,
                Align::Left,
                Ink::Black,
            );
        }
    }
    let shows = "Chart of the weights through time; their figures stand in the table of weighings";
    block.is_drawing(0, shows);
    block.height = bottom + 6.4;
    Ok(block)
}

/// The line at which to call: from each weighing until the next, the last until now.
fn call_line(
    block: &mut Block,
    report: &Report,
    time: &Time,
    y: impl Fn(f32) -> f32,
    taken: &mut Vec<Rect>,
) {
    let ends = report.weights.iter().skip(1).map(|w| w.weighing.at);
    let ends = ends.chain([report.now]);
    for (weight, end) in report.weights.iter().zip(ends) {
        let Some(call_at) = weight.call_at else {
            continue;
        };
        let at = y(figure(call_at));
        let (from, to) = (time.x(weight.weighing.at), time.x(end));
        dash(block, (from, at), (to, at));
        taken.push(Rect::edges(from, at - 0.4, to, at + 0.4));
    }
}

/// A dashed line, dash by dash, so that short ones show too.
fn dash(block: &mut Block, from: Point, to: Point) {
    const DASH: f32 = 1.4;
    let length = (to.0 - from.0).hypot(to.1 - from.1);
    let at = |share: f32| {
        let share = (share / length.max(0.01)).min(1.0);
        (
            from.0 + (to.0 - from.0) * share,
            from.1 + (to.1 - from.1) * share,
        )
    };
    let mut begun = 0.0;
    while begun < length {
        block.rule(at(begun), at(begun + DASH), 0.3);
        begun += DASH * 1.9;
    }
}

/// Small areas along a line, that no label may cover.
fn along(from: Point, to: Point) -> Vec<Rect> {
    let length = (to.0 - from.0).hypot(to.1 - from.1);
    let steps = (length.ceil() as usize).clamp(1, 400);
    let each = (0..=steps).map(|n| {
        let share = n as f32 / steps as f32;
        let x = from.0 + (to.0 - from.0) * share;
        let y = from.1 + (to.1 - from.1) * share;
        Rect::edges(x - 0.4, y - 0.4, x + 0.4, y + 0.4)
    });
    each.collect()
}

/// One stretch of a course under the weights: its name, its length, its doses.
fn lane(
    faces: &Faces,
    record: &Record,
    stretch: &Stretch,
    report: &Report,
    time: &Time,
) -> Result<Block, SheetError> {
    let mut block = Block::new();
    let area = (FULL.0, PLOT.left - 4.0);
    let name = curled(&say::stretch(record, stretch));
    let lines = wrap(faces, &plain(&name, SMALL), area.1 - area.0)?;
    let last = block.lines(&lines, area, 3.4, 3.3, Ink::Black);
    let middle = 3.2;
    let x = |due| time.x(instant(due, time.zone));
    block.rule((x(stretch.from), middle), (x(stretch.to), middle), 0.3);
    let own = record.rows.iter().filter(|row| {
        let number = row
            .number
            .and_then(|n| record.checked.standing.course.slot(n));
        let phase = number.map_or(0, |slot| slot.slot.phase);
        phase == stretch.phase
    });
    for given in own.filter_map(|row| row.given.as_ref()) {
        let at = time.x(given.dose.happened);
        if given.dose.record.outcome == Outcome::Given {
            block.rule((at, middle - 2.0), (at, middle + 2.0), 0.7);
        } else {
            let (up, down) = (middle - 1.3, middle + 1.3);
            block.rule((at - 1.3, up), (at + 1.3, down), 0.4);
            block.rule((at - 1.3, down), (at + 1.3, up), 0.4);
        }
    }
    for due in &stretch.waiting {
        let at = x(*due);
        block.rule((at, middle - 0.9), (at, middle + 0.9), 0.3);
    }
    let now = time.x(report.now);
    dash(&mut block, (now, 0.0), (now, 6.0));
    block.height = (last + 1.6).max(6.2);
    Ok(block)
}
