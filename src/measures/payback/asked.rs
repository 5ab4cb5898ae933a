//! What is asked of proposals.

use super::input::Drawing;
use crate::settings::Proposal;

/// What is asked of the proposals.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// In the order of the settings.
    pub proposals: &'a [Proposal],
    /// What may be spent, minor units.
    pub budget: Option<i64>,
    /// A share a year.
    pub discount_rate: f64,
    /// How uncertain numbers are drawn.
    pub drawing: Drawing,
}
