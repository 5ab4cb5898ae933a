use crate::stats::cases::{case, near, number};
use crate::stats::reference::Table;
use motetrail::stats::estimate::Warning;
use motetrail::stats::hypergeometric::{DrawCell, draw_tail, normal_tail};
use proptest::prelude::*;

/// Fisher (1935), the lady tasting tea, and others: rows are the party and the rest.
#[test]
fn one_cell_matches_fisher_1935() {
    let case = case("13_trend_exact", "fisher");
    for t in case.expected["tables"].as_array().unwrap() {
        let [a, b, c, d] = ["a", "b", "c", "d"].map(|name| t[name].as_u64().unwrap());
        let cell = DrawCell { total: a + b + c + d, marked: a + c, drawn: a + b };
        let got = draw_tail(&[cell], a);
        case.near(got.p, &t["p_one_sided_greater"], "greater");
        // The unmarked items' tail is the lower tail of the marked ones.
        let other = draw_tail(&[DrawCell { marked: b + d, ..cell }], b);
        case.near(other.p, &t["p_one_sided_less"], "less");
    }
}

/// Hong (2013): where the party holds one item of every cell, the sum is Poisson-binomial.
#[test]
fn single_draws_match_the_poisson_binomial_distribution() {
    for (id, scale) in [("poisbinom", 10_u64), ("poisbinom_edges", 4)] {
        let case = case("13_trend_exact", id);
        let chances = Table::read("13_trend_exact", &format!("{id}.csv")).numbers("p");
        let cell = |p: &f64| DrawCell {
            total: scale,
            marked: (p * scale as f64).round() as u64,
            drawn: 1,
        };
        let cells: Vec<DrawCell> = chances.iter().map(cell).collect();
        for (k, want) in (0..).zip(case.expected["tail_ge"].as_array().unwrap()) {
            let got = draw_tail(&cells, k);
            if number(want) > 0.0 {
                case.near(got.p, want, "tail");
            } else {
                assert!(got.p < 1e-300);
            }
            case.near(got.mean, &case.expected["mean"], "mean");
            case.near(got.variance, &case.expected["var"], "variance");
        }
    }
}

/// A second formulation: every way of drawing, counted one by one.
fn tail_by_enumeration(cells: &[DrawCell], observed: u64) -> f64 {
    let choose = |n: u64, k: u64| (0..k).fold(1.0, |c, i| c * (n - i) as f64 / (i + 1) as f64);
    let mut points = vec![(0_u64, 1.0_f64)];
    for c in cells {
        let mut next = Vec::new();
        for (sum, p) in &points {
            for k in 0..=c.marked.min(c.drawn) {
                if c.drawn - k <= c.total - c.marked {
                    let ways = choose(c.marked, k) * choose(c.total - c.marked, c.drawn - k);
                    next.push((sum + k, p * ways / choose(c.total, c.drawn)));
                }
            }
        }
        points = next;
    }
    points.iter().filter(|(sum, _)| *sum >= observed).map(|(_, p)| p).sum()
}

/// Thousands of cells: a tail near the middle agrees with the normal one, and nothing is dropped
/// that matters.
#[test]
fn thousands_of_cells_agree_with_the_normal_tail() {
    let cells: Vec<DrawCell> = (0..4000)
        .map(|i| DrawCell { total: 12 + i % 7, marked: 1 + i % 3, drawn: 2 + i % 4 })
        .collect();
    let plain = draw_tail(&cells, 0);
    let observed = (plain.mean + plain.variance.sqrt()) as u64;
    let got = draw_tail(&cells, observed);
    near(got.p, normal_tail(observed, got.mean, got.variance, 1.0), 2e-4, 0.0, "tail");
    assert!(got.dropped < 1e-30 && got.warnings.is_empty());
    let far = draw_tail(&cells, observed + (8.0 * plain.variance.sqrt()) as u64);
    assert!(far.p > 0.0 && far.p < 1e-15);
}

#[test]
fn what_is_certain_is_no_evidence() {
    let got = draw_tail(&[DrawCell { total: 5, marked: 5, drawn: 3 }, DrawCell::default()], 3);
    assert_eq!((got.p, got.mean, got.variance), (1.0, 3.0, 0.0));
    assert_eq!(got.warnings, [Warning::NoData]);
    assert_eq!(normal_tail(3, 3.0, 0.0, 1.0), 1.0);
}

#[test]
fn huge_cells_fall_back_on_the_normal_tail_and_say_so() {
    let cell =
        DrawCell { total: 4_000_000_000_000, marked: 2_000_000_000_000, drawn: 1_000_000_000_000 };
    let got = draw_tail(&[cell; 3], 1_500_000_000_000);
    assert_eq!(got.warnings, [Warning::Approximate]);
    near(got.p, 0.5, 1e-5, 0.0, "half");
}

fn cell() -> impl Strategy<Value = DrawCell> {
    (1_u64..14, 0_u64..14, 0_u64..14).prop_map(|(total, marked, drawn)| DrawCell {
        total,
        marked: marked.min(total),
        drawn: drawn.min(total),
    })
}

proptest! {
    #[test]
    fn tail_is_that_of_every_way_counted(cells in prop::collection::vec(cell(), 1..5), observed in 0_u64..20) {
        let (got, want) = (draw_tail(&cells, observed), tail_by_enumeration(&cells, observed));
        near(got.p, want, 1e-15, 1e-10, "tail");
    }

    #[test]
    fn order_and_empty_cells_change_nothing(mut cells in prop::collection::vec(cell(), 1..9), observed in 0_u64..20) {
        let plain = draw_tail(&cells, observed);
        cells.reverse();
        cells.push(DrawCell { total: 0, marked: 7, drawn: 7 });
        cells.push(DrawCell { total: 9, marked: 0, drawn: 4 });
        let other = draw_tail(&cells, observed);
        near(plain.p, other.p, 0.0, 1e-10, "tail");
        near(plain.variance, other.variance, 1e-12, 1e-10, "variance");
    }

    #[test]
    fn any_count_gives_a_probability(total in any::<u64>(), marked in any::<u64>(), drawn in any::<u64>(), observed in any::<u64>()) {
        let got = draw_tail(&[DrawCell { total, marked, drawn }], observed);
        prop_assert!(got.p > 0.0 && got.p <= 1.0 && got.mean.is_finite() && got.variance.is_finite());
    }
}
