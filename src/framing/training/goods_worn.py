"""Kinds of product of worn and carried; each G_* takes a random.Random and a Col (products.py) and gives a list of objects.

They stand on z = 0 or lie there, at any size.
"""

import math

import bpy  # noqa: F401 (gives mathutils)
import numpy as np

from goods_parts import *


def G_earrings(r, C):
    m = wire(r)
    kind = r.choice(['hoop', 'drop', 'disc', 'leaf'])
    o = []
    g = C.mat(['gloss', 'wood', 'speckle', 'matte'])
    k = r.uniform(0.5, 0.9)
    for s in (-1, 1):
        p = [hoop(0.08, 0.012, m), tube([(0, 0.08, 0), (0, 0.16, 0)], 0.01, m)]
        if kind == 'hoop':
            p += move([hoop(0.3 * k, 0.03, m, seg=12)], y=-0.3 * k)
        elif kind == 'drop':
            p += [blob(0.1, 0.2 * k + 0.08, 0.06, g, at=(0, -0.25, 0))]
        elif kind == 'disc':
            p += [
                slab(circle(0.24 * k, cy=-0.3 * k), 0.03, g),
                slab(circle(0.1 * k, cy=-0.7 * k), 0.03, C.mat(['gloss', 'wood'], alt=True)),
            ]
        else:
            p += move([slab(smooth_outline([(0, 0), (0.14, -0.25), (0, -0.6), (-0.14, -0.25)]), 0.02, g)], s=k + 0.3)
        o += move(p, x=s * r.uniform(0.28, 0.4), rz=r.uniform(-0.25, 0.25))
    return o


def G_necklace(r, C):
    m = wire(r)
    a, b = r.uniform(0.3, 0.45), r.uniform(0.5, 0.8)
    o = []
    n = r.randint(40, 80)
    beads = r.random() < 0.4
    bm = C.mat(['gloss', 'wood', 'speckle'])
    pts = [
        (a * math.cos(t) * (1 + 0.08 * math.sin(3 * t)), b * math.sin(t) + 0.06 * math.cos(2 * t), 0.02)
        for t in np.linspace(0, 2 * np.pi, n, endpoint=False)
    ]
    o = [ball(r.uniform(0.024, 0.04), bm, p, 2) for p in pts] if beads else [tube(pts, 0.014, m, closed=True, seg=6)]
    y = min(p[1] for p in pts)
    o += r.choice(
        [
            [ball(0.09, C.mat(['gloss', 'metal'], alt=True), (0, y - 0.1, 0.05), 3, 0.5)],
            [slab(smooth_outline([(0, y), (0.1, y - 0.15), (0, y - 0.28), (-0.1, y - 0.15)]), 0.03, m)],
            [hoop(0.1, 0.02, m)],
        ]
    )
    return o


def G_bracelet(r, C):
    o = []
    n = r.randint(14, 26)
    k = 2 * math.pi * 0.4 / n / 2
    ms = [C.mat(['gloss', 'speckle', 'wood', 'marble']), C.mat(['gloss', 'matte'], alt=True), wire(r)]
    for _ in range(r.choice([1, 1, 2, 3])):
        x, y = (0, 0) if not o else (r.uniform(-0.4, 0.4), r.uniform(-0.3, 0.3))
        z = k if not o else k * 3
        for i in range(n):
            t = 2 * math.pi * i / n
            o.append(
                ball(
                    k * r.uniform(0.9, 1.02),
                    ms[0 if i % 4 else r.choice([1, 1, 2])],
                    (x + 0.4 * math.cos(t), y + 0.4 * math.sin(t), z),
                    2,
                )
            )
    return o


