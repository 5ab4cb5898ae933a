//! A hash of the settings that decide what an export's rows become.

use std::fmt::Debug;

use crate::settings::{NameRules, Plan, Source};

/// BLAKE3, hex, of a source's map and of the code lists it is checked against. Whatever changes no
/// record is left out: lines of the settings, file patterns, days covered, and the rules of names, which act when the
/// store is read.
///
/// Goes by the `Debug` form: should that ever change, exports are read once more, nothing worse.
pub(in crate::store) fn map_digest(plan: &Plan, source: &Source) -> String {
    let mut map = source.clone();
    map.line = 0;
    map.files.clear();
    map.covers.clear();
    map.names = NameRules::default();
    for record in &mut map.records {
        record.line = 0;
    }
    // Amounts are converted as they are read.
    let has_money = map.records.iter().any(|record| record.columns.contains_key("cost"));
    let exchange = has_money.then_some(&plan.costs.exchange);
    let lists: [&dyn Debug; 5] =
        [&plan.codes, &plan.stages.order, &plan.fleet.sites, &plan.fleet.currency, &exchange];
    let mut hasher = blake3::Hasher::new();
    hasher.update(format!("{map:?}{lists:?}").as_bytes());
    hasher.finalize().to_hex().to_string()
}
