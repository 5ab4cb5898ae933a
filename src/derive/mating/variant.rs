//! Other rules under which the follow-up of 5.5 is counted in addition to the usual ones.

use super::describe::{Mating, Span};
use crate::derive::calendar::pieces::DAY;
use crate::derive::face::end_state::WINDOWS_HOURS;
use crate::records::Level;
use crate::settings::Rules;

/// Horizons of follow-up, days.
pub const HORIZONS_DAYS: [u32; 3] = [30, 90, 180];

/// One departure from the rules; all else is as they say.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Variant {
    /// A look counts this long before a mating: a place in [`WINDOWS_HOURS`].
    Window(usize),
    /// Follow-up this long: a place in [`HORIZONS_DAYS`].
    Horizon(usize),
    /// Confirmed faults alone.
    Confirmed,
    /// Suspect faults too.
    Suspect,
    /// Suspect faults too, and every reseat as one more at its demating, without a cost.
    Reseats,
    /// Matings known to the day only left out.
    Timed,
}

impl Variant {
    /// All of them, in the order of [`Variant::WORDS`].
    pub const ALL: [Variant; 10] = [
        Variant::Window(0),
        Variant::Window(1),
        Variant::Window(2),
        Variant::Horizon(0),
        Variant::Horizon(1),
        Variant::Horizon(2),
        Variant::Confirmed,
        Variant::Suspect,
        Variant::Reseats,
        Variant::Timed,
    ];
    /// Their words in tables.
    pub const WORDS: [&'static str; 10] = [
        "window-8h",
        "window-24h",
        "window-72h",
        "horizon-30d",
        "horizon-90d",
        "horizon-180d",
        "confirmed-only",
        "suspect-too",
        "reseats-as-suspect",
        "day-precision-left-out",
    ];

    /// Whether the rules say the same anyway: then it is not counted a second time.
    pub fn is_the_rule(self, rules: &Rules) -> bool {
        match self {
            Variant::Window(at) => WINDOWS_HOURS[at] == rules.coverage_window_hours,
            Variant::Horizon(at) => HORIZONS_DAYS[at] == rules.horizon_days,
            _ => false,
        }
    }

    /// Days of follow-up.
    pub fn horizon_days(self, rules: &Rules) -> u32 {
        match self {
            Variant::Horizon(at) => HORIZONS_DAYS[at],
            _ => rules.horizon_days,
        }
    }

    /// The span of `mating` at risk under this horizon (F1).
    pub fn span(self, mating: &Mating, rules: &Rules) -> Option<Span> {
        let days = i64::from(self.horizon_days(rules));
        let end = mating.at.saturating_add(days * DAY);
        let span = mating.observed.filter(|span| span.from <= end)?;
        Some(Span { from: span.from, to: span.to.min(end) })
    }

    /// Weakest level of link that counts.
    pub fn least_level(self) -> Level {
        match self {
            Variant::Confirmed => Level::Confirmed,
            Variant::Suspect | Variant::Reseats => Level::Suspect,
            _ => Level::Probable,
        }
    }
}
