//! Habits of recording and of looking that depart from sound ones: how they differ from quarter to quarter, and what is looked
//! at where somebody chooses.

use super::done;
use super::draw::Draw;
use super::event::Minute;
use super::plant::DAY;
use super::world::World;

/// Minutes that a habit lasts: 91 days.
const SPELL: Minute = 91 * DAY;

/// Share of routine matings whose end faces seem dirty.
const SUSPECTED: f64 = 0.25;
/// Where they do, dirt enters so many times as readily, and skipping a look raises the rate so many times as much;
/// elsewhere so much less that the means stay what is planted.
const DUSTY: f64 = 3.0;
/// Share failing that the odds of a look with dirt are reckoned for: about what installation and maintenance have.
const USUAL_DIRT: f64 = 0.18;
/// Where a mating is skipped, share of its ends that is looked at all the same.
const STILL_LOOKED: f64 = 0.275;

/// How a mating is come to: what its end faces seem like, and how readily looks are skipped.
#[derive(Clone, Copy, Debug)]
pub struct Approach {
    /// Factor on the dirt that has come in, and on what skipping a look does.
    pub dust: f64,
    /// Probability that a look is skipped.
    pub skip: f64,
}

/// Whether a site has a habit in the quarter of this minute: one of two does.
fn has_habit(world: &World, site: usize, at: Minute, what: u64) -> bool {
    let spell = at.div_euclid(SPELL) as u64;
    Draw::stream(world.seed ^ what, (site as u64) << 32 | spell).chance(0.5)
}

/// The share of passing looks that a site leaves out at this minute, where the mean is `mean`.
pub fn left_out(world: &World, site: usize, at: Minute, mean: f64) -> f64 {
    if has_habit(world, site, at, 0x1ea5) { (2.0 * mean).min(1.0) } else { 0.0 }
}

/// How a routine mating is come to, whose looks are skipped with probability `skip` where nothing departs.
pub fn approach(world: &mut World, site: usize, at: Minute, skip: f64) -> Approach {
    let skip = done::skip_since(world, site, at, skip);
    let swing = world.departures.looks_swing.unwrap_or(0.0);
    let moved = if has_habit(world, site, at, 0x5a1e) { swing } else { -swing };
    let skip = if swing > 0.0 { (skip + moved).clamp(0.02, 0.95) } else { skip };
    let Some(odds) = world.departures.looks_chosen else { return Approach { dust: 1.0, skip } };
    let suspected = world.apart.chance(SUSPECTED);
    Approach { dust: dust(suspected), skip: chosen_skip(skip, odds)[usize::from(suspected)] }
}

fn dust(suspected: bool) -> f64 {
    if suspected { DUSTY } else { (1.0 - SUSPECTED * DUSTY) / (1.0 - SUSPECTED) }
}

/// Probabilities of skipping where nothing is suspected and where something is, `skip` in the mean, so that the odds of
/// a look at an end face with dirt are `odds` times those without.
fn chosen_skip(skip: f64, odds: f64) -> [f64; 2] {
    // Skipped matings that are suspected: fewer of them, larger odds.
    let of = |suspected: f64| [(skip - SUSPECTED * suspected) / (1.0 - SUSPECTED), suspected];
    let (mut low, mut high) = (0.0_f64, skip);
    if skip - SUSPECTED * low > 1.0 - SUSPECTED {
        low = (skip - (1.0 - SUSPECTED)) / SUSPECTED;
    }
    for _ in 0..40 {
        let middle = 0.5 * (low + high);
        if odds_of_look(of(middle)) > odds { low = middle } else { high = middle }
    }
    of(0.5 * (low + high))
}

/// Odds of a look at an end face with dirt over those at one without.
fn odds_of_look(skip: [f64; 2]) -> f64 {
    let (mut looked, mut left) = ([0.0; 2], [0.0; 2]);
    for suspected in [false, true] {
        let skip = skip[usize::from(suspected)];
        let weight = if suspected { SUSPECTED } else { 1.0 - SUSPECTED };
        let dirt = USUAL_DIRT * dust(suspected);
        let looks = 1.0 - skip * (1.0 - STILL_LOOKED);
        for (dirty, share) in [(0, 1.0 - dirt), (1, dirt)] {
            looked[dirty] += weight * share * looks;
            left[dirty] += weight * share * (1.0 - looks);
        }
    }
    looked[1] * left[0] / (looked[0] * left[1]).max(1e-12)
}
