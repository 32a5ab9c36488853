//! What reckoning adds to a batch's page: whether its days of cure are shorter than common practice, and what each piece was
//! expected to weigh after it. It warns and never blocks.

use askama::Template;
use rust_decimal::Decimal;

use crate::ids::BatchId;
use crate::measure::Grams;
use crate::recipes::RecipeKind;
use crate::reckoning::db::{self, Cured};
use crate::standards::{BadFigure, equilibrium};
use crate::web::parts::{Fact, Notice};
use crate::web::{App, Drawn, Me, Shop};

const HOURS_A_DAY: Decimal = Decimal::from_parts(24, 0, 0, false, 0);

struct Row {
    href: String,
    code: String,
    green: String,
    cure: String,
    expected: String,
    weighed: String,
    difference: String,
}

#[derive(Template)]
#[template(path = "reckoning/panel.html")]
struct CurePanel {
    notices: Vec<Notice>,
    rows: Vec<Row>,
    how: Vec<Fact>,
}

/// The panel of a batch of whole muscles; nothing for a mix, or before its first piece.
pub fn panel<'a>(app: &'a App, me: &'a Me, batch: BatchId) -> Drawn<'a> {
    Box::pin(async move {
        let pieces = db::cured(&mut *app.db().await?, batch).await?;
        let Some(first) = pieces.first().filter(|piece| piece.kind.is_whole_muscle()) else {
            return Ok(None);
        };
        let notices = short(&me.shop, &pieces).map_err(anyhow::Error::from)?;
        let back = first.kind == RecipeKind::DryCureEquilibrium
            && pieces.iter().any(|piece| piece.cure.is_positive());
        let rows = pieces.iter().filter(|_| back).map(|piece| row(&me.shop, piece));
        let rows = rows.collect::<Result<Vec<_>, _>>().map_err(anyhow::Error::from)?;
        if notices.is_empty() && rows.is_empty() {
            return Ok(None);
        }
        let how = vec![
            Fact::new("Days at the least", equilibrium::PRACTICE),
            Fact::new("Days by weight", "2 days × green weight of the heaviest piece ÷ 453.59237 g"),
            Fact::new(
                "Expected weight",
                "green weight + cure laid on, arithmetic; juice that runs off makes it less",
            ),
        ];
        Ok(Some(CurePanel { notices, rows, how }.render().map_err(anyhow::Error::from)?))
    })
}

/// Says where the recipe cures for less than practice has it by the weight of the heaviest piece.
fn short(shop: &Shop, pieces: &[Cured]) -> Result<Vec<Notice>, BadFigure> {
    let Some(heaviest) = pieces.iter().max_by_key(|piece| piece.green) else { return Ok(Vec::new()) };
    let Some(hours) = heaviest.hours else { return Ok(Vec::new()) };
    let least = equilibrium::whole_days(equilibrium::days_by_weight(heaviest.green)?);
    if Decimal::from(hours) >= least * HOURS_A_DAY {
        return Ok(Vec::new());
    }
    let planned = (Decimal::from(hours) / HOURS_A_DAY).round_dp(1).normalize();
    let says = format!(
        "The recipe cures for {planned} days. For the heaviest piece, {} green, common practice is {least} days at the least, by 2 \
         days a pound; by its thickness it is 7 days an inch. A guide that stops nothing: salt in the middle of the piece is what \
         counts.",
        shop.weight(heaviest.green)
    );
    let link = "Reckon the days by thickness".to_owned();
    Ok(vec![Notice { href: "/reckoning/days".into(), link, ..Notice::new("late", says) }])
}

fn row(shop: &Shop, piece: &Cured) -> Result<Row, BadFigure> {
    let expected = equilibrium::weigh_back(piece.green, piece.cure)?;
    let difference = |weighed: Grams| -> Result<String, BadFigure> {
        let short = equilibrium::short_of(expected, weighed)?;
        let word = if short.is_gain() { "more" } else { "less" };
        Ok(format!("{} {word}, {}", shop.weight(short.grams()), short.percent().text_places(1)))
    };
    Ok(Row {
        href: piece.lot.path(),
        code: piece.code.to_string(),
        green: shop.weight(piece.green),
        cure: shop.weight(piece.cure),
        expected: shop.weight(expected),
        weighed: piece.weighed.map_or_else(|| "not weighed yet".to_owned(), |weighed| shop.weight(weighed)),
        difference: piece.weighed.map(difference).transpose()?.unwrap_or_default(),
    })
}
