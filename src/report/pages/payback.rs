//! The purchase case alone: a page with its one section, its pictures and its table.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::around::made_with;
use super::case::{self, case};
use super::headlined::warned;
use crate::report::error::ReportError;
use crate::report::files::charts;
use crate::report::files::place::{Content, place};
use crate::report::files::{dictionary, run, tables};
use crate::report::page::escape::html;
use crate::report::page::links::Links;
use crate::report::page::section::Section;
use crate::report::page::shell::Shell;
use crate::report::questions::payback::section as payback_section;
use crate::report::words::months::looked_back;
use crate::report::words::number::level;
use crate::report::words::purchase::{answer, purchases};
use crate::report::{Inputs, Written};

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
    files.extend(dictionary::files(&[table], &review.currency));
    files.push(("payback.html".to_owned(), page(inputs, &section)));
    if let [one] = &purchases(review)[..]
        && one.worth.estimate.is_some()
    {
        files.push((case::NAME.to_owned(), case(inputs, one)));
    }
    let files: Vec<Content> = files.into_iter().collect::<BTreeMap<_, _>>().into_iter().collect();
    place(&files, folder)?;
    let names = files.into_iter().map(|(name, _)| PathBuf::from(name)).collect();
    Ok(Written {
        folder: folder.to_owned(),
        files: names,
        findings: vec![section.finding],
        short: Vec::new(),
    })
}

fn page(inputs: &Inputs, section: &Section) -> Vec<u8> {
    let review = inputs.review;
    let (fleet, quarter) = (html(&review.fleet), html(&review.period.quarter.to_string()));
    let sentence = |line: String| format!("<li>{}</li>\n", html(&line));
    let sentences: String =
        purchases(review).iter().map(|own| sentence(own.sentence(review))).collect();
    let body = format!(
        "<header class=\"masthead\">\n<p class=\"kind\">Purchase case</p>\n<h1>{fleet}, {quarter}</h1>\n\
         <p class=\"span\">From the records of {}; intervals at {}.</p>\n</header>\n<h2>{}</h2>\n<ul>\n{sentences}</ul>\n{}{}",
        html(&looked_back(review)),
        html(&level(review.level)),
        html(&answer(review)),
        warned(review),
        section.html(1, Links::Alone, 2, ""),
    );
    let footer = format!(
        "<p>{} The table as CSV and Parquet is in tables/, every picture as SVG and PNG in charts/.</p>\n",
        made_with(inputs)
    );
    let title = format!("{}: purchase case {}", review.fleet, review.period.quarter);
    Shell { title, kind: "case", contents: String::new(), body, footer }.page()
}
