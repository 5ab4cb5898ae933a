//! What a look saves in every cell of site, stage and family, draw by draw, from the resamples and shrunken ratios of 5.5.

use std::collections::BTreeMap;

use crate::by;
use crate::derive::DeriveError;
use crate::derive::counts::{Family, Site, Stage, VisitRow, Visits, visits};
use crate::measures::evidence::Evidence;
use crate::measures::months::YEAR;
use crate::measures::results::Group;
use crate::measures::skipped_cost::Exposure;
use crate::measures::skipped_cost::books::Books;
use crate::measures::skipped_cost::draws::{DrawnCell, Money, REPLICATES, draw_of};
use crate::measures::skipped_cost::ratio::is_thin;
use crate::measures::skipped_cost::site_weeks::{Line, SiteWeeks};
use crate::stats::random_effects::{Grid, random_effects_of};
use crate::stats::stratified_poisson::summed;
use crate::stats::{CellPosterior, PersonTime};

/// Cells by site, stage and family.
const PARTS: [bool; 3] = [true, true, true];

/// One cell.
#[derive(Clone, Debug, Default)]
pub(super) struct Cell {
    pub group: Group,
    /// Ends mated a month, and those of them that were seen.
    pub ends: f64,
    pub seen: f64,
    /// Minutes of a look, with the cleanings and looks after them that it brings.
    pub minutes: f64,
    /// Minor units of a look alone, and of what it brings.
    pub look_price: f64,
    pub brings: f64,
    /// By draw: what one more look saves, before its price; nothing where the cell is thin.
    pub gross: Vec<f64>,
    /// Too few faults on a side, or no visits that tell how dirty ends are.
    pub thin: bool,
    /// The ratio is what other cells suggest.
    pub borrowed: bool,
    /// Routine first looks there in the months looked back, and those contaminated.
    pub looked: u64,
    pub dirty: u64,
    /// First linked faults on either side.
    pub faults: u64,
}

impl Cell {
    /// By draw: what one more look saves, its price and what it brings paid.
    pub fn net(&self) -> impl Iterator<Item = f64> + '_ {
        self.gross.iter().map(|gross| gross - self.look_price - self.brings)
    }

    /// The mean of that over the draws.
    pub fn mean(&self) -> f64 {
        self.net().sum::<f64>() / self.gross.len().max(1) as f64
    }

    /// Share of the draws in which a look costs more than it saves.
    pub fn costs_more(&self) -> f64 {
        self.net().filter(|net| *net < 0.0).count() as f64 / self.gross.len().max(1) as f64
    }

    /// Share of routine first looks that were dirty.
    pub fn dirty_share(&self) -> Option<f64> {
        (self.looked > 0).then(|| self.dirty as f64 / self.looked as f64)
    }

    /// The share of dirty ends at which a look pays for itself: what a look saves and what it brings go with that share,
    /// its own price does not. None where no share does.
    pub fn share_that_pays(&self) -> Option<f64> {
        let dirty = self.dirty_share()?;
        let gross = self.gross.iter().sum::<f64>() / self.gross.len().max(1) as f64;
        let each = gross - self.brings;
        (each > 0.0).then(|| dirty * self.look_price / each).filter(|share| *share <= 1.0)
    }
}

