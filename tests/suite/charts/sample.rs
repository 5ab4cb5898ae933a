//! Invented charts of every kind, with as many rows as asked for and texts of the kind asked for.

use motetrail::charts::*;

/// What the labels of a sample are like.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Words {
    Plain,
    Long,
    Hostile,
}

/// Every kind: its name and its picture with `rows` rows.
pub fn kinds(rows: usize, words: Words) -> Vec<(&'static str, String)> {
    vec![
        (
            "interval_rows",
            interval_rows(&intervals(rows, words, Axis::Share { from: 0.0, to: 1.0 })),
        ),
        ("interval_rows_ratio", interval_rows(&intervals(rows, words, Axis::Ratio))),
        ("stacked_bars", stacked_bars(&stacked(rows, words))),
        ("ranked_saving", ranked_saving(&savings(rows, words))),
        ("grid", grid(&matrix(rows, words))),
        ("account_bars", account_bars(&account(rows, words))),
        ("steps", steps(&super::sample_lines::curves(rows, words))),
        ("points_over_time", points_over_time(&super::sample_lines::weeks(rows, words))),
        ("trend", trend(&super::sample_lines::quarters(rows, words))),
        ("time_line", time_line(&super::sample_time::touches(rows, words))),
        ("stations", stations(&super::sample_path::path(rows, words))),
        ("dot_pairs", dot_pairs(&super::sample_pairs::pairs(rows, words))),
        ("scatter_funnel", scatter_funnel(&super::sample_lines::funnel(rows, words))),
        ("cash_fan", cash_fan(&super::sample_purchases::fans(rows, words))),
        ("tornado", tornado(&super::sample_purchases::inputs(rows, words))),
        ("ladder", ladder(&super::sample_purchases::sets(rows, words))),
    ]
}

/// A label for row `i`.
pub fn label(i: usize, words: Words) -> String {
    const STAGES: [&str; 6] =
        ["manufacture", "assembly", "system test", "receiving", "installation", "maintenance"];
    match words {
        Words::Plain => format!("{} {}", STAGES[i % 6], ["LC", "SC", "MPO"][i / 6 % 3]),
        Words::Long => format!(
            "Very long name of the regional distribution site number {i} behind the old harbour, second building, third floor"
        ),
        Words::Hostile => format!(
            "<script>alert({i})</script>&amp;\"'\u{0}\u{1b}[2J\u{202e}]]>{}",
            "W".repeat(300)
        ),
    }
}

/// A fraction that is the same at every run (a multiplicative congruence, no randomness).
pub fn part(i: usize) -> f64 {
    ((i * 7919 + 13) % 101) as f64 / 101.0
}

pub fn look(i: usize) -> Look {
    [Look::Firm, Look::Firm, Look::Thin, Look::Firm, Look::Borrowed, Look::Confounded][i % 6]
}

pub fn frame(words: Words) -> Frame {
    let title = match words {
        Words::Plain => "Skipped inspections at installation on LC are associated with the largest cost: 41 k EUR a year, 18 to 66".to_owned(),
        other => label(1, other).repeat(4),
    };
    Frame {
        subtitle: format!(
            "Net saving a year, July to September 2026, 95 % intervals, n = 31 400. {}",
            label(0, words)
        ),
        caption: format!("Intervals by bootstrap of work weeks. {}", label(2, words)),
        description: format!("{title}. {}", label(3, words)),
        title,
    }
}

fn mark(i: usize, axis: &Axis) -> Mark {
    let p = part(i);
    let (value, low, high) = match axis {
        Axis::Share { .. } => (p, p - 0.1 * p, p + 0.15 * (1.0 - p)),
        Axis::Ratio => (0.3 + 3.0 * p, 0.1 + 2.0 * p, 1.0 + 6.0 * p),
        Axis::Amount { .. } => (41_000.0 * p - 4_000.0, 20_000.0 * p - 9_000.0, 70_000.0 * p),
    };
    let value = if i % 9 == 7 { None } else { Some(value) };
    Mark { value, low: Some(low), high: Some(high), look: look(i) }
}

