//! A list of lots that grows inside a form: nothing is written before the one signature, and nothing that was typed is
//! lost when a code is added.

use serde::Deserialize;
use sqlx::PgConnection;

use super::super::db;
use super::super::entry::Leaving;
use super::super::entry::lines::{self, MOST, Part};
use crate::error::{Errors, Refusal, Result};
use crate::ids::LotId;
use crate::measure::{Grams, LotCode, PricePerKg};
use crate::web::{Reader, Shop};

/// What both forms send: the docket's and the discard's.
#[derive(Debug, Default, Clone, Deserialize)]
#[serde(default)]
pub struct DraftForm {
    pub customer: String,
    pub consignor: String,
    pub reason: String,
    pub when: String,
    /// The code that is being added.
    pub code: String,
    /// A code that was picked from the list of what is ready.
    pub add: String,
    /// "add" or "sign"; which button it was.
    pub act: String,
    /// The number of the line to leave out.
    pub leave_out: String,
    // The lines, each of them once in every list, in the same order.
    pub lot: Vec<String>,
    pub weight: Vec<String>,
    pub weight_unit: Vec<String>,
    /// What the lot held when the line was drawn.
    pub whole: Vec<String>,
    pub price: Vec<String>,
}

/// One line as the form says it.
pub struct TypedLine {
    pub lot: LotId,
    /// None: all of it.
    pub weight: Option<Grams>,
    pub whole: String,
    pub price: Option<PricePerKg>,
}

/// One line as the page shows it. The fields' own words tell the lines apart.
pub struct LineView {
    pub number: usize,
    pub lot: String,
    pub href: String,
    pub code: String,
    pub description: String,
    pub holds: String,
    pub whole: String,
    pub weight: String,
    pub weight_unit: String,
    pub price: String,
    pub lot_field: &'static str,
    pub weight_field: &'static str,
    pub price_field: &'static str,
}

impl DraftForm {
    /// Whether the list is still being drawn up.
    pub fn drafting(&self) -> bool {
        self.act == "add" || !self.add.is_empty() || !self.leave_out.is_empty()
    }

    /// Adds and leaves out what the pressed button says. `fits` is the first look at a lot; signing looks again.
    pub async fn redraw(
        &mut self,
        db: &mut PgConnection,
        shop: &Shop,
        fits: impl Fn(&Leaving) -> Result<(), Refusal>,
    ) -> Result<Errors> {
        let mut errors = Errors::default();
        if let Some(index) = self.leave_out.parse::<usize>().ok().and_then(|number| number.checked_sub(1)) {
            self.drop_line(index);
        }
        self.leave_out.clear();
        let picked = std::mem::take(&mut self.add);
        let typed = std::mem::take(&mut self.code);
        let mut kept: Vec<&str> = Vec::new();
        let codes = [picked.as_str(), typed.as_str()];
        for code in codes.into_iter().flat_map(|text| text.split([',', ';'])).filter(|c| !c.trim().is_empty())
        {
            match self.find(db, code, &fits).await? {
                Ok(leaving) => self.push(&leaving, shop),
                Err(refusal) => {
                    errors.push(refusal);
                    kept.push(code.trim());
                }
            }
        }
        self.code = kept.join(", ");
        Ok(errors)
    }

    async fn find(
        &self,
        db: &mut PgConnection,
        code: &str,
        fits: &impl Fn(&Leaving) -> Result<(), Refusal>,
    ) -> Result<Result<Leaving, Refusal>> {
        let code: LotCode = match code.parse() {
            Ok(code) => code,
            Err(why) => return Ok(Err(Refusal::at("code", format!("{why}")))),
        };
        let Some(leaving) = db::leaving_of(db, &code).await? else {
            return Ok(Err(Refusal::at("code", format!("No lot has the code {code}."))));
        };
        let id = leaving.lot.id.to_string();
        if self.lot.contains(&id) {
            return Ok(Err(Refusal::at("code", format!("{code} is on the list already."))));
        }
        if self.lot.len() >= MOST {
            let message =
                format!("At most {MOST} lots are signed at once. Sign these and begin another list.");
            return Ok(Err(Refusal::at("code", message)));
        }
        let fits = leaving.something_left("code").and_then(|()| fits(&leaving));
        Ok(fits.map(|()| leaving))
    }

    fn push(&mut self, leaving: &Leaving, shop: &Shop) {
        self.lot.push(leaving.lot.id.to_string());
        let length = self.lot.len();
        for list in [&mut self.weight, &mut self.weight_unit, &mut self.whole, &mut self.price] {
            list.resize(length, String::new());
        }
        self.weight_unit[length - 1] = shop.weight_unit().symbol().to_owned();
        self.whole[length - 1] = leaving.lot.grams.to_string();
    }

