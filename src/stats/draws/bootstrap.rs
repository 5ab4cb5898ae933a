//! Cluster bootstrap by Poisson weights that depend on nothing but seed, replicate and cluster.
//!
//! Every cluster enters a replicate a Poisson(1) number of times. The number is a hash, not the
//! next draw of a stream: so it is the same in whatever order clusters come, however many threads
//! share the work, and two statistics of one replicate see the same resample. Promises results to
//! the last bit for a seed. Stops at percentile intervals.

use std::cmp::Ordering;
use std::sync::LazyLock;

use crate::stats::estimate::{Estimate, Warning};
use crate::stats::shares::clustered::t_over_normal;
use crate::stats::special::quantile::{normal_quantile, normal_upper, upper_normal_quantile};
use crate::stats::wald::Basis;

/// Increment of SplitMix64: 2^64 over the golden ratio, made odd.
const GOLDEN: u64 = 0x9e37_79b9_7f4a_7c15;

/// 2^-53.
const STEP: f64 = 1.0 / (1_u64 << 53) as f64;

/// Clusters below which a bootstrap over them is not to be trusted.
const FEW_CLUSTERS: u64 = 10;

/// Finaliser of SplitMix64: every bit of the answer depends on every bit of `x`.
///
/// Source: Steele, Lea & Flood (2014), Fast splittable pseudorandom number generators, OOPSLA 2014,
/// 453-472, figure 17, with the constants of Stafford's variant 13 [figure from memory].
const fn mix(x: u64) -> u64 {
    let x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    x ^ (x >> 31)
}

/// A number in (0, 1) that depends on seed, replicate and cluster only.
///
/// Source: a hash in counter mode as in Salmon, Moraes, Dror & Shaw (2011), Parallel random numbers: as
/// easy as 1, 2, 3, SC11 [from memory], with the finaliser of SplitMix64.
pub fn uniform(seed: u64, replicate: u64, cluster: u64) -> f64 {
    Replicate::of(seed, replicate).uniform(cluster)
}

/// How often `cluster` enters `replicate`: Poisson with mean 1, by inversion.
///
/// Source: Chamandy, Muralidharan, Najmi & Naidu (2012), Estimating uncertainty for massive data
/// streams (Poisson bootstrap); Hanley & MacGibbon (2006), Comput. Methods Programs Biomed. 83,
/// 57-62 [from memory].
pub fn poisson_weight(seed: u64, replicate: u64, cluster: u64) -> u32 {
    Replicate::of(seed, replicate).weight(cluster)
}

/// Most times that a cluster enters a replicate: from 18 on the points of the distribution are too small
/// for a double to add.
const MOST_TIMES: usize = 20;

/// Chance of at most 0, 1, ... of a Poisson number with mean 1.
static AT_MOST: LazyLock<[f64; MOST_TIMES]> = LazyLock::new(|| {
    let mut point = (-1.0_f64).exp();
    let mut below = [point; MOST_TIMES];
    for count in 1..MOST_TIMES {
        point /= count as f64;
        below[count] = below[count - 1] + point;
    }
    below
});

/// One replicate of a seed: the same numbers as [`uniform`] and [`poisson_weight`], for callers that ask
/// for many clusters.
#[derive(Clone, Copy, Debug)]
pub struct Replicate {
    state: u64,
    at_most: &'static [f64; MOST_TIMES],
}

impl Replicate {
    /// Of a seed.
    pub fn of(seed: u64, replicate: u64) -> Replicate {
        let state = mix(seed.wrapping_add(GOLDEN));
        Replicate { state: mix((state ^ replicate).wrapping_add(GOLDEN)), at_most: &AT_MOST }
    }

    /// [`uniform`] of a cluster.
    pub fn uniform(&self, cluster: u64) -> f64 {
        let state = mix((self.state ^ cluster).wrapping_add(GOLDEN));
        // The upper 53 bits, half a step up so that neither end is reached.
        ((state >> 11) as f64 + 0.5) * STEP
    }

    /// [`poisson_weight`] of a cluster.
    pub fn weight(&self, cluster: u64) -> u32 {
        let u = self.uniform(cluster);
        let mut count = 0;
        while count < MOST_TIMES && u > self.at_most[count] {
            count += 1;
        }
        count as u32
    }
}

