//! The way that a lot came, from the supplier to here, as one row of steps. Where several went into one, the row says how
//! many and the trace has each.

use std::collections::BTreeSet;

use super::db::Source;
use crate::book::{Form, Lot};
use crate::ids::{LotId, SupplierId};
use crate::measure::Grams;
use crate::web::parts::Step;

/// Who brought a lot itself, where it came through the door.
pub struct Brought {
    pub supplier: SupplierId,
    pub name: String,
}

/// The steps from the supplier to this lot. `weight` says a weight as the shop weighs.
pub fn way(
    lot: &Lot,
    sources: &[Source],
    brought: Option<Brought>,
    weight: impl Fn(Grams) -> String,
) -> Vec<Step> {
    let mut back = vec![here(lot)];
    if let Some(brought) = brought {
        back.push(supplier(brought.supplier, &brought.name));
        back.reverse();
        return back;
    }
    let mut walked = BTreeSet::from([lot.id]);
    let mut at = (lot.id, lot.form);
    loop {
        let parents: Vec<&Source> =
            meat(sources, at.0).filter(|source| !walked.contains(&source.lot)).collect();
        let (mixes, meats): (Vec<&Source>, Vec<&Source>) =
            parents.iter().partition(|one| one.batch.is_some());
        if let Some(mix) = mixes.first() {
            back.push(batch(mix));
            walked.insert(mix.lot);
            // A muscle comes into its piece by itself and takes its cure from the mix; a salami comes from the mix alone.
            if meats.is_empty() {
                at = (mix.lot, mix.form);
                continue;
            }
        }
        match meats.as_slice() {
            [] => break,
            [one] => {
                walked.insert(one.lot);
                back.push(step(one, &weight));
                at = (one.lot, one.form);
                if let (Some(id), Some(name)) = (one.supplier, &one.supplier_name) {
                    back.push(supplier(id, name));
                    break;
                }
            }
            several => {
                back.extend(together(lot, sources, several));
                break;
            }
        }
    }
    back.reverse();
    back
}

fn meat(sources: &[Source], made: LotId) -> impl Iterator<Item = &Source> {
    sources.iter().filter(move |source| source.made == made && source.form.is_meat())
}

fn here(lot: &Lot) -> Step {
    Step {
        code: lot.code.to_string(),
        note: format!("this {}", lot.form.word()),
        here: true,
        ..Step::default()
    }
}

fn batch(mix: &Source) -> Step {
    let version = mix.version.map(|version| format!(", recipe version {version}")).unwrap_or_default();
    Step {
        href: mix.batch.map(|id| id.path()).unwrap_or_default(),
        code: mix.code.to_string(),
        note: format!("batch{version}"),
        ..Step::default()
    }
}

fn step(source: &Source, weight: impl Fn(Grams) -> String) -> Step {
    let tag = source.ear_tag.as_deref().filter(|tag| !tag.is_empty());
    let tag = tag.map(|tag| format!(", ear tag {tag}")).unwrap_or_default();
    let name = if source.form == Form::Carcass { source.form.word() } else { &source.item_name };
    Step {
        href: source.lot.path(),
        code: source.code.to_string(),
        note: format!("{name} {}{tag}", weight(source.came_in)),
        ..Step::default()
    }
}

fn supplier(id: SupplierId, name: &str) -> Step {
    Step { href: id.path(), name: name.to_owned(), note: "supplier".into(), ..Step::default() }
}

/// Several lots went into one: how many, and from how many suppliers.
fn together(lot: &Lot, sources: &[Source], several: &[&Source]) -> Vec<Step> {
    let trace = format!("/trace?code={}", lot.code);
    let mut reached: BTreeSet<LotId> = several.iter().map(|source| source.lot).collect();
    loop {
        let more: BTreeSet<LotId> = sources
            .iter()
            .filter(|source| reached.contains(&source.made) && source.form.is_meat())
            .map(|source| source.lot)
            .filter(|lot| !reached.contains(lot))
            .collect();
        if more.is_empty() {
            break;
        }
        reached.extend(more);
    }
    let suppliers: BTreeSet<&str> = sources
        .iter()
        .filter(|source| reached.contains(&source.lot))
        .filter_map(|source| source.supplier_name.as_deref())
        .collect();
    let mut steps = vec![Step {
        href: trace.clone(),
        name: format!("{} lots", several.len()),
        note: "of meat".into(),
        ..Step::default()
    }];
    match suppliers.iter().copied().collect::<Vec<_>>().as_slice() {
        [] => {}
        [one] => steps.push(Step {
            href: trace,
            name: (*one).to_owned(),
            note: "supplier".into(),
            ..Step::default()
        }),
        all => steps.push(Step {
            href: trace,
            name: format!("{} suppliers", all.len()),
            note: all.join(", "),
            ..Step::default()
        }),
    }
    steps
}

