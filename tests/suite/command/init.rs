//! `init` from outside.

use std::fs;

use super::{run, text};

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("in")).unwrap();
    let looks = (0..40).fold("id,at,site,connector,stage,result\n".to_owned(), |text, row| {
        let site = ["North", "South"][row % 2];
        text + &format!("{row},2026-02-{:02} 08:15:00,{site},A{row},incoming,pass\n", row % 28 + 1)
    });
    fs::write(folder.path().join("in/looks.csv"), looks).unwrap();
    fs::write(folder.path().join("in/broken.parquet"), "PAR1 and no more").unwrap();
    folder
}

#[test]
fn init_writes_settings_that_review_reads_and_names_what_it_cannot_read() {
    let folder = folder();
    let done = run(folder.path(), &["init", "in"]);
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    let out = text(&done.stdout);
    assert!(
        out.contains("looks: 1 file of inspections") && out.contains("would open most"),
        "{out}"
    );
    assert!(text(&done.stderr).contains("in/broken.parquet: not read"), "{}", text(&done.stderr));
    let settings = folder.path().join("fleet.toml");
    let dated = fs::read_to_string(&settings).unwrap().replacen(
        "[fleet]\n",
        "[fleet]\nas_of = \"2026-04-02\"\n",
        1,
    );
    fs::write(&settings, dated).unwrap();
    let review = run(folder.path(), &["review", "fleet.toml"]);
    assert_eq!(review.status.code(), Some(0), "{}", text(&review.stderr));
    let said = text(&review.stderr);
    assert!(
        said.contains("questions are open in fleet.toml") && said.contains("could change"),
        "{said}"
    );
}

#[test]
fn init_again_changes_nothing_where_nothing_is_new() {
    let folder = folder();
    run(folder.path(), &["init", "in"]);
    let before = fs::read(folder.path().join("fleet.toml")).unwrap();
    let again = run(folder.path(), &["init", "in"]);
    assert!(text(&again.stdout).contains("nothing new in in"), "{}", text(&again.stdout));
    assert_eq!(fs::read(folder.path().join("fleet.toml")).unwrap(), before);
}

#[test]
fn a_folder_without_exports_and_an_answer_to_no_question_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("in")).unwrap();
    let none = run(folder.path(), &["init", "in"]);
    assert_eq!(none.status.code(), Some(2), "{}", text(&none.stderr));
    assert!(!folder.path().join("fleet.toml").exists());
    let gone = run(folder.path(), &["init", "gone"]);
    assert_eq!(gone.status.code(), Some(3));
    let folder = self::folder();
    fs::write(folder.path().join("answers.toml"), "colour = \"blue\"\n").unwrap();
    let wrong = run(folder.path(), &["init", "in", "--answers", "answers.toml"]);
    assert_eq!(wrong.status.code(), Some(2));
    assert!(text(&wrong.stderr).contains("colour"), "{}", text(&wrong.stderr));
}

#[test]
fn a_map_is_drafted_for_settings_without_a_source_and_knows_their_sites() {
    let folder = folder();
    let settings = "[fleet]\nname = \"New\"\ncurrency = \"EUR\"\ntimezone = \"Europe/Vienna\"\n\
                    sites = [\"North\", \"South\"]\n";
    fs::write(folder.path().join("new.toml"), settings).unwrap();
    let looks = fs::read_to_string(folder.path().join("in/looks.csv")).unwrap();
    fs::write(folder.path().join("looks.csv"), looks.replacen("site", "Where", 1)).unwrap();
    let done = run(folder.path(), &["map", "looks.csv", "--fleet", "new.toml"]);
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    let draft = text(&done.stdout);
    assert!(draft.lines().any(|line| line == "site = \"Where\""), "{draft}");
}

#[test]
fn answers_that_cannot_be_read_are_named_and_nothing_is_written() {
    let folder = folder();
    fs::write(folder.path().join("answers.toml"), "end_face_names = \"planet\"\n").unwrap();
    let done = run(folder.path(), &["init", "in", "--answers", "answers.toml"]);
    assert_eq!(done.status.code(), Some(2), "{}", text(&done.stderr));
    assert!(text(&done.stderr).contains("planet"), "{}", text(&done.stderr));
    assert!(!folder.path().join("fleet.toml").exists());
}
