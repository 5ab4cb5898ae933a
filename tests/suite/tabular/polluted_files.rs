//! Pollution of a file as a whole.

use super::polluted::Variant;
use super::polluted_source::{Format, NAMES, Table, clean};

/// Every variant that differs from the clean file in how it is written or in what stands around.
pub fn variants() -> Vec<Variant> {
    let mut all = Vec::new();
    all.extend(formats());
    all.extend(encodings());
    all.extend(ends());
    all.extend(headers());
    all.extend(sizes());
    all.extend(around());
    all.extend(several_tables());
    all
}

fn variant(
    class: &'static str,
    name: impl Into<String>,
    text: impl Into<Vec<u8>>,
    expected: Table,
) -> Variant {
    Variant { class, name: name.into(), bytes: text.into(), expected }
}

/// Records without quotes and line breaks in any cell.
fn plain_texts() -> Table {
    let mut table = clean();
    table.iter_mut().flatten().for_each(|cell| *cell = cell.replace('"', "").replace('\n', " "));
    table
}

fn formats() -> Vec<Variant> {
    let (plain, table) = (Format::default(), clean());
    let mut all = Vec::new();
    let mut add = |class, name: String, format: Format, rows: &Table| {
        all.push(variant(class, name, format.table(rows), rows.clone()));
    };
    for separator in [";", "\t", "|", " ", ", ", "; ", "§", "¦", "^", "~", "||", " | ", "\u{1f}"]
    {
        for line_end in ["\r\n", "\n"] {
            let format = Format { separator, line_end, ..plain.clone() };
            add("separator", format!("{separator:?} {line_end:?}"), format, &table);
        }
    }
    for line_end in ["\n", "\r", "\r\n"] {
        add("line end", format!("{line_end:?}"), Format { line_end, ..plain.clone() }, &table);
    }
    for separator in [",", ";", "\t"] {
        let format = Format { separator, ..plain.clone() };
        let single = Format { quote: Some('\''), ..format.clone() };
        add("quote", format!("' {separator:?}"), single.clone(), &table);
        add(
            "quote",
            format!("' all {separator:?}"),
            Format { quote_all: true, ..single.clone() },
            &table,
        );
        add(
            "quote",
            format!("all {separator:?}"),
            Format { quote_all: true, ..format.clone() },
            &table,
        );
        let bare = Format { quote: None, escape: Some('\\'), ..format.clone() };
        add("quote", format!("none, escaped {separator:?}"), bare, &plain_texts());
        let slashed = Format { escape: Some('\\'), ..format.clone() };
        add("escape", format!("backslash {separator:?}"), slashed.clone(), &table);
        add(
            "escape",
            format!("backslash all {separator:?}"),
            Format { quote_all: true, ..slashed },
            &table,
        );
        add(
            "escape",
            format!("backslash ' {separator:?}"),
            Format { escape: Some('\\'), ..single },
            &table,
        );
    }
    let mut quoteless = table.clone();
    quoteless.iter_mut().flatten().for_each(|cell| *cell = cell.replace('\n', " "));
    let tabs = Format { separator: "\t", quote: None, ..plain.clone() };
    add("quote", "none, tabs".to_owned(), tabs, &quoteless);
    all.extend([",", ";", "\t"].map(unescaped));
    all
}

/// Quotes inside quotes stand as they are.
fn unescaped(separator: &'static str) -> Variant {
    let mut table = clean();
    // Where a separator follows a quote inside, no reader can know.
    table.iter_mut().flatten().for_each(|cell| *cell = cell.replace("\",", "\" -"));
    let format = Format { separator, escape: Some('\u{2}'), ..Format::default() };
    let text = format.table(&table).replace('\u{2}', "");
    variant("escape", format!("none {separator:?}"), text, table)
}

fn encodings() -> Vec<Variant> {
    let (text, table) = (Format::default().table(&clean()), clean());
    let utf_16 = |bytes: fn(u16) -> [u8; 2], mark: bool| -> Vec<u8> {
        let mark = mark.then_some(0xFEFF);
        mark.into_iter().chain(text.encode_utf16()).flat_map(bytes).collect()
    };
    let latin = |text: &str| -> Vec<u8> {
        text.chars().map(|c| u8::try_from(u32::from(c)).unwrap()).collect()
    };
    let marked = [&b"\xEF\xBB\xBF"[..], text.as_bytes()].concat();
    [
        ("utf-8 with mark", marked),
        ("utf-16le with mark", utf_16(u16::to_le_bytes, true)),
        ("utf-16be with mark", utf_16(u16::to_be_bytes, true)),
        ("utf-16le", utf_16(u16::to_le_bytes, false)),
        ("utf-16be", utf_16(u16::to_be_bytes, false)),
        ("latin-1", latin(&text)),
        (
            "latin-1 semicolons",
            latin(&Format { separator: ";", ..Format::default() }.table(&table)),
        ),
    ]
    .into_iter()
    .map(|(name, bytes)| variant("encoding", name, bytes, table.clone()))
    .collect()
}

fn ends() -> Vec<Variant> {
    let (text, table) = (Format::default().table(&clean()), clean());
    let mut all = vec![
        variant("end of file", "as it is", text.clone(), table.clone()),
        variant("end of file", "no line end", text.trim_end(), table.clone()),
    ];
    for blank in ["\r\n", "\n", "\r\n\r\n\r\n", " \r\n"] {
        all.push(variant(
            "end of file",
            format!("{blank:?}"),
            format!("{text}{blank}"),
            table.clone(),
        ));
    }
    all
}

