//! How late tickets come (5.10): what they show of it, and the replacements that they may tell of.

use super::codes::*;
use super::declare::{declare_counts, declare_part};
use super::table::CountTable;
use crate::derive::mating::late::Signs;

declare_counts! {
    /// Tickets by what they show of how late they came after the repair (5.10).
    late_tickets: LateTickets by { source: FaultSource, sign: Sign, delay: DelayHours } counting {
        /// Tickets.
        tickets: Count,
    }

    /// Sources of tickets (5.10).
    ticket_sources: TicketSources by { source: FaultSource } counting {
        /// Tickets.
        tickets: Count,
    }

    /// Ends of matings that were replaced within days while tickets were written (5.10).
    replacements: Replacements by { site: Site } counting {
        /// Ends.
        replaced: Count,
        /// Ends of matings that a ticket opened shortly before was about.
        explained: Count,
    }
}

declare_part! {
    /// What the lateness of tickets is measured from.
    LateCounts {
        tickets: CountTable<LateTickets>,
        sources: CountTable<TicketSources>,
        replacements: CountTable<Replacements>,
    }
}

/// Counts what the tickets show.
pub fn tally_signs(signs: &Signs, counts: &mut LateCounts) {
    for ((source, sign, hours), tickets) in &signs.tickets {
        let (source, delay) = (FaultSource(*source), DelayHours(*hours));
        let cell = late_tickets::Key { source, sign: *sign, delay };
        counts.tickets.add(Some(cell), late_tickets::Row { tickets: *tickets });
    }
    for (source, tickets) in &signs.sources {
        let cell = ticket_sources::Key { source: FaultSource(*source) };
        counts.sources.add(Some(cell), ticket_sources::Row { tickets: *tickets });
    }
    for (site, [replaced, explained]) in &signs.replaced {
        let cell = replacements::Key { site: Site(*site) };
        let row = replacements::Row { replaced: *replaced, explained: *explained };
        counts.replacements.add(Some(cell), row);
    }
}
