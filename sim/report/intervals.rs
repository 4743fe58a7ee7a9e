//! Intervals as SVG: a bar from the lower to the upper end, a stroke in the middle, the allowed range shaded.

use std::fmt::Write as _;

use super::svg_text::{CHARACTER, FONT, text, wrapped};
use super::text::escaped;
use crate::findings::{Interval, Intervals};

const WIDTH: f64 = 860.0;
const MARGIN: f64 = 16.0;
/// Left and right end of the scales.
const SCALE: (f64, f64) = (300.0, 640.0);
const LINE: f64 = 17.0;
const ROW: f64 = 50.0;
/// Share of the scale left free at both ends, for the numbers.
const FREE: f64 = 0.17;

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
        of.iter().flat_map(|l| wrapped(l, WIDTH - 2.0 * MARGIN, 12.0)).collect()
    };
    let (inputs, reading) = (lines(&found.inputs), lines(&found.reading));
    let top = 48.0 + LINE * (inputs.len() + reading.len()) as f64 + 16.0;
    let height = top + ROW * found.rows.len() as f64 + 34.0;
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{WIDTH:.0}\" height=\"{height:.0}\" \
         viewBox=\"0 0 {WIDTH:.0} {height:.0}\" {FONT} role=\"img\">\n<title>{}</title>\n\
         <rect width=\"100%\" height=\"100%\" fill=\"#ffffff\"/>\n",
        escaped(&found.title)
    );
    text(&mut out, (MARGIN, 28.0), 17.0, "start", true, &found.title);
    for (i, line) in inputs.iter().chain(&reading).enumerate() {
        text(&mut out, (MARGIN, 48.0 + LINE * i as f64), 12.0, "start", false, line);
    }
    for (i, row) in found.rows.iter().enumerate() {
        draw(&mut out, row, top + ROW * i as f64);
    }
    text(&mut out, (MARGIN, height - 12.0), 11.0, "start", false, crate::CAUTION_SHORT);
    out.push_str("</svg>\n");
    out
}

fn draw(out: &mut String, row: &Interval, top: f64) {
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
    rect(out, SCALE, (top, ROW - 6.0), "fill=\"#f4f4f4\"");
    if row.allowed.is_some() {
        let zone = (least.map_or(SCALE.0, at), most.map_or(SCALE.1, at));
        rect(out, zone, (top, ROW - 6.0), "fill=\"#bfe3d7\"");
        for x in [least, most].into_iter().flatten().map(at) {
            rect(out, (x - 0.75, x + 0.75), (top, ROW - 6.0), "fill=\"#00664b\"");
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
    text(out, (bar.0 - 4.0, top + 22.0), 11.0, "end", false, &number(low));
    text(out, (bar.1 + 4.0, top + 22.0), 11.0, "start", false, &number(high));
    text(out, (centre, top + 39.0), 11.0, "middle", false, &format!("{} {}", number(middle), row.unit));
    let width = SCALE.0 - MARGIN - 10.0;
    let mut y = top + 14.0;
    for line in wrapped(&row.label, width, 13.0).into_iter().take(2) {
        text(out, (MARGIN, y), 13.0, "start", true, &line);
        y += 14.0;
    }
    text(out, (MARGIN, y.max(top + 30.0)), 11.0, "start", false, &row.note);
    let holds = wrapped(&row.holds, WIDTH - MARGIN - SCALE.1 - 12.0, 12.0 * 0.5 / CHARACTER);
    for (i, line) in holds.into_iter().take(3).enumerate() {
        text(out, (SCALE.1 + 12.0, top + 14.0 + 14.0 * i as f64), 12.0, "start", false, &line);
    }
}
