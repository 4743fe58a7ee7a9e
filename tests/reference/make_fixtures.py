"""Makes scipy_cases.json (cases.py) and users_cases.json (cases_users.py): inputs, outcomes and samples of the reference computations.

    python make_fixtures.py            write both beside this file
    python make_fixtures.py --check    compute again and compare with them (1e-9 relative + 1e-10 absolute); the strides of users_walk.json too
                                       (one in the last printed digit); exit 1 with a list of differences
"""
import json
import os
import platform
import sys

import numpy as np
import scipy

import cases_users
from cases import leg_cases, run_walk, sitting_cases, swing_case, swing_cases, walking_case, walking_cases

HERE = os.path.dirname(os.path.abspath(__file__))
REL, ABS = 1e-9, 1e-10


def plain(x):
    """Python numbers only."""
    if isinstance(x, dict): return {k: plain(v) for k, v in x.items()}
    if isinstance(x, (list, tuple)): return [plain(v) for v in x]
    if isinstance(x, (np.floating, np.integer, np.bool_)): return x.item()
    return x


def everything():
    """file -> its content"""
    made_with = dict(python=platform.python_version(), numpy=np.__version__, scipy=scipy.__version__, method='DOP853 rtol 1e-12 atol 1e-14, switches located')
    able = dict(walking=[walking_case(n, i, run_walk(i)) for n, i in walking_cases().items()],
                swing=[swing_case(n, i) for n, i in swing_cases().items()], sitting=sitting_cases(), leg=leg_cases())
    return {name: plain(dict(made_with=made_with, **cases)) for name, cases in (('scipy_cases.json', able), ('users_cases.json', cases_users.everything()))}


def differences(a, b, where='', rel=REL, least=ABS):
    if isinstance(a, dict) and isinstance(b, dict):
        if a.keys() != b.keys(): yield f'{where}: keys {sorted(a.keys() ^ b.keys())}'
        for k in sorted(a.keys() & b.keys()): yield from differences(a[k], b[k], f'{where}/{k}', rel, least)
    elif isinstance(a, list) and isinstance(b, list):
        if len(a) != len(b): yield f'{where}: {len(a)} and {len(b)} entries'
        for i, (x, y) in enumerate(zip(a, b)):
            yield from differences(x, y, f"{where}/{x.get('name', i) if isinstance(x, dict) else i}", rel, least)
    elif isinstance(a, (int, float)) and isinstance(b, (int, float)) and not isinstance(a, bool) and not isinstance(b, bool):
        if not abs(a - b) <= rel * max(abs(a), abs(b)) + least: yield f'{where}: {a!r} and {b!r}'
    elif a != b: yield f'{where}: {a!r} and {b!r}'


def check(new, path, **allowed):
    """Compare with a file written before: number of differences, printed."""
    with open(path) as f: old = json.load(f)
    new, old = ({k: v for k, v in x.items() if k != 'made_with'} for x in (json.loads(json.dumps(new)), old))
    found = list(differences(old, new, **allowed))
    for d in found: print('file and new:', d)
    print(f'{os.path.basename(path)}: {len(found)} differences')
    return len(found)


def write(new, path, indent=1):
    text = json.dumps(new, indent=indent, sort_keys=True)
    if not indent: text = text.replace('{"file"', '\n{"file"')         # a case a line
    with open(path, 'w') as f: f.write(text + '\n')
    print('wrote', os.path.basename(path))


if __name__ == '__main__':
    if sys.argv[1:] not in ([], ['--check']): sys.exit('usage: make_fixtures.py [--check]')
    misses = list(cases_users.recorded_misses())
    for m in misses: print('found and recorded:', m)
    print(f'users_walk.json: {len(misses)} misses')
    act = check if sys.argv[1:] else write
    counts = [act(new, os.path.join(HERE, name)) for name, new in everything().items()]
    sys.exit(1 if misses or any(counts) else 0)
