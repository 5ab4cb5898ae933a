//! `[[source]]`: its keys.

use std::collections::BTreeMap;
use std::marker::PhantomData;

use chrono_tz::Tz;

use super::covers::{Cover, Covers};
use super::dialect::{
    Between, DECIMAL_MARKS, Encoding, LINE_ENDS, Label, LineEnd, Mark, SHORT_ROWS, Separator,
    ShortRows,
};
use super::files::{A_GLOB, Globs};
use super::name_rules::NameRules;
use super::names::Spelled;
use super::number_keys::{THOUSANDS, Thousands};
use super::people::{People, PeopleColumns};
use super::record::{RecordMap, TypedRecord};
use super::words_of_cells::{UNREADABLE, Unreadable};
use crate::calendar::ClockChange;
use crate::records::Table;
use crate::settings::ranges::{
    Flag, Later, Name, OneOf, OneOfIfAny, Rows, TextIfAny, Words, YearIfAny, Zone,
};
use crate::settings::section::section;

/// More lines than this before a header are no preamble but a slip.
const MOST_SKIPPED: usize = 10_000;
/// More rows than this are no header.
const MOST_HEADER_ROWS: usize = 4;
/// Words for what to do with a local time that is double or missing.
const CLOCK_CHANGES: &[(&str, ClockChange)] = &[
    ("earlier", ClockChange::Earlier),
    ("later", ClockChange::Later),
    ("quarantine", ClockChange::Quarantine),
];
/// Words for the reach of an end-face name.
const SCOPES: &[(&str, NameScope)] = &[("fleet", NameScope::Fleet), ("site", NameScope::Site)];

section! {
    TypedSource:
    /// One exporter of records.
    Source {
        /// Unique name; part of every record's identity.
        name: String = String::new(), Name, required "a name for the source";
        /// Globs relative to the settings' folder, in the settings' order.
        files: Vec<String> = Vec::new(), Globs, required A_GLOB;
        /// The one site of its rows; left out: a record part maps the `site` column.
        site: Option<String> = None, TextIfAny("a site of the fleet");
        /// Zone of local times and of days; left out: the fleet's.
        timezone: Tz = Tz::UTC, Zone;
        /// What to do with a local time that a clock change made double or missing.
        clock_change: ClockChange = ClockChange::Quarantine, OneOf<ClockChange>(CLOCK_CHANGES);
        /// First of the hundred years that two digits mean; left out: no pattern has a year of two digits.
        two_digit_years_from: Option<i64> = None, YearIfAny(1900, 2000);
        /// Whether an end-face name is unique in the fleet or only in its site.
        scope ("end_face_names"): NameScope = NameScope::Site, OneOf<NameScope>(SCOPES),
            required "\"fleet\" or \"site\": where an end-face name is unique";
        /// Whether one name covers both sides of an adapter, so that the side joins the key.
        one_name_both_sides: bool = false, Flag;
        /// R8: what of the spelling of its end-face names is no difference; acts when the store is read.
        names: NameRules = NameRules::default(), Spelled;
        /// R5: what a failing look without a finding means here.
        finding_default: Option<String> = None, TextIfAny("a finding");
        /// R9: what becomes of a cell that cannot be read, of a column that may be empty: the cell is null and counted, or
        /// its row is quarantined.
        unreadable: Unreadable = Unreadable::Null, OneOf<Unreadable>(UNREADABLE);
        /// Export columns that hold people's names, besides those that the map reads as people, and what becomes of each.
        people: BTreeMap<String, People> = BTreeMap::new(), PeopleColumns;
        /// Days, both included, for which a table of this source is complete.
        covers: BTreeMap<Table, Cover> = BTreeMap::new(), Covers;
        /// The map: what each row becomes.
        records ("record"): Vec<RecordMap> = Vec::new(),
            Later<Vec<TypedRecord>, Vec<RecordMap>>("at least one [[source.record]]", PhantomData);
    } + {
        /// Line of the settings where it begins, for messages.
        line: usize = 0;
        /// How its text is cut into cells.
        dialect: Dialect = Dialect::left_out();
    }

    /// How the text of a source is cut into cells and read.
    #[derive(Eq)]
    Dialect {
        /// What stands between two cells.
        separator: Separator = Separator::Byte(b','), Between;
        /// Quote character, one byte; none: no cell stands in quotes.
        quote: Option<u8> = Some(b'"'), Mark(true);
        /// Makes the next character text; left out: a doubled quote stands for itself.
        escape: Option<u8> = None, Mark(false);
        /// What ends a row.
        line_end: LineEnd = LineEnd::Lf, OneOf<LineEnd>(LINE_ENDS);
        /// Mark between whole numbers and decimals; left out, a comma where dots separate thousands.
        decimal_mark: u8 = b'.', OneOf<u8>(DECIMAL_MARKS);
        /// What stands between groups of three digits; left out: nothing.
        thousands: Option<Thousands> = None, OneOfIfAny<Thousands>(THOUSANDS);
        /// How bytes become characters.
        encoding: Encoding = Encoding::UTF_8, Label;
        /// Lines before the header; rows, in a workbook.
        skip_lines: usize = 0, Rows(0, MOST_SKIPPED);
        /// Rows of the header; of several, the names of a column are joined by a blank. Without any, columns are named
        /// `column 1`, `column 2` and so on.
        header_rows: usize = 1, Rows(0, MOST_HEADER_ROWS);
        /// Whether the row behind the header holds units and is no data.
        units_row: bool = false, Flag;
        /// What becomes of a row with fewer cells than the header.
        short_rows: ShortRows = ShortRows::Quarantine, OneOf<ShortRows>(SHORT_ROWS);
        /// Sheet of a workbook; left out: the one whose content has the columns of the map.
        sheet: Option<String> = None, TextIfAny("the name of a sheet");
        /// Cell texts (trimmed) that mean "not given"; the empty cell always does.
        nulls: Vec<String> = Vec::new(), Words;
    }
}

impl Default for Dialect {
    /// Commas, double quotes, one header line, UTF-8.
    fn default() -> Self {
        Self::left_out()
    }
}

/// Reach of an end-face name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NameScope {
    /// In the whole fleet.
    Fleet,
    /// At its site.
    Site,
}
