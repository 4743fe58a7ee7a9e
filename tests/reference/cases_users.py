"""The cases of users_cases.json: the drive of users of prostheses and its share, foot shift and tilt, pre-swing values, other damper laws.

A walking case is the stride of a case in cases.py with more inputs: `drive` (a drive file and its share; the rest is the able-bodied drive),
`foot` (shift forward, tilt toes down), `preswing` (light damping and tracking). A loaded case has `foot` as in cases.py and beside it `moved`.
"""
import json
import os

from cases import BUILT_IN, STATURE, V_STAR, ab, joint_inputs, leg_case, loaded_joint, make_joint, shank_of, sit_case, walk_inputs, walking_case
from kneeref import Walk
from kneeref_drive import DEG, G, HERE, Drive, Foot, drive_file, shared, shifted
from kneeref_loaded import Body, Sitting, landing, ramp, stairs, stumble

USERS = drive_file(os.path.join(HERE, '..', '..', 'models', 'drives', 'users-2020.yaml'))
LIKE_BUILT_IN = dict(BUILT_IN, swing_flexion=(0.2, 0.15))       # less resistance to flexion than the built-in joint
SOFT = (2000.0, 1.0)                                            # a stop that does not throw the shank back


# ---------------------------------------------------------------------------------------------------------------- walking
def inputs(speed, share=1.0, shift_mm=0.0, tilt_deg=0.0, light=(0.2, 0.1), tracking_hz=12.0, **more):
    return dict(walk_inputs(speed, **more), drive=dict(file='users-2020', share=share), foot=dict(shift_m=1e-3 * shift_mm, tilt_deg=tilt_deg),
                preswing=dict(light_damping=ab(*light), tracking_hz=tracking_hz))


def drive_of(i):
    foot = Foot(i['stature_m'], i['foot']['shift_m'], i['foot']['tilt_deg'] * DEG)
    return Drive(i['speed_m_per_s'], i['stature_m'], i['cadence_steps_per_min'], i['extension_stop_deg'] * DEG, shared(i['drive']['share'], USERS), foot)


def run(i, max_step=2e-3):
    p = i['preswing']
    w = Walk(make_joint(i['mass_kg'], i), drive_of(i), i['mass_kg'], shank_of(i['shank']), i['effort_n_m_per_kg'],
             (p['light_damping']['a'], p['light_damping']['b']), p['tracking_hz'])
    return w.stride(max_step=max_step)


