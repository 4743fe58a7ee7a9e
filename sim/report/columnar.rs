//! Rows of a sweep as columns in a file: Parquet, or Arrow's file format.
//!
//! Units, meanings, version, inputs, seed and the caution stand in the metadata of the schema. Both formats are only
//! whole with what stands at their end, so rows gather in parts: Parquet files in the folder `FILE.parts`, each written
//! whole or not at all, of fixed rows. A run that was killed goes on behind the last part; the last step joins the
//! parts into `FILE` and removes the folder. So `FILE` never reads as whole before it is, and its bytes do not depend on
//! interruptions.

use std::collections::HashMap;
use std::fs::File;
use std::io::Write;
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use arrow_array::{ArrayRef, Float64Array, RecordBatch, StringArray, UInt64Array};
use arrow_ipc::writer::FileWriter;
use arrow_schema::{DataType, Field, Schema, SchemaRef};
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use parquet::arrow::{ArrowSchemaConverter, ArrowWriter, add_encoded_arrow_schema_to_metadata};
use parquet::basic::Encoding;
use parquet::column::writer::ColumnCloseResult;
use parquet::file::metadata::{KeyValue, ParquetMetaData, ParquetMetaDataReader};
use parquet::file::properties::{EnabledStatistics, WriterProperties};
use parquet::file::writer::SerializedFileWriter;
use serde_json::Value as Json;

use super::output::{write_whole, write_whole_by};
use super::row_file::{beside, check_same, failed, locked, request_document};
use crate::error::SimError;
use crate::study::sweep::{Column, ColumnNote, RowBlock};

/// Format of the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ColumnarFormat {
    /// Apache Parquet, without compression.
    Parquet,
    /// Arrow's file format, as in memory.
    Arrow,
}

/// What is to stand in a file.
#[derive(Debug)]
pub struct ColumnarRequest {
    /// Format.
    pub format: ColumnarFormat,
    /// Columns.
    pub columns: Vec<ColumnNote>,
    /// Rows (from 0).
    pub rows: Range<u64>,
    /// Rows of a part: parts begin at its multiples.
    pub part_rows: u64,
    /// Identifies the request.
    pub fingerprint: String,
    /// The request for people and programs.
    pub document: Json,
}

/// A file of columns, open for more rows.
#[derive(Debug)]
pub struct ColumnarFile {
    path: PathBuf,
    request: ColumnarRequest,
    schema: SchemaRef,
    /// Blocks of the part that is not whole yet.
    waiting: Vec<RowBlock>,
    /// The next row.
    at: u64,
    /// Held while the file is written.
    lock: Option<File>,
}

impl ColumnarFile {
    /// Opens a new file, or one of the same request to continue.
    ///
    /// # Errors
    /// A file of another request, or one that has been changed; a file that another run is writing; an error of the
    /// operating system.
    pub fn open(path: &Path, request: ColumnarRequest) -> Result<Self, SimError> {
        if path.exists() && !path.is_file() {
            return Err(failed(path, &"is not a plain file"));
        }
        let schema = Arc::new(schema(&request));
        let at = request.rows.start;
        let mut file = Self { path: path.to_owned(), request, schema, waiting: Vec::new(), at, lock: None };
        let (parts, beside) = (file.parts(), beside(path));
        if path.exists() || parts.exists() {
            check_same(path, &beside, &file.request.fingerprint)?;
        } else {
            write_whole(
                &beside,
                request_document(&file.request.document, &file.request.fingerprint).as_bytes(),
            )?;
        }
        if path.exists() {
            let rows = file.request.rows.end - file.request.rows.start;
            if file.request.format == ColumnarFormat::Parquet && rows_of(&metadata(path)?) != rows {
                return Err(failed(path, &"holds another number of rows: the file has been changed"));
            }
            file.at = file.request.rows.end;
            return Ok(file);
        }
        std::fs::create_dir_all(&parts).map_err(|e| failed(&parts, &e))?;
        file.lock = Some(locked(path, &parts.join("lock"))?);
        while file.at < file.request.rows.end {
            let (rows, part) = file.part(file.at);
            if !part.exists() {
                break;
            }
            if rows_of(&metadata(&part)?) != rows.end - rows.start {
                return Err(failed(&part, &"holds another number of rows: the file has been changed"));
            }
            file.at = rows.end;
        }
        Ok(file)
    }

