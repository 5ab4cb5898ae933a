//! Drafts of maps for new exports. Exports and names are invented; which words the trade uses for
//! what is common practice. The demo's own settings say what its exports mean.

mod answers;
mod assigning;
mod certain;
mod demo;
mod doubts;
mod durations;
mod fixture;
mod fleet;
mod gathered;
mod guessed;
mod headers;
mod hostile;
mod languages;
mod misleading;
mod numbers;
mod parts;
mod people;
mod second_fleet;
mod traps;
mod words;
