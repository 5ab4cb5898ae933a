//! Departures from sound records, planted on purpose: each has a key, and none is there unless it is asked for.
//!
//! What a key changes is what gets written down, not what happened: it acts in `spoil` (on the journal) or in `export` (on
//! rows and cells), and draws from a stream apart ([`World::apart`](super::world::World)), so that a fleet with a departure
//! is the same fleet without, recorded worse. Where a key cannot keep to that, its sentence says so.

use serde::Serialize;

use super::error::SynthError;

/// One key of a departure, for help and messages.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Key {
    /// As it is typed.
    pub key: &'static str,
    /// What its value may be, in the words of messages.
    pub range: String,
    /// What it does to the records.
    pub sentence: &'static str,
}

/// What the value of a key may be.
trait Range {
    type Value;

    /// The value that was typed, none if it is none of this range.
    fn read(&self, typed: &str) -> Option<Self::Value>;

    /// What is expected, in the words of messages.
    fn text(&self) -> String;
}

/// A whole number from one bound to the other.
struct Whole(u32, u32);

impl Range for Whole {
    type Value = u32;

    fn read(&self, typed: &str) -> Option<u32> {
        typed.parse().ok().filter(|number| (self.0..=self.1).contains(number))
    }

    fn text(&self) -> String {
        format!("a whole number from {} to {}", self.0, self.1)
    }
}

/// A real number from one bound to the other.
struct Real(f64, f64);

impl Range for Real {
    type Value = f64;

    fn read(&self, typed: &str) -> Option<f64> {
        typed.parse().ok().filter(|number| (self.0..=self.1).contains(number))
    }

    fn text(&self) -> String {
        format!("a number from {} to {}", self.0, self.1)
    }
}

