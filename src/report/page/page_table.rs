//! A table on the page: texts in, HTML out. Numbers stand to the right and line up on their decimal point.

use super::escape::html;
use super::links::Links;
use crate::measures::{AnyRow, Leading, Review};
use crate::report::words::flags;
use crate::report::words::number::{Amount, Scale, level, whole};

/// Rows that a page holds, of which its script keeps twelve in sight; the table files have all.
pub(in crate::report) const MOST_ROWS: usize = 60;

/// Characters of a word before it is broken.
const WIDEST_WORD: usize = 22;

/// How a column is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::report) enum Set {
    Words,
    /// Words of flags, each a link to its sentence.
    Flags,
    /// Lined up on the decimal point.
    Number,
}

/// A table in the making: its rows, whatever they are of, and column after column what each is called, how it is set and
/// what it says of a row. [`Laid::set`] makes it ready.
///
/// ```text
/// PageTable::over(&rows)
///     .words("site", |row| label(row))
///     .n("matings")
///     .events("skipped")
///     .estimates(review, "skipped")
///     .flags()
///     .set("Skipped, by site", NAME)
/// ```
pub(in crate::report) struct Laid<'r, R> {
    rows: &'r [R],
    headings: Vec<(String, Set)>,
    columns: Vec<Vec<String>>,
}

impl<R> Laid<'_, R> {
    /// A column of words.
    pub(in crate::report) fn words(self, heading: &str, cell: impl Fn(&R) -> String) -> Self {
        let cells = self.rows.iter().map(cell).collect();
        self.cells(heading, Set::Words, cells)
    }

    /// A column of numbers, as text.
    pub(in crate::report) fn numbers(self, heading: &str, cell: impl Fn(&R) -> String) -> Self {
        let cells = self.rows.iter().map(cell).collect();
        self.cells(heading, Set::Number, cells)
    }

    /// A column of cells that are at hand, one a row.
    pub(in crate::report) fn cells(mut self, heading: &str, set: Set, cells: Vec<String>) -> Self {
        self.headings.push((heading.to_owned(), set));
        self.columns.push(cells);
        self
    }

    /// Two columns, of estimates of one unit and of their intervals, on one scale. The headings say unit, level and
    /// method.
    pub(in crate::report) fn amounts<'l>(
        self,
        review: &Review,
        heading: &str,
        estimate: impl Fn(&'l R) -> Leading<'l>,
    ) -> Self
    where
        Self: 'l,
    {
        let rows: Vec<Leading> = self.rows.iter().map(estimate).collect();
        let amounts: Vec<Amount> = rows.iter().map(Amount::of).collect();
        let scale = rows.first().map_or(Scale { divisor: 1.0, unit: String::new() }, |row| {
            Scale::for_all(&amounts, row.unit, &review.currency)
        });
        let interval = interval_heading(review, &rows);
        let values = amounts.iter().map(|amount| amount.value_on(&scale)).collect();
        let intervals = amounts.iter().map(|amount| amount.interval_on(&scale)).collect();
        self.cells(&titled(heading, &scale.unit), Set::Number, values).cells(
            &interval,
            Set::Number,
            intervals,
        )
    }

    /// The table of the first [`MOST_ROWS`] rows, which says in which table file the rest is.
    pub(in crate::report) fn set(self, caption: &str, file: &str) -> PageTable {
        self.set_first(MOST_ROWS, caption, file)
    }

    /// The same of the first `most` rows.
    pub(in crate::report) fn set_first(self, most: usize, caption: &str, file: &str) -> PageTable {
        let line = |row: usize| {
            let cells = self.columns.iter().map(|column| column.get(row).cloned());
            cells.map(Option::unwrap_or_default).collect()
        };
        let rows = (0..self.rows.len()).map(line).collect();
        let headings: Vec<(&str, Set)> =
            self.headings.iter().map(|(heading, set)| (heading.as_str(), *set)).collect();
        PageTable::of_first(most, caption, &headings, rows, file)
    }
}

