//! A question of the readers and its answer, as pages and the machine-readable findings take it.

use super::escape::html;
use super::links::Links;
use super::page_table::PageTable;
use super::picture::Picture;
use crate::charts::number::fixed;
use crate::measures::Review;

/// One question.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::report) struct Section {
    /// Name of the measure's table; also the anchor on the page.
    pub id: &'static str,
    pub question: &'static str,
    /// The answer, a sentence with its size and doubt.
    pub finding: String,
    /// The first is in sight, the others are folded.
    pub pictures: Vec<Picture>,
    /// The first is in sight, the others are folded.
    pub tables: Vec<PageTable>,
    /// How it was counted, with the source.
    pub method: String,
    /// What a reader must know before acting on it.
    pub doubts: Vec<String>,
}

impl Section {
    /// The section as HTML, numbered: question and answer as one heading of this level, what follows one level below;
    /// `lead` is HTML that stands below the heading.
    ///
    /// In sight are one picture and one table. The rest is folded; print unfolds it.
    pub(in crate::report) fn html(
        &self,
        number: usize,
        links: Links,
        level: usize,
        lead: &str,
    ) -> String {
        let below = level + 1;
        let mut out = format!(
            "<section id=\"{}\">\n<h{level}><span class=\"asked\">{number} · {}</span> <span \
             class=\"answer\">{}</span></h{level}>\n{lead}",
            self.id,
            html(self.question),
            html(&self.finding)
        );
        let mut pictures = self.pictures.iter();
        out.extend(pictures.next().map(|picture| picture.html(links, below)));
        let mut tables = self.tables.iter().filter(|table| !table.rows.is_empty());
        out.extend(tables.next().map(|table| table.html(links, below)));
        let pictures: Vec<String> = pictures.map(|one| one.html(links, below + 1)).collect();
        out.push_str(&folded("Further charts", pictures.len(), below, &pictures.concat()));
        let tables: Vec<String> = tables.map(|one| one.html(links, below + 1)).collect();
        out.push_str(&folded("Further tables", tables.len(), below, &tables.concat()));
        out.push_str(&folded(
            "How it is counted",
            1,
            below,
            &format!("<p class=\"method\">{}</p>\n", html(&self.method)),
        ));
        let doubts: Vec<String> =
            self.doubts.iter().map(|doubt| format!("<li>{}</li>\n", html(doubt))).collect();
        let list = format!("<ul class=\"doubts\">\n{}</ul>\n", doubts.concat());
        out.push_str(&folded("Doubts", doubts.len(), below, &list));
        out.push_str(&self.files(links));
        out.push_str("</section>\n");
        out
    }

    /// Where its numbers are.
    fn files(&self, links: Links) -> String {
        let link = |path: String| format!("<a href=\"{}\">{path}</a>", links.file(&path));
        let [csv, parquet] = ["csv", "parquet"].map(|kind| format!("tables/{}.{kind}", self.id));
        format!(
            "<p class=\"files\">All rows: {}, {}; columns and words are explained in {}.</p>\n",
            link(csv),
            link(parquet),
            link("tables/dictionary.csv".to_owned()),
        )
    }
}

/// A fold with its heading, which says how many things it holds if they are several; nothing if it holds none.
pub(in crate::report) fn folded(heading: &str, holds: usize, level: usize, body: &str) -> String {
    let heading = match holds {
        0 => return String::new(),
        1 => heading.to_owned(),
        holds => format!("{heading} ({holds})"),
    };
    format!(
        "<details class=\"part\"><summary><h{level}>{}</h{level}></summary>\n{body}</details>\n",
        html(&heading)
    )
}

/// The days of the period: "2026-04-01 to 2026-06-30".
pub(in crate::report) fn days(review: &Review) -> String {
    format!("{} to {}", review.period.first_day, review.period.last_day)
}

/// How many rows there are, with the noun in the right number: "1 visit", "3 412 visits".
pub(in crate::report) fn counted(n: f64, one: &str, many: &str) -> String {
    format!("{} {}", fixed(n, 0), if n.round() == 1.0 { one } else { many })
}
