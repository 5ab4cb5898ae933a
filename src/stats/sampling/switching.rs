//! How severely the next lot is looked at, by what the lots before it were.

/// How severe.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Regime {
    /// Fewer are looked at.
    Reduced,
    /// The plan as it is listed.
    Normal,
    /// Fewer bad ones are accepted.
    Tightened,
}

/// Lots in a row in which two refused ones tighten.
const OF_LOTS: usize = 5;
/// Refused ones among them that tighten.
const REFUSED: usize = 2;
/// Lots accepted in a row that end the tightened regime.
const ENDS_TIGHTENED: usize = 5;
/// Lots accepted in a row that allow the reduced regime.
///
/// Source: ten lots, MIL-STD-105E, 4.7.3 (its limit number of bad ones in them is not kept here).
const ALLOWS_REDUCED: usize = 10;

/// The state between two lots.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Switching {
    regime: Regime,
    /// Outcomes since the last change of regime, the latest last; at most as many as a rule looks at.
    since: Vec<bool>,
}

impl Default for Switching {
    fn default() -> Self {
        Switching { regime: Regime::Normal, since: Vec::new() }
    }
}

impl Switching {
    /// The regime that the next lot is looked at under.
    pub fn regime(&self) -> Regime {
        self.regime
    }

    /// Takes the outcome of one lot.
    ///
    /// Source: MIL-STD-105E, 4.7 (normal to tightened: two of five lots in a row refused; tightened to normal: five in a
    /// row accepted; normal to reduced: ten in a row accepted; reduced to normal: one refused) [numbers from memory].
    pub fn take(&mut self, accepted: bool) {
        self.since.push(accepted);
        let in_a_row = |lots: usize| {
            self.since.len() >= lots && self.since.iter().rev().take(lots).all(|accepted| *accepted)
        };
        let refused = self.since.iter().rev().take(OF_LOTS).filter(|accepted| !**accepted).count();
        let next = match self.regime {
            Regime::Normal if refused >= REFUSED => Regime::Tightened,
            Regime::Normal if in_a_row(ALLOWS_REDUCED) => Regime::Reduced,
            Regime::Tightened if in_a_row(ENDS_TIGHTENED) => Regime::Normal,
            Regime::Reduced if !accepted => Regime::Normal,
            regime => regime,
        };
        if next != self.regime {
            self.regime = next;
            self.since.clear();
        }
        if self.since.len() > ALLOWS_REDUCED {
            self.since.remove(0);
        }
    }
}
