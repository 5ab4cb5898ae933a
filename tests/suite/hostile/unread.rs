//! One bad export among good ones: named with its reason, counted, and the rest goes on.

use std::fs;
use std::io::Write;
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::symlink;
use std::os::unix::net::UnixListener;
use std::process::Command;

use flate2::write::GzEncoder;

use super::{LOOKS, LOOKS_HEADER, Place};

/// Looks numbered from `first`, with somebody's name in each.
fn looks(first: usize, count: usize) -> String {
    let row = |id| {
        format!("{id},2026-02-{:02} 08:00,North,A{id},installation,pass,,,Ada Lorne\n", 1 + id % 28)
    };
    LOOKS_HEADER.to_owned() + &(first..first + count).map(row).collect::<String>()
}

fn gzip(text: &str) -> Vec<u8> {
    let mut packed = GzEncoder::new(Vec::new(), flate2::Compression::none());
    packed.write_all(text.as_bytes()).unwrap();
    packed.finish().unwrap()
}

/// A good export of three rows, and five that cannot be read.
fn place() -> Place {
    let place = Place::new(&[LOOKS]);
    place.write("looks-good.csv", looks(1, 3));
    let packed = gzip(&looks(100, 200_000));
    place.write("looks-cut.csv.gz", &packed[..packed.len() - packed.len() / 10]);
    place.write("looks-kind.xlsx", looks(400, 2));
    // Without a header its first row stands where the header should.
    place.write("looks-bare.csv", looks(500, 2).lines().skip(1).collect::<Vec<_>>().join("\n"));
    place.write("looks-zip.csv", b"PK\x03\x04\x00\x00\x00\x00 no text at all");
    symlink("nowhere", place.folder.join("looks-gone.csv")).unwrap();
    place
}

const BAD: [&str; 5] =
    ["looks-bare.csv", "looks-cut.csv.gz", "looks-gone.csv", "looks-kind.xlsx", "looks-zip.csv"];

#[test]
fn bad_exports_are_named_and_the_rest_goes_on() {
    let place = place();
    let done = place.intake();
    assert_eq!(done.code, Some(3), "{}", done.stderr);
    let errors: Vec<&str> =
        done.stderr.lines().filter(|line| line.starts_with("error: ")).collect();
    assert_eq!(errors.len(), BAD.len(), "{}", done.stderr);
    for (line, name) in errors.iter().zip(BAD) {
        assert!(line.contains(name) && line.contains("source looks"), "{line}");
    }
    assert!(done.stderr.contains("1 exports read, 0 known already, 5 could not be read"));
    let all = done.sums();
    let counts: Vec<&str> = all.split_whitespace().collect();
    assert_eq!(counts, ["3", "3", "0", "0", "0", "all"], "a row of a bad export was kept");
    // The next run tries them again and knows the good one; mended, they are taken.
    for name in BAD {
        fs::remove_file(place.folder.join(name)).unwrap();
    }
    place.write("looks-kind.csv", looks(400, 2));
    let done = place.intake();
    assert_eq!(done.rows(), [5, 5, 0]);
    assert!(done.stderr.contains("1 exports read, 1 known already"), "{}", done.stderr);
    assert_eq!(place.run(&["verify", "fleet.toml"]).code, Some(0));
}

#[test]
fn the_report_is_made_and_says_what_it_is_made_without() {
    let place = place();
    let done = place.review();
    assert_eq!(done.code, Some(3), "{}", done.stderr);
    assert!(done.stdout.ends_with("\nout/2026-Q1/report.html\n"), "{}", done.stdout);
    let file =
        |name: &str| fs::read_to_string(place.folder.join("out/2026-Q1").join(name)).unwrap();
    let page = file("report.html");
    let first = page.find("Made without 5 exports that could not be read").unwrap();
    assert!(first < page.find("In short").unwrap(), "not on the first page");
    let run: serde_json::Value = serde_json::from_str(&file("run.json")).unwrap();
    let unread = run["unread"].as_array().unwrap();
    let named: Vec<&str> = unread.iter().map(|line| line["file"].as_str().unwrap()).collect();
    assert_eq!(named, BAD);
    let [accounts, trust] = ["tables/intake.csv", "tables/trust.csv"].map(file);
    assert_eq!(accounts.lines().filter(|line| line.contains("unread")).count(), BAD.len());
    assert!(trust.lines().any(|line| line.contains("unread") && line.contains(",5,")), "{trust}");
    for name in BAD {
        let page = file("pages/intake.html");
        assert!(page.contains(name) && accounts.contains(name), "{name}");
    }
    fs::remove_file(place.folder.join("looks-gone.csv")).unwrap();
    for (path, text) in ["html", "csv", "json", "svg"].iter().flat_map(|end| place.written(end)) {
        let ours = path.starts_with(place.folder.join("out"));
        assert!(!ours || !text.contains("Ada Lorne"), "{} names a person", path.display());
    }
    let whole = Place::new(&[LOOKS]);
    whole.write("looks-good.csv", looks(1, 3));
    assert_eq!(whole.review().code, Some(0));
    let page = fs::read_to_string(whole.folder.join("out/2026-Q1/report.html")).unwrap();
    assert!(!page.contains("Made without"));
}

