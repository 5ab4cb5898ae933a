//! The canonical records: five tables of what was recorded, a sixth of what could not be typed,
//! their columns, and the codes that the program itself gives a meaning to.
//!
//! Knows nothing of files or of how an export looks. The order of columns here is the order in the
//! store.

mod codes;
mod columns;
mod level;
mod written;

pub(crate) use codes::code_list;
pub use codes::{
    Disposition, Finding, Grading, Misread, Optic, Outcome, Precision, Side, UNKNOWN, Zone,
    fixed_codes,
};
pub use columns::{
    Column, IDENTITY_COLUMNS, Kind, MEMBER_COLUMNS, ROW_COLUMN, SCHEMA_VERSION, columns,
    face_columns, quarantine_schema, schema,
};
pub use level::{Level, level};

/// A canonical table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Table {
    /// The register of end faces.
    EndFaces,
    /// Looks at end faces.
    Inspections,
    /// Cleanings of end faces.
    Cleanings,
    /// Two end faces joined.
    Matings,
    /// Fault tickets.
    Faults,
}

impl Table {
    /// Every table, in the order of the design.
    pub const ALL: [Table; 5] =
        [Table::EndFaces, Table::Inspections, Table::Cleanings, Table::Matings, Table::Faults];

    /// Its name in settings, folders and messages.
    pub const fn name(self) -> &'static str {
        match self {
            Table::EndFaces => "end_faces",
            Table::Inspections => "inspections",
            Table::Cleanings => "cleanings",
            Table::Matings => "matings",
            Table::Faults => "faults",
        }
    }

    /// The table of that name.
    pub fn named(name: &str) -> Option<Table> {
        Table::ALL.into_iter().find(|table| table.name() == name)
    }

    /// Column that places a record in time, none for the register.
    pub fn time_column(self) -> Option<&'static str> {
        match self {
            Table::EndFaces => None,
            Table::Faults => Some("opened"),
            _ => Some("at"),
        }
    }
}
