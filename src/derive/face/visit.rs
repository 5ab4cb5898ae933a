//! What a visit is once it is over (V1-V7).

use serde::{Deserialize, Serialize};

use super::event::NO_MATING;
use crate::derive::scan::key::Key;
use crate::records::{Finding, Optic, code_list};

/// What a readable look said.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Look {
    /// It passed.
    Pass,
    /// With what failed it; unknown where the source did not say (R5).
    Fail(Finding),
}

code_list! {
    /// How a visit ended (V5).
    #[derive(serde::Serialize, serde::Deserialize)]
    Ending {
        /// The last event is a cleaning that nobody looked at.
        Unverified = "unverified",
        /// The end face was taken out of use.
        Rejected = "rejected",
        /// The last look passed.
        Passed = "passed",
        /// The last look failed, and nobody decided anything.
        LeftFailing = "left-failing",
    }
}

/// What the end face is, as far as known. Codes of the fleet's lists; 0 where unknown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Face {
    /// Code of the connector family.
    pub family: u32,
    /// Place in `Side::WORDS` plus 1.
    pub side: u8,
    /// Place in `Optic::WORDS` plus 1.
    pub optic: u8,
    /// Code of who supplied it.
    pub supplier: u32,
}

impl Face {
    /// Fills from another what is not known here.
    pub fn or(self, other: Face) -> Face {
        let code = |own: u32, other: u32| if own == 0 { other } else { own };
        let small = |own: u8, other: u8| if own == 0 { other } else { own };
        Face {
            family: code(self.family, other.family),
            side: small(self.side, other.side),
            optic: small(self.optic, other.optic),
            supplier: code(self.supplier, other.supplier),
        }
    }

    /// Whether the two name different things somewhere.
    pub fn conflicts(self, other: Face) -> bool {
        let differ = |a: u32, b: u32| a != 0 && b != 0 && a != b;
        differ(self.family, other.family)
            || differ(self.supplier, other.supplier)
            || differ(self.side.into(), other.side.into())
            || differ(self.optic.into(), other.optic.into())
    }

    /// A lens that no tool reaches. An unknown optic is none (C1).
    pub fn is_recessed(self) -> bool {
        self.optic == Optic::RecessedLens as u8 + 1
    }
}

/// A cleaning, or several with no look between, closed by a look (V2).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Cycle {
    /// Code of its method, of `mixed` where its cleanings were not all of one.
    pub method: u32,
    /// 0 where not known or not the same throughout.
    pub tool: u32,
    /// Cleanings in it, at least 1.
    pub cleanings: u32,
    /// The look that closed it.
    pub closed_by: Look,
    /// Whether the look before it passed: then it can only soil.
    pub began_clean: bool,
}

/// Cleanings of an end face that had just passed (V6).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct CleanedWhileClean {
    /// Method of the cleaning.
    pub method: u32,
    /// The look after it; none where nobody looked.
    pub then: Option<Look>,
}

/// What a passage (4.4) needs of the visit before it of the same end face.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Earlier {
    /// Code of the stage.
    pub stage: u8,
    /// It ended with a passing look: the end face was known to be clean.
    pub passed: bool,
    /// Time of its last event, microseconds UTC.
    pub ended: i64,
    /// Matings of the end face since.
    pub matings: u32,
}

/// Looks that follow a passing look of the same visit with nothing between, at most an hour later
/// (5.6): the end face should still be clean.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct SecondLooks {
    /// Those that passed or failed for contamination.
    pub looks: u32,
    /// Those that failed for contamination.
    pub failing: u32,
}

/// One run of looks and cleanings of one end face.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Visit {
    /// The end face.
    pub key: Key,
    /// Time of its first event, microseconds UTC.
    pub start: i64,
    /// Code of the site.
    pub site: u32,
    /// Code of the stage.
    pub stage: u8,
    /// What the end face is.
    pub face: Face,
    /// Of its first look, where recorded.
    pub capped: Option<bool>,
    /// The first event, if it is a look (V3).
    pub first: Option<Look>,
    /// Zone of a failing first look, 1 to 4 for A to D, else 0.
    pub first_zone: u8,
    /// Instrument of the first look, 0 where not known.
    pub instrument: u32,
    /// The last readable look.
    pub last: Option<Look>,
    /// Its cycles in order (V2).
    pub cycles: Vec<Cycle>,
    /// V4: 0 where the first event passed, else the cycle whose look was the first to pass.
    pub passed_at: Option<u32>,
    /// The cycles completed before a pass that closed none: 5.2 censors there.
    pub pass_without_cycle: Option<u32>,
    /// How it ended (V5).
    pub ending: Ending,
    /// All cleanings, verified or not.
    pub cleanings: u32,
    /// Method of the first cleaning, 0 without one.
    pub first_method: u32,
    /// V6: cleanings of the end face when it had just passed.
    pub cleaned_while_clean: Vec<CleanedWhileClean>,
    /// Hash of the last known work order, 0 for none.
    pub work_order: u64,
    /// V7: a fault was behind it.
    pub prompted: bool,
    /// V7: the same stage once more, with no mating of a week or more between.
    pub again: bool,
    /// The end face's first recorded visit.
    pub first_recorded: bool,
    /// The visit before it; none for the first recorded one.
    pub earlier: Option<Earlier>,
    /// Looks that followed a passing one (5.6).
    pub second_looks: SecondLooks,
    /// The last mating before it, [`super::event::NO_MATING`] for none.
    pub last_mating: u64,
    /// No visit between that mating and this one.
    pub first_since_mating: bool,
    /// A ticket may touch that mating.
    pub touched: bool,
}

impl Visit {
    /// Of no end face, at no time, with nothing in it: what a visit begins as, and what is read into.
    pub fn nothing() -> Visit {
        Visit {
            key: Key::NONE,
            start: 0,
            site: 0,
            stage: 0,
            face: Face::default(),
            capped: None,
            first: None,
            first_zone: 0,
            instrument: 0,
            last: None,
            cycles: Vec::new(),
            passed_at: None,
            pass_without_cycle: None,
            ending: Ending::Unverified,
            cleanings: 0,
            first_method: 0,
            cleaned_while_clean: Vec::new(),
            work_order: 0,
            prompted: false,
            again: false,
            first_recorded: false,
            earlier: None,
            second_looks: SecondLooks::default(),
            last_mating: NO_MATING,
            first_since_mating: false,
            touched: false,
        }
    }

    /// V3: work began without a look.
    pub fn cleaned_unseen(&self) -> bool {
        self.first.is_none()
    }
}
