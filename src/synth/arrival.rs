//! What happened to an end face before a visit, and what that lets one expect of its first look.

use super::face::State;
use super::plant::*;
use super::sparing::Way;
use super::visit::{Reason, Run};

impl Run<'_, '_, '_> {
    /// Lets dirt in since the last visit.
    pub(super) fn arrive(&mut self, looks_first: bool) {
        let (stage, life) = (self.call.stage, self.world.life);
        let (readily, elsewise) = self.world.dirt_factors(self.call.site);
        self.spare(elsewise);
        let face = &mut self.world.faces[self.call.face];
        let last = face.last_stage.replace(stage);
        let touch = std::mem::take(&mut face.touch);
        face.touched_by = None;
        face.received |= stage == life.received;
        let caps = if self.capped { CAP_FACTOR } else { 1.0 };
        let factor = FAMILY_DIRT[face.family] * caps * readily;
        let dirty_supplier = last.is_none() && face.supplier == life.culprits.dirty_supplier;
        let supplier = if dirty_supplier { DIRTY_SUPPLIER } else { 1.0 };
        let entry = last.map_or(BIRTH_HAZARD, |last| life.entry_hazard(last, stage));
        let hazard = (entry * factor * supplier + touch * readily) * self.world.dust;
        let dirt = match self.call.reason {
            Reason::Fault(dirt) if last.is_some() => dirt,
            _ => 1.0 - (-hazard).exp(),
        };
        let before = face.state;
        let expected = self.expected_dirt(dirt);
        if last.is_none() && self.draw.chance(DEFECT_AT_BIRTH * elsewise) {
            self.world.faces[self.call.face].state = State::Defective;
        } else if before == State::Clean && self.comes_in(dirt) {
            self.world.faces[self.call.face].state = State::Dirty;
        }
        if matches!(self.call.reason, Reason::Fault(_)) {
            return;
        }
        if let Some(last) = last {
            // What luck that lasts made of the planted hazards.
            let luck = if dirt > 0.0 && expected != dirt {
                (1.0 - expected).ln() / (1.0 - dirt).ln()
            } else {
                1.0
            };
            let [factor, touch] = [factor, touch * readily].map(|planted| planted * luck);
            self.world.tally.passage(last, stage, factor, touch, self.call.at);
        }
        let again = self.call.reason == Reason::Again && last == Some(stage);
        if !again && looks_first && !self.sealed && self.world.recorded(self.call.at) {
            self.tally_first(before, expected, last.is_none());
        }
    }

    /// Sums what proposals would spare of this visit.
    fn spare(&mut self, elsewise: f64) {
        if self.world.purchases.proposals.is_empty() {
            return;
        }
        let (face, call) = (self.call.face, self.call);
        let caps = if self.capped { CAP_FACTOR } else { 1.0 };
        let mut way = self.world.way(face, (call.site, call.stage), caps);
        if self.sealed {
            self.world.spare_sealed(&way, (call.site, call.at));
            return;
        }
        let is_first = self.world.faces[face].last_stage.is_none();
        if let (Reason::Fault(dirt), false) = (call.reason, is_first) {
            // A fault's dirt is what it is.
            let earlier = -(1.0 - dirt).ln();
            way = Way { earlier, into: 0.0, touch: [0.0; 2], lead: None, unreceived: None, ..way };
        }
        let defect = if is_first { DEFECT_AT_BIRTH * elsewise } else { 0.0 };
        self.world.spare_visit(&way, (call.site, call.at), defect);
    }

    /// Counts a routine visit that begins with a look, with the probability that it passes.
    fn tally_first(&mut self, before: State, dirt: f64, birth: bool) {
        let (_, elsewise) = self.world.dirt_factors(self.call.site);
        let pass = match before {
            State::Clean => (1.0 - dirt) * (1.0 - FALSE_ALARM * elsewise) + dirt * MISS,
            State::Dirty => MISS,
            State::Defective => 1.0 - DEFECT_SEEN,
        };
        let sound = if birth { 1.0 - DEFECT_AT_BIRTH * elsewise } else { 1.0 };
        let (stage, at) = (self.call.stage, self.call.at);
        let family = self.world.faces[self.call.face].family;
        self.world.tally.first_look(stage, family, self.capped, pass * sound, at);
    }
}
