//! What comes in and what goes out.

use anyhow::Result;
use rust_decimal::Decimal;

use super::super::db::Lying;
use super::super::teller::Teller;
use super::batches::{Made, SALAMI_A};
use super::release::release;
use crate::measure::input_day;

/// Day, farm, docket, kilograms, breed, ear tag, °C, price a kilogram.
type Carcass =
    (i64, &'static str, &'static str, &'static str, &'static str, &'static str, &'static str, &'static str);

const CARCASSES: [Carcass; 5] = [
    (69, "Copperholt Farm", "CF-2207", "88.6", "Oxford Sandy and Black", "UK 512204 00318", "3.1", "4.05"),
    (55, "Windlow Farm", "1184", "96.2", "Large Black", "UK 730911 00052", "2.8", "4.20"),
    (41, "Copperholt Farm", "CF-2231", "90.8", "Oxford Sandy and Black", "UK 512204 00331", "3.4", "4.05"),
    (20, "Windlow Farm", "1207", "94.5", "Large Black", "UK 730911 00067", "3.0", "4.20"),
    (1, "Copperholt Farm", "CF-2260", "92.4", "Oxford Sandy and Black", "UK 512204 00349", "2.9", "4.10"),
];

/// Thing, kilograms, price a kilogram, supplier's lot, NaNO2 %, NaNO3 %.
const DRY_GOODS: [(&str, &str, &str, &str, &str, &str); 11] = [
    ("sea salt", "25", "0.90", "HP-S-4471", "", ""),
    ("cure, short (nitrite)", "2", "9.50", "HP-C1-118", "6.25", ""),
    ("cure, long (nitrite and nitrate)", "2", "11.20", "HP-C2-093", "6.25", "4"),
    ("dextrose", "5", "2.60", "HP-D-2210", "", ""),
    ("cane sugar", "5", "1.80", "HP-Z-0917", "", ""),
    ("black pepper, cracked", "2", "14.00", "HP-P-3321", "", ""),
    ("fennel seed", "1", "12.50", "HP-F-1127", "", ""),
    ("juniper berries", "1", "16.00", "HP-J-0410", "", ""),
    ("bay leaf", "0.25", "22.00", "HP-B-0077", "", ""),
    ("thyme", "0.25", "19.00", "HP-T-0303", "", ""),
    ("starter culture", "0.1", "480.00", "HP-K-5150", "", ""),
];

/// Thing, kilograms, price a kilogram, supplier's lot.
const CASINGS: [(&str, &str, &str, &str); 2] =
    [("beef middle 55-60 mm", "4", "28.00", "FC-BM-26-31"), ("beef bung", "2", "19.00", "FC-BB-26-12")];

/// What came on this day.
pub async fn deliveries(t: &mut Teller, days_ago: i64) -> Result<()> {
    for (day, farm, docket, kilograms, breed, tag, degrees, price) in CARCASSES {
        if day == days_ago {
            t.at(days_ago, 8, 20)?;
            t.is("dunstan");
            let at = docket_opened(t, farm, docket, "3.6").await?;
            let meat = [
                ("species", "pig"),
                ("breed", breed),
                ("ear_tag", tag),
                ("basis", "chilled"),
                ("frozen", "fresh"),
                ("temperature", degrees),
                ("establishment", "UK HG 009"),
            ];
            line(t, &at, "pig carcass", kilograms, price, "cooler 1", &meat, Some(days_ago + 2)).await?;
        }
    }
    match days_ago {
        69 => goods(t, days_ago).await,
        48 => boxed_beef(t, days_ago).await,
        34 => refused_loin(t, days_ago).await,
        _ => Ok(()),
    }
}

async fn docket_opened(t: &Teller, supplier: &str, docket: &str, vehicle: &str) -> Result<String> {
    let supplier = t.id(&format!("supplier {supplier}"))?;
    let form = [("supplier", supplier), ("docket", docket), ("vehicle", vehicle), ("when", "")];
    t.signs("/receiving/deliveries/new", &form).await
}

#[allow(clippy::too_many_arguments, reason = "a line of a docket, in the order of its form")]
async fn line(
    t: &Teller,
    at: &str,
    item: &str,
    kilograms: &str,
    price: &str,
    place: &str,
    more: &[(&str, &str)],
    slaughtered: Option<i64>,
) -> Result<()> {
    let day = slaughtered.map(|days_ago| input_day(t.day(days_ago))).unwrap_or_default();
    let mut form = vec![
        ("item", t.id(&format!("item {item}"))?),
        ("weight", kilograms),
        ("weight_unit", "kg"),
        ("price", price),
        ("place", t.id(&format!("place {place}"))?),
        ("slaughtered", day.as_str()),
    ];
    if !more.iter().any(|(name, _)| *name == "answer") {
        form.push(("answer", "received"));
    }
    form.extend_from_slice(more);
    t.signs(at, &form).await?;
    Ok(())
}

async fn goods(t: &mut Teller, days_ago: i64) -> Result<()> {
    t.at(days_ago, 10, 5)?;
    t.is("ines");
    let best_before = input_day(t.day(-300));
    let at = docket_opened(t, "Harrow & Pell Dry Goods", "HP 66120", "").await?;
    for (item, kilograms, price, lot, nitrite, nitrate) in DRY_GOODS {
        let cure = if nitrite.is_empty() { "no" } else { "yes" };
        let more = [
            ("supplier_lot", lot),
            ("best_before", best_before.as_str()),
            ("cure", cure),
            ("nitrite", nitrite),
            ("nitrate", nitrate),
        ];
        line(t, &at, item, kilograms, price, "dry store", &more, None).await?;
    }
    let at = docket_opened(t, "Fairlight Casings", "F/2026/0912", "").await?;
    for (item, kilograms, price, lot) in CASINGS {
        let more = [("supplier_lot", lot), ("best_before", best_before.as_str())];
        line(t, &at, item, kilograms, price, "cooler 1", &more, None).await?;
    }
    Ok(())
}

async fn boxed_beef(t: &mut Teller, days_ago: i64) -> Result<()> {
    t.at(days_ago, 9, 10)?;
    t.is("dunstan");
    let at = docket_opened(t, "Marshgate Meats", "MM 40918", "2.9").await?;
    let meat = [
        ("species", "beef"),
        ("breed", ""),
        ("slaughter_lot", "MM-L-2231"),
        ("frozen", "fresh"),
        ("solution", "0"),
        ("temperature", "2.2"),
        ("establishment", "UK HG 022"),
    ];
    line(t, &at, "beef eye of round", "11.6", "11.80", "cooler 1", &meat, Some(days_ago + 9)).await
}

async fn refused_loin(t: &mut Teller, days_ago: i64) -> Result<()> {
    t.at(days_ago, 11, 40)?;
    t.is("dunstan");
    let at = docket_opened(t, "Marshgate Meats", "MM 41377", "9.4").await?;
    let meat = [
        ("species", "pig"),
        ("slaughter_lot", "MM-L-2290"),
        ("frozen", "fresh"),
        ("solution", "0"),
        ("temperature", "8.1"),
        ("establishment", "UK HG 022"),
        ("answer", "refused"),
        ("reason", "8.1 °C at the surface, the vehicle's cooling had failed"),
    ];
    line(t, &at, "pork loin", "18.4", "5.60", "cooler 1", &meat, Some(days_ago + 4)).await
}

/// What left on this day.
pub async fn leave(t: &mut Teller, days_ago: i64, batches: &[Made]) -> Result<()> {
    for (day, ..) in CARCASSES {
        if day - 2 == days_ago {
            fresh_cuts(t, days_ago).await?;
        }
        if day - 3 == days_ago {
            discard_bones(t, days_ago).await?;
        }
    }
    let salami = batches.iter().find(|made| made.key == SALAMI_A);
    let pancetta = batches.iter().find(|made| made.key == "pancetta");
    match (days_ago, salami, pancetta) {
        (15, Some(salami), _) => {
            let measured = ["0.876", "0.873", "0.871"];
            release(t, days_ago, salami, 1..=12, &measured, "Cut one: even in colour, no soft core.").await?;
            send(t, days_ago, 15, "The Lantern Rooms", &salami.path, 4, "34.00").await?;
            send(t, days_ago, 16, "Fennick's Deli", &salami.path, 3, "33.00").await
        }
        (12, _, Some(pancetta)) => {
            release(t, days_ago, pancetta, 1..=4, &["0.906", "0.904"], "Firm, the fat white.").await?;
            send(t, days_ago, 15, "Station Street Grocer", &pancetta.path, 1, "26.50").await
        }
        (7, Some(salami), _) => {
            pack(t, days_ago, &salami.path).await?;
            send(t, days_ago, 16, "Station Street Grocer", &salami.path, 2, "33.00").await
        }
        (5, Some(salami), _) => {
            let measured = ["0.869", "0.866", "0.866"];
            release(t, days_ago, salami, 13..=20, &measured, "The rest.").await
        }
        (3, _, Some(pancetta)) => send(t, days_ago, 15, "Fennick's Deli", &pancetta.path, 1, "26.50").await,
        _ => Ok(()),
    }
}

/// The first pieces of a batch that are still here go to a customer, whole.
async fn send(
    t: &mut Teller,
    days_ago: i64,
    hour: u8,
    customer: &str,
    batch: &str,
    count: usize,
    price: &str,
) -> Result<()> {
    t.at(days_ago, hour, 20)?;
    t.is("petra");
    let codes: Vec<String> = t.pieces(batch).await?.into_iter().take(count).map(|piece| piece.code).collect();
    let lots = t.lots_by_code(&codes).await?;
    let customer = t.id(&format!("customer {customer}"))?.to_owned();
    docket(t, &customer, &lots, price).await
}

async fn docket(t: &Teller, customer: &str, lots: &[Lying], price: &str) -> Result<()> {
    let mut form = vec![("customer", customer.to_owned()), ("act", "sign".to_owned())];
    form.extend(whole(lots, price));
    sign(t, "/dispatch/new", &form).await
}

/// Lines that take all of each lot.
fn whole<'a>(lots: &'a [Lying], price: &'a str) -> impl Iterator<Item = (&'static str, String)> + 'a {
    lots.iter().flat_map(move |lot| {
        [
            ("lot", lot.id.to_string()),
            ("weight", String::new()),
            ("weight_unit", "kg".to_owned()),
            ("whole", lot.grams.to_string()),
            ("price", price.to_owned()),
        ]
    })
}

