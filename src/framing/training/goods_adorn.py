"""Fourteen kinds to wear or carry, with parts that reach out: bags, aprons, collars, hair things, brooches, masks, ties, shawls, pompons, straps.

Each G_* takes a random.Random and a Col (products.py) and gives a list of objects of any size; they stand on z = 0 or lie there.
"""

import math

import bpy  # noqa: F401 (gives mathutils)
import numpy as np

from goods_parts import *
from goods_thin import arch, bow, ribbon, wavy

GEMS = [(0.1, 0.35, 0.3), (0.5, 0.1, 0.2), (0.92, 0.9, 0.86), (0.15, 0.2, 0.5), (0.2, 0.6, 0.65), (0.9, 0.65, 0.2), (0.08, 0.08, 0.1)]
LACE = [(0.94, 0.92, 0.87), (0.9, 0.84, 0.72), (0.1, 0.1, 0.11), (0.8, 0.66, 0.66)]


def tint(r, C, kinds=('fabric', 'linen', 'matte', 'carpet', 'gloss')):
    """A colour of its own for a part: of the product, its second or any."""
    return make_mat(r.choice(kinds), r.choice([C.color, C.alt_c, r.choice(PAL)]), r)


def stuff(r, C, span=None):
    return print_mat(r, C.color, span or r.uniform(0.25, 0.9)) if r.random() < 0.6 else C.mat(['linen', 'fabric', 'gloss', 'matte', 'carpet'])


def hide(r):
    return make_mat(r.choice(['matte', 'gloss']), r.choice(LEATHER), r)


def along(pts, step):
    """Points at equal steps along a path."""
    p = np.array(pts, float)
    s = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(p, axis=0), axis=1))])
    t = np.linspace(0, s[-1], max(3, int(s[-1] / step)))
    return np.stack([np.interp(t, s, p[:, k]) for k in range(3)], 1)


def curve(pts, low=0.012, n=10):
    p = resample(pts, n)
    p[:, 2] = np.maximum(p[:, 2], low)
    return p


def band(pts, half, m, side=None, flat=0.25, seg=8):
    """A strap along any path; its width starts along `side` and is carried on without a twist."""
    P, V = np.array(pts, float), []
    n, T = len(P), np.gradient(np.array(pts, float), axis=0)
    T /= np.linalg.norm(T, axis=1)[:, None] + 1e-9
    s = np.cross(T[0], (0, 0, 1.0)) if side is None else np.array(side, float)
    half = np.broadcast_to(np.array(half, float), (n,))
    for i in range(n):
        s = s - T[i] * np.dot(s, T[i])
        s /= np.linalg.norm(s) + 1e-9
        u = np.cross(s, T[i])
        V += [P[i] + half[i] * (math.cos(a) * s + flat * math.sin(a) * u) for a in np.linspace(0, 2 * np.pi, seg, endpoint=False)]
    F = [(i * seg + k, i * seg + (k + 1) % seg, (i + 1) * seg + (k + 1) % seg, (i + 1) * seg + k) for i in range(n - 1) for k in range(seg)]
    F += [tuple(range(seg))[::-1], tuple(range((n - 1) * seg, n * seg))]
    return mesh('band', V, F, m, uvs=[(k / seg, i / n) for i in range(n) for k in range(seg)])


def hairs(paths, rad, m):
    """Many thin strands as one object, thinner towards their ends."""
    V, F = [], []
    for p in paths:
        p = np.array(p, float)
        d, b, n = p[-1] - p[0], len(V), len(p)
        a = np.cross(d, (0, 0, 1.0) if abs(d[2]) < 0.9 * np.linalg.norm(d) else (1.0, 0, 0))
        a /= np.linalg.norm(a) + 1e-9
        c = np.cross(d, a) / (np.linalg.norm(d) + 1e-9)
        V += [p[i] + rad * (1 - 0.5 * i / (n - 1)) * (math.cos(t) * a + math.sin(t) * c) for i in range(n) for t in (0, 2.1, 4.2)]
        F += [(b + i * 3 + k, b + i * 3 + (k + 1) % 3, b + i * 3 + 3 + (k + 1) % 3, b + i * 3 + 3 + k) for i in range(n - 1) for k in range(3)]
    return mesh('hairs', V, F, m)


def chain(pts, s, m):
    """Links of size `s` along a path, every second one turned."""
    p, V, F = along(pts, s * 1.3), [], []
    p[:, 2] = np.maximum(p[:, 2], s * 0.55)
    for i in range(len(p) - 1):
        t = (p[i + 1] - p[i]) / (np.linalg.norm(p[i + 1] - p[i]) + 1e-9)
        a = np.cross(t, (0, 0, 1.0) if abs(t[2]) < 0.9 else (0, 1.0, 0))
        a /= np.linalg.norm(a) + 1e-9
        u, b = np.cross(a, t), len(V)
        a, u = (a, u) if i % 2 else (u, a)
        for q in np.linspace(0, 2 * np.pi, 12, endpoint=False):
            e = t * math.cos(q) + a * math.sin(q)
            c = (p[i] + p[i + 1]) / 2 + t * s * 0.9 * math.cos(q) + a * s * 0.5 * math.sin(q)
            V += [c + s * 0.17 * (math.cos(k) * e + math.sin(k) * u) for k in (0, 1.26, 2.51, 3.77, 5.03)]
        F += [(b + j * 5 + k, b + j * 5 + (k + 1) % 5, b + (j + 1) % 12 * 5 + (k + 1) % 5, b + (j + 1) % 12 * 5 + k) for j in range(12) for k in range(5)]
    return mesh('chain', V, F, m)