    /// Rows that it holds already.
    #[must_use]
    pub fn done(&self) -> u64 {
        self.at - self.request.rows.start
    }

    /// Adds blocks of rows. None of them goes across the end of a part.
    ///
    /// # Errors
    /// An error of the operating system.
    pub fn append(&mut self, blocks: Vec<RowBlock>) -> Result<(), SimError> {
        for block in blocks {
            let (rows, path) = self.part(self.at);
            self.waiting.push(block);
            let waiting: usize = self.waiting.iter().map(RowBlock::len).sum();
            if self.at + waiting as u64 == rows.end {
                let part = RowBlock::joined(std::mem::take(&mut self.waiting));
                if let Some(part) = part {
                    write_whole(&path, &self.encoded(part).map_err(|e| failed(&path, &e))?)?;
                }
                self.at = rows.end;
            }
        }
        Ok(())
    }

    /// Joins the parts to the file, if it is not there yet.
    ///
    /// # Errors
    /// An error of the operating system, a part that has been changed.
    pub fn finish(&mut self) -> Result<(), SimError> {
        if self.path.exists() {
            return Ok(());
        }
        let (mut parts, mut at) = (Vec::new(), self.request.rows.start);
        while at < self.request.rows.end {
            let (rows, path) = self.part(at);
            parts.push(path);
            at = rows.end;
        }
        write_whole_by(&self.path, |file| match self.request.format {
            ColumnarFormat::Parquet => join_parquet(&parts, &self.schema, self.properties(), file),
            ColumnarFormat::Arrow => join_arrow(&parts, &self.schema, file),
        })?;
        let folder = self.parts();
        std::fs::remove_dir_all(&folder).map_err(|e| failed(&folder, &e))
    }

    /// `FILE.parts`.
    fn parts(&self) -> PathBuf {
        let mut name = self.path.as_os_str().to_owned();
        name.push(".parts");
        PathBuf::from(name)
    }

    /// Rows and path of the part that a row stands in.
    fn part(&self, row: u64) -> (Range<u64>, PathBuf) {
        let (size, rows) = (self.request.part_rows, &self.request.rows);
        let number = row / size;
        let part = rows.start.max(number * size)..rows.end.min((number + 1) * size);
        (part, self.parts().join(format!("{number:06}.parquet")))
    }

    fn properties(&self) -> WriterProperties {
        let metadata = self.schema.metadata().iter().map(|(k, v)| KeyValue::new(k.clone(), v.clone()));
        let mut metadata: Vec<KeyValue> = metadata.collect();
        metadata.sort_by(|a, b| a.key.cmp(&b.key));
        let mut properties = WriterProperties::builder()
            .set_created_by(format!("kneedamp {}", env!("CARGO_PKG_VERSION")))
            .set_key_value_metadata(Some(metadata))
            .set_statistics_enabled(EnabledStatistics::Chunk)
            .set_max_row_group_row_count(Some(self.request.part_rows as usize))
            .set_column_encoding("row".into(), Encoding::DELTA_BINARY_PACKED)
            .set_column_dictionary_enabled("row".into(), false);
        for column in self.request.columns.iter().filter(|c| !c.repeats) {
            let name = column.name.as_str();
            properties = properties.set_column_dictionary_enabled(name.into(), false);
        }
        properties.build()
    }

    fn encoded(&self, rows: RowBlock) -> Result<Vec<u8>, Box<dyn std::error::Error>> {
        let batch = RecordBatch::try_new(self.schema.clone(), rows.columns.into_iter().map(array).collect())?;
        let mut writer = ArrowWriter::try_new(Vec::new(), self.schema.clone(), Some(self.properties()))?;
        writer.write(&batch)?;
        Ok(writer.into_inner()?)
    }
}

