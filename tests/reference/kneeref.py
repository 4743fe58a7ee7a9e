"""The swing side of the knee simulator, derived again in Python: laws of the joint, walking drive, pre-swing and swing.

Written from the project's page of equations, not from the crate and not from the team's first prototype. SI units and radians; degrees only in
names that say so. Integration: see kneeref_phases (DOP853, switches located, restart). The loaded tasks are in kneeref_loaded.

phi knee flexion, omega = phi'; theta thigh from vertical (knee ahead of hip positive); psi = theta - phi shank from vertical.
A torque is positive when it increases flexion.
"""
import cmath
import csv
import math
import os

import numpy as np
from scipy.optimize import brentq
from scipy.special import expit

from kneeref_phases import follow

G = 9.81
DEG = math.pi / 180
COP_HEEL, COP_TOE = -0.04, 0.14         # centre of pressure ahead of the ankle: at heel contact, and from p = 0.5 on (m)
T_RELIEF, RELIEF_SLOPE = 150.0, 0.05    # relief on the oil torque in flexion
H_START, H_WIDTH = 4 * DEG, 6 * DEG     # where the load of a bent knee begins to be felt
TRACK = 2 * math.pi * 12                # bandwidth of the user's correction in pre-swing (rad/s)


def smoothstep(x):
    x = min(max(x, 0.0), 1.0)
    return x * x * (3 - 2 * x)


# ---------------------------------------------------------------------------------------------------------------- the joint (section 4)
class Joint:
    """All laws of the joint. `m` is the mode: which branch of each law holds in the present phase (see Joint.edges)."""

    def __init__(self, mass, swing_flexion, swing_extension, stance, catch_load_n, trigger='load', cushion=None, assist=(0.0, 0.0), stop_deg=0.0,
                 stop=(2000.0, 0.3), friction=(0.3, 0.05), x_release=0.16, lag=0.025, hysteresis=0.05, width=0.01):
        self.a_sw, self.b_sw = swing_flexion
        self.a_ex, self.b_ex = swing_extension
        self.a_st, self.b_st = max(stance[0], self.a_sw), max(stance[1], self.b_sw)     # stance never below swing
        self.root = math.sqrt(self.b_st / self.b_sw)
        self.s_on = catch_load_n / (mass * G)                                           # share of body weight
        self.trigger, self.lag, self.hysteresis, self.width, self.x_release = trigger, lag, hysteresis, width, x_release
        self.cushion = None if cushion is None else (cushion[0] * DEG, cushion[1])
        self.assist0, self.assist_k = assist
        self.phi_stop = stop_deg * DEG
        self.k, self.c = stop
        self.tau_c, self.w_s = friction

    def coefficients(self, z):
        """Orifice area linear in z: b(z) = b_st / [1 + (sqrt(b_st/b_sw) - 1)(1 - z)]^2; a moves with b."""
        b = self.b_st / (1 + (self.root - 1) * (1 - z)) ** 2
        if self.b_st == self.b_sw: return self.a_sw, b
        return self.a_sw + (self.a_st - self.a_sw) * (b - self.b_sw) / (self.b_st - self.b_sw), b

    def damper(self, phi, w, z, m, cushioned=True):
        """Oil: -(a w + b w|w|); relief in flexion, cushion in extension."""
        if m['flexing']:
            a, b = self.coefficients(z)
            t = a * w + b * w * w
            return -(T_RELIEF + RELIEF_SLOPE * (t - T_RELIEF)) if m['relief'] else -t
        b = self.b_ex
        if cushioned and self.cushion and not m['clear_of_cushion']:
            start, factor = self.cushion
            x = 1.0 if not m['off_stop'] else (start - phi + self.phi_stop) / start
            b *= 1 + (factor - 1) * x * x * (3 - 2 * x)
        return -(self.a_ex * w - b * w * w)

    def friction(self, w): return -self.tau_c * math.tanh(w / self.w_s)

    def stop(self, phi, w, m):
        """k d (1 + c d') for d = phi_stop - phi > 0; pushes, never pulls."""
        if m['off_stop'] or m['letting_go']: return 0.0
        return self.k * (self.phi_stop - phi) * (1 - self.c * w)

    def assist(self, phi, m): return -(self.assist0 + self.assist_k * (phi - self.phi_stop if m['off_stop'] else 0.0))

    def felt(self, n, weight, phi, m):
        """Sensed load S (body weights) from the ground load n: weight w of the centre of pressure, H of the bent knee."""
        if not m['armed'] or not m['h_begins']: h = 0.0
        elif m['h_full']: h = 1.0
        else:
            x = (phi - self.phi_stop - H_START) / H_WIDTH
            h = x * x * (3 - 2 * x)
        return n * (weight + (1 - weight) * h)

    def weight(self, x): return min(max((self.x_release - x) / (self.x_release + 0.04), 0.0), 1.0)

    def valve_rate(self, s, z):
        """z' = (u - z)/lag, u = sigma((S - S_on + h z)/width)."""
        if self.trigger == 'none': return -z / self.lag
        return (float(expit((s - self.s_on + self.hysteresis * z) / self.width)) - z) / self.lag

    def edges(self, phi, w, z):
        """Edges of the laws; phi, w, z are the places of these states in the state vector."""
        e = {'flexing': lambda t, y, m: y[w],
             'off_stop': lambda t, y, m: y[phi] - self.phi_stop,
             'letting_go': lambda t, y, m: self.c * y[w] - 1,
             'h_begins': lambda t, y, m: y[phi] - self.phi_stop - H_START,
             'h_full': lambda t, y, m: y[phi] - self.phi_stop - H_START - H_WIDTH,
             'relief': lambda t, y, m: self._oil(y[w], y[z]) - T_RELIEF,
             'closed': lambda t, y, m: y[z] - 0.5}
        if self.cushion: e['clear_of_cushion'] = lambda t, y, m: y[phi] - self.phi_stop - self.cushion[0]
        return e

    def _oil(self, w, z):
        a, b = self.coefficients(z)
        return a * w + b * w * abs(w)