async fn sign(t: &Teller, path: &str, form: &[(&'static str, String)]) -> Result<()> {
    let form: Vec<(&str, &str)> = form.iter().map(|(name, value)| (*name, value.as_str())).collect();
    t.signs(path, &form).await?;
    Ok(())
}

/// One salami in packs for the counter, and over the counter they go.
async fn pack(t: &mut Teller, days_ago: i64, batch: &str) -> Result<()> {
    t.at(days_ago, 11, 0)?;
    t.is("ines");
    let pieces = t.pieces(batch).await?;
    let Some(piece) = pieces.first() else { return Ok(()) };
    let best_before = input_day(t.day(days_ago - 40));
    let form = [
        ("lot", piece.id.to_string()),
        ("act", "sign".into()),
        ("count", "4".into()),
        ("weight", "100".into()),
        ("weight_unit", "g".into()),
        ("loss", String::new()),
        ("loss_unit", "g".into()),
        ("rest", "yes".into()),
        ("place", t.id("place counter")?.to_owned()),
        ("date_word", "best before".into()),
        ("use_by", best_before),
        ("keep", "Keep refrigerated at or below 4 °C".into()),
    ];
    sign(t, "/dispatch/pack", &form).await
}

/// What is sold fresh: the kitchen takes the large cuts, the rest goes over the counter.
async fn fresh_cuts(t: &mut Teller, days_ago: i64) -> Result<()> {
    t.at(days_ago, 15, 30)?;
    t.is("petra");
    let kitchen = t.id("customer The Lantern Rooms")?.to_owned();
    let lots = lots_of(t, &["pork butt, boneless", "pork back ribs", "pork tenderloin"]).await?;
    docket(t, &kitchen, &lots, "9.80").await?;
    let counter = [
        "pork hock",
        "pork picnic, boneless",
        "pork trim 80/20",
        "pork leg, rump",
        "pork fore feet",
        "pork hind feet",
    ];
    let lots = lots_of(t, &counter).await?;
    docket(t, "counter", &lots, "6.40").await
}

async fn lots_of(t: &Teller, items: &[&str]) -> Result<Vec<Lying>> {
    let mut all = Vec::new();
    for item in items {
        all.extend(t.lots(item).await?);
    }
    Ok(all)
}

async fn discard_bones(t: &mut Teller, days_ago: i64) -> Result<()> {
    t.at(days_ago, 17, 10)?;
    t.is("petra");
    let lots = lots_of(t, &["pork bones", "pork skin", "pig head", "pork soft fat", "pork leaf fat"]).await?;
    let mut form = vec![("act", "sign".to_owned()), ("reason", "Fetched by the renderer".to_owned())];
    form.extend(whole(&lots, ""));
    sign(t, "/dispatch/discard", &form).await
}

/// A weight in kilograms as it is typed.
pub fn kilograms(grams: Decimal) -> String {
    (grams / Decimal::ONE_THOUSAND).normalize().to_string()
}
