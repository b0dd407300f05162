"""Fourteen kinds of things to play with and of paper, thread and sand: their small parts reach out, hang, lie on top or stand beside.

Each G_* takes a random.Random and a Col (products.py) and gives a list of objects of any size that stand on z = 0 or lie there. Every
draw, also one that decides nothing, is part of the seeds' meaning.
"""

import math

import bpy  # noqa: F401 (gives mathutils)
import numpy as np
from mathutils import Matrix, Vector

from goods_parts import *
from goods_thin import arch, ribbon, wavy

PI = math.pi


def tint(r, C, kinds, plain=0.3):
    """A material in one of the product's colours or a further one."""
    return make_mat(r.choice(kinds), r.choice([C.color, C.color, C.alt_c, r.choice(PAL)]), r) if r.random() > plain else wood(r)


def toy(r, C):
    return tint(r, C, ['gloss', 'matte', 'matte', 'wood'])


def thread(r, C):
    return make_mat(r.choice(['fabric', 'matte', 'gloss']), r.choice([(0.9, 0.87, 0.8), (0.15, 0.14, 0.14), (0.7, 0.2, 0.15), C.alt_c, C.color]), r)


def paper(r, C, span=None):
    return print_mat(r, C.color, span) if r.random() < 0.6 else make_mat(r.choice(['paper', 'matte', 'metal']), r.choice([C.color, C.alt_c, r.choice(PAL)]), r)


def pressed(make):
    """The same kind with all that would lie under the ground pressed flat on it."""

    def made(r, C):
        o = make(r, C)
        for q in o:
            for v in q.data.vertices:
                v.co.z = max(v.co.z, 0.0)
        return o

    return made


def soft(points, n=7):
    return [tuple(p) for p in resample(points, n)]


def bow(r, x, y, s, m, z=0.03):
    """A tied ribbon or cord with round loops and two tails, lying at (x, y)."""
    w, flat, q = s * r.uniform(0.05, 0.14), r.uniform(0.4, 1), r.uniform(0.2, 0.5)
    loops = [[(x, y, z), (x + k * s * 0.5, y + s * q, z + s * 0.1), (x + k * s, y + s * 0.05, z), (x + k * s * 0.5, y - s * q * 0.7, z),
        (x, y, z)] for k in (-1, 1)]
    tails = [wavy(r, x, y, s * r.uniform(1, 2.2), -PI / 2 + k * r.uniform(0.1, 0.9), z=z) for k in (-1, 1)]
    return [tube(soft(p), w, m, seg=8, flat=flat) for p in loops] + [tube(p, w, m, seg=6, flat=flat * 0.6) for p in tails] + [ball(w * 1.7, m, (x, y, z), 2,
        0.8)]


def block(m, sx, sy, sz, x=0, y=0, z=0, bev=0.02):
    return move([rbox(sx, sy, sz, min(bev, sx / 3, sy / 3, sz / 3), m, 2)], x=x, y=y, z=z)[0]


def tassel(r, at, L, m, f=0.05, n=16, down=(0, -1, 0)):
    """A tassel that hangs from `at` towards `down`."""
    o = [ball(0.03, m, (0, 0, 0.02), 2)]
    for _ in range(n):
        a, q = r.uniform(0, 2 * PI), f * math.sqrt(r.random())
        o.append(tube([(q * 0.4 * math.cos(a), q * 0.4 * math.sin(a), 0.02), (q * math.cos(a), q * math.sin(a), L * r.uniform(0.9, 1.05))], 0.006, m, seg=4))
    return aim(o, at, down)


def wheel(R, t, m, hub, spokes):
    """A wheel about the y axis, its face towards -y."""
    if spokes:
        o = [hoop(R * 0.88, R * 0.12, m, seg=8)]
        o += [tube([(0, 0, 0), (R * 0.85 * math.cos(a), R * 0.85 * math.sin(a), 0)], R * 0.07, m, seg=6) for a in np.linspace(0, 2 * PI, spokes,
            endpoint=False)]
    else:
        o = [lathe([(0, -t / 2), (R, -t / 2), (R, -t / 2), (R, t / 2), (R, t / 2), (R * 0.75, t / 2), (R * 0.7, t * 0.3), (0, t * 0.3)], m, seg=40, n=2)]
    return move(o + [blob(R * 0.25, R * 0.25, t * 0.75, hub, sub=2)], rx=PI / 2)


def wheels(xs, w, R, t, m, hub, spokes, z=None):
    """Wheels at both sides at each of `xs`, with their axles."""
    o, z = [], R if z is None else z
    for x in xs:
        o.append(tube([(x, -w / 2 - t, z), (x, w / 2 + t, z)], R * 0.13, hub, seg=8))
        for s in (-1, 1):
            o += move(wheel(R, t, m, hub, spokes), x=x, y=s * (w / 2 + t / 2), z=z, rz=0 if s < 0 else PI)
    return o


def engine(r, C, L, w, z, ms):
    """What stands on an engine's floor: boiler or bonnet, cab, roof, chimney, domes, lamp, windows."""
    a, b, c = r.sample(ms, 3)
    dark, form, cl = make_mat('gloss', r.choice([(0.05, 0.05, 0.06), (0.75, 0.85, 0.9), (0.9, 0.8, 0.4)]),
        r), r.choice(['boiler', 'boiler', 'bonnet', 'nose']), L * r.uniform(0.3, 0.5)
    q, h, bx = w * r.uniform(0.32, 0.48), r.uniform(0.4, 0.7), -L / 2 + cl
    if form == 'boiler':
        o = aim([cyl(q, L - cl, b)], (bx, 0, z + q * 0.95), (1, 0, 0))
        o += [aim([hoop(q * 1.01, 0.012, c)], (bx + (L - cl) * t, 0, z + q * 0.95), (1, 0, 0))[0] for t in (0.3, 0.7, 0.97)[: r.randint(0, 3)]]
    elif form == 'bonnet':
        o = [block(b, L - cl + 0.02, w * 0.85, q * 1.9, x=bx + (L - cl) / 2, z=z, bev=r.uniform(0.02, 0.12))]
    else:
        o = [blob(L - cl, w * 0.48, q * 2.0, b, at=(bx, 0, z))]
        cut = o[0].data
        for v in cut.vertices:
            v.co.z, v.co.x = max(v.co.z, z - 0.02), max(v.co.x, bx - 0.05)
    o += [block(c, cl, w, h, x=-L / 2 + cl / 2, z=z), block(a, cl * r.uniform(1.05, 1.4), w * r.uniform(1.05, 1.3), 0.05, x=-L / 2 + cl / 2, z=z + h - 0.01)]
    for s in (-1, 1):
        o.append(aim([cyl(r.uniform(0.08, 0.12), 0.02, dark, bev=0.005)], (-L / 2 + cl / 2, s * (w / 2 - 0.008), z + h * 0.62), (0, s, 0))[0])
    k, ch = r.uniform(0.05, 0.09), r.uniform(0.15, 0.4)
    x0 = bx + (L - cl) * r.uniform(0.6, 0.8) if form != 'nose' else bx + (L - cl) * 0.35
    o += move([lathe([(0, 0), (k, 0), (k * r.uniform(0.8, 1), ch), (k * r.uniform(1, 1.8), ch * 1.1), (k * 1.2, ch * 1.3), (0, ch * 1.3)], a, seg=28, n=3)],
        x=x0, z=z + q * 1.6)
    if r.random() < 0.4:
        o += [blob(s, s, s * 0.8, make_mat('carpet', (0.9, 0.9, 0.9), r), 0.2, 4, 3, at=(x0 - d, 0, z + q * 1.6 + ch * 1.3 + e)) for s, d,
            e in ((0.09, 0, 0.05), (0.12, 0.1, 0.15))]
    o += [ball(k * 1.2, c, (bx + (L - cl) * t, 0, z + q * 1.85), 3, 1.1) for t in (0.35, 0.12)[: r.randint(0, 2)] if form != 'nose']
    return o + ([blob(0.04, 0.05, 0.05, dark, at=(L / 2, 0, z + q))] if form != 'nose' else [])


def heap(r, C, L, w, h, z, a, b, c):
    """Walls with a heap of balls between them."""
    o = [block(a, L, 0.035, h, y=s * (w / 2 - 0.02), z=z - 0.01) for s in (-1, 1)] + [block(b, 0.035, w, h, x=s * (L / 2 - 0.02),
        z=z - 0.01) for s in (-1, 1)]
    g = [tint(r, C, ['gloss', 'matte', 'fabric', 'carpet']) for _ in range(3)]
    for _ in range(r.randint(0, 16)):
        s = r.uniform(0.07, 0.11)
        o.append(ball(s, r.choice(g), (r.uniform(-1, 1) * (L / 2 - 0.13), r.uniform(-1, 1) * (w / 2 - 0.13), z + h * 0.9 + r.uniform(-0.1, 0.06)), 2))
    o.append(block(c, L - 0.05, w - 0.05, h * 0.8, z=z - 0.01))
    return o


def load(r, C, L, w, z, ms):
    """What stands on a wagon's floor: walls and a heap, a tank, logs, a coach, blocks."""
    a, b, c = r.sample(ms, 3)
    form = r.choice(['open', 'open', 'tank', 'logs', 'coach', 'blocks', 'posts'])
    h, o = r.uniform(0.15, 0.45), []
    if form == 'open':
        o += heap(r, C, L, w, h, z, a, b, c)
    elif form == 'tank':
        o += aim([cyl(w * 0.45, L * 0.96, b, bev=0.06)], (-L * 0.48, 0, z + w * 0.4), (1, 0, 0)) + [cyl(w * 0.14, 0.1, c, z=z + w * 0.8)]
    elif form == 'logs':
        for y, q in [(-0.3, 0), (0, 0), (0.3, 0), (-0.15, 0.26), (0.15, 0.26)]:
            o += aim([cyl(w * 0.16, L * r.uniform(0.8, 1.05), wood(r))], (-L * 0.47, y * w, z + w * (0.15 + q)), (1, 0, 0))
    elif form == 'coach':
        o += [block(a, L, w, h + 0.15, z=z - 0.01), block(b, L * 1.06, w * 1.15, 0.05, z=z + h + 0.12)]
        o += [block(c, L * 0.2, w * 1.02, h * 0.6, x=L * t, z=z + h * 0.5) for t in (-0.3, 0, 0.3)]
    elif form == 'blocks':
        for x in (-0.25, 0.25):
            o.append(block(r.choice(ms), L * 0.42, w * 0.8, h, x=x * L, z=z - 0.01))
            more = r.choice('box ball none'.split())
            o += [block(r.choice(ms), L * 0.3, w * 0.5, h * 0.7, x=x * L, z=z + h - 0.02)] if more == 'box' else [ball(h * 0.4, c,
                (x * L, 0, z + h * 1.3))] if more == 'ball' else []
    else:
        for x in (-0.33, 0, 0.33):
            o += move([lathe([(0, 0), (0.08, 0), (0.1, 0.1), (0.06, 0.26), (0.05, 0.28), (0, 0.28)], r.choice(ms), n=4), ball(0.085, wood(r), (0, 0, 0.33))],
                x=x * L, z=z - 0.02)
    return o


def G_train(r, C):
    ms, cord = [toy(r, C) for _ in range(5)], thread(r, C)
    w, R, t, spokes, rim, hub = r.uniform(0.35, 0.55), r.uniform(0.09, 0.17), r.uniform(0.03, 0.08), r.choice([0, 0, 0, 5, 8]), toy(r,
        C), r.choice([wire(r), toy(r, C)])
    o, p, a, turn, z, gap = [], Vector((0, 0, 0)), 0.0, r.uniform(-0.35, 0.35), R * 1.15, r.uniform(0.06, 0.2)
    for i in range(1 + r.choice([0, 1, 1, 2, 2, 3, 4])):
        L = r.uniform(0.7, 1.1) if i == 0 else r.uniform(0.5, 0.8)
        d = Vector((math.cos(a), math.sin(a), 0))
        car = [block(r.choice(ms), L, w, 0.07, z=z)] + (engine if i == 0 else load)(r, C, L, w, z + 0.065, ms)
        car += wheels(np.linspace(-L * 0.34, L * 0.34, r.choice([2, 3, 4]) if i == 0 and R < 0.13 else 2), w * 0.9, R, t, rim, hub, spokes)
        c = p - d * (L / 2)
        o += move(car, x=c.x, y=c.y, rz=a)
        if i:
            o += [tube([(*(p - d * 0.05).xy, z + 0.03), (*(p + back * (gap / 2)).xy, z - 0.02), (*(p + back * (gap + 0.05)).xy, z + 0.03)],
                r.uniform(0.01, 0.025), cord, seg=8)]
        back, p, a = d, p - d * (L + gap), a + turn
    if r.random() < 0.5:
        q = wavy(r, 0.12, 0, r.uniform(0.4, 0.9), r.uniform(-0.6, 0.6))
        o += [tube([(-0.05, 0, z + 0.03), (0.04, 0, z * 0.6)] + q, 0.01, cord, seg=6), ball(0.05, toy(r, C), (q[-1][0], q[-1][1], 0.05), 3)]
    return o


