"""Whole strides and loaded tasks in MuJoCo, a general physics engine: its multibody dynamics, its constraints, its Runge-Kutta method of order 4.

Only bodies, joints and where loads act are said here. The inertial forces of the driven hip and thigh, the accelerations of the leg on the ground
and the ground load are the engine's. The laws of the joint, the user's moment in pre-swing and the sensor are those of kneeref*.py, called at every
stage of every step: so the dynamics is independent, the laws are not.

x forward, z up. A driven joint carries a flywheel of 1e10 (kg or kg m2) that is pushed as prescribed: the leg moves it by less than 1e-7. Rolling and
couplings are equality constraints of the engine, as stiff as its step allows; they give way by about 1e-8 m. The valve is an activation state of the
engine, integrated with the motion.
"""
import math

import mujoco
import numpy as np

from kneeref import DEG, G, smoothstep

STEP_S = 1e-4
SAMPLE_S = 5e-3
FLYWHEEL = 1e10
HARD = 'solref="-1e7 -6e3" solimp="0.9999 0.9999 0.001 0.5 2"'
VALVE = '<actuator><general name="valve" joint="knee" dyntype="user" gainprm="0" actdim="1"/></actuator>'


def world(bodies, gravity=(0.0, 0.0, -G), constraints='', tendons=''):
    """A model of the engine. Its own contacts, limits and damping are off."""
    mujoco.set_mjcb_control(None)       # those of the run before: the engine tries a model out as it reads it
    mujoco.set_mjcb_act_dyn(None)
    return mujoco.MjModel.from_xml_string(f"""<mujoco>
      <compiler angle="radian" autolimits="false"/>
      <option integrator="RK4" timestep="{STEP_S}" gravity="{' '.join(repr(float(x)) for x in gravity)}" iterations="50" tolerance="0">
        <flag contact="disable" limit="disable" frictionloss="disable"/></option>
      <worldbody>{bodies}</worldbody><tendon>{tendons}</tendon><equality>{constraints}</equality>{VALVE}</mujoco>""")


def lump(mass, x, z, inertia):
    """Mass at (x, z) of a body's frame, with its moment of inertia about there."""
    return f'<inertial pos="{x!r} 0 {z!r}" mass="{mass!r}" diaginertia="{inertia!r} {inertia!r} {inertia!r}"/>'


def turn(name, sense, flywheel=0.0):
    """A hinge about the axis across the sagittal plane; sense 1 turns the upper end forward."""
    return f'<joint name="{name}" type="hinge" axis="0 {sense} 0" armature="{flywheel!r}"/>'


def slide(name, axis, flywheel=0.0):
    return f'<joint name="{name}" type="slide" axis="{axis}" armature="{flywheel!r}"/>'


class Run:
    """Steps a model with the loads of `apply(data)`, which sets forces and returns the rate of the valve."""

    def __init__(self, model, apply):
        self.m, self.d = model, mujoco.MjData(model)
        self.at = {mujoco.mj_id2name(model, mujoco.mjtObj.mjOBJ_JOINT, i): i for i in range(model.njnt)}
        self.samples = []
        self.valve_rate = 0.0

        def control(_, d):
            if d is self.d: self.valve_rate = apply(d)

        mujoco.set_mjcb_control(control)
        mujoco.set_mjcb_act_dyn(lambda m, d, i: self.valve_rate)

    def place(self, **joints):
        """Position and speed of joints."""
        for name, (q, v) in joints.items(): self.d.qpos[self.at[name]], self.d.qvel[self.at[name]] = q, v

    def to(self, until, after_step=None, sampled=True):
        """Equal steps of at most STEP_S up to an instant, so that no known switch lies within a step."""
        t0 = self.d.time
        n = math.ceil((until - t0) / STEP_S - 1e-9)
        self.m.opt.timestep = (until - t0) / n
        every = round(SAMPLE_S / STEP_S)
        for i in range(1, n + 1):
            mujoco.mj_step(self.m, self.d)
            self.d.time = t0 + (until - t0) * i / n
            if after_step: after_step(self.d)
            if sampled and (i % every == 0 or i == n): self.samples.append((self.d.time, float(self.d.qpos[self.at['knee']])))


def sides(edges, t, y, armed, t_mid):
    """The branch of every law at a state."""
    m = {'armed': armed, 't_mid': t_mid}
    for k, g in edges.items(): m[k] = g(t, y, m) > 0
    return m


