"""Twenty-one kinds that have what the older ones lack: bunches, tails, ribbons, threads, big handles, long necks, pairs.

Each G_* takes a random.Random and a Col (products.py) and gives a list of objects of any size; they stand on z = 0 or lie there. Six of
them are held out of training (BEYOND); the set `beyond` shows them and nothing else. Every draw, also one that decides nothing, is part
of the seeds' meaning.
"""

import math

import bpy  # noqa: F401 (gives mathutils)
import numpy as np
from mathutils import Matrix

from goods_parts import *

TWIG = [(0.36, 0.24, 0.15), (0.5, 0.36, 0.22), (0.24, 0.17, 0.12), (0.62, 0.5, 0.32)]
STRAW = [(0.82, 0.68, 0.42), (0.9, 0.8, 0.58), (0.66, 0.5, 0.3), (0.75, 0.7, 0.6)]


def arch(w, h, z=0.0, y=0.0, n=26, p=1.0):
    """Points of an arch over the origin, `w` wide, `h` high, from left to right."""
    return [(-w / 2 * math.cos(t), y, z + h * math.sin(t) ** p) for t in np.linspace(0, math.pi, n)]


def wavy(r, x, y, L, ang, wave=0.1, n=16, z=0.012):
    """Points of a ribbon or thread that runs L from (x, y) towards `ang`, lying."""
    k, q, b = r.uniform(1, 3), r.uniform(0, 6), r.uniform(-0.5, 0.5)
    out = []
    for t in np.linspace(0, 1, n):
        a, s = ang + b * t, wave * L * (math.sin(k * 3.1 * t + q) - math.sin(q)) * t
        out.append((x + L * t * math.cos(a) - s * math.sin(a), y + L * t * math.sin(a) + s * math.cos(a), z))
    return out


def ribbon(points, w, m):
    """A flat band along lying points."""
    return tube(points, w / 2, m, seg=8, flat=0.12)


def bow(r, x, y, s, m, z=0.03, tails=2):
    """A bow with loops and tails, lying at (x, y), its loops to the sides."""
    o = []
    for k in (-1, 1):
        o.append(tube([(x, y, z), (x + k * s * 0.6, y + s * 0.3, z), (x + k * s, y, z), (x + k * s * 0.6, y - s * 0.22, z), (x, y, z)], s * 0.1, m, seg=8, flat=0.5))
    for k in range(tails):
        o.append(tube(wavy(r, x, y, s * r.uniform(1, 2.6), -math.pi / 2 + r.uniform(-0.9, 0.9), z=z), s * 0.09, m, seg=6, flat=0.3))
    return o + [ball(s * 0.16, m, (x, y, z), 2, 0.7)]


def G_lantern(r, C):
    m = r.choice([wire(r), wood(r), C.mat(['matte', 'metal', 'gloss'])])
    n, R, h = r.choice([3, 4, 4, 6, 8]), r.uniform(0.22, 0.34), r.uniform(0.5, 0.95)
    o = [cyl(R * 1.15, 0.05, m)]
    o += move([lathe([(R * 1.2, 0), (R * 1.15, 0.04), (R * 0.5, r.uniform(0.1, 0.3)), (0.05, 0.32), (0, 0.33)], m, seg=n if n < 8 else 48, smoothp=r.random() < 0.5)], z=h)
    q = r.uniform(0.008, 0.025)
    for i in range(n):
        a = 2 * math.pi * (i + 0.5) / n
        o.append(tube([(R * math.cos(a), R * math.sin(a), 0.03), (R * math.cos(a), R * math.sin(a), h + 0.02)], q, m, seg=8))
    if r.random() < 0.5:
        o.append(lathe([(R * 0.9, 0.05), (R * 0.92, h)], make_mat('glass', (0.95, 0.97, 0.97), r), smoothp=False))
    o += [cyl(R * 0.35, h * r.uniform(0.25, 0.6), make_mat('wax', r.choice([(0.93, 0.88, 0.76), C.alt_c]), r), z=0.05)]
    b = [tube(arch(R * r.uniform(0.8, 2.0), r.uniform(0.25, 0.8), h + 0.2 if r.random() < 0.5 else h, p=r.uniform(0.6, 1.2)), r.uniform(0.008, 0.02), wire(r), seg=8)]
    xf(b, Matrix.Rotation(r.uniform(-0.6, 0.6), 4, 'X') if r.random() < 0.3 else Matrix.Identity(4))
    return o + move(b, rz=r.uniform(0, 3))


