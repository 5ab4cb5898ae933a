//! What benches rest on: when the guard over instructions (`benches/guard.rs`) refuses, and that the SQL beside the
//! derivation says what it leaves out.

#[path = "../../benches/guard/figures.rs"]
mod figures;

use std::collections::BTreeSet;

use figures::{Figure, Verdict, compare, read, write};
use motetrail::derive::counts::Counts;

const COMPILER: &str = "1.95.0 x86_64-unknown-linux-gnu";

fn figure(compiler: &str, step: &str, instructions: u64) -> Figure {
    Figure { compiler: compiler.to_owned(), step: step.to_owned(), instructions }
}

fn held(figures: [u64; 3], measured: [u64; 3]) -> Verdict {
    let all = |counts: [u64; 3]| {
        let steps = ["intake", "derivation", "measures"].into_iter().zip(counts);
        steps.map(|(step, count)| figure(COMPILER, step, count)).collect::<Vec<_>>()
    };
    compare(&all(figures), &all(measured))
}

#[test]
fn a_step_six_percent_above_its_figure_is_refused_by_its_name() {
    let verdict = held([1000, 1000, 1000], [1000, 1060, 940]);
    assert_eq!(verdict.grown, ["derivation"]);
    assert!(verdict.lines[1].starts_with("derivation: 1060 instructions, +6.0 %"));
    assert!(verdict.lines[1].ends_with("grew by more than 5 %"), "{}", verdict.lines[1]);
    assert_eq!(held([1000, 1000, 1000], [1060, 1000, 1060]).grown, ["intake", "measures"]);
}

#[test]
fn five_percent_more_and_any_less_are_let_through() {
    let verdict = held([1000, 1000, 1000], [1050, 1000, 10]);
    assert_eq!(verdict.grown, [String::new(); 0]);
    assert!(!verdict.lines.iter().any(|line| line.contains("grew")));
    assert_eq!(held([1000, 1000, 1000], [1051, 1000, 10]).grown, ["intake"]);
}

#[test]
fn another_compiler_is_only_told() {
    let measured = [figure("1.96.0 x86_64-unknown-linux-gnu", "intake", 5000)];
    let verdict = compare(&[figure(COMPILER, "intake", 1000)], &measured);
    assert_eq!(verdict.grown, [String::new(); 0]);
    let line = "intake: 5000 instructions; no figure for 1.96.0 x86_64-unknown-linux-gnu";
    assert_eq!(verdict.lines, [line]);
}

#[test]
fn written_figures_are_read_again_and_replace_those_of_their_compiler_alone() {
    let kept = [figure(COMPILER, "intake", 1), figure("1.90.0 x", "intake", 2)];
    let anew = [figure(COMPILER, "intake", 3), figure(COMPILER, "derivation", 4)];
    let expected = [kept[1].clone(), anew[0].clone(), anew[1].clone()];
    assert_eq!(read(&write(&kept, &anew)).as_deref(), Ok(&expected[..]));
}

#[test]
fn a_line_that_is_no_figure_is_named() {
    let wrong = read("# told\ncompiler,step,instructions\na,intake,many\n").unwrap_err();
    assert_eq!(wrong, "line 3: found `a,intake,many`, expected compiler,step,instructions");
    assert!(read("a,intake\n").is_err());
}

/// Otherwise the guard would let everything through and nobody would notice.
#[test]
fn the_committed_figures_name_every_step_of_a_compiler() {
    let text = include_str!("../../benches/guard/figures.csv");
    let figures = read(text).expect("the committed figures are figures");
    assert!(!figures.is_empty() && figures.len().is_multiple_of(3));
    for steps in figures.chunks(3) {
        let names: Vec<&str> = steps.iter().map(|figure| figure.step.as_str()).collect();
        assert_eq!(names, ["intake", "derivation", "measures"]);
        assert!(steps.iter().all(|f| f.compiler == steps[0].compiler && f.instructions > 0));
    }
}

/// A ratio to an engine that does less says nothing unless it is known how much less.
#[test]
fn the_head_of_the_sql_names_every_count_table_as_made_or_left_out() {
    let sql = include_str!("../../benches/counts.sql");
    let after = |word: &str| {
        let (_, rest) = sql.split_once(word).expect("the head has both lists");
        let (list, _) = rest.split_once('.').expect("a list ends in a point");
        let names = list.split([',', ' ', '\n', '-']).filter(|name| !name.is_empty());
        names.map(str::to_owned).collect::<BTreeSet<String>>()
    };
    let (made, left_out) = (after("Makes:"), after("Leaves out:"));
    assert!(made.is_disjoint(&left_out));
    let named: BTreeSet<String> = made.union(&left_out).cloned().collect();
    let tables: BTreeSet<String> =
        Counts::dictionary().iter().map(|about| about.name.to_owned()).collect();
    assert_eq!(named, tables);
}
