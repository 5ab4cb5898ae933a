//! A list of shapes in px, drawn at the end through the plotters SVG backend. The backend knows only whole units, so it
//! draws in tenths of a px; it knows neither `currentColor` nor `<title>`, which are put in afterwards.

use plotters::backend::{DrawingBackend, SVGBackend};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color, FontStyle, IntoFont, RGBAColor, ShapeStyle, TextStyle};

use super::font::FAMILY;
use super::head;
use super::measure::{clean, width};
use super::paint::{CURRENT_RGB, Paint};

/// Width of every chart, px.
pub const WIDTH: f64 = 800.0;
/// Backend units in a px.
const UNITS: f64 = 10.0;
/// The backend divides text sizes by this.
const TEXT_FACTOR: f64 = 1.24;

/// A point, px from the upper left corner.
pub type Point = (f64, f64);

/// Where a text's position is, horizontally.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    Start,
    Middle,
    End,
}

#[derive(Clone, Debug)]
enum Shape {
    Line(Vec<Point>, Paint, f64),
    Area(Vec<Point>, Paint),
    Disc(Point, f64, Paint),
    Ring(Point, f64, Paint, f64),
    Text(Text),
}

#[derive(Clone, Debug)]
struct Text {
    at: Point,
    words: String,
    size: f64,
    bold: bool,
    anchor: Anchor,
    paint: Paint,
}

/// Shapes in the order in which they are drawn.
#[derive(Debug, Default)]
pub struct Canvas {
    shapes: Vec<Shape>,
    head: Reached,
    foot: Option<Reached>,
}

/// How much was drawn up to some point: shapes, and px from the top.
#[derive(Clone, Copy, Debug, Default)]
struct Reached {
    shapes: usize,
    y: f64,
}

impl Canvas {
    /// What was drawn so far, down to `y`, are the words above the picture.
    pub fn end_head(&mut self, y: f64) {
        self.head = Reached { shapes: self.shapes.len(), y };
    }

    /// What is drawn from here on, from `y` down, are the words below the picture.
    pub fn begin_foot(&mut self, y: f64) {
        self.foot = Some(Reached { shapes: self.shapes.len(), y });
    }

    /// An open line through `points`, `thick` px.
    pub fn path(&mut self, points: &[Point], paint: Paint, thick: f64) {
        if points.len() > 1 {
            self.shapes.push(Shape::Line(points.to_vec(), paint, thick));
        }
    }

    /// A straight line.
    pub fn line(&mut self, from: Point, to: Point, paint: Paint, thick: f64) {
        self.path(&[from, to], paint, thick);
    }

