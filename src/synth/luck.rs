//! Luck that events share, planted by the keys `luck_…` and `faults_…`: a bad work order, crew, week, batch of wipes.
//!
//! Whether dirt came in and whether a cleaning passed is decided as in a threshold model: a normal number made of the
//! luck of the order, of the crew, of the site's week, of its month, of the site, and of the event's own, in the shares that
//! are planted. It falls short of the threshold with exactly the probability planted for the event, however much is shared
//! (Vasicek 2002, "Loan portfolio value", Risk 15(12), 160-162 [from memory]). Faults are events in time: the luck of
//! a week, month or quarter of a site is a log-normal factor of mean 1 on their rate, of the variance planted.

use super::departures::Departures;
use super::draw::Draw;
use super::event::Minute;
use super::normal::{below, quantile};
use super::plant::DAY;

/// What a stretch of luck is drawn for; each is drawn apart.
#[derive(Clone, Copy, Debug)]
pub enum Matter {
    /// Dirt that came in.
    Dirt,
    /// Cleanings that pass.
    Cleaning,
}

/// Who and where something happens.
#[derive(Clone, Copy, Debug)]
pub struct Unit {
    /// Index of the site.
    pub site: usize,
    /// Number of the work order.
    pub order: u32,
    /// When.
    pub at: Minute,
}

/// The shortest stretch of luck that a site has.
const WEEK: Minute = 7 * DAY;
/// From 1970 back to the Monday that weeks are counted from.
const MONDAY: Minute = 3 * DAY;
/// Weeks of a month and of a quarter of luck.
const LONGER: [i64; 2] = [4, 13];
/// The people of a site that go together: each crew has one at either microscope, one who grades by hand.
const CREWS: [[u8; 2]; 2] = [[0, 3], [1, 2]];

/// The luck of a fleet.
#[derive(Clone, Debug)]
pub struct Luck {
    seed: u64,
    /// Shares of a work order, a crew, a week, a month, a site.
    shares: [f64; 5],
    /// Variances of the factor on faults of a week, a month, a quarter.
    faults: [f64; 3],
}

impl Luck {
    /// What the departures plant.
    pub fn of(departures: &Departures, seed: u64) -> Luck {
        let d = departures;
        let shares = [d.luck_order, d.luck_crew, d.luck_week, d.luck_month, d.luck_site];
        let faults = [d.faults_week, d.faults_month, d.faults_quarter];
        Luck {
            seed,
            shares: shares.map(|share| share.unwrap_or(0.0)),
            faults: faults.map(|variance| variance.unwrap_or(0.0)),
        }
    }

    /// How much of what decides is shared at all.
    pub fn shared(&self) -> f64 {
        self.shares.iter().sum()
    }

    /// The person of a visit: one of the crew that has the work order, where crews have luck of their own.
    pub fn person(&self, unit: Unit, drawn: u8) -> u8 {
        if self.shares[1] == 0.0 { drawn } else { CREWS[self.crew(unit)][usize::from(drawn % 2)] }
    }

    fn crew(&self, unit: Unit) -> usize {
        let key = (unit.site as u64) << 32 | u64::from(unit.order);
        usize::from(Draw::stream(self.seed ^ 0xc2e3, key).chance(0.5))
    }

    /// True with probability `p`, with the luck of its unit.
    pub fn chance(&self, matter: Matter, unit: Unit, p: f64, draw: &mut Draw) -> bool {
        let own = draw.unit();
        let shared = self.shared();
        if shared == 0.0 {
            return own < p;
        }
        let rest = (1.0 - shared).max(0.0).sqrt() * quantile(own);
        self.of_unit(matter, unit, 0) + rest < quantile(p)
    }

    /// Probability of the same for whoever has the luck of the crew, the week, the month and the site, in the mean over
    /// work orders: what came about, where `p` is what was planted.
    pub fn expected(&self, matter: Matter, unit: Unit, p: f64) -> f64 {
        let lasting: f64 = self.shares[1..].iter().sum();
        if lasting == 0.0 || p <= 0.0 {
            return p;
        }
        let rest = (1.0 - lasting).max(1e-9).sqrt();
        below((quantile(p) - self.of_unit(matter, unit, 1)) / rest)
    }

