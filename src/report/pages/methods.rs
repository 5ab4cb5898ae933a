//! Methods and words on one page: what every flag and word means, how every answer is counted.

use super::around::Whole;
use crate::measures::Flag;
use crate::report::page::escape::html;
use crate::report::page::links::{Links, Target};
use crate::report::words::caution::CAUTION;
use crate::report::words::glossary::GLOSSARY;
use crate::report::words::label::capitalised;

/// The page below its head, as HTML.
pub(super) fn methods(whole: &Whole, links: Links, level: usize) -> String {
    let below = level + 1;
    let mut out = format!(
        "<h{level}>Methods and words</h{level}>\n<h{below} id=\"words\">Words</h{below}>\n<dl>\n"
    );
    for (word, meaning) in GLOSSARY {
        out.push_str(&format!("<dt>{}</dt><dd>{}</dd>\n", html(word), html(meaning)));
    }
    out.push_str(&format!(
        "</dl>\n<h{below} id=\"flags\">Flags</h{below}>\n<p>A flag stands beside a number that needs a word. Those marked with \
         a star only warn; any other keeps the number out of rankings and headlines.</p>\n<dl>\n"
    ));
    for flag in Flag::ALL {
        let star = if flag.only_warns() { " *" } else { "" };
        out.push_str(&format!(
            "<dt id=\"flag-{}\">{}{star}</dt><dd>{}</dd>\n",
            flag.word(),
            flag.word(),
            html(&capitalised(flag.doc()))
        ));
    }
    out.push_str(&format!("</dl>\n<h{below} id=\"how\">How each answer is counted</h{below}>\n"));
    for (section, number) in whole.parts.sections.iter().zip(1..) {
        let deeper = below + 1;
        out.push_str(&format!(
            "<h{deeper}><a href=\"{}\">{number} · {}</a></h{deeper}>\n<p class=\"method\">{}</p>\n",
            links.to(Target::Question(section.id)),
            html(section.question),
            html(&section.method)
        ));
    }
    out.push_str(&format!(
        "<h{below} id=\"cautions\">Before anyone acts on this</h{below}>\n<p>{}</p>\n<p>The numbers are associations in \
         recorded data. They rank where to look; they prove no cause, and they judge no person.</p>\n",
        html(CAUTION)
    ));
    out
}
