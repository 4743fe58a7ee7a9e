//! The batch's own figures: cost, accuracy, two cores, memory, and the machine's peak beside them.
//!
//!     cargo bench --bench batch                          # about a minute
//!     cargo bench --bench batch -- --long                # up to ten million strides
//!     cargo bench --bench batch --features count         # with the operations of a stride, counted
//!     cargo bench --bench batch -- --peers FILE          # strides and figures for benches/peers/run.sh
//!
//! One core is timed by the processor time of its thread, so that other work on the machine does not count.
#![allow(missing_docs)]
#![allow(clippy::print_stdout)] // figures are what it is for

#[path = "../tests/cross_code/batch_population.rs"]
mod batch_population;
mod timing;

use std::hint::black_box;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

use batch_population::{Case, PACES, Range};
use kneedamp::case::setup::Setup;
use kneedamp::joint::SettingName;
use kneedamp::library::Library;
use kneedamp::motion::batch::{Accuracy, Batch, Member, StrideOutcomes, Width, lanes_at_once};
use kneedamp::motion::trial::Trial;
use kneedamp::numerics::tolerances::Tolerances;
use kneedamp::scenario::{Activity, Drive, Scenario};
use kneedamp::units::Setting;
use timing::{cost_s, pool, processor_s};

const BEYOND: f64 = 0.15;

/// The built-in joint of the 75 kg example, its two swing settings at place `i` of a grid of `side` by `side`.
fn trial(library: &Library, scenario: &Scenario, side: u32, i: u32) -> Trial {
    let mut setup = Setup::new(
        library.person("75-kg").expect("shipped"),
        library.prosthesis("typical").expect("shipped"),
        library.knee("built-in").expect("shipped"),
        library.walking_drive("users-2020").expect("shipped"),
    );
    let at = |place: u32| Setting::clamped(f64::from(place) / f64::from(side - 1));
    setup.settings.set(SettingName::SwingFlexion, at(i / side));
    setup.settings.set(SettingName::SwingExtension, at(i % side));
    // with the file's own catch load the valve lets go a little after the knee begins to move
    setup.settings.set(SettingName::CatchLoad, Setting::clamped(0.35));
    setup.trial(scenario).expect("resolves")
}

/// Product-sums, or quotients, per second of one core: sixteen independent chains on the machine's vectors.
fn peak_per_s(quotients: bool) -> f64 {
    struct Peak {
        rounds: usize,
        quotients: bool,
    }
    impl pulp::WithSimd for Peak {
        type Output = f64;
        #[inline(always)]
        fn with_simd<S: pulp::Simd>(self, simd: S) -> f64 {
            let (a, b) = (simd.splat_f64s(black_box(0.999_999)), simd.splat_f64s(black_box(1e-7)));
            let mut x = [simd.splat_f64s(black_box(1.0)); 16];
            for _ in 0..self.rounds {
                for v in &mut x {
                    *v = if self.quotients { simd.div_f64s(*v, a) } else { simd.mul_add_e_f64s(*v, a, b) };
                }
            }
            let mut sum = simd.splat_f64s(0.0);
            for v in x {
                sum = simd.add_f64s(sum, v);
            }
            simd.reduce_sum_f64s(sum)
        }
    }
    let rounds = if quotients { 400_000 } else { 4_000_000 };
    let best = (0..5)
        .map(|_| {
            let before = processor_s();
            black_box(pulp::Arch::new().dispatch(Peak { rounds: black_box(rounds), quotients }));
            processor_s() - before
        })
        .fold(f64::INFINITY, f64::min);
    (rounds * 16 * lanes_at_once()) as f64 / best
}

