//! Dose, mark and ladder worked out from the prose of the rules, with fractions of any size.
//!
//! Promises: no code of the program is called. Amounts stand in mg, units, mL, grams of paste or
//! tablets, as the dose is counted; weights in grams; measures in mL, grams or tablets.

use crate::big::Fraction;

/// A syringe, a cut of a tablet or a scale, by what matters here.
#[derive(Clone, Debug)]
pub struct Tool {
    pub step: Fraction,
    pub capacity: Option<Fraction>,
    pub mouth: bool,
    pub insulin: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    Nearest,
    Down,
    Up,
}

/// What the vet wrote and what is at hand.
#[derive(Clone, Debug)]
pub struct Wish {
    /// Amount for each gram of animal, or the fixed amount.
    pub rate: Option<Fraction>,
    pub fixed: Option<Fraction>,
    /// Amount in each mL, gram or tablet; none where the dose is itself a measure.
    pub strength: Option<Fraction>,
    pub in_units: bool,
    pub most: Option<Fraction>,
    pub most_per_site: Option<Fraction>,
    pub direction: Direction,
    /// The vet's tolerance, which replaces both limits.
    pub tolerance: Option<Fraction>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    pub lines: u64,
    pub draws: u64,
    pub each: Fraction,
    pub total: Fraction,
    pub difference: Fraction,
}

/// Why a tool gives no mark, the most telling first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Why {
    NoWeight,
    TooOld,
    TooSmall,
    Beyond,
    TooLarge,
    NoSyringe,
    OnlyInsulin,
}

/// The place of the tool that is taken, its mark, and every tool that gives one, the best first.
pub type Chosen = (usize, Mark, Vec<(usize, Mark)>);

/// A weight in grams on a day counted back from today.
#[derive(Clone, Debug)]
pub struct Weighed {
    pub grams: Fraction,
    pub days_ago: i64,
}

#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    pub first: Fraction,
    pub last: Fraction,
    pub lines: Option<u64>,
    pub call: bool,
    pub today: bool,
}

impl Wish {
    /// The amount for a weight, and whether the vet's greatest dose bit.
    pub fn amount(&self, grams: Option<&Fraction>) -> Option<(Fraction, bool)> {
        let amount = match (&self.fixed, &self.rate, grams) {
            (Some(fixed), _, _) => fixed.clone(),
            (None, Some(rate), Some(grams)) => rate.times(grams),
            _ => return None,
        };
        match &self.most {
            Some(most) if amount > *most => Some((most.clone(), true)),
            _ => Some((amount, false)),
        }
    }

    pub fn measure(&self, amount: &Fraction) -> Fraction {
        self.strength
            .as_ref()
            .map_or_else(|| amount.clone(), |strength| amount.over(strength))
    }

    /// What a measure holds, counted as the dose is.
    pub fn held(&self, measure: &Fraction) -> Fraction {
        self.strength
            .as_ref()
            .map_or_else(|| measure.clone(), |strength| measure.times(strength))
    }

    /// The largest difference that still has a mark: 10 percent where the vet wrote nothing.
    fn furthest(&self) -> Fraction {
        self.tolerance.clone().unwrap_or(Fraction::new(1, 10))
    }

    /// Above 5 percent it is pointed out, unless the vet's tolerance stands there.
    pub fn rounds_far(&self, mark: &Mark) -> bool {
        self.tolerance.is_none() && mark.difference.abs() > Fraction::new(1, 20)
    }

    pub fn mark(&self, tool: &Tool, volume: &Fraction, draws: Option<u64>) -> Result<Mark, Why> {
        let draws = draws.unwrap_or_else(|| {
            let sites = self.most_per_site.as_ref();
            sites.map_or(1, |most| volume.over(most).ceil())
        });
        let many = Fraction::whole(draws.into());
        let part = volume.over(&many);
        if tool.capacity.as_ref().is_some_and(|holds| part > *holds) {
            return Err(Why::TooLarge);
        }
        let steps = part.over(&tool.step);
        let (below, above) = (steps.floor(), steps.ceil());
        let half_way = Fraction::whole(below.into()).plus(&Fraction::new(1, 2));
        let mut lines = match self.direction {
            Direction::Down => below,
            Direction::Up => above,
            Direction::Nearest if steps > half_way => above,
            Direction::Nearest => below,
        };
        // Neither the greatest dose nor what a site takes is passed, whatever the direction.
        let in_all = self
            .most
            .as_ref()
            .map(|most| self.measure(most).over(&many));
        for bound in in_all.iter().chain(&self.most_per_site) {
            lines = lines.min(bound.over(&tool.step).floor());
        }
        if lines == 0 {
            return Err(Why::TooSmall);
        }
        let each = tool.step.times(&Fraction::whole(lines.into()));
        let total = each.times(&many);
        let difference = total.minus(volume).over(volume);
        if difference.abs() > self.furthest() {
            return Err(Why::Beyond);
        }
        Ok(Mark {
            lines,
            draws,
            each,
            total,
            difference,
        })
    }

