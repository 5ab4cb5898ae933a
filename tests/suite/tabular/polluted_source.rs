//! A clean table of our own invention and a writer for any way to write it.

/// Header and records.
pub type Table = Vec<Vec<String>>;

/// How a table is written.
#[derive(Clone, Debug)]
pub struct Format {
    pub separator: &'static str,
    pub quote: Option<char>,
    /// Before a quote inside quotes; none: it is doubled.
    pub escape: Option<char>,
    pub line_end: &'static str,
    pub quote_all: bool,
}

impl Default for Format {
    fn default() -> Self {
        Self { separator: ",", quote: Some('"'), escape: None, line_end: "\r\n", quote_all: false }
    }
}

impl Format {
    /// A cell as it is written.
    pub fn cell(&self, text: &str) -> String {
        let Some(quote) = self.quote else {
            let Some(escape) = self.escape else { return text.to_owned() };
            let escaped = text.replace(escape, &format!("{escape}{escape}"));
            return escaped.replace(self.separator, &format!("{escape}{}", self.separator));
        };
        let needs = text.contains(self.separator)
            || !self.separator.trim().is_empty() && text.contains(self.separator.trim())
            || text.contains(quote)
            || text.contains(['\r', '\n'])
            || self.escape.is_some_and(|escape| text.contains(escape));
        if !needs && !self.quote_all {
            return text.to_owned();
        }
        let mark = self.escape.unwrap_or(quote);
        let inner = match self.escape {
            Some(escape) => text.replace(escape, &format!("{escape}{escape}")),
            None => text.to_owned(),
        };
        format!("{quote}{}{quote}", inner.replace(quote, &format!("{mark}{quote}")))
    }

    /// A row without its line end.
    pub fn row(&self, cells: &[String]) -> String {
        let cells: Vec<String> = cells.iter().map(|cell| self.cell(cell)).collect();
        cells.join(self.separator)
    }

    /// All rows, each with its line end.
    pub fn table(&self, rows: &[Vec<String>]) -> String {
        rows.iter().map(|row| self.row(row) + self.line_end).collect()
    }
}

/// Names of the columns.
pub const NAMES: [&str; 9] = [
    "Date",
    "Time of day",
    "Station",
    "Loss dB",
    "Tries",
    "Verdict",
    "Remark text",
    "Link",
    "Spare",
];

/// Remarks: plain ones, and such with commas, quotes, an apostrophe, a line break.
const REMARKS: [&str; 12] = [
    "cleaned twice",
    "scratch near the rim, seen at 400x",
    "port \"A\" of the lower panel",
    "nothing to report",
    "cap missing, dust, tape",
    "the inspector's note is lost",
    "Prüfung im Café, ohne Befund",
    "repolished",
    "two films; one removed",
    "back to stock",
    "see note",
    "said \"fine, leave it\", left it",
];

/// The header and 84 records of nine columns.
pub fn clean() -> Table {
    let mut rows: Table = vec![NAMES.iter().map(|name| (*name).to_owned()).collect()];
    for n in 0..84_usize {
        let remark = match n {
            41 => "first line\nsecond line, with a comma",
            _ => REMARKS[n * 7 % REMARKS.len()],
        };
        rows.push(vec![
            format!("2025-{:02}-{:02}", 1 + n / 28, 1 + n % 28),
            format!("{:02}:{:02}:{:02}", 6 + n % 12, n * 13 % 60, n * 29 % 60),
            format!("ST-{:04}", 1000 + n * 37 % 900),
            format!("0.{:02}", n * 17 % 100),
            (1 + n % 5).to_string(),
            ["pass", "fail", "unreadable"][n % 3].to_owned(),
            remark.to_owned(),
            format!("https://plant.example.org/face/{}", 100 + n),
            if n % 20 == 5 { "x".to_owned() } else { String::new() },
        ]);
    }
    rows
}
