"""Makes opensim_cases.json: whole strides of users_cases.json and scipy_cases.json again in OpenSim, a general code for the multibody dynamics of people.

    python cases_opensim.py            write it beside this file
    python cases_opensim.py --check    compute again and compare with the file (2e-9 rad + 1e-9 s, the last digits written); exit 1 with a list of differences

Hip and thigh move as prescribed (its coordinates, from splines), the inertial forces are its own, so are the integrator (Runge-Kutta-Merson, accuracy 1e-10) and
even the laws: they are written here once more, as expressions in its language. Only the coefficients of the drive come from kneeref_drive.py. The valve is the
speed of a 1 kg mass on a slide, time a slide that moves by 1 m/s. A case has the `file`, `kind` and `name` of its inputs and `samples`: pairs of time (s) and knee flexion (rad).

The expressions leave out the bend that a closed valve feels: `stride` stops unless the valve lets go before the knee has bent by 4 degrees, where it begins.
"""
import math
import os
import platform
import sys
from concurrent.futures import ProcessPoolExecutor

import numpy as np
import opensim as osim

from engine_cases import case_of, result, walk_of
from kneeref import H_START, RELIEF_SLOPE, T_RELIEF, X_FULL
from kneeref_drive import G, HERE
from make_fixtures import check, write

STRIDES = {
    'users_cases.json': ('users, reference joint, stop c 1, 0.8 m/s', 'users, like built-in, stop c 1, 1.1 m/s', 'users, like built-in, stop c 0.3, 1.4 m/s',
                         'shift +15 mm, 1.1 m/s', '50 kg, 1.55 m'),
    'scipy_cases.json': ('built-in joint, 1.1 m/s',),
}
SAMPLE_S, ACCURACY = 5e-3, 1e-10
COORDINATES = ('phi', 't', 'slid')                  # flexion, time, place of the valve's mass, and their rates
VARIABLES = (*COORDINATES, 'w', 't_rate', 'z')


# ---------------------------------------------------------------------------------------------------------------- laws as expressions
def numbers(**k): return ''.join(f'; {name} = {float(value)!r}' for name, value in k.items())


def series(s, omega, derivative):
    """A Fourier series of the drive or a derivative of it, as an expression of t."""
    terms = [repr(float(s.mean))] if derivative == 0 else []
    for k, (a, b) in enumerate(s.ab, 1):
        kw = k * omega
        c, d = ((a, b), (kw * b, -kw * a), (-kw * kw * a, -kw * kw * b))[derivative]
        terms += [f'({c!r})*cos({kw!r}*t)', f'({d!r})*sin({kw!r}*t)']
    return '+'.join(terms)


def joint_torque(j):
    """Oil with relief and cushion, friction, extension stop and assist spring."""
    cushion = 'b_ex'
    if j.cushion: cushion = 'b_ex*(1 + (factor - 1)*x*x*(3 - 2*x)); x = max(0, min(1, (start + stop - phi)/start))' + numbers(start=j.cushion[0], factor=j.cushion[1])
    return ('-step(w)*min(oil, relief + slope*(oil - relief)) - step(-w)*(a_ex*w - b_out*w*w) - tau_c*tanh(w/w_s) + k*max(0, stop - phi)*max(0, 1 - c*w)'
            f' - assist - rate*max(0, phi - stop); oil = a*w + b*w*w; a = a_sw + a_more*(b - b_sw); b = b_st/(1 + (root - 1)*(1 - z))^2; b_out = {cushion}'
            + numbers(relief=T_RELIEF, slope=RELIEF_SLOPE, a_ex=j.a_ex, b_ex=j.b_ex, tau_c=j.tau_c, w_s=j.w_s, k=j.k, c=j.c, stop=j.phi_stop, assist=j.assist0,
                      rate=j.assist_k, a_sw=j.a_sw, b_sw=j.b_sw, b_st=j.b_st, a_more=(j.a_st - j.a_sw) / (j.b_st - j.b_sw), root=math.sqrt(j.b_st / j.b_sw)))


def load(d): return ' + '.join(f'({s!r})*sin({k * math.pi / d.t_to!r}*t)' for k, s in enumerate(map(float, d.load_s), 1))


def pressure(d):
    """Centre of pressure ahead of the shank line, and where the drive assumes it."""
    f = d.foot
    return ('; x = begin + span*max(0, min(1, t/half + rolled)); x_drive = begin_drive + span*min(1, t/half)'
            + numbers(begin=f.under(f.x_h), begin_drive=f.x_h, span=f.x_t - f.x_h, half=0.5 * d.T, rolled=f.R * f.tilt / (f.x_t - f.x_h)))