def walking_cases():
    """name -> inputs"""
    c = {}
    # three speeds and short quick steps
    hurried = dict(speed=0.77 * 0.43 * V_STAR, cadence=1.1 * 120 / Drive(0.43 * V_STAR, 1.75, table=shared(1.0, USERS)).T)
    paces = {**{f'{v} m/s': dict(speed=v) for v in (0.8, 1.1, 1.4)}, 'hurried': hurried}
    joints = (('reference joint, stop c 0.3', {}), ('reference joint, stop c 1', dict(stop=SOFT)), ('like built-in, stop c 0.3', LIKE_BUILT_IN),
              ('like built-in, stop c 1', dict(LIKE_BUILT_IN, stop=SOFT)))
    for name, k in joints:
        for pace, p in paces.items(): c[f'users, {name}, {pace}'] = inputs(**p, **k)
    # share between the drives
    for q in (0.0, 0.3, 0.7): c[f'share {q:g}, 1.1 m/s'] = inputs(1.1, q, stop=SOFT, **LIKE_BUILT_IN)
    c['share 0.3, hurried'] = inputs(share=0.3, **hurried, stop=SOFT, **LIKE_BUILT_IN)
    c['share 0.7, 0.6 m/s'] = inputs(0.6, 0.7, stop=SOFT)
    # alignment
    own = dict(LIKE_BUILT_IN, stop=SOFT)
    for s in (-30, -15, 15, 30): c[f'shift {s:+d} mm, 1.1 m/s'] = inputs(1.1, shift_mm=s, **own)
    for d in (-4, -2, 2, 4): c[f'tilt {d:+d} deg, 1.1 m/s'] = inputs(1.1, tilt_deg=d, **own)
    c['shift -30 mm, tilt +4 deg, 0.8 m/s'] = inputs(0.8, shift_mm=-30, tilt_deg=4, **own)
    c['shift +20 mm, tilt -3 deg, share 0.5, 1.4 m/s'] = inputs(1.4, 0.5, 20, -3, **own)
    c['shift +30 mm, little effort'] = inputs(1.1, shift_mm=30, effort=0.05, **own)
    c['shift +30 mm, much effort, able-bodied'] = inputs(1.1, 0.0, 30, effort=0.6, **own)
    c['tilt -4 deg, early release point, low catch load'] = inputs(0.9, tilt_deg=-4, stop=SOFT, **{**LIKE_BUILT_IN, 'catch_load_n': 110.0}, x_release_m=0.12)
    # people
    c['extension stop 2 deg, share 0.5, shift +10 mm'] = inputs(1.1, 0.5, 10, extension_stop_deg=2.0, **own)
    for mass, stature in ((50.0, 1.55), (100.0, 1.90)):
        c[f'{mass:g} kg, {stature} m'] = inputs(1.1, mass=mass, stature=stature, **own)
        c[f'{mass:g} kg, {stature} m, shift +15 mm, tilt +2 deg'] = inputs(1.0, 1.0, 15, 2, mass=mass, stature=stature, **own)
    c['100 kg, heavier shank, share 0.3, shift -15 mm'] = inputs(
        1.3, 0.3, -15, mass=100.0, stature=1.80, shank=dict(mass_kg=3.1, com_distance_m=0.28, com_angle_deg=5.5, inertia_kg_m2=0.34), **own)
    # pre-swing values
    c['light damping 0, 0'] = inputs(1.1, light=(0.0, 0.0), **own)
    c['light damping 0.5, 0.4'] = inputs(1.1, light=(0.5, 0.4), **own)
    c['tracking 6 Hz'] = inputs(1.1, tracking_hz=6.0, **own)
    c['tracking 20 Hz, effort 0.1, shift +15 mm'] = inputs(1.1, shift_mm=15, tracking_hz=20.0, effort=0.1, **own)
    # other damper laws; with a low catch load the stance path still acts when the knee begins to bend, with 20 N it stays closed to toe-off
    late = dict(catch_load_n=0.15 * 75 * G, stop=SOFT)
    linear, friction = ('linear', 1.2), ('friction', 4.0, 0.2)
    c['linear flexion, 1.1 m/s'] = inputs(1.1, swing_flexion=linear, stop=SOFT)
    c['linear flexion, stance path closes late'] = inputs(1.1, swing_flexion=linear, **late)
    c['linear flexion, stance path stays closed, relief'] = inputs(1.3, mass=100.0, swing_flexion=linear, catch_load_n=20.0, stance=(60.0, 600.0), effort=2.5, stop=SOFT)
    c['friction flexion, 0.8 m/s'] = inputs(0.8, swing_flexion=friction, stop=SOFT)
    c['friction flexion, stance path closes late'] = inputs(0.8, swing_flexion=friction, **late)
    c['friction flexion, stance path stays closed'] = inputs(1.1, swing_flexion=friction, catch_load_n=20.0, stop=SOFT)
    c['linear both ways, cadence 120'] = inputs(1.1, cadence=120.0, swing_flexion=linear, swing_extension=('linear', 0.6), assist=(1.0, 0.5), stop=SOFT)
    c['friction both ways, share 0.3, shift -15 mm'] = inputs(1.1, 0.3, -15, swing_flexion=friction, swing_extension=('friction', 2.0, 0.2), stop=SOFT)
    c['linear flexion, stance below the open passage'] = inputs(1.0, swing_flexion=linear, stance=(0.05, 0.05), stop=SOFT)
    return c


def users_walking_case(name, i):
    w = run(i)
    case = walking_case(name, i, w)
    e = case['energy']
    e.setdefault('load_line_j', 0.0)
    if abs(sum(v for k, v in e.items() if k != 'kinetic_j') - e['kinetic_j']) > 1e-9: raise RuntimeError(f'{name}: energy {e}')
    case['outcomes'].update(flexion_40ms_before_contact_deg=w.flexion_before_contact() / DEG, least_toe_height_m=w.least_toe_height())
    return case


# ---------------------------------------------------------------------------------------------------------------- loaded tasks
MOVED = ((30, 0), (-30, 0), (0, 4), (0, -4), (15, -2))          # shift (mm), tilt (deg)


