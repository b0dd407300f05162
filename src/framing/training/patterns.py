"""Seeded procedural surface pictures (numpy, Pillow): what tables, floors, cloths and walls at home look like.

Owns the kinds of surface pattern and their colours; knows nothing of scenes, renderers or networks.
`pattern(kind, rng, n)` gives an n x n x 3 float32 picture, sRGB 0 to 1, meant to be repeated by mirroring.
"""

import math
import numpy as np
from PIL import Image

WOODS = [
    (0.66, 0.48, 0.31),
    (0.5, 0.34, 0.22),
    (0.78, 0.64, 0.47),
    (0.33, 0.22, 0.15),
    (0.85, 0.74, 0.58),
    (0.58, 0.5, 0.42),
    (0.42, 0.25, 0.16),
]
CLOTHS = [
    (0.82, 0.77, 0.68),
    (0.9, 0.88, 0.84),
    (0.55, 0.62, 0.68),
    (0.75, 0.55, 0.5),
    (0.35, 0.42, 0.4),
    (0.93, 0.93, 0.92),
    (0.2, 0.24, 0.32),
    (0.8, 0.68, 0.45),
    (0.6, 0.45, 0.5),
    (0.45, 0.55, 0.42),
]
STONES = [
    (0.85, 0.84, 0.82),
    (0.6, 0.6, 0.6),
    (0.3, 0.32, 0.34),
    (0.72, 0.68, 0.62),
    (0.45, 0.44, 0.42),
    (0.92, 0.91, 0.9),
    (0.2, 0.21, 0.22),
]
BRIGHT = [
    (0.86, 0.7, 0.66),
    (0.62, 0.73, 0.68),
    (0.85, 0.74, 0.42),
    (0.55, 0.65, 0.78),
    (0.8, 0.35, 0.25),
    (0.2, 0.35, 0.5),
    (0.95, 0.9, 0.8),
    (0.1, 0.1, 0.11),
    (0.5, 0.3, 0.45),
    (0.25, 0.45, 0.35),
]


def pick(rng, colours, jitter=0.06):
    """A colour of the list, moved a little."""
    return np.clip(np.array(colours[rng.integers(len(colours))]) + rng.normal(0, jitter, 3) + rng.normal(0, jitter), 0.02, 0.98)


def other(rng, c, low=0.08, high=0.5):
    """A second colour beside c: mostly lighter or darker, sometimes another hue."""
    if rng.random() < 0.3:
        return pick(rng, BRIGHT)
    k = rng.uniform(low, high) * (1 if c.mean() < 0.45 or (c.mean() < 0.7 and rng.random() < 0.5) else -1)
    return np.clip(c + k + rng.normal(0, 0.03, 3), 0.02, 0.98)


def noise(rng, n, cells, octaves=4, fall=0.55, stretch=1.0):
    """Value noise about 0 with deviation about 1; stretch > 1 draws it out along x."""
    a = np.zeros((n, n), np.float32)
    w = 1.0
    for o in range(octaves):
        k = cells * 2**o
        if k > n:
            break
        g = rng.normal(size=(max(2, int(k) + 1), max(2, int(k / stretch) + 1))).astype(np.float32)
        a += w * np.asarray(Image.fromarray(g).resize((n, n), Image.BICUBIC))
        w *= fall
    return a / max(a.std(), 1e-6)


def mix(c1, c2, m):
    """c1 where m is 0, c2 where it is 1."""
    m = np.clip(m, 0, 1)[..., None]
    return c1 * (1 - m) + c2 * m


