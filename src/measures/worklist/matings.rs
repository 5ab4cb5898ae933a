//! Matings in force that were made without both ends seen (5.11): the risk that remains until the
//! horizon, times what it costs, less the price of looking. To be opened for that alone it must be worth
//! the trip and the interruption of its service, too; where nobody has said what an interruption costs,
//! none is advised. Else it is looked at when it is opened next. What is worth less than the look is not
//! listed.

use super::declared::{List, Own, When};
use super::item::{Due, Item, face_name};
use super::risk::Risks;
use crate::calendar::DAY_US;
use crate::derive::{Coverage, DeriveError, EndState, UnseenMating};
use crate::measures::evidence::Evidence;
use crate::measures::results::{Group, Money};
use crate::measures::skipped_cost::Exposure;
use crate::measures::skipped_cost::look_price::LookPrices;

/// Every candidate with its saving. Within a cell of candidates it falls with age.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn unseen_matings(
    evidence: &Evidence,
    risks: &mut Risks,
) -> Result<Vec<Item>, DeriveError> {
    let derived = evidence.derived;
    let glossary = &derived.glossary;
    let prices = LookPrices::of(evidence)?;
    let horizon = f64::from(evidence.rules().horizon_days);
    let item = |mating: UnseenMating| {
        let stage = glossary.stage.0.word(mating.stage.into());
        let family = glossary.family.0.word(mating.family);
        let age = derived.period.end.saturating_sub(mating.at.0) as f64 / DAY_US as f64;
        let risk = exposure(mating.coverage).and_then(|class| risks.get(stage, family, class));
        let saving = risk.as_ref().and_then(|risk| risk.saving(age));
        // Once it is open both ends must be looked at, whatever was known of them.
        let work_cost = 2.0 * prices.price(stage, family);
        let costs = evidence.costs();
        let saving = saving.map(|saving| saving.less(work_cost));
        // A connection in force may carry service, whether or not the records name it.
        let trip_cost = (costs.visit + costs.interruption.unwrap_or(0)) as f64;
        let is_known = costs.interruption.is_some();
        let Due { when, saving, cost } = Due::of(saving, work_cost, is_known.then_some(trip_cost));
        let own = Own {
            end_face: face_name(evidence, mating.ends[0]),
            partner: face_name(evidence, mating.ends[1]),
            service: derived.services.get(&mating.number).map(|name| name.as_str().to_owned()),
            when: Some(when),
            trip_cost: Some(Money::rounded(trip_cost)),
            interruption: costs.interruption.map(Money),
            what_to_do: Some(what_to_do(&mating, when)),
            reason: Some(reason(&mating).to_owned()),
            remaining_days: Some((horizon - age).max(0.0).round() as i64),
            work_cost: Some(Money::rounded(cost)),
            mean_fault_cost: risk.as_ref().and_then(|risk| risk.mean_cost).map(Money::rounded),
            rates_of: risk.as_ref().map(|risk| risk.rates_of),
            rates_as: risk.as_ref().map(|risk| risk.rates_as),
            cost_of: risk.as_ref().map(|risk| risk.cost_of),
            ..Own::with(List::UnseenMating)
        };
        Item {
            group: Group {
                site: Some(glossary.site.0.word(mating.site).to_owned()),
                stage: Some(stage.to_owned()),
                family: Some(family.to_owned()),
                coverage: Some(mating.coverage.word().to_owned()),
                ..Group::default()
            },
            since: Some(mating.at.0),
            saving,
            n: risk.as_ref().map_or(0.0, |risk| risk.n),
            events: risk.as_ref().map_or(0, |risk| risk.faults),
            flags: risk.map_or_else(Vec::new, |risk| risk.flags),
            own,
        }
    };
    let items = derived.counts.worklist.unseen.items().into_iter().map(item);
    Ok(items.filter(Item::is_listed).collect())
}

/// What a mating is exposed to by its coverage; nothing where both ends were seen, or it is not known.
fn exposure(coverage: Coverage) -> Option<Exposure> {
    match coverage {
        Coverage::One => Some(Exposure::One),
        Coverage::None => Some(Exposure::None),
        Coverage::DespiteFail => Some(Exposure::DespiteFail),
        Coverage::Both | Coverage::Unknown | Coverage::Apart => None,
    }
}

/// Whoever opens a connection in service is told what to make sure of first.
const DARK_FIRST: &str = "make sure that the fibre is dark, then open it";

fn what_to_do(mating: &UnseenMating, when: When) -> String {
    let work = match mating.coverage {
        Coverage::DespiteFail => "clean and look at both ends",
        _ => "look at both ends",
    };
    match when {
        When::Now => format!("{DARK_FIRST}, {work}"),
        When::ThereAnyhow => format!("when next opened and dark: {work}"),
    }
}

fn reason(mating: &UnseenMating) -> &'static str {
    let is = |end: usize, state| mating.states[end] == Some(state);
    match mating.coverage {
        Coverage::DespiteFail if is(1, EndState::Failing) => "mated although both ends had failed",
        Coverage::DespiteFail if is(1, EndState::Unseen) => {
            "mated although the first end had failed; nobody had looked at the second"
        }
        Coverage::DespiteFail => "mated although the first end had failed",
        Coverage::None => "nobody had looked at either end",
        _ => "nobody had looked at the first end",
    }
}
