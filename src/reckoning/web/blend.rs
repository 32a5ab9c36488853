//! `/reckoning/blend`: what to take out of each bin for a wanted lean.

use std::collections::BTreeMap;

use askama::Template;
use axum::extract::State;
use axum::response::Response;
use rust_decimal::Decimal;

use super::{Answer, Reckoned, big_percent, choices, chosen, settled};
use crate::error::{Errors, Refusal, Result};
use crate::measure::{Grams, Percent};
use crate::standards::blend::{self, BadBlend, Bin, Lean};
use crate::standards::scaling::Division;
use crate::web::parts::{Choice, Figure};
use crate::web::{App, Area, Frame, Me, Query, Reader, Shop, page};

/// The fields of each bin: its weight, its unit, its lean.
const BINS: [(&str, &str, &str); 6] = [
    ("bin1", "bin1_unit", "lean1"),
    ("bin2", "bin2_unit", "lean2"),
    ("bin3", "bin3_unit", "lean3"),
    ("bin4", "bin4_unit", "lean4"),
    ("bin5", "bin5_unit", "lean5"),
    ("bin6", "bin6_unit", "lean6"),
];

type Typed = BTreeMap<String, String>;

fn typed(form: &Typed, field: &str) -> String {
    form.get(field).cloned().unwrap_or_default()
}

struct Asked {
    kind: Lean,
    /// By its number on the form.
    bins: Vec<(usize, Bin)>,
    total: Grams,
    target: Percent,
}

fn read(form: &Typed, shop: &Shop) -> Result<Asked, Errors> {
    let mut read = Reader::new(shop);
    let kind = chosen(&mut read, "kind", &typed(form, "kind"), &Lean::ALL, Lean::words);
    let mut bins = Vec::new();
    for (number, (weight, unit, lean)) in (1..).zip(BINS) {
        let (of_weight, of_lean) = (typed(form, weight), typed(form, lean));
        if of_weight.trim().is_empty() && of_lean.trim().is_empty() {
            continue;
        }
        let on_hand = read.weight(weight, &of_weight, &typed(form, unit));
        let lean = share(&mut read, lean, &of_lean);
        bins.push(on_hand.zip(lean).map(|(on_hand, lean)| (number, Bin { on_hand, lean })));
    }
    if bins.len() < 2 {
        read.refuse("bin1", "Give two bins at least, each with its weight and its lean.");
    }
    let total = read.weight("total", &typed(form, "total"), &typed(form, "total_unit"));
    let target = share(&mut read, "target", &typed(form, "target"));
    read.finish(|| {
        let bins = bins.into_iter().collect::<Option<Vec<_>>>()?;
        Some(Asked { kind: kind?, bins, total: total?, target: target? })
    })
}

fn share(read: &mut Reader<'_>, field: &'static str, text: &str) -> Option<Percent> {
    let percent = read.percent(field, text)?;
    if percent > Percent::HUNDRED {
        read.refuse(field, "Lean cannot be more than 100 %.");
        return None;
    }
    Some(percent)
}

fn reckon(form: &Typed, shop: &Shop) -> Result<Option<Blended>, Errors> {
    if typed(form, "reckon").is_empty() {
        return Ok(None);
    }
    let asked = read(form, shop)?;
    let bins: Vec<Bin> = asked.bins.iter().map(|(_, bin)| *bin).collect();
    let weights =
        blend::nearest(&bins, asked.total, asked.target).map_err(|why| refused(shop, &asked, &why))?;
    Ok(Some(answer(shop, &asked, &bins, &weights)))
}

fn refused(shop: &Shop, asked: &Asked, why: &BadBlend) -> Errors {
    match why {
        BadBlend::NotEnough { on_hand } => {
            Refusal::at("total", format!("The bins hold {} together.", shop.weight(*on_hand))).into()
        }
        BadBlend::Outside { least, most } => {
            let percent = |exact: &Decimal| Percent::new(*exact).text_places(2);
            let says = format!(
                "Of {} these bins make from {} to {} lean. {} lies outside.",
                shop.weight(asked.total),
                percent(least),
                percent(most),
                asked.target.text_places(2)
            );
            Refusal::at("target", says).into()
        }
        other => Refusal::at("bin1", other.to_string()).into(),
    }
}

struct Row {
    name: String,
    take: String,
    other: String,
    left: String,
    as_stands: String,
}

