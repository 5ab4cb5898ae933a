//! What less dirt would spare, summed while the fleet is lived: at every visit and mating the probabilities that it is dirty,
//! now and under every set of changes, along the life that was drawn. No fault and no state that was drawn is counted, but
//! for the state in which the visit before left an end face.

use super::event::{Class, Minute};
use super::face::State;
use super::plant::*;
use super::purchases::Less;
use super::spared::{OPEN, Spared, Unseen};
use super::world::World;

/// Days that a mating is followed.
const HORIZON: Minute = 90 * DAY;

/// What an end face has come through since its last visit, in hazards.
#[derive(Clone, Copy, Debug)]
pub struct Way {
    /// How its last visit left it.
    pub before: State,
    /// Stage it comes to.
    pub stage: usize,
    /// Of all steps but the one into the stage.
    pub earlier: f64,
    /// Of the step into the stage.
    pub into: f64,
    /// Of the lead that touched it, and of any other in its place.
    pub touch: [f64; 2],
    /// The lead, where it carries dirt.
    pub lead: Option<usize>,
    /// It was not looked at on receipt, and comes to be joined for the first time; the part of `earlier` that came before receipt.
    pub unreceived: Option<f64>,
}

impl Way {
    /// Probability that it is dirty, these changes made.
    fn dirt(&self, changes: &[Less], made: impl Fn(usize) -> bool) -> f64 {
        if self.before == State::Defective {
            return 0.0;
        }
        let at_first = f64::from(u8::from(self.before == State::Dirty));
        let (mut into, mut touch, mut received) = (self.into, self.touch[0], false);
        for (_, change) in changes.iter().enumerate().filter(|(number, _)| made(*number)) {
            match *change {
                Less::Entry(stage, times) if stage == self.stage => into *= times,
                Less::Entry(..) => {}
                Less::Leads => touch = self.touch[1],
                Less::Receipt => received = true,
            }
        }
        let after = |clean: f64, hazard: f64| 1.0 - clean * (-hazard).exp();
        match self.unreceived.filter(|_| received) {
            Some(early) => {
                let left = after(1.0 - at_first, early) * MISS;
                after(1.0 - left, self.earlier - early + into + touch)
            }
            None => after(1.0 - at_first, self.earlier + into + touch),
        }
    }

    /// The same by set of changes, the empty set first.
    pub fn by_set(&self, changes: &[Less]) -> Vec<f64> {
        (0..1_usize << changes.len())
            .map(|set| self.dirt(changes, |number| set >> number & 1 == 1))
            .collect()
    }

    /// What it would have been found to be on receipt: clean, dirty, defective.
    fn on_receipt(&self, early: f64) -> [f64; 3] {
        match self.before {
            State::Defective => [0.0, 0.0, 1.0],
            State::Dirty => [0.0, 1.0, 0.0],
            State::Clean => [(-early).exp(), 1.0 - (-early).exp(), 0.0],
        }
    }
}

fn add(sums: &mut Vec<f64>, more: impl Iterator<Item = f64>) {
    for (at, more) in more.enumerate() {
        if sums.len() <= at {
            sums.push(0.0);
        }
        sums[at] += more;
    }
}

