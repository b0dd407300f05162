"""Sixteen further kinds of product of a craft fair; each G_* takes a random.Random and a Col (products.py) and gives a list of objects.

They stand on z = 0 or lie there, at any size. Three of them are held out of training (goods.py).
"""

import math

import bpy  # noqa: F401 (gives mathutils)
import numpy as np
from mathutils import Matrix

from goods_parts import *


def G_hat(r, C):
    m, band = C.mat(['fabric', 'linen', 'matte', 'carpet'], scale=2), C.mat(['fabric', 'gloss'], alt=True)
    if r.random() < 0.35:
        m = pattern_mat('wicker', r.randint(0, 10**6), r.uniform(0.2, 0.5))[0]
    h, R, brim = r.uniform(0.22, 0.4), r.uniform(0.24, 0.3), r.uniform(0.42, 0.62)
    o = [
        lathe(
            [(brim, r.uniform(0, 0.08)), (R + 0.05, 0.02), (R, 0.05), (R * 0.97, h * 0.7), (R * 0.8, h), (R * 0.4, h * r.uniform(0.85, 1.05)), (0, h * r.uniform(0.8, 1))],
            m,
            n=7,
            wob=r.uniform(0, 0.03),
            rng=r,
        ),
        lathe([(R * 1.02, 0.05), (R * 1.01, 0.13)], band, smoothp=False),
    ]
    return squash(r, o)


def squash(r, o):
    """Longer than wide, as what is worn on a head."""
    xf(o, Matrix.Diagonal((1, r.uniform(0.82, 1), 1, 1)))
    return o


def G_belt(r, C):
    m = make_mat('matte', r.choice(LEATHER + [C.color]), r)
    turns, w = r.uniform(1.6, 4.2), r.uniform(0.08, 0.14)
    t = np.linspace(0, 2 * np.pi * turns, 160)
    q = 0.2 + 0.035 * t / (2 * np.pi) * r.uniform(0.8, 1.6)
    V = [(a * math.cos(b), a * math.sin(b), z) for a, b in zip(q, t) for z in (0, w)]
    o = [mesh('strap', V, [(2 * i, 2 * i + 1, 2 * i + 3, 2 * i + 2) for i in range(len(t) - 1)], m)]
    frame = [tube(rounded_path(w * 1.3, w * 1.1), 0.014, wire(r), closed=True, seg=8), tube([(0, -w * 0.55, 0), (0, w * 0.5, 0.02)], 0.01, wire(r))]
    xf(frame, Matrix.Translation((q[-1] * math.cos(t[-1]), q[-1] * math.sin(t[-1]), w / 2)) @ Matrix.Rotation(t[-1] + math.pi / 2, 4, 'Z') @ Matrix.Rotation(math.pi / 2, 4, 'X'))
    return o + frame


def rounded_path(w, h):
    return [(x, y, 0) for x, y in rounded(w, h, min(w, h) * 0.2, 4)]


def G_bunting(r, C):
    n, sag, kind = r.randint(4, 8), r.uniform(0.05, 0.35), r.choice(['triangle', 'square', 'swallow'])
    at = lambda u: (u * 1.2, -sag * (1 - (2 * u) ** 2), 0.012)
    o = [tube([at(u) for u in np.linspace(-0.5, 0.5, 30)], 0.008, C.mat(['fabric'], alt=True), seg=6)]
    w = 1.2 / n * 0.8
    for i in range(n):
        u = (i + 0.5) / n - 0.5
        flag = {
            'triangle': [(-w / 2, 0), (0, -w * 1.2), (w / 2, 0)],
            'square': [(-w / 2, 0), (-w / 2, -w), (w / 2, -w), (w / 2, 0)],
            'swallow': [(-w / 2, 0), (-w / 2, -w * 1.2), (0, -w * 0.8), (w / 2, -w * 1.2), (w / 2, 0)],
        }[kind]
        x, y, z = at(u)
        o += move([slab(flag, 0.006, print_mat(r, r.choice([C.color, C.alt_c, r.choice(PAL)]), r.uniform(0.1, 0.4)))], x=x, y=y, rz=math.atan2(8 * sag * u, 1.2) + r.uniform(-0.15, 0.15))
    return o


