//! Writes the journal of a batch of sites as export files.

use std::fs::{File, create_dir_all};
use std::io::{BufWriter, Write};
use std::path::Path;

use chrono::Datelike;
use flate2::Compression;
use flate2::write::GzEncoder;

use super::book::book;
use super::dirt::Dirt;
use super::error::{SynthError, at};
use super::event::Minute;
use super::field::{Register, Row};
use super::pen::{Pen, local};
use super::place::Kind;
use super::shape::sheet_plan::Field;
use super::shape::sheet_plan::{Every, Holds, Shape, Sheet};
use super::shape::{ASSETS, DESK, shape};
use super::world::World;

/// Ending of an export that is a workbook.
const WORKBOOK: &str = "xlsx";

/// Sites that write into one folder in one shape.
pub struct Group {
    pub kind: Kind,
    pub folder: String,
    pub sites: Vec<usize>,
}

/// The groups of a batch of sites, in the order of the sites.
pub fn groups(world: &World, sites: &[usize]) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    for &site in sites {
        let place = &world.places[site];
        let folder = shape(place.kind).folder.replace("{code}", &place.code.to_lowercase());
        match groups.iter_mut().find(|group| group.folder == folder) {
            Some(group) => group.sites.push(site),
            None => groups.push(Group { kind: place.kind, folder, sites: vec![site] }),
        }
    }
    groups
}

/// Writes every export of a batch of sites below `folder`; in the demo also the tickets of the desk
/// and the list of end faces.
pub fn write_batch(
    world: &mut World,
    sites: &[usize],
    demo: bool,
    folder: &Path,
    dirt: &mut Dirt,
) -> Result<(), SynthError> {
    number(world);
    let mut groups: Vec<(&Shape, Group)> =
        groups(world, sites).into_iter().map(|group| (shape(group.kind), group)).collect();
    if demo {
        let desk = sites.iter().filter(|&&site| world.places[site].kind != Kind::Local);
        let desk: Vec<usize> = desk.copied().collect();
        for shape in [DESK, ASSETS] {
            let folder = shape.folder.to_string();
            groups.push((shape, Group { kind: Kind::Plain, folder, sites: desk.clone() }));
        }
    }
    let register = Register {
        places: world.places,
        life: world.life,
        faces: &world.faces,
        matings: &world.matings,
    };
    for (shape, group) in &groups {
        for sheet in shape.sheets {
            let rows = rows(world, sheet.holds, &group.sites);
            let code = world.places[group.sites[0]].code.to_lowercase();
            let place = folder.join(&group.folder);
            create_dir_all(&place).map_err(at(&place))?;
            let file = Files { shape, sheet, register, folder: &place, code: &code };
            file.write(&rows, dirt)?;
        }
    }
    Ok(())
}

/// Gives every record its number: by time within its site.
fn number(world: &mut World) {
    fn give<T>(
        items: &mut [T],
        sites: usize,
        key: impl Fn(&T) -> (Minute, usize, usize),
        set: impl Fn(&mut T, u32),
    ) {
        let mut order: Vec<usize> = (0..items.len()).collect();
        order.sort_by_key(|&index| key(&items[index]));
        let mut next = vec![0u32; sites];
        let mut before = None;
        for index in order {
            let this = key(&items[index]);
            next[this.1] += u32::from(before != Some(this));
            before = Some(this);
            set(&mut items[index], next[this.1]);
        }
    }
    let sites = world.places.len();
    give(&mut world.looks, sites, |l| (l.at, l.site, l.face), |l, n| l.number = n);
    give(&mut world.cleanings, sites, |c| (c.at, c.site, c.face), |c, n| c.number = n);
    give(&mut world.matings, sites, |m| (m.at, m.site, m.plug), |m, n| m.number = n);
    give(&mut world.tickets, sites, |t| (t.opened, t.site, t.order as usize), |t, n| t.number = n);
}

/// Rows of some sites for one kind of file, by time.
fn rows<'a>(world: &'a World, holds: Holds, sites: &[usize]) -> Vec<Row<'a>> {
    let mut rows: Vec<Row> = Vec::new();
    let all = holds == Holds::Actions;
    if all || holds == Holds::Looks {
        rows.extend(world.looks.iter().map(Row::Look));
    }
    if all || holds == Holds::Cleanings {
        rows.extend(world.cleanings.iter().map(Row::Cleaning));
    }
    if all || holds == Holds::Matings {
        rows.extend(world.matings.iter().map(Row::Mating));
    }
    match holds {
        Holds::Tickets => rows.extend(world.tickets.iter().map(Row::Ticket)),
        Holds::Assets => rows.extend(world.faces.iter().map(Row::Asset)),
        _ => {}
    }
    let kept = |row: &Row| holds == Holds::Assets || world.window.is_kept(row.at());
    rows.retain(|row| sites.contains(&row.site()) && kept(row));
    if holds != Holds::Assets {
        rows.sort_by_key(|row| (row.at(), row.site()));
    }
    rows
}

