//! Pass two: what a mating was, once its halves and the faults are known (C2, C3, F1).

use super::fault::{Fault, Faults};
use super::judged::Judged;
use super::pair::Pair;
use crate::calendar::{Cuts, DAY_US, Days, HOUR_US};
use crate::derive::face::apart::{Apart, NamedEnds};
use crate::derive::face::end_state::{EndState, WINDOWS_HOURS};
use crate::derive::face::event::{Half, MatingRow, NEVER};
use crate::derive::face::visit::Face;
use crate::derive::scan::cover::Covers;
use crate::derive::scan::site_facts::SiteFacts;
use crate::records::code_list;
use crate::settings::Rules;

code_list! {
    /// Coverage of a mating (C2): what was known of its two ends when it was made.
    #[derive(serde::Serialize, serde::Deserialize)]
    Coverage {
        /// Both ends seen, and passing.
        Both = "both",
        /// One end seen.
        One = "one",
        /// Neither.
        None = "none",
        /// An end was last seen failing.
        DespiteFail = "despite-fail",
        /// An end is not identified, or looks are not known of that time and place.
        Unknown = "unknown",
        /// The names of its ends stand apart from those of looks (R8): unknown, and counted as neither side of anything.
        Apart = "names-apart",
    }
}

impl Coverage {
    /// The classes of which it is known what was seen, in the order of [`Coverage::ALL`].
    pub fn known() -> impl Iterator<Item = Coverage> {
        Coverage::ALL.iter().copied().filter(|class| class.is_known())
    }

    /// Whether it is known what was seen.
    pub fn is_known(self) -> bool {
        !matches!(self, Coverage::Unknown | Coverage::Apart)
    }

    /// The classes as readers see them: matings whose names stand apart are of unknown coverage.
    pub fn shown() -> impl Iterator<Item = Coverage> {
        Coverage::known().chain([Coverage::Unknown])
    }
}

/// A span at risk, both ends included (F1).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    /// First instant, microseconds UTC.
    pub from: i64,
    /// Last instant, microseconds UTC.
    pub to: i64,
}

/// One mating, all that the counts need.
#[derive(Clone, Debug, PartialEq)]
pub struct Mating<'a> {
    /// Its number among the fleet's matings.
    pub number: u64,
    /// Time at which it counts, microseconds UTC.
    pub at: i64,
    /// Code of the site.
    pub site: u32,
    /// Code of the stage.
    pub stage: u8,
    /// Code of the connector family (R3).
    pub family: u32,
    /// What was known of its ends (C2).
    pub coverage: Coverage,
    /// Ends that nobody had seen.
    pub unseen: u32,
    /// Ends that are identified and no recessed lens: a look could see them.
    pub ends: u32,
    /// Both under each of the windows of `WINDOWS_HOURS`.
    pub by_window: [(Coverage, u32); 3],
    /// Taken apart and the same two ends joined again within a day, no fault behind it (C3).
    pub reseat: bool,
    /// When it was taken apart, [`NEVER`] if not recorded.
    pub demated: i64,
    /// Made shortly after a fault on one of its ends (C3).
    pub after_fault: bool,
    /// Criteria of the site's last look, 0 unless the site changed them.
    pub criteria: u32,
    /// By what the last looks at its ends were judged.
    pub judged: Judged,
    /// Its time is known to the day only.
    pub day_only: bool,
    /// In force from `at` to this.
    pub in_force_end: i64,
    /// While faults of the site are known and the period lasts, to the horizon; none if never.
    pub at_risk: Option<Span>,
    /// The same without the horizon.
    pub observed: Option<Span>,
    /// The cover rests on a default.
    pub guessed_cover: bool,
    /// Its faults in order of time.
    pub faults: &'a [Fault],
    /// A ticket touches it or one of its end faces: under other windows of tickets its faults may be others.
    pub near_tickets: bool,
}

/// The part of the span observed of a mating made `at` that lies before the horizon (F1); none where none does.
pub fn at_risk(at: i64, observed: Option<Span>, rules: &Rules) -> Option<Span> {
    let horizon = at.saturating_add(i64::from(rules.horizon_days) * DAY_US);
    let span = observed.filter(|span| span.from <= horizon)?;
    Some(Span { from: span.from, to: span.to.min(horizon) })
}

/// What pass two needs apart from the pairs.
pub struct Setting<'a> {
    /// The rules of the settings.
    pub rules: &'a Rules,
    /// When looks and faults of each site are known.
    pub covers: &'a Covers,
    /// What the records say of each site as a whole.
    pub facts: &'a SiteFacts,
    /// All faults, by mating.
    pub faults: &'a Faults,
    /// Where the names of looks and of matings stand apart.
    pub apart: &'a Apart,
    /// The calendar's quarters.
    pub quarters: &'a Cuts,
    /// Code of the criteria of ends that were judged by different ones.
    pub mixed_criteria: u32,
    /// Follow-up is cut here: the first instant after the period.
    pub period_end: i64,
}

