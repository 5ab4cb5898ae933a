//! Changes of rates (5.9): linked faults per connection-month in force.
//!
//! Ratio with the exact conditional interval, mid-P, on events over their scatter: squared gaps of a site's blocks of
//! time from its rate in that quarter, over what Poisson counts would leave. Blocks are as long as luck lasts (5.4); where
//! a row has too few of them, or each is a whole quarter, the next shorter ones, and the row is `narrow`.

use std::collections::BTreeMap;

use super::declared::{By, Own, Quantity, Row, Table};
use super::pair::{Pair, Placed, expects_too_few, groupings, rows_in, side_by_side};
use crate::derive::counts::{ForceWeeks, InForce, QuarterNo, Site, WeekNo, force_weeks};
use crate::derive::{ByColumns, DeriveError, Group as Counted};
use crate::measures::evidence::Evidence;
use crate::measures::fault_rates::{Block, LEAST_MONTHS, MONTH_S, luck};
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use crate::stats::rate_change::{CountScatter, Exposed, rate_change};

/// How faults scatter, by the words of a group, and whether luck lasts longer than the blocks that it rests on.
type Scatters = BTreeMap<Vec<String>, (CountScatter, bool)>;

/// The weeks of the sites of a group.
type Weeks = Vec<Vec<(WeekNo, Exposed)>>;

/// Adds the rows of the fault rate.
///
/// # Errors
/// A count table that cannot be grouped: a fault of the program.
pub(in crate::measures) fn rates(
    evidence: &Evidence,
    pair: &Pair,
    table: &mut Table,
) -> Result<(), DeriveError> {
    for ((by, columns), (_, weekly)) in
        groupings::<InForce>().into_iter().zip(groupings::<ForceWeeks>())
    {
        let counted = |quarter| evidence.groups::<InForce>(&rows_in::<InForce>(quarter), &columns);
        let scattered = |quarter| scatters(evidence, quarter, by, &weekly);
        let (now, before) = (counted(pair.now)?, counted(pair.before)?);
        let scatters = [scattered(pair.now)?, scattered(pair.before)?];
        for groups in side_by_side(now, before) {
            let words = groups.iter().flatten().next().map(|group| group.words.clone());
            let words = words.unwrap_or_default();
            let [now, before] = &groups;
            let sides =
                [Side::of(now, &scatters[0], &words), Side::of(before, &scatters[1], &words)];
            let group = Group::of(&columns.columns(), &words);
            table.rows.push(row(evidence, (by, group), pair, &sides));
        }
    }
    Ok(())
}

impl Placed for Counted<InForce> {
    fn places(&self) -> &[u32] {
        &self.places
    }
}

/// How faults of blocks scatter about their site's rate, by group.
fn scatters(
    evidence: &Evidence,
    quarter: Option<QuarterNo>,
    by: By,
    columns: &ByColumns<ForceWeeks>,
) -> Result<Scatters, DeriveError> {
    let of_site = if by == By::Site { *columns } else { columns.and::<Site>() };
    let sites = evidence.along::<WeekNo, ForceWeeks>(&rows_in(quarter), &of_site)?;
    // The words of a group, then the sites within it.
    let mut groups: BTreeMap<Vec<String>, Weeks> = BTreeMap::new();
    for site in sites {
        let group = site.words[..columns.columns().len()].to_vec();
        let weeks = site.cells.iter().map(|(week, row)| (*week, exposed(row)));
        groups.entry(group).or_default().push(weeks.collect());
    }
    let (wanted, least) = (luck(evidence), u64::from(evidence.rules().few_clusters));
    let scatter = |(group, sites): (Vec<String>, Weeks)| (group, of_blocks(&sites, wanted, least));
    Ok(groups.into_iter().map(scatter).collect())
}

