//! Escapes: linked faults soon after matings whose two ends were looked at and passed, by what the looks were judged
//! by (5.10).

use super::declared::{By, Own, Quantity, Row, Table};
use super::sources::Sources;
use crate::by;
use crate::calendar::days_of;
use crate::derive::counts::{Band as BandNo, Escapes, GradedBy, LookCriteria, escapes};
use crate::derive::{Along, ByColumns, DeriveError, ESCAPE_DAYS, band_days};
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::measures::results::Group;
use crate::stats::{Band, Part, cumulative_hazard_dispersed, scatter};

pub(super) fn rows(from: &Sources, table: &mut Table) -> Result<(), DeriveError> {
    let evidence = from.evidence;
    let groupings: [(By, ByColumns<Escapes>); 4] = [
        (By::Fleet, by!()),
        (By::Criteria, by!(LookCriteria)),
        (By::Grading, by!(GradedBy)),
        (By::CriteriaGrading, by!(LookCriteria, GradedBy)),
    ];
    let phi = dispersion(evidence);
    for (by, columns) in groupings {
        for found in evidence.along::<BandNo, Escapes>(&evidence.looked_back(), &columns)? {
            table.rows.push(row(evidence, by, &found, phi));
        }
    }
    Ok(())
}

/// How much more than chance the faults of a site's quarters scatter: what intervals are widened by.
fn dispersion(evidence: &Evidence) -> f64 {
    let cells = evidence.derived.counts.trust.escapes.cells();
    let looked_back = cells.iter().filter(|(cell, _)| evidence.is_looked_back(cell.quarter));
    let part = |(cell, row): &(escapes::Key, escapes::Row)| Part {
        cluster: u64::from(cell.site.0) << 32 | u64::from(cell.quarter.0),
        stratum: cell.band.0.into(),
        events: row.faults.max(0) as u64,
        exposure: days_of(row.seconds),
    };
    let parts: Vec<Part> = looked_back.map(part).collect();
    scatter(&parts).widened(evidence.rules().level).unwrap_or(1.0)
}

fn row(evidence: &Evidence, by: By, found: &Along<Escapes, BandNo>, phi: f64) -> Row {
    let edges = band_days(ESCAPE_DAYS, evidence.rules());
    let band = |(edges, number): (&[u32], u32)| {
        let cell = found.cells.iter().find(|(band, _)| band.0 == number);
        let counts = cell.map(|(_, row)| *row).unwrap_or_default();
        Band {
            width: f64::from(edges[1] - edges[0]),
            events: counts.faults.max(0) as u64,
            exposure: days_of(counts.seconds),
        }
    };
    let bands: Vec<Band> = edges.windows(2).zip(0..).map(band).collect();
    let rules = evidence.rules();
    let estimate = cumulative_hazard_dispersed(&bands, phi, rules.level);
    let total = found.total();
    let mut words = found.words.iter().cloned();
    let criteria = matches!(by, By::Criteria | By::CriteriaGrading).then(|| words.next()).flatten();
    let own = Own { criteria, grading: words.next(), ..Own::default() };
    let row = Row::of(by, Group::default(), Quantity::Escapes, &estimate, own).scaled(1000.0);
    let thin = (total.started < rules.least_count.into()).then_some(Flag::Thin);
    let row = Row { n: total.started as f64, events: Some(total.faults), ..row };
    row.flagged(thin).flagged(evidence.guessed_cover(None))
}
