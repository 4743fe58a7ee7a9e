//! A plot as SVG: panels above each other that share x. Text stays text.
//!
//! From top to bottom: title, inputs, then for each panel the name of its y axis, its legend (`plot_legend.rs`) and
//! the axes with numbers. Names of instants stand above the first axes, the name of the x axis and a caution at the foot.

use plotters::coord::types::RangedCoordf64;
use plotters::prelude::{
    Cartesian2d, ChartBuilder, ChartContext, Circle, Color, FontStyle, IntoDrawingArea, Polygon, Rectangle,
    SVGBackend, TRANSPARENT, WHITE,
};
use plotters::style::text_anchor::HPos;

use super::plot_canvas::{BAND, Drawn, Root, SPAN, circle, failed, font, line, refused, text};
use super::plot_labels::{Flag, Point, Rect, flags, names, thinned};
use super::plot_legend::{draw_legend, places};
use super::plot_style::{
    CURVE, CURVE_STYLES, GRID, INK, LEFT, LIMIT_STYLE, LIMIT_WIDTH, LINE, MARGIN, RIGHT, SCALE, SOFT, TEXT,
    TITLE, WIDTH, finish, style_of, text_width, tick, wrap,
};
use crate::error::SimError;
use crate::findings::{Panel, Plot};

/// Height of axes of relative height 1.
const AXES: f64 = 1120.0;
/// Below axes: their numbers.
const NUMBERS: i32 = LINE + 30;
/// With fewer labels a low panel may show its zero alone.
const LEAST_LABELS: i32 = 5;
/// Free space above a panel.
const GAP: i32 = 110;
/// Width for bold text, which is wider than `text_width` assumes.
const BOLD: i32 = (WIDTH - 2 * MARGIN) * 9 / 10;
/// Curves are drawn to this, canvas units: a twentieth of a pixel.
const THINNED_TO: f64 = 0.5;

type Axes<'a, 'b> = ChartContext<'b, SVGBackend<'a>, Cartesian2d<RangedCoordf64, RangedCoordf64>>;

/// The plot as one SVG document.
///
/// ```
/// use kneedamp::findings::{Panel, Plot, Series};
/// let series = Series { label: "square".into(), points: vec![(0.0, 0.0), (1.0, 1.0), (2.0, 4.0)] };
/// let panel = Panel { y_label: "y (m²)".into(), series: vec![series], ..Panel::default() };
/// let plot = Plot { title: "Square".into(), x_label: "x (m)".into(), panels: vec![panel], ..Plot::default() };
/// let svg = kneedamp::report::plot::svg(&plot).unwrap();
/// assert!(svg.contains("y (m²)") && svg.contains("viewBox"));
/// ```
///
/// # Errors
/// No panel, a panel without a point, more curves in a panel than can be told apart.
pub fn svg(plot: &Plot) -> Result<String, SimError> {
    let x = x_range(plot)?;
    let to_canvas = |v: f64| LEFT + ((v - x.0) / (x.1 - x.0) * f64::from(RIGHT - LEFT)).round() as i32;
    let wanted: Vec<(i32, i32)> =
        plot.instants.iter().map(|(t, name)| (to_canvas(*t), text_width(name, TEXT) + TEXT / 2)).collect();
    let flags = flags(&wanted, WIDTH);
    let mut y = GAP;
    let head = [
        (wrap(&plot.title, TITLE, BOLD), TITLE, INK, FontStyle::Bold),
        (wrap(&plot.subtitle, TEXT, WIDTH - 2 * MARGIN), TEXT, SOFT, FontStyle::Normal),
    ];
    let mut texts = Vec::new();
    for (lines, size, colour, style) in head {
        for line in lines {
            texts.push((line, (MARGIN, y + size / 2), size, colour, style));
            y += size + LINE - TEXT;
        }
        y += 40;
    }
    let mut places = Vec::new();
    for (i, panel) in plot.panels.iter().enumerate() {
        y += GAP;
        let place =
            if i == 0 { place(panel, plot, y, &flags)? } else { place(panel, &Plot::default(), y, &[])? };
        y = place.frame.bottom + NUMBERS;
        places.push(place);
    }
    let below = wrap(&plot.x_label, TEXT, BOLD);
    let foot = y + LINE + LINE * below.len() as i32;
    // whole pixels
    let height = (foot + LINE + SCALE - 1) / SCALE * SCALE;

    let mut drawn = String::new();
    {
        let root: Root =
            SVGBackend::with_string(&mut drawn, (WIDTH as u32, height as u32)).into_drawing_area();
        root.fill(&WHITE).map_err(failed)?;
        for (line, at, size, colour, style) in texts {
            text(&root, &line, at, size, colour, (style, HPos::Left))?;
        }
        for (i, (panel, place)) in plot.panels.iter().zip(&places).enumerate() {
            draw_panel(&root, (plot, panel), place, x, &wanted)?;
            draw_legend(&root, panel, if i == 0 { &plot.spans } else { &[] }, &place.keys)?;
        }
        for (flag, (_, name)) in flags.iter().zip(&plot.instants) {
            draw_flag(&root, flag, name, places[0].frame.top)?;
        }
        let middle = if below.len() > 1 { WIDTH / 2 } else { (LEFT + RIGHT) / 2 };
        for (row, words) in (1..).zip(&below) {
            text(&root, words, (middle, y + row * LINE), TEXT, INK, (FontStyle::Bold, HPos::Center))?;
        }
        text(
            &root,
            crate::CAUTION_SHORT,
            (MARGIN, foot + LINE / 4),
            TEXT,
            SOFT,
            (FontStyle::Italic, HPos::Left),
        )?;
        root.present().map_err(failed)?;
    }
    finish(&drawn, height, &plot.title)
}

