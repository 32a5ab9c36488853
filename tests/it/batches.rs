//! Batches, from the meat to the released piece, through the router and a real database.

use axum::http::StatusCode;
use flitchbook::batches;
use flitchbook::book::Form;
use flitchbook::ids::LotId;
use flitchbook::measure::Grams;
use flitchbook::recipes::Stage;
use time::Duration;

use crate::shop::{Cast, Larder, MORNING, Page, Shop, Things, goes_to};

/// Two loins of 3,600 g together, and a batch begun for them.
struct Loins {
    shop: Shop,
    things: Things,
    larder: Larder,
    loin: LotId,
    path: String,
}

async fn loins() -> Loins {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let larder = shop.larder(&things).await;
    let recipe = shop.loin_recipe(&larder).await;
    let loin = shop.lot(&things, &things.loin, Form::Cut, Grams::whole(3_600), None).await.lot;
    let begun = shop
        .post(
            Cast::Curer,
            "/batches/new",
            &[
                ("recipe", &format!("{}/1", recipe.recipe)),
                ("meat", "3.6"),
                ("meat_unit", "kg"),
                ("place", &larder.fridge.id.to_string()),
            ],
        )
        .await;
    let path = goes_to(&begun);
    Loins { shop, things, larder, loin, path }
}

impl Loins {
    async fn page(&self) -> Page {
        self.shop.get(Cast::Curer, &self.path).await
    }

    async fn post(&self, noun: &str, fields: &[(&str, &str)]) -> Page {
        self.shop.post(Cast::Curer, &format!("{}/{noun}", self.path), fields).await
    }

    async fn muscle(&self, weight: &str) -> Page {
        self.post("meat", &[("lot", &self.loin.to_string()), ("weight", weight), ("weight_unit", "g")]).await
    }

    async fn weigh(&self, line: &str, lot: LotId, weight: &str) -> Page {
        let lot = lot.to_string();
        self.post("ingredients", &[("line", line), ("lot", &lot), ("weight", weight), ("weight_unit", "g")])
            .await
    }

    /// Both muscles, salt and cure weighed, and the cure laid on.
    async fn cured(&self) {
        goes_to(&self.muscle("2000").await);
        goes_to(&self.muscle("1600").await);
        goes_to(&self.weigh("1", self.larder.salt_lot, "99").await);
        goes_to(&self.weigh("2", self.larder.cure_lot, "9").await);
        goes_to(&self.post("cure", &[]).await);
    }
}

