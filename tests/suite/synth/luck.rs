//! Luck that events share keeps the planted probabilities, and is shared as much as is planted.

use motetrail::synth::draw::Draw;
use motetrail::synth::luck::{Luck, Matter, Unit, pass_of_those_left};
use motetrail::synth::normal::{below, quantile};
use motetrail::synth::{Departures, Recipe, Truth, write};

use super::{files, small, text};

const DAY: i64 = 1440;

/// Source: NIST/SEMATECH e-Handbook of Statistical Methods 1.3.6.7.1, the normal table.
#[test]
fn the_normal_distribution_has_the_tabled_values() {
    for (x, p) in [(0.0, 0.5), (1.0, 0.84134), (1.96, 0.97500), (2.58, 0.99506)] {
        assert!((below(x) - p).abs() < 1e-5 && (below(-x) - (1.0 - p)).abs() < 1e-5, "{x}");
    }
    for p in [1e-4, 0.02, 0.074, 0.076, 0.3, 0.5, 0.77, 0.99, 0.9999] {
        assert!((below(quantile(p)) - p).abs() < 3e-7, "{p}");
    }
}

fn of_orders(share: f64) -> Luck {
    Luck::of(&Departures { luck_order: Some(share), ..Departures::default() }, 3)
}

/// Source: Sheppard (1899): two normal numbers of correlation r are both negative with probability
/// 1/4 + asin(r) / (2 pi).
#[test]
fn two_events_of_an_order_share_luck_as_planted_and_events_of_two_orders_none() {
    let (luck, mut draw) = (of_orders(0.3), Draw::stream(1, 1));
    let mut event = |order, p| {
        let unit = Unit { site: 2, order, at: 900 * DAY };
        luck.chance(Matter::Dirt, unit, p, &mut draw)
    };
    let n = 60_000;
    let together = (0..n).filter(|order| event(*order, 0.5) & event(*order, 0.5)).count();
    let apart = (0..n).filter(|order| event(*order, 0.5) & event(order + n, 0.5)).count();
    let rare = (0..n).filter(|order| event(*order, 0.03)).count();
    let near = |count: usize, p: f64| {
        let error = (p * (1.0 - p) / f64::from(n)).sqrt();
        (count as f64 / f64::from(n) - p).abs() < 4.0 * error
    };
    let both = 0.25 + 0.3_f64.asin() / (2.0 * std::f64::consts::PI);
    assert!(near(together, both) && near(apart, 0.25) && near(rare, 0.03));
}

#[test]
fn cycles_of_the_unlucky_pass_less_and_less_as_the_truth_states() {
    let (luck, mut draw) = (of_orders(0.25), Draw::stream(1, 2));
    let alone = [0.6, 0.5, 0.45];
    let (mut came, mut passed) = ([0; 3], [0; 3]);
    for order in 0..80_000 {
        let unit = Unit { site: 0, order, at: 900 * DAY };
        let stuck = draw.chance(0.05);
        for (cycle, p) in alone.into_iter().enumerate() {
            came[cycle] += 1;
            if luck.chance(Matter::Cleaning, unit, p, &mut draw) && !stuck {
                passed[cycle] += 1;
                break;
            }
        }
    }
    let stated = pass_of_those_left(&alone, 0.25, 0.05);
    assert!((stated[0] - 0.95 * 0.6).abs() < 1e-3 && stated[2] < 0.8 * alone[2]);
    for cycle in 0..3 {
        let found = f64::from(passed[cycle]) / f64::from(came[cycle]);
        let error = (found * (1.0 - found) / f64::from(came[cycle])).sqrt();
        assert!((found - stated[cycle]).abs() < 4.0 * error, "{cycle}: {found} {stated:?}");
    }
    assert_eq!(pass_of_those_left(&alone, 0.0, 0.0), alone);
}

/// Counts of a week whose rate has a factor of variance v scatter with variance m + v m^2 around their mean m.
#[test]
fn faults_keep_their_mean_and_scatter_by_week_as_planted() {
    let planted = Departures { faults_week: Some(0.5), ..Departures::default() };
    let (luck, mut draw) = (Luck::of(&planted, 5), Draw::stream(1, 3));
    let (weeks, mean) = (4_000, 4.0);
    // From a Monday: 1970-01-05.
    let (open, close) = (4 * DAY, (4 + 7 * weeks) * DAY);
    let mut counts = vec![0.0; weeks as usize];
    let mut at = open;
    loop {
        let left = draw.wait() * 7.0 / mean;
        at = luck.wait(1, (at, close), left, &[(f64::INFINITY, 1.0)]);
        if at >= close {
            break;
        }
        counts[((at - open) / (7 * DAY)) as usize] += 1.0;
    }
    let found = counts.iter().sum::<f64>() / weeks as f64;
    let scatter = counts.iter().map(|n| (n - found) * (n - found)).sum::<f64>() / weeks as f64;
    let error = ((mean + 0.5 * mean * mean) / weeks as f64).sqrt();
    assert!((found - mean).abs() < 4.0 * error, "{found}");
    assert!((2.3..3.8).contains(&(scatter / found)), "{}", scatter / found);
}

