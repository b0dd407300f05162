"""Lays one scene: a product on a surface of some outline, what lies round it, and the room beyond the surface's end.

Owns the geometry of surfaces, edges and placement; the plan (scenes.py) says what is wanted, studio.py takes the picture.
"""

import math, random
import numpy as np
import bpy
from studio import *

SURF = {
    'white': ('paper', [(0.93, 0.93, 0.92), (0.9, 0.9, 0.89)]),
    'wood': ('wood', [(0.66, 0.48, 0.31), (0.5, 0.34, 0.22), (0.78, 0.64, 0.47), (0.33, 0.22, 0.15)]),
    'linen': ('linen', [(0.82, 0.77, 0.68), (0.7, 0.66, 0.6), (0.9, 0.88, 0.84)]),
    'colour': ('paper', [(0.86, 0.7, 0.66), (0.62, 0.73, 0.68), (0.85, 0.74, 0.42), (0.55, 0.65, 0.78)]),
    'black': ('paper', [(0.09, 0.09, 0.1), (0.13, 0.12, 0.12)]),
}
WALLC = [(0.8, 0.79, 0.76), (0.62, 0.68, 0.72), (0.85, 0.78, 0.68), (0.5, 0.55, 0.5), (0.7, 0.6, 0.58), (0.35, 0.36, 0.4)]
ELEV = {'sweep': (4, 26), 'vboard': (6, 26), 'low': (8, 32), 'board': (30, 66), 'flat': (76, 90)}
OUTLINES = ['rect', 'rect', 'round', 'oval', 'rounded', 'cut', 'live', 'hex', 'trapezoid', 'handle']


def surface(r, name, span=None):
    """(material, mean colour) of a named surface: the five plain ones or a pattern."""
    if name in SURF:
        k, cs = SURF[name]
        c = r.choice(cs)
        return make_mat(k, c, r), c
    return pattern_mat(name, r.randint(0, 10**7), span or r.uniform(2.2, 6), r.choice([0, 0, 1.5708, r.uniform(-0.8, 0.8)]))


def outline(kind, r, x0, x1, y0, y1):
    """A closed outline in the box, counter-clockwise."""
    cx, cy, a, b = (x0 + x1) / 2, (y0 + y1) / 2, (x1 - x0) / 2, (y1 - y0) / 2
    if kind == 'round':
        q = max(a, b)
        return circle(q, 96, cx, cy)
    if kind == 'oval':
        return [
            (
                cx + a * 1.1 * abs(math.cos(t)) ** 0.8 * np.sign(math.cos(t)),
                cy + b * 1.1 * abs(math.sin(t)) ** 0.8 * np.sign(math.sin(t)),
            )
            for t in np.linspace(0, 2 * np.pi, 96, endpoint=False)
        ]
    if kind == 'rounded':
        return [(cx + x, cy + y) for x, y in rounded(2 * a, 2 * b, min(a, b) * r.uniform(0.1, 0.6), 10)]
    if kind == 'cut':
        k = min(a, b) * r.uniform(0.15, 0.6)
        return (
            [(x0 + k, y0), (x1, y0), (x1, y1 - k), (x1 - k, y1), (x0, y1), (x0, y0 + k)]
            if r.random() < 0.5
            else [
                (x0 + k, y0),
                (x1 - k, y0),
                (x1, y0 + k),
                (x1, y1 - k),
                (x1 - k, y1),
                (x0 + k, y1),
                (x0, y1 - k),
                (x0, y0 + k),
            ]
        )
    if kind == 'live':
        n = 40
        f = lambda: np.convolve(np.random.default_rng(r.randint(0, 10**6)).normal(size=n + 8), np.ones(9) / 9, 'valid')
        lo, hi = f() * b * 0.12, f() * b * 0.12
        u = np.linspace(x0, x1, n)
        return [(x, y0 + d) for x, d in zip(u, lo)] + [(x, y1 + d) for x, d in zip(u[::-1], hi)]
    if kind == 'hex':
        k = a * r.uniform(0.2, 0.4)
        return [(x0 + k, y0), (x1 - k, y0), (x1, cy), (x1 - k, y1), (x0 + k, y1), (x0, cy)]
    if kind == 'trapezoid':
        k, l = a * r.uniform(-0.3, 0.3), a * r.uniform(-0.3, 0.3)
        return [(x0 - k, y0), (x1 + l, y0), (x1 - l, y1), (x0 + k, y1)]
    if kind == 'handle':
        h, w, L = a * r.uniform(0.25, 0.5), b * r.uniform(0.15, 0.3), a * r.uniform(0.3, 0.8)
        return [
            (x0, y0),
            (x1 - h * 0.3, y0),
            (x1, y0 + h * 0.3),
            (x1, cy - w),
            (x1 + L, cy - w * 0.8),
            (x1 + L * 1.1, cy),
            (x1 + L, cy + w * 0.8),
            (x1, cy + w),
            (x1, y1 - h * 0.3),
            (x1 - h * 0.3, y1),
            (x0, y1),
        ]
    return [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]