def G_trug(r, C):
    m = pattern_mat('wicker', r.randint(0, 10**6), r.uniform(0.2, 0.5))[0] if r.random() < 0.5 else r.choice([wood(r), C.mat(['matte', 'fabric', 'metal'])])
    d, k = r.uniform(0.2, 0.4), r.uniform(1.2, 2.2)
    o = [lathe([(0, 0), (0.25, 0), (0.42, d * 0.6), (0.5, d), (0.5, d), (0.47, d), (0.4, d * 0.6), (0.22, 0.04), (0, 0.04)], m, n=6)]
    o.append(hoop(0.49, 0.03, m, d))
    xf(o, Matrix.Diagonal((1, k, 1, 1)))
    return o + [tube(arch(0.98, r.uniform(0.45, 0.95), d * 0.7, p=r.uniform(0.5, 1.1)), r.uniform(0.018, 0.05), r.choice([m, wood(r)]), flat=r.uniform(0.5, 2.2))]


def G_herbs(r, C):
    """A bunch of stems with leaves or grains along them, tied, lying."""
    o, ms = [], [make_mat('matte', c, r) for c in r.sample(GREEN + TWIG, 3)]
    grain, cord = make_mat('matte', r.choice([(0.5, 0.42, 0.62), (0.85, 0.75, 0.5), (0.7, 0.4, 0.35), C.color]), r), C.mat(['fabric'], alt=True)
    kind, spread = r.choice(['spike', 'leaves', 'ears', 'bare']), r.uniform(0.12, 0.5)
    for _ in range(r.randint(10, 26)):
        u, L, z = r.uniform(-spread, spread), r.uniform(0.6, 1.0), 0.02 + 0.12 * r.random()
        end = (u * L, L, z)
        o.append(tube([(-u * 0.6, -r.uniform(0.2, 0.45), z * 0.6), (0, 0, z), (u * L * 0.5, L * 0.5, z), end], r.uniform(0.004, 0.011), r.choice(ms), seg=5))
        if kind == 'spike':
            o.append(tube([(u * L * t, L * t, z) for t in np.linspace(0.68, 1.06, 9)], [0.012, 0.03, 0.02, 0.034, 0.022, 0.034, 0.02, 0.024, 0.008], grain, seg=7))
        elif kind == 'leaves':
            m = r.choice(ms)
            for t in (0.4, 0.55, 0.7, 0.85, 1.0):
                o += move([leaf(r.uniform(0.07, 0.16), m, r.uniform(0.15, 0.4))], x=u * L * t, y=L * t, z=z, rz=math.pi / 2 + r.uniform(-1.3, 1.3))
        elif kind == 'ears':
            o.append(blob(r.uniform(0.02, 0.05), r.uniform(0.05, 0.13), 0.03, grain, 0.3, 7, 2, r.uniform(0, 9), end))
    o.append(hoop(0.07, 0.02, cord, 0.07))
    return o + (bow(r, 0, 0, r.uniform(0.08, 0.2), cord, 0.14) if r.random() < 0.6 else [])


def G_besom(r, C):
    """A stick with a bundle of twigs."""
    m, cord, L = make_mat('matte', r.choice(TWIG + STRAW), r), C.mat(['fabric', 'gloss'], alt=True), r.uniform(0.5, 1.4)
    o = [tube([(0, 0.1, 0.08), (r.uniform(-0.02, 0.02), L * 0.5, 0.08), (0, L, 0.08)], [0.03, 0.028, 0.03], r.choice([wood(r), make_mat('matte', r.choice(TWIG), r)]), seg=10)]
    w, l = r.uniform(0.1, 0.5), r.uniform(0.35, 0.7)
    for _ in range(r.randint(40, 70)):
        u, q = r.uniform(-1, 1), r.uniform(-1, 1)
        o.append(tube([(u * 0.045, 0.3, 0.08 + q * 0.04), (u * 0.06, 0.1, 0.08 + q * 0.05), (u * w, -l * r.uniform(0.8, 1.1), max(0.01, 0.08 + q * 0.07))], [0.008, 0.007, 0.003], m, seg=4))
    for y in [0.27, 0.2, 0.12][: r.randint(1, 3)]:
        b = [hoop(0.062, 0.012, cord)]
        xf(b, Matrix.Translation((0, y, 0.08)) @ Matrix.Rotation(math.pi / 2, 4, 'X'))
        o += b
    if r.random() < 0.4:
        o.append(tube([(0, L - 0.04, 0.1), (0.06, L + 0.1, 0.05), (0, L + 0.18, 0.02), (-0.06, L + 0.1, 0.05), (0, L - 0.04, 0.1)], 0.008, cord, seg=5))
    return o


