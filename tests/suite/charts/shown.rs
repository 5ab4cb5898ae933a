//! What single charts show: positions, flags, cuts, missing values, numbers that are none.

use motetrail::charts::*;
use resvg::usvg::roxmltree::{Document, Node};

use super::sample::{Words, intervals, savings};
use super::sample_lines::{funnel, weeks};

fn elements<'a>(document: &'a Document, name: &str) -> Vec<Node<'a, 'a>> {
    document.descendants().filter(|n| n.tag_name().name() == name).collect()
}

/// Position of the text that reads `words`, backend units.
fn text_x(document: &Document, words: &str) -> f64 {
    let found = elements(document, "text")
        .into_iter()
        .find(|n| n.text().is_some_and(|t| t.trim() == words));
    found.unwrap_or_else(|| panic!("no text {words}")).attribute("x").unwrap().parse().unwrap()
}

fn one_row(mark: Mark, axis: Axis) -> String {
    let row = IntervalRow { label: "row".to_owned(), mark, texts: vec![] };
    let panel = Panel { title: String::new(), rows: vec![row], rest: String::new() };
    interval_rows(&IntervalRows {
        axis,
        reference: None,
        columns: vec![],
        panels: vec![panel],
        ..intervals(0, Words::Plain, Axis::Ratio)
    })
}

fn estimate(value: f64, low: f64, high: f64, look: Look) -> Mark {
    Mark { value: Some(value), low: Some(low), high: Some(high), look }
}

const SHARE: Axis = Axis::Share { from: 0.0, to: 1.0 };

#[test]
fn a_share_of_a_quarter_stands_a_quarter_along_its_axis() {
    let svg = one_row(estimate(0.25, 0.2, 0.4, Look::Firm), SHARE);
    let document = Document::parse(&svg).unwrap();
    let (zero, all) = (text_x(&document, "0\u{202f}%"), text_x(&document, "100\u{202f}%"));
    let circle = elements(&document, "circle")[0];
    let x: f64 = circle.attribute("cx").unwrap().parse().unwrap();
    // The backend draws in tenths of a px.
    assert!((x - (zero + 0.25 * (all - zero))).abs() <= 1.0, "{x}");
}

#[test]
fn on_a_log_axis_a_half_and_a_double_stand_equally_far_from_one() {
    let svg = one_row(estimate(1.0, 0.5, 2.0, Look::Firm), Axis::Ratio);
    let document = Document::parse(&svg).unwrap();
    let (half, one, double) =
        (text_x(&document, "0.5"), text_x(&document, "1"), text_x(&document, "2"));
    assert!(((one - half) - (double - one)).abs() <= 2.0);
    assert!(svg.contains("(log scale)"));
}

#[test]
fn flags_are_hollow_or_hatched_and_explained_only_where_they_occur() {
    let firm = one_row(estimate(0.3, 0.2, 0.4, Look::Firm), SHARE);
    assert!(!firm.contains("thin") && !firm.contains("borrowed") && !firm.contains("confounded"));
    let firm = Document::parse(&firm).unwrap();
    assert!(elements(&firm, "circle").iter().all(|c| c.attribute("fill") != Some("none")));
    for (look, word) in
        [(Look::Thin, "thin"), (Look::Borrowed, "borrowed"), (Look::Confounded, "confounded")]
    {
        let svg = one_row(estimate(0.3, 0.2, 0.4, look), SHARE);
        assert!(svg.contains(word), "{word}");
        let document = Document::parse(&svg).unwrap();
        let circles = elements(&document, "circle");
        assert_eq!(circles.len(), 2, "{word}: the mark and its key");
        assert!(circles.iter().all(|c| c.attribute("fill") == Some("none")), "{word}");
    }
}

#[test]
fn a_missing_value_is_said_and_never_drawn_as_zero() {
    for mark in [
        Mark::default(),
        Mark { high: Some(0.1), ..Mark::default() },
        estimate(f64::NAN, f64::NAN, f64::NAN, Look::Firm),
    ] {
        let svg = one_row(mark, SHARE);
        assert!(svg.contains("no estimate"));
        assert!(!svg.contains("<circle"));
    }
}

#[test]
fn a_cut_axis_is_marked_in_words() {
    assert!(
        one_row(estimate(0.7, 0.6, 0.8, Look::Firm), Axis::Share { from: 0.4, to: 1.0 })
            .contains("axis cut: 40")
    );
    assert!(!one_row(estimate(0.7, 0.6, 0.8, Look::Firm), SHARE).contains("axis cut"));
}

#[test]
fn an_interval_beyond_the_axis_ends_in_an_arrow() {
    let arrows = |low: f64| {
        let svg = one_row(estimate(0.7, low, 0.8, Look::Firm), Axis::Share { from: 0.4, to: 1.0 });
        Document::parse(&svg)
            .unwrap()
            .descendants()
            .filter(|n| n.tag_name().name() == "polygon")
            .count()
    };
    assert_eq!((arrows(0.5), arrows(0.1)), (0, 1));
}

#[test]
fn money_is_shortened_with_its_unit_on_the_axis() {
    assert!(savings(6, Words::Plain).rows.iter().any(|r| r.net.value.is_some_and(|v| v > 1e4)));
    assert!(ranked_saving(&savings(6, Words::Plain)).contains("k EUR a year"));
}

#[test]
fn rows_keep_the_order_of_the_caller() {
    let svg = ranked_saving(&savings(6, Words::Plain));
    let places: Vec<usize> =
        ["manufacture LC", "assembly LC", "maintenance LC"].map(|l| svg.rfind(l).unwrap()).to_vec();
    assert!(places[0] < places[1] && places[1] < places[2], "{places:?}");
}

#[test]
fn every_signal_is_ringed_and_written_beside_its_point_or_below() {
    let chart = weeks(60, Words::Plain);
    let svg = points_over_time(&chart);
    for point in chart.points.iter().filter(|p| p.signal.is_some()) {
        assert!(svg.contains(&format!("{} below the limit", point.label)), "{}", point.label);
    }
}

#[test]
fn every_named_site_is_written_and_no_other() {
    let chart = funnel(150, Words::Plain);
    let svg = scatter_funnel(&chart);
    for point in &chart.points {
        let written = svg.contains(&format!("\n{}\n", point.label))
            || svg.contains(&format!("{};", point.label))
            || svg.contains(&format!("{}.", point.label));
        assert_eq!(written, point.named, "{}", point.label);
    }
}

#[test]
fn more_than_two_thousand_points_become_bins_that_add_up() {
    let chart = funnel(2_500, Words::Plain);
    let unnamed = chart.points.iter().filter(|p| !p.named).count();
    let svg = scatter_funnel(&chart);
    assert!(svg.contains(&format!("{} points drawn as counts", number::count(unnamed as u64))));
    assert!(!scatter_funnel(&funnel(1_900, Words::Plain)).contains("drawn as counts"));
}

#[test]
fn a_picture_of_enormous_numbers_can_be_drawn() {
    let mut money = savings(3, Words::Plain);
    money.rows[0].gain = Some(f64::MAX);
    money.rows[1].net = estimate(f64::MIN, f64::MIN, f64::MAX, Look::Confounded);
    assert!(png(&ranked_saving(&money)).is_ok());
}
