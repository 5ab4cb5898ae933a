//! Differences by group and time against published values, a closed form, and differences taken by hand.

use motetrail::stats::effects::panel::{Panel, Scales, Window};
use serde_json::Value;

use crate::stats::cases::case;
use crate::stats::digits::second_way;
use crate::stats::reference::Table;

const GROUP: &str = "20_did";
/// From the start on, against the time before it.
const SINCE: (i32, i32) = (0, 1000);

/// Panel and starts of a file with a row a unit and time.
pub fn panel(file: &str) -> (Panel, Vec<Option<usize>>, usize) {
    let table = Table::read(GROUP, file);
    let units = table.text("unit");
    let times: Vec<usize> = table.numbers("time").into_iter().map(|time| time as usize).collect();
    let first = *times.iter().min().unwrap();
    let count = times.iter().max().unwrap() - first + 1;
    let (starts, values) = (table.numbers("start"), table.numbers("y"));
    let mut names: Vec<&String> = units.iter().collect();
    names.dedup();
    let mut panel = Panel {
        amount: vec![vec![0.0; count]; names.len()],
        weight: vec![vec![0.0; count]; names.len()],
        noise: vec![1.0; names.len()],
    };
    let mut start = vec![None; names.len()];
    for row in 0..units.len() {
        let unit = names.iter().position(|name| **name == units[row]).unwrap();
        panel.amount[unit][times[row] - first] = values[row];
        panel.weight[unit][times[row] - first] = 1.0;
        start[unit] = (starts[row] > 0.0).then(|| starts[row] as usize - first);
    }
    (panel, start, first)
}

fn value(panel: &Panel, starts: &[Option<usize>], window: Window) -> Option<f64> {
    panel.contrast(starts, starts, &window, None).map(|contrast| contrast.value)
}

/// Starts of one group and of those that are its comparison alone.
fn only(
    starts: &[Option<usize>],
    group: usize,
    never: bool,
    units: &[usize],
) -> Vec<Option<usize>> {
    let one = |unit: &usize| match starts[*unit] {
        Some(start) if start == group => Some(group),
        // Later ones are left out by a start that is never compared.
        Some(_) if never => Some(0),
        // They begin when they do.
        start => start,
    };
    units.iter().map(one).collect()
}

fn compare(id: &str, never: bool) {
    let (panel, starts, first) = panel(&format!("{id}.csv"));
    let units: Vec<usize> = (0..panel.units()).collect();
    let case = case(GROUP, id);
    let cells = Table::read(GROUP, &format!("{id}_expected.csv"));
    let (groups, times, wanted) =
        (cells.numbers("group"), cells.numbers("time"), cells.numbers("att"));
    for row in 0..groups.len() {
        let (group, time) = (groups[row] as usize - first, times[row] as usize - first);
        let since = time as i32 - group as i32;
        // From the start on the base is the time before it; before it, the time before each.
        let base = if since >= 0 { -1 } else { since - 1 };
        let window = Window { base: (base, base), event: (since, since) };
        let own = only(&starts, group, never, &units);
        let found = value(&panel, &own, window);
        // A later group's own start is a group of its own: take it out of the mean by its size.
        let found = match never {
            true => found.unwrap(),
            false => of_group(&panel, &starts, group, window),
        };
        case.near(found, &Value::from(wanted[row]), &format!("{id} {group} {time}"));
    }
    let aggregates = &case.expected["aggregates"];
    if !never {
        let all = value(&panel, &starts, Window { base: (-1, -1), event: SINCE }).unwrap();
        case.near(all, &aggregates["simple"]["att"], "mean over all that began");
        for by_time in aggregates["dynamic"].as_array().unwrap() {
            let since = by_time["event_time"].as_i64().unwrap() as i32;
            if since >= 0 {
                let window = Window { base: (-1, -1), event: (since, since) };
                let found = value(&panel, &starts, window).unwrap();
                case.near(found, &by_time["att"], &format!("{since} after the start"));
            }
        }
    }
}

