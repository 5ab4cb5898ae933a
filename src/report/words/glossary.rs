//! The words of the report, a sentence each. One word for one thing: what is explained here is called so on every page.

/// Words in the order in which a reader meets them.
pub(in crate::report) const GLOSSARY: &[(&str, &str)] = &[
    (
        "end face",
        "The polished end of the glass in a connector, or, of a connector of several fibres, of all of them: what is looked at, cleaned and mated.",
    ),
    (
        "look",
        "One inspection of an end face through a microscope, with its result: pass, fail, or unreadable. A shorter word for inspection (IEC 61300-3-35), as a recorded event.",
    ),
    (
        "first look",
        "The look that begins a visit, before anything is cleaned: it tells how the end face arrived.",
    ),
    (
        "visit",
        "All that is done at one end face in one go: looks and cleanings up to the next mating or a long pause. A trip of people to a site is called a trip.",
    ),
    ("first pass", "The share of visits whose first look passes, of those that begin with a look."),
    ("cycle", "A cleaning and the look after it."),
    ("mating", "The joining of two end faces, until they are parted again."),
    (
        "connection",
        "Two end faces that are mated and in force; its exposure is counted in connection-months.",
    ),
    (
        "skipped",
        "A mating made with one or both ends unseen: no passing look within the window before it, though looks were recorded there.",
    ),
    (
        "both ends seen",
        "A mating before which both ends were looked at and passed, within the window of the settings.",
    ),
    (
        "linked fault",
        "A fault whose cause says contamination, or of unknown cause that cleaning restored (confirmed, probable).",
    ),
    (
        "net saving",
        "The cost of faults that is associated with skipped looks, less what those looks would have cost. The same number is the net cost of skipping.",
    ),
    (
        "stage",
        "A step in the life of a connector, from the works to upkeep, in the words of the settings.",
    ),
    ("family", "A kind of connector by its interface, such as LC or MPO (IEC 61754 series)."),
    (
        "interval",
        "The range that would hold the true value in as many of a hundred reviews as its level says, were the records complete and the model right.",
    ),
    (
        "associated with",
        "Seen together more often than chance lets expect. It is no claim of a cause.",
    ),
    ("surely", "With the whole interval on one side."),
    (
        "rejected",
        "A row of an export that could not be read as the settings say. It is kept aside with its reason, and counted; tables and settings say quarantined.",
    ),
    ("superseded", "A row that a later export of the same source replaces."),
    ("duplicate", "A row that says what another row says."),
    (
        "record standing",
        "A record that is neither superseded nor a duplicate nor rejected: what every number here is counted from.",
    ),
    (
        "carrier",
        "A plug or tool that touched many end faces, and after whose touch more were dirty than let expect.",
    ),
    (
        "q",
        "Of the changes or sites listed down to this one, the share that chance alone is expected to have listed.",
    ),
    (
        "E-value",
        "How strongly something left out would have to go with both skipping and faults to explain the ratio away.",
    ),
];
