//! Rows of a sweep as columns: what the text and the columnar files are made of.

use std::ops::Range;
use std::sync::Arc;

use crate::error::SimError;
use crate::findings::Cell;
use crate::outcome::{Metric, Value};

/// A text that many rows share.
pub type Text = Arc<str>;

/// Values of one column, one per row; none where a cell is empty.
#[derive(Debug, Clone, PartialEq)]
pub enum Column {
    /// Numbers of rows.
    Whole(Vec<u64>),
    /// Numbers, in the unit that the name of the column ends in.
    Numbers(Vec<Option<f64>>),
    /// Words, or texts.
    Texts(Vec<Option<Text>>),
}

impl Column {
    /// The cell of a row; of a number in full, no decimals are said.
    #[must_use]
    pub fn cell(&self, row: usize) -> Cell {
        match self {
            Self::Whole(v) => Cell::Number(v[row] as f64, 0),
            Self::Numbers(v) => Cell::number(v[row], 0),
            Self::Texts(v) => v[row].as_deref().map_or(Cell::Empty, Cell::text),
        }
    }

    fn keep(&mut self, rows: &Range<usize>) {
        fn cut<T>(v: &mut Vec<T>, rows: &Range<usize>) {
            v.truncate(rows.end);
            v.drain(..rows.start);
        }
        match self {
            Self::Whole(v) => cut(v, rows),
            Self::Numbers(v) => cut(v, rows),
            Self::Texts(v) => cut(v, rows),
        }
    }

    fn append(&mut self, other: Self) {
        match (self, other) {
            (Self::Whole(v), Self::Whole(mut w)) => v.append(&mut w),
            (Self::Numbers(v), Self::Numbers(mut w)) => v.append(&mut w),
            (Self::Texts(v), Self::Texts(mut w)) => v.append(&mut w),
            _ => unreachable!("a column has one kind"),
        }
    }
}

/// Consecutive rows of a sweep, column by column, in the order of [`super::Sweep::columns`].
#[derive(Debug, Clone, PartialEq)]
pub struct RowBlock {
    /// Columns, all of one length.
    pub columns: Vec<Column>,
}

impl RowBlock {
    /// Number of rows.
    #[must_use]
    pub fn len(&self) -> usize {
        match self.columns.first() {
            Some(Column::Whole(v)) => v.len(),
            _ => 0,
        }
    }

    /// Whether there is no row.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The cells of a row, counted from 0 within this block.
    #[must_use]
    pub fn row(&self, i: usize) -> Vec<Cell> {
        self.columns.iter().map(|c| c.cell(i)).collect()
    }

    /// Rows that could not run: those with an error.
    #[must_use]
    pub fn failed(&self) -> u64 {
        match self.columns.last() {
            Some(Column::Texts(errors)) => errors.iter().flatten().count() as u64,
            _ => 0,
        }
    }

    /// These rows only, counted from 0 within this block.
    #[must_use]
    pub fn part(mut self, rows: &Range<usize>) -> Self {
        if *rows != (0..self.len()) {
            self.columns.iter_mut().for_each(|c| c.keep(rows));
        }
        self
    }

    /// Blocks in one.
    #[must_use]
    pub fn joined(blocks: Vec<Self>) -> Option<Self> {
        blocks.into_iter().reduce(|mut all, next| {
            all.columns.iter_mut().zip(next.columns).for_each(|(a, b)| a.append(b));
            all
        })
    }
}

/// Outcomes and judgements of a row.
pub(super) struct Found {
    /// A value per outcome column; none where the scenario has no such outcome.
    pub values: Vec<Option<Value>>,
    /// A cell per judgement column.
    pub judged: Vec<Judged>,
}

/// A judgement of a row.
pub(super) enum Judged {
    /// A word, or none.
    Word(Option<Text>),
    /// A number.
    Number(f64),
}

/// Columns behind the inputs, while rows are put into them.
pub(super) struct Results {
    outcomes: Vec<(&'static Metric, Column)>,
    judgements: Vec<(&'static str, Column)>,
    not_reached: Vec<Option<Text>>,
    errors: Vec<Option<Text>>,
}

impl Results {
    /// Empty cells for this many rows.
    pub fn empty(outcomes: &[&'static Metric], judgements: &[&'static str], rows: usize) -> Self {
        let column = |number: bool| {
            if number { Column::Numbers(vec![None; rows]) } else { Column::Texts(vec![None; rows]) }
        };
        Self {
            outcomes: outcomes.iter().map(|m| (*m, column(m.words.is_empty()))).collect(),
            judgements: judgements.iter().map(|j| (*j, column(*j == "energy_residual"))).collect(),
            not_reached: vec![None; rows],
            errors: vec![None; rows],
        }
    }

    /// Fills row `i`.
    pub fn put(&mut self, i: usize, row: Result<Found, SimError>) {
        match row {
            Ok(found) => {
                self.put_values(i, &found.values);
                for ((_, column), judged) in self.judgements.iter_mut().zip(found.judged) {
                    match (column, judged) {
                        (Column::Numbers(v), Judged::Number(x)) => v[i] = Some(x),
                        (Column::Texts(v), Judged::Word(w)) => v[i] = w,
                        _ => unreachable!("a judgement has one kind"),
                    }
                }
            }
            Err(e) => {
                for (name, column) in &mut self.judgements {
                    if let (&mut "verdict", Column::Texts(v)) = (name, column) {
                        v[i] = Some(e.in_place_of_verdict().into());
                    }
                }
                self.errors[i] = Some(e.to_string().into());
            }
        }
    }

    /// Fills the outcomes of row `i`. The keys of those that were not reached, such as the time of a knee that is never
    /// straight, stand in a column of their own: the cells of outcomes that a scenario does not have are as empty.
    pub fn put_values(&mut self, i: usize, values: &[Option<Value>]) {
        let mut not_reached = String::new();
        for ((metric, column), value) in self.outcomes.iter_mut().zip(values) {
            match (column, value) {
                (Column::Numbers(v), Some(Value::Number(x))) => v[i] = Some(*x),
                (Column::Texts(v), Some(Value::Word(w))) => v[i] = Some(w.as_str().into()),
                (_, Some(Value::NotReached)) => {
                    if !not_reached.is_empty() {
                        not_reached.push(' ');
                    }
                    not_reached.push_str(metric.key);
                }
                (_, None) => {}
                _ => unreachable!("an outcome is a number or a word"),
            }
        }
        if !not_reached.is_empty() {
            self.not_reached[i] = Some(not_reached.into());
        }
    }

    /// The columns in their order.
    pub fn columns(self) -> impl Iterator<Item = Column> {
        let found =
            self.outcomes.into_iter().map(|(_, c)| c).chain(self.judgements.into_iter().map(|(_, c)| c));
        found.chain([Column::Texts(self.not_reached), Column::Texts(self.errors)])
    }
}
