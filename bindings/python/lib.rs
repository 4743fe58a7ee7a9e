//! The Python module of kneedamp: the commands of the program, called with the same options; documents as text, columns as
//! NumPy arrays. Everything that a Python user sees is in `kneedamp/__init__.py`.

// the parameters of the functions below come from Python as values
#![allow(clippy::needless_pass_by_value)]

use kneedamp::SimError;
use kneedamp::cli::call;
use kneedamp::study::sweep::{Column, RowBlock};
use numpy::IntoPyArray;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};

pyo3::import_exception!(kneedamp._errors, InputError);

/// An error with its file, line and field.
fn raised(e: &SimError) -> PyErr {
    let mut at = (None::<String>, None::<u64>, None::<String>);
    let mut inner = e;
    loop {
        match inner {
            SimError::InFile { file, line, cause } => {
                (at.0, at.1) = (Some(file.clone()), *line);
                inner = cause;
            }
            SimError::File { path, .. } => {
                at.0 = Some(path.clone());
                break;
            }
            SimError::OutOfRange { field, .. } | SimError::Inconsistent { field, .. } => {
                at.2 = Some(field.clone());
                break;
            }
            _ => break,
        }
    }
    InputError::new_err((e.to_string(), at.0, at.1, at.2))
}

/// The document of a command, and its messages for people.
#[pyfunction]
fn answer(py: Python<'_>, arguments: Vec<String>) -> PyResult<(String, Vec<String>)> {
    let written = py.detach(|| call::answer(&arguments)).map_err(|e| raised(&e))?;
    Ok((written.data, written.messages))
}

/// Columns of the motion of a `run`.
#[pyfunction]
fn motion<'py>(py: Python<'py>, arguments: Vec<String>) -> PyResult<Bound<'py, PyDict>> {
    let (names, rows) = py.detach(|| call::motion(&arguments)).map_err(|e| raised(&e))?.table();
    let columns = PyDict::new(py);
    for (i, name) in names.iter().enumerate() {
        let column: Vec<f64> = rows.iter().map(|r| r[i]).collect();
        columns.set_item(name, column.into_pyarray(py))?;
    }
    Ok(columns)
}

/// Columns of a `sweep`: numbers as arrays, NaN where there is none; texts as lists, None where there is none.
#[pyfunction]
fn sweep<'py>(py: Python<'py>, arguments: Vec<String>) -> PyResult<Bound<'py, PyDict>> {
    let sweep = py.detach(|| call::rows(&arguments)).map_err(|e| raised(&e))?;
    let mut blocks: Vec<RowBlock> = Vec::new();
    let mut interrupted = None;
    let take = |window: Vec<RowBlock>| {
        blocks.extend(window);
        interrupted = Python::attach(|py| py.check_signals()).err();
        Ok(interrupted.is_none())
    };
    py.detach(|| sweep.stream(0..sweep.rows(), &|| (), |block| block, take)).map_err(|e| raised(&e))?;
    if let Some(signal) = interrupted {
        return Err(signal);
    }
    let columns = PyDict::new(py);
    let rows = RowBlock::joined(blocks).into_iter().flat_map(|all| all.columns);
    for (name, column) in sweep.columns().into_iter().zip(rows) {
        match column {
            Column::Whole(v) => columns.set_item(name, v.into_pyarray(py))?,
            Column::Numbers(v) => {
                let numbers: Vec<f64> = v.into_iter().map(|x| x.unwrap_or(f64::NAN)).collect();
                columns.set_item(name, numbers.into_pyarray(py))?;
            }
            Column::Texts(v) => {
                columns.set_item(name, PyList::new(py, v.iter().map(|t| t.as_deref()))?)?;
            }
        }
    }
    Ok(columns)
}

#[pymodule]
fn _native(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add("__version__", env!("CARGO_PKG_VERSION"))?;
    module.add("CAUTION", kneedamp::CAUTION)?;
    module.add_function(wrap_pyfunction!(answer, module)?)?;
    module.add_function(wrap_pyfunction!(motion, module)?)?;
    module.add_function(wrap_pyfunction!(sweep, module)?)
}
