//! What stands on a tag and on a pack's label, ready to print, and why some do not print.

use std::collections::BTreeMap;

use super::super::db::Told;
use super::super::entry::LabelSizeWritten;
use super::super::ingredients::{Span, Used, statement};
use super::super::{paper, words};
use crate::book::{Form, Lot};
use crate::dispatch::Packed;
use crate::error::Result;
use crate::measure::{Grams, LotCode, UnitSystem, day_year};
use crate::web::{Me, qr};

/// One label, whichever it is.
pub enum Label {
    /// Left free: this place of the sheet was used before.
    Blank,
    Tag(Tag),
    Pack(Pack),
}

/// The tag of a lot or of a hanging piece.
pub struct Tag {
    pub code: String,
    pub name: String,
    pub qr: String,
    /// Batch, green weight, dates, target.
    pub facts: Vec<(&'static str, String)>,
    /// "NOT FOR SALE", or nothing.
    pub stamp: &'static str,
}

/// The label of a pack.
pub struct Pack {
    pub code: String,
    pub name: String,
    pub qr: String,
    pub net: &'static str,
    pub weight: String,
    /// Where it is metric and over a kilogram its figures are larger.
    pub heavy: bool,
    pub packed: String,
    /// "Best before 1 Feb 2027"; may be empty.
    pub date: String,
    pub ingredients: Vec<Span>,
    pub keep: String,
    pub origin: String,
    pub shop: String,
    pub handling: bool,
    /// The class of its type.
    pub type_class: String,
}

impl Pack {
    /// The heading, the reason and the instructions, for the template.
    pub fn handling_texts(&self) -> &'static [&'static str] {
        if self.handling { &words::HANDLING } else { &[] }
    }
}

/// All that is known of one lot that is to be labelled.
pub struct Subject<'a> {
    pub lot: &'a Lot,
    pub told: &'a Told,
    pub packed: Option<&'a Packed>,
    pub used: &'a [Used],
}

fn picture(site: &str, code: &LotCode) -> Result<String> {
    qr::svg(&qr::tag_address(site, code))
}

/// A tag, or why there is none. What is in the making says that it is not for sale, and is tagged also while on hold: a
/// thing without its tag is worse.
pub fn tag(me: &Me, site: &str, of: &Subject) -> Result<Result<Tag, String>> {
    let code = of.lot.code;
    if of.lot.struck {
        return Ok(Err(format!("{code} was struck. It is not in the shop.")));
    }
    let making = matches!(of.lot.form, Form::Piece | Form::Mix);
    if let (Some(reason), false) = (&of.lot.held, making) {
        return Ok(Err(format!("{code} is on hold: {reason}. Nothing is printed for it.")));
    }
    if let Some(source) = &of.told.held_behind {
        return Ok(Err(format!(
            "{code} was packed from {source}, which is on hold. Nothing is printed for it."
        )));
    }
    let sale = of.told.for_sale && of.lot.held.is_none();
    Ok(Ok(Tag {
        code: code.to_string(),
        name: of.told.name.clone(),
        qr: picture(site, &code)?,
        facts: tag_facts(me, of),
        stamp: if making && !sale { "NOT FOR SALE" } else { "" },
    }))
}

fn tag_facts(me: &Me, of: &Subject) -> Vec<(&'static str, String)> {
    let day = |at| day_year(me.shop.date(at));
    let Some(green) = of.told.green.filter(|_| of.lot.form == Form::Piece) else {
        return vec![("Weight", me.shop.weight(of.lot.grams)), ("Since", day(of.told.opened_at))];
    };
    let mut facts = Vec::new();
    if let Some(batch) = of.told.batch_code {
        facts.push(("Batch", batch.to_string()));
    }
    facts.push(("Green weight", me.shop.weight(green)));
    match (of.told.hung_at, of.told.green_at) {
        (Some(hung), _) => facts.push(("Hung", day(hung))),
        (None, Some(since)) => facts.push(("In cure", day(since))),
        (None, None) => {}
    }
    if let Some(loss) = of.told.target_loss {
        let target = green - loss.of_weight(green);
        facts.push(("Target", format!("{} (−{})", me.shop.weight(target), loss.text())));
    }
    facts
}

