//! What was refused beyond the limit, or left out of rows, in words: after every intake.

use std::collections::BTreeMap;

use super::log::Log;
use super::printable::printable;
use crate::charts::number::{count, percent};
use crate::measures::trust::{Of, Refused, lost, over_limit};
use crate::settings::Plan;
use crate::store::{Example, FileAccount};

/// Reasons of a source that are shown.
const MOST_REASONS: usize = 5;

/// Says of every source with too many refused rows why they were refused, and of every column with too many unreadable
/// cells what was found; each with an example and what to change.
pub fn say(plan: &Plan, accounts: &[FileAccount], log: &Log) {
    let over = over_limit(plan, accounts);
    for (of, rows) in &over {
        if matches!(of, Of::All | Of::Table(_)) {
            log.warn(&total(plan, of, *rows));
        }
    }
    let concerned = |source: &str| {
        over.iter().any(|(of, _)| matches!(of, Of::Source(of) | Of::File(of, _) if of == source))
    };
    let mut sources: Vec<&str> = accounts.iter().map(|account| account.source.as_str()).collect();
    sources.sort_unstable();
    sources.dedup();
    for source in sources.into_iter().filter(|source| concerned(source)) {
        log.warn(&of_source(plan, accounts, source, &over));
    }
    for (source, cells) in lost(accounts) {
        let of_source = accounts.iter().filter(|account| account.source == source);
        let typed = of_source.map(|account| account.rows.read - account.rows.quarantined).sum();
        if cells.cells as f64 > plan.rules.quarantine_limit * typed as f64 {
            let example = cells
                .examples
                .first()
                .map(|example| format!("line {}: {}", example.line, printable(&example.reason)));
            log.warn(&format!(
                "source {source}: {} of {} \u{201c}{}\u{201d} could not be read and are left out; the rest of \
                 their rows stands\n{:>9}  {}",
                counted(cells.cells, typed),
                cells.table.name(),
                cells.column,
                "e.g.",
                example.unwrap_or_else(|| format!("{}; read the export again for an example", cells.why.word()))
            ));
        }
    }
}

fn total(plan: &Plan, of: &Of, rows: Refused) -> String {
    let what = match of {
        Of::Table(table) => format!("rows of {}", table.name()),
        _ => "rows of all sources".to_owned(),
    };
    format!(
        "{} {what} were rejected; quarantine_limit is {}",
        counted(rows.refused, rows.rows),
        limit(plan)
    )
}

/// A source that is over the limit, or has a file that is: its reasons, the commonest first.
fn of_source(
    plan: &Plan,
    accounts: &[FileAccount],
    source: &str,
    over: &[(Of, Refused)],
) -> String {
    // Where the whole source is over the limit, so are most of its files.
    let whole = over.iter().find(|(of, _)| matches!(of, Of::Source(name) if name == source));
    let said = match whole {
        Some((_, rows)) => vec![format!("{} rows", counted(rows.refused, rows.rows))],
        None => {
            let files = over.iter().filter_map(|(of, rows)| match of {
                Of::File(name, file) if name == source => {
                    let file = printable(file);
                    Some(format!("{} rows of {file}", counted(rows.refused, rows.rows)))
                }
                _ => None,
            });
            files.take(MOST_REASONS).collect()
        }
    };
    let mut text = format!(
        "source {source}: {} were rejected; quarantine_limit is {}",
        said.join(", "),
        limit(plan)
    );
    for reason in reasons(accounts, source).into_iter().take(MOST_REASONS) {
        let Reason { place, rows, file, example } = reason;
        text += &format!("\n{:>9}  {place}", count(rows));
        if let Some(Example { line, reason, raw }) = example {
            text +=
                &format!("\n{:>9}  {} line {line}: {}", "e.g.", printable(file), printable(reason));
            text += &format!("\n{:>9}  {}", "", printable(raw));
        }
    }
    let settings = plan.sources.iter().find(|known| known.name == source);
    if let Some(known) = settings {
        let line = known.line;
        text += &format!(
            "\n           change the map of the [[source]] on line {line} of the settings or the export, and run again"
        );
    }
    text
}

/// Rows of a source with one place of the fault.
struct Reason<'a> {
    place: String,
    rows: u64,
    file: &'a str,
    example: Option<&'a Example>,
}

/// Every place of a fault in a source, the commonest first.
fn reasons<'a>(accounts: &'a [FileAccount], source: &str) -> Vec<Reason<'a>> {
    let mut found: BTreeMap<(&str, &str), Reason> = BTreeMap::new();
    for account in accounts.iter().filter(|account| account.source == source) {
        for reason in &account.reasons {
            let known = found.entry((&reason.table, &reason.column)).or_insert_with(|| Reason {
                place: match (reason.table.as_str(), reason.column.as_str()) {
                    ("", "") => "the whole row".to_owned(),
                    ("", column) => format!("\u{201c}{column}\u{201d}"),
                    (table, "") => table.to_owned(),
                    (table, column) => format!("{table} \u{201c}{column}\u{201d}"),
                },
                rows: 0,
                file: &account.file,
                example: reason.examples.first(),
            });
            known.rows = known.rows.saturating_add(reason.rows);
        }
    }
    let mut reasons: Vec<Reason> = found.into_values().collect();
    reasons.sort_by(|a, b| b.rows.cmp(&a.rows).then_with(|| a.place.cmp(&b.place)));
    reasons
}

fn counted(part: u64, of: u64) -> String {
    let share = percent(part as f64 / (of.max(1)) as f64, 1);
    format!("{} of {} ({share})", count(part), count(of))
}

fn limit(plan: &Plan) -> String {
    percent(plan.rules.quarantine_limit, 1)
}
