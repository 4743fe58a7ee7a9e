"""The cases of scipy_cases.json: their inputs, and how a case is run and written down."""
import math

from kneeref import DEG, G, Drive, Joint, Still, Walk, free_swing
from kneeref_loaded import Body, Sitting, landing, ramp, stairs, stumble

SHANK = dict(mass_kg=2.2, com_distance_m=0.26, com_angle_deg=4.0, inertia_kg_m2=0.215)
V_STAR = math.sqrt(G * 0.530 * 1.75)            # speed of v* = 1 at 1.75 m
ab = lambda a, b: {'a': a, 'b': b}
LAWS = {'linear': ('coefficient',), 'friction': ('torque', 'speed')}


def valve(*k):
    """A swing valve in a case: an orifice (a, b), or another law by its name and its numbers."""
    return {'law': k[0], **dict(zip(LAWS[k[0]], k[1:], strict=True))} if k[0] in LAWS else ab(*k)


def valve_of(i): return (i['law'], *(i[k] for k in LAWS[i['law']])) if 'law' in i else (i['a'], i['b'])


def joint_inputs(mass, swing_flexion=(0.2, 0.2), swing_extension=(0.2, 0.08), stance=(3.0, 30.0), catch_load_n=None, trigger='load', cushion=None,
                 assist=(0.0, 0.0), extension_stop_deg=0.0, stop=(2000.0, 0.3), friction=(0.3, 0.05), x_release_m=0.16, lag_s=0.025,
                 hysteresis_bw=0.05, width_bw=0.01):
    """The reference joint, with whatever is given changed; the catch load is 0.23 of the body weight unless given (N)."""
    return dict(swing_flexion=valve(*swing_flexion), swing_extension=valve(*swing_extension), stance=ab(*stance),
                catch_load_n=0.23 * mass * G if catch_load_n is None else catch_load_n, trigger=trigger,
                cushion=None if cushion is None else dict(start_deg=cushion[0], factor=cushion[1]),
                assist=dict(torque_n_m=assist[0], stiffness_n_m_per_rad=assist[1]), extension_stop_deg=extension_stop_deg,
                stop=dict(stiffness=stop[0], damping=stop[1]), friction=dict(torque=friction[0], speed=friction[1]),
                x_release_m=x_release_m, lag_s=lag_s, hysteresis_bw=hysteresis_bw, width_bw=width_bw)


BUILT_IN = dict(swing_flexion=(0.2, 0.5), swing_extension=(0.2, 0.2), catch_load_n=170.0, assist=(1.5, 0.0), cushion=(15.0, 8.0))


def make_joint(mass, i):
    """A Joint from the numbers in a case."""
    two = lambda k, a='a', b='b': (i[k][a], i[k][b])
    return Joint(mass, valve_of(i['swing_flexion']), valve_of(i['swing_extension']), two('stance'), i['catch_load_n'], i['trigger'],
                 None if i['cushion'] is None else two('cushion', 'start_deg', 'factor'), two('assist', 'torque_n_m', 'stiffness_n_m_per_rad'),
                 i['extension_stop_deg'], two('stop', 'stiffness', 'damping'), two('friction', 'torque', 'speed'), i['x_release_m'], i['lag_s'],
                 i['hysteresis_bw'], i['width_bw'])


def shank_of(i): return i['mass_kg'], i['com_distance_m'], i['com_angle_deg'] * DEG, i['inertia_kg_m2']


# ---------------------------------------------------------------------------------------------------------------- walking
def walk_inputs(speed, mass=75.0, stature=1.75, cadence=None, shank=None, effort=0.20, **joint):
    return dict(mass_kg=mass, stature_m=stature, speed_m_per_s=speed, cadence_steps_per_min=cadence, shank={**SHANK, **(shank or {})},
                effort_n_m_per_kg=effort, **joint_inputs(mass, **joint))


