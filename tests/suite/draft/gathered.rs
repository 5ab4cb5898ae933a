//! Questions that several exports raise are asked once, and none is asked that an export answers.

use motetrail::draft::{Exported, FleetAsked, FleetDraft, answer, first, more};

use super::fleet::{exported, for_files, joins, looks, read};

/// The text without its third column.
fn without_site(text: &str) -> String {
    text.lines().fold(String::new(), |all, line| {
        let cells: Vec<&str> = line.split('|').collect();
        all + &[&cells[..2], &cells[3..]].concat().join("|") + "\n"
    })
}

fn drafted(exports: Vec<Exported>) -> FleetDraft {
    let files: Vec<String> = exports.iter().map(|export| export.file.clone()).collect();
    let files: Vec<&str> = files.iter().map(String::as_str).collect();
    first(&for_files(&files), exports)
}

/// How many open questions hold these words.
fn asked(draft: &FleetDraft, words: &str) -> usize {
    let open = read(&draft.toml).open;
    open.iter().filter(|open| open.text.contains(words)).count()
}

/// The settings with every comment on one line.
fn unwrapped(draft: &FleetDraft) -> String {
    draft.toml.replace("\n#       ", "")
}

#[test]
fn the_sites_of_folders_are_one_question_with_an_answer_a_folder() {
    let exports = vec![
        exported("in/north/looks.csv", &without_site(&looks("x", 0))),
        exported("in/north/joins.csv", &without_site(&joins("-"))),
        exported("in/south/looks.csv", &without_site(&looks("x", 100))),
    ];
    let draft = drafted(exports);
    assert_eq!(asked(&draft, "Which site"), 1, "{}", draft.toml);
    assert!(draft.toml.contains("answers.\"in/north site\" = \"north\""), "{}", draft.toml);
    assert!(draft.toml.contains("answers.\"in/south site\" = \"south\""), "{}", draft.toml);
    // An answer need not be the name of the folder: no list of sites is closed by it.
    let given = [("in/north site".to_owned(), "\"Nordby\"".to_owned())];
    let plan = read(&answer(&draft.toml, &given).unwrap());
    let of: Vec<&str> = plan.sources.iter().filter_map(|one| one.site.as_deref()).collect();
    assert_eq!(of.iter().filter(|site| **site == "Nordby").count(), 2, "{of:?}");
    assert!(plan.fleet.sites.is_empty(), "{:?}", plan.fleet.sites);
}

#[test]
fn a_folder_called_like_a_site_of_another_export_is_of_that_site_without_a_question() {
    let exports = vec![
        exported("in/all/looks.csv", &(looks("Alder Point", 0) + &looks_more("Birch Quay"))),
        exported("in/birch-quay/joins.csv", &without_site(&joins("-"))),
        exported("in/alder/cleans.csv", &cleans()),
    ];
    let draft = drafted(exports);
    let plan = read(&draft.toml);
    let site = |name: &str| {
        let source = plan.sources.iter().find(|one| one.name == name);
        source.unwrap_or_else(|| panic!("{}", draft.toml)).site.clone()
    };
    assert_eq!(site("joins").as_deref(), Some("Birch Quay"));
    // A part of its name is likely, and asked about.
    assert_eq!(site("cleans").as_deref(), Some("Alder Point"));
    assert_eq!(asked(&draft, "Which site"), 1, "{}", draft.toml);
    assert!(!draft.toml.contains("\"in/birch-quay site\""), "{}", draft.toml);
}

fn looks_more(site: &str) -> String {
    looks(site, 50).lines().skip(1).fold(String::new(), |text, line| text + "\n" + line)
}

fn cleans() -> String {
    (0..40).fold("Cleaning ID|Cleaned|Connector|Method|Stage".to_owned(), |text, row| {
        let day = row % 28 + 1;
        text + &format!("\nC{row}|2026-02-{day:02} 07:15:00|A{}|dry|incoming", row % 30)
    })
}

