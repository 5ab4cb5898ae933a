//! What the settings of a fleet propose to buy, and what its work costs: the truth is stated in their words.
//!
//! A number that is stated from low to high stands at its mean here. An effect whose truth is not summed (tools, and what an
//! action had before) leaves its proposal without one.

use serde::Deserialize;

use super::event::Method;
use super::lifecycle::Lifecycle;
use super::place::{self, Place};
use super::plant::method_odds;

/// Everything that is proposed. Money in units of the currency.
#[derive(Clone, Debug, Default)]
pub struct Purchases {
    /// What work costs.
    pub costs: Costs,
    /// What may be spent in all.
    pub budget: Option<f64>,
    /// In the order of the settings.
    pub proposals: Vec<Proposal>,
    /// What takes dirt off before an end face is looked at, each once: proposals share them.
    pub less: Vec<Less>,
}

/// What work and faults cost; money of an hour, a piece or a trip.
#[derive(Clone, Copy, Debug, Default, Deserialize)]
pub struct Costs {
    /// Minutes of one look.
    pub look_minutes: f64,
    /// Minutes of one cleaning.
    pub cleaning_minutes: f64,
    /// What one cleaning uses up.
    pub cleaning_material: f64,
    pub labour_hour: f64,
    pub downtime_hour: f64,
    /// One trip to a site.
    pub visit: f64,
    pub reject: f64,
    /// Rate of a year.
    pub discount_rate: f64,
}

/// One purchase.
#[derive(Clone, Debug, Deserialize)]
pub struct Proposal {
    pub name: String,
    price: f64,
    #[serde(default = "one")]
    units: f64,
    /// Months that it works.
    pub life_months: u32,
    /// Months until it does.
    #[serde(default)]
    pub starts_after_months: u32,
    #[serde(default)]
    running_cost: f64,
    #[serde(default)]
    monthly_price: f64,
    #[serde(default)]
    training_cost: f64,
    #[serde(rename = "effect")]
    typed: Vec<Typed>,
    /// What it changes.
    #[serde(skip)]
    pub effects: Vec<Effect>,
}

impl Proposal {
    /// Paid at the start.
    pub fn outlay(&self) -> f64 {
        self.price * self.units + self.training_cost
    }

    /// Paid for a year of its life.
    pub fn yearly(&self) -> f64 {
        (self.running_cost + 12.0 * self.monthly_price) * self.units
    }

    /// What all units together serve in a year, of what an effect says that one does.
    pub fn capacity(&self, effect: &Effect) -> Option<f64> {
        effect.capacity.map(|of_one| of_one * self.units)
    }
}

/// What an effect changes, where: no stages or sites stand for all.
#[derive(Clone, Debug)]
pub struct Effect {
    pub kind: Kind,
    pub stages: Vec<usize>,
    pub sites: Vec<usize>,
    capacity: Option<f64>,
}

impl Effect {
    /// Whether it acts at a site and stage.
    pub fn is_at(&self, site: usize, stage: usize) -> bool {
        (self.sites.is_empty() || self.sites.contains(&site))
            && (self.stages.is_empty() || self.stages.contains(&stage))
    }
}

/// What an effect changes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    /// Share of matings with both ends seen that is reached.
    Coverage(f64),
    /// Odds of passing a cycle are multiplied: of a method, or of all.
    Odds(Option<Method>, f64),
    /// Minutes of a cleaning.
    Minutes(Option<Method>, f64),
    /// So much of one of [`Purchases::less`]: the share of it that is had, or for looks on receipt the share reached.
    Less(usize, f64),
    /// Its truth is not summed.
    Untold,
}

/// What takes dirt off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Less {
    /// The hazard of the step into a stage is multiplied.
    Entry(usize, f64),
    /// Leads that carry dirt pass on what any other does.
    Leads,
    /// Whatever arrives is looked at on receipt.
    Receipt,
}

fn one() -> f64 {
    1.0
}

