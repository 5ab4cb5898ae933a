//! The routine passages of the months looked back, as the model of segment hazards takes them (5.6).
//!
//! Segments are numbered: first the steps between neighbouring stages in lifecycle order, then the
//! repeat of every stage. Passages of unknown stages are left out.

use std::collections::BTreeMap;

use super::declared::{Step, Steps};
use crate::by;
use crate::derive::DeriveError;
use crate::derive::counts::{Cap, Family, FromStage, PassageWeeks, Site, Stage, WeekNo};
use crate::measures::draw_name::site_week;
use crate::measures::evidence::Evidence;
use crate::measures::shared_luck::{block_of, of_passages};
use crate::stats::SegmentRow;
use crate::stats::segment_clusters::ClusterTrials;

/// The segments of a fleet's lifecycle.
#[derive(Clone, Debug)]
pub(in crate::measures) struct Lifecycle {
    /// In the order of the settings.
    pub stages: Vec<String>,
}

impl Lifecycle {
    /// Of the settings.
    pub(in crate::measures) fn of(evidence: &Evidence) -> Lifecycle {
        Lifecycle { stages: evidence.plan.stages.order.clone() }
    }

    /// How many steps between neighbours there are.
    fn between(&self) -> usize {
        self.stages.len().saturating_sub(1)
    }

    /// Steps and repeats.
    pub(in crate::measures) fn segments(&self) -> usize {
        self.between() + self.stages.len()
    }

    /// The segments of a passage, in order of passing.
    pub(in crate::measures) fn path(&self, (from, to): (u32, u32)) -> Vec<usize> {
        match from {
            from if from == to => vec![self.between() + to as usize],
            from => (from as usize..to as usize).collect(),
        }
    }

    /// Whether both ends of a passage are stages of the lifecycle, in its order.
    pub(in crate::measures) fn has(&self, (from, to): (u32, u32)) -> bool {
        from <= to && (to as usize) < self.stages.len()
    }

    /// The step that a segment stands for.
    fn step(&self, segment: usize) -> Step {
        let stage = |at: usize| self.stages.get(at).cloned().unwrap_or_default();
        match segment.checked_sub(self.between()) {
            Some(again) => Step { from: stage(again), to: stage(again) },
            None => Step { from: stage(segment), to: stage(segment + 1) },
        }
    }

    /// The steps that segments stand for.
    pub(in crate::measures) fn steps(&self, segments: &[usize]) -> Steps {
        Steps(segments.iter().map(|segment| self.step(*segment)).collect())
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

/// Passages of one week of a site that are alike.
#[derive(Clone, Debug)]
pub(in crate::measures) struct Passage {
    /// The site-week, or the longer block of the site's time that shares its luck.
    pub cluster: u64,
    /// Places of the stages of the earlier and the later visit.
    pub ends: (u32, u32),
    /// Place of the family in the order of display, and its name.
    pub family: (u32, String),
    /// At the later visit.
    pub cap: Cap,
    /// How many there are.
    pub n: f64,
    /// Those that the end face came out of contaminated.
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
    let by = by!(Site, WeekNo, FromStage, Stage, Family);
    let span = of_passages(evidence).span;
    let mut passages = Vec::new();
    for alike in evidence.along::<Cap, PassageWeeks>(&evidence.looked_back(), &by)? {
        let [_, week, from, to, family] = alike.places[..] else { continue };
        let [site, .., name] = &alike.words[..] else { continue };
        if !lifecycle.has((from, to)) {
            continue;
        }
        for (cap, row) in &alike.cells {
            let n = row.passages.max(0);
            if n > 0 {
                passages.push(Passage {
                    cluster: site_week(site, block_of(span, week)),
                    ends: (from, to),
                    family: (family, name.clone()),
                    cap: *cap,
                    n: n as f64,
                    dirty: row.dirty.clamp(0, n) as f64,
                });
            }
        }
    }
    Ok(passages)
}

/// Passages, and the dirty ones among them, by cluster.
type ByCluster = BTreeMap<u64, (f64, f64)>;

/// Passages grouped into the rows of the model, with their clusters.
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
            let clusters = cells.entry((passage.ends, key(passage))).or_default();
            let sum = clusters.entry(passage.cluster).or_default();
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