def cells(rng, n, k, warp=0.0, metric='euclid'):
    """Nearest and second-nearest distance (in cell widths) and index of a jittered k x k lattice of points."""
    gx, gy = np.meshgrid(np.arange(-1, k + 1), np.arange(-1, k + 1))
    px = gx + rng.uniform(0.05, 0.95, gx.shape)
    py = gy + rng.uniform(0.05, 0.95, gx.shape)
    y, x = np.mgrid[0:n, 0:n].astype(np.float32) * (k / n)
    if warp:
        x = x + warp * noise(rng, n, 6, 2)
        y = y + warp * noise(rng, n, 6, 2)
    ix, iy = np.clip(np.floor(x).astype(int), 0, k - 1), np.clip(np.floor(y).astype(int), 0, k - 1)
    d1 = np.full((n, n), 9.0, np.float32)
    d2 = d1.copy()
    idx = np.zeros((n, n), int)
    for dy in (0, 1, 2):
        for dx in (0, 1, 2):
            j, i = iy + dy, ix + dx
            d = np.hypot(x - px[j, i], y - py[j, i]).astype(np.float32)
            near = d < d1
            d2 = np.where(near, d1, np.minimum(d2, d))
            idx = np.where(near, j * (k + 2) + i, idx)
            d1 = np.where(near, d, d1)
    return d1, d2, idx


def grain(rng, n, c, stretch=14.0, depth=0.16):
    """Wood grain along x."""
    g = noise(rng, n, rng.uniform(8, 20), 5, 0.6, stretch)
    rings = np.sin(noise(rng, n, 3, 2, 0.5, 6) * rng.uniform(2, 7))
    return np.clip(c * (1 + depth * (0.7 * g + 0.35 * rings))[..., None], 0, 1)


def boards(rng, n, c, rows, ratio, gap=0.05, tone=0.1, basket=False):
    """Planks: rows across the picture, each board `ratio` times as long as wide."""
    y, x = np.mgrid[0:n, 0:n] / n
    v = y * rows
    r = np.floor(v).astype(int)
    u = x * rows / ratio + rng.uniform(0, 1, rows + 2)[r]
    b = np.floor(u).astype(int)
    g = grain(rng, n, c)
    t = rng.normal(0, tone, (rows + 2, rows + 4))
    g = g * (1 + t[r, b % (rows + 4)])[..., None]
    line = np.minimum(np.minimum(v % 1, 1 - v % 1), np.minimum(u % 1, 1 - u % 1) * ratio) < gap / 2
    return np.where(line[..., None], g * rng.uniform(0.3, 0.7), g)


def herringbone(rng, n, c):
    """Blocks L x 1 in the two directions, by the usual integer lattice of the herringbone tiling."""
    L = int(rng.integers(3, 6))
    k = int(rng.integers(8, 16))
    y, x = np.mgrid[0:n, 0:n] * (k / n)
    i, j = np.floor(x).astype(int), np.floor(y).astype(int)
    s = (i - j) % (2 * L)
    hor = s < L
    pos = np.where(hor, s, s - L)
    fx, fy = x % 1, y % 1
    g = rng.uniform(0.03, 0.07)
    line_h = (fy < g) | ((pos == 0) & (fx < g))
    line_v = (fx < g) | ((pos == L - 1) & (fy < g))
    line = np.where(hor, line_h, line_v)
    key = np.where(hor, (j * 131 + (i - pos) * 17), (i * 137 + (j + pos) * 29 + 7)) % 97
    t = rng.normal(0, 0.1, 97)[key]
    a = grain(rng, n, c)
    b = np.swapaxes(grain(rng, n, c), 0, 1)
    out = np.where(hor[..., None], a, b) * (1 + t)[..., None]
    return np.where(line[..., None], out * 0.5, out)


def tiles(rng, n, c, kx, ky, shift=0.0, face=None, grout=None, gap=0.03, tone=0.03):
    """Rectangular tiles kx by ky; face(u, v, key) may draw on each."""
    y, x = np.mgrid[0:n, 0:n] / n
    v = y * ky
    r = np.floor(v).astype(int)
    u = x * kx + shift * (r % 2)
    q = np.floor(u).astype(int)
    key = (r * 131 + q * 17) % 211
    out = np.ones((n, n, 3)) * c * (1 + rng.normal(0, tone, 211)[key])[..., None]
    if face is not None:
        out = face(out, u % 1, v % 1, key)
    d = np.minimum(np.minimum(u % 1, 1 - u % 1) / kx, np.minimum(v % 1, 1 - v % 1) / ky)
    return np.where((d < gap / max(kx, ky))[..., None], grout if grout is not None else other(rng, c), out)


