//! Settings out of any text.

use std::path::Path;

use motetrail::settings::{SettingsError, read_text};

use super::fuzz;

#[test]
fn any_text_is_a_plan_or_a_list_of_problems_with_their_lines() {
    let planned = std::cell::Cell::new(0);
    fuzz("settings", |input| {
        let text = String::from_utf8_lossy(input);
        let lines = text.lines().count() + 1;
        match read_text(&text, Path::new("here"), "fleet.toml") {
            Ok(plan) => {
                planned.set(planned.get() + 1);
                assert!(!plan.sources.is_empty());
                assert!(plan.sources.is_sorted_by(|a, b| a.name < b.name));
            }
            Err(SettingsError::Invalid { problems }) => {
                assert!(!problems.is_empty());
                for problem in &problems {
                    assert!((1..=lines).contains(&problem.line), "{problem} of {lines} lines");
                    assert!(!problem.message.is_empty());
                }
            }
            Err(error) => panic!("{error}"),
        }
    });
    assert!(planned.get() > 0, "no input was ever a plan");
}
