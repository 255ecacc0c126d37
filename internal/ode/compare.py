"""Times SciPy's DOP853 on the benchmark of cure.Kinetics: a cure over a 72 h hourly
history. Reads the output of the Go benchmark on standard input. See compare.sh."""
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


def split(s, rtol, atol):
    """A piece for each hour, so that no step crosses a kink."""
    y, f = [0.0], slope(s)
    for i in range(72):
        y = solve_ivp(f, (3600 * i, 3600 * (i + 1)), y, method="DOP853", rtol=rtol, atol=atol).y[:, -1]
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
    print(f"SciPy {scipy.__version__}, Python {sys.version.split()[0]}; one cure over 72 h, the best of several times")
    worst = math.inf
    for name, s in SETS.items():
        exact = split(s, 1e-13, 1e-15)
        print(f"{name}: Go {times[name] / 1e3:9.1f} us, error {abs(values[name] - exact):.1e}")
        for how, f in (("whole", whole), ("split", split)):
            ms = min(timeit.repeat(lambda: f(s, 1e-8, 1e-10), number=1, repeat=10)) * 1e3
            ratio = ms * 1e6 / times[name]
            worst = min(worst, ratio)
            print(f"    SciPy DOP853 rtol 1e-8, {how}: {ms:8.1f} ms, error {abs(f(s, 1e-8, 1e-10) - exact):.1e}: {ratio:.0f} times as long")
    print(f"least ratio: {worst:.0f}")


main()
