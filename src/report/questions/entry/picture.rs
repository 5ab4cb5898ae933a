//! The lifecycle as a path: where dirt enters, how much of all dirt enters there, with and without a dust cap.

use crate::charts::{Axis, Mark, Station, Stations, Stretch, stations};
use crate::measures::{Review, Row, Table, Unit, Value};
use crate::report::page::picture::{Picture, frame, mark};
use crate::report::page::section::look_back;
use crate::report::words::flags::look;
use crate::report::words::number::{Amount, number, whole};

const NAME: &str = "entry";
const STEPS: &str = "from+stage";

/// The path of the whole fleet.
pub(in crate::report) fn lifecycle(review: &Review, title: String) -> Option<Picture> {
    let table = &review.entry;
    table.rows_of(STEPS, NAME).next()?;
    let stages = &review.stages;
    let station = |(at, stage): (usize, &String)| Station {
        label: stage.clone(),
        again: stretch(review, table, &format!("again at {stage}")),
        onward: stages
            .get(at + 1)
            .and_then(|next| stretch(review, table, &format!("{stage} to {next}"))),
    };
    let drawn = format!(
        "Chance that dirt enters at each step between two looks, routine passages over {}; thickness: share of all dirt",
        look_back(review)
    );
    let caption = "Bands: steps between stages. Rings: from one visit of a stage to the next of the same. n: passages of \
                   end faces that were known clean and then looked at again. A broken line: no estimate, or nobody passes. \
                   Below: the same by dust cap at the later look; the table has end faces of unknown cap.";
    let chart = Stations {
        frame: frame(review, title, &drawn, caption),
        stations: stages.iter().enumerate().map(station).collect(),
        parts: ["capped".to_owned(), "uncapped".to_owned()],
        axis: axis(table),
        axis_label: "chance that dirt enters".to_owned(),
        rest: "in tables/entry.csv".to_owned(),
    };
    Some(Picture { name: "entry-path", svg: stations(&chart) })
}

/// Whether a row is about a step, alone or in a sum; and how many steps the sum has.
fn members(table: &Table, row: &Row, step: &str) -> Option<(usize, usize)> {
    let Value::Text(steps) = table.own(row, "steps") else { return None };
    let all: Vec<&str> = steps.split(" + ").collect();
    Some((all.iter().position(|own| *own == step)?, all.len()))
}

fn find<'a>(rows: impl Iterator<Item = &'a Row>, table: &Table, step: &str) -> Option<&'a Row> {
    rows.into_iter().find(|row| members(table, row, step).is_some())
}

fn stretch(review: &Review, table: &Table, step: &str) -> Option<Stretch> {
    let row = find(table.rows_of(STEPS, NAME), table, step)?;
    let (place, of) = members(table, row, step)?;
    let share = find(table.rows_of(STEPS, "share-of-dirt"), table, step);
    let share = share.and_then(|row| row.estimate);
    let amount = Amount::of(row);
    let value = match amount.value {
        Some(_) => amount.short(&review.currency),
        None => "not told apart".to_owned(),
    };
    let interval = amount.interval_on(&amount.scale(&review.currency));
    let said = share.map(|share| {
        let share = Amount { value: Some(share), low: None, high: None, unit: Unit::Share };
        format!("{} of all dirt", share.short(&review.currency))
    });
    let mut lines: Vec<String> =
        [interval].into_iter().chain(said).filter(|line| !line.is_empty()).collect();
    lines.push(format!("n {}", whole(Some(row.n))));
    let (value, lines) = match place {
        0 if of > 1 => (format!("sum {value}"), lines),
        0 => (value, lines),
        _ => ("in the sum".to_owned(), vec!["with an earlier".to_owned(), "step".to_owned()]),
    };
    Some(Stretch {
        share: share.map(|share| share / of as f64),
        look: look(&row.flags),
        value,
        lines,
        pair: ["capped", "uncapped"].map(|cap| part(table, step, cap)),
    })
}

fn part(table: &Table, step: &str, cap: &str) -> Option<Mark> {
    let rows = table.rows_of("from+stage+capped", NAME);
    find(rows.filter(|row| row.group.capped.as_deref() == Some(cap)), table, step).map(mark)
}

/// From nothing to what the pairs need; wide intervals of thin parts run off with an arrow.
fn axis(table: &Table) -> Axis {
    let rows = || {
        let own = table.rows_of("from+stage+capped", NAME);
        own.filter(|row| matches!(row.group.capped.as_deref(), Some("capped" | "uncapped")))
    };
    let firm = rows().filter(|row| row.is_firm()).filter_map(|row| row.high);
    let values = rows().filter_map(|row| row.estimate);
    let most = firm.chain(values).fold(0.05, f64::max);
    Axis::Share { from: 0.0, to: ((most * 20.0).ceil() / 20.0).min(1.0) }
}

/// Probability that a row's step is where an avoided point saves most.
pub(in crate::report) fn first_in(table: &Table, row: &Row) -> Option<f64> {
    number(table.own(row, "probability"))
}
