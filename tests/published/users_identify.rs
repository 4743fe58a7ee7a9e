//! U5: `identify stride` on the nine measured users (Hood et al. 2020, Scientific Data 7:150), as a user of the program
//! would: the built-in joint, whose two resistances and assist are found, over a typical prosthesis.
//!
//! With both legs' angles the drive is the user's own; with knee and thigh the hip is that of the shipped drive; with the
//! knee alone the thigh too. Only the first has a criterion; the others are printed.

use std::sync::LazyLock;

use super::assert_but;
use crate::common::person;
use crate::cross_code::users_drive;
use crate::evidence::{Check, Kind, greatest};
use kneedamp::body::anthropometry::LEG_PER_STATURE;
use kneedamp::case::setup::Setup;
use kneedamp::library::Library;
use kneedamp::library::angles::mean::MeanStride;
use kneedamp::library::angles::reconstruction::{Reconstruction, from_straight};
use kneedamp::library::angles::series::value;
use kneedamp::library::angles::speeds::{self, Provenance};
use kneedamp::library::angles::user::Angle;
use kneedamp::library::measured::trace::{Over, Sample, Trace};
use kneedamp::numerics::statistics::median;
use kneedamp::scenario::WalkingDrive;
use kneedamp::study::identify_stride::{Known, StrideFit, StrideStudy, Swing, SwingLaw, mean_curves};
use kneedamp::units::GRAVITY_M_PER_S2 as G;

/// What of a user's walk the program is given.
#[derive(Clone, Copy, PartialEq)]
enum Given {
    BothLegs,
    KneeAndThigh,
    KneeAlone,
}

fn samples(r: &Reconstruction, given: Given) -> Vec<Sample> {
    let (knee, thigh) = (r.user.prosthetic.deg(Angle::KneeFlexion), r.user.prosthetic.thigh_deg());
    let sample = |i: usize| Sample {
        at: i as f64 / 100.0,
        knee_deg: knee[i],
        thigh_deg: (given != Given::KneeAlone).then_some(thigh[i]),
        hip_m: None,
    };
    (0..=100).map(sample).collect()
}

fn study(r: &Reconstruction, given: Given, over: Over, samples: Vec<Sample>) -> StrideStudy {
    let library = Library::default();
    let mut drive = library.walking_drive("users-2020").expect("shipped");
    if given == Given::BothLegs {
        let own = MeanStride::of(std::slice::from_ref(r), &[]).expect("one user");
        let said = Provenance { name: "own".into(), source: None, licence: None, about: None };
        let file = speeds::drive(&users_drive::base(), &own, said).expect("own drive");
        drive = WalkingDrive { base: Some(users_drive::base().into()), file: file.into() };
    }
    let (knee, prosthesis) =
        (library.knee("built-in").expect("shipped"), library.prosthesis("typical").expect("shipped"));
    let mut setup = Setup::new(person(r.user.mass_kg, r.user.stature_m), prosthesis, knee, drive.clone());
    setup.speed_m_per_s = Some(r.user.speed_m_per_s);
    setup.cadence_steps_per_min = (over == Over::Stride).then_some(120.0 / r.steps.stride_time_s);
    StrideStudy {
        trace: Trace { over, samples, notes: vec![] },
        setup,
        drive,
        contacts_s: vec![],
        toe_off: (given == Given::BothLegs).then_some(r.toe.toe_off),
        also: vec![],
        law: SwingLaw::Orifice,
        name: "user".into(),
    }
}

fn fit(r: &Reconstruction, given: Given) -> StrideFit {
    study(r, given, Over::Stride, samples(r, given)).run().expect("identified")
}

/// How many values move by more than half their interval when every third sample is left out, of how many.
fn moved_without_a_third(r: &Reconstruction, full: &StrideFit) -> [usize; 2] {
    let mut count = [0, 0];
    for k in 0..3 {
        let all = samples(r, Given::BothLegs);
        // both ends stay: they close the stride
        let kept = all.into_iter().enumerate().filter(|(i, _)| i % 3 != k || *i == 0 || *i == 100);
        let kept = kept.map(|(_, s)| s).collect();
        let asked = study(r, Given::BothLegs, Over::Stride, kept);
        let known = Known { contacts_s: &[], stride_time_s: None, like: [&[], &[]] };
        let knee_deg = from_straight(&mean_curves(&asked.trace, &known).expect("a stride").knee_deg).0;
        let fewer = Swing { knee_deg, ..full.swing.clone() }.fitted(SwingLaw::Orifice).expect("fitted");
        let half = full.fit().half_intervals();
        // a value at its bound has no interval to leave
        for (i, h) in half.iter().enumerate().take(3).filter(|(i, _)| !full.fit().at_bound[*i]) {
            count[0] += usize::from((fewer.values[i] - full.fit().values[i]).abs() > *h);
            count[1] += 1;
        }
    }
    count
}

