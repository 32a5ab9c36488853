//! The odd jobs of a shop: a helper who comes and goes, a count that was off, a scale that was read wrong, a setting.

use anyhow::{Context, Result};
use rust_decimal::Decimal;

use super::super::teller::Teller;
use super::super::{DAYS, WHILE_TOLD};
use super::batches::Made;
use super::door::kilograms;
use crate::measure::input_day;

/// What was done besides on this day.
pub async fn jobs(t: &mut Teller, days_ago: i64, batches: &[Made]) -> Result<()> {
    match DAYS - days_ago {
        1 => settings(t, days_ago).await,
        4 => helper_comes(t, days_ago).await,
        9 => salt_counted(t, days_ago).await,
        22 => pepper_held(t, days_ago).await,
        30 => helper_goes(t, days_ago).await,
        33 => recipe_laid_aside(t, days_ago).await,
        45 => moved_to_the_dry_end(t, days_ago, batches).await,
        52 => helper_returns(t, days_ago).await,
        67 => inspector_expected(t, days_ago).await,
        60 => humidity_of_the_cooler(t, days_ago).await,
        66 => the_inspector_calls(t, days_ago, batches).await,
        _ => Ok(()),
    }
}

async fn settings(t: &mut Teller, days_ago: i64) -> Result<()> {
    t.at(days_ago, 7, 30)?;
    t.is("petra");
    let shop = [
        ("shop", "Larkmoor Butchers"),
        ("address", "2 Weir Street\nLarkmoor LM1 4WS"),
        ("number", "UK LM 027"),
        ("system", "metric"),
        ("zone", "Europe/London"),
        ("currency", "GBP"),
        ("small_division", "0.1 g"),
        ("large_division", "5 g"),
    ];
    t.signs("/setup/shop", &shop).await?;
    t.signs("/costs/method", &[("by", "weight"), ("by_products_first", "")]).await?;
    let door = [
        ("chilled", "4"),
        ("carcass", "7"),
        ("offal", "3"),
        ("solution", "yes"),
        ("frozen", "yes"),
        ("supplier", "yes"),
        ("docket", "yes"),
    ];
    t.signs("/receiving/checks", &door).await?;
    let size = [
        ("name", "counter label, 70 × 50"),
        ("unit", "mm"),
        ("width", "70"),
        ("height", "50"),
        ("uses", "pack"),
    ];
    t.signs("/setup/labels", &size).await?;
    Ok(())
}

async fn helper_comes(t: &mut Teller, days_ago: i64) -> Result<()> {
    t.at(days_ago, 8, 0)?;
    t.is("petra");
    let helper = [
        ("name", "Kit Sorrell"),
        ("sign_in", "kit"),
        ("initials", "KS"),
        ("roles", "cutter"),
        ("password", WHILE_TOLD),
    ];
    t.signs("/setup/people", &helper).await?;
    t.looks_around().await?;
    let path = helper_path(t)?;
    let changed = [
        ("name", "Kit Sorrell"),
        ("sign_in", "kit"),
        ("initials", "KS"),
        ("roles", "cutter"),
        ("roles", "curer"),
    ];
    t.signs(&path, &changed).await?;
    t.signs(&format!("{path}/password"), &[("password", "another while it is told")]).await?;
    Ok(())
}

fn helper_path(t: &Teller) -> Result<String> {
    Ok(format!("/setup/people/{}", t.id("person Kit Sorrell")?))
}

async fn helper_goes(t: &mut Teller, days_ago: i64) -> Result<()> {
    t.at(days_ago, 17, 50)?;
    t.is("petra");
    t.signs(&format!("{}/retirement", helper_path(t)?), &[]).await?;
    Ok(())
}

async fn helper_returns(t: &mut Teller, days_ago: i64) -> Result<()> {
    t.at(days_ago, 8, 0)?;
    t.is("petra");
    t.signs(&format!("{}/return", helper_path(t)?), &[("password", WHILE_TOLD)]).await?;
    Ok(())
}

/// The stock count of an evening says that there is less salt than the book does.
async fn salt_counted(t: &mut Teller, days_ago: i64) -> Result<()> {
    t.at(days_ago, 18, 5)?;
    t.is("ines");
    let salt = t.lot("sea salt", Decimal::ONE_THOUSAND).await?;
    let weight = kilograms((salt.grams.decimal() - Decimal::from(85)).round());
    let counted =
        [("weight", weight.as_str()), ("weight_unit", "kg"), ("reason", "Spilt when the sack was opened")];
    t.signs(&format!("{}/count", salt.id.path()), &counted).await?;
    Ok(())
}

