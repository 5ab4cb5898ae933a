//! End faces by the partners they touched (5.7), a bucket at a time: those with enough trials in
//! cells that they share with others.

use rustc_hash::FxHashMap;
use serde::{Deserialize, Serialize};

use super::trial::{FaceTrial, TrialCell};
use crate::derive::counts::carrier_trials;
use crate::derive::scan::key::Key;

/// Most end faces that are kept, those with most trials; what is cut off does not depend on results.
pub const MOST_FACES: usize = 10_000;
/// End faces whose time lines are kept.
pub const MOST_TIME_LINES: usize = 50;

/// One end face's trials.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CarrierFace {
    /// The end face.
    pub key: Key,
    /// Its trials by cell.
    pub cells: Vec<(TrialCell, carrier_trials::Row)>,
    /// Trials in cells that others share.
    pub shared: i64,
    /// Different ends that it touched.
    pub partners: i64,
    /// Of these, ends that came out dirty at least once.
    pub dirty_partners: i64,
    /// Dirty results above the shares of their cells, millionths; only to choose whose time line
    /// is kept.
    pub excess: i64,
}

/// Trials of all end faces by cell.
pub type CellTotals = FxHashMap<TrialCell, carrier_trials::Row>;

/// End faces found so far.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
pub struct CarrierFaces {
    /// Those with enough trials; some with fewer may have been cut off.
    pub faces: Vec<CarrierFace>,
    /// End faces with a trial.
    pub seen: i64,
    /// End faces with enough trials.
    pub enough: i64,
}

impl CarrierFaces {
    /// Adds one bucket of trials, in any order.
    pub fn add(&mut self, trials: &mut [FaceTrial], totals: &CellTotals, least: i64) {
        trials.sort_unstable_by_key(|trial| (trial.face, trial.partner, trial.dirty));
        for face in trials.chunk_by(|a, b| a.face == b.face) {
            self.seen += 1;
            let small = (face.len() as i64) < least;
            let face = Some(face).filter(|_| !small).map(|face| gathered(face, totals));
            if let Some(face) = face.filter(|face| face.shared >= least) {
                self.enough += 1;
                self.faces.push(face);
            }
        }
        if self.faces.len() > 2 * MOST_FACES {
            self.cut();
        }
    }

    /// Both together.
    pub fn merge(mut self, other: CarrierFaces) -> CarrierFaces {
        self.faces.extend(other.faces);
        self.seen += other.seen;
        self.enough += other.enough;
        self.cut();
        self
    }

    /// Keeps those with most trials: the same whatever was cut before.
    fn cut(&mut self) {
        self.faces.sort_by_key(|face| (-face.shared, face.key));
        self.faces.truncate(MOST_FACES);
    }

    /// Whose time lines are kept: the largest excesses above none.
    pub fn conspicuous(&self) -> Vec<Key> {
        let mut faces: Vec<&CarrierFace> =
            self.faces.iter().filter(|face| face.excess > 0).collect();
        faces.sort_by_key(|face| (-face.excess, face.key));
        faces.into_iter().take(MOST_TIME_LINES).map(|face| face.key).collect()
    }
}

/// One end face's trials, sorted by partner.
fn gathered(trials: &[FaceTrial], totals: &CellTotals) -> CarrierFace {
    let mut cells: FxHashMap<TrialCell, carrier_trials::Row> = FxHashMap::default();
    for trial in trials {
        let counts = cells.entry(trial.cell).or_default();
        counts.trials += 1;
        counts.dirty += i64::from(trial.dirty);
    }
    let mut cells: Vec<(TrialCell, carrier_trials::Row)> = cells.into_iter().collect();
    cells.sort_unstable_by_key(|(cell, _)| *cell);
    let (mut shared, mut excess) = (0, 0);
    for (cell, of_face) in &cells {
        let all = totals.get(cell).unwrap_or(of_face);
        if all.trials > of_face.trials {
            shared += of_face.trials;
            let expected = i128::from(of_face.trials) * i128::from(all.dirty) * 1_000_000
                / i128::from(all.trials);
            excess += i128::from(of_face.dirty) * 1_000_000 - expected;
        }
    }
    let partners = || trials.chunk_by(|a, b| a.partner == b.partner);
    let dirty_partners = partners().filter(|own| own.iter().any(|trial| trial.dirty == 1));
    CarrierFace {
        key: trials[0].face,
        cells,
        shared,
        partners: partners().count() as i64,
        dirty_partners: dirty_partners.count() as i64,
        excess: excess.clamp(i64::MIN.into(), i64::MAX.into()) as i64,
    }
}
