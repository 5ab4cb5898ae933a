//! `motetrail payback`: on the terminal and as a page, alone and of one proposal.

use std::fs;

use super::{LOOKS, SETTINGS, fleet, run, text};

const COSTS: &str = "\n[costs]\nlook_minutes = 2\ncleaning_minutes = 3\ncleaning_material = 0.5\nlabour_hour = 60\n\
                     downtime_hour = 400\nvisit = 100\nreject = 30\ndiscount_rate = 0.05\n";

fn proposal(name: &str) -> String {
    format!(
        "[[proposal]]\nname = \"{name}\"\nprice = 100\nlife_months = 12\n[[proposal.effect]]\n\
         kind = \"minutes\"\nminutes = 2\n"
    )
}

fn settings() -> String {
    format!("{SETTINGS}{COSTS}{}{}", proposal("Quick tool"), proposal("Slow tool"))
}

#[test]
fn it_prints_the_answer_and_writes_the_page() {
    let folder = fleet(&settings(), LOOKS);
    let done = run(folder.path(), &["payback", "--quiet", "fleet.toml", "--out", "out"]);
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    let stdout = text(&done.stdout);
    assert!(stdout.contains("Quick tool: 100\u{a0}EUR does not pay for itself"), "{stdout}");
    assert!(stdout.contains("Slow tool: "), "{stdout}");
    assert_eq!(stdout.trim_end().lines().last(), Some("out/payback-2026-Q1/payback.html"));
    let page = fs::read_to_string(folder.path().join("out/payback-2026-Q1/payback.html")).unwrap();
    assert!(page.contains("Quick tool") && page.contains("Slow tool"));
    assert!(folder.path().join("out/payback-2026-Q1/tables/payback.csv").exists());
}

#[test]
fn one_proposal_is_judged_alone_and_an_unknown_one_ends_with_2() {
    let folder = fleet(&settings(), LOOKS);
    let arguments = ["payback", "--quiet", "fleet.toml", "--proposal", "Slow tool"];
    let done = run(folder.path(), &arguments);
    assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
    let stdout = text(&done.stdout);
    assert!(stdout.contains("Slow tool") && !stdout.contains("Quick tool"), "{stdout}");
    let unknown = run(folder.path(), &["payback", "fleet.toml", "--proposal", "Slow tol"]);
    assert_eq!(unknown.status.code(), Some(2));
    let said = "error: --proposal: found \"Slow tol\", expected a proposal of the settings (Quick tool, Slow tool); \
                did you mean \"Slow tool\"?\n";
    assert_eq!(text(&unknown.stderr), said);
}

#[test]
fn without_proposals_it_says_how_to_add_one() {
    let folder = fleet(SETTINGS, LOOKS);
    let done = run(folder.path(), &["payback", "--quiet", "fleet.toml"]);
    assert_eq!(done.status.code(), Some(0));
    assert!(text(&done.stdout).starts_with("No purchase is proposed: add one"));
    let help = text(&run(folder.path(), &["payback", "--help"]).stdout);
    assert!(help.contains("Example:\n  motetrail payback "), "{help}");
}
