//! Sites that pass too much for the faults that follow.

use super::part::{Doubt, MOST_ROWS, Part};
use crate::charts::number::percent;
use crate::measures::Review;
use crate::measures::trust::{By, NAME, Quantity, Row};
use crate::report::page::page_table::PageTable;
use crate::report::words::number::{count_or_dash, probability, whole};

pub(super) fn part(review: &Review) -> Part {
    let rows = review.trust.rows_of(By::Site, Quantity::TooGood);
    let mut rows: Vec<&Row> = rows.filter(|row| row.own.named == Some(true)).collect();
    rows.sort_by(|a, b| a.own.p.unwrap_or(1.0).total_cmp(&b.own.p.unwrap_or(1.0)));
    let share = |share: Option<f64>| share.map_or_else(String::new, |share| percent(share, 1));
    let table = PageTable::over(&rows)
        .words("site", |row| row.group.site.clone().unwrap_or_default())
        .n("first looks")
        .numbers("passed", |row| share(row.own.share))
        .numbers("expected", |row| share(row.own.expected_share))
        .numbers("faults, both seen", |row| count_or_dash(row.own.faults))
        .numbers("expected", |row| whole(row.own.expected_faults))
        .numbers("q", |row| row.estimate.map_or_else(String::new, probability))
        .set_first(MOST_ROWS, "Sites that pass too much for the faults that follow", NAME);
    let all = review.trust.rows_of(By::Site, Quantity::TooGood).count().max(1) as f64;
    let doubt = |row: &&Row| Doubt {
        weight: 1.0 / all,
        sentence: format!(
            "{}: {} of first looks pass where the other sites let expect {}, and {} linked faults follow matings with both \
             ends seen where {} were to be expected. Its looks may pass what is not clean.",
            row.group.site.as_deref().unwrap_or("–"),
            share(row.own.share),
            share(row.own.expected_share),
            count_or_dash(row.own.faults),
            whole(row.own.expected_faults),
        ),
    };
    Part { doubts: rows.iter().map(doubt).collect(), tables: vec![table] }
}
