//! Sums of the trade through the router: each page without a script, with good figures, with bad ones, and who may read it.

use axum::http::StatusCode;

use crate::shop::{Cast, Page, Shop, goes_to};

const PAGES: [&str; 8] = ["ppm", "brine", "belly", "blend", "days", "sack", "links", "water"];

/// The big figures of a page by their names.
fn figure(page: &Page, name: &str) -> String {
    let names = page.all("dl.figures dt");
    let at = names.iter().position(|one| one == name).unwrap_or_else(|| panic!("no {name} in {names:?}"));
    page.all("dl.figures dd.big")[at].clone()
}

fn fact(page: &Page, name: &str) -> String {
    let names = page.all("dl.facts dt");
    let at = names.iter().position(|one| one == name).unwrap_or_else(|| panic!("no {name} in {names:?}"));
    page.all("dl.facts dd")[at].clone()
}

async fn asked(shop: &Shop, page: &str, query: &str) -> Page {
    let page = shop.get(Cast::Inspector, &format!("/reckoning/{page}?reckon=yes&{query}")).await;
    assert_eq!(page.status, StatusCode::OK, "{query}: {:?}", page.all(".error"));
    page
}

/// Refused at the field, and what was typed stays.
async fn refused(shop: &Shop, page: &str, query: &str, field: &str) -> String {
    let drawn = shop.get(Cast::Curer, &format!("/reckoning/{page}?reckon=yes&{query}")).await;
    assert_eq!(drawn.status, StatusCode::UNPROCESSABLE_ENTITY, "{page}?{query}");
    let says = drawn.error_at(field);
    assert!(!says.is_empty(), "{page}?{query}: {:?}", drawn.all(".error"));
    for pair in query.split('&') {
        let Some((name, value)) = pair.split_once('=') else { continue };
        if let Some(shown) = drawn.attribute(&format!("input[name={name}][type=text]"), "value") {
            assert_eq!(shown, value.replace('+', " "), "{page}: {name}");
        }
    }
    says
}

#[tokio::test]
async fn every_page_is_there_for_who_is_signed_in_and_asks_nothing_of_the_book() {
    let shop = Shop::open().await;
    let before = shop.lines().await;
    let index = shop.get(Cast::Inspector, "/reckoning").await;
    // The sanitizer's page belongs to a room of its own.
    assert_eq!(index.all("a.tile").len(), PAGES.len() + 1);
    assert!(shop.get(Cast::Cutter, "/recipes").await.all("a[href='/reckoning']").len() == 1);
    for page in PAGES {
        let path = format!("/reckoning/{page}");
        for cast in [Cast::Owner, Cast::Cutter, Cast::Inspector] {
            let drawn = shop.get(cast, &path).await;
            assert_eq!(drawn.status, StatusCode::OK, "{page}");
            assert!(drawn.all(".errors").is_empty() && !drawn.all(".empty").is_empty(), "{page}");
        }
        assert_eq!(shop.get(Cast::Stranger, &path).await.status, StatusCode::SEE_OTHER);
        let empty = shop.get(Cast::Owner, &format!("{path}?reckon=yes")).await;
        assert_eq!(empty.status, StatusCode::UNPROCESSABLE_ENTITY, "{page}");
        assert!(!empty.all(".errors").is_empty() && !empty.all(".field .error").is_empty(), "{page}");
        let posted = shop.post(Cast::Owner, &path, &[("reckon", "yes")]).await;
        assert_eq!(posted.status, StatusCode::METHOD_NOT_ALLOWED, "{page}");
    }
    assert_eq!(shop.lines().await, before);
}

