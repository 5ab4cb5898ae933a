//! What every kind of chart promises, whatever it is given.

use motetrail::charts::png;
use resvg::usvg::roxmltree::{Document, Node};

use super::sample::{Words, kinds};

/// Rows and words of every sample: empty, one row, few (flagged ones among them), many, long and hostile texts.
const CASES: [(usize, Words); 7] = [
    (0, Words::Plain),
    (1, Words::Plain),
    (12, Words::Plain),
    (300, Words::Plain),
    (8, Words::Long),
    (8, Words::Hostile),
    (0, Words::Hostile),
];

fn each(check: impl Fn(&str, &str, &Document)) {
    for (rows, words) in CASES {
        for (name, svg) in kinds(rows, words) {
            let case = format!("{name}, {rows} rows, {words:?}");
            let document = Document::parse(&svg).unwrap_or_else(|e| panic!("{case}: {e}"));
            check(&case, &svg, &document);
        }
    }
}

fn child<'a>(document: &'a Document, name: &str) -> Option<Node<'a, 'a>> {
    document
        .root_element()
        .children()
        .find(|n| n.has_tag_name(("http://www.w3.org/2000/svg", name)))
}

#[test]
fn every_chart_is_an_svg_800_wide_with_a_title_and_a_description() {
    each(|case, _, document| {
        let root = document.root_element();
        assert_eq!(root.tag_name().name(), "svg", "{case}");
        assert_eq!(root.attribute("width"), Some("800"), "{case}");
        for name in ["title", "desc"] {
            let text = child(document, name).and_then(|n| n.text().map(str::to_owned));
            assert!(text.is_some_and(|t| !t.trim().is_empty()), "{case}: {name}");
        }
    });
}

#[test]
fn no_chart_can_run_or_load_anything() {
    each(|case, _, document| {
        for node in document.descendants().filter(Node::is_element) {
            let allowed = [
                "svg", "title", "desc", "metadata", "g", "text", "line", "polyline", "polygon",
                "circle", "rect",
            ];
            assert!(
                allowed.contains(&node.tag_name().name()),
                "{case}: {}",
                node.tag_name().name()
            );
            for attribute in node.attributes() {
                let name = attribute.name();
                assert!(
                    !name.starts_with("on") && !name.contains("href") && name != "style",
                    "{case}: {name}"
                );
                assert!(!attribute.value().contains("url("), "{case}: {name}");
            }
        }
    });
}

#[test]
fn every_chart_takes_the_colour_of_the_page_for_its_texts_and_has_no_background() {
    each(|case, svg, document| {
        assert!(svg.contains("\"currentColor\""), "{case}");
        assert!(!svg.contains("#010203"), "{case}");
        let first = document
            .descendants()
            .filter(Node::is_element)
            .find(|n| !["svg", "title", "desc", "g", "metadata"].contains(&n.tag_name().name()));
        assert_eq!(
            first.map(|n| n.tag_name().name()),
            Some("text"),
            "{case}: something is drawn under the title"
        );
    });
}

#[test]
fn every_chart_is_no_higher_than_its_rows_need() {
    each(|case, _, document| {
        let high: f64 = document.root_element().attribute("height").unwrap().parse().unwrap();
        let most = if case.contains(" 0 rows") {
            400.0
        } else if case.contains("300 rows") {
            2100.0
        } else {
            // A lifecycle of eight stages whose names take four lines each.
            1200.0
        };
        assert!((60.0..=most).contains(&high), "{case}: {high}");
    });
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    for (rows, words) in CASES {
        assert_eq!(kinds(rows, words), kinds(rows, words));
    }
}

#[test]
fn an_empty_chart_says_that_there_is_nothing_to_draw() {
    for (name, svg) in kinds(0, Words::Plain) {
        assert!(svg.contains(" to draw."), "{name}");
    }
}

#[test]
fn rows_beyond_thirty_are_counted_in_words() {
    for (name, svg) in kinds(300, Words::Plain) {
        let expected = match name {
            "interval_rows" | "interval_rows_ratio" | "dot_pairs" => "and 120 more, together",
            "stacked_bars" | "ranked_saving" | "grid" | "account_bars" | "stations" => {
                "and 270 more, together"
            }
            "trend" => "The last 16 of 300 periods.",
            "cash_fan" => "and 294 more, in the table",
            "tornado" => "and 292 more, that move it less",
            "ladder" => "and 270 dearer sets",
            _ => continue,
        };
        assert!(svg.contains(expected), "{name}");
    }
}

#[test]
fn a_fleet_a_hundred_times_larger_stays_under_half_a_megabyte_a_chart() {
    for (name, svg) in kinds(3_000, Words::Plain) {
        assert!(svg.len() < 500_000, "{name}: {}", svg.len());
    }
}

#[test]
fn every_png_is_twice_as_wide_and_has_something_on_it() {
    // One row: an unoptimised build needs seconds for a large picture.
    for (name, svg) in kinds(1, Words::Plain) {
        let picture = resvg::tiny_skia::Pixmap::decode_png(&png(&svg).unwrap()).unwrap();
        assert_eq!(picture.width(), 1600, "{name}");
        let corner = picture.pixel(0, 0).unwrap();
        assert_eq!((corner.red(), corner.alpha()), (255, 255), "{name}: the ground is not white");
        let dark = picture.pixels().iter().any(|p| p.red() < 60 && p.green() < 60);
        assert!(dark, "{name}: no dark text");
    }
}

#[test]
fn what_is_no_svg_gives_an_error_and_no_picture() {
    assert!(png("no picture").is_err());
    assert!(png("<svg").is_err());
}
