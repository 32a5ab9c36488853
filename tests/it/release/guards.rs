//! What the database refuses, whatever the program says.

use flitchbook::batches::entry::{PiecesReleased, ReleasedPiece};
use flitchbook::dispatch::entry::docket::{DocketLine, LotsDispatched, Party};
use flitchbook::dispatch::entry::pack::{LotPacked, Pack};
use flitchbook::ids::{DispatchId, Named};
use flitchbook::measure::Grams;
use uuid::Uuid;

use super::*;

fn released(made: &Made) -> PiecesReleased {
    let piece = |piece: &crate::shop::MadePiece| ReleasedPiece {
        lot: Named::new(piece.lot, piece.code.to_string()),
        green: piece.green,
        weight: piece.green,
    };
    PiecesReleased {
        batch: made.batch,
        code: made.code,
        pieces: made.pieces.iter().map(piece).collect(),
        note: String::new(),
        shown: None,
    }
}

#[tokio::test]
async fn the_database_releases_nothing_whose_records_are_not_reviewed() {
    let (shop, _, made) = loins().await;
    shop.place(made.product.id, REFRIGERATED).await;
    let refused = shop.pen(Cast::Owner).await.append(released(&made)).await.unwrap_err().to_string();
    assert!(refused.contains("not reviewed"), "{refused}");
    shop.review(made.batch).await;
    // A line that changes the evidence takes the review away again.
    shop.water_activity(&lots(&made), "0.900").await;
    let refused = shop.pen(Cast::Owner).await.append(released(&made)).await.unwrap_err().to_string();
    assert!(refused.contains("not reviewed"), "{refused}");
    shop.review(made.batch).await;
    shop.sign(released(&made)).await;
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn the_database_packs_nothing_that_is_not_released() {
    let (shop, things, made) = loins().await;
    let packed = |id: u128| LotPacked {
        source: Named::new(made.pieces[0].lot, made.pieces[0].code.to_string()),
        item: made.product.clone(),
        packs: vec![Pack {
            lot: LotId(Uuid::from_u128(id)),
            code: made.code.piece(9).unwrap(),
            weight: Grams::whole(400),
        }],
        loss: None,
        place: things.cooler.clone(),
        use_by: None,
        date_word: None,
        keep: String::new(),
        origin: String::new(),
        handling: false,
    };
    let refused = shop.pen(Cast::Owner).await.append(packed(1)).await.unwrap_err().to_string();
    assert!(refused.contains("not released and cannot be packed"), "{refused}");
    shop.release(&made).await;
    shop.sign(packed(2)).await;
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn the_packs_of_a_piece_that_is_put_on_hold_stay_here() {
    let (shop, things, made) = loins().await;
    shop.release(&made).await;
    pack(&shop, &things, &made).await;
    let code = made.code.piece(3).unwrap();
    let mut conn = shop.app.db().await.unwrap();
    let pack = flitchbook::book::db::lot_by_code(&mut conn, &code).await.unwrap().unwrap();
    drop(conn);
    let piece = made.pieces[0].code.to_string();
    let hold = [("code", piece.as_str()), ("reason", "a soft spot near the bone")];
    goes_to(&shop.post(Cast::Owner, "/checks/holds", &hold).await);
    // The program says so on its pages …
    let page = shop.get(Cast::Curer, &format!("/dispatch/new?lots={code}")).await;
    assert!(page.error_at("code").contains("which is on hold"), "{}", page.text);
    let page = shop.get(Cast::Curer, &pack.id.path()).await;
    assert!(page.one("main").contains(&format!("packed from {piece}, which is on hold")));
    assert!(!shop.get(Cast::Curer, "/dispatch").await.text.contains(&code.to_string()));
    let label = shop.get(Cast::Curer, &format!("/labels?lots={code}")).await;
    assert!(label.text.contains("which is on hold. Nothing is printed for it."), "{}", label.one("main"));
    // … and the database refuses.
    let leaves = |id: u128| LotsDispatched {
        dispatch: DispatchId(Uuid::from_u128(id)),
        customer: None,
        reference: "D26328-01".into(),
        from: Party::default(),
        consignor: String::new(),
        to: None,
        consignee: String::new(),
        lines: vec![DocketLine {
            lot: Named::new(pack.id, code.to_string()),
            description: "cured loin".into(),
            weight: Grams::whole(400),
            price: None,
        }],
    };
    let refused = shop.pen(Cast::Owner).await.append(leaves(1)).await.unwrap_err().to_string();
    assert!(refused.contains("packed from is on hold"), "{refused}");
    let holds = shop.get(Cast::Reviewer, "/checks/holds").await;
    let hold = scraper::Html::parse_document(&holds.text)
        .select(&scraper::Selector::parse("a[href^='/checks/holds/']").unwrap())
        .find_map(|link| link.value().attr("href").map(ToOwned::to_owned))
        .unwrap();
    goes_to(&shop.post(Cast::Reviewer, &hold, &[("words", "cut away, the rest is sound")]).await);
    shop.sign(leaves(2)).await;
    assert_eq!(shop.verify().await.findings, []);
}