#[tokio::test]
async fn ppm_of_a_cure_by_every_method_and_in_every_expression() {
    let shop = Shop::open().await;
    // 9 CFR 424.21(c): 4 oz of a 6.25 % cure to 100 lb.
    let page = asked(&shop, "ppm", "method=comminuted&meat=100+lb&cure=4+oz&nitrite=6.25").await;
    assert_eq!(figure(&page, "Ingoing nitrite"), "156 ppm");
    assert_eq!(fact(&page, "Nitrite unrounded"), "156.25 ppm as sodium nitrite");
    assert_eq!(fact(&page, "The same as nitrite ion"), "104.19 ppm");
    assert_eq!(fact(&page, "Base"), "of the meat block");
    assert!(fact(&page, "Source").contains("7620.3"));
    assert!(page.one("main").contains("not a permission"));
    for (query, says) in [
        ("method=dry+cured&meat=1+kg&cure=7.8+g&nitrite=6,25", "488 ppm"),
        ("method=pumped+or+massaged&pickle=1000+lb&taken=10&cure=2+lb&nitrite=100", "200 ppm"),
        ("method=immersion,+by+pick-up&pickle=5+kg&taken=10&cure=160&nitrite=6.25", "200 ppm"),
        ("method=immersion,+at+equilibrium&meat=10+kg&pickle=5+kg&cure=160&nitrite=6.25", "667 ppm"),
        ("method=on+the+whole+batch&meat=10+kg&cure=32&nitrite=6.25", "200 ppm"),
        // 148 ppm of the potassium salt are 120 of the sodium salt.
        ("method=comminuted&meat=1000+kg&cure=148+g&nitrite=100&nitrite_as=potassium+nitrite", "120 ppm"),
        ("method=comminuted&meat=1000+kg&cure=80+g&nitrite=66&nitrite_as=nitrite+ion", "79 ppm"),
    ] {
        assert_eq!(figure(&asked(&shop, "ppm", query).await, "Ingoing nitrite"), says, "{query}");
    }
    let cover = "method=pumped+or+massaged&pickle=1+kg&taken=10&cure=16&nitrite=6.25&cover_cure=32&cover_nitrite=6.25\
                 &cover_nitrate=4&cover_pickle=1+kg&cover_taken=2";
    let both = asked(&shop, "ppm", &format!("{cover}&wanted=120")).await;
    assert_eq!(figure(&both, "Ingoing nitrite"), "140 ppm");
    assert_eq!(figure(&both, "Ingoing nitrate"), "26 ppm");
    assert_eq!(fact(&both, "From the cover pickle"), "40 ppm");
    // 120 less the cover's 40 are 80 of the pump's 100: 12.8 of its 16 g.
    assert_eq!(figure(&both, "Cure for 120 ppm"), "12.8 g");
    assert_eq!(fact(&both, "To leave out for 120 ppm"), "3.2 g");
    let over = asked(&shop, "ppm", &format!("{cover}&wanted=39")).await;
    assert!(over.one(".notice.late").contains("cover pickle alone gives 40 ppm"));
    assert_eq!(figure(&over, "Cure for 39 ppm"), "0 g");
    let colour =
        asked(&shop, "ppm", "meat=100+lb&accelerator=7/8+oz&accelerator_as=sodium+erythorbate").await;
    assert_eq!(figure(&colour, "Ingoing sodium erythorbate"), "547 ppm");
}

/// What a page says of a limit: the figure, what is asked, how it stands and how much room is left.
fn limit(page: &Page, name: &str) -> String {
    let rows = page.all("table.limits tbody tr");
    let found = rows.iter().find(|row| row.starts_with(name));
    found.unwrap_or_else(|| panic!("no {name} in {rows:?}")).clone()
}

