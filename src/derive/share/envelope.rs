//! The stream that workers read and write: an Arrow IPC stream of three columns, whose schema says which version of the
//! program it is for and which settings.
//!
//! `kind`: a word of [`Kind`], followed by a colon and the name of the file or stage where there is one. `place`: the bucket of the rows,
//! of a file or state the number of the piece. `bytes`: rows of fixed size one after the other as they lie in memory, a piece of a
//! file, or a state. Bytes within Arrow, not columns: a row of Arrow is a chunk of up to a mebibyte, so that an engine moves
//! chunks and never touches a row.

use std::collections::HashMap;
use std::io::{Read, Write};
use std::sync::Arc;

use arrow::array::{Array, AsArray, BinaryArray, Int64Array, RecordBatch, StringArray};
use arrow::datatypes::{DataType, Field, Int64Type, Schema, SchemaRef};
use arrow::ipc::reader::StreamReader;
use arrow::ipc::writer::StreamWriter;
use bytemuck::Pod;

use super::stage::Kind;
use crate::derive::DeriveError;
use crate::records::SCHEMA_VERSION;
use crate::store::Buckets;

/// Version of the stream. Raise it when a kind of row, a state or the order of stages changes.
pub const STREAM_VERSION: u32 = 4;
/// Bytes that a chunk should not much exceed.
pub const CHUNK: usize = 1 << 20;

const VERSION: &str = "motetrail_version";
const SETTINGS: &str = "motetrail_settings";

/// What a stream must be for a worker to take it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Seal {
    /// Of the program, of its records, and of the stream; rows lie in memory, so the order of bytes too.
    pub version: String,
    /// BLAKE3 of the settings, hex.
    pub settings: String,
}

impl Seal {
    /// That of this program with settings of this check value.
    pub fn of(settings: &str) -> Seal {
        let order = if cfg!(target_endian = "little") { "le" } else { "be" };
        let program = env!("CARGO_PKG_VERSION");
        let version = format!("{program}/{SCHEMA_VERSION}/{STREAM_VERSION}/{order}");
        Seal { version, settings: settings.to_owned() }
    }

    /// As the metadata of a schema: keys and values.
    pub fn metadata(&self) -> [(&'static str, &str); 2] {
        [(VERSION, &self.version), (SETTINGS, &self.settings)]
    }

    fn schema(&self) -> SchemaRef {
        let fields = vec![
            Field::new("kind", DataType::Utf8, false),
            Field::new("place", DataType::Int64, false),
            Field::new("bytes", DataType::Binary, false),
        ];
        let metadata = self.metadata().map(|(key, value)| (key.to_owned(), value.to_owned()));
        Arc::new(Schema::new(fields).with_metadata(HashMap::from(metadata)))
    }

    fn check(&self, schema: &Schema) -> Result<(), DeriveError> {
        for (what, expected) in self.metadata() {
            let found = schema.metadata().get(what).map_or("nothing", String::as_str);
            if found != expected {
                let (found, expected) = (found.to_owned(), expected.to_owned());
                return Err(DeriveError::Sealed { what, found, expected });
            }
        }
        Ok(())
    }
}

/// One row of a stream.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Chunk<'a> {
    /// What its bytes are.
    pub kind: Kind,
    /// Of a file, and of one that could not be read: its name. Of a joined state: its stage.
    pub name: &'a str,
    /// Bucket, or number of the piece.
    pub place: u32,
    /// As `kind` says.
    pub bytes: &'a [u8],
}

/// Adds a piece of a state to those before it: the first begins another state, others go on with the last.
///
/// # Errors
/// A piece that does not follow the one before.
pub fn add_piece(states: &mut Vec<Vec<u8>>, chunk: Chunk) -> Result<(), DeriveError> {
    if chunk.place == 0 {
        states.push(Vec::new());
    }
    match states.last_mut() {
        Some(state) if state.len() == chunk.place as usize * CHUNK => {
            state.extend_from_slice(chunk.bytes);
            Ok(())
        }
        _ => Err(wrong(format!("piece {} of a {} out of order", chunk.place, chunk.kind.word()))),
    }
}

fn wrong(why: impl Into<String>) -> DeriveError {
    DeriveError::Stream { why: why.into() }
}

