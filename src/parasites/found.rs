//! How a batch stands to its product's control.

use std::collections::BTreeSet;

use sqlx::PgConnection;

use super::db::{self, Chosen, ConfirmedMethod};
use super::entry::{Control, Stated};
use super::judge::{self, Asked, Record};
use crate::book::Seq;
use crate::cold::{Stay, measured};
use crate::error::{Error, Result};
use crate::evidence::Found;
use crate::ids::{BatchId, LotId};
use crate::standards::State;
use crate::standards::trichinella::may_be_frozen;

/// A batch, its product's control, and what that asks for.
pub struct Judged {
    pub code: String,
    pub product: crate::ids::ItemId,
    pub product_name: String,
    /// The animals that its meat is of, as the shop's list has them.
    pub species: Vec<String>,
    /// None where the product has none yet.
    pub control: Option<(Control, Chosen)>,
    /// A published method that stands here from memory and that the shop has not confirmed, or no longer does.
    pub unconfirmed: bool,
    pub asked: Vec<Asked>,
    pub meat: Vec<Seq>,
}

/// Animals that Trichinella is known from and that are eaten. Common practice.
const HOSTS: [&str; 8] = ["pork", "pig", "swine", "boar", "bear", "horse", "walrus", "seal"];

/// All that stands of a batch; `None` where there is no such batch.
pub async fn judged(conn: &mut PgConnection, id: BatchId) -> Result<Option<Judged>> {
    let Some(batch) = db::batch(conn, id).await? else { return Ok(None) };
    let meat = db::meat(conn, id).await?;
    let chosen = db::chosen(conn, batch.product).await?;
    let mut species: Vec<String> = meat.iter().map(|meat| meat.species.clone()).collect();
    species.sort();
    species.dedup();
    let mut judged = Judged {
        code: batch.code.to_string(),
        product: batch.product,
        product_name: batch.product_name.clone(),
        species,
        control: None,
        unconfirmed: false,
        asked: Vec::new(),
        meat: meat.iter().map(|meat| meat.seq).collect(),
    };
    let Some(chosen) = chosen else { return Ok(Some(judged)) };
    let control: Control = chosen
        .control
        .parse()
        .map_err(|()| anyhow::anyhow!("the control {} of {} is not known", chosen.control, batch.product))?;
    if let Control::Published(method) = control {
        let confirmed = ConfirmedMethod::in_force(&db::methods(conn).await?);
        judged.unconfirmed = !method.mark().is_confirmed() && !confirmed.contains(&method);
    }
    if control != Control::NotAsked {
        let stages = db::stages(conn, id).await?;
        let stays: Vec<Stay> = stages
            .iter()
            .filter_map(|span| Some(Stay { place: span.place?, from: span.from, to: span.to }))
            .collect();
        let mut read = measured(conn, &stays).await?.into_iter();
        let measured_in = stages.iter().map(|span| span.place.and_then(|_| read.next())).collect();
        let lots: Vec<LotId> = meat.iter().map(|meat| meat.lot).collect();
        let frozen = db::frozen(conn, &lots).await?;
        let stays: Vec<Stay> =
            frozen.iter().map(|one| Stay { place: one.freezer, from: one.from, to: one.to }).collect();
        let freezers = measured(conn, &stays).await?;
        let mut touched: Vec<LotId> = frozen.iter().map(|one| one.lot).collect();
        touched.extend(&lots);
        let record = Record {
            batch,
            control: chosen.seq,
            particle: chosen.particle,
            states: chosen.states.iter().filter_map(|word| word.parse::<Stated>().ok()).collect(),
            stages,
            measured: measured_in,
            ingredients: db::ingredients(conn, id).await?,
            meat,
            pieces: db::pieces(conn, id).await?,
            stuffed: db::stuffed(conn, id).await?,
            suppliers: db::from_suppliers(conn, &lots).await?,
            frozen,
            freezers,
            on_batch: db::read_on_batch(conn, id).await?,
            on_lots: db::read_on_lots(conn, &touched).await?,
        };
        judged.asked = match control {
            Control::Programme => record.programme(),
            Control::Published(method) => record.published(method),
            Control::NotAsked => Vec::new(),
        };
    }
    judged.control = Some((control, chosen));
    Ok(Some(judged))
}

impl Judged {
    /// Whether all its meat is of animals that none of this is asked of.
    fn is_of_no_host(&self) -> bool {
        let known = !self.species.is_empty() && self.species.iter().all(|species| !species.is_empty());
        known
            && !self
                .species
                .iter()
                .any(|species| HOSTS.iter().any(|host| species.to_lowercase().contains(host)))
    }

    /// How it stands, as one criterion.
    pub fn found(&self) -> Found {
        let Some((control, chosen)) = &self.control else {
            if self.is_of_no_host() {
                return Found::met(
                    format!("of {}; no treatment is asked for", self.species.join(" and ")),
                    self.meat.clone(),
                );
            }
            return Found::not_yet(format!(
                "Choose what is done against parasites in {}.",
                self.product_name
            ));
        };
        let mut by: BTreeSet<Seq> = self.asked.iter().flat_map(|one| one.by.iter().copied()).collect();
        by.insert(chosen.seq);
        let by: Vec<Seq> = by.into_iter().collect();
        match control {
            Control::NotAsked => return Found::met(format!("not asked for: {}", chosen.reason), by),
            Control::Published(method) if self.unconfirmed => {
                return Found::not_yet(format!(
                    "The shop has not confirmed {} against its text.",
                    method.words()
                ));
            }
            Control::Published(method) if !method.is_sausage() && !method.is_whole_muscle() => {
                let wild = self.species.iter().find(|species| !species.is_empty() && !may_be_frozen(species));
                let freezes = method.key().contains("freezing");
                if let Some(wild) = wild.filter(|_| freezes && !self.is_of_no_host()) {
                    return Found::failed(
                        format!("Freezing is for farmed pork, and meat of {wild} went in."),
                        MAY,
                        by,
                    );
                }
            }
            _ => {}
        }
        let open = |state: State| {
            let of = self.asked.iter().filter(|one| one.condition.state == state);
            of.map(Asked::words).collect::<Vec<_>>().join("; ")
        };
        if self.asked.is_empty() {
            return Found::not_yet("No meat went into it yet.");
        }
        match judge::state(&self.asked) {
            State::Met => {
                Found::met(format!("{}: all {} conditions met", control.words(), self.asked.len()), by)
            }
            State::Missing => Found::not_yet(format!("{}.", open(State::Missing))),
            State::Failed => Found::failed(open(State::Failed), MAY, by),
        }
    }
}

const MAY: &str = "Another published treatment may still be met, as heating; or the batch is not sold as it is. Choose another control for \
    the product, or decide on the batch with the shop's process authority.";

impl Asked {
    /// "salt: at least 3.33 %, found 2.8 %".
    fn words(&self) -> String {
        let of = if self.of.is_empty() { String::new() } else { format!("{}: ", self.of) };
        format!("{of}{}: {}, found {}", self.condition.what, self.condition.needed, self.condition.found)
    }
}

/// Whether what the product's control asks for is recorded of a batch, and by which lines.
pub async fn found(db: &mut PgConnection, batch: BatchId) -> Result<Found> {
    Ok(judged(db, batch).await?.ok_or(Error::NotFound)?.found())
}