/// The machine's limit beside the cost of a stride: what its operations would take at the peak of one core,
/// every one of them in the time of a product-sum, quotients in their own.
fn limit(batch: &Batch, members: &[Member], cost_s: f64) {
    let (sums, quotients) = (peak_per_s(false), peak_per_s(true));
    println!(
        "peak of one core: {:.1} billion product-sums per second, {:.1} billion quotients; a stride takes the time of {:.0} product-sums",
        sums * 1e-9,
        quotients * 1e-9,
        sums * cost_s
    );
    #[cfg(feature = "count")]
    {
        let (n, counted) = batch.operations(members);
        let found = batch.run(members);
        let differs = found.iter().zip(&counted).map(|(a, b)| match (a, b) {
            (Ok(a), Some(b)) => {
                (a.peak_rad - b.peak_rad).abs().max((a.heel_contact_rad - b.heel_contact_rad).abs())
            }
            _ => f64::INFINITY,
        });
        println!(
            "counted on these strides; their peaks and heel contacts differ from the batch's by at most {:.1e} rad",
            differs.fold(0.0, f64::max)
        );
        let each = |count: u64| count as f64 / members.len() as f64;
        let at_peak =
            each(n.product_sums + n.sums_and_products + n.choices) / sums + each(n.quotients) / quotients;
        println!(
            "a stride needs {:.0} product-sums, {:.0} sums and products, {:.0} choices, {:.0} quotients: {:.2} us at the peak, {:.0} % of its cost",
            each(n.product_sums),
            each(n.sums_and_products),
            each(n.choices),
            each(n.quotients),
            at_peak * 1e6,
            100.0 * at_peak / cost_s
        );
    }
    #[cfg(not(feature = "count"))]
    {
        let _ = (batch, members);
        println!("operations of a stride: with --features count");
    }
}

fn memory_mb() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|l| l.starts_with("VmHWM")).unwrap_or("");
    line.split_whitespace().nth(1).and_then(|v| v.parse::<f64>().ok()).map_or(f64::NAN, |kb| kb / 1024.0)
}

fn load() -> String {
    let text = std::fs::read_to_string("/proc/loadavg").unwrap_or_default();
    format!("load average {} while it ran", text.split(' ').next().unwrap_or("unknown"))
}

fn accuracy(title: &str, pairs: &[(StrideOutcomes, [f64; 3])]) -> f64 {
    let greatest = |of: fn(&StrideOutcomes) -> f64, k: usize| {
        pairs.iter().map(|(f, e)| (of(f) - e[k]).abs()).fold(0.0, f64::max)
    };
    let found =
        [greatest(|f| f.peak_rad, 0), greatest(|f| f.toe_off_rad, 1), greatest(|f| f.heel_contact_rad, 2)];
    println!(
        "{title}: greatest error of peak {:.1e}, toe-off {:.1e}, heel contact {:.1e} rad",
        found[0], found[1], found[2]
    );
    found[1].max(found[2])
}

/// From how many strides on a batch with a table of its own takes less than the strides one by one.
fn few_strides(drive: &Drive, members: &[Member], scan_s: f64) {
    const TIMES: usize = 200;
    let per_batch = |count: usize| {
        pool(1).install(|| {
            let before = processor_s();
            for _ in 0..TIMES {
                let batch = Batch::new(drive, BEYOND, Accuracy::default());
                black_box(if count > 0 { batch.run(&members[..count]) } else { Vec::new() });
            }
            (processor_s() - before) / TIMES as f64
        })
    };
    let says = |count: usize| {
        let (together, apart) = (per_batch(count), count as f64 * scan_s);
        format!("{count} in {:.0} us ({:.0} one by one)", together * 1e6, apart * 1e6)
    };
    println!(
        "table of a drive: {:.0} us; with it, strides: {}",
        per_batch(0) * 1e6,
        [1, 2, 4, 8, 16, 32].map(says).join(", ")
    );
}

