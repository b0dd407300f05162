"""Fifteen animals and figures: hedgehog, fox, cat, owl, hen, snail, whale or fish, dinosaur, giraffe, gnome, angel or fairy, snowman, soldier
or robot, butterfly on a stick, dragonfly; in wood, clay, felt, knit, metal or paper, with tails, ears, spines, wings, legs and hats that reach out.

Each G_* takes a random.Random and a Col (products.py) and gives a list of objects of any size; they look along x and stand on z = 0.
"""

import math

import bpy  # noqa: F401 (gives mathutils)
import numpy as np
from mathutils import Matrix

from goods_parts import *
from goods_thin import STRAW, TWIG, bow, wavy

HAIR = [(0.93, 0.91, 0.87), (0.6, 0.58, 0.56), (0.42, 0.27, 0.16), (0.75, 0.5, 0.25), (0.12, 0.1, 0.09), (0.65, 0.28, 0.15), (0.9, 0.8, 0.5)]
FOUR = [(0.22, -1), (0.22, 1), (-0.22, -1), (-0.22, 1)]


def skin(r, C, alt=False):
    k = r.random()
    if k < 0.15:
        return wood(r)
    if k < 0.3:
        return print_mat(r, C.alt_c if alt else C.color, r.uniform(0.25, 0.8))
    return C.mat(['gloss', 'gloss', 'speckle', 'matte', 'fabric', 'carpet', 'knit', 'linen', 'metal', 'paper', 'wood', 'dip'], alt, r.uniform(0.7, 2))


def accent(r):
    return make_mat(r.choice(['gloss', 'matte', 'fabric', 'wood', 'metal', 'paper']), r.choice(PAL), r)


def black(r):
    return make_mat(r.choice(['gloss', 'matte']), r.choice([(0.04, 0.04, 0.05), (0.12, 0.07, 0.05), (0.06, 0.09, 0.18)]), r)


def pale(r, C):
    return make_mat(r.choice(['matte', 'fabric', 'carpet', 'gloss', 'paper']), r.choice([C.light(), C.light(), C.alt_c, (0.95, 0.8, 0.7)]), r)


def body(pts, m, n=6, seg=16, flat=1.0):
    """A limb through points (x, y, z, radius) that may pass the vertical, in an upright plane or nearly; `flat` scales it across that plane."""
    q = resample(pts, n)
    return move([tube([(x, z, -y) for x, y, z in q[:, :3]], np.maximum(q[:, 3], 0.003), m, seg=seg, flat=flat)], rx=math.pi / 2)[0]


def cone(R, L, m, at, d, seg=12, flat=1.0):
    o = [lathe([(0, 0), (R, 0), (R * 0.8, L * 0.3), (R * 0.4, L * 0.7), (0, L)], m, seg=seg, smoothp=False)]
    xf(o, Matrix.Diagonal((flat, 1, 1, 1)))
    return aim(o, at, d)


def fin(poly, t, m, x=0, y=0, z=0, rz=0.0, ry=0.0, rx=math.pi / 2):
    """An outline in x, z, upright, `t` thick."""
    return move([slab(poly, t, m, z=-t / 2)], x=x, y=y, z=z, rz=rz, ry=ry, rx=rx)


def eyes(r, x, y, z, s):
    k, white, big, o = black(r), make_mat('gloss', (0.93, 0.93, 0.9), r), r.random() < 0.35, []
    for q in (-1, 1):
        o += [ball(s * 1.5, white, (x - s * 0.4, q * y, z), 2)] if big else []
        o.append(ball(s, k, (x + (s * 0.55 if big else 0), q * y, z), 2))
    return o


def face(r, m, light, s, snout, ear, whiskers=False):
    """The head of a beast about the origin: skull, muzzle, nose, ears, eyes."""
    k, lean, splay = black(r), r.uniform(-0.4, 0.3), r.uniform(0.1, 0.8)
    o = [blob(s, s * r.uniform(0.88, 1.15), s * r.uniform(0.8, 0.95), m, sub=3), ball(s * 0.13, k, (s * (1 + snout), 0, -s * 0.22), 2)]
    o.append(body([(s * 0.3, 0, -s * 0.2, s * 0.5), (s * 0.8, 0, -s * 0.24, s * 0.42), (s * (0.98 + snout), 0, -s * 0.25, s * 0.15),
        (s * (1.02 + snout), 0, -s * 0.25, s * 0.04)], light))
    for q in (-1, 1):
        at, d = (-s * 0.05, q * s * 0.5, s * 0.55), (lean, q * splay, 1)
        o += cone(s * 0.36, ear, m, at, d, flat=0.45) + cone(s * 0.22, ear * 0.72, light, (at[0] + s * 0.09, at[1], at[2]), d, flat=0.45)
        for a in (-0.3, 0.05, 0.4) if whiskers else ():
            o.append(tube([(s * 0.95, q * s * 0.1, -s * 0.25), (s * 1.05, q * s * 1.25, -s * 0.25 + a * s)], s * 0.018, k, seg=4))
    return o + eyes(r, s * 0.84, s * 0.4, s * 0.22, s * r.uniform(0.09, 0.14))


def plume(pts, m, tip, share=0.65):
    """A thick tail with an end of another colour."""
    q = resample(pts, 5)
    i = int(len(q) * share)
    return [body(q[: i + 2], m, 1), body(q[i:], tip, 1)]


def neckcloth(r, x, y, z, R, m, drop):
    """A scarf round a neck of radius R, one or two ends hanging before it."""
    o = [hoop(R, R * r.uniform(0.2, 0.34), m, 0)]
    for a in r.sample([-0.6, -0.2, 0.3, 0.7], r.randint(1, 2)):
        c, s = math.cos(a) * R, math.sin(a) * R
        o.append(tube([(c, s, 0), (c * 1.35, s * 1.3, -drop * 0.3), (c * 1.5, s * 1.5, -drop)], R * 0.3, m, seg=10, flat=0.3))
    return move(o, x=x, y=y, z=z, rz=r.uniform(-0.5, 0.5))


def star(s, m, t=0.03, n=5):
    return slab([((s if j % 2 == 0 else s * 0.45) * math.sin(j * math.pi / n),
        (s if j % 2 == 0 else s * 0.45) * math.cos(j * math.pi / n)) for j in range(2 * n)][::-1], t, m, z=-t / 2)


def foot_plate(r, w, d):
    return slab(rounded(w, d, min(w, d) * r.choice([0.1, 0.3, 0.49])), r.uniform(0.03, 0.09), r.choice([wood(r), accent(r)]))


def quills(r, mode, q, L, W, H, z, long):
    """A coat of folded paper, tufts, sticks or cones over a body of half axes L, W, H at height z."""
    o = []
    if mode == 'fan':
        n = r.randint(9, 17)
        for i in range(n):
            a = math.pi * (i / (n - 1) - 0.5) * 0.95
            o += move([slab([(L * 0.75, 0)] + [((L * 0.98 + k % 2 * long * 0.5) * math.cos(t), (H + long) * math.sin(t)) for k,
                t in enumerate(np.linspace(0.5, math.pi, 16))], 0.008, q)], x=-L * 0.05, z=z * 0.95, rx=math.pi / 2 + a)
    else:
        for i in range({'sticks': 240, 'tufts': 130, 'cones': 95}[mode]):
            a, b = (i * 0.618034 % 1) * math.pi - math.pi / 2, r.uniform(-1, 0.62)
            c = math.sqrt(1 - b * b)
            d = (b, c * math.sin(a), c * math.cos(a))
            p = (L * 0.86 * d[0], W * 0.85 * d[1], z + H * 0.85 * d[2])
            back = (d[0] - 0.5, d[1] + r.uniform(-0.2, 0.2), d[2] + 0.15)
            if mode == 'tufts':
                o.append(ball(r.uniform(0.05, 0.075), q, p, 2))
            else:
                o += cone(0.05 if mode == 'cones' else 0.012, (long + 0.05) * r.uniform(0.8, 1.2), q, p, back, 6)
    return o


def G_hedgehog(r, C):
    m, q, mode = skin(r, C), skin(r, C, True), r.choice(['sticks', 'fan', 'tufts', 'cones'])
    L, W, H = r.uniform(0.38, 0.55), r.uniform(0.22, 0.36), r.uniform(0.22, 0.36)
    long, z = r.uniform(0.06, 0.24), H + r.uniform(0, 0.05)
    o = [blob(L * 0.92, W * 0.9, H * 0.9, m, at=(0, 0, z)), body([(L * 0.55, 0, z, H * 0.62), (L * 0.95, 0, z * 0.8, H * 0.4),
        (L * 1.3, 0, z * r.uniform(0.6, 0.8), 0.04), (L * 1.36, 0, z * 0.7, 0.02)], m), ball(r.uniform(0.03, 0.06), black(r), (L * 1.36, 0, z * 0.72), 3)]
    o += eyes(r, L * 1.0, H * 0.26, z * 0.8 + H * 0.28, 0.03)
    o += quills(r, mode, q, L, W, H, z, long)
    for x, y in FOUR:
        o.append(body([(x * L * 2.4, y * W * 0.5, z * 0.5, 0.06), (x * L * 2.5, y * W * 0.55, 0.03, 0.05), (x * L * 2.5 + 0.07, y * W * 0.55, 0.03, 0.02)], m,
            seg=10))
        if x > 0:
            o.append(blob(0.03, 0.06, 0.06, q if mode == 'fan' else m, at=(L * 0.75, y * H * 0.5, z + H * 0.45), sub=2))
    if r.random() < 0.4:
        s, x = r.uniform(0.07, 0.13), r.uniform(-0.25, 0.1)
        top = z + H + (long if mode != 'tufts' else 0.03) * 0.7 + s * 0.6
        o += [ball(s, accent(r), (x, 0, top), 3), tube([(x, 0, top + s * 0.8), (x + 0.02, 0.01, top + s * 1.5)], 0.01, black(r),
            seg=5)] + move([leaf(s * 1.6, make_mat('matte', r.choice(GREEN), r), 0.3)], x=x, z=top + s * 1.1, rz=r.uniform(0, 6))
    if r.random() < 0.3:
        xf(o, Matrix.Translation((0, 0, L * 0.8)) @ Matrix.Rotation(-r.uniform(0.7, 1.2), 4, 'Y'))
    return o


def curled(m, light, fat, s, h, turn, end):
    """A sleeping fox: a ring of a body, its tail round it, the head h on both."""
    a = np.linspace(-0.5, 3.6, 12)
    o = [tube([(0.3 * math.cos(t), 0.3 * math.sin(t), 0.17) for t in a], np.interp(a, [-0.5, 0.3, 3.0, 3.6], [0.08, 0.17, 0.18, 0.1]), m, seg=18),
        blob(0.26, 0.26, 0.14, m, at=(0, 0, 0.14))]
    a = np.linspace(3.2, end, 16)
    q = [(0.36 * math.cos(t), 0.36 * math.sin(t), fat + 0.02) for t in a]
    R = fat * np.sin(np.linspace(0.35, math.pi - 0.03, 16)) ** 0.8
    return o + [tube(q[:11], R[:11], m), tube(q[10:], R[10:], light)] + move(h, x=0.28, y=-0.14, z=0.12 + s * 0.75, rz=-turn)


