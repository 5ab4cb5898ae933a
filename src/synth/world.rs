//! The invented fleet while it is being lived: end faces, and the journal of what was written down.

use super::departures::Departures;
use super::draw::Draw;
use super::event::{Class, Cleaning, Look, Mating, Minute, Ticket};
use super::face::{Face, Side, State};
use super::leads::Leads;
use super::lifecycle::Lifecycle;
use super::luck::Luck;
use super::place::{Kind, Place};
use super::plant::{DAY, MPO};
use super::purchases::Purchases;
use super::spared::Unseen;
use super::tally::Tally;
use super::window::Window;

/// One batch of sites that share end faces: the whole demo, or a single site of a large fleet.
pub struct World<'a> {
    /// Every site of the recipe.
    pub places: &'a [Place],
    /// Stages, and what is planted at each.
    pub life: &'a Lifecycle,
    /// The site where end faces are made, assembled and tested.
    pub works: usize,
    /// What is written down, and kept.
    pub window: Window,
    /// What is planted beyond the ordinary dirt.
    pub departures: &'a Departures,
    /// Draws of departures, apart from those of the lives.
    pub apart: Draw,
    /// Luck that events share.
    pub luck: Luck,
    /// Seed of the recipe.
    pub seed: u64,
    /// Factor on the dirt that has come in, of the end faces at hand.
    pub dust: f64,
    pub faces: Vec<Face>,
    pub looks: Vec<Look>,
    pub cleanings: Vec<Cleaning>,
    pub matings: Vec<Mating>,
    pub tickets: Vec<Ticket>,
    pub leads: Leads,
    /// What the settings propose.
    pub purchases: &'a Purchases,
    /// Of the mating at hand.
    pub unseen: Unseen,
    pub tally: Tally,
    orders: u32,
}