def string(r, C, pts, s, m=None, how=None):
    """A chain, a cord, beads on a thread or a twist, of thickness about `s`."""
    how, m = how or r.choice(['chain', 'chain', 'cord', 'beads', 'twist', 'strap']), m or r.choice([wire(r), tint(r, C), hide(r)])
    if how == 'chain':
        return [chain(pts, s * 1.6, m)]
    if how == 'beads':
        ms = [tint(r, C, ('gloss', 'matte', 'wood')), wire(r), m]
        return [band(pts, s * 0.25, m, flat=1, seg=5)] + [ball(s * (0.6 + 0.4 * (i % 3 == 0)), ms[(i // 2) % 3], tuple(q), 2) for i,
            q in enumerate(along(pts, s * 2.4))]
    if how == 'twist':
        p = along(pts, s * 0.8)
        t = np.arange(len(p)) * 0.6
        return [band(p + 0.5 * s * np.stack([np.cos(t + q), np.sin(t + q), np.sin(t + q) * 0.7], 1), s * 0.5, c, flat=1, seg=6) for q,
            c in ((0, m), (3.14, tint(r, C)))]
    return [band(pts, s * (0.6 if how == 'cord' else 1.2), m, flat=1 if how == 'cord' else 0.15)]


def squarish(prof, w, d, e, m, **kw):
    """A turned body made `w` x `d` with flattened sides (the smaller `e` the flatter)."""
    ob = lathe(prof, m, n=5, **kw)
    for v in ob.data.vertices:
        R = math.hypot(v.co.x, v.co.y) + 1e-9
        c, s = v.co.x / R, v.co.y / R
        v.co.x, v.co.y = R * w / 2 * math.copysign(abs(c) ** e, c), R * d / 2 * math.copysign(abs(s) ** e, s)
    return ob


def cloth(at, m, z, nu=48, nv=24, keep=None):
    """A sheet: at(u, v) gives its points, z(x, y) their height; keep(u, v) leaves out faces."""
    P = [(*at(i / nu, j / nv), i / nu, j / nv) for j in range(nv + 1) for i in range(nu + 1)]
    w = nu + 1
    F = [(j * w + i, j * w + i + 1, (j + 1) * w + i + 1, (j + 1) * w + i) for j in range(nv) for i in range(nu) if not keep or keep((i + 0.5) / nu,
        (j + 0.5) / nv)]
    return mesh('cloth', [(x, y, z(x, y)) for x, y, _, _ in P], F, m, uvs=[(u, v) for _, _, u, v in P])


def folds(r, amp, f=6.0, low=0.012):
    """A height over the plane: long folds that run one way and wander."""
    a, q, k = r.uniform(0, 3.2), r.uniform(0, 6), r.uniform(0.5, 1.5)
    return lambda x, y: low + amp * (0.5 + 0.5 * math.sin(f * (x * math.cos(a) + y * math.sin(a)) + q + k * math.sin(3 * (y - x) + q))) * (0.6 + 0.4 * math.sin(4 * x + 3 * y + k))


def feather(r, L, w, m, tip, shaft):
    """A feather from the origin along x: a vane with notches, in two colours, or loose barbs."""
    b, n, cut, fluff = r.uniform(-0.4, 0.4), 26, r.uniform(0.4, 1.05), r.random() < 0.3
    at = lambda t: (L * t, b * L * t * t)
    o = [tube([(*at(t), 0.016 + 0.05 * L * math.sin(3 * t)) for t in np.linspace(0, 1, 12)], np.linspace(0.014, 0.004, 12) * (0.4 + L), shaft, seg=5)]
    if fluff:
        P = []
        for t in np.linspace(0.08, 1, int(90 * L + 25)):
            (x, y), q = at(t), w * L * r.uniform(0.7, 1.5) * (0.5 + 0.5 * math.sin(3 * t))
            P += [[(x, y, 0.02), (x + q * 0.5, y + s * q * 0.7, 0.03 + 0.05 * r.random()), (x + q * 1.1, y + s * q, 0.01)] for s in (-1, 1)]
        return o + [hairs(P, 0.006 + 0.004 * L, r.choice([m, tip]))]
    V, k = [], [1.0, 1.0]
    for i in range(n + 1):
        t = 0.12 + 0.88 * i / n
        (x, y), q = at(t), w * L * max(0.02, math.sin(math.pi * min(1, 0.04 + 0.96 * (t - 0.12) / 0.88))) ** 0.6
        k = [r.uniform(0.35, 0.7) if r.random() < 0.08 else r.uniform(0.88, 1.05) for _ in k]
        z = 0.016 + 0.05 * L * math.sin(3 * t)
        V += [(x + q * 0.5, y + q * k[0], z * 0.7), (x, y, z + 0.004), (x + q * 0.5, y - q * k[1], z * 0.7)]
    F = [(i * 3 + j, i * 3 + j + 1, i * 3 + j + 4, i * 3 + j + 3) for i in range(n) for j in (0, 1)]
    c = int(len(F) * min(1, cut)) // 2 * 2
    return o + [mesh('vane', V, f, c_) for f, c_ in ((F[:c], m), (F[c:], tip)) if f]


def flower(r, C, R, at, ms=None):
    """A flower that looks up: flat petals, a rose of cups, or a ruffle."""
    m, mid = ms or tint(r, C), tint(r, C, ('gloss', 'metal', 'matte'))
    o, kind, n = [], r.choice(['petals', 'petals', 'rose', 'ruffle']), r.randint(5, 9)
    if kind == 'petals':
        for k in range(r.randint(1, 3)):
            for i in range(n):
                o += move([leaf(R * (1 - 0.22 * k), m, r.uniform(0.24, 0.4))], z=k * R * 0.1, rz=2 * math.pi * (i + 0.5 * k) / n, ry=-0.15 - 0.3 * k)
        o.append(ball(R * r.uniform(0.18, 0.34), mid, (0, 0, R * 0.22), 2, 0.7))
    elif kind == 'rose':
        for k in (1, 0.74, 0.5, 0.27):
            o += move([lathe([(0, 0), (R * k * 0.7, R * 0.06), (R * k, R * (0.75 - 0.4 * k)), (R * k * 1.02, R * (0.8 - 0.4 * k))], m, seg=40, n=4, wob=0.06,
                rng=r, flute=5, fdepth=0.12)], rz=k * 9)
    else:
        f, g = r.randint(9, 16), r.randint(2, 3)
        for k in range(g):
            c = R * (1 - 0.28 * k)
            sh = lambda x, y: 0.02 + R * 0.12 * k + 0.3 * math.hypot(x, y) ** 2 / R * (1 + math.sin(f * math.atan2(y, x) + k))
            o.append(cloth(lambda u, v: (c * v * math.cos(6.2832 * u), c * v * math.sin(6.2832 * u)), m, sh, 72, 6))
        o.append(ball(R * 0.2, mid, (0, 0, R * 0.12 * g + 0.02), 2))
    return move(o, *at, rz=r.uniform(0, 6))


def pompon(r, R, m, at):
    P = []
    for _ in range(170):
        d = np.array([r.gauss(0, 1) for _ in 'xyz'])
        d /= np.linalg.norm(d)
        q = np.array(at) + d * R * r.uniform(0.95, 1.08)
        P.append([np.array(at) + d * R * 0.8, (q[0], q[1], max(q[2], 0.003))])
    return [blob(R * 0.95, R * 0.95, R * 0.95, m, 0.12, 6, 4, r.uniform(0, 9), at), hairs(P, R * 0.06, m)]


def tassel(r, x, y, L, w, m, ang=-math.pi / 2, z=0.03):
    """A tassel that lies, its head at (x, y), hanging towards `ang`."""
    P, c, s = [], math.cos(ang), math.sin(ang)
    for _ in range(28):
        u, f = r.uniform(-1, 1), r.uniform(0.92, 1.05)
        P.append([(x - s * u * w * a + c * L * b * f, y + c * u * w * a + s * L * b * f, h) for a, b,
            h in ((0.25, 0.1, z + 0.02 * r.random()), (0.6, 0.5, z * 0.8), (1, 1, 0.008))])
    return [hairs(P, 0.05 * w + 0.004, m), ball(w * 0.42, m, (x, y, max(z, w * 0.4)), 2)]


def drop(r, C, x, y, s, m=None):
    """A hanging bead or drop at (x, y), below its point."""
    m = m or r.choice([make_mat(r.choice(['gloss', 'glass']), r.choice(GEMS), r), tint(r, C, ('gloss', 'wood', 'matte')), wire(r)])
    k = r.choice(['drop', 'ball', 'disc', 'rod', 'leaf'])
    if k == 'leaf':
        return move([leaf(s * 3, m, 0.28)], x=x, y=y, rz=-math.pi / 2)
    if k == 'disc':
        return move([cyl(s, s * 0.25, m, bev=s * 0.06)], x=x, y=y - s)
    a, b = {'drop': (0.6, 1.3), 'ball': (0.8, 0.8), 'rod': (0.25, 1.6)}[k]
    return [blob(s * a, s * b, s * a, m, at=(x, y - s * b, s * a), sub=3)]


def buckle(w, h, m, q):
    """A square buckle with its bar and pin, lying about the origin."""
    o = [tube([(x, y, q) for x, y in rounded(w, h, min(w, h) * 0.25)], q, m, seg=7, closed=True)]
    return o + [tube([(-w / 2, 0, q * 1.3), (w / 2, 0, q * 1.3)], q * 0.7, m, seg=6), tube([(0, -h * 0.1, q * 1.6), (0, h * 0.5, q * 2)], q * 0.6, m, seg=6)]


def G_backpack(r, C):
    m, m2, lea, met = stuff(r, C), r.choice([tint(r, C), hide(r), stuff(r, C)]), r.choice([hide(r), tint(r, C)]), wire(r)
    w, d, h, e = r.uniform(0.5, 0.85), r.uniform(0.28, 0.5), r.uniform(0.75, 1.15), r.uniform(0.35, 0.85)
    kind, lie, o, k = r.choice(['flap', 'flap', 'zip', 'roll', 'draw']), r.random() < 0.25, [], r.uniform(0.8, 1.05)
    top = {'flap': [(0.9, h * 0.9), (0.6, h), (0, h)], 'zip': [(0.92, h * 0.85), (0.6, h), (0, h * 1.02)], 'roll': [(0.7, h * 0.95), (0.5, h), (0, h)],
        'draw': [(0.6, h * 0.85), (0.3, h * 0.92), (0.5, h * 1.05), (0, h)]}[kind]
    o.append(squarish([(0, 0), (0.85, 0), (1, 0.07), (1.02, h * 0.3), (k, h * 0.65)] + top, w, d, e, m, wob=0.02, rng=r))
    if kind == 'flap':
        o.append(squarish([(1.06, h * 0.78), (1.05, h * 0.9), (0.7, h * 1.05), (0, h * 1.06)], w * max(k, 0.95), d * 1.04, e, m2))
        cut = r.uniform(0.15, 0.4)
        for v in o[-1].data.vertices:
            v.co.z -= cut * h * max(0, -v.co.y / d * 2) * max(0, 1 - (v.co.z - h * 0.78) / (0.25 * h)) * (1 - 0.8 * abs(v.co.x / w))
    elif kind == 'zip':
        o.append(band([(x, -d * 0.5 * (1 - 0.12 * (z / h) ** 4), z) for x, _, z in arch(w * 0.86, h * 0.5, h * 0.42, p=0.5)], 0.014, met, side=(0, 0, 1),
            flat=1))
        o += move(tassel(r, 0, 0, r.uniform(0.1, 0.25), 0.04, lea), rx=math.pi / 2, y=-d * 0.54, x=-w * 0.4, z=h * 0.5)
    elif kind == 'roll':
        o += move([cyl(r.uniform(0.06, 0.1), w * 0.98, m2)], x=-w * 0.49, z=h * 1.02, ry=math.pi / 2)
    else:
        o += [squarish([(0.33, h * 0.9), (0.34, h * 0.94)], w, d, e, lea)]
        o += [band(curve([(s * 0.02, -d * 0.17, h * 0.92), (s * 0.08, -d * 0.4, h * 0.85), (s * r.uniform(0.05, 0.2), -d * 0.58, h * r.uniform(0.4, 0.6))]),
            0.012, lea, flat=1) for s in (-1, 1)]
    for x in r.choice([[0], [-w * 0.25, w * 0.25], []]) if kind != 'draw' else []:
        p = [(x, 0, h * 1.075), (x, -d * 0.35, h * 1.05), (x, -d * 0.56, h * 0.85), (x, -d * 0.575, h * 0.6), (x, -d * 0.57, h * r.uniform(0.2, 0.4))]
        o.append(band(resample(p, 6), r.uniform(0.025, 0.045), lea, side=(1, 0, 0), flat=0.2))
        o += move(buckle(0.11, 0.12, met, 0.012), x=x, y=-d * 0.59, z=h * r.uniform(0.45, 0.6), rx=math.pi / 2)
    return finish_pack(r, C, o, (w, d, h, e), (m, m2, lea, met), lie)


def finish_pack(r, C, o, dims, ms, lie):
    """Pockets, straps, a loop, a roll and charms for a rucksack; lays it on its back or leans it."""
    (w, d, h, e), (m, m2, lea, met) = dims, ms
    if r.random() < 0.75:
        a, b = r.uniform(0.45, 0.8), r.uniform(0.25, 0.42)
        for x in r.choice([[0], [0], [-0.22, 0.22]]):
            q = a if x == 0 else 0.38
            o += move([squarish([(0, 0), (0.9, 0), (1, 0.04), (1, h * b * 0.8), (0.9, h * b), (0, h * b)], w * q, d * 0.45, e, r.choice([m2, m, lea]))], x=x * w, y=-d * 0.46, z=h * 0.06)
            o += move([squarish([(1.05, 0), (1.04, h * 0.06), (0.7, h * 0.1), (0, h * 0.1)], w * q, d * 0.47, e, lea), ball(0.022, met, (0, -d * 0.25, h * 0.04), 2)], x=x * w, y=-d * 0.46, z=h * (b - 0.03))
    for s in (-1, 1) if r.random() < 0.5 else ():
        o += move([squarish([(0, 0), (0.9, 0), (1.1, h * 0.3), (1, h * 0.32), (0, h * 0.3)], w * 0.3, d * 0.7, 0.7, m2)], x=s * w * 0.45, z=h * 0.05)
    out, trail = r.uniform(0.05, 0.22), r.random() < 0.4
    for s in (-1, 1):
        side = out * r.uniform(0.6, 1.6) if lie or trail else 0
        p = [(s * w * 0.18, d * 0.4, h * 0.93), (s * (w * 0.3 + side * 1.2), d * 0.45 + (0 if lie else out), h * 0.75), (s * (w * 0.42 + side * 2), d * 0.45 + (0 if lie else out), h * 0.4), (s * w * 0.4, d * 0.4, h * 0.1)]
        o.append(band(resample(p, 8), r.uniform(0.035, 0.055), r.choice([lea, lea, m2]), side=(1, 0, 0), flat=0.25))
        if r.random() < 0.6:
            L = r.uniform(0.15, 0.45)
            o.append(band(curve([(s * w * 0.42, d * 0.3, h * 0.14), (s * w * 0.56, d * 0.3, h * 0.12), (s * (w * 0.55 + L * 0.5), d * 0.2, 0.02), (s * (w * 0.5 + L), r.uniform(-0.3, 0.3), 0.012)]), 0.024, lea, flat=0.25))
    o.append(band([(x, d * 0.3, z) for x, _, z in arch(0.16, r.uniform(0.1, 0.2), h * 0.94)], 0.02, lea, side=(0, 1, 0), flat=0.5))
    if r.random() < 0.3:
        R, z = r.uniform(0.07, 0.12), h * 1.04 if r.random() < 0.6 else 0
        o += move([cyl(R, w * 1.1, stuff(r, C))], x=-w * 0.55, y=-d * 0.1 if z else -d * 0.6, z=z + R, ry=math.pi / 2)
        for x in (-0.3, 0.3):
            q = [hoop(R * 1.06, 0.018, lea, n=24)]
            o += move(q, x=x * w, y=-d * 0.1 if z else -d * 0.6, z=z + R, ry=math.pi / 2)
    if r.random() < 0.4:
        o += pompon(r, r.uniform(0.05, 0.09), tint(r, C), (w * 0.3, -d * 0.62,
            h * 0.5)) + [band([(w * 0.3, -d * 0.45, h * 0.75), (w * 0.3, -d * 0.6, h * 0.5)], 0.008, lea, side=(1, 0, 0), flat=1)]
    return ground(move(o, rx=-math.pi / 2, rz=r.uniform(-0.4, 0.4))) if lie else o


def G_handbag(r, C):
    m, lea, met = r.choice([stuff(r, C), stuff(r, C, 0.3), hide(r), C.mat(['knit', 'gloss', 'carpet'], scale=2)]), r.choice([hide(r), tint(r, C)]), wire(r)
    w, h, d, e = r.uniform(0.6, 1.1), r.uniform(0.4, 0.8), r.uniform(0.18, 0.4), r.uniform(0.5, 1.0)
    kind, o = r.choice(['frame', 'frame', 'flap', 'rings', 'bucket']), []
    top = {'frame': (0.75, 0.2), 'flap': (0.98, 0.5), 'rings': (0.8, 0.2), 'bucket': (0.9, 0.9)}[kind]
    o.append(squarish([(0, 0), (0.7, 0), (0.95, h * 0.15), (1, h * 0.4), (top[0] * 1.03, h * 0.8), (top[0], h), (top[0] * 0.97, h), (0, h * 0.97)], w, d, e,
        m, wob=0.02, rng=r))
    for v in o[0].data.vertices:
        v.co.y *= 1 - (1 - top[1]) * min(1, max(0, v.co.z / h)) ** 2
    tw = w * top[0] / 2
    o += mouth(r, C, kind, (w, h, d, e, tw), (m, lea, met))
    if kind != 'rings' or r.random() < 0.3:
        o += strap_of(r, C, tw, h * (0.82 if kind == 'frame' else 0.95), lea if r.random() < 0.4 else met)
    if r.random() < 0.45:
        o += move(flower(r, C, r.uniform(0.1, 0.2), (0, 0, 0)) if r.random() < 0.6 else tassel(r, 0, 0, 0.25, 0.07, tint(r, C)), rx=math.pi / 2, y=-d * 0.44,
            x=r.uniform(-0.25, 0.25) * w, z=max(h * 0.5, 0.3))
    return o


def mouth(r, C, kind, dims, ms):
    """What closes a bag: a clasp frame, a flap, ring handles or a rim with tassels."""
    (w, h, d, e, tw), (m, lea, met), o = dims, ms, []
    if kind == 'frame':
        k = r.uniform(0.05, 0.3)
        o += [band(resample([(-tw, 0, h * 0.8), (-tw * 0.97, 0, h), (-tw * 0.5, 0, h * (1 + k)), (0, 0, h * (1.02 + k)), (tw * 0.5, 0, h * (1 + k)),
            (tw * 0.97, 0, h), (tw, 0, h * 0.8)], 6), 0.035, met, side=(0, 1, 0), flat=0.6)]
        o.append(slab([(x, z) for x, _, z in arch(tw * 1.94, h * k, h * 0.98)][::-1], 0.05, m))
        move(o[-1:], rx=math.pi / 2, y=0.025)
        o += [ball(r.uniform(0.035, 0.06), r.choice([met, make_mat('gloss', r.choice(GEMS), r)]), (s * 0.035, s * 0.02, h * (1.08 + k)), 3) for s in (-1, 1)]
    elif kind == 'flap':
        f = squarish([(1.05, h * r.uniform(0.3, 0.55)), (1.05, h * 0.85), (0.8, h * 1.04), (0, h * 1.05)], w, d * 0.8, e, r.choice([lea, m, stuff(r, C)]))
        for v in f.data.vertices:
            v.co.z = max(v.co.z, h * 0.8) if v.co.y > 0 else v.co.z + 0.25 * h * abs(v.co.x / w * 2) ** 2 * (v.co.z < h * 0.8)
            v.co.y *= 1 + 0.35 * max(0, 1 - v.co.z / h)
        o += [f] + move(r.choice([lambda: buckle(0.12, 0.1, met, 0.014), lambda: [cyl(0.05, 0.02, met, bev=0.006)], lambda: [rbox(0.12, 0.08, 0.03, 0.01, met)]])(), y=-d * 0.47, z=h * 0.55,
            rx=math.pi / 2)
    elif kind == 'rings':
        R, wo = r.uniform(0.13, 0.24), r.choice([wood(r), met, tint(r, C, ('gloss', 'matte'))])
        for s in (-1, 1):
            o += move([hoop(R, r.uniform(0.018, 0.032), wo)], rx=math.pi / 2 + s * r.uniform(0.02, 0.4), y=s * 0.04, z=h + R * 0.8)
    else:
        o += [squarish([(0.93, h * 0.98), (0.94, h * 1.02), (0.88, h * 1.02), (0.86, h * 0.9)], w, d * 0.82, e, lea)]
        o += tassel_pair(r, C, -d * 0.46, h * 0.85, lea)
    return o


def tassel_pair(r, C, y, z, m):
    o = []
    for s in (-1, 1):
        x, L = s * r.uniform(0.04, 0.15), r.uniform(0.15, 0.3)
        o.append(band([(s * 0.02, y * 0.98, z), (x * 0.7, y - 0.05, z - 0.02), (x, y - 0.04, z - L)], 0.012, m, side=(1, 0, 0), flat=1))
        o += move(tassel(r, 0, 0, r.uniform(0.1, 0.22), 0.05, tint(r, C)), rx=math.pi / 2, x=x, y=y - 0.01, z=z - L)
    return o


def strap_of(r, C, tw, z, m):
    """The strap or chain of a bag, from end to end of its mouth: standing up, hanging down behind or trailing before it."""
    mode, s = r.choice(['up', 'trail', 'trail', 'fall']), r.uniform(0.014, 0.03)
    how = r.choice(['chain', 'chain', 'strap', 'twist', 'beads', 'cord'])
    if mode == 'up':
        p = [(x, 0, q) for x, _, q in arch(tw * 2, r.uniform(0.35, 0.9), z, p=r.uniform(0.7, 1.2))]
    else:
        f, a, far = r.choice([-1, 1]), r.uniform(0.06, 0.25), r.uniform(0.35, 0.8)
        x = r.uniform(-0.3, 0.3) if mode == 'trail' else tw + far
        mid = [(tw + a * 1.7, f * 0.25, 0.015), (x + 0.2, f * far, 0.015), (x - 0.25, f * far * r.uniform(0.7, 1.2), 0.015), (-tw - a * 1.7, f * 0.3, 0.015)]
        mid = mid if mode == 'trail' else [(tw + a * 2, f * 0.1, 0.015), (x, f * 0.3, 0.015), (x - far * 0.5, f * 0.5, 0.015), (tw * 0.2, f * 0.36, 0.02),
            (-tw - a, f * 0.25, 0.015)]
        p = curve([(tw, 0, z), (tw + a, f * 0.06, z * 0.75)] + mid + [(-tw - a, f * 0.06, z * 0.75), (-tw, 0, z)], 0.02, 12)
    return [ball(s * 1.7, m, (k * tw, 0, z), 2) for k in (-1, 1)] + string(r, C, p, s, m, how)


def G_apron(r, C):
    m, m2, tie = stuff(r, C, r.uniform(0.2, 0.6)), r.choice([tint(r, C), stuff(r, C, 0.3)]), tint(r, C)
    top, w0, w1, L, bib = r.random() < 0.65, r.uniform(0.45, 0.75), r.uniform(0.55, 1.0), r.uniform(0.4, 0.8), r.uniform(0.28, 0.45)
    z, rnd, o = folds(r, r.uniform(0.02, 0.05), r.uniform(5, 14)), r.uniform(0, 0.25), []
    skirt = lambda u, v: ((u - 0.5) * (w0 + (w1 - w0) * v), -L * v * (1 - rnd * abs(2 * u - 1) ** 3))
    o.append(cloth(skirt, m, z))
    if r.random() < 0.6:
        q, k, f = r.uniform(0.06, 0.16), r.uniform(1, 1.15), r.uniform(40, 70)
        ruf = lambda u, v: (skirt(u, 1)[0] * (1 + (k - 1) * v), skirt(u, 1)[1] - q * v + 0.01)
        o.append(cloth(ruf, m2, lambda x, y: z(x, y) + 0.014 + 0.016 * math.sin(f * x), 120, 4))
    if top:
        b0, b1 = w0 * r.uniform(0.55, 0.95), w0 * r.uniform(0.35, 0.6)
        o.append(cloth(lambda u, v: ((u - 0.5) * (b0 + (b1 - b0) * v ** 0.6), bib * v - 0.01), r.choice([m, m, m2]), z))
        n, hold = r.uniform(0.15, 0.5), r.random() < 0.7
        if hold:
            o.append(band([(x + n * 0.2 * math.sin(3 * y), y, 0.03) for x, _, y in arch(b1 * 0.86, n, bib - 0.03)], 0.025, tie, flat=0.2))
        else:
            o += [ribbon(wavy(r, s * b1 * 0.43, bib - 0.02, r.uniform(0.3, 0.7), math.pi / 2 - s * r.uniform(0, 0.8), z=0.02), 0.045, tie) for s in (-1, 1)]
        o.append(cloth(lambda u, v: ((u - 0.5) * b1 * 1.01, bib - 0.05 * v + 0.005), m2, lambda x, y: z(x, y) + 0.006, 30, 2))
    bw = r.uniform(0.03, 0.09)
    o.append(cloth(lambda u, v: ((u - 0.5) * w0 * 1.02, bw * (0.5 - v)), r.choice([tie, m2]), lambda x, y: z(x, y) + 0.008, 40, 3))
    for s in (-1, 1):
        o.append(ribbon(wavy(r, s * w0 * 0.5, 0, r.uniform(0.4, 1.0), (0 if s > 0 else math.pi) - s * r.uniform(-0.5, 1.1), r.uniform(0.05, 0.2), 24, 0.02),
            bw * r.uniform(0.6, 1), tie))
    for x in r.choice([[0], [-0.22, 0.22], [0.2], []]):
        pw, ph, py = r.uniform(0.16, 0.3), r.uniform(0.14, 0.28), -L * r.uniform(0.15, 0.35)
        o.append(cloth(lambda u, v: (x * w0 + (u - 0.5) * pw * (1 - 0.25 * v**4), py - ph * v * (1 - 0.2 * abs(2 * u - 1))), m2, lambda a, b: z(a, b) + 0.008,
            12, 10))
        o.append(cloth(lambda u, v: (x * w0 + (u - 0.5) * pw * 1.04, py - 0.03 * v + 0.004), tie, lambda a, b: z(a, b) + 0.014, 12, 2))
    return o + (bow(r, 0, 0.01, r.uniform(0.08, 0.16), tie, 0.07) if r.random() < 0.3 else [])


def G_collar(r, C):
    m = r.choice([make_mat('linen', r.choice(LACE), r), C.mat(['knit', 'linen', 'fabric', 'carpet'], scale=2), stuff(r, C, 0.3)])
    m2, gap, R, o = r.choice([make_mat('fabric', r.choice(LACE), r), tint(r, C)]), r.uniform(0.08, 0.5), r.uniform(0.26, 0.36), []
    form, wid, lobes, tiers = r.choice(['lobes', 'round', 'bib', 'points', 'cape']), r.uniform(0.16, 0.4), r.choice([8, 12, 16, 22]), r.choice([1, 1, 2, 3])
    a0, sc, z = -math.pi / 2 + gap, r.choice([0, 0.05, 0.1, 0.18]), folds(r, 0.03, 7)

    def width(u, k):
        c = abs(2 * u - 1)
        f = {'lobes': min(1, (c * (1 - c) * 9) ** 0.5) * (0.4 + 0.6 * c), 'round': 1, 'bib': 0.5 + 1.2 * max(0, 1 - c * 2.2) ** 0.5, 'points': 0.7 + 0.9 * c**3, 'cape': 1.5}[form]
        return wid * f * k * (1 + sc * abs(math.sin(lobes * math.pi * u))) + 0.02

    def polar(k):
        return lambda u, v: ((R + width(u, k) * v) * math.cos(a0 + (2 * math.pi - 2 * gap) * u), (R + width(u, k) * v) * math.sin(a0 + (2 * math.pi - 2 * gap) * u))

    pleat = r.choice([0, 0, 0.018, 0.03])
    for t in range(tiers):
        at, f = polar(1 - 0.28 * t), lobes * 2
        lift = lambda x, y, t=t: z(x, y) + 0.018 * t + pleat * (1 + math.sin(f * math.atan2(y, x))) * min(1, (math.hypot(x, y) - R) / 0.1)
        hole = (lambda u, v: not (v > 0.62 and v < 0.86 and math.sin(2 * math.pi * lobes * u) > 0.45)) if r.random() < 0.5 else None
        o.append(cloth(at, m if t % 2 == 0 else m2, lift, 160, 12, hole))
        rim = [(*at(u, 1), lift(*at(u, 1)) + 0.002) for u in np.linspace(0, 1, 130)]
        trim = r.choice(['cord', 'pearls', 'picot', 'none'])
        if trim == 'cord':
            o.append(tube(rim, r.uniform(0.006, 0.014), m2, seg=6))
        elif trim == 'pearls':
            o += [ball(r.uniform(0.012, 0.02), make_mat('gloss', r.choice(GEMS + LACE), r), tuple(q), 2) for q in rim[:: r.choice([3, 4, 6])]]
        elif trim == 'picot':
            o += [move([hoop(0.022, 0.005, m2, n=14, seg=5)], x=q[0] * 1.02, y=q[1] * 1.02, z=q[2])[0] for q in rim[::3]]
    o.append(tube([(*polar(1)(u, 0), z(*polar(1)(u, 0)) + 0.01) for u in np.linspace(0, 1, 60)], r.uniform(0.012, 0.028), r.choice([m, m2]), seg=8))
    return move(o + ends_of(r, C, R, gap, m2), rz=r.choice([0, math.pi]) + r.uniform(-0.3, 0.3))


def ends_of(r, C, R, gap, m):
    """What closes a collar at its gap: ties, cords with tassels or pompons, a bow, or buttons."""
    o, how, t = [], r.choice(['ties', 'cords', 'cords', 'bow', 'button']), r.choice([m, tint(r, C)])
    ends = [(R * 1.02 * s * math.sin(gap), -R * 1.02 * math.cos(gap)) for s in (-1, 1)]
    if how == 'bow':
        o += [tube([(*ends[0], 0.03), (0, -R * 1.02, 0.05), (*ends[1], 0.03)], 0.012, t, seg=6)] + bow(r, 0, -R * 1.04, r.uniform(0.1, 0.22), t, 0.06)
    elif how == 'button':
        o += [tube([(*ends[0], 0.03), (*ends[1], 0.03)], 0.012, t, seg=6)] + move([cyl(0.035, 0.02, tint(r, C, ('gloss', 'wood', 'metal')), bev=0.005)],
            x=ends[1][0], y=ends[1][1], z=0.03)
    else:
        for k, (x, y) in zip((-1, 1), ends):
            p = wavy(r, x, y, r.uniform(0.3, 0.8), -math.pi / 2 + k * r.uniform(-0.2, 0.6), 0.12, 20, 0.022)
            o.append(ribbon(p, r.uniform(0.04, 0.07), t) if how == 'ties' else tube(p, 0.011, t, seg=6))
            if how == 'cords':
                q, c = p[-1], r.uniform(0.04, 0.07)
                o += pompon(r, c, tint(r, C), (q[0], q[1], c)) if r.random() < 0.5 else tassel(r, q[0], q[1], 0.16, 0.06, tint(r, C),
                    math.atan2(q[1] - p[-3][1], q[0] - p[-3][0]))
    return o


def G_headband(r, C):
    m, form, o = r.choice([stuff(r, C, 0.3), C.mat(['knit', 'fabric', 'gloss'], scale=3)]), r.choice(['wide', 'alice', 'alice', 'cord']), []
    R, a1 = 0.42, r.uniform(0.2, 0.9)
    hw = {'wide': r.uniform(0.08, 0.17), 'alice': r.uniform(0.025, 0.09), 'cord': r.uniform(0.012, 0.03)}[form]
    if form == 'wide':
        o.append(lathe([(R, 0), (R + 0.02, hw), (R, hw * 2), (R - 0.03, hw * 2), (R - 0.03, 0), (R, 0)], m, wob=r.uniform(0, 0.05), rng=r))
    else:
        t = np.linspace(-math.pi / 2 + a1, 1.5 * math.pi - a1, 60) if form == 'alice' else np.linspace(0, 6.26, 70)
        q = hw * (0.35 + 0.65 * np.sin(np.linspace(0.1, 3.04, len(t)))) if form == 'alice' else hw
        s = [(R * math.cos(a), R * math.sin(a) * (1.15 if form == 'alice' else 1), hw + 0.004) for a in t]
        o += [band(s, q, m, side=(0, 0, 1), flat=r.uniform(0.2, 0.9))] if form == 'alice' else string(r, C, s, hw, m, r.choice(['cord', 'twist', 'beads']))
    deck, zc = r.choice(['flowers', 'flowers', 'knot', 'bow', 'ears', 'feathers', 'beads']), hw * 2 if form == 'wide' else hw * 1.5
    c0, (sp, ms) = math.pi / 2 + r.uniform(-0.7, 0.7), (r.uniform(0.25, 0.4), [tint(r, C) for _ in range(3)])
    at = lambda a, f=1.0: (R * f * math.cos(a), R * f * math.sin(a) * (1.15 if form == 'alice' else 1))
    o += deck_of(r, C, deck, at, (hw, zc, c0, sp), m, ms)
    for s in (-1, 1) if form == 'cord' or r.random() < 0.25 else ():
        o.append(ribbon(wavy(r, *at(-math.pi / 2 + s * (a1 + 0.06 if form == 'alice' else 0.03)), r.uniform(0.3, 0.8), -math.pi / 2 + s * r.uniform(0, 0.7), z=0.015), r.uniform(0.02, 0.06),
            r.choice(ms)))
    return o


def deck_of(r, C, deck, at, dims, m, ms):
    """What sits on a headband."""
    (hw, zc, c0, sp), n, o = dims, r.randint(1, 7), []
    if deck == 'flowers':
        for i in range(n):
            a = c0 + (i - (n - 1) / 2) * sp
            o += flower(r, C, r.uniform(0.09, 0.19), (*at(a, r.uniform(0.97, 1.08)), zc - 0.02), r.choice(ms))
            o += move([leaf(r.uniform(0.12, 0.25), make_mat('matte', r.choice(GREEN), r), 0.25)], *at(a), zc * 0.7,
                rz=a + r.uniform(-1.8, 1.8)) if r.random() < 0.6 else []
    elif deck == 'knot':
        o += [blob(0.09, 0.11, max(hw, 0.05), m, 0.1, 3, at=(*at(c0), max(hw, 0.05)))]
        o += [move([leaf(r.uniform(0.2, 0.35), m, 0.3)], *at(c0), hw * 1.4, rz=c0 + s * r.uniform(0.3, 0.9))[0] for s in (-1, 1)]
    elif deck == 'bow':
        o += move(bow(r, 0, 0, r.uniform(0.15, 0.32), ms[0], zc + 0.02, r.choice([0, 2, 3])), *at(c0), 0, rz=c0 + math.pi / 2 * r.choice([1, -1]))
    elif deck == 'ears':
        tip, w = r.uniform(0.15, 0.5), r.uniform(0.08, 0.14)
        for s in (-1, 1):
            e = smooth_outline([(0, -w), (tip * 0.6, -w * 0.9), (tip, 0), (tip * 0.6, w * 0.9), (0, w)], 6)
            p = [slab(e, 0.04, ms[0]), slab([(x * 0.75 + 0.02, y * 0.6) for x, y in e], 0.05, ms[1])]
            o += move(p, *at(math.pi / 2 + s * 0.45, 0.98), 0.004, rz=math.pi / 2 + s * r.uniform(0.2, 0.6))
    elif deck == 'feathers':
        for _ in range(r.randint(1, 4)):
            o += move(feather(r, r.uniform(0.35, 0.75), r.uniform(0.08, 0.16), ms[0], ms[1], ms[2]), *at(c0), zc * 0.6, rz=c0 + r.uniform(-1.2, 1.2))
        o += flower(r, C, 0.1, (*at(c0), zc), ms[2])
    else:
        o += [ball(r.uniform(0.025, 0.05), r.choice(ms), (*at(c0 + a, 1.02), max(zc, 0.05)), 3) for a in np.linspace(-1, 1, r.randint(6, 15))]
    return o


def G_hair_comb(r, C):
    m = r.choice([wire(r), wood(r), C.mat(['gloss', 'matte']), make_mat('gloss', r.choice([(0.35, 0.18, 0.08), (0.08, 0.07, 0.07), (0.85, 0.8, 0.68)]), r)])
    n, w, L, b = r.choice([2, 3, 5, 8, 12, 18, 24]), r.uniform(0.5, 1.0), r.uniform(0.25, 0.6), r.uniform(0, 0.3)
    w = w if n > 4 else w * 0.35
    y, o = (lambda x: b * (1 - (2 * x / w) ** 2)), []
    q, hi = min(w / n * 0.36, 0.03), r.uniform(0.08, 0.35)
    for x in np.linspace(-w / 2 + q, w / 2 - q, n):
        o.append(tube([(x, y(x) + 0.02, 0.03), (x * 1.03, y(x) * 0.8 - L * 0.6, 0.035), (x * 1.06, y(x) * 0.5 - L, 0.015)], [q, q * 0.9, q * 0.3], m, seg=7))
    xs, crown = np.linspace(-w / 2, w / 2, 26), r.choice(['arch', 'waves', 'bar', 'peak'])
    up = {'arch': lambda x: hi * max(0, 1 - (2 * x / w) ** 2) ** 0.5, 'waves': lambda x: hi * (0.5 + 0.3 * abs(math.sin(9 * x / w))), 'bar': lambda x: 0.06,
        'peak': lambda x: hi * (1.1 - abs(2 * x / w))}[crown]
    rim = [(x, y(x) + 0.05 + up(x)) for x in xs]
    hole = [circle(r.uniform(0.03, 0.05), 14, cx, y(cx) + 0.05 + up(cx) * 0.5) for cx in (-w * 0.25, 0,
        w * 0.25)] if crown == 'arch' and hi > 0.2 and n > 4 and r.random() < 0.6 else ()
    o.append(slab([(x, y(x) - 0.02) for x in xs] + rim[::-1], 0.05, m, z=0.012, holes=hole))
    return o + crown_of(r, C, w, y, rim)


def crown_of(r, C, w, y, rim):
    """Pearls, flowers, feathers and sprigs along the crown of a comb."""
    o = []
    deck, ms = r.choice(['pearls', 'flowers', 'feathers', 'sprigs', 'mixed', 'mixed']), [tint(r, C) for _ in range(3)]
    pearl = [make_mat('gloss', c, r) for c in r.sample(GEMS, 2)]
    if deck in ('pearls', 'mixed'):
        o += [ball(s, r.choice(pearl), (px, py + s * 0.3, 0.05 + s * 0.4), 3) for px, py in rim[:: r.choice([1, 2, 3])] for s in [r.uniform(0.018, 0.045)]]
    if deck in ('flowers', 'mixed'):
        for _ in range(r.randint(1, 5)):
            px, py = r.choice(rim)
            o += flower(r, C, r.uniform(0.09, 0.2), (px, py - 0.03, 0.05), r.choice(ms))
    if deck == 'feathers' or r.random() < 0.25:
        x0 = r.uniform(-w / 3, w / 3)
        for _ in range(r.randint(2, 5)):
            o += move(feather(r, r.uniform(0.4, 0.9), r.uniform(0.07, 0.16), *r.sample(ms, 3)), x0, y(x0) + 0.04, 0.045, rz=math.pi / 2 + r.uniform(-1, 1))
        o += flower(r, C, 0.09, (x0, y(x0) + 0.04, 0.06), ms[0])
    if deck == 'sprigs' or r.random() < 0.3:
        for _ in range(r.randint(4, 12)):
            (px, py), a, l = r.choice(rim), math.pi / 2 + r.uniform(-0.9, 0.9), r.uniform(0.12, 0.45)
            p = wavy(r, px, py - 0.02, l, a, 0.1, 10, 0.05)
            o += [tube(p, 0.006, wire(r), seg=5), ball(r.uniform(0.015, 0.035), r.choice(pearl), p[-1], 2)]
            o += move([leaf(0.1, ms[1], 0.3)], *p[5], rz=a + r.choice([-0.8, 0.8])) if r.random() < 0.6 else []
    return o


def G_barrettes(r, C):
    n, o, x = r.choice([1, 1, 2, 2, 3, 4]), [], 0.0
    same, form = r.random() < 0.5, r.choice(['bow', 'flower', 'shape', 'beads', 'strip', 'rosette'])
    card = n > 1 and r.random() < 0.35
    for i in range(n):
        k = form if same else r.choice(['bow', 'flower', 'shape', 'beads', 'strip', 'rosette'])
        p, w = clip(r, C, k), r.uniform(0.42, 0.62)
        o += move(p, x=x, y=r.uniform(-0.08, 0.08), z=0.012 if card else 0, rz=math.pi / 2 + r.uniform(-0.3, 0.3) * (not card))
        x += w
    if card:
        cw, m = x + 0.1, make_mat('paper', r.choice([C.light(), C.alt_c, (0.72, 0.58, 0.42)]), r)
        o.append(move([slab(rounded(cw, 1.0, 0.04), 0.012, m)], x=(x - w) / 2)[0])
    return o


def clip(r, C, k):
    """A hair clip along x, trimmed."""
    met, m, m2 = r.choice([wire(r), tint(r, C, ('gloss', 'matte'))]), tint(r, C), tint(r, C)
    o, tails = [], r.choice([0, 0, 1, 2, 3, 5])
    if r.random() < 0.5:
        o.append(slab(smooth_outline([(-0.36, 0), (-0.3, -0.03), (0.2, -0.075), (0.33, -0.05), (0.36, 0), (0.33, 0.05), (0.2, 0.075), (-0.3, 0.03)], 5), 0.02, met))
    else:
        o += [slab(rounded(0.74, 0.1, 0.045), 0.018, met), tube([(-0.34, 0, 0.02), (0, 0, 0.05), (0.38, 0, 0.02)], 0.014, met, seg=7)]
    for _ in range(tails):
        p = wavy(r, r.uniform(-0.1, 0.1), 0, r.uniform(0.3, 1.0), r.choice([0, math.pi]) + r.uniform(-0.8, 0.8), 0.12, 18, 0.02)
        o.append(ribbon(p, r.uniform(0.02, 0.06), r.choice([m, m2])))
        o += [ball(0.03, tint(r, C, ('gloss', 'wood')), (p[-1][0], p[-1][1], 0.03), 2)] if r.random() < 0.4 else []
    if k == 'bow':
        o += move(bow(r, 0, 0, r.uniform(0.2, 0.36), m, 0.05, r.choice([0, 2])), rz=r.choice([0, math.pi / 2]))
    elif k == 'flower':
        o += [q for x in r.choice([[0], [-0.2, 0.18], [-0.26, 0, 0.26]]) for q in flower(r, C, r.uniform(0.13, 0.24), (x, 0, 0.03))]
    elif k == 'shape':
        s, n = r.uniform(0.16, 0.24), r.choice([2, 5, 6])
        e = [((s * (1 + 0.4 * math.cos(n * t))) * math.cos(t), s * (1 + 0.4 * math.cos(n * t)) * math.sin(t)) for t in np.linspace(0, 6.2832, 60, endpoint=False)]
        o += [slab(e, 0.03, m, z=0.02), slab([(a * 0.55, b * 0.55) for a, b in e], 0.02, m2, z=0.05), ball(0.04, tint(r, C, ('gloss',)), (0, 0, 0.075), 2)]
    elif k == 'beads':
        o += [ball(s, r.choice([make_mat('gloss', r.choice(GEMS), r), met]), (x, r.uniform(-0.03, 0.03), 0.02 + s * 0.7), 3) for x in np.linspace(-0.33, 0.33, r.randint(5, 10)) for s in [r.uniform(0.03, 0.065)]]
    elif k == 'strip':
        o += [rbox(0.78, r.uniform(0.12, 0.24), 0.05, 0.02, stuff(r, C, 0.2))] + [ball(0.03, met, (x, 0, 0.055), 2) for x in np.linspace(-0.3, 0.3, r.randint(1, 5))]
    else:
        for q, c in ((0.22, m), (0.15, m2)):
            o.append(cloth(lambda u, v: (q * v * math.cos(6.2832 * u), q * v * math.sin(6.2832 * u)), c, lambda x,
                y: 0.06 - q * 0.1 + 0.1 * math.hypot(x, y) * math.sin(22 * math.atan2(y, x)), 132, 5))
        o.append(ball(0.055, met, (0, 0, 0.06), 3, 0.6))
    return o


def G_brooch(r, C):
    met, ms, o, z = wire(r), [tint(r, C) for _ in range(3)], [], 0.05
    R, plan = r.uniform(0.16, 0.3), r.choice(['oval', 'flower', 'flower', 'bunch', 'rosette', 'star'])
    for _ in range(r.randint(2, 7) if r.random() < 0.5 else 0):
        o += move(feather(r, r.uniform(0.4, 0.8), r.uniform(0.08, 0.18), *r.sample(ms, 3)), z=0.012, rz=math.pi / 2 + r.uniform(-1.3, 1.3))
    for _ in range(r.randint(2, 6) if r.random() < 0.5 else 0):
        a = r.uniform(0, 6.28)
        o += move([leaf(r.uniform(0.3, 0.5), make_mat('matte', r.choice(GREEN + PAL), r), r.uniform(0.15, 0.35))], z=0.01, rz=a)
    o.append(cyl(R * 0.6, z, met, bev=0.01))
    o += face_of(r, C, plan, R, z, met, ms)
    for i in range(n := r.choice([0, 1, 3, 3, 5])):
        x, L = ((i + 0.5) / n - 0.5) * R * 1.5, r.uniform(0.15, 0.55)
        p = [(x * 0.8, -R * 0.45, 0.04), (x, -R * 0.9, 0.03), (x * 1.1, -R - L, 0.02)]
        o += string(r, C, p, 0.009, met, r.choice(['chain', 'cord', 'beads'])) + (drop(r, C, x * 1.1, -R - L,
            r.uniform(0.04, 0.075)) if r.random() < 0.75 else tassel(r, x * 1.1, -R - L, 0.2, 0.05, ms[0]))
    if r.random() < 0.3:
        o += [tube([(-R * 2.2, R * 0.5, 0.03), (R * 2.4, -R * 0.3, 0.03)], 0.01, met, seg=6), ball(0.04, met, (R * 2.4, -R * 0.3, 0.04), 2)]
    return o


def face_of(r, C, plan, R, z, met, ms):
    """The middle of a brooch."""
    o = []
    if plan == 'oval':
        ry, gem = R * r.uniform(1, 1.4), make_mat(r.choice(['gloss', 'gloss', 'speckle']), r.choice(GEMS + PAL), r)
        o += [slab(circle(R, ry=ry), 0.04, met, z=z - 0.01), blob(R * 0.86, ry * 0.86, 0.06, gem, at=(0, 0, z + 0.02))]
        o += [ball(R * 0.09, r.choice([met, ms[0]]), (R * math.cos(t), ry * math.sin(t), z + 0.03), 2) for t in np.linspace(0, 6.2832, r.choice([14, 20, 28]),
            endpoint=False)]
    elif plan == 'flower':
        o += flower(r, C, R * r.uniform(1.2, 1.9), (0, 0, z - 0.02), ms[0]) + flower(r, C, R * r.uniform(0.6, 0.9), (0, 0, z + 0.05), ms[1])
    elif plan == 'bunch':
        for _ in range(r.randint(3, 6)):
            a, q = r.uniform(0, 6.28), R * r.uniform(0.3, 0.9)
            o += flower(r, C, R * r.uniform(0.5, 0.9), (q * math.cos(a), q * math.sin(a), z - 0.01), r.choice(ms))
    elif plan == 'rosette':
        for q, c, h in ((R * 1.5, ms[0], z), (R * 1.1, ms[1], z + 0.02)):
            o.append(cloth(lambda u, v: (q * v * math.cos(6.2832 * u), q * v * math.sin(6.2832 * u)), c, lambda x,
                y: h + 0.06 * math.hypot(x, y) * math.sin(30 * math.atan2(y, x)), 180, 5))
        o += [cyl(R * 0.55, z + 0.05, r.choice([ms[2], met]), bev=0.01)]
        o += [ribbon(wavy(r, 0, -R, r.uniform(0.4, 0.8), -math.pi / 2 + r.uniform(-0.5, 0.5), 0.06, z=0.02), 0.09,
            r.choice(ms[:2])) for _ in range(r.randint(2, 3))]
    else:
        k = r.randint(5, 9)
        e = [(R * (1.5 if j % 2 else 0.7) * math.cos(j * math.pi / k), R * (1.5 if j % 2 else 0.7) * math.sin(j * math.pi / k)) for j in range(2 * k)]
        o += [slab(e, 0.03, r.choice([met, ms[0]]), z=z - 0.01)] + [ball(R * 0.1, ms[1], (x, y, z + 0.02), 2) for x,
            y in e[1::2]] + [ball(R * 0.35, make_mat('gloss', r.choice(GEMS), r), (0, 0, z + 0.03), 3, 0.6)]
    return o


def dangle(r, C, hook, plan, met, ms):
    """A hook or none, a ring, disc or bar, and feathers on threads below it."""
    top, n, L0, R, fl, w, how = plan
    o = [band([(0, 0, 0.02), (0, 0.1, 0.025), (-0.03, 0.16, 0.03), (-0.09, 0.17, 0.03), (-0.12, 0.1, 0.02), (-0.12, 0.02, 0.012)], 0.009, met,
        flat=1)] if hook else []
    y = 0.0
    if top == 'ring':
        o += move([hoop(R, r.uniform(0.01, 0.025), r.choice([met, ms[0], wood(r)]), 0.02)], y=-R)
        o += drop(r, C, 0, 0, R * 0.5) if r.random() < 0.4 else []
        y = -2 * R
    elif top == 'disc':
        o += move([cyl(R * 0.7, 0.03, r.choice([met, wood(r), tint(r, C, ('gloss', 'speckle'))]), bev=0.006)], y=-R * 0.7)
        y = -1.4 * R
    elif top == 'bar':
        o += [tube([(-R * 1.3, -0.03, 0.02), (R * 1.3, -0.03, 0.02)], 0.016, r.choice([met, wood(r)]), seg=7), ball(0.02, met, (0, 0, 0.02), 2)]
        y = -0.03
    for i in range(n):
        u = (i - (n - 1) / 2) / max(1, n - 1)
        x = u * R * (2.2 if top == 'bar' else 1.5)
        y0 = y + (R - math.sqrt(max(0, R * R - x * x)) if top == 'ring' else 0.3 * abs(x) if top == 'disc' else 0)
        p = wavy(r, x, y0, L0 * r.uniform(0.6, 1.2) + 0.04, -math.pi / 2 + u * 0.4, 0.05, 12, 0.02)
        o += string(r, C, p, 0.01, met if how == 'chain' else None, how)
        e, a = p[-1], -math.pi / 2 + u * r.uniform(0.2, 0.8)
        o += move(feather(r, fl * r.uniform(0.7, 1.1), w, *r.sample(ms, 3)), e[0], e[1], 0.004 * i, rz=a)
        o += [ball(q, r.choice([met, tint(r, C, ('gloss', 'wood'))]), (e[0], e[1] - 0.03 * j, q + 0.004 * i),
            2) for j in range(r.randint(1, 4)) for q in [r.uniform(0.018, 0.032)]]
    return o


def G_feathers(r, C):
    met, ms = wire(r), [tint(r, C, ('fabric', 'matte')) for _ in range(3)]
    top, n, L0 = r.choice(['ring', 'none', 'disc', 'bar', 'ring']), r.randint(1, 5), r.uniform(0.05, 0.7)
    R, fl, w, how = r.uniform(0.08, 0.2), r.uniform(0.35, 0.8), r.uniform(0.08, 0.17), r.choice(['chain', 'cord', 'beads', 'chain', 'twist'])
    one = lambda hook=True: dangle(r, C, hook, (top, n, L0, R, fl, w, how), met, ms)
    form = r.choice(['pair', 'pair', 'one', 'necklace'])
    if form == 'pair':
        return pair(r, one, max(0.5, 3.2 * R, fl * w * 5) + r.uniform(0, 0.2))
    if form == 'one':
        return one()
    q, k = r.uniform(0.5, 0.9), r.uniform(0.25, 0.5)
    p = curve([(0, 0, 0.02), (k * 0.5, q * 0.3, 0.02), (k, q * 0.75, 0.02), (r.uniform(-0.1, 0.2), q, 0.02), (-k, q * 0.8, 0.02), (-k * 0.55, q * 0.35, 0.02),
        (0, 0, 0.02)])
    return one(False) + string(r, C, p, 0.012, met, r.choice(['chain', 'cord', 'beads', 'twist']))


def G_carnival_mask(r, C):
    """A half or whole face mask with eye holes, lying face up."""
    m, m2, trim = stuff(r, C, 0.4) if r.random() < 0.4 else C.mat(['gloss', 'matte', 'metal', 'fabric']), tint(r, C,
        ('gloss', 'matte', 'metal')), r.choice([wire(r), tint(r, C)])
    full, w, ht, horn = r.random() < 0.25, r.uniform(0.85, 1.05), r.uniform(0.2, 0.34), r.choice([0, 0, 0.1, 0.25])
    dip, ey, ew, eh, ea = r.uniform(0, 0.12), r.uniform(-0.02, 0.05), r.uniform(0.09, 0.13), r.uniform(0.04, 0.075), r.uniform(-0.1, 0.5)
    low = lambda x: -(0.55 if full else ht * 0.75) * max(0.02, 1 - (2 * abs(x) / w) ** 2.2) ** 0.5 + (0 if full else 0.16 * math.exp(-((x / 0.09) ** 2)))
    high = lambda x: ht * max(0.02, 1 - (2 * abs(x) / w) ** 2.6) ** 0.5 - dip * math.exp(-((x / 0.12) ** 2)) + horn * math.exp(-(((abs(x) - w * 0.4) / 0.07) ** 2))
    at = lambda u, v: ((u - 0.5) * w, low((u - 0.5) * w) * (1 - v) + high((u - 0.5) * w) * v)
    z = lambda x, y: 0.03 + 0.2 * max(0, 1 - (1.9 * x / w) ** 2) + 0.1 * math.exp(-((x / 0.06) ** 2) - ((y + 0.08) / 0.14) ** 2)

    def eye(x, y, k=1.0):
        c, s, a = abs(x) - 0.2, y - ey, ea
        return ((c * math.cos(a) + s * math.sin(a)) / ew / k) ** 2 + ((s * math.cos(a) - c * math.sin(a)) / eh / k) ** 2

    split, o = r.choice(['none', 'none', 'half', 'eyes', 'brow']), []
    part = {'none': lambda x, y: True, 'half': lambda x, y: x < 0, 'eyes': lambda x, y: eye(x, y, 1.7) > 1, 'brow': lambda x, y: y < 0.12 + 0.2 * abs(x)}[split]
    o.append(cloth(at, m, z, 120, 64, lambda u, v: eye(*at(u, v)) > 1 and part(*at(u, v))))
    o += [cloth(at, m2, z, 120, 64, lambda u, v: eye(*at(u, v)) > 1 and not part(*at(u, v)))] if split != 'none' else []
    rim = [at(u, v) for u, v in [(t, 0) for t in np.linspace(0.004, 0.996, 60)] + [(t, 1) for t in np.linspace(0.996, 0.004, 60)]]
    o.append(tube([(x, y, z(x, y)) for x, y in rim], r.uniform(0.008, 0.018), trim, seg=6, closed=True))
    for s in (-1, 1):
        ring = [(0.2 + ew * math.cos(t) * math.cos(ea) - eh * math.sin(t) * math.sin(ea),
            ey + ew * math.cos(t) * math.sin(ea) + eh * math.sin(t) * math.cos(ea)) for t in np.linspace(0, 6.2832, 40, endpoint=False)]
        o.append(tube([(s * x, y, z(x, y)) for x, y in ring], r.uniform(0.008, 0.014), trim, seg=6, closed=True))
    return o + plumes(r, C, w, z, high, low, trim, rim)


def plumes(r, C, w, z, high, low, trim, rim):
    """The trimmings of a mask: plumes, beads, a gem, ribbons or a stick, a beak, drops."""
    o, ms = [], [tint(r, C, ('fabric', 'matte', 'carpet')) for _ in range(3)]
    x0 = r.choice([0, 0, -0.3, 0.3]) * w
    for _ in range(r.randint(3, 9) if r.random() < 0.75 else 0):
        x = x0 + r.uniform(-0.12, 0.12)
        f = move(feather(r, r.uniform(0.45, 1.0), r.uniform(0.08, 0.18), *r.sample(ms, 3)), ry=-r.uniform(0, 0.35))
        o += move(f, x, high(x) - 0.05, max(0.02, z(x, high(x)) - 0.05), rz=math.pi / 2 - x * 0.9 + r.uniform(-0.6, 0.6))
    if x0 or r.random() < 0.6:
        y = high(x0) - 0.03
        o += flower(r, C, r.uniform(0.08, 0.15), (x0, y, z(x0, y))) if r.random() < 0.5 else [blob(0.05, 0.075, 0.04, make_mat('gloss', r.choice(GEMS), r), at=(x0, y, z(x0, y)), sub=3)]
    if r.random() < 0.4:
        o += [ball(r.uniform(0.012, 0.02), make_mat('gloss', r.choice(GEMS), r), (x, y, z(x, y) + 0.012), 2) for x, y in rim[:: r.choice([2, 3, 5])]]
    if r.random() < 0.18:
        L = r.uniform(0.2, 0.5)
        o.append(band([(0, 0.0, z(0, 0) - 0.03), (0, -0.07, z(0, -0.07) + L * 0.5), (0, -0.2, z(0, -0.1) + L)], [0.085, 0.05, 0.01], r.choice([ms[0], trim]),
            side=(1, 0, 0), flat=1))
    if r.random() < 0.3:
        s, L = r.choice([-1, 1]), r.uniform(0.6, 1.0)
        o.append(tube([(s * w * 0.44, 0.12, 0.035), (s * w * 0.5, -L, 0.02)], r.uniform(0.012, 0.022), r.choice([wood(r), trim]), seg=8))
        o += [ribbon(wavy(r, s * w * 0.45, 0, r.uniform(0.3, 0.7), -math.pi / 2 + r.uniform(-0.7, 0.7)), 0.035, r.choice(ms)) for _ in range(r.randint(0, 4))]
    else:
        for s in (-1, 1):
            for _ in range(r.choice([1, 1, 2])):
                p = wavy(r, s * w * 0.49, 0, r.uniform(0.4, 1.0), (0 if s > 0 else math.pi) - s * r.uniform(-0.2, 1.3), 0.15, 22, 0.022)
                o.append(ribbon(p, r.uniform(0.03, 0.06), r.choice([ms[0], trim])))
    for x in np.linspace(-w * 0.36, w * 0.36, r.randint(4, 9)) if r.random() < 0.25 else ():
        o += string(r, C, [(x, low(x) + 0.01, z(x, low(x))), (x, low(x) - 0.05, 0.06), (x, low(x) - r.uniform(0.1, 0.25), 0.02)], 0.008, trim,
            'cord') + drop(r, C, x, low(x) - 0.1, 0.03)
    return o


def G_necktie(r, C):
    m, met = r.choice([print_mat(r, C.color, r.uniform(0.12, 0.35)), print_mat(r, C.color, 0.2), C.mat(['knit', 'gloss', 'linen', 'fabric'], scale=3)]), wire(r)
    if r.random() < 0.5:
        return bow_tie(r, C, m, met)
    w, form, o = r.uniform(0.06, 0.12), r.choice(['knot', 'knot', 'straight', 'fold']), []
    tip = lambda n, a, b, blunt: np.concatenate([np.linspace(a, b, n - 3), [b * 1.0, b * 0.5, 0.003] if not blunt else [b, b, b]])
    blunt = r.random() < 0.25
    if form == 'knot':
        L, n = r.uniform(0.7, 1.1), 22
        ends = [(0.016, L, 1.0), (0.008, L * r.uniform(0.6, 0.95), 0.65)]
        for z, l, k in ends:
            p = along(wavy(r, 0, 0, l, -math.pi / 2 + r.uniform(-0.12, 0.12) + (k < 1) * r.uniform(-0.25, 0.25), 0.04, n, z + 0.01), l / n)
            o.append(band(p, np.array(tip(len(p), w * 0.5, w * k, blunt)), m, flat=0.1))
        o.append(squarish([(0, 0), (1, 0.0), (1.15, 0.05), (1.3, 0.1), (0, 0.11)], w * 1.3, 0.07, 0.6, m))
        move(o[-1:], rx=-math.pi / 2, y=-0.05, z=0.035)
        a, h = r.uniform(0.28, 0.45), r.uniform(0.4, 0.75)
        p = curve([(0.02, 0.02, 0.03), (a * 0.5, h * 0.35, 0.04), (a * 0.55, h * 0.8, 0.03), (0, h, 0.02), (-a * 0.55, h * 0.8, 0.03), (-a * 0.5, h * 0.35, 0.04), (-0.02, 0.02, 0.03)], 0.02)
        o.append(band(p, w * r.uniform(0.35, 0.55), m, flat=0.2))
    else:
        c = r.uniform(0.2, 0.5)
        q = [(0, 0, 0.02), (0.05, 0.6, 0.02), (0, 1.0, 0.02), (c, 1.15, 0.03), (c * 1.2, 0.8, 0.03), (c * r.uniform(0.3, 1.4), 0.1, 0.03)] if form == 'fold' else wavy(r, 0, 0, 1.6, 1.4, 0.15, 12, 0.02)
        p = along(curve(q), 0.03)
        k = np.interp(np.linspace(0, 1, len(p)), [0, 0.004, 0.02 if blunt else 0.07, 0.5, 0.96, 0.985, 1], [w * 0.9 if blunt else 0.003, w * 0.9 if blunt else 0.01, w * 1.2, w * 0.42, w * 0.7, w * 0.5, 0.004])
        o.append(band(p, k, m, flat=0.06))
    if form == 'knot' and r.random() < 0.5:
        o += move([rbox(w * 2.2, 0.035, 0.02, 0.006, met)], y=-0.35, z=0.026)
    if r.random() < 0.3:
        y = -0.45 if form == 'knot' else 0.3
        o += move([rbox(0.3, 0.26, 0.012, 0.004, stuff(r, C, 0.15)), leaf(0.2, m, 0.4)], x=r.uniform(-0.12, 0.12), y=y, rz=r.uniform(-0.8, 0.8))
    return o


def bow_tie(r, C, m, met):
    """A bow with pointed, round or wooden wings on its band."""
    w, h, o = r.uniform(0.3, 0.5), r.uniform(0.12, 0.24), []
    m = r.choice([m, m, wood(r), hide(r)])
    for k in range(r.choice([1, 1, 2])):
        s, t = 1 - 0.18 * k, r.uniform(0.25, 0.6)
        e = r.choice([[(w, h), (w * 0.9, 0), (w, -h)], [(w * 0.9, h * 0.9), (w, 0), (w * 0.9, -h * 0.9)], [(w, h), (w, -h)],
            [(w * 0.85, h), (w * 1.15, 0), (w * 0.85, -h)]])
        for g in (-1, 1):
            q = [(0, -h * t * 0.7)] + e[::-1] + [(0, h * t * 0.7)]
            q = [(g * s * x, s * y) for x, y in q]
            o.append(slab(q if g > 0 else q[::-1], 0.03, m if k == 0 else r.choice([m, tint(r, C)]), z=0.02 + 0.032 * k))
    o.append(move([rbox(r.uniform(0.08, 0.14), h * 1.1, 0.1, 0.025, r.choice([m, tint(r, C), hide(r)]))], z=0.012)[0])
    bm, hw, a = r.choice([m, tint(r, C), hide(r)]), r.uniform(0.02, 0.045), r.uniform(0.5, 0.8)
    if r.random() < 0.6:
        b, c = r.uniform(0.4, 0.9), r.uniform(-0.2, 0.2)
        p = curve([(0.05, 0, 0.02), (a * 0.7, b * 0.2, 0.02), (a * 0.8, b * 0.7, 0.02), (c, b * 1.1, 0.02), (-a * 0.8, b * 0.75, 0.02),
            (-a * 0.7, b * 0.2, 0.02), (-0.05, 0, 0.02)])
        o += [band(p, hw, bm, flat=0.2)] + move(buckle(hw * 2.6, hw * 2.4, met, 0.01), x=c, y=b * 1.1, z=0.008)
    else:
        for s in (-1, 1):
            p = wavy(r, s * 0.05, 0, r.uniform(0.6, 1.1), (0 if s > 0 else math.pi) + s * r.uniform(-0.4, 0.9), 0.1, 24, 0.02)
            o += [band(p, hw, bm, flat=0.2)] + move(buckle(hw * 2.4, hw * 2.6, met, 0.01), x=p[-1][0], y=p[-1][1], z=0.008)
    return o + ([ball(0.03, make_mat('gloss', r.choice(GEMS), r), (0, 0, 0.115), 2)] if r.random() < 0.3 else [])


def fringe(r, pts, out, L, m, dense=110):
    """Threads from points along an edge, each towards out(point)."""
    P, n = [], len(pts)
    for i in range(dense):
        x, y, z = pts[min(n - 1, int(i / dense * n))]
        dx, dy = out(x, y)
        j, l = r.uniform(-0.18, 0.18), L * r.uniform(0.85, 1.1)
        a = (x + dx * l * 0.5 - dy * j * l * 0.3, y + dy * l * 0.5 + dx * j * l * 0.3, max(0.01, z * 0.6))
        P.append([(x - dx * 0.01, y - dy * 0.01, z), a, (x + dx * l - dy * j * l, y + dy * l + dx * j * l, 0.006)])
    return [hairs(P, r.uniform(0.004, 0.009), m)]


def G_shawl(r, C):
    form, m, m2 = r.choice(['triangle', 'triangle', 'square', 'folded', 'thrown']), r.choice([stuff(r, C, 0.4),
        C.mat(['knit', 'linen', 'carpet'], scale=2)]), tint(r, C)
    z, L, th = folds(r, r.uniform(0.03, 0.09), r.uniform(4, 10)), r.uniform(0.06, 0.25), r.choice([m, m2])
    if form == 'folded':
        return folded(r, m, m2, th, L)
    if form == 'thrown':
        return thrown(r, m, m2, th, L, z)
    if form == 'triangle':
        w, d, k = r.uniform(1.1, 1.6), r.uniform(0.5, 0.85), r.uniform(0.8, 1.3)
        at = lambda u, v: ((u - 0.5) * w * (1 - v**k) + 0.001 * u, -d * v + 0.08 * abs(2 * u - 1) ** 2 * (1 - v))
    else:
        w, d = r.uniform(0.7, 1.1), r.uniform(0.6, 0.9)
        at = lambda u, v: ((u - 0.5) * w + 0.03 * math.sin(5 * v), -d * v + 0.03 * math.sin(4 * u))
    return shawl_edges(r, C, at, z, (m, m2, th), L, form, d)


def folded(r, m, m2, th, L):
    """A shawl folded to and fro, its fringe out at both ends, with a band or none."""
    w, d, n, hh = r.uniform(0.5, 0.9), r.uniform(0.35, 0.6), r.randint(2, 5), r.uniform(0.035, 0.06)
    P = [(0, d * (0.5 + r.uniform(-0.03, 0.03)) * k, 0.02 + hh * (i + 0.15 * (a == 1))) for i in range(n) for a,
        k in enumerate((-1, 1) if i % 2 == 0 else (1, -1))]
    p = along(curve(P, 0.02, 14), 0.012)
    o = [band(p, w / 2 * (1 + 0.015 * np.sin(np.arange(len(p)) * 0.2)), m, side=(1, 0, 0), flat=0.035, seg=16)]
    for q, s in ((p[0], -1), (p[-1], -1 if n % 2 == 0 else 1)):
        row = [(x, q[1], q[2]) for x in np.linspace(-w * 0.48, w * 0.48, 60)]
        o += fringe(r, row, lambda x, y: (0.02 * math.sin(9 * x), s), L, th, 90)
    return o + (move([rbox(w * 0.16, d * 1.12, hh * n + 0.02, 0.03, m2)], x=r.uniform(-0.1, 0.1) * w) if r.random() < 0.4 else [])


def thrown(r, m, m2, th, L, z):
    """A shawl thrown down along a bend, gathered here and there."""
    p = along(curve([(0, 0, 0.02), (0.3, r.uniform(-0.3, 0.5), 0.02), (0.7, r.uniform(-0.4, 0.3), 0.02), (1.2, r.uniform(-0.3, 0.3), 0.02)]), 0.02)
    n, hw, f = len(p), r.uniform(0.13, 0.25), r.uniform(2, 4)
    T = np.gradient(p, axis=0)
    T /= np.linalg.norm(T, axis=1)[:, None]
    g = lambda u: min(n - 1, int(u * (n - 1) + 0.5))
    wid = lambda u: hw * (0.55 + 0.45 * abs(math.cos(f * u + 1)))
    at = lambda u, v: (p[g(u)][0] - T[g(u)][1] * wid(u) * (2 * v - 1), p[g(u)][1] + T[g(u)][0] * wid(u) * (2 * v - 1))
    o = [cloth(at, m, z, n - 1, 30)]
    for u, s in ((0, -1), (1, 1)):
        o += fringe(r, [(*at(u, v), z(*at(u, v))) for v in np.linspace(0.01, 0.99, 40)], lambda x, y: (s * T[g(u)][0], s * T[g(u)][1]), L, th, 70)
    return o + [tube([(*at(u, v), z(*at(u, v)) + 0.004) for u in np.linspace(0, 1, 60)], 0.008, m2, seg=6) for v in (0, 1)]


def shawl_edges(r, C, at, z, ms, L, form, d):
    """A spread shawl with its border, corner tassels and fringe."""
    m, m2, th = ms
    o, b = [cloth(at, m, z, 80, 44)], r.uniform(0.04, 0.14)
    bz = lambda x, y: z(x, y) + 0.004
    sides = [[at(0, v) for v in np.linspace(0, 1, 60)], [at(1, v) for v in np.linspace(0, 1, 60)]] if form == 'triangle' else [[at(u,
        0) for u in np.linspace(0, 1, 60)], [at(u, 1) for u in np.linspace(0, 1, 60)]]
    if r.random() < 0.6:
        keep = (lambda u, v: u * (1 - v) < b or (1 - u) * (1 - v) < b) if form == 'triangle' else (lambda u, v: min(v, 1 - v, u, 1 - u) < b)
        o.append(cloth(at, m2, bz, 80, 44, keep))
    for s, e in zip((-1, 1), sides):
        p = [(x, y, z(x, y)) for x, y in e]
        out = (lambda x, y: (s * 0.25, -0.97)) if form == 'triangle' else (lambda x, y: (0.02, -s))
        if r.random() < 0.3:
            o += [q for c in p[4::7] for q in tassel(r, c[0], c[1], L * 1.4, 0.035, th, math.atan2(out(0, 0)[1], out(0, 0)[0]))]
        else:
            o += fringe(r, p, out, L, th, r.choice([70, 110, 150]))
        o.append(tube([(x, y, q + 0.003) for x, y, q in p], r.uniform(0.005, 0.012), m2, seg=6))
    if r.random() < 0.35:
        (x, y), t = at(0.5, 1), tint(r, C)
        o += tassel(r, x, y, r.uniform(0.15, 0.3), 0.09, t) if form == 'triangle' else flower(r, C, 0.12, (*at(r.uniform(0.2, 0.8), 0.7), 0.08))
    return o


def G_pompoms(r, C):
    form, cord, o = r.choice(['garland', 'garland', 'bunch', 'bunch', 'pair', 'stem']), tint(r, C), []
    ms, n = [make_mat(r.choice(['carpet', 'matte']), r.choice([C.color, C.alt_c, r.choice(PAL)]), r) for _ in range(r.randint(1, 4))], r.randint(4, 9)
    big, fuzz = r.uniform(0.08, 0.15), r.random() < 0.75
    puff = lambda R, x, y: pompon(r, R, r.choice(ms), (x, y, R)) if fuzz else [blob(R, R, R * 0.95, r.choice(ms), 0.05, 3, 4, r.uniform(0, 9), (x, y, R))]
    if form == 'garland':
        o += garland(r, C, n, big, puff, cord, ms)
    elif form == 'stem':
        for i in range(r.randint(3, 7)):
            a, L = math.pi / 2 + r.uniform(-0.5, 0.5), r.uniform(0.6, 1.1)
            x, y = L * math.cos(a), L * math.sin(a)
            o += [tube([(-x * 0.25, -y * 0.25, 0.03), (0, 0, 0.05), (x * 0.5, y * 0.5, 0.05), (x, y, 0.06)], 0.013,
                r.choice([wood(r), make_mat('matte', r.choice(GREEN), r)]), seg=6)] + puff(big * r.uniform(0.5, 0.9), x, y)
        o += [hoop(0.06, 0.02, cord, 0.05)] + bow(r, 0, 0, r.uniform(0.1, 0.2), cord, 0.1)
    else:
        k = 2 if form == 'pair' else n
        for i in range(k):
            a = -math.pi / 2 + (r.uniform(-1.1, 1.1) if k > 2 else (i - 0.5) * r.uniform(0.4, 1.6))
            p = wavy(r, 0, 0, r.uniform(0.35, 1.0), a, 0.12, 20, 0.025)
            o += string(r, C, p, 0.012, cord, r.choice(['cord', 'cord', 'twist'])) + puff(big * r.uniform(0.7, 1.2), p[-1][0], p[-1][1])
            o += [ball(0.035, tint(r, C, ('wood', 'gloss')), (*p[15][:2], 0.035), 2)] if r.random() < 0.4 else []
        top = r.choice(['loop', 'ring', 'bow', 'puff'])
        h = r.uniform(0.2, 0.4)
        o += {'loop': lambda: [band(curve([(0, 0, 0.03), (0.08, h * 0.6, 0.02), (0, h, 0.02), (-0.08, h * 0.6, 0.02), (0, 0, 0.03)]), 0.012, cord, flat=1)],
            'ring': lambda: move([hoop(h * 0.4, 0.018, r.choice([wire(r), wood(r)]), 0.02)], y=h * 0.4), 'bow': lambda: bow(r, 0, 0, 0.18, cord,
                0.05), 'puff': lambda: puff(big * 1.2, 0, 0)}[top]()
        o.append(ball(0.035, cord, (0, 0, 0.035), 2))
    return o


def garland(r, C, n, big, puff, cord, ms):
    """Pompons and tassels along a winding cord."""
    o = []
    k, q, a = r.uniform(0.3, 1.4), r.uniform(0, 6), r.uniform(0.15, 0.5)
    p = along([(0.24 * n * (t - 0.5), a * math.sin(k * 6 * t + q), 0.05) for t in np.linspace(0, 1, 60)], 0.02)
    o += string(r, C, p, 0.011, cord, r.choice(['cord', 'twist', 'beads']))
    for i in range(n):
        x, y, _ = p[int((i + 0.5) / n * (len(p) - 1))]
        o += puff(big * r.uniform(0.6, 1.1), x, y)
        if r.random() < 0.3:
            o += tassel(r, *p[int((i + 0.9) / n * (len(p) - 1))][:2], r.uniform(0.15, 0.35), 0.06, r.choice(ms))
    for e, s in ((p[0], p[4]), (p[-1], p[-5])):
        o += [tube(wavy(r, e[0], e[1], r.uniform(0.15, 0.5), math.atan2(e[1] - s[1], e[0] - s[0]), 0.2, z=0.02), 0.011, cord, seg=6)]
    return o


def G_watch_strap(r, C):
    m, met = r.choice([hide(r), hide(r), C.mat(['matte', 'gloss', 'fabric', 'linen']), stuff(r, C, 0.2)]), wire(r)
    form, hw = r.choice(['apart', 'watch', 'watch', 'loop', 'lanyard', 'lanyard', 'lanyard']), r.uniform(0.05, 0.1)
    if form == 'lanyard':
        return lanyard(r, C, m, met)
    if form == 'loop':
        a, b = r.uniform(0.35, 0.45), r.uniform(0.25, 0.42)
        p = [(a * math.cos(t), b * math.sin(t), hw * 1.35) for t in np.linspace(-math.pi / 2 - 0.15, 1.5 * math.pi + 0.3, 60)]
        p = [(x * (1 + 0.03 * i / 60), y * (1 + 0.06 * i / 60), z) for i, (x, y, z) in enumerate(p)]
        o = [band(p, hw, m, side=(0, 0, 1), flat=0.14)] + move(buckle(hw * 2, hw * 2.6, met, 0.014), y=-b - 0.035, z=hw * 1.35, rx=math.pi / 2)
        if r.random() < 0.7:
            o += move([cyl(hw * 1.7, 0.07, met), cyl(hw * 1.45, 0.076, make_mat('gloss', r.choice(PAL), r))], rx=-math.pi / 2, y=b, z=hw * 1.7)
        return o
    L1, L2, gap, o, st = r.uniform(0.5, 0.75), r.uniform(0.35, 0.5), r.uniform(0.12, 0.2), [], tint(r, C, ('matte', 'gloss'))
    b1, b2 = (r.uniform(-0.3, 0.3) for _ in '12')
    top = [(b1 * t * t * 0.3, gap + L2 * t, 0.02) for t in np.linspace(0, 1, 20)]
    low = [(b2 * t * t * 0.5, -gap - L1 * t, 0.02) for t in np.linspace(0, 1, 28)]
    if form == 'apart':
        low = [(x + 0.3 + 0.55 * y, y + 0.45, z + 0.02) for x, y, z in low]
    o += [band(top, np.linspace(hw, hw * 0.85, 20), m, flat=0.16), band(low,
        np.concatenate([np.linspace(hw, hw * 0.8, 24), [hw * 0.76, hw * 0.66, hw * 0.45, 0.008]]), m, flat=0.16)]
    e = top[-1]
    o += move(buckle(hw * 2.7, hw * 1.8, met, 0.014), x=e[0], y=e[1] + hw * 0.6)
    for t in (12, 15)[: r.randint(1, 2)]:
        o += move([rbox(hw * 2.25, 0.04, 0.055, 0.012, m)], x=top[t][0], y=top[t][1])
    for i in range(14, 25, 2):
        o += move([cyl(hw * 0.13, 0.036, make_mat('matte', (0.03, 0.02, 0.02), r), bev=0.002)], x=low[i][0], y=low[i][1])
    for p, n in ((top, 18), (low, 24)) if r.random() < 0.6 else ():
        o += [tube([(x + s * hw * 0.72, y, 0.03) for x, y, _ in p[1:n]], 0.005, st, seg=5) for s in (-1, 1)]
    return o + (dial(r, C, gap, met) if form == 'watch' else [])


def dial(r, C, R, met):
    """The case of a watch with lugs, a crown, a face and hands."""
    fm, R = make_mat('gloss', r.choice([(0.95, 0.94, 0.9), (0.05, 0.05, 0.07), C.alt_c, (0.15, 0.2, 0.35)]), r), R * 1.15
    dark, q = make_mat('matte', r.choice([(0.03, 0.03, 0.03), (0.95, 0.95, 0.95), (0.7, 0.2, 0.15)]), r), r.uniform(0.06, 0.1)
    case = cyl(R, q, met) if r.random() < 0.6 else rbox(R * 1.8, R * 2, q, 0.03, met)
    o = [case, cyl(R * 0.82, q + 0.006, fm, bev=0.004), cyl(0.02, 0.05, met, bev=0.005)]
    move(o[-1:], ry=math.pi / 2, x=R * 0.95, z=q * 0.5)
    for a, l in ((r.uniform(0, 6), 0.5), (r.uniform(0, 6), 0.72)):
        o.append(tube([(0, 0, q + 0.012), (R * l * math.cos(a), R * l * math.sin(a), q + 0.012)], 0.008, dark, seg=5))
    for t in np.linspace(0, 6.2832, 12, endpoint=False):
        o.append(ball(0.008, dark, (R * 0.7 * math.cos(t), R * 0.7 * math.sin(t), q + 0.006), 1))
    return o + [rbox(0.05, R * 2.1, 0.05, 0.01, met)]


def lanyard(r, C, m, met):
    """A long loop of strap or cord with slides, rings, a hook, and things that hang from it."""
    q, k, s, o = r.uniform(0.7, 1.3), r.uniform(0.2, 0.5), r.uniform(0.016, 0.03), []
    p = curve([(0.01, 0, 0.03), (k * 0.3, q * 0.25, 0.02), (k * r.uniform(0.6, 1.2), q * 0.7, 0.02), (r.uniform(-0.2, 0.2), q, 0.02),
        (-k * r.uniform(0.6, 1.2), q * 0.7, 0.02), (-k * 0.3, q * 0.2, 0.03), (-0.01, 0, 0.035)], 0.02)
    o += string(r, C, p, s, m, r.choice(['strap', 'strap', 'twist', 'cord', 'beads']))
    o += [rbox(0.09, 0.1, 0.06, 0.015, r.choice([met, m, hide(r)]))] + move([hoop(0.06, 0.012, met, 0.02)], y=-0.09)
    hang = r.sample(['hook', 'fob', 'tassel', 'cords', 'beads'], r.randint(1, 3))
    for i, h in enumerate(hang):
        a = -math.pi / 2 + (i - (len(hang) - 1) / 2) * 0.6
        x, y, L = 0.06 * math.cos(a), -0.09 + 0.06 * math.sin(a), r.uniform(0.15, 0.4)
        if h == 'hook':
            g = [band([(0, 0, 0.02), (0.1, 0, 0.025), (0.16, 0.05, 0.025), (0.28, 0.05, 0.025), (0.32, 0, 0.025), (0.28, -0.05, 0.025), (0.17, -0.04, 0.02)],
                0.013, met, flat=1), ball(0.03, met, (0.09, 0, 0.03), 2)]
            o += move(g, x, y, rz=a)
        elif h == 'fob':
            g = r.choice([rounded(0.36, 0.2, 0.06), circle(0.17), smooth_outline([(-0.18, 0), (0, -0.1), (0.2, -0.12), (0.24, 0), (0.2, 0.12), (0, 0.1)])])
            f = move([slab(g, 0.03, r.choice([hide(r), wood(r), tint(r, C)])), ball(0.02, met, (-0.13, 0, 0.03), 2)], x=0.17)
            o += move(f, x, y, 0.01, rz=a)
        elif h == 'tassel':
            o += [tube([(x, y, 0.03), (x + L * 0.5 * math.cos(a), y + L * 0.5 * math.sin(a), 0.03)], 0.01, m, seg=6)] + tassel(r, x + L * 0.5 * math.cos(a),
                y + L * 0.5 * math.sin(a), 0.3, 0.07, tint(r, C), a)
        else:
            for _ in range(r.randint(1, 4)):
                w = wavy(r, x, y, L * r.uniform(0.8, 1.8), a + r.uniform(-0.25, 0.25), 0.1, 16, 0.02)
                o += string(r, C, w, 0.012, None, 'beads' if h == 'beads' else 'cord') + [ball(0.028, tint(r, C, ('gloss', 'wood')),
                    (w[-1][0], w[-1][1], 0.028), 2)]
    for t in r.sample(range(12, 50), r.randint(0, 3)):
        o.append(ball(s * 2, tint(r, C, ('gloss', 'wood', 'metal')), (p[t][0], p[t][1], s * 2), 3))
    return o


NAMES = 'backpack handbag apron collar headband hair_comb barrettes brooch feathers carnival_mask necktie shawl pompoms watch_strap'.split()
KINDS = {k: globals()['G_' + k] for k in NAMES}
LYING = set(NAMES) - {'backpack', 'handbag'}
