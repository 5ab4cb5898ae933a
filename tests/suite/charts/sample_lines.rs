//! Invented curves, weeks, quarters and funnels.

use motetrail::charts::*;

use super::sample::{Words, frame, label, look, part};

fn curve(i: usize, dashed: bool, words: Words) -> StepSeries {
    let name = ["dry", "wet then dry", "non-contact", "wet"][i % 4];
    let plain = if dashed { format!("{name}, rejected") } else { name.to_owned() };
    let value = |k: i32| {
        if dashed { 0.01 * f64::from(k) } else { 1.0 - 0.6f64.powi(k) * (0.7 + 0.06 * i as f64) }
    };
    let point = |k: i32| StepPoint {
        x: f64::from(k),
        value: value(k),
        low: Some(value(k) - 0.03),
        high: Some((value(k) + 0.03).min(1.0)),
    };
    StepSeries {
        label: if words == Words::Plain { plain } else { label(i, words) },
        dashed,
        points: (1..=10).map(point).collect(),
    }
}

fn at_risk(i: usize, words: Words) -> RiskRow {
    RiskRow {
        label: label(i, words),
        counts: (1..=10).map(|k| (k as f64, 12_000 / (k * k))).collect(),
    }
}

pub fn curves(rows: usize, words: Words) -> Steps {
    let names = rows.min(4);
    let solid = (0..names).map(|i| curve(i, false, words));
    let dashed = (0..names.min(2)).map(|i| curve(i, true, words));
    Steps {
        frame: frame(words),
        x_label: "cleaning cycle".to_owned(),
        whole_x: true,
        axis: Axis::Share { from: 0.0, to: 1.0 },
        axis_label: "visits that have passed".to_owned(),
        series: solid.chain(dashed).collect(),
        shade: Some(Shade { from: 3.0, to: 5.0, label: "common practice".to_owned() }),
        at_risk_label: "at risk".to_owned(),
        at_risk: (0..names).map(|i| at_risk(i, words)).collect(),
        lower: Some(Lower {
            axis: Axis::Share { from: 0.0, to: 0.6 },
            axis_label: "passes in this cycle".to_owned(),
            series: (0..names.min(2)).map(|i| hazard(i, words)).collect(),
        }),
    }
}

fn hazard(i: usize, words: Words) -> LowerSeries {
    let at = |k: usize| 0.45 / (1.0 + 0.2 * k as f64) - 0.05 * i as f64;
    LowerSeries {
        label: if words == Words::Plain {
            ["dry", "wet then dry"][i % 2].to_owned()
        } else {
            label(i, words)
        },
        marks: (1..=10)
            .map(|k| {
                (
                    k as f64,
                    Mark {
                        value: Some(at(k) + 0.04 * (part(k) - 0.5)),
                        low: Some(at(k) * (1.0 - 0.05 * k as f64)),
                        high: Some(at(k) + 0.02 * k as f64),
                        look: if k > 7 { Look::Thin } else { Look::Firm },
                    },
                )
            })
            .collect(),
        fitted: (1..=10).map(|k| (k as f64, at(k))).collect(),
    }
}

pub fn weeks(rows: usize, words: Words) -> PointsOverTime {
    PointsOverTime {
        frame: frame(words),
        axis: Axis::Share { from: 0.4, to: 1.0 },
        axis_label: "first-pass clean".to_owned(),
        centre_label: "mean 71 %".to_owned(),
        limits_label: "limits, 3 sigma".to_owned(),
        points: (0..rows)
            .map(|i| TimePoint {
                at: 7.0 * i as f64,
                label: if words == Words::Plain {
                    format!("2026 W{:02}", i % 52 + 1)
                } else {
                    label(i, words)
                },
                mark: Mark {
                    value: Some(0.6 + 0.2 * part(i) - if i % 13 == 9 { 0.15 } else { 0.0 }),
                    low: None,
                    high: None,
                    look: look(i),
                },
                centre: Some(0.71),
                lower: Some(0.58 - 0.03 * part(i + 3)),
                upper: Some(0.84 + 0.03 * part(i + 3)),
                signal: (i % 13 == 9).then(|| {
                    if words == Words::Plain {
                        "below the limit".to_owned()
                    } else {
                        label(i, words)
                    }
                }),
            })
            .collect(),
    }
}

pub fn quarters(rows: usize, words: Words) -> Trend {
    Trend {
        frame: frame(words),
        axis: Axis::Ratio,
        axis_label: "faults per 1 000 connection-months".to_owned(),
        reference: Some(Reference { value: 0.8, label: "the year before: 0.80".to_owned() }),
        text_label: "faults".to_owned(),
        periods: (0..rows)
            .map(|i| Period {
                label: if words == Words::Plain {
                    format!("2026 Q{}", i % 4 + 1)
                } else {
                    label(i, words)
                },
                mark: Mark {
                    value: Some(0.5 + part(i)),
                    low: Some(0.3 + part(i) / 2.0),
                    high: Some(0.9 + 1.5 * part(i)),
                    look: look(i),
                },
                text: number::count(40 + i as u64),
            })
            .collect(),
    }
}

pub fn funnel(rows: usize, words: Words) -> ScatterFunnel {
    let limit = |side: f64| Curve {
        label: if side > 0.0 { "99.8 % limits".to_owned() } else { String::new() },
        dashed: true,
        points: (1..60)
            .map(|i| (f64::from(i * i) * 1.0, 0.7 + side * 1.4 / f64::from(i)))
            .collect(),
    };
    ScatterFunnel {
        frame: frame(words),
        x: Axis::Ratio,
        x_label: "visits (effective n)".to_owned(),
        y: Axis::Share { from: 0.0, to: 1.0 },
        y_label: "first-pass clean".to_owned(),
        curves: vec![
            Curve {
                label: "fleet 70 %".to_owned(),
                dashed: false,
                points: vec![(1.0, 0.7), (3_500.0, 0.7)],
            },
            limit(1.0),
            limit(-1.0),
        ],
        points: (0..rows)
            .map(|i| FunnelPoint {
                strong: i % 30 == 2,
                label: if words == Words::Plain {
                    format!("Site {}", i + 1)
                } else {
                    label(i, words)
                },
                x: 10.0 + 3_000.0 * part(i).powi(2),
                y: 0.5 + 0.4 * part(i * i + 7 * (i / 101) + 1),
                named: i % 30 == 2,
                look: look(i),
            })
            .collect(),
    }
}
