//! Sites whose looks pass more often than those of the others, while linked faults come more often after their matings
//! with both ends seen: looks that pass what is not clean do both.
//!
//! Each of the two is asked of a site against what the others let expect for its mix: routine first looks by stage,
//! family and side; faults by stage, family and band. How much sites differ anyway is part of the expectation, so that
//! a site is not named for being one of a kind. A site is named where both are surprising: the larger of the two chances
//! is the chance of the pair if one of them were not so (intersection-union test), then Benjamini-Hochberg over the sites.
//! A site that is cleaner than the others and has as few faults as that is not named, nor one that is dirtier.

use std::collections::BTreeMap;

use super::declared::{By, Own, Quantity, Row, Table};
use super::sources::Sources;
use crate::by;
use crate::calendar::days_of;
use crate::derive::DeriveError;
use crate::derive::counts::{
    AfterFault, Band, Coverage, EndSide, Family, FirstLooks, FollowUp, Site, Stage, VisitRow,
    Visits, WeekNo,
};
use crate::measures::evidence::Evidence;
use crate::measures::results::Group;
use crate::stats::benjamini_hochberg;
use crate::stats::clustered::Resemblance;
use crate::stats::gamma_poisson::Observed;
use crate::stats::others::{Excess, rate_above_others, share_above_others};

const METHOD: &str = "larger of two predictive tails, Benjamini-Hochberg";
/// Share of sites named in error that is put up with.
const FALSE_DISCOVERY: f64 = 0.05;

/// One site.
#[derive(Default)]
struct Candidate {
    looks: f64,
    passed: f64,
    /// Passing looks expected at the fleet's shares.
    expected: f64,
    /// Their variance.
    variance: f64,
    faults: u64,
    /// Linked faults expected at the fleet's rates.
    expected_faults: f64,
}

pub(super) fn rows(from: &Sources, table: &mut Table) -> Result<(), DeriveError> {
    let evidence = from.evidence;
    let mut sites: BTreeMap<(u32, String), Candidate> = BTreeMap::new();
    looks(evidence, &mut sites)?;
    faults(evidence, &mut sites)?;
    let sites: Vec<((u32, String), Candidate)> = sites
        .into_iter()
        .filter(|(_, site)| site.looks > 0.0 && site.expected_faults > 0.0)
        .collect();
    let passing: Vec<Excess> = sites.iter().map(|(_, site)| site.excess()).collect();
    let failing: Vec<Observed> = sites.iter().map(|(_, site)| site.observed()).collect();
    let both = |at: usize| {
        let (passing, failing) =
            (share_above_others(&passing, at), rate_above_others(&failing, at));
        passing.zip(failing)
    };
    let found: Vec<(usize, (f64, f64))> =
        (0..sites.len()).filter_map(|at| Some((at, both(at)?))).collect();
    let p: Vec<f64> = found.iter().map(|(_, (passing, failing))| passing.max(*failing)).collect();
    for (((at, (passing, failing)), p), q) in found.iter().zip(&p).zip(benjamini_hochberg(&p)) {
        let ((_, name), site) = &sites[*at];
        let own = Own {
            p: Some(*p),
            p_passing: Some(*passing),
            p_faults: Some(*failing),
            share: Some(site.passed / site.looks),
            expected_share: Some(site.expected / site.looks),
            faults: Some(site.faults as i64),
            expected_faults: Some(site.expected_faults),
            named: Some(q <= FALSE_DISCOVERY),
            ..Own::default()
        };
        let group = Group { site: Some(name.clone()), ..Group::default() };
        let row = Row::figure(By::Site, group, Quantity::TooGood, q, METHOD, own);
        table.rows.push(Row { n: site.looks, events: Some(site.passed as i64), ..row });
    }
    Ok(())
}

impl Candidate {
    /// How far its passing share lies above the expected one.
    fn excess(&self) -> Excess {
        let value = (self.passed - self.expected) / self.looks;
        Excess { value, variance: self.variance / (self.looks * self.looks) }
    }

    fn observed(&self) -> Observed {
        Observed { events: self.faults, expected: self.expected_faults }
    }
}

type Sites = BTreeMap<(u32, String), Candidate>;

/// Routine first looks against the fleet's shares by stage, family and side; variances over site-weeks.
fn looks(evidence: &Evidence, sites: &mut Sites) -> Result<(), DeriveError> {
    let routine = evidence.looked_back::<Visits>().with([VisitRow::Routine]);
    let fleet = evidence.groups(&routine, &by!(Stage, Family, EndSide))?;
    let shares: BTreeMap<&[u32], f64> = fleet
        .iter()
        .filter(|cell| cell.counts.looks > 0)
        .map(|cell| (&cell.places[..], cell.counts.clean as f64 / cell.counts.looks as f64))
        .collect();
    for cell in evidence.groups(&routine, &by!(Site, Stage, Family, EndSide))? {
        let Some(share) = shares.get(&cell.places[1..]) else { continue };
        let site = sites.entry((cell.places[0], cell.words[0].clone())).or_default();
        let looks = cell.counts.looks.max(0) as f64;
        site.looks += looks;
        site.passed += cell.counts.clean.max(0) as f64;
        site.expected += looks * share;
        site.variance += looks * share * (1.0 - share);
    }
    let weeks =
        evidence.clusters::<FirstLooks>(&evidence.looked_back(), &by!(Site), &by!(WeekNo))?;
    for found in weeks {
        let sums = found.sums(|row| (row.looks, row.clean));
        let deff = Resemblance::of(&sums).divisor(evidence.rules().level);
        if let Some(site) = sites.get_mut(&(found.places[0], found.words[0].clone())) {
            site.variance *= deff;
        }
    }
    Ok(())
}

/// First linked faults of matings with both ends seen, not made after a fault, against the fleet's rates by stage,
/// family and band.
fn faults(evidence: &Evidence, sites: &mut Sites) -> Result<(), DeriveError> {
    let seen = evidence.looked_back::<FollowUp>().with([Coverage::Both]).with([AfterFault::No]);
    let fleet = evidence.groups(&seen, &by!(Stage, Family, Band))?;
    let rates: BTreeMap<&[u32], f64> = fleet
        .iter()
        .filter(|cell| cell.counts.linked_s > 0)
        .map(|cell| (&cell.places[..], cell.counts.linked as f64 / days_of(cell.counts.linked_s)))
        .collect();
    for cell in evidence.groups(&seen, &by!(Site, Stage, Family, Band))? {
        let Some(rate) = rates.get(&cell.places[1..]) else { continue };
        let Some(site) = sites.get_mut(&(cell.places[0], cell.words[0].clone())) else { continue };
        site.faults = site.faults.saturating_add(cell.counts.linked.max(0) as u64);
        site.expected_faults += rate * days_of(cell.counts.linked_s);
    }
    Ok(())
}
