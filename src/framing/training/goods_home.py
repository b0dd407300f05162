"""Kinds of product of the home and the nursery; each G_* takes a random.Random and a Col (products.py) and gives a list of objects.

They stand on z = 0 or lie there, at any size.
"""

import math

import bpy  # noqa: F401 (gives mathutils)
import numpy as np
from mathutils import Matrix

from goods_parts import *


def G_bear(r, C, ears='round'):
    m = C.mat(['carpet', 'matte', 'knit', 'fabric'])
    m2 = C.mat(['carpet', 'matte'], alt=True) if r.random() < 0.6 else m
    k = make_mat('gloss', (0.04, 0.04, 0.04), r)
    a = r.choice([0, 0.04])
    o = [
        blob(0.3, 0.26, 0.34, m, a, 4, 4, at=(0, 0, 0.36)),
        blob(0.25, 0.23, 0.24, m, a, 4, 4, at=(0, -0.03, 0.85)),
        blob(0.1, 0.08, 0.08, m2, at=(0, -0.25, 0.8), sub=3),
        ball(0.03, k, (0, -0.33, 0.83), 2),
        ball(0.03, k, (-0.1, -0.23, 0.92), 2),
        ball(0.03, k, (0.1, -0.23, 0.92), 2),
    ]
    for s in (-1, 1):
        o += [
            blob(0.1, 0.22, 0.1, m, a, 4, 3, at=(s * 0.2, -0.22, 0.12)),
            blob(0.08, 0.1, 0.2, m, a, 4, 3, at=(s * 0.33, -0.05, 0.45)),
        ]
        o += (
            [blob(0.1, 0.05, 0.1, m, a, 4, 3, at=(s * 0.2, 0, 1.06))]
            if ears == 'round'
            else [blob(0.07, 0.05, 0.3, m, a, 4, 3, at=(s * 0.12, 0, 1.25))]
        )
    return o + ([hoop(0.2, 0.04, C.mat(['fabric', 'gloss'], alt=True), 0.66)] if r.random() < 0.4 else [])


def G_rabbit(r, C):
    return G_bear(r, C, 'long')


def G_octopus(r, C):
    m = C.mat(['knit', 'carpet', 'fabric'], scale=3)
    o = [blob(0.34, 0.34, 0.36, m, 0.03, 5, 4, at=(0, 0, 0.5))]
    for i in range(8):
        t = i * math.pi / 4 + r.uniform(-0.2, 0.2)
        L = r.uniform(0.3, 0.5)
        o.append(
            tube(
                [
                    (0.2 * math.cos(t), 0.2 * math.sin(t), 0.25),
                    (0.38 * math.cos(t), 0.38 * math.sin(t), 0.08),
                    ((0.3 + L) * math.cos(t + 0.2), (0.3 + L) * math.sin(t + 0.2), 0.07),
                    ((0.38 + L) * math.cos(t + 0.4), (0.38 + L) * math.sin(t + 0.4), 0.12),
                ],
                [0.1, 0.08, 0.07, 0.05],
                m,
            )
        )
    return o + [ball(0.045, make_mat('gloss', (0.03, 0.03, 0.03), r), (s * 0.13, -0.3, 0.55), 2) for s in (-1, 1)]


def G_frame(r, C):
    w, h = r.choice([(0.7, 1), (1, 0.7), (0.8, 0.8)])
    t = r.uniform(0.04, 0.1)
    fm = r.choice([wood(r), C.mat(['gloss', 'matte']), wire(r)])
    a = image_mat(art(r, 260, int(260 * h / w), C.light()), r)
    o = [sheet(w, h, a, thick=0.02)]
    for sx, sy, x, y in (
        (w + 2 * t, t, 0, h / 2 + t / 2),
        (w + 2 * t, t, 0, -h / 2 - t / 2),
        (t, h, w / 2 + t / 2, 0),
        (t, h, -w / 2 - t / 2, 0),
    ):
        o += move([rbox(sx, sy, 0.06, 0.008, fm, 2, False)], x=x, y=y)
    if C.stand:
        xf(o, Matrix.Rotation(math.radians(90 - r.uniform(4, 14)), 4, 'X'))
    return o


