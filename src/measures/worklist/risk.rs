//! What a mating not seen at both ends risks until its horizon, and what of that goes with not having
//! looked (5.11): from the counts and ratios of 5.5, nothing estimated anew.
//!
//! Expected saving = cumulative hazard of the coverage class from the mating's age to the horizon
//! (first linked faults, Nelson-Aalen over the bands of F4) x (1 - 1 / ratio to matings with both ends
//! seen) x mean cost of a linked fault. The ratio holds for the whole horizon, so what remains falls with
//! age and never turns its sign. Hazard and ratio are taken from the finest of stage+family, family,
//! stage, fleet whose ratio has no flag that keeps it out of rankings; the cost from the finest with
//! enough faults. The hazard's limits are as wide as faults scatter by blocks of a site (5.4). The limits of
//! the saving are the outermost that the limits of hazard and ratio give together: they hold both doubts
//! at once and are wide; the mean cost is taken as known.

use std::collections::BTreeMap;

use super::declared::Within;
use crate::by;
use crate::calendar::DAY_S;
use crate::derive::DeriveError;
use crate::derive::counts::{AfterFault, Band as BandNo, Coverage, Family, FollowUp, Stage};
use crate::measures::evidence::Evidence;
use crate::measures::fault_rates::{BlockFaults, Certainty, band_days};
use crate::measures::flag::Flag;
use crate::measures::prices::{Price, PriceBook};
use crate::measures::results::Group;
use crate::measures::skipped_cost::{Exposure, Faults, Row, Table};
use crate::stats::{Band, Estimate, cumulative_hazard_dispersed};

/// Fewest faults that a mean cost is taken from.
const LEAST_FAULTS: f64 = 5.0;

/// Follow-up of one stage, family, coverage and band.
struct Line {
    stage: String,
    family: String,
    coverage: Coverage,
    band: BandNo,
    /// Matings.
    started: i64,
    /// First linked faults.
    faults: i64,
    /// Time to them or to the end of follow-up.
    seconds: i64,
}

/// A value with what it may be at least and at most.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::measures) struct Between {
    /// The value.
    pub value: f64,
    /// At least.
    pub low: f64,
    /// At most.
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
    /// By how much more than chance faults scatter by blocks of a site.
    phi: f64,
    level: f64,
    /// 1 - 1 / ratio.
    share: Between,
    /// Matings that the hazard rests on.
    pub n: f64,
    /// First linked faults that the hazard rests on.
    pub faults: i64,
    /// The matings that hazard and ratio are of.
    pub rates_as: Exposure,
    /// Their group.
    pub rates_of: Within,
    /// Minor units of a linked fault; none where nothing is known of prices.
    pub mean_cost: Option<f64>,
    /// The group that these are of.
    pub cost_of: Within,
    /// What a reader must know of the ratio.
    pub flags: Vec<Flag>,
}

impl Risk {
    /// Whether what it gives may be ranked.
    pub fn is_firm(&self) -> bool {
        self.flags.iter().all(|flag| flag.only_warns())
    }

    /// Minor units that are expected to be saved from this age on, days; none where the hazard or what a
    /// fault costs is not known.
    pub fn saving(&self, age: f64) -> Option<Between> {
        let hazard = self.remaining(age);
        let hazard = Between { value: hazard.value?, low: hazard.low?, high: hazard.high? };
        Some(hazard.times(self.share).times(Between::known(self.mean_cost?)))
    }

    /// Cumulative hazard from this age to the horizon.
    fn remaining(&self, age: f64) -> Estimate {
        let left = |(edge, band): (&[f64], &Band)| {
            let width = (edge[1] - edge[0].max(age)).max(0.0);
            (width > 0.0).then_some(Band { width, ..*band })
        };
        let bands: Vec<Band> = self.edges.windows(2).zip(&self.bands).filter_map(left).collect();
        cumulative_hazard_dispersed(&bands, self.phi, self.level)
    }
}

/// Risks of every stage, family and coverage class.
pub(in crate::measures) struct Risks<'a> {
    lines: Vec<Line>,
    edges: Vec<f64>,
    phi: f64,
    level: f64,
    skipped: &'a Table,
    prices: &'a PriceBook,
    unpriced_limit: f64,
    /// By stage, family and class.
    found: BTreeMap<(String, String, Exposure), Option<Risk>>,
}