def G_fox(r, C):
    c = r.choice([(0.78, 0.38, 0.15), (0.85, 0.5, 0.25), (0.6, 0.28, 0.15), (0.5, 0.5, 0.52)])
    m = make_mat(r.choice(['fabric', 'carpet', 'wood', 'gloss', 'paper', 'matte', 'speckle']), c, r) if r.random() < 0.4 else skin(r, C)
    light, dark, pose, s = pale(r, C), r.choice([m, black(r), skin(r, C, True)]), r.choice(['sit', 'sit', 'stand', 'curl']), r.uniform(0.15, 0.23)
    h = face(r, m, r.choice([light, light, m]), s, r.uniform(0.35, 0.9), s * r.uniform(0.8, 1.7))
    fat, bend = r.uniform(0.09, 0.19), r.uniform(-0.3, 0.5)
    if pose == 'sit':
        w, t = r.uniform(0.2, 0.32), r.uniform(0.45, 0.85)
        o = [lathe([(0, 0), (w, 0), (w * 1.08, t * 0.2), (w * 0.75, t * 0.6), (s * 0.6, t), (0, t * 1.04)], m, n=5),
            blob(w * 0.35, w * 0.5, t * 0.34, light, at=(w * 0.66, 0, t * 0.48))]
        o += [body([(w * 0.55, k * w * 0.32, t * 0.55, 0.055), (w * 0.95, k * w * 0.32, 0.05, 0.045), (w * 1.25, k * w * 0.32, 0.035, 0.035)], dark,
            seg=10) for k in (-1, 1)]
        o += move(h, x=s * 0.35, z=t + s * 0.45, rz=r.uniform(-0.7, 0.7), ry=r.uniform(-0.2, 0.3))
        up = r.uniform(0, 0.6)
        return o + move(plume([(-w * 0.6, 0, 0.1, 0.05), (-w - 0.15, 0, fat + 0.02, fat * 0.8), (-w - 0.32, 0, fat + up * 0.6, fat),
            (-w - 0.3 - bend * 0.4, 0, fat + 0.03 + up * 1.2, fat * 0.7), (-w - 0.3 - bend * 0.8, 0, fat + 0.03 + up * 1.5, 0.005)], m, light),
            rz=r.uniform(-1.1, 1.1)) + (neckcloth(r, 0, 0, t * 0.92, s * 0.62, accent(r), t * 0.4) if r.random() < 0.35 else [])
    if pose == 'stand':
        L, leg, w = r.uniform(0.25, 0.42), r.uniform(0.2, 0.45), r.uniform(0.11, 0.16)
        z = leg + w * 0.6
        o = [body([(-L - w, 0, z, 0.02), (-L, 0, z, w), (0, 0, z + 0.02, w * 0.88), (L, 0, z + 0.03, w), (L + w * 0.9, 0, z + 0.06, 0.03)], m)]
        o += [body([(x * L * 4, y * w * 0.55, z, 0.06), (x * L * 4 + r.uniform(-0.08, 0.08), y * w * 0.6, 0.02, r.uniform(0.02, 0.04))], dark, seg=10) for x,
            y in FOUR]
        o += [body([(L * 0.85, 0, z, w * 0.8), (L + 0.12, 0, z + 0.22, s * 0.5)], m)] + move(h, x=L + 0.17, z=z + 0.24 + s * 0.3, rz=r.uniform(-0.8, 0.8),
            ry=r.uniform(-0.1, 0.4))
        return o + plume([(-L, 0, z + 0.03, 0.06), (-L - 0.2, 0, z + 0.05 + bend * 0.2, fat * 0.8), (-L - 0.42, 0, z + bend * 0.9, fat),
            (-L - 0.62, 0, z + bend * 1.2, 0.005)], m, light)
    return curled(m, light, fat, s, h, r.uniform(1.2, 2.6), r.uniform(5.6, 7.0))


def cat_tail(r, x, z, t, T, up, m, tip):
    """A thin tail from the root (x, z): curled, raised, hooked or along the floor."""
    o = []
    path = {'curl': [(0, 0), (-0.3, 0.0), (-0.5, 0.25), (-0.45, 0.6), (-0.25, 0.65), (-0.22, 0.45), (-0.34, 0.42)],
        'stand': [(0, 0), (-0.14, 0.1), (-0.2, 0.5), (-0.15, 1.0)], 'hook': [(0, 0), (-0.18, 0.12), (-0.15, 0.6), (-0.25, 0.95), (-0.45, 0.9), (-0.46, 0.72)]}
    if up == 'floor':
        a = r.choice([-1, 1])
        o.append(tube(resample([(x + 0.05, 0, z), (x - 0.2, a * 0.05, max(t, z * 0.4)), (x - 0.3 * T, a * 0.3 * T, t), (x, a * 0.5 * T, t),
            (x + 0.3 * T, a * 0.45 * T, t)], 6), t, m, seg=10))
    else:
        q = [(x + 0.05, 0, z, t * 1.2)] + [(x + T * u, r.uniform(-0.03, 0.03), z + T * v, t) for u, v in path[up]]
        o += plume(q, m, tip, 0.75)
    return o


def G_cat(r, C):
    m, light, s, pose = skin(r, C), pale(r, C), r.uniform(0.14, 0.24), r.choice(['sit', 'sit', 'arch', 'loaf', 'stretch'])
    light = r.choice([light, m])
    h = face(r, m, light, s, r.uniform(0.0, 0.15), s * r.uniform(0.5, 1.2), r.random() < 0.6)
    t, T, up = r.uniform(0.02, 0.05), r.uniform(0.4, 1.0), r.choice(['curl', 'stand', 'hook', 'floor'])
    L, leg, w, hump = r.uniform(0.25, 0.4), {'arch': r.uniform(0.25, 0.5), 'loaf': 0.02, 'stretch': 0.2}.get(pose, 0.1), r.uniform(0.12,
        0.2), 0.25 if pose == 'arch' else 0.04
    if pose == 'sit':
        k, z = r.uniform(0.22, 0.34), r.uniform(0.4, 0.8)
        o = [lathe([(0, 0), (k, 0), (k * 1.1, z * 0.25), (k * 0.75, z * 0.6), (s * 0.7, z), (0, z * 1.03)], m, n=5, wob=r.uniform(0, 0.08), rng=r)]
        o += [body([(k * 0.5, y * k * 0.3, z * 0.6, 0.05), (k * 0.95, y * k * 0.3, 0.05, 0.045), (k * 1.2, y * k * 0.3, 0.035, 0.03)], r.choice([m, light]),
            seg=10) for y in (-1, 1)]
        o += move(h, x=s * 0.2, z=z + s * 0.5, rz=r.uniform(-0.9, 0.9), rx=r.uniform(-0.25, 0.25))
        root, collar = (-k * 0.8, 0.07), (0, z * 0.98, s * 0.62)
    else:
        z, drop = leg + w, 0.14 if pose == 'stretch' else 0
        o = [body([(-L - w, 0, z, 0.02), (-L - w * 0.5, 0, z, w * 0.8), (-L * 0.5, 0, z + hump * 0.7, w), (0, 0, z + hump, w * 0.95),
            (L * 0.6, 0, z + hump * 0.5 - drop * 0.4, w), (L + w * 0.4, 0, z - drop, w * 0.7), (L + w, 0, z - drop, 0.02)], m)]
        fwd = 0.35 if pose == 'stretch' else 0.03
        o += [body([(x * L * 4, y * w * 0.55, z - (drop if x > 0 else 0), 0.07),
            (x * L * 4.2 + (fwd if x > 0 else 0) * 0.5, y * w * 0.6, leg * 0.4 + 0.03, 0.045),
            (x * L * 4.2 + (fwd if x > 0 else 0.02), y * w * 0.6, 0.035, 0.03)], r.choice([m, m, light]), seg=10) for x, y in FOUR]
        o += move(h, x=L + w * 0.6 + s * 0.4, z=z + s * 0.5 - drop * 0.8, rz=r.uniform(-0.9, 0.9), ry=r.uniform(-0.2, 0.3))
        root, collar = (-L - w * 0.6, z + 0.02), None
    o += cat_tail(r, *root, t, T, up, m, r.choice([m, m, light, skin(r, C, True)]))
    return o + (neckcloth(r, 0, 0, collar[1], collar[2], accent(r), 0.1) if collar and r.random() < 0.4 else [])


def owl_sides(r, R, H, e, ez, m, q, light):
    """Eyes in discs or rings, tufts, and wings folded or spread."""
    o, spread, form = [], r.uniform(0, 1) ** 2 * 1.6, r.choice(['disc', 'ring', 'ball'])
    for k in (-1, 1):
        at, d = (R * 0.68, k * e * 0.92, ez), (1, k * 0.3, 0.05)
        o += aim([lathe([(0, -0.1), (e, -0.1), (e, 0.06), (e * 0.8, 0.09), (0, 0.08)], light, seg=40, smoothp=False, flute=r.choice([0, 12]), fdepth=0.12)], at,
            d)
        o += aim([ball(e * r.uniform(0.35, 0.6), black(r), (0, 0, 0.09), 3, 0.5)] + ([hoop(e * 0.72, e * 0.13, q, 0.08)] if form == 'ring' else []), at, d)
        o += cone(R * 0.24, H * r.uniform(0.12, 0.34), r.choice([m, q]), (R * 0.1, k * R * 0.55, H * 0.88), (r.uniform(-0.2, 0.3), k * r.uniform(0.1, 0.8), 1),
            flat=0.5)
        wing = smooth_outline([(0, 0.08), (0.14, -0.02), (0.15, -0.25), (0.02, -0.52), (-0.12, -0.3), (-0.12, -0.02)], 6)
        p = [slab([(x * R * 3, y * H) for x, y in wing], 0.05, q, z=-0.025)] + [slab([(x * R * 2 - 0.02, y * H * 0.5 - 0.04 - 0.09 * i) for x, y in wing], 0.07,
            r.choice([m, light, q]), z=-0.035) for i in range(r.randint(0, 2))]
        xf(p, Matrix.Rotation(math.pi / 2, 4, 'X'))
        o += move(p, y=k * (R * 0.93), z=H * 0.6, rx=k * (0.1 + spread))
    return o


