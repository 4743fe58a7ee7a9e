"""One walking stride in numbers, for integrators that know nothing of it.

The numbers of the drive come from tests/reference/kneeref.py, those of the strides from the batch's own bench
(target/peers/strides.json). Natural branches (min, max, where), no events: what a user of a general integrator would
write down. All strides here let go of the stance valve before the knee begins to move, so that the joint is disarmed
from t0 on. SI units and radians.
"""
import json
import math
import os
import sys

import numpy as np

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
sys.path.insert(0, os.path.join(ROOT, 'tests', 'reference'))
import kneeref  # noqa: E402

G = 9.81


def load():
    """The strides and what the batch found of them."""
    with open(os.path.join(ROOT, 'target', 'peers', 'strides.json')) as f:
        return json.load(f)


# names of the numbers of one stride, in order
NAMES = ['a_fl', 'b_fl', 'a_st', 'b_st', 'a_ex', 'b_ex', 'cushion_start', 'cushion_factor', 'k', 'c', 'assist', 'friction', 'smoothing', 's_on', 'lag',
         'hysteresis', 'width', 'x_rel', 'I', 'mr', 'eps', 'effort']


class Numbers:
    """Drive and strides as arrays."""

    def __init__(self, data):
        d = kneeref.Drive(data['speed_m_per_s'], data['stature_m'])
        self.T, self.t0, self.t_to, self.w = d.T, d.t0, d.t_to, d.omega
        pad = lambda ab: np.array([x for x in ab] + [(0.0, 0.0)] * (8 - len(ab)))
        self.theta, self.ax, self.az, self.knee = (pad(s.ab) for s in (d.theta, d.ax, d.az, d.knee))
        self.means = np.array([d.theta.mean, d.ax.mean, d.az.mean, d.knee.mean])
        self.load = np.array(d.load_s + [0.0] * (8 - len(d.load_s)))
        self.thigh, self.q_mean, self.q_scale = d.thigh, d.q_mean, d.q_scale
        self.drive = d
        self.strides = np.array([[s[n] for n in NAMES] for s in data['strides']])
        self.exact = np.array([[s['toe_off_rad'], s['contact_rad'], s['contact_rate']] for s in data['strides']])