#[tokio::test]
async fn a_sum_of_nitrite_stands_beside_the_limits_in_force_as_on_a_recipe() {
    let shop = Shop::open().await;
    let legal = "method=comminuted&meat=100+lb&cure=4+oz&nitrite=6.25";
    let none = asked(&shop, "ppm", legal).await;
    assert!(none.one("main").contains("has not said whose limits"), "{}", none.one("main"));
    goes_to(&shop.post(Cast::Owner, "/limits", &[("jurisdiction", "United States")]).await);
    // 4 oz of it to 100 lb is the limit itself, in ounces that are no whole hundredths of a gram; a hair more is over it.
    let at = asked(&shop, "ppm", legal).await;
    let row = limit(&at, "Nitrite");
    assert!(row.contains("at most 156.25 ppm") && row.contains("within"), "{row}");
    assert!(row.contains("room for 0 ppm, or 0 g of the cure to 1 kg of meat"), "{row}");
    assert_eq!(at.attribute("section a[href='/limits']", "href").as_deref(), Some("/limits"));
    let over = asked(&shop, "ppm", "method=comminuted&meat=100+lb&cure=4.001+oz&nitrite=6.25").await;
    let row = limit(&over, "Nitrite");
    assert!(row.contains("over the limit") && row.contains("too much by 0.1 ppm"), "{row}");
    // What is only wanted is held as well, and bacon has limits of its own.
    let wanted = asked(&shop, "ppm", "method=dry+cured&meat=1+kg&nitrite=6.25&wanted=201").await;
    assert!(limit(&wanted, "Nitrite").contains("within"), "{}", limit(&wanted, "Nitrite"));
    let bacon = asked(&shop, "ppm", "method=dry+cured&product=bacon&meat=1+kg&nitrite=6.25&wanted=201").await;
    assert!(bacon.all("table.limits tbody tr").concat().contains("over the limit"), "{}", bacon.one("main"));
    let belly = asked(&shop, "belly", "belly=5+kg&share=10&cure=14.4&nitrite=6.25").await;
    assert!(belly.all("table.limits tbody tr").concat().contains("at most 200 ppm"), "{}", belly.one("main"));
    let brine = asked(&shop, "brine", "rest=998+lb&way=pumped&pump=10&nitrite=100&wanted=201").await;
    assert!(limit(&brine, "Nitrite").contains("over the limit"), "{}", limit(&brine, "Nitrite"));
    assert!(shop.get(Cast::Inspector, "/reckoning").await.text.contains("href=\"/sanitizer\""));
}

#[tokio::test]
async fn a_wanted_ppm_turns_the_sum_round_and_never_weighs_above_it() {
    let shop = Shop::open().await;
    let page = asked(&shop, "ppm", "method=dry+cured&meat=1+kg&cure=7.8&nitrite=6.25&wanted=200").await;
    assert_eq!(figure(&page, "Cure for 200 ppm"), "3.2 g");
    assert_eq!(fact(&page, "To leave out for 200 ppm"), "4.6 g");
    assert_eq!(fact(&page, "This cure makes at 200 ppm"), "2.438 kg");
    let exact = asked(&shop, "ppm", "method=dry+cured&meat=1+kg&cure=3.2&nitrite=6.25&wanted=200").await;
    assert!(fact(&exact, "To leave out for 200 ppm").starts_with("nothing"));
    // 156 ppm of 7,777 g are 19.411 g; the scale of 0.1 g weighs 19.4.
    let scale = asked(&shop, "ppm", "meat=7777+g&nitrite=6.25&wanted=156").await;
    assert!(fact(&scale, "The most that the small scale weighs without going over").starts_with("19.4 g"));
}

