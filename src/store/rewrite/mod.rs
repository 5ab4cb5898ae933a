//! Parts written anew after they were taken: a person cut out, records too old dropped.

pub mod expire;
pub mod forget;
pub mod parts;
