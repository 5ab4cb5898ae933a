//! `[fleet]`: who and where.

use std::path::Path;

use chrono_tz::Tz;

use crate::settings::place::Place;
use crate::settings::plan;
use crate::settings::problems::Problems;
use crate::settings::words;
use crate::settings::written;

/// The fleet of a settings file in `folder`.
pub fn fleet(
    written: Option<&written::Fleet>,
    folder: &Path,
    place: &Place,
    problems: &mut Problems,
) -> plan::Fleet {
    let absent = written::Fleet::default();
    let fleet = written.unwrap_or(&absent);
    let name = fleet.name.as_deref();
    let name = words::required(name, "the name for the report", &place.key("name"), problems);
    let currency = currency(fleet.currency.as_deref(), &place.key("currency"), problems);
    let timezone = timezone(fleet.timezone.as_deref(), &place.key("timezone"), problems);
    let month = fleet.fiscal_year_starts.unwrap_or(1);
    let month = words::whole(month, 1, 12, &place.key("fiscal_year_starts"), problems);
    let as_of = fleet.as_of.as_ref();
    let as_of = as_of.and_then(|day| words::day(day, &place.key("as_of"), problems));
    let store = fleet.store.as_deref().unwrap_or("store");
    words::word(store, &place.key("store"), problems);
    let sites = fleet.sites.clone().unwrap_or_default();
    words::list(&sites, &place.key("sites"), problems);
    plan::Fleet {
        name,
        currency,
        timezone,
        fiscal_year_starts: u32::try_from(month).unwrap_or(1),
        as_of,
        sites,
        store: folder.join(store),
        folder: folder.to_owned(),
    }
}

fn currency(code: Option<&str>, place: &Place, problems: &mut Problems) -> String {
    let wanted = "three capital letters such as \"EUR\" (ISO 4217)";
    match code {
        None => problems.add(place, format!("missing; expected {wanted}")),
        Some(code) => {
            if code.len() != 3 || !code.bytes().all(|byte| byte.is_ascii_uppercase()) {
                problems.add(place, format!("found {code:?}, expected {wanted}"));
            }
        }
    }
    code.unwrap_or_default().to_owned()
}

fn timezone(name: Option<&str>, place: &Place, problems: &mut Problems) -> Tz {
    if name.is_none() {
        let wanted = "an IANA time zone such as \"Europe/Vienna\"";
        problems.add(place, format!("missing; expected {wanted}"));
    }
    name.and_then(|name| words::zone(name, place, problems)).unwrap_or(Tz::UTC)
}