impl<'a> Risks<'a> {
    /// From the look-back's matings that were not made after a fault, as the headline of 5.5, and
    /// its table of ratios.
    ///
    /// # Errors
    /// A count table that cannot be grouped: a fault of the program.
    pub fn of(evidence: &'a Evidence, skipped: &'a Table) -> Result<Risks<'a>, DeriveError> {
        let not_after_fault = evidence.looked_back::<FollowUp>().with([AfterFault::No]);
        let mut lines = Vec::new();
        for coverage in Coverage::ALL.iter().copied() {
            let rows = not_after_fault.clone().with([coverage]);
            for group in evidence.along::<BandNo, FollowUp>(&rows, &by!(Stage, Family))? {
                let [stage, family] = &group.words[..] else { continue };
                lines.extend(group.cells.iter().map(|(band, counts)| Line {
                    stage: stage.clone(),
                    family: family.clone(),
                    coverage,
                    band: *band,
                    started: counts.started.max(0),
                    faults: counts.linked.max(0),
                    seconds: counts.linked_s.max(0),
                }));
            }
        }
        Ok(Risks {
            lines,
            edges: band_days(evidence),
            phi: BlockFaults::by_horizon(evidence).of_all(Certainty::Linked).1.phi,
            level: evidence.rules().level,
            skipped,
            prices: evidence.prices(),
            unpriced_limit: evidence.rules().unpriced_limit,
            found: BTreeMap::new(),
        })
    }

    /// The risk of matings made with an end that is known to fail: those made despite a failing look,
    /// or, where even the fleet has too few of them to rank by, those with one end unseen. An end
    /// that is known to fail is taken to be no safer than one that only may, so that stands in as
    /// the lower value.
    pub fn failing(&mut self, stage: &str, family: &str) -> Option<Risk> {
        let despite_fail = self.get(stage, family, Exposure::DespiteFail);
        if despite_fail.as_ref().is_some_and(Risk::is_firm) {
            return despite_fail;
        }
        self.get(stage, family, Exposure::One).filter(Risk::is_firm).or(despite_fail)
    }

    /// The risk of a class; none where these records cannot tell any.
    pub fn get(&mut self, stage: &str, family: &str, exposure: Exposure) -> Option<Risk> {
        let key = (stage.to_owned(), family.to_owned(), exposure);
        if let Some(known) = self.found.get(&key) {
            return known.clone();
        }
        let found = self.look_up(stage, family, exposure);
        self.found.insert(key, found.clone());
        found
    }

    fn look_up(&self, stage: &str, family: &str, exposure: Exposure) -> Option<Risk> {
        let mut confounded = None;
        let mut last = None;
        for within in Within::ALL.iter().copied() {
            let Some(row) = self.ratio(within, stage, family, exposure) else { continue };
            // A coarser group does not clear a finer one of what else differs there.
            confounded =
                confounded.or(row.flags.contains(&Flag::Confounded).then_some(Flag::Confounded));
            let Some(mut risk) = self.risk(within, row, [stage, family], exposure) else {
                continue;
            };
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
    fn ratio(
        &self,
        within: Within,
        stage: &str,
        family: &str,
        exposure: Exposure,
    ) -> Option<&'a Row> {
        let (by_stage, by_family) = within.parts();
        self.skipped.ratios(within.by(), exposure, Faults::Linked).find(|row| {
            row.group.stage.as_deref() == by_stage.then_some(stage)
                && row.group.family.as_deref() == by_family.then_some(family)
        })
    }

    fn lines_within<'b>(
        &'b self,
        within: Within,
        [stage, family]: [&'b str; 2],
    ) -> impl Iterator<Item = &'b Line> {
        let (by_stage, by_family) = within.parts();
        self.lines.iter().filter(move |line| {
            (!by_stage || line.stage == stage) && (!by_family || line.family == family)
        })
    }

    fn risk(
        &self,
        within: Within,
        row: &Row,
        place: [&str; 2],
        exposure: Exposure,
    ) -> Option<Risk> {
        let share = |ratio: Option<f64>| ratio.filter(|ratio| *ratio > 0.0).map(|r| 1.0 - 1.0 / r);
        let share =
            Between { value: share(row.estimate)?, low: share(row.low)?, high: share(row.high)? };
        let exposed = || {
            let lines = self.lines_within(within, place);
            lines.filter(|line| exposure.side(line.coverage) == Some(true))
        };
        let band = |(edge, number): (&[f64], BandNo)| {
            let of_band = || exposed().filter(move |line| line.band == number);
            let seconds: f64 = of_band().map(|line| line.seconds as f64).sum();
            let events = of_band().map(|line| line.faults as u64).sum();
            Band { width: edge[1] - edge[0], events, exposure: seconds / DAY_S as f64 }
        };
        let bands = self.edges.windows(2).zip((0..).map(BandNo)).map(band).collect();
        let (price, cost_of) = self.price(place)?;
        let unpriced = self.prices.flag(&price, self.unpriced_limit);
        let risk = Risk {
            bands,
            edges: self.edges.clone(),
            phi: self.phi,
            level: self.level,
            share,
            n: exposed().map(|line| line.started as f64).sum(),
            faults: exposed().fold(0, |sum, line| sum.saturating_add(line.faults)),
            rates_as: exposure,
            rates_of: within,
            mean_cost: price.mean(),
            cost_of,
            flags: row.flags.iter().copied().chain(unpriced).collect(),
        };
        risk.remaining(0.0).value.is_some().then_some(risk)
    }

    /// What linked faults of any coverage cost, of the finest group with enough of them.
    fn price(&self, [stage, family]: [&str; 2]) -> Option<(Price, Within)> {
        let of = |within: Within| {
            let (by_stage, by_family) = within.parts();
            let group = Group {
                stage: by_stage.then(|| stage.to_owned()),
                family: by_family.then(|| family.to_owned()),
                ..Group::default()
            };
            let price = self.prices.price(&group, |_| true);
            let least = if within == Within::Fleet { 1.0 } else { LEAST_FAULTS };
            (price.sums.faults >= least).then_some((price, within))
        };
        Within::ALL.iter().copied().find_map(of)
    }
}
