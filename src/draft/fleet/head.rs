//! The sections of drafted settings before the sources: who and where, and every other key with its default.

use super::questions::wrapped;
use crate::draft::page::{list, plain, quoted, reference};
use crate::settings::{Described, SECTIONS};

/// `[fleet]` and, in comments, the keys of the sections that may be left out; sites that are open are a comment too.
pub fn head(
    name: &str,
    currency: &str,
    timezone: &str,
    sites: &[String],
    are_open: bool,
) -> String {
    let mut text = String::from("[fleet]\n");
    let mut key = |key: &str, value: &str, what: &str| {
        text.push_str(&format!("{key} = {value}   # {what}\n"));
    };
    key("name", &quoted(name), "as printed on the report");
    key("currency", currency, "of every amount");
    key("timezone", timezone, "of the fleet's days, and of times that name none");
    if are_open {
        // An answer may be another name than that of a folder.
        key("# sites", &list(sites), "in the order of the report; left out: any name is taken");
    } else {
        key("sites", &list(sites), "in the order of the report; other names are refused");
    }
    let written = ["name", "currency", "timezone", "sites"];
    defaults(&mut text, "fleet", &written);
    let costs = "Without it nothing costs anything: no money is counted, but what tickets state. Give every price, 0 for none.";
    for (section, why) in [
        ("costs", costs),
        ("stages", "The lifecycle, earliest first."),
        ("rules", "Thresholds of the review."),
    ] {
        text.push('\n');
        wrapped(&mut text, "#", "#", why);
        text.push_str(&format!("# [{section}]\n"));
        defaults(&mut text, section, &[]);
    }
    text
}

/// The keys of a section that are not written, as comments with their defaults.
fn defaults(text: &mut String, section: &str, written: &[&str]) {
    let Some(section) = SECTIONS.iter().find(|one| one.path == [section]) else { return };
    for key in (section.keys)().iter().filter(|key| !written.contains(&key.key)) {
        wrapped(text, "#", "#", key.sentence);
        text.push_str(&format!("# {} = {}\n", key.key, example(key)));
    }
}

/// A key's default; where it has none, what it takes.
fn example(key: &Described) -> String {
    if key.default.is_empty() {
        format!("   # left out; takes {}", plain(&key.range))
    } else {
        key.default.clone()
    }
}

/// A text of `[fleet]`: its answer where it is asked about, under that key.
pub fn answered(answer: Option<&str>, value: &str) -> String {
    answer.map_or_else(|| quoted(value), reference)
}
