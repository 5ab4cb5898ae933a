//! Every interval that a review prints, through the whole review: fleets of one world are invented event by event, taken in,
//! derived and reviewed, and each interval is held to the centre of what the other fleets' rows of the same words say: the mean, of ratios
//! the middle.
//!
//! Drawn are lives of end faces; fitted is whatever the review fits. What this asks of an interval is its width: whether a
//! method misses the truth on average is asked where the truth is known (`fleets`, `purchases` and the settings of functions).
//! Which quantities there are follows from the declarations of the results, so that a new one is asked about unasked.

use std::cell::{Cell, OnceCell};
use std::collections::BTreeMap;

use motetrail::measures::results::{AnyTable, Cells, Column, ColumnSpec, Kind, Leading, Unit};
use motetrail::measures::{
    Flag, Review, carriers, changes, coverage, cycles, entry, fault_rates, first_pass, looks_plan,
    payback, skipped_cost, trust,
};
use motetrail::synth::draw::Draw;
use motetrail::synth::{Departures, Recipe};

use super::invented::{FLEETS, SITES, numbered, recipe, reviewed};
use super::score::{Claim, Score, Scores, Setting, between, mean};

/// What has two ends that are no limits of an interval, or is said of what each fleet's own review chose.
const OTHERWISE: [Name; 10] = [
    // Lines of charts.
    ("first_pass", "first-pass-week"),
    ("first_pass", "site-funnel"),
    ("first_pass", "funnel-limits-inner"),
    ("first_pass", "funnel-limits-outer"),
    // Beyond the limit that this review found best, or advises.
    ("cycles", "excess"),
    ("cycles", "present-excess"),
    ("cycles", "present-excess-a-year"),
    // Of the cleanings that were made: how many is counted, not estimated.
    ("cycles", "needless-unseen-cost"),
    // A chance of the Monte Carlo with its error; the worth at both ends of one input.
    ("payback", "pays-back"),
    ("payback", "tornado"),
];
/// The world whose fleets are drawn: its places, carriers and hazards are those of this seed.
const WORLD: u64 = 11;
/// Coverage at least. The centre of 59 others is itself drawn: of an interval that holds the truth in .95 it lies inside in
/// about .948.
const LEAST_HELD: f64 = 0.94;
/// Share of the fleets in which a row must stand, and stand firm, to be asked about: what stands only where chance made it
/// stand out has no centre.
const USUALLY: f64 = 0.8;
/// Whole numbers among a table's own columns that say which row it is.
const WHICH: [&str; 4] = ["cycle", "month", "day", "rung"];
/// Words among them that a review chooses, which do not.
const SAID: [&str; 2] = ["block", "advice"];
/// Sentences among them.
const SENTENCES: [&str; 4] = ["reason", "why", "also", "reading"];

/// The tables whose rows are estimates, with the section of the design that each answers. The front page's worklist, the
/// accounts of intake and what was done (`actions` has settings of its own) are none of fleets drawn anew.
fn tables() -> Vec<(&'static str, Box<dyn AnyTable>)> {
    vec![
        ("5.1", Box::new(first_pass::Table::default())),
        ("5.2", Box::new(cycles::Table::default())),
        ("5.3", Box::new(coverage::Table::default())),
        ("5.4", Box::new(fault_rates::Table::default())),
        ("5.5", Box::new(skipped_cost::Table::default())),
        ("5.6", Box::new(entry::Table::default())),
        ("5.7", Box::new(carriers::Table::default())),
        ("5.8", Box::new(payback::Table::default())),
        ("5.9", Box::new(changes::Table::default())),
        ("5.10", Box::new(trust::Table::default())),
        ("5.13", Box::new(looks_plan::Table::default())),
    ]
}

/// An interval as it is told apart from others: its table, and its quantity or the column of its value.
pub type Name = (&'static str, &'static str);