def G_owl(r, C):
    m, q, light = skin(r, C), skin(r, C, True), pale(r, C)
    R, H, neck = r.uniform(0.26, 0.4), r.uniform(0.7, 1.0), r.uniform(0.8, 1.05)
    o = [lathe([(0, 0), (R * 0.6, 0), (R * 0.95, H * 0.2), (R, H * 0.42), (R * 0.86, H * 0.62), (R * neck * 0.95, H * 0.8), (R * 0.6, H * 0.97), (0, H)], m,
        n=5, seg=r.choice([64, 64, 6, 8]))]
    e, ez = R * r.uniform(0.3, 0.46), H * 0.78
    o += owl_sides(r, R, H, e, ez, m, q, light)
    o += cone(R * 0.15, R * 0.42, accent(r), (R * 0.82, 0, ez - e * 0.35), (0.7, 0, -0.8), 8)
    if r.random() < 0.75:
        rows = r.randint(2, 4)
        o += [move([leaf(R * 0.42, light, 0.35)], x=R * (0.86 + 0.03 * j), y=(i - (2 + j % 2) / 2 + 0.0) * R * 0.3, z=H * (0.5 - 0.09 * j),
            ry=math.pi / 2 - 0.1)[0] for j in range(rows) for i in range(3 + j % 2)]
    else:
        o.append(blob(R * 0.5, R * 0.66, H * 0.25, light, at=(R * 0.55, 0, H * 0.35)))
    z, foot = r.choice([0, 0.06, 0.06]), accent(r)
    move(o, z=z)
    o += [tube([(R * 0.3, k * R * 0.35, z + 0.06), (R * r.uniform(0.85, 1.1), k * R * 0.35 + i * 0.07, z + 0.015)], [0.035, 0.018], foot, seg=8) for k in (-1,
        1) for i in (-1, 0, 1)]
    if z:
        o.append(tube([(0.03, y, 0.045 + 0.012 * math.sin(7 * y)) for y in np.linspace(-r.uniform(0.4, 0.8), r.uniform(0.4, 0.8), 12)],
            np.linspace(0.075, 0.05, 12), make_mat('wood', r.choice(TWIG), r)))
        move(o, z=0.043)
    return o


def hen_tail(r, base, ms):
    """Feathers that fan out behind a place."""
    o = []
    tail, form = r.randint(4, 9), r.choice(['leaf', 'plume', 'wire'])
    for i in range(tail):
        a, k, T = 0.5 + 1.4 * i / tail, r.choice(ms), r.uniform(0.3, 0.65)
        y = (i % 3 - 1) * 0.06
        end = (base[0] - T * math.cos(a), y * 2, base[2] + T * math.sin(a))
        o.append(body([(base[0] + 0.08, 0, base[2] - 0.05, 0.03), ((base[0] + end[0]) / 2 + 0.03, y, (base[2] + end[2]) / 2 + 0.08,
            {'leaf': 0.075, 'plume': 0.05, 'wire': 0.012}[form]), (*end, 0.05 if form == 'leaf' else 0.02),
            (end[0] - 0.08, y * 2, end[2] - (0.1 if form == 'plume' else -0.02), 0.006)], k, seg=8, flat=0.3 if form == 'leaf' else 0.8))
    return o


def hen_feet(r, mode, W, z, gold):
    """Legs with toes, a stick in a foot, or a nest."""
    o = []
    if mode == 'legs':
        for k in (-1, 1):
            x = r.uniform(-0.06, 0.1)
            o.append(tube([(0, k * W * 0.4, z - W * 0.5), (x, k * W * 0.45, 0.012)], 0.016, gold, seg=7))
            o += [tube([(x, k * W * 0.45, 0.014), (x + 0.15 * math.cos(a), k * W * 0.45 + 0.15 * math.sin(a), 0.01)], 0.012, gold, seg=6) for a in (-0.6, 0,
                0.6, math.pi)]
    elif mode == 'stick':
        o += [tube([(0, 0, 0.03), (0, 0, z)], r.uniform(0.012, 0.03), r.choice([wood(r), wire(r)]), seg=8), foot_plate(r, r.uniform(0.25, 0.5), 0.25)]
    elif r.random() < 0.6:
        o += move([hoop(W * 1.05, 0.06, make_mat('carpet', r.choice(STRAW), r), 0.05)],
            s=1.0) + [tube([(W * 1.05 * math.cos(a), W * 1.05 * math.sin(a), 0.08),
            (W * r.uniform(1.2, 1.7) * math.cos(a + 0.3), W * 1.4 * math.sin(a + 0.3), r.uniform(0.01, 0.14))], 0.007, make_mat('matte', r.choice(STRAW), r),
            seg=4) for a in np.linspace(0, 6.2, 22)]
    return o


def G_hen(r, C):
    m, q, red, gold = skin(r, C), skin(r, C, True), make_mat(r.choice(['matte', 'gloss', 'fabric']), r.choice([(0.75, 0.12, 0.12), (0.8, 0.25, 0.2), C.alt_c]),
        r), make_mat('matte', r.choice([(0.9, 0.65, 0.2), (0.85, 0.5, 0.15), (0.2, 0.18, 0.16)]), r)
    mode, L, W = r.choice(['legs', 'legs', 'sit', 'stick']), r.uniform(0.28, 0.42), r.uniform(0.17, 0.32)
    leg = {'legs': r.uniform(0.15, 0.6), 'stick': r.uniform(0.4, 0.8)}.get(mode, 0)
    z, t, s = leg + W * 0.85, r.uniform(0.15, 0.5), r.uniform(0.09, 0.14)
    hx, hz = L * r.uniform(0.75, 1.1), z + W * 0.3 + t
    o = [body([(-L * 1.35, 0, z + W * r.uniform(0.3, 1.2), 0.03), (-L * 0.8, 0, z + W * 0.3, W * 0.6), (0, 0, z, W), (L * 0.7, 0, z + W * 0.2, W * 0.72),
        (hx, 0, z + t * 0.75, s * 0.85), (hx + s * 0.2, 0, hz, s), (hx + s * 0.4, 0, hz + s * 0.9, 0.02)], m, seg=20)]
    o += cone(s * 0.4, s * r.uniform(0.8, 1.8), gold, (hx + s * 0.8, 0, hz), (1, 0, -0.2), 8) + eyes(r, hx + s * 0.72, s * 0.65, hz + s * 0.3, 0.018)
    n = r.randint(3, 5)
    o += [ball(s * r.uniform(0.3, 0.5), red, (hx + s * (0.75 - 1.5 * i / n), 0, hz + s * (0.85 + 0.25 * math.sin(i + 0.6))), 2,
        r.uniform(1, 1.9)) for i in range(n)]
    o += [blob(s * 0.2, s * 0.16, s * r.uniform(0.35, 0.7), red, at=(hx + s * 0.95, k * s * 0.25, hz - s * 0.6), sub=2) for k in (-1, 1)]
    o += hen_tail(r, (-L, 0, z + W * 0.5), [m, q, q, red])
    wing = smooth_outline([(0.2, 0.05), (0.05, 0.14), (-0.2, 0.1), (-0.34, 0.0), (-0.15, -0.1), (0.1, -0.1)])
    for k in (-1, 1):
        o += fin([(x * L * 2.6, y * W * 4) for x, y in wing], W * 0.25, q, y=k * W * 0.97, z=z + W * 0.1, rx=math.pi / 2 + k * r.uniform(-0.1, 0.5))
    o += hen_feet(r, mode, W, z, gold)
    return o


def G_snail(r, C):
    m, q, tip, mode = skin(r, C), skin(r, C, True), accent(r), r.choice(['round', 'tower', 'coil', 'flat'])
    L, w, up = r.uniform(0.45, 0.7), r.uniform(0.08, 0.15), r.uniform(0.2, 0.5)
    h = w * 0.75
    o = [body([(-L, 0, 0.012, 0.012), (-L * 0.5, 0, h * 0.6, h * 0.6), (0, 0, h, h), (L * 0.65, 0, h * 1.1, h), (L * 0.9, 0, up * 0.6, h * 0.75),
        (L * 1.0, 0, up, h * r.uniform(0.7, 1.0)), (L * 1.04, 0, up + h, 0.02)], m, flat=1.25)]
    for k in (-1, 1):
        f, a = r.uniform(0.12, 0.4), r.uniform(0.1, 0.6)
        e = (L * 1.0 + f * r.uniform(-0.2, 0.6), k * (w * 0.3 + f * a), up + h * 0.7 + f)
        o += [tube(resample([(L * 1.01, k * w * 0.3, up + h * 0.3), (L * 1.02, k * w * 0.35, up + h * 0.7 + f * 0.5), e], 5), r.uniform(0.008, 0.02),
            r.choice([m, tip]), seg=7), ball(r.uniform(0.022, 0.05), tip, e, 2)]
    o += eyes(r, L * 1.0 + h * 0.85, w * 0.35, up + h * 0.2, 0.022) if r.random() < 0.6 else []
    turns, R, grow = r.uniform(1.8, 3.6), r.uniform(0.26, 0.42), r.uniform(0.09, 0.16)
    a = np.linspace(0, turns * 2 * math.pi, 90)
    f = a / a[-1]
    thick = {'coil': 0.028 + 0.02 * f}.get(mode, R * (0.06 + f * r.uniform(0.3, 0.42)) * (2.6 / max(2.2, turns)))
    rad, rise = R * (0.04 + 0.75 * f ** r.uniform(0.9, 1.3)), (1 - f) * (r.uniform(0.4, 0.8) if mode == 'tower' else r.uniform(0.02, 0.12))
    p = [tube([(x * math.cos(t), x * math.sin(t), z) for x, t, z in zip(rad, a, rise)], thick, q, seg=16)]
    p += [tube([((x + k * 0.72) * math.cos(t), (x + k * 0.72) * math.sin(t), z + k * 0.72) for x, t, z, k in zip(rad, a, rise, np.broadcast_to(thick, (90,)))],
        grow * 0.12, tip, seg=6)] if r.random() < 0.35 and mode != 'coil' else []
    if mode == 'flat':
        p += [ball(R * 0.12, accent(r), (rad[k] * math.cos(a[k]), rad[k] * math.sin(a[k]), rise[k] + thick[k]), 2) for k in range(20, 90, 8)]
    xf(p, Matrix.Rotation(r.uniform(0, 6), 4, 'Z'))
    xf(p, Matrix.Rotation(math.pi / 2 if mode != 'tower' else r.uniform(0.0, 1.2), 4, 'X'))
    low = min(v.co.z for ob in p for v in ob.data.vertices)
    o += move(p, x=-L * 0.08, y=rise.max() * 0.4 if mode != 'tower' else 0, z=h * 1.15 - low, rz=r.uniform(-0.15, 0.15))
    if r.random() < 0.25:
        o += move([leaf(L * 2.6, make_mat('matte', r.choice(GREEN), r), 0.3)], x=-L * 1.3,
            z=-0.035) + [tube([(-L * 1.7, 0, 0.01), (-L * 1.2, 0, 0.012)], 0.014, make_mat('matte', r.choice(GREEN), r), seg=6)]
    return o


def spout(r, x, z, m):
    """Threads or wires that rise from a whale and fall outwards."""
    o, H = [], r.uniform(0.15, 0.35)
    for a in np.linspace(0, 6.28, r.randint(4, 8))[:-1]:
        c, s = math.cos(a), math.sin(a)
        o += [tube([(x, 0, z - 0.05), (x + c * 0.04, s * 0.04, z + H * 0.7), (x + c * 0.14, s * 0.14, z + H), (x + c * 0.22, s * 0.22, z + H * 0.6)], 0.014, m,
            seg=6), ball(0.026, m, (x + c * 0.22, s * 0.22, z + H * 0.6), 2)]
    return o


