//! The flows of a fleet from its count tables and from the tables of the review that came before.

use std::collections::BTreeMap;

use rayon::prelude::*;

use super::flows::{Arriving, FleetFlows, Place, Skipped};
use super::scatter::{amount, busier, looks_without_follow_up};
use super::visits::{VisitWeek, VisitWeeks, more_rejects};
use crate::by;
use crate::derive::counts::{
    Beginnings, Cleanings, Coverage, CycleNo, Cycles, Family, Faults, FromStage, Level, MatedEnds,
    Matings, Method, PassageKind, Passages, Site, Stage, View, Visits, cycles, faults,
};
use crate::derive::{Definition, DeriveError, Listing};
use crate::measures::cycles::{ToolCycles, contrast};
use crate::measures::draw_name::site_week;
use crate::measures::evidence::{Evidence, names_apart};
use crate::measures::months::{a_year, pooled, short_history};
use crate::measures::prices::Price;
use crate::measures::results::Group;
use crate::measures::skipped_cost::books::Books;
use crate::measures::skipped_cost::draws::Money;
use crate::measures::skipped_cost::look_price::LookPrices;
use crate::measures::skipped_cost::strata::Within;
use crate::measures::skipped_cost::{By, Exposure};
use crate::settings::{EffectKind, Proposal};
use crate::stats::shifted_odds::Exit;
use crate::stats::stratified_poisson::{StratifiedRow, null_dispersion};

/// Fewest linked faults that state a downtime whose mean stands for a stage.
const LEAST_FAULTS: i64 = 20;
const MINUTES: f64 = 60.0;

/// Places in the order of display, by the places of their sites and stages.
type Places = BTreeMap<[u32; 2], Place>;

/// The flows that these proposals are judged against, but for what other questions answer: hazards of entry and what
/// carriers pass on. Methods are compared without the tools that are listed as carriers: replacing those is a purchase of
/// its own.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn flows(
    books: &Books,
    proposals: &[Proposal],
    tools: &ToolCycles,
) -> Result<FleetFlows, DeriveError> {
    let Books { evidence, prices, .. } = books;
    let mut places = Places::new();
    coverage(evidence, prices, &mut places)?;
    visits(evidence, prices, &mut places)?;
    let seen_clean = cleanings(evidence, &mut places)?;
    exits(evidence, &mut places)?;
    beginnings(evidence, &seen_clean, &mut places)?;
    downtime(evidence, &mut places)?;
    let at: Vec<[u32; 2]> = places.keys().copied().collect();
    let mut flows = FleetFlows {
        stages: evidence.plan.stages.order.clone(),
        yearly: yearly(evidence, places.values()),
        places: places.into_values().map(|place| yearly_place(evidence, place)).collect(),
        short_history: short_history(evidence.months.named(None).recorded).is_some(),
        cleaning_minutes: evidence.costs().cleaning_minutes,
        guessed_cover: evidence.guessed_cover(None).is_some(),
        names_apart: names_apart(evidence.apart(&Group::default())).is_some(),
        ..FleetFlows::default()
    };
    let alone = skipped(books, &mut flows)?;
    busier(evidence, &mut flows);
    looks_without_follow_up(evidence, &mut flows, &alone);
    let block = books.site_weeks.block;
    let cluster =
        |site: &str, week: u32| site_week(site, block.map_or(0, |block| block.of_week(week)));
    flows.visits = Some(visit_weeks(evidence, (&at, &flows.places), &cluster));
    rejects(&mut flows);
    for effect in proposals.iter().flat_map(|proposal| &proposal.effects) {
        let EffectKind::Cleaning { contrast: Some((method, other)), .. } = &effect.kind else {
            continue;
        };
        if let Some(contrast) = contrast(evidence, (method, other), cluster) {
            let contrast = tools.shifted(contrast, method, other);
            flows.contrasts.insert((method.clone(), other.clone()), contrast);
        }
    }
    Ok(flows)
}