/// A sack is held for a torn seal, and let go when its supplier has answered.
async fn pepper_held(t: &mut Teller, days_ago: i64) -> Result<()> {
    t.at(days_ago, 10, 30)?;
    t.is("ines");
    let pepper = t.lot("juniper berries", Decimal::ONE).await?;
    t.signs("/checks/holds", &[("code", &pepper.code), ("reason", "The inner bag's seal was torn")]).await?;
    let line = t.last_line().await?;
    t.at(days_ago, 15, 15)?;
    t.is("wilf");
    let words = "Harrow & Pell confirm that the lot is sound; the bag was looked through, dry and clean.";
    t.signs(&format!("/checks/holds/{}/{line}", pepper.id), &[("words", words)]).await?;
    Ok(())
}

async fn recipe_laid_aside(t: &mut Teller, days_ago: i64) -> Result<()> {
    t.at(days_ago, 12, 20)?;
    t.is("ines");
    let (product, meat) = (t.id("item lardo")?.to_owned(), t.id("item pork back fat")?.to_owned());
    let salt = t.id("item sea salt")?.to_owned();
    let trial = [
        ("name", "Back fat, a trial"),
        ("kind", "dry cure, excess salt"),
        ("product", product.as_str()),
        ("role", "meat"),
        ("item", meat.as_str()),
        ("percent", "100"),
        ("per", "meat"),
        ("tolerance", "5"),
        ("salt", ""),
        ("sugar", ""),
        ("role", "salt"),
        ("item", salt.as_str()),
        ("percent", "12"),
        ("per", "meat"),
        ("tolerance", "5"),
        ("salt", ""),
        ("sugar", ""),
        ("stage", "curing"),
        ("lasts", "60"),
        ("lasts_in", "days"),
        ("step_note", ""),
    ];
    let path = t.signs("/recipes/new", &trial).await?;
    t.signs(&format!("{path}/retirement"), &[("retired", "yes")]).await?;
    Ok(())
}

/// Pieces that dry too slowly hang nearer to the fan.
async fn moved_to_the_dry_end(t: &mut Teller, days_ago: i64, batches: &[Made]) -> Result<()> {
    t.at(days_ago, 11, 25)?;
    t.is("dunstan");
    let beef = batches.iter().find(|made| made.key == "beef").context("the beef was made")?;
    let lots: Vec<String> =
        t.pieces(&beef.path).await?.iter().take(2).map(|piece| piece.id.to_string()).collect();
    let to = t.id("place chamber 1, rail A")?;
    let mut form: Vec<(&str, &str)> = lots.iter().map(|lot| ("lot", lot.as_str())).collect();
    form.extend([("codes", ""), ("to", to), ("hook", ""), ("when", "")]);
    t.signs("/hanging/move", &form).await?;
    Ok(())
}

/// The inspector is expected this week: the sign-in is opened anew, and the shop says how long it keeps its records.
async fn inspector_expected(t: &mut Teller, days_ago: i64) -> Result<()> {
    t.at(days_ago, 12, 10)?;
    t.is("petra");
    let path = format!("/setup/people/{}/admission", t.id("person Greta Lindqvist")?);
    t.signs(&path, &[("days", "14")]).await?;
    let longer =
        [("class", "refrigerated"), ("months", "24"), ("reason", "One period for everything that is cured")];
    t.signs("/inspection/retention", &longer).await?;
    Ok(())
}

/// Nothing limits it, so it is a reading and no check.
async fn humidity_of_the_cooler(t: &mut Teller, days_ago: i64) -> Result<()> {
    t.at(days_ago, 12, 0)?;
    t.is("dunstan");
    let form = [
        ("place", t.id("place cooler 1")?),
        ("quantity", "humidity"),
        ("value", "81"),
        ("instrument", t.id("instrument chamber sensor")?),
    ];
    t.signs("/checks/record", &form).await?;
    Ok(())
}

/// The first batch's records and a fortnight of the whole shop, handed over.
async fn the_inspector_calls(t: &mut Teller, days_ago: i64, batches: &[Made]) -> Result<()> {
    t.at(days_ago, 15, 40)?;
    t.is("petra");
    let first = batches.first().context("a batch")?;
    let batch = first.path.rsplit('/').next().unwrap_or_default();
    let reader = [("reader", "environmental health officer, yearly visit")];
    t.signs(&format!("/packet/batch-{batch}"), &reader).await?;
    let (from, to) = (input_day(t.day(days_ago + 14)), input_day(t.day(days_ago)));
    t.signs(&format!("/packet/days-{from}-{to}"), &reader).await?;
    Ok(())
}