def fish_dress(r, L, W, H, t, q, light):
    """Fins above and below, and scales."""
    top, n = r.uniform(0.15, 0.4), r.randint(4, 9)
    rays = [(L * (0.45 - i / n), H * 0.85 + top * math.sin(0.4 + 2.4 * i / n) * (1 if i % 2 else r.uniform(0.7, 1))) for i in range(n)]
    o = fin([(L * 0.45, H * 0.7)] + rays + [(-L * 0.5, H * 0.4)], t, q)
    o += fin([(0, -H * 0.7), (-L * 0.1, -H - top * 0.6), (-L * 0.4, -H * 0.8), (-L * 0.35, -H * 0.4)], t, q)
    for x in np.linspace(0.3, -0.6, r.randint(3, 7)) if r.random() < 0.6 else ():
        for k in (-0.3, 0.0, 0.3):
            w = W * (0.96 if x > -0.25 else 0.62) * math.sqrt(1 - k * k)
            o += [blob(0.04, 0.02, 0.055, light, at=(L * x, y * w, H * k), sub=2) for y in (-1, 1)]
    return o


def whale_dress(r, L, W, H, m, light):
    """A pale belly, and a spout of threads."""
    o, belly = [], [(L * 0.93, 0, -H * 0.12, 0.1), (L * 0.4, 0, -H * 0.22, H * 0.83), (-L * 0.3, 0, -H * 0.16, H * 0.72), (-L * 0.6, 0, 0.0, 0.1)]
    if r.random() < 0.7:
        o.append(body(belly, light, 6, 20, W / H))
    return o + (spout(r, L * 0.4, H, r.choice([wire(r), accent(r)])) if r.random() < 0.6 else [])


def G_whale(r, C):
    """A whale, or a fish with its fins; on its belly, on a stick or on pegs."""
    m, q, light, fish = skin(r, C), skin(r, C, True), pale(r, C), r.random() < 0.5
    L, W, H = r.uniform(0.5, 0.7), r.uniform(0.07, 0.18) if fish else r.uniform(0.25, 0.36), r.uniform(0.2, 0.45) if fish else r.uniform(0.26, 0.36)
    up, o, k = 0.0 if fish else r.uniform(0.15, 0.5), [], r.uniform(0.9, 1.15)
    o.append(body([(L, 0, 0.0, 0.02), (L * 0.85, 0, 0, H * 0.6), (L * 0.4, 0, 0, H), (-L * 0.2, 0, 0, H * 0.85 * k), (-L * 0.75, 0, up * 0.5, H * 0.32),
        (-L, 0, up, H * 0.14)], m, 8, 24, W / H))
    o += eyes(r, L * 0.72, W * 0.72, H * 0.2, r.uniform(0.02, 0.05))
    fan, t = r.uniform(0.2, 0.42), r.choice([0.015, 0.04, 0.07])
    half, k = [(-0.1, 0.09), (-0.42, fan * 0.9), (-0.66, fan * 1.15), (-0.52, fan * 0.4)], r.uniform(0.5, 0.85)
    tail = [(x * k, y * 0.9) for x, y in smooth_outline([(0.12, 0)] + half + [(-0.44, 0)] + [(x, -y) for x, y in half[::-1]], 5)]
    o += fin(tail, t, r.choice([m, q]), x=-L * 0.97, z=up, rx=math.pi / 2 if fish else 0, ry=0 if fish else r.uniform(0.2, 1.0), rz=r.uniform(-0.3, 0.3))
    side = smooth_outline([(0.08, 0.02), (0.0, 0.32), (-0.18, 0.4), (-0.12, 0.05), (-0.05, -0.05)], 5)
    s, lean, fq = r.uniform(0.6, 1.3), r.uniform(-0.6, 0.5), r.choice([m, q, q])
    for y in (-1, 1):
        o += move([slab([(x * s, yy * s * y) for x, yy in side], t, fq, z=-t / 2)], x=L * 0.3, y=y * W * 0.75, z=-H * 0.2, rx=y * lean)
    o += fish_dress(r, L, W, H, t, q, light) if fish else whale_dress(r, L, W, H, m, light)
    o += [tube([(L * 0.99, 0, -0.03), (L * 0.8, -W * 0.75, -H * 0.1), (L * 0.6, -W * 0.93, -H * 0.06)], 0.012, black(r), seg=5)] if r.random() < 0.4 else []
    stand = r.choice(['stick', 'pegs']) if fish else r.choice(['stick', 'belly', 'belly'])
    low = -min(v.co.z for ob in o for v in ob.data.vertices)
    z = {'stick': H + r.uniform(0.15, 0.7), 'pegs': low + 0.05}.get(stand, low)
    move(o, z=z)
    if stand == 'belly':
        return o
    xs, peg = ([0.0] if stand == 'stick' else [-L * 0.3, L * 0.35]), r.choice([wire(r), wood(r)])
    return o + [tube([(x, 0, 0.02), (x, 0, z - H * 0.3)], r.uniform(0.012, 0.03), peg, seg=8) for x in xs] + [foot_plate(r,
        0.4 if stand == 'stick' else L * 1.5, r.uniform(0.2, 0.35))]


def back_row(r, p, w, q):
    """Spikes, plates or knobs along a line of points (x, y, z, radius), as big as the body is thick there."""
    o = []
    form, big = r.choice(['cone', 'plate', 'round', 'none']), r.uniform(0.07, 0.2)
    for i in range(4, len(p) - 3, r.choice([2, 3, 4])) if form != 'none' else ():
        d = p[i + 1][:3] - p[i - 1][:3]
        n = np.array([-d[2], 0, d[0]]) / np.linalg.norm(d)
        e, at = big * (0.35 + 0.65 * p[i][3] / w), p[i][:3] + n * p[i][3] * 0.85
        if form == 'cone':
            o += cone(e * 0.35, e * 1.1, q, at, n, 8)
        elif form == 'plate':
            o += aim(fin([(0, e * 1.15), (-e * 0.55, e * 0.5), (-e * 0.35, -e * 0.1), (e * 0.35, -e * 0.1), (e * 0.55, e * 0.5)], 0.025, q), at, n)
        else:
            o.append(ball(e * 0.4, q, at + n * e * 0.15, 2))
    return o


def dabs(r, p, L, upright, m):
    """Round spots on the sides of a body along points p (x, y, z, radius)."""
    o = []
    for _ in range(r.randint(6, 14)):
        x, a, k = r.uniform(-L, L), r.uniform(0.2, 1.2), r.choice([-1, 1])
        j = r.randint(14, 32) if upright else int(np.argmin(np.abs(p[:36, 0] - x)))
        d, R = p[j + 1][:3] - p[j - 1][:3], p[j][3] * 0.93
        n = np.array([-d[2], 0, d[0]]) / np.linalg.norm(d) * math.sin(a) + np.array([0, k * math.cos(a), 0])
        o.append(ball(0.035, m, p[j][:3] + n * R, 2))
    return o


def dino_head(r, s, m, q, dots, horned):
    """About the origin; with a collar and horns if horned."""
    jaw = r.uniform(0.7, 1.5)
    h = [blob(s, s * 0.85, s * 0.8, m, sub=3), body([(0, 0, 0, s * 0.6), (s * jaw, 0, -s * 0.1, s * 0.55), (s * (jaw + 0.5), 0, -s * 0.15, s * 0.3),
        (s * (jaw + 0.6), 0, -s * 0.15, 0.02)], m)] + eyes(r, s * 0.5, s * 0.66, s * 0.42, s * 0.18)
    if horned:
        h += [fin(circle(s * 1.5, 24), 0.04, q, x=-s * 0.6, z=s * 0.4, rz=math.pi / 2,
            rx=math.pi / 2 - 0.0)[0]] + sum([cone(s * 0.2, s * 1.3, dots, (s * 0.4, k * s * 0.45, s * 0.55), (0.8, k * 0.2, 0.7), 8) for k in (-1, 1)], [])
    return h


def G_dinosaur(r, C):
    m, q, dots, mode = skin(r, C), skin(r, C, True), accent(r), r.choice(['long', 'long', 'upright', 'low'])
    w, L, leg, T = r.uniform(0.14, 0.24), r.uniform(0.22, 0.38), r.uniform(0.12, 0.4), r.uniform(0.4, 0.95)
    z, N, bend = leg + w * 0.7, r.uniform(0.35, 0.9), r.uniform(-0.15, 0.4)
    s = r.uniform(0.09, 0.14) if mode == 'long' else r.uniform(0.13, 0.22)
    if mode == 'upright':
        z = leg + w
        P = [(-L - T, 0, 0.03 + max(0, bend), 0.012), (-L - T * 0.5, 0, 0.09, 0.06), (-L * 0.5, 0, z * 0.6, w * 0.7), (0, 0, z + 0.05, w * 1.05),
            (L * 0.35, 0, z + w * 1.7, w * 0.65), (L * 0.5, 0, z + w * 2.6, s * 0.8), (L * 0.55, 0, z + w * 2.9, s * 0.7)]
    else:
        rise = N if mode == 'long' else 0.04
        P = [(-L - T, 0, z + bend * 1.2 - 0.1, 0.008), (-L - T * 0.5, 0, z * 0.8 + bend * 0.25, w * 0.28), (-L, 0, z, w * 0.75), (0, 0, z + 0.05, w),
            (L, 0, z, w * 0.75), (L + w * 0.9 + 0.1 * rise, 0, z + rise * 0.5, s * 0.75 if mode == 'long' else w * 0.55),
            (L + w + 0.35 * rise, 0, z + rise, s * 0.7)]
    hx, _, hz, _ = P[-1]
    o = [body(P, m, 8, 18)]
    h = dino_head(r, s, m, q, dots, mode == 'low' and r.random() < 0.7)
    o += move(h, x=hx, z=hz + s * 0.2, rz=r.uniform(-0.3, 0.3), ry=r.uniform(-0.3, 0.3))
    for x, y in FOUR if mode != 'upright' else [(0, -1), (0, 1)]:
        o.append(body([(x * L * 3.8, y * w * 0.55, z, w * 0.5), (x * L * 3.9, y * w * 0.65, leg * 0.5, w * 0.33), (x * L * 3.9, y * w * 0.65, 0.01, w * 0.36)],
            r.choice([m, m, q]), seg=12))
        if mode == 'upright':
            o += [blob(w * 0.55, w * 0.32, 0.05, m, at=(w * 0.25, y * w * 0.68, 0.045), sub=3),
                tube([(L * 0.35, y * w * 0.4, z + w * 1.5), (L * 0.6, y * w * 0.75, z + w * 1.3), (L * 0.6 + r.uniform(0.08, 0.2), y * w * 0.7, z + w * 1.2)],
                [0.05, 0.035, 0.02], r.choice([m, q]), seg=8)]
    p = resample(P, 8)
    o += back_row(r, p, w, q)
    o += dabs(r, p, L, mode == 'upright', dots) if r.random() < 0.5 else []
    return o


def patches(r, q, B, K):
    """Spots flush with a trunk B and a neck K, both lines of (x, y, z, radius)."""
    o = []
    p = [(resample(B[1:4], 10), 0.06, 0.9), (resample(K, 8), 0.035, 0.98)]
    for i in range(r.randint(16, 40)) if r.random() < 0.85 else ():
        line, e, _ = r.choice(p)
        j, a, e = r.randint(1, len(line) - 2), r.uniform(0, 6.3), e * r.uniform(0.5, 1.1)
        d = line[j + 1][:3] - line[j - 1][:3]
        n = np.array([-d[2], 0, d[0]]) / np.linalg.norm(d) * math.cos(a) + np.array([0, 1, 0]) * math.sin(a)
        o += aim([blob(e, e * r.uniform(0.7, 1.1), 0.014, q, 0.3, 2, 2, i)], line[j][:3] + n * line[j][3] * 0.97, n)
    return o


