//! The lifecycle as a path: where dirt enters, how much of all dirt enters there, with and without a dust cap.

use crate::charts::{Axis, Station, Stations, Stretch, stations};
use crate::derive::counts::Cap;
use crate::measures::entry::{By, Quantity, Row, Step, Table};
use crate::measures::{Review, Unit};
use crate::report::page::picture::{Picture, frame, mark};
use crate::report::words::flags::look;
use crate::report::words::months::looked_back;
use crate::report::words::number::{Amount, whole};

/// The dust caps that are drawn as a pair.
const CAPS: [Cap; 2] = [Cap::Capped, Cap::Uncapped];

/// The path of the whole fleet.
pub(in crate::report) fn lifecycle(review: &Review, title: String) -> Option<Picture> {
    let table = &review.entry;
    table.rows_of(By::Step, Quantity::Entry).next()?;
    let stages = &review.stages;
    let step = |from: &String, to: &String| {
        stretch(review, table, &Step { from: from.clone(), to: to.clone() })
    };
    let station = |(at, stage): (usize, &String)| Station {
        label: stage.clone(),
        again: step(stage, stage),
        onward: stages.get(at + 1).and_then(|next| step(stage, next)),
    };
    let drawn = format!(
        "Chance that dirt enters at each step between two looks, routine passages over {}; thickness: share of all dirt",
        looked_back(review)
    );
    let caption = "Bands: steps between stages. Rings: from one visit of a stage to the next of the same. n: passages of \
                   end faces that were known clean and then looked at again. A broken line: no estimate, or nobody passes. \
                   Below: the same by dust cap at the later look; the table has end faces of unknown cap.";
    let chart = Stations {
        frame: frame(review, title, &drawn, caption),
        stations: stages.iter().enumerate().map(station).collect(),
        parts: CAPS.map(|cap| cap.word().to_owned()),
        axis: axis(table),
        axis_label: "chance that dirt enters".to_owned(),
        rest: "in tables/entry.csv".to_owned(),
    };
    Some(Picture { name: "entry-path", svg: stations(&chart) })
}

/// The place of a step among those of a row, and how many these are; none where the row is not about it.
fn members(row: &Row, step: &Step) -> Option<(usize, usize)> {
    let steps = &row.own.steps.as_ref()?.0;
    Some((steps.iter().position(|member| member == step)?, steps.len()))
}

fn find<'a>(mut rows: impl Iterator<Item = &'a Row>, step: &Step) -> Option<&'a Row> {
    rows.find(|row| members(row, step).is_some())
}

fn stretch(review: &Review, table: &Table, step: &Step) -> Option<Stretch> {
    let row = find(table.rows_of(By::Step, Quantity::Entry), step)?;
    let (place, of) = members(row, step)?;
    let share = find(table.rows_of(By::Step, Quantity::ShareOfDirt), step);
    let share = share.and_then(|row| row.estimate);
    let amount = Amount::of(row);
    let value = match amount.value {
        Some(_) => amount.short(&review.currency),
        None => "not told apart".to_owned(),
    };
    let interval = amount.interval_on(&amount.scale(&review.currency));
    let said = share.map(|share| {
        let share = Amount::plain(Some(share), Unit::Share);
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
        pair: CAPS.map(|cap| find(of_cap(table, cap), step).map(mark)),
    })
}

/// The chances of end faces with a dust cap, or without.
fn of_cap(table: &Table, cap: Cap) -> impl Iterator<Item = &Row> {
    let rows = table.rows_of(By::StepCapped, Quantity::Entry);
    rows.filter(move |row| row.group.capped.as_deref() == Some(cap.word()))
}

/// From nothing to what the pairs need; wide intervals of thin parts run off with an arrow.
fn axis(table: &Table) -> Axis {
    let rows = || CAPS.into_iter().flat_map(|cap| of_cap(table, cap));
    let firm = rows().filter(|row| row.is_firm()).filter_map(|row| row.high);
    let values = rows().filter_map(|row| row.estimate);
    let most = firm.chain(values).fold(0.05, f64::max);
    Axis::Share { from: 0.0, to: ((most * 20.0).ceil() / 20.0).min(1.0) }
}
