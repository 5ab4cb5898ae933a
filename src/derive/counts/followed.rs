//! Follow-up of matings by band of time since mating (5.4a, 5.5): of every quarter; of the look-back by
//! the week of the mating, so that site-weeks can be resampled; and of the look-back under other rules,
//! for the page of sensitivity.

use super::cells::Cells;
use super::codes::*;
use super::counted::Row as _;
use super::declare::{declare_counts, declare_part};
use super::prices::{self, PriceCounts, VariantPrices, WeekPrices};
use super::table::CountTable;
use crate::calendar::{DAY_US, SECOND_US};
use crate::derive::mating::describe::{Coverage, Mating, Span};
use crate::derive::mating::fault::Fault;
use crate::derive::mating::follow_up::{Bands, Definition, Followed, Following, first_fault};
use crate::derive::mating::variant::Variant;
use crate::records::Level;
use crate::settings::Rules;

declare_counts! {
    /// Follow-up by band of time since mating (5.4a, 5.5).
    follow_up: FollowUp by {
        quarter: QuarterNo, site: Site, stage: Stage, family: Family, criteria: Criteria,
        after_fault: AfterFault, coverage: Coverage, band: Band,
    } counting {
        /// Matings, in the band in which their follow-up begins.
        started: Count,
        /// Ends of these that nobody had seen.
        unseen_ends: Count,
        /// First faults that are confirmed or probable.
        linked: Count,
        /// Time to them or to the end of follow-up.
        linked_s: Seconds,
        /// First faults that are confirmed.
        confirmed: Count,
        /// Time to them or to the end of follow-up.
        confirmed_s: Seconds,
        /// First faults that are confirmed, probable or suspect.
        suspect: Count,
        /// Time to them or to the end of follow-up.
        suspect_s: Seconds,
        /// First faults of any cause.
        any: Count,
        /// Time to them or to the end of follow-up.
        any_s: Seconds,
        /// First faults of causes that dirt cannot produce.
        control: Count,
        /// Time to them or to the end of follow-up.
        control_s: Seconds,
    }

    /// Entries, exits and linked faults by day since mating, for the curve (5.5).
    since_mating: SinceMating by {
        quarter: QuarterNo, after_fault: AfterFault, coverage: Coverage, day: Day,
    } counting {
        /// Matings whose follow-up began on this day.
        entered: Count,
        /// Matings whose follow-up ended on this day.
        left: Count,
        /// What these lack of whole days: negative.
        part_s: Seconds,
        /// Matings whose follow-up a linked fault ended on this day.
        linked: Count,
    }

    /// Follow-up of the look-back by the week of the mating: the clusters of 5.5. Without matings made
    /// after a fault.
    site_weeks: SiteWeeks by {
        week: WeekNo, quarter: QuarterNo, site: Site, stage: Stage, family: Family,
        criteria: Criteria, coverage: Coverage, band: Band,
    } counting {
        /// Matings, in the band in which their follow-up begins.
        started: Count,
        /// Ends of these that nobody had seen.
        unseen_ends: Count,
        /// First faults of the definition.
        faults: Count,
        /// Time to them or to the end of follow-up.
        seconds: Seconds,
    }

    /// Follow-up of the look-back under other rules (5.5's sensitivity). Without matings made after a
    /// fault. Under other windows of tickets it is the difference to the rules.
    variants: Variants by {
        variant: Variant, quarter: QuarterNo, site: Site, stage: Stage, family: Family,
        criteria: Criteria, coverage: Coverage, band: Band,
    } counting as site_weeks;

    /// Matings that count alike under several other rules, on their way to the table before.
    alike: Alike by {
        rules: RulesAlike, quarter: QuarterNo, site: Site, stage: Stage, family: Family,
        criteria: Criteria, coverage: Coverage, band: Band,
    } counting as site_weeks;
}

declare_part! {
    /// What the follow-up of matings is measured from.
    FollowUpCounts {
        follow_up: CountTable<FollowUp>,
        since_mating: CountTable<SinceMating>,
        site_weeks: CountTable<SiteWeeks>,
        variants: CountTable<Variants>,
    }
}

