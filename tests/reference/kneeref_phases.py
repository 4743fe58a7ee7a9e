"""Integration in smooth phases, for the reference computations of this folder.

A piecewise smooth right-hand side is described by named edges g(t, y, m). The mode m maps every edge to True (g > 0) or False and is
held constant while DOP853 runs; a terminal event finds the zero of every g in the direction that leaves the present side, the flag is
flipped there and the integration starts again. So no step of the method ever straddles a change of branch.
"""
import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import minimize_scalar

RTOL, ATOL = 1e-12, 1e-14


class Path:
    """The pieces of one run: dense output, the mode in which each was computed, and the crossings between them."""

    def __init__(self):
        self.pieces = []        # (t_begin, t_end, dense output, solver times, mode)
        self.crossings = []     # (t, edge, upwards?, state)
        self.end = 'time'
        self.y_end = None

    @property
    def t_begin(self): return self.pieces[0][0]

    @property
    def t_end(self): return self.pieces[-1][1]

    def piece(self, t):
        for p in self.pieces:
            if t <= p[1]: return p
        return self.pieces[-1]

    def __call__(self, t): return self.piece(t)[2](t)

    def first(self, edge, up, after=-np.inf):
        """The first crossing of an edge in a direction after a time: its instant, or None."""
        return next((t for t, e, u, _ in self.crossings if e == edge and u == up and t > after), None)

    def greatest(self, value, t_lo=None, t_hi=None, sign=1.0):
        """(value, instant) of the greatest (sign 1) or least (sign -1) of value(t, y, m): grid on the solver's steps, then a bounded
        search around the best grid point of every piece. Both sides of every crossing are looked at."""
        t_lo = self.t_begin if t_lo is None else t_lo
        t_hi = self.t_end if t_hi is None else t_hi
        best = (-np.inf, None)
        for a, b, sol, ts, m in self.pieces:
            lo, hi = max(a, t_lo), min(b, t_hi)
            if lo > hi or a >= b: continue
            f = lambda t: sign * value(t, sol(t), m)
            mids = ts[:-1, None] + np.diff(ts)[:, None] * np.array([0.0, 0.5])
            grid = np.unique(np.r_[lo, mids.ravel()[(mids.ravel() > lo) & (mids.ravel() < hi)], hi])
            v = np.array([f(t) for t in grid])
            i = int(np.argmax(v))
            if v[i] > best[0]: best = (v[i], grid[i])
            if len(grid) > 1:
                r = minimize_scalar(lambda t: -f(t), bounds=(grid[max(i - 1, 0)], grid[min(i + 1, len(grid) - 1)]),
                                    method='bounded', options={'xatol': 1e-12})
                if -r.fun > best[0]: best = (-r.fun, r.x)
        return sign * best[0], best[1]


NEAR = 1e-11        # an edge this close to its zero is judged by the side that the motion enters


def entered(rhs, edges, t, y, m):
    """The sides that the motion enters from (t, y), by two tiny explicit steps in mode m."""
    h = 1e-6
    y1 = y + h * np.asarray(rhs(t, y, m))
    y2 = y1 + h * np.asarray(rhs(t + h, y1, m))
    return {k: bool(g(t + 2 * h, y2, m) > 0) for k, g in edges.items()}


def first_mode(rhs, edges, t, y, mode):
    """Sides at the start."""
    m = {**{k: True for k in edges}, **mode}
    for _ in range(3):          # the tiny steps use the sides found so far
        there = entered(rhs, edges, t, y, m)
        for k, g in edges.items():
            v = g(t, y, m)
            m[k] = there[k] if abs(v) < NEAR else bool(v > 0)
    return m


def event(g, m, name, t_begin):
    """g as an event of a phase. At the beginning of the phase a g of zero counts as on the side of the mode: a phase that starts on an edge and
    returns to it within its first step is then found by the return."""
    def at(t, y):
        v = g(t, y, m)
        return (1e-15 if m[name] else -1e-15) if t == t_begin and abs(v) < NEAR else v
    return at


def follow(rhs, edges, t0, y0, t_end, mode=None, stops=(), on_cross=None, max_step=2e-3, path=None):
    """Integrate from t0 to t_end. `stops`: known times at which the right-hand side changes its formula (it must look at the mode's
    't_mid', the middle of the present leg, to know on which side it is). `on_cross(edge, up, t, y, mode)` may change the mode and may return
    a word that ends the run."""
    path = path or Path()
    m = dict(mode or {})
    marks = sorted({t0, t_end, *[s for s in stops if t0 < s < t_end]})
    y = np.asarray(y0, float)
    m['t_mid'] = 0.5 * (marks[0] + marks[1])
    m = first_mode(rhs, edges, t0, y, m)
    for lo, hi in zip(marks[:-1], marks[1:]):
        m['t_mid'] = 0.5 * (lo + hi)
        t = lo
        while t < hi:
            now = dict(m)
            names = list(edges)
            events = []
            for k in names:
                ev = event(edges[k], now, k, t)
                ev.terminal, ev.direction = True, (-1 if now[k] else 1)
                events.append(ev)
            r = solve_ivp(lambda tt, yy: rhs(tt, yy, now), (t, hi), y, method='DOP853', rtol=RTOL, atol=ATOL, max_step=max_step,
                          events=events, dense_output=True)
            if r.status < 0: raise RuntimeError(r.message)
            for k in names:     # no missed crossing: at every accepted step g is on the side that the mode says
                for tt, yy in zip(r.t[1:-1], r.y.T[1:-1]):
                    v = edges[k](tt, yy, now)
                    if abs(v) > 1e-12 and (v > 0) != now[k]: raise RuntimeError(f'{k}: missed a crossing near t = {tt}')
            t1, y = float(r.t[-1]), r.y[:, -1]
            path.pieces.append((t, t1, r.sol, r.t, now))
            t = t1
            if r.status == 1:
                crossed = [n for n, te in zip(names, r.t_events) if len(te)]
                others = [n for n in names if n not in crossed and abs(edges[n](t, y, m)) < NEAR]       # two edges at one place
                if others:
                    there = entered(rhs, {n: edges[n] for n in others}, t, y, m)
                    crossed += [n for n in others if there[n] != m[n]]
                for k in crossed:
                    m[k] = not m[k]
                    path.crossings.append((t, k, m[k], y.copy()))
                    word = on_cross(k, m[k], t, y, m) if on_cross else None
                    if word:
                        path.end, path.y_end, path.mode = word, y, m
                        return path
    path.y_end, path.mode = y, m
    return path