def G_garlic(r, C):
    """A plait of bulbs, its stalks at one end."""
    m = make_mat(r.choice(['gloss', 'matte']), r.choice([(0.93, 0.9, 0.85), (0.85, 0.75, 0.8), (0.75, 0.5, 0.3), (0.7, 0.2, 0.15), C.color]), r)
    stalk, n, o = make_mat('matte', r.choice(STRAW + GREEN), r), r.randint(5, 13), []
    R, bend = r.uniform(0.08, 0.13), r.uniform(-0.2, 0.2)
    for i in range(n):
        t = i / max(1, n - 1)
        x, y = bend * math.sin(3 * t) + (1 if i % 2 else -1) * R * 0.8, t * n * R * 0.95
        o += move([lathe([(0, 0), (R * 0.8, R * 0.2), (R, R * 0.7), (R * 0.45, R * 1.4), (R * 0.15, R * 2.0), (0.006, R * 2.5)], m, n=4, flute=7, fdepth=0.06)], x=x, y=y, z=R, rx=-math.pi / 2, rz=(-0.6 if i % 2 else 0.6) + r.uniform(-0.3, 0.3))
        o.append(tube([(x, y, R), (bend * math.sin(3 * t), y + R * 2, R), (0, n * R, R * 0.8)], R * 0.14, stalk, seg=6))
    for _ in range(r.randint(4, 12)):
        o.append(tube(wavy(r, 0, n * R * 0.95, r.uniform(0.25, 0.7), math.pi / 2 + r.uniform(-0.3, 0.3), z=0.06), 0.012, stalk, seg=5))
    return o


def G_kite(r, C):
    w, h = r.uniform(0.5, 0.8), r.uniform(0.7, 1.0)
    poly = r.choice([[(0, -h * 0.6), (w / 2, 0), (0, h * 0.4), (-w / 2, 0)], [(-w / 2, -0.1), (0, -h * 0.5), (w / 2, -0.1), (0, h * 0.3)], [(-w / 2, -h * 0.4), (w / 2, -h * 0.4), (w / 2, h * 0.35), (-w / 2, h * 0.35)]])
    o = [slab(poly, 0.008, print_mat(r, C.color, r.uniform(0.3, 0.9)), z=0.012)]
    stick, cord, low = wood(r), C.mat(['fabric'], alt=True), min(y for _, y in poly)
    o += [tube([(0, low, 0.02), (0, max(y for _, y in poly), 0.02)], 0.01, stick, seg=6), tube([(-w / 2, poly[1][1] if len(poly) == 4 else 0, 0.02), (w / 2, poly[1][1], 0.02)], 0.01, stick, seg=6)]
    tail = wavy(r, 0, low, r.uniform(0.5, 1.3), -math.pi / 2 + r.uniform(-0.6, 0.6), 0.16, 24)
    o.append(tube(tail, r.uniform(0.006, 0.012), cord, seg=5))
    for p in tail[4 :: r.choice([3, 4, 6])]:
        c = make_mat('fabric', r.choice([C.color, C.alt_c, r.choice(PAL)]), r)
        for s in (0, math.pi):
            o += move([slab([(0, 0), (0.09, 0.045), (0.09, -0.045)], 0.008, c)], x=p[0], y=p[1], z=0.01, rz=s + r.uniform(-0.6, 0.6))
    return o


def G_mobile(r, C):
    """Things on threads from a stick or a ring, laid flat."""
    cord, o = make_mat('fabric', r.choice([(0.9, 0.87, 0.8), (0.2, 0.2, 0.2), C.alt_c]), r), []
    w, n = r.uniform(0.6, 1.1), r.randint(3, 6)
    if r.random() < 0.5:
        o.append(tube([(-w / 2, 0, 0.03), (0, r.uniform(-0.04, 0.04), 0.03), (w / 2, 0, 0.03)], r.uniform(0.015, 0.03), wood(r)))
    else:
        o.append(hoop(w / 2, r.uniform(0.012, 0.03), r.choice([wood(r), wire(r), C.mat(['fabric', 'matte'])]), 0.03))
        xf(o, Matrix.Diagonal((1, r.uniform(0.25, 1), 1, 1)))
    o.append(tube([(-w / 2, 0, 0.03), (0, r.uniform(0.35, 0.6), 0.02), (w / 2, 0, 0.03)], 0.006, cord, seg=5))
    what = r.choice(['ball', 'star', 'drop', 'leaf', 'mixed'])
    for i in range(n):
        x = w * ((i + 0.5) / n - 0.5) * 0.95
        L = r.uniform(0.25, 0.95)
        p = wavy(r, x, -0.01, L, -math.pi / 2 + r.uniform(-0.12, 0.12), 0.04)
        o.append(tube(p, 0.006, cord, seg=5))
        for q in [p[-1]] + ([p[8]] if r.random() < 0.5 else []):
            m, k, s = C.mat(['fabric', 'carpet', 'gloss', 'wood', 'paper'], alt=r.random() < 0.5), r.choice(['ball', 'star', 'drop', 'leaf']) if what == 'mixed' else what, r.uniform(0.05, 0.1)
            if k == 'ball':
                o.append(ball(s, m, (q[0], q[1], s), 3))
            elif k == 'star':
                o += move([slab([((s * 1.5 if j % 2 else s * 0.7) * math.sin(j * math.pi / 5), (s * 1.5 if j % 2 else s * 0.7) * math.cos(j * math.pi / 5)) for j in range(10)][::-1], 0.03, m)], x=q[0], y=q[1], rz=r.uniform(0, 6))
            elif k == 'drop':
                o.append(blob(s * 0.7, s * 1.4, s * 0.6, m, at=(q[0], q[1] - s, s * 0.6), sub=3))
            else:
                o += move([leaf(s * 3, m, 0.3)], x=q[0], y=q[1], rz=-math.pi / 2 + r.uniform(-0.5, 0.5))
    return o


