//! The tables of a site's page.

use crate::charts::number::count;
use crate::measures::skipped_cost::{self, By};
use crate::measures::worklist::{List, Row};
use crate::measures::{Review, changes, intake};
use crate::report::Inputs;
use crate::report::page::escape::html;
use crate::report::page::page_table::{PageTable, opened};
use crate::report::questions::worklist::when;
use crate::report::sites::files_of;
use crate::report::words::changed::{interval_words, subject, value_words};
use crate::report::words::do_first::face;
use crate::report::words::number::{Amount, count_or_dash, probability, whole};
use crate::store::FileAccount;

/// Reasons of refused rows that a site's page names.
const MOST_REASONS: usize = 12;

/// The site's rows of the worklist, each with a box to tick; none where it has none.
pub(super) fn work(review: &Review, site: &str, level: usize) -> Option<String> {
    let listed = List::ALL.iter().flat_map(|list| review.worklist.listed(*list));
    let mut rows: Vec<&Row> =
        listed.filter(|row| row.group.site.as_deref() == Some(site)).collect();
    if rows.is_empty() {
        return None;
    }
    // Firm rows by what they are expected to save, then those that may not be ranked.
    rows.sort_by(|a, b| {
        let saving = |row: &Row| row.own.rank.and(row.estimate).unwrap_or(f64::NEG_INFINITY);
        saving(b).total_cmp(&saving(a))
    });
    let mut out = format!(
        "{}<thead><tr>\
         <th scope=\"col\">done</th><th scope=\"col\">end face</th><th scope=\"col\">stage, family</th>\
         <th scope=\"col\">what to do</th><th scope=\"col\">why</th><th scope=\"col\">when</th>\
         <th scope=\"col\" class=\"number\">expected saving</th></tr></thead>\n<tbody>\n",
        opened(
            level,
            "Worklist of this site, what saves most first",
            "worklist of this site",
            "data"
        )
    );
    for row in rows {
        let part = |word: &Option<String>| word.clone().unwrap_or_default();
        let place = [part(&row.group.stage), part(&row.group.family)];
        let place: Vec<String> = place.into_iter().filter(|part| !part.is_empty()).collect();
        let service = row.own.service.as_deref().map(|service| format!(", {service}"));
        let span = if row.own.list == List::Carrier { " in the first month" } else { "" };
        out.push_str(&format!(
            "<tr><td><span class=\"tick\" role=\"img\" aria-label=\"box to tick\"></span></td><th scope=\"row\">{}{}</th>\
             <td>{}</td><td>{}</td><td>{}</td><td>{}</td><td class=\"number\">{}{span}</td></tr>\n",
            html(&face(row)),
            html(&service.unwrap_or_default()),
            html(&place.join(", ")),
            html(&part(&row.own.what_to_do)),
            html(&part(&row.own.reason)),
            when(row),
            html(&Amount::of(row).full(&review.currency)),
        ));
    }
    Some(out + "</tbody></table></div>\n")
}

/// What skipped looks cost at its stages.
pub(super) fn by_stage(review: &Review, site: &str) -> PageTable {
    let rows = review.skipped_cost.rows_of(By::SiteStage, skipped_cost::Quantity::NetSaving);
    let rows: Vec<&skipped_cost::Row> =
        rows.filter(|row| row.group.site.as_deref() == Some(site)).collect();
    PageTable::over(&rows)
        .words("stage", |row| row.group.stage.clone().unwrap_or_default())
        .numbers("matings skipped", |row| count_or_dash(row.own.matings_skipped))
        .numbers("faults after skipped", |row| count_or_dash(row.own.faults_skipped))
        .numbers("after both seen", |row| count_or_dash(row.own.faults_both))
        .estimates(review, "net cost of skipped looks")
        .flags()
        .set("What skipped looks cost here, by stage", skipped_cost::NAME)
}

/// What changed, or could not be shown to.
pub(super) fn changed(review: &Review, site: &str) -> PageTable {
    let rows = review.changes.rows.iter();
    let rows: Vec<&changes::Row> = rows
        .filter(|row| row.by == changes::By::Site && row.group.site.as_deref() == Some(site))
        .collect();
    PageTable::over(&rows)
        .words("what", |row| subject(row.quantity).to_owned())
        .words("against", |row| row.own.quarter.clone())
        .numbers("then", |row| value_words(row, row.own.value_before))
        .numbers("now", |row| value_words(row, row.own.value))
        .numbers("change, interval", |row| interval_words(row))
        .numbers("q", |row| row.own.q.map_or_else(String::new, probability))
        .flags()
        .set("Since earlier quarters", changes::NAME)
}

/// What became of the rows of its exports.
pub(super) fn exports(inputs: &Inputs, site: &str) -> PageTable {
    let files: Vec<&FileAccount> = files_of(inputs, site);
    PageTable::over(&files)
        .words("file", |file| file.file.clone())
        .words("source", |file| file.source.clone())
        .numbers("read", |file| count(file.rows.read))
        .numbers("loaded", |file| count(file.rows.loaded))
        .numbers("superseded", |file| count(file.rows.superseded))
        .numbers("duplicate", |file| count(file.rows.duplicate))
        .numbers("rejected", |file| count(file.rows.quarantined))
        .set("Rows of its exports", intake::NAME)
}

/// Why rows of them were rejected.
pub(super) fn refused(inputs: &Inputs, site: &str) -> PageTable {
    let files = files_of(inputs, site);
    let is_own = |row: &&intake::Row| {
        files.iter().any(|file| file.source == row.own.source && file.file == row.own.file)
    };
    let mut rows: Vec<&intake::Row> =
        inputs.review.intake.quantity(intake::Quantity::Refused).filter(is_own).collect();
    rows.sort_by(|a, b| b.n.total_cmp(&a.n));
    let example = |fault: &intake::Row| {
        let mut rows = inputs.review.intake.quantity(intake::Quantity::Example);
        let found = rows.find(|row| {
            let (a, b) = (&row.own, &fault.own);
            (&a.source, &a.file, &a.table, &a.column) == (&b.source, &b.file, &b.table, &b.column)
        });
        found.map(|row| (row.own.line, row.own.reason.clone().unwrap_or_default()))
    };
    PageTable::over(&rows)
        .words("file", |row| row.own.file.clone())
        .words("column", |row| row.own.column.clone().unwrap_or_else(|| "the whole row".to_owned()))
        .numbers("rows", |row| whole(Some(row.n)))
        .numbers("first at line", |row| {
            example(row).and_then(|(line, _)| line).map_or_else(String::new, count)
        })
        .words("found there", |row| example(row).map(|(_, reason)| reason).unwrap_or_default())
        .set_first(
            MOST_REASONS,
            "Why rows of them were rejected, the commonest first",
            intake::NAME,
        )
}
