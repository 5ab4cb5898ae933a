//! The life of one connection from the works to its last day in service.

use super::draw::Draw;
use super::link::{add_link, join, make, receive};
use super::plant::*;
use super::service::serve;
use super::visit::Reason;
use super::world::World;

/// Lives one connection of a site from its beginning to the end of the window.
pub fn live(world: &mut World, draw: &mut Draw, home: usize, number: usize) {
    let mut link = add_link(world, draw, home, number);
    let (open, close) = world.window.lived;
    let installed = if draw.chance(NEW_SHARE) {
        let begin = draw.between(open - 90 * DAY, close);
        let local = world.place_named(home);
        let made = if local { begin } else { make(world, draw, &mut link, begin) };
        receive(world, draw, &mut link, made)
    } else {
        draw.between(open - 300 * DAY, open)
    };
    let at = world.work_time(installed, draw);
    if at >= close {
        return;
    }
    let order = world.new_order();
    for face in link.ends() {
        world.faces[face].service.0 = Some(at);
    }
    let stage = world.life.installed;
    let joined = join(world, draw, &mut link, (stage, at, order), Reason::Routine);
    serve(world, draw, link, joined);
}