def preswing_moment(walk):
    """The moment that lets a released knee follow its curve, the user's correction within the effort, the shift of the ground load."""
    d = walk.d
    return ('inertia*qdd - passive + light_a*qd + light_b*qd*abs(qd) + tau_c*tanh(qd/w_s) + max(-effort, min(effort, stiff*(q - phi) + damp*(qd - w)))'
            ' - n*weight*(x - x_drive)'
            '; passive = inertia*thdd + m*r*(ax*cos(th - q + eps) + (az + g)*sin(th - q + eps))'
            '; ax = hx + l*(thdd*cos(th) - thd*thd*sin(th)); az = hz + l*(thdd*sin(th) + thd*thd*cos(th))'
            f'; th = {series(d.theta, d.omega, 0)}; thd = {series(d.theta, d.omega, 1)}; thdd = {series(d.theta, d.omega, 2)}'
            f'; hx = {series(d.ax, d.omega, 0)}; hz = {series(d.az, d.omega, 0)}'
            f'; q = stop + scale*({series(d.knee, d.omega, 0)} - mean); qd = scale*({series(d.knee, d.omega, 1)}); qdd = scale*({series(d.knee, d.omega, 2)})'
            f'; n = {load(d)}{pressure(d)}'
            + numbers(inertia=walk.I, m=walk.m, r=walk.r, eps=walk.eps, g=G, l=d.thigh, light_a=walk.light[0], light_b=walk.light[1], tau_c=walk.j.tau_c,
                      w_s=walk.j.w_s, effort=walk.effort, stiff=walk.K, damp=walk.C, weight=walk.M * G, stop=d.phi_stop, scale=d.q_scale, mean=d.q_mean))


def valve_rate(j, d=None):
    """Of a valve that feels the ground load of a straight knee, or none."""
    felt = 'n*max(0, min(1, (release - x)/(release - full)))' if d else '0'
    more = f'; n = {load(d)}{pressure(d)}' + numbers(release=j.x_release, full=X_FULL) if d else ''
    return f'(1/(1 + exp(-({felt} - catch + hyst*z)/width)) - z)/lag{more}' + numbers(catch=j.s_on, hyst=j.hysteresis, width=j.width, lag=j.lag)


# ---------------------------------------------------------------------------------------------------------------- the model
def names(*words): return osim.StdVectorString(list(words))


def force(name, coordinate, expression, paths):
    """A generalised force on one coordinate by an expression of the coordinates and their rates: of a path whose rate of lengthening is that expression and
    whose lever is 1 about the coordinate and 0 about the others."""
    path = osim.FunctionBasedPath()
    path.setCoordinatePaths(names(*paths))
    function = lambda text, variables: osim.ExpressionBasedFunction(text, names(*variables))
    path.setLengthFunction(function('1', COORDINATES))
    for c in COORDINATES: path.append_moment_arm_functions(function('1' if c == coordinate else '0', COORDINATES))
    path.setLengtheningSpeedFunction(function(expression, VARIABLES))
    f = osim.ExpressionBasedPathForce()
    f.setName(name)
    f.set_path(path)
    f.setExpression('ldot')
    return f


def spline(value, end):
    """A spline of degree 7 through a function of time, 2 ms apart: its second derivative is off by about 1e-9 of its size."""
    f = osim.GCVSpline()
    f.setDegree(7)
    for t in np.arange(-0.05, end + 0.05, 2e-3): f.addPoint(float(t), float(value(float(t))))
    return f


def place(s, omega, t):
    """A path whose second derivative is a Fourier series."""
    return 0.5 * s.mean * t * t - sum((a * math.cos(k * omega * t) + b * math.sin(k * omega * t)) / (k * omega) ** 2 for k, (a, b) in enumerate(s.ab, 1))


def joined(model, name, parent, kind, coordinate, body, at=(0.0, 0.0, 0.0), turn=(0.0, 0.0, 0.0)):
    """A body on a joint of one coordinate, whose axis is turned (rad)."""
    model.addBody(body)
    none = osim.Vec3(0)
    joint = kind(name, parent, osim.Vec3(*at), osim.Vec3(*turn), body, none, osim.Vec3(*turn))
    model.addJoint(joint)
    c = joint.updCoordinate()
    c.setName(coordinate)
    return c, f'/jointset/{name}/{coordinate}'


def body(name, mass=1.0, com=(0.0, 0.0, 0.0), inertia=1.0): return osim.Body(name, mass, osim.Vec3(*com), osim.Inertia(inertia, inertia, inertia))


