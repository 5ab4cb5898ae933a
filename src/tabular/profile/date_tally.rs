//! The times of a column: each shape that its texts have, and what every reading of it makes of them.

use super::date_fit::DayMonth;
use super::sentence::cut;
use super::written_date::{Way, ways};
use crate::tabular::date::Pattern;
use crate::tabular::date::{DAY_MICROS, Misfit, Reading};

/// Most shapes of a column; a column with more holds no times.
const MOST_SHAPES: usize = 12;
/// Most texts kept to show what fits nothing.
const MOST_STRANGE: usize = 3;
/// A shape is rare with less than one text in so many.
const RARE: usize = 100;
/// Texts after which a column that mostly holds no times is given up.
const PATIENCE: usize = 500;
/// First year of two digits; which one it is changes no order of day and month.
const SOME_PIVOT: i64 = 1970;
/// Days since 1970 of 1970-01-01 and 2101-01-01.
const USUAL_DAYS: std::ops::Range<i64> = 0..47_847;

/// What a column's texts are as times.
#[derive(Debug, Default)]
pub struct DateTally {
    pub shapes: Vec<Shape>,
    /// Texts looked at.
    pub given: usize,
    /// Texts without a shape of a time; the first of them.
    pub strange: Vec<String>,
    shaped: usize,
}

/// Texts of one shape, and the readings of it.
#[derive(Debug)]
pub struct Shape {
    pub readings: Vec<WayTally>,
    /// Different values of the first and the third number, a bit each.
    pub values: [u128; 2],
    /// Texts that the reading `[i]` takes and the reading `[j]` refuses, with the first.
    pub beats: Vec<Vec<Beat>>,
    /// The first text that any reading takes.
    pub first: String,
    /// Texts of the shape that no reading takes: there is no such day or hour.
    pub impossible: Vec<String>,
}

/// How many texts one reading takes and another refuses, and the first of them.
#[derive(Clone, Debug, Default)]
pub struct Beat {
    pub texts: usize,
    pub first: String,
}

/// One reading of a shape.
#[derive(Debug)]
pub struct WayTally {
    pub pattern: String,
    pub order: DayMonth,
    compiled: Pattern,
    pub fits: usize,
    /// Steps to a later and to an earlier time from one text to the next.
    pub rises: usize,
    pub falls: usize,
    last: Option<i64>,
    /// Texts before 1970 or after 2100, and the first.
    pub unusual: Beat,
}

impl DateTally {
    /// Shapes that enough texts have. One with several readings that only a slip or two have must not
    /// make the order of a whole column doubtful: its texts are misfits.
    pub fn frequent(&self) -> impl Iterator<Item = &Shape> {
        let all: usize = self.shapes.iter().map(Shape::texts).sum();
        self.shapes.iter().filter(move |shape| {
            let rare = shape.texts() * RARE < all;
            shape.texts() > 0 && (shape.readings.len() == 1 || !rare)
        })
    }

    /// Adds a text.
    pub fn add(&mut self, text: &str) {
        self.given += 1;
        if self.given > PATIENCE && self.shaped * 2 < self.given {
            return;
        }
        for shape in &mut self.shapes {
            if shape.add(text) {
                self.shaped += 1;
                return;
            }
        }
        let found = ways(text);
        if found.is_empty() {
            keep(&mut self.strange, text);
        } else if let Some(shape) = self.shapes.iter_mut().find(|shape| shape.has(&found)) {
            self.shaped += 1;
            keep(&mut shape.impossible, text);
        } else if self.shapes.len() < MOST_SHAPES
            && let Some(mut shape) = Shape::new(&found)
        {
            self.shaped += 1;
            if !shape.add(text) {
                keep(&mut shape.impossible, text);
            }
            self.shapes.push(shape);
        }
    }
}

fn keep(texts: &mut Vec<String>, text: &str) {
    if texts.len() < MOST_STRANGE {
        texts.push(cut(text, 40));
    }
}

