//! Sums of what less dirt, and looks, would spare (`sparing` sums them).

use std::collections::BTreeMap;

use super::event::Minute;
use super::plant::DAY;
use super::window::Window;

/// Days at the end whose matings have not run their horizon: three months, as the review leaves out a quarter.
pub const OPEN: Minute = 91 * DAY;

/// Sums of one site and stage, of the last twelve months; those of skipped matings not after a fault are of the months whose
/// matings have run their horizon.
#[derive(Clone, Debug, Default)]
pub struct Spared {
    /// Visits by what the end face is when they begin: clean, dirty, defective.
    pub visits: [f64; 3],
    /// Matings, those with both ends seen, and the skipped ones.
    pub known: f64,
    pub both: f64,
    pub skipped: f64,
    /// Ends of matings, and those of them that were looked at on receipt.
    pub ends: f64,
    pub received: f64,
    /// What ends not looked at on receipt would have been found to be there; how many there were, recessed lenses among them.
    pub receipts: [f64; 3],
    pub receipts_all: f64,
    /// Ends nobody looked at, and the defective ones of them; the dirty ones by set of changes.
    pub unseen: f64,
    pub unseen_defective: f64,
    pub unseen_dirty: Vec<f64>,
    /// Dirty end faces that visits would not find, by set of changes.
    pub fewer_dirty: Vec<f64>,
    /// Linked faults beyond those after looks, by set of changes.
    pub excess: Vec<f64>,
}

/// Sums of a fleet.
#[derive(Clone, Debug, Default)]
pub struct AllSpared {
    /// By site and stage.
    pub places: BTreeMap<(usize, usize), Spared>,
    /// By works and lead that carries dirt, and by site and stage: dirty end faces and linked faults that it is behind.
    pub leads: BTreeMap<[usize; 4], [f64; 2]>,
}

/// The mating at hand: what its unseen ends are.
#[derive(Clone, Debug, Default)]
pub struct Unseen {
    /// How many of them are dirty, by set of changes.
    pub dirty: Vec<f64>,
    /// The lead that carries dirt and touched one, and how many are dirty with any other in its place.
    pub lead: Option<(usize, f64)>,
}

impl AllSpared {
    /// Adds the sums of another batch.
    pub fn merge(&mut self, other: AllSpared) {
        // A site is of one batch.
        self.places.extend(other.places);
        self.leads.extend(other.leads);
    }
}

/// What the sums of the months whose matings have run their horizon are multiplied by to be of a year, and those of the last
/// twelve months.
pub fn yearly(window: &Window) -> [f64; 2] {
    let days = |to: Minute| ((to - window.year()) as f64 / DAY as f64).max(1.0);
    [window.lived.1 - OPEN, window.lived.1].map(|to| 365.0 / days(to))
}
