//! Who signs here: added, changed, retired, let in from the console.

use super::*;

const EDDA: &[(&str, &str)] = &[
    ("name", "Edda Lindqvist"),
    ("initials", ""),
    ("sign_in", "Edda"),
    ("roles", "cutter"),
    ("roles", "curer"),
    ("password", "rind and rosemary"),
];

fn with<'a>(field: &'a str, value: &'a str) -> Vec<(&'a str, &'a str)> {
    EDDA.iter().map(|(name, old)| (*name, if *name == field { value } else { *old })).collect()
}

fn person(cast: Cast) -> String {
    format!("/setup/people/{}", cast.id())
}

#[tokio::test]
async fn the_owner_adds_somebody_who_then_signs_in() {
    let shop = Shop::open().await;
    let path = goes_to(&shop.post(Cast::Owner, "/setup/people", EDDA).await);
    let page = shop.get(Cast::Owner, &path).await;
    assert_eq!(page.all("h1"), ["Edda Lindqvist"]);
    assert!(
        page.one("table.lines").contains("Edda Lindqvist signs here as EL"),
        "{}",
        page.one("table.lines")
    );
    assert!(shop.get(Cast::Owner, "/setup/people").await.one("table").contains("cutter, curer"));
    let mut browser = Browser::new(&shop);
    let fields = [("sign_in", "EDDA"), ("password", "rind and rosemary"), ("next", "/me")];
    assert_eq!(goes_to(&browser.post("/sign-in", &fields).await), "/me");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn everybody_sees_who_signs_and_only_the_owner_changes_it() {
    let shop = Shop::open().await;
    let own = person(Cast::Cutter);
    for cast in [Cast::Cutter, Cast::Curer, Cast::Reviewer, Cast::Inspector] {
        for path in ["/setup/people", own.as_str()] {
            let page = shop.get(cast, path).await;
            assert_eq!(page.status, StatusCode::OK, "{cast:?} {path}");
            assert!(page.all("main form").is_empty(), "{cast:?} {path}");
            assert_eq!(shop.post(cast, path, EDDA).await.status, StatusCode::FORBIDDEN, "{cast:?} {path}");
        }
        for below in ["password", "pin", "retirement", "return"] {
            let page = shop.post(cast, &format!("{own}/{below}"), &[]).await;
            assert_eq!(page.status, StatusCode::FORBIDDEN, "{cast:?} {below}");
        }
    }
    assert!(goes_to(&shop.get(Cast::Stranger, "/setup/people").await).starts_with("/sign-in"));
    assert_eq!(shop.post(Cast::Stranger, "/setup/people", EDDA).await.status, StatusCode::UNAUTHORIZED);
    let nobody = format!("/setup/people/{}", fresh_id());
    assert_eq!(shop.get(Cast::Owner, &nobody).await.status, StatusCode::NOT_FOUND);
    assert_eq!(shop.post(Cast::Owner, &nobody, EDDA).await.status, StatusCode::NOT_FOUND);
    assert_eq!(
        shop.post(Cast::Owner, &format!("{nobody}/retirement"), &[]).await.status,
        StatusCode::NOT_FOUND
    );
}

#[tokio::test]
async fn a_person_who_cannot_be_added_stays_typed_and_the_book_unchanged() {
    let shop = Shop::open().await;
    let before = shop.lines().await;
    let long = "a".repeat(200);
    for (field, value, says) in [
        ("name", "", "Give the person's name"),
        ("name", long.as_str(), "too long"),
        ("initials", "ABCDE", "one to four letters"),
        ("initials", "OW", "Somebody else signs with these initials"),
        ("sign_in", "", "name to sign in with"),
        ("sign_in", "ORLA", "Somebody else signs in with this name"),
        ("roles", "king", "no such role"),
        ("password", "short", "at least 10"),
        ("password", "", "at least 10"),
    ] {
        let page = shop.post(Cast::Owner, "/setup/people", &with(field, value)).await;
        assert_eq!(page.status, StatusCode::UNPROCESSABLE_ENTITY, "{field}: {value}");
        assert!(page.error_at(field).contains(says), "{field}: {value}: {}", page.error_at(field));
        let kept = if field == "name" { value } else { "Edda Lindqvist" };
        assert_eq!(page.attribute("input[name=name]", "value").as_deref(), Some(kept));
    }
    let without: Vec<_> = EDDA.iter().copied().filter(|(name, _)| *name != "roles").collect();
    let page = shop.post(Cast::Owner, "/setup/people", &without).await;
    assert_eq!(page.error_at("roles"), "Give at least one role.");
    assert_eq!(shop.lines().await, before);
}

#[tokio::test]
async fn a_person_who_is_sent_twice_is_one_person() {
    let shop = Shop::open().await;
    let id = shop.get(Cast::Owner, "/setup/people").await.form_id();
    let mut fields = vec![("id", id.as_str())];
    fields.extend_from_slice(EDDA);
    let first = goes_to(&shop.post_raw(Cast::Owner, "/setup/people", &fields).await);
    let lines = shop.lines().await;
    assert_eq!(goes_to(&shop.post_raw(Cast::Owner, "/setup/people", &fields).await), first);
    assert_eq!(shop.lines().await, lines);
}

#[tokio::test]
async fn changed_roles_count_at_once_and_the_book_says_so() {
    let shop = Shop::open().await;
    let fields = [
        ("name", "Cass Underhill-Vane"),
        ("initials", "CV"),
        ("sign_in", "cass"),
        ("roles", "inspector"),
        ("days", "7"),
    ];
    assert_eq!(goes_to(&shop.post(Cast::Owner, &person(Cast::Cutter), &fields).await), person(Cast::Cutter));
    assert_eq!(shop.post(Cast::Cutter, "/block", &[]).await.status, StatusCode::FORBIDDEN);
    let page = shop.get(Cast::Owner, &person(Cast::Cutter)).await;
    assert!(page.one("table.lines").contains("signs from here on as CV"), "{}", page.one("table.lines"));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn the_last_owner_neither_retires_nor_gives_the_role_up() {
    let shop = Shop::open().await;
    let fields = [("name", "Orla Whitcombe"), ("initials", "OW"), ("sign_in", "orla"), ("roles", "cutter")];
    let page = shop.post(Cast::Owner, &person(Cast::Owner), &fields).await;
    assert!(page.error_at("roles").contains("the only owner"), "{}", page.text);
    let page = shop.post(Cast::Owner, &format!("{}/retirement", person(Cast::Owner)), &[]).await;
    assert!(page.one(".errors").contains("the only owner"), "{}", page.text);
    shop.post(
        Cast::Owner,
        &person(Cast::Cutter),
        &[("name", "Cass Underhill"), ("initials", "CU"), ("sign_in", "cass"), ("roles", "owner")],
    )
    .await;
    goes_to(&shop.post(Cast::Owner, &person(Cast::Owner), &fields).await);
    let form = "form[action='/setup/people']";
    assert!(shop.get(Cast::Owner, "/setup/people").await.all(form).is_empty());
    assert_eq!(shop.get(Cast::Cutter, "/setup/people").await.all(form).len(), 1);
}

#[tokio::test]
async fn who_retires_is_signed_out_and_can_be_brought_back() {
    let shop = Shop::open().await;
    let mut tablet = tablet(&shop).await;
    goes_to(&shop.post(Cast::Owner, &format!("{}/retirement", person(Cast::Cutter)), &[]).await);
    assert!(goes_to(&shop.get(Cast::Cutter, "/me").await).starts_with("/sign-in"));
    assert_eq!(tablet.post(&door(Cast::Cutter), &[("pin", "2580")]).await.status, StatusCode::NOT_FOUND);
    assert_eq!(tablet.sign_in("cass").await.status, StatusCode::UNPROCESSABLE_ENTITY);
    let page = shop.get(Cast::Owner, &person(Cast::Cutter)).await;
    assert_eq!(page.one(".stamp"), "Retired");
    let twice = shop.post(Cast::Owner, &format!("{}/retirement", person(Cast::Cutter)), &[]).await;
    assert!(twice.one(".errors").contains("has retired"), "{}", twice.text);
    let back = format!("{}/return", person(Cast::Cutter));
    assert!(!shop.post(Cast::Owner, &back, &[("password", "x")]).await.error_at("password").is_empty());
    goes_to(&shop.post(Cast::Owner, &back, &[("password", PASSWORD)]).await);
    assert_eq!(goes_to(&tablet.sign_in("cass").await), "/me");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn a_new_password_from_the_owner_ends_the_old_sign_ins() {
    let shop = Shop::open().await;
    let path = format!("{}/password", person(Cast::Cutter));
    let page = shop.post(Cast::Owner, &path, &[("password", "short")]).await;
    assert!(page.error_at("password").contains("at least 10"), "{}", page.text);
    assert_eq!(shop.get(Cast::Cutter, "/me").await.status, StatusCode::OK);
    goes_to(&shop.post(Cast::Owner, &path, &[("password", "smoke and juniper")]).await);
    assert!(goes_to(&shop.get(Cast::Cutter, "/me").await).starts_with("/sign-in"));
    let fields = [("sign_in", "cass"), ("password", "smoke and juniper"), ("next", "/me")];
    assert_eq!(goes_to(&Browser::new(&shop).post("/sign-in", &fields).await), "/me");
    let lines = shop.get(Cast::Owner, &person(Cast::Cutter)).await.one("table.lines");
    assert!(lines.contains("Cass Underhill was given a new password"), "{lines}");
    assert!(!lines.contains("smoke"));
}

#[tokio::test]
async fn a_pin_from_the_owner_counts_where_its_person_has_signed_in() {
    let shop = Shop::open().await;
    let path = format!("{}/pin", person(Cast::Cutter));
    assert!(!shop.post(Cast::Owner, &path, &[("pin", "1111")]).await.error_at("pin").is_empty());
    goes_to(&shop.post(Cast::Owner, &path, &[("pin", "4071")]).await);
    let mut browser = Browser::new(&shop);
    browser.sign_in("cass").await;
    browser.sign_in("quill").await;
    assert_eq!(goes_to(&browser.post(&door(Cast::Cutter), &[("pin", "4071")]).await), "/");
}

fn newcomer(sign_in: &str) -> Newcomer {
    Newcomer {
        sign_in: sign_in.into(),
        full_name: "Edda Lindqvist".into(),
        initials: String::new(),
        roles: vec![Role::Owner],
    }
}

#[tokio::test]
async fn a_person_added_at_the_console_signs_their_own_first_line() {
    let shop = Shop::open().await;
    let id = console::add(&shop.app, newcomer("Edda"), "rind and rosemary".into()).await.unwrap();
    let lines = shop.get(Cast::Owner, &id.path()).await;
    assert!(lines.one("table.lines").contains("added at the console"), "{}", lines.one("table.lines"));
    assert_eq!(lines.one("table.lines .initials abbr"), "EL");
    let again = console::may_add(&shop.app, &newcomer("edda")).await.unwrap_err().to_string();
    assert!(again.contains("already"), "{again}");
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn the_console_adds_nobody_to_an_empty_book() {
    let shop = Shop::unopened().await;
    let said = console::add(&shop.app, newcomer("Edda"), "rind and rosemary".into()).await.unwrap_err();
    assert!(said.to_string().contains("This book is empty"), "{said}");
    assert_eq!(shop.lines().await, 0);
}

#[tokio::test]
async fn the_console_gives_a_new_password_when_nobody_can_sign_in() {
    let shop = Shop::open().await;
    for _ in 0..9 {
        shop.post(Cast::Stranger, "/sign-in", &[("sign_in", "orla"), ("password", "forgotten")]).await;
    }
    assert!(
        console::may_reset(&shop.app, "nobody").await.unwrap_err().to_string().contains("Nobody signs in")
    );
    console::reset(&shop.app, " Orla ", "smoke and juniper".into()).await.unwrap();
    assert!(goes_to(&shop.get(Cast::Owner, "/me").await).starts_with("/sign-in"));
    let fields = [("sign_in", "orla"), ("password", "smoke and juniper"), ("next", "/me")];
    let mut browser = Browser::new(&shop);
    assert_eq!(goes_to(&browser.post("/sign-in", &fields).await), "/me");
    assert!(browser.get(&person(Cast::Owner)).await.one("table.lines").contains("at the console"));
}

const SHOP: &[(&str, &str)] = &[
    ("shop", "Whitcombe & Daughters"),
    ("address", "3 Tannery Row\nElverford"),
    ("number", "UK EF 014"),
    ("system", "us"),
    ("zone", "Europe/London"),
    ("currency", "GBP"),
    ("small_division", "0.1 g"),
    ("large_division", "10 g"),
];

#[tokio::test]
async fn what_the_shop_says_of_itself_is_changed_by_its_owner_alone() {
    let shop = Shop::open().await;
    for cast in [Cast::Cutter, Cast::Inspector] {
        let page = shop.get(cast, "/setup/shop").await;
        assert_eq!((page.status, page.all("form.sheet").len()), (StatusCode::OK, 0));
        assert_eq!(shop.post(cast, "/setup/shop", SHOP).await.status, StatusCode::FORBIDDEN);
    }
    assert!(goes_to(&shop.get(Cast::Stranger, "/setup/shop").await).starts_with("/sign-in"));
    assert_eq!(goes_to(&shop.post(Cast::Owner, "/setup/shop", SHOP).await), "/setup/shop");
    let page = shop.get(Cast::Owner, "/setup/shop").await;
    assert_eq!(page.all("header.top .shop"), ["Whitcombe & Daughters"]);
    assert_eq!(page.attribute("input[name=large_division]", "value").as_deref(), Some("10 g"));
    assert_eq!(page.attribute("input[name=system][checked]", "value").as_deref(), Some("us"));
    assert_eq!(shop.verify().await.findings, []);
}

#[tokio::test]
async fn the_currency_stays_once_there_are_prices_in_the_book() {
    let shop = Shop::open().await;
    let dollars: Vec<_> =
        SHOP.iter().map(|(name, old)| (*name, if *name == "currency" { "USD" } else { *old })).collect();
    assert_eq!(goes_to(&shop.post(Cast::Owner, "/setup/shop", &dollars).await), "/setup/shop");
    let things = shop.things().await;
    shop.carcass(&things, 92_400).await;
    let page = shop.post(Cast::Owner, "/setup/shop", SHOP).await;
    assert!(page.error_at("currency").contains("USD"), "{}", page.text);
    assert_eq!(page.attribute("input[name=currency]", "value").as_deref(), Some("GBP"));
    let before = shop.lines().await;
    for (field, value) in [
        ("shop", ""),
        ("zone", "Nowhere"),
        ("system", ""),
        ("large_division", "-5 g"),
        ("number", &"9".repeat(60)),
    ] {
        let bad: Vec<_> =
            dollars.iter().map(|(n, old)| (*n, if *n == field { value } else { *old })).collect();
        let page = shop.post(Cast::Owner, "/setup/shop", &bad).await;
        assert!(!page.error_at(field).is_empty(), "{field}");
    }
    assert_eq!(shop.lines().await, before);
}
