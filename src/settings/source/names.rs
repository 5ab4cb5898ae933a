//! `names` of a source: how its end-face names are written.

use super::files::misplaced;
use super::name_rules::{Marks, NamePattern, NameRules, PatternFault};
use crate::settings::nearest::nearest;
use crate::settings::place::Place;
use crate::settings::problems::Problems;
use crate::settings::ranges::{Flag, OneOf, TextIfAny, Word};
use crate::settings::section::{Range, section};

/// Words for what blanks and `- _ / . :` count as.
const MARKS: &[(&str, Marks)] =
    &[("keep", Marks::Kept), ("alike", Marks::Alike), ("drop", Marks::Dropped)];

section! {
    TypedNames:
    /// Rules of spelling as typed, in the order in which they act.
    NameKeys {
        /// File of the columns `written` and `name` that gives names another spelling, relative to the settings.
        aliases: Option<String> = None, TextIfAny("a path in the settings' folder");
        /// Shape of names that are read in another form: it must fit the whole name.
        pattern: Option<String> = None, TextIfAny("a regular expression with named groups");
        /// The form of names that fit the pattern.
        form: Option<String> = None, TextIfAny("text with groups of the pattern in braces");
        /// Whether capital and small letters are alike.
        fold_case: bool = false, Flag;
        /// Whether zeros before another digit of a number count.
        drop_zeros ("leading_zeros"): bool = false, Word("keep", "drop");
        /// Whether blanks and - _ / . : each count as what they are, all as one mark, or not at all.
        marks: Marks = Marks::Kept, OneOf<Marks>(MARKS);
    }
}

/// Rules of spelling.
pub struct Spelled;

impl Range for Spelled {
    type Typed = TypedNames;
    type Value = NameRules;

    fn read(&self, typed: &TypedNames, place: &Place, problems: &mut Problems) -> NameRules {
        let keys = NameKeys::read(typed, place, problems);
        if let Some((file, fault)) =
            keys.aliases.as_deref().and_then(|file| Some((file, misplaced(file)?)))
        {
            problems.add(&place.key("aliases"), format!("found {file:?}, {fault}"));
        }
        let pattern = pattern(&keys, place, problems);
        let NameKeys { aliases, fold_case, drop_zeros, marks, .. } = keys;
        NameRules { aliases, pattern, fold_case, drop_zeros, marks }
    }

    fn text(&self) -> String {
        "rules of spelling, such as `names = { fold_case = true, marks = \"alike\" }`".to_owned()
    }

    fn written(&self, _: &NameRules) -> String {
        String::new()
    }
}

fn pattern(keys: &NameKeys, place: &Place, problems: &mut Problems) -> Option<NamePattern> {
    let (pattern, form) = match (&keys.pattern, &keys.form) {
        (Some(pattern), Some(form)) => (pattern, form),
        (Some(_), None) => {
            let wanted =
                "missing; expected the form of names that fit `pattern`, such as \"{rack}-{port}\"";
            problems.add(&place.key("form"), wanted);
            return None;
        }
        (None, Some(_)) => {
            let wanted = "missing; expected a pattern whose groups `form` names, such as '(?<rack>\\w+) (?<port>\\d+)'";
            problems.add(&place.key("pattern"), wanted);
            return None;
        }
        (None, None) => return None,
    };
    let (key, message) = match NamePattern::of(pattern, form) {
        Ok(pattern) => return Some(pattern),
        Err(PatternFault::Pattern(why)) => {
            ("pattern", format!("found {pattern:?}, expected a regular expression: {why}"))
        }
        Err(PatternFault::NoGroup) => {
            let wanted =
                "expected at least one named group such as (?<port>\\d+), for `form` to name";
            ("pattern", format!("found {pattern:?}, {wanted}"))
        }
        Err(PatternFault::Brace) => {
            let wanted = "expected each group of `pattern` in braces, {group}";
            ("form", format!("found {form:?}, {wanted}"))
        }
        Err(PatternFault::NoSuchGroup(name, known)) => {
            let meant = nearest(&name, known.iter().map(String::as_str));
            let hint =
                meant.map(|meant| format!("; did you mean {{{meant}}}?")).unwrap_or_default();
            let known = known.join(", ");
            ("form", format!("found {{{name}}}, expected a group of `pattern` ({known}){hint}"))
        }
    };
    problems.add(&place.key(key), message);
    None
}
