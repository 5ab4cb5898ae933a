//! Q7: what carries dirt from one end face to the next.

mod picture;
mod tables;

use super::NO_RECORDS;
use crate::measures::Review;
use crate::measures::carriers::{
    By, Carrier, NAME, Outcome, Own, Quantity, Row, Table, Tail, Verdict,
};
use crate::report::page::section::{Section, counted};
use crate::report::words::flags::explained;
use crate::report::words::number::{Amount, whole};
use picture::{observed as carriers_observed, worst as worst_carrier};
use tables as carrier_tables;
use tables::name;

/// Names in the finding.
const MOST_NAMES: usize = 4;

/// How it is counted; the guards are those that the reader should ask for.
const METHOD: &str = "A partner is an end that was seen clean, then mated, and looked at before anything else happened to \
    it; whether it came out dirty counts for the other end and for whoever made the mating. Suppliers answer for how an \
    end face first came, instruments for routine first looks, tools for the cycles that they closed: those begun after a \
    passing look tell whether a tool soils, the others whether it cleans. Results are compared only within a cell of \
    stage, family, side and site (for tools also method and number of the cycle), so a lead is not listed for the dirt of \
    its site, nor a person for being given the dirty jobs. Looks that a fault prompted are left out; a mating counts a \
    partner once, and an end face whose dirt all stands on one partner is not listed. The exact test is the upper tail of a \
    sum of hypergeometric counts, the totals of every cell given (Fisher 1935; several cells, Gart 1970). Results of one \
    work order are alike: the second test widens the variance by how much work orders scatter, and its skewness with it. \
    Many are tested at once: listed is who stays below a false discovery rate of 5\u{A0}% under both tests (Benjamini and \
    Hochberg 1995), each kind a family of its own. The ratio is that of observed dirty results to the others' shares \
    of the same cells; its interval is the exact conditional one of both counts, divided by that scatter, the others' by how well \
    they tell what was to be expected. Ratios drawn towards 1: \
    gamma-Poisson (Clayton and Kaldor 1987).";

pub(in crate::report) fn section(review: &Review) -> Section {
    let table = &review.carriers;
    let carriers: Vec<&Row> = table.listed().collect();
    let pictures = [carriers_observed(review, title(table, &carriers)), worst_carrier(review)];
    Section {
        id: NAME,
        question: "What carries dirt from one end face to the next?",
        finding: finding(table, &carriers),
        pictures: pictures.into_iter().flatten().collect(),
        tables: vec![
            carrier_tables::listed(review, &carriers),
            carrier_tables::inspect_first(table),
            carrier_tables::touched(table),
            carrier_tables::by_kind(table),
        ],
        method: METHOD.to_owned(),
        doubts: doubts(table),
    }
}

/// What was tried of every entity that may be shown.
fn entities(table: &Table) -> impl Iterator<Item = &Row> {
    table.rows_of(By::KindEntity, Quantity::AgainstOthers)
}

/// The sum of a count over the kinds.
fn sum(table: &Table, count: impl Fn(&Own) -> Option<u64>) -> f64 {
    let kinds = table.rows_of(By::Kind, Quantity::Listed);
    kinds.filter_map(|row| count(&row.own)).sum::<u64>() as f64
}

/// How many are listed that are not named here: people, unless the settings say otherwise.
fn unnamed(table: &Table, carriers: &[&Row]) -> f64 {
    (sum(table, |own| own.listed) - carriers.len() as f64).max(0.0)
}

fn finding(table: &Table, carriers: &[&Row]) -> String {
    let tested = sum(table, |own| own.tested);
    if table.rows_of(By::Kind, Quantity::Listed).all(|row| row.n == 0.0) {
        return NO_RECORDS.to_owned();
    }
    if tested == 0.0 {
        return "Nothing has touched enough to tell whether it carries dirt.".to_owned();
    }
    let unnamed = unnamed(table, carriers);
    let nothing = match unnamed {
        0.0 => format!("In {} tests nothing", whole(Some(tested))),
        _ => format!("In {} tests nothing that may be named", whole(Some(tested))),
    };
    let not_named = match unnamed {
        0.0 => String::new(),
        1.0 => "; of the people tested 1 stands out and is not named".to_owned(),
        _ => format!("; of the people tested {} stand out and are not named", whole(Some(unnamed))),
    };
    if carriers.is_empty() {
        return format!("{nothing} stands out by more dirt than chance{not_named}.");
    }
    let leading = leading(carriers);
    let mut names: Vec<String> = leading
        .iter()
        .take(MOST_NAMES)
        .map(|row| format!("{} ({})", name(row), times(row)))
        .collect();
    if leading.len() > MOST_NAMES {
        names.push(format!("{} more", leading.len() - MOST_NAMES));
    }
    let touches = table.rows_of(By::EntityPartner, Quantity::Touch);
    let inspect = touches.filter(|row| row.own.inspect == Some(true)).count();
    let first = match inspect {
        0 => String::new(),
        ends => format!(
            "; inspect first {}",
            counted(ends as f64, "end that they touched", "ends that they touched")
        ),
    };
    format!(
        "In {} tests {}, associated with more dirt than the others by more than chance: {}{not_named}{first}.",
        whole(Some(tested)),
        stand_out(leading.len()),
        names.join(", ")
    )
}