#[cfg(test)]
mod tests {
    use uuid::Uuid;

    use super::*;
    use crate::book::Seq;
    use crate::ids::{BatchId, ItemId};

    fn id(n: u128) -> LotId {
        LotId(Uuid::from_u128(n))
    }

    fn piece() -> Lot {
        Lot {
            id: id(9),
            code: "26301-01.03".parse().expect("a code"),
            form: Form::Piece,
            item: ItemId(Uuid::from_u128(1)),
            item_name: "loin, dry cured".into(),
            place: None,
            grams: Grams::whole(1_742),
            seq: Seq(1),
            held: None,
            struck: false,
        }
    }

    fn source(made: u128, lot: u128, code: &str, form: Form) -> Source {
        Source {
            made: id(made),
            lot: id(lot),
            code: code.parse().expect("a code"),
            form,
            item_name: format!("{} item", form.word()),
            came_in: Grams::whole(5_420),
            batch: (form == Form::Mix).then(|| BatchId(Uuid::from_u128(lot))),
            version: (form == Form::Mix).then_some(4),
            supplier: None,
            supplier_name: None,
            ear_tag: None,
        }
    }

    fn delivered(source: Source, name: &str) -> Source {
        Source {
            supplier: Some(SupplierId(Uuid::from_u128(50))),
            supplier_name: Some(name.into()),
            ear_tag: Some("UK 201 00417".into()),
            ..source
        }
    }

    fn codes(steps: &[Step]) -> Vec<&str> {
        steps.iter().map(|step| if step.code.is_empty() { step.name.as_str() } else { &step.code }).collect()
    }

    #[test]
    fn a_cured_loin_is_followed_back_to_its_animal_and_who_brought_it() {
        let sources = [
            source(9, 8, "26301-01", Form::Mix),
            source(9, 3, "26290-01.03", Form::Cut),
            source(8, 7, "26200-04", Form::Ingredient),
            delivered(source(3, 2, "26290-01", Form::Carcass), "Hazelrigg Farm"),
        ];
        let steps = way(&piece(), &sources, None, Grams::metric);
        assert_eq!(codes(&steps), ["Hazelrigg Farm", "26290-01", "26290-01.03", "26301-01", "26301-01.03"]);
        assert!(steps[1].note.contains("ear tag UK 201 00417"), "{}", steps[1].note);
        assert_eq!(steps[3].note, "batch, recipe version 4");
        assert!(steps[4].here);
    }

    #[test]
    fn a_salami_of_several_lots_says_how_many_and_whose() {
        let sources = [
            source(9, 8, "26301-01", Form::Mix),
            source(8, 3, "26290-01.03", Form::Trim),
            source(8, 4, "26291-01.07", Form::Fat),
            delivered(source(3, 2, "26290-01", Form::Carcass), "Hazelrigg Farm"),
            delivered(source(4, 5, "26291-01", Form::Carcass), "Broadmere Farm"),
        ];
        let steps = way(&piece(), &sources, None, Grams::metric);
        assert_eq!(codes(&steps), ["2 suppliers", "2 lots", "26301-01", "26301-01.03"]);
        assert_eq!(steps[0].note, "Broadmere Farm, Hazelrigg Farm");
    }

    #[test]
    fn a_carcass_comes_from_who_brought_it() {
        let brought = Brought { supplier: SupplierId(Uuid::from_u128(50)), name: "Hazelrigg Farm".into() };
        assert_eq!(
            codes(&way(&piece(), &[], Some(brought), Grams::metric)),
            ["Hazelrigg Farm", "26301-01.03"]
        );
    }

    #[test]
    fn a_circle_in_the_movements_does_not_go_on_for_ever() {
        let sources = [source(9, 3, "26290-01.03", Form::Cut), source(3, 9, "26301-01.03", Form::Piece)];
        assert_eq!(codes(&way(&piece(), &sources, None, Grams::metric)), ["26290-01.03", "26301-01.03"]);
    }
}
