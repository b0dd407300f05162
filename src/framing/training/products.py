"""The first kinds of product: mug, bowl, bottle, candle, soap, box, beanie, spoon, print, ring, set; and the colours a product gets.

Each P_* takes a random.Random and a Colours object and gives a list of objects, of any size.
"""

import math, random
import numpy as np
import bpy  # noqa: F401 (gives mathutils)
from mathutils import Matrix
from shapes import *
from materials import *


def P_mug(r, C):
    m = C.mat(['gloss', 'speckle', 'dip', 'matte'])
    h = r.uniform(0.8, 1.15)
    R = r.uniform(0.38, 0.48)
    t = 0.04
    k = r.uniform(0.85, 1.1)
    ob = lathe(
        [
            (0, 0.0),
            (R * 0.8 * k, 0),
            (R * 0.95 * k, 0.04),
            (R * k, h * 0.5),
            (R, h),
            (R, h),
            (R - t, h),
            (R - t, h),
            (R * k - t, h * 0.5),
            (R * 0.85 * k - t, 0.08),
            (0, 0.06),
        ],
        m,
    )
    a = np.linspace(-1.35, 1.35, 24)
    pts = [(R * 0.93 + 0.28 * math.cos(x), 0, h * 0.5 + h * 0.32 * math.sin(x)) for x in a]
    return [ob, tube(pts, 0.055, m, flat=1.3)]


def P_bowl(r, C):
    m = C.mat(['gloss', 'speckle', 'dip', 'matte'])
    d = r.uniform(0.3, 0.5)
    return [
        lathe(
            [
                (0, 0.03),
                (0.22, 0.03),
                (0.24, 0),
                (0.26, 0),
                (0.3, 0.04),
                (0.46, d * 0.5),
                (0.55, d),
                (0.55, d),
                (0.52, d),
                (0.52, d),
                (0.42, d * 0.5),
                (0.2, 0.09),
                (0, 0.07),
            ],
            m,
            wob=0.01,
            rng=r,
        )
    ]


def P_bottle(r, C):
    if r.random() < 0.5:
        m = C.mat(['glass'])
    else:
        m = C.mat(['gloss', 'matte', 'metal'])
    R = r.uniform(0.2, 0.3)
    nk = r.uniform(0.07, 0.1)
    h = r.uniform(0.6, 0.8)
    o = lathe(
        [
            (0, 0),
            (R * 0.95, 0),
            (R, 0.03),
            (R, h * 0.6),
            (R, h * 0.85),
            (nk * 1.6, h),
            (nk, h + 0.07),
            (nk, h + 0.16),
            (nk, h + 0.16),
            (nk * 0.8, h + 0.16),
            (nk * 0.8, h + 0.16),
            (nk * 0.8, h),
            (R - 0.03, h * 0.8),
            (R - 0.03, 0.06),
            (0, 0.05),
        ],
        m,
        n=6,
    )
    cap = lathe(
        [
            (0, h + 0.13),
            (nk * 1.25, h + 0.13),
            (nk * 1.25, h + 0.13),
            (nk * 1.25, h + 0.26),
            (nk * 1.2, h + 0.27),
            (0, h + 0.27),
        ],
        make_mat('wood', (0.55, 0.4, 0.25), r) if r.random() < 0.5 else make_mat('matte', (0.05, 0.05, 0.05), r),
        n=2,
    )
    lab = lathe(
        [(R + 0.004, h * 0.2), (R + 0.004, h * 0.6)],
        make_mat('paper', r.choice([(0.93, 0.9, 0.84), (0.85, 0.6, 0.5), (0.3, 0.4, 0.35)]), r),
        smoothp=False,
    )
    return [o, cap, lab]


