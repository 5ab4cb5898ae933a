//! A column of whole numbers in as few bytes as the largest of them needs. Most counts are of one cluster and most
//! codes are places in short lists, so that a byte does where the number as such has eight.

/// The numbers of a column, row by row.
#[derive(Clone, Debug)]
pub enum Narrow {
    /// All from 0 to 255.
    Bytes(Vec<u8>),
    /// All from 0 to 65,535.
    Halves(Vec<u16>),
    /// All from 0 to 2^32 - 1.
    Words(Vec<u32>),
    /// Any.
    Longs(Vec<i64>),
}

/// Runs the same on the column as whichever type it has.
macro_rules! whichever {
    ($narrow:expr, $column:ident => $run:expr) => {
        match $narrow {
            Narrow::Bytes($column) => $run,
            Narrow::Halves($column) => $run,
            Narrow::Words($column) => $run,
            Narrow::Longs($column) => $run,
        }
    };
}

impl Narrow {
    /// An empty column with room for so many rows.
    pub fn with_room(rows: usize) -> Narrow {
        Narrow::Bytes(Vec::with_capacity(rows))
    }

    /// Adds a row.
    #[inline]
    pub fn push(&mut self, number: i64) {
        let is_pushed = match self {
            Narrow::Bytes(column) => u8::try_from(number).map(|own| column.push(own)).is_ok(),
            Narrow::Halves(column) => u16::try_from(number).map(|own| column.push(own)).is_ok(),
            Narrow::Words(column) => u32::try_from(number).map(|own| column.push(own)).is_ok(),
            Narrow::Longs(column) => {
                column.push(number);
                true
            }
        };
        if !is_pushed {
            self.push_wider(number);
        }
    }

    /// Makes room for a number that is too large, and adds it.
    #[cold]
    fn push_wider(&mut self, number: i64) {
        let room = whichever!(self, column => column.capacity());
        let mut wider = if u16::try_from(number).is_ok() && matches!(self, Narrow::Bytes(_)) {
            Narrow::Halves(Vec::with_capacity(room))
        } else if u32::try_from(number).is_ok() {
            Narrow::Words(Vec::with_capacity(room))
        } else {
            Narrow::Longs(Vec::with_capacity(room))
        };
        self.iter().for_each(|own| wider.push(own));
        wider.push(number);
        *self = wider;
    }

    /// How many rows.
    pub fn len(&self) -> usize {
        whichever!(self, column => column.len())
    }

    /// Whether it has no rows.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The number of a row, which must be there. Whoever wants many asks for [`Narrow::each`].
    #[inline]
    #[allow(clippy::unnecessary_cast, reason = "needed for three of the four types")]
    pub fn at(&self, row: u32) -> i64 {
        whichever!(self, column => column[row as usize] as i64)
    }

    /// Every row's number.
    pub fn iter(&self) -> impl Iterator<Item = i64> {
        (0..self.len() as u32).map(|row| self.at(row))
    }

    /// Tells of these rows, all of which must be there, the place among them and the number.
    #[allow(clippy::unnecessary_cast, reason = "needed for three of the four types")]
    pub fn each(&self, rows: &[u32], mut each: impl FnMut(usize, i64)) {
        whichever!(self, column => {
            rows.iter().enumerate().for_each(|(at, row)| each(at, column[*row as usize] as i64));
        });
    }

    /// The rows in another order, which names each of them once.
    pub fn in_order(&self, order: &[u32]) -> Narrow {
        fn ordered<N: Copy>(column: &[N], order: &[u32]) -> Vec<N> {
            order.iter().map(|row| column[*row as usize]).collect()
        }
        match self {
            Narrow::Bytes(column) => Narrow::Bytes(ordered(column, order)),
            Narrow::Halves(column) => Narrow::Halves(ordered(column, order)),
            Narrow::Words(column) => Narrow::Words(ordered(column, order)),
            Narrow::Longs(column) => Narrow::Longs(ordered(column, order)),
        }
    }
}
