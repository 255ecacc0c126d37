"""Compares the kinetics of package cure with SciPy's DOP853 in work and precision: a
cure over a 72 h hourly history, each way's time beside the error that it achieves
against a tight reference. Reads the output of the Go benchmark on standard input.
See compare.sh."""
import math
import re
import sys
import timeit

import scipy
from scipy.integrate import solve_ivp

R = 8.31446261815324
HOURS = [18 + 7 * math.sin(2 * math.pi * (i - 9) / 24) + 273.15 for i in range(73)]
SETS = {  # A1, Ea1, A2, Ea2, M, N, as in cure/kineticstable_test.go
    "K3": (1.2e5, 60e3, 5e5, 55e3, 1, 2),
    "K5": (35982, 54960, 3574.1, 44289, 0.39845, 1.5361),
}


def slope(s):
    a1, e1, a2, e2, m, n = s

    def f(t, y):
        x = t / 3600
        i = min(int(x), 71)
        temp = HOURS[i] + (HOURS[i + 1] - HOURS[i]) * (x - i)
        k1 = a1 * math.exp(-e1 / (R * temp))
        k2 = a2 * math.exp(-e2 / (R * temp))
        a = y[0]
        return [(k1 + k2 * max(a, 0.0) ** m) * (1 - a) ** n]

    return f


def split(s, rtol, atol, method="DOP853"):
    """A piece for each hour, so that no step crosses a kink."""
    y, f = [0.0], slope(s)
    for i in range(72):
        y = solve_ivp(f, (3600 * i, 3600 * (i + 1)), y, method=method, rtol=rtol, atol=atol).y[:, -1]
    return y[0]


def whole(s, rtol, atol):
    """One call over all kinks, which the error control is left to find."""
    return solve_ivp(slope(s), (0, 72 * 3600), [0.0], method="DOP853", rtol=rtol, atol=atol).y[0, -1]


def main():
    go = sys.stdin.read()
    times = {}
    for m in re.finditer(r"BenchmarkConvert72h/(K\d)\S*\s+\d+\s+([\d.]+) ns/op", go):
        times[m[1]] = min(times.get(m[1], math.inf), float(m[2]))
    values = {m[1]: float(m[2]) for m in re.finditer(r"(K\d) after 72 h: ([\d.]+)", go)}
    print(f"SciPy {scipy.__version__}, Python {sys.version.split()[0]}; one cure over 72 h, each time the best of several")
    asked, equal = [], []
    for name, s in SETS.items():
        exact = split(s, 1e-13, 1e-15)
        check = split(s, 1e-12, 1e-15, "Radau")
        us, own = times[name] / 1e3, max(abs(values[name] - exact), 1.2e-16)
        print(f"\n{name}: reference {exact:.15f}, by Radau {abs(check - exact):.0e} from it")
        print(f"    {'':24} {'time, us':>10} {'error':>9} {'of Go':>7}")
        print(f"    {'Go':24} {us:10.1f} {own:9.1e} {1:7.0f}")
        for how, f in (("whole", whole), ("split", split)):
            for rtol in (1e-4, 1e-6, 1e-8, 1e-10, 1e-12):
                t = min(timeit.repeat(lambda: f(s, rtol, rtol / 100), number=1, repeat=3 if rtol < 1e-10 else 5)) * 1e6
                err = abs(f(s, rtol, rtol / 100) - exact)
                ratio = t / us
                mark = ""
                if rtol == 1e-8:
                    asked.append(ratio)
                    mark = "  asked for"
                if err <= max(own, 1e-12):  # as good as Go, or better than anyone can use
                    equal.append(ratio)
                    mark += "  as precise"
                print(f"    SciPy {how}, rtol {rtol:7.0e} {t:10.0f} {err:9.1e} {ratio:7.0f}{mark}")
    print(f"\nleast ratio at rtol 1e-8: {min(asked):.0f}; of all that are as precise as Go, or within 1e-12: {min(equal, default=math.nan):.0f}")


main()
