//! What stands around every picture: the finding as title, what is drawn as subtitle, the caption with the key to
//! flagged marks. A sheet grows downwards; its height is known when it is closed.

use super::canvas::{Anchor, Canvas, WIDTH, Words};
use super::mark::{Look, RADIUS, symbol};
use super::measure::{clean, width, wrap};
use super::number::count;
use super::paint::{INK, SOFT, STRONG};

/// The words around a chart.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Frame {
    /// The finding, a sentence; also the SVG's `<title>`. Wrapped to at most three lines.
    pub title: String,
    /// What is drawn, for which period, the interval level, n.
    pub subtitle: String,
    /// Below the picture; the chart adds the key to the flagged marks that occur.
    pub caption: String,
    /// The SVG's `<desc>`: the finding and the numbers, in words.
    pub description: String,
}

/// Free px at either side.
pub const MARGIN: f64 = 8.0;
/// Size of labels, px.
pub const TEXT: f64 = 13.0;
/// Size of secondary text, px.
pub const SMALL: f64 = 12.0;
const TITLE: f64 = 18.0;
/// Widest title of a panel, px.
const PANEL_TITLE: f64 = 780.0;

/// A picture in the making.
#[derive(Debug)]
pub struct Sheet {
    /// What has been drawn so far.
    pub canvas: Canvas,
    /// Where the next thing goes, px from the top.
    pub y: f64,
}

impl Sheet {
    /// A sheet with title and subtitle on it.
    pub fn open(frame: &Frame) -> Self {
        let mut sheet = Self { canvas: Canvas::default(), y: 6.0 };
        let room = WIDTH - 2.0 * MARGIN;
        for line in wrap(&frame.title, TITLE, true, room, 3) {
            sheet.canvas.bold((MARGIN, sheet.y + 12.0), &line, TITLE, Anchor::Start, INK);
            sheet.y += 24.0;
        }
        sheet.y += 2.0;
        for line in wrap(&frame.subtitle, TEXT, false, room, 4) {
            sheet.canvas.text((MARGIN, sheet.y + 9.0), &line, TEXT, Anchor::Start, SOFT);
            sheet.y += 18.0;
        }
        sheet.canvas.end_head(sheet.y);
        sheet.y += 12.0;
        sheet
    }

    /// The whole picture where there is nothing to draw.
    pub fn empty(frame: &Frame, words: &str) -> String {
        let mut sheet = Self::open(frame);
        sheet.say(words);
        sheet.close(frame, std::iter::empty())
    }

    /// The title of a panel; may be empty.
    pub fn panel_title(&mut self, title: &str) {
        for line in wrap(title, TEXT, true, PANEL_TITLE, 2) {
            self.canvas.bold((MARGIN, self.y + 8.0), &line, TEXT, Anchor::Start, INK);
            self.y += 18.0;
        }
    }

    /// "and 212 more", with what the caller knows of the `hidden`; nothing where all are drawn.
    pub fn and_more(&mut self, hidden: usize, rest: &str) {
        if hidden == 0 {
            return;
        }
        let (number, rest) = (count(hidden as u64), clean(rest));
        if rest.is_empty() {
            self.say(&format!("and {number} more"));
        } else {
            self.say(&format!("and {number} more, {rest}"));
        }
    }

    /// A line of words in the place of rows.
    pub fn say(&mut self, words: &str) {
        for line in wrap(words, TEXT, false, WIDTH - 2.0 * MARGIN, 9) {
            self.canvas.text((MARGIN, self.y + 10.0), &line, TEXT, Anchor::Start, SOFT);
            self.y += 20.0;
        }
    }

    /// Caption, key and the finished SVG.
    pub fn close(mut self, frame: &Frame, looks: impl Iterator<Item = Look>) -> String {
        self.y += 10.0;
        self.key(looks);
        self.canvas.begin_foot(self.y);
        for line in wrap(&frame.caption, SMALL, false, WIDTH - 2.0 * MARGIN, 12) {
            self.canvas.text((MARGIN, self.y + 8.0), &line, SMALL, Anchor::Start, SOFT);
            self.y += 16.0;
        }
        let words = Words {
            title: &frame.title,
            subtitle: &frame.subtitle,
            caption: &frame.caption,
            description: &frame.description,
        };
        self.canvas.svg(self.y + 6.0, &words)
    }

    /// The flagged marks that occur, each with what it means.
    fn key(&mut self, looks: impl Iterator<Item = Look>) {
        let occur: Vec<Look> = looks.collect();
        let mut x = MARGIN;
        let mut any = false;
        for look in Look::FLAGGED.into_iter().filter(|look| occur.contains(look)) {
            let wide = 2.0 * RADIUS + 6.0 + width(look.words(), SMALL, false) + 18.0;
            if x > MARGIN && x + wide > WIDTH {
                (x, self.y) = (MARGIN, self.y + 18.0);
            }
            symbol(&mut self.canvas, (x + RADIUS, self.y + 8.0), look, STRONG);
            self.canvas.text(
                (x + 2.0 * RADIUS + 6.0, self.y + 8.0),
                look.words(),
                SMALL,
                Anchor::Start,
                SOFT,
            );
            x += wide;
            any = true;
        }
        if any {
            self.y += 20.0;
        }
    }
}