def sail(c, m, belly=(0, 0, 0), n=10):
    """A cloth between four corners that bellies out; a corner given twice makes it three-sided."""
    c, b = [np.array(p, float) for p in c], np.array(belly, float)
    uv = [(i / n, j / n) for j in range(n + 1) for i in range(n + 1)]
    V = [(1 - v) * ((1 - u) * c[0] + u * c[1]) + v * ((1 - u) * c[3] + u * c[2]) + b * math.sin(PI * u) * math.sin(PI * (0.1 + 0.9 * v)) for u, v in uv]
    return mesh('sail', V, [(j * (n + 1) + i, j * (n + 1) + i + 1, (j + 1) * (n + 1) + i + 1, (j + 1) * (n + 1) + i) for j in range(n) for i in range(n)], m,
        uvs=uv)


def hull(r, L, w, d, m, deck, rim):
    """A boat's hull along x with its deck and rim; gives the objects and a function from (t, side) to a point of the rim."""
    p, stern, sheer, rake, full = r.uniform(1.6, 3.5), r.choice([0.01, 0.5, 0.75]), r.uniform(0, 0.5), r.uniform(0.1, 0.7), r.uniform(0.35, 0.9)
    beam = lambda t: max(0.004, w / 2 * (1 - abs(t) ** p * (1 if t > 0 else 1 - stern)))
    at = lambda t, s: (L / 2 * t, s * beam(t), d * (1 + sheer * t * t))
    ts, k = np.linspace(-1, 1, 25), 13
    V = []
    for t in ts:
        x, b, top = at(t, 1)
        low = d * rake * max(0, t) ** 4 + d * 0.3 * rake * max(0, -t) ** 4
        V += [(x * (1 - 0.12 * math.sin(q) * max(0, t)), b * math.cos(q), top - (top - low) * min(1, 1.02 * math.sin(q) ** full)) for q in np.linspace(0, PI,
            k)]
    F = [(i * k + j, i * k + j + 1, (i + 1) * k + j + 1, (i + 1) * k + j) for i in range(24) for j in range(k - 1)] + [tuple(range(k))]
    D = [(x, y * 0.97, z - d * 0.12) for t in ts for x, y, z in (at(t, 1), at(t, -1))]
    o = [mesh('hull', V, F, m), mesh('deck', D, [(i * 2, i * 2 + 1, i * 2 + 3, i * 2 + 2) for i in range(24)], deck)]
    return o + [tube([at(t, s) for t in ts], 0.014, rim, seg=6) for s in (-1, 1)] + [tube([at(-1, 1), at(-1, -1)], 0.014, rim, seg=6)], at


def rig(r, C, x, z, H, w, kind, spar, cloth, cord):
    """A mast at `x` with its sails, spars and pennant."""
    o, belly = [tube([(x, 0, z - 0.08), (x, 0, H)], [0.02, 0.012], spar, seg=8)], r.uniform(0.03, 0.12) * r.choice([-1, 1])
    if kind == 'square':
        n = r.randint(1, 3)
        zs = np.linspace(z + 0.1, H * 0.96, n + 1)
        for i in range(n):
            a, b, q = w * r.uniform(0.8, 1.1) * (1 - 0.15 * i), w * 0.8 * (1 - 0.15 * i), zs[i + 1] - 0.02
            o += [sail([(x + 0.02, -a, zs[i]), (x + 0.02, a, zs[i]), (x + 0.02, b, q), (x + 0.02, -b, q)], r.choice(cloth), (abs(belly) * 1.5, 0, 0)),
                tube([(x + 0.02, -b * 1.08, q), (x + 0.02, b * 1.08, q)], 0.012, spar, seg=6)]
            o.append(tube([(x + 0.02, -a, zs[i]), (x + 0.01, 0, zs[i] + 0.01), (x + 0.02, a, zs[i])], 0.005, cord, seg=4))
    else:
        bl, lo = r.uniform(0.3, 0.55), z + r.uniform(0.06, 0.15)
        top = {'tri': [(x, 0, H * 0.97)] * 2, 'gaff': [(x - bl * 0.7, 0, H), (x, 0, H * 0.75)],
            'lug': [(x - bl * 0.8, 0, H * 0.9), (x + 0.12, 0, H * 0.8)]}[kind]
        front = (x + (0.12 if kind == 'lug' else 0), 0, lo)
        o += [sail([front, (x - bl, 0, lo), top[0], top[1]], r.choice(cloth), (0, belly, 0)), tube([front, (x - bl, 0, lo)], 0.012, spar, seg=6)]
        if kind != 'tri':
            o.append(tube(top, 0.012, spar, seg=6))
        if kind == 'lug' and r.random() < 0.6:
            o += [tube([(x + 0.12, belly * 0.1, lo + t * (H * 0.8 - lo)), (x - 0.3 * bl, belly * math.sin(PI * (0.1 + 0.9 * t)), lo + t * (H * 0.85 - lo)),
                (x - bl * (1 - 0.2 * t), 0, lo + t * (H * 0.9 - lo))], 0.008, spar, seg=5) for t in (0.25, 0.5, 0.75)]
    if r.random() < 0.5:
        f = r.uniform(0.1, 0.25)
        o.append(sail([(x, 0, H + 0.06), (x, 0, H - 0.02), (x - f, 0.04, H + 0.02), (x - f, 0.04, H + r.choice([0.02, 0.07]))],
            tint(r, C, ['fabric', 'paper', 'gloss'], 0), (0, 0.03, 0)))
        o.append(tube([(x, 0, H - 0.02), (x, 0, H + 0.07)], 0.006, spar, seg=5))
    return o


def fittings(r, C, o, at, w, d, spar, deck):
    """Oars, a buoy at the side and a cradle, each of them now and then."""
    if r.random() < 0.4:
        for s in (-1, 1):
            x, y, z = at(-0.1, s)
            o += [tube([(x + 0.12, y * 0.4, z + 0.06), (x, y, z + 0.015), (x - 0.25, y * 1.9, 0.03)], 0.01, spar, seg=6),
                blob(0.07, 0.03, 0.012, spar, at=(x - 0.27, y * 1.98, 0.03), sub=2)]
    if r.random() < 0.4:
        x, y, z = at(r.uniform(-0.5, 0.3), -1)
        o += move([hoop(0.06, 0.02, tint(r, C, ['gloss', 'fabric'], 0))], x=x, y=y - 0.015, z=z - 0.05, rx=PI / 2)
    if r.random() < 0.35:
        o = move(o, z=0.1) + [block(deck, 0.06, w * 0.7, 0.16, x=x) for x in (-0.3, 0.28)] + [block(deck, 0.75, 0.08, 0.05)]
    return o


def G_boat(r, C):
    m, deck, rim, cord, spar = tint(r, C, ['gloss', 'matte', 'wood', 'metal', 'paper']), wood(r), toy(r, C), thread(r, C), wood(r)
    w, d = r.uniform(0.25, 0.5), r.uniform(0.13, 0.3)
    o, at = hull(r, 1.2, w, d, m, r.choice([deck, rim]), rim)
    cloth = [print_mat(r, c, r.uniform(0.3, 0.8)) for c in (C.light(), C.color, C.alt_c)][: r.randint(1, 3)]
    n, tops = r.choice([0, 1, 1, 1, 2, 2, 3]), []
    for x in {0: [], 1: [r.uniform(-0.05, 0.2)], 2: [0.22, -0.22], 3: [0.33, 0.02, -0.3]}[n]:
        H = d + r.uniform(0.6, 1.25)
        o += rig(r, C, x, d, H, r.uniform(0.2, 0.35), r.choice(['tri', 'tri', 'gaff', 'lug', 'square']), spar, cloth, cord)
        tops.append((x, 0, H * 0.97))
    for p in tops:
        if r.random() < 0.75:
            o += [tube([p, at(p[0] / 0.6 + q, s)], 0.004, cord, seg=4) for s in (-1, 1) for q in ((0,), (-0.1, 0.1), (-0.15, 0, 0.15))[r.randint(0, 2)]]
    if tops:
        nose = (0.6 + (spr := r.choice([0, 0.15, 0.3])), 0, at(1, 0)[2] + spr * 0.3)
        o += [tube([(0.45, 0, at(1, 0)[2] - 0.02), nose], 0.014, spar, seg=7)] if spr else []
        o += [tube([tops[0], nose], 0.005, cord, seg=4), tube([tops[-1], at(-0.98, 0)], 0.004, cord, seg=4)]
        if r.random() < 0.6:
            h = np.array(tops[0]) * 0.95 + np.array(nose) * 0.05
            o.append(sail([nose, (tops[0][0] + 0.06, 0.03, d + 0.12), h, h], r.choice(cloth), (0, r.uniform(-0.1, 0.1), 0)))
    if n == 0 or r.random() < 0.35:
        x = r.uniform(-0.3, -0.1) if n else 0
        o += [block(toy(r, C), 0.28, w * 0.5, r.uniform(0.14, 0.26), x=x, z=d * 0.8)] + ([cyl(0.045, r.uniform(0.3, 0.45), toy(r, C), z=d)] if n == 0 else [])
    return fittings(r, C, o, at, w, d, spar, deck)


def wing(r, chord, span, m, x, z, dihedral, t=0.025):
    """Two half wings at `x`, `z`."""
    o, sweep, k = [], r.uniform(-0.12, 0.25), r.uniform(0.45, 1)
    tip = [(-sweep * span + chord / 2 - chord * k, span), (-sweep * span + chord * k / 2, span * r.uniform(0.93, 1.02))]
    for s in (1, -1):
        q = smooth_outline([(chord / 2, -0.04), (chord / 2, span * 0.5), tip[1], tip[0], (-chord / 2, span * 0.5), (-chord / 2, -0.04)], 6)
        q = [(a, s * b) for a, b in q]
        o += move([slab(q if s < 0 else q[::-1], t, m)], x=x, z=z, rx=s * dihedral)
    return o


def planes(r, q, x, wm, hub):
    """One to three pairs of wings with their struts and wires."""
    o = []
    span, chord, dh = r.uniform(0.45, 0.75), r.uniform(0.2, 0.34), r.uniform(0, 0.14)
    mode = r.choice(['low', 'high', 'two', 'two', 'three'])
    zs = {'low': [-q * 0.6], 'high': [q * 0.9], 'two': [-q * 0.6, q + r.uniform(0.1, 0.22)], 'three': [-q * 0.7, q + 0.05, q + 0.24]}[mode]
    for i, z in enumerate(zs):
        st = r.getstate()
        o += wing(r, chord, span * (1 + 0.06 * i), wm, x + 0.03 * i, z, dh)
        if i + 1 < len(zs):
            r.setstate(st)
    if len(zs) > 1:
        at = lambda u, z: (x + 0.0, u * span, z + abs(u) * span * math.sin(dh) + 0.012)
        for u in (-0.75, 0.75) if r.random() < 0.5 else (-0.8, -0.4, 0.4, 0.8):
            for e in (-0.25, 0.25):
                o.append(tube([np.add(at(u, zs[0]), (e * chord, 0, 0)), np.add(at(u, zs[-1]), (e * chord, 0, 0))], 0.009, hub, seg=6))
        o += [tube([(x + e * chord, s * q * 0.5, 0), (x + e * chord, s * q * 1.3, zs[-1] + 0.02)], 0.009, hub, seg=6) for s in (-1, 1) for e in (-0.3, 0.3)]
        o += [tube([at(s * 0.75, zs[0]), at(s * 0.12, zs[-1])], 0.003, hub, seg=4) for s in (-1, 1) if r.random() < 0.6]
    return o


