//! How a count table is declared: once, with everything that follows from it.

/// Declares a count table: its name, what it is grouped by (a type a column), what is counted (a unit and
/// a line a figure). From it follow the type of the table, and in a module of its name the type `Key` of
/// its cells and `Row` of its counts, the schema of its export and its lines in the dictionary.
///
/// ```text
/// declare_counts! {
///     /// Matings by what was known of their ends (5.3).
///     matings: Matings by { quarter: QuarterNo, site: Site, coverage: Coverage } counting {
///         /// Matings made.
///         matings: Count,
///     }
/// }
/// ```
///
/// A table may count what another counts (`counting as visits`), and may be another's twin, with the
/// same cells and counts (`like work_orders: WorkOrders`). How cells are kept is decided here and in
/// [`CountTable`](super::table::CountTable), by nobody who counts.
macro_rules! declare_counts {
    () => {};
    (
        $(#[doc = $doc:literal])+
        $table:ident: $name:ident by { $($column:ident: $code:ident),+ $(,)? } counting {
            $($(#[doc = $said:literal])+ $figure:ident: $unit:ident,)+
        }
        $($rest:tt)*
    ) => {
        $(#[doc = $doc])+
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum $name {}

        #[doc = concat!("Cells and counts of [`", stringify!($name), "`].")]
        pub mod $table {
            use super::*;

            $crate::derive::counts::declare::declare_key! { $table: $name by { $($column: $code),+ } }

            /// What is counted.
            #[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
            pub struct Row {
                $(
                    $(#[doc = $said])+
                    #[doc = concat!("Unit: ", stringify!($unit), ".")]
                    pub $figure: i64,
                )+
            }

            impl $crate::derive::counts::table::Row for Row {
                type Values = [i64; [$(stringify!($figure)),+].len()];

                fn values(&self) -> Self::Values {
                    [$(self.$figure),+]
                }

                fn of(values: Self::Values) -> Self {
                    let [$($figure),+] = values;
                    Row { $($figure),+ }
                }

                fn add(&mut self, more: &Self) {
                    $(self.$figure = self.$figure.saturating_add(more.$figure);)+
                }
            }

            pub(in $crate::derive::counts) const FIGURES: &[$crate::derive::counts::table::FigureAbout] = &[$(
                $crate::derive::counts::table::FigureAbout {
                    name: stringify!($figure),
                    unit: $crate::derive::counts::table::Unit::$unit,
                    doc: concat!($($said),+).trim_ascii(),
                }
            ),+];
        }

        $crate::derive::counts::declare::declare_table! {
            $(#[doc = $doc])+ $table: $name by $table counting $table
        }
        $crate::derive::counts::declare::declare_counts! { $($rest)* }
    };
    (
        $(#[doc = $doc:literal])+
        $table:ident: $name:ident by { $($column:ident: $code:ident),+ $(,)? } counting as $other:ident;
        $($rest:tt)*
    ) => {
        $(#[doc = $doc])+
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum $name {}

        #[doc = concat!("Cells of [`", stringify!($name), "`], which counts what another table counts.")]
        pub mod $table {
            use super::*;

            pub use super::$other::Row;

            $crate::derive::counts::declare::declare_key! { $table: $name by { $($column: $code),+ } }
        }

        $crate::derive::counts::declare::declare_table! {
            $(#[doc = $doc])+ $table: $name by $table counting $other
        }
        $crate::derive::counts::declare::declare_counts! { $($rest)* }
    };
    (
        $(#[doc = $doc:literal])+
        $table:ident: $name:ident like $other:ident: $twin:ident;
        $($rest:tt)*
    ) => {
        $(#[doc = $doc])+
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum $name {}

        impl<C: $crate::derive::counts::codes::Column> $crate::derive::counts::table::Has<C> for $name
        where
            $twin: $crate::derive::counts::table::Has<C>,
        {
            const AT: usize = <$twin as $crate::derive::counts::table::Has<C>>::AT;
        }

        $crate::derive::counts::declare::declare_table! {
            $(#[doc = $doc])+ $table: $name by $other counting $other
        }
        $crate::derive::counts::declare::declare_counts! { $($rest)* }
    };
}

/// The type of a table's cells.
macro_rules! declare_key {
    ($table:ident: $name:ident by { $($column:ident: $code:ident),+ }) => {
        /// A cell.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct Key {
            $(
                #[doc = concat!("Of type [`", stringify!($code), "`], whose documentation says what it is.")]
                pub $column: $code,
            )+
        }

        impl $crate::derive::counts::table::Key for Key {
            type Codes = [u32; [$(stringify!($column)),+].len()];

            fn codes(self) -> Self::Codes {
                [$($crate::derive::counts::codes::Column::code(self.$column)),+]
            }

            fn of(codes: Self::Codes) -> Option<Self> {
                let [$($column),+] = codes;
                Some(Key { $($column: $crate::derive::counts::codes::Column::of($column)?),+ })
            }
        }

        pub(in $crate::derive::counts) const COLUMNS: &[$crate::derive::counts::table::ColumnAbout] = &[$(
            $crate::derive::counts::table::ColumnAbout {
                name: stringify!($column),
                dimension: <$code as $crate::derive::counts::codes::Column>::DIMENSION,
                doc: <$code as $crate::derive::counts::codes::Column>::DOC,
            }
        ),+];

        /// Places of the columns.
        #[allow(non_camel_case_types)]
        enum At { $($column),+ }

        $(
            impl $crate::derive::counts::table::Has<$code> for $name {
                const AT: usize = At::$column as usize;
            }
        )+
    };
}

/// The type of a table, from the modules in which its cells and counts are declared.
macro_rules! declare_table {
    ($(#[doc = $doc:literal])+ $table:ident: $name:ident by $cells:ident counting $counts:ident) => {
        impl $crate::derive::counts::table::Counted for $name {
            const ABOUT: $crate::derive::counts::table::TableAbout =
                $crate::derive::counts::table::TableAbout {
                    name: stringify!($table),
                    doc: concat!($($doc),+).trim_ascii(),
                    columns: $cells::COLUMNS,
                    figures: $counts::FIGURES,
                };
            type Key = $cells::Key;
            type Row = $counts::Row;
        }
    };
}

/// Declares which count tables make a part of the counts. Each is listed here and nowhere else: how the
/// part is made empty, merged, checked and listed follows.
macro_rules! declare_part {
    ($(#[$doc:meta])* $name:ident { $($(#[$said:meta])* $field:ident: $type:ty,)+ }) => {
        $(#[$doc])*
        #[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
        pub struct $name {
            $($(#[$said])* #[doc = concat!("A `", stringify!($type), "`.")] pub $field: $type,)+
        }

        impl $name {
            /// Without counts; `listed` is how many candidates a cell of the worklist keeps.
            pub fn empty(listed: usize) -> Self {
                $crate::derive::counts::table::Part::empty(listed)
            }

            /// Adds the counts of another share of the rows.
            pub fn merge(self, other: Self) -> Self {
                $crate::derive::counts::table::Part::merge(self, other)
            }

            /// Packs what its tables hold open: a share of the rows is counted.
            pub fn close(&mut self) {
                $crate::derive::counts::table::Part::close(self);
            }

            /// Puts its tables in order: all rows are counted.
            pub fn settle(&mut self) {
                $crate::derive::counts::table::Part::settle(self);
            }

            /// Checks that cells plus off-table are the total, in every table.
            ///
            /// # Errors
            /// Names the first table that does not add up.
            pub fn check(&self) -> Result<(), $crate::derive::DeriveError> {
                $crate::derive::counts::table::Part::check(self)
            }
        }

        impl $crate::derive::counts::table::Part for $name {
            fn empty(listed: usize) -> Self {
                $name { $($field: $crate::derive::counts::table::Part::empty(listed)),+ }
            }

            fn merge(self, other: Self) -> Self {
                $name {
                    $($field: $crate::derive::counts::table::Part::merge(self.$field, other.$field)),+
                }
            }

            fn close(&mut self) {
                $($crate::derive::counts::table::Part::close(&mut self.$field);)+
            }

            fn settle(&mut self) {
                $($crate::derive::counts::table::Part::settle(&mut self.$field);)+
            }

            fn check(&self) -> Result<(), $crate::derive::DeriveError> {
                $($crate::derive::counts::table::Part::check(&self.$field)?;)+
                Ok(())
            }

            fn list<'a>(&'a self, tables: &mut Vec<&'a dyn $crate::derive::counts::table::AnyTable>) {
                $($crate::derive::counts::table::Part::list(&self.$field, tables);)+
            }

            fn about(tables: &mut Vec<&'static $crate::derive::counts::table::TableAbout>) {
                $(<$type as $crate::derive::counts::table::Part>::about(tables);)+
            }
        }
    };
}

pub(crate) use {declare_counts, declare_key, declare_part, declare_table};
