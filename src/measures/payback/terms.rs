//! When money flows: price at the start, savings and running cost at the end of each month of the life.

use crate::settings::Proposal;
use crate::stats::discounting::{annuity, internal_rate, part_rate, recovered_after};

const MONTHS: u32 = 12;

/// The terms of a purchase. Money in minor units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Terms {
    /// Price of all units, and training.
    pub outlay: f64,
    /// What running and leasing all units costs in a year.
    pub running: f64,
    /// Months before it works, and months that it does.
    pub start: u32,
    pub life: u32,
    /// Discount rate of a month, compounding to the year's.
    pub rate: f64,
}

impl Terms {
    /// Of a proposal, at a discount rate of a year.
    pub fn of(proposal: &Proposal, rate: f64) -> Terms {
        // Sums that are beyond all money are refused where the settings are read.
        Terms {
            outlay: proposal.outlay().unwrap_or(i64::MAX) as f64,
            running: proposal.yearly_cost().unwrap_or(i64::MAX) as f64,
            start: proposal.starts_after_months,
            life: proposal.life_months,
            rate: part_rate(rate, MONTHS),
        }
    }

    /// What a flow of one a year, month by month over the life, is worth at the start.
    pub fn factor(&self) -> f64 {
        annuity(self.rate, self.life, self.start) / f64::from(MONTHS)
    }

    /// Net present value where so much is saved in a year.
    pub fn present_value(&self, saving: f64) -> f64 {
        (saving - self.running) * self.factor() - self.outlay
    }

    /// Discounted cash summed up to the end of a month.
    pub fn cash(&self, saving: f64, month: u32) -> f64 {
        let worked = month.saturating_sub(self.start).min(self.life);
        let yearly = annuity(self.rate, worked, self.start) / f64::from(MONTHS);
        (saving - self.running) * yearly - self.outlay
    }

    /// Last month of the life.
    pub fn end(&self) -> u32 {
        self.start.saturating_add(self.life)
    }

    /// The rate of a year at which it would be worth nothing; none where nothing is paid at the start, or nothing back.
    pub fn internal_rate(&self, saving: f64) -> Option<f64> {
        let monthly = internal_rate(&self.flows(saving))?;
        Some((f64::from(MONTHS) * monthly.ln_1p()).exp_m1())
    }

    /// What flows month by month, from the price on.
    fn flows(&self, saving: f64) -> Vec<f64> {
        let monthly = (saving - self.running) / f64::from(MONTHS);
        let mut flows = vec![0.0; self.end() as usize + 1];
        flows[0] = -self.outlay;
        flows[self.start as usize + 1..].fill(monthly);
        flows
    }

    /// Months until the discounted savings have paid back the price; none within the life.
    pub fn payback_month(&self, saving: f64) -> Option<f64> {
        recovered_after(&self.flows(saving), self.rate)
    }
}
