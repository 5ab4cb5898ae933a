//! What count tables are grouped by: a type for every column, so that a site cannot stand where a stage
//! belongs, and a word that a closed list lacks does not compile.

use std::fmt::Debug;
use std::hash::Hash;

pub use crate::derive::carriers::trial::CarrierKind;
pub use crate::derive::mating::describe::Coverage;
pub use crate::derive::mating::fault::How;
pub use crate::derive::mating::follow_up::Definition;
pub use crate::derive::mating::judged::GradedBy;
pub use crate::derive::mating::late::Sign;
pub use crate::derive::mating::variant::Variant;
pub use crate::records::Level;
use crate::records::code_list;

/// What the codes of a column stand for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dimension {
    /// Fiscal quarters of the calendar, from its first.
    Quarter,
    /// Its months.
    Month,
    /// Its weeks.
    Week,
    /// The fleet's sites.
    Site,
    /// Its stages of work.
    Stage,
    /// Its connector families.
    Family,
    /// Its suppliers of end faces.
    Supplier,
    /// Its cleaning methods.
    Method,
    /// Its instruments and tools.
    Device,
    /// Its criteria of looks.
    Criteria,
    /// Its cause codes of faults.
    Cause,
    /// Its sources of faults.
    Source,
    /// A closed list of this program's.
    Words(&'static [&'static str]),
    /// A plain number.
    Number,
}

/// A column that count tables are grouped by, and a value in it.
pub trait Column: Copy + Ord + Hash + Debug + Send + Sync + 'static {
    /// What its codes stand for.
    const DIMENSION: Dimension;
    /// What it says of what is counted, in a line.
    const DOC: &'static str;

    /// The code in count tables.
    fn code(self) -> u32;

    /// The value of a code; none where a closed list has no word for it.
    fn of(code: u32) -> Option<Self>;
}

/// A column whose codes are alike in every fleet: closed lists of words, plain numbers, pieces of the
/// calendar. Rows of a table can be chosen by value.
pub trait Fixed: Column {}

/// A column whose words are a fleet's own. Rows of a table are chosen by word.
pub trait Listed: Column {}

/// Columns of numbers: codes of a fleet's list, pieces of the calendar, plain numbers.
macro_rules! numbers {
    ($($kind:ident $name:ident = $dimension:ident: $doc:literal;)+) => {$(
        #[doc = $doc]
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(pub u32);

        impl Column for $name {
            const DIMENSION: Dimension = Dimension::$dimension;
            const DOC: &'static str = $doc;

            fn code(self) -> u32 {
                self.0
            }

            fn of(code: u32) -> Option<Self> {
                Some($name(code))
            }
        }

        impl $kind for $name {}

        impl From<u8> for $name {
            fn from(code: u8) -> Self {
                $name(code.into())
            }
        }
    )+};
}

numbers! {
    Fixed QuarterNo = Quarter: "Fiscal quarter, counted from the calendar's first.";
    Fixed MonthNo = Month: "Month, counted from the calendar's first.";
    Fixed WeekNo = Week: "Week from Monday, counted from the calendar's first.";
    Listed Site = Site: "Site.";
    Listed Stage = Stage: "Stage of the work.";
    Listed FromStage = Stage: "Stage of the earlier of two visits.";
    Listed Family = Family: "Connector family.";
    Listed Supplier = Supplier: "Who supplied the end face.";
    Listed Method = Method: "Cleaning method, `mixed` where a cycle had several.";
    Listed Device = Device: "Instrument that looked.";
    Listed Criteria = Criteria: "Criteria of the site's last look before, where the site changed them.";
    Listed LookCriteria = Criteria: "Criteria of the last looks at both ends, `mixed` where they differ.";
    Listed Cause = Cause: "Cause code of the fault.";
    Listed FaultSource = Source: "Source of the ticket.";
    Fixed CycleNo = Number: "Number of the cleaning cycle in its visit, from 1; 0 before the first.";
    Fixed Band = Number: "Band of time since mating, counted from 0; its edges are the settings'.";
    Fixed Day = Number: "Whole days since mating.";
    Fixed SinceMade = Number: "Whole seconds since mating at which a fault of the stratum came.";
    Fixed WithDay = Number: "Whole days since mating of the other fault, or of the end of follow-up.";
    Fixed Minutes = Number: "Whole minutes from opening to clearing.";
    Fixed DelayHours = Number: "Whole hours from the replacement to the ticket; the last stands for later ones.";
    Fixed ClusterHigh = Number: "Upper half of the hash of the work order, 0 for a day.";
    Fixed ClusterLow = Number: "Lower half of the hash of the work order, or the day.";
    Fixed Entity = Number: "Code of the carrier in the list of its kind.";
    Fixed RulesAlike = Number: "Other rules under which matings count as they do under the settings', a bit each.";
    Fixed CellNo = Number: "Place of a cell among the cells of all kinds of carrier.";
    Fixed OtherCellNo = Number: "Place of a second cell of the same kind of carrier.";
}

