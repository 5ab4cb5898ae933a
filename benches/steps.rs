//! The steps that benches measure, each in a process of its own: intake, derivation, measures.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::time::Instant;

use anyhow::Context;
use motetrail::derive::{self, Derived};
use motetrail::records::Table;
use motetrail::settings::{self, Plan};
use motetrail::store::Store;
use motetrail::synth::{self, Recipe};

/// Clock ticks a second in `/proc`, which Linux fixes for programs (USER_HZ), whatever its own rate.
const TICKS: f64 = 100.0;
/// Names of the steps, as arguments of the processes that run them.
pub const STEPS: [&str; 3] = ["step-intake", "step-derive", "step-measure"];

/// Writes an invented fleet. Above ten sites it has one plain shape.
pub fn invent(sites: usize, inspections: u64, folder: &Path) -> anyhow::Result<()> {
    synth::write(&Recipe { sites, inspections, ..Recipe::sound() }, folder)?;
    Ok(())
}

/// Runs the step that the arguments of this process name; where they name none, `other` with those arguments.
pub fn run(other: impl FnOnce(&[&str]) -> anyhow::Result<()>) -> anyhow::Result<()> {
    motetrail::tune_memory();
    // Cargo itself adds arguments that begin so.
    let arguments: Vec<String> =
        std::env::args().skip(1).filter(|argument| !argument.starts_with("--")).collect();
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    match arguments.as_slice() {
        [step, fleet, store] if STEPS.contains(step) => {
            run_step(step, Path::new(fleet), Path::new(store))
        }
        arguments => other(arguments),
    }
}

/// Runs one step and prints its line.
fn run_step(step: &str, fleet: &Path, store: &Path) -> anyhow::Result<()> {
    let (mut begun, mut before) = (Instant::now(), 0.0);
    let mut plan = settings::read(&fleet.join("fleet.toml"))?;
    plan.fleet.store = PathBuf::from(store);
    let (rows, result) = match step {
        "step-intake" => intake(&plan)?,
        "step-derive" => derivation(&plan)?,
        _ => {
            // What is measured comes from a derivation, whose work is not the measures'.
            let (store, derived) = derived(&plan)?;
            (begun, before) = (Instant::now(), cpu_seconds()?);
            measures(&plan, &derived, &store)?
        }
    };
    let (wall, cpu, peak) = (begun.elapsed().as_secs_f64(), cpu_seconds()? - before, peak_mib()?);
    println!("{step:<12} {cpu:>8.2} {wall:>8.2} {peak:>9.1} {rows:>11}  {result}");
    Ok(())
}

fn derived(plan: &Plan) -> anyhow::Result<(Store, Derived)> {
    let store = Store::open(plan)?;
    let derived = derive::derive(plan, &store, None, &())?;
    Ok((store, derived))
}

/// Rows of all tables, and how many places they are of.
fn measures(plan: &Plan, derived: &Derived, store: &Store) -> anyhow::Result<(u64, String)> {
    let review = motetrail::measures::review(plan, derived, store.accounts())?;
    let rows: usize = review.tables().into_iter().map(|table| table.leading().len()).sum();
    let cells: BTreeSet<_> = derived
        .counts
        .coverage
        .matings
        .cells()
        .iter()
        .map(|(cell, _)| (cell.site, cell.stage, cell.family))
        .collect();
    let result = format!("site-stage-families={}", cells.len());
    Ok((rows as u64, result))
}

/// Rows read, and what became of them.
fn intake(plan: &Plan) -> anyhow::Result<(u64, String)> {
    let mut store = Store::open(plan)?;
    let taken = store.take(plan, plan.fleet.as_of.unwrap_or_default(), &())?;
    let sum = |of: fn(&motetrail::store::RowAccount) -> u64| {
        store.accounts().iter().map(|account| of(&account.rows)).sum::<u64>()
    };
    let result = format!("exports={} quarantined={}", taken.read, sum(|rows| rows.quarantined));
    Ok((sum(|rows| rows.read), result))
}

/// Records derived from, and totals that another way of counting can be held against.
fn derivation(plan: &Plan) -> anyhow::Result<(u64, String)> {
    let (store, derived) = derived(plan)?;
    let parts = Table::ALL.into_iter().flat_map(|table| store.parts(table));
    let rows = parts.map(|part| part.rows).sum();
    let counts = derived.counts;
    let covered = |wanted: derive::Coverage| {
        let cells = counts.coverage.matings.cells().into_iter();
        cells.filter(|(cell, _)| cell.coverage == wanted).map(|(_, row)| row.matings).sum::<i64>()
    };
    let result = format!(
        "visits={} matings={} both={} linked={}",
        counts.first_pass.visits.total().visits,
        counts.coverage.matings.total().matings,
        covered(derive::Coverage::Both),
        counts.followed.follow_up.total().linked,
    );
    Ok((rows, result))
}

/// User and system time of this process so far. See proc(5), `/proc/pid/stat`, fields 14 and 15.
fn cpu_seconds() -> anyhow::Result<f64> {
    let stat = std::fs::read_to_string("/proc/self/stat")?;
    // The second field is the program's name in parentheses and may itself hold blanks.
    let (_, fields) = stat.rsplit_once(')').context("/proc/self/stat names no program")?;
    let ticks = fields.split_whitespace().skip(11).take(2).map(str::parse::<u64>);
    let ticks = ticks.sum::<Result<u64, _>>().context("/proc/self/stat holds no times")?;
    Ok(ticks as f64 / TICKS)
}

/// Most memory that this process ever held. See proc(5), `/proc/pid/status`, VmHWM.
fn peak_mib() -> anyhow::Result<f64> {
    let status = std::fs::read_to_string("/proc/self/status")?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let kib = line.and_then(|line| line.split_whitespace().next()).context("no VmHWM")?;
    Ok(kib.parse::<f64>()? / 1024.0)
}
