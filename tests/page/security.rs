//! Hostile requests to the running program: each is refused with the right status, none ends it, none keeps
//! others waiting.

use std::io::Write;
use std::time::{Duration, Instant};

use super::program::{GOOD, Program, ask, connect, raw, raw_slow, read, request, status};
use crate::commands::refused;
use kneedamp::serve::Page;

/// What may come back: one of these statuses; 0 is a connection that is closed without a word.
type Case = (&'static str, Vec<u8>, &'static [u16]);

fn with_host(host: &str) -> Vec<u8> {
    format!("GET / HTTP/1.1\r\n{host}connection: close\r\n\r\n").into_bytes()
}

/// As a browser asks, which says where a request comes from, how and for what.
fn fetched(port: u16, path: &str, site: &str, mode: &str, dest: &str) -> Vec<u8> {
    let said = format!("sec-fetch-site: {site}\r\nsec-fetch-mode: {mode}\r\nsec-fetch-dest: {dest}\r\n");
    request(port, &format!("GET {path}"), &said, "")
}

/// Requests that other pages in the same browser, or tools, could send.
fn strangers(port: u16) -> Vec<Case> {
    let origin = |o: &str| {
        request(port, "POST /answer", &format!("origin: {o}\r\ncontent-type: application/json\r\n"), GOOD)
    };
    vec![
        ("another host", with_host("host: example.org\r\n"), &[403]),
        ("no host", with_host(""), &[400, 403]),
        ("an empty host", with_host("host:\r\n"), &[400, 403]),
        ("a host without port", with_host("host: 127.0.0.1\r\n"), &[403]),
        ("another port", with_host("host: 127.0.0.1:1\r\n"), &[403]),
        ("a host that begins well", with_host(&format!("host: 127.0.0.1:{port}.example.org\r\n")), &[403]),
        ("a host with a user", with_host(&format!("host: x@127.0.0.1:{port}\r\n")), &[403]),
        ("two hosts", with_host(&format!("host: 127.0.0.1:{port}\r\nhost: example.org\r\n")), &[400, 403]),
        ("the wildcard address", with_host(&format!("host: 0.0.0.0:{port}\r\n")), &[403]),
        (
            "a host of bytes",
            b"GET / HTTP/1.1\r\nhost: \xff\xfe\r\nconnection: close\r\n\r\n".to_vec(),
            &[400, 403],
        ),
        ("an absolute address elsewhere", request(port, "GET http://example.org/", "", ""), &[403]),
        ("a tunnel", request(port, "CONNECT example.org:443", "", ""), &[400, 403, 404, 405]),
        ("another origin", origin("http://example.org"), &[403]),
        ("no origin of a document", origin("null"), &[403]),
        ("the right origin, safe scheme", origin(&format!("https://127.0.0.1:{port}")), &[403]),
        ("an origin that begins well", origin(&format!("http://127.0.0.1:{port}.example.org")), &[403]),
        (
            "two origins",
            request(
                port,
                "GET /",
                &format!("origin: http://127.0.0.1:{port}\r\norigin: http://example.org\r\n"),
                "",
            ),
            &[403],
        ),
        (
            "asking for permission",
            request(
                port,
                "OPTIONS /answer",
                "origin: http://example.org\r\naccess-control-request-method: POST\r\n",
                "",
            ),
            &[403],
        ),
        ("an image in another page", fetched(port, "/sheet?leg=", "cross-site", "no-cors", "image"), &[403]),
        ("a frame in another page", fetched(port, "/", "cross-site", "navigate", "iframe"), &[403]),
        (
            "a link of another page to a sheet",
            fetched(port, "/sheet", "cross-site", "navigate", "document"),
            &[403],
        ),
        ("a script of another port", fetched(port, "/main.js", "same-site", "no-cors", "script"), &[403]),
        ("another page that asks", fetched(port, "/", "cross-site", "cors", "empty"), &[403]),
        (
            "another page that says little",
            request(port, "GET /", "sec-fetch-site: cross-site\r\n", ""),
            &[403],
        ),
        (
            "two places it comes from",
            request(port, "GET /sheet", "sec-fetch-site: none\r\nsec-fetch-site: cross-site\r\n", ""),
            &[403],
        ),
        ("HTTP/1.0 without a host", b"GET / HTTP/1.0\r\n\r\n".to_vec(), &[403]),
    ]
}