    /// A broken line: 5 px drawn, 3 px left out.
    pub fn dashes(&mut self, points: &[Point], paint: Paint, thick: f64) {
        let (on, off) = (5.0, 3.0);
        let mut done = 0.0;
        for pair in points.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            let length = (b.0 - a.0).hypot(b.1 - a.1);
            let along = |d: f64| (a.0 + (b.0 - a.0) * d / length, a.1 + (b.1 - a.1) * d / length);
            let mut start = 0.0;
            // A picture is 800 px wide; a longer stroke comes from a point that is not in it.
            while start < length && length < 20_000.0 {
                let phase = (done + start) % (on + off);
                let (drawn, step) =
                    if phase < on { (true, on - phase) } else { (false, on + off - phase) };
                let stop = (start + step.max(0.01)).min(length);
                if drawn {
                    self.line(along(start), along(stop), paint, thick);
                }
                start = stop;
            }
            done += length;
        }
    }

    /// A filled polygon.
    pub fn area(&mut self, points: &[Point], paint: Paint) {
        if points.len() > 2 {
            self.shapes.push(Shape::Area(points.to_vec(), paint));
        }
    }

    /// A filled rectangle between two corners.
    pub fn rect(&mut self, (x0, y0): Point, (x1, y1): Point, paint: Paint) {
        self.area(&[(x0, y0), (x1, y0), (x1, y1), (x0, y1)], paint);
    }

    /// The outline of a rectangle.
    pub fn outline(&mut self, (x0, y0): Point, (x1, y1): Point, paint: Paint, thick: f64) {
        self.path(&[(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)], paint, thick);
    }

    /// A filled circle.
    pub fn disc(&mut self, centre: Point, radius: f64, paint: Paint) {
        self.shapes.push(Shape::Disc(centre, radius, paint));
    }

    /// The outline of a circle.
    pub fn ring(&mut self, centre: Point, radius: f64, paint: Paint, thick: f64) {
        self.shapes.push(Shape::Ring(centre, radius, paint, thick));
    }

    /// One line of text; `at.1` is the middle of its small letters.
    pub fn text(&mut self, at: Point, text: &str, size: f64, anchor: Anchor, paint: Paint) {
        self.push_text(at, text, (size, false), anchor, paint);
    }

    /// One line of bold text.
    pub fn bold(&mut self, at: Point, text: &str, size: f64, anchor: Anchor, paint: Paint) {
        self.push_text(at, text, (size, true), anchor, paint);
    }

    fn push_text(
        &mut self,
        at: Point,
        text: &str,
        (size, bold): (f64, bool),
        anchor: Anchor,
        paint: Paint,
    ) {
        let text = clean(text);
        if text.is_empty() {
            return;
        }
        // A centred or right-bound text must not leave the picture; a left-bound one was measured by its caller.
        let wide = width(&text, size, bold);
        let x = match anchor {
            Anchor::Start => at.0,
            Anchor::Middle => {
                at.0.clamp((wide / 2.0).min(WIDTH / 2.0), (WIDTH - wide / 2.0).max(WIDTH / 2.0))
            }
            Anchor::End => at.0.max(wide.min(WIDTH)),
        };
        self.shapes.push(Shape::Text(Text {
            at: (x, at.1),
            words: text,
            size,
            bold,
            anchor,
            paint,
        }));
    }

    /// The SVG, `height` px high, with its title and description; `words` are what stands above and below the picture, so
    /// that a page can set them itself ([`super::parted`]).
    pub fn svg(&self, height: f64, words: &Words) -> String {
        let height = height.ceil();
        let foot = self.foot.unwrap_or(Reached { shapes: self.shapes.len(), y: height });
        let head = self.drawn(0, self.head.shapes);
        let body = self.drawn(self.head.shapes, foot.shapes);
        let below = self.drawn(foot.shapes, self.shapes.len());
        let part = |text: &str| escape(&clean(text));
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{WIDTH}\" height=\"{height}\" viewBox=\"0 0 {} {}\" role=\"img\" color-scheme=\"light dark\">\n<title>{}</title>\n<desc>{}</desc>\n{}{body}{}</svg>\n",
            WIDTH * UNITS,
            height * UNITS,
            part(words.title),
            part(words.description),
            head::above(&part(words.subtitle), self.head.y * UNITS, &head),
            head::below(&part(words.caption), foot.y * UNITS, &below),
        )
    }

    /// Some of the shapes as SVG.
    fn drawn(&self, from: usize, to: usize) -> String {
        let mut drawn = String::new();
        let mut backend = SVGBackend::with_string(&mut drawn, (1, 1));
        self.shapes[from..to].iter().for_each(|shape| shape.draw(&mut backend));
        keep(backend.present());
        // Ends what it has drawn when it goes.
        drop(backend);
        let body = drawn.split_once(">\n").map_or("", |(_, body)| body);
        let body = body.trim_end().strip_suffix("</svg>").unwrap_or(body);
        let (r, g, b) = CURRENT_RGB;
        // Quotes inside texts are escaped, so that only an attribute can look like this.
        body.replace(&format!("\"#{r:02X}{g:02X}{b:02X}\""), "\"currentColor\"")
    }
}

/// The words of a picture.
#[derive(Clone, Copy, Debug)]
pub struct Words<'a> {
    pub title: &'a str,
    pub subtitle: &'a str,
    pub caption: &'a str,
    pub description: &'a str,
}

impl Shape {
    fn draw(&self, to: &mut SVGBackend) {
        keep(match self {
            Self::Line(points, paint, thick) => {
                to.draw_path(points.iter().map(unit), &stroke(*paint, *thick))
            }
            Self::Area(points, paint) => to.fill_polygon(points.iter().map(unit), &colour(*paint)),
            Self::Disc(at, radius, paint) => {
                to.draw_circle(unit(at), length(*radius), &colour(*paint), true)
            }
            Self::Ring(at, radius, paint, thick) => {
                to.draw_circle(unit(at), length(*radius), &stroke(*paint, *thick), false)
            }
            Self::Text(text) => to.draw_text(&text.words, &text.style(), unit(&text.at)),
        });
    }
}

impl Text {
    fn style(&self) -> TextStyle<'static> {
        let horizontal = match self.anchor {
            Anchor::Start => HPos::Left,
            Anchor::Middle => HPos::Center,
            Anchor::End => HPos::Right,
        };
        let weight = if self.bold { FontStyle::Bold } else { FontStyle::Normal };
        let font = (FAMILY, self.size * UNITS * TEXT_FACTOR, weight).into_font();
        let color = colour(self.paint).to_backend_color();
        TextStyle { font, color, pos: Pos::new(horizontal, VPos::Center) }
    }
}

/// Drawing into a `String` has nothing that can fail; the backend's type only says so for files.
fn keep<E>(drawn: Result<(), E>) {
    drop(drawn);
}

fn unit(point: &Point) -> (i32, i32) {
    // `as` saturates and turns NaN into 0: no number from outside can stop the drawing.
    ((point.0 * UNITS).round() as i32, (point.1 * UNITS).round() as i32)
}

fn length(px: f64) -> u32 {
    (px * UNITS).round() as u32
}

fn colour(paint: Paint) -> RGBAColor {
    RGBAColor(paint.rgb.0, paint.rgb.1, paint.rgb.2, paint.alpha)
}

fn stroke(paint: Paint, thick: f64) -> ShapeStyle {
    ShapeStyle { color: colour(paint), filled: false, stroke_width: length(thick) }
}

fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
