//! How much more than chance the faults of site-weeks scatter (5.4), and what a row's interval takes of it.
//!
//! A site-week's faults are compared with what the rates of its stages and families make of its time, so
//! that a bad week of a whole site counts as one. Sites that differ scatter too: intervals of several
//! sites hold that. Where the site-weeks were too many to be kept, the site is the cluster.

use std::collections::BTreeMap;

use crate::derive::{Cell, DeriveError, Only};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::stats::{Part, Scatter, scatter};

/// Columns of events and seconds by level, in the order of the count tables.
pub const LEVELS: [(&str, [&str; 2]); 3] = [
    ("linked", ["linked", "linked_s"]),
    ("confirmed", ["confirmed", "confirmed_s"]),
    ("suspect", ["suspect", "suspect_s"]),
];
const SUMS: [&str; 6] = ["linked", "linked_s", "confirmed", "confirmed_s", "suspect", "suspect_s"];
/// Columns that a row may be grouped by.
const PLACES: [&str; 4] = ["quarter", "site", "stage", "family"];

/// Faults and time of one site-week, stage, family and band.
struct Line {
    /// By [`PLACES`].
    places: [u32; 4],
    cluster: u64,
    stratum: u64,
    sums: [i64; 6],
}

/// The site-weeks of some quarters.
pub struct SiteWeekFaults {
    lines: Vec<Line>,
    few_clusters: u64,
    level: f64,
}

/// The over-dispersion of every row of a grouping.
pub struct Spreads {
    of: BTreeMap<Vec<u32>, Scatter>,
    all: Scatter,
    few_clusters: u64,
    level: f64,
}

/// What a row's interval takes.
#[derive(Clone, Copy, Debug)]
pub struct Spread {
    /// By how much variances are multiplied, not below 1.
    pub phi: f64,
    /// Chance of as much scatter without clustering; of the row's own site-weeks.
    pub p: Option<f64>,
    /// Site-weeks that the over-dispersion rests on.
    pub clusters: u64,
    /// Not even all rows together have enough of them.
    pub few: bool,
}

impl Spread {
    /// The flag it stands for.
    pub fn flag(&self) -> Option<Flag> {
        self.few.then_some(Flag::FewClusters)
    }
}

impl SiteWeekFaults {
    /// Matings in force, by the week of their time.
    ///
    /// # Errors
    /// A count table that cannot be grouped: a fault of the program.
    pub fn in_force(evidence: &Evidence, only: &Only) -> Result<Self, DeriveError> {
        let by = ["quarter", "site", "week", "stage", "family"];
        let weekly = evidence.cells("force_weeks", only, &by, &SUMS)?;
        if !weekly.is_empty() {
            return Ok(Self::of(evidence, &by, &weekly));
        }
        let by = ["quarter", "site", "stage", "family"];
        Ok(Self::of(evidence, &by, &evidence.cells("in_force", only, &by, &SUMS)?))
    }

    /// Matings of the period, by the week in which they were made.
    ///
    /// # Errors
    /// A count table that cannot be grouped: a fault of the program.
    pub fn by_horizon(evidence: &Evidence) -> Result<Self, DeriveError> {
        let by = ["site", "week", "stage", "family", "band"];
        let weekly = evidence.cells("follow_weeks", &Only::all(), &by, &SUMS)?;
        if !weekly.is_empty() {
            return Ok(Self::of(evidence, &by, &weekly));
        }
        let by = ["site", "stage", "family", "band"];
        let cells = evidence.cells("follow_up", &evidence.period(), &by, &SUMS)?;
        Ok(Self::of(evidence, &by, &cells))
    }

    /// `cells` in the order of `by`, whose columns up to the week (else the site) make a cluster.
    fn of(evidence: &Evidence, by: &[&str], cells: &[Cell]) -> Self {
        let place = |column: &str| by.iter().position(|own| *own == column);
        let clustered = place("week").or(place("site")).map_or(0, |at| at + 1);
        let at = PLACES.map(place);
        let strata = ["stage", "family", "band"].map(place);
        let mut lines: Vec<Line> = Vec::with_capacity(cells.len());
        let mut cluster = 0;
        for (number, cell) in cells.iter().enumerate() {
            let same =
                number > 0 && cells[number - 1].places[..clustered] == cell.places[..clustered];
            cluster += u64::from(!same);
            let of = |at: Option<usize>| at.map_or(0, |at| cell.places[at]);
            let stratum = strata.iter().fold(0, |sum, at| (sum << 20) | u64::from(of(*at)));
            let sums = std::array::from_fn(|at| cell.sums[at]);
            lines.push(Line { places: at.map(of), cluster, stratum, sums });
        }
        let rules = evidence.rules();
        SiteWeekFaults { lines, few_clusters: rules.few_clusters.into(), level: rules.level }
    }

    /// Over-dispersion of the rows of a grouping at one of [`LEVELS`]; `columns` are of [`PLACES`].
    pub fn spreads(&self, columns: &[&str], level: usize) -> Spreads {
        let at: Vec<usize> = columns
            .iter()
            .filter_map(|column| PLACES.iter().position(|place| place == column))
            .collect();
        let mut groups: BTreeMap<Vec<u32>, Vec<Part>> = BTreeMap::new();
        let part = |line: &Line| Part {
            cluster: line.cluster,
            stratum: line.stratum,
            events: line.sums[2 * level].max(0) as u64,
            exposure: line.sums[2 * level + 1].max(0) as f64,
        };
        for line in &self.lines {
            let key = at.iter().map(|at| line.places[*at]).collect();
            groups.entry(key).or_default().push(part(line));
        }
        let all: Vec<Part> = self.lines.iter().map(part).collect();
        Spreads {
            of: groups.into_iter().map(|(key, parts)| (key, scatter(&parts))).collect(),
            all: scatter(&all),
            few_clusters: self.few_clusters,
            level: self.level,
        }
    }
}

impl Spreads {
    /// That of all rows together.
    pub fn all(&self) -> (Scatter, Spread) {
        (self.all, self.taken(&self.all))
    }

    /// That of one row by its places: its own where it has enough site-weeks and a fault, else that of all.
    pub fn of(&self, places: &[u32]) -> Spread {
        let own = self
            .of
            .get(places)
            .filter(|own| own.clusters >= self.few_clusters && own.phi.is_some());
        self.taken(own.unwrap_or(&self.all))
    }

    fn taken(&self, scatter: &Scatter) -> Spread {
        Spread {
            phi: scatter.widened(self.level).unwrap_or(1.0),
            p: scatter.phi.map(|_| scatter.p),
            clusters: scatter.clusters,
            few: self.all.clusters > 0 && self.all.clusters < self.few_clusters,
        }
    }
}