/// Paths that would lead out of the page's own files, were they ever looked up.
fn paths(port: u16) -> Vec<Case> {
    let get = |path: &str| request(port, &format!("GET {path}"), "", "");
    vec![
        ("up the tree", get("/../../etc/passwd"), &[404]),
        ("up the tree, escaped", get("/%2e%2e/%2e%2e/etc/passwd"), &[404]),
        ("up the tree, escaped twice", get("/%252e%252e/etc/passwd"), &[404]),
        ("backslashes", get("/..\\..\\etc\\passwd"), &[400, 404]),
        ("an absolute path", get("//etc/passwd"), &[404]),
        ("a source file", get("/sim/main.rs"), &[404]),
        ("a model", get("/models/knees/built-in.yaml"), &[404]),
        ("a zero byte", get("/style.css%00.png"), &[404]),
        ("a raw zero byte", b"GET /\0 HTTP/1.1\r\nhost: x\r\n\r\n".to_vec(), &[400]),
        ("an endless path", get(&format!("/{}", "a".repeat(40_000))), &[400, 404, 414, 431]),
        ("a path of letters beyond ASCII", get("/\u{e4}\u{f6}"), &[400, 404]),
        ("writing a file", request(port, "PUT /style.css", "", "x"), &[405]),
        ("deleting a file", request(port, "DELETE /style.css", "", ""), &[405]),
        ("reading the answers", request(port, "GET /answer", "", ""), &[405]),
        ("a sheet of a file", get("/sheet?leg=person=/etc/passwd"), &[422]),
        ("a sheet of nonsense", get("/sheet?leg=swing-flexion%3Dnan"), &[422]),
        ("a sheet with more", get("/sheet?leg=&output=/tmp/x"), &[400]),
        ("a sheet in markup", get("/sheet?leg=%3Cscript%3E"), &[422]),
        ("writing a sheet", request(port, "POST /sheet", "", "x"), &[405]),
        ("writing the start", request(port, "POST /", "", "x"), &[405]),
    ]
}

