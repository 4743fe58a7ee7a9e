//! C1 and C4: knee moment and knee power of the intact leg in swing, by inverse dynamics with the equation
//! of swing, against the strides the drive was computed from (Schwartz, Rozumalski & Trost 2008, J Biomech
//! 41:1639): consistency, not independent evidence.
//!
//! C1a fails at the fastest of the five speeds (0.051 against 0.05 N m/kg; 0.023-0.039 at the others). The
//! column `model_Nm_per_kg` of swing_knee_moment.csv, from an earlier program of this project, stays below
//! (0.049). Shank and foot as two segments of Winter's table, the foot's centre ahead of the shank line,
//! come within 0.001-0.004 N m/kg of that column (0.011 at the fastest speed); the crate takes both as one
//! segment on the line, as Winter's combined row has them. C1b, the same for a body of 1.75 m against
//! the children's moments per kg, fails at that speed likewise (0.1006 against 0.10).
//!
//! C4a fails: the equation of swing holds from toe-off on, and the burst K3 lies around toe-off; at the
//! three slower speeds the published peak comes before it. Only its part after toe-off is there.

use super::assert_but;
use super::walking::{drive_at, row_speeds};
use crate::common::csv_rows;
use crate::evidence::{Check, Kind, greatest};
use kneedamp::body::anthropometry::{LEG_PER_STATURE, SegmentSource, intact_shank};
use kneedamp::motion::swing::Pendulum;
use kneedamp::scenario::Drive;

/// Leg length of the children, m.
const CHILDREN_LEG_M: f64 = 0.75;
/// Any mass would do: everything is per kg.
const MASS_KG: f64 = 50.0;
const LABELS: [&str; 5] = ["very_slow", "slow", "free", "fast", "very_fast"];

/// Inverse dynamics of the intact leg: knee moment by the equation of swing with the published knee
/// curve put in. Positive when it extends the knee, N m/kg: the sign of swing_knee_moment.csv, whose
/// moments are positive after toe-off, where they resist flexion, and negative before heel contact, where
/// they resist extension.
struct IntactLeg {
    drive: Drive,
    pendulum: Pendulum,
}

impl IntactLeg {
    fn at(v: f64, leg_m: f64) -> Self {
        let stature = leg_m / LEG_PER_STATURE;
        let pendulum = intact_shank(MASS_KG, stature, SegmentSource::Dempster).into();
        Self { drive: drive_at(v, leg_m), pendulum }
    }

    fn moment_n_m_per_kg(&self, t: f64) -> f64 {
        let [phi, _, acc] = self.drive.published_knee(t);
        let driven = self.pendulum.driving_torque(&self.drive.kinematics(t), phi);
        -(self.pendulum.inertia * acc - driven) / MASS_KG
    }

    /// Power of that moment, W/kg; negative when the knee takes energy out.
    fn power_w_per_kg(&self, t: f64) -> f64 {
        -self.moment_n_m_per_kg(t) * self.drive.published_knee(t)[1]
    }

    /// Most negative power between two instants, and when, % of the stride.
    fn burst(&self, from: f64, to: f64) -> (f64, f64) {
        let at = |i: u32| from + (to - from) * f64::from(i) / 400.0;
        (0..=400)
            .map(|i| (self.power_w_per_kg(at(i)), 100.0 * at(i) / self.drive.stride_time_s))
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .expect("points")
    }

    /// The part of K3 after toe-off, and K4. The equation of swing holds from toe-off on only, so what
    /// K3 has before is not there; at the three slower speeds its published peak lies before toe-off.
    fn bursts(&self) -> [(f64, f64); 2] {
        let (t_to, period) = (self.drive.toe_off_s, self.drive.stride_time_s);
        let at = |i: u32| t_to + (period - t_to) * f64::from(i) / 400.0;
        let peak = (0..=400).map(at).max_by(|a, b| {
            let flexion = |t: f64| self.drive.published_knee(t)[0];
            flexion(*a).total_cmp(&flexion(*b))
        });
        let peak = peak.expect("points");
        [self.burst(t_to, peak), self.burst(peak, period)]
    }
}