impl<R: AnyRow> Laid<'_, R> {
    /// A column of n.
    pub(in crate::report) fn n(self, heading: &str) -> Self {
        self.numbers(heading, |row| whole(Some(row.leading().n)))
    }

    /// A column of events.
    pub(in crate::report) fn events(self, heading: &str) -> Self {
        self.numbers(heading, events)
    }

    /// Two columns, of the rows' estimates and of their intervals.
    pub(in crate::report) fn estimates(self, review: &Review, heading: &str) -> Self {
        self.amounts(review, heading, AnyRow::leading)
    }

    /// A column of flags.
    pub(in crate::report) fn flags(self) -> Self {
        let cells = self.rows.iter().map(|row| flags::words(row.leading().flags)).collect();
        self.cells("flags", Set::Flags, cells)
    }
}

/// The events of a row; empty where it counts none.
pub(in crate::report) fn events(row: &impl AnyRow) -> String {
    row.leading().events.map_or_else(String::new, |events| whole(Some(events as f64)))
}

/// "share, %".
fn titled(words: &str, unit: &str) -> String {
    if unit.is_empty() || words.ends_with(unit) {
        words.to_owned()
    } else {
        format!("{words}, {unit}")
    }
}

/// Level and method of the intervals: "95 % interval (Wilson)".
pub(in crate::report) fn interval_heading(review: &Review, rows: &[Leading]) -> String {
    let mut methods: Vec<&str> =
        rows.iter().map(|row| row.method).filter(|method| !method.is_empty()).collect();
    methods.sort_unstable();
    methods.dedup();
    let level = level(review.level);
    match methods.as_slice() {
        [] => format!("{level} interval"),
        [method] => format!("{level} interval ({method})"),
        [first, _] => format!("{level} interval ({first}; 1 other method in the file)"),
        [first, others @ ..] => {
            format!("{level} interval ({first}; {} other methods in the file)", others.len())
        }
    }
}

/// A table, ready to be printed.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::report) struct PageTable {
    pub caption: String,
    pub headings: Vec<(String, Set)>,
    pub rows: Vec<Vec<String>>,
    /// Rows that are in the file alone.
    pub left: usize,
    /// Name of the table's file.
    pub file: String,
}

impl PageTable {
    /// A table over these rows, to be given its columns.
    pub(in crate::report) fn over<R>(rows: &[R]) -> Laid<'_, R> {
        Laid { rows, headings: Vec::new(), columns: Vec::new() }
    }

    /// A table of the first `most` rows, which says where the rest is.
    fn of_first(
        most: usize,
        caption: &str,
        headings: &[(&str, Set)],
        mut rows: Vec<Vec<String>>,
        file: &str,
    ) -> PageTable {
        let all = rows.len();
        rows.truncate(most);
        let left = all - rows.len();
        let headings = headings.iter().map(|(text, set)| ((*text).to_owned(), *set)).collect();
        let mut table =
            PageTable { caption: caption.to_owned(), headings, rows, left, file: file.to_owned() };
        table.leave_out_empty();
        table
    }

    /// Leaves out columns without a heading, and those in which no row says anything.
    fn leave_out_empty(&mut self) {
        let says = |row: &Vec<String>, place: usize| {
            row.get(place).is_some_and(|cell| !cell.is_empty() && cell != "–")
        };
        let kept: Vec<bool> = (0..self.headings.len())
            .map(|place| {
                !self.headings[place].0.is_empty() && self.rows.iter().any(|row| says(row, place))
            })
            .collect();
        let keep = |place: &usize| kept.get(*place).copied().unwrap_or(false);
        let mut place = 0..;
        self.headings.retain(|_| place.next().is_some_and(|place| keep(&place)));
        for row in &mut self.rows {
            let mut place = 0..;
            row.retain(|_| place.next().is_some_and(|place| keep(&place)));
        }
    }

    /// The table as HTML, its caption a heading of this level; nothing if it has no rows. The first column of words
    /// names each row, the first column where there are no words.
    pub(in crate::report) fn html(&self, links: Links, level: usize) -> String {
        if self.rows.is_empty() {
            return String::new();
        }
        let columns: Vec<Vec<String>> = (0..self.headings.len()).map(|c| self.column(c)).collect();
        let caption = html(&self.caption);
        let mut out = format!("{}<thead><tr>", opened(level, &caption, &caption, "data"));
        for ((text, set), cells) in self.headings.iter().zip(&columns) {
            out.push_str(&format!("<th scope=\"col\"{}>{}</th>", style(*set, cells), html(text)));
        }
        out.push_str("</tr></thead>\n<tbody>\n");
        let naming = self.headings.iter().position(|(_, set)| *set == Set::Words).or(Some(0));
        for row in 0..self.rows.len() {
            out.push_str("<tr>");
            for (place, (column, (_, set))) in columns.iter().zip(&self.headings).enumerate() {
                let cell = match set {
                    Set::Flags => flag_links(&column[row], links),
                    Set::Words | Set::Number => html(&column[row]),
                };
                out.push_str(&match naming == Some(place) {
                    true => format!("<th scope=\"row\">{cell}</th>"),
                    false => format!("<td{}>{cell}</td>", class(*set)),
                });
            }
            out.push_str("</tr>\n");
        }
        out.push_str("</tbody></table>");
        out.push_str(&self.note(links));
        out.push_str("</div>\n");
        out
    }

    /// Where the rows are that do not stand here.
    fn note(&self, links: Links) -> String {
        let rows = match self.left {
            0 => return String::new(),
            1 => "1 more row".to_owned(),
            more => format!("{more} more rows"),
        };
        let path = format!("tables/{}.csv", self.file);
        format!("<p class=\"note\">{rows} in <a href=\"{}\">{path}</a></p>", links.file(&path))
    }

    /// The cells of a column, numbers padded so that their points stand below each other.
    fn column(&self, place: usize) -> Vec<String> {
        let cells = self.rows.iter().map(|row| row.get(place).cloned().unwrap_or_default());
        if self.headings[place].1 != Set::Number {
            return cells.collect();
        }
        let cells: Vec<String> = cells.collect();
        let finest = cells.iter().map(|cell| decimals(cell)).max().unwrap_or(0);
        cells.iter().map(|cell| padded(cell, finest)).collect()
    }
}

