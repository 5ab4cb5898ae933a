//! In how many ways the starts that happened could have fallen on the units, and each of these ways: all of them
//! where they are few, else a sample drawn from a seed.

use crate::stats::draws::bootstrap::uniform;

/// When each unit began; none for one that never did.
#[derive(Clone, Copy, Debug)]
pub struct Starts<'a>(pub &'a [Option<usize>]);

impl Starts<'_> {
    /// The times at which units began, rising, each once.
    pub fn groups(&self) -> Vec<usize> {
        let mut groups: Vec<usize> = self.0.iter().flatten().copied().collect();
        groups.sort_unstable();
        groups.dedup();
        groups
    }
}

/// Arrangements of the starts over the units; the first is the one that happened.
#[derive(Clone, Debug, PartialEq)]
pub struct Arrangements {
    /// By arrangement, by unit.
    pub starts: Vec<Vec<Option<usize>>>,
    /// Whether they are all there are.
    pub all: bool,
}

impl Arrangements {
    /// All distinct arrangements where they are at most `most` and one, else the one that happened and `most` drawn.
    ///
    /// Source: Fisher (1935), The Design of Experiments; drawn ones with the one that happened among them as Phipson &
    /// Smyth (2010), Stat. Appl. Genet. Mol. Biol. 9, 39.
    pub fn of(starts: &[Option<usize>], most: usize, seed: u64) -> Arrangements {
        let mut kinds = starts.to_vec();
        kinds.sort_unstable();
        kinds.dedup();
        let mut left: Vec<usize> =
            kinds.iter().map(|kind| starts.iter().filter(|start| *start == kind).count()).collect();
        let mut found = vec![starts.to_vec()];
        let few = ways(&left) <= most as f64 + 1.0;
        if few {
            let mut own = Vec::with_capacity(starts.len());
            every(&kinds, &mut left, &mut own, starts.len(), &mut |own: &[Option<usize>]| {
                if own != starts {
                    found.push(own.to_vec());
                }
            });
        } else {
            found.extend((0..most as u64).map(|number| shuffled(starts, seed, number)));
        }
        Arrangements { starts: found, all: few }
    }
}

/// How many distinct arrangements there are of so many of each kind.
fn ways(counts: &[usize]) -> f64 {
    let (mut ways, mut placed) = (1.0, 0.0);
    for count in counts {
        for place in 1..=*count {
            placed += 1.0;
            ways *= placed / place as f64;
        }
    }
    ways.round()
}

fn every(
    kinds: &[Option<usize>],
    left: &mut [usize],
    own: &mut Vec<Option<usize>>,
    units: usize,
    take: &mut impl FnMut(&[Option<usize>]),
) {
    if own.len() == units {
        take(own);
        return;
    }
    for (at, kind) in kinds.iter().enumerate() {
        if left[at] > 0 {
            left[at] -= 1;
            own.push(*kind);
            every(kinds, left, own, units, take);
            own.pop();
            left[at] += 1;
        }
    }
}

/// Fisher and Yates' shuffle by numbers that hang on seed, arrangement and place alone.
fn shuffled(starts: &[Option<usize>], seed: u64, number: u64) -> Vec<Option<usize>> {
    let mut own = starts.to_vec();
    for last in (1..own.len()).rev() {
        let chosen = (uniform(seed, number, last as u64) * (last + 1) as f64) as usize;
        own.swap(last, chosen.min(last));
    }
    own
}
