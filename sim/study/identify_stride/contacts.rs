//! From angles over time to one stride: heel contacts, and the mean of the strides between them.
//!
//! Where contacts are not given, the time from one peak of flexion to the next is the stride, and the shift at which
//! knee and thigh correlate best with those of the drive is heel contact. With the knee alone that is good to a few
//! percent of the stride: tests/published/users_identify.rs measures it on nine users.

use crate::error::SimError;
use crate::library::measured::trace::{Over, Sample, Trace};
use crate::numerics::smooth::interpolate;
use crate::numerics::statistics::{correlation, median};

/// Intervals of a stride.
pub const PERCENT: usize = 100;
/// Tried shifts per stride.
const SHIFTS: usize = 400;
/// A peak of flexion is at least so high, degrees, and the greatest within so much time before and after, s.
const PEAK_DEG: f64 = 20.0;
const PEAK_APART_S: f64 = 0.4;
/// A sample may lie so far outside a stride and still be its end, fraction of the stride.
const SLACK: f64 = 0.02;
/// Strides of walking, s.
const STRIDE_S: std::ops::RangeInclusive<f64> = 0.5..=3.0;

/// Mean stride of a trace, at whole percents from heel contact to heel contact.
#[derive(Debug, Clone, PartialEq)]
pub struct MeanCurves {
    /// Stride time, s; none where the table has none.
    pub stride_time_s: Option<f64>,
    /// Heel contacts, s; empty for a table over one stride.
    pub contacts_s: Vec<f64>,
    /// Whether they were found rather than given.
    pub found: bool,
    /// Knee flexion as measured, degrees.
    pub knee_deg: Vec<f64>,
    /// Thigh from vertical, degrees.
    pub thigh_deg: Option<Vec<f64>>,
    /// Hip, forward and up, m.
    pub hip_m: Option<[Vec<f64>; 2]>,
    /// Standard deviation between strides, root mean square over the stride, degrees; none for one stride.
    pub between_strides_deg: Option<f64>,
}

impl MeanCurves {
    /// The same with heel contact later by so many percent of the stride: it is the same walk over and over.
    #[must_use]
    pub fn from_later_contact(self, percent: usize) -> Self {
        let turned = |y: &Vec<f64>| (0..=PERCENT).map(|i| y[(i + percent) % PERCENT]).collect::<Vec<f64>>();
        Self {
            knee_deg: turned(&self.knee_deg),
            thigh_deg: self.thigh_deg.as_ref().map(turned),
            hip_m: self.hip_m.as_ref().map(|[x, z]| [turned(x), turned(z)]),
            ..self
        }
    }
}

/// What is known of the walk besides the table.
pub struct Known<'a> {
    /// Heel contacts given, s.
    pub contacts_s: &'a [f64],
    /// Stride time given, s.
    pub stride_time_s: Option<f64>,
    /// The drive's knee and thigh at whole percents, degrees.
    pub like: [&'a [f64]; 2],
}

/// The mean stride.
///
/// # Errors
/// No complete stride; contacts that are none of walking.
pub fn mean_curves(trace: &Trace, known: &Known) -> Result<MeanCurves, SimError> {
    if trace.over == Over::Stride {
        let [first, last] = [0, trace.samples.len() - 1].map(|i| trace.samples[i].at);
        if first > SLACK || last < 1.0 - SLACK {
            return Err(wrong("percent", "the whole stride is needed, from 0 to 100 %"));
        }
        return Ok(MeanCurves { stride_time_s: known.stride_time_s, ..mean(&trace.samples, &[0.0, 1.0]) });
    }
    let found = known.contacts_s.is_empty();
    let contacts_s = if found { find(&trace.samples, known)? } else { known.contacts_s.to_vec() };
    for pair in contacts_s.windows(2) {
        crate::units::within("time between heel contacts (s)", pair[1] - pair[0], STRIDE_S)?;
    }
    let [first, last] = [0, trace.samples.len() - 1].map(|i| trace.samples[i].at);
    let slack = SLACK * (contacts_s[1] - contacts_s[0]);
    if contacts_s[0] < first - slack || contacts_s[contacts_s.len() - 1] > last + slack {
        return Err(wrong("heel contact", "a stride reaches beyond the table"));
    }
    let strides = (contacts_s.len() - 1) as f64;
    let stride_time_s = Some((contacts_s[contacts_s.len() - 1] - contacts_s[0]) / strides);
    Ok(MeanCurves { stride_time_s, found, ..mean(&trace.samples, &contacts_s) })
}

fn wrong(field: &str, why: &str) -> SimError {
    SimError::Inconsistent { field: field.into(), why: why.into() }
}

