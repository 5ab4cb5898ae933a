//! What one visit takes in expectation: cleanings, looks that close them, rejects. The steps are those of `visit`, with every
//! probability in place of its draw: methods, tools and the cycles after which somebody gives up are summed over.

use super::departures::Departures;
use super::event::Method;
use super::lifecycle::Lifecycle;
use super::luck::pass_of_those_left;
use super::place::{self, Place};
use super::plant::*;

/// What is spent, in expectation.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Spent {
    /// Cleanings, by the position of the method.
    pub cleanings: [f64; 4],
    /// Looks that close a cleaning.
    pub looks: f64,
    /// End faces rejected.
    pub rejects: f64,
}

impl Spent {
    /// With another, so many times.
    #[must_use]
    pub fn plus(mut self, other: Spent, times: f64) -> Spent {
        for (sum, more) in self.cleanings.iter_mut().zip(other.cleanings) {
            *sum += more * times;
        }
        self.looks += other.looks * times;
        self.rejects += other.rejects * times;
        self
    }
}

/// What a visit takes after an end face is clean, dirty or defective (in this order) when it comes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Course {
    /// Where it begins with a look, that look not counted.
    pub seen: [Spent; 3],
    /// Where it begins with a cleaning, nobody having looked.
    pub unseen: [Spent; 3],
}

impl Course {
    /// Of a visit that may begin either way.
    pub fn of_visit(&self, state: usize) -> Spent {
        let seen = Spent::default().plus(self.seen[state], 1.0 - CLEANED_UNSEEN);
        seen.plus(self.unseen[state], CLEANED_UNSEEN)
    }
}

/// Odds that are multiplied: of a method, or of all.
pub type Factor = (Option<Method>, f64);

/// The course of visits at a site, under odds that are multiplied.
pub struct Visits<'a> {
    pub life: &'a Lifecycle,
    pub departures: &'a Departures,
    /// How much of its luck a visit shares.
    pub shared: f64,
}

/// Cycles at most.
pub const MOST: usize = 6;

/// One site, with what its cycles do.
struct At {
    /// By method and cycle.
    pass: [Vec<f64>; 4],
    soil: [f64; 4],
    lone: bool,
    alarm: f64,
}

impl Visits<'_> {
    /// At a site.
    pub fn at(&self, site: usize, place: &Place, factors: &[Factor]) -> Course {
        let at = self.site(site, place, factors);
        let mut course = Course::default();
        let weights = place.methods.iter().sum::<f64>();
        for (method, weight) in place.methods.iter().enumerate() {
            for limit in LIMITS {
                let share = weight / weights / LIMITS.len() as f64;
                let one = at.course(method, limit as usize);
                for state in 0..3 {
                    course.seen[state] = course.seen[state].plus(one.seen[state], share);
                    course.unseen[state] = course.unseen[state].plus(one.unseen[state], share);
                }
            }
        }
        course
    }

    /// What an end face that began contaminated costs at a site where it is given up after 0, 1, ... cycles, of these prices of
    /// a cycle and of an end face given up or found defective.
    pub fn costs_at_limits(
        &self,
        (site, place): (usize, &Place),
        (cycle, lost): (f64, f64),
    ) -> [f64; MOST + 1] {
        let at = self.site(site, place, &[]);
        let weights = place.methods.iter().sum::<f64>();
        std::array::from_fn(|limit| {
            let of_method = |(method, weight): (usize, &f64)| {
                weight / weights * at.cost(0, method, limit, (cycle, lost))
            };
            place.methods.iter().enumerate().map(of_method).sum()
        })
    }

    fn site(&self, site: usize, place: &Place, factors: &[Factor]) -> At {
        let (worn_site, worn_method, _) = self.life.culprits.worn_tool;
        let dirt = self.departures.dirt_times();
        let stuck = self.departures.stays_dirty.unwrap_or(0.0);
        // One of the three tools of its method.
        let worn = |method: Method| {
            if (site, method) == (worn_site, worn_method) { 1.0 / 3.0 } else { 0.0 }
        };
        let pass = |index: usize| {
            let method = place::method(index);
            let of = |factor: &&Factor| factor.0.is_none_or(|of| of == method);
            let times: f64 = factors.iter().filter(of).map(|(_, times)| times).product();
            let better = |p: f64| times * p / (1.0 - p + times * p);
            let cycle = |cycle: usize| {
                let with = |is_worn| better(pass_hazard(method, cycle as u32, is_worn));
                with(true) * worn(method) + with(false) * (1.0 - worn(method))
            };
            let alone: Vec<f64> = (1..=MOST).map(cycle).collect();
            pass_of_those_left(&alone, self.shared, stuck)
        };
        let soil = |index: usize| {
            let worn = worn(place::method(index));
            (WORN_SOIL * worn + SOIL * (1.0 - worn)) * dirt
        };
        At {
            pass: [0, 1, 2, 3].map(pass),
            soil: [0, 1, 2, 3].map(soil),
            lone: place.lone_cleanings(),
            alarm: FALSE_ALARM * dirt,
        }
    }
}

