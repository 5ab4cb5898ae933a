//! The pools of money that a proposal works on.

use crate::measures::results::words;

/// Declares the pools: the word that tables have for each, and whether what a proposal keeps out of it is a gain (1) or an
/// expense (-1).
macro_rules! pools {
    ($($(#[doc = $doc:literal])+ $pool:ident: $Pool:ident = $word:literal, $sign:literal;)+) => {
        words! {
            /// What money goes into.
            pub enum Pool {
                $($(#[doc = $doc])+ $Pool = $word,)+
            }
        }

        /// What money goes into at a place and can be kept out of: money a year by pool, or the share of each pool that
        /// a proposal keeps out.
        #[derive(Clone, Copy, Debug, Default, PartialEq)]
        pub struct Purse { $($(#[doc = $doc])+ pub $pool: f64,)+ }

        impl Purse {
            /// How many pools there are.
            pub const POOLS: usize = [$(stringify!($pool)),+].len();
            /// Whether what a proposal does to a pool is a gain or an expense.
            pub const SIGNS: Purse = Purse { $($pool: $sign),+ };
            /// Nothing in any pool.
            pub const NONE: Purse = Purse { $($pool: 0.0),+ };
            /// One in every pool.
            pub const ONES: Purse = Purse { $($pool: 1.0),+ };

            /// Every pool changed alike.
            pub fn map(self, change: impl Fn(f64) -> f64) -> Purse {
                Purse { $($pool: change(self.$pool)),+ }
            }

            /// Pool by pool with another.
            pub fn with(self, other: Purse, join: impl Fn(f64, f64) -> f64) -> Purse {
                Purse { $($pool: join(self.$pool, other.$pool)),+ }
            }

            /// The pools' words, in the order of [`Purse::values`].
            pub const WORDS: [Pool; Purse::POOLS] = [$(Pool::$Pool),+];

            /// Pool after pool, always in the same order.
            pub fn values(self) -> [f64; Purse::POOLS] {
                [$(self.$pool),+]
            }
        }
    };
}

pools! {
    /// Cost of faults associated with skipped looks.
    faults: Faults = "faults", 1.0;
    /// What looking at the ends not looked at would cost: a proposal that does so spends it.
    looks: Looks = "looks before matings", -1.0;
    /// Working time of cleanings of end faces that were dirty.
    labour: Labour = "cleaning: working time", 1.0;
    /// Working time of other cleanings: less dirt and better odds spare none of them.
    labour_on_clean: LabourOnClean = "cleaning of clean ends: working time", 1.0;
    /// Material of cleanings of end faces that were dirty.
    material: Material = "cleaning: material", 1.0;
    /// Working time of the looks that close the cycles of these.
    looks_again: LooksAgain = "looks after cleaning", 1.0;
    /// Putting right rejected end faces.
    rejects: Rejects = "rejects", 1.0;
    /// What looking one stage earlier at the end faces that arrive would cost.
    arrivals: Arrivals = "looks one stage earlier", -1.0;
}

impl Purse {
    /// One in every pool that grows with the cleanings of a year.
    pub const OF_CLEANINGS: Purse = Purse {
        labour: 1.0,
        labour_on_clean: 1.0,
        material: 1.0,
        looks_again: 1.0,
        rejects: 1.0,
        ..Purse::NONE
    };
}
