//! Inputs made from good ones by small damages, the same for a seed.

use kneedamp::numerics::random::Draw;

/// Longest input, bytes.
const LONGEST: usize = 64 * 1024;

/// Pieces that readers of numbers, YAML, tables and options may stumble over.
const PIECES: &[&str] = &[
    "NaN",
    ".nan",
    "inf",
    "-.inf",
    "1e308",
    "1e-320",
    "-0",
    "0x10",
    "1_000",
    "99999999999999999999",
    "1e999",
    ".",
    "-",
    "+",
    "0",
    "1,5",
    "1.5.2",
    "null",
    "~",
    "true",
    "yes",
    ": ",
    "- ",
    "? ",
    "| ",
    "> ",
    "{",
    "}",
    "[",
    "]",
    "&a ",
    "*a",
    "<<: *a",
    "!!float ",
    "!x ",
    "---\n",
    "...\n",
    "#",
    "'",
    "\"",
    "\\",
    "%",
    "@",
    "`",
    "\t",
    "\r\n",
    "\n",
    "\n\n",
    " ",
    "\u{feff}",
    "\u{202e}",
    "\u{0}",
    "\u{1b}[31m",
    "é",
    "°",
    "−",
    "😀",
    ",",
    ";",
    "=",
    "..",
    ":",
    "/",
    "..=",
    "--",
    "-1",
    "kind: knee\n",
    "limits:\n",
    "name: \n",
    "endheader\n",
    "time_s",
    "percent",
    "knee_deg",
    "torque_n_m",
    "%3D",
    "&lang=de",
];

fn number_at(text: &[u8], from: usize) -> Option<(usize, usize)> {
    let digit = |b: &u8| b.is_ascii_digit() || *b == b'.';
    let begin = from + text[from..].iter().position(digit)?;
    let end = begin + text[begin..].iter().take_while(|b| digit(b)).count();
    Some((begin, end))
}

fn line_at(text: &[u8], at: usize) -> (usize, usize) {
    let begin = text[..at].iter().rposition(|&b| b == b'\n').map_or(0, |i| i + 1);
    let end = text[at..].iter().position(|&b| b == b'\n').map_or(text.len(), |i| at + i + 1);
    (begin, end)
}

fn damage(text: &mut Vec<u8>, other: &[u8], draw: &mut Draw) {
    let at = draw.index(text.len() + 1).min(text.len());
    let piece = PIECES[draw.index(PIECES.len())].as_bytes();
    match draw.index(10) {
        0 if at < text.len() => text[at] ^= 1 << draw.index(8),
        1 => text.insert(at, draw.index(256) as u8),
        2 => drop(text.splice(at..at, piece.iter().copied())),
        3 => {
            let end = (at + 1 + draw.index(20)).min(text.len());
            text.drain(at.min(end)..end);
        }
        // another number in place of one
        4 | 5 => {
            if let Some((begin, end)) = number_at(text, at) {
                text.splice(begin..end, piece.iter().copied());
            }
        }
        // a line twice, often, or not at all
        6 => {
            let (begin, end) = line_at(text, at);
            let line = text[begin..end].to_vec();
            for _ in 0..[1, 1, 2, 60][draw.index(4)] {
                text.splice(end..end, line.iter().copied());
            }
        }
        7 => {
            let (begin, end) = line_at(text, at);
            text.drain(begin..end);
        }
        // the end of another input
        8 => {
            text.truncate(at);
            text.extend_from_slice(&other[draw.index(other.len() + 1).min(other.len())..]);
        }
        _ => {
            let deep = [2, 50, 2000][draw.index(3)];
            let nested = piece.iter().copied().cycle().take(deep * piece.len());
            text.splice(at..at, nested);
        }
    }
    text.truncate(LONGEST);
}

/// Input number `n` from these seeds.
pub fn mutated(seeds: &[Vec<u8>], n: u64) -> Vec<u8> {
    let mut draw = Draw::new(17, n);
    let mut text = seeds[draw.index(seeds.len())].clone();
    let other = &seeds[draw.index(seeds.len())];
    // short texts are gone after a few damages
    let most = if text.len() < 200 { 2 } else { 6 };
    for _ in 0..1 + draw.index(most) {
        damage(&mut text, other, &mut draw);
    }
    text
}
