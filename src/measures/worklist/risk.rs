//! What a mating not seen at both ends risks until its horizon, and what of that goes with not having
//! looked (5.11): from the counts and ratios of 5.5, nothing estimated anew.
//!
//! Expected saving = cumulative hazard of the coverage class from the mating's age to the horizon
//! (first linked faults, Nelson-Aalen over the bands of F4) x (1 - 1 / ratio to matings with both ends
//! seen) x mean cost of a linked fault. The ratio holds for the whole horizon, so what remains falls with
//! age and never turns its sign. Hazard and ratio are taken from the finest of stage+family, family,
//! stage, fleet whose ratio has no flag that keeps it out of rankings; the cost from the finest with
//! enough faults. The limits are the outermost that the limits of hazard and ratio give together: they
//! hold both doubts at once and are wide; the mean cost is taken as known.

use std::collections::BTreeMap;

use crate::derive::DeriveError;
use crate::measures::evidence::Evidence;
use crate::measures::fault_rates::band_days;
use crate::measures::flag::Flag;
use crate::measures::skipped_cost::{Faults, Quantity, Row, Table};
use crate::stats::{Band, Estimate, cumulative_hazard};

/// Fewest faults that a mean cost is taken from.
const LEAST_FAULTS: i64 = 5;
const DAY_S: f64 = 86_400.0;
const LEVELS: [&str; 4] = ["stage+family", "family", "stage", "fleet"];

/// Follow-up of one stage, family, coverage and band.
struct Line {
    stage: String,
    family: String,
    coverage: String,
    band: u32,
    started: i64,
    faults: i64,
    seconds: i64,
    cost: i64,
    costed: i64,
}

/// A value with what it may be at least and at most.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::measures) struct Between {
    pub value: f64,
    pub low: f64,
    pub high: f64,
}

impl Between {
    /// A value taken as known.
    pub fn known(value: f64) -> Between {
        Between { value, low: value, high: value }
    }

    /// The product, between the outermost products of the limits.
    pub fn times(self, other: Between) -> Between {
        let corners = [
            self.low * other.low,
            self.low * other.high,
            self.high * other.low,
            self.high * other.high,
        ];
        Between {
            value: self.value * other.value,
            low: corners.into_iter().fold(f64::INFINITY, f64::min),
            high: corners.into_iter().fold(f64::NEG_INFINITY, f64::max),
        }
    }

    /// Less an amount taken as known.
    pub fn less(self, amount: f64) -> Between {
        Between { value: self.value - amount, low: self.low - amount, high: self.high - amount }
    }
}

/// The risk of a coverage class at a stage and family.
#[derive(Clone, Debug)]
pub(in crate::measures) struct Risk {
    bands: Vec<Band>,
    edges: Vec<f64>,
    level: f64,
    /// 1 - 1 / ratio.
    share: Between,
    /// Matings and first linked faults that the hazard rests on.
    pub n: f64,
    pub faults: i64,
    /// Coverage of the matings that hazard and ratio are of, and their group.
    pub rates_as: &'static str,
    pub rates_of: &'static str,
    /// Minor units of a linked fault, and which group they are of.
    pub mean_cost: f64,
    pub cost_of: &'static str,
    pub flags: Vec<Flag>,
}

impl Risk {
    /// Whether what it gives may be ranked.
    pub fn is_firm(&self) -> bool {
        self.flags.iter().all(|flag| flag.only_warns())
    }

    /// Minor units that are expected to be saved from this age on, days; none where the hazard is not
    /// known.
    pub fn saving(&self, age: f64) -> Option<Between> {
        let hazard = self.remaining(age);
        let hazard = Between { value: hazard.value?, low: hazard.low?, high: hazard.high? };
        Some(hazard.times(self.share).times(Between::known(self.mean_cost)))
    }

    /// Cumulative hazard from this age to the horizon.
    fn remaining(&self, age: f64) -> Estimate {
        let left = |(edge, band): (&[f64], &Band)| {
            let width = (edge[1] - edge[0].max(age)).max(0.0);
            (width > 0.0).then_some(Band { width, ..*band })
        };
        let bands: Vec<Band> = self.edges.windows(2).zip(&self.bands).filter_map(left).collect();
        cumulative_hazard(&bands, self.level)
    }
}

/// Risks of every stage, family and coverage class.
pub(in crate::measures) struct Risks<'a> {
    lines: Vec<Line>,
    edges: Vec<f64>,
    level: f64,
    skipped: &'a Table,
    found: BTreeMap<[String; 3], Option<Risk>>,
}

