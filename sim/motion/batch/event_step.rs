//! A cell in which something happens: shorter steps, each lane with its own, ending on every switch.
//!
//! Steps are shortened until their error estimate is within the tolerance. When a step ends on the wrong
//! side of a switch, the first crossing is located on its Hermite interpolation, the step taken again
//! up to there, the side turned over, and so on to the end of the cell: the same as the reference path
//! does for one stride.

use super::Accuracy;
use super::drive_table::{Cell, INSTANTS, Part};
use super::dynamics::{Instant, Joint, State};
use super::step::{Estimate, LATER, MOST_TURN_RAD, Step, Weights};
use super::storage::{
    ARMED, BROKEN, Lanes, NOT_YET, PEAK, PEAK_AT, REBOUND, RELEASED_AT, SHARE, STRAIGHT_AT, STRAIGHT_RATE,
    STRAIGHT_WITHIN_RAD,
};
use super::switches::{STANCE, Sides, awake, for_each_switch, loaded, side};
use super::vector::Row;
use crate::numerics::simd::{Lane, LaneMask};

/// Steps that one cell may take; more mean that the motion chatters.
const MOST_STEPS: usize = 4000;
/// Shortest step, share of a cell, that the error estimate can ask for.
const SHORTEST: f64 = 1.0 / 4096.0;
/// What is left of a cell when it counts as done.
const DONE: f64 = 1e-12;

/// Cubic and quintic interpolation of a step, by its fraction.
struct Between<T> {
    from: State<T>,
    to: State<T>,
    h: T,
}

/// Value and slope at both ends, slopes per step.
#[inline(always)]
fn hermite<T: Lane>(s: T, y0: T, d0: T, y1: T, d1: T) -> T {
    let rise = y1 - y0;
    let (a, b) = (rise * 3.0 - d0 * 2.0 - d1, d0 + d1 - rise * 2.0);
    s.times_plus(s.times_plus(s.times_plus(b, a), d0), y0)
}

impl<T: Lane> Between<T> {
    /// Bend: quintic, from value, rate and acceleration at both ends.
    #[inline(always)]
    fn bend(&self, s: T) -> T {
        let (h, a, b) = (self.h, &self.from, &self.to);
        let (v0, v1) = (a.omega * h, b.omega * h);
        let (w0, w1) = (a.acc * h * h * 0.5, b.acc * h * h * 0.5);
        // what is left after the parabola from the start, and its two derivatives at the end
        let d = b.bend - a.bend - v0 - w0;
        let e = v1 - v0 - w0 * 2.0;
        let f = w1 - w0;
        let c3 = d * 10.0 - e * 4.0 + f;
        let c4 = e * 7.0 - d * 15.0 - f * 2.0;
        let c5 = d * 6.0 - e * 3.0 + f;
        let tail = s.times_plus(s.times_plus(c5, c4), c3);
        s.times_plus(s.times_plus(s.times_plus(tail, w0), v0), a.bend)
    }

    #[inline(always)]
    fn omega(&self, s: T) -> T {
        hermite(s, self.from.omega, self.from.acc * self.h, self.to.omega, self.to.acc * self.h)
    }

    #[inline(always)]
    fn z(&self, s: T) -> T {
        hermite(s, self.from.z, self.from.z_rate * self.h, self.to.z, self.to.z_rate * self.h)
    }
}

/// Something that changes along a step, by its fraction.
trait Curve<T> {
    fn value(&self, x: T) -> T;
}

/// Bend over the angle at which the knee counts as straight.
struct OverStraight<'a, T>(&'a Between<T>, T);

impl<T: Lane> Curve<T> for OverStraight<'_, T> {
    #[inline(always)]
    fn value(&self, x: T) -> T {
        self.0.bend(x) - self.1
    }
}

/// How far the state lies beyond switch `I`.
struct Beyond<'a, T, const KIND: usize, const I: usize> {
    joint: &'a Joint<T>,
    between: &'a Between<T>,
    cell: &'a Cell,
    /// Start of the step and its length, shares of the cell.
    from: T,
    step: T,
    /// The drive at its end, for switches that do not ask for it.
    end: &'a Instant<T>,
}

impl<T: Lane, const KIND: usize, const I: usize> Curve<T> for Beyond<'_, T, KIND, I> {
    #[inline(always)]
    fn value(&self, x: T) -> T {
        let Self { joint, between: b, .. } = self;
        if matches!(I, side::HIGH | side::LOW | side::RELEASED | side::HEEL) {
            let at = joint.instant::<KIND>(&self.cell.at::<KIND, T>(self.step.times_plus(x, self.from)));
            joint.surface(I, &at, b.bend(x), b.omega(x), b.z(x))
        } else {
            joint.surface(I, self.end, b.bend(x), b.omega(x), b.z(x))
        }
    }
}

