//! Q5: what skipped inspections cost, and where most.

mod picture;
mod picture_grid;
mod picture_sensitivity;
mod picture_since_mating;
mod tables;

use super::{NO_RECORDS, firm};
use crate::charts::number::fixed;
use crate::measures::Review;
use crate::measures::skipped_cost::{By, Exposure, NAME, Quantity, Row, Rule, Table};
use crate::report::page::picture::Picture;
use crate::report::page::section::Section;
use crate::report::words::flags::{explained, words};
use crate::report::words::label::label;
use crate::report::words::months::{a_year, in_a_year};
use crate::report::words::number::{Amount, level, probability_or_dash, whole};
use crate::report::words::ranked::leading;
use crate::report::words::unanswered::reason;
use picture::{Places, ranked};
use picture_grid::saving_grid;
use picture_sensitivity::sensitivity;
use picture_since_mating::since_mating;
use tables::tables;
pub(in crate::report) use tables::under;

/// Said where money cannot mean much.
const NO_PRICES: &str = "The settings give no prices ([costs]): looks count as free, and faults cost only what their \
                         own records say.";
/// Rows of a picture in its section.
const MOST: usize = 30;
/// Rows of the picture on the first page.
const MOST_FIRST: usize = 6;

pub(in crate::report) fn section(review: &Review) -> Section {
    let table = &review.skipped_cost;
    let place = |picture, by, words| {
        let places = Places { picture, by, words, most: MOST };
        ranked(review, places, place_sentence(review, by)?)
    };
    let pictures = [
        place("saving-by-place", By::StageFamily, "Places by stage and family"),
        saving_grid(review, "Net saving as a grid: stages down, families across".to_owned()),
        place("saving-by-site", By::SiteStage, "Places by site and stage"),
        since_mating(review),
        sensitivity_sentence(table).and_then(|sentence| sensitivity(review, sentence)),
    ];
    let mut doubts = vec![
        "These are associations, not proof: a site that skips looks may differ in other ways. The control rows (faults \
         that dirt cannot produce) show how far such differences reach."
            .to_owned(),
    ];
    doubts.push(
        "Coverage by simulation: with few faults a place the interval of its saving holds the truth somewhat less often \
         than it says."
            .to_owned(),
    );
    if !review.priced {
        doubts.push(NO_PRICES.to_owned());
    }
    doubts.extend(explained(&table.rows));
    Section {
        id: NAME,
        question: "What did skipped inspections cost, and where most?",
        finding: finding(review, table),
        pictures: pictures.into_iter().flatten().collect(),
        tables: tables(review, table),
        method: method(review, table),
        doubts,
    }
}

/// What the test of the headline's strata came to.
fn homogeneity(table: &Table) -> String {
    let headline = |row: &&Row| {
        row.own.exposure == Some(Exposure::Skipped) && row.own.after_fault == Some(false)
    };
    let found = table.rows_of(By::Fleet, Quantity::Homogeneity).find(headline);
    found.map_or_else(String::new, |row| {
        let p = probability_or_dash(row.own.p);
        let (excess, strata) =
            (row.estimate.map_or_else(|| "–".to_owned(), |x| fixed(x, 2)), whole(Some(row.n)));
        format!(": here {excess} times over {strata} strata, p {p}")
    })
}

/// How it was counted, with the variants that were used where sources differ.
fn method(review: &Review, table: &Table) -> String {
    let mut clusters = table.rows_of(By::Fleet, Quantity::Clusters);
    let clusters = clusters.next().map_or("site-weeks", |row| row.method);
    let level = level(review.level);
    let homogeneity = homogeneity(table);
    let money_of = money_of(review, table);
    format!(
        "Rate of linked faults after matings with an end unseen against those with both seen: at each first fault those \
         are compared that were at risk at that time since mating, of the same site, stage, family, quarter, criteria and \
         recent fault (risk sets, Cox 1972; faults at one time by Efron 1977). Ratio: the likelihood of the risk sets, \
         errors robust to {clusters} (Lin and Wei 1989, factor g/(g-1), t with as many degrees of freedom as their scores \
         are worth, Satterthwaite 1946); Mantel and Haenszel (1959) over the same risk sets, with the variance of \
         Greenland and Robins (1985), is the second opinion, and leads where no two {clusters} can be told apart. \
         Time at risk in the place of numbers at risk would put the ratio too far from 1 in strata of a few matings, since \
         follow-up ends with the fault. Faults on one side only: no ratio, an exact conditional limit. Do the strata agree: squared gaps over those of 999 tables with the same totals and one \
         ratio{homogeneity}. The control is judged by an exact mid-P, its deviate divided by the \
         scatter of the control's faults over {clusters}, with the false discovery rate of Benjamini and Hochberg (1995) over \
         the places of a table. Ratios of places are drawn to each other \
         (random effects, integrated): a place is one of many that differ by a common spread, or, with a chance of 0.15, \
         stands apart. Of places of 20 faults or more the interval that leads holds in at least 93 of a hundred, of one \
         that is fourfold or fivefold among 8 to 54 in at least 90; each place's ratio by its own strata stands beside it \
         with exact limits, and leads where it more likely than not stands apart. A saving is the cost of the faults after \
         skipped looks times what the ratio leaves of it, less what those looks would have cost (their minutes, and the cleanings, looks after these and rejects that visits \
         begun with a look had for each). {money_of} What the cells of a table fall short of the fleet's saving stands beside it: each \
         has a ratio of its own. Its {level} interval and the chance of the top three come from \
         1,000 resamples of {clusters} (Poisson weights, expanded percentile), in each of which costs, looks and ratio \
         change together (the ratio by its estimating function, Hu and Kalbfleisch 2000); prices of looks do not. \
         E-value: VanderWeele and Ding (2017). Other rules: risk sets of their own, intervals widened for clusters as the \
         headline's was; a reseat counts as a suspect fault without cost."
    )
}

