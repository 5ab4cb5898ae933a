//! Other rules under which the follow-up of 5.5 is counted in addition to the usual ones.

use super::describe::{Mating, Span};
#[cfg(doc)]
use super::window::LAGS_HOURS;
use crate::calendar::DAY_US;
use crate::derive::face::end_state::WINDOWS_HOURS;
use crate::records::Level;
use crate::settings::Rules;

/// Horizons of follow-up, days.
pub const HORIZONS_DAYS: [u32; 3] = [30, 90, 180];

/// One departure from the rules; all else is as they say.
#[derive(
    Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize,
)]
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
    /// Tickets of every source belong to what was replaced for so long: a place in [`LAGS_HOURS`]. Counted as the
    /// difference to the rules, since few matings have other faults.
    Lag(usize),
}

impl Variant {
    /// All of them, each with its word in tables and a sentence.
    pub const LIST: [(Variant, &'static str, &'static str); 14] = [
        (Variant::Window(0), "window-8h", "A look counts for 8 hours."),
        (Variant::Window(1), "window-24h", "A look counts for 24 hours."),
        (Variant::Window(2), "window-72h", "A look counts for 72 hours."),
        (Variant::Horizon(0), "horizon-30d", "Matings are followed for 30 days."),
        (Variant::Horizon(1), "horizon-90d", "Matings are followed for 90 days."),
        (Variant::Horizon(2), "horizon-180d", "Matings are followed for 180 days."),
        (Variant::Confirmed, "confirmed-only", "Confirmed faults alone count."),
        (Variant::Suspect, "suspect-too", "Suspect faults count too."),
        (
            Variant::Reseats,
            "reseats-as-suspect",
            "Suspect faults count too, and so does every reseat, without a cost.",
        ),
        (
            Variant::Timed,
            "day-precision-left-out",
            "Matings whose time is known to the day only are left out.",
        ),
        (
            Variant::Lag(0),
            "ticket-window-0h",
            "No ticket belongs to a mating that was replaced before it was opened.",
        ),
        (
            Variant::Lag(1),
            "ticket-window-12h",
            "Tickets opened up to 12 hours after a replacement belong to what was replaced.",
        ),
        (
            Variant::Lag(2),
            "ticket-window-36h",
            "Tickets opened up to 36 hours after a replacement belong to what was replaced.",
        ),
        (
            Variant::Lag(3),
            "ticket-window-72h",
            "Tickets opened up to 72 hours after a replacement belong to what was replaced.",
        ),
    ];
    /// All of them, in the order of the list.
    pub const ALL: [Variant; Self::LIST.len()] = {
        let mut all = [Variant::Timed; Self::LIST.len()];
        let mut at = 0;
        while at < all.len() {
            all[at] = Self::LIST[at].0;
            at += 1;
        }
        all
    };
    /// Their words in tables.
    pub const WORDS: [&'static str; Self::LIST.len()] = {
        let mut words = [""; Self::LIST.len()];
        let mut at = 0;
        while at < words.len() {
            words[at] = Self::LIST[at].1;
            at += 1;
        }
        words
    };

    /// Its place in the list.
    pub const fn place(self) -> usize {
        match self {
            Variant::Window(at) => at,
            Variant::Horizon(at) => WINDOWS_HOURS.len() + at,
            Variant::Confirmed => WINDOWS_HOURS.len() + HORIZONS_DAYS.len(),
            Variant::Suspect => Variant::Confirmed.place() + 1,
            Variant::Reseats => Variant::Suspect.place() + 1,
            Variant::Timed => Variant::Reseats.place() + 1,
            Variant::Lag(at) => Variant::Timed.place() + 1 + at,
        }
    }

    /// Whether the rules say the same anyway: then it is not counted a second time.
    pub fn is_the_rule(self, rules: &Rules) -> bool {
        match self {
            Variant::Window(at) => WINDOWS_HOURS[at] == rules.coverage_window_hours,
            Variant::Horizon(at) => HORIZONS_DAYS[at] == rules.horizon_days,
            _ => false,
        }
    }

    /// Whether what is counted is the difference to the rules.
    pub fn is_difference(self) -> bool {
        matches!(self, Variant::Lag(_))
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
        let end = mating.at.saturating_add(days * DAY_US);
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

// Places follow the list: who changes its order is told here.
const _: () = {
    let mut at = 0;
    while at < Variant::ALL.len() {
        assert!(Variant::ALL[at].place() == at);
        at += 1;
    }
};
