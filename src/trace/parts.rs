//! Sharing weight out exactly. A share of a mix is seldom a whole hundredth of a gram, so shares are counted in millionths
//! of a gram and only rounded when they are shown; nothing is lost or made on the way.

use rust_decimal::Decimal;

use crate::measure::Grams;

/// Millionths of a gram.
pub type Parts = i128;

/// The parts of a hundredth of a gram, which is the finest that a scale's figure is written with.
pub const PER_HUNDREDTH: Parts = 10_000;

/// A weight in hundredths of a gram.
pub fn hundredths(grams: Grams) -> i128 {
    let mut decimal = grams.decimal();
    decimal.rescale(2);
    decimal.mantissa()
}

/// A weight from its hundredths of a gram. A stored weight is at most 10^15 g, so it always fits.
pub fn grams(hundredths: i128) -> Grams {
    Grams::new(Decimal::try_from_i128_with_scale(hundredths, 2).unwrap_or(Decimal::MAX))
}

/// Shares `total` by `weights` so that the shares add up to it: each is cut down, and what is left goes one by one to
/// the largest remainders (the method of largest remainder, Hamilton's), on a tie to the first. A weight of zero or
/// less gets nothing; with no weight above zero nobody does.
pub fn share_out(total: i128, weights: &[i128]) -> Vec<i128> {
    let borne: Vec<i128> = weights.iter().map(|weight| (*weight).max(0)).collect();
    let whole: i128 = borne.iter().sum();
    if whole == 0 {
        return vec![0; weights.len()];
    }
    let mut shares: Vec<i128> = borne.iter().map(|weight| total * weight / whole).collect();
    let mut order: Vec<usize> = (0..borne.len()).filter(|at| borne[*at] > 0).collect();
    order.sort_by_key(|at| std::cmp::Reverse(total * borne[*at] % whole));
    let left = total - shares.iter().sum::<i128>();
    for at in order.into_iter().take(usize::try_from(left).unwrap_or(0)) {
        shares[at] += 1;
    }
    shares
}

/// What `taken` of a lot that holds `held` carries away of the `parts` in it, half a part rounded up; all of it with
/// the last gram.
pub fn carried(parts: Parts, taken: i128, held: i128) -> Parts {
    if taken >= held || held <= 0 { parts } else { (parts * taken * 2 + held) / (held * 2) }
}

/// Rounds parts to weights of 0.01 g that add up to their own sum, rounded once.
pub fn settled(parts: &[Parts]) -> Vec<Grams> {
    let sum: Parts = parts.iter().sum();
    let mut cut: Vec<i128> = parts.iter().map(|part| part / PER_HUNDREDTH).collect();
    let mut order: Vec<usize> = (0..parts.len()).collect();
    order.sort_by_key(|at| std::cmp::Reverse(parts[*at] % PER_HUNDREDTH));
    let left = (sum + PER_HUNDREDTH / 2) / PER_HUNDREDTH - cut.iter().sum::<i128>();
    for at in order.into_iter().take(usize::try_from(left).unwrap_or(0)) {
        cut[at] += 1;
    }
    cut.into_iter().map(grams).collect()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn the_odd_part_goes_to_the_largest_remainder() {
        assert_eq!(share_out(100, &[1, 1, 1]), [34, 33, 33]);
        assert_eq!(share_out(5, &[0, 3, 7]), [0, 2, 3]);
        assert_eq!(share_out(5, &[]), Vec::<i128>::new());
        assert_eq!(share_out(5, &[0]), [0]);
    }

    #[test]
    fn the_last_gram_out_of_a_bin_takes_all_that_was_left_of_the_source() {
        assert_eq!(carried(333, 10, 30), 111);
        assert_eq!(carried(333, 30, 30), 333);
    }

    #[test]
    fn three_thirds_of_a_gram_are_a_gram() {
        let third = 333_333;
        assert_eq!(
            settled(&[third, third, third + 1]),
            ["0.33", "0.33", "0.34"].map(|text| Grams::new(text.parse().unwrap()))
        );
    }

    proptest! {
        #[test]
        fn nothing_is_lost_in_sharing(total in 0_i128..10_i128.pow(18), weights in prop::collection::vec(0_i128..10_i128.pow(9), 1..40)) {
            prop_assume!(weights.iter().sum::<i128>() > 0);
            let shares = share_out(total, &weights);
            prop_assert_eq!(shares.iter().sum::<i128>(), total);
            let whole: i128 = weights.iter().sum();
            for (share, weight) in shares.iter().zip(&weights) {
                prop_assert!((share * whole - total * weight).abs() <= whole);
            }
        }

        #[test]
        fn a_rounded_list_adds_up_to_its_rounded_sum(parts in prop::collection::vec(0_i128..10_i128.pow(15), 0..40)) {
            let sum: i128 = parts.iter().sum();
            let shown: i128 = settled(&parts).into_iter().map(hundredths).sum();
            prop_assert_eq!(shown, (sum + PER_HUNDREDTH / 2) / PER_HUNDREDTH);
        }
    }
}
