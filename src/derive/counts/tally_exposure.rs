//! Counts the follow-up of the look-back for 5.5: by the week of the mating, so that site-weeks can
//! be resampled, and under other rules, for the page of sensitivity.
//!
//! Only matings not made after a fault count: the headline is theirs. Both tables are sparse: a cell
//! is there where a mating was.

use super::all::Counts;
use crate::derive::calendar::period::Period;
use crate::derive::calendar::pieces::{Calendar, DAY, SECOND};
use crate::derive::mating::describe::{Coverage, Mating, Span};
use crate::derive::mating::fault::Fault;
use crate::derive::mating::variant::Variant;
use crate::records::Level;
use crate::settings::Rules;

/// Most cells of site-weeks; above it they are given up and the site is the cluster (5.5). A million
/// take some 100 MiB.
pub const MOST_SITE_WEEKS: usize = 1_000_000;

/// What counting exposures needs beside the matings.
pub struct Exposing<'a> {
    rules: &'a Rules,
    calendar: &'a Calendar,
    /// By stage code: no light, no fault (F1).
    dark: Vec<bool>,
    /// By piece of the calendar's quarters: whether it is looked back to.
    looked_back: Vec<bool>,
    /// Variants that the rules do not already say.
    variants: Vec<(u32, Variant)>,
}

impl<'a> Exposing<'a> {
    /// For one period; `dark` by stage code.
    pub fn new(rules: &'a Rules, dark: Vec<bool>, calendar: &'a Calendar, period: &Period) -> Self {
        let pieces = 0..calendar.quarters.count();
        let looked_back = pieces.map(|piece| period.look_back.contains(&calendar.quarter(piece)));
        let variants = (0..).zip(Variant::ALL).filter(|(_, variant)| !variant.is_the_rule(rules));
        let (looked_back, variants) = (looked_back.collect(), variants.collect());
        Exposing { rules, calendar, dark, looked_back, variants }
    }

    /// The quarter of a mating that counts.
    fn quarter(&self, mating: &Mating) -> Option<u32> {
        let is = |list: &[bool], at: usize| list.get(at).copied().unwrap_or(false);
        let quarter = self.calendar.quarters.piece(mating.at)?;
        let counts = is(&self.looked_back, quarter as usize)
            && !is(&self.dark, usize::from(mating.stage))
            && !mating.after_fault;
        counts.then_some(quarter)
    }

    /// Edges of the bands up to a horizon, microseconds: the usual cuts, and the usual horizon
    /// where this one is longer.
    fn edges(&self, horizon: u32) -> Vec<i64> {
        let cuts = self.rules.bands_days.iter().copied().chain([self.rules.horizon_days]);
        let inner = cuts.filter(|day| *day < horizon);
        std::iter::once(0).chain(inner).chain([horizon]).map(|day| i64::from(day) * DAY).collect()
    }
}

/// One way of following a mating up.
struct Followed<'a> {
    mating: &'a Mating<'a>,
    span: Span,
    edges: Vec<i64>,
    least: Level,
    unseen: u32,
    /// A reseat counts as a fault where it is.
    reseat_at: Option<i64>,
}

impl Followed<'_> {
    fn band(&self, at: i64) -> usize {
        let since = at - self.mating.at;
        let above = self.edges.partition_point(|edge| *edge <= since);
        above.saturating_sub(1).min(self.edges.len() - 2)
    }

    /// When follow-up ends, and whether with an event; none where the first came before it began.
    fn exit(&self) -> Option<(i64, bool)> {
        let is_of = |fault: &&Fault| fault.level >= self.least && fault.at >= self.mating.at;
        let first = self.mating.faults.iter().filter(is_of).map(|fault| fault.at).min();
        let first = first.into_iter().chain(self.reseat_at).min();
        match first {
            Some(at) if at < self.span.from => None,
            Some(at) if at <= self.span.to => Some((at, true)),
            _ => Some((self.span.to, false)),
        }
    }

    /// Matings, unseen ends, faults, seconds and cost by band.
    fn bands(&self) -> Vec<[i64; 5]> {
        let mut bands = vec![[0i64; 5]; self.edges.len() - 1];
        let first = &mut bands[self.band(self.span.from)];
        (first[0], first[1]) = (1, self.unseen.into());
        if let Some((to, event)) = self.exit() {
            for (band, edges) in bands.iter_mut().zip(self.edges.windows(2)) {
                let from = self.span.from.max(self.mating.at + edges[0]);
                band[3] = (to.min(self.mating.at + edges[1]) - from).max(0) / SECOND;
            }
            bands[self.band(to)][2] += i64::from(event);
        }
        // Costs count all faults, not only the first.
        let inside = self.span.from..=self.span.to;
        let faults = self.mating.faults.iter();
        for fault in faults.filter(|f| f.level >= self.least && inside.contains(&f.at)) {
            let cost = &mut bands[self.band(fault.at)][4];
            *cost = cost.saturating_add(fault.cost);
        }
        bands
    }
}

/// Counts one mating.
pub fn tally_exposure(mating: &Mating, with: &Exposing, counts: &mut Counts) {
    let Some(quarter) = with.quarter(mating) else { return };
    tally_site_week(mating, quarter, with, counts);
    for (code, variant) in &with.variants {
        tally_variant(mating, quarter, (*code, *variant), with, counts);
    }
}

fn tally_site_week(mating: &Mating, quarter: u32, with: &Exposing, counts: &mut Counts) {
    let (Some(week), Some(span)) = (with.calendar.weeks.piece(mating.at), mating.at_risk) else {
        counts.site_weeks.add(None, [1, mating.unseen.into(), 0, 0, 0]);
        return;
    };
    let followed = Followed {
        mating,
        span,
        edges: with.edges(with.rules.horizon_days),
        least: Level::Probable,
        unseen: mating.unseen,
        reseat_at: None,
    };
    let cells = (0..).zip(followed.bands()).filter(|(_, row)| *row != [0; 5]);
    // Beyond the limit the whole table is given up: the total must not depend on who met it when.
    let kept = counts.site_weeks.len() <= MOST_SITE_WEEKS;
    for (band, row) in cells {
        let (stage, coverage) = (mating.stage.into(), mating.coverage as u32);
        let (site, family, criteria) = (mating.site, mating.family, mating.criteria);
        let cell = [week, quarter, site, stage, family, criteria, coverage, band];
        counts.site_weeks.add(kept.then_some(cell), row);
    }
}

fn tally_variant(
    mating: &Mating,
    quarter: u32,
    (code, variant): (u32, Variant),
    with: &Exposing,
    counts: &mut Counts,
) {
    let (coverage, unseen): (Coverage, u32) = match variant {
        Variant::Window(at) => mating.by_window[at],
        _ => (mating.coverage, mating.unseen),
    };
    let left_out = variant == Variant::Timed && mating.day_only;
    let Some(span) = variant.span(mating, with.rules).filter(|_| !left_out) else {
        counts.variants.add(None, [1, unseen.into(), 0, 0, 0]);
        return;
    };
    let followed = Followed {
        mating,
        span,
        edges: with.edges(variant.horizon_days(with.rules)),
        least: variant.least_level(),
        unseen,
        reseat_at: (variant == Variant::Reseats && mating.reseat).then_some(mating.in_force_end),
    };
    for (band, row) in (0..).zip(followed.bands()).filter(|(_, row)| *row != [0; 5]) {
        let (site, family, criteria) = (mating.site, mating.family, mating.criteria);
        let cell =
            [code, quarter, site, mating.stage.into(), family, criteria, coverage as u32, band];
        counts.variants.add(Some(cell), row);
    }
}
