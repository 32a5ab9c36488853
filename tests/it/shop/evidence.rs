//! The evidence that a batch needs before it is sold, recorded through the forms as a shop does it.

use flitchbook::ids::{BatchId, FamilyId, ItemId, LotId};
use flitchbook::release::entry::family::shipped;
use flitchbook::release::entry::{Asks, FamilyWritten};

use super::{Cast, Made, Page, Shop, goes_to};

/// The family of what is cured whole and kept cold.
pub const REFRIGERATED: &str = "whole muscle, refrigerated";
/// The family of what is ground, fermented and kept cold.
pub const SEMI_DRY: &str = "fermented, semi-dry";

impl Shop {
    /// The id of a family that is shipped.
    pub fn family(key: &str) -> FamilyId {
        shipped().unwrap().into_iter().find(|family| family.key == key).unwrap().id()
    }

    /// The owner puts a product into a family that is shipped, without what other rooms are asked for: their evidence is
    /// recorded where it is tested (`release/given.rs`).
    pub async fn place(&self, product: ItemId, key: &str) {
        let given = [Asks::Cure, Asks::Cold, Asks::Fermentation, Asks::Parasites];
        let from = shipped().unwrap().into_iter().find(|family| family.key == key).unwrap();
        let mut family = FamilyWritten { family: from.id(), name: from.name.clone(), ..from.taken_up() };
        family.criteria.retain(|criterion| !given.contains(&criterion.rule.asks()));
        let known = "SELECT EXISTS (SELECT 1 FROM family WHERE id = $1)";
        let known = sqlx::query_scalar(known).bind(family.family.0).fetch_one(&self.app.book.pool);
        let known: bool = known.await.unwrap();
        if !known {
            self.sign(family).await;
        }
        self.place_as_shipped(product, key).await;
    }

    /// The owner puts a product into a family as it is shipped, or as the shop has written it since.
    pub async fn place_as_shipped(&self, product: ItemId, key: &str) {
        let (product, family) = (product.to_string(), Self::family(key).to_string());
        let fields = [("product", product.as_str()), ("family", family.as_str())];
        goes_to(&self.post(Cast::Owner, "/release/products", &fields).await);
    }

    /// The curer takes a reading of a lot or of a batch.
    pub async fn reading(&self, on: (&str, String), quantity: &str, value: &str) -> Page {
        let fields = [(on.0, on.1.as_str()), ("quantity", quantity), ("value", value)];
        self.post(Cast::Curer, "/checks/record", &fields).await
    }

    /// The water activity of each of these pieces.
    pub async fn water_activity(&self, pieces: &[LotId], value: &str) {
        for piece in pieces {
            goes_to(&self.reading(("lot", piece.to_string()), "water activity", value).await);
        }
    }

    /// The reviewer, who has made none of the records, looks them over and signs.
    pub async fn review(&self, batch: BatchId) {
        let path = format!("/release/{batch}/review");
        let upto = self.get(Cast::Reviewer, &path).await.attribute("input[name=upto]", "value").unwrap();
        goes_to(&self.post(Cast::Reviewer, &path, &[("upto", &upto)]).await);
    }

    /// All that the family of whole muscles kept cold asks of a batch.
    pub async fn evidence(&self, batch: BatchId, product: ItemId, pieces: &[LotId]) {
        self.place(product, REFRIGERATED).await;
        self.water_activity(pieces, "0.905").await;
        self.review(batch).await;
    }

    /// The same for a batch that was made here; a salami is asked for its pH instead.
    pub async fn evidence_of(&self, made: &Made) {
        let pieces: Vec<LotId> = made.pieces.iter().map(|piece| piece.lot).collect();
        if made.product.name.contains("salami") {
            self.place(made.product.id, SEMI_DRY).await;
            goes_to(&self.reading(("batch", made.batch.to_string()), "ph", "4.9").await);
            self.review(made.batch).await;
        } else {
            self.evidence(made.batch, made.product.id, &pieces).await;
        }
    }

    /// Records the evidence of a batch, and lets all its pieces go to sale.
    pub async fn release(&self, made: &Made) {
        self.evidence_of(made).await;
        goes_to(&self.try_release(made).await);
    }

    /// The reviewer asks for all pieces of a batch to go.
    pub async fn try_release(&self, made: &Made) -> Page {
        let pieces: Vec<String> = made.pieces.iter().map(|piece| piece.lot.to_string()).collect();
        let fields: Vec<(&str, &str)> = pieces.iter().map(|piece| ("pieces", piece.as_str())).collect();
        self.post(Cast::Reviewer, &format!("/release/{}", made.batch), &fields).await
    }
}