/// First faults by their definition, in a row that has a pair of figures for each.
macro_rules! by_definition {
    ($row:ty { $($definition:ident: $faults:ident, $seconds:ident;)+ }) => {
        impl $row {
            /// First faults of a definition, and seconds to them or to the end of follow-up; none where
            /// this table does not count it.
            pub fn first_faults(&self, definition: Definition) -> Option<(i64, i64)> {
                match definition {
                    $(Definition::$definition => Some((self.$faults, self.$seconds)),)+
                    #[allow(unreachable_patterns)]
                    _ => None,
                }
            }

            /// The same, to be added to.
            pub(in $crate::derive::counts) fn first_faults_mut(
                &mut self,
                definition: Definition,
            ) -> Option<(&mut i64, &mut i64)> {
                match definition {
                    $(Definition::$definition => Some((&mut self.$faults, &mut self.$seconds)),)+
                    #[allow(unreachable_patterns)]
                    _ => None,
                }
            }
        }
    };
}

pub(super) use by_definition;

by_definition! { follow_up::Row {
    Linked: linked, linked_s;
    Confirmed: confirmed, confirmed_s;
    Suspect: suspect, suspect_s;
    Any: any, any_s;
    Control: control, control_s;
} }

/// Most cells of site-weeks; above it they are given up and the site is the cluster (5.5). A million
/// take some 100 MiB.
pub const MOST_SITE_WEEKS: usize = 1_000_000;

/// Counts the follow-up of one mating.
pub(super) fn tally(
    mating: &Mating,
    with: &Following,
    others: &mut OtherRules,
    counts: &mut FollowUpCounts,
    costs: &mut PriceCounts,
) {
    tally_bands(mating, with, &mut counts.follow_up);
    tally_since(mating, with, &mut counts.since_mating);
    let quarter = with.looked_back(mating.at).map(QuarterNo);
    let counted = quarter.filter(|_| !with.is_dark(mating.stage) && !mating.after_fault);
    let Some(quarter) = counted else { return };
    tally_site_week(mating, quarter, with, (&mut counts.site_weeks, &mut costs.week_prices));
    let OtherRules { rules, alike } = others;
    let same = rules.iter().enumerate().filter(|(_, rule)| rule.counts_alike(mating));
    let same = same.fold(0, |same, (place, _)| same | 1 << place);
    tally_alike(mating, (RulesAlike(same), quarter), with, alike);
    for (place, other) in rules.iter().enumerate() {
        if same & 1 << place == 0 {
            let tables = (&mut counts.variants, &mut costs.variant_prices);
            tally_variant(mating, quarter, other, with.rules, tables);
        }
    }
}

/// Counts what a mating would add to the follow-up if its faults were others, less what it does.
pub fn tally_moved(
    [mating, other]: [&Mating; 2],
    rule: &OtherRule,
    with: &Following,
    (counts, costs): (&mut FollowUpCounts, &mut PriceCounts),
) {
    if (mating.after_fault, mating.faults) == (other.after_fault, other.faults) {
        return;
    }
    let quarter = with.looked_back(mating.at).filter(|_| !with.is_dark(mating.stage));
    let Some(quarter) = quarter.map(QuarterNo) else { return };
    let [less, more] = [mating, other].map(|mating| {
        let mut tables = (CountTable::default(), CountTable::default());
        if !mating.after_fault {
            let (table, costs) = &mut tables;
            tally_variant(mating, quarter, rule, with.rules, (table, costs));
        }
        tables
    });
    counts.variants.add_difference(&more.0, &less.0);
    costs.variant_prices.add_difference(&more.1, &less.1);
}

fn tally_bands(mating: &Mating, with: &Following, table: &mut CountTable<FollowUp>) {
    let started =
        follow_up::Row { started: 1, unseen_ends: mating.unseen.into(), ..Default::default() };
    let quarter = with.calendar.quarters.piece(mating.at).map(QuarterNo);
    let (Some(quarter), Some(span)) = (quarter, with.at_risk(mating)) else {
        table.add(None, started);
        return;
    };
    let (followed, first) =
        (Followed::by_definition(mating, span), with.bands.band(span.from - mating.at));
    for band in 0..with.bands.count() {
        let mut row = if band == first { started } else { follow_up::Row::default() };
        for (definition, followed) in Definition::ALL.iter().zip(&followed) {
            let Some(followed) = followed else { continue };
            if let Some((faults, seconds)) = row.first_faults_mut(*definition) {
                (*faults, *seconds) = followed.in_band(&with.bands, band, mating.at);
            }
        }
        let cell = follow_up::Key {
            quarter,
            site: Site(mating.site),
            stage: mating.stage.into(),
            family: Family(mating.family),
            criteria: Criteria(mating.criteria),
            after_fault: AfterFault::of_mating(mating.after_fault),
            coverage: mating.coverage,
            band: Band(band as u32),
        };
        table.add(Some(cell), row);
    }
}

