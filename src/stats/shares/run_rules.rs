//! Patterns of a control chart that chance seldom makes: the Western Electric rules.
//!
//! Works on standardised values (distance from the centre line in standard deviations). Promises
//! strict comparisons and full windows: a rule on eight points says nothing before the eighth.
//! Stops at the four rules; which of them a report uses is its own business.

/// A rule of the Western Electric handbook.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum RunRule {
    /// One point beyond three standard deviations.
    BeyondThree,
    /// Two of three points beyond two, on one side.
    TwoOfThreeBeyondTwo,
    /// Four of five points beyond one, on one side.
    FourOfFiveBeyondOne,
    /// Eight points in a row on one side of the centre line.
    EightOnOneSide,
}

/// A point at which a rule signals.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Signal {
    /// The point, counted from 0: the last of the pattern.
    pub index: usize,
    /// The rule whose pattern it is.
    pub rule: RunRule,
}

impl RunRule {
    /// All rules, in the handbook's order.
    pub const ALL: [Self; 4] = [
        Self::BeyondThree,
        Self::TwoOfThreeBeyondTwo,
        Self::FourOfFiveBeyondOne,
        Self::EightOnOneSide,
    ];

    /// Points of the window, points needed in it, and the line they must lie beyond.
    const fn pattern(self) -> (usize, usize, f64) {
        match self {
            Self::BeyondThree => (1, 1, 3.0),
            Self::TwoOfThreeBeyondTwo => (3, 2, 2.0),
            Self::FourOfFiveBeyondOne => (5, 4, 1.0),
            Self::EightOnOneSide => (8, 8, 0.0),
        }
    }
}

/// All signals of `z` in time order, by point and then by rule.
///
/// The last point of a pattern must itself lie beyond the line; a value that is not a number lies
/// beyond none.
///
/// Source: Western Electric (1956), Statistical Quality Control Handbook, pp. 25-28 [pages from
/// memory]; Nelson (1984), J. Qual. Technol. 16, 237-239.
pub fn run_rules(z: &[f64]) -> Vec<Signal> {
    let signals_at = |index: usize| {
        RunRule::ALL
            .into_iter()
            .filter(move |rule| signals(&z[..=index], *rule))
            .map(move |rule| Signal { index, rule })
    };
    (0..z.len()).flat_map(signals_at).collect()
}

fn signals(seen: &[f64], rule: RunRule) -> bool {
    let (window, needed, line) = rule.pattern();
    let Some(start) = seen.len().checked_sub(window) else {
        return false;
    };
    [1.0, -1.0].into_iter().any(|side| {
        let beyond = |z: &&f64| **z * side > line;
        let window = &seen[start..];
        window.last().as_ref().is_some_and(beyond) && window.iter().filter(beyond).count() >= needed
    })
}
