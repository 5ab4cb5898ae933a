//! When faults came in every stratum of 5.5, by time since mating: only then it matters who was at risk.
//!
//! Pass two finds the times (faults are few), the count asks for those of a mating's stratum. Stops at times.

use super::describe::Mating;

/// What faults are compared within, apart from the time since mating.
#[derive(
    Clone,
    Copy,
    Debug,
    Default,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    serde::Serialize,
    serde::Deserialize,
)]
pub struct RiskStratum {
    /// Code of the site.
    pub site: u32,
    /// Piece of the calendar's quarters of the mating.
    pub quarter: u32,
    /// Code of the stage.
    pub stage: u8,
    /// Made shortly after a fault.
    pub after_fault: bool,
    /// Code of the family.
    pub family: u32,
    /// Criteria of the site's last look, 0 unless the site changed them.
    pub criteria: u32,
}

impl RiskStratum {
    /// Of a mating made in this quarter.
    pub fn of(mating: &Mating, quarter: u32) -> RiskStratum {
        RiskStratum {
            site: mating.site,
            quarter,
            stage: mating.stage,
            after_fault: mating.after_fault,
            family: mating.family,
            criteria: mating.criteria,
        }
    }
}

/// The times of every stratum.
#[derive(Default)]
pub struct RiskTimes {
    /// By code of the site: its share of the strata.
    sites: Vec<(usize, usize)>,
    /// With where the times of each begin and end, in order.
    strata: Vec<(RiskStratum, usize, usize)>,
    times: Vec<u32>,
}

impl RiskTimes {
    /// Of what was found, in any order.
    pub fn of(mut found: Vec<(RiskStratum, u32)>) -> RiskTimes {
        found.sort_unstable();
        found.dedup();
        let mut times = RiskTimes::default();
        for of_site in found.chunk_by(|a, b| a.0.site == b.0.site) {
            let first = times.strata.len();
            for of_stratum in of_site.chunk_by(|a, b| a.0 == b.0) {
                let begin = times.times.len();
                times.times.extend(of_stratum.iter().map(|(_, time)| *time));
                times.strata.push((of_stratum[0].0, begin, times.times.len()));
            }
            let site = of_site[0].0.site as usize;
            if times.sites.len() <= site {
                times.sites.resize(site + 1, (0, 0));
            }
            times.sites[site] = (first, times.strata.len());
        }
        times
    }

    /// Those of a stratum, rising, seconds since mating; none where there was no fault.
    pub fn at(&self, stratum: &RiskStratum) -> &[u32] {
        let Some((first, last)) = self.sites.get(stratum.site as usize).copied() else {
            return &[];
        };
        let strata = &self.strata[first..last];
        match strata.binary_search_by(|(known, ..)| known.cmp(stratum)) {
            Ok(place) => {
                let (_, begin, end) = strata[place];
                &self.times[begin..end]
            }
            Err(_) => &[],
        }
    }
}
