//! What a site's money of the months looked back is multiplied by to be of a year.
//!
//! Money is of matings that have run their horizon: of later ones the looks would be known and the faults
//! not yet. These are the matings of whole quarters.

use super::places::Places;
use crate::measures::evidence::Evidence;
use crate::measures::months::{Months, a_year};

/// Of one site.
#[derive(Clone, Copy, Debug)]
pub struct Year {
    /// Faults, and what they cost.
    pub faults: f64,
    /// Looks not made.
    pub looks: f64,
    /// Months of matings that have run their horizon, with the site's faults known.
    pub months: f64,
}

/// By the places of the sites in the order of display.
pub struct Years(Vec<Year>);

impl Years {
    /// Of every site that the records name.
    pub fn of(evidence: &Evidence, places: &Places) -> Years {
        Years::by(&evidence.months, places)
    }

    /// The same by other months.
    pub fn by(months: &Months, places: &Places) -> Years {
        let year = |name: &str| {
            let covered = months.named(Some(name));
            let (faults, looks) = (a_year(covered.whole_faults), a_year(covered.whole_followed));
            Year { faults, looks, months: covered.whole_faults }
        };
        Years(places.sites().map(year).collect())
    }

    /// Of the site at a place.
    pub fn at(&self, site: u32) -> Year {
        const AS_COUNTED: Year = Year { faults: 1.0, looks: 1.0, months: 0.0 };
        self.0.get(site as usize).copied().unwrap_or(AS_COUNTED)
    }
}