/// Crossings are located to this share of a step.
const LOCATED_TO: f64 = 1e-9;

/// Where a curve becomes zero in a step, as a fraction of it, for the lanes of `wanted`, in which its
/// ends differ in sign: regula falsi with halved weights (Illinois), until all are located.
#[inline(always)]
fn crossing<T: Lane>(curve: &impl Curve<T>, wanted: T::Mask, zero: T) -> T {
    let (mut a, mut b) = (zero, zero.splat(1.0));
    let (mut fa, mut fb) = (curve.value(a), curve.value(b));
    let mut x = b;
    let rising = fb.above(zero);
    // a step that begins on the switch: the crossing is where it comes back to it, if it has left it
    let begun = T::Mask::either(rising, zero.above(fa), fa.above(zero));
    if (!begun & wanted).any() {
        let early = zero.splat(1.0 / 16.0);
        let value = curve.value(early);
        let left = !begun & T::Mask::either(rising, zero.above(value), value.above(zero));
        (a, fa) = (T::choose(left, early, a), T::choose(left, value, fa));
    }
    // the end of the step counts as found first
    let mut last = rising | !rising;
    // a loop that ends by what it finds is not unrolled: it stands here once for every switch
    for _ in 0..40 {
        let slope = fb - fa;
        let flat = (slope.splat(1e-300)).above(slope.abs());
        let before = x;
        x = T::choose(flat, a, a - fa * (b - a) / T::choose(flat, slope.splat(1.0), slope));
        x = x.greater(a).lesser(b);
        if !((x - before).abs().above(x.splat(LOCATED_TO)) & wanted).any() {
            break;
        }
        let fx = curve.value(x);
        // lanes beyond the crossing replace the end, the others the start
        let beyond = !(fx.above(zero) ^ rising);
        // the end that stays a second time weighs half
        let again = !(beyond ^ last);
        let kept = T::choose(again, x.splat(0.5), x.splat(1.0));
        let (na, nfa) = (T::choose(beyond, a, x), T::choose(beyond, fa * kept, fx));
        let (nb, nfb) = (T::choose(beyond, x, b), T::choose(beyond, fx, fb * kept));
        (a, fa, b, fb, last) = (na, nfa, nb, nfb, beyond);
    }
    x
}