# ---------------------------------------------------------------------------------------------------------------- walking
def stride(walk):
    """A stride of a kneeref.Walk from heel contact to heel contact: [(t, flexion)] from t0 on. Before t0 the model holds the knee straight: so does a flywheel."""
    d, j = walk.d, walk.j
    m, r, eps, inertia = walk.m, walk.r, walk.eps, walk.I
    shank = f'<body pos="0 0 {-d.thigh!r}">{turn("knee", 1)}{lump(m, r * math.sin(eps), -r * math.cos(eps), inertia - m * r * r)}</body>'
    thigh = turn('thigh', -1, FLYWHEEL) + lump(6.475, 0.0, -0.4 * d.thigh, 0.083)
    model = world(f'<body>{slide("hip_x", "1 0 0", FLYWHEEL)}{slide("hip_z", "0 0 1", FLYWHEEL)}{thigh}{shank}</body>')
    edges = {**j.edges(0, 1, 2), 'push_low': lambda t, y, m: walk.correction(t, y) + walk.effort,
             'push_high': lambda t, y, m: walk.correction(t, y) - walk.effort}
    armed, t_mid = True, 0.5 * d.t_to

    def apply(data):
        t = data.time
        y = float(data.qpos[k]), float(data.qvel[k]), float(data.act[0])
        side = sides(edges, t, y, armed, t_mid)
        torques = walk.torques(t, y, side)
        del torques[5]                      # the inertial and gravity moment of the drive: the engine's own
        force = data.qfrc_applied
        for name, a in (('hip_x', d.ax.at(d.omega, t)[0]), ('hip_z', d.az.at(d.omega, t)[0]), ('thigh', d.theta.at(d.omega, t)[2])):
            force[run.at[name]] = FLYWHEEL * a
        force[k] = 0.0 if t < d.t0 and straight else sum(torques)
        return j.valve_rate(walk.sensed(t, y[0], side), y[2])

    def valve_let_go(data):
        nonlocal armed, closed
        now = data.act[0] > 0.5
        if closed and not now and data.time <= d.t_to: armed = False
        closed = now

    run = Run(model, apply)
    k = run.at['knee']
    closed, straight = False, True
    run.place(knee=(j.phi_stop, 0.0), thigh=d.theta.at(d.omega, 0.0)[:2])
    model.dof_armature[k] = FLYWHEEL
    run.to(d.t0, valve_let_go, sampled=False)
    model.dof_armature[k], straight = 0.0, False
    run.place(knee=(j.phi_stop, 0.0))
    run.to(d.t_to, valve_let_go)
    t_mid = 2.0 * d.t_to
    run.to(d.T)
    return run.samples


# ---------------------------------------------------------------------------------------------------------------- the leg on the ground
def leg_model(kind, i):
    """Shank on its foot, thigh, and the rest of the body at the hip, in the frame of the surface."""
    L1, Lt, foot = i['knee_height_m'], i['thigh_length_m'], i['foot']
    rest = i['mass_kg'] - i['lower_mass_kg'] - i['upper_mass_kg']
    hip = f'<body name="hip" pos="0 0 {Lt!r}">{lump(rest, 0.0, 0.0, 1e-9)}</body>'
    thigh = turn('knee', -1) + lump(i['upper_mass_kg'], 0.0, i['upper_com_m'], i['upper_inertia_kg_m2']) + hip
    at = lambda x, z: f'{x!r} 0 {z!r}'
    lower = lambda x, z: f'{lump(i["lower_mass_kg"], x, z - i["lower_com_m"], i["lower_inertia_kg_m2"])}<body name="thigh" pos="{at(x, z)}">{thigh}</body>'
    slope = i['slope_deg'] * DEG
    gravity = (G * math.sin(slope), 0.0, -G * math.cos(slope))
    if kind == 'stairs': return world(f'<body name="shank">{turn("tilt", 1)}{lower(-foot["edge_m"], L1)}</body>', gravity)
    R, e = foot['roll_radius_m'], foot['offset_m']
    ends = {'heel': (foot['heel_m'] - e) / R, 'toe': (foot['toe_m'] - e) / R}
    corners = ''.join(f'<site name="{n}" pos="{at(R * math.sin(b), -R * math.cos(b))}"/>' for n, b in ends.items())
    places = ''.join(f'<site name="{n}_place" pos="{at(R * b, 0.0)}"/>' for n, b in ends.items())
    pivots = ''.join(f'<connect name="{n}" site1="{n}" site2="{n}_place" active="false" {HARD}/>' for n in ends)
    rolling = (f'<joint name="roll" joint1="x" joint2="tilt" polycoef="0 {R!r} 0 0 0" active="false" {HARD}/>'
               f'<joint name="height" joint1="z" polycoef="{R!r} 0 0 0 0" active="false" {HARD}/>')
    # the frame of the shank is at the centre of the foot's arc
    body = f'<body name="shank">{slide("x", "1 0 0")}{slide("z", "0 0 1")}{turn("tilt", 1)}{corners}{lower(-e, L1 - R)}</body>'
    return world(places + body, gravity, pivots + rolling)