/// A pack's label, or why there is none.
pub fn pack(me: &Me, site: &str, of: &Subject, size: &LabelSizeWritten) -> Result<Result<Pack, String>> {
    let code = of.lot.code;
    if let Err(refusal) = of.lot.usable("lots") {
        return Ok(Err(format!("{} Nothing is printed for it.", refusal.message)));
    }
    if let Some(source) = &of.told.held_behind {
        return Ok(Err(format!(
            "{code} was packed from {source}, which is on hold. Nothing is printed for it."
        )));
    }
    if !of.told.for_sale {
        return Ok(Err(format!("{code} is not released: it is not for sale. Nothing is printed for it.")));
    }
    let Some(packed) = of.packed else {
        return Ok(Err(format!(
            "{code} is no pack. Pack it first: its label says the net weight and the date."
        )));
    };
    let mut label = drawn(me, site, of, packed)?;
    let weight = format!("{} {}", label.net, label.weight);
    let head = paper::Head { product: &label.name, weight: &weight, heavy: label.heavy };
    let Some(tenths) = paper::type_for(size, head, &lengths(&label), me.shop.system) else {
        let message =
            format!("What {code} has to say does not fit on {}. Choose a larger label.", size.measures());
        return Ok(Err(message));
    };
    label.type_class = format!("type-{tenths}");
    Ok(Ok(label))
}

fn drawn(me: &Me, site: &str, of: &Subject, packed: &Packed) -> Result<Pack> {
    let weight = of.lot.grams;
    let mut shop: Vec<String> = vec![me.shop.name.clone()];
    shop.extend(me.shop.address.lines().map(str::to_owned));
    shop.extend(Some(me.shop.number.clone()).filter(|number| !number.is_empty()));
    Ok(Pack {
        // Directive 2011/91/EU, art. 4: the letter L stands before what names the lot.
        code: format!("L{}", of.lot.code),
        name: of.told.name.clone(),
        qr: picture(site, &of.lot.code)?,
        net: words::net(me.shop.system),
        weight: words::net_weight(weight, me.shop.system),
        heavy: me.shop.system == UnitSystem::Metric && weight >= Grams::whole(1_000),
        packed: format!("Packed {}", day_year(me.shop.date(packed.packed_at))),
        date: packed.use_by.map(|day| dated(&packed.date_word, day)).unwrap_or_default(),
        ingredients: statement(of.used),
        keep: packed.keep.clone(),
        origin: packed.origin.clone(),
        shop: shop.join(", "),
        handling: packed.handling,
        type_class: String::new(),
    })
}

/// 9 CFR 317.8(b)(32): a date on a label needs the words that say what it means.
fn dated(word: &str, day: time::Date) -> String {
    let word = if word == "use by" { "Use by" } else { "Best before" };
    format!("{word} {}", day_year(day))
}

/// How long each paragraph of a label is, in letters.
fn lengths(label: &Pack) -> Vec<usize> {
    let ingredients: usize = label.ingredients.iter().map(|span| span.text.chars().count()).sum();
    let count = |text: &str| text.chars().count();
    // The date is bold and the code is set in wider letters; between them is white.
    let dates = count(&label.code) * 3 / 2 + count(&label.packed) + count(&label.date) + 14;
    let mut all = vec![dates, count(&label.keep), count(&label.origin), count(&label.shop)];
    if ingredients > 0 {
        all.push(ingredients + count("Ingredients: "));
    }
    all.extend(label.handling_texts().iter().map(|text| count(text)));
    all.retain(|length| *length > 0);
    all
}

/// The used of each batch, for [`Subject::used`].
pub fn by_batch(used: Vec<(crate::ids::BatchId, Used)>) -> BTreeMap<crate::ids::BatchId, Vec<Used>> {
    let mut all: BTreeMap<_, Vec<Used>> = BTreeMap::new();
    for (batch, one) in used {
        all.entry(batch).or_default().push(one);
    }
    all
}