def G_suncatcher(r, C):
    """Panes of coloured glass in lead, from the middle outwards."""
    lead, n, rings = make_mat('metal', (0.25, 0.25, 0.27), r), r.randint(5, 12), r.randint(1, 3)
    radii = sorted(r.uniform(0.12, 0.45) for _ in range(rings)) + [0.5]
    tint = [r.choice([(0.8, 0.2, 0.2), (0.2, 0.35, 0.75), (0.2, 0.6, 0.35), (0.9, 0.75, 0.2), (0.6, 0.3, 0.7), C.color, (0.85, 0.9, 0.9)]) for _ in range(4)]
    o, inner = [slab(circle(0.5), 0.012, make_mat('gloss', tint[0], r))], 0.0
    for k, q in enumerate(radii):
        for i in range(n):
            a, b = 2 * math.pi * i / n, 2 * math.pi * (i + 1) / n
            arc = [(q * math.cos(t), q * math.sin(t)) for t in np.linspace(a, b, 6)] + [(inner * math.cos(t), inner * math.sin(t)) for t in np.linspace(b, a, 6)]
            o += move([slab(arc, 0.012, make_mat('gloss', tint[(i * 3 + k) % 4], r))], z=0.004)
            o.append(tube([(inner * math.cos(a), inner * math.sin(a), 0.012), (q * math.cos(a), q * math.sin(a), 0.012)], 0.011, lead, seg=6))
        o.append(hoop(q, 0.012, lead, 0.012))
        inner = q
    o.append(tube([(0, 0.5, 0.012), (0.03, 0.75, 0.012), (0, 0.95, 0.012), (-0.03, 0.75, 0.012)], 0.006, lead, seg=5, closed=True))
    if C.stand:
        xf(o, Matrix.Rotation(math.radians(r.uniform(70, 85)), 4, 'X'))
    return o


def G_brush(r, C):
    w, m = r.uniform(0.08, 0.3), wood(r)
    hair = make_mat('matte', r.choice([(0.72, 0.58, 0.38), (0.15, 0.12, 0.1), (0.9, 0.86, 0.76), C.color]), r)
    o = [rbox(w, 0.16, 0.06, 0.025, m), tube([(0, 0.06, 0.03), (0, 0.4, 0.05), (0, r.uniform(0.5, 0.9), 0.04)], [0.05, 0.035, 0.05], m)]
    for i in range(r.randint(40, 90)):
        x, z = r.uniform(-w * 0.45, w * 0.45), r.uniform(0.01, 0.05)
        o.append(tube([(x, -0.07, z), (x * 1.15 + r.uniform(-0.02, 0.02), -r.uniform(0.25, 0.34), z + r.uniform(-0.02, 0.03))], [0.008, 0.004], hair, seg=4))
    return o


def G_mills(r, C):
    o = []
    for i in range(2):
        m = wood(r) if r.random() < 0.6 else C.mat(['gloss', 'matte', 'marble'], alt=bool(i))
        h = r.uniform(0.7, 1.1)
        p = [
            lathe([(0, 0), (0.17, 0), (0.17, 0.05), (0.11, h * 0.35), (0.13, h * 0.55), (0.1, h * 0.7), (0.1, h * 0.7), (0, h * 0.7)], m, n=6),
            lathe([(0.1, h * 0.71), (0.15, h * 0.78), (0.13, h * 0.9), (0.04, h * 0.95), (0, h * 0.95)], m, n=6),
            ball(0.035, wire(r), (0, 0, h), 2),
        ]
        o += move(p, x=(i - 0.5) * r.uniform(0.36, 0.6), y=r.uniform(-0.1, 0.1))
    return o