def loaded_leg(kind, i, joint, end_s):
    """A loaded case up to the instant of its end: [(t, flexion)]."""
    model = leg_model(kind, i)
    edges = joint.edges(1, 3, 4)
    edges.pop('clear_of_cushion', None)
    weight = i['mass_kg'] * G
    up = np.array([-math.sin(i['slope_deg'] * DEG), 0.0, math.cos(i['slope_deg'] * DEG)])
    forward = np.array([math.cos(i['slope_deg'] * DEG), 0.0, math.sin(i['slope_deg'] * DEG)])
    foot, moment = i['foot'], i['hip_moment_n_m_per_kg'] * i['mass_kg']
    bodies = [model.body(n).id for n in ('shank', 'thigh', 'hip')]
    ahead, jac, acc = mujoco.MjData(model), np.zeros((3, model.nv)), np.zeros(6)
    region = ''

    def pressure(tilt):
        if kind == 'stairs': return foot['edge_m']
        return foot['offset_m'] + foot['roll_radius_m'] * tilt if region == 'arc' else foot[f'{region}_m']

    def ground_load(data, other):
        """Sum of mass times acceleration less gravity and less the other forces, upwards: the engine computes the instant first in a copy."""
        for a in ('qpos', 'qvel', 'qfrc_applied', 'xfrc_applied', 'eq_active'): getattr(ahead, a)[:] = getattr(data, a)
        mujoco.mj_forward(model, ahead)
        mujoco.mj_rnePostConstraint(model, ahead)
        total = -other
        for b in bodies:
            mujoco.mj_objectAcceleration(model, ahead, mujoco.mjtObj.mjOBJ_BODY, b, acc, 0)     # as an accelerometer: less gravity
            total = total + model.body_mass[b] * acc[3:]
        return float(total @ up)

    def apply(data):
        t, z = data.time, float(data.act[0])
        (beta, beta_rate), (phi, w) = ((float(data.qpos[n]), float(data.qvel[n])) for n in (run.at['tilt'], run.at['knee']))
        side = sides(edges, t, (beta, phi, beta_rate, w, z), True, t)
        knee = joint.damper(phi, w, z, side, cushioned=False) + joint.friction(w) + joint.stop(phi, w, side)
        hip = moment * smoothstep(t / 0.05)
        carried = 0.0 if i['unload_s'] is None else (1 - smoothstep(t / i['unload_s'])) * weight
        mujoco.mj_jacBody(model, data, jac, None, bodies[2])
        other = carried * up - i['pace_n_s_per_m'] * (forward @ jac @ data.qvel - i['speed_m_per_s']) * forward
        data.xfrc_applied[bodies[2], :3] = other
        data.qfrc_applied[run.at['tilt']], data.qfrc_applied[run.at['knee']] = hip, knee - hip
        load = ground_load(data, other) / weight
        return joint.valve_rate(joint.felt(load, joint.weight(pressure(beta)), phi, side), z)

    def stand(data):
        """Heel, arc or toe on the ground."""
        nonlocal region
        tilt, R, e = data.qpos[run.at['tilt']], foot['roll_radius_m'], foot['offset_m']
        region = 'heel' if tilt <= (foot['heel_m'] - e) / R else 'toe' if tilt > (foot['toe_m'] - e) / R else 'arc'
        for name, on in (('heel', region), ('toe', region), ('roll', region), ('height', region)):
            data.eq_active[model.equality(name).id] = on == (name if name in ('heel', 'toe') else 'arc')

    run = Run(model, apply)
    d, beta = run.d, i['beta_rad']
    d.act[0] = i['z_start']
    run.place(tilt=(beta, i['beta_rate_rad_per_s']), knee=(i['phi_rad'], i['omega_rad_per_s']))
    if kind == 'stairs':
        run.to(end_s)
    else:
        R, e = foot['roll_radius_m'], foot['offset_m']
        fixed = min(max(beta, (foot['heel_m'] - e) / R), (foot['toe_m'] - e) / R)
        lean = beta - fixed                 # of the whole foot about its corner
        run.place(x=(R * fixed + R * math.sin(lean), R * i['beta_rate_rad_per_s'] * math.cos(lean)),
                  z=(R * math.cos(lean), -R * i['beta_rate_rad_per_s'] * math.sin(lean)))
        stand(d)
        for t in (0.05, i['unload_s'], end_s): run.to(t, stand)
    return run.samples