impl World<'_> {
    fn sums(&mut self, site: usize, stage: usize) -> &mut Spared {
        self.tally.spared.places.entry((site, stage)).or_default()
    }

    fn in_year(&self, at: Minute) -> bool {
        at >= self.window.year() && self.window.is_kept(at)
    }

    /// Whether money of faults is summed of a mating made at this minute.
    fn is_whole(&self, at: Minute) -> bool {
        self.in_year(at) && at < self.window.lived.1 - OPEN
    }

    /// What an end face comes through to a stage of a site; `caps` is the factor of its cap there.
    pub fn way(&self, face: usize, (site, stage): (usize, usize), caps: f64) -> Way {
        let (readily, _) = self.dirt_factors(site);
        let (life, face) = (self.life, &self.faces[face]);
        let factor = FAMILY_DIRT[face.family] * caps * readily * self.dust;
        let dirty = face.supplier == life.culprits.dirty_supplier;
        // Hazards of the steps before the one into the stage, of that one, and of those up to receipt.
        let (earlier, into, early) = match face.last_stage {
            None => {
                let birth = BIRTH_HAZARD * factor * if dirty { DIRTY_SUPPLIER } else { 1.0 };
                (birth, 0.0, birth)
            }
            Some(last) if last < stage => {
                let into = life.stages[stage].into;
                let received = life.received.min(stage - 1);
                let early = if last < received { life.entry_hazard(last, received) } else { 0.0 };
                ((life.entry_hazard(last, stage) - into) * factor, into * factor, early * factor)
            }
            Some(last) => (life.entry_hazard(last, stage) * factor, 0.0, 0.0),
        };
        let arrives = stage == life.installed && face.last_stage.is_none_or(|s| s < life.received);
        let times = readily * self.dust;
        let usual = if face.touched_by.is_some() { -(1.0 - LEAD_DIRT).ln() } else { face.touch };
        Way {
            before: face.state,
            stage,
            earlier,
            into,
            touch: [face.touch * times, usual * times],
            lead: face.touched_by,
            unreceived: arrives.then_some(early),
        }
    }

    /// One visit of an end face that can be cleaned, which comes this way and may be defective from the start.
    pub fn spare_visit(&mut self, way: &Way, (site, at): (usize, Minute), defect: f64) {
        if self.purchases.proposals.is_empty() || !self.in_year(at) {
            return;
        }
        let dirty = way.by_set(&self.purchases.less);
        let leads = self.without_carriers(way);
        let sums = self.sums(site, way.stage);
        let sound = 1.0 - defect;
        let is_defective = f64::from(u8::from(way.before == State::Defective));
        sums.visits[0] += (1.0 - dirty[0] - is_defective) * sound;
        sums.visits[1] += dirty[0] * sound;
        sums.visits[2] += is_defective * sound + defect;
        add(&mut sums.fewer_dirty, dirty.iter().map(|left| (dirty[0] - left) * sound));
        if let Some(early) = way.unreceived {
            for (sum, share) in sums.receipts.iter_mut().zip(way.on_receipt(early)) {
                *sum += share;
            }
            sums.receipts_all += 1.0;
        }
        if let Some((lead, left)) = leads {
            let key = [self.works, lead, site, way.stage];
            let sums = self.tally.spared.leads.entry(key).or_default();
            sums[0] += (dirty[0] - left) * sound;
        }
    }

    /// The lead that carries dirt and touched an end face, and the probability that it is dirty with any other in its place.
    fn without_carriers(&self, way: &Way) -> Option<(usize, f64)> {
        way.lead.map(|lead| (lead, way.dirt(&[Less::Leads], |_| true)))
    }

    /// One visit of a recessed lens on its way to be joined.
    pub fn spare_sealed(&mut self, way: &Way, (site, at): (usize, Minute)) {
        if !self.purchases.proposals.is_empty() && self.in_year(at) && way.unreceived.is_some() {
            self.sums(site, way.stage).receipts_all += 1.0;
        }
    }

    /// One mating that is written down, before its looks are forgotten.
    pub fn spare_mating(
        &mut self,
        ends: [usize; 2],
        (site, stage): (usize, usize),
        (at, class, after_fault): (Minute, Class, bool),
    ) {
        self.unseen = Unseen::default();
        if self.purchases.proposals.is_empty() || !self.in_year(at) {
            return;
        }
        let is_first = stage == self.life.installed;
        let received = ends.iter().filter(|&&end| self.faces[end].received).count();
        let sums = self.sums(site, stage);
        sums.known += 1.0;
        sums.both += f64::from(u8::from(class == Class::Both));
        let skipped = matches!(class, Class::One | Class::None);
        sums.skipped += f64::from(u8::from(skipped));
        if is_first {
            sums.ends += 2.0;
            sums.received += received as f64;
        }
        let caps = 1.0 + (CAP_FACTOR - 1.0) * self.life.stages[stage].capped;
        for end in ends {
            if !self.is_unseen(end, site, at) {
                continue;
            }
            let way = self.way(end, (site, stage), caps);
            if let Some(early) = way.unreceived {
                let sums = self.sums(site, stage);
                for (sum, share) in sums.receipts.iter_mut().zip(way.on_receipt(early)) {
                    *sum += share;
                }
                sums.receipts_all += 1.0;
            }
            if !skipped {
                continue;
            }
            let dirty = way.by_set(&self.purchases.less);
            add(&mut self.unseen.dirty, dirty.iter().copied());
            if let Some((lead, left)) = self.without_carriers(&way) {
                self.unseen.lead = Some((lead, dirty[0] - left));
            }
            if self.is_whole(at) && !after_fault {
                let sums = self.sums(site, stage);
                sums.unseen += 1.0;
                sums.unseen_defective += f64::from(u8::from(way.before == State::Defective));
                add(&mut sums.unseen_dirty, dirty.iter().copied());
            }
        }
    }

    /// Linked faults that a skipped mating has beyond one with both ends seen: of those of this rate against those of the
    /// rate after looks, from its making to `end`.
    pub fn spare_faults(
        &mut self,
        (site, stage): (usize, usize),
        (at, end): (Minute, Minute),
        (rate, after_looks): (f64, f64),
    ) {
        if self.unseen.dirty.is_empty() || !self.is_whole(at) {
            return;
        }
        let days = ((end - at).min(HORIZON) as f64 / DAY as f64).max(0.0);
        let held = held(days) * DAY as f64 / MONTH;
        let excess = (-after_looks * held).exp() - (-rate * held).exp();
        let Unseen { dirty, lead } = std::mem::take(&mut self.unseen);
        let part = |left: f64| if dirty[0] > 0.0 { left / dirty[0] } else { 1.0 };
        let sums = self.sums(site, stage);
        add(&mut sums.excess, dirty.iter().map(|left| excess * part(*left)));
        if let Some((lead, fewer)) = lead.filter(|_| dirty[0] > 0.0) {
            let key = [self.works, lead, site, stage];
            let sums = self.tally.spared.leads.entry(key).or_default();
            sums[1] += excess * fewer / dirty[0];
        }
    }
}

/// Days weighted with the factor of their band.
fn held(days: f64) -> f64 {
    let (mut from, mut held) = (0.0, 0.0);
    for (to, factor) in BANDS {
        held += (days.min(to) - from).max(0.0) * factor;
        from = to;
    }
    held
}