def veins(rng, n, c, c2, count=3.0):
    w = noise(rng, n, 3, 5, 0.6)
    f = np.abs(np.sin(w * count + noise(rng, n, 2, 2)))
    return mix(c, c2, np.clip(1 - f * rng.uniform(4, 9), 0, 1) * np.clip(0.6 + 0.4 * noise(rng, n, 4, 2), 0, 1))


def motif(rng, n, c, count, kinds=('leaf', 'dot', 'flower')):
    """Scattered printed motifs on a cloth."""
    out = np.ones((n, n, 3)) * c
    y, x = np.mgrid[0:n, 0:n].astype(np.float32)
    cols = [pick(rng, BRIGHT) for _ in range(3)]
    kind = kinds[rng.integers(len(kinds))]
    for _ in range(count):
        cx, cy, R, t = rng.uniform(0, n), rng.uniform(0, n), rng.uniform(0.012, 0.05) * n, rng.uniform(0, 6.3)
        x0, x1, y0, y1 = [int(np.clip(q, 0, n)) for q in (cx - 2 * R, cx + 2 * R + 1, cy - 2 * R, cy + 2 * R + 1)]
        X, Y = x[y0:y1, x0:x1] - cx, y[y0:y1, x0:x1] - cy
        u, v = X * math.cos(t) + Y * math.sin(t), -X * math.sin(t) + Y * math.cos(t)
        r = np.hypot(u, v)
        col = cols[rng.integers(3)]
        m = (
            r < R * (0.6 + 0.4 * np.abs(np.cos(2.5 * np.arctan2(v, u))))
            if kind == 'flower'
            else r < R * 0.6
            if kind == 'dot'
            else np.abs(v) < R * 0.45 * np.clip(1 - (u / (1.6 * R)) ** 2, 0, 1)
        )
        out[y0:y1, x0:x1][m] = col
    return out


def weave(rng, n, c, f, depth=0.25):
    y, x = np.mgrid[0:n, 0:n] / n * 2 * np.pi * f
    j = noise(rng, n, 12, 3) * 0.4
    w = np.sin(x + j) * np.sin(y + noise(rng, n, 12, 3) * 0.4)
    return np.clip(c * (1 + depth * 0.5 * w + 0.05 * noise(rng, n, 5, 5))[..., None], 0, 1)


def wrinkles(rng, n, c, depth=0.3):
    """Cloth that lies in folds: light and dark of a soft height field lit from one side."""
    h = np.abs(noise(rng, n, rng.uniform(2, 5), 3, 0.5, rng.uniform(1, 3))) ** rng.uniform(0.6, 1.3)
    gy, gx = np.gradient(h * n / 60)
    s = gx * rng.uniform(-1, 1) + gy * rng.uniform(-1, 1)
    return np.clip(c * (1 + depth * np.tanh(s * 1.5))[..., None], 0, 1)


def rug(rng, n):
    c, c2, c3 = pick(rng, BRIGHT), pick(rng, BRIGHT), pick(rng, CLOTHS)
    y, x = np.abs(np.mgrid[0:n, 0:n] / n - 0.5) * 2
    d = np.maximum(x, y)
    out = np.ones((n, n, 3)) * c
    out[(x + y) % 0.25 < 0.06] = c2
    out[(np.abs(x - y) % 0.2 < 0.03)] = c3
    out[(x + y) < 0.3] = c2
    for a, b, q in ((0.7, 0.74, c3), (0.74, 0.9, c2), (0.9, 0.93, c3)):
        out[(d > a) & (d < b)] = q
    z = (np.sin(x * 60) * np.sin(y * 60) > 0.3) & (d > 0.75) & (d < 0.89)
    out[z] = c
    return np.clip(out * (1 + 0.1 * noise(rng, n, 60, 3))[..., None], 0, 1)


