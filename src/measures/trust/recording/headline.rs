//! What the headline of skipped cost would be if the records had a fault of recording as strong as stated.
//!
//! - **Passing looks unrecorded**, a share `x` of them: a mating of which both ends were seen by `m` looks is recorded so with
//!   probability `(1 - x)^m`, else as skipped, whatever becomes of it. For every mating recorded as seen at both ends there
//!   are `(1 - x)^-m - 1` recorded as skipped that were not (`stats::stated_bias::misplaced_excess` takes them back). Of the
//!   ends recorded as unseen, `x / (1 - x)` for every end seen had been looked at: looking would have cost that much less.
//!   That is if looks are left out alike everywhere, which distorts most: `(1 - x)^m` is convex. Where a site leaves all of them
//!   out in some quarters and none in others, as `x` in the mean allows too, the strata of those quarters have no reference
//!   and no weight, and the ratio is as recorded. So the limits are those of either: the share alone does not tell more.
//! - **Looks chosen**, the odds of a look `y` times as high with dirt: of the ends not looked at a share `u` is dirty, with
//!   odds `y` times smaller than those of the share `p` failing among the looked at. A mating made with an end unseen has the
//!   rate of one with both seen, and more in proportion to the dirt that was left: it shows an excess of `u` times a
//!   constant, where matings left unseen at random would show the mean of all ends, `s p + (1 - s) u`, `s` the share looked at.
//!   So the excess over 1 would be `s p / u + 1 - s = 1 + s (1 - p) (y - 1)` times as large: by site and stage, put together by
//!   `stats::stated_bias::diluted_excess`. Money stays as it is: it is of the ends that were not looked at, as dirty as they were.
//! - **Tickets lost**, a share `x` of those of matings with both ends seen: the ratio is recorded `1 / (1 - x)` times as high as it is.
//!
//! Numbers at risk at each fault stand for time, as in the headline itself (5.5): a share of the matings is the same share of
//! those at risk.
//!
//! Source: Lash, Fox & Fink (2009), chapters 4 (selection) and 6 (misclassification); the excess in proportion to dirt is an
//! assumption of ours, and named on the page.

use super::super::declared::{By, Own, Quantity, Recording, Row, Table};
use super::super::sources::Sources;
use super::cells::LookedAtCells;
use crate::derive::DeriveError;
use crate::derive::counts::{Coverage, Row as _, looked_at};
use crate::measures::results::{Group, Money};
use crate::measures::skipped_cost::{self, Exposure, Rule};
use crate::stats::stated_bias::{
    diluted_excess, misplaced_excess, unselected_share, up_to_excess, with_excess,
    with_reference_found,
};
use crate::stats::stratified_poisson::summed;
use crate::stats::{Estimate, PersonTime, exposed_fraction};

/// Shares of passing looks that are stated not to be written down.
const UNRECORDED: [f64; 5] = [0.05, 0.1, 0.2, 0.3, 0.4];
/// Odds of a look with dirt over those without, as stated.
const CHOSEN: [f64; 4] = [1.5, 2.0, 3.0, 5.0];
/// Shares of the tickets of well-inspected matings that are stated to be lost.
const LOST: [f64; 5] = [0.05, 0.1, 0.2, 0.3, 0.5];

/// Growth of the excess beyond which next to nothing of the skipped is left, so that the scatter of the counts themselves,
/// which limits at a stated share leave out, would rule.
const MOST_GROWTH: f64 = 5.0;

/// What the headline rests on at a site and a stage.
struct SiteStage {
    /// Who was at risk at each fault, as the headline counts them.
    strata: Vec<PersonTime>,
    /// Share of ends looked at.
    looked: f64,
    /// Share of first looks at the stage that failed.
    failing: f64,
}

/// The headline, and what it rests on.
pub(super) struct Headline {
    ratio: Option<Estimate>,
    by_place: Vec<SiteStage>,
    /// What was looked at, over the stages of the headline.
    looked_at: looked_at::Row,
    /// None where faults have no price.
    books: Option<Books>,
}

