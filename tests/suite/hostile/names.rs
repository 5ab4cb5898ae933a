//! Names with path parts, markup, or characters that a terminal obeys.

use std::path::{Path, PathBuf};

use super::{FAULTS, JOINS, LOOKS, LOOKS_HEADER, Place, named_by};

const PATHS: [&str; 5] =
    ["../../x", "/motetrail-was-here", "..\\..\\x", "a/../../../../y", "%2e%2e%2fz"];

const MARKUP: [&str; 6] = [
    "<script>alert(1)</script>",
    "<img src=x onerror=alert(1)>",
    "\"><svg onload=alert(1)>",
    "</text></svg><script>alert(2)</script>",
    "javascript:alert(1)",
    "a & b ' c \u{202E}d\u{7}",
];

/// Files outside the fleet's store and output folder.
fn strays(place: &Place) -> Vec<PathBuf> {
    let mut files = place.files();
    let ours = [place.folder.join("store"), place.folder.join("out")];
    files.retain(|file| !ours.iter().any(|folder| file.starts_with(folder)));
    files
}

/// `2026-Q2/pages/site-...html`, the rest of its name plain.
fn is_page_of_a_site(file: &Path) -> bool {
    let name = file.file_name().and_then(|name| name.to_str()).unwrap_or_default();
    let Some(site) = name.strip_prefix("site-").and_then(|rest| rest.strip_suffix(".html")) else {
        return false;
    };
    let plain =
        |letter: char| letter == '-' || letter.is_ascii_lowercase() || letter.is_ascii_digit();
    file.parent() == Some(Path::new("2026-Q2/pages")) && site.chars().all(plain)
}

#[test]
fn names_with_path_parts_write_nothing_outside_the_store_and_the_output() {
    let looks = LOOKS.replace("name = \"looks\"", "name = \"../../looks/../../../x\"");
    let place = Place::new(&[&looks, JOINS, FAULTS]);
    named_by(&place, &PATHS);
    let before = strays(&place);
    let done = place.review();
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    assert_eq!(strays(&place), before);
    let plain = Place::new(&[LOOKS, JOINS, FAULTS]);
    named_by(&plain, &["North", "South", "East", "West", "Middle"]);
    assert_eq!(plain.review().code, Some(0));
    let names = |place: &Place| {
        let out = place.folder.join("out");
        let mut names = place.files();
        names.retain(|file| file.starts_with(&out));
        let within = names.iter().map(|file| file.strip_prefix(&out).unwrap().to_owned());
        // A page of a site is named after the site, in letters and digits alone.
        within.partition::<Vec<PathBuf>, _>(|file| is_page_of_a_site(file))
    };
    let ((hostile, others), (usual, same)) = (names(&place), names(&plain));
    assert_eq!(others, same, "names of records became names of files");
    assert_eq!((hostile.len(), usual.len()), (PATHS.len(), PATHS.len()));
    assert!(!PathBuf::from(PATHS[1]).exists());
}

#[test]
fn markup_in_names_is_text_on_the_page_and_in_the_charts() {
    let place = Place::new(&[LOOKS, JOINS, FAULTS]);
    named_by(&place, &MARKUP);
    let settings = place.folder.join("fleet.toml");
    let text = std::fs::read_to_string(&settings).unwrap();
    std::fs::write(&settings, text.replace("Invented Light Rail", MARKUP[0])).unwrap();
    let done = place.review();
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    let mut shown = 0;
    for (path, text) in place.written("html").into_iter().chain(place.written("svg")) {
        for bad in
            ["<script>alert", "<img src=x", "<svg onload", "href=\"javascript", "\u{202E}", "\u{7}"]
        {
            assert!(!text.contains(bad), "{} has {bad:?}", path.display());
        }
        shown += text.matches("&lt;script&gt;").count();
    }
    assert!(shown > 0, "the names are shown nowhere, so nothing was tried");
}

#[test]
fn a_terminal_is_told_nothing_that_it_would_obey() {
    let place = Place::new(&[LOOKS]);
    let colour = "\u{1b}[31m";
    place.write(&format!("looks{colour}.csv"), format!("{colour}x,at\n1,2\n"));
    let done = place.intake();
    assert_eq!(done.code, Some(3));
    assert!(done.stderr.contains("looks") && !done.stderr.contains('\u{1b}'), "{:?}", done.stderr);
    place.write(&format!("looks{colour}.csv"), LOOKS_HEADER);
    let done = place.intake();
    assert_eq!(done.code, Some(0));
    assert!(done.stdout.contains("looks") && !done.stdout.contains('\u{1b}'), "{:?}", done.stdout);
}

#[test]
fn verify_and_json_messages_tell_a_terminal_nothing_either() {
    let place = Place::new(&[LOOKS]);
    // Both kinds of control characters: those below a blank, and those above the tilde.
    let name = "looks\u{1b}[31m\u{9b}31m\u{7f}.csv";
    place.write(name, format!("{LOOKS_HEADER}1,2026-02-01 08:00,N,A1,installation,pass,,,\n"));
    assert_eq!(place.intake().code, Some(0));
    let parts = place.folder.join("store/parts");
    let part = std::fs::read_dir(parts).unwrap().next().unwrap().unwrap().path();
    let mut bytes = std::fs::read(&part).unwrap();
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    std::fs::write(&part, bytes).unwrap();
    let verified = place.run(&["verify", "fleet.toml"]);
    assert_eq!(verified.code, Some(4), "{}", verified.stderr);
    assert!(
        verified.stdout.contains("looks\u{fffd}[31m\u{fffd}31m\u{fffd}.csv"),
        "{}",
        verified.stdout
    );
    place.write(name, "no header");
    let json = place.run(&["intake", "--log", "json", "fleet.toml"]);
    let line: serde_json::Value =
        serde_json::from_str(json.stderr.lines().next().unwrap()).unwrap();
    assert!(line["message"].as_str().unwrap().contains(name), "JSON keeps the name: {line}");
    for told in [verified.stdout, verified.stderr, json.stderr] {
        assert!(!told.chars().any(|c| c.is_control() && c != '\n'), "{told:?}");
    }
}