/// Points of everything in a panel; those that are not finite are gaps.
fn points(panel: &Panel) -> impl Iterator<Item = (f64, f64)> + '_ {
    let series = panel.series.iter().flat_map(|s| s.points.iter().copied());
    let marks = panel.marks.iter().map(|m| m.at);
    let bands = panel.bands.iter().flat_map(|b| b.points.iter().flat_map(|&(x, a, b)| [(x, a), (x, b)]));
    series.chain(marks).chain(bands).filter(|p| p.0.is_finite() && p.1.is_finite())
}

fn range(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    let (low, high) = values.fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), v| (a.min(v), b.max(v)));
    (low <= high).then_some((low, high))
}

/// Instants and spans that lie beyond the curves do not stretch the axis by more than this share.
const STRETCH: f64 = 0.01;

fn x_range(plot: &Plot) -> Result<(f64, f64), SimError> {
    let (mut low, mut high) = range(plot.panels.iter().flat_map(points).map(|p| p.0))
        .ok_or_else(|| refused("there is nothing to draw".into()))?;
    // heel contact at 100 % has its number although the last sample lies before it
    let near = STRETCH * (high - low);
    for (x, _) in &plot.instants {
        if (low - near..=high + near).contains(x) {
            (low, high) = (low.min(*x), high.max(*x));
        }
    }
    let least = 1e-9 * low.abs().max(high.abs()).max(1e-3);
    Ok(if high - low > least { (low, high) } else { (low - 0.5, high + 0.5) })
}

/// With a little room, so that a curve along zero or a peak does not lie on the edge.
fn y_range(panel: &Panel) -> Result<(f64, f64), SimError> {
    let limits = panel.limits.into_iter().flat_map(|(a, b)| [a, b]).flatten();
    let wanted = panel.at_least.into_iter().flat_map(|(a, b)| [a, b]).chain(limits);
    let (mut low, mut high) = range(points(panel).map(|p| p.1).chain(wanted))
        .ok_or_else(|| refused(format!("there is nothing to draw in '{}'", panel.y_label)))?;
    // the axis includes zero if the values are near it
    if low > 0.0 && low <= 0.6 * high {
        low = 0.0;
    } else if high < 0.0 && high >= 0.6 * low {
        high = 0.0;
    }
    let span = if high > low { high - low } else { low.abs().max(1.0) };
    // room for the names of marks above them
    let above = if panel.marks.is_empty() { 0.07 } else { 0.16 };
    Ok((low - 0.07 * span, high + above * span))
}

