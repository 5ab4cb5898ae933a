//! The one result type that every function of `stats` hands back.

/// What kept a number from being as firm as it looks. Types, not sentences: words are made by
/// `measures` and `report`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Warning {
    /// No information at all: the interval is the whole range.
    NoData,
    /// Events on one side only: one limit is exact and one-sided, the estimate is missing.
    OneSided,
    /// An iteration stopped before its tolerance.
    NotConverged,
    /// The maximum lies on the edge of the parameter space.
    Boundary,
    /// A large-sample formula on few events.
    Approximate,
    /// Fewer clusters than the variance formula wants.
    FewClusters,
    /// A level, band or stratum without exposure was left out.
    Short,
}

/// An estimate with its interval.
///
/// `value`, `low` and `high` are `None` where nothing can be said; they are never NaN or infinite.
/// Where all three are there, `low <= value <= high`.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimate {
    /// Point estimate, in the unit the function names.
    pub value: Option<f64>,
    /// Lower limit at `level`.
    pub low: Option<f64>,
    /// Upper limit at `level`.
    pub high: Option<f64>,
    /// Confidence (or credible) level in (0, 1).
    pub level: f64,
    /// Units or exposure that the estimate rests on.
    pub n: f64,
    /// Events among them.
    pub events: u64,
    /// Name of the method, fit for a table ("Wilson", "Garwood").
    pub method: &'static str,
    /// What a reader must know to read the number rightly.
    pub warnings: Vec<Warning>,
}
