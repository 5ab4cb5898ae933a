//! The macros that declare: [`columns!`] a struct of columns, [`results!`] all that a question answers with.

/// A struct whose fields are columns. Each field has one sentence of doc, which the dictionary prints; a type, which
/// decides how files keep it and whether it may be empty (`Option`); and, where the type does not say it, a unit:
///
/// ```text
/// columns! {
///     /// What coverage adds to its estimates.
///     #[derive(Clone, Debug, PartialEq)]
///     pub struct Own {
///         /// What the share is taken of.
///         base: Option<Base>,
///         /// Design effect of site-weeks.
///         deff: Option<f64> [Ratio],
///     }
/// }
/// ```
///
/// The struct has `Default` where every column may be empty. Else it has `with(...)`, which takes the columns that may
/// not, in their order, so that no row can forget them: `Own { deff: Some(1.2), ..Own::with(base) }`.
macro_rules! columns {
    ($(#[$about:meta])* pub struct $name:ident { $($body:tt)+ }) => {
        $crate::measures::results::columns! { @next [$(#[$about])*] $name [] [] [] $($body)+ }
    };
    // A column that may be empty.
    (@next $about:tt $name:ident [$($always:tt)*] [$($maybe:tt)*] [$($all:tt)*]
        $(#[doc = $doc:literal])+ $column:ident : Option<$type:ty> $([$unit:ident])?, $($rest:tt)*) => {
        $crate::measures::results::columns! { @next $about $name
            [$($always)*]
            [$($maybe)* $column]
            [$($all)* ($column, Option<$type>, [$($doc),+], [$($unit)?])]
            $($rest)*
        }
    };
    // A column that every row fills.
    (@next $about:tt $name:ident [$($always:tt)*] [$($maybe:tt)*] [$($all:tt)*]
        $(#[doc = $doc:literal])+ $column:ident : $type:ty $([$unit:ident])?, $($rest:tt)*) => {
        $crate::measures::results::columns! { @next $about $name
            [$($always)* ($column, $type)]
            [$($maybe)*]
            [$($all)* ($column, $type, [$($doc),+], [$($unit)?])]
            $($rest)*
        }
    };
    (@next $about:tt $name:ident $always:tt $maybe:tt $all:tt) => {
        $crate::measures::results::columns! { @struct $about $name $all }
        $crate::measures::results::columns! { @empty $name $always $maybe }
    };
    (@struct [$($about:tt)*] $name:ident [$(($column:ident, $type:ty, [$($doc:literal),+], [$($unit:ident)?]))+]) => {
        $($about)*
        pub struct $name { $($(#[doc = $doc])+ pub $column: $type,)+ }

        impl $crate::measures::results::Columns for $name {
            const SPECS: &'static [$crate::measures::results::ColumnSpec] = &[
                $($crate::measures::results::column::<$type>(
                    stringify!($column),
                    concat!($($doc),+).trim_ascii(),
                    $crate::measures::results::columns!(@unit $($unit)?),
                )),+
            ];

            fn cells(rows: &[&Self]) -> Vec<$crate::measures::results::Cells> {
                vec![$($crate::measures::results::cells(rows.iter().map(|row| &row.$column))),+]
            }
        }
    };
    (@empty $name:ident [] [$($maybe:ident)+]) => {
        impl Default for $name {
            fn default() -> Self {
                $name { $($maybe: None),+ }
            }
        }
    };
    (@empty $name:ident [$(($always:ident, $type:ty))+] [$($maybe:ident)*]) => {
        impl $name {
            /// The columns that every row fills; the others are empty.
            pub fn with($($always: $type),+) -> Self {
                $name { $($always,)+ $($maybe: None),* }
            }
        }
    };
    (@unit) => { None };
    (@unit $unit:ident) => { Some($crate::measures::results::Unit::$unit) };
}

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

pub(crate) use {columns, results};
