//! What the book holds of a batch, held against its product's treatment. No database and no clock: the record comes in.

use std::collections::BTreeSet;

use rust_decimal::Decimal;
use time::{Duration, OffsetDateTime};

use super::db::{BatchRow, FromSupplier, Frozen, FrozenIn, Ingredient, MeatRow, ReadOn, StageSpan, Stuffed};
use super::entry::Stated;
use crate::book::Seq;
use crate::cold::{LONGEST_GAP, Measured};
use crate::ids::LotId;
use crate::measure::{Celsius, Grams, Length, Percent, day_year};
use crate::recipes::{Role, Stage};
use crate::standards::State;
use crate::standards::cold::{Log, Sample};
use crate::standards::trichinella::{
    About, Condition, Freezing, Method, Muscle, Sausage, centre_freezing, freezer_freezing, heating, sausage,
    stands, whole,
};

/// One thing that the treatment asks for, of which lot, and by which lines of the book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Asked {
    /// The code of the lot that it is asked of; empty where it is the batch.
    pub of: String,
    pub condition: Condition,
    pub by: Vec<Seq>,
}

/// All that the book holds of a batch that a treatment can ask for.
#[derive(Debug)]
pub struct Record {
    pub batch: BatchRow,
    pub control: Seq,
    pub particle: Option<Length>,
    pub states: Vec<Stated>,
    pub stages: Vec<StageSpan>,
    /// What was measured in the place of each stage, in their order; none where it names no place.
    pub measured: Vec<Option<Measured>>,
    pub ingredients: Vec<Ingredient>,
    pub meat: Vec<MeatRow>,
    pub pieces: Vec<Grams>,
    pub stuffed: Vec<Stuffed>,
    pub suppliers: Vec<FromSupplier>,
    pub frozen: Vec<Frozen>,
    /// What was measured in the freezer of each, in their order.
    pub freezers: Vec<Measured>,
    pub on_batch: Vec<ReadOn>,
    pub on_lots: Vec<ReadOn>,
}

impl Record {
    /// What a published method asks for.
    pub fn published(&self, method: Method) -> Vec<Asked> {
        match method {
            Method::Freezing | Method::CentreFreezing => self.freezing(method),
            Method::Heating => {
                let log = log_of(self.on_batch.iter(), Duration::hours(1));
                self.asked(heating(log.as_ref(), self.is_cured()))
            }
            _ if method.is_sausage() => self.asked(sausage(method, &self.sausage())),
            _ => self.asked(whole(method, &self.muscle())),
        }
    }

    /// The supplier's papers, for each lot that came through the door.
    pub fn programme(&self) -> Vec<Asked> {
        let mut seen = BTreeSet::new();
        let origins = self.suppliers.iter().filter(|one| seen.insert(one.lot));
        let mut asked: Vec<Asked> = origins.map(paper).collect();
        // Meat of which nothing came through the door.
        for meat in &self.meat {
            if !self.suppliers.iter().any(|one| one.taken == meat.lot) {
                asked.push(Asked {
                    of: meat.code.to_string(),
                    condition: Condition {
                        about: About::Meat,
                        what: "supplier's papers",
                        needed: PAPERS.into(),
                        found: "it did not come through the door in this book".into(),
                        state: State::Missing,
                    },
                    by: vec![meat.seq],
                });
            }
        }
        asked
    }

    fn states(&self, one: Stated) -> bool {
        self.states.contains(&one)
    }

    fn is_cured(&self) -> bool {
        self.ingredients.iter().any(|one| one.role == Role::Cure)
            || self.stages.iter().any(|span| span.stage == Stage::Fermenting)
    }

    /// Salt, as sodium chloride, that was weighed in.
    fn salt(&self) -> Option<Grams> {
        let salt: Grams = self.ingredients.iter().map(salt_of).sum();
        (!self.ingredients.is_empty()).then_some(salt)
    }

