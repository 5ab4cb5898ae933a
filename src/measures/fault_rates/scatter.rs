//! How much more than chance the faults of a site's blocks of time scatter (5.4), and what a row's interval takes of it.
//!
//! A block's faults are compared with what the rates of its stages and families make of its time, so that a bad week of
//! a whole site counts as one. Blocks are weeks, or months or quarters where the luck of sites lasts that long: one
//! choice for all rows, from all quarters whose weeks are kept. Sites that differ scatter too: intervals of several sites
//! hold that. Where the site-weeks were too many to be kept, the site is the cluster.

use std::collections::BTreeMap;
use std::sync::OnceLock;

use super::connection_months::MONTH_S;
use super::declared::{Block, By, Certainty, Own};
use super::lines::{Line, Lines, count, luck};
use crate::derive::counts::QuarterNo;
use crate::measures::evidence::Evidence;
use crate::measures::flag::Flag;
use crate::stats::{Part, Scatter, scatter};

/// The blocks of some quarters.
pub(in crate::measures) struct BlockFaults {
    lines: Vec<Line>,
    /// None: sites.
    block: Option<Block>,
    /// Luck lasts longer than the blocks, of which there would be too few.
    narrow: bool,
    /// Scatter of all lines, once it is asked for.
    all: [OnceLock<Scatter>; Certainty::ALL.len()],
    few_clusters: u64,
    level: f64,
}

/// The over-dispersion of every row of a grouping.
pub(in crate::measures) struct Spreads {
    of: BTreeMap<Vec<u32>, Scatter>,
    all: Scatter,
    block: Option<Block>,
    narrow: bool,
    few_clusters: u64,
    level: f64,
}

/// What a row's interval takes.
#[derive(Clone, Copy, Debug)]
pub(in crate::measures) struct Spread {
    /// By how much variances are multiplied, not below 1.
    pub phi: f64,
    /// Chance of as much scatter without clustering; of the row's own blocks.
    pub p: Option<f64>,
    /// Blocks that the over-dispersion rests on.
    pub clusters: u64,
    /// How long they are; none where each is a whole site, or a quarter.
    pub block: Option<Block>,
    /// Luck lasts longer than that.
    pub narrow: bool,
    /// Not even all rows together have enough of them.
    pub few: bool,
}

impl Spread {
    /// What a row says of it; `seconds` of time are behind the row's rate, 0 where it has none.
    pub fn own(&self, level: Certainty, seconds: i64) -> Own {
        Own {
            months: (seconds > 0).then_some(seconds as f64 / MONTH_S),
            phi: Some(self.phi).filter(|phi| phi.is_finite()),
            p: self.p.filter(|p| p.is_finite()),
            block: self.block,
            clusters: Some(self.clusters),
            ..Own::with(level)
        }
    }

    /// The flag it stands for.
    pub fn flag(&self) -> Option<Flag> {
        if self.few { Some(Flag::FewClusters) } else { self.narrow.then_some(Flag::Narrow) }
    }
}

impl BlockFaults {
    /// Matings in force in some quarters, by the block of their time.
    pub fn in_force(evidence: &Evidence, counts: impl Fn(QuarterNo) -> bool) -> Self {
        Self::of(&Lines::in_force(evidence, counts), evidence)
    }

    /// Matings of the period, by the block in which they were made.
    pub fn by_horizon(evidence: &Evidence) -> Self {
        Self::of(&Lines::by_horizon(evidence), evidence)
    }

    /// Lines of one block are a cluster: of blocks as long as luck lasts, or of the longest shorter ones that are enough.
    fn of(lines: &Lines, evidence: &Evidence) -> BlockFaults {
        let rules = evidence.rules();
        let least = u64::from(rules.few_clusters);
        let wanted = luck(evidence);
        let enough = |_, found: &Vec<Line>| count(found) >= least;
        let (mut found, block) = wanted.that_tell(|block| lines.blocks(block), enough);
        // As `scatter` wants them, so that it finds every part of them in order.
        found.sort_by_key(|line| (line.at.stratum(), line.cluster));
        let all = Default::default();
        let block = lines.stated(block);
        let narrow = block.is_some_and(|block| block != wanted);
        BlockFaults { lines: found, block, narrow, all, few_clusters: least, level: rules.level }
    }

    /// Over-dispersion of the rows of a grouping.
    pub fn spreads(&self, by: By, certainty: Certainty) -> Spreads {
        let all = *self.all[certainty as usize].get_or_init(|| {
            let all: Vec<Part> = self.lines.iter().map(|line| line.part(certainty)).collect();
            scatter(&all)
        });
        let of = match by {
            By::Fleet if self.lines.is_empty() => BTreeMap::new(),
            By::Fleet => BTreeMap::from([(Vec::new(), all)]),
            _ => self.by_groups(by, certainty),
        };
        let BlockFaults { block, narrow, few_clusters, level, .. } = *self;
        Spreads { of, all, block, narrow, few_clusters, level }
    }

    fn by_groups(&self, by: By, certainty: Certainty) -> BTreeMap<Vec<u32>, Scatter> {
        let mut groups: BTreeMap<Vec<u32>, Vec<Part>> = BTreeMap::new();
        for line in &self.lines {
            let places = line.at.places(by);
            let part = line.part(certainty);
            match groups.get_mut(places.as_slice()) {
                Some(parts) => parts.push(part),
                None => drop(groups.insert(places, vec![part])),
            }
        }
        groups.into_iter().map(|(key, parts)| (key, scatter(&parts))).collect()
    }

    /// That of all rows together.
    pub fn of_all(&self, certainty: Certainty) -> (Scatter, Spread) {
        self.spreads(By::Fleet, certainty).all()
    }
}

impl Spreads {
    /// That of all rows together.
    pub fn all(&self) -> (Scatter, Spread) {
        (self.all, self.taken(&self.all))
    }

    /// That of one row by its places: its own where it has enough blocks and a fault, else that of all.
    pub fn of(&self, places: &[u32]) -> Spread {
        let own = self
            .of
            .get(places)
            .filter(|own| own.clusters >= self.few_clusters && own.phi.is_some());
        self.taken(own.unwrap_or(&self.all))
    }

    fn taken(&self, scatter: &Scatter) -> Spread {
        Spread {
            phi: scatter.widened(self.level).unwrap_or(1.0),
            p: scatter.phi.map(|_| scatter.p),
            clusters: scatter.clusters,
            block: self.block,
            narrow: self.narrow,
            few: self.all.clusters > 0 && self.all.clusters < self.few_clusters,
        }
    }
}