/// A fleet of six numbered sites, and its exports as one text a kind.
fn fleet(departures: Departures) -> (Truth, impl Fn(&str) -> Vec<String>) {
    let folder = tempfile::tempdir().unwrap();
    let recipe = Recipe { sites: 6, numbered: true, inspections: 12_000, departures, ..small() };
    let truth = write(&recipe, folder.path()).unwrap();
    let files = files(&folder.path().join("exports"));
    let rows = move |kind: &str| {
        let of_kind = files.iter().filter(|(path, _)| path.to_string_lossy().contains(kind));
        let lines = |(path, bytes): (&std::path::PathBuf, &Vec<u8>)| {
            let text = text(path, bytes);
            text.lines().skip(1).map(str::to_owned).collect::<Vec<_>>()
        };
        of_kind.flat_map(lines).collect()
    };
    (truth, rows)
}

fn share(rows: &[String], has: impl Fn(&str) -> bool) -> f64 {
    rows.iter().filter(|row| has(row)).count() as f64 / rows.len() as f64
}

#[test]
fn rare_dirt_and_rare_faults_are_as_rare_as_planted() {
    let planted = Departures { dirt: Some(0.02), faults: Some(0.2), ..Departures::default() };
    let ((sound, usual), (truth, rare)) = (fleet(Departures::default()), fleet(planted));
    // A repair looks at what a fault left.
    let failing = |rows: Vec<String>| {
        let routine: Vec<String> =
            rows.into_iter().filter(|row| !row.contains(",repair,")).collect();
        share(&routine, |row| row.contains(",fail,"))
    };
    assert!(failing(usual("looks")) > 0.15);
    let failing = failing(rare("looks"));
    assert!((0.002..0.015).contains(&failing), "{failing}");
    let less = rare("faults").len() as f64 / usual("faults").len() as f64;
    assert!((0.12..0.28).contains(&less), "{less}");
    assert!((truth.false_alarm / sound.false_alarm - 0.02).abs() < 1e-9);
    assert!(
        (truth.linked_faults.baseline[2].1 / sound.linked_faults.baseline[2].1 - 0.2).abs() < 1e-9
    );
}

#[test]
fn the_last_sites_stand_apart() {
    let planted = Departures { apart: Some(3.0), apart_sites: Some(2), ..Departures::default() };
    let (_, rows) = fleet(planted);
    let failing = |site: &str| share(&rows(&format!("looks-{site}")), |row| row.contains(",fail,"));
    assert!(failing("s0006") > 1.5 * failing("s0003") && failing("s0005") > 1.5 * failing("s0003"));
    let faults = |site: &str| rows(&format!("faults-{site}")).len();
    assert!(faults("s0006") + faults("s0005") > faults("s0003") + faults("s0004"));
}

#[test]
fn tickets_lose_their_causes_and_those_nobody_was_ready_for_as_planted() {
    let cause = |rows: Vec<String>| share(&rows, |row| row.contains(",contamination,"));
    let all = |departures: Departures| fleet(departures).1("faults");
    let usual = all(Departures::default());
    let wrong = all(Departures { causes_wrong: Some(1.0), ..Departures::default() });
    assert_eq!(usual.len(), wrong.len());
    assert!(usual != wrong && (cause(usual.clone()) - cause(wrong)).abs() < 0.08);
    let fewer = all(Departures { attention: Some(1.0), ..Departures::default() });
    // Records are numbered anew.
    let told = |row: &String| row.split_once(',').map(|(_, rest)| rest.to_owned());
    let known: std::collections::BTreeSet<_> = usual.iter().map(told).collect();
    assert!(fewer.len() * 10 < usual.len() * 9 && fewer.len() * 4 > usual.len());
    assert!(fewer.iter().all(|row| known.contains(&told(row))));
}

/// The failing looks of an end face within a visit, the last of which was given up, are more where dirt stays.
#[test]
fn dirt_that_stays_is_cleaned_until_somebody_gives_up() {
    let given_up = |departures: Departures| {
        let rows = fleet(departures).1("looks");
        share(&rows, |row| row.contains("contamination") && row.ends_with("reject"))
    };
    let stays = given_up(Departures { stays_dirty: Some(0.3), ..Departures::default() });
    assert!(stays > 2.0 * given_up(Departures::default()), "{stays}");
}

/// Luck changes who is unlucky, not how many are: the share of looks that fail stays, and the people of a crew go together.
#[test]
fn luck_of_every_kind_leaves_the_share_of_failing_looks_nearly_as_it_is() {
    let failing =
        |departures: Departures| share(&fleet(departures).1("looks"), |row| row.contains(",fail,"));
    let usual = failing(Departures::default());
    let shares = [Some(0.1), Some(0.02), Some(0.03), Some(0.03), Some(0.01)];
    let [luck_order, luck_crew, luck_week, luck_month, luck_site] = shares;
    let all = Departures {
        luck_order,
        luck_crew,
        luck_week,
        luck_month,
        luck_site,
        ..Departures::default()
    };
    let with = failing(all);
    assert!(with != usual && (with / usual - 1.0).abs() < 0.2, "{with} against {usual}");
}