# ---------------------------------------------------------------------------------------------------------------- the drive (section 6)
def _table():
    rows = {}
    with open(os.path.join(os.path.dirname(os.path.abspath(__file__)), 'walking_drive.csv')) as f:
        for r in csv.reader(line for line in f if not line.startswith('#')):
            rows.setdefault(r[0], []).append([float(x) for x in r[3:]])
    return {k: np.array(v) for k, v in rows.items()}


TABLE = _table()


def table_row(signal, v_star):
    """Coefficients at a dimensionless speed: linear between rows, clamped at the ends of the table."""
    a = TABLE[signal]
    return [float(np.interp(v_star, a[:, 0], a[:, j])) for j in range(1, a.shape[1])]


class Series:
    """a0 + sum a_k cos(k w t) + b_k sin(k w t) with its first two derivatives."""

    def __init__(self, c, scale_mean=1.0, scale=1.0):
        self.mean, self.ab = c[0] * scale_mean, [(scale * c[i], scale * c[i + 1]) for i in range(1, len(c), 2)]

    def at(self, omega, t):
        e = cmath.exp(1j * omega * t)
        p, v, d, dd = 1.0 + 0j, self.mean, 0.0, 0.0
        for k, (a, b) in enumerate(self.ab, 1):
            p *= e
            c, s, kw = p.real, p.imag, k * omega
            f = a * c + b * s
            v += f; d += kw * (b * c - a * s); dd -= kw * kw * f
        return v, d, dd


class Drive:
    """Hip and thigh as prescribed, ground load, the curve a released knee follows before toe-off."""

    def __init__(self, speed, stature, cadence_per_min=None, phi_stop=0.0):
        self.speed, self.leg, self.thigh = speed, 0.530 * stature, 0.245 * stature
        v = self.v_star = speed / math.sqrt(G * self.leg)
        cadence_star, _, self.to_fraction, self.oc_fraction = table_row('scalars', v)
        t_table = 2 / (cadence_star * math.sqrt(G / self.leg))
        self.T = t_table if cadence_per_min is None else 120 / cadence_per_min
        lam = self.step_ratio = self.T / t_table
        self.omega = 2 * math.pi / self.T
        self.theta = Series(table_row('thigh_angle_deg', v), DEG, DEG * lam)
        knee = self.knee = Series(table_row('knee_flexion_deg', v), DEG, DEG)
        acc = G * t_table / self.T
        self.ax = Series(table_row('hip_forward_acceleration_g', v), acc, acc)
        self.az = Series(table_row('hip_vertical_acceleration_g', v), acc, acc)
        self.load_s = table_row('vertical_load_bw', v)
        self.t_to = self.to_fraction * self.T
        # t0: least published knee flexion between p = 0.30 and 0.50
        f = lambda t: knee.at(self.omega, t)[0]
        grid = np.linspace(0.30, 0.50, 2001) * self.T
        i = int(np.argmin([f(t) for t in grid]))
        lo, hi = grid[max(i - 1, 0)], grid[min(i + 1, len(grid) - 1)]
        d = lambda t: knee.at(self.omega, t)[1]
        self.t0 = brentq(d, lo, hi, xtol=1e-15, rtol=1e-14) if d(lo) < 0 < d(hi) else float(grid[i])
        k0, kto = f(self.t0), f(self.t_to)
        self.q_mean, self.q_scale, self.phi_stop = k0, lam * kto / (kto - k0), phi_stop
        # instants where q' changes its sign (the term 0.1 q'|q'| changes its formula there)
        ts = np.linspace(self.t0 + 1e-4, self.t_to, 400)
        ds = [d(t) for t in ts]
        self.q_turns = [brentq(d, a, b, xtol=1e-14) for a, b, x, y in zip(ts, ts[1:], ds, ds[1:]) if x * y < 0]

    def released(self, t):
        """q, q', q'': the flexion a released knee follows between t0 and toe-off."""
        k, d, dd = self.knee.at(self.omega, t)
        return self.phi_stop + self.q_scale * (k - self.q_mean), self.q_scale * d, self.q_scale * dd

    def load(self, t):
        """Vertical ground load in body weights, before toe-off."""
        x = math.pi * t / self.t_to
        return sum(s * math.sin(k * x) for k, s in enumerate(self.load_s, 1))

    def thigh_and_knee(self, t):
        """theta, theta', theta'' and the acceleration of the knee axis."""
        th, d, dd = self.theta.at(self.omega, t)
        c, s = math.cos(th), math.sin(th)
        return (th, d, dd, self.ax.at(self.omega, t)[0] + self.thigh * (dd * c - d * d * s), self.az.at(self.omega, t)[0] + self.thigh * (dd * s + d * d * c))

    def pressure_point(self, t): return COP_HEEL + (COP_TOE - COP_HEEL) * min(t / (0.5 * self.T), 1.0)