def P_candle(r, C):
    R = r.uniform(0.34, 0.42)
    h = r.uniform(0.75, 1.0)
    g = make_mat('glass', (0.97, 0.97, 0.97), r) if r.random() < 0.6 else C.mat(['gloss', 'matte'])
    jar = lathe(
        [
            (0, 0),
            (R * 0.95, 0),
            (R, 0.04),
            (R, h * 0.5),
            (R, h),
            (R, h),
            (R - 0.03, h),
            (R - 0.03, h),
            (R - 0.03, h * 0.5),
            (R - 0.04, 0.07),
            (0, 0.06),
        ],
        g,
    )
    wax = lathe(
        [(0, 0.065), (R - 0.045, 0.075), (R - 0.04, h * 0.72), (R - 0.05, h * 0.72), (0, h * 0.72)],
        make_mat('wax', C.color if r.random() < 0.5 else (0.93, 0.88, 0.76), r),
        smoothp=False,
    )
    wick = tube(
        [(0, 0, h * 0.7), (0.01, 0, h * 0.8), (0.02, 0, h * 0.85)], 0.014, make_mat('matte', (0.2, 0.17, 0.13), r), seg=6
    )
    lab = lathe(
        [(R + 0.004, h * 0.22), (R + 0.004, h * 0.55)],
        make_mat('paper', r.choice([(0.92, 0.9, 0.85), (0.15, 0.15, 0.15), (0.75, 0.62, 0.5)]), r),
        smoothp=False,
    )
    return [jar, wax, wick, lab]


def P_soap(r, C):
    m = C.mat(['matte', 'wax', 'marble'])
    a = [rbox(1, 0.62, 0.3, 0.07, m)]
    move(a, rz=r.uniform(-0.6, 0.6))
    if r.random() < 0.6:
        b = [rbox(0.95, 0.6, 0.28, 0.07, C.mat(['matte', 'wax'], alt=True))]
        move(b, x=r.uniform(-0.08, 0.08), y=r.uniform(-0.05, 0.05), z=0.3, rz=r.uniform(-0.9, 0.9))
        a += b
    return a


def P_box(r, C):
    m = C.mat(['paper', 'wood', 'matte'])
    h = r.uniform(0.35, 0.8)
    o = [rbox(0.8, 0.6, h, 0.015, m, seg=2, smooth=False)]
    if r.random() < 0.6:
        rm = C.mat(['gloss', 'fabric'], alt=True)
        o += [rbox(0.815, 0.09, h + 0.012, 0.002, rm, 1, False), rbox(0.09, 0.615, h + 0.012, 0.002, rm, 1, False)]
        o += [
            blob(0.11, 0.05, 0.06, rm, at=(0.1, 0, h + 0.05), sub=3),
            blob(0.11, 0.05, 0.06, rm, at=(-0.1, 0, h + 0.05), sub=3),
        ]
    else:
        o += [rbox(0.84, 0.64, 0.14, 0.012, C.mat(['paper', 'matte'], alt=True), 2, False)]
        move(o[-1:], z=h - 0.1)
    return move(o, rz=r.uniform(-0.7, 0.7))


def P_beanie(r, C):
    m = C.mat(['knit'], scale=r.uniform(3, 5))
    m2 = C.mat(['knit'], scale=4)
    dome = lathe(
        [(0.47, 0.1), (0.5, 0.25), (0.47, 0.5), (0.36, 0.72), (0.18, 0.83), (0, 0.86)], m, seg=96, flute=40, fdepth=0.03
    )
    brim = lathe([(0.48, 0.02), (0.53, 0.0), (0.555, 0.1), (0.55, 0.24), (0.5, 0.28)], m2, seg=96, flute=60, fdepth=0.035)
    o = [dome, brim]
    if r.random() < 0.6:
        o.append(blob(0.17, 0.17, 0.16, C.mat(['carpet'], alt=r.random() < 0.5), amp=0.12, freq=6, sub=4, at=(0, 0, 0.95)))
    return move(o, rx=r.uniform(-0.1, 0.1))


def P_spoon(r, C):
    c = r.choice([(0.62, 0.44, 0.27), (0.45, 0.29, 0.17), (0.78, 0.62, 0.42)])
    m = make_mat('wood', c, r, scale=0.8)
    L = r.uniform(1.1, 1.5)

    def one():
        bowl = lathe(
            [(0, -0.09), (0.1, -0.07), (0.17, 0.0), (0.18, 0.02), (0.18, 0.02), (0.165, 0.02), (0.1, -0.045), (0, -0.06)], m
        )
        xf([bowl], Matrix.Scale(1.45, 4, (1, 0, 0)))
        h = tube(
            [(0.22 + L * t, 0, 0.01 + 0.05 * math.sin(t * 2.5)) for t in np.linspace(0, 1, 20)],
            [0.035 + 0.015 * math.cos(t * 7) + (0.02 * t) for t in np.linspace(0, 1, 20)],
            m,
            flat=0.7,
        )
        return [bowl, h]

    o = ground(one())
    if r.random() < 0.4:
        b = ground(one())
        move(b, y=0.34, rz=r.uniform(-0.15, 0.15))
        o += b
    return move(o, rz=r.uniform(0, 6.28))


