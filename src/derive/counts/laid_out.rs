//! A count table in the order of display: for measures, which read its columns, and for export.

use super::codes::Dimension;
use super::table::{AnyTable, Columns};
use crate::calendar::Calendar;
use crate::derive::scan::names::{Glossary, Listing, Names};

/// Words of one dimension in the order of display, and the place of each code.
struct Places {
    words: Vec<String>,
    of_code: Option<Vec<u32>>,
}

fn listed(list: &(Names, usize)) -> Places {
    let Listing { words, places } = Listing::of(list);
    Places { words, of_code: Some(places) }
}

fn numbered(count: u32, word: impl Fn(u32) -> String) -> Places {
    Places { words: (0..count).map(word).collect(), of_code: None }
}

/// The words of a dimension; none for plain numbers.
fn places(dimension: Dimension, glossary: &Glossary, calendar: &Calendar) -> Option<Places> {
    Some(match dimension {
        Dimension::Number => return None,
        Dimension::Quarter => {
            numbered(calendar.quarters.count(), |piece| calendar.quarter(piece).to_string())
        }
        Dimension::Month => numbered(calendar.months.count(), |piece| calendar.month(piece)),
        Dimension::Week => numbered(calendar.weeks.count(), |piece| calendar.week(piece)),
        Dimension::Words(words) => {
            numbered(words.len() as u32, |code| words[code as usize].to_owned())
        }
        Dimension::Site => listed(&glossary.site),
        Dimension::Stage => listed(&glossary.stage),
        Dimension::Family => listed(&glossary.family),
        Dimension::Supplier => listed(&glossary.supplier),
        Dimension::Method => listed(&glossary.method),
        Dimension::Device => listed(&glossary.device),
        Dimension::Criteria => listed(&glossary.criteria),
        Dimension::Cause => listed(&glossary.cause),
        Dimension::Source => listed(&glossary.source),
    })
}

/// The words of every column in the order of display, none of plain numbers; and the cells, codes exchanged for the
/// places of their words, in the order of these.
pub(in crate::derive) fn laid_out(
    table: &dyn AnyTable,
    glossary: &Glossary,
    calendar: &Calendar,
) -> (Vec<Option<Vec<String>>>, Columns) {
    let columns = table.about().columns.iter();
    let places: Vec<Option<Places>> =
        columns.map(|column| places(column.dimension, glossary, calendar)).collect();
    let place = |column: usize, code: u32| {
        let of_code = places[column].as_ref().and_then(|places| places.of_code.as_ref());
        of_code.map_or(code, |of_code| of_code.get(code as usize).copied().unwrap_or(of_code[0]))
    };
    let cells = table.columns(&place);
    (places.into_iter().map(|places| places.map(|places| places.words)).collect(), cells)
}
