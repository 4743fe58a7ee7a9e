"""The foot and the walking drive of the knee simulator (sections 5 and 6 of the page of equations), derived again in Python.

SI units and radians; degrees only in names that say so. theta thigh from vertical (knee ahead of hip positive), phi knee flexion.
"""
import cmath
import csv
import math
import os
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

HERE = os.path.dirname(os.path.abspath(__file__))
G = 9.81
DEG = math.pi / 180


# ---------------------------------------------------------------------------------------------------------------- the foot
@dataclass
class Foot:
    """Rigid foot of a person, sizes scaled with stature. shift: forward (m); tilt: toes down (rad), a rotation about the ankle, first order.
    Places are ahead of the shank line (m)."""
    stature: float
    shift: float = 0.0
    tilt: float = 0.0

    def __post_init__(self):
        size = self.stature / 1.75
        self.R, self.h = 0.19 * self.stature, 0.039 * self.stature          # arc radius; height of the ankle
        self.e = 0.05 * size + self.shift + (self.R - self.h) * self.tilt   # the arc's centre lies R - h above the ankle
        self.heel, self.toe, self.edge = (self.under(x * size) for x in (-0.06, 0.14, 0.06))
        self.x_h, self.x_t = -0.04 * size, 0.14 * size                      # centre of pressure in walking: at heel contact, and from p = 0.5 on
        ahead = 0.152 * self.stature - 0.06 * size                          # tip of the foot ahead of the ankle
        self.tip_ahead, self.tip_below = ahead + self.shift, 0.285 * self.stature + ahead * self.tilt   # ahead of the shank line, below the knee axis
        self.moved = self.shift != 0 or self.tilt != 0

    def under(self, x):
        """Where a place x of the sole comes to lie: the sole is h below the ankle."""
        return x + self.shift - self.h * self.tilt


# ---------------------------------------------------------------------------------------------------------------- tables of coefficients
SIGNALS = ('scalars', 'thigh_angle_deg', 'knee_flexion_deg', 'hip_vertical_acceleration_g', 'hip_forward_acceleration_g', 'vertical_load_bw')


def able_bodied():
    """signal -> array of rows (v*, coefficients)."""
    rows = {}
    with open(os.path.join(HERE, 'walking_drive.csv')) as f:
        for r in csv.reader(line for line in f if not line.startswith('#')):
            rows.setdefault(r[0], []).append([float(x) for x in r[3:]])
    return {k: np.array(v) for k, v in rows.items()}


def drive_file(path):
    """The same from a drive file of the project: its rows only, one `key: value` a line; series as [mean, cos 1, sin 1, cos 2, ...]."""
    number = lambda text: [float(x) for x in text.strip('[] \n').split(',')]
    rows, row, signal = [], None, None
    with open(path) as f:
        for line in f:
            key, _, value = line.partition(':')
            if key == '- label': rows.append(row := {})
            elif row is None: continue
            elif line.startswith('    '): row[signal][key.strip()] = number(value)
            elif value.strip(): row[key.strip()] = number(value)
            else: signal = key.strip(); row[signal] = {}
    table = {}
    for r in rows:
        one = dict(scalars=[r[k][0] for k in ('dimensionless_cadence', 'dimensionless_step', 'toe_off_fraction', 'opposite_contact_fraction')],
                   vertical_load_bw=r['vertical_load_bw'])
        for k in SIGNALS[1:5]: one[k] = r[k]['mean'] + [x for pair in zip(r[k]['cos'], r[k]['sin'], strict=True) for x in pair]
        for k, c in one.items(): table.setdefault(k, []).append(r['dimensionless_speed'] + c)
    return {k: np.array(v) for k, v in table.items()}


def row(table, signal, v_star):
    """Coefficients at a dimensionless speed: linear between rows, clamped at the ends of the table."""
    a = table[signal]
    return [float(np.interp(v_star, a[:, 0], a[:, j])) for j in range(1, a.shape[1])]


ABLE = able_bodied()
able = lambda signal, v_star: row(ABLE, signal, v_star)
padded = lambda c, n: list(c) + [0.0] * (n - len(c))


def shared(share, other):
    """A drive between the able-bodied one (share 0) and another (share 1), coefficient by coefficient."""
    def at(signal, v_star):
        a, b = able(signal, v_star), row(other, signal, v_star)
        n = max(len(a), len(b))
        return [(1 - share) * x + share * y for x, y in zip(padded(a, n), padded(b, n))]
    return at


FADED = 0.43        # v* at which the difference in cadence has gone