/// Takes the strides of a vector through a cell.
#[inline(always)]
pub fn through<T: Row, const KIND: usize>(
    zero: T,
    lanes: &mut Lanes,
    column: usize,
    cell: &Cell,
    part: Part,
    accuracy: &Accuracy,
) {
    let joint: Joint<T> = lanes.joint(zero, column);
    let one = zero.splat(1.0);
    let never = zero.above(zero);
    let mut s: State<T> = lanes.state(zero, column);
    let mut armed = lanes.get(zero, ARMED, column).above(zero);
    let per_valve = joint.per_valve::<KIND>(accuracy.per_valve, cell.reach.left);
    // strides that are through already stand at the end
    let mut f = T::choose(lanes.get(zero, SHARE, column).above(zero), zero, one);
    let mut share = lanes.get(zero, SHARE, column);
    let start = joint.instant::<KIND>(&cell.at::<KIND, T>(f));
    let mut sides = joint.sides::<KIND>(&start, s.bend, s.omega, s.z);
    let mut aimed = never;
    let mut hit: Sides<T> = [never; side::COUNT];
    let mut after = one;
    let mut first = true;
    for _ in 0..MOST_STEPS {
        let left = one - f;
        let active = left.above(zero.splat(DONE));
        if !active.any() {
            break;
        }
        let step = T::choose(aimed, share, share.lesser(left)) * T::choose(active, one, zero);
        let h = step * cell.reach.span;
        let end = joint.instant::<KIND>(&cell.at::<KIND, T>(f + step));
        // the step through the whole cell has been taken before
        let Step { end: to, omega_error, z_error } = if first && !(one.above(step) & active).any() {
            Step { end: lanes.tried(zero, column), omega_error: Estimate::none(zero), z_error: zero }
        } else {
            let moments = [
                joint.instant::<KIND>(&cell.at::<KIND, T>(f)),
                joint.instant::<KIND>(&cell.at::<KIND, T>(step.times_plus(zero.splat(INSTANTS[1]), f))),
                joint.instant::<KIND>(&cell.at::<KIND, T>(step.times_plus(zero.splat(INSTANTS[2]), f))),
                joint.instant::<KIND>(&cell.at::<KIND, T>(step.times_plus(zero.splat(INSTANTS[3]), f))),
                joint.instant::<KIND>(&cell.at::<KIND, T>(step.times_plus(zero.splat(INSTANTS[4]), f))),
                end,
            ];
            let held = joint.held::<KIND>(sides, armed, &s, h);
            joint.step::<KIND, true>(&held, &moments, &[zero; LATER], &s, (&Weights::PLAIN, h))
        };
        first = false;
        let turn = (to.bend - s.bend).abs().greater((h * s.omega).abs()) * (1.0 / MOST_TURN_RAD);
        let error = (omega_error.value()
            * joint.per_omega::<KIND>(accuracy.per_omega, cell.reach.left, &sides))
        .greater(z_error * per_valve)
        .greater(turn);
        let mut good = !error.above(one) | zero.splat(SHORTEST).above(step);
        good = good & active;
        // on the wrong side of a switch: aim at the first crossing; a step that was aimed at one may find
        // another before it, crossed to and fro by the step before
        let mut differs = [never; side::COUNT];
        let mut wrong = never;
        for_each_switch!(KIND, I => {
            let at_end = joint.surface(I, &end, to.bend, to.omega, to.z).above(zero);
            let awake = awake::<T>(I, &sides, armed);
            differs[I] = (at_end ^ sides[I]) & awake & good & !(aimed & hit[I]);
            wrong = wrong | differs[I];
            // a dormant one keeps the side it is on
            sides[I] = T::Mask::either(awake, sides[I], at_end);
        });
        let mut accepted = good & !wrong;
        if wrong.any() {
            let between = Between { from: s, to, h };
            let mut nearest = one + one;
            let mut where_hit = [one; side::COUNT];
            for_each_switch!(KIND, I => {
                if differs[I].any() {
                    let (joint, between, end) = (&joint, &between, &end);
                    let x = crossing(&Beyond::<T, KIND, I> { joint, between, cell, from: f, step, end }, differs[I], zero);
                    where_hit[I] = x;
                    nearest = T::choose(differs[I] & nearest.above(x), x, nearest);
                }
            });
            for_each_switch!(KIND, I => {
                let now = differs[I] & !where_hit[I].above(nearest + 1e-9);
                hit[I] = T::Mask::either(wrong, now, hit[I]);
            });
            after = T::choose(wrong & !aimed, step, after);
            share = T::choose(wrong, step * nearest, share);
        }
        accepted = accepted & active;
        // straight: timed on the quintic
        let straight = zero.splat(STRAIGHT_WITHIN_RAD);
        if KIND != STANCE {
            let since_peak = lanes.get(zero, STRAIGHT_AT, column);
            let open = !since_peak.above(zero.splat(NOT_YET));
            let passes = (s.bend.above(straight) ^ to.bend.above(straight)) & open & accepted;
            if passes.any() {
                let between = Between { from: s, to, h };
                let x = crossing(&OverStraight(&between, straight), passes, zero);
                let p = step.times_plus(x, f) * cell.reach.span + cell.from;
                lanes.put(STRAIGHT_AT, column, T::choose(passes, p, since_peak));
                let rate = lanes.get(zero, STRAIGHT_RATE, column);
                lanes.put(STRAIGHT_RATE, column, T::choose(passes, between.omega(x), rate));
            }
        }
        // what the batch does not cover
        if KIND != STANCE {
            let oil = joint.resists_flexing::<KIND>(to.omega, to.z);
            let outside = ((oil.above(joint.relief_n_m) & to.omega.above(zero))
                | to.bend.above(joint.flexion_stop_rad))
                & accepted;
            if outside.any() {
                let broken = lanes.get(zero, BROKEN, column);
                lanes.put(BROKEN, column, T::choose(outside, one, broken));
            }
        }
        f = T::choose(accepted, f + step, f);
        s = State {
            bend: T::choose(accepted, to.bend, s.bend),
            omega: T::choose(accepted, to.omega, s.omega),
            z: T::choose(accepted, to.z, s.z),
            sin: T::choose(accepted, to.sin, s.sin),
            cos: T::choose(accepted, to.cos, s.cos),
            acc: T::choose(accepted, to.acc, s.acc),
            z_rate: T::choose(accepted, to.z_rate, s.z_rate),
        };
        let turned = aimed & accepted;
        if turned.any() {
            let p = f * cell.reach.span + cell.from;
            let at = joint.instant::<KIND>(&cell.at::<KIND, T>(f));
            let natural = joint.sides::<KIND>(&at, s.bend, s.omega, s.z);
            for_each_switch!(KIND, I => {
                let over = T::Mask::either(hit[I], !sides[I], natural[I]);
                sides[I] = T::Mask::either(turned, over, sides[I]);
            });
            if KIND != STANCE && part != Part::Beyond {
                turning(lanes, column, turned & hit[side::RATE], !sides[side::RATE], p, &s);
            }
            if loaded(KIND) {
                let let_go = turned & hit[side::HALF] & !sides[side::HALF];
                if let_go.any() {
                    armed = armed & !let_go;
                    let released = lanes.get(zero, RELEASED_AT, column);
                    let first = let_go & !released.above(zero.splat(NOT_YET));
                    // what is left to ½ is worth (z − ½)/z' of time
                    let late = (s.z - 0.5) / T::choose(s.z_rate.abs().above(zero.splat(1e-3)), s.z_rate, one);
                    let late = late.greater(zero.splat(-1e-4)).lesser(zero.splat(1e-4));
                    let at = p - late;
                    lanes.put(RELEASED_AT, column, T::choose(first, at, released));
                }
            }
            // the slope on the new sides
            let (acc, z_rate) = joint.slope::<KIND>(&joint.held::<KIND>(sides, armed, &s, zero), &at, &s);
            s.acc = T::choose(turned, acc, s.acc);
            s.z_rate = T::choose(turned, z_rate, s.z_rate);
        }
        // the next step: after a switch as long as before it, else by the error
        let somewhat = T::choose(zero.splat(1.0 / 7.0).above(error), one * 1.41, one);
        let grown = step * T::choose(zero.splat(1.0 / 40.0).above(error), one + one, somewhat);
        share = T::choose(accepted, T::choose(aimed, after, grown), share);
        let refused = active & !good;
        share = T::choose(refused, step * shorter(error), share);
        aimed = (aimed & !turned & !refused) | wrong;
    }
    let unfinished = (one - f).above(zero.splat(DONE));
    if unfinished.any() {
        let broken = lanes.get(zero, BROKEN, column);
        lanes.put(BROKEN, column, T::choose(unfinished, one, broken));
    }
    lanes.put_state(column, &s);
    lanes.put(ARMED, column, T::choose(armed, one, zero));
}

