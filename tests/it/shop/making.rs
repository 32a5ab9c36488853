//! Recipes and batches for stories that begin with a piece on the hook.

use flitchbook::batches::entry::{
    BatchBegun, BatchStaged, CureApplied, IngredientWeighed, MeatTaken, MixStuffed, MuscleTaken, PieceShare,
    StuffedPiece, Verdict, share_out,
};
use flitchbook::batches::{db, entry};
use flitchbook::book::{Form, Lot};
use flitchbook::ids::{BatchId, DeliveryId, ItemId, LotId, Named, PlaceId};
use flitchbook::measure::{Grams, LotCode, Percent};
use flitchbook::receiving::entry::{DeliveryReceived, Goods, LotReceived};
use flitchbook::recipes::entry::{RecipeLine, RecipeStep, RecipeWritten};
use flitchbook::recipes::{Per, Role, Stage};
use flitchbook::setup::entry::{PlaceKind, PlaceWritten};
use rust_decimal::{Decimal, dec};
use uuid::Uuid;

use super::{Cast, Shop, Things};

/// A batch with its pieces.
#[derive(Debug, Clone)]
pub struct Made {
    pub batch: BatchId,
    pub code: LotCode,
    pub product: Named<ItemId>,
    pub pieces: Vec<MadePiece>,
}

#[derive(Debug, Clone)]
pub struct MadePiece {
    pub lot: LotId,
    pub code: LotCode,
    pub green: Grams,
}

/// What curing needs besides meat.
#[derive(Debug, Clone)]
pub struct Larder {
    pub fridge: Named<PlaceId>,
    pub chamber: Named<PlaceId>,
    pub salt: Named<ItemId>,
    /// 6.25 % nitrite.
    pub cure: Named<ItemId>,
    pub pepper: Named<ItemId>,
    pub casing: Named<ItemId>,
    pub trim: Named<ItemId>,
    pub cured_loin: Named<ItemId>,
    pub salami: Named<ItemId>,
    pub salt_lot: LotId,
    pub cure_lot: LotId,
    pub pepper_lot: LotId,
    pub casing_lot: LotId,
}

fn named<Id>(make: impl Fn(Uuid) -> Id, n: u128, name: &str) -> Named<Id> {
    Named::new(make(Uuid::from_u128(n)), name)
}

pub fn line(role: Role, item: &Named<ItemId>, percent: Decimal) -> RecipeLine {
    RecipeLine {
        role,
        item: item.clone(),
        percent: Percent::new(percent),
        per: Per::Meat,
        tolerance: Percent::new(Decimal::new(role.usual_tolerance(), 2)),
        salt: None,
        sugar: None,
        accelerator: None,
    }
}

pub fn step(stage: Stage, hours: u32) -> RecipeStep {
    RecipeStep { stage, hours, note: String::new() }
}

impl Shop {
    /// A lot that came in on a docket of its own.
    pub async fn lot(
        &self,
        things: &Things,
        item: &Named<ItemId>,
        form: Form,
        weight: Grams,
        goods: Option<Goods>,
    ) -> LotReceived {
        let mut pen = self.pen(Cast::Owner).await;
        let delivery = DeliveryId::made_by(pen.next().id);
        let docket = format!("D-{}", pen.next().seq);
        pen.append(DeliveryReceived { delivery, supplier: things.farm.clone(), docket, vehicle: None })
            .await
            .unwrap();
        let lot = LotReceived {
            delivery,
            supplier: things.farm.clone(),
            lot: LotId::made_by(pen.next().id),
            code: pen.next_code(self.app.book.clock.now().date()).await.unwrap(),
            item: item.clone(),
            form,
            weight,
            place: things.cooler.clone(),
            temperature: None,
            price: None,
            animal: None,
            goods,
            held: None,
            checked: None,
        };
        pen.append(lot.clone()).await.unwrap();
        pen.commit().await.unwrap();
        lot
    }

