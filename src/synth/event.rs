//! What happens in the invented fleet, as it will be written down.
//!
//! Times are minutes since 1970 in UTC; two events of one end face are never in the same minute,
//! so exports that only know minutes keep their order. Codes are the words of the canonical tables.

/// Minutes since 1970 in UTC.
pub type Minute = i64;

/// A cleaning method.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Method {
    Dry,
    WetDry,
    Wet,
    NonContact,
}

impl Method {
    /// The code it is written with.
    pub fn word(self) -> &'static str {
        match self {
            Method::Dry => "dry",
            Method::WetDry => "wet-dry",
            Method::Wet => "wet",
            Method::NonContact => "non-contact",
        }
    }
}

/// Coverage of a mating as it truly was.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Class {
    Both,
    One,
    None,
    DespiteFail,
}

/// A cleaning method with the tool that applied it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Applied {
    pub method: Method,
    /// Number of the tool among those of its site and method, from 1.
    pub tool: u8,
}

/// One look at one end face.
#[derive(Clone, Debug)]
pub struct Look {
    pub at: Minute,
    /// Index of the end face.
    pub face: usize,
    /// Index of the site.
    pub site: usize,
    /// Index of the stage.
    pub stage: usize,
    /// pass, fail or unreadable.
    pub outcome: &'static str,
    /// contamination, defect or nothing.
    pub finding: &'static str,
    /// A to D or nothing.
    pub zone: &'static str,
    pub capped: bool,
    /// Number of the person at the site.
    pub person: u8,
    pub order: u32,
    /// Disposition code or nothing.
    pub disposition: &'static str,
    /// The cleaning directly before this look.
    pub cleaned: Option<Applied>,
    /// Fibre number of a multi-fibre row, 0 for a whole end face.
    pub fibre: u8,
    /// Number of the record at its site.
    pub number: u32,
}

/// One application of one method.
#[derive(Clone, Debug)]
pub struct Cleaning {
    pub at: Minute,
    pub face: usize,
    pub site: usize,
    pub stage: usize,
    pub applied: Applied,
    pub person: u8,
    pub order: u32,
    pub number: u32,
}

/// Two end faces joined.
#[derive(Clone, Debug)]
pub struct Mating {
    pub at: Minute,
    pub plug: usize,
    pub port: usize,
    pub site: usize,
    pub stage: usize,
    /// When it was parted, where that is written down.
    pub demated: Option<Minute>,
    /// Whether the second end face is named.
    pub port_named: bool,
    /// How its end faces are named.
    pub spelled: Spelled,
    pub person: u8,
    pub order: u32,
    pub number: u32,
}

/// How the end faces of a mating are named.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spelled {
    /// As by those who look.
    AsSeen,
    /// In small letters, with blanks for what joins parts of names.
    Otherwise,
    /// In small letters.
    Small,
}

/// Cells of a ticket that the map cannot read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Unread {
    pub opened: bool,
    pub downtime: bool,
    pub cause: bool,
}

/// One trouble ticket.
#[derive(Clone, Debug)]
pub struct Ticket {
    /// Cells that are written so that the map does not read them.
    pub unread: Unread,
    pub opened: Minute,
    /// None: still open when the exports were made.
    pub cleared: Option<Minute>,
    pub site: usize,
    /// Position of the mating it names, in order of invention.
    pub mating: Option<usize>,
    /// End face it names.
    pub face: Option<usize>,
    /// Coverage of the mating that failed, as it truly was.
    pub class: Class,
    pub cause: &'static str,
    pub remedy: &'static str,
    pub stage: usize,
    pub order: u32,
    /// Minutes that service was out, where stated.
    pub downtime: Option<i64>,
    /// Minutes of work, where stated.
    pub labour: Option<i64>,
    /// Trips to the site, where stated.
    pub visits: Option<i64>,
    /// Minor units, where the ticket knows its cost.
    pub cost: Option<i64>,
    pub services: i64,
    pub number: u32,
}
