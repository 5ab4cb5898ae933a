//! Whether the number of a record tells records apart.

use super::asked::Asked;
use super::mapped::Mapped;
use super::page::Standing;
use crate::records::MEMBER_COLUMNS;

/// Different numbers a row from which they tell rows apart.
const UNIQUE: f64 = 0.99;

/// A number that repeats is one of several records of a row's work, or needs that work's number before it.
pub fn settle(mapped: &mut [Mapped], asked: &Asked) {
    let Some(at) = mapped.iter().position(|one| one.column.name == "record") else { return };
    let Standing::Open(_) = mapped[at].standing else { return };
    if !asked.rows.tell() || mapped[at].names.len() != 1 {
        return;
    }
    let number = mapped[at].names[0].clone();
    let order = mapped.iter().find(|one| one.column.name == "work_order");
    let order = order.and_then(|order| order.names.first()).cloned();
    // One look at several end faces or fibres has one number (R4).
    let members = mapped.iter().filter(|one| MEMBER_COLUMNS.contains(&one.column.name));
    let members: Vec<String> = members.flat_map(|one| one.names.clone()).collect();
    let is_unique = |columns: &[&str]| {
        let (rows, different) = asked.rows.distinct(columns);
        rows > 0 && different as f64 >= UNIQUE * rows as f64
    };
    let with_members: Vec<&str> =
        [number.as_str()].into_iter().chain(members.iter().map(String::as_str)).collect();
    let joined = order.filter(|order| *order != number && is_unique(&[order, &number]));
    if let Some(order) = joined {
        mapped[at].names = vec![order, number];
        mapped[at].standing = Standing::Sure;
    } else if is_unique(&with_members) {
        mapped[at].standing = Standing::Sure;
    }
}
