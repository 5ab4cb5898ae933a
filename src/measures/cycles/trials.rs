//! The cycles of the months looked back with what may explain whether they passed, as numbers.

use std::collections::BTreeMap;

use crate::derive::Listing;
use crate::derive::counts::{Column, Row as _, WeekNo, ZoneOf, cycle_trials};
use crate::measures::evidence::Evidence;
use crate::measures::shared_luck::{block_of, of_cycles};

/// What may explain whether a cycle passed, besides its number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::measures) enum Covariate {
    Stage,
    Family,
    Zone,
    Method,
}

impl Covariate {
    /// All of them, in the order of the regression's columns; the method may change from cycle to cycle
    /// and has its columns before the others.
    pub const ALL: [Covariate; 4] =
        [Covariate::Stage, Covariate::Family, Covariate::Zone, Covariate::Method];
}

/// Cycles of one week of a site that are alike in everything that is kept of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::measures) struct Trial {
    /// The site-week, or the longer block of the site's time that shares its luck.
    pub cluster: u64,
    /// By [`Covariate::ALL`].
    places: [u32; 4],
    /// Number of the cycle, from 1.
    pub cycle: u32,
    /// Cycles made.
    pub trials: u64,
    /// Cycles that passed.
    pub passed: u64,
    /// Cleanings made in them.
    pub cleanings: u64,
}

impl Trial {
    /// Its place among the words of a covariate, in the order of display.
    pub fn place(&self, of: Covariate) -> u32 {
        self.places[of as usize]
    }
}

/// All of them, and the words that they have places among.
pub(in crate::measures) struct Trials {
    /// In the order of display.
    pub all: Vec<Trial>,
    stages: Listing,
    families: Listing,
    methods: Listing,
}

/// Where a trial stands in the order of display: site and week, then what may explain it.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct At {
    site: u32,
    week: WeekNo,
    places: [u32; 4],
    cycle: u32,
}

impl Trials {
    /// Those of the months looked back.
    pub fn of(evidence: &Evidence) -> Trials {
        let glossary = &evidence.derived.glossary;
        let sites = Listing::of(&glossary.site);
        let (stages, families) = (Listing::of(&glossary.stage), Listing::of(&glossary.family));
        let methods = Listing::of(&glossary.method);
        let mut found: BTreeMap<At, cycle_trials::Row> = BTreeMap::new();
        let cells = evidence.derived.counts.cleaning.cycle_trials.cells().into_iter();
        for (cell, row) in cells.filter(|(cell, _)| evidence.is_looked_back(cell.quarter)) {
            let place = |of: Covariate| match of {
                Covariate::Stage => stages.place(cell.stage.0),
                Covariate::Family => families.place(cell.family.0),
                Covariate::Zone => cell.zone.code(),
                Covariate::Method => methods.place(cell.method.0),
            };
            let at = At {
                site: sites.place(cell.site.0),
                week: cell.week,
                places: Covariate::ALL.map(place),
                cycle: cell.cycle.0,
            };
            found.entry(at).or_default().add(&row);
        }
        let span = of_cycles(evidence).span;
        let count = |figure: i64| figure.max(0).unsigned_abs();
        let trial = |(at, row): (At, cycle_trials::Row)| Trial {
            cluster: u64::from(at.site) << 32 | u64::from(block_of(span, at.week.0)),
            places: at.places,
            cycle: at.cycle,
            trials: count(row.trials),
            passed: count(row.passed),
            cleanings: count(row.cleanings),
        };
        let all = found.into_iter().map(trial).filter(|trial| trial.trials > 0).collect();
        Trials { all, stages, families, methods }
    }

    /// The word at a place of a covariate.
    pub fn word(&self, of: Covariate, place: u32) -> String {
        let listed = |list: &Listing| list.words.get(place as usize).cloned().unwrap_or_default();
        match of {
            Covariate::Stage => listed(&self.stages),
            Covariate::Family => listed(&self.families),
            Covariate::Method => listed(&self.methods),
            Covariate::Zone => {
                let zone: Option<ZoneOf> = Column::of(place);
                zone.map_or_else(String::new, |zone| zone.word().to_owned())
            }
        }
    }

    /// The place of a cleaning method; none where no record names it.
    pub fn method(&self, word: &str) -> Option<u32> {
        self.methods.place_of(word)
    }
}