/// What a bootstrap interval belongs to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Resampled {
    /// The statistic of the data themselves, in its unit; none where it has no answer.
    pub value: Option<f64>,
    /// Units or exposure that it rests on.
    pub n: f64,
    /// Events among them.
    pub events: u64,
    /// Clusters that were resampled.
    pub clusters: u64,
}

/// Percentile interval that does not come out too narrow where clusters are few: the order statistics at
/// `(R + 1) tail`, interpolated on the normal scale.
///
/// A bootstrap over `g` clusters understates a variance by `(g - 1) / g` and knows no t quantile; the
/// order statistics are therefore taken farther out than half of `1 - level`, at the normal tail beyond
/// `sqrt(g / (g - 1)) t`, with `g - 1` degrees of freedom. With many clusters that is the plain percentile
/// interval.
///
/// Replicates without an answer, or with one that is not finite, are left out (`Approximate`); no
/// answers at all: no limits, `NoData`. Fewer than ten clusters: `FewClusters`. Limits beyond the
/// first or last order statistic are that statistic. The interval is stretched to hold the value
/// where a skew statistic leaves it outside.
///
/// Source: Davison & Hinkley (1997), Bootstrap Methods and their Application, equation 5.8 and
/// section 5.3.1 [numbers from memory]; Hesterberg (2015), Am. Stat. 69, 371-386, section on the expanded
/// percentile interval [section from memory].
pub fn expanded_percentile(of: Resampled, replicates: &[Option<f64>], level: f64) -> Estimate {
    let df = (of.clusters.max(2) - 1) as f64;
    let reach = normal_quantile(level) * t_over_normal(level, df) * ((df + 1.0) / df).sqrt();
    let basis = Basis {
        n: of.n,
        events: of.events,
        level,
        method: "cluster bootstrap, expanded percentile",
        warnings: Vec::new(),
    };
    between(of, replicates, normal_upper(reach), basis)
}

/// The order statistics that leave `tail` of the replicates on either side.
fn between(of: Resampled, replicates: &[Option<f64>], tail: f64, mut basis: Basis) -> Estimate {
    let mut found: Vec<f64> =
        replicates.iter().copied().flatten().filter(|x| x.is_finite()).collect();
    let applies = [
        (found.is_empty() || of.value.is_none(), Warning::NoData),
        (!found.is_empty() && found.len() < replicates.len(), Warning::Approximate),
        (of.clusters < FEW_CLUSTERS, Warning::FewClusters),
    ];
    basis.warnings = applies.into_iter().filter_map(|(applies, w)| applies.then_some(w)).collect();
    let value = of.value.filter(|x| x.is_finite());
    let stretch = |limit: f64, pick: fn(f64, f64) -> f64| value.map_or(limit, |v| pick(limit, v));
    let low = order_statistic(&mut found, tail).map(|x| stretch(x, f64::min));
    let high = order_statistic(&mut found, 1.0 - tail).map(|x| stretch(x, f64::max));
    basis.limits(value, low, high)
}

/// The `share` quantile of values, which are moved about, between the order statistics either side of it in proportion
/// to their normal scores.
fn order_statistic(values: &mut [f64], share: f64) -> Option<f64> {
    let count = values.len();
    let place = (count as f64 + 1.0) * share;
    // Rounding must not turn a whole place into the one before it.
    let exact = (place - place.round()).abs() < 1e-9 * (1.0 + place);
    let whole = if exact { place.round() } else { place.floor() };
    let below = whole as usize;
    if below == 0 || below >= count {
        let ends = |ends: fn(&f64, &f64) -> Ordering| values.iter().copied().max_by(ends);
        return ends(if below == 0 { |a, b| b.total_cmp(a) } else { f64::total_cmp });
    }
    let score = |x: f64| -upper_normal_quantile(x / (count as f64 + 1.0));
    let (left, right) = (score(whole), score(whole + 1.0));
    let between = if exact { 0.0 } else { (score(place) - left) / (right - left) };
    let (_, low, above) = values.select_nth_unstable_by(below - 1, f64::total_cmp);
    let high = above.iter().copied().min_by(f64::total_cmp)?;
    Some(*low + between.clamp(0.0, 1.0) * (high - *low))
}