/// Rms deviation from a column of swing_knee_moment.csv at each of the five speeds, N m/kg.
fn moment_rms(leg_m: f64, column: &str) -> Vec<f64> {
    let rows = csv_rows("swing_knee_moment.csv");
    let i = rows[0].iter().position(|c| c == column).expect("column");
    LABELS
        .into_iter()
        .zip(row_speeds())
        .map(|(label, v)| {
            let leg = IntactLeg::at(v, leg_m);
            let squares: Vec<f64> = rows
                .iter()
                .filter(|r| r[0] == label)
                .map(|r| {
                    let pct: f64 = r[1].parse().expect("percent");
                    let theirs: f64 = r[i].parse().expect("moment");
                    (leg.moment_n_m_per_kg(pct / 100.0 * leg.drive.stride_time_s) - theirs).powi(2)
                })
                .collect();
            (squares.iter().sum::<f64>() / squares.len() as f64).sqrt()
        })
        .collect()
}

/// [K3, K4] from very slow to very fast, W/kg, in the paper's two digits.
const BURSTS: [[f64; 5]; 2] = [[-0.14, -0.34, -0.57, -0.91, -1.54], [-0.17, -0.43, -0.98, -1.48, -2.42]];

/// [deviation of K3, of K4 relative to the published value; reversals of the trend with speed].
fn burst_deviation() -> [f64; 3] {
    let ours: Vec<_> = row_speeds().into_iter().map(|v| IntactLeg::at(v, CHILDREN_LEG_M).bursts()).collect();
    let of = |k: usize| ours.iter().map(move |b| b[k].0).collect::<Vec<_>>();
    let deviation = |k: usize| greatest(of(k).iter().zip(BURSTS[k]).map(|(a, b)| (a / b - 1.0).abs()));
    let reversals: usize = (0..2).map(|k| of(k).windows(2).filter(|w| w[1] >= w[0]).count()).sum();
    for (k, name) in [(0, "K3 after toe-off"), (1, "K4")] {
        println!("{name}: {:.2?} at {:.0?} %", of(k), ours.iter().map(|b| b[k].1).collect::<Vec<_>>());
    }
    [deviation(0), deviation(1), reversals as f64]
}

const SCHWARTZ: &str = "Schwartz, Rozumalski & Trost 2008, J Biomech 41:1639";

pub fn checks() -> Vec<Check> {
    let check = |id, what, criterion, figure, unit| Check {
        id,
        kind: Kind::Consistency,
        what,
        source: SCHWARTZ,
        criterion,
        figure,
        unit,
    };
    let rms = |leg| greatest(moment_rms(leg, "schwartz_reported"));
    let [k3, k4, reversals] = burst_deviation();
    vec![
        check(
            "C1a",
            "swing knee moment of the intact leg, rms, worst of five speeds, children's stature",
            0.05,
            rms(CHILDREN_LEG_M),
            "N m/kg",
        ),
        check("C1b", "the same at stature 1.75 m", 0.10, rms(LEG_PER_STATURE * 1.75), "N m/kg"),
        check("C4a", "knee power burst K3, its part after toe-off", 0.5, k3, "(relative)"),
        check("C4b", "knee power burst K4", 0.5, k4, "(relative)"),
        check("C4c", "reversals of the rise of K3 and K4 with speed", 0.0, reversals, "(number)"),
    ]
}

#[test]
fn published_intact_leg() {
    for (name, leg) in [("0.75", CHILDREN_LEG_M), ("0.93", LEG_PER_STATURE * 1.75)] {
        println!("rms by speed, leg {name} m: {:.4?}", moment_rms(leg, "schwartz_reported"));
    }
    println!("from the earlier program: {:.4?}", moment_rms(CHILDREN_LEG_M, "model_Nm_per_kg"));
    assert_but(&checks(), &["C1a", "C1b", "C4a"]);
}

/// The failures of C1a and C1b are those of the fastest speed alone.
#[test]
fn published_knee_moment_holds_at_the_four_slower_speeds() {
    for (leg, criterion) in [(CHILDREN_LEG_M, 0.05), (LEG_PER_STATURE * 1.75, 0.10)] {
        let rms = moment_rms(leg, "schwartz_reported");
        assert!(rms[..4].iter().all(|r| *r <= criterion), "{rms:?}");
    }
}
