//! The settings that the generator writes fit the exports beside them.

use std::collections::BTreeSet;
use std::path::Path;

use motetrail::synth::{Recipe, write};

use super::{demo, files, small, text};

fn settings(folder: &Path) -> toml::Table {
    std::fs::read_to_string(folder.join("fleet.toml")).unwrap().parse().unwrap()
}

fn sources(settings: &toml::Table) -> Vec<&toml::Table> {
    settings["source"].as_array().unwrap().iter().map(|s| s.as_table().unwrap()).collect()
}

/// Whether a path fits a glob with at most one star.
fn fits(glob: &str, path: &Path) -> bool {
    let path = path.to_string_lossy();
    match glob.split_once('*') {
        Some((begin, end)) => path.starts_with(begin) && path.ends_with(end),
        None => glob == path,
    }
}

fn globs(source: &toml::Table) -> Vec<&str> {
    source["files"].as_array().unwrap().iter().map(|glob| glob.as_str().unwrap()).collect()
}

fn headings(source: &toml::Table, text: &str) -> BTreeSet<String> {
    let separator = source.get("separator").map_or(",", |s| s.as_str().unwrap());
    let skipped = source.get("skip_lines").map_or(0, |n| n.as_integer().unwrap());
    let line = text.lines().nth(skipped as usize).unwrap();
    line.split(separator).map(String::from).collect()
}

/// Export columns that a record part names.
fn named(record: &toml::Value) -> Vec<&str> {
    let mut names = Vec::new();
    for column in record["columns"].as_table().unwrap().values() {
        match column {
            toml::Value::Array(several) => {
                names.extend(several.iter().map(|c| c.as_str().unwrap()))
            }
            one => names.push(one.as_str().unwrap()),
        }
    }
    if let Some(when) = record.get("when") {
        names.push(when["column"].as_str().unwrap());
    }
    names
}

#[test]
fn every_mapped_column_stands_in_every_file_of_its_source() {
    let folder = demo().0.path();
    let settings = settings(folder);
    let files = files(folder);
    for source in sources(&settings) {
        let mut met = 0;
        for (path, bytes) in &files {
            if globs(source).iter().any(|glob| fits(glob, path)) {
                met += 1;
                let headings = headings(source, &text(path, bytes));
                for record in source["record"].as_array().unwrap() {
                    for name in named(record) {
                        assert!(headings.contains(name), "{} lacks {name}", path.display());
                    }
                }
            }
        }
        assert!(met > 0, "no file for {:?}", source["name"]);
    }
}

#[test]
fn every_export_belongs_to_exactly_one_source() {
    let folder = demo().0.path();
    let settings = settings(folder);
    for path in files(folder).keys().filter(|path| path.starts_with("exports")) {
        let owners =
            sources(&settings).iter().filter(|s| globs(s).iter().any(|g| fits(g, path))).count();
        assert_eq!(owners, 1, "{}", path.display());
    }
}

#[test]
fn settings_name_only_the_sites_of_the_recipe() {
    let folder = tempfile::tempdir().unwrap();
    write(&Recipe { sites: 2, ..small() }, folder.path()).unwrap();
    let settings = settings(folder.path());
    assert_eq!(settings["fleet"]["sites"].as_array().unwrap().len(), 2);
    let names: Vec<&str> =
        sources(&settings).iter().map(|source| source["name"].as_str().unwrap()).collect();
    let expected = [
        "works-inspections",
        "works-cleanings",
        "works-joins",
        "south-checks",
        "south-cleans",
        "south-connections",
        "fault-desk",
        "assets",
    ];
    assert_eq!(names, expected);
}

/// A large fleet has one plain shape, a file a site and table, and no dirt.
#[test]
fn large_fleet_is_written_site_by_site_without_dirt() {
    let folder = tempfile::tempdir().unwrap();
    let truth = write(&Recipe { sites: 12, inspections: 6_000, ..small() }, folder.path()).unwrap();
    let files = files(folder.path());
    let looks: Vec<_> =
        files.iter().filter(|(path, _)| fits("exports/plain/looks-*.csv", path)).collect();
    assert_eq!(looks.len(), 12);
    let rows: usize = looks.iter().map(|(path, bytes)| text(path, bytes).lines().count() - 1).sum();
    assert_eq!(rows as u64, truth.counts.inspections);
    assert!((4_000..8_000).contains(&rows), "{rows}");
    assert_eq!(truth.exports.bad_dates + truth.exports.repeated_rows, 0);
}
