//! The tables and the sentence of Q2's stopping rule.

use crate::measures::{Review, Row, Table, Unit};
use crate::report::page::page_table::{PageTable, Set};
use crate::report::questions::firm;
use crate::report::words::flags::words;
use crate::report::words::label::{label, ordered};
use crate::report::words::number::{Amount, number, whole};

const NAME: &str = "cycles";

/// Until which cycle cleaning pays, and what the present practice costs against it; none where that
/// cannot be said.
pub(in crate::report) fn stopping_words(review: &Review, table: &Table) -> Option<String> {
    // A limit beyond the data has no estimate and is none the less firm.
    let best = table.rows_of("fleet", "stopping-limit").find(|row| row.is_firm())?;
    let limit = match (best.estimate, number(table.own(best, "at_least"))) {
        (Some(0.0), _) => "Cleaning costs more than a reject from the first cycle on".to_owned(),
        (Some(limit), _) => format!("Giving up costs least after {}", cycles(limit)),
        (None, Some(least)) => format!("Cleaning on pays up to {} at least", cycles(least)),
        (None, None) => return None,
    };
    let excess = firm(table.rows_of("fleet", "present-excess")).map_or_else(String::new, |row| {
        let amount = Amount::of(row).full(&review.currency);
        format!("; giving up as observed costs {amount} an end face more than the best limit")
    });
    Some(format!("{limit}{excess}"))
}

fn cycles(limit: f64) -> String {
    let noun = if limit == 1.0 { "cycle" } else { "cycles" };
    format!("{} {noun}", whole(Some(limit)))
}

/// The best limit of every group: "8", "at least 5".
fn limit(table: &Table, row: &Row) -> String {
    match number(table.own(row, "at_least")) {
        Some(least) => format!("at least {}", whole(Some(least))),
        None => whole(row.estimate),
    }
}

/// How the rule works.
pub(in crate::report) const METHOD: &str = "When to stop: a cycle costs one cleaning and one look, an end face rejected or given up costs a \
    reject, and the best limit is that of least expected cost (backward induction, Bellman 1957), of up to 20 cycles. Chances of passing and of \
    rejection are those observed at each cycle that enough end faces came to, after that the beta-geometric fit and the \
    pooled share rejected. As observed: given up after each cycle as often as visits of known next step were left \
    failing. Intervals: thousand resamples of site-weeks, each worked out anew. Where the records never came to a \
    cycle that did not pay, the limit is at least the last cycle they tell of. Cleaned without a look: the first \
    cleaning of each such visit, times the share that passed among first looks of the stage; sealed lenses left out.";

/// Best limit, and what limits and the present practice cost, a row a group.
pub(in crate::report) fn limits(review: &Review, table: &Table) -> PageTable {
    let mut lines = Vec::new();
    for by in ["fleet", "stage", "family", "treatment"] {
        for row in ordered(review, table, by, "stopping-limit") {
            lines.push(line(review, table, row));
        }
    }
    let headings = [
        ("group", Set::Words),
        ("end faces", Set::Number),
        ("best limit, cycles", Set::Words),
        ("interval", Set::Words),
        ("best by the fit", Set::Number),
        ("cost given up after 3", Set::Words),
        ("after 5", Set::Words),
        ("as observed", Set::Words),
        ("as observed, over the best", Set::Words),
        ("flag", Set::Words),
    ];
    PageTable::of_first(40, "When to stop cleaning: cost per end face", &headings, lines, NAME)
}

fn line(review: &Review, table: &Table, row: &Row) -> Vec<String> {
    let of = |quantity: &'static str| {
        table.rows_of(row.by, quantity).filter(|other| other.group == row.group)
    };
    let short = |other: Option<&Row>| {
        other.map_or_else(|| "–".to_owned(), |row| Amount::of(row).short(&review.currency))
    };
    let at = |cycle: f64| {
        of("cost-at-limit").find(|other| number(table.own(other, "cycle")) == Some(cycle))
    };
    let excess = of("present-excess").next();
    let amount = Amount::of(row);
    vec![
        label(row),
        whole(Some(row.n)),
        limit(table, row),
        limit_interval(&amount),
        whole(number(table.own(row, "extended"))),
        short(at(3.0)),
        short(at(5.0)),
        short(of("present-cost").next()),
        excess.map_or_else(|| "–".to_owned(), |row| Amount::of(row).full(&review.currency)),
        words(&row.flags),
    ]
}

/// "3 to 6", "3 or more".
fn limit_interval(amount: &Amount) -> String {
    match (amount.low, amount.high) {
        (Some(low), None) => format!("{} or more", whole(Some(low))),
        (Some(low), Some(high)) => format!("{} to {}", whole(Some(low)), whole(Some(high))),
        _ => String::new(),
    }
}

/// The cost at every limit, all end faces.
pub(in crate::report) fn costs(review: &Review, table: &Table) -> PageTable {
    let rows = table.rows_of("fleet", "cost-at-limit");
    let lines = rows.map(|row| {
        let excess = Amount::own(table, row, "excess", Unit::Money);
        let chosen = Amount::own(table, row, "chosen", Unit::Share);
        vec![
            whole(number(table.own(row, "cycle"))),
            whole(number(table.own(row, "at_risk"))),
            Amount::of(row).full(&review.currency),
            excess.full(&review.currency),
            chosen.value_on(&chosen.scale("")),
            words(&row.flags),
        ]
    });
    let headings = [
        ("given up after, cycles", Set::Number),
        ("came to that cycle", Set::Number),
        ("cost per end face", Set::Words),
        ("over the best limit", Set::Words),
        ("best in resamples, %", Set::Number),
        ("flag", Set::Words),
    ];
    let caption = "Cost per end face by the cycle after which it is given up, all methods";
    PageTable::of(caption, &headings, lines.collect(), NAME)
}

/// What cleaning before looking costs, and the looks that it saves.
pub(in crate::report) fn unseen(review: &Review, table: &Table) -> PageTable {
    let mut lines = Vec::new();
    for by in ["fleet", "stage"] {
        for row in ordered(review, table, by, "needless-unseen-cost") {
            let saved = Amount::own(table, row, "looks_saved", Unit::Money);
            lines.push(vec![
                label(row),
                whole(Some(row.n)),
                Amount::of(row).full(&review.currency),
                saved.short(&review.currency),
                words(&row.flags),
            ]);
        }
    }
    let headings = [
        ("group", Set::Words),
        ("visits begun unseen", Set::Number),
        ("cleanings of what would have passed", Set::Words),
        ("looks saved", Set::Words),
        ("flag", Set::Words),
    ];
    PageTable::of("What cleaning without a look costs", &headings, lines, NAME)
}
