//! One carcass, one cost, many cuts: what each cut carries of it. Source: the joint-cost methods of cost
//! accounting (by weight, by sales value at split-off, by-products taken off first), common practice.

use rust_decimal::Decimal;

use super::figure::{self, BadFigure};
use crate::measure::{Grams, Money, PricePerKg, joint_shares};

/// How the cost is shared over the cuts that are not by-products.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum By {
    /// Every kilogram carries the same.
    Weight,
    /// Every unit of money that a cut would sell for at the block carries the same.
    SalesValue,
}

impl By {
    /// Written after the figure: "cost by sales value at split-off".
    pub const fn words(self) -> &'static str {
        match self {
            Self::Weight => "by weight",
            Self::SalesValue => "by sales value at split-off",
        }
    }
}

/// What stands on the block beside the other cuts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Part {
    pub weight: Grams,
    /// What it would sell for as it lies at the block.
    pub price: PricePerKg,
    /// Bone, fat, skin: it carries its sales value and no more, taken off the cost before the cuts share it.
    pub by_product: bool,
}

/// What a part carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Carried {
    pub cost: Money,
    /// None where the part weighs nothing.
    pub per_kg: Option<PricePerKg>,
}

/// A cost that cannot be shared as asked.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum BadCost {
    #[error(transparent)]
    Figure(#[from] BadFigure),
    #[error("No cut weighs anything, so nothing can carry the cost by weight.")]
    NoWeight,
    #[error("No cut has a sales value, so nothing can carry the cost by sales value.")]
    NoSalesValue,
}

/// What each part carries of the joint cost, in the order of the parts. The shares sum to the joint cost to the
/// smallest coin: what rounding leaves goes by largest remainder. By-products worth more than the joint cost carry
/// all of it, by value, and the cuts carry nothing.
/// Cost, weights and prices zero or more. Error: outside that, or nothing that could carry the cost.
pub fn share(joint: Money, parts: &[Part], by: By) -> Result<Vec<Carried>, BadCost> {
    figure::not_negative(joint.decimal(), "cost")?;
    for part in parts {
        figure::weight(part.weight, "cut")?;
        figure::not_negative(part.price.decimal(), "price")?;
    }
    let taken_off = by_products_first(joint, parts);
    let rest = joint - taken_off.iter().sum();
    let carried = shared_over_cuts(rest, parts, by)?;
    let costs = taken_off.into_iter().zip(carried).map(|(by_product, cut)| by_product + cut);
    Ok(parts.iter().zip(costs).map(|(part, cost)| carry(cost, part.weight)).collect())
}

fn carry(cost: Money, weight: Grams) -> Carried {
    Carried { cost, per_kg: PricePerKg::of(cost, weight) }
}

/// By-products at their sales value, bounded by the joint cost; the cuts at nothing.
fn by_products_first(joint: Money, parts: &[Part]) -> Vec<Money> {
    let value = |part: &Part| if part.by_product { part.price.cost(part.weight) } else { Money::ZERO };
    let values: Vec<Money> = parts.iter().map(value).collect();
    if values.iter().sum::<Money>() <= joint {
        return values;
    }
    joint_shares(joint, &values.iter().map(|value| value.decimal()).collect::<Vec<_>>())
}