#[tokio::test]
async fn what_does_not_reckon_is_refused_at_its_field() {
    let shop = Shop::open().await;
    for (page, query, field) in [
        ("ppm", "method=dry+cured&meat=abc&cure=3&nitrite=6.25", "meat"),
        ("ppm", "method=dry+cured&meat=1+kg&cure=3&nitrite=101", "nitrite"),
        ("ppm", "method=dry+cured&meat=1+kg&cure=3", "nitrite"),
        ("ppm", "method=dry+cured&meat=1+kg&nitrite=6.25", "cure"),
        ("ppm", "method=smoked&meat=1+kg&cure=3&nitrite=6.25", "method"),
        ("ppm", "method=pumped+or+massaged&pickle=2+g&taken=10&cure=3+g&nitrite=6.25", "cure"),
        ("ppm", "method=pumped+or+massaged&pickle=1+kg&taken=101&cure=3&nitrite=6.25", "taken"),
        ("ppm", "method=pumped+or+massaged&cure=3&nitrite=6.25", "pickle"),
        ("ppm", "method=dry+cured&meat=1+kg&cure=3&nitrite=6.25&cover_cure=3", "cover_cure"),
        ("ppm", "meat=1+kg&nitrite=6.25&wanted=-5", "wanted"),
        ("brine", "rest=10+kg&way=pumped&nitrite=6.25&wanted=150", "pump"),
        ("brine", "rest=10+kg&way=pumped&pump=10&nitrite=0.6&wanted=600", "wanted"),
        ("brine", "rest=10+kg&way=left+until+level&nitrite=6.25&wanted=150", "meat"),
        ("brine", "rest=&way=pumped&pump=10&nitrite=6.25&wanted=150", "rest"),
        ("belly", "belly=5+kg&rind=5+kg&cure=14&nitrite=6.25", "rind"),
        ("belly", "belly=5+kg&share=100&cure=14&nitrite=6.25", "share"),
        ("blend", "bin1=10+kg&lean1=80&total=10+kg&target=80", "bin1"),
        ("blend", "bin1=10+kg&lean1=80&bin2=10+kg&lean2=50&total=21+kg&target=70", "total"),
        ("blend", "bin1=10+kg&lean1=80&bin2=10+kg&lean2=50&total=10+kg&target=81", "target"),
        ("blend", "bin1=10+kg&lean1=180&bin2=10+kg&lean2=50&total=10+kg&target=70", "lean1"),
        ("blend", "bin1=10+kg&lean1=80&bin3=10+kg&total=10+kg&target=70", "lean3"),
        ("days", "thickness=thick", "thickness"),
        ("days", "thickness=60&cure=50", "green"),
        ("days", "green=2+kg&weighed=2+kg", "cure"),
        ("sack", "sack=1+kg&share=0&batch=10+kg", "share"),
        ("links", "mince=2+kg", "link"),
        ("links", "mince=2+kg&count=0", "count"),
        ("water", "salt=41&moisture=60", "moisture"),
        ("water", "salt=3&moisture=60&loss=60", "loss"),
        ("water", "salt=3&moisture=60&protein=0", "protein"),
    ] {
        refused(&shop, page, query, field).await;
    }
    let outside = "bin1=10+kg&lean1=80&bin2=10+kg&lean2=50&total=15+kg&target=80";
    let says = refused(&shop, "blend", outside, "target").await;
    // 10 kg of 80 and 5 of 50 at the leanest.
    assert!(says.contains("from 60.00 % to 70.00 %"), "{says}");
}

#[tokio::test]
async fn a_brine_is_dosed_and_its_salt_told() {
    let shop = Shop::open().await;
    let pumped = asked(&shop, "brine", "rest=998+lb&way=pumped&pump=10&nitrite=100&wanted=200").await;
    assert_eq!(fact(&pumped, "Base"), "of the green weight");
    assert!(pumped.one("dl.figures .chief").contains("2 lb"), "{}", pumped.one("dl.figures .chief"));
    let level =
        asked(&shop, "brine", "rest=5+kg&way=left+until+level&meat=10+kg&nitrite=6.25&wanted=150&salt=350")
            .await;
    assert_eq!(figure(&level, "Cure for this pickle"), "36.09 g");
    // 350 g and the cure's own 33.83 in 15,036.09 g.
    assert_eq!(figure(&level, "Salt in the meat"), "2.55 %");
    let pump = shop.get(Cast::Cutter, "/reckoning/brine?reckon=pump&green=5670+g&treated=6237+g").await;
    assert_eq!(figure(&pump, "Pump"), "10.00 %");
    let lighter = shop.get(Cast::Cutter, "/reckoning/brine?reckon=pump&green=5670+g&treated=5600+g").await;
    assert!(!lighter.error_at("treated").is_empty(), "{:?}", lighter.all(".error"));
}

