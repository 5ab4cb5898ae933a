//! What a listed end face touched, in time order, and which of those ends to inspect first (5.7).

use chrono::DateTime;

use super::declared::{By, Outcome, Own, Quantity, Row, Table};
use crate::derive::{Key, Later, TimeLine, Touch};
use crate::measures::evidence::Evidence;
use crate::measures::results::Group;

/// Adds the time line of an end face, if one was kept.
pub(in crate::measures) fn touches(evidence: &Evidence, face: Key, name: &str, table: &mut Table) {
    let lines = &evidence.derived.counts.carriers.time_lines;
    let Some(line) = lines.iter().find(|line| line.face == face) else { return };
    if let Some(at) = line.cleaned {
        let own = Own { entity: Some(name.to_owned()), ..Own::default() };
        let row = instant(evidence, By::Entity, Quantity::LastCleaned, at, own);
        table.rows.push(Row { n: line.matings as f64, ..row });
    }
    table.rows.extend(line.touches.iter().map(|touch| touched(evidence, line, touch, name)));
}

/// A row without an estimate at an instant, in the fleet's zone.
fn instant(evidence: &Evidence, by: By, quantity: Quantity, at: i64, own: Own) -> Row {
    let zone = evidence.derived.calendar.zone;
    let time = DateTime::from_timestamp_micros(at)
        .map(|at| at.with_timezone(&zone).format("%Y-%m-%d %H:%M").to_string());
    let group = Group { time, ..Group::default() };
    Row { n: 1.0, ..Row::figure(by, group, quantity, f64::NAN, "as recorded", own) }
}

fn touched(evidence: &Evidence, line: &TimeLine, touch: &Touch, name: &str) -> Row {
    let glossary = &evidence.derived.glossary;
    // Cleaned after the mating: what it touched before may have what was on it then.
    let since = line.cleaned.is_none_or(|cleaned| touch.at >= cleaned);
    let inspect = since && touch.in_service && is_open(touch.later) && touch.partner.is_known();
    let own = Own {
        entity: Some(name.to_owned()),
        partner: evidence.derived.face_names.get(&touch.partner).map(ToString::to_string),
        later: Some(Outcome::from(touch.later)),
        since_cleaned: Some(since),
        in_service: Some(touch.in_service),
        inspect: Some(inspect),
        ..Own::default()
    };
    let mut row = instant(evidence, By::EntityPartner, Quantity::Touch, touch.at, own);
    row.group.site = Some(glossary.site.0.word(touch.site).to_owned());
    row.group.stage = Some(glossary.stage.0.word(touch.stage.into()).to_owned());
    row.events = touch.later.is_look().then(|| i64::from(touch.later == Later::Contaminated));
    row
}

/// Whether nobody has looked at the end or cleaned it since.
fn is_open(later: Later) -> bool {
    matches!(later, Later::MatedAgain | Later::Nothing)
}
