//! The review as people and machines read it: one page, pictures, tables, findings, and what the run was made of.
//!
//! Promises: the same review gives the same bytes; the folder is replaced whole or not at all; every word from records
//! is escaped for where it goes (page, picture, spreadsheet); a table without rows is said to be so. It picks, orders,
//! formats and words; where it stops: no statistic is computed here.

mod error;
mod files;
mod page;
mod questions;
mod words;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use rayon::prelude::*;

use crate::charts::png;
use crate::measures::Review;
use crate::store::FileAccount;

pub use error::ReportError;
use files::place::Content;
pub use files::place::{may_replace, try_folder};
use files::{dictionary, findings, place, run, tables, workbook};
use page::html as front;
pub use page::payback::write_payback;
use page::picture::Picture;
use words::headline;
pub use words::purchase::payback_lines;

/// What a report is made of.
#[derive(Clone, Debug)]
pub struct Inputs<'a> {
    /// The finished measures.
    pub review: &'a Review,
    /// What became of the rows of every file, in any order.
    pub accounts: &'a [FileAccount],
    /// Seed of every draw.
    pub seed: u64,
    /// BLAKE3 of the settings' text, hex.
    pub settings_hash: String,
}

/// What was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// The folder of the report.
    pub folder: PathBuf,
    /// Its files, relative to it, in order.
    pub files: Vec<PathBuf>,
    /// One finding a question, in order.
    pub findings: Vec<String>,
}

/// Writes the report of a review to `folder`, in place of an older one; missing parents are made.
///
/// # Errors
/// A file or folder that cannot be written, or a picture or table that cannot be encoded. What was in `folder` stays
/// then as it was.
pub fn write(inputs: &Inputs, folder: &Path) -> Result<Written, ReportError> {
    let sections = questions::sections(inputs);
    let headlines = headline::headlines(inputs.review);
    let first = questions::skipped_cost::first_picture(inputs.review);
    let mut files: Vec<Content> = vec![
        ("findings.json".to_owned(), findings::findings(inputs.review, &headlines, &sections)?),
        (run::NAME.to_owned(), run::run(inputs)?),
        ("report.html".to_owned(), front::page(inputs, &headlines, first.as_ref(), &sections)),
    ];
    let shown = sections.iter().flat_map(|section| &section.pictures).chain(&first);
    files.extend(charts(shown.collect())?);
    let mut sheets = Vec::new();
    for table in inputs.review.tables() {
        let columns = tables::columns(table, inputs.review);
        files.extend(tables::files(table, &columns, inputs.review)?);
        sheets.push((table.name(), columns));
    }
    let all = inputs.review.tables();
    files.extend(dictionary::files(&all));
    sheets.push((dictionary::NAME, dictionary::sheet(&all)));
    files.push(("tables.xlsx".to_owned(), workbook::workbook(&sheets)?));
    let files: Vec<Content> = files.into_iter().collect::<BTreeMap<_, _>>().into_iter().collect();
    place::place(&files, folder)?;
    let mut names: Vec<PathBuf> = files.into_iter().map(|(name, _)| PathBuf::from(name)).collect();
    names.sort();
    Ok(Written {
        folder: folder.to_owned(),
        files: names,
        findings: sections.into_iter().map(|section| section.finding).collect(),
    })
}

/// Every picture as SVG and PNG, drawn side by side.
fn charts(pictures: Vec<&Picture>) -> Result<Vec<Content>, ReportError> {
    let pairs: Vec<[Content; 2]> = pictures
        .into_par_iter()
        .map(|picture| {
            let name = picture.name;
            let drawn =
                png(&picture.svg).map_err(|source| ReportError::Picture { name, source })?;
            let svg = picture.svg.clone().into_bytes();
            Ok([(format!("charts/{name}.svg"), svg), (format!("charts/{name}.png"), drawn)])
        })
        .collect::<Result<_, ReportError>>()?;
    Ok(pairs.into_iter().flatten().collect())
}
