//! The words on a label that law or standard writes.

use rust_decimal::{Decimal, RoundingStrategy};

use crate::measure::{Grams, UnitSystem, WeightUnit};

/// What is declared as the net weight, never more than there is.
///
/// Metric: grams below a kilogram, then kilograms to the gram. United States, 9 CFR 317.2(h): ounces below a pound; from 1
/// to under 4 pounds ounces and, in brackets, pounds and ounces; from 4 pounds on, pounds and ounces.
pub fn net_weight(grams: Grams, system: UnitSystem) -> String {
    match system {
        UnitSystem::Metric => metric(grams),
        UnitSystem::Us => pounds_and_ounces(grams),
    }
}

/// The words before it.
pub fn net(system: UnitSystem) -> &'static str {
    match system {
        UnitSystem::Metric => "Net weight",
        UnitSystem::Us => "Net Wt.",
    }
}

fn metric(grams: Grams) -> String {
    if grams < Grams::whole(1_000) {
        format!("{}\u{a0}g", down(grams.decimal(), 0))
    } else {
        format!("{}\u{a0}kg", down(grams.in_unit(WeightUnit::Kilogram), 3))
    }
}

fn pounds_and_ounces(grams: Grams) -> String {
    let ounces = down(grams.in_unit(WeightUnit::Ounce), 1);
    let sixteen = Decimal::from(16);
    let (pounds, rest) = ((ounces / sixteen).trunc(), (ounces % sixteen).normalize());
    let both = if rest.is_zero() {
        format!("{}\u{a0}lb.", pounds.normalize())
    } else {
        format!("{}\u{a0}lb. {rest}\u{a0}oz.", pounds.normalize())
    };
    if pounds.is_zero() {
        format!("{}\u{a0}oz.", ounces.normalize())
    } else if pounds < Decimal::from(4) {
        format!("{}\u{a0}oz. ({both})", ounces.normalize())
    } else {
        both
    }
}

/// Cut off, not rounded: a label that says more than there is in the pack is false.
fn down(value: Decimal, places: u32) -> Decimal {
    let mut value = value.round_dp_with_strategy(places, RoundingStrategy::ToZero);
    value.rescale(places);
    value
}

/// 9 CFR 317.2(l)(2) and (3): the heading, the reason and the four instructions, for meat that is not ready to eat.
pub const HANDLING: [&str; 6] = [
    "Safe Handling Instructions",
    "This product was prepared from inspected and passed meat and/or poultry. Some food products may contain bacteria \
     that could cause illness if the product is mishandled or cooked improperly. For your protection, follow these safe \
     handling instructions.",
    "Keep refrigerated or frozen. Thaw in refrigerator or microwave.",
    "Keep raw meat and poultry separate from other foods. Wash working surfaces (including cutting boards), utensils, and \
     hands after touching raw meat or poultry.",
    "Cook thoroughly.",
    "Keep hot foods hot. Refrigerate leftovers immediately or discard.",
];

#[cfg(test)]
mod tests {
    use rust_decimal::dec;

    use super::*;

    fn us(ounces: Decimal) -> String {
        // A hundredth of a gram more, so that what is kept to 0.01 g does not fall below the ounce.
        let grams = Grams::of(ounces, WeightUnit::Ounce) + Grams::new(dec!(0.01));
        net_weight(grams, UnitSystem::Us).replace('\u{a0}', " ")
    }

    #[test]
    fn a_pound_and_a_half_is_said_both_ways() {
        // 9 CFR 317.2(h): "24 oz. (1 lb. 8 oz.)".
        assert_eq!(us(dec!(24)), "24 oz. (1 lb. 8 oz.)");
        assert_eq!(us(dec!(16)), "16 oz. (1 lb.)");
        assert_eq!(us(dec!(63.9)), "63.9 oz. (3 lb. 15.9 oz.)");
    }

    #[test]
    fn below_a_pound_ounces_are_enough_and_from_four_pounds_pounds_come_first() {
        assert_eq!(us(dec!(15.9)), "15.9 oz.");
        assert_eq!(us(dec!(64)), "4 lb.");
        assert_eq!(us(dec!(88)), "5 lb. 8 oz.");
    }

    #[test]
    fn a_label_never_says_more_than_the_scale_did() {
        let said = |grams: Decimal| net_weight(Grams::new(grams), UnitSystem::Metric).replace('\u{a0}', " ");
        assert_eq!(said(dec!(249.99)), "249 g");
        assert_eq!(said(dec!(999.99)), "999 g");
        assert_eq!(said(dec!(1420.7)), "1.420 kg");
        assert_eq!(net_weight(Grams::of(dec!(15.99), WeightUnit::Ounce), UnitSystem::Us), "15.9\u{a0}oz.");
    }
}
