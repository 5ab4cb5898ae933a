//! 5.8, Q8: would a cleaning tool, a microscope, a cap policy pay for itself?
//!
//! A proposal keeps shares out of pools of money: faults associated with skipped looks (5.5), cleanings,
//! their material, the looks after them, rejects; and spends on looks that were not made. What is unsure is
//! drawn: the resampled costs, ratios and looks of 5.5 (the same draws as its table by site and stage), by the same
//! resamples how visits left, their rejects and the odds of methods (5.2), hazards of entry (5.6), what carriers pass on (5.7), and what was stated as low,
//! likely and high (triangular). Counts of matings, looks and cleanings are those of the months looked
//! back, as of a year, and stay so over the life. Savings flow at the end of each month and are discounted
//! monthly. A look on arrival at a stage without matings is paid for by what the
//! next stage is spared: as much dirt as first looks there find now. Left out: what a look before a mating,
//! or less dirt at a step, spares later stages, what becomes of end faces left failing, and that better
//! cleaning makes added looks cheaper.
//!
//! Less dirt at a stage is taken to avoid the same share of the faults associated with skipped looks
//! there: those faults are of the ends nobody looked at, and they are as dirty as the others.

mod act;
mod asked;
mod case;
mod declared;
mod described;
mod effect;
mod flow_counts;
mod flows;
mod input;
mod ladder;
mod named;
mod parts;
mod prepare;
mod promised;
mod purse;
mod resting;
mod scatter;
mod sets;
mod terms;
mod tornado;
mod valued;
mod visits;

pub use crate::measures::cycles::Contrast;
pub use asked::Asked;
pub use declared::*;
pub use flows::{Arriving, CarrierExcess, Experience, FleetFlows, Place, Skipped, StepHazard};
pub use input::Drawing;
pub use named::{CarriersUsed, carrier_excess, entry_hazards, experiences};
pub(in crate::measures) use promised::add_promises;
pub use purse::{Pool, Purse};
pub use visits::{VisitWeek, VisitWeeks};

use crate::derive::DeriveError;
use crate::measures::cycles::ToolCycles;
use crate::measures::flag::Flag;
use crate::measures::results::{Group, Money};
use crate::measures::skipped_cost::books::Books;
use crate::measures::{actions, carriers, entry};
use crate::settings::Proposal;
use case::Case;
use valued::Valued;

/// The table of payback of what the settings propose; it is empty where nothing is proposed.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn of_proposals(
    books: &Books,
    entry: &entry::Table,
    carriers: &carriers::Table,
    tools: &ToolCycles,
    actions: &actions::Table,
) -> Result<Table, DeriveError> {
    let evidence = books.evidence;
    let (plan, rules) = (evidence.plan, evidence.rules());
    if plan.proposals.is_empty() {
        return Ok(Table::default());
    }
    let asked = Asked {
        proposals: &plan.proposals,
        budget: plan.budget,
        discount_rate: plan.costs.discount_rate,
        drawing: Drawing { seed: rules.seed, draws: rules.draws, level: rules.level },
    };
    let mut flows = flow_counts::flows(books, &plan.proposals, tools)?;
    flows.entry = Some(entry_hazards(entry));
    flows.carriers = Some(carrier_excess(carriers, &CarriersUsed::of(evidence), rules.level));
    flows.experiences = experiences(actions);
    Ok(payback(&flows, &asked))
}

/// The table of payback, from the flows of a fleet.
pub fn payback(flows: &FleetFlows, asked: &Asked) -> Table {
    let mut table = Table::default();
    let means = flows.means();
    let mut valued = Vec::new();
    for proposal in asked.proposals {
        match Case::of(flows, proposal, &asked.drawing) {
            Ok(case) => {
                let case = Valued::of(flows, case, asked);
                case.rows(asked, &mut table);
                parts::parts(flows, &means, &case, asked, &mut table);
                tornado::tornado(flows, &means, &case, asked, &mut table);
                valued.push(case);
            }
            Err(reason) => table.rows.push(without_value(proposal, reason)),
        }
    }
    ladder::ladder(flows, &means, &valued, asked, &mut table);
    table
}

/// The row of a proposal that the fleet has no estimate for.
fn without_value(proposal: &Proposal, reason: String) -> Row {
    let own = Own {
        proposal: Some(proposal.name.clone()),
        price: proposal.outlay().map(Money),
        units: Some(proposal.units),
        life_months: Some(proposal.life_months),
        what: Some(described::what(proposal)),
        places: Some(described::places(proposal)),
        reason: Some(reason),
        ..Own::default()
    };
    let (by, quantity) = (By::Proposal, Quantity::NetPresentValue);
    Row::figure(by, Group::default(), quantity, f64::NAN, "none", own)
        .flagged([Flag::NotIdentified])
}