#[test]
fn a_column_of_few_words_that_nothing_reads_is_named_where_the_site_is_asked() {
    let text = without_site(&looks("x", 0));
    let header = text.lines().next().unwrap().to_owned() + "|Wyrd";
    let rows = text.lines().skip(1).enumerate();
    let text = rows.fold(header, |all, (row, line)| {
        all + &format!("\n{line}|{}", ["Oslo", "Bergen"][row % 2])
    });
    let draft = drafted(vec![exported("in/looks.csv", &text)]);
    assert!(unwrapped(&draft).contains("\"Wyrd\" (\""), "{}", draft.toml);
}

/// Looks whose connectors are missing here and there, with a word for it.
fn with_null(site: &str, from: usize, null: &str) -> String {
    looks(site, from).replace("|A3|", &format!("|{null}|"))
}

#[test]
fn words_for_nothing_are_asked_once_and_an_answer_holds_for_no_other_words() {
    let other = with_null("Birch Quay", 40, "n/a").replace("Look no", "Check");
    let exports = vec![
        exported("in/looks.csv", &with_null("Alder Point", 0, "n/a")),
        exported("in/checks.csv", &other),
    ];
    let asked_for = for_files(&["in/looks.csv", "in/checks.csv", "in/joins.csv"]);
    let draft = first(&asked_for, exports);
    assert_eq!(asked(&draft, "not given"), 1, "{}", draft.toml);
    let sources = ["Sources: checks, looks", "Sources: looks, checks"];
    assert!(sources.iter().any(|one| draft.toml.contains(one)), "{}", draft.toml);
    // What comes later has other words: the answer is not taken for these.
    let text = answer(&draft.toml, &[("nulls".to_owned(), "[\"n/a\"]".to_owned())]).unwrap();
    let known = FleetAsked { known: Some((read(&text), text.clone())), ..asked_for };
    let later = joins("-").replace("|R0-P0-00|", "|k.A.|");
    let added = more(&known, vec![exported("in/joins.csv", &later)]);
    let plan = read(&added.toml);
    let nulls = |name: &str| {
        let source = plan.sources.iter().find(|one| one.name == name);
        source.unwrap_or_else(|| panic!("{}", added.toml)).dialect.nulls.clone()
    };
    assert_eq!((nulls("looks"), nulls("joins")), (vec!["n/a".into()], vec!["k.A.".into()]));
    assert!(plan.open.iter().any(|open| open.text.contains("not given")), "{:?}", plan.open);
}

#[test]
fn one_encoding_of_several_exports_is_one_question() {
    let guessed = |file: &str, text: &str| Exported {
        dialect: motetrail::settings::Dialect {
            encoding: motetrail::settings::Encoding::named("windows-1250").unwrap(),
            ..Default::default()
        },
        guessed_encoding: Some("the byte F3".to_owned()),
        ..exported(file, text)
    };
    let exports = vec![
        guessed("in/looks.csv", &looks("Alder Point", 0)),
        guessed("in/checks.csv", &looks("Birch Quay", 40).replace("Look no", "Check")),
    ];
    let draft = drafted(exports);
    assert_eq!(asked(&draft, "encoding"), 1, "{}", draft.toml);
}

#[test]
fn a_word_of_one_list_is_asked_once_whatever_column_holds_it() {
    let looks = looks("Alder Point", 0).replace("incoming", "line-work");
    let faults =
        (0..40).fold("Ticket|Opened|Site|Connector|Cause|Found in".to_owned(), |text, row| {
            let day = row % 28 + 1;
            text + &format!("\nT{row}|2026-02-{day:02} 09:00:00|Alder Point|A{row}|dirt|line-work")
        });
    let draft = drafted(vec![exported("in/looks.csv", &looks), exported("in/desk.csv", &faults)]);
    assert_eq!(draft.toml.matches("answers.\"stage line-work\"").count(), 1, "{}", draft.toml);
    assert!(!draft.toml.contains("found_stage line-work"), "{}", draft.toml);
}

