//! What the conversion found, as sentences and tables.

use super::landmarks::{Landmark, in_words};
use super::mean::{KneeFigures, MeanStride};
use super::reconstruction::Reconstruction;
use super::speeds::FADED_SPEED;
use crate::findings::{Cell, Findings, Table};

/// Choices of landmarks that are shown beside the one taken.
const SHOWN: [&[Landmark]; 4] = [
    &[],
    &[Landmark::SoundContact, Landmark::ToeOff],
    &[Landmark::SoundContact, Landmark::ToeOff, Landmark::KneePeak],
    &[Landmark::SoundContact, Landmark::ToeOff, Landmark::GreatestThigh],
];

/// Findings about the users and the mean that was taken.
#[must_use]
pub fn findings(users: &[Reconstruction], taken: &MeanStride) -> Findings {
    Findings {
        text: vec![
            format!(
                "{} of {} users, prosthetic side: v* {:.4}, cadence* {:.4}, step* {:.4}; sound foot lands at \
                 {:.1} %, toe-off at {:.1} % of the stride. Measured near {:.1} m/s, elsewhere shifted; the \
                 difference in cadence fades to nothing at v* {FADED_SPEED} [J].",
                capitalised(&in_words(&taken.aligned_at)),
                users.len(),
                taken.dimensionless_speed,
                taken.dimensionless_cadence,
                taken.dimensionless_step,
                100.0 * taken.sound_contact,
                100.0 * taken.toe_off,
                taken.speed_m_per_s
            ),
            "Phase score: agreement of the pelvis seen from both sides, 2.5 at best. Misfit: what the path of \
             the hip leaves of the standing feet. Toe at rest: standard deviation of the prosthetic toe's \
             place on the belt while both feet stand; slide: its greatest distance from there (refused from 40 mm)."
                .into(),
        ],
        tables: vec![user_table(users), check_table(users), landmark_table(users), knee_table(users, taken)],
        plots: vec![],
    }
}

fn user_table(users: &[Reconstruction]) -> Table {
    let columns = [
        "subject",
        "level",
        "sound_contact_pct",
        "stride_time_s",
        "step_prosthetic_m",
        "step_sound_m",
        "toe_off_pct",
        "knee_there_deg",
    ];
    let row = |r: &Reconstruction| {
        vec![
            Cell::text(&r.user.subject),
            Cell::text(&r.user.level),
            Cell::Number(r.phase.sound_contact_pct as f64, 0),
            Cell::Number(r.steps.stride_time_s, 2),
            Cell::Number(r.steps.prosthetic_m, 2),
            Cell::Number(r.steps.sound_m, 2),
            Cell::Number(100.0 * r.toe.toe_off, 0),
            Cell::Number(r.knee_at_toe_off_deg(), 0),
        ]
    };
    Table::new("users", "users: what follows from the angles", &columns, users.iter().map(row).collect())
}

fn check_table(users: &[Reconstruction]) -> Table {
    let columns = ["subject", "phase_score", "hip_misfit_mm", "toe_at_rest_mm", "toe_slide_mm"];
    let row = |r: &Reconstruction| {
        vec![
            Cell::text(&r.user.subject),
            Cell::Number(r.phase.score, 2),
            Cell::Number(1e3 * r.path.misfit_m, 1),
            Cell::Number(1e3 * r.toe.at_rest_m, 1),
            Cell::Number(1e3 * r.toe.slide_m, 1),
        ]
    };
    Table::new("checks", "checks of the reconstruction", &columns, users.iter().map(row).collect())
}

fn landmark_table(users: &[Reconstruction]) -> Table {
    let row = |l: Landmark| {
        let n = users.len() as f64;
        let at = || users.iter().map(|r| 100.0 * r.landmarks.at(l));
        let mean = at().sum::<f64>() / n;
        let squares: f64 = at().map(|p| (p - mean).powi(2)).sum();
        let sd = (users.len() > 1).then(|| (squares / (n - 1.0)).sqrt());
        vec![Cell::text(l.as_str()), Cell::Number(mean, 1), Cell::number(sd, 1)]
    };
    let columns = ["landmark", "mean_pct", "sd_pct"];
    Table::new("landmarks", "landmarks over the users", &columns, Landmark::ALL.map(row).to_vec())
}

fn knee_table(users: &[Reconstruction], taken: &MeanStride) -> Table {
    let columns = ["curve", "taken", "peak_deg", "peak_pct", "flexion_deg_per_pct", "extension_deg_per_pct"];
    // a user's landmarks may not follow each other: then there is no such mean
    let row = |name: String, is_taken: bool, figures: Option<KneeFigures>| {
        let number =
            |get: fn(&KneeFigures) -> f64, decimals| Cell::number(figures.as_ref().map(get), decimals);
        vec![
            Cell::text(name),
            Cell::text(if is_taken { "yes" } else { "" }),
            number(|f| f.peak_deg, 1),
            number(|f| f.peak_pct, 1),
            number(|f| f.flexion_deg_per_pct, 2),
            number(|f| f.extension_deg_per_pct, 2),
        ]
    };
    let of = |mean: &MeanStride| KneeFigures::of(&mean.knee_deg);
    let mut rows: Vec<Vec<Cell>> = SHOWN
        .into_iter()
        .map(|landmarks| {
            let mean = MeanStride::of(users, landmarks).ok();
            row(in_words(landmarks), landmarks == taken.aligned_at, mean.as_ref().map(of))
        })
        .collect();
    if !SHOWN.contains(&taken.aligned_at.as_slice()) {
        rows.push(row(in_words(&taken.aligned_at), true, Some(of(taken))));
    }
    rows.push(row("each user's own, mean of the figures".into(), false, Some(KneeFigures::mean_of(users))));
    let title = "what alignment does to the mean knee curve: peak and greatest rates";
    Table::new("knee_curve", title, &columns, rows)
}

fn capitalised(text: &str) -> String {
    let mut rest = text.chars();
    rest.next().map_or_else(String::new, |first| first.to_uppercase().chain(rest).collect())
}
