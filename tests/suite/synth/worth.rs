//! What proposals would save, as the truth states it: against what was drawn, and against what follows from the settings.

use std::collections::BTreeMap;

use motetrail::synth::{Departures, ProposalTruth, Recipe, Truth, write};

use super::{demo, files, text};

fn fleet(seed: u64, departures: Departures) -> Recipe {
    let departures = Departures { proposals: Some(1), ..departures };
    Recipe { sites: 3, numbered: true, inspections: 12_000, seed, departures, ..Recipe::sound() }
}

fn of<'t>(truth: &'t Truth, name: &str) -> &'t ProposalTruth {
    truth.proposals.iter().find(|proposal| proposal.name == name).unwrap()
}

/// A cleaner that takes two minutes in place of three saves one minute a cleaning: what the truth says of it are the
/// cleanings to be expected, and those written down in the last 365 days scatter around them.
#[test]
fn expected_cleanings_are_those_of_the_exports_in_the_mean() {
    let (mut expected, mut drawn) = (0.0, 0.0);
    for seed in 41..45 {
        let folder = tempfile::tempdir().unwrap();
        let truth = write(&fleet(seed, Departures::default()), folder.path()).unwrap();
        expected += of(&truth, "Quick cleaners").saving.unwrap() / (78.0 / 60.0);
        for (path, bytes) in files(&folder.path().join("exports")) {
            if path.to_string_lossy().contains("cleanings-") {
                let text = text(&path, &bytes);
                let days =
                    text.lines().skip(1).map(|line| line.split(',').nth(2).unwrap().to_owned());
                drawn += days.filter(|day| day.as_str() >= "2025-07-01").count() as f64;
            }
        }
    }
    assert!(drawn > 5_000.0 && (expected / drawn - 1.0).abs() < 0.03, "{expected} {drawn}");
}

/// Where skipping a look does not raise the rate there is nothing to avoid, and looks only cost.
#[test]
fn without_a_raised_rate_looks_avoid_no_fault() {
    let folder = tempfile::tempdir().unwrap();
    let departures = Departures { ratio: Some(1.0), ..Departures::default() };
    let truth = write(&fleet(3, departures), folder.path()).unwrap();
    let looks = of(&truth, "Microscopes");
    assert_eq!(looks.faults_avoided, Some(0.0));
    assert!(looks.saving.unwrap() < -100.0, "{looks:?}");
}

/// The net present value of a saving of S a year, R of it running cost, over n months from month s on, at 6 % a year, is
/// (S - R) / 12 times the annuity, less the price: Brealey, Myers & Allen, ch. 2 [chapter from memory].
#[test]
fn present_values_follow_from_savings_and_sets_of_one_are_single_proposals() {
    let folder = tempfile::tempdir().unwrap();
    let truth = write(&fleet(5, Departures::default()), folder.path()).unwrap();
    let lives: BTreeMap<&str, (u32, u32)> = [
        ("Microscopes", (0, 60)),
        ("Wet-dry sets", (0, 36)),
        ("Quick cleaners", (0, 24)),
        ("Handling training", (1, 24)),
        ("Inspection on receipt", (0, 60)),
        ("New test leads", (0, 18)),
    ]
    .into();
    assert_eq!(truth.proposals.len(), 6);
    let rate = 1.06_f64.powf(1.0 / 12.0) - 1.0;
    for proposal in &truth.proposals {
        let (start, life) = lives[proposal.name.as_str()];
        let annuity = (1.0 - (1.0 + rate).powi(-(life as i32))) / rate;
        let factor = annuity * (1.0 + rate).powi(-(start as i32)) / 12.0;
        let worth = proposal.net_present_value.unwrap();
        let expected = proposal.after_running_cost.unwrap() * factor - proposal.price;
        assert!((worth - expected).abs() < 0.1, "{proposal:?} {expected}");
        let alone = truth.sets.iter().find(|set| set.proposals == [proposal.name.clone()]).unwrap();
        assert!((alone.net_present_value - worth).abs() < 0.02, "{alone:?}");
    }
    assert_eq!(truth.sets.len(), 64);
    let best = truth.best_set.as_ref().unwrap();
    let paid = truth.sets.iter().filter(|set| set.price <= 12_000.0);
    assert!(paid.into_iter().all(|set| set.net_present_value <= best.net_present_value));
    // Less dirt, and cleaning that passes sooner, are worth less together than apart.
    let pair = ["Wet-dry sets".to_owned(), "Handling training".to_owned()];
    let together = truth.sets.iter().find(|set| set.proposals == pair).unwrap();
    let apart: f64 = pair.iter().map(|name| of(&truth, name).net_present_value.unwrap()).sum();
    assert!(together.net_present_value < apart, "{together:?} {apart}");
}

#[test]
fn the_truth_of_the_demo_values_each_of_its_proposals_and_the_leads_that_carry_dirt() {
    let truth = &demo().1;
    assert_eq!(truth.proposals.len(), 7);
    let told = |proposal: &ProposalTruth| proposal.net_present_value.is_some();
    assert!(truth.proposals.iter().all(told), "{:?}", truth.proposals);
    let leads = of(truth, "New test leads for the dirty ones");
    let names: Vec<&str> = leads.carriers.iter().map(|lead| lead.name.as_str()).collect();
    let planted: Vec<&str> = truth.carriers.leads.iter().map(String::as_str).collect();
    assert_eq!(names, planted);
    let sum: f64 = leads.carriers.iter().map(|lead| lead.saving).sum();
    assert!((sum - leads.saving.unwrap()).abs() < 0.02 * sum, "{leads:?}");
    let every = of(truth, "Microscopes for every depot").saving.unwrap();
    assert!(every > of(truth, "Microscopes for Pellorin").saving.unwrap() && every > 20_000.0);
}

/// The proposals are asked about; nothing else of the fleet changes.
#[test]
fn proposals_change_the_settings_and_the_truth_alone() {
    let [with, without] = [Some(1), None].map(|proposals| {
        let folder = tempfile::tempdir().unwrap();
        let departures = Departures { proposals, ..Departures::default() };
        let recipe = Recipe { departures, inspections: 1_200, ..fleet(9, Departures::default()) };
        write(&recipe, folder.path()).unwrap();
        files(folder.path())
    });
    let differ: Vec<_> = with.iter().filter(|(path, bytes)| without[*path] != **bytes).collect();
    let names: Vec<_> = differ.iter().map(|(path, _)| path.to_string_lossy()).collect();
    assert_eq!(names, ["fleet.toml", "truth.json"]);
}
