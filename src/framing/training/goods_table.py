"""Kinds of product of the table and the bath; each G_* takes a random.Random and a Col (products.py) and gives a list of objects.

They stand on z = 0 or lie there, at any size.
"""

import math

import bpy  # noqa: F401 (gives mathutils)
import numpy as np
from mathutils import Matrix

from goods_parts import *


def G_teacup(r, C):
    m = C.mat(['gloss', 'speckle', 'matte', 'dip'])
    h = r.uniform(0.3, 0.45)
    o = [
        lathe(
            [
                (0, 0.04),
                (0.14, 0.04),
                (0.16, 0),
                (0.18, 0.02),
                (0.3, h * 0.5),
                (0.34, h + 0.04),
                (0.34, h + 0.04),
                (0.32, h + 0.04),
                (0.27, h * 0.5),
                (0.1, 0.08),
                (0, 0.08),
            ],
            m,
        ),
        tube(
            [(0.3 + 0.17 * math.cos(x), 0, h * 0.6 + h * 0.33 * math.sin(x)) for x in np.linspace(-1.35, 1.35, 20)],
            0.03,
            m,
            flat=1.3,
        ),
    ]
    if r.random() < 0.7:
        o = move(o, z=0.05) + [
            lathe(
                [(0, 0.02), (0.25, 0.0), (0.5, 0.08), (0.52, 0.09), (0.52, 0.1), (0.25, 0.03), (0, 0.04)],
                m if r.random() < 0.7 else C.mat(['gloss'], alt=True),
            )
        ]
    return o


def G_teapot(r, C):
    m = C.mat(['gloss', 'speckle', 'matte', 'metal'])
    h = r.uniform(0.5, 0.75)
    o = [
        lathe([(0, 0), (0.25, 0), (0.42, h * 0.35), (0.4, h * 0.7), (0.2, h * 0.98), (0.18, h), (0, h)], m),
        lathe([(0.2, h), (0.18, h + 0.05), (0.05, h + 0.1), (0.05, h + 0.14), (0.07, h + 0.18), (0, h + 0.22)], m),
    ]
    return o + [
        tube([(0.36, 0, h * 0.35), (0.52, 0, h * 0.5), (0.6, 0, h * 0.8), (0.7, 0, h * 0.95)], [0.1, 0.07, 0.05, 0.04], m),
        tube(
            [(-0.36 - 0.2 * math.cos(x), 0, h * 0.5 + h * 0.3 * math.sin(x)) for x in np.linspace(-1.4, 1.4, 18)],
            0.035,
            m if r.random() < 0.6 else wood(r),
        ),
    ]


def G_jug(r, C):
    m = C.mat(['gloss', 'speckle', 'matte', 'dip'])
    h = r.uniform(0.8, 1.1)
    return [
        lathe(
            [
                (0, 0),
                (0.26, 0),
                (0.36, h * 0.3),
                (0.2, h * 0.75),
                (0.26, h),
                (0.26, h),
                (0.23, h),
                (0.17, h * 0.75),
                (0.3, h * 0.3),
                (0, 0.06),
            ],
            m,
        ),
        tube(
            [(0.24 + 0.24 * math.cos(x), 0, h * 0.6 + h * 0.28 * math.sin(x)) for x in np.linspace(-1.4, 1.4, 20)],
            0.04,
            m,
            flat=1.4,
        ),
    ]