def run_walk(i, max_step=2e-3):
    d = Drive(i['speed_m_per_s'], i['stature_m'], i['cadence_steps_per_min'], i['extension_stop_deg'] * DEG)
    return Walk(make_joint(i['mass_kg'], i), d, i['mass_kg'], shank_of(i['shank']), i['effort_n_m_per_kg']).stride(max_step=max_step)


def walking_cases():
    """name -> inputs"""
    c = {}
    bw = 75 * G
    ref = (('balanced', {}), ('flexion least', dict(swing_flexion=(0.2, 0.02))), ('flexion greatest', dict(swing_flexion=(0.2, 2.0))),
           ('extension greatest', dict(swing_extension=(0.5, 2.0))), ('catch load 0.12 BW', dict(catch_load_n=0.12 * bw)),
           ('assist 2 N m', dict(assist=(2.0, 0.0))))
    for name, k in ref:
        for v in (0.29, 0.43, 0.56): c[f'reference joint, {name}, v* {v}'] = walk_inputs(v * V_STAR, **k)
    for v in (0.8, 1.1, 1.4): c[f'built-in joint, {v} m/s'] = walk_inputs(v, **BUILT_IN)
    crowd = 1.1 * 120 / Drive(0.43 * V_STAR, 1.75).T
    c['built-in joint, crowded'] = walk_inputs(0.77 * 0.43 * V_STAR, cadence=crowd, **BUILT_IN)
    own = {
        'light person, 50 kg, 1.60 m': walk_inputs(1.0, 50.0, 1.60, **BUILT_IN),
        'heavy person, heavier shank': walk_inputs(1.3, 110.0, 1.90, shank=dict(mass_kg=3.1, com_distance_m=0.28, com_angle_deg=5.5, inertia_kg_m2=0.34),
                                                   **{**BUILT_IN, 'swing_flexion': (0.2, 0.8), 'swing_extension': (0.2, 0.15), 'catch_load_n': 300.0}),
        'cadence 96 at 1.1 m/s': walk_inputs(1.1, cadence=96.0, **BUILT_IN),
        'cadence 128 at 1.1 m/s': walk_inputs(1.1, cadence=128.0, **BUILT_IN),
        'cushion 20 deg factor 4': walk_inputs(1.2, cushion=(20.0, 4.0), swing_extension=(0.2, 0.05)),
        'cushion without factor, assist with stiffness': walk_inputs(1.2, cushion=(10.0, 1.0), assist=(0.5, 1.2)),
        'catch load 0.170 BW': walk_inputs(0.9, catch_load_n=0.170 * bw),
        'catch load 0.185 BW': walk_inputs(0.9, catch_load_n=0.185 * bw),
        'catch load 0.200 BW': walk_inputs(1.3, catch_load_n=0.200 * bw),
        'extension stop 2 deg': walk_inputs(1.1, **{**BUILT_IN, 'extension_stop_deg': 2.0, 'assist': (1.0, 0.6)}),
        'extension stop -1 deg': walk_inputs(1.1, **{**BUILT_IN, 'extension_stop_deg': -1.0}),
        'different linear damping': walk_inputs(1.0, swing_flexion=(0.45, 0.1), swing_extension=(0.12, 0.1)),
        'valve never closes': walk_inputs(1.1, **{**BUILT_IN, 'trigger': 'none'}),
        'valve stays closed': walk_inputs(1.1, catch_load_n=20.0),
        'stance as swing': walk_inputs(1.1, swing_flexion=(0.2, 0.3), stance=(0.1, 0.2)),
        'stiff stance, late release': walk_inputs(1.5, 95.0, catch_load_n=0.12 * 95 * G, stance=(60.0, 600.0), effort=0.6),
        'below the table, 0.45 m/s': walk_inputs(0.45, **BUILT_IN),
        'fast, 1.95 m/s': walk_inputs(1.95, **BUILT_IN),
        'slow valve, early release point, small effort': walk_inputs(1.2, x_release_m=0.12, lag_s=0.04, hysteresis_bw=0.08, width_bw=0.02, effort=0.1),
        'much friction, hard stop': walk_inputs(1.1, friction=(1.0, 0.08), stop=(3500.0, 0.1), assist=(2.5, 0.0)),
        'relief valve opens': walk_inputs(1.3, 110.0, 1.85, catch_load_n=0.12 * 110 * G, stance=(60.0, 600.0), effort=2.5),
        'knee leads, small effort': walk_inputs(1.1, swing_flexion=(0.01, 0.005), friction=(0.0, 0.05), trigger='none', effort=0.004),
        'stop that lets go': walk_inputs(1.0, swing_flexion=(0.2, 0.4), swing_extension=(0.1, 0.02), stop=(2000.0, 3.0)),
        'bouncing stop': walk_inputs(1.1, swing_flexion=(0.2, 0.5), swing_extension=(0.1, 0.015), assist=(3.0, 0.0), stop=(2000.0, 0.05)),
    }
    return {**c, **own}


