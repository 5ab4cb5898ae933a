//! Closed lists of canonical columns.

use super::{LEAST, least_and, least_with, plan};

#[test]
fn fixed_codes_and_the_lists_of_the_settings_close_columns() {
    let plan = plan(&least_and("[codes]\nfamily = [\"LC\", \"SC\"]\nmode = []"));
    assert_eq!(plan.allowed("outcome").unwrap(), ["pass", "fail", "unreadable"]);
    assert_eq!(plan.allowed("capped").unwrap(), ["yes", "no"]);
    assert_eq!(plan.allowed("family").unwrap(), ["LC", "SC"]);
    assert_eq!(plan.allowed("polish").unwrap(), ["PC", "UPC", "APC"]);
    assert_eq!(plan.allowed("found_stage"), plan.allowed("stage"));
    assert_eq!(plan.allowed("stage").unwrap()[0], "production");
    assert_eq!(plan.allowed("mode"), None);
    assert_eq!(plan.allowed("criteria"), None);
    assert_eq!(plan.allowed("supplier"), None);
}

#[test]
fn sites_are_closed_only_where_they_are_listed() {
    assert_eq!(plan(LEAST).allowed("site"), None);
    let listed = least_with("[fleet]", "[fleet]\nsites = [\"Works\", \"Depot\"]");
    assert_eq!(plan(&listed).allowed("site").unwrap(), ["Works", "Depot"]);
}
