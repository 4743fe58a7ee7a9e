"""Makes hydraulics.json: orifice, laminar passage and viscosity check values, each by the general library `fluids` and by a hand formula here.

    python hydraulics.py            write hydraulics.json beside this file
    python hydraulics.py --check    compute again and compare with it; exit 1 with a list of differences

The orifice standard covers bores above 12.5 mm and pipe Reynolds numbers above 5000: for a damper port this is a check of code, not of physics.
Outside those limits the library adds terms of its own that the standard does not have (a floor under the low-Reynolds term), so there its
value and the standard's formula by hand need not agree: such entries have "within_limits": false and are compared with the recorded value only.
"""
import csv
import math
import os
import platform
import sys

import fluids

from make_fixtures import HERE, check, plain, write

FILE = os.path.join(HERE, 'hydraulics.json')
AGREE = 1e-9                # library and hand formula, and the recorded CSV value


def discharge(D, d, rho, mu, m, taps='corner'):
    """Discharge coefficient of ISO 5167-2, Reader-Harris/Gallagher equation: corner taps (L1 = L2 = 0) or flange taps (25.4 mm)."""
    beta, re = d / D, 4 * m / (math.pi * D * mu)
    a = (19000 * beta / re) ** 0.8
    l = 0.0 if taps == 'corner' else 0.0254 / D
    m2 = 2 * l / (1 - beta)
    c = 0.5961 + 0.0261 * beta ** 2 - 0.216 * beta ** 8 + 0.000521 * (1e6 * beta / re) ** 0.7 + (0.0188 + 0.0063 * a) * beta ** 3.5 * (1e6 / re) ** 0.3
    c += (0.043 + 0.080 * math.exp(-10 * l) - 0.123 * math.exp(-7 * l)) * (1 - 0.11 * a) * beta ** 4 / (1 - beta ** 4)
    c -= 0.031 * (m2 - 0.8 * m2 ** 1.1) * beta ** 1.3
    if D < 0.07112: c += 0.011 * (0.75 - beta) * (2.8 - D / 0.0254)
    return c


def orifice_flow(D, d, dp, rho, c):
    """Mass flow of a liquid through an orifice plate: C (pi/4) d^2 sqrt(2 rho dp / (1 - beta^4))."""
    return c * math.pi / 4 * d * d * math.sqrt(2 * rho * dp / (1 - (d / D) ** 4))


def orifice_flow_solved(D, d, dp, rho, mu):
    """The same with C at the Reynolds number of the flow itself (fixed point)."""
    m = orifice_flow(D, d, dp, rho, 0.6)
    for _ in range(200): m = orifice_flow(D, d, dp, rho, discharge(D, d, rho, mu, m))
    return m


def walther(nu40, nu100, t):
    """Kinematic viscosity (mm2/s) at t (deg C), ASTM D341: log10 log10(nu + 0.7) is linear in log10 of the absolute temperature."""
    w = lambda nu: math.log10(math.log10(nu + 0.7))
    k40, k100, k = (math.log10(c + 273.15) for c in (40, 100, t))
    return 10 ** 10 ** (w(nu40) + (w(nu100) - w(nu40)) * (k - k40) / (k100 - k40)) - 0.7


