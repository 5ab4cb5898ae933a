//! The five classes of coverage by stage.

use crate::charts::{Class, Fill, StackedBars, StackedRow, stacked_bars};
use crate::measures::Review;
use crate::measures::coverage::{Base, By, Quantity, Row, Table};
use crate::report::page::picture::{Picture, frame};
use crate::report::words::flags::look;
use crate::report::words::label::{in_order, label, part};
use crate::report::words::number::{Amount, whole};

/// The classes in the order of every picture and table, with what they mean.
pub(in crate::report) const CLASSES: [(Quantity, &str, Fill); 5] = [
    (Quantity::Both, "both ends seen", Fill::Quiet),
    (Quantity::One, "one end unseen", Fill::StrongHatched),
    (Quantity::None, "both ends unseen", Fill::Strong),
    (Quantity::DespiteFail, "despite a fail", Fill::SecondCrossed),
    (Quantity::Unknown, "not known", Fill::Open),
];

/// A row of every group that is split into classes: the fleet, then its stages.
pub(in crate::report) fn classified<'a>(review: &Review, table: &'a Table) -> Vec<&'a Row> {
    let of_all = |row: &&Row| row.own.base == Some(Base::All);
    let both = |by| in_order(review, table.rows_of(by, Quantity::Both).filter(of_all));
    [By::Fleet, By::Stage].into_iter().flat_map(both).collect()
}

/// The share of a class, of all matings, in the group of a row.
pub(in crate::report) fn class_of<'a>(
    table: &'a Table,
    row: &Row,
    class: Quantity,
) -> Option<&'a Row> {
    share_of(table, row, class, Base::All)
}

fn share_of<'a>(table: &'a Table, row: &Row, share: Quantity, base: Base) -> Option<&'a Row> {
    let same_group = |other: &&Row| other.group == row.group && other.own.base == Some(base);
    table.rows_of(row.by, share).find(same_group)
}

/// One bar a stage, split into the classes.
pub(in crate::report) fn by_stage(review: &Review, title: String) -> Option<Picture> {
    let table = &review.coverage;
    let rows = classified(review, table);
    let bars: Vec<StackedRow> = rows.iter().map(|row| bar(review, table, row)).collect();
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

/// The bar of a group.
fn bar(review: &Review, table: &Table, row: &Row) -> StackedRow {
    let shares = CLASSES.map(|(class, _, _)| class_of(table, row, class)?.estimate);
    let skipped = share_of(table, row, Quantity::Skipped, Base::Known);
    let skipped = skipped
        .map_or_else(|| "–".to_owned(), |skipped| Amount::of(skipped).full(&review.currency));
    StackedRow {
        label: part(row, "stage").map_or_else(|| label(row), str::to_owned),
        shares: shares.to_vec(),
        texts: vec![skipped, whole(Some(row.n))],
        look: look(&row.flags),
    }
}
