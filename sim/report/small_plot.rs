//! One panel as a small SVG for the sheet: few ticks, the legend in rows above the axes. Units are points: the style sheet
//! gives it its width on paper.

use std::fmt::Write as _;

use super::plot_style::{style_of, tick};
use super::svg_text::text;
use super::text::escaped;
use crate::findings::{Band, Panel, Plot};

const SIZE: (f64, f64) = (197.0, 133.0);
/// Left, top, right, bottom of the axes.
const FRAME: [f64; 4] = [22.0, 38.0, 193.0, 109.0];
/// Sizes of the title and of all other text.
const TITLE: f64 = 9.0;
const TEXT: f64 = 8.5;
/// Width of a legend's sample, and distance of its rows.
const KEY: f64 = 17.0;
const ROW: f64 = 11.0;

/// The first panel of a plot; empty if it has no point.
#[must_use]
pub fn svg(plot: &Plot) -> String {
    let Some(panel) = plot.panels.first() else { return String::new() };
    let all = |pick: fn(&(f64, f64)) -> f64| {
        let series = panel.series.iter().flat_map(|s| s.points.iter().copied());
        let bands = panel.bands.iter().flat_map(|b| b.points.iter().map(|p| (p.0, p.2)));
        let values = series.chain(bands).map(|p| pick(&p)).filter(|v| v.is_finite());
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)))
    };
    let (x, y) = (all(|p| p.0), all(|p| p.1));
    if !(x.0 < x.1 && y.0 <= y.1) {
        return String::new();
    }
    let y = (y.0.min(0.0), y.1.max(y.0.min(0.0) + 1.0) * 1.08);
    let [left, top, right, bottom] = FRAME;
    let to = |p: (f64, f64)| {
        let across = left + (p.0 - x.0) / (x.1 - x.0) * (right - left);
        (across, bottom - (p.1 - y.0) / (y.1 - y.0) * (bottom - top))
    };
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {} {}\" role=\"img\" \
         font-family=\"Helvetica, Arial, sans-serif\"><title>{}</title>\n",
        SIZE.0,
        SIZE.1,
        escaped(&plot.title)
    );
    text(&mut out, (0.0, 9.0), TITLE, "start", true, &plot.title);
    axes(&mut out, x, y, &to);
    for band in &panel.bands {
        draw_band(&mut out, band, y, &to);
    }
    for (series, style) in panel.series.iter().enumerate().map(|(i, s)| (s, style_of(panel, i))) {
        let points: Vec<String> = series
            .points
            .iter()
            .filter(|p| p.0.is_finite() && p.1.is_finite())
            .map(|p| to(*p))
            .map(|p| format!("{:.1},{:.1}", p.0, p.1))
            .collect();
        let _ = writeln!(
            out,
            "<polyline points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"1.2\" stroke-dasharray=\"{}\"/>",
            points.join(" "),
            style.hex(),
            style.small_dashes()
        );
    }
    legend(&mut out, panel);
    let axis = format!(
        "<polyline points=\"{left},{top} {left},{bottom} {right},{bottom}\" fill=\"none\" stroke=\"#222222\"/>\n"
    );
    out.push_str(&axis);
    text(&mut out, (0.5 * (left + right), SIZE.1 - 3.0), TEXT, "middle", false, &plot.x_label);
    out.push_str("</svg>\n");
    out
}

/// A step of 1, 2 or 5 times a power of ten that gives at most six ticks.
fn step(span: f64) -> f64 {
    let unit = 10_f64.powf((span / 6.0).log10().floor());
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|k| k * unit).find(|s| span / s <= 6.0).unwrap_or(span)
}

fn axes(out: &mut String, x: (f64, f64), y: (f64, f64), to: &dyn Fn((f64, f64)) -> (f64, f64)) {
    let [left, top, right, bottom] = FRAME;
    let ticks = |(low, high): (f64, f64)| {
        let step = step(high - low);
        let (first, last) = ((low / step).ceil() as i32, (high / step).floor() as i32);
        (first..=last).map(move |i| f64::from(i) * step)
    };
    for v in ticks(y) {
        let at = to((x.0, v)).1;
        let _ = writeln!(
            out,
            "<line x1=\"{left}\" x2=\"{right}\" y1=\"{at:.1}\" y2=\"{at:.1}\" stroke=\"#dddddd\" stroke-width=\"0.6\"/>"
        );
        text(out, (left - 3.0, at + 3.0), TEXT, "end", false, &tick(&v));
    }
    for v in ticks(x) {
        let at = to((v, y.0)).0;
        let _ = writeln!(
            out,
            "<line x1=\"{at:.1}\" x2=\"{at:.1}\" y1=\"{top}\" y2=\"{bottom}\" stroke=\"#dddddd\" stroke-width=\"0.6\"/>"
        );
        text(out, (at, bottom + 9.5), TEXT, "middle", false, &tick(&v));
    }
}

fn draw_band(out: &mut String, band: &Band, y: (f64, f64), to: &dyn Fn((f64, f64)) -> (f64, f64)) {
    let lower = band.points.iter().map(|p| (p.0, p.1));
    let upper = band.points.iter().rev().map(|p| (p.0, p.2));
    let around: Vec<String> = lower
        .chain(upper)
        .map(|p| to((p.0, p.1.clamp(y.0, y.1))))
        .map(|p| format!("{:.1},{:.1}", p.0, p.1))
        .collect();
    let _ =
        writeln!(out, "<polygon points=\"{}\" fill=\"#000000\" fill-opacity=\"{BAND}\"/>", around.join(" "));
}

/// The legend in rows above the axes: curves, then bands.
fn legend(out: &mut String, panel: &Panel) {
    let curves = panel.series.iter().enumerate().map(|(i, s)| (s.label.as_str(), Some(style_of(panel, i))));
    let bands = panel.bands.iter().map(|b| (b.label.as_str(), None));
    let (mut at, mut y) = (0.0, 20.0);
    for (label, style) in curves.chain(bands).filter(|e| !e.0.is_empty()) {
        let width = KEY + 9.0 + 4.2 * label.chars().count() as f64;
        if at + width > SIZE.0 + 6.0 {
            (at, y) = (0.0, y + ROW);
        }
        let (end, middle) = (at + KEY, y - 3.0);
        let _ = match style {
            Some(style) => writeln!(
                out,
                "<line x1=\"{at:.1}\" x2=\"{end:.1}\" y1=\"{middle}\" y2=\"{middle}\" stroke=\"{}\" stroke-width=\"1.3\" stroke-dasharray=\"{}\"/>",
                style.hex(),
                style.small_dashes()
            ),
            None => writeln!(
                out,
                "<rect x=\"{at:.1}\" y=\"{}\" width=\"{KEY}\" height=\"7\" fill=\"#000000\" fill-opacity=\"{BAND}\"/>",
                y - 7.0
            ),
        };
        text(out, (end + 3.0, y), TEXT, "start", false, label);
        at += width;
    }
}

/// Opacity of a band.
const BAND: f64 = 0.14;