/// Curves of each stride between contacts, averaged percent by percent.
fn mean(samples: &[Sample], contacts: &[f64]) -> MeanCurves {
    let at: Vec<f64> = samples.iter().map(|s| s.at).collect();
    let curve = |get: &dyn Fn(&Sample) -> Option<f64>| -> Option<Vec<Vec<f64>>> {
        let values = samples.iter().map(get).collect::<Option<Vec<f64>>>()?;
        let of_stride = |pair: &[f64]| {
            let instant = |i: usize| pair[0] + (pair[1] - pair[0]) * i as f64 / PERCENT as f64;
            (0..=PERCENT).map(|i| interpolate(instant(i), &at, &values)).collect()
        };
        Some(contacts.windows(2).map(of_stride).collect())
    };
    let average = |strides: &[Vec<f64>]| -> Vec<f64> {
        let n = strides.len() as f64;
        (0..=PERCENT).map(|i| strides.iter().map(|s| s[i]).sum::<f64>() / n).collect()
    };
    let knees = curve(&|s| Some(s.knee_deg)).unwrap_or_default();
    let knee_deg = average(&knees);
    let squares = knees.iter().flat_map(|k| k.iter().zip(&knee_deg).map(|(a, b)| (a - b).powi(2)));
    let freedom = (PERCENT + 1) as f64 * (knees.len() as f64 - 1.0);
    let hip = |k: usize| curve(&move |s: &Sample| s.hip_m.map(|h| h[k]));
    MeanCurves {
        stride_time_s: None,
        contacts_s: if contacts[0].abs() < 1e-12 && contacts.len() == 2 && (contacts[1] - 1.0).abs() < 1e-12 {
            vec![]
        } else {
            contacts.to_vec()
        },
        found: false,
        between_strides_deg: (knees.len() > 1).then(|| (squares.sum::<f64>() / freedom).sqrt()),
        thigh_deg: curve(&|s| s.thigh_deg).map(|c| average(&c)),
        hip_m: hip(0).zip(hip(1)).map(|(x, z)| [average(&x), average(&z)]),
        knee_deg,
    }
}

/// Heel contacts of all complete strides.
fn find(samples: &[Sample], known: &Known) -> Result<Vec<f64>, SimError> {
    let peaks = peaks_s(samples);
    let between = median(peaks.windows(2).map(|p| p[1] - p[0]).collect()).or(known.stride_time_s);
    let (Some(first), Some(stride)) = (peaks.first(), between) else {
        return Err(wrong(
            "knee_deg",
            "two peaks of flexion above 20° are needed to find a stride; or give its heel contacts, or speed or cadence",
        ));
    };
    let (start, end) = (samples[0].at, samples[samples.len() - 1].at);
    let at: Vec<f64> = samples.iter().map(|s| s.at).collect();
    let signal = |get: fn(&Sample) -> Option<f64>| samples.iter().map(get).collect::<Option<Vec<f64>>>();
    let knee = signal(|s| Some(s.knee_deg)).unwrap_or_default();
    let thigh = signal(|s| s.thigh_deg);
    // the part of the stride that the table has after a shift is compared
    let score = |contact: f64| {
        let instants = (0..PERCENT).map(|i| (i, contact + stride * i as f64 / PERCENT as f64));
        let inside: Vec<(usize, f64)> = instants.filter(|(_, t)| (start..=end).contains(t)).collect();
        let agreement = |values: &[f64], like: &[f64]| {
            let (ours, theirs): (Vec<f64>, Vec<f64>) =
                inside.iter().map(|(i, t)| (interpolate(*t, &at, values), like[*i])).unzip();
            correlation(&ours, &theirs)
        };
        let coverage = inside.len() as f64 / PERCENT as f64;
        let both =
            agreement(&knee, known.like[0]) + thigh.as_ref().map_or(0.0, |t| agreement(t, known.like[1]));
        if coverage > 0.9 { both } else { f64::NEG_INFINITY }
    };
    // within the stride that holds the first peak, or the next one
    let tried = (0..2 * SHIFTS).map(|i| first + stride * (i as f64 / SHIFTS as f64 - 1.0));
    let best = tried.map(|c| (c, score(c))).max_by(|a, b| a.1.total_cmp(&b.1));
    let Some((contact, _)) = best.filter(|(_, s)| s.is_finite()) else {
        return Err(wrong("time", "the table holds no complete stride"));
    };
    let slack = SLACK * stride;
    let before = ((contact - start + slack) / stride).floor().max(0.0);
    let contacts = (0..).map(|i| contact + stride * (f64::from(i) - before));
    let all: Vec<f64> =
        contacts.skip_while(|c| *c < start - slack).take_while(|c| *c <= end + slack).collect();
    if all.len() < 2 {
        return Err(wrong("time", "the table holds no complete stride from heel contact to heel contact"));
    }
    Ok(all)
}

/// Instants of the peaks of flexion in swing.
fn peaks_s(samples: &[Sample]) -> Vec<f64> {
    let most = samples.iter().map(|s| s.knee_deg).fold(f64::NEG_INFINITY, f64::max);
    let least = samples.iter().map(|s| s.knee_deg).fold(f64::INFINITY, f64::min);
    let high = least + (0.6 * (most - least)).max(PEAK_DEG);
    let mut peaks: Vec<(f64, f64)> = vec![];
    for s in samples.iter().filter(|s| s.knee_deg >= high) {
        match peaks.last_mut() {
            Some(last) if s.at - last.0 < PEAK_APART_S => {
                if s.knee_deg > last.1 {
                    *last = (s.at, s.knee_deg);
                }
            }
            _ => peaks.push((s.at, s.knee_deg)),
        }
    }
    peaks.into_iter().map(|p| p.0).collect()
}
