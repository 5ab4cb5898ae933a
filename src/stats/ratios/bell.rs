//! Heights of a normal at equally spaced nodes, without an exponential a node.
//!
//! From the node nearest to the mean outwards each height is the last times a ratio, and the ratio falls by the same
//! factor from node to node. Stops at unscaled heights.

/// A height of a bell below which nothing is left of it, where it is multiplied with a tabulated likelihood, which is
/// above 1e-18 throughout: what lies lower adds nothing to what the nearest node has.
const NOTHING_ADDED: f64 = 1e-38;

/// The same where it is added to other heights, of which the highest is about 1.
const NOTHING: f64 = 1e-80;

/// Nodes of a spacing under bells of one deviation, whatever their means.
#[derive(Clone, Copy, Debug)]
pub(super) struct Spacing {
    step: f64,
    pub(super) tau: f64,
    /// Spacing in deviations.
    stride: f64,
    /// What the ratio of a height to the one before it is multiplied by from node to node.
    change: f64,
}

/// Where a bell begins.
pub(super) struct Outwards {
    pub(super) nearest: usize,
    /// Log of the height at the nearest node.
    pub(super) log: f64,
    /// Ratio of the next height to it, on both sides.
    pub(super) up: f64,
    pub(super) down: f64,
    pub(super) change: f64,
}

/// Heights that are worked out side by side.
const BESIDE: usize = 4;

impl Spacing {
    pub(super) fn of(step: f64, tau: f64) -> Spacing {
        let stride = step / tau;
        Spacing { step, tau, stride, change: (-stride * stride).exp() }
    }

    /// The bell of mean `mu` over nodes from `lo` on.
    pub(super) fn outwards(&self, lo: f64, nodes: usize, mu: f64) -> Outwards {
        let Spacing { step, tau, stride, change } = *self;
        let nearest = ((mu - lo) / step).round().clamp(0.0, (nodes - 1) as f64) as usize;
        let gap = (lo + step * nearest as f64 - mu) / tau;
        let up = (-gap * stride - 0.5 * stride * stride).exp();
        // Both ratios together are the change; where one of them overflows there is no node on its side.
        Outwards { nearest, log: -0.5 * gap * gap, up, down: change / up, change }
    }

    /// Visits the nodes with the height of the bell of mean `mu` over its height at the nearest one; it stops where heights
    /// are nothing.
    pub(super) fn visit(&self, lo: f64, nodes: usize, mu: f64, mut see: impl FnMut(usize, f64)) {
        let Outwards { nearest, up, down, change, .. } = self.outwards(lo, nodes, mu);
        see(nearest, 1.0);
        let (mut height, mut ratio) = (1.0, up);
        for i in nearest + 1..nodes {
            height *= ratio;
            ratio *= change;
            if height < NOTHING_ADDED {
                break;
            }
            see(i, height);
        }
        (height, ratio) = (1.0, down);
        for i in (0..nearest).rev() {
            height *= ratio;
            ratio *= change;
            if height < NOTHING_ADDED {
                break;
            }
            see(i, height);
        }
    }

    /// Adds the bell of mean `mu`, times `weight` and the exponential of `log`, to the heights at nodes from `lo` on.
    pub(super) fn add_bell(&self, height: &mut [f64], lo: f64, mu: f64, (weight, log): (f64, f64)) {
        let at = self.outwards(lo, height.len(), mu);
        let scale = weight * (log + at.log).exp();
        if scale < NOTHING {
            return;
        }
        let (below, from) = height.split_at_mut(at.nearest);
        let (middle, above) = from.split_at_mut(1);
        middle[0] += scale;
        let mut up = Beside::of(scale, at.up, at.change);
        let mut chunks = above.chunks_exact_mut(BESIDE);
        for chunk in &mut chunks {
            if up.heights[0] < NOTHING {
                break;
            }
            chunk.iter_mut().zip(up.heights).for_each(|(sum, more)| *sum += more);
            up.go_on();
        }
        chunks.into_remainder().iter_mut().zip(up.heights).for_each(|(sum, more)| *sum += more);
        let mut down = Beside::of(scale, at.down, at.change);
        let mut chunks = below.rchunks_exact_mut(BESIDE);
        for chunk in &mut chunks {
            if down.heights[0] < NOTHING {
                break;
            }
            chunk.iter_mut().rev().zip(down.heights).for_each(|(sum, more)| *sum += more);
            down.go_on();
        }
        let rest = chunks.into_remainder().iter_mut().rev();
        rest.zip(down.heights).for_each(|(sum, more)| *sum += more);
    }
}

/// The next heights of one side of a bell, and what makes of each the one that is as many nodes on.
struct Beside {
    heights: [f64; BESIDE],
    ratios: [f64; BESIDE],
    change: f64,
}

impl Beside {
    /// Beyond a node of this height, of which the next is `first` times as high.
    fn of(height: f64, first: f64, change: f64) -> Beside {
        let mut ratios = [first; 2 * BESIDE];
        for i in 1..2 * BESIDE {
            ratios[i] = ratios[i - 1] * change;
        }
        let mut heights = [height * first; BESIDE];
        for i in 1..BESIDE {
            heights[i] = heights[i - 1] * ratios[i];
        }
        let over = |i: usize| ratios[i + 1..=i + BESIDE].iter().product();
        let far = change.powi((BESIDE * BESIDE) as i32);
        Beside { heights, ratios: std::array::from_fn(over), change: far }
    }

    fn go_on(&mut self) {
        for (height, ratio) in self.heights.iter_mut().zip(&mut self.ratios) {
            *height *= *ratio;
            *ratio *= self.change;
        }
    }
}