    fn drop_line(&mut self, index: usize) {
        let lists =
            [&mut self.lot, &mut self.weight, &mut self.weight_unit, &mut self.whole, &mut self.price];
        for list in lists {
            if index < list.len() {
                list.remove(index);
            }
        }
    }

    /// Reads the lines; what is wrong stands at the line's own field.
    pub fn read_lines(&self, read: &mut Reader) -> Option<Vec<TypedLine>> {
        if !self.code.trim().is_empty() {
            read.refuse("code", "Add this code to the list first, or clear it.");
        }
        if self.lot.len() > MOST {
            read.refuse("code", format!("At most {MOST} lots are signed at once."));
            return None;
        }
        let lines: Vec<Option<TypedLine>> = (0..self.lot.len()).map(|n| self.read_line(read, n)).collect();
        lines.into_iter().collect()
    }

    fn read_line(&self, read: &mut Reader, n: usize) -> Option<TypedLine> {
        let text = |list: &[String]| list.get(n).cloned().unwrap_or_default();
        let lot = read.value(lines::field(Part::Lot, n), &self.lot[n], "There is no such lot.");
        let field = lines::field(Part::Weight, n);
        let weight = read.maybe_weight(field, &text(&self.weight), &text(&self.weight_unit));
        let price = text(&self.price);
        let price = if price.trim().is_empty() {
            Some(None)
        } else {
            read.price(lines::field(Part::Price, n), &price).map(Some)
        };
        Some(TypedLine { lot: lot?, weight: weight?, whole: text(&self.whole), price: price? })
    }

    /// The lines as the page shows them, with what each lot holds now.
    pub async fn views(&self, db: &mut PgConnection, shop: &Shop) -> Result<Vec<LineView>> {
        let ids: Vec<LotId> = self.lot.iter().filter_map(|id| id.parse().ok()).collect();
        let known = db::leaving(db, &ids).await?;
        let shown = self.lot.iter().take(MOST).enumerate();
        Ok(shown
            .map(|(n, id)| self.view(n, known.iter().find(|l| l.lot.id.to_string() == *id), shop))
            .collect())
    }

    fn view(&self, n: usize, leaving: Option<&Leaving>, shop: &Shop) -> LineView {
        let text = |list: &[String]| list.get(n).cloned().unwrap_or_default();
        let say = |show: fn(&Leaving) -> String| leaving.map(show).unwrap_or_default();
        LineView {
            number: n + 1,
            lot: self.lot[n].clone(),
            href: say(|l| l.lot.id.path()),
            code: leaving.map_or_else(|| "unknown".into(), |l| l.lot.code.to_string()),
            description: say(|l| l.description.clone()),
            holds: leaving.map(|l| shop.weight(l.lot.grams)).unwrap_or_default(),
            whole: say(|l| l.lot.grams.to_string()),
            weight: text(&self.weight),
            weight_unit: text(&self.weight_unit),
            price: text(&self.price),
            lot_field: lines::field(Part::Lot, n),
            weight_field: lines::field(Part::Weight, n),
            price_field: lines::field(Part::Price, n),
        }
    }
}

/// The lots of the lines, in their order.
///
/// # Errors
/// A line whose lot is not in the book.
pub async fn lots_of(db: &mut PgConnection, typed: &[TypedLine]) -> Result<Vec<Leaving>> {
    let ids: Vec<LotId> = typed.iter().map(|line| line.lot).collect();
    let known = db::leaving(db, &ids).await?;
    let mut lots = Vec::with_capacity(typed.len());
    for (n, id) in ids.iter().enumerate() {
        let lot = known.iter().find(|leaving| leaving.lot.id == *id).cloned();
        lots.push(lot.ok_or_else(|| Refusal::at(lines::field(Part::Lot, n), "There is no such lot."))?);
    }
    Ok(lots)
}

/// What leaves of a lot: what was typed, or all of it, as the page showed it.
///
/// # Errors
/// A refusal when all was said and it is another weight by now.
pub fn weight_of(line: &TypedLine, lot: &Leaving, n: usize, shop: &Shop) -> Result<Grams, Refusal> {
    match line.weight {
        Some(weight) => Ok(weight),
        None if line.whole == lot.lot.grams.to_string() => Ok(lot.lot.grams),
        None => {
            let message =
                format!("{} holds {} now. Look again and sign.", lot.lot.code, shop.weight(lot.lot.grams));
            Err(Refusal::at(lines::field(Part::Weight, n), message))
        }
    }
}
