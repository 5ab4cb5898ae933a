//! From the proposals as typed to the proposals.

use super::declared::{Budget, Proposal, TypedBudget, TypedProposal};
use super::effect::effect;
use crate::settings::lists::Lists;
use crate::settings::place::Place;
use crate::settings::problems::Problems;
use crate::settings::words;

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
    too_large(&proposals, &list, problems);
    for (index, own) in proposals.iter().enumerate() {
        let place = list.index(index);
        let all = || proposals.iter().map(|other| other.name.as_str());
        for (key, names) in [("excludes", &own.excludes), ("needs", &own.needs)] {
            others(own, names, all(), &place.key(key), problems);
        }
        let both = |name: &&String| {
            let other = proposals.iter().find(|other| other.name == **name);
            own.excludes.contains(name)
                || other.is_some_and(|other| other.excludes.contains(&own.name))
        };
        if let Some(name) = own.needs.iter().find(both) {
            let found = format!(
                "found {name:?}, which `excludes` keeps apart from it; remove one of the two"
            );
            problems.add(&place.key("needs"), found);
        }
    }
    proposals
}

/// Notes sums of money that are beyond what can be counted: of one proposal, then of all together.
fn too_large(proposals: &[Proposal], list: &Place, problems: &mut Problems) {
    let mut all: i64 = 0;
    for (index, own) in proposals.iter().enumerate() {
        let place = list.index(index);
        // Over the longest life, so that no sum of years is beyond it either.
        let spent = own.yearly_cost().and_then(|yearly| {
            let years = i64::from(own.life_months.div_ceil(12));
            yearly.checked_mul(years)?.checked_add(own.outlay()?)
        });
        match spent.map(|spent| all.checked_add(spent)) {
            Some(Some(sum)) => all = sum,
            Some(None) => {
                let found = "found proposals that together cost more than can be counted; expected amounts in units of the fleet's currency";
                problems.add(&place, found);
            }
            None => {
                let found = "found a price, a running cost or units so large that their product cannot be counted; expected amounts in units of the fleet's currency";
                problems.add(&place, found);
            }
        }
    }
}

/// Notes names that are no other proposal's.
fn others<'p>(
    own: &Proposal,
    names: &[String],
    all: impl Iterator<Item = &'p str> + Clone,
    place: &Place,
    problems: &mut Problems,
) {
    for (at, name) in names.iter().enumerate() {
        let others: Vec<&str> = all.clone().filter(|other| *other != own.name).collect();
        if *name == own.name {
            problems.add(
                &place.index(at),
                format!("found {name:?}, the proposal itself; name another"),
            );
        } else {
            words::one_of(name, &others, &place.index(at), problems);
        }
    }
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
