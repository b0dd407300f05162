"""Things of no kind: random solids, tubes, sheets, shells, wires and groups of such, in random materials, for products never named.

A network that has seen only mugs and bears learns mugs and bears; these have nothing in common but that they are one thing. Each T_*
takes a random.Random and a Col (products.py) and gives a list of objects of any size that stand on z = 0 or lie there.
"""

import math
import random

import bmesh
import bpy
import numpy as np
from mathutils import Matrix, Vector

from goods_parts import *
import patterns

PLAIN = ['gloss', 'matte', 'speckle', 'dip', 'wax', 'fabric', 'linen', 'knit', 'wood', 'marble', 'slate', 'plaster', 'paper', 'metal', 'glass', 'carpet']


def stuff(r, C):
    """Any material: plain, a patterned one, or a print; two in three in the product's own colours."""
    c = r.choice([C.color, C.color, C.alt_c, r.choice(PAL)])
    k = r.random()
    if k < 0.6:
        return make_mat(r.choice(PLAIN), c, r, c2=C.alt_c, scale=r.uniform(0.4, 2.5))
    if k < 0.87:
        kinds = [q for q in patterns.KINDS if q not in patterns.HELD_OUT]
        return pattern_mat(r.choice(kinds), r.randint(0, 10**6), r.uniform(0.3, 1.6), r.uniform(0, 3.1))[0]
    return image_mat(art(r, 200, 200, C.light()), r)


def walk(r, n, lo, hi, step):
    """n numbers between lo and hi, each within `step` of the one before."""
    out = [r.uniform(lo, hi)]
    while len(out) < n:
        out.append(min(max(out[-1] + r.uniform(-step, step), lo), hi))
    return out


def curve(r, n, size, flat=0.0, closed=False, turns=2):
    """n points of a smooth random curve about the origin: a few waves in each direction; `flat` presses it down."""
    t = np.linspace(0, 2 * np.pi, n, endpoint=False) if closed else np.linspace(0, r.uniform(2.2, 6), n)
    p = np.zeros((n, 3))
    for axis in range(3):
        for k in range(1, turns + 1):
            p[:, axis] += r.uniform(-1, 1) / k * np.sin(k * t + r.uniform(0, 6.3))
    p *= size / max(np.abs(p).max(), 1e-6)
    p[:, 2] *= 1 - flat
    return p


def tip(r, o, chance=0.35):
    """Some are laid on their side or leaned."""
    if r.random() < chance:
        xf(o, Matrix.Rotation(r.choice([math.pi / 2, r.uniform(-1.2, 1.2)]), 4, r.choice('XY')))
    return ground(o)


def squeeze(r, o):
    """Stretched along one direction or two."""
    xf(o, Matrix.Diagonal((r.uniform(0.5, 1.3), r.uniform(0.5, 1.3), r.uniform(0.6, 1.4), 1)))
    return o


def T_turned(r, C):
    n = r.randint(3, 8)
    radii = walk(r, n, 0.06, 0.5, r.uniform(0.1, 0.45))
    h = r.uniform(0.3, 1.6)
    out = [(q, h * i / (n - 1)) for i, q in enumerate(radii)]
    if r.random() < 0.4:  # turned in steps
        out = [p for a, b in zip(out, out[1:]) for p in ((a[0], a[1]), (a[0], a[1]), (a[0], b[1]), (a[0], b[1]))] + [out[-1]]
    wall = r.uniform(0.02, 0.06)
    hollow = [(max(q - wall, 0.01), z) for q, z in reversed(out[1:])] + [(0, out[0][1] + 0.06)] if r.random() < 0.5 else [(0, h)]
    flute = r.choice([0, 0, 0, r.randint(3, 24)])
    o = [lathe([(0, 0), *out, *hollow], stuff(r, C), n=r.randint(2, 6), wob=r.uniform(0, 0.08), rng=r, flute=flute, fdepth=r.uniform(0.03, 0.25))]
    if r.random() < 0.3:
        o = squeeze(r, o)
    return tip(r, o)


