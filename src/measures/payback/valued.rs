//! A proposal valued: draws of what it saves, and the rows that say so.

use rayon::prelude::*;

use super::asked::Asked;
use super::case::{Case, Saving, saving};
use super::declared::{By, Own, Quantity, Row, Table};
use super::described;
use super::flows::FleetFlows;
use super::terms::Terms;
use crate::measures::results::{Group, Money, Unit};
use crate::stats::bootstrap::{Resampled, expanded_percentile};
use crate::stats::discounting::equivalent_flow;
use crate::stats::never::quantile_of_times;
use crate::stats::{Estimate, wilson};

/// Points of the curve of cash over months at most, besides the first.
const MOST_POINTS: u32 = 60;
/// Stands for so many clusters that their number no longer matters.
const MANY_CLUSTERS: u64 = 1_000_000;
const MINUTES: f64 = 60.0;

/// A proposal with its draws.
pub struct Valued<'a> {
    /// What it changes.
    pub case: Case<'a>,
    /// When its money flows.
    pub terms: Terms,
    /// What it saves in a year, draw by draw.
    pub savings: Vec<Saving>,
    /// Clusters that the draws rest on.
    pub clusters: u64,
}

impl<'a> Valued<'a> {
    /// Draws what a case saves in a year.
    pub fn of(flows: &FleetFlows, case: Case<'a>, asked: &Asked) -> Valued<'a> {
        let terms = Terms::of(case.proposal, asked.discount_rate);
        let draw = |draw: usize| {
            let skipped = flows.skipped.get(draw).map_or(&[][..], Vec::as_slice);
            saving(flows, &case.drawn_shares(flows, draw), skipped)
        };
        let savings = (0..asked.drawing.draws as usize).into_par_iter().map(draw).collect();
        let clusters = if flows.clusters > 0 { flows.clusters } else { MANY_CLUSTERS };
        Valued { case, terms, savings, clusters }
    }

    /// Mean over the draws with its interval.
    pub fn estimate(&self, asked: &Asked, of: impl Fn(&Saving) -> f64) -> Estimate {
        let values: Vec<f64> = self.savings.iter().map(of).collect();
        mean(&values, self.clusters, asked)
    }

    /// The rows of the proposal, curve included.
    pub fn rows(&self, asked: &Asked, table: &mut Table) {
        let terms = self.terms;
        let factor = terms.factor();
        let equal = |saved: &Saving| {
            let worth = terms.present_value(saved.money);
            equivalent_flow(worth, terms.rate, terms.life).unwrap_or(0.0) * 12.0
        };
        let units = f64::from(self.case.proposal.units);
        // Training is paid whatever a unit costs.
        let trained = self.case.proposal.training_cost as f64;
        let price = |saved: &Saving| ((saved.money - terms.running) * factor - trained) / units;
        let of_draws = |of: &dyn Fn(&Saving) -> f64| self.estimate(asked, of);
        let worth = of_draws(&|saved| terms.present_value(saved.money));
        let own = Own {
            what: Some(described::what(self.case.proposal)),
            places: Some(described::places(self.case.proposal)),
            ..Own::default()
        };
        table.rows.push(self.row(By::Proposal, Quantity::NetPresentValue, &worth, own));
        let mut add = |quantity: Quantity, estimate: Estimate| {
            table.rows.push(self.row(By::Proposal, quantity, &estimate, Own::default()));
        };
        add(Quantity::BreakEvenPrice, of_draws(&price));
        add(Quantity::Saving, of_draws(&|saved| saved.money));
        add(Quantity::Equivalent, of_draws(&equal));
        add(Quantity::InternalRate, self.internal_rate(asked));
        add(Quantity::FaultsAvoided, of_draws(&|saved| saved.faults));
        add(Quantity::DowntimeAvoided, of_draws(&|saved| saved.downtime_min / MINUTES));
        let method = "share of the draws, Wilson for their number";
        add(Quantity::PaysBack, Estimate { method, ..self.pays_back(asked) });
        add(Quantity::PaybackMonth, self.payback_month(asked));
        self.curve(asked, table);
    }

    /// Share of the draws that pay back within the life; the interval is of the number of draws alone.
    fn pays_back(&self, asked: &Asked) -> Estimate {
        // What costs nothing and saves nothing pays nothing back.
        let paid = self
            .savings
            .iter()
            .filter(|saved| saved.money > 0.0 && self.terms.present_value(saved.money) >= 0.0);
        wilson(paid.count() as f64, self.savings.len() as f64, asked.drawing.level)
    }

    /// Median of the months, a draw that never pays back counting as later than any.
    fn payback_month(&self, asked: &Asked) -> Estimate {
        let months: Vec<Option<f64>> =
            self.savings.iter().map(|saved| self.terms.payback_month(saved.money)).collect();
        let tail = (1.0 - asked.drawing.level) / 2.0;
        let at = |share: f64| quantile_of_times(&months, share);
        Estimate {
            value: at(0.5),
            low: at(tail),
            high: at(1.0 - tail),
            level: asked.drawing.level,
            n: self.savings.len() as f64,
            events: 0,
            method: "Monte Carlo, median",
            warnings: Vec::new(),
        }
    }

    /// Median of the internal rates of a year; a draw that pays nothing back has a lower one than any.
    fn internal_rate(&self, asked: &Asked) -> Estimate {
        // By their negatives: what has none then comes after all others.
        let rates: Vec<Option<f64>> = self
            .savings
            .par_iter()
            .map(|saved| self.terms.internal_rate(saved.money).map(|rate| -rate))
            .collect();
        let tail = (1.0 - asked.drawing.level) / 2.0;
        let at = |share: f64| quantile_of_times(&rates, 1.0 - share).map(|rate| -rate);
        Estimate {
            value: at(0.5),
            low: at(tail),
            high: at(1.0 - tail),
            level: asked.drawing.level,
            n: self.savings.len() as f64,
            events: 0,
            method: "Monte Carlo, median",
            warnings: Vec::new(),
        }
    }

    /// Discounted cash over the months.
    fn curve(&self, asked: &Asked, table: &mut Table) {
        let saved = self.estimate(asked, |saved| saved.money);
        let end = self.terms.end();
        let step = end.div_ceil(MOST_POINTS).max(1);
        let months = (0..end).step_by(step as usize).chain([end]);
        for month in months {
            let at = |saving: Option<f64>| saving.map(|saved| self.terms.cash(saved, month));
            let cash = Estimate {
                value: at(saved.value),
                low: at(saved.low),
                high: at(saved.high),
                ..saved.clone()
            };
            let own = Own { month: Some(month), ..Own::default() };
            table.rows.push(self.row(By::ProposalMonth, Quantity::Cash, &cash, own));
        }
    }

    /// A row of this proposal, with what it says besides.
    pub fn row(&self, by: By, quantity: Quantity, estimate: &Estimate, own: Own) -> Row {
        let proposal = self.case.proposal;
        let own = Own {
            proposal: Some(proposal.name.clone()),
            price: Some(Money::rounded(self.terms.outlay)),
            units: Some(proposal.units),
            life_months: Some(proposal.life_months),
            ..own
        };
        let row = Row::of(by, Group::default(), quantity, estimate, own);
        whole(row).flagged(self.case.flags.iter().copied())
    }
}

/// A row of draws: it counts no events, and its money is whole minor units.
pub fn whole(mut row: Row) -> Row {
    row.events = None;
    if row.unit() == Unit::Money {
        for value in [&mut row.estimate, &mut row.low, &mut row.high] {
            *value = value.map(f64::round);
        }
    }
    row
}

/// Mean of draws with the interval of their percentiles, no narrower than so few clusters allow.
pub fn mean(values: &[f64], clusters: u64, asked: &Asked) -> Estimate {
    let often = values.len() as f64;
    let mean = values.iter().sum::<f64>() / often.max(1.0);
    let draws: Vec<Option<f64>> = values.iter().map(|value| Some(*value)).collect();
    let of = Resampled { value: Some(mean), n: often, events: 0, clusters };
    let found = expanded_percentile(of, &draws, asked.drawing.level);
    Estimate { method: "Monte Carlo, expanded percentile", ..found }
}
