"""Inputs of scipy_cases.json and users_cases.json for the programs that run them again in other codes."""
import json
import os

import cases
import cases_users
from kneeref import Walk
from kneeref_drive import DEG, HERE, Drive


def case_of(file, kind, name):
    with open(os.path.join(HERE, file)) as f: return next(c for c in json.load(f)[kind] if c['name'] == name)


def walk_of(i):
    """The laws and the drive of a stride, not run."""
    users = 'drive' in i
    drive = cases_users.drive_of(i) if users else Drive(i['speed_m_per_s'], i['stature_m'], i['cadence_steps_per_min'], i['extension_stop_deg'] * DEG)
    p = i.get('preswing')
    more = ((p['light_damping']['a'], p['light_damping']['b']), p['tracking_hz']) if p else ()
    return Walk(cases.make_joint(i['mass_kg'], i), drive, i['mass_kg'], cases.shank_of(i['shank']), i['effort_n_m_per_kg'], *more)


def result(file, kind, name, samples):
    return dict(file=file, kind=kind, name=name, samples=[[round(t, 12), round(phi, 9)] for t, phi in samples])
