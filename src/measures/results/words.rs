//! Closed word lists whose sentences are part of the program: what a table can say, and what it means by it.

use crate::derive::counts::Sign;
use crate::derive::{Basis, PricePart};
use crate::records::{Misread, Table};

/// A word, and the sentence of the dictionary that explains it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Described {
    /// As it stands in tables.
    pub word: &'static str,
    /// One sentence.
    pub doc: &'static str,
}

/// A closed list of words. Made by [`words!`].
pub trait Word: Copy + PartialEq + Send + Sync + 'static {
    /// Every word with its sentence, in the order of the declaration.
    const LIST: &'static [Described];

    /// Its place in the list.
    fn place(self) -> usize;
}

impl Word for Table {
    const LIST: &'static [Described] = &[
        Described { word: Table::EndFaces.name(), doc: "The register of end faces." },
        Described { word: Table::Inspections.name(), doc: "Looks at end faces." },
        Described { word: Table::Cleanings.name(), doc: "Cleanings of end faces." },
        Described { word: Table::Matings.name(), doc: "Matings of two end faces." },
        Described { word: Table::Faults.name(), doc: "Tickets of faults." },
    ];

    fn place(self) -> usize {
        self as usize
    }
}

/// The words of a code list of another part, with the sentences that stand there.
const fn described<const N: usize>(
    words: &[&'static str],
    docs: &[&'static str],
) -> [Described; N] {
    let mut list = [Described { word: "", doc: "" }; N];
    let mut place = 0;
    while place < N {
        list[place] = Described { word: words[place], doc: docs[place] };
        place += 1;
    }
    list
}

/// Code lists that tables hold as they are, so that no word of theirs is listed a second time.
macro_rules! codes_as_words {
    ($($name:ident),+) => {
        $(impl Word for $name {
            const LIST: &'static [Described] =
                &described::<{ $name::WORDS.len() }>($name::WORDS, $name::DOCS);

            fn place(self) -> usize {
                self as usize
            }
        })+
    };
}

codes_as_words!(Misread, Sign, Basis, PricePart);

/// A closed list of words, each with one sentence of doc:
///
/// ```text
/// words! {
///     /// What a share is taken of.
///     pub enum Base {
///         /// All matings.
///         All = "all",
///     }
/// }
/// ```
///
/// The doc comments are what the dictionary prints.
macro_rules! words {
    ($(#[doc = $about:literal])+ pub enum $name:ident {
        $($(#[doc = $doc:literal])+ $variant:ident = $word:literal,)+
    }) => {
        $(#[doc = $about])+
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $($(#[doc = $doc])+ $variant,)+ }

        // A list that no other part can see need not use all of these.
        #[allow(dead_code)]
        impl $name {
            /// All of them, in the order of the declaration.
            pub const ALL: &'static [$name] = &[$($name::$variant),+];

            /// The word in tables.
            pub fn word(self) -> &'static str {
                <Self as $crate::measures::results::Word>::LIST[self as usize].word
            }

            /// The one written so, exactly.
            pub fn of(word: &str) -> Option<Self> {
                Self::ALL.iter().copied().find(|known| known.word() == word)
            }

            /// What it means, one sentence.
            pub fn doc(self) -> &'static str {
                <Self as $crate::measures::results::Word>::LIST[self as usize].doc
            }
        }

        impl $crate::measures::results::Word for $name {
            const LIST: &'static [$crate::measures::results::Described] = &[
                $($crate::measures::results::Described {
                    word: $word,
                    doc: concat!($($doc),+).trim_ascii(),
                }),+
            ];

            fn place(self) -> usize {
                self as usize
            }
        }
    };
}

pub(crate) use words;
