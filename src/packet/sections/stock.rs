//! Lots that came through the door, with the docket and whose animal it was.

use std::collections::BTreeMap;

use super::{Fills, body};
use crate::error::Result;
use crate::ids::DeliveryId;
use crate::measure::day_year;
use crate::packet::lines::{Said, Told};
use crate::packet::paper::{Column, Row};
use crate::receiving::entry::{Animal, DeliveryReceived, Goods, LotReceived};

const COLUMNS: [Column; 9] = [
    Column::figure("Line", 5),
    Column::new("Lot", 11),
    Column::new("What", 15),
    Column::figure("Weight", 10),
    Column::new("Supplier", 18),
    Column::new("Docket", 10),
    Column::new("Received", 15),
    Column::new("Marks", 27),
    Column::new("By", 5),
];

#[derive(Default)]
pub struct Lots {
    dockets: BTreeMap<DeliveryId, String>,
    received: Vec<(DeliveryId, Row)>,
}

impl Fills for Lots {
    fn see(&mut self, told: Told, said: &Said) -> Result<()> {
        if let Some(delivery) = body::<DeliveryReceived>(said)? {
            self.dockets.insert(delivery.delivery, delivery.docket);
        }
        if let Some(lot) = body::<LotReceived>(said)? {
            let mut marks: Vec<String> = Vec::new();
            marks.extend(lot.animal.as_ref().map(animal));
            marks.extend(lot.goods.as_ref().map(goods));
            marks
                .extend(lot.temperature.map(|at| format!("{} at the door", told.shop.say().temperature(at))));
            marks.extend(lot.held.as_ref().map(|why| format!("on hold: {why}")));
            marks.retain(|mark| !mark.is_empty());
            let cells = vec![
                said.read.at.seq.to_string(),
                lot.code.to_string(),
                lot.item.name,
                told.shop.weight(lot.weight),
                lot.supplier.name,
                String::new(),
                told.happened(said.read),
                marks.join("; "),
                said.read.initials.clone(),
            ];
            self.received.push((lot.delivery, told.row(said.read, cells)));
        }
        Ok(())
    }

    fn done(self: Box<Self>, _told: Told) -> (Vec<Column>, Vec<Row>) {
        let Self { dockets, received } = *self;
        let rows = received.into_iter().map(|(delivery, mut row)| {
            let docket = dockets.get(&delivery).filter(|docket| !docket.is_empty());
            row.cells[5] = docket.cloned().unwrap_or_else(|| "no docket".into());
            row
        });
        (COLUMNS.to_vec(), rows.collect())
    }
}

fn named(what: &str, text: &str) -> Option<String> {
    (!text.is_empty()).then(|| format!("{what} {text}"))
}

fn animal(animal: &Animal) -> String {
    let said = [
        (!animal.species.is_empty()).then(|| animal.species.clone()),
        named("breed", &animal.breed),
        named("ear tag", &animal.ear_tag),
        named("slaughter lot", &animal.slaughter_lot),
        animal.slaughtered.map(|day| format!("slaughtered {}", day_year(day))),
        named("at", &animal.establishment),
        animal.frozen.then(|| "frozen before".to_owned()),
    ];
    said.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn goods(goods: &Goods) -> String {
    let said = [
        named("supplier's lot", &goods.supplier_lot),
        goods.best_before.map(|day| format!("best before {}", day_year(day))),
        (!goods.allergens.is_empty()).then(|| format!("allergens: {}", goods.allergens.join(", "))),
        goods.nitrite.map(|strength| format!("nitrite {}", strength.text())),
        goods.nitrate.map(|strength| format!("nitrate {}", strength.text())),
    ];
    said.into_iter().flatten().collect::<Vec<_>>().join(", ")
}
