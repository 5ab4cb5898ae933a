//! Proof by simulation: how often the intervals of `stats` hold the truth, and how often lists and
//! charts raise an alarm over nothing.
//!
//! ```text
//! cargo bench --quiet --bench proof > tests/reference/proof.csv
//! ```
//!
//! Writes the table of results to standard output, progress to standard error. The same seed
//! always gives the same table. Words after `--` pick the settings whose first line has them all;
//! the word `quick` alone runs what every test run does.

#[path = "proof/mod.rs"]
mod proof;

use proof::{Claim, Found, Setting, settings};
use std::io::{self, Write};
use std::time::Instant;

/// What stands above the table.
const HEAD: &str = "\
# Simulated with known truth by: cargo bench --quiet --bench proof > tests/reference/proof.csv
# coverage: share of 95 % intervals that hold the truth, at least nominal. alarms: share of charts,
# points, tests or lists that find something where nothing is, at most nominal. stated: no promise.
# mc_error: Monte Carlo error of `found`. answered: share of tables on which there was an answer.
# verdict: BELOW or ABOVE where nominal is missed by more than three Monte Carlo errors; wide where
# coverage is above nominal by 0.02 and three errors; none where at most one table had an answer.
part,method,setting,promise,nominal,found,mc_error,mean_width,answered,tables,verdict
";

fn main() -> io::Result<()> {
    let words: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with("--")).collect();
    let mut out = io::stdout().lock();
    out.write_all(HEAD.as_bytes())?;
    let quick = words == ["quick"];
    for setting in settings() {
        let draws = if quick { setting.quick } else { setting.draws };
        if draws == 0 || !(quick || is_picked(&setting, &words)) {
            continue;
        }
        let start = Instant::now();
        let found = setting.run(draws);
        for found in &found {
            writeln!(out, "{}", line(found))?;
        }
        let first = found.first().map_or("", |found| &found.claim.method);
        eprintln!("{:6.2} s  {first}", start.elapsed().as_secs_f64());
    }
    Ok(())
}

fn is_picked(setting: &Setting, words: &[String]) -> bool {
    let line = setting.claims.first().map(Claim::line);
    line.is_some_and(|line| words.iter().all(|word| line.contains(word)))
}

fn line(found: &Found) -> String {
    // Limits of a nearly flat likelihood may lie a hundred powers of ten apart.
    let width = found.width.map_or(String::new(), |width| match width < 1e6 {
        true => format!("{width:.4}"),
        false => format!("{width:.1e}"),
    });
    let share = found.share.map_or(",".to_owned(), |s| format!("{s:.4},{:.4}", found.error));
    let (claim, answered) = (found.claim.line(), found.answered);
    format!("{claim},{share},{width},{answered:.4},{},{}", found.draws, found.verdict())
}