def text(rng, n, c, ink):
    out = np.ones((n, n, 3)) * c
    h = int(rng.integers(6, 14))
    cols = int(rng.integers(1, 4))
    w = n // cols
    for k in range(cols):
        y = int(rng.integers(2, 20))
        while y < n - h:
            if rng.random() < 0.06:
                y += h * 3
                continue
            x = k * w + 8
            end = (k + 1) * w - 8
            while x < end - 6:
                L = int(rng.integers(h * 0.6, h * 4))
                out[y : y + max(2, int(h * 0.45)), x : min(x + L, end)] = ink * rng.uniform(0.8, 1.4)
                x += L + max(2, h // 3)
            y += h
    return np.clip(out, 0, 1)


FURTHER = {}  # kinds of other modules, by name: rng, n -> n x n x 3


def pattern(kind, rng, n=512):
    """n x n x 3 float32, sRGB 0 to 1."""
    if kind in FURTHER:
        return np.clip(FURTHER[kind](rng, n), 0, 1).astype(np.float32)
    y, x = np.mgrid[0:n, 0:n] / n
    wood, cloth, stone, bright = (pick(rng, q) for q in (WOODS, CLOTHS, STONES, BRIGHT))
    N = lambda k, o=4, f=0.55, s=1.0: noise(rng, n, k, o, f, s)
    if kind == 'wood':
        a = grain(rng, n, wood, rng.uniform(6, 24), rng.uniform(0.08, 0.22))
    elif kind == 'planks':
        a = boards(rng, n, wood, int(rng.integers(3, 10)), rng.uniform(4, 9))
    elif kind == 'painted_planks':
        c = pick(rng, CLOTHS + BRIGHT)
        a = boards(rng, n, c, int(rng.integers(3, 9)), 20, 0.06, 0.03)
        worn = N(10, 5, 0.6, 5) > rng.uniform(1.0, 2.2)
        a = np.where(worn[..., None], grain(rng, n, wood), a)
    elif kind == 'herringbone':
        a = herringbone(rng, n, wood)
    elif kind == 'parquet':
        k = int(rng.integers(4, 9))
        q = (np.floor(x * k) + np.floor(y * k)) % 2 == 0
        s = int(rng.integers(3, 6))
        t = np.where(q, x * k * s, y * k * s)
        a = (
            np.where(q[..., None], np.swapaxes(grain(rng, n, wood), 0, 1), grain(rng, n, wood))
            * (
                1
                + rng.normal(0, 0.08, 400)[
                    (np.floor(t).astype(int) * 7 + np.floor(x * k).astype(int) * 31 + np.floor(y * k).astype(int) * 57) % 400
                ]
            )[..., None]
        )
        a = np.where(((t % 1) < 0.06)[..., None], a * 0.6, a)
    elif kind == 'chipboard':
        _, _, i = cells(rng, n, int(rng.integers(30, 60)), 0.3)
        a = wood * (1 + rng.normal(0, 0.15, 9999)[i % 9999])[..., None]
    elif kind == 'cork':
        _, _, i = cells(rng, n, int(rng.integers(60, 110)))
        a = np.array([0.72, 0.53, 0.35]) * (1 + rng.normal(0, 0.16, 19999)[i % 19999])[..., None]
    elif kind == 'bamboo':
        k = int(rng.integers(14, 34))
        a = grain(rng, n, np.array([0.83, 0.7, 0.45]), 20, 0.06) * (1 - 0.35 * np.exp(-(((x * 0 + (y * k) % 1) / 0.08) ** 2)))[..., None]
    elif kind == 'slate':
        a = stone * 0.6 * (1 + 0.16 * N(4, 7, 0.65) + 0.05 * N(3, 6, 0.7, 5))[..., None]
    elif kind == 'concrete':
        a = stone * (1 + 0.07 * N(3, 7, 0.7))[..., None] * (1 - 0.3 * (np.abs(N(3, 5)) < rng.uniform(0, 0.02)))[..., None]
    elif kind == 'marble':
        a = veins(
            rng,
            n,
            pick(rng, [(0.93, 0.92, 0.9), (0.9, 0.88, 0.84), (0.2, 0.2, 0.2), (0.35, 0.42, 0.38), (0.8, 0.72, 0.66)]),
            pick(rng, STONES),
            rng.uniform(1, 4),
        )
    elif kind == 'marble_tiles':
        v = veins(rng, n, stone, other(rng, stone))
        k = int(rng.integers(3, 8))
        a = tiles(rng, n, stone, k, k, 0, lambda o, u, w, key: v * (1 + rng.normal(0, 0.05, 211)[key])[..., None])
    elif kind == 'terrazzo':
        d1, d2, i = cells(rng, n, int(rng.integers(14, 34)), 0.25)
        cols = np.array([pick(rng, STONES + BRIGHT) for _ in range(5)])
        g = rng.random(9999)
        chip = (d2 - d1 > rng.uniform(0.1, 0.25)) & (g[i % 9999] < rng.uniform(0.3, 0.8))
        a = np.where(chip[..., None], cols[(i * 7) % 5], stone)
    elif kind == 'granite':
        a = stone * (1 + 0.25 * np.clip(N(120, 2), -2, 2) + 0.1 * N(20, 3))[..., None]
    elif kind == 'tiles':
        k = int(rng.integers(3, 11))
        a = tiles(rng, n, pick(rng, STONES + CLOTHS), k, k, tone=0.04)
    elif kind == 'subway':
        k = int(rng.integers(3, 7))
        a = tiles(rng, n, pick(rng, STONES + CLOTHS), k, k * 2, 0.5)
    elif kind == 'brick':
        k = int(rng.integers(3, 6))
        c = pick(rng, [(0.6, 0.3, 0.22), (0.7, 0.45, 0.35), (0.85, 0.83, 0.8), (0.4, 0.28, 0.25)])
        a = tiles(rng, n, c, k, k * 3, 0.5, gap=0.06, tone=0.12) * (1 + 0.1 * N(30, 4))[..., None]
    elif kind == 'hex_tiles':
        d1, d2, i = cells(rng, n, int(rng.integers(5, 12)))
        a = np.where((d2 - d1 < 0.07)[..., None], other(rng, stone), stone * (1 + rng.normal(0, 0.05, 999)[i % 999])[..., None])
    elif kind == 'patterned_tiles':
        c, c2, c3 = pick(rng, CLOTHS), pick(rng, BRIGHT), pick(rng, BRIGHT)
        m = int(rng.integers(0, 3))
        k = int(rng.integers(3, 8))

        def face(o, u, v, key):
            p, q = np.abs(u - 0.5), np.abs(v - 0.5)
            r = np.hypot(p, q)
            f = [(p + q < 0.4), (r < 0.42) & (r > 0.3), np.maximum(p, q) < 0.3][m]
            o = np.where(f[..., None], c2, o)
            return np.where(((r < 0.14) | (p + q > 0.85))[..., None], c3, o)

        a = tiles(rng, n, c, k, k, 0, face)
    elif kind == 'mosaic':
        d1, d2, i = cells(rng, n, int(rng.integers(16, 30)), 0)
        cols = np.array([pick(rng, BRIGHT) for _ in range(4)])
        a = np.where((d2 - d1 < 0.12)[..., None], pick(rng, STONES), cols[(i * 13) % 4])
    elif kind == 'linen':
        a = weave(rng, n, cloth, rng.uniform(40, 90), 0.3)
    elif kind == 'burlap':
        a = weave(rng, n, np.array([0.68, 0.55, 0.38]), rng.uniform(24, 44), 0.6)
    elif kind == 'wicker':
        k = rng.uniform(10, 24)
        s = (np.floor(x * k) % 2) * 0.5
        a = wood * (0.55 + 0.5 * np.abs(np.sin((y * k + s) * np.pi)) * np.abs(np.sin(x * k * np.pi)) ** 0.5)[..., None]
    elif kind == 'gingham':
        k = int(rng.integers(6, 22))
        c = pick(rng, BRIGHT)
        m = ((np.floor(x * k) % 2) + (np.floor(y * k) % 2)) / 2
        a = mix(np.array([0.95, 0.95, 0.93]), c, m) * weave(rng, n, np.ones(3) * 0.98, 80, 0.1)
    elif kind == 'tartan':
        a = np.ones((n, n, 3)) * pick(rng, BRIGHT)
        for q in (x, y):
            for _ in range(5):
                k, w, c = rng.integers(1, 5), rng.uniform(0.02, 0.2), pick(rng, BRIGHT)
                a = mix(a, c, 0.5 * (((q * k + rng.uniform(0, 1)) % 1) < w))
    elif kind == 'stripes':
        k = rng.uniform(4, 24)
        w = rng.uniform(0.15, 0.6)
        a = mix(cloth, other(rng, cloth), ((y * k) % 1 < w) * rng.uniform(0.5, 1)) * weave(rng, n, np.ones(3) * 0.97, 70, 0.1)
    elif kind == 'dots':
        k = int(rng.integers(6, 20))
        s = (np.floor(y * k) % 2) * 0.5
        r = np.hypot((x * k + s) % 1 - 0.5, (y * k) % 1 - 0.5)
        a = mix(cloth, other(rng, cloth, 0.2), r < rng.uniform(0.12, 0.3))
    elif kind == 'floral':
        a = motif(rng, n, pick(rng, CLOTHS + BRIGHT), int(rng.integers(60, 240)))
    elif kind == 'wallpaper':
        q = n // int(rng.integers(2, 5))
        t = motif(rng, q, pick(rng, CLOTHS), int(rng.integers(6, 20)))
        a = np.tile(t, (n // q + 1, n // q + 1, 1))[:n, :n]
    elif kind == 'knit':
        k = rng.uniform(18, 44)
        u, v = x * k, y * k * 1.3
        a = (
            cloth
            * (0.7 + 0.4 * np.abs(np.sin(np.pi * (v + 0.6 * np.abs(u % 1 - 0.5)))))[..., None]
            * (1 - 0.35 * ((u % 1 < 0.1) | (u % 1 > 0.9)))[..., None]
        )
    elif kind == 'quilt':
        k = int(rng.integers(3, 7))
        key = (np.floor(x * k) * 7 + np.floor(y * k) * 13).astype(int)
        a = np.array([pick(rng, BRIGHT + CLOTHS) for _ in range(9)])[key % 9]
        seam = np.minimum(np.minimum((x * k) % 1, 1 - (x * k) % 1), np.minimum((y * k) % 1, 1 - (y * k) % 1))
        a = a * (0.75 + 0.25 * np.clip(seam * 8, 0, 1))[..., None]
    elif kind == 'bed_sheet':
        a = wrinkles(rng, n, pick(rng, CLOTHS), rng.uniform(0.1, 0.35))
    elif kind == 'velvet':
        a = wrinkles(rng, n, pick(rng, BRIGHT) * 0.7, rng.uniform(0.3, 0.6))
    elif kind == 'rug':
        a = rug(rng, n)
    elif kind == 'carpet':
        a = cloth * 0.8 * (1 + 0.25 * N(90, 3, 0.8))[..., None]
    elif kind == 'fur':
        a = cloth * (1 + 0.2 * N(30, 4, 0.7, 0.25) + 0.1 * N(6, 3))[..., None]
    elif kind == 'felt':
        a = bright * (1 + 0.05 * N(80, 3, 0.9))[..., None]
    elif kind == 'leather':
        d1, d2, _ = cells(rng, n, int(rng.integers(50, 90)), 0.3)
        a = (
            pick(rng, [(0.45, 0.28, 0.17), (0.2, 0.14, 0.11), (0.65, 0.42, 0.25), (0.12, 0.12, 0.13)])
            * (1 - 0.35 * np.exp(-(((d2 - d1) / 0.08) ** 2)) + 0.05 * N(5, 3))[..., None]
        )
    elif kind == 'grass':
        a = pick(rng, [(0.3, 0.42, 0.16), (0.38, 0.46, 0.22), (0.5, 0.48, 0.28)]) * (1 + 0.4 * N(40, 4, 0.8, 0.3))[..., None]
    elif kind == 'moss':
        a = pick(rng, [(0.3, 0.36, 0.14), (0.22, 0.3, 0.16)]) * (1 + 0.4 * N(24, 5, 0.75))[..., None]
    elif kind == 'gravel':
        d1, d2, i = cells(rng, n, int(rng.integers(18, 44)), 0.2)
        a = stone * (1 + rng.normal(0, 0.25, 9999)[i % 9999])[..., None] * np.clip(0.35 + (d2 - d1) * 2.2, 0, 1)[..., None]
    elif kind == 'sand':
        a = np.array([0.82, 0.72, 0.55]) * (1 + 0.05 * N(150, 1) + 0.06 * N(4, 3, 0.5, 4))[..., None]
    elif kind == 'kraft':
        a = np.array([0.68, 0.52, 0.36]) * (1 + 0.05 * N(40, 4, 0.8, 4) + 0.03 * N(140, 1))[..., None]
    elif kind == 'newspaper':
        a = text(rng, n, np.array([0.86, 0.84, 0.8]), np.array([0.2, 0.2, 0.2]))
    elif kind == 'cutting_mat':
        k = int(rng.integers(8, 18))
        c = pick(rng, [(0.12, 0.4, 0.33), (0.2, 0.3, 0.5), (0.75, 0.5, 0.6), (0.15, 0.15, 0.16)])
        l = ((x * k) % 1 < 0.03) | ((y * k) % 1 < 0.03)
        a = mix(np.ones((n, n, 3)) * c, np.array([0.9, 0.9, 0.7]), l * 0.6)
    elif kind == 'chalk':
        a = np.array([0.13, 0.14, 0.14]) * (1 + 0.6 * np.clip(N(4, 5, 0.6, 3), 0, 3) * rng.uniform(0.1, 0.6))[..., None]
    elif kind == 'leaves':
        a = motif(rng, n, np.array([0.25, 0.22, 0.15]), 700, ('leaf',)) * (1 + 0.2 * N(10, 4))[..., None]
    elif kind == 'plaster':
        a = pick(rng, STONES + CLOTHS) * (1 + 0.06 * N(3, 7, 0.65))[..., None]
    elif kind == 'gradient':
        t = x * rng.uniform(-1, 1) + y * rng.uniform(-1, 1)
        a = mix(bright, other(rng, bright), (t - t.min()) / (np.ptp(t) + 1e-6))
    else:
        a = np.ones((n, n, 3)) * pick(rng, BRIGHT + STONES) * (1 + 0.01 * N(20, 3))[..., None]  # 'plain'
    return np.clip(a, 0, 1).astype(np.float32)


KINDS = [
    'wood',
    'planks',
    'painted_planks',
    'herringbone',
    'parquet',
    'chipboard',
    'cork',
    'bamboo',
    'slate',
    'concrete',
    'marble',
    'marble_tiles',
    'terrazzo',
    'granite',
    'tiles',
    'subway',
    'brick',
    'hex_tiles',
    'patterned_tiles',
    'mosaic',
    'linen',
    'burlap',
    'wicker',
    'gingham',
    'tartan',
    'stripes',
    'dots',
    'floral',
    'wallpaper',
    'knit',
    'quilt',
    'bed_sheet',
    'velvet',
    'rug',
    'carpet',
    'fur',
    'felt',
    'leather',
    'grass',
    'moss',
    'gravel',
    'sand',
    'kraft',
    'newspaper',
    'cutting_mat',
    'chalk',
    'leaves',
    'plaster',
    'gradient',
    'plain',
]
HELD_OUT = [
    'herringbone',
    'terrazzo',
    'rug',
    'painted_planks',
]  # never in training scenes or composites: they show what an unseen surface costs