impl<'a> Setting<'a> {
    /// Describes one mating. `days` are days of the fleet's zone.
    pub fn describe(&self, pair: &Pair, days: &mut Days) -> Mating<'a> {
        let row = &pair.row;
        let near = self.faults.near_mating(row.number);
        let faults = near.unwrap_or_default();
        let day = days.holding(row.at);
        let rule = self.rules.coverage_window_hours;
        let apart = self.is_apart(pair);
        let coverage = |hours: u32, state: &dyn Fn(&Half) -> u8| match apart {
            true => (Coverage::Apart, 0),
            false => self.coverage(pair, day.month, hours, state),
        };
        let by_window =
            [0, 1, 2].map(|at: usize| coverage(WINDOWS_HOURS[at], &|half: &Half| half.states[at]));
        let (coverage, unseen) = coverage(rule, &|half: &Half| half.state);
        let in_force_end = pair.in_force_end();
        let cover = self.covers.faults(row.site);
        let observed = cover.and_then(|cover| {
            let from = row.at.max(cover.from);
            let to = in_force_end.min(cover.to).min(self.period_end - 1);
            (from <= to).then_some(Span { from, to })
        });
        let (after_fault, near_face) = self.after_fault(self.faults, pair);
        Mating {
            number: row.number,
            at: row.at,
            site: row.site,
            stage: row.stage,
            family: family(pair),
            coverage,
            unseen,
            ends: pair.halves.iter().flatten().filter(|half| !face(half).is_recessed()).count()
                as u32,
            by_window,
            reseat: self.is_reseat(pair, faults),
            demated: row.demated,
            after_fault,
            criteria: match self.facts.changed_criteria(row.site) {
                true => self.facts.criteria_at(row.site, row.at, day.number),
                false => 0,
            },
            judged: Judged::of(pair, self.mixed_criteria),
            day_only: row.day_only == 1,
            in_force_end,
            at_risk: at_risk(row.at, observed, self.rules),
            observed,
            guessed_cover: cover.is_some_and(|cover| cover.guessed),
            faults,
            near_tickets: near.is_some() || near_face,
        }
    }

    /// Whether the names of an end stand apart from those of looks: then nothing is known of the mating, not even that
    /// an end failed.
    fn is_apart(&self, pair: &Pair) -> bool {
        if self.apart.is_empty() {
            return false;
        }
        let MatingRow { site, source, at, .. } = pair.row;
        let Some(quarter) = self.quarters.piece(at) else { return false };
        [0, 1].into_iter().any(|end| self.apart.holds(NamedEnds { site, source, end, quarter }))
    }

    /// C2: the class under a window, and how many ends nobody had seen in it. `state` is what a
    /// half says of that window.
    fn coverage(
        &self,
        pair: &Pair,
        month: i32,
        hours: u32,
        state: impl Fn(&Half) -> u8,
    ) -> (Coverage, u32) {
        let states = pair.halves.map(|half| half.map(|half| end_state(&half, state(&half))));
        let count =
            |wanted: EndState| states.iter().flatten().filter(|state| **state == wanted).count();
        let unseen = count(EndState::Unseen) as u32;
        let row = &pair.row;
        let wider = i64::from(hours) - i64::from(self.rules.coverage_window_hours);
        let starts = row.window_start.saturating_sub(wider * HOUR_US);
        let known =
            || self.covers.looks(row.site, starts, row.at) && self.facts.looks_in(row.site, month);
        let class = if count(EndState::Failing) > 0 {
            Coverage::DespiteFail
        } else if states.iter().any(Option::is_none) || (unseen > 0 && !known()) {
            Coverage::Unknown
        } else {
            [Coverage::Both, Coverage::One, Coverage::None][unseen as usize]
        };
        (class, unseen)
    }

    /// C3: whether a fault came shortly before on an end face; and whether a ticket touches one at all.
    fn after_fault(&self, faults: &Faults, pair: &Pair) -> (bool, bool) {
        let row = &pair.row;
        let times = row.ends.map(|key| faults.near_face(key));
        let shortly = |times: &[_]| Faults::shortly_before(times, row.number, row.at, self.rules);
        (times.into_iter().flatten().any(shortly), times.iter().any(Option::is_some))
    }

    /// The same mating as other faults have it, as far as 5.5 asks: its faults, and whether it was made
    /// shortly after one.
    pub fn under<'b>(&self, faults: &'b Faults, pair: &Pair, mating: &Mating<'b>) -> Mating<'b> {
        let (after_fault, _) = self.after_fault(faults, pair);
        Mating { faults: faults.of_mating(mating.number), after_fault, ..mating.clone() }
    }

    /// C3: a recorded demating, no ticket from a day before it on, and the same two ends are each
    /// other's next mating within a day.
    fn is_reseat(&self, pair: &Pair, faults: &[Fault]) -> bool {
        let demated = pair.row.demated;
        let day = i64::from(self.rules.reseat_hours) * HOUR_US;
        demated != NEVER
            && pair.rejoined_at().is_some_and(|again| again >= demated && again - demated <= day)
            && !faults.iter().any(|fault| fault.last_at >= demated.saturating_sub(day))
    }
}

/// A recessed lens counts as seen (C1).
pub fn end_state(half: &Half, state: u8) -> EndState {
    if face(half).is_recessed() { EndState::Seen } else { EndState::of(state) }
}

fn face(half: &Half) -> Face {
    Face { family: half.family, side: half.side, optic: half.optic, supplier: half.supplier }
}

/// R3: a mating's family is end a's, else end b's.
fn family(pair: &Pair) -> u32 {
    let known = |half: Option<Half>| half.map_or(0, |half| half.family);
    match known(pair.halves[0]) {
        0 => known(pair.halves[1]),
        family => family,
    }
}
