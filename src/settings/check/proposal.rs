//! `[[proposal]]` and `[budget]`: what may be bought, and for how much.

use super::effect::effect;
use super::lists::Lists;
use crate::settings::money::money;
use crate::settings::place::Place;
use crate::settings::problems::Problems;
use crate::settings::proposal::{MOST_PROPOSALS, Proposal};
use crate::settings::words;
use crate::settings::written;

/// Longest life and wait that are planned for, months: fifty years.
const MOST_MONTHS: i64 = 600;
/// Most units of one proposal.
const MOST_UNITS: i64 = 1_000_000;

/// The proposals, in the order of the settings.
pub fn proposals(
    written: Option<&[written::Proposal]>,
    lists: &Lists,
    problems: &mut Problems,
) -> Vec<Proposal> {
    let list = Place::default().key("proposal");
    let typed = written.unwrap_or_default();
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
            let name = &proposal.name;
            problems.add(
                &place.key("name"),
                format!("found {name:?} a second time; name it otherwise"),
            );
        }
        proposals.push(proposal);
    }
    proposals
}

fn proposal(
    typed: &written::Proposal,
    lists: &Lists,
    place: &Place,
    problems: &mut Problems,
) -> Proposal {
    let name = words::required(typed.name.as_deref(), "a name", &place.key("name"), problems);
    let price = match typed.price {
        Some(price) => money(price, &place.key("price"), problems),
        None => {
            problems.add(&place.key("price"), "missing; expected the price of one unit");
            0
        }
    };
    if typed.life_months.is_none() {
        problems.add(&place.key("life_months"), "missing; expected the months that it works");
    }
    let mut months = |number: Option<i64>, least: i64, usual: i64, key: &str| {
        let number =
            words::whole(number.unwrap_or(usual), least, MOST_MONTHS, &place.key(key), problems);
        u32::try_from(number).unwrap_or(1)
    };
    let life_months = months(typed.life_months, 1, 1, "life_months");
    let starts_after_months = months(typed.starts_after_months, 0, 0, "starts_after_months");
    let units =
        words::whole(typed.units.unwrap_or(1), 1, MOST_UNITS, &place.key("units"), problems);
    let running = typed.running_cost.unwrap_or(0.0);
    let effects = typed.effect.as_deref().unwrap_or_default();
    if effects.is_empty() {
        problems.add(&place.key("effect"), "missing; expected at least one [[proposal.effect]]");
    }
    let effects = effects
        .iter()
        .enumerate()
        .map(|(index, typed)| effect(typed, lists, &place.key("effect").index(index), problems));
    let effects = effects.collect::<Vec<_>>().into_iter().flatten().collect();
    Proposal {
        name,
        line: problems.line_of(place),
        price,
        units: u32::try_from(units).unwrap_or(1),
        life_months,
        starts_after_months,
        running_cost: money(running, &place.key("running_cost"), problems),
        effects,
    }
}

/// What may be spent, minor units.
pub fn budget(written: Option<&written::Budget>, problems: &mut Problems) -> Option<i64> {
    let place = Place::default().key("budget").key("amount");
    let budget = written?;
    match budget.amount {
        Some(amount) => Some(money(amount, &place, problems)),
        None => {
            problems.add(&place, "missing; expected what may be spent");
            None
        }
    }
}
