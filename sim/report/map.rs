//! Maps as SVG, written by hand: text stays text, colours are those of Okabe and Ito (2008). Every limit has a
//! letter as well, so that a map can be read in grey.

use std::fmt::Write as _;

use super::svg_text::{CHARACTER, FONT, text, wrapped};
use super::text::escaped;
use crate::findings::{CellMark, Map, MapPanel};

/// Okabe and Ito's colours, black last; more limits than these share them.
const COLOURS: [[u8; 3]; 8] = [
    [230, 159, 0],
    [86, 180, 233],
    [0, 158, 115],
    [240, 228, 66],
    [0, 114, 178],
    [213, 94, 0],
    [204, 121, 167],
    [0, 0, 0],
];
/// Width: that of plots, 148 mm on A5, so that 1 px is 0.58 pt.
const WIDTH: f64 = 720.0;
/// Sizes of text: the title, ordinary text, and what stands in cells, whose capitals are 1.8 mm high.
const TITLE: f64 = 19.0;
const TEXT: f64 = 15.0;
const SMALL: f64 = 12.5;
const MARGIN: f64 = 14.0;
/// Left of the cells: axis label and numbers.
const LEFT: f64 = 66.0;
/// Below the cells: numbers.
const BELOW: f64 = 24.0;
const LINE: f64 = 19.0;
/// Between lines in a cell.
const CELL_LINE: f64 = 14.0;
/// Cells are no wider without need.
const WIDEST: f64 = 72.0;
/// Smaller cells have no mark, still smaller ones no letter.
const MARKED: f64 = 25.0;
const LETTERED: f64 = 12.0;
/// Half the size of the diamond.
const DIAMOND: f64 = 5.5;
/// Above each of several panels: its title.
const PANEL_TITLE: f64 = 30.0;

/// Positions and sizes.
struct Layout {
    /// Size of a cell.
    cell: (f64, f64),
    /// Panels side by side.
    across: usize,
    /// From the corner of a panel's cells to the next one's.
    pitch: (f64, f64),
    /// Top of the first cells, and of the legend below the last.
    top: f64,
    legend: f64,
    height: f64,
    /// Cells have room for their notes.
    noted: bool,
    /// Lines above the cells, wrapped: inputs, then what holds.
    inputs: Vec<String>,
    result: Vec<String>,
    /// Lines on how to read it, wrapped.
    reading: Vec<String>,
}

/// The map as one SVG document.
#[must_use]
pub fn svg(map: &Map) -> String {
    let layout = Layout::of(map);
    let height = layout.height;
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{WIDTH:.0}\" height=\"{height:.0}\" \
         viewBox=\"0 0 {WIDTH:.0} {height:.0}\" {FONT} role=\"img\">\n<title>{}</title>\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>\n",
        escaped(&map.title)
    );
    text(&mut out, (MARGIN, 28.0), TITLE, "start", true, &map.title);
    let mut y = 52.0;
    for (line, bold) in
        layout.inputs.iter().map(|l| (l, false)).chain(layout.result.iter().map(|l| (l, true)))
    {
        text(&mut out, (MARGIN, y), TEXT, "start", bold, line);
        y += LINE;
    }
    for (i, panel) in map.panels.iter().enumerate() {
        let at = (
            LEFT + layout.pitch.0 * (i % layout.across) as f64,
            layout.top + layout.pitch.1 * (i / layout.across) as f64,
        );
        draw_panel(&mut out, map, panel, &layout, at);
    }
    axis_labels(&mut out, map, &layout);
    legend(&mut out, map, &layout);
    text(&mut out, (MARGIN, height - 12.0), TEXT, "start", false, crate::CAUTION_SHORT);
    out.push_str("</svg>\n");
    out
}

/// Width of a text.
fn width(text: &str, size: f64) -> f64 {
    size * CHARACTER * text.chars().count() as f64
}

/// Lines of a note: one per range.
fn note_lines(note: &str) -> impl Iterator<Item = &str> {
    note.split(", ").filter(|l| !l.is_empty())
}

