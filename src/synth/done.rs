//! Actions that a fleet is drawn with: one that is followed by a change, and one that is not but begins after a bad quarter. Both
//! are about looks before routine matings, and change what happens.

use super::departures::Departures;
use super::event::Minute;
use super::place::Place;
use super::plant::DAY;
use super::world::World;

/// Days from the first day written down until the first action works: eleven months.
const WORKS_FROM: Minute = 334 * DAY;
/// The same until the other one begins: a year; and until the bad quarter before it.
const IDLE_FROM: Minute = 365 * DAY;
const BAD_FROM: Minute = 273 * DAY;
/// Sites go in threes: the third of each has the action that works, the first of all but the first three the other one.
const EACH: usize = 3;
/// Places in such three.
const WORKS_AT: usize = 2;
const IDLE_AT: usize = 0;
/// Name of the action that works.
const WORKS: &str = "Looks before mating made a step of the work order";
/// Name of the other one.
const IDLE: &str = "Reminder on looks before mating";

/// Whether a site has the action that works, or the other one.
fn has(site: usize, which: usize) -> bool {
    site >= EACH - 1 && site % EACH == which
}

/// The probability that looks before a routine mating are skipped at a site and minute, where it would be `skip`.
pub fn skip_since(world: &World, site: usize, at: Minute, skip: f64) -> f64 {
    let since = at - world.window.lived.0;
    let Departures { action_works, action_idle, .. } = world.departures;
    let factor = match (action_works, action_idle) {
        (Some(less), _) if has(site, WORKS_AT) && since >= WORKS_FROM => 1.0 - less,
        (_, Some(more)) if has(site, IDLE_AT) && (BAD_FROM..IDLE_FROM).contains(&since) => {
            1.0 + more
        }
        _ => 1.0,
    };
    (skip * factor).min(0.95)
}

/// What the settings of such a fleet say of it: nothing where nothing is planted.
pub fn settings(departures: &Departures, places: &[Place], start: chrono::NaiveDate) -> String {
    let action = |name: &str, which: usize, from: Minute, cost: &str| {
        let day = start + chrono::Days::new((from / DAY) as u64);
        let sites = places.iter().enumerate().filter(|(site, _)| has(*site, which));
        let names: Vec<String> = sites.map(|(_, place)| format!("{:?}", place.name)).collect();
        format!(
            "\n[[action]]\nname = {name:?}\nfrom = \"{day}\"\nsites = [{}]\nmoves = [\"skipped\"]\ncost = {cost}\n",
            names.join(", ")
        )
    };
    let mut text = String::new();
    if departures.action_works.is_some() {
        text += &action(WORKS, WORKS_AT, WORKS_FROM, "4500.00");
    }
    if departures.action_idle.is_some() {
        text += &action(IDLE, IDLE_AT, IDLE_FROM, "1800.00");
    }
    text
}