def G_wallet(r, C):
    m = (
        pattern_mat('leather', r.randint(0, 10**6), 0.6, gloss=0.4)[0]
        if r.random() < 0.6
        else make_mat('matte', r.choice(LEATHER + [C.color]), r)
    )
    w, h = r.choice([(1, 0.75), (0.7, 1), (1, 0.55)])
    o = [slab(rounded(w, h, 0.06), r.uniform(0.05, 0.12), m)]
    s = make_mat('matte', (0.85, 0.75, 0.55), r)
    if r.random() < 0.6:
        o.append(slab(rounded(w * 0.94, h * 0.55, 0.05), 0.02, m, z=0.12))
        move(o[-1:], y=-h * 0.18)
    o.append(tube([(x * 0.94, y * 0.94, 0.13) for x, y in rounded(w, h, 0.06)], 0.006, s, closed=True, seg=5))
    if r.random() < 0.4:
        o += [ball(0.04, wire(r), (w * 0.3, 0, 0.15), 2, 0.5)]
    return o


def G_tote(r, C):
    m = print_mat(r, C.color)
    w, h = r.uniform(0.7, 0.9), r.uniform(0.75, 1)
    o = [blob(w / 2, h / 2, 0.09, m, 0.0, sub=4)]
    V = o[0].data.vertices
    for v in V:
        v.co.x = max(-w / 2, min(w / 2, v.co.x * 1.4))
        v.co.y = max(-h / 2, min(h / 2, v.co.y * 1.4))
    o += [
        tube(
            [
                (x * 0.22, h / 2 - 0.05 + 0.38 * math.sin(t), z)
                for x, t in zip(np.cos(np.linspace(0, np.pi, 18)), np.linspace(0, np.pi, 18))
            ],
            0.03,
            m if r.random() < 0.6 else make_mat('matte', r.choice(LEATHER), r),
            flat=0.4,
        )
        for z in (0.05, -0.05)
    ]
    return o


def G_pouch(r, C):
    m = print_mat(r, C.color)
    w, h = r.uniform(0.8, 1), r.uniform(0.45, 0.7)
    o = [blob(w / 2, h / 2, 0.1, m, 0.03, 3, 4)]
    for v in o[0].data.vertices:
        v.co.x = max(-w / 2, min(w / 2, v.co.x * 1.3))
        v.co.y = max(-h / 2, min(h / 2, v.co.y * 1.4))
    return o + [
        tube([(-w / 2, h / 2, 0), (w / 2, h / 2, 0)], 0.022, wire(r), seg=6),
        tube([(w / 2, h / 2, 0), (w / 2 + 0.08, h / 2 - 0.1, 0)], 0.02, make_mat('matte', r.choice(LEATHER), r), seg=6),
    ]


def G_scarf(r, C):
    m = C.mat(['knit', 'fabric', 'carpet'], scale=3) if r.random() < 0.5 else print_mat(r, C.color)
    o = []
    L, w = r.uniform(0.9, 1.2), r.uniform(0.3, 0.5)
    for i in range(2):
        o += move([rbox(L, w, 0.09, 0.04, m)], x=i * r.uniform(-0.1, 0.1), z=0.08 * i)
    for s in (-1, 1):
        for k in range(8):
            y = (k / 7 - 0.5) * w * 0.9
            o.append(
                tube(
                    [
                        (s * L / 2, y, 0.05),
                        (s * (L / 2 + 0.08), y + r.uniform(-0.02, 0.02), 0.04),
                        (s * (L / 2 + 0.16), y + r.uniform(-0.04, 0.04), 0.02),
                    ],
                    0.014,
                    m,
                    seg=5,
                )
            )
    return o


def G_mittens(r, C):
    m, m2 = C.mat(['knit', 'fabric', 'carpet'], scale=3), C.mat(['knit'], alt=True, scale=4)
    out = smooth_outline(
        [
            (-0.16, -0.35),
            (0.16, -0.35),
            (0.2, -0.05),
            (0.36, 0.05),
            (0.33, 0.16),
            (0.19, 0.12),
            (0.16, 0.36),
            (0, 0.46),
            (-0.16, 0.36),
            (-0.2, 0),
        ]
    )
    return pair(
        r,
        lambda: (
            [slab(out, 0.1, m), slab(rounded(0.38, 0.2, 0.03), 0.13, m2)][:1]
            + move([slab(rounded(0.38, 0.2, 0.03), 0.13, m2)], y=-0.4)
        ),
        0.75,
    )


