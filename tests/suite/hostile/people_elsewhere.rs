//! People's names where no column of people is: in columns that only the settings know to be of people,
//! in columns that nothing reads, and in cells that a shifted row carries them to.

use std::fs;

use arrow::util::display::array_value_to_string;
use motetrail::records::{Table, columns};
use motetrail::settings::read;
use motetrail::store::Store;

use super::{Done, LOOKS, LOOKS_HEADER, Place};

const PEOPLE: [&str; 4] =
    ["Idabel Molewright", "Quentin Abernoth", "Zdenka Pravdova", "Øyvind Raskelund"];

/// Tickets whose assignee and author are people; the map reads neither, nor the remark.
const DESK: &str = r#"
[[source]]
name = "desk"
files = ["desk*"]
end_face_names = "fleet"
people = { "Assigned to" = "drop", Author = "drop" }
[[source.record]]
table = "faults"
columns = { site = "site", opened = "opened", end_face = "face", cause = "cause" }
dates = { opened = "%Y-%m-%d %H:%M" }
"#;

fn holds(bytes: &[u8], word: &str) -> bool {
    bytes.windows(word.len()).any(|at| at == word.as_bytes())
}

/// Every text of the store's records and rejected rows, whatever it is packed in.
fn kept(place: &Place) -> String {
    let plan = read(&place.folder.join("fleet.toml")).unwrap_or_else(|error| panic!("{error}"));
    let store = Store::inspect(&plan).unwrap_or_else(|error| panic!("{error}"));
    let mut text = String::new();
    for table in Table::ALL {
        for part in store.parts(table) {
            for batch in store.read(&part, &[]).unwrap() {
                let batch = batch.unwrap();
                for cells in batch.columns() {
                    for row in 0..batch.num_rows() {
                        text += &array_value_to_string(cells, row).unwrap();
                        text.push('\n');
                    }
                }
            }
        }
        assert!(!columns(table).is_empty());
    }
    for row in store.quarantine(10_000).unwrap() {
        text += &format!("{row:?}\n");
    }
    text
}

/// Neither files nor terminal show a name; exports are the user's.
fn assert_nameless(place: &Place, done: &Done) {
    let kept = kept(place);
    for name in PEOPLE.iter().flat_map(|name| name.split(' ')) {
        assert!(!kept.contains(name), "{name} is kept");
        assert!(!done.stdout.contains(name) && !done.stderr.contains(name), "{name} is printed");
        for file in place.files() {
            let is_ours =
                ["out", "store"].map(|folder| file.starts_with(place.folder.join(folder)));
            if is_ours.contains(&true) {
                assert!(!holds(&fs::read(&file).unwrap(), name), "{name} in {}", file.display());
            }
        }
    }
}

/// Rejected rows as table, line and raw text.
fn rejected(place: &Place) -> Vec<String> {
    let rows = place.quarantine().into_iter();
    rows.map(|row| format!("{}:{}", row.line, row.raw)).collect()
}

#[test]
fn columns_that_the_settings_call_peoples_and_columns_that_nothing_reads_are_not_kept() {
    let place = Place::new(&[LOOKS, DESK]);
    let look = "l1,2026-02-01 07:00,North,A1,installation,pass,,,\n";
    place.write("looks.csv", format!("{LOOKS_HEADER}{look}"));
    let [ida, quentin, zdenka, _] = PEOPLE;
    let text = format!(
        "site,opened,Assigned to,face,cause,remark,Author\n\
         North,2026-02-01 08:00,{ida},A1,contamination,fine,{quentin}\n\
         North,some day,{ida},A1,contamination,told {zdenka},{quentin}\n\
         North,2026-02-01 08:00,A1,contamination,told {zdenka}\n\
         North,never,{ida},,contamination,\"{quentin}\",x\n"
    );
    place.write("desk.csv", text);
    let done = place.review();
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    assert_nameless(&place, &done);
    assert_eq!(
        rejected(&place),
        [
            "3:North,some day,***,A1,contamination,..,***",
            "4:***,***,***,..,***",
            "5:North,never,***,,contamination,..,***",
        ]
    );
}