def G_mouse(r, C):
    m, k = C.mat(['fabric', 'carpet', 'knit', 'matte', 'wood', 'gloss'], scale=2), make_mat('gloss', (0.05, 0.04, 0.04), r)
    o = [blob(0.4, 0.22, 0.2, m, at=(0, 0, 0.2)), blob(0.16, 0.12, 0.11, m, at=(0.36, 0, 0.17)), ball(0.03, k, (0.52, 0, 0.17), 2)]
    for s in (-1, 1):
        e = [lathe([(0, 0), (0.1, 0.005), (0.12, 0.03), (0.1, 0.03), (0, 0.015)], C.mat(['fabric', 'matte'], alt=True), n=3)]
        o += move(e, x=0.24, y=s * 0.15, z=0.36, ry=r.uniform(0.9, 1.5), rz=s * 0.5)
        o.append(ball(0.018, k, (0.45, s * 0.07, 0.23), 2))
        for a in (-0.3, 0, 0.3) if r.random() < 0.5 else ():
            o.append(tube([(0.48, s * 0.04, 0.17), (0.5, s * 0.28, 0.17 + a * 0.3)], 0.003, k, seg=4))
    t, turns = np.linspace(0, 1, 30), r.uniform(0.5, 2.5)
    L, q = r.uniform(0.5, 1.3), r.uniform(0.05, 0.25)
    o.append(tube([(-0.36 - L * a, q * math.sin(turns * 4 * a), 0.12 + (r.random() < 0.3) * 0.0 + 0.05 * math.sin(3 * a)) for a in t], np.linspace(0.03, 0.01, 30), C.mat(['fabric', 'matte'], alt=r.random() < 0.6), seg=8))
    return o


def G_heron(r, C):
    """A bird or beast with a long neck on thin legs."""
    m, leg = C.mat(['wood', 'matte', 'metal', 'speckle', 'fabric', 'gloss']), r.choice([wire(r), wood(r), make_mat('matte', (0.08, 0.07, 0.06), r)])
    h, n, long = r.uniform(0.35, 0.8), r.choice([1, 2, 2, 4]), r.uniform(0.25, 0.7)
    o = [blob(r.uniform(0.25, 0.4), r.uniform(0.12, 0.2), r.uniform(0.12, 0.22), m, 0.05, 2, 4, at=(0, 0, h + 0.12))]
    feet = {1: [(0, 0)], 2: [(0.02, -0.06), (-0.02, 0.06)], 4: [(0.2, -0.08), (0.2, 0.08), (-0.2, -0.08), (-0.2, 0.08)]}[n]
    for x, y in feet:
        o.append(tube([(x * 1.2, y * 1.4, 0.0), (x, y, h + 0.08)], r.uniform(0.008, 0.025), leg, seg=7))
    neck = [(0.24, 0, h + 0.16), (0.36, 0, h + 0.22 + long * 0.3), (0.28 + r.uniform(-0.05, 0.1), 0, h + 0.2 + long * 0.7), (0.36, 0, h + 0.2 + long)]
    o.append(tube(resample(neck, 8), np.linspace(0.06, 0.035, 25), m))
    x, _, z = neck[-1]
    o += [blob(0.085, 0.055, 0.06, m, at=(x + 0.03, 0, z + 0.01), sub=3), tube([(x + 0.08, 0, z), (x + r.uniform(0.14, 0.42), 0, z - 0.03)], [0.03, 0.006], C.mat(['matte', 'gloss'], alt=True), seg=8)]
    o += [tube([(-0.25, 0, h + 0.13), (-0.5, 0, h + r.uniform(-0.1, 0.3))], [0.06, 0.02], m, flat=0.5)]
    if n < 3 or r.random() < 0.3:
        o.append(slab(rounded(r.uniform(0.3, 0.7), 0.3, 0.1), 0.035, wood(r)))
    return o


