//! Which file of an XLSX workbook holds which sheet.
//!
//! Source: ECMA-376 part 1, 18.2.19 (sheet), and part 2, 9.3 (relationships) [section numbers from
//! memory].

use std::io::{Read, Seek};

use quick_xml::events::Event;

use super::facts::MOST_SHEETS;
use super::xml::{Xml, attribute, damaged};
use crate::tabular::packed::zip_member::{Member, unpacked};
use crate::tabular::table_error::TableError;

/// Bytes of the files that list sheets and their places.
const LONGEST_LIST: u64 = 4 << 20;

/// A sheet and the file that holds its cells.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SheetPart {
    pub name: String,
    pub hidden: bool,
    /// Index among the members.
    pub member: usize,
}

/// The file that lists the sheets, and the sheets of cells, in the workbook's order; charts are none.
///
/// # Errors
/// When the file is no XLSX workbook or damaged.
pub fn sheet_parts(
    file: &mut (impl Read + Seek),
    members: &[Member],
) -> Result<(String, Vec<SheetPart>), TableError> {
    let package = links(file, members, "_rels/.rels", "")?;
    let book = package.iter().find(|link| link.kind.ends_with("/officeDocument"));
    let book = book.map_or("xl/workbook.xml", |link| link.target.as_str());
    if book.ends_with(".bin") {
        return Err(TableError::NoWorkbook);
    }
    let folder = book.rsplit_once('/').map_or("", |(folder, _)| folder);
    let list = book.rsplit('/').next().unwrap_or(book);
    let links = links(file, members, &joined(folder, &format!("_rels/{list}.rels")), folder)?;
    let mut parts: Vec<SheetPart> = Vec::new();
    for (name, id, hidden) in listed(file, members, book)? {
        let link = links.iter().find(|link| link.id == id);
        let link = link.filter(|link| link.kind.ends_with("/worksheet"));
        let member = link.and_then(|link| place(members, &link.target));
        if let Some(member) = member {
            if parts.len() == MOST_SHEETS || parts.iter().any(|part| part.member == member) {
                return Err(damaged("more sheets are listed than it has"));
            }
            parts.push(SheetPart { name, hidden, member });
        }
    }
    Ok((book.to_owned(), parts))
}

/// Where the file of that name is. Names differ in case between programs.
fn place(members: &[Member], path: &str) -> Option<usize> {
    let exact = members.iter().position(|member| member.name == path);
    exact.or_else(|| {
        let same = |member: &Member| member.name.replace('\\', "/").eq_ignore_ascii_case(path);
        members.iter().position(same)
    })
}

struct Link {
    id: String,
    kind: String,
    target: String,
}

/// The links of a list; none where there is no such list.
fn links(
    file: &mut (impl Read + Seek),
    members: &[Member],
    path: &str,
    folder: &str,
) -> Result<Vec<Link>, TableError> {
    let Some(place) = place(members, path) else { return Ok(Vec::new()) };
    let mut xml = Xml::of(unpacked(&members[place], file)?.take(LONGEST_LIST));
    let mut links = Vec::new();
    loop {
        match xml.next()? {
            Event::Start(e) if e.local_name().as_ref() == "Relationship" => links.push(Link {
                id: attribute(&e, "Id")?.unwrap_or_default(),
                kind: attribute(&e, "Type")?.unwrap_or_default(),
                target: joined(folder, &attribute(&e, "Target")?.unwrap_or_default()),
            }),
            Event::Eof => return Ok(links),
            _ => {}
        }
    }
}

/// Name, link and whether it is hidden, of each sheet that the workbook lists.
fn listed(
    file: &mut (impl Read + Seek),
    members: &[Member],
    path: &str,
) -> Result<Vec<(String, String, bool)>, TableError> {
    let place = place(members, path).ok_or(TableError::NoWorkbook)?;
    let mut xml = Xml::of(unpacked(&members[place], file)?.take(LONGEST_LIST));
    let mut sheets = Vec::new();
    loop {
        match xml.next()? {
            Event::Start(e) if e.local_name().as_ref() == "sheet" => {
                let name = attribute(&e, "name")?;
                let name = name.ok_or_else(|| damaged("a sheet has no name"))?;
                let state = attribute(&e, "state")?.unwrap_or_default();
                let hidden = matches!(state.as_str(), "hidden" | "veryHidden");
                sheets.push((name, attribute(&e, "id")?.unwrap_or_default(), hidden));
            }
            Event::Eof => return Ok(sheets),
            _ => {}
        }
    }
}

/// A path inside the zip file; only ever compared with names of members.
fn joined(folder: &str, target: &str) -> String {
    let whole = match target.strip_prefix('/') {
        Some(absolute) => absolute.to_owned(),
        None => format!("{folder}/{target}"),
    };
    let mut steps = Vec::new();
    for step in whole.split('/') {
        match step {
            "" | "." => {}
            ".." => {
                steps.pop();
            }
            step => steps.push(step),
        }
    }
    steps.join("/")
}
