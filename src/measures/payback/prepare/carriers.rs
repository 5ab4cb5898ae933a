//! Less dirt that carriers pass on.

use super::{Preparing, Reason, lacking};
use crate::measures::carriers::Carrier;
use crate::measures::payback::declared::Source;
use crate::measures::payback::effect::{Change, Planned};
use crate::measures::payback::flows::{CarrierExcess, Place};
use crate::measures::payback::named::{DIRTY_CYCLES, DIRTY_ENDS};
use crate::settings::Stated;
use crate::stats::quantile::normal_quantile;

impl Preparing<'_> {
    /// Carriers of each kind that is replaced, at the places where they are used.
    pub(super) fn carriers(
        &self,
        share: &Stated,
        kinds: &[String],
    ) -> Result<Vec<Planned>, Reason> {
        let Some(all) = &self.flows.carriers else {
            return Err(lacking("what carriers pass on"));
        };
        let is_wanted =
            |kind: &Carrier| kinds.is_empty() || kinds.iter().any(|wanted| wanted == kind.word());
        let of_kinds = DIRTY_ENDS.into_iter().chain(DIRTY_CYCLES).filter(is_wanted);
        let planned: Vec<Planned> =
            of_kinds.filter_map(|kind| self.carriers_of(all, kind, share)).collect();
        if planned.is_empty() {
            let where_used = if self.effect.sites.is_empty() { "" } else { " there" };
            return Err(lacking(&format!(
                "what carriers pass on: none of these kinds stands out{where_used}"
            )));
        }
        Ok(planned)
    }

    /// None where no carrier of the kind is used.
    fn carriers_of(&self, all: &[CarrierExcess], kind: Carrier, share: &Stated) -> Option<Planned> {
        let places = self.flows.places_of(&[], &self.effect.sites);
        let mut excess = vec![0.0; places.len()];
        let (mut below, mut above, mut carriers) = (0.0, 0.0, 0_usize);
        for one in all.iter().filter(|one| one.kind == kind) {
            let mut here = 0.0;
            for (at, place) in places.iter().enumerate() {
                let Place { site, stage, .. } = &self.flows.places[*place];
                let part = one.part_at(site, stage);
                excess[at] += one.excess * part;
                here += part;
            }
            below += (one.below * here).powi(2);
            above += (one.above * here).powi(2);
            carriers += usize::from(here > 0.0);
        }
        let sum: f64 = excess.iter().sum();
        if carriers == 0 || sum == 0.0 {
            return None;
        }
        let (places, parts): (Vec<usize>, Vec<f64>) = places
            .into_iter()
            .zip(excess)
            .filter(|(_, excess)| *excess != 0.0)
            .map(|(place, excess)| (place, excess / sum))
            .unzip();
        let of_cycles = DIRTY_CYCLES.contains(&kind);
        let (yearly, sites) = (self.flows.yearly, &self.effect.sites);
        let what = if of_cycles { "dirty cycles" } else { "dirty ends" };
        let whose =
            if sites.is_empty() { String::new() } else { format!(" at {}", sites.join(", ")) };
        let name = format!("{what} of carriers ({}){whose} beyond others a year", kind.word());
        // Limits at the level of the intervals, from which the draws are made.
        let reach = normal_quantile(self.drawing.level);
        let limit = |variance: f64| reach * variance.sqrt();
        let range = [sum - limit(below), sum, sum + limit(above)].map(|excess| excess * yearly);
        let change = Change::Carriers {
            excess: self.drawing.amount(name, Source::Carriers, range),
            gone: self.share("share", "share of that dirt that goes", share),
            parts,
            of_cycles,
        };
        Some(self.of(change, places, &format!("carriers: {}", kind.word()), Vec::new()))
    }
}
