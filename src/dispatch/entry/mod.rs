//! What the book says of customers, packs, dispatches and discards, and the rules of what may leave.

pub mod customer;
pub mod discard;
pub mod docket;
pub mod lines;
pub mod pack;

use crate::book::{Form, Lot};
use crate::error::Refusal;

/// A lot on its way out, and what is known of it beyond its weight.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Leaving {
    pub lot: Lot,
    /// What papers and labels call it.
    pub description: String,
    /// Whether its making stands in the way: see [`Leaving::for_sale`].
    pub for_sale: bool,
    /// The code of the lot on hold that it was packed from, where there is one.
    pub held_behind: Option<String>,
}

impl Leaving {
    /// A piece is for sale once somebody has released it, a pack when what it was packed from is. A mix is made into
    /// pieces first. An ingredient is not sold from this book: no reading or check of the shop says what it is worth.
    pub fn for_sale(&self, field: &'static str) -> Result<(), Refusal> {
        let code = self.lot.code;
        if matches!(self.lot.form, Form::Ingredient | Form::Casing) {
            let message = format!("{code} is stock of {}. It goes into batches.", self.lot.item_name);
            return Err(Refusal::at(field, message));
        }
        if let Some(source) = &self.held_behind {
            let message =
                format!("{code} was packed from {source}, which is on hold. It stays until that is lifted.");
            return Err(Refusal::at(field, message));
        }
        if self.for_sale {
            return Ok(());
        }
        let message = match self.lot.form {
            Form::Mix => format!("{code} is a mix. Make pieces of it and have them released first."),
            Form::Pack => format!("{code} was packed from a piece that is not released. It is not for sale."),
            _ => format!("{code} is not released. It is not for sale."),
        };
        Err(Refusal::at(field, message))
    }

    /// A lot that has gone altogether can leave no more.
    pub fn something_left(&self, field: &'static str) -> Result<(), Refusal> {
        if self.lot.grams.is_zero() {
            return Err(Refusal::at(field, format!("Nothing is left of {}.", self.lot.code)));
        }
        Ok(())
    }
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::book::Seq;
    use crate::ids::{ItemId, LotId};
    use crate::measure::Grams;
    use uuid::Uuid;

    /// A lot of this form that holds so many grams, and is for sale.
    pub(crate) fn leaving(n: u128, form: Form, grams: i64) -> Leaving {
        let lot = Lot {
            id: LotId(Uuid::from_u128(n)),
            code: format!("26335-01.{n:02}").parse().expect("a code"),
            form,
            item: ItemId(Uuid::from_u128(900)),
            item_name: "cured loin".into(),
            place: None,
            grams: Grams::whole(grams),
            seq: Seq(1),
            held: None,
            struck: false,
        };
        Leaving { lot, description: "Cured loin".into(), for_sale: true, held_behind: None }
    }

    #[test]
    fn a_piece_that_nobody_released_is_not_for_sale() {
        let piece = Leaving { for_sale: false, ..leaving(3, Form::Piece, 1_420) };
        assert!(piece.for_sale("lot").expect_err("refused").message.contains("not released"));
        assert!(leaving(3, Form::Piece, 1_420).for_sale("lot").is_ok());
    }

    #[test]
    fn a_pack_whose_piece_is_on_hold_is_on_hold_as_well() {
        let pack = Leaving { held_behind: Some("26335-01.03".into()), ..leaving(4, Form::Pack, 200) };
        let refused = pack.for_sale("lot").expect_err("refused");
        assert!(refused.message.contains("26335-01.03, which is on hold"), "{}", refused.message);
    }

    #[test]
    fn neither_a_mix_nor_a_sack_of_salt_is_sold() {
        for form in [Form::Mix, Form::Ingredient, Form::Casing] {
            let lot = Leaving { for_sale: false, ..leaving(1, form, 500) };
            assert!(lot.for_sale("lot").is_err(), "{}", form.word());
        }
    }
}