impl At {
    fn course(&self, method: usize, limit: usize) -> Course {
        let work = self.work(0, method, limit);
        let more = self.work(1, method, limit);
        let cleaned = |looks: f64| {
            let mut spent = Spent { looks, ..Spent::default() };
            spent.cleanings[method] = 1.0;
            spent
        };
        let (p, soil) = (self.pass[method][0], self.soil[method]);
        let closed = if self.lone { 1.0 - LEFT_UNSEEN } else { 1.0 };
        let passed_first = |state: usize| {
            let found = if state == 0 { self.alarm } else { 1.0 - MISS };
            let again = SECOND_LOOK * found;
            let dirty_after = [soil, 1.0, 0.0][state];
            let while_clean = cleaned(1.0).plus(more, dirty_after);
            let lone = if self.lone { CLEANED_AFTER_PASS * (1.0 - CLEAN_WHILE_CLEAN) } else { 0.0 };
            Spent::default()
                .plus(work, again)
                .plus(while_clean, (1.0 - again) * CLEAN_WHILE_CLEAN)
                .plus(cleaned(0.0), (1.0 - again) * lone)
        };
        let rejected = Spent { rejects: REJECTED_FOR_DEFECT, ..Spent::default() };
        let mixed = |found: f64, then: Spent, state: usize| {
            Spent::default().plus(then, found).plus(passed_first(state), 1.0 - found)
        };
        let unseen = |dirty_after: f64| cleaned(closed).plus(more, closed * dirty_after);
        Course {
            seen: [
                mixed(self.alarm, work, 0),
                mixed(1.0 - MISS, work, 1),
                mixed(DEFECT_SEEN, rejected, 2),
            ],
            unseen: [unseen(soil), unseen(1.0 - p), unseen(1.0 - p)],
        }
    }

    /// What follows costs after so many cycles, where an end face is given up after `limit` of them.
    fn cost(&self, done: usize, method: usize, limit: usize, prices: (f64, f64)) -> f64 {
        let (cycle, lost) = prices;
        if done >= limit {
            return lost;
        }
        let turns = if done == 2 { TURNS_WET_DRY } else { 0.0 };
        let by = |method: usize| {
            let failed = 1.0 - self.pass[method][done];
            let on = self.cost(done + 1, method, limit, prices);
            cycle + failed * (DEFECT_UNCOVERED * lost + (1.0 - DEFECT_UNCOVERED) * on)
        };
        turns * by(1) + (1.0 - turns) * by(method)
    }

    /// What follows a look that failed for contamination after so many cycles.
    fn work(&self, done: usize, method: usize, limit: usize) -> Spent {
        if done >= limit || done >= MOST {
            return Spent { rejects: REJECTED_AT_LIMIT, ..Spent::default() };
        }
        let wet_dry = if done == 2 { TURNS_WET_DRY } else { 0.0 };
        let mut spent = Spent::default();
        for (method, share) in [(1, wet_dry), (method, 1.0 - wet_dry)] {
            if share == 0.0 {
                continue;
            }
            let failed = 1.0 - self.pass[method][done];
            let rejects = failed * DEFECT_UNCOVERED * REJECTED_FOR_DEFECT;
            let mut cycle = Spent { looks: 1.0, rejects, ..Spent::default() };
            cycle.cleanings[method] = if self.lone { 1.0 + CLEANED_TWICE } else { 1.0 };
            let rest = self.work(done + 1, method, limit);
            spent = spent.plus(cycle, share);
            spent = spent.plus(rest, share * failed * (1.0 - DEFECT_UNCOVERED));
        }
        spent
    }
}
