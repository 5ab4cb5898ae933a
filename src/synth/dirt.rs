//! The ordinary dirt of real exports: unreadable dates, unknown codes, short rows, repeated rows,
//! and rows that a later export tells again, some of them corrected.

use super::draw::Draw;
use super::pen::Pen;
use super::shape::sheet_plan::Field;
use super::shape::sheet_plan::{Holds, Shape, Sheet};

/// Shares of rows with an unreadable date, an unknown code, too few cells, and written twice.
const SHARES: [f64; 4] = [0.0015, 0.0015, 0.0008, 0.002];
/// Rows told again, of which this share was wrong at first.
const CORRECTED: f64 = 0.1;

/// Draws the dirt and counts it.
#[derive(Clone, Debug)]
pub struct Dirt {
    draw: Draw,
    /// Whether any is drawn.
    real: bool,
    /// Rows whose time is no date.
    pub bad_dates: u64,
    /// Rows with a word that no map knows.
    pub unknown_codes: u64,
    /// Rows cut off in the middle.
    pub short_rows: u64,
    /// Rows written twice in a row.
    pub repeated_rows: u64,
    /// Rows that a later export of the same source tells again.
    pub overlap_rows: u64,
    /// Of those, rows with another content the first time.
    pub corrected_rows: u64,
}

impl Dirt {
    /// Dirt of a seed; none where `real` is false.
    pub fn new(seed: u64, real: bool) -> Self {
        Self {
            draw: Draw::stream(seed, u64::MAX),
            real,
            bad_dates: 0,
            unknown_codes: 0,
            short_rows: 0,
            repeated_rows: 0,
            overlap_rows: 0,
            corrected_rows: 0,
        }
    }

    /// How many rows of the file before the file with this number tells again.
    pub fn overlap(&self, shape: &Shape, sheet: &Sheet, number: usize) -> usize {
        match (shape.folder, sheet.holds, number) {
            _ if !self.real => 0,
            ("west", Holds::Looks, 3) => 150,
            ("desk", Holds::Tickets, 2) => 25,
            _ => 0,
        }
    }

    /// Writes some rows wrongly that the next export will correct.
    pub fn write_wrongly(&mut self, shape: &Shape, sheet: &Sheet, pen: &mut Pen) {
        if !self.draw.chance(CORRECTED) {
            return;
        }
        let word = |code: &str| {
            let known = shape.words.iter().find(|(known, _)| *known == code);
            known.map_or(code.to_string(), |(_, word)| (*word).to_string())
        };
        let Some(cell) = coded(sheet) else { return };
        let wrong = match sheet.holds {
            Holds::Tickets => word("unknown"),
            _ if pen.cell(cell) == word("pass").as_bytes() => word("unreadable"),
            _ => word("pass"),
        };
        if pen.cell(cell) != wrong.as_bytes() {
            pen.replace(cell, &wrong);
            self.corrected_rows += 1;
        }
    }

    /// Soils a finished row now and then; returns how often to write it. A row of a workbook is as wide
    /// as its sheet: nothing cuts it short.
    pub fn soil(&mut self, sheet: &Sheet, in_workbook: bool, pen: &mut Pen) -> usize {
        if !self.real {
            return 1;
        }
        let clean = 1.0 - SHARES.iter().sum::<f64>();
        let [date, code, short, twice] = SHARES;
        match self.draw.weighted(&[date, code, short, twice, clean]) {
            0 => self.spoil_date(sheet, pen),
            1 => self.spoil_code(sheet, pen),
            2 if !in_workbook => {
                pen.cut(sheet.columns.len() * 2 / 3);
                self.short_rows += 1;
            }
            3 => {
                self.repeated_rows += 1;
                return 2;
            }
            _ => {}
        }
        1
    }

    fn spoil_date(&mut self, sheet: &Sheet, pen: &mut Pen) {
        let dated = sheet.columns.iter().position(|(_, field)| matches!(field, Field::At(_)));
        // The register's dates are optional: an end face without one stays without.
        if let Some(cell) = dated.filter(|&cell| !pen.cell(cell).is_empty()) {
            pen.replace(cell, ["??", "32.13.2025", "yesterday"][self.draw.index(3)]);
            self.bad_dates += 1;
        }
    }

    fn spoil_code(&mut self, sheet: &Sheet, pen: &mut Pen) {
        if let Some(cell) = coded(sheet).filter(|&cell| !pen.cell(cell).is_empty()) {
            pen.replace(cell, ["tbc", "xx", "see note"][self.draw.index(3)]);
            self.unknown_codes += 1;
        }
    }
}

/// The column whose word matters most.
fn coded(sheet: &Sheet) -> Option<usize> {
    let wanted = match sheet.holds {
        Holds::Looks => Field::Outcome,
        Holds::Cleanings => Field::Method,
        Holds::Tickets => Field::Cause,
        Holds::Assets => Field::Optic,
        Holds::Matings | Holds::Actions => Field::Stage,
    };
    sheet.columns.iter().position(|&(_, field)| field == wanted)
}