def G_maracas(r, C):
    def one():
        m, R, L = C.mat(['gloss', 'wood', 'dip', 'matte'], alt=r.random() < 0.2), r.uniform(0.15, 0.22), r.uniform(0.35, 0.6)
        p = [lathe([(0.03, 0), (0.035, L), (0.05, L + 0.02), (R * 0.7, L + R * 0.4), (R, L + R * 1.2), (R * 0.6, L + R * 2.1), (0, L + R * 2.3)], m, n=6), lathe([(0, -0.04), (0.04, -0.03), (0.045, 0), (0.03, 0.03)], wood(r))]
        p.append(lathe([(R * 1.004, L + R * 1.1), (R * 1.004, L + R * 1.4)], C.mat(['gloss', 'paper'], alt=True), smoothp=False))
        return move(p, z=R, rx=-math.pi / 2)

    return pair(r, one, r.uniform(0.35, 0.6))


def G_tambourine(r, C):
    R, h, o = 0.45, r.uniform(0.08, 0.18), []
    o.append(lathe([(R, 0), (R, h), (R - 0.025, h), (R - 0.025, 0), (R, 0)], r.choice([wood(r), C.mat(['gloss', 'matte'])]), smoothp=False))
    if r.random() < 0.5:
        o.append(lathe([(0, h), (R, h), (R, h - 0.03)], make_mat('paper', r.choice([(0.92, 0.88, 0.78), C.light()]), r), smoothp=False))
    n, m = r.randint(4, 9), wire(r)
    for i in range(n):
        a = 2 * math.pi * i / n
        o += move([lathe([(0, 0), (0.045, 0.004), (0.05, 0.012), (0, 0.008)], m, n=2)], x=(R - 0.01) * math.cos(a), y=(R - 0.01) * math.sin(a), z=h * 0.5)
    for _ in range(r.randint(2, 7)):
        a = r.uniform(-0.7, 0.7)
        o.append(ribbon(wavy(r, R * math.cos(a), R * math.sin(a), r.uniform(0.3, 1.0), a + r.uniform(-0.4, 0.4), 0.12, z=0.015), r.uniform(0.03, 0.07), make_mat('gloss', r.choice(PAL), r)))
    return o


def G_bonnet(r, C):
    """A brimmed hat with a ribbon whose ends trail."""
    m = pattern_mat('wicker', r.randint(0, 10**6), r.uniform(0.15, 0.4))[0] if r.random() < 0.6 else C.mat(['linen', 'fabric', 'knit'], scale=2)
    band, R, brim, h = C.mat(['gloss', 'fabric'], alt=True), r.uniform(0.2, 0.28), r.uniform(0.4, 0.6), r.uniform(0.18, 0.34)
    o = [lathe([(brim, r.uniform(0.0, 0.12)), (R + 0.05, 0.03), (R, 0.06), (R * 0.98, h * 0.6), (R * 0.75, h), (0, h * r.uniform(0.9, 1.05))], m, n=6, wob=r.uniform(0, 0.06), rng=r), lathe([(R * 1.02, 0.05), (R * 1.01, 0.12)], band, smoothp=False)]
    a = r.uniform(0, 6.3)
    for s in (-1, 1):
        b = a + s * r.uniform(0.05, 0.3)
        p = wavy(r, R * math.cos(b), R * math.sin(b), brim - R + r.uniform(0.2, 0.8), b, 0.1)
        lift = lambda q: 0.09 if math.hypot(q[0], q[1]) < brim + 0.02 else 0.012
        o.append(ribbon([(x, y, lift((x, y))) for x, y, _ in p], r.uniform(0.03, 0.08), band))
    if r.random() < 0.5:
        o += [ball(r.uniform(0.04, 0.08), make_mat('matte', r.choice(PAL), r), (R * math.cos(a + k * 0.3) * 1.08, R * math.sin(a + k * 0.3) * 1.08, 0.1), 2) for k in (-1, 0, 1)]
    return o


def G_chamberstick(r, C):
    """A candle on a dish with a ring to hold it by."""
    m, R, h = C.mat(['metal', 'gloss', 'speckle', 'matte']), r.uniform(0.3, 0.45), r.uniform(0.3, 1.1)
    o = [lathe([(0, 0), (R * 0.8, 0), (R, 0.08), (R * 0.97, 0.1), (R * 0.75, 0.03), (0.12, 0.03), (0.09, 0.16), (0.11, 0.18), (0.075, 0.18), (0, 0.06)], m, n=5)]
    o += [cyl(0.07, h, make_mat('wax', r.choice([(0.93, 0.88, 0.76), C.alt_c, (0.75, 0.2, 0.15)]), r), z=0.08), tube([(0, 0, h + 0.07), (0.01, 0, h + 0.13)], 0.01, make_mat('matte', (0.1, 0.08, 0.07), r), seg=5)]
    q = r.uniform(0.09, 0.2)
    ring = [hoop(q, r.uniform(0.012, 0.03), m)]
    xf(ring, Matrix.Translation((R + q * 0.8, 0, max(q, 0.09))) @ Matrix.Rotation(math.pi / 2, 4, 'X'))
    return o + ring