def G_card(r, C):
    w, h = r.choice([(0.6, 0.85), (0.85, 0.6), (0.7, 0.7)])
    o = [sheet(w, h, image_mat(art(r, 240, int(240 * h / w), C.light()), r))]
    if C.stand:
        b = [sheet(w, h, make_mat('paper', (0.93, 0.92, 0.9), r))]
        a = math.radians(r.uniform(12, 28))
        xf(o, Matrix.Translation((0, 0, h / 2 * math.cos(a))) @ Matrix.Rotation(math.pi / 2 - a, 4, 'X'))
        xf(b, Matrix.Translation((0, h * math.sin(a), h / 2 * math.cos(a))) @ Matrix.Rotation(math.pi / 2 + a, 4, 'X'))
        return o + b
    e = [
        sheet(
            w * 1.04, h * 1.04, make_mat('paper', r.choice([(0.68, 0.52, 0.36), C.alt_c, (0.9, 0.88, 0.84)]), r), thick=0.003
        ),
        mesh(
            'flap',
            [(-w * 0.52, h * 0.52, 0.006), (w * 0.52, h * 0.52, 0.006), (0, h * 0.1, 0.008)],
            [(0, 1, 2)],
            make_mat('paper', r.choice([(0.62, 0.47, 0.32), C.alt_c]), r),
            smooth=False,
        ),
    ]
    return o + move(e, x=r.uniform(0.1, 0.5) * w, y=-r.uniform(0, 0.4) * h, rz=r.uniform(-0.4, 0.4), z=-0.004)


def G_macrame(r, C):
    m = make_mat('fabric', r.choice([(0.88, 0.84, 0.75), (0.8, 0.72, 0.6), C.color]), r, scale=2)
    w = r.uniform(0.5, 0.9)
    o = move([tube([(-w / 2 - 0.12, 0, 0.03), (w / 2 + 0.12, 0, 0.03)], 0.03, wood(r))], y=0)
    n = r.randint(9, 17)
    k = r.choice([-0.5, 0.5, 0])

    for i in range(n):
        u = i / (n - 1) - 0.5
        L = r.uniform(0.6, 0.7) + k * (abs(u) * 2 - 0.5) * 0.6
        a = r.uniform(0.02, 0.05)
        o.append(tube([(u * w + a * math.sin(9 * t + i), -L * t, 0.03) for t in np.linspace(0, 1, 14)], 0.022, m, seg=6))
    for row in (0.15, 0.3):
        o.append(tube([(u * w, -row - 0.1 * abs(math.sin(u * 9)), 0.05) for u in np.linspace(-0.5, 0.5, 26)], 0.025, m, seg=6))
    return o + [tube([(-w / 2, 0, 0.03), (0, 0.3, 0.03), (w / 2, 0, 0.03)], 0.01, m, seg=6)]


def G_basket(r, C):
    m = pattern_mat('wicker', r.randint(0, 10**6), r.uniform(0.4, 1))[0]
    h, R, k = r.uniform(0.3, 0.8), 0.45, r.uniform(0.8, 1.25)
    o = [
        lathe(
            [
                (0, 0),
                (R, 0),
                (R * (1 + k) / 2 + 0.02, h * 0.5),
                (R * k, h),
                (R * k, h),
                (R * k - 0.04, h),
                (R - 0.04, 0.05),
                (0, 0.05),
            ],
            m,
        ),
        hoop(R * k - 0.01, 0.035, m, h),
    ]
    if r.random() < 0.5:
        o.append(
            tube([(R * k * math.cos(t), 0, h + r.uniform(0.48, 0.5) * math.sin(t)) for t in np.linspace(0, np.pi, 24)], 0.03, m)
        )
    elif r.random() < 0.6:
        o += [
            tube(
                [(s * R * k + s * 0.12 * math.sin(t), 0.14 * math.cos(t), h - 0.02) for t in np.linspace(0, np.pi, 12)],
                0.025,
                make_mat('matte', r.choice(LEATHER), r),
            )
            for s in (-1, 1)
        ]
    return o


