//! Texts measured as they are drawn with the carried font: none leaves the picture, none lies on another.

use std::sync::Arc;

use resvg::usvg::{Group, Node, Options, Rect, Tree, fontdb::Database};

use super::sample::{Words, kinds};

const FONTS: [&[u8]; 3] = [
    include_bytes!("../../../src/charts/shell/font/NotoSans-Regular.ttf"),
    include_bytes!("../../../src/charts/shell/font/NotoSans-Bold.ttf"),
    include_bytes!("../../../src/charts/shell/font/NotoSansMath-Regular.ttf"),
];

fn texts(group: &Group, found: &mut Vec<(String, Rect)>) {
    for node in group.children() {
        match node {
            Node::Group(inner) => texts(inner, found),
            Node::Text(text) => {
                let words: String = text.chunks().iter().map(|c| c.text()).collect();
                found.push((words, text.abs_bounding_box()));
            }
            _ => {}
        }
    }
}

/// Texts of a chart with their boxes in px, and the chart's size.
fn measured(svg: &str, fonts: &Arc<Database>) -> (Vec<(String, Rect)>, (f32, f32)) {
    let options = Options { fontdb: fonts.clone(), ..Options::default() };
    let tree = Tree::from_str(svg, &options).unwrap();
    let mut found = Vec::new();
    texts(tree.root(), &mut found);
    (found, (tree.size().width(), tree.size().height()))
}

fn carried() -> Arc<Database> {
    let mut fonts = Database::new();
    FONTS.iter().for_each(|font| fonts.load_font_data(font.to_vec()));
    fonts.set_sans_serif_family("Noto Sans");
    Arc::new(fonts)
}

#[test]
fn no_text_leaves_the_picture_or_lies_on_another() {
    let fonts = carried();
    for (rows, words) in [
        (1, Words::Plain),
        (12, Words::Plain),
        (31, Words::Plain),
        (200, Words::Plain),
        (8, Words::Long),
        (14, Words::Hostile),
    ] {
        for (name, svg) in kinds(rows, words) {
            let (found, (wide, high)) = measured(&svg, &fonts);
            assert!(found.len() > 2, "{name}");
            for (i, (text, a)) in found.iter().enumerate() {
                let inside = a.left() >= -0.5
                    && a.right() <= wide + 0.5
                    && a.top() >= -0.5
                    && a.bottom() <= high + 0.5;
                assert!(
                    inside,
                    "{name}, {rows} rows, {words:?}: \"{text}\" leaves the picture: {a:?}"
                );
                for (other, b) in &found[i + 1..] {
                    // Boxes hold the line's whole height; a px of shared leading is not an overlap of letters.
                    let across = a.right().min(b.right()) - a.left().max(b.left());
                    let down = a.bottom().min(b.bottom()) - a.top().max(b.top());
                    assert!(
                        across < 1.0 || down < 3.5,
                        "{name}, {rows} rows, {words:?}: \"{text}\" lies on \"{other}\" by {across} x {down}"
                    );
                }
            }
        }
    }
}
