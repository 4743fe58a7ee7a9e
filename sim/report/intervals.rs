//! Intervals as SVG: a bar from the lower to the upper end, a stroke in the middle, the allowed range shaded.

use std::fmt::Write as _;

use super::svg_text::{CHARACTER, FONT, text, wrapped};
use super::text::escaped;
use crate::findings::{Interval, Intervals};

/// Width: that of plots, 148 mm on A5.
const WIDTH: f64 = 720.0;
const MARGIN: f64 = 14.0;
/// Sizes of text: the title, names, and notes, whose capitals are 1.8 mm high on A5.
const TITLE: f64 = 19.0;
const TEXT: f64 = 14.0;
const SMALL: f64 = 12.5;
/// Left and right end of the scales.
const SCALE: (f64, f64) = (232.0, 520.0);
const LINE: f64 = 18.0;
/// Distance of lines in a row, the least height of a row, and the space below it.
const ROW_LINE: f64 = 15.0;
const ROW: f64 = 44.0;
const GAP: f64 = 6.0;
/// Share of the scale left free at both ends, for the numbers.
const FREE: f64 = 0.18;

/// The picture as one SVG document.
///
/// ```
/// use kneedamp::findings::{Interval, Intervals};
/// let row = Interval { label: "time".into(), unit: "s".into(), values: [1.0, 2.0, 3.0], ..Interval::default() };
/// let svg = kneedamp::report::intervals::svg(&Intervals { rows: vec![row], ..Intervals::default() });
/// assert!(svg.contains(">time<"));
/// ```
#[must_use]
pub fn svg(found: &Intervals) -> String {
    let lines = |of: &[String]| -> Vec<String> {
        of.iter().flat_map(|l| wrapped(l, WIDTH - 2.0 * MARGIN, TEXT)).collect()
    };
    let (inputs, reading) = (lines(&found.inputs), lines(&found.reading));
    let titles = wrapped(&found.title, WIDTH - 2.0 * MARGIN, TITLE * BOLD);
    let first = 28.0 + 24.0 * titles.len() as f64;
    let top = first + LINE * (inputs.len() + reading.len()) as f64 + 14.0;
    let rows: Vec<RowText> = found.rows.iter().map(RowText::of).collect();
    let height = (top + rows.iter().map(|r| r.height + GAP).sum::<f64>() + 34.0).ceil();
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{WIDTH:.0}\" height=\"{height:.0}\" \
         viewBox=\"0 0 {WIDTH:.0} {height:.0}\" {FONT} role=\"img\">\n<title>{}</title>\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>\n",
        escaped(&found.title)
    );
    for (i, line) in titles.iter().enumerate() {
        text(&mut out, (MARGIN, 28.0 + 24.0 * i as f64), TITLE, "start", true, line);
    }
    for (i, line) in inputs.iter().chain(&reading).enumerate() {
        text(&mut out, (MARGIN, first + LINE * i as f64), TEXT, "start", false, line);
    }
    let mut y = top;
    for (row, words) in found.rows.iter().zip(&rows) {
        draw(&mut out, row, words, y);
        y += words.height + GAP;
    }
    text(&mut out, (MARGIN, height - 12.0), TEXT, "start", false, crate::CAUTION_SHORT);
    out.push_str("</svg>\n");
    out
}

/// The words of a row in lines, and the height that they take.
struct RowText {
    label: Vec<String>,
    beside: Vec<String>,
    height: f64,
}

impl RowText {
    fn of(row: &Interval) -> Self {
        let label = wrapped(&row.label, SCALE.0 - MARGIN - 8.0, TEXT * BOLD);
        let room = WIDTH - MARGIN - SCALE.1 - 10.0;
        let beside: Vec<String> =
            [&row.holds, &row.note].into_iter().flat_map(|t| wrapped(t, room, SMALL)).collect();
        let lines = label.len().max(beside.len()) as f64;
        Self { height: ROW.max(ROW_LINE * lines + 6.0), label, beside }
    }
}

/// Bold text is wider than ordinary text.
const BOLD: f64 = 1.05;

fn draw(out: &mut String, row: &Interval, words: &RowText, top: f64) {
    let [low, middle, high] = row.values;
    let (least, most) = row.allowed.unwrap_or_default();
    let ends = [Some(low), Some(high), least, most].into_iter().flatten();
    let (from, to) = ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
    let span = if to > from { to - from } else { from.abs().max(1.0) };
    let free = FREE / (1.0 - 2.0 * FREE) * span;
    let at = |v: f64| SCALE.0 + (v - from + free) / (span + 2.0 * free) * (SCALE.1 - SCALE.0);
    let rect = |out: &mut String, (x0, x1): (f64, f64), (y, h): (f64, f64), paint: &str| {
        let _ = writeln!(
            out,
            "<rect x=\"{x0:.1}\" y=\"{y:.1}\" width=\"{:.1}\" height=\"{h:.1}\" {paint}/>",
            (x1 - x0).max(0.0)
        );
    };
    rect(out, SCALE, (top, words.height), "fill=\"#f4f4f4\"");
    if row.allowed.is_some() {
        let zone = (least.map_or(SCALE.0, at), most.map_or(SCALE.1, at));
        rect(out, zone, (top, words.height), "fill=\"#bfe3d7\"");
        for x in [least, most].into_iter().flatten().map(at) {
            rect(out, (x - 0.75, x + 0.75), (top, words.height), "fill=\"#00664b\"");
        }
    }
    let bar = (at(low) - 1.0, at(high) + 1.0);
    rect(out, bar, (top + 13.0, 9.0), "fill=\"#0072b2\"");
    let centre = at(middle);
    rect(out, (centre - 1.5, centre + 1.5), (top + 8.0, 19.0), "fill=\"#000000\"");
    let number = |v: f64| {
        // no minus before a rounded zero
        let unit = 10_f64.powi(row.decimals as i32);
        format!("{:.*}", row.decimals, (v * unit).round() / unit + 0.0).replace('-', "\u{2212}")
    };
    // numbers stand inside the shaded scale, also at its ends
    let at_end = |x: f64, said: &str| x.clamp(SCALE.0 + width(said), SCALE.1 - width(said));
    let (low, high) = (number(low), number(high));
    text(out, (at_end(bar.0 - 4.0, &low), top + 22.0), SMALL, "end", false, &low);
    text(out, (at_end(bar.1 + 4.0, &high), top + 22.0), SMALL, "start", false, &high);
    text(out, (centre, top + 40.0), SMALL, "middle", false, &format!("{} {}", number(middle), row.unit));
    for (line, i) in words.label.iter().zip(1..) {
        text(out, (MARGIN, top + ROW_LINE * f64::from(i)), TEXT, "start", true, line);
    }
    for (line, i) in words.beside.iter().zip(1..) {
        text(out, (SCALE.1 + 10.0, top + ROW_LINE * f64::from(i)), SMALL, "start", false, line);
    }
}

fn width(said: &str) -> f64 {
    SMALL * CHARACTER * said.chars().count() as f64
}
