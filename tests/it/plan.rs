//! Plans, the checks that they ask for, and what happens when one is missed.

use axum::http::StatusCode;
use time::Duration;

use crate::shop::{Cast, Shop, Things, goes_to};

/// A shop with a carcass in its cooler and the programme of cold storage signed.
async fn with_cold_storage() -> (Shop, Things, String) {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let carcass = shop.carcass(&things, 92_400).await;
    signed(&shop, "cold-storage").await;
    (shop, things, carcass.code.to_string())
}

/// Takes a starting plan up and signs it; its address.
async fn signed(shop: &Shop, key: &str) -> String {
    let path = goes_to(&shop.post(Cast::Owner, "/plan", &[("from", key)]).await);
    assert_eq!(goes_to(&shop.post(Cast::Owner, &path, &[("reason", "For the first time.")]).await), path);
    path
}

async fn read_cooler(shop: &Shop, things: &Things, value: &str) -> String {
    let place = things.cooler.id.to_string();
    let form = [("place", place.as_str()), ("quantity", "temperature"), ("value", value)];
    goes_to(&shop.post(Cast::Cutter, "/checks/record", &form).await)
}

#[tokio::test]
async fn a_starting_plan_is_a_draft_that_binds_nobody_until_the_owner_signs_it() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let path = goes_to(&shop.post(Cast::Owner, "/plan", &[("from", "cold-storage")]).await);
    let page = shop.get(Cast::Inspector, &path).await;
    assert!(page.text.contains("it binds nobody until the owner signs it"));
    assert!(page.text.contains("approved by nobody"));
    assert_eq!(page.all("form button.act"), Vec::<String>::new());
    assert!(shop.get(Cast::Cutter, "/plan/round").await.text.contains("No plan is signed yet"));
    // A plain reading: no limit is in force.
    read_cooler(&shop, &things, "11.1").await;
    assert!(shop.get(Cast::Owner, "/checks/deviations").await.all("table a").is_empty());

    let unsaid = shop.post(Cast::Owner, &path, &[("reason", " ")]).await;
    assert_eq!(unsaid.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(unsaid.error_at("reason").contains("Say why it is signed"));
    goes_to(&shop.post(Cast::Owner, &path, &[("reason", "For the first time.")]).await);
    let page = shop.get(Cast::Owner, &path).await;
    assert!(page.text.contains("Version 1 stands"), "{}", page.text);
    let limits = shop.get(Cast::Owner, "/checks/limits").await;
    assert!(limits.text.contains("Coolers, by the plan") && limits.text.contains("Cold storage, version 1"));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn only_the_owner_writes_plans_and_everybody_reads_them() {
    let (shop, _, _) = with_cold_storage().await;
    let index = shop.get(Cast::Inspector, "/plan").await;
    let path = index.attribute("ul.ruled a", "href").unwrap();
    for part in ["/description", "/steps/1", "/checks/1"] {
        for cast in [Cast::Cutter, Cast::Curer, Cast::Reviewer, Cast::Inspector] {
            assert_eq!(shop.get(cast, &format!("{path}{part}")).await.status, StatusCode::FORBIDDEN);
            assert_eq!(shop.post(cast, &format!("{path}{part}"), &[]).await.status, StatusCode::FORBIDDEN);
        }
    }
    for cast in [Cast::Cutter, Cast::Reviewer, Cast::Inspector] {
        assert_eq!(shop.post(cast, &path, &[("reason", "x")]).await.status, StatusCode::FORBIDDEN);
        assert_eq!(shop.get(cast, &path).await.status, StatusCode::OK);
    }
    let unknown = format!("/plan/{}", uuid::Uuid::from_u128(4));
    assert_eq!(shop.get(Cast::Owner, &unknown).await.status, StatusCode::NOT_FOUND);
    assert_eq!(shop.get(Cast::Owner, &format!("{path}/checks/9")).await.status, StatusCode::NOT_FOUND);
    assert_eq!(shop.get(Cast::Inspector, "/plan/round").await.status, StatusCode::OK);
    assert_eq!(shop.post(Cast::Inspector, "/plan/round", &[]).await.status, StatusCode::FORBIDDEN);
}

#[tokio::test]
async fn a_cooler_at_52_degrees_holds_exactly_what_lies_in_it_and_is_asked_about_today() {
    let (shop, things, code) = with_cold_storage().await;
    let deviation = read_cooler(&shop, &things, "52F").await;
    assert!(deviation.starts_with("/checks/deviations/"), "{deviation}");
    let page = shop.get(Cast::Owner, &deviation).await;
    assert!(page.text.contains("cooler 1 at 11.1"), "{}", page.text);
    assert!(page.text.contains(&code));
    assert!(shop.get(Cast::Owner, "/").await.text.contains("cooler 1 at 11.1"));
    let record = shop.get(Cast::Inspector, "/checks/records").await;
    let said = record.all("td[data-name=Limit]");
    assert_eq!(said, ["Coolers, by the plan Cold storage: at most 5.0 °C, not met"]);
}

#[tokio::test]
async fn a_check_that_was_missed_is_a_deviation_when_it_is_made_again_and_holds_what_lay_there() {
    let (shop, things, code) = with_cold_storage().await;
    read_cooler(&shop, &things, "3").await;
    shop.later(Duration::hours(30));
    let round = shop.get(Cast::Cutter, "/plan/round").await;
    assert!(round.one("legend .state.late").contains("late"), "{}", round.text);
    assert!(round.all(".notice.out").is_empty(), "late is not yet missed");
    shop.later(Duration::hours(18));
    let round = shop.get(Cast::Cutter, "/plan/round").await;
    assert!(
        round.one(".notice.out li").starts_with("Coolers, cooler 1: once between"),
        "{}",
        round.one(".notice.out")
    );
    assert!(shop.get(Cast::Owner, "/").await.text.contains("missed"));
    read_cooler(&shop, &things, "3").await;
    let page = shop.get(Cast::Owner, "/checks/deviations").await;
    assert!(page.text.contains("Coolers, cooler 1: missed once"), "{}", page.text);
    assert!(shop.get(Cast::Owner, "/checks/holds").await.text.contains(&code));
    let round = shop.get(Cast::Cutter, "/plan/round").await;
    assert!(round.all(".notice.out").is_empty(), "what is written is not asked for again");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn what_was_missed_can_be_written_down_without_making_the_check() {
    let (shop, _, _) = with_cold_storage().await;
    let none = shop.post(Cast::Cutter, "/plan/missed", &[]).await;
    assert_eq!(none.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(none.one(".errors").contains("Nothing was missed"));
    shop.later(Duration::hours(72));
    assert_eq!(goes_to(&shop.post(Cast::Cutter, "/plan/missed", &[]).await), "/checks/deviations");
    assert!(shop.get(Cast::Owner, "/checks/deviations").await.text.contains("missed 2 times"));
    assert!(shop.get(Cast::Cutter, "/plan/round").await.all(".notice.out").is_empty());
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_round_signs_every_value_that_was_typed_or_none() {
    let (shop, things, _) = with_cold_storage().await;
    shop.later(Duration::hours(23));
    let round = shop.get(Cast::Cutter, "/plan/round").await;
    let row = round.attribute("input[name=row]", "value").unwrap();
    let lines = shop.lines().await;
    let form = |value: &'static str| vec![("row", row.as_str()), ("value", value), ("instrument", "")];
    let wrong = shop.post(Cast::Cutter, "/plan/round", &form("warm")).await;
    assert_eq!(wrong.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(wrong.one(".errors").contains("Coolers, cooler 1"), "{}", wrong.one(".errors"));
    assert_eq!(wrong.attribute("input[name=value]", "value").as_deref(), Some("warm"));
    let empty = shop.post(Cast::Cutter, "/plan/round", &form("")).await;
    assert!(empty.one(".errors").contains("Type the values"));
    assert_eq!(shop.lines().await, lines);
    assert_eq!(goes_to(&shop.post(Cast::Cutter, "/plan/round", &form("3.4")).await), "/plan/round");
    assert_eq!(shop.lines().await, lines + 1);
    let record = shop.get(Cast::Inspector, "/checks/records").await;
    assert_eq!(record.all("td[data-name=Limit]"), ["Coolers, by the plan Cold storage: at most 5.0 °C, met"]);
    drop(things);
}

#[tokio::test]
async fn sanitation_before_work_is_answered_item_by_item_and_what_is_not_clean_says_what_was_done() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let form = [("name", "the block"), ("kind", "block")];
    goes_to(&shop.post(Cast::Owner, "/setup/places", &form).await);
    signed(&shop, "sanitation-before-work").await;
    let round = shop.get(Cast::Cutter, "/plan/round").await;
    let path = round.attribute("a[href*='/plan/answer']", "href").unwrap();
    let page = shop.get(Cast::Cutter, &path).await;
    assert_eq!(page.all("fieldset.asked legend").len(), 6);
    let (check, on) = (
        page.attribute("input[name=check]", "value").unwrap(),
        page.attribute("input[name=on]", "value").unwrap(),
    );
    let base = [("check", check.as_str()), ("on", on.as_str())];
    let with = |answers: [&'static str; 6], words: [&'static str; 6]| {
        let mut form = base.to_vec();
        form.extend(answers.map(|answer| ("item", answer)));
        form.extend(words.map(|words| ("words", words)));
        form
    };
    let open = shop
        .post(Cast::Cutter, "/plan/answer", &with(["yes", "yes", "", "yes", "yes", "yes"], [""; 6]))
        .await;
    assert!(open.error_at("item").contains("Grinder and mixer"), "{}", open.error_at("item"));
    let no = ["yes", "yes", "no", "yes", "yes", "yes"];
    let silent = shop.post(Cast::Cutter, "/plan/answer", &with(no, [""; 6])).await;
    assert!(silent.error_at("words").contains("Grinder and mixer"), "{}", silent.error_at("words"));
    let words = ["", "", "fat behind the plate; cleaned again", "", "", ""];
    let deviation = goes_to(&shop.post(Cast::Cutter, "/plan/answer", &with(no, words)).await);
    let page = shop.get(Cast::Owner, &deviation).await;
    assert!(page.text.contains("Grinder and mixer: fat behind the plate"), "{}", page.text);
    // Made for today: the next one is tomorrow's.
    let round = shop.get(Cast::Cutter, "/plan/round").await;
    assert!(round.text.contains("Later"));

    // Records of sanitation have a table of their own in the packet, and a period of their own; a cold cooler is none.
    read_cooler(&shop, &things, "3.4").await;
    let today = flitchbook::measure::input_day(shop.app.book.clock.now().date());
    let table = format!("/packet/days-{today}-{today}/tables/sanitation.csv");
    let rows = shop.get(Cast::Inspector, &table).await.text;
    assert_eq!(rows.matches("\r\n").count(), 2, "{rows}");
    assert!(rows.contains("Clean before work") && rows.contains("5 of 6 in order"), "{rows}");
    let kept = shop.get(Cast::Inspector, "/inspection/retention").await;
    let counted = kept.all("table.table tbody td[data-name='Records']");
    assert!(counted[2].starts_with('1'), "{counted:?}");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_programme_of_the_shops_own_can_be_one_of_sanitation() {
    let shop = Shop::open().await;
    let path = goes_to(&shop.post(Cast::Owner, "/plan", &[("from", "pests")]).await);
    let page = shop.get(Cast::Owner, &format!("{path}/description")).await;
    assert!(page.attribute("input[name=sanitation][checked]", "value").is_none());
    let form = [("name", "Floors"), ("describes", "Washed after work."), ("sanitation", "yes")];
    goes_to(&shop.post(Cast::Owner, &format!("{path}/description"), &form).await);
    let page = shop.get(Cast::Owner, &format!("{path}/description")).await;
    assert!(page.attribute("input[name=sanitation][checked]", "value").is_some(), "{}", page.text);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_batch_keeps_the_version_that_it_was_begun_under() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let path = signed(&shop, "whole-muscle-dry-cure").await;
    let made = shop.dry_cure(&things).await;
    let page = shop.get(Cast::Inspector, &made.batch.path()).await;
    assert!(page.text.contains("Whole muscle, dry cured, version 1"), "{}", page.text);
    // The owner changes the description and signs again.
    let describe = shop.get(Cast::Owner, &format!("{path}/description")).await;
    let name = describe.attribute("input[name=name]", "value").unwrap();
    let form = [
        ("name", name.as_str()),
        ("describes", "Whole muscles, now in paper."),
        ("intended_use", "Eaten without cooking."),
        ("materials", "Meat, salt, cure."),
        ("training", "Orla, course of 2025."),
        ("papers", "9 CFR 424.21(c)."),
        ("records", "This book."),
        ("covers", "dry cure, equilibrium"),
    ];
    goes_to(&shop.post(Cast::Owner, &format!("{path}/description"), &form).await);
    goes_to(&shop.post(Cast::Owner, &path, &[("reason", "Another package.")]).await);
    let page = shop.get(Cast::Inspector, &made.batch.path()).await;
    assert!(page.text.contains("Whole muscle, dry cured, version 1"));
    let first = shop.get(Cast::Inspector, &format!("{path}/versions/1")).await;
    assert!(!first.text.contains("now in paper") && first.text.contains("It never changes"));
    assert!(shop.get(Cast::Inspector, &path).await.text.contains("Version 2 stands"));
    let changed = sqlx::query("UPDATE plan_version SET document = '{}'").execute(&shop.app.book.pool).await;
    assert!(changed.unwrap_err().to_string().contains("it never changes"));
    assert_eq!(shop.verify().await.findings, []);
}

/// The draft's check on water activity with another end, signed as the next version.
async fn stricter(shop: &Shop, path: &str, most: &str) {
    let check = [
        ("name", "Water activity before release"),
        ("ccp", "yes"),
        ("asks", "water activity"),
        ("most", most),
        ("of", "end:drying"),
        ("every", "batch"),
        ("how", "Meter, from the core."),
        ("who", "curer"),
        ("source", "The shop's own plan."),
        ("action", "Dry on."),
        ("verified", "Every batch by the reviewer."),
    ];
    assert_eq!(goes_to(&shop.post(Cast::Owner, &format!("{path}/checks/4"), &check).await), path);
    goes_to(&shop.post(Cast::Owner, path, &[("reason", "Our customers keep it warm.")]).await);
}

#[tokio::test]
async fn a_batch_is_held_to_the_limits_of_the_version_that_it_was_begun_under() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let larder = shop.larder(&things).await;
    let before = shop.salami_of(&things, &larder).await;
    let path = signed(&shop, "fermented-dry-sausage").await;
    let first = shop.salami_of(&things, &larder).await;
    stricter(&shop, &path, "0.85").await;
    let second = shop.salami_of(&things, &larder).await;
    // 0.88 is met by what version 1 says, 0.90, and not by what version 2 says, 0.85.
    for (made, held) in [(&before, 0), (&first, 0), (&second, 1)] {
        let piece = made.pieces[0].lot.to_string();
        let form =
            [("lot", piece.as_str()), ("quantity", "water activity"), ("value", "0.880"), ("end", "yes")];
        let to = goes_to(&shop.post(Cast::Curer, "/checks/record", &form).await);
        assert_eq!(to.starts_with("/checks/deviations/"), held == 1, "{to}");
        let pieces: i64 = sqlx::query_scalar("SELECT count(DISTINCT lot) FROM hold WHERE lot = $1")
            .bind(made.pieces[0].lot.0)
            .fetch_one(&shop.app.book.pool)
            .await
            .unwrap();
        assert_eq!(pieces, held);
    }
    let limits = shop.get(Cast::Inspector, "/checks/limits").await;
    for version in ["version 1", "version 2"] {
        assert!(
            limits.text.contains(&format!(
                "Water activity before release, by the plan Fermented dry sausage, {version}"
            )),
            "{}",
            limits.one("main")
        );
    }
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_stage_that_is_left_without_its_check_is_a_deviation_and_holds_the_batch() {
    let shop = Shop::open().await;
    let things = shop.things().await;
    let larder = shop.larder(&things).await;
    signed(&shop, "fermented-dry-sausage").await;
    let made = shop.salami_of(&things, &larder).await;
    let chamber = larder.chamber.id.to_string();
    shop.later(Duration::days(20));
    let on = |stage: &'static str| {
        [("stage", stage), ("place", chamber.as_str()), ("reason", "It waits for its buyer.")]
    };
    goes_to(&shop.post(Cast::Curer, &format!("{}/stages", made.batch.path()), &on("resting")).await);
    let deviations = shop.get(Cast::Owner, "/checks/deviations").await;
    let said = deviations.all("table tbody tr");
    let of =
        |check: &str| said.iter().filter(|row| row.contains(check) && row.contains("missed once")).count();
    assert_eq!((of("Water activity before release"), of("pH at the end of fermenting")), (1, 1), "{said:?}");
    for piece in &made.pieces {
        let page = shop.get(Cast::Cutter, &piece.lot.path()).await;
        assert!(page.text.contains("missed once"), "{}", page.one("main"));
    }
    // Written once: whatever is signed of the batch next does not write it again.
    let lines = shop.lines().await;
    goes_to(&shop.reading(("batch", made.batch.to_string()), "ph", "5.1").await);
    assert_eq!(shop.lines().await, lines + 1);
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_step_and_a_check_are_written_into_the_draft_and_what_is_missing_is_said() {
    let shop = Shop::open().await;
    let path = goes_to(&shop.post(Cast::Owner, "/plan", &[("from", "plan"), ("name", "Smoked loin")]).await);
    let refused = shop.post(Cast::Owner, &path, &[("reason", "For the first time.")]).await;
    assert!(refused.one(".errors").contains("the steps of the flow"), "{}", refused.one(".errors"));
    let check = [
        ("name", "Core after smoking"),
        ("ccp", "yes"),
        ("asks", "temperature"),
        ("least", "71"),
        ("of", "end:resting"),
        ("every", "batch"),
        ("how", "Probe in the thickest."),
        ("who", "curer"),
        ("source", "The shop's own plan."),
        ("action", "Smoke on."),
        ("verified", "Every batch by the reviewer."),
    ];
    assert_eq!(goes_to(&shop.post(Cast::Owner, &format!("{path}/checks/1"), &check).await), path);
    let page = shop.get(Cast::Owner, &format!("{path}/steps/1")).await;
    let ccp = page.attribute("select[name=ccp] option:nth-of-type(2)", "value").unwrap();
    let step = [
        ("name", "Smoke"),
        ("number", "1"),
        ("sort", "biological"),
        ("what", "Pathogens that live on"),
        ("likely", "yes"),
        ("why", "Warmth alone does not kill."),
        ("control", "Core temperature."),
        ("ccp", ccp.as_str()),
    ];
    let wrong: Vec<_> =
        step.iter().copied().filter(|(name, _)| *name != "likely").chain([("likely", "")]).collect();
    let page = shop.post(Cast::Owner, &format!("{path}/steps/1"), &wrong).await;
    assert!(page.error_at("hazards").contains("reasonably likely"), "{}", page.error_at("hazards"));
    assert_eq!(page.attribute("input[name=what]", "value").as_deref(), Some("Pathogens that live on"));
    assert_eq!(goes_to(&shop.post(Cast::Owner, &format!("{path}/steps/1"), &step).await), path);
    let page = shop.get(Cast::Owner, &path).await;
    assert!(page.text.contains("CCP 1 Core after smoking"), "{}", page.text);
    let said = page.one(".notice.late");
    assert!(said.contains("the intended use") && !said.contains("the steps"), "{said}");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_plan_is_looked_over_within_a_year_and_when_a_limit_changes() {
    let (shop, _, _) = with_cold_storage().await;
    let path = shop.get(Cast::Owner, "/plan").await.attribute("ul.ruled a", "href").unwrap();
    let form = [
        ("name", "Counter"),
        ("quantity", "temperature"),
        ("applies", "kind:counter"),
        ("most", "4"),
        ("source", "The shop's own."),
    ];
    goes_to(&shop.post(Cast::Owner, "/checks/limits", &form).await);
    let page = shop.get(Cast::Owner, &path).await;
    assert!(page.one(".notice.late").contains("Limit Counter"), "{}", page.text);
    let reassess = format!("{path}/reassessment");
    assert!(shop.post(Cast::Owner, &reassess, &[]).await.error_at("reason").contains("what was looked at"));
    goes_to(&shop.post(Cast::Owner, &reassess, &[("reason", "The counter is another room.")]).await);
    assert!(shop.get(Cast::Owner, &path).await.all(".notice.late").is_empty());
    // A sign-in ends when it is not used, so somebody looks in every three weeks.
    for _ in 0..18 {
        shop.later(Duration::days(21));
        assert_eq!(shop.get(Cast::Owner, "/plan").await.status, StatusCode::OK);
    }
    assert!(shop.get(Cast::Owner, "/plan").await.text.contains("to be reassessed since"));
    assert!(shop.get(Cast::Owner, "/").await.text.contains("Reassess Cold storage"));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn somebody_else_watches_how_a_check_is_made() {
    let (shop, _, _) = with_cold_storage().await;
    let path = shop.get(Cast::Owner, "/plan").await.attribute("ul.ruled a", "href").unwrap();
    let page = shop.get(Cast::Reviewer, &path).await;
    let check = page.attribute("select[name=check] option:nth-of-type(2)", "value").unwrap();
    let (own, other) = (Cast::Reviewer.id().to_string(), Cast::Cutter.id().to_string());
    let send = async |who: &str| {
        let form =
            [("check", check.as_str()), ("who", who), ("in_order", "yes"), ("words", "Read in the corner.")];
        shop.post(Cast::Reviewer, &format!("{path}/observation"), &form).await
    };
    assert!(send(&own).await.error_at("who").contains("Somebody else"));
    goes_to(&send(&other).await);
    assert!(shop.get(Cast::Inspector, &path).await.text.contains("Watched Cass Underhill make the check"));
    assert_eq!(shop.verify().await.findings, []);
}