def T_loft(r, C):
    """A bent body whose section changes along it: round, square, many-sided or with lobes."""
    n, seg = 40, 48
    spine = curve(r, n, r.uniform(0.4, 0.9), r.choice([0, 0, 0.8]), turns=r.randint(1, 3))
    ends = [(r.uniform(0.5, 4), r.choice([0, 0, 2, 3, 4, 5]), r.uniform(0, 0.35)) for _ in range(2)]
    fat = np.interp(np.linspace(0, 4, n), range(5), walk(r, 5, 0.05, 0.32, 0.15))
    twist, a = r.uniform(-3, 3), np.linspace(0, 2 * np.pi, seg, endpoint=False)
    along = np.gradient(spine, axis=0)
    along /= np.linalg.norm(along, axis=1)[:, None] + 1e-9
    side = np.cross(along, [0.3, 0.2, 1.0])
    side /= np.linalg.norm(side, axis=1)[:, None] + 1e-9
    up = np.cross(side, along)
    V = []
    for i in range(n):
        t = i / (n - 1)
        e, lobes, depth = [(1 - t) * x + t * y for x, y in zip(*ends)]
        p = 2 / (0.6 + e)
        rad = fat[i] * (np.abs(np.cos(a)) ** (2 / p) + np.abs(np.sin(a)) ** (2 / p)) ** (-p / 2) * (1 + depth * np.cos(round(lobes) * a))
        u, w = rad * np.cos(a + twist * t), rad * np.sin(a + twist * t)
        V += [tuple(spine[i] + x * side[i] + y * up[i]) for x, y in zip(u, w)]
    F = [(i * seg + k, i * seg + (k + 1) % seg, (i + 1) * seg + (k + 1) % seg, (i + 1) * seg + k) for i in range(n - 1) for k in range(seg)]
    F += [tuple(range(seg))[::-1], tuple(range((n - 1) * seg, n * seg))]
    return tip(r, [mesh('loft', V, F, stuff(r, C), uvs=[(k / seg, i / n) for i in range(n) for k in range(seg)])], 0.5)


def T_ropes(r, C):
    """Bent tubes: one, or several side by side, open or closed."""
    o, m = [], stuff(r, C)
    flat, closed, rad = r.choice([0, 0.5, 0.95]), r.random() < 0.5, r.uniform(0.03, 0.16)
    for _ in range(r.choice([1, 1, 1, 2, 3])):
        p = curve(r, 90, 0.7, flat, closed, r.randint(2, 5))
        o.append(tube(p, [rad * r.uniform(0.6, 1.2)] * len(p), m if r.random() < 0.7 else stuff(r, C), seg=16, flat=r.uniform(0.4, 1.6), closed=closed))
    return tip(r, o, 0.3)


def T_sheet(r, C):
    """A sheet folded along a few straight lines, rolled, or waved."""
    n, (w, h) = 44, (r.uniform(0.5, 1.1), r.uniform(0.5, 1.1))
    y, x = np.meshgrid(np.linspace(-h / 2, h / 2, n), np.linspace(-w / 2, w / 2, n), indexing='ij')
    p = np.stack([x.ravel(), y.ravel(), np.zeros(n * n)], 1)
    uvs = np.stack([x.ravel() / w + 0.5, y.ravel() / h + 0.5], 1)
    mode = r.choice(['folds', 'folds', 'roll', 'waves'])
    if mode == 'folds':
        for _ in range(r.randint(1, 4)):
            t, at, by = r.uniform(0, 3.1), r.uniform(-0.3, 0.3), r.choice([-1, 1]) * r.uniform(0.5, 2.6)
            d = Vector((math.cos(t), math.sin(t), 0))
            M = np.array(Matrix.Rotation(by, 3, Vector((-d.y, d.x, 0))))
            over = p[:, 0] * d.x + p[:, 1] * d.y - at
            foot = p - over[:, None] * np.array(d)
            soft = np.clip(over / 0.04, 0, 1)[:, None]
            p = np.where(over[:, None] > 0, (foot + (p - foot) @ M.T) * soft + p * (1 - soft), p)
    elif mode == 'roll':
        k = r.uniform(1.5, 12) / w
        a = (p[:, 0] + w / 2) * k
        q = (1 + 0.02 * a) / k
        p = np.stack([q * np.cos(a), p[:, 1], q * np.sin(a)], 1)
    else:
        for _ in range(r.randint(1, 4)):
            t, f = r.uniform(0, 3.1), r.uniform(2, 14)
            p[:, 2] += r.uniform(0.01, 0.16) * np.sin(f * (p[:, 0] * math.cos(t) + p[:, 1] * math.sin(t)) + r.uniform(0, 6))
    F = [(j * n + i, j * n + i + 1, (j + 1) * n + i + 1, (j + 1) * n + i) for j in range(n - 1) for i in range(n - 1)]
    return tip(r, [mesh('sheet', p, F, stuff(r, C), uvs=uvs)], 0.4)