def art(r, w, h, bg):
    a = np.ones((h, w, 3)) * np.array(bg)
    yy, xx = np.mgrid[0:h, 0:w]
    pal = [
        np.array(C_)
        for C_ in r.sample(
            [
                (0.8, 0.35, 0.2),
                (0.15, 0.3, 0.3),
                (0.9, 0.75, 0.4),
                (0.55, 0.65, 0.5),
                (0.2, 0.2, 0.35),
                (0.75, 0.5, 0.55),
                (0.1, 0.1, 0.1),
            ],
            4,
        )
    ]
    mode = r.choice(['hills', 'circles', 'leaf', 'text'])
    if mode == 'hills':
        for i in range(4):
            y0 = h * (0.35 + 0.15 * i) + h * 0.06 * np.sin(xx[0] / w * r.uniform(3, 9) + r.uniform(0, 6))
            a[yy > y0] = pal[i % 4]
        a[(xx - w * 0.65) ** 2 + (yy - h * 0.2) ** 2 < (w * 0.1) ** 2] = pal[2]
    elif mode == 'circles':
        for i in range(7):
            a[(xx - r.uniform(0.2, 0.8) * w) ** 2 + (yy - r.uniform(0.2, 0.8) * h) ** 2 < (w * r.uniform(0.05, 0.2)) ** 2] = (
                pal[i % 4]
            )
    elif mode == 'leaf':
        for i in range(9):
            s = -1 if i % 2 else 1
            t = h * (0.2 + 0.07 * i)
            u = (xx - w / 2) * s
            a[
                (np.abs(yy - t + u * 0.5) < w * 0.05 * np.sin(np.clip(u / (w * 0.3), 0, 1) * np.pi)) & (u > 0) & (u < w * 0.3)
            ] = pal[0]
        a[(np.abs(xx - w / 2) < 3) & (yy > h * 0.15) & (yy < h * 0.9)] = pal[1]
    else:
        for i in range(8):
            y0 = int(h * (0.22 + 0.07 * i))
            L = r.uniform(0.3, 0.7) * w
            a[y0 : y0 + int(h * 0.02), int(w / 2 - L / 2) : int(w / 2 + L / 2)] = pal[0]
        a[int(h * 0.08) : int(h * 0.16), int(w * 0.25) : int(w * 0.75)] = pal[1]
    b = int(0.06 * w)
    out = np.ones_like(a) * np.array(bg)
    out[b:-b, b:-b] = a[b:-b, b:-b]
    return (
        np.array([lin(x) for x in out.reshape(-1, 3)]).reshape(out.shape)
        if False
        else np.where(out <= 0.04045, out / 12.92, ((out + 0.055) / 1.055) ** 2.4)
    )


def sheet(w, h, m, curl=0.0, thick=0.006):
    nx, ny = 12, 12
    V = []
    U = []
    for top in (1,):
        for j in range(ny + 1):
            for i in range(nx + 1):
                x = i / nx - 0.5
                y = j / ny - 0.5
                V.append((x * w, y * h, thick + curl * (max(0, x) ** 3 * max(0, y + 0.2))))
                U.append((i / nx, j / ny))
    F = [
        (j * (nx + 1) + i, j * (nx + 1) + i + 1, (j + 1) * (nx + 1) + i + 1, (j + 1) * (nx + 1) + i)
        for j in range(ny)
        for i in range(nx)
    ]
    return mesh('sheet', V, F, m, uvs=U)


