//! What each product needs before it is sold, the measuring that shows it, the review, and the release.

use std::ops::RangeInclusive;

use anyhow::{Context, Result};

use super::super::db::Lying;
use super::super::teller::Teller;
use super::batches::Made;
use crate::release::entry::family::shipped;

/// Product, shipped family.
const PRODUCTS: [(&str, &str); 7] = [
    ("coppa", "whole muscle, shelf stable"),
    ("air-dried beef", "whole muscle, shelf stable"),
    ("cured loin", "whole muscle, refrigerated"),
    ("pancetta", "whole muscle, refrigerated"),
    ("guanciale", "whole muscle, refrigerated"),
    ("dry salami", "fermented, dry"),
    ("dry salami, fennel", "fermented, dry"),
];

/// Of beef nothing is asked against parasites; what is of pork rests on the farms' papers.
const OF_BEEF: &str = "air-dried beef";

/// On the first evening every product goes into its family, and is told what is done against parasites in it.
pub async fn place_products(t: &Teller) -> Result<()> {
    let families = shipped()?;
    for (product, key) in PRODUCTS {
        let family = families.iter().find(|family| family.key == key).context("a shipped family")?;
        let family = family.id().to_string();
        let form = [("product", t.id(&format!("item {product}"))?), ("family", family.as_str())];
        t.signs("/release/products", &form).await?;
        if product != OF_BEEF {
            let path = format!("/parasites/products/{}", t.id(&format!("item {product}"))?);
            let letters = "Letters of guarantee of Copperholt and Windlow, renewed each year";
            t.signs(&path, &[("control", "programme"), ("document", letters)]).await?;
        }
    }
    Ok(())
}

/// What is asked is measured, somebody who made none of the records looks them over, and the pieces go to sale.
pub async fn release(
    t: &mut Teller,
    days_ago: i64,
    made: &Made,
    numbers: RangeInclusive<i64>,
    values: &[&str],
    note: &str,
) -> Result<()> {
    t.at(days_ago, 13, 20)?;
    t.is("ines");
    let here = t.pieces(&made.path).await?;
    measure(t, &here, values).await?;
    let batch = made.path.rsplit('/').next().unwrap_or_default();
    let path = format!("/release/{batch}");
    t.at(days_ago, 13, 50)?;
    t.is("petra");
    let upto = t.last_line().await?.to_string();
    t.signs(&format!("{path}/review"), &[("upto", &upto), ("note", "")]).await?;
    t.at(days_ago, 14, 10)?;
    t.is("wilf");
    let chosen = here.iter().filter(|piece| numbers.contains(&piece.number()));
    let pieces: Vec<String> = chosen.map(|piece| piece.id.to_string()).collect();
    let mut form: Vec<(&str, &str)> = pieces.iter().map(|id| ("pieces", id.as_str())).collect();
    form.push(("note", note));
    t.signs(&path, &form).await?;
    Ok(())
}

/// The water activity of the pieces that have lost the least, the wettest first.
async fn measure(t: &Teller, here: &[Lying], values: &[&str]) -> Result<()> {
    let mut wettest: Vec<&Lying> = here.iter().collect();
    wettest.sort_by_key(|piece| super::drying::lag(piece.number()));
    for (piece, value) in wettest.iter().zip(values) {
        let id = piece.id.to_string();
        let form = [
            ("lot", id.as_str()),
            ("quantity", "water activity"),
            ("value", *value),
            ("instrument", t.id("instrument water activity meter")?),
            ("end", "yes"),
        ];
        t.signs("/checks/record", &form).await?;
    }
    Ok(())
}