impl Layout {
    fn of(map: &Map) -> Self {
        let most = |f: fn(&MapPanel) -> usize| map.panels.iter().map(f).max().unwrap_or(1).max(1) as f64;
        let (columns, rows) = (most(|p| p.xs.len()), most(|p| p.ys.len()));
        let notes = || map.panels.iter().flat_map(|p| &p.cells).map(|c| c.note.as_str());
        let widest = notes().flat_map(note_lines).map(|l| width(l, SMALL)).fold(0.0, f64::max) + 4.0;
        let several = map.panels.len() > 1;
        let room = |across: usize| (WIDTH - MARGIN - LEFT * across as f64) / across as f64 / columns;
        let across = if several && room(2) >= widest.max(MARKED) { 2 } else { 1 };
        let noted = room(across) >= widest;
        let lines = if noted { notes().map(|n| note_lines(n).count()).max().unwrap_or(0) } else { 0 };
        // a small grid is stretched until the labels of its axes fit beside it
        let down = map.panels.len().div_ceil(across).max(1) as f64;
        let label = |text: &str, cells: f64| width(text, TEXT) / cells;
        let w = room(across).min(WIDEST.max(widest).max(label(&map.x_label, columns * across as f64)));
        let least = if w < MARKED { w } else { MARKED + CELL_LINE * lines as f64 };
        let cell = (w, least.max(label(&map.y_label, rows * down)));
        let pitch =
            (cell.0 * columns + LEFT, cell.1 * rows + BELOW + if several { PANEL_TITLE } else { 0.0 });
        let wrap = |lines: &[String]| -> Vec<String> {
            lines.iter().flat_map(|line| wrapped(line, WIDTH - 2.0 * MARGIN, TEXT)).collect()
        };
        let (inputs, result) = (wrap(&map.inputs), wrap(&map.result));
        let mut reading = wrap(&map.reading);
        reading.extend(if noted { wrap(&map.reading_notes) } else { vec![] });
        if w < LETTERED {
            reading.push("These cells are too small for letters: fewer positions (--grid) show them.".into());
        } else if w < MARKED {
            reading.push("Small letters in the frame: within; small letters outside it: doubtful.".into());
        }
        let top =
            50.0 + LINE * (inputs.len() + result.len()) as f64 + if several { PANEL_TITLE } else { 2.0 };
        let legend = top + pitch.1 * down + LINE + 22.0 - if several { PANEL_TITLE } else { 0.0 };
        let marks = if w < MARKED { 0 } else { map.marks.len() };
        let entries = reading.len() + marks + map.letters.len();
        let height = (legend + LINE * entries as f64 + 38.0).ceil();
        Self { cell, across, pitch, top, legend, height, noted, inputs, result, reading }
    }
}

