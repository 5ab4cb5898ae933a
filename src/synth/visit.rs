//! One visit: looks and cleanings of one end face until it passes or somebody gives up.

use super::draw::Draw;
use super::event::{Applied, Cleaning, Look, Method, Minute};
use super::face::State;
use super::luck::Unit;
use super::place;
use super::plant::*;
use super::world::World;

/// Why an end face is visited.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reason {
    /// The step of the lifecycle.
    Routine,
    /// Again at the same stage, with nothing or only a test in between.
    Again,
    /// A fault; the number is the probability that the end face is dirty.
    Fault(f64),
}

/// What to visit, where and when.
#[derive(Clone, Copy, Debug)]
pub struct Call {
    pub face: usize,
    pub site: usize,
    pub stage: usize,
    pub at: Minute,
    pub order: u32,
    pub reason: Reason,
}

/// How a visit ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    Passed,
    Failing,
    Rejected,
    Unverified,
}

/// Visits one end face; returns how it ended and the first minute after it.
pub fn visit(world: &mut World, draw: &mut Draw, call: Call) -> (Ending, Minute) {
    let places = world.places;
    let method = place::method(draw.weighted(&places[call.site].methods));
    let unit = Unit { site: call.site, order: call.order, at: call.at };
    let person = world.luck.person(unit, draw.between(0, 3) as u8);
    let capped = draw.chance(world.life.stages[call.stage].capped);
    let limit = LIMITS[draw.index(LIMITS.len())];
    let sealed = world.faces[call.face].sealed();
    let stuck = world.departures.stays_dirty.is_some_and(|share| world.apart.chance(share));
    let mut run = Run {
        world,
        draw,
        call,
        clock: call.at,
        method,
        person,
        capped,
        limit,
        sealed,
        unit,
        stuck,
        cycle: 0,
        applied: None,
    };
    let looks_first = run.sealed || !run.draw.chance(CLEANED_UNSEEN);
    run.arrive(looks_first);
    let ending = if looks_first { run.look_first() } else { run.clean_first() };
    (ending, run.clock)
}

/// A visit under way.
pub(super) struct Run<'w, 'p, 'd> {
    pub(super) world: &'w mut World<'p>,
    pub(super) draw: &'d mut Draw,
    pub(super) call: Call,
    pub(super) clock: Minute,
    pub(super) method: Method,
    pub(super) person: u8,
    pub(super) capped: bool,
    /// Cycles after which somebody gives up.
    pub(super) limit: u32,
    pub(super) sealed: bool,
    /// Whose luck it shares.
    pub(super) unit: Unit,
    /// Whether its dirt passes no cleaning.
    pub(super) stuck: bool,
    pub(super) cycle: u32,
    /// The cleaning since the last look.
    pub(super) applied: Option<Applied>,
}