/// Entries, exits and part days of the linked follow-up: whole days between follow from them.
fn tally_since(mating: &Mating, with: &Following, table: &mut CountTable<SinceMating>) {
    let quarter = with.calendar.quarters.piece(mating.at).map(QuarterNo);
    let (Some(quarter), Some(span)) = (quarter, with.at_risk(mating)) else { return };
    let followed = Followed::of(mating, span, |fault| Definition::Linked.holds(fault));
    let Some(Followed { span, by_fault }) = followed else { return };
    let after_fault = AfterFault::of_mating(mating.after_fault);
    let coverage = mating.coverage;
    let cell = |day: i64| {
        Some(since_mating::Key { quarter, after_fault, coverage, day: Day(day.max(0) as u32) })
    };
    let (from, to) = (span.from - mating.at, span.to - mating.at);
    let last = with.bands.last_day();
    let (first_day, last_day) = ((from / DAY_US).min(last), (to / DAY_US).min(last));
    // Seconds that the entry day lacks at its start and the exit day at its end are taken off.
    let missing_before = from - first_day * DAY_US;
    let missing_after = (last_day + 1) * DAY_US - to;
    let entry =
        since_mating::Row { entered: 1, part_s: -missing_before / SECOND_US, ..Default::default() };
    table.add(cell(first_day), entry);
    let exit = since_mating::Row {
        left: 1,
        part_s: -missing_after / SECOND_US,
        linked: by_fault.into(),
        ..Default::default()
    };
    table.add(cell(last_day), exit);
}

/// A rule other than the settings', with its own bands.
pub struct OtherRule {
    variant: Variant,
    bands: Bands,
}

/// The rules that 5.5 is also counted under: those that the settings do not already say.
pub struct OtherRules {
    rules: Vec<OtherRule>,
    /// Matings that count as they do under the settings: most do under most of the others.
    alike: Cells<Alike>,
}

impl OtherRules {
    /// All of them, with nothing counted yet.
    pub fn of(rules: &Rules) -> OtherRules {
        let others = Variant::ALL
            .into_iter()
            .filter(|variant| !variant.is_difference() && !variant.is_the_rule(rules));
        let rules = others.map(|variant| OtherRule::under(variant, rules)).collect();
        OtherRules { rules, alike: Cells::default() }
    }

    /// Hands on what was counted, and begins anew.
    pub fn pour(&mut self, table: &mut CountTable<Variants>) {
        let OtherRules { rules, alike } = self;
        for (cell, row) in alike.as_slice() {
            for (place, OtherRule { variant, .. }) in rules.iter().enumerate() {
                if cell.rules.0 & 1 << place != 0 {
                    table.add(Some(cell.under(*variant)), *row);
                }
            }
        }
        alike.clear();
    }
}

/// Of a mating that is counted in a week, or under one rule.
const NO_RULES: RulesAlike = RulesAlike(0);

/// Where a mating is counted, whatever the week or the rules.
type Place = (QuarterNo, Coverage, Band);

impl alike::Key {
    fn of(mating: &Mating, rules: RulesAlike, (quarter, coverage, band): Place) -> alike::Key {
        alike::Key {
            rules,
            quarter,
            site: Site(mating.site),
            stage: mating.stage.into(),
            family: Family(mating.family),
            criteria: Criteria(mating.criteria),
            coverage,
            band,
        }
    }

    /// The same place under one of the rules.
    fn under(self, variant: Variant) -> variants::Key {
        let alike::Key { rules: _, quarter, site, stage, family, criteria, coverage, band } = self;
        variants::Key { variant, quarter, site, stage, family, criteria, coverage, band }
    }

    /// The same place under the settings' rules, in a week.
    fn in_week(self, week: WeekNo) -> site_weeks::Key {
        let alike::Key { rules: _, quarter, site, stage, family, criteria, coverage, band } = self;
        site_weeks::Key { week, quarter, site, stage, family, criteria, coverage, band }
    }
}

impl OtherRule {
    /// Whether a mating counts under it as it does under the settings, and costs nothing under either.
    fn counts_alike(&self, mating: &Mating) -> bool {
        mating.faults.is_empty()
            && mating.at_risk.is_some()
            && match self.variant {
                Variant::Window(at) => mating.by_window[at] == (mating.coverage, mating.unseen),
                Variant::Horizon(_) | Variant::Lag(_) => false,
                Variant::Confirmed | Variant::Suspect => true,
                Variant::Reseats => !mating.reseat,
                Variant::Timed => !mating.day_only,
            }
    }

    /// Which rule it is.
    pub fn variant(&self) -> Variant {
        self.variant
    }

