//! The words above and below a picture, taken out of it for a page.

use motetrail::charts::parted;
use resvg::usvg::roxmltree::Document;

use super::sample::{Words, kinds};

#[test]
fn every_kind_of_picture_parts_from_its_words_and_stays_a_picture() {
    for (rows, words) in
        [(0, Words::Plain), (3, Words::Plain), (30, Words::Hostile), (300, Words::Plain)]
    {
        for (name, svg) in kinds(rows, words) {
            let apart = parted(&svg).unwrap_or_else(|| panic!("{name} of {rows} rows"));
            let document =
                Document::parse(&apart.svg).unwrap_or_else(|error| panic!("{name}: {error}"));
            let whole = Document::parse(&svg).unwrap();
            let title = |document: &Document| {
                let node = document.descendants().find(|node| node.tag_name().name() == "title");
                node.and_then(|node| node.text().map(str::to_owned))
            };
            assert_eq!(title(&document), title(&whole), "{name}");
            let height = |document: &Document| -> f64 {
                let view = document.root_element().attribute("viewBox").unwrap();
                view.split(' ').nth(3).unwrap().parse().unwrap()
            };
            assert!(height(&document) < height(&whole), "{name}");
            assert!(!apart.title.is_empty() && !apart.svg.contains("<metadata"), "{name}");
            assert!(!apart.svg.contains("class=\"head\"") && !apart.svg.contains("class=\"foot\""));
        }
    }
    assert_eq!(parted("<svg></svg>"), None);
}