/// Which matings money is of.
fn money_of(review: &Review, table: &Table) -> String {
    let mut rows = table.rows_of(By::Fleet, Quantity::NetSaving);
    let quarters = rows.find_map(|row| row.own.matings_of.as_deref());
    match quarters {
        Some(quarters) => format!(
            "Money is of the matings of {quarters} as of a year: these have run their {} days by the end of the period, of \
             later ones the looks would be known and not yet the faults; matings shortly after a fault count with neither.",
            review.horizon_days
        ),
        None => "No quarter's matings have run their horizon yet: money is of all, and too low."
            .to_owned(),
    }
}

/// The chart of the first page.
pub(in crate::report) fn first_picture(review: &Review) -> Option<Picture> {
    let place = Places {
        picture: "saving-first",
        by: By::StageFamily,
        words: "Places by stage and family",
        most: MOST_FIRST,
    };
    ranked(review, place, place_sentence(review, By::StageFamily)?)
}

/// What stands in place of the first page's chart where no place can be drawn.
pub(in crate::report) fn no_picture(review: &Review) -> String {
    match reason(review, NAME) {
        Some(reason) => format!("What skipped inspections cost cannot be told: {reason}."),
        None => {
            "Which place weighs most cannot be told: too few faults, or a doubt flags every place."
                .to_owned()
        }
    }
}

fn finding(review: &Review, table: &Table) -> String {
    if table.rows.is_empty() {
        return NO_RECORDS.to_owned();
    }
    let ratio_words = match table.headline() {
        Some(row) if row.is_firm() && row.estimate.is_some() => format!(
            "Skipped inspections are associated with {} times the rate of linked faults",
            Amount::of(row).full(&review.currency)
        ),
        Some(row) if !row.flags.is_empty() => {
            format!("The rate ratio of skipped inspections cannot headline ({})", words(&row.flags))
        }
        _ => "Too few faults to say what skipped inspections are associated with".to_owned(),
    };
    let saving =
        firm(table.rows_of(By::Fleet, Quantity::NetSaving)).map_or_else(String::new, |row| {
            format!(
                "; looking at those ends is associated with a net saving of {} {}",
                Amount::of(row).full(&review.currency),
                a_year(review)
            )
        });
    format!("{ratio_words}{saving}.")
}

/// How far the headline moves under other rules, as the title of its picture; none with too few faults to say.
fn sensitivity_sentence(table: &Table) -> Option<String> {
    let other = |row: &&Row| row.is_firm() && row.own.variant != Some(Rule::AsRuled);
    let rows = table.rows_of(By::Fleet, Quantity::Sensitivity).filter(other);
    let rows: Vec<&Row> = rows.collect();
    let values = || rows.iter().filter_map(|row| row.estimate);
    let (least, most) = (values().fold(f64::INFINITY, f64::min), values().fold(0.0, f64::max));
    if rows.len() < 2 || least > most {
        return None;
    }
    let sure = rows.iter().filter(|row| row.low.is_some_and(|low| low > 1.0)).count();
    Some(format!(
        "Under other rules the ratio lies between {} and {}; {sure} of {} intervals lie above 1",
        fixed(least, 2),
        fixed(most, 2),
        rows.len()
    ))
}

/// The first of the ranked places, as the title of its picture; none where no place can be ranked.
fn place_sentence(review: &Review, by: By) -> Option<String> {
    let (row, surely) = leading(review, by)?;
    let (place, amount) = (label(row), Amount::of(row).full(&review.currency));
    Some(match (row.low.is_some_and(|low| low > 0.0), surely) {
        (true, true) => format!(
            "Skipped inspections at {place} are associated with the largest net loss: {amount} {}",
            in_a_year(review)
        ),
        (true, false) => format!(
            "Skipped inspections at {place} are associated with a net loss of {amount} {}, the first in rank but not surely the largest",
            in_a_year(review)
        ),
        (false, _) => {
            format!("No place is surely above zero; first in rank is {place}: {amount}")
        }
    })
}
