//! What an export column can hold, for each kind of row.

use super::event::{Cleaning, Look, Mating, Minute, Spelled, Ticket};
use super::face::Face;
use super::lifecycle::Lifecycle;
use super::pen::Pen;
use super::place::{Place, person};
use super::plant::{FAMILIES, MPO, OPTICS, SUPPLIERS};
use super::shape::sheet_plan::Field;

/// What rows refer to.
#[derive(Clone, Copy)]
pub struct Register<'a> {
    pub places: &'a [Place],
    pub life: &'a Lifecycle,
    pub faces: &'a [Face],
    pub matings: &'a [Mating],
}

/// A row of any kind.
#[derive(Clone, Copy)]
pub enum Row<'a> {
    Look(&'a Look),
    Cleaning(&'a Cleaning),
    Mating(&'a Mating),
    Ticket(&'a Ticket),
    Asset(&'a Face),
}

impl Row<'_> {
    /// The time by which rows are ordered and cut into files.
    pub fn at(&self) -> Minute {
        match self {
            Row::Look(look) => look.at,
            Row::Cleaning(cleaning) => cleaning.at,
            Row::Mating(mating) => mating.at,
            Row::Ticket(ticket) => ticket.opened,
            Row::Asset(face) => face.service.0.unwrap_or(0),
        }
    }

    /// Index of the site.
    pub fn site(&self) -> usize {
        match self {
            Row::Look(look) => look.site,
            Row::Cleaning(cleaning) => cleaning.site,
            Row::Mating(mating) => mating.site,
            Row::Ticket(ticket) => ticket.site,
            Row::Asset(face) => face.home,
        }
    }

    /// Writes one cell; nothing where the row has no such thing.
    pub fn write(&self, field: Field, register: &Register, pen: &mut Pen) {
        match (self, field) {
            (_, Field::Site) => pen.code(&register.places[self.site()].name),
            (Row::Asset(_), Field::At(_)) if self.at() == 0 => {}
            (Row::Ticket(ticket), Field::At(_)) if ticket.unread.opened => {
                pen.text("before the weekend");
            }
            (_, Field::At(pattern)) => pen.clock(self.at(), pattern),
            (Row::Look(look), _) => write_look(look, field, register, pen),
            (Row::Cleaning(cleaning), _) => write_cleaning(cleaning, field, register, pen),
            (Row::Mating(mating), _) => write_mating(mating, field, register, pen),
            (Row::Ticket(ticket), _) => write_ticket(ticket, field, register, pen),
            (Row::Asset(face), Field::Until(pattern)) => {
                if let Some(end) = face.service.1 {
                    pen.clock(end, pattern);
                }
            }
            (Row::Asset(face), _) => write_face(face, field, pen),
        }
    }
}

fn record(place: &Place, letter: char, number: u32, pen: &mut Pen) {
    pen.text(&format!("{}-{letter}{number:06}", place.code));
}

fn order(place: &Place, number: u32, pen: &mut Pen) {
    pen.text(&format!("{}-A{number:07}", place.code));
}

fn write_face(face: &Face, field: Field, pen: &mut Pen) {
    let lens = face.optic >= 2;
    match field {
        Field::Face => pen.text(&face.label()),
        Field::Side => pen.code(face.side.word()),
        Field::Family => pen.code(FAMILIES[face.family]),
        Field::Optic => pen.code(OPTICS[face.optic]),
        Field::Polish if !lens => pen.code(if face.supplier == 1 { "APC" } else { "UPC" }),
        Field::Mode => pen.code(if face.family == MPO { "multimode" } else { "single-mode" }),
        Field::Supplier => pen.text(SUPPLIERS[face.supplier]),
        _ => {}
    }
}

fn write_look(look: &Look, field: Field, register: &Register, pen: &mut Pen) {
    let place = &register.places[look.site];
    match field {
        Field::Action => pen.code("look"),
        Field::Record => record(place, 'L', look.number, pen),
        Field::Fibre if look.fibre > 0 => pen.number(look.fibre.into()),
        Field::Stage => pen.code(register.life.word(look.stage)),
        Field::Outcome => pen.code(look.outcome),
        Field::Finding if !look.finding.is_empty() => pen.code(look.finding),
        Field::Zone if !look.zone.is_empty() => pen.code(look.zone),
        Field::Capped => pen.code(if look.capped { "yes" } else { "no" }),
        Field::Criteria => {
            pen.code(if register.faces[look.face].family == MPO { "KV-M1" } else { "KV-2" });
        }
        Field::Grading => {
            pen.code(if look.person.is_multiple_of(2) { "automatic" } else { "manual" })
        }
        Field::Person => pen.text(person(look.site, look.person)),
        Field::Instrument => pen.text(&format!("{}-V{}", place.code, look.person / 2 + 1)),
        Field::Order => order(place, look.order, pen),
        Field::Disposition if !look.disposition.is_empty() => pen.code(look.disposition),
        Field::CleanedFirst => {
            if let Some(applied) = look.cleaned {
                pen.code(applied.method.word());
            }
        }
        Field::CleanedTool => {
            if let Some(applied) = look.cleaned {
                tool(place, applied.method.word(), applied.tool, pen);
            }
        }
        Field::Loss => pen.hundredths(12 + look.at.rem_euclid(23)),
        _ => write_face(&register.faces[look.face], field, pen),
    }
}

fn tool(place: &Place, method: &str, number: u8, pen: &mut Pen) {
    pen.text(&format!("{}-{}-{number}", place.code, method.to_uppercase()));
}

fn write_cleaning(cleaning: &Cleaning, field: Field, register: &Register, pen: &mut Pen) {
    let place = &register.places[cleaning.site];
    match field {
        Field::Action => pen.code("clean"),
        Field::Record => record(place, 'C', cleaning.number, pen),
        Field::Stage => pen.code(register.life.word(cleaning.stage)),
        Field::Method => pen.code(cleaning.applied.method.word()),
        Field::Tool => tool(place, cleaning.applied.method.word(), cleaning.applied.tool, pen),
        Field::Person => pen.text(person(cleaning.site, cleaning.person)),
        Field::Order => order(place, cleaning.order, pen),
        Field::Face | Field::Side => write_face(&register.faces[cleaning.face], field, pen),
        _ => {}
    }
}

/// The name of an end face as a mating spells it.
fn spell(face: &Face, spelled: Spelled, pen: &mut Pen) {
    let small = || face.label().to_lowercase();
    match spelled {
        Spelled::AsSeen => pen.text(&face.label()),
        Spelled::Small => pen.text(&small()),
        Spelled::Otherwise => pen.text(&small().replace(['-', '_', '/', '.', ':'], " ")),
    }
}

fn write_mating(mating: &Mating, field: Field, register: &Register, pen: &mut Pen) {
    let place = &register.places[mating.site];
    match field {
        Field::Action => pen.code("mate"),
        Field::Record => record(place, 'M', mating.number, pen),
        Field::Stage => pen.code(register.life.word(mating.stage)),
        Field::Face => spell(&register.faces[mating.plug], mating.spelled, pen),
        Field::Partner if mating.port_named => {
            spell(&register.faces[mating.port], mating.spelled, pen);
        }
        Field::PartnerSide if mating.port_named => {
            write_face(&register.faces[mating.port], Field::Side, pen);
        }
        Field::Until(pattern) => {
            if let Some(demated) = mating.demated {
                pen.clock(demated, pattern);
            }
        }
        Field::Person => pen.text(person(mating.site, mating.person)),
        Field::Order => order(place, mating.order, pen),
        Field::Service => pen.text(&format!("{}-LINE-{:03}", place.code, mating.port % 180)),
        Field::Side => write_face(&register.faces[mating.plug], field, pen),
        _ => {}
    }
}

fn write_ticket(ticket: &Ticket, field: Field, register: &Register, pen: &mut Pen) {
    let place = &register.places[ticket.site];
    match field {
        Field::Record => record(place, 'F', ticket.number, pen),
        Field::Until(pattern) => {
            if let Some(cleared) = ticket.cleared {
                pen.clock(cleared, pattern);
            }
        }
        Field::Mating => {
            if let Some(mating) = ticket.mating {
                record(place, 'M', register.matings[mating].number, pen);
            }
        }
        Field::Cause if ticket.unread.cause => pen.text("X77 see notes"),
        Field::Cause if !ticket.cause.is_empty() => pen.code(ticket.cause),
        Field::Remedy => pen.code(ticket.remedy),
        Field::Stage => pen.code(register.life.word(ticket.stage)),
        Field::Order => order(place, ticket.order, pen),
        Field::Downtime if ticket.unread.downtime => {
            if let Some(minutes) = ticket.downtime {
                pen.text(&format!("{}:{:02}", minutes / 60, minutes % 60));
            }
        }
        Field::Downtime => ticket.downtime.into_iter().for_each(|minutes| pen.number(minutes)),
        Field::Labour => ticket.labour.into_iter().for_each(|minutes| pen.number(minutes)),
        Field::Visits => ticket.visits.into_iter().for_each(|trips| pen.number(trips)),
        Field::Cost => {
            if let Some(cost) = ticket.cost {
                pen.hundredths(cost);
            }
        }
        Field::Services => pen.number(ticket.services),
        Field::Face | Field::Side => {
            if let Some(face) = ticket.face {
                write_face(&register.faces[face], field, pen);
            }
        }
        _ => {}
    }
}
