//! Closed lists: which words a canonical column may hold.

use super::plan::{Codes, Plan, Stages};
use crate::records::fixed_codes;

impl Plan {
    /// The words that `column` may hold, in the order of their list; none where any word is taken.
    ///
    /// Joins the lists that the program fixes with those of the settings: codes, stages, sites.
    pub fn allowed(&self, column: &str) -> Option<Vec<&str>> {
        allowed(column, &self.fleet.sites, &self.stages, &self.codes)
    }
}

/// As [`Plan::allowed`], for a plan in the making.
pub fn allowed<'p>(
    column: &str,
    sites: &'p [String],
    stages: &'p Stages,
    codes: &'p Codes,
) -> Option<Vec<&'p str>> {
    if let Some(words) = fixed_codes(column) {
        return Some(words.to_vec());
    }
    let list = match column {
        "family" => &codes.family,
        "polish" => &codes.polish,
        "mode" => &codes.mode,
        "method" => &codes.method,
        "cause" => &codes.cause,
        "remedy" => &codes.remedy,
        "criteria" => &codes.criteria,
        "stage" | "found_stage" => &stages.order,
        "site" => sites,
        _ => return None,
    };
    (!list.is_empty()).then(|| list.iter().map(String::as_str).collect())
}