impl<'a> Risks<'a> {
    /// From the look-back's matings that were not made after a fault, as the headline of 5.5, and
    /// its table of ratios.
    ///
    /// # Errors
    /// A count table that cannot be grouped: a fault of the program.
    pub fn of(evidence: &Evidence, skipped: &'a Table) -> Result<Risks<'a>, DeriveError> {
        let only = evidence.look_back().with("after_fault", &["no"]);
        let by = ["stage", "family", "coverage", "band"];
        let sums = ["started", "linked", "linked_s", "cost", "costed"];
        let cells = evidence.cells("follow_up", &only, &by, &sums)?;
        let lines = cells.into_iter().map(|cell| {
            let [stage, family, coverage] = std::array::from_fn(|at| cell.group[at].clone());
            let [started, faults, seconds, cost, costed] =
                std::array::from_fn(|at| cell.sums[at].max(0));
            let band = cell.places[3];
            Line { stage, family, coverage, band, started, faults, seconds, cost, costed }
        });
        Ok(Risks {
            lines: lines.collect(),
            edges: band_days(evidence),
            level: evidence.rules().level,
            skipped,
            found: BTreeMap::new(),
        })
    }

    /// The risk of matings made with an end that is known to fail: those made despite a failing look,
    /// or, where even the fleet has too few of them to rank by, those with one end unseen. An end
    /// that is known to fail is taken to be no safer than one that only may, so that stands in as
    /// the lower value.
    pub fn failing(&mut self, stage: &str, family: &str) -> Option<Risk> {
        let own = self.get(stage, family, "despite-fail");
        if own.as_ref().is_some_and(Risk::is_firm) {
            return own;
        }
        self.get(stage, family, "one").filter(Risk::is_firm).or(own)
    }

    /// The risk of a class; none where these records cannot tell any.
    pub fn get(&mut self, stage: &str, family: &str, coverage: &'static str) -> Option<Risk> {
        let key = [stage, family, coverage].map(str::to_owned);
        if let Some(known) = self.found.get(&key) {
            return known.clone();
        }
        let found = self.look_up(stage, family, coverage);
        self.found.insert(key, found.clone());
        found
    }

    fn look_up(&self, stage: &str, family: &str, coverage: &'static str) -> Option<Risk> {
        let mut confounded = None;
        let mut last = None;
        for level in LEVELS {
            let Some(row) = self.ratio(level, stage, family, coverage) else { continue };
            // A coarser group does not clear a finer one of what else differs there.
            confounded =
                confounded.or(row.flags.contains(&Flag::Confounded).then_some(Flag::Confounded));
            let Some(mut risk) = self.risk(level, row, stage, family, coverage) else { continue };
            risk.flags.extend(confounded);
            risk.flags.sort_unstable();
            risk.flags.dedup();
            if row.is_firm() {
                return Some(risk);
            }
            last = Some(risk);
        }
        // Not even the fleet's ratio is firm: it is shown with its flags.
        last
    }

    /// The ratio of linked faults of a class to matings with both ends seen, in one group.
    fn ratio(&self, level: &str, stage: &str, family: &str, coverage: &str) -> Option<&'a Row> {
        let is = |own: &Option<String>, wanted: Option<&str>| own.as_deref() == wanted;
        let (by_stage, by_family) = (level.contains("stage"), level.contains("family"));
        self.skipped.quantity(Quantity::RateRatio).filter(|row| row.by.word() == level).find(
            |row| {
                is(&row.group.stage, by_stage.then_some(stage))
                    && is(&row.group.family, by_family.then_some(family))
                    && row.own.exposure.is_some_and(|exposure| exposure.word() == coverage)
                    && row.own.faults == Some(Faults::Linked)
                    && row.own.after_fault == Some(false)
            },
        )
    }

    fn within<'b>(
        &'b self,
        level: &str,
        stage: &'b str,
        family: &'b str,
    ) -> impl Iterator<Item = &'b Line> {
        let (by_stage, by_family) = (level.contains("stage"), level.contains("family"));
        self.lines.iter().filter(move |line| {
            (!by_stage || line.stage == stage) && (!by_family || line.family == family)
        })
    }

    fn risk(
        &self,
        level: &'static str,
        row: &Row,
        stage: &str,
        family: &str,
        coverage: &'static str,
    ) -> Option<Risk> {
        let share = |ratio: Option<f64>| ratio.filter(|ratio| *ratio > 0.0).map(|r| 1.0 - 1.0 / r);
        let share =
            Between { value: share(row.estimate)?, low: share(row.low)?, high: share(row.high)? };
        let own = || self.within(level, stage, family).filter(|line| line.coverage == coverage);
        let band = |(edge, number): (&[f64], u32)| {
            let of = || own().filter(move |line| line.band == number);
            let seconds: f64 = of().map(|line| line.seconds as f64).sum();
            let events = of().map(|line| line.faults as u64).sum();
            Band { width: edge[1] - edge[0], events, exposure: seconds / DAY_S }
        };
        let bands: Vec<Band> = self.edges.windows(2).zip(0u32..).map(band).collect();
        let (mean_cost, cost_of) = self.mean_cost(stage, family)?;
        let risk = Risk {
            bands,
            edges: self.edges.clone(),
            level: self.level,
            share,
            n: own().map(|line| line.started as f64).sum(),
            faults: own().fold(0, |sum, line| sum.saturating_add(line.faults)),
            rates_as: coverage,
            rates_of: level,
            mean_cost,
            cost_of,
            flags: row.flags.clone(),
        };
        risk.remaining(0.0).value.is_some().then_some(risk)
    }

    /// Mean cost of a linked fault of any coverage, of the finest group with enough of them.
    fn mean_cost(&self, stage: &str, family: &str) -> Option<(f64, &'static str)> {
        let mean = |level: &'static str| {
            let sum = |of: fn(&Line) -> i64| -> i64 {
                let lines = self.within(level, stage, family);
                lines.fold(0, |sum, line| sum.saturating_add(of(line)))
            };
            let (cost, faults) = (sum(|line| line.cost), sum(|line| line.costed));
            let least = if level == "fleet" { 1 } else { LEAST_FAULTS };
            (faults >= least).then(|| (cost as f64 / faults as f64, level))
        };
        LEVELS.into_iter().find_map(mean)
    }
}
