//! The part of a line that lies inside a rectangle.
//!
//! Source: Liang & Barsky (1984), ACM Transactions on Graphics 3(1), 1-22 [from memory].

use super::canvas::Point;

/// The pieces of the line through `points` inside `area` (left, top, right, bottom).
pub fn inside(points: &[Point], area: [f64; 4]) -> Vec<Vec<Point>> {
    let mut pieces: Vec<Vec<Point>> = Vec::new();
    for pair in points.windows(2) {
        let Some((from, to)) = segment(pair[0], pair[1], area) else {
            continue;
        };
        match pieces.last_mut() {
            Some(piece) if piece.last() == Some(&from) => piece.push(to),
            _ => pieces.push(vec![from, to]),
        }
    }
    pieces
}

/// The part of one straight stretch.
fn segment(a: Point, b: Point, [left, top, right, bottom]: [f64; 4]) -> Option<(Point, Point)> {
    let (dx, dy) = (b.0 - a.0, b.1 - a.1);
    let (mut enter, mut leave) = (0.0, 1.0);
    for (toward, room) in
        [(-dx, a.0 - left), (dx, right - a.0), (-dy, a.1 - top), (dy, bottom - a.1)]
    {
        if toward == 0.0 && room < 0.0 {
            return None;
        }
        let at = room / toward;
        if toward < 0.0 {
            enter = f64::max(enter, at);
        } else if toward > 0.0 {
            leave = f64::min(leave, at);
        }
    }
    // An end that is not cut stays exactly what it was, so that pieces join.
    let place = |t: f64| {
        if t == 0.0 {
            a
        } else if t == 1.0 {
            b
        } else {
            (a.0 + t * dx, a.1 + t * dy)
        }
    };
    (enter <= leave).then(|| (place(enter), place(leave)))
}
