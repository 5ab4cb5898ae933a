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
    /// Clean end faces that a cleaning by the method soiled, for each of the cleanings.
    pub soiled: f64,
    /// The same for each of the rejects.
    pub soiled_by_reject: f64,
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
    pub const ALL: Resting = Resting {
        cleanings: 1.0,
        cleanings_after: 0.0,
        rejects: 1.0,
        rejects_after: 0.0,
        soiled: 0.0,
        soiled_by_reject: 0.0,
    };

    /// With what rests on clean end faces that a cleaning soiled: `[of the method, of all]`. The cycles that follow there are
    /// among the cleanings of the place, the rejects are not among its rejects of visits that began contaminated.
    #[must_use]
    pub fn with_soiled(self, [own, all]: [f64; 2], left: &Left) -> Resting {
        let (done, [ends, cycles]) = (Done::of(left.all), later(left.all));
        // As many cycles as follow a first one that failed.
        let more = if ends > 0.0 { all * cycles / ends } else { 0.0 };
        let rejected = done.rejects + untried(left);
        if done.cleanings + more <= 0.0 {
            return self;
        }
        let part = done.cleanings / (done.cleanings + more);
        Resting {
            cleanings: self.cleanings * part,
            cleanings_after: self.cleanings_after * part,
            soiled: own / (done.cleanings + more),
            soiled_by_reject: if rejected > 0.0 { own / rejected } else { 0.0 },
            ..self
        }
    }

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
        let untried = untried(left);
        let share = |of: f64, all: f64| if all > 0.0 { (of / all).clamp(0.0, 1.0) } else { 0.0 };
        let turned = share(own.censored, begun.censored);
        let after = |all: f64, begun: f64| turned * (all - begun).max(0.0);
        Resting {
            cleanings: share(own.cleanings, all.cleanings),
            cleanings_after: share(after(all.cleanings, begun.cleanings), all.cleanings),
            rejects: share(own.rejects, all.rejects + untried),
            rejects_after: share(after(all.rejects, begun.rejects), all.rejects + untried),
            ..Resting::ALL
        }
    }
}

/// Rejected with nothing tried: of no method.
fn untried(left: &Left) -> f64 {
    left.all.first().map_or(0.0, |exit| exit.taken_out as f64)
}

fn whole(exit: &Exit) -> f64 {
    [exit.succeeded, exit.taken_out, exit.gave_up, exit.censored].map(|n| n as f64).iter().sum()
}

/// Ends whose first cycle failed, and the cycles that they had after it.
fn later(exits: &[Exit]) -> [f64; 2] {
    let after = exits.iter().enumerate().skip(2);
    after.fold([0.0; 2], |[ends, cycles], (cycle, exit)| {
        [ends + whole(exit), cycles + whole(exit) * (cycle - 1) as f64]
    })
}

/// The part of the ends that had a cycle whose first one failed.
pub fn failed_first(exits: &[Exit]) -> f64 {
    let all: f64 = exits.iter().skip(1).map(whole).sum();
    if all > 0.0 { later(exits)[0] / all } else { 0.0 }
}

impl Done {
    /// From how they left, cycle by cycle.
    fn of(exits: &[Exit]) -> Done {
        let mut done = Done::default();
        for (cycle, exit) in exits.iter().enumerate().skip(1) {
            done.cleanings += whole(exit) * cycle as f64;
            done.rejects += exit.taken_out as f64;
            done.censored += exit.censored as f64;
        }
        done
    }
}
