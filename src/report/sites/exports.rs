//! Which exports hold records of a site: those of the sources that are heard naming end faces there.

use std::collections::BTreeSet;

use crate::measures::Review;
use crate::measures::trust::{By, Quantity};
use crate::report::Inputs;
use crate::store::FileAccount;

/// The sources that name end faces of a site, in order.
fn sources_of(review: &Review, site: &str) -> BTreeSet<String> {
    let rows = review.trust.rows_of(By::Site, Quantity::NamesMet);
    rows.filter(|row| row.group.site.as_deref() == Some(site))
        .filter_map(|row| row.own.source.clone())
        .collect()
}

/// Their files, by source and name.
pub(in crate::report) fn files_of<'a>(inputs: &Inputs<'a>, site: &str) -> Vec<&'a FileAccount> {
    let sources = sources_of(inputs.review, site);
    let mut files: Vec<&FileAccount> =
        inputs.accounts.iter().filter(|file| sources.contains(&file.source)).collect();
    files.sort_by(|a, b| (&a.source, &a.file).cmp(&(&b.source, &b.file)));
    files
}