impl Drop for ColumnarFile {
    fn drop(&mut self) {
        // closing the file is not enough while a child process that is just starting still holds it
        let _ = self.lock.as_ref().map(File::unlock);
    }
}

fn array(column: Column) -> ArrayRef {
    match column {
        Column::Whole(v) => Arc::new(UInt64Array::from(v)),
        Column::Numbers(v) => Arc::new(Float64Array::from(v)),
        Column::Texts(v) => Arc::new(v.iter().map(|t| t.as_deref()).collect::<StringArray>()),
    }
}

/// Columns with unit and meaning; for the whole the request, and what it must not be read without.
fn schema(request: &ColumnarRequest) -> Schema {
    let field = |c: &ColumnNote| {
        let kind = match c.name.as_str() {
            "row" => DataType::UInt64,
            _ if c.text => DataType::Utf8,
            _ => DataType::Float64,
        };
        let notes = HashMap::from(
            [("unit", c.unit), ("meaning", c.meaning)].map(|(k, v)| (k.to_owned(), v.to_owned())),
        );
        let filled = ["row", "scenario"].contains(&c.name.as_str());
        Field::new(&c.name, kind, !filled).with_metadata(notes)
    };
    let text = |v: &Json| v.as_str().map_or_else(|| v.to_string(), str::to_owned);
    let document = request.document.as_object().into_iter().flatten();
    let notes: HashMap<String, String> = document.map(|(k, v)| (k.clone(), text(v))).collect();
    Schema::new_with_metadata(request.columns.iter().map(field).collect::<Vec<_>>(), notes)
}

fn metadata(path: &Path) -> Result<ParquetMetaData, SimError> {
    let read = || ParquetMetaDataReader::new().parse_and_finish(&File::open(path)?);
    read().map_err(|e| failed(path, &e))
}

fn rows_of(metadata: &ParquetMetaData) -> u64 {
    metadata.file_metadata().num_rows() as u64
}

/// What went wrong while parts were joined.
type Joined = Result<(), Box<dyn std::error::Error>>;

/// Copies the encoded columns of all parts.
fn join_parquet(
    parts: &[PathBuf],
    schema: &SchemaRef,
    properties: WriterProperties,
    to: &mut File,
) -> Joined {
    let root = ArrowSchemaConverter::new().convert(schema)?.root_schema_ptr();
    let mut properties = properties;
    add_encoded_arrow_schema_to_metadata(schema, &mut properties);
    let mut writer = SerializedFileWriter::new(to, root, Arc::new(properties))?;
    for path in parts {
        let part = File::open(path)?;
        for group in ParquetMetaDataReader::new().parse_and_finish(&part)?.row_groups() {
            let mut copy = writer.next_row_group()?;
            for column in group.columns() {
                let closed = ColumnCloseResult {
                    bytes_written: column.compressed_size() as u64,
                    rows_written: group.num_rows() as u64,
                    metadata: column.clone(),
                    bloom_filter: None,
                    column_index: None,
                    offset_index: None,
                };
                copy.append_column(&part, closed)?;
            }
            copy.close()?;
        }
    }
    writer.close()?;
    Ok(())
}

/// Rows that are decoded together.
const BATCH: usize = 65_536;

fn join_arrow(parts: &[PathBuf], schema: &SchemaRef, to: &mut File) -> Joined {
    let mut writer = FileWriter::try_new_buffered(to, schema)?;
    for path in parts {
        let reader = ParquetRecordBatchReaderBuilder::try_new(File::open(path)?)?.with_batch_size(BATCH);
        for batch in reader.build()? {
            writer.write(&RecordBatch::try_new(schema.clone(), batch?.columns().to_vec())?)?;
        }
    }
    writer.finish()?;
    writer.into_inner()?.flush()?;
    Ok(())
}
