//! The legend of a panel: every curve, band, limit and span that is drawn, with a sample of it.

use plotters::prelude::{Color, FontStyle, Rectangle};
use plotters::style::text_anchor::HPos;

use super::plot_canvas::{BAND, Drawn, Root, SPAN, circle, failed, line, text};
use super::plot_labels::Point;
use super::plot_style::{
    CURVE, CurveStyle, INK, LEFT, LIMIT_STYLE, LIMIT_WIDTH, LINE, MARGIN, TEXT, WIDTH, style_of, text_width,
};
use crate::findings::{Panel, Series, Span};

/// Length of a sample.
const KEY: i32 = 380;

/// What a sample shows.
enum Sample {
    Curve(&'static CurveStyle),
    Band(&'static CurveStyle),
    Limit,
    Span(usize),
    Measured,
}

/// What is drawn, with its names.
fn entries<'a>(panel: &'a Panel, spans: &'a [Span]) -> Vec<(&'a str, Sample)> {
    let drawn = |s: &Series| s.points.iter().any(|p| p.0.is_finite() && p.1.is_finite());
    let series = panel.series.iter().enumerate().filter(|(_, s)| !s.label.is_empty() && drawn(s));
    let series = series.map(|(i, s)| (s.label.as_str(), Sample::Curve(style_of(panel, i))));
    let bands = panel.bands.iter().map(|b| (b.label.as_str(), Sample::Band(style_of(panel, b.around))));
    let measured = panel.marks.iter().any(|m| m.label.is_empty()).then_some(("measured", Sample::Measured));
    let limit = panel.limits.is_some().then_some(("limit", Sample::Limit));
    let spans = spans.iter().enumerate().map(|(i, s)| (s.label.as_str(), Sample::Span(i)));
    measured.into_iter().chain(series).chain(bands).chain(limit).chain(spans).collect()
}

/// Starts of the entries: beside the heading if all have room there, else in rows below it.
pub(super) fn places(panel: &Panel, spans: &[Span], heading: Point) -> Vec<Point> {
    let entries = entries(panel, spans);
    let widths: Vec<i32> = entries.iter().map(|e| KEY + 60 + text_width(e.0, TEXT) + 120).collect();
    let right = WIDTH - MARGIN + 120;
    let beside = heading.0 + text_width(&panel.y_label, TEXT) * 11 / 10 + 160;
    let mut at =
        if beside + widths.iter().sum::<i32>() <= right { (beside, heading.1) } else { (right, heading.1) };
    let mut keys = Vec::new();
    for width in widths {
        if at.0 + width > right {
            at = (LEFT, at.1 + LINE);
        }
        keys.push(at);
        at.0 += width;
    }
    keys
}

/// Draws samples and names.
pub(super) fn draw_legend(root: &Root, panel: &Panel, spans: &[Span], keys: &[Point]) -> Drawn {
    for (&(x, y), (label, sample)) in keys.iter().zip(entries(panel, spans)) {
        let corners = [(x, y - TEXT / 2), (x + KEY, y + TEXT / 2)];
        let across = vec![(x, y), (x + KEY, y)];
        match sample {
            Sample::Curve(style) => line(root, across, style.colour, CURVE)?,
            Sample::Limit => line(root, across, LIMIT_STYLE.colour, LIMIT_WIDTH)?,
            Sample::Measured => circle(root, (x + KEY / 2, y))?,
            Sample::Band(style) => {
                root.draw(&Rectangle::new(corners, style.colour.mix(BAND).filled())).map_err(failed)?;
            }
            Sample::Span(i) => {
                // as dark as it lies on those before it
                for _ in 0..=i {
                    root.draw(&Rectangle::new(corners, INK.mix(SPAN).filled())).map_err(failed)?;
                }
            }
        }
        text(root, label, (x + KEY + 60, y), TEXT, INK, (FontStyle::Normal, HPos::Left))?;
    }
    Ok(())
}
