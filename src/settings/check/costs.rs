//! `[costs]`: what work and trouble cost.

use crate::settings::money::money;
use crate::settings::place::Place;
use crate::settings::problems::Problems;
use crate::settings::{plan, written};

/// Largest time that one step may take: a week.
const MOST_MINUTES: f64 = 10_080.0;

/// The prices. Without a `[costs]` table nothing costs anything; with one every price is required.
pub fn costs(
    written: Option<&written::Costs>,
    place: &Place,
    problems: &mut Problems,
) -> plan::Costs {
    let absent = written::Costs::default();
    let costs = written.unwrap_or(&absent);
    macro_rules! price {
        ($read:ident, $name:ident) => {{
            let here = place.key(stringify!($name));
            if costs.$name.is_none() && written.is_some() {
                problems.add(&here, "missing; a [costs] table gives every price, 0 for none");
            }
            costs.$name.map_or_else(Default::default, |number| $read(number, &here, problems))
        }};
    }
    plan::Costs {
        look_minutes: price!(minutes, look_minutes),
        cleaning_minutes: price!(minutes, cleaning_minutes),
        cleaning_material: price!(money, cleaning_material),
        labour_hour: price!(money, labour_hour),
        downtime_hour: price!(money, downtime_hour),
        visit: price!(money, visit),
        reject: price!(money, reject),
        discount_rate: rate(costs.discount_rate, &place.key("discount_rate"), problems),
    }
}

/// A purchase cannot be judged without prices, nor without what later money is worth.
pub fn required(written: &written::Settings, place: &Place, problems: &mut Problems) {
    if written.proposal.as_ref().is_none_or(Vec::is_empty) {
        return;
    }
    match &written.costs {
        None => problems.add(place, "missing; a [[proposal]] is judged by the prices of [costs]"),
        Some(costs) if costs.discount_rate.is_none() => {
            let wanted =
                "expected the discount rate a year that a [[proposal]] is judged by, such as 0.05";
            problems.add(&place.key("discount_rate"), format!("missing; {wanted}"));
        }
        Some(_) => {}
    }
}

/// A share a year; above 1 money would halve within a year, which no one means.
fn rate(number: Option<f64>, place: &Place, problems: &mut Problems) -> f64 {
    let rate = number.unwrap_or(0.0);
    if !(0.0..=1.0).contains(&rate) {
        problems.add(place, format!("found {rate}, expected a share a year from 0 to 1"));
    }
    rate.clamp(0.0, 1.0)
}

fn minutes(number: f64, place: &Place, problems: &mut Problems) -> f64 {
    if !(0.0..=MOST_MINUTES).contains(&number) {
        problems.add(place, format!("found {number}, expected minutes from 0 to {MOST_MINUTES}"));
    }
    number
}