/// An effect as the settings have it.
#[derive(Clone, Debug, Deserialize)]
struct Typed {
    kind: String,
    #[serde(default)]
    stages: Vec<String>,
    #[serde(default)]
    sites: Vec<String>,
    coverage: Option<Stated>,
    method: Option<String>,
    instead_of: Option<String>,
    odds: Option<Stated>,
    minutes: Option<Stated>,
    to: Option<String>,
    times: Option<Stated>,
    share: Option<Stated>,
    #[serde(default)]
    kinds: Vec<String>,
    as_action: Option<String>,
    capacity: Option<f64>,
}

/// A number, or what it may be.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(untagged)]
enum Stated {
    Known(f64),
    Between { low: f64, likely: f64, high: f64 },
}

impl Stated {
    /// Mean of the triangular distribution.
    fn mean(self) -> f64 {
        match self {
            Stated::Known(value) => value,
            Stated::Between { low, likely, high } => (low + likely + high) / 3.0,
        }
    }
}

#[derive(Deserialize)]
struct Settings {
    costs: Costs,
    budget: Option<Budget>,
    #[serde(default, rename = "proposal")]
    proposals: Vec<Proposal>,
}

#[derive(Deserialize)]
struct Budget {
    amount: f64,
}

impl Purchases {
    /// What these settings propose; nothing where they propose nothing, or are none of this generator's.
    pub fn of(settings: &str, life: &Lifecycle, places: &[Place]) -> Purchases {
        let Ok(settings) = toml_edit::de::from_str::<Settings>(settings) else {
            return Purchases::default();
        };
        let mut purchases = Purchases {
            costs: settings.costs,
            budget: settings.budget.map(|budget| budget.amount),
            ..Purchases::default()
        };
        for mut proposal in settings.proposals {
            let effects =
                proposal.typed.iter().map(|typed| purchases.effect(typed, life, places)).collect();
            proposal.effects = effects;
            purchases.proposals.push(proposal);
        }
        purchases
    }

    /// Position of what takes dirt off.
    fn position(&mut self, less: Less) -> usize {
        let found = self.less.iter().position(|known| *known == less);
        found.unwrap_or_else(|| {
            self.less.push(less);
            self.less.len() - 1
        })
    }

    fn effect(&mut self, typed: &Typed, life: &Lifecycle, places: &[Place]) -> Effect {
        let stage = |word: &String| life.stages.iter().position(|stage| stage.word == word);
        let site = |name: &String| places.iter().position(|place| place.name == *name);
        let mut stages: Vec<usize> = typed.stages.iter().filter_map(stage).collect();
        let mean = |stated: Option<Stated>| stated.map_or(1.0, Stated::mean);
        let known = |word: &Option<String>| {
            let methods = (0..4).map(place::method);
            word.as_ref().and_then(|word| methods.into_iter().find(|m| m.word() == word))
        };
        let kind = match typed.kind.as_str() {
            _ if typed.as_action.is_some() => Kind::Untold,
            "coverage" => Kind::Coverage(mean(typed.coverage)),
            "inspection" if stages == [life.received] => {
                stages = vec![life.installed];
                Kind::Less(self.position(Less::Receipt), mean(typed.coverage))
            }
            "inspection" => Kind::Coverage(mean(typed.coverage)),
            "cleaning" => match (known(&typed.method), known(&typed.instead_of)) {
                (Some(method), Some(other)) => {
                    Kind::Odds(Some(other), method_odds(method) / method_odds(other))
                }
                _ => Kind::Odds(None, mean(typed.odds)),
            },
            "minutes" => Kind::Minutes(known(&typed.instead_of), mean(typed.minutes)),
            "entry" => match typed.to.as_ref().and_then(stage) {
                Some(to) => {
                    stages = vec![to];
                    Kind::Less(self.position(Less::Entry(to, mean(typed.times))), 1.0)
                }
                None => Kind::Untold,
            },
            "carriers" if typed.kinds == ["end-face"] => {
                Kind::Less(self.position(Less::Leads), mean(typed.share))
            }
            _ => Kind::Untold,
        };
        let sites = typed.sites.iter().filter_map(site).collect();
        Effect { kind, stages, sites, capacity: typed.capacity }
    }
}