class Still:
    """No drive: thigh fixed at 0, hip at rest. The knee is then a damped pendulum."""
    T = t_to = t0 = 0.0
    q_turns = ()

    def thigh_and_knee(self, t): return 0.0, 0.0, 0.0, 0.0, 0.0


# ---------------------------------------------------------------------------------------------------------------- swing (sections 3, 5)
class Walk:
    """One stride. y = (phi, omega, z, works of damper, friction, stop, assist, drive, prescribed motion on the shank)."""

    def __init__(self, joint, drive, mass, shank, effort=0.20):
        self.j, self.d, self.M, self.effort = joint, drive, mass, effort * mass
        self.m, self.r, self.eps, self.I = shank
        self.K, self.C = self.I * TRACK ** 2, 2 * self.I * TRACK
        self.release = None

    def prescribed(self, kin, phi):
        """I theta'' + m r [x_k'' cos(psi + eps) + (z_k'' + g) sin(psi + eps)]"""
        th, _, thdd, ax, az = kin
        a = th - phi + self.eps
        return self.I * thdd + self.m * self.r * (ax * math.cos(a) + (az + G) * math.sin(a))

    def correction(self, t, y):
        q, qd, _ = self.d.released(t)
        return self.K * (q - y[0]) + self.C * (qd - y[1])

    def drive_torque(self, t, y, kin, m):
        """F(t) + clamp[K(q - phi) + C(q' - omega)] before toe-off."""
        q, qd, qdd = self.d.released(t)
        f = self.I * qdd - self.prescribed(kin, q) + 0.2 * qd + 0.1 * qd * abs(qd) - self.j.friction(qd)
        if m['push_high']: return f + self.effort
        if not m['push_low']: return f - self.effort
        return f + self.K * (q - y[0]) + self.C * (qd - y[1])

    def torques(self, t, y, m):
        phi, w, z = y[0], y[1], y[2]
        kin = self.d.thigh_and_knee(t)
        drive = self.drive_torque(t, y, kin, m) if m['t_mid'] < self.d.t_to else 0.0
        j = self.j
        return j.damper(phi, w, z, m), j.friction(w), j.stop(phi, w, m), j.assist(phi, m), drive, self.prescribed(kin, phi)

    def sensed(self, t, phi, m):
        if m['t_mid'] >= self.d.t_to: return 0.0
        return self.j.felt(self.d.load(t), self.j.weight(self.d.pressure_point(t)), phi, m)

    def rhs(self, t, y, m):
        w = y[1]
        tq = self.torques(t, y, m)
        return [w, sum(tq) / self.I, self.j.valve_rate(self.sensed(t, y[0], m), y[2]), *[w * x for x in tq]]

    def stride(self, beyond=0.15, max_step=2e-3):
        """From heel contact (valve only) and from t0 to (1 + beyond) T (all). Sets valve_path, path, z0."""
        d, j = self.d, self.j
        knots = [0.5 * d.T, d.t_to, d.T, *d.q_turns]
        span = (j.x_release - COP_HEEL) / (COP_TOE - COP_HEEL)
        if span < 1: knots.append(0.5 * d.T * span)                     # the weight w reaches 0 on the way
        armed = {'armed': True}

        def crossed(k, up, t, y, m):
            if k == 'closed' and not up and m['t_mid'] < d.t_to and m['armed']:
                m['armed'] = False
                self.release = t

        valve = {'closed': lambda t, y, m: y[0] - 0.5}
        straight = {'h_begins': False, 'h_full': False}                 # H(0) = 0
        self.valve_path = follow(lambda t, y, m: [j.valve_rate(j.felt(d.load(t), j.weight(d.pressure_point(t)), j.phi_stop, m), y[0])],
                                 valve, 0.0, [0.0], d.t0, {**armed, **straight}, knots, crossed, max_step)
        self.z0 = float(self.valve_path.y_end[0])
        armed = {'armed': self.valve_path.mode['armed']}
        e = j.edges(0, 1, 2)
        before = lambda g: lambda t, y, m: g(t, y) if m['t_mid'] < d.t_to else 1.0
        e['near_stop'] = lambda t, y, m: y[0] - j.phi_stop - DEG         # only to be timed
        push = {'push_low': lambda t, y, m: self.correction(t, y) + self.effort, 'push_high': lambda t, y, m: self.correction(t, y) - self.effort}
        self.path = follow(self.rhs, {**e, **push}, d.t0, [j.phi_stop, 0.0, self.z0] + 6 * [0.0], d.t_to, armed, knots, crossed, max_step)
        sides = {k: v for k, v in self.path.mode.items() if k not in push}
        follow(self.rhs, e, d.t_to, self.path.y_end, d.T * (1 + beyond), sides, knots, crossed, max_step, self.path)
        return self

    def outcomes(self):
        """Section 8, walking."""
        d, j, path = self.d, self.j, self.path
        T, deg = d.T, 1 / DEG
        turns = [(float(y[0]), t) for t, k, up, y in path.crossings if k == 'flexing' and not up and t <= T]
        peak, t_peak = max(turns + [(float(path(T)[0]), T), (j.phi_stop, d.t0)])
        heel = path(T)
        o = dict(stride_time_s=T, toe_off_s=d.t_to, start_s=d.t0, valve_at_start=self.z0, toe_off_flexion_deg=float(path(d.t_to)[0]) * deg,
                 peak_flexion_deg=peak * deg, peak_flexion_pct=100 * t_peak / T, peak_time_s=t_peak,
                 release_pct=None if self.release is None else 100 * self.release / T,
                 heel_contact_flexion_deg=float(heel[0]) * deg, heel_contact_rate_rad_per_s=float(heel[1]),
                 full_extension_pct=None, full_extension_time_s=None, extension_margin_ms=None, terminal_speed_deg_per_s=None,
                 terminal_energy_j=None, rebound_deg=None, damper_work_j=-float(heel[3]))
        te = path.first('near_stop', False, t_peak) if peak - j.phi_stop > DEG else t_peak
        if te is not None:
            w = float(path(te)[1])
            o.update(full_extension_pct=100 * te / T, full_extension_time_s=te, extension_margin_ms=1e3 * (T - te), terminal_speed_deg_per_s=-w * deg,
                     terminal_energy_j=0.5 * self.I * w * w)
            least = path.first('flexing', True, te)
            if least is not None and least < T:
                top = [float(y[0]) for t, k, up, y in path.crossings if k == 'flexing' and not up and least < t <= T]
                o['rebound_deg'] = max(top + [float(heel[0])]) * deg
        return o

    def energy(self):
        """Works done on the shank from t0 to the end (negative: taken out) and its kinetic energy there, which is their sum."""
        y = self.path.y_end
        names = ('damper_j', 'friction_j', 'stop_j', 'assist_j', 'drive_j', 'passive_j')
        e = {k: float(v) for k, v in zip(names, y[3:])}
        e['kinetic_j'] = 0.5 * self.I * float(y[1]) ** 2
        return e


def free_swing(joint, drive, shank, t, phi, w, duration):
    """Shank after toe-off from a given state, valve held open, no switch allowed on the way: the path."""
    s = Walk(joint, drive, 75.0, shank)
    e = {k: g for k, g in joint.edges(0, 1, 2).items() if k not in ('closed', 'h_begins', 'h_full', 'letting_go')}
    never = {'armed': False, 'h_begins': False, 'h_full': False, 'letting_go': False}
    path = follow(s.rhs, e, t, [phi, w, 0.0] + 6 * [0.0], t + duration, never, max_step=5e-3)
    if path.crossings: raise RuntimeError(f'not smooth: {[(c[0], c[1]) for c in path.crossings]}')
    return path
