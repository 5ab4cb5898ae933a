//! What of a place's cleanings and rejects changes with the odds of one method: its own cleanings, and what follows where
//! visits turn from it to another.

use super::visits::Left;
use crate::stats::shifted_odds::Exit;

/// Parts of what all visits of a place that began contaminated had, in [0, 1].
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Resting {
    /// Cleanings by the method in visits that began with it, before any other.
    pub cleanings: f64,
    /// Cleanings that followed when these turned to another.
    pub cleanings_after: f64,
    /// Rejects of visits that had used it alone.
    pub rejects: f64,
    /// Rejects after they had turned to another.
    pub rejects_after: f64,
}

/// What visits had after their first cleaning, by cycles.
#[derive(Clone, Copy, Default)]
struct Done {
    cleanings: f64,
    rejects: f64,
    /// Visits that ended out of sight: they turned to another method, or nobody looked.
    censored: f64,
}

impl Resting {
    /// Of all methods together: nobody turns from them.
    pub const ALL: Resting =
        Resting { cleanings: 1.0, cleanings_after: 0.0, rejects: 1.0, rejects_after: 0.0 };

    /// Of a method at a place, or of all. Cleanings after a switch are taken to be of the methods that visits began with, as
    /// often as these were left.
    pub fn of(left: &Left, method: Option<&str>) -> Resting {
        let Some(method) = method else { return Resting::ALL };
        let (all, own) = (Done::of(left.all), Done::of(left.exits(Some(method))));
        let begun = left.by_method.iter().map(|(_, exits)| Done::of(exits));
        let begun = begun.fold(Done::default(), |sum, one| Done {
            cleanings: sum.cleanings + one.cleanings,
            rejects: sum.rejects + one.rejects,
            censored: sum.censored + one.censored,
        });
        // Rejected with nothing tried: of no method.
        let untried = left.all.first().map_or(0.0, |exit| exit.taken_out as f64);
        let share = |of: f64, all: f64| if all > 0.0 { (of / all).clamp(0.0, 1.0) } else { 0.0 };
        let turned = share(own.censored, begun.censored);
        let after = |all: f64, begun: f64| turned * (all - begun).max(0.0);
        Resting {
            cleanings: share(own.cleanings, all.cleanings),
            cleanings_after: share(after(all.cleanings, begun.cleanings), all.cleanings),
            rejects: share(own.rejects, all.rejects + untried),
            rejects_after: share(after(all.rejects, begun.rejects), all.rejects + untried),
        }
    }
}

impl Done {
    /// From how they left, cycle by cycle.
    fn of(exits: &[Exit]) -> Done {
        let mut done = Done::default();
        for (cycle, exit) in exits.iter().enumerate().skip(1) {
            let all = [exit.succeeded, exit.taken_out, exit.gave_up, exit.censored];
            done.cleanings += all.map(|n| n as f64).iter().sum::<f64>() * cycle as f64;
            done.rejects += exit.taken_out as f64;
            done.censored += exit.censored as f64;
        }
        done
    }
}