def airscrew(r, C, q, hub, rim):
    """The blades at the nose, and what shows of the seat."""
    o, dark = [], make_mat('gloss', r.choice([(0.06, 0.06, 0.07), (0.7, 0.82, 0.9)]), r)
    n, bl, a0 = r.choice([2, 2, 3, 4]), r.uniform(0.13, 0.24), r.uniform(0, PI)
    for i in range(n):
        b = [blob(0.012, 0.032, bl / 2, r.choice([rim, rim, hub]), at=(0, 0, bl / 2), sub=3)]
        xf(b, Matrix.Translation((0.455, 0, 0)) @ Matrix.Rotation(a0 + 2 * PI * i / n, 4, 'X') @ Matrix.Rotation(0.4, 4, 'Z'))
        o += b
    seat = r.choice('glass pilot rim'.split())
    if seat == 'pilot':
        o += [ball(q * 0.55, wood(r), (-0.02, 0, q * 1.3)), blob(0.06, q * 0.6, q * 0.35, toy(r, C), at=(-0.03, 0, q * 1.6), sub=3)]
    o += [blob(0.11, q * 0.65, q * 0.8, dark, at=(0, 0, q * 0.7))] if seat == 'glass' else move([hoop(q * 0.6, 0.015, dark)], x=-0.05,
        z=q) if seat == 'rim' else []
    return o


def G_aeroplane(r, C):
    body, wm, tail, hub, rim = tint(r, C, ['gloss', 'matte', 'wood', 'metal']), toy(r, C) if r.random() < 0.7 else print_mat(r, C.color, 0.5), toy(r,
        C), r.choice([wire(r), toy(r, C)]), toy(r, C)
    q, k = r.uniform(0.07, 0.14), r.uniform(0.3, 1)
    o = [tube(resample([(-0.6, 0, 0.05), (-0.3, 0, 0.02), (0.1, 0, 0), (0.36, 0, 0), (0.43, 0, 0)], 6),
        resample([(q * k * 0.5, 0), (q * 0.75, 0), (q, 0), (q * 0.9, 0), (q * 0.6, 0)], 6)[:, 0], body, seg=24, flat=r.uniform(0.9, 1.3))]
    x = r.uniform(0.08, 0.2)
    o += planes(r, q, x, wm, hub)
    o += wing(r, 0.15, r.uniform(0.16, 0.28), tail, -0.53, 0.05, 0, 0.02)
    f = r.uniform(0.14, 0.28)
    o += move([slab(smooth_outline([(0.1, 0), (0, f * 0.8), (-0.1, f), (-0.14, f * 0.4), (-0.1, 0)], 5), 0.02, r.choice([tail, wm]))], x=-0.5, y=0.01, z=0.05,
        rx=PI / 2)
    o += [lathe([(0.05, 0), (0.045, 0.03), (0, 0.07)], hub, n=4, seg=24)]
    aim(o[-1:], (0.42, 0, 0), (1, 0, 0))
    o += airscrew(r, C, q, hub, rim)
    R, h, tr = r.uniform(0.06, 0.11), r.uniform(0.16, 0.24), r.uniform(0.12, 0.22)
    o += wheels([x + 0.1], tr * 2, R, 0.04, rim, hub, r.choice([0, 0, 6]), z=-h)
    o += [tube([(x + e, s * q * 0.5, -q * 0.6), (x + 0.1, s * tr, -h)], 0.011, hub, seg=6) for s in (-1, 1) for e in (0.02, 0.18)]
    o += [tube([(-0.54, 0, 0.04), (-0.57, 0, -0.07)], 0.012, hub, seg=6), ball(0.022, rim, (-0.57, 0, -0.07), 2)]
    return ground(move(o, ry=math.atan2(-h - R + 0.09, 0.67 + x)))


def ears(r, R, at, m, form):
    """Ears, a tuft or a hat of a round head at `at`, looking along -y."""
    x, y, z = at
    if form == 'round':
        return [blob(R * 0.4, R * 0.2, R * 0.4, m, at=(x + s * R * 0.75, y, z + R * 0.7), sub=2) for s in (-1, 1)]
    if form == 'long':
        return [aim([blob(R * 0.22, R * 0.12, R * 0.6, m, at=(0, 0, R * 0.45), sub=3)], (x + s * R * 0.4, y, z + R * 0.75),
            (s * r.uniform(0.1, 0.9), 0, 1))[0] for s in (-1, 1)]
    if form == 'hat':
        q = R * r.uniform(0.9, 1.4)
        return move([lathe([(0, 0), (q, 0), (q, R * 0.12), (R * 0.75, R * 0.15), (R * r.uniform(0.1, 0.7), R * r.uniform(0.6, 1.3)),
            (0, R * r.uniform(0.7, 1.4))], m, n=3, seg=32)], x=x, y=y, z=z + R * 0.55)
    return [tube([(x, y, z + R * 0.8), (x + R * r.uniform(-0.5, 0.5), y + R * r.uniform(-0.5, 0.5), z + R * r.uniform(1.2, 1.7))], [R * 0.1, R * 0.03], m,
        seg=5) for _ in range(r.randint(5, 14))]


def face(r, R, at, d=(0, -1, 0)):
    """Eyes, cheeks and nose on a ball at `at`, towards `d` (-y or z)."""
    dark, red = make_mat('gloss', (0.05, 0.05, 0.06), r), make_mat('matte', r.choice([(0.85, 0.4, 0.35), (0.8, 0.5, 0.45)]), r)
    p = [(s * 0.35, 0.15, 0.09, dark) for s in (-1, 1)] + [(s * 0.55, -0.15, 0.13, red) for s in (-1, 1)] + [(0, -0.08, 0.1, red)]
    return [ball(R * q, m, (at[0] + u * R, at[1] + (v * R if d[2] else -0.9 * R), at[2] + (0.9 * R if d[2] else v * R)), 2) for u, v, q,
        m in p[: r.choice([2, 4, 5])]]


def ring_rattle(r, C, m, dress):
    """A ring with beads, a head, small rings, cloth ears or knotted cords on it."""
    o = []
    R, q, cord = r.uniform(0.26, 0.38), r.uniform(0.025, 0.055), thread(r, C)
    o.append(hoop(R, q, m, q + 0.05))
    a = r.uniform(0, 6)
    for i in range(r.randint(0, 9)):
        b = r.uniform(0.06, 0.1)
        o.append(ball(b, dress(), (R * math.cos(a + i * 0.19 / R * 0.33), R * math.sin(a + i * 0.19 / R * 0.33), 0.05 + q), 3, r.uniform(0.6, 1)))
    more = r.choice(['head', 'head', 'rings', 'ears', 'tails'])
    if more == 'head':
        h, s = r.uniform(0.17, 0.27), dress()
        at = (0, R + h * 0.7, h * 0.8)
        o += [blob(h, h * r.uniform(0.85, 1.1), h * 0.75, s, at=at)] + face(r, h * 0.85, at, (0, 0, 1))
        o += move(ears(r, h, (0, 0, 0), dress(), r.choice(['round', 'long', 'tuft', 'hat'])), rx=-PI / 2, y=at[1], z=at[2] * 0.8)
    elif more == 'rings':
        o += [aim([hoop(q + r.uniform(0.07, 0.12), 0.022, r.choice([m, dress()]))], (R * math.cos(t), R * math.sin(t), 0.1),
            (-math.sin(t) + 0.3, math.cos(t), 1.2))[0] for t in (a + 3, a + 3.4, a + 3.9)[: r.randint(1, 3)]]
    elif more == 'ears':
        cl = print_mat(r, C.alt_c, 0.3)
        for s in (-1, 1):
            o += move([slab(smooth_outline([(-0.04, 0), (0.04, 0), (0.13, 0.3), (0.05, 0.5), (-0.05, 0.5), (-0.13, 0.3)]), 0.04, cl)], y=R - 0.03, z=0.05,
                rz=s * r.uniform(0.15, 0.5))
        o.append(blob(0.08, 0.07, 0.09, cl, at=(0, R, 0.08), sub=3))
    else:
        for t in np.linspace(0, 1.2, r.randint(2, 5)):
            p = wavy(r, R * math.cos(t - 2), R * math.sin(t - 2), r.uniform(0.2, 0.5), t - 2, 0.1, z=0.04)
            o += [tube([(p[0][0], p[0][1], 0.08)] + p[2:], 0.014, cord, seg=6), ball(r.uniform(0.05, 0.08), dress(), (p[-1][0], p[-1][1], 0.05), 3)]
    return o


@pressed
def G_rattle(r, C):
    """A baby's rattle, lying: a ring with things on it, a bar with ends, a cage or a head on a stick."""
    m, form, o = tint(r, C, ['wood', 'gloss', 'matte']), r.choice(['ring', 'ring', 'bar', 'cage', 'head']), []
    dress = lambda: tint(r, C, ['knit', 'fabric', 'carpet', 'gloss', 'wood'], 0.2)
    if form == 'ring':
        return ring_rattle(r, C, m, dress)
    L, q = r.uniform(0.35, 0.7), r.uniform(0.035, 0.06)
    R = r.uniform(0.14, 0.22)
    prof = [(0, 0), (q, 0.01), (q * r.uniform(0.7, 1.6), L * 0.2), (q * 0.8, L * 0.5), (q * r.uniform(0.8, 1.6), L * 0.8), (q * 0.8, L)]
    o += move([lathe(prof, m, n=5)], rx=-PI / 2, z=R)
    o += move([hoop(q * r.uniform(1.0, 1.4), q * 0.7, dress())], rx=PI / 2, y=L * 0.5, z=R)
    ends = [L + R * 0.8] if form != 'bar' else [L + R * 0.8, -R * 0.8]
    for y in ends:
        if form == 'cage':
            for t in np.linspace(0, PI, r.randint(3, 6), endpoint=False):
                h = [hoop(R, 0.018, r.choice([m, m, dress()]))]
                xf(h, Matrix.Translation((0, y + 0.02, R + 0.02)) @ Matrix.Rotation(t, 4, 'Y') @ Matrix.Diagonal((1, 1.1, 1, 1)))
                o += h
            o.append(ball(R * 0.45, dress(), (0, y - R * 0.2, R * 0.6), 3))
        else:
            s = dress()
            o += [blob(R, R * r.uniform(0.85, 1.1), R * 0.95, s, at=(0, y, R))] + (face(r, R, (0, y, R), (0, 0, 1)) if r.random() < 0.7 else [])
            o += move(ears(r, R, (0, 0, 0), dress(), r.choice(['round', 'long', 'tuft', 'hat'])), rx=-PI / 2 if y > 0 else PI / 2, y=y,
                z=R) if r.random() < 0.75 else []
    if form != 'bar':
        o += move([hoop(R * 0.6, 0.025, m)], y=-R * 0.55, z=R) if r.random() < 0.4 else [ball(q * 1.8, dress(), (0, 0, R), 3)]
    return o + (bow(r, 0, L * 0.8, r.uniform(0.1, 0.2), thread(r, C), R + q) if r.random() < 0.4 else [])


def beater(r, a, b, stick, head, q):
    """A stick from `a` to `b` with a head at `b`."""
    k = r.choice(['ball', 'felt', 'acorn', 'none'])
    R = {'ball': 1.0, 'felt': 1.4, 'acorn': 0.6, 'none': 0.35}[k] * q
    return [tube([a, b], [q * 0.32, q * 0.22], stick, seg=9), blob(R, R, R * (1.4 if k == 'acorn' else 0.9), head if k != 'none' else stick, at=b, sub=3)]


def drum_body(r, form, R, h, wall, skin, rim, cord):
    """A drum with its skin, hoops, cords and beads."""
    h = h * 0.3 if form == 'flat' else h
    k = {'barrel': (1, 1.18, 1), 'goblet': (0.6, 0.35, 1), 'waist': (1, 0.55, 1)}.get(form, (1, 1, 1))
    prof = [(0, 0), (R * k[0], 0), (R * k[0], 0), (R * k[1], h * (0.5 if form != 'goblet' else 0.4)), (R * k[2], h), (R * k[2], h), (R * 0.96, h),
        (R * 0.96, h)]
    o = [lathe(prof, wall, n=6), lathe([(0, h - 0.005), (R * 0.97, h + 0.012), (R * 1.02, h + 0.008), (R * 1.02, h - r.uniform(0.02, 0.08))], skin, n=2)]
    o += [hoop(R * 1.03, r.uniform(0.015, 0.04), rim, h - 0.03)] + ([hoop(R * k[0] * 1.02, 0.025, rim, 0.03)] if form not in ('goblet',) else [])
    n, q = r.choice([0, 6, 8, 10, 14]), 0.004 + 0.01 * r.random()
    if n and form != 'flat':
        a = np.linspace(0, 2 * PI, 2 * n, endpoint=False)
        mid = lambda i, t, z: ((R * 1.05 * (k[1] if t else k[2])) * math.cos(a[i] + t), (R * 1.05 * (k[1] if t else k[2])) * math.sin(a[i] + t), z)
        foot = lambda i: (R * 1.04 * k[0] * math.cos(a[i]), R * 1.04 * k[0] * math.sin(a[i]), 0.04)
        for i in range(0, 2 * n, 2):
            for j in (i - 1, i + 1):
                p, e = mid(i, 0, h - 0.04), foot(j % (2 * n))
                c = [(0.5 * (p[0] + e[0]) * k[1] / ((k[0] + k[2]) / 2), 0.5 * (p[1] + e[1]) * k[1] / ((k[0] + k[2]) / 2), h * 0.5)] if form != 'goblet' else []
                o.append(tube([p] + c + [e], q, cord, seg=5))
            if n < 10:
                o.append(ball(q * 3, rim, tuple(0.6 * np.array(mid(i, 0, h - 0.04)) + 0.4 * np.array(mid(i, 0, h - 0.3))), 2))
    return o


