//! From the proposals as typed to the proposals.

use super::declared::{Budget, Proposal, TypedBudget, TypedProposal};
use super::effect::effect;
use crate::settings::lists::Lists;
use crate::settings::place::Place;
use crate::settings::problems::Problems;

/// Most proposals: the best set under a budget is found by trying every set.
const MOST_PROPOSALS: usize = 20;

/// The proposals, in the order of the settings.
pub fn proposals(
    typed: Option<&[TypedProposal]>,
    lists: &Lists,
    problems: &mut Problems,
) -> Vec<Proposal> {
    let list = Place::default().key("proposal");
    let typed = typed.unwrap_or_default();
    if typed.len() > MOST_PROPOSALS {
        let why = "every set of them is tried for the best one under a budget";
        let found =
            format!("found {} proposals, expected at most {MOST_PROPOSALS}: {why}", typed.len());
        problems.add(&list.index(MOST_PROPOSALS), found);
    }
    let mut proposals: Vec<Proposal> = Vec::new();
    for (index, typed) in typed.iter().enumerate() {
        let place = list.index(index);
        let proposal = proposal(typed, lists, &place, problems);
        if proposals.iter().any(|other| other.name == proposal.name && !other.name.is_empty()) {
            let found = format!("found {:?} a second time; name it otherwise", proposal.name);
            problems.add(&place.key("name"), found);
        }
        proposals.push(proposal);
    }
    proposals
}

fn proposal(
    typed: &TypedProposal,
    lists: &Lists,
    place: &Place,
    problems: &mut Problems,
) -> Proposal {
    let proposal = Proposal::read(typed, place, problems);
    let here = place.key("effect");
    let effects = typed.effects.as_deref().unwrap_or_default();
    if effects.is_empty() {
        problems.add(&here, "missing; expected at least one [[proposal.effect]]");
    }
    let effects = effects
        .iter()
        .enumerate()
        .filter_map(|(index, typed)| effect(typed, lists, &here.index(index), problems))
        .collect();
    Proposal { line: problems.line_of(place), effects, ..proposal }
}

/// What may be spent, minor units.
pub fn budget(typed: Option<&TypedBudget>, problems: &mut Problems) -> Option<i64> {
    let place = Place::default().key("budget");
    typed.map(|typed| Budget::read(typed, &place, problems).amount)
}
