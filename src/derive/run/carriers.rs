//! After pass two: what was spilled of the trials is put together (5.7), by work order and by end
//! face, and the matings of the most conspicuous end faces are looked up once more.

use rustc_hash::FxHashSet;
use serde::{Deserialize, Serialize};

use super::at_hand::PromptedVisits;
use super::bucketwise::Run;
use crate::derive::DeriveError;
use crate::derive::carriers::faces::{CarrierFaces, CellTotals};
use crate::derive::carriers::orders::{CellPlaces, OrderSums};
use crate::derive::carriers::touches::{TimeLine, TimeLines, Wanted, add_touch, gather};
use crate::derive::carriers::trial::{CarrierKind, FaceTrial, OrderTrial, TrialCell};
use crate::derive::counts::CarrierCounts;
use crate::derive::face::event::Half;
use crate::derive::scan::key::Key;
use crate::derive::share::stage::Stage;
use crate::derive::share::states::State;
use crate::store::Buckets;

/// What the passes spilled.
#[derive(Default)]
pub struct Trials {
    /// By work order.
    pub(super) orders: Vec<Buckets<OrderTrial>>,
    /// By end face.
    pub(super) faces: Vec<Buckets<FaceTrial>>,
}

/// Sums over work orders.
#[derive(Serialize, Deserialize)]
pub struct Summed(CarrierCounts);

impl State for Summed {
    fn merge(self, other: Summed) -> Summed {
        Summed(self.0.merge(other.0))
    }
}

impl State for CarrierFaces {
    fn merge(self, other: CarrierFaces) -> CarrierFaces {
        CarrierFaces::merge(self, other)
    }
}

/// Time lines, by end face.
#[derive(Serialize, Deserialize)]
pub struct Lines(Vec<TimeLine>);

impl State for Lines {
    fn merge(self, other: Lines) -> Lines {
        let by_face =
            |lines: Vec<TimeLine>| lines.into_iter().map(|line| (line.face, line)).collect();
        Lines(gather([by_face(self.0), by_face(other.0)]))
    }
}

impl Run<'_> {
    /// Adds to `counts`, which must hold every trial by cell, the sums over work orders and the
    /// end faces.
    pub(super) fn carriers(
        &self,
        trials: Trials,
        halves: &Buckets<Half>,
        prompted: &PromptedVisits,
        mut counts: CarrierCounts,
    ) -> Result<CarrierCounts, DeriveError> {
        counts.sum_cells();
        let (faces, _, ()) = self.work.step(Stage::Faces, || {
            Ok((self.faces(Buckets::join(trials.faces), &counts)?, None, ()))
        })?;
        let conspicuous: FxHashSet<Key> = faces.conspicuous().into_iter().collect();
        let (lines, _, ()) = self.work.step(Stage::TimeLines, || {
            Ok((Lines(self.time_lines(conspicuous, halves, prompted)?), None, ()))
        })?;
        // What the orders come to is large, and only the report goes by it: no stage but the names comes after.
        let orders = Buckets::join(trials.orders);
        let (Summed(sums), _, ()) = self.work.step(Stage::Orders, || {
            let places = CellPlaces::of(&counts);
            let workers = self.threads(
                orders.count(),
                || Ok(OrderSums::new(&places)),
                |worker, bucket| {
                    worker.add(&mut orders.read(bucket)?);
                    Ok(())
                },
            )?;
            let sums = workers.into_iter().map(OrderSums::finish);
            Ok((Summed(sums.fold(CarrierCounts::empty(0), CarrierCounts::merge)), None, ()))
        })?;
        counts = counts.merge(sums);
        counts.time_lines = lines.0;
        (counts.faces, counts.faces_seen, counts.faces_enough) =
            (faces.faces, faces.seen, faces.enough);
        counts.faces.sort_by_key(|face| face.key);
        Ok(counts)
    }

    fn faces(
        &self,
        trials: Buckets<FaceTrial>,
        counts: &CarrierCounts,
    ) -> Result<CarrierFaces, DeriveError> {
        let cells = counts.cells.cells().into_iter();
        let totals: CellTotals = cells
            .filter(|(cell, _)| cell.kind == CarrierKind::EndFace)
            .map(|(cell, row)| (TrialCell::of_key(cell), row))
            .collect();
        let least = self.plan.rules.least_count.into();
        let found = self.threads(
            trials.count(),
            || Ok(CarrierFaces::default()),
            |worker, bucket| {
                worker.add(&mut trials.read(bucket)?, &totals, least);
                Ok(())
            },
        )?;
        Ok(found.into_iter().fold(CarrierFaces::default(), CarrierFaces::merge))
    }

    fn time_lines(
        &self,
        faces: FxHashSet<Key>,
        halves: &Buckets<Half>,
        prompted: &PromptedVisits,
    ) -> Result<Vec<TimeLine>, DeriveError> {
        if faces.is_empty() {
            return Ok(Vec::new());
        }
        let from = self.period.look_back.iter().find_map(|quarter| self.calendar.span(*quarter));
        let from = from.map_or(self.period.start, |(from, _)| from);
        let wanted = Wanted { faces, span: (from, self.period.end) };
        let matings = &self.scanned.matings;
        let found = self.threads(
            matings.count(),
            || Ok(TimeLines::default()),
            |worker, bucket| {
                let mut rows = matings.read(bucket)?;
                rows.retain(|row| wanted.takes(row));
                if rows.is_empty() {
                    return Ok(());
                }
                let numbers: FxHashSet<u64> = rows.iter().map(|row| row.number).collect();
                let mut halves = halves.read(bucket)?;
                halves.retain(|half| numbers.contains(&half.mating));
                let prompted = prompted.of_bucket(bucket)?;
                for pair in self.joined(bucket, &rows, &halves) {
                    add_touch(&pair, &wanted, &prompted, worker);
                }
                Ok(())
            },
        )?;
        Ok(gather(found))
    }
}

/// End faces that a report may name.
pub fn named_faces(counts: &CarrierCounts) -> FxHashSet<Key> {
    let touched = counts.time_lines.iter().flat_map(|line| &line.touches);
    let touched = touched.map(|touch| touch.partner).filter(|key| key.is_known());
    counts.faces.iter().map(|face| face.key).chain(touched).collect()
}
