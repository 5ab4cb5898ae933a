//! What 5.11 chooses from: for every cell of which savings are known the few candidates that could be
//! listed. Bounded by cells times rows, whatever the fleet.

use rustc_hash::FxHashSet;
use serde::{Deserialize, Serialize};

use super::shortlist::Shortlist;
use crate::derive::face::left_failing::LeftFailing;
use crate::derive::mating::unseen::UnseenMating;
use crate::derive::scan::key::Key;

/// Candidates of the lists that are not made from other counts (carriers are).
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Worklist {
    /// End faces left failing, by stage, family, finding and cycles tried.
    pub left: Shortlist<[u32; 4], LeftFailing>,
    /// Matings made without both ends seen, by stage, family and coverage.
    pub unseen: Shortlist<[u32; 3], UnseenMating>,
}

impl Worklist {
    /// Empty lists that keep `rows` candidates a cell.
    pub fn keeping(rows: usize) -> Worklist {
        Worklist { left: Shortlist::keeping(rows), unseen: Shortlist::keeping(rows) }
    }

    /// The lists of both.
    pub fn merge(self, other: Worklist) -> Worklist {
        Worklist { left: self.left.merge(other.left), unseen: self.unseen.merge(other.unseen) }
    }

    /// End faces that a list may name.
    pub fn named(&self) -> FxHashSet<Key> {
        let left = self.left.items().into_iter().map(|left| left.key);
        let unseen = self.unseen.items().into_iter().flat_map(|mating| mating.ends);
        left.chain(unseen).filter(|key| key.is_known()).collect()
    }

    /// Numbers of the matings that a list may name.
    pub fn matings(&self) -> FxHashSet<u64> {
        self.unseen.items().into_iter().map(|mating| mating.number).collect()
    }
}