def giraffe_head(r, s, m, q, muzzle):
    h = [body([(-s, 0, 0.02, 0.02), (0, 0, 0.02, s), (s * 1.6, 0, -s * 0.5, s * 0.7), (s * 2.4, 0, -s * 0.9, s * 0.6), (s * 2.8, 0, -s, 0.02)], m),
        blob(s * 0.6, s * 0.65, s * 0.5, muzzle, at=(s * 2.4, 0, -s * 0.9), sub=3)] + eyes(r, s * 0.6, s * 0.75, s * 0.25, s * 0.2)
    horn = r.uniform(0.8, 2)
    for k in (-1, 1):
        h += [tube([(-s * 0.2, k * s * 0.35, s * 0.6), (-s * 0.3, k * s * 0.5, s * (0.9 + horn))], s * 0.16, r.choice([m, q]), seg=7),
            ball(s * 0.28, q, (-s * 0.3, k * s * 0.5, s * (0.9 + horn)), 2)]
        h += cone(s * 0.36, s * r.uniform(1.2, 2), m, (-s * 0.4, k * s * 0.6, s * 0.4), (-0.3, k, r.uniform(-0.4, 0.6)), flat=0.5)
    return h


def G_giraffe(r, C):
    m = make_mat(r.choice(['wood', 'fabric', 'gloss', 'matte', 'paper', 'carpet']), r.choice([(0.88, 0.7, 0.35), (0.85, 0.62, 0.3), (0.93, 0.84, 0.62)]),
        r) if r.random() < 0.45 else skin(r, C)
    q, dark, lie = make_mat(r.choice(['matte', 'gloss', 'fabric']), r.choice([(0.42, 0.24, 0.12), (0.6, 0.35, 0.18), C.alt_c]),
        r), r.choice([black(r), skin(r, C, True)]), r.random() < 0.2
    L, w, leg, N = r.uniform(0.16, 0.28), r.uniform(0.1, 0.16), r.uniform(0.3, 0.75), r.uniform(0.4, 0.95)
    z, s, lean, curve = (w if lie else leg + w * 0.6), r.uniform(0.06, 0.1), r.uniform(0, 0.35), r.uniform(-0.08, 0.12)
    B = [(-L - w, 0, z - 0.03, 0.02), (-L, 0, z, w * 0.85), (0, 0, z + 0.02, w), (L, 0, z + 0.05, w * 0.95), (L + w * 0.95, 0, z + 0.06, 0.02)]
    K = [(L * 0.7, 0, z + 0.02, w * 0.8), (L + 0.06, 0, z + 0.16, w * 0.6), (L + 0.08 + lean * 0.5 + curve, 0, z + 0.1 + N * 0.5, s * 0.8),
        (L + 0.08 + lean, 0, z + 0.12 + N, s * 0.75)]
    o = [body(B, m), body(K, m)]
    hx, _, hz, _ = K[-1]
    h = giraffe_head(r, s, m, q, r.choice([m, q, pale(r, C)]))
    o += move(h, x=hx, z=hz, rz=r.uniform(-0.8, 0.8), ry=r.uniform(-0.3, 0.4))
    for x, y in FOUR:
        a = x * r.uniform(0, 0.5)
        pts = [(x * L * 3.6, y * w * 0.6, z, 0.05), (x * L * 3.6 + 0.12, y * w * 1.05, 0.04, 0.035),
            (x * L * 3.6 - 0.15, y * w * 1.1, 0.03, 0.025)] if lie else [(x * L * 3.6, y * w * 0.55, z, w * 0.45),
            (x * L * 3.6 + a * 0.5, y * w * 0.6, leg * 0.5, 0.03), (x * L * 3.6 + a, y * w * 0.62, 0.02, 0.026)]
        o.append(body(pts, m, seg=9))
        o += [] if lie else move([cyl(0.038, 0.06, q)], x=x * L * 3.6 + a, y=y * w * 0.62)
    o += patches(r, q, B, K)
    if r.random() < 0.6:
        o.append(body([(x - 0.75 * e - 0.01, y, zz, 0.03) for x, y, zz, e in resample(K[1:], 4)], q, 1, 8, 0.5))
    o += [body([(-L - w * 0.7, 0, z, 0.02), (-L - w - 0.06, 0, z - 0.04, 0.014), (-L - w - r.uniform(0.05, 0.2), 0, max(0.05, z - r.uniform(0.1, 0.3)), 0.012)],
        m, seg=7)]
    v = o[-1].data.vertices[-1].co
    o.append(ball(0.035, dark, (v.x, v.y, max(0.05, v.z)), 2, 1.4))
    return o + (neckcloth(r, hx - 0.5 * lean + 0.0, 0, z + 0.12 + N * 0.5, s * 1.1, accent(r), 0.2) if r.random() < 0.25 and lean < 0.12 else [])


def hat(r, R, H, m, trim, curl=0.0):
    """A pointed hat from z = 0 whose tip leans or droops, with a rim and something at the tip."""
    tip = (-curl * H * 0.9, r.uniform(-0.2, 0.2) * H, H * (1 - abs(curl) * 0.75))
    pts = [(0, 0, 0, R), (0, 0, H * 0.2, R * 0.82), (-curl * H * 0.12, 0, H * 0.55, R * 0.5),
        (-curl * H * 0.5, tip[1] * 0.6, H * (0.85 - abs(curl) * 0.25), R * 0.25), (*tip, R * 0.06)]
    o = [body(pts, m, 6, 28)]
    o += [hoop(R * 0.99, R * r.uniform(0.1, 0.22), trim, R * 0.06)] if r.random() < 0.6 else [lathe([(R * 0.9, 0), (R * 1.3, -R * 0.06), (R * 1.3, 0),
        (R * 0.9, R * 0.1)], m, smoothp=False)] if r.random() < 0.5 else []
    k = r.choice(['bobble', 'bobble', 'bell', 'none'])
    return o + ([] if k == 'none' else [ball(R * (0.3 if k == 'bobble' else 0.17), trim if k == 'bobble' else wire(r), tip, 3)])


def hold(r, at, H):
    """A staff at a hand, from the ground up, with a star, heart, leaf or lamp at its end."""
    x, y, _ = at
    m, k = r.choice([wood(r), wire(r), accent(r)]), r.choice(['star', 'ball', 'broom', 'leaf', 'flag'])
    o = [tube([(x, y, 0.01), (x, y, H)], r.uniform(0.01, 0.02), m, seg=7)]
    a, s = accent(r), r.uniform(0.07, 0.15)
    if k == 'star':
        return o + move([star(s, a)], x=x, y=y, z=H, rx=math.pi / 2, rz=math.pi / 2)
    if k == 'ball':
        return o + [ball(s * 0.6, a, (x, y, H), 3)]
    if k == 'broom':
        t = make_mat('matte', r.choice(STRAW + TWIG), r)
        return o + [tube([(x, y, H - 0.04), (x + r.uniform(-0.1, 0.1), y + r.uniform(-0.1, 0.1), H + s * 2)], 0.008, t, seg=4) for _ in range(18)]
    if k == 'leaf':
        return o + [q for i in range(3) for q in move([leaf(s * 1.6, make_mat('matte', r.choice(GREEN), r), 0.3)], x=x, y=y, z=H - 0.02 - 0.09 * i,
            rz=r.uniform(0, 6), ry=-0.5)]
    return o + fin([(0, 0), (0, -s), (s * 1.8, -s * 0.5)], 0.008, a, x=x, y=y, z=H, rz=r.uniform(-1, 3))


def beard(r, R, H, top, hair, flesh, trim):
    """Tufts, a solid beard or two plaits under a hat at height `top`."""
    o = []
    tip, wide, form = -r.uniform(0.25, 0.9) * H, R * r.uniform(0.5, 0.9), r.choice(['tufts', 'slab', 'plaits'])
    if form == 'tufts':
        for i in range(60):
            u, l = r.uniform(-1, 1), r.uniform(0.75, 1.05)
            end = max(0.03, top + tip * l * (1 - 0.5 * u * u))
            o.append(tube([(R * 0.6, u * wide * 0.8, top), (R * 1.06, u * wide, top - 0.15 * H), (R * (1.18 + 0.08 * r.random()), u * wide * 0.45, end)],
                [0.03, 0.025, 0.006], hair, seg=5))
    elif form == 'slab':
        p = smooth_outline([(-wide, 0), (-wide * 0.8, tip * 0.5), (0, tip), (wide * 0.8, tip * 0.5), (wide, 0), (0, 0.1)])
        p = [slab(p, R * 0.3, hair)]
        o += move(p, x=R * 0.78, z=top, rx=math.pi / 2, rz=math.pi / 2)
    else:
        for k in (-1, 1):
            o += [ball(0.055, hair, (R * (0.75 + 0.06 * min(i, 4)), k * R * 0.6, max(0.06, top - 0.02 - 0.07 * i)), 2) for i in range(r.randint(4, 6))]
            v = o[-1].data.vertices
            o += [ball(0.035, trim, (sum(a.co.x for a in v) / len(v), k * R * 0.6, min(a.co.z for a in v) + 0.01), 2)] if v[0].co.z > 0.2 else []
        o.append(blob(R * 0.5, R * 0.6, R * 0.4, flesh, at=(R * 0.45, 0, top), sub=3))
    return o


def G_gnome(r, C):
    m, cap, trim, flesh = skin(r, C), skin(r, C, True), accent(r), make_mat(r.choice(['matte', 'wood', 'fabric', 'gloss']),
        r.choice([(0.93, 0.75, 0.62), (0.75, 0.52, 0.38), (0.85, 0.72, 0.52), (0.5, 0.33, 0.24)]), r)
    hair, R, H = make_mat(r.choice(['carpet', 'matte', 'fabric']), r.choice(HAIR), r), r.uniform(0.18, 0.32), r.uniform(0.35, 0.65)
    leg = r.choice([0, 0, r.uniform(0.08, 0.45)])
    top = leg + H
    o = [lathe([(0, leg), (R, leg), (R * 1.08, leg + H * 0.15), (R * r.uniform(0.8, 1.05), leg + H * 0.5), (R * 0.8, top * 0.96), (R * 0.5, top + 0.04),
        (0, top + 0.06)], m, n=5)]
    for k in (-1, 1):
        o += [tube([(0, k * R * 0.45, 0.03), (0, k * R * 0.45, leg + 0.05)], r.uniform(0.018, 0.05), r.choice([wood(r), trim]), seg=8)] if leg else []
        o += [blob(R * 0.4, R * 0.26, R * 0.22, trim, at=(R * (0.2 if leg else 0.75), k * R * 0.45, R * 0.2), sub=3)] if leg or r.random() < 0.5 else []
    o += beard(r, R, H, top, hair, flesh, trim)
    for k in (-1, 1) if r.random() < 0.65 else ():
        hand = (R * r.uniform(0.7, 1.3), k * R * r.uniform(0.9, 1.5), leg + H * r.uniform(0.3, 0.9))
        o += [tube([(0, k * R * 0.7, top - 0.08), (R * 0.4, k * R * 1.15, (hand[2] + top) / 2 - 0.05), hand], [0.05, 0.055, 0.05], m, seg=10),
            ball(0.06, r.choice([flesh, trim]), hand, 3)]
        o += hold(r, (hand[0] + 0.03, hand[1], 0), r.uniform(0.7, 1.1) * (top + 0.2)) if k > 0 and r.random() < 0.6 else []
    o += move(hat(r, R * r.uniform(0.85, 1.1), r.uniform(0.4, 1.0), cap, trim, r.choice([0, r.uniform(-0.3, 0.9)])), z=top - 0.01, ry=r.uniform(-0.15, 0.1))
    return o + [ball(R * r.uniform(0.2, 0.34), flesh, (R * 0.98, 0, top + 0.01), 3)]


