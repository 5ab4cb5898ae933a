//! States the truth of a fleet from what was planted and what was summed while it was lived.

use std::cell::RefCell;

use super::course::Visits;
use super::culprits::Culprits;
use super::departures::Departures;
use super::dirt::Dirt;
use super::event::{Class, Method};
use super::lifecycle::Lifecycle;
use super::luck::{Luck, pass_of_those_left};
use super::place::Place;
use super::plant::*;
use super::purchases::Purchases;
use super::spared::yearly;
use super::tally::Tally;
use super::ticket::expected_cost;
use super::truth::{
    Carriers, Counts, Cycles, Entry, ExportDirt, FirstPass, LinkedFaults, MethodTruth, StepTruth,
    Supplier, Truth, WorstCell,
};
use super::window::Window;
use super::worth::Worth;

/// What a fleet needs to know of itself to state its truth.
pub struct Planted<'a> {
    pub seed: u64,
    pub from: String,
    pub to: String,
    pub demo: bool,
    pub departures: &'a Departures,
    pub places: &'a [Place],
    pub life: &'a Lifecycle,
    pub counts: Counts,
    pub tally: &'a Tally,
    pub dirt: &'a Dirt,
    pub purchases: &'a Purchases,
    pub window: Window,
}

/// States the truth.
pub fn state(planted: &Planted) -> Truth {
    let Planted { tally, dirt, places, life, departures, .. } = planted;
    let worth = worth(planted);
    let (proposals, sets, best_set) = worth.truths();
    Truth {
        seed: planted.seed,
        sites: places.len(),
        from: planted.from.clone(),
        to: planted.to.clone(),
        counts: counts(planted),
        linked_faults: linked_faults(planted),
        cycles: cycles(planted),
        entry: entry(planted),
        first_pass: first_pass(tally, life),
        false_alarm: FALSE_ALARM * departures.dirt_times(),
        miss: MISS,
        carriers: carriers(planted),
        soil: SOIL * departures.dirt_times(),
        dirty_supplier: Supplier {
            name: SUPPLIERS[life.culprits.dirty_supplier].to_string(),
            factor: DIRTY_SUPPLIER,
        },
        exports: ExportDirt {
            bad_dates: dirt.bad_dates,
            unknown_codes: dirt.unknown_codes,
            short_rows: dirt.short_rows,
            repeated_rows: dirt.repeated_rows,
            overlap_rows: dirt.overlap_rows,
            corrected_rows: dirt.corrected_rows,
        },
        proposals,
        best_set,
        stopping: worth.stopping(),
        sets,
        departures: planted.departures.clone(),
    }
}

fn worth<'a>(planted: &Planted<'a>) -> Worth<'a> {
    let Planted { departures, life, purchases, places, tally, .. } = *planted;
    let shared = Luck::of(departures, planted.seed).shared();
    Worth {
        purchases,
        places,
        visits: Visits { life, departures, shared },
        sums: &tally.spared,
        yearly: yearly(&planted.window),
        fault: expected_cost(&purchases.costs),
        courses: RefCell::default(),
    }
}

fn counts(planted: &Planted) -> Counts {
    let class = |class: Class| planted.tally.matings.get(&class).copied().unwrap_or(0);
    Counts {
        matings_both: class(Class::Both),
        matings_one: class(Class::One),
        matings_none: class(Class::None),
        matings_despite_fail: class(Class::DespiteFail),
        ..planted.counts.clone()
    }
}

/// Six decimals: the last digits of a logarithm differ from machine to machine.
fn rounded(number: f64) -> f64 {
    (number * 1e6).round() / 1e6
}

fn named(names: &[&str], numbers: &[f64]) -> Vec<(String, f64)> {
    names.iter().zip(numbers).map(|(name, number)| (name.to_string(), *number)).collect()
}

fn linked_faults(planted: &Planted) -> LinkedFaults {
    let Planted { tally, life, departures, .. } = planted;
    let [confirmed, probable, last_year] = tally.linked;
    let often = departures.faults_times();
    LinkedFaults {
        confirmed,
        probable,
        last_year,
        lagged: tally.lagged,
        others: tally.others.iter().map(|(cause, n)| (cause.to_string(), *n)).collect(),
        rate_ratio_expected: tally.expected_ratio().map(rounded),
        rate_ratio_elsewhere: departures.ratio.unwrap_or(RATIO),
        worst_cells: worst_cells(planted),
        rate_ratio_despite_fail: RATIO_DESPITE,
        factor_after_fault: AFTER_FAULT,
        baseline: life.stages.iter().map(|s| (s.word.to_string(), s.linked * often)).collect(),
        families: named(&FAMILIES, &FAMILY_FAULTS),
        bands: BANDS.iter().map(|&(to, f)| (Some(to).filter(|t| t.is_finite()), f)).collect(),
        other_causes_per_month: OTHER_CAUSES
            .map(|(cause, rate)| (cause.to_string(), rate * often))
            .into(),
    }
}

