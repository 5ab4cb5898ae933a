//! Answers a draft's questions from settings that are known to be right, as a person would: only
//! the keys that are asked about change.

use std::fmt::Write;

use motetrail::draft::Draft;
use toml::{Table, Value};

use super::fixture::source;

/// The draft's source with every question answered as in `truth`, a source of the same file.
pub fn answered(draft: &Draft, truth: &Table) -> Table {
    let mut answered = source(draft);
    for doubt in &draft.doubts {
        let Some((index, rest)) =
            doubt.key.strip_prefix("record[").and_then(|r| r.split_once("]."))
        else {
            copy(&mut answered, truth, &path(&doubt.key));
            continue;
        };
        let index: usize = index.parse().unwrap();
        let part = answered["record"].as_array_mut().unwrap()[index].as_table_mut().unwrap();
        let Some(true_part) = same(part, truth) else { continue };
        copy(part, &true_part, &path(rest));
        // A column that turned out to be another brings its pattern and words along.
        if let Some(column) = rest.strip_prefix("columns.") {
            for beside in ["dates", "values"] {
                if get(part, &["columns".into(), column.into()])
                    != get(&true_part, &["columns".into(), column.into()])
                    || get(part, &[beside.into(), column.into()]).is_none()
                {
                    copy(part, &true_part, &[beside.to_owned(), column.to_owned()]);
                }
            }
            if get(part, &["columns".into(), column.into()]).is_none() {
                for beside in ["dates", "values"] {
                    remove(part, &[beside.to_owned(), column.to_owned()]);
                }
            }
        }
    }
    answered
}

/// The part of `truth` for the same table.
pub fn same(part: &Table, truth: &Table) -> Option<Table> {
    let parts = truth["record"].as_array().unwrap().iter().map(|part| part.as_table().unwrap());
    parts.into_iter().find(|other| other["table"] == part["table"]).cloned()
}

fn path(key: &str) -> Vec<String> {
    let table: Table = format!("{key} = 0").parse().unwrap_or_else(|e| panic!("{key}: {e}"));
    let mut path = Vec::new();
    let mut value = Value::Table(table);
    while let Value::Table(table) = value {
        let (key, next) = table.into_iter().next().unwrap();
        path.push(key);
        value = next;
    }
    path
}

pub fn get<'t>(table: &'t Table, path: &[String]) -> Option<&'t Value> {
    let (last, above) = path.split_last()?;
    let mut table = table;
    for key in above {
        table = table.get(key)?.as_table()?;
    }
    table.get(last)
}

fn copy(to: &mut Table, from: &Table, path: &[String]) {
    let Some(value) = get(from, path) else { return remove(to, path) };
    let (last, above) = path.split_last().unwrap();
    let mut table = to;
    for key in above {
        let next = table.entry(key.clone()).or_insert_with(|| Value::Table(Table::new()));
        table = next.as_table_mut().unwrap();
    }
    table.insert(last.clone(), value.clone());
}

fn remove(from: &mut Table, path: &[String]) {
    let (last, above) = path.split_last().unwrap();
    let mut table = from;
    for key in above {
        let Some(next) = table.get_mut(key).and_then(|next| next.as_table_mut()) else { return };
        table = next;
    }
    table.remove(last);
}

/// A value as TOML on one line.
pub fn text(value: &Value) -> String {
    match value {
        Value::String(text) => quoted(text),
        Value::Array(values) => {
            let values: Vec<String> = values.iter().map(text).collect();
            format!("[{}]", values.join(", "))
        }
        Value::Table(table) => {
            let pairs =
                table.iter().map(|(key, value)| format!("{} = {}", quoted(key), text(value)));
            format!("{{ {} }}", pairs.collect::<Vec<_>>().join(", "))
        }
        Value::Integer(number) => number.to_string(),
        Value::Boolean(is) => is.to_string(),
        other => panic!("no answer holds {other:?}"),
    }
}

fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => out.extend(['\\', c]),
            c if c.is_control() => write!(out, "\\u{:04x}", u32::from(c)).unwrap(),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
