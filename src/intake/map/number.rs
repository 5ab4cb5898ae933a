//! Whole numbers and amounts of money, exactly or not at all.

use std::collections::BTreeMap;

use super::currency::{Said, said};
use crate::settings::{Numbers, Thousands};

/// Largest count or amount of minor units that a record may have, either side of 0: a thousand million
/// hundreds, of which nine million still add up within 64 bits.
pub const MOST: u64 = 1_000_000_000_000;
/// Most decimals that are read: more would be beyond any unit.
const MOST_DECIMALS: usize = 9;
/// Digits of a group between two separators of thousands.
const GROUP: usize = 3;

/// A whole number: an optional sign and digits. None for anything else, and beyond 64 bits.
pub fn integer(text: &str) -> Option<i64> {
    let digits = text.strip_prefix(['-', '+']).unwrap_or(text);
    if digits.is_empty() || !is_digits(digits) {
        return None;
    }
    text.parse().ok()
}

/// A whole number as people write it: with separators of thousands where the map has any, and with
/// decimals that are all zero. Three zeros behind a mark could as well be thousands, so they are
/// refused unless the map names another separator.
pub fn whole(text: &str, numbers: &Numbers) -> Option<i64> {
    let (negative, digits) = match text.strip_prefix(['-', '−']) {
        Some(digits) => (true, digits),
        None => (false, text.strip_prefix('+').unwrap_or(text)),
    };
    let (whole, decimals) = parts(digits, numbers)?;
    let clear = decimals.len() != GROUP || numbers.thousands.is_some();
    let number = (clear && decimals.bytes().all(|byte| byte == b'0')).then_some(whole)?;
    Some(if negative { -number } else { number })
}

/// How the amounts of a column are read.
#[derive(Debug)]
pub struct Amounts<'a> {
    /// How they are written.
    pub numbers: Numbers,
    /// Cell that holds their currency.
    pub currency_cell: Option<usize>,
    /// Currency of the fleet, in whose minor units they are kept.
    pub fleet: &'a str,
    /// What a unit of another currency is worth in the fleet's.
    pub exchange: &'a BTreeMap<String, f64>,
}

/// Why a text is no amount of the fleet's money.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NoAmount {
    /// It cannot be read as a number.
    Unreadable,
    /// It is of this currency, which has no rate.
    NoRate(String),
    /// It is of one of several currencies, or of two at once.
    Unclear,
}

