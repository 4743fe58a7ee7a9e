//! The program `kneedamp serve` as a process, and raw requests to it.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

/// A running program; ended when dropped.
pub struct Program {
    child: Child,
    pub port: u16,
}

impl Program {
    /// Starts it on any free port.
    pub fn start() -> Self {
        Self::start_with(&[])
    }

    /// The same with more options.
    pub fn start_with(options: &[&str]) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_kneedamp"))
            .args(["serve", "--port", "0"])
            .args(options)
            .env_remove("KNEEDAMP_LIBRARY")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("starts");
        let mut line = String::new();
        BufReader::new(child.stdout.take().expect("piped")).read_line(&mut line).expect("an address");
        let port = line.trim().trim_end_matches('/').rsplit(':').next().and_then(|p| p.parse().ok());
        Self { child, port: port.unwrap_or_else(|| panic!("an address: {line}")) }
    }

    /// Processor seconds that it has used.
    #[cfg(target_os = "linux")]
    pub fn processor_s(&self) -> f64 {
        let stat = std::fs::read_to_string(format!("/proc/{}/stat", self.child.id())).expect("a process");
        let behind_name = stat.rsplit(')').next().expect("fields").split_whitespace().skip(11).take(2);
        // a tick is a hundredth of a second
        behind_name.map(|ticks| ticks.parse::<f64>().expect("ticks") / 100.0).sum()
    }

    /// Still there.
    pub fn runs(&mut self) -> bool {
        self.child.try_wait().expect("a process").is_none()
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// A connection that gives up after ten seconds.
pub fn connect(port: u16) -> TcpStream {
    let stream = TcpStream::connect(("127.0.0.1", port)).expect("connects");
    stream.set_read_timeout(Some(Duration::from_secs(10))).expect("a deadline");
    stream
}

/// Sends bytes and reads what comes back until the other side closes; empty if it closes at once.
pub fn raw(port: u16, bytes: &[u8]) -> String {
    let mut stream = connect(port);
    // one that refuses early closes while we are still writing
    let _ = stream.write_all(bytes);
    let _ = stream.shutdown(std::net::Shutdown::Write);
    read(&mut stream)
}

/// The same for what takes long to compute.
pub fn raw_slow(port: u16, bytes: &[u8]) -> String {
    let mut stream = connect(port);
    stream.set_read_timeout(Some(Duration::from_secs(120))).expect("a deadline");
    stream.write_all(bytes).expect("a question");
    read(&mut stream)
}

/// Reads to the end.
pub fn read(stream: &mut TcpStream) -> String {
    let mut answer = Vec::new();
    let _ = stream.read_to_end(&mut answer);
    String::from_utf8_lossy(&answer).into_owned()
}

/// The status of an answer; 0 for none.
pub fn status(answer: &str) -> u16 {
    let after = answer.strip_prefix("HTTP/1.").and_then(|a| a.get(2..5));
    after.and_then(|s| s.parse().ok()).unwrap_or(0)
}

/// A request with a host of its own and `connection: close`.
pub fn request(port: u16, line: &str, headers: &str, body: &str) -> Vec<u8> {
    let length = if body.is_empty() { String::new() } else { format!("content-length: {}\r\n", body.len()) };
    format!("{line} HTTP/1.1\r\nhost: 127.0.0.1:{port}\r\nconnection: close\r\n{headers}{length}\r\n{body}")
        .into_bytes()
}

/// A question as the page asks it.
pub fn ask(port: u16, body: &str) -> Vec<u8> {
    request(port, "POST /answer", "content-type: application/json\r\n", body)
}

/// A good question.
pub const GOOD: &str = r#"{"scenario":"walk-fast","legs":["swing-flexion=60","swing-flexion=0"]}"#;