def walking_case(name, i, w):
    d = w.d
    ts = [d.t0 + (1.15 * d.T - d.t0) * k / 8 for k in range(1, 9)]
    rows = [(t, w.path(t)) for t in ts]
    return dict(name=name, inputs=i, outcomes=w.outcomes(), energy=w.energy(),
                samples=[dict(t_s=t, phi_rad=y[0], omega_rad_per_s=y[1], z=y[2]) for t, y in rows])


# ---------------------------------------------------------------------------------------------------------------- swing
def swing_cases():
    """name -> inputs. p_start: stride fraction of the start (after toe-off); without a drive the time starts at 0."""
    base = dict(swing_flexion=(0.0, 0.0), swing_extension=(0.0, 0.0), friction=(0.0, 0.05))
    def one(speed, p, phi_deg, w, duration, cadence=None, stature=1.75, shank=None, **k):
        drive = None if speed is None else dict(speed_m_per_s=speed, stature_m=stature, cadence_steps_per_min=cadence)
        t = 0.0 if drive is None else p * Drive(speed, stature, cadence).T
        i = joint_inputs(75.0, **{**base, **k})
        keep = ('swing_flexion', 'swing_extension', 'cushion', 'assist', 'extension_stop_deg', 'friction')
        return dict(drive=drive, shank={**SHANK, **(shank or {})}, t_start_s=t, phi_rad=phi_deg * DEG, omega_rad_per_s=w, duration_s=duration,
                    **{key: i[key] for key in keep})
    return {
        'flexion, orifice': one(1.1, 0.62, 35.0, 5.0, 0.09, swing_flexion=(0.0, 0.2)),
        'flexion, linear damper': one(0.8, 0.66, 38.0, 4.0, 0.08, swing_flexion=(0.6, 0.0)),
        'flexion, both, friction, assist': one(1.4, 0.60, 32.0, 5.5, 0.08, swing_flexion=(0.2, 0.5), friction=(0.3, 0.05), assist=(1.5, 0.4)),
        'flexion, no damping, cadence given': one(1.1, 0.63, 30.0, 4.5, 0.08, cadence=120.0),
        'extension, orifice': one(1.1, 0.76, 58.0, -1.0, 0.16, swing_extension=(0.0, 0.08)),
        'extension, linear damper, heavier shank': one(1.1, 0.76, 58.0, -1.0, 0.16, swing_extension=(0.4, 0.0),
                                                      shank=dict(mass_kg=3.0, com_distance_m=0.30, com_angle_deg=6.0, inertia_kg_m2=0.35)),
        'extension, both, friction, assist, small person': one(1.2, 0.78, 55.0, -1.5, 0.12, stature=1.55, swing_extension=(0.2, 0.2),
                                                              friction=(0.3, 0.05), assist=(1.0, 0.0)),
        'extension, fast walking': one(1.8, 0.78, 60.0, -2.0, 0.09, swing_extension=(0.2, 0.1), friction=(0.5, 0.1)),
        'extension, slow walking, closed valve': one(0.6, 0.80, 50.0, -1.5, 0.2, swing_extension=(0.2, 2.0)),
        'extension, wholly inside the cushion': one(1.1, 0.90, 28.0, -3.0, 0.07, swing_extension=(0.2, 0.05), cushion=(40.0, 8.0)),
        'pendulum, no damping': one(None, 0, 60.0, -1.0, 0.5, extension_stop_deg=-90.0),
        'pendulum, linear damper': one(None, 0, 70.0, -0.5, 0.6, swing_extension=(0.3, 0.0), extension_stop_deg=-90.0),
        'pendulum, orifice': one(None, 0, 75.0, -0.5, 0.6, swing_extension=(0.0, 0.3), extension_stop_deg=-90.0),
        'pendulum, stop at -5 deg, assist with stiffness': one(None, 0, 40.0, -1.0, 0.24, assist=(0.5, 2.0), extension_stop_deg=-5.0,
                                                              swing_extension=(0.1, 0.1)),
    }