def G_wreath(r, C):
    o = [hoop(0.42, 0.03, make_mat('matte', (0.4, 0.3, 0.2), r), 0.06)]
    ms = [make_mat('matte', c, r) for c in r.sample(GREEN, 2)] + [C.mat(['matte'])]
    part = r.choice([6.28, 6.28, 3.6])
    for i in range(r.randint(50, 110)):
        t = r.uniform(0, part)
        o += move(
            [leaf(r.uniform(0.12, 0.28), r.choice(ms), r.uniform(0.15, 0.35))],
            x=0.42 * math.cos(t),
            y=0.42 * math.sin(t),
            z=0.06,
            rz=t + 1.57 + r.uniform(-0.9, 0.9),
            ry=-r.uniform(-0.3, 0.8),
        )
    for i in range(r.randint(0, 12)):
        t = r.uniform(0, part)
        o.append(
            ball(r.uniform(0.02, 0.05), C.mat(['matte', 'gloss'], alt=True), (0.42 * math.cos(t), 0.42 * math.sin(t), 0.12), 2)
        )
    return o


def G_notebook(r, C):
    o = []
    w, h = r.uniform(0.6, 0.75), r.uniform(0.85, 1)
    for i in range(r.choice([1, 1, 2, 3])):
        m = r.choice(
            [
                print_mat(r, C.color),
                make_mat('matte', r.choice(LEATHER), r),
                make_mat('paper', r.choice([C.color, C.alt_c, (0.68, 0.52, 0.36)]), r),
            ]
        )
        p = [
            rbox(w, h, 0.02, 0.008, m, 2),
            rbox(w * 0.96, h * 0.97, 0.07, 0.004, make_mat('paper', (0.92, 0.9, 0.84), r), 1),
            rbox(w, h, 0.02, 0.008, m, 2),
        ]
        move(p[1:2], z=0.02)
        move(p[2:], z=0.09)
        if r.random() < 0.5:
            p.append(rbox(0.03, h * 1.01, 0.115, 0.004, make_mat('matte', C.alt_c, r), 1))
            move(p[-1:], x=w * 0.36)
        o += move(p, z=0.11 * i, x=r.uniform(-0.05, 0.05), rz=r.uniform(-0.25, 0.25))
    return o


def G_toy_car(r, C):
    m, m2 = (wood(r), wood(r)) if r.random() < 0.5 else (C.mat(['gloss', 'matte']), C.mat(['gloss', 'wood'], alt=True))
    o = move([rbox(0.9, 0.4, 0.22, 0.06, m)], z=0.12) + move(
        [rbox(0.45, 0.36, 0.22, 0.08, m)], z=0.32, x=r.uniform(-0.12, 0.05)
    )
    for x in (-0.28, 0.28):
        for y in (-0.21, 0.21):
            w = [cyl(0.13, 0.06, m2)]
            xf(w, Matrix.Translation((x, y + 0.03, 0.13)) @ Matrix.Rotation(math.pi / 2, 4, 'X'))
            o += w
    return o


def G_pegs(r, C):
    o = []
    x = 0
    for i in range(r.choice([1, 2, 3, 4])):
        k = r.uniform(0.7, 1)
        p = [
            lathe(
                [(0, 0), (0.14, 0), (0.15, 0.2), (0.09, 0.38), (0, 0.4)],
                make_mat(r.choice(['matte', 'gloss']), r.choice(PAL), r),
            ),
            ball(0.12, wood(r), (0, 0, 0.48)),
        ]
        move(p, s=k, x=x, y=r.uniform(-0.1, 0.1))
        x += 0.36
        o += p
    return o


def G_stacker(r, C):
    n = r.randint(4, 6)
    return (
        [cyl(0.34, 0.06, wood(r)), tube([(0, 0, 0), (0, 0, 0.14 * n + 0.18)], 0.04, wood(r))]
        + [
            hoop(0.3 - 0.03 * i, 0.085, make_mat(r.choice(['matte', 'gloss']), r.choice(PAL), r), 0.13 + 0.145 * i, seg=14)
            for i in range(n)
        ]
        + [ball(0.08, wood(r), (0, 0, 0.14 * n + 0.2))]
    )


