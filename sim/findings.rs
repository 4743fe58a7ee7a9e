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
    /// What it is; empty where the name of the panel says so.
    pub label: String,
    /// Points (x, y) in the units of the axes; one that is not finite is a gap.
    pub points: Vec<(f64, f64)>,
}

/// A step this many times as large as those beside it is a jump,
const JUMP_OVER_NEIGHBOURS: f64 = 4.0;
/// if it is at least this share of the curve's range.
const JUMP_SHARE: f64 = 0.04;

impl Series {
    /// The curve with a gap where it jumps: where one step is much larger than those on both sides of it.
    ///
    /// ```
    /// use kneedamp::findings::Series;
    /// let gaps = |y: fn(f64) -> f64| {
    ///     let points = (0..60).map(f64::from).map(|x| (x, y(x))).collect();
    ///     let broken = Series { label: String::new(), points }.broken_at_jumps();
    ///     broken.points.iter().filter(|p| p.1.is_nan()).count()
    /// };
    /// assert_eq!(gaps(|x| if x < 30.0 { 20.0 + 0.1 * x } else { 55.0 - 0.3 * x }), 1);
    /// assert_eq!(gaps(|x| (0.4 * (x - 30.0)).tanh()), 0);
    /// ```
    #[must_use]
    pub fn broken_at_jumps(self) -> Self {
        let points = &self.points;
        let finite = points.iter().map(|p| p.1).filter(|y| y.is_finite());
        let (low, high) = finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), y| (a.min(y), b.max(y)));
        let step = |i: usize| match (points.get(i), points.get(i + 1)) {
            (Some(a), Some(b)) => (b.1 - a.1).abs(),
            _ => f64::NAN,
        };
        let mut broken = Vec::new();
        for (i, p) in points.iter().enumerate() {
            broken.push(*p);
            // what is beside a gap or an end counts as no step
            let beside = i.checked_sub(1).map_or(f64::NAN, step).max(step(i + 1)).max(0.0);
            if step(i) > JUMP_SHARE * (high - low) && step(i) > JUMP_OVER_NEIGHBOURS * beside {
                broken.push((p.0, f64::NAN));
            }
        }
        Self { label: self.label, points: broken }
    }
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

/// Which curves a panel holds: A and B look alike in every picture, so nothing else may look like them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Palette {
    /// Variants: A, B, C, D.
    #[default]
    Compared,
    /// Parts of one joint or person: torques, paces, settings.
    Parts,
}

/// A stretch of x, shaded over all panels.
#[derive(Debug, Clone, PartialEq)]
pub struct Span {
    /// What holds in it.
    pub label: String,
    /// From and to.
    pub range: (f64, f64),
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
    /// Where it is within its limits: least and greatest value.
    pub limits: Option<(Option<f64>, Option<f64>)>,
    /// Which curves these are, for their colours and dashes.
    pub palette: Palette,
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
    /// Stretches of x, the widest first.
    pub spans: Vec<Span>,
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
    /// What the panels hold together, in lines below the inputs: how many cells hold, or that none does.
    pub result: Vec<String>,
    /// Panels, at most four.
    pub panels: Vec<MapPanel>,
    /// Meaning of the letters.
    pub letters: Vec<(char, String)>,
    /// Meaning of the marks in the order of [`CellMark`].
    pub marks: [&'static str; 3],
    /// How to read a cell, in lines.
    pub reading: Vec<String>,
    /// How to read the small print of cells, where they have room for it.
    pub reading_notes: Vec<String>,
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