class Stride:
    """The model of a stride: its coordinates by name, and its forces."""

    def __init__(self, walk):
        osim.Logger.setLevelString('error')
        d, m, r, eps = walk.d, walk.m, walk.r, walk.eps
        self.model = model = osim.Model()
        model.setGravity(osim.Vec3(0, -G, 0))
        ground, upright, other_way = model.getGround(), (0.0, 0.0, math.pi / 2), (math.pi, 0.0, 0.0)
        bodies = {n: body(n) for n in ('hip_x', 'hip_y', 'thigh', 't', 'slid')}
        bodies['shank'] = body('shank', m, (r * math.sin(eps), -r * math.cos(eps), 0.0), walk.I - m * r * r)
        c = {'hip_x': joined(model, 'forward', ground, osim.SliderJoint, 'hip_x', bodies['hip_x']),
             'hip_y': joined(model, 'upward', bodies['hip_x'], osim.SliderJoint, 'hip_y', bodies['hip_y'], turn=upright),
             'theta': joined(model, 'hip', bodies['hip_y'], osim.PinJoint, 'theta', bodies['thigh']),
             'phi': joined(model, 'knee', bodies['thigh'], osim.PinJoint, 'phi', bodies['shank'], (0.0, -d.thigh, 0.0), other_way),
             't': joined(model, 'clock', ground, osim.SliderJoint, 't', bodies['t']),
             'slid': joined(model, 'valve', ground, osim.SliderJoint, 'slid', bodies['slid'])}
        end = d.T
        given = {'hip_x': spline(lambda t: place(d.ax, d.omega, t), end), 'hip_y': spline(lambda t: place(d.az, d.omega, t), end),
                 'theta': spline(lambda t: d.theta.at(d.omega, t)[0], end), 't': osim.LinearFunction(1.0, 0.0)}
        for name, function in given.items():
            c[name][0].setPrescribedFunction(function)
            c[name][0].setDefaultIsPrescribed(True)
        self.coordinates = {n: x for n, (x, _) in c.items()}
        paths = [c[n][1] for n in COORDINATES]
        self.forces = {n: force(n, k, e, paths) for n, k, e in (
            ('joint', 'phi', joint_torque(walk.j)), ('preswing', 'phi', preswing_moment(walk)),
            ('valve_on_ground', 'slid', valve_rate(walk.j, d)), ('valve_in_air', 'slid', valve_rate(walk.j)))}
        for f in self.forces.values(): model.addForce(f)

    def state(self, walk):
        s = self.model.initSystem()
        phi = self.coordinates['phi']
        phi.setValue(s, walk.j.phi_stop)
        phi.setLocked(s, True)
        return s

    def act(self, s, *on):
        for name, f in self.forces.items(): f.setAppliesForce(s, name in on)

    def advance(self, s, until, each=None):
        """By its integrator from the state to an instant; `each(state)` every 5 ms and at the end."""
        manager = osim.Manager(self.model)
        manager.setIntegratorMethod(osim.Manager.IntegratorMethod_RungeKuttaMerson)
        manager.setIntegratorAccuracy(ACCURACY)
        manager.setIntegratorMaximumStepSize(SAMPLE_S)
        manager.setPerformAnalyses(False)
        manager.setWriteToStorage(False)
        t0 = s.getTime()
        manager.initialize(s)
        n = math.ceil((until - t0) / SAMPLE_S)
        for i in range(1, n + 1):
            s = manager.integrate(t0 + (until - t0) * i / n)
            if each: each(s)
        return osim.State(s)


def stride(walk):
    """A stride from heel contact to heel contact: [(t, flexion)] from t0 on. Before t0 the model holds the knee straight: so does a lock."""
    d, one, samples = walk.d, Stride(walk), []
    phi, slid = one.coordinates['phi'], one.coordinates['slid']
    closed = False

    def sample(s):
        nonlocal closed
        samples.append((s.getTime(), phi.getValue(s)))
        now = slid.getSpeedValue(s) > 0.5
        if now and phi.getValue(s) - walk.j.phi_stop > H_START: raise RuntimeError('the bend counts: not in these expressions')
        closed = now

    s = one.state(walk)
    one.act(s, 'valve_on_ground')
    s = one.advance(s, d.t0)
    phi.setLocked(s, False)
    phi.setSpeedValue(s, 0.0)
    one.act(s, 'joint', 'preswing', 'valve_on_ground')
    s = one.advance(s, d.t_to, sample)
    one.act(s, 'joint', 'valve_in_air')
    one.advance(s, d.T, sample)
    return samples


def run(job): return result(job[0], 'walking', job[1], stride(walk_of(case_of(job[0], 'walking', job[1])['inputs'])))


def everything():
    with ProcessPoolExecutor() as pool: found = list(pool.map(run, [(file, name) for file, names in STRIDES.items() for name in names]))
    made_with = dict(python=platform.python_version(), opensim=osim.GetVersion(), method=f'its Runge-Kutta-Merson, accuracy {ACCURACY:g}')
    return dict(made_with=made_with, walking=found)


if __name__ == '__main__':
    if sys.argv[1:] not in ([], ['--check']): sys.exit('usage: cases_opensim.py [--check]')
    path = os.path.join(HERE, 'opensim_cases.json')
    new = everything()
    if not sys.argv[1:]: write(new, path, indent=None)
    elif check(new, path, rel=1e-9, least=2e-9): sys.exit(1)
