//! Exports as text in, records and rejections out. Every case states its whole export; expected
//! values are worked out by hand unless a test names another source.

mod accounts;
mod batches;
mod calendar;
mod composed;
mod fixture;
mod identity;
mod numbers;
mod parts;
mod people;
mod ranges;
mod rejections;
mod shapes;
mod times;
mod unreadable;
