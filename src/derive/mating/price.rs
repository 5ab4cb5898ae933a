//! What a ticket says of its price (5.5): a cost, or what it took at the fleet's rates. What it does not say stays
//! unknown here; what to put in its place is for the measure, which knows what the other tickets say.

use serde::{Deserialize, Serialize};

use crate::records::code_list;
use crate::settings::Costs;

/// Minutes of an hour.
const MINUTES: i128 = 60;

code_list! {
    /// What makes up a price where no cost is stated, in the order of [`Stated::parts`].
    PricePart {
        /// Service lost.
        Downtime = "downtime",
        /// Work.
        Labour = "labour",
        /// Trips to the site.
        Trips = "trips",
    }
}

/// What one ticket states, in minor units of the fleet's currency.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Stated {
    /// The whole price.
    pub cost: Option<i64>,
    /// By part, at the fleet's rate; none where it is not stated, and none where the rate is 0, since nothing can be
    /// told from that.
    pub parts: [Option<i64>; 3],
}

impl Stated {
    /// Of what a record says: its cost, minutes of downtime and of labour, and trips.
    pub fn of(
        cost: Option<i64>,
        [downtime_min, labour_min, trips]: [Option<i64>; 3],
        costs: &Costs,
    ) -> Stated {
        let hours = |minutes: Option<i64>, rate: i64| {
            let price =
                |minutes: i64| (i128::from(minutes) * i128::from(rate) + MINUTES / 2) / MINUTES;
            minutes.filter(|_| rate != 0).map(|minutes| saturated(price(minutes)))
        };
        let each = |count: Option<i64>, rate: i64| {
            let price = |count: i64| i128::from(count) * i128::from(rate);
            count.filter(|_| rate != 0).map(|count| saturated(price(count)))
        };
        let parts = [
            hours(downtime_min, costs.downtime_hour),
            hours(labour_min, costs.labour_hour),
            each(trips, costs.visit),
        ];
        Stated { cost, parts }
    }

    /// Minor units that the record accounts for: its cost, else the parts that it states.
    pub fn sum(&self) -> i64 {
        let parts =
            || self.parts.iter().flatten().fold(0, |sum: i64, part| sum.saturating_add(*part));
        self.cost.unwrap_or_else(parts)
    }

    /// Whether it says nothing of its price.
    pub fn is_silent(&self) -> bool {
        self.cost.is_none() && self.parts.iter().all(Option::is_none)
    }

    /// Which parts its price lacks, though it states another.
    pub fn lacks(&self, part: PricePart) -> bool {
        self.cost.is_none() && !self.is_silent() && self.parts[part as usize].is_none()
    }
}

/// An absurd number stays an absurd number.
fn saturated(money: i128) -> i64 {
    money.clamp(i64::MIN.into(), i64::MAX.into()) as i64
}

/// What one ticket of a fault says of its price.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Bill {
    /// Code of the ticket's source.
    pub source: u32,
    /// What it states.
    pub stated: Stated,
}