#[test]
fn the_zone_is_always_a_question_with_what_speaks_for_it() {
    let zoned = |winter: &str, summer: &str| {
        (0..40).fold("Ticket|Opened|Site|Connector|Cause|Cost (EUR)".to_owned(), |text, row| {
            let at = [
                format!("2026-01-{:02}T09:00:00{winter}", row % 28 + 1),
                format!("2026-07-{:02}T09:00:00{summer}", row % 28 + 1),
            ];
            text + &format!("\nT{row}|{}|Alder Point|A{row}|dirt|12.50", at[row % 2])
        })
    };
    let zone = |text: &str| {
        let draft = drafted(vec![exported("in/desk.csv", text)]);
        assert_eq!(asked(&draft, "time zone"), 1, "{}", draft.toml);
        (read(&draft.toml).fleet.timezone.name().to_owned(), unwrapped(&draft))
    };
    let (name, toml) = zone(&zoned("+0100", "+0200"));
    assert!(name == "Europe/Berlin" && toml.contains("end with +01:00, +02:00"), "{toml}");
    let (name, toml) = zone(&zoned("+0000", "+0100"));
    assert!(name == "Europe/London", "{toml}");
    // A currency of one country is a hint and no more; the euro is none.
    let local =
        |currency: &str| zoned("", "").replace("T09:00:00", " 09:00:00").replace("EUR", currency);
    let (name, toml) = zone(&local("PLN"));
    assert!(name == "Europe/Warsaw" && toml.contains("nothing else speaks"), "{toml}");
    let (name, toml) = zone(&local("EUR"));
    assert!(name == "UTC" && toml.contains("nothing speaks for a place"), "{toml}");
    assert!(toml.contains("column \"Opened\" holds \"2026-0"), "{toml}");
}

#[test]
fn names_that_begin_with_letters_of_a_site_are_likely_names_of_the_fleet() {
    let of = |site: &str, names: [&str; 2]| {
        looks(site, 0).lines().skip(1).enumerate().fold(String::new(), |all, (row, line)| {
            let name = format!("|{}-{}|", names[row % 2], row % 30);
            all + "\n" + &line.replace(&format!("|A{}|", row % 30), &name)
        })
    };
    let header = "Look no|When|Site|Connector|Stage|Result";
    // They stand at both sites, as what was moved does.
    let moved =
        format!("{header}{}{}", of("Alder Point", ["AP", "BQ"]), of("Birch Quay", ["AP", "BQ"]));
    let draft = drafted(vec![exported("in/looks.csv", &moved)]);
    assert!(draft.toml.contains("answers.end_face_names = \"fleet\""), "{}", draft.toml);
    assert!(unwrapped(&draft).contains("begin with letters of a site"), "{}", draft.toml);
    let plain = moved.replace("|AP-", "|R1-").replace("|BQ-", "|R2-");
    let draft = drafted(vec![exported("in/looks.csv", &plain)]);
    assert!(draft.toml.contains("answers.end_face_names = \"site\""), "{}", draft.toml);
}

#[test]
fn a_table_that_its_columns_tell_is_not_asked_about_though_a_stage_is_missing() {
    let text = looks("Alder Point", 0).lines().fold(String::new(), |all, line| {
        let cells: Vec<&str> = line.split('|').collect();
        all + &[&cells[..4], &cells[5..]].concat().join("|") + "\n"
    });
    let draft = drafted(vec![exported("in/looks.csv", &text)]);
    assert_eq!(asked(&draft, "Are the rows"), 0, "{}", draft.toml);
    assert_eq!(asked(&draft, "`stage`"), 1, "{}", draft.toml);
}

/// Settings with what is added for one more export.
fn with(text: &str, file: &str, export: &str) -> FleetDraft {
    let asked_for = for_files(&["in/looks.csv", file]);
    let known = FleetAsked { known: Some((read(text), text.to_owned())), ..asked_for };
    more(&known, vec![exported(file, export)])
}