/// Reads a stream, chunk by chunk.
///
/// # Errors
/// A stream that is none, of another version or other settings; whatever `each` makes of a chunk.
pub fn read(
    input: impl Read,
    seal: &Seal,
    mut each: impl FnMut(Chunk) -> Result<(), DeriveError>,
) -> Result<(), DeriveError> {
    let reader = StreamReader::try_new(input, None)?;
    seal.check(&reader.schema())?;
    for batch in reader {
        let batch = batch?;
        let columns = batch.columns();
        let [kinds, places, bytes] = columns else { return Err(wrong("not three columns")) };
        let (kinds, places, bytes) = (
            kinds.as_string_opt::<i32>().ok_or_else(|| wrong("`kind` is no text"))?,
            places.as_primitive_opt::<Int64Type>().ok_or_else(|| wrong("`place` is no number"))?,
            bytes.as_binary_opt::<i32>().ok_or_else(|| wrong("`bytes` are no bytes"))?,
        );
        if kinds.null_count() + places.null_count() + bytes.null_count() > 0 {
            return Err(wrong("a row has an empty cell"));
        }
        for row in 0..batch.num_rows() {
            let (kind, name) = kinds.value(row).split_once(':').unwrap_or((kinds.value(row), ""));
            let kind = Kind::of(kind).ok_or_else(|| wrong(format!("found the kind \"{kind}\"")))?;
            let place = u32::try_from(places.value(row));
            let place =
                place.map_err(|_| wrong(format!("found the place {}", places.value(row))))?;
            each(Chunk { kind, name, place, bytes: bytes.value(row) })?;
        }
    }
    Ok(())
}

/// The check value of the settings that a stream is of, which must be of this version of the program.
///
/// # Errors
/// A stream that is none, or of another version.
pub fn settings_of(input: impl Read) -> Result<String, DeriveError> {
    let schema = StreamReader::try_new(input, None)?.schema();
    let settings = schema.metadata().get(SETTINGS).cloned().unwrap_or_default();
    Seal::of(&settings).check(&schema)?;
    Ok(settings)
}

/// Writes a stream.
pub struct Envelope<W: Write> {
    schema: SchemaRef,
    writer: StreamWriter<W>,
}

impl<W: Write> Envelope<W> {
    /// Begins it.
    ///
    /// # Errors
    /// What cannot be written to.
    pub fn new(output: W, seal: &Seal) -> Result<Envelope<W>, DeriveError> {
        let schema = seal.schema();
        let writer = StreamWriter::try_new(output, &schema)?;
        Ok(Envelope { schema, writer })
    }

    /// Writes one chunk.
    ///
    /// # Errors
    /// What cannot be written to; a chunk of more than 2 GiB.
    pub fn push(&mut self, chunk: Chunk) -> Result<(), DeriveError> {
        if i32::try_from(chunk.bytes.len()).is_err() {
            let kind = chunk.kind.word();
            return Err(wrong(format!("a chunk of {kind} has {} bytes", chunk.bytes.len())));
        }
        let kind = match chunk.name {
            "" => chunk.kind.word().to_owned(),
            name => format!("{}:{name}", chunk.kind.word()),
        };
        let batch = RecordBatch::try_new(
            Arc::clone(&self.schema),
            vec![
                Arc::new(StringArray::from(vec![kind])),
                Arc::new(Int64Array::from(vec![i64::from(chunk.place)])),
                Arc::new(BinaryArray::from(vec![chunk.bytes])),
            ],
        )?;
        Ok(self.writer.write(&batch)?)
    }

    /// Writes a state in pieces, which must stay in their order.
    ///
    /// # Errors
    /// What cannot be written to.
    pub fn push_state(&mut self, kind: Kind, name: &str, bytes: &[u8]) -> Result<(), DeriveError> {
        for (place, bytes) in (0..).zip(bytes.chunks(CHUNK)) {
            self.push(Chunk { kind, name, place, bytes })?;
        }
        Ok(())
    }

    /// Writes a file, piece by piece.
    ///
    /// # Errors
    /// What cannot be read or written.
    pub fn push_file(&mut self, name: &str, mut file: impl Read) -> Result<(), DeriveError> {
        let mut piece = Vec::with_capacity(CHUNK);
        for place in 0.. {
            piece.clear();
            let read = file.by_ref().take(CHUNK as u64).read_to_end(&mut piece);
            let read = read.map_err(|error| wrong(format!("{name}: {error}")))?;
            // A file without a byte is a file, too.
            if read > 0 || place == 0 {
                self.push(Chunk { kind: Kind::File, name, place, bytes: &piece })?;
            }
            if read < CHUNK {
                break;
            }
        }
        Ok(())
    }

    /// Writes rows, bucket by bucket.
    ///
    /// # Errors
    /// What cannot be read or written.
    pub fn push_rows<T: Pod>(&mut self, kind: Kind, rows: &Buckets<T>) -> Result<(), DeriveError> {
        let most = CHUNK / size_of::<T>().max(1);
        for bucket in 0..rows.count() {
            rows.chunks(bucket, most, |records| {
                let bytes = bytemuck::cast_slice(records);
                self.push(Chunk { kind, name: "", place: bucket as u32, bytes })
            })?;
        }
        Ok(())
    }

    /// Ends it.
    ///
    /// # Errors
    /// What cannot be written to.
    pub fn finish(mut self) -> Result<(), DeriveError> {
        self.writer.finish()?;
        let mut output = self.writer.into_inner()?;
        output.flush().map_err(|error| wrong(error.to_string()))
    }
}
