//! What every part of a plot is drawn with: lines, texts, circles, shades.

use plotters::coord::Shift;
use plotters::element::PathElement;
use plotters::prelude::{
    Circle, Color, DrawingArea, FontDesc, FontFamily, FontStyle, IntoTextStyle, RGBColor, SVGBackend, Text,
};
use plotters::style::text_anchor::{HPos, Pos, VPos};

use super::plot_labels::Point;
use super::plot_style::INK;
use crate::error::SimError;

/// The canvas.
pub(super) type Root<'a> = DrawingArea<SVGBackend<'a>, Shift>;
/// The drawing crate's errors as ours.
pub(super) type Drawn = Result<(), SimError>;

/// Opacity of a band.
pub(super) const BAND: f64 = 0.22;

/// Opacity of a span; one within another lies on top of it.
pub(super) const SPAN: f64 = 0.08;

pub(super) fn refused(why: String) -> SimError {
    SimError::Inconsistent { field: "plot".into(), why }
}

pub(super) fn failed(e: impl std::fmt::Display) -> SimError {
    refused(e.to_string())
}

/// A measured point.
pub(super) fn circle(root: &Root, at: Point) -> Drawn {
    root.draw(&Circle::new(at, 34, INK.stroke_width(9))).map_err(failed)
}

pub(super) fn line(root: &Root, points: Vec<Point>, colour: RGBColor, width: u32) -> Drawn {
    root.draw(&PathElement::new(points, colour.stroke_width(width))).map_err(failed)
}

/// The drawing crate divides sizes by 1.24.
pub(super) fn font(size: i32, style: FontStyle) -> FontDesc<'static> {
    FontDesc::new(FontFamily::SansSerif, 1.24 * f64::from(size), style)
}

pub(super) fn text(
    root: &Root,
    what: &str,
    at: Point,
    size: i32,
    colour: RGBColor,
    how: (FontStyle, HPos),
) -> Drawn {
    let style = font(size, how.0).into_text_style(root).color(&colour).pos(Pos::new(how.1, VPos::Center));
    root.draw(&Text::new(what, at, style)).map_err(failed)
}
