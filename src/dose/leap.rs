//! A figure so far from the one before it that a point has more likely moved than a vet changed
//! their mind.
//!
//! Promises only to ask for more care: whoever types such a figure types it twice. The limit is
//! the program's own and says nothing about any medicine.

use crate::notation::print;
use crate::quantity::Exact;

/// How many times as much, or less, from which on a figure is typed twice.
const LEAP: i64 = 3;

/// How far one figure is from another, where it is three times as much or as little at least: the
/// words between the two, as in "10 times as much as". `ratio` is the new figure over the old.
pub fn leap(ratio: Exact) -> Option<String> {
    let least = Exact::whole(LEAP);
    if ratio >= least {
        return Some(format!("{} as much as", print::times(ratio)));
    }
    let less = Exact::ONE.over(ratio).ok()?;
    (less >= least).then(|| format!("{} less than", print::times(less)))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    fn leapt(top: i128, bottom: i128) -> Option<String> {
        leap(Exact::ratio(top, bottom).unwrap())
    }

    #[test]
    fn three_times_is_a_leap_either_way_and_anything_nearer_is_none() {
        assert_eq!(leapt(10, 1).unwrap(), "10 times as much as");
        assert_eq!(leapt(1, 100).unwrap(), "100 times less than");
        assert_eq!(leapt(3, 1).unwrap(), "3 times as much as");
        assert_eq!(leapt(1, 3).unwrap(), "3 times less than");
        assert_eq!(leapt(22, 3).unwrap(), "about 7.3 times as much as");
        assert_eq!(leapt(299, 100), None);
        assert_eq!(leapt(100, 299), None);
        assert_eq!(leapt(1, 1), None);
        assert_eq!(leapt(0, 1), None);
    }
}