def T_pierced(r, C):
    """A plate or a box with holes through it, some with further plates joined."""
    m = stuff(r, C)
    w, h = r.uniform(0.5, 1.2), r.uniform(0.5, 1.2)
    plate = r.choice([rounded(w, h, min(w, h) * r.uniform(0.02, 0.45)), circle(w / 2, ry=h / 2), smooth_outline([(r.uniform(0.3, 0.6) * math.cos(t), r.uniform(0.3, 0.6) * math.sin(t)) for t in np.linspace(0, 6.283, r.randint(4, 9), endpoint=False)])])
    k = r.randint(1, 4)
    size = min(w, h) / k * r.uniform(0.12, 0.34)
    holes = []
    for j in range(k):
        for i in range(k):
            x, y = (i - (k - 1) / 2) * 0.6 * w / k, (j - (k - 1) / 2) * 0.6 * h / k
            if r.random() < 0.8:
                holes.append([(x + a, y + b) for a, b in r.choice([circle(size, 24), rounded(2 * size, 1.4 * size, 0.2 * size)])][::-1])
    thick = r.choice([r.uniform(0.02, 0.08), r.uniform(0.1, 0.6)])
    o = [slab(plate, thick, m, holes=holes)]
    if r.random() < 0.3:
        o += move([slab(plate, thick, m, holes=holes)], z=thick + r.uniform(0.05, 0.5))
        o += [tube([(x, y, 0), (x, y, verts_of(o)[:, 2].max())], 0.03, stuff(r, C)) for x in (-w * 0.3, w * 0.3) for y in (-h * 0.3, h * 0.3)]
    return tip(r, o, 0.6)


def T_branch(r, C):
    """A stem that forks, its ends bare, in balls or in blades."""
    m, end, o = stuff(r, C), stuff(r, C), []
    ends = r.choice(['bare', 'ball', 'blade'])

    def grow(at, way, length, rad, left):
        bend = Vector((r.uniform(-1, 1), r.uniform(-1, 1), r.uniform(-0.3, 1))) * 0.35
        mid, to = at + (way + bend * 0.5) * length * 0.5, at + (way + bend).normalized() * length
        o.append(tube([tuple(at), tuple(mid), tuple(to)], [rad, rad * 0.85, rad * 0.7], m, seg=10))
        if left:
            for _ in range(r.randint(2, 3)):
                turn = Vector((r.uniform(-1, 1), r.uniform(-1, 1), r.uniform(-0.4, 0.9)))
                grow(to, (way * 0.6 + turn).normalized(), length * r.uniform(0.55, 0.85), rad * 0.65, left - 1)
        elif ends == 'ball':
            o.append(ball(rad * r.uniform(1.5, 4), end, tuple(to), 2))
        elif ends == 'blade':
            o.extend(move([leaf(r.uniform(0.1, 0.25), end, r.uniform(0.2, 0.5))], *to, rz=r.uniform(0, 6.3), ry=r.uniform(-0.9, 0.9)))

    grow(Vector((0, 0, 0)), Vector((0, 0, 1)), r.uniform(0.3, 0.6), r.uniform(0.02, 0.09), r.randint(1, 3))
    if r.random() < 0.4:
        o.append(cyl(r.uniform(0.12, 0.3), r.uniform(0.03, 0.2), stuff(r, C), bev=0.01))
    return tip(r, o, 0.35)


def T_lump(r, C):
    """Round masses grown into one another."""
    m, o = stuff(r, C), []
    for i in range(r.choice([1, 1, 2, 3, 4])):
        at = (0, 0, 0) if i == 0 else tuple(r.uniform(-0.35, 0.35) for _ in range(3))
        o.append(blob(r.uniform(0.2, 0.5), r.uniform(0.2, 0.5), r.uniform(0.15, 0.5), m if r.random() < 0.8 else stuff(r, C), r.choice([0, 0.15, 0.4]), r.uniform(0.8, 5), 4, r.uniform(0, 50), at))
    return ground(o)


