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
/// Left of the cells: axis label and numbers.
const LEFT: f64 = 62.0;
/// Below the cells: numbers.
const BELOW: f64 = 22.0;
/// The legend is at least this wide.
const LEGEND: f64 = 385.0;
/// Panels beside each other are at least this wide, for their titles.
const PANEL: f64 = 130.0;
const LINE: f64 = 17.0;
/// Half the size of the mark.
const MARK: f64 = 5.5;
/// Between rows of panels: the title of the next.
const PANEL_TITLE: f64 = 34.0;

/// Positions and sizes.
struct Layout {
    /// Size of a cell.
    cell: (f64, f64),
    /// Panels side by side.
    across: usize,
    /// From the left of a panel's cells to the next one's.
    pitch: (f64, f64),
    top: f64,
    size: (f64, f64),
    /// Lines of the inputs, wrapped.
    inputs: Vec<String>,
    /// Lines on how to read it, wrapped.
    reading: Vec<String>,
    legend_width: f64,
}

/// The map as one SVG document.
#[must_use]
pub fn svg(map: &Map) -> String {
    let layout = Layout::of(map);
    let (width, height) = layout.size;
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width:.0}\" height=\"{height:.0}\" \
         viewBox=\"0 0 {width:.0} {height:.0}\" {FONT}>\n<title>{}</title>\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>\n",
        escaped(&map.title)
    );
    text(&mut out, (16.0, 28.0), 17.0, "start", true, &map.title);
    for (i, line) in layout.inputs.iter().enumerate() {
        text(&mut out, (16.0, 48.0 + LINE * i as f64), 12.0, "start", false, line);
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
    text(&mut out, (16.0, height - 12.0), 11.0, "start", false, crate::CAUTION_SHORT);
    out.push_str("</svg>\n");
    out
}

impl Layout {
    fn of(map: &Map) -> Self {
        let most = |f: fn(&MapPanel) -> usize| map.panels.iter().map(f).max().unwrap_or(1).max(1) as f64;
        let (columns, rows) = (most(|p| p.xs.len()), most(|p| p.ys.len()));
        let notes = map.panels.iter().flat_map(|p| &p.cells).map(|c| c.note.chars().count()).max();
        let across = if map.panels.len() > 1 { 2 } else { 1 };
        // small cells carry their letter only
        let least = if columns > 30.0 { 13.0 } else { 30.0 };
        let wanted = if columns > 30.0 { 0.0 } else { 8.5 * CHARACTER * notes.unwrap_or(0) as f64 + 8.0 };
        let titled = if map.panels.len() > 1 { PANEL / columns } else { 0.0 };
        let down = map.panels.len().div_ceil(across).max(1) as f64;
        // a small grid is stretched until the labels of its axes fit beside it
        let label = |text: &str, cells: f64| 12.0 * CHARACTER * text.chars().count() as f64 / cells;
        let cell = (
            wanted.max(least).max(titled).max(label(&map.x_label, columns * across as f64)),
            least.max(label(&map.y_label, rows * down)),
        );
        let longest = map.letters.iter().map(|l| l.1.chars().count()).max().unwrap_or(0);
        let legend_width = LEGEND.max(12.0 * CHARACTER * longest as f64 + 40.0);
        let below = BELOW + if map.panels.len() > 1 { PANEL_TITLE } else { 6.0 };
        let pitch = (cell.0 * columns + LEFT, cell.1 * rows + below);
        let width = 16.0 + pitch.0 * across as f64 + legend_width;
        let inputs: Vec<String> =
            map.inputs.iter().flat_map(|line| wrapped(line, width - 32.0, 12.0)).collect();
        let top = 48.0 + LINE * inputs.len() as f64 + if map.panels.len() > 1 { 22.0 } else { 8.0 };
        let cells = top + pitch.1 * down + 34.0;
        let reading: Vec<String> =
            map.reading.iter().flat_map(|line| wrapped(line, legend_width - 22.0, 12.0)).collect();
        let legend = top + LINE * (map.letters.len() + reading.len() + map.marks.len() + 3) as f64 + 30.0;
        Self {
            cell,
            across,
            pitch,
            top,
            size: (width, cells.max(legend) + 14.0),
            inputs,
            reading,
            legend_width,
        }
    }
}

