//! An invented path of stations, with as many as asked for.

use motetrail::charts::*;

use super::sample::{Words, frame, label, look, part};

fn stretch(i: usize) -> Stretch {
    let p = part(i);
    let pair = |shift: f64| Mark {
        value: (i % 9 != 7).then_some(0.3 * p + shift),
        low: Some(0.2 * p),
        high: Some(0.4 * p + 0.1),
        look: look(i + 1),
    };
    Stretch {
        share: (i % 7 != 5).then_some(p / 3.0),
        look: look(i),
        value: number::percent(0.3 * p, 1),
        lines: vec![
            format!("{} to {}", number::fixed(20.0 * p, 1), number::fixed(40.0 * p, 1)),
            format!("{} of all dirt", number::percent(p / 3.0, 0)),
            format!("n {}", number::count(1_204 * i as u64)),
        ],
        pair: if i % 5 == 4 { [None, None] } else { [Some(pair(0.0)), Some(pair(0.05))] },
    }
}

/// Stations; the third has nothing again, and nobody goes on from the fourth.
pub fn path(rows: usize, words: Words) -> Stations {
    let station = |i: usize| Station {
        label: label(i, words),
        again: (i != 2).then(|| stretch(2 * i)),
        onward: (i != 3 && i + 1 < rows).then(|| stretch(2 * i + 1)),
    };
    Stations {
        frame: frame(words),
        stations: (0..rows).map(station).collect(),
        parts: [label(1, words), label(2, words)],
        axis: Axis::Share { from: 0.0, to: 0.5 },
        axis_label: "chance that dirt enters".to_owned(),
        rest: "together 9 130 passages".to_owned(),
    }
}
