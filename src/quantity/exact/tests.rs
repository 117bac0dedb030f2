//! Fractions against figures worked on paper.

#![allow(clippy::unwrap_used)]
use super::*;

fn of(n: i128, d: i128) -> Exact {
    Exact::ratio(n, d).unwrap()
}

#[test]
fn equal_fractions_are_equal_however_written() {
    let unreduced = of(1, 2).times(of(4, 4)).unwrap();
    assert_eq!(unreduced, of(2, 4));
    assert_eq!((of(6, 8).numerator(), of(6, 8).denominator()), (3, 4));
}

#[test]
fn a_fraction_has_a_denominator_above_nothing() {
    assert_eq!(Exact::ratio(1, 0), None);
    assert_eq!(Exact::ratio(1, -2), None);
}

/// 2^127 - 1 is 1 more than a multiple of 3, so a third of it is above its whole part. Written
/// over 2, the products do not fit.
#[test]
fn a_whole_number_is_below_what_lies_above_it() {
    let three = NonZeroI128::new(3).unwrap();
    let two = NonZeroI128::new(2).unwrap();
    let third = Exact {
        n: i128::MAX,
        d: three,
    };
    let whole = Exact {
        n: i128::MAX / 3 * 2,
        d: two,
    };
    assert_eq!(third.cmp(&whole), Ordering::Greater);
    assert_eq!(whole.cmp(&third), Ordering::Less);
}

#[test]
fn a_difference_and_an_order_are_as_on_paper() {
    // 9/12 - 4/12, and the other way round.
    assert_eq!(of(3, 4).minus(of(1, 3)), Ok(of(5, 12)));
    assert_eq!(of(1, 3).minus(of(3, 4)), Ok(of(-5, 12)));
    assert!(of(1, 3) < of(3, 4) && of(3, 4) > of(1, 3));
    assert!(of(-1, 3) < of(0, 1) && of(2, 4) <= of(1, 2));
}

#[test]
fn a_share_apart_is_as_on_paper() {
    // 25 lines for 25.2: 0.2 / 25.2 = 1/126 less. 3 for -2: 5/-2. Nothing has no shares.
    assert_eq!(of(252, 10).share_apart(25), Ok(of(-1, 126)));
    assert_eq!(of(-2, 1).share_apart(3), Ok(of(-5, 2)));
    assert_eq!(Exact::ZERO.share_apart(3), Err(OutOfRange));
    // 2 / (m/2) - 1 with m/2 = 4 written large: the product does not fit.
    let d = NonZeroI128::new(i128::MAX / 4).unwrap();
    let four = Exact { n: d.get() * 4, d };
    assert_eq!(four.share_apart(6), Ok(of(1, 2)));
}

#[test]
fn comparison_is_right_where_products_overflow() {
    let big = i128::MAX;
    let a = Exact {
        n: big,
        d: NonZeroI128::new(big - 1).unwrap(),
    };
    let b = Exact {
        n: big - 1,
        d: NonZeroI128::new(big - 2).unwrap(),
    };
    // 1 + 1/(m-1) against 1 + 1/(m-2): the first is smaller.
    assert_eq!(a.cmp(&b), Ordering::Less);
    assert_eq!(b.cmp(&a), Ordering::Greater);
    assert_eq!(a.cmp(&a), Ordering::Equal);
    let minus = Exact { n: -big, d: a.d };
    assert_eq!(minus.cmp(&b), Ordering::Less);
    assert_eq!(minus.cmp(&Exact { n: 1 - big, d: b.d }), Ordering::Greater);
}

#[test]
fn roundings_are_the_three_named_ones() {
    for (n, d, floor, nearest, ceil) in [
        (31, 2, 15, 15, 16),
        (15, 1, 15, 15, 15),
        (155, 10, 15, 15, 16),
        (1551, 100, 15, 16, 16),
        (1549, 100, 15, 15, 16),
        (-1, 2, -1, -1, 0),
        (1, 2, 0, 0, 1),
    ] {
        let x = of(n, d);
        assert_eq!(x.floor(), floor, "{n}/{d}");
        assert_eq!(x.nearest_tie_down().unwrap(), nearest, "{n}/{d}");
        assert_eq!(x.ceil(), ceil, "{n}/{d}");
    }
}

#[test]
fn overflow_reduces_and_retries_before_it_gives_up() {
    let big = of(i128::MAX, 3);
    assert_eq!(big.times(of(3, i128::MAX)).unwrap(), Exact::ONE);
    assert_eq!(big.times(of(2, 1)), Err(OutOfRange));
    let third = of(1, i128::MAX / 2);
    assert_eq!(third.plus(third).unwrap(), of(2, i128::MAX / 2));
}

#[test]
fn nothing_is_neither_negative_nor_something() {
    for (n, zero, negative) in [(0, true, false), (1, false, false), (-1, false, true)] {
        let x = of(n, 3);
        assert_eq!((x.is_zero(), x.is_negative()), (zero, negative), "{n}/3");
        assert_eq!(num_traits::Zero::is_zero(&Stored(Some(x))), zero, "{n}/3");
    }
}

/// What is out of range equals nothing, itself included, and is neither more nor less.
#[test]
fn out_of_range_compares_with_nothing() {
    let (half, third, out) = (Stored(Some(of(2, 4))), Stored(Some(of(1, 3))), Stored(None));
    assert!(half == Stored(Some(of(1, 2))) && half != third && half != out);
    assert!(out != Stored(None) && !num_traits::Zero::is_zero(&out));
    assert_eq!(half.partial_cmp(&third), Some(Ordering::Greater));
    assert_eq!(
        (half.partial_cmp(&out), out.partial_cmp(&half)),
        (None, None)
    );
}

#[test]
fn out_of_range_is_sticky() {
    let out = Stored(Some(of(i128::MAX, 1))) * Stored(Some(of(2, 1)));
    let zero = Stored(Some(Exact::ZERO));
    for still in [
        out * zero,
        zero * out,
        out + zero,
        zero - out,
        out / out,
        -out,
    ] {
        assert_eq!(still.leave(), Err(OutOfRange));
    }
    assert_eq!((Stored(Some(Exact::ONE)) / zero).leave(), Err(OutOfRange));
}

#[test]
fn division_keeps_the_sign() {
    assert_eq!(of(1, 1).over(of(-2, 1)).unwrap(), of(-1, 2));
    assert_eq!(of(-1, 1).over(of(-2, 1)).unwrap(), of(1, 2));
}