    /// One of them.
    pub fn under(variant: Variant, rules: &Rules) -> OtherRule {
        OtherRule { variant, bands: Bands::up_to(variant.horizon_days(rules), rules) }
    }
}

/// One way of following a mating up.
struct Way<'a> {
    mating: &'a Mating<'a>,
    span: Span,
    bands: &'a Bands,
    least: Level,
    unseen: u32,
    /// A reseat counts as a fault at its demating, microseconds UTC.
    reseat_at: Option<i64>,
}

impl Way<'_> {
    /// What is counted, by band.
    fn rows(&self) -> impl Iterator<Item = (Band, site_weeks::Row)> {
        let (at, bands, unseen_ends) = (self.mating.at, self.bands, self.unseen.into());
        let begins = bands.band(self.span.from - at);
        let fault = first_fault(self.mating, |fault| fault.level >= self.least);
        let first = fault.into_iter().chain(self.reseat_at).min();
        let followed = Followed::until(first, self.span);
        (0..bands.count()).map(move |band| {
            let mut row = site_weeks::Row::default();
            if band == begins {
                (row.started, row.unseen_ends) = (1, unseen_ends);
            }
            if let Some(followed) = followed {
                (row.faults, row.seconds) = followed.in_band(bands, band, at);
            }
            (Band(band as u32), row)
        })
    }

    /// The faults that cost: all of the definition, not only the first.
    fn faults(&self) -> impl Iterator<Item = &Fault> {
        let inside = |fault: &&Fault| (self.span.from..=self.span.to).contains(&fault.at);
        self.mating.faults.iter().filter(inside).filter(|fault| fault.level >= self.least)
    }
}

fn tally_site_week(
    mating: &Mating,
    quarter: QuarterNo,
    with: &Following,
    (table, costs): (&mut CountTable<SiteWeeks>, &mut CountTable<WeekPrices>),
) {
    let unseen = mating.unseen;
    let week = with.calendar.weeks.piece(mating.at).map(WeekNo);
    let (Some(week), Some(span)) = (week, mating.at_risk) else {
        table.add(None, not_followed(unseen));
        return;
    };
    let (bands, least) = (&with.bands, Level::Probable);
    let way = Way { mating, span, bands, least, unseen, reseat_at: None };
    way.faults().for_each(|fault| prices::tally_week(fault, mating, (week, quarter), costs));
    for (band, row) in way.rows() {
        let place = (quarter, mating.coverage, band);
        table.add(Some(alike::Key::of(mating, NO_RULES, place).in_week(week)), row);
    }
}

/// Counts a mating once for all other rules under which it counts alike.
fn tally_alike(
    mating: &Mating,
    (rules, quarter): (RulesAlike, QuarterNo),
    with: &Following,
    cells: &mut Cells<Alike>,
) {
    let Some(span) = mating.at_risk.filter(|_| rules.0 != 0) else { return };
    let (bands, least, unseen) = (&with.bands, Level::Probable, mating.unseen);
    let way = Way { mating, span, bands, least, unseen, reseat_at: None };
    for (band, row) in way.rows().filter(|(_, row)| !row.is_nothing()) {
        cells.add(alike::Key::of(mating, rules, (quarter, mating.coverage, band)), &row);
    }
}

/// A mating that cannot be followed.
fn not_followed(unseen: u32) -> site_weeks::Row {
    site_weeks::Row { started: 1, unseen_ends: unseen.into(), ..Default::default() }
}

fn tally_variant(
    mating: &Mating,
    quarter: QuarterNo,
    OtherRule { variant, bands }: &OtherRule,
    rules: &Rules,
    (table, costs): (&mut CountTable<Variants>, &mut CountTable<VariantPrices>),
) {
    let variant = *variant;
    let (coverage, unseen): (Coverage, u32) = match variant {
        Variant::Window(at) => mating.by_window[at],
        _ => (mating.coverage, mating.unseen),
    };
    let left_out = variant == Variant::Timed && mating.day_only;
    let Some(span) = variant.span(mating, rules).filter(|_| !left_out) else {
        table.add(None, not_followed(unseen));
        return;
    };
    let reseat_at = (variant == Variant::Reseats && mating.reseat).then_some(mating.demated);
    let way = Way { mating, span, bands, least: variant.least_level(), unseen, reseat_at };
    way.faults().for_each(|fault| {
        prices::tally_variant(fault, mating, (variant, quarter, coverage), costs);
    });
    for (band, row) in way.rows() {
        let place = (quarter, coverage, band);
        table.add(Some(alike::Key::of(mating, NO_RULES, place).under(variant)), row);
    }
}
