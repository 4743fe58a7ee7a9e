#![allow(clippy::print_stdout, missing_docs)]
use kneedamp::*;
use std::sync::Arc;
fn main() {
    let csv = std::fs::read_to_string("tests/reference/walking_drive.csv").unwrap();
    let d=report::drive_table::from_csv(&csv,report::drive_table::Provenance{name:"able-bodied-2008".into(),
   about:"Thigh angle, hip acceleration, ground load and knee flexion of level walking at five speeds, as functions of the dimensionless speed v*. Able-bodied children: users of a prosthesis move differently.".into(),
   source:"Computed from the group means published by Schwartz, Rozumalski & Trost 2008, The effect of walking speed on the gait of typically developing children, J Biomech 41:1639-1650 (doi 10.1016/j.jbiomech.2008.03.015, from memory); made free of size by leg length as in Hof 1996, Gait & Posture 4:222. Five speed groups, 51 to 82 children each. Thigh angle is hip flexion less anterior pelvic tilt; hip acceleration is that of the body's mass centre, from the sum of both feet's ground forces.".into(),
   licence:"The coefficients are this project's own computation (Fourier fits of published group means) and come under the project's licence; no text, figure or data file of the paper is reproduced. Cite the paper when you use them.".into()}).unwrap();
    std::fs::write("models/drives/able-bodied-2008.yaml", report::drive_table::to_yaml(&d)).unwrap();
    let lib = library::Library::default();
    let d = Arc::new(d);
    let person = lib.person("75-kg").unwrap();
    let shank = body::Shank {
        mass_kg: 2.2,
        com_distance_m: 0.26,
        com_angle_rad: 4.0 * quantity::DEG,
        inertia_kg_m2: 0.215,
    };
    for (kn, sc) in [
        ("reference", "reference-slow"),
        ("reference", "reference-comfortable"),
        ("reference", "reference-fast"),
        ("built-in", "walk-slow"),
        ("built-in", "walk-comfortable"),
        ("built-in", "walk-fast"),
        ("built-in", "walk-crowded"),
        ("built-in", "sit-down"),
        ("built-in", "ramp-down-8-deg"),
        ("built-in", "ramp-down-1-in-12"),
        ("built-in", "stairs-down"),
        ("built-in", "stumble"),
        ("built-in", "stand"),
        ("constant-friction", "walk-comfortable"),
        ("linear", "walk-comfortable"),
    ] {
        let knee = lib.knee(kn).unwrap().resolve(&Default::default(), None).unwrap();
        let t = motion::Trial {
            scenario: lib.scenario(sc).unwrap(),
            person: person.clone(),
            shank,
            comparison_knee: lib.knee("built-in").unwrap().resolve(&Default::default(), None).unwrap(),
            knee,
            drive: Some(d.clone()),
            precision: Default::default(),
            detail: Default::default(),
        };
        let t0 = std::time::Instant::now();
        let a = outcome::Assessment::of(&t);
        let dt = t0.elapsed();
        match a {
            Err(e) => println!("{sc} {e}"),
            Ok(a) => {
                println!("== {kn} {sc} {dt:?} res {:.2e} {}", a.energy_residual, a.word());
                for (m, v) in a.outcomes.iter() {
                    if true {};
                    print!(
                        "{}={} ",
                        m.key,
                        match v {
                            outcome::Value::Number(x) => format!("{x:.4}"),
                            outcome::Value::Word(w) => w.into(),
                            _ => "null".into(),
                        }
                    );
                }
                println!();
                for l in &a.limits {
                    if !l.holds() {
                        println!("   !! {} {:?} {}", l.limit.outcome, l.margin, l.seen());
                    }
                }
            }
        }
    }
}
