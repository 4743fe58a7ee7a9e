"""The loaded tasks of the knee simulator (section 7 of the page of equations), derived again in Python: sitting, ramp, stairs, stumble, landing.

Vectors in the sagittal plane are complex numbers: real part forward (down the slope), imaginary part up (normal to the slope).
With beta the forward tilt of the shank, f = exp(-i beta) = (cos beta, -sin beta) and u = i f = (sin beta, cos beta), so df/dbeta = -u and
du/dbeta = f; the thigh has t = i exp(-i delta), delta = beta - phi.
"""
import cmath
import math
from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq
from scipy.special import expit

from kneeref import DEG, G, X_FULL, Foot, smoothstep
from kneeref_phases import follow

PACE = 200.0                            # N s/m at 75 kg: holds the forward speed of the hip
dot = lambda a, b: a.real * b.real + a.imag * b.imag


@dataclass
class Body:
    """Person and segments. Below the knee 2.275 kg on the shank line; thigh + socket; the rest a point at the hip."""
    mass: float
    stature: float

    def __post_init__(self):
        self.L1, self.Lt = 0.285 * self.stature, 0.245 * self.stature
        self.m1, self.c1 = 2.275, 0.55 * self.L1
        self.I1 = 0.18 * self.m1 * self.L1 ** 2
        self.m2, self.c2 = 0.07 * self.mass + 1.225, 0.6 * self.Lt
        self.I2 = 0.07 * self.m2 * self.Lt ** 2
        self.m3 = self.mass - self.m1 - self.m2
        self.bw = self.mass * G

    def numbers(self):
        return dict(mass_kg=self.mass, stature_m=self.stature, thigh_length_m=self.Lt, knee_height_m=self.L1, lower_mass_kg=self.m1, lower_com_m=self.c1,
                    lower_inertia_kg_m2=self.I1, upper_mass_kg=self.m2, upper_com_m=self.c2, upper_inertia_kg_m2=self.I2)


# ---------------------------------------------------------------------------------------------------------------- sitting
class Sitting:
    """y = (phi, omega, z, damper work, friction work, hip work, ankle work)."""
    KAPPA, X_C, SEAT, LIMIT = 0.12, -0.04, 0.54, 12.0

    def __init__(self, body, joint, share, phi0=10 * DEG, foot=None):
        self.b, self.j, self.share, self.phi0 = body, joint, share, phi0
        self.x_c = (foot or Foot(body.stature)).under(self.X_C)
        self.ms, self.I0 = share * body.mass, body.I1 + 0.12

    def shape(self, phi):
        """Hip height and its first two derivatives by phi; horizontal distance of the knee from the load line."""
        b, k = self.b, self.KAPPA
        al = k * phi
        s1, c1, s2, c2 = math.sin(al), math.cos(al), math.sin(phi - al), math.cos(phi - al)
        return (b.L1 * c1 + b.Lt * c2, -k * b.L1 * s1 - (1 - k) * b.Lt * s2, -k * k * b.L1 * c1 - (1 - k) ** 2 * b.Lt * c2, b.L1 * s1 - self.x_c)

    def motion(self, y, m):
        phi, w, z = y[0], y[1], y[2]
        _, h1, h2, arm = self.shape(phi)
        j, ms = self.j, self.ms
        td, tf = j.damper(phi, w, z, m, cushioned=False), j.friction(w)
        acc = (ms * G * arm + td + tf + j.stop(phi, w, m) - ms * h1 * h2 * w * w) / (ms * h1 * h1 + self.I0)
        return acc, ms * (G + h1 * acc + h2 * w * w), td, tf

    def rhs(self, t, y, m):
        phi, w, z = y[0], y[1], y[2]
        acc, n, td, tf = self.motion(y, m)
        felt = self.j.felt(n / self.b.bw, self.j.weight(self.x_c), phi, m)
        _, _, _, arm = self.shape(phi)
        th = phi * (1 - self.KAPPA)
        hip = self.ms * G * (self.b.Lt * math.sin(th) - arm)
        return [w, acc, self.j.valve_rate(felt, z), td * w, tf * w, hip * (1 - self.KAPPA) * w, self.ms * G * self.x_c * self.KAPPA * w]

    def equilibrium_valve(self):
        """The valve of a person who was standing: fixed point from z = 1 at omega = 0 (the oil carries nothing, so N does not depend on z)."""
        m = {'flexing': True, 'relief': False, 'off_stop': True, 'letting_go': False, 'armed': True, 'h_begins': True, 'h_full': True}
        n = self.motion((self.phi0, 0.0, 1.0), m)[1] / self.b.bw
        s, j, z = self.j.felt(n, self.j.weight(self.x_c), self.phi0, m), self.j, 1.0
        for _ in range(10000):
            z, old = float(expit((s - j.s_on + j.hysteresis * z) / j.width)), z
            if z == old: break
        return z

    def run(self, z0=1.0):
        e = {**self.j.edges(0, 1, 2), 'above_seat': lambda t, y, m: self.shape(y[0])[0] - self.SEAT}
        e.pop('clear_of_cushion', None)
        end = lambda k, up, t, y, m: 'seat' if k == 'above_seat' and not up else None
        self.path = follow(self.rhs, e, 0.0, [self.phi0, 0.0, z0, 0.0, 0.0, 0.0, 0.0], self.LIMIT, {'armed': True}, (), end, 10e-3)
        return self

    def outcomes(self):
        y, t = self.path.y_end, self.path.t_end
        rate, _ = self.path.greatest(lambda t, y, m: y[1])
        return dict(end=self.path.end, sit_time_s=t, seat_speed_m_per_s=-self.shape(y[0])[1] * float(y[1]), peak_rate_deg_per_s=rate / DEG, damper_work_j=-float(y[3]))

    def residual(self):
        """|energy in - stored - out| over the height energy given up: a check of the equations."""
        a, b = self.path(0.0), self.path.y_end
        e = lambda y: 0.5 * (self.ms * self.shape(y[0])[1] ** 2 + self.I0) * y[1] ** 2 + self.ms * G * self.shape(y[0])[0]
        # the hip and ankle moments resist: they take out what the load line does not give to the knee
        return abs(e(b) - e(a) - b[3] - b[4] + b[5] + b[6]) / abs(b[3])


