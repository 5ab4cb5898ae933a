//! From what was typed to what is meant: defaults filled in, names resolved, numbers in range.
//!
//! A function here takes a part as typed and always gives a part as understood; where it notes a
//! problem it goes on with a stand-in, so that the rest is checked too. The caller drops the plan
//! as soon as anything was noted.

mod codes;
mod columns;
mod dates;
mod dialect;
mod effect;
mod files;
mod fleet;
mod lists;
mod part;
mod people;
mod proposal;
mod record;
mod source;
mod values;
mod when;

use std::path::Path;

use super::place::Place;
use super::plan::Plan;
use super::problems::Problems;
use super::written::Settings;
use super::{costs, rules};

use lists::Lists;

/// The plan of a settings file in `folder`; worth nothing once a problem was noted.
pub fn plan(written: &Settings, folder: &Path, problems: &mut Problems) -> Plan {
    let top = Place::default();
    let fleet = fleet::fleet(written.fleet.as_ref(), folder, &top.key("fleet"), problems);
    let stages = codes::stages(written.stages.as_ref(), &top.key("stages"), problems);
    let codes = codes::codes(written.codes.as_ref(), &top.key("codes"), problems);
    let rules = rules::rules(written.rules.as_ref(), &codes.cause, &top.key("rules"), problems);
    let costs = costs::costs(written.costs.as_ref(), &top.key("costs"), problems);
    let lists = Lists { sites: &fleet.sites, stages: &stages, codes: &codes };
    let sources = source::sources(written.source.as_deref(), &fleet, &lists, problems);
    let proposals = proposal::proposals(written.proposal.as_deref(), &lists, problems);
    let budget = proposal::budget(written.budget.as_ref(), problems);
    if written.proposal.as_ref().is_some_and(|proposals| !proposals.is_empty()) {
        costs::required(written.costs.as_ref(), &top.key("costs"), problems);
    }
    let text_blake3 = String::new();
    Plan { fleet, rules, stages, codes, costs, sources, proposals, budget, text_blake3 }
}
