//! What trust answers with: its table, quantities, columns and words.

use crate::derive::counts::{How, Sign};
use crate::derive::{Basis, PricePart};
use crate::measures::results::{Money, results, words};
use crate::records;

results! {
    /// Whether these records can be trusted.
    table "trust";

    /// What trust is grouped by.
    pub enum By {
        Fleet = "fleet",
        File = "file",
        Table = "table",
        Site = "site",
        Source = "source",
        Column = "source+table+column",
        Criteria = "criteria",
        Grading = "grading",
        CriteriaGrading = "criteria+grading",
        Coverage = "coverage",
    }

    /// What trust tells.
    pub enum Quantity {
        /// Rows of a file; its columns say what became of them.
        Rows = "rows" [Count],
        /// Faults of the months looked back, by how they found their matings.
        FaultsAttached = "faults-attached" [Count],
        /// Share of the records of a table whose time is known to the day only.
        DayPrecision = "day-precision" [Share],
        /// Share of looks without a readable picture.
        Unreadable = "unreadable" [Share],
        /// Attributes in records that disagree with the register of end faces.
        Conflicts = "conflicts" [Count],
        /// First looks that failed, and the record does not say for what.
        FindingsMissing = "findings-missing" [Count],
        /// Months in which a site recorded no look though it cleaned or mated.
        SilentMonths = "silent-months" [Count],
        /// Months of those looked back in which the site has records, from its first record on; n are the months looked back.
        MonthsRecorded = "months-recorded" [Months],
        /// Of these, months in which the site's faults are known: what its money of a year is reckoned from.
        MonthsFollowed = "months-followed" [Months],
        /// Faults of a fault source that has none, which covers nothing therefore.
        EmptyFaultSource = "fault-source-without-faults" [Count],
        /// Share of the tickets of linked faults in the months looked back that state no price at all.
        Unpriced = "unpriced" [Share],
        /// Share of these tickets that state no cost and lack a part of one, though they state another.
        PartMissing = "price-part-missing" [Share],
        /// Tickets that lack a part of a price which no source states: it is outside every figure of money.
        PartOutside = "price-part-outside" [Count],
        /// Part of a figure of money that rests on means in the place of what tickets do not state: had they cost nothing it would be so much lower, had they cost twice as much so much higher.
        MoneyPutIn = "money-put-in" [Money],
        /// Share of the end faces named by the records of one source and table, at a site, that the other's name too.
        NamesMet = "names-met" [Share],
        /// End faces of both that would meet, and do not now, under a rule of names that the settings do not have; merged
        /// are names of one that it makes alike, which speaks against it.
        NamesRule = "names-rule" [Count],
        /// How alike two names are that do not meet: 1 for the same text.
        NamesAlike = "names-alike" [Ratio],
        /// Share of the matings looked back to whose names stand apart from those of looks: of unknown coverage.
        NamesApart = "names-apart" [Share],
        /// Rows of an alias table of names; its columns say what became of them.
        AliasRows = "alias-rows" [Count],
        /// Share of the tickets of a source that found a mating: too few, so that the source covers nothing.
        CoverWithdrawn = "cover-withdrawn" [Share],
        /// Tickets of the months looked back that were merged into an earlier one of the same mating; n are the tickets.
        MergedTickets = "merged-tickets" [Count],
        /// Tickets up to the period's end that name the record of several matings, whether or not their end face settled which.
        AmbiguousTickets = "ambiguous-tickets" [Count],
        /// Rows quarantined, or with a cell left out, for a word that the settings have no code for.
        UnmappedCodes = "unmapped-codes" [Count],
        /// Share of the end faces that looks, cleanings and matings name that are in the register; all records.
        Registered = "registered" [Share],
        /// End faces of the register that no look, cleaning or mating names.
        OnlyRegistered = "only-registered" [Count],
        /// Fleiss' kappa of two looks in a row at one end face, within 15 minutes, by different people or instruments, of the months looked back: agreement beyond chance; events are pairs that agree.
        Agreement = "agreement" [Ratio],
        /// Cohen's kappa of the same pairs, first against second looks.
        AgreementInTurn = "agreement-in-turn" [Ratio],
        /// Share of readable looks of the months looked back that failed.
        FailingLooks = "failing-looks" [Share],
        /// First linked faults within 30 days of a mating with both ends seen, per 1,000 matings of the months looked back.
        Escapes = "escapes" [PerThousandMatings],
        /// Chance that a site's looks pass and its matings with both ends seen fail as far above what the other sites let expect, were one of the two not so, after the number of sites; n are routine first looks, events those that passed.
        TooGood = "pass-share-too-good" [Probability],
        /// How long after a replacement a ticket of the source may be opened and still tell of what was replaced; n are its tickets, events those that show how late they came.
        TicketWindow = "ticket-window" [Hours],
        /// How late tickets of the source come after the repair: the delay that a share of those stays within that show it. n are these.
        TicketDelay = "ticket-delay" [Hours],
        /// Tickets of the source by what they show and how long after a replacement they were opened.
        TicketsLate = "tickets-late" [Count],
        /// Ends of matings replaced within days while tickets were written, by whether an earlier ticket explains it.
        Replacements = "replacements" [Count],
        /// The headline ratio, were the tickets of every source up to so many hours late.
        RatioByTicketWindow = "ratio-by-ticket-window" [Ratio],
        /// Exports that could not be read; the review was made without them.
        Unread = "unread" [Count],
        /// Share of first looks failing where all ends are looked at, less that where none is, over the months of a site, stage and family; well below 0, looks are made where dirt is suspected. n are first looks.
        LooksChosen = "looks-chosen" [Difference],
        /// Share of first looks failing at sites and stages where nearly all ends are looked at, less that of the same stage and family elsewhere; n are first looks.
        FailingWhereAllLooked = "failing-where-nearly-all-looked" [Difference],
        /// Share of first looks failing in a site's months in which every cleaning is followed by a recorded look, less that in months in which none is; well below 0, passing looks are left out of the records. n are first looks.
        PassingUnrecorded = "passing-unrecorded" [Difference],
        /// First looks for each end mated of a site in the period, over those of the quarters looked back before it; n are ends mated in the period, events first looks.
        LooksPerMating = "looks-per-mating" [Ratio],
        /// Share of the faults of a coverage that name the record of their mating.
        TicketsNamingMating = "tickets-naming-a-mating" [Share],
        /// The same of matings with both ends seen less that of skipped ones, inside site and level; far from 0, tickets can be lost by coverage.
        TicketsByCoverage = "tickets-by-coverage" [Difference],
        /// Rate of faults that dirt cannot produce after skipped matings over that after matings with both ends seen (the negative control of skipped cost); far from 1, tickets or looks are recorded differently. n are connection-months.
        ControlRatio = "control-ratio" [Ratio],
        /// What the headline's ratio would be if the records had the fault named, as strongly as stated; n are connection-months.
        RatioIf = "ratio-if" [Ratio],
        /// How strong the fault named would have to be for the headline's interval to reach 1; empty where no strength is enough.
        HeadlineVanishes = "headline-vanishes-at" [Number],
        /// Share of the rows of a table, a source or all of them that was refused.
        Refused = "refused" [Share],
        /// Share of the rows of a source in which a cell of one column could not be read and was left out.
        LostCells = "cells-left-out" [Share],
        /// Records that stand of a table, which are none or too few of what was read for a question to be answered.
        Unanswered = "unanswered" [Count],
    }

    /// What trust adds to its counts.
    pub struct Own {
        /// Name of the source, in rows of a file, of a source of tickets and of names.
        source: Option<String>,
        /// Path of the file, relative to the folder of the settings.
        file: Option<String>,
        /// BLAKE3 of the bytes of an alias table, hex.
        blake3: Option<String>,
        /// Data rows in the file.
        read: Option<u64> [Count],
        /// Rows with a record that stands.
        loaded: Option<u64> [Count],
        /// Rows whose records were replaced by later ones with other content, or withdrawn.
        superseded: Option<u64> [Count],
        /// Rows that say what another row says.
        duplicate: Option<u64> [Count],
        /// Rows that could not be read as the settings say.
        quarantined: Option<u64> [Count],
        /// Column of the export at fault.
        column: Option<String>,
        /// Which looks a share is of.
        looks: Option<LooksOf>,
        /// Criteria of the last looks at both ends; `mixed` where the two ends had different ones.
        criteria: Option<String>,
        /// Who judged the last looks at both ends: automatic, manual, mixed, unknown.
        grading: Option<String>,
        /// Share of routine first looks that passed.
        share: Option<f64> [Share],
        /// The same at the fleet's shares of the site's stages, families and sides.
        expected_share: Option<f64> [Share],
        /// First linked faults of matings with both ends seen.
        faults: Option<i64> [Count],
        /// The same at the fleet's rates of the site's stages, families and times since mating.
        expected_faults: Option<f64> [Count],
        /// Chance of so high a share among sites like the others.
        p_passing: Option<f64> [Probability],
        /// Chance of so many faults among sites like the others.
        p_faults: Option<f64> [Probability],
        /// Of a site that passes too much the larger of the two; of a check of recording the two-sided one of no difference.
        p: Option<f64> [Probability],
        /// Whether the site is named: at most one in twenty of those named would be by chance.
        named: Option<bool>,
        /// How faults found their matings.
        how: Option<Attached>,
        /// What a ticket shows of how late it came, or whether an earlier one explains a replacement.
        sign: Option<Sign>,
        /// What the window of tickets goes by.
        basis: Option<Basis>,
        /// Share of the late tickets that stay within a delay.
        within: Option<f64> [Share],
        /// Fewest hours from a replacement to a ticket.
        from_hours: Option<u32> [Hours],
        /// Hours from a replacement to a ticket that are not reached; the window of tickets in a row of the ratio.
        to_hours: Option<u32> [Hours],
        /// Table whose records the share is taken of.
        table: Option<records::Table>,
        /// Part of a price.
        part: Option<PricePart>,
        /// Figure of money that is spoken of.
        money: Option<MoneyOf>,
        /// Share of the figure that rests on means.
        share_put_in: Option<f64> [Share],
        /// Name of the source whose names it is compared with.
        other_source: Option<String>,
        /// Table that these names stand in.
        other_table: Option<records::Table>,
        /// A rule of names, as the settings would have it.
        rule: Option<String>,
        /// Names of the source that the rule would make the same as another of its names.
        merged: Option<u64> [Count],
        /// The same of the other source.
        other_merged: Option<u64> [Count],
        /// A name of the source.
        name: Option<String>,
        /// A name of the other source.
        other_name: Option<String>,
        /// What a check of recording looks for.
        recording: Option<Recording>,
        /// Whether the check speaks: the difference lies in the direction of the fault, and chance alone makes one as large in less than one of a hundred fleets.
        suspected: Option<bool>,
        /// How strong the fault is stated to be: a share left out, or the odds of being looked at with dirt over those without.
        stated: Option<f64> [Number],
        /// The headline's net saving under the same statement.
        net_saving: Option<Money>,
        /// Cleanings for each end mated in the period, over those before it.
        cleanings_ratio: Option<f64> [Ratio],
        /// Why they could not be read.
        why: Option<records::Misread>,
        /// Name of the table that would answer the question.
        measure: Option<String>,
    }
}

