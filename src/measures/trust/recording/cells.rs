//! What was looked at and what was found in the months looked back, by site, stage and family.

use std::collections::BTreeMap;

use crate::by;
use crate::derive::DeriveError;
use crate::derive::counts::{Family, LookedAt, MonthNo, Row as _, Site, Stage, looked_at};
use crate::measures::evidence::Evidence;
use crate::stats::within::{WithinRow, WithinSlope, within_slope};

/// Places of a site, a stage and a family in the order of display.
pub(super) type Place = [u32; 3];

/// One month of a site, a stage and a family.
pub(super) struct Cell {
    pub month: MonthNo,
    pub place: Place,
    pub counts: looked_at::Row,
}

/// All of the look-back.
pub(super) struct LookedAtCells {
    /// By place, then month.
    pub cells: Vec<Cell>,
    /// Name of every site by its place.
    pub sites: BTreeMap<u32, String>,
    /// Name of every stage by its place.
    pub stages: BTreeMap<u32, String>,
}

impl LookedAtCells {
    /// Reads them.
    ///
    /// # Errors
    /// A count table that cannot be grouped: a fault of the program.
    pub fn of(evidence: &Evidence) -> Result<LookedAtCells, DeriveError> {
        let (mut cells, mut sites, mut stages) = (Vec::new(), BTreeMap::new(), BTreeMap::new());
        let rows = evidence.looked_back_months();
        for found in evidence.along::<MonthNo, LookedAt>(&rows, &by!(Site, Stage, Family))? {
            let place = [found.places[0], found.places[1], found.places[2]];
            sites.insert(place[0], found.words[0].clone());
            stages.insert(place[1], found.words[1].clone());
            let of_month = |(month, counts)| Cell { month, place, counts };
            cells.extend(found.cells.into_iter().map(of_month));
        }
        Ok(LookedAtCells { cells, sites, stages })
    }

    /// Sums by a key of the cell.
    pub fn sums<K: Ord>(&self, key: impl Fn(&Cell) -> K) -> BTreeMap<K, looked_at::Row> {
        let mut sums: BTreeMap<K, looked_at::Row> = BTreeMap::new();
        for cell in &self.cells {
            sums.entry(key(cell)).or_default().add(&cell.counts);
        }
        sums
    }
}

/// Share of the ends mated that were looked at; none without ends.
pub(super) fn share_looked(counts: &looked_at::Row) -> Option<f64> {
    let looked = (counts.ends - counts.unseen).max(0);
    (counts.ends > 0).then(|| looked as f64 / counts.ends as f64)
}

/// First looks of a cell that failed, and what they may move with.
pub(super) fn failing(cell: &Cell, stratum: u64, at: f64) -> Unclustered {
    let amount = |count: i64| u64::try_from(count).unwrap_or(0);
    let row = WithinRow {
        stratum,
        cluster: 0,
        n: amount(cell.counts.first_looks),
        events: amount(cell.counts.failing),
        at,
    };
    Unclustered { row, site: cell.place[0], month: cell.month.0 }
}

/// Number of the stratum of a place.
pub(super) fn number([site, stage, family]: Place) -> u64 {
    u64::from(site) << 40 | u64::from(stage) << 20 | u64::from(family)
}

/// A row before it is said what its cluster is.
pub(super) struct Unclustered {
    pub row: WithinRow,
    pub site: u32,
    /// Month, or another span of time.
    pub month: u32,
}

/// Fewest sites that are taken for clusters.
const FEWEST_SITES: u64 = 5;

/// The slope with the errors of site-months or of sites, whichever says less: site-months take months of a site as
/// independent, which slow change at a site contradicts; few sites tell little of a variance.
pub(super) fn cautious_slope(rows: &[Unclustered], level: f64) -> WithinSlope {
    let clustered = |cluster: fn(&Unclustered) -> u64| {
        let row = |row: &Unclustered| WithinRow { cluster: cluster(row), ..row.row };
        within_slope(&rows.iter().map(row).collect::<Vec<_>>(), level)
    };
    let by_month = clustered(|row| u64::from(row.site) << 32 | u64::from(row.month));
    let by_site = clustered(|row| row.site.into());
    let says_less =
        by_site.clusters >= FEWEST_SITES && by_site.p.unwrap_or(0.0) > by_month.p.unwrap_or(0.0);
    if says_less { by_site } else { by_month }
}
