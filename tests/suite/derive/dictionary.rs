//! What is declared of every count table: the dictionary, and the schema of the export.

use std::collections::BTreeSet;

use motetrail::derive::counts::{Counts, Dimension, to_arrow};

use super::fleet::fleet;

#[test]
fn every_table_column_and_figure_is_named_once_and_described() {
    let dictionary = Counts::dictionary();
    assert!(dictionary.len() >= 35, "{}", dictionary.len());
    let names: BTreeSet<&str> = dictionary.iter().map(|table| table.name).collect();
    assert_eq!(names.len(), dictionary.len());
    let is_line = |doc: &str| doc.len() > 4 && doc.trim() == doc && doc.ends_with('.');
    for table in dictionary {
        assert!(is_line(table.doc), "{}: {}", table.name, table.doc);
        let columns = table.columns.iter().map(|column| (column.name, column.doc));
        let figures = table.figures.iter().map(|figure| (figure.name, figure.doc));
        for (name, doc) in columns.clone().chain(figures.clone()) {
            assert!(is_line(doc), "{} {name}: {doc}", table.name);
        }
        let named = [columns.count(), figures.count()];
        let distinct = |names: Vec<&str>| names.into_iter().collect::<BTreeSet<_>>().len();
        assert_eq!(distinct(table.columns.iter().map(|own| own.name).collect()), named[0]);
        assert_eq!(distinct(table.figures.iter().map(|own| own.name).collect()), named[1]);
    }
}

#[test]
fn the_dictionary_lists_the_tables_in_the_order_in_which_counts_hold_them() {
    let counts = Counts::empty(0);
    let held: Vec<&str> = counts.tables().iter().map(|table| table.about().name).collect();
    let listed: Vec<&str> = Counts::dictionary().iter().map(|table| table.name).collect();
    assert_eq!(held, listed);
}

#[test]
fn exported_columns_carry_their_meaning_and_figures_their_unit() {
    let derived = fleet().looks("at,end_face,outcome\n2026-03-02 08:00,p,pass").derive().derived;
    for table in derived.counts.tables() {
        let about = table.about();
        let batch = to_arrow(table, &derived.glossary, &derived.calendar).unwrap();
        let schema = batch.schema();
        assert_eq!(schema.metadata()["doc"], about.doc);
        assert_eq!(schema.fields().len(), about.columns.len() + about.figures.len());
        for column in about.columns {
            let field = schema.field_with_name(column.name).unwrap();
            assert_eq!(field.metadata()["doc"], column.doc);
            assert!(!field.metadata().contains_key("unit"));
        }
        // A figure may be called what a column is: figures stand after the columns.
        for (field, figure) in schema.fields().iter().skip(about.columns.len()).zip(about.figures) {
            let said = field.metadata();
            assert_eq!(
                (said["doc"].as_str(), said["unit"].as_str()),
                (figure.doc, figure.unit.word())
            );
        }
    }
}

#[test]
fn closed_lists_are_dimensions_of_their_own_words() {
    let is_closed = |dimension: Dimension| matches!(dimension, Dimension::Words(_));
    let closed = Counts::dictionary()
        .into_iter()
        .flat_map(|table| table.columns)
        .filter(|column| is_closed(column.dimension))
        .map(|column| column.name);
    let names: BTreeSet<&str> = closed.collect();
    let expected = [
        "after_fault",
        "capped",
        "coverage",
        "days",
        "definition",
        "fate",
        "grading",
        "how",
        "kind",
        "level",
        "matings",
        "row",
        "side",
        "sign",
        "variant",
        "view",
        "zone",
    ];
    assert_eq!(names.into_iter().collect::<Vec<_>>(), expected);
}
