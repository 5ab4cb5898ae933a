//! Compiling a map for any header: columns lost, doubled, renamed, moved.

use std::path::Path;

use motetrail::settings::read_text;

use super::export::{assert_balanced, taken};
use super::{fuzz, settings_with};

/// Most bytes of a message.
const MESSAGE: usize = 4000;

#[test]
fn a_map_follows_any_header_or_says_in_few_words_why_not() {
    let plan = read_text(&settings_with(""), Path::new("."), "fleet.toml");
    let plan = plan.unwrap_or_else(|error| panic!("{error}"));
    fuzz("header", |input| {
        let row = "\n1,2026-02-01 08:00,A1,pass,,Ida,yes,3,dry\n";
        match taken(&plan, [input, row.as_bytes()].concat().as_slice()) {
            Ok((counts, kept)) => assert_balanced(&counts, &kept),
            Err(error) => {
                let told = error.to_string();
                assert!(told.len() < MESSAGE, "{} bytes of message", told.len());
            }
        }
    });
}