/// The files of one sheet.
struct Files<'a> {
    shape: &'a Shape,
    sheet: &'a Sheet,
    register: Register<'a>,
    folder: &'a Path,
    code: &'a str,
}

impl Files<'_> {
    /// Cuts the rows into files and writes them.
    fn write(&self, rows: &[Row], dirt: &mut Dirt) -> Result<(), SynthError> {
        let mut begin = 0;
        let mut number = 0;
        while begin < rows.len() {
            let key = self.period(rows[begin].at());
            let length = rows[begin..].partition_point(|row| self.period(row.at()) == key);
            let end = begin + length;
            let overlap = dirt.overlap(self.shape, self.sheet, number).min(begin);
            let told_again = dirt.overlap(self.shape, self.sheet, number + 1);
            let corrected_from = end.saturating_sub(if end < rows.len() { told_again } else { 0 });
            dirt.overlap_rows += overlap as u64;
            self.write_file(
                &key,
                &rows[begin - overlap..end],
                corrected_from - (begin - overlap),
                dirt,
            )?;
            begin = end;
            number += 1;
        }
        Ok(())
    }

    /// The part of the file name that tells the period.
    fn period(&self, at: Minute) -> String {
        if self.sheet.every == Every::Once {
            return String::new();
        }
        let Some(day) = local(at, self.shape.zone) else {
            return String::new();
        };
        let (year, month) = (day.year(), day.month());
        match self.sheet.every {
            Every::Month => format!("-{year}-{month:02}"),
            Every::Quarter => format!("-{year}-q{}", (month - 1) / 3 + 1),
            _ => format!("-{year}-h{}", (month - 1) / 6 + 1),
        }
    }

    /// Writes one file; rows from `corrected_from` on are told again by the next file.
    fn write_file(
        &self,
        key: &str,
        rows: &[Row],
        corrected_from: usize,
        dirt: &mut Dirt,
    ) -> Result<(), SynthError> {
        let stem = self.sheet.name.replace("{code}", self.code);
        let path = self.folder.join(format!("{stem}{key}.{}", self.shape.ending));
        let failed = at(&path);
        if self.shape.ending == WORKBOOK {
            let mut lines = Vec::new();
            self.lines(&mut lines, rows, corrected_from, dirt).map_err(&failed)?;
            let lines = String::from_utf8_lossy(&lines);
            let bytes = book(self.shape, self.sheet, &lines)
                .map_err(|error| failed(std::io::Error::other(error)))?;
            return std::fs::write(&path, bytes).map_err(&failed);
        }
        let file = BufWriter::with_capacity(1 << 17, File::create(&path).map_err(&failed)?);
        if self.shape.ending.ends_with(".gz") {
            let mut packed = GzEncoder::new(file, Compression::new(7));
            self.lines(&mut packed, rows, corrected_from, dirt).map_err(&failed)?;
            packed.finish().and_then(|mut file| file.flush()).map_err(&failed)
        } else {
            let mut file = file;
            self.lines(&mut file, rows, corrected_from, dirt).map_err(&failed)?;
            file.flush().map_err(&failed)
        }
    }

    fn lines(
        &self,
        out: &mut impl Write,
        rows: &[Row],
        corrected_from: usize,
        dirt: &mut Dirt,
    ) -> std::io::Result<()> {
        let line_end: &[u8] = if self.shape.carriage_return { b"\r\n" } else { b"\n" };
        let mut pen = Pen::new(self.shape);
        out.write_all(self.shape.preface.as_bytes())?;
        for (heading, _) in self.sheet.columns {
            pen.next_cell();
            pen.text(heading);
        }
        out.write_all(pen.row())?;
        out.write_all(line_end)?;
        for (index, row) in rows.iter().enumerate() {
            pen.clear();
            for &(_, field) in self.sheet.columns {
                pen.next_cell();
                self.cell(row, field, &mut pen);
            }
            if index >= corrected_from {
                dirt.write_wrongly(self.shape, self.sheet, &mut pen);
            }
            for _ in 0..dirt.soil(self.sheet, self.shape.ending == WORKBOOK, &mut pen) {
                out.write_all(pen.row())?;
                out.write_all(line_end)?;
            }
        }
        Ok(())
    }

    fn cell(&self, row: &Row, field: Field, pen: &mut Pen) {
        row.write(field, &self.register, pen);
    }
}
