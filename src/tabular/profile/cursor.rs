//! A place in a text that may be a time.

use crate::tabular::date::month_of;

/// A place in a text.
#[derive(Clone, Copy, Debug)]
pub struct Cursor<'a> {
    rest: &'a str,
}

impl<'a> Cursor<'a> {
    /// At the start of a text.
    pub fn new(text: &'a str) -> Self {
        Self { rest: text }
    }

    /// Whether nothing is left.
    pub fn is_done(&self) -> bool {
        self.rest.is_empty()
    }

    /// What is left.
    pub fn rest(&self) -> &'a str {
        self.rest
    }

    /// Takes the first so many bytes, which end between two characters.
    pub fn take(&mut self, length: usize) -> &'a str {
        let (taken, rest) = self.rest.split_at_checked(length).unwrap_or((self.rest, ""));
        self.rest = rest;
        taken
    }

    /// Takes what is made of such characters.
    pub fn run(&mut self, wanted: impl Fn(char) -> bool) -> &'a str {
        let end = self.rest.find(|c| !wanted(c)).unwrap_or(self.rest.len());
        self.take(end)
    }

    /// Takes digits, if there are any.
    pub fn digits(&mut self) -> Option<&'a str> {
        Some(self.run(|c| c.is_ascii_digit())).filter(|digits| !digits.is_empty())
    }

    /// Takes what stands before the next number: a few marks and blanks, or one short word, which is
    /// no month, with such around it. Empty if it is more.
    pub fn gap(&mut self) -> &'a str {
        let end = self.rest.find(|c: char| c.is_ascii_digit()).unwrap_or(0);
        let gap = &self.rest[..end];
        let word = gap.trim_matches(is_mark);
        let (letters, all) = (word.chars().count(), gap.chars().count());
        let short = letters <= WIDEST_GAP && all - letters <= WIDEST_GAP;
        let fits = short && word.chars().all(char::is_alphabetic) && month_of(word).is_none();
        self.take(if fits { end } else { 0 })
    }

    /// Takes the name of a month, and adds to the gap what stands before it.
    pub fn month(&mut self, gap: &mut String) -> Option<&'static str> {
        gap.push_str(self.run(is_mark));
        let mut word = self.run(char::is_alphabetic);
        if month_of(word).is_none() && word.chars().count() <= WIDEST_GAP && !gap.is_empty() {
            gap.push_str(word);
            gap.push_str(self.run(is_mark));
            word = self.run(char::is_alphabetic);
        }
        month_of(word).filter(|_| gap.chars().count() <= 3 * WIDEST_GAP).map(|_| "%b")
    }

    /// Takes what stands between the name of a month and a number; a dot that only ends the name is
    /// the name's own.
    pub fn behind_month(&mut self) -> &'a str {
        let dotted = self.rest.starts_with('.');
        if dotted && !self.rest[1..].starts_with(|c: char| c.is_ascii_digit()) {
            self.take(1);
        }
        self.gap()
    }
}

/// A text that a pattern has to take as it is.
pub fn literal(text: &str) -> String {
    text.replace('%', "%%")
}

pub(in crate::tabular) fn is_mark(c: char) -> bool {
    !c.is_alphanumeric()
}

/// Most characters between two fields of a date.
pub(in crate::tabular) const WIDEST_GAP: usize = 3;