/// |Error| of the heel contact that is found in three strides over time, percent of the stride.
fn contact_error_pct(r: &Reconstruction, given: Given) -> f64 {
    const PHASE: f64 = 0.37;
    let period = r.steps.stride_time_s;
    let one = samples(r, given);
    let at = |t: f64| {
        let p = (t / period + PHASE).fract();
        let i = ((100.0 * p).round() as usize).min(99);
        Sample { at: t, ..one[i] }
    };
    let walk = (0..).map(|i| 0.01 * f64::from(i)).take_while(|t| *t < 3.7 * period).map(at).collect();
    let asked = study(r, given, Over::Time, walk);
    let row = asked.drive.file.row_at(r.user.speed_m_per_s / (G * LEG_PER_STATURE * r.user.stature_m).sqrt());
    let like = [&row.knee_flexion_deg, &row.thigh_angle_deg]
        .map(|h| (0..=100).map(|i| value(h, f64::from(i) / 100.0)).collect::<Vec<f64>>());
    let known = Known { contacts_s: &[], stride_time_s: None, like: [&like[0], &like[1]] };
    let found = mean_curves(&asked.trace, &known).expect("strides").contacts_s[0];
    let off = ((found / period + PHASE) + 0.5).fract() - 0.5;
    100.0 * off.abs()
}

/// Per user: rms with each of [`Given`], contact errors with and without thigh; and how many values moved.
static FIGURES: LazyLock<(Vec<[f64; 5]>, [usize; 2])> = LazyLock::new(|| {
    let mut moved = [0, 0];
    let converted = users_drive::converted(&[]);
    let rows = converted.users.iter().map(|r: &Reconstruction| {
        let full = fit(r, Given::BothLegs);
        let values: Vec<f64> = full.values().iter().map(|v| v.value).collect();
        let [m, n] = moved_without_a_third(r, &full);
        moved = [moved[0] + m, moved[1] + n];
        let rms = |given| fit(r, given).fit().rms();
        let row = [
            full.fit().rms(),
            rms(Given::KneeAndThigh),
            rms(Given::KneeAlone),
            contact_error_pct(r, Given::KneeAndThigh),
            contact_error_pct(r, Given::KneeAlone),
        ];
        println!("{}: {row:.2?}; values {values:.3?}; {m} of {n} moved", r.user.subject);
        row
    });
    let rows = rows.collect();
    (rows, moved)
});

fn of_all(k: usize) -> Vec<f64> {
    FIGURES.0.iter().map(|f| f[k]).collect()
}

pub fn checks() -> Vec<Check> {
    let nine = "Hood et al. 2020, Scientific Data 7:150, nine users at 0.8 m/s";
    let check = |id, what, criterion, figure, unit| Check {
        id,
        kind: Kind::Independent,
        what,
        source: nine,
        criterion,
        figure,
        unit,
    };
    let middle = |k| median(of_all(k)).unwrap_or(f64::NAN);
    let [moved, of] = FIGURES.1;
    vec![
        check("U5a", "identify stride: knee in swing, rms, angles of both legs, median", 2.0, middle(0), "°"),
        check("U5b", "the same, worst of nine users", 4.0, greatest(of_all(0)), "°"),
        check(
            "U5c",
            "the same, values that leave their interval when every third sample is left out",
            10.0,
            100.0 * moved as f64 / of as f64,
            "%",
        ),
        check("U5d", "heel contact found from knee and thigh, median error", 3.0, middle(3), "% of stride"),
    ]
}

#[test]
fn published_users_are_identified() {
    let checks = checks();
    for (k, what) in
        ["both legs", "knee and thigh", "knee alone", "contact, with thigh", "contact, knee alone"]
            .iter()
            .enumerate()
    {
        let middle = median(of_all(k)).unwrap_or(f64::NAN);
        println!("{what}: median {middle:.2}, worst {:.2}", greatest(of_all(k)));
    }
    assert_but(&checks, &[]);
}