    /// Places, salt, a cure of 6.25 % nitrite, pepper and casings, once a shop.
    pub async fn larder(&self, things: &Things) -> Larder {
        let fridge = named(PlaceId, 301, "curing fridge");
        let chamber = named(PlaceId, 302, "chamber 1");
        let salt = named(ItemId, 303, "sea salt");
        let cure = named(ItemId, 304, "curing salt");
        let pepper = named(ItemId, 305, "black pepper");
        let casing = named(ItemId, 306, "beef middles");
        let trim = named(ItemId, 307, "lean trim");
        let cured_loin = named(ItemId, 308, "cured loin");
        let salami = named(ItemId, 309, "pepper salami");
        for (place, kind) in [(&fridge, PlaceKind::CuringFridge), (&chamber, PlaceKind::Chamber)] {
            let (place, name) = (place.id, place.name.clone());
            let note = String::new();
            self.sign(PlaceWritten {
                place,
                name,
                kind,
                within: None,
                read_every: None,
                note,
                retired: false,
            })
            .await;
        }
        for (item, form) in [
            (&salt, Form::Ingredient),
            (&cure, Form::Ingredient),
            (&pepper, Form::Ingredient),
            (&casing, Form::Casing),
            (&trim, Form::Trim),
            (&cured_loin, Form::Piece),
            (&salami, Form::Piece),
        ] {
            self.item(item, form).await;
        }
        let strong = Goods { nitrite: Some(Percent::new(dec!(6.25))), ..Goods::default() };
        let salt_lot = self.lot(things, &salt, Form::Ingredient, Grams::whole(25_000), None).await.lot;
        let cure_lot = self.lot(things, &cure, Form::Ingredient, Grams::whole(1_000), Some(strong)).await.lot;
        let pepper_lot = self.lot(things, &pepper, Form::Ingredient, Grams::whole(1_000), None).await.lot;
        let casing_lot = self.lot(things, &casing, Form::Casing, Grams::whole(2_000), None).await.lot;
        Larder {
            fridge,
            chamber,
            salt,
            cure,
            pepper,
            casing,
            trim,
            cured_loin,
            salami,
            salt_lot,
            cure_lot,
            pepper_lot,
            casing_lot,
        }
    }

    /// Two loins of 2,000 g and 1,600 g in an equilibrium cure: 2.75 % salt, 0.25 % cure. In the stage drying, from
    /// where they can hang, be weighed and released.
    pub async fn dry_cure(&self, things: &Things) -> Made {
        let larder = self.larder(things).await;
        self.dry_cure_of(things, &larder).await
    }

    /// The same with a larder that is there already.
    pub async fn dry_cure_of(&self, things: &Things, larder: &Larder) -> Made {
        let made = self.in_cure(things, larder).await;
        self.stage(&made, Stage::Drying, &larder.chamber).await;
        made
    }

    /// The same, still in the stage curing.
    pub async fn in_cure(&self, things: &Things, larder: &Larder) -> Made {
        let recipe = self.loin_recipe(larder).await;
        let begun = self.begin(&recipe, 3_600, &larder.fridge).await;
        let loin = self.lot(things, &things.loin, Form::Cut, Grams::whole(3_600), None).await;
        let mut pieces = Vec::new();
        for grams in [2_000, 1_600] {
            pieces.push(self.take_muscle(&begun, &loin, Grams::whole(grams), &larder.fridge).await);
        }
        self.weigh_in_to(&begun, 1, Role::Salt, &larder.salt, larder.salt_lot, dec!(99)).await;
        self.weigh_in_to(&begun, 2, Role::Cure, &larder.cure, larder.cure_lot, dec!(9)).await;
        let by: Vec<Grams> = pieces.iter().map(|piece| piece.green).collect();
        let shares = share_out(Grams::whole(108), &by);
        let shares = pieces
            .iter()
            .zip(shares)
            .map(|(piece, weight)| PieceShare { lot: Named::new(piece.lot, piece.code.to_string()), weight });
        self.sign(CureApplied {
            batch: begun.batch,
            mix: begun.mix,
            pieces: shares.collect(),
            left_over: Grams::ZERO,
            reason: String::new(),
        })
        .await;
        let made = Made { batch: begun.batch, code: begun.code, product: begun.product, pieces };
        self.stage(&made, Stage::Curing, &larder.fridge).await;
        made
    }

