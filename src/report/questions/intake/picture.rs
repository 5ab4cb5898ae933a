//! What became of every row of every file.

use crate::charts::{AccountBars, AccountRow, Class, Fill, Frame, account_bars};
use crate::report::page::picture::Picture;
use crate::store::{FileAccount, RowAccount};

/// One bar a file, the largest first.
pub(in crate::report) fn accounts(lines: &[FileAccount], title: String) -> Option<Picture> {
    if lines.is_empty() {
        return None;
    }
    let mut lines: Vec<&FileAccount> = lines.iter().collect();
    lines.sort_by(|a, b| {
        b.rows.read.cmp(&a.rows.read).then_with(|| (&a.source, &a.file).cmp(&(&b.source, &b.file)))
    });
    let shared = shared_folder(&lines);
    let subtitle = "Rows of every file by what became of them".to_owned();
    // Few fleets drop records for their age; the others need no such class.
    let expired = lines.iter().any(|line| line.rows.expired > 0);
    let class = |label: &str, fill| Class { label: label.to_owned(), fill };
    let chart = AccountBars {
        frame: Frame {
            description: format!("{title}. {subtitle}."),
            title,
            subtitle,
            caption: String::new(),
        },
        classes: [
            class("loaded", Fill::Quiet),
            class("superseded", Fill::StrongHatched),
            class("duplicate", Fill::Open),
            class("quarantined", Fill::SecondCrossed),
        ]
        .into_iter()
        .chain(expired.then(|| class("expired", Fill::Strong)))
        .collect(),
        rows: lines.iter().map(|line| row(line, shared, expired)).collect(),
        rest: "in run.json".to_owned(),
    };
    Some(Picture { name: "rows-by-file", svg: account_bars(&chart) })
}

/// Length of the folders that all files lie in: they tell no file from another.
fn shared_folder(lines: &[&FileAccount]) -> usize {
    let first = lines.first().map_or("", |line| line.file.as_str());
    let ends = first.match_indices('/').map(|(at, _)| at + 1);
    let holds = |end: &usize| lines.iter().all(|line| line.file.starts_with(&first[..*end]));
    ends.take_while(holds).last().unwrap_or(0)
}

fn row(line: &FileAccount, shared: usize, expired: bool) -> AccountRow {
    let RowAccount { loaded, superseded, duplicate, quarantined, .. } = line.rows;
    let counts = [loaded, superseded, duplicate, quarantined];
    AccountRow {
        label: line.file.get(shared..).unwrap_or(&line.file).to_owned(),
        counts: counts.into_iter().chain(expired.then_some(line.rows.expired)).collect(),
    }
}
