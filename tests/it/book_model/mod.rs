//! The book against a model of it: whatever is tried, legal or not, in whatever order, the database says what a plain
//! account of lots, lines and strikes says. And whatever is changed behind its back is found.

mod hands;
mod model;

use std::collections::BTreeMap;

use flitchbook::book::{self, Account, Form, Seq, strike};
use flitchbook::error::Result;
use flitchbook::ids::LotId;
use flitchbook::measure::Grams;
use flitchbook::receiving::entry::LotReceived;
use proptest::prelude::*;

use crate::shop::{Cast, Opened, Shifted, Shop, Things};
use hands::{hands, tamper};
use model::{Line, Lot, Model};

/// Something that somebody tries. Lots and lines are picked out of those that there are; weights are in grams, and many
/// of them are too heavy.
#[derive(Debug, Clone)]
enum Try {
    Receive { grams: i64, held: bool },
    Cut { lot: usize, grams: i64 },
    TopUp { lot: usize, grams: i64 },
    Weigh { lot: usize, per_cent: i64 },
    Send { lot: usize, grams: i64 },
    Hold { lot: usize },
    Lift { lot: usize },
    Strike { line: usize },
}

fn tries() -> impl Strategy<Value = Try> {
    let (lot, grams) = (0_usize..64, 1_i64..60_000);
    prop_oneof![
        2 => (1_i64..90_000, prop::bool::weighted(0.2)).prop_map(|(grams, held)| Try::Receive { grams, held }),
        6 => (lot.clone(), grams.clone()).prop_map(|(lot, grams)| Try::Cut { lot, grams }),
        2 => (lot.clone(), grams.clone()).prop_map(|(lot, grams)| Try::TopUp { lot, grams }),
        2 => (lot.clone(), 1_i64..100).prop_map(|(lot, per_cent)| Try::Weigh { lot, per_cent }),
        2 => (lot.clone(), grams).prop_map(|(lot, grams)| Try::Send { lot, grams }),
        1 => lot.clone().prop_map(|lot| Try::Hold { lot }),
        1 => lot.prop_map(|lot| Try::Lift { lot }),
        6 => (0_usize..64).prop_map(|line| Try::Strike { line }),
    ]
}

/// A real shop beside its model.
struct Both {
    shop: Shop,
    things: Things,
    model: Model,
}

impl Both {
    async fn open() -> Self {
        let shop = Shop::open_with_made_up_kinds().await;
        let things = shop.things().await;
        Self { shop, things, model: Model::default() }
    }

    /// Does it in both; they agree on whether it can be done at all.
    async fn attempt(&mut self, attempt: &Try) {
        let before = self.shop.lines().await;
        let (allowed, done) = match *attempt {
            Try::Receive { grams, held } => self.receive(grams, held).await,
            Try::Strike { line } => self.strike(line).await,
            Try::Cut { lot, grams } => self.cut(lot, grams).await,
            Try::TopUp { lot, grams } => {
                let line = |lot| Line { moved: [(lot, grams)].into(), ..Line::default() };
                let shift = |id| Shifted::default().lot(id, grams).account(Account::Found, None, -grams);
                self.shift(lot, line, shift, |_, _| true).await
            }
            Try::Weigh { lot, per_cent } => self.weigh(lot, per_cent).await,
            Try::Send { lot, grams } => {
                let line = |lot| Line { moved: [(lot, -grams)].into(), ..Line::default() };
                let shift = |id| Shifted::default().lot(id, -grams).account(Account::Customer, None, grams);
                self.shift(lot, line, shift, |model, lot| {
                    model.lots[lot].holds.is_empty() && model.lots[lot].grams >= grams
                })
                .await
            }
            Try::Hold { lot } => {
                let line = |lot| Line { held: Some(lot), ..Line::default() };
                self.shift(lot, line, |id| Shifted { holds: vec![id], ..Shifted::default() }, |_, _| true)
                    .await
            }
            Try::Lift { lot } => {
                let Some(lot) = self.model.pick(lot) else { return };
                let holds = self.model.lots[lot].holds.clone();
                let line = |lot| Line { lifted: Some((lot, holds)), ..Line::default() };
                self.shift(lot, line, |id| Shifted { lifts: vec![id], ..Shifted::default() }, |_, _| true)
                    .await
            }
        };
        assert_eq!(allowed, done.is_ok(), "{attempt:?}: the model says {allowed}, the book {done:?}");
        if !allowed {
            assert_eq!(self.shop.lines().await, before, "{attempt:?} was refused and left a line");
        }
    }

    async fn receive(&mut self, grams: i64, held: bool) -> (bool, Result<()>) {
        let tell = |lot: &mut LotReceived| lot.held = held.then(|| "a warm lorry".into());
        let lot = self.shop.received(&self.things, "D", grams, tell).await.lot;
        let nr = self.model.lots.len();
        self.model.lots.push(Lot { id: lot, grams: 0, holds: vec![], struck: false });
        let seq = self.shop.lines().await;
        let held = held.then_some(nr);
        self.model.write(Line {
            seq,
            moved: [(nr, grams)].into(),
            opened: Some(nr),
            held,
            ..Line::default()
        });
        (true, Ok(()))
    }