def G_vase(r, C):
    m = C.mat(['gloss', 'speckle', 'matte', 'glass', 'dip'])
    h = r.uniform(0.6, 1)
    a = [r.uniform(0.12, 0.4) for _ in range(4)]
    o = [
        lathe(
            [
                (0, 0),
                (a[0], 0),
                (a[1], h * 0.3),
                (a[2], h * 0.6),
                (a[3] * 0.6, h),
                (a[3] * 0.6, h),
                (a[3] * 0.6 - 0.03, h),
                (a[2] - 0.04, h * 0.6),
                (a[1] - 0.04, h * 0.3),
                (0, 0.05),
            ],
            m,
            n=8,
        )
    ]
    if r.random() < 0.5:
        g = make_mat('matte', r.choice(GREEN), r)
        f = C.mat(['matte'], alt=True)
        for i in range(r.randint(2, 7)):
            t, d, L = r.uniform(0, 6.3), r.uniform(0.05, 0.3), r.uniform(0.4, 0.8)
            top = (d * math.cos(t), d * math.sin(t), h + L)
            o += [
                tube([(0, 0, h * 0.6), (0.4 * top[0], 0.4 * top[1], h + L * 0.5), top], 0.012, g, seg=6),
                blob(0.05, 0.05, r.uniform(0.05, 0.14), f, 0.3, 3, 2, at=top),
            ]
    return o


def G_plant(r, C):
    o = [
        lathe(
            [(0, 0), (0.26, 0), (0.34, 0.45), (0.34, 0.45), (0.3, 0.45), (0.27, 0.38), (0, 0.38)],
            C.mat(['matte', 'gloss', 'speckle', 'dip']),
        )
    ]
    g = make_mat('matte', r.choice(GREEN[:3]), r)
    fat = r.uniform(0.15, 0.45)
    for i in range(r.randint(9, 22)):
        o += move([leaf(r.uniform(0.25, 0.6), g, fat)], z=0.38, rz=r.uniform(0, 6.3), ry=-r.uniform(0.2, 1.4))
    return o


def G_cutting_board(r, C):
    w, h = r.uniform(0.45, 0.75), r.uniform(0.8, 1.2)
    m = wood(r)
    kind = r.choice(['handle', 'round', 'plain', 'live'])
    if kind == 'round':
        return (
            [slab(circle(0.5), 0.06, m)]
            + [slab(rounded(0.16, 0.4, 0.07), 0.06, m)][:0]
            + move([slab(rounded(0.16, 0.5, 0.07), 0.058, m)], y=0.6)
        )
    if kind == 'live':
        return [
            slab(
                smooth_outline(
                    [
                        (x, y + r.uniform(-0.05, 0.05))
                        for x, y in [
                            (-0.6, -0.25),
                            (-0.2, -0.3),
                            (0.2, -0.27),
                            (0.6, -0.24),
                            (0.62, 0.2),
                            (0.2, 0.28),
                            (-0.2, 0.24),
                            (-0.6, 0.26),
                        ]
                    ]
                ),
                0.07,
                m,
            )
        ]
    hole = [circle(0.05, 20, 0, h / 2 + 0.12)[::-1]] if kind == 'handle' else []
    if kind == 'handle':
        p = [
            (-w / 2, -h / 2),
            (w / 2, -h / 2),
            (w / 2, h / 2 - 0.1),
            (0.12, h / 2 + 0.03),
            (0.09, h / 2 + 0.25),
            (-0.09, h / 2 + 0.25),
            (-0.12, h / 2 + 0.03),
            (-w / 2, h / 2 - 0.1),
        ]
        return [slab(p, 0.06, m, holes=hole)]
    return [slab(rounded(w, h, 0.06), 0.06, m, holes=[circle(0.05, 20, 0, h / 2 - 0.12)[::-1]])]


def G_tin(r, C):
    m = make_mat('metal', r.choice(GOLD), r) if r.random() < 0.7 else C.mat(['gloss', 'matte'])
    R, h = 0.4, r.uniform(0.22, 0.5)
    o = [
        lathe([(0, 0), (R, 0), (R, h), (R, h), (R - 0.02, h), (R - 0.02, 0.04), (0, 0.04)], m, smoothp=False),
        lathe([(0, h * 0.7), (R - 0.03, h * 0.7)], make_mat('wax', C.color, r), smoothp=False),
        tube([(0, 0, h * 0.7), (0.01, 0, h * 1.05)], 0.012, make_mat('matte', (0.2, 0.17, 0.13), r), seg=6),
        lathe([(R + 0.003, h * 0.2), (R + 0.003, h * 0.75)], make_mat('paper', C.alt_c, r), smoothp=False),
    ]
    if r.random() < 0.6:
        l = move([cyl(R + 0.02, 0.1, m)], x=r.choice([-1, 1]) * 0.75, y=r.uniform(-0.3, 0.3))
        o += l if r.random() < 0.5 else move(l, z=0.0)
    return o


