//! Responses of the page.

use axum::http::{StatusCode, header};
use axum::response::{IntoResponse, Response};
use serde_json::json;

use crate::report::text::escaped;
use crate::words::Words;

/// Media type of a document.
pub(super) const HTML: &str = "text/html; charset=utf-8";

/// A page that says why there is no sheet.
pub(super) fn no_sheet(status: StatusCode, why: &str, words: &Words) -> Response {
    let [title, to_page] = ["sheet.none_made", "sheet.to_page"].map(|key| words.text(key));
    let why = words.filled("sheet.cannot", &[("why", &escaped(why))]);
    let code = words.code;
    let page = format!(
        "<!doctype html>\n<html lang=\"{code}\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>{title}</title>\n\
         <link rel=\"stylesheet\" href=\"/style.css\">\n</head>\n<body>\n<main>\n<h1>{title}</h1>\n\
         <p>{why}</p>\n<p><a href=\"/?lang={code}\">{to_page}</a></p>\n</main>\n</body>\n</html>\n"
    );
    (status, typed(HTML, page)).into_response()
}

/// An error as JSON.
pub(super) fn refusal(status: StatusCode, why: &str) -> Response {
    json_text(status, json!({ "error": why }).to_string())
}

/// A JSON text with a status.
pub(super) fn json_text(status: StatusCode, text: String) -> Response {
    (status, typed("application/json", text)).into_response()
}

/// A text with its media type.
pub(super) fn typed(media: &'static str, text: String) -> Response {
    ([(header::CONTENT_TYPE, media)], text).into_response()
}
