"""Makes mujoco_cases.json: whole strides and loaded tasks of users_cases.json and scipy_cases.json again in MuJoCo (engine_mujoco.py).

    python cases_mujoco.py             write it beside this file
    python cases_mujoco.py --check     compute again and compare with the file (2e-9 rad, the last digit written); exit 1 with a list of differences

Each case has the `file`, `kind` and `name` of its inputs, and `samples`: pairs of time (s) and knee flexion (rad).
"""
import os
import platform
import sys
from concurrent.futures import ProcessPoolExecutor

import mujoco

import cases
from engine_cases import case_of, result, walk_of
from engine_mujoco import loaded_leg, sitting, stride
from kneeref_drive import DEG, HERE, Foot
from make_fixtures import check, write

STRIDES = {
    'users_cases.json': (
        'users, reference joint, stop c 1, 0.8 m/s', 'users, like built-in, stop c 1, 1.1 m/s', 'users, like built-in, stop c 0.3, 1.4 m/s',
        'users, like built-in, stop c 1, hurried', 'share 0.7, 0.6 m/s', 'shift +15 mm, 1.1 m/s', '50 kg, 1.55 m, shift +15 mm, tilt +2 deg',
        'linear flexion, stance path closes late'),
    'scipy_cases.json': ('built-in joint, 1.1 m/s', 'heavy person, heavier shank'),
}
LEGS = {
    'users_cases.json': (
        'ramp 8 deg 75 kg, shift -30 mm, tilt +0 deg', 'ramp 4.8 deg 100 kg, shift +15 mm, tilt -2 deg', 'ramp 8 deg 75 kg, friction flexion',
        'stairs 0.17 75 kg, shift +15 mm, tilt -2 deg', 'stairs 0.17 50 kg, shift +15 mm, tilt -2 deg',
        'stumble 15 deg 75 kg, shift -30 mm, tilt +0 deg', 'stumble 15 deg 100 kg, shift +15 mm, tilt -2 deg', 'landing 75 kg, shift -20 mm, tilt +0 deg'),
    'scipy_cases.json': ('ramp 8 deg 75 kg b 30 hip 0.0', 'stumble 25 deg 75 kg b 30 hip 0.1'),
}
SITTING = {'users_cases.json': ('sit 75 kg, shift -30 mm, tilt +0 deg', 'sit 75 kg, linear flexion'), 'scipy_cases.json': ('sit 50 kg share 0.38 b 30, valve from standing',)}


def run(job):
    file, kind, name = job
    case = case_of(file, kind, name)
    i = case['inputs']
    if kind == 'walking': samples = stride(walk_of(i))
    else:
        # under load a joint has neither cushion nor assist spring
        joint = cases.make_joint(i['mass_kg'], {**cases.joint_inputs(i['mass_kg']), **i})
        if kind == 'leg': samples = loaded_leg(case['kind'], i, joint, case['outcomes']['end_time_s'])
        else:
            moved = i.get('moved', dict(shift_m=0.0, tilt_deg=0.0))
            foot = Foot(i['stature_m'], moved['shift_m'], moved['tilt_deg'] * DEG)
            samples = sitting({**i, 'x_c': foot.under(i['pressure_point_m'])}, joint, case['outcomes']['sit_time_s'])
    return result(file, kind, name, samples)


def everything():
    jobs = [(file, kind, name) for kind, table in (('walking', STRIDES), ('leg', LEGS), ('sitting', SITTING)) for file, names in table.items() for name in names]
    with ProcessPoolExecutor() as pool: found = list(pool.map(run, jobs))
    made_with = dict(python=platform.python_version(), mujoco=mujoco.__version__, method='its RK4, 0.1 ms')
    return dict(made_with=made_with, **{kind: [c for c in found if c['kind'] == kind] for kind in ('walking', 'leg', 'sitting')})


if __name__ == '__main__':
    if sys.argv[1:] not in ([], ['--check']): sys.exit('usage: cases_mujoco.py [--check]')
    path = os.path.join(HERE, 'mujoco_cases.json')
    new = everything()
    if not sys.argv[1:]: write(new, path, indent=None)
    elif check(new, path, rel=0.0, least=2e-9): sys.exit(1)
