//! Rule 8: the yield setting on chair, ramp and stairs (common practice).
//!
//! Ranges, and why. Catch load 0.08-0.20 of the user's weight, below the least share of weight sampled on
//! the chair (0.30-0.42, what users put on it): with a catch load near the share the valve opens while sitting
//! down and the yield setting says nothing (31 of 500 with catch loads up to 0.30 of the weight). Hip moment 0,
//! the scenarios' own: it outweighs an open valve. With up to 0.3 N m/kg 20 of 500 users came down the
//! ramp within the limits with the valve open; 50 kg: 174 °/s at 0.1, 165 at 0.2, held at 0.3 N m/kg.
//! "Slower" is the knee's rate, and on stairs the time too; on the ramp it is judged where the knee yields
//! with both settings: one that holds is straightened again half-way, when the load line passes in front
//! of it, and bounces off the extension stop (71 kg, yield 58 -> 71 %: peak rate 37 -> 58 °/s; 5 of 498).
//!
//! What the model contradicts: the speed at which the body comes down does not fall all the way with the
//! yield setting (`trend_8_finding_...`): it is least between the ends for all of 500 users on ramp and
//! stairs, because over a knee that hardly bends the body falls forward. And on stairs the closed valve
//! still bends by a few degrees, to about 16-20° at contact from 12°, so "does not yield" (below 15°) held
//! for 4 of 500 users only (hip moment up to 0.1 N m/kg): that part is judged on chair and ramp.

use proptest::prelude::*;

use super::{Fit, Seen, User, catch_pct, grows, number, rule, trial, user};
use kneedamp::error::SimError;
use kneedamp::outcome::{OutcomeWord, Outcomes, Value};
use kneedamp::scenario::Activity;

const RAMP: &str = "ramp-down-8-deg";
const STAIRS: &str = "stairs-down";

/// Rate and drop speed beyond which the scenarios say that the body drops, and chair limits (model
/// criteria of the scenario files).
const MOST_RATE_DEG_PER_S: f64 = 171.887;
const MOST_DROP_M_PER_S: f64 = 0.85;
const SIT_S: (f64, f64) = (1.4, 2.6);

/// Noise of rates: errors of 1e-5 rad and 1e-4 rad/s.
pub const NOISE_DEG_PER_S: f64 = 1e-2;

/// A user with a catch load that is reached, and the share of weight on the chair.
fn loaded() -> impl Strategy<Value = (User, Fit, f64)> {
    (user(), 0.08..0.20, 0.30..0.42).prop_map(|(user, catch_bw, share)| {
        let fit = Fit { catch_load: catch_pct(catch_bw, &user), ..Fit::SHIPPED };
        (user, fit, share)
    })
}

/// A yield position from open to where half of the users no longer yield on the ramp, and a higher one.
fn yields() -> impl Strategy<Value = (f64, f64)> {
    (0.0..25.0, 4.0..15.0).prop_map(|(low, step)| (low, low + step))
}

fn step_down(scenario: &str, user: &User, fit: &Fit, stance_yield: f64) -> Result<Outcomes, SimError> {
    trial(scenario, user, &Fit { stance_yield, ..*fit }).run().map(|m| Outcomes::of(&m))
}

fn word(outcomes: &Outcomes) -> OutcomeWord {
    outcomes.get("what_happens").and_then(Value::as_word).expect("a word")
}

/// Time to the seat, s; the longest followed if it is not reached.
fn sit_s(user: &User, fit: &Fit, stance_yield: f64, share: f64) -> f64 {
    let mut trial = trial("sit-down", user, &Fit { stance_yield, ..*fit });
    let Activity::Sit(sit) = &mut trial.scenario.activity else { panic!("sits down") };
    sit.share = share;
    let longest = sit.longest_s;
    Outcomes::of(&trial.run().expect("runs")).number("sit_time_s").unwrap_or(longest)
}

/// Two settings, both followed to the other foot's contact with a knee that yields.
fn both_yield(scenario: &str, user: &User, fit: &Fit, (low, high): (f64, f64)) -> Option<[Outcomes; 2]> {
    let at = |s| step_down(scenario, user, fit, s).ok().filter(|o| word(o) == OutcomeWord::Yields);
    Some([at(low)?, at(high)?])
}

#[test]
fn trend_8_stance_yield_up_slower_sitting() {
    rule(
        "8: stance-yield up, sitting slower",
        "s",
        (loaded(), 0.0..50.0, 10.0..40.0),
        |((user, fit, share), low, step)| {
            let (before, after) = (sit_s(user, fit, *low, *share), sit_s(user, fit, low + step, *share));
            grows(before, after, 1e-4, "time to the seat, s")
        },
    );
}

