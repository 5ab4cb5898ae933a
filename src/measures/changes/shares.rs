//! Changes of shares (5.9): first pass, passing at the first cycle, matings skipped.
//!
//! Newcombe's hybrid (1998) of exact limits on effective sizes (Rao & Scott 1992, Korn & Graubard 1998) of the
//! clusters that the measure itself rests on: work orders for first pass, site-weeks for the others, longer blocks of a
//! site's time where its luck lasts longer.

use super::declared::{By, Own, Quantity, Row, Table};
use super::pair::{Pair, Placed, expects_too_few, groupings, rows_in, side_by_side};
use crate::by;
use crate::derive::counts::{
    Counted, CycleNo, CycleTrials, EndSide, MatingClusters, QuarterNo, Supplier, Suppliers,
    VisitRow, Visits, WorkOrders, visits, work_orders,
};
use crate::derive::{Clusters, DeriveError, Group as CountedGroup};
use crate::measures::evidence::{Evidence, names_apart};
use crate::measures::first_pass::SELECTIVE;
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use crate::measures::shared_luck::{blocks, look_clusters, of_cycles, of_looks, of_matings};
use crate::stats::share_change::{Sample, share_change};
use crate::stats::{ClusterSums, Lasting, Rests};

/// Adds the rows of all shares.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn shares(
    evidence: &Evidence,
    pair: &Pair,
    table: &mut Table,
) -> Result<(), DeriveError> {
    let comparing = Comparing { evidence, pair };
    let (of_looks, of_matings) = (of_looks(evidence), of_matings(evidence));
    let of_cycles = of_cycles(evidence);
    let sides = ((By::Side, by!(EndSide)), by!(EndSide));
    let looks = groupings::<WorkOrders>().map(|(_, columns)| columns);
    for ((by, columns), orders) in groupings::<Visits>().into_iter().zip(looks).chain([sides]) {
        let counted = |quarter| {
            let routine = rows_in::<Visits>(quarter).with([VisitRow::Routine]);
            let found = evidence.groups::<Visits>(&routine, &columns)?;
            Ok(looked(found, (&look_clusters(evidence, &rows_in(quarter), &orders)?, of_looks)))
        };
        comparing.compare(Quantity::FirstPass, (by, columns.columns()), counted, table)?;
    }
    let suppliers = by!(Supplier);
    let counted = |quarter| {
        let found = evidence.groups::<Suppliers>(&rows_in::<Suppliers>(quarter), &suppliers)?;
        let clusters = look_clusters(evidence, &rows_in(quarter), &by!(Supplier))?;
        Ok(looked(found, (&clusters, of_looks)))
    };
    let by_supplier = (By::Supplier, suppliers.columns());
    comparing.compare(Quantity::FirstPass, by_supplier, counted, table)?;
    for (by, columns) in groupings::<CycleTrials>() {
        let counted = |quarter| {
            let first = rows_in::<CycleTrials>(quarter).with([CycleNo(1)]);
            let found = blocks(evidence, &first, &columns, of_cycles.span)?;
            Ok(clustered(found, of_cycles, |row| (row.trials, row.passed)))
        };
        comparing.compare(Quantity::FirstCycle, (by, columns.columns()), counted, table)?;
    }
    for (by, columns) in groupings::<MatingClusters>() {
        let counted = |quarter| {
            let all = rows_in::<MatingClusters>(quarter);
            let found = || blocks(evidence, &all, &columns, of_matings.span);
            let skipped = clustered(found()?, of_matings, |row| (row.known, row.skipped));
            let left_out = clustered(found()?, of_matings, |row| (row.matings, row.apart));
            Ok(without(skipped, &left_out))
        };
        comparing.compare(Quantity::Skipped, (by, columns.columns()), counted, table)?;
    }
    Ok(())
}

/// What was counted of a group in one quarter, and how it scatters.
struct InQuarter {
    words: Vec<String>,
    places: Vec<u32>,
    side: Side,
}

/// One group in one quarter.
struct Side {
    /// Units that might have been counted.
    possible: i64,
    sample: Sample,
    /// Share of the group's matings that it leaves out since their names stand apart (R8); none for none.
    apart: Option<f64>,
    /// Luck may last longer than the clusters.
    narrow: bool,
}

impl Placed for InQuarter {
    fn places(&self) -> &[u32] {
        &self.places
    }
}

/// First looks of visits, with the scatter of their clusters.
fn looked<T: Counted<Row = visits::Row>>(
    groups: Vec<CountedGroup<T>>,
    (clusters, lasting): (&[Clusters<WorkOrders>], Lasting),
) -> Vec<InQuarter> {
    let looks = |order: &work_orders::Row| (order.looks, order.clean);
    let sums: Vec<ClusterSums> = groups
        .iter()
        .map(|group| clusters.iter().find(|clusters| clusters.words == group.words))
        .map(|same| same.map(|clusters| clusters.sums(looks)).unwrap_or_default())
        .collect();
    let in_quarter = |(group, sample): (CountedGroup<T>, Sample)| {
        let narrow = lasting.narrow;
        let side = Side { possible: group.counts.visits, sample, apart: None, narrow };
        InQuarter { words: group.words, places: group.places, side }
    };
    let counted: Vec<(i64, i64)> =
        groups.iter().map(|group| (group.counts.looks, group.counts.clean)).collect();
    groups.into_iter().zip(samples(&counted, lasting.rests(&sums))).map(in_quarter).collect()
}

