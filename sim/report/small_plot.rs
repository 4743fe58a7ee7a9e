//! One panel as a small SVG for the sheet: few ticks, the legend in one row above the axes.

use std::fmt::Write as _;

use super::plot_style::{style_of, tick};
use super::svg_text::text;
use super::text::escaped;
use crate::findings::{Band, Panel, Plot};

const SIZE: (f64, f64) = (360.0, 190.0);
/// Left, top, right, bottom of the axes.
const FRAME: [f64; 4] = [34.0, 34.0, 352.0, 158.0];
/// Width of a legend's sample.
const KEY: f64 = 20.0;

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
    text(&mut out, (2.0, 12.0), 11.0, "start", true, &plot.title);
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
            "<polyline points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"1.6\" stroke-dasharray=\"{}\"/>",
            points.join(" "),
            style.hex(),
            style.small_dashes()
        );
    }
    legend(&mut out, panel);
    text(&mut out, (right, top + 9.0), 9.0, "end", false, &panel.y_label);
    band_names(&mut out, panel);
    text(&mut out, (0.5 * (left + right), SIZE.1 - 3.0), 9.5, "middle", false, &plot.x_label);
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
        text(out, (left - 4.0, at + 3.2), 9.0, "end", false, &tick(&v));
    }
    for v in ticks(x) {
        let at = to((v, y.0)).0;
        let _ = writeln!(
            out,
            "<line x1=\"{at:.1}\" x2=\"{at:.1}\" y1=\"{top}\" y2=\"{bottom}\" stroke=\"#dddddd\" stroke-width=\"0.6\"/>"
        );
        text(out, (at, bottom + 11.0), 9.0, "middle", false, &tick(&v));
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
        writeln!(out, "<polygon points=\"{}\" fill=\"#000000\" fill-opacity=\"0.12\"/>", around.join(" "));
}

/// The legend in a row above the axes.
fn legend(out: &mut String, panel: &Panel) {
    let mut at = FRAME[0];
    for (series, style) in panel.series.iter().enumerate().map(|(i, s)| (s, style_of(panel, i))) {
        let _ = writeln!(
            out,
            "<line x1=\"{at:.1}\" x2=\"{:.1}\" y1=\"24\" y2=\"24\" stroke=\"{}\" stroke-width=\"1.8\" stroke-dasharray=\"{}\"/>",
            at + KEY,
            style.hex(),
            style.small_dashes()
        );
        text(out, (at + KEY + 3.0, 27.0), 9.0, "start", false, &series.label);
        at += KEY + 12.0 + 4.9 * series.label.chars().count() as f64;
    }
}

/// Names of bands, right-aligned below the axis name, since the row of the legend has no room for them.
fn band_names(out: &mut String, panel: &Panel) {
    let [_, top, right, _] = FRAME;
    for (i, band) in panel.bands.iter().filter(|b| !b.label.is_empty()).enumerate() {
        let y = top + 21.0 + 12.0 * i as f64;
        text(out, (right, y), 9.0, "end", false, &format!("grey: {}", band.label));
    }
}
