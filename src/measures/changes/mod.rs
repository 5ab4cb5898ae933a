//! 5.9, Q9: what has really changed since the quarter before, and since the same quarter a year before.
//!
//! Shares by their difference, rates by their ratio, each with an interval that rests on the scatter
//! of both quarters. Whether a change is more than chance is told over the whole list of comparisons
//! against one quarter: q by Benjamini & Hochberg (1995) over the rows that are not flagged.

mod rates;
mod shares;

use crate::derive::{Cell, DeriveError, Only, Quarter, compared};
use crate::measures::evidence::{Evidence, Grouping};
use crate::measures::flag::Flag;
use crate::measures::table::{Table, Value};
use crate::stats::benjamini_hochberg;

const OWN: &[&str] = &[
    "against",
    "quarter",
    "value",
    "n_before",
    "events_before",
    "value_before",
    "p",
    "q",
    "deff",
    "deff_before",
    "clusters",
    "clusters_before",
    "phi",
];
/// Cells of every quantity; first pass has more.
pub(in crate::measures) const GROUPINGS: &[Grouping] = &[
    ("fleet", &[]),
    ("stage", &["stage"]),
    ("family", &["family"]),
    ("stage+family", &["stage", "family"]),
    ("site", &["site"]),
];
/// Fewest events that either side must expect at the rate of both.
const LEAST_EXPECTED: f64 = 5.0;

/// The period against one other quarter.
pub(in crate::measures) struct Pair {
    /// Word of the comparison.
    pub against: &'static str,
    pub quarter: Quarter,
    pub now: Only,
    pub before: Only,
}

/// The table of changes.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn changes(evidence: &Evidence) -> Result<Table, DeriveError> {
    let mut table = Table::empty("changes", OWN);
    for (against, quarter) in compared(&evidence.derived.period) {
        let before = Only::all().with("quarter", &[quarter.to_string()]);
        let pair = Pair { against, quarter, now: evidence.period(), before };
        let from = table.rows.len();
        self::shares::shares(evidence, &pair, &mut table)?;
        self::rates::rates(evidence, &pair, &mut table)?;
        adjust(&mut table, from);
    }
    Ok(table)
}

/// The q of every firm row from `from` on, one list.
fn adjust(table: &mut Table, from: usize) {
    let place = |name: &str| table.own.iter().position(|own| *own == name);
    let (Some(p_at), Some(q_at)) = (place("p"), place("q")) else { return };
    let firm = table.rows[from..].iter_mut().filter(|row| row.is_firm());
    let (mut rows, mut p_values) = (Vec::new(), Vec::new());
    for row in firm {
        if let Some(Value::Number(p)) = row.own.get(p_at) {
            p_values.push(*p);
            rows.push(row);
        }
    }
    for (row, q) in rows.into_iter().zip(benjamini_hochberg(&p_values)) {
        row.own[q_at] = Value::Number(q);
    }
}

impl Pair {
    /// What every row says of the comparison.
    pub fn named(&self) -> [(&'static str, Value); 2] {
        [
            ("against", Value::Text(self.against.to_owned())),
            ("quarter", Value::Text(self.quarter.to_string())),
        ]
    }
}

/// Cells of both quarters that have the same group, in the order of display. Nothing where one of the
/// quarters has no cell at all: it is not compared with what was not recorded.
pub(in crate::measures) fn side_by_side(
    now: Vec<Cell>,
    before: Vec<Cell>,
) -> Vec<[Option<Cell>; 2]> {
    if now.is_empty() || before.is_empty() {
        return Vec::new();
    }
    let mut pairs = std::collections::BTreeMap::new();
    for (side, cells) in [now, before].into_iter().enumerate() {
        for cell in cells {
            let pair: &mut [Option<Cell>; 2] = pairs.entry(cell.places.clone()).or_default();
            pair[side] = Some(cell);
        }
    }
    pairs.into_values().collect()
}

/// `thin` where a side expects too few events at the rate of both together: `all` events over `sizes`
/// of units or exposure.
pub(in crate::measures) fn expects_too_few(all: f64, sizes: [f64; 2]) -> Option<Flag> {
    let whole = sizes[0] + sizes[1];
    let least = sizes[0].min(sizes[1]);
    (whole <= 0.0 || all * (least / whole) < LEAST_EXPECTED).then_some(Flag::Thin)
}