def G_burner(r, C):
    """An oil burner: a pierced shell with a dish on top and a light inside."""
    m, h, R = C.mat(['gloss', 'matte', 'speckle', 'plaster']), r.uniform(0.5, 0.8), r.uniform(0.25, 0.35)
    o = [lathe([(0, 0), (R * 1.1, 0), (R * 1.1, 0.05), (R, h * 0.5), (R * 0.75, h), (R * 0.72, h), (R * 0.95, h * 0.5), (R, 0.06), (0, 0.06)], m, n=6)]
    dark = make_mat('matte', (0.05, 0.04, 0.03), r)
    n = r.randint(4, 9)
    for k in range(2):
        for i in range(n):
            a = 2 * math.pi * (i + k / 2) / n
            d = [cyl(R * r.uniform(0.14, 0.2), 0.012, dark, bev=0.003)]
            xf(d, Matrix.Rotation(a, 4, 'Z') @ Matrix.Translation((R * (1.02 - 0.1 * k), 0, h * (0.35 + 0.3 * k))) @ Matrix.Rotation(math.pi / 2, 4, 'Y'))
            o += d
    return o + [lathe([(0, h * 0.97), (R * 0.5, h * 0.98), (R * 0.95, h * 1.12), (R * 0.92, h * 1.13), (R * 0.45, h * 1.02), (0, h * 1.01)], m)]


def G_slippers(r, C):
    m, sole, tuft = C.mat(['carpet', 'knit', 'fabric'], scale=2), C.mat(['matte', 'fabric'], alt=True), r.random() < 0.4

    def one():
        edge = smooth_outline([(0.13, -0.4), (0.16, -0.1), (0.2, 0.25), (0.08, 0.45), (-0.12, 0.42), (-0.17, 0.2), (-0.13, -0.1), (-0.12, -0.4), (0, -0.47)])
        p = [slab(edge, 0.05, sole), blob(0.19, 0.27, 0.14, m, 0.04, 4, 4, at=(0.01, 0.17, 0.09))]
        p.append(tube([(0.13, 0.02, 0.1), (0.13, -0.3, 0.12), (0, -0.43, 0.17), (-0.12, -0.3, 0.12), (-0.14, 0.02, 0.1)], 0.05, m, flat=1.4))
        return p + ([ball(0.06, C.mat(['carpet'], alt=True), (0, 0.2, 0.24), 3)] if tuft else [])

    return pair(r, one, r.uniform(0.42, 0.6))


def G_bookmark(r, C):
    o = []
    for i in range(r.choice([1, 1, 2, 3])):
        w, h = r.uniform(0.14, 0.24), r.uniform(0.7, 1)
        p = [slab(rounded(w, h, 0.03), 0.008, r.choice([image_mat(art(r, 80, 300, C.light()), r), print_mat(r, C.color, 0.4), make_mat('matte', r.choice(LEATHER), r)]))]
        cord = C.mat(['fabric'], alt=True)
        p.append(tube([(0, h / 2 - 0.04, 0.012), (0.02, h / 2 + 0.1, 0.015), (0, h / 2 + 0.2, 0.012)], 0.008, cord, seg=5))
        p += [tube([(0, h / 2 + 0.2, 0.012), (r.uniform(-0.05, 0.05), h / 2 + r.uniform(0.34, 0.42), 0.012)], 0.006, cord, seg=4) for _ in range(14)]
        o += move(p, x=0.32 * i, y=r.uniform(-0.1, 0.1), rz=r.uniform(-0.25, 0.25))
    return o