#[test]
fn a_column_of_people_is_read_as_pseudonyms_wherever_the_map_takes_it() {
    let source =
        LOOKS.replace("end_face_names", "people = { who = \"pseudonym\" }\nend_face_names");
    let place = Place::new(&[&source.replace("inspector = \"who\"", "instrument = \"who\"")]);
    let row = |at: usize| {
        let name = PEOPLE[at % 4];
        format!("{at},2026-02-01 08:{at:02},North,A{at},installation,pass,,,{name}\n")
    };
    place.write("looks.csv", LOOKS_HEADER.to_owned() + &(10..50).map(row).collect::<String>());
    let done = place.review();
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    assert_nameless(&place, &done);
    assert!(kept(&place).contains("\np-"), "no pseudonym is kept");
}

#[test]
fn a_row_shifted_by_one_cell_shows_no_name_wherever_it_stands_in_the_file() {
    let place = Place::new(&[LOOKS]);
    let mut text = LOOKS_HEADER.to_owned();
    // The first rows, before any of the names is known: shifted to the left so that all cells can still
    // be typed, and so that they cannot.
    for (at, name) in PEOPLE.iter().enumerate() {
        text += &format!("s{at},2026-02-01 08:00,North,A{at},installation,pass,makers,{name},\n");
        text += &format!("t{at},2026-02-01 08:00,North,A{at},installation,pass,{name},,\n");
        text += &format!("2026-02-01 08:00,North,A{at},installation,pass,makers,LC,{name},\n");
        text += &format!("u{at},2026-02-01 08:00,North,A{at},installation,{name},makers,LC,\n");
    }
    for at in 0..400 {
        let (name, maker) = (PEOPLE[at % 4], ["makers", "others"][at % 2]);
        let when = format!("2026-03-{:02} {:02}:00", 1 + at % 28, at % 24);
        text += &format!("{at},{when},North,A{at},installation,pass,{maker},LC,{name}\n");
    }
    // A maker, a work word, a number and a digit in the inspector's cell take no row away.
    for (at, word) in
        ["makers", "others", "pass", "LC", "North", "7", "2026-03-01"].iter().enumerate()
    {
        text += &format!("v{at},2026-04-01 08:00,North,B7,installation,pass,makers,LC,{word}\n");
    }
    place.write("looks.csv", text);
    let done = place.review();
    assert_eq!(done.code, Some(0), "{}", done.stderr);
    assert_nameless(&place, &done);
    let (loaded, kept) = (400 + 7, rejected(&place));
    assert_eq!(kept.len(), 16, "{kept:?}");
    let account = place.intake();
    assert_eq!(account.rows(), [loaded + 16, loaded, 16]);
    assert!(
        kept.contains(&"2:s0,2026-02-01 08:00,***,A0,installation,pass,***,***,***".to_owned())
    );
    let reasons: Vec<String> = place.quarantine().into_iter().map(|row| row.reason).collect();
    assert!(reasons[0].starts_with("found a person's name (***), expected"), "{}", reasons[0]);
}

#[test]
fn a_name_that_stands_as_often_in_another_column_is_a_persons_and_the_way_out_is_said() {
    let place = Place::new(&[LOOKS]);
    let row = |at: usize| {
        let name = PEOPLE[at % 4];
        format!("{at},2026-02-01 08:{at:02},North,A{at},installation,pass,{name},,{name}\n")
    };
    let rows: String = (10..50).map(row).collect();
    place.write("looks.csv", LOOKS_HEADER.to_owned() + &rows);
    let done = place.intake();
    assert_eq!(done.rows(), [40, 0, 40]);
    assert_nameless(&place, &done);
    assert!(place.quarantine()[0].reason.ends_with("or name this column in the source's `people`"));
    // As the reason says.
    let source =
        LOOKS.replace("end_face_names", "people = { supplier = \"pseudonym\" }\nend_face_names");
    let named = Place::new(&[&source]);
    named.write("looks.csv", LOOKS_HEADER.to_owned() + &rows);
    let done = named.intake();
    assert_eq!(done.rows(), [40, 40, 0]);
    assert_nameless(&named, &done);
}
