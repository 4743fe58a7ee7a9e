//! CurveStyle of plots: sizes on the canvas, colours with a dash pattern each, widths of text, SVG header.
//!
//! The drawing crate rounds to whole pixels, so everything is drawn ten times as large and the header
//! rewritten. Sizes are those of a picture of A5 width: 16 px of 720 are 9.3 pt of 148 mm. Colours are
//! those of Okabe and Ito (jfly.uni-koeln.de/color, 2008); the dash pattern tells curves apart in grey.

use plotters::style::RGBColor;

use super::text::{escaped, lines};
use crate::error::SimError;
use crate::findings::{Palette, Panel};

/// Canvas units per pixel.
pub(super) const SCALE: i32 = 10;
/// Width of the canvas.
pub(super) const WIDTH: i32 = 7200;
/// Left edge of the axes: room for tick labels.
pub(super) const LEFT: i32 = 620;
/// Right edge of the axes.
pub(super) const RIGHT: i32 = WIDTH - 260;
/// Left edge of titles.
pub(super) const MARGIN: i32 = 120;
/// Size of ordinary text.
pub(super) const TEXT: i32 = 160;
/// Size of the title.
pub(super) const TITLE: i32 = 200;
/// Distance of lines of text.
pub(super) const LINE: i32 = 210;
/// Width of curves.
pub(super) const CURVE: u32 = 22;

/// Text, axes, marks. Not black, which is the colour of a curve.
pub(super) const INK: RGBColor = RGBColor(34, 34, 34);
/// Second-rank text and lines at instants.
pub(super) const SOFT: RGBColor = RGBColor(85, 85, 85);
/// Grid.
pub(super) const GRID: RGBColor = RGBColor(226, 226, 226);

/// Style of a curve.
#[derive(Clone, Copy)]
pub(super) struct CurveStyle {
    /// Colour.
    pub colour: RGBColor,
    /// Lengths of dashes and gaps on the canvas; empty is a solid line.
    pub dashes: &'static str,
}

impl CurveStyle {
    /// Its colour for SVG.
    pub(super) fn hex(&self) -> String {
        let RGBColor(r, g, b) = self.colour;
        format!("#{r:02X}{g:02X}{b:02X}")
    }

    /// Its dashes for a small picture.
    pub(super) fn small_dashes(&self) -> String {
        self.px().map(|d| format!("{d:.1}")).collect::<Vec<_>>().join(" ")
    }

    /// The same as numbers.
    fn px(&self) -> impl Iterator<Item = f64> {
        self.dashes.split_whitespace().filter_map(|d| d.parse::<f64>().ok()).map(|d| d / 18.0)
    }
}

/// What results are compared with: able-bodied walking. No other curve is dotted.
pub(super) const REFERENCE_STYLE: CurveStyle = CurveStyle { colour: RGBColor(90, 96, 102), dashes: "28 34" };

/// The edge of a limit.
pub(super) const LIMIT_STYLE: CurveStyle = CurveStyle { colour: RGBColor(143, 63, 0), dashes: "80 24 14 24" };
/// Width of the edge of a limit.
pub(super) const LIMIT_WIDTH: u32 = 12;

/// Style of a curve of a panel.
pub(super) fn style_of(panel: &Panel, curve: usize) -> &'static CurveStyle {
    if panel.reference == Some(curve) {
        return &REFERENCE_STYLE;
    }
    let styles = match panel.palette {
        Palette::Compared => &CURVE_STYLES,
        Palette::Parts => &PART_STYLES,
    };
    &styles[curve % CURVE_STYLES.len()]
}