#[test]
fn what_an_earlier_intake_read_of_a_bad_export_stays_in_force_and_that_is_said() {
    let place = Place::new(&[LOOKS]);
    place.write("looks-a.csv.gz", gzip(&looks(1, 3)));
    assert_eq!(place.intake().rows(), [3, 3, 0]);
    place.write("looks-a.csv.gz", &gzip(&looks(1, 50))[..200]);
    place.write("looks-b.csv", looks(10, 2));
    let done = place.review();
    assert_eq!(done.code, Some(3), "{}", done.stderr);
    let stays = "what an earlier intake read of it stays in force";
    assert!(done.stderr.contains(stays), "{}", done.stderr);
    let report = place.folder.join("out/2026-Q1");
    assert!(fs::read_to_string(report.join("report.html")).unwrap().contains(stays));
    let run = fs::read_to_string(report.join("run.json")).unwrap();
    let run: serde_json::Value = serde_json::from_str(&run).unwrap();
    assert_eq!(run["rows"]["loaded"], 5);
}

#[test]
fn where_the_settings_are_strict_a_bad_export_ends_the_run_and_nothing_is_taken() {
    let place = place();
    let settings = place.folder.join("fleet.toml");
    let text = fs::read_to_string(&settings).unwrap();
    fs::write(&settings, text.replace("[rules]", "[rules]\nstrict = true")).unwrap();
    let done = place.review();
    assert_eq!(done.code, Some(3), "{}", done.stderr);
    assert_eq!(done.stderr.lines().count(), 1, "{}", done.stderr);
    assert_eq!(done.stdout, "");
    assert!(!place.folder.join("out/2026-Q1").exists());
    assert!(!place.files().iter().any(|path| path.starts_with(place.folder.join("store/parts"))));
}

#[test]
fn a_fleet_of_which_no_export_can_be_read_has_no_report() {
    let place = Place::new(&[LOOKS]);
    place.write("looks.xlsx", "no workbook");
    let done = place.review();
    assert_eq!(done.code, Some(3), "{}", done.stderr);
    assert!(done.stderr.contains("looks.xlsx") && done.stdout.is_empty(), "{}", done.stderr);
}

#[test]
fn pipes_sockets_and_devices_are_named_and_not_waited_for() {
    let place = Place::new(&[LOOKS]);
    place.write("looks-good.csv", looks(1, 3));
    let pipe = place.folder.join("looks-pipe.csv");
    assert!(Command::new("mkfifo").arg(&pipe).status().unwrap().success());
    let _listener = UnixListener::bind(place.folder.join("looks-socket.csv")).unwrap();
    symlink("/dev/zero", place.folder.join("looks-zero.csv")).unwrap();
    let done = place.intake();
    assert_eq!(done.code, Some(3), "{}", done.stderr);
    for (name, kind) in [("pipe", "a pipe (FIFO)"), ("socket", "a socket"), ("zero", "a device")] {
        let named = |line: &str| line.contains(&format!("looks-{name}.csv: found {kind}"));
        assert!(done.stderr.lines().any(named), "{}", done.stderr);
    }
    assert_eq!(done.sums(), "         3          3          0          0          0  all");
}

#[test]
fn names_that_are_no_utf8_are_read_and_told_apart() {
    let place = Place::new(&[LOOKS]);
    for (number, byte) in [(1, 0xff), (10, 0xfe)] {
        let name = [b"looks-\xc3\xbc", [byte].as_slice(), b".csv"].concat();
        let path = place.folder.join(std::ffi::OsStr::from_bytes(&name));
        fs::write(path, looks(number, 2)).unwrap();
    }
    let done = place.intake();
    assert_eq!(done.rows(), [4, 4, 0]);
    for name in ["looks-ü\u{fffd}ff.csv", "looks-ü\u{fffd}fe.csv"] {
        assert!(done.stdout.contains(name), "{}", done.stdout);
    }
    assert!(place.intake().stderr.contains("0 exports read, 2 known already"));
}

#[test]
fn two_names_that_are_one_as_text_are_not_taken_for_one_file() {
    let place = Place::new(&[LOOKS]);
    let bytes = place.folder.join(std::ffi::OsStr::from_bytes(b"looks-\xff.csv"));
    fs::write(bytes, looks(1, 2)).unwrap();
    place.write("looks-\u{fffd}ff.csv", looks(10, 3));
    let done = place.intake();
    assert_eq!(done.code, Some(3), "{}", done.stderr);
    assert!(done.stderr.contains("has the same name as text"), "{}", done.stderr);
    let all = done.sums();
    assert!(["3", "2"].contains(&all.split_whitespace().next().unwrap()), "{all}");
}
