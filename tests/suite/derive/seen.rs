//! What was seen of a derivation on the way: every visit and every mating as it was counted.

use std::sync::Mutex;

use chrono::DateTime;
use motetrail::derive::counts::Row;
use motetrail::derive::{Derived, Exposure, Fault, Key, Mating, Span, Visit, Witness};
use xxhash_rust::xxh3::xxh3_128;

/// Notes visits and matings as they are counted.
#[derive(Default)]
pub struct Watcher {
    visits: Mutex<Vec<Visit>>,
    matings: Mutex<Vec<(u64, Joined)>>,
    exposures: Mutex<Vec<Exposure>>,
}

impl Witness for Watcher {
    fn visit(&self, visit: &Visit) {
        self.visits.lock().unwrap().push(visit.clone());
    }

    fn mating(&self, mating: &Mating) {
        self.matings.lock().unwrap().push((mating.number, Joined::of(mating)));
    }

    fn exposure(&self, exposure: &Exposure) {
        self.exposures.lock().unwrap().push(*exposure);
    }
}

/// A mating as it was counted.
#[derive(Clone, Debug, PartialEq)]
pub struct Joined {
    pub at: String,
    pub coverage: &'static str,
    pub unseen: u32,
    pub reseat: bool,
    pub after_fault: bool,
    pub family: u32,
    pub criteria: u32,
    pub day_only: bool,
    pub in_force_end: String,
    pub at_risk: Option<[String; 2]>,
    pub observed: Option<[String; 2]>,
    pub guessed_cover: bool,
    pub faults: Vec<Fault>,
}

impl Joined {
    fn of(mating: &Mating) -> Joined {
        let span = |span: Span| [time(span.from), time(span.to)];
        Joined {
            at: time(mating.at),
            coverage: mating.coverage.word(),
            unseen: mating.unseen,
            reseat: mating.reseat,
            after_fault: mating.after_fault,
            family: mating.family,
            criteria: mating.criteria,
            day_only: mating.day_only,
            in_force_end: time(mating.in_force_end),
            at_risk: mating.at_risk.map(span),
            observed: mating.observed.map(span),
            guessed_cover: mating.guessed_cover,
            faults: mating.faults.to_vec(),
        }
    }

    /// Times at which its faults count.
    pub fn fault_times(&self) -> Vec<String> {
        self.faults.iter().map(|fault| time(fault.at)).collect()
    }
}

/// What a derivation came to.
pub struct Seen {
    pub derived: Derived,
    /// By end face and start.
    pub visits: Vec<Visit>,
    /// In the order of the export.
    pub matings: Vec<Joined>,
    /// By mating, then as its ends are.
    pub exposures: Vec<Exposure>,
}

impl Seen {
    pub fn of(derived: Derived, watcher: Watcher) -> Seen {
        let mut visits = watcher.visits.into_inner().unwrap();
        visits.sort_by_key(|visit| (visit.key, visit.start));
        let mut matings = watcher.matings.into_inner().unwrap();
        matings.sort_by_key(|(number, _)| *number);
        let matings = matings.into_iter().map(|(_, mating)| mating).collect();
        let mut exposures = watcher.exposures.into_inner().unwrap();
        exposures.sort_by_key(|exposure| exposure.mating);
        Seen { derived, visits, matings, exposures }
    }

    /// The visits of an end face whose name is unique in the fleet.
    pub fn of_face(&self, name: &str) -> Vec<&Visit> {
        let key = key(name);
        self.visits.iter().filter(|visit| visit.key == key).collect()
    }

    /// The only visit of an end face.
    pub fn visit(&self, name: &str) -> &Visit {
        let visits = self.of_face(name);
        assert_eq!(visits.len(), 1, "{visits:?}");
        visits[0]
    }

    /// When the visits of an end face start.
    pub fn starts(&self, name: &str) -> Vec<String> {
        self.of_face(name).iter().map(|visit| time(visit.start)).collect()
    }

    /// Coverage of every mating, in the order of the export.
    pub fn coverage(&self) -> Vec<&'static str> {
        self.matings.iter().map(|mating| mating.coverage).collect()
    }

    pub fn family(&self, code: u32) -> &str {
        self.derived.glossary.family.0.word(code)
    }

    pub fn method(&self, code: u32) -> &str {
        self.derived.glossary.method.0.word(code)
    }
}

/// The figures of a row in the order in which its table declares them.
pub fn figures<R: Row>(row: R) -> R::Values {
    row.values()
}

/// Key of an end face, taken apart from the program: XXH3 of its length and its name.
pub fn key(name: &str) -> Key {
    let mut bytes = (name.len() as u64).to_le_bytes().to_vec();
    bytes.extend_from_slice(name.as_bytes());
    let hash = xxh3_128(&bytes);
    Key { high: (hash >> 64) as u64, low: hash as u64 }
}

/// An instant as the cases write it, with a fraction where there is one.
pub fn time(at: i64) -> String {
    match at {
        i64::MAX => "never".to_owned(),
        at => {
            let at = DateTime::from_timestamp_micros(at).unwrap();
            at.format("%Y-%m-%d %H:%M:%S%.f").to_string()
        }
    }
}