fn worst_cells(Planted { places, life, departures, .. }: &Planted) -> Vec<WorstCell> {
    let rate_ratio = departures.ratio.unwrap_or(RATIO_WORST);
    let Culprits { worst_cell, worst_family, .. } = life.culprits;
    let site = places.get(worst_cell.0).map(|place| WorstCell {
        site: Some(place.name.clone()),
        stage: life.word(worst_cell.1).to_string(),
        family: None,
        rate_ratio,
    });
    let family = WorstCell {
        site: None,
        stage: life.word(worst_family.0).to_string(),
        family: Some(FAMILIES[worst_family.1].to_string()),
        rate_ratio,
    };
    site.into_iter().chain([family]).collect()
}

fn cycles(Planted { departures, seed, tally, .. }: &Planted) -> Cycles {
    let methods = [Method::Dry, Method::WetDry, Method::Wet, Method::NonContact];
    let shared = Luck::of(departures, *seed).shared();
    let stuck = departures.stays_dirty.unwrap_or(0.0);
    let truth = |method: Method| {
        let pass: Vec<f64> = (1..=6).map(|cycle| pass_hazard(method, cycle, false)).collect();
        let of_those_left = || pass_of_those_left(&pass, shared, stuck);
        MethodTruth {
            method: method.word().to_string(),
            odds_ratio: method_odds(method),
            pass: pass.iter().copied().map(rounded).collect(),
            first_pass_average: tally.cycles.get(&method).map(|(n, sum)| rounded(sum / *n as f64)),
            pass_with_worn_tool: (1..=6)
                .map(|cycle| {
                    let tried = tally.tried.get(&(method, cycle));
                    tried.map(|(n, sum)| rounded(sum / *n as f64))
                })
                .collect(),
            pass_of_those_left: (shared + stuck > 0.0)
                .then(|| of_those_left().into_iter().map(rounded).collect()),
        }
    };
    Cycles {
        methods: methods.into_iter().map(truth).collect(),
        odds_ratio_per_cycle: CYCLE_ODDS,
        defect_uncovered: DEFECT_UNCOVERED,
        limits: LIMITS,
    }
}

fn entry(Planted { tally, life, departures, .. }: &Planted) -> Entry {
    let readily = departures.dirt_times();
    let step = |from: usize, to: usize, hazard: f64| {
        let seen = tally.passages.get(&(from, to)).filter(|[n, ..]| *n > 0.0);
        StepTruth {
            from: life.word(from).to_string(),
            to: life.word(to).to_string(),
            hazard: hazard * readily,
            hazard_average: seen.map(|[n, factors, leads]| rounded((hazard * factors + leads) / n)),
        }
    };
    let stages = &life.stages;
    let between = (1..stages.len()).map(|to| step(to - 1, to, stages[to].into));
    let repeats = (0..stages.len()).map(|stage| step(stage, stage, stages[stage].again));
    let largest = (1..stages.len()).max_by(|&a, &b| stages[a].into.total_cmp(&stages[b].into));
    let largest = largest.unwrap_or(1);
    Entry {
        steps: between.chain(repeats).collect(),
        birth: BIRTH_HAZARD * readily,
        cap_factor: CAP_FACTOR,
        families: named(&FAMILIES, &FAMILY_DIRT),
        largest_step: (life.word(largest - 1).to_string(), life.word(largest).to_string()),
    }
}

fn first_pass(tally: &Tally, life: &Lifecycle) -> Vec<FirstPass> {
    let cell =
        |(&(stage, family, capped), &(visits, sum)): (&(usize, usize, bool), &(u64, f64))| {
            FirstPass {
                stage: life.word(stage).to_string(),
                family: FAMILIES[family].to_string(),
                capped,
                visits,
                pass: rounded(sum / visits.max(1) as f64),
            }
        };
    tally.first.iter().map(cell).collect()
}

fn carriers(Planted { demo, departures, places, life, .. }: &Planted) -> Carriers {
    // The works' leads, or those of every site.
    let sites = &places[..if *demo { places.len().min(1) } else { places.len() }];
    let culprits = life.culprits;
    let of_site =
        |place: &Place| culprits.carriers.map(|lead| super::lead::name(&place.code, lead));
    let readily = departures.dirt_times();
    let dirt =
        |chance: f64| if readily == 1.0 { chance } else { 1.0 - (1.0 - chance).powf(readily) };
    let (site, method, number) = culprits.worn_tool;
    let tool = |place: &Place| format!("{}-{}-{number}", place.code, method.word().to_uppercase());
    Carriers {
        leads: sites.iter().flat_map(of_site).collect(),
        carrier_dirt: dirt(CARRIER_DIRT),
        lead_dirt: dirt(LEAD_DIRT),
        tool: places.get(site).map(tool),
        tool_soil: WORN_SOIL * readily,
        tool_odds_ratio: WORN_ODDS,
    }
}
