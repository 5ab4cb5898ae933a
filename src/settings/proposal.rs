//! What may be bought, as understood: price, life and effects of each proposal, and the budget.

/// A purchase that somebody proposes. Money in minor units of the fleet's currency.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposal {
    /// Unique name, as printed.
    pub name: String,
    /// Line of the settings where it begins, for messages.
    pub line: usize,
    /// Price of one unit, paid at the start.
    pub price: i64,
    /// How many units are bought.
    pub units: u32,
    /// How long it works, months.
    pub life_months: u32,
    /// Months from paying until it works.
    pub starts_after_months: u32,
    /// Cost of running one unit for a year of its life.
    pub running_cost: i64,
    /// What it changes; at least one.
    pub effects: Vec<Effect>,
}

/// One change that a proposal makes.
#[derive(Clone, Debug, PartialEq)]
pub struct Effect {
    /// What is changed.
    pub kind: EffectKind,
    /// Only at these stages; empty: at all.
    pub stages: Vec<String>,
    /// Only at these sites; empty: at all.
    pub sites: Vec<String>,
    /// What one unit serves in a year: looks, cleanings, or end faces on their way; none: any number.
    pub capacity: Option<f64>,
}

/// Kinds of change.
#[derive(Clone, Debug, PartialEq)]
pub enum EffectKind {
    /// The share of matings of known coverage with both ends seen is raised to this.
    Coverage(Stated),
    /// At stages that now skip looks this share is looked at: before mating where ends are mated there, else on arrival.
    Inspection(Stated),
    /// Odds of passing a cycle are multiplied.
    Cleaning {
        /// The fleet's own contrast: a method, and the one it takes the place of.
        contrast: Option<(String, String)>,
        /// Where the fleet has no contrast.
        odds: Option<Stated>,
    },
    /// The hazard of dirt entering between two neighbouring stages is multiplied.
    Entry { from: String, to: String, times: Stated },
    /// Minutes that a cleaning takes with it; of one method, or of all.
    Minutes { minutes: Stated, instead_of: Option<String> },
    /// This share of the dirt that carriers pass on beyond that of others goes; of these kinds of
    /// carrier, or of all.
    Carriers { share: Stated, kinds: Vec<String> },
}

/// A number with the range it is believed to lie in; all three equal where it is taken as known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stated {
    pub low: f64,
    pub likely: f64,
    pub high: f64,
}

impl Stated {
    /// A number that is taken as known.
    pub fn known(number: f64) -> Stated {
        Stated { low: number, likely: number, high: number }
    }

    /// Whether there is anything to be unsure of.
    pub fn is_known(&self) -> bool {
        self.low == self.high
    }
}

/// Kinds of carrier that can be replaced: an end face such as that of a test lead, a tool by the dirt its
/// cycles leave, and a tool by the clean ends it soils.
pub const CARRIER_KINDS: [&str; 3] = ["end-face", "tool-cleaning", "tool-soiling"];

/// Most proposals: the best set under a budget is found by trying every set.
pub const MOST_PROPOSALS: usize = 20;