    /// Four salami of 510 g each: 2,000 g of trim, 50 g salt, 5 g cure, 6 g pepper, 21 g lost in stuffing. In the stage
    /// drying.
    pub async fn salami(&self, things: &Things) -> Made {
        let larder = self.larder(things).await;
        self.salami_of(things, &larder).await
    }

    /// The same with a larder that is there already.
    pub async fn salami_of(&self, things: &Things, larder: &Larder) -> Made {
        let recipe = self.salami_recipe(larder).await;
        let begun = self.begin(&recipe, 2_000, &things.cooler).await;
        let trim = self.lot(things, &larder.trim, Form::Trim, Grams::whole(2_000), None).await;
        self.stuffed_of(larder, begun, &trim, 4).await
    }

    /// The same mix in so many pieces, which share 2,040 g.
    #[allow(dead_code, reason = "the figures of benches use it")]
    pub async fn many_salami(&self, things: &Things, larder: &Larder, pieces: u16) -> Made {
        let recipe = self.salami_recipe(larder).await;
        let begun = self.begin(&recipe, 2_000, &things.cooler).await;
        let trim = self.lot(things, &larder.trim, Form::Trim, Grams::whole(2_000), None).await;
        self.stuffed_of(larder, begun, &trim, pieces).await
    }

    /// The same of 2,000 g of trim that is there already.
    pub async fn salami_from(&self, things: &Things, larder: &Larder, trim: &LotReceived) -> Made {
        let recipe = self.salami_recipe(larder).await;
        let begun = self.begin(&recipe, 2_000, &things.cooler).await;
        self.stuffed_of(larder, begun, trim, 4).await
    }

    async fn stuffed_of(&self, larder: &Larder, begun: BatchBegun, trim: &LotReceived, count: u16) -> Made {
        self.sign(MeatTaken {
            batch: begun.batch,
            mix: begun.mix,
            lot: Named::new(trim.lot, trim.code.to_string()),
            item: trim.item.clone(),
            weight: Grams::whole(2_000),
            exact: None,
            line: Some(1),
        })
        .await;
        self.weigh_in_to(&begun, 2, Role::Salt, &larder.salt, larder.salt_lot, dec!(50)).await;
        self.weigh_in_to(&begun, 3, Role::Cure, &larder.cure, larder.cure_lot, dec!(5)).await;
        self.weigh_in_to(&begun, 4, Role::Spice, &larder.pepper, larder.pepper_lot, dec!(6)).await;
        let mut pen = self.pen(Cast::Curer).await;
        let id = pen.next().id;
        let pieces: Vec<MadePiece> = (1..=count)
            .map(|n| MadePiece {
                lot: LotId::nth(id, usize::from(n)),
                code: begun.code.piece(n).unwrap(),
                green: Grams::whole(2_040 / i64::from(count)),
            })
            .collect();
        pen.append(MixStuffed {
            batch: begun.batch,
            mix: begun.mix,
            product: begun.product.clone(),
            pieces: pieces
                .iter()
                .map(|piece| StuffedPiece { lot: piece.lot, code: piece.code, weight: piece.green })
                .collect(),
            casing: Some(entry::Casing {
                lot: Named::new(larder.casing_lot, larder.casing.name.clone()),
                weight: Grams::ZERO,
            }),
            diameter_mm: Some(55),
            loss: Grams::whole(21),
            found: Grams::ZERO,
            reason: String::new(),
            place: larder.chamber.clone(),
            target_loss: Some(Percent::new(dec!(35))),
            weigh_every: Some(7),
        })
        .await
        .unwrap();
        pen.commit().await.unwrap();
        let made = Made { batch: begun.batch, code: begun.code, product: begun.product, pieces };
        self.stage(&made, Stage::Fermenting, &larder.chamber).await;
        self.stage(&made, Stage::Drying, &larder.chamber).await;
        made
    }

