//! The words above and below a picture, written so that a page can take them out again and set them as text that wraps:
//! on a narrow screen a title inside a picture is cut, or too small to read.

const HEAD: &str = "<g class=\"head\" data-end=\"";
const FOOT: &str = "<g class=\"foot\" data-begin=\"";
const SUBTITLE: (&str, &str) = ("<metadata class=\"subtitle\">", "</metadata>");
const CAPTION: (&str, &str) = ("<metadata class=\"caption\">", "</metadata>");

/// The group of what stands above the picture, down to `end`.
pub(super) fn above(subtitle: &str, end: f64, drawn: &str) -> String {
    format!("{HEAD}{end}\">\n{}{subtitle}{}\n{drawn}</g>\n", SUBTITLE.0, SUBTITLE.1)
}

/// The group of what stands below the picture, from `begin`.
pub(super) fn below(caption: &str, begin: f64, drawn: &str) -> String {
    format!("{FOOT}{begin}\">\n{}{caption}{}\n{drawn}</g>\n", CAPTION.0, CAPTION.1)
}

/// A picture and its words apart. The words are escaped as they stand in the SVG, which is how HTML wants them.
#[derive(Clone, Debug, PartialEq)]
pub struct Parted<'a> {
    /// The finding.
    pub title: &'a str,
    /// What is drawn.
    pub subtitle: &'a str,
    /// What stands below the picture; may be empty.
    pub caption: &'a str,
    /// The picture without these words, its title and description kept.
    pub svg: String,
}

/// Takes the words out of an SVG that a chart function returned; none where it is none of ours.
pub fn parted(svg: &str) -> Option<Parted<'_>> {
    let title = between(svg, "<title>", "</title>")?;
    let (before, rest) = svg.split_once(HEAD)?;
    let (head, rest) = rest.split_once("</g>\n")?;
    let (body, foot) = rest.split_once(FOOT)?;
    let (foot, end) = foot.rsplit_once("</g>\n")?;
    let top: f64 = head.split_once('"')?.0.parse().ok()?;
    let bottom: f64 = foot.split_once('"')?.0.parse().ok()?;
    let (first, after) = before.split_once(" width=\"")?;
    let (_, after) = after.split_once(" viewBox=\"")?;
    let (view, after) = after.split_once('"')?;
    let wide = view.split(' ').nth(2)?;
    let high = (bottom - top).max(1.0);
    Some(Parted {
        title,
        subtitle: between(head, SUBTITLE.0, SUBTITLE.1)?,
        caption: between(foot, CAPTION.0, CAPTION.1)?,
        svg: format!("{first} viewBox=\"0 {top} {wide} {high}\"{after}{body}{end}"),
    })
}

fn between<'a>(text: &'a str, open: &str, close: &str) -> Option<&'a str> {
    let (_, rest) = text.split_once(open)?;
    Some(rest.split_once(close)?.0)
}