/// What the headline's money rests on, minor units.
#[derive(Clone, Copy)]
struct Books {
    /// Cost of the linked faults of skipped matings.
    skipped: f64,
    /// Of those of matings with both ends seen.
    both: f64,
    /// What looking at the unseen ends of the skipped would have cost.
    looks: f64,
}

impl Books {
    /// The net saving at a ratio; none where less than nothing is left of what it rests on.
    fn saving(&self, ratio: &Estimate) -> Option<f64> {
        let share =
            exposed_fraction(ratio).value.filter(|_| self.skipped >= 0.0 && self.looks >= 0.0);
        share.map(|share| share * self.skipped - self.looks)
    }
}

/// What a statement makes of the headline.
struct Stated {
    ratio: Estimate,
    net_saving: Option<f64>,
}

impl Headline {
    /// From those who were at risk at the faults of the look-back.
    ///
    /// # Errors
    /// A count table that cannot be grouped: a fault of the program.
    pub fn of(from: &Sources, cells: &LookedAtCells) -> Result<Headline, DeriveError> {
        let evidence = from.evidence;
        let skipped = from.skipped_cost;
        let dark = &evidence.plan.stages.dark;
        let is_lit = |stage: &str| !dark.iter().any(|dark| dark == stage);
        let mut all = looked_at::Row::default();
        let (by_site, by_stage) =
            (cells.sums(|cell| (cell.place[0], cell.place[1])), cells.sums(|cell| cell.place[1]));
        let name = |names: &std::collections::BTreeMap<u32, String>, place: u32| {
            names.get(&place).cloned().unwrap_or_default()
        };
        let at_risk = from.site_weeks.by_parts([true, true, false], Exposure::Skipped);
        let mut by_place = Vec::new();
        for ((site, stage), counts) in &by_site {
            let stage_name = name(&cells.stages, *stage);
            if !is_lit(&stage_name) {
                continue;
            }
            all.add(counts);
            let group = Group {
                site: Some(name(&cells.sites, *site)),
                stage: Some(stage_name),
                ..Group::default()
            };
            let rows = at_risk.get(&from.site_weeks.places.key(&group));
            let strata = rows.map(|rows| summed(rows)).unwrap_or_default();
            let at_stage = by_stage.get(stage).copied().unwrap_or_default();
            by_place.push(SiteStage {
                strata,
                looked: super::cells::share_looked(counts).unwrap_or(0.0),
                failing: share(at_stage.failing, at_stage.first_looks),
            });
        }
        let prices = evidence.prices();
        let reference =
            prices.price(&Group::default(), |line| line.coverage == Some(Coverage::Both)).cost;
        let as_ruled = skipped
            .quantity(skipped_cost::Quantity::Sensitivity)
            .find(|row| row.own.variant == Some(Rule::AsRuled));
        let money = |of: fn(&skipped_cost::Own) -> Option<Money>| {
            as_ruled.and_then(|row| of(&row.own)).map(|money| money.0 as f64)
        };
        let cost = money(|own| own.fault_cost);
        let books = cost.zip(money(|own| own.look_cost)).map(|(skipped, looks)| Books {
            skipped,
            both: reference.unwrap_or(0.0),
            looks,
        });
        Ok(Headline {
            ratio: skipped.headline().map(|row| estimate(row, evidence.rules().level)),
            by_place,
            looked_at: all,
            books,
        })
    }

    /// The headline under every statement, and how strong a fault would have to be for it to vanish.
    pub fn rows(&self, table: &mut Table) {
        let Some(ratio) = &self.ratio else { return };
        for x in UNRECORDED {
            let stated = self.passing_unrecorded(ratio, x);
            table.rows.push(row(Recording::PassingUnrecorded, x, Some(stated)));
        }
        for odds in CHOSEN {
            let stated = self.looks_chosen(ratio, odds);
            table.rows.push(row(Recording::LooksChosen, odds, stated));
        }
        for x in LOST {
            let stated = Some(self.tickets_lost(ratio, x));
            table.rows.push(row(Recording::TicketsLost, x, stated));
        }
        // The first two make an excess larger, whatever its sign: they move no limit across 1.
        for (recording, at) in [
            (Recording::PassingUnrecorded, None),
            (Recording::LooksChosen, None),
            (Recording::TicketsLost, ratio.low.filter(|low| *low > 1.0).map(|low| 1.0 - 1.0 / low)),
        ] {
            let own = Own { recording: Some(recording), stated: at, ..Own::default() };
            let (by, group) = (By::Fleet, Group::default());
            let quantity = Quantity::HeadlineVanishes;
            let row = Row::figure(by, group, quantity, at.unwrap_or(f64::NAN), "stated bias", own);
            table.rows.push(Row { n: ratio.n, ..row });
        }
    }