# ---------------------------------------------------------------------------------------------------------------- the leg in the surface frame
class Leg:
    """y = (beta, phi, beta', omega, z, works of damper, friction, stop, hip moment, other leg + pace)."""

    def __init__(self, kind, body, joint, speed, slope=0.0, hip_moment=0.0, unload=0.12, collapse=85 * DEG, stall=0.05, limit=2.0, foot=None):
        self.kind, self.b, self.j, self.v, self.gamma = kind, body, joint, speed, slope
        self.hip_moment, self.unload, self.limits = hip_moment * body.mass, unload, (collapse, stall, limit)
        self.gravity = -1j * G * cmath.exp(1j * slope)
        self.up, self.fwd = 1j * cmath.exp(1j * slope), cmath.exp(1j * slope)
        foot = self.foot_at = foot or Foot(body.stature)
        self.R, self.e = foot.R, foot.e
        self.beta_h, self.beta_t = (foot.heel - foot.e) / foot.R, (foot.toe - foot.e) / foot.R
        self.pace = PACE * body.mass / 75

    # geometry
    def foot(self, beta, m):
        """Knee position and its first two derivatives by beta; centre of pressure ahead of the ankle."""
        R, L1 = self.R, self.b.L1
        if self.kind == 'stairs': c, c1, af, au, x = 0.0, 0.0, -self.foot_at.edge, L1, self.foot_at.edge
        elif m['past_heel_end'] and not m['past_toe_end']: c, c1, af, au, x = complex(R * beta, R), R, -self.e, L1 - R, self.e + R * beta
        else:
            be, x = (self.beta_t, self.foot_at.toe) if m['past_heel_end'] else (self.beta_h, self.foot_at.heel)
            c, c1, af, au = R * be, 0.0, -self.e - R * math.sin(be), L1 - R + R * math.cos(be)
        f = cmath.exp(-1j * beta)
        arm = af * f + au * 1j * f
        return c + arm, c1 - af * 1j * f + au * f, -arm, x

    def hip(self, beta, phi, m):
        return self.foot(beta, m)[0] + self.b.Lt * 1j * cmath.exp(-1j * (beta - phi))

    def hip_rows(self, beta, phi, m):
        """Derivatives of the hip position by beta and phi."""
        a = self.b.Lt * cmath.exp(-1j * (beta - phi))
        return self.foot(beta, m)[1] + a, -a

    def hip_world(self, y, m): return self.hip(y[0], y[1], m) * cmath.exp(-1j * self.gamma)

    def hip_speed(self, y, m):
        jb, jp = self.hip_rows(y[0], y[1], m)
        return jb * y[2] + jp * y[3]

    def sides(self, beta):
        return {'past_heel_end': beta > self.beta_h, 'past_toe_end': beta > self.beta_t}

    # motion
    def motion(self, t, y, m):
        """beta'', phi'', ground load (body weights), torques and forces that do work."""
        beta, phi, bd, w, z = y[0], y[1], y[2], y[3], y[4]
        b, j = self.b, self.j
        K, K1, K2, x = self.foot(beta, m)
        f = cmath.exp(-1j * beta)
        td = cmath.exp(-1j * (beta - phi))                          # dt/ddelta; t = i td, d2t = -t
        dd = bd - w
        hip = (K1 + b.Lt * td, -b.Lt * td)
        parts = ((b.m1, (K1 - b.c1 * f, 0j), (K2 + b.c1 * 1j * f) * bd * bd),
                 (b.m2, (K1 + b.c2 * td, -b.c2 * td), K2 * bd * bd - b.c2 * 1j * td * dd * dd),
                 (b.m3, hip, K2 * bd * bd - b.Lt * 1j * td * dd * dd))
        s = 1 - smoothstep(t / self.unload) if m['t_mid'] < self.unload and self.kind != 'stairs' else 0.0
        v_hip = hip[0] * bd + hip[1] * w
        P = s * b.bw * self.up - self.pace * (dot(v_hip, self.fwd) - self.v) * self.fwd
        mh = self.hip_moment * (smoothstep(t / 0.05) if m['t_mid'] < 0.05 else 1.0)
        oil, seal, stop = j.damper(phi, w, z, m, cushioned=False), j.friction(w), j.stop(phi, w, m)
        a11, a12, a22 = b.I1 + b.I2, -b.I2, b.I2
        r1, r2 = dot(hip[0], P) + mh, dot(hip[1], P) - mh + oil + seal + stop
        for mi, (jb, jp), bias in parts:
            a11 += mi * dot(jb, jb); a12 += mi * dot(jb, jp); a22 += mi * dot(jp, jp)
            g = mi * (self.gravity - bias)
            r1 += dot(jb, g); r2 += dot(jp, g)
        det = a11 * a22 - a12 * a12
        bdd, wd = (a22 * r1 - a12 * r2) / det, (a11 * r2 - a12 * r1) / det
        F = -P
        for mi, (jb, jp), bias in parts: F += mi * (jb * bdd + jp * wd + bias - self.gravity)
        kinetic = 0.5 * (a11 * bd * bd + 2 * a12 * bd * w + a22 * w * w)
        return bdd, wd, dot(F, self.up) / b.bw, x, (oil * w, seal * w, stop * w, mh * dd, dot(P, v_hip)), kinetic

    def rhs(self, t, y, m):
        bdd, wd, n, x, powers, _ = self.motion(t, y, m)
        j = self.j
        if self.kind != 'stairs' and m['weight_full']: weight = 1.0
        elif self.kind != 'stairs' and not m['weight_left']: weight = 0.0
        else: weight = j.weight(x)
        return [y[2], y[3], bdd, wd, j.valve_rate(j.felt(n, weight, y[1], m), y[4]), *powers]

    def start_rate(self, beta, phi, w):
        """beta' with which the hip moves forward (world) at the walking speed."""
        jb, jp = self.hip_rows(beta, phi, self.sides(beta))
        return (self.v - dot(jp, self.fwd) * w) / dot(jb, self.fwd)

    def run(self, beta0, phi0, w0, z0):
        collapse, stall, limit = self.limits
        e = self.j.edges(1, 3, 4)
        e.pop('clear_of_cushion', None)
        e['not_collapsed'] = lambda t, y, m: collapse - y[1]
        e['advancing'] = lambda t, y, m: dot(self.hip_speed(y, m), self.fwd) - stall
        if self.kind != 'stairs':
            foot, beta_of = self.foot_at, lambda x: (x - self.e) / self.R
            e['past_heel_end'] = lambda t, y, m: y[0] - self.beta_h
            e['past_toe_end'] = lambda t, y, m: y[0] - self.beta_t
            e['weight_full'] = lambda t, y, m: (beta_of(X_FULL) if X_FULL > foot.heel else -1e3) - y[0]     # centre of pressure behind: w = 1
            e['weight_left'] = lambda t, y, m: (beta_of(self.j.x_release) if self.j.x_release < foot.toe else 1e3) - y[0]
        if self.kind == 'ramp':     # the other leg, straight, 10 degrees ahead of vertical
            L, s10, c10, tan = self.b.L1 + self.b.Lt, math.sin(10 * DEG), math.cos(10 * DEG), math.tan(self.gamma)

            def clearance(y, m):
                h = self.hip_world(y, m)
                return h.imag - L * c10 + (h.real + L * s10) * tan
            e['looking'] = lambda t, y, m: self.hip_world(y, m).real - 0.05
            e['above_ground'] = lambda t, y, m: clearance(y, m) if m['looking'] else 1.0
        if self.kind == 'stairs':
            e['above_tread'] = lambda t, y, m: self.hip_world(y, m).imag - (self.b.L1 + self.b.Lt + 0.04 - 0.17)
        self.late = False

        def end(k, up, t, y, m):
            if k == 'not_collapsed' and not up: return 'collapse'
            if k == 'advancing' and not up: return 'stall'
            if k in ('above_ground', 'above_tread') and not up: return 'contact'
            if k == 'looking' and up and clearance(y, m) <= 0:
                self.late = True
                return 'contact'
        y0 = [beta0, phi0, self.start_rate(beta0, phi0, w0), w0, z0] + 5 * [0.0]
        self.path = follow(self.rhs, e, 0.0, y0, limit, {'armed': True, **self.sides(beta0), **({'looking': False} if self.kind == 'ramp' else {})},
                           (0.05, self.unload), end, 4e-3)
        return self

    def outcomes(self):
        path, y, t_end = self.path, self.path.y_end, self.path.t_end
        m = path.mode
        turns = [float(s[1]) for _, k, up, s in path.crossings if k == 'flexing' and not up]
        t_lo = 0.15 if self.kind == 'ramp' else 0.0
        rate = path.greatest(lambda t, s, m: s[3], t_lo)[0] / DEG if t_end > t_lo else None
        load = lambda t, s, m: self.motion(t, s, m)[2]
        support = 0.0 if path(0.0)[4] > 0.5 else path.first('closed', True)
        o = dict(end=path.end, end_time_s=t_end, end_flexion_deg=float(y[1]) / DEG, max_flexion_deg=max(turns + [float(path(0.0)[1]), float(y[1])]) / DEG,
                 max_rate_deg_per_s=rate, end_rate_rad_per_s=float(y[3]), drop_speed_m_per_s=-(self.hip_speed(y, m) * cmath.exp(-1j * self.gamma)).imag,
                 hip_forward_m=self.hip_world(y, m).real, support_after_ms=None if support is None else 1e3 * support,
                 least_load_bw=path.greatest(load, sign=-1)[0], greatest_load_bw=path.greatest(load)[0])
        if self.kind == 'ramp': o['late'] = self.late
        if self.kind in ('landing', 'stumble'):
            top, still = o['max_flexion_deg'], o['end_rate_rad_per_s'] > 0.1 and o['end_flexion_deg'] > 5
            o['course'] = ('gives way' if top > 60 or path.end == 'collapse' else 'straight' if top <= 10 else 'caught' if top <= 45 and not still else 'doubtful')
        return o

    def energy(self, t, y, m):
        """Kinetic and height energy (the spring of the stop is in its work)."""
        b, beta, phi = self.b, y[0], y[1]
        K = self.foot(beta, m)[0]
        u, th = 1j * cmath.exp(-1j * beta), 1j * cmath.exp(-1j * (beta - phi))
        height = sum(-mi * dot(self.gravity, p) for mi, p in ((b.m1, K - b.c1 * u), (b.m2, K + b.c2 * th), (b.m3, K + b.Lt * th)))
        return self.motion(t, y, m)[5] + height

    def residual(self):
        a, z = self.path.pieces[0], self.path.pieces[-1]
        return abs(self.energy(z[1], self.path.y_end, z[4]) - self.energy(a[0], a[2](a[0]), a[4]) - sum(self.path.y_end[5:])) / max(1.0, abs(self.path.y_end[5]))