def wings(r, m, s, form, tilt, at, lift):
    """A pair of wings spread along y behind a back."""
    o = []
    for k in (-1, 1):
        if form == 'wire':
            p = [tube(smooth_outline([(0, 0, 0), (0.35 * s, 0.5 * s, 0), (0.8 * s, 0.45 * s, 0), (0.7 * s, 0, 0), (0.3 * s, -0.12 * s, 0)]), 0.012, m, seg=6,
                closed=True)]
        elif form == 'feather':
            p = [q for i in range(6) for q in move([leaf((1.0 - 0.1 * i) * s * 0.85, m, 0.14)], z=0.01 * i, rz=0.75 - 0.27 * i)]
        else:
            p = [slab(smooth_outline([(-0.04, -0.08 * s), (0.1 * s, 0.25 * s), (0.55 * s, 0.6 * s), (0.85 * s, 0.5 * s), (0.7 * s, 0.15 * s),
                (0.6 * s, -0.1 * s), (0.3 * s, -0.22 * s)]), 0.02, m)]
        xf(p, Matrix.Rotation(math.pi / 2, 4, 'Z') @ Matrix.Rotation(math.pi / 2, 4,
            'X') if k > 0 else Matrix.Diagonal((1, -1, 1, 1)) @ Matrix.Rotation(math.pi / 2, 4, 'Z') @ Matrix.Rotation(math.pi / 2, 4, 'X'))
        o += move(p, x=at[0], y=at[1] + k * 0.01, z=at[2], rz=k * tilt, rx=k * lift)
    return o


def locks(r, s, z, hair):
    o = []
    style = r.choice(['cap', 'long', 'bun', 'curls'])
    o.append(blob(s * 1.03, s * 1.08, s * 0.98, hair, at=(-s * 0.22, 0, z + s * 0.2), sub=3))
    if style == 'long':
        o += [tube([(-s * 0.4, u * s, z + s * 0.4), (-s * 0.9, u * s * 1.15, z - s * 0.6), (-s * 0.9, u * s * 1.3, z - s * r.uniform(1.2, 3))], 0.022, hair,
            seg=6) for u in np.linspace(-0.95, 0.95, 11)]
    elif style == 'bun':
        o += [ball(s * 0.45, hair, (-s * 0.3, y * s, z + s * (1.2 - 0.35 * abs(y))), 3) for y in r.choice([(0,), (-0.7, 0.7)])]
    elif style == 'curls':
        o += [ball(s * r.uniform(0.22, 0.36), hair, (-s * r.uniform(0.0, 0.9), s * 1.0 * math.sin(a), z + s * 0.15 + s * math.cos(a)),
            2) for a in np.linspace(-2.2, 2.2, 12)]
    return o


def crown(r, s, z, q):
    """Halo on its wire, feelers or petals over a head of radius s at height z."""
    o = []
    top, kind = z + s * 1.15, r.choice(['halo', 'halo', 'feelers', 'petals', 'none'])
    if kind == 'halo':
        g, lift = wire(r), r.uniform(0.03, 0.22)
        o += move([hoop(s * r.uniform(0.5, 1.0), r.uniform(0.008, 0.02), g, 0)], x=-s * 0.3, z=top + lift,
            ry=r.uniform(-0.4, 0.1)) + [tube([(-s * 0.9, 0, z), (-s * 1.15, 0, z + s), (-s * 0.95, 0, top + lift)], 0.007, g,
            seg=5)] + ([tube([(-s * 1.1, 0, top + lift * 0.95), (s * 0.4, 0, top + lift * 1.05)], 0.006, g, seg=5)])
    elif kind == 'feelers':
        o += [b for k in (-1, 1) for b in (tube([(0, k * s * 0.3, top - s * 0.2), (0.02, k * s * 0.6, top + s * 0.7), (0.06, k * s * 1.1, top + s)], 0.009, q,
            seg=5), ball(0.025, q, (0.06, k * s * 1.1, top + s), 2))]
    elif kind == 'petals':
        o += [b for i in range(7) for b in move([leaf(s * 0.9, q, 0.35)], x=-s * 0.15, z=top - s * 0.12, rz=0.9 * i, ry=0.35)]
    return o


def G_angel(r, C):
    """An angel or a fairy: a cone for its skirt, wings, halo or crown or feelers, arms that hold something or are spread."""
    m, q, flesh, hair = skin(r, C), skin(r, C, True), make_mat(r.choice(['wood', 'matte', 'gloss', 'fabric']),
        r.choice([(0.93, 0.78, 0.66), (0.72, 0.5, 0.36), (0.88, 0.74, 0.55), (0.45, 0.3, 0.22)]), r), make_mat(r.choice(['carpet', 'matte', 'gloss']),
        r.choice(HAIR), r)
    R, H, s = r.uniform(0.2, 0.45), r.uniform(0.5, 0.9), r.uniform(0.1, 0.18)
    prof = r.choice([[(R, 0), (R * 0.55, H * 0.5), (0.05, H)], [(R * 0.7, 0), (R, 0.05), (R * 0.8, H * 0.4), (0.08, H)],
        [(R, 0), (R * 0.3, H * 0.45), (0.06, H * 0.62), (0.13, H * 0.85), (0.05, H)]])
    fl = r.choice([0, 0, 9, 14])
    o = [lathe([(0, 0.01)] + prof[:1] * 2 + prof[1:] + [(0, H + 0.01)], m, n=5, seg=r.choice([96, 96, 8, 5]) if not fl else 126, flute=fl,
        fdepth=r.uniform(0.05, 0.2))]
    o += [ball(s, flesh, (0, 0, H + s * 0.85), 4)]
    o += [lathe([(prof[0][0] * 0.99, 0.005), (prof[0][0] * 1.04, 0.03), (prof[0][0] * 0.95, 0.06)], q, smoothp=False)] if not fl and r.random() < 0.6 else []
    z = H + s * 0.85
    o += eyes(r, s * 0.93, s * 0.33, z + s * 0.05, s * 0.09) if r.random() < 0.6 else []
    o += locks(r, s, z, hair)
    o += crown(r, s, z, q)
    form = r.choice(['slab', 'slab', 'wire', 'feather'])
    o += wings(r, wire(r) if form == 'wire' else r.choice([pale(r, C), q, wood(r), wire(r)]), r.uniform(0.4, 0.85), form, r.uniform(-0.1, 0.5),
        (-0.07 if H < 0.7 else -0.06, 0, H * 0.86), r.uniform(-0.5, 0.4))
    pose, sleeve = r.choice(['pray', 'spread', 'hold', 'none']), r.choice([m, q, flesh])
    for k in (-1, 1) if pose != 'none' else ():
        hand = {'pray': (0.2, k * 0.025, H * 0.78), 'spread': (0.06, k * r.uniform(0.3, 0.45), H * r.uniform(0.7, 1.1)),
            'hold': (0.24, k * 0.12, H * 0.7)}[pose]
        o += [tube([(0, k * 0.03, H * 0.93), (0.08, k * (0.15 + abs(hand[1]) * 0.3), (hand[2] + H * 0.85) / 2), hand], [0.04, 0.035, 0.045], sleeve, seg=10),
            ball(0.04, flesh, hand, 2)]
    if pose == 'hold':
        o += move([star(r.uniform(0.14, 0.22), accent(r), 0.04)], x=0.27, z=H * 0.7, rx=math.pi / 2, rz=math.pi / 2) if r.random() < 0.5 else hold(r,
            (0.26, 0.14, 0), H * r.uniform(0.9, 1.5))
    return o


def stick_arms(r, S, sz):
    """Arms of sticks with fingers or mittens at the sides of a ball of radius S at height sz."""
    o = []
    twig, arm = make_mat(r.choice(['wood', 'matte']), r.choice(TWIG), r), r.uniform(0.3, 0.6)
    for y in (-1, 1) if r.random() < 0.85 else ():
        up = r.uniform(-0.3, 0.9)
        e = np.array([r.uniform(-0.05, 0.25), y * (S * 0.85 + arm * math.cos(up)), sz + S * 0.25 + arm * math.sin(up)])
        o.append(tube([(0, y * S * 0.8, sz + S * 0.2), e * 0.5 + np.array([0.02, y * S * 0.42, (sz + S * 0.3) * 0.5]), e], [0.025, 0.02, 0.014], twig, seg=7))
        if r.random() < 0.6:
            o += [tube([e - (e - np.array([0, y * S * 0.8, sz])) * 0.12, e + np.array([0.03 * f, y * 0.1 * math.cos(up + f), 0.12 * math.sin(up + f)])],
                [0.013, 0.008], twig, seg=5) for f in (-0.6, 0.1, 0.8)]
        else:
            o.append(blob(0.05, 0.075, 0.06, accent(r), at=tuple(e), sub=3))
    return o


def snow_hat(r, C, s, k, tz, cloth):
    style, H = r.choice(['top', 'pointed', 'muffs', 'bucket', 'cap']), r.uniform(0.15, 0.4)
    cap = r.choice([black(r), skin(r, C, True), accent(r)])
    if style == 'top':
        p = [lathe([(0, 0), (s * 1.05, 0), (s * 1.05, 0.03), (s * 0.66, 0.035), (s * r.uniform(0.58, 0.8), H), (0, H + 0.01)], cap, smoothp=False),
            lathe([(s * 0.69, 0.04), (s * 0.69, 0.1)], accent(r), smoothp=False)] + [b for i in range(r.randint(0,
            3)) for b in move([leaf(0.14, make_mat('matte', r.choice(GREEN), r), 0.3)], x=s * 0.66, z=0.06, rz=r.uniform(-1, 1), ry=-0.8)]
    elif style == 'muffs':
        p = [tube([(0, s * 1.04 * math.cos(t), s * 1.06 * math.sin(t) - s * k * 0.72) for t in np.linspace(-0.1, math.pi + 0.1, 20)], 0.022,
            cap)] + [ball(s * 0.3, accent(r), (0, y * s, -s * k * 0.72), 3) for y in (-1, 1)]
    elif style == 'bucket':
        p = [lathe([(s * 0.8, -0.01), (s * 0.55, H), (0, H)], wire(r), smoothp=False)] + [tube([(0, s * 0.7 * math.cos(t),
            H * 0.2 + s * 0.9 * math.sin(t)) for t in np.linspace(-0.1, math.pi + 0.1, 16)], 0.01, wire(r), seg=6)]
    else:
        p = hat(r, s * 0.82, H * (1 if style == 'cap' else 2.2), cap, cloth, r.choice([0, r.uniform(0, 0.9)]))
    return move(p, z=tz, rx=0 if style == 'muffs' else r.uniform(-0.2, 0.2))


