//! `unreadable` and `durations`: what becomes of cells that cannot be read, and how lengths of time are written.

use motetrail::settings::{DurationForm, Unreadable};

use super::{LEAST, least_with, plan, problems};

/// The smallest settings with tickets, and this on line 26, in their record.
fn tickets(more: &str) -> String {
    format!(
        "{LEAST}[[source.record]]\ntable = \"faults\"\n\
         columns = {{ opened = \"Time\", end_face = \"Port\", downtime_min = \"Down\" }}\n\
         dates = {{ opened = \"%Y-%m-%d\" }}\n{more}\n"
    )
}

#[test]
fn an_unreadable_cell_is_null_unless_source_or_column_say_otherwise() {
    let source = plan(&tickets("")).sources.remove(0);
    assert_eq!(source.unreadable, Unreadable::Null);
    let strict = least_with("end_face_names", "unreadable = \"quarantine\"\nend_face_names");
    assert_eq!(plan(&strict).sources[0].unreadable, Unreadable::Quarantine);
    let one = plan(&tickets("unreadable = { downtime_min = \"quarantine\" }"));
    assert_eq!(one.sources[0].records[1].unreadable["downtime_min"], Unreadable::Quarantine);
    assert_eq!(
        problems(&tickets("unreadable = { downtime_min = \"skip\", opened = \"null\", cost = \"null\" }")),
        "\
fleet.toml:26 source.record.unreadable.cost: found a word, but `columns` does not map it; map it or remove it
fleet.toml:26 source.record.unreadable.downtime_min: found \"skip\", expected one of null, quarantine
fleet.toml:26 source.record.unreadable.opened: found \"null\": no record is whole without it, and a row in which it is unreadable is always quarantined; remove it"
    );
}

#[test]
fn forms_of_lengths_of_time_are_for_columns_of_minutes_and_do_not_contradict_each_other() {
    let one = plan(&tickets("durations = { downtime_min = \"h:mm\" }"));
    let forms = &one.sources[0].records[1].durations["downtime_min"];
    assert_eq!(forms, &[DurationForm::HourMinute]);
    let two = plan(&tickets("durations = { downtime_min = [\"minutes\", \"h:mm\"] }"));
    assert_eq!(two.sources[0].records[1].durations["downtime_min"].len(), 2);
    assert_eq!(
        problems(&tickets("durations = { downtime_min = [\"h:mm\", \"mm:ss\"], opened = \"h:mm\" }")),
        "\
fleet.toml:26 source.record.durations.downtime_min: found h:mm and mm:ss: one cell would mean different lengths; keep the one that holds
fleet.toml:26 source.record.durations.opened: found a form, but the column holds no length of time; remove it"
    );
    assert_eq!(
        problems(&tickets("durations = { downtime_min = \"hh:mm\" }")),
        "fleet.toml:26 source.record.durations.downtime_min: found \"hh:mm\", expected one of minutes, hours, days, \
         h:mm, h:mm:ss, mm:ss, 2h10m, PT2H10M; did you mean \"h:mm\"?"
    );
}
