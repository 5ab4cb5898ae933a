//! What each proposal, and every set of them, would save in expectation: the sums of a fleet (`spared`) with and without the
//! change, in the definitions of the review (5.8).
//!
//! A place is a site and a stage. Looks and faults are of skipped matings not made after a fault, whose horizon has run;
//! visits are of the last twelve months; both as of a year. Less dirt spares visits and faults where a proposal acts, not at
//! later stages; looks before matings spare nothing later; what becomes of end faces left failing is left out, and so is the
//! second look at what takes a rejected end face's place. An effect whose units serve only a part is had for that part.

use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};

use super::course::{Course, Factor, MOST, Spent, Visits};
use super::place::{self, Place};
use super::plant::{FALSE_ALARM, LIMITS, MISS};
use super::purchases::{Effect, Kind, Less, Proposal, Purchases};
use super::spared::{AllSpared, Spared};
use super::truth::{CarrierTruth, ProposalTruth, SetTruth, StoppingTruth};

/// Most proposals whose sets are all valued.
const MOST_IN_SETS: usize = 8;
const MINUTES: f64 = 60.0;
const MONTHS: f64 = 12.0;

/// What the worth is reckoned from.
pub struct Worth<'a> {
    pub purchases: &'a Purchases,
    pub places: &'a [Place],
    pub visits: Visits<'a>,
    pub sums: &'a AllSpared,
    /// What sums of whole months, and of the last twelve, are multiplied by to be of a year.
    pub yearly: [f64; 2],
    /// Cost of one linked fault.
    pub fault: f64,
    /// Courses of visits that were worked out before.
    pub courses: RefCell<BTreeMap<(usize, String), Course>>,
}

/// A year's saving before running cost, and the linked faults that it avoids.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct Saved {
    money: f64,
    faults: f64,
}

/// What is done at one place, all effects taken together.
#[derive(Default)]
struct Done {
    /// Share of the skipped matings that has both ends seen.
    seen: f64,
    /// Odds that are multiplied, and the part of the cleanings that they are of.
    odds: Vec<Factor>,
    odds_served: f64,
    /// Minutes of cleanings less, of one by each method.
    minutes_less: [f64; 4],
    /// How much there is of each change that takes dirt off.
    less: Vec<f64>,
    /// Share of the ends not looked at on receipt that is.
    received: f64,
}