    fn meat_weight(&self) -> Grams {
        self.meat.iter().map(|meat| meat.grams).sum()
    }

    /// When the curing materials were added: the first salt or cure that was weighed in.
    fn cured_at(&self) -> Option<OffsetDateTime> {
        let cures = self.ingredients.iter().filter(|one| matches!(one.role, Role::Salt | Role::Cure));
        cures.map(|one| one.at).min()
    }

    /// How far the record goes: the release, or the last reading of a place or of the batch, or the last stage.
    fn until(&self) -> Option<OffsetDateTime> {
        let readings = self.measured.iter().flatten().map(|measured| measured.log.to());
        let stages = self.stages.iter().map(|span| span.from);
        self.batch.released_at.or_else(|| readings.chain(stages).max())
    }

    /// What was measured in all stages of these names, as one log; `None` where the batch was in none of them.
    fn log(&self, stages: &[Stage]) -> Option<Log> {
        let spans = self.stages.iter().zip(&self.measured).filter(|(span, _)| stages.contains(&span.stage));
        let logs: Vec<&Log> = spans.filter_map(|(_, measured)| Some(&measured.as_ref()?.log)).collect();
        let from = logs.iter().map(|log| log.from()).min()?;
        let to = logs.iter().map(|log| log.to()).max()?;
        Some(Log::new(from, to, samples(&logs), gap()))
    }

    /// What was measured from the adding of the cure until `to`.
    fn log_since_cure(&self, to: OffsetDateTime) -> Option<Log> {
        let logs: Vec<&Log> = self.measured.iter().flatten().map(|measured| &measured.log).collect();
        Some(Log::new(self.cured_at()?, to, samples(&logs), gap()))
    }

    fn sausage(&self) -> Sausage {
        let stuffed_at = self.stuffed.iter().map(|one| one.at).min();
        let into_mix: Grams = self.ingredients.iter().map(|one| one.grams).sum();
        let dry = self.ingredients.iter().filter(|one| one.role != Role::Water).map(|one| one.grams).sum();
        let widest = self.stuffed.iter().filter_map(|one| one.diameter_mm).max();
        let all_known = self.stuffed.iter().all(|one| one.diameter_mm.is_some());
        Sausage {
            particle: self.particle,
            salt: self.salt(),
            unstuffed: Some(self.meat_weight() + into_mix).filter(|whole| whole.is_positive()),
            dry: Some(dry),
            diameter: widest.filter(|_| all_known).map(|mm| Length::new(Decimal::from(mm))),
            uncoated: self.states(Stated::Uncoated),
            smoked: self.states(Stated::Smoked),
            before_stuffing: stuffed_at.and_then(|at| self.log_since_cure(at)),
            warm: self.log(&[Stage::Fermenting]),
            drying: self.log(&[Stage::Drying]),
            since_cure: self.until().and_then(|at| self.log_since_cure(at)),
        }
    }

    fn muscle(&self) -> Muscle {
        let mix: Grams = self.ingredients.iter().map(|one| one.grams).sum();
        Muscle {
            salt: self.salt(),
            mix: Some(mix),
            green: Some(self.meat_weight()).filter(|green| green.is_positive()),
            heaviest: self.pieces.iter().max().copied(),
            overhauled: self.states(Stated::Overhauled),
            salt_kept: self.states(Stated::SaltKept),
            smoked: self.states(Stated::Smoked),
            contact: self.log(&[Stage::Curing]),
            cure: self.log(&[Stage::Curing, Stage::Resting]),
            warm: self.log(&[Stage::Fermenting]),
            drying: self.log(&[Stage::Drying]),
        }
    }

    /// Each condition with the lines that it was read from.
    fn asked(&self, conditions: Vec<Condition>) -> Vec<Asked> {
        let with_lines = |condition: Condition| {
            let by = if condition.state == State::Missing && condition.found == "nothing recorded" {
                Vec::new()
            } else {
                self.lines(condition.about)
            };
            Asked { of: String::new(), condition, by }
        };
        conditions.into_iter().map(with_lines).collect()
    }

