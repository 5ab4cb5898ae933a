//! How the file of a source is written: how its bytes become text, rows and cells.

/// How text is cut into cells and read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dialect {
    /// Between two cells.
    pub separator: Separator,
    /// Quote character, one byte; none: no cell stands in quotes.
    pub quote: Option<u8>,
    /// Makes the next character text; none: a doubled quote stands for itself.
    pub escape: Option<u8>,
    /// What ends a row.
    pub line_end: LineEnd,
    /// `.` or `,`.
    pub decimal_mark: u8,
    /// How bytes become characters.
    pub encoding: Encoding,
    /// Lines before the header; rows, in a workbook.
    pub skip_lines: usize,
    /// Rows of the header, 0 to 4; of several, the names of a column are joined by a blank. Without
    /// any, columns are named `column 1`, `column 2` and so on.
    pub header_rows: usize,
    /// The row behind the header holds units and is no data.
    pub units_row: bool,
    /// What becomes of a row with fewer cells than the header.
    pub short_rows: ShortRows,
    /// Sheet of a workbook; none: the one whose content has the columns of the map.
    pub sheet: Option<String>,
    /// Cell texts (trimmed) that mean "not given"; the empty cell always does.
    pub nulls: Vec<String>,
}

/// What stands between two cells.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Separator {
    /// One ASCII character.
    Byte(u8),
    /// Two to four bytes: several characters, or one beyond ASCII.
    Text(Box<str>),
    /// A tab, or two or more blanks in a row.
    Blanks,
}

/// What ends a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LineEnd {
    /// A line feed, with or without a carriage return before it.
    Lf,
    /// A carriage return alone.
    Cr,
    /// Any of the three.
    Any,
}

/// What becomes of a row with fewer cells than the header.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ShortRows {
    /// It is rejected: nobody knows which cell is missing.
    Quarantine,
    /// The cells that are missing at its end are empty ones.
    Pad,
}

/// A character encoding of the WHATWG Encoding Standard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Encoding(&'static encoding_rs::Encoding);

impl Encoding {
    /// Read as it is.
    pub const UTF_8: Self = Self(encoding_rs::UTF_8);
    /// Western European, the usual one of office programs.
    pub const WINDOWS_1252: Self = Self(encoding_rs::WINDOWS_1252);

    /// The encoding with that label, such as `utf-8`, `windows-1250`, `utf-16le`; of two labels of
    /// one encoding both are known.
    pub fn named(label: &str) -> Option<Self> {
        let known = encoding_rs::Encoding::for_label(label.as_bytes());
        known.filter(|known| *known != encoding_rs::REPLACEMENT).map(Self)
    }

    /// The encoding that a library found.
    pub const fn of(encoding: &'static encoding_rs::Encoding) -> Self {
        Self(encoding)
    }

    /// What decodes it.
    pub const fn coder(self) -> &'static encoding_rs::Encoding {
        self.0
    }

    /// Its name in messages and settings, in small letters.
    pub fn name(self) -> String {
        self.0.name().to_ascii_lowercase()
    }
}

impl Default for Dialect {
    /// Commas, double quotes, one header line, UTF-8.
    fn default() -> Self {
        Self {
            separator: Separator::Byte(b','),
            quote: Some(b'"'),
            escape: None,
            line_end: LineEnd::Lf,
            decimal_mark: b'.',
            encoding: Encoding::UTF_8,
            skip_lines: 0,
            header_rows: 1,
            units_row: false,
            short_rows: ShortRows::Quarantine,
            sheet: None,
            nulls: Vec::new(),
        }
    }
}