impl Worth<'_> {
    /// Every proposal, the sets of them, and the best of these that the budget pays for.
    pub fn truths(&self) -> (Vec<ProposalTruth>, Vec<SetTruth>, Option<SetTruth>) {
        let proposals = &self.purchases.proposals;
        let single = proposals.iter().map(|proposal| self.of_proposal(proposal)).collect();
        let told: Vec<&Proposal> =
            proposals.iter().filter(|proposal| is_told(proposal)).take(MOST_IN_SETS).collect();
        let set = |set: usize| {
            let chosen: Vec<&Proposal> =
                (0..told.len()).filter(|at| set >> at & 1 == 1).map(|at| told[at]).collect();
            SetTruth {
                proposals: chosen.iter().map(|one| one.name.clone()).collect(),
                price: cents(chosen.iter().map(|one| one.outlay()).sum()),
                net_present_value: cents(self.present_value(&chosen)),
            }
        };
        let sets: Vec<SetTruth> = (0..1_usize << told.len()).map(set).collect();
        let best = self.purchases.budget.and_then(|budget| {
            let paid = sets.iter().filter(|set| set.price <= budget);
            paid.max_by(|a, b| a.net_present_value.total_cmp(&b.net_present_value)).cloned()
        });
        (single, sets, best)
    }

    /// What giving up after so many cycles costs an end face that began contaminated, over the visits of the last twelve
    /// months; none where nothing is proposed, since they are not summed then.
    pub fn stopping(&self) -> Option<StoppingTruth> {
        let costs = self.purchases.costs;
        let minutes = costs.look_minutes + costs.cleaning_minutes;
        let cycle = minutes * costs.labour_hour / MINUTES + costs.cleaning_material;
        let (mut sums, mut all) = ([0.0; MOST + 1], 0.0);
        for (&(site, _), own) in &self.sums.places {
            // Called contaminated by the first look, rightly or not.
            let alarm = FALSE_ALARM * self.visits.departures.dirt_times();
            let begun = own.visits[1] * (1.0 - MISS) + own.visits[0] * alarm;
            let place = (site, &self.places[site]);
            let here = self.visits.costs_at_limits(place, (cycle, costs.reject));
            sums.iter_mut().zip(here).for_each(|(sum, cost)| *sum += begun * cost);
            all += begun;
        }
        if all <= 0.0 {
            return None;
        }
        let of_limit = sums.map(|sum| sum / all);
        let present = LIMITS.map(|limit| of_limit[limit as usize]).iter().sum::<f64>();
        Some(StoppingTruth {
            cost_at_limit: of_limit.map(cents).to_vec(),
            present: cents(present / LIMITS.len() as f64),
        })
    }

    fn of_proposal(&self, proposal: &Proposal) -> ProposalTruth {
        let told = is_told(proposal);
        let saved = self.saved(&[proposal]);
        let worth = self.present_value(&[proposal]);
        let has_carriers = proposal.effects.iter().any(|effect| self.is_leads(effect));
        ProposalTruth {
            name: proposal.name.clone(),
            price: cents(proposal.outlay()),
            saving: told.then(|| cents(saved.money)),
            after_running_cost: told.then(|| cents(saved.money - proposal.yearly())),
            faults_avoided: told.then(|| (saved.faults * 1e6).round() / 1e6),
            net_present_value: told.then(|| cents(worth)),
            carriers: if has_carriers { self.carriers(proposal) } else { Vec::new() },
        }
    }

    fn is_leads(&self, effect: &Effect) -> bool {
        matches!(effect.kind, Kind::Less(which, _) if self.purchases.less[which] == Less::Leads)
    }

    /// What each lead that carries dirt is behind in a year, where a proposal replaces leads: money, by name.
    fn carriers(&self, proposal: &Proposal) -> Vec<CarrierTruth> {
        let mut found: BTreeMap<(usize, usize), f64> = BTreeMap::new();
        for (&[works, lead, site, stage], [dirty, faults]) in &self.sums.leads {
            let share = |effect: &Effect| match effect.kind {
                Kind::Less(_, share) if self.is_leads(effect) && effect.is_at(site, stage) => share,
                _ => 0.0,
            };
            let share = proposal.effects.iter().map(share).fold(0.0, f64::max);
            let spent = self.of_dirt(&self.course(site, &[]));
            let money = dirty * self.yearly[1] * self.money(&spent, &[0.0; 4])
                + faults * self.yearly[0] * self.fault;
            *found.entry((works, lead)).or_default() += share * money;
        }
        let truth = |((works, lead), saving): ((usize, usize), f64)| CarrierTruth {
            name: super::lead::name_of(&self.places[works].code, lead),
            saving: cents(saving),
        };
        found.into_iter().map(truth).collect()
    }

    /// Net present value of what is bought together; each works from its first month to its last.
    fn present_value(&self, chosen: &[&Proposal]) -> f64 {
        let rate = (1.0 + self.purchases.costs.discount_rate).powf(1.0 / MONTHS) - 1.0;
        let ends = |one: &&Proposal| one.starts_after_months + one.life_months;
        let months: BTreeSet<u32> =
            chosen.iter().flat_map(|one| [one.starts_after_months, ends(one)]).collect();
        let months: Vec<u32> = months.into_iter().collect();
        let mut worth = -chosen.iter().map(|one| one.outlay()).sum::<f64>();
        for span in months.windows(2) {
            let works =
                |one: &&&Proposal| one.starts_after_months <= span[0] && span[1] <= ends(one);
            let working: Vec<&Proposal> = chosen.iter().filter(works).copied().collect();
            let running: f64 = working.iter().map(|one| one.yearly()).sum();
            let flow = (self.saved(&working).money - running) / MONTHS;
            worth += (span[0] + 1..=span[1])
                .map(|month| flow / (1.0 + rate).powi(month as i32))
                .sum::<f64>();
        }
        worth
    }

    /// A year's saving of what works together.
    fn saved(&self, working: &[&Proposal]) -> Saved {
        let effects: Vec<(&Effect, f64)> = working
            .iter()
            .flat_map(|proposal| {
                let load: f64 = proposal.effects.iter().map(|e| self.load(proposal, e)).sum();
                let served = move |effect: &Effect| match proposal.capacity(effect) {
                    Some(_) if load > 1.0 => 1.0 / load,
                    _ => 1.0,
                };
                proposal.effects.iter().map(move |effect| (effect, served(effect)))
            })
            .collect();
        let mut saved = Saved::default();
        for (&(site, stage), sums) in &self.sums.places {
            let here = effects.iter().filter(|(effect, _)| effect.is_at(site, stage));
            let done = self.done(here.copied(), sums);
            let at_place = self.at_place(site, sums, &done);
            saved.money += at_place.money;
            saved.faults += at_place.faults;
        }
        saved
    }

    /// The part of what all units of a proposal serve in a year that an effect takes.
    fn load(&self, proposal: &Proposal, effect: &Effect) -> f64 {
        let Some(capacity) = proposal.capacity(effect) else { return 0.0 };
        let here = self.sums.places.iter().filter(|((site, stage), _)| effect.is_at(*site, *stage));
        let demand = |((site, _), sums): (&(usize, usize), &Spared)| match effect.kind {
            Kind::Coverage(reached) => raised(sums, reached) * sums.unseen * self.yearly[0],
            Kind::Odds(method, _) | Kind::Minutes(method, _) => {
                let spent = self.spent(sums, &self.course(*site, &[]));
                cleanings(&spent, method) * self.yearly[1]
            }
            Kind::Less(which, reached) => match self.purchases.less[which] {
                Less::Receipt => not_received(sums, reached) * arriving(sums) * self.yearly[1],
                Less::Entry(..) => sums.visits.iter().sum::<f64>() * self.yearly[1],
                Less::Leads => 0.0,
            },
            Kind::Untold => 0.0,
        };
        here.map(demand).sum::<f64>() / capacity
    }

    /// What these effects do at a place, each with the part of the demand that its units serve.
    fn done<'e>(&self, here: impl Iterator<Item = (&'e Effect, f64)>, sums: &Spared) -> Done {
        let usual = self.purchases.costs.cleaning_minutes;
        let changes = self.purchases.less.len();
        let mut done = Done { less: vec![0.0; changes], odds_served: 1.0, ..Done::default() };
        for (effect, served) in here {
            match effect.kind {
                // A target that two state is reached once.
                Kind::Coverage(reached) => {
                    done.seen = done.seen.max(raised(sums, reached) * served);
                }
                Kind::Odds(of, times) => {
                    if !done.odds.contains(&(of, times)) {
                        done.odds.push((of, times));
                    }
                    done.odds_served = done.odds_served.min(served);
                }
                Kind::Minutes(of, minutes) => {
                    let less = (usual - minutes) * served;
                    for (index, sum) in done.minutes_less.iter_mut().enumerate() {
                        if of.is_none_or(|of| of == place::method(index)) {
                            *sum = sum.max(less);
                        }
                    }
                }
                Kind::Less(which, share) => {
                    let share = match self.purchases.less[which] {
                        Less::Receipt => not_received(sums, share),
                        _ => share,
                    };
                    done.less[which] = done.less[which].max(share * served);
                    if self.purchases.less[which] == Less::Receipt {
                        done.received = done.less[which];
                    }
                }
                Kind::Untold => {}
            }
        }
        done
    }

    fn at_place(&self, site: usize, sums: &Spared, done: &Done) -> Saved {
        let costs = self.purchases.costs;
        let (usual, better) = (self.course(site, &[]), self.course(site, &done.odds));
        let mixed = |of: &dyn Fn(&Course) -> Spent| {
            Spent::default()
                .plus(of(&usual), 1.0 - done.odds_served)
                .plus(of(&better), done.odds_served)
        };
        let look = costs.look_minutes * costs.labour_hour / MINUTES;
        // Visits, with fewer dirty end faces among them.
        let fewer = expected(&sums.fewer_dirty, &done.less);
        let now = self.spent(sums, &usual);
        let then = mixed(&|course| self.spent(sums, course))
            .plus(mixed(&|course| self.of_dirt(course)), -fewer);
        let visits = self.money(&now, &[0.0; 4]) - self.money(&then, &done.minutes_less);
        // Looks that are made, and what they lead to.
        let dirty = expected(&sums.unseen_dirty, &done.less);
        let seen = |clean: f64, dirty: f64, defective: f64| {
            let course = |state: usize| mixed(&|course| course.seen[state]);
            let spent = Spent::default()
                .plus(course(0), clean)
                .plus(course(1), dirty)
                .plus(course(2), defective);
            self.money(&spent, &done.minutes_less)
        };
        let clean = sums.unseen - sums.unseen_defective - dirty;
        let looks = done.seen * (sums.unseen * look + seen(clean, dirty, sums.unseen_defective));
        let [a, b, c] = sums.receipts;
        let each = if sums.receipts_all > 0.0 { seen(a, b, c) / sums.receipts_all } else { 0.0 };
        let arrivals = done.received * arriving(sums) * (look + each);
        // Faults.
        let all = sums.excess.first().copied().unwrap_or(0.0);
        let left = expected(&sums.excess, &done.less) * (1.0 - done.seen);
        let [whole, year] = self.yearly;
        let faults = (all - left) * whole;
        Saved { money: (visits - arrivals) * year - looks * whole + faults * self.fault, faults }
    }

    /// What the visits of a place take.
    fn spent(&self, sums: &Spared, course: &Course) -> Spent {
        let states = sums.visits.iter().enumerate();
        states.fold(Spent::default(), |sum, (state, n)| sum.plus(course.of_visit(state), *n))
    }

    /// What a visit of a dirty end face takes beyond that of a clean one.
    fn of_dirt(&self, course: &Course) -> Spent {
        course.of_visit(1).plus(course.of_visit(0), -1.0)
    }

    /// Money of what is spent, where cleanings take so many minutes less.
    fn money(&self, spent: &Spent, less: &[f64; 4]) -> f64 {
        let costs = self.purchases.costs;
        let minute = costs.labour_hour / MINUTES;
        let cleaning = |(n, less): (&f64, &f64)| {
            n * ((costs.cleaning_minutes - less) * minute + costs.cleaning_material)
        };
        spent.cleanings.iter().zip(less).map(cleaning).sum::<f64>()
            + spent.looks * costs.look_minutes * minute
            + spent.rejects * costs.reject
    }

    fn course(&self, site: usize, odds: &[Factor]) -> Course {
        let key = (site, format!("{odds:?}"));
        if let Some(known) = self.courses.borrow().get(&key) {
            return *known;
        }
        let course = self.visits.at(site, &self.places[site], odds);
        self.courses.borrow_mut().insert(key, course);
        course
    }
}

