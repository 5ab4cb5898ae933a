//! A whole file as a user writes it.

use std::io::Write;
use std::path::Path;

use chrono::NaiveDate;
use motetrail::records::Table;
use motetrail::settings::{
    ClockChange, Cover, EffectKind, Encoding, NameScope, Rules, Separator, SettingsError, Stated,
    Test, read,
};

use super::{LEAST, least_with, plan, problems};

const EXAMPLE: &str = include_str!("fleet.toml");

fn day(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap()
}

#[test]
fn the_example_reads_without_a_problem() {
    assert_eq!(problems(EXAMPLE), "");
}

#[test]
fn the_example_means_what_it_says_of_the_fleet() {
    let plan = plan(EXAMPLE);
    assert_eq!(plan.fleet.as_of, Some(day(2026, 7, 5)));
    assert_eq!(plan.fleet.store, Path::new("here").join("store"));
    assert_eq!(plan.fleet.folder, Path::new("here"));
    assert_eq!(plan.stages.dark, ["production", "incoming"]);
    assert_eq!(plan.codes.family, ["LC", "SC"]);
    assert_eq!(plan.codes.remedy, ["cleaned", "reseated", "replaced", "repolished", "none"]);
    assert_eq!(plan.costs.cleaning_material, 60);
    assert_eq!(plan.costs.labour_hour, 7_800);
    assert_eq!(plan.costs.cleaning_minutes, 3.0);
}

#[test]
fn the_example_means_what_it_says_of_its_proposal() {
    let plan = plan(EXAMPLE);
    assert_eq!((plan.budget, plan.costs.discount_rate), (Some(2_000_000), 0.06));
    let [own] = &plan.proposals[..] else { panic!("expected one proposal") };
    assert_eq!(EXAMPLE.lines().nth(own.line - 1), Some("[[proposal]]"));
    assert_eq!((own.price, own.units, own.running_cost), (240_000, 2, 18_000));
    assert_eq!((own.life_months, own.starts_after_months), (60, 1));
    let [effect] = &own.effects[..] else { panic!("expected one effect") };
    assert_eq!(effect.kind, EffectKind::Coverage(Stated { low: 0.85, likely: 0.95, high: 1.0 }));
    assert_eq!(
        (&effect.stages[..], effect.capacity),
        (&["installation".to_owned()][..], Some(1500.0))
    );
    assert_eq!(effect.sites, ["North Depot"]);
}

#[test]
fn the_example_means_what_it_says_of_the_source() {
    let plan = plan(EXAMPLE);
    let source = &plan.sources[0];
    assert_eq!(EXAMPLE.lines().nth(source.line - 1), Some("[[source]]"));
    assert_eq!(source.timezone, chrono_tz::Europe::Vienna);
    assert_eq!(
        (source.dialect.separator.clone(), source.dialect.decimal_mark),
        (Separator::Byte(b';'), b',')
    );
    assert_eq!(source.dialect.encoding, Encoding::WINDOWS_1252);
    assert_eq!(source.dialect.nulls, ["n/a", "-"]);
    assert_eq!((source.clock_change, source.scope), (ClockChange::Quarantine, NameScope::Fleet));
    assert_eq!(source.finding_default.as_deref(), Some("contamination"));
    let cover = Cover { from: day(2025, 1, 1), to: day(2026, 6, 30), complete: false };
    assert_eq!(source.covers.get(&Table::Inspections), Some(&cover));
}

#[test]
fn the_example_yields_a_look_and_the_cleaning_before_it() {
    let plan = plan(EXAMPLE);
    let [look, cleaning] = &plan.sources[0].records[..] else { panic!("expected two parts") };
    assert!(EXAMPLE.lines().nth(look.line - 1).unwrap().starts_with("[[source.record]]"));
    assert!(EXAMPLE.lines().nth(cleaning.line - 1).unwrap().starts_with("[[source.record]]"));
    assert_eq!((look.table, cleaning.table), (Table::Inspections, Table::Cleanings));
    assert_eq!(look.columns["at"], ["Date", "Time"]);
    assert_eq!(look.dates["at"], ["%d.%m.%Y %H:%M", "%d.%m.%Y"]);
    assert_eq!(look.values["outcome"]["NOK"], "fail");
    assert_eq!(look.constants["stage"], "incoming");
    let when = look.when.as_ref().unwrap();
    assert_eq!(when.column, "Action");
    assert_eq!(when.is, Test::OneOf(vec!["look".to_owned(), "recheck".to_owned()]));
    assert_eq!(cleaning.when.as_ref().unwrap().is, Test::Given);
}

#[test]
fn the_least_settings_take_every_default() {
    let plan = plan(LEAST);
    assert_eq!(plan.rules, Rules::default());
    assert_eq!(plan.fleet.fiscal_year_starts, 1);
    assert_eq!(plan.fleet.as_of, None);
    assert_eq!(plan.stages.order.len(), 6);
    assert_eq!(plan.stages.dark, ["production", "incoming"]);
    assert!(plan.codes.criteria.is_empty());
    assert_eq!((plan.costs.visit, plan.costs.look_minutes), (0, 0.0));
    let dialect = &plan.sources[0].dialect;
    assert_eq!(
        (dialect.separator.clone(), dialect.quote, dialect.decimal_mark),
        (Separator::Byte(b','), Some(b'"'), b'.')
    );
    assert_eq!((dialect.encoding, dialect.skip_lines), (Encoding::UTF_8, 0));
}

#[test]
fn a_byte_order_mark_is_no_problem() {
    assert_eq!(problems(&format!("\u{feff}{LEAST}")), "");
}

#[test]
fn sources_are_ordered_by_name() {
    let second = LEAST.split_once("\n[[source]]").unwrap().1.replace("\"bench\"", "\"a-bench\"");
    let plan = plan(&format!("{LEAST}\n[[source]]{second}"));
    let names: Vec<&str> = plan.sources.iter().map(|source| source.name.as_str()).collect();
    assert_eq!(names, ["a-bench", "bench"]);
    assert!(plan.sources[0].line > plan.sources[1].line);
}

#[test]
fn a_file_is_read_and_its_folder_is_kept() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("fleet.toml");
    std::fs::File::create(&path).unwrap().write_all(LEAST.as_bytes()).unwrap();
    let plan = read(&path).unwrap();
    assert_eq!(plan.fleet.folder, folder.path());
    assert_eq!(plan.fleet.store, folder.path().join("store"));
}

#[test]
fn a_file_that_is_not_there_is_unreadable_and_not_invalid() {
    let error = read(Path::new("no/such/fleet.toml")).unwrap_err();
    assert!(matches!(error, SettingsError::Unreadable { .. }));
    assert!(error.to_string().starts_with("no/such/fleet.toml: cannot be read: "));
}

#[test]
fn a_file_that_is_not_utf_8_names_the_byte() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("fleet.toml");
    std::fs::write(&path, b"[fleet]\nname = \"K\xf6ln\"\n").unwrap();
    let expected =
        format!("{}:2:10 found a byte that is not UTF-8; save the file as UTF-8", path.display());
    assert_eq!(read(&path).unwrap_err().to_string(), expected);
}

#[test]
fn text_that_is_not_toml_is_told_by_line_and_column() {
    let text = least_with("currency = \"EUR\"", "currency = ");
    let said = problems(&text);
    assert!(said.starts_with("fleet.toml:3:"), "{said}");
    assert_eq!(said.lines().count(), 1, "{said}");
    let said = problems(&least_with("currency", "name"));
    assert!(said.starts_with("fleet.toml:3:1 duplicate key"), "{said}");
}
