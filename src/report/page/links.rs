//! Where pages and files stand, seen from a page: relative, so that they work from a folder, from an archive that was
//! unpacked, and from any server.

/// A page of the report.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::report) enum Target<'a> {
    /// The front page.
    Front,
    /// The page of a question, by the name of its table.
    Question(&'a str),
    /// All sites by answers.
    Sites,
    /// The page of a site, by its part of a file name.
    Site(&'a str),
    /// Methods and words.
    Methods,
}

/// From where links go out.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::report) enum Links {
    /// From the front page, beside which the folders stand.
    Front,
    /// From a page in `pages`.
    Pages,
    /// Everything is one file.
    OneFile,
    /// From a page that no other page stands beside.
    Alone,
}

impl Target<'_> {
    /// Path of the page inside the report.
    pub(in crate::report) fn path(self) -> String {
        match self {
            Target::Front => "report.html".to_owned(),
            Target::Question(id) => format!("pages/{}.html", id.replace('_', "-")),
            Target::Sites => "pages/sites.html".to_owned(),
            Target::Site(slug) => format!("pages/site-{slug}.html"),
            Target::Methods => "pages/methods.html".to_owned(),
        }
    }

    /// What the page's part is called where everything is one file.
    pub(in crate::report) fn anchor(self) -> String {
        match self {
            Target::Front => "front".to_owned(),
            Target::Question(id) => id.to_owned(),
            Target::Sites => "sites".to_owned(),
            Target::Site(slug) => format!("site-{slug}"),
            Target::Methods => "methods".to_owned(),
        }
    }
}

impl Links {
    /// How a page is reached.
    pub(in crate::report) fn to(self, target: Target) -> String {
        match self {
            Links::OneFile => format!("#{}", target.anchor()),
            Links::Front | Links::Pages | Links::Alone => self.file(&target.path()),
        }
    }

    /// Where the sentence of a flag stands; none where no page has it.
    pub(in crate::report) fn to_flag(self, flag: &str) -> Option<String> {
        let page = match self {
            Links::Alone => return None,
            Links::OneFile => String::new(),
            Links::Front | Links::Pages => self.to(Target::Methods),
        };
        Some(format!("{page}#flag-{flag}"))
    }

    /// How a file of the report is reached.
    pub(in crate::report) fn file(self, path: &str) -> String {
        match (self, path.strip_prefix("pages/")) {
            (Links::Front | Links::OneFile | Links::Alone, _) => path.to_owned(),
            (Links::Pages, Some(beside)) => beside.to_owned(),
            (Links::Pages, None) => format!("../{path}"),
        }
    }
}
