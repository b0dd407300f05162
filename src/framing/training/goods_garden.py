"""Fourteen kinds from the garden and the kitchen shelf: plants in pots with arms, stems, cords and blossoms; tools and vessels with handles and lids.

Each G_* takes a random.Random and a Col (products.py) and gives a list of objects of any size that stand on z = 0 or lie there.
"""

import math

import bpy  # noqa: F401 (gives mathutils)
import numpy as np
from mathutils import Matrix, Vector

from goods_parts import *
from goods_thin import arch, bow, ribbon, wavy

LEAF = [(0.25, 0.4, 0.22), (0.36, 0.5, 0.3), (0.5, 0.62, 0.48), (0.2, 0.32, 0.26), (0.55, 0.6, 0.35), (0.45, 0.58, 0.58), (0.62, 0.68, 0.6), (0.5, 0.4, 0.42)]
BARK = [(0.36, 0.25, 0.17), (0.5, 0.38, 0.26), (0.24, 0.18, 0.14), (0.6, 0.54, 0.46)]
BLOOM = [(0.93, 0.9, 0.88), (0.85, 0.35, 0.5), (0.9, 0.65, 0.72), (0.95, 0.78, 0.3), (0.85, 0.3, 0.2), (0.6, 0.4, 0.7), (0.95, 0.6, 0.35)]
WARE = ['gloss', 'matte', 'speckle', 'dip', 'metal', 'plaster', 'gloss']


def u3(a, el=0.0, s=1.0):
    return Vector((s * math.cos(a) * math.cos(el), s * math.sin(a) * math.cos(el), s * math.sin(el)))


def stuff(r, C, kinds=WARE, alt=False, prints=0.15):
    return print_mat(r, C.alt_c if alt else C.color, r.uniform(0.2, 0.7)) if r.random() < prints else C.mat(kinds, alt)


def towards(obs, at, d):
    """Turns what points along z towards d and puts it at a place."""
    xf(obs, Matrix.Translation(at) @ Vector(d).to_track_quat('Z', 'Y').to_matrix().to_4x4())
    return obs


def floor(obs, low=0.003, draw=1.0):
    """Presses what would hang under the ground onto it, drawn in towards the middle."""
    for o in obs:
        for v in o.data.vertices:
            if v.co.z < low:
                v.co = (v.co.x * draw, v.co.y * draw, low)
        o.data.update()
    return obs


def clear(r):
    """Thin clear glass that lets its contents be seen."""
    m = make_mat('gloss', (0.93, 0.96, 0.96), r)
    m.node_tree.nodes['Principled BSDF'].inputs['Alpha'].default_value = r.uniform(0.08, 0.3)
    return m


def facet(o):
    o.data.polygons.foreach_set('use_smooth', [False] * len(o.data.polygons))
    return o