impl Shape {
    fn new(ways: &[Way]) -> Option<Self> {
        let reading = |way: &Way| {
            let compiled = Pattern::compile(&way.pattern, Some(SOME_PIVOT)).ok()?;
            Some(WayTally {
                pattern: way.pattern.clone(),
                order: way.order,
                compiled,
                fits: 0,
                rises: 0,
                falls: 0,
                last: None,
                unusual: Beat::default(),
            })
        };
        let readings: Vec<WayTally> = ways.iter().map(reading).collect::<Option<_>>()?;
        let beats = vec![vec![Beat::default(); readings.len()]; readings.len()];
        Some(Self { readings, values: [0; 2], beats, first: String::new(), impossible: Vec::new() })
    }

    /// Texts that its best reading takes.
    pub fn texts(&self) -> usize {
        self.readings.iter().map(|reading| reading.fits).max().unwrap_or(0)
    }

    fn has(&self, ways: &[Way]) -> bool {
        let patterns = self.readings.iter().map(|reading| &reading.pattern);
        patterns.eq(ways.iter().map(|way| &way.pattern))
    }

    /// Adds a text; false if no reading takes it.
    fn add(&mut self, text: &str) -> bool {
        let read: Vec<Result<Reading, Misfit>> =
            self.readings.iter().map(|reading| reading.compiled.read(text)).collect();
        if read.iter().all(Result::is_err) {
            return false;
        }
        if self.first.is_empty() {
            self.first = cut(text, 40);
        }
        for (reading, found) in self.readings.iter_mut().zip(&read) {
            if let Ok(found) = found {
                reading.add(text, *found);
            }
        }
        if let [_, _, ..] = &read[..] {
            self.compare(text, &read);
        }
        true
    }

    /// Notes which readings refuse what others take.
    fn compare(&mut self, text: &str, read: &[Result<Reading, Misfit>]) {
        for (taken, beats) in read.iter().zip(&mut self.beats) {
            for (other, beat) in read.iter().zip(beats) {
                if taken.is_ok() && other.is_err() {
                    beat.add(text);
                }
            }
        }
        // Behind a time of day the numbers of the date are others.
        if has_hour(self.readings[0].pattern.get(..2).unwrap_or_default()) {
            return;
        }
        let mut numbers = text.split(|c: char| !c.is_ascii_digit()).filter(|run| !run.is_empty());
        for (values, at) in self.values.iter_mut().zip([0, 1]) {
            let value: Option<u32> = numbers.nth(at).and_then(|run| run.parse().ok());
            *values |= value.and_then(|value| 1u128.checked_shl(value)).unwrap_or(0);
        }
    }
}

impl Beat {
    fn add(&mut self, text: &str) {
        if self.texts == 0 {
            self.first = cut(text, 40);
        }
        self.texts += 1;
    }
}

impl WayTally {
    fn add(&mut self, text: &str, found: Reading) {
        self.fits += 1;
        let (day, micros) = match found {
            Reading::Instant(micros) => {
                (micros.div_euclid(DAY_MICROS), micros.rem_euclid(DAY_MICROS))
            }
            Reading::Local { day, micros } => (day, micros),
            Reading::Day(day) => (day, 0),
        };
        if !USUAL_DAYS.contains(&day) {
            self.unusual.add(text);
        }
        let now = day * DAY_MICROS + micros;
        match self.last {
            Some(last) if last < now => self.rises += 1,
            Some(last) if last > now => self.falls += 1,
            _ => {}
        }
        self.last = Some(now);
    }

    /// Whether its times have an hour.
    pub fn has_hour(&self) -> bool {
        has_hour(&self.pattern)
    }
}

/// Whether a pattern names an hour.
pub fn has_hour(pattern: &str) -> bool {
    ["%H", "%I"].iter().any(|hour| pattern.contains(hour))
}
