//! The spelling that a source's rules make of a written name.

use std::borrow::Cow;

use rustc_hash::FxHashMap;

use crate::settings::{Marks, NameRules};

/// Written names with what they stand for.
pub type AliasNames = FxHashMap<Box<str>, Box<str>>;

/// The rules of one source, ready to be applied.
#[derive(Clone, Debug, Default)]
pub struct Spelling {
    aliases: AliasNames,
    rules: NameRules,
}

impl Spelling {
    /// Rules with the names of their alias table.
    pub fn of(rules: NameRules, aliases: AliasNames) -> Spelling {
        Spelling { aliases, rules }
    }

    /// Whether names stay as they are written.
    pub fn is_plain(&self) -> bool {
        self.aliases.is_empty() && self.rules.are_none()
    }

    /// The rules.
    pub fn rules(&self) -> &NameRules {
        &self.rules
    }

    /// The names that the alias table gives another spelling.
    pub fn aliases(&self) -> &AliasNames {
        &self.aliases
    }

    /// The name as the rules spell it: the alias table first, then pattern, case, zeros and marks, each on what the one
    /// before it left. A name of which the rules would leave nothing stays as it is written.
    pub fn spelled<'t>(&'t self, written: &'t str) -> Cow<'t, str> {
        let named = self.aliases.get(written).map_or(written, |name| name);
        let mut name = Cow::Borrowed(named);
        if let Some(shaped) = self.rules.pattern.as_ref().and_then(|shape| shape.written(named)) {
            name = Cow::Owned(shaped);
        }
        if self.rules.fold_case && name.chars().any(|c| !c.is_uppercase()) {
            name = Cow::Owned(name.to_uppercase());
        }
        if self.rules.drop_zeros && name.contains('0') {
            name = Cow::Owned(without_zeros(&name));
        }
        match self.rules.marks {
            Marks::Kept => {}
            Marks::Alike if name.contains(is_mark) => name = Cow::Owned(with_one_mark(&name)),
            Marks::Dropped if name.contains(is_mark) => {
                name = Cow::Owned(name.chars().filter(|c| !is_mark(*c)).collect());
            }
            Marks::Alike | Marks::Dropped => {}
        }
        if name.is_empty() { Cow::Borrowed(written) } else { name }
    }
}

/// Blanks, and what parts of names are joined by.
pub fn is_mark(c: char) -> bool {
    c.is_whitespace() || matches!(c, '-' | '_' | '/' | '.' | ':')
}

/// The mark that all others are written as where they are alike.
const MARK: char = '-';

fn with_one_mark(name: &str) -> String {
    let mut text = String::with_capacity(name.len());
    for c in name.chars() {
        if !is_mark(c) {
            text.push(c);
        } else if !text.ends_with(MARK) {
            text.push(MARK);
        }
    }
    text
}

/// Without the zeros that stand before another digit and behind none.
fn without_zeros(name: &str) -> String {
    let mut text = String::with_capacity(name.len());
    let mut in_number = false;
    let mut rest = name.chars().peekable();
    while let Some(c) = rest.next() {
        let leads = c == '0' && !in_number && rest.peek().is_some_and(char::is_ascii_digit);
        if !leads {
            in_number = c.is_ascii_digit();
            text.push(c);
        }
    }
    text
}
