//! Estimates in words: no finer than their interval supports, money in major units.

use crate::charts::number::{fixed, magnitude, supported};
use crate::measures::results::Money;
use crate::measures::{AnyRow, Unit};

/// [`Money::MINOR`].
pub(in crate::report) const MINOR: f64 = Money::MINOR;

/// A number with its interval and unit; money in minor units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::report) struct Amount {
    pub value: Option<f64>,
    pub low: Option<f64>,
    pub high: Option<f64>,
    pub unit: Unit,
}

/// What printed numbers are divided by, and the unit written after them.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::report) struct Scale {
    pub divisor: f64,
    pub unit: String,
}

impl Amount {
    /// The estimate of a row.
    pub(in crate::report) fn of(row: &impl AnyRow) -> Amount {
        let row = row.leading();
        let (value, low, high) = (finite(row.estimate), finite(row.low), finite(row.high));
        Amount { value, low, high, unit: row.unit }
    }

    /// A value without an interval.
    pub(in crate::report) fn plain(value: Option<f64>, unit: Unit) -> Amount {
        Amount { value: finite(value), low: None, high: None, unit }
    }

    /// Money without an interval.
    pub(in crate::report) fn money(value: Option<Money>) -> Amount {
        Amount::plain(value.map(|Money(minor)| minor as f64), Unit::Money)
    }

    /// The scale that suits this amount alone.
    pub(in crate::report) fn scale(&self, currency: &str) -> Scale {
        Scale::for_all([self], self.unit, currency)
    }

    /// The value on a scale, digits as the interval supports: "41".
    pub(in crate::report) fn value_on(&self, scale: &Scale) -> String {
        match (self.value, self.low, self.high) {
            (Some(value), _, _) => self.digits(value, scale),
            (None, Some(low), None) => format!("over {}", self.digits(low, scale)),
            (None, None, Some(high)) => format!("under {}", self.digits(high, scale)),
            (None, _, _) => "–".to_owned(),
        }
    }

    /// The value on the scale that suits it, without its unit: a cell whose heading names the unit.
    pub(in crate::report) fn bare(&self) -> String {
        self.value_on(&self.scale(""))
    }

    /// The interval on a scale: "18 to 66"; empty without one.
    pub(in crate::report) fn interval_on(&self, scale: &Scale) -> String {
        match (self.low, self.high) {
            (Some(low), Some(high)) => {
                format!("{} to {}", self.digits(low, scale), self.digits(high, scale))
            }
            (Some(low), None) if self.value.is_some() => {
                format!("{} or more", self.digits(low, scale))
            }
            (None, Some(high)) if self.value.is_some() => {
                format!("{} or less", self.digits(high, scale))
            }
            _ => String::new(),
        }
    }

    /// Value and unit: "41 k EUR".
    pub(in crate::report) fn short(&self, currency: &str) -> String {
        let scale = self.scale(currency);
        if self.value.is_none() && (self.low.is_some() == self.high.is_some()) {
            return "no estimate".to_owned();
        }
        with_unit(&self.value_on(&scale), &scale.unit)
    }

    /// Value, unit and interval: "41 k EUR (18 to 66)".
    pub(in crate::report) fn full(&self, currency: &str) -> String {
        let interval = self.interval_on(&self.scale(currency));
        let short = self.short(currency);
        if interval.is_empty() { short } else { format!("{short} ({interval})") }
    }

    /// A rise says that it is one; what rounds to zero has no sign.
    fn signed(&self, number: f64, text: String) -> String {
        let is_rise = self.unit == Unit::Difference && number > 0.0;
        let is_zero = !text.chars().any(|c| ('1'..='9').contains(&c));
        if is_rise && !is_zero { format!("+{text}") } else { text }
    }