def pipe(pts, rad, m, seg=10, n=6, ribs=0, depth=0.0, tip=False, flat=1.0):
    """A tube through the points that never twists, ribbed or with a round end if wanted."""
    P = resample(pts, n)
    rad = np.atleast_1d(np.array(rad, float))
    R = np.interp(np.linspace(0, 1, len(P)), np.linspace(0, 1, len(rad)), rad) if len(rad) > 1 else np.full(len(P), rad[0])
    T = np.gradient(P, axis=0)
    T /= np.linalg.norm(T, axis=1)[:, None] + 1e-9
    if tip:
        a = np.linspace(0.2, 1.5, 6)
        P, T = np.concatenate([P, P[-1] + np.outer(np.sin(a), T[-1]) * R[-1]]), np.concatenate([T, np.repeat(T[-1:], 6, 0)])
        R = np.concatenate([R, R[-1] * np.cos(a)])
    seg, V = ribs * 4 if ribs else seg, []
    b = np.cross(T[0], [0.31, 0.2, 0.93] if abs(T[0][2]) < 0.9 else [0.2, 1, 0.1])
    for p, t, q in zip(P, T, R):
        b = b - t * b.dot(t)
        b /= np.linalg.norm(b) + 1e-9
        c = np.cross(t, b)
        for k in range(seg):
            a = 2 * np.pi * k / seg
            s = q * (1 + depth * math.cos(ribs * a))
            V.append(p + s * (math.cos(a) * b + flat * math.sin(a) * c))
    F = [(i * seg + k, i * seg + (k + 1) % seg, (i + 1) * seg + (k + 1) % seg, (i + 1) * seg + k) for i in range(len(P) - 1) for k in range(seg)]
    F += [tuple(range(seg))[::-1], tuple(range((len(P) - 1) * seg, len(P) * seg))]
    return mesh('pipe', V, F, m, uvs=[(i % seg / seg, i // seg / len(P)) for i in range(len(V))])


def whorl(leaves, m, thick=0.25, p=1.0):
    """Leaves or petals as one mesh, each (azimuth, tilt, length, width over length, curl, place); thick over width."""
    V, F, t = [], [], np.linspace(0, 1, 8)
    for az, tilt, L, w, curl, at in leaves:
        a = tilt + curl * t
        x, z = np.cumsum(np.cos(a)) * L / 8 - math.cos(tilt) * L / 8, np.cumsum(np.sin(a)) * L / 8 - math.sin(tilt) * L / 8
        hw, b = w * L * np.sin(np.pi * (0.08 + 0.9 * t**p)) ** 0.8, len(V)
        for i in range(8):
            for k in range(6):
                c, s = math.cos(k * math.pi / 3), math.sin(k * math.pi / 3) * thick * hw[i]
                X, Y = x[i] - s * math.sin(a[i]), hw[i] * c
                V.append((at[0] + X * math.cos(az) - Y * math.sin(az), at[1] + X * math.sin(az) + Y * math.cos(az), at[2] + z[i] + s * math.cos(a[i])))
        F += [(b + i * 6 + k, b + i * 6 + (k + 1) % 6, b + i * 6 + 6 + (k + 1) % 6, b + i * 6 + 6 + k) for i in range(7) for k in range(6)]
        F.append(tuple(range(b + 42, b + 48)))
    return mesh('whorl', V, F, m)


def blossom(r, s, m, heart, n=None, tilt=None):
    """A flower that looks along z."""
    n, tilt, w = n or r.choice([4, 5, 5, 6, 8, 12]), r.uniform(0.1, 1.0) if tilt is None else tilt, r.uniform(0.28, 0.42)
    o = [whorl([(6.283 * i / n, tilt, s, w * min(1, 7 / n), r.uniform(-0.9, 0.1), (0, 0, 0)) for i in range(n)], m, 0.1, r.uniform(1, 1.7))]
    return o + [ball(s * r.uniform(0.14, 0.3), heart, (0, 0, s * 0.08), 2)]


def spines(r, obs, n, L, m):
    V, F = [], []
    for _ in range(n):
        v = r.choice(r.choice(obs).data.vertices)
        d, b = v.normal.normalized(), len(V)
        x = d.orthogonal().normalized() * L * 0.05
        y = d.cross(x)
        V += [v.co + x - d * L * 0.1, v.co - x * 0.5 + y - d * L * 0.1, v.co - x * 0.5 - y - d * L * 0.1, v.co
            + (d + x * r.uniform(-6, 6) + y * r.uniform(-6, 6)) * L * r.uniform(0.7, 1.2)]
        F += [(b, b + 1, b + 3), (b + 1, b + 2, b + 3), (b + 2, b, b + 3)]
    return mesh('spines', V, F, m, smooth=False)


def earth(r, R, z, seg=48, top=True):
    """What fills a pot: earth, moss or sand, with pebbles now and then."""
    m = make_mat(r.choice(['carpet', 'matte']), r.choice([(0.22, 0.15, 0.11), (0.35, 0.27, 0.2), (0.8, 0.74, 0.62), (0.4, 0.45, 0.25)]), r)
    o = [lathe([(0, z - 0.02), (R, z - 0.03), (R * 0.9, z + 0.01), (0, z + R * r.uniform(0, 0.15))], m, seg=seg)]
    if top and r.random() < 0.4:
        ms = [make_mat('matte', r.choice([(0.85, 0.83, 0.8), (0.5, 0.48, 0.46), (0.7, 0.6, 0.5), r.choice(PAL)]), r) for _ in range(2)]
        for _ in range(r.randint(8, 22)):
            a, q = r.uniform(0, 6.3), R * r.uniform(0.3, 0.85)
            o.append(blob(r.uniform(0.07, 0.13) * R, r.uniform(0.07, 0.13) * R, 0.06 * R, r.choice(ms),
                at=(q * math.cos(a), q * math.sin(a), z + 0.03 * R + 0.01), sub=1))
    return o


def pot(r, C, R, h):
    """A filled plant pot; (objects, height of the earth, its radius)."""
    m, form, seg = stuff(r, C, WARE + ['wood', 'knit', 'fabric']), r.choice(['collar', 'belly', 'tube', 'bowl', 'foot', 'facet']), 72
    if form == 'facet':
        form, seg = r.choice(['tube', 'collar', 'cone']), r.choice([4, 6, 8])
    k = {'collar': r.uniform(0.6, 0.8), 'tube': 1.0, 'cone': 0.5}.get(form, 0.7)
    side = {'collar': [(k * R, 0), (R * 0.92, h * 0.72), (R * 0.92, h * 0.72), (R * 1.04, h * 0.73)],
        'belly': [(R * 0.6, 0), (R * 1.25, h * 0.45), (R * 0.95, h * 0.92)],
            'tube': [(R * 0.96, 0), (R * 0.96, 0), (R, 0.02)], 'bowl': [(R * 0.4, 0), (R * 0.85, h * 0.4)], 'cone': [(R * 0.5, 0), (R * 0.5, 0)],
            'foot': [(R * 0.75, 0), (R * 0.45, h * 0.14), (R * 0.45, h * 0.2), (R * 0.9, h * 0.5)]}[form]
    body = lathe([(0, 0), *side, (R, h), (R, h), (R * 0.9, h), (R * 0.9, h), (R * 0.85, h * 0.8)], m, seg=seg, n=4, wob=0.02 if seg > 9 else 0, rng=r)
    o, z = [facet(body) if seg < 9 else body], h * 0.9
    g = 1.0 if seg > 9 else 0.72
    o += earth(r, R * 0.9 * (1 if seg > 9 else 1), z, seg, seg > 9)
    if r.random() < 0.3 and form in ('tube', 'collar') and seg > 9:
        band, c = C.mat(['fabric', 'gloss', 'paper', 'linen'], alt=True), R * (1.03 if form == 'tube' else 0.9)
        o += [hoop(c, r.uniform(0.02, 0.04) * R, band, h * (0.5 + 0.07 * i)) for i in range(r.randint(1, 4))]
    lift = r.random()
    if lift < 0.3:
        move(o, z=0.03)
        o.append(lathe([(0, 0.004), (R * 0.9, 0), (R * 1.3, 0.09), (R * 1.25, 0.1), (R * 0.9, 0.03), (0, 0.03)], stuff(r, C, alt=r.random() < 0.5)))
        z += 0.03
    elif lift < 0.5 and form != 'foot':
        f = r.uniform(0.05, 0.22)
        move(o, z=f)
        leg, n = r.choice([wood(r), C.mat(['gloss', 'metal'], alt=True)]), r.choice([3, 4])
        o += [pipe([u3(6.28 * i / n, 0, R * 0.55 * r.uniform(1.0, 1.5)), u3(6.28 * i / n, 0, R * 0.38) + Vector((0, 0, f + 0.03))], [0.025, 0.04], leg)
            for i in range(n)]
        z += f
    return o, z, R * 0.82 * g


def ribball(r, R, h, m):
    p = [(0, 0)] + [(R * math.cos(t), h * (0.5 + 0.5 * math.sin(t))) for t in np.linspace(-1.3, 1.25, 9)] + [(R * 0.12, h * 0.97), (0, h * 0.93)]
    return lathe(p, m, n=2, flute=r.choice([9, 12, 16]), fdepth=r.uniform(0.05, 0.2), seg=96)


def column(r, R, z, m, way):
    body, tips, el = [], [], Vector((0, 0, 1))
    H, q, ribs, lean = r.uniform(0.5, 1.4), R * r.uniform(0.3, 0.5), r.choice([7, 9, 12]), r.uniform(-0.12, 0.12)
    d = r.uniform(0.03, 0.12)
    body.append(pipe([(0, 0, z - 0.04), (lean, 0, z + H * 0.5), (lean * 2, 0, z + H)], [q * 0.8, q, q * 0.9], m, ribs=ribs, depth=d, tip=True))
    tips.append((Vector((lean * 2, 0, z + H + q * 0.85)), el))
    a0 = r.uniform(0, 6)
    for i in range(r.choice([0, 1, 2, 2, 3, 4])):
        a, zz, w, up = a0 + i * math.pi * r.uniform(0.8, 1.2), z + H * r.uniform(0.25, 0.6), q * r.uniform(0.45, 0.75), H * r.uniform(0.15, 0.5)
        e = u3(a, 0, q + w * r.uniform(1.5, 2.6)) + Vector((lean, 0, zz + 0.02))
        body.append(pipe([(lean, 0, zz), e - u3(a, 0, w * 0.4), e + u3(a, 0, w * 0.2) + el * w, e + el * (w + up)], w, m, ribs=ribs, depth=d, tip=True))
        tips.append((e + el * (w * 1.8 + up), el))
    return body, tips


def paddles(r, R, z, m, way):
    body, tips = [], []
    todo = [(Vector((R * x, 0, z - 0.03)), r.uniform(-0.3, 0.3) + x, R * r.uniform(1.3, 2.2), 0) for x in r.choice([(0,), (0,), (-0.4, 0.4)])]
    while todo:
        b, lean, L, k = todo.pop()
        d = Vector((math.sin(lean), r.uniform(-0.25, 0.25), math.cos(lean))).normalized()
        body += towards([blob(L * r.uniform(0.3, 0.42), L * 0.12, L * 0.55, m, at=(0, 0, L * 0.5), sub=3)], b, d)
        xf(body[-1:], Matrix.Translation(b) @ Matrix.Rotation(r.uniform(-0.5, 0.5), 4, d) @ Matrix.Translation(-b))
        tips += [(b + d * L, d)]
        todo += [(b + d * L * 0.94 + Vector((s * L * 0.16, 0, 0)), lean + s * r.uniform(0.3, 0.8), L * r.uniform(0.55, 0.8), k + 1)
            for s in r.choice([(1,), (-1,), (-1, 1), (-1, 1)])] if k < r.choice([1, 2, 2]) else []
    return body, tips


def balls(r, R, z, m, way):
    body, tips, el = [], [], Vector((0, 0, 1))
    for i in range(1 if way == 'balls' else r.randint(3, 6)):
        q, a = R * (r.uniform(0.7, 1.05) if way == 'balls' else r.uniform(0.25, 0.48)), i * 1.3 + r.uniform(0, 0.3)
        h, p = q * (r.uniform(1.4, 2.4) if way == 'balls' else r.uniform(1.6, 5)), u3(a, 0, 0 if i == 0 else R * 0.58)
        body += move([ribball(r, q * 0.9, h, m)], p.x, p.y, z - 0.03, ry=r.uniform(-0.15, 0.15))
        tips.append((p + el * (z + h * 0.93 - 0.03), el))
    return body, tips


def G_cactus(r, C):
    o, z, R = pot(r, C, r.uniform(0.2, 0.4), r.uniform(0.2, 0.5))
    m = make_mat(r.choice(['matte', 'fabric', 'carpet', 'gloss', 'speckle', 'wood']), r.choice(LEAF * 2 + [C.alt_c]), r)
    way = r.choice(['column', 'column', 'paddle', 'balls', 'group'])
    body, tips = {'column': column, 'paddle': paddles}.get(way, balls)(r, R, z, m, way)
    if r.random() < 0.65:
        o.append(spines(r, body, r.randint(80, 300), r.uniform(0.04, 0.1), make_mat('matte', r.choice([(0.93, 0.9, 0.8), (0.3, 0.2, 0.15), (0.8, 0.6, 0.3)]),
            r)))
    pm, hm, s = make_mat(r.choice(['fabric', 'matte', 'gloss']), r.choice(BLOOM + [C.alt_c]), r), make_mat('matte', r.choice(BLOOM), r), r.uniform(0.08, 0.2)
    for p, d in tips if r.random() < 0.75 else ():
        o += towards(blossom(r, s, pm, hm, r.choice([6, 8, 12])), p - d * 0.015, d + u3(r.uniform(0, 6), 0, 0.2)) if r.random() < 0.8 else []
    return o + body


def rosette(r, R, m, form):
    """One small succulent that grows along z."""
    if form == 'rose':
        n, w, th = r.randint(14, 30), r.uniform(0.2, 0.32), r.uniform(0.3, 0.6)
        return [whorl([(2.4 * i, 0.1 + 1.25 * i / n, R * (1 - 0.6 * i / n), w, r.uniform(0.1, 0.5), (0, 0, 0.02)) for i in range(n)], m, th,
            r.uniform(1.0, 1.6))]
    if form == 'spike':
        n = r.randint(9, 20)
        return [whorl([(2.4 * i, r.uniform(0.3, 1.4), R * r.uniform(1.2, 2.2), r.uniform(0.06, 0.1), r.uniform(-0.3, 0.3), (0, 0, 0)) for i in range(n)], m,
            0.4, 0.7)]
    if form == 'jade':
        o = []
        for i in range(r.randint(3, 6)):
            d = u3(2.4 * i, r.uniform(0.7, 1.4), R * r.uniform(1.2, 2.4))
            o += [pipe([(0, 0, -0.02), d * 0.5, d], R * 0.07, m, seg=6), whorl([(2.1 * j, 0.5, R * 0.5, 0.35, 0.2, d * (0.4 + 0.1 * j)) for j in range(7)], m,
                0.4, 1.3)]
        return o
    if form == 'ball':
        return [ribball(r, R * 0.75, R * r.uniform(1.0, 2.2), m)]
    if form == 'beads':
        return [blob(q, q, q, m, at=(u3(2.4 * i, 0, R * 0.2 * math.sqrt(i)) + Vector((0, 0, q * 0.6))), sub=2) for i,
            q in ((i, R * r.uniform(0.16, 0.28)) for i in range(16))]
    return [whorl([(2.4 * i, r.uniform(0.8, 1.5), R * r.uniform(0.8, 1.5), 0.05, r.uniform(-1.2, 0), u3(2.4 * i, 0, R * 0.3 * r.random()))
        for i in range(30)], m, 0.5)]


def G_succulents(r, C):
    """Several in a trough, a bowl, a log or a ring."""
    form, m, o = r.choice(['trough', 'bowl', 'log', 'crate', 'dish', 'ring']), stuff(r, C, WARE + ['wood', 'slate']), []
    w, d, h = r.uniform(0.5, 0.8), r.uniform(0.16, 0.3), r.uniform(0.1, 0.35)
    if form in ('bowl', 'dish'):
        w = d = r.uniform(0.3, 0.5)
        o.append(lathe([(0, 0), (w * 0.5, 0), (w * 0.95, h * 0.5), (w, h), (w, h), (w * 0.94, h), (w * 0.9, h * 0.7), (0, h * 0.6)], m))
        o += earth(r, w * 0.92, h * 0.85)
    elif form == 'ring':
        w = d = r.uniform(0.35, 0.55)
        q, h = r.uniform(0.08, 0.14), 0.17
        o += [hoop(w, q, pattern_mat('wicker', r.randint(0, 10**6), 0.3)[0] if r.random() < 0.5 else make_mat('carpet', r.choice(BARK + LEAF), r), q)]
    elif form == 'log':
        o += [pipe([(-w, r.uniform(-0.05, 0.05), d * 0.7), (0, 0, d * 0.75), (w, r.uniform(-0.05, 0.05), d * 0.7)], [d * 0.65, d * 0.75, d * 0.6],
            make_mat('wood', r.choice(BARK), r), ribs=7, depth=0.05)]
        o += [slab(circle(w * 0.75, 40, ry=d * 0.45), 0.04, make_mat('carpet', r.choice(LEAF + BARK), r), z=d * 1.36)]
        h = d * 1.45
    else:
        box = [(w, 0, w * 2, 0.04, d), (w, 0, w * 2, 0.04, -d), (w, 1, d * 2, 0.04, w), (w, 1, d * 2, 0.04, -w)]
        for _, side, L, t, at in box:
            o += move([rbox(L + 0.04, t, h, 0.008, m, 2)], y=0 if side else at, x=at if side else 0, rz=math.pi / 2 if side else 0)
        o += move([rbox(w * 2, d * 2, h * 0.8, 0.01, make_mat('carpet', (0.25, 0.18, 0.13), r), 2)], z=0.005)
        for s in (-1, 1) if r.random() < 0.5 else ():
            o.append(pipe([(s * w, -d * 0.5, h * 0.7), (s * (w + 0.12), -d * 0.4, h * 0.75), (s * (w + 0.12), d * 0.4, h * 0.75), (s * w, d * 0.5, h * 0.7)],
                0.014, r.choice([wire(r), C.mat(['fabric'], alt=True)])))
    return floor(o + planted(r, C, form, w, d, h))


def planted(r, C, form, w, d, h):
    o, n = [], r.randint(3, 8)
    forms = r.sample(['rose', 'rose', 'spike', 'jade', 'ball', 'beads', 'grass'], r.randint(1, 4))
    for i in range(n):
        if form in ('bowl', 'dish', 'ring'):
            p = u3(6.283 * i / n + r.uniform(-0.2, 0.2), 0, w if form == 'ring' else w * 0.5 * r.uniform(0.7, 1.15))
            s = min(0.3, w * r.uniform(1.6, 2.6) / n) if form == 'ring' else w * r.uniform(0.35, 0.6)
        else:
            p, s = Vector((w * 0.85 * (2 * (i + 0.5) / n - 1), r.uniform(-0.3, 0.3) * d, 0)), min(0.28, w * r.uniform(0.8, 1.4) / n + 0.08)
        m = make_mat(r.choice(['matte', 'gloss', 'fabric', 'matte', 'carpet']), r.choice(LEAF * 2 + [C.alt_c, (0.6, 0.35, 0.4)]), r)
        o += move(rosette(r, s, m, r.choice(forms)), p.x, p.y, h * 0.88 + 0.01, ry=r.uniform(-0.25, 0.25), rx=r.uniform(-0.25, 0.25))
        if r.random() < 0.25:
            q = Vector((p.x + r.uniform(-0.1, 0.1), p.y, h + s * r.uniform(1.4, 2.6)))
            o += [pipe([(p.x, p.y, h * 0.85), (p.x, p.y, h + s), q], 0.008, m, seg=6)] + towards(blossom(r, s * 0.35, make_mat('matte', r.choice(BLOOM), r), m),
                q, u3(r.uniform(0, 6), 0.8))
    for _ in range(r.choice([0, 0, 0, 3, 6])):
        a, m = r.uniform(0, 6.3), make_mat('gloss', r.choice(LEAF), r)
        x, y, g = w * 0.98 * math.cos(a), d * math.sin(a), r.uniform(0.06, 0.2)
        p = resample([(x * 0.8, y * 0.8, h), (x * 1.08, y * 1.15, h + 0.03), (x * 1.15, y * 1.3, h * 0.5), (x * 1.2 + g, y * 1.4, 0.02)], 6)
        o += [pipe(p[::6], 0.006, m, seg=5)] + [ball(r.uniform(0.02, 0.035), m, q, 2) for q in p[3::2]]
    return o


def spray(r, C, a, z, green, pm, lip, stake):
    """An arching stem with blossoms and buds, from the height z towards a."""
    H, d, o = r.uniform(0.7, 1.3), r.uniform(0.3, 0.75), []
    f, b, up = u3(a), u3(a + 1.57, 0, r.uniform(-0.12, 0.12)), Vector((0, 0, 1))
    p = resample([up * (z - 0.03), f * 0.05 + up * (z + H * 0.55), f * 0.14 + b * 0.4 + up * (z + H * 0.92), f * d * 0.6 + b + up * (z + H), f * d + b
        + up * (z + H * r.uniform(0.6, 0.9))], 8)
    o.append(pipe(p[::4], [0.016, 0.012, 0.008], r.choice([green, make_mat('matte', (0.4, 0.3, 0.22), r)]), seg=7))
    k, first, s = r.randint(4, 10), r.uniform(0.42, 0.6), r.uniform(0.1, 0.2)
    for j in range(k):
        c, side, g = Vector(p[int((first + (1 - first) * j / k) * 32)]), (1 if j % 2 else -1) * 0.8, s * (1.15 - 0.5 * j / k)
        e = c + u3(a + 1.57, r.uniform(-0.4, 0.3), side * s * 0.7)
        o.append(pipe([c, e], 0.006, green, seg=5))
        if j > k - r.choice([1, 2, 3]) - 1:
            o.append(blob(g * 0.3, g * 0.3, g * 0.42, pm, at=e, sub=2))
        else:
            fl = blossom(r, g, pm, lip, r.choice([5, 5, 6]), 0.1)
            fl.append(whorl([(0.2, 0.6, g * 0.6, 0.4, -1.2, (0, 0, 0.01))], lip, 0.4))
            o += towards(fl, e, u3(a + side * 0.8, r.uniform(-0.3, 0.3)))
    if stake:
        top = f * 0.1 + b * 0.2 + up * (z + H * r.uniform(0.8, 1.05))
        o += [pipe([f * 0.03 + up * (z - 0.05), top], 0.011, r.choice([wood(r), wire(r)]), seg=6),
            ball(0.022, C.mat(['gloss'], alt=True), Vector(p[14]), 2)]
    return o


def G_orchid(r, C):
    R, o = r.uniform(0.18, 0.3), []
    o, z, q = pot(r, C, R, r.uniform(0.22, 0.45))
    green, pm, lip = make_mat(r.choice(['gloss', 'matte', 'fabric']), r.choice(LEAF[:5]), r), make_mat(r.choice(['matte', 'fabric', 'paper']),
        r.choice(BLOOM + [C.alt_c]), r), make_mat('matte', r.choice(BLOOM), r)
    o.append(whorl([(i * math.pi + r.uniform(-0.6, 0.6), r.uniform(0.4, 1.1), R * r.uniform(1.6, 3.2), r.uniform(0.12, 0.22), -r.uniform(0.6, 1.8),
        (0, 0, z)) for i in range(r.randint(3, 7))], green, 0.12))
    a0, stake, n = r.uniform(0, 6.3), r.random() < 0.55, r.choice([1, 1, 2, 2, 3])
    for i in range(n):
        o += spray(r, C, a0 + i * (6.28 / n) + r.uniform(-0.4, 0.4), z, green, pm, lip, stake)
    for _ in range(r.choice([0, 2, 4])):
        f = u3(r.uniform(0, 6.3), 0, R)
        o.append(pipe([f * 0.3 + Vector((0, 0, z)), f * 0.8 + Vector((0, 0, z + 0.12)), f * 1.2 + Vector((0, 0, z - 0.02)), f * r.uniform(1.3, 1.6)
            + Vector((0, 0, z * 0.5))], 0.01, make_mat('matte', (0.7, 0.72, 0.62), r), seg=6, tip=True))
    return floor(o)


def foliage(r, C, R, z, reach):
    """Leaves that grow out of a pot of radius R: ferns, vines, spikes or round leaves on stalks."""
    o, ms = [], [make_mat(r.choice(['matte', 'gloss', 'fabric']), r.choice(LEAF), r) for _ in range(2)]
    way = r.choice(['fern', 'vine', 'vine', 'round', 'spike'])
    if way in ('fern', 'spike'):
        for m in ms:
            o.append(whorl([(r.uniform(0, 6.3), r.uniform(0.5, 1.5), reach * r.uniform(0.5, 1.1), r.uniform(0.025, 0.07),
                -r.uniform(0.7, 2.4) * (way == 'fern'), u3(r.uniform(0, 6), 0, R * 0.3) + Vector((0, 0, z - 0.02))) for _ in range(r.randint(8, 18))], m, 0.15))
    for i in range(r.randint(5, 10) if way in ('vine', 'round') else 0):
        a, m, L = 2.4 * i + r.uniform(-0.3, 0.3), ms[i % 2], reach * r.uniform(0.4, 1.1)
        if way == 'vine':
            p = resample([u3(a, 0, R * 0.4) + Vector((0, 0, z - 0.03)), u3(a, 0, R * 0.9) + Vector((0, 0, z + 0.16)), u3(a, 0, R * 1.35)
                + Vector((0, 0, z - L * 0.3)), u3(a + r.uniform(-0.4, 0.4), 0, R * r.uniform(1.2, 1.6)) + Vector((0, 0, z - L))], 6)
            o += [pipe(p[::6], 0.008, m, seg=5), whorl([(a + r.uniform(-1.4, 1.4), r.uniform(-0.7, 0.5), reach * r.uniform(0.12, 0.2), r.uniform(0.28, 0.45),
                -0.4, q) for q in p[2::2]], m, 0.1, r.uniform(0.7, 1.2))]
        else:
            e = u3(a, r.uniform(0.5, 1.4), L) + Vector((0, 0, z))
            o += [pipe([u3(a, 0, R * 0.2) + Vector((0, 0, z - 0.03)), u3(a, 0, R * 0.3) + Vector((0, 0, z + L * 0.5)), e], 0.009, m,
                seg=5)] + towards([blob(reach * 0.17, reach * 0.17, 0.012, m, sub=2)], e, u3(a, r.uniform(0.2, 1.2)))
    return o


def tassel(r, at, d, L, m, n=22, spread=0.25):
    d = Vector(d).normalized()
    o = [ball(L * 0.12, m, at, 2)]
    for _ in range(n):
        v = Vector([r.uniform(-1, 1) for _ in range(3)])
        o.append(pipe([Vector(at), Vector(at) + d * L * 0.4 + v * L * spread * 0.4, Vector(at) + d * L * r.uniform(0.9, 1.05) + v * L * spread * 0.7],
            L * 0.02, m, seg=4, n=2))
    return o


def netted(r, C, R, h, H):
    """A pot in its net with the cords drawn up to a ring at height H."""
    cord, q, n, k = C.mat(['fabric', 'linen', 'gloss', 'fabric'], alt=True), r.uniform(0.01, 0.022), r.choice([3, 4, 4, 5, 6]), r.choice([0.7, 1.0, 1.25])
    zs, Rs = [0, 0.02, h * 0.5, h], [R * 0.5, R * 0.68, R * (0.85 if k < 1 else k), R]
    o = [lathe([(0, 0.02), (Rs[1], 0.02), (Rs[1], 0.02), (Rs[2], h * 0.5), (R, h), (R, h), (R * 0.9, h), (R * 0.85, h * 0.8), (0, h * 0.75)], stuff(r, C),
        n=5)] + earth(r, R * 0.88, h * 0.88, top=False)
    knots, style = [], r.choice(['net', 'net', 'plain', 'twist'])
    for i in range(n):
        for s in (-1, 1):
            a, half = 6.283 * i / n, math.pi / n * s
            key = {'net': [(a, 0), (a, 0.02), (a, h * 0.3), (a + half, h * 0.7), (a + half * 0.85, h * 0.85), (a, h * 1.3)],
                'plain': [(a + half * 0.25, 0), (a + half * 0.25, h), (a, h * 1.2)],
                'twist': [(a, 0), (a + 4 * half * 0.6, h), (a + 4 * half * 0.6, h * 1.2)]}[style]
            t = np.linspace(0, 1, 16)
            A, Z = (np.interp(t, np.linspace(0, 1, len(key)), [x[j] for x in key]) for j in (0, 1))
            p = [(0, 0, q)] + [u3(b, 0, np.interp(min(z, h), zs, Rs) * (1 if z <= h else max(0.0, 1 - (z - h) / (H - h))) + q * 0.7) + Vector((0, 0, z + q))
                for b, z in zip(A, Z)]
            o.append(pipe(p + [(s * q * 0.5, 0, H)], q, cord, seg=6, n=2))
            knots += [p[6], p[-1]] if style != 'plain' else [p[-1]]
    o += [ball(q * r.uniform(1.7, 2.6), r.choice([cord, wood(r)]), x, 2) for x in knots] if r.random() < 0.8 else []
    o += [pipe([(0, 0, H - 0.1), (0, 0, H + 0.02)], q * 2.6, cord, seg=8)] + [ball(q * 3, wood(r), (0, 0, H - 0.05), 2)][: r.randint(0, 1)]
    g = r.uniform(0.05, 0.11)
    o += move([hoop(g, r.uniform(0.01, 0.018), r.choice([cord, wood(r), wire(r)]))], z=H + g, rx=math.pi / 2, rz=r.uniform(0, 3))
    return o + foliage(r, C, R * 0.8, h * 0.9, r.uniform(0.3, 0.7)) if r.random() < 0.8 else o, cord


def G_hanging_pot(r, C):
    R, h = r.uniform(0.2, 0.34), r.uniform(0.22, 0.5)
    H = h + r.uniform(0.5, 1.2)
    o, cord = netted(r, C, R, h, H)
    way, L, wood_ = r.choice(['hung', 'stands', 'laid', 'laid']), r.uniform(0.2, 0.5), wood(r)
    if way == 'hung':
        o += tassel(r, (0, 0, -0.02), (0, 0, -1), L, cord)
        move(o, z=L + r.uniform(0.12, 0.3))
        x, top, m = r.uniform(0.45, 0.65), verts_of(o)[:, 2].max(), r.choice([wood_, wire(r), C.mat(['matte', 'gloss'])])
        o += [cyl(r.uniform(0.25, 0.4), 0.05, m), pipe([(x, 0, 0.03), (x, 0, top * 0.6), (x, 0, top * 0.85), (x * 0.75, 0, top + 0.1),
            (x * 0.2, 0, top + 0.12), (-0.02, 0, top + 0.02), (0, 0, top - 0.025), (0.05, 0, top - 0.02)], r.uniform(0.014, 0.03), m)]
        move(o[-2:-1], x=x * 0.8)
    elif way == 'stands':
        if r.random() < 0.7:
            a = r.uniform(0, 6.3)
            o += [pipe([(0, 0, 0.012), u3(a, 0, R * 0.9) + Vector((0, 0, 0.012))], 0.014, cord), *tassel(r, u3(a, 0, R) + Vector((0, 0, 0.03)), u3(a), L, cord)]
    else:
        o += tassel(r, (0, 0, -0.03), (0, 0, -1), L, cord) if r.random() < 0.8 else []
        move(o, rx=-math.pi / 2, z=R)
        for b in o:
            for v in b.data.vertices:
                t = min(1, max(0, (v.co.y - h * 1.05) / (H - h) * 1.1, (0.05 - v.co.y) / 0.35))
                f = t * t * (3 - 2 * t)
                v.co.z = v.co.z - f * (R - 0.03)
                v.co.x += f * 0.12 * math.sin(3 * v.co.y + R * 40)
    return floor(o)


def crown(r, C, c, s, way, m, m2):
    """One pad of a tree's foliage at c."""
    if way == 'pad':
        return [blob(s, s * r.uniform(0.7, 1.0), s * r.uniform(0.3, 0.5), m, r.uniform(0.25, 0.6), 3.5, 4, r.uniform(0, 9), c)]
    if way == 'ball':
        return [blob(s * 0.75, s * 0.75, s * 0.75, m, 0.1, 3, 3, r.uniform(0, 9), c)]
    v = [Vector(c) + Vector((r.gauss(0, 0.5), r.gauss(0, 0.5), r.gauss(0, 0.25))) * s for _ in range(r.randint(14, 26))]
    if way == 'leaves':
        return [whorl([(r.uniform(0, 6.3), r.uniform(-0.5, 0.9), s * r.uniform(0.35, 0.6), 0.3, -0.5, c + (p - c) * 0.6) for p in v], m, 0.1),
            blob(s * 0.3, s * 0.3, s * 0.2, m, at=c, sub=2)]
    return [blob(s * 0.62, s * 0.62, s * 0.3, m, 0.4, 3, 3, 1, c)] + [ball(s * r.uniform(0.1, 0.2), r.choice([m, m2, m2]), c + (p - c) * 0.75, 1) for p in v]


def dish(r, C):
    """What a little tree stands on; (objects, height of its ground)."""
    w, k, h, form = r.uniform(0.35, 0.6), r.uniform(0.55, 1.0), r.uniform(0.07, 0.2), r.choice(['oval', 'box', 'slice', 'stone', 'bowl'])
    m, o = stuff(r, C, WARE + ['slate', 'wood', 'marble']), []
    if form in ('oval', 'bowl'):
        o += [lathe([(0, 0), (w * 0.8, 0), (w * 0.9, h * 0.6), (w, h), (w, h), (w * 0.93, h), (w * 0.9, h * 0.7)], m)] + earth(r, w * 0.92, h * 0.88)
        xf(o, Matrix.Diagonal((1, k, 1, 1)))
    elif form == 'box':
        o += move([rbox(w * 2, w * 1.3 * k, h, 0.02, m, 3), *move([rbox(w * 1.9, w * 1.2 * k, 0.02, 0.008, make_mat('carpet', r.choice(LEAF + BARK), r), 2)],
            z=h - 0.008)], z=0.04)
        o += [cyl(0.05, 0.05, m) for _ in range(4)]
        [move([b], x=sx * w * 0.8, y=sy * w * 0.45 * k) for b, (sx, sy) in zip(o[-4:], ((1, 1), (1, -1), (-1, 1), (-1, -1)))]
        h += 0.04
    elif form == 'slice':
        o += [slab(smooth_outline([tuple(u3(i * 0.785, 0, w * r.uniform(0.75, 1.0)))[:2] for i in range(8)]), h * 0.6, wood(r),
            side=make_mat('carpet', r.choice(BARK), r))]
        h *= 0.6
    else:
        o += [blob(w, w * k, h * 1.5, make_mat('slate', r.choice([(0.5, 0.5, 0.5), (0.65, 0.6, 0.52), (0.3, 0.3, 0.33)]), r), 0.3, 2, 4, r.uniform(0, 9))]
        o = floor(o, draw=0.8)
        h *= 1.3
    return o, h


def G_bonsai(r, C):
    """A little tree on a dish, a slice of wood or a stone."""
    bm = r.choice([make_mat(r.choice(['matte', 'wood']), r.choice(BARK), r), wire(r)])
    o, h = dish(r, C)
    H, s, lean = r.uniform(0.5, 1.1), r.choice([-1, 1]), r.uniform(0, 0.35)
    up, q = Vector((0, 0, 1)), r.uniform(0.035, 0.08)
    t = resample([(0, 0, h - 0.06), (s * 0.1, 0.02, h + H * 0.22), (-s * r.uniform(0, 0.2), r.uniform(-0.1, 0.1), h + H * 0.5),
        (s * lean, r.uniform(-0.1, 0.1), h + H * 0.75), (s * lean * 1.6, 0, h + H)], 8)
    o += [pipe(t[::4], [q * 1.8, q * 1.1, q * 0.8, q * 0.3], bm, ribs=5, depth=r.uniform(0, 0.15))]
    o += [pipe([t[1], u3(i * 2.1, 0, q * 2) + up * (h + 0.03), u3(i * 2.1, 0, q * r.uniform(3, 5)) + up * (h - 0.03)], [q * 0.7, q * 0.5, q * 0.2], bm,
        seg=7) for i in range(r.randint(2, 5))]
    way = r.choice(['pad', 'pad', 'ball', 'leaves', 'bloom'])
    fm, fm2 = make_mat(r.choice(['carpet', 'carpet', 'matte', 'fabric']), r.choice(LEAF + [(0.6, 0.25, 0.2), C.alt_c]), r), make_mat('matte', r.choice(BLOOM),
        r)
    S = r.uniform(0.16, 0.3)
    o += crown(r, C, Vector(t[-1]) + up * S * 0.1, S, way, fm, fm2)
    for i in range(r.randint(2, 6)):
        b, a = Vector(t[int(r.uniform(0.35, 0.9) * 32)]), i * math.pi + r.uniform(-0.9, 0.9)
        e = b + u3(a, r.uniform(-0.35, 0.4), r.uniform(0.22, 0.5))
        o += [pipe([b, b * 0.5 + e * 0.5 + up * r.uniform(-0.03, 0.07), e], [q * 0.5, q * 0.2], bm, seg=7)] + crown(r, C, e + up * 0.01,
            S * r.uniform(0.6, 0.95), way, fm, fm2)
    return floor(o)


def toadstool(r, C, H, R, m, stem, dot):
    """One toadstool that grows along z."""
    k, q, w = r.choice(['dome', 'flat', 'cone', 'bell']), R * r.uniform(0.16, 0.42), R * r.uniform(-0.5, 0.5)
    d = R * {'dome': r.uniform(0.6, 0.9), 'flat': r.uniform(0.3, 0.45), 'cone': r.uniform(0.9, 1.5), 'bell': r.uniform(1.0, 1.3)}[k]
    mid = {'dome': (R * 0.8, 0.65), 'flat': (R * 0.75, 0.8), 'cone': (R * 0.5, 0.5), 'bell': (R * 0.62, 0.7)}[k]
    cap = [lathe([(q * 0.5, d * 0.12), (R * 0.85, -0.02 * R), (R, 0.03 * R), (mid[0], d * mid[1]), (R * 0.25, d * 0.97), (0, d)], m, n=6, wob=0.04, rng=r)]
    if r.random() < 0.7:
        for _ in range(r.randint(5, 14)):
            v = r.choice(cap[0].data.vertices[72 * 14 :])
            cap += towards([blob(s, s, s * 0.35, dot, sub=2) for s in [R * r.uniform(0.07, 0.17)]], v.co, v.normal)
    if r.random() < 0.5:
        cap.append(lathe([(R * 0.86, -0.012 * R), (q, d * 0.1)], stem, n=3, seg=96, flute=24, fdepth=0.02))
    top = Vector((w, 0, H))
    o = [pipe([(0, 0, -0.03), (w * 0.2, 0, H * 0.4), top + Vector((0, 0, d * 0.1))], [q * r.uniform(1, 2), q, q * 0.85], stem, seg=16)]
    if r.random() < 0.35:
        o += move([lathe([(q * 0.9, 0.12 * R), (q * 1.3, 0.06 * R), (q * 2.2, -0.1 * R)], stem, n=4, flute=9, fdepth=0.12)], x=w * 0.5, z=H * 0.66)
    return o + towards(cap, top, Vector((w * 0.5, r.uniform(-0.15, 0.15), 1)))


def G_toadstools(r, C):
    form, R, o, h = r.choice(['slice', 'moss', 'dish', 'pot', 'stone', 'spool']), r.uniform(0.32, 0.5), [], r.uniform(0.06, 0.16)
    if form == 'pot':
        o, h, R = pot(r, C, R * 0.8, r.uniform(0.2, 0.4))
    elif form == 'moss':
        o += floor([blob(R, R * r.uniform(0.7, 1), h * 1.6, make_mat('carpet', r.choice(LEAF), r), 0.25, 2.5, 4, r.uniform(0, 9), (0, 0, 0.02))], draw=0.8)
    elif form == 'stone':
        o += floor([blob(R, R * 0.75, h * 1.4, make_mat('slate', r.choice([(0.5, 0.5, 0.48), (0.7, 0.66, 0.6)]), r), 0.15, 2, 4, r.uniform(0, 9),
            (0, 0, 0.02))], draw=0.8)
    elif form == 'slice':
        o += [slab(smooth_outline([tuple(u3(i * 0.785, 0, R * r.uniform(0.8, 1.05)))[:2] for i in range(8)]), h, wood(r),
            side=make_mat('carpet', r.choice(BARK), r))]
    else:
        o += [cyl(R, h, stuff(r, C))] if form == 'spool' else [lathe([(0, 0), (R * 0.6, 0), (R * 1.1, h), (R * 1.05, h), (R * 0.6, h * 0.4), (0, h * 0.4)],
            stuff(r, C))]
        h *= 1 if form == 'spool' else 0.45
    m, stem, dot = stuff(r, C, ['gloss', 'matte', 'fabric', 'carpet', 'knit', 'wood', 'speckle'], prints=0.25), stuff(r, C, ['matte', 'wood', 'fabric'], True,
        0.1), make_mat(r.choice(['matte', 'gloss']), (0.95, 0.93, 0.88), r)
    stem = stem if r.random() < 0.35 else make_mat(r.choice(['matte', 'gloss', 'fabric']), r.choice([(0.93, 0.9, 0.82), (0.8, 0.7, 0.58)]), r)
    n = r.choice([1, 2, 3, 3, 4, 5, 7])
    for i in range(n):
        p = u3(2.4 * i, 0, 0 if n == 1 else R * 0.78 * math.sqrt((i + 0.3) / n))
        g = m if r.random() < 0.7 else stuff(r, C, alt=True)
        o += move(toadstool(r, C, r.uniform(0.25, 0.9) * (1 if i == 0 else 0.75), R * r.uniform(0.3, 0.6) * (1.3 if n < 3 else 0.95 if n < 5 else 0.7), g,
            stem, dot), p.x, p.y, h, rz=2.4 * i + r.uniform(-0.6, 0.6))
    gm = make_mat('matte', r.choice(LEAF), r)
    for _ in range(r.choice([0, 2, 4, 7])):
        p = u3(r.uniform(0, 6.3), 0, R * r.uniform(0.4, 0.75)) + Vector((0, 0, h - 0.02))
        o.append(whorl([(r.uniform(0, 6.3), r.uniform(0.8, 1.4), r.uniform(0.2, 0.45), 0.05, -r.uniform(0, 0.9), p) for _ in range(5)], gm, 0.2))
    return floor(o)


def shape(r, k, s):
    """A flat outline of size s."""
    if k == 'star':
        n = r.choice([5, 5, 6, 8])
        return [(s * (1 if j % 2 else 0.5) * math.sin(-j * math.pi / n), s * (1 if j % 2 else 0.5) * math.cos(j * math.pi / n)) for j in range(2 * n)]
    if k == 'heart':
        return [(s * 0.062 * 16 * math.sin(t) ** 3, s * 0.065 * (13 * math.cos(t) - 5 * math.cos(2 * t) - 2 * math.cos(3 * t) - math.cos(4 * t)))
            for t in np.linspace(6.28, 0, 40, endpoint=False)]
    if k == 'house':
        return [(-s * 0.7, -s * 0.8), (s * 0.7, -s * 0.8), (s * 0.7, s * 0.2), (0, s), (-s * 0.7, s * 0.2)]
    if k == 'bird':
        return smooth_outline([(s * x, s * y) for x, y in ((0.2, -0.5), (0.7, -0.1), (0.75, 0.3), (1.1, 0.4), (0.75, 0.55), (0.5, 0.65), (0.25, 0.4),
            (-0.3, 0.25), (-1.2, 0.45), (-0.9, 0.0), (-0.4, -0.4))])
    return rounded(s * r.uniform(1.0, 2.4), s * r.uniform(0.8, 1.2), s * 0.2)


def topper(r, C, k, s, green):
    """What sits at the end of a stake: lying, its foot at the origin, its head towards +y."""
    m, d = stuff(r, C, ['gloss', 'matte', 'wood', 'fabric', 'metal', 'carpet'], r.random() < 0.4, 0.3), r.uniform(0.02, 0.07)
    if k in ('star', 'heart', 'house', 'bird', 'plate'):
        o = [slab(shape(r, k, s), d, m, z=0.01)] + ([slab(shape(r, k, s * 0.6), 0.012, C.mat(['gloss', 'matte', 'paper'], alt=True), z=d + 0.008)]
            if r.random() < 0.5 else [])
        return move(o, y=s * 0.7)
    if k == 'flower':
        return move(blossom(r, s, m, C.mat(['gloss', 'wood', 'fabric'], alt=True), tilt=r.uniform(0.05, 0.3)), z=0.03, y=s * 0.15)
    if k == 'butterfly':
        w = [leaf_ for a in (0.5, -0.5, math.pi - 0.5, math.pi + 0.5) for leaf_ in [(a, 0.3, s * (1.2 if math.sin(a) > 0 else 0.9), 0.4, -0.3,
            (0, s * 0.2, 0.03))]]
        b = [blob(s * 0.1, s * 0.5, s * 0.1, C.mat(['matte', 'wood'], alt=True), at=(0, s * 0.2, 0.05), sub=2)]
        return [whorl(w, m, 0.06, 1.5)] + b + [pipe([(0, s * 0.6, 0.05), (i * s * 0.15, s * 0.85, 0.05), (i * s * 0.35, s, 0.03)], 0.006,
            b[0].data.materials[0], seg=5) for i in (-1, 1)]
    if k == 'mushroom':
        return move(toadstool(r, C, s * 0.8, s * 0.7, m, make_mat('matte', (0.9, 0.87, 0.78), r), make_mat('matte', (0.95, 0.93, 0.9), r)), rx=-math.pi / 2,
            z=s * 0.6)
    prof = {'pear': [(0, 0), (0.3, 0.05), (0.55, 0.5), (0.7, 1.0), (0.5, 1.5), (0, 1.65)], 'berry': [(0, 0), (0.5, 0.08), (0.65, 0.4), (0.4, 1.0), (0, 1.35)],
        'apple': [(0, 0.12), (0.2, 0.03), (0.6, 0.2), (0.75, 0.65), (0.5, 1.2), (0.2, 1.25), (0, 1.15)],
        'ball': [(0, 0), (0.45, 0.15), (0.62, 0.6), (0.45, 1.05), (0, 1.2)]}[k]
    o = [lathe([(x * s, z * s) for x, z in prof], m, n=5)]
    if k == 'berry':
        o.append(spines(r, o[:1], 50, s * 0.12, C.mat(['matte'], alt=True)))
    o.append(whorl([(2.1 * i, r.uniform(0, 0.7), s * r.uniform(0.4, 0.9), 0.25, -0.7, (0, 0, -0.01)) for i in range(r.choice([1, 2, 5]))], green, 0.12))
    return move(o, rx=-math.pi / 2, z=s * 0.7)


def G_plant_stakes(r, C):
    """Sticks with figures, fruits or flowers at their ends, in a fan, side by side or tied."""
    kinds = r.sample(['star', 'heart', 'house', 'bird', 'plate', 'flower', 'butterfly', 'mushroom', 'pear', 'berry', 'apple', 'ball'], r.choice([1, 1, 2, 3]))
    n, way, o = r.choice([1, 2, 3, 3, 4, 5, 6]), r.choice(['fan', 'row', 'tied']), []
    stick, q, green = r.choice([wood(r), wire(r), make_mat('matte', r.choice(LEAF + BARK), r)]), r.uniform(0.008,
        0.024), make_mat(r.choice(['matte', 'fabric']), r.choice(LEAF), r)
    for i in range(n):
        u, L, s = i - (n - 1) / 2, r.uniform(0.6, 1.2), r.uniform(0.11, 0.2)
        if n > 3 and way != 'row':
            L += (i % 2) * 0.3
        k = r.choice(kinds)
        z = q + 0.004 + (s * 0.5 if k in ('pear', 'berry', 'apple', 'ball', 'mushroom') else 0)
        p = [pipe([(0, -L, q), (r.uniform(-0.04, 0.04), -L * 0.5, q), (0, s * 0.4, z)], [q * (0.4 if r.random() < 0.5 else 1), q, q], stick, seg=8),
            *topper(r, C, k, s, green)]
        if r.random() < 0.3:
            p.append(whorl([(r.uniform(0.3, 1.2), 0.15, s * 1.5, 0.25, -0.3, (0, -L * r.uniform(0.25, 0.6), q + 0.01)),
                (r.uniform(1.9, 2.8), 0.15, s * 1.5, 0.25, -0.3, (0, -L * 0.3, q + 0.01))], green, 0.1))
        if r.random() < 0.35 or (way == 'row' and n < 3 and r.random() < 0.5):
            p += bow(r, 0, -s * 0.45, s * r.uniform(0.5, 0.9), C.mat(['gloss', 'fabric', 'linen'], alt=True), q * 2 + 0.01)
        if way == 'row':
            o += move(p, x=u * 0.42, y=r.uniform(-0.15, 0.15), rz=r.uniform(-0.12, 0.12))
        else:
            f = 0.28 if way == 'fan' else 0.2
            o += move(move(p, y=L - (0.05 if way == 'fan' else 0.45)), rz=-u * f + r.uniform(-0.05, 0.05), z=0.004 * i)
    if way == 'tied' and n > 1:
        c = C.mat(['fabric', 'gloss', 'linen'], alt=True)
        o += [pipe([(-0.07 - q * n, 0, 0.012), (0, 0.01, q * 2 + 0.03), (0.07 + q * n, 0, 0.012)], 0.022, c),
            *bow(r, 0, 0, r.uniform(0.14, 0.3), c, q * 2 + 0.03)]
    return floor(o)


def on_pin(r, C, m, R, L, form):
    """Bands, knobs or ridges round a roller along z."""
    o = []
    if form == 'rings' or r.random() < 0.35:
        bm, k = C.mat(['gloss', 'paper', 'wood', 'metal'], alt=True), r.randint(1, 5)
        o += [lathe([(R * 1.006, z - w), (R * (1.1 if form == 'rings' else 1.015), z - w), (R * (1.1 if form == 'rings' else 1.015), z + w),
            (R * 1.006, z + w)], bm, smoothp=False) for z, w in ((L * (2 * (i + 0.5) / k - 1) * 0.85, r.uniform(0.015, 0.06)) for i in range(k))]
    elif r.random() < 0.4 and form != 'taper':
        n, k = r.randint(5, 9), r.choice(['knobs', 'ridge'])
        em = m if r.random() < 0.5 else C.mat(['gloss', 'wood'], alt=True)
        for i in range(r.randint(5, 10)):
            z = L * (2 * (i + 0.5) / 10 - 1) * 0.9
            o += [ball(0.02, em, u3(6.283 * (j + 0.5 * (i % 2)) / n, 0, R) + Vector((0, 0, z)), 1)
                for j in range(n)] if k == 'knobs' else move([hoop(R, 0.012, em)], z=z)
    return o


def G_rolling_pin(r, C):
    R, L, m, hm = r.uniform(0.08, 0.2), r.uniform(0.4, 0.6), stuff(r, C, ['wood', 'wood', 'marble', 'gloss', 'glass', 'metal', 'matte']), r.choice([wood(r),
        stuff(r, C, ['gloss', 'matte', 'wood'], True)])
    form, o = r.choice(['grips', 'grips', 'grips', 'taper', 'rod', 'rings']), []
    h = r.uniform(0.16, 0.34)
    if form == 'taper':
        o.append(lathe([(0, -L - h), (R * 0.35, -L - h), (R * 0.5, -L - h * 0.9), (R, -L * 0.3), (R, L * 0.3), (R * 0.5, L + h * 0.9), (R * 0.35, L + h),
            (0, L + h)], m, n=8))
    else:
        o.append(lathe([(0, -L), (R * 0.9, -L), (R * 0.9, -L), (R, -L + 0.03), (R, -L + 0.03), (R, L - 0.03), (R, L - 0.03), (R * 0.9, L), (R * 0.9, L),
            (0, L)], m, n=2))
        q = r.uniform(0.25, 0.45) * R
        grip = [(q * 0.8, 0), (q * r.uniform(1.0, 2.2), h * 0.25), (q * r.uniform(0.7, 1.1), h * 0.7), (q * r.uniform(1.0, 1.6), h * 0.9), (q * 0.6, h),
            (0, h)] if form != 'rod' else [(q, 0), (q, 0), (q, h), (q, h), (0, h)]
        gap = r.uniform(0, 0.06)
        for s in (0, math.pi):
            o += move([lathe([(0, gap), *[(x, z + gap) for x, z in grip]], hm, n=5), cyl(q * 0.6, gap + 0.04, wire(r), z=-0.02, bev=0.003),
                cyl(q * 1.4, 0.02, r.choice([wire(r), hm]), bev=0.005)], z=L if s == 0 else -L, rx=s)
    o += on_pin(r, C, m, R, L, form)
    move(o, ry=math.pi / 2, z=R * 1.12 if form == 'rings' else R)
    z0, end, c = verts_of(o)[:, 2].min(), L + h, C.mat(['fabric', 'gloss', 'linen'], alt=True)
    move(o, z=-z0)
    if r.random() < 0.35:
        o.append(pipe([(end - 0.03, 0, R), (end + 0.1, 0.07, R * 0.4), (end + r.uniform(0.2, 0.3), 0, 0.012), (end + 0.1, -0.07, R * 0.4),
            (end - 0.03, 0, R)], 0.01, c, seg=6))
    if r.random() < 0.3:
        x = r.uniform(-0.5, 0.5) * L
        o += move([hoop(R * 1.03, 0.02, c)], x=x, z=R, ry=math.pi / 2) + move(bow(r, 0, 0, r.uniform(0.12, 0.25), c, 0.02), x=x, z=2 * R, rz=r.uniform(0, 6))
    return floor(o + (cradle(r, C, R, L) if r.random() < 0.4 else []))


def cradle(r, C, R, L):
    """What a rolling pin may lie on or beside: blocks, a board, a folded cloth, cutters."""
    k = r.choice(['cloth', 'cutters', 'board'])
    if k == 'cloth':
        m, o = print_mat(r, C.alt_c, 0.5), [rbox(L * r.uniform(0.8, 1.6), r.uniform(0.4, 0.8), 0.012, 0.005, None, 2)]
        o[0].data.materials.append(m)
        return move(o, y=r.uniform(-0.2, 0.2), x=r.uniform(-0.2, 0.2), rz=r.uniform(-0.4, 0.4))
    if k == 'board':
        return move([slab(rounded(L * 2.2, r.uniform(0.4, 0.9), 0.06), 0.02, wood(r))], y=r.uniform(-0.15, 0.15), rz=r.uniform(-0.1, 0.1))
    o, m = [], r.choice([wire(r), C.mat(['gloss', 'metal'], alt=True)])
    for i in range(r.randint(1, 3)):
        p = [(x, y, 0.05) for x, y in shape(r, r.choice(['star', 'heart', 'house']), 0.16)]
        o += move([tube(p, 0.012, m, closed=True, flat=4, seg=8)], x=(i - 0.8) * 0.42, y=-R - 0.17, rz=r.uniform(0, 6))
    return o


def grip(r, C, L):
    """A handle that hangs from z = 0 down to -L, with a loop now and then."""
    q, m = r.uniform(0.03, 0.06), r.choice([wood(r), wire(r), stuff(r, C, ['gloss', 'matte', 'wood', 'dip'], True)])
    o = [lathe([(0, 0.02), (q * 0.7, 0.02), (q * r.uniform(0.7, 1.3), -L * 0.15), (q * r.uniform(0.8, 1.2), -L * 0.45), (q * r.uniform(1.0, 1.5), -L * 0.8),
        (q * 0.7, -L * 0.98), (0, -L)], m, n=6)]
    if r.random() < 0.6:
        o.append(cyl(q * 1.15, r.uniform(0.02, 0.08), wire(r), z=-0.01, bev=0.004))
    if r.random() < 0.5:
        e = [hoop(r.uniform(0.04, 0.1), r.uniform(0.006, 0.012), r.choice([wire(r), C.mat(['fabric', 'gloss'], alt=True)]))]
        o += move(e, z=-L - verts_of(e)[:, 0].max() * 0.85, rx=math.pi / 2)
    return o


def beater(r, C):
    """A beater with a crank, along z with its grip at the foot."""
    m, g, o, gm = wire(r), r.uniform(0.12, 0.2), grip(r, C, r.uniform(0.25, 0.4)), r.choice([wire(r), C.mat(['gloss', 'metal'], alt=True)])
    L, w, up = r.uniform(0.5, 0.8), r.uniform(0.08, 0.13), r.uniform(0.2, 0.4)
    o += [pipe([(0, 0, -0.02), (0, 0, up + 0.1)], 0.02, m), *move([cyl(g, 0.025, gm),
        lathe([(g * 0.95, 0), (g * 1.04, 0.012), (g * 0.95, 0.025)], gm, seg=96, flute=32, fdepth=0.05)], z=up, y=-0.02, rx=math.pi / 2)]
    o += [pipe([(0, -0.05, up), (g * 0.6, -0.09, up + g * 0.6), (g * 1.1, -0.09, up + g * 1.1)], 0.014, m, seg=8),
        *move([cyl(0.035, r.uniform(0.1, 0.18), r.choice([wood(r), C.mat(['gloss'], alt=True)]), bev=0.012)], x=g * 1.1, y=-0.09, z=up + g * 1.1,
        rx=math.pi / 2)]
    o.append(pipe([(-w * 0.8, 0, up + g * 0.8), (w * 0.8, 0, up + g * 0.8)], 0.016, m))
    for s in (-1, 1):
        x = s * w * 0.75
        o += [pipe([(x, 0, up + g * 0.8), (x, 0, up + L * 0.6)], 0.012, m, seg=7), *move([cyl(0.05, 0.04, gm, bev=0.005)], x=x, z=up + g * 0.75)]
        for a in (0.4, 0.4 + math.pi / 2):
            o += move([pipe([(0, 0, 0), (w, 0, L * 0.3), (w * 0.9, 0, L * 0.52), (0, 0, L * 0.6), (-w * 0.9, 0, L * 0.52), (-w, 0, L * 0.3), (0, 0, 0)],
                0.012, m, seg=6)], x=x, z=up + L * 0.45, rz=a + s * 0.4)
    return o


def coil(r, C, L, w, m, q):
    """A ring wound with wire, at a slant on its stem."""
    o, n, T = grip(r, C, r.uniform(0.35, 0.7)), r.randint(6, 12), r.uniform(0.1, 0.18)
    t = np.linspace(0, 6.283 * n, n * 14)
    o += [pipe([(0, 0, 0), (0, 0, L * 0.6), (0, 0.02, L * 0.62), (0, w * math.cos(T * 3), L * 0.75 + w * math.sin(T * 3))], q * 1.5, m, seg=7)]
    o += move([pipe([(w * math.cos(a), w * math.sin(a), 0) for a in np.linspace(0, 6.3, 30)], q * 1.5, m, n=1),
        pipe([((w + q * 2.5 * math.cos(a)) * math.cos(a / n), (w + q * 2.5 * math.cos(a)) * math.sin(a / n), q * 2.5 * math.sin(a)) for a in t], q * 0.6,
        m, seg=5, n=1)], z=L * 0.75, rx=T * 3)
    return o


def tines(r, C, L, w, m, q):
    """Twigs or split cane bound on a stem."""
    k, n = r.uniform(0.03, 0.08), r.randint(18, 44)
    o = [lathe([(0, -L), (k * 0.9, -L), (k, -L * 0.5), (k * 1.15, 0), (k * 0.9, 0.03), (0, 0.04)],
        r.choice([wood(r), make_mat('matte', (0.75, 0.65, 0.42), r)]), n=4)]
    o += [pipe([u3(2.4 * i, 0, k * math.sqrt(i / n)), u3(2.4 * i, 0, k * 1.2 + w * 0.5 * math.sqrt(i / n)) + Vector((0, 0, L * 0.45)),
        u3(2.4 * i, 0, w * r.uniform(0.3, 1) * math.sqrt(i / n)) + Vector((0, 0, L * r.uniform(0.8, 0.95)))], q * 0.8, m, seg=5, n=4) for i in range(n)]
    o += move([hoop(k * 1.15, 0.014, C.mat(['fabric', 'gloss'], alt=True), z) for z in (0, -0.035, -0.07)][: r.randint(1, 3)])
    return o


def G_whisk(r, C):
    """Loops of wire, twigs or tines on a handle; beaters with a crank; lying."""
    way, o = r.choice(['balloon', 'balloon', 'coil', 'tines', 'crank', 'crank', 'flat']), []
    L, w, m, q = r.uniform(0.45, 0.85), r.uniform(0.12, 0.26), r.choice([wire(r), wire(r), wood(r), C.mat(['gloss', 'metal'])]), r.uniform(0.006, 0.013)
    if way == 'crank':
        o = beater(r, C)
    elif way in ('balloon', 'flat'):
        o, n = grip(r, C, r.uniform(0.35, 0.7)), r.randint(3, 7)
        for i in range(n):
            k = w if way == 'balloon' else w * (0.4 + 0.7 * (i + 1) / n)
            x = r.uniform(0.85, 1.0) * L * (1 if way == 'balloon' else 0.7 + 0.35 * (i + 1) / n)
            p = [(0.02, 0, 0), (k * 0.35, 0, x * 0.35), (k, 0, x * 0.72), (k * 0.6, 0, x * 0.95), (0, 0, x), (-k * 0.6, 0, x * 0.95), (-k, 0, x * 0.72),
                (-k * 0.35, 0, x * 0.35), (-0.02, 0, 0)]
            o += move([pipe(p, q, m, seg=6)], rz=math.pi * i / n if way == 'balloon' else 0)
    else:
        o = coil(r, C, L, w, m, q) if way == 'coil' else tines(r, C, L, w, m, q)
    move(o, rx=-math.pi / 2)
    for _ in range(4):
        v = verts_of(o)
        (_, y, z), (_, b, c) = (min(v[k], key=lambda p: p[2]) for k in (v[:, 1] > 0.15, v[:, 1] < -0.1))
        move(o, rx=math.atan((c - z) / (y - b)))
    move(o, z=-verts_of(o)[:, 2].min())
    return o


def knob(r, C, m, s):
    """What a lid is lifted by, on z = 0."""
    k, q = r.choice([m, wood(r), wire(r), C.mat(['gloss', 'matte'], alt=True)]), r.choice(['ball', 'mush', 'ring', 'spire', 'bird', 'bud'])
    if q == 'ring':
        return [cyl(s * 0.3, s * 0.2, k, bev=0.003), *move([hoop(s * 0.55, s * 0.13, k)], z=s * 0.65, rx=math.pi / 2, rz=r.uniform(0, 3))]
    if q == 'bird':
        b = [blob(s, s * 0.6, s * 0.6, k, at=(0, 0, s * 0.5), sub=3), ball(s * 0.4, k, (s * 0.8, 0, s * 1.1), 2),
            pipe([(s * 1.1, 0, s * 1.1), (s * 1.5, 0, s * 1.05)], [s * 0.14, s * 0.02], wire(r), seg=6)]
        return b + [pipe([(-s * 0.7, 0, s * 0.6), (-s * 1.7, 0, s * 1.0)], [s * 0.35, s * 0.12], k, seg=8, flat=0.5)]
    p = {'ball': [(0, 0), (0.3, 0), (0.28, 0.3), (0.6, 0.7), (0.55, 1.2), (0, 1.5)], 'mush': [(0, 0), (0.4, 0), (0.3, 0.5), (0.8, 0.7), (0.8, 0.9), (0, 1.1)],
        'spire': [(0, 0), (0.5, 0), (0.2, 0.3), (0.4, 0.7), (0.12, 1.1), (0.2, 1.4), (0, 2.2)],
        'bud': [(0, 0), (0.5, 0.1), (0.6, 0.6), (0.2, 1.4), (0, 1.9)]}[q]
    return [lathe([(x * s, z * s) for x, z in p], k, n=5)]


def kettle_handle(r, C, m, R, h):
    """An arch over the top, upright or folded down, or a loop at the back."""
    hm, H, w, g = r.choice([m, wire(r), wood(r), C.mat(['gloss', 'matte'], alt=True)]), r.uniform(0.3, 0.75), R * r.uniform(0.75, 1.1), r.uniform(0.016, 0.04)
    if r.random() < 0.8:
        foot = h * 0.85
        p = r.choice([arch(w * 2, H + 0.1, foot, p=r.uniform(0.5, 1.1)), resample([(-w * 0.75, 0, foot), (-w * 1.15, 0, foot + H * 0.6),
            (-w * 0.5, 0, foot + H), (w * 0.5, 0, foot + H), (w * 1.15, 0, foot + H * 0.6), (w * 0.75, 0, foot)], 6)])
        bits = [pipe(p, g, hm, n=1, flat=r.uniform(0.6, 1.8))]
        k = len(p)
        if r.random() < 0.6:
            bits.append(pipe(p[k // 3 : k - k // 3], [g * 1.4, g * 2.0, g * 1.4], r.choice([wood(r), pattern_mat('wicker', r.randint(0, 10**6), 0.15)[0],
                C.mat(['fabric', 'gloss'], alt=True)]), n=1))
        bits += [pipe([(s * w * 0.55, 0, foot * 0.9), (s * w * 0.98, 0, foot * 1.02)], g * 1.6, m) for s in (-1, 1)]
        tilt = r.choice([0, 0, r.uniform(-0.9, 0.9)])
        xf(bits, Matrix.Translation((0, 0, foot)) @ Matrix.Rotation(tilt, 4, 'X') @ Matrix.Rotation(r.choice([0, 0, 1.57]), 4,
            'Z') @ Matrix.Translation((0, 0, -foot)))
        return bits
    return [pipe([(-R * 0.7, 0, h * 0.85), (-R - 0.2, 0, h * 1.05), (-R - r.uniform(0.25, 0.4), 0, h * 0.6), (-R - 0.1, 0, h * 0.25), (-R * 0.7, 0, h * 0.2)],
        g * 1.2, hm)]


def G_kettle(r, C):
    m, R, h, form, o = stuff(r, C, WARE + ['metal']), r.uniform(0.3, 0.44), r.uniform(0.3, 0.7), r.choice(['round', 'cone', 'drum', 'squat', 'pear']), []
    side = {'round': [(R * 0.7, 0), (R, h * 0.45), (R * 0.8, h * 0.85)], 'cone': [(R, 0), (R, 0), (R * 1.02, 0.05), (R * 0.7, h * 0.7)],
        'drum': [(R, 0), (R, 0), (R, h * 0.8), (R * 0.9, h * 0.93)],
            'squat': [(R * 0.8, 0), (R * 1.2, h * 0.3), (R * 0.9, h * 0.8)], 'pear': [(R * 0.8, 0), (R * 1.05, h * 0.3), (R * 0.6, h * 0.8)]}[form]
    top, seg = R * r.uniform(0.35, 0.55), r.choice([72, 72, 72, 72, 6, 8])
    o.append(lathe([(0, 0), *side, (top, h), (top, h), (0, h + 0.01)], m, n=5, seg=seg))
    if seg < 9:
        facet(o[0])
    lm, d = m if r.random() < 0.7 else stuff(r, C, alt=True), r.uniform(0.02, 0.14)
    o += [lathe([(top * 1.06, h - 0.01), (top * 1.06, h + 0.02), (top * 0.7, h + d * 0.8), (0, h + d)], lm),
        *move(knob(r, C, lm, r.uniform(0.05, 0.1)), z=h + d * 0.93, rz=r.uniform(0, 6))]
    L, up, q = r.uniform(0.2, 0.45), h * r.uniform(0.75, 1.25), r.uniform(0.04, 0.09)
    bend = r.choice([0.3, 0.7, 1.1])
    sm = m if r.random() < 0.8 else wire(r)
    o.append(pipe([(R * 0.7, 0, h * 0.3), (R + L * 0.25, 0, h * 0.3 + (up - h * 0.3) * 0.2 * (2 - bend)),
        (R + L * 0.6, 0, h * 0.3 + (up - h * 0.3) * (0.9 - 0.4 * bend + 0.2)), (R + L, 0, up)], [q * 1.7, q * 1.1, q * 0.8, q * 0.75], sm, seg=14))
    if r.random() < 0.5:
        a, b = o[-1].data.vertices[-14:], Vector((0, 0, 0))
        c = sum((v.co for v in a), b) / 14
        o += [ball(q * 0.62, make_mat('matte', (0.05, 0.05, 0.05), r), c, 2, 0.7)]
    o += kettle_handle(r, C, m, R, h)
    return stand(r, C, o, R, m)


def stand(r, C, o, R, m):
    """Bands, feet or a trivet for a kettle."""
    if r.random() < 0.25:
        o += [hoop(R * 1.0, 0.015, wire(r), 0.02)]
    k = r.choice(['none', 'none', 'feet', 'trivet', 'warmer'])
    if k == 'feet':
        move(o, z=0.05)
        o += [ball(0.055, m, u3(2.094 * i + 0.5, 0, R * 0.7) + Vector((0, 0, 0.055)), 2) for i in range(3)]
    elif k == 'trivet':
        move(o, z=0.04)
        o.append(slab(rounded(R * 2.4, R * 2.4, 0.1), 0.04, wood(r)) if r.random() < 0.5 else cyl(R * 1.2, 0.04, C.mat(['carpet', 'fabric', 'wood'], alt=True)))
    elif k == 'warmer':
        w, h = wire(r), r.uniform(0.16, 0.28)
        move(o, z=h)
        o += [hoop(R * 0.85, 0.02, w, h - 0.015), hoop(R * 0.95, 0.02, w, 0.02), cyl(0.12, 0.09, make_mat('wax', (0.93, 0.9, 0.8), r), bev=0.01),
            slab(circle(R * 0.95), 0.015, w)]
        o += [pipe([u3(1.57 * i, 0, R * 0.95) + Vector((0, 0, 0.02)), u3(1.57 * i, 0, R * 0.85) + Vector((0, 0, h))], 0.016, w) for i in range(4)]
    return o


def dipper(r, C, L):
    """A stick with a grooved head at the origin, its handle along z."""
    n, q, m = r.randint(4, 7), r.uniform(0.08, 0.12), r.choice([wood(r), wood(r), C.mat(['gloss', 'metal', 'matte'], alt=True)])
    p = [(0, -0.02)]
    for i in range(n):
        R, z = q * (0.6 + 0.4 * math.sin(math.pi * (i + 0.5) / n)), 0.05 * i
        p += [(R, z), (R, z), (R, z + 0.028), (R, z + 0.028), (q * 0.35, z + 0.03), (q * 0.35, z + 0.048)]
    z = 0.05 * n
    return [lathe([*p, (0.03, z + 0.03), (r.uniform(0.016, 0.026), z + L * 0.4), (0.022, z + L), (r.uniform(0.03, 0.05), z + L + 0.05), (0, z + L + 0.09)], m,
        n=3)]


def spoon(r, C, L):
    """A little spoon, its bowl at the origin, its handle along z."""
    m = r.choice([wire(r), wood(r), C.mat(['gloss'], alt=True)])
    return [blob(0.1, 0.025, 0.15, m, sub=3), pipe([(0, 0, 0.1), (0, 0.01, L * 0.6), (0, 0, L)], [0.02, 0.014, r.uniform(0.02, 0.04)], m, seg=8),
        ball(r.uniform(0.02, 0.05), m, (0, 0, L), 2)]


def bee(r, C, s):
    m, k = make_mat(r.choice(['gloss', 'carpet', 'fabric']), (0.93, 0.72, 0.2), r), make_mat('matte', (0.1, 0.08, 0.07), r)
    o = [blob(s, s * 0.62, s * 0.6, m, at=(0, 0, s * 0.6), sub=3), ball(s * 0.42, k, (s * 0.95, 0, s * 0.65), 2)]
    o += [pipe([Vector((x * s, s * 0.63 * math.sqrt(1 - x * x) * math.cos(t), s * 0.6 + s * 0.61 * math.sqrt(1 - x * x) * math.sin(t)))
        for t in np.linspace(0, 6.28, 20)], s * 0.09, k, seg=6, n=1) for x in (-0.5, 0, 0.45)]
    o.append(whorl([(i * 2.0, 0.5, s * 1.3, 0.3, -0.2, (s * 0.1, 0, s * 1.1)) for i in (-1, 1)], make_mat('paper', (0.95, 0.95, 0.95), r), 0.06, 1.5))
    return o + [pipe([(s * 1.2, i * s * 0.1, s * 0.9), (s * 1.5, i * s * 0.25, s * 1.3)], s * 0.05, k, seg=5) for i in (-1, 1)]


def G_honey_pot(r, C):
    """A pot shaped as a hive, a barrel or a ball, with lid or open, a dipper in it or beside."""
    R, h, form, o = r.uniform(0.3, 0.42), r.uniform(0.5, 0.9), r.choice(['hive', 'hive', 'ball', 'barrel', 'jar', 'comb']), []
    honey = make_mat('gloss', r.choice([(0.85, 0.55, 0.12), (0.75, 0.42, 0.08), (0.93, 0.72, 0.25)]), r)
    m = make_mat(r.choice(['gloss', 'matte', 'speckle']), (0.88, 0.66, 0.28), r) if r.random() < 0.25 else stuff(r, C, WARE + ['wood', 'glass'])
    f, n, e = {'hive': lambda t: math.cos(t * 1.0) ** 0.7, 'ball': lambda t: 0.55 + 0.45 * math.sin(math.pi * t), 'barrel': lambda t: 0.8
        + 0.2 * math.sin(math.pi * t), 'jar': lambda t: 1.0, 'comb': lambda t: 1.0}[form], r.randint(5, 9), r.uniform(0.04, 0.09)
    prof = [(R * f(i / 40) * (1 + (e * abs(math.sin(math.pi * n * i / 40)) if form in ('hive', 'barrel') else 0)), h * i / 40) for i in range(41)]
    top, inside = prof[-1][0], prof[-1][0] * 0.86
    body = lathe([(0, 0), *prof, (inside, h), (inside, h * 0.8), (0, h * 0.8)], m, n=2, seg=6 if form == 'comb' else 72)
    o += [facet(body) if form == 'comb' else body] + ([lathe([(0, h * 0.84), (inside, h * 0.84)], honey, seg=6 if form == 'comb' else 72, smoothp=False)])
    lid, way = r.random() < 0.6, r.choice(['in', 'in', 'beside', 'beside', 'none'])
    if lid:
        lm, d = m if r.random() < 0.6 else stuff(r, C, WARE + ['wood'], True), r.uniform(0.05, 0.28)
        cap = [lathe([(top * 1.08, 0), (top * 1.08, 0.03), (top * 0.85, d * 0.6), (0, d)], lm, n=5),
            *move(bee(r, C, r.uniform(0.07, 0.13)) if r.random() < 0.35 else knob(r, C, lm, r.uniform(0.06, 0.11)), z=d * 0.96)]
        tip = 0.22 if way == 'in' else 0
        o += move(cap, z=h + top * math.sin(tip) * 0.6, ry=tip) if r.random() < 0.75 or way == 'in' else move(cap, x=-R - top * 1.4, y=r.uniform(-0.1, 0.1))
    if way == 'in':
        d = u3(0 if lid else r.uniform(-0.6, 0.6), r.uniform(0.75, 1.1) if not lid else 0.7)
        o += towards(dipper(r, C, r.uniform(0.5, 0.9)) if r.random() < 0.75 else spoon(r, C, 0.9), Vector((top * 0.5, 0, h + 0.03)) - d * 0.28, d)
    elif way == 'beside':
        a = r.uniform(0, 6.3)
        o += floor(towards(dipper(r, C, r.uniform(0.5, 0.9)), u3(a, 0, R * 1.4) + Vector((0, 0, 0.11)), u3(a + r.uniform(0.9, 1.9) * r.choice([-1, 1]), -0.12)))
    return o + on_honey(r, C, prof, R, h, m, honey, form)


def on_honey(r, C, prof, R, h, m, honey, form):
    """Drips, bees, a mouth, a ribbon, ears or a dish."""
    o, k = [], r.sample(['drip', 'bee', 'mouth', 'ribbon', 'ear', 'dish', 'spout'], r.choice([0, 1, 1, 2, 3]))
    at = lambda a, t, out=1.0: u3(a, 0, np.interp(t * h, [z for _, z in prof], [x for x, _ in prof]) * out) + Vector((0, 0, t * h))
    if 'drip' in k and form != 'comb':
        for i in range(r.randint(2, 5)):
            a = i * 1.2 + r.uniform(0, 0.5)
            o.append(pipe([at(a, t, 1.01) for t in np.linspace(0.99, r.uniform(0.4, 0.8), 9)], [0.03, 0.02, 0.035], honey, tip=True, n=2))
    if 'bee' in k:
        for i in range(r.randint(1, 3)):
            a = i * 2 + r.uniform(-0.5, 0.5)
            o += towards(move(bee(r, C, r.uniform(0.06, 0.1)), rz=r.uniform(0, 6)), at(a, r.uniform(0.3, 0.6), 0.99 if form != 'comb' else 0.88), u3(a, 0.1))
    if 'mouth' in k and form == 'hive':
        o += towards([blob(R * 0.24, R * 0.28, 0.03, make_mat('matte', (0.12, 0.08, 0.05), r), sub=3)], at(-1.57, 0.2, 1.04), u3(-1.57))
    if 'ribbon' in k and form in ('jar', 'barrel', 'ball'):
        c, q = C.mat(['gloss', 'fabric', 'linen'], alt=True), (np.interp(0.75 * h, [z for _, z in prof], [x for x, _ in prof])) * 1.03
        o += [tube([u3(t, 0, q) + Vector((0, 0, 0.75 * h)) for t in np.linspace(0, 6.283, 40, endpoint=False)], 0.012, c, closed=True, flat=3)]
        o += move(bow(r, 0, 0, r.uniform(0.12, 0.22), c, 0.03), y=-q, z=0.75 * h, rx=math.pi / 2)
    if 'ear' in k:
        for a in (0.0, math.pi) if r.random() < 0.6 else (math.pi,):
            o.append(pipe([at(a, 0.7, 0.93), at(a, 0.72, 1.35), at(a, 0.45, 1.4), at(a, 0.3, 0.93)], r.uniform(0.025, 0.045), m))
    if 'dish' in k:
        w = r.uniform(1.25, 1.7) * R
        o.append(lathe([(R * 0.5, 0.004), (w * 0.8, 0), (w, 0.06), (w * 0.96, 0.07), (w * 0.75, 0.02), (R * 0.5, 0.02)], stuff(r, C, alt=r.random() < 0.5)))
    return o


def ground_up(r, R, level):
    """What lies in a mortar."""
    full, o = r.choice(['none', 'powder', 'seeds', 'leaves', 'petals']), []
    if full != 'none':
        fm = make_mat('carpet', r.choice([(0.7, 0.45, 0.15), (0.5, 0.2, 0.12), (0.25, 0.22, 0.2), (0.45, 0.5, 0.25), *BLOOM]), r)
        o.append(lathe([(R * 0.86, level), (R * 0.5, level + 0.02), (0, level + 0.05)], fm))
    for i in range(r.randint(10, 26) if full in ('seeds', 'leaves', 'petals') else 0):
        p, s = u3(2.4 * i, 0, R * 0.75 * r.random()) + Vector((0, 0, level + 0.03)), r.uniform(0.03, 0.06)
        o.append(ball(s * 0.8, make_mat('gloss', (0.3, 0.22, 0.15), r) if i % 3 else fm, p, 1) if full == 'seeds'
            else whorl([(r.uniform(0, 6), r.uniform(-0.1, 1.2), s * 4, 0.28, r.uniform(-0.6, 0.4), p)],
            fm if full == 'petals' else make_mat('matte', r.choice(LEAF), r), 0.1))
    return o


def G_pestle(r, C):
    """A mortar with its pestle in it or beside it, empty or full."""
    m, R, h, form, o = stuff(r, C, ['marble', 'wood', 'speckle', 'metal', 'slate', 'gloss', 'matte'], prints=0.05), r.uniform(0.35, 0.5), r.uniform(0.4,
        0.75), r.choice(['bowl', 'goblet', 'block', 'cup', 'stone']), []
    side = {'bowl': [(R * 0.5, 0), (R * 0.55, h * 0.06), (R * 0.9, h * 0.5)],
        'goblet': [(R * 0.8, 0), (R * 0.8, 0.05), (R * 0.3, h * 0.22), (R * 0.35, h * 0.34), (R * 0.85, h * 0.6)], 'block': [(R * 0.95, 0), (R * 0.95, 0)],
            'cup': [(R * 0.75, 0), (R * 0.75, 0.04), (R * 0.62, h * 0.12), (R * 0.75, h * 0.5)], 'stone': [(R * 0.8, 0), (R * 1.15, h * 0.4)]}[form]
    t = r.uniform(0.72, 0.9)
    o.append(lathe([(0, 0), *side, (R, h), (R, h), (R * t, h), (R * t, h), (R * t * 0.8, h * 0.5), (R * 0.3, h * 0.25), (0, h * 0.22)], m, n=5, wob=0.05
        if form == 'stone' else 0.0, rng=r))
    for a in r.choice([(), (), (0,), (0, math.pi), (0, 1.57, 3.14, 4.71)]):
        o += move([rbox(R * 0.3, R * 0.35, R * 0.22, 0.03, m, 3)], *(u3(a, 0, R * 1.02)[:2]), h - R * 0.24, rz=a)
    if r.random() < 0.3:
        o += [hoop(np.interp(h * 0.75, [z for _, z in side] + [h], [x for x, _ in side] + [R]) * 1.0, 0.02, C.mat(['gloss', 'metal', 'wood'], alt=True),
            h * 0.75)]
    o += ground_up(r, R * t, h * r.uniform(0.45, 0.7))
    q, L, pm = r.uniform(0.06, 0.13), r.uniform(0.9, 1.3), m if r.random() < 0.65 else r.choice([wood(r), stuff(r, C, alt=True)])
    pe = [lathe([(0, 0), (q * 0.7, 0.01), (q, q * 0.7), (q * 0.8, q * 1.8), (q * r.uniform(0.35, 0.6), L * 0.5), (q * r.uniform(0.4, 0.7), L * 0.85),
        (q * r.uniform(0.55, 0.9), L * 0.93), (0, L)], pm, n=6)]
    a = r.uniform(0, 6.3)
    if r.random() < 0.7:
        o += towards(pe, u3(a, 0, -R * 0.3) + Vector((0, 0, h * 0.3)), u3(a, r.uniform(0.75, 1.2)) if h < 0.6 else u3(a, 1.1))
    else:
        pe = towards(pe, u3(a, 0, R * 1.35), u3(a + r.choice([-1, 1]) * r.uniform(1.2, 2.2), -0.03))
        o += floor(move(pe, z=q))
    if r.random() < 0.35:
        move(o, z=0.05)
        o.append(slab(r.choice([circle(R * 1.7), rounded(R * 3.6, R * 2.8, 0.1)]), 0.05, r.choice([wood(r), stuff(r, C, ['slate', 'marble', 'fabric'], True)])))
    return o


def bake_of(r, C, k, s):
    """Something baked, on z = 0, of radius s."""
    dough = make_mat('matte', r.choice([(0.85, 0.68, 0.42), (0.45, 0.28, 0.18), (0.93, 0.85, 0.68), (0.7, 0.48, 0.28)]), r)
    ice = make_mat(r.choice(['gloss', 'matte']), r.choice(BLOOM + [(0.3, 0.18, 0.12), (0.7, 0.85, 0.75), C.alt_c]), r)
    berry = make_mat('gloss', r.choice([(0.75, 0.12, 0.15), (0.25, 0.2, 0.4), (0.85, 0.35, 0.5)]), r)
    if k == 'cup':
        h = s * 1.0
        o = [lathe([(0, 0), (s * 0.65, 0), (s * 0.65, 0), (s * 0.92, h), (0, h)], C.mat(['paper', 'fabric'], alt=r.random() < 0.5), seg=96, flute=24,
            fdepth=0.06, n=3)]
        t = np.linspace(0, 1, 50)
        o += [blob(s * 0.9, s * 0.9, s * 0.5, ice, at=(0, 0, h), sub=3), pipe([(s * 0.65 * (1 - a) * math.cos(19 * a), s * 0.65 * (1 - a) * math.sin(19 * a),
            h + s * (0.25 + 0.9 * a)) for a in t], [s * 0.36, s * 0.3, s * 0.12], ice, n=1, tip=True)]
        return o + ([ball(s * 0.25, berry, (0, 0, h + s * 1.25), 2)] if r.random() < 0.6 else [])
    if k == 'macaron':
        return [lathe([(0, z), (s * 0.7, z), (s * 0.8, z + s * 0.2), (s * 0.6, z + s * 0.45), (0, z + s * 0.5)], ice)
            for z in (0, s * 0.6)] + [cyl(s * 0.72, s * 0.24, dough, z=s * 0.43, bev=0.01)]
    if k == 'ring':
        o = [tube([(s * 0.58 * math.cos(t), s * 0.58 * math.sin(t), s * 0.36) for t in np.linspace(0, 6.283, 30, endpoint=False)], s * 0.38, dough,
            closed=True)]
        return o + [tube([(s * 0.58 * math.cos(t), s * 0.58 * math.sin(t), s * 0.46) for t in np.linspace(0, 6.283, 30, endpoint=False)], s * 0.34, ice,
            closed=True)]
    if k == 'tart':
        return [lathe([(0, 0), (s * 0.7, 0), (s * 0.95, s * 0.4), (s * 0.85, s * 0.4), (0, s * 0.35)], dough, seg=96, flute=20, fdepth=0.07),
            *[ball(s * 0.26, berry, u3(1.05 * i, 0, s * 0.5 * (i < 6)) + Vector((0, 0, s * 0.5)), 2) for i in range(7)]]
    return [slab(shape(r, r.choice(['star', 'heart', 'house']), s), s * 0.25, dough), slab(shape(r, 'heart', s * 0.5), s * 0.06, ice, z=s * 0.25)]


def cake(r, C, R, h):
    """A whole or cut cake of radius R, with filling, cream and fruit."""
    dough, ice = make_mat('matte', r.choice([(0.85, 0.68, 0.42), (0.42, 0.26, 0.17), (0.93, 0.85, 0.68), C.alt_c]), r), make_mat(r.choice(['matte', 'gloss']),
        r.choice(BLOOM + [(0.3, 0.18, 0.12), (0.95, 0.93, 0.88)]), r)
    cut, o, n = r.choice([0, 0, 0.6, 0.9, 1.6, 4.6]), [], r.choice([1, 2, 3])
    sector = lambda q: [(q * math.cos(t), q * math.sin(t)) for t in np.linspace(cut, 6.283, 60, endpoint=cut > 0)] + ([(0, 0)] if cut else [])
    for i in range(n):
        o += [slab(sector(R), h / n - 0.015, dough, z=h * i / n), slab(sector(R * 1.01), 0.03, ice, z=h * (i + 1) / n - 0.02)]
    if r.random() < 0.5:
        o.append(slab(sector(R * 1.03), h * r.uniform(0.3, 0.98), ice, z=0.0 if r.random() < 0.4 else h * 0.02))
    bm, k = make_mat('gloss', r.choice(BLOOM + [(0.75, 0.12, 0.15), (0.25, 0.2, 0.4)]), r), r.randint(6, 14)
    for i in range(k):
        a = cut + (6.283 - cut) * (i + 0.5) / k
        o.append(ball(r.uniform(0.035, 0.06), r.choice([bm, ice]), u3(a, 0, R * 0.82) + Vector((0, 0, h + 0.03)), 2))
    return o + ([ball(0.09, bm, u3(cut / 2 + math.pi, 0, R * 0.2) + Vector((0, 0, h + 0.06)), 2)] if r.random() < 0.5 else [])


def tiers(r, C, m, R, foot, n, plate):
    """The upper plates on their rod, and what lies on all of them."""
    rod, z, o = wire(r), foot + 0.03, []
    levels = [(R * (1 - 0.24 * i), z + r.uniform(0.4, 0.5) * i) for i in range(n)]
    top = levels[-1][1] + r.uniform(0.25, 0.4)
    o += [plate(q, zz - 0.03, m if r.random() < 0.8 else stuff(r, C, alt=True)) for q, zz in levels[1:]] + [pipe([(0, 0, foot), (0, 0, top)], 0.018, rod)]
    o += move([hoop(0.09, 0.016, rod)], z=top + 0.085, rx=math.pi / 2) if r.random() < 0.6 else move(knob(r, C, m, 0.08), z=top)
    for q, zz in levels:
        o += treats(r, C, q, zz, 0.13) if r.random() < 0.85 else []
    return o


def G_cake_stand(r, C):
    """A plate on a foot, or two or three about a rod, with a dome or with cakes."""
    m, R, foot, o = stuff(r, C, WARE + ['wood', 'glass', 'marble']), r.uniform(0.45, 0.65), r.uniform(0.1, 0.5), []
    k = r.choice(['turned', 'cone', 'legs', 'rod', 'bell'])
    edge = {'flute': 0, 'fdepth': 0.0} if r.random() < 0.5 else {'flute': r.choice([12, 16, 24]), 'fdepth': r.uniform(0.02, 0.06)}
    plate = lambda q, z, mm: lathe([(0, z), (q * 0.9, z), (q, z + 0.02), (q, z + r.choice([0.03, 0.06])), (q * 0.95, z + 0.04), (q * 0.9, z + 0.03),
        (0, z + 0.03)], mm, seg=96, n=3, **edge)
    w = R * r.uniform(0.4, 0.65)
    if k == 'legs':
        o += [pipe([u3(6.283 * i / 3, 0, R * 0.7), u3(6.283 * i / 3, 0, R * 0.45) + Vector((0, 0, foot))], [0.03, 0.05], r.choice([m, wood(r)]))
            for i in range(3)]
    else:
        p = {'turned': [(w, 0), (w, 0.02), (0.06, foot * 0.25), (0.1, foot * 0.5), (0.05, foot * 0.75), (0.16, foot)], 'cone': [(w, 0), (w * 0.2, foot)],
            'rod': [(w, 0), (w, 0.03), (0.04, 0.05), (0.04, foot)], 'bell': [(w, 0), (w * 0.9, foot * 0.5), (w * 0.4, foot)]}[k]
        o.append(lathe([(0, 0), *p, (0, foot + 0.01)], m if r.random() < 0.75 else stuff(r, C, alt=True), n=5))
    o.append(plate(R, foot, m))
    z, n = foot + 0.03, r.choice([1, 1, 1, 2, 3])
    if n > 1:
        return o + tiers(r, C, m, R, foot, n, plate)
    if r.random() < 0.5:
        h, q = r.uniform(0.35, 0.7), R * 0.85
        g = r.choice([clear(r), clear(r), make_mat('glass', (0.95, 0.97, 0.97), r), stuff(r, C, ['gloss', 'metal', 'matte', 'speckle'], True)])
        s = r.uniform(0.5, 0.95)
        o += [lathe([(q, z), (q, z), (q * 1.0, z + h * s * 0.6), (q * 0.75, z + h * 0.88), (0, z + h), (0, z + h - 0.02), (q * 0.73, z + h * 0.86),
            (q * 0.975, z + h * s * 0.6), (q * 0.975, z), (q * 0.975, z), (q, z)], g, n=6), *move(knob(r, C, g, r.uniform(0.06, 0.1)), z=z + h - 0.01)]
        return o + cake_on(r, C, R * 0.62, z, h * 0.55)
    return o + cake_on(r, C, R * 0.8, z, r.uniform(0.2, 0.4))


def cake_on(r, C, R, z, h):
    o = [] if r.random() < 0.6 else [lathe([(0, z), (R * 1.1, z), (R * 1.1, z + 0.008), (0, z + 0.008)], make_mat('paper', (0.95, 0.94, 0.9), r),
        smoothp=False, seg=96, flute=18, fdepth=0.06)]
    return o + (move(cake(r, C, R * r.uniform(0.8, 1), h), z=z + 0.004, rz=r.uniform(0, 6)) if r.random() < 0.5 else treats(r, C, R, z, min(0.16, h * 0.5)))


def treats(r, C, R, z, s):
    ks, o, n = r.sample(['cup', 'macaron', 'ring', 'tart', 'biscuit'], r.choice([1, 1, 2])), [], int(min(9, 5.2 * R / s / 2))
    for i in range(n):
        o += move(bake_of(r, C, r.choice(ks), s), *(u3(6.283 * i / n, 0, R - s)[:2]), z, rz=r.uniform(0, 6)) if r.random() < 0.9 else []
    return o


def egg(r, C, R):
    m = make_mat(r.choice(['matte', 'gloss', 'speckle', 'wood', 'carpet']), r.choice([(0.93, 0.88, 0.8), (0.8, 0.6, 0.45), (0.7, 0.8, 0.8), C.color,
        r.choice(PAL)]), r)
    o = [lathe([(0, 0), (R * 0.6, R * 0.15), (R, R * 0.95), (R * 0.72, R * 2.0), (R * 0.3, R * 2.5), (0, R * 2.62)], m, n=6)]
    if r.random() < 0.3:
        o += [lathe([(np.interp(z, [0.15, 0.95, 2.0], [0.6, 1.03, 0.75]) * R, (z + d) * R) for d in (-0.1, 0.1)], C.mat(['gloss', 'paper'], alt=True),
            smoothp=False) for z in [0.95, 1.6][: r.randint(1, 2)]]
    return o


def cosy(r, C, R):
    """A warm hat for an egg whose widest place is R, with a pompon, ears or a bow."""
    m, H = r.choice([print_mat(r, C.color, 0.3), C.mat(['knit', 'fabric', 'carpet'])]), R * r.uniform(2.2, 3.2)
    o = [lathe([(R * 1.2, 0), (R * 1.25, R * 0.3), (R * 1.1, H * 0.5), (R * 0.55, H * 0.88), (0, H)], m, n=6),
        hoop(R * 1.2, R * 0.14, C.mat(['knit', 'fabric'], alt=True), R * 0.14)]
    k = r.choice(['pom', 'ears', 'stalk', 'tassel'])
    if k == 'pom':
        return o + [blob(R * 0.42, R * 0.42, R * 0.42, C.mat(['carpet'], alt=True), 0.2, 6, 3, at=(0, 0, H * 1.03))]
    if k == 'ears':
        return o + [whorl([(i * 1.57, 1.2, R * 1.9, 0.2, r.uniform(-1.2, 0.2), (0, i * R * 0.4, H * 0.85)) for i in (-1, 1)], m, 0.4)]
    if k == 'stalk':
        return o + [pipe([(0, 0, H * 0.97), (R * 0.2, 0, H + R * 0.5), (R * 0.7, 0, H + R * 0.7)], [R * 0.14, R * 0.1], m),
            whorl([(0.5, 0.3, R, 0.3, -0.5, (0, 0, H)), (3.4, 0.3, R, 0.3, -0.5, (0, 0, H))], make_mat('fabric', r.choice(LEAF), r), 0.15)]
    return o + [pipe([(0, 0, H * 0.97), (R * 0.5, 0, H + R * 0.2), (R * 1.0, 0, H * 0.7)], R * 0.08, m, seg=6),
        *tassel(r, (R * 1.05, 0, H * 0.7), (0.3, 0, -1), R * 1.3, C.mat(['fabric'], alt=True), 12)]


def one_cup(r, C, form, m, R, h):
    """A cup for an egg; (objects, height where the egg sits)."""
    p = {'glass': [(R * 0.9, 0), (R * 0.3, h * 0.25), (R * 0.3, h * 0.45), (R * 0.9, h * 0.75)], 'tub': [(R * 0.9, 0), (R * 0.9, 0), (R * 0.95, h * 0.3)],
        'waist': [(R, 0), (R * 0.5, h * 0.5)], 'bulb': [(R * 0.6, 0), (R * 1.3, h * 0.5)], 'feet': [(R * 0.5, R * 0.1), (R * 0.85, h * 0.3)],
        'saucer': [(R * 0.5, 0.02), (R * 0.4, h * 0.2), (R, h * 0.7)]}.get(form, [])
    if form == 'ring':
        q = R * 0.22
        return [hoop(R * 0.95, q * (1 + 0.5 * (i == 1)), m, q * (1 + 1.7 * i)) for i in range(3)], q * 6 - R * 0.75
    if form == 'cube':
        return [rbox(R * 2.3, R * 2.3, h * 0.7, 0.02, m, 3), hoop(R * 0.95, 0.02, m, h * 0.7)], h * 0.7 - R * 0.75
    o = [lathe([(0, 0), *p, (R, h), (R, h), (R * 0.86, h), (R * 0.7, h - R * 0.4), (0, h - R * 0.7)], m, n=5)]
    if form == 'saucer':
        o.append(lathe([(0, 0.004), (R * 1.4, 0), (R * 2.1, 0.05), (R * 2.0, 0.06), (R * 1.4, 0.02), (0, 0.02)], m))
    if form == 'feet':
        o += [blob(R * 0.6, R * 0.3, R * 0.25, m, at=(R * 0.5, s * R * 0.4, R * 0.2), sub=2) for s in (-1, 1)]
    return o, h - R * 0.68


def carrier(r, C, o, way, n, R, h, wide, deep):
    """Puts cups on a board and a handle over them."""
    tm = r.choice([wood(r), stuff(r, C, alt=True)])
    if way in ('board', 'carrier', 'ring'):
        move(o, z=0.04)
        o.append(slab(circle(wide / 2 + R * 0.5) if way == 'ring' else rounded(wide, deep, 0.08), 0.04, tm))
    if way == 'carrier' or (way == 'ring' and r.random() < 0.6):
        H, q = h + R * r.uniform(4, 6), r.uniform(0.014, 0.03)
        if way == 'ring' or n == 6:
            o += [pipe([(0, 0, 0.02), (0, 0, H)], q, r.choice([wire(r), tm])), *move([hoop(0.13, q, wire(r))], z=H + 0.12, rx=math.pi / 2)]
        else:
            o.append(pipe(arch(wide * 0.97, H, 0.03, p=r.uniform(0.4, 1)), q, r.choice([wire(r), tm]), n=1, flat=1.5))
    return o


def G_egg_cups(r, C):
    """Cups with eggs, some under warm hats, with spoons, on a board or in a carrier."""
    n, R, h, form, o = r.choice([1, 2, 2, 3, 4, 6]), 0.17, r.uniform(0.24, 0.5), r.choice(['glass', 'glass', 'tub', 'waist', 'bulb', 'saucer', 'ring', 'cube',
        'feet']), []
    m, same, way = stuff(r, C, WARE + ['wood', 'wood']), r.random() < 0.6, r.choice(['row', 'ring', 'carrier', 'board',
        'heap']) if n > 1 else r.choice(['row', 'board'])
    gap, hat = R * (4.6 if form == 'saucer' else r.uniform(2.5, 3.4)), r.choice([0, 0, 0.4, 0.9])
    cols = 3 if n == 6 else 2 if n == 4 and way == 'carrier' else n
    for i in range(n):
        x, y = (i % cols - (cols - 1) / 2) * gap, (i // cols - (n // cols - 1) / 2) * gap * 1.1
        if way == 'ring' or (way == 'heap' and n > 2):
            x, y = u3(6.283 * i / n + 0.5, 0, gap * 0.5 / math.sin(math.pi / n))[:2]
        p, z = one_cup(r, C, form, m if same else stuff(r, C, WARE + ['wood'], r.random() < 0.5), R, h)
        if r.random() < 0.9:
            p += move(egg(r, C, R * 0.86), z=z, rx=r.uniform(-0.1, 0.1))
            p += move(cosy(r, C, R * 0.9), z=max(z + R * 0.7, 0.02), rz=r.uniform(0, 6)) if r.random() < hat else []
        if way == 'heap' and r.random() < 0.3:
            p += floor(towards(spoon(r, C, 0.8), (R * 1.8, 0, 0.03), u3(r.uniform(1, 2), -0.02)))
        o += move(p, x, y, rz=r.uniform(-0.6, 0.6))
    wide, deep = (cols * gap + R, (n // cols) * gap * 1.1 + R) if way != 'ring' else (gap * 1.5 + R * 2 + gap / math.sin(math.pi / n) * 0.6,) * 2
    o = carrier(r, C, o, way, n, R, h, wide, deep)
    if r.random() < 0.3:
        o += floor(towards(spoon(r, C, r.uniform(0.6, 0.9)), (-wide * 0.3, -deep / 2 - 0.06, 0.03), u3(r.uniform(-0.4, 0.4), -0.02)))
    return o


NAMES = 'cactus succulents orchid hanging_pot bonsai toadstools plant_stakes rolling_pin whisk kettle honey_pot pestle cake_stand egg_cups'.split()
KINDS = {k: globals()['G_' + k] for k in NAMES}
LYING = {'plant_stakes', 'whisk'}