def T_shell(r, C):
    """An open shell: a dish with lobes, a part of an egg, or a snail's."""
    mode = r.choice(['dish', 'dish', 'egg', 'snail'])
    n, seg = 28, 64
    lobes, depth, rim = r.choice([0, 0, 3, 5, 8, 12]), r.uniform(0.02, 0.25), r.uniform(0.1, 0.6)
    V = []
    for i in range(n):
        t = i / (n - 1)
        for k in range(seg):
            a = 2 * math.pi * k / seg
            if mode == 'dish':
                q = 0.5 * (0.15 + 0.85 * t ** (1.2 - rim)) * (1 + t * depth * math.cos(lobes * a))
                V.append((q * math.cos(a), q * math.sin(a), rim * t * t * (1 + 0.3 * depth * math.cos(lobes * a + 1))))
            elif mode == 'egg':
                e = 0.15 + t * (1.2 + rim)
                V.append((0.45 * math.sin(e) * math.cos(a), 0.45 * math.sin(e) * math.sin(a) * (1 - depth), -(0.5 + rim * 0.4) * math.cos(e)))
            else:
                s = t * 11
                g = 0.05 * math.exp(0.19 * s)
                V.append(((g + 0.75 * g * math.cos(a)) * math.cos(s), (g + 0.75 * g * math.cos(a)) * math.sin(s), 0.75 * g * math.sin(a) - g * (1 + 2 * rim)))
    F = [(i * seg + k, i * seg + (k + 1) % seg, (i + 1) * seg + (k + 1) % seg, (i + 1) * seg + k) for i in range(n - 1) for k in range(seg)]
    o = [mesh('shell', V, F, stuff(r, C), uvs=[(k / seg, i / n) for i in range(n) for k in range(seg)])]
    bpy.context.view_layer.objects.active = o[0]
    o[0].modifiers.new('wall', 'SOLIDIFY').thickness = r.uniform(0.01, 0.05)
    with bpy.context.temp_override(object=o[0]):
        bpy.ops.object.modifier_apply(modifier='wall')
    return tip(r, o, 0.3)


def T_wires(r, C):
    """A form of wire: a coil, a cage, a net over an egg, or a scribble."""
    m, o, rad = wire(r) if r.random() < 0.6 else stuff(r, C), [], r.uniform(0.008, 0.035)
    mode = r.choice(['coil', 'cage', 'net', 'scribble'])
    if mode == 'coil':
        n, k = r.randint(4, 14), r.uniform(-0.25, 0.25)
        t = np.linspace(0, 2 * np.pi * n, 24 * n)
        q = 0.35 + k * t / t[-1]
        o.append(tube(np.stack([q * np.cos(t), q * np.sin(t), t / t[-1] * r.uniform(0.1, 1.3)], 1), rad, m, seg=8))
    elif mode == 'cage':
        n, h, waist = r.randint(5, 14), r.uniform(0.5, 1.3), r.uniform(-0.25, 0.3)
        for k in range(n):
            a = 2 * math.pi * k / n
            q = [0.3 + waist * math.sin(math.pi * z) for z in np.linspace(0, 1, 12)]
            o.append(tube([(x * math.cos(a), x * math.sin(a), z * h) for x, z in zip(q, np.linspace(0, 1, 12))], rad, m, seg=6))
        o += [hoop(0.3 + waist * math.sin(math.pi * z), rad * 1.3, m, z * h) for z in np.linspace(0, 1, r.randint(2, 6))]
    elif mode == 'net':
        ex, n = r.uniform(0.6, 1.4), r.randint(4, 9)
        for k in range(n):
            for tilt in (0.4, -0.4):
                c = [hoop(0.4, rad, m, 0, 40, 6)]
                xf(c, Matrix.Diagonal((1, 1, ex, 1)) @ Matrix.Rotation(math.pi * k / n, 4, 'Z') @ Matrix.Rotation(math.pi / 2 - tilt, 4, 'X'))
                o += c
    else:
        o.append(tube(curve(r, 220, 0.6, r.choice([0, 0.9]), True, 9), rad, m, seg=6, closed=True))
    return tip(r, o, 0.4)


