//! Sections declared as one table: each key with its default, its range and a sentence.

use motetrail::settings::{Costs, Described, Rules, SECTIONS, Source};

use super::{LEAST, least_and, least_with, plan, problems};

/// A section with every key at its default, as described.
fn written_out(section: &str, keys: &[Described]) -> String {
    let lines = keys.iter().filter(|key| !key.default.is_empty());
    let lines: Vec<String> = lines.map(|key| format!("{} = {}", key.key, key.default)).collect();
    format!("[{section}]\n{}", lines.join("\n"))
}

/// A value that no key of this range may have.
fn outside(key: &Described) -> String {
    if let Some((_, bounds)) = key.range.split_once(" from ") {
        let low: f64 = bounds.split(' ').next().unwrap().parse().unwrap();
        return (low - 1.0).to_string();
    }
    match key.range.as_str() {
        "true or false" => "7".to_owned(),
        "days that rise and stay before the horizon" => "[30, 7]".to_owned(),
        range if range.starts_with("one of ") => "\"neither\"".to_owned(),
        range if range.starts_with("rates ") => "{ usd = 0.9 }".to_owned(),
        "causes of the code list, each once" => "[\"nobody\"]".to_owned(),
        range => panic!("nothing is known to be outside of {range:?}"),
    }
}

/// Every key is refused outside its range, by its name, its line and its range.
fn check_ranges(section: &str, keys: &[Described]) {
    let whole = plan(&least_and(&written_out(section, keys)));
    for key in keys {
        let mut all = written_out(section, keys);
        let default = format!("\n{} = {}", key.key, key.default);
        let wrong = format!("\n{} = {}", key.key, outside(key));
        all = if all.contains(&default) { all.replace(&default, &wrong) } else { all + &wrong };
        let line = 6 + all.lines().position(|line| line == wrong.trim()).unwrap();
        let said = problems(&least_and(&all));
        let begins = format!("fleet.toml:{line} {section}.{}: found ", key.key);
        assert!(said.contains(&begins), "{begins:?} is not in {said:?}");
        let has_list = key.range.starts_with("days") || key.range.starts_with("causes");
        assert!(has_list || said.contains(&format!("expected {}", key.range)), "{said}");
    }
    assert!(!whole.fleet.name.is_empty());
}

#[test]
fn the_defaults_written_out_as_described_are_the_defaults() {
    let rules = written_out("rules", &Rules::described());
    assert_eq!(plan(&least_and(&rules)).rules, Rules::default());
    let costs = written_out("costs", &Costs::described());
    assert_eq!(plan(&least_and(&costs)).costs, Costs::default());
}

#[test]
fn every_key_out_of_its_range_is_told_with_its_line_and_the_range() {
    check_ranges("rules", &Rules::described());
    check_ranges("costs", &Costs::described());
}

/// Settings with a piece of text in the section at that path.
fn with(path: &[&str], text: &str) -> String {
    match path {
        ["fleet"] => least_with("timezone =", &format!("{text}\ntimezone =")),
        ["source"] => least_with("site =", &format!("{text}\nsite =")),
        ["source", "record"] => least_with("table =", &format!("{text}\ntable =")),
        ["source", "record", "when"] => {
            least_with("table =", &format!("when = {{ {text} }}\ntable ="))
        }
        ["source", "record", "numbers", _] => {
            let costs = "[[source]]\nname = \"desk\"\nfiles = [\"d.csv\"]\n[[source.record]]\ntable = \"faults\"";
            least_and(&format!("{costs}\nnumbers.cost = {{ {text} }}"))
        }
        ["source", "names"] => least_with("site =", &format!("names = {{ {text} }}\nsite =")),
        ["source", "covers", _] => {
            least_with("site =", &format!("covers.faults = {{ {text} }}\nsite ="))
        }
        ["action"] => least_and(&format!("[[action]]\n{text}")),
        ["proposal"] => least_and(&format!("[[proposal]]\n{text}")),
        ["proposal", "effect"] => least_and(&format!("[[proposal]]\n[[proposal.effect]]\n{text}")),
        ["proposal", "effect", _] => {
            least_and(&format!("[[proposal]]\n[[proposal.effect]]\nodds = {{ {text} }}"))
        }
        [section] => least_and(&format!("[{section}]\n{text}")),
        _ => panic!("nothing is known of {path:?}"),
    }
}

#[test]
fn every_key_of_every_section_has_a_sentence_and_is_known() {
    for section in SECTIONS {
        let keys = (section.keys)();
        let known: Vec<&str> = keys.iter().map(|key| key.key).collect();
        let said = problems(&with(section.path, "no_such_key_at_all = 1"));
        let known = format!("no_such_key_at_all: unknown key (known: {})", known.join(", "));
        assert!(said.contains(&known), "{known} is not in {said}");
        for key in keys {
            assert!(key.sentence.ends_with('.') && key.sentence.len() > 8, "{key:?}");
            assert!(!key.range.is_empty(), "{key:?}");
            assert!(!key.required || key.default.is_empty(), "{key:?}");
        }
    }
}