/// Colours and dashes of A, B and the able-bodied curve in every picture, dashes in px: the page takes them from here.
#[must_use]
pub fn compared_styles() -> [(&'static str, String, Vec<f64>); 5] {
    let style = |name, s: &CurveStyle| (name, s.hex(), s.px().collect());
    [
        style("a", &CURVE_STYLES[0]),
        style("b", &CURVE_STYLES[1]),
        style("c", &CURVE_STYLES[2]),
        style("d", &CURVE_STYLES[3]),
        style("able_bodied", &REFERENCE_STYLE),
    ]
}

/// Dashes in px of the first parts of a joint, in the order of the torques.
#[must_use]
pub fn part_dashes() -> [Vec<f64>; 5] {
    std::array::from_fn(|i| PART_STYLES[i].px().collect())
}

/// One style per curve of a panel, A first, then B. Some are darker than those of Okabe and Ito, for the page writes with B,
/// and the pale ones vanish on paper.
pub(super) const CURVE_STYLES: [CurveStyle; 8] = [
    CurveStyle { colour: RGBColor(0, 114, 178), dashes: "" },
    CurveStyle { colour: RGBColor(184, 77, 0), dashes: "110 55" },
    CurveStyle { colour: RGBColor(0, 138, 100), dashes: "150 40 28 40 28 40" },
    CurveStyle { colour: RGBColor(178, 90, 140), dashes: "52 30" },
    CurveStyle { colour: RGBColor(0, 0, 0), dashes: "150 40 28 40" },
    CurveStyle { colour: RGBColor(166, 110, 0), dashes: "210 60" },
    CurveStyle { colour: RGBColor(40, 130, 180), dashes: "28 70" },
    CurveStyle { colour: RGBColor(120, 112, 0), dashes: "120 40 52 40" },
];

/// Styles of curves that are no variants: none looks like A or B. Colours tell [`finish`] the dashes, so the first is not
/// quite black.
const PART_STYLES: [CurveStyle; 8] = [
    CurveStyle { colour: RGBColor(17, 17, 17), dashes: "" },
    CURVE_STYLES[3],
    CURVE_STYLES[2],
    CURVE_STYLES[5],
    CURVE_STYLES[4],
    CURVE_STYLES[6],
    CURVE_STYLES[7],
    CurveStyle { colour: RGBColor(85, 107, 47), dashes: "28 34 110 34" },
];

/// Width of a text on the canvas; rather too wide, since the font depends on the viewer.
pub(super) fn text_width(text: &str, size: i32) -> i32 {
    let of = |c: char| match c {
        'i' | 'j' | 'l' | '\'' | '|' | '.' | ',' | ':' | ';' | '!' => 0.34,
        ' ' | '\u{a0}' | 't' | 'f' | 'r' | 'I' | '(' | ')' | '-' | '[' | ']' | '/' => 0.42,
        'm' | 'w' | 'M' | 'W' | '%' => 0.95,
        'A'..='Z' => 0.74,
        '0'..='9' => 0.64,
        _ => 0.62,
    };
    (text.chars().map(of).sum::<f64>() * f64::from(size)).ceil() as i32
}

/// Breaks a text at spaces into lines of at most this width.
pub(super) fn wrap(text: &str, size: i32, width: i32) -> Vec<String> {
    // a number and its unit stay together
    let text = [" %", " °C", " kg", " m)", " m/s", " N m"]
        .iter()
        .fold(text.to_owned(), |t, unit| t.replace(unit, &unit.replace(' ', "\u{a0}")));
    let fits = |line: &str| {
        let (line, word) = line.rsplit_once(' ').unwrap_or(("", line));
        text_width(line, size) + text_width(word, size) + size / 2 <= width
    };
    lines(text.split([' ', '\n']).filter(|w| !w.is_empty()), fits)
}

/// Number at a tick without trailing zeros, with a true minus sign.
pub(super) fn tick(value: &f64) -> String {
    let text = format!("{value:.6}");
    let short = text.trim_end_matches('0').trim_end_matches('.');
    if short == "-0" { "0".into() } else { short.replace('-', "\u{2212}") }
}

/// Gives the drawing its size in pixels, its name for screen readers, and every curve its dashes.
///
/// # Errors
/// The drawing crate has changed what it writes.
pub(super) fn finish(drawn: &str, height: i32, title: &str) -> Result<String, SimError> {
    let changed = || SimError::Inconsistent { field: "plot".into(), why: "the drawing has no header".into() };
    let (head, body) = drawn.split_once('\n').ok_or_else(changed)?;
    if !head.starts_with("<svg ") {
        return Err(changed());
    }
    let (w, h) = (WIDTH / SCALE, height / SCALE);
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}\" height=\"{h}\" \
         viewBox=\"0 0 {WIDTH} {height}\" role=\"img\" stroke-linejoin=\"round\">\n<title>{}</title>\n",
        escaped(title)
    );
    for line in body.lines() {
        let styles = || CURVE_STYLES.iter().chain(&PART_STYLES).chain([&REFERENCE_STYLE, &LIMIT_STYLE]);
        let style = styles().find(|l| {
            !l.dashes.is_empty() && line.starts_with("<polyline") && line.contains(&stroke(l.colour))
        });
        match style {
            Some(l) => {
                let dashed = format!("{} stroke-dasharray=\"{}\"", stroke(l.colour), l.dashes);
                out.push_str(&line.replacen(&stroke(l.colour), &dashed, 1));
            }
            None => out.push_str(line),
        }
        out.push('\n');
    }
    Ok(out)
}

fn stroke(RGBColor(r, g, b): RGBColor) -> String {
    format!("stroke=\"#{r:02X}{g:02X}{b:02X}\"")
}
