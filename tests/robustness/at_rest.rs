//! A motion at rest, and motions that start on the extension stop.

use kneedamp::case::inputs::Case;
use kneedamp::case::variant::Variant;
use kneedamp::motion::joint_events::{STILL_RAD_PER_S, joint_event};
use kneedamp::motion::sitting::state;
use kneedamp::motion::{Motion, Trial};
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::outcome::Assessment;
use kneedamp::units::DEG;

use crate::common::{library, setup};

fn trial(scenario: &str, knee: &str, inputs: &str) -> Trial {
    let scenario = library().scenario(scenario).expect("shipped");
    let Case { setup, scenario } =
        Variant::of_values(inputs).expect("inputs").case(&setup("75-kg", knee), &scenario).expect("legal");
    Case { setup, scenario }.trial(Default::default(), Tolerances::default()).expect("resolves")
}

/// Cold oil and a foot far forward: the knee sinks back into its stop and rests there. What is left of its rate has a
/// sign, and no direction.
#[test]
fn robustness_a_knee_at_rest_makes_no_events() {
    let Motion::Sit(run) =
        trial("sit-down", "built-in", "temperature_c=-30,foot_shift_m=0.06").run().expect("runs")
    else {
        panic!("sitting")
    };
    let trajectory = &run.trajectory;
    assert!(!run.reached_seat() && trajectory.end.1[state::OMEGA].abs() < STILL_RAD_PER_S);
    let turns = trajectory.events_of(joint_event::RATE).count();
    assert!(turns < 50, "{turns} turns; on the way to rest there are a few");
}

/// Inputs at the ends of their ranges for which the integrator gave up.
#[test]
fn robustness_stiff_stops_are_computed() {
    for (scenario, knee, inputs) in [
        (
            "ramp-down-1-in-12",
            "built-in",
            "stop_stiffness_n_m_per_rad=50000,stop_damping_s_per_rad=0,extension_stop_deg=20",
        ),
        (
            "sit-down",
            "built-in",
            "mass_kg=30,extension_stop_deg=20,seal_friction_n_m=20,stop_damping_s_per_rad=20,\
             stop_stiffness_n_m_per_rad=50000",
        ),
        (
            "sit-down",
            "constant-friction",
            "valve_lag_ms=500,stance-yield=1.03236,stop_damping_s_per_rad=0,sitting_share=1,extension_stop_deg=20,\
             foot_shift_m=-0.06",
        ),
    ] {
        let found =
            Assessment::of(&trial(scenario, knee, inputs)).unwrap_or_else(|e| panic!("{scenario}: {e}"));
        assert!(found.energy_residual <= 1e-6);
    }
}

/// A knee does not start inside its stop; what counts as yielding is counted from where it starts.
#[test]
fn robustness_no_motion_starts_inside_the_stop() {
    let bent = "extension_stop_deg=16";
    let start_deg = |scenario: &str, inputs: &str| {
        let motion = trial(scenario, "built-in", inputs).run().expect("runs");
        let leg = |run: &kneedamp::motion::stance_tasks::LegRun, asked| asked + run.start_beyond_deg(asked);
        match &motion {
            Motion::Sit(run) => run.trajectory.start.1[state::PHI] / DEG,
            Motion::Ramp(m) => leg(&m.run, m.task.start_flexion_deg),
            Motion::Stairs(m) => leg(&m.run, m.task.start_flexion_deg),
            Motion::Stumble(m) => leg(&m.run, m.task.start_flexion_deg),
            _ => panic!("{scenario}"),
        }
    };
    for (scenario, asked) in
        [("sit-down", 10.0), ("ramp-down-8-deg", 2.0), ("stairs-down", 12.0), ("stumble", 15.0)]
    {
        assert!((start_deg(scenario, "extension_stop_deg=0") - asked).abs() < 1e-12, "{scenario}");
        assert!((start_deg(scenario, bent) - 16.0).abs() < 1e-12, "{scenario}");
    }
    for (scenario, raised) in [("ramp-down-8-deg", 14.0), ("stairs-down", 4.0)] {
        let from_deg = |inputs: &str| match trial(scenario, "built-in", inputs).run().expect("runs") {
            Motion::Ramp(m) => m.yields_from_deg(),
            Motion::Stairs(m) => m.yields_from_deg(),
            _ => panic!("{scenario}"),
        };
        let more = from_deg(bent) - from_deg("extension_stop_deg=0");
        assert!((more - raised).abs() < 1e-9, "{scenario}: {more}");
    }
}
