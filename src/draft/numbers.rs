//! How the numbers of the mapped columns are written: what the whole file shares, and what one column has for itself.

use super::mapped::{Mapped, Part};
use super::money::{Line, currency, units};
use super::page::{Page, Question, Standing, quoted, shown};
use crate::records::Kind;
use crate::settings::{Dialect, Thousands};
use crate::tabular::profile::Guess;

/// Amounts of faults of which the largest is this or more are perhaps hundredths, where they are whole and nothing names
/// their unit: few faults cost ten thousand, most a hundred.
const LARGE: i64 = 10_000;

/// The mark and the separator that the mapped numbers share.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shared {
    pub decimal_mark: u8,
    pub thousands: Option<Thousands>,
}

fn numbers<'a, 'p>(parts: &'a [Part<'p>]) -> impl Iterator<Item = &'a Mapped<'p>> {
    let mapped = parts.iter().flat_map(|part| &part.mapped);
    let is_number =
        |one: &&Mapped| matches!(one.column.kind, Kind::Integer | Kind::Minutes | Kind::Money);
    // Amounts first: they show most of how numbers are written.
    let (money, counts): (Vec<_>, Vec<_>) =
        mapped.filter(is_number).partition(|one| one.column.kind == Kind::Money);
    money.into_iter().chain(counts)
}

impl Shared {
    /// Of the mapped columns, else of the dialect.
    pub fn of(dialect: &Dialect, parts: &[Part]) -> Shared {
        let mark = |one: &Mapped| match (one.profile.numbers.mark, one.profile.kind) {
            (Some(mark), _) => Some(mark),
            (None, Guess::Decimal { mark })
                if matches!(one.column.kind, Kind::Money | Kind::Minutes) =>
            {
                Some(mark)
            }
            _ => None,
        };
        let thousands = numbers(parts).find_map(|one| one.profile.numbers.thousands.as_ref());
        let thousands = thousands.map(|(thousands, _)| *thousands);
        // The mark that a separator leaves, where no number has decimals.
        let other = match thousands {
            Some(Thousands::Dot) => Some(b','),
            Some(Thousands::Comma) => Some(b'.'),
            _ => None,
        };
        let found = numbers(parts).find_map(mark).or(other);
        Shared { decimal_mark: found.unwrap_or(dialect.decimal_mark), thousands }
    }
}

/// The separator of thousands, with the question where nothing settles it.
pub fn thousands(page: &mut Page, shared: Shared, parts: &[Part]) {
    if let Some(thousands) = shared.thousands {
        return page.line("thousands", &quoted(thousands.text()), &Standing::Sure, None);
    }
    let open = |one: &&Mapped| one.profile.numbers.open.is_some();
    let Some(one) = numbers(parts).find(open) else { return };
    let Some((thousands, example)) = &one.profile.numbers.open else { return };
    let (name, example) = (shown(&one.profile.name), shown(example));
    let evidence = format!("it holds {example}: three digits follow the mark each time");
    let separated =
        format!("Does {} separate thousands in column {name}?", quoted(thousands.text()));
    // No amount has three decimals, unless it counts thousands.
    let counts_thousands = lines(shared, one)
        .iter()
        .any(|(key, value, _)| *key == "unit" && *value == quoted("thousand"));
    let standing = if one.column.kind == Kind::Money && !counts_thousands {
        let question = format!("{separated} Else use \"\": then it is the decimal mark");
        let evidence = format!("{evidence}, and no amount has three decimals");
        Standing::Proposed(Question { question, evidence })
    } else {
        let question =
            format!("{separated} Then this line is needed; without it, it is the decimal mark");
        Standing::Open(Question { question, evidence })
    };
    page.line("thousands", &quoted(thousands.text()), &standing, None);
}

/// The keys that single columns have for themselves.
pub fn of_columns(page: &mut Page, shared: Shared, part: &Part, path: &str) {
    for one in numbers(std::slice::from_ref(part)) {
        // Keys of a column that is not mapped are an error in the settings.
        let mut lines = lines(shared, one);
        // Of settings for a whole folder the currency is asked once, of the fleet.
        let is_asked = |standing: &Standing| matches!(standing, Standing::Proposed(_));
        let is_lifting = page.is_lifting();
        lines
            .retain(|(key, _, standing)| !(is_lifting && *key == "currency" && is_asked(standing)));
        if lines.is_empty() || matches!(one.standing, Standing::Open(_)) {
            continue;
        }
        let name = one.column.name;
        page.section(&format!("[source.record.numbers.{name}]"), &format!("{path}.numbers.{name}"));
        for (key, value, standing) in lines {
            page.line(key, &value, &standing, None);
        }
    }
}

fn lines(shared: Shared, one: &Mapped) -> Vec<Line> {
    let mut lines = Vec::new();
    let own = &one.profile.numbers;
    if let Some(mark) = own.mark.filter(|mark| *mark != shared.decimal_mark) {
        lines.push(("decimal_mark", quoted(&char::from(mark).to_string()), Standing::Sure));
    }
    if let Some((thousands, _)) =
        own.thousands.as_ref().filter(|(own, _)| Some(*own) != shared.thousands)
    {
        lines.push(("thousands", quoted(thousands.text()), Standing::Sure));
    }
    if one.column.kind != Kind::Money {
        return lines;
    }
    let name = &one.profile.name;
    lines.extend(units(name, one.profile.kind == Guess::Integer));
    let currency = currency(name);
    if lines.iter().all(|(key, ..)| *key != "unit") && currency.is_none() {
        lines.extend(whole_unit(one));
    }
    lines.extend(currency);
    lines
}

/// The unit of bare whole amounts so large that they may be hundredths.
fn whole_unit(one: &Mapped) -> Option<Line> {
    let largest = one.profile.numbers.largest.filter(|largest| *largest >= LARGE)?;
    let question = Question {
        question: format!(
            "Are the amounts of {} whole units of the currency? Else use {} (hundredths)",
            shown(&one.profile.name),
            quoted("minor")
        ),
        evidence: format!("no name says it; they are whole, the largest is {largest}"),
    };
    (one.profile.kind == Guess::Integer)
        .then(|| ("unit", quoted("major"), Standing::Proposed(question)))
}
