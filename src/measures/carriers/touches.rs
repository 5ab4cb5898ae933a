//! What a listed end face touched, in time order, and which of those ends to inspect first (5.7).

use chrono::DateTime;

use crate::derive::{Key, Later, TimeLine, Touch};
use crate::measures::evidence::Evidence;
use crate::measures::table::{Group, Row, Table, Unit, Value};

/// Adds the time line of an end face, if one was kept.
pub(in crate::measures) fn touches(evidence: &Evidence, face: Key, name: &str, table: &mut Table) {
    let lines = &evidence.derived.counts.carriers.time_lines;
    let Some(line) = lines.iter().find(|line| line.face == face) else { return };
    if let Some(at) = line.cleaned {
        let mut row = plain(evidence, "entity", "last-cleaned", at);
        row.n = line.matings as f64;
        row = row.with(table.fill(&[("entity", Value::Text(name.to_owned()))]));
        table.rows.push(row);
    }
    for touch in &line.touches {
        let row = touched(evidence, line, touch, name, table);
        table.rows.push(row);
    }
}

/// A row without an estimate at an instant, in the fleet's zone.
fn plain(evidence: &Evidence, by: &'static str, quantity: &'static str, at: i64) -> Row {
    let zone = evidence.derived.calendar.zone;
    let time = DateTime::from_timestamp_micros(at)
        .map(|at| at.with_timezone(&zone).format("%Y-%m-%d %H:%M").to_string());
    let group = Group { time, ..Group::default() };
    let mut row = Row::figure(by, group, quantity, Unit::Count, f64::NAN, "as recorded");
    row.n = 1.0;
    row
}

fn touched(evidence: &Evidence, line: &TimeLine, touch: &Touch, name: &str, table: &Table) -> Row {
    let glossary = &evidence.derived.glossary;
    let mut row = plain(evidence, "entity+partner", "touch", touch.at);
    row.group.site = Some(glossary.site.0.word(touch.site).to_owned());
    row.group.stage = Some(glossary.stage.0.word(touch.stage.into()).to_owned());
    row.events = touch.later.is_look().then(|| i64::from(touch.later == Later::Contaminated));
    // Cleaned after the mating: what it touched before may have what was on it then.
    let since = line.cleaned.is_none_or(|cleaned| touch.at >= cleaned);
    let yes = |yes: bool| Value::Text(if yes { "yes" } else { "no" }.to_owned());
    let partner = match evidence.derived.face_names.get(&touch.partner) {
        Some(name) => Value::Text(name.to_string()),
        None => Value::Missing,
    };
    let inspect = since && touch.in_service && is_open(touch.later) && touch.partner.is_known();
    row.with(table.fill(&[
        ("entity", Value::Text(name.to_owned())),
        ("partner", partner),
        ("later", Value::Text(word(touch).to_owned())),
        ("since_cleaned", yes(since)),
        ("in_service", yes(touch.in_service)),
        ("inspect", yes(inspect)),
    ]))
}

/// Whether nobody has looked at the end or cleaned it since.
fn is_open(later: Later) -> bool {
    matches!(later, Later::MatedAgain | Later::Nothing)
}

fn word(touch: &Touch) -> &'static str {
    match touch.later {
        Later::Clean => "clean",
        Later::Contaminated => "contaminated",
        Later::OtherFail => "other-fail",
        Later::CleanedUnseen => "cleaned-unseen",
        Later::MatedAgain => "mated-again",
        Later::Nothing => "not-looked-at",
    }
}