#[test]
fn the_sections_described_are_those_that_are_read() {
    let said = problems(&least_and("[no_such_section_at_all]"));
    let mut tops: Vec<&str> = SECTIONS.iter().map(|section| section.path[0]).collect();
    tops.dedup();
    assert!(said.ends_with(&format!("(known: {})", tops.join(", "))), "{said}");
    // Each is read: a value of a wrong type is found in it, and an unknown key is not all that is said of it.
    for top in tops {
        let said = problems(&format!("{top} = 7"));
        assert!(said.contains(&format!("fleet.toml:1 {top}: found integer 7, expected")), "{said}");
    }
}

#[test]
fn the_defaults_of_a_source_written_out_are_its_defaults() {
    let section = SECTIONS.iter().find(|section| section.path == ["source"]).unwrap();
    let lines: Vec<String> = (section.keys)()
        .iter()
        .filter(|key| !key.default.is_empty())
        .map(|key| format!("{} = {}", key.key, key.default))
        .collect();
    assert!(lines.len() > 10, "{lines:?}");
    let same_lines = |mut source: Source| {
        source.records.iter_mut().for_each(|record| record.line = 0);
        source
    };
    let [written] =
        <[Source; 1]>::try_from(plan(&with(&["source"], &lines.join("\n"))).sources).unwrap();
    let [left_out] = <[Source; 1]>::try_from(plan(LEAST).sources).unwrap();
    assert_eq!(same_lines(written), same_lines(left_out));
}

#[test]
fn plain_keys_of_sources_and_proposals_are_refused_outside_their_range() {
    let mut checked = 0;
    for path in
        [&["source"][..], &["source", "record"], &["proposal"], &["proposal", "effect"], &["fleet"]]
    {
        let section = SECTIONS.iter().find(|section| section.path == path).unwrap();
        for key in (section.keys)() {
            let wrong = match key.range.as_str() {
                range if range.starts_with("one of ") => "\"neither\"".to_owned(),
                range if range.contains("number from ") || range.contains("amount from ") => {
                    "-1".to_owned()
                }
                range if range.starts_with("one to 4 bytes") => "\"five!\"".to_owned(),
                range if range.starts_with("one ASCII") => "\"two\"".to_owned(),
                range if range.starts_with("an encoding") => "\"runes\"".to_owned(),
                range if range.starts_with("an IANA") => "\"Nowhere\"".to_owned(),
                range if range.starts_with("three capital") => "\"euro\"".to_owned(),
                range if range.starts_with("a day") => "\"soon\"".to_owned(),
                range if range.starts_with("words, each once") => "[\"x\", \"x\"]".to_owned(),
                "true or false" => "7".to_owned(),
                _ => continue,
            };
            checked += 1;
            // A key that the smallest settings have there already is said otherwise.
            let line = format!("{} = {wrong}", key.key);
            let (_, rest) = LEAST.split_once(section.heading).unwrap_or_default();
            let standing = rest.lines().skip(1).take_while(|line| !line.starts_with('['));
            let standing =
                standing.filter(|line| line.starts_with(&format!("{} = ", key.key))).last();
            let text = match standing {
                Some(standing) => least_with(&format!("\n{standing}\n"), &format!("\n{line}\n")),
                None => with(path, &line),
            };
            let at = 1 + text.lines().position(|other| other == line).unwrap();
            let said = problems(&text);
            let begins = format!("fleet.toml:{at} {}.{}", path.join("."), key.key);
            assert!(
                said.contains(&begins) && said.contains("found "),
                "{begins:?} is not in {said:?}"
            );
        }
    }
    assert!(checked > 25, "{checked}");
}

#[test]
fn the_readme_names_every_key_of_a_source_and_no_other() {
    let readme = include_str!("../../../README.md");
    let (_, table) = readme.split_once("| keys of a `[[source]]` |").unwrap();
    let mut named: Vec<&str> = table
        .lines()
        .skip(2)
        .take_while(|line| line.starts_with('|'))
        .flat_map(|line| line.split('|').nth(1).unwrap().split('`').skip(1).step_by(2))
        .map(|key| key.split([' ', '.']).next().unwrap())
        .collect();
    let section = SECTIONS.iter().find(|section| section.path == ["source"]).unwrap();
    let mut keys: Vec<&str> = (section.keys)().iter().map(|key| key.key).collect();
    named.sort_unstable();
    keys.sort_unstable();
    assert_eq!(named, keys);
}
