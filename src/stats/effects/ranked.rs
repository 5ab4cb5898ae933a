//! Where the arrangement that happened stands among all: its p value, the smallest that could have come out, and the
//! values that are not rejected.

use super::panel::Contrast;

/// Shares of a statistic that count as equal to it: ties of the same sums in another order.
const EQUAL: f64 = 1e-9;

/// The statistics of all arrangements, the one that happened first.
#[derive(Clone, Debug, PartialEq)]
pub struct Ranked {
    own: Contrast,
    all: Vec<Contrast>,
}

/// Values that are not rejected.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Inverted {
    /// Lower end; none where there is none.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
    /// Level that the arrangements allow.
    pub level: f64,
}

impl Ranked {
    /// Of the contrasts of arrangements; the first is the one that happened. None where that one has no estimate.
    /// Arrangements without one are left out.
    pub fn of(contrasts: Vec<Option<Contrast>>) -> Option<Ranked> {
        let own = contrasts.first().copied().flatten()?;
        Some(Ranked { own, all: contrasts.into_iter().flatten().collect() })
    }

    /// The estimate.
    pub fn own(&self) -> &Contrast {
        &self.own
    }

    /// How many arrangements it is compared with, itself among them.
    pub fn arrangements(&self) -> usize {
        self.all.len()
    }

    /// The estimate over its spread.
    pub fn standing(&self) -> f64 {
        self.own.value / self.own.spread
    }

    /// Share of arrangements whose statistic is as far from 0 as this, if the effect is `value` wherever something
    /// really began.
    ///
    /// Source: randomization test of a sharp hypothesis: Rosenbaum (2002), Observational Studies, 2nd ed., section 2.5;
    /// statistics studentised as Chung & Romano (2013), Ann. Statist. 41, 484-507.
    pub fn p(&self, value: f64) -> f64 {
        let far = |one: &Contrast| ((one.value - value * one.of_one) / one.spread).abs();
        let own = far(&self.own);
        self.share(|one| far(one) >= own * (1.0 - EQUAL) - EQUAL * self.grain())
    }

    /// Share of arrangements whose statistic is as high as this one's: one-sided, of no effect.
    pub fn p_upper(&self) -> f64 {
        let own = self.standing();
        self.share(|one| one.value / one.spread >= own - EQUAL * (own.abs() + self.grain()))
    }

    /// The same of as low.
    pub fn p_lower(&self) -> f64 {
        let own = self.standing();
        self.share(|one| one.value / one.spread <= own + EQUAL * (own.abs() + self.grain()))
    }

    /// The smallest p value that these arrangements allow: those that stand with this one whatever the values are.
    pub fn smallest_p(&self) -> f64 {
        self.share(|one| self.mirrors(one))
    }

    /// The values whose p is above `1 - level`; where no p as small as that can come out, above the smallest that can.
    pub fn inverted(&self, level: f64) -> Inverted {
        let tail = (1.0 - level).max(self.smallest_p());
        let needed = (tail * self.all.len() as f64 + EQUAL).floor() as usize + 1;
        let mut ends: Vec<(f64, f64)> = self.all.iter().map(|one| self.accepted(one)).collect();
        ends.sort_by(|a, b| a.0.total_cmp(&b.0));
        let low = ends.get(needed - 1).map(|(low, _)| *low);
        ends.sort_by(|a, b| b.1.total_cmp(&a.1));
        let high = ends.get(needed - 1).map(|(_, high)| *high);
        let finite = |end: Option<f64>| end.filter(|end| end.is_finite());
        Inverted { low: finite(low), high: finite(high), level: 1.0 - tail }
    }

    /// The values at which an arrangement's statistic is as far out as the real one's: from one end to the other, the
    /// real estimate between them.
    fn accepted(&self, one: &Contrast) -> (f64, f64) {
        const ALL: (f64, f64) = (f64::NEG_INFINITY, f64::INFINITY);
        if self.mirrors(one) {
            return ALL;
        }
        let ratio = one.spread / self.own.spread;
        // |one - t of_one| >= ratio |own - t| on the stretch between two points, or beyond them.
        let at = |sign: f64| {
            let slope = one.of_one - sign * ratio;
            (slope != 0.0).then(|| (one.value - sign * ratio * self.own.value) / slope)
        };
        match (at(1.0), at(-1.0)) {
            (Some(a), Some(b)) if one.of_one.abs() < ratio => (a.min(b), a.max(b)),
            (Some(only), None) | (None, Some(only)) => {
                if only <= self.own.value {
                    (only, f64::INFINITY)
                } else {
                    (f64::NEG_INFINITY, only)
                }
            }
            _ => ALL,
        }
    }

    /// Whether an arrangement stands as far out as the real one whatever the values are: itself, or both sides changed.
    fn mirrors(&self, one: &Contrast) -> bool {
        let near = |a: f64, b: f64| (a - b).abs() <= EQUAL * (a.abs() + b.abs() + self.grain());
        let one_over = |contrast: &Contrast| contrast.of_one / contrast.spread;
        let value = |contrast: &Contrast| contrast.value / contrast.spread;
        [1.0, -1.0].iter().any(|sign| {
            near(one_over(one), sign * one_over(&self.own))
                && near(value(one), sign * value(&self.own))
        })
    }

    /// Size of a statistic, for what counts as equal to 0.
    fn grain(&self) -> f64 {
        self.all.iter().map(|one| (one.value / one.spread).abs()).fold(0.0, f64::max) * 1e-3
    }

    fn share(&self, is: impl Fn(&Contrast) -> bool) -> f64 {
        self.all.iter().filter(|one| is(one)).count() as f64 / self.all.len() as f64
    }
}
