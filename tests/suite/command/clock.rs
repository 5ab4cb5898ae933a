//! Without `as_of` the day of intake stands for it, and must fit the records.

use super::{LOOKS, SETTINGS, fleet, run, text};

#[test]
fn old_and_future_records_without_as_of_end_with_2_and_the_line_to_write() {
    let without = SETTINGS.replace("as_of = \"2026-04-02\"\n", "");
    for year in ["2015", "2190"] {
        let looks = LOOKS.replace("2026-", &format!("{year}-"));
        let folder = fleet(&without, &looks);
        let done = run(folder.path(), &["review", "--quiet", "fleet.toml"]);
        let said = text(&done.stderr);
        assert_eq!(done.status.code(), Some(2), "{said}");
        let line = format!("as_of = \"{year}-02-01\"");
        assert!(said.trim_end().ends_with(&line), "{said}");
        let mut days = said.split([' ', ',', ';']).filter(|word| {
            word.len() == 10 && word.split('-').all(|part| part.parse::<u32>().is_ok())
        });
        let (intake, newest) = (days.next().unwrap(), days.next().unwrap());
        assert!(intake.starts_with("20") && newest.ends_with("-02-01"), "{said}");
        // With that line the review is made.
        let with = without.replace("[[source]]", &format!("{line}\n[[source]]"));
        std::fs::write(folder.path().join("fleet.toml"), with).unwrap();
        let done = run(folder.path(), &["review", "--quiet", "fleet.toml"]);
        assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    }
}
