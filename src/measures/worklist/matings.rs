//! Matings in force that were made without both ends seen (5.11): the risk that remains until the
//! horizon, times what it costs. The price of looking stands beside it and is not taken off: whether
//! the connection is opened for that alone, or looked at when it is opened next, depends on it. Where
//! a class is not associated with more faults than matings with both ends seen, nothing is expected
//! to be saved, and its matings are not listed.

use super::risk::Risks;
use super::{Item, face_name, money, text};
use crate::derive::{Coverage, DeriveError, EndState, UnseenMating};
use crate::measures::evidence::Evidence;
use crate::measures::skipped_cost::look_price::LookPrices;
use crate::measures::table::{Group, Value};

const DAY_US: f64 = 86_400_000_000.0;

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
        let coverage = Coverage::WORDS[mating.coverage as usize];
        let age = derived.period.end.saturating_sub(mating.at.0) as f64 / DAY_US;
        let risk = risks.get(stage, family, coverage);
        let saving = risk.as_ref().and_then(|risk| risk.saving(age));
        // Once it is open both ends must be looked at, whatever was known of them.
        let work_cost = 2.0 * prices.price(stage, family);
        let pays = saving.is_some_and(|saving| saving.value > work_cost);
        let mut own = vec![
            ("end_face", face_name(evidence, mating.ends[0])),
            ("partner", face_name(evidence, mating.ends[1])),
            ("what_to_do", text(what_to_do(&mating, pays))),
            ("reason", text(reason(&mating))),
            ("remaining_days", Value::Count((horizon - age).max(0.0).round() as i64)),
            ("work_cost", money(work_cost)),
        ];
        let service = derived.services.get(&mating.number);
        own.extend(service.map(|service| ("service", text(service.as_str()))));
        if let Some(risk) = &risk {
            own.push(("mean_fault_cost", money(risk.mean_cost)));
            own.push(("rates_of", text(risk.rates_of)));
            own.push(("rates_as", text(risk.rates_as)));
            own.push(("cost_of", text(risk.cost_of)));
        }
        Item {
            group: Group {
                site: Some(glossary.site.0.word(mating.site).to_owned()),
                stage: Some(stage.to_owned()),
                family: Some(family.to_owned()),
                coverage: Some(coverage.to_owned()),
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
    Ok(items.filter(|item| item.saving.is_none_or(|saving| saving.value > 0.0)).collect())
}

fn what_to_do(mating: &UnseenMating, pays: bool) -> &'static str {
    match (mating.coverage == Coverage::DespiteFail, pays) {
        (true, true) => "open it, clean and look at both ends",
        (false, true) => "open it and look at both ends",
        (true, false) => "when next opened: clean and look at both ends",
        (false, false) => "when next opened: look at both ends",
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
