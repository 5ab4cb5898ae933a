//! How many instructions intake, derivation and measures take, held against committed figures: so that
//! whoever adds a question sees what it costs.
//!
//! Counted are the instructions of a fleet of 100,000 inspections less those of one of 20,000, so that
//! what is fixed falls out; one thread, one process a step, under valgrind's callgrind. Measures run
//! after a derivation, whose own count is taken off. Times do not matter, so other work beside it does
//! no harm. Figures hold for one compiler (`guard/figures.csv`); with another the counts are only told.
//!
//! ```text
//! cargo test --release --bench guard             fails where a step grew by more than 5 %
//! cargo test --release --bench guard -- write    writes the figures of this compiler anew
//! ```
//!
//! Built by `cargo test`, not `cargo bench`, so that it shares the library that the tests have built.

#[path = "guard/figures.rs"]
mod figures;
#[path = "steps.rs"]
mod steps;

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use anyhow::{Context, anyhow, bail, ensure};
use figures::Figure;
use rayon::prelude::*;
use steps::{STEPS, invent, run_step};

/// Inspections of the two fleets.
const FLEETS: [u64; 2] = [20_000, 100_000];
/// Sites of both: above ten, so that they have one plain shape.
const SITES: usize = 20;
/// The committed figures.
const FIGURES: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/benches/guard/figures.csv");
/// Names of the figures, by the step that they count.
const NAMES: [&str; 3] = ["intake", "derivation", "measures"];

fn main() -> anyhow::Result<()> {
    motetrail::keep_freed_memory();
    // Cargo itself adds arguments that begin so.
    let arguments: Vec<String> =
        std::env::args().skip(1).filter(|argument| !argument.starts_with("--")).collect();
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    match arguments.as_slice() {
        [step, fleet, store] if STEPS.contains(step) => {
            run_step(step, Path::new(fleet), Path::new(store))
        }
        [] => check(),
        ["write"] => {
            let measured = measured()?;
            let text = figures::write(&committed()?, &measured);
            std::fs::write(FIGURES, text).with_context(|| FIGURES.to_owned())?;
            measured.iter().for_each(|f| println!("{}: {} instructions", f.step, f.instructions));
            Ok(())
        }
        _ => bail!("found {arguments:?}, expected nothing or `write`"),
    }
}

fn check() -> anyhow::Result<()> {
    let verdict = figures::compare(&committed()?, &measured()?);
    verdict.lines.iter().for_each(|line| println!("{line}"));
    ensure!(
        verdict.grown.is_empty(),
        "more instructions than the figures allow: {}. Make it cheaper, or, if it is worth that, \
         write the figures anew and say why: cargo test --release --bench guard -- write",
        verdict.grown.join(", ")
    );
    Ok(())
}

fn committed() -> anyhow::Result<Vec<Figure>> {
    let text = std::fs::read_to_string(FIGURES).with_context(|| FIGURES.to_owned())?;
    figures::read(&text).map_err(|wrong| anyhow!("{FIGURES}, {wrong}"))
}

/// What each step takes for the larger fleet beyond the smaller one.
fn measured() -> anyhow::Result<Vec<Figure>> {
    let compiler = compiler()?;
    let counts: Vec<[u64; 3]> =
        FLEETS.par_iter().map(|fleet| of_fleet(*fleet)).collect::<anyhow::Result<_>>()?;
    let more = |step: usize| {
        let [small, large] = [counts[0][step], counts[1][step]];
        large.checked_sub(small).context("a larger fleet took fewer instructions")
    };
    let [intake, derivation, both] = [more(0)?, more(1)?, more(2)?];
    let measures = both.checked_sub(derivation).context("measures took no instructions")?;
    let counts = [intake, derivation, measures];
    let figure = |(step, instructions): (&str, u64)| Figure {
        compiler: compiler.clone(),
        step: step.to_owned(),
        instructions,
    };
    Ok(NAMES.into_iter().zip(counts).map(figure).collect())
}

/// Instructions of every step of an invented fleet; the last has the derivation's before it.
fn of_fleet(inspections: u64) -> anyhow::Result<[u64; 3]> {
    let folder = tempfile::tempdir()?;
    let (fleet, store) = (folder.path().join("fleet"), folder.path().join("store"));
    invent(SITES, inspections, &fleet)?;
    let mut counts = [0; 3];
    for (step, count) in STEPS.into_iter().zip(&mut counts) {
        *count = instructions(step, &fleet, &store)?;
    }
    Ok(counts)
}

/// Instructions of a process that runs one step on one thread.
fn instructions(step: &str, fleet: &Path, store: &Path) -> anyhow::Result<u64> {
    let output = Command::new("valgrind")
        .args(["--tool=callgrind", "--callgrind-out-file=/dev/null"])
        .arg(std::env::current_exe()?)
        .args([step.as_ref(), fleet.as_os_str(), store.as_os_str()])
        .env("RAYON_NUM_THREADS", "1")
        .stdin(Stdio::null())
        .output()
        .context("valgrind does not start; on Debian: apt-get install valgrind")?;
    let told = String::from_utf8_lossy(&output.stderr);
    ensure!(output.status.success(), "{step} ended with {}:\n{told}", output.status);
    let collected = told.lines().find_map(|line| line.split_once("Collected : "));
    let (_, count) = collected.with_context(|| format!("callgrind counted nothing:\n{told}"))?;
    count.trim().parse().with_context(|| format!("no count of instructions: {count}"))
}

/// Version and target of the compiler: with another, other instructions come out of the same source.
fn compiler() -> anyhow::Result<String> {
    let rustc = std::env::var_os("RUSTC").map_or_else(|| PathBuf::from("rustc"), PathBuf::from);
    let output = Command::new(rustc).arg("-vV").output().context("rustc does not start")?;
    let told = String::from_utf8(output.stdout)?;
    let line = |name: &str| told.lines().find_map(|line| line.strip_prefix(name));
    let (release, host) = (line("release: "), line("host: "));
    let (release, host) = release.zip(host).context("rustc -vV says no release or host")?;
    Ok(format!("{release} {host}"))
}
