//! How much work intake, derivation and measures are: CPU seconds, wall seconds, peak memory, rows.
//!
//! Each step runs in a process of its own, so that the peak is its own too, and always from an
//! empty store. Asserts nothing of time: a machine that others use would only make it lie.
//! Linux only, since it reads `/proc`.
//!
//! ```text
//! cargo bench --bench scale                  an invented fleet of 200,000 inspections
//! cargo bench --bench scale -- 1000000       the same of a million
//! cargo bench --bench scale -- FOLDER        the fleet whose fleet.toml is there
//! ```

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

use anyhow::{Context, bail, ensure};
use motetrail::derive::{self, Derived};
use motetrail::records::Table;
use motetrail::settings::{self, Plan};
use motetrail::store::Store;
use motetrail::synth::{self, Recipe};

/// Inspections without an argument: a few seconds in all.
const INSPECTIONS: u64 = 200_000;
/// Sites of an invented fleet: above ten, so that it has one plain shape.
const SITES: usize = 200;
/// Clock ticks a second in `/proc`, which Linux fixes for programs (USER_HZ), whatever its own rate.
const TICKS: f64 = 100.0;
/// Names of the steps, as arguments of the processes that run them.
const STEPS: [&str; 3] = ["step-intake", "step-derive", "step-measure"];
/// The same for writing a fleet and no more.
const SYNTH: &str = "step-synth";

fn main() -> anyhow::Result<()> {
    motetrail::keep_freed_memory();
    // Cargo itself adds `--bench`.
    let arguments: Vec<String> =
        std::env::args().skip(1).filter(|argument| !argument.starts_with("--")).collect();
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    match arguments.as_slice() {
        [step, fleet, store] if STEPS.contains(step) => {
            run_step(step, Path::new(fleet), Path::new(store))
        }
        [SYNTH, folder, inspections] => invent(inspections.parse()?, Path::new(folder)),
        [] => run_invented(INSPECTIONS),
        [one] => match one.parse() {
            Ok(inspections) => run_invented(inspections),
            Err(_) => run_fleet(Path::new(one)),
        },
        _ => bail!("found {arguments:?}, expected a number of inspections or a fleet's folder"),
    }
}

fn run_invented(inspections: u64) -> anyhow::Result<()> {
    let folder = tempfile::tempdir()?;
    invent(inspections, folder.path())?;
    run_fleet(folder.path())
}

fn invent(inspections: u64, folder: &Path) -> anyhow::Result<()> {
    synth::write(&Recipe { sites: SITES, inspections, ..Recipe::sound() }, folder)?;
    Ok(())
}

/// Runs the steps, each in a process of its own; the store they share is thrown away.
fn run_fleet(fleet: &Path) -> anyhow::Result<()> {
    let store = tempfile::tempdir()?;
    println!(
        "{:<12} {:>8} {:>8} {:>9} {:>11}  result",
        "step", "cpu s", "wall s", "peak MiB", "rows"
    );
    for step in STEPS {
        let status = Command::new(std::env::current_exe()?)
            .args([step.as_ref(), fleet.as_os_str(), store.path().as_os_str()])
            .stdin(Stdio::null())
            .status()?;
        ensure!(status.success(), "{step} ended with {status}");
    }
    Ok(())
}

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