#[test]
fn trend_8_stance_yield_up_slower_on_the_ramp() {
    rule("8: stance-yield up, knee slower on the ramp", "°/s", (loaded(), yields()), |(l, settings)| {
        let Some([low, high]) = both_yield(RAMP, &l.0, &l.1, *settings) else { return Seen::Outside };
        let rate = |o| number(o, "peak_rate_deg_per_s");
        grows(rate(&high), rate(&low), NOISE_DEG_PER_S, "peak rate, more and less resistance, °/s")
    });
}

#[test]
fn trend_8_stance_yield_up_slower_on_stairs() {
    let settings = (0.0..60.0, 10.0..40.0).prop_map(|(low, step)| (low, low + step));
    rule("8: stance-yield up, knee slower on stairs", "°/s", (loaded(), settings), |(l, settings)| {
        let Some([low, high]) = both_yield(STAIRS, &l.0, &l.1, *settings) else { return Seen::Outside };
        let time = |o| number(o, "lowering_time_s");
        if time(&high) <= time(&low) {
            return Seen::Contradicts(format!("time {:.4} -> {:.4} s", time(&low), time(&high)));
        }
        let rate = |o| number(o, "peak_rate_deg_per_s");
        grows(rate(&high), rate(&low), NOISE_DEG_PER_S, "peak rate, more and less resistance, °/s")
    });
}

#[test]
fn trend_8_stance_yield_closed_does_not_yield() {
    rule("8: stance-yield closed, waits over the chair and holds on the ramp", "s", loaded(), |l| {
        let (user, fit, share) = l;
        match step_down(RAMP, user, fit, 100.0).map(|o| word(&o)) {
            Ok(OutcomeWord::Holds | OutcomeWord::Stalls) => {
                grows(SIT_S.1, sit_s(user, fit, 100.0, *share), 0.0, "time to the seat, s")
            }
            Ok(other) => Seen::Contradicts(format!("ramp: {other}")),
            Err(_) => Seen::Outside,
        }
    });
}

#[test]
fn trend_8_stance_yield_open_drops() {
    rule("8: stance-yield open, drops on chair, ramp and stairs", "s too fast on the chair", loaded(), |l| {
        let (user, fit, share) = l;
        for scenario in [RAMP, STAIRS] {
            let Ok(o) = step_down(scenario, user, fit, 0.0) else { return Seen::Outside };
            let (rate, drop) = (number(&o, "peak_rate_deg_per_s"), number(&o, "body_drop_speed_m_per_s"));
            let drops =
                word(&o) == OutcomeWord::GivesWay || rate > MOST_RATE_DEG_PER_S || drop > MOST_DROP_M_PER_S;
            if !drops {
                let what = word(&o);
                return Seen::Contradicts(format!("{scenario}: {what}, {rate:.1} °/s, {drop:.2} m/s"));
            }
        }
        grows(sit_s(user, fit, 0.0, *share), SIT_S.0, 0.0, "time to the seat, s")
    });
}

/// Against the rule: from some setting on the body comes down faster the more the knee resists.
#[test]
fn trend_8_finding_the_body_comes_down_slowest_between_the_ends() {
    for scenario in [RAMP, STAIRS] {
        let statement = format!("8: drop speed, {scenario}: closed is worse than the best setting");
        rule(&statement, "m/s", loaded(), |(user, fit, _)| {
            let drop = |pct: u32| {
                let run = step_down(scenario, user, fit, f64::from(pct));
                run.map_or(f64::NAN, |o| number(&o, "body_drop_speed_m_per_s"))
            };
            let best = (0..10).map(|i| drop(10 * i)).fold(f64::INFINITY, f64::min);
            grows(best, drop(100), 0.01, "drop speed, best and closed, m/s")
        });
    }
}

/// Against the rule: closed as far as this joint goes, the knee still bends on stairs, from 12° at the start; too little
/// to be said to yield.
#[test]
fn trend_8_finding_the_closed_valve_still_bends_on_stairs() {
    let user = User { mass_kg: 75.0, stature_m: 1.75, prosthesis: "typical", speed_m_per_s: 1.1 };
    let fit = Fit { catch_load: catch_pct(0.15, &user), ..Fit::SHIPPED };
    let closed = step_down(STAIRS, &user, &fit, 100.0).expect("runs");
    let bent = number(&closed, "knee_flexion_at_other_foot_contact_deg");
    println!("{} at {bent:.1}°", word(&closed));
    assert_eq!(word(&closed), OutcomeWord::Holds);
    assert!((15.0..20.0).contains(&bent), "{bent}");
}