/// Declares the keys: a sentence, `key: type, range;` a key.
macro_rules! departures {
    (
        $(#[$doc:meta])*
        $name:ident {
            $(
                $(#[doc = $line:literal])+
                $key:ident: $type:ty, $range:ident($($bound:expr),+);
            )+
        }
    ) => {
        $(#[$doc])*
        #[derive(Clone, Debug, Default, PartialEq, Serialize)]
        pub struct $name {
            $(
                $(#[doc = $line])+
                #[serde(skip_serializing_if = "Option::is_none")]
                pub $key: Option<$type>,
            )+
        }

        impl $name {
            /// Every key, in the order of the declaration.
            pub fn keys() -> Vec<Key> {
                vec![$(Key {
                    key: stringify!($key),
                    range: $range($($bound),+).text(),
                    sentence: concat!($($line),+).trim_ascii(),
                },)+]
            }

            /// Plants one departure.
            ///
            /// # Errors
            /// A key that there is not, or a value outside its range.
            pub fn plant(&mut self, key: &str, value: &str) -> Result<(), SynthError> {
                match key {
                    $(stringify!($key) => {
                        let range = $range($($bound),+);
                        let wrong = || SynthError::Plant {
                            key: stringify!($key),
                            found: value.to_owned(),
                            expected: range.text(),
                        };
                        self.$key = Some(range.read(value).ok_or_else(wrong)?);
                        Ok(())
                    })+
                    _ => Err(SynthError::UnknownPlant { found: key.to_owned() }),
                }
            }
        }
    };
}

departures! {
    /// What is planted beyond the fleet's ordinary dirt.
    Departures {
        /// Only so many months up to the last day are in the exports and in the covers; earlier rows are lost.
        short: u32, Whole(1, 120);
        /// Skipping a look changes the rate of linked faults by this factor in every cell, in place of the planted ones
        /// (1 is no effect). Changes what happens, not what is recorded.
        ratio: f64, Real(0.1, 20.0);
        /// This share of the tickets never reached the records, whatever their matings: rates fall, ratios stay.
        lost: f64, Real(0.0, 1.0);
        /// At the second site this share of the matings names its end faces otherwise than looks do: in small
        /// letters, with blanks for what joins parts of names.
        names: f64, Real(0.0, 1.0);
        /// 1: every source of the settings has the rule of names that mends that.
        names_rule: u32, Whole(0, 1);
        /// The records of the last site begin only so many months before the last day; it joined then. Of numbered sites.
        joined: u32, Whole(1, 120);
        /// At the last site this share of the end faces that nobody looked at before a mating are written down as looked
        /// at and passing.
        invented: f64, Real(0.0, 1.0);
        /// This share of the tickets of matings with both ends seen never reached the records.
        tickets_lost: f64, Real(0.0, 1.0);
        /// This share of the passing looks is not written down in the mean; a site leaves out twice as many in some
        /// quarters and none in others.
        passing_unrecorded: f64, Real(0.0, 0.5);
        /// End faces are looked at where they seem dirty: the odds of a look before a routine mating are about so many times
        /// as high with dirt as without. Changes what happens; what skipping a look does in the mean stays as planted.
        looks_chosen: f64, Real(1.0, 20.0);
        /// Looks before routine matings are skipped more readily in some quarters of a site and less in others: the
        /// probability moves by so much. Changes what happens.
        looks_swing: f64, Real(0.0, 0.5);
        /// From the twelfth month on this share of the skipped looks before routine matings is made after all, at the third of
        /// every three sites: an action that works. Changes what happens.
        action_works: f64, Real(0.0, 0.95);
        /// In months 10 to 12 so much more of these looks is skipped at the first of every three sites but the first three, and then as before: an
        /// action that begins in month 13, after a bad quarter, and does nothing. Changes what happens.
        action_idle: f64, Real(0.0, 1.0);
        /// This share of the tickets whose repair was a mating is stamped after it, evenly from 20 minutes to 36 hours.
        late: f64, Real(0.0, 1.0);
        /// The same, evenly on a logarithmic scale: most within hours.
        late_log: f64, Real(0.0, 1.0);
        /// This share of the tickets names the port alone, where it would name the mating.
        by_port: f64, Real(0.0, 1.0);
        /// This share of the repairs of a linked fault leaves dirt that fails again, mostly within two days. Changes what
        /// happens, not what is recorded.
        bad_repairs: f64, Real(0.0, 0.9);
        /// This share of the tickets states neither cost nor downtime, labour or trips.
        unpriced: f64, Real(0.0, 1.0);
        /// This share of the tickets says when it was opened in words that are no time.
        opened_in_words: f64, Real(0.0, 1.0);
        /// This share of the tickets writes its downtime as hours and minutes, where the map reads minutes.
        downtime_as_clock: f64, Real(0.0, 1.0);
        /// This share of the tickets has a cause that no map knows.
        unknown_cause: f64, Real(0.0, 1.0);
        /// At the second site this share of the matings names its end faces in small letters; with names_rule=1, and
        /// without names, the one source of those matings has the rule that mends it.
        small_letters: f64, Real(0.0, 1.0);
        /// The settings of numbered sites propose a set of purchases, one of each kind of effect, whose worth stands in the truth.
        /// Changes what is asked, not what happens.
        proposals: u32, Whole(1, 1);
        /// This share of the tickets has the cause of another ticket, whichever it is.
        causes_wrong: f64, Real(0.0, 1.0);
        /// This share of the tickets is written down only where the site had another ticket in the week before: attention
        /// follows a fault.
        attention: f64, Real(0.0, 1.0);
        /// Whether dirt came in and whether a cleaning passes is luck that a work order shares, to this share of what
        /// decides (the correlation, on the scale of a normal number; shares of all luck_ keys add, to 1 at most). Probabilities stay
        /// as planted. This key and all below change what happens.
        luck_order: f64, Real(0.0, 0.9);
        /// The same of a crew; each site has two, and a work order is one crew's.
        luck_crew: f64, Real(0.0, 0.9);
        /// The same of a site's week.
        luck_week: f64, Real(0.0, 0.9);
        /// The same of four weeks of a site: a bad batch of wipes.
        luck_month: f64, Real(0.0, 0.9);
        /// The same of a site.
        luck_site: f64, Real(0.0, 0.9);
        /// Faults of every cause come more readily in some weeks of a site than in others: variance of the factor, of mean 1.
        faults_week: f64, Real(0.0, 4.0);
        /// The same of four weeks of a site.
        faults_month: f64, Real(0.0, 4.0);
        /// The same of thirteen weeks of a site.
        faults_quarter: f64, Real(0.0, 4.0);
        /// This share of the end faces that a visit finds dirty passes none of its cleanings.
        stays_dirty: f64, Real(0.0, 0.9);
        /// Dirt, defects and false alarms come so many times as readily, and cleaning soils so much: 0.02 leaves about one end
        /// face of 200 failing. What a fault leaves stays as it is.
        dirt: f64, Real(0.001, 3.0);
        /// Faults of every cause come so many times as often.
        faults: f64, Real(0.001, 5.0);
        /// At the last site dirt comes in and linked faults come so many times as readily: it stands apart.
        apart: f64, Real(0.1, 10.0);
        /// So many of the last sites stand apart, one where nothing is said.
        apart_sites: u32, Whole(1, 5);
    }
}

impl Departures {
    /// The doses of `data-demo`: names in two ways at one site, tickets unpriced and late, luck that orders, crews, weeks and
    /// months share, an action that works and one that only follows a bad quarter.
    pub fn demo() -> Departures {
        Departures {
            small_letters: Some(0.4),
            names_rule: Some(1),
            unpriced: Some(0.12),
            late: Some(0.05),
            action_works: Some(0.7),
            action_idle: Some(0.4),
            ..Departures::luck_of_the_demo()
        }
    }

    /// Of those the luck alone.
    pub fn luck_of_the_demo() -> Departures {
        Departures {
            luck_order: Some(0.06),
            luck_crew: Some(0.01),
            luck_week: Some(0.01),
            luck_month: Some(0.02),
            faults_week: Some(0.25),
            faults_month: Some(0.1),
            ..Departures::default()
        }
    }

    /// Whether nothing is planted.
    pub fn is_none(&self) -> bool {
        *self == Self::default()
    }

    /// Factor on dirt, defects and false alarms of the whole fleet.
    pub fn dirt_times(&self) -> f64 {
        self.dirt.unwrap_or(1.0)
    }

    /// Factor on faults of the whole fleet.
    pub fn faults_times(&self) -> f64 {
        self.faults.unwrap_or(1.0)
    }

    /// Factor on dirt and linked faults of a site that stands apart, 1 for any other of `sites`.
    pub fn apart_at(&self, site: usize, sites: usize) -> f64 {
        let last = self.apart_sites.unwrap_or(1) as usize;
        self.apart.filter(|_| site + last >= sites).unwrap_or(1.0)
    }
}
