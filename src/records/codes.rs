//! Codes whose meaning the program relies on. Lists that only the settings know (families,
//! methods, causes, ...) are not here.

/// What stands in a group column where nothing is known. Shown, never dropped.
pub const UNKNOWN: &str = "unknown";

/// A closed code list: an enum with the words it is written with.
macro_rules! code_list {
    ($(#[$doc:meta])* $name:ident { $($(#[doc = $variant_doc:literal])* $variant:ident = $word:literal,)+ }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        #[repr(u8)]
        pub enum $name {
            $($(#[doc = $variant_doc])* #[doc = concat!("Written `", $word, "`.")] $variant,)+
        }

        impl $name {
            /// Every code, in the order of the design.
            pub const ALL: &[$name] = &[$($name::$variant),+];
            /// The words, in the same order.
            pub const WORDS: &[&str] = &[$($word),+];

            /// What each means, in the same order; empty where the word says it.
            pub const DOCS: &[&str] = &[$(concat!($($variant_doc),*).trim_ascii()),+];

            /// The word it is written with.
            pub const fn word(self) -> &'static str {
                Self::WORDS[self as usize]
            }

            /// The code written so, exactly.
            pub fn of(word: &str) -> Option<Self> {
                Self::WORDS.iter().position(|known| *known == word).map(|i| Self::ALL[i])
            }
        }
    };
}

pub(crate) use code_list;

code_list! {
    /// Which of the two ends of a mating an end face is.
    Side {
        /// The connector on a cord, in the hand.
        Plug = "plug",
        /// The one behind an adapter, seen through it.
        Bulkhead = "bulkhead",
    }
}

code_list! {
    /// What is behind the opening.
    Optic {
        /// A ferrule with a fibre.
        Fibre = "fibre",
        /// A fibre stub in a transceiver, inspected and cleaned like a fibre.
        Stub = "stub",
        /// A lens behind a stop that no tool reaches: cannot be cleaned, touches nothing.
        RecessedLens = "recessed-lens",
        /// A window in front of the optic: only its outer surface can be cleaned.
        Window = "window",
    }
}

code_list! {
    /// What a look said.
    Outcome {
        Pass = "pass",
        Fail = "fail",
        /// No readable picture: no event, counted only.
        Unreadable = "unreadable",
    }
}

code_list! {
    /// Why a cell could not be read as its column asks.
    Misread {
        /// None of the words that the column may hold.
        NotListed = "not-listed",
        /// No number, or one beyond all bounds.
        NoNumber = "no-number",
        /// No length of time as the map says that they are written.
        NoDuration = "no-duration",
        /// No time as the map says that they are written.
        NoTime = "no-time",
        /// Written as a time, but there is no such day or hour.
        NoSuchTime = "no-such-time",
        /// A local time that a clock change left out or made double.
        ClockChange = "clock-change",
    }
}

code_list! {
    /// What failed a look. The order is the rank within one multi-fibre look (R4): the last wins.
    #[derive(serde::Serialize, serde::Deserialize)]
    Finding {
        Unknown = "unknown",
        /// Can come off.
        Contamination = "contamination",
        /// Scratch, pit, chip: cannot.
        Defect = "defect",
    }
}

code_list! {
    /// Where on the end face, innermost first (IEC 61300-3-35 names the zones A to D).
    Zone {
        Core = "A",
        Cladding = "B",
        Adhesive = "C",
        Contact = "D",
    }
}

code_list! {
    /// What was decided about the end face after a look.
    Disposition {
        InService = "in-service",
        Reject = "reject",
        Repolish = "repolish",
        Replace = "replace",
    }
}

impl Disposition {
    /// Whether it takes the end face out of use (V5).
    pub fn is_reject(self) -> bool {
        self != Disposition::InService
    }
}

code_list! {
    /// Who judged a look.
    Grading {
        Automatic = "automatic",
        Manual = "manual",
    }
}

code_list! {
    /// How exactly a time is known.
    Precision {
        Instant = "instant",
        /// Only the day: the time is the start of that day in the map's zone.
        Day = "day",
    }
}

/// The closed list of a canonical column, none where the settings own it or it is free.
pub fn fixed_codes(column: &str) -> Option<&'static [&'static str]> {
    match column {
        "side" | "side_a" | "side_b" => Some(Side::WORDS),
        "optic" => Some(Optic::WORDS),
        "outcome" => Some(Outcome::WORDS),
        "finding" => Some(Finding::WORDS),
        "zone" => Some(Zone::WORDS),
        "disposition" => Some(Disposition::WORDS),
        "grading" => Some(Grading::WORDS),
        "capped" => Some(&["yes", "no"]),
        _ => None,
    }
}