def swing_case(name, i):
    rest = joint_inputs(75.0)
    sw = i['swing_flexion']
    # the flexion valve stays open: stance coefficients equal to the swing ones; b = 0 stands for no orifice at all
    j = {**rest, **{k: i[k] for k in i if k in rest}, 'stance': sw, 'trigger': 'none'}
    joint = OpenJoint(75.0, j)
    d = i['drive']
    drive = Still() if d is None else Drive(d['speed_m_per_s'], d['stature_m'], d['cadence_steps_per_min'], i['extension_stop_deg'] * DEG)
    if d is not None and i['t_start_s'] <= drive.t_to: raise ValueError(f'{name}: before toe-off')
    path = free_swing(joint, drive, shank_of(i['shank']), i['t_start_s'], i['phi_rad'], i['omega_rad_per_s'], i['duration_s'])
    rows = [(t, path(t)) for t in (i['t_start_s'] + i['duration_s'] * k / 6 for k in range(1, 7))]
    return dict(name=name, inputs=i, samples=[dict(t_s=t, phi_rad=y[0], omega_rad_per_s=y[1]) for t, y in rows])


def OpenJoint(mass, i):
    """A Joint whose flexion valve is always open, also without an orifice (b = 0)."""
    j = make_joint(mass, {**i, 'swing_flexion': ab(0.0, 1.0), 'stance': ab(0.0, 1.0)})
    j.coefficients = lambda z: (i['swing_flexion']['a'], i['swing_flexion']['b'])
    return j


# ---------------------------------------------------------------------------------------------------------------- loaded tasks
STATURE = {50.0: 1.60, 75.0: 1.75, 100.0: 1.80}
loaded_joint = lambda mass, b: joint_inputs(mass, stance=(0.1 * b, b))
LOADED = ('swing_flexion', 'swing_extension', 'stance', 'catch_load_n', 'extension_stop_deg', 'stop', 'friction', 'x_release_m', 'lag_s',
          'hysteresis_bw', 'width_bw')


def sit_case(name, s, ji, z0):
    """z0: the valve at the start, None for a person who was standing."""
    z = s.equilibrium_valve() if z0 is None else z0
    s.run(z)
    if s.residual() > 1e-9: raise RuntimeError(f'{name}: energy')
    rows = [(t, s.path(t)) for t in (s.path.t_end * k / 5 for k in range(1, 5))]
    inputs = dict(share=s.share, phi_rad=s.phi0, omega_rad_per_s=0.0, z_start=z, valve_from='standing' if z0 is None else 'given', kappa=s.KAPPA,
                  pressure_point_m=s.X_C, end_height_m=s.SEAT, extra_inertia_kg_m2=0.12, **s.b.numbers(), **{k: ji[k] for k in LOADED})
    return dict(name=name, inputs=inputs, outcomes=s.outcomes(), samples=[dict(t_s=t, phi_rad=y[0], omega_rad_per_s=y[1], z=y[2]) for t, y in rows])


