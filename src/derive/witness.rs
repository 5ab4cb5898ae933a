//! Who may look on while visits and matings are counted.

use super::face::visit::Visit;
use super::mating::describe::Mating;
use super::mating::exposure::Exposure;
use super::period::Period;

/// Sees every visit and mating as it is counted. For tests and tools; the review needs none.
pub trait Witness: Sync {
    /// The period is chosen, and the long part of the work follows: the last moment to refuse it.
    ///
    /// # Errors
    /// Whatever the caller has against it; the derivation ends with that.
    fn period(&self, _period: &Period) -> Result<(), Box<dyn std::error::Error + Send + Sync>> {
        Ok(())
    }

    /// A visit, as it is counted.
    fn visit(&self, _visit: &Visit) {}
    /// A mating, as it is counted.
    fn mating(&self, _mating: &Mating) {}
    /// A clean end that was mated, and how it came out, as it is counted.
    fn exposure(&self, _exposure: &Exposure) {}
}

impl Witness for () {}