pub fn intervals(rows: usize, words: Words, axis: Axis) -> IntervalRows {
    let row = |i| IntervalRow {
        label: label(i, words),
        mark: if i % 9 == 8 { Mark::default() } else { mark(i, &axis) },
        texts: vec![
            number::count(1_000 + 977 * i as u64),
            number::count(i as u64 * 3),
            number::count(120_000 + 31 * i as u64),
        ],
    };
    let panel = |title: &str, from: usize, to: usize| Panel {
        title: title.to_owned(),
        rows: (from..to).map(row).collect(),
        rest: "together 4 120 of 31 000".to_owned(),
    };
    let half = rows / 2;
    IntervalRows {
        frame: frame(words),
        axis_label: "first-pass clean".to_owned(),
        reference: Some(Reference {
            value: if axis == Axis::Ratio { 1.0 } else { 0.62 },
            label: "fleet 62 %".to_owned(),
        }),
        columns: vec!["n".to_owned(), "faults".to_owned(), "connection-months".to_owned()],
        panels: if rows > 3 {
            vec![panel("LC", 0, half), panel("SC", half, rows)]
        } else {
            vec![panel("LC", 0, rows)]
        },
        axis,
    }
}

pub fn stacked(rows: usize, words: Words) -> StackedBars {
    let class = |label: &str, fill| Class { label: label.to_owned(), fill };
    StackedBars {
        frame: frame(words),
        classes: vec![
            class("both ends", Fill::Quiet),
            class("one end", Fill::StrongHatched),
            class("none", Fill::Strong),
            class("despite a fail", Fill::SecondCrossed),
            class("unknown", Fill::Open),
        ],
        columns: vec!["skipped".to_owned(), "n".to_owned()],
        rows: (0..rows)
            .map(|i| {
                let p = part(i);
                let shares = [0.2 + 0.5 * p, 0.1, 0.3 * (1.0 - p), 0.05, 0.35 - 0.2 * p];
                StackedRow {
                    label: label(i, words),
                    shares: shares.iter().map(|s| if i == 4 { None } else { Some(*s) }).collect(),
                    texts: vec![
                        number::percent(0.1 + 0.3 * (1.0 - p), 0),
                        number::count(12_345 + 97 * i as u64),
                    ],
                    look: look(i),
                }
            })
            .collect(),
        rest: "together 9 130 matings".to_owned(),
    }
}

pub fn savings(rows: usize, words: Words) -> RankedSaving {
    let axis = Axis::Amount { unit: String::new() };
    RankedSaving {
        frame: frame(words),
        unit: "EUR a year".to_owned(),
        gain_label: "associated with skipped inspections".to_owned(),
        cost_label: "what the inspections would have cost".to_owned(),
        net_label: "net, 95 % interval".to_owned(),
        columns: ["running share", "among top three", "n"].map(str::to_owned).to_vec(),
        rows: (0..rows)
            .map(|i| {
                let net = mark(rows - i, &axis);
                SavingRow {
                    label: label(i, words),
                    gain: net.value.map(|v| v + 6_000.0),
                    cost: net.value.map(|_| 6_000.0),
                    net,
                    texts: vec![
                        number::percent(0.3 + part(i) / 2.0, 0),
                        number::percent(part(i), 0),
                        number::count(1_204 * i as u64),
                    ],
                }
            })
            .collect(),
        rest: "together 8 k EUR a year".to_owned(),
    }
}

pub fn matrix(rows: usize, words: Words) -> Grid {
    let cell = |i: usize| Cell {
        value: if i % 7 == 5 { None } else { Some(41_000.0 * part(i) - 2_000.0) },
        text: format!("{} k", number::fixed(41.0 * part(i) - 2.0, 0)),
        look: look(i),
    };
    Grid {
        frame: frame(words),
        columns: if rows == 0 { vec![] } else { (0..7).map(|c| label(c * 6, words)).collect() },
        rows: (0..rows)
            .map(|r| GridRow {
                label: label(r, words),
                cells: (0..7).map(|c| cell(r * 7 + c)).collect(),
            })
            .collect(),
        scale_label: "net saving, EUR a year".to_owned(),
        rest: "together 8 k EUR a year".to_owned(),
    }
}

pub fn account(rows: usize, words: Words) -> AccountBars {
    let class = |label: &str, fill| Class { label: label.to_owned(), fill };
    AccountBars {
        frame: frame(words),
        classes: vec![
            class("loaded", Fill::Quiet),
            class("superseded", Fill::Open),
            class("duplicate", Fill::StrongHatched),
            class("quarantined", Fill::Strong),
        ],
        rows: (0..rows)
            .map(|i| AccountRow {
                label: format!(
                    "receiving-2026-{:02}.csv {}",
                    i % 12,
                    if words == Words::Plain { String::new() } else { label(i, words) }
                ),
                counts: vec![
                    120_000 + 7_919 * (i as u64 % 13),
                    310 * i as u64,
                    1_200,
                    i as u64 % 3,
                ],
            })
            .collect(),
        rest: "together 1 200 000 rows".to_owned(),
    }
}
