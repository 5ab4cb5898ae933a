//! Variants of one clean table, polluted in the ways that Vitagliano et al. (2023, PVLDB 16(8),
//! "Pollock") list, all of them of our own making, each with the table that a careful person reads.

use std::collections::BTreeMap;

use super::polluted_score::{loaded, score};
use super::polluted_source::Table;
use super::{polluted_files, polluted_rows};

/// A polluted file and what it says.
pub struct Variant {
    pub class: &'static str,
    pub name: String,
    pub bytes: Vec<u8>,
    pub expected: Table,
}

/// Reads every variant with nothing given: every class by itself must score well, and all together.
fn assert_read_well(variants: &[Variant]) {
    let mut classes: BTreeMap<&str, Vec<(f64, &str)>> = BTreeMap::new();
    for variant in variants {
        let points = score(&loaded(&variant.bytes), &variant.expected);
        classes.entry(variant.class).or_default().push((points, &variant.name));
    }
    let mean = |scores: &[(f64, &str)]| {
        scores.iter().map(|(points, _)| points).sum::<f64>() / scores.len() as f64
    };
    for (class, scores) in &mut classes {
        scores.sort_by(|a, b| a.0.total_cmp(&b.0));
        assert!(mean(scores) >= 9.5, "{class}: {:.3}, the worst: {:?}", mean(scores), scores[0]);
    }
    let all: Vec<(f64, &str)> = classes.into_values().flatten().collect();
    assert!(mean(&all) >= 9.9, "{:.4}", mean(&all));
}

#[test]
fn files_polluted_as_a_whole_are_read_as_a_person_reads_them() {
    assert_read_well(&polluted_files::variants());
}

#[test]
fn a_missing_separator_costs_two_cells_of_its_row() {
    assert_read_well(&polluted_rows::missing_separators());
}

#[test]
fn a_separator_too_much_adds_an_empty_cell_to_its_row() {
    assert_read_well(&polluted_rows::extra_separators());
}

#[test]
fn a_quote_too_much_stays_in_its_cell() {
    assert_read_well(&polluted_rows::extra_quotes());
}

#[test]
fn a_row_with_another_separator_or_line_end_is_read_with_it() {
    assert_read_well(&polluted_rows::other_rows());
}
