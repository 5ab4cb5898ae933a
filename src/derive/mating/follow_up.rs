//! How long a mating is followed, and what ends it (F1, F3, F4): the one place for the bands of time since
//! mating, for which faults count, and for the rule that follow-up runs to the first fault or to the
//! end of the span.

use super::describe::{Mating, Span};
use super::fault::Fault;
use super::risk_times::RiskTimes;
use crate::calendar::{Calendar, DAY_US, SECOND_US};
use crate::records::{Level, code_list};
use crate::settings::Rules;

code_list! {
    /// Which faults a follow-up counts.
    Definition {
        /// Confirmed and probable: the headline.
        Linked = "linked",
        Confirmed = "confirmed",
        /// Confirmed, probable and suspect.
        Suspect = "suspect",
        /// Every attached fault.
        Any = "any",
        /// Causes that dirt cannot produce.
        Control = "control",
    }
}

impl Definition {
    /// Whether a fault is of it.
    pub fn holds(self, fault: &Fault) -> bool {
        match self {
            Definition::Linked => fault.level >= Level::Probable,
            Definition::Confirmed => fault.level == Level::Confirmed,
            Definition::Suspect => fault.level >= Level::Suspect,
            Definition::Any => true,
            Definition::Control => fault.control,
        }
    }
}

/// Days after a mating with both ends seen within which a linked fault is an escape (5.10).
pub const ESCAPE_DAYS: u32 = 30;

/// Bands of time since mating (F4).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bands {
    /// Microseconds since mating, rising from 0 to the horizon: one more than there are bands.
    edges: Vec<i64>,
}

impl Bands {
    /// The bands of the rules, up to their horizon.
    pub fn of(rules: &Rules) -> Bands {
        Bands::up_to(rules.horizon_days, rules)
    }

    /// The bands up to another horizon, days: the usual cuts, and the usual horizon where this one is
    /// longer.
    pub fn up_to(horizon: u32, rules: &Rules) -> Bands {
        let edges = band_days(horizon, rules).into_iter().map(|day| i64::from(day) * DAY_US);
        Bands { edges: edges.collect() }
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.edges.len() - 1
    }

    /// The band of a time since mating, microseconds; the last one holds its upper edge.
    pub fn band(&self, since: i64) -> usize {
        let above = self.edges.partition_point(|edge| *edge <= since);
        above.saturating_sub(1).min(self.count() - 1)
    }

    /// Microseconds from mating to the horizon.
    pub fn horizon(&self) -> i64 {
        self.edges.last().copied().unwrap_or(0)
    }

    /// The last whole day since mating that is told apart: it holds the horizon.
    pub fn last_day(&self) -> i64 {
        (self.horizon() / DAY_US - 1).max(0)
    }

    /// Seconds of a span in one band, for a mating made `at`.
    pub fn seconds(&self, band: usize, at: i64, span: Span) -> i64 {
        let from = span.from.max(at + self.edges[band]);
        (span.to.min(at + self.edges[band + 1]) - from).max(0) / SECOND_US
    }
}

/// Edges of the bands up to a horizon, days: from 0 over the cuts of the rules, and the usual horizon
/// where this one is longer, to the horizon itself.
pub fn band_days(horizon: u32, rules: &Rules) -> Vec<u32> {
    let cuts = rules.bands_days.iter().copied().chain([rules.horizon_days]);
    let inner = cuts.filter(|day| *day < horizon);
    std::iter::once(0).chain(inner).chain([horizon]).collect()
}

/// A follow-up that has ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Followed {
    /// From its beginning to the first fault, or to the end of the span at risk.
    pub span: Span,
    /// It ended with a fault.
    pub by_fault: bool,
}

impl Followed {
    /// Follow-up over a span at risk whose first fault is at `first`; none where that came before it
    /// began (F3).
    pub fn until(first: Option<i64>, span: Span) -> Option<Followed> {
        match first {
            Some(at) if at < span.from => None,
            Some(at) if at <= span.to => {
                Some(Followed { span: Span { from: span.from, to: at }, by_fault: true })
            }
            _ => Some(Followed { span, by_fault: false }),
        }
    }

