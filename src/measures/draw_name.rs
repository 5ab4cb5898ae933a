//! What stands for a name in a draw: a number that follows from its letters alone, so that the order in
//! which things are listed decides nothing.

/// FNV-1a over the bytes: the same on every machine.
///
/// Source: Fowler, Noll & Vo, draft-eastlake-fnv [constants from memory].
pub fn draw_name(text: &str) -> u64 {
    text.bytes().fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    })
}

/// A week of a site, as resampling takes it: by the site's name and the week's place in the calendar.
pub fn site_week(site: &str, week: u32) -> u64 {
    draw_name(site).wrapping_add(week.into())
}
