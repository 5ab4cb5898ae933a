//! How long the luck lasts that events of one place share.
//!
//! Promises the shortest blocks that hold it, and of those too few the longest shorter ones that tell. Stops at choosing:
//! the scatter of blocks is `shared_scatter`'s.

use super::shared_scatter::Scatter;

/// Weeks of the blocks that a site's time is cut into: a week, about a month, a quarter.
pub const BLOCK_WEEKS: [u32; 3] = [1, 4, 13];

/// Which of several lengths of blocks, shortest first, events are to be counted in: the shortest whose scatter the next
/// longer exceeds by no more than the standard error of the longer. A longer one of fewer than `least` blocks tells
/// nothing, nor does one whose scatter is not known. 0 where there is nothing to choose from.
///
/// Luck that a month shares makes weeks scatter a little and months much more; beyond its length the scatter grows no
/// further. The standard error is that of a chi-square with the scatter's degrees of freedom over them.
///
/// Source: the variance of batch means grows with the batch until the batches are nearly independent, common practice
/// in simulation; the rule of one standard error is ours.
pub fn lasting(scatters: &[Scatter], least: u64) -> usize {
    let grows = |pair: &[Scatter]| {
        let [shorter, longer] = pair else { return false };
        let (Some(short), Some(long)) = (shorter.phi, longer.phi) else { return false };
        longer.clusters >= least && long - short > long * (2.0 / longer.df).sqrt()
    };
    scatters.windows(2).take_while(|pair| grows(pair)).count()
}

/// What blocks of the wanted length come to, or the longest shorter ones that tell enough; and which length that is.
/// Blocks of the shortest length are taken whatever they tell.
pub fn that_tell<T>(
    wanted: usize,
    of_length: impl Fn(usize) -> T,
    tells: impl Fn(usize, &T) -> bool,
) -> (T, usize) {
    let mut length = wanted;
    loop {
        let found = of_length(length);
        if length == 0 || tells(length, &found) {
            return (found, length);
        }
        length -= 1;
    }
}
