//! Compiles the map of a source for the header of one export.

use std::collections::BTreeMap;

use super::applied::{Map, Part, Target, Width};
use super::code::{CodeReader, Taken};
use super::field::{Field, Reader};
use super::header::Header;
use super::input::{Formed, Input, Results};
use super::number::{Amounts, MOST};
use super::time::TimeReader;
use super::when::Condition;
use crate::calendar::Zone;
use crate::intake::columns::batch::{Slot, TableBatch};
use crate::intake::error::IntakeError;
use crate::intake::people::key::PeopleKey;
use crate::intake::people::names::{Pass, Watch};
use crate::intake::reject::losses::Losses;
use crate::intake::reject::raw::Use;
use crate::records::{Column, Kind, Outcome, columns};
use crate::settings::{
    DurationForm, Numbers, Piece, Plan, RecordMap, ShortRows, Source, Unreadable,
};
use crate::tabular::date::Pattern;

/// What a part is compiled with.
struct Compiler<'a, 'h> {
    plan: &'a Plan,
    source: &'a Source,
    header: &'h Header,
    key: &'a PeopleKey,
    /// What becomes of each cell.
    uses: Vec<Use>,
}

/// The values of a column without any.
static NO_VALUES: BTreeMap<String, String> = BTreeMap::new();

/// Compiles a source's map.
///
/// # Errors
/// When the header lacks or repeats a column that the map reads, or a part cannot be followed.
pub fn compile<'a>(
    plan: &'a Plan,
    source: &'a Source,
    header: &Header,
    key: &'a PeopleKey,
    pass: Pass<'a>,
) -> Result<Map<'a>, IntakeError> {
    let uses = uses(source, header)?;
    let compiler = Compiler { plan, source, header, key, uses };
    let mut targets: Vec<Target> = Vec::new();
    let mut parts = Vec::new();
    let mut losses = Losses::default();
    for record in &source.records {
        let known = targets.iter().position(|target| target.batch.table == record.table);
        let target = known.unwrap_or(targets.len());
        if target == targets.len() {
            targets.push(Target::of(source, record.table));
        }
        parts.push(compiler.part(record, target, &targets[target].batch, &mut losses)?);
    }
    let least = match source.dialect.short_rows {
        ShortRows::Quarantine => header.least,
        ShortRows::Pad => 0,
    };
    let width = Width { least, most: header.names.len() };
    let uses = compiler.uses;
    let watch = Watch::new(plan, source, pass, uses.contains(&Use::People));
    let people = (0..uses.len()).filter(|cell| uses[*cell] == Use::People).collect();
    let nulls = &source.dialect.nulls;
    Ok(Map { parts, targets, uses, people, watch, losses, width, nulls })
}

/// What becomes of each column of the export.
fn uses(source: &Source, header: &Header) -> Result<Vec<Use>, IntakeError> {
    let mut uses = vec![Use::Unread; header.names.len()];
    let mut put = |name: &str, found: Use| -> Result<(), IntakeError> {
        let at = header.position(name)?;
        // A column of people stays one, whatever else reads it.
        uses[at] = if uses[at] == Use::People { Use::People } else { found };
        Ok(())
    };
    for name in source.people.keys() {
        put(name, Use::People)?;
    }
    for record in &source.records {
        for (column, names) in &record.columns {
            let is_person = |known: &&Column| known.name == column && known.kind == Kind::Person;
            let person = columns(record.table).iter().any(|known| is_person(&known));
            for name in names {
                put(name, if person { Use::People } else { Use::Read })?;
            }
        }
        if let Some(when) = &record.when {
            put(&when.column, Use::Read)?;
        }
        for name in record.numbers.values().filter_map(|numbers| numbers.currency_column.as_ref()) {
            put(name, Use::Read)?;
        }
    }
    Ok(uses)
}