    /// The tool of these that is taken, by its place, and its mark.
    pub fn choose(
        &self,
        tools: &[Tool],
        mouth: bool,
        volume: &Fraction,
        (named, last): (Option<usize>, Option<usize>),
    ) -> Result<Chosen, Vec<Why>> {
        let places = match named {
            Some(named) => vec![named],
            None => (0..tools.len()).collect(),
        };
        let syringe = |place: &usize| tools[*place].capacity.is_some();
        let of_use = |place: &usize| !syringe(place) || tools[*place].mouth == mouth;
        let fitting = places.into_iter().filter(of_use).collect::<Vec<_>>();
        if fitting.is_empty() {
            return Err(vec![Why::NoSyringe]);
        }
        let allowed = |place: &usize| !(self.in_units && tools[*place].insulin);
        let allowed = fitting.into_iter().filter(allowed).collect::<Vec<_>>();
        if allowed.is_empty() {
            return Err(vec![Why::OnlyInsulin]);
        }
        let (mut marks, mut why) = (Vec::new(), Vec::new());
        for place in allowed {
            match self.mark(&tools[place], volume, None) {
                Ok(mark) => marks.push((place, mark)),
                Err(reason) => why.push(reason),
            }
        }
        marks.sort_by(|(a, one), (b, other)| {
            let (a, b) = (&tools[*a], &tools[*b]);
            spread(a, one, volume)
                .cmp(&spread(b, other, volume))
                .then(a.capacity.cmp(&b.capacity))
                .then(a.step.cmp(&b.step))
        });
        let kept = marks.iter().find(|(place, _)| Some(*place) == last);
        let chosen = if named.is_some() { None } else { kept };
        match chosen.or(marks.first()).cloned() {
            Some((place, mark)) => Ok((place, mark, marks)),
            None => {
                why.sort_unstable();
                why.dedup();
                Err(why)
            }
        }
    }

    /// Today's tool and number of draws at each readable weight from a fifth below to a fifth above.
    pub fn ladder(
        &self,
        grams: &Fraction,
        readable: &Fraction,
        (tool, draws): (&Tool, u64),
        calls: &[(Fraction, Fraction)],
    ) -> Vec<Row> {
        let bound = |n, d| grams.times(&Fraction::new(n, d)).over(readable);
        let mut rows: Vec<Row> = Vec::new();
        for n in bound(4, 5).ceil().max(1)..=bound(6, 5).floor() {
            let at = readable.times(&Fraction::whole(n.into()));
            let amount = self.amount(Some(&at)).unwrap().0;
            let mark = self.mark(tool, &self.measure(&amount), Some(draws));
            let lines = mark.ok().map(|mark| mark.lines);
            let call = calls.iter().any(|(before, limit)| lost(before, &at, limit));
            let today = at == *grams;
            match rows.last_mut() {
                Some(row) if row.lines == lines && row.call == call => {
                    row.last = at;
                    row.today |= today;
                }
                _ => rows.push(Row {
                    first: at.clone(),
                    last: at,
                    lines,
                    call,
                    today,
                }),
            }
        }
        rows
    }
}

/// How far it may be out in all: the difference, and at each draw the barrel's own tolerance
/// (ISO 7886-1, table 1, from memory: below 5 mL 1.5 percent of the barrel and 2 percent of the
/// volume in the lower half, else 5 percent; from 5 mL on 1 and 4 in place of 2 and 5).
pub fn spread(tool: &Tool, mark: &Mark, volume: &Fraction) -> Fraction {
    let Some(holds) = &tool.capacity else {
        return Fraction::whole(0);
    };
    let percent = |n| Fraction::new(n, 1_000);
    let large = *holds >= Fraction::whole(5);
    let lower_half = mark.each.times(&Fraction::whole(2)) < *holds;
    let out = match (lower_half, large) {
        (true, true) => holds
            .times(&percent(15))
            .plus(&mark.each.times(&percent(10))),
        (true, false) => holds
            .times(&percent(15))
            .plus(&mark.each.times(&percent(20))),
        (false, true) => mark.each.times(&percent(40)),
        (false, false) => mark.each.times(&percent(50)),
    };
    let rounding = mark.total.minus(volume).abs();
    rounding.plus(&out.times(&Fraction::whole(mark.draws.into())))
}

/// Whether at least this share of a weight is gone.
pub fn lost(before: &Fraction, now: &Fraction, limit: &Fraction) -> bool {
    now < before && before.minus(now).over(before) >= *limit
}

/// The highest of the 28 days up to the latest weighing, which stands first.
pub fn high(weighed: &[Weighed]) -> Option<&Weighed> {
    let latest = weighed.first()?.days_ago;
    let near = weighed.iter().filter(|one| one.days_ago - latest <= 28);
    near.max_by(|a, b| a.grams.cmp(&b.grams))
}