#[test]
fn what_nobody_has_answered_yet_is_no_certainty_for_the_next_export() {
    let looks = looks("Alder Point", 0).replace("incoming", "service");
    let text = drafted(vec![exported("in/looks.csv", &looks)]).toml;
    assert!(text.contains("answers.\"stage service\" = "), "{text}");
    let added = with(&text, "in/checks.csv", &looks.replace("Look no", "Check"));
    let given = [("stage service".to_owned(), "\"repair\"".to_owned())];
    let plan = read(&answer(&added.toml, &given).unwrap());
    assert_eq!(plan.sources.len(), 2, "{}", added.toml);
    for source in &plan.sources {
        assert_eq!(source.records[0].values["stage"]["service"], "repair", "{}", added.toml);
    }
}

/// Looks whose end faces stand in three columns.
fn in_parts(number: &str) -> String {
    (0..48).fold(format!("{number}|When|Site|Rack|Panel|Port|Stage|Result"), |text, row| {
        let place = format!("R{}|P{}|{:02}", row / 24, row / 12 % 2, row % 12);
        let day = row % 28 + 1;
        text + &format!("\nL{row}|2026-02-{day:02} 08:15:00|Alder Point|{place}|incoming|pass")
    })
}

#[test]
fn the_columns_that_name_an_end_face_together_are_asked_about_once() {
    let text = drafted(vec![exported("in/looks.csv", &in_parts("Look no"))]).toml;
    let given = [("looks end_face".to_owned(), "[\"Rack\", \"Panel\", \"Port\"]".to_owned())];
    let text = answer(&text, &given).unwrap();
    let added = with(&text, "in/checks.csv", &in_parts("Check"));
    let plan = read(&added.toml);
    let checks = plan.sources.iter().find(|source| source.name == "checks").unwrap();
    assert_eq!(checks.records[0].columns["end_face"], ["Rack", "Panel", "Port"]);
    assert!(
        added.toml.matches("end_face = \"{Rack}-{Panel}-{Port}\"").count() == 2,
        "{}",
        added.toml
    );
    assert!(!plan.open.iter().any(|open| open.text.contains("together")), "{:?}", plan.open);
    // Until it is answered it is a question of the next export too.
    let text = drafted(vec![exported("in/looks.csv", &in_parts("Look no"))]).toml;
    let added = with(&text, "in/checks.csv", &in_parts("Check"));
    let open = read(&added.toml).open;
    assert!(open.iter().any(|open| open.text.contains("together")), "{open:?}");
}

#[test]
fn an_export_that_is_nearly_of_a_known_shape_is_said_to_be_with_the_difference() {
    let text = drafted(vec![exported("in/looks.csv", &looks("Alder Point", 0))]).toml;
    let renamed = looks("Alder Point", 40).replace("Result", "Verdict").replace("|fail", "|fial");
    let added = with(&text, "in/spring.csv", &renamed);
    let told = added.sources.join("\n");
    assert!(told.contains("in/spring.csv is nearly as looks expects"), "{told}");
    assert!(told.contains("\"Result\", which is gone; \"Verdict\" is new"), "{told}");
    // What has little in common is nothing of the kind.
    let told = with(&text, "in/joins.csv", &joins("-")).sources.join("\n");
    assert!(!told.contains("nearly"), "{told}");
}

#[test]
fn an_export_of_a_site_that_the_settings_do_not_list_is_left_out_and_the_settings_can_be_read() {
    let two = looks("Alder Point", 0) + &looks_more("Birch Quay");
    let text = drafted(vec![exported("in/looks.csv", &two)]).toml;
    assert_eq!(read(&text).fleet.sites.len(), 2, "{text}");
    let added = with(&text, "in/nordby/cleans.csv", &cleans());
    assert_eq!(read(&added.toml).sources.len(), 1, "{}", added.toml);
    assert!(added.left_out[0].1.contains("names none of `sites`"), "{:?}", added.left_out);
    // Once it is listed, its folder is of it.
    let listed = text.replace("\"Birch Quay\"]", "\"Birch Quay\", \"Nordby\"]");
    let plan = read(&with(&listed, "in/nordby/cleans.csv", &cleans()).toml);
    let of_nordby = |name: &str| {
        plan.sources.iter().any(|one| one.name == name && one.site.as_deref() == Some("Nordby"))
    };
    assert!(of_nordby("cleans") && !of_nordby("looks"), "{listed}");
}
