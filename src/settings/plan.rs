//! The settings as understood: every default filled in, every name resolved, every number checked.
//!
//! After a [`Plan`] exists nothing re-validates it; every other part of the program takes it, or a
//! piece of it, by reference.

use std::path::Path;

use super::action::Action;
use super::answers::OpenQuestion;
use super::codes::{Codes, allowed};
use super::costs::Costs;
use super::fleet::Fleet;
use super::lists::Lists;
use super::looks::Looks;
use super::place::Place;
use super::problems::Problems;
use super::proposal::Proposal;
use super::rules::Rules;
use super::source::Source;
use super::stages::Stages;
use super::typed::Settings;
use super::{action, codes, costs, fleet, looks, proposal, rules, source, stages};

/// One fleet's settings, checked as a whole.
#[derive(Clone, Debug)]
pub struct Plan {
    /// Who and where.
    pub fleet: Fleet,
    /// Thresholds of the derivations and measures.
    pub rules: Rules,
    /// Lifecycle stages in order.
    pub stages: Stages,
    /// Code lists by coded column; a value outside its list is quarantined.
    pub codes: Codes,
    /// What work and trouble cost.
    pub costs: Costs,
    /// Where records come from, ordered by name.
    pub sources: Vec<Source>,
    /// What may be bought, in the order of the settings.
    pub proposals: Vec<Proposal>,
    /// What may be spent on it, minor units.
    pub budget: Option<i64>,
    /// What was done, in the order of the settings.
    pub actions: Vec<Action>,
    /// What there is to look with.
    pub looks: Looks,
    /// Questions of the settings that nobody has answered.
    pub open: Vec<OpenQuestion>,
    /// BLAKE3 of the text that was understood so, hex.
    pub text_blake3: String,
}

impl Plan {
    /// The words that `column` may hold, in the order of their list; none where any word is taken.
    ///
    /// Joins the lists that the program fixes with those of the settings: codes, stages, sites.
    pub fn allowed(&self, column: &str) -> Option<Vec<&str>> {
        allowed(column, &self.fleet.sites, &self.stages, &self.codes)
    }
}

/// The plan of a settings file in `folder`; worth nothing once a problem was noted: each section goes on with a stand-in
/// where it notes one, so that the rest is checked too.
pub fn plan(typed: &Settings, folder: &Path, problems: &mut Problems) -> Plan {
    let top = Place::default();
    let fleet = fleet::fleet(typed.fleet.as_ref(), folder, &top.key("fleet"), problems);
    let stages = stages::stages(typed.stages.as_ref(), &top.key("stages"), problems);
    let codes = codes::codes(typed.codes.as_ref(), &top.key("codes"), problems);
    let rules = rules::rules(typed.rules.as_ref(), &codes.cause, &top.key("rules"), problems);
    let costs = costs::costs(typed.costs.as_ref(), &top.key("costs"), problems);
    let lists = Lists { sites: &fleet.sites, stages: &stages, codes: &codes };
    let sources = source::sources(typed.source.as_deref(), &fleet, &lists, problems);
    let proposals = proposal::proposals(typed.proposal.as_deref(), &lists, problems);
    let budget = proposal::budget(typed.budget.as_ref(), problems);
    if typed.proposal.as_ref().is_some_and(|proposals| !proposals.is_empty()) {
        costs::required(typed.costs.as_ref(), &top.key("costs"), problems);
    }
    let actions = action::actions(typed.action.as_deref(), &lists, &proposals, problems);
    action::check_effects(&proposals, &actions, problems);
    let looks = looks::looks(typed.looks.as_ref(), &lists, problems);
    let text_blake3 = String::new();
    Plan {
        fleet,
        rules,
        stages,
        codes,
        costs,
        sources,
        proposals,
        budget,
        actions,
        looks,
        open: Vec::new(),
        text_blake3,
    }
}
