//! From the meat to the pieces.

use axum::http::StatusCode;
use flitchbook::book::Form;
use flitchbook::ids::LotId;
use flitchbook::measure::Grams;

use super::{Loins, hrefs, loins};
use crate::shop::{Cast, Shop, goes_to};

#[tokio::test]
async fn a_cure_outside_its_tolerance_is_refused_and_salt_needs_a_reason() {
    let story = loins().await;
    goes_to(&story.muscle("3600").await);
    let before = story.shop.lines().await;
    let batch = story.path.rsplit('/').next().unwrap().parse().unwrap();
    let mixed = story.shop.batch_now(batch).await.mix.grams;
    let cure = story.weigh("2", story.larder.cure_lot, "9.2").await;
    assert_eq!(cure.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(cure.error_at("weight").contains("must be within 1 %"), "{}", cure.error_at("weight"));
    assert_eq!(cure.attribute("input[name=weight]", "value").as_deref(), Some("9.2"));
    let salt = story.weigh("1", story.larder.salt_lot, "120").await;
    assert!(salt.error_at("reason").contains("say why"), "{:?}", salt.all(".error"));
    assert_eq!(story.shop.lines().await, before + 1, "that a cure was refused, and nothing else");
    assert_eq!(story.shop.batch_now(batch).await.mix.grams, mixed, "none of it went in");
    let lot = story.larder.salt_lot.to_string();
    let signed = [("line", "1"), ("lot", &lot), ("weight", "120"), ("reason", "wet salt")];
    goes_to(&story.post("ingredients", &signed).await);
    assert!(story.page().await.one("table.lines .state").contains("outside tolerance"));
}

#[tokio::test]
async fn targets_follow_the_meat_that_was_really_taken() {
    let story = loins().await;
    goes_to(&story.muscle("2000").await);
    goes_to(&story.muscle("1500").await);
    let page = story.shop.get(Cast::Curer, &format!("{}?act=weigh&line=1", story.path)).await;
    // 2.75 % of 3,500 g.
    assert_eq!(page.one("form.sheet dd.big"), "96.25 g");
    goes_to(&story.weigh("1", story.larder.salt_lot, "96.2").await);
    goes_to(&story.weigh("2", story.larder.cure_lot, "8.8").await);
    // A second thought: the smaller muscle comes out, and the cure is then too much.
    let strike = story.page().await;
    let muscle = strike.all("table.lines tbody tr .what");
    let row = muscle.iter().position(|what| what.contains("piece 26328-06.02")).unwrap();
    let links: Vec<String> = hrefs(&strike, "a.strike");
    goes_to(&story.shop.post(Cast::Curer, &links[row], &[("reason", "off smell")]).await);
    let refused = story.post("cure", &[("reason", "never mind")]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.one(".errors").contains("cure must be right"), "{}", refused.one(".errors"));
    assert_eq!(story.shop.verify().await.findings, []);
}

#[tokio::test]
async fn salami_are_stuffed_from_a_list_of_weights_and_the_rest_is_the_loss() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let larder = shop.larder(&things).await;
    let recipe = shop.salami_recipe(&larder).await;
    let trim = shop.lot(&things, &larder.trim, Form::Trim, Grams::whole(2_500), None).await.lot;
    let begun = shop.begin(&recipe, 2_000, &larder.fridge).await;
    let path = begun.batch.path();
    let post = async |noun: &str, fields: &[(&str, &str)]| {
        shop.post(Cast::Curer, &format!("{path}/{noun}"), fields).await
    };
    let trim = trim.to_string();
    goes_to(&post("meat", &[("lot", &trim), ("weight", "2"), ("weight_unit", "kg")]).await);
    for (line, lot, weight) in
        [("2", larder.salt_lot, "50"), ("3", larder.cure_lot, "5"), ("4", larder.pepper_lot, "6")]
    {
        goes_to(&post("ingredients", &[("line", line), ("lot", &lot.to_string()), ("weight", weight)]).await);
    }
    let page = shop.get(Cast::Curer, &path).await;
    assert!(page.one("form.sheet h2").contains("Stuff the mix"), "{}", page.one("form.sheet h2"));
    // 5 g × 6.25 % over 2,000 g of meat, whatever else is in the mix: 9 CFR 424.21(c), 1/4 oz to 100 lb.
    assert!(page.all("dl.figures dd.big").contains(&"156 ppm".into()));
    let chamber = larder.chamber.id.to_string();
    let casing = larder.casing_lot.to_string();
    let common =
        [("casing", casing.as_str()), ("diameter", "55"), ("all", "yes"), ("place", chamber.as_str())];
    let stuff = |more: &[(&'static str, &'static str)]| {
        let given = |name: &str| more.iter().any(|(field, _)| *field == name);
        let usual = common.iter().copied().filter(|(name, _)| !given(name));
        let fields: Vec<(&str, &str)> = usual.chain(more.iter().copied()).collect();
        let fields: Vec<(String, String)> =
            fields.into_iter().map(|(name, value)| (name.to_owned(), value.to_owned())).collect();
        fields
    };
    let send = async |fields: Vec<(String, String)>| {
        let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
        post("pieces", &fields).await
    };
    let before = shop.lines().await;
    for (more, field) in [
        (&[("count", "0")][..], "count"),
        (&[("count", "")][..], "count"),
        (&[("count", "3"), ("weights", "500\n500")][..], "weights"),
        (&[("weights", "500\nfive")][..], "weights"),
        (&[("weights", "500\n500\n500\n700")][..], "reason"),
        (&[("weights", "500")][..], "reason"),
        (&[("count", "4"), ("loss", "5000")][..], "loss"),
        (&[("count", "4"), ("casing_weight", "9000")][..], "casing_weight"),
        (&[("count", "4"), ("diameter", "-1")][..], "diameter"),
        (&[("count", "4"), ("when", "2031-01-01T10:00")][..], "when"),
        (&[("count", "4"), ("when", "2026-02-30T10:00")][..], "when"),
    ] {
        let page = send(stuff(more)).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{more:?}");
        assert!(!page.error_at(field).is_empty(), "{more:?}: {:?}", page.all(".error"));
        assert_eq!(
            page.attribute("select[name=place] option[selected]", "value").as_deref(),
            Some(chamber.as_str())
        );
    }
    assert_eq!(shop.lines().await, before);
    goes_to(&send(stuff(&[("count", "4"), ("weights", "510\n512.5\n\n508 g\n0.51 kg\n")])).await);
    // 2,061 g in the mix, 2,040.5 g in the pieces.
    assert_eq!(shop.lot_now(begun.mix).await.grams, Grams::ZERO);
    let code = begun.code.piece(2).unwrap().to_string();
    assert_eq!(shop.grams(&code).await.to_string(), "512.50");
    let page = shop.get(Cast::Curer, &path).await;
    assert!(page.text.contains("20.5 g lost in stuffing"), "{:?}", page.all("table.lines .why"));
    assert!(page.one("form.sheet h2").contains("Next: fermenting"));
    // Meat cannot be struck once it hangs as salami.
    let rows = page.all("table.lines tbody tr .what");
    let meat = rows.iter().position(|what| what.contains("into the mix")).unwrap();
    let strike = &hrefs(&page, "a.strike")[meat];
    let refused = shop.post(Cast::Curer, strike, &[("reason", "wrong lot")]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.one(".errors").contains("built upon"), "{}", refused.one(".errors"));
    // The stuffing itself can: its pieces were never there, and the mix is whole again.
    let stuffed = rows.iter().position(|what| what.contains("Stuffed into 4 pieces")).unwrap();
    goes_to(&shop.post(Cast::Curer, &hrefs(&page, "a.strike")[stuffed], &[("reason", "wrong casing")]).await);
    assert_eq!(shop.lot_now(begun.mix).await.grams, Grams::whole(2_061));
    goes_to(&send(stuff(&[("count", "4"), ("loss", "21")])).await);
    assert_eq!(shop.batch_now(begun.batch).await.pieces.len(), 4);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn meat_comes_only_from_lots_that_can_be_used() {
    let story = loins().await;
    let Loins { shop, things, larder, .. } = &story;
    let mut held = shop.lot(things, &things.loin, Form::Cut, Grams::whole(2_000), None).await;
    held.held = Some("6.2 °C at the surface".into());
    held.lot = LotId(uuid::Uuid::from_u128(777));
    held.code = "26328-90".parse().unwrap();
    shop.sign(held.clone()).await;
    let struck = shop.lot_now(story.loin).await;
    let nowhere = uuid::Uuid::from_u128(9).to_string();
    let held = held.lot.to_string();
    let salt = larder.salt_lot.to_string();
    let own = story.loin.to_string();
    let before = shop.lines().await;
    for (lot, weight, field, says) in [
        (held.as_str(), "100", "lot", "on hold"),
        (&nowhere, "100", "lot", "no such lot"),
        ("26328-05", "100", "lot", "Choose"),
        ("", "100", "lot", "Choose"),
        (&salt, "100", "lot", "not raw meat"),
        (&own, "3600.01", "weight", "holds 3.600"),
        (&own, "-5", "weight", ""),
        (&own, "", "weight", ""),
        (&own, "5 miles", "weight", ""),
        (&own, "99999999999999", "weight", ""),
    ] {
        let page = story.post("meat", &[("lot", lot), ("weight", weight), ("weight_unit", "g")]).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{lot} {weight}");
        let said = page.error_at(field);
        assert!(!said.is_empty() && said.contains(says), "{lot} {weight}: {:?}", page.all(".error"));
        assert_eq!(page.attribute("input[name=weight]", "value").as_deref(), Some(weight));
    }
    assert_eq!(shop.lines().await, before);
    assert_eq!(shop.lot_now(story.loin).await, struck);
}

#[tokio::test]
async fn meat_that_lies_on_the_block_is_not_taken_from_under_the_knife() {
    let story = loins().await;
    let lot = story.loin.to_string();
    goes_to(&story.shop.post(Cast::Cutter, "/block", &[("lot", &lot), ("cut_list", "")]).await);
    let page = story.muscle("500").await;
    assert!(page.error_at("lot").contains("lies on the block"), "{}", page.error_at("lot"));
}