fn draw_panel(out: &mut String, map: &Map, panel: &MapPanel, layout: &Layout, (left, top): (f64, f64)) {
    let (w, h) = layout.cell;
    let rows = panel.ys.len();
    if !panel.title.is_empty() {
        text(out, (left, top - 8.0), TEXT, "start", true, &panel.title);
    }
    let corner = |i: usize| {
        let (x, y) = (i % panel.xs.len(), i / panel.xs.len());
        (left + w * x as f64, top + h * (rows - 1 - y) as f64)
    };
    for (i, cell) in panel.cells.iter().enumerate() {
        let (x, y) = corner(i);
        let number = map.letters.iter().position(|l| l.0.eq_ignore_ascii_case(&cell.letter));
        let strength =
            if cell.mark == CellMark::Within { 0.12 } else { 0.30 + 0.45 * (-cell.margin).clamp(0.0, 1.0) };
        let _ = writeln!(
            out,
            "<rect x=\"{x:.1}\" y=\"{y:.1}\" width=\"{w:.1}\" height=\"{h:.1}\" fill=\"{}\" stroke=\"#ffffff\" stroke-width=\"0.6\"/>",
            tint(number, strength)
        );
        let letter = if w < LETTERED { String::new() } else { cell.letter.to_string() };
        let lines: Vec<&str> = if layout.noted { note_lines(&cell.note).collect() } else { vec![] };
        let size = if w < MARKED { SMALL } else { TEXT };
        // the letter and its lines stand in the middle of the cell
        let first = y + 0.5 * (h - CELL_LINE * lines.len() as f64) + 0.36 * size;
        text(out, (x + 0.5 * w, first), size, "middle", cell.mark == CellMark::Within, &letter);
        for (line, row) in lines.iter().zip(1..) {
            text(out, (x + 0.5 * w, first + CELL_LINE * f64::from(row)), SMALL, "middle", false, line);
        }
        if w >= MARKED {
            shape(out, cell.mark, (x + 6.0, y + 6.0), 3.4);
        }
    }
    frame(out, panel, layout, &corner);
    numbers(out, panel, layout, (left, top));
    if let Some(at) = panel.mark {
        let place = |list: &[f64], v: f64| match (list.first(), list.last()) {
            (Some(a), Some(b)) if b > a => (v - a) / (b - a) * (list.len() - 1) as f64,
            _ => 0.0,
        };
        let (x, y) = (place(&panel.xs, at.0), place(&panel.ys, at.1));
        // beside the letter of its cell, which stays readable
        let aside = if w < MARKED { (0.5, 0.5) } else { (0.84, 0.8) };
        let (x, y) = (left + w * (x + aside.0), top + h * (rows as f64 - aside.1 - y));
        let _ = writeln!(
            out,
            "<path d=\"M{:.1} {y:.1}L{x:.1} {:.1}L{:.1} {y:.1}L{x:.1} {:.1}Z\" fill=\"#000000\" stroke=\"#ffffff\" stroke-width=\"1.5\"/>",
            x - DIAMOND,
            y - DIAMOND,
            x + DIAMOND,
            y + DIAMOND
        );
    }
}

/// A mark around a point: a disc, half a disc in its circle, a cross.
fn shape(out: &mut String, mark: CellMark, (x, y): (f64, f64), r: f64) {
    let (left, right, up, down) = (x - r, x + r, y - r, y + r);
    let disc = format!("M{left:.1} {y:.1}A{r} {r} 0 0 1 {right:.1} {y:.1}A{r} {r} 0 0 1 {left:.1} {y:.1}Z");
    let (path, fill) = match mark {
        CellMark::Within => (disc, "#000000"),
        CellMark::Doubtful => {
            let half = format!("M{left:.1} {y:.1}A{r} {r} 0 0 0 {right:.1} {y:.1}Z");
            let _ = writeln!(out, "<path d=\"{half}\" fill=\"#000000\"/>");
            (disc, "none")
        }
        CellMark::Outside => (
            format!("M{left:.1} {up:.1}L{right:.1} {down:.1}M{left:.1} {down:.1}L{right:.1} {up:.1}"),
            "none",
        ),
    };
    let _ = writeln!(out, "<path d=\"{path}\" fill=\"{fill}\" stroke=\"#000000\" stroke-width=\"0.9\"/>");
}

/// A thick line around the cells in which every limit holds.
fn frame(out: &mut String, panel: &MapPanel, layout: &Layout, corner: &dyn Fn(usize) -> (f64, f64)) {
    let (w, h) = layout.cell;
    let (columns, rows) = (panel.xs.len(), panel.ys.len());
    let holds = |x: Option<usize>, y: Option<usize>| match (x, y) {
        (Some(x), Some(y)) if x < columns && y < rows => {
            panel.cells[y * columns + x].mark == CellMark::Within
        }
        _ => false,
    };
    let mut path = String::new();
    for i in (0..panel.cells.len()).filter(|i| panel.cells[*i].mark == CellMark::Within) {
        let (x, y) = (i % columns, i / columns);
        let (a, b) = corner(i);
        let mut side = |open: bool, from: (f64, f64), to: (f64, f64)| {
            if open {
                let _ = write!(path, "M{:.1} {:.1}L{:.1} {:.1}", from.0, from.1, to.0, to.1);
            }
        };
        side(!holds(x.checked_sub(1), Some(y)), (a, b), (a, b + h));
        side(!holds(Some(x + 1), Some(y)), (a + w, b), (a + w, b + h));
        side(!holds(Some(x), Some(y + 1)), (a, b), (a + w, b));
        side(!holds(Some(x), y.checked_sub(1)), (a, b + h), (a + w, b + h));
    }
    if !path.is_empty() {
        let _ = writeln!(
            out,
            "<path d=\"{path}\" fill=\"none\" stroke=\"#000000\" stroke-width=\"2.4\" stroke-linecap=\"square\"/>"
        );
    }
}