def G_snowman(r, C):
    m = make_mat(r.choice(['fabric', 'carpet', 'gloss', 'matte', 'speckle', 'knit', 'paper', 'wood', 'linen']),
        r.choice([(0.95, 0.95, 0.95), (0.93, 0.9, 0.85), (0.88, 0.92, 0.95), C.color]), r)
    cloth, coal, n, z, o, k = print_mat(r, C.color, 0.25) if r.random() < 0.5 else skin(r, C), black(r), r.choice([2, 2, 3]), 0.0, [], r.uniform(0.88, 1.05)
    R = r.uniform(0.3, 0.38)
    rs = [R * q for q in ([1, r.uniform(0.6, 0.8)] if n == 2 else [1, r.uniform(0.72, 0.85), r.uniform(0.5, 0.65)])]
    at = []
    for i, q in enumerate(rs):
        z += q * k * (0.92 if i == 0 else 0.78)
        o.append(ball(q, m, (0, 0, z), 4, k))
        at.append(z)
        z += q * k * 0.78
    s, hz, sz, S = rs[-1], at[-1], at[-2] if n == 3 else at[0], rs[-2]
    o += cone(s * 0.16, s * r.uniform(0.5, 1.4), make_mat('matte', r.choice([(0.9, 0.45, 0.12), (0.85, 0.35, 0.1), C.alt_c]), r), (s * 0.92, 0, hz),
        (1, r.uniform(-0.2, 0.2), r.uniform(-0.2, 0.2)), 10) + eyes(r, s * 0.88, s * 0.34, hz + s * 0.3 * k, s * 0.1)
    for a in np.linspace(-0.55, 0.55, 5) if r.random() < 0.6 else ():
        o.append(ball(s * 0.06, coal, (s * 0.88, s * a * 0.8, hz - s * k * (0.46 - 0.45 * a * a)), 2))
    knob = r.choice([coal, accent(r)])
    o += [ball(r.uniform(0.028, 0.045), knob, (S * 0.98 * math.cos(b), 0, sz + S * k * 0.98 * math.sin(b)), 2) for b in (-0.25, 0.1, 0.45)]
    o += stick_arms(r, S, sz)
    nz = (hz + sz) / 2 + (s * -0.28 + S * 0.22) * k
    o += neckcloth(r, 0, 0, nz, s * 0.84, cloth, r.uniform(0.2, 0.5)) if r.random() < 0.85 else []
    o += snow_hat(r, C, s, k, hz + s * k * 0.72, cloth)
    o += hold(r, (0.1, S * 1.25, 0), r.uniform(0.8, 1.2)) + [tube([(0.02, S * 0.8, sz), (0.1, S * 1.25, sz + 0.05)], 0.025, wood(r),
        seg=6)] if r.random() < 0.25 else []
    return o


def aerials(r, s, z, bit):
    """One or two rods or springs with a ball on top, from height z."""
    o = []
    for y in r.choice([(0,), (-1, 1)]):
        e = r.uniform(0.1, 0.3)
        spring = r.random() < 0.4
        p = [(0.025 * math.cos(t), y * s * 0.3 + 0.025 * math.sin(t), z + e * t / 26) for t in np.linspace(0, 26, 70)] if spring else [(0, y * s * 0.3, z),
            (0, y * s * 0.45, z + 0.06 + e)]
        o += [tube(p, 0.01, wire(r), seg=5), ball(0.035, bit, p[-1], 2)]
    return o


def robot(r, C):
    m, q, bit = r.choice([wire(r), C.mat(['metal', 'gloss', 'wood', 'matte', 'paper'])]), r.choice([wire(r), skin(r, C, True)]), accent(r)
    w, d, H, leg, s = r.uniform(0.3, 0.5), r.uniform(0.2, 0.34), r.uniform(0.3, 0.55), r.uniform(0.1, 0.4), r.uniform(0.18, 0.34)
    tin = r.random() < 0.35
    o = move([cyl(w * 0.5, H, m) if tin else rbox(d, w, H, r.uniform(0.01, 0.05), m, 3)], z=leg)
    z, hd = leg + H, s * r.uniform(0.6, 1.0)
    o += move([cyl(0.05, 0.1, q)], z=z - 0.02)
    o += move(r.choice([lambda: [rbox(s * 0.9, s, hd, 0.02, r.choice([m, q]), 3)], lambda: [cyl(s * 0.5, hd, q)],
        lambda: [blob(s * 0.55, s * 0.6, hd * 0.55, q, at=(0, 0, hd * 0.5))]])(), z=z + 0.06, rz=r.uniform(-0.4, 0.4))
    o += [b for k in (-1, 1) for b in aim([lathe([(0, -0.06), (s * 0.18, -0.06), (s * 0.18, 0.03), (s * 0.1, 0.03), (0, 0.01)], bit, smoothp=False, seg=24)],
        (s * 0.46, k * s * 0.23, z + 0.06 + hd * 0.6), (1, 0, 0))]
    o.append(rbox(0.05, s * 0.5, 0.03, 0.005, black(r), 2))
    move(o[-1:], x=s * 0.44, z=z + 0.06 + hd * 0.22)
    o += aerials(r, s, z + hd, bit)
    for k in (-1, 1):
        a, A = r.uniform(-0.6, 1.6), r.uniform(0.25, 0.45)
        root = (0, k * w * 0.48, z - H * 0.2)
        e = (A * math.sin(a) * 0.8, k * (w * 0.5 + A * 0.45), z - H * 0.2 - A * math.cos(a) * 0.7)
        e = (e[0], e[1], max(0.1, e[2]))
        o += [tube([root, (e[0] * 0.2, k * (w * 0.5 + A * 0.4), root[2]), e], r.choice([0.015, 0.03, 0.045]), q, seg=8), ball(0.05, m, root, 2)]
        o.append(tube([(e[0] + 0.07 * math.cos(t), e[1], e[2] + 0.07 * math.sin(t)) for t in np.linspace(0.6, 5.7, 14)], 0.018, bit, seg=7))
        o += move([cyl(r.uniform(0.03, 0.08), leg + 0.02, q)], y=k * w * 0.28) + move([rbox(r.uniform(0.2, 0.34), w * 0.36, 0.07, 0.02, r.choice([m, bit]), 2)],
            x=0.04, y=k * w * 0.28)
    f = w * 0.49 if tin else d * 0.5
    return o + [ball(r.uniform(0.02, 0.035), accent(r), (f, y * w * 0.25, leg + H * zz), 2, 1) for y in (-0.6, 0.0,
        0.6) for zz in ((0.35, 0.65) if r.random() < 0.6 else (0.5,))]


def soldier_head(r, C, s, top, flesh, trim, coat):
    """A head at height `top` with nose, moustache, beard, chin strap, tall hat and plume."""
    o, boot, hair = [], black(r), make_mat(r.choice(['carpet', 'matte']), r.choice(HAIR), r)
    o += [cyl(s * 0.5, 0.06, flesh, z=top - 0.02), lathe([(0, top), (s * 0.85, top + 0.02), (s, top + s * 0.4), (s, top + s * 1.6), (0, top + s * 1.8)], flesh,
        n=4), ball(s * 0.2, flesh, (s * 1.02, 0, top + s * 0.85), 2)] + eyes(r, s * 0.93, s * 0.36, top + s * 1.15, s * 0.1)
    if r.random() < 0.7:
        o += [tube([(s * 0.98, 0, top + s * 0.62), (s * 0.95, k * s * 0.45, top + s * 0.55), (s * 0.75, k * s * 0.9, top + s * 0.75)],
            [s * 0.13, s * 0.11, 0.008], hair, seg=7) for k in (-1, 1)]
    if r.random() < 0.6:
        o += [tube([(s * 0.75, u * s * 0.8, top + s * 0.45), (s * 1.1, u * s * 0.7, top + s * 0.1), (s * 1.15, u * s * 0.4, top - s * r.uniform(0.3, 1.2))],
            [0.03, 0.025, 0.008], hair, seg=6) for u in np.linspace(-1, 1, 9)]
    hz, hh, cap = top + s * 1.45, r.uniform(0.15, 0.45), r.choice([boot, coat, make_mat('carpet', (0.08, 0.07, 0.07), r), skin(r, C, True)])
    o += [lathe([(0, hz), (s * 1.08, hz), (s * r.uniform(0.9, 1.3), hz + hh * 0.8), (s * 0.8, hz + hh), (0, hz + hh)], cap, n=4),
        lathe([(s * 0.8, hz + 0.01), (s * 1.55, hz - 0.02), (s * 1.5, hz + 0.01), (s * 0.8, hz + 0.04)], r.choice([boot, trim]), smoothp=False)]
    o += [body([(0, 0, hz + hh - 0.03, 0.02), (0.02, 0, hz + hh + 0.1, 0.045), (-r.uniform(-0.05, 0.15), 0, hz + hh + r.uniform(0.15, 0.35), 0.01)], accent(r),
        seg=8)] if r.random() < 0.6 else [ball(0.05, trim, (0, 0, hz + hh + 0.02), 2)]
    o += [tube([(s * 1.0, k * s * 0.9, hz), (s * 0.9, k * s * 0.9, top + s * 0.5), (s * 0.5, 0, top)], 0.009, trim, seg=5) for k in (-1,
        1)] if r.random() < 0.3 else []
    return o


def soldier_arms(r, C, R, H, z, coat, flesh, trim):
    """Arms, epaulettes, and what the hands hold: a staff, a drum or a sword."""
    o, top = [], z + H
    prop = r.choice(['staff', 'drum', 'sword', 'none'])
    for k in (-1, 1):
        a = {'drum': (R * 1.3, k * R * 0.6, z + H * 0.4), 'staff': (R * 1.2, k * R * 1.35, z + H * 0.25)}.get(prop,
            (r.uniform(-0.02, 0.1), k * R * 1.4, z + r.uniform(-0.08, 0.05)))
        o += [tube([(0, k * R * 0.9, top - 0.06), (R * 0.1, k * R * 1.35, z + H * 0.5), a], [0.05, 0.045, 0.04], coat, seg=10), ball(0.045, flesh, a, 2),
            lathe([(0, 0), (R * 0.5, 0), (R * 0.4, 0.05), (0, 0.06)], trim, seg=24)]
        move(o[-1:], y=k * R * 0.9, z=top - 0.05)
        if prop == 'sword' and k > 0:
            o += [tube([a, (a[0] + 0.1, a[1] + 0.05, z + H * r.uniform(1, 2))], [0.018, 0.006], wire(r), flat=0.4), hoop(0.04, 0.012, trim)]
            move(o[-1:], x=a[0], y=a[1], z=a[2] + 0.05)
        elif prop == 'staff' and k > 0:
            o += hold(r, (a[0] + 0.03, a[1], 0), r.uniform(1.0, 1.6) * top)
        elif prop == 'drum' and k > 0:
            D = r.uniform(0.12, 0.18)
            o += move([cyl(D, 0.16, skin(r, C, True)), hoop(D, 0.016, trim, 0.01), hoop(D, 0.016, trim, 0.15)], x=R * 0.75 + D, z=z + H * 0.06)
    if prop == 'drum':
        o += [tube([(R * 1.3, k * R * 0.6, z + H * 0.42), (R * 1.6, k * 0.03, z + H * 0.06 + 0.17)], 0.01, wood(r), seg=5) for k in (-1, 1)]
    return o


