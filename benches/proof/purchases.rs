//! 5.8, and the stopping rule of 5.2, through the whole review: a fleet is invented, taken in, derived and reviewed as the
//! program does, and what the review says of each proposal, of sets and of giving up is held to what the generator says that
//! it is in expectation.
//!
//! Drawn are lives of end faces event by event, hazards a step, chances of a pass a cycle, rates a band; fitted are shares,
//! regressions and resampled site-weeks. The seed moves the cells, carriers and hazards that are planted. Proposals of
//! numbered sites state nothing but targets: what is unsure comes from the records. Those of fleets like the demo state some
//! numbers from low to high too; there leads touch ports that somebody looked at just before, so that they can be told
//! apart. Leads count with what those that the review lists are behind: a purchase replaces no other.

use std::collections::BTreeSet;

use motetrail::measures::carriers::Carrier;
use motetrail::measures::cycles;
use motetrail::measures::payback::{By, Quantity};
use motetrail::synth::draw::Draw;
use motetrail::synth::{Departures, ProposalTruth, Recipe};

use super::invented::{self, Reviewed, SITES, numbered, reviewed};
use super::score::{Claim, Score, Scores, Setting, held};

/// Share of intervals of net present value that hold the truth, at least.
const LEAST_HELD: f64 = 0.92;
/// Share of fleets whose chosen set is worth [`GOOD_ENOUGH`] of the best, at least.
const LEAST_GOOD: f64 = 0.9;
const GOOD_ENOUGH: f64 = 0.9;
/// Minor units of one unit of money.
const MINOR: f64 = 100.0;
/// Fleets of each kind: Monte Carlo error of a share of .92: .014.
const MANY_FLEETS: u32 = 400;

/// A kind of effect, and the proposal that has it.
pub type Kind = (&'static str, &'static str);

/// Of numbered sites.
pub const STANDARD: [Kind; 5] = [
    ("coverage", "Microscopes"),
    ("cleaning", "Wet-dry sets"),
    ("minutes", "Quick cleaners"),
    ("entry", "Handling training"),
    ("inspection on receipt", "Inspection on receipt"),
];

/// Of fleets like the demo.
pub const OF_DEMO: [Kind; 6] = [
    ("coverage", "Microscopes for every depot"),
    ("cleaning", "Wet-dry sets in place of dry ones"),
    ("minutes", "Quick-release cleaners"),
    ("entry", "Handling training for the lineside crews"),
    ("inspection on receipt", "Inspection on receipt"),
    ("carriers", "New test leads for the dirty ones"),
];

/// Whether an interval of money in minor units holds a truth in units; `None` where it has no ends.
fn holds(low: Option<f64>, high: Option<f64>, truth: f64) -> Option<Score> {
    held([low, high].map(|end| end.map(|end| end / MINOR)), truth)
}

impl Reviewed {
    /// Whether the interval of a proposal's net present value holds the truth.
    pub fn proposal(&self, name: &str) -> Option<Score> {
        let mut rows = self.review.payback.rows_of(By::Proposal, Quantity::NetPresentValue);
        let row = rows.find(|row| row.own.proposal.as_deref() == Some(name))?;
        let truth = self.truth.proposals.iter().find(|one| one.name == name)?;
        holds(row.low, row.high, truth.net_present_value? - self.unlisted(truth))
    }

    /// Worth of replacing the leads that the review does not list.
    fn unlisted(&self, truth: &ProposalTruth) -> f64 {
        let leads =
            self.review.carriers.listed().filter(|row| row.own.kind == Some(Carrier::EndFace));
        let listed: BTreeSet<&str> = leads.filter_map(|row| row.own.entity.as_deref()).collect();
        let others = truth.carriers.iter().filter(|lead| !listed.contains(lead.name.as_str()));
        let saving: f64 = others.map(|lead| lead.saving).sum();
        let (Some(worth), Some(yearly)) = (truth.net_present_value, truth.after_running_cost)
        else {
            return 0.0;
        };
        // What one a year is worth over the life.
        if yearly == 0.0 { 0.0 } else { saving * (worth + truth.price) / yearly }
    }