struct Blended {
    answer: Answer,
    rows: Vec<Row>,
}

fn answer(shop: &Shop, asked: &Asked, bins: &[Bin], weights: &[Decimal]) -> Blended {
    let mut answer = Answer::default();
    let target = big_percent(&format!("{} of the blend", capital(asked.kind.words())), asked.target, 1);
    answer.figure(Figure { chief: true, ..target.beneath("of the weight that is wanted") });
    answer.figure(super::big(shop, "Wanted", asked.total));
    let on_hand: Grams = bins.iter().map(|bin| bin.on_hand).sum();
    let steps = Division::new(shop.large_division).ok();
    let weighed: Vec<Decimal> = weights
        .iter()
        .map(|weight| steps.map_or(*weight, |steps| steps.nearest(*weight).decimal()))
        .collect();
    if let Some(lean) = blend::lean_of(bins, &weighed) {
        answer.fact(
            format!("As the large scale weighs it, in steps of {}", shop.large_division.metric()),
            format!("{} lean", Percent::new(lean).text_places(2)),
        );
    }
    let rows = asked.bins.iter().zip(weights).map(|((number, bin), weight)| {
        let take = Grams::new(*weight);
        let (take_text, other) = take.both(shop.system);
        Row {
            name: format!("Bin {number}, {} lean", bin.lean.text()),
            take: take_text,
            other,
            left: shop.weight(bin.on_hand - take),
            as_stands: shop.weight(asked.total.times(bin.on_hand.decimal() / on_hand.decimal())),
        }
    });
    let rows = rows.collect();
    answer.how("Base", format!("{}, per cent of the weight of meat and fat", asked.kind.words()));
    if bins.len() == 2 {
        answer.how("Formula", "share of A = (b − target) ÷ (b − a)");
    }
    answer.how(
        "Which of several",
        "the blend nearest to the shares on hand: the least sum of the squares of what each weight differs from the total \
         shared out as the bins stand, no bin below nothing or above what it holds",
    );
    answer.how("Source", "arithmetic of two bins; least squares under bounds for more");
    answer.how(
        "Which lean",
        "chemical lean is 100 less the fat of an analysis; visual lean is what the eye sees. They differ.",
    );
    Blended { answer, rows }
}

fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A bin as the form shows it.
struct BinRow {
    name: &'static str,
    lean_name: &'static str,
    label: String,
    lean_label: String,
    weight: String,
    unit: String,
    lean: String,
}

#[derive(Template)]
#[template(path = "reckoning/blend.html")]
struct BlendPage {
    frame: Frame,
    errors: Errors,
    answer: Option<Answer>,
    rows: Vec<Row>,
    kinds: Vec<Choice>,
    kind: String,
    bins: Vec<BinRow>,
    total: String,
    total_unit: String,
    target: String,
}

/// GET `/reckoning/blend`
pub async fn page(State(app): State<App>, me: Me, Query(form): Query<Typed>) -> Result<Response> {
    let (blended, errors) = match reckon(&form, &me.shop) {
        Ok(blended) => (blended, Errors::default()),
        Err(errors) => (None, errors),
    };
    let (answer, rows) = blended.map_or((None, Vec::new()), |blended| (Some(blended.answer), blended.rows));
    let reckoned: Reckoned = if errors.is_empty() { Ok(answer) } else { Err(errors) };
    let (status, answer, errors) = settled(reckoned);
    let usual = me.shop.weight_unit().symbol();
    let unit = |field: &str| form.get(field).cloned().unwrap_or_else(|| usual.to_owned());
    let bins = (1..).zip(BINS).map(|(number, (weight, weight_unit, lean))| BinRow {
        name: weight,
        lean_name: lean,
        label: format!("Bin {number} holds"),
        lean_label: format!("Lean of bin {number}"),
        weight: typed(&form, weight),
        unit: unit(weight_unit),
        lean: typed(&form, lean),
    });
    let page = BlendPage {
        frame: Frame::new(&app, &me, Area::Recipes),
        errors,
        answer,
        rows,
        kinds: choices(&Lean::ALL, Lean::words),
        kind: form.get("kind").cloned().unwrap_or_else(|| Lean::Chemical.words().to_owned()),
        bins: bins.collect(),
        total: typed(&form, "total"),
        total_unit: unit("total_unit"),
        target: typed(&form, "target"),
    };
    page::show(status, &page)
}