    /// The same for every definition, in the order of [`Definition::ALL`]. Most matings have no fault, and are
    /// followed alike under all of them.
    pub fn by_definition(mating: &Mating, span: Span) -> [Option<Followed>; Definition::ALL.len()] {
        if mating.faults.is_empty() {
            return [Some(Followed { span, by_fault: false }); Definition::ALL.len()];
        }
        let mut followed = [None; Definition::ALL.len()];
        for (followed, definition) in followed.iter_mut().zip(Definition::ALL) {
            *followed = Followed::of(mating, span, |fault| definition.holds(fault));
        }
        followed
    }

    /// What it adds to a band: faults, and seconds.
    pub fn in_band(&self, bands: &Bands, band: usize, at: i64) -> (i64, i64) {
        let ends_here = self.by_fault && bands.band(self.span.to - at) == band;
        (ends_here.into(), bands.seconds(band, at, self.span))
    }

    /// To the first fault of a mating for which the condition holds; faults before the mating do not count.
    pub fn of(mating: &Mating, span: Span, holds: impl Fn(&Fault) -> bool) -> Option<Followed> {
        Followed::until(first_fault(mating, holds), span)
    }
}

/// When the first fault of a mating came for which the condition holds, microseconds UTC; faults before the
/// mating do not count.
pub fn first_fault(mating: &Mating, holds: impl Fn(&Fault) -> bool) -> Option<i64> {
    let since = mating.faults.iter().filter(|fault| fault.at >= mating.at);
    since.filter(|fault| holds(fault)).map(|fault| fault.at).min()
}

/// What following matings needs apart from the matings.
pub struct Following<'a> {
    /// The fleet's calendar.
    pub calendar: &'a Calendar,
    /// The rules of the settings.
    pub rules: &'a Rules,
    /// The bands of these rules.
    pub bands: Bands,
    /// Bands up to the days within which a fault after a mating with both ends seen is an escape (5.10).
    pub escape_bands: Bands,
    /// By stage code: no light, no fault (F1).
    dark: Vec<bool>,
    /// First instant after the period: faults later are not read.
    pub period_end: i64,
    /// By piece of the calendar's quarters: whether it is looked back to.
    looked_back: Vec<bool>,
    /// Whether months are counted by place, since the settings name an action.
    pub by_month: bool,
    /// When faults came in every stratum of 5.5; empty until pass two has found them.
    pub risk_times: RiskTimes,
    /// The same where suspect faults and reseats count, of matings not made after a fault.
    pub reseat_times: RiskTimes,
}

impl<'a> Following<'a> {
    /// Under these rules; `dark` by stage code, `looked_back` by piece of the calendar's quarters.
    pub fn new(
        rules: &'a Rules,
        dark: Vec<bool>,
        calendar: &'a Calendar,
        period_end: i64,
        looked_back: Vec<bool>,
    ) -> Self {
        let bands = Bands::of(rules);
        let escape_bands = Bands::up_to(ESCAPE_DAYS, rules);
        Following {
            calendar,
            rules,
            bands,
            escape_bands,
            dark,
            period_end,
            looked_back,
            by_month: false,
            risk_times: RiskTimes::default(),
            reseat_times: RiskTimes::default(),
        }
    }

    /// Whether a stage is dark.
    pub fn is_dark(&self, stage: u8) -> bool {
        self.dark.get(usize::from(stage)).copied().unwrap_or(false)
    }

    /// The span in which a mating may have a fault, to the horizon.
    pub fn at_risk(&self, mating: &Mating) -> Option<Span> {
        mating.at_risk.filter(|_| !self.is_dark(mating.stage))
    }

    /// The same without the horizon.
    pub fn observed(&self, mating: &Mating) -> Option<Span> {
        mating.observed.filter(|_| !self.is_dark(mating.stage))
    }

    /// Whether an instant lies in the period's quarter.
    pub fn in_period(&self, at: i64) -> bool {
        let quarters = &self.calendar.quarters;
        quarters.piece(at) == quarters.piece(self.period_end - 1)
    }

    /// The quarter of an instant, if it is looked back to.
    pub fn looked_back(&self, at: i64) -> Option<u32> {
        let quarter = self.calendar.quarters.piece(at)?;
        self.looked_back.get(quarter as usize).copied().unwrap_or(false).then_some(quarter)
    }
}