    fn digits(&self, number: f64, scale: &Scale) -> String {
        let on = |value: f64| value / scale.divisor;
        match (self.low, self.high) {
            _ if matches!(self.unit, Unit::Count | Unit::Cycles) && number.fract() == 0.0 => {
                fixed(number, 0)
            }
            (Some(low), Some(high)) if high > low => {
                self.signed(number, supported(on(number), on(low), on(high)))
            }
            _ if matches!(self.unit, Unit::Share | Unit::GrowthAYear) => fixed(on(number), 1),
            _ if self.unit == Unit::Difference => self.signed(number, fixed(on(number), 1)),
            // On a scale of thousands less than one says no more than a tenth.
            _ if self.unit == Unit::Money && scale.divisor > MINOR && on(number).abs() < 1.0 => {
                fixed(on(number), 1)
            }
            _ => three(on(number)),
        }
    }

    /// The same seen from the other side: what costs less saves so much.
    pub(in crate::report) fn turned(self) -> Amount {
        let turn = |end: Option<f64>| end.map(|end| -end);
        Amount { value: turn(self.value), low: turn(self.high), high: turn(self.low), ..self }
    }
}

impl Scale {
    /// One scale for several amounts of a unit, so that a column of them can be compared.
    pub(in crate::report) fn for_all<'a>(
        amounts: impl IntoIterator<Item = &'a Amount>,
        unit: Unit,
        currency: &str,
    ) -> Scale {
        match unit {
            Unit::Share | Unit::GrowthAYear => Scale { divisor: 0.01, unit: "%".to_owned() },
            Unit::Difference => Scale { divisor: 0.01, unit: "points".to_owned() },
            Unit::Money => {
                let parts = amounts.into_iter().flat_map(|a| [a.value, a.low, a.high]);
                let largest = parts.flatten().fold(0.0, |most: f64, part| most.max(part.abs()));
                let (divisor, word) = magnitude(largest / MINOR);
                Scale { divisor: divisor * MINOR, unit: with_unit(word, currency) }
            }
            Unit::Ratio
            | Unit::ChiSquare
            | Unit::Count
            | Unit::Cycles
            | Unit::Probability
            | Unit::Number
            | Unit::Word
            | Unit::Time => Scale { divisor: 1.0, unit: String::new() },
            Unit::Months
            | Unit::Days
            | Unit::Hours
            | Unit::PerThousandMatings
            | Unit::PerThousandMonths
            | Unit::Fit => Scale { divisor: 1.0, unit: unit.word().to_owned() },
        }
    }
}

/// Money in major units, for charts.
pub(in crate::report) fn major(minor: f64) -> f64 {
    minor / MINOR
}

/// A number of units or events; a dash where it is not known.
pub(in crate::report) fn whole(value: Option<f64>) -> String {
    finite(value).map_or_else(|| "–".to_owned(), |value| fixed(value, 0))
}

/// A number of things; a dash where it is not known.
pub(in crate::report) fn count_or_dash(value: Option<i64>) -> String {
    whole(value.map(|value| value as f64))
}

/// A p or q value: three decimals, and never zero.
pub(in crate::report) fn probability(p: f64) -> String {
    if p < 0.001 { "<0.001".to_owned() } else { fixed(p, 3) }
}

/// The same; a dash where it is not known.
pub(in crate::report) fn probability_or_dash(p: Option<f64>) -> String {
    p.map_or_else(|| "–".to_owned(), probability)
}

/// The level of an interval: "95 %".
pub(in crate::report) fn level(level: f64) -> String {
    with_unit(&format!("{}", (level * 1000.0).round() / 10.0), "%")
}

/// `text` and a unit, kept on one line.
fn with_unit(text: &str, unit: &str) -> String {
    match (text, unit) {
        (text, "") => text.to_owned(),
        ("", unit) => unit.to_owned(),
        (text, unit) => format!("{text}\u{00A0}{unit}"),
    }
}

/// Three significant digits, for a number without an interval.
fn three(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let decimals = (2.0 - value.abs().log10().floor()).clamp(0.0, 6.0);
    fixed(value, decimals as usize)
}

fn finite(value: Option<f64>) -> Option<f64> {
    value.filter(|value| value.is_finite())
}
