//! The state machine of one end face's visits (V1-V7, but for `prompted`, which needs the faults).

use super::event::{Event, NEVER, NO_MATING, flag, kind};
use super::visit::{CleanedWhileClean, Cycle, Earlier, Ending, Face, Look, Visit};
use crate::calendar::{DAY_US, HOUR_US};
use crate::records::{Finding, Outcome};
use crate::settings::Rules;

/// Reads one end face's events in order and hands over each visit as it closes.
pub struct Visits<'a> {
    rules: &'a Rules,
    /// Code of the method word "mixed".
    mixed: u32,
    open: Option<Open>,
    /// The visit before.
    before: Option<Earlier>,
    /// Matings since the last event of a visit.
    matings: u32,
    /// The mating that lasts: when it began and when it was taken apart.
    lasting: Option<(i64, i64)>,
    /// A mating of a week or more since the visit before.
    long_mating: bool,
    last_mating: u64,
    /// A ticket may touch it.
    touched: bool,
}

/// A visit in the making.
struct Open {
    visit: Visit,
    last_at: i64,
    /// Cleanings that no look has closed yet.
    pending: Option<Pending>,
    last_was_cleaning: bool,
    rejected: bool,
    any_pass: bool,
}

struct Pending {
    method: u32,
    tool: u32,
    cleanings: u32,
    began_clean: bool,
}

/// What a readable look said; none for an unreadable one.
pub fn look_of(event: &Event) -> Option<Look> {
    match event.outcome()? {
        Outcome::Pass => Some(Look::Pass),
        Outcome::Fail => Some(Look::Fail(event.finding())),
        Outcome::Unreadable => None,
    }
}

impl<'a> Visits<'a> {
    /// A machine for one end face.
    pub fn new(rules: &'a Rules, mixed: u32) -> Self {
        Visits {
            rules,
            mixed,
            open: None,
            before: None,
            matings: 0,
            lasting: None,
            long_mating: false,
            last_mating: NO_MATING,
            touched: false,
        }
    }

    /// Takes a mating: it ends the visit before it (V1).
    pub fn mating(&mut self, event: &Event) {
        self.end_lasting(event.at);
        self.lasting = Some((event.at, event.ends));
        self.matings = self.matings.saturating_add(1);
        (self.last_mating, self.touched) = (event.mating, event.has(flag::TOUCHED));
    }

    /// Takes a look or a cleaning. `face` is what the end face was known to be (R3).
    pub fn work(&mut self, event: &Event, face: Face, done: &mut impl FnMut(Visit)) {
        if event.kind == kind::LOOK && look_of(event).is_none() {
            self.unreadable(event);
            return;
        }
        if self.open.as_ref().is_none_or(|open| self.splits(open, event)) {
            self.close(done);
            self.begin(event, face);
        }
        if let Some(open) = &mut self.open {
            open.take(event, face, self.mixed);
        }
    }

    /// V5: a reject on an unreadable look counts as the visit's last look; else it is no event.
    fn unreadable(&mut self, event: &Event) {
        let splits = self.open.as_ref().is_none_or(|open| self.splits(open, event));
        if let Some(open) = self.open.as_mut().filter(|_| !splits && event.has(flag::REJECT)) {
            open.rejected = true;
        }
    }

    /// V1: whether an event belongs to a new visit.
    fn splits(&self, open: &Open, event: &Event) -> bool {
        let visit = &open.visit;
        self.matings > 0
            || event.at.saturating_sub(open.last_at)
                > i64::from(self.rules.visit_gap_hours) * HOUR_US
            || (event.stage, event.site) != (visit.stage, visit.site)
            || (event.work_order != 0
                && visit.work_order != 0
                && event.work_order != visit.work_order)
    }

    fn begin(&mut self, event: &Event, face: Face) {
        self.end_lasting(event.at);
        let earlier = self.before.map(|before| Earlier { matings: self.matings, ..before });
        let same_stage = earlier.is_some_and(|earlier| earlier.stage == event.stage);
        let visit = Visit {
            key: event.key,
            start: event.at,
            site: event.site,
            stage: event.stage,
            face,
            again: same_stage && !self.long_mating,
            first_recorded: earlier.is_none(),
            earlier,
            last_mating: self.last_mating,
            first_since_mating: self.matings > 0,
            touched: self.touched,
            ..Visit::nothing()
        };
        (self.matings, self.long_mating) = (0, false);
        self.open = Some(Open {
            visit,
            last_at: event.at,
            pending: None,
            last_was_cleaning: false,
            rejected: false,
            any_pass: false,
        });
    }

