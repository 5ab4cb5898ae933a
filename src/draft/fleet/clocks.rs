//! What the times of all exports say of the fleet's time zone.

use std::collections::BTreeSet;

use super::group::Group;
use crate::draft::drafted::Drafted;
use crate::draft::mapped::Mapped;
use crate::draft::name::Name;
use crate::draft::page::{Question, shown};
use crate::records::Kind;

/// What stands where nothing says more.
const NOWHERE: &str = "UTC";
/// Offsets of a winter and its summer with a place that has both (IANA time zone database, rules of 2026).
const SEASONS: [([&str; 2], &str); 6] = [
    (["+00:00", "+01:00"], "Europe/London"),
    (["+01:00", "+02:00"], "Europe/Berlin"),
    (["+02:00", "+03:00"], "Europe/Helsinki"),
    (["-05:00", "-04:00"], "America/New_York"),
    (["-06:00", "-05:00"], "America/Chicago"),
    (["-08:00", "-07:00"], "America/Los_Angeles"),
];

/// The times of a fleet's exports.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Clocks {
    /// The first column of times without a zone, with one of them.
    local: Option<(String, String)>,
    /// The first column of times with their distance to UTC, and those that stand there.
    zoned: Option<(String, BTreeSet<String>)>,
}

impl Clocks {
    /// Adds the times of an export.
    pub fn add(&mut self, draft: &Drafted, group: &Group) {
        let mapped = draft.parts.iter().flat_map(|part| &part.mapped);
        let times: Vec<&Mapped> = mapped.filter(|one| one.column.kind == Kind::Time).collect();
        let is_read = |one: &Mapped, zoned: bool| {
            one.times.as_ref().is_some_and(|times| times.zoned == zoned)
        };
        let is_utc = |one: &Mapped| one.names.iter().any(|name| Name::of(name).is_utc());
        let has_hours = |one: &&&Mapped| one.profile.examples.iter().any(|text| text.contains(':'));
        let local: Vec<&Mapped> =
            times.iter().copied().filter(|one| is_read(one, false) && !is_utc(one)).collect();
        // Hours show better than days what is asked.
        if let Some(one) = local.iter().find(has_hours).or(local.first())
            && self.local.as_ref().is_none_or(|(_, known)| !known.contains(':') && has_hours(&one))
        {
            let example = one.profile.examples.iter().find(|text| !text.is_empty());
            self.local = Some((one.profile.name.clone(), example.cloned().unwrap_or_default()));
        }
        let offsets_of = |one: &&Mapped| {
            let rows = group.rows.of(&[&one.profile.name]);
            let offsets: BTreeSet<String> = rows.iter().filter_map(|row| offset(row[0])).collect();
            (!offsets.is_empty()).then(|| (one.profile.name.clone(), offsets))
        };
        let mut zoned = times.iter().filter(|one| is_read(one, true));
        self.zoned = self.zoned.take().or_else(|| zoned.find_map(offsets_of));
    }

    /// The zone that is likely, with the question: nothing in an export says it for certain.
    pub fn zone(&self, currency: &str) -> (String, Question) {
        let seasons = self.zoned.as_ref().and_then(|(_, offsets)| {
            let is_it = |(pair, _): &&([&str; 2], &str)| {
                offsets.len() == 2 && pair.iter().all(|one| offsets.contains(*one))
            };
            SEASONS.iter().find(is_it).map(|(_, place)| *place)
        });
        let of_currency = zone_of(currency);
        let zone = seasons.or(of_currency).unwrap_or(NOWHERE);
        let mut evidence = Vec::new();
        if let Some((column, example)) = &self.local {
            evidence.push(format!("column {} holds {}", shown(column), shown(example)));
        }
        if let Some((column, offsets)) = &self.zoned {
            let offsets: Vec<&str> = offsets.iter().take(3).map(String::as_str).collect();
            let offsets = offsets.join(", ");
            evidence.push(format!("times of column {} end with {offsets}", shown(column)));
        }
        evidence.push(match (seasons, of_currency) {
            (Some(place), _) => format!("as in {place} in winter and summer, and elsewhere"),
            (None, Some(_)) => format!("{currency} is paid there, and nothing else speaks for it"),
            (None, None) => format!("nothing speaks for a place, so {NOWHERE} stands"),
        });
        let question = match self.local {
            Some(_) => {
                "Which time zone are times in that name none? A place such as \"Europe/Vienna\"; a source of another zone gets a `timezone` of its own"
            }
            None => {
                "In which time zone do the fleet's days begin? A place such as \"Europe/Vienna\""
            }
        };
        (zone.to_owned(), Question { question: question.to_owned(), evidence: evidence.join("; ") })
    }
}

/// The distance to UTC at the end of a time, as `+01:00`.
fn offset(text: &str) -> Option<String> {
    let at = text.rfind(['+', '-'])?;
    let (sign, digits) = (&text[at..=at], text[at + 1..].replace(':', ""));
    let is_offset =
        at > 10 && digits.len() == 4 && digits.bytes().all(|byte| byte.is_ascii_digit());
    is_offset.then(|| format!("{sign}{}:{}", &digits[..2], &digits[2..]))
}

/// The zone of the country that alone has a currency (IANA names; common practice).
fn zone_of(currency: &str) -> Option<&'static str> {
    Some(match currency {
        "PLN" => "Europe/Warsaw",
        "CHF" => "Europe/Zurich",
        "GBP" => "Europe/London",
        "CZK" => "Europe/Prague",
        "HUF" => "Europe/Budapest",
        "SEK" => "Europe/Stockholm",
        "NOK" => "Europe/Oslo",
        "DKK" => "Europe/Copenhagen",
        "RON" => "Europe/Bucharest",
        "BRL" => "America/Sao_Paulo",
        "JPY" => "Asia/Tokyo",
        "INR" => "Asia/Kolkata",
        _ => return None,
    })
}
