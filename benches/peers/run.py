"""The same strides by general integrators and by the batch, on one core, in one run: cost and accuracy of each.

    benches/peers/run.sh [--quick]

Peers give the state at toe-off and heel contact only; the batch also finds peak, extension, rebound and release.
"""
import datetime
import importlib.metadata as metadata
import json
import os
import platform
import sys
import time

import numpy as np

import stride

QUICK = '--quick' in sys.argv
ROWS = []


def timed(run, least_s):
    """Seconds of processor time per call, the best of repeated calls."""
    best, begun = float('inf'), time.perf_counter()
    while True:
        a = time.process_time()
        run()
        best = min(best, time.process_time() - a)
        if time.perf_counter() - begun > least_s: return best


def row(name, what, seconds, error):
    ROWS.append((name, what, seconds, error))
    print(f'{name:34s} {seconds * 1e6:12.2f} us  error {error:.1e}', flush=True)


def scipy_rk45(n, tolerance):
    from scipy.integrate import solve_ivp
    f = stride.scalar(n)
    few = n.strides[:4 if QUICK else 16]

    def one(p):
        z = solve_ivp(lambda t, y: [f['valve'](f['felt'](t, p), y[0], p)], (0.0, n.t0), [0.0], rtol=tolerance, atol=tolerance).y[0, -1]
        a = solve_ivp(lambda t, y: f['motion'](t, y[0], y[1], y[2], p, True), (n.t0, n.t_to), [0.0, 0.0, z], rtol=tolerance, atol=tolerance).y[:, -1]
        b = solve_ivp(lambda t, y: f['motion'](t, y[0], y[1], y[2], p, False), (n.t_to, n.T), a, rtol=tolerance, atol=tolerance).y[:, -1]
        return a[0], b[0]

    found = []
    lists = [p.tolist() for p in few]
    seconds = timed(lambda: (found.clear(), found.extend(one(p) for p in lists)), 2.0 if QUICK else 10.0) / len(few)
    row('SciPy solve_ivp RK45', f'rtol = atol = {tolerance:g}', seconds, stride.errors(found, n.exact[:len(few)]))


def numbalsoda_lsoda(n, tolerance):
    import numba
    from numba import cfunc, carray, njit
    from numbalsoda import lsoda, lsoda_sig
    space = {'math': __import__('math'), 'njit': njit}
    text = stride.source(n, 'math', {'max': 'max', 'min': 'min', 'pick': lambda c, a, b: f'({a}) if {c} else ({b})'})
    exec(text.replace('\ndef ', '\n@njit\ndef '), space)
    valve, felt, motion = space['valve'], space['felt'], space['motion']

    @cfunc(lsoda_sig)
    def closing(t, y, dy, p):
        q = carray(p, (22,))
        dy[0] = valve(felt(t, q), y[0], q)

    @cfunc(lsoda_sig)
    def loaded(t, y, dy, p):
        q = carray(p, (22,))
        dy[0], dy[1], dy[2] = motion(t, y[0], y[1], y[2], q, True)

    @cfunc(lsoda_sig)
    def free(t, y, dy, p):
        q = carray(p, (22,))
        dy[0], dy[1], dy[2] = motion(t, y[0], y[1], y[2], q, False)

    c_at, l_at, f_at = closing.address, loaded.address, free.address
    t0, t_to, T = n.t0, n.t_to, n.T

    @njit
    def all_of(strides, found):
        for i in range(strides.shape[0]):
            p = strides[i].copy()
            z, ok = lsoda(c_at, np.zeros(1), np.array([0.0, t0]), p, tolerance, tolerance * 1e-2)
            a, ok = lsoda(l_at, np.array([0.0, 0.0, z[1, 0]]), np.array([t0, t_to]), p, tolerance, tolerance * 1e-2)
            b, ok = lsoda(f_at, a[1].copy(), np.array([t_to, T]), p, tolerance, tolerance * 1e-2)
            found[i, 0] = a[1, 0]
            found[i, 1] = b[1, 0]

    found = np.zeros((len(n.strides), 2))
    all_of(n.strides, found)
    seconds = timed(lambda: all_of(n.strides, found), 1.0 if QUICK else 5.0) / len(n.strides)
    row('numbalsoda LSODA (numba)', f'rtol {tolerance:g}', seconds, stride.errors(found, n.exact))


