//! Which words a coded column may hold.

use crate::records::fixed_codes;
use crate::settings::Plan;

/// The closed list of a canonical column; none where any word is taken.
pub fn allowed<'a>(plan: &'a Plan, column: &str) -> Option<Vec<&'a str>> {
    if let Some(words) = fixed_codes(column) {
        return Some(words.to_vec());
    }
    let words = match column {
        "family" => &plan.codes.family,
        "polish" => &plan.codes.polish,
        "mode" => &plan.codes.mode,
        "method" => &plan.codes.method,
        "cause" => &plan.codes.cause,
        "remedy" => &plan.codes.remedy,
        "criteria" => &plan.codes.criteria,
        "stage" | "found_stage" => &plan.stages.order,
        "site" => &plan.fleet.sites,
        _ => return None,
    };
    (!words.is_empty()).then(|| words.iter().map(String::as_str).collect())
}