def inside(poly, pts):
    p = np.array(poly)
    q = np.roll(p, -1, 0)
    x, y = pts[:, 0:1], pts[:, 1:2]
    c = ((p[:, 1] > y) != (q[:, 1] > y)) & (x < (q[:, 0] - p[:, 0]) * (y - p[:, 1]) / (q[:, 1] - p[:, 1] + 1e-12) + p[:, 0])
    return c.sum(1) % 2 == 1


def build(plan, seed, hdris):
    """dict(cam, props, albedo, elev), or None when this draw cannot be laid."""
    reset()
    r = random.Random(seed)
    W, H = plan['wh']
    sc = bpy.context.scene
    kind, view, edges = plan['kind'], plan['view'], list(plan['edges'])
    lying = view == 'flat' or kind in goods.LYING
    smat, scol = surface(r, plan['surf'])
    C = Col(r, scol, plan['near'])
    C.stand = not lying
    prod = normalise(goods.ALL[kind](r, C), 1.0)
    if kind not in ('beanie', 'box', 'ring', 'set', 'frame', 'card', 'rabbit', 'bear', 'octopus', 'suncatcher'):
        move(prod, rz=r.uniform(0, 6.28))
    elif r.random() < 0.8:
        move(prod, rz=r.uniform(-0.7, 0.7))
    ground(prod)
    move(prod, z=0.004)
    cam = Cam(W, H, math.radians(r.uniform(*ELEV[view])), r.uniform(26, 70))
    v = verts_of(prod)
    tgt = (v.min(0) + v.max(0)) / 2
    d = 5.0
    roll = math.radians(r.uniform(-5, 5)) if r.random() < 0.5 else 0
    for _ in range(8):
        cam.place(tgt, d, roll)
        p = cam.proj(v)
        k = min(plan['hfrac'] / np.ptp(p[:, 1]), 0.78 / np.ptp(p[:, 0]))
        d = max(d / k, 1.2)
    cam.place(tgt, d, roll)
    p = cam.proj(v)
    b = [p[:, 0].min(), p[:, 1].min(), p[:, 0].max(), p[:, 1].max()]
    bw, bh = b[2] - b[0], b[3] - b[1]
    fx, fy = 1 - bw, 1 - bh
    pl = plan['place']
    if pl == 'centre':
        x0, y0 = fx * r.uniform(0.42, 0.58), fy * r.uniform(0.42, 0.58)
    elif pl == 'off':
        x0, y0 = fx * r.choice([r.uniform(0.12, 0.34), r.uniform(0.66, 0.88)]), fy * r.uniform(0.2, 0.8)
    else:
        x0, y0 = fx * r.uniform(0.2, 0.8), fy * r.uniform(0.3, 0.7)
        g = r.uniform(0.008, 0.035) if pl == 'edge' else -r.uniform(0.06, 0.16)
        s = r.choice('lrtb')
        q = g if pl == 'edge' else None
        if s == 'l':
            x0 = q if q else g * bw
        elif s == 'r':
            x0 = fx - (q if q else g * bw)
        elif s == 't':
            y0 = q if q else g * bh
        else:
            y0 = fy - (q if q else g * bh)
    L = max(W, H)
    cam.cd.shift_x = (b[0] - x0) * W / L
    cam.cd.shift_y = -(b[1] - y0) * H / L
    bpy.context.view_layer.update()
    p = cam.proj(v)
    b = [p[:, 0].min(), p[:, 1].min(), p[:, 0].max(), p[:, 1].max()]
    cx, cy = (b[0] + b[2]) / 2, (b[1] + b[3]) / 2
    between = lambda lo, hi: lo + (hi - lo) * r.uniform(0.12, 0.8)
    a = math.radians(plan['rot'])
    ca, sa = math.cos(a), math.sin(a)
    toL = lambda q: (q[0] * ca + q[1] * sa, -q[0] * sa + q[1] * ca)
    toW = lambda x, y, z=0: (x * ca - y * sa, x * sa + y * ca, z)
    pv = np.c_[v[:, 0] * ca + v[:, 1] * sa, -v[:, 0] * sa + v[:, 1] * ca]
    pmin, pmax = pv.min(0), pv.max(0)
    foot = surf_pts(prod, seed, 600)
    footl = np.c_[foot[:, 0] * ca + foot[:, 1] * sa, -foot[:, 0] * sa + foot[:, 1] * ca]
    rname = plan['surf'] if plan.get('same') else r.choice([k for k in plan['rooms'] if k != plan['surf']])
    rmat, _ = surface(r, rname, r.uniform(2.5, 9))
    ok, room = [], []
    photo = lights(r, view, d, hdris)
    upright = lambda x, y, z, w, h: quad(
        [(x - w, y, z), (x + w, y, z), (x + w, y, z + h), (x - w, y, z + h)],
        surface(r, r.choice(['plaster', 'wallpaper', 'brick', 'plain', 'planks', 'white', 'subway']), r.uniform(4, 12))[0],
    )
    if view in ('flat', 'board', 'low'):
        B = np.array(
            [
                toL(q)
                for q in (cam.hit(u, w) for u in np.linspace(-0.1, 1.1, 7) for w in np.linspace(-0.1, 1.1, 7))
                if q is not None
            ]
        )
        lo, hi = np.maximum(B.min(0) - 0.3, -25), np.minimum(B.max(0) + 0.3, 40)
        x0, y0, x1, y1 = lo[0], lo[1], hi[0], hi[1]

        def at(u, w):
            return toL(cam.hit(u, w))

        try:
            if 'left' in edges:
                x0 = min(at(between(0.02, b[0]), cy)[0], pmin[0] - 0.04)
            if 'right' in edges:
                x1 = max(at(between(0.98, b[2]), cy)[0], pmax[0] + 0.04)
            if 'near' in edges:
                y0 = min(at(cx, between(0.98, b[3]))[1], pmin[1] - 0.04)
            if 'far' in edges:
                y1 = max(at(cx, between(0.02, b[1]))[1], pmax[1] + 0.08)
        except TypeError:
            return None
        if view == 'low' and 'far' in edges:
            y1 = pmax[1] + r.uniform(0.3, 1.6)
        shape = plan['outline'] if edges else 'rect'
        poly = outline(shape, r, x0, x1, y0, y1)
        for _ in range(12):
            if inside(poly, footl).all():
                break
            k = 1.08
            c = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
            poly = [tuple(c + (np.array(q) - c) * k) for q in poly]
            x0, x1, y0, y1 = c[0] + (x0 - c[0]) * k, c[0] + (x1 - c[0]) * k, c[1] + (y0 - c[1]) * k, c[1] + (y1 - c[1]) * k
        else:
            return None
        th = r.choice([r.uniform(0.006, 0.02), r.uniform(0.03, 0.2)])
        W3 = [toW(x, y) for x, y in poly]
        n = len(W3)
        top = mesh('top', W3, [tuple(range(n))], smat, smooth=False)
        ok.append(top)
        side = make_mat(r.choice(['wood', 'matte', 'paper']), mulc(scol, r.uniform(0.5, 0.95)), r)
        sk = mesh(
            'skirt',
            [(x, y, -0.0008) for x, y, _ in W3] + [(x, y, -th) for x, y, _ in W3],
            [(i, (i + 1) % n, n + (i + 1) % n, n + i) for i in range(n)],
            side,
            smooth=False,
        )
        room.append(sk)
        drop = th if view != 'low' and r.random() < 0.75 else r.uniform(1.2, 3.5)
        wy = None
        if edges:
            room.append(
                quad(
                    [(-40, -30, -drop - 0.001), (40, -30, -drop - 0.001), (40, 45, -drop - 0.001), (-40, 45, -drop - 0.001)],
                    rmat,
                )
            )
        if view != 'flat':
            wy = max(y1, 2) + r.uniform(0.6, 5) if edges else y1 + 0.2
            if not (photo and edges and r.random() < 0.6):
                room.append(upright(0, wy, -4, 40, 30))
            if edges and r.random() < 0.7:
                for i in range(r.randint(1, 5)):
                    o = rbox(r.uniform(0.3, 1.8), 0.5, r.uniform(0.4, 3), 0.02, make_mat('paper', r.choice(PAL), r), 2)
                    move([o], x=r.uniform(-6, 6), y=wy - r.uniform(0.5, 1.2), z=-drop)
                    room.append(o)
            if edges and r.random() < 0.25:
                room += window(r.uniform(-3, 3), wy - 0.1, r, z0=-0.5)
        if edges and r.random() < 0.65:  # things lying on the floor beyond the board
            for i in range(r.randint(1, 4)):
                q = cam.hit(r.uniform(0, 1), r.uniform(0, 1), 2, -drop)
                if q is None or np.hypot(q[0], q[1]) > 15 or (wy and q[1] > wy - 0.5):
                    continue
                o = r.choice(
                    [
                        lambda: [
                            rbox(
                                r.uniform(0.2, 0.8),
                                r.uniform(0.2, 0.5),
                                r.uniform(0.05, 0.4),
                                0.01,
                                make_mat('paper', r.choice(PAL), r),
                                2,
                            )
                        ],
                        lambda: ground(prop_big(r)),
                        lambda: [blob(0.2, 0.15, 0.1, make_mat('matte', r.choice(PAL), r), 0.2, 2, 3, at=(0, 0, 0.1))],
                    ]
                )()
                move(o, x=q[0], y=q[1], z=-drop, rz=r.uniform(0, 3))
                t = verts_of(o)
                tl = np.c_[t[:, 0] * ca + t[:, 1] * sa, -t[:, 0] * sa + t[:, 1] * ca]
                if inside(poly, tl[::7]).any():
                    [bpy.data.objects.remove(x) for x in o]
                else:
                    room += o
        fits = lambda l, rad: inside(
            poly, np.array([[l[0] + rad * math.cos(t), l[1] + rad * math.sin(t)] for t in np.linspace(0, 6.28, 8)])
        ).all()
    else:  # a sheet or board that stands up behind the product
        yb = v[:, 1].max() + r.uniform(0.3, 1.6)
        rr = r.uniform(0.25, 0.7) if view == 'sweep' else 0.0005
        hl, hr, ht = cam.hit(-0.1, cy, 1, yb), cam.hit(1.1, cy, 1, yb), cam.hit(cx, -0.15, 1, yb)
        if hl is None or hr is None or ht is None:
            return None
        xl, xr, zt = hl[0] - 1, hr[0] + 1, max(ht[2] + 0.5, 1.5)
        q = cam.hit(0.5, 1.1)
        yn = min((q[1] - 0.5) if q is not None else -d - 1, v[:, 1].min() - 0.4)
        for u in (-0.1, 1.1):
            q = cam.hit(u, 1.1)
            if q is not None:
                xl = min(xl, q[0] - 0.3)
                xr = max(xr, q[0] + 0.3)
        try:
            if 'left' in edges:
                xl = min(cam.hit(between(0.02, b[0]), b[1], 1, yb)[0], v[:, 0].min() - 0.05)
            if 'right' in edges:
                xr = max(cam.hit(between(0.98, b[2]), b[1], 1, yb)[0], v[:, 0].max() + 0.05)
            if 'far' in edges:
                zt = max(cam.hit(cx, between(0.02, b[1]), 1, yb)[2], 0.5)
            if 'near' in edges:
                yn = min(cam.hit(cx, between(0.98, b[3]))[1], v[:, 1].min() - 0.05)
        except TypeError:
            return None
        prof = (
            [(yn, 0), (yb - rr, 0)]
            + [(yb - rr + rr * math.sin(t), rr - rr * math.cos(t)) for t in np.linspace(0.1, 1.5708, 12)]
            + [(yb, zt)]
        )
        sh = math.tan(a) * 0.15

        def strip(pr, m):
            return mesh(
                'strip',
                [(x + sh * y, y, z) for y, z in pr for x in (xl, xr)],
                [(2 * i, 2 * i + 1, 2 * i + 3, 2 * i + 2) for i in range(len(pr) - 1)],
                m,
                smooth=True,
            )

        if view == 'sweep':
            ok.append(strip(prof, smat))
        else:
            bmat, _ = surface(r, r.choice([k for k in plan['rooms'] if k != plan['surf']]))
            ok += [strip([(yn, 0), (yb, 0)], smat), strip([(yb, 0), (yb, zt)], bmat)]
        if edges:
            tz = -r.choice([0.03, 0.03, 1.2])
            room.append(quad([(-30, yn - 4, tz), (30, yn - 4, tz), (30, yb + 3, tz), (-30, yb + 3, tz)], rmat))
            wy = yb + r.uniform(1.5, 6)
            if not (photo and r.random() < 0.6):
                room.append(upright(0, wy, -6, 40, 30))
                room.append(
                    quad(
                        [(-40, -20, -3.2), (40, -20, -3.2), (40, wy, -3.2), (-40, wy, -3.2)],
                        surface(r, r.choice(plan['rooms']), 4)[0],
                    )
                )
            if r.random() < 0.35:
                q = cam.hit(r.choice([0.1, 0.5, 0.9]), 0.2, 1, wy - 0.1)
                room += window(q[0], wy - 0.1, r, z0=q[2] - 1.2) if q is not None else []
            for i in range(r.randint(0, 4)):
                s = r.choice([-1, 1])
                o = (
                    [
                        rbox(
                            r.uniform(0.3, 1),
                            0.5,
                            r.uniform(0.4, 2.2),
                            0.02,
                            make_mat(r.choice(['paper', 'wood', 'gloss']), r.choice(PAL), r),
                            2,
                        )
                    ]
                    if r.random() < 0.6
                    else normalise(prop_big(r), r.uniform(0.6, 1.4))
                )
                move(o, x=(xl - r.uniform(0.6, 2.5)) if s < 0 else (xr + r.uniform(0.6, 2.5)), y=yb + r.uniform(0.1, 0.8), z=tz)
                room += o
        fits = lambda l, rad: xl + 0.05 + rad < l[0] < xr - 0.05 - rad and yn + rad < l[1] < yb - rr * 0.5 - 0.1 - rad
    props = place_props(r, plan, cam, prod, foot, fits, toL if view in ('flat', 'board', 'low') else (lambda q: q), v, b, view)
    if plan['dof']:
        cam.cd.dof.use_dof = True
        f = np.array(cam.ob.matrix_world)[:3, 2] * -1
        cam.cd.dof.focus_distance = float(np.dot(np.array([0, v[:, 1].min() * 0.5, tgt[2]]) - np.array(cam.ob.location), f))
        cam.cd.dof.aperture_fstop = r.uniform(0.15, 0.4) * (d / 5) ** 0.3
    for obs, c in ((ok, (0, 1, 0)), (room, (0, 0, 0)), (prod, (1, 0, 0)), (props, (0, 0, 1))):
        setcol(obs, c)
    return dict(cam=cam, props=props, albedo=float(np.mean(lin(scol))), elev=round(math.degrees(cam.elev)))


