//! The macro that declares a struct of columns.

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

pub(crate) use columns;