impl<'a> Compiler<'a, '_> {
    fn part(
        &self,
        record: &'a RecordMap,
        target: usize,
        batch: &TableBatch,
        losses: &mut Losses,
    ) -> Result<Part<'a>, IntakeError> {
        self.check_names(record)?;
        let condition = self.condition(record)?;
        let (mut fields, mut seq) = (Vec::new(), None);
        for (column, slot) in columns(record.table).iter().zip(&batch.slots) {
            match self.field(record, column, *slot, losses)? {
                Some(field) if column.name != "seq" => fields.push(field),
                Some(field) if field.input != Input::Nothing => seq = Some(field),
                _ => {}
            }
        }
        Ok(Part { target, condition, fields, seq })
    }

    fn check_names(&self, record: &RecordMap) -> Result<(), IntakeError> {
        let known = |name: &String| columns(record.table).iter().any(|column| column.name == name);
        if let Some(name) =
            record.columns.keys().chain(record.constants.keys()).find(|name| !known(name))
        {
            let reason =
                format!("found no such column in {}; correct the map", record.table.name());
            return Err(self.refuse(record, name, reason));
        }
        Ok(())
    }

    fn condition(&self, record: &'a RecordMap) -> Result<Option<Condition<'a>>, IntakeError> {
        let Some(when) = &record.when else {
            return Ok(None);
        };
        let cell = self.header.position(&when.column)?;
        Ok(Some(Condition { cell, when, masked: self.is_people(cell) }))
    }

    fn field(
        &self,
        record: &'a RecordMap,
        column: &'static Column,
        slot: Slot,
        losses: &mut Losses,
    ) -> Result<Option<Field<'a>>, IntakeError> {
        let input = self.input(record, column.name)?;
        if column.required && input == Input::Nothing {
            let reason = "is neither mapped nor constant, expected one of them".to_owned();
            return Err(self.refuse(record, column.name, reason));
        }
        let masked = input.cells().iter().any(|cell| self.is_people(*cell));
        let Some(reader) = self.reader(record, column, slot, &input, masked)? else {
            return Ok(None);
        };
        let shown_as = record.columns.get(column.name).map(|names| names.join(" + "));
        let shown_as = shown_as.unwrap_or_else(|| column.name.to_owned());
        let lenient = record.unreadable(column, self.source.unreadable) == Unreadable::Null;
        Ok(Some(Field {
            canonical: column.name,
            lost_as: lenient.then(|| losses.field(record.table, &shown_as)),
            input,
            required: column.required,
            values: record.values.get(column.name).unwrap_or(&NO_VALUES),
            shown_as,
            expected: self.expected(record, column, &reader),
            reader,
            masked,
            blank: self.numbers(record, column).blank,
        }))
    }

    fn input(&self, record: &RecordMap, name: &str) -> Result<Input, IntakeError> {
        if let Some(names) = record.columns.get(name) {
            let cells: Result<Vec<usize>, _> =
                names.iter().map(|name| self.header.position(name)).collect();
            let cells = cells?;
            if let Some(pieces) = record.forms.get(name) {
                return self.formed(pieces, cells);
            }
            let zones = record.zones.iter().map(|(_, column)| column);
            if !record.zones.is_empty() && zones.eq(names) {
                return Ok(results(record, name, cells));
            }
            return Ok(match cells.as_slice() {
                [cell] => Input::Cell(*cell),
                cells => Input::Cells(cells.to_vec()),
            });
        }
        let site = self.source.site.as_ref().filter(|_| name == "site");
        let constant = record.constants.get(name).or(site);
        Ok(constant.map_or(Input::Nothing, |text| Input::Constant(text.trim().to_owned())))
    }

    fn formed(&self, pieces: &[Piece], cells: Vec<usize>) -> Result<Input, IntakeError> {
        let piece = |piece: &Piece| match piece {
            Piece::Text(text) => Ok(Formed::Text(text.clone())),
            Piece::Column(name) => self.header.position(name).map(Formed::Cell),
        };
        let pieces: Result<Vec<Formed>, _> = pieces.iter().map(piece).collect();
        Ok(Input::Formed(pieces?, cells))
    }

    fn reader(
        &self,
        record: &'a RecordMap,
        column: &Column,
        slot: Slot,
        input: &Input,
        masked: bool,
    ) -> Result<Option<Reader<'a>>, IntakeError> {
        Ok(Some(match slot {
            Slot::Absent => return Ok(None),
            Slot::Text(at) if masked => Reader::Pseudonym(at, self.key),
            Slot::Text(at) => Reader::Text(at),
            Slot::Flag(at) => Reader::Flag(at),
            Slot::Number(at) if column.kind == Kind::Money => {
                Reader::Money(at, Box::new(self.amounts(record, column)?))
            }
            // A sequence number is only compared; all others are added up.
            Slot::Number(at) if column.name == "seq" => {
                Reader::Integer(at, u64::MAX, self.numbers(record, column))
            }
            Slot::Number(at) if column.kind == Kind::Minutes => {
                let forms = record.durations.get(column.name);
                let forms = forms.map_or(&[DurationForm::Minutes][..], Vec::as_slice);
                Reader::Minutes(at, forms, self.numbers(record, column))
            }
            Slot::Number(at) => Reader::Integer(at, MOST, self.numbers(record, column)),
            Slot::Time(at) => Reader::Time(at, self.time_reader(record, column, input)?),
            Slot::Words(at) => Reader::Words(at, CodeReader::new(self.taken(column, masked))),
        }))
    }

    /// How the numbers of a column are written.
    fn numbers(&self, record: &RecordMap, column: &Column) -> Numbers {
        let usual = || {
            let dialect = &self.source.dialect;
            Numbers::written(dialect.decimal_mark, dialect.thousands)
        };
        record.numbers.get(column.name).cloned().unwrap_or_else(usual)
    }

    fn amounts(&self, record: &RecordMap, column: &Column) -> Result<Amounts<'a>, IntakeError> {
        let numbers = self.numbers(record, column);
        let cell = numbers.currency_column.as_ref().map(|name| self.header.position(name));
        Ok(Amounts {
            currency_cell: cell.transpose()?,
            numbers,
            fleet: &self.plan.fleet.currency,
            exchange: &self.plan.costs.exchange,
        })
    }

    fn time_reader(
        &self,
        record: &RecordMap,
        column: &Column,
        input: &Input,
    ) -> Result<TimeReader, IntakeError> {
        let patterns = record.dates.get(column.name).map_or(&[][..], Vec::as_slice);
        if patterns.is_empty() && *input != Input::Nothing {
            let reason = "has no pattern, expected one in the map's dates".to_owned();
            return Err(self.refuse(record, column.name, reason));
        }
        let compiled: Result<_, _> = patterns
            .iter()
            .map(|text| Pattern::compile(text, self.source.two_digit_years_from))
            .collect();
        let compiled = compiled.map_err(|reason| self.refuse(record, column.name, reason))?;
        let zone = Zone::new(self.source.timezone, self.source.clock_change);
        Ok(TimeReader::new(compiled, zone))
    }

    /// A name is taken as its pseudonym, unless the column is a closed list: no name is in one.
    fn taken(&self, column: &Column, masked: bool) -> Taken<'a> {
        match self.plan.allowed(column.name) {
            _ if column.kind == Kind::Person => Taken::Person(self.key),
            Some(words) => Taken::Listed(words),
            None if masked => Taken::Person(self.key),
            None => Taken::Free,
        }
    }

    fn is_people(&self, cell: usize) -> bool {
        self.uses.get(cell) == Some(&Use::People)
    }

    fn expected(&self, record: &RecordMap, column: &Column, reader: &Reader) -> String {
        match reader {
            Reader::Text(_) | Reader::Pseudonym(..) => "some text".to_owned(),
            Reader::Words(_, reader) => match reader.listed() {
                Some(words) => format!("one of {}", words.join(", ")),
                None => "some text".to_owned(),
            },
            Reader::Time(..) => {
                let patterns = record.dates.get(column.name).map(|patterns| patterns.join(" or "));
                format!("a time written {}", patterns.unwrap_or_default())
            }
            Reader::Integer(..) => "a whole number".to_owned(),
            Reader::Minutes(_, [DurationForm::Minutes], _) => {
                "a whole number of minutes".to_owned()
            }
            Reader::Minutes(_, forms, _) => {
                let words: Vec<&str> = forms.iter().map(|form| form.word()).collect();
                format!("a length of time written {}", words.join(" or "))
            }
            Reader::Money(_, amounts) => {
                let without = match amounts.numbers.thousands {
                    None => ", without separators of thousands",
                    Some(_) => "",
                };
                format!("an amount written {}{without}", amounts.numbers.example())
            }
            Reader::Flag(_) => "one of yes, no".to_owned(),
        }
    }

    fn refuse(&self, record: &RecordMap, column: &str, reason: String) -> IntakeError {
        IntakeError::Map {
            source_name: self.source.name.clone(),
            line: record.line,
            column: column.to_owned(),
            reason,
        }
    }
}

/// The results of the zones, as the outcome of the look or as the zone that failed.
fn results(record: &RecordMap, name: &str, cells: Vec<usize>) -> Input {
    let words = [Outcome::Fail, Outcome::Unreadable, Outcome::Pass].map(|outcome| {
        let mapped = record.values.get("outcome").into_iter().flatten();
        let mapped = mapped.filter(|(_, code)| *code == outcome.word()).map(|(word, _)| word);
        mapped.cloned().chain([outcome.word().to_owned()]).collect()
    });
    let zones = record.zones.iter().map(|(zone, _)| zone.clone()).collect();
    let results = Box::new(Results { zones, cells, words });
    if name == "zone" { Input::Failed(results) } else { Input::Decided(results) }
}