def strap(r, C, R, H, cord):
    """A strap or cord from side to side, and tassels, each now and then."""
    o = []
    if r.random() < 0.5:
        p = [(-R * 1.03, 0, H * 0.8), (-R * 1.5, -R * 0.5, 0.03), (-R * 0.9, -R * 1.6, 0.02), (R * 0.5, -R * 1.7, 0.02), (R * 1.4, -R * 0.8, 0.03),
            (R * 1.03, 0, H * 0.8)]
        o.append(ribbon([tuple(v) for v in resample(p, 8)], r.uniform(0.03, 0.09), print_mat(r, C.alt_c, 0.3)) if r.random() < 0.6 else tube(resample(p, 8),
            0.014, cord, seg=6))
    for _ in range(r.choice([0, 0, 1, 3])):
        a = r.uniform(-3, 0)
        o += tassel(r, (R * 1.07 * math.cos(a), R * 1.07 * math.sin(a), H - 0.05), min(0.3, H * 0.8), cord, down=(0.1 * math.cos(a), 0.1 * math.sin(a), -1))
    return o


@pressed
def G_drum(r, C):
    skin = make_mat('matte', r.choice([(0.92, 0.88, 0.78), (0.8, 0.68, 0.5), (0.95, 0.95, 0.93), C.alt_c]), r)
    wall, rim, cord = r.choice([toy(r, C), print_mat(r, C.color, r.uniform(0.3, 0.8)), tint(r, C, ['metal', 'gloss', 'speckle'])]), toy(r, C), thread(r, C)
    form, h = r.choice(['side', 'side', 'flat', 'barrel', 'goblet', 'waist', 'pair']), r.uniform(0.35, 0.95)

    R = r.uniform(0.32, 0.48)
    one = lambda R, h: drum_body(r, form, R, h, wall, skin, rim, cord)
    o = one(R, h)
    H = h * 0.3 if form == 'flat' else h
    if form == 'pair':
        s = r.uniform(0.7, 1.1)
        o += move(one(R * s, h), x=R * (1 + s) + 0.07) + [block(rim, 0.22, 0.16, h * 0.35, x=R + 0.035, z=h * 0.35)]
    stick, head, q = wood(r), tint(r, C, ['fabric', 'carpet', 'gloss', 'wood']), r.uniform(0.045, 0.08)
    for i in range(r.choice([0, 1, 2, 2, 2])):
        if r.random() < 0.7:
            a, d, x = r.uniform(0, PI), r.uniform(0.5, 0.95), r.uniform(-0.1, 0.1)
            u = (math.cos(a), math.sin(a))
            o += beater(r, (x - u[0] * d * 1.3 * R, -u[1] * d * 1.3 * R, H + 0.045 + 0.03 * i), (x + u[0] * R * 0.6, u[1] * R * 0.6, H + 0.06 + 0.03 * i),
                stick, head, q)
        else:
            a = r.uniform(-2.6, -0.5)
            o += beater(r, (1.75 * R * math.cos(a), 1.75 * R * math.sin(a), 0.03), (R * 0.9 * math.cos(a), R * 0.9 * math.sin(a), (H - 0.01) * 1.23), stick,
                head, q)
    o += strap(r, C, R, H, cord)
    return o


def scale(r, C, n):
    """The colours of the bars: a rainbow loud or quiet, one or two colours, plain wood."""
    kind = r.choice(['gloss', 'gloss', 'matte', 'wood', 'metal'])
    hue, many = r.random(), r.choice([True, True, False])
    sat, val = r.uniform(0.12, 0.45), r.uniform(0.42, 0.68)
    tone = lambda i: [val + sat * math.cos(2 * PI * (hue + 0.85 * i / n + k)) for k in (0, 0.33, 0.67)]
    pair2 = [C.color, r.choice(PAL)]
    if kind == 'wood' and r.random() < 0.4:
        return [wood(r)] * n
    step = r.choice([1, 2])
    return [make_mat(kind, tone(i) if many else pair2[i % step], r) for i in range(n)]


def drawn(r, C, W, l0, l1, z):
    """Wheels, a head and a cord with a bead, for a thing to be drawn along."""
    R, hub, rim = z * 0.75, toy(r, C), toy(r, C)
    o = wheels([-W / 2], l0 * 0.66, R, 0.05, rim, hub, 0) + wheels([W / 2], l1 * 0.66, R, 0.05, rim, hub, 0)
    if r.random() < 0.6:
        h, skin = r.uniform(0.12, 0.18), toy(r, C)
        b = [ball(h, skin, (0, 0, 0)), tube([(0, 0, -h * 0.5), (0, h, -h * 1.5)], h * 0.4, skin)] + face(r, h, (0, 0, 0))
        o += move(b + ears(r, h, (0, 0, 0), toy(r, C), r.choice(['round', 'long', 'hat', 'tuft'])), x=W / 2 + 0.06, z=z + h * 1.45, rz=PI / 2)
    p = wavy(r, W / 2 + 0.05, 0, r.uniform(0.3, 0.7), r.uniform(-0.5, 0.5))
    o += [tube([(W / 2 + 0.02, 0, z - 0.03)] + p[1:], 0.01, thread(r, C), seg=6), ball(0.05, toy(r, C), (p[-1][0], p[-1][1], 0.05), 3)]
    return o


def G_xylophone(r, C):
    n, w = r.randint(4, 12), r.uniform(0.08, 0.15)
    gap, l0 = w * r.uniform(0.1, 0.5), r.uniform(0.5, 0.9)
    l1, rail, form = l0 * r.uniform(0.4, 0.95), toy(r, C), r.choice(['rails', 'rails', 'box', 'legs', 'wheels'])
    bars, pin = scale(r, C, n), r.choice([wire(r), toy(r, C)])
    W, z, t = n * (w + gap), r.uniform(0.08, 0.2), r.uniform(0.02, 0.05)
    xs = [(i + 0.5) * (w + gap) - W / 2 for i in range(n)]
    ls = [l0 + (l1 - l0) * i / (n - 1) for i in range(n)]
    o = [block(bars[i], w, ls[i], t, x=xs[i], z=z, bev=0.012) for i in range(n)]
    for s in (-1, 1):
        a, b = s * l0 * 0.3, s * l1 * 0.3
        poly = [(-W / 2 - 0.04, a - 0.025), (W / 2 + 0.04, b - 0.025), (W / 2 + 0.04, b + 0.025), (-W / 2 - 0.04, a + 0.025)]
        o.append(slab(poly, z + 0.006 if form in ('rails', 'box') else 0.066, rail, z=0 if form in ('rails', 'box') else z - 0.06))
        o += [blob(0.02, 0.02, 0.014, pin, at=(xs[i], s * ls[i] * 0.3, z + t + 0.004), sub=2) for i in range(n)]
        if form in ('legs', 'wheels'):
            for x, y in ((-W / 2, a), (W / 2, b)):
                o.append(tube([(x, y, z - 0.02), (x, y, 0.0 if form == 'legs' else z * 0.6)], 0.025, rail))
    for x, l in ((-W / 2 - 0.02, l0), (W / 2 + 0.02, l1)):
        o.append(block(rail, 0.05, l * 0.66, 0.05, x=x, z=z - 0.055))
        if form == 'box':
            o.append(block(rail, 0.05, l * 1.0, z + t + 0.02, x=x - 0.03 if x < 0 else x + 0.03))
    o += drawn(r, C, W, l0, l1, z) if form == 'wheels' else []
    stick, head, q = r.choice([wood(r), toy(r, C)]), tint(r, C, ['gloss', 'wood', 'fabric', 'carpet']), r.uniform(0.05, 0.08)
    for i in range(r.choice([1, 2, 2, 2])):
        x, y, a = r.uniform(-0.3, 0.3) * W, r.uniform(-0.15, 0.15), r.uniform(-2.6, -0.5)
        d = (math.cos(a) * l0 * 0.9, math.sin(a) * l0 * 0.9)
        far = r.random() < 0.5
        o += beater(r, (x + d[0], y + d[1], 0.04 if far else z + t + 0.03), (x, y, z + t + q * 0.35), stick, head, q)
    return o


def pleats(a0, a1, n, r0, r1, dz, m, z=0.01, scallop=0.0):
    """Folded paper between two radii and two angles."""
    V = []
    for i in range(2 * n + 1):
        a = a0 + (a1 - a0) * i / (2 * n)
        V += [(q * math.cos(a), q * math.sin(a), z + dz * (i % 2) * q / r1) for q in (r0, r1 * (1 + scallop * (i % 2)))]
    return mesh('pleats', V, [(i * 2, i * 2 + 1, i * 2 + 3, i * 2 + 2) for i in range(2 * n)], m, smooth=False)