    /// A mating without a recorded end lasts to the next mating or the visit (V7).
    fn end_lasting(&mut self, at: i64) {
        if let Some((began, ended)) = self.lasting.take() {
            let ended = if ended == NEVER { at } else { ended.min(at) };
            let week = i64::from(self.rules.short_mating_days) * DAY_US;
            self.long_mating |= ended.saturating_sub(began) >= week;
        }
    }

    /// Hands over the visit that is open, if any.
    pub fn close(&mut self, done: &mut impl FnMut(Visit)) {
        if let Some(open) = self.open.take() {
            let ended = open.last_at;
            let visit = open.finish();
            let passed = visit.ending == Ending::Passed;
            self.before = Some(Earlier { stage: visit.stage, passed, ended, matings: 0 });
            done(visit);
        }
    }
}

impl Open {
    fn take(&mut self, event: &Event, face: Face, mixed: u32) {
        let since = event.at.saturating_sub(self.last_at);
        self.last_at = event.at;
        if event.work_order != 0 {
            self.visit.work_order = event.work_order;
        }
        // Work after a disposition: it was no ending (V5).
        self.rejected = false;
        match look_of(event) {
            Some(look) if event.kind == kind::LOOK => {
                // A day is no instant: what is known to the day may be hours apart.
                if since <= HOUR_US && event.day_minutes == 0 {
                    self.second_look(look);
                }
                self.look(event, face, look);
            }
            _ => self.cleaning(event, mixed),
        }
    }

    fn cleaning(&mut self, event: &Event, mixed: u32) {
        let (method, tool) = (event.detail, event.device);
        let visit = &mut self.visit;
        visit.cleanings += 1;
        if visit.first_method == 0 {
            visit.first_method = method;
        }
        match &mut self.pending {
            Some(pending) => {
                pending.cleanings += 1;
                if pending.tool != tool {
                    pending.tool = 0;
                }
                if pending.method != method {
                    (pending.method, pending.tool) = (mixed, 0);
                }
            }
            None => {
                let began_clean = visit.last == Some(Look::Pass);
                if began_clean {
                    visit.cleaned_while_clean.push(CleanedWhileClean { method, then: None });
                }
                self.pending = Some(Pending { method, tool, cleanings: 1, began_clean });
            }
        }
        self.last_was_cleaning = true;
    }

    /// Counts a look that follows a passing one with nothing between.
    fn second_look(&mut self, look: Look) {
        if self.pending.is_some() || self.visit.last != Some(Look::Pass) {
            return;
        }
        let failing = look == Look::Fail(Finding::Contamination);
        let second = &mut self.visit.second_looks;
        second.looks += u32::from(failing || look == Look::Pass);
        second.failing += u32::from(failing);
    }

    fn look(&mut self, event: &Event, face: Face, look: Look) {
        let visit = &mut self.visit;
        let is_first_event = visit.cleanings == 0 && visit.last.is_none();
        if visit.last.is_none() {
            // A visit is of what its first look says it is (R3).
            visit.face = face;
            visit.capped = event.has(flag::CAP_KNOWN).then(|| event.has(flag::CAPPED));
        }
        if is_first_event {
            visit.first = Some(look);
            visit.first_zone = if look == Look::Pass { 0 } else { event.zone };
            visit.instrument = event.device;
        }
        let closed = self.pending.take();
        if let Some(pending) = &closed {
            visit.cycles.push(Cycle {
                method: pending.method,
                tool: pending.tool,
                cleanings: pending.cleanings,
                closed_by: look,
                began_clean: pending.began_clean,
            });
            if pending.began_clean
                && let Some(cleaned) = visit.cleaned_while_clean.last_mut()
            {
                cleaned.then = Some(look);
            }
        }
        if look == Look::Pass && !self.any_pass {
            self.any_pass = true;
            let cycles = visit.cycles.len() as u32;
            match (is_first_event, &closed) {
                (true, _) => visit.passed_at = Some(0),
                (false, Some(_)) => visit.passed_at = Some(cycles),
                (false, None) => visit.pass_without_cycle = Some(cycles),
            }
        }
        visit.last = Some(look);
        self.last_was_cleaning = false;
        self.rejected = event.has(flag::REJECT);
    }

    fn finish(self) -> Visit {
        let mut visit = self.visit;
        visit.ending = match visit.last {
            _ if self.rejected => Ending::Rejected,
            _ if self.last_was_cleaning => Ending::Unverified,
            Some(Look::Pass) => Ending::Passed,
            Some(Look::Fail(_)) => Ending::LeftFailing,
            None => Ending::Unverified,
        };
        visit
    }
}