fn is_told(proposal: &Proposal) -> bool {
    proposal.effects.iter().all(|effect| effect.kind != Kind::Untold)
}

fn cents(money: f64) -> f64 {
    (money * 100.0).round() / 100.0
}

/// The share of the skipped matings that has both ends seen once this coverage is reached.
fn raised(sums: &Spared, reached: f64) -> f64 {
    let wanted = (reached * sums.known - sums.both).max(0.0);
    if sums.skipped > 0.0 { (wanted / sums.skipped).min(1.0) } else { 0.0 }
}

/// The share of the ends not looked at on receipt that is, once this share of all is reached.
fn not_received(sums: &Spared, reached: f64) -> f64 {
    let now = if sums.ends > 0.0 { sums.received / sums.ends } else { 1.0 };
    if now < 1.0 { ((reached - now) / (1.0 - now)).clamp(0.0, 1.0) } else { 0.0 }
}

/// Ends that come to be joined and were not looked at on receipt.
fn arriving(sums: &Spared) -> f64 {
    sums.ends - sums.received
}

fn cleanings(spent: &Spent, method: Option<super::event::Method>) -> f64 {
    let of = |index: &usize| method.is_none_or(|of| of == place::method(*index));
    (0..4).filter(of).map(|index| spent.cleanings[index]).sum()
}

/// A sum by set of changes, where there is so much of each change, one independent of the other.
fn expected(by_set: &[f64], shares: &[f64]) -> f64 {
    let weight = |set: usize| -> f64 {
        let part =
            |(at, share): (usize, &f64)| if set >> at & 1 == 1 { *share } else { 1.0 - share };
        shares.iter().enumerate().map(part).product()
    };
    by_set.iter().enumerate().map(|(set, sum)| weight(set) * sum).sum()
}