def place_props(r, plan, cam, prod, foot, fits, local, v, b, view):
    """Puts the wanted props where they are free of the product and on the surface; returns their objects."""
    out, taken = [], []
    lying = view == 'flat'

    def put(ob, rad, tries=40, behind=False, us=(0.02, 0.98), vs=(0.02, 0.98)):
        for _ in range(tries):
            q = cam.hit(r.uniform(*us), r.uniform(*vs))
            if (
                q is None
                or not fits(local(q), rad)
                or np.hypot(*(foot - np.array(q[:2])).T).min() <= rad
                or any(math.dist(q[:2], o[:2]) <= (rad + o[2]) * 0.7 for o in taken)
            ):
                continue
            if behind and not lying and q[1] < v[:, 1].max() + max(0.25, rad):
                continue
            move(ob, x=q[0], y=q[1])
            taken.append((q[0], q[1], rad))
            out.extend(ob)
            return True
        for o in ob:
            bpy.data.objects.remove(o)
        return False

    for pk in plan['props']:
        if pk == 'small':
            k = r.choice(['leaf', 'sprig', 'pebble'])
            for i in range(r.randint(1, 4)):
                o = prop_small(r, k)
                s = r.uniform(0.7, 1.2)
                move(o, s=s)
                ground(o)
                put(o, {'leaf': 0.22, 'sprig': 0.42, 'pebble': 0.13}[k] * s)
        elif pk == 'scatter':
            k = r.choice(['bean', 'bean', 'petal', 'pebble'])
            uc, vc = r.uniform(0.1, 0.9), r.uniform(0.2, 0.9)
            for i in range(r.randint(12, 30)):
                o = prop_small(r, k)
                s = r.uniform(0.6, 1.1) * (1 if k != 'pebble' else 0.5)
                move(o, s=s, rz=r.uniform(0, 6))
                ground(o)
                u0, v0 = min(max(r.gauss(uc, 0.12), 0.01), 0.99), min(max(r.gauss(vc, 0.1), 0.01), 0.99)
                put(o, 0.06 * s, 4, us=(u0, u0), vs=(v0, v0))
        elif pk in ('big', 'rival'):
            o = ground(prop_big(r) if pk == 'big' else rival(r, lying, plan['rivals']))
            ve = verts_of(o)
            rad = float(max(np.ptp(ve[:, 0]), np.ptp(ve[:, 1]))) / 2
            sides = [(-0.08, max(0.0, b[0] - 0.05)), (min(1.0, b[2] + 0.05), 1.08)]
            r.shuffle(sides)
            for sel in sides:
                vs = (0.02, 0.98) if lying else (max(0.05, b[1] * 0.5), b[3] * 0.97)
                sel = sel if not lying or pk == 'rival' else ((-0.07, 0.02) if sel[0] < 0 else (0.98, 1.07))
                if put(o, rad * (0.8 if pk == 'rival' else 1), 60, pk == 'big' or r.random() < 0.6, sel, vs):
                    break
                break
        elif pk == 'hand':
            c = foot.mean(0)
            t = (
                r.uniform(-0.6, 0.6) + r.choice([0, math.pi])
                if view in ('flat', 'board') and r.random() < 0.7
                else -math.pi / 2 + r.uniform(-0.7, 0.7)
            )
            e = np.array([math.cos(t), math.sin(t)])
            reach = float(np.max((foot - c) @ e))
            o = hand(r, 6.0)
            tip = float(verts_of(o)[:, 0].max())
            o = move(o, rz=t + math.pi)
            k = reach + tip + r.uniform(-0.12, 0.25)
            move(o, x=c[0] + e[0] * k, y=c[1] + e[1] * k, z=r.uniform(0, 0.2))
            out.extend(o)
    return out