    fn lines(&self, about: About) -> Vec<Seq> {
        let of_stages = |stages: &[Stage]| -> Vec<Seq> {
            let spans =
                self.stages.iter().zip(&self.measured).filter(|(span, _)| stages.contains(&span.stage));
            let lines = spans.flat_map(|(span, measured)| {
                let read = measured.iter().flat_map(|measured| measured.by.iter().copied());
                [span.seq].into_iter().chain(read).collect::<Vec<_>>()
            });
            lines.collect::<BTreeSet<_>>().into_iter().collect()
        };
        let salts = self.ingredients.iter().filter(|one| matches!(one.role, Role::Salt | Role::Cure));
        match about {
            About::Stated => vec![self.control],
            About::Meat | About::Freezing => self.meat.iter().map(|meat| meat.seq).collect(),
            About::Salt => salts.map(|one| one.seq).chain(self.meat.iter().map(|meat| meat.seq)).collect(),
            About::SinceCure => salts.map(|one| one.seq).collect(),
            About::Casing => self.stuffed.iter().map(|one| one.seq).collect(),
            About::Holding => of_stages(&[Stage::Curing, Stage::Resting]),
            About::Smoke => of_stages(&[Stage::Fermenting]),
            About::Drying => of_stages(&[Stage::Drying]),
            About::Heating => self.on_batch.iter().map(|one| one.seq).collect(),
        }
    }

    /// For each meat, the freezing of it that comes nearest to what is asked for.
    fn freezing(&self, method: Method) -> Vec<Asked> {
        let mut seen = BTreeSet::new();
        let meats = self.meat.iter().filter(|meat| seen.insert(meat.lot));
        meats.flat_map(|meat| self.freezing_of(meat, method)).collect()
    }

    fn freezing_of(&self, meat: &MeatRow, method: Method) -> Vec<Asked> {
        let own = self.frozen.iter().zip(&self.freezers).filter(|(frozen, _)| frozen.taken == meat.lot);
        let judged = own.map(|(frozen, freezer)| self.one_freezing(frozen, freezer, method));
        let none = || {
            let bare = Freezing { came_frozen: self.came_frozen(meat.lot), ..Freezing::default() };
            let conditions = judge(method, &bare);
            conditions
                .into_iter()
                .map(|condition| Asked { of: meat.code.to_string(), condition, by: vec![] })
                .collect()
        };
        // Of two that stand alike, the one in which less is missing.
        let rank = |asked: &Vec<Asked>| {
            let open = asked.iter().filter(|one| one.condition.state != State::Met).count();
            (asked.iter().map(|one| one.condition.state).max(), open)
        };
        judged.min_by_key(rank).unwrap_or_else(none)
    }

    fn one_freezing(&self, frozen: &Frozen, freezer: &Measured, method: Method) -> Vec<Asked> {
        let (thickness, spaced) = match frozen.how {
            FrozenIn::Stated { thickness, spaced } => (Some(thickness), spaced),
            FrozenIn::Placed => (None, false),
        };
        let on_lot = self.on_lots.iter().filter(|read| read.lot == Some(frozen.lot));
        let inside = |at: OffsetDateTime| at >= frozen.from && frozen.to.is_none_or(|to| at <= to);
        let log = match method {
            Method::CentreFreezing => log_of(on_lot.clone().filter(|read| inside(read.at)), gap()),
            _ => Some(freezer.log.clone()),
        };
        let earlier = on_lot
            .filter(|read| read.at <= frozen.from)
            .filter_map(|read| Celsius::new(read.value).ok())
            .next_back();
        let facts = Freezing {
            thickness,
            before: earlier.or_else(|| self.at_the_door(frozen.taken)),
            came_frozen: self.came_frozen(frozen.taken),
            spaced,
            log,
        };
        let lines = |about| match about {
            About::Meat => {
                self.suppliers.iter().filter(|one| one.taken == frozen.taken).map(|one| one.seq).collect()
            }
            _ => [frozen.seq].into_iter().chain(freezer.by.iter().copied()).collect::<Vec<_>>(),
        };
        let of = format!("{} in {}", frozen.code, frozen.freezer_name);
        let asked = |condition: Condition| Asked { of: of.clone(), by: lines(condition.about), condition };
        judge(method, &facts).into_iter().map(asked).collect()
    }