impl Amounts<'_> {
    /// An amount in minor units (hundredths) of the fleet's currency. A sign of a currency or its code may stand before
    /// or behind the number; `beside` is what the cell of the currency says.
    ///
    /// # Errors
    /// [`NoAmount`] where it cannot be read, or its currency has no rate.
    pub fn read(&self, text: &str, beside: Option<&str>) -> Result<i64, NoAmount> {
        let (minor, own) = self.minor(text).ok_or(NoAmount::Unreadable)?;
        let stated = match beside.or(self.numbers.currency.as_deref()) {
            Some(word) => Some(said(word).ok_or(NoAmount::Unclear)?),
            None => None,
        };
        let code = self.currency(own, stated)?;
        if code == self.fleet {
            return Ok(minor);
        }
        let Some(rate) = self.exchange.get(&code) else { return Err(NoAmount::NoRate(code)) };
        let money = (minor as f64 * rate).round();
        if money.abs() > MOST as f64 {
            return Err(NoAmount::Unreadable);
        }
        Ok(money as i64)
    }

    /// Minor units of whichever currency, and what the text says of that.
    fn minor(&self, text: &str) -> Option<(i64, Option<Said>)> {
        let first = text.find(|c: char| c.is_ascii_digit())?;
        let after = text.rfind(|c: char| c.is_ascii_digit())? + 1;
        let mark = char::from(self.numbers.decimal_mark);
        let (before, leading) = unsigned(text[..first].trim());
        // `1'000.-` is a round sum, `12,50-` a negative one.
        let tail = text[after..].trim_start();
        let round = tail.strip_prefix(mark).filter(|rest| rest.starts_with(['-', '–', '—']));
        let tail = round.map_or(tail, |rest| rest.trim_start_matches(['-', '–', '—'])).trim();
        let (behind, trailing) = if round.is_some() { (tail, false) } else { unsigned(tail) };
        let own = match (before.is_empty(), behind.is_empty()) {
            (true, true) => None,
            (false, true) => Some(said(before)?),
            (true, false) => Some(said(behind)?),
            (false, false) => return None,
        };
        let (whole, decimals) = parts(&text[first..after], &self.numbers)?;
        let scale = 10i64.checked_pow(decimals.len() as u32)?;
        let fraction: i64 = if decimals.is_empty() { 0 } else { decimals.parse().ok()? };
        let digits = i128::from(whole) * i128::from(scale) + i128::from(fraction);
        let minor = digits * i128::from(self.numbers.unit.minor());
        let is_exact = minor % i128::from(scale) == 0;
        let minor = i64::try_from(minor / i128::from(scale)).ok().filter(|_| is_exact)?;
        let minor = if leading != trailing { -minor } else { minor };
        (minor.unsigned_abs() <= MOST && !(leading && trailing)).then_some((minor, own))
    }

    fn currency(&self, own: Option<Said>, stated: Option<Said>) -> Result<String, NoAmount> {
        let choose = |found: Said| match found {
            Said::Code(code) => Ok(code),
            Said::Sign(codes) if codes.contains(&self.fleet) => Ok(self.fleet.to_owned()),
            Said::Sign([code]) => Ok((*code).to_owned()),
            Said::Sign(codes) => {
                let mut known = codes.iter().filter(|code| self.exchange.contains_key(**code));
                match (known.next(), known.next()) {
                    (Some(code), None) => Ok((*code).to_owned()),
                    _ => Err(NoAmount::Unclear),
                }
            }
        };
        match (own, stated) {
            (None, None) => Ok(self.fleet.to_owned()),
            (Some(one), None) | (None, Some(one)) => choose(one),
            (Some(Said::Sign(codes)), Some(stated)) => {
                let code = choose(stated)?;
                if codes.contains(&code.as_str()) { Ok(code) } else { Err(NoAmount::Unclear) }
            }
            (Some(Said::Code(code)), Some(stated)) => {
                let fits = match &stated {
                    Said::Code(other) => *other == code,
                    Said::Sign(codes) => codes.contains(&code.as_str()),
                };
                if fits { Ok(code) } else { Err(NoAmount::Unclear) }
            }
        }
    }
}

/// What is left of the text without a sign at either end, and whether it was a minus.
fn unsigned(text: &str) -> (&str, bool) {
    let strip = |text, sign: [char; 2]| -> Option<&str> {
        let text: &str = text;
        text.strip_prefix(sign).or_else(|| text.strip_suffix(sign))
    };
    match strip(text, ['-', '−']) {
        Some(rest) => (rest.trim(), true),
        None => (text.strip_prefix('+').unwrap_or(text).trim(), false),
    }
}

/// The whole part of a number without a sign, and its decimals.
fn parts<'t>(text: &'t str, numbers: &Numbers) -> Option<(i64, &'t str)> {
    let mark = char::from(numbers.decimal_mark);
    let (whole, decimals) = match text.split_once(mark) {
        Some((_, "")) => return None,
        Some(parts) => parts,
        None => (text, ""),
    };
    if !is_digits(decimals) || decimals.len() > MOST_DECIMALS {
        return None;
    }
    let number = match numbers.thousands {
        Some(thousands) if !is_digits(whole) => grouped(whole, thousands)?,
        _ if whole.is_empty() || !is_digits(whole) => return None,
        _ => whole.parse().ok()?,
    };
    Some((number, decimals))
}

/// One to three digits, then groups of three.
fn grouped(text: &str, thousands: Thousands) -> Option<i64> {
    let is_mark = |c: char| Thousands::of(c) == Some(thousands);
    let mut groups = text.split(is_mark);
    let first = groups.next().filter(|group| (1..=GROUP).contains(&group.len()))?;
    let mut digits = first.to_owned();
    for group in groups {
        if group.len() != GROUP {
            return None;
        }
        digits.push_str(group);
    }
    if is_digits(&digits) { digits.parse().ok() } else { None }
}

fn is_digits(text: &str) -> bool {
    text.bytes().all(|byte| byte.is_ascii_digit())
}
