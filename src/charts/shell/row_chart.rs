//! The course of every chart that has a row a thing: open, headings, grid, rows, numbers of the axis, what is left out,
//! close. A kind says what its rows show and what lies before, under and over them.

use super::canvas::Canvas;
use super::frame::{Frame, Sheet};
use super::mark::Look;
use super::ruler::{grid_below, numbers_below};
use super::scale::Scale;
use super::table::Table;

/// A chart of rows in the making.
#[derive(Debug)]
pub struct RowChart {
    /// The picture so far.
    pub sheet: Sheet,
    table: Table,
    /// Rows drawn so far.
    drawn: usize,
}

impl RowChart {
    /// Opens a chart of `rows`, each a label and one text a column, of all panels in the order in which they are drawn.
    /// `None` without rows: there is nothing to lay out.
    pub fn open<'a>(
        frame: &Frame,
        headings: &[String],
        rows: impl Iterator<Item = (&'a String, &'a Vec<String>)>,
    ) -> Option<Self> {
        let (labels, texts): (Vec<&str>, Vec<&[String]>) =
            rows.map(|(label, texts)| (label.as_str(), texts.as_slice())).unzip();
        if labels.is_empty() {
            return None;
        }
        let table = Table::new(&labels, headings, &texts);
        Some(Self { sheet: Sheet::open(frame), table, drawn: 0 })
    }

    /// Left and right end of the plot, px.
    pub fn plot(&self) -> (f64, f64) {
        self.table.plot
    }

    /// The headings of the columns, in at least `least` px, over the first row of all; over the first row of a later
    /// panel `between` px.
    pub fn headings(&mut self, least: f64, between: f64) {
        if self.drawn > 0 {
            self.sheet.y += between;
            return;
        }
        self.sheet.y += self.table.heading_height().max(least);
        self.table.headings(&mut self.sheet.canvas, self.sheet.y);
    }

    /// The grid under the next `number` rows; returns their top and their bottom, px.
    pub fn grid(&mut self, number: usize, scale: &Scale, ticks: &[(f64, String)]) -> (f64, f64) {
        let high: f64 = (self.drawn..self.drawn + number).map(|row| self.table.height(row)).sum();
        let span = (self.sheet.y, self.sheet.y + high);
        grid_below(&mut self.sheet.canvas, ticks, scale, span);
        span
    }

    /// The next rows: labels and texts here, the rest by `draw`, which gets the middle of the row, px.
    pub fn rows<R>(
        &mut self,
        rows: impl IntoIterator<Item = R>,
        mut draw: impl FnMut(&mut Canvas, R, f64),
    ) {
        for row in rows {
            let half = self.table.height(self.drawn) / 2.0;
            let middle = self.sheet.y + half;
            self.table.row(&mut self.sheet.canvas, self.drawn, middle);
            draw(&mut self.sheet.canvas, row, middle);
            self.sheet.y += 2.0 * half;
            self.drawn += 1;
        }
    }

    /// The numbers of the axis, and its label if it is to be written here.
    pub fn numbers(&mut self, scale: &Scale, ticks: &[(f64, String)], label: Option<&str>) {
        self.sheet.y += numbers_below(&mut self.sheet.canvas, ticks, scale, self.sheet.y, label);
    }

    /// Caption, key and the finished SVG.
    pub fn close(self, frame: &Frame, looks: impl Iterator<Item = Look>) -> String {
        self.sheet.close(frame, looks)
    }
}