impl<'a> World<'a> {
    /// Nothing has happened yet.
    pub fn new(
        (places, life): (&'a [Place], &'a Lifecycle),
        works: usize,
        window: Window,
        (departures, seed): (&'a Departures, u64),
        purchases: &'a Purchases,
    ) -> Self {
        Self {
            places,
            life,
            works,
            window,
            departures,
            apart: Draw::stream(seed, u64::MAX - 1 - works as u64),
            luck: Luck::of(departures, seed),
            seed,
            dust: 1.0,
            faces: Vec::new(),
            looks: Vec::new(),
            cleanings: Vec::new(),
            matings: Vec::new(),
            tickets: Vec::new(),
            leads: Leads::default(),
            purchases,
            unseen: Unseen::default(),
            tally: Tally::new(window),
            orders: 0,
        }
    }

    /// Factor on every hazard of dirt at a site, and on other reasons to fail a look at every site.
    pub fn dirt_factors(&self, site: usize) -> (f64, f64) {
        let fleet = self.departures.dirt_times();
        (fleet * self.departures.apart_at(site, self.places.len()), fleet)
    }

    /// Factor on every rate of faults, and on that of linked ones at a site.
    pub fn fault_factors(&self, site: usize) -> (f64, f64) {
        let fleet = self.departures.faults_times();
        (fleet, fleet * self.departures.apart_at(site, self.places.len()))
    }

    /// Whether something at this minute is written down.
    pub fn recorded(&self, at: Minute) -> bool {
        self.window.is_recorded(at)
    }

    /// A work order of its own.
    pub fn new_order(&mut self) -> u32 {
        self.orders += 1;
        5_000_000 + self.orders
    }

    /// The work order of a week's batch at one stage of a site.
    pub fn batch_order(&self, site: usize, stage: usize, at: Minute, crew: i64) -> u32 {
        let week = (at - self.window.lived.0 + 30 * 7 * DAY) / (7 * DAY);
        (1_000_000 + week * 6_000 + (site % 200) as i64 * 30 + stage as i64 * 3 + crew) as u32
    }

    /// Whether names at this site are names of places, one for both sides of an adapter.
    pub fn place_named(&self, site: usize) -> bool {
        self.places[site].kind == Kind::Local
    }

    /// Puts a new end face where `face` was; returns its index.
    pub fn renew(&mut self, face: usize, at: Minute) -> usize {
        let place_named = self.place_named(self.faces[face].home);
        let mut renewed = self.faces[face].renewed(place_named);
        self.faces[face].service.1 = Some(at);
        renewed.service.0 = Some(at);
        self.faces.push(renewed);
        self.faces.len() - 1
    }

    /// Writes a look down: one row, or one for two fibres of a multi-fibre end face at the works.
    pub fn write_look(&mut self, look: Look, draw: &mut Draw) {
        if !self.recorded(look.at) {
            return;
        }
        let multi = self.faces[look.face].family == MPO;
        if !multi || self.places[look.site].kind != Kind::Works {
            self.looks.push(look);
            return;
        }
        let both = look.outcome != "fail" || draw.chance(0.3);
        let mut other = Look { fibre: 12, ..look.clone() };
        if !both {
            other = Look { outcome: "pass", finding: "", zone: "", ..other };
        }
        self.looks.push(Look { fibre: 1, ..look });
        self.looks.push(other);
    }

    /// Writes a cleaning down.
    pub fn write_cleaning(&mut self, cleaning: Cleaning) {
        if self.recorded(cleaning.at) {
            self.cleanings.push(cleaning);
        }
    }

    /// Writes a mating down; returns its position in the journal.
    pub fn write_mating(&mut self, mating: Mating) -> Option<usize> {
        if !self.recorded(mating.at) {
            return None;
        }
        self.matings.push(mating);
        Some(self.matings.len() - 1)
    }

    /// Parts a mating: forgets the looks of both end faces, and writes it down where the site does.
    pub fn part(&mut self, mating: Option<usize>, ends: [usize; 2], at: Minute, draw: &mut Draw) {
        for face in ends {
            self.faces[face].last_look = None;
        }
        let Some(mating) = mating else { return };
        let site = self.matings[mating].site;
        if at < self.window.lived.1 && draw.chance(self.places[site].demating_recorded) {
            self.matings[mating].demated = Some(at);
        }
    }

    /// Coverage of a mating of two end faces at this minute: rule C1 of the derivations.
    pub fn class(&self, ends: [usize; 2], site: usize, at: Minute) -> Class {
        let from = self.seen_from(site, at);
        let (mut failing, mut unseen) = (0, 0);
        for face in ends {
            let face = &self.faces[face];
            match face.last_look {
                _ if face.sealed() => {}
                Some((looked, true)) if looked >= from => {}
                Some((looked, false)) if looked >= from => failing += 1,
                _ => unseen += 1,
            }
        }
        match (failing, unseen) {
            (0, 0) => Class::Both,
            (0, 1) => Class::One,
            (0, _) => Class::None,
            _ => Class::DespiteFail,
        }
    }

    /// First minute of looks that count for a mating at this minute.
    fn seen_from(&self, site: usize, at: Minute) -> Minute {
        if self.places[site].by_day() { at.div_euclid(DAY) * DAY - DAY - 120 } else { at - DAY }
    }

    /// Whether nobody has looked at an end face before a mating at this minute; a recessed lens needs no look.
    pub fn is_unseen(&self, face: usize, site: usize, at: Minute) -> bool {
        let (face, from) = (&self.faces[face], self.seen_from(site, at));
        !face.sealed() && face.last_look.is_none_or(|(looked, _)| looked < from)
    }

    /// Whether either end face had a fault within 30 days.
    pub fn after_fault(&self, ends: [usize; 2], at: Minute) -> bool {
        ends.iter().any(|&face| self.faces[face].last_fault.is_some_and(|f| at - f <= 30 * DAY))
    }

    /// A minute in working hours (7:00 to 16:00 UTC, Monday to Friday) at or after `earliest`.
    pub fn work_time(&self, earliest: Minute, draw: &mut Draw) -> Minute {
        let mut day = earliest.div_euclid(DAY);
        let mut at = day * DAY + draw.between(7 * 60, 16 * 60);
        while at < earliest || (day + 3).rem_euclid(7) >= 5 {
            day += 1;
            at = day * DAY + draw.between(7 * 60, 16 * 60);
        }
        at
    }

    /// Adds an end face nobody has seen yet; returns its index.
    pub fn add_face(&mut self, name: String, home: usize, side: Side, traits: Traits) -> usize {
        self.faces.push(Face {
            name,
            generation: 0,
            home,
            family: traits.family,
            optic: traits.optic,
            side,
            supplier: traits.supplier,
            service: (None, None),
            state: State::Clean,
            last_stage: None,
            last_look: None,
            last_fault: None,
            touch: 0.0,
            touched_by: None,
            received: false,
        });
        self.faces.len() - 1
    }
}

/// What is drawn for a new end face.
#[derive(Clone, Copy, Debug)]
pub struct Traits {
    pub family: usize,
    pub optic: usize,
    pub supplier: usize,
}
