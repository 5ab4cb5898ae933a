//! Invented outcomes in time, and what their picture shows.

use motetrail::charts::*;
use resvg::usvg::roxmltree::Document;

use super::sample::{Words, frame, label};

pub fn touches(rows: usize, words: Words) -> TimeLine {
    let stamps = [Stamp::Diamond, Stamp::Ring, Stamp::Stroke];
    let names = ["came out dirty", "came out clean", "not looked at"];
    let lane = |i: usize| Lane {
        label: if words == Words::Plain { names[i].to_owned() } else { label(i, words) },
        stamp: stamps[i],
        at: (0..rows).filter(|row| row % 3 == i).map(|row| row as f64).collect(),
    };
    let moment = |at: f64| Moment {
        at,
        label: if words == Words::Plain { format!("day {at}") } else { label(at as usize, words) },
    };
    TimeLine {
        frame: frame(words),
        ends: (0.0, rows as f64),
        dates: (0..rows).step_by(30).map(|day| moment(day as f64)).collect(),
        lanes: (0..3).map(lane).collect(),
        dividers: vec![moment(rows as f64 / 2.0)],
    }
}

fn drawn(svg: &str, name: &str) -> usize {
    let document = Document::parse(svg).unwrap();
    document.descendants().filter(|node| node.tag_name().name() == name).count()
}

/// Counted in the picture, not by colour.
#[test]
fn outcomes_are_told_apart_by_shape() {
    let chart = touches(30, Words::Plain);
    let svg = time_line(&chart);
    assert_eq!((drawn(&svg, "polygon"), drawn(&svg, "circle")), (10, 10));
    let without = TimeLine {
        lanes: chart.lanes.iter().filter(|lane| lane.stamp != Stamp::Stroke).cloned().collect(),
        ..chart
    };
    let fewer = time_line(&without);
    assert_eq!((drawn(&fewer, "polygon"), drawn(&fewer, "circle")), (10, 10));
}

#[test]
fn what_is_no_number_is_left_out_and_too_many_are_counted_in_words() {
    let mut chart = touches(3, Words::Plain);
    chart.lanes[0].at = vec![f64::NAN, f64::INFINITY, 1.0];
    assert_eq!(drawn(&time_line(&chart), "polygon"), 1);
    chart.lanes[0].at = (0..2100).map(|at| f64::from(at) / 700.0).collect();
    let svg = time_line(&chart);
    assert_eq!(drawn(&svg, "polygon"), 2000);
    assert!(svg.contains("100 earlier events are not drawn."));
}

#[test]
fn a_divider_beyond_the_axis_is_not_drawn() {
    let mut chart = touches(30, Words::Plain);
    chart.dividers[0] = Moment { at: 99.0, label: "last cleaned".to_owned() };
    assert!(!time_line(&chart).contains("last cleaned"));
    chart.dividers[0].at = 15.0;
    assert!(time_line(&chart).contains("last cleaned"));
}