/// Positions of a panel and its legend.
struct Place {
    heading: Point,
    keys: Vec<Point>,
    frame: Rect,
    y: (f64, f64),
}

fn place(panel: &Panel, plot: &Plot, top: i32, flags: &[Flag]) -> Result<Place, SimError> {
    if panel.series.len().max(panel.bands.len()) > CURVE_STYLES.len() {
        return Err(refused(format!("'{}' has more than {} curves", panel.y_label, CURVE_STYLES.len())));
    }
    let heading = (LEFT, top + LINE / 2);
    let keys = places(panel, &plot.spans, heading);
    let rows = flags.iter().map(|f| f.row + 1).max().unwrap_or(0);
    let last = keys.last().map_or(heading.1, |k| k.1);
    let top = last + LINE / 2 + 60 + rows * LINE;
    let relative = if panel.height.is_finite() && panel.height > 0.0 { panel.height } else { 1.0 };
    let bottom = top + (AXES * relative.clamp(0.3, 4.0)).round() as i32;
    let frame = Rect { left: LEFT, top, right: RIGHT, bottom };
    Ok(Place { heading, keys, frame, y: y_range(panel)? })
}

fn draw_panel(
    root: &Root,
    (plot, panel): (&Plot, &Panel),
    place: &Place,
    x: (f64, f64),
    instants: &[(i32, i32)],
) -> Drawn {
    text(root, &panel.y_label, place.heading, TEXT, INK, (FontStyle::Bold, HPos::Left))?;
    let axes = draw_axes(root, place, x)?;
    let curve = |of: &[(f64, f64)]| -> Vec<Vec<Point>> {
        of.split(|p| !(p.0.is_finite() && p.1.is_finite()))
            .filter(|run| !run.is_empty())
            .map(|run| run.iter().map(|p| axes.backend_coord(p)).collect())
            .collect()
    };
    draw_areas(root, (plot, panel), &axes, &curve, place)?;
    let Rect { left, top, right, bottom } = place.frame;
    for &(at, _) in instants {
        line(root, vec![(at, top), (at, bottom)], SOFT, 8)?;
    }
    // measured points lie below the curve that explains them
    for mark in panel.marks.iter().filter(|m| m.label.is_empty()) {
        circle(root, axes.backend_coord(&mark.at))?;
    }
    let curves: Vec<Vec<Vec<Point>>> = panel.series.iter().map(|s| curve(&s.points)).collect();
    // the first is solid, so that later dashed curves stay visible on top of it
    for (i, runs) in curves.iter().enumerate() {
        for run in runs {
            line(root, thinned(run, THINNED_TO), style_of(panel, i).colour, CURVE)?;
        }
    }
    let named = panel.marks.iter().filter(|m| !m.label.is_empty());
    let marks: Vec<(Point, &str)> = named.map(|m| (axes.backend_coord(&m.at), m.label.as_str())).collect();
    let edges = panel.bands.iter().flat_map(|b| {
        let low: Vec<_> = b.points.iter().map(|p| (p.0, p.1)).collect();
        let high: Vec<_> = b.points.iter().map(|p| (p.0, p.2)).collect();
        curve(&low).into_iter().chain(curve(&high))
    });
    let zero = axes.backend_coord(&(x.0, 0.0)).1;
    let busy: Vec<Vec<Point>> = curves.concat().into_iter().chain(edges).collect();
    let mut lines: Vec<Vec<Point>> = instants.iter().map(|i| vec![(i.0, top), (i.0, bottom)]).collect();
    lines.push(vec![(left, zero), (right, zero)]);
    draw_marks(root, &marks, [&busy, &lines], &place.frame)
}