def ramp(body, joint, slope, hip_moment=0.0, speed=0.9, foot=None):
    leg = Leg('ramp', body, joint, speed, slope, hip_moment, foot=foot)
    return leg.run(-16 * DEG - slope, 2 * DEG, 0.0, 0.0)


def stairs(body, joint, speed=0.45, foot=None):
    leg = Leg('stairs', body, joint, speed, collapse=95 * DEG, stall=0.02, limit=3.0, foot=foot)
    phi0 = 12 * DEG
    beta0 = brentq(lambda b: leg.hip(b, phi0, {}).real + 0.06, -0.6, 0.8, xtol=1e-15, rtol=1e-14)
    return leg.run(beta0, phi0, 0.0, 1.0)


def stumble(body, joint, phi0, hip_moment=0.2, speed=1.1, foot=None):
    leg = Leg('stumble', body, joint, speed, 0.0, hip_moment, limit=0.35, foot=foot)
    return leg.run(-10 * DEG, phi0, 0.0, 0.0)


def landing(walk, body, hip_moment=0.2):
    """From heel contact of a computed stride into loading."""
    d = walk.d
    y = walk.path(d.T)
    phi, w = float(y[0]), float(y[1])
    leg = Leg('landing', body, walk.j, d.speed, 0.0, hip_moment, unload=max(0.06, (d.to_fraction - d.oc_fraction) * d.T), limit=0.40, foot=d.foot)
    return leg.run(-(d.theta.at(d.omega, d.T)[0] - phi), phi, w, 0.0)