impl Run<'_, '_, '_> {
    /// The visit begins with a look.
    fn look_first(&mut self) -> Ending {
        if self.draw.chance(UNREADABLE) {
            self.write("unreadable", "", "");
        }
        let state = self.world.faces[self.call.face].state;
        let defect = state == State::Defective && self.draw.chance(DEFECT_SEEN);
        if defect {
            let gone = self.draw.chance(REJECTED_FOR_DEFECT);
            return self.fail_for_defect(gone);
        }
        let dirty = match state {
            State::Clean => self.false_alarm(),
            State::Dirty => !self.draw.chance(MISS),
            State::Defective => false,
        };
        if dirty { self.work() } else { self.passed_first() }
    }

    /// The first look passed: mostly that is all.
    fn passed_first(&mut self) -> Ending {
        self.write("pass", "", "");
        let lone = self.world.places[self.call.site].lone_cleanings();
        if self.draw.chance(SECOND_LOOK) {
            let state = self.world.faces[self.call.face].state;
            self.person = (self.person + 1) % 4;
            let dirty = match state {
                State::Clean => self.false_alarm(),
                _ => !self.draw.chance(MISS),
            };
            if dirty {
                return self.work();
            }
            self.write("pass", "", "");
        }
        if !self.sealed && self.draw.chance(CLEAN_WHILE_CLEAN) {
            let passed = self.clean_clean();
            self.cycle = 1;
            return if passed { self.pass() } else { self.work() };
        }
        if lone && !self.sealed && self.draw.chance(CLEANED_AFTER_PASS) {
            self.clean();
            return Ending::Unverified;
        }
        Ending::Passed
    }

    /// The visit begins with a cleaning.
    fn clean_first(&mut self) -> Ending {
        let clean = self.world.faces[self.call.face].state == State::Clean;
        if clean {
            let passed = self.clean_clean();
            return self.after_unseen(passed);
        }
        self.clean();
        self.cycle = 1;
        let passed = self.passes(1);
        self.after_unseen(passed)
    }

    fn after_unseen(&mut self, passed: bool) -> Ending {
        let unverified =
            self.world.places[self.call.site].lone_cleanings() && self.draw.chance(LEFT_UNSEEN);
        if unverified {
            return Ending::Unverified;
        }
        self.cycle = 1;
        if passed { self.pass() } else { self.work() }
    }

    /// One cleaning of a clean end face; returns whether it stays clean.
    fn clean_clean(&mut self) -> bool {
        self.clean();
        let (_, factor) = self.world.dirt_factors(self.call.site);
        let soil = if self.worn() { WORN_SOIL } else { SOIL } * factor;
        let face = &mut self.world.faces[self.call.face];
        if self.draw.chance(soil) {
            face.state = State::Dirty;
        }
        face.state != State::Dirty
    }

    /// Writes the failing look, then cleans and looks until it passes or the limit is reached.
    fn work(&mut self) -> Ending {
        let face = self.call.face;
        if self.world.faces[face].state == State::Clean {
            self.world.faces[face].state = State::Dirty;
        }
        loop {
            let given_up = self.sealed || self.cycle >= self.limit;
            let gone = given_up && !self.sealed && self.draw.chance(REJECTED_AT_LIMIT);
            let zone = ["A", "B", "B", "C", "D"][self.draw.index(5)];
            self.write_failing("contamination", zone, gone);
            if given_up {
                return if gone { Ending::Rejected } else { Ending::Failing };
            }
            if self.cycle == 2 && self.draw.chance(TURNS_WET_DRY) {
                self.method = Method::WetDry;
            }
            self.clean();
            if self.draw.chance(CLEANED_TWICE) && self.world.places[self.call.site].lone_cleanings()
            {
                self.clean();
            }
            self.cycle += 1;
            if self.passes(self.cycle) {
                return self.pass();
            }
            if self.draw.chance(DEFECT_UNCOVERED) {
                self.world.faces[face].state = State::Defective;
                let gone = self.draw.chance(REJECTED_FOR_DEFECT);
                return self.fail_for_defect(gone);
            }
        }
    }

    fn pass(&mut self) -> Ending {
        self.world.faces[self.call.face].state = State::Clean;
        self.write("pass", "", "");
        Ending::Passed
    }

    fn fail_for_defect(&mut self, gone: bool) -> Ending {
        let zone = ["A", "A", "B"][self.draw.index(3)];
        self.write_failing("defect", zone, gone);
        if gone { Ending::Rejected } else { Ending::Failing }
    }

    fn write_failing(&mut self, finding: &'static str, zone: &'static str, gone: bool) {
        let disposition = match (gone, finding) {
            (false, _) => "in-service",
            (true, "defect") => ["repolish", "replace", "reject"][self.draw.index(3)],
            _ => ["reject", "reject", "replace"][self.draw.index(3)],
        };
        self.write_look("fail", finding, zone, if gone { disposition } else { "" });
    }

    fn write(&mut self, outcome: &'static str, finding: &'static str, zone: &'static str) {
        let disposition =
            if outcome == "pass" && self.draw.chance(0.3) { "in-service" } else { "" };
        self.write_look(outcome, finding, zone, disposition);
    }

    fn write_look(
        &mut self,
        outcome: &'static str,
        finding: &'static str,
        zone: &'static str,
        disposition: &'static str,
    ) {
        let look = Look {
            at: self.clock,
            face: self.call.face,
            site: self.call.site,
            stage: self.call.stage,
            outcome,
            finding,
            zone,
            capped: self.capped,
            person: self.person,
            order: self.call.order,
            disposition,
            cleaned: self.applied.take(),
            fibre: 0,
            number: 0,
        };
        if outcome != "unreadable" {
            self.world.faces[self.call.face].last_look = Some((self.clock, outcome == "pass"));
        }
        self.world.write_look(look, self.draw);
        self.clock += self.draw.between(2, 5);
    }

    /// One cleaning with the method of the moment.
    fn clean(&mut self) {
        let applied = Applied { method: self.method, tool: self.draw.between(1, 3) as u8 };
        self.world.faces[self.call.face].last_look = None;
        self.world.write_cleaning(Cleaning {
            at: self.clock,
            face: self.call.face,
            site: self.call.site,
            stage: self.call.stage,
            applied,
            person: self.person,
            order: self.call.order,
            number: 0,
        });
        self.applied = Some(applied);
        self.clock += self.draw.between(2, 4);
    }
}
