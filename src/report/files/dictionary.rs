//! The dictionary of the tables: every table, column, quantity, grouping, word, unit and flag with its sentence, as
//! `tables/dictionary.csv`, `tables/README.md` and a sheet of the workbook. All of it is read from the declarations.

use super::csv;
use super::in_currency::in_currency;
use super::place::Content;
use crate::measures::results::{
    Column, ColumnSpec, Columns, Described, Kept, Kind, Unit, Word, columns, leading_columns, words,
};
use crate::measures::{AnyTable, Flag};

/// Name of the file and of the sheet.
pub(in crate::report) const NAME: &str = "dictionary";

words! {
    /// What an entry of the dictionary explains.
    pub enum Explains {
        /// A table.
        Table = "table",
        /// A column; of every table where no table is named.
        Column = "column",
        /// A word of the column `by`.
        Grouping = "grouping",
        /// A word of the column `quantity`.
        Quantity = "quantity",
        /// A word of a column with a closed list of words.
        Word = "word",
        /// A word of the column `flag`.
        Flag = "flag",
        /// A word of the column `unit`, or the unit of a column.
        Unit = "unit",
        /// A kind of column.
        Kind = "kind",
    }
}

columns! {
    /// One entry.
    #[derive(Clone, Debug, PartialEq)]
    pub struct Entry {
        /// The table that it belongs to; empty: every table.
        table: Option<String>,
        /// What is explained.
        explains: Explains,
        /// The name or word that is explained.
        name: String,
        /// The column that a word stands in.
        of_column: Option<String>,
        /// How a column is kept in files: text, integer or real.
        kept: Option<String>,
        /// What may be done with its values.
        kind: Option<Kind>,
        /// Unit of a column, or of the estimate of a quantity.
        unit: Option<String>,
        /// Whether a row may leave the column empty: yes or no.
        may_be_empty: Option<String>,
        /// What it means.
        meaning: String,
    }
}

impl Entry {
    fn of(explains: Explains, table: Option<&str>, name: &str, meaning: &str) -> Entry {
        let entry = Entry::with(explains, name.to_owned(), meaning.to_owned());
        Entry { table: table.map(str::to_owned), ..entry }
    }
}

/// Every entry: what all tables share, then table by table.
fn entries(tables: &[&dyn AnyTable], currency: &str) -> Vec<Entry> {
    let mut entries = Vec::new();
    let mut leading = leading_columns(&[], "");
    in_currency(&mut leading);
    for column in leading {
        push_column(&column.spec, None, &mut entries);
    }
    push_words(Explains::Flag, Flag::LIST, &mut entries);
    push_words(Explains::Unit, Unit::LIST, &mut entries);
    for entry in entries.iter_mut().filter(|entry| entry.name == Unit::Money.word()) {
        entry.meaning = format!("Units of the fleet's currency, {currency}, with hundredths.");
    }
    push_words(Explains::Kind, Kind::LIST, &mut entries);
    for table in tables {
        let name = Some(table.name());
        entries.push(Entry::of(Explains::Table, name, table.name(), table.doc()));
        for by in table.groupings() {
            entries.push(Entry::of(Explains::Grouping, name, by, &grouping(by)));
        }
        for quantity in table.quantities() {
            let entry = Entry::of(Explains::Quantity, name, quantity.word, quantity.doc);
            let (kind, unit) = (Some(quantity.unit.kind()), Some(quantity.unit.word().to_owned()));
            entries.push(Entry { kind, unit, ..entry });
        }
        for spec in table.own_specs() {
            // As files keep it: money is a whole number only inside the program.
            let kept = if spec.unit == Unit::Money { Kept::Real } else { spec.kept };
            push_column(&ColumnSpec { kept, ..spec }, name, &mut entries);
        }
    }
    entries
}

fn push_words(explains: Explains, words: &[Described], entries: &mut Vec<Entry>) {
    entries.extend(words.iter().map(|word| Entry::of(explains, None, word.word, word.doc)));
}

fn push_column(spec: &ColumnSpec, table: Option<&str>, entries: &mut Vec<Entry>) {
    entries.push(Entry {
        kept: Some(spec.kept.word().to_owned()),
        kind: Some(spec.unit.kind()),
        unit: Some(spec.unit.word().to_owned()),
        may_be_empty: Some(if spec.may_be_empty { "yes" } else { "no" }.to_owned()),
        ..Entry::of(Explains::Column, table, spec.name, spec.doc)
    });
    entries.extend(spec.words.iter().map(|word| Entry {
        of_column: Some(spec.name.to_owned()),
        ..Entry::of(Explains::Word, table, word.word, word.doc)
    }));
}

