//! Opens a workbook: counts what it holds, chooses a sheet, gives out its rows.

use std::collections::VecDeque;
use std::io::{self, BufReader, Read, Seek, SeekFrom};

use calamine::{Reader, Xlsx};
use memchr::memmem;

use super::choose::{choose, most_found};
use super::facts::{SheetFact, WorkbookFacts};
use super::ods_rows::OdsRows;
use super::ods_survey;
use super::xlsx_parts::sheet_parts;
use super::xlsx_rows::{XlsxRows, of_library};
use super::xlsx_survey::{self, OddErrors};
use super::xlsx_weight::check_held;
use super::xml::damaged;
use crate::tabular::first_bytes::{FIRST_BYTES, is_flat_ods};
use crate::tabular::format::is_old_workbook;
use crate::tabular::guarded::guarded;
use crate::tabular::other_kind::check_known;
use crate::tabular::packed::zip_member::{Member, MemberBytes, members, unpacked};
use crate::tabular::room::Room;
use crate::tabular::row::{Row, TableRows};
use crate::tabular::table_error::TableError;

/// Bytes of an ODS file's list of contents.
const LONGEST_LIST: u64 = 1 << 20;

/// An open workbook.
pub struct Workbook<R: Read + Seek> {
    book: Book<R>,
    facts: WorkbookFacts,
}

enum Book<R: Read + Seek> {
    /// With the odd error values of each sheet.
    Xlsx {
        book: Box<Xlsx<BufReader<R>>>,
        odd: Vec<OddErrors>,
    },
    Ods {
        file: BufReader<R>,
        content: Member,
    },
    /// One file of XML, not packed.
    Flat {
        file: BufReader<R>,
    },
}

impl<R: Read + Seek> Workbook<R> {
    /// Opens an XLSX, ODS or FODS file and chooses a sheet: the one named, else the one with most of the
    /// column names `wanted` in one row, else the largest. `room`: what may be held of it.
    ///
    /// # Errors
    /// When it is no such file, damaged, locked or beyond bounds, or there is no such sheet.
    pub fn open(
        file: R,
        sheet: Option<&str>,
        wanted: &[String],
        room: Room,
    ) -> Result<Self, TableError> {
        let mut file = BufReader::new(file);
        let mut start = Vec::new();
        file.by_ref().take(FIRST_BYTES as u64).read_to_end(&mut start)?;
        if is_old_workbook(&start) {
            return Err(TableError::OldWorkbook);
        }
        file.seek(SeekFrom::Start(0))?;
        if is_flat_ods(&start) {
            let sheets = ods_survey::survey(&mut file, room)?;
            return Self::chosen(
                Self { book: Book::Flat { file }, facts: of_sheets(sheets, false) },
                sheet,
                wanted,
            );
        }
        check_known(&start)?;
        let members = members(&mut file)?;
        let named = |name: &str| members.iter().find(|member| member.name == name);
        // Some writers leave out the file that names the kind, and none puts its like into the other.
        let book = match named("content.xml") {
            Some(content) => {
                let content = content.clone();
                let list = named("META-INF/manifest.xml");
                Self::of_ods(file, content, list, room)?
            }
            None => Self::of_xlsx(file, &members, room)?,
        };
        Self::chosen(book, sheet, wanted)
    }

    fn chosen(mut book: Self, sheet: Option<&str>, wanted: &[String]) -> Result<Self, TableError> {
        let sheets = book.facts.sheets.clone();
        let choice = choose(&sheets, sheet, wanted, &mut |index, wanted| {
            Ok(most_found(&mut book.sheet_rows(index)?, wanted)?)
        })?;
        book.facts.chosen = choice.sheet;
        book.facts.also_fit = choice.also_fit;
        Ok(book)
    }

    fn of_ods(
        mut file: BufReader<R>,
        content: Member,
        list: Option<&Member>,
        room: Room,
    ) -> Result<Self, TableError> {
        if let Some(list) = list {
            let mut text = Vec::new();
            unpacked(list, &mut file)?.take(LONGEST_LIST).read_to_end(&mut text)?;
            if memmem::find(&text, b"encryption-data").is_some() {
                return Err(TableError::Encrypted);
            }
        }
        let sheets = ods_survey::survey(unpacked(&content, &mut file)?, room)?;
        Ok(Self { book: Book::Ods { file, content }, facts: of_sheets(sheets, false) })
    }