/// Error of a step in tolerances, and the share of it to try next: the fifth root, in steps of √2.
pub const SHORTER: [(f64, f64); 6] =
    [(1.0, 0.7), (5.0, 0.5), (30.0, 0.35), (180.0, 0.25), (1_000.0, 0.18), (6_000.0, 0.125)];

/// Share of a step to try next when its error is `error` tolerances.
#[inline(always)]
pub fn shorter<T: Lane>(error: T) -> T {
    let mut share = error.splat(SHORTER[0].1);
    for (limit, to) in SHORTER {
        share = T::choose(error.above(error.splat(limit)), error.splat(to), share);
    }
    share
}

/// The knee turns: a peak where it begins to straighten, the start of a rebound where it bends again.
#[inline(always)]
fn turning<T: Row>(
    lanes: &mut Lanes,
    column: usize,
    turned: T::Mask,
    straightening: T::Mask,
    p: T,
    s: &State<T>,
) {
    let zero = p.splat(0.0);
    let not_yet = zero.splat(NOT_YET);
    let peak = lanes.get(zero, PEAK, column);
    let straight = lanes.get(zero, STRAIGHT_AT, column);
    let rebound = lanes.get(zero, REBOUND, column);
    // what is left of ω is worth ω/φ'' of time
    let slope = T::choose(zero.splat(1e-9).above(s.acc.abs()), zero.splat(1.0), s.acc);
    let late = (s.omega / slope).greater(zero.splat(-1e-4)).lesser(zero.splat(1e-4));
    let higher = turned & straightening & s.bend.above(peak);
    lanes.put(PEAK, column, T::choose(higher, s.bend, peak));
    let at = lanes.get(zero, PEAK_AT, column);
    lanes.put(PEAK_AT, column, T::choose(higher, p - late, at));
    // a new peak: what came before it does not count
    let begins = turned & !straightening & straight.above(not_yet) & !rebound.above(not_yet);
    let again = turned & rebound.above(not_yet);
    let rebound = T::choose(begins, s.bend, T::choose(again, rebound.greater(s.bend), rebound));
    lanes.put(REBOUND, column, T::choose(higher, not_yet, rebound));
    lanes.put(STRAIGHT_AT, column, T::choose(higher, not_yet, straight));
    let rate = lanes.get(zero, STRAIGHT_RATE, column);
    lanes.put(STRAIGHT_RATE, column, T::choose(higher, not_yet, rate));
}