def G_pillars(r, C):
    o = []
    x = 0
    for i in range(r.choice([1, 2, 3])):
        R, h = r.uniform(0.14, 0.24), r.uniform(0.4, 1.1)
        p = [
            cyl(R, h, make_mat(r.choice(['wax', 'matte']), r.choice([C.color, C.alt_c, (0.93, 0.89, 0.8)]), r)),
            tube([(0, 0, h), (0.01, 0, h + 0.08)], 0.012, make_mat('matte', (0.1, 0.1, 0.1), r), seg=5),
        ]
        move(p, x=x + R, y=r.uniform(-0.15, 0.15))
        x += 2 * R + r.uniform(0.02, 0.12)
        o += p
    return o


def G_tapers(r, C):
    o = []
    h = r.uniform(0.8, 1.2)
    m = C.mat(['wax', 'gloss', 'matte'])
    for i in range(2):
        p = [
            lathe([(0, 0), (0.05, 0), (0.05, h * 0.6), (0.025, h), (0, h)], m, seg=32),
            tube([(0, 0, h), (0.01, 0, h + 0.06)], 0.008, make_mat('matte', (0.9, 0.88, 0.8), r), seg=5),
        ]
        o += move(
            p
            + (
                [
                    lathe(
                        [(0, 0), (0.18, 0), (0.19, 0.03), (0.06, 0.06), (0.07, 0.16), (0.05, 0.16), (0, 0.1)],
                        r.choice([wire(r), C.mat(['gloss'], alt=True)]),
                    )
                ]
                if C.stand
                else []
            ),
            x=i * r.uniform(0.3, 0.5),
            y=r.uniform(-0.15, 0.15),
        )
        if not C.stand:
            xf(p, Matrix.Rotation(math.pi / 2, 4, 'X'))
    return o


def G_melts(r, C):
    o = []
    kind = r.choice(['heart', 'square', 'round', 'shell'])
    m = C.mat(['wax', 'matte'])
    n = r.choice([(2, 3), (3, 3), (1, 3), (2, 2), (2, 4)])
    heart = smooth_outline([(0, -0.13), (0.13, 0.0), (0.09, 0.11), (0, 0.06), (-0.09, 0.11), (-0.13, 0)])
    for i in range(n[0]):
        for j in range(n[1]):
            p = (
                [slab(heart, 0.07, m)]
                if kind == 'heart'
                else [rbox(0.24, 0.24, 0.12, 0.03, m)]
                if kind == 'square'
                else [cyl(0.13, 0.09, m, bev=0.03)]
                if kind == 'round'
                else [blob(0.13, 0.13, 0.07, m, 0.15, 6, 3, at=(0, 0, 0.06))]
            )
            o += move(p, x=j * 0.29 + r.uniform(-0.02, 0.02), y=i * 0.29 + r.uniform(-0.02, 0.02), rz=r.uniform(-0.3, 0.3))
    if r.random() < 0.3:
        o.append(slab(rounded(n[1] * 0.29 + 0.1, n[0] * 0.29 + 0.1, 0.05), 0.02, make_mat('paper', C.alt_c, r), z=-0.02))
        v = verts_of(o[:-1])
        c = (v.max(0) + v.min(0)) / 2
        move(o[-1:], x=c[0], y=c[1])
    return o