/// The difference of one group: the others begin as they do, and are taken out of the mean by keeping this group's weight alone.
fn of_group(panel: &Panel, starts: &[Option<usize>], group: usize, window: Window) -> f64 {
    let time = (group as i32 + window.event.0) as usize;
    let last = time.max((group as i32 + window.base.1) as usize);
    let kept: Vec<usize> = (0..panel.units())
        .filter(|unit| starts[*unit].is_none_or(|start| start == group || start > last))
        .collect();
    let pick = |rows: &[Vec<f64>]| kept.iter().map(|unit| rows[*unit].clone()).collect::<Vec<_>>();
    let part = Panel {
        amount: pick(&panel.amount),
        weight: pick(&panel.weight),
        noise: vec![1.0; kept.len()],
    };
    let own: Vec<Option<usize>> =
        kept.iter().map(|unit| starts[*unit].filter(|start| *start == group)).collect();
    value(&part, &own, window).unwrap()
}

#[test]
fn teen_employment_by_group_and_year_is_as_published() {
    compare("cs_county_teen_never", true);
}

#[test]
fn sites_that_began_one_after_the_other_are_as_two_libraries_have_them() {
    compare("cs_sites_small", false);
}

#[test]
fn house_prices_near_an_incinerator_are_as_published() {
    let case = case(GROUP, "did_kielmc");
    let cells = case.expected["cells"].as_array().unwrap();
    let cell = |treated: i64, post: i64| {
        let found = cells.iter().find(|cell| cell["treated"] == treated && cell["post"] == post);
        let cell = found.unwrap();
        (cell["mean"].as_f64().unwrap(), cell["n"].as_f64().unwrap())
    };
    let rows = |of: &dyn Fn((f64, f64)) -> f64| {
        [1, 0].map(|treated| [0, 1].map(|post| of(cell(treated, post))).to_vec()).to_vec()
    };
    let panel = Panel {
        amount: rows(&|(mean, n)| mean * n),
        weight: rows(&|(_, n)| n),
        noise: vec![1.0; 2],
    };
    let found = value(&panel, &[Some(1), None], Window { base: (-1, -1), event: SINCE }).unwrap();
    case.near(found, &case.expected["did"], "difference of differences");
    // The closed form of two groups and two periods.
    second_way();
    let mean = |treated, post| cell(treated, post).0;
    let closed = (mean(1, 1) - mean(1, 0)) - (mean(0, 1) - mean(0, 0));
    assert!((found - closed).abs() < 1e-9 * closed.abs());
}

#[test]
fn a_base_of_several_times_is_their_mean_by_weight_and_the_start_can_be_left_out() {
    let panel = Panel {
        amount: vec![vec![1.0, 4.0, 90.0, 12.0], vec![2.0, 2.0, 2.0, 3.0]],
        weight: vec![vec![1.0, 2.0, 3.0, 4.0], vec![1.0; 4]],
        noise: vec![1.0; 2],
    };
    let window = Window { base: (-2, -1), event: (1, 1) };
    let starts = [Some(2), None];
    // 12/4 less 5/3, less 3 less 2.
    let found = panel.contrast(&starts, &starts, &window, None).unwrap();
    assert!((found.value - (3.0 - 5.0 / 3.0 - 1.0)).abs() < 1e-12);
    assert_eq!((found.of_one, found.spread, found.cells), (1.0, 1.0, 1));
}

#[test]
fn an_effect_added_to_what_began_moves_the_estimate_by_as_much() {
    let (mut panel, starts, _) = panel("cs_sites_small.csv");
    let window = Window { base: (-3, -1), event: (1, 1000) };
    let before = panel.contrast(&starts, &starts, &window, None).unwrap();
    for (unit, start) in starts.iter().enumerate() {
        for time in start.map_or(panel.times(), |start| start)..panel.times() {
            panel.amount[unit][time] += 0.5;
        }
    }
    let after = panel.contrast(&starts, &starts, &window, None).unwrap();
    assert!((after.value - before.value - 0.5).abs() < 1e-12);
    assert!((before.of_one - 1.0).abs() < 1e-12);
}