def loaded():
    """(name, mass, shift in mm, tilt in deg): every move at 75 kg, one at the others."""
    for s, d in MOVED: yield f'75 kg, shift {s:+d} mm, tilt {d:+d} deg', 75.0, s, d
    for mass in (50.0, 100.0): yield f'{mass:g} kg, shift +15 mm, tilt -2 deg', mass, 15, -2


def moved(case, foot):
    case['inputs']['moved'] = dict(shift_m=foot.shift, tilt_deg=foot.tilt / DEG)
    if 'foot' in case['inputs']: case['inputs']['foot']['edge_m'] = foot.edge
    return case


def loaded_cases():
    sitting, leg = [], []
    for name, mass, s, d in loaded():
        body, foot = Body(mass, STATURE[mass]), Foot(STATURE[mass], 1e-3 * s, d * DEG)
        ji = loaded_joint(mass, 30.0)
        j = make_joint(mass, ji)
        sitting.append(moved(sit_case(f'sit {name}', Sitting(body, j, 0.38, foot=foot), ji, None), foot))
        leg += [moved(leg_case(f'{kind} {name}', one, ji), foot)
                for kind, one in (('ramp 8 deg', ramp(body, j, 8 * DEG, foot=foot)), ('ramp 4.8 deg', ramp(body, j, 4.8 * DEG, 0.05, foot=foot)),
                                  ('stairs 0.17', stairs(body, j, foot=foot)), ('stumble 15 deg', stumble(body, j, 15 * DEG, foot=foot)))]
    # other laws under load: what the stance path adds acts beside them
    for law in (('linear', 4.0), ('friction', 8.0, 0.2)):
        body, ji = Body(75.0, 1.75), joint_inputs(75.0, swing_flexion=law)
        j, foot = make_joint(75.0, ji), Foot(1.75)
        sitting.append(moved(sit_case(f'sit 75 kg, {law[0]} flexion', Sitting(body, j, 0.38), ji, None), foot))
        leg.append(moved(leg_case(f'ramp 8 deg 75 kg, {law[0]} flexion', ramp(body, j, 8 * DEG), ji), foot))
        leg.append(moved(leg_case(f'stumble 15 deg 75 kg, {law[0]} flexion', stumble(body, j, 15 * DEG), ji), foot))
    # landing after strides with a moved foot
    for s, d in ((20, 0), (-20, 0), (0, 3), (0, -3)):
        wi = inputs(1.1, 1.0, s, d, stop=SOFT, **LIKE_BUILT_IN)
        w = run(wi)
        leg.append(moved(leg_case(f'landing 75 kg, shift {s:+d} mm, tilt {d:+d} deg', landing(w, Body(75.0, 1.75)), wi), w.d.foot))
    return sitting, leg


def everything():
    sitting, leg = loaded_cases()
    return dict(walking=[users_walking_case(n, i) for n, i in walking_cases().items()], sitting=sitting, leg=leg)


# ---------------------------------------------------------------------------------------------------------------- recorded strides
def recorded_misses():
    """The strides of users_walk.json again: a line for everything that is further from the record than one in its last printed digit."""
    record, mean = (json.load(open(os.path.join(HERE, n))) for n in ('users_walk.json', 'users_drive.json'))
    unit = record['printed_to']
    for joint in record['joints']:
        for s in joint['strides']:
            i = dict(joint['inputs'], speed_m_per_s=s['speed_m_per_s'])
            d = Drive(i['speed_m_per_s'], i['stature_m'], table=shifted(mean['plain']))
            found = Walk(make_joint(i['mass_kg'], i), d, i['mass_kg'], shank_of(i['shank']), i['effort_n_m_per_kg']).stride().outcomes()
            pairs = {k: (found[k], v) for k, v in s['outcomes'].items()}
            pairs.update(stride_time_s=(d.T, s['stride_time_s']), preswing_start=(d.t0 / d.T, s['preswing_start']), toe_off=(d.to_fraction, s['toe_off']))
            for k, (a, b) in pairs.items():
                if (a is None) != (b is None) or a is not None and abs(a - b) > unit[k]: yield f"{joint['name']}, {i['speed_m_per_s']} m/s, {k}: {a} and {b}"
