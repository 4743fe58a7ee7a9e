//! The leg of a sheet as it stands, to scale: load line, knee axis, and which way flexion bends it. Units are points.

use std::fmt::Write as _;

use super::svg_text::{FONT, text};
use crate::teaching::sheet::StandingLeg;
use crate::words::Words;

/// Size of the drawing, pt: as wide as the style sheet has it, so that text keeps its size.
const SIZE: (f64, f64) = (124.0, 133.0);
const TEXT: f64 = 8.5;
/// Load line, ground and the top of the leg.
const LOAD_LINE_X: f64 = 62.0;
const GROUND_Y: f64 = 121.0;
const HIP_Y: f64 = 12.0;
/// The bent leg is drawn at this flexion, degrees.
const BENT_DEG: f64 = 42.0;
/// Heel behind the shank line, share of the toe's distance ahead of it.
const HEEL: f64 = 0.3;
/// Height of the ankle, share of the length from the knee axis to the sole.
const ANKLE: f64 = 0.14;

type Point = (f64, f64);

/// The drawing as SVG.
#[must_use]
pub fn svg(leg: &StandingLeg, words: &Words) -> String {
    let length = leg.thigh_m + leg.knee_to_sole_m;
    let scale = (GROUND_Y - HIP_Y) / length;
    let at = |x_m: f64, z_m: f64| (LOAD_LINE_X + scale * x_m, GROUND_Y - scale * z_m);
    // hip and ground force share the load line; the straight leg leans back until the knee axis lies behind it
    let back = -leg.load_line_ahead_m / leg.thigh_m;
    let (hip, knee) = (at(0.0, length), at(-leg.load_line_ahead_m, leg.knee_to_sole_m));
    let shank_m = (1.0 - ANKLE) * leg.knee_to_sole_m;
    let ankle_m = back * (leg.thigh_m + shank_m);
    let sole = |ahead_m: f64| at(ankle_m + ahead_m, 0.0);
    let foot =
        [at(ankle_m, ANKLE * leg.knee_to_sole_m), sole(leg.toe_ahead_m), sole(-HEEL * leg.toe_ahead_m)];
    let mut out = format!(
        "<svg class=\"leg\" xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {} {}\" role=\"img\" {FONT}>\
         <title>{}</title>\n",
        SIZE.0,
        SIZE.1,
        words.text("sheet.leg")
    );
    stroke(&mut out, &[(4.0, GROUND_Y), (SIZE.0 - 4.0, GROUND_Y)], "stroke=\"#777777\"");
    // the same shank and foot bent about the knee axis
    let turned = |p: Point| {
        let (sin, cos) = BENT_DEG.to_radians().sin_cos();
        let (x, y) = (p.0 - knee.0, p.1 - knee.1);
        (knee.0 + x * cos - y * sin, knee.1 + x * sin + y * cos)
    };
    let dashed = "stroke=\"#777777\" stroke-dasharray=\"3 2.5\"";
    stroke(&mut out, &[knee, turned(foot[0]), turned(foot[1]), turned(foot[2]), turned(foot[0])], dashed);
    arc(&mut out, knee, 26.0);
    stroke(&mut out, &[hip, knee, foot[0]], "stroke=\"#000000\" stroke-width=\"3\"");
    stroke(&mut out, &[foot[0], foot[1], foot[2], foot[0]], "stroke=\"#000000\" stroke-width=\"1.6\"");
    let line = "stroke=\"#8f3f00\" stroke-width=\"1.2\" stroke-dasharray=\"6 2 1.5 2\"";
    stroke(&mut out, &[(LOAD_LINE_X, GROUND_Y), (LOAD_LINE_X, 2.0)], line);
    for (x, y) in [hip, knee] {
        let _ = writeln!(
            out,
            "<circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"3.2\" fill=\"#ffffff\" stroke=\"#000000\" stroke-width=\"1.2\"/>"
        );
    }
    text(&mut out, (LOAD_LINE_X + 6.0, hip.1 + 3.0), TEXT, "start", false, words.text("sheet.hip"));
    text(&mut out, (knee.0 - 6.0, knee.1 - 2.0), TEXT, "end", false, words.text("sheet.knee_axis"));
    text(&mut out, (LOAD_LINE_X + 4.0, knee.1 + 3.0), TEXT, "start", false, &ahead_in_words(leg, words));
    text(&mut out, (LOAD_LINE_X + 4.0, knee.1 + 36.0), TEXT, "start", false, words.text("sheet.load_line"));
    text(&mut out, (knee.0 - 19.0, knee.1 + 16.0), TEXT, "end", false, words.text("sheet.flexion"));
    out.push_str("</svg>\n");
    out
}

/// `36 mm in front`.
fn ahead_in_words(leg: &StandingLeg, words: &Words) -> String {
    let mm = 1e3 * leg.load_line_ahead_m;
    let side = if mm < 0.0 { "sheet.behind" } else { "sheet.in_front" };
    words.filled(side, &[("mm", &format!("{:.0}", mm.abs()))])
}

fn stroke(out: &mut String, points: &[Point], how: &str) {
    let points: Vec<String> = points.iter().map(|p| format!("{:.1},{:.1}", p.0, p.1)).collect();
    let _ = writeln!(
        out,
        "<polyline points=\"{}\" fill=\"none\" stroke-linejoin=\"round\" {how}/>",
        points.join(" ")
    );
}

/// An arrow from the straight to the bent shank.
fn arc(out: &mut String, (x, y): Point, r: f64) {
    let end = |deg: f64| {
        let (sin, cos) = deg.to_radians().sin_cos();
        (x - r * sin, y + r * cos)
    };
    let (from, to) = (end(4.0), end(BENT_DEG - 3.0));
    let _ = writeln!(
        out,
        "<path d=\"M{:.1} {:.1}A{r} {r} 0 0 1 {:.1} {:.1}\" fill=\"none\" stroke=\"#000000\"/>",
        from.0, from.1, to.0, to.1
    );
    // the head points along the arc, up and back
    let _ = writeln!(
        out,
        "<path d=\"M{:.1} {:.1}l5.2 -0.4l-2.6 4.2Z\" fill=\"#000000\"/>",
        to.0 - 1.0,
        to.1 - 1.5
    );
}
