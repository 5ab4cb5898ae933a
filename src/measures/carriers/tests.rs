//! The tests of one kind (5.7): exact and over-dispersed tails given the cells' totals, q values, ratios
//! against the others, shrunken ratios.

use rayon::prelude::*;

use super::kinds::{Entity, Kind};
use crate::stats::dispersed_tail::dispersed_tail;
use crate::stats::gamma_poisson::{GammaPoisson, Observed, PriorMean, gamma_poisson};
use crate::stats::hypergeometric::{DrawCell, DrawTail, draw_tail};
use crate::stats::{Estimate, Warning, against_expected, benjamini_hochberg, rate_ratio_scaled};

/// False discovery rate at which a carrier is listed.
pub const LISTED: f64 = 0.05;
/// Dirty partners of an end face without which its dirt may be theirs.
const LEAST_DIRTY_PARTNERS: i64 = 2;

/// What the tests say of one entity.
#[derive(Clone, Debug)]
pub struct Tried {
    /// All trials.
    pub trials: u64,
    /// Those in cells that others share.
    pub shared: u64,
    /// The dirty ones among these.
    pub dirty: u64,
    /// Dirty results to be expected, the totals of the cells given.
    pub tail: DrawTail,
    /// Against the others' shares of the same cells.
    pub ratio: Estimate,
    /// None where it was not tested.
    pub tested: Option<Tested>,
}

impl Tried {
    /// Whether the exact tail is one: of very many trials the normal tail stands for it.
    pub fn is_exact(&self) -> bool {
        !self.tail.warnings.contains(&Warning::Approximate)
    }
}

/// P and q values and what is made of them.
#[derive(Clone, Debug)]
pub struct Tested {
    /// Chance of as many dirty trials or more, those of a work order being alike.
    pub p_dispersed: f64,
    /// The exact chance after the number of tests.
    pub q_exact: f64,
    /// The other after the number of tests.
    pub q_dispersed: f64,
    /// Drawn towards 1 by how much entities of the kind differ.
    pub shrunken: Estimate,
    /// Both q values at most [`LISTED`].
    pub conspicuous: bool,
    /// Conspicuous, but all its dirt stands on one partner.
    pub of_one_partner: bool,
}

impl Tested {
    /// Whether it is listed as a carrier.
    pub fn is_carrier(&self) -> bool {
        self.conspicuous && !self.of_one_partner
    }
}

/// Tests every entity of a kind with at least `least` trials in shared cells; in their order.
pub fn tests(kind: &Kind, least: u64, level: f64) -> Vec<Tried> {
    let phi = kind.scatter.phi;
    let mut tried: Vec<Tried> =
        kind.entities.par_iter().map(|entity| try_entity(kind, entity, level)).collect();
    let tested: Vec<usize> = (0..tried.len()).filter(|at| tried[*at].shared >= least).collect();
    let exact: Vec<f64> = tested.iter().map(|at| tried[*at].tail.p).collect();
    let dispersed: Vec<f64> = tested
        .iter()
        .map(|at| {
            let Tried { dirty, tail, .. } = &tried[*at];
            dispersed_tail(*dirty, tail.mean, tail.variance, tail.third, phi)
        })
        .collect();
    let shrunken = shrink(&tested, &tried, level);
    let (q_exact, q_dispersed) = (benjamini_hochberg(&exact), benjamini_hochberg(&dispersed));
    for (place, (at, shrunken)) in tested.into_iter().zip(shrunken.ratios).enumerate() {
        let (q_exact, q_dispersed) = (q_exact[place], q_dispersed[place]);
        let partners = kind.entities[at].partners;
        tried[at].tested = Some(Tested {
            p_dispersed: dispersed[place],
            q_exact,
            q_dispersed,
            shrunken,
            conspicuous: q_exact <= LISTED && q_dispersed <= LISTED,
            of_one_partner: partners.is_some_and(|[_, dirty]| dirty < LEAST_DIRTY_PARTNERS),
        });
    }
    tried
}

fn shrink(tested: &[usize], tried: &[Tried], level: f64) -> GammaPoisson {
    let groups: Vec<Observed> = tested
        .iter()
        .map(|at| Observed { events: tried[*at].dirty, expected: tried[*at].ratio.n })
        .collect();
    gamma_poisson(&groups, PriorMean::Known(1.0), level)
}

fn try_entity(kind: &Kind, entity: &Entity, level: f64) -> Tried {
    let (mut all, mut shared, mut dirty, mut expected) = (0_u64, 0_u64, 0_u64, 0.0);
    let (mut rest, mut variance) = (0.0, 0.0);
    let mut cells = Vec::with_capacity(entity.trials.len());
    for (place, trials, its_dirty) in &entity.trials {
        let (total, marked) = kind.cells[*place];
        all = all.saturating_add(*trials);
        let others = total.saturating_sub(*trials);
        if others == 0 {
            continue;
        }
        shared = shared.saturating_add(*trials);
        dirty = dirty.saturating_add(*its_dirty);
        let others_dirty = marked.saturating_sub(*its_dirty).min(others);
        rest += others as f64;
        let times = *trials as f64 / others as f64;
        expected += times * others_dirty as f64;
        variance += times * times * others_dirty as f64;
        cells.push(DrawCell { total, marked, drawn: *trials });
    }
    Tried {
        trials: all,
        shared,
        dirty,
        tail: draw_tail(&cells, dirty),
        ratio: match expected > 0.0 {
            true => against_expected(dirty, (expected, variance), kind.scatter.phi, level),
            false => one_sided(dirty, (shared as f64, rest), kind.scatter.phi, level),
        },
        tested: None,
    }
}

/// Where the others left nothing dirty there is no ratio, but a limit on the low side. Nothing warns: the
/// tests need no ratio.
fn one_sided(dirty: u64, (shared, rest): (f64, f64), phi: f64, level: f64) -> Estimate {
    let limits = rate_ratio_scaled(dirty, shared, 0, rest, phi, level).ratio;
    Estimate { n: 0.0, events: dirty, warnings: Vec::new(), ..limits }
}