/// By blocks of the wanted length, or the longest shorter ones of which there are enough; whether they are shorter.
fn of_blocks(sites: &Weeks, wanted: Block, least: u64) -> (CountScatter, bool) {
    let of = |block| CountScatter::of(&blocks(sites, block));
    // A quarter is compared with its site's rate in that quarter: it has no gap.
    let tells = |block, found: &CountScatter| block != Block::Quarter && found.units >= least;
    let (found, block) = wanted.that_tell(of, tells);
    (found, block != wanted)
}

/// The weeks of every site, put together to blocks.
fn blocks(sites: &Weeks, block: Block) -> Vec<Vec<Exposed>> {
    let of_site = |weeks: &Vec<(WeekNo, Exposed)>| {
        let mut found: BTreeMap<u32, Exposed> = BTreeMap::new();
        for (WeekNo(week), exposed) in weeks {
            let sum = found.entry(block.of_week(*week)).or_default();
            sum.events += exposed.events;
            sum.exposure += exposed.exposure;
        }
        found.into_values().collect()
    };
    sites.iter().map(of_site).collect()
}

fn exposed(week: &force_weeks::Row) -> Exposed {
    Exposed { events: week.linked.max(0) as u64, exposure: week.linked_s.max(0) as f64 }
}

/// One group in one quarter.
struct Side {
    /// First linked faults.
    faults: u64,
    /// Time in force up to them, connection-months.
    months: f64,
    scatter: CountScatter,
    /// Luck lasts longer than what the scatter rests on.
    narrow: bool,
}

impl Side {
    fn of(group: &Option<Counted<InForce>>, scatters: &Scatters, words: &[String]) -> Side {
        let counts = group.as_ref().map(|group| group.counts).unwrap_or_default();
        let (scatter, narrow) = scatters.get(words).copied().unwrap_or_default();
        Side {
            faults: counts.linked.max(0) as u64,
            months: counts.linked_s.max(0) as f64 / MONTH_S,
            scatter,
            narrow,
        }
    }

    /// Per 1,000 connection-months.
    fn value(&self) -> Option<f64> {
        (self.months > 0.0).then(|| self.faults as f64 / self.months * 1000.0)
    }
}

fn row(
    evidence: &Evidence,
    (by, group): (By, Group),
    pair: &Pair,
    [now, before]: &[Side; 2],
) -> Row {
    let rules = evidence.rules();
    let scatter = now.scatter.with(before.scatter);
    let sides = ((now.faults, now.months), (before.faults, before.months));
    let change = rate_change(sides.0, sides.1, &scatter, rules.level);
    let own = Own {
        against: pair.against,
        quarter: pair.quarter.to_string(),
        value: now.value(),
        n_before: before.months,
        events_before: before.faults,
        value_before: before.value(),
        p: change.p,
        q: None,
        deff: None,
        deff_before: None,
        clusters: now.scatter.units,
        clusters_before: before.scatter.units,
        phi: scatter.phi().map(|phi| phi.max(1.0)),
        apart: None,
    };
    let site = group.site.clone();
    let row = Row::of(by, group, Quantity::FaultRate, &change.ratio, own);
    let row = Row { n: now.months, events: i64::try_from(now.faults).ok(), ..row };
    let of_either = |holds: &dyn Fn(&Side) -> bool| holds(now) || holds(before);
    let few = u64::from(rules.few_clusters);
    row.flagged(of_either(&|side| side.narrow).then_some(Flag::Narrow))
        .flagged(of_either(&|side| side.months < LEAST_MONTHS).then_some(Flag::Thin))
        .flagged(expects_too_few(
            now.faults as f64 + before.faults as f64,
            [now.months, before.months],
        ))
        // Faults of a few blocks tell little of scatter, however many blocks had none.
        .flagged((scatter.degrees() + 1.0 < few as f64).then_some(Flag::FewClusters))
        .flagged(of_either(&|side| side.scatter.units < few).then_some(Flag::FewClusters))
        .flagged(evidence.guessed_cover(site.as_deref()))
}