def diffrax_vmap(n, tolerance):
    import jax
    jax.config.update('jax_enable_x64', True)
    import diffrax
    import jax.numpy as jnp
    space = {'math': __import__('math'), 'jnp': jnp}
    exec(stride.source(n, 'jnp', {'max': 'jnp.maximum', 'min': 'jnp.minimum', 'pick': lambda c, a, b: f'jnp.where({c}, {a}, {b})'}), space)
    control = diffrax.PIDController(rtol=tolerance, atol=tolerance * 1e-2)

    def part(field, a, b, y, p):
        return diffrax.diffeqsolve(diffrax.ODETerm(field), diffrax.Dopri5(), a, b, 1e-3, y, p, stepsize_controller=control, max_steps=100_000,
                                   saveat=diffrax.SaveAt(t1=True)).ys[0]

    def one(p):
        z = part(lambda t, y, p: jnp.array([space['valve'](space['felt'](t, p), y[0], p)]), 0.0, n.t0, jnp.zeros(1), p)
        a = part(lambda t, y, p: jnp.array(space['motion'](t, y[0], y[1], y[2], p, True)), n.t0, n.t_to, jnp.array([0.0, 0.0, z[0]]), p)
        b = part(lambda t, y, p: jnp.array(space['motion'](t, y[0], y[1], y[2], p, False)), n.t_to, n.T, a, p)
        return jnp.array([a[0], b[0]])

    many = jax.jit(jax.vmap(one))
    lanes = jnp.array(np.tile(n.strides, (4 if QUICK else 16, 1)))
    found = np.asarray(many(lanes))[:len(n.strides)]
    seconds = timed(lambda: many(lanes).block_until_ready(), 2.0 if QUICK else 10.0) / len(lanes)
    row('diffrax Dopri5, vmap, jit', f'rtol {tolerance:g}, {len(lanes)} lanes', seconds, stride.errors(found, n.exact))


def mujoco_steps(n):
    import mujoco
    f = stride.scalar(n)
    few = n.strides[:2 if QUICK else 8]
    xml = '''<mujoco><option timestep="{h}" integrator="RK4" gravity="0 0 0"/><worldbody><body>
    <joint name="knee" type="hinge" axis="0 1 0"/><inertial pos="0 0 0" mass="1" diaginertia="{i} {i} {i}"/></body></worldbody></mujoco>'''
    models = [mujoco.MjModel.from_xml_string(xml.format(h=1e-3, i=p[18])) for p in few]

    def one(m, p):
        d = mujoco.MjData(m)
        z, t = 0.0, 0.0
        h = n.t0 / round(n.t0 / 1e-3)
        for _ in range(round(n.t0 / 1e-3)):                              # the valve alone, by Euler steps of the same length
            z += h * f['valve'](f['felt'](t, p), z, p)
            t += h
        state = [z]

        def torque(m, d):                                               # called at every stage
            _, acc, _ = f['motion'](d.time, d.qpos[0], d.qvel[0], state[0], p, d.time < n.t_to)
            d.qfrc_passive[0] += acc * p[18]

        mujoco.set_mjcb_passive(torque)
        d.time = n.t0
        toe_off = None
        while d.time < n.T - 5e-4:
            if toe_off is None and d.time >= n.t_to: toe_off = d.qpos[0]
            s = f['felt'](d.time, p) if d.time < n.t_to else 0.0
            state[0] += 1e-3 * f['valve'](s, state[0], p)
            mujoco.mj_step(m, d)
        mujoco.set_mjcb_passive(None)
        return toe_off, d.qpos[0]

    found = []
    lists = [p.tolist() for p in few]
    seconds = timed(lambda: (found.clear(), found.extend(one(m, p) for m, p in zip(models, lists))), 2.0 if QUICK else 10.0) / len(few)
    row('MuJoCo RK4 1 ms, torque in Python', 'mj_step with a passive callback', seconds, stride.errors(found, n.exact[:len(few)]))
    steps = round((n.T - n.t0) / 1e-3)
    d = mujoco.MjData(models[0])
    bare = timed(lambda: mujoco.mj_step(models[0], d, nstep=steps), 1.0)
    ROWS.append(('MuJoCo RK4 1 ms, no torque (C)', 'the same steps without any law: a lower bound, another motion', bare, float('nan')))
    print(f'{"MuJoCo RK4 1 ms, no torque (C)":34s} {bare * 1e6:12.2f} us')