def G_dreamcatcher(r, C):
    o = [hoop(0.36, 0.025, C.mat(['wood', 'fabric', 'matte']), 0.03)]
    t = make_mat('matte', (0.9, 0.87, 0.8), r)
    n = 12
    for R0, R1 in ((0.36, 0.24), (0.24, 0.12)):
        o += [
            tube(
                [
                    (R0 * math.cos(i * 2 * np.pi / n + a), R0 * math.sin(i * 2 * np.pi / n + a), 0.03),
                    (R1 * math.cos((i + 0.5) * 2 * np.pi / n + a), R1 * math.sin((i + 0.5) * 2 * np.pi / n + a), 0.03),
                    (R0 * math.cos((i + 1) * 2 * np.pi / n + a), R0 * math.sin((i + 1) * 2 * np.pi / n + a), 0.03),
                ],
                0.005,
                t,
                seg=4,
            )
            for i in range(n)
            for a in (0,)
        ]
    for x in (-0.2, 0, 0.2):
        L = r.uniform(0.2, 0.45)
        y = -math.sqrt(0.36**2 - x * x)
        o += [
            tube([(x, y, 0.03), (x, y - L, 0.03)], 0.006, t, seg=4),
            ball(0.03, C.mat(['gloss', 'wood'], alt=True), (x, y - L, 0.03), 2),
        ] + move([leaf(0.3, C.mat(['matte']), 0.2)], x=x, y=y - L, rz=-1.57)
    return o


def G_ornament(r, C):
    m = C.mat(['gloss', 'metal', 'speckle', 'matte'])
    k = r.choice(['ball', 'star', 'ball', 'heart', 'drop'])
    cord = tube(
        [(0, 0.0, 0.02), (0.06, 0.3, 0.02), (0, 0.5, 0.02), (-0.06, 0.3, 0.02)],
        0.01,
        make_mat('fabric', C.alt_c, r),
        closed=True,
        seg=5,
    )
    if k == 'star':
        o = [
            slab(
                [
                    (
                        (0.4 if i % 2 else 0.18) * math.sin(i * math.pi / 5),
                        -(0.4 if i % 2 else 0.18) * math.cos(i * math.pi / 5),
                    )
                    for i in range(10)
                ],
                r.uniform(0.03, 0.1),
                m,
            )
        ]
    elif k == 'heart':
        o = [
            slab(
                smooth_outline([(0, -0.4), (0.38, 0.02), (0.26, 0.32), (0, 0.2), (-0.26, 0.32), (-0.38, 0.02)]),
                r.uniform(0.03, 0.12),
                m,
            )
        ]
    else:
        o = [
            blob(0.34, 0.34 if k == 'ball' else 0.46, 0.34, m, at=(0, 0, 0.34)),
            lathe([(0.07, 0), (0.07, 0.1), (0, 0.11)], wire(r)),
        ]
        xf(o[1:], Matrix.Translation((0, 0.32 if k == 'ball' else 0.43, 0.34)) @ Matrix.Rotation(-math.pi / 2, 4, 'X'))
    return o + move([cord], y=0.36, z=0.02)


def G_lamp(r, C):
    h = r.uniform(0.4, 0.7)
    R = r.uniform(0.3, 0.45)
    return [
        lathe(
            [(0, 0), (0.2, 0), (0.22, 0.05), (0.12, h * 0.4), (0.16, h * 0.7), (0.03, h), (0, h)],
            r.choice([wood(r), C.mat(['gloss', 'speckle'])]),
            n=7,
        ),
        lathe([(R, h), (R * r.uniform(0.5, 1), h + 0.45)], print_mat(r, C.alt_c, 0.8), smoothp=False),
    ]


def G_clock(r, C):
    m = C.mat(['wood', 'gloss', 'marble', 'matte'])
    k = make_mat('matte', r.choice([(0.08, 0.08, 0.08), (0.95, 0.95, 0.95), C.alt_c]), r)
    o = [slab(circle(0.5) if r.random() < 0.7 else rounded(0.9, 0.9, 0.1), 0.06, m)]
    z = 0.065
    for i in range(12):
        a = i * math.pi / 6
        o += move([rbox(0.03, 0.09, 0.01, 0, k, 1, False)], x=0.42 * math.sin(a), y=0.42 * math.cos(a), z=z, rz=-a)
    for L, w in ((0.25, 0.04), (0.36, 0.025)):
        a = r.uniform(0, 6.3)
        o += move([rbox(w, L, 0.012, 0, k, 1, False)], x=L / 2 * math.sin(a), y=L / 2 * math.cos(a), z=z, rz=-a)
    return o