    fn of_xlsx(mut file: BufReader<R>, members: &[Member], room: Room) -> Result<Self, TableError> {
        let (list, parts) = sheet_parts(&mut file, members)?;
        check_held(&mut file, members, &parts, &list, room)?;
        let (mut sheets, mut odd): (Vec<SheetFact>, Vec<OddErrors>) = (Vec::new(), Vec::new());
        for part in &parts {
            let bytes = unpacked(&members[part.member], &mut file)?;
            let before = odd.iter().map(VecDeque::len).sum();
            let (fact, errors) = xlsx_survey::survey(&part.name, part.hidden, bytes, before)?;
            sheets.push(fact);
            odd.push(errors);
        }
        let book = guarded(|| Xlsx::new(file)).map_err(|cause| damaged(&cause))?;
        let book = book.map_err(|error| of_library(&error))?;
        let facts = of_sheets(sheets, book.has_1904_epoch());
        Ok(Self { book: Book::Xlsx { book: Box::new(book), odd }, facts })
    }

    /// What it holds and which sheet is chosen.
    pub fn facts(&self) -> &WorkbookFacts {
        &self.facts
    }

    /// The rows of the chosen sheet, from its first; all of them padded to its last column with a
    /// value, except that a row without any has one empty cell.
    ///
    /// # Errors
    /// When the sheet cannot be read.
    pub fn rows(&mut self) -> Result<WorkbookRows<'_, R>, TableError> {
        self.sheet_rows(self.facts.chosen)
    }

    /// The rows of the sheet with that index.
    ///
    /// # Errors
    /// Like [`Self::rows`]; also when there is no such sheet.
    pub fn sheet_rows(&mut self, index: usize) -> Result<WorkbookRows<'_, R>, TableError> {
        let fact = self.facts.sheets.get(index).ok_or(TableError::NoWorkbook)?;
        Ok(WorkbookRows(match &mut self.book {
            Book::Ods { file, content } => {
                Rows::Ods(Box::new(OdsRows::of(unpacked(content, file)?, index, fact)?))
            }
            Book::Flat { file } => {
                file.seek(SeekFrom::Start(0))?;
                Rows::Flat(Box::new(OdsRows::of(file, index, fact)?))
            }
            Book::Xlsx { book, odd } => {
                let odd = odd.get(index).cloned().unwrap_or_default();
                let cells = guarded(|| book.worksheet_cells_reader(&fact.name));
                let cells = cells.map_err(|cause| damaged(&cause))?;
                let cells = cells.map_err(|error| of_library(&error))?;
                Rows::Xlsx(Box::new(XlsxRows::of(cells, fact, odd, self.facts.dates_from_1904)?))
            }
        }))
    }
}

fn of_sheets(sheets: Vec<SheetFact>, dates_from_1904: bool) -> WorkbookFacts {
    WorkbookFacts { sheets, chosen: 0, also_fit: Vec::new(), dates_from_1904 }
}

enum Rows<'a, R: Read + Seek> {
    Xlsx(Box<XlsxRows<'a, BufReader<R>>>),
    Ods(Box<OdsRows<MemberBytes<&'a mut BufReader<R>>>>),
    Flat(Box<OdsRows<&'a mut BufReader<R>>>),
}

/// The rows of a sheet.
pub struct WorkbookRows<'a, R: Read + Seek>(Rows<'a, R>);

impl<R: Read + Seek> TableRows for WorkbookRows<'_, R> {
    fn next_row(&mut self) -> io::Result<Option<Row<'_>>> {
        match &mut self.0 {
            Rows::Xlsx(rows) => rows.next_row(),
            Rows::Ods(rows) => rows.next_row(),
            Rows::Flat(rows) => rows.next_row(),
        }
    }

    fn line(&self) -> u64 {
        match &self.0 {
            Rows::Xlsx(rows) => rows.line(),
            Rows::Ods(rows) => rows.line(),
            Rows::Flat(rows) => rows.line(),
        }
    }
}
