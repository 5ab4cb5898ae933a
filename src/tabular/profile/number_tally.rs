//! The numbers of a column: how many, how written, between which limits.

use super::number_text::{Number, number};
use super::sentence::{counted, cut, quoted};

/// How the doubt begins that numbers hold separators of thousands.
pub const THOUSANDS: &str = "Thousands are separated";
/// Share of given texts that must be numbers for a column of numbers, in hundredths.
const NEEDED_HUNDREDTHS: usize = 95;

/// Counts of one column's numbers.
#[derive(Debug, Default)]
pub struct NumberTally {
    /// Texts that are numbers of any kind.
    pub numbers: usize,
    /// Of them whole ones without separators.
    pub whole: usize,
    /// Whole ones that no 64 bits hold.
    beyond: usize,
    padded: Option<String>,
    /// Least and greatest whole number.
    pub range: Option<(i64, i64)>,
    /// Numbers that only this decimal mark allows (`.`, `,`), with the first.
    settled: [Kept; 2],
    /// Numbers with this mark, which could separate thousands.
    either: [Kept; 2],
    grouped: Kept,
    exponents: Kept,
}

/// How many texts, and the first of them.
#[derive(Debug, Default)]
struct Kept {
    count: usize,
    first: Option<String>,
}

const MARKS: [u8; 2] = [b'.', b','];

impl NumberTally {
    /// Adds a text; false if it is no number.
    pub fn add(&mut self, text: &str) -> bool {
        let Some(found) = number(text) else {
            return false;
        };
        self.numbers += 1;
        match found {
            Number::Whole { value, padded } => self.add_whole(text, value, padded),
            Number::Decimal { mark, either: false } => self.settled[place(mark)].keep(text),
            Number::Decimal { mark, either: true } => self.either[place(mark)].keep(text),
            Number::Grouped { mark, .. } => {
                self.grouped.keep(text);
                if let Some(mark) = mark {
                    self.settled[place(mark)].keep(text);
                }
            }
            Number::Exponent { mark } => {
                self.exponents.keep(text);
                self.settled[place(mark)].keep(text);
            }
        }
        true
    }

    fn add_whole(&mut self, text: &str, value: Option<i64>, padded: bool) {
        self.whole += 1;
        match (value, self.range) {
            (None, _) => self.beyond += 1,
            (Some(value), None) => self.range = Some((value, value)),
            (Some(value), Some((least, most))) => {
                self.range = Some((least.min(value), most.max(value)));
            }
        }
        if padded && self.padded.is_none() {
            self.padded = Some(cut(text, 40));
        }
    }

    /// Least and greatest number, if every one is whole and held by 64 bits.
    pub fn whole_range(&self) -> Option<(i64, i64)> {
        self.range.filter(|_| self.whole == self.numbers && self.beyond == 0)
    }

    /// Whether so many of the given texts are numbers that the others are slips.
    pub fn are_nearly_all(&self, given: usize) -> bool {
        self.numbers * 100 >= given * NEEDED_HUNDREDTHS
    }

    /// Whether digits alone are all that was found.
    pub fn is_whole(&self) -> bool {
        self.whole == self.numbers
    }

    /// The decimal mark that most of its numbers have.
    pub fn mark(&self) -> u8 {
        let settled = [self.settled[0].count, self.settled[1].count];
        let either = [self.either[0].count, self.either[1].count];
        let comma =
            if settled[0] == settled[1] { either[1] > either[0] } else { settled[1] > settled[0] };
        MARKS[usize::from(comma)]
    }

    /// What is not certain about them.
    pub fn doubts(&self) -> Vec<String> {
        let mut doubts = Vec::new();
        let [dots, commas] = &self.settled;
        if let (Some(dot), Some(comma)) = (&dots.first, &commas.first) {
            doubts.push(format!(
                "Numbers with either decimal mark: {} of them need a dot ({}), {} a comma ({}).",
                dots.count,
                quoted(dot),
                commas.count,
                quoted(comma)
            ));
        }
        self.either_doubt(&mut doubts);
        if let Some(first) = &self.grouped.first {
            doubts.push(format!(
                "{THOUSANDS} in {}, such as {}: the map must name what separates them.",
                counted(self.grouped.count, "number"),
                quoted(first)
            ));
        }
        if let Some(first) = &self.exponents.first {
            doubts.push(format!(
                "An exponent stands in {}, such as {}.",
                counted(self.exponents.count, "number"),
                quoted(first)
            ));
        }
        if let Some(padded) = &self.padded {
            doubts.push(format!(
                "Zeros lead in whole numbers, such as {}: perhaps names, not amounts.",
                quoted(padded)
            ));
        }
        if self.beyond > 0 {
            doubts.push(format!("Beyond 64 bits: {}.", counted(self.beyond, "whole number")));
        }
        doubts
    }

    /// A mark in front of three digits, where nothing shows that it is the decimal mark.
    fn either_doubt(&self, doubts: &mut Vec<String>) {
        for (mark, name) in [(0, "dot"), (1, "comma")] {
            let (either, settled) = (&self.either[mark], self.settled[mark].count);
            if let Some(first) = either.first.as_deref().filter(|_| settled == 0) {
                doubts.push(format!(
                    "The {name} in {}, such as {}, may be a decimal mark or separate \
                     thousands: three digits follow it each time.",
                    counted(either.count, "number"),
                    quoted(first)
                ));
            }
        }
    }
}

impl Kept {
    fn keep(&mut self, text: &str) {
        self.count += 1;
        if self.first.is_none() {
            self.first = Some(cut(text, 40));
        }
    }
}

fn place(mark: u8) -> usize {
    usize::from(mark == b',')
}
