//! The teaching sheet as one HTML file: at most two pages, A4 or Letter, with nothing to fetch.

use std::fmt::Write as _;

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use sha2::{Digest, Sha256};

use super::json;
use super::leg_drawing;
use super::small_plot;
use super::text::escaped;
use crate::error::SimError;
use crate::findings::Plot;
use crate::numerics::random::hash;
use crate::outcome::TrialVerdict;
use crate::teaching::sheet::{Answer, ChangeRow, Sheet, SymptomPresence, SymptomRow};
use crate::words::Words;
use crate::{CAUTION, CAUTION_SHORT};

const STYLE: &str = include_str!("sheet.css");

/// Content policy of a sheet: only its own style, by hash.
#[must_use]
pub fn policy() -> String {
    format!("default-src 'none'; style-src 'sha256-{}'", STANDARD.encode(Sha256::digest(STYLE)))
}

/// The sheet as an HTML document; `command` is the command line that produces it.
///
/// # Errors
/// A set-up that is wrong in itself.
pub fn html(sheet: &Sheet, command: &str, words: &Words) -> Result<String, SimError> {
    let setup = &sheet.survey.setup;
    let [who, settings] = setup.in_words(&sheet.survey.resolved);
    let inputs = json::inputs(setup, &sheet.survey.resolved);
    let mut out = format!(
        "<!doctype html>\n<html lang=\"{}\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n\
         <meta http-equiv=\"Content-Security-Policy\" content=\"{}\">\n\
         <title>{title}</title>\n<style>{STYLE}</style>\n</head>\n<body>\n<main>\n",
        words.code,
        policy(),
        title = words.text("sheet.title"),
    );
    let _ = write!(
        out,
        "<h1>{}</h1>\n<p class=\"who\">{}.<br>{}.</p>\n<p class=\"caution\"><b>{}</b> {}</p>\n",
        words.text("sheet.title"),
        escaped(&words.said(&who)),
        escaped(&words.said(&settings)),
        words.text("page.html.caution"),
        escaped(&words.said(CAUTION))
    );
    let _ = write!(out, "<section>\n<h2>{}</h2>\n<div class=\"curves\">\n", words.text("sheet.shows"));
    out.push_str(&leg_drawing::svg(&sheet.leg, words));
    for plot in &sheet.curves {
        out.push_str(&small_plot::svg(&in_words(plot, words)));
    }
    out.push_str("</div>\n<ol class=\"questions\">\n");
    for answer in &sheet.answers {
        question(&mut out, answer, words);
    }
    changes(&mut out, sheet, words);
    out.push_str("</ol>\n</section>\n");
    symptoms(&mut out, &sheet.symptoms, words);
    notes(&mut out, words);
    let _ = write!(
        out,
        "<footer>{}. kneedamp {}, {} {:016x}. {} <code>{}</code> {}</footer>\n</main>\n</body>\n</html>\n",
        words.said(CAUTION_SHORT),
        env!("CARGO_PKG_VERSION"),
        words.text("sheet.inputs"),
        hash(inputs.to_string().as_bytes()),
        words.text("sheet.made_again"),
        escaped(command),
        words.text("sheet.invented")
    );
    Ok(out)
}

/// A drawing's words in the language of the sheet.
fn in_words(plot: &Plot, words: &Words) -> Plot {
    let mut plot = plot.clone();
    let labels = plot.panels.iter_mut().flat_map(|p| {
        let series = p.series.iter_mut().map(|s| &mut s.label);
        series.chain(p.bands.iter_mut().map(|b| &mut b.label))
    });
    for text in [&mut plot.title, &mut plot.x_label].into_iter().chain(labels).filter(|t| !t.is_empty()) {
        *text = words.said(text);
    }
    plot
}

fn question(out: &mut String, answer: &Answer, words: &Words) {
    let verdict = match answer.verdict {
        TrialVerdict::NoLimits => String::new(),
        v => format!("<span class=\"{}\">{} {}</span> ", v.as_str(), v.mark(), words.said(v.as_str())),
    };
    let _ = writeln!(
        out,
        "<li><b>{}</b> {verdict}{}</li>",
        escaped(&words.said(answer.question)),
        escaped(&words.said(&answer.said))
    );
}

/// The tenth question.
fn changes(out: &mut String, sheet: &Sheet, words: &Words) {
    let _ = write!(out, "<li><b>{}</b> ", words.text("sheet.changes"));
    if let Some(from) = &sheet.came_from {
        let _ = write!(
            out,
            "{} {}. {} ",
            words.text("sheet.changed"),
            escaped(&words.said(&from.what)),
            escaped(&words.said(&from.said))
        );
    }
    let _ = write!(out, "{}\n<ul>\n", words.text("sheet.after"));
    for ChangeRow { what, said } in &sheet.changes {
        let _ =
            writeln!(out, "<li><i>{}</i>: {}</li>", escaped(&words.said(what)), escaped(&words.said(said)));
    }
    out.push_str("</ul></li>\n");
}

fn symptoms(out: &mut String, rows: &[SymptomRow], words: &Words) {
    let _ = write!(
        out,
        "<section class=\"symptoms\">\n<h2>{}</h2>\n<p>{}</p>\n",
        words.text("sheet.symptoms"),
        words.text("sheet.practice")
    );
    let (others, shown): (Vec<_>, Vec<_>) =
        rows.iter().partition(|r| r.presence == SymptomPresence::NotShown);
    table(out, " class=\"shown\"", words.text("sheet.shown"), &shown, words);
    table(out, "", words.text("sheet.not_shown"), &others, words);
    out.push_str("</section>\n");
}

/// One table of symptoms; none without rows.
fn table(out: &mut String, class: &str, what: &str, rows: &[&SymptomRow], words: &Words) {
    if rows.is_empty() {
        return;
    }
    let _ = writeln!(
        out,
        "<table{class}>\n<thead><tr><th scope=\"col\">{what}</th><th scope=\"col\">{}</th><th \
         scope=\"col\">{}</th></tr></thead>\n<tbody>",
        words.text("sheet.first"),
        words.text("sheet.settings")
    );
    for row in rows {
        let mark = match row.presence {
            SymptomPresence::Shown => "● ",
            SymptomPresence::Doubtful => "? ",
            SymptomPresence::NotShown => "",
        };
        let moves: Vec<String> = row.moves.iter().map(|m| escaped(&words.said(m))).collect();
        let now = if row.now.is_empty() {
            String::new()
        } else {
            format!("<i>{}.</i> ", escaped(&words.said(&row.now)))
        };
        let moves =
            if moves.is_empty() { words.text("sheet.no_setting").to_owned() } else { moves.join("; ") };
        let _ = writeln!(
            out,
            "<tr><th scope=\"row\">{mark}{}</th><td>{}</td><td>{now}{moves}</td></tr>",
            escaped(&words.said(row.seen)),
            escaped(&words.said(&row.first))
        );
    }
    out.push_str("</tbody>\n</table>\n");
}

fn notes(out: &mut String, words: &Words) {
    let [title, changed, again] =
        ["sheet.notes", "sheet.note_changed", "sheet.note_again"].map(|k| words.text(k));
    let _ = write!(
        out,
        "<section class=\"notes\">\n<h2>{title}</h2>\n<p>{changed}</p>\n<p>{again}</p>\n<div class=\"lines\"></div>\n</section>\n",
    );
}
