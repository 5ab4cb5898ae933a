//! 5.1, 5.2, 5.5, 5.6, 5.7 through the whole review: a fleet is invented event by event, taken in, derived and reviewed as the
//! program does, and what the review prints is held to what the generator says was planted.
//!
//! Drawn are lives of end faces: hazards a step, chances of a pass a cycle, rates of faults a band, and in some settings luck
//! that events of one order, crew, week or month share. Fitted is whatever the review fits. The seed moves the cells,
//! carriers and hazards that are planted.

use motetrail::measures::carriers::Carrier;
use motetrail::measures::entry::{self, Step};
use motetrail::measures::{Flag, changes, cycles, first_pass, skipped_cost};
use motetrail::synth::{Departures, Recipe};

use super::invented::{FLEETS, Reviewed, SITES, numbered, recipe, reviewed};
use super::score::{Claim, Score, Scores, Setting, alarm, alarms, held, mean};

/// Share of points with a signal that the run rules have on independent normal points: the first row of the charts.
const SIGNALS: f64 = 0.013;

/// What is planted beyond sound records.
struct Planted {
    words: &'static str,
    departures: Departures,
    /// Of numbered sites.
    sites: usize,
    /// Whether shares of the quarter and of the year are the same: no luck is planted that a month shares.
    steady: bool,
}

fn planted() -> Vec<Planted> {
    let luck = Departures::luck_of_the_demo();
    let lasting =
        Departures { faults_month: Some(0.3), faults_quarter: Some(0.3), ..Departures::default() };
    let apart = Departures { apart: Some(3.0), apart_sites: Some(2), ..Departures::default() };
    let rare_dirt = Departures { dirt: Some(0.02), ..Departures::default() };
    let rare_faults = Departures { faults: Some(0.1), ..Departures::default() };
    let on_eight = |words, departures| Planted { words, departures, sites: SITES, steady: true };
    vec![
        on_eight("no departure", Departures::default()),
        Planted { steady: false, ..on_eight("luck of orders; crews; weeks; months", luck) },
        on_eight("luck of faults by month and quarter", lasting),
        Planted { sites: 30, ..on_eight("two sites with threefold dirt and faults", apart) },
        on_eight("one look of 200 fails", rare_dirt),
        on_eight("a tenth of the faults", rare_faults),
    ]
}

/// One setting a departure: fleets of numbered sites.
pub fn settings() -> Vec<Setting> {
    planted().into_iter().map(setting).collect()
}

fn setting(planted: Planted) -> Setting {
    let words = format!("{}; {}", numbered(planted.sites), planted.words);
    let covers = |part, method: &str| Claim::covers(part, method, &words);
    let none = |part, method: &str| Claim::alarms(part, method, &words, 0.05);
    let mut claims = vec![
        covers("5.5", "review; ratio of skipped looks"),
        covers("5.5", "review; ratio of a site and stage; mean over cells"),
        covers("5.6", "review; chance of dirt on a step; both fits; mean over steps"),
        none("5.5", "review; headline flagged confounded"),
        none("5.7", "review; a lead or tool listed that carries nothing"),
        none("5.9", "review; a list of changes with any where nothing changed; q <= 0.05"),
        Claim::alarms("5.1", "review; weeks of first looks with a signal", &words, SIGNALS),
    ];
    if planted.steady {
        claims.push(covers("5.1", "review; first pass of a stage and family; mean over cells"));
        claims.push(covers("5.2", "review; odds of a pass by method; mean over methods"));
    }
    Setting::new(claims, move |draw| {
        let seed = draw.bits() >> 32;
        let recipe = recipe(seed, planted.departures.clone());
        let fleet = reviewed(&Recipe { sites: planted.sites, ..recipe });
        let mut scores: Scores = vec![
            headline(&fleet),
            cells(&fleet),
            entry_steps(&fleet),
            confounded(&fleet),
            innocents(&fleet),
            unchanged(&fleet),
            weeks(&fleet),
        ];
        if planted.steady {
            scores.extend([first_passes(&fleet), odds(&fleet)]);
        }
        scores
    })
    .tables(FLEETS)
}

fn ratio(fleet: &Reviewed) -> Option<&skipped_cost::Row> {
    use skipped_cost::{By, Exposure, Faults, Quantity};
    fleet.review.skipped_cost.rows_of(By::Fleet, Quantity::RateRatio).find(|row| {
        row.own.exposure == Some(Exposure::Skipped)
            && row.own.faults == Some(Faults::Linked)
            && row.own.after_fault != Some(true)
    })
}

/// The headline of 5.5 against the ratio that the planted ones come to.
fn headline(fleet: &Reviewed) -> Option<Score> {
    let row = ratio(fleet)?;
    held([row.low, row.high], fleet.truth.linked_faults.rate_ratio_expected?)
}

/// The headline must not say that something other than dirt differs.
fn confounded(fleet: &Reviewed) -> Option<Score> {
    alarm(ratio(fleet)?.flags.contains(&Flag::Confounded))
}