/// Values along both axes; every second or further one where there are many.
fn numbers(out: &mut String, panel: &MapPanel, layout: &Layout, (left, top): (f64, f64)) {
    let (w, h) = layout.cell;
    let rows = panel.ys.len();
    let every = |n: usize, size: f64, least: f64| ((least / size).ceil() as usize).clamp(1, n.max(1));
    // a value that is each scenario's own has no number
    let number = |v: f64| if v.is_nan() { String::new() } else { format!("{}", (v * 10.0).round() / 10.0) };
    for (i, v) in panel.xs.iter().enumerate().step_by(every(panel.xs.len(), w, 40.0)) {
        let at = (left + w * (i as f64 + 0.5), top + h * rows as f64 + 17.0);
        text(out, at, TEXT, "middle", false, &number(*v));
    }
    for (i, v) in panel.ys.iter().enumerate().step_by(every(rows, h, 20.0)) {
        let at = (left - 6.0, top + h * (rows as f64 - 0.5 - i as f64) + 5.0);
        text(out, at, TEXT, "end", false, &number(*v));
    }
}

fn axis_labels(out: &mut String, map: &Map, layout: &Layout) {
    let across = map.panels.len().min(layout.across) as f64;
    let below = layout.legend - LINE - 4.0;
    text(out, (LEFT + 0.5 * (layout.pitch.0 * across - LEFT), below), TEXT, "middle", false, &map.x_label);
    let middle = 0.5 * (layout.top + below - BELOW - 12.0);
    let _ = writeln!(
        out,
        "<text transform=\"translate(18 {middle:.1}) rotate(-90)\" font-size=\"{TEXT}\" text-anchor=\"middle\">{}</text>",
        escaped(&map.y_label)
    );
}

/// Below the cells: how to read them, the marks, the letters.
fn legend(out: &mut String, map: &Map, layout: &Layout) {
    let left = MARGIN;
    let mut y = layout.legend + 10.0;
    for line in &layout.reading {
        text(out, (left, y), TEXT, "start", false, line);
        y += LINE;
    }
    let marks = [CellMark::Within, CellMark::Doubtful, CellMark::Outside].into_iter().zip(map.marks);
    for (mark, meaning) in marks.filter(|_| layout.cell.0 >= MARKED) {
        shape(out, mark, (left + 10.0, y - 5.0), 4.0);
        text(out, (left + 27.0, y), TEXT, "start", false, meaning);
        y += LINE;
    }
    for (i, (letter, label)) in map.letters.iter().enumerate() {
        let _ = writeln!(
            out,
            "<rect x=\"{left:.1}\" y=\"{:.1}\" width=\"20\" height=\"14\" fill=\"{}\"/>",
            y - 12.0,
            tint(Some(i), 0.6)
        );
        text(out, (left + 10.0, y), TEXT, "middle", false, &letter.to_string());
        text(out, (left + 27.0, y), TEXT, "start", false, label);
        y += LINE;
    }
}

/// A limit's colour mixed with white; grey where nothing limits.
fn tint(number: Option<usize>, strength: f64) -> String {
    let colour = number.map_or([150, 150, 150], |i| COLOURS[i % COLOURS.len()]);
    // black at full strength would hide its letter
    let strength = if colour == [0, 0, 0] { 0.5 * strength } else { strength };
    let mix = |c: u8| (255.0 - strength * (255.0 - f64::from(c))).round() as u8;
    let [r, g, b] = colour.map(mix);
    format!("#{r:02x}{g:02x}{b:02x}")
}