def G_towel(r, C):
    m = print_mat(r, C.color, r.uniform(0.5, 1))
    w, h = r.uniform(0.6, 0.8), r.uniform(0.8, 1.1)
    o = []
    for i in range(r.randint(2, 4)):
        o.append(rbox(w * r.uniform(0.97, 1), h * r.uniform(0.97, 1), 0.07, 0.03, m))
        move(o[-1:], z=0.06 * i, rz=r.uniform(-0.015, 0.015))
    return o


def G_candlestick(r, C):
    m = r.choice([wire(r), wood(r), C.mat(['gloss', 'matte'])])
    h = r.uniform(0.4, 0.8)
    o = [
        lathe(
            [
                (0, 0),
                (0.24, 0),
                (0.25, 0.04),
                (0.06, 0.1),
                (0.09, h * 0.4),
                (0.04, h * 0.6),
                (0.06, h * 0.9),
                (0.12, h),
                (0.1, h),
                (0.05, h - 0.04),
                (0, h - 0.04),
            ],
            m,
            n=6,
        )
    ]
    return o + (
        [
            lathe(
                [(0, h - 0.04), (0.05, h - 0.04), (0.045, h + 0.6), (0, h + 0.62)],
                make_mat('wax', r.choice([C.alt_c, (0.94, 0.91, 0.84)]), r),
            )
        ]
        if r.random() < 0.7
        else []
    )


def G_coasters(r, C):
    m = C.mat(['wood', 'marble', 'speckle', 'fabric']) if r.random() < 0.6 else print_mat(r, C.color, 0.5)
    rd = r.random() < 0.5
    one = lambda: [slab(circle(0.3) if rd else rounded(0.56, 0.56, 0.05), 0.05, m)]
    o = []
    for i in range(r.randint(2, 5)):
        o += move(
            one(),
            z=0.052 * i if r.random() < 0.6 else 0,
            x=(0 if r.random() < 0.6 else 0.62 * i),
            y=r.uniform(-0.03, 0.03),
            rz=r.uniform(-0.2, 0.2),
        )
    return o


def G_plates(r, C):
    o = []
    for i in range(r.randint(1, 4)):
        k = 1 - 0.14 * i * r.choice([0, 1])
        o += move(
            [
                lathe(
                    [(0, 0.02), (0.3, 0.0), (0.48, 0.06), (0.52, 0.09), (0.52, 0.1), (0.48, 0.08), (0.3, 0.03), (0, 0.03)],
                    C.mat(['gloss', 'speckle', 'matte', 'dip'], alt=i % 2 == 1),
                )
            ],
            z=0.05 * i,
            s=k,
        )
    return o


def G_jam(r, C):
    o = []
    x = 0
    for i in range(r.choice([1, 1, 2, 3])):
        R, h = 0.26, r.uniform(0.5, 0.62)
        c = r.choice([(0.6, 0.15, 0.1), (0.8, 0.55, 0.12), (0.35, 0.1, 0.2), (0.75, 0.7, 0.35)])
        p = [
            lathe([(0, 0), (R, 0), (R, 0.03), (R, h * 0.85), (R * 0.85, h), (R * 0.85, h), (0, h)], make_mat('gloss', c, r)),
            cyl(R * 0.92, 0.09, wire(r), h),
            lathe([(R + 0.003, h * 0.2), (R + 0.003, h * 0.65)], make_mat('paper', (0.93, 0.9, 0.84), r), smoothp=False),
        ]
        if r.random() < 0.5:
            p.append(
                lathe(
                    [(0, h + 0.1), (R * 0.95, h + 0.095), (R * 1.1, h - 0.03), (R * 1.25, h - 0.08)],
                    print_mat(r, C.alt_c, 0.4),
                    flute=18,
                    fdepth=0.06,
                )
            )
        o += move(p, x=x, y=r.uniform(-0.15, 0.15))
        x += 0.62
    return o


