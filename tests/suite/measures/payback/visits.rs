//! How visits left is drawn by the resamples' own clusters, and what rests on it with it.

use super::{drawing, flows, proposal, row, table};
use motetrail::measures::cycles::Contrast;
use motetrail::measures::payback::{
    By, FleetFlows, Place, Quantity, Source, VisitWeek, VisitWeeks,
};
use motetrail::settings::{EffectKind, Proposal, Stated};
use motetrail::stats::bootstrap::poisson_weight;
use motetrail::stats::shifted_odds::Exit;

/// The counted exits of a place, dealt out to so many clusters: visits that left alike stand together, so that clusters differ.
fn dealt(place: usize, of: &Place, clusters: u64) -> Vec<VisitWeek> {
    let mut weeks = Vec::new();
    for method in [None, Some("dry"), Some("wet-dry")] {
        let exits = method.map_or(&of.exits, |method| &of.exits_by_method[method]);
        let counts = |exit: &Exit| [exit.succeeded, exit.taken_out, exit.gave_up, exit.censored];
        let all: u64 = exits.iter().flat_map(counts).sum();
        let mut visit = 0;
        for (cycle, exit) in exits.iter().enumerate() {
            for (kind, count) in counts(exit).into_iter().enumerate() {
                for _ in 0..count {
                    let [succeeded, taken_out, gave_up, censored] =
                        [0, 1, 2, 3].map(|own| u64::from(own == kind));
                    let exit = Exit { succeeded, taken_out, gave_up, censored };
                    let cluster = 1000 + visit * clusters / all;
                    let method = method.map(str::to_owned);
                    weeks.push(VisitWeek { cluster, place, method, cycle, exit });
                    visit += 1;
                }
            }
        }
    }
    weeks
}

fn with_visits(clusters: u64) -> FleetFlows {
    let mut flows = flows();
    let of_place = |(at, place): (usize, &Place)| dealt(at, place, clusters);
    let weeks: Vec<VisitWeek> = flows.places.iter().enumerate().flat_map(of_place).collect();
    flows.visits = Some(VisitWeeks::of(
        drawing().seed,
        flows.places.iter().map(Place::left),
        weeks.into_iter(),
    ));
    flows
}

fn better_cleaning() -> Proposal {
    let contrast = Some(("wet-dry".to_owned(), "dry".to_owned()));
    proposal("tool", EffectKind::Cleaning { contrast, odds: Some(Stated::known(2.0)) })
}

#[test]
fn exits_of_a_draw_are_those_of_its_clusters_as_often_as_the_resample_has_them() {
    let place = Place {
        exits: vec![Exit::default(), Exit { succeeded: 7, taken_out: 3, ..Exit::default() }],
        ..Place::default()
    };
    let week = |cluster, succeeded, taken_out| VisitWeek {
        cluster,
        place: 0,
        method: None,
        cycle: 1,
        exit: Exit { succeeded, taken_out, ..Exit::default() },
    };
    // One cluster in two parts, and what is of no place or cycle that was counted is left out.
    let weeks = [
        week(5, 3, 0),
        week(9, 2, 3),
        week(5, 2, 0),
        VisitWeek { place: 1, ..week(5, 100, 0) },
        VisitWeek { cycle: 2, ..week(5, 100, 0) },
    ];
    let weeks = VisitWeeks::of(11, [place.left()].into_iter(), weeks.into_iter());
    let mut seen = std::collections::BTreeSet::new();
    for draw in 0..50 {
        let [a, b] = [5, 9].map(|cluster| u64::from(poisson_weight(11, draw as u64, cluster)));
        let drawn = weeks.drawn(draw);
        let expected = Exit { succeeded: 5 * a + 2 * b, taken_out: 3 * b, ..Exit::default() };
        assert_eq!(drawn.at(0).all, [Exit::default(), expected]);
        seen.insert((a, b));
    }
    assert!(seen.len() > 5, "{seen:?}");
}

