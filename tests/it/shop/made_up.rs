//! A kind of entry that only tests write, for stories that need a movement and not the area that signs it.

use std::sync::Arc;

use flitchbook::app;
use flitchbook::book::{Account, Effects, Entry, Form, Kind, Kinds, Line, NewLot, Project, Say, Side};
use flitchbook::ids::{ItemId, LotId, Named, PlaceId};
use flitchbook::measure::{Grams, LotCode};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use super::{Cast, Shop};

/// A lot, or an account and whose it is, and the weight that arrives there.
type Move = (Option<LotId>, Option<Account>, Option<Uuid>, Grams);

/// Weight shifted between lots and accounts, lots held and lifted. `test.shifted`
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Shifted {
    pub opens: Vec<Opened>,
    pub moves: Vec<Move>,
    pub holds: Vec<LotId>,
    pub lifts: Vec<LotId>,
    /// Lots of which it states the balance, as a weigh-in does.
    #[serde(default)]
    pub settles: Vec<LotId>,
}

#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Opened {
    pub id: LotId,
    pub code: LotCode,
    pub form: Form,
    pub item: Named<ItemId>,
    pub place: Option<PlaceId>,
}

impl Shifted {
    #[must_use]
    pub fn lot(mut self, lot: LotId, grams: i64) -> Self {
        self.moves.push((Some(lot), None, None, Grams::whole(grams)));
        self
    }

    #[must_use]
    pub fn account(mut self, account: Account, party: Option<Uuid>, grams: i64) -> Self {
        self.moves.push((None, Some(account), party, Grams::whole(grams)));
        self
    }
}

impl Entry for Shifted {
    const KIND: &'static str = "test.shifted";
    const CAN_BE_STRUCK: bool = true;

    fn effects(&self) -> Effects {
        let effects = self.opens.iter().cloned().fold(Effects::none(), |effects, lot| {
            let Opened { id, code, form, item, place } = lot;
            effects.open(NewLot { id, code, form, item, place })
        });
        let effects = self.moves.iter().fold(effects, |effects, (lot, account, party, grams)| {
            let side = match (lot, account) {
                (Some(lot), _) => Side::Lot(*lot),
                (None, Some(account)) => Side::Account(*account, *party),
                (None, None) => return effects,
            };
            effects.shift(side, *grams)
        });
        let effects = self.holds.iter().fold(effects, |effects, lot| effects.hold(*lot, "a test holds it"));
        let effects = self.lifts.iter().fold(effects, |effects, lot| effects.lift(*lot));
        self.settles.iter().fold(effects, |effects, lot| effects.settles(*lot))
    }

    fn line(&self, _say: &Say) -> Line {
        Line::new("shifted")
    }
}

impl Project for Shifted {}

/// All kinds of the program, and the one above.
fn kinds() -> Kinds {
    let all = app::kinds();
    let own = Kind::of::<Shifted>();
    Kinds::new(all.names().filter_map(|name| all.get(name).copied()).chain([own]))
}

impl Shop {
    /// An open shop that can also read what is made up.
    pub async fn open_with_made_up_kinds() -> Self {
        let mut shop = Self::open().await;
        shop.app.book.kinds = Arc::new(kinds());
        shop.router = app::router(shop.app.clone());
        shop
    }

    /// A new lot of a form, with the next code of the day or, under a root, the next piece of it.
    pub async fn new_lot(&self, form: Form, name: &str, under: Option<LotCode>, filled: Shifted) -> Opened {
        let mut pen = self.pen(Cast::Owner).await;
        let code = match under {
            Some(root) => root.piece(pen.next_piece(&root).await.unwrap()).unwrap(),
            None => pen.next_code(self.app.book.clock.now().date()).await.unwrap(),
        };
        let id = LotId::made_by(pen.next().id);
        let item = Named::new(ItemId(Uuid::from_u128(299)), name);
        let opened = Opened { id, code, form, item, place: None };
        let out: Grams = filled.moves.iter().map(|(_, _, _, grams)| *grams).sum();
        let mut shifted = Shifted { opens: vec![opened.clone()], ..filled };
        shifted.moves.push((Some(id), None, None, -out));
        pen.append(shifted).await.unwrap();
        pen.commit().await.unwrap();
        opened
    }
}