def G_birdhouse(r, C):
    m, m2 = C.mat(['wood', 'matte']), C.mat(['wood', 'matte'], alt=True)
    o = [
        rbox(0.5, 0.45, 0.55, 0.01, m, 1, False),
        mesh(
            'gable',
            [
                (-0.25, -0.225, 0.55),
                (0.25, -0.225, 0.55),
                (0, -0.225, 0.8),
                (-0.25, 0.225, 0.55),
                (0.25, 0.225, 0.55),
                (0, 0.225, 0.8),
            ],
            [(0, 1, 2), (5, 4, 3), (0, 2, 5, 3), (1, 4, 5, 2)],
            m,
            False,
        ),
    ]
    for s in (-1, 1):
        b = [rbox(0.46, 0.6, 0.03, 0.005, m2, 1, False)]
        xf(b, Matrix.Translation((s * 0.17, 0, 0.66)) @ Matrix.Rotation(s * math.radians(45), 4, 'Y'))
        o += b
    d = [cyl(0.09, 0.01, make_mat('matte', (0.04, 0.03, 0.03), r), bev=0.002)]
    xf(d, Matrix.Translation((0, -0.225, 0.4)) @ Matrix.Rotation(math.pi / 2, 4, 'X'))
    return o + d + [tube([(0, -0.2, 0.25), (0, -0.34, 0.25)], 0.02, m2)]


def G_cushion(r, C):
    m = print_mat(r, C.color, r.uniform(0.6, 1.2))
    w = r.uniform(0.7, 1)
    o = [blob(0.5, w * 0.5, 0.2, m, 0.02, 3, 5)]
    for v in o[0].data.vertices:
        x, y = v.co.x / 0.5, v.co.y / (w * 0.5)
        k = 1 + 0.35 * min(abs(x), abs(y))
        v.co.x *= k
        v.co.y *= k
    if C.stand:
        xf(o, Matrix.Rotation(math.radians(r.uniform(60, 80)), 4, 'X'))
    return o


def G_blanket(r, C):
    o = []
    for i in range(r.randint(2, 5)):
        o += move(
            [
                rbox(
                    1 * r.uniform(0.95, 1),
                    0.75 * r.uniform(0.95, 1),
                    0.13,
                    0.06,
                    o[0].data.materials[0] if o and r.random() < 0.6 else print_mat(r, r.choice([C.color, C.alt_c])),
                )
            ],
            z=0.125 * i,
            rz=r.uniform(-0.04, 0.04),
        )
    return o


def G_magnets(r, C):
    return [
        q
        for i in range(r.randint(3, 9))
        for q in move(
            [cyl(0.12, 0.05, make_mat(r.choice(['gloss', 'matte', 'wood']), r.choice(PAL), r))],
            x=(i % 3) * 0.3 + r.uniform(-0.03, 0.03),
            y=(i // 3) * 0.3 + r.uniform(-0.03, 0.03),
        )
    ]


def G_yarn(r, C):
    o = []
    for i in range(r.choice([1, 1, 2, 3])):
        m = make_mat('fabric', r.choice([C.color, C.alt_c]), r, scale=2)
        p = [blob(0.26, 0.26, 0.24, m, 0.04, 8, 4, at=(0, 0, 0.24))]
        for _ in range(14):
            a = Matrix.Rotation(r.uniform(0, 6), 4, 'X') @ Matrix.Rotation(r.uniform(0, 6), 4, 'Y')
            q = [hoop(0.25, 0.02, m, 0, 40, 5)]
            xf(q, Matrix.Translation((0, 0, 0.24)) @ a)
            p += q
        o += move(p, x=0.56 * i, y=r.uniform(-0.1, 0.1))
    return o
