//! Records scattered over buckets come back whole and in order.

use bytemuck::{Pod, Zeroable};
use motetrail::store::{Buckets, Spill};
use proptest::prelude::*;

#[derive(Clone, Copy, Debug, PartialEq, Eq, Pod, Zeroable)]
#[repr(C)]
struct Event {
    bucket: u64,
    number: u64,
    rest: [u64; 6],
}

fn event(bucket: usize, number: usize) -> Event {
    Event { bucket: bucket as u64, number: number as u64, rest: [number as u64 ^ 0xabcd; 6] }
}

#[test]
fn more_than_a_buffer_comes_back_in_the_order_of_writing() {
    let folder = tempfile::tempdir().unwrap();
    let mut spill = Spill::new(folder.path(), 3).unwrap();
    for number in 0..10_000 {
        let bucket = number % 2;
        spill.push(bucket, &event(bucket, number)).unwrap();
    }
    let buckets = spill.finish().unwrap();
    assert_eq!(buckets.count(), 3);
    for bucket in 0..2 {
        let expected: Vec<Event> =
            (bucket..10_000).step_by(2).map(|number| event(bucket, number)).collect();
        assert_eq!(buckets.read(bucket).unwrap(), expected);
        assert_eq!(buckets.len(bucket), 5_000);
    }
    assert!(buckets.is_empty(2));
    assert_eq!(buckets.read(2).unwrap(), []);
    assert_eq!(buckets.read(3).unwrap(), []);
}

#[test]
fn what_memory_does_not_hold_comes_back_behind_what_it_does() {
    let folder = tempfile::tempdir().unwrap();
    let mut spill = Spill::new(folder.path(), 3).unwrap();
    // 64 bytes each: 12 MB, of which four mebibytes stay in memory.
    for number in 0..200_000 {
        spill.push(number % 2, &event(number % 2, number)).unwrap();
    }
    let buckets = spill.finish().unwrap();
    for bucket in 0..2 {
        let expected: Vec<Event> =
            (bucket..200_000).step_by(2).map(|number| event(bucket, number)).collect();
        assert!(buckets.read(bucket).unwrap() == expected);
        let mut chunks = Vec::new();
        let each = |chunk: &[Event]| {
            assert!(chunk.len() <= 5_000);
            chunks.extend_from_slice(chunk);
            Ok::<(), motetrail::store::StoreError>(())
        };
        buckets.chunks(bucket, 5_000, each).unwrap();
        assert!(chunks == expected);
    }
}

#[test]
fn no_file_is_left_in_the_folder() {
    let folder = tempfile::tempdir().unwrap();
    let mut spill = Spill::new(folder.path(), 4).unwrap();
    for number in 0..100_000 {
        spill.push(number, &event(number % 4, number)).unwrap();
    }
    drop(spill.finish().unwrap());
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
}

#[test]
fn a_folder_that_is_not_there_is_named_once_it_is_needed() {
    let mut spill = Spill::<u64>::new(std::path::Path::new("/nowhere/at/all"), 4).unwrap();
    let failed = (0..1_000_000).find_map(|number| spill.push(0, &number).err());
    let error = failed.unwrap();
    assert!(error.to_string().starts_with("/nowhere/at/all"), "{error}");
}

#[test]
fn joining_no_writers_gives_no_buckets() {
    assert_eq!(Buckets::<u64>::join([]).count(), 0);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]
    #[test]
    fn any_split_over_writers_gives_the_same_buckets(
        records in prop::collection::vec((0..5usize, any::<u64>()), 0..400),
        cut in 0..400usize,
    ) {
        let folder = tempfile::tempdir().unwrap();
        let write = |records: &[(usize, u64)]| {
            let mut spill = Spill::new(folder.path(), 5).unwrap();
            for (bucket, record) in records {
                spill.push(*bucket, record).unwrap();
            }
            spill.finish().unwrap()
        };
        let (left, right) = records.split_at(cut.min(records.len()));
        let joined = Buckets::join([write(left), write(right)]);
        let whole = write(&records);
        for bucket in 0..5 {
            let expected: Vec<u64> =
                records.iter().filter(|(of, _)| *of == bucket).map(|(_, record)| *record).collect();
            prop_assert_eq!(joined.read(bucket).unwrap(), expected.clone());
            prop_assert_eq!(whole.read(bucket).unwrap(), expected);
        }
    }
}