/// What the fleet's counts of the months looked back are multiplied by to be of a year, where they are not known by
/// site: as its sites' first looks are.
fn yearly<'p>(evidence: &Evidence, places: impl Iterator<Item = &'p Place>) -> f64 {
    let months = |place: &Place| evidence.months.named(Some(&place.site)).recorded;
    let looks = places.map(|place| (place.first_looks, months(place)));
    pooled(looks).map_or(1.0, a_year)
}

/// The place of a group that is by site, stage and whatever else.
fn place<'p>(places: &'p mut Places, words: &[String], at: &[u32]) -> &'p mut Place {
    let place = places.entry([at[0], at[1]]).or_default();
    if place.site.is_empty() {
        (place.site, place.stage) = (words[0].clone(), words[1].clone());
    }
    place
}

/// Matings and their unseen ends; these with what looking would cost.
fn coverage(
    evidence: &Evidence,
    prices: &LookPrices,
    places: &mut Places,
) -> Result<(), DeriveError> {
    let by = by!(Site, Stage, Family);
    for group in evidence.along::<Coverage, Matings>(&evidence.looked_back(), &by)? {
        let price = prices.price(&group.words[1], &group.words[2]);
        let place = place(places, &group.words, &group.places);
        for (class, counts) in &group.cells {
            let (matings, unseen) = (amount(counts.matings), amount(counts.unseen_ends));
            if Coverage::known().any(|known| known == *class) {
                place.known += matings;
            }
            if *class == Coverage::Both {
                place.both += matings;
            }
            if Exposure::Skipped.side(*class) == Some(true) {
                place.skipped += matings;
                place.unseen_ends += unseen;
                place.purse.looks += unseen * price;
            }
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
    // First looks by family, with what one would have cost a stage earlier.
    let mut arrivals: BTreeMap<[u32; 2], Vec<Arriving>> = BTreeMap::new();
    let by = by!(Site, Stage, Family);
    for group in evidence.groups::<Visits>(&evidence.looked_back(), &by)? {
        let [_, stage, family] = &group.words[..] else { continue };
        let at = stages.iter().position(|known| known == stage);
        let before = at.and_then(|at| stages.get(at.checked_sub(1)?));
        let counts = group.counts;
        let place = place(places, &group.words, &group.places);
        place.first_looks += amount(counts.looks);
        place.dirty += amount(counts.contaminated);
        place.cleanings += amount(counts.cleanings);
        // What a look finds that did not come off is found whatever is done against dirt.
        place.purse.rejects += amount(counts.rejects_contaminated) * evidence.costs().reject as f64;
        if let Some(before) = before {
            let price = prices.price(before, family);
            let (stage, family) = (before.clone(), family.clone());
            let one = Arriving { stage, family, ends: amount(counts.looks), price };
            arrivals.entry([group.places[0], group.places[1]]).or_default().push(one);
        }
    }
    for group in
        evidence.groups::<MatedEnds>(&evidence.looked_back(), &by!(Site, Stage, FromStage))?
    {
        let at = stages.iter().position(|known| *known == group.words[1]);
        let before = at.and_then(|at| stages.get(at.checked_sub(1)?));
        let place = place(places, &group.words, &group.places);
        let ends = amount(group.counts.ends);
        place.mated_ends += ends;
        place.counted_ends += ends;
        if before == Some(&group.words[2]) {
            place.looked_before += ends;
        }
    }
    let routine = evidence.looked_back().with([PassageKind::Routine]);
    for group in evidence.groups::<Passages>(&routine, &by!(Site, Stage, FromStage))? {
        let place = place(places, &group.words, &group.places);
        *place.passages.entry(group.words[2].clone()).or_default() += amount(group.counts.passages);
    }
    // A look one stage earlier at every end that comes to be mated, at the price of the families looked at.
    for (at, mut arrivals) in arrivals {
        let looks: f64 = arrivals.iter().map(|one| one.ends).sum();
        if let Some(place) =
            places.get_mut(&at).filter(|place| looks > 0.0 && place.mated_ends > 0.0)
        {
            arrivals.iter_mut().for_each(|one| one.ends *= place.mated_ends / looks);
            place.purse.arrivals = arrivals.iter().map(|one| one.ends * one.price).sum();
            place.arrivals = arrivals;
        }
    }
    Ok(())
}

/// Cleanings by method; how many of each place were of end faces seen clean, and looked at after.
fn cleanings(
    evidence: &Evidence,
    places: &mut Places,
) -> Result<BTreeMap<[u32; 2], f64>, DeriveError> {
    let minute = evidence.costs().labour_hour as f64 / MINUTES;
    let mut seen_clean: BTreeMap<[u32; 2], f64> = BTreeMap::new();
    let by = by!(Site, Stage, Method);
    for group in evidence.groups::<Cleanings>(&evidence.looked_back(), &by)? {
        let counts = group.counts;
        let made = amount(counts.cleanings) + amount(counts.while_clean);
        let closed = amount(counts.cycles) + amount(counts.while_clean_seen);
        let place = place(places, &group.words, &group.places);
        *place.by_method.entry(group.words[2].clone()).or_default() += made;
        *place.soiled.entry(group.words[2].clone()).or_default() += amount(counts.soiled);
        *seen_clean.entry([group.places[0], group.places[1]]).or_default() +=
            amount(counts.while_clean_seen);
        place.purse.looks_again += closed * evidence.costs().look_minutes * minute;
    }
    Ok(seen_clean)
}

/// How visits left, of all methods and by that of the first cycle.
fn exits(evidence: &Evidence, places: &mut Places) -> Result<(), DeriveError> {
    let all = evidence.looked_back().with([View::All]);
    for group in evidence.along::<CycleNo, Cycles>(&all, &by!(Site, Stage))? {
        place(places, &group.words, &group.places).exits = by_cycle(&group.cells);
    }
    let by_method = evidence.looked_back().with([View::Method]);
    for group in evidence.along::<CycleNo, Cycles>(&by_method, &by!(Site, Stage, Method))? {
        let place = place(places, &group.words, &group.places);
        place.exits_by_method.insert(group.words[2].clone(), by_cycle(&group.cells));
    }
    Ok(())
}

/// How visits left, week by week, of the places that stand at `at`.
fn visit_weeks(
    evidence: &Evidence,
    (at, places): (&[[u32; 2]], &[Place]),
    cluster: &dyn Fn(&str, u32) -> u64,
) -> VisitWeeks {
    let glossary = &evidence.derived.glossary;
    let (sites, stages) = (Listing::of(&glossary.site), Listing::of(&glossary.stage));
    let cells = evidence.derived.counts.cleaning.cycles.cells().into_iter();
    let weeks = cells.filter(|(cell, _)| evidence.is_looked_back(cell.quarter));
    let week = |(cell, counts): (cycles::Key, cycles::Row)| {
        let place = at.binary_search(&[sites.place(cell.site.0), stages.place(cell.stage.0)]);
        let place = place.ok()?;
        let method = match cell.view {
            View::All => None,
            View::Method => Some(glossary.method.0.word(cell.method.0).to_owned()),
        };
        let cluster = cluster(&places[place].site, cell.week.0);
        let cycle = cell.cycle.0 as usize;
        Some(VisitWeek { cluster, place, method, cycle, exit: exit(&counts) })
    };
    VisitWeeks::of(evidence.rules().seed, places.iter().map(Place::left), weeks.filter_map(week))
}

/// Rejects in every draw, as often after a visit that began contaminated as in the draw's own visits.
fn rejects(flows: &mut FleetFlows) {
    let FleetFlows { visits: Some(weeks), places, skipped, .. } = flows else { return };
    skipped.par_iter_mut().enumerate().for_each(|(draw, skipped)| {
        let drawn = weeks.drawn(draw);
        for (at, (skipped, place)) in skipped.iter_mut().zip(&*places).enumerate() {
            skipped.rejects = more_rejects(drawn.at(at).all, &place.exits);
        }
    });
}

/// Which part of the cleanings was of clean ends, and rejects of visits that began with a cleaning: these are taken to find
/// as much dirt, to reject and to soil as often, as those that began with a look.
fn beginnings(
    evidence: &Evidence,
    seen_clean: &BTreeMap<[u32; 2], f64>,
    places: &mut Places,
) -> Result<(), DeriveError> {
    // Cleanings of end faces not known to be clean: those that a visit began with, nobody having looked, among them.
    let mut unknown: BTreeMap<Vec<u32>, f64> = BTreeMap::new();
    for group in evidence.groups::<Cleanings>(&evidence.looked_back(), &by!(Site, Stage))? {
        unknown.insert(group.places, amount(group.counts.cleanings));
    }
    for group in evidence.groups::<Beginnings>(&evidence.looked_back(), &by!(Site, Stage))? {
        let (visits, looks) = (amount(group.counts.visits), amount(group.counts.looks));
        let place = place(places, &group.words, &group.places);
        let clean =
            if place.first_looks > 0.0 { 1.0 - place.dirty / place.first_looks } else { 0.0 };
        if place.cleanings > 0.0 {
            let unknown = unknown.get(&group.places).copied().unwrap_or(0.0);
            let on_dirt = unknown - (visits - looks).max(0.0) * clean;
            place.on_clean = (1.0 - on_dirt / place.cleanings).clamp(0.0, 1.0);
        }
        if looks > 0.0 {
            place.purse.rejects *= visits / looks;
            let seen = seen_clean.get(&[group.places[0], group.places[1]]).copied().unwrap_or(0.0);
            let unseen = (visits - looks).max(0.0) * clean;
            let all = if seen > 0.0 { 1.0 + unseen / seen } else { 1.0 };
            place.soiled.values_mut().for_each(|soiled| *soiled *= all * looks / visits);
        }
    }
    Ok(())
}

/// Exits cycle by cycle, from those before the first on.
fn by_cycle(cells: &[(CycleNo, cycles::Row)]) -> Vec<Exit> {
    let mut exits = Vec::new();
    for (CycleNo(cycle), counts) in cells {
        exits.resize(*cycle as usize, Exit::default());
        exits.push(exit(counts));
    }
    exits
}

fn exit(counts: &cycles::Row) -> Exit {
    let count = |count: i64| count.max(0) as u64;
    Exit {
        succeeded: count(counts.passed),
        taken_out: count(counts.rejected),
        gave_up: count(counts.left),
        censored: count(counts.censored),
    }
}

/// Mean downtime of the linked faults of the stage that state one, of all stages where it has too few.
fn downtime(evidence: &Evidence, places: &mut Places) -> Result<(), DeriveError> {
    let linked = evidence.looked_back::<Faults>().with([Level::Probable, Level::Confirmed]);
    let groups = evidence.groups(&linked, &by!(Stage))?;
    let all = evidence.groups(&linked, &by!())?.first().map(|all| all.counts).unwrap_or_default();
    let mean = |counts: faults::Row| {
        let stated = counts.downtime_stated as f64;
        if counts.downtime_stated > 0 { amount(counts.downtime_min) / stated } else { 0.0 }
    };
    for place in places.values_mut() {
        let of_stage = groups.iter().find(|group| group.words[0] == place.stage);
        let enough = of_stage.filter(|group| group.counts.downtime_stated >= LEAST_FAULTS);
        place.downtime_min = mean(enough.map_or(all, |group| group.counts));
    }
    Ok(())
}

/// Counts of the look-back as those of a year, by the months that the site's records cover, and the money of cleanings
/// from their number.
fn yearly_place(evidence: &Evidence, mut place: Place) -> Place {
    let (costs, covered) = (evidence.costs(), evidence.months.named(Some(&place.site)));
    let yearly = a_year(covered.recorded);
    let minutes = place.cleanings * costs.cleaning_minutes;
    let labour = minutes * costs.labour_hour as f64 / MINUTES;
    place.purse.labour_on_clean = labour * place.on_clean;
    place.purse.labour = labour - place.purse.labour_on_clean;
    let on_dirt = 1.0 - place.on_clean;
    place.purse.material = on_dirt * place.cleanings * costs.cleaning_material as f64;
    place.purse.looks_again *= on_dirt;
    for count in [
        &mut place.known,
        &mut place.both,
        &mut place.skipped,
        &mut place.unseen_ends,
        &mut place.first_looks,
        &mut place.dirty,
        &mut place.mated_ends,
        &mut place.cleanings,
    ] {
        *count *= yearly;
    }
    place.by_method.values_mut().for_each(|count| *count *= yearly);
    place.passages.values_mut().for_each(|count| *count *= yearly);
    place.arrivals.iter_mut().for_each(|one| one.ends *= yearly);
    place.purse = place.purse.map(|money| money * yearly);
    place
}

/// The draws of 5.5 by site and stage: the same ratios, costs and resamples as in its table. A place
/// without follow-up (no light there, or no cover) has looks to pay for and no fault to avoid; told is which these are.
fn skipped(books: &Books, flows: &mut FleetFlows) -> Result<Vec<usize>, DeriveError> {
    let Books { evidence, follow_up, site_weeks, .. } = books;
    let (rules, book) = (evidence.rules(), evidence.prices());
    flows.unpriced_limit = evidence.rules().unpriced_limit;
    flows.unpriced = book.flag(&Price::default(), flows.unpriced_limit).is_some();
    let (by, exposure) = (By::SiteStage, Exposure::Skipped);
    let linked = site_weeks.by_group(by, exposure);
    let control = site_weeks.risk_sets.by_parts(by.parts(), exposure, Definition::Control, false);
    let all: Vec<StratifiedRow> = control.values().flatten().copied().collect();
    flows.control_scatter = null_dispersion(&all, evidence.rules().level);
    for place in &mut flows.places {
        let within = Within { group: group_of(place), after_fault: false };
        let key = site_weeks.places.key(&within.group);
        let events = |rows: &BTreeMap<_, Vec<StratifiedRow>>, faults| {
            let rows = rows.get(&key).map_or(&[][..], Vec::as_slice);
            follow_up.events(rows, &within, exposure, faults)
        };
        let linked = events(&linked, Definition::Linked);
        let control = events(&control, Definition::Control);
        (place.strata, place.control) = (linked, control);
        let skipped = |coverage| Exposure::Skipped.side(coverage) == Some(true);
        let price = book.price(&within.group, |line| line.coverage.is_some_and(skipped));
        (place.tickets, place.unpriced) = (price.sums.tickets, price.sums.unpriced);
    }
    let cells = books.by_site_stage()?;
    let draws = cells.draws(books, (rules.seed, rules.draws.into()));
    // Where each place stands among the groups.
    let found: Vec<Option<usize>> = flows
        .places
        .iter()
        .map(|place| cells.groups.iter().position(|group| *group == group_of(place)))
        .collect();
    let places = || flows.places.iter().zip(&found);
    let in_draw = |draw: &Vec<Money>| -> Vec<Skipped> {
        let of_place = |(place, found): (&Place, &Option<usize>)| match found {
            Some(at) => drawn(&draw[*at]),
            None => Skipped { looks: place.purse.looks, ..Skipped::default() },
        };
        places().map(of_place).collect()
    };
    let skipped = draws.iter().map(in_draw).collect();
    let alone = (0..found.len()).filter(|at| found[*at].is_none()).collect();
    (flows.skipped, flows.clusters) = (skipped, site_weeks.clusters.len() as u64);
    Ok(alone)
}

/// What a draw gives for a place: faults and looks of the same matings, none of them made after a fault.
fn drawn(money: &Money) -> Skipped {
    Skipped {
        // Without any price there is no cost, and the flag says so.
        cost: money.cost.unwrap_or(0.0),
        associated: money.attributable.unwrap_or(0.0),
        faults: money.faults,
        looks: money.looks,
        busier: 0.0,
        rejects: 0.0,
    }
}

fn group_of(place: &Place) -> Group {
    let (site, stage) = (Some(place.site.clone()), Some(place.stage.clone()));
    Group { site, stage, ..Group::default() }
}