def G_bath_bombs(r, C):
    n = r.randint(1, 5)
    o = [
        ball(
            0.2,
            make_mat(r.choice(['matte', 'speckle', 'plaster']), r.choice([C.color, C.alt_c]), r),
            (0.42 * (i % 3) + r.uniform(-0.02, 0.02), 0.42 * (i // 3), 0.2),
            4,
        )
        for i in range(n)
    ]
    if n > 2 and r.random() < 0.4:
        b = C.mat(['paper', 'wood'], alt=True)
        o += [
            q
            for q in move([rbox(1.35, 0.95, 0.04, 0.01, b, 1)], x=0.42, y=0.21, z=-0.04)
            + move([rbox(1.35, 0.04, 0.22, 0.01, b, 1)], x=0.42, y=0.68, z=-0.02)
            + move([rbox(0.04, 0.95, 0.22, 0.01, b, 1)], x=1.08, y=0.21, z=-0.02)
            + move([rbox(0.04, 0.95, 0.22, 0.01, b, 1)], x=-0.24, y=0.21, z=-0.02)
        ]
    return o


def G_dropper(r, C):
    R, h = 0.2, r.uniform(0.5, 0.7)
    g = make_mat(r.choice(['glass', 'gloss']), r.choice([(0.35, 0.18, 0.06), (0.1, 0.15, 0.2), (0.9, 0.9, 0.9), C.color]), r)
    return [
        lathe([(0, 0), (R, 0), (R, 0.02), (R, h * 0.8), (R * 0.5, h), (R * 0.5, h + 0.05), (0, h + 0.05)], g),
        cyl(R * 0.62, 0.14, make_mat('gloss', r.choice([(0.05, 0.05, 0.05), (0.9, 0.9, 0.9), (0.8, 0.65, 0.4)]), r), h + 0.02),
        lathe([(0.07, h + 0.16), (0.075, h + 0.25), (0.05, h + 0.34), (0, h + 0.36)], make_mat('matte', (0.08, 0.08, 0.08), r)),
        lathe(
            [(R + 0.003, h * 0.15), (R + 0.003, h * 0.65)],
            make_mat('paper', r.choice([(0.93, 0.9, 0.84), C.alt_c]), r),
            smoothp=False,
        ),
    ]


def G_cutlery(r, C):
    m = wood(r) if r.random() < 0.5 else wire(r)
    o = []
    for i, k in enumerate(r.sample(['fork', 'knife', 'spoon', 'spatula'], r.randint(1, 3))):
        p = [slab(smooth_outline([(-0.04, -0.6), (0.04, -0.6), (0.025, 0), (-0.025, 0)]), 0.03, m)]
        p += (
            [slab(smooth_outline([(-0.025, -0.02), (0.03, -0.02), (0.06, 0.3), (0, 0.45)]), 0.02, m)]
            if k == 'knife'
            else [blob(0.09, 0.15, 0.03, m, at=(0, 0.1, 0.02), sub=3)]
            if k == 'spoon'
            else [slab(rounded(0.2, 0.3, 0.04), 0.03, m)]
            if k == 'spatula'
            else [slab(rounded(0.14, 0.14, 0.03), 0.03, m)]
            + [x for q in (-0.05, 0, 0.05) for x in move([rbox(0.025, 0.2, 0.03, 0.005, m, 1)], x=q, y=0.14)]
        )
        if k == 'spatula':
            move(p[1:], y=0.12)
        o += move(p, x=0.28 * i, rz=r.uniform(-0.12, 0.12), y=r.uniform(-0.05, 0.05))
    return move(o, rz=r.uniform(0, 6.3))


def G_tray(r, C):
    m = C.mat(['gloss', 'marble', 'speckle', 'wood'])
    k = r.choice([0.6, 0.8, 1])
    return (
        [lathe([(0, 0.02), (0.44, 0.02), (0.46, 0.1), (0.5, 0.1), (0.5, 0.1), (0.49, 0), (0, 0)], m, smoothp=False)]
        if r.random() < 0.5
        else [slab(rounded(1, k, 0.1), 0.03, m)]
        + [tube([(x, y, 0.06) for x, y in rounded(0.97, k - 0.03, 0.09)], 0.035, m, closed=True)]
    )
