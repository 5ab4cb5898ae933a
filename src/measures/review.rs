//! Everything that a report prints, and nothing that it would have to compute.

use crate::derive::{DeriveError, Derived, Listing, Period};
use crate::measures::actions;
use crate::measures::carriers;
use crate::measures::changes;
use crate::measures::coverage;
use crate::measures::cycles;
use crate::measures::entry;
use crate::measures::evidence::Evidence;
use crate::measures::fault_rates;
use crate::measures::first_pass;
use crate::measures::intake;
use crate::measures::looks_plan;
use crate::measures::payback;
use crate::measures::results::AnyTable;
use crate::measures::skipped_cost;
use crate::measures::skipped_cost::books::Books;
use crate::measures::trust;
use crate::measures::worklist;
use crate::settings::{Costs, OpenQuestion, Plan};
use crate::store::FileAccount;

/// One review.
#[derive(Clone, Debug)]
pub struct Review {
    /// Name of the fleet, as printed.
    pub fleet: String,
    /// ISO 4217 code of the money in the tables.
    pub currency: String,
    /// The quarter that is reviewed, and how far back the slower measures look.
    pub period: Period,
    /// Level of the intervals.
    pub level: f64,
    /// Follow-up after a mating, days.
    pub horizon_days: u32,
    /// How long before a mating a look counts, hours.
    pub window_hours: u32,
    /// How far back the slower measures look from the end of the period, months.
    pub look_back_months: u32,
    /// Share of a part of the rows above which too many were refused.
    pub quarantine_limit: f64,
    /// Sites with a page of their own in the report, at most.
    pub site_pages: u32,
    /// Whether the settings give any price; without, looks cost nothing and faults only what
    /// their records say.
    pub priced: bool,
    /// Questions of the settings that nobody has answered, the one that changes most first.
    pub open_questions: Vec<OpenQuestion>,
    /// How often the first look passes (5.1).
    pub first_pass: first_pass::Table,
    /// How many cleaning cycles it takes to pass (5.2).
    pub cycles: cycles::Table,
    /// How much is looked at before mating (5.3).
    pub coverage: coverage::Table,
    /// How often connections fail (5.4).
    pub fault_rates: fault_rates::Table,
    /// What skipped looks cost (5.5).
    pub skipped_cost: skipped_cost::Table,
    /// Where dirt enters (5.6).
    pub entry: entry::Table,
    /// What carries dirt (5.7).
    pub carriers: carriers::Table,
    /// What purchases pay back (5.8).
    pub payback: payback::Table,
    /// Whether what was done worked (5.12).
    pub actions: actions::Table,
    /// Where the minutes for looks should go (5.13).
    pub looks_plan: looks_plan::Table,
    /// What changed since (5.9).
    pub changes: changes::Table,
    /// What to look at first (5.11).
    pub worklist: worklist::Table,
    /// How far the records can be trusted (5.10).
    pub trust: trust::Table,
    /// What became of the rows of every export.
    pub intake: intake::Table,
    /// Stages in the order of the settings, for pictures as the next two.
    pub stages: Vec<String>,
    /// Families in the order of the settings.
    pub families: Vec<String>,
    /// Sites in the order of the settings.
    pub sites: Vec<String>,
}

impl Review {
    /// Every table, in the order of files, of the workbook, of the dictionary and of `run.json`.
    pub fn tables(&self) -> [&dyn AnyTable; 14] {
        [
            &self.first_pass,
            &self.cycles,
            &self.coverage,
            &self.fault_rates,
            &self.skipped_cost,
            &self.entry,
            &self.carriers,
            &self.payback,
            &self.actions,
            &self.changes,
            &self.looks_plan,
            &self.worklist,
            &self.trust,
            &self.intake,
        ]
    }
}

/// Whether anything costs anything.
fn is_priced(costs: &Costs) -> bool {
    let Costs { cleaning_material, labour_hour, downtime_hour, visit, reject, .. } = costs;
    [cleaning_material, labour_hour, downtime_hour, visit, reject].iter().any(|price| **price > 0)
}

/// Measures everything of one derivation. `accounts` are the store's, by file.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn review(
    plan: &Plan,
    derived: &Derived,
    accounts: &[FileAccount],
) -> Result<Review, DeriveError> {
    let evidence = Evidence::of(plan, derived);
    // None of these needs another; each is the same whichever thread works it out.
    let ((first_pass, cycles), (coverage, fault_rates)) = rayon::join(
        || rayon::join(|| first_pass::first_pass(&evidence), || cycles::cycles(&evidence)),
        || rayon::join(|| coverage::coverage(&evidence), || fault_rates::fault_rates(&evidence)),
    );
    let books = Books::of(&evidence)?;
    let ((skipped_cost, looks_plan), (carriers, changes)) = rayon::join(
        || rayon::join(|| skipped_cost::skipped_cost(&books), || looks_plan::looks_plan(&books)),
        || rayon::join(|| carriers::carriers(&evidence), || changes::changes(&evidence)),
    );
    let (first_pass, mut cycles, coverage) = (first_pass?, cycles?, coverage?);
    let tools = cycles::ToolCycles::of(&evidence, &carriers);
    cycles::without_carriers(&tools, &mut cycles);
    let (fault_rates, skipped_cost) = (fault_rates?, skipped_cost?);
    let entry = entry::entry(&evidence, &skipped_cost)?;
    let worklist = {
        let from =
            worklist::Sources { cycles: &cycles, skipped: &skipped_cost, carriers: &carriers };
        worklist::worklist(&evidence, &from)?
    };
    let mut actions = actions::actions(&evidence, &skipped_cost)?;
    let payback = payback::of_proposals(&books, &entry, &carriers, &tools, &actions)?;
    payback::add_promises(&mut actions, &payback);
    let trust = {
        let (evidence, site_weeks) = (&evidence, &books.site_weeks);
        let (coverage, skipped_cost) = (&coverage, &skipped_cost);
        trust::trust(&trust::Sources { evidence, accounts, coverage, skipped_cost, site_weeks })?
    };
    Ok(Review {
        fleet: plan.fleet.name.clone(),
        currency: plan.fleet.currency.clone(),
        period: derived.period.clone(),
        level: plan.rules.level,
        horizon_days: plan.rules.horizon_days,
        window_hours: plan.rules.coverage_window_hours,
        look_back_months: plan.rules.look_back_months,
        quarantine_limit: plan.rules.quarantine_limit,
        site_pages: plan.rules.site_pages,
        priced: is_priced(&plan.costs),
        open_questions: plan.open.clone(),
        first_pass,
        cycles,
        coverage,
        fault_rates,
        skipped_cost,
        entry,
        carriers,
        payback,
        actions,
        looks_plan: looks_plan?,
        changes: changes?,
        worklist,
        trust,
        intake: intake::intake(accounts),
        stages: plan.stages.order.clone(),
        families: Listing::of(&derived.glossary.family).words,
        sites: Listing::of(&derived.glossary.site).words,
    })
}