    /// Without an estimate and with one limit at most where next to nothing of the skipped is left.
    fn passing_unrecorded(&self, ratio: &Estimate, x: f64) -> Stated {
        let counts = &self.looked_at;
        let [both, one_look, two_looks, seen, unseen] = [
            counts.both,
            counts.both_by_one_look,
            counts.both_by_two_looks,
            counts.seen,
            counts.unseen,
        ]
        .map(|count| count as f64);
        let more = |looks: i32| (1.0 - x).powi(-looks) - 1.0;
        let misplaced = (one_look * more(1) + two_looks * more(2)) / both;
        let strata: Vec<PersonTime> =
            self.by_place.iter().flat_map(|place| &place.strata).copied().collect();
        let times = misplaced_excess(&strata, misplaced).filter(|times| *times <= MOST_GROWTH);
        let ratio_if = up_to_excess(ratio, times, "stated share of passing looks unrecorded");
        if times.is_none() {
            return Stated { ratio: ratio_if, net_saving: None };
        }
        let books = self.books.map(|books| Books {
            skipped: books.skipped - misplaced * books.both,
            looks: books.looks * (1.0 - seen * x / (1.0 - x) / unseen),
            ..books
        });
        Stated { net_saving: books.and_then(|books| books.saving(&ratio_if)), ratio: ratio_if }
    }

    fn looks_chosen(&self, ratio: &Estimate, odds: f64) -> Option<Stated> {
        let mut strata = Vec::new();
        for SiteStage { strata: found, looked, failing } in &self.by_place {
            let left = unselected_share(*failing, odds)?;
            let factor = match left > 0.0 {
                true => looked * failing / left + 1.0 - looked,
                // Without a failing look the odds say the same of clean ends: the limit of the above.
                false => 1.0 + looked * (odds - 1.0),
            };
            strata.extend(found.iter().map(|stratum| (*stratum, factor)));
        }
        let times = diluted_excess(&strata)?;
        let ratio_if = with_excess(ratio, times, "stated odds of a look with dirt");
        let net_saving = self.books.and_then(|books| books.saving(ratio));
        Some(Stated { ratio: ratio_if, net_saving })
    }

    fn tickets_lost(&self, ratio: &Estimate, x: f64) -> Stated {
        let ratio = with_reference_found(ratio, 1.0 - x, "stated share of tickets lost");
        let net_saving = self.books.and_then(|books| books.saving(&ratio));
        Stated { ratio, net_saving }
    }
}

fn share(events: i64, of: i64) -> f64 {
    if of > 0 { events.max(0) as f64 / of as f64 } else { 0.0 }
}

/// The estimate of a row.
fn estimate(row: &skipped_cost::Row, level: f64) -> Estimate {
    Estimate {
        value: row.estimate,
        low: row.low,
        high: row.high,
        level,
        n: row.n,
        events: row.events.and_then(|events| u64::try_from(events).ok()).unwrap_or(0),
        method: row.method,
        warnings: Vec::new(),
    }
}

/// One statement; without numbers where the counts cannot have come about under it.
fn row(recording: Recording, stated: f64, found: Option<Stated>) -> Row {
    let own = Own {
        recording: Some(recording),
        stated: Some(stated),
        net_saving: found.as_ref().and_then(|found| found.net_saving).map(Money::rounded),
        ..Own::default()
    };
    let (by, group, quantity) = (By::Fleet, Group::default(), Quantity::RatioIf);
    match found {
        Some(Stated { ratio, .. }) => Row::of(by, group, quantity, &ratio, own),
        None => Row::figure(by, group, quantity, f64::NAN, "stated bias", own),
    }
}
