//! A question of the readers and its answer, as the page and the machine-readable findings take it.

use super::escape::html;
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
    pub pictures: Vec<Picture>,
    pub tables: Vec<PageTable>,
    /// How it was counted, with the source.
    pub method: String,
    /// What a reader must know before acting on it.
    pub doubts: Vec<String>,
}

impl Section {
    /// The section as HTML, numbered.
    pub(in crate::report) fn html(&self, number: usize) -> String {
        let mut out = format!(
            "<section id=\"{}\">\n<p class=\"question\">{number} · {}</p>\n<h2>{}</h2>\n",
            self.id,
            html(self.question),
            html(&self.finding)
        );
        for picture in &self.pictures {
            out.push_str(&picture.html());
        }
        for table in &self.tables {
            out.push_str(&table.html());
        }
        out.push_str(&format!(
            "<p class=\"method\"><b>How it is counted.</b> {}</p>\n",
            html(&self.method)
        ));
        if !self.doubts.is_empty() {
            out.push_str("<div class=\"doubts\"><p><b>Doubts.</b></p><ul>\n");
            for doubt in &self.doubts {
                out.push_str(&format!("<li>{}</li>\n", html(doubt)));
            }
            out.push_str("</ul></div>\n");
        }
        out.push_str("</section>\n");
        out
    }
}

/// The days of the period: "2026-04-01 to 2026-06-30".
pub(in crate::report) fn days(review: &Review) -> String {
    format!("{} to {}", review.period.first_day, review.period.last_day)
}

/// How many rows there are, with the noun in the right number: "1 visit", "3 412 visits".
pub(in crate::report) fn counted(n: f64, one: &str, many: &str) -> String {
    format!("{} {}", fixed(n, 0), if n.round() == 1.0 { one } else { many })
}
