//! The purchase case alone: a page with its one section, its pictures and its table.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::case::case;
use super::escape::html;
use super::html::{in_shell, warned};
use crate::report::error::ReportError;
use crate::report::files::charts;
use crate::report::files::place::{Content, place};
use crate::report::files::{dictionary, run, tables};
use crate::report::questions::payback::section as payback_section;
use crate::report::words::purchase::{answer, purchases};
use crate::report::{Inputs, Written};

const TEMPLATE: &str = include_str!("payback.html");

/// The page of a single proposal that can be valued.
const CASE: &str = "case.html";

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
    let all = purchases(review);
    let sentence = |line: String| format!("<li>{}</li>\n", html(&line));
    let title = format!("{}: purchase case {}", review.fleet, review.period.quarter);
    let values = vec![
        ("answer", html(&answer(review))),
        ("sentences", all.iter().map(|own| sentence(own.sentence(review))).collect()),
        ("made_without", warned(review)),
        ("section", section.html(1)),
    ];
    files.push(("payback.html".to_owned(), in_shell(inputs, &title, TEMPLATE, values)));
    if let [one] = &all[..]
        && one.worth.estimate.is_some()
    {
        files.push((CASE.to_owned(), case(inputs, one)));
    }
    let files: Vec<Content> = files.into_iter().collect::<BTreeMap<_, _>>().into_iter().collect();
    place(&files, folder)?;
    let names = files.into_iter().map(|(name, _)| PathBuf::from(name)).collect();
    Ok(Written { folder: folder.to_owned(), files: names, findings: vec![section.finding] })
}