/// Closed lists as columns.
macro_rules! words {
    ($($name:ident: $doc:literal;)+) => {$(
        impl Column for $name {
            const DIMENSION: Dimension = Dimension::Words(<$name>::WORDS);
            const DOC: &'static str = $doc;

            fn code(self) -> u32 {
                self as u32
            }

            fn of(code: u32) -> Option<Self> {
                <$name>::ALL.get(code as usize).copied()
            }
        }

        impl Fixed for $name {}
    )+};
}

pub(super) use words;

words! {
    EndSide: "Side of the mating on which the end face is.";
    Cap: "Whether a cap was on at the first look.";
    AfterFault: "Whether a fault came shortly before on one of its end faces.";
    ZoneOf: "Innermost zone that failed the first look.";
    Coverage: "What was known of both ends when they were mated.";
    Level: "How surely the fault is linked to contamination.";
    Definition: "Which faults end the follow-up.";
    How: "How the fault found its mating.";
    Sign: "What the ticket shows of how late it came.";
    CarrierKind: "What is tested as a carrier.";
}

impl Column for GradedBy {
    const DIMENSION: Dimension = Dimension::Words(&GradedBy::WORDS);
    const DOC: &'static str =
        "Who judged the last looks at both ends: a program, a person, or one each.";

    fn code(self) -> u32 {
        self.place() as u32
    }

    fn of(code: u32) -> Option<Self> {
        GradedBy::ALL.get(code as usize).copied()
    }
}

impl Fixed for GradedBy {}

impl Column for Variant {
    const DIMENSION: Dimension = Dimension::Words(&Variant::WORDS);
    const DOC: &'static str = "The one rule that is not as in the settings.";

    fn code(self) -> u32 {
        self.place() as u32
    }

    fn of(code: u32) -> Option<Self> {
        Variant::ALL.get(code as usize).copied()
    }
}

impl Fixed for Variant {}

code_list! {
    /// Side of a mating, where known: `records::Side` after "unknown".
    EndSide {
        Unknown = "unknown",
        Plug = "plug",
        Bulkhead = "bulkhead",
    }
}

impl EndSide {
    /// Of a side as events carry it: its place in `records::Side` plus 1.
    pub fn of_event(side: u8) -> EndSide {
        EndSide::ALL.get(usize::from(side)).copied().unwrap_or(EndSide::Unknown)
    }
}

code_list! {
    /// Whether a cap was on.
    Cap {
        Unknown = "unknown",
        Uncapped = "uncapped",
        Capped = "capped",
    }
}

impl Cap {
    /// Of what was recorded.
    pub fn of_record(capped: Option<bool>) -> Cap {
        capped.map_or(Cap::Unknown, |capped| if capped { Cap::Capped } else { Cap::Uncapped })
    }
}

code_list! {
    /// Whether a mating was made shortly after a fault on one of its end faces (C3).
    AfterFault {
        No = "no",
        Yes = "yes",
    }
}

code_list! {
    /// Zone of an end face, where recorded: `records::Zone` after "unknown".
    ZoneOf {
        Unknown = "unknown",
        Core = "A",
        Cladding = "B",
        Adhesive = "C",
        Contact = "D",
    }
}

impl ZoneOf {
    /// Of a zone as events carry it: its place in `records::Zone` plus 1.
    pub fn of_event(zone: u8) -> ZoneOf {
        ZoneOf::ALL.get(usize::from(zone)).copied().unwrap_or(ZoneOf::Unknown)
    }
}

impl AfterFault {
    /// Yes or no.
    pub fn of_mating(after_fault: bool) -> AfterFault {
        if after_fault { AfterFault::Yes } else { AfterFault::No }
    }
}
