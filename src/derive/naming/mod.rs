//! Whether sources name end faces alike (R8): what names each source, table and site has, how many of them meet, and
//! what rules that are not in the settings would bring to meet.

pub mod heard;
pub mod listen;
mod looser;
pub mod meeting;