fn draw_panel(out: &mut String, map: &Map, panel: &MapPanel, layout: &Layout, (left, top): (f64, f64)) {
    let (w, h) = layout.cell;
    let rows = panel.ys.len();
    if !panel.title.is_empty() {
        text(out, (left, top - 8.0), 13.0, "start", true, &panel.title);
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
        let small = h < 20.0;
        let letter = cell.letter.to_string();
        let (size, down) = if small { (9.0, 0.72) } else { (12.0, 0.47) };
        text(out, (x + 0.5 * w, y + down * h), size, "middle", cell.mark == CellMark::Within, &letter);
        let radius = if small { 1.8 } else { 3.2 };
        shape(out, cell.mark, (x + 1.6 * radius, y + 1.6 * radius), radius);
        if !small {
            text(out, (x + 0.5 * w, y + 0.87 * h), 8.5, "middle", false, &cell.note);
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
        let aside = if h < 20.0 { (0.5, 0.5) } else { (0.82, 0.72) };
        let (x, y) = (left + w * (x + aside.0), top + h * (rows as f64 - aside.1 - y));
        let _ = writeln!(
            out,
            "<path d=\"M{:.1} {y:.1}L{x:.1} {:.1}L{:.1} {y:.1}L{x:.1} {:.1}Z\" fill=\"#000000\" stroke=\"#ffffff\" stroke-width=\"1.5\"/>",
            x - MARK,
            y - MARK,
            x + MARK,
            y + MARK
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
    let number = |v: f64| if v.is_nan() { "own".into() } else { format!("{}", (v * 10.0).round() / 10.0) };
    for (i, v) in panel.xs.iter().enumerate().step_by(every(panel.xs.len(), w, 34.0)) {
        let at = (left + w * (i as f64 + 0.5), top + h * rows as f64 + 15.0);
        text(out, at, 11.0, "middle", false, &number(*v));
    }
    for (i, v) in panel.ys.iter().enumerate().step_by(every(rows, h, 18.0)) {
        let at = (left - 6.0, top + h * (rows as f64 - 0.5 - i as f64) + 4.0);
        text(out, at, 11.0, "end", false, &number(*v));
    }
}

fn axis_labels(out: &mut String, map: &Map, layout: &Layout) {
    let down = map.panels.len().div_ceil(layout.across) as f64;
    let across = map.panels.len().min(layout.across) as f64;
    let gap = if map.panels.len() > 1 { PANEL_TITLE } else { 0.0 };
    let bottom = layout.top + layout.pitch.1 * down + 14.0 - 0.7 * gap;
    text(out, (LEFT + 0.5 * (layout.pitch.0 * across - LEFT), bottom), 12.0, "middle", false, &map.x_label);
    let middle = layout.top + 0.5 * (layout.pitch.1 * down - BELOW - gap);
    let _ = writeln!(
        out,
        "<text transform=\"translate(18 {middle:.1}) rotate(-90)\" font-size=\"12\" text-anchor=\"middle\">{}</text>",
        escaped(&map.y_label)
    );
}

fn legend(out: &mut String, map: &Map, layout: &Layout) {
    let left = layout.size.0 - layout.legend_width + 6.0;
    let mut y = layout.top + 10.0;
    for line in &layout.reading {
        text(out, (left, y), 12.0, "start", false, line);
        y += LINE;
    }
    y += 8.0;
    for (mark, meaning) in
        [CellMark::Within, CellMark::Doubtful, CellMark::Outside].into_iter().zip(map.marks)
    {
        shape(out, mark, (left + 10.0, y - 4.0), 3.2);
        text(out, (left + 27.0, y), 12.0, "start", false, meaning);
        y += LINE;
    }
    for (i, (letter, label)) in map.letters.iter().enumerate() {
        let _ = writeln!(
            out,
            "<rect x=\"{left:.1}\" y=\"{:.1}\" width=\"20\" height=\"14\" fill=\"{}\"/>",
            y - 11.0,
            tint(Some(i), 0.6)
        );
        text(out, (left + 10.0, y), 12.0, "middle", false, &letter.to_string());
        text(out, (left + 27.0, y), 12.0, "start", false, label);
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