    /// Whether all that it came from was frozen at the door.
    fn came_frozen(&self, taken: LotId) -> bool {
        let mut own = self.suppliers.iter().filter(|one| one.taken == taken).peekable();
        own.peek().is_some() && own.all(|one| one.frozen)
    }

    /// The warmest that it was at the door; nothing where one of its origins was not measured.
    fn at_the_door(&self, taken: LotId) -> Option<Celsius> {
        let own = self.suppliers.iter().filter(|one| one.taken == taken);
        own.map(|one| one.temperature).collect::<Option<Vec<_>>>()?.into_iter().max()
    }
}

/// How all of it stands together.
pub fn state(asked: &[Asked]) -> State {
    stands(&asked.iter().map(|one| one.condition.clone()).collect::<Vec<_>>())
}

const PAPERS: &str = "papers of the supplier held, and the supplier approved when it was received";

fn paper(origin: &FromSupplier) -> Asked {
    let day = origin.at.date();
    let valid = origin.approved_until.is_none_or(|until| day <= until);
    let (found, state) = match (origin.papers.is_empty(), valid) {
        (true, _) => (format!("no papers of {} are written", origin.supplier), State::Missing),
        (false, true) => (format!("{}: {}", origin.supplier, origin.papers), State::Met),
        (false, false) => {
            let until = origin.approved_until.map(day_year).unwrap_or_default();
            (format!("{} was approved until {until}", origin.supplier), State::Failed)
        }
    };
    let condition =
        Condition { about: About::Meat, what: "supplier's papers", needed: PAPERS.into(), found, state };
    Asked { of: origin.code.to_string(), condition, by: vec![origin.seq] }
}

fn judge(method: Method, freezing: &Freezing) -> Vec<Condition> {
    if method == Method::CentreFreezing { centre_freezing(freezing) } else { freezer_freezing(freezing) }
}

fn gap() -> Duration {
    Duration::hours(LONGEST_GAP.into())
}

fn samples(logs: &[&Log]) -> Vec<Sample> {
    logs.iter().flat_map(|log| log.samples().iter().copied()).collect()
}

/// Readings on the thing itself as a log from the first to the last.
fn log_of<'a>(reads: impl Iterator<Item = &'a ReadOn>, gap: Duration) -> Option<Log> {
    let sample = |read: &ReadOn| Some(Sample { at: read.at, value: Celsius::new(read.value).ok()? });
    let samples: Vec<Sample> = reads.filter_map(sample).collect();
    let (from, to) = (samples.iter().map(|one| one.at).min()?, samples.iter().map(|one| one.at).max()?);
    Some(Log::new(from, to, samples, gap))
}

/// Salt in an ingredient: all of plain salt; of a cure what its pack says, or all that is not nitrite or nitrate.
fn salt_of(one: &Ingredient) -> Grams {
    let share = match (one.role, one.salt) {
        (_, Some(stated)) => stated,
        (Role::Salt, None) => Percent::HUNDRED,
        (Role::Cure, None) if one.nitrite.is_some() || one.nitrate.is_some() => {
            Percent::HUNDRED - one.nitrite.unwrap_or_default() - one.nitrate.unwrap_or_default()
        }
        _ => Percent::ZERO,
    };
    share.of_weight(one.grams)
}
