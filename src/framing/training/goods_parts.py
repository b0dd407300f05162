"""What several kinds of product share: wires, hoops, balls, printed cloth, leaves, pairs, and their colours."""

import math

import bpy  # noqa: F401 (gives mathutils)
import numpy as np
from mathutils import Matrix, Vector

from shapes import *
from materials import *
from products import *

GOLD = [(0.83, 0.68, 0.4), (0.8, 0.8, 0.82), (0.85, 0.6, 0.5), (0.6, 0.45, 0.3), (0.25, 0.25, 0.26)]
LEATHER = [(0.45, 0.28, 0.17), (0.2, 0.14, 0.11), (0.65, 0.42, 0.25), (0.12, 0.12, 0.13), (0.5, 0.2, 0.18), (0.3, 0.33, 0.28)]
GREEN = [(0.3, 0.42, 0.25), (0.45, 0.52, 0.35), (0.55, 0.5, 0.35), (0.6, 0.4, 0.2), (0.75, 0.65, 0.45)]


def wire(r):
    return make_mat('metal', r.choice(GOLD), r)


def wood(r):
    return make_mat(
        'wood',
        r.choice([(0.62, 0.44, 0.27), (0.45, 0.29, 0.17), (0.78, 0.62, 0.42), (0.85, 0.72, 0.52)]),
        r,
        scale=r.uniform(0.5, 1.2),
    )


def print_mat(r, c, span=None):
    return (
        pattern_mat(
            r.choice(['floral', 'gingham', 'tartan', 'stripes', 'dots', 'wallpaper', 'knit', 'linen', 'quilt']),
            r.randint(0, 10**6),
            span or r.uniform(0.5, 1.4),
            gloss=0.9,
        )[0]
        if r.random() < 0.55
        else make_mat(r.choice(['fabric', 'linen', 'matte']), c, r)
    )


def hoop(R, rad, m, z=0.0, n=56, seg=10):
    return tube(
        [(R * math.cos(t), R * math.sin(t), z) for t in np.linspace(0, 2 * np.pi, n, endpoint=False)],
        rad,
        m,
        closed=True,
        seg=seg,
    )


def ball(R, m, at, sub=3, sz=1.0):
    return blob(R, R, R * sz, m, at=at, sub=sub)


def cyl(R, h, m, z=0.0, bev=0.02):
    return lathe(
        [
            (0, z),
            (R - bev, z),
            (R - bev, z),
            (R, z + bev),
            (R, z + bev),
            (R, z + h - bev),
            (R, z + h - bev),
            (R - bev, z + h),
            (R - bev, z + h),
            (0, z + h),
        ],
        m,
        n=2,
    )


def leaf(L, m, w=0.25):
    n = 8
    V = [
        (
            t * L,
            k * w * L * math.sin(math.pi * min(1, t * 0.96 + 0.02)) ** 0.8,
            0.02 + 0.1 * L * math.sin(t * 3) + abs(k) * 0.04 * L,
        )
        for t in np.linspace(0, 1, n + 1)
        for k in (-1, 0, 1)
    ]
    return mesh('leaf', V, [(i * 3 + k, i * 3 + k + 1, i * 3 + k + 4, i * 3 + k + 3) for i in range(n) for k in range(2)], m)


def pair(r, make, gap):
    o = []
    [o.extend(move(make(), x=s * gap / 2, y=r.uniform(-0.05, 0.05), rz=s * r.uniform(-0.2, 0.2))) for s in (-1, 1)]
    return o


def aim(o, at, d):
    """Turns what points along z to the direction d, by the shortest way, and brings its foot to `at`."""
    xf(o, Matrix.Translation(at) @ Vector((0, 0, 1)).rotation_difference(Vector(d)).to_matrix().to_4x4())
    return o
