//! Sections declared as one table: each key with its default, its range and a sentence.

use motetrail::settings::{Costs, Described, Rules};

use super::{least_and, plan, problems};

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

#[test]
fn every_key_has_a_sentence_and_is_known() {
    for (section, keys) in [("rules", Rules::described()), ("costs", Costs::described())] {
        let known: Vec<&str> = keys.iter().map(|key| key.key).collect();
        let said = problems(&least_and(&format!("[{section}]\nno_such_key_at_all = 1")));
        assert!(said.contains(&format!("(known: {})", known.join(", "))), "{said}");
        for key in keys {
            assert!(key.sentence.ends_with('.') && key.sentence.len() > 10, "{key:?}");
        }
    }
}