/// What a word of the column `by` says.
fn grouping(by: &str) -> String {
    match by {
        "fleet" => "A row stands for the whole fleet.".to_owned(),
        by => format!("A row for each {}.", by.replace('+', " and ").replace('_', " ")),
    }
}

/// The dictionary as columns, as the workbook takes it.
pub(in crate::report) fn sheet(tables: &[&dyn AnyTable], currency: &str) -> Vec<Column> {
    Entry::columns(&entries(tables, currency).iter().collect::<Vec<_>>())
}

/// `tables/dictionary.csv` and `tables/README.md`.
pub(in crate::report) fn files(tables: &[&dyn AnyTable], currency: &str) -> [Content; 2] {
    [
        (format!("tables/{NAME}.csv"), csv::csv(&sheet(tables, currency))),
        ("tables/README.md".to_owned(), readme(tables, currency).into_bytes()),
    ]
}

const OPENING: &str = "# What the tables say

Each table is a CSV file, a Parquet file and a sheet of `tables.xlsx`, with the same columns. CSV is UTF-8; an empty cell
means that nothing is known or that the column does not apply. Reals have nine significant digits and always a point or
an exponent. A reader that guesses types must look at all rows, since a column may begin with many empty cells (Polars:
`infer_schema_length=None`); Parquet files say them, and carry the sentences below as metadata of their fields
(`description`, `unit`, `kind`), and fleet, period, currency and the version of this shape as metadata of the file.
`dictionary.csv` is this page as a table.
";

fn readme(tables: &[&dyn AnyTable], currency: &str) -> String {
    let entries = entries(tables, currency);
    let mut page = format!("{OPENING}Money is in {currency}, with hundredths.\n");
    let shared = |explains| {
        entries.iter().filter(move |entry| entry.table.is_none() && entry.explains == explains)
    };
    page.push_str("\n## Columns that every table begins with\n\n");
    columns_of(&mut page, shared(Explains::Column));
    for (title, explains) in
        [("Flags", Explains::Flag), ("Units", Explains::Unit), ("Kinds of column", Explains::Kind)]
    {
        page.push_str(&format!("\n## {title}\n\n"));
        shared(explains).for_each(|entry| item(&mut page, entry));
    }
    for table in tables {
        let of = |explains| {
            let name = table.name();
            entries.iter().filter(move |entry| {
                entry.table.as_deref() == Some(name) && entry.explains == explains
            })
        };
        page.push_str(&format!("\n## {}\n\n{}\n", table.name(), escaped(table.doc())));
        let groupings: Vec<String> =
            of(Explains::Grouping).map(|entry| format!("`{}`", entry.name)).collect();
        if !groupings.is_empty() {
            page.push_str(&format!("\nGrouped by: {}.\n", groupings.join(", ")));
        }
        if of(Explains::Quantity).next().is_some() {
            page.push_str("\n| quantity | unit | meaning |\n|---|---|---|\n");
        }
        for entry in of(Explains::Quantity) {
            let unit = entry.unit.as_deref().unwrap_or_default();
            let meaning = escaped(&entry.meaning);
            page.push_str(&format!("| `{}` | {unit} | {meaning} |\n", entry.name));
        }
        page.push('\n');
        columns_of(&mut page, of(Explains::Column));
        let mut words = of(Explains::Word).peekable();
        if words.peek().is_some() {
            page.push('\n');
        }
        for entry in words {
            let column = entry.of_column.as_deref().unwrap_or_default();
            let meaning = escaped(&entry.meaning);
            page.push_str(&format!("- `{column}` = `{}`: {meaning}\n", entry.name));
        }
    }
    page
}

fn columns_of<'a>(page: &mut String, entries: impl Iterator<Item = &'a Entry>) {
    page.push_str("| column | kept as | kind | unit | may be empty | meaning |\n");
    page.push_str("|---|---|---|---|---|---|\n");
    for entry in entries {
        let kept = entry.kept.as_deref().unwrap_or_default();
        let kind = entry.kind.map_or("", Kind::word);
        let unit = entry.unit.as_deref().unwrap_or_default();
        let may_be_empty = entry.may_be_empty.as_deref().unwrap_or_default();
        let meaning = escaped(&entry.meaning);
        let name = &entry.name;
        page.push_str(&format!(
            "| `{name}` | {kept} | {kind} | {unit} | {may_be_empty} | {meaning} |\n"
        ));
    }
}

fn item(page: &mut String, entry: &Entry) {
    page.push_str(&format!("- `{}`: {}\n", entry.name, escaped(&entry.meaning)));
}

/// A sentence inside a Markdown table.
fn escaped(text: &str) -> String {
    text.replace('|', "\\|")
}