    /// Begins a batch of a recipe's first version.
    pub async fn begin(&self, recipe: &RecipeWritten, meat: i64, place: &Named<PlaceId>) -> BatchBegun {
        let mut pen = self.pen(Cast::Curer).await;
        let id = pen.next().id;
        let begun = BatchBegun {
            batch: BatchId::made_by(id),
            code: pen.next_code(self.app.book.clock.now().date()).await.unwrap(),
            mix: LotId::nth(id, 0),
            recipe: Named::new(recipe.recipe, recipe.name.clone()),
            version: 1,
            kind: recipe.kind,
            product: recipe.product.clone(),
            meat_target: Grams::whole(meat),
            place: place.clone(),
        };
        pen.append(begun.clone()).await.unwrap();
        pen.commit().await.unwrap();
        begun
    }

    async fn take_muscle(
        &self,
        begun: &BatchBegun,
        from: &LotReceived,
        weight: Grams,
        place: &Named<PlaceId>,
    ) -> MadePiece {
        let mut pen = self.pen(Cast::Curer).await;
        let code = begun.code.piece(pen.next_piece(&begun.code).await.unwrap()).unwrap();
        let lot = LotId::made_by(pen.next().id);
        pen.append(MuscleTaken {
            batch: begun.batch,
            lot: Named::new(from.lot, from.code.to_string()),
            item: from.item.clone(),
            piece: lot,
            code,
            product: begun.product.clone(),
            weight,
            exact: None,
            place: place.clone(),
            line: None,
            target_loss: Some(Percent::new(dec!(35))),
            weigh_every: Some(7),
        })
        .await
        .unwrap();
        pen.commit().await.unwrap();
        MadePiece { lot, code, green: weight }
    }

    async fn weigh_in_to(
        &self,
        begun: &BatchBegun,
        line: u16,
        role: Role,
        item: &Named<ItemId>,
        lot: LotId,
        grams: Decimal,
    ) {
        let from = self.lot_now(lot).await;
        let nitrite = (role == Role::Cure).then(|| Percent::new(dec!(6.25)));
        self.sign(IngredientWeighed {
            batch: begun.batch,
            mix: begun.mix,
            line,
            role,
            item: item.clone(),
            lot: Some(from.named()),
            weight: Grams::new(grams),
            exact: None,
            target: Grams::new(grams),
            tolerance: Percent::new(Decimal::new(role.usual_tolerance(), 2)),
            more_follows: false,
            verdict: Verdict::Within,
            reason: String::new(),
            nitrite,
            nitrate: None,
            nitrite_salt: None,
            nitrate_salt: None,
            deviation: None,
        })
        .await;
    }

    /// Puts a batch and its pieces into a stage.
    pub async fn stage(&self, made: &Made, stage: Stage, place: &Named<PlaceId>) {
        let lots = made.pieces.iter().map(|piece| piece.lot).collect();
        let (batch, code, place) = (made.batch, made.code, place.clone());
        self.sign(BatchStaged { batch, code, stage, place, lots, reason: String::new() }).await;
    }

    /// A lot as it stands now.
    pub async fn lot_now(&self, id: LotId) -> Lot {
        flitchbook::book::db::lot(&mut self.app.db().await.unwrap(), id).await.unwrap().unwrap()
    }

    /// A batch as it stands now.
    pub async fn batch_now(&self, id: BatchId) -> entry::Standing {
        db::standing(&mut self.app.db().await.unwrap(), id).await.unwrap().unwrap()
    }
}
