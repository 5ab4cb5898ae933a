//! `names` of a source: rules of spelling.

use motetrail::settings::Marks;

use super::{least_with, plan, problems};

fn with(rule: &str) -> String {
    least_with("site =", &format!("names = {{ {rule} }}\nsite ="))
}

/// What is said of a rule, without the place.
fn said_of(rule: &str) -> String {
    let said = problems(&with(rule));
    let place = said.strip_prefix("fleet.toml:9 source.names").expect("a problem of the rule");
    place.trim_start_matches(['.', ':', ' ']).to_owned()
}

#[test]
fn rules_read_as_they_are_typed_and_are_none_by_default() {
    let names = &plan(super::LEAST).sources[0].names;
    assert!(names.are_none());
    let plan = plan(&with(
        "fold_case = true, marks = \"drop\", leading_zeros = \"drop\", aliases = \"a/b.csv\", \
         pattern = '(?<a>\\w+) (?<b>\\d+)', form = \"{a}/{b}\"",
    ));
    let names = &plan.sources[0].names;
    assert!(names.fold_case && names.drop_zeros && names.marks == Marks::Dropped);
    assert_eq!(names.aliases.as_deref(), Some("a/b.csv"));
    let pattern = names.pattern.as_ref().unwrap();
    assert_eq!(pattern.written("X1 07").as_deref(), Some("X1/07"));
    assert_eq!(pattern.written("X1 07 "), None);
}

#[test]
fn unknown_keys_and_words_name_the_nearest() {
    assert!(
        said_of("fold_cases = true")
            .starts_with("fold_cases: unknown key; did you mean `fold_case`?")
    );
    assert_eq!(
        said_of("marks = \"alikes\""),
        "marks: found \"alikes\", expected one of keep, alike, drop; did you mean \"alike\"?"
    );
    assert_eq!(
        said_of("leading_zeros = \"no\""),
        "leading_zeros: found \"no\", expected one of keep, drop"
    );
    assert!(
        said_of("fold_case = \"yes\"")
            .starts_with("fold_case: found string \"yes\", expected true")
    );
}

#[test]
fn patterns_forms_and_alias_paths_are_checked() {
    assert!(
        said_of("pattern = '(?<a>x', form = \"{a}\"").starts_with(
            "pattern: found \"(?<a>x\", expected a regular expression: unclosed group"
        )
    );
    assert!(
        said_of("pattern = 'x', form = \"x\"")
            .contains("expected at least one named group such as")
    );
    assert_eq!(
        said_of("pattern = '(?<port>x)', form = \"{prt}\""),
        "form: found {prt}, expected a group of `pattern` (port); did you mean {port}?"
    );
    assert!(said_of("pattern = '(?<a>x)', form = \"{a\"").contains("in braces"));
    assert!(said_of("pattern = '(?<a>x)', form = \"a}\"").contains("in braces"));
    assert!(said_of("pattern = '(?<a>x)'").starts_with("form: missing; expected the form"));
    assert!(said_of("form = \"{a}\"").starts_with("pattern: missing; expected a pattern"));
    // What takes more memory than a pattern may is no pattern.
    assert!(
        said_of("pattern = '(?<a>\\w{1000}){100}', form = \"{a}\"")
            .contains("expected a regular expression")
    );
    assert_eq!(
        said_of("aliases = \"../x.csv\""),
        "aliases: found \"../x.csv\", expected no `..`: exports stand in the settings' folder or below"
    );
    assert_eq!(
        said_of("aliases = \"/x.csv\""),
        "aliases: found \"/x.csv\", expected a path relative to the settings file"
    );
}
