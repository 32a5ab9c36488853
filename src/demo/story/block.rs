//! Four carcasses broken down, and their primals in turn.

use anyhow::{Context, Result};
use rust_decimal::Decimal;

use super::super::teller::Teller;
use super::door::kilograms;

/// Thing, hundredths of a per cent of the source, pieces, where it goes.
type Cut = (&'static str, u32, &'static str, &'static str);

const CARCASS: [Cut; 13] = [
    ("pork leg", 2480, "2", "break down further"),
    ("pork loin", 1430, "2", "break down further"),
    ("pork belly", 1480, "2", "whole-muscle cure"),
    ("pork shoulder", 1380, "2", "break down further"),
    ("pork collar", 610, "2", "whole-muscle cure"),
    ("pork jowl", 300, "2", "whole-muscle cure"),
    ("pork back fat", 520, "1", "mince"),
    ("pork leaf fat", 160, "1", "render"),
    ("pork trim 80/20", 390, "1", "mince"),
    ("pig head", 560, "1", "stock"),
    ("pork fore feet", 120, "2", "stock"),
    ("pork hind feet", 140, "2", "stock"),
    ("pork bones", 210, "1", "stock"),
];

const LEG: [Cut; 6] = [
    ("pork trim 90/10", 5600, "1", "mince"),
    ("pork leg, rump", 1250, "2", "fresh counter"),
    ("pork hock", 900, "2", "fresh counter"),
    ("pork soft fat", 600, "1", "render"),
    ("pork skin", 550, "1", "render"),
    ("pork bones", 920, "1", "stock"),
];

const LOIN: [Cut; 6] = [
    ("pork loin eye", 4650, "2", "whole-muscle cure"),
    ("pork tenderloin", 520, "2", "fresh counter"),
    ("pork back ribs", 1230, "2", "fresh counter"),
    ("pork back fat", 1060, "2", "mince"),
    ("pork trim 80/20", 900, "1", "mince"),
    ("pork bones", 1480, "1", "stock"),
];

const SHOULDER: [Cut; 7] = [
    ("pork butt, boneless", 3830, "2", "fresh counter"),
    ("pork picnic, boneless", 2580, "2", "fresh counter"),
    ("pork hock", 900, "2", "fresh counter"),
    ("pork trim 80/20", 800, "1", "mince"),
    ("pork soft fat", 500, "1", "render"),
    ("pork skin", 550, "1", "render"),
    ("pork bones", 740, "1", "stock"),
];

/// The days on which a carcass comes on the block.
const DAYS: [i64; 4] = [68, 54, 40, 19];

/// What was broken down on this day.
pub async fn breakdowns(t: &mut Teller, days_ago: i64) -> Result<()> {
    if !DAYS.contains(&days_ago) {
        return Ok(());
    }
    t.at(days_ago, 9, 0)?;
    t.is("dunstan");
    break_down(t, days_ago, "pig carcass", "Pig carcass", &CARCASS).await?;
    t.at(days_ago, 10, 30)?;
    break_down(t, days_ago, "pork leg", "Pig leg", &LEG).await?;
    break_down(t, days_ago, "pork loin", "Boxed loin", &LOIN).await?;
    break_down(t, days_ago, "pork shoulder", "Pig shoulder", &SHOULDER).await
}

async fn break_down(t: &Teller, days_ago: i64, source: &str, list: &str, cuts: &[Cut]) -> Result<()> {
    let lot = t.lots(source).await?.pop().with_context(|| format!("no {source} to break down"))?;
    let id = lot.id.to_string();
    let at = t.signs("/block", &[("lot", &id), ("cut_list", t.id(&format!("cut list {list}"))?)]).await?;
    for (n, (item, share, pieces, goes_to)) in (0..).zip(cuts) {
        let grams = portion(lot.grams.decimal(), *share, days_ago + n);
        if *item == "pork collar" && days_ago == 68 {
            weigh(t, &at, (item, *share, pieces, goes_to), grams + Decimal::from(440)).await?;
            let line = t.last_line().await?;
            t.signs(&format!("/entries/{line}/strike"), &[("reason", "The knife lay on the scale")]).await?;
        }
        weigh(t, &at, (item, *share, pieces, goes_to), grams).await?;
    }
    let at = at.split('?').next().unwrap_or(&at);
    if days_ago == 54 && source == "pork shoulder" {
        let left = t.lot(source, Decimal::ONE).await?.grams.decimal();
        let weight = kilograms(left + Decimal::from(20));
        let again = [
            ("weight", weight.as_str()),
            ("weight_unit", "kg"),
            ("reason", "The scale stood askew the first time"),
        ];
        t.signs(&format!("{at}/source"), &again).await?;
    }
    t.signs(&format!("{at}/closing"), &[("reason", "")]).await?;
    Ok(())
}

async fn weigh(
    t: &Teller,
    at: &str,
    (item, _, pieces, goes_to): (&str, u32, &str, &str),
    grams: Decimal,
) -> Result<()> {
    let weight = kilograms(grams);
    let place = match goes_to {
        "fresh counter" => "counter",
        _ => "cooler 1",
    };
    let form = [
        ("cut", t.id(&format!("item {item}"))?),
        ("weight", weight.as_str()),
        ("weight_unit", "kg"),
        ("pieces", pieces),
        ("goes_to", goes_to),
        ("fat", ""),
        ("place", t.id(&format!("place {place}"))?),
        ("when", ""),
    ];
    t.signs(at, &form).await?;
    Ok(())
}

/// A share of the source in steps of 5 g, a little off so that no two animals are alike.
fn portion(source: Decimal, share: u32, salt: i64) -> Decimal {
    let off = Decimal::from((salt * 37) % 21 - 14) / Decimal::from(1000);
    let exact = source * Decimal::from(share) / Decimal::from(10_000) * (Decimal::ONE + off);
    (exact / Decimal::from(5)).round() * Decimal::from(5)
}