/// Bytes that are no requests.
fn garbage(port: u16) -> Vec<Case> {
    let host = format!("host: 127.0.0.1:{port}\r\n");
    vec![
        ("nothing", Vec::new(), &[0]),
        ("a greeting of another protocol", b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03".to_vec(), &[400]),
        ("noise", (0..4096_u32).map(|i| (i.wrapping_mul(2_654_435_761) >> 13) as u8).collect(), &[400, 431]),
        ("line ends only", b"\r\n\r\n\r\n\r\n".to_vec(), &[0, 400]),
        ("no version", format!("GET /\r\n{host}\r\n").into_bytes(), &[400]),
        ("a version to come", format!("GET / HTTP/9.9\r\n{host}\r\n").into_bytes(), &[400]),
        ("another protocol's preface", b"PRI * HTTP/2.0\r\n\r\nSM\r\n\r\n".to_vec(), &[0, 400]),
        ("a header without a colon", format!("GET / HTTP/1.1\r\n{host}nonsense\r\n\r\n").into_bytes(), &[400]),
        ("a header of 64 KiB", format!("GET / HTTP/1.1\r\n{host}x: {}\r\n\r\n", "y".repeat(65_536)).into_bytes(), &[431]),
        ("a thousand headers", format!("GET / HTTP/1.1\r\n{host}{}\r\n", "x: y\r\n".repeat(1000)).into_bytes(), &[431]),
        ("two lengths", format!("POST /answer HTTP/1.1\r\n{host}content-length: 1\r\ncontent-length: 2\r\n\r\nxx").into_bytes(), &[400]),
        ("a negative length", format!("POST /answer HTTP/1.1\r\n{host}content-length: -1\r\n\r\n").into_bytes(), &[400]),
        ("a length beyond numbers", format!("POST /answer HTTP/1.1\r\n{host}content-length: 99999999999999999999999\r\n\r\n").into_bytes(), &[400]),
        ("length and chunks", format!("POST /answer HTTP/1.1\r\n{host}connection: close\r\ncontent-length: 4\r\ntransfer-encoding: chunked\r\ncontent-type: application/json\r\n\r\n0\r\n\r\n").into_bytes(), &[400]),
        ("chunks that are none", format!("POST /answer HTTP/1.1\r\n{host}connection: close\r\ntransfer-encoding: chunked\r\ncontent-type: application/json\r\n\r\nzz\r\n\r\n").into_bytes(), &[400]),
        ("an unknown coding", format!("POST /answer HTTP/1.1\r\n{host}connection: close\r\ntransfer-encoding: gzip\r\n\r\n").into_bytes(), &[400, 411, 415]),
        ("a line end in a header", format!("GET / HTTP/1.1\r\n{host}x: a\rb\r\n\r\n").into_bytes(), &[400]),
    ]
}

/// Bodies that are no questions, or bad ones.
fn bodies(port: u16) -> Vec<Case> {
    let deep = "[".repeat(60_000);
    let many = format!(r#"{{"scenario":"stand","legs":[{}""]}}"#, r#""","#.repeat(5000));
    let leg = |text: &str| ask(port, &format!(r#"{{"scenario":"walk-fast","legs":["{text}"]}}"#));
    let chunked = format!(
        "POST /answer HTTP/1.1\r\nhost: 127.0.0.1:{port}\r\nconnection: close\r\ncontent-type: application/json\r\n\
         transfer-encoding: chunked\r\n\r\n{}0\r\n\r\n",
        format!("1000\r\n{}\r\n", "x".repeat(4096)).repeat(20)
    );
    vec![
        ("no body", request(port, "POST /answer", "content-type: application/json\r\n", ""), &[400]),
        (
            "a form",
            request(port, "POST /answer", "content-type: application/x-www-form-urlencoded\r\n", "a=b"),
            &[415],
        ),
        ("plain text", request(port, "POST /answer", "content-type: text/plain\r\n", GOOD), &[415]),
        ("no media type", request(port, "POST /answer", "", GOOD), &[415]),
        ("half a question", ask(port, &GOOD[..30]), &[400]),
        ("a list", ask(port, "[]"), &[400]),
        ("a number", ask(port, "1e999"), &[400]),
        ("an unknown field", ask(port, r#"{"scenario":"stand","legs":[""],"path":"/etc"}"#), &[400]),
        ("a field twice", ask(port, r#"{"scenario":"stand","scenario":"stand","legs":[""]}"#), &[400]),
        ("a leg that is a number", ask(port, r#"{"scenario":"stand","legs":[1]}"#), &[400]),
        (
            "not UTF-8",
            [
                request(port, "POST /answer", "content-type: application/json\r\ncontent-length: 3\r\n", ""),
                b"\"\xff\"".to_vec(),
            ]
            .concat(),
            &[400],
        ),
        ("60,000 brackets", ask(port, &deep), &[400]),
        ("65 KiB", ask(port, &format!("\"{}\"", "x".repeat(65 * 1024))), &[413]),
        ("ten megabytes", ask(port, &"x".repeat(10_000_000)), &[413, 0]),
        ("80 KiB in chunks", chunked.into_bytes(), &[413]),
        ("5001 legs", ask(port, &many), &[422]),
        ("no legs", ask(port, r#"{"scenario":"stand","legs":[]}"#), &[422]),
        ("an unknown scenario", ask(port, r#"{"scenario":"../../etc/passwd","legs":[""]}"#), &[422]),
        ("a person from disk", leg("person=/etc/passwd"), &[422]),
        ("a knee from up the tree", leg("knee=../../x.yaml"), &[422]),
        ("a setting over 100 %", leg("swing-flexion=101"), &[422]),
        ("not a number", leg("swing-flexion=NaN"), &[422]),
        ("infinite", leg("mass_kg=inf"), &[422]),
        ("a negative mass", leg("mass_kg=-75"), &[422]),
        ("a key twice", leg("mass_kg=75,mass_kg=75"), &[422]),
        ("an unknown key", leg("<script>alert(1)</script>=1"), &[422]),
        ("ten thousand pairs", leg(&"mass_kg=75,".repeat(5000)), &[422]),
        (
            "the coldest, stiffest and lightest there is",
            leg(
                "temperature_c=-30,swing-flexion=100,swing-extension=100,stance-yield=100,mass_kg=30,stop_stiffness_n_m_per_rad=50000,stop_damping_s_per_rad=20",
            ),
            &[200, 422],
        ),
    ]
}

#[test]
fn page_hostile_requests_are_refused_and_end_nothing() {
    let mut program = Program::start();
    let port = program.port;
    let cases: Vec<Case> = [strangers(port), paths(port), garbage(port), bodies(port)].concat();
    assert!(cases.len() >= 50, "{}", cases.len());
    let mut wrong = Vec::new();
    for (what, bytes, allowed) in &cases {
        let answer = raw(port, bytes);
        let got = status(&answer);
        if !allowed.contains(&got) {
            wrong.push(format!("{what}: {got}, wanted {allowed:?}: {answer:.200}"));
        }
        assert!(!answer.contains("root:") && !answer.contains("panicked"), "{what}: {answer}");
        assert!(!answer.to_lowercase().contains("access-control-allow"), "{what}");
        assert!(program.runs(), "{what} ended the program");
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let good = raw(port, &ask(port, GOOD));
    assert_eq!(status(&good), 200, "{good:.300}");
    println!("{} hostile requests refused", cases.len());
}

#[test]
fn page_answers_its_own_and_says_what_a_browser_may_do() {
    let program = Program::start();
    let port = program.port;
    for (path, media) in [
        ("/", "text/html"),
        ("/style.css", "text/css"),
        ("/main.js", "text/javascript"),
        ("/start.json", "application/json"),
    ] {
        let answer = raw(port, &request(port, &format!("GET {path}"), "", ""));
        assert_eq!(status(&answer), 200, "{path}");
        let head = answer.split("\r\n\r\n").next().expect("a head").to_lowercase();
        assert!(head.contains(&format!("content-type: {media}")), "{head}");
        assert!(
            head.contains("content-security-policy: default-src 'none'; script-src 'self'")
                && !head.contains("unsafe")
        );
        assert!(
            head.contains("x-content-type-options: nosniff") && head.contains("referrer-policy: no-referrer")
        );
    }
    // the sheet is a document of its own, which allows its style and nothing else
    let answer = raw(port, &request(port, "GET /sheet?leg=person%3D50-kg", "", ""));
    assert_eq!(status(&answer), 200);
    let head = answer.split("\r\n\r\n").next().expect("a head").to_lowercase();
    assert!(head.contains("content-security-policy: default-src 'none'; style-src 'sha256-"), "{head}");
    assert!(
        head.contains("frame-ancestors 'none'") && !head.contains("unsafe") && !head.contains("script-src")
    );
    assert!(answer.contains("Teaching sheet, model person") && answer.contains("Person 50-kg"), "{answer}");
    let by_name = format!("GET / HTTP/1.1\r\nhost: localhost:{port}\r\nconnection: close\r\n\r\n");
    assert_eq!(status(&raw(port, by_name.as_bytes())), 200);
    for (path, site, mode, dest) in [
        ("/", "none", "navigate", "document"),
        // a link to the page in a course, with the state behind the #
        ("/", "cross-site", "navigate", "document"),
        ("/main.js", "same-origin", "cors", "script"),
    ] {
        assert_eq!(status(&raw(port, &fetched(port, path, site, mode, dest))), 200, "{path} {site}");
    }
    let loud = ask(port, GOOD);
    let loud = String::from_utf8(loud)
        .expect("text")
        .replace("application/json", "Application/JSON ; charset=utf-8");
    assert_eq!(status(&raw(port, loud.as_bytes())), 200, "media types ignore case");
    let same =
        format!("origin: http://127.0.0.1:{port}\r\ncontent-type: application/json; charset=utf-8\r\n");
    assert_eq!(status(&raw(port, &request(port, "POST /answer", &same, GOOD))), 200);
}

/// Time of a good question.
fn timed(port: u16) -> Duration {
    let begun = Instant::now();
    assert_eq!(status(&raw(port, &ask(port, GOOD))), 200);
    begun.elapsed()
}

#[test]
fn page_stalled_clients_keep_nobody_waiting() {
    let program = Program::start();
    let port = program.port;
    timed(port);
    let alone = (0..5).map(|_| timed(port)).min().expect("five");
    let begun = Instant::now();
    let mut heads: Vec<_> = (0..14).map(|_| connect(port)).collect();
    let mut bodies: Vec<_> = (0..14).map(|_| connect(port)).collect();
    for s in &mut heads {
        s.write_all(b"GET / HTTP/1.1\r\nhost: 127").expect("half a head");
    }
    let half = ask(port, GOOD);
    for s in &mut bodies {
        s.write_all(&half[..half.len() - 5]).expect("half a body");
    }
    let beside = (0..5).map(|_| timed(port)).min().expect("five");
    println!("a question: {alone:?} alone, {beside:?} beside 28 stalled clients");
    assert!(beside < alone + Duration::from_millis(100), "{beside:?} against {alone:?}");
    for mut s in heads.drain(..1).chain(bodies.drain(..1)) {
        let answer = read(&mut s);
        assert_eq!(status(&answer), 408, "{answer}");
        assert!(answer.contains("did not come in time\"}"), "{answer}");
        let waited = begun.elapsed();
        assert!(waited > Duration::from_secs(4) && waited < Duration::from_secs(8), "{waited:?}");
    }
}

/// What is refused is told in words, as JSON to the page and as a page to whoever opens a sheet.
#[test]
fn page_refuses_in_words() {
    let program = Program::start();
    let port = program.port;
    let large = raw(port, &ask(port, &format!("\"{}\"", "x".repeat(65 * 1024))));
    assert!(
        status(&large) == 413 && large.contains("\"error\":\"a question has at most 64 KiB\""),
        "{large}"
    );
    let long = format!(r#"{{"scenario":"stand","legs":["{}"]}}"#, "z".repeat(5000));
    let echoed = raw(port, &ask(port, &long));
    assert!(echoed.contains(&"z".repeat(60)) && !echoed.contains(&"z".repeat(61)), "{echoed}");
    let sheet = |leg: &str| raw(port, &request(port, &format!("GET /sheet?leg={leg}"), "", ""));
    for key in [
        "sitting_share",
        "stumble_flexion_deg",
        "stand_slope_deg",
        "hip_moment_n_m_per_kg",
        "cadence_steps_per_min",
        "speed_m_per_s",
    ] {
        let value = if key.starts_with("cadence") { "100" } else { "0.6" };
        let said = sheet(&format!("swing-flexion=60,{key}={value}"));
        assert_eq!(status(&said), 422, "{key}");
        assert!(said.contains("text/html") && said.contains("<h1>No teaching sheet</h1>"), "{said}");
        assert!(said.contains(&format!("cannot take {key}: leave it out")), "{said}");
    }
    let markup = sheet("%3Cscript%3E");
    assert!(markup.contains("&lt;script&gt;") && !markup.contains("<script>"), "{markup}");
}

/// A refused request that has not said all of its body is answered and closed at once.
#[test]
fn page_closes_what_it_refuses() {
    let program = Program::start();
    let port = program.port;
    let cases = [
        ("POST /answer", "origin: http://example.org\r\ncontent-type: application/json\r\n", 403),
        ("GET /nothing", "", 404),
    ];
    for (line, headers, wanted) in cases {
        let begun = Instant::now();
        let mut stream = connect(port);
        let head =
            format!("{line} HTTP/1.1\r\nhost: 127.0.0.1:{port}\r\n{headers}content-length: 1000\r\n\r\n");
        stream.write_all(head.as_bytes()).expect("a head");
        if wanted == 404 {
            stream.write_all(&[b'x'; 1000]).expect("a body");
        }
        let answer = read(&mut stream);
        assert_eq!(status(&answer), wanted, "{answer}");
        assert!(answer.to_lowercase().contains("connection: close"), "{answer}");
        assert!(begun.elapsed() < Duration::from_secs(3), "{line}: {:?}", begun.elapsed());
    }
}

/// Two sheets are asked for; new questions of two legs are answered before either is done.
#[test]
fn page_answers_do_not_wait_for_sheets() {
    let program = Program::start();
    let port = program.port;
    let sheets: Vec<_> = ["50-kg", "100-kg"]
        .map(|person| {
            std::thread::spawn(move || {
                let answer =
                    raw_slow(port, &request(port, &format!("GET /sheet?leg=person={person}"), "", ""));
                (status(&answer), Instant::now())
            })
        })
        .into();
    std::thread::sleep(Duration::from_millis(300));
    for position in [31, 32, 33] {
        let body = format!(
            r#"{{"scenario":"walk-fast","legs":["swing-flexion={position}","swing-extension={position}"]}}"#
        );
        assert_eq!(status(&raw(port, &ask(port, &body))), 200);
    }
    let answered = Instant::now();
    for sheet in sheets {
        let (status, done) = sheet.join().expect("asked");
        assert_eq!(status, 200);
        assert!(done > answered, "a sheet was done before three answers were");
    }
}

/// 200 connections that never say what they want: a question does not wait for any of them, and they are told off in time.
#[test]
fn page_answers_while_others_stall() {
    let program = Program::start();
    let port = program.port;
    let mut stalling: Vec<_> = (0..200).map(|_| connect(port)).collect();
    for s in &mut stalling {
        s.write_all(b"GET /").expect("a beginning");
    }
    let begun = Instant::now();
    assert_eq!(status(&raw(port, &ask(port, GOOD))), 200);
    let took = begun.elapsed();
    assert!(took < Duration::from_secs(3), "they have 5 s: {took:?}");
    for s in &mut stalling {
        assert_eq!(status(&read(s)), 408);
    }
    assert!(begun.elapsed() < Duration::from_secs(9), "{:?}", begun.elapsed());
}

/// 34 sheets at once: eight are computed or wait, the others are refused at once, and the page opens.
#[test]
fn page_opens_while_sheets_are_asked_for() {
    let program = Program::start();
    let port = program.port;
    let ask_sheet = |i: usize| request(port, &format!("GET /sheet?leg=mass_kg={}", 60 + i), "", "");
    let mut sheets: Vec<_> = (0..34).map(|_| connect(port)).collect();
    for (i, s) in sheets.iter_mut().enumerate() {
        s.write_all(&ask_sheet(i)).expect("a question");
    }
    let begun = Instant::now();
    assert_eq!(status(&raw(port, &request(port, "GET /", "", ""))), 200);
    assert!(begun.elapsed() < Duration::from_secs(3), "{:?}", begun.elapsed());
    let mut refused = 0;
    for s in &mut sheets {
        s.set_read_timeout(Some(Duration::from_millis(200))).expect("a limit");
        refused += usize::from(status(&read(s)) == 503);
    }
    assert!((20..=26).contains(&refused), "{refused} of 34");
}

/// The work stops with its deadline: afterwards the program is idle, and the next question has its place.
#[cfg(target_os = "linux")]
#[test]
fn page_stops_what_takes_too_long() {
    let program = Program::start_with(&["--deadline", "1"]);
    let port = program.port;
    // a stiff stop makes many short steps
    let leg = "stop_stiffness_n_m_per_rad=50000,stop_damping_s_per_rad=20,extension_stop_deg=20,seal_friction_n_m=20";
    let sheet = request(port, &format!("GET /sheet?leg={leg}"), "", "");
    for _ in 0..2 {
        let begun = Instant::now();
        let answer = raw_slow(port, &sheet);
        assert_eq!(status(&answer), 503, "{answer}");
        assert!(begun.elapsed() < Duration::from_secs(4), "{:?}", begun.elapsed());
    }
    // a trial that has begun is finished
    std::thread::sleep(Duration::from_secs(4));
    let before = program.processor_s();
    std::thread::sleep(Duration::from_secs(1));
    let used = program.processor_s() - before;
    assert!(used < 0.2, "{used} s of processor in a second in which nobody asks");
    assert_eq!(status(&raw(port, &ask(port, GOOD))), 200);
}

/// A connection that stays open between requests counts, so a page keeps only the one that asks.
#[test]
fn page_keeps_only_connections_that_ask() {
    let program = Program::start();
    let port = program.port;
    let head = |path: &str| format!("GET {path} HTTP/1.1\r\nhost: 127.0.0.1:{port}\r\n\r\n");
    for path in ["/", "/main.js", "/start.json", "/nothing"] {
        let answer = raw(port, head(path).as_bytes()).to_lowercase();
        assert!(answer.contains("connection: close"), "{path}: {answer}");
    }
    let asked = String::from_utf8(ask(port, GOOD)).expect("text").replace("connection: close\r\n", "");
    assert!(!raw(port, asked.as_bytes()).to_lowercase().contains("connection: close"));
}

/// A panic while a request is answered is an error of that request.
#[test]
fn page_survives_a_panic() {
    let page = Page::bind(0).expect("a port");
    let port =
        page.url().trim_end_matches('/').rsplit(':').next().and_then(|p| p.parse().ok()).expect("a port");
    let routes = axum::Router::new()
        .route("/panics", axum::routing::get(|| async { if true { panic!("on purpose") } else { "" } }))
        .route("/works", axum::routing::get(|| async { "yes" }));
    std::thread::spawn(move || page.serve_routes(routes));
    for _ in 0..3 {
        assert_eq!(status(&raw(port, &request(port, "GET /panics", "", ""))), 500);
        assert_eq!(status(&raw(port, &request(port, "GET /works", "", ""))), 200);
    }
}

#[test]
fn page_says_that_a_port_is_in_use() {
    let program = Program::start();
    let port = program.port.to_string();
    let said = refused(&["serve", "--port", &port]);
    assert!(said.contains(&port) && said.contains("in use") && said.contains("--port 0"), "{said}");
    assert!(refused(&["serve", "--port", "99999"]).contains("99999"));
}

/// A thousand requests at once, and then one: all are answered.
#[test]
fn page_answers_a_thousand_at_once() {
    let program = Program::start();
    let port = program.port;
    let answered = std::sync::atomic::AtomicUsize::new(0);
    std::thread::scope(|scope| {
        for part in 0..50 {
            let answered = &answered;
            scope.spawn(move || {
                // twenty connections each, all open before the first is read
                let mut open: Vec<_> = (0..20).map(|_| connect(port)).collect();
                for (i, s) in open.iter_mut().enumerate() {
                    let asked =
                        if (part + i) % 4 == 0 { ask(port, GOOD) } else { request(port, "GET /", "", "") };
                    let _ = s.write_all(&asked);
                }
                for s in &mut open {
                    s.set_read_timeout(Some(Duration::from_secs(60))).expect("a deadline");
                    let fine = status(&read(s)) == 200;
                    answered.fetch_add(usize::from(fine), std::sync::atomic::Ordering::Relaxed);
                }
            });
        }
    });
    let answered = answered.into_inner();
    assert_eq!(answered, 1000);
    assert_eq!(status(&raw(port, &ask(port, GOOD))), 200);
}
