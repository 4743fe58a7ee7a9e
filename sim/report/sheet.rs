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
         <title>Teaching sheet, model person</title>\n<style>{STYLE}</style>\n</head>\n<body>\n<main>\n",
        words.code,
        policy()
    );
    let _ = write!(
        out,
        "<h1>Teaching sheet, model person</h1>\n<p class=\"who\">{}.<br>{}.</p>\n<p class=\"caution\"><b>Caution.</b> {}</p>\n",
        escaped(&who),
        escaped(&settings),
        escaped(CAUTION)
    );
    out.push_str("<section>\n<h2>What the model shows</h2>\n<div class=\"curves\">\n");
    out.push_str(&leg_drawing::svg(&sheet.leg));
    for plot in &sheet.curves {
        out.push_str(&small_plot::svg(plot));
    }
    out.push_str("</div>\n<ol class=\"questions\">\n");
    for answer in &sheet.answers {
        question(&mut out, answer);
    }
    changes(&mut out, sheet);
    out.push_str("</ol>\n</section>\n");
    symptoms(&mut out, &sheet.symptoms);
    notes(&mut out);
    let _ = write!(
        out,
        "<footer>{CAUTION_SHORT}. kneedamp {}, inputs {:016x}. Made again by: <code>{}</code> People and joints built in are invented; \
         no name or number of a patient belongs on this sheet.</footer>\n</main>\n</body>\n</html>\n",
        env!("CARGO_PKG_VERSION"),
        hash(inputs.to_string().as_bytes()),
        escaped(command)
    );
    Ok(out)
}

fn question(out: &mut String, answer: &Answer) {
    let verdict = match answer.verdict {
        TrialVerdict::NoLimits => String::new(),
        v => format!("<span class=\"{word}\">{} {word}</span> ", v.mark(), word = v.as_str()),
    };
    let _ = writeln!(out, "<li><b>{}</b> {verdict}{}</li>", escaped(answer.question), escaped(&answer.said));
}

/// The tenth question.
fn changes(out: &mut String, sheet: &Sheet) {
    out.push_str("<li><b>What was changed from what to what, and when to look again?</b> ");
    if let Some(from) = &sheet.came_from {
        let _ = write!(out, "Changed: {}. {} ", escaped(&from.what), escaped(&from.said));
    }
    out.push_str("After any change of foot, shoe, weight or alignment; in this model for instance:\n<ul>\n");
    for ChangeRow { what, said } in &sheet.changes {
        let _ = writeln!(out, "<li><i>{}</i>: {}</li>", escaped(what), escaped(said));
    }
    out.push_str("</ul></li>\n");
}

fn symptoms(out: &mut String, rows: &[SymptomRow]) {
    out.push_str(
        "<section class=\"symptoms\">\n<h2>What is seen, what to rule out, what a setting would do</h2>\n\
         <p>Rule out first what no setting mends. The settings are those of common practice; for what the model shows, each \
         is moved alone by one smallest step for this person.</p>\n",
    );
    let (others, shown): (Vec<_>, Vec<_>) =
        rows.iter().partition(|r| r.presence == SymptomPresence::NotShown);
    table(out, " class=\"shown\"", "The model shows it (●), or it is doubtful (?)", &shown);
    table(out, "", "Not shown by the model here", &others);
    out.push_str("</section>\n");
}

/// One table of symptoms; none without rows.
fn table(out: &mut String, class: &str, what: &str, rows: &[&SymptomRow]) {
    if rows.is_empty() {
        return;
    }
    let _ = writeln!(
        out,
        "<table{class}>\n<thead><tr><th scope=\"col\">{what}</th><th scope=\"col\">Rule out first</th><th \
         scope=\"col\">Possible settings</th></tr></thead>\n<tbody>"
    );
    for row in rows {
        let mark = match row.presence {
            SymptomPresence::Shown => "● ",
            SymptomPresence::Doubtful => "? ",
            SymptomPresence::NotShown => "",
        };
        let moves: Vec<String> = row.moves.iter().map(|m| escaped(m)).collect();
        let now = if row.now.is_empty() { String::new() } else { format!("<i>{}.</i> ", escaped(&row.now)) };
        let moves = if moves.is_empty() { "no setting".into() } else { moves.join("; ") };
        let _ = writeln!(
            out,
            "<tr><th scope=\"row\">{mark}{}</th><td>{}</td><td>{now}{moves}</td></tr>",
            escaped(row.seen),
            escaped(&row.first)
        );
    }
    out.push_str("</tbody>\n</table>\n");
}

fn notes(out: &mut String) {
    out.push_str(
        "<section class=\"notes\">\n<h2>Notes</h2>\n<p>Changed: ______________________ from __________ to __________ \
         &nbsp; seen before: ______________ &nbsp; seen after: ______________</p>\n\
         <p>Looked at again: ☐ standing ☐ landing, stumble ☐ slow ☐ comfortable ☐ fast ☐ hurried ☐ chair ☐ ramp \
         ☐ stairs</p>\n<div class=\"lines\"></div>\n</section>\n",
    );
}