WANTED = {'SciPy solve_ivp RK45': 2000, 'numbalsoda LSODA (numba)': 40, 'diffrax Dopri5, vmap, jit': 25, 'MuJoCo RK4 1 ms, torque in Python': 300,
          'this project, one stride (scan)': 15}


def main():
    data = stride.load()
    n = stride.Numbers(data)
    begun = time.perf_counter()
    row('this project, batch', f'{data["lanes"]} numbers at a time', data['batch_s'], data['batch_error_rad'])
    row('this project, batch, nothing shared', 'the same, each stride with a stance and a leg of its own', data['apart_s'], data['batch_error_rad'])
    row('this project, batch, looser', 'cells twice as long, tolerances 20 and 200 times', data['loose_s'], data['loose_error_rad'])
    row('this project, one stride (scan)', 'Dormand-Prince 1e-7, switches located', data['scan_s'], data['scan_error_rad'])
    for peer in (lambda: scipy_rk45(n, 1e-6), lambda: numbalsoda_lsoda(n, 1e-6), lambda: diffrax_vmap(n, 1e-6), lambda: mujoco_steps(n)):
        try:
            peer()
        except Exception as e:  # a peer that cannot be had is shown as such
            ROWS.append((getattr(e, 'name', None) or type(e).__name__, f'not run: {e}', float('nan'), float('nan')))
            print('not run:', e, flush=True)
    us = data['batch_s']
    lines = ['# Peers', '', 'Made by `benches/peers/run.sh`' + (' (`--quick`)' if QUICK else '') + f' on {datetime.date.today()}; {processor()}; one core; '
             f'{data["machine_load"]}.', '',
             f'{len(n.strides)} strides of the built-in joint at {data["speed_m_per_s"]} m/s, 75 kg: catch load 35 %, swing settings on a grid of 8 by 8 (the batch is timed on 64 by 64 of the same range, none twice). Error: greatest deviation of '
             'flexion at toe-off and heel contact from the reference path at 1e-12. Peers have no events: what a user would write down. The strides are those of one person: they share a stance, '
             'which the batch runs once, and in pre-swing what the drive does to the leg, which it works out once; the second row and the last ratio are without that. '
             'Peers do both in every stride. The batch also follows each stride 15 % past heel contact.', '',
             '| | | µs per stride | error, rad | times the batch | times the batch, nothing shared | wanted | |', '|---|---|---|---|---|---|---|---|']
    for name, what, seconds, error in ROWS:
        ratio, wanted = seconds / us, WANTED.get(name)
        verdict = '' if wanted is None else ('holds' if ratio >= wanted else '**fails**')
        lines.append(f'| {name} | {what} | {seconds * 1e6:.2f} | {error:.1e} | {ratio:.1f} | {seconds / data["apart_s"]:.1f} | {wanted or ""} | {verdict} |')
    versions = {}
    for package in ('numpy', 'scipy', 'numba', 'numbalsoda', 'jax', 'diffrax', 'mujoco'):
        try: versions[package] = metadata.version(package)
        except metadata.PackageNotFoundError: versions[package] = 'not installed'
    lines += ['', f'Python {platform.python_version()}; ' + ', '.join(f'{k} {v}' for k, v in versions.items()) + '.']
    with open(os.path.join(stride.HERE, 'RESULTS.md'), 'w') as f: f.write('\n'.join(lines) + '\n')
    print('\n'.join(lines))
    print(f'{time.perf_counter() - begun:.0f} s')


def processor():
    with open('/proc/cpuinfo') as f:
        names = [line.split(':')[1].strip() for line in f if line.startswith('model name')]
    return names[0] if names else platform.machine()


if __name__ == '__main__': main()