    /// The luck of a unit, from its order (`first` 0) or from its crew (1) on.
    fn of_unit(&self, matter: Matter, unit: Unit, first: usize) -> f64 {
        let week = week(unit.at);
        let month = week.div_euclid(LONGER[0]);
        let crew = if self.shares[1] > 0.0 { self.crew(unit) as u64 } else { 0 };
        let keys = [u64::from(unit.order), crew, week as u64, month as u64, 0];
        let mut sum = 0.0;
        for ((kind, share), key) in self.shares.iter().enumerate().zip(keys).skip(first) {
            if *share > 0.0 {
                let what = 0x1_0ca7 + 16 * kind as u64 + matter as u64;
                sum += share.sqrt() * self.normal(what, unit.site, key);
            }
        }
        sum
    }

    /// A standard normal number, always the same of the same thing at a site.
    fn normal(&self, what: u64, site: usize, key: u64) -> f64 {
        quantile(Draw::stream(self.seed ^ what, (site as u64) << 40 ^ key).unit())
    }

    /// Whether faults have luck.
    pub fn has_faults(&self) -> bool {
        self.faults.iter().any(|variance| *variance > 0.0)
    }

    /// Factor on the rate of faults at a site in a week.
    fn on_faults(&self, site: usize, week: i64) -> f64 {
        let keys = [week, week.div_euclid(LONGER[0]), week.div_euclid(LONGER[1])];
        let mut log = 0.0;
        for ((kind, variance), key) in self.faults.iter().enumerate().zip(keys) {
            if *variance > 0.0 {
                let square = variance.ln_1p();
                let z = self.normal(0xfa_0175 + kind as u64, site, key as u64);
                log += square.sqrt() * z - 0.5 * square;
            }
        }
        log.exp()
    }

    /// When a fault of a site comes that is waited for from `from` on: `left` are the days to it at factor 1, `bands` the
    /// factors by days since then, each up to the day named. Not told beyond `close`: any later minute.
    pub fn wait(
        &self,
        site: usize,
        (from, close): (Minute, Minute),
        mut left: f64,
        bands: &[(f64, f64)],
    ) -> Minute {
        let mut now = from;
        while now < close {
            let week = week(now);
            let days = (now - from) as f64 / DAY as f64;
            let Some((to, band)) = bands.iter().find(|(to, _)| days < *to) else { break };
            let band_ends = from.saturating_add((to * DAY as f64) as Minute);
            let next = ((week + 1) * WEEK - MONDAY).min(band_ends).max(now + 1);
            let factor = band * self.on_faults(site, week);
            let held = (next - now) as f64 / DAY as f64 * factor;
            if left < held {
                return now + (left / factor * DAY as f64) as Minute;
            }
            left -= held;
            now = next;
        }
        Minute::MAX / 4
    }
}

/// Week of a minute, counted from a Monday before 1970.
fn week(at: Minute) -> i64 {
    (at + MONDAY).div_euclid(WEEK)
}

/// Points at which what is shared is summed over.
const POINTS: usize = 2_000;

/// Probability that each cycle passes an end face that comes to it, for cycles that would pass with these probabilities
/// each alone: `shared` of what decides is common to all cycles of an end face, and the share `stuck` passes none.
pub fn pass_of_those_left(alone: &[f64], shared: f64, stuck: f64) -> Vec<f64> {
    if shared == 0.0 && stuck == 0.0 {
        return alone.to_vec();
    }
    let own = (1.0 - shared).max(1e-9).sqrt();
    let (mut passed, mut came) = (vec![0.0; alone.len()], vec![0.0; alone.len()]);
    for point in 0..POINTS {
        let z = quantile((point as f64 + 0.5) / POINTS as f64);
        let mut left = 1.0 - stuck;
        for (cycle, p) in alone.iter().enumerate() {
            let p = below((quantile(*p) - shared.sqrt() * z) / own);
            came[cycle] += left + stuck;
            passed[cycle] += left * p;
            left *= 1.0 - p;
        }
    }
    passed.iter().zip(came).map(|(passed, came)| passed / came).collect()
}