/// All that may be printed, in the order of the declarations.
pub fn names() -> Vec<(&'static str, Name)> {
    let of_table = |(part, table): (&'static str, Box<dyn AnyTable>)| {
        let quantities = table.quantities().into_iter().map(|quantity| quantity.word);
        let columns = table.own_specs().into_iter().map(|spec| spec.name);
        let columns: Vec<&'static str> = columns.collect();
        let with_ends = columns.iter().copied().filter(|name| columns.contains(&&*ends(name)[0]));
        let words = quantities.chain(with_ends);
        words.map(|word| (part, (table.name(), word))).collect::<Vec<_>>()
    };
    let mut names: Vec<(&str, Name)> = tables().into_iter().flat_map(of_table).collect();
    for name in OTHERWISE {
        assert!(names.iter().any(|(_, known)| *known == name), "{name:?} is declared nowhere");
    }
    names.retain(|(_, name)| !OTHERWISE.contains(name));
    names
}

/// Columns of the two ends of what a column estimates.
fn ends(name: &str) -> [String; 2] {
    ["low", "high"].map(|end| format!("{name}_{end}"))
}

/// What a claim says of an interval.
pub fn method((table, word): Name) -> String {
    format!("printed; {table} {word}")
}

/// One interval of one review.
#[derive(Clone, Copy)]
pub struct Interval {
    value: f64,
    /// Ratios lie askew about what they estimate.
    is_ratio: bool,
    /// Its ends, where it has both and promises that they hold.
    pub firm: Option<[f64; 2]>,
}

/// What a review prints: by name and by the words of the row.
pub type Printed = BTreeMap<(Name, String), Interval>;

/// All that a review prints with a value.
pub fn printed(review: &Review) -> Printed {
    let mut printed = Printed::new();
    for table in review.tables() {
        let columns = table.own_columns();
        let mut told = BTreeMap::new();
        for (at, row) in table.leading().iter().enumerate() {
            let words = words(row, &columns, at);
            // Rows of the same words are told apart by their order.
            let again = told.entry(words.clone()).and_modify(|n| *n += 1).or_insert(0);
            let words = format!("{words}|{again}");
            let promises = row.flags.iter().all(|flag| flag.only_warns() && *flag != Flag::Narrow);
            let mut add = |word, unit: Unit, value: Option<f64>, ends: [Option<f64>; 2]| {
                let Some(value) = value.filter(|value| value.is_finite()) else { return };
                let firm = ends[0].zip(ends[1]).filter(|_| promises).map(|(low, high)| [low, high]);
                let interval = Interval { value, is_ratio: unit.kind() == Kind::Ratio, firm };
                printed.insert(((table.name(), word), words.clone()), interval);
            };
            add(row.quantity, row.unit, row.estimate, [row.low, row.high]);
            for column in &columns {
                let of = |name: &str| {
                    columns.iter().find(|one| one.spec.name == name).and_then(|one| real(one, at))
                };
                let ColumnSpec { name, unit, .. } = column.spec;
                add(name, unit, real(column, at), ends(name).map(|end| of(&end)));
            }
        }
    }
    printed
}

/// What a row is about.
fn words(row: &Leading, columns: &[Column], at: usize) -> String {
    let group = row.group.words().map(Option::unwrap_or_default).join("|");
    let own = columns.iter().filter_map(|column| match &column.cells {
        Cells::Text(cells) if tells(&column.spec) => cells[at].clone(),
        Cells::Integer(cells) if WHICH.contains(&column.spec.name) => {
            cells[at].map(|number| number.to_string())
        }
        _ => None,
    });
    let own: Vec<String> = own.collect();
    format!("{}|{group}|{}|{}", row.by, row.quantity, own.join("|"))
}

/// Whether a text says which row it is: a reason that is one of a list of words does.
fn tells(column: &ColumnSpec) -> bool {
    let is_sentence = SENTENCES.contains(&column.name) && column.words.is_empty();
    !SAID.contains(&column.name) && !is_sentence
}

