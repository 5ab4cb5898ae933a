//! The macro that declares all that a question answers with.

/// The results of one question: its table, its groupings, its quantities, its own columns. See the module's doc.
macro_rules! results {
    (
        $(#[doc = $about:literal])+
        table $table:literal;

        $(#[doc = $about_by:literal])+
        pub enum By { $($by:ident = $by_word:literal,)+ }

        $(#[doc = $about_quantity:literal])+
        pub enum Quantity {
            $($(#[doc = $doc:literal])+ $quantity:ident = $word:literal [$unit:ident],)+
        }

        $(#[doc = $about_own:literal])+
        pub struct Own { $($own:tt)+ }
    ) => {
        /// The name of the table: of its files, of its section on the page.
        pub const NAME: &str = $table;

        /// Ties the table's rows to their words and columns.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub struct Results;

        $(#[doc = $about])+
        pub type Table = $crate::measures::results::Table<Results>;
        /// A row of this table.
        pub type Row = $crate::measures::results::Row<Results>;

        $(#[doc = $about_by])+
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum By { $(#[doc = concat!("`", $by_word, "`")] $by,)+ }

        impl $crate::measures::results::Grouping for By {
            const LIST: &'static [&'static str] = &[$($by_word),+];

            fn place(self) -> usize {
                self as usize
            }
        }

        impl By {
            /// The word in the column `by`.
            pub fn word(self) -> &'static str {
                <By as $crate::measures::results::Grouping>::LIST[self as usize]
            }
        }

        $(#[doc = $about_quantity])+
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Quantity { $($(#[doc = $doc])+ $quantity,)+ }

        impl $crate::measures::results::Estimated for Quantity {
            const LIST: &'static [$crate::measures::results::QuantitySpec] = &[
                $($crate::measures::results::QuantitySpec {
                    word: $word,
                    doc: concat!($($doc),+).trim_ascii(),
                    unit: $crate::measures::results::Unit::$unit,
                }),+
            ];

            fn place(self) -> usize {
                self as usize
            }
        }

        impl Quantity {
            /// All of them, in the order of the declaration.
            pub const ALL: &'static [Quantity] = &[$(Quantity::$quantity),+];

            /// The word in the column `quantity`.
            pub fn word(self) -> &'static str {
                <Quantity as $crate::measures::results::Estimated>::LIST[self as usize].word
            }
        }

        $crate::measures::results::columns! {
            $(#[doc = $about_own])+
            #[derive(Clone, Debug, PartialEq)]
            pub struct Own { $($own)+ }
        }

        impl $crate::measures::results::Measure for Results {
            const NAME: &'static str = $table;
            const DOC: &'static str = concat!($($about),+).trim_ascii();
            type By = By;
            type Quantity = Quantity;
            type Own = Own;
        }
    };
}

pub(crate) use results;
