//! Recording that follows what it records: what the checks say, what each fault would do to the headline, and what would
//! have to be true for the headline to vanish.

use super::part::{Doubt, MOST_ROWS, Part};
use crate::charts::number::{fixed, percent};
use crate::measures::trust::{By, NAME, Quantity, Recording, Row, Table};
use crate::measures::{Review, Unit};
use crate::report::page::page_table::PageTable;
use crate::report::words::label::in_order;
use crate::report::words::number::{Amount, Scale, probability};

pub(super) fn part(review: &Review) -> Part {
    let table = &review.trust;
    let tables = vec![checks(review, table), by_coverage(review, table), stated(review, table)];
    let mut doubts: Vec<Doubt> = spoken(review, table).collect();
    doubts.extend(vanishing(review, table));
    Part { tables, doubts }
}

/// Differences of the fleet, and the sites whose looks fell.
fn checks(review: &Review, table: &Table) -> PageTable {
    let fleet = [
        Quantity::LooksChosen,
        Quantity::FailingWhereAllLooked,
        Quantity::PassingUnrecorded,
        Quantity::TicketsByCoverage,
        Quantity::ControlRatio,
    ];
    let of_fleet = fleet.into_iter().flat_map(|quantity| table.rows_of(By::Fleet, quantity));
    let sites = in_order(review, table.rows_of(By::Site, Quantity::LooksPerMating));
    let (spoke, silent): (Vec<&Row>, Vec<&Row>) =
        sites.into_iter().partition(|row| row.own.suspected == Some(true));
    let rows: Vec<&Row> = of_fleet.chain(spoke).chain(silent).collect();
    // Differences and ratios in one table: each on the scale of its unit, which the words name.
    let scale = |row: &Row| Amount::of(row).scale(&review.currency);
    PageTable::over(&rows)
        .words("what is compared", |row| compared(row))
        .n("of")
        .numbers("found", |row| Amount::of(row).value_on(&scale(row)))
        .numbers("interval", |row| Amount::of(row).interval_on(&scale(row)))
        .numbers("p", |row| row.own.p.map_or_else(String::new, probability))
        .words("speaks", |row| verdict(row).to_owned())
        .set_first(MOST_ROWS, "Whether recording follows what it records", NAME)
}

fn compared(row: &Row) -> String {
    let words = match row.quantity {
        Quantity::LooksChosen => {
            "first looks failing, in points: all ends looked at less none, over the months of a site"
        }
        Quantity::FailingWhereAllLooked => {
            "first looks failing, in points: sites that look at nearly all ends less the others"
        }
        Quantity::PassingUnrecorded => {
            "first looks failing, in points: months in which every cleaning has a look after it less those in which none has"
        }
        Quantity::TicketsByCoverage => {
            "tickets naming their mating, in points: of matings with both ends seen less of skipped ones"
        }
        Quantity::ControlRatio => {
            "ratio of faults that dirt cannot produce, skipped over both seen"
        }
        Quantity::LooksPerMating => "looks for each end mated, over those before the period",
        other => other.word(),
    };
    let site = row.group.site.as_deref();
    site.map_or_else(|| words.to_owned(), |site| format!("{site}: {words}"))
}

fn verdict(row: &Row) -> &'static str {
    match row.own.suspected {
        Some(true) => "yes",
        Some(false) => "no",
        None => "cannot tell",
    }
}

/// How tickets name their matings, by coverage.
fn by_coverage(review: &Review, table: &Table) -> PageTable {
    let rows: Vec<&Row> = table.rows_of(By::Coverage, Quantity::TicketsNamingMating).collect();
    PageTable::over(&rows)
        .words("coverage of the mating", |row| row.group.coverage.clone().unwrap_or_default())
        .n("attached faults")
        .events("naming their mating")
        .estimates(review, "share")
        .set_first(MOST_ROWS, "Tickets that name the record of their mating", NAME)
}

/// The headline under every statement.
fn stated(review: &Review, table: &Table) -> PageTable {
    let rows: Vec<&Row> = table.rows_of(By::Fleet, Quantity::RatioIf).collect();
    let savings: Vec<Amount> = rows.iter().map(|row| Amount::money(row.own.net_saving)).collect();
    let scale = Scale::for_all(&savings, Unit::Money, &review.currency);
    let heading = format!("net saving, {}", scale.unit);
    PageTable::over(&rows)
        .words("if", |row| statement(row))
        .estimates(review, "the ratio is")
        .numbers(&heading, |row| Amount::money(row.own.net_saving).value_on(&scale))
        .set_first(
            rows.len().max(1),
            "What the headline would be if the records were at fault",
            NAME,
        )
}