def source(n, lib, where):
    """The equations as source for numba (lib 'math') or jax (lib 'jnp'): the same text for both."""
    rows = lambda a: '[' + ', '.join(f'({x[0]!r}, {x[1]!r})' for x in a.tolist()) + ']'
    out = [f'T, T0, T_TO, W, LT = {n.T!r}, {n.t0!r}, {n.t_to!r}, {n.w!r}, {n.thigh!r}',
           f'M_TH, M_AX, M_AZ, M_KN = {tuple(n.means.tolist())!r}', f'Q_MEAN, Q_SCALE = {n.q_mean!r}, {n.q_scale!r}', 'G = 9.81']
    # harmonics by the angle-sum recurrence, unrolled
    body = ['def drive(t):', f'    s1 = {lib}.sin(W * t); c1 = {lib}.cos(W * t)', '    c = 1.0; s = 0.0',
            '    th = M_TH; thd = 0.0; thdd = 0.0; ax = M_AX; az = M_AZ; q = M_KN; qd = 0.0; qdd = 0.0']
    for k in range(8):
        body += [f'    c, s = c * c1 - s * s1, s * c1 + c * s1', f'    kw = {k + 1} * W']
        for name, a, order in (('th', n.theta, 2), ('ax', n.ax, 0), ('az', n.az, 0), ('q', n.knee, 2)):
            p, r = a[k].tolist()
            if p == 0.0 and r == 0.0: continue
            body += [f'    f = {p!r} * c + {r!r} * s', f'    {name} = {name} + f']
            if order: body += [f'    {name}d = {name}d + kw * ({r!r} * c - {p!r} * s)', f'    {name}dd = {name}dd - kw * kw * f']
    body += [f'    st = {lib}.sin(th); ct = {lib}.cos(th)', '    kx = ax + LT * (thdd * ct - thd * thd * st)', '    kz = az + LT * (thdd * st + thd * thd * ct) + G',
             '    return thdd, kx * ct + kz * st, kx * st - kz * ct, Q_SCALE * (q - Q_MEAN), Q_SCALE * qd, Q_SCALE * qdd']
    body += ['def load(t):', f'    s1 = {lib}.sin(math.pi * t / T_TO); c1 = {lib}.cos(math.pi * t / T_TO)', '    c = 1.0; s = 0.0; n = 0.0']
    for k in range(8):
        body += ['    c, s = c * c1 - s * s1, s * c1 + c * s1', f'    n = n + {float(n.load[k])!r} * s']
    body += [f'    return {where["max"]}(n, 0.0)']
    body += ['def valve(s, z, p):', f'    x = (s - p[13] + p[15] * z) / p[16]', f'    return (1.0 / (1.0 + {lib}.exp(-x)) - z) / p[14]',
             'def felt(t, p):', f'    x = -0.04 + 0.18 * {where["min"]}(2.0 * t / T, 1.0)',
             f'    return load(t) * {where["min"]}({where["max"]}((p[17] - x) / (p[17] + 0.04), 0.0), 1.0)']
    pick = where['pick']
    body += ['def motion(t, phi, w, z, p, loaded):',
             '    thdd, across, along, q, qd, qdd = drive(t)', f'    u = phi - p[20]; su = {lib}.sin(u); cu = {lib}.cos(u)',
             '    pulled = p[18] * thdd + p[19] * (across * cu + along * su)',
             f'    root = 1.0 + ({lib}.sqrt(p[3] / p[1]) - 1.0) * (1.0 - z)', '    b = p[3] / (root * root)',
             '    a = p[0] + (p[2] - p[0]) * (b - p[1]) / (p[3] - p[1])',
             f'    x = {where["min"]}({where["max"]}((p[6] - phi) / p[6], 0.0), 1.0)', '    fac = 1.0 + (p[7] - 1.0) * x * x * (3.0 - 2.0 * x)',
             f'    oil = {pick("w > 0.0", "-(a + b * w) * w", "-(p[4] - p[5] * fac * w) * w")}', f'    oil = oil - p[11] * {lib}.tanh(w / p[12]) - p[10]',
             f'    stop = {pick("phi < 0.0", where["max"] + "(p[8] * -phi * (1.0 - p[9] * w), 0.0)", "0.0")}', '    tq = pulled + oil + stop',
             '    if loaded:', f'        sq = {lib}.sin(q - p[20]); cq = {lib}.cos(q - p[20])', '        pq = p[18] * thdd + p[19] * (across * cq + along * sq)',
             f'        f = p[18] * qdd - pq + 0.2 * qd + 0.1 * qd * abs(qd) + p[11] * {lib}.tanh(qd / p[12])', '        k = 2.0 * math.pi * 12.0',
             '        corr = p[18] * (k * k * (q - phi) + 2.0 * k * (qd - w))',
             f'        tq = tq + f + {where["min"]}({where["max"]}(corr, -p[21]), p[21])', '        zd = valve(felt(t, p), z, p)',
             '    else:', '        zd = valve(0.0, z, p)', '    return w, tq / p[18], zd']
    return '\n'.join(out + body)


def scalar(n):
    """drive, load, valve, felt, motion as plain Python on floats."""
    space = {'math': math}
    exec(source(n, 'math', {'max': 'max', 'min': 'min', 'pick': lambda c, a, b: f'({a}) if {c} else ({b})'}), space)
    return space


def errors(found, exact):
    """Greatest deviation of flexion at toe-off and heel contact, rad."""
    return float(np.max(np.abs(np.asarray(found)[:, :2] - exact[:, :2])))