def G_skipping_rope(r, C):
    cord, o = C.mat(['fabric', 'linen', 'gloss']), []
    mode, rad = r.choice(['coil', 'loop', 'heap']), r.uniform(0.014, 0.032)
    if mode == 'coil':
        t = np.linspace(0, 2 * math.pi * r.uniform(2, 5), 140)
        p = [((0.22 + 0.012 * a) * math.cos(a), (0.22 + 0.012 * a) * math.sin(a) * 0.8, rad + 0.004 * a) for a in t]
    elif mode == 'loop':
        p = [(0.45 * math.sin(t) * (1 + 0.3 * math.cos(2 * t)), -0.5 * math.cos(t) + 0.1 * math.sin(3 * t), rad) for t in np.linspace(0.3, 6.0, 90)]
    else:
        a, b = r.uniform(0, 6), r.uniform(0, 6)
        p = [(0.4 * math.sin(2 * t + a) + 0.15 * math.sin(5 * t), 0.35 * math.cos(3 * t + b), rad + 0.01 * t) for t in np.linspace(0, 6, 150)]
    o.append(tube(p, rad, cord, seg=8))
    for q, s in ((p[0], p[2]), (p[-1], p[-3])):
        a = math.atan2(q[1] - s[1], q[0] - s[0])
        g = [lathe([(0, 0), (0.03, 0), (0.05, 0.06), (0.035, 0.2), (0.045, 0.3), (0, 0.32)], r.choice([wood(r), C.mat(['gloss'], alt=True)]), n=5)]
        xf(g, Matrix.Translation((q[0], q[1], 0.05)) @ Matrix.Rotation(a, 4, 'Z') @ Matrix.Rotation(math.pi / 2, 4, 'Y'))
        o += g
    return o


def G_tassels(r, C):
    """Tassels on a cord, lying."""
    n, cord, o = r.randint(1, 5), C.mat(['fabric', 'gloss'], alt=True), []
    w, sag = 0.28 * n, r.uniform(0, 0.25)
    at = lambda u: (u * w, -sag * (1 - 4 * u * u), 0.02)
    if n == 1:
        o.append(tube([(0, 0, 0.03), (0.07, 0.2, 0.02), (0, 0.5, 0.02), (-0.07, 0.2, 0.02), (0, 0, 0.03)], 0.01, cord, seg=6))
    else:
        o.append(tube([at(u) for u in np.linspace(-0.62, 0.62, 24)], 0.01, cord, seg=6))
    for i in range(n):
        x, y, _ = at((i + 0.5) / n - 0.5) if n > 1 else (0, 0, 0)
        m, L, f = C.mat(['fabric', 'linen', 'gloss'], alt=r.random() < 0.3), r.uniform(0.3, 0.6), r.uniform(0.06, 0.2)
        o.append(ball(0.05, m, (x, y - 0.03, 0.05), 3))
        for _ in range(26):
            u, z = r.uniform(-1, 1), r.random()
            o.append(tube([(x + u * 0.035, y - 0.06, 0.03 + 0.04 * z), (x + u * f * 0.6, y - L * 0.5, 0.03 + 0.03 * z), (x + u * f, y - L * r.uniform(0.93, 1.04), 0.015)], 0.007, m, seg=4))
    return o


def G_watering_can(r, C):
    m = C.mat(['metal', 'gloss', 'matte', 'speckle'])
    R, h = r.uniform(0.24, 0.34), r.uniform(0.35, 0.6)
    o = [lathe([(0, 0), (R, 0), (R, 0.02), (R * r.uniform(0.75, 1), h), (R * 0.7, h + 0.04), (R * 0.6, h + 0.04), (R * 0.62, h - 0.05), (0, h - 0.06)], m, n=4)]
    L, top = r.uniform(0.35, 0.75), h * r.uniform(0.9, 1.5)
    o.append(tube([(R * 0.8, 0, h * 0.2), (R + L * 0.5, 0, h * 0.55), (R + L, 0, top)], [0.06, 0.035, 0.03], m))
    rose = [lathe([(0.03, 0), (0.09, 0.1), (0.09, 0.115), (0, 0.12)], m, n=3)]
    o += move(rose, x=R + L - 0.01, z=top - 0.02, ry=r.uniform(0.6, 1.3)) if r.random() < 0.7 else rose[:0]
    o.append(tube([(-R * 0.95, 0, h * 0.25), (-R - 0.22, 0, h * 0.5), (-R - 0.12, 0, h * 1.05), (-R * 0.7, 0, h)], 0.025, m, flat=1.6))
    return o + ([tube([(-R * 0.7, 0, h), (0, 0, h + r.uniform(0.25, 0.45)), (R * 0.75, 0, h)], 0.022, m)] if r.random() < 0.6 else [])