fn statement(row: &Row) -> String {
    let stated = row.own.stated.unwrap_or(0.0);
    let is_beyond = row.estimate.is_none();
    let impossible = if is_beyond { " (next to no mating would have been skipped)" } else { "" };
    let words = match row.own.recording {
        Some(Recording::PassingUnrecorded) => {
            // Alike everywhere distorts most; in whole quarters of a site next to nothing.
            let most = if is_beyond {
                ""
            } else {
                " (the limits: in some quarters only, or alike everywhere)"
            };
            format!("{} of passing looks are not written down{most}", percent(stated, 0))
        }
        Some(Recording::LooksChosen) => {
            format!("the odds of a look are {} times as high with dirt", fixed(stated, 1))
        }
        Some(Recording::TicketsLost) => {
            format!("{} of the tickets of matings with both ends seen are lost", percent(stated, 0))
        }
        None => String::new(),
    };
    words + impossible
}

/// Sentences of the checks that speak.
fn spoken<'a>(review: &'a Review, table: &'a Table) -> impl Iterator<Item = Doubt> + 'a {
    table.rows.iter().filter(|row| row.own.suspected == Some(true)).map(move |row| {
        let found = Amount::of(row).full(&review.currency);
        let sentence = match row.quantity {
            Quantity::LooksChosen => format!(
                "Where fewer ends are looked at more of the first looks fail, site by site and month by month: {found} \
                 between all looked at and none. Looks seem to be made where dirt is suspected (or passing ones are not \
                 written down), so the ratio of skipped looks is too low; the table says by how much."
            ),
            Quantity::FailingWhereAllLooked => format!(
                "Sites that look at nearly all ends find fewer of them failing than the others at the same stage and \
                 family: {found}. The others' looks seem to be made where dirt is suspected."
            ),
            Quantity::PassingUnrecorded => format!(
                "In months in which looks after cleanings are missing more of the recorded first looks fail: {found} \
                 between months with all of them and with none. Passing looks seem not to be written down: shares failing \
                 and shares skipped are then too high, and the ratio of skipped looks too low."
            ),
            Quantity::LooksPerMating => {
                let cleanings = Amount::plain(row.own.cleanings_ratio, Unit::Ratio).bare();
                let site = row.group.site.as_deref().unwrap_or("–");
                format!(
                    "At {site} looks for each end mated fell to {found} of what they were, cleanings to {cleanings}: looks \
                     may have been made and not written down."
                )
            }
            Quantity::TicketsByCoverage => format!(
                "Tickets of matings with both ends seen name their mating more or less often than those of skipped ones: \
                 {found}. More of one kind can be lost, and the ratio leans."
            ),
            Quantity::ControlRatio => format!(
                "Faults that dirt cannot produce differ by coverage as well: {found} times as frequent after skipped \
                 matings. Tickets may be lost by coverage; if all causes are lost alike, the ratio is out by as much."
            ),
            other => other.word().to_owned(),
        };
        Doubt { weight: 0.5, sentence }
    })
}

/// What would have to be true for the headline to vanish; none without one, or where it says nothing as it stands.
fn vanishing(review: &Review, table: &Table) -> Option<Doubt> {
    let headline = review.skipped_cost.headline()?;
    let (low, high) = (headline.low?, headline.high?);
    let ratio = Amount::of(headline).full(&review.currency);
    let lost = table
        .quantity(Quantity::HeadlineVanishes)
        .find(|row| row.own.recording == Some(Recording::TicketsLost))
        .and_then(|row| row.estimate);
    let sentence = if low <= 1.0 && high >= 1.0 {
        format!(
            "The ratio of skipped looks, {ratio}, does not exclude 1 even if the records are sound."
        )
    } else {
        let e_value = headline.own.e_value_limit.map_or_else(String::new, |e| {
            format!(
                ", or something that is not in the records would have to go with both skipping and faults {} times",
                fixed(e, 1)
            )
        });
        let lost = lost.map_or_else(String::new, |lost| {
            format!(
                "{} of the tickets of matings with both ends seen would have to be lost",
                percent(lost, 0)
            )
        });
        let either = if lost.is_empty() {
            e_value.trim_start_matches(", or ").to_owned()
        } else {
            lost + &e_value
        };
        format!(
            "For the ratio of skipped looks, {ratio}, to be nothing but chance: {either}. Passing looks left out of the \
             records, or looks made where dirt is suspected, cannot bring that about: they make the ratio look nearer to 1 \
             than it is."
        )
    };
    Some(Doubt { weight: 0.3, sentence })
}
