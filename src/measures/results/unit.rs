//! What a number is a number of.

use super::words::words;

words! {
    /// Unit of an estimate or of a column.
    pub enum Unit {
        /// A fraction of 1.
        Share = "share",
        /// One share less another, a fraction of 1.
        Difference = "difference of shares",
        /// What money grows by in a year, a fraction of it; may be negative or above 1.
        GrowthAYear = "fraction a year",
        /// A plain number: a ratio of two rates, costs or variances, the growth of a power law.
        Ratio = "ratio",
        /// A test statistic; n are its degrees of freedom.
        ChiSquare = "chi-square",
        /// Faults per 1,000 matings, by the horizon.
        PerThousandMatings = "per 1,000 matings",
        /// Faults per 1,000 connection-months (of 730.5 hours).
        PerThousandMonths = "per 1,000 connection-months",
        /// Faults per 10^9 connection-hours.
        Fit = "FIT",
        /// Cleaning cycles: a cleaning followed by a look.
        Cycles = "cycles",
        /// Months: of the calendar, or of 730.5 hours where a connection is in force.
        Months = "months",
        /// Days of 24 hours.
        Days = "days",
        /// Hours.
        Hours = "hours",
        /// Units of the fleet's currency, with hundredths.
        Money = "currency",
        /// Things counted.
        Count = "count",
        /// A probability: of the data under no difference (p), the same after the number of comparisons (q), or of a
        /// statement given the data.
        Probability = "probability",
        /// A number whose meaning its column says.
        Number = "number",
        /// A word.
        Word = "word",
        /// A point in time: a minute, day, week, month or quarter.
        Time = "point in time",
    }
}

words! {
    /// What may be done with a column's values.
    pub enum Kind {
        /// A part of a whole; compared by differences.
        Share = "share",
        /// Events per exposure; compared by ratios.
        Rate = "rate",
        /// A number without a unit; 1 is no difference.
        Ratio = "ratio",
        /// An amount in the fleet's currency; can be added up where rows do not overlap.
        Money = "money",
        /// A number of things; can be added up where rows do not overlap.
        Count = "count",
        /// A length of time or a point in time.
        Time = "time",
        /// A probability.
        Probability = "probability",
        /// Any other number.
        Number = "number",
        /// A word or a name.
        Word = "word",
    }
}

impl Unit {
    /// The kind of number that it is the unit of.
    pub fn kind(self) -> Kind {
        match self {
            Unit::Share | Unit::Difference => Kind::Share,
            Unit::Ratio => Kind::Ratio,
            Unit::PerThousandMatings | Unit::PerThousandMonths | Unit::Fit => Kind::Rate,
            Unit::Months | Unit::Days | Unit::Hours | Unit::Time => Kind::Time,
            Unit::Money => Kind::Money,
            Unit::Count | Unit::Cycles => Kind::Count,
            Unit::Probability => Kind::Probability,
            Unit::ChiSquare | Unit::Number | Unit::GrowthAYear => Kind::Number,
            Unit::Word => Kind::Word,
        }
    }
}