def G_rocking_horse(r, C):
    m, run, dark = r.choice([wood(r), C.mat(['gloss', 'matte', 'fabric', 'dip'])]), r.choice([wood(r), C.mat(['gloss'], alt=True)]), C.mat(['carpet', 'matte'], alt=True)
    o = [blob(0.38, 0.15, 0.17, m, at=(0, 0, 0.62)), tube([(0.26, 0, 0.66), (0.42, 0, 0.9), (0.46, 0, 1.02)], [0.12, 0.085, 0.08], m), blob(0.16, 0.07, 0.075, m, at=(0.55, 0, 1.0), sub=3)]
    for s in (-1, 1):
        o += [tube([(0.26, s * 0.1, 0.58), (0.36, s * 0.17, 0.12)], [0.05, 0.03], m), tube([(-0.26, s * 0.1, 0.58), (-0.36, s * 0.17, 0.12)], [0.06, 0.03], m)]
        o.append(tube([(0.75 * math.sin(t), s * 0.18, 0.9 - 0.85 * math.cos(t) * 1.0) for t in np.linspace(-0.75, 0.75, 18)], 0.03, run, flat=1.5))
        o.append(lathe([(0.03, 0), (0.015, 0.06), (0, 0.09)], m, n=2))
        move(o[-1:], x=0.44, y=s * 0.04, z=1.05)
    o += [tube([(-0.36, 0, 0.68), (-0.52, 0, 0.66), (-0.56, 0, 0.4)], [0.03, 0.05, 0.01], dark), tube([(0.24, 0, 0.82), (0.36, 0, 0.98), (0.44, 0, 1.09)], 0.035, dark, flat=2)]
    return o + [tube([(0.5, -0.16, 0.97), (0.5, 0.16, 0.97)], 0.018, run), rbox(0.2, 0.24, 0.03, 0.01, dark, 2)][: r.randint(1, 1)]


