//! Looks taken twice: whether they agree, and whether they were taken where the first look gave reason to.

use super::part::{Doubt, MOST_ROWS, Part};
use crate::measures::Review;
use crate::measures::trust::{By, LooksOf, NAME, Quantity, Row, Table};
use crate::report::page::page_table::PageTable;
use crate::report::words::number::{Amount, whole};

pub(super) fn part(review: &Review) -> Part {
    let table = &review.trust;
    let kappas = [Quantity::Agreement, Quantity::AgreementInTurn];
    let kappas = kappas.into_iter().flat_map(|kappa| table.rows_of(By::Fleet, kappa));
    let kappas: Vec<&Row> = kappas.collect();
    if kappas.is_empty() {
        return Part::default();
    }
    let shares: Vec<&Row> = table.rows_of(By::Fleet, Quantity::FailingLooks).collect();
    let agreement = PageTable::over(&kappas)
        .words("agreement beyond chance", |row| kappa_of(row).to_owned())
        .n("pairs")
        .events("alike")
        .estimates(review, "kappa")
        .flags()
        .set_first(MOST_ROWS, "Two looks in a row at one end face", NAME);
    let failing = PageTable::over(&shares)
        .words("looks", |row| looks_of(row).to_owned())
        .n("readable")
        .events("failing")
        .estimates(review, "failing")
        .set_first(MOST_ROWS, "How often looks fail that are taken twice", NAME);
    Part { tables: vec![agreement, failing], doubts: doubt(review, table).into_iter().collect() }
}

fn kappa_of(row: &Row) -> &'static str {
    match row.quantity {
        Quantity::AgreementInTurn => "first against second looks (Cohen)",
        _ => "any two looks (Fleiss)",
    }
}

fn looks_of(row: &Row) -> &'static str {
    match row.own.looks {
        Some(LooksOf::FirstOfPair) => "first of two",
        Some(LooksOf::SecondOfPair) => "second of two",
        _ => "all",
    }
}

/// What kappa may be taken for: as the shares of failing looks say.
fn doubt(review: &Review, table: &Table) -> Option<Doubt> {
    let share = |looks| {
        table.rows_of(By::Fleet, Quantity::FailingLooks).find(|row| row.own.looks == Some(looks))
    };
    let kappa = table.rows_of(By::Fleet, Quantity::Agreement).next()?;
    let (first, all) = (share(LooksOf::FirstOfPair)?, share(LooksOf::All)?);
    let (low, high, usual) = (first.low?, first.high?, all.estimate?);
    let words = |row: &Row| Amount::of(row).full(&review.currency);
    let pairs = whole(Some(kappa.n));
    let agreed = match kappa.estimate {
        Some(_) => format!("kappa {}", words(kappa)),
        None => "kappa cannot be told".to_owned(),
    };
    let shares = format!("{} of the first looks fail, of all looks {}", words(first), words(all));
    let (apart, meaning) = if high < usual {
        (
            usual - high,
            "second looks follow passes, so kappa tells how rarely a pass is overturned, not how well looks agree",
        )
    } else if low > usual {
        (
            low - usual,
            "second looks follow failures, so kappa is of doubtful end faces, not of looks in general",
        )
    } else {
        (
            0.0,
            "they are looked at twice whatever the first look said, so kappa holds for looks in general",
        )
    };
    let sentence = format!(
        "{pairs} times two people or instruments looked at an end face within a quarter of an hour, {agreed}. {shares}: {meaning}."
    );
    Some(Doubt { weight: apart, sentence })
}
