//! `findings.json`: the headlines, ranked places and findings for machines. Numbers have nine significant digits, money
//! is in units of the currency.

use serde::Serialize;

use super::digits::nine;
use super::in_currency::major;
use crate::measures::skipped_cost::{self, By};
use crate::measures::{Review, Unit, changes};
use crate::report::error::ReportError;
use crate::report::page::section::Section;
use crate::report::questions::trust::doubts;
use crate::report::words::do_first::do_first;
use crate::report::words::headline::Headline;
use crate::report::words::label::label;
use crate::report::words::ranked::ranked;
use crate::report::words::unanswered::reason;

/// Version of the file's shape.
///
/// 2: money in units of the currency instead of minor ones.
pub(in crate::report) const SCHEMA_VERSION: u32 = 2;

#[derive(Serialize)]
struct File<'a> {
    schema_version: u32,
    fleet: &'a str,
    currency: &'a str,
    period: Span,
    level: Option<f64>,
    horizon_days: u32,
    look_back_months: u32,
    headlines: Vec<Line<'a>>,
    do_first: Vec<String>,
    places: Vec<Place<'a>>,
    findings: Vec<Finding<'a>>,
    /// Why not to trust them, the worst first.
    doubts: Vec<Doubted>,
    /// Questions that the records cannot answer.
    unanswered: Vec<Unanswered<'a>>,
    /// Questions of the settings that nobody has answered, the one that changes most first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    open_questions: Vec<Open<'a>>,
}

/// A question of the settings.
#[derive(Serialize)]
struct Open<'a> {
    line: usize,
    question: &'a str,
    changes: &'a str,
}

/// A doubt; its weight is the share of rows or of a headline that it could take away, at most 1.
#[derive(Serialize)]
struct Doubted {
    weight: Option<f64>,
    sentence: String,
}

#[derive(Serialize)]
struct Unanswered<'a> {
    measure: &'a str,
    reason: String,
}

/// The period, days both included.
#[derive(Serialize)]
pub(in crate::report) struct Span {
    quarter: String,
    first_day: String,
    last_day: String,
}

impl Span {
    pub(in crate::report) fn of(review: &Review) -> Span {
        Span {
            quarter: review.period.quarter.to_string(),
            first_day: review.period.first_day.to_string(),
            last_day: review.period.last_day.to_string(),
        }
    }
}

#[derive(Serialize)]
struct Line<'a> {
    name: &'a str,
    value: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
    unit: &'a str,
    flags: &'a [&'static str],
    sentence: String,
    /// Against earlier quarters; empty where there is nothing firm to compare with.
    changes: Vec<Change<'a>>,
}

/// A difference of shares, or a ratio of rates.
#[derive(Serialize)]
struct Change<'a> {
    against: &'a str,
    quarter: &'a str,
    before: Option<f64>,
    change: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
    unit: &'a str,
    p: Option<f64>,
    q: Option<f64>,
}

#[derive(Serialize)]
struct Place<'a> {
    by: &'a str,
    rank: Option<i64>,
    site: Option<&'a str>,
    stage: Option<&'a str>,
    family: Option<&'a str>,
    place: String,
    /// Net saving a year, in units of the currency.
    net_saving: Option<f64>,
    low: Option<f64>,
    high: Option<f64>,
    matings_skipped: Option<i64>,
    flags: Vec<&'static str>,
}

#[derive(Serialize)]
struct Finding<'a> {
    measure: &'a str,
    question: &'a str,
    finding: &'a str,
}

/// The file's bytes.
pub(in crate::report) fn findings(
    review: &Review,
    headlines: &[Headline],
    sections: &[Section],
) -> Result<Vec<u8>, ReportError> {
    let places = [By::StageFamily, By::SiteStage];
    let file = File {
        schema_version: SCHEMA_VERSION,
        fleet: &review.fleet,
        currency: &review.currency,
        period: Span::of(review),
        level: nine(review.level),
        horizon_days: review.horizon_days,
        look_back_months: review.look_back_months,
        headlines: headlines.iter().map(line).collect(),
        do_first: do_first(review),
        places: places.into_iter().flat_map(|by| ranked(review, by)).map(place).collect(),
        findings: sections
            .iter()
            .map(|s| Finding { measure: s.id, question: s.question, finding: &s.finding })
            .collect(),
        doubts: doubts(review)
            .into_iter()
            .map(|doubt| Doubted { weight: nine(doubt.weight), sentence: doubt.sentence })
            .collect(),
        unanswered: sections
            .iter()
            .filter_map(|s| Some(Unanswered { measure: s.id, reason: reason(review, s.id)? }))
            .collect(),
        open_questions: review
            .open_questions
            .iter()
            .map(|open| Open { line: open.line, question: &open.text, changes: &open.changes })
            .collect(),
    };
    json("findings.json", &file)
}

/// Any file as JSON, ending in a line feed.
pub(in crate::report) fn json(
    file: &'static str,
    value: &impl Serialize,
) -> Result<Vec<u8>, ReportError> {
    let mut bytes =
        serde_json::to_vec_pretty(value).map_err(|source| ReportError::Json { file, source })?;
    bytes.push(b'\n');
    Ok(bytes)
}

fn line(headline: &Headline) -> Line<'_> {
    let part = |part: fn(&crate::report::words::number::Amount) -> Option<f64>| {
        let number = headline.amount.as_ref().and_then(part);
        number.map(|of| if headline.unit == Unit::Money { major(of) } else { of }).and_then(nine)
    };
    Line {
        name: headline.name,
        value: part(|amount| amount.value),
        low: part(|amount| amount.low),
        high: part(|amount| amount.high),
        unit: headline.unit.word(),
        flags: &headline.flags,
        sentence: headline.sentence(),
        changes: headline.changes.iter().map(change).collect(),
    }
}

fn change(row: &changes::Row) -> Change<'_> {
    Change {
        against: row.own.against.word(),
        quarter: &row.own.quarter,
        before: row.own.value_before.and_then(nine),
        change: row.estimate.and_then(nine),
        low: row.low.and_then(nine),
        high: row.high.and_then(nine),
        unit: row.unit().word(),
        p: nine(row.own.p),
        q: row.own.q.and_then(nine),
    }
}

fn place(row: &skipped_cost::Row) -> Place<'_> {
    let money = |value: Option<f64>| value.map(major).and_then(nine);
    Place {
        by: row.by.word(),
        rank: row.own.rank,
        site: row.group.site.as_deref(),
        stage: row.group.stage.as_deref(),
        family: row.group.family.as_deref(),
        place: label(row),
        net_saving: money(row.estimate),
        low: money(row.low),
        high: money(row.high),
        matings_skipped: row.own.matings_skipped,
        flags: row.flags.iter().map(|flag| flag.word()).collect(),
    }
}