    /// A cut, by the rules of the lot itself.
    async fn cut(&mut self, lot: usize, grams: i64) -> (bool, Result<()>) {
        let Some(lot) = self.model.pick(lot) else { return (true, Ok(())) };
        let known = &self.model.lots[lot];
        let allowed = self.model.usable(lot) && known.grams >= grams;
        let source = known.id;
        let done = self.cut_in_the_book(source, grams).await;
        let id = match done {
            Ok(id) => id,
            Err(why) => return (allowed, Err(why)),
        };
        let nr = self.model.lots.len();
        self.model.lots.push(Lot { id, grams: 0, holds: vec![], struck: false });
        let seq = self.shop.lines().await;
        self.model.write(Line {
            seq,
            moved: [(lot, -grams), (nr, grams)].into(),
            opened: Some(nr),
            ..Line::default()
        });
        (allowed, Ok(()))
    }

    async fn cut_in_the_book(&self, source: LotId, grams: i64) -> Result<LotId> {
        let mut pen = self.shop.pen(Cast::Cutter).await;
        let source = book::db::lot(&mut pen, source).await?.expect("the lot is there");
        let code = source.code.piece(pen.next_piece(&source.code).await?).expect("a code");
        let id = LotId::made_by(pen.next().id);
        // The two rules that every area asks of a lot before it takes something from it.
        source.usable("lot")?;
        source.holds(Grams::whole(grams), "weight", |grams| grams.to_string())?;
        let opened = Opened {
            id,
            code,
            form: Form::Cut,
            item: self.things.collar.clone(),
            place: Some(self.things.cooler.id),
        };
        let shifted = Shifted { opens: vec![opened], ..Shifted::default() };
        pen.append(shifted.lot(source.id, -grams).lot(id, grams)).await?;
        pen.commit().await?;
        Ok(id)
    }

    async fn weigh(&mut self, lot: usize, per_cent: i64) -> (bool, Result<()>) {
        let Some(lot) = self.model.pick(lot) else { return (true, Ok(())) };
        let loss = self.model.lots[lot].grams * per_cent / 100;
        let line = |lot| Line {
            moved: if loss == 0 { BTreeMap::new() } else { [(lot, -loss)].into() },
            settled: Some(lot),
            ..Line::default()
        };
        let shift = |id| {
            let dried = Shifted::default().lot(id, -loss).account(Account::Drying, None, loss);
            Shifted { settles: vec![id], ..dried }
        };
        self.shift(lot, line, shift, |_, _| true).await
    }

    /// A line that nothing but the database's own guards stands before.
    async fn shift(
        &mut self,
        lot: usize,
        line: impl FnOnce(usize) -> Line,
        shifted: impl FnOnce(LotId) -> Shifted,
        allowed: impl FnOnce(&Model, usize) -> bool,
    ) -> (bool, Result<()>) {
        let Some(lot) = self.model.pick(lot) else { return (true, Ok(())) };
        let allowed = allowed(&self.model, lot);
        let mut pen = self.shop.pen(Cast::Owner).await;
        let done = match pen.append(shifted(self.model.lots[lot].id)).await {
            Ok(_) => pen.commit().await,
            Err(why) => Err(why),
        };
        if done.is_ok() {
            let seq = self.shop.lines().await;
            let line = Line { seq, ..line(lot) };
            self.model.write(line);
        }
        (allowed, done)
    }

    async fn strike(&mut self, line: usize) -> (bool, Result<()>) {
        if self.model.lines.is_empty() {
            return (true, Ok(()));
        }
        let nr = line % self.model.lines.len();
        let allowed = self.model.can_strike(nr);
        let mut pen = self.shop.pen(Cast::Owner).await;
        let seq = Seq(self.model.lines[nr].seq);
        let done = match strike::strike(&mut pen, seq, "a wrong line".into()).await {
            Ok(_) => pen.commit().await,
            Err(why) => Err(why),
        };
        if done.is_ok() {
            self.model.strike(nr);
        }
        (allowed, done)
    }

    /// Every lot holds what the model says, is held and struck as it says.
    async fn agrees(&self) {
        let mut conn = self.shop.app.db().await.unwrap();
        for lot in &self.model.lots {
            let real = book::db::lot(&mut conn, lot.id).await.unwrap().unwrap();
            let ours = (Grams::whole(lot.grams), !lot.holds.is_empty(), lot.struck);
            assert_eq!((real.grams, real.held.is_some(), real.struck), ours, "{}", real.code);
        }
    }
}

/// A runtime of its own for each case: proptest knows no async.
fn told<T>(story: impl Future<Output = T>) -> T {
    tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap().block_on(story)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, max_shrink_iters: 60, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_book_says_what_a_plain_account_of_it_says_and_a_replay_says_it_again(
        tries in prop::collection::vec(tries(), 30),
    ) {
        told(async {
            let mut both = Both::open().await;
            for attempt in &tries {
                both.attempt(attempt).await;
            }
            both.agrees().await;
            // Verify replays the whole book into empty tables and compares every row.
            assert_eq!(both.shop.verify().await.findings, []);
        });
    }

    #[test]
    fn whatever_row_is_changed_removed_or_swapped_is_found(
        tries in prop::collection::vec(tries(), 12),
        hands in prop::collection::vec(hands(), 3),
    ) {
        told(async {
            let mut both = Both::open().await;
            for attempt in &tries {
                both.attempt(attempt).await;
            }
            for hand in &hands {
                tamper(&both.shop, hand).await;
            }
        });
    }
}
