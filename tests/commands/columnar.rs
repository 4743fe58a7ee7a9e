//! Sweeps as columns: the same rows as CSV, notes that travel with them, and parts that make the same file.

use std::fs::{self, File};
use std::path::Path;

use arrow_array::cast::AsArray;
use arrow_array::types::{Float64Type, UInt64Type};
use arrow_array::{Array, RecordBatch};
use arrow_schema::{DataType, SchemaRef};
use kneedamp::case::axis::Axis;
use kneedamp::report::columnar::{ColumnarFile, ColumnarFormat, ColumnarRequest};
use kneedamp::study::sweep::Sweep;
use parquet::arrow::arrow_reader::ParquetRecordBatchReaderBuilder;
use serde_json::json;

use super::{refused, stdout};
use crate::common::{library, setup};

fn text(path: &Path) -> &str {
    path.to_str().expect("UTF-8")
}

fn read(path: &Path) -> (SchemaRef, Vec<RecordBatch>) {
    let file = File::open(path).expect("opens");
    if path.extension().is_some_and(|e| e == "arrow") {
        let reader = arrow_ipc::reader::FileReader::try_new(file, None).expect("whole");
        return (reader.schema(), reader.map(|b| b.expect("a batch")).collect());
    }
    let reader = ParquetRecordBatchReaderBuilder::try_new(file).expect("whole");
    let schema = reader.schema().clone();
    (schema, reader.build().expect("reads").map(|b| b.expect("a batch")).collect())
}

fn batches(path: &Path) -> Vec<RecordBatch> {
    read(path).1
}

/// A cell as CSV prints it.
fn cell(column: &dyn Array, row: usize) -> String {
    if column.is_null(row) {
        return String::new();
    }
    match column.data_type() {
        DataType::UInt64 => column.as_primitive::<UInt64Type>().value(row).to_string(),
        DataType::Float64 => column.as_primitive::<Float64Type>().value(row).to_string(),
        _ => column.as_string::<i32>().value(row).to_owned(),
    }
}

/// Numbers, words, empty cells and rows that cannot run: each cell is that of the CSV.
#[test]
fn columnar_files_hold_the_cells_of_csv() {
    let folder = tempfile::tempdir().expect("a folder");
    let scenarios = "walk-comfortable,stumble";
    let asked = ["sweep", "swing-extension=50,100", "speed_m_per_s=1.1,4.5", "--scenario", scenarios];
    let csv = stdout(&asked, 0);
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let head = reader.headers().expect("a header").clone();
    let rows: Vec<csv::StringRecord> = reader.records().map(|r| r.expect("a row")).collect();
    assert!(
        rows.iter().any(|r| !r[head.len() - 1].is_empty())
            && rows.iter().any(|r| !r[head.len() - 2].is_empty())
    );
    for ending in ["parquet", "arrow"] {
        let path = folder.path().join(format!("rows.{ending}"));
        assert!(stdout(&[&asked[..], &["--output", text(&path)]].concat(), 0).is_empty());
        let batches = batches(&path);
        let mut at = 0;
        for batch in &batches {
            assert_eq!(
                batch.schema().fields().iter().map(|f| f.name().as_str()).collect::<Vec<_>>(),
                head.iter().collect::<Vec<_>>()
            );
            for row in 0..batch.num_rows() {
                let cells: Vec<String> = batch.columns().iter().map(|c| cell(c.as_ref(), row)).collect();
                assert_eq!(cells, rows[at].iter().collect::<Vec<_>>(), "{ending}, row {at}");
                at += 1;
            }
        }
        assert_eq!(at, rows.len());
        assert!(!folder.path().join(format!("rows.{ending}.parts")).exists(), "nothing is left over");
    }
}

/// Unit and meaning of each column, version, inputs, seed and caution.
#[test]
fn columnar_files_carry_their_notes() {
    let folder = tempfile::tempdir().expect("a folder");
    for ending in ["parquet", "arrow"] {
        let path = folder.path().join(format!("drawn.{ending}"));
        let outcomes = ["--outcomes", "peak_flexion_deg", "--output", text(&path)];
        stdout(
            &[&["sweep", "swing-flexion=0..100", "--samples", "5", "--seed", "4"], &outcomes[..]].concat(),
            0,
        );
        let (schema, _) = read(&path);
        let field = schema.field_with_name("peak_flexion_deg").expect("a column");
        assert_eq!(field.metadata().get("unit").map(String::as_str), Some("°"));
        assert_eq!(field.metadata().get("meaning").map(String::as_str), Some("peak flexion in swing"));
        let note = |key: &str| schema.metadata().get(key).cloned().unwrap_or_default();
        assert_eq!(note("version"), env!("CARGO_PKG_VERSION"));
        assert_eq!(note("seed"), "4");
        assert_eq!(note("caution"), kneedamp::CAUTION);
        let inputs: serde_json::Value = serde_json::from_str(&note("inputs")).expect("JSON");
        assert_eq!(inputs["resolved"]["stature_m"], 1.75);
    }
}

fn masses() -> Sweep {
    let scenario = library().scenario("stand").expect("shipped");
    let axis = Axis::parse("mass_kg=50:99:1").expect("an axis");
    Sweep::new(setup("75-kg", "built-in"), vec![scenario], vec![axis], None, &["verdict".to_owned()])
        .expect("a sweep")
}

