//! The lines of a `[[source]]` that say how its file is written.

use super::shown::is_hidden;
use crate::settings::{Dialect, LineEnd, Separator, ShortRows};

/// `key = value` for every part of a dialect that is not the default, in the order of the manual.
pub fn paste(dialect: &Dialect) -> Vec<String> {
    let usual = Dialect::default();
    let mut lines = Vec::new();
    let mut add = |key: &str, differs: bool, value: String| {
        if differs {
            lines.push(format!("{key} = {value}"));
        }
    };
    add("separator", dialect.separator != usual.separator, separator(&dialect.separator));
    add("quote", dialect.quote != usual.quote, mark(dialect.quote));
    add("escape", dialect.escape != usual.escape, mark(dialect.escape));
    add("line_end", dialect.line_end != usual.line_end, text(line_end(dialect.line_end)));
    add(
        "decimal_mark",
        dialect.decimal_mark != usual.decimal_mark,
        mark(Some(dialect.decimal_mark)),
    );
    add("encoding", dialect.encoding != usual.encoding, text(&dialect.encoding.name()));
    add("skip_lines", dialect.skip_lines != usual.skip_lines, dialect.skip_lines.to_string());
    add("header_rows", dialect.header_rows != usual.header_rows, dialect.header_rows.to_string());
    add("units_row", dialect.units_row != usual.units_row, dialect.units_row.to_string());
    add("short_rows", dialect.short_rows != usual.short_rows, text(short_rows(dialect.short_rows)));
    if let Some(sheet) = &dialect.sheet {
        add("sheet", true, text(sheet));
    }
    let nulls: Vec<String> = dialect.nulls.iter().map(|null| text(null)).collect();
    add("nulls", !nulls.is_empty(), format!("[{}]", nulls.join(", ")));
    lines
}

fn separator(separator: &Separator) -> String {
    match separator {
        Separator::Byte(byte) => mark(Some(*byte)),
        Separator::Text(written) => text(written),
        Separator::Blanks => text("blanks"),
    }
}

fn line_end(end: LineEnd) -> &'static str {
    match end {
        LineEnd::Lf => "lf",
        LineEnd::Cr => "cr",
        LineEnd::Any => "any",
    }
}

fn short_rows(rows: ShortRows) -> &'static str {
    match rows {
        ShortRows::Quarantine => "quarantine",
        ShortRows::Pad => "pad",
    }
}

fn mark(byte: Option<u8>) -> String {
    text(&byte.map(char::from).map(String::from).unwrap_or_default())
}

/// A TOML basic string (TOML 1.0, section String): quotes and backslashes escaped, and every character
/// that a terminal would not show as its number.
fn text(value: &str) -> String {
    let mut written = String::from("\"");
    for c in value.chars() {
        match c {
            '"' | '\\' => written.extend(['\\', c]),
            '\t' => written.push_str("\\t"),
            c if is_hidden(c) => written.push_str(&format!("\\U{:08X}", u32::from(c))),
            c => written.push(c),
        }
    }
    written.push('"');
    written
}
