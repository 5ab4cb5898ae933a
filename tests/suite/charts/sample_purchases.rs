//! Invented purchases: cash over months, inputs, sets.

use motetrail::charts::*;

use super::sample::{Words, frame, label, look, part};

pub fn fans(rows: usize, words: Words) -> CashFan {
    let panel = |i: usize| {
        let (price, gain) = (4_000.0 + 9_000.0 * part(i), 250.0 + 500.0 * part(i + 5));
        let point = |month: u32| {
            let worked = f64::from(month);
            CashPoint {
                month: worked,
                value: gain * worked - price,
                low: Some(0.5 * gain * worked - price),
                high: Some(1.7 * gain * worked - price),
            }
        };
        let at = |factor: f64| Some(price / gain / factor);
        CashPanel {
            title: label(i, words),
            note: "9 600 EUR, 41 k EUR (18 to 66) after it".to_owned(),
            points: (0..=60).map(point).collect(),
            payback: Mark { value: at(1.0), low: at(1.7), high: at(0.5), look: Look::Firm },
            look: look(i),
        }
    };
    CashFan {
        frame: frame(words),
        unit: "EUR".to_owned(),
        panels: (0..rows).map(panel).collect(),
        rest: "in the table".to_owned(),
    }
}

pub fn inputs(rows: usize, words: Words) -> Tornado {
    let bar = |i: usize| TornadoBar {
        label: label(i, words),
        at_low: Some(12_000.0 - 9_000.0 * part(i)),
        at_high: Some(12_000.0 + 15_000.0 * part(i)),
        texts: vec!["1.2".to_owned(), "2.9".to_owned(), "skipped cost".to_owned()],
    };
    let panel = |title: &str, from: usize, to: usize| TornadoPanel {
        title: title.to_owned(),
        middle: Some(12_000.0),
        bars: (from..to).map(bar).collect(),
    };
    Tornado {
        frame: frame(words),
        unit: "EUR".to_owned(),
        axis_label: "net present value".to_owned(),
        columns: vec!["low".to_owned(), "high".to_owned(), "from".to_owned()],
        panels: vec![panel("Microscopes", 0, rows), panel("None", 0, 0)],
        rest: "in the table".to_owned(),
    }
}

pub fn sets(rows: usize, words: Words) -> Ladder {
    let step = |i: usize| {
        let cost = 2_000.0 + 1_700.0 * i as f64;
        let worth = 40_000.0 * (1.0 - 0.8_f64.powi(i as i32 + 1));
        LadderStep {
            label: label(i, words),
            cost,
            worth,
            low: Some(0.6 * worth),
            high: Some(1.5 * worth),
            text: "3 700 EUR: worth 14 (9 to 22) k EUR, 93 %".to_owned(),
            chosen: i == 2,
        }
    };
    Ladder {
        frame: frame(words),
        unit: "EUR".to_owned(),
        cost_label: "price of the set".to_owned(),
        worth_label: "net present value".to_owned(),
        budget: Some(Reference { value: 6_000.0, label: "budget 6 000 EUR".to_owned() }),
        steps: (0..rows).map(step).collect(),
    }
}
