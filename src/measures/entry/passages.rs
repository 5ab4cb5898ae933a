//! The routine passages of the months looked back, as the model of segment hazards takes them (5.6).
//!
//! Segments are numbered: first the steps between neighbouring stages in lifecycle order, then the
//! repeat of every stage. Passages of unknown stages are left out.

use std::collections::BTreeMap;

use crate::derive::{Cell, DeriveError};
use crate::measures::draw_name::site_week;
use crate::measures::evidence::Evidence;
use crate::stats::SegmentRow;
use crate::stats::segment_clusters::ClusterTrials;

/// The segments of a fleet's lifecycle.
#[derive(Clone, Debug)]
pub(in crate::measures) struct Lifecycle {
    pub stages: Vec<String>,
}

impl Lifecycle {
    /// Of the settings.
    pub(in crate::measures) fn of(evidence: &Evidence) -> Lifecycle {
        Lifecycle { stages: evidence.plan.stages.order.clone() }
    }

    /// Steps between neighbours.
    fn steps(&self) -> usize {
        self.stages.len().saturating_sub(1)
    }

    /// Steps and repeats.
    pub(in crate::measures) fn segments(&self) -> usize {
        self.steps() + self.stages.len()
    }

    /// The segments of a passage, in order of passing.
    pub(in crate::measures) fn path(&self, (from, to): (u32, u32)) -> Vec<usize> {
        match from {
            from if from == to => vec![self.steps() + to as usize],
            from => (from as usize..to as usize).collect(),
        }
    }

    /// The stages a segment leads from and to.
    pub(in crate::measures) fn ends(&self, segment: usize) -> (&str, &str) {
        let stage = |at: usize| self.stages.get(at).map_or("", String::as_str);
        match segment.checked_sub(self.steps()) {
            Some(again) => (stage(again), stage(again)),
            None => (stage(segment), stage(segment + 1)),
        }
    }

    /// "receiving to installation", "again at installation"; several joined by " + ".
    pub(in crate::measures) fn words(&self, segments: &[usize]) -> String {
        let word = |segment: &usize| match self.ends(*segment) {
            (from, to) if from == to => format!("again at {to}"),
            (from, to) => format!("{from} to {to}"),
        };
        segments.iter().map(word).collect::<Vec<_>>().join(" + ")
    }

    /// A row of the model without counts.
    pub(in crate::measures) fn row(&self, ends: (u32, u32)) -> SegmentRow {
        let mut exposure = vec![0.0; self.segments()];
        for segment in self.path(ends) {
            exposure[segment] = 1.0;
        }
        SegmentRow { exposure, fixed: 0.0, n: 0.0, events: 0.0 }
    }
}

/// Passages of one site-week that are alike.
#[derive(Clone, Debug)]
pub(in crate::measures) struct Passage {
    /// The site-week.
    pub cluster: u64,
    /// Places of the stages of the earlier and the later visit.
    pub ends: (u32, u32),
    pub family: String,
    /// Of the later visit: `capped`, `uncapped` or `unknown`.
    pub capped: String,
    pub n: f64,
    pub dirty: f64,
}

/// All of them, in the order of display.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn passages(
    evidence: &Evidence,
    lifecycle: &Lifecycle,
) -> Result<Vec<Passage>, DeriveError> {
    let by = ["site", "week", "from", "stage", "family", "capped"];
    let sums = ["passages", "dirty"];
    let cells = evidence.cells("passage_weeks", &evidence.look_back(), &by, &sums)?;
    let last = lifecycle.stages.len() as u32;
    let known = |cell: &&Cell| cell.places[2] <= cell.places[3] && cell.places[3] < last;
    let passage = |cell: &Cell| Passage {
        cluster: site_week(&cell.group[0], cell.places[1]),
        ends: (cell.places[2], cell.places[3]),
        family: cell.group[4].clone(),
        capped: cell.group[5].clone(),
        n: cell.sums[0].max(0) as f64,
        dirty: cell.sums[1].clamp(0, cell.sums[0].max(0)) as f64,
    };
    Ok(cells.iter().filter(known).map(passage).filter(|passage| passage.n > 0.0).collect())
}

/// Passages, and the dirty ones among them, by site-week.
type ByCluster = BTreeMap<u64, (f64, f64)>;

/// Passages grouped into the rows of the model, with their site-weeks.
pub(in crate::measures) struct Grouped {
    /// Stages of the earlier and the later visit, row by row.
    pub ends: Vec<(u32, u32)>,
    pub rows: Vec<SegmentRow>,
    pub trials: Vec<ClusterTrials>,
}

impl Grouped {
    /// A row a pair of stages, and a key that keeps rows apart.
    pub(in crate::measures) fn of<'a, K: Ord>(
        lifecycle: &Lifecycle,
        passages: impl Iterator<Item = &'a Passage>,
        key: impl Fn(&'a Passage) -> K,
    ) -> (Grouped, Vec<K>) {
        let mut cells: BTreeMap<((u32, u32), K), ByCluster> = BTreeMap::new();
        for passage in passages {
            let own = cells.entry((passage.ends, key(passage))).or_default();
            let sum = own.entry(passage.cluster).or_default();
            *sum = (sum.0 + passage.n, sum.1 + passage.dirty);
        }
        let mut grouped = Grouped { ends: Vec::new(), rows: Vec::new(), trials: Vec::new() };
        let mut keys = Vec::new();
        for ((ends, key), clusters) in cells {
            let mut row = lifecycle.row(ends);
            for (cluster, (n, events)) in clusters {
                row.n += n;
                row.events += events;
                grouped.trials.push(ClusterTrials { cluster, row: keys.len(), n, events });
            }
            grouped.ends.push(ends);
            grouped.rows.push(row);
            keys.push(key);
        }
        (grouped, keys)
    }
}