/// Ratios of sites and stages in which one ratio holds for every family.
fn cells(fleet: &Reviewed) -> Option<Score> {
    use skipped_cost::{By, Exposure, Quantity};
    let faults = &fleet.truth.linked_faults;
    let rows = fleet.review.skipped_cost.rows_of(By::SiteStage, Quantity::NetSaving);
    mean(rows.filter(|row| row.own.exposure == Some(Exposure::Skipped)).map(|row| {
        let (site, stage) = (row.group.site.as_deref()?, row.group.stage.as_deref()?);
        let of_here = |cell: &&motetrail::synth::WorstCell| {
            cell.stage == stage && cell.site.as_deref().is_none_or(|name| name == site)
        };
        let worst: Vec<_> = faults.worst_cells.iter().filter(of_here).collect();
        let truth = match worst.as_slice() {
            [] => faults.rate_ratio_elsewhere,
            [cell] if cell.family.is_none() => cell.rate_ratio,
            _ => return None,
        };
        held([row.own.ratio_low, row.own.ratio_high], truth)
    }))
}

/// Chances of dirt of the last year's passages, as they befell, against the bracket of both fits.
fn entry_steps(fleet: &Reviewed) -> Option<Score> {
    use entry::{By, Quantity};
    let of = |quantity, from: &str, to: &str| {
        fleet.review.entry.rows_of(By::Step, quantity).find(|row| {
            let steps = row.own.steps.as_ref().map(|steps| steps.0.as_slice());
            matches!(steps, Some([Step { from: a, to: b }]) if a == from && b == to)
        })
    };
    mean(fleet.truth.entry.steps.iter().map(|step| {
        let truth = 1.0 - (-step.hazard_average?).exp();
        let less = of(Quantity::EntryLessAlarms, &step.from, &step.to)?;
        held([less.low, of(Quantity::Entry, &step.from, &step.to)?.high], truth)
    }))
}

/// Leads and tools that are listed though they carry nothing.
fn innocents(fleet: &Reviewed) -> Option<Score> {
    let planted = &fleet.truth.carriers;
    let guilty = |name: &str| {
        planted.tool.as_deref() == Some(name) || planted.leads.iter().any(|lead| lead == name)
    };
    let kinds = [Carrier::EndFace, Carrier::ToolCleaning, Carrier::ToolSoiling];
    let mut listed = fleet
        .review
        .carriers
        .listed()
        .filter(|row| row.own.kind.is_some_and(|kind| kinds.contains(&kind)));
    alarm(listed.any(|row| row.own.entity.as_deref().is_some_and(|name| !guilty(name))))
}

/// The lists of changes that name any: hazards, habits and sites stay as they are, and luck is no change.
fn unchanged(fleet: &Reviewed) -> Option<Score> {
    use changes::{Against, By};
    let firm = || fleet.review.changes.rows.iter().filter(|row| row.is_firm());
    let lists = [Against::QuarterBefore, Against::YearBefore]
        .into_iter()
        .flat_map(|against| [true, false].map(|of_fleet| (against, of_fleet)));
    let named = lists.filter_map(|(against, of_fleet)| {
        let list = firm()
            .filter(|row| row.own.against == against && (row.by == By::Fleet) == of_fleet)
            .filter_map(|row| row.own.q);
        let smallest = list.min_by(f64::total_cmp)?;
        Some(smallest <= 0.05)
    });
    alarms(named)
}

/// Weeks of the fleet's first looks at which a run rule signals.
fn weeks(fleet: &Reviewed) -> Option<Score> {
    use first_pass::{By, Quantity};
    let weeks = fleet.review.first_pass.rows_of(By::Week, Quantity::Week);
    alarms(weeks.map(|row| row.own.signal.is_some()))
}

/// Shares of first looks that pass, of the quarter, against the chances of the year.
fn first_passes(fleet: &Reviewed) -> Option<Score> {
    use first_pass::{By, Quantity};
    let rows = fleet.review.first_pass.rows_of(By::StageFamily, Quantity::Clean);
    mean(rows.filter(|row| row.is_firm()).map(|row| {
        let (stage, family) = (row.group.stage.as_deref()?, row.group.family.as_deref()?);
        let here = fleet
            .truth
            .first_pass
            .iter()
            .filter(|cell| cell.stage == stage && cell.family == family);
        let (visits, passes) = here.fold((0.0, 0.0), |(visits, passes), cell| {
            (visits + cell.visits as f64, passes + cell.visits as f64 * cell.pass)
        });
        held([row.low, row.high], passes / visits).filter(|_| visits > 0.0)
    }))
}

/// Odds of a pass of every method against dry, without the tools that the review lists.
fn odds(fleet: &Reviewed) -> Option<Score> {
    use cycles::{By, Quantity};
    let rows: Vec<&cycles::Row> =
        fleet.review.cycles.rows_of(By::Treatment, Quantity::OddsRatioWithoutCarriers).collect();
    mean(fleet.truth.cycles.methods.iter().map(|method| {
        let row = rows.iter().find(|row| row.group.treatment.as_deref() == Some(&method.method))?;
        held([row.low, row.high], method.odds_ratio).filter(|_| row.is_firm())
    }))
}
