//! Which quarter is reviewed, and how far back the slower measures look.

use chrono::{Days, Months, NaiveDate};

use crate::calendar::{Calendar, Quarter, day_start, local_day};
use crate::derive::DeriveError;
use crate::settings::Plan;

/// Records later than this after the day on which they are taken to be complete are off every
/// table, days.
const LATEST_DAYS: u64 = 366;

/// The period of a review.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Period {
    /// The quarter that is reviewed.
    pub quarter: Quarter,
    /// First instant, microseconds UTC.
    pub start: i64,
    /// First instant after it, microseconds UTC.
    pub end: i64,
    /// Its first day, of the fleet's zone.
    pub first_day: NaiveDate,
    /// Its last day, of the fleet's zone.
    pub last_day: NaiveDate,
    /// Quarters whose whole span lies in the months looked back to the period's end, oldest
    /// first, the period last.
    pub look_back: Vec<Quarter>,
    /// The day on which records are taken to be complete.
    pub as_of: NaiveDate,
}

impl Period {
    /// The period asked for, else the last quarter that was over on `as_of` and is not later than
    /// the last record.
    ///
    /// # Errors
    /// A period that no record falls in.
    pub fn choose(
        plan: &Plan,
        asked: Option<Quarter>,
        as_of: NaiveDate,
        span: (i64, i64),
    ) -> Result<(Period, Calendar), DeriveError> {
        // A mistyped year must not stretch the calendar away from the records that matter.
        let late = as_of.checked_add_days(Days::new(LATEST_DAYS)).unwrap_or(as_of);
        let last = span.1.min(day_start(late, plan.fleet.timezone));
        let starts = plan.fleet.fiscal_year_starts;
        let calendar = Calendar::spanning(plan.fleet.timezone, starts, span.0.min(last), last);
        let first = calendar.quarter(0);
        let last = calendar.quarter(calendar.quarters.count().saturating_sub(1));
        let tomorrow = as_of.checked_add_days(Days::new(1)).unwrap_or(as_of);
        let over = Quarter(Quarter::of(tomorrow, starts).0 - 1);
        let quarter = asked.unwrap_or(over.min(last).max(first));
        let outside = DeriveError::Period { asked: quarter, first, last };
        if calendar.piece_of(quarter).is_none() {
            return Err(outside);
        }
        let Some((start, end)) = calendar.span(quarter) else { return Err(outside) };
        let back = (plan.rules.look_back_months / 3).max(1) as i32;
        Ok((
            Period {
                quarter,
                start,
                end,
                first_day: local_day(start, calendar.zone),
                last_day: local_day(end - 1, calendar.zone),
                look_back: (0..back).rev().map(|back| Quarter(quarter.0 - back)).collect(),
                as_of,
            },
            calendar,
        ))
    }

    /// First local day of the look-back.
    pub fn look_back_from(&self) -> NaiveDate {
        let months = 3 * (self.look_back.len() as u32 - 1);
        self.first_day.checked_sub_months(Months::new(months)).unwrap_or(self.first_day)
    }
}