def paddle(r, m, m2, ribm):
    """A stiff fan on a handle; gives its objects and the handle's end."""
    out = smooth_outline([(0, -0.42), (0.36 * r.uniform(0.7, 1.2), -0.3), (0.46, 0.05), (0.3 * r.uniform(0.6, 1.3), 0.4), (0, r.uniform(0.36, 0.55))])
    out = out[: len(out) * 4 // 5] + [(-x, y) for x, y in out[: len(out) * 4 // 5][::-1]][:-1]
    out = smooth_outline(out[::3], 3)
    L = r.uniform(0.4, 0.6)
    o = [slab(out, 0.012, m, z=0.02), tube([(*p, 0.026) for p in out], r.uniform(0.008, 0.02), m2, closed=True, seg=6)]
    o += [tube([(0, -0.38, 0.03), (x, r.uniform(0.1, 0.3), 0.036)], 0.006, ribm, seg=5) for x in np.linspace(-0.3, 0.3, r.randint(3, 11))]
    o.append(tube([(0, -0.42 - L, 0.03), (0, -0.3, 0.03), (0, 0.2, 0.034)], [0.03, 0.022, 0.014], ribm, flat=0.8))
    return o, (0, -0.42 - L, 0.03)


def folded(r, form, R, m, m2, ribm):
    """A folding fan, spread or nearly shut, of paper on ribs or of ribs alone."""
    o = []
    half, n, inner = r.uniform(0.5, 1.55) if form == 'hand' else 0.07, r.randint(8, 18), r.choice([0.25, 0.4, 0.55])
    a0, a1, flat = PI / 2 - half, PI / 2 + half, 0.05 if form == 'hand' else 0.12
    if r.random() < 0.85:
        o.append(pleats(a0, a1, n, R * inner, R, flat, m, 0.02))
        k = r.uniform(0.75, 0.92)
        o += [pleats(a0, a1, n, R * k, R * r.choice([1, 1.04]), flat * 1.03, m2, 0.024, r.choice([0, 0.04]))] if r.random() < 0.6 else []
    else:
        inner = 1.0
    for i, a in enumerate(np.linspace(a0, a1, n + 1)):
        e, w = i in (0, n), 0.03 if inner == 1 else 0.018
        L = R * (1.02 if e or inner == 1 else inner + 0.15)
        p = [(-0.1, -0.012), (L * 0.5, -w * 0.8), (L, -w * (1.3 if inner == 1 else 0.7)), (L, w * (1.3 if inner == 1 else 0.7)), (L * 0.5, w * 0.8),
            (-0.1, 0.012)]
        o += move([slab(p, 0.014 if e else 0.007, ribm if not e or r.random() < 0.7 else m2)], rz=a, z=0.004 + 0.0025 * i + (0.05 if i == n else 0))
    o.append(blob(0.025, 0.025, 0.06, wire(r), at=(0, 0, 0.03), sub=2))
    return o


@pressed
def G_paper_fan(r, C):
    form, ribm, cord = r.choice(['hand', 'hand', 'hand', 'round', 'paddle', 'closed']), r.choice([wood(r), toy(r, C),
        make_mat('matte', (0.1, 0.08, 0.07), r)]), thread(r, C)
    m, m2, o, R = paper(r, C, r.uniform(0.4, 1.0)), paper(r, C), [], 0.8
    if form == 'paddle':
        o, end = paddle(r, m, m2, ribm)
    elif form == 'round':
        n = r.randint(14, 30)
        o += [pleats(0, 2 * PI, n, 0.03, R * 0.65, 0.07, m, 0.02, r.choice([0, 0.08])),
            pleats(0, 2 * PI, n, R * 0.55, R * 0.67, 0.075, m2, 0.022, r.choice([0, 0.08]))]
        o += [blob(0.08, 0.08, 0.04, ribm, at=(0, 0, 0.08), sub=3), tube([(0, 0, 0.02), (0, -R * r.uniform(1, 1.5), 0.02)], 0.02, ribm)]
        end = (0, o[-1].data.vertices[-1].co.y, 0.02)
        o += bow(r, 0, -R * 0.7, r.uniform(0.12, 0.2), cord, 0.06) if r.random() < 0.5 else []
    else:
        o += folded(r, form, R, m, m2, ribm)
        end = (0, -0.03, 0.03)
    if r.random() < 0.7:
        p = wavy(r, end[0], end[1], r.uniform(0.15, 0.45), -PI / 2 + r.uniform(-0.8, 0.8), 0.1, z=0.03)
        o.append(tube([end] + p[1:], 0.008, cord, seg=5))
        o += [ball(0.035, toy(r, C), (p[8][0], p[8][1], 0.035), 2)] if r.random() < 0.5 else []
        d = Vector(p[-1]) - Vector(p[-3])
        o += tassel(r, p[-1], r.uniform(0.15, 0.35), r.choice([cord, tint(r, C, ['fabric', 'gloss'], 0)]), down=(d.x, d.y, -0.01))
    return o


def crook(r, z, form):
    """Points of a handle that begins at height z and goes down from there."""
    if form == 'hook':
        q = r.uniform(0.07, 0.12)
        return [(0, 0, z)] + [(q - q * math.cos(t), 0, z - 0.1 - q * math.sin(t)) for t in np.linspace(0, r.uniform(2.8, 3.9), 14)]
    return [(0, 0, z), (0, 0, z - 0.25)]


def canopy(r, size, ms, trim, rib, shut):
    """The cloth between n ribs, round, flat, pointed or shut, with its ribs, stays and edge."""
    n, R, L, d, p, sag = size
    nt, na = 10, 8
    P = lambda t, a, u: (R * t * (1 - sag * math.sin(PI * u) * t) * math.cos(a), R * t * (1 - sag * math.sin(PI * u) * t) * math.sin(a), L - d * t**p - 0.02)
    o = []
    for par in (0, 1):
        V, F = [], []
        for k in range(par, n, 2):
            b = len(V)
            V += [P(t, 2 * PI * (k + u) / n, u) for t in np.linspace(0.02, 1, nt + 1) for u in np.linspace(0, 1, na + 1)]
            F += [(b + i * (na + 1) + j, b + i * (na + 1) + j + 1, b + (i + 1) * (na + 1) + j + 1,
                b + (i + 1) * (na + 1) + j) for i in range(nt) for j in range(na)]
        o.append(mesh('panels', V, F, ms[par]))
    edge = [P(1, 2 * PI * (k + u) / n, u) for k in range(n) for u in np.linspace(0, 1, na, endpoint=False)]
    deco = r.choice(['none', 'cord', 'ruffle', 'beads', 'tassels'])
    o += [tube(edge, 0.012 if deco == 'cord' else 0.005, trim, closed=True, seg=6)]
    if deco == 'ruffle':
        q = [tuple(np.array(e) * (1.04 + 0.03 * (i % 2), 1.04 + 0.03 * (i % 2), 1) - (0, 0, 0.07)) for i, e in enumerate(edge)]
        N = len(edge)
        o.append(mesh('ruffle', edge + q, [(i, (i + 1) % N, N + (i + 1) % N, N + i) for i in range(N)], trim))
    for k in range(n):
        a = 2 * PI * k / n
        tip = P(1.05, a, 0)
        o.append(tube([tuple(np.array(P(t, a, 0)) - (0, 0, 0.006)) for t in (0.03, 0.3, 0.6, 0.85, 1.05)], 0.006, rib, seg=5))
        o += [ball(0.022, trim, tip, 2)] if deco == 'beads' else tassel(r, tip, 0.1, trim, 0.025, 8, (0, 0, -1)) if deco == 'tassels' and not shut else []
        if not shut:
            o.append(tube([(0, 0, L - d - 0.12), P(0.55, a, 0)], 0.005, rib, seg=4))
    return o


def G_parasol(r, C):
    n, R, L = r.choice([6, 8, 8, 10, 12, 16]), 0.6, r.uniform(0.75, 1.15)
    rod, rib, ms = r.choice([wood(r), toy(r, C), wire(r)]), r.choice([wood(r), wire(r)]), [paper(r, C, r.uniform(0.4, 1)), paper(r, C)]
    ms, trim, hook = ms if r.random() < 0.5 else ms[:1] * 2, tint(r, C, ['fabric', 'gloss', 'paper'], 0), r.choice(['hook', 'hook', 'knob'])
    shut = r.random() < 0.35
    d, p, sag, R = (r.uniform(0.15, 0.45), r.uniform(1.1, 2.2), r.uniform(0, 0.12), R) if not shut else (L * 0.62, 0.95, r.uniform(0.25, 0.45),
        r.uniform(0.09, 0.16))
    o = canopy(r, (n, R, L, d, p, sag), ms, trim, rib, shut)
    o += [tube([(0, 0, L + r.uniform(0.04, 0.12)), (0, 0, 0)], [0.008, 0.015], rod, seg=8),
        tube(crook(r, 0.02, hook), r.uniform(0.016, 0.032), r.choice([rod, wood(r), trim]), seg=10)]
    if shut:
        k = r.uniform(0.5, 0.75)
        z = L - d * k
        o += [hoop(R * k * 0.92, 0.016, trim, z)] + (move(bow(r, 0, 0, 0.12, trim, 0.0), rx=PI / 2, y=-R * k * 0.95, z=z) if r.random() < 0.6 else [])
        return ground(move(o, rx=PI / 2 + r.uniform(-0.03, 0.05)))
    if r.random() < 0.35:
        base = cyl(r.uniform(0.16, 0.26), r.uniform(0.04, 0.1), wood(r), z=-0.05) if hook == 'knob' else lathe([(0, -0.35), (0.2, -0.35), (0.2, -0.3),
            (0.03, -0.26), (0.02, -0.2), (0, -0.2)], rod, n=3)
        return ground(o + [base, tube([(0, 0, 0.02), (0, 0, -0.3 if hook == 'hook' else 0.0)], 0.015, rod, seg=8)])
    a = PI / n * r.choice([0, 1])
    low = L - d - 0.02 + (0.3 if hook == 'knob' else 0.22)
    return ground(move(move(o, rz=a), ry=math.atan2(low, R * (math.cos(PI / n) if a else 1))))


def bird(r, m, wingm, size):
    """A folded paper bird on its body, its head towards x."""
    W, up, back, q = r.uniform(0.4, 0.75), r.uniform(-0.05, 0.45), r.uniform(-0.25, 0.1), r.uniform(0.05, 0.12)
    nk, tl, hd = r.uniform(0.35, 0.65), r.uniform(0.35, 0.65), r.uniform(0.12, 0.22)
    V = [(0, 0, 0.33), (0.24, 0, 0.16), (-0.24, 0, 0.16), (0, 0.12, 0.0), (0, -0.12, 0.0)]
    F = [(1, 3, 0), (1, 0, 4), (2, 0, 3), (2, 4, 0), (1, 4, 3), (2, 3, 4)]
    for s, L, head in ((1, nk, True), (-1, tl, False)):
        b, tip = len(V), (s * (0.2 + L * 0.6), 0, 0.2 + L * r.uniform(0.6, 1.0))
        V += [(s * 0.08, 0, 0.25), (s * 0.2, q, 0.05), (s * 0.2, -q, 0.05), (s * 0.27, 0, 0.13), tip]
        F += [(b, b + 1, b + 4), (b, b + 4, b + 2), (b + 3, b + 4, b + 1), (b + 3, b + 2, b + 4)]
        if head:
            V += [(tip[0] - 0.05, q * 0.3, tip[2] - 0.09), (tip[0] - 0.05, -q * 0.3, tip[2] - 0.09), (tip[0] + hd, 0, tip[2] - hd * r.uniform(0.3, 1.2)),
                (tip[0] - 0.01, 0, tip[2] + 0.01)]
            F += [(b + 8, b + 7, b + 5), (b + 8, b + 6, b + 7), (b + 5, b + 7, b + 6)]
    o = [mesh('bird', V, F, m, smooth=False)]
    for s in (-1, 1):
        tip, a, b = (back, s * W, 0.28 + up), (0.18, s * 0.02, 0.2), (-0.18, s * 0.02, 0.2)
        mid = (back * 0.4, s * W * 0.5, 0.33 + up * 0.55 + r.uniform(-0.02, 0.05))
        top = (0, s * 0.02, 0.33)
        o.append(mesh('wing', [a, b, tip, mid, top], [(0, 3, 4), (4, 3, 1), (0, 2, 3), (3, 2, 1)], wingm, smooth=False))
    xf(o, Matrix.Scale(size, 4))
    return o


def hung(r, C, form, one, cord):
    """Birds on threads from an arch or a bent branch."""
    o = []
    w, h, m = r.uniform(0.7, 1.3), r.uniform(1.2, 1.8), r.choice([wood(r), wire(r), make_mat('matte', (0.08, 0.07, 0.07), r)])
    if form == 'arch':
        o += [tube(arch(w, h, 0.02, p=r.uniform(0.35, 1)), 0.02, m), block(wood(r), w * 1.15, 0.25, 0.06)]
        top = [tuple(p) for p in arch(w, h, 0.02, p=0.6)][8:19:5]
    else:
        o += [cyl(0.22, 0.07, wood(r)), tube(resample([(0, 0, 0.02), (0.02, 0, h * 0.6), (0.1, 0, h), (0.35, 0, h * 1.08), (0.62, 0, h)], 6),
            np.linspace(0.028, 0.014, 25), m)]
        top = [(0.34, 0, h * 1.08), (0.6, 0, h)]
    sup = verts_of([o[0 if form == 'arch' else 1]])
    for x, y, z in r.sample(top, r.randint(1, len(top))):
        z = float(sup[np.abs(sup[:, 0] - x) < 0.06][:, 2].max()) - 0.02
        zs = np.linspace(z - r.uniform(0.55, 0.7), 0.2, r.randint(1, 3)) if z > 1.0 else [z - 0.65]
        o.append(tube([(x, y, z), (x, y, max(0.1, min(zs)))], 0.005, cord, seg=5))
        for q in zs:
            o += move(one(0.55), x=x, y=y, z=q, rz=r.uniform(0, 6)) + ([ball(0.03, toy(r, C), (x, y, q + 0.28), 2)] if r.random() < 0.5 else [])
    return o


@pressed
def G_crane(r, C):
    form = r.choice(['one', 'one', 'few', 'stack', 'arch', 'branch'])
    sheets = [paper(r, C, r.uniform(0.25, 0.8)) for _ in range(r.choice([1, 2, 4]))]
    one = lambda s=1.0: bird(r, m := r.choice(sheets), m if r.random() < 0.75 else r.choice(sheets), s)
    cord, o = thread(r, C), []
    if form == 'one':
        o = one()
        if r.random() < 0.4:
            o += [tube(soft([(0, 0, 0.33), (0.04, 0.05, 0.5), (0.0, -0.02, 0.66), (-0.04, 0.03, 0.5), (0, 0, 0.33)]), 0.007, cord, seg=5)] + tassel(r,
                (0.01, -0.1, 0.03), 0.4, cord, 0.05, 10, (0.3, -1, -0.02))
        return o
    if form == 'few':
        n = r.randint(2, 5)
        for i in range(n):
            o += move(one(r.uniform(0.5, 1)), x=r.uniform(-0.05, 0.05) + 0.3 * (i % 2), y=0.3 * (i - n / 2 + 0.5), rz=r.uniform(-0.9, 0.9))
        return o if r.random() < 0.5 else move(o, z=0.035) + [block(r.choice([wood(r), toy(r, C)]), 0.6, 0.3 * n + 0.1, 0.04, x=0.15)]
    if form == 'stack':
        p = wavy(r, 0, 0, r.uniform(1.4, 2.6), -PI / 2 + r.uniform(-0.4, 0.4), 0.1, 40, z=0.02)
        o.append(tube(p, 0.008, cord, seg=5))
        for i in range(3, 38, r.choice([5, 7, 9])):
            o += move(one(0.5), x=p[i][0], y=p[i][1], rz=r.uniform(0,
                6)) + ([ball(0.035, toy(r, C), (p[i + 2][0], p[i + 2][1], 0.035), 2)] if r.random() < 0.6 else [])
        return o + (tassel(r, p[-1], 0.35, cord, 0.06, down=(0, -1, -0.02)) if r.random() < 0.6 else [hoop(0.08, 0.012, wire(r), 0.02)])
    return hung(r, C, form, one, cord)


def blossom(r, x, y, s, z, ink):
    m, n, o = r.choice(ink), r.choice([5, 6, 8, 12]), []
    for a in np.linspace(0, 2 * PI, n, endpoint=False):
        o += move([blob(s * 0.5, s * min(0.3, 1.6 / n), 0.014, m, sub=2)], x=x + s * 0.55 * math.cos(a), y=y + s * 0.55 * math.sin(a), z=z, rz=a)
    return o + [ball(s * 0.3, r.choice(ink), (x, y, z), 2, 0.6)]


def spray(r, x, y, a, L, z, ink):
    """A stem with leaves; gives its objects and its end."""
    m, b = r.choice(ink), r.uniform(-0.6, 0.6)
    p = [(x + L * t * math.cos(a + b * t), y + L * t * math.sin(a + b * t), z) for t in np.linspace(0, 1, 9)]
    o = [tube(p, 0.007, m, seg=5, flat=0.7)]
    for i in range(2, 9, 2):
        for s in (-1, 1):
            o += move([blob(L * 0.11, L * 0.045, 0.01, m, at=(L * 0.1, 0, 0), sub=2)], x=p[i][0], y=p[i][1], z=z, rz=a + b * i / 8 + s * 0.8)
    return o, p[-1][:2]


def lines(r, form, R, z, ink, o, th, knot):
    """Hills under a moon, or a star."""
    if form == 'hills':
        for k in range(r.randint(3, 6)):
            y0, f, q = -R * 0.6 + k * R * 0.17, r.uniform(2, 6), r.uniform(0, 6)
            th([(x, y0 + R * 0.12 * math.sin(f * x / R + q)) for x in np.linspace(-1, 1, 20) * math.sqrt(R * R - y0 * y0) * 0.85], 0.012)
        o.append(slab(circle(R * 0.2, 24, R * 0.25, R * 0.5), 0.012, r.choice(ink), z=z - 0.004))
    else:
        n = r.choice([8, 12, 16])
        for i in range(n):
            a, L = 2 * PI * i / n, R * (0.8 if i % 2 else 0.5)
            th([(0.05 * math.cos(a), 0.05 * math.sin(a)), (L * math.cos(a), L * math.sin(a))], 0.014)
            knot(L * math.cos(a), L * math.sin(a), 0.025, r.choice(ink))


def stitched(r, C, R, z, ink):
    """A stitched picture within R of the origin: a posy, a wreath, hills under a moon, a star or rings of knots."""
    o, form = [], r.choice(['posy', 'posy', 'wreath', 'hills', 'star', 'rings', 'rows'])
    th = lambda p, q=0.008, m=None: o.append(tube([(x, y, z) for x, y in p], q, m or r.choice(ink), seg=5, flat=0.7))
    knot = lambda x, y, s, m: o.append(ball(s, m, (x, y, z), 2, 0.6))
    flower = lambda x, y, s: o.extend(blossom(r, x, y, s, z, ink))
    sprig = lambda x, y, a, L: o.extend(spray(r, x, y, a, L, z, ink)[0])
    if form == 'posy':
        for a in np.linspace(-0.7, 0.7, r.randint(3, 7)) + PI / 2:
            stem, (x, y) = spray(r, 0, -R * 0.65, a, R * r.uniform(0.75, 1.25), z, ink)
            o += stem
            flower(x, y, R * r.uniform(0.1, 0.22)) if r.random() < 0.7 else knot(x, y, R * r.uniform(0.05, 0.1), r.choice(ink))
    elif form == 'wreath':
        n = r.randint(6, 12)
        for i in range(n):
            a = 2 * PI * i / n
            sprig(R * 0.6 * math.cos(a), R * 0.6 * math.sin(a), a + PI / 2, R * 0.4)
            if i % 2:
                flower(R * 0.62 * math.cos(a), R * 0.62 * math.sin(a), R * r.uniform(0.1, 0.16))
    elif form in ('hills', 'star'):
        lines(r, form, R, z, ink, o, th, knot)
    else:
        for k, q in enumerate(np.linspace(0.15, 0.8, r.randint(3, 6)) * R):
            m, n = r.choice(ink), int(8 + 60 * q)
            for i in range(n if form == 'rings' else 0):
                knot(q * math.cos(2 * PI * i / n), q * math.sin(2 * PI * i / n), 0.018, m)
            if form == 'rows':
                th([(x, -R * 0.75 + 2 * q * 0.9 + (0.03 if i % 2 else -0.03)) for i, x in enumerate(np.linspace(-0.5, 0.5, 16) * R)], 0.011, m)
    return o


def needle(r, R, sy, m, m2):
    """A thread that comes out of the cloth and runs over the hoop's edge, a needle at its end."""
    a = r.uniform(-2.9, -0.3)
    x0, y0 = R * 0.5 * math.cos(a), R * 0.5 * math.sin(a) * sy
    p = wavy(r, x0, y0, r.uniform(0.5, 1.0), a + r.uniform(-0.4, 0.4), 0.12, 24)
    high = lambda x, y: 0.085 if R * 0.9 < math.hypot(x, y / sy) < R + 0.12 else 0.045 if math.hypot(x, y / sy) < R else 0.018
    p = [(x, y, high(x, y)) for x, y, _ in p]
    d = r.uniform(0, 6)
    e = (p[-1][0] + 0.22 * math.cos(d), p[-1][1] + 0.22 * math.sin(d), high(p[-1][0] + 0.11 * math.cos(d), p[-1][1]))
    return [tube(p, 0.008, m2, seg=5), tube([p[-1], e], [0.011, 0.004], m, seg=6)]


def G_embroidery(r, C):
    frame, R = r.choice([wood(r), wood(r), toy(r, C)]), r.uniform(0.4, 0.5)
    cloth = print_mat(r, C.color, 0.3) if r.random() < 0.3 else make_mat(r.choice(['linen', 'fabric']), r.choice([C.light(), C.color]), r, scale=1.5)
    ink = [make_mat(r.choice(['fabric', 'matte', 'gloss']), r.choice([C.alt_c] + PAL + GREEN), r) for _ in range(r.randint(2, 5))]
    sy, loose = r.choice([1, 1, 1, 1.25, 0.8]), r.random() < 0.45
    if loose:
        k = r.choice(['square', 'ragged'])
        q = rounded(R * r.uniform(2.2, 2.9), R * r.uniform(2.2, 2.9),
            0.03) if k == 'square' else smooth_outline([(R * r.uniform(1.1, 1.4) * math.cos(t), R * r.uniform(1.1, 1.4) * math.sin(t)) for t in np.linspace(0,
            2 * PI, 12, endpoint=False)], 4)
        o = [slab(q, 0.006, cloth, z=0.004)]
    else:
        o = []
    o += [slab(circle(R), 0.02, cloth, z=0.01), lathe([(R, 0), (R + 0.03, 0), (R + 0.03, 0.075), (R, 0.075), (R, 0)], frame, smoothp=False),
        lathe([(R + 0.036, 0.006), (R + 0.062, 0.006), (R + 0.062, 0.066), (R + 0.036, 0.066), (R + 0.036, 0.006)], frame, smoothp=False)]
    o += stitched(r, C, R * 0.95, 0.034, ink)
    xf(o, Matrix.Diagonal((1, sy, 1, 1)))
    m, y = wire(r), (R + 0.09) * sy
    o += [block(m, 0.035, 0.13, 0.06, x=s * 0.045, y=y, z=0.005, bev=0.008) for s in (-1, 1)] + aim([cyl(0.018, 0.2, m, bev=0.004),
        cyl(0.036, 0.04, m, z=0.19, bev=0.008)], (-0.09, y + 0.03, 0.04), (1, 0, 0))
    if r.random() < 0.35:
        o.append(ribbon(soft([(0, y, 0.04), (0.09, y + 0.2, 0.02), (0, y + 0.42, 0.02), (-0.09, y + 0.2, 0.02), (0, y, 0.05)]), 0.03, r.choice(ink)))
    o += needle(r, R, sy, m, r.choice(ink)) if r.random() < 0.75 else []
    for i in range(r.choice([0, 0, 1, 2])):
        a = r.uniform(-0.9, 0.9) + (PI if i else 0)
        b = [lathe([(0, 0), (0.07, 0), (0.07, 0.02), (0.045, 0.03), (0.055, 0.08), (0.045, 0.13), (0.07, 0.14), (0.07, 0.16), (0, 0.16)], r.choice(ink), n=3,
            seg=28)]
        o += move(b, x=(R + 0.13) * math.cos(a), y=(R + 0.14) * sy * math.sin(a))
    return o


def ink_pot(form, R, h, q, potm):
    k = {'cone': 0.5, 'round': 1.0, 'facet': 0.9}.get(form, 1)
    if form == 'square':
        return [block(potm, R * 2, R * 2, h * 0.75, bev=0.04),
            lathe([(q * 1.5, h * 0.7), (q * 1.2, h * 0.8), (q, h), (q * 1.35, h), (q * 1.4, h + 0.04), (q * 0.8, h + 0.04), (q * 0.75, h - 0.06),
            (0, h - 0.07)], potm, n=3)]
    return [lathe([(0, 0), (R, 0), (R, 0.03), (R * k, h * 0.6), (q * 1.4, h * 0.85), (q, h), (q * 1.5, h + 0.02), (q * 1.4, h + 0.05), (q * 0.8, h + 0.05),
        (q * 0.75, h - 0.04), (0, h - 0.06)], potm, n=4, seg=8 if form == 'facet' else 56)]


def feather(r, L, w, ms, shaft, curl):
    """A feather along y from the origin, its vane split here and there, curling up."""
    bend, t0, form = r.uniform(-0.2, 0.2), r.uniform(0.2, 0.42), r.choice(['plain', 'tip', 'bars', 'edge'])
    mid = lambda t: np.array((bend * L * t * t, L * t, curl * L * t * t))
    V, F, n, p, rake, torn = [[], []], [[], []], r.randint(34, 60), r.uniform(0.5, 1.1), r.uniform(0.3, 1.1), r.uniform(0, 0.18)
    for s in (-1, 1):
        k = r.uniform(0.55, 1.1)
        for i in range(n):
            u = i / n
            b = w * k * (math.sin(PI * min(1, 0.06 + 0.94 * u ** p)) ** 0.6 + 0.02) * (r.uniform(0.4, 0.8) if r.random() < torn else r.uniform(0.93, 1.02))
            c, d = mid(t0 + (1 - t0) * u), mid(min(1.0, t0 + (1 - t0) * (i + 1.25) / n))
            g = {'plain': 0, 'tip': u > 0.72, 'bars': int(u * 7) % 2, 'edge': s > 0}[form]
            lift = np.array((s * b, b * rake, b * 0.25))
            j = len(V[g])
            V[g] += [c, d, d + lift * (0.55, 0.5, 0.9), d + lift, c + lift * (0.97, 0.9, 1), c + lift * (0.55, 0.5, 0.9)]
            F[g] += [(j, j + 1, j + 2, j + 5), (j + 5, j + 2, j + 3, j + 4)]
    o = [mesh('vane', V[g], F[g], ms[g]) for g in (0, 1) if V[g]]
    return o + [tube([tuple(mid(t) + (0, 0, 0.004)) for t in np.linspace(0, 1, 22)], np.linspace(0.016, 0.003, 22) * L, shaft, seg=7)]


def wound(r, nibm, cord):
    """A nib at the origin and a cord wound about the shaft, each now and then."""
    f = []
    if r.random() < 0.6:
        f = [lathe([(0.0, -0.1), (0.008, -0.08), (0.022, 0), (0.02, 0.05)], nibm, n=3, seg=12)]
        move(f, rx=-PI / 2)
    if r.random() < 0.4:
        f.append(tube([(0.024 * math.cos(t * 5), 0.08 + 0.012 * t, 0.024 * math.sin(t * 5)) for t in np.linspace(0, 14, 160)], 0.008, cord, seg=5))
    return f


@pressed
def G_quill(r, C):
    h, q, form = r.uniform(0.22, 0.42), r.uniform(0.05, 0.09), r.choice(['round', 'round', 'square', 'cone', 'facet'])
    potm, cap, nibm = tint(r, C, ['glass', 'gloss', 'speckle', 'metal', 'matte']), r.choice([wood(r), wire(r), toy(r, C)]), wire(r)
    R, ink = r.uniform(0.17, 0.28), make_mat('gloss', r.choice([(0.03, 0.03, 0.06), (0.08, 0.1, 0.3), (0.3, 0.05, 0.06)]), r)
    o = ink_pot(form, R, h, q, potm)
    o.append(cyl(q * 0.78, 0.01, ink, z=h - 0.045, bev=0.003))
    fm = [make_mat(r.choice(['matte', 'fabric']), c, r) for c in (r.choice([(0.93, 0.91, 0.87), C.color, r.choice(PAL)]),
        r.choice([(0.15, 0.12, 0.1), (0.5, 0.35, 0.22), C.alt_c]))]
    shaft, cord = make_mat('gloss', r.choice([(0.9, 0.86, 0.75), (0.3, 0.22, 0.15)]), r), thread(r, C)
    for _ in range(r.choice([1, 1, 1, 2])):
        L, stuck = r.uniform(0.9, 1.5), r.random() < 0.55
        f = feather(r, L, r.uniform(0.07, 0.2), fm, shaft, r.uniform(-0.05, 0.25 if stuck else 0.05))
        f += wound(r, nibm, cord)
        move(f, ry=r.uniform(-0.6, 0.6) if stuck else 0)
        if stuck:
            t = r.uniform(0.12, 0.45)
            o += move(move(f, rx=PI / 2 - t, y=q * 0.74 - 0.135 * math.tan(t), z=h - 0.09), rz=r.choice([0, PI]) + r.uniform(-0.9, 0.9))
        else:
            a = math.asin(min(0.9, (h + 0.02) / (L * 0.45)))
            o += move(move(f, rx=a, y=-(h + 0.02) / math.tan(a), z=0.012), rz=r.uniform(0, 6))
    if r.random() < 0.45:
        a = r.uniform(-2.5, -0.6)
        o += move([lathe([(0, 0), (q * 1.3, 0), (q * 1.3, 0.05), (q * 0.8, 0.06), (q * 0.7, 0.12), (0, 0.12)], cap, n=2)], x=(R + q * 1.35) * math.cos(a),
            y=(R + q * 1.35) * math.sin(a))
    if r.random() < 0.35:
        o = move(o, z=0.05) + [block(wood(r), R * 4, R * 3, 0.055) if r.random() < 0.5 else cyl(R * 1.9, 0.055, toy(r, C))]
    return o


def capsule(L, w, k=1.0):
    return smooth_outline([(-w * 0.5, 0), (0, -w * 0.5), (L * 0.5, -w * 0.5 * k), (L, -w * 0.45), (L + w * 0.4, 0), (L, w * 0.45), (L * 0.5, w * 0.5 * k),
        (0, w * 0.5)], 4)


def limb(r, at, ang, L, w, z, ms, pin, end, step):
    """A flat limb of one or two pieces from a pin at `at` towards `ang`, with a hand or foot."""
    o, n, (x, y), a = [], r.choice([1, 2, 2]), at, ang
    for i in range(n):
        l, q = L / n, w * (1 - 0.15 * i)
        zz = z + step * i
        o += move([slab(capsule(l, q, r.uniform(0.8, 1.15)), 0.028, ms[i])], x=x, y=y, z=zz,
            rz=a) + [blob(0.022, 0.022, 0.016, pin, at=(x, y, zz + 0.03), sub=2)]
        x, y, a = x + l * math.cos(a), y + l * math.sin(a), a + (r.uniform(-0.8, 0.8) if i + 1 < n else 0)
    q = w * r.uniform(0.6, 0.8)
    e = {'round': circle(q, 20), 'boot': smooth_outline([(-q, -q * 0.6), (q * 1.1, -q * 0.6), (q * 1.1, q * 2.0), (0, q * 1.8), (0, q * 0.5), (-q, q * 0.5)],
        4), 'claw': [(-q, -q * 0.4), (q * 1.4, -q * 1.2), (q * 0.8, -q * 0.2), (q * 1.7, 0), (q * 0.8, q * 0.2), (q * 1.4, q * 1.2), (-q, q * 0.4)]}[end]
    return o + move([slab(e, 0.03, ms[2])], x=x, y=y, z=zz + 0.002, rz=a)


def headgear(r, q, top, z, ms, pin):
    """Flat hats, crowns, ears, horns or curls."""
    hat = r.choice(['cone', 'jester', 'crown', 'brim', 'round', 'point', 'hair', 'horns'])
    poly = {'cone': [[(-q, 0), (q, 0), (q * r.uniform(-0.5, 0.5), q * 2)]],
        'crown': [[(-q, 0), (q, 0), (q, q), (q * 0.5, q * 0.5), (0, q * 1.1), (-q * 0.5, q * 0.5), (-q, q)]],
        'brim': [[(-q * 1.4, 0), (q * 1.4, 0), (q * 1.4, q * 0.2), (q * 0.8, q * 0.2), (q * 0.7, q * 1.1), (-q * 0.7, q * 1.1), (-q * 0.8, q * 0.2),
        (-q * 1.4, q * 0.2)]]}
    poly |= {'jester': [[(-q * 0.9, 0), (q * 0.1, 0), (-q * 0.3, q * 1.1), (-q * 1.6, q * 0.7)],
        [(-q * 0.1, 0), (q * 0.9, 0), (q * 1.6, q * 0.7), (q * 0.3, q * 1.1)]], 'round': [circle(q * 0.42, 20, s * q * 0.8, q * 0.15) for s in (-1, 1)],
        'point': [[(s * q * 0.6 - 0.3 * q, -0.1 * q), (s * q * 0.6 + 0.3 * q, -0.1 * q), (s * q * 1.0, q * 0.9)] for s in (-1, 1)],
        'hair': [circle(q * 0.35, 14, q * 1.05 * math.cos(t), q * 1.05 * math.sin(t) - q * 0.5) for t in np.linspace(0, PI, 7)],
        'horns': [smooth_outline([(s * q * 0.3, 0), (s * q * 0.7, 0.1 * q), (s * q * 1.3, q * 1.2)][:: s], 4) for s in (1, -1)]}
    o = move([slab(p, 0.03, ms[1 + i % 2]) for i, p in enumerate(poly[hat])], y=top, z=z + (0.03 if hat in ('cone', 'crown', 'brim') else -0.004))
    if hat in ('jester', 'cone'):
        o += [ball(q * 0.24, pin, (x, top + y, z + 0.03), 2) for x, y in ([(-q * 1.6, q * 0.7), (q * 1.6, q * 0.7)] if hat == 'jester' else [poly[hat][0][2]])]
    return o


def limbs_on_pins(r, w, h, z, Ll, skin, ms, pin):
    end, foot = r.choice(['round', 'claw', 'boot']), r.choice(['boot', 'boot', 'round', 'claw'])
    lw, La, up = r.uniform(0.07, 0.13), r.uniform(0.3, 0.5), r.uniform(-0.9, 0.9)
    o, front = [], r.choice([True, False])
    for s in (-1, 1):
        a = r.choice([up, r.uniform(-1.2, 1.1)])
        o += limb(r, (s * w * 0.75, h * 0.72), a if s > 0 else PI - a, La, lw, z + 0.034 if front else 0.033, [ms[1], ms[r.choice([1, 3])], skin], pin, end,
            0.027 if front else -0.027)
        b = -PI / 2 + s * r.uniform(0, 0.9)
        o += limb(r, (s * w * 0.6, -h * 0.8), b, Ll, lw * r.uniform(1, 1.3), 0.033, [ms[2], ms[r.choice([2, 4])], ms[4]], pin, foot, -0.027)
        o.append(blob(0.024, 0.024, 0.014, pin, at=(s * w * 0.6, -h * 0.8, z + 0.037), sub=2))
    return o


def trimmings(w, h, hd, z, ms, pin, deco):
    o = []
    if deco == 'buttons':
        o += [ball(0.026, pin, (0, y, z + 0.037), 2, 0.5) for y in np.linspace(-h * 0.5, h * 0.5, 3)]
    elif deco != 'none':
        o += [block(ms[3], w * 1.5, 0.06, 0.02, y=-h * 0.2, z=z + 0.03)] if deco == 'belt' else [slab(circle(hd * 0.5, 24, 0,
            h * 0.85 if deco == 'ruff' else h * 0.1, ry=hd * 0.3 if deco == 'ruff' else hd * 0.5), 0.02, ms[3], z=z + 0.033)]
    return o


def G_puppet_cross(r, C):
    """A jumping jack: a flat figure, limbs on pins, a string with a bead."""
    ms, pin, cord = [r.choice([toy(r, C), toy(r, C), print_mat(r, C.color, 0.4)]) for _ in range(5)], r.choice([wire(r), wood(r)]), thread(r, C)
    skin, dark, z = r.choice([wood(r), make_mat('matte', r.choice([(0.93, 0.8, 0.7), (0.5, 0.35, 0.25)]), r), toy(r, C)]), make_mat('gloss',
        (0.05, 0.05, 0.06), r), 0.06
    w, h, hd = r.uniform(0.13, 0.22), r.uniform(0.22, 0.34), r.uniform(0.12, 0.19)
    body = r.choice([[(-w * 0.7, h), (w * 0.7, h), (w, 0), (w * 0.9, -h), (-w * 0.9, -h), (-w, 0)],
        [(-w, h), (w, h), (w * 0.6, 0), (w * 1.3, -h), (-w * 1.3, -h), (-w * 0.6, 0)], circle((w + h) / 2, 12, ry=h),
        [(-w, h), (w, h), (w * 0.7, -h), (-w * 0.7, -h)]])
    body = (smooth_outline(body, 5) if r.random() < 0.7 else body)
    body = body if sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(body, body[1:] + body[:1])) > 0 else body[::-1]
    o, hy = [slab(body, 0.035, ms[0], z=z)], h + hd * 0.75
    o += [slab(circle(hd * r.uniform(0.8, 1.05), 32, 0, hy, ry=hd), 0.035, skin, z=z + 0.012)]
    o += [ball(hd * 0.12, dark, (s * hd * 0.35, hy + hd * 0.15, z + 0.05), 2, 0.4) for s in (-1, 1)] + [ball(hd * 0.15, make_mat('gloss', (0.8, 0.25, 0.2), r),
        (0, hy - hd * 0.1, z + 0.05), 2, 0.6)]
    o.append(tube([(hd * 0.45 * math.sin(t), hy - hd * 0.15 - hd * 0.35 * math.cos(t), z + 0.05) for t in np.linspace(-0.9, 0.9, 9)], hd * 0.04, dark, seg=5))
    top, q = hy + hd * 0.55, hd * 0.9
    o += headgear(r, q, top, z, ms, pin)
    Ll = r.uniform(0.35, 0.6)
    o += limbs_on_pins(r, w, h, z, Ll, skin, ms, pin)
    o += trimmings(w, h, hd, z, ms, pin, r.choice(['buttons', 'belt', 'ruff', 'heart', 'none']))
    p = wavy(r, 0, -h * 0.7, h + Ll * r.uniform(0.6, 1.3), -PI / 2 + r.uniform(-0.25, 0.25), 0.06, 20, z=0.02)
    o += [tube([(0, 0, 0.06)] + p[2:], 0.008, cord, seg=5),
        r.choice([lambda: ball(0.05, toy(r, C), (p[-1][0], p[-1][1], 0.05), 3), lambda: blob(0.04, 0.07, 0.04, toy(r, C), at=(p[-1][0], p[-1][1], 0.04),
        sub=3)])()]
    y = top + q * r.uniform(1.2, 2.2)
    return o + ([tube(soft([(0, hy, 0.07), (0.05, (hy + y) / 2, 0.05), (0, y, 0.02), (-0.05, (hy + y) / 2, 0.05), (0, hy, 0.07)]), 0.007, cord,
        seg=5)] if r.random() < 0.6 else [])