/// Spans of x, bands around curves, edges of limits.
fn draw_areas(
    root: &Root,
    (plot, panel): (&Plot, &Panel),
    axes: &Axes,
    curve: &dyn Fn(&[(f64, f64)]) -> Vec<Vec<Point>>,
    place: &Place,
) -> Drawn {
    let Rect { left, top, right, bottom } = place.frame;
    for span in &plot.spans {
        let [from, to] =
            [span.range.0, span.range.1].map(|x| axes.backend_coord(&(x, 0.0)).0.clamp(left, right));
        root.draw(&Rectangle::new([(from, top), (to, bottom)], INK.mix(SPAN).filled())).map_err(failed)?;
    }
    for band in &panel.bands {
        let curve_style = style_of(panel, band.around);
        let upper = band.points.iter().map(|&(x, _, high)| (x, high));
        let around: Vec<(f64, f64)> =
            band.points.iter().map(|&(x, low, _)| (x, low)).chain(upper.rev()).collect();
        for run in curve(&around) {
            root.draw(&Polygon::new(run, curve_style.colour.mix(BAND))).map_err(failed)?;
        }
    }
    for edge in panel.limits.into_iter().flat_map(|(a, b)| [a, b]).flatten() {
        let y = axes.backend_coord(&(0.0, edge)).1;
        line(root, vec![(left, y), (right, y)], LIMIT_STYLE.colour, LIMIT_WIDTH)?;
    }
    Ok(())
}

fn draw_axes<'a, 'b>(root: &'b Root<'a>, place: &Place, x: (f64, f64)) -> Result<Axes<'a, 'b>, SimError> {
    let Rect { top, right, bottom, .. } = place.frame;
    let area = root.clone().shrink((0, top), (right, bottom - top + NUMBERS));
    let mut axes = ChartBuilder::on(&area)
        .x_label_area_size(NUMBERS)
        .y_label_area_size(LEFT)
        .build_cartesian_2d(x.0..x.1, place.y.0..place.y.1)
        .map_err(failed)?;
    axes.configure_mesh()
        .x_labels(12)
        .y_labels(((bottom - top) / 220).max(LEAST_LABELS) as usize)
        .x_label_formatter(&tick)
        .y_label_formatter(&tick)
        .label_style(font(TEXT, FontStyle::Normal).color(&INK))
        .set_all_tick_mark_size(40)
        .axis_style(INK.stroke_width(8))
        .bold_line_style(GRID.stroke_width(6))
        .light_line_style(TRANSPARENT)
        .draw()
        .map_err(failed)?;
    if place.y.0 < 0.0 && place.y.1 > 0.0 {
        let zero = [x.0, x.1].map(|x| axes.backend_coord(&(x, 0.0)));
        line(root, zero.to_vec(), SOFT, 6)?;
    }
    Ok(axes)
}

fn draw_flag(root: &Root, flag: &Flag, name: &str, top: i32) -> Drawn {
    let y = top - LINE / 2 - flag.row * LINE - 20;
    line(root, vec![(flag.x, y - LINE / 3), (flag.x, top)], SOFT, 8)?;
    let (x, side) = if flag.to_left { (flag.x - 50, HPos::Right) } else { (flag.x + 50, HPos::Left) };
    text(root, name, (x, y), TEXT, SOFT, (FontStyle::Normal, side))
}

fn draw_marks(
    root: &Root,
    marks: &[(Point, &str)],
    [curves, lines]: [&[Vec<Point>]; 2],
    frame: &Rect,
) -> Drawn {
    let wanted: Vec<(Point, i32)> =
        marks.iter().map(|(at, name)| (*at, text_width(name, TEXT) + 40)).collect();
    for (placed, (_, name)) in names(&wanted, LINE, curves, lines, frame).iter().zip(marks) {
        let Rect { left, top, right, bottom } = placed.space;
        if let Some((from, to)) = placed.leader {
            line(root, vec![from, to], INK, 6)?;
        }
        root.draw(&Rectangle::new([(left, top + 20), (right, bottom - 20)], WHITE.mix(0.8).filled()))
            .map_err(failed)?;
        let middle = ((left + right) / 2, (top + bottom) / 2);
        text(root, name, middle, TEXT, INK, (FontStyle::Normal, HPos::Center))?;
    }
    for (at, _) in marks {
        root.draw(&Circle::new(*at, 48, WHITE.filled())).map_err(failed)?;
        root.draw(&Circle::new(*at, 48, INK.stroke_width(16))).map_err(failed)?;
    }
    Ok(())
}