def G_socks(r, C):
    m = C.mat(['knit', 'fabric'], scale=3) if r.random() < 0.6 else print_mat(r, C.color, 0.4)
    out = smooth_outline(
        [
            (-0.13, 0.5),
            (0.13, 0.5),
            (0.14, 0),
            (0.2, -0.16),
            (0.5, -0.22),
            (0.52, -0.4),
            (0.2, -0.45),
            (-0.1, -0.4),
            (-0.16, -0.1),
        ]
    )
    return pair(
        r, lambda: [slab(out, 0.09, m)] + move([slab(rounded(0.3, 0.12, 0.02), 0.11, C.mat(['knit'], alt=True))], y=0.5), 0.7
    )


def G_booties(r, C):
    m = C.mat(['knit', 'carpet', 'fabric'], scale=3)
    m2 = C.mat(['knit', 'fabric'], alt=True)
    return pair(
        r,
        lambda: [
            blob(0.16, 0.3, 0.14, m, 0.03, 4, 4, at=(0, -0.08, 0.13)),
            lathe(
                [(0.12, 0.18), (0.15, 0.25), (0.14, 0.36), (0.16, 0.37), (0.11, 0.36), (0.1, 0.2)], m2, flute=30, fdepth=0.04
            ),
            slab(smooth_outline([(-0.16, -0.3), (0.16, -0.3), (0.15, 0.2), (-0.15, 0.2)]), 0.04, m2),
        ],
        0.42,
    )


def G_keyring(r, C):
    m = wire(r)
    o = [hoop(0.16, 0.018, m, 0.02), tube([(0, -0.16, 0.03), (0, -0.3, 0.03)], 0.014, m)]
    k = r.choice(['tag', 'tassel', 'pom', 'ball'])
    lm = make_mat('matte', r.choice(LEATHER + [C.color]), r)
    if k == 'tag':
        o += move([slab(rounded(0.3, 0.55, 0.08), 0.04, lm, holes=[circle(0.03, 16, 0, 0.2)[::-1]])], y=-0.5)
    elif k == 'tassel':
        o += [ball(0.06, lm, (0, -0.33, 0.05), 2)] + [
            tube(
                [(0, -0.33, 0.05), (r.uniform(-0.1, 0.1), -0.6, 0.03), (r.uniform(-0.14, 0.14), -0.85, 0.02)], 0.014, lm, seg=5
            )
            for _ in range(16)
        ]
    elif k == 'pom':
        o.append(blob(0.2, 0.2, 0.18, C.mat(['carpet']), 0.15, 7, 4, at=(0, -0.48, 0.18)))
    else:
        o += [ball(0.09, C.mat(['gloss', 'wood', 'knit'], alt=i % 2 == 1), (0, -0.38 - 0.18 * i, 0.09), 3) for i in range(3)]
    return move(o, rz=r.uniform(0, 6.3))


def G_scrunchie(r, C):
    o = []
    for i in range(r.choice([1, 1, 2, 3])):
        k = r.randint(14, 22)
        n = 160
        pts = [
            (
                (0.36 + 0.05 * math.sin(k * t)) * math.cos(t),
                (0.36 + 0.05 * math.sin(k * t)) * math.sin(t),
                0.14 + 0.05 * math.cos(k * t + 1),
            )
            for t in np.linspace(0, 2 * np.pi, n, endpoint=False)
        ]
        o += move(
            [
                tube(
                    pts,
                    [0.12 + 0.03 * math.sin(k * t * 1.5) for t in np.linspace(0, 2 * np.pi, n)],
                    print_mat(r, r.choice([C.color, C.alt_c])),
                    closed=True,
                )
            ],
            x=0.75 * i,
            y=r.uniform(-0.3, 0.3),
        )
    return o