def G_puzzle(r, C):
    """A tray of coloured wooden pieces; some lie beside it."""
    n, s = r.randint(3, 5), 0.2
    o = [slab(rounded(n * s + 0.16, n * s + 0.16, 0.05), 0.03, wood(r))]
    for i in range(n * n):
        m = make_mat(r.choice(['gloss', 'matte', 'wood']), r.choice(PAL), r)
        piece = r.choice([rounded(s * 0.8, s * 0.8, 0.02), circle(s * 0.4), [(-s * 0.4, -s * 0.35), (s * 0.4, -s * 0.35), (0, s * 0.4)]])
        x, y = (i % n - (n - 1) / 2) * s, (i // n - (n - 1) / 2) * s
        out = r.random() < 0.1
        o += move([slab(piece, r.uniform(0.03, 0.08), m)], x=n * s * 0.5 + r.uniform(0.15, 0.3) if out else x, y=y, z=0 if out else 0.03, rz=r.uniform(-0.3, 0.3) if out else 0)
    return o


def G_windchime(r, C):
    cord, n = make_mat('fabric', (0.85, 0.8, 0.7), r), r.randint(4, 8)
    o, m = [slab(circle(0.25), 0.04, wood(r))], r.choice([wire(r), wood(r), C.mat(['gloss', 'speckle'])])
    xf(o, Matrix.Rotation(math.pi / 2, 4, 'X'))
    for i in range(n):
        x, L = (i - (n - 1) / 2) * 0.45 / n, r.uniform(0.4, 0.75)
        y = -0.3 - r.uniform(0, 0.05)
        o += [tube([(x, -0.02, 0), (x * 1.2, y, 0)], 0.005, cord, seg=4), tube([(x * 1.2, y, 0), (x * 1.4 + r.uniform(-0.02, 0.02), y - L, 0)], 0.025, m)]
    o += [tube([(0, 0, 0), (0, -0.6, 0.03)], 0.005, cord, seg=4), ball(0.07, wood(r), (0, -0.55, 0.04), 3), tube([(-0.2, 0.02, 0), (0, 0.35, 0), (0.2, 0.02, 0)], 0.006, cord, seg=4)]
    return o


def G_piggy(r, C):
    m, k = C.mat(['gloss', 'speckle', 'matte', 'dip']), make_mat('gloss', (0.05, 0.04, 0.04), r)
    fat = r.uniform(0.28, 0.4)
    o = [blob(0.46, fat, fat * 0.95, m, at=(0, 0, 0.42)), move([cyl(0.12, 0.1, m)], ry=math.pi / 2, x=0.42, z=0.44)[0]]
    for x in (-0.24, 0.22):
        for y in (-0.17, 0.17):
            o += move([lathe([(0, 0), (0.08, 0), (0.1, 0.24), (0, 0.26)], m)], x=x, y=y)
    for s in (-1, 1):
        o += [ball(0.03, k, (0.36, s * fat * 0.38, 0.42 + fat * 0.42), 2), ball(0.018, k, (0.53, s * 0.045, 0.45), 2)]
        o += move([lathe([(0.09, 0), (0.05, 0.08), (0, 0.15)], m)], x=0.25, y=s * 0.14, z=0.4 + 0.66 * fat, rx=-s * 0.5)
    t = np.linspace(0, 2 * np.pi * 1.6, 30)
    return o + [tube([(-0.45 - 0.02 * a, 0.05 * math.cos(a), 0.48 + 0.05 * math.sin(a)) for a in t], 0.02, m, seg=8), move([rbox(0.16, 0.02, 0.01, 0.004, k, 1)], z=0.42 + fat * 0.945)[0]]


def G_stool(r, C):
    top, legs, h = r.choice([wood(r), print_mat(r, C.color, 0.6)]), wood(r), r.uniform(0.4, 0.8)
    n, R, out = r.choice([3, 4]), r.uniform(0.28, 0.4), r.uniform(0, 0.12)
    o = move([cyl(R, r.uniform(0.05, 0.14), top, bev=0.03)], z=h)
    ends = []
    for i in range(n):
        a = 2 * math.pi * i / n + 0.4
        f = lambda q, z: (q * math.cos(a), q * math.sin(a), z)
        o.append(tube([f(R * 0.75 + out, 0), f(R * 0.65, h + 0.02)], [0.03, 0.045], legs))
        ends.append(f(R * 0.72 + out * 0.6, h * 0.35))
    if r.random() < 0.6:
        o += [tube([a, b], 0.02, legs) for a, b in zip(ends, ends[1:] + ends[:1])]
    return o


def G_bouquet(r, C):
    o, ms = [], [make_mat('matte', c, r) for c in r.sample(GREEN, 3)]
    heads = [C.mat(['matte', 'carpet']), C.mat(['matte'], alt=True), make_mat('matte', r.choice([(0.9, 0.85, 0.7), (0.75, 0.5, 0.55), (0.6, 0.5, 0.7)]), r)]
    for i in range(r.randint(12, 30)):
        u, L = r.uniform(-0.45, 0.45), r.uniform(0.5, 0.9)
        z = 0.05 + 0.14 * r.random()
        top = (u * L, L, z)
        o.append(tube([(-u * 0.5, -0.3, z * 0.6), (0, 0, z), top], 0.009, r.choice(ms), seg=5))
        if r.random() < 0.6:
            o.append(blob(r.uniform(0.03, 0.1), r.uniform(0.04, 0.14), r.uniform(0.03, 0.07), r.choice(heads), 0.35, 6, 3, r.uniform(0, 9), top))
        else:
            for k in range(5):
                o += move([leaf(r.uniform(0.1, 0.2), r.choice(ms), 0.25)], x=top[0] * (1 - 0.1 * k), y=top[1] - 0.09 * k, z=z, rz=r.uniform(0, 3.1))
    wrap = r.choice([print_mat(r, C.alt_c, 0.5), make_mat('paper', (0.68, 0.52, 0.36), r), C.mat(['linen'])])
    return o + move([lathe([(0.07, 0), (0.1, 0.12), (0.2, 0.36)], wrap, smoothp=False)], rx=-math.pi / 2, y=-0.1, z=0.1)


def G_top_toys(r, C):
    o = []
    for i in range(r.choice([1, 2, 3, 5])):
        R = r.uniform(0.16, 0.26)
        p = [
            lathe([(0, 0), (0.02, 0.02), (R, 0.2), (R, 0.26), (0.04, 0.3), (0.03, 0.5), (0.04, 0.55), (0, 0.56)], make_mat(r.choice(['gloss', 'wood', 'dip']), r.choice(PAL), r), n=5),
            lathe([(R * 1.005, 0.205), (R * 1.005, 0.255)], make_mat('gloss', r.choice(PAL), r), smoothp=False),
        ]
        xf(p, Matrix.Rotation(r.choice([0.9, r.uniform(0.7, 1.0)]), 4, 'Y'))
        o += move(ground(p), x=0.5 * i, y=r.uniform(-0.2, 0.2), rz=r.uniform(0, 6.3))
    return o


def G_house_sign(r, C):
    w, h = r.uniform(0.8, 1.1), r.uniform(0.35, 0.6)
    m = r.choice([wood(r), make_mat('slate', (0.3, 0.31, 0.33), r), C.mat(['gloss', 'matte'])])
    edge = r.choice([rounded(w, h, 0.05), smooth_outline([(x * w / 2, y * h / 2 + r.uniform(-0.03, 0.03)) for x, y in ((-1, -0.8), (0, -1), (1, -0.8), (1, 0.8), (0, 1), (-1, 0.8))])])
    ink = make_mat('matte', r.choice([(0.95, 0.95, 0.92), (0.08, 0.08, 0.08), C.alt_c]), r)
    o, n = [slab(edge, 0.05, m)], r.randint(3, 7)
    for i in range(n):
        x = (i - (n - 1) / 2) * w * 0.75 / n
        L = w * 0.5 / n
        for _ in range(r.randint(2, 4)):
            a, b = [(x + r.uniform(-L, L) * 0.6, r.uniform(-0.25, 0.25) * h, 0.053) for _ in range(2)]
            o.append(tube([a, ((a[0] + b[0]) / 2 + r.uniform(-0.03, 0.03), (a[1] + b[1]) / 2, 0.053), b], 0.012, ink, seg=6))
    cord = make_mat('fabric', (0.7, 0.6, 0.45), r)
    return o + [tube([(-w * 0.4, h * 0.42, 0.05), (0, h * 0.5 + r.uniform(0.1, 0.3), 0.02), (w * 0.4, h * 0.42, 0.05)], 0.014, cord, seg=6)]


NAMES = 'hat belt bunting suncatcher brush mills burner slippers bookmark puzzle windchime piggy stool bouquet top_toys house_sign'.split()
FAIR = {k: globals()['G_' + k] for k in NAMES}
