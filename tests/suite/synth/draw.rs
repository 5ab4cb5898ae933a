//! The generator against its published sequence.

use motetrail::synth::draw::Draw;

/// Source: the sequence for the seed 1234567 as the reference implementation of SplitMix64 gives it
/// (Steele, Lea, Flood 2014; values from memory, as widely reprinted).
#[test]
fn splitmix64_gives_the_published_sequence() {
    let mut draw = Draw::seeded(1_234_567);
    let first: Vec<u64> = (0..5).map(|_| draw.bits()).collect();
    assert_eq!(
        first,
        [
            6_457_827_717_110_365_317,
            3_203_168_211_198_807_973,
            9_817_491_932_198_370_423,
            4_593_380_528_125_082_431,
            16_408_922_859_458_223_821
        ]
    );
}

/// Source: the definitions; 100,000 draws, bounds of five standard errors.
#[test]
fn draws_have_the_means_they_are_named_for() {
    let mut draw = Draw::stream(1, 1);
    let n = 100_000;
    let hits = (0..n).filter(|_| draw.chance(0.3)).count() as f64 / f64::from(n);
    let wait = (0..n).map(|_| draw.wait()).sum::<f64>() / f64::from(n);
    let second = (0..n).filter(|_| draw.weighted(&[1.0, 3.0]) == 1).count() as f64 / f64::from(n);
    assert!((hits - 0.3).abs() < 5.0 * (0.21f64 / f64::from(n)).sqrt(), "{hits}");
    assert!((wait - 1.0).abs() < 5.0 / f64::from(n).sqrt(), "{wait}");
    assert!((second - 0.75).abs() < 5.0 * (0.1875f64 / f64::from(n)).sqrt(), "{second}");
}

#[test]
fn whole_numbers_stay_between_their_ends_and_reach_both() {
    let mut draw = Draw::stream(2, 0);
    let drawn: Vec<i64> = (0..200).map(|_| draw.between(-1, 2)).collect();
    assert_eq!((drawn.iter().min(), drawn.iter().max()), (Some(&-1), Some(&2)));
    assert_eq!(draw.between(4, 3), 4);
}