#[test]
fn a_unit_without_a_base_or_a_value_counts_nowhere() {
    let (panel, starts, _) = panel("cs_sites_small.csv");
    let window = Window { base: (-2, -1), event: (1, 1000) };
    let whole = panel.contrast(&starts, &starts, &window, None).unwrap();
    let mut more = panel.clone();
    more.amount.push(vec![0.0; panel.times()]);
    more.weight.push(vec![0.0; panel.times()]);
    more.noise.push(1.0);
    for start in [None, Some(5)] {
        let starts: Vec<Option<usize>> = starts.iter().copied().chain([start]).collect();
        let found = more.contrast(&starts, &starts, &window, None).unwrap();
        assert_eq!(found.value, whole.value);
        assert_eq!(found.cells, whole.cells);
    }
    assert_eq!(panel.contrast(&[None; 12], &starts, &window, None), None);
    assert_eq!(panel.contrast(&[Some(5); 12], &starts, &window, None), None);
}

#[test]
fn the_spread_is_that_of_values_drawn_so() {
    use motetrail::stats::bootstrap::uniform;
    use motetrail::stats::quantile::upper_normal_quantile;
    // Weights that differ tenfold; half of the changes' variance is between units.
    let (units, times) = (8, 12);
    let weight: Vec<Vec<f64>> =
        (0..units).map(|unit| vec![(1 + unit % 4) as f64 * 3.0; times]).collect();
    let starts: Vec<Option<usize>> = (0..units).map(|unit| (unit < 3).then_some(6)).collect();
    let noise: Vec<f64> = (0..units).map(|unit| 1.0 + (unit % 3) as f64).collect();
    let scales = Scales { within: 1.0, between: 0.1 };
    let window = Window { base: (-6, -1), event: (1, 1000) };
    let (mut sum, mut squares, mut said) = (0.0, 0.0, 0.0);
    let rounds = 4_000;
    for round in 0..rounds {
        let normal = |at: usize| upper_normal_quantile(uniform(11, round, at as u64));
        let amount = (0..units)
            .map(|unit| {
                let change = 0.1_f64.sqrt() * normal(unit);
                (0..times)
                    .map(|time| {
                        let weight: f64 = weight[unit][time];
                        let noise =
                            (noise[unit] / weight).sqrt() * normal(100 + unit * times + time);
                        weight * (noise + if time >= 6 { change } else { 0.0 })
                    })
                    .collect()
            })
            .collect();
        let panel = Panel { amount, weight: weight.clone(), noise: noise.clone() };
        let found = panel.contrast(&starts, &starts, &window, Some(&scales)).unwrap();
        sum += found.value;
        squares += found.value * found.value;
        said = found.spread;
    }
    let mean = sum / rounds as f64;
    let spread = (squares / rounds as f64 - mean * mean).sqrt();
    // Monte Carlo error of a standard deviation of 4,000: 1.1 %.
    assert!((spread / said - 1.0).abs() < 0.04, "{spread} {said}");
}

#[test]
fn scales_are_found_again() {
    use motetrail::stats::bootstrap::uniform;
    use motetrail::stats::quantile::upper_normal_quantile;
    let (units, times) = (300, 20);
    let normal = |at: usize| upper_normal_quantile(uniform(5, 1, at as u64));
    let weight: Vec<Vec<f64>> =
        (0..units).map(|unit| vec![(1 + unit % 4) as f64 * 5.0; times]).collect();
    let noise: Vec<f64> = (0..units).map(|unit| 1.0 + (unit % 3) as f64).collect();
    let value = |unit: usize, time: usize| {
        let (own, common) = (normal(unit), normal(70_000 + time));
        let change = if time >= 8 { 0.5 * normal(80_000 + unit) } else { 0.0 };
        let spread = 2.0 * (noise[unit] / weight[unit][time]).sqrt();
        own + common + change + spread * normal(1_000 + unit * times + time)
    };
    let amount = (0..units)
        .map(|unit| (0..times).map(|time| weight[unit][time] * value(unit, time)).collect())
        .collect();
    let found = Panel { amount, weight: weight.clone(), noise: noise.clone() }.scales(8);
    assert!((found.within / 4.0 - 1.0).abs() < 0.06, "{found:?}");
    assert!((found.between / 0.25 - 1.0).abs() < 0.3, "{found:?}");
}
