//! The five classes of coverage by stage.

use crate::charts::{Class, Fill, StackedBars, StackedRow, stacked_bars};
use crate::measures::{Review, Row, Table};
use crate::report::page::picture::{Picture, frame};
use crate::report::words::flags::look;
use crate::report::words::label::{label, ordered, part, says};
use crate::report::words::number::{Amount, whole};

/// The classes in the order of every picture and table, with what they mean.
pub(in crate::report) const CLASSES: [(&str, &str, Fill); 5] = [
    ("both", "both ends seen", Fill::Quiet),
    ("one", "one end unseen", Fill::StrongHatched),
    ("none", "both ends unseen", Fill::Strong),
    ("despite-fail", "despite a fail", Fill::SecondCrossed),
    ("unknown", "not known", Fill::Open),
];

/// One bar a stage, split into the classes.
pub(in crate::report) fn by_stage(review: &Review, title: String) -> Option<Picture> {
    let table = review.table("coverage");
    let mut bars: Vec<StackedRow> = Vec::new();
    for by in ["fleet", "stage"] {
        for both in ordered(review, table, by, "both") {
            if says(table, both, "base", "all") {
                bars.push(bar(review, table, both));
            }
        }
    }
    if bars.is_empty() {
        return None;
    }
    let drawn = format!("Matings of {} by what was seen of their two ends", review.period.quarter);
    let classes = CLASSES.map(|(_, label, fill)| Class { label: label.to_owned(), fill });
    let chart = StackedBars {
        frame: frame(
            review,
            title,
            &drawn,
            "Skipped: one or both ends unseen, of the matings of which it is known.",
        ),
        classes: classes.to_vec(),
        columns: vec!["skipped".to_owned(), "matings".to_owned()],
        rows: bars,
        rest: "in tables/coverage.csv".to_owned(),
    };
    Some(Picture { name: "coverage-by-stage", svg: stacked_bars(&chart) })
}

/// The bar of the group that this row of `both` is about.
fn bar(review: &Review, table: &Table, both: &Row) -> StackedRow {
    let share = |class: &'static str| {
        let mut rows = table.rows_of(both.by, class);
        rows.find(|row| row.group == both.group && says(table, row, "base", "all"))
    };
    let shares = CLASSES.map(|(class, _, _)| share(class).and_then(|row| row.estimate));
    let mut skipped = table.rows_of(both.by, "skipped");
    let skipped = skipped
        .find(|row| row.group == both.group && says(table, row, "base", "known"))
        .map_or_else(|| "–".to_owned(), |row| Amount::of(row).full(&review.currency));
    let name = part(both, "stage").map_or_else(|| label(both), str::to_owned);
    StackedRow {
        label: name,
        shares: shares.to_vec(),
        texts: vec![skipped, whole(Some(both.n))],
        look: look(&both.flags),
    }
}