def entries():
    """(case, quantity, inputs, value of the library, value by hand), in the order of hydraulics_checks.csv"""
    rhg = lambda D, d, rho, mu, m, taps='corner': (dict(pipe_m=D, bore_m=d, density_kg_m3=rho, viscosity_pa_s=mu, mass_flow_kg_s=m, taps=taps),
                                                  fluids.C_Reader_Harris_Gallagher(D=D, Do=d, rho=rho, mu=mu, m=m, taps=taps), discharge(D, d, rho, mu, m, taps))
    yield ('orifice, flange taps, gas', 'discharge_coefficient', *rhg(0.07391, 0.0222, 1.165, 1.85e-5, 0.12, 'flange'))
    mu = 32e-6 * 870
    for re in (5e3, 1e4, 1e5, 1e6):
        yield (f'orifice, corner taps, Re {re:g}', 'discharge_coefficient', *rhg(0.05, 0.025, 870.0, mu, re * math.pi * 0.05 * mu / 4))
    for q in (2e-6, 1e-5):
        yield (f'orifice outside the limits of the standard, Q {q:g} m3/s', 'discharge_coefficient', *rhg(0.010, 0.0015, 850.0, 15e-6 * 850, q * 850))
    i = dict(pipe_m=0.05, bore_m=0.025, pressure_drop_pa=1e5, density_kg_m3=870.0)
    yield ('orifice flow at C 0.61', 'mass_flow_kg_s', {**i, 'discharge_coefficient': 0.61},
           fluids.flow_meter_discharge(D=0.05, Do=0.025, P1=2e5, P2=1e5, rho=870.0, C=0.61, expansibility=1.0), orifice_flow(0.05, 0.025, 1e5, 870.0, 0.61))
    yield ('orifice flow, C at its own Reynolds number', 'mass_flow_kg_s', {**i, 'viscosity_pa_s': mu},
           fluids.differential_pressure_meter_solver(D=0.05, D2=0.025, P1=2e5, P2=1e5, rho=870.0, mu=mu, meter_type='ISO 5167 orifice', taps='corner', epsilon_specified=1.0),
           orifice_flow_solved(0.05, 0.025, 1e5, 870.0, mu))
    d, length, q, nu, rho = 0.0015, 0.030, 2e-6, 15e-6, 850.0
    v = q / (math.pi / 4 * d * d)
    re = fluids.Reynolds(V=v, D=d, nu=nu)
    yield ('laminar passage', 'pressure_drop_pa', dict(bore_m=d, length_m=length, flow_m3_s=q, kinematic_viscosity_m2_s=nu, density_kg_m3=rho),
           fluids.friction_factor(Re=re) * length / d * rho * v * v / 2, 128 * nu * rho * length * q / (math.pi * d ** 4))
    D, d, c = 0.07366, 0.05, 0.61512
    b4 = (d / D) ** 4
    yield ('orifice loss coefficient', 'loss_coefficient', dict(pipe_m=D, bore_m=d, discharge_coefficient=c), fluids.discharge_coefficient_to_K(D=D, Do=d, C=c),
           (math.sqrt(1 - b4 * (1 - c * c)) / (c * math.sqrt(b4)) - 1) ** 2)


def everything():
    with open(os.path.join(HERE, 'hydraulics_checks.csv')) as f: recorded = [float(r[-1]) for r in list(csv.reader(x for x in f if not x.startswith('#')))[1:]]
    checks = [dict(name=n, quantity=q, inputs=i, library=a, by_hand=b, recorded=r, within_limits='outside' not in n)
              for (n, q, i, a, b), r in zip(entries(), recorded, strict=True)]
    for c in checks:
        for k in ('by_hand', 'recorded')[0 if c['within_limits'] else 1:]:
            if abs(c[k] / c['library'] - 1) > AGREE: raise SystemExit(f"{c['name']}: library {c['library']!r}, {k} {c[k]!r}")
    visc = [dict(grade=g, nu40_mm2_s=a, nu100_mm2_s=b, temperature_c=t, nu_mm2_s=walther(a, b, t)) for g, a, b in (('VG 15', 15.0, 3.4), ('VG 32', 32.0, 5.4))
            for t in (0.0, 10.0, 20.0, 25.0, 30.0, 60.0)]
    return plain(dict(made_with=dict(python=platform.python_version(), fluids=fluids.__version__), flow=checks, viscosity=visc))


if __name__ == '__main__':
    if sys.argv[1:] == ['--check']: sys.exit(1 if check(everything(), FILE) else 0)
    if sys.argv[1:]: sys.exit('usage: hydraulics.py [--check]')
    write(everything(), FILE)