/// Odds and prices known: what is left to be unsure of is how many cycles visits take.
#[test]
fn better_cleaning_is_as_unsure_as_the_visits_that_it_rests_on() {
    let known = table(&flows(), &[better_cleaning()], None);
    let counted = row(&known, "tool", Quantity::NetPresentValue);
    assert_eq!(counted.low, counted.high, "nothing is drawn here");
    let width = |clusters| {
        let found = table(&with_visits(clusters), &[better_cleaning()], None);
        let worth = row(&found, "tool", Quantity::NetPresentValue);
        // The mean of the draws is what was counted, but for the curve of the course.
        let [low, value, high] = [worth.low, worth.estimate, worth.high].map(Option::unwrap);
        assert!(low < value && value < high, "{worth:?}");
        assert!((value - counted.estimate.unwrap()).abs() < 0.25 * (high - low), "{worth:?}");
        let mut bars = found.rows_of(By::ProposalInput, Quantity::Tornado);
        let bar = bars.find(|bar| bar.own.source == Some(Source::Cycles)).unwrap();
        // It is all that varies, so the bar is as wide as the whole.
        assert!((bar.high.unwrap() - bar.low.unwrap() - (high - low)).abs() <= 2.0, "{bar:?}");
        high - low
    };
    // Sixteen times the clusters, each with a sixteenth of the visits: a quarter of the width.
    let (few, many) = (width(20), width(320));
    assert!((0.15..0.45).contains(&(many / few)), "{few} {many}");
}

/// A week that speaks for the method speaks for it as often as the resample has the week.
#[test]
fn the_odds_of_methods_are_drawn_by_the_clusters_of_their_regression() {
    let mut flows = with_visits(320);
    let saved = |flows: &FleetFlows| {
        let found = table(flows, &[better_cleaning()], None);
        let worth = row(&found, "tool", Quantity::NetPresentValue);
        worth.high.unwrap() - worth.low.unwrap()
    };
    let contrast = || {
        let shift =
            |cluster: u64| (1000 + cluster, if cluster.is_multiple_of(2) { 0.005 } else { -0.005 });
        let shifts: Vec<(u64, f64)> = (0..320).map(shift).collect();
        let se = shifts.iter().map(|(_, shift)| shift * shift).sum::<f64>().sqrt();
        Contrast { log_odds: 2.0_f64.ln(), se, shifts }
    };
    let key = ("wet-dry".to_owned(), "dry".to_owned());
    let alone = saved(&flows);
    flows.contrasts.insert(key, contrast());
    let with_odds = saved(&flows);
    assert!(with_odds > 1.2 * alone, "{alone} {with_odds}");
    // Its interval is that of the ratio, whatever the clusters are.
    let found = table(&flows, &[better_cleaning()], None);
    let mut bars = found.rows_of(By::ProposalInput, Quantity::Tornado);
    let bar = bars.find(|bar| bar.own.source == Some(Source::OddsRatio)).unwrap();
    let reach = 1.959964 * contrast().se;
    assert!((bar.own.input_low.unwrap() - (2.0_f64.ln() - reach).exp()).abs() < 1e-6, "{bar:?}");
    assert!((bar.own.input_high.unwrap() - (2.0_f64.ln() + reach).exp()).abs() < 1e-6, "{bar:?}");
}

/// Rejects scatter as those of the visits of a draw do, whichever proposal avoids them.
#[test]
fn rejects_that_vary_make_what_avoids_them_unsure() {
    let mut flows = flows();
    for (number, draw) in (0_u32..).zip(&mut flows.skipped) {
        let more = 0.2 * (f64::from(number % 21) / 10.0 - 1.0);
        draw.iter_mut().for_each(|place| {
            (place.rejects, place.associated, place.faults) = (more, 0.0, 0.0);
        });
    }
    let found = table(&flows, &[better_cleaning()], None);
    let saving = row(&found, "tool", Quantity::Saving);
    // Only rejects vary, by a fifth either way at most.
    let purse: f64 = flows.places.iter().map(|place| place.purse.rejects).sum();
    let width = saving.high.unwrap() - saving.low.unwrap();
    assert!(width > 0.0 && width < 0.4 * purse, "{width} {purse}");
    let bars = found.quantity(Quantity::Tornado);
    let names: Vec<&str> = bars.filter_map(|bar| bar.own.input.as_deref()).collect();
    assert_eq!(names, ["rejects of dirty end faces a year against those counted"]);
}