fn main() {
    let arguments: Vec<String> = std::env::args().collect();
    let library = Library::default();
    // 1.1 m/s
    let scenario = library.scenario("walk-comfortable").expect("shipped");
    let trials: Vec<Trial> = (0..8 * 8).map(|i| trial(&library, &scenario, 8, i)).collect();
    let Activity::Walk(walk) = &scenario.activity else { unreachable!("it walks") };
    let drive = trials[0].resolved_drive(walk).expect("in the table");
    let batch = Batch::new(&drive, BEYOND, Accuracy::default());
    let member =
        |t: &Trial| Member::new(batch.table(), &drive, t.knee.clone(), &t.person, t.shank).expect("covered");
    // timed on more of them, so that no block has the same stride twice
    let places = 0..64 * 64;
    let members: Vec<Member> = places.clone().map(|i| member(&trial(&library, &scenario, 64, i))).collect();

    println!("{}; {} numbers at a time", load(), lanes_at_once());
    let cost = cost_s(&batch, &members, 32, 7);
    println!(
        "grid of swing settings: {:.2} us of one core per stride, {:.0} strides per second",
        cost * 1e6,
        1.0 / cost
    );
    // strides that differ in the swing settings only share one run through stance, and what the drive does to
    // their leg in pre-swing
    let apart = |i: u32| {
        let mut t = trial(&library, &scenario, 64, i);
        t.knee.stance.catch_load_n += 1e-6 * f64::from(i);
        t.shank.inertia_kg_m2 *= 1.0 + 1e-9 * f64::from(i);
        member(&t)
    };
    let apart: Vec<Member> = places.map(apart).collect();
    let apart_cost = cost_s(&batch, &apart, 32, 7);
    println!("the same, each with a stance and a leg of its own: {:.2} us", apart_cost * 1e6);
    let one = cost_s(&batch.clone().with_width(Width::One), &members, 4, 3);
    println!("one number at a time: {:.2} us", one * 1e6);
    let exact = |t: &Trial, p: Tolerances| {
        let mut t = t.clone();
        t.tolerances = p;
        let s = t.stride(&drive, t.knee.clone(), BEYOND).expect("runs");
        let contact = s.trajectory.at(drive.stride_time_s);
        ([s.peak().1, s.flexion(drive.toe_off_s), contact[0]], contact[1], s.valve_trajectory.end.1[0])
    };
    let tight: Vec<_> = trials.iter().map(|t| exact(t, Tolerances::tight())).collect();
    let few: Vec<Member> = trials.iter().map(member).collect();
    let found: Vec<StrideOutcomes> = batch.run(&few).into_iter().map(|f| f.expect("covered")).collect();
    let pairs: Vec<_> = found.iter().copied().zip(tight.iter().map(|t| t.0)).collect();
    let batch_error = accuracy("grid, against 1e-12", &pairs);

    // longer cells, looser tolerances: still closer than general integrators without events come
    let loose = Accuracy { cells_per_stride: 120, per_omega: 1.0 / 2e-5, per_valve: 1.0 / 2e-6 };
    let loose = Batch::new(&drive, BEYOND, loose);
    let loose_cost = cost_s(&loose, &members, 32, 7);
    println!("looser: {:.2} us, {:.0} strides per second", loose_cost * 1e6, 1.0 / loose_cost);
    let found: Vec<StrideOutcomes> = loose.run(&few).into_iter().map(|f| f.expect("covered")).collect();
    let pairs: Vec<_> = found.iter().copied().zip(tight.iter().map(|t| t.0)).collect();
    let loose_error = accuracy("looser, against 1e-12", &pairs);

    let mut scan_error = 0.0_f64;
    for (t, e) in trials.iter().zip(&tight) {
        let s = exact(t, Tolerances::scan()).0;
        scan_error = scan_error.max((s[1] - e.0[1]).abs()).max((s[2] - e.0[2]).abs());
    }
    let scan = (0..5)
        .map(|_| {
            let before = processor_s();
            for t in &trials {
                let mut t = t.clone();
                t.tolerances = Tolerances::scan();
                black_box(t.stride(&drive, t.knee.clone(), BEYOND).expect("runs"));
            }
            (processor_s() - before) / trials.len() as f64
        })
        .fold(f64::INFINITY, f64::min);
    println!(
        "one stride after the other, scan: {:.1} us, error {scan_error:.1e} rad: {:.1} times the batch",
        scan * 1e6,
        scan / cost
    );
    if let Some(i) = arguments.iter().position(|a| a == "--peers") {
        let path = arguments.get(i + 1).expect("a file");
        let figures = [cost, apart_cost, batch_error, scan, scan_error, loose_cost, loose_error];
        write_peers(path, &trials, &drive, &tight, figures);
        return;
    }

    few_strides(&drive, &members, scan);

    let (file, knee) =
        (library.walking_drive("users-2020").expect("shipped"), library.knee("built-in").expect("shipped"));
    for range in [Range::Whole, Range::Fitted] {
        let cases: Vec<Case> =
            (0..512).map(|n| Case::random(n, &file.file, &knee, PACES[4], range)).collect();
        let batch = Batch::new(&cases[0].drive, BEYOND, Accuracy::default());
        let members: Vec<Member> = cases.iter().map(|c| c.member(batch.table())).collect();
        println!("random strides, {range:?} settings: {:.2} us", cost_s(&batch, &members, 64, 5) * 1e6);
    }

    let wall = |threads: usize| {
        pool(threads).install(|| {
            (0..5)
                .map(|_| {
                    let start = Instant::now();
                    batch.for_each(
                        40_000,
                        |i| members[i % members.len()].clone(),
                        |_, f| {
                            black_box(f);
                        },
                    );
                    start.elapsed().as_secs_f64()
                })
                .fold(f64::INFINITY, f64::min)
        })
    };
    let (alone, two) = (wall(1), wall(2));
    println!("two cores: {:.2} times one (wall time; wants an idle machine)", alone / two);

    let sum = AtomicU64::new(0);
    let mut first = 0.0;
    let most = if arguments.iter().any(|a| a == "--long") { 7 } else { 5 };
    for power in 3..=most {
        let count = 10_usize.pow(power);
        let per_stride = pool(1).install(|| {
            // few strides several times: the clock counts in milliseconds
            let times = 100_000_usize.div_ceil(count);
            let before = processor_s();
            for _ in 0..times {
                batch.for_each(
                    count,
                    |i| members[i % members.len()].clone(),
                    |_, f| {
                        sum.fetch_add(u64::from(f.is_some()), Ordering::Relaxed);
                    },
                );
            }
            (processor_s() - before) / (count * times) as f64
        });
        if power == 3 {
            first = per_stride;
        }
        println!(
            "10^{power} strides: {:.2} us each, {:+.0} % against 10^3; most memory so far {:.0} MB",
            per_stride * 1e6,
            100.0 * (per_stride / first - 1.0),
            memory_mb()
        );
    }
    limit(&batch, &members, cost);
}