/// Each listed name once, the first of every kind before the second of any.
fn leading<'a>(carriers: &[&'a Row]) -> Vec<&'a Row> {
    let mut rows: Vec<&Row> = carriers.to_vec();
    rows.sort_by_key(|row| row.own.rank.unwrap_or(i64::MAX));
    let mut names: Vec<&str> = Vec::new();
    rows.retain(|row| {
        let is_new = !names.contains(&name(row));
        if is_new {
            names.push(name(row));
        }
        is_new
    });
    rows
}

/// "4.1 times, 3.1 to 5.4": drawn towards 1, as everywhere else but in the table, since the largest of many is too large by
/// chance.
fn times(row: &Row) -> String {
    let own = &row.own;
    let raw = Amount::of(row);
    let amount = match own.shrunken {
        Some(_) => {
            Amount { value: own.shrunken, low: own.shrunken_low, high: own.shrunken_high, ..raw }
        }
        None => raw,
    };
    let scale = amount.scale("");
    match amount.interval_on(&scale) {
        interval if interval.is_empty() => format!("{} times", amount.value_on(&scale)),
        interval => format!("{} times, {interval}", amount.value_on(&scale)),
    }
}

fn title(table: &Table, carriers: &[&Row]) -> String {
    let tests = whole(Some(sum(table, |own| own.tested)));
    let names: Vec<&str> = leading(carriers).into_iter().map(name).collect();
    match names.len() {
        0 => format!("In {tests} tests nothing stands out by more dirt than chance"),
        all if all <= MOST_NAMES => {
            format!(
                "In {tests} tests {} by more dirt than chance: {}",
                stand_out(all),
                names.join(", ")
            )
        }
        all => format!(
            "In {tests} tests {} by more dirt than chance: {} and {} more",
            stand_out(all),
            names[..MOST_NAMES].join(", "),
            all - MOST_NAMES
        ),
    }
}

fn stand_out(names: usize) -> String {
    counted(names as f64, "name stands out", "names stand out")
}

fn doubts(table: &Table) -> Vec<String> {
    let mut doubts = vec![
        "A listed end face, tool or supplier is associated with dirt; what else it has in common with the dirt (a \
         habit, a room, a batch) these records may not tell. Look at it before it is thrown away."
            .to_owned(),
        "A microscope that is listed may call more end faces dirty rather than make them so.".to_owned(),
        "The next look may lie months after the mating: what happened in between is taken to be alike within a cell."
            .to_owned(),
    ];
    doubts.extend(looked_at(table));
    if let Some(row) = entities(table).find(|row| row.own.tail == Some(Tail::Normal)) {
        doubts.push(format!(
            "Of very many results the exact tail is not worked out; the normal one stands for it, first at {}.",
            name(row)
        ));
    }
    let is_tested = |row: &&Row| row.own.carrier != Some(Verdict::NotTested);
    let untested = entities(table).filter(|row| !is_tested(row)).count();
    if untested > 0 {
        doubts.push(format!(
            "{} with too few results in cells that others share are in the table, but not tested.",
            whole(Some(untested as f64))
        ));
    }
    let is_person = |row: &Row| row.own.kind == Some(Carrier::Operator);
    let mut kinds = table.rows_of(By::Kind, Quantity::Listed);
    let hidden = kinds.any(|row| is_person(row) && row.n > 0.0) && !entities(table).any(is_person);
    if hidden {
        doubts.push(
            "People are counted and tested, but no person is shown; [rules] people = \"show\" lists their pseudonyms."
                .to_owned(),
        );
    }
    doubts.extend(explained(entities(table).filter(is_tested)));
    doubts
}

/// How many exposures had a look that counts.
fn looked_at(table: &Table) -> Option<String> {
    let ends = |counts: fn(Outcome) -> bool| -> f64 {
        let rows = table.rows_of(By::Later, Quantity::Exposures);
        rows.filter(|row| row.own.later.is_some_and(counts)).map(|row| row.n).sum()
    };
    let all = ends(|_| true);
    (all > 0.0).then(|| {
        format!(
            "Of {} ends seen clean and then mated, {} were looked at before anything else happened to them, found clean or \
             dirty; {} looks that a fault prompted are left out.",
            whole(Some(all)),
            whole(Some(ends(|later| matches!(later, Outcome::Clean | Outcome::Contaminated)))),
            whole(Some(ends(|later| later == Outcome::Prompted)))
        )
    })
}
