//! Which quarters the tables keep their clusters for, while visits and exposures are counted.

use super::codes::QuarterNo;
use crate::calendar::Calendar;
use crate::derive::compared::is_compared;

/// What counting visits needs apart from the visits.
pub struct Tallying<'a> {
    /// The fleet's calendar.
    pub calendar: &'a Calendar,
    /// Piece of the calendar's quarters that is the period: clusters are kept for it and for the
    /// quarters that it is compared with.
    pub period: u32,
    /// First piece of the months looked back: clusters of cycles are kept from there to the period,
    /// and for the quarters that it is compared with.
    pub look_back: u32,
    /// Whether months are counted by place, since the settings name an action.
    pub by_month: bool,
}

impl Tallying<'_> {
    /// The quarter of an instant.
    pub fn quarter(&self, at: i64) -> Option<QuarterNo> {
        self.calendar.quarters.piece(at).map(QuarterNo)
    }

    /// The quarter of an instant, where it lies in the months looked back.
    pub fn look_back_piece(&self, at: i64) -> Option<QuarterNo> {
        self.quarter(at).filter(|quarter| self.is_looked_back(*quarter))
    }

    /// Whether a quarter lies in the months looked back.
    pub fn is_looked_back(&self, quarter: QuarterNo) -> bool {
        (self.look_back..=self.period).contains(&quarter.0)
    }

    /// Whether a quarter is the period or one that it is compared with.
    pub fn is_compared(&self, quarter: QuarterNo) -> bool {
        is_compared(self.calendar.quarter(quarter.0), self.calendar.quarter(self.period))
    }
}
