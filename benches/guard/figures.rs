//! Figures of the guard: instructions a step, by compiler, one a line; and what is held against them.

use std::fmt::Write;

/// Room above a figure, in hundredths of it.
pub const ROOM: u64 = 5;

/// What stands above the figures.
const HEAD: &str = "\
# Instructions of 100,000 inspections less those of 20,000, one thread, by valgrind's callgrind.
# Written by: cargo test --release --bench guard -- write
compiler,step,instructions
";

/// One step with one compiler.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Figure {
    /// Version and target, as `rustc -vV` has them.
    pub compiler: String,
    /// Name of the step.
    pub step: String,
    /// Instructions of the large fleet less those of the small one.
    pub instructions: u64,
}

/// What the figures say of what was measured.
#[derive(Debug, PartialEq, Eq)]
pub struct Verdict {
    /// A sentence a step.
    pub lines: Vec<String>,
    /// Names of the steps that grew beyond the room.
    pub grown: Vec<String>,
}

/// Figures of a file.
///
/// Errors: the line that is none.
pub fn read(text: &str) -> Result<Vec<Figure>, String> {
    let kept = |(_, line): &(usize, &str)| {
        !line.starts_with('#') && !line.starts_with("compiler,") && !line.trim().is_empty()
    };
    (1..).zip(text.lines()).filter(kept).map(|(number, line)| figure(number, line)).collect()
}

fn figure(number: usize, line: &str) -> Result<Figure, String> {
    let fields: Vec<&str> = line.split(',').collect();
    let wrong = || format!("line {number}: found `{line}`, expected compiler,step,instructions");
    let [compiler, step, instructions] = fields[..] else { return Err(wrong()) };
    let instructions = instructions.trim().parse().map_err(|_| wrong())?;
    Ok(Figure { compiler: compiler.to_owned(), step: step.to_owned(), instructions })
}

/// A file with what was measured in place of the figures of the same compiler.
pub fn write(kept: &[Figure], measured: &[Figure]) -> String {
    let is_new = |old: &&Figure| measured.iter().any(|new| new.compiler == old.compiler);
    let mut all: Vec<&Figure> = kept.iter().filter(|old| !is_new(old)).chain(measured).collect();
    // Steps stay in the order in which they run.
    all.sort_by(|a, b| a.compiler.cmp(&b.compiler));
    let mut text = HEAD.to_owned();
    for Figure { compiler, step, instructions } in all {
        writeln!(text, "{compiler},{step},{instructions}").expect("a text takes every line");
    }
    text
}

/// Holds what was measured against the figures of the same compiler; what has none is only told.
pub fn compare(figures: &[Figure], measured: &[Figure]) -> Verdict {
    let mut verdict = Verdict { lines: Vec::new(), grown: Vec::new() };
    for Figure { compiler, step, instructions } in measured {
        let is_same = |kept: &&Figure| kept.compiler == *compiler && kept.step == *step;
        let Some(figure) = figures.iter().find(is_same) else {
            let line = format!("{step}: {instructions} instructions; no figure for {compiler}");
            verdict.lines.push(line);
            continue;
        };
        let most = figure.instructions.saturating_mul(100 + ROOM) / 100;
        let change = 100.0 * (*instructions as f64 / figure.instructions as f64 - 1.0);
        let figure = figure.instructions;
        let mut line = format!(
            "{step}: {instructions} instructions, {change:+.1} % of the figure {figure} for {compiler}"
        );
        if *instructions > most {
            write!(line, ": grew by more than {ROOM} %").expect("a text takes every word");
            verdict.grown.push(step.clone());
        }
        verdict.lines.push(line);
    }
    verdict
}