def posts(r, form, n, P, h, t, frame, post):
    """Plain, turned, beaded or twisted posts, now and then with knobs above."""
    o = []
    turn, a0 = r.choice(['rod', 'turned', 'beads', 'twist']), PI / 4 if form == 'square' else 0
    for i in range(n):
        a = a0 + 2 * PI * i / n
        x, y = (P - 0.05) * (1.12 if form == 'square' else 1) * math.cos(a), (P - 0.05) * (1.12 if form == 'square' else 1) * math.sin(a)
        if turn in ('rod', 'beads'):
            o.append(tube([(x, y, -h), (x, y, h)], 0.018 if turn == 'rod' else 0.01, post))
            o += [ball(0.035, frame if j % 2 else post, (x, y, z), 2) for j, z in enumerate(np.linspace(-h * 0.8, h * 0.8, 7))] if turn == 'beads' else []
        elif turn == 'turned':
            o += move([lathe([(0.02, -h), (0.035, -h * 0.9), (0.018, -h * 0.75), (0.03, -h * 0.4), (0.014, 0), (0.03, h * 0.4), (0.018, h * 0.75),
                (0.035, h * 0.9), (0.02, h)], post, n=4, seg=20)], x=x, y=y)
        else:
            o += [tube([(x + 0.014 * math.cos(z * 20 / h + p), y + 0.014 * math.sin(z * 20 / h + p), z) for z in np.linspace(-h, h, 60)], 0.014, post,
                seg=6) for p in (0, PI)]
    o += [ball(0.04, post, ((P - 0.05) * math.cos(a0 + 2 * PI * i / n), (P - 0.05) * math.sin(a0 + 2 * PI * i / n), h + t + 0.02),
        2) for i in range(n)] if r.random() < 0.3 and form == 'round' else []
    return o