# ---------------------------------------------------------------------------------------------------------------- sitting
def sitting(i, joint, end_s):
    """Sitting down up to the seat: [(t, flexion)]. A share of the body on an upright slide, at its foot a massless leg whose ankle stands on a rod so long that it keeps its height and is free to
    glide: so the load moves up and down alone. The tilt of the shank follows the knee by a constraint; `x_c` is the centre of pressure ahead of the shank line."""
    L1, Lt, kappa, tiny, rod = i['knee_height_m'], i['thigh_length_m'], i['kappa'], 1e-7, 1e6
    mass, phi0, x_c = i['share'] * i['mass_kg'], i['phi_rad'], i['x_c']
    # the inertia of the shank, shared between two angles that turn together
    inertia = (i['lower_inertia_kg_m2'] + i['extra_inertia_kg_m2']) / (1 + (1 - kappa) ** 2)
    shank = f'<body pos="0 0 {-Lt!r}">{turn("knee", 1, inertia)}{lump(tiny, 0.0, 0.0, tiny)}<site name="ankle" pos="0 0 {-L1!r}"/></body>'
    thigh = f'<body>{turn("thigh", -1, inertia)}{lump(tiny, 0.0, 0.0, tiny)}{shank}</body>'
    trunk = f'<body pos="0 0 {L1 + Lt!r}">{slide("height", "0 0 1")}{lump(mass, 0.0, 0.0, 1.0)}{thigh}</body>'
    model = world(f'<site name="deep" pos="0 0 {-rod}"/>{trunk}', tendons='<spatial name="rod"><site site="ankle"/><site site="deep"/></spatial>',
                  constraints=f'<joint joint1="thigh" joint2="knee" polycoef="0 {1 - kappa!r} 0 0 0" {HARD}/><tendon tendon1="rod" {HARD}/>')
    edges = joint.edges(0, 1, 2)
    edges.pop('clear_of_cushion', None)
    ahead = mujoco.MjData(model)

    def apply(data):
        phi, w, z = float(data.qpos[run.at['knee']]), float(data.qvel[run.at['knee']]), float(data.act[0])
        side, lean = sides(edges, data.time, (phi, w, z), True, data.time), float(data.qpos[run.at['thigh']])
        knee = joint.damper(phi, w, z, side, cushioned=False) + joint.friction(w) + joint.stop(phi, w, side)
        # moments of hip and ankle that keep the load over the centre of pressure
        hip, ankle = mass * G * (Lt * math.sin(lean) - L1 * math.sin(phi - lean) + x_c), mass * G * x_c
        data.qfrc_applied[run.at['knee']], data.qfrc_applied[run.at['thigh']] = knee - ankle, ankle - hip
        for a in ('qpos', 'qvel', 'qfrc_applied'): getattr(ahead, a)[:] = getattr(data, a)
        mujoco.mj_forward(model, ahead)
        load = mass * (G + float(ahead.qacc[run.at['height']])) / (i['mass_kg'] * G)
        return joint.valve_rate(joint.felt(load, joint.weight(x_c), phi, side), z)

    run = Run(model, apply)
    run.d.act[0] = i['z_start']
    lean = (1 - kappa) * phi0
    run.place(knee=(phi0, 0.0), thigh=(lean, 0.0), height=(L1 * (math.cos(kappa * phi0) - 1) + Lt * (math.cos(lean) - 1), 0.0))
    run.to(end_s)
    return run.samples
