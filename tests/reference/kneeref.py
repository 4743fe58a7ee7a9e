"""The swing side of the knee simulator, derived again in Python: laws of the joint, pre-swing and swing.

Written from the project's page of equations, not from the crate and not from the team's first prototype. SI units and radians; degrees only in
names that say so. Integration: see kneeref_phases (DOP853, switches located, restart). The walking drive and the foot are in kneeref_drive,
the loaded tasks in kneeref_loaded.

phi knee flexion, omega = phi'; theta thigh from vertical (knee ahead of hip positive); psi = theta - phi shank from vertical.
A torque is positive when it increases flexion.
"""
import math

from scipy.special import expit

from kneeref_drive import DEG, G, Drive, Foot, Still  # noqa: F401  (names for those who import from here)
from kneeref_phases import follow

X_FULL = -0.04                          # a load this far behind the ankle or further is felt in full (m)
OPEN_PASSAGE = (0.1, 0.1)               # (a, b) of the stance path beside another law, when nothing closes it
T_RELIEF, RELIEF_SLOPE = 150.0, 0.05    # relief on the oil torque in flexion
H_START, H_WIDTH = 4 * DEG, 6 * DEG     # where the load of a bent knee begins to be felt


def other_law(valve):
    """Resisting torque at a rate by the law named first, or None for an orifice."""
    name, *k = valve
    if name == 'linear': return lambda w: k[0] * w
    if name == 'friction': return lambda w: k[0] * math.tanh(w / k[1])
    return None


def smoothstep(x):
    x = min(max(x, 0.0), 1.0)
    return x * x * (3 - 2 * x)


# ---------------------------------------------------------------------------------------------------------------- the joint (section 4)
class Joint:
    """All laws of the joint. `m` is the mode: which branch of each law holds in the present phase (see Joint.edges).

    A swing valve is an orifice (a, b) or another law: ('linear', c) with torque c w, ('friction', torque, speed) with torque tanh(w/speed).
    Beside another law the stance valve is a path of its own in flexion, from OPEN_PASSAGE to the stance orifice, of which only what it adds
    to the open passage acts."""

    def __init__(self, mass, swing_flexion, swing_extension, stance, catch_load_n, trigger='load', cushion=None, assist=(0.0, 0.0), stop_deg=0.0,
                 stop=(2000.0, 0.3), friction=(0.3, 0.05), x_release=0.16, lag=0.025, hysteresis=0.05, width=0.01):
        self.law_flexion, self.law_extension = other_law(swing_flexion), other_law(swing_extension)
        self.a_sw, self.b_sw = OPEN_PASSAGE if self.law_flexion else swing_flexion
        self.a_ex, self.b_ex = (None, None) if self.law_extension else swing_extension
        if self.law_extension and cushion: raise ValueError('the cushion narrows an orifice')
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

    def path(self, z):
        """Coefficients of the oil that acts in flexion: all of it, or beside another law what the stance path adds to the open passage."""
        a, b = self.coefficients(z)
        return (a - self.a_sw, b - self.b_sw) if self.law_flexion else (a, b)

    def damper(self, phi, w, z, m, cushioned=True):
        """Oil: -(a w + b w|w|); relief in flexion, cushion in extension."""
        if m['flexing']:
            a, b = self.path(z)
            t = a * w + b * w * w
            if m['relief']: t = T_RELIEF + RELIEF_SLOPE * (t - T_RELIEF)
            return -t - self.law_flexion(w) if self.law_flexion else -t
        if self.law_extension: return -self.law_extension(w)
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

    def weight(self, x): return min(max((self.x_release - x) / (self.x_release - X_FULL), 0.0), 1.0)

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
        a, b = self.path(z)
        return a * w + b * w * abs(w)


# ---------------------------------------------------------------------------------------------------------------- swing (sections 3, 5)
class Walk:
    """One stride. y = (phi, omega, z, works of damper, friction, stop, assist, drive, prescribed motion on the shank and, if the foot is
    moved, of the load line)."""

    def __init__(self, joint, drive, mass, shank, effort=0.20, light=(0.2, 0.1), tracking_hz=12.0):
        self.j, self.d, self.M, self.effort = joint, drive, mass, effort * mass
        self.m, self.r, self.eps, self.I = shank
        track = 2 * math.pi * tracking_hz
        self.K, self.C = self.I * track ** 2, 2 * self.I * track
        self.light = light
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
        a, b = self.light
        f = self.I * qdd - self.prescribed(kin, q) + a * qd + b * qd * abs(qd) - self.j.friction(qd)
        if m['push_high']: return f + self.effort
        if not m['push_low']: return f - self.effort
        return f + self.K * (q - y[0]) + self.C * (qd - y[1])

    def load_line(self, t):
        """The ground load acts further in front of the knee than the drive assumes: extension."""
        return -self.d.load(t) * self.M * G * self.d.pressure_moved(t)

    def torques(self, t, y, m):
        phi, w, z = y[0], y[1], y[2]
        kin, loaded, j = self.d.thigh_and_knee(t), m['t_mid'] < self.d.t_to, self.j
        drive = self.drive_torque(t, y, kin, m) if loaded else 0.0
        line = [self.load_line(t) if loaded else 0.0] if self.d.foot.moved else []
        return [j.damper(phi, w, z, m), j.friction(w), j.stop(phi, w, m), j.assist(phi, m), drive, self.prescribed(kin, phi), *line]

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
        knots = [d.t_to, d.T, *d.q_turns, *d.pressure_knots((j.x_release, X_FULL))]
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
        self.path = follow(self.rhs, {**e, **push}, d.t0, [j.phi_stop, 0.0, self.z0] + (6 + d.foot.moved) * [0.0], d.t_to, armed, knots, crossed, max_step)
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

    def flexion_before_contact(self, ahead=0.040):
        return float(self.path(self.d.T - ahead)[0])

    def least_toe_height(self):
        """Least height of the tip of the foot between 70 and 95 % of the stride, over the mean height of the hip."""
        d, f = self.d, self.d.foot

        def height(t, y, m):
            th = d.theta.at(d.omega, t)[0]
            psi = th - y[0]
            return d.hip_height(t) - d.thigh * math.cos(th) - f.tip_below * math.cos(psi) + f.tip_ahead * math.sin(psi)
        return self.path.greatest(height, 0.70 * d.T, 0.95 * d.T, -1)[0]

    def energy(self):
        """Works done on the shank from t0 to the end (negative: taken out) and its kinetic energy there, which is their sum."""
        y = self.path.y_end
        names = ('damper_j', 'friction_j', 'stop_j', 'assist_j', 'drive_j', 'passive_j', 'load_line_j')
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
