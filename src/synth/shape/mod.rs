//! The shapes of the invented exports: columns, separators, clocks and code words, as tables.

mod assets;
mod desk;
mod large;
mod local;
mod log;
mod sheet;
pub mod sheet_plan;
mod south;
mod west;
mod works;

use super::place::Kind;

use sheet_plan::Shape;

/// Tickets of every site that has no fault log of its own.
pub const DESK: &Shape = &desk::SHAPE;
/// The list of end faces of every site with fleet-wide names.
pub const ASSETS: &Shape = &assets::SHAPE;

/// The shape of a site's exports.
pub fn shape(kind: Kind) -> &'static Shape {
    match kind {
        Kind::Works => &works::SHAPE,
        Kind::South => &south::SHAPE,
        Kind::West => &west::SHAPE,
        Kind::Log => &log::SHAPE,
        Kind::Sheet => &sheet::SHAPE,
        Kind::Local => &local::SHAPE,
        Kind::Plain => &large::SHAPE,
    }
}