/// The beginning of a table: its heading of this level as HTML, the box that scrolls where the table is wider than the
/// page, and its name for those who hear it. `class`: data for a table that sorts and filters.
pub(in crate::report) fn opened(level: usize, heading: &str, name: &str, class: &str) -> String {
    format!(
        "<h{level} class=\"of-table\">{heading}</h{level}>\n<div class=\"table\" tabindex=\"0\" role=\"region\" \
         aria-label=\"Table: {name}\"><table class=\"{class}\" aria-label=\"{name}\">\n"
    )
}

/// The flags of a cell, each with its sentence a click away.
fn flag_links(cell: &str, links: Links) -> String {
    let linked = |flag: &str| match links.to_flag(flag) {
        Some(href) => format!("<a href=\"{}\">{}</a>", html(&href), html(flag)),
        None => html(flag),
    };
    let flags = cell.split(flags::BETWEEN).filter(|flag| !flag.is_empty());
    flags.map(linked).collect::<Vec<_>>().join(flags::BETWEEN)
}

fn class(set: Set) -> &'static str {
    if set == Set::Number { " class=\"number\"" } else { "" }
}

/// Class of a heading; a column of words is wide enough for most of its words, whatever stands beside it.
fn style(set: Set, cells: &[String]) -> String {
    if set == Set::Number {
        return class(set).to_owned();
    }
    let words = cells.iter().flat_map(|cell| cell.split_whitespace());
    let longest = words.map(|word| word.chars().count()).max().unwrap_or(0);
    format!(" style=\"min-width:{}ch\"", longest.clamp(4, WIDEST_WORD) + 2)
}

/// Characters after the decimal point of the last number.
fn decimals(cell: &str) -> usize {
    cell.rsplit_once('.').map_or(0, |(_, part)| part.chars().count())
}

/// `cell` with spaces as wide as the point (U+2008) and the digits (U+2007) that it lacks.
fn padded(cell: &str, finest: usize) -> String {
    let lacks = finest.saturating_sub(decimals(cell));
    let point = if finest > 0 && decimals(cell) == 0 { "\u{2008}" } else { "" };
    format!("{cell}{point}{}", "\u{2007}".repeat(lacks))
}
