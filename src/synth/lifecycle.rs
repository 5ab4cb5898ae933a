//! The lifecycle of a fleet: its stages in order, what is planted at each, and what is done where.

use std::borrow::Cow;

use super::culprits::Culprits;
use super::event::Method;

/// One stage, with what is planted there.
#[derive(Clone, Copy, Debug)]
pub struct Stage {
    /// Its word in the settings and the exports.
    pub word: &'static str,
    /// Entry hazard of dirt on the way from the stage before: LC, uncapped.
    pub into: f64,
    /// Entry hazard of dirt between two visits of the stage: LC, uncapped.
    pub again: f64,
    /// Share of end faces that come capped.
    pub capped: f64,
    /// Linked faults per connection-month of an LC mating made there after looking at both ends.
    pub linked: f64,
}

/// The stages and what is done at which of them, by their index.
#[derive(Clone, Debug)]
pub struct Lifecycle {
    /// In order.
    pub stages: Cow<'static, [Stage]>,
    /// How many of them, from the first, are without light.
    pub dark: usize,
    /// The two rounds of looks at the works.
    pub made: [usize; 2],
    /// The test with leads before the works send an end face out.
    pub bench: Option<usize>,
    /// Goods in.
    pub received: usize,
    /// First joined where they stay.
    pub installed: usize,
    /// The test with leads where they stay, some days after.
    pub accepted: Option<usize>,
    /// Planned work on a connection in service.
    pub changed: usize,
    /// Joined again after a fault.
    pub repaired: usize,
    /// What stands out.
    pub culprits: Culprits,
}

const fn stage(word: &'static str, [into, again, capped, linked]: [f64; 4]) -> Stage {
    Stage { word, into, again, capped, linked }
}

/// What stands out where the seed is the demo's, by the stages at which end faces are joined first and again. Families and
/// suppliers by their place in `plant`: MPO is the sixth.
const fn usual(installed: usize, changed: usize) -> Culprits {
    Culprits {
        worst_cell: (7, installed),
        worst_family: (changed, 5),
        carriers: [(0, 1), (1, 3)],
        worn_tool: (0, Method::Dry, 2),
        dirty_supplier: 2,
    }
}

/// The demo's operator: a central works with two shops and a test bay, depots, the line.
pub static OPERATOR: Lifecycle = Lifecycle {
    stages: Cow::Borrowed(&[
        stage("cord-shop", [0.0, 0.03, 0.3, 0.0]),
        stage("frame-shop", [0.05, 0.03, 0.5, 0.0]),
        stage("test-bay", [0.06, 0.04, 0.4, 0.006]),
        stage("depot-stores", [0.09, 0.03, 0.8, 0.008]),
        stage("lineside-fitting", [0.24, 0.05, 0.65, 0.013]),
        stage("line-upkeep", [0.13, 0.10, 0.1, 0.0125]),
    ]),
    dark: 2,
    made: [0, 1],
    bench: Some(2),
    received: 3,
    installed: 4,
    accepted: None,
    changed: 5,
    repaired: 5,
    culprits: usual(4, 5),
};

/// Numbered sites: the stages of settings that name none.
pub static USUAL: Lifecycle = Lifecycle {
    stages: Cow::Borrowed(&[
        stage("production", [0.0, 0.05, 0.4, 0.0]),
        stage("incoming", [0.09, 0.03, 0.8, 0.0]),
        stage("installation", [0.24, 0.05, 0.65, 0.013]),
        stage("acceptance", [0.06, 0.04, 0.4, 0.011]),
        stage("change", [0.13, 0.10, 0.1, 0.0125]),
        stage("repair", [0.05, 0.10, 0.1, 0.0125]),
    ]),
    dark: 2,
    made: [0, 0],
    bench: None,
    received: 1,
    installed: 2,
    accepted: Some(3),
    changed: 4,
    repaired: 5,
    culprits: usual(2, 4),
};

impl Lifecycle {
    /// The lifecycle of the demo's operator, or that of numbered sites.
    pub fn of(demo: bool) -> &'static Lifecycle {
        if demo { &OPERATOR } else { &USUAL }
    }

    /// The stage's word.
    pub fn word(&self, stage: usize) -> &'static str {
        self.stages[stage].word
    }

    /// Entry hazard from the stage of the last visit to `stage`.
    pub fn entry_hazard(&self, last: usize, stage: usize) -> f64 {
        if last < stage {
            self.stages[last + 1..=stage].iter().map(|stage| stage.into).sum()
        } else {
            self.stages[stage].again
        }
    }
}
