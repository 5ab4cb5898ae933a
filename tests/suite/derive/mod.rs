//! The derivations of section 4 from outside: rows in, visits, matings and counts out.

mod attributes;
mod calendar;
mod clusters;
mod cover;
mod coverage;
mod days;
mod endings;
mod exposures;
mod fibres;
mod fleet;
mod follow_up;
mod laws;
mod merging;
mod minutes;
mod order;
mod period;
mod prompted;
mod random;
mod rates;
mod reseats;
mod seen;
mod slow;
mod tallies;
mod tickets;
mod visits;
