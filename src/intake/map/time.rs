//! Times as an export writes them: patterns in their order, then the zone.

use super::zone::{ClockFault, Zone};
use crate::intake::columns::column::Moment;
use crate::records::Precision;
use crate::tabular::date::{Misfit, Pattern, Reading};

/// Why a text is no time. Of several patterns the one that got furthest speaks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum TimeFault {
    NotSo(Misfit),
    Clock(ClockFault),
}

/// Reads one time column of one part of a map.
#[derive(Debug)]
pub struct TimeReader {
    patterns: Vec<Pattern>,
    zone: Zone,
    last_raw: String,
    last: Option<Moment>,
}

impl TimeReader {
    /// A reader of these patterns.
    pub fn new(patterns: Vec<Pattern>, zone: Zone) -> Self {
        Self { patterns, zone, last_raw: String::new(), last: None }
    }

    /// The time of a text.
    ///
    /// # Errors
    /// When no pattern fits, the day does not exist or the clock change rule refuses it.
    pub fn read(&mut self, text: &str) -> Result<Moment, TimeFault> {
        if let Some(moment) = self.last
            && self.last_raw == text
        {
            return Ok(moment);
        }
        let mut worst = TimeFault::NotSo(Misfit::Shape);
        for pattern in &self.patterns {
            let placed = pattern.read(text).map_err(TimeFault::NotSo);
            match placed.and_then(|reading| place(&mut self.zone, reading)) {
                Ok(moment) => {
                    self.last_raw.clear();
                    self.last_raw.push_str(text);
                    self.last = Some(moment);
                    return Ok(moment);
                }
                Err(fault) => worst = worst.max(fault),
            }
        }
        Err(worst)
    }
}

fn place(zone: &mut Zone, reading: Reading) -> Result<Moment, TimeFault> {
    let instant = |micros| Moment { micros, until: micros, precision: Precision::Instant };
    match reading {
        Reading::Instant(micros) => Ok(instant(micros)),
        Reading::Local { day, micros } => {
            zone.utc(day, micros).map(instant).map_err(TimeFault::Clock)
        }
        Reading::Day(day) => {
            let start = zone.day_start(day).ok_or(TimeFault::Clock(ClockFault::Missing))?;
            let until = zone.day_start(day + 1).unwrap_or(start + 86_400_000_000);
            Ok(Moment { micros: start, until, precision: Precision::Day })
        }
    }
}
