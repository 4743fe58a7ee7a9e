//! The drive made from joint angles of users of prostheses against an earlier, independent NumPy program of
//! the team (figures recorded in tests/reference/users_drive.json), and its own checks (U4).

use std::sync::LazyLock;

use serde_json::Value;

use crate::common::{fixture, library};
use crate::evidence::{Check, Kind, greatest};
use kneedamp::library::angles::landmarks::Landmark;
use kneedamp::library::angles::mean::{KneeFigures, MeanStride};
use kneedamp::library::angles::speeds::FADED_SPEED;
use kneedamp::library::angles::{Converted, convert, yaml};
use kneedamp::library::table::Named;
use kneedamp::scenario::{DriveFile, Harmonics};

const GREATEST_THIGH: [Landmark; 3] = [Landmark::SoundContact, Landmark::ToeOff, Landmark::GreatestThigh];

pub fn table(name: &str) -> String {
    let path = format!("{}/tests/reference/{name}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).expect("a table")
}

/// The nine users as shipped.
pub fn converted(aligned_at: &[Landmark]) -> Converted {
    let (angles, people) = (table("prosthesis_users_0p8.csv"), table("prosthesis_users_people.csv"));
    let tables = [Named { name: "angles.csv", text: &angles }, Named { name: "people.csv", text: &people }];
    convert(tables, &[], aligned_at, &base(), "users-2020").expect("shipped tables")
}

static PLAIN: LazyLock<Converted> = LazyLock::new(|| converted(&[]));

pub fn base() -> DriveFile {
    library().drive("able-bodied-2008").expect("shipped drive")
}

/// mean, cos 1, sin 1, ... as recorded.
fn flat(h: &Harmonics) -> Vec<f64> {
    std::iter::once(h.mean).chain(h.cos.iter().zip(&h.sin).flat_map(|(c, s)| [*c, *s])).collect()
}

fn numbers(v: &Value) -> Vec<f64> {
    v.as_array().expect("numbers").iter().map(|x| x.as_f64().expect("a number")).collect()
}

/// Greatest deviation of the series of a mean from those recorded.
fn series_deviation(mean: &MeanStride, recorded: &Value) -> f64 {
    let all = [
        ("thigh", &mean.thigh_deg),
        ("knee", &mean.knee_deg),
        ("hip_forward", &mean.hip_forward_g),
        ("hip_up", &mean.hip_up_g),
    ];
    greatest(all.into_iter().flat_map(|(key, ours)| {
        let (ours, theirs) = (flat(ours), numbers(&recorded[key]));
        assert_eq!(ours.len(), theirs.len(), "harmonics of {key}");
        ours.into_iter().zip(theirs).map(|(a, b)| (a - b).abs()).collect::<Vec<_>>()
    }))
}

pub fn checks() -> Vec<Check> {
    let users = &PLAIN.users;
    let row = |id, kind, what, criterion, figure| Check {
        id,
        kind,
        what,
        source: "Hood et al. 2020, Scientific Data 7:150, nine users at 0.8 m/s",
        criterion,
        figure,
        unit: "mm",
    };
    vec![
        row(
            "U4a",
            Kind::Consistency,
            "path of the hip from standing feet, misfit, worst of nine users",
            3.0,
            greatest(users.iter().map(|r| 1e3 * r.path.misfit_m)),
        ),
        row(
            "U4b",
            Kind::Independent,
            "prosthetic toe at rest on the belt as seen along the sound leg, SD, worst of nine users",
            15.0,
            greatest(users.iter().map(|r| 1e3 * r.toe.at_rest_m)),
        ),
    ]
}

#[test]
fn cross_code_users_reconstruction_holds() {
    for check in checks() {
        check.assert();
    }
}

#[test]
fn cross_code_users_each_agrees() {
    let recorded = fixture("users_drive.json");
    let theirs = recorded["users"].as_array().expect("users");
    assert_eq!(theirs.len(), PLAIN.users.len());
    for (r, theirs) in PLAIN.users.iter().zip(theirs) {
        assert_eq!(r.user.subject, theirs["subject"].as_str().expect("a subject"));
        assert_eq!(Some(r.phase.sound_contact_pct as u64), theirs["phase_pct"].as_u64());
        let steps = numbers(&theirs["steps_m"]);
        for (what, ours, theirs, allowed) in [
            ("phase score", r.phase.score, theirs["phase_score"].as_f64(), 1e-8),
            ("stride time", r.steps.stride_time_s, theirs["stride_time_s"].as_f64(), 1e-8),
            ("prosthetic step", r.steps.prosthetic_m, Some(steps[0]), 1e-8),
            ("sound step", r.steps.sound_m, Some(steps[1]), 1e-8),
            ("toe-off", r.toe.toe_off, theirs["toe_off"].as_f64(), 1e-12),
            ("knee at toe-off", r.knee_at_toe_off_deg(), theirs["knee_at_toe_off_deg"].as_f64(), 1e-8),
            ("misfit", r.path.misfit_m, theirs["misfit_m"].as_f64(), 1e-10),
            ("toe at rest", r.toe.at_rest_m, theirs["toe_at_rest_m"].as_f64(), 1e-10),
        ] {
            let theirs = theirs.expect("a number");
            assert!((ours - theirs).abs() <= allowed, "{}, {what}: {ours} and {theirs}", r.user.subject);
        }
    }
}

#[test]
fn cross_code_users_means_agree() {
    let recorded = fixture("users_drive.json");
    for (mean, theirs) in [
        (PLAIN.mean.clone(), &recorded["plain"]),
        (
            MeanStride::of(&PLAIN.users, &Landmark::DEFAULT).expect("a mean"),
            &recorded["aligned"]["knee_peak"],
        ),
        (
            MeanStride::of(&PLAIN.users, &GREATEST_THIGH).expect("a mean"),
            &recorded["aligned"]["greatest_thigh"],
        ),
    ] {
        for (what, ours) in [
            ("v", mean.dimensionless_speed),
            ("cadence", mean.dimensionless_cadence),
            ("step", mean.dimensionless_step),
            ("toe_off", mean.toe_off),
            ("opposite", mean.sound_contact),
        ] {
            let theirs = theirs[what].as_f64().expect("a number");
            assert!((ours - theirs).abs() < 1e-8, "{what}: {ours} and {theirs}");
        }
        let deviation = series_deviation(&mean, theirs);
        println!("{:?}: coefficients within {deviation:.1e}", mean.aligned_at);
        assert!(deviation < 1e-8, "{:?}: {deviation}", mean.aligned_at);
    }
}

/// Stretching changes the curves: a mean that ignored its landmarks would pass everything else here.
#[test]
fn cross_code_users_alignment_steepens_the_bending() {
    let plain = KneeFigures::of(&PLAIN.mean.knee_deg);
    let own = KneeFigures::mean_of(&PLAIN.users);
    for landmarks in [&Landmark::DEFAULT, &GREATEST_THIGH] {
        let aligned = KneeFigures::of(&MeanStride::of(&PLAIN.users, landmarks).expect("a mean").knee_deg);
        assert!(aligned.peak_deg > plain.peak_deg + 0.5, "{landmarks:?}");
        assert!(aligned.flexion_deg_per_pct > plain.flexion_deg_per_pct + 0.5, "{landmarks:?}");
        assert!(aligned.flexion_deg_per_pct < own.flexion_deg_per_pct, "{landmarks:?}");
    }
}

/// One user's stride aligned with itself is the user's own.
#[test]
fn cross_code_users_one_user_is_not_stretched() {
    let one = std::slice::from_ref(&PLAIN.users[0]);
    let [plain, aligned] = [&[][..], &Landmark::DEFAULT].map(|l| MeanStride::of(one, l).expect("a mean"));
    for (a, b) in [(&plain.thigh_deg, &aligned.thigh_deg), (&plain.hip_up_g, &aligned.hip_up_g)] {
        assert!(greatest(flat(a).iter().zip(flat(b)).map(|(a, b)| (a - b).abs())) < 1e-9);
    }
    assert!(plain.knee_peak_sd_deg.is_none(), "one person has no scatter");
}

/// Rows of the drive: cadence follows the product within 10⁻⁴, everything else the shifted base within the
/// rounding of the file.
#[test]
fn cross_code_users_rows_follow_the_shift() {
    let (file, mean, base) = (&PLAIN.file, &PLAIN.mean, base());
    let v0 = mean.dimensionless_speed;
    let at = base.row_at(v0);
    let (least, most) = (base.speeds[0].dimensionless_speed, base.speeds[4].dimensionless_speed);
    let rounding = 1.1e-6;
    for i in 0..=2000 {
        let v = least + (most - least) * f64::from(i) / 2000.0;
        let (row, base) = (file.row_at(v), base.row_at(v));
        let fade = ((FADED_SPEED - v) / (FADED_SPEED - v0)).clamp(0.0, 1.3);
        let more = mean.dimensionless_cadence / at.dimensionless_cadence - 1.0;
        let cadence = base.dimensionless_cadence * (1.0 + more * fade);
        assert!((row.dimensionless_cadence / cadence - 1.0).abs() < 1e-4, "cadence at v* {v}");
        let toe_off = base.toe_off_fraction + mean.toe_off - at.toe_off_fraction;
        assert!((row.toe_off_fraction - toe_off).abs() < rounding, "toe-off at v* {v}");
        assert!((row.opposite_contact_fraction - mean.sound_contact).abs() < rounding);
        assert!(
            row.vertical_load_bw.iter().zip(&base.vertical_load_bw).all(|(a, b)| (a - b).abs() < rounding)
        );
        for (ours, base, at, measured) in [
            (&row.thigh_angle_deg, &base.thigh_angle_deg, &at.thigh_angle_deg, &mean.thigh_deg),
            (&row.knee_flexion_deg, &base.knee_flexion_deg, &at.knee_flexion_deg, &mean.knee_deg),
            (
                &row.hip_vertical_acceleration_g,
                &base.hip_vertical_acceleration_g,
                &at.hip_vertical_acceleration_g,
                &mean.hip_up_g,
            ),
            (
                &row.hip_forward_acceleration_g,
                &base.hip_forward_acceleration_g,
                &at.hip_forward_acceleration_g,
                &mean.hip_forward_g,
            ),
        ] {
            let [ours, base, at, measured] = [ours, base, at, measured].map(flat);
            let get = |a: &[f64], k: usize| a.get(k).copied().unwrap_or(0.0);
            for (k, ours) in ours.iter().enumerate() {
                let wanted = get(&base, k) + get(&measured, k) - get(&at, k);
                assert!((ours - wanted).abs() < rounding, "coefficient {k} at v* {v}: {ours} and {wanted}");
            }
        }
    }
    let measured = file.measured.as_ref().expect("says where it was measured");
    assert!((measured.dimensionless_speeds[0] - v0).abs() < rounding);
    assert_eq!(measured.shifted_from, "able-bodied-2008");
    assert!(
        file.speeds.iter().any(|r| (r.dimensionless_speed - v0).abs() < rounding && r.label == "measured")
    );
}

/// The shipped drive is what the command in its second line makes, to the character.
#[test]
fn cross_code_users_shipped_drive_is_made() {
    let shipped = include_str!("../../models/drives/users-2020.yaml");
    let command = shipped.lines().nth(1).expect("a command").trim_start_matches('#').trim();
    assert!(command.starts_with("kneedamp drive tests/reference/prosthesis_users_0p8.csv "), "{command}");
    let file = converted(&Landmark::DEFAULT).file;
    assert_eq!(yaml(&file, command).expect("writes"), shipped);
    assert_eq!(library().drive("users-2020").expect("loads"), file);
    assert!(file.source.contains("10.1038/s41597-020-0494-7") && file.licence.contains("CC BY 4.0"));
}

/// Any number of points from 20 on: every fifth of the shipped ones tells the same but for what lies between.
#[test]
fn cross_code_users_number_of_points_is_free() {
    let people = table("prosthesis_users_people.csv");
    for every in [2, 5] {
        let thinned: Vec<String> = table("prosthesis_users_0p8.csv")
            .lines()
            .filter(|l| !l.starts_with('#'))
            .map(|l| {
                let cells: Vec<&str> = l.split(',').collect();
                let points = cells[3..].iter().step_by(every).enumerate();
                let points =
                    points.map(|(i, c)| if c.starts_with('p') { format!("p{i}") } else { (*c).into() });
                let head = cells[..3].iter().map(|c| (*c).to_owned());
                head.chain(points).collect::<Vec<_>>().join(",")
            })
            .collect();
        let angles = thinned.join("\n");
        let tables =
            [Named { name: "angles.csv", text: &angles }, Named { name: "people.csv", text: &people }];
        let thin = convert(tables, &[], &[], &base(), "thin").expect("a drive");
        assert!(thin.findings.text.iter().any(|t| t.contains("points per stride")));
        for (a, b) in thin.users.iter().zip(&PLAIN.users) {
            assert!(a.phase.sound_contact_pct.abs_diff(b.phase.sound_contact_pct) <= 1, "{}", a.user.subject);
            assert!((a.steps.stride_time_s / b.steps.stride_time_s - 1.0).abs() < 0.01, "{}", a.user.subject);
        }
        let [a, b] = [&thin, &PLAIN].map(|c| KneeFigures::of(&c.mean.knee_deg));
        assert!(
            (a.peak_deg - b.peak_deg).abs() < 0.3 && (a.peak_pct - b.peak_pct).abs() < 0.5,
            "{a:?} {b:?}"
        );
    }
}