def sitting_cases():
    out = []
    for mass, h in STATURE.items():
        for share in (0.38, 0.5):
            for b in (15.0, 30.0, 60.0): out.append((f'sit {mass:g} kg share {share:g} b {b:g}', mass, h, share, b, 1.0))
    for mass in (50.0, 75.0, 100.0): out.append((f'sit {mass:g} kg share 0.38 b 30, valve from standing', mass, STATURE[mass], 0.38, 30.0, None))
    res = []
    for name, mass, h, share, b, z0 in out:
        body, ji = Body(mass, h), loaded_joint(mass, b)
        res.append(sit_case(name, Sitting(body, make_joint(mass, ji), share), ji, z0))
    return res


def leg_case(name, leg, ji):
    if leg.residual() > 1e-9: raise RuntimeError(f'{name}: energy {leg.residual()}')
    y = leg.path(0.0)
    b = leg.b
    inputs = dict(beta_rad=y[0], phi_rad=y[1], beta_rate_rad_per_s=y[2], omega_rad_per_s=y[3], z_start=y[4], slope_deg=leg.gamma / DEG,
                  speed_m_per_s=leg.v, hip_moment_n_m_per_kg=leg.hip_moment / b.mass, unload_s=None if leg.kind == 'stairs' else leg.unload,
                  pace_n_s_per_m=leg.pace, collapse_deg=leg.limits[0] / DEG, stall_m_per_s=leg.limits[1], limit_s=leg.limits[2],
                  foot=dict(roll_radius_m=leg.R, offset_m=leg.e, heel_m=leg.foot_at.heel, toe_m=leg.foot_at.toe), **b.numbers(), **{k: ji[k] for k in LOADED})
    rows = [(t, leg.path(t)) for t in (leg.path.t_end * k / 5 for k in range(1, 5))]
    return dict(name=name, kind=leg.kind, inputs=inputs, outcomes=leg.outcomes(),
                samples=[dict(t_s=t, beta_rad=y[0], phi_rad=y[1], beta_rate_rad_per_s=y[2], omega_rad_per_s=y[3], z=y[4]) for t, y in rows])


def leg_cases():
    res = []
    for mass, h in STATURE.items():
        body = Body(mass, h)
        for b in (15.0, 30.0, 60.0):
            ji = loaded_joint(mass, b)
            j = make_joint(mass, ji)
            for hip in (0.0, 0.1): res.append(leg_case(f'ramp 8 deg {mass:g} kg b {b:g} hip {hip}', ramp(body, j, 8 * DEG, hip), ji))
            res.append(leg_case(f'stairs 0.17 {mass:g} kg b {b:g}', stairs(body, j), ji))
            for phi in (15, 25):
                for hip in (0.1, 0.2, 0.3): res.append(leg_case(f'stumble {phi} deg {mass:g} kg b {b:g} hip {hip}', stumble(body, j, phi * DEG, hip), ji))
    for mass in STATURE:
        body = Body(mass, 1.75)
        for n, k in (('built-in', {}), ('swing-flexion open', dict(swing_flexion=(0.2, 0.02))), ('swing-extension closed', dict(swing_extension=(0.2, 2.0))),
                     ('swing-extension closed, catch load 600 N', dict(swing_extension=(0.2, 2.0), catch_load_n=600.0))):
            for v in (0.8, 1.1, 1.4):
                wi = walk_inputs(v, mass, **{**BUILT_IN, **k})
                w = run_walk(wi)
                for hip in (0.1, 0.2, 0.3):
                    c = leg_case(f'landing {mass:g} kg {n} {v} m/s hip {hip}', landing(w, body, hip), wi)
                    c['inputs'].update(walk={key: wi[key] for key in ('shank', 'cushion', 'assist', 'trigger', 'effort_n_m_per_kg', 'cadence_steps_per_min')},
                                       heel_contact_flexion_deg=w.outcomes()['heel_contact_flexion_deg'])
                    res.append(c)
    return res