/// Units and events of groups of site-weeks, or of the blocks that last as long as luck does, with the scatter of these.
fn clustered<T: Counted>(
    found: Vec<Clusters<T>>,
    lasting: Lasting,
    of: fn(&T::Row) -> (i64, i64),
) -> Vec<InQuarter> {
    let counted = |group: &Clusters<T>| {
        group.clusters.iter().map(of).fold((0_i64, 0_i64), |sum, row| {
            (sum.0.saturating_add(row.0), sum.1.saturating_add(row.1))
        })
    };
    let counts: Vec<(i64, i64)> = found.iter().map(counted).collect();
    let sums: Vec<ClusterSums> = found.iter().map(|group| group.sums(of)).collect();
    let in_quarter = |(group, sample): (Clusters<T>, Sample)| {
        let narrow = lasting.narrow;
        let side = Side { possible: sample.n as i64, sample, apart: None, narrow };
        InQuarter { words: group.words, places: group.places, side }
    };
    found.into_iter().zip(samples(&counts, lasting.rests(&sums))).map(in_quarter).collect()
}

/// Groups, each with the share of its matings that is left out, of the same groups' counts.
fn without(mut groups: Vec<InQuarter>, left_out: &[InQuarter]) -> Vec<InQuarter> {
    for group in &mut groups {
        let same = left_out.iter().find(|other| other.places == group.places);
        group.side.apart = same.and_then(|same| same.side.value()).filter(|share| *share > 0.0);
    }
    groups
}

/// Units and events of the groups of a grouping, with the scatter of their clusters, which may hold other units
/// of the same kind (a supplier's do).
fn samples(counted: &[(i64, i64)], rests: Vec<Rests>) -> Vec<Sample> {
    let sample = |((n, events), rests): (&(i64, i64), Rests)| {
        let (n, events) = ((*n).max(0) as u64, (*events).max(0) as u64);
        let Rests { resemblance, clusters } = rests;
        Sample { n, events: events.min(n), clusters, resemblance }
    };
    counted.iter().zip(rests).map(sample).collect()
}

impl Side {
    /// Of a quarter without the group.
    fn empty() -> Side {
        let sample = Sample::of(&ClusterSums::default());
        Side { possible: 0, sample, apart: None, narrow: false }
    }

    fn value(&self) -> Option<f64> {
        (self.sample.n > 0).then(|| self.sample.events as f64 / self.sample.n as f64)
    }

    fn is_selective(&self) -> bool {
        let unseen = self.possible.saturating_sub(self.sample.n as i64);
        unseen as f64 > SELECTIVE * self.possible as f64
    }
}

/// Two quarters being compared.
struct Comparing<'a> {
    evidence: &'a Evidence<'a>,
    pair: &'a Pair,
}

impl Comparing<'_> {
    /// Adds the rows of a share under one grouping; `counted` gives the groups of a quarter.
    fn compare(
        &self,
        quantity: Quantity,
        (by, columns): (By, Vec<&'static str>),
        counted: impl Fn(Option<QuarterNo>) -> Result<Vec<InQuarter>, DeriveError>,
        table: &mut Table,
    ) -> Result<(), DeriveError> {
        let (now, before) = (counted(self.pair.now)?, counted(self.pair.before)?);
        for groups in side_by_side(now, before) {
            let words = groups.iter().flatten().next().map(|group| group.words.as_slice());
            let group = Group::of(&columns, words.unwrap_or_default());
            let sides = groups.map(|group| group.map_or_else(Side::empty, |group| group.side));
            table.rows.push(self.row(by, group, quantity, &sides));
        }
        Ok(())
    }

    fn row(&self, by: By, group: Group, quantity: Quantity, [now, before]: &[Side; 2]) -> Row {
        let rules = self.evidence.rules();
        let change = share_change(&now.sample, &before.sample, rules.level);
        let own = Own {
            against: self.pair.against,
            quarter: self.pair.quarter.to_string(),
            value: now.value(),
            n_before: before.sample.n as f64,
            events_before: before.sample.events,
            value_before: before.value(),
            p: change.p,
            q: None,
            deff: Some(now.sample.resemblance.deff.max(1.0)),
            deff_before: Some(before.sample.resemblance.deff.max(1.0)),
            clusters: now.sample.clusters,
            clusters_before: before.sample.clusters,
            phi: None,
            apart: [now.apart, before.apart].into_iter().flatten().reduce(f64::max),
        };
        let left_out = names_apart(own.apart);
        let row = Row::of(by, group, quantity, &change.difference, own);
        let (n, events) = (now.sample.n as f64, i64::try_from(now.sample.events).ok());
        let sizes = [now, before].map(|side| side.sample.n as f64);
        let with = now.sample.events as f64 + before.sample.events as f64;
        let of_either = |holds: &dyn Fn(&Side) -> bool| holds(now) || holds(before);
        let few = |side: &Side| side.sample.clusters < rules.few_clusters.into();
        Row { n, events, ..row }
            .flagged(
                of_either(&|side| side.sample.n < rules.least_count.into()).then_some(Flag::Thin),
            )
            .flagged(expects_too_few(with, sizes))
            .flagged(expects_too_few(sizes[0] + sizes[1] - with, sizes))
            .flagged(of_either(&few).then_some(Flag::FewClusters))
            .flagged(of_either(&Side::is_selective).then_some(Flag::Selective))
            .flagged(of_either(&|side| side.narrow).then_some(Flag::Narrow))
            .flagged(left_out)
    }
}