def stand(r, form, R, h, q, frame, post):
    """What holds the glass: plates and posts, feet alone, a ring; gives the objects and the radius."""
    o = []
    P, t = R * r.uniform(1.12, 1.4) + 0.03, r.uniform(0.03, 0.09)
    n = {'square': 4, 'hex': r.choice([3, 6])}.get(form, r.choice([3, 3, 4, 5]))
    if form == 'bare':
        o += move([lathe([(0, 0), (R * 0.8, 0), (R * 0.75, 0.04), (0, 0.05)], frame, n=3)],
            z=-h - 0.02) + move([lathe([(0, 0), (R * 0.75, 0), (R * 0.8, 0.05), (0, 0.06)], frame, n=3)], z=h - 0.03)
        n = 0
    elif form == 'ring':
        b = [hoop(h * 1.06, r.uniform(0.03, 0.05), frame)]
        o += move(b, rx=PI / 2) + [cyl(P * 0.9, t, frame, z=-h - t - 0.05)] + ([tube([(s * h * 1.06, 0, 0), (s * (q + 0.01), 0, 0)], 0.015, post) for s in (-1,
            1)])
        n = 0
    else:
        for z in (-h - t, h):
            o += [cyl(P, t, frame, z=z, bev=min(0.02, t / 3))] if form == 'round' else [slab(circle(P * 1.1, 6), t, frame,
                z=z)] if form == 'hex' else [block(frame, P * 1.8, P * 1.8, t, z=z)]
            o += move([lathe([(0, 0), (P * 0.75, 0), (P * 0.6, 0.04), (0, 0.05)], post, n=3)], z=h + t - 0.005) if z > 0 and r.random() < 0.3 else []
    o += posts(r, form, n, P, h, t, frame, post)
    return o, P