def T_facets(r, C):
    """The hull of a few points: flat faces and sharp edges."""
    bm = bmesh.new()
    for _ in range(r.randint(6, 22)):
        p = Vector((r.gauss(0, 1), r.gauss(0, 1), r.gauss(0, 1))).normalized() * r.uniform(0.35, 0.5)
        bm.verts.new(p * (1 if r.random() < 0.8 else 0.7))
    hull = bmesh.ops.convex_hull(bm, input=bm.verts[:])
    bmesh.ops.delete(bm, geom=list({v for v in hull['geom_interior'] + hull['geom_unused'] if isinstance(v, bmesh.types.BMVert)}), context='VERTS')
    if r.random() < 0.4:
        bmesh.ops.bevel(bm, geom=bm.edges[:], offset=r.uniform(0.01, 0.04), segments=2, profile=0.5, affect='EDGES')
    bm.verts.index_update()
    V, F = [tuple(v.co) for v in bm.verts], [[v.index for v in f.verts] for f in bm.faces]
    bm.free()
    return squeeze(r, ground([mesh('facets', V, F, stuff(r, C), smooth=False)]))


def T_strands(r, C):
    """Many strands bound together: a tassel, a bundle, a tuft."""
    m, n, o = stuff(r, C), r.randint(14, 60), []
    spread, L, rad, droop = r.uniform(0.05, 0.5), r.uniform(0.5, 1.0), r.uniform(0.008, 0.03), r.uniform(-0.3, 0.3)
    for _ in range(n):
        a, q = r.uniform(0, 6.3), spread * math.sqrt(r.random())
        l = L * r.uniform(0.75, 1)
        x, y = q * math.cos(a), q * math.sin(a)
        o.append(tube([(0.2 * x, 0.2 * y, 0), (0.5 * x, 0.5 * y, l * 0.5), (x, y, l * (1 - droop * q))], rad, m, seg=5))
    t = r.uniform(0.05, 0.45)
    o.append(hoop(0.02 + spread * (0.2 + 0.6 * t), r.uniform(0.02, 0.05), stuff(r, C), L * t * 0.87))
    return tip(r, o, 0.6)


SINGLE = [T_turned, T_loft, T_ropes, T_sheet, T_pierced, T_branch, T_lump, T_shell, T_wires, T_facets, T_strands]


def T_joined(r, C):
    """Two or three different things grown together, as a body has a lid, a foot or ears."""
    o = normalise(r.choice(SINGLE)(r, C), r.uniform(0.7, 1.0))
    for _ in range(r.randint(1, 2)):
        v = verts_of(o)
        at = v[r.randrange(len(v))]
        part = normalise(r.choice(SINGLE)(r, C), r.uniform(0.25, 0.6))
        lift = float(np.ptp(verts_of(part)[:, 2])) / 2
        copies = [1, -1] if r.random() < 0.4 else [1]
        for s in copies:
            twin = part if s == 1 else [q.copy() for q in part]
            for q, p in zip(twin, part):
                if q is not p:
                    q.data = p.data.copy()
                    bpy.context.scene.collection.objects.link(q)
                    q.data.transform(Matrix.Translation((-2 * float(at[0]), 0, 0)))
            o = o + (move(twin, *(float(x) for x in at[:2]), float(at[2]) - lift) if s == 1 else twin)
    return ground(o)


def T_group(r, C):
    """Two to four things, alike or not, close together or on one another."""
    make, seed, o, x = r.choice(SINGLE), r.random(), [], 0.0
    same, stacked = r.random() < 0.6, r.random() < 0.25
    for _ in range(r.randint(2, 4)):
        p = normalise((make if same else r.choice(SINGLE))(random.Random(seed) if same and r.random() < 0.6 else r, C), r.uniform(0.6, 1))
        v = verts_of(p)
        if stacked and o:
            move(p, z=float(verts_of(o)[:, 2].max()) - 0.01, rz=r.uniform(0, 6.3))
        else:
            move(p, x=x - float(v[:, 0].min()), y=r.uniform(-0.25, 0.25))
            x += float(np.ptp(v[:, 0])) + r.uniform(0.02, 0.2)
        o += p
    return o


NAMES = 'turned loft ropes sheet pierced branch lump shell wires facets strands joined group'.split()
THINGS = {'thing_' + k: globals()['T_' + k] for k in NAMES}