/// The strides in plain numbers, with what was found, for other integrators.
fn write_peers(
    path: &str,
    trials: &[Trial],
    drive: &Drive,
    tight: &[([f64; 3], f64, f64)],
    figures: [f64; 7],
) {
    let strides: Vec<serde_json::Value> = trials
        .iter()
        .zip(tight)
        .map(|(t, (exact, rate, valve))| {
            assert!(*valve < 0.5, "peers take the joint as disarmed from the start of pre-swing on");
            let (k, s) = (&t.knee, &t.shank);
            let (f, e) = (k.swing_flexion.coefficients().expect("orifice"), k.swing_extension.coefficients().expect("orifice"));
            let cushion = k.cushion.expect("has one");
            let v = &k.stance;
            serde_json::json!({
                "a_fl": f.a, "b_fl": f.b, "a_st": v.yielding.a, "b_st": v.yielding.b, "a_ex": e.a, "b_ex": e.b,
                "cushion_start": cushion.start_rad, "cushion_factor": cushion.factor,
                "k": k.extension_stop.stiffness_n_m_per_rad, "c": k.extension_stop.damping_s_per_rad,
                "assist": k.assist.torque_n_m, "friction": k.friction.torque_n_m, "smoothing": k.friction.smoothing_rad_per_s,
                "s_on": v.catch_load_n / t.person.weight_n(), "lag": v.lag_s, "hysteresis": v.hysteresis_bw,
                "width": v.width_bw, "x_rel": v.release_distance_m, "I": s.inertia_kg_m2,
                "mr": s.mass_kg * s.com_distance_m, "eps": s.com_angle_rad, "effort": t.person.user_effort_n_m(),
                "toe_off_rad": exact[1], "contact_rad": exact[2], "contact_rate": rate,
            })
        })
        .collect();
    let [cost, apart, batch_error, scan, scan_error, loose, loose_error] = figures;
    let all = serde_json::json!({
        "speed_m_per_s": drive.speed_m_per_s, "stature_m": trials[0].person.stature_m(), "strides": strides,
        "lanes": lanes_at_once(), "batch_s": cost, "apart_s": apart, "batch_error_rad": batch_error,
        "loose_s": loose, "loose_error_rad": loose_error, "scan_s": scan, "scan_error_rad": scan_error, "machine_load": load(),
    });
    std::fs::write(path, serde_json::to_string_pretty(&all).expect("JSON")).expect("writes");
}