def G_ukulele(r, C):
    m, k = r.choice([wood(r), wood(r), C.mat(['gloss', 'dip'])]), r.uniform(0.8, 1.1)
    body = smooth_outline([(0, -0.42), (0.27 * k, -0.34), (0.3 * k, -0.12), (0.19, 0.07), (0.22 * k, 0.24), (0.1, 0.36), (0, 0.37), (-0.1, 0.36), (-0.22 * k, 0.24), (-0.19, 0.07), (-0.3 * k, -0.12), (-0.27 * k, -0.34)])
    d, L, dark = r.uniform(0.08, 0.16), r.uniform(0.4, 0.7), make_mat('wood', (0.2, 0.13, 0.09), r)
    o = [slab(body, d, m, side=wood(r)), slab(circle(0.075, cy=0.12), 0.004, make_mat('matte', (0.03, 0.02, 0.02), r), z=d)]
    o += [slab([(-0.035, 0.25), (0.035, 0.25), (0.028, 0.36 + L), (-0.028, 0.36 + L)], 0.03, dark, z=d), slab([(-0.03, 0.35 + L), (0.03, 0.35 + L), (0.06, 0.4 + L), (0.05, 0.54 + L), (-0.05, 0.54 + L), (-0.06, 0.4 + L)], 0.035, m, z=d - 0.005)]
    o += [slab([(-0.08, -0.24), (0.08, -0.24), (0.08, -0.2), (-0.08, -0.2)], 0.02, dark, z=d)]
    for i in range(4):
        x = (i - 1.5) * 0.016
        o.append(tube([(x * 1.6, -0.22, d + 0.02), (x, 0.36 + L, d + 0.035)], 0.0022, make_mat('metal', (0.8, 0.8, 0.8), r), seg=4))
        o.append(ball(0.018, wire(r), ((0.075 if i % 2 else -0.075), 0.43 + L + 0.05 * (i // 2), d + 0.01), 2))
    return o


def G_rag_doll(r, C):
    skin, cloth, hair = make_mat('fabric', r.choice([(0.93, 0.8, 0.7), (0.75, 0.56, 0.42), (0.45, 0.3, 0.22), (0.9, 0.87, 0.8)]), r), print_mat(r, C.color, 0.5), make_mat('carpet', r.choice([(0.4, 0.25, 0.15), (0.75, 0.5, 0.25), (0.1, 0.08, 0.07), (0.7, 0.3, 0.2), C.alt_c]), r)
    o = [blob(0.17, 0.19, 0.12, skin, at=(0, 0.62, 0.12))]
    o += move([lathe([(r.uniform(0.2, 0.36), 0), (0.14, 0.3), (0.1, 0.46), (0, 0.48)], cloth, n=4, wob=0.04, rng=r)], rx=-math.pi / 2, z=0.1)
    xf(o[1:], Matrix.Diagonal((1, 1, 0.55, 1)))
    for s in (-1, 1):
        o += [tube([(s * 0.09, 0.4, 0.08), (s * r.uniform(0.25, 0.4), r.uniform(0.15, 0.5), 0.06)], [0.05, 0.04], r.choice([skin, cloth])), tube([(s * 0.07, 0.02, 0.06), (s * r.uniform(0.08, 0.18), -r.uniform(0.3, 0.5), 0.05)], [0.055, 0.045], r.choice([skin, cloth]))]
        o += [blob(0.05, 0.08, 0.06, C.mat(['fabric', 'matte'], alt=True), at=(o[-1].data.vertices[-1].co.x, o[-1].data.vertices[-1].co.y, 0.055), sub=3), ball(0.016, make_mat('gloss', (0.05, 0.05, 0.06), r), (s * 0.06, 0.64, 0.235), 2)]
    for _ in range(r.randint(30, 60)):
        a = r.uniform(-0.3, math.pi + 0.3)
        x, y = 0.17 * math.cos(a), 0.64 + 0.17 * math.sin(a)
        o.append(tube([(x * 0.4, 0.76, 0.2), (x, y, 0.15), (x * r.uniform(1.2, 1.8), y - r.uniform(0.05, 0.35), 0.05)], 0.013, hair, seg=5))
    return o


def G_pinwheel(r, C):
    n, R = r.choice([4, 4, 5, 6, 8]), 0.36
    ms = [print_mat(r, c, 0.4) for c in (C.color, C.alt_c)]
    L = r.uniform(0.6, 1.1)
    o = [tube([(0, 0, 0.05), (0, -L, 0.02)], r.uniform(0.01, 0.02), r.choice([wood(r), C.mat(['gloss'], alt=True)]))]
    for i in range(n):
        w = 2 * math.pi / n
        p = [(0, 0, 0.07), (R, 0, 0.06), (R * math.cos(w * 0.55) * 0.95, R * math.sin(w * 0.55) * 0.95, 0.08), (R * 0.55 * math.cos(w * 0.8), R * 0.55 * math.sin(w * 0.8), 0.16), (0.03, 0.03, 0.14)]
        o += move([mesh('vane', p, [(0, 1, 2), (0, 2, 3), (0, 3, 4)], ms[i % 2], smooth=False)], rz=w * i)
    return o + [ball(0.035, C.mat(['gloss', 'metal'], alt=True), (0, 0, 0.15), 3)]


def G_hanger(r, C):
    """A padded clothes hanger with its hook."""
    m, w, d = print_mat(r, C.color, 0.4) if r.random() < 0.6 else wood(r), r.uniform(0.9, 1.1), r.uniform(0.12, 0.3)
    p = [(w * u, -d * (2 * abs(u)) ** 1.5, 0.06) for u in np.linspace(-0.5, 0.5, 24)]
    o = [tube(p, r.uniform(0.03, 0.065), m)]
    h = r.uniform(0.22, 0.34)
    o.append(tube([(0, 0, 0.06), (0, h * 0.5, 0.06)] + [(0.09 - 0.09 * math.cos(t), h * 0.5 + 0.1 * math.sin(t) + 0.05, 0.05) for t in np.linspace(0, 4.2, 16)], 0.013, wire(r), seg=8))
    if r.random() < 0.5:
        o += bow(r, 0, 0, r.uniform(0.07, 0.14), C.mat(['gloss', 'fabric'], alt=True), 0.12)
    return o + ([tube([p[1], (0, -d - 0.06, 0.04), p[-2]], 0.012, r.choice([wire(r), wood(r)]))] if r.random() < 0.4 else [])


BEYOND = 'watering_can rocking_horse ukulele rag_doll pinwheel hanger'.split()
NAMES = 'lantern trug herbs besom garlic kite mobile mouse heron maracas tambourine bonnet chamberstick skipping_rope tassels'.split()
THIN = {k: globals()['G_' + k] for k in NAMES + BEYOND}
LYING = {'herbs', 'besom', 'garlic', 'kite', 'mobile', 'skipping_rope', 'tassels', 'ukulele', 'rag_doll', 'pinwheel', 'hanger'}
