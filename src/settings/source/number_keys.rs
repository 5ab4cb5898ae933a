//! `[source.record.numbers.COLUMN]`: its keys, and what they mean.

use super::dialect::DECIMAL_MARKS;
use crate::settings::fleet::A_CURRENCY;
use crate::settings::ranges::{OneOf, OneOfIfAny, TextIfAny};
use crate::settings::section::section;

/// Separators of thousands by the text that names them.
pub const THOUSANDS: &[(&str, Thousands)] = &[
    (".", Thousands::Dot),
    (",", Thousands::Comma),
    (" ", Thousands::Blank),
    ("'", Thousands::Apostrophe),
];
/// What a number of an amount may count.
const UNITS: &[(&str, MoneyUnit)] =
    &[("minor", MoneyUnit::Minor), ("major", MoneyUnit::Major), ("thousand", MoneyUnit::Thousand)];
/// What an empty cell may say.
const BLANKS: &[(&str, Blank)] = &[("unknown", Blank::Unknown), ("zero", Blank::Zero)];

section! {
    TypedNumber:
    /// How the numbers of a column are written, as typed.
    NumberKeys {
        /// Mark between whole numbers and decimals; left out: the source's.
        decimal_mark: Option<u8> = None, OneOfIfAny<u8>(DECIMAL_MARKS);
        /// What stands between groups of three digits; left out: the source's.
        thousands: Option<Thousands> = None, OneOfIfAny<Thousands>(THOUSANDS);
        /// What an amount of money counts: hundredths such as cents, units of the currency, or thousands of them.
        unit: MoneyUnit = MoneyUnit::Major, OneOf<MoneyUnit>(UNITS);
        /// What an empty cell says: nothing, or that there is none.
        blank: Blank = Blank::Unknown, OneOf<Blank>(BLANKS);
        /// Currency of amounts that do not say it themselves; left out: the fleet's.
        currency: Option<String> = None, TextIfAny(A_CURRENCY);
        /// Export column that says the currency of each amount.
        currency_column: Option<String> = None, TextIfAny("an export column");
    }
}

/// What stands between groups of three digits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Thousands {
    /// `1.234`
    Dot,
    /// `1,234`
    Comma,
    /// `1 234`, with a blank of any width.
    Blank,
    /// `1'234`, with a straight or a curved mark.
    Apostrophe,
}

impl Thousands {
    /// The separator that a character is.
    pub fn of(mark: char) -> Option<Thousands> {
        Some(match mark {
            '.' => Thousands::Dot,
            ',' => Thousands::Comma,
            ' ' | '\u{a0}' | '\u{2009}' | '\u{202f}' => Thousands::Blank,
            '\'' | '’' => Thousands::Apostrophe,
            _ => return None,
        })
    }

    /// The text that the settings name it with.
    pub fn text(self) -> &'static str {
        THOUSANDS.iter().find(|(_, known)| *known == self).map_or("", |(text, _)| *text)
    }
}

/// What a number of an amount counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MoneyUnit {
    /// Hundredths, such as cents.
    Minor,
    /// Units of the currency.
    Major,
    /// Thousands of them.
    Thousand,
}

impl MoneyUnit {
    /// Minor units in one.
    pub fn minor(self) -> i64 {
        match self {
            MoneyUnit::Minor => 1,
            MoneyUnit::Major => 100,
            MoneyUnit::Thousand => 100_000,
        }
    }
}

/// What an empty cell says.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Blank {
    /// Nothing.
    Unknown,
    /// None at all.
    Zero,
}

/// How the numbers of one column are written, and what they mean.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Numbers {
    /// `.` or `,`.
    pub decimal_mark: u8,
    /// Between groups of three digits; none: no number has any.
    pub thousands: Option<Thousands>,
    /// What an amount of money counts.
    pub unit: MoneyUnit,
    /// What an empty cell says.
    pub blank: Blank,
    /// ISO 4217 code of amounts that say none themselves; none: the fleet's.
    pub currency: Option<String>,
    /// Export column that holds such a code.
    pub currency_column: Option<String>,
}

impl Numbers {
    /// Of a source's dialect, where a column says nothing of its own.
    pub fn written(decimal_mark: u8, thousands: Option<Thousands>) -> Numbers {
        Numbers {
            decimal_mark,
            thousands,
            unit: MoneyUnit::Major,
            blank: Blank::Unknown,
            currency: None,
            currency_column: None,
        }
    }

    /// An amount as it would be written, for messages.
    pub fn example(&self) -> String {
        let decimals = format!("{}50", char::from(self.decimal_mark));
        format!("1{}234{decimals}", self.thousands.map_or("", Thousands::text))
    }
}
