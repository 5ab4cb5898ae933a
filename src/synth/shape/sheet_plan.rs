//! How a site writes its exports: which columns, which rows, which marks.

use chrono_tz::{Tz, UTC};

/// One export column.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Field {
    /// What kind of row it is, in a log of several.
    Action,
    Record,
    Site,
    /// The row's time, by a pattern.
    At(&'static str),
    /// Later time of the row (parted, cleared, out of service), by a pattern.
    Until(&'static str),
    Face,
    Side,
    /// Second end face of a mating.
    Partner,
    PartnerSide,
    Family,
    Optic,
    Polish,
    Mode,
    Supplier,
    Fibre,
    Stage,
    Outcome,
    Finding,
    Zone,
    Capped,
    Criteria,
    Grading,
    Person,
    Instrument,
    Order,
    Disposition,
    Method,
    Tool,
    /// Method of the cleaning directly before a look.
    CleanedFirst,
    CleanedTool,
    Service,
    /// Record of the mating a ticket names.
    Mating,
    Cause,
    Remedy,
    Downtime,
    Labour,
    Visits,
    Cost,
    Services,
    /// Attenuation in dB, which nothing maps.
    Loss,
}

/// How often an export is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Every {
    Month,
    Quarter,
    HalfYear,
    /// One file for all.
    Once,
}

/// Kinds of rows that a file holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Holds {
    Looks,
    Cleanings,
    Matings,
    /// Looks, cleanings and matings together.
    Actions,
    Tickets,
    Assets,
}

/// One kind of file.
#[derive(Debug)]
pub struct Sheet {
    /// Beginning of the file name.
    pub name: &'static str,
    pub holds: Holds,
    pub every: Every,
    pub columns: &'static [(&'static str, Field)],
}

/// One shape of export.
#[derive(Debug)]
pub struct Shape {
    /// Folder below `exports`; `{code}` stands for the site's short form in lower case.
    pub folder: &'static str,
    /// End of the file names; `.gz` packs, `xlsx` is a workbook with the preface as its title.
    pub ending: &'static str,
    pub separator: u8,
    pub decimal_mark: char,
    /// windows-1252 in place of UTF-8.
    pub latin: bool,
    /// Lines end with CR LF.
    pub carriage_return: bool,
    pub zone: Tz,
    /// Lines above the heading.
    pub preface: &'static str,
    pub sheets: &'static [Sheet],
    /// Code and the word written for it.
    pub words: &'static [(&'static str, &'static str)],
    /// The piece of the settings that reads it.
    pub map: &'static str,
}

pub(in crate::synth) const PLAIN: Shape = Shape {
    folder: "plain",
    ending: "csv",
    separator: b',',
    decimal_mark: '.',
    latin: false,
    carriage_return: false,
    zone: UTC,
    preface: "",
    sheets: &[],
    words: &[],
    map: "",
};
