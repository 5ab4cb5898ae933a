//! Tables of Q5: the ratios with their neighbours, and the money by place.

use crate::charts::number::{fixed, percent};
use crate::derive::{HORIZONS_DAYS, LAGS_HOURS, Variant, WINDOWS_HOURS};
use crate::measures::results::Money;
use crate::measures::skipped_cost::{By, Exposure, Faults, NAME, Quantity, Row, Rule, Table};
use crate::measures::{Review, Unit};
use crate::report::page::page_table::{Laid, PageTable};
use crate::report::words::label::{by_and_label, in_order, label};
use crate::report::words::number::{Amount, Scale, count_or_dash, level, probability};
use crate::report::words::ranked::ranked_then_flagged;

pub(in crate::report) fn tables(review: &Review, table: &Table) -> Vec<PageTable> {
    let (families, sites) = (By::StageFamily, By::SiteStage);
    vec![
        ratios(review, table),
        by_exposure(review, table),
        by_group(review, table),
        savings(review, families, "Net saving by stage and family"),
        savings(review, sites, "Net saving by site and stage"),
        place_ratios(review, families, "What that rests on, by stage and family"),
        place_ratios(review, sites, "What that rests on, by site and stage"),
        sensitivity(review, table),
    ]
}

/// The fleet's ratio, and the same for other exposures, faults and the control.
fn ratios(review: &Review, table: &Table) -> PageTable {
    // In the order of the file, where each second opinion stands below its ratio.
    let is_ratio = |row: &&Row| {
        row.by == By::Fleet && matches!(row.quantity, Quantity::RateRatio | Quantity::SecondOpinion)
    };
    let rows: Vec<&Row> = table.rows.iter().filter(is_ratio).collect();
    let e = |value: Option<f64>| value.map_or_else(String::new, |value| fixed(value, 2));
    rate_ratios(review, &rows, "exposure, faults", what)
        .numbers("p", |row| p(row))
        .numbers("E-value", |row| e(row.own.e_value))
        .numbers("of the limit", |row| e(row.own.e_value_limit))
        .flags()
        .set("The ratio, a second opinion, and its neighbours", NAME)
}

/// What a ratio of the fleet is of.
fn what(row: &Row) -> String {
    let faults = row.own.faults.map_or("", |faults| match faults {
        Faults::Linked => "linked faults",
        Faults::Any => "faults of any cause",
        Faults::Control => "control: faults dirt cannot produce",
    });
    let after = if row.own.after_fault == Some(true) { ", after a fault" } else { "" };
    let ratio = format!("{}, {faults}{after}", exposure(row));
    match row.quantity {
        Quantity::SecondOpinion => format!("second opinion, {}: {ratio}", row.method),
        _ => ratio,
    }
}

fn exposure(row: &Row) -> &'static str {
    row.own.exposure.map_or("", Exposure::word)
}

/// Money of the fleet by exposure.
fn by_exposure(review: &Review, table: &Table) -> PageTable {
    let quantities = [
        Quantity::AttributableCost,
        Quantity::NetSaving,
        Quantity::NetSavingAlone,
        Quantity::NotInCells,
    ];
    let of = |quantity| table.rows_of(By::Fleet, quantity);
    let rows: Vec<&Row> = quantities.into_iter().flat_map(of).collect();
    let what = |row: &Row| match row.quantity {
        Quantity::NotInCells => format!(
            "net saving that the cells by {} do not add up to: {}",
            row.own.cells.as_deref().unwrap_or_default().replace('+', " and "),
            row.own.reason.as_deref().unwrap_or_default()
        ),
        Quantity::AttributableCost => format!("associated cost: {}", exposure(row)),
        _ => format!("net saving: {}", exposure(row)),
    };
    PageTable::over(&rows)
        .words("what, exposure", |row| what(row))
        .n("matings")
        .events("faults")
        .estimates(review, "money")
        .flags()
        .set("Money by exposure, whole fleet", NAME)
}

fn by_group(review: &Review, table: &Table) -> PageTable {
    let headline = |by| table.ratios(by, Exposure::Skipped, Faults::Linked);
    let groupings = [By::Stage, By::Family, By::Site].into_iter();
    let rows: Vec<&Row> = groupings.flat_map(|by| in_order(review, headline(by))).collect();
    rate_ratios(review, &rows, "group", by_and_label)
        .numbers("p", |row| p(row))
        .flags()
        .set("The ratio by stage, family and site", NAME)
}

/// A table of rate ratios as far as all of them go: what each is of, what it rests on, the ratio.
fn rate_ratios<'r, 'a>(
    review: &Review,
    rows: &'r [&'a Row],
    heading: &str,
    what: impl Fn(&Row) -> String,
) -> Laid<'r, &'a Row> {
    PageTable::over(rows)
        .words(heading, |row| what(row))
        .n("connection-months")
        .events("faults")
        .estimates(review, "rate ratio")
}

fn p(row: &Row) -> String {
    row.own.p.map_or_else(String::new, probability)
}

