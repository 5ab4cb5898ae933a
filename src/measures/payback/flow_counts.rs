//! The flows of a fleet from its count tables and from the tables of the review that came before.

use std::collections::BTreeMap;

use super::flows::{FleetFlows, Place, Skipped, pool};
use crate::derive::{Cell, Definition, DeriveError};
use crate::measures::evidence::Evidence;
use crate::measures::results::Group;
use crate::measures::skipped_cost::draws::{DrawnCell, draw};
use crate::measures::skipped_cost::look_price::LookPrices;
use crate::measures::skipped_cost::site_weeks::SiteWeeks;
use crate::measures::skipped_cost::strata::{EXPOSURES, FollowUp, Within};
use crate::settings::{EffectKind, Proposal};
use crate::stats::random_effects;
use crate::stats::shifted_odds::Exit;

const BY: [&str; 2] = ["site", "stage"];
/// Fewest linked faults whose mean downtime stands for a stage.
const LEAST_FAULTS: i64 = 20;

/// Places in the order of display.
type Places = BTreeMap<[u32; 2], Place>;

/// The flows that these proposals are judged against, but for what other questions answer: hazards of entry and what
/// carriers pass on.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub fn flows(evidence: &Evidence, proposals: &[Proposal]) -> Result<FleetFlows, DeriveError> {
    let yearly = yearly(evidence);
    let prices = LookPrices::of(evidence)?;
    let mut places = Places::new();
    coverage(evidence, &prices, &mut places)?;
    visits(evidence, &prices, &mut places)?;
    cleanings(evidence, &mut places)?;
    exits(evidence, &mut places)?;
    downtime(evidence, &mut places)?;
    let looks: Vec<f64> = places.values().map(|place| place.purse[pool::LOOKS]).collect();
    let mut flows = FleetFlows {
        stages: evidence.plan.stages.order.clone(),
        places: places.into_values().map(|place| yearly_place(evidence, place, yearly)).collect(),
        yearly,
        cleaning_minutes: evidence.costs().cleaning_minutes,
        guessed_cover: evidence.guessed_cover(None).is_some(),
        ..FleetFlows::default()
    };
    skipped(evidence, &prices, &looks, &mut flows)?;
    for effect in proposals.iter().flat_map(|proposal| &proposal.effects) {
        let EffectKind::Cleaning { contrast: Some((method, other)), .. } = &effect.kind else {
            continue;
        };
        if let Some(contrast) = crate::measures::cycles::contrast(evidence, method, other) {
            flows.contrasts.insert((method.clone(), other.clone()), contrast);
        }
    }
    Ok(flows)
}

/// What the months looked back are multiplied by: those before the first record count for nothing.
fn yearly(evidence: &Evidence) -> f64 {
    let first = evidence.derived.calendar.quarter(0);
    let quarters = evidence.derived.period.look_back.iter().filter(|own| **own >= first).count();
    4.0 / quarters.max(1) as f64
}

fn place<'p>(places: &'p mut Places, cell: &Cell) -> &'p mut Place {
    let place = places.entry([cell.places[0], cell.places[1]]).or_default();
    if place.site.is_empty() {
        (place.site, place.stage) = (cell.group[0].clone(), cell.group[1].clone());
    }
    place
}

/// Matings and their unseen ends; these with what looking would cost.
fn coverage(
    evidence: &Evidence,
    prices: &LookPrices,
    places: &mut Places,
) -> Result<(), DeriveError> {
    let by = ["site", "stage", "family", "coverage"];
    let sums = ["matings", "unseen_ends"];
    for cell in evidence.cells("matings", &evidence.look_back(), &by, &sums)? {
        let [matings, unseen] = [0, 1].map(|at| cell.sums[at].max(0) as f64);
        let price = prices.price(&cell.group[1], &cell.group[2]);
        let class = cell.group[3].as_str();
        let place = place(places, &cell);
        if class != "unknown" {
            place.known += matings;
        }
        if class == "both" {
            place.both += matings;
        } else if EXPOSURES[0].1.contains(&class) {
            place.skipped += matings;
            place.unseen_ends += unseen;
            place.purse[pool::LOOKS] += unseen * price;
        }
    }
    Ok(())
}

