//! `[[action]]` and `[looks]`: what may be said, and what is refused with its place.

use motetrail::settings::{ActionFrom, LookMinutes, Plan, SettingsError, Target, read_text};

const FLEET: &str = "[fleet]\nname = \"Harbour line\"\ncurrency = \"EUR\"\ntimezone = \"UTC\"\nsites = [\"North\", \"South\"]\n";

fn read(more: &str) -> Result<Plan, SettingsError> {
    read_text(&format!("{FLEET}{more}"), std::path::Path::new("."), "fleet.toml")
}

/// What is wrong with it, apart from there being no source.
fn wrong(more: &str) -> Vec<String> {
    match read(more) {
        Ok(_) => Vec::new(),
        Err(SettingsError::Invalid { problems }) => problems
            .iter()
            .filter(|problem| !problem.key.starts_with("source"))
            .map(|problem| format!("{}: {}", problem.key, problem.message))
            .collect(),
        Err(error) => panic!("{error}"),
    }
}

/// The demo's settings, whose own two actions come first, with more.
fn plan(more: &str) -> Plan {
    let text =
        std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/data-demo/fleet.toml"));
    let text = format!("{}\n{more}", text.unwrap());
    read_text(&text, std::path::Path::new("."), "fleet.toml")
        .unwrap_or_else(|error| panic!("{error}"))
}

#[test]
fn an_action_has_a_day_for_all_its_sites_or_one_for_each() {
    let actions = plan(
        "[[action]]\nname = \"Caps\"\nfrom = 2026-01-05\nsites = [\"Quillmere\"]\nmoves = [\"first-pass\", \"skipped\"]\ncost = 120.50\n\
         [[action]]\nname = \"Training\"\nmoves = [\"linked-faults\"]\n\
         from = { Quillmere = \"2025-11-01\", Hollowick = 2026-02-01 }\n",
    )
    .actions;
    let [_, _, caps, training] = &actions[..] else { panic!("{}", actions.len()) };
    let day = |text: &str| Some(text.parse().unwrap());
    assert_eq!(caps.moves, [Target::FirstPass, Target::Skipped]);
    assert_eq!(caps.cost, 12_050);
    let from = caps.from.as_ref().unwrap();
    assert!(matches!(from, ActionFrom::Everywhere(..)));
    assert_eq!((from.at("Quillmere"), from.at("Hollowick")), (day("2026-01-05"), None));
    let from = training.from.as_ref().unwrap();
    assert_eq!(
        (from.at("Quillmere"), from.at("Hollowick")),
        (day("2025-11-01"), day("2026-02-01"))
    );
    assert_eq!(from.at("Velbrück"), None);
}

#[test]
fn what_an_action_lacks_or_misspells_is_named_with_its_key() {
    let said = wrong("[[action]]\ncost = 1\n").join("\n");
    for key in ["action.name", "action.from", "action.moves"] {
        assert!(said.contains(key), "{said}");
    }
    let said = wrong(
        "[[action]]\nname = \"Caps\"\nfrom = \"2026-13-01\"\nsites = [\"Nort\"]\nmoves = [\"first-passs\"]\nproposal = \"X\"\n",
    )
    .join("\n");
    for part in ["2026-13-01", "Nort", "first-passs", "first-pass", "proposal"] {
        assert!(said.contains(part), "{part}: {said}");
    }
    let said = wrong(
        "[[action]]\nname = \"Caps\"\nfrom = { Nort = \"2026-01-01\" }\nsites = [\"North\"]\nmoves = [\"skipped\"]\n\
         [[action]]\nname = \"Caps\"\nfrom = \"2026-01-01\"\nmoves = []\n",
    )
    .join("\n");
    for part in ["Nort", "names the sites by itself", "a second time", "one or several of"] {
        assert!(said.contains(part), "{part}: {said}");
    }
}

#[test]
fn minutes_are_of_the_fleet_or_of_each_site() {
    let looks = plan("[looks]\nminutes_a_month = 1200\n").looks;
    assert_eq!(looks.minutes_a_month, Some(LookMinutes::Fleet(1200.0)));
    assert!(!looks.travel && looks.accept_percent.is_none());
    let looks = plan("[looks]\ntravel = true\naccept_percent = \"2.5\"\nminutes_a_month = { Quillmere = 600.5 }\n").looks;
    let Some(LookMinutes::BySite(sites)) = looks.minutes_a_month else { panic!() };
    assert_eq!(sites["Quillmere"], 600.5);
    assert!(looks.travel && looks.accept_percent == Some(2.5));
    let said =
        wrong("[looks]\nminutes_a_month = { Nort = -3 }\naccept_percent = \"3\"\n").join("\n");
    for part in ["Nort", "-3", "0.65"] {
        assert!(said.contains(part), "{part}: {said}");
    }
}

#[test]
fn a_proposal_may_go_by_what_went_with_an_action() {
    let action = "[[action]]\nname = \"Training\"\nfrom = \"2026-01-05\"\nmoves = [\"skipped\"]\n";
    let proposal = |effect: &str| {
        format!(
            "{action}[[proposal]]\nname = \"More training\"\nprice = 10.0\nlife_months = 12\n[[proposal.effect]]\n{effect}\n"
        )
    };
    let plan = plan(&proposal("kind = \"coverage\"\nas_action = \"Training\""));
    let effect = &plan.proposals.last().unwrap().effects[0];
    assert_eq!(effect.as_action.as_deref(), Some("Training"));
    for (effect, part) in [
        ("kind = \"coverage\"\nas_action = \"Trainig\"", "Training"),
        (
            "kind = \"entry\"\nfrom = \"incoming\"\nto = \"installation\"\nas_action = \"Training\"",
            "first-pass",
        ),
        ("kind = \"coverage\"\ncoverage = 0.9\nas_action = \"Training\"", "as_action"),
        ("kind = \"minutes\"\nminutes = 2\nas_action = \"Training\"", "no use"),
    ] {
        let said = wrong(&proposal(effect)).join("\n");
        assert!(said.contains(part), "{effect}: {said}");
    }
}
