//! Every file of a report, and the folder that takes them whole.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::error::ReportError;
use super::files::place::Content;
use super::files::{charts, dictionary, findings, place, run, tables, workbook};
use super::inputs::Inputs;
use super::page::html as front;
use super::questions;
use super::words::headline;
use super::written::Written;
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
    files.extend(charts::files(shown.collect())?);
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
