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

#[path = "steps.rs"]
mod steps;

use std::path::Path;
use std::process::{Command, Stdio};

use anyhow::{bail, ensure};
use steps::{STEPS, invent, run_step};

/// Inspections without an argument: a few seconds in all.
const INSPECTIONS: u64 = 200_000;
/// Sites of an invented fleet: above ten, so that it has one plain shape.
const SITES: usize = 200;
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
        [SYNTH, folder, inspections] => invent(SITES, inspections.parse()?, Path::new(folder)),
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
    invent(SITES, inspections, folder.path())?;
    run_fleet(folder.path())
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