#[tokio::test]
async fn the_other_sums_come_out_as_published_or_as_practice_says() {
    let shop = Shop::open().await;
    let belly = asked(&shop, "belly", "belly=5+kg&cure=14.4&nitrite=6.25&wanted=120").await;
    assert_eq!(figure(&belly, "Ingoing nitrite"), "200 ppm");
    assert_eq!(fact(&belly, "On the belly with its rind it would read"), "180 ppm");
    assert_eq!(figure(&belly, "Cure for 120 ppm"), "8.64 g");
    let weighed = asked(&shop, "belly", "belly=5+kg&rind=500+g&share=20&cure=14.4&nitrite=6.25").await;
    assert_eq!(figure(&weighed, "Ingoing nitrite"), "200 ppm");
    let blend =
        asked(&shop, "blend", "bin1=1000+lb&lean1=10&bin2=1000+lb&lean2=25&total=1000+lb&target=20").await;
    assert!(blend.all("tbody td[data-name=Take]")[0].contains("151.20 kg"), "{:?}", blend.all("tbody td"));
    assert!(blend.text.contains("chemical lean") && blend.text.contains("least sum of the squares"));
    let visual =
        asked(&shop, "blend", "kind=visual+lean&bin1=5+kg&lean1=90&bin2=5+kg&lean2=50&total=4+kg&target=70")
            .await;
    assert_eq!(figure(&visual, "Visual lean of the blend"), "70.0 %");
    let days = asked(&shop, "days", "thickness=2+in&green=12+lb&cure=150&weighed=5.5+kg").await;
    assert_eq!(figure(&days, "By its thickness"), "14 days");
    assert_eq!(figure(&days, "At the least"), "24 days");
    assert_eq!(figure(&days, "Expected weight after cure"), "5.593 kg");
    let sack = asked(&shop, "sack", "sack=1+kg&share=0.25&batch=15+kg").await;
    assert_eq!(figure(&sack, "Meat that it makes"), "400.00 kg");
    assert_eq!(figure(&sack, "Whole batches"), "26");
    assert_eq!(figure(&sack, "Left over"), "25 g");
    let links = asked(&shop, "links", "mince=2.5+lb&link=5+oz&count=12").await;
    assert_eq!(figure(&links, "Whole links"), "8");
    assert_eq!(figure(&links, "Each of 12 weighs"), "94.5 g");
    let water = asked(&shop, "water", "salt=2.8&moisture=60&loss=35&protein=20&ph=4.9").await;
    assert_eq!(figure(&water, "The same after drying"), "10.07 %");
    assert_eq!(figure(&water, "Water activity at most"), "0.94 aw");
    // 38.46 over 30.77.
    assert_eq!(figure(&water, "Moisture to protein"), "1.25 to 1");
    assert!(water.one("main").contains("never replaces a meter"));
    let weak = asked(&shop, "water", "salt=1&moisture=65").await;
    assert_eq!(figure(&weak, "Water activity by salt alone"), "no bound");
}

#[tokio::test]
async fn a_batch_says_when_it_cures_for_less_than_practice_and_what_its_pieces_are_to_weigh() {
    let loins = crate::batches::loins().await;
    assert!(!loins.page().await.text.contains("Days and weight of the cure"), "no piece yet");
    loins.cured().await;
    let page = loins.page().await;
    let row = page.all("table:has(td[data-name='Expected after it']) tbody tr:first-child > *");
    // Two loins of 2,000 and 1,600 g share 99 g of salt and 9 g of cure by their weight.
    assert_eq!(row[1..5], ["2.000 kg", "60 g", "2.060 kg", "not weighed yet"], "{row:?}");
    // 2,000 g are 4.41 lb, nine days of practice; the recipe cures for fourteen.
    assert!(page.all(".notice.late").iter().all(|text| !text.contains("common practice")));
    assert_eq!(loins.shop.verify().await.findings, []);
    let heavy = crate::batches::loins().await;
    goes_to(&heavy.muscle("3500").await);
    let says = heavy.page().await.all(".notice.late").join(" ");
    // 7.72 lb at two days each.
    assert!(says.contains("cures for 14 days") && says.contains("16 days at the least"), "{says}");
    assert!(says.contains("stops nothing"), "{says}");
}