fn visits(
    evidence: &Evidence,
    prices: &LookPrices,
    places: &mut Places,
) -> Result<(), DeriveError> {
    let stages = &evidence.plan.stages.order;
    let by = ["site", "stage", "family"];
    let sums = ["looks", "contaminated", "cleanings", "rejects"];
    for cell in evidence.cells("visits", &evidence.look_back(), &by, &sums)? {
        let [looks, dirty, cleanings, rejects] =
            std::array::from_fn(|at| cell.sums[at].max(0) as f64);
        let at = stages.iter().position(|stage| *stage == cell.group[1]);
        let before = at.and_then(|at| stages.get(at.checked_sub(1)?));
        let place = place(places, &cell);
        place.first_looks += looks;
        place.dirty += dirty;
        place.cleanings += cleanings;
        place.purse[pool::REJECTS] += rejects * evidence.costs().reject as f64;
        if let Some(before) = before {
            place.purse[pool::ARRIVALS] += looks * prices.price(before, &cell.group[2]);
        }
    }
    Ok(())
}

fn cleanings(evidence: &Evidence, places: &mut Places) -> Result<(), DeriveError> {
    let minute = evidence.costs().labour_hour as f64 / 60.0;
    let by = ["site", "stage", "method"];
    let sums = ["cycles", "cleanings", "while_clean", "while_clean_seen"];
    for cell in evidence.cells("cleanings", &evidence.look_back(), &by, &sums)? {
        let [cycles, cleanings, clean, seen] =
            std::array::from_fn(|at| cell.sums[at].max(0) as f64);
        let method = cell.group[2].clone();
        let place = place(places, &cell);
        *place.by_method.entry(method).or_default() += cleanings + clean;
        place.purse[pool::LOOKS_AGAIN] += (cycles + seen) * evidence.costs().look_minutes * minute;
    }
    Ok(())
}

fn exits(evidence: &Evidence, places: &mut Places) -> Result<(), DeriveError> {
    let sums = ["passed", "rejected", "left", "censored"];
    for (view, by) in [
        ("all", &["site", "stage", "cycle"][..]),
        ("method", &["site", "stage", "cycle", "method"][..]),
    ] {
        let only = evidence.look_back().with("view", &[view]);
        for cell in evidence.cells("cycles", &only, by, &sums)? {
            let method = cell.group.get(3).cloned().unwrap_or_default();
            let cycle = cell.places[2] as usize;
            let exits = place(places, &cell).exits.entry(method).or_default();
            if exits.len() <= cycle {
                exits.resize(cycle + 1, Exit::default());
            }
            let [succeeded, taken_out, gave_up, censored] =
                std::array::from_fn(|at| cell.sums[at].max(0) as u64);
            exits[cycle] = Exit { succeeded, taken_out, gave_up, censored };
        }
    }
    Ok(())
}

/// Mean downtime of a linked fault of the stage, of all stages where it has too few.
fn downtime(evidence: &Evidence, places: &mut Places) -> Result<(), DeriveError> {
    let only = evidence.look_back().with("level", &["probable", "confirmed"]);
    let cells = evidence.cells("faults", &only, &["stage"], &["faults", "downtime_min"])?;
    let all = cells.iter().fold((0_i64, 0_i64), |sum, cell| {
        (sum.0.saturating_add(cell.sums[0]), sum.1.saturating_add(cell.sums[1]))
    });
    let mean = |(faults, minutes): (i64, i64)| {
        if faults > 0 { minutes.max(0) as f64 / faults as f64 } else { 0.0 }
    };
    for place in places.values_mut() {
        let own = cells.iter().find(|cell| cell.group[0] == place.stage);
        let own = own.map(|cell| (cell.sums[0], cell.sums[1]));
        place.downtime_min = mean(own.filter(|own| own.0 >= LEAST_FAULTS).unwrap_or(all));
    }
    Ok(())
}

