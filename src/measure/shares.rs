//! Joint cost: one sum shared over what came of one source.

use rust_decimal::Decimal;

use super::money::Money;

/// Shares `total` by `weights` (grams, or grams times a sales value) so that the shares add up to it to the cent.
///
/// Each share is cut down to the cent, and the cents left over go one by one to the largest remainders (the method of
/// largest remainder, Hamilton's), on a tie to the first. A weight of zero or less gets nothing. With no weight above zero there is nobody
/// to carry the sum: every share is then zero, and the caller must keep the sum on the source.
/// A negative total is shared as its positive twin, with the sign put back.
pub fn joint_shares(total: Money, weights: &[Decimal]) -> Vec<Money> {
    let borne: Vec<Decimal> = weights.iter().map(|weight| (*weight).max(Decimal::ZERO)).collect();
    let whole: Decimal = borne.iter().sum();
    if whole.is_zero() {
        return vec![Money::ZERO; weights.len()];
    }
    let cents = total.decimal().abs() * Decimal::ONE_HUNDRED;
    let mut shares: Vec<(Decimal, Decimal)> =
        borne.iter().map(|&weight| cut_down(cents, weight, whole)).collect();
    let mut left = cents - shares.iter().map(|(share, _)| *share).sum::<Decimal>();
    for at in largest_first(&shares, &borne) {
        if left < Decimal::ONE {
            break;
        }
        shares[at].0 += Decimal::ONE;
        left -= Decimal::ONE;
    }
    let sign = if total < Money::ZERO { -Decimal::ONE } else { Decimal::ONE };
    shares.into_iter().map(|(share, _)| Money::new(sign * share / Decimal::ONE_HUNDRED)).collect()
}

/// Whole cents of one share, and the exact remainder in units of `cents * weight`.
fn cut_down(cents: Decimal, weight: Decimal, whole: Decimal) -> (Decimal, Decimal) {
    let product = cents * weight;
    let mut share = (product / whole).floor();
    let mut remainder = product - share * whole;
    // A quotient of 28 digits may have been rounded up to the next cent.
    if remainder.is_sign_negative() && !remainder.is_zero() {
        share -= Decimal::ONE;
        remainder += whole;
    }
    (share, remainder)
}

/// Places of those who bear a share, by falling remainder; the sort is stable, so the first of equals comes first.
fn largest_first(shares: &[(Decimal, Decimal)], borne: &[Decimal]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..shares.len()).filter(|&at| !borne[at].is_zero()).collect();
    order.sort_by(|&a, &b| shares[b].1.cmp(&shares[a].1));
    order
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn shared(cents: i64, weights: &[i64]) -> Vec<String> {
        let weights: Vec<Decimal> = weights.iter().copied().map(Decimal::from).collect();
        joint_shares(Money::cents(cents), &weights).iter().map(ToString::to_string).collect()
    }

    #[test]
    fn the_last_cent_goes_to_the_largest_remainder() {
        assert_eq!(shared(1000, &[1, 1, 1]), ["3.34", "3.33", "3.33"]);
        assert_eq!(shared(100, &[1, 2, 3]), ["0.17", "0.33", "0.50"]);
        assert_eq!(shared(1, &[1, 1]), ["0.01", "0.00"]);
    }

    #[test]
    fn nothing_is_carried_by_what_weighs_nothing() {
        assert_eq!(shared(1001, &[0, 5, -3, 5]), ["0.00", "5.01", "0.00", "5.00"]);
        assert_eq!(shared(1000, &[0, 0]), ["0.00", "0.00"]);
        assert!(shared(1000, &[]).is_empty());
    }

    #[test]
    fn a_credit_is_shared_like_a_cost() {
        assert_eq!(shared(-1000, &[1, 1, 1]), ["-3.34", "-3.33", "-3.33"]);
    }

    proptest! {
        #[test]
        fn shares_add_up_to_the_cent_and_none_is_a_cent_off(
            cents in -100_000_000_i64..100_000_000,
            weights in prop::collection::vec(0_i64..20_000_000, 1..40),
        ) {
            let total = Money::cents(cents);
            let weights: Vec<Decimal> = weights.into_iter().map(|weight| Decimal::new(weight, 2)).collect();
            let whole: Decimal = weights.iter().sum();
            prop_assume!(!whole.is_zero());
            let shares = joint_shares(total, &weights);
            prop_assert_eq!(shares.iter().sum::<Money>(), total);
            for (share, weight) in shares.iter().zip(&weights) {
                let fair = total.decimal() * weight / whole;
                prop_assert!((share.decimal() - fair).abs() <= Decimal::new(1, 2));
            }
        }
    }
}
