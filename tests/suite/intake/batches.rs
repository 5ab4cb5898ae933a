use motetrail::records::Table;

use super::fixture::{With, looks, part, read, source};

const INSPECTIONS: Table = Table::Inspections;

#[test]
fn batches_end_at_65536_records_and_keep_their_order() {
    let rows = 70_000;
    let lines = (0..rows).map(|row| format!("03.02.2026 10:00;P{row};OK\n"));
    let kept =
        read(&source(vec![looks()]), &format!("At;Port;Result\n{}", lines.collect::<String>()));
    let sizes: Vec<usize> = kept.batches.iter().map(|(_, batch)| batch.num_rows()).collect();
    assert_eq!(sizes, [65_536, rows - 65_536]);
    assert!(
        kept.column(INSPECTIONS, "end_face")
            .iter()
            .enumerate()
            .all(|(row, port)| *port == format!("P{row}"))
    );
    assert_eq!(kept.prints(INSPECTIONS, "row"), (0..rows as u64).collect::<Vec<_>>());
}

#[test]
fn many_different_words_do_not_confuse_a_dictionary() {
    let rows = 150_000;
    let record = part(
        INSPECTIONS,
        &[("at", "At"), ("end_face", "Port"), ("outcome", "Result"), ("instrument", "Port")],
    );
    let record = record.dates("at", &["%d.%m.%Y %H:%M"]).constants(&[("stage", "incoming")]);
    let lines = (0..rows).map(|row| format!("03.02.2026 10:00;P{};pass\n", row % 140_000));
    let kept =
        read(&source(vec![record]), &format!("At;Port;Result\n{}", lines.collect::<String>()));
    assert_eq!(kept.column(INSPECTIONS, "end_face"), kept.column(INSPECTIONS, "instrument"));
}

#[test]
fn words_of_rejected_rows_do_not_fill_the_memory() {
    let record = part(
        INSPECTIONS,
        &[("at", "At"), ("end_face", "Port"), ("outcome", "Result"), ("fibre", "Fibre")],
    )
    .dates("at", &["%d.%m.%Y"])
    .constants(&[("stage", "incoming")]);
    let long = "f".repeat(2_000);
    let lines = (0..30_000).map(|row| format!("03.02.2026;P;bad;{long}{row}\n"));
    let text = format!("At;Port;Result;Fibre\n{}03.02.2026;P;pass;1\n", lines.collect::<String>());
    let kept = read(&source(vec![record]), &text);
    assert_eq!(kept.counts.typed, 1);
    let (_, batch) = &kept.batches[0];
    // 60 MB of words came in; a dictionary is renewed at 32 MiB.
    assert!(batch.get_array_memory_size() < 36 << 20);
}
