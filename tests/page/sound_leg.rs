//! The sound leg of the page: its table is the mean of the shipped recordings, and it stays near it.

use kneedamp::library::angles::read::read;
use kneedamp::library::angles::user::{Angle, User};
use kneedamp::library::table::Named;
use kneedamp::teaching::sound_leg::measured;

use crate::cross_code::users_drive::table;

fn users() -> Vec<User> {
    let (angles, people) = (table("prosthesis_users_0p8.csv"), table("prosthesis_users_people.csv"));
    let named = [Named { name: "angles", text: &angles }, Named { name: "people", text: &people }];
    read(named[0], named[1], &[]).expect("shipped").users
}

/// Mean thigh, knee and foot pitch of the sound side at a percent of its stride, degrees.
fn mean_deg(users: &[User], pct: usize) -> [f64; 3] {
    let n = users.len() as f64;
    let mean = |of: &dyn Fn(&User) -> f64| users.iter().map(of).sum::<f64>() / n;
    let thigh = mean(&|u| u.sound.thigh_deg()[pct]);
    let knee = mean(&|u| u.sound.deg(Angle::KneeFlexion)[pct]);
    [thigh, knee, thigh - knee + mean(&|u| u.sound.deg(Angle::AnkleDorsiflexion)[pct])]
}

/// `KNEEDAMP_BLESS=1 cargo test --test all sound_leg` writes the table anew.
#[test]
fn page_sound_leg_is_the_mean_of_the_recordings() {
    let users = users();
    let mut text = String::from(
        "# Mean angles of the sound side of nine users of above-knee prostheses over a stride of that side, degrees.\n\
         # source: Hood, Ishmael, Gunnell, Foreman & Lenzi 2020, Scientific Data 7:150 (doi 10.1038/s41597-020-0494-7), \
         treadmill at 0.8 m/s, own prostheses; the nine of tests/reference/prosthesis_users_0p8.csv.\n\
         # licence: CC BY 4.0 as far as known; name the paper. The people are anonymous.\n\
         # made by: KNEEDAMP_BLESS=1 cargo test --test all sound_leg\n\
         stride_pct,thigh_deg,knee_flexion_deg,foot_pitch_deg\n",
    );
    for pct in (0..=100).step_by(2) {
        let [thigh, knee, foot] = mean_deg(&users, pct);
        text += &format!("{pct},{thigh:.2},{knee:.2},{foot:.2}\n");
    }
    let path = format!("{}/sim/teaching/sound_leg.csv", env!("CARGO_MANIFEST_DIR"));
    if std::env::var_os("KNEEDAMP_BLESS").is_some() {
        std::fs::write(&path, &text).expect("writes");
    }
    assert_eq!(std::fs::read_to_string(&path).expect("the table"), text);
    for pct in [0, 30, 62, 98] {
        let [thigh, knee, foot] = mean_deg(&users, pct);
        let read = measured(pct as f64 / 100.0);
        for (ours, theirs) in [(read.thigh, thigh), (read.knee, knee), (read.foot, foot)] {
            assert!((ours.to_degrees() - theirs).abs() < 0.006, "{pct} %");
        }
    }
}
