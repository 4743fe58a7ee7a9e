//! The files of the page, built into the binary. A request is only compared with these names; no path of the file
//! system is ever built from it.

/// A file of the page.
#[derive(Debug, Clone, Copy)]
pub struct Asset {
    /// Path in a request.
    pub path: &'static str,
    /// Media type.
    pub media: &'static str,
    /// Content.
    pub text: &'static str,
}

const CSS: &str = "text/css; charset=utf-8";
const JS: &str = "text/javascript; charset=utf-8";

/// The document; its words stand in `sim/words`.
pub const DOCUMENT: &str = include_str!("page/index.html");

/// The style.
pub const STYLE: &str = include_str!("page/style.css");

/// The plotting library, unchanged, with its style and licence (npm package uplot 1.6.32, MIT).
pub const PLOTTING: [&str; 3] = [
    include_str!("page/uplot/uplot.js"),
    include_str!("page/uplot/uplot.css"),
    include_str!("page/uplot/LICENSE"),
];

/// The modules; each imports only from those before it.
pub const MODULES: [(&str, &str); 19] = [
    ("/words.js", include_str!("page/words.js")),
    ("/base.js", include_str!("page/base.js")),
    ("/state.js", include_str!("page/state.js")),
    ("/animation.js", include_str!("page/animation.js")),
    ("/carried.js", include_str!("page/carried.js")),
    ("/engine.js", include_str!("page/engine.js")),
    ("/body.js", include_str!("page/body.js")),
    ("/figure.js", include_str!("page/figure.js")),
    ("/plots.js", include_str!("page/plots.js")),
    ("/player.js", include_str!("page/player.js")),
    ("/sound.js", include_str!("page/sound.js")),
    ("/verdict.js", include_str!("page/verdict.js")),
    ("/controls.js", include_str!("page/controls.js")),
    ("/dials.js", include_str!("page/dials.js")),
    ("/measured.js", include_str!("page/measured.js")),
    ("/keep.js", include_str!("page/keep.js")),
    ("/lessons.js", include_str!("page/lessons.js")),
    ("/challenges.js", include_str!("page/challenges.js")),
    ("/main.js", include_str!("page/main.js")),
];

/// The file of a request path.
#[must_use]
pub fn asset(path: &str) -> Option<Asset> {
    let found = |path, media, text| Some(Asset { path, media, text });
    match path {
        "/style.css" => found("/style.css", CSS, STYLE),
        "/uplot.js" => found("/uplot.js", JS, PLOTTING[0]),
        "/uplot.css" => found("/uplot.css", CSS, PLOTTING[1]),
        "/uplot-licence.txt" => found("/uplot-licence.txt", "text/plain; charset=utf-8", PLOTTING[2]),
        _ => MODULES.iter().find(|m| m.0 == path).and_then(|m| found(m.0, JS, m.1)),
    }
}
