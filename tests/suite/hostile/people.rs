//! People's names: nowhere in what the program keeps, says or writes; the key is its owner's alone.

use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::process::{Command, Stdio};

use super::{LOOKS, LOOKS_HEADER, Place};

/// A name that no row may show, not even in part.
const NAME: &str = "Idabel Molewright";

fn assert_nameless(what: &str, text: &str) {
    assert!(!text.contains("Idabel") && !text.contains("Molewright"), "{what}: {text}");
}

#[test]
fn the_key_is_its_owners_alone_under_a_lax_umask_too() {
    for umask in ["000", "022", "077"] {
        let place = Place::new(&[LOOKS]);
        place.write("looks.csv", LOOKS_HEADER);
        let script = format!("umask {umask}; exec \"$0\" intake fleet.toml");
        let mut shell = Command::new("sh");
        shell.args(["-c", &script, env!("CARGO_BIN_EXE_motetrail")]).current_dir(&place.folder);
        assert!(shell.stdout(Stdio::null()).stderr(Stdio::null()).status().unwrap().success());
        let key = fs::metadata(place.folder.join("store/people.key")).unwrap();
        assert_eq!(key.permissions().mode() & 0o777, 0o600, "umask {umask}");
        assert_eq!(key.len(), 32);
    }
}

/// Rows that fail in every way there is, each with the name.
fn rows() -> Vec<Vec<u8>> {
    let with = |row: &str| row.replace("NAME", NAME).into_bytes();
    let mut rows = vec![
        // A cell that cannot be typed: time, code, required text.
        with("1,someday,North,A1,installation,pass,,,NAME"),
        with("1,2026-02-01 08:00,North,A1,installation,maybe,,,NAME"),
        with("1,2026-02-01 08:00,North,,installation,pass,,,NAME"),
        // Too few and too many cells, before and behind the name.
        with("1,2026-02-01 08:00,North,A1,installation,pass,,NAME"),
        with("NAME"),
        with("1,2026-02-01 08:00,North,A1,installation,pass,,,,NAME"),
        with("1,2026-02-01 08:00,North,A1,installation,pass,,,NAME,,,x"),
        with("1,2026-02-01 08:00,North,A1,installation,pass,,,Molewright, Idabel"),
        // Quotes that go wrong.
        with("1,2026-02-01 08:00,North,A1,installation,pass,,,\"NAME\"x"),
        with("1,2026-02-01 08:00,\"No\"rth,A1,installation,pass,,,NAME"),
        // Bytes that are no text, beside the name and in it.
        [b"1,2026-02-01 08:00,North,A\xFF,installation,pass,,,".as_slice(), NAME.as_bytes()]
            .concat(),
        b"1,2026-02-01 08:00,North,A1,installation,pass,,,Idabel \xFFMolewright".to_vec(),
        with("1,2026-02-01 08:00,North,A\0,installation,pass,,,NAME"),
        with("1,2026-02-01 08:00,North,A1,installation,pass,,,NAME\0"),
        // A row that is too long.
        [with("1,2026-02-01 08:00,North,A1,installation,pass,,,NAME"), vec![b'x'; 2 << 20]]
            .concat(),
    ];
    // Last, since it takes the rest of the file: a quote that nothing closes.
    rows.push(with("1,2026-02-01 08:00,North,A1,installation,pass,,,\"NAME"));
    rows
}

#[test]
fn whatever_is_wrong_with_a_row_its_raw_text_shows_no_name() {
    let place = Place::new(&[LOOKS]);
    let rows = rows();
    let text = rows.join(&b'\n');
    place.write("looks.csv", [LOOKS_HEADER.as_bytes(), &text, b"\n"].concat());
    let done = place.intake();
    assert_eq!(done.rows(), [rows.len() as u64, 0, rows.len() as u64]);
    assert_nameless("output", &(done.stdout + &done.stderr));
    assert_nameless(
        "manifest",
        &fs::read_to_string(place.folder.join("store/manifest.json")).unwrap(),
    );
    let quarantine = place.quarantine();
    assert_eq!(quarantine.len(), rows.len());
    for row in quarantine {
        assert_nameless(&format!("line {}", row.line), &(row.raw.clone() + &row.reason));
        assert!(row.raw.contains("***"), "line {} is not masked: {}", row.line, row.raw);
    }
}

#[test]
fn a_good_row_keeps_a_pseudonym_and_a_review_shows_neither() {
    let place = Place::new(&[LOOKS]);
    let row =
        |at: usize| format!("{at},2026-02-01 08:{at:02},North,A{at},installation,pass,,,{NAME}\n");
    place.write("looks.csv", LOOKS_HEADER.to_owned() + &(10..60).map(row).collect::<String>());
    let done = place.review();
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    let key: [u8; 32] =
        fs::read(place.folder.join("store/people.key")).unwrap().try_into().unwrap();
    let pseudonym = motetrail::intake::PeopleKey::new(key).pseudonym_of(NAME);
    let part = fs::read_dir(place.folder.join("store/parts")).unwrap().next().unwrap().unwrap();
    let holds =
        |bytes: &[u8], word: &str| bytes.windows(word.len()).any(|at| at == word.as_bytes());
    assert!(holds(&fs::read(part.path()).unwrap(), &pseudonym), "the part has no pseudonym");
    for file in place.files() {
        if file.starts_with(place.folder.join("out")) {
            let bytes = fs::read(&file).unwrap();
            assert!(!holds(&bytes, &pseudonym) && !holds(&bytes, "Idabel"), "{}", file.display());
        } else if file.starts_with(place.folder.join("store")) {
            assert!(!holds(&fs::read(&file).unwrap(), "Idabel"), "{}", file.display());
        }
    }
}
