//! The chart of the project: places ranked by net saving.

use crate::charts::number::percent;
use crate::charts::{Mark, RankedSaving, SavingRow, ranked_saving};
use crate::measures::results::Money;
use crate::measures::skipped_cost::{By, Row};
use crate::measures::{Review, Unit};
use crate::report::page::picture::{Picture, frame, mark};
use crate::report::words::label::label;
use crate::report::words::months::a_year;
use crate::report::words::number::{Amount, Scale, count_or_dash, major};
use crate::report::words::ranked::ranked_then_flagged;

/// What a ranked picture is of.
#[derive(Clone, Copy, Debug)]
pub(in crate::report) struct Places {
    pub picture: &'static str,
    /// The grouping.
    pub by: By,
    /// In words.
    pub words: &'static str,
    /// Rows drawn at most.
    pub most: usize,
}

/// Places ranked by net saving; flagged ones after the ranked.
pub(in crate::report) fn ranked(review: &Review, places: Places, title: String) -> Option<Picture> {
    let rows = ranked_then_flagged(review, places.by);
    if rows.is_empty() {
        return None;
    }
    let shown = &rows[..rows.len().min(places.most)];
    let amounts: Vec<Amount> = shown.iter().map(Amount::of).collect();
    let scale = Scale::for_all(&amounts, Unit::Money, &review.currency);
    let left = rows.len().saturating_sub(places.most);
    let more = if left > 0 {
        format!(" {left} more places are in tables/skipped_cost.csv.")
    } else {
        String::new()
    };
    let caption = format!(
        "Right of zero: cost of faults associated with skipped inspections. Left: what those looks would have cost. \
         The mark is the difference. Flagged places come last and have no rank.{more}"
    );
    let drawn = format!("{}, {}", places.words, a_year(review));
    let chart = RankedSaving {
        frame: frame(review, title, &drawn, &caption),
        unit: review.currency.clone(),
        gain_label: "associated with skipping".to_owned(),
        cost_label: "cost of the looks".to_owned(),
        net_label: "net saving".to_owned(),
        columns: vec![
            format!("net saving, {}", scale.unit),
            "interval".to_owned(),
            "running share".to_owned(),
            "chance of top three".to_owned(),
            "matings skipped".to_owned(),
        ],
        rows: shown.iter().map(|row| line(row, &scale)).collect(),
        rest: "in tables/skipped_cost.csv".to_owned(),
    };
    Some(Picture { name: places.picture, svg: ranked_saving(&chart) })
}

fn line(row: &Row, scale: &Scale) -> SavingRow {
    let money = |value: Option<Money>| Amount::money(value).value.map(major);
    let net = Amount::of(row);
    let share = |value: Option<f64>| value.map_or_else(String::new, |share| percent(share, 0));
    let of = mark(row);
    SavingRow {
        label: label(row),
        gain: money(row.own.attributable),
        cost: money(row.own.look_cost),
        net: Mark {
            value: of.value.map(major),
            low: of.low.map(major),
            high: of.high.map(major),
            ..of
        },
        texts: vec![
            net.value_on(scale),
            net.interval_on(scale),
            share(row.own.running_share),
            share(row.own.top_three),
            count_or_dash(row.own.matings_skipped),
        ],
    }
}
