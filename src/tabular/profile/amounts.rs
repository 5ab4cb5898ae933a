//! How the numbers of a column are written: separators of thousands, decimal mark, currencies beside them.

use super::number_text::{Number, number};
use super::sentence::cut;
use crate::settings::Thousands;

/// Longest text beside a number that may be a currency, characters.
const LONGEST_CURRENCY: usize = 4;
/// Longest text that is looked at: no amount is longer.
const LONGEST: usize = 40;
const MARKS: [u8; 2] = [b'.', b','];

/// How the numbers of a column are written.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct WrittenNumbers {
    /// Given texts that are numbers, a currency beside them or not.
    pub amounts: usize,
    /// Of them whole ones without a currency: digits, separators of thousands, decimals that are all zero.
    pub whole: usize,
    /// The greatest of those that are digits alone, whatever its sign.
    pub largest: Option<i64>,
    /// The decimal mark that some of them need.
    pub mark: Option<u8>,
    /// The separator of thousands that some of them need, with the first of these.
    pub thousands: Option<(Thousands, String)>,
    /// The first of those whose one mark may be either, where nothing settles it; the mark is its separator of thousands.
    pub open: Option<(Thousands, String)>,
}

/// Counts while texts come in.
#[derive(Debug, Default)]
pub struct AmountTally {
    amounts: usize,
    whole: usize,
    largest: Option<i64>,
    /// Numbers that need this decimal mark (`.`, `,`).
    settled: [usize; 2],
    /// First of the numbers with this mark which could separate thousands.
    either: [Option<String>; 2],
    /// By separator of thousands: how many need it, and the first of them.
    grouped: Vec<(Thousands, usize, String)>,
}

impl AmountTally {
    /// Adds a given text.
    pub fn add(&mut self, text: &str) {
        if text.len() > LONGEST {
            return;
        }
        let Some((core, has_currency)) = core(text) else { return };
        let Some(found) = number(core) else { return };
        self.amounts += 1;
        let tail = core.rsplit(['.', ',']).next().unwrap_or_default();
        let is_whole = match found {
            Number::Whole { value, .. } => {
                self.largest = self.largest.max(value.map(i64::saturating_abs));
                true
            }
            Number::Decimal { mark, either } => {
                let place = usize::from(mark == b',');
                if either {
                    self.either[place].get_or_insert_with(|| cut(text, LONGEST));
                } else {
                    self.settled[place] += 1;
                }
                either || tail.bytes().all(|byte| byte == b'0')
            }
            Number::Grouped { mark, by } => {
                let decimals = mark.filter(|mark| core.contains(char::from(*mark)));
                if let Some(mark) = mark {
                    self.settled[usize::from(mark == b',')] += 1;
                }
                self.need(by, text);
                decimals.is_none() || tail.bytes().all(|byte| byte == b'0')
            }
            Number::Exponent { .. } => false,
        };
        self.whole += usize::from(is_whole && !has_currency);
    }

    fn need(&mut self, by: char, text: &str) {
        let Some(thousands) = Thousands::of(by) else { return };
        match self.grouped.iter_mut().find(|(known, ..)| *known == thousands) {
            Some((_, count, _)) => *count += 1,
            None => self.grouped.push((thousands, 1, cut(text, LONGEST))),
        }
    }

    /// What was found.
    pub fn finish(self) -> WrittenNumbers {
        let [dots, commas] = self.settled;
        let mark = if dots == commas && dots == 0 {
            None
        } else {
            Some(MARKS[usize::from(commas > dots)])
        };
        let most = self.grouped.into_iter().max_by_key(|(_, count, _)| *count);
        let mut thousands = most.map(|(thousands, _, first)| (thousands, first));
        let mut open = None;
        for (place, first) in self.either.into_iter().enumerate() {
            let Some(first) = first else { continue };
            let Some(by) = Thousands::of(char::from(MARKS[place])) else { continue };
            match mark {
                // The other mark is the decimal one, so this one separates thousands.
                Some(mark) if mark != MARKS[place] && thousands.is_none() => {
                    thousands = Some((by, first));
                }
                None if thousands.is_none() => open = open.or(Some((by, first))),
                _ => {}
            }
        }
        let Self { amounts, whole, largest, .. } = self;
        WrittenNumbers { amounts, whole, largest, mark, thousands, open }
    }
}

/// The number in a text without what may be a currency at one of its ends, and whether there was any.
fn core(text: &str) -> Option<(&str, bool)> {
    let first = text.find(|c: char| c.is_ascii_digit())?;
    let after = text.rfind(|c: char| c.is_ascii_digit())? + 1;
    let (head, tail) = (text[..first].trim(), text[after..].trim());
    let signs = ['-', '+', '−'];
    let bare = |part: &str| part.trim_matches(signs).trim().to_owned();
    // `T-1001` is a name, `-12 EUR` an amount.
    let is_name = head.ends_with('-') && head.contains(|c: char| c.is_ascii_alphabetic());
    let (head, tail) = (bare(head), bare(tail));
    let fits = |part: &str| part.is_empty() || may_be_currency(part);
    let fine = !is_name && fits(&head) && fits(&tail) && (head.is_empty() || tail.is_empty());
    fine.then_some((&text[first..after], !head.is_empty() || !tail.is_empty()))
}

/// Whether a text looks like a code of a currency or like a sign: not every word of letters does.
fn may_be_currency(part: &str) -> bool {
    let letters = part.trim_end_matches('.');
    if letters.chars().all(|c| c.is_ascii_alphabetic()) {
        return letters.len() == 3 || matches!(letters, "kr" | "Fr" | "Ft");
    }
    let word = |c: char| c.is_alphabetic() || c == '$' || !c.is_ascii();
    part.chars().count() <= LONGEST_CURRENCY && letters.chars().all(word)
}
