#!/usr/bin/env python3
"""Marcum's Q1 over all that a decision can ask: tools/marcum.py >tests/data/marcum_q1.csv

kappa from 0 to 40 and ratios from 0 to 100, ends and what lies close to them included. Independent
of the program's continued fraction: the density of the length of a normal pair, x exp(-(x - a)^2 /
2) exp(-a x) I0(a x), integrated with 30 digits over the smaller of the two tails (J. I. Marcum, IRE
Trans. IT-6 (1960) 59); the other tail is one less it. a is the double that kappa times ratio rounds
to. Checked in places by the Poisson sum of the non-central chi-square. Needs python3 with mpmath.
"""
import sys

import mpmath as mp

mp.mp.dps = 30

KAPPAS = [0.0, 1e-9, 1e-3, 0.1, 0.5, 1.0, 1.1774100225154747, 2.0, 3.0348542587702929,
          4.2919320526437885, 5.2565217697569321, 6.0697085175405813, 7.0, 8.3112859,
          10.0, 13.0, 17.0, 22.0, 27.0, 32.0, 36.0, 39.0, 40.0]
RATIOS = [0.0, 1e-12, 1e-3, 0.05, 0.2, 0.4, 0.6, 0.75, 0.85, 0.9, 0.95, 0.98, 0.99, 0.999,
          1.0 - 1e-9, 1.0, 1.0 + 1e-9, 1.001, 1.01, 1.02, 1.05, 1.1, 1.15, 1.25, 1.4, 1.6, 1.798,
          2.0, 2.5, 3.0, 4.0, 6.0, 10.0, 20.0, 40.0, 70.0, 99.9, 100.0]


def scaled_bessel(x):
    """exp(-x) I0(x); beyond 200 by Hankel's series (DLMF 10.40.1), of which 40 terms are enough."""
    if x < 200:
        return mp.besseli(0, x) * mp.exp(-x)
    term = total = mp.mpf(1)
    for k in range(1, 40):
        term *= mp.mpf((2 * k - 1) ** 2) / (8 * k * x)
        total += term
    return total / mp.sqrt(2 * mp.pi * x)


def tails(a, b):
    """Q1 and its complement. The smaller is below exp(-(a - b)^2 / 2)."""
    a, b = mp.mpf(a), mp.mpf(b)

    def density(x):  # over that at b, Bessel's part aside: quad's errors are absolute
        return x / b * mp.exp((b - a) ** 2 / 2 - (x - a) ** 2 / 2) * scaled_bessel(a * x)
    if b == 0 or a - b > 39:
        return mp.mpf(1), mp.mpf(0)
    # So far from b the density has fallen by exp(-65).
    apart = abs(b - a)
    far = mp.sqrt(apart ** 2 + 130) - apart
    scale = b * mp.exp(-(b - a) ** 2 / 2)
    parts = [mp.mpf(0), mp.mpf("0.08"), mp.mpf("0.25"), mp.mpf("0.55"), mp.mpf(1)]
    if a < b:
        ends = [b + far * part for part in parts]
        upper = scale * mp.quad(density, ends, method="gauss-legendre")
        return upper, 1 - upper
    ends = [b - min(far, b) * part for part in parts[::-1]]
    lower = scale * mp.quad(density, ends, method="gauss-legendre")
    return 1 - lower, lower


def poisson_sum(a, b):
    """P1 as a mixture of central chi-squares with Poisson's weights."""
    half, x = mp.mpf(a) ** 2 / 2, mp.mpf(b) ** 2 / 2
    return mp.nsum(lambda j: mp.exp(-half) * half ** j / mp.factorial(j) *
                   mp.gammainc(j + 1, 0, x, regularized=True), [0, 150], method="d")


def main():
    for a, b in [(0.5, 1.0), (3.0, 2.5), (5.0, 6.0), (8.0, 5.2565217697569321)]:
        off = abs(tails(a, b)[1] - poisson_sum(a, b))
        if off > mp.mpf(10) ** -22:
            sys.exit(f"two ways differ at {a}, {b}: {mp.nstr(off, 3)}")
    print("# Q1(kappa ratio, kappa) and its complement; made by tools/marcum.py")
    print("kappa,ratio,q1,p1")
    for kappa in KAPPAS:
        for ratio in RATIOS:
            upper, lower = tails(kappa * ratio, kappa)
            print(f"{kappa!r},{ratio!r},{mp.nstr(upper, 20)},{mp.nstr(lower, 20)}")


if __name__ == "__main__":
    main()