#[tokio::test]
async fn loins_go_from_the_cut_into_cure_and_on_to_drying_and_release() {
    let story = loins().await;
    assert!(story.page().await.one("form.sheet h2").contains("Take a muscle"));
    goes_to(&story.muscle("2000").await);
    goes_to(&story.muscle("1600").await);
    // 2.75 % of 3,600 g.
    let page = story.page().await;
    assert!(page.one("form.sheet h2").contains("Weigh sea salt"));
    assert_eq!(page.one("form.sheet dd.big"), "99 g");
    goes_to(&story.weigh("1", story.larder.salt_lot, "100").await);
    assert!(story.page().await.one("form.sheet h2").contains("Weigh curing salt"));
    goes_to(&story.weigh("2", story.larder.cure_lot, "9").await);
    let page = story.page().await;
    assert!(page.one("form.sheet h2").contains("Lay the cure on"));
    // USDA FSIS Directive 7620.3, dry cured: 9 g × 6.25 % over 3,600 g.
    assert!(
        page.text.contains("of the green weight")
            && page.all("dl.figures dd.big").contains(&"156 ppm".into())
    );
    goes_to(&story.post("cure", &[]).await);
    // 109 g over 2,000 and 1,600 g.
    assert_eq!(story.shop.grams("26328-06.01").await.to_string(), "2060.56");
    assert_eq!(story.shop.grams("26328-06.02").await.to_string(), "1648.44");
    let fridge = story.larder.fridge.id.to_string();
    let chamber = story.larder.chamber.id.to_string();
    goes_to(&story.post("stages", &[("stage", "curing"), ("place", &fridge)]).await);
    story.shop.later(Duration::days(14));
    goes_to(&story.post("stages", &[("stage", "drying"), ("place", &chamber)]).await);
    let pieces = story.shop.get(Cast::Reviewer, &format!("{}?act=release", story.path)).await;
    let first = pieces.attribute("input[name=pieces]", "value").unwrap();
    let fields = [("pieces", first.as_str()), ("note", "water activity 0.88")];
    goes_to(&story.shop.post(Cast::Reviewer, &format!("{}/release", story.path), &fields).await);
    let page = story.page().await;
    assert!(page.one(".stamp").contains("Not for sale"), "one piece still waits");
    assert_eq!(
        page.all("td[data-name='How it stands'] .state").iter().filter(|s| *s == "released").count(),
        1
    );
    assert!(!page.text.to_lowercase().contains("safe to eat"));
    assert_eq!(story.shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_cure_outside_its_tolerance_is_refused_and_salt_needs_a_reason() {
    let story = loins().await;
    goes_to(&story.muscle("3600").await);
    let before = story.shop.lines().await;
    let cure = story.weigh("2", story.larder.cure_lot, "9.2").await;
    assert_eq!(cure.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(cure.error_at("weight").contains("must be within 1 %"), "{}", cure.error_at("weight"));
    assert_eq!(cure.attribute("input[name=weight]", "value").as_deref(), Some("9.2"));
    let salt = story.weigh("1", story.larder.salt_lot, "120").await;
    assert!(salt.error_at("reason").contains("say why"), "{:?}", salt.all(".error"));
    assert_eq!(story.shop.lines().await, before);
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

fn hrefs(page: &Page, selector: &str) -> Vec<String> {
    let html = scraper::Html::parse_document(&page.text);
    let selector = scraper::Selector::parse(selector).unwrap();
    html.select(&selector).filter_map(|found| found.value().attr("href").map(ToOwned::to_owned)).collect()
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

#[tokio::test]
async fn an_ingredient_form_sent_twice_is_one_weighing() {
    let story = loins().await;
    goes_to(&story.muscle("3600").await);
    let id = story.page().await.form_id();
    let lot = story.larder.salt_lot.to_string();
    let fields = [("id", id.as_str()), ("line", "1"), ("lot", &lot), ("weight", "99")];
    let path = format!("{}/ingredients", story.path);
    goes_to(&story.shop.post_raw(Cast::Curer, &path, &fields).await);
    let before = story.shop.lines().await;
    goes_to(&story.shop.post_raw(Cast::Curer, &path, &fields).await);
    assert_eq!(story.shop.lines().await, before);
    let without = story.shop.post_raw(Cast::Curer, &path, &fields[1..]).await;
    assert_eq!(without.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[tokio::test]
async fn stages_follow_the_recipe_or_say_why_not() {
    let story = loins().await;
    story.cured().await;
    let fridge = story.larder.fridge.id.to_string();
    for (stage, place, when, field) in [
        ("drying", fridge.as_str(), "", "reason"),
        ("released", &fridge, "", "stage"),
        ("", &fridge, "", "stage"),
        ("curing", "", "", "place"),
        ("curing", "00000000-0000-7000-8000-000000000000", "", "place"),
        ("curing", &fridge, "2026-11-01T08:00", "when"),
        ("curing", &fridge, "2027-11-01T08:00", "when"),
    ] {
        let page = story.post("stages", &[("stage", stage), ("place", place), ("when", when)]).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{stage} {when}");
        assert!(!page.error_at(field).is_empty(), "{stage} {when}: {:?}", page.all(".error"));
    }
    goes_to(&story.post("stages", &[("stage", "curing"), ("place", &fridge)]).await);
    story.shop.later(Duration::days(13));
    let early = story.post("stages", &[("stage", "drying"), ("place", &fridge)]).await;
    assert!(early.error_at("reason").contains("24 h short"), "{}", early.error_at("reason"));
    let said = [("stage", "drying"), ("place", fridge.as_str()), ("reason", "thin muscles")];
    goes_to(&story.post("stages", &said).await);
    assert!(story.page().await.one("table.lines .state").contains("not as planned"));
    // Struck, it cures again.
    let strike = hrefs(&story.page().await, "a.strike")[0].clone();
    goes_to(&story.shop.post(Cast::Curer, &strike, &[("reason", "not yet")]).await);
    let code = "26328-06".parse().unwrap();
    let mix =
        flitchbook::book::db::lot_by_code(&mut story.shop.app.db().await.unwrap(), &code).await.unwrap();
    assert!(mix.is_some());
    assert!(story.page().await.text.contains("curing, in curing fridge"));
    assert_eq!(story.shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_batch_is_due_when_its_stage_has_had_its_hours() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    let due = batches::due(&mut shop.app.db().await.unwrap()).await.unwrap();
    let [only] = due.as_slice() else { panic!("{due:?}") };
    assert_eq!((only.batch, only.stage, only.next), (made.batch, Stage::Drying, None));
    assert_eq!(only.over_at, MORNING + Duration::hours(1_440));
    assert_eq!(only.place_name, "chamber 1");
    shop.release(&made).await;
    assert!(batches::due(&mut shop.app.db().await.unwrap()).await.unwrap().is_empty());
    assert!(shop.get(Cast::Cutter, "/batches").await.text.contains("Released"));
}

#[tokio::test]
async fn a_release_is_somebodys_who_may_decide_and_never_of_a_held_piece() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let made = shop.dry_cure(&things).await;
    let path = format!("{}/release", made.batch.path());
    let piece = made.pieces[0].lot.to_string();
    for cast in [Cast::Cutter, Cast::Curer, Cast::Inspector] {
        let page = shop.post(cast, &path, &[("pieces", &piece)]).await;
        assert_eq!(page.status, StatusCode::FORBIDDEN, "{cast:?}");
    }
    let nothing = shop.post(Cast::Reviewer, &path, &[]).await;
    assert!(nothing.error_at("pieces").contains("Choose"), "{:?}", nothing.all(".error"));
    let foreign =
        shop.post(Cast::Reviewer, &path, &[("pieces", &uuid::Uuid::from_u128(3).to_string())]).await;
    assert_eq!(foreign.status, StatusCode::UNPROCESSABLE_ENTITY);
    goes_to(&shop.post(Cast::Owner, &path, &[("pieces", &piece)]).await);
    let twice = shop.post(Cast::Owner, &path, &[("pieces", &piece)]).await;
    assert!(twice.error_at("pieces").contains("released already"));
    goes_to(&shop.post(Cast::Owner, &path, &[("pieces", &made.pieces[1].lot.to_string())]).await);
    assert!(shop.get(Cast::Inspector, &made.batch.path()).await.one(".stamp").contains("Released"));
    // Struck, the batch dries again.
    let page = shop.get(Cast::Owner, &made.batch.path()).await;
    goes_to(&shop.post(Cast::Owner, &hrefs(&page, "a.strike")[0], &[("reason", "wrong piece")]).await);
    let batch = shop.batch_now(made.batch).await;
    assert_eq!(batch.stage, Stage::Drying);
    assert_eq!(batch.place.map(|place| place.name), Some("chamber 1".into()));
    assert_eq!(batch.pieces.iter().filter(|piece| piece.released).count(), 1);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_batch_is_begun_by_a_recipe_in_use_for_some_meat() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let larder = shop.larder(&things).await;
    let recipe = shop.loin_recipe(&larder).await;
    let chosen = format!("{}/1", recipe.recipe);
    let fridge = larder.fridge.id.to_string();
    let before = shop.lines().await;
    for (choice, meat, place, when, field) in [
        ("", "3", fridge.as_str(), "", "recipe"),
        ("no-recipe/1", "3", &fridge, "", "recipe"),
        ("00000000-0000-7000-8000-000000000000/1", "3", &fridge, "", "recipe"),
        (&format!("{}/9", recipe.recipe), "3", &fridge, "", "recipe"),
        (&chosen, "", &fridge, "", "meat"),
        (&chosen, "-3", &fridge, "", "meat"),
        (&chosen, "3 C", &fridge, "", "meat"),
        (&chosen, "3", "", "", "place"),
        (&chosen, "3", &things.loin.id.to_string(), "", "place"),
        (&chosen, "3", &fridge, "2027-01-01T08:00", "when"),
    ] {
        let fields = [("recipe", choice), ("meat", meat), ("place", place), ("when", when)];
        let page = shop.post(Cast::Curer, "/batches/new", &fields).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{choice} {meat} {place} {when}");
        assert!(!page.error_at(field).is_empty(), "{choice} {meat} {place} {when}: {:?}", page.all(".error"));
        assert_eq!(page.attribute("input[name=meat]", "value").as_deref(), Some(meat));
    }
    assert_eq!(shop.lines().await, before);
    let aside = format!("{}/retirement", recipe.recipe.path());
    goes_to(&shop.post(Cast::Curer, &aside, &[("retired", "yes")]).await);
    let fields = [("recipe", chosen.as_str()), ("meat", "3"), ("place", &fridge)];
    let page = shop.post(Cast::Curer, "/batches/new", &fields).await;
    assert!(page.error_at("recipe").contains("laid aside"));
}

#[tokio::test]
async fn a_version_that_a_batch_was_made_by_stays_as_it_was() {
    let story = loins().await;
    goes_to(&story.muscle("3600").await);
    let recipe = story.page().await.attribute("dl.facts a", "href").unwrap();
    assert!(recipe.ends_with("?version=1"), "{recipe}");
    let page = story.shop.get(Cast::Curer, &recipe).await;
    assert!(page.text.contains("2.75\u{a0}%"));
}

#[tokio::test]
async fn who_may_not_cure_reads_the_batch_and_signs_nothing() {
    let story = loins().await;
    let lot = story.loin.to_string();
    for cast in [Cast::Cutter, Cast::Reviewer, Cast::Inspector] {
        assert_eq!(story.shop.get(cast, "/batches").await.status, StatusCode::OK);
        let page = story.shop.get(cast, &story.path).await;
        assert_eq!(page.status, StatusCode::OK);
        assert!(page.all("form.sheet").is_empty());
        assert_eq!(story.shop.get(cast, &format!("{}/sheet", story.path)).await.status, StatusCode::OK);
        assert_eq!(story.shop.get(cast, "/batches/new").await.status, StatusCode::FORBIDDEN);
        for noun in ["meat", "ingredients", "cure", "pieces", "stages"] {
            let page = story.shop.post(cast, &format!("{}/{noun}", story.path), &[("lot", &lot)]).await;
            assert_eq!(page.status, StatusCode::FORBIDDEN, "{cast:?} {noun}");
        }
    }
    assert_eq!(story.shop.get(Cast::Stranger, &story.path).await.status, StatusCode::SEE_OTHER);
    let nowhere = "/batches/00000000-0000-7000-8000-000000000000";
    assert_eq!(story.shop.get(Cast::Curer, nowhere).await.status, StatusCode::NOT_FOUND);
    assert_eq!(story.shop.get(Cast::Curer, &format!("{nowhere}/sheet")).await.status, StatusCode::NOT_FOUND);
    let fields = [("lot", lot.as_str()), ("weight", "1"), ("weight_unit", "g")];
    let page = story.shop.post(Cast::Curer, &format!("{nowhere}/meat"), &fields).await;
    assert_eq!(page.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn the_cure_sheet_says_targets_actuals_lots_and_where_the_meat_came_from() {
    let story = loins().await;
    let empty = story.shop.get(Cast::Curer, &format!("{}/sheet", story.path)).await;
    assert!(empty.all(".room").len() > 8, "room for initials and weights");
    story.cured().await;
    let page = story.shop.get(Cast::Curer, &format!("{}/sheet", story.path)).await;
    assert!(page.one("h1").contains("26328-06"));
    assert!(page.text.contains("<svg class=\"qr\""));
    assert!(page.text.contains("Hazelrigg Farm"));
    assert!(page.text.contains("99 g") && page.text.contains("156"));
    assert!(page.text.contains("2 to 4 °C") && page.text.contains("regulator"));
    assert_eq!(page.attribute("body", "class").as_deref(), Some("paper a4"));
    let letter = story.shop.get(Cast::Curer, &format!("{}/sheet?paper=letter", story.path)).await;
    assert_eq!(letter.attribute("body", "class").as_deref(), Some("paper letter"));
    assert!(page.text.contains("Not for sale"));
}

#[tokio::test]
async fn a_batch_begun_by_mistake_is_struck_before_anything_goes_into_it() {
    let story = loins().await;
    let strike = hrefs(&story.page().await, "a.strike")[0].clone();
    goes_to(&story.muscle("2000").await);
    let refused = story.shop.post(Cast::Curer, &strike, &[("reason", "twice")]).await;
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    let muscle = hrefs(&story.page().await, "a.strike")[0].clone();
    goes_to(&story.shop.post(Cast::Curer, &muscle, &[("reason", "wrong loin")]).await);
    goes_to(&story.shop.post(Cast::Curer, &strike, &[("reason", "twice")]).await);
    assert_eq!(story.page().await.status, StatusCode::NOT_FOUND);
    assert_eq!(story.shop.lot_now(story.loin).await.grams, Grams::whole(3_600));
    assert_eq!(story.shop.verify().await.findings, []);
}