def G_hourglass(r, C):
    form, h, q = r.choice(['round', 'round', 'square', 'hex', 'bare', 'ring']), r.uniform(0.42, 0.7), r.uniform(0.015, 0.035)
    R, frame, post, cord = r.uniform(0.15, 0.27), tint(r, C, ['gloss', 'metal', 'matte', 'wood']), r.choice([toy(r, C), wire(r), wood(r)]), thread(r, C)
    glass = make_mat('gloss', r.choice([(0.9, 0.93, 0.93), (0.9, 0.93, 0.93), C.color]), r)
    glass.node_tree.nodes['Principled BSDF'].inputs['Alpha'].default_value = r.uniform(0.12, 0.4)
    sand = make_mat(r.choice(['matte', 'speckle', 'carpet']), r.choice([(0.9, 0.78, 0.55), (0.95, 0.94, 0.9), C.color, C.alt_c, r.choice(PAL)]), r)
    k, e = r.uniform(0.5, 1.0), r.uniform(1.5, 3)
    prof = [(R * max(0, 1 - abs(2 * t - 1) ** e) ** k * min(1, (1 - t) * 6) ** 0.4 + q, h * t) for t in np.linspace(0, 0.98, 16)]
    outer = [(x, -z) for x, z in prof[::-1]] + prof[1:]
    o = [lathe([(0, -h)] + outer + [(0, h)], glass, n=3)]
    lvl, s = r.uniform(0.15, 0.75), 0.88
    ins = lambda z: s * float(np.interp(z, [p[1] for p in outer], [p[0] for p in outer]))
    tz, bz = h * lvl, -h + h * (0.95 - lvl) * 0.9
    if lvl > 0.2:
        o.append(lathe([(0, 0.02)] + [(ins(z), z) for z in np.linspace(0.03, tz, 9)] + [(ins(tz) * 0.5, tz - 0.02), (0, tz - 0.06)], sand, smoothp=False))
    o += [lathe([(0, -h * 0.97)] + [(ins(z), z) for z in np.linspace(-h * 0.97, bz, 9)] + [(ins(bz) * 0.4, bz + 0.06), (0, bz + 0.1)], sand, smoothp=False),
        tube([(0, 0, 0.03), (0, 0, bz)], 0.007, sand, seg=5)]
    o += [hoop(q * 1.5, q * 0.6, r.choice([frame, cord]))] if r.random() < 0.7 else []
    held, P = stand(r, form, R, h, q, frame, post)
    o += held
    if r.random() < 0.3:
        a = r.uniform(-2.4, -0.7)
        o += [tube([(q * math.cos(a), q * math.sin(a), 0), (P * 1.1 * math.cos(a), P * 1.1 * math.sin(a), -h * 0.3)], 0.007, cord, seg=5)] + tassel(r,
            (P * 1.1 * math.cos(a), P * 1.1 * math.sin(a), -h * 0.3), h * 0.5, cord, down=(0, 0, -1))
    if r.random() < 0.12:
        o = move(o, rx=PI / 2)
    return ground(o)


def skittle(r, form, ms, R, h, kind):
    """One pin of a set; gives its objects and the radius it needs."""
    a, b, c, skin = ms
    prof = {'pin': [(0, 0), (R * 0.7, 0), (R, h * 0.3), (R * 0.75, h * 0.5), (R * 0.4, h * 0.7), (R * 0.55, h * 0.88), (R * 0.35, h * 0.98), (0, h)],
        'cone': [(0, 0), (R, 0), (R, 0.02), (R * 0.45, h * 0.72), (0, h * 0.74)],
        'tube': [(0, 0), (R * 0.9, 0), (R * 0.9, 0), (R * 0.85, h * 0.65), (R * 0.5, h * 0.72), (0, h * 0.73)],
        'urn': [(0, 0), (R * 0.9, 0), (R * 0.6, h * 0.1), (R, h * 0.35), (R * 0.4, h * 0.65), (R * 0.45, h * 0.7), (0, h * 0.72)]}[form]
    o = [lathe(prof, a, n=5, seg=36)]
    at = lambda t: float(np.interp(t * h, *(np.array([(p[1], p[0]) for p in resample(prof[1:], 5)]).T)))
    o += [lathe([(at(t) + 0.004, t * h), (at(t + 0.04) + 0.006, (t + 0.04) * h), (at(t + 0.08) + 0.004, (t + 0.08) * h)], m, n=3, seg=36) for t,
        m in ((0.25, b), (0.45, c), (0.6, b))[: r.choice([0, 1, 2, 3])]]
    if form != 'pin':
        q = R * 0.62
        z = prof[-1][1] + q * 0.8
        o += [ball(q, skin, (0, 0, z))] + face(r, q, (0, 0, z)) + (ears(r, q, (0, 0, z), c, kind) if kind != 'bald' else [])
        o += [ball(q * 0.35, c, (s * R * 0.85, 0, h * 0.42), 2) for s in (-1, 1)] if r.random() < 0.25 else []
        if r.random() < 0.3:
            o.append(hoop(R * 0.5, R * 0.14, b, prof[-1][1] + 0.01))
    return o


def trayed(r, C, o, g, xs, ys):
    """The set in a tray with a cord."""
    cx, cy, sx, sy, m = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2, max(xs) - min(xs) + 2 * g, max(ys) - min(ys) + 2 * g, wood(r)
    o = move(o, z=0.035) + [block(m, sx, sy, 0.04, x=cx, y=cy)] + [block(m, sx + 0.04, 0.04, 0.11, x=cx, y=cy + s * sy / 2) for s in (-1, 1)] + [block(m, 0.04,
        sy + 0.04, 0.11, x=cx + s * sx / 2, y=cy) for s in (-1, 1)]
    o.append(tube(soft([(cx - sx / 2, cy, 0.06), (cx - sx / 2 - 0.2, cy - 0.15, 0.016), (cx - sx / 2 - 0.2, cy + 0.15, 0.016), (cx - sx / 2, cy, 0.06)]),
        0.014, thread(r, C), seg=6))
    return o


def places(lay, n, d):
    """Where n pins stand, d apart."""
    return {'triangle': [((i - k / 2) * d, k * d * 0.87) for k in range(4) for i in range(k + 1)], 'row': [(i * d, 0) for i in range(n)],
        'arc': [(1.4 * math.sin((i - n / 2) * d / 1.4), -1.4 * math.cos((i - n / 2) * d / 1.4) + 1.4) for i in range(n)],
        'two': [((i // 2) * d, (i % 2) * d) for i in range(n)]}[lay][:n]


@pressed
def G_skittles(r, C):
    form, n, R = r.choice(['pin', 'pin', 'cone', 'tube', 'urn']), r.choice([3, 4, 5, 6, 6, 9]), r.uniform(0.11, 0.17)
    h, many, kind = R * r.uniform(3.4, 6), r.random() < 0.6, r.choice(['round', 'long', 'hat', 'hat', 'tuft', 'bald', 'each'])
    pool, skin = [toy(r, C) for _ in range(5)], r.choice([wood(r), make_mat('matte', (0.93, 0.8, 0.7), r), toy(r, C)])
    base, b, c, o = r.choice(pool), r.choice(pool), r.choice(pool), []
    pin = lambda: skittle(r, form, (r.choice(pool) if many else base, b, c, skin), R, h, r.choice(['round', 'long', 'hat', 'tuft']) if kind == 'each' else kind)
    lay, d = r.choice(['triangle', 'triangle', 'row', 'arc', 'two']), 1.98 * R
    spots = places(lay, n, d)
    down = set(r.sample(range(n), r.choice([0, 0, 0, 1, 2]))) if lay in ('row', 'two') else set()
    for i, (x, y) in enumerate(spots):
        if i in down:
            z = 0.0
            p = move(pin(), rx=PI / 2 + r.uniform(-0.02, 0.04), rz=r.uniform(-0.4, 0.4))
            o += move(p, x=x, y=y - 0.4 * R, z=-verts_of(p)[:, 2].min())
        else:
            o += move(pin(), x=x, y=y, rz=r.uniform(-0.5, 0.5))
    q, tray = r.uniform(0.09, 0.15), r.random() < 0.25
    xs, ys = [p[0] for p in spots], [p[1] for p in spots]
    for i in range(r.choice([1, 1, 2, 3])):
        e = 0 if lay == 'triangle' else i * (n - 1) // 2 // 2 * 2 if lay == 'two' else i * (n - 1) // 2
        bx, by = spots[e][0] - (2 * q * i if lay == 'triangle' else 0), spots[e][1] + (q - 0.4 * R if e in down else -0.85 * R - q)
        if bx in xs[n:]:
            continue
        o += [ball(q, r.choice(pool), (bx, by, q), 4)] + (move([hoop(q * 1.0, q * 0.1, r.choice(pool))], x=bx, y=by, z=q,
            rx=r.uniform(-0.7, 0.7)) if r.random() < 0.5 else [])
        xs, ys = xs + [bx], ys + [by]
    if tray and not down:
        o = trayed(r, C, o, R + 0.04, xs, ys)
    return o


NAMES = 'train boat aeroplane rattle drum xylophone paper_fan parasol crane embroidery quill puppet_cross hourglass skittles'.split()
KINDS = {k: globals()['G_' + k] for k in NAMES}
LYING = {'rattle', 'paper_fan', 'embroidery', 'puppet_cross'}