/// Counts of the look-back as those of a year, and the money of cleanings from their number.
fn yearly_place(evidence: &Evidence, mut place: Place, yearly: f64) -> Place {
    let costs = evidence.costs();
    let minutes = place.cleanings * costs.cleaning_minutes;
    place.purse[pool::LABOUR] = minutes * costs.labour_hour as f64 / 60.0;
    place.purse[pool::MATERIAL] = place.cleanings * costs.cleaning_material as f64;
    for count in [
        &mut place.known,
        &mut place.both,
        &mut place.skipped,
        &mut place.unseen_ends,
        &mut place.first_looks,
        &mut place.dirty,
        &mut place.cleanings,
    ] {
        *count *= yearly;
    }
    place.by_method.values_mut().for_each(|count| *count *= yearly);
    place.purse.iter_mut().for_each(|money| *money *= yearly);
    place
}

/// The draws of 5.5 by site and stage: the same ratios, costs and resamples as in its table. A place
/// without follow-up (no light there, or no cover) has looks to pay for and no fault to avoid.
fn skipped(
    evidence: &Evidence,
    prices: &LookPrices,
    looks: &[f64],
    flows: &mut FleetFlows,
) -> Result<(), DeriveError> {
    let rules = evidence.rules();
    let exposed = EXPOSURES[0].1;
    let (follow_up, site_weeks) = (FollowUp::of(evidence)?, SiteWeeks::of(evidence));
    let within: Vec<Within> = flows.places.iter().map(within).collect();
    for (place, within) in flows.places.iter_mut().zip(&within) {
        place.strata = follow_up.strata(within, exposed, 0);
        place.control = follow_up.strata(within, exposed, Definition::ALL.len() - 1);
    }
    let cells: Vec<Cell> = evidence.cells("follow_up", &evidence.look_back(), &BY, &["started"])?;
    let groups: Vec<Group> = cells.iter().map(|cell| Group::of(&BY, &cell.group)).collect();
    let of_group = |group: &Group| {
        let within = Within { group: group.clone(), after_fault: false };
        follow_up.strata(&within, exposed, 0)
    };
    let strata: Vec<_> = groups.iter().map(of_group).collect();
    let posterior = random_effects(&strata, rules.ratio_spread, rules.level);
    let mut drawn = DrawnCell::by_group(&site_weeks, &BY, exposed, prices);
    let rows = site_weeks.by_group(&BY, exposed);
    let keys: Vec<[Option<u32>; 3]> = groups.iter().map(|group| site_weeks.place(group)).collect();
    for (key, cell) in keys.iter().zip(&posterior.cells) {
        let own = rows.get(key).map_or(&[][..], Vec::as_slice);
        drawn.entry(*key).or_default().with_ratio(own, cell.ratio.value, true);
    }
    let own: Vec<&DrawnCell> = keys.iter().filter_map(|key| drawn.get(key)).collect();
    let often = (rules.seed, rules.draws.into());
    let draws = draw(&own, &site_weeks.clusters, Some(&posterior), often);
    flows.clusters = site_weeks.clusters.len() as u64;
    // Where each place stands among the groups.
    let at = |group: &Group| groups.iter().position(|own| own == group);
    let at: Vec<Option<usize>> = within.iter().map(|within| at(&within.group)).collect();
    let counted = |place: usize| -> f64 {
        // Mean of the resampled looks of a place, to scale its own looks by.
        let looks = draws.iter().map(|draw| draw[place].looks);
        looks.sum::<f64>() / draws.len().max(1) as f64
    };
    let counted: Vec<f64> = (0..groups.len()).map(counted).collect();
    let yearly = flows.yearly;
    let skipped = |draw: &Vec<crate::measures::skipped_cost::draws::Money>| -> Vec<Skipped> {
        let one = |(place, at): (usize, &Option<usize>)| {
            let all = looks[place] * yearly;
            let Some(at) = at else { return Skipped { looks: all, ..Skipped::default() } };
            let own = &draw[*at];
            let factor = if counted[*at] > 0.0 { own.looks / counted[*at] } else { 1.0 };
            Skipped {
                cost: own.cost * yearly,
                associated: own.attributable.unwrap_or(0.0) * yearly,
                faults: own.faults * yearly,
                looks: all * factor,
            }
        };
        at.iter().enumerate().map(one).collect()
    };
    flows.skipped = draws.iter().map(skipped).collect();
    Ok(())
}

fn within(place: &Place) -> Within {
    let words = [place.site.clone(), place.stage.clone()];
    Within { group: Group::of(&BY, &words), after_fault: false }
}