/// The cuts at their share of what the by-products leave; the by-products at nothing.
fn shared_over_cuts(rest: Money, parts: &[Part], by: By) -> Result<Vec<Money>, BadCost> {
    let weighed = |part: &Part| match by {
        _ if part.by_product => Decimal::ZERO,
        By::Weight => part.weight.decimal(),
        By::SalesValue => part.weight.decimal() * part.price.decimal(),
    };
    let weights: Vec<Decimal> = parts.iter().map(weighed).collect();
    if !rest.is_zero() && weights.iter().all(Decimal::is_zero) {
        return Err(match by {
            By::Weight => BadCost::NoWeight,
            By::SalesValue => BadCost::NoSalesValue,
        });
    }
    Ok(joint_shares(rest, &weights))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::standards::figure::dec;

    fn part(weight: &str, price: &str, by_product: bool) -> Part {
        Part { weight: Grams::new(dec(weight)), price: PricePerKg::new(dec(price)), by_product }
    }

    fn cut(weight: &str, price: &str) -> Part {
        part(weight, price, false)
    }

    fn money(text: &str) -> Money {
        Money::new(dec(text))
    }

    fn costs(joint: &str, parts: &[Part], by: By) -> Vec<String> {
        let carried = share(money(joint), parts, by).expect("a cost that can be shared");
        carried.iter().map(|carried| carried.cost.to_string()).collect()
    }

    #[test]
    fn by_weight_every_kilo_of_every_cut_carries_the_same() {
        // Arithmetic: 300.00 over 60 kg is 5.00 a kilo.
        let parts = [cut("36000", "9"), cut("24000", "3")];
        let carried = share(money("300"), &parts, By::Weight).expect("a cost");
        assert_eq!(carried.iter().map(|part| part.cost).collect::<Vec<_>>(), [money("180"), money("120")]);
        assert!(carried.iter().all(|part| part.per_kg == Some(PricePerKg::new(dec("5")))));
    }

    #[test]
    fn by_sales_value_a_cut_that_sells_for_more_carries_more() {
        // Arithmetic: values 324 and 72 of 396; 300.00 is 245.45 and 54.55.
        let parts = [cut("36000", "9"), cut("24000", "3")];
        let carried = share(money("300"), &parts, By::SalesValue).expect("a cost");
        assert_eq!(
            carried.iter().map(|part| part.cost).collect::<Vec<_>>(),
            [money("245.45"), money("54.55")]
        );
        let per_kg = ["6.8181", "2.2729"].map(|price| Some(PricePerKg::new(dec(price))));
        assert_eq!(carried.iter().map(|part| part.per_kg).collect::<Vec<_>>(), per_kg);
    }

    #[test]
    fn bones_and_fat_are_taken_off_at_their_value_before_the_cuts_share_the_rest() {
        // Arithmetic: 10 kg at 0.50 is 5.00; the 295.00 left over 60 kg.
        let parts = [cut("36000", "9"), part("10000", "0.5", true), cut("24000", "3")];
        assert_eq!(costs("300", &parts, By::Weight), ["177.00", "5.00", "118.00"]);
    }

    #[test]
    fn by_products_never_carry_more_than_the_source_cost() {
        let parts = [cut("36000", "9"), part("10000", "0.5", true), part("20000", "0.5", true)];
        assert_eq!(costs("10", &parts, By::SalesValue), ["0.00", "3.33", "6.67"]);
        assert_eq!(costs("0", &parts, By::SalesValue), ["0.00", "0.00", "0.00"]);
    }

    #[test]
    fn the_odd_cent_goes_to_the_largest_remainder() {
        let third = cut("1000", "1");
        assert_eq!(costs("10", &[third, third, third], By::Weight), ["3.34", "3.33", "3.33"]);
    }

    #[test]
    fn a_cut_that_weighs_nothing_carries_nothing_and_has_no_price_by_the_kilo() {
        let carried = share(money("10"), &[cut("0", "9"), cut("500", "9")], By::Weight).expect("a cost");
        assert_eq!(carried[0], Carried { cost: Money::ZERO, per_kg: None });
        assert_eq!(carried[1].per_kg, Some(PricePerKg::new(dec("20"))));
    }

    #[test]
    fn a_cost_that_nothing_can_carry_is_refused() {
        assert_eq!(share(money("10"), &[], By::Weight), Err(BadCost::NoWeight));
        assert_eq!(share(money("10"), &[cut("0", "9")], By::Weight), Err(BadCost::NoWeight));
        assert_eq!(share(money("10"), &[cut("500", "0")], By::SalesValue), Err(BadCost::NoSalesValue));
        let bones = [part("10000", "0.5", true)];
        assert_eq!(share(money("10"), &bones, By::Weight), Err(BadCost::NoWeight));
    }

    #[test]
    fn costs_weights_and_prices_below_nothing_are_refused() {
        let negative = |what| Err(BadCost::Figure(BadFigure::Negative { what }));
        assert_eq!(share(money("-1"), &[cut("1", "1")], By::Weight), negative("cost"));
        assert_eq!(share(money("1"), &[cut("-1", "1")], By::Weight), negative("cut"));
        assert_eq!(share(money("1"), &[cut("1", "-1")], By::Weight), negative("price"));
    }

    prop_compose! {
        fn any_part()(
            weight in 1_i64..5_000_000, price in 1_i64..500_000, by_product in prop::bool::weighted(0.3),
        ) -> Part {
            let price = PricePerKg::new(Decimal::new(price, 4));
            Part { weight: Grams::new(Decimal::new(weight, 2)), price, by_product }
        }
    }

    proptest! {
        #[test]
        fn the_cuts_and_by_products_carry_the_source_cost_to_the_cent(
            joint in 0_i64..10_000_000, first in any_part(), others in prop::collection::vec(any_part(), 0..14),
            by in prop::sample::select(vec![By::Weight, By::SalesValue]),
        ) {
            let mut parts = vec![Part { by_product: false, ..first }];
            parts.extend(others);
            let carried = share(Money::cents(joint), &parts, by).unwrap();
            prop_assert_eq!(carried.iter().map(|part| part.cost).sum::<Money>(), Money::cents(joint));
            prop_assert!(carried.iter().all(|part| part.cost >= Money::ZERO));
            for (part, carried) in parts.iter().zip(&carried) {
                let value = part.price.cost(part.weight);
                prop_assert!(!part.by_product || carried.cost <= value);
            }
        }
    }
}