words! {
    /// Which looks a share is of.
    pub enum LooksOf {
        /// All readable looks.
        All = "all",
        /// The first of two in a row by different people or instruments.
        FirstOfPair = "first-of-pair",
        /// The second of them.
        SecondOfPair = "second-of-pair",
    }
}

words! {
    /// Faults of recording that follow what is recorded.
    pub enum Recording {
        /// End faces are looked at where dirt is suspected; stated as the odds of a look with dirt over those without.
        LooksChosen = "looks-chosen",
        /// Passing looks are not written down; stated as the share of them.
        PassingUnrecorded = "passing-unrecorded",
        /// Tickets of matings with both ends seen are not written down or not attached; stated as the share of them.
        TicketsLost = "tickets-lost",
    }
}

words! {
    /// How faults found their matings.
    pub enum Attached {
        /// By the record of the mating, which the ticket names.
        ByRecord = "record",
        /// By the end face, which the ticket names, and the time.
        ByEndFace = "end-face",
        /// The ticket was stamped after the repair: the fault belongs to the mating replaced shortly before.
        Lagged = "lagged",
        /// Not at all: more than one mating fits.
        Ambiguous = "ambiguous",
        /// Not at all: no mating fits.
        Unattached = "unattached",
        /// Attached to a mating that was not in force then; counted by how it was attached as well.
        Outside = "outside",
    }
}

words! {
    /// Figures of money that rest on what faults cost.
    pub enum MoneyOf {
        /// The cost of the linked faults of the period.
        FaultCost = "fault-cost",
        /// The cost of the linked faults of matings made with an end unseen.
        SkippedCost = "skipped-fault-cost",
        /// The part of that cost that is associated with the skipping: so much of it stands in the net saving and, a year, in purchases.
        Associated = "associated-cost",
    }
}

impl From<How> for Attached {
    fn from(how: How) -> Self {
        match how {
            How::ByRecord => Attached::ByRecord,
            How::ByEndFace => Attached::ByEndFace,
            How::Lagged => Attached::Lagged,
            How::Ambiguous => Attached::Ambiguous,
            How::Unattached => Attached::Unattached,
        }
    }
}

impl Attached {
    /// Whether such faults found their mating; none where they are counted under another word already.
    pub fn found(self) -> Option<bool> {
        match self {
            Attached::ByRecord | Attached::ByEndFace | Attached::Lagged => Some(true),
            Attached::Ambiguous | Attached::Unattached => Some(false),
            Attached::Outside => None,
        }
    }
}
