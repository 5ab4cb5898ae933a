//! The single sampling plans that standards list by lot and acceptable quality: general level II, normal inspection.

use super::plan::Plan;

/// A code letter with the units that it looks at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Letter {
    /// The letter.
    pub letter: char,
    /// Units looked at.
    pub sample: u64,
}

/// Largest lot of each letter at general level II; the last has none.
///
/// Source: table I of MIL-STD-105E (a work of the US government), the same in ISO 2859-1:1999, table 1.
const LOTS: [(u64, char, u64); 15] = [
    (8, 'A', 2),
    (15, 'B', 3),
    (25, 'C', 5),
    (50, 'D', 8),
    (90, 'E', 13),
    (150, 'F', 20),
    (280, 'G', 32),
    (500, 'H', 50),
    (1_200, 'J', 80),
    (3_200, 'K', 125),
    (10_000, 'L', 200),
    (35_000, 'M', 315),
    (150_000, 'N', 500),
    (500_000, 'P', 800),
    (u64::MAX, 'Q', 1_250),
];

/// Acceptable qualities of the table, in hundredths of a per cent.
const QUALITIES: [u32; 6] = [65, 100, 150, 250, 400, 650];

/// What stands in a cell of the table: one diagonal after the other, letters and qualities rising together.
///
/// Source: table II-A of MIL-STD-105E, single sampling, normal inspection; its numbers accepted hang on letter and quality
/// together alone.
const DIAGONAL: [Cell; 12] = [
    Cell::Accept(0),
    Cell::Up,
    Cell::Down,
    Cell::Accept(1),
    Cell::Accept(2),
    Cell::Accept(3),
    Cell::Accept(5),
    Cell::Accept(7),
    Cell::Accept(10),
    Cell::Accept(14),
    Cell::Accept(21),
    Cell::Up,
];

/// Place of the letter A with the quality 0.65 on the diagonal.
const FIRST: i32 = -5;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Cell {
    Accept(u64),
    /// The plan of the next letter before it.
    Up,
    /// That of the next letter after it.
    Down,
}

/// The next better of the listed qualities, per cent; none for the best, or one that is not listed.
pub fn better(quality_percent: f64) -> Option<f64> {
    let hundredths = (quality_percent * 100.0).round() as u32;
    let at = QUALITIES.iter().position(|listed| *listed == hundredths)?;
    Some(f64::from(QUALITIES[at.checked_sub(1)?]) / 100.0)
}

fn cell(letter: usize, quality: usize) -> Cell {
    let place = letter as i32 + quality as i32 + FIRST;
    match usize::try_from(place) {
        Err(_) => Cell::Down,
        Ok(place) => DIAGONAL.get(place).copied().unwrap_or(Cell::Up),
    }
}

/// The letter of a lot.
pub fn letter(lot: u64) -> Letter {
    let found = LOTS.iter().find(|(most, ..)| lot <= *most).unwrap_or(&LOTS[LOTS.len() - 1]);
    Letter { letter: found.1, sample: found.2 }
}

/// The listed plan for a lot and an acceptable quality, one of 0.65, 1.0, 1.5, 2.5, 4.0 and 6.5 per cent; none for another
/// quality. Arrows of the table are followed; a sample of the lot or more is the whole lot.
///
/// Source: MIL-STD-105E, tables I and II-A, single sampling, normal inspection, as ISO 2859-1:1999, tables 1 and 2-A.
pub fn listed_plan(lot: u64, quality_percent: f64) -> Option<(Letter, Plan)> {
    let hundredths = (quality_percent * 100.0).round() as u32;
    let quality = QUALITIES.iter().position(|listed| *listed == hundredths)?;
    let mut at = LOTS.iter().position(|(most, ..)| lot <= *most)?;
    // An arrow is followed in its own direction until a number comes; the table never turns back.
    let accept = loop {
        match cell(at, quality) {
            Cell::Accept(number) => break number,
            Cell::Up => at = at.checked_sub(1)?,
            Cell::Down if at + 1 < LOTS.len() => at += 1,
            Cell::Down => return None,
        }
    };
    let (_, letter, sample) = LOTS[at];
    Some((Letter { letter, sample }, Plan { sample: sample.min(lot), accept }))
}
