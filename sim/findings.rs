//! Findings of a study, free of any output format: text, tables, plots. Reports render them.

/// A cell of a table.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Text.
    Text(String),
    /// A number and the decimals it is shown with.
    Number(f64, usize),
    /// No value.
    Empty,
}

impl Cell {
    /// Text.
    pub fn text(t: impl Into<String>) -> Self {
        Self::Text(t.into())
    }

    /// A number, or an empty cell.
    #[must_use]
    pub fn number(v: Option<f64>, decimals: usize) -> Self {
        v.map_or(Self::Empty, |x| Self::Number(x, decimals))
    }
}

/// A table.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Table {
    /// Key of its rows in JSON.
    pub key: String,
    /// What it shows.
    pub title: String,
    /// Column names with units; keys in CSV and JSON.
    pub columns: Vec<String>,
    /// Rows, as long as `columns`.
    pub rows: Vec<Vec<Cell>>,
}

impl Table {
    /// A table from column names and rows.
    #[must_use]
    pub fn new(key: &str, title: &str, columns: &[&str], rows: Vec<Vec<Cell>>) -> Self {
        let columns = columns.iter().map(|c| (*c).to_owned()).collect();
        Self { key: key.into(), title: title.into(), columns, rows }
    }
}

/// A curve.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Series {
    /// What it is.
    pub label: String,
    /// Points (x, y) in the units of the axes; one that is not finite is a gap.
    pub points: Vec<(f64, f64)>,
}

/// A named point on a curve; without a name, a measured point.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// What happens there.
    pub label: String,
    /// Where.
    pub at: (f64, f64),
}

/// A band between two curves, for instance mean ± standard deviation.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// What it is.
    pub label: String,
    /// (x, lower, upper).
    pub points: Vec<(f64, f64, f64)>,
    /// Index of the curve inside it, whose colour it has.
    pub around: usize,
}

/// One set of axes.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Panel {
    /// Name and unit of y.
    pub y_label: String,
    /// Curves, at most eight.
    pub series: Vec<Series>,
    /// Index of the curve that is no result but what results are compared with: always grey.
    pub reference: Option<usize>,
    /// Named points.
    pub marks: Vec<Mark>,
    /// Bands, drawn below the curves.
    pub bands: Vec<Band>,
    /// Height relative to the other panels; 0 is as 1.
    pub height: f64,
    /// The y axis reaches at least from here to here, whatever the curves.
    pub at_least: Option<(f64, f64)>,
}

/// Panels above each other that share x.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Plot {
    /// Short name, for files when a study draws several.
    pub key: String,
    /// What it shows.
    pub title: String,
    /// Inputs in a line.
    pub subtitle: String,
    /// Name and unit of x.
    pub x_label: String,
    /// Vertical lines with names at x.
    pub instants: Vec<(f64, String)>,
    /// From top to bottom.
    pub panels: Vec<Panel>,
}

/// Panels of cells, each with a letter for its tightest limit.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Map {
    /// What it shows.
    pub title: String,
    /// Inputs, in lines.
    pub inputs: Vec<String>,
    /// Name and unit of x.
    pub x_label: String,
    /// Name and unit of y.
    pub y_label: String,
    /// Panels, at most four.
    pub panels: Vec<MapPanel>,
    /// Meaning of the letters.
    pub letters: Vec<(char, String)>,
    /// Meaning of the marks in the order of [`CellMark`].
    pub marks: [&'static str; 3],
    /// How to read a cell, in lines.
    pub reading: Vec<String>,
}

/// One grid of cells.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MapPanel {
    /// What it shows.
    pub title: String,
    /// Values along x.
    pub xs: Vec<f64>,
    /// Values along y, upwards.
    pub ys: Vec<f64>,
    /// Row by row, x running faster.
    pub cells: Vec<MapCell>,
    /// A marked point, for instance the settings as set.
    pub mark: Option<(f64, f64)>,
}

/// The verdict on a cell, drawn as a shape.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CellMark {
    /// Within: a disc.
    Within,
    /// Doubtful: half a disc.
    Doubtful,
    /// Outside: a cross.
    Outside,
}

/// One cell.
#[derive(Debug, Clone, PartialEq)]
pub struct MapCell {
    /// Letter of the tightest limit.
    pub letter: char,
    /// Its relative margin; infinite where nothing limits.
    pub margin: f64,
    /// Its mark.
    pub mark: CellMark,
    /// Small print below the letter.
    pub note: String,
}

/// Intervals below each other, each on its own scale, with the allowed range shaded.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Intervals {
    /// What they show.
    pub title: String,
    /// Inputs, in lines.
    pub inputs: Vec<String>,
    /// How to read them, in lines.
    pub reading: Vec<String>,
    /// From top to bottom.
    pub rows: Vec<Interval>,
}

/// One interval.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Interval {
    /// Name of the quantity.
    pub label: String,
    /// Unit of the values.
    pub unit: String,
    /// Decimals the values are shown with.
    pub decimals: usize,
    /// Lower end, middle, upper end.
    pub values: [f64; 3],
    /// Least and greatest value allowed; none without a limit.
    pub allowed: Option<(Option<f64>, Option<f64>)>,
    /// How often it is within its limits, in words.
    pub holds: String,
    /// The input with the greatest influence.
    pub note: String,
}

/// Findings of a study.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Findings {
    /// Sentences, in order.
    pub text: Vec<String>,
    /// Tables.
    pub tables: Vec<Table>,
    /// Plots.
    pub plots: Vec<Plot>,
}
