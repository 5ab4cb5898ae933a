//! What pass one goes by apart from the events of an end face.

use crate::derive::mating::named::Named;
use crate::settings::Rules;

/// What pass one needs apart from the events.
pub struct Surroundings<'a> {
    /// The rules of the settings.
    pub rules: &'a Rules,
    /// Code of the method word "mixed".
    pub mixed: u32,
    /// Tickets that name an end face and still look for their mating.
    pub named: &'a Named,
    /// What comes later is not known: the first instant after the period.
    pub period_end: i64,
}
