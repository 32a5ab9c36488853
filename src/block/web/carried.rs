//! What each cut of a closed breakdown carries of its source's cost.

use rust_decimal::Decimal;

use super::super::db::Weighed;
use super::balance;
use super::result::Switch;
use crate::costs::{self, Cost, Method};
use crate::ids::{BreakdownId, ItemId};
use crate::measure::{Grams, Money, PricePerKg};
use crate::standards::joint_cost::By;
use crate::web::parts::{Fact, Tab};
use crate::web::{Me, Shop};

/// One sort of cut.
pub struct CostRow {
    pub name: String,
    pub weight: String,
    pub by_weight: String,
    pub by_weight_kg: String,
    pub by_value: String,
    pub by_value_kg: String,
}

/// What the cuts carry, or why it is not known.
#[derive(Default)]
pub struct Costs {
    pub rows: Vec<CostRow>,
    pub sum_weight: String,
    pub sum: String,
    /// Empty where the sales values are known.
    pub no_value: String,
    pub unknown: Vec<Fact>,
    pub ways: Vec<Tab>,
    pub shop_way: String,
}

/// What the cuts carry by weight and by sales value, each to the cent.
pub fn reckon(
    me: &Me,
    id: BreakdownId,
    cuts: &[Weighed],
    cost: &Cost,
    method: Method,
    switch: &Switch,
) -> Costs {
    let first = match switch.by_products.as_str() {
        "first" => true,
        "with" => false,
        _ => method.by_products_first,
    };
    let way = |name: &str, value: &str, here: bool| Tab {
        href: format!("{}?by_products={value}", id.path()),
        name: name.into(),
        count: String::new(),
        here,
    };
    let ways = vec![
        way("All cuts share the cost", "with", !first),
        way("By-products taken off first", "first", first),
    ];
    let unknown = cost.unpriced.iter().map(|lot| {
        Fact::new(format!("{} {}", lot.code, lot.item_name), "no price was written").link(lot.lot.path())
    });
    let Some(joint) = cost.shared else {
        return Costs { unknown: unknown.collect(), shop_way: method.words(), ..Costs::default() };
    };
    let kept: Vec<&Weighed> = cuts.iter().filter(|cut| cut.lot.is_some()).collect();
    let parts: Vec<_> = kept.iter().map(|cut| (cut.grams, cut.sales_price, cut.by_product)).collect();
    let share = |by| costs::share_over_cuts(joint, &parts, Method { by, by_products_first: first });
    let (_, by_weight) = share(By::Weight);
    let (by, by_value) = share(By::SalesValue);
    let mut rows: Vec<(ItemId, &str, Grams, Money, Money)> = Vec::new();
    for (cut, (weight, value)) in kept.iter().zip(by_weight.iter().zip(&by_value)) {
        match rows.iter_mut().find(|(item, ..)| *item == cut.item) {
            Some((_, _, grams, a, b)) => {
                *grams += cut.grams;
                *a = *a + weight.cost;
                *b = *b + value.cost;
            }
            None => rows.push((cut.item, &cut.item_name, cut.grams, weight.cost, value.cost)),
        }
    }
    let has_value = by == By::SalesValue;
    let sum_weight = rows.iter().map(|(_, _, grams, _, _)| *grams).sum();
    Costs {
        rows: rows.iter().map(|row| cost_row(&me.shop, row, has_value)).collect(),
        sum_weight: balance::exact(&me.shop, sum_weight),
        sum: me.shop.money(joint),
        no_value: if has_value { String::new() } else { without_price(&kept) },
        unknown: Vec::new(),
        ways,
        shop_way: method.words(),
    }
}

fn cost_row(
    shop: &Shop,
    (_, name, grams, weight, value): &(ItemId, &str, Grams, Money, Money),
    has_value: bool,
) -> CostRow {
    let a_kilo = |cost: &Money| {
        let price = PricePerKg::of(*cost, *grams).unwrap_or(PricePerKg::ZERO);
        price.text(&shop.currency, shop.weight_unit())
    };
    let or_nothing = |text: String| if has_value { text } else { String::new() };
    CostRow {
        name: (*name).to_owned(),
        weight: balance::exact(shop, *grams),
        by_weight: shop.money(*weight),
        by_weight_kg: a_kilo(weight),
        by_value: or_nothing(shop.money(*value)),
        by_value_kg: or_nothing(a_kilo(value)),
    }
}

fn without_price(cuts: &[&Weighed]) -> String {
    let no_price = |cut: &&&Weighed| cut.sales_price.is_none_or(|price| price.decimal() == Decimal::ZERO);
    let mut names: Vec<&str> = cuts.iter().filter(no_price).map(|cut| cut.item_name.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    if names.is_empty() {
        "No cut that sells bears the cost.".into()
    } else {
        format!("No sales price in the list: {}.", names.join(", "))
    }
}