fn headers() -> Vec<Variant> {
    let (format, table) = (Format::default(), clean());
    let mut all = Vec::new();
    let mut nameless = table.clone();
    nameless[0] = (1..=9).map(|column| format!("column {column}")).collect();
    for separator in [",", ";", "\t"] {
        let format = Format { separator, ..format.clone() };
        all.push(variant("no header", separator, format.table(&table[1..]), nameless.clone()));
    }
    for rows in 2..=3 {
        // The words of each name stand one under another, as far as there are rows.
        let words = |row: usize| -> Vec<String> {
            let word = |name: &&str| {
                let words: Vec<&str> = name.splitn(rows, ' ').collect();
                words.get(row).copied().unwrap_or_default().to_owned()
            };
            NAMES.iter().map(word).collect()
        };
        let header: Table = (0..rows).map(words).collect();
        let text = format.table(&header) + &format.table(&table[1..]);
        all.push(variant("header of several rows", format!("{rows} rows"), text, table.clone()));
    }
    for groups in [
        ["When", "", "What", "", "", "", "", "More", ""],
        ["", "", "Device", "Result", "", "", "", "", ""],
    ] {
        let groups = groups.map(str::to_owned);
        let mut titled = table.clone();
        let mut title = String::new();
        for (name, group) in titled[0].iter_mut().zip(&groups) {
            title = if group.is_empty() { title } else { group.clone() };
            *name = format!("{title} {name}").trim().to_owned();
        }
        let text = format.row(&groups) + "\r\n" + &format.table(&table);
        all.push(variant("header of several rows", format!("groups {groups:?}"), text, titled));
    }
    all
}

fn sizes() -> Vec<Variant> {
    let (format, table) = (Format::default(), clean());
    let mut all = vec![
        variant("no payload", "empty", "", Table::new()),
        variant("no payload", "blank", "\r\n\r\n", Table::new()),
        variant("no payload", "mark", "\u{FEFF}", Table::new()),
    ];
    for row in [1, 3, 42] {
        let rows = vec![table[0].clone(), table[row].clone()];
        all.push(variant("one record", format!("row {row}"), format.table(&rows), rows));
    }
    let header = vec![table[0].clone()];
    all.push(variant("header only", "with line end", format.table(&header), header.clone()));
    all.push(variant("header only", "without", format.table(&header).trim_end(), header));
    all
}

fn around() -> Vec<Variant> {
    let table = clean();
    let mut all = Vec::new();
    let preambles = [
        "Station log of the north line\r\n",
        "Station log of the north line\r\n\r\n",
        "Station log\r\nExported 2025-04-02 by the desk\r\n",
        "Station log, north line\r\nExported: 2025-04-02, 07:00\r\n\r\n",
        "# station log\r\n# one row a look\r\n# do not edit\r\n",
        "Site,North\r\nExported,2025-04-02\r\n\r\n",
        "Station log,,,,,,,,\r\n",
        "Station log,,,,,,,,\r\n,,,,,,,,\r\n",
        "\r\n\r\nStation \"log\r\n",
    ];
    let footers = [
        "End of log\r\n",
        "\r\nEnd of log\r\n",
        "84 rows, checked by the desk\r\n",
        "\r\nNotes: losses are at 1310 nm, rounded.\r\nSee the manual, chapter 4, for \"Tries\".\r\n",
        "* unreadable: no picture\r\n** x: spare\r\n",
        "Total,,,,242,,,,\r\n",
    ];
    for separator in [",", ";"] {
        let format = Format { separator, ..Format::default() };
        let text = format.table(&table);
        let fitting = |line: &&&str| separator == "," || !line.contains(",,");
        for line in preambles.iter().filter(fitting) {
            all.push(variant(
                "preamble",
                format!("{separator} {line:?}"),
                format!("{line}{text}"),
                table.clone(),
            ));
        }
        for line in footers.iter().filter(fitting) {
            all.push(variant(
                "lines behind",
                format!("{separator} {line:?}"),
                format!("{text}{line}"),
                table.clone(),
            ));
        }
        let both = format!("{}{text}{}", preambles[2], footers[1]);
        all.push(variant("preamble", format!("{separator} and footer"), both, table.clone()));
    }
    all
}

/// A table of 20 records with so many columns.
fn smaller(columns: usize) -> Table {
    let mut rows = vec![
        (0..columns)
            .map(|c| {
                format!("{} level", ["Lamp", "Rack", "Gauge", "Door"][c % 4]) + &"+".repeat(c / 4)
            })
            .collect(),
    ];
    for n in 0..20 {
        rows.push(
            (0..columns)
                .map(|c| if c % 2 == 0 { format!("L{}{}", n, c) } else { format!("{}.5", n * c) })
                .collect(),
        );
    }
    rows
}

fn several_tables() -> Vec<Variant> {
    let (format, table) = (Format::default(), clean());
    let main = format.table(&table);
    let mut all = Vec::new();
    for (columns, kind) in [(4, "fewer"), (9, "as many"), (12, "more")] {
        let other = format.table(&smaller(columns));
        for (between, how) in [("", "at once"), ("\r\n", "blank line"), ("\r\nLamps\r\n", "title")]
        {
            let name = format!("{kind} columns, {how}");
            all.push(variant(
                "several tables",
                format!("{name}, behind"),
                format!("{main}{between}{other}"),
                table.clone(),
            ));
            all.push(variant(
                "several tables",
                format!("{name}, before"),
                format!("{other}{between}{main}"),
                table.clone(),
            ));
        }
    }
    all
}