def G_soldier(r, C):
    """A wooden soldier, or a robot of boxes and tins."""
    if r.random() < 0.42:
        return robot(r, C)
    coat, trousers, trim, flesh = skin(r, C), r.choice([pale(r, C), black(r), skin(r, C, True)]), r.choice([wire(r),
        accent(r)]), make_mat(r.choice(['wood', 'gloss', 'matte']), r.choice([(0.93, 0.78, 0.64), (0.85, 0.7, 0.5), (0.6, 0.42, 0.3)]), r)
    boot = black(r)
    leg, H, R, s = r.uniform(0.3, 0.55), r.uniform(0.28, 0.45), r.uniform(0.13, 0.2), r.uniform(0.1, 0.15)
    z = 0.05 + leg
    o = [foot_plate(r, r.uniform(0.3, 0.45), r.uniform(0.35, 0.6))]
    z += 0.01
    for k in (-1, 1):
        o += move([cyl(R * 0.44, z + 0.02, trousers), cyl(R * 0.48, leg * r.uniform(0.2, 0.5), boot, z=0.02)],
            y=k * R * 0.46) + [blob(R * 0.6, R * 0.42, 0.06, boot, at=(R * 0.25, k * R * 0.46, 0.09), sub=3)]
    o += [lathe([(0, z), (R * r.uniform(1, 1.3), z), (R * 0.8, z + H * 0.35), (R, z + H * 0.9), (R * 0.6, z + H), (0, z + H)], coat, n=4),
        lathe([(R * 0.9, z + H * 0.3), (R * 0.9, z + H * 0.42)], trim, smoothp=False)]
    o += [ball(0.022, trim, (R * (0.84 + 0.05 * i), y * R * 0.3, z + H * (0.45 + 0.14 * i)), 2) for i in range(3) for y in (-1, 1)]
    top = z + H
    o += soldier_head(r, C, s, top, flesh, trim, coat)
    return o + soldier_arms(r, C, R, H, z, coat, flesh, trim)


def vanes(r, sets, k, form, pane, q, frame, slim):
    """Both sides' wings from outlines of the right ones: panes, rims, spots or bare wire."""
    o = []
    rim, second, dot, spot, size = form != 'slab' or r.random() < 0.3, r.choice([pane, pane, q]), r.choice([q,
        accent(r)]), not slim or r.random() < 0.3, r.uniform(0.03, 0.085)
    for s in (-1, 1):
        p = []
        for i, f in enumerate(sets):
            a = r.uniform(-0.03, 0.03)
            out = smooth_outline([(x * math.cos(a), y * k) for x, y in f], 6)
            p += [tube([(x, y, 0) for x, y in out], r.uniform(0.008, 0.014), frame, seg=6, closed=True)] if rim else []
            p += [slab(out, r.uniform(0.008, 0.03), second if i else pane,
                z=-0.005)] if form != 'wire' else [tube([(x * t, y * k * t, 0) for t in (0.05, 0.5, 1)], 0.006, frame, seg=5) for x, y in f[1:4]]
            if spot:
                cx, cy = np.mean(f, 0)
                p += [slab(circle(size, 20, cx * 1.1, cy * k * 1.05), 0.04, dot, z=-0.012)] if form != 'wire' else [ball(0.03, q, (f[2][0], f[2][1] * k, 0), 2)]
        if s < 0:
            xf(p, Matrix.Diagonal((-1, 1, 1, 1)))
        o += p
    return o


def flyer(r, C, slim):
    """A butterfly, or a dragonfly if slim, about the origin, its wings in the x, y plane, its head along y."""
    m, q = skin(r, C), skin(r, C, True)
    L, k, form = r.uniform(0.5, 0.9) if slim else r.uniform(0.16, 0.32), r.uniform(0.7, 1.1), r.choice(['slab', 'slab', 'wire', 'glass'])
    frame = wire(r)
    pane = make_mat('glass', C.color, r) if form == 'glass' else r.choice([m, print_mat(r, C.color, 0.4),
        C.mat(['paper', 'fabric', 'matte', 'gloss', 'metal', 'wood'])])
    if slim:
        sets = [[(0, 0.0), (0.3, 0.12), (0.68, 0.13), (0.72, 0.02), (0.4, -0.06)], [(0, -0.06), (0.3, -0.02), (0.6, -0.12), (0.58, -0.26), (0.25, -0.17)]]
        o = [tube([(0, 0.22, 0), (0, 0.1, 0), (0, -0.08, 0), (0, -0.18, 0), (0, -L * 0.6, 0), (r.uniform(-0.06, 0.06), -L, 0)],
            [0.03, 0.055, 0.05, 0.028, 0.022, 0.016], q, seg=10), ball(r.uniform(0.045, 0.07), r.choice([m, q, accent(r)]), (0, 0.24, 0), 3)]
        o += [ball(0.032, q, (s * 0.05, 0.26, 0.01), 2) for s in (-1, 1)] + ([ball(0.028, accent(r), (0, -0.2 - 0.07 * i, 0),
            2) for i in range(int((L - 0.25) / 0.07))] if r.random() < 0.4 else [])
    else:
        w = r.uniform(0.8, 1.3)
        sets = [[(0, 0.02), (0.2 * w, 0.3), (0.5 * w, 0.48), (0.62 * w, 0.36), (0.5 * w, 0.05), (0.2 * w, -0.02)],
            [(0, 0.0), (0.3 * w, -0.01), (0.46 * w, -0.16), (0.34 * w, -0.4 - 0.2 * (r.random() < 0.3)), (0.16 * w, -0.34)]]
        o = [blob(r.uniform(0.03, 0.055), L, 0.045, q, sub=3), ball(0.05, q, (0, L, 0.0), 3)]
    o += vanes(r, sets, k, form, pane, q, frame, slim)
    y, F = (0.27, 0.1) if slim else (L + 0.03, r.uniform(0.12, 0.3))
    o += [b for s in (-1, 1) for b in (tube([(0, y - 0.02, 0.01), (s * F * 0.3, y + F * 0.6, 0.02), (s * F * 0.7, y + F, 0.02)], 0.007, frame, seg=5),
        ball(0.018, q, (s * F * 0.7, y + F, 0.02), 2))] if not slim or r.random() < 0.4 else []
    return o


def fold(o, a):
    """Bends wings up about the y axis by the angle a."""
    for ob in o:
        for v in ob.data.vertices:
            x, z = v.co.x, v.co.z
            v.co.x, v.co.z = x * math.cos(a), z + abs(x) * math.sin(a)
    return o


def G_butterfly(r, C):
    """Butterflies or a dragonfly on sticks in a foot, a pot or a cork, or one that sits on its foot with wings raised."""
    o, n, R = [], r.choice([1, 1, 1, 2, 3]), r.uniform(0.14, 0.26)
    foot = r.choice(['plate', 'pot', 'dome'])
    o += {'plate': lambda: [foot_plate(r, R * 2.2, R * r.uniform(1.2, 2.2))],
        'dome': lambda: [blob(R, R, R * 0.7, skin(r, C), 0.15, 2, 3, r.random() * 9, (0, 0, R * 0.5))],
        'pot': lambda: [lathe([(0, 0), (R * 0.7, 0), (R, R * 1.5), (R * 0.93, R * 1.5), (R * 0.85, R * 1.25), (0, R * 1.25)], skin(r, C, True),
        smoothp=False)]}[foot]()
    for i in range(n):
        a, H = r.uniform(0, 6.3) if n == 1 else 2 * math.pi * i / n + r.uniform(-0.4, 0.4), r.uniform(0.45, 1.3)
        lean = r.uniform(0.0, 0.12) if n == 1 else r.uniform(0.15, 0.4)
        e, stick = (math.cos(a) * lean * 1.5, math.sin(a) * lean * 1.5, R + H), r.choice([wire(r), wood(r), make_mat('matte', r.choice(GREEN), r)])
        o.append(tube([(0.02 * math.cos(a), 0.02 * math.sin(a), 0.02), (e[0] * 0.35, e[1] * 0.35, e[2] * 0.55), e], r.uniform(0.008, 0.02), stick, seg=7))
        p = fold(flyer(r, C, r.random() < 0.35), r.uniform(-0.3, 1.2))
        o += move(p, x=e[0], y=e[1], z=e[2] + 0.02, rx=r.uniform(0.2, 1.6), rz=r.uniform(0, 6.3), s=r.uniform(0.6, 1) if n == 1 else r.uniform(0.4, 0.6))
    if r.random() < 0.35:
        o += [b for _ in range(r.randint(2, 5)) for b in move([leaf(r.uniform(0.15, 0.35), make_mat('matte', r.choice(GREEN), r), 0.25)],
            z=R * (1.25 if foot == 'pot' else 0.9 if foot == 'dome' else 0.04), rz=r.uniform(0, 6), ry=-r.uniform(0.2, 0.9))]
    return o


def G_dragonfly(r, C):
    """One or two of them lying, with a stick, a cord to hang them by, or strings of beads."""
    o = fold(flyer(r, C, r.random() < 0.7), r.uniform(0, 0.35))
    cord, k, low = r.choice([wire(r), C.mat(['fabric'], alt=True), wood(r)]), r.choice(['stick', 'loop', 'beads',
        'none']), min(v.co.z for ob in o for v in ob.data.vertices)
    move(o, z=-low + 0.012)
    ys = [v.co.y for v in o[0].data.vertices]
    if k == 'stick':
        o.append(tube([(0, 0.1, 0.02), (r.uniform(-0.1, 0.1), -r.uniform(0.7, 1.4), 0.014)], r.uniform(0.01, 0.02), cord, seg=7))
    elif k == 'loop':
        t, y = r.uniform(0.15, 0.5), max(ys) - 0.03
        o.append(tube([(0, y, 0.03), (0.04, y + t * 0.5, 0.02), (0.05, y + t * 0.9, 0.012), (-0.02, y + t, 0.012), (-0.05, y + t * 0.7, 0.012), (0, y, 0.03)],
            0.008, cord, seg=5))
    elif k == 'beads':
        p = wavy(r, 0, min(ys) + 0.04, r.uniform(0.4, 0.8), -math.pi / 2 + r.uniform(-0.3, 0.3), 0.1, 16, 0.03)
        o += [tube(p, 0.007, cord, seg=5)] + [ball(r.uniform(0.02, 0.045), accent(r), q, 2) for q in p[3 :: r.choice([2, 3])]]
    return o + (bow(r, 0, 0.0, r.uniform(0.08, 0.16), accent(r), 0.07) if r.random() < 0.15 else [])


NAMES = 'hedgehog fox cat owl hen snail whale dinosaur giraffe gnome angel snowman soldier butterfly dragonfly'.split()
KINDS = {k: globals()['G_' + k] for k in NAMES}
LYING = {'dragonfly'}
