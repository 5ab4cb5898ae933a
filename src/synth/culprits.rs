//! What stands out in a fleet: where skipping costs most, what carries dirt, who delivers it.

use super::event::Method;

/// What stands out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Culprits {
    /// Site and stage at which skipping a look costs most.
    pub worst_cell: (usize, usize),
    /// Stage and family at which it does at every site.
    pub worst_family: (usize, usize),
    /// Test leads that carry dirt, at every site that has leads: family, and number from 0.
    pub carriers: [(usize, usize); 2],
    /// The worn tool: site, method and number.
    pub worn_tool: (usize, Method, usize),
    /// The supplier whose end faces arrive dirty.
    pub dirty_supplier: usize,
}
