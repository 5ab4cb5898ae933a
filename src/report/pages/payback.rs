//! The purchase case alone: a page with its one section, its pictures and its table.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::escape::html;
use super::html::{STYLE, filled, warned};
use crate::report::error::ReportError;
use crate::report::files::charts;
use crate::report::files::place::{Content, place};
use crate::report::files::{dictionary, run, tables};
use crate::report::questions::payback::section as payback_section;
use crate::report::words::months::looked_back;
use crate::report::words::number::level;
use crate::report::words::purchase::{answer, purchases};
use crate::report::{Inputs, Written};

const TEMPLATE: &str = include_str!("payback.html");

/// Writes the purchase case of a review to `folder`, in place of an older one; missing parents are made.
///
/// # Errors
/// As [`crate::report::write`]. What was in `folder` stays then as it was.
pub fn write_payback(inputs: &Inputs, folder: &Path) -> Result<Written, ReportError> {
    let review = inputs.review;
    let section = payback_section(review);
    let mut files: Vec<Content> = vec![(run::NAME.to_owned(), run::run(inputs)?)];
    files.extend(charts::files(section.pictures.iter().collect())?);
    let table = &review.payback;
    files.extend(tables::files(table, &tables::columns(table, review), review)?);
    files.extend(dictionary::files(&[table]));
    let sentence = |line: String| format!("<li>{}</li>\n", html(&line));
    let sentences = purchases(review).iter().map(|own| sentence(own.sentence(review))).collect();
    let values = [
        ("style", STYLE.to_owned()),
        ("fleet", html(&review.fleet)),
        ("quarter", html(&review.period.quarter.to_string())),
        ("look_back", html(&looked_back(review))),
        ("level", html(&level(review.level))),
        ("answer", html(&answer(review))),
        ("sentences", sentences),
        ("made_without", warned(review)),
        ("section", section.html(1)),
        ("version", html(env!("CARGO_PKG_VERSION"))),
        ("settings", html(inputs.settings_hash.get(..12).unwrap_or(&inputs.settings_hash))),
        ("seed", inputs.seed.to_string()),
    ];
    files.push(("payback.html".to_owned(), filled(TEMPLATE, &values).into_bytes()));
    let files: Vec<Content> = files.into_iter().collect::<BTreeMap<_, _>>().into_iter().collect();
    place(&files, folder)?;
    let names = files.into_iter().map(|(name, _)| PathBuf::from(name)).collect();
    Ok(Written { folder: folder.to_owned(), files: names, findings: vec![section.finding] })
}
