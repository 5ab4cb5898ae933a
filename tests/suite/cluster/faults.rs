//! What a cluster does to its workers: kills them, runs them twice, hands them damage.

use std::io::Write;
use std::time::Duration;

use motetrail::derive::Stage;
use motetrail::derive::share::stage::Kind;

use super::engine::{Engine, Row, stream_of};
use super::shares::{agrees, fleet};

/// The next of a row of numbers that look drawn (Steele, Lea, Flood 2014: SplitMix64).
pub fn drawn(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let mixed = (*state ^ (*state >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    mixed ^ (mixed >> 31)
}

/// Starts a worker and kills it: before it has read all, or so long after. Whether it was killed before it ended.
fn killed(engine: &Engine, stage: Stage, input: &[u8], fed: usize, after: Duration) -> bool {
    let mut worker = engine.worker(&["share", stage.word()]).spawn().unwrap();
    let mut to = worker.stdin.take().unwrap();
    // What it cannot take any more it need not have.
    let _ = to.write_all(&input[..fed.min(input.len())]);
    if fed >= input.len() {
        drop(to);
        std::thread::sleep(after);
    }
    let _ = worker.kill();
    !worker.wait_with_output().unwrap().status.success()
}

#[test]
fn workers_that_are_killed_and_run_again_or_run_twice_change_nothing() {
    let mut engine = Engine::of_store(&fleet());
    let (mut state, mut kills, mut twice) = (20, 0, 0);
    engine.derive(3, |engine, stage, _, input| {
        let task = ["share", stage.word()];
        match drawn(&mut state) % 4 {
            0 => {
                let fed = drawn(&mut state) as usize % input.len();
                kills += u32::from(killed(engine, stage, &input, fed, Duration::ZERO));
            }
            1 => {
                let after = Duration::from_millis(drawn(&mut state) % 40);
                kills += u32::from(killed(engine, stage, &input, input.len(), after));
            }
            2 => {
                engine.run(&task, input.clone()).unwrap();
                twice += 1;
            }
            _ => {}
        }
        engine.run(&task, input).unwrap()
    });
    assert!(kills > 3 && twice > 1, "{kills} killed, {twice} run twice");
    agrees(&engine.report());
}

#[test]
fn a_worker_that_is_handed_a_damaged_part_names_the_export_and_ends() {
    let engine = Engine::of_store(&fleet());
    let of_matings = |unit: &&Vec<Row>| unit[0].name.contains("/matings");
    let mut unit = engine.units.iter().find(of_matings).unwrap().clone();
    // A worker checks the columns that it reads: here and there in all of them.
    let bytes = &mut unit[0].bytes;
    let half = bytes.len() / 2;
    bytes[4..half].iter_mut().step_by(16).for_each(|byte| *byte ^= 1);
    let said = engine.run(&["share", "words"], stream_of(&unit, &engine.seal)).unwrap_err();
    assert!(said.contains("exports/") && said.contains("source "), "{said}");
}

#[test]
fn a_worker_refuses_rows_that_are_cut_short_and_rows_of_another_stage() {
    let mut engine = Engine::of_store(&fleet());
    let mut events = Vec::new();
    engine.derive(1, |engine, stage, _, input| {
        if stage == Stage::PassOne {
            events = super::engine::rows_of(&input, &engine.seal);
        }
        engine.run(&["share", stage.word()], input).unwrap()
    });
    events.retain(|row| row.kind == Kind::Events);
    let said = engine.run(&["share", "pass-two"], stream_of(&events, &engine.seal)).unwrap_err();
    assert!(said.contains("takes no events"), "{said}");
    let mut cut = events.clone();
    let row = cut.iter_mut().find(|row| row.kind == Kind::Events).unwrap();
    row.bytes.pop();
    let said = engine.run(&["share", "pass-one"], stream_of(&cut, &engine.seal)).unwrap_err();
    assert!(said.contains("a chunk of events does not hold whole rows"), "{said}");
}
