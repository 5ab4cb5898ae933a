//! Faults soon after matings whose two ends were looked at and passed.

use super::part::{MOST_ROWS, Part};
use crate::measures::Review;
use crate::measures::trust::{By, NAME, Quantity, Row};
use crate::report::page::page_table::PageTable;

pub(super) fn part(review: &Review) -> Part {
    let of = |by| review.trust.rows_of(by, Quantity::Escapes);
    let mut rows: Vec<&Row> = of(By::Fleet).collect();
    for by in [By::Grading, By::Criteria, By::CriteriaGrading] {
        let mut found: Vec<&Row> = of(by).collect();
        found.sort_by(|a, b| b.n.total_cmp(&a.n));
        // A grouping of one group says what the row above says.
        if found.len() > 1 {
            rows.extend(found);
        }
    }
    let table = PageTable::over(&rows)
        .words("looks judged by", |row| judged_by(row))
        .n("matings, both seen")
        .events("faults in 30 days")
        .estimates(review, "escapes")
        .flags()
        .set_first(MOST_ROWS, "What passed and failed soon after", NAME);
    Part { tables: vec![table], ..Part::default() }
}

fn judged_by(row: &Row) -> String {
    let said: Vec<&str> =
        [row.own.criteria.as_deref(), row.own.grading.as_deref()].into_iter().flatten().collect();
    if said.is_empty() { "all".to_owned() } else { said.join(", ") }
}
