//! Short fuzzing in every test run: seeds kept in `tests/fuzz/<target>/`, each changed in many ways, and
//! bytes out of nowhere between them.
//!
//! All is drawn from a stated seed, so a run can be repeated. `MOTETRAIL_FUZZ_CASES` sets the number of
//! cases a target for a long run, `MOTETRAIL_FUZZ_SEED` where it begins. An input that fails is written
//! to the build's folder for temporary files; once the fault is mended it joins the seeds.
//!
//! Ours and not a fuzzing engine's: those want a binary a target, and instrumented builds.

mod dates;
mod detect;
pub mod draws;
mod export;
mod header;
mod json;
mod kinds;
mod manifest;
mod rows;
mod settings;

use std::fmt::Display;
use std::fs;
use std::io::{self, Read};
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};
use std::path::Path;
use std::time::{Duration, Instant};

pub use draws::Draws;

/// Cases a target, unless the environment says otherwise.
const CASES: usize = 300;
/// Where draws begin, unless the environment says otherwise.
const SEED: u64 = 20_260_705;
/// No case may take this long.
const PATIENCE: Duration = Duration::from_secs(20);

/// Tries a target on its seeds and on what becomes of them.
fn fuzz(target: &str, try_on: impl Fn(&[u8])) {
    fuzz_with(Vec::new(), target, try_on);
}

/// The same with more seeds, made by the test.
fn fuzz_with(mut seeds: Vec<Vec<u8>>, target: &str, try_on: impl Fn(&[u8])) {
    seeds.extend(kept_seeds(target));
    let mut draws = Draws::new(set_to("MOTETRAIL_FUZZ_SEED", SEED));
    let cases = set_to("MOTETRAIL_FUZZ_CASES", CASES);
    for (number, seed) in seeds.iter().enumerate() {
        run(target, &format!("seed-{number}"), seed, &try_on);
    }
    for case in 0..cases {
        let input = draws.input(&seeds);
        run(target, &case.to_string(), &input, &try_on);
    }
}

fn run(target: &str, case: &str, input: &[u8], try_on: impl Fn(&[u8])) {
    let begun = Instant::now();
    let tried = catch_unwind(AssertUnwindSafe(|| try_on(input)));
    let slow = begun.elapsed() > PATIENCE;
    if tried.is_err() || slow {
        let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("{target}-{case}"));
        fs::write(&path, input).unwrap();
        eprintln!("case {case} of {target} failed or was slow; its input is {}", path.display());
    }
    assert!(!slow, "case {case} of {target} took {:?}", begun.elapsed());
    tried.unwrap_or_else(|panic| resume_unwind(panic));
}

/// The seeds of a target, ordered by name.
fn kept_seeds(target: &str) -> Vec<Vec<u8>> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz").join(target);
    let entries = fs::read_dir(folder).unwrap();
    let mut paths: Vec<_> = entries.map(|entry| entry.unwrap().path()).collect();
    paths.sort();
    assert!(!paths.is_empty(), "{target} has no seeds");
    paths.into_iter().map(|path| fs::read(path).unwrap()).collect()
}

fn set_to<T: std::str::FromStr<Err: Display>>(name: &str, default: T) -> T {
    let Ok(text) = std::env::var(name) else {
        return default;
    };
    text.parse().unwrap_or_else(|error| panic!("{name}: found {text:?}: {error}"))
}

/// Settings of one source that reads looks by `dialect`, lines of TOML.
fn settings_with(dialect: &str) -> String {
    let source = r#"
[[source]]
name = "looks"
files = ["looks.csv"]
site = "North"
end_face_names = "fleet""#;
    let map = r#"
[[source.record]]
table = "inspections"
columns = { record = "id", at = "at", end_face = "face", outcome = "outcome", finding = "finding", inspector = "who", capped = "cap", seq = "seq" }
dates = { at = ["%Y-%m-%d %H:%M", "%d.%m.%Y", "epoch-ms"] }
constants = { stage = "incoming" }
[[source.record]]
table = "cleanings"
when = { column = "method", given = true }
columns = { at = "at", end_face = "face", method = "method", operator = "who" }
dates = { at = ["%Y-%m-%d %H:%M"] }
constants = { stage = "incoming" }
"#;
    let fleet = "[fleet]\nname = \"Demo\"\ncurrency = \"EUR\"\ntimezone = \"Europe/Vienna\"\n";
    format!("{fleet}{source}\n{dialect}{map}")
}

/// Bytes that arrive in pieces of drawn length.
struct Pieces<'a> {
    bytes: &'a [u8],
    draws: Draws,
}

impl Read for Pieces<'_> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        let most = self.draws.below(97) + 1;
        let piece = most.min(into.len());
        self.bytes.read(&mut into[..piece])
    }
}
