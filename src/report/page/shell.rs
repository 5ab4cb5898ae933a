//! What stands around every page: head, contents, foot, the script that sorts and filters.

use super::escape::html;

const TEMPLATE: &str = include_str!("page.html");
const STYLE: &str = include_str!("page.css");

/// The script of every page. It asks for nothing and stores nothing; without it every row is in sight and every fold
/// opens by a click.
pub(in crate::report) const SCRIPT: &str = include_str!("script.js");

/// SHA-256 of [`SCRIPT`], base64, as the policy of the page names it: no other script runs. A test works it out anew, and
/// says what it must be after a change.
pub(in crate::report) const SCRIPT_HASH: &str =
    "sha256-ZWDYR6k4VU4Xz/M0MY3tDohvuTwpcWjJYK0WKciu3ks=";

/// A page's own parts. All but the title are HTML.
#[derive(Clone, Debug)]
pub(in crate::report) struct Shell {
    pub title: String,
    /// What kind of page it is, for its style and for tests: front, asked (a question), site, sites, methods, case, or whole
    /// (all of it).
    pub kind: &'static str,
    /// The list of contents; may be empty.
    pub contents: String,
    pub body: String,
    pub footer: String,
}

impl Shell {
    /// The page's bytes.
    pub(in crate::report) fn page(self) -> Vec<u8> {
        let values = [
            ("title", html(&self.title)),
            ("style", STYLE.to_owned()),
            ("script", SCRIPT.to_owned()),
            ("script_hash", SCRIPT_HASH.to_owned()),
            ("kind", self.kind.to_owned()),
            ("contents", self.contents),
            ("body", self.body),
            ("footer", self.footer),
        ];
        filled(TEMPLATE, &values).into_bytes()
    }
}

/// The template with each `{{name}}` replaced once: what is filled in is never read again.
fn filled(template: &str, values: &[(&str, String)]) -> String {
    let mut out = String::with_capacity(template.len());
    let mut rest = template;
    while let Some((before, after)) = rest.split_once("{{") {
        out.push_str(before);
        let Some((name, after)) = after.split_once("}}") else {
            out.push_str("{{");
            rest = after;
            continue;
        };
        let value = values.iter().find(|(known, _)| *known == name);
        out.push_str(value.map_or("", |(_, value)| value));
        rest = after;
    }
    out.push_str(rest);
    out
}
