"""Seven further surface pictures, drawn after the fifty of patterns.py; one of them is held out of training.

Each F_* takes a numpy Generator and a side n and gives an n x n x 3 picture, sRGB 0 to 1; importing this makes them known to `pattern`.
"""

import math

import numpy as np

import patterns
from patterns import BRIGHT, CLOTHS, STONES, WOODS, cells, mix, noise, other, pick


def F_denim(rng, n):
    y, x = np.mgrid[0:n, 0:n] / n
    c, k = pick(rng, [(0.2, 0.28, 0.42), (0.12, 0.16, 0.26), (0.45, 0.55, 0.68), (0.15, 0.15, 0.16)]), rng.uniform(50, 110)
    twill = np.sin((x + y * rng.choice([-1, 1])) * 2 * np.pi * k + noise(rng, n, 20, 3) * 0.5)
    worn = np.clip(noise(rng, n, 3, 5, 0.6, rng.uniform(1, 4)), -2, 2)
    a = c * (1 + 0.22 * twill + 0.16 * worn)[..., None]
    for _ in range(int(rng.integers(0, 3))):  # a seam in yellow thread
        at, down = rng.uniform(0, 1), rng.random() < 0.5
        d, along = (np.abs(x - at), y) if down else (np.abs(y - at), x)
        a = np.where((d < 0.012)[..., None], a * 0.75, a)
        a = np.where(((np.abs(d - 0.02) < 0.004) & (along * 40 % 1 < 0.7))[..., None], np.array([0.78, 0.55, 0.25]), a)
    return a


def F_crumpled(rng, n):
    """Paper that was crushed and laid flat again: facets, each lit by its slope."""
    c = pick(rng, CLOTHS + [(0.68, 0.52, 0.36), (0.95, 0.95, 0.94)])
    shade = np.zeros((n, n))
    for k, w in ((int(rng.integers(4, 8)), 0.09), (int(rng.integers(10, 18)), 0.05)):
        d1, d2, i = cells(rng, n, k, 0.25)
        slope = rng.normal(0, 1, (9999, 3))
        y, x = np.mgrid[0:n, 0:n] / n * k % 1 - 0.5
        shade += w * (slope[i % 9999, 0] + slope[i % 9999, 1] * x + slope[i % 9999, 2] * y) + 0.5 * w * np.exp(-((d2 - d1) / 0.04) ** 2)
    return c * (1 + shade * rng.uniform(0.4, 1.3))[..., None]


def F_log_ends(rng, n):
    """Slices of logs side by side, with rings, cracks and bark."""
    d1, d2, i = cells(rng, n, int(rng.integers(3, 7)), 0.08)
    c = np.array([pick(rng, WOODS) for _ in range(7)])[i % 7]
    rings = np.sin(d1 * rng.uniform(40, 90) + noise(rng, n, 8, 3) * 0.8)
    crack = np.abs(noise(rng, n, 5, 3)) < 0.03
    a = c * (1 + 0.13 * rings + 0.05 * noise(rng, n, 60, 2))[..., None] * np.where(crack & (d1 < 0.35), 0.5, 1)[..., None]
    bark = np.clip((0.16 - (d2 - d1)) / 0.06, 0, 1)
    return mix(a, np.array([0.2, 0.15, 0.11]) * (1 + 0.3 * noise(rng, n, 50, 3))[..., None], bark)


def F_corrugated(rng, n):
    """Corrugated card, its waves open or under paper."""
    y, _ = np.mgrid[0:n, 0:n] / n
    c, k = pick(rng, [(0.7, 0.54, 0.37), (0.78, 0.63, 0.45), (0.9, 0.88, 0.84)], 0.03), rng.uniform(18, 60)
    wave = np.sin(2 * np.pi * k * y + noise(rng, n, 4, 2) * 0.3)
    a = c * (1 + rng.uniform(0.04, 0.3) * wave + 0.04 * noise(rng, n, 60, 3, 0.6, 3))[..., None]
    return np.where((noise(rng, n, 3, 5, 0.6) > rng.uniform(1.2, 3))[..., None], a * 0.82, a)


def F_rust(rng, n):
    """Painted or bare iron that rusts."""
    base, h = pick(rng, STONES + BRIGHT), noise(rng, n, 4, 7, 0.65)
    rust = np.array([0.46, 0.25, 0.13]) * (1 + 0.35 * noise(rng, n, 30, 5, 0.7))[..., None]
    a = mix(base * (1 + 0.05 * noise(rng, n, 40, 3))[..., None], rust, (h - rng.uniform(-0.8, 1.2)) * 4)
    return a * (1 - 0.15 * np.exp(-((h - 0.4) / 0.08) ** 2))[..., None]


def F_braid(rng, n):
    """A round mat sewn of one long braid, its middle anywhere."""
    y, x = np.mgrid[0:n, 0:n] / n
    cx, cy, k = rng.uniform(0.1, 0.9), rng.uniform(0.1, 0.9), rng.uniform(10, 26)
    q, t = np.hypot(x - cx, y - cy) * k, np.arctan2(y - cy, x - cx)
    q = q + t / (2 * math.pi)
    turn = np.floor(q).astype(int)
    cols = np.array([pick(rng, CLOTHS + [(0.68, 0.55, 0.38)]) for _ in range(3)])
    plait = np.sin(t * np.maximum(turn, 1) * 6 + np.where(q % 1 < 0.5, 0, math.pi)) * np.sin(np.pi * (q % 1) * 2)
    a = cols[(turn // int(rng.integers(1, 5))) % 3] * (1 + 0.25 * plait + 0.06 * noise(rng, n, 80, 2))[..., None]
    return np.where((np.abs(q % 1 - 0.5) > 0.44)[..., None], a * 0.6, a)


def F_pebbles(rng, n):
    """Round river stones close together."""
    d1, d2, i = cells(rng, n, int(rng.integers(7, 18)), 0.1)
    c = np.array([pick(rng, STONES, 0.05) for _ in range(11)])[i % 11]
    dome = np.clip(1 - (d1 / 0.75) ** 2, 0, 1) ** 0.5
    a = c * (0.45 + 0.6 * dome + 0.06 * noise(rng, n, 40, 4))[..., None]
    return mix(a, np.array([0.12, 0.11, 0.1]), np.clip((0.1 - (d2 - d1)) / 0.05, 0, 1))


KINDS = 'denim crumpled log_ends corrugated rust braid pebbles'.split()
HELD_OUT = ['pebbles']  # never in training scenes or composites
patterns.FURTHER.update({k: globals()['F_' + k] for k in KINDS})
