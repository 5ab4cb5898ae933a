//! Every file of a report, and the folder that takes them whole.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::error::ReportError;
use super::files::place::Content;
use super::files::workbook::Sheet;
use super::files::{charts, dictionary, findings, place, run, tables, workbook};
use super::inputs::Inputs;
use super::pages::{Parts, one_file, pages};
use super::questions;
use super::words::headline;
use super::words::in_short::in_short;
use super::written::Written;

/// Whether the report's pages are files of their own.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Form {
    /// A front page, and a page a question and a site in `pages`.
    #[default]
    Pages,
    /// All of it as one `report.html`.
    OneFile,
}

/// Writes the report of a review to `folder`, in place of an older one; missing parents are made.
///
/// # Errors
/// A file or folder that cannot be written, or a picture or table that cannot be encoded. What was in `folder` stays
/// then as it was.
pub fn write(inputs: &Inputs, folder: &Path) -> Result<Written, ReportError> {
    write_as(inputs, folder, Form::Pages)
}

/// The same in either form.
///
/// # Errors
/// As [`write`].
pub fn write_as(inputs: &Inputs, folder: &Path, form: Form) -> Result<Written, ReportError> {
    let sections = questions::sections(inputs);
    let headlines = headline::headlines(inputs.review);
    let first = questions::skipped_cost::first_picture(inputs.review);
    let worst = questions::trust::doubts(inputs.review).into_iter().next();
    let short = in_short(inputs.review, worst.map(|doubt| doubt.sentence).as_deref());
    let parts = Parts {
        inputs,
        headlines: &headlines,
        first: first.as_ref(),
        sections: &sections,
        short: &short,
    };
    let mut files: Vec<Content> = vec![
        ("findings.json".to_owned(), findings::findings(inputs.review, &headlines, &sections)?),
        (run::NAME.to_owned(), run::run(inputs)?),
    ];
    files.extend(match form {
        Form::Pages => pages(&parts),
        Form::OneFile => one_file(&parts),
    });
    let shown = sections.iter().flat_map(|section| &section.pictures).chain(&first);
    files.extend(charts::files(shown.collect())?);
    let mut sheets = Vec::new();
    for table in inputs.review.tables() {
        let columns = tables::columns(table, inputs.review);
        files.extend(tables::files(table, &columns, inputs.review)?);
        sheets.push(Sheet { name: table.name(), about: table.doc(), columns });
    }
    let all = inputs.review.tables();
    files.extend(dictionary::files(&all, &inputs.review.currency));
    sheets.push(Sheet {
        name: dictionary::NAME,
        about: "What every table, column, quantity, word, unit and flag means.",
        columns: dictionary::sheet(&all, &inputs.review.currency),
    });
    files.push(("tables.xlsx".to_owned(), workbook::workbook(inputs.review, &headlines, &sheets)?));
    let files: Vec<Content> = files.into_iter().collect::<BTreeMap<_, _>>().into_iter().collect();
    place::place(&files, folder)?;
    let mut names: Vec<PathBuf> = files.into_iter().map(|(name, _)| PathBuf::from(name)).collect();
    names.sort();
    Ok(Written {
        folder: folder.to_owned(),
        files: names,
        findings: sections.into_iter().map(|section| section.finding).collect(),
        short,
    })
}