fn request(sweep: &Sweep, format: ColumnarFormat, fingerprint: &str) -> ColumnarRequest {
    let (columns, fingerprint) = (sweep.column_notes(), fingerprint.to_owned());
    ColumnarRequest { format, columns, rows: 5..50, part_rows: 16, fingerprint, document: json!({"seed": 1}) }
}

/// Writes until a part is whole or the rows end; stops after `stop` blocks.
fn write(path: &Path, sweep: &Sweep, format: ColumnarFormat, stop: usize) -> u64 {
    let mut file = ColumnarFile::open(path, request(sweep, format, "this")).expect("opens");
    let done = file.done();
    let mut blocks = Vec::new();
    sweep
        .stream(
            5 + done..50,
            &|| (),
            |b| b,
            |window| {
                blocks.extend(window);
                Ok(true)
            },
        )
        .expect("runs");
    let whole = blocks.len() <= stop;
    blocks.truncate(stop);
    file.append(blocks).expect("writes");
    if whole {
        file.finish().expect("joins");
    }
    done
}

/// Stopped after any block and begun again, the file comes to the same bytes; before that there is none.
#[test]
fn columnar_parts_come_to_the_same_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let sweep = masses();
    for format in [ColumnarFormat::Parquet, ColumnarFormat::Arrow] {
        let whole = folder.path().join(format!("{format:?}"));
        assert_eq!(write(&whole, &sweep, format, 99), 0);
        let bytes = fs::read(&whole).expect("reads");
        for stop in 0..4 {
            let path = folder.path().join(format!("{format:?}-{stop}"));
            write(&path, &sweep, format, stop);
            assert!(!path.exists(), "no file before it is whole");
            // rows 5 to 15, then 16 to 31
            let done = write(&path, &sweep, format, 99);
            assert_eq!(done, [0, 11, 27, 43][stop]);
            assert_eq!(fs::read(&path).expect("reads"), bytes);
            assert_eq!(write(&path, &sweep, format, 99), 45, "it is there already");
        }
    }
}

#[test]
fn columnar_file_of_something_else_is_left_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let sweep = masses();
    let path = folder.path().join("rows.parquet");
    let open = |fingerprint| {
        ColumnarFile::open(&path, request(&sweep, ColumnarFormat::Parquet, fingerprint))
            .map_err(|e| e.to_string())
    };
    fs::write(&path, "my notes").expect("writes");
    assert!(open("this").expect_err("foreign").contains("does not say what"));
    assert_eq!(fs::read_to_string(&path).expect("reads"), "my notes");
    fs::remove_file(&path).expect("removes");
    write(&path, &sweep, ColumnarFormat::Parquet, 2);
    let held = open("this").expect("goes on");
    assert!(open("this").expect_err("twice").contains("another run is writing"));
    drop(held);
    assert!(open("other").expect_err("other").contains("another request"));
    let part = folder.path().join("rows.parquet.parts/000000.parquet");
    fs::copy(folder.path().join("rows.parquet.parts/000001.parquet"), &part).expect("copies");
    assert!(open("this").expect_err("changed").contains("has been changed"));
    fs::write(&part, "half a part").expect("writes");
    assert!(open("this").expect_err("no part").contains("000000.parquet"));
    assert!(
        refused(&["sweep", "mass_kg=60", "--output", "no/such/folder/x.parquet"]).contains("no/such/folder")
    );
}

/// Shards are one data set, an empty one among them.
#[test]
fn columnar_shards_make_the_whole() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut rows = Vec::new();
    for i in 1..=4 {
        let (path, shard) = (folder.path().join(format!("{i}.parquet")), format!("{i}/4"));
        let asked = ["sweep", "mass_kg=60,70,80", "--scenario", "stand", "--shard", &shard];
        stdout(&[&asked[..], &["--output", text(&path)]].concat(), 0);
        for batch in batches(&path) {
            let column = batch.column(0).as_primitive::<UInt64Type>();
            rows.extend(column.values().iter().copied());
        }
    }
    assert_eq!(rows, [1, 2, 3]);
}

/// The script for job arrays, run as the tasks of an array.
#[test]
fn columnar_job_array_makes_the_whole() {
    let folder = tempfile::tempdir().expect("a folder");
    let program = Path::new(env!("CARGO_BIN_EXE_kneedamp")).parent().expect("a folder");
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/examples/sweep.slurm");
    let path = std::env::var("PATH").unwrap_or_default();
    let mut rows = Vec::new();
    for task in ["1", "2", "3"] {
        let mut bash = std::process::Command::new("bash");
        bash.arg(&script).current_dir(folder.path()).env("PATH", format!("{}:{path}", program.display()));
        bash.envs([
            ("SLURM_ARRAY_TASK_ID", task),
            ("SLURM_ARRAY_TASK_COUNT", "3"),
            ("SLURM_CPUS_PER_TASK", "2"),
        ]);
        assert!(bash.status().expect("bash").success());
        for batch in batches(&folder.path().join(format!("rows/000{task}.parquet"))) {
            let column = batch.column(0).as_primitive::<UInt64Type>();
            rows.extend(column.values().iter().copied());
        }
    }
    // 16 masses, 21 settings, 2 scenarios
    assert_eq!(rows, (1..=672).collect::<Vec<u64>>());
}