/// What each place would save, best first.
fn savings(review: &Review, by: By, caption: &str) -> PageTable {
    let rows = ranked_then_flagged(review, by);
    let amounts: Vec<Amount> = rows.iter().map(Amount::of).collect();
    let scale = Scale::for_all(&amounts, Unit::Money, &review.currency);
    // Written no finer than the net saving's interval supports.
    let money = |row: &Row, value: Option<Money>| {
        Amount { value: Amount::money(value).value, ..Amount::of(row) }.value_on(&scale)
    };
    let share = |value: Option<f64>| value.map_or_else(String::new, |share| percent(share, 0));
    PageTable::over(&rows)
        .numbers("rank", |row| row.own.rank.map_or_else(String::new, |rank| rank.to_string()))
        .words(place(by), label)
        .numbers("matings skipped", |row| count_or_dash(row.own.matings_skipped))
        .numbers(&format!("associated cost, {}", scale.unit), |row| {
            money(row, row.own.attributable)
        })
        .numbers(&format!("cost of the looks, {}", scale.unit), |row| money(row, row.own.look_cost))
        .estimates(review, "net saving")
        .numbers("running share", |row| share(row.own.running_share))
        .numbers("chance of top three", |row| share(row.own.top_three))
        .flags()
        .set(caption, NAME)
}

fn place(by: By) -> &'static str {
    if by == By::StageFamily { "stage, family" } else { "site, stage" }
}

/// The ratios and counts that the savings of the places rest on.
fn place_ratios(review: &Review, by: By, caption: &str) -> PageTable {
    let ratio = |row: &Row| Amount {
        value: row.own.ratio,
        low: row.own.ratio_low,
        high: row.own.ratio_high,
        unit: Unit::Ratio,
    };
    let alone = |row: &Row| Amount {
        value: row.own.ratio_alone,
        low: row.own.ratio_alone_low,
        high: row.own.ratio_alone_high,
        unit: Unit::Ratio,
    };
    let interval = format!("{} interval", level(review.level));
    let exact = format!("exact {interval}");
    let chance = |row: &Row| row.own.stands_apart.map_or_else(String::new, |p| percent(p, 0));
    PageTable::over(&ranked_then_flagged(review, by))
        .words(place(by), label)
        .numbers("matings skipped", |row| count_or_dash(row.own.matings_skipped))
        .numbers("faults after skipped", |row| count_or_dash(row.own.faults_skipped))
        .numbers("faults after both seen", |row| count_or_dash(row.own.faults_both))
        .numbers("rate ratio", |row| ratio(row).value_on(&ratio(row).scale("")))
        .numbers(&interval, |row| ratio(row).interval_on(&ratio(row).scale("")))
        .numbers("by its own strata alone", |row| alone(row).value_on(&alone(row).scale("")))
        .numbers(&exact, |row| alone(row).interval_on(&alone(row).scale("")))
        .numbers("chance that it stands apart", |row| chance(row))
        .flags()
        .set(caption, NAME)
}

/// The headline under other rules.
fn sensitivity(review: &Review, table: &Table) -> PageTable {
    let rows: Vec<&Row> = table.rows_of(By::Fleet, Quantity::Sensitivity).collect();
    let savings: Vec<Amount> = rows.iter().map(|row| Amount::money(row.own.net_saving)).collect();
    let scale = Scale::for_all(&savings, Unit::Money, &review.currency);
    rate_ratios(review, &rows, "rule", |row| under(review, row))
        .numbers("faults after skipped", |row| count_or_dash(row.own.faults_skipped))
        .numbers("after both seen", |row| count_or_dash(row.own.faults_both))
        .numbers(&format!("net saving, {}", scale.unit), |row| {
            Amount::money(row.own.net_saving).value_on(&scale)
        })
        .flags()
        .set("The headline under other rules", NAME)
}

/// What the rules of a row are called.
pub(in crate::report) fn under(review: &Review, row: &Row) -> String {
    let Some(rule) = row.own.variant else { return String::new() };
    let words = match rule {
        Rule::AsRuled => {
            let (hours, days) = (review.window_hours, review.horizon_days);
            return format!("as ruled: looks count for {hours} h, followed for {days} days");
        }
        Rule::But(Variant::Window(at)) => {
            return format!("looks count for {} h", WINDOWS_HOURS[at]);
        }
        Rule::But(Variant::Horizon(at)) => {
            return format!("followed for {} days", HORIZONS_DAYS[at]);
        }
        Rule::But(Variant::Confirmed) => "confirmed faults only",
        Rule::But(Variant::Suspect) => "suspect faults too",
        Rule::But(Variant::Reseats) => "suspect faults and reseats too",
        Rule::But(Variant::Timed) => "without matings known to the day only",
        Rule::But(Variant::Lag(at)) => {
            return match LAGS_HOURS[at] {
                0 => "tickets never late".to_owned(),
                hours => format!("tickets up to {hours} h late"),
            };
        }
        Rule::UnknownAsSkipped => "unknown coverage counted as skipped",
        Rule::UnknownAsBoth => "unknown coverage counted as both seen",
    };
    words.to_owned()
}