def P_print(r, C):
    w, h = r.choice([(0.7, 1), (1, 0.7), (0.8, 0.8), (0.62, 1)])
    o = [sheet(w, h, image_mat(art(r, 300, int(300 * h / w), C.light()), r), curl=r.uniform(0, 0.5))]
    move(o, rz=r.uniform(-0.25, 0.25))
    if r.random() < 0.4:
        e = [sheet(w * 0.95, h * 0.95, make_mat('paper', C.color, r), thick=0.003)]
        move(e, x=0.35 * w, y=-0.2 * h, rz=r.uniform(-0.3, 0.3))
        o += e
    return o


def P_ring(r, C):
    g = r.choice([(0.83, 0.68, 0.4), (0.8, 0.8, 0.82), (0.85, 0.6, 0.5)])
    m = make_mat('metal', g, r)
    n = 64
    a = np.linspace(0, 2 * np.pi, n, endpoint=False)
    o = [tube([(math.cos(x) * 0.42, 0, 0.47 + math.sin(x) * 0.42) for x in a], 0.05, m, closed=True, seg=14)]
    o.append(
        blob(
            0.13,
            0.13,
            0.13,
            make_mat('gloss', r.choice([(0.1, 0.35, 0.3), (0.5, 0.1, 0.2), (0.85, 0.85, 0.9), (0.15, 0.2, 0.5)]), r),
            sub=3,
            at=(0, 0, 0.97),
        )
    )
    o.append(lathe([(0.1, 0.85), (0.14, 0.9), (0.13, 0.95)], m, n=3))
    if r.random() < 0.5:
        xf(o, Matrix.Rotation(math.radians(80), 4, 'X'))
    return move(o, rz=r.uniform(-1, 1))


def P_set(r, C):
    f = r.choice([P_mug, P_bowl, P_candle, P_bottle])
    o = []
    k = r.choice([2, 3])
    s0 = r.getstate()
    x = 0
    for i in range(k):
        p = normalise(f(random.Random(r.random()), C))
        s = r.uniform(0.7, 1.0) if f is not P_mug else 1
        move(p, s=s, rz=r.uniform(0, 6))
        v = verts_of(p)
        w = np.ptp(v[:, 0])
        move(p, x=x - v[:, 0].min(), y=r.uniform(-0.25, 0.25))
        x += w + r.uniform(0.03, 0.2)
        o += p
    return o


FLAT = {'spoon', 'print'}
FIRST = dict(
    mug=P_mug,
    bowl=P_bowl,
    bottle=P_bottle,
    candle=P_candle,
    soap=P_soap,
    box=P_box,
    beanie=P_beanie,
    spoon=P_spoon,
    print=P_print,
    ring=P_ring,
    set=P_set,
)

PAL = [
    (0.93, 0.92, 0.9),
    (0.12, 0.12, 0.13),
    (0.75, 0.3, 0.22),
    (0.2, 0.35, 0.5),
    (0.45, 0.55, 0.42),
    (0.88, 0.72, 0.4),
    (0.8, 0.62, 0.58),
    (0.3, 0.5, 0.48),
    (0.55, 0.42, 0.6),
    (0.85, 0.8, 0.7),
    (0.5, 0.32, 0.22),
    (0.15, 0.25, 0.22),
]


class Col:
    """The colours of one product on a surface of mean colour surf_c; near: as close to it as can be told apart."""

    def __init__(s, r, surf_c, near):
        s.r = r
        if near:
            k = r.uniform(0.86, 1.1)
            s.color = clampc([x * k + r.uniform(-0.03, 0.03) for x in surf_c])
        else:
            s.color = r.choice([p for p in PAL if math.dist(p, surf_c) > 0.3] or PAL)
            if r.random() < 0.5:
                s.color = clampc([x + r.uniform(-0.12, 0.12) for x in s.color])
        cand = [p for p in PAL if math.dist(p, s.color) > 0.25]
        s.alt_c = r.choice(cand) if not near else clampc([x * r.uniform(0.75, 1.05) for x in s.color])

    def mat(s, kinds, alt=False, scale=1.0):
        return make_mat(s.r.choice(kinds), s.alt_c if alt else s.color, s.r, c2=s.alt_c, scale=scale)

    def light(s):
        return s.r.choice([(0.95, 0.94, 0.9), (0.92, 0.88, 0.8), (0.97, 0.97, 0.97)])
