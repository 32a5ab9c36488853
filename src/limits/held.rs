//! Which limits in force hold for a product made some way, and how what goes into it stands to each.

use crate::ids::CuringLimitId;
use crate::standards::ingoing::{Fraction, GoesIn};
use crate::standards::limits::{Limit, Measured, Product, Stands};

/// A limit in force.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Held {
    pub limit: Limit,
    /// What there is to say of it where it is the shop's own.
    pub own: Option<Own>,
}

/// What the shop said of a limit of its own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Own {
    pub id: CuringLimitId,
    pub reason: String,
    pub document: String,
    /// The adopted rows that it is looser than, and stands instead of.
    pub instead_of: Vec<String>,
}

impl Held {
    /// Whether it is looser than what the shop adopted: marked wherever it is used.
    pub fn is_looser(&self) -> bool {
        self.own.as_ref().is_some_and(|own| !own.instead_of.is_empty())
    }
}

/// A figure beside the limit that it is held against.
#[derive(Debug, Clone, Copy)]
pub struct Judged<'a> {
    pub held: &'a Held,
    pub figure: Fraction,
    pub stands: Stands,
}

/// What goes in, held against every limit that speaks of it. Of limits that only say the most of something, those are left
/// out of which there is nothing, unless it is forbidden altogether.
pub fn judge<'a>(all: &'a [Held], product: Product, goes_in: &GoesIn) -> Vec<Judged<'a>> {
    let speak = |held: &&Held| {
        held.limit.measured == Measured::Ingoing && held.limit.holds_for(goes_in.way(), product)
    };
    let replaced: Vec<&String> = all
        .iter()
        .filter(speak)
        .filter_map(|held| held.own.as_ref())
        .flat_map(|own| &own.instead_of)
        .collect();
    let judged =
        all.iter().filter(speak).filter(|held| held.own.is_some() || !replaced.contains(&&held.limit.key));
    judged
        .map(|held| {
            let figure = held.limit.figure(goes_in);
            Judged { held, figure, stands: held.limit.judge(figure) }
        })
        .filter(|one| {
            let forbidden = one.held.limit.most.is_some_and(|most| most.decimal().is_zero());
            !one.figure.is_nothing() || one.held.limit.least.is_some() || forbidden
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use rust_decimal::{Decimal, dec};

    use super::*;
    use crate::measure::Percent;
    use crate::standards::ingoing::{Brings, Curing, Put};
    use crate::standards::limits::{Jurisdiction, Way, shipped};

    fn adopted() -> Vec<Held> {
        let rows = shipped(Jurisdiction::UnitedStates).expect("a list that reads").limits;
        rows.into_iter().filter(|row| !row.waits()).map(|limit| Held { limit, own: None }).collect()
    }

    fn goes_in(nitrite: Decimal, nitrate: Decimal) -> GoesIn {
        let brings =
            Brings { nitrite: Percent::new(nitrite), nitrate: Percent::new(nitrate), ..Brings::NOTHING };
        let put = Put { weight: dec!(2.5), brings };
        GoesIn::new(Curing::plain(Way::DryCured), dec!(1000), &[put], None).expect("figures")
    }

    #[test]
    fn a_bacon_with_nitrate_in_it_is_over_a_limit_of_none() {
        let all = adopted();
        let judged = judge(&all, Product::Bacon, &goes_in(dec!(6.25), dec!(4)));
        let over: Vec<_> = judged.iter().filter(|one| one.stands == Stands::Over).collect();
        assert_eq!(over.len(), 1);
        assert_eq!(over[0].held.limit.key, "us-bacon-nitrate");
        let without = judge(&all, Product::Bacon, &goes_in(dec!(6.25), dec!(0)));
        assert!(without.iter().all(|one| one.stands == Stands::Within));
    }

    #[test]
    fn a_looser_limit_of_the_shops_own_stands_instead_of_the_one_that_it_is_looser_than() {
        let mut all = adopted();
        let mut limit =
            all.iter().find(|held| held.limit.key == "us-bacon-dry-nitrite").expect("a row").limit.clone();
        limit.key = "own".into();
        limit.most = Some(crate::measure::Ppm::new(dec!(220)));
        let own = Own {
            id: CuringLimitId(uuid::Uuid::from_u128(1)),
            reason: "variance".into(),
            document: "letter".into(),
            instead_of: vec!["us-bacon-dry-nitrite".into()],
        };
        all.push(Held { limit, own: Some(own) });
        let judged = judge(&all, Product::Bacon, &goes_in(dec!(6.25), dec!(0)));
        assert!(judged.iter().all(|one| one.held.limit.key != "us-bacon-dry-nitrite"));
        assert!(judged.iter().any(|one| one.held.is_looser()));
    }
}