/// Every cell with follow-up in the months looked back, in the order of display; stages without light have none.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(super) fn cells(books: &Books) -> Result<Vec<Cell>, DeriveError> {
    let Books { evidence, site_weeks, prices, .. } = books;
    let (rules, exposure) = (evidence.rules(), Exposure::Skipped);
    let routine = routine(evidence)?;
    let rows = site_weeks.by_parts(PARTS, exposure);
    let places = &site_weeks.places;
    let risk_sets = |(place, cell): (&[u32; 3], &Followed)| match rows.get(&place.map(Some)) {
        Some(rows) => summed(rows),
        None => cell.sides.clone(),
    };
    let followed = strata(site_weeks, exposure);
    let sides: Vec<Vec<PersonTime>> = followed.iter().map(risk_sets).collect();
    let looks = |[site, stage, family]: &[u32; 3]| {
        let names = [places.site(*site), places.stage(*stage), places.family(*family)];
        routine.get(&names.map(str::to_owned)).copied().unwrap_or_default()
    };
    let looks: Vec<visits::Row> = followed.keys().map(looks).collect();
    let unseen =
        |(place, cell): (&[u32; 3], &Followed)| cell.unseen * site_weeks.years.at(place[0]).looks;
    let unseen: Vec<f64> = followed.iter().map(unseen).collect();
    let is_thin = |at: usize| {
        let few = looks[at].looks < i64::from(rules.least_count);
        is_thin(&sides[at]) || unseen[at] <= 0.0 || few
    };
    let thin: Vec<bool> = (0..sides.len()).map(is_thin).collect();
    // Nothing of thin cells is told, so no money of theirs is drawn: they only say what they know of the spread.
    let told: Vec<usize> = (0..thin.len()).filter(|at| !thin[*at]).collect();
    let effects = (rules.ratio_spread, rules.level);
    let posterior = random_effects_of(&sides, &told, effects, Grid::default());
    let keys: Vec<[u32; 3]> = followed.keys().copied().collect();
    let mut drawn = DrawnCell::by_parts(site_weeks, PARTS, exposure, prices);
    let of_draw = |(at, effect): (&usize, &CellPosterior)| {
        let key = keys[*at].map(Some);
        let mut cell = drawn.remove(&key).unwrap_or_default();
        let rows = rows.get(&key).map_or(&[][..], Vec::as_slice);
        cell.with_ratio(rows, effect.ratio.value, true);
        cell
    };
    let of_draw: Vec<DrawnCell> = told.iter().zip(&posterior.cells).map(of_draw).collect();
    let of_draw: Vec<&DrawnCell> = of_draw.iter().collect();
    let attributable = |money: Money| money.attributable.unwrap_or(0.0);
    let draws =
        draw_of(&of_draw, site_weeks, Some(&posterior), (rules.seed, REPLICATES), attributable);
    let costs = evidence.costs();
    let minute = costs.labour_hour as f64 / 60.0;
    let mut found = Vec::with_capacity(keys.len());
    for (at, (place, cell)) in followed.iter().enumerate() {
        let [site, stage, family] = *place;
        let names = [places.site(site), places.stage(stage), places.family(family)];
        let years = site_weeks.years.at(site).looks;
        let looks = looks[at];
        let price = prices.price(names[1], names[2]);
        let look_price = costs.look_minutes * minute;
        let gross = |told: usize| draws.iter().map(|draw| draw[told] / unseen[at]).collect();
        found.push(Cell {
            group: Group {
                site: Some(names[0].to_owned()),
                stage: Some(names[1].to_owned()),
                family: Some(names[2].to_owned()),
                ..Group::default()
            },
            ends: cell.ends * years / YEAR,
            seen: (cell.ends - cell.unseen) * years / YEAR,
            minutes: prices.minutes(names[1], names[2]),
            look_price,
            brings: (price - look_price).max(0.0),
            gross: told.binary_search(&at).map_or(Vec::new(), gross),
            thin: thin[at],
            borrowed: !sides[at].iter().any(PersonTime::is_informative),
            looked: looks.looks.max(0) as u64,
            dirty: looks.contaminated.max(0) as u64,
            faults: cell.sides.iter().map(|side| side.d1 + side.d0).sum(),
        });
    }
    Ok(found)
}

/// Routine visits of the months looked back, by the names of site, stage and family.
type Routine = BTreeMap<[String; 3], visits::Row>;

fn routine(evidence: &Evidence) -> Result<Routine, DeriveError> {
    let rows = evidence.looked_back().with([VisitRow::Routine]);
    let groups = evidence.groups::<Visits>(&rows, &by!(Site, Stage, Family))?;
    let named = groups.into_iter().map(|group| {
        let names = [0, 1, 2].map(|at| group.words[at].clone());
        (names, group.counts)
    });
    Ok(named.collect())
}

/// What follow-up has of a cell.
#[derive(Clone, Debug, Default)]
struct Followed {
    sides: Vec<PersonTime>,
    ends: f64,
    unseen: f64,
}

/// The strata of every cell, and its ends as counted, by its places of display.
fn strata(site_weeks: &SiteWeeks, exposure: Exposure) -> BTreeMap<[u32; 3], Followed> {
    // Lines of a cell stand together, and in it those of a stratum.
    let of_cell = |lines: &[Line]| {
        let mut cell = Followed::default();
        let telling = lines.iter().filter_map(|line| Some((line, exposure.side(line.coverage)?)));
        let mut before = None;
        for (line, is_exposed) in telling {
            if before.replace(line.stratum) != Some(line.stratum) {
                cell.sides.push(PersonTime::default());
            }
            if let Some(side) = cell.sides.last_mut() {
                let (faults, days) = match is_exposed {
                    true => (&mut side.d1, &mut side.t1),
                    false => (&mut side.d0, &mut side.t0),
                };
                *faults += line.faults;
                *days += line.days;
            }
            cell.ends += 2.0 * line.started as f64;
            cell.unseen += line.unseen_ends as f64;
        }
        (lines[0].place, cell)
    };
    let cells = site_weeks.lines.chunk_by(|a, b| a.place == b.place).map(of_cell);
    cells.filter(|(_, cell)| !cell.sides.is_empty()).collect()
}