def G_bow(r, C):
    m = print_mat(r, C.color, 0.5) if r.random() < 0.6 else C.mat(['gloss', 'fabric'])
    o = [blob(0.09, 0.1, 0.09, m, at=(0, 0, 0.08), sub=3)]
    for s in (-1, 1):
        o += [
            blob(0.3, 0.2, 0.1, m, 0.12, 2, 4, r.randint(0, 99), at=(s * 0.3, 0, 0.09)),
            slab(
                smooth_outline([(0, 0), (s * 0.18, -0.1), (s * 0.38, -0.55), (s * 0.2, -0.55), (s * 0.05, -0.15)][::s]), 0.03, m
            ),
        ]
    return o


def G_pins(r, C):
    o = (
        [
            slab(
                rounded(0.8, 1, 0.03),
                0.012,
                make_mat('paper', r.choice([(0.93, 0.92, 0.9), (0.1, 0.1, 0.1), (0.68, 0.52, 0.36)]), r),
            )
        ]
        if r.random() < 0.5
        else []
    )
    for i in range(r.randint(2, 6)):
        x, y = (i % 2 - 0.5) * 0.36, (i // 2 - 1) * 0.32
        p = r.choice(
            [
                circle(0.12, 24),
                smooth_outline([(0, -0.14), (0.13, 0.02), (0.08, 0.12), (0, 0.07), (-0.08, 0.12), (-0.13, 0.02)]),
                rounded(0.2, 0.22, 0.05),
                [
                    (
                        (0.14 if k % 2 else 0.07) * math.sin(k * math.pi / 5),
                        (0.14 if k % 2 else 0.07) * math.cos(k * math.pi / 5),
                    )
                    for k in range(10)
                ][::-1],
            ]
        )
        o += move(
            [slab(p, 0.04, make_mat(r.choice(['gloss', 'metal']), r.choice(PAL), r))],
            x=x,
            y=y,
            z=0.012,
            rz=r.uniform(-0.2, 0.2),
        )
    return o


def G_glasses(r, C):
    m = C.mat(['gloss', 'metal', 'wood'])
    o = []
    for s in (-1, 1):
        o += [
            tube(
                [
                    (s * 0.3 + x * 1.0, 0, 0.2 + y)
                    for x, y in [(0.22 * math.cos(t), 0.17 * math.sin(t)) for t in np.linspace(0, 6.28, 32, endpoint=False)]
                ],
                0.022,
                m,
                closed=True,
                seg=8,
            ),
            tube([(s * 0.52, 0, 0.25), (s * 0.54, 0.1, 0.26), (s * 0.5, 0.75, 0.22), (s * 0.48, 0.9, 0.1)], 0.02, m),
        ]
    return o + [tube([(-0.08, 0, 0.24), (0, -0.02, 0.27), (0.08, 0, 0.24)], 0.02, m)]


def G_tshirt(r, C):
    p = [
        (-0.35, -0.6),
        (0.35, -0.6),
        (0.35, 0.15),
        (0.5, 0.0),
        (0.65, 0.2),
        (0.35, 0.5),
        (0.14, 0.5),
        (0, 0.42),
        (-0.14, 0.5),
        (-0.35, 0.5),
        (-0.65, 0.2),
        (-0.5, 0),
        (-0.35, 0.15),
    ]
    o = [slab([(x + r.uniform(-0.015, 0.015), y) for x, y in p], 0.03, print_mat(r, C.color))]
    return o + (
        [slab(rounded(0.3, 0.3, 0.02), 0.005, image_mat(art(r, 120, 120, C.light()), r), z=0.031)] if r.random() < 0.5 else []
    )