def shifted(mean):
    """The able-bodied drive shifted by the difference that a mean (series and scalars, see users_drive.json) shows at its own speed v0: cadence by a
    factor that fades to 1 at v* FADED; the contact of the other foot stays that of the mean; the ground load is able-bodied."""
    v0 = mean['v']
    own = dict(thigh_angle_deg=mean['thigh'], knee_flexion_deg=mean['knee'], hip_vertical_acceleration_g=mean['hip_up'],
               hip_forward_acceleration_g=mean['hip_forward'])

    def at(signal, v_star):
        a, a0 = able(signal, v_star), able(signal, v0)
        if signal == 'scalars':
            fade = min(max((FADED - v_star) / (FADED - v0), 0.0), 1.3)
            return [a[0] * (1 + (mean['cadence'] / a0[0] - 1) * fade), a[1] + mean['step'] - a0[1], a[2] + mean['toe_off'] - a0[2], mean['opposite']]
        if signal not in own: return a
        n = max(len(a), len(own[signal]))
        return [x + y - z for x, y, z in zip(padded(a, n), padded(own[signal], n), padded(a0, n))]
    return at


# ---------------------------------------------------------------------------------------------------------------- the drive (section 6)
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
    """Hip and thigh as prescribed, ground load, the curve a released knee follows before toe-off. `table(signal, v*)` gives the coefficients."""

    def __init__(self, speed, stature, cadence_per_min=None, phi_stop=0.0, table=able, foot=None):
        self.foot = foot or Foot(stature)
        self.speed, self.leg, self.thigh = speed, 0.530 * stature, 0.245 * stature
        v = self.v_star = speed / math.sqrt(G * self.leg)
        cadence_star, _, self.to_fraction, self.oc_fraction = table('scalars', v)
        t_table = 2 / (cadence_star * math.sqrt(G / self.leg))
        self.T = t_table if cadence_per_min is None else 120 / cadence_per_min
        lam = self.step_ratio = self.T / t_table
        self.omega = 2 * math.pi / self.T
        self.theta = Series(table('thigh_angle_deg', v), DEG, DEG * lam)
        knee = self.knee = Series(table('knee_flexion_deg', v), DEG, DEG)
        acc = G * t_table / self.T
        self.ax = Series(table('hip_forward_acceleration_g', v), acc, acc)
        self.az = Series(table('hip_vertical_acceleration_g', v), acc, acc)
        self.load_s = table('vertical_load_bw', v)
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

    def hip_height(self, t):
        """Height of the hip over its mean: the double integral of its periodic acceleration."""
        waves = ((k * self.omega, a, b) for k, (a, b) in enumerate(self.az.ab, 1))
        return -sum((a * math.cos(w * t) + b * math.sin(w * t)) / w ** 2 for w, a, b in waves)

    def load(self, t):
        """Vertical ground load in body weights, before toe-off."""
        x = math.pi * t / self.t_to
        return sum(s * math.sin(k * x) for k, s in enumerate(self.load_s, 1))

    def thigh_and_knee(self, t):
        """theta, theta', theta'' and the acceleration of the knee axis."""
        th, d, dd = self.theta.at(self.omega, t)
        c, s = math.cos(th), math.sin(th)
        return (th, d, dd, self.ax.at(self.omega, t)[0] + self.thigh * (dd * c - d * d * s), self.az.at(self.omega, t)[0] + self.thigh * (dd * s + d * d * c))

    # centre of pressure: a line in time from heel to toe, both ends of the foot its limits; a tilt moves it along the line, since the arc rolls further
    def pressure_point(self, t):
        f = self.foot
        span = f.x_t - f.x_h
        return f.under(f.x_h + span * min(max(t / (0.5 * self.T) + f.R * f.tilt / span, 0.0), 1.0))

    def pressure_moved(self, t):
        """How far the centre of pressure lies ahead of where the drive assumes it."""
        f = self.foot
        return self.pressure_point(t) - (f.x_h + (f.x_t - f.x_h) * min(t / (0.5 * self.T), 1.0))

    def pressure_knots(self, places):
        """Instants at which either line has a kink, or the moving one passes one of the places."""
        f = self.foot
        span = f.x_t - f.x_h
        shares = [s for s in ((x - f.under(f.x_h)) / span for x in places) if 0 < s < 1]
        moving = [0.5 * self.T * (s - f.R * f.tilt / span) for s in (0.0, 1.0, *shares)]
        knots = [0.5 * self.T]
        for t in moving:
            if all(abs(t - k) > 1e-12 for k in knots): knots.append(t)
        return knots


class Still:
    """No drive: thigh fixed at 0, hip at rest. The knee is then a damped pendulum."""
    T = t_to = t0 = 0.0
    foot = Foot(1.75)
    q_turns = ()

    def thigh_and_knee(self, t): return 0.0, 0.0, 0.0, 0.0, 0.0