fn real(column: &Column, at: usize) -> Option<f64> {
    match &column.cells {
        Cells::Text(_) => None,
        Cells::Integer(cells) => cells[at].map(|number| number as f64),
        Cells::Real(cells) => cells[at],
    }
}

/// Of each fleet and name, the mean over its rows.
fn scores(fleets: Vec<Printed>, names: &[(&'static str, Name)]) -> Vec<Scores> {
    let count = fleets.len();
    let mut rows: BTreeMap<(Name, String), Vec<(usize, Interval)>> = BTreeMap::new();
    for (fleet, printed) in fleets.into_iter().enumerate() {
        for (row, interval) in printed {
            rows.entry(row).or_default().push((fleet, interval));
        }
    }
    let mut found = vec![BTreeMap::<Name, Vec<Option<Score>>>::new(); count];
    for ((name, _), said) in rows {
        for (fleet, score) in held_to_others(&said, count) {
            found[fleet].entry(name).or_default().push(Some(score));
        }
    }
    let of_names = |mut found: BTreeMap<Name, Vec<Option<Score>>>| {
        names.iter().map(|(_, name)| mean(found.remove(name)?.into_iter())).collect()
    };
    found.into_iter().map(of_names).collect()
}

/// Each fleet's interval of a row that usually stands firm, against the centre of the others.
fn held_to_others(said: &[(usize, Interval)], fleets: usize) -> Vec<(usize, Score)> {
    let firm = said.iter().filter_map(|(fleet, interval)| Some((*fleet, interval.firm?)));
    if (firm.clone().count() as f64) < USUALLY * fleets as f64 {
        return Vec::new();
    }
    let against = |(this, [low, high]): (usize, [f64; 2])| {
        let others = said.iter().filter(|(fleet, _)| *fleet != this);
        let others: Vec<&Interval> = others.map(|(_, interval)| interval).collect();
        (this, between([Some(low), Some(high)], centre(&others)))
    };
    firm.map(against).collect()
}

/// Their mean; of ratios the one in the middle.
fn centre(said: &[&Interval]) -> f64 {
    let mut values: Vec<f64> = said.iter().map(|interval| interval.value).collect();
    if !said.iter().any(|interval| interval.is_ratio) {
        return values.iter().sum::<f64>() / values.len() as f64;
    }
    values.sort_by(f64::total_cmp);
    let half = values.len() / 2;
    f64::midpoint(values[half], values[(values.len() - 1) / 2])
}

/// Two settings: nothing beyond sound records, and the luck that the demo has.
pub fn settings() -> Vec<Setting> {
    let proposals = Departures { proposals: Some(1), ..Departures::default() };
    let luck = Departures { proposals: Some(1), ..Departures::luck_of_the_demo() };
    vec![setting("no departure", proposals), setting("luck of orders; crews; weeks; months", luck)]
}

fn setting(words: &str, departures: Departures) -> Setting {
    let names = names();
    let words =
        format!("{}; {words}; held to the centre of other fleets of the world", numbered(SITES));
    let claim = |(part, name): &(&'static str, Name)| {
        Claim::covers_at_least(part, &method(*name), &words, LEAST_HELD)
    };
    let claims = names.iter().map(claim).collect();
    let (all, next) = (OnceCell::new(), Cell::new(0));
    let invented = move |draw: &mut Draw| {
        let fleet = |_| {
            let lives = recipe(draw.bits() >> 32, departures.clone());
            printed(&reviewed(&Recipe { world: Some(WORLD), ..lives }).review)
        };
        // All are drawn before the first is scored: each is held to the others.
        let all = all.get_or_init(|| scores((0..FLEETS).map(fleet).collect(), &names));
        all[next.replace(next.get() + 1)].clone()
    };
    Setting::new(claims, invented).tables(FLEETS).only_answered()
}