    /// Whether the chosen set is worth nearly as much as the best that the budget pays for.
    pub fn set(&self) -> Option<Score> {
        let leads = |names: &[String]| -> f64 {
            let bought = self.truth.proposals.iter().filter(|one| names.contains(&one.name));
            bought.map(|one| self.unlisted(one)).sum()
        };
        let mut rows = self.review.payback.rows_of(By::Set, Quantity::BestSet);
        let chosen: BTreeSet<String> = rows
            .next()
            .and_then(|row| row.own.set.as_ref())
            .map(|set| set.split(" + ").map(str::to_owned).collect())
            .unwrap_or_default();
        let sets = || self.truth.sets.iter();
        let of = |names: &[String]| names.iter().cloned().collect::<BTreeSet<String>>() == chosen;
        let worth = |(names, worth): (&[String], f64)| worth - leads(names);
        let chosen = sets().find(|set| of(&set.proposals))?;
        let budget = self.plan.budget? as f64 / MINOR;
        let paid = sets().filter(|set| set.price <= budget);
        let best = paid.map(|set| worth((&set.proposals, set.net_present_value)));
        let good = worth((&chosen.proposals, chosen.net_present_value))
            >= GOOD_ENOUGH * best.fold(0.0, f64::max);
        Some(Score { share: f64::from(u8::from(good)), width: None })
    }

    /// Of the fleet's stopping rule: whether its flat range holds the best limit that the records reach, and whether its
    /// intervals hold the cost at the advised limit, and what the practice costs more than that.
    pub fn stopping(&self) -> [Option<Score>; 3] {
        self.stopping_scores().map_or([None; 3], |scores| scores)
    }

    fn stopping_scores(&self) -> Option<[Option<Score>; 3]> {
        use cycles::{By, Quantity};
        let truth = self.truth.stopping.as_ref()?;
        let rows = |quantity| self.review.cycles.rows_of(By::Fleet, quantity);
        let limit = rows(Quantity::StoppingLimit).next()?;
        let (advised, flat_to) = (limit.own.advised?, limit.own.flat_to?);
        let costs: Vec<&cycles::Row> = rows(Quantity::CostAtLimit).collect();
        let reached = costs.iter().take_while(|row| row.is_firm() && row.flags.is_empty());
        let known = truth.cost_at_limit.iter().take(reached.count()).enumerate();
        let best = known.min_by(|a, b| a.1.total_cmp(b.1))?.0 as u32;
        let flat = Score {
            share: f64::from(u8::from((advised..=flat_to).contains(&best))),
            width: Some(f64::from(flat_to - advised)),
        };
        let at = costs.get(advised as usize)?;
        let true_cost = truth.cost_at_limit.get(advised as usize)?;
        let over = rows(Quantity::PresentExcess).next()?;
        Some([
            Some(flat),
            holds(at.low, at.high, *true_cost),
            holds(over.low, over.high, truth.present - true_cost),
        ])
    }

    /// Everything that a setting claims, in the order of its claims.
    pub fn scores(&self, kinds: &[Kind]) -> Scores {
        let proposals = kinds.iter().map(|(_, name)| self.proposal(name));
        proposals.chain([self.set()]).chain(self.stopping()).collect()
    }
}

/// What is claimed of fleets drawn like this.
fn claims(kinds: &[Kind], drawn: &str) -> Vec<Claim> {
    let proposal = |(kind, _): &Kind| {
        let method = format!("net present value of {kind}; Monte Carlo over the counts");
        Claim::covers_at_least("5.8", &method, drawn, LEAST_HELD)
    };
    let mut claims: Vec<Claim> = kinds.iter().map(proposal).collect();
    let method = "chosen set is worth 90 % of the best; all sets tried";
    claims.push(Claim::covers_at_least("5.8", method, drawn, LEAST_GOOD));
    for method in [
        "flat range of the stopping rule holds the best limit that is reached",
        "cost at the advised limit; bootstrap of site-weeks",
        "cost of the practice beyond the advised limit; bootstrap of site-weeks",
    ] {
        claims.push(Claim::covers("5.2", method, drawn));
    }
    claims
}

/// The settings: numbered sites with one proposal of each kind but leads, and fleets like the demo with leads.
pub fn settings() -> Vec<Setting> {
    let of = |kinds: &'static [Kind], words: &str, recipe: fn(u64) -> Recipe, fleets: u32| {
        let draw = move |draw: &mut Draw| reviewed(&recipe(draw.bits() >> 40)).scores(kinds);
        Setting::new(claims(kinds, words), draw).tables(fleets)
    };
    let like_demo = "lives event by event on the demo's 10 sites; 30000 looks in 18 months";
    vec![
        of(&STANDARD, &numbered(SITES), numbered_sites, MANY_FLEETS),
        of(&OF_DEMO, like_demo, sites_of_the_demo, MANY_FLEETS),
    ]
}

/// Numbered sites with one proposal of each kind of effect.
pub fn numbered_sites(seed: u64) -> Recipe {
    invented::recipe(seed, Departures { proposals: Some(1), ..Departures::default() })
}

/// The demo's sites, lifecycle and proposals.
pub fn sites_of_the_demo(seed: u64) -> Recipe {
    Recipe { inspections: 30_000, seed, ..Recipe::sound() }
}
