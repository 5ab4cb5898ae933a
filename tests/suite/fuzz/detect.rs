//! The finding of a dialect, and the table written by it.

use motetrail::tabular::detect::{Sample, detect, write_table};

use super::fuzz;

#[test]
fn any_bytes_are_looked_at_and_written_without_a_panic() {
    fuzz("detect", |bytes| {
        for whole in [true, false] {
            let sample = Sample { head: bytes.to_vec(), whole, tail: None };
            let detected = detect(&sample);
            assert!(detected.main < detected.tables.len().max(1));
            for table in 0..detected.tables.len().min(3) {
                let mut out = Vec::new();
                let written = match write_table(&detected, table, Box::new(bytes), &mut out) {
                    Ok(written) => written,
                    // Only what does not begin like text is refused, before anything is written.
                    Err(error) => {
                        assert!(error.to_string().contains("expected a table as text"), "{error}");
                        assert!(out.is_empty());
                        continue;
                    }
                };
                assert!(std::str::from_utf8(&out).is_ok());
                // A quoted cell may hold line ends, so there are at least as many lines as rows.
                let lines = out.iter().filter(|byte| **byte == b'\n').count() as u64;
                assert!(lines > written.rows, "{lines} lines for {} rows", written.rows);
            }
        }
    });
}
